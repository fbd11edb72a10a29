package survey

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"obvert/document"
	"obvert/formats/xlsx"
	"obvert/line"
	"obvert/quantity"
)

// Limits of a table of equipment.
const (
	mostEquipment = 20_000 // rows; a line of 5,000 pumps or of a valve every 50 m over 1,000 km
	mostHeadRows  = 40     // rows from the top in which the head is looked for
	sampledKinds  = 50     // rows below it whose words are looked at to tell what the table lists
)

// Kinds of tables, as [Table] names them.
const (
	kindPumps     = "pumps"
	kindPipes     = "pipes"
	kindValves    = "valves"    // air valves alone
	kindEquipment = "equipment" // other equipment, air valves perhaps among it
)

// rolesIn are the roles that a table of a kind may have.
var rolesIn = map[string][]string{
	kindPumps:     {roleStation, roleName, roleAlike, roleFlow, roleHead, roleEfficiency, roleNPSH, roleAxis},
	kindPipes:     {roleFrom, roleTo, roleRun, roleSize, roleBore, roleWall, roleMaterial, roleRoughness, roleHazen, roleRating},
	kindEquipment: {roleChainage, roleKind, roleType, roleHeight, roleRun, roleBore, roleSetting, roleFlow, roleLoss, roleState, roleName, roleSize, roleRemark},
}

// equipmentTable is a table of equipment found in a grid.
type equipmentTable struct {
	*grid
	kind    string
	heads   []equipmentHead
	first   int                 // row at which the records begin
	headRow int                 // row of the head
	only    *line.EquipmentKind // all rows are of this kind, by the table's name or title
	o       Options
	g       *document.Gather
	skipped map[string]int
}

// findEquipment finds the head of a table of equipment among the first rows; nil where there is none.
func findEquipment(t *grid, o Options) *equipmentTable {
	var best *equipmentTable
	most := 0
	for i := range min(len(t.rows), mostHeadRows) {
		for joined := range 2 {
			if joined == 1 && (i+1 >= len(t.rows) || figuresIn(t.rows[i+1]) > 0) {
				continue
			}
			e := &equipmentTable{grid: t, o: o, headRow: i, first: i + 1 + joined}
			if filled(t.rows[i]) < 2 || figuresIn(t.rows[i]) > 0 && !flowHeads(t.rows[i]) {
				continue
			}
			e.heads = e.headsOf(i, i+joined)
			e.takeUnits()
			if n := e.settle(); n > most {
				best, most = e, n
			}
		}
	}
	return best
}

// unplaced tells of a table of air valves or other equipment that says nowhere where each stands.
func unplaced(file string, data []byte, o Options) (document.Fault, bool) {
	if len(data) > lookedAt {
		data = data[:1+max(0, bytes.LastIndexByte(data[:lookedAt], '\n'))]
	}
	t, faults := gridOfText(file, data, o)
	if faults.Err() != nil {
		return document.Fault{}, false
	}
	for i := range min(len(t.rows), mostHeadRows) {
		if filled(t.rows[i]) < 2 || figuresIn(t.rows[i]) > 0 {
			continue
		}
		e := &equipmentTable{grid: &t, o: o, headRow: i, first: i + 1}
		heads, n := assign(e.headsOf(i, i), rolesIn[kindEquipment])
		if n < 4 || column(heads, roleChainage) >= 0 || levelled(heads) {
			continue
		}
		sure := false
		for c, h := range heads {
			_, _, kind := kindOf(h.text)
			sure = sure || kind && h.role != "" || h.role == roleKind && e.listsKinds(c)
		}
		if sure {
			return document.Fault{File: file, Line: t.places[i], What: "a table of equipment without a chainage", Understood: "no column says where each piece stands along the pipe",
				Hint: `add a column headed "Chainage [m]" with the place of each, such as "1+250"`}, true
		}
	}
	return document.Fault{}, false
}

func filled(row []string) int {
	n := 0
	for _, c := range row {
		if strings.TrimSpace(c) != "" {
			n++
		}
	}
	return n
}

// figuresIn counts the cells of a row that begin as figures do.
func figuresIn(row []string) int {
	n := 0
	for _, c := range row {
		if beginsFigure(c) {
			n++
		}
	}
	return n
}

