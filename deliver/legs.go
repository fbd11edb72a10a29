package deliver

import (
	"fmt"
	"math"
	"strings"
)

// legs are the falling legs with the velocity of each case against the velocities at which air is carried down.
type legs struct {
	relations []legRelation
	rows      []legRow
}

// legRelation is one published relation.
type legRelation struct{ name, note string }

// legRow is one leg in one case.
type legRow struct {
	leg, shape string // "2+150 to 3+180"; "1:12, bore 0.262 m"
	in         string // case
	velocity   float64
	criticals  []legCritical // in the order of the relations
	mark       mark
	verdict    string
	lost       string // head lost to a pocket that stays
}

// legCritical is what one relation asks.
type legCritical struct {
	velocity float64
	counts   bool // in the relation's range
}

const (
	legHigh    = 50.0
	legKeyHigh = 230.0 // px on paper that the head and the names of the relations take over the drawing
	legHead    = 26.0  // px, scale over the rows
)

func (l *legs) draw(f form, id string) []*canvas {
	if len(l.rows) == 0 {
		return nil
	}
	top := 0.0
	for _, r := range l.rows {
		top = max(top, r.velocity)
		for _, k := range r.criticals {
			if k.counts {
				top = max(top, k.velocity)
			}
		}
	}
	x0, x1, high := f.w*0.34, f.w*0.80, legHigh
	if !f.bands {
		x0, x1, high = 10, f.w-16, legHigh+48
	}
	const head = legHead
	rows := l.rows
	if f.page > 0 {
		rows = l.page()
	}
	var out []*canvas
	if len(rows) > 0 {
		c := &canvas{w: f.w, id: id, title: "Air carried or left behind, leg by leg", desc: l.words(rows)}
		c.h = head + high*float64(len(rows)) + 24
		q := newPlot(c, x0, head, x1, c.h-24, pt{}, pt{top * 1.05, 1})
		at, dec := ticks(0, q.hi.x, max(int((x1-x0)/80), 3))
		for _, v := range at {
			c.line("grid", q.x(v), head-4, q.x(v), q.y1)
		}
		q.scaleAbove(at, dec, "m/s")
		last := ""
		for i := range rows {
			r := &rows[i]
			y := head + high*float64(i)
			named := r.leg != last || i == 0
			if named {
				c.line("hair", 0, y, f.w, y)
			}
			last = r.leg
			l.row(f, q, r, y, named)
		}
		out = append(out, c)
	}
	return out
}

// pageRows is how many rows one page of paper holds.
func pageRows() int { return int((formPrint.page - legHead - 24 - legKeyHigh) / legHigh) }

// page are the rows that one page holds: of the worst legs, in their order along the line.
func (l *legs) page() []legRow {
	type leg struct {
		rows  []legRow
		worst float64
	}
	var all []leg
	for _, r := range l.rows {
		if n := len(all); n > 0 && all[n-1].rows[0].leg == r.leg {
			all[n-1].rows = append(all[n-1].rows, r)
			all[n-1].worst = min(all[n-1].worst, r.worst())
			continue
		}
		all = append(all, leg{[]legRow{r}, r.worst()})
	}
	room := pageRows()
	keep := make([]bool, len(all))
	for _, i := range sortedBy(len(all), func(i int) float64 { return all[i].worst }) {
		if n := len(all[i].rows); n <= room {
			keep[i], room = true, room-n
		}
	}
	var out []legRow
	for i := range all {
		if keep[i] {
			out = append(out, all[i].rows...)
		}
	}
	if len(out) == 0 { // a single leg of more cases than a page holds
		out = l.rows[:min(len(l.rows), pageRows())]
	}
	return out
}

