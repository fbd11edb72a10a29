package deliver

import (
	"fmt"
	"strings"
)

// ways are the ways out side by side: what each costs over the life of the line, above the line as it runs now.
type ways struct {
	name, currency string
	rows           []wayRow
	breakEven      string
}

// wayRow is one way out.
type wayRow struct {
	name, note string
	parts      [len(wayParts)]float64 // present values, in the order of wayParts
	notPriced  []string
	why        string // why it is not possible; empty where it is
	best       bool
}

// wayParts are what the bars are stacked of.
var wayParts = [...]struct {
	fill fill
	name string
}{{fillInk, "investment"}, {fillBlue, "energy"}, {fillWater, "water"}, {fillSlant, "callouts"}, {fillDots, "repairs"}, {fillUpright, "carbon"}}

func (r *wayRow) total() float64 {
	sum := 0.0
	for _, v := range r.parts {
		sum += v
	}
	return sum
}

// priced tells whether the row has a bar: also one of which a part has no price.
func (r *wayRow) priced() bool {
	return r.why == "" && (len(r.notPriced) == 0 || r.parts != [len(wayParts)]float64{})
}

// sum is the total in words: of a way with a part that has no price, what it costs at least beside that.
func (r *wayRow) sum() string {
	s := grouped(roundTo(r.total(), 3))
	if len(r.notPriced) > 0 {
		s += " + ?"
	}
	return s
}

// flat tells that no way has a bar of any length.
func (w *ways) flat() bool {
	for i := range w.rows {
		if lo, hi := w.rows[i].reach(); w.rows[i].priced() && hi > lo {
			return false
		}
	}
	return true
}

// table are the ways with their sums, where there are no bars.
func (w *ways) table(money string) *table {
	t := &table{Caption: "Ways that are possible", Heads: heads("way", ">present value|"+money, "what it comes to")}
	for i := range w.rows {
		r := &w.rows[i]
		sum := "no price"
		if r.priced() {
			sum = r.sum()
		}
		t.row("", wide(r.name), cellOf(sum), tableCell{Text: r.remark(), Class: "w"})
	}
	return t
}

// reach is how far the stacked bar goes to either side of nought.
func (r *wayRow) reach() (lo, hi float64) {
	for _, v := range r.parts {
		lo, hi = lo+min(v, 0), hi+max(v, 0)
	}
	return lo, hi
}

// remark is what stands under the name.
func (r *wayRow) remark() string {
	switch {
	case r.why != "":
		return "not possible: " + r.why
	case len(r.notPriced) > 0:
		return strings.TrimPrefix(r.note+"; not priced: "+strings.Join(r.notPriced, ", "), "; ")
	}
	return r.note
}

const (
	wayBar  = 18.0
	wayText = 15.0 // px from one line of words to the next

	mostWayLines = 8 // under a way's name; the whole remark stands in the table
)

func (w *ways) draw(f form, id string) []*canvas {
	if len(w.rows) == 0 {
		return nil
	}
	c := &canvas{w: f.w, id: id, title: "What each way out costs over the life of the line: " + w.name, desc: w.words()}
	x0, x1 := f.w*0.36, f.w-92
	if !f.bands {
		x0, x1 = 4, f.w-70
	}
	lo, hi := 0.0, 0.0
	for i := range w.rows {
		if w.rows[i].priced() {
			a, b := w.rows[i].reach()
			lo, hi = min(lo, a), max(hi, b)
		}
	}
	nothing := hi == lo
	if nothing {
		hi = 1
	}
	room := x0 - 24
	if !f.bands {
		room = f.w
	}
	// The words first: the rows are as high as they take.
	type laid struct {
		name, note []string
		y, high    float64
	}
	rows := make([]laid, len(w.rows))
	y := 30.0
	for i := range w.rows {
		r := &w.rows[i]
		l := laid{name: faceLabelB.wrap(r.name, room), note: faceNote.wrap(r.remark(), room), y: y}
		if len(l.note) > mostWayLines {
			l.note = append(l.note[:mostWayLines-1], shorten(faceNote, strings.Join(l.note[mostWayLines-1:], " "), room))
		}
		l.high = float64(len(l.name)+len(l.note))*wayText + 12
		if !f.bands && r.priced() {
			l.high += wayBar + 6
		}
		l.high = max(l.high, wayBar+16)
		rows[i] = l
		y += l.high
	}
	q := newPlot(c, x0, 24, x1, y, pt{lo, 0}, pt{hi, 1})
	at, dec := ticks(lo, hi, max(int((x1-x0)/110), 2))
	if nothing {
		at = []float64{0}
	}
	grid := func(from, to float64) {
		for _, v := range at {
			class := "grid"
			if v == 0 {
				class = "hair2"
			}
			c.line(class, q.x(v), from, q.x(v), to)
		}
	}
	if f.bands {
		grid(20, y)
	}
	q.scaleAbove(at, dec, w.currency)
	for i := range w.rows {
		r, l := &w.rows[i], rows[i]
		if i > 0 {
			c.line("hair", 0, l.y-2, f.w, l.y-2)
		}
		c.lines(0, l.y+14, wayText, l.name, faceLabelB, setting{})
		c.lines(0, l.y+14+float64(len(l.name))*wayText, wayText, l.note, faceNote, setting{})
		if r.priced() {
			top := l.y + 5
			if !f.bands {
				top = l.y + float64(len(l.name)+len(l.note))*wayText + 9
				grid(top-3, top+wayBar+3)
			}
			w.bar(q, r, top)
		}
	}
	c.line("hair", 0, y-2, f.w, y-2)
	c.h = y + 4
	if w.breakEven != "" {
		lines := faceLabel.wrap(w.breakEven, f.w)
		c.lines(0, y+20, 16, lines, faceLabel, setting{})
		c.h = y + 12 + 16*float64(len(lines))
	}
	return []*canvas{c}
}

