package line

import (
	"strings"

	"obvert/document"
	"obvert/quantity"
)

// columnRole is what a column of a profile holds.
type columnRole uint8

const (
	roleUnused columnRole = iota
	roleChainage
	roleObvert
	roleInvert
	roleAxis
	roleGround
	roleLevel // a level, and the header does not say of what

	// Of a survey only: a place on the plan, or on the globe.
	roleEast
	roleNorth
	roleLatitude
	roleLongitude
)

// roleNames are the words for roles in ProfileOptions.Columns and in the Dialect.
var roleNames = [...]string{"not used", "chainage", "obvert", "invert", "axis", "ground", "level", "easting", "northing", "latitude", "longitude"}

func (r columnRole) String() string { return roleNames[r] }

// isLevel reports a column of levels, of whatever kind.
func (r columnRole) isLevel() bool { return r >= roleObvert && r <= roleLevel }

// isPlan reports a column of places on the plan or the globe.
func (r columnRole) isPlan() bool { return r >= roleEast }

// kind is the kind of level of a column that says it.
func (r columnRole) kind() (LevelKind, bool) {
	switch r {
	case roleObvert:
		return LevelObvert, true
	case roleInvert:
		return LevelInvert, true
	case roleAxis:
		return LevelAxis, true
	case roleGround:
		return LevelGround, true
	}
	return 0, false
}

// kindRole is the role of a column whose levels are of the kind.
func kindRole(k LevelKind) columnRole {
	return [...]columnRole{roleObvert, roleInvert, roleAxis, roleGround}[k]
}

// heading is one column's header as understood.
type heading struct {
	text     string // as written
	role     columnRole
	stated   bool // by the line's document, not by the header's words
	distance bool // a chainage by a weak word: taken only where no better one stands
	outside  bool // "top of pipe": of the pipe's outside
	unit     lengthUnit
	doubt    string // why the words make no column, where they nearly did
	words    int    // how many of its words are known
	strange  int    // how many are not
}

// header is the whole header.
type header struct {
	line    int // 0: none
	columns []heading
	plan    bool // a place on the plan may stand in for the chainage
	end     int  // where the rows begin in the text
	next    int  // number of the line that begins there
}

// complete reports a header by which a profile can be read: a chainage and a level. In a survey a place
// on the plan or the globe does as well as a chainage.
func (h header) complete() bool {
	place, level := false, false
	var has [roleLongitude + 1]bool
	for _, c := range h.columns {
		has[c.role] = true
		level = level || c.role.isLevel()
	}
	place = has[roleChainage] || h.plan && (has[roleEast] && has[roleNorth] || has[roleLatitude] && has[roleLongitude])
	return place && level
}

// worth counts what a header tells beyond its columns: units and kinds.
func (h header) worth() int {
	n := 0
	for _, c := range h.columns {
		if _, ok := c.role.kind(); ok {
			n += 2
		} else if c.role != roleUnused {
			n++
		}
		if c.role != roleUnused && c.unit.known() {
			n++
		}
	}
	return n
}

// longestHeader is the size in bytes of a cell that may still be a column's header.
const longestHeader = 240

// understand reads one column's header.
func understand(text string) heading {
	h := heading{text: text}
	if len(text) > longestHeader {
		return h
	}
	bare, bracketed := cutBrackets(text)
	inner := foldWords(bracketed)
	words := foldWords(bare)
	all := foldWords(text)
	var senses sense
	kinds := map[sense]bool{}
	for _, w := range all {
		s := senseOf(w)
		if s == 0 {
			h.strange++
			continue
		}
		h.words++
		senses |= s
		if k := s & senseKinds; k != 0 {
			kinds[k] = true
		}
	}
	unit, clash := unitOf(inner)
	if !unit.known() && !clash {
		unit, clash = unitOf(words)
	}
	h.unit = unit
	onlyKilometre := len(words) > 0 && allUnits(words) && unit.factor >= 100
	h.outside = senses&senseOutside != 0
	length := senses&senseLength != 0 && senses&senseCumulative != 0
	chainage := senses&(senseChainage|senseDistance|senseStakes) != 0 || length || onlyKilometre || startsWithKilometre(words, senses)
	level := senses&senseLevel != 0 || senses&senseDatum != 0 && unit.known()
	switch {
	case senses&senseOther != 0:
	case chainage && !level && len(kinds) <= 1:
		h.role = roleChainage
		h.distance = senses&senseChainage == 0 && !onlyKilometre
		if senses&senseCumulative != 0 {
			h.distance = false
		}
	case len(kinds) > 1:
		h.doubt = "two kinds of level in one header"
	case kinds[senseObvert]:
		h.role = roleObvert
	case kinds[senseInvert]:
		h.role = roleInvert
	case kinds[senseAxis]:
		h.role = roleAxis
	case kinds[senseGround]:
		h.role = roleGround
	case level:
		h.role = roleLevel
	}
	if clash && h.role != roleUnused {
		h.doubt = "two units in one header"
	}
	return h
}

