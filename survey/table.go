package survey

import (
	"fmt"
	"slices"
	"strings"

	"obvert/document"
	"obvert/line"
	"obvert/quantity"
	"obvert/survey/geodesy"
)

// Text reads a table in delimited text: commas, semicolons, tabs, bars or blanks between columns, in any encoding and with
// either decimal sign, as package line reads a profile. A chainage or coordinates say where each row stands.
func Text(file string, data []byte, o Options) (Reading, document.Faults) {
	return table(file, "CSV", baseName(file), data, o)
}

// baseName is a file's name without the folders before it.
func baseName(file string) string { return file[strings.LastIndexAny(file, `/\`)+1:] }

// FromGrid reads a table of cells, such as a sheet of a workbook, as [Text] reads one of text. rows are the cells as
// text, figures with a point as decimal sign; places are the rows' numbers in the sheet, rising from 1, nil where they
// are 1, 2, 3 …. The reading has one track, named by the sheet; its Format is for the caller to set.
func FromGrid(file, sheet string, rows [][]string, places []int, o Options) (Reading, document.Faults) {
	return table(file, "", sheet, gridText(rows, places), o)
}

// gridText writes cells as text with tabs, each row on the line of its own number.
func gridText(rows [][]string, places []int) []byte {
	var b []byte
	at := 1
	for i, row := range rows {
		for i < len(places) && at < places[i] {
			b = append(b, '\n')
			at++
		}
		for j, cell := range row {
			if j > 0 {
				b = append(b, '\t')
			}
			b = appendCell(b, cell)
		}
		b = append(b, '\n')
		at++
	}
	return b
}

// appendCell adds a cell on one line, in quotation marks where it holds such.
func appendCell(b []byte, cell string) []byte {
	if strings.ContainsAny(cell, "\t\n\r\v\f\"") {
		cell = strings.Join(strings.Fields(cell), " ")
		if strings.Contains(cell, `"`) {
			cell = `"` + strings.ReplaceAll(cell, `"`, `""`) + `"`
		}
	}
	return append(b, cell...)
}

// table reads the bytes of a table as one track.
func table(file, format, name string, data []byte, o Options) (Reading, document.Faults) {
	r := Reading{File: file, Format: format}
	s, faults := line.ReadSurvey(file, data, line.ProfileOptions{
		Stakes: o.Stakes, LevelKind: o.LevelKind, LevelUnit: o.LevelUnit, ChainageUnit: o.PlanUnit,
		MaxBackstep: o.MaxBackstep, Columns: o.Columns, Decimal: o.Decimal,
	})
	speakFlags(faults)
	if faults.Err() != nil {
		return Reading{}, faults
	}
	if s.NoLevelUnit {
		r.Ask = append(r.Ask, "level-unit")
	}
	if s.NoPlaceUnit {
		r.Ask = append(r.Ask, "plan-unit")
	}
	r.Took, r.Left = tookOf(&s, format != ""), leftOf(&s)
	if len(r.Ask) > 0 {
		return r, faults
	}
	if f, ok := unlevelled(file, s.Unlevelled, s.Len()+len(s.Unlevelled)); ok {
		faults = append(faults, f)
		if faults.Err() != nil {
			return Reading{}, faults
		}
		r.Left = append(r.Left, f.What+" ("+f.Understood+")")
	}
	r.Tracks = []Track{trackOf(name, &s)}
	return r, faults
}

// trackOf makes a track of the rows of a table.
func trackOf(name string, s *line.SurveyResult) Track {
	t := Track{Name: name, HasChainage: s.HasChainage || s.HasPlan, HasPlan: s.HasPlan, HasGeographic: s.HasGeographic, LevelKind: s.LevelKind,
		Points: make([]Point, 0, s.Len())}
	switch c := columnOf(s.Dialect, "chainage"); {
	case s.HasChainage:
		t.Score, t.Chainages = 1, "read from the column "+quantity.Quote(c.Header)
		t.Why = "it gives chainage and level"
	case s.HasPlan:
		t.Score, t.Chainages = 0.9, "reckoned from easting and northing, straight from point to point"
		t.Why = "it gives coordinates on the plan and level"
	default:
		t.Score, t.Chainages = 0.8, "reckoned from latitude and longitude on the WGS 84 ellipsoid, at the height of the points"
		t.Why = "it gives latitude, longitude and level"
	}
	for row := range s.Rows() {
		t.Points = append(t.Points, Point{Chainage: row.Chainage, East: row.East, North: row.North, Lat: row.Lat, Lon: row.Lon,
			Level: row.Level, Ground: row.Ground, HasLevel: true, HasGround: row.HasGround, Where: row.Line})
	}
	if !t.HasChainage {
		q := t.Points
		for i := 1; i < len(q); i++ {
			q[i].Chainage = q[i-1].Chainage + geodesy.WGS84.Level(position(q[i-1]), position(q[i]))
		}
		t.HasChainage = true
	}
	return t
}

func position(p Point) geodesy.Position {
	return geodesy.Position{Lat: p.Lat, Lon: p.Lon, Height: p.Level}
}

func columnOf(d line.Dialect, role string) line.ProfileColumn {
	for _, c := range d.Columns {
		if c.Role == role {
			return c
		}
	}
	return line.ProfileColumn{}
}

