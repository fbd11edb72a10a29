package line

import (
	"slices"
	"strings"

	"obvert/document"
	"obvert/quantity"
)

// columnPlan says which columns are read; −1 for none.
type columnPlan struct {
	chainage int // of a profile
	x, y     int // of a survey: easting and northing, or longitude and latitude
	level    int // of the pipe, or of the ground where there is no other
	ground   int // kept beside the pipe's level
}

// place is the column that says where a row stands: its chainage, or the first of its coordinates.
func (c columnPlan) place() int {
	if c.chainage < 0 {
		return c.x
	}
	return c.chainage
}

// cellUnit is how the figures of one column get their unit.
type cellUnit struct {
	column int
	name   string
	unit   lengthUnit // of the header or the line's document; not known: each cell has its own
	header bool       // the header says it, so that a cell may not say otherwise
	unsaid bool       // nothing says it, and that has been told
	last   string     // the cell's unit looked up last
	lastOf lengthUnit
}

// planColumns chooses the columns to read and settles the kind of level and the units. Where only a unit is missing
// the rows are still read, for their own faults.
func (p *profileReader) planColumns() bool {
	ok := p.checkStatedColumns()
	p.columns = columnPlan{-1, -1, -1, -1, -1}
	okChainage := p.planChainage()
	okLevel := p.planLevel()
	if !ok || !okChainage || !okLevel {
		return false
	}
	p.chainage = p.unitFor(p.columns.chainage, p.options.ChainageUnit)
	p.level = p.unitFor(p.columns.level, p.options.LevelUnit)
	p.unitStated(&p.chainage, keyChainageUnit, true)
	p.unitStated(&p.level, keyLevelUnit, false)
	if p.columns.ground >= 0 {
		p.ground = p.unitFor(p.columns.ground, p.options.LevelUnit)
		p.unitStated(&p.ground, keyLevelUnit, false)
	}
	p.checkStakes()
	p.needCover()
	return true
}

// checkStakes reports chainages written with a plus under a head whose unit the stakes do not count in.
func (p *profileReader) checkStakes() {
	if u := p.chainage.unit; u.known() && u.feet() != p.stakes.feet() && p.hasStakes() {
		p.partial = true
		p.faults.Add(document.Fault{Line: p.header.line, Key: columnKey(p.header.columns[p.columns.chainage].text),
			What:       "chainage in " + u.name + ", written with a plus",
			Understood: "stakes every " + metres(p.stakes.stakes.Step) + ", counted in " + restName(p.stakes),
			Hint:       "say what one stake is with the key " + keyStakes + ", such as \"100 ft\" or \"1 km\""})
	}
}

func restName(s stakeRule) string {
	if s.feet() {
		return "ft"
	}
	return "m"
}

// columnKey is how a fault names a column.
func columnKey(text string) string {
	if strings.HasPrefix(text, "column ") {
		return text
	}
	return "column " + quantity.Quote(text)
}

// checkStatedColumns reports keys of ProfileOptions.Columns that name no column or no role.
func (p *profileReader) checkStatedColumns() bool {
	ok := true
	names := make([]string, 0, len(p.options.Columns))
	for name := range p.options.Columns {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		role := p.options.Columns[name]
		if _, known := p.roleNamed(role); !known {
			ok = false
			f := document.Fault{Key: keyColumns + "." + quantity.Quote(name), What: quantity.Quote(role) + " is not what a column can hold",
				Hint: "write chainage, obvert, invert, axis, ground, level or ignore"}
			if near, found := quantity.Nearest(role, append(roleNames[1:p.lastRole()+1:p.lastRole()+1], "ignore")); found {
				f.Hint = "write " + quantity.Quote(near)
			}
			p.faults.Add(f)
		}
		if _, found := p.header.find(name); !found {
			ok = false
			p.faults.Add(document.Fault{Line: p.header.line, Key: keyColumns + "." + quantity.Quote(name), What: "the profile has no such column",
				Understood: "the header " + p.headerText(), Hint: "write the header as it stands in the file, or the column's number"})
		}
	}
	return ok
}

// headerText lists the header's cells.
func (p *profileReader) headerText() string {
	var out []string
	for _, c := range p.header.columns {
		if c.text != "" {
			out = append(out, quantity.Quote(c.text))
		}
		if len(out) == 12 {
			out = append(out, "…")
			break
		}
	}
	return strings.Join(out, ", ")
}