// startsWithKilometre reports headers such as "Bau-km": the unit is the column's name.
func startsWithKilometre(words []string, senses sense) bool {
	if senses&(senseLevel|senseKinds) != 0 {
		return false
	}
	for _, w := range words {
		if u, ok := lengthUnits[w]; ok && u.name == "km" {
			return true
		}
	}
	return false
}

func allUnits(words []string) bool {
	for _, w := range words {
		if _, ok := lengthUnits[w]; !ok {
			return false
		}
	}
	return true
}

// cutBrackets parts what stands in round or square brackets from the rest.
func cutBrackets(text string) (bare, bracketed string) {
	var out, in strings.Builder
	depth := 0
	for _, c := range text {
		switch {
		case c == '(' || c == '[':
			depth++
			in.WriteByte(' ')
		case (c == ')' || c == ']') && depth > 0:
			depth--
			out.WriteByte(' ')
		case depth > 0:
			in.WriteRune(c)
		default:
			out.WriteRune(c)
		}
	}
	return out.String(), in.String()
}

// sample is one row near the file's beginning.
type sample struct {
	line, next int
	end        int // where the next row begins in the text
	cells      []string
	comment    bool
}

// figures reports whether the row has a figure in the column.
func (s sample) figure(i int) bool {
	return !s.comment && i < len(s.cells) && looksLikeFigure([]byte(s.cells[i]))
}

// figureCount is the number of cells that are figures.
func (s sample) figureCount() int {
	n := 0
	for i := range s.cells {
		if s.figure(i) {
			n++
		}
	}
	return n
}

// filled is the number of cells with anything in them.
func (s sample) filled() int {
	n := 0
	for _, c := range s.cells {
		if c != "" {
			n++
		}
	}
	return n
}

// samples reads the rows at the beginning of the text that are not blank.
func (p *profileReader) samples() []sample {
	r := newRecords(p.text, p.sep)
	var out []sample
	for len(out) < sampledRows && r.read() {
		if r.blank() {
			continue
		}
		s := sample{line: r.line, next: r.next, end: r.at, cells: r.texts(), comment: r.comment()}
		if s.comment { // a header may stand in a comment
			s.cells[0] = strings.TrimLeft(s.cells[0], "#%/ \t")
		}
		out = append(out, s)
	}
	return out
}

// findHeader finds the separator and the header. Title lines may stand above it, units below.
func (p *profileReader) findHeader() bool {
	sep, ok := findSeparator(p.text)
	if !ok {
		sep, ok = p.separatorByHeader()
	}
	if !ok {
		p.faults.Add(document.Fault{
			What:       "no table in this file",
			Understood: "in none of the first rows do tab, semicolon, bar, comma or blanks part two figures",
			Hint:       "a profile is a table with a header line and, row by row, a chainage and a level",
		})
		return false
	}
	p.sep = sep
	p.result.Dialect.Separator = separatorName(sep)
	rows := p.samples()
	likely := -1
	for i := range rows {
		h, last, ok := p.headerAt(rows, i)
		if !ok {
			continue
		}
		if p.leadsToData(rows, h, last) {
			p.takeHeader(rows, i, h)
			return true
		}
		if likely < 0 {
			likely = i
		}
	}
	if likely >= 0 { // the rows will tell what is wrong with them
		h, _, _ := p.headerAt(rows, likely)
		p.takeHeader(rows, likely, h)
		return true
	}
	if h, ok := p.withoutHeader(rows); ok {
		p.header = h
		return true
	}
	p.noHeader(rows)
	return false
}

