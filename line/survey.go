package line

import (
	"iter"
	"math"
	"slices"
	"strings"

	"obvert/document"
	"obvert/quantity"
)

// Limits of a survey that is made a profile: wider than those of a profile, since it is thinned afterwards.
const (
	MaxSurveyBytes  = 256_000_000 // size of a survey file, byte
	MaxSurveyPoints = 3_000_000   // rows with figures
)

// Names of ProfileOptions.Columns that a survey may use beside those of a profile.
const (
	ColumnEast      = "easting"
	ColumnNorth     = "northing"
	ColumnLatitude  = "latitude"
	ColumnLongitude = "longitude"
)

// SurveyRow is one row of a survey, in metres.
type SurveyRow struct {
	// Chainage is the file's, or reckoned from the plan: the sum of the straight distances from row to row. It is 0
	// where the file has neither.
	Chainage  float64 `unit:"m"`
	East      float64 `unit:"m"` // where HasPlan
	North     float64 `unit:"m"` //
	Lat       float64 `unit:"°"` // where HasGeographic
	Lon       float64 `unit:"°"` //
	Level     float64 `unit:"m"`
	Ground    float64 `unit:"m"` // kept beside the pipe's level, where HasGround
	HasGround bool
	Line      int // in the file, from 1
}

// SurveyResult is a survey as read: what the file gives, before anybody knows pipe or cover.
type SurveyResult struct {
	LevelKind *LevelKind // nil where the file does not say
	Dialect   Dialect
	Reversed  bool // the file ran downstream to upstream and was turned

	HasChainage   bool // a column gives it
	HasPlan       bool // easting and northing
	HasGeographic bool // latitude and longitude

	// What only the user can say. Where either is true there are no rows.
	NoLevelUnit bool // nothing says the unit of levels
	NoPlaceUnit bool // nothing says the unit of chainage, or of the coordinates

	Unlevelled []int // lines of the rows that have a place and no level; they are not among the rows

	rows []surveyRow
}

// Len is the number of rows.
func (r *SurveyResult) Len() int { return len(r.rows) }

// Rows are the rows by rising chainage, or in the file's order where it has none.
func (r *SurveyResult) Rows() iter.Seq[SurveyRow] {
	return func(yield func(SurveyRow) bool) {
		for i := range r.rows {
			q := &r.rows[i]
			row := SurveyRow{Chainage: q.s, Level: q.z, Ground: q.g, HasGround: q.hasG, Line: int(q.line)}
			switch {
			case r.HasPlan:
				row.East, row.North = q.x, q.y
			case r.HasGeographic:
				row.Lon, row.Lat = q.x, q.y
			}
			if !yield(row) {
				return
			}
		}
	}
}

// ReadSurvey reads a survey from the bytes of a text file with columns, as [ReadProfile] reads a profile, with these
// differences: coordinates on the plan or the globe may stand in for the chainage; levels stay as they are written;
// rows without a level are left out and listed; what the file does not say (the kind of level, a unit) is no fault but
// left open in the result; the file may be larger. BoreAt, Borders, Cover and AlongPipe are not looked at.
// The result has no rows where there is any fault.
func ReadSurvey(file string, data []byte, o ProfileOptions) (SurveyResult, document.Faults) {
	p := &profileReader{options: o, faults: newFaultList(file), mostPoints: MaxSurveyPoints, mostBytes: MaxSurveyBytes, survey: true}
	var r SurveyResult
	p.readSurvey(data, &r)
	r.Dialect, r.Reversed = p.result.Dialect, p.result.Reversed
	if p.faults.Fatal {
		r.rows = nil
	}
	return r, p.faults.All()
}