// tookOf says how a table was understood.
func tookOf(s *line.SurveyResult, text bool) []string {
	d := s.Dialect
	var out []string
	if text {
		say := "Text in " + d.Encoding + ", " + d.Separator + " between columns, decimal " + d.DecimalSign
		if d.Thousands != "" {
			say += ", thousands parted by the " + d.Thousands
		}
		out = append(out, say+".")
	}
	for _, c := range d.Columns {
		if c.Role == "not used" {
			continue
		}
		say := capital(c.Role)
		switch c.Role {
		case "obvert", "invert", "axis", "ground":
			say = "Level of the " + c.Role
		case "level":
			say = "Level, of what the file does not say,"
		}
		say += " from column " + fmt.Sprint(c.Number)
		if c.Header != "" && !strings.HasPrefix(c.Header, "column ") {
			say += ", " + quantity.Quote(c.Header)
		}
		if c.Unit != "" {
			say += ", in " + c.Unit
		}
		out = append(out, say+".")
	}
	if s.Reversed {
		out = append(out, "The rows run downstream to upstream and were turned.")
	}
	return out
}

// leftOf says what of a table was left.
func leftOf(s *line.SurveyResult) []string {
	var out, columns []string
	for _, c := range s.Dialect.Columns {
		if c.Role == "not used" && c.Header != "" {
			columns = append(columns, quantity.Quote(c.Header))
		}
	}
	if len(columns) > 0 {
		word := "The column "
		if len(columns) > 1 {
			word = "The columns "
		}
		out = append(out, word+strings.Join(columns, ", ")+": no chainage, coordinate or level that is wanted.")
	}
	for _, d := range s.Dialect.Dropped {
		out = append(out, fmt.Sprintf("%s (%s): %s.", rows(d.Count), d.Why, lineRange(d.First, d.Last)))
	}
	return out
}

func rows(n int) string {
	if n == 1 {
		return "1 row"
	}
	return fmt.Sprintf("%d rows", n)
}

func lineRange(from, to int) string {
	if from == to {
		return fmt.Sprintf("line %d", from)
	}
	return fmt.Sprintf("lines %d to %d", from, to)
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// fewMissing is how many of a track's points may lack a level: three, or the share of all, whichever is more; and never
// half of them. Common practice, no source.
const (
	fewMissing      = 3
	fewMissingShare = 0.05
)

// unlevelled tells of points without a level: a warning where they are few, else a fault. False where there is none.
func unlevelled(file string, where []int, all int) (document.Fault, bool) {
	if len(where) == 0 {
		return document.Fault{}, false
	}
	n := len(where)
	if n == all {
		return document.Fault{File: file, Line: where[0], What: fmt.Sprintf("none of the %d points has a level", all), Understood: "a way without heights",
			Hint: "a long section wants levels: give the file with heights, or name another file that has them"}, true
	}
	word := "row"
	if slices.Max(where) == slices.Min(where) && n > 1 { // a form without rows
		word = ""
	}
	f := document.Fault{File: file, Line: where[0], ID: "survey.no-level", Severity: document.WarningSeverity,
		What:       fmt.Sprintf("%d of %d points have no level and are left out", n, all),
		Understood: "rows " + listed(where),
		Hint:       "see whether a high point is among them; between their neighbours the pipe is taken as straight"}
	if n == 1 {
		f.What, f.Understood = fmt.Sprintf("1 of %d points has no level and is left out", all), fmt.Sprintf("row %d", where[0])
	}
	if word == "" {
		f.Understood = "all of them in one line of the file"
	}
	if float64(n) > max(fewMissing, fewMissingShare*float64(all)) || 2*n >= all {
		f.ID, f.Severity = "", document.FaultSeverity
		f.What = fmt.Sprintf("%d of %d points have no level", n, all)
		f.Hint = "give the levels, or leave those rows out of the file"
	}
	return f, true
}

// listed names numbers, with ranges where they follow one another, and no more than a dozen.
func listed(where []int) string {
	var out []string
	for i := 0; i < len(where); {
		j := i
		for j+1 < len(where) && where[j+1] == where[j]+1 {
			j++
		}
		if len(out) == 12 {
			out = append(out, "…")
			break
		}
		switch {
		case i == j:
			out = append(out, fmt.Sprint(where[i]))
		default:
			out = append(out, fmt.Sprintf("%d–%d", where[i], where[j]))
		}
		i = j + 1
	}
	return strings.Join(out, ", ")
}

// flagHints are what to say to the import in place of a key in the line's document.
var flagHints = []struct{ key, hint string }{
	{"level_kind", "say --level-kind obvert (or invert, axis, ground)"},
	{"level_unit", "say --level-unit m (or ft …)"},
	{"chainage_unit", "say --plan-unit m (or ft …)"},
	{"largest_backstep", "put the chainage right, or allow it with --backstep \"5 m\" if such steps are meant"},
	{"stakes", "say what one stake is with --stakes \"1 km\" (or \"100 ft\", \"20 m\")"},
	{"decimal_sign", "say --decimal-sign comma (or point)"},
	{"columns", "say which column is which, such as --column 1=chainage --column 2=invert (chainage, obvert, invert, axis, ground, level, easting, northing, latitude, longitude, ignore)"},
}

// speakFlags puts the flags of the import into hints that name keys of a document.
func speakFlags(faults document.Faults) {
	for i := range faults {
		f := &faults[i]
		if j := slices.IndexFunc(flagHints, func(h struct{ key, hint string }) bool {
			return strings.Contains(f.Hint, "key "+h.key) || strings.Contains(f.Hint, h.key+" =") || strings.Contains(f.Hint, "with "+h.key) && !strings.Contains(f.Hint, "text with columns") || f.Key == h.key
		}); j >= 0 {
			f.Hint = flagHints[j].hint
		}
	}
}
