package deliver

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"obvert/physics/valve"
	"obvert/study"
)

// comparedLine draws a route with its tubes, across them every type compared as a band from letting-go to sealing head, and under each tube a cell for each type.
type comparedLine struct {
	c     *study.Comparison
	view  *view   // with the valves drawn
	all   []int   // of each of them, its index into the comparison's places
	order []int   // types from the lowest sealing head up: what is labelled from the foot of the drawing up
	top   float64 // head at the top of the tubes, m
	left  int     // places that are not drawn, for every type is tight there
	name  string  // of the route, where there are several
	short []string
}

// Columns and margins of the drawing in each form: the types' names stand at the left.
func comparedForm(f form) form {
	switch f.name {
	case "desk", "print":
		f.left, f.right, f.column = 226, 70, 70
	case "wide":
		f.left, f.right, f.column = 260, 72, 74
	default:
		f.left, f.right, f.column, f.perSheet = 46, 58, 50, 6
	}
	return f
}

// newComparedLines makes a drawing for every route that holds a valve which none before it holds.
func newComparedLines(c *study.Comparison) (out []*comparedLine) {
	r := c.Results()[0]
	names, _ := valveNumbers(r)
	rack := comparedRack(c)
	seen := map[int]bool{}
	for i := range r.Line.Routes {
		v := newView(r, i, names, rack)
		d := &comparedLine{c: c, view: v, top: v.ruler()}
		fresh := false
		for j := range v.valves {
			at := v.valves[j].index
			fresh = fresh || !seen[at]
			seen[at] = true
			d.all = append(d.all, at)
		}
		if !fresh || d.top <= 0 {
			continue
		}
		if len(r.Line.Routes) > 1 {
			d.name = v.name
		}
		for k := range c.Types {
			d.order = append(d.order, k)
			d.short = append(d.short, letters(k))
		}
		sort.SliceStable(d.order, func(a, b int) bool { return c.Types[d.order[a]].Sealing < c.Types[d.order[b]].Sealing })
		d.thinOut()
		out = append(out, d)
	}
	return out
}

// comparedRack is the rack with the types compared alone.
func comparedRack(c *study.Comparison) *rackView {
	all := newRackView(c.Results()[0])
	v := &rackView{byRecord: map[int]int{}, lettered: all.lettered}
	for _, t := range all.types {
		for i := range c.Types {
			if c.Types[i].Record == t.record {
				t.short = letters(i)
				v.byRecord[t.record] = len(v.types)
				v.types = append(v.types, t)
			}
		}
	}
	return v
}

// thinOut leaves out, on a line with more valves than one sheet holds, the places at which every type is tight and the water stands over the ruler.
func (d *comparedLine) thinOut() {
	if len(d.view.valves) <= comparedForm(formDesk).capacity() {
		return
	}
	v := *d.view
	v.valves = nil
	var at []int
	for j := range d.view.valves {
		p := &d.c.Places[d.all[j]]
		dull := p.Lowest > d.top
		for _, x := range p.Cells {
			dull = dull && x.Verdict == study.StaysTight
		}
		if dull {
			d.left++
			continue
		}
		v.valves = append(v.valves, d.view.valves[j])
		at = append(at, d.all[j])
	}
	if len(at) > 0 {
		d.view, d.all = &v, at
	} else {
		d.left = 0
	}
}

func (d *comparedLine) draw(f form, id string) []*canvas {
	var out []*canvas
	for _, s := range cut(d.view, comparedForm(f)) {
		if len(s.on) == 0 && s.of > 1 {
			continue
		}
		c := &canvas{w: f.w, id: id}
		g := &comparedSheet{tubes: &tubes{sheet: s, c: c, top: d.top, standing: -1, y0: 40}, d: d}
		g.draw()
		out = append(out, c)
	}
	return out
}

// comparedSheet is one sheet of it.
type comparedSheet struct {
	*tubes
	d *comparedLine
}

