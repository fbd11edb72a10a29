package deliver

import (
	"math"
	"sort"
	"strconv"
	"strings"

	"obvert/quantity"
)

// plot is a rectangle of a drawing with a linear scale each way. Values are in the units its axes are labelled in.
type plot struct {
	c              *canvas
	x0, x1, y0, y1 float64 // px; y0 is the upper edge
	lo, hi         pt      // values at the lower left and the upper right
	p              *placer
}

// newPlot is a plot over the given values, with a placer that keeps labels inside it and clear of its edges.
func newPlot(c *canvas, x0, y0, x1, y1 float64, lo, hi pt) *plot {
	if !(hi.x > lo.x) {
		hi.x = lo.x + 1
	}
	if !(hi.y > lo.y) {
		hi.y = lo.y + 1
	}
	return &plot{c: c, x0: x0, x1: x1, y0: y0, y1: y1, lo: lo, hi: hi, p: &placer{area: rectBox(x0, y0, x1, y1)}}
}

func (q *plot) x(v float64) float64 { return q.x0 + (v-q.lo.x)/(q.hi.x-q.lo.x)*(q.x1-q.x0) }
func (q *plot) y(v float64) float64 { return q.y1 - (v-q.lo.y)/(q.hi.y-q.lo.y)*(q.y1-q.y0) }

// trace is a line of values in px, cut to the plot's width and height and thinned.
func (q *plot) trace(p []pt) [][]pt {
	var out [][]pt
	var piece []pt
	flush := func() {
		if len(piece) > 1 {
			out = append(out, thin(piece, 0.3))
		}
		piece = nil
	}
	for i := 1; i < len(p); i++ {
		a, b := pt{q.x(p[i-1].x), q.y(p[i-1].y)}, pt{q.x(p[i].x), q.y(p[i].y)}
		a, b, ok := clipSegment(a, b, q.x0, q.y0, q.x1, q.y1)
		if !ok {
			flush()
			continue
		}
		if n := len(piece); n == 0 || piece[n-1] != a {
			flush()
			piece = append(piece, a)
		}
		piece = append(piece, b)
	}
	flush()
	return out
}

// clipSegment cuts a segment to a rectangle (Liang and Barsky, ACM Transactions on Graphics 3(1), 1984, 1–22).
func clipSegment(a, b pt, x0, y0, x1, y1 float64) (pt, pt, bool) {
	dx, dy := b.x-a.x, b.y-a.y
	t0, t1 := 0.0, 1.0
	for _, e := range [4][2]float64{{-dx, a.x - x0}, {dx, x1 - a.x}, {-dy, a.y - y0}, {dy, y1 - a.y}} {
		switch {
		case e[0] == 0 && e[1] < 0:
			return a, b, false
		case e[0] < 0:
			t0 = max(t0, e[1]/e[0])
		case e[0] > 0:
			t1 = min(t1, e[1]/e[0])
		}
	}
	if t0 > t1 {
		return a, b, false
	}
	p, r := a, b
	if t0 > 0 {
		p = pt{a.x + t0*dx, a.y + t0*dy}
	}
	if t1 < 1 {
		r = pt{a.x + t1*dx, a.y + t1*dy}
	}
	return p, r, true
}

// curve draws a line of values; labels would rather not cross it.
func (q *plot) curve(class string, p []pt) {
	for _, t := range q.trace(p) {
		q.c.polyline(class, t)
		q.p.avoid(t, 12)
	}
}

// up draws the upright scale: round values at the left with hairlines across, about n of them.
func (q *plot) up(n int) {
	at, dec := ticks(q.lo.y, q.hi.y, n)
	for _, v := range at {
		class := "grid"
		if v == 0 || v == q.lo.y {
			class = "hair2"
		}
		q.c.line(class, q.x0, q.y(v), q.x1, q.y(v))
		q.c.text(q.x0-6, q.y(v)+4, groupedFixed(v, dec), faceNote, setting{at: end})
	}
}

// across draws the scale under the plot, about n round values; the last carries the unit where there is room.
func (q *plot) across(n int, unit string) {
	at, dec := ticks(q.lo.x, q.hi.x, n)
	q.acrossAt(at, func(v float64) string { return groupedFixed(v, dec) }, unit)
}

// acrossAt draws the scale under the plot at given values, dropping figures that would meet; the unit follows the last.
func (q *plot) acrossAt(at []float64, text func(float64) string, unit string) {
	q.c.line("hair2", q.x0, q.y1, q.x1, q.y1)
	ends := math.Inf(-1)
	for i, v := range at {
		x, s := q.x(v), text(v)
		q.c.line("hair2", x, q.y1, x, q.y1+4)
		w := faceNote.width(s)
		if i == len(at)-1 && unit != "" {
			full := s + " " + unit
			shift := faceNote.width(full)
			left := x - w/2
			if left+shift > q.c.w {
				left = q.c.w - shift
			}
			if left > ends+6 {
				q.c.text(left, q.y1+17, full, faceNote, setting{})
			}
			return
		}
		if x-w/2 > ends+6 {
			q.c.text(x, q.y1+17, s, faceNote, setting{at: middle})
			ends = x + w/2
		}
	}
}