// readSurvey runs the steps one after another; each that cannot go on has said why.
func (p *profileReader) readSurvey(data []byte, r *SurveyResult) {
	p.dropped, p.grouped = map[string]*DroppedRows{}, map[byte]bool{}
	if !p.checkOptions() || !p.decode(data) || !p.findHeader() || !p.planSurvey(r) || !p.findDecimal() {
		return
	}
	rows := p.readRows(p.readSurveyRow)
	p.describe(rows)
	if !p.kindless {
		kind := p.result.LevelKind
		r.LevelKind = &kind
	}
	if p.partial {
		return
	}
	if !r.HasChainage && r.HasPlan { // before rows are left out: the pipe goes through them too
		for i := 1; i < len(rows); i++ {
			rows[i].s = rows[i-1].s + math.Hypot(rows[i].x-rows[i-1].x, rows[i].y-rows[i-1].y)
		}
	}
	rows = slices.DeleteFunc(rows, func(row surveyRow) bool {
		if row.noZ {
			r.Unlevelled = append(r.Unlevelled, int(row.line))
		}
		return row.noZ
	})
	if len(rows) < 2 {
		p.tooFew(rows)
		return
	}
	if r.HasChainage {
		if p.exchanged(rows) {
			return
		}
		rows, p.result.Reversed = p.order(rows)
	}
	if r.HasChainage || r.HasPlan {
		rows = p.dropRepeats(rows)
		p.findSpikes(rows)
	}
	r.rows = rows
}

// planWords are heads of coordinates, as [foldWords] writes them.
var planWords = map[string]columnRole{}

func init() {
	for role, words := range map[columnRole]string{
		roleEast:      "easting eastings east e x rechtswert ostwert rechts este est xcoord xkoordinate coordx coordenadax este_x lon_m abscissa",
		roleNorth:     "northing northings north n y hochwert nordwert hoch norte nord ycoord ykoordinate coordy coordenaday",
		roleLatitude:  "latitude lat breitengrad breite latitud latitudine geobreite",
		roleLongitude: "longitude long lon lng longitud longitudine laengengrad langengrad lange laenge geolange",
	} {
		for w := range strings.FieldsSeq(words) {
			planWords[w] = role
		}
	}
}

// planFillers go with a coordinate's name and change nothing of it.
var planFillers = map[string]bool{"coordinate": true, "coordinates": true, "coord": true, "koordinate": true, "coordonnee": true, "coordenada": true,
	"utm": true, "gk": true, "grid": true, "wgs84": true, "wgs": true, "84": true, "deg": true, "degree": true, "degrees": true, "decimal": true, "grad": true, "o": true, "dd": true,
	"m": true, "of": true, "the": true, "lambert": true, "93": true, "etrs89": true, "geo": true, "geographic": true}

// findPlan gives a head the role of a coordinate where all its words say so.
func (h *heading) findPlan() {
	if h.role.isLevel() || h.role == roleChainage && !h.distance || len(h.text) > longestHeader {
		return
	}
	role := roleUnused
	bare, bracketed := cutBrackets(h.text)
	for _, w := range foldWords(bare + " " + bracketed) {
		found, ok := planWords[w]
		_, unit := lengthUnits[w]
		switch {
		case ok && (role == roleUnused || role == found):
			role = found
		case ok && w == "e" || w == "n" || w == "x" || w == "y":
			// "Easting (x)", "Rechtswert Y": the letter only repeats it, in whichever convention
		case ok:
			return
		case !unit && !planFillers[w]:
			return
		}
	}
	if role != roleUnused {
		h.role, h.distance, h.doubt = role, false, ""
	}
}