// takeHeader settles on a header; what stands above it are titles.
func (p *profileReader) takeHeader(rows []sample, i int, h header) {
	p.header = h
	p.result.Dialect.HeaderLine = h.line
	for _, s := range rows[:i] {
		if s.comment {
			p.drop("comment", s.line)
		} else {
			p.drop("title", s.line)
		}
	}
}

// separatorByHeader takes the separator that makes a header of one of the first rows, where no row has two figures.
func (p *profileReader) separatorByHeader() (byte, bool) {
	for _, s := range separators {
		p.sep = s.sep
		rows := p.samples()
		for i := range min(len(rows), 20) {
			if p.headerOf(rows, i, i).complete() {
				return s.sep, true
			}
		}
	}
	return 0, false
}

// headerAt reads row i as a header, alone or with the row under it, and takes in rows of units or kinds around it.
func (p *profileReader) headerAt(rows []sample, i int) (h header, last int, ok bool) {
	if rows[i].figureCount() >= 2 {
		return header{}, 0, false
	}
	h, last = p.headerOf(rows, i, i), i
	if !h.complete() && i+1 < len(rows) && rows[i+1].figureCount() == 0 && rows[i].filled() >= 2 && known(rows[i]) {
		h, last = p.headerOf(rows, i, i+1), i+1
	}
	if !h.complete() {
		return header{}, 0, false
	}
	first := i
	if i > 0 && rows[i-1].filled() >= 2 && rows[i-1].figureCount() == 0 && known(rows[i-1]) {
		if wider := p.headerOf(rows, i-1, last); wider.complete() && wider.worth() > h.worth() {
			h, first = wider, i-1
		}
	}
	for range 2 {
		if last+1 < len(rows) && rows[last+1].figureCount() == 0 && known(rows[last+1]) {
			if wider := p.headerOf(rows, first, last+1); wider.complete() && wider.worth() > h.worth() {
				h, last = wider, last+1
			}
		}
	}
	h.line = rows[i].line
	return h, last, true
}

// known reports a row whose every word is one of the vocabulary: it may be part of a header.
func known(s sample) bool {
	for _, c := range s.cells {
		if h := understand(c); h.strange > 0 {
			return false
		}
	}
	return s.filled() > 0
}

// headerOf joins rows from first to last, column by column, and reads them as a header.
func (p *profileReader) headerOf(rows []sample, first, last int) header {
	n := 0
	for _, s := range rows[first : last+1] {
		n = max(n, len(s.cells))
	}
	h := header{columns: make([]heading, n), plan: p.survey, line: rows[first].line, end: rows[last].end, next: rows[last].next}
	for c := range n {
		var parts []string
		for _, s := range rows[first : last+1] {
			if c < len(s.cells) && s.cells[c] != "" {
				parts = append(parts, strings.Join(strings.Fields(s.cells[c]), " "))
			}
		}
		h.columns[c] = understand(strings.Join(parts, " "))
		if p.survey {
			h.columns[c].findPlan()
		}
	}
	p.stateColumns(&h)
	return h
}

// stateColumns lays the roles that the line's document states over those of the words.
func (p *profileReader) stateColumns(h *header) {
	for name, role := range p.options.Columns {
		c, ok := h.find(name)
		if !ok {
			continue
		}
		if r, ok := p.roleNamed(role); ok {
			h.columns[c].role, h.columns[c].stated, h.columns[c].distance = r, true, false
			if h.columns[c].doubt != "" && !strings.Contains(h.columns[c].doubt, "unit") {
				h.columns[c].doubt = ""
			}
		}
	}
}

// find is the column with a header, or with a number counted from 1.
func (h header) find(name string) (int, bool) {
	for i, c := range h.columns {
		if c.text == name {
			return i, true
		}
	}
	fold := func(s string) string { return strings.Join(foldWords(s), " ") }
	for i, c := range h.columns {
		if f := fold(name); f != "" && fold(c.text) == f {
			return i, true
		}
	}
	n := 0
	for _, d := range []byte(name) {
		if !isDigit(d) || n > mostCells {
			return 0, false
		}
		n = n*10 + int(d-'0')
	}
	return n - 1, n >= 1 && n <= len(h.columns)
}

