package deliver

import (
	"math"
	"strings"

	"obvert/formats/pdf"
)

// grid is a table as it is set on paper.
type grid struct {
	caption  string
	quiet    bool // the caption is not printed
	bold     bool // the caption is bold
	size     float64
	pad      float64 // over and under a row's text
	gap      float64 // between columns
	wide     bool    // takes the column's whole width
	groups   []group
	heads    []gridHead
	rows     []gridRow
	foot     [][]span // notes under it, over its whole width
	headRule float64
}

type gridHead struct {
	lines []string
	right bool
}

type gridRow struct {
	cells []gridCell
	tint  string // behind it
}

type gridCell struct {
	spans []span
	right bool
	wrap  bool
	span  int // columns it takes; 0: one
	paint func(x, y, w, h float64)
}

// gridOf sets a table of the report.
func (f *flow) gridOf(t *table, size float64) *grid {
	g := &grid{caption: t.Caption, quiet: t.Quiet, bold: true, size: size, pad: 2.7, gap: 7, wide: true, groups: t.Groups, headRule: 0.75}
	for _, h := range t.Heads {
		g.heads = append(g.heads, gridHead{h.Lines, h.Class == "n"})
	}
	for _, r := range t.Rows {
		row := gridRow{}
		if r.Class == "drips" {
			row.tint = "dripsbg"
		}
		for i, c := range r.Cells {
			s := span{text: c.Text, set: f.set(size, i == 0 || c.Icon != "", "ink"), icon: c.Icon}
			if c.Icon != "" {
				s.set.Colour = f.wordInk(c.Mark)
			}
			row.cells = append(row.cells, gridCell{spans: []span{s}, right: c.Class == "n", wrap: c.Class == "w"})
		}
		g.rows = append(g.rows, row)
	}
	return g
}

// gridOfPlain sets a table of text.
func (f *flow) gridOfPlain(t *plainTable, size float64) *grid {
	g := &grid{caption: t.Caption, size: size, pad: 1.8, gap: 8, wide: true, headRule: 0.5}
	for _, h := range t.Heads {
		g.heads = append(g.heads, gridHead{lines: []string{h}})
	}
	figures := make([]bool, len(t.Heads)) // columns of nothing but figures stand to the right
	for i := range t.Heads {
		for _, r := range t.Rows {
			if figures[i] = i > 0 && i < len(r) && figure(r[i]); !figures[i] {
				break
			}
		}
		g.heads[i].right = figures[i]
	}
	for _, r := range t.Rows {
		row := gridRow{}
		for i, c := range r {
			row.cells = append(row.cells, gridCell{spans: []span{{text: c, set: f.set(size, false, "ink")}}, wrap: true, right: i < len(figures) && figures[i]})
		}
		g.rows = append(g.rows, row)
	}
	return g
}

// figure tells whether a cell holds a figure or the sign for none.
func figure(s string) bool {
	return s != "" && strings.Trim(s, "0123456789.,+−-–<> ") == ""
}

// wordInk is the colour of a state's word.
func (f *flow) wordInk(class string) pdf.Colour {
	switch class {
	case "tight", "drips", "open", "empty":
		return f.ink(class)
	}
	return f.ink("ink2")
}

// cellWidths are the widths of a cell's longest word and of its whole text.
func (f *flow) cellWidths(c gridCell) (least, whole float64) {
	for _, l := range f.wrapSpans(c.spans, 1e6) {
		whole = max(whole, f.lineWidth(l))
	}
	if !c.wrap {
		return whole, whole
	}
	for _, s := range c.spans {
		for _, w := range strings.Fields(s.text) {
			least = max(least, f.d.Width(w, s.set))
		}
		if s.icon != "" {
			least += iconWide * s.set.Size
		}
	}
	return least, whole
}