// scaleAbove sets a scale over the plot, the unit after the last figure or, lacking room, left out.
func (q *plot) scaleAbove(at []float64, dec int, unit string) {
	ends := -1e9
	for i, v := range at {
		s := groupedFixed(v, dec)
		if i == len(at)-1 && unit != "" {
			s += " " + unit
		}
		x := min(max(q.x(v)-faceNote.width(groupedFixed(v, dec))/2, 0), q.c.w-faceNote.width(s))
		if x < ends+8 {
			continue
		}
		q.c.text(x, q.y0-10, s, faceNote, setting{})
		ends = x + faceNote.width(s)
	}
}

// bar stacks one way's parts: what costs to the right of nought, what saves to the left.
func (w *ways) bar(q *plot, r *wayRow, top float64) {
	plus, minus := 0.0, 0.0
	for k, v := range r.parts {
		a := plus
		if v < 0 {
			minus += v
			a = minus
		} else {
			plus += v
		}
		q.c.bar(wayParts[k].fill, q.x(a), top, q.x(a+absolute(v))-q.x(a), wayBar)
	}
	f := faceLabel
	if r.best {
		f = faceLabelB
	}
	s := r.sum()
	x := q.x(plus) + 7
	if x+f.width(s) > q.c.w {
		x = q.c.w - f.width(s)
	}
	q.c.text(x, top+wayBar-4, s, f, setting{halo: true})
}

func absolute(v float64) float64 { return max(v, -v) }

func (w *ways) words() string {
	var b []string
	for i := range w.rows {
		r := &w.rows[i]
		if r.priced() {
			b = append(b, fmt.Sprintf("%s: %s %s", r.name, r.sum(), w.currency))
		}
		if r.why != "" || len(r.notPriced) > 0 {
			b = append(b, r.name+": "+r.remark())
		}
	}
	return strings.Join(append(b, w.breakEven), ". ")
}

func (w *ways) twin() *plainTable {
	t := &plainTable{Caption: "The ways out, " + w.name + ": present value over the life of the line, " + w.currency + ", above the line as it runs now", Heads: []string{"way"}}
	for _, p := range wayParts {
		t.Heads = append(t.Heads, p.name)
	}
	t.Heads = append(t.Heads, "sum", "remark")
	for i := range w.rows {
		r := &w.rows[i]
		row := []string{r.name}
		for _, v := range r.parts {
			s := "–"
			if r.priced() {
				s = grouped(roundTo(v, 3))
			}
			row = append(row, s)
		}
		sum := "–"
		if r.priced() {
			sum = r.sum()
		}
		t.Rows = append(t.Rows, append(row, sum, dashed(r.remark())))
	}
	return t
}

// tornado shows which input would have to change to change the order of the two cheapest ways.
type tornado struct {
	name, currency string
	best, second   string
	base           float64 // present value of the best way less that of the second
	bars           []tornadoBar
}

// tornadoBar is one input over its range.
type tornadoBar struct {
	name, unit       string
	value, low, high float64
	atLow, atHigh    float64 // the difference there
	turn             string  // where the order changes, in words; empty where nothing in it changes the order
	inRange          bool
	turnValue        float64
}

const tornadoHigh = 42.0

// steady tells whether nothing changes the order within its range.
func (t *tornado) steady() bool {
	for _, b := range t.bars {
		if b.inRange {
			return false
		}
	}
	return true
}

