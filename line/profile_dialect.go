package line

import (
	"strings"

	"obvert/document"
	"obvert/quantity"
)

// Dialect is how a profile file was understood.
type Dialect struct {
	Encoding    string          // "UTF-8", "Windows-1252", …
	Separator   string          // "tab", "semicolon", "bar", "comma", "blanks"
	DecimalSign string          // "point" or "comma"
	Thousands   string          // what parts thousands, "" where nothing does
	HeaderLine  int             `unit:"1"` // number of the header's line, 0 for none
	Columns     []ProfileColumn // every column of the table
	Rows        int             `unit:"1"` // rows with figures
	Dropped     []DroppedRows   // rows that were left out
}

// ProfileColumn is one column of a profile file as understood.
type ProfileColumn struct {
	Number int    `unit:"1"` // from 1
	Header string // as written
	Role   string // "chainage", "obvert", "invert", "axis", "ground", "not used"
	Unit   string // "m", "ft", "stakes every 1000 m"; "its own, cell by cell"; "a unit not said"; empty where not used
}

// DroppedRows are rows left out for one reason.
type DroppedRows struct {
	Why         string // "title", "comment", "totals", "repeated header", "no figures", "repeated point"
	Count       int    `unit:"1"`
	First, Last int    `unit:"1"` // line numbers
}

// String is the dialect in one sentence for the report and the command line.
func (d Dialect) String() string {
	parts := []string{d.Encoding}
	if len(d.Columns) == 0 {
		return d.Encoding
	}
	parts = append(parts, d.Separator+" between columns", "decimal "+d.DecimalSign)
	if d.Thousands != "" {
		parts = append(parts, "thousands parted by the "+d.Thousands)
	}
	if d.HeaderLine > 0 {
		parts = append(parts, "header in line "+itoa(d.HeaderLine))
	}
	for _, c := range d.Columns {
		if c.Role == "not used" {
			continue
		}
		s := c.Role + " from " + columnKey(c.Header)
		if c.Unit != "" {
			s += " in " + c.Unit
		}
		parts = append(parts, s)
	}
	parts = append(parts, counted(d.Rows, "row", "rows"))
	for _, r := range d.Dropped {
		parts = append(parts, counted(r.Count, "row", "rows")+" left out ("+r.Why+", "+lines(r.First, r.Last)+")")
	}
	return strings.Join(parts, "; ")
}

// reasons for leaving rows out, in the order in which they are shown.
var reasons = []string{"title", "comment", "repeated header", "no figures", "totals", "repeated point"}

// drop counts a row left out.
func (p *profileReader) drop(why string, line int) {
	d := p.dropped[why]
	if d == nil {
		d = &DroppedRows{Why: why, First: line, Last: line}
		p.dropped[why] = d
	}
	d.Count++
	d.First, d.Last = min(d.First, line), max(d.Last, line)
}

// describe fills the dialect once the rows are read, and remarks on rows that were left out from among them.
func (p *profileReader) describe(rows []surveyRow) {
	d := &p.result.Dialect
	d.DecimalSign = signName(p.decimal)
	d.Rows = len(rows)
	var groups []string
	for _, c := range []byte{' ', '\'', ',', '.'} {
		if p.grouped[c] {
			groups = append(groups, signName(c))
		}
	}
	d.Thousands = strings.Join(groups, " and ")
	d.Columns = p.describeColumns()
	p.describeDropped()
	for _, why := range []string{"repeated header", "no figures", "totals"} {
		r := p.dropped[why]
		if r == nil {
			continue
		}
		what := map[string]string{
			"repeated header": "the header stands again",
			"no figures":      counted(r.Count, "row", "rows") + " without figures",
			"totals":          counted(r.Count, "row", "rows") + " of totals",
		}[why]
		p.faults.Remark("profile."+strings.ReplaceAll(why, " ", "-"), r.First, what, "left out, "+lines(r.First, r.Last), "")
	}
}

// describeDropped lists what was left out up to now.
func (p *profileReader) describeDropped() {
	d := &p.result.Dialect
	d.Dropped = nil
	for _, why := range reasons {
		if r := p.dropped[why]; r != nil {
			d.Dropped = append(d.Dropped, *r)
		}
	}
}

// describeColumns lists the columns and remarks on levels that were not used.
func (p *profileReader) describeColumns() []ProfileColumn {
	var out []ProfileColumn
	for i, h := range p.header.columns {
		c := ProfileColumn{Number: i + 1, Header: h.text, Role: roleUnused.String()}
		var u *cellUnit
		switch i {
		case p.columns.chainage:
			c.Role, u = "chainage", &p.chainage
		case p.columns.level:
			c.Role, u = kindName(p.result.LevelKind), &p.level
			if p.kindless {
				c.Role = roleLevel.String()
			}
		case p.columns.ground:
			c.Role, u = "ground", &p.ground
		case p.columns.x:
			c.Role, u = h.role.String(), &p.east
		case p.columns.y:
			c.Role, u = h.role.String(), &p.north
		default:
			if k, ok := h.role.kind(); ok && !h.stated {
				p.faults.Add(document.Fault{ID: "profile.unused-level", Severity: document.RemarkSeverity, Line: p.header.line, Key: columnKey(h.text),
					What: "levels of the " + kindName(k) + " are not used", Understood: "the pipe's levels are those of " + columnKey(p.header.columns[p.columns.level].text),
					Hint: "write " + keyLevelKind + " = " + quantity.Quote(kindName(k)) + " in the run to use them"})
			}
		}
		if u != nil {
			c.Unit = p.unitText(u)
		}
		out = append(out, c)
	}
	return out
}

// unitText is what a column's figures are counted in.
func (p *profileReader) unitText(u *cellUnit) string {
	switch {
	case u.unit.known():
		return u.unit.name
	case u.unsaid:
		return "a unit not said"
	case u == &p.chainage && p.hasStakes():
		return "stakes every " + metres(p.stakes.stakes.Step)
	}
	return "its own, cell by cell"
}