func (g *comparedSheet) place(k int) *study.ComparedPlace { return &g.d.c.Places[g.d.all[g.on[k]]] }

func (g *comparedSheet) draw() {
	high := 340.0
	if !g.bands {
		high = 300
	}
	if t := g.sheetTitle(); t != "" {
		g.y0 += 22
	}
	g.y1 = g.y0 + high
	g.scale = (high - 26) / g.top
	if t := g.sheetTitle(); t != "" {
		g.c.text(0, 13, t, faceHead, setting{})
	}
	right := g.w - 4
	g.bandsOfTypes(g.left-4, right)
	for k := range g.on {
		g.comparedTube(k)
	}
	g.c.line("hair2", g.left-4, g.y1, right, g.y1)
	y := g.axis()
	y = g.cells(y)
	g.c.h = y
	g.c.title = "Head at each valve's seat on " + g.r.Line.Name + " against the sealing head of every type compared"
	if t := g.title(); t != "" {
		g.c.title += ", " + t
	}
	g.c.desc = g.words()
}

// bandsOfTypes draws each type across the sheet: grey from its letting-go to its sealing head, a darker band for the uncertainty of the sealing head, a line at it, and
// the name at the margin.
func (g *comparedSheet) bandsOfTypes(left, right float64) {
	types := g.d.c.Types
	var at []float64
	var tags []int
	for i := len(g.d.order) - 1; i >= 0; i-- {
		q := &types[g.d.order[i]]
		if q.SealingBound == valve.Measured && q.LettingGoBound == valve.Measured {
			y := g.y(min(q.Sealing, g.top))
			g.c.rect("hyst", left, y, right-left, max(g.y(min(q.LettingGo, g.top))-y, 0))
		}
	}
	for i := len(g.d.order) - 1; i >= 0; i-- {
		k := g.d.order[i]
		q := &types[k]
		if q.SealingBound != valve.Measured && q.SealingBound != valve.MoreThan && q.SealingBound != valve.LessThan {
			continue
		}
		y := g.y(min(q.Sealing, g.top))
		class := "seal"
		if q.SealingBound != valve.Measured {
			class = "seal few"
		} else if u := q.SealingExpanded * g.scale; u > 0 {
			g.c.rect("hysb", left, max(y-u, g.y0-4), right-left, min(2*u, g.y1-max(y-u, g.y0-4)))
		}
		g.c.line(class, left, y, right, y)
		at, tags = append(at, y), append(tags, k)
	}
	gap, edgeX := 29.0, left-14
	if !g.bands {
		gap, edgeX = 14, left-4
	}
	if float64(len(at))*gap > g.y1-g.y0 {
		gap = 15
	}
	for i, y := range Spread(at, gap, g.y0+4, g.y1-8) {
		k := tags[i]
		g.c.path("lead", fmt.Sprintf("M%s %sL%s %s", num(edgeX+2), num(y), num(left), num(at[i])))
		if !g.bands {
			g.c.text(edgeX, y+4, g.d.short[k], faceLabelB, setting{at: end})
			continue
		}
		name, figure := shorten(faceLabelB, types[k].Name, edgeX-90), comparedFigure(&types[k])
		if gap > 20 {
			name = shorten(faceLabelB, types[k].Name, edgeX-4)
			g.c.text(edgeX, y, name, faceLabelB, setting{at: end})
			g.c.text(edgeX, y+13, figure, faceNote, setting{at: end})
			continue
		}
		g.c.text(edgeX, y+4, name, faceLabelB, setting{at: end})
		g.c.text(edgeX-faceLabelB.width(name)-6, y+4, shorten(faceNote, figure, 80), faceNote, setting{at: end})
	}
	if g.bands {
		g.c.text(0, g.y0-20, "shuts ↑, lets go ↓,", faceNote, setting{})
		g.c.text(0, g.y0-6, "m at the seat", faceNote, setting{})
	}
}