// roleNamed is the role of a word in ProfileOptions.Columns.
func (p *profileReader) roleNamed(s string) (columnRole, bool) {
	if s == "ignore" {
		return roleUnused, true
	}
	for r := roleChainage; r <= p.lastRole(); r++ {
		if r.String() == s {
			return r, true
		}
	}
	return 0, false
}

// lastRole is the last role that a column may be given by its name.
func (p *profileReader) lastRole() columnRole {
	if p.survey {
		return roleLongitude
	}
	return roleLevel
}

// leadsToData reports whether figures stand under a header within four rows, before any other header.
func (p *profileReader) leadsToData(rows []sample, h header, last int) bool {
	for i := last + 1; i < min(len(rows), last+5); i++ {
		chainage, level := false, false
		for c, col := range h.columns {
			if !rows[i].figure(c) {
				continue
			}
			chainage = chainage || col.role == roleChainage || col.role.isPlan()
			level = level || col.role.isLevel()
		}
		if chainage && level {
			return true
		}
		if other := p.headerOf(rows, i, i); other.complete() && !rows[i].comment {
			return false
		}
	}
	return false
}

// withoutHeader takes a table of two columns that has no header where the line's document states the rest.
func (p *profileReader) withoutHeader(rows []sample) (header, bool) {
	first := -1
	for i, s := range rows {
		if s.figureCount() >= 2 {
			first = i
			break
		}
	}
	if first < 0 {
		return header{}, false
	}
	h := header{columns: make([]heading, len(rows[first].cells)), plan: p.survey, next: rows[first].line}
	for i := range h.columns {
		h.columns[i].text = "column " + itoa(i+1)
	}
	if first > 0 {
		h.end, h.next = rows[first-1].end, rows[first-1].next
	} else {
		h.next = 1
	}
	p.stateColumns(&h)
	if h.complete() {
		return h, true
	}
	titled := first > 0 && rows[first-1].filled() >= 2 && !rows[first-1].comment // a header not understood, rather
	o := p.options
	if titled || len(h.columns) != 2 || o.LevelKind == nil || len(o.Columns) > 0 {
		return header{}, false
	}
	h.columns[0].role, h.columns[1].role = roleChainage, roleLevel
	p.faults.Remark("profile.no-header", rows[first].line, "the file has no header line",
		"column 1 is read as chainage and column 2 as level", "say so with the key "+keyColumns+", or put a header line above")
	return h, true
}

// noHeader tells what the likeliest header holds and what is missing in it.
func (p *profileReader) noHeader(rows []sample) {
	best, bestRow := header{}, -1
	for i, s := range rows {
		if s.filled() < 2 || s.figureCount() >= 2 {
			continue
		}
		h := p.headerOf(rows, i, i)
		if bestRow < 0 || h.worth() > best.worth() {
			best, bestRow = h, i
		}
		if i+1 < len(rows) && rows[i+1].figureCount() >= 2 {
			if h.worth() >= best.worth() {
				best, bestRow = h, i
			}
			break
		}
	}
	hint := "name the columns in a header line, such as \"Chainage [m]\" and \"Invert level [m]\", or say which is which with the key " +
		keyColumns + ", such as " + keyColumns + " = { \"1\" = \"chainage\", \"2\" = \"invert\" }"
	if bestRow < 0 {
		p.faults.Add(document.Fault{What: "no header line found", Understood: "the file begins with figures", Hint: hint})
		return
	}
	var seen []string
	for _, c := range best.columns {
		what := c.role.String()
		switch {
		case c.text == "":
			continue
		case c.doubt != "":
			what = c.doubt
		case c.role == roleUnused:
			what = "neither chainage nor level"
		}
		seen = append(seen, quantity.Quote(c.text)+" "+what)
		if len(seen) == 12 {
			seen = append(seen, "…")
			break
		}
	}
	p.faults.Add(document.Fault{
		Line:       rows[bestRow].line,
		What:       "no header line with both a chainage and a level",
		Understood: strings.Join(seen, ", "),
		Hint:       hint,
	})
}