// with lists the columns of a role, without those whose column holds no figures where others do.
func (p *profileReader) with(role columnRole) []int {
	var all, stated []int
	for i, c := range p.header.columns {
		if c.role == role {
			all = append(all, i)
			if c.stated {
				stated = append(stated, i)
			}
		}
	}
	if len(stated) > 0 {
		return stated
	}
	if len(all) < 2 {
		return all
	}
	var filled []int
	for _, i := range all {
		if p.figuresIn(i) {
			filled = append(filled, i)
		}
	}
	if len(filled) > 0 {
		return filled
	}
	return all
}

// figuresIn reports whether at least half of the first rows have a figure in a column.
func (p *profileReader) figuresIn(column int) bool {
	r := p.rowsBelow()
	rows, figures := 0, 0
	for rows < sampledRows && r.read() {
		if r.blank() || r.comment() {
			continue
		}
		rows++
		if looksLikeFigure(r.cell(column)) {
			figures++
		}
	}
	return 2*figures >= rows && figures > 0
}

// hasStakes reports whether a row near the beginning writes its chainage with a plus.
func (p *profileReader) hasStakes() bool {
	r := p.rowsBelow()
	for rows := 0; rows < sampledRows && r.read(); rows++ {
		if isStake(r.cell(p.columns.chainage)) {
			return true
		}
	}
	return false
}

// rowsBelow reads the rows under the header.
func (p *profileReader) rowsBelow() *records {
	r := newRecords(p.text, p.sep)
	r.at, r.next = p.header.end, p.header.next
	return r
}

// planChainage takes the column of chainage, a proper one before one of distances.
func (p *profileReader) planChainage() bool {
	all := p.with(roleChainage)
	var best []int
	for _, i := range all {
		if !p.header.columns[i].distance {
			best = append(best, i)
		}
	}
	if len(best) == 0 {
		best = all
	}
	switch len(best) {
	case 0:
		return p.noColumn("no column of chainage")
	case 1:
		p.columns.chainage = best[0]
		return p.doubtful(best[0])
	}
	return p.several("chainage", best)
}

// planLevel takes the column of the pipe's level and the ground's beside it.
func (p *profileReader) planLevel() bool {
	byRole := map[columnRole][]int{}
	for r := roleObvert; r <= roleLevel; r++ {
		byRole[r] = p.with(r)
	}
	role, kind, ok := p.chooseKind(byRole)
	if !ok {
		return false
	}
	if len(byRole[role]) > 1 {
		return p.several("the level of the "+kindName(kind), byRole[role])
	}
	p.columns.level = byRole[role][0]
	p.result.LevelKind = kind
	if g := byRole[roleGround]; kind != LevelGround && len(g) > 0 {
		if len(g) > 1 {
			return p.several("the ground", g)
		}
		p.columns.ground = g[0]
	}
	if c := p.header.columns[p.columns.level]; c.outside && !c.stated {
		p.faults.Add(document.Fault{ID: "profile.outside-top", Severity: document.WarningSeverity, Line: p.header.line, Key: columnKey(c.text),
			What:       "the top of the pipe is read as its obvert",
			Understood: "the inside top; were the outside meant, every level would be too high by the wall",
			Hint:       "take the wall off, or say that it is the obvert with the key " + keyColumns})
	}
	return p.doubtful(p.columns.level) && (p.columns.ground < 0 || p.doubtful(p.columns.ground))
}

// chooseKind settles which kind of level is read: as the line's document says; else the obvert before the invert
// before the axis before the ground. A level of no stated kind is never guessed.
func (p *profileReader) chooseKind(byRole map[columnRole][]int) (columnRole, LevelKind, bool) {
	if k := p.options.LevelKind; k != nil {
		switch {
		case len(byRole[kindRole(*k)]) > 0:
			return kindRole(*k), *k, true
		case len(byRole[roleLevel]) > 0:
			return roleLevel, *k, true
		}
		for r := roleObvert; r <= roleGround; r++ {
			if len(byRole[r]) > 0 {
				p.faults.Add(document.Fault{Line: p.header.line, Key: columnKey(p.header.columns[byRole[r][0]].text),
					What:       "the file's header and the line's document differ",
					Understood: "the header says " + r.String() + ", and " + keyLevelKind + " says " + kindName(*k),
					Hint:       "put one of them right"})
				return 0, 0, false
			}
		}
		return 0, 0, p.noColumn("no column of levels")
	}
	for r := roleObvert; r <= roleAxis; r++ {
		if len(byRole[r]) > 0 {
			k, _ := r.kind()
			return r, k, true
		}
	}
	if unknown := byRole[roleLevel]; len(unknown) > 0 {
		c := p.header.columns[unknown[0]]
		p.kindless = true // the rows are read all the same, for their own faults
		if p.survey {
			return roleLevel, LevelObvert, true // whoever has it read will ask
		}
		p.faults.Add(document.Fault{Line: p.header.line, Key: columnKey(c.text),
			What:       "of what these levels are is not said",
			Understood: "a level, of obvert, invert, axis or ground",
			Hint:       "write " + keyLevelKind + " = \"invert\" (or \"obvert\", \"axis\", \"ground\") in the run, or name the column \"Invert level\" in the file"})
		return roleLevel, LevelObvert, true
	}
	if len(byRole[roleGround]) > 0 {
		return roleGround, LevelGround, true
	}
	return 0, 0, p.noColumn("no column of levels")
}