// uncertaintyText writes an uncertainty with the decimals of the head beside it, unless they would hide it.
func uncertaintyText(u float64) string {
	if u < 0.005 {
		return significant(u, 1)
	}
	return fixed(u, 2)
}

// comparedFigure is a type's two heads.
func comparedFigure(q *study.ComparedType) string {
	h := func(b valve.Bound, v, u float64) string {
		switch b {
		case valve.Measured:
			if u > 0 {
				return rulerText(v) + " ± " + uncertaintyText(u)
			}
			return rulerText(v)
		case valve.MoreThan:
			return "> " + rulerText(v)
		case valve.LessThan:
			return "< " + rulerText(v)
		}
		return ""
	}
	s := h(q.SealingBound, q.Sealing, q.SealingExpanded)
	if s == "" {
		return "not measured"
	}
	s = "↑ " + s
	if l := h(q.LettingGoBound, q.LettingGo, q.LettingGoExpanded); l != "" {
		s += "  ↓ " + strings.Split(l, " ±")[0]
	}
	return s
}

// comparedTube is one place's tube: filled with the smallest head of the standing cases, the others dashed.
func (g *comparedSheet) comparedTube(k int) {
	p, x := g.place(k), g.col[k]
	beyond := p.Lowest > g.top+1e-9
	g.glass(x, p.Lowest, beyond)
	seen := map[string]bool{headText(p.Lowest): true}
	for _, h := range p.Heads {
		if h <= 0 || h > g.top || seen[headText(h)] {
			continue
		}
		seen[headText(h)] = true
		g.c.line("lowl", x-tubeWide/2, g.y(h), x+tubeWide/2, g.y(h))
	}
	text := headText(p.Lowest)
	switch {
	case len(p.Heads) == 0:
		text = "–"
		fallthrough
	case beyond:
		g.c.text(x, g.y0-6, text, faceLabelB, setting{at: middle})
	case p.Lowest <= 0:
		g.c.text(x, g.y1-6, "dry", faceNote, setting{at: middle})
	case g.bands:
		g.c.text(x-tubeWide/2-4, min(g.y(p.Lowest)+4, g.y1-3), text, faceLabelB, setting{at: end, halo: true})
	default:
		y := max(g.y(p.Lowest)-5, g.y0+10)
		g.c.text(x, y, text, faceLabelB, setting{at: middle, halo: true})
	}
}

// axis draws the chainage under the tubes and joins each tube to its place on it; it gives the y below.
func (g *comparedSheet) axis() float64 {
	y := g.y1 + 26
	for k, j := range g.on {
		x := g.x(g.view.valves[j].ch)
		g.c.path("lead", fmt.Sprintf("M%s %sL%s %s", num(g.col[k]), num(g.y1), num(x), num(y)))
		g.c.path("dimt", fmt.Sprintf("M%s %sv6", num(x), num(y-3)))
	}
	g.c.line("hair2", g.left, y, g.plotRight(), y)
	n := (g.plotRight() - g.left) / 110
	at, _ := ticks(g.from, g.to, max(int(n), 2))
	last := math.Inf(-1)
	for _, v := range at {
		s := chainageText(v)
		x, w := g.x(v), faceNote.width(s)
		if x-w/2 < last+8 || x+w/2 > g.w {
			continue
		}
		g.c.line("hair2", x, y, x, y+4)
		g.c.text(x, y+17, s, faceNote, setting{at: middle})
		last = x + w/2
	}
	if g.bands {
		g.c.text(0, y+17, "chainage", faceNote, setting{})
	}
	return y + 26
}

// cellWord is a verdict as a cell holds it.
func cellWord(v study.Verdict) string {
	switch v {
	case study.OnlyIfShut:
		return "if shut"
	case study.NotJudged:
		return "unknown"
	}
	return v.String()
}