// flowHeads tells a row in which every figure is a flow with its unit: the head of a table of curves.
func flowHeads(row []string) bool {
	n := 0
	for _, c := range row {
		if !beginsFigure(c) {
			continue
		}
		if understandHead(strings.TrimSpace(c)).flow == "" {
			return false
		}
		n++
	}
	return n >= 2
}

// headsOf joins rows column by column and understands each.
func (e *equipmentTable) headsOf(from, to int) []equipmentHead {
	n := 0
	for _, row := range e.rows[from : to+1] {
		n = max(n, len(row))
	}
	heads := make([]equipmentHead, n)
	for c := range n {
		var parts []string
		for i := from; i <= to; i++ {
			if text := strings.Join(strings.Fields(e.cell(i, c)), " "); text != "" && !slices.Contains(parts, text) {
				parts = append(parts, text)
			}
		}
		heads[c] = understandHead(strings.Join(parts, " "))
		if len(parts) == 2 && len(heads[c].roles) == 0 { // "Duty" over "Flow": the lower word says it
			lower := understandHead(parts[1])
			lower.text = strings.Join(parts, " ")
			heads[c] = lower
		}
	}
	return heads
}

// takeUnits takes a row of units under the head.
func (e *equipmentTable) takeUnits() {
	if e.first >= len(e.rows) {
		return
	}
	units := 0
	for c := range e.rows[e.first] {
		text := e.cell(e.first, c)
		if text == "" {
			continue
		}
		if !unitLike(strings.Trim(text, "[]() ")) {
			return
		}
		units++
	}
	if units == 0 {
		return
	}
	for c := range e.heads {
		if u := strings.Trim(e.cell(e.first, c), "[]() "); u != "" && e.heads[c].unit == "" {
			e.heads[c].unit = u
		}
	}
	e.first++
}

// settle finds what kind of table the head makes, gives each column its role, and returns how much was understood; 0: it is no
// table of equipment.
func (e *equipmentTable) settle() int {
	best, most, kind := []equipmentHead(nil), 0, ""
	for _, k := range []string{kindPumps, kindPipes, kindEquipment} {
		heads, n := assign(e.heads, rolesIn[k])
		if n > most && e.essential(k, heads) {
			best, most, kind = heads, n, k
		}
	}
	if best == nil {
		return 0
	}
	e.heads, e.kind = best, kind
	if kind == kindEquipment && e.only == nil && !e.has(roleKind) {
		e.kind = kindValves
	}
	return most
}

// assign gives each column the first of its meanings that the table may have and no column before it has.
func assign(heads []equipmentHead, allowed []string) ([]equipmentHead, int) {
	out := slices.Clone(heads)
	taken := map[string]bool{}
	n := 0
	for c := range out {
		h := &out[c]
		h.role = ""
		for _, role := range allowed { // in the table's order, so that a doubtful word means what the table needs most
			key := fmt.Sprint(role, h.number, h.flow)
			if slices.Contains(h.roles, role) && !taken[key] {
				h.role, taken[key] = role, true
				n += 2
				if h.unit != "" {
					n++
				}
				break
			}
		}
	}
	return out, n
}

// column is the column of a role without a number; −1 where there is none.
func column(heads []equipmentHead, role string) int {
	return slices.IndexFunc(heads, func(h equipmentHead) bool { return h.role == role && h.number == 0 && h.flow == "" })
}

func (e *equipmentTable) column(role string) int { return column(e.heads, role) }
func (e *equipmentTable) has(role string) bool   { return e.column(role) >= 0 }