func kindName(k LevelKind) string { return kindRole(k).String() }

func (p *profileReader) noColumn(what string) bool {
	p.faults.Add(document.Fault{Line: p.header.line, What: what, Understood: "the header " + p.headerText(),
		Hint: "say which it is with the key " + keyColumns})
	return false
}

// several reports columns of which any could be meant.
func (p *profileReader) several(what string, columns []int) bool {
	var names []string
	for _, i := range columns {
		names = append(names, quantity.Quote(p.header.columns[i].text))
	}
	first := p.header.columns[columns[0]].text
	p.faults.Add(document.Fault{Line: p.header.line, What: "several columns could be " + what, Understood: strings.Join(names, ", "),
		Hint: "leave the others out with the key " + keyColumns + ", such as " + keyColumns + " = { " + quantity.Quote(first) + " = \"ignore\" }"})
	return false
}

// doubtful reports a column in use whose header contradicts itself.
func (p *profileReader) doubtful(column int) bool {
	c := p.header.columns[column]
	if c.doubt == "" {
		return true
	}
	p.faults.Add(document.Fault{Line: p.header.line, Key: columnKey(c.text), What: "the header cannot be relied on", Understood: c.doubt,
		Hint: "write one of them, such as \"Invert level [m]\""})
	return false
}

// unitFor is where a column's unit comes from: its header first, then the line's document.
func (p *profileReader) unitFor(column int, stated string) cellUnit {
	c := p.header.columns[column]
	u := cellUnit{column: column, name: c.text, unit: c.unit, header: c.unit.known()}
	if !u.header && stated != "" {
		u.unit, _ = unitOfText(stated)
	}
	return u
}

// unitStated reports a column in which nothing says the unit. Stakes need none, and cells may say it one by one.
func (p *profileReader) unitStated(u *cellUnit, key string, stakes bool) {
	if u.unit.known() || p.cellsSayUnit(u, stakes) {
		return
	}
	u.unsaid, p.partial = true, true
	p.faults.Add(document.Fault{Line: p.header.line, Key: columnKey(u.name), What: "no unit", Understood: "plain figures under a header without a unit",
		Hint: "write " + key + " = \"m\" (or \"ft\" …) in the run, or put it into the header, such as " + quantity.Quote(u.name+" [m]")})
}

// cellsSayUnit reports a column whose cells say their unit one by one, or that has no figure that would need one.
func (p *profileReader) cellsSayUnit(u *cellUnit, stakes bool) bool {
	r := p.rowsBelow()
	rows := 0
	for rows < sampledRows && r.read() {
		cell := r.cell(u.column)
		if len(cell) == 0 || !looksLikeFigure(cell) {
			continue
		}
		rows++
		if stakes && isStake(cell) {
			return true
		}
		if _, rest := splitFigure(plainSigns.Replace(string(cell))); strings.TrimSpace(rest) != "" {
			return true
		}
	}
	return rows == 0 // without a figure the rows will tell
}

// needCover reports a profile of the ground without a cover, and says that the answers rest on it.
func (p *profileReader) needCover() {
	if p.result.LevelKind != LevelGround || p.survey {
		return
	}
	c := p.header.columns[p.columns.level]
	if p.options.Cover == nil {
		p.faults.Add(document.Fault{Line: p.header.line, Key: columnKey(c.text), What: "levels of the ground, and no cover",
			Understood: "the pipe lies somewhere below the ground",
			Hint:       "write " + keyCover + " = \"1.2 m\" in the run: the depth from the ground to the obvert"})
		return
	}
	p.faults.Add(document.Fault{ID: "profile.ground", Severity: document.RemarkSeverity, Line: p.header.line, Key: columnKey(c.text),
		What:       "the pipe's levels are the ground's less a cover of " + metres(*p.options.Cover),
		Understood: "every answer on this run rests on that cover",
		Hint:       "take the levels of the pipe from its drawings where there are any"})
}

// isStake reports a cell such as "1+250".
func isStake(cell []byte) bool {
	for i := 1; i+1 < len(cell); i++ {
		if cell[i] == '+' && cell[i-1]|0x20 != 'e' {
			return true
		}
	}
	return false
}