// verdictClass is the colour class of a verdict.
func verdictClass(v study.Verdict) string {
	switch v {
	case study.StaysTight, study.OnlyIfShut:
		return "tight"
	case study.NoWater:
		return "empty"
	case study.StandsOpen:
		return "open"
	case study.DripsStanding:
		return "drips"
	}
	return "unknown"
}

// verdictShape is the mark of a verdict.
func verdictShape(v study.Verdict, x, y, r float64) string {
	if v == study.OnlyIfShut {
		return fitOnlyIfShut.shape(x, y, true)
	}
	return wordMark(map[study.Verdict]string{study.StaysTight: "tight", study.NoWater: "empty", study.StandsOpen: "open", study.DripsStanding: "drips", study.NotJudged: "not known"}[v]).shape(x, y, r)
}

// cells draws a row for each type, and one for the mixed set, a cell under each tube; it gives the y below.
func (g *comparedSheet) cells(y float64) float64 {
	const high = 38.0
	head := 0.0
	if !g.bands {
		head = 18 // the type's name stands over its row
	}
	if g.bands {
		g.c.text(0, y+18, "valve", faceNote, setting{})
	}
	for k, j := range g.on {
		g.c.text(g.col[k], y+19, shorten(faceLabelB, g.view.valves[j].no, g.column-4), faceLabelB, setting{at: middle})
	}
	y += 28
	for i := range g.d.c.Types {
		g.c.line("hair", 0, y, g.w, y)
		g.rowHead(y, g.d.short[i], g.d.c.Types[i].Name, g.tally(i))
		for k := range g.on {
			g.cell(g.col[k], y+head+3, high-6, &g.place(k).Cells[i])
		}
		y += high + head
	}
	g.c.line("hair2", 0, y, g.w, y)
	g.rowHead(y, "", "Mixed set", "cheapest that holds")
	for k := range g.on {
		p := g.place(k)
		text := "none"
		if p.Best >= 0 {
			text = g.d.c.Types[p.Best].Name
			if !g.bands {
				text = g.d.short[p.Best]
			}
		}
		if p.Best < 0 && !wet(p) {
			text = "–"
		}
		lines := faceNoteB.wrap(text, g.column-8)
		if p.Best < 0 {
			lines = []string{text}
		}
		if len(lines) > 2 {
			lines = []string{lines[0], shorten(faceNoteB, strings.Join(lines[1:], " "), g.column-8)}
		}
		at := y + head + 23
		if len(lines) == 2 {
			at -= 7
		}
		f := faceNoteB
		if p.Best < 0 {
			f = faceNote
		}
		g.c.lines(g.col[k], at, 14, lines, f, setting{at: middle})
	}
	return y + high + head + 2
}

// wet tells whether water stands at a place with some type.
func wet(p *study.ComparedPlace) bool {
	for i := range p.Cells {
		if v := p.Cells[i].Verdict; v != study.NoWater && v != study.StandsOpen {
			return true
		}
	}
	return false
}

// rowHead names a row: at the left, or on a narrow sheet over it.
func (g *comparedSheet) rowHead(y float64, short, name, note string) {
	if !g.bands {
		if short != "" {
			name = short + ", " + name
		}
		w := faceNote.width(note)
		g.c.text(0, y+15, shorten(faceLabelB, name, g.w-w-12), faceLabelB, setting{})
		g.c.text(g.w, y+15, note, faceNote, setting{at: end})
		return
	}
	room := g.left - 46
	g.c.text(0, y+17, shorten(faceLabelB, name, room), faceLabelB, setting{})
	g.c.text(0, y+31, shorten(faceNote, note, room), faceNote, setting{})
}

// tally says how a type stands at the places of the whole comparison.
func (g *comparedSheet) tally(i int) string {
	drips, tight := 0, 0
	for k := range g.d.c.Places {
		switch g.d.c.Places[k].Cells[i].Verdict {
		case study.DripsStanding:
			drips++
		case study.StaysTight, study.OnlyIfShut:
			tight++
		}
	}
	if drips > 0 {
		return fmt.Sprintf("drips at %d of %d", drips, len(g.d.c.Places))
	}
	return fmt.Sprintf("tight at %d of %d", tight, len(g.d.c.Places))
}