// widths shares the column's width out among a table's columns: each as wide as its longest text while there is room; where
// there is not, columns whose text may wrap give way, down to their longest word. It tells how much is lacking then.
func (f *flow) widths(g *grid) (w []float64, lacking float64) {
	n := len(g.heads)
	for _, r := range g.rows {
		n = max(n, len(r.cells))
	}
	least, whole := make([]float64, n), make([]float64, n)
	for i, h := range g.heads {
		for _, l := range h.lines {
			lw := f.d.Width(l, f.set(0.93*g.size, false, "ink2"))
			whole[i] = max(whole[i], lw)
			if len(h.lines) > 1 {
				least[i] = max(least[i], lw)
			}
			for _, word := range strings.Fields(l) {
				least[i] = max(least[i], f.d.Width(word, f.set(0.93*g.size, false, "ink2")))
			}
		}
	}
	at := 0
	for _, q := range g.groups {
		if q.Span == 1 && at < n { // a column under a group of its own is as wide as the group's words
			for _, word := range strings.Fields(q.Text) {
				least[at] = max(least[at], f.d.Width(word, f.set(g.size, true, "ink")))
			}
			whole[at] = max(whole[at], least[at])
		}
		at += q.Span
	}
	for _, r := range g.rows {
		at := 0
		for _, c := range r.cells {
			if c.span <= 1 && at < n {
				a, b := f.cellWidths(c)
				least[at], whole[at] = max(least[at], a), max(whole[at], b)
			}
			at += max(c.span, 1)
		}
	}
	room := f.w - g.gap*float64(n-1)
	sumLeast, sumWhole := sum(least), sum(whole)
	switch {
	case sumWhole <= room:
		w = whole
		if g.wide && sumWhole > 0 {
			for i := range w {
				w[i] += (room - sumWhole) * whole[i] / sumWhole
			}
		}
		return w, 0
	case sumLeast <= room:
		// the room over the least widths goes to those who want more, but none gets more than it wants
		w = append([]float64{}, least...)
		for range n {
			free, want := room-sum(w), 0.0
			for i := range w {
				want += max(whole[i]-w[i], 0)
			}
			if free < 0.01 || want < 0.01 {
				break
			}
			// by the square root of the wish: a very long text does not starve the others
			k := 0.0
			for i := range w {
				k += math.Sqrt(max(whole[i]-w[i], 0))
			}
			for i := range w {
				w[i] += min(free*math.Sqrt(max(whole[i]-w[i], 0))/k, max(whole[i]-w[i], 0))
			}
		}
		return w, 0
	}
	w = append([]float64{}, least...)
	for i := range w {
		w[i] *= room / sumLeast
	}
	return w, sumLeast - room
}

func sum(v []float64) (s float64) {
	for _, x := range v {
		s += x
	}
	return s
}

// shrunk sets every text of a table smaller.
func (g *grid) shrunk(k float64) {
	g.size *= k
	g.gap *= k
	for i := range g.rows {
		for j := range g.rows[i].cells {
			for m := range g.rows[i].cells[j].spans {
				g.rows[i].cells[j].spans[m].set.Size *= k
			}
		}
	}
}

// gridLeading is the leading of tables, in em.
const gridLeading = 1.3

// grid adds a table: its heads stand again on every page, its rows are not cut. A table too wide for the page is set
// smaller, down to 6 pt, and its longest words are broken after that.
func (f *flow) grid(gap float64, g *grid) {
	if len(g.rows) == 0 {
		return
	}
	w, lacking := f.widths(g)
	for lacking > 0 && g.size*0.95 >= 6 {
		g.shrunk(0.95)
		w, lacking = f.widths(g)
	}
	if lacking > 0 {
		for i := range g.rows {
			for j := range g.rows[i].cells {
				g.rows[i].cells[j].wrap = true
			}
		}
		w, _ = f.widths(g)
	}
	from := len(f.blocks)
	x := make([]float64, len(w)+1)
	x[0] = f.x
	for i := range w {
		x[i+1] = x[i] + w[i] + g.gap
	}
	right := x[len(w)] - g.gap
	if g.caption != "" && !g.quiet {
		b := f.prose(gap, 1.35, span{text: g.caption, set: f.set(max(g.size*1.05, 8), g.bold, map[bool]string{true: "ink", false: "ink2"}[g.bold])})
		f.stayAll(b)
		f.space(3)
		gap = 0
	}
	heads := f.gridHeads(g, x, w, right)
	for i, h := range heads {
		if i == 0 {
			h.gap = gap
		}
		h.keep = true
	}
	hair, tintPad := f.ink("grid"), 0.0
	for i, r := range g.rows {
		lines := make([][][]piece, len(r.cells))
		most, at := 1, 0
		place := make([]int, len(r.cells))
		for j, c := range r.cells {
			place[j] = at
			to := min(at+max(c.span, 1), len(w))
			width := x[to] - g.gap - x[at]
			if !c.wrap && c.span <= 1 {
				width = 1e6
			}
			lines[j] = f.wrapSpans(c.spans, width)
			most = max(most, len(lines[j]))
			at = to
		}
		h := float64(most)*g.size*gridLeading + 2*g.pad
		b := f.add(&block{h: h, again: heads, paint: func(y float64) {
			if r.tint != "" {
				f.d.Fill(x[0]-tintPad, y, right-x[0]+2*tintPad, h, f.ink(r.tint))
			}
			if i > 0 {
				f.d.Line(x[0], y, right, y, 0.6, hair)
			}
			for j, c := range r.cells {
				to := min(place[j]+max(c.span, 1), len(w))
				cw := x[to] - g.gap - x[place[j]]
				if c.paint != nil {
					c.paint(x[place[j]], y, cw, h)
				}
				for k, l := range lines[j] {
					at := x[place[j]]
					if c.right {
						at += cw - f.lineWidth(l)
					}
					f.paintLine(l, at, y+g.pad+float64(k)*g.size*gridLeading+baseline(g.size, gridLeading))
				}
			}
		}})
		b.keep = i == 0 && len(g.rows) > 1 || i == len(g.rows)-2 // two rows at least stand together
	}
	end := f.ink("rule")
	f.stay()
	width := g.headRule
	f.add(&block{h: width, paint: func(y float64) { f.d.Line(x[0], y, right, y, width, end) }})
	for _, s := range g.foot {
		f.stay()
		f.prose(2, 1.3, s...)
	}
	// A table that takes less than half a page stands on one.
	if mine := f.blocks[from:]; height(mine) < 0.45*f.kind.height() {
		f.stayAll(mine[:len(mine)-1])
	}
}