func (t *tornado) draw(f form, id string) []*canvas {
	if len(t.bars) == 0 {
		return nil
	}
	c := &canvas{w: f.w, id: id, title: "Which input changes the order of the ways out: " + t.name, desc: t.words()}
	lo, hi := min(t.base, 0), max(t.base, 0)
	wideLeft, wideRight := 0.0, 0.0
	for i := range t.bars {
		b := &t.bars[i]
		left, right := t.ends(b)
		wideLeft, wideRight = max(wideLeft, faceNote.width(left)), max(wideRight, faceNote.width(right))
		lo, hi = min(lo, b.atLow, b.atHigh), max(hi, b.atLow, b.atHigh)
	}
	x0, x1, row := 200+wideLeft+8, f.w-330-wideRight, tornadoHigh
	if !f.bands {
		x0, x1, row = wideLeft+8, f.w-wideRight-8, tornadoHigh+36
	}
	pad := 0.02 * (hi - lo)
	const top = 62.0
	y1 := top + row*float64(len(t.bars))
	q := newPlot(c, x0, top, x1, y1, pt{lo - pad, 0}, pt{hi + pad, 1})
	at, dec := ticks(lo, hi, max(int((x1-x0)/100), 2))
	for _, v := range at {
		c.line("grid", q.x(v), top-6, q.x(v), y1)
	}
	q.scaleAbove(at, dec, t.currency)
	t.heads(f, c, q)
	c.line("limit", q.x(0), top-6, q.x(0), y1)
	c.line("hair2", q.x(t.base), top-6, q.x(t.base), y1)
	for i := range t.bars {
		t.bar(f, q, &t.bars[i], top+row*float64(i), x1+wideRight+24)
	}
	c.h = y1 + 6
	return []*canvas{c}
}

// heads names the two upright lines over the scale.
func (t *tornado) heads(f form, c *canvas, q *plot) {
	words := []string{"as reckoned", "beyond here the order changes"}
	at := []float64{q.x(t.base), q.x(0)}
	if t.base > 0 {
		at[0], at[1] = at[1], at[0]
		words[0], words[1] = words[1], words[0]
	}
	var w [2]float64
	for k := range words {
		w[k] = faceNoteB.width(words[k])
	}
	// One to the left of its line, the other to the right, in rows of their own where they would meet.
	for k, s := range words {
		x := min(max(at[k]-w[k]/2, 0), f.w-w[k])
		c.text(x, 14+15*float64(k), s, faceNoteB, setting{})
		c.line("lead", at[k], 17+15*float64(k), at[k], 40)
	}
}

func (t *tornado) bar(f form, q *plot, b *tornadoBar, y, turnAt float64) {
	c := q.c
	mid := y + tornadoHigh/2
	if f.bands {
		name := faceLabelB.wrap(b.name, 186)
		for k, l := range name[:min(len(name), 2)] {
			c.text(0, mid+4+15*float64(k)-7.5*float64(min(len(name), 2)-1), l, faceLabelB, setting{})
		}
	} else {
		c.text(0, y+14, shorten(faceLabelB, b.name, f.w), faceLabelB, setting{halo: true})
		mid = y + 34
	}
	a, e := q.x(min(b.atLow, b.atHigh)), q.x(max(b.atLow, b.atHigh))
	c.bar(fillBlue, a, mid-8, e-a, 16)
	left, right := t.ends(b)
	c.text(a-5, mid+4, left, faceNote, setting{at: end, halo: true})
	c.text(e+5, mid+4, right, faceNote, setting{halo: true})
	if b.turn == "" {
		return
	}
	if b.inRange {
		c.mark(markEmpty, q.x(0), mid, 5)
	}
	class := ""
	if b.inRange {
		class = "w-drips"
	}
	if f.bands {
		lines := faceNote.wrap(b.turn, c.w-turnAt)
		if len(lines) > 2 {
			lines = append(lines[:1], shorten(faceNote, strings.Join(lines[1:], " "), c.w-turnAt))
		}
		c.lines(turnAt, mid+4-7*float64(len(lines)-1), 14, lines, faceNote, setting{class: class})
		return
	}
	c.text(0, mid+24, shorten(faceNote, b.turn, f.w), faceNote, setting{class: class, halo: true})
}

// ends are the values at the bar's left and right end.
func (t *tornado) ends(b *tornadoBar) (left, right string) {
	low, high := trimmed(b.low)+" "+b.unit, trimmed(b.high)+" "+b.unit
	if b.atLow <= b.atHigh {
		return strings.TrimSpace(low), strings.TrimSpace(high)
	}
	return strings.TrimSpace(high), strings.TrimSpace(low)
}

func (t *tornado) words() string {
	b := []string{fmt.Sprintf("%s against %s: difference as reckoned %s %s", t.best, t.second, grouped(roundTo(t.base, 3)), t.currency)}
	for _, r := range t.bars {
		b = append(b, fmt.Sprintf("%s from %s to %s %s: %s to %s. %s", r.name, trimmed(r.low), trimmed(r.high), r.unit, grouped(roundTo(r.atLow, 3)), grouped(roundTo(r.atHigh, 3)), r.turn))
	}
	return strings.Join(b, ". ")
}

func (t *tornado) twin() *plainTable {
	out := &plainTable{Caption: "Inputs and the order: present value of “" + t.best + "” less that of “" + t.second + "”, " + t.currency, Heads: []string{"input", "unit", "as reckoned", "low", "high", "difference at low", "difference at high", "where the order changes"}}
	for _, b := range t.bars {
		out.Rows = append(out.Rows, []string{b.name, b.unit, trimmed(b.value), trimmed(b.low), trimmed(b.high), grouped(roundTo(b.atLow, 3)), grouped(roundTo(b.atHigh, 3)), dashed(b.turn)})
	}
	return out
}