// cell is one type at one place: its word, its mark, its margin.
func (g *comparedSheet) cell(x, y, high float64, q *study.ComparedCell) {
	class := verdictClass(q.Verdict)
	w := g.column - 6
	g.c.rect("c-"+class, x-w/2, y, w, high)
	word := cellWord(q.Verdict)
	wide := faceNoteB.width(word)
	if left := x - (wide+14)/2; wide+14 <= w {
		g.c.b.WriteString(verdictShape(q.Verdict, left+5, y+10, 4.6))
		g.c.text(left+14, y+14, word, faceNoteB, setting{class: "w-" + class})
	} else { // too narrow for both: the mark alone, the word is in the table
		g.c.b.WriteString(verdictShape(q.Verdict, x, y+10, 4.6))
	}
	text := "–"
	switch q.Verdict {
	case study.StaysTight, study.OnlyIfShut, study.DripsStanding:
		text = marginText(q.Margin)
	}
	g.c.text(x, y+high-5, text, faceNote, setting{at: middle})
}

// sheetTitle is the title over the drawing, where there are several.
func (g *comparedSheet) sheetTitle() string {
	t := g.d.name
	if g.of > 1 {
		t = strings.TrimPrefix(t+", ", ", ") + g.title()
	}
	return upper(t)
}

// words is what a screen reader hears.
func (g *comparedSheet) words() string {
	var b strings.Builder
	for k, j := range g.on {
		p := g.place(k)
		fmt.Fprintf(&b, "Valve %s at %s: %s m.", g.view.valves[j].no, chainageText(g.view.valves[j].ch), headText(p.Lowest))
		for i := range p.Cells {
			fmt.Fprintf(&b, " %s %s;", g.d.c.Types[i].Name, p.Cells[i].Verdict)
		}
		b.WriteByte(' ')
	}
	return strings.TrimSpace(b.String())
}

// twin is the drawing as a table: all places, also those that are not drawn.
func (d *comparedLine) twin() *plainTable {
	t := &plainTable{Caption: "Places and types: margin over the sealing head in the standing case that decides, m", Heads: []string{"valve", "chainage", "seat, m", "least head, m", "other standing heads, m"}}
	names, _ := valveNumbers(d.c.Results()[0])
	for i := range d.c.Types {
		t.Heads = append(t.Heads, d.c.Types[i].Name)
	}
	t.Heads = append(t.Heads, "mixed set")
	for i := range d.c.Places {
		p := &d.c.Places[i]
		no := names[p.Valve]
		if no == "" {
			no = p.Valve
		}
		var others []string
		for _, h := range p.Heads {
			if s := headText(h); s != headText(p.Lowest) {
				others = append(others, s)
			}
		}
		least := "–"
		if len(p.Heads) > 0 {
			least = headText(p.Lowest)
		}
		row := []string{no, d.at(p), levelText(p.Seat), least, dashed(strings.Join(others, ", "))}
		for k := range p.Cells {
			x := &p.Cells[k]
			s := x.Verdict.String()
			switch x.Verdict {
			case study.StaysTight, study.OnlyIfShut, study.DripsStanding:
				s += " " + marginText(x.Margin)
			}
			row = append(row, s)
		}
		if p.Best >= 0 {
			row = append(row, d.c.Types[p.Best].Name)
		} else {
			row = append(row, p.Why)
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

func (d *comparedLine) at(p *study.ComparedPlace) string {
	if l := d.c.Results()[0].Line; len(l.Runs) > 1 {
		return chainageText(p.Chainage) + ", " + l.Runs[p.Run].Name
	}
	return chainageText(p.Chainage)
}