// planSurvey chooses the columns of a survey and settles their units. Where only a unit is missing the rows are still
// read, for their own faults.
func (p *profileReader) planSurvey(r *SurveyResult) bool {
	ok := p.checkStatedColumns()
	p.columns = columnPlan{-1, -1, -1, -1, -1}
	okPlace := p.planPlace(r)
	okLevel := p.planLevel()
	if !ok || !okPlace || !okLevel {
		return false
	}
	if p.columns.chainage >= 0 {
		p.chainage = p.unitFor(p.columns.chainage, p.options.ChainageUnit)
		r.NoPlaceUnit = p.unsaid(&p.chainage, true) || r.NoPlaceUnit
		p.checkStakes()
	}
	switch {
	case r.HasPlan:
		p.east, p.north = p.unitFor(p.columns.x, p.options.ChainageUnit), p.unitFor(p.columns.y, p.options.ChainageUnit)
		east, north := p.unsaid(&p.east, false), p.unsaid(&p.north, false)
		r.NoPlaceUnit = east || north || r.NoPlaceUnit
	case r.HasGeographic:
		p.east = cellUnit{column: p.columns.x, name: p.header.columns[p.columns.x].text, unit: lengthUnit{"°", 1}}
		p.north = cellUnit{column: p.columns.y, name: p.header.columns[p.columns.y].text, unit: lengthUnit{"°", 1}}
	}
	p.level = p.unitFor(p.columns.level, p.options.LevelUnit)
	r.NoLevelUnit = p.unsaid(&p.level, false)
	if p.columns.ground >= 0 {
		p.ground = p.unitFor(p.columns.ground, p.options.LevelUnit)
		r.NoLevelUnit = p.unsaid(&p.ground, false) || r.NoLevelUnit
	}
	return true
}

// unsaid reports a column in which nothing says the unit.
func (p *profileReader) unsaid(u *cellUnit, stakes bool) bool {
	if u.unit.known() || p.cellsSayUnit(u, stakes) {
		return false
	}
	u.unsaid, p.partial = true, true
	return true
}

// planPlace takes the columns that say where a row stands.
func (p *profileReader) planPlace(r *SurveyResult) bool {
	var has [roleLongitude + 1]bool
	for _, c := range p.header.columns {
		has[c.role] = true
	}
	one := func(role columnRole) (int, bool) {
		all := p.with(role)
		if len(all) > 1 {
			return 0, p.several("the "+role.String(), all)
		}
		return all[0], true
	}
	pair := func(x, y columnRole) bool {
		var okX, okY bool
		p.columns.x, okX = one(x)
		p.columns.y, okY = one(y)
		return okX && okY
	}
	r.HasChainage = has[roleChainage]
	switch {
	case has[roleEast] && has[roleNorth]:
		r.HasPlan = true
	case has[roleLatitude] && has[roleLongitude]:
		r.HasGeographic = true
	case !r.HasChainage:
		return p.noColumn("no column of chainage, and no pair of coordinates")
	}
	if r.HasChainage && !p.planChainage() {
		return false
	}
	switch {
	case r.HasPlan:
		return pair(roleEast, roleNorth)
	case r.HasGeographic:
		return pair(roleLongitude, roleLatitude)
	}
	return true
}

// readSurveyRow reads one row. Where its place is said and its level is missing it is kept.
func (p *profileReader) readSurveyRow(r *records) (surveyRow, bool) {
	row := surveyRow{line: int32(r.line)}
	okS, okX, okY := true, true, true
	if p.columns.chainage >= 0 {
		row.s, okS = p.plainChainage(r.cell(p.columns.chainage))
	}
	if p.columns.x >= 0 {
		row.x, okX = p.plainLevel(&p.east, r.cell(p.columns.x))
		row.y, okY = p.plainLevel(&p.north, r.cell(p.columns.y))
	}
	var okZ bool
	row.z, okZ = p.plainLevel(&p.level, r.cell(p.columns.level))
	if !okS || !okX || !okY || !okZ || len(r.cells) > len(p.header.columns) && p.clash(r) || p.totalInFront(r) {
		if p.noRow(r, okS && okX && okY, okZ) {
			return row, false
		}
		if !okS {
			row.s, okS = p.anyChainage(r)
		}
		if !okX {
			row.x, okX = p.anyPlace(r, &p.east)
		}
		if !okY {
			row.y, okY = p.anyPlace(r, &p.north)
		}
		if !okZ {
			if cell := r.cell(p.columns.level); len(cell) < 8 && missing[strings.ToLower(string(cell))] {
				row.noZ, okZ = true, true
			} else {
				row.z, okZ = p.anyLevel(r, &p.level)
			}
		}
		if !okS || !okX || !okY || !okZ {
			return row, false
		}
	}
	ok := p.within(r, &row)
	if p.result.LevelKind == LevelGround && !p.kindless {
		row.g, row.hasG = row.z, !row.noZ
	} else if cell := r.cell(p.columns.ground); len(cell) > 0 {
		okG := p.readGround(r, cell, &row)
		ok = ok && okG
	}
	return row, p.placeWithin(r, &row) && ok
}