// essential tells whether the columns are enough for a table of a kind.
func (e *equipmentTable) essential(kind string, heads []equipmentHead) bool {
	has := func(role string) bool { return column(heads, role) >= 0 }
	switch kind {
	case kindPumps:
		flows, pairs := 0, 0
		for _, h := range heads {
			if h.flow != "" {
				flows++
			}
			if h.role == roleHead && h.number > 0 {
				pairs++
			}
		}
		return has(roleFlow) && has(roleHead) && (has(roleName) || has(roleStation) || has(roleEfficiency) || e.says("pump", "pumps", "pumpen", "pompes", "bombas", "pompe")) ||
			pairs >= 2 || flows >= 2
	case kindPipes:
		return has(roleFrom) && has(roleTo) && (has(roleSize) || has(roleBore) || has(roleMaterial))
	}
	if !has(roleChainage) {
		return false
	}
	e.only = nil
	for _, role := range []string{roleKind, roleType} {
		c := column(heads, role)
		if c < 0 || !e.listsKinds(c) {
			continue
		}
		if role == roleType && column(heads, roleKind) < 0 {
			heads[c].role = roleKind
		}
		return true
	}
	if k := column(heads, roleKind); k >= 0 {
		heads[k].role = roleType // words that are no kinds: types of air valves, if it is a table of such
	}
	if !has(roleType) && (!has(roleName) || levelled(heads)) {
		return false // a title alone, over a chainage and a level: a survey
	}
	for _, text := range e.titles() {
		if k, air, ok := kindOf(text); ok {
			if !air {
				e.only = &k
			}
			return true
		}
	}
	for _, h := range heads {
		if _, air, ok := kindOf(h.text); ok && air && h.role != "" {
			return true
		}
		if h.role == roleHeight && containsWord(strings.Join(headWords(h.text), " "), "seat") {
			return true
		}
	}
	return false
}

// levelHeads are heads of levels, folded.
var levelHeads = strings.Fields("level levels elevation invert obvert soffit crown ground rl kote hohe cota niveau quota sohle gelande axis")

// levelled tells whether a column is headed as one of levels.
func levelled(heads []equipmentHead) bool {
	return slices.ContainsFunc(heads, func(h equipmentHead) bool {
		return slices.ContainsFunc(headWords(h.text), func(w string) bool { return slices.Contains(levelHeads, w) })
	})
}

// titles are the table's name and what stands above its head.
func (e *equipmentTable) titles() []string {
	name := e.name
	if i := strings.LastIndexByte(name, '.'); i > 0 && !e.sheet {
		name = name[strings.LastIndexAny(name[:i], `/\`)+1 : i]
	}
	out := []string{name}
	for i := range e.headRow {
		if filled(e.rows[i]) <= 2 {
			for c := range e.rows[i] {
				if text := e.cell(i, c); text != "" && len(text) < 120 {
					out = append(out, text)
				}
			}
		}
	}
	return out
}

// says tells whether the name or a title holds one of the words.
func (e *equipmentTable) says(words ...string) bool {
	for _, t := range e.titles() {
		folded := strings.Join(headWords(t), " ")
		for _, w := range words {
			if containsWord(folded, w) {
				return true
			}
		}
	}
	return false
}

// listsKinds tells whether half of a column's words are kinds of equipment.
func (e *equipmentTable) listsKinds(column int) bool {
	known, all := 0, 0
	for i := e.first; i < min(len(e.rows), e.first+sampledKinds); i++ {
		text := e.cell(i, column)
		if text == "" {
			continue
		}
		all++
		if _, _, ok := kindOf(text); ok {
			known++
		}
	}
	return known > 0 && 2*known >= all
}

// tell says what was understood.
func (e *equipmentTable) tell(r *Reading, what string) {
	var used, unused []string
	for c, h := range e.heads {
		if h.text == "" {
			continue
		}
		place := "column " + fmt.Sprint(c+1)
		if e.sheet {
			place = "column " + xlsx.ColumnName(c+1)
		}
		if h.role == "" {
			unused = append(unused, quantity.Quote(h.text))
			continue
		}
		say := h.role
		if h.flow != "" {
			say += " at " + h.flow
		}
		if h.number > 0 {
			say += fmt.Sprintf(" of point %d", h.number)
		}
		say += " from " + place + ", " + quantity.Quote(h.text)
		if h.unit != "" && !strings.Contains(h.text, h.unit) {
			say += ", in " + h.unit
		}
		used = append(used, say)
	}
	r.Took = append(r.Took, e.title()+" gives "+what+": "+strings.Join(used, "; ")+".")
	if len(unused) > 0 {
		r.Left = append(r.Left, e.title()+": "+plural(len(unused), "column", "columns")+" not wanted: "+strings.Join(unused[:min(len(unused), 20)], ", ")+more(len(unused)-20)+".")
	}
	for _, why := range []string{"totals", "words alone", "repeated head"} {
		if n := e.skipped[why]; n > 0 {
			r.Left = append(r.Left, e.title()+": "+plural(n, "row", "rows")+" of "+why+".")
		}
	}
}

func (e *equipmentTable) title() string {
	if e.sheet {
		return "Sheet " + quantity.Quote(e.name)
	}
	return "The table"
}