// row draws one leg in one case: a dot for each relation, a line for the water.
func (l *legs) row(f form, q *plot, r *legRow, y float64, named bool) {
	c := q.c
	strip := y
	if f.bands {
		room := q.x0 - 26
		if named {
			c.text(0, y+18, shorten(faceLabelB, r.leg, room*0.55), faceLabelB, setting{})
			c.text(0, y+34, shorten(faceNote, r.shape, room*0.55), faceNote, setting{})
		}
		c.lines(room*0.57, y+18, 14, twoLines(faceLabel, r.in, room*0.43), faceLabel, setting{})
		x := q.x1 + 30
		c.mark(r.mark, x, y+20, 4.6)
		c.text(x+11, y+24, shorten(faceLabelB, r.verdict, f.w-x-11), faceLabelB, setting{class: "w-" + r.mark.class()})
		c.text(x+11, y+39, shorten(faceNote, r.lost, f.w-x-11), faceNote, setting{})
	} else {
		head := r.in
		if named {
			head = r.leg + ", " + r.in
		}
		c.text(0, y+16, shorten(faceLabelB, head, f.w), faceLabelB, setting{})
		c.mark(r.mark, 6, y+30, 4.6)
		c.text(16, y+34, shorten(faceLabelB, r.verdict, f.w-16), faceLabelB, setting{class: "w-" + r.mark.class()})
		c.text(22+faceLabelB.width(r.verdict), y+34, shorten(faceNote, strings.Trim(r.shape+"; "+r.lost, "; "), f.w-22-faceLabelB.width(r.verdict)), faceNote, setting{})
		strip = y + 42
	}
	mid := strip + 27
	c.line("hair2", q.x0, mid, q.x1, mid)
	v := q.x(r.velocity)
	c.line("vel", v, strip+17, v, mid+11)
	s := fixed(r.velocity, 2)
	c.text(min(max(v, faceNoteB.width(s)/2), c.w-faceNoteB.width(s)/2), mid+21, s, faceNoteB, setting{at: middle, class: "kw", halo: true})
	var at []float64
	var names []string
	for _, i := range sortedBy(len(r.criticals), func(i int) float64 { return r.criticals[i].velocity }) {
		k := r.criticals[i]
		x := q.x(k.velocity)
		if k.velocity <= 0 || x > q.x1+0.5 {
			continue
		}
		class := "dot"
		switch {
		case !k.counts:
			class = "dot not"
		case r.velocity >= k.velocity:
			class = "dot on"
		}
		c.circle(class, x, mid, 4)
		at, names = append(at, x), append(names, strings.ToLower(letters(i)))
	}
	for k, x := range Spread(at, 11, q.x0, q.x1) {
		c.polyline("lead", []pt{{at[k], mid - 4.5}, {x, strip + 15}})
		c.text(x, strip+13, names[k], faceNote, setting{at: middle, halo: true})
	}
}

// twoLines wraps to two lines at most.
func twoLines(f face, s string, w float64) []string {
	l := f.wrap(s, w)
	if len(l) > 2 {
		l = append(l[:1], shorten(f, strings.Join(l[1:], " "), w))
	}
	return l
}

func (l *legs) words(rows []legRow) string {
	var b []string
	for _, r := range rows {
		b = append(b, fmt.Sprintf("%s, %s: %s m/s, %s", r.leg, r.in, fixed(r.velocity, 2), r.verdict))
	}
	return strings.Join(b, ". ") + "."
}

func (l *legs) twin() *plainTable {
	t := &plainTable{Caption: "Falling legs: velocity and the critical velocity of each relation, m/s; in brackets: outside the relation's range", Heads: []string{"leg", "slope and bore", "case", "velocity"}}
	for i, k := range l.relations {
		t.Heads = append(t.Heads, strings.ToLower(letters(i))+", "+k.name)
	}
	t.Heads = append(t.Heads, "verdict", "head lost to a pocket that stays")
	for _, r := range l.rows {
		row := []string{r.leg, r.shape, r.in, fixed(r.velocity, 2)}
		for _, k := range r.criticals {
			s := fixed(k.velocity, 2)
			if !k.counts {
				s = "(" + s + ")"
			}
			row = append(row, s)
		}
		t.Rows = append(t.Rows, append(row, r.verdict, dashed(r.lost)))
	}
	return t
}

// brief is the twin without the single relations: what they ask at least and at most, and how many say that air is carried.
func (l *legs) brief() *plainTable {
	t := &plainTable{Caption: "Falling legs: velocity, and what the relations in their range ask, m/s", Heads: []string{"leg", "slope and bore", "case", "velocity", "least asked", "most asked", "carried by", "verdict", "head lost to a pocket that stays"}}
	for _, r := range l.rows {
		lo, hi, n, by := math.Inf(1), math.Inf(-1), 0, 0
		for _, k := range r.criticals {
			if !k.counts {
				continue
			}
			lo, hi, n = min(lo, k.velocity), max(hi, k.velocity), n+1
			if r.velocity >= k.velocity {
				by++
			}
		}
		least, most := "–", "–"
		if n > 0 {
			least, most = fixed(lo, 2), fixed(hi, 2)
		}
		t.Rows = append(t.Rows, []string{r.leg, r.shape, r.in, fixed(r.velocity, 2), least, most, fmt.Sprintf("%d of %d", by, n), r.verdict, dashed(r.lost)})
	}
	return t
}

// key names the relations by their letters.
func (l *legs) key() []keyItem {
	var out []keyItem
	for i, r := range l.relations {
		s := r.name
		if r.note != "" {
			s += " (" + r.note + ")"
		}
		out = append(out, keyItem{"", strings.ToLower(letters(i)) + " " + s})
	}
	return out
}

// worst is how far a row lies under the largest critical velocity that counts: what may leave air behind comes first.
func (r *legRow) worst() float64 {
	most := 0.0
	for _, k := range r.criticals {
		if k.counts {
			most = max(most, k.velocity)
		}
	}
	if most == 0 {
		return math.Inf(1)
	}
	return r.velocity / most
}