// anyPlace reads every other spelling of a coordinate, or tells what is wrong.
func (p *profileReader) anyPlace(r *records, u *cellUnit) (float64, bool) {
	cell := r.cell(u.column)
	if u.unit.name == "°" {
		text := plainSigns.Replace(string(cell[:min(len(cell), longestFigure)]))
		text = strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(text), "°"))
		if strings.ContainsAny(text, "°'\"″′") {
			p.badCell(r, u.column, "degrees", "degrees with minutes", "write degrees with decimals, such as 47.1034")
			return 0, false
		}
		cell = []byte(text)
	}
	return p.cellFigure(r, u.column, u, cell)
}

// farthestPlace bounds coordinates on a plan, in m: eastings with the number of their zone in front reach 6 · 10⁷.
const farthestPlace = 1e8

// placeWithin reports coordinates that no place has.
func (p *profileReader) placeWithin(r *records, row *surveyRow) bool {
	if p.partial || p.columns.x < 0 {
		return true
	}
	if p.header.columns[p.columns.x].role == roleEast {
		if math.Abs(row.x) <= farthestPlace && math.Abs(row.y) <= farthestPlace {
			return true
		}
		p.badCell(r, p.columns.x, "place", "coordinates farther from zero than any grid reaches", "see whether the unit or the decimal sign is another")
		return false
	}
	if math.Abs(row.y) <= 90 && math.Abs(row.x) <= 180 {
		return true
	}
	hint := "write decimal degrees; for coordinates in metres call the columns easting and northing"
	if math.Abs(row.x) <= 90 && math.Abs(row.y) <= 180 {
		hint = "were latitude and longitude exchanged?"
	}
	p.badCell(r, p.columns.y, "globe", "latitude "+quantity.Number(row.y, 4)+"°, longitude "+quantity.Number(row.x, 4)+"°: no place on the globe", hint)
	return false
}

// What tells that chainage and level were exchanged; common practice, no source.
const (
	exchangedRows = 5    // least number of rows that can tell
	steadyShare   = 0.95 // of the steps go one way in a column of chainage
	wanderShare   = 0.85 // more of the steps than this go one way in any column of chainage
	exchangedSpan = 20.0 // least ratio of the spans of the two columns
)

// exchanged reports a column of levels that runs one way over a span far larger than that of the chainage, while the
// chainage goes up and down.
func (p *profileReader) exchanged(rows []surveyRow) bool {
	if len(rows) < exchangedRows {
		return false
	}
	oneWay := func(of func(*surveyRow) float64) (share, span float64) {
		up, down := 0, 0
		low, high := math.Inf(1), math.Inf(-1)
		for i := range rows {
			v := of(&rows[i])
			low, high = min(low, v), max(high, v)
			if i == 0 {
				continue
			}
			switch last := of(&rows[i-1]); {
			case v > last:
				up++
			case v < last:
				down++
			}
		}
		return float64(max(up, down)) / float64(len(rows)-1), high - low
	}
	byS, spanS := oneWay(func(r *surveyRow) float64 { return r.s })
	byZ, spanZ := oneWay(func(r *surveyRow) float64 { return r.z })
	if byZ < steadyShare || byS > wanderShare || spanZ < exchangedSpan*spanS {
		return false
	}
	s, z := p.header.columns[p.columns.chainage].text, p.header.columns[p.columns.level].text
	p.faults.Add(document.Fault{Line: int(rows[0].line), What: "chainage and level look exchanged",
		Understood: columnKey(s) + " goes up and down within " + metres(spanS) + ", and " + columnKey(z) + " runs one way over " + metres(spanZ),
		Hint:       "exchange the heads of the two columns"})
	return true
}

// LengthUnit reports a unit of length as profiles have it: m, km, cm, mm, ft, ftUS and their words.
func LengthUnit(text string) bool {
	_, known := unitOfText(text)
	return known
}