// tag is a label that belongs to a height of the plot and stands beside its right edge.
type tag struct {
	y     float64 // px
	text  string
	class string
}

// tags sets labels beside the right edge, each as near its height as the others let it, with a hairline to it where it had to
// move. What is wider than the room is wrapped. It gives the lowest edge of the labels.
func (q *plot) tags(t []tag, room float64) {
	if len(t) == 0 {
		return
	}
	order := sortedBy(len(t), func(i int) float64 { return t[i].y })
	var at, gaps []float64
	var text [][]string
	for _, i := range order {
		l := faceLabel.wrap(t[i].text, room-14)
		text = append(text, l)
		at = append(at, t[i].y-float64(len(l)-1)*7)
	}
	for k := range at {
		if k == 0 {
			gaps = append(gaps, 0)
			continue
		}
		at[k] = max(at[k], at[k-1])
		gaps = append(gaps, 14*float64(len(text[k-1]))+2)
	}
	lowest := q.c.h
	if lowest <= 0 {
		lowest = q.y1 + 30
	}
	ys := spreadBy(at, gaps, q.y0+4, max(lowest-14*float64(len(text[len(text)-1])), q.y0+5))
	for k, i := range order {
		y := ys[k]
		q.c.polyline("lead", []pt{{q.x1 + 2, t[i].y}, {q.x1 + 10, y + float64(len(text[k])-1)*7}})
		q.c.lines(q.x1+13, y+4, 14, text[k], faceLabel, setting{class: t[i].class})
	}
}

// spot names a point of the plot: near it, where there is room, first to the side given (+1 right, −1 left). It tells whether
// a place was found.
func (q *plot) spot(at pt, s string, f face, class string, side float64) bool {
	var tries []try
	for _, d := range []float64{9, 18, 30} {
		for _, dy := range []float64{0, -13, 13, -26, 26, -39, 39} {
			for _, sd := range []float64{side, -side} {
				o := setting{halo: true, class: class}
				if sd < 0 {
					o.at = end
				}
				x, y := at.x+sd*d, at.y+4+dy
				cost := d*0.3 + math.Abs(dy)*0.4
				if sd != side {
					cost += 6
				}
				t := try{boxes: []box{textBox(x, y, s, f, o)}, cost: cost, use: func() { q.c.text(x, y, s, f, o) }}
				if math.Abs(dy) > 14 || d > 10 {
					t.stem = []pt{{at.x + sd*6, at.y}, {x - sd*2, y - 4}}
					use := t.use
					t.use = func() { q.c.polyline("lead", t.stem); use() }
				}
				tries = append(tries, t)
			}
		}
	}
	return q.p.best(tries)
}

// sortedBy is the indices 0 … n−1 by rising key, equal keys in their order.
func sortedBy(n int, key func(int) float64) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	sort.SliceStable(out, func(a, b int) bool { return key(out[a]) < key(out[b]) })
	return out
}

// groupedFixed writes a number with n decimals, with commas between thousands where it has none.
func groupedFixed(v float64, n int) string {
	if n == 0 {
		return grouped(v)
	}
	return fixed(v, n)
}

// durationText is a time in words, to be set in a drawing.
func durationText(s float64) string { return strings.ReplaceAll(quantity.Duration(s), "\u00a0", " ") }

// drawing is something that is drawn in every form and set out again as a table.
type drawing interface {
	draw(f form, id string) []*canvas
	twin() *plainTable
}

// inForms draws something in every form, in a fixed order.
func inForms(d drawing, id string) []*canvas { return inSome(forms, d, id) }

// inSome are the drawings of a chart in some forms.
func inSome(in []form, d drawing, id string) []*canvas {
	var out []*canvas
	for _, f := range in {
		for i, c := range d.draw(f, id+f.name[:1]) {
			if i > 0 {
				c.id += "-" + strconv.Itoa(i)
			}
			c.class = f.name
			out = append(out, c)
		}
	}
	return out
}

// headRoom is the height on paper, px, that is left to the head of a chapter over its first drawing.
const headRoom = 100.0

// tile lays n tiles of one height out in rows, from left to right, as many beside one another as are at least least px wide
// but no more than most; on paper a canvas ends where the page does. gutter is the distance between two of them.
func tile(f form, id string, n int, least, high, gutter float64, most int, draw func(c *canvas, i int, x, y, w float64)) []*canvas {
	side := min(max(int((f.w+gutter)/(least+gutter)), 1), most)
	w := (f.w - gutter*float64(side-1)) / float64(side)
	rows := (n + side - 1) / side
	per := rows
	if f.page > 0 { // the first stands under the chapter's head
		per = max(int((f.page-headRoom)/high), 1)
		if rows <= per {
			per = rows
		}
	}
	var out []*canvas
	for from := 0; from < rows; from += per {
		if f.page > 0 && from > 0 {
			per = max(int(f.page/high), 1)
		}
		c := &canvas{w: f.w, id: id}
		for r := from; r < min(from+per, rows); r++ {
			for k := range side {
				if i := r*side + k; i < n {
					draw(c, i, float64(k)*(w+gutter), float64(r-from)*high, w)
				}
			}
		}
		c.h = float64(min(from+per, rows)-from) * high
		out = append(out, c)
	}
	return out
}