// gridHeads are the heads of a table, with the groups over them.
func (f *flow) gridHeads(g *grid, x, w []float64, right float64) []*block {
	var out []*block
	size := 0.93 * g.size
	if len(g.groups) > 0 {
		set := f.set(g.size, true, "ink")
		words, most, at := make([][][]piece, len(g.groups)), 1, 0
		for i, q := range g.groups {
			to := min(at+q.Span, len(w))
			words[i] = f.wrapSpans([]span{{text: q.Text, set: set}}, x[to]-g.gap-x[at])
			most, at = max(most, len(words[i])), to
		}
		h := g.size*gridLeading*float64(most) + 5
		out = append(out, f.add(&block{h: h, paint: func(y float64) {
			at := 0
			for i, q := range g.groups {
				to := min(at+q.Span, len(w))
				end := x[to] - g.gap
				for k, l := range words[i] {
					f.paintLine(l, x[at], y+g.size*gridLeading*float64(most-len(words[i])+k)+baseline(g.size, gridLeading))
				}
				f.d.Line(x[at], y+h-2, end, y+h-2, 0.5, f.ink("ink2"))
				at = to
			}
		}}))
	}
	most := 0
	lines := make([][][]piece, len(g.heads))
	for i, h := range g.heads {
		for _, l := range h.lines {
			lines[i] = append(lines[i], f.wrapSpans([]span{{text: l, set: f.set(size, false, "ink2")}}, w[i])...)
		}
		most = max(most, len(lines[i]))
	}
	if most == 0 {
		return out
	}
	h := float64(most)*size*1.2 + 2*g.pad
	return append(out, f.add(&block{h: h, paint: func(y float64) {
		for i := range g.heads {
			for k, l := range lines[i] {
				at := x[i]
				if g.heads[i].right {
					at += w[i] - f.lineWidth(l)
				}
				f.paintLine(l, at, y+h-g.pad-float64(len(lines[i])-k)*size*1.2+baseline(size, 1.2))
			}
		}
		f.d.Line(x[0], y+h, right, y+h, g.headRule, f.ink("rule"))
	}}))
}

// columns adds items in columns, each whole, the columns of about the same height.
func (f *flow) columns(gap float64, n int, between float64, items []func()) {
	w := (f.w - between*float64(n-1)) / float64(n)
	cols := make([][]*block, len(items))
	for i, make := range items {
		cols[i] = f.aside(0, w, make)
	}
	if b := f.balanced(cols, n, w, between); b != nil {
		b.gap = gap
		f.add(b)
	}
}

// balanced is a block of items in n columns, which may be cut between items.
func (f *flow) balanced(items [][]*block, n int, w, between float64) *block {
	if len(items) == 0 {
		return nil
	}
	x := f.x
	kind := f.kind
	fill := func(limit float64) (cols [][][]*block, used int) {
		used = 0
		for range n {
			var col [][]*block
			h := 0.0
			for used < len(items) && (h+height(items[used]) <= limit+0.01) {
				h += height(items[used]) + itemGap
				col = append(col, items[used])
				used++
			}
			cols = append(cols, col)
		}
		return cols, used
	}
	all := 0.0
	lowest := 0.0
	for _, it := range items {
		all += height(it) + itemGap
		lowest = max(lowest, height(it))
	}
	limit := max(lowest, all/float64(n)-itemGap)
	for {
		if _, used := fill(limit); used == len(items) {
			break
		}
		limit += 1
	}
	at := func(limit float64) *block {
		cols, _ := fill(limit)
		return &block{kind: kind, h: limit, paint: func(y float64) {
			for i, col := range cols {
				yy := y
				for _, it := range col {
					f.paintAt(it, x+float64(i)*(w+between), yy)
					yy += height(it) + itemGap
				}
			}
		}}
	}
	b := at(limit)
	b.split = func(h float64) (*block, *block) {
		if limit <= h+0.01 {
			return b, nil
		}
		_, used := fill(h)
		if used == 0 {
			return nil, b
		}
		return at(h), f.balancedAt(x, kind, items[used:], n, w, between)
	}
	return b
}

func (f *flow) balancedAt(x float64, k sheetKind, items [][]*block, n int, w, between float64) *block {
	fx, fk := f.x, f.kind
	f.x, f.kind = x, k
	b := f.balanced(items, n, w, between)
	f.x, f.kind = fx, fk
	return b
}

// itemGap stands between two items of a column, pt.
const itemGap = 3.0

// paintAt paints blocks made for a column at 0 in one at x.
func (f *flow) paintAt(b []*block, x, y float64) {
	f.shift += x
	paintAll(b, y)
	f.shift -= x
}
