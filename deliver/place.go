package deliver

import (
	"cmp"
	"math"
	"sort"
)

// box is a rectangle by its centre, its sides and its turn in radians, clockwise.
type box struct{ x, y, w, h, turn float64 }

// rectBox is the upright box with the given corners.
func rectBox(x1, y1, x2, y2 float64) box {
	return box{x: (x1 + x2) / 2, y: (y1 + y2) / 2, w: math.Abs(x2 - x1), h: math.Abs(y2 - y1)}
}

func (b box) grow(d float64) box { b.w += 2 * d; b.h += 2 * d; return b }

func (b box) corners() [4]pt {
	c, s := math.Cos(b.turn), math.Sin(b.turn)
	at := func(u, v float64) pt { return pt{b.x + u*c - v*s, b.y + u*s + v*c} }
	return [4]pt{at(-b.w/2, -b.h/2), at(b.w/2, -b.h/2), at(b.w/2, b.h/2), at(-b.w/2, b.h/2)}
}

// span is the projection of a box on the direction (ux, uy).
func (b box) span(ux, uy float64) (lo, hi float64) {
	if b.turn == 0 {
		mid, half := b.x*ux+b.y*uy, math.Abs(ux)*b.w/2+math.Abs(uy)*b.h/2
		return mid - half, mid + half
	}
	c, s := math.Cos(b.turn), math.Sin(b.turn)
	mid := b.x*ux + b.y*uy
	half := math.Abs(c*ux+s*uy)*b.w/2 + math.Abs(-s*ux+c*uy)*b.h/2
	return mid - half, mid + half
}

// left, right, top and bottom are the box's outermost coordinates.
func (b box) left() float64   { lo, _ := b.span(1, 0); return lo }
func (b box) right() float64  { _, hi := b.span(1, 0); return hi }
func (b box) top() float64    { lo, _ := b.span(0, 1); return lo }
func (b box) bottom() float64 { _, hi := b.span(0, 1); return hi }

// meets tells whether two boxes overlap by more than a hair, by the separating axis theorem.
func (b box) meets(o box) bool {
	const hair = 0.05 // px
	if b.turn == 0 && o.turn == 0 {
		return math.Abs(b.x-o.x) < (b.w+o.w)/2-hair && math.Abs(b.y-o.y) < (b.h+o.h)/2-hair
	}
	for _, a := range [4]float64{b.turn, b.turn + math.Pi/2, o.turn, o.turn + math.Pi/2} {
		ux, uy := math.Cos(a), math.Sin(a)
		l1, h1 := b.span(ux, uy)
		l2, h2 := o.span(ux, uy)
		if h1 <= l2+hair || h2 <= l1+hair {
			return false
		}
	}
	return true
}

// crosses tells whether the segment p–q runs through the box (clipped in the box's own axes).
func (b box) crosses(p, q pt) bool {
	c, s := math.Cos(-b.turn), math.Sin(-b.turn)
	in := func(a pt) pt {
		dx, dy := a.x-b.x, a.y-b.y
		return pt{dx*c - dy*s, dx*s + dy*c}
	}
	p, q = in(p), in(q)
	t0, t1 := 0.0, 1.0
	for _, e := range [4][2]float64{
		{p.x - q.x, p.x + b.w/2}, {q.x - p.x, b.w/2 - p.x}, {p.y - q.y, p.y + b.h/2}, {q.y - p.y, b.h/2 - p.y},
	} {
		switch {
		case e[0] == 0:
			if e[1] < 0 {
				return false
			}
		case e[0] < 0:
			t0 = max(t0, e[1]/e[0])
		default:
			t1 = min(t1, e[1]/e[0])
		}
	}
	return t0 < t1
}

// Spread moves positions along one axis so that neighbours stand at least gap apart, keeping their order and moving them as
// little as possible (least squares), within [lo, hi] where they fit there. The input must rise. It is the pool-adjacent-
// violators algorithm (Barlow et al., Statistical Inference under Order Restrictions, 1972) on the positions less i·gap.
func Spread(at []float64, gap, lo, hi float64) []float64 {
	n := len(at)
	if n == 0 {
		return nil
	}
	gaps := make([]float64, n)
	for i := 1; i < n; i++ {
		gaps[i] = gap
	}
	return spreadBy(at, gaps, lo, hi)
}

// spreadBy is Spread with the gap before each position given: gaps[0] is not used.
func spreadBy(at, gaps []float64, lo, hi float64) []float64 {
	n := len(at)
	if n == 0 {
		return nil
	}
	offset := make([]float64, n)
	for i := 1; i < n; i++ {
		offset[i] = offset[i-1] + gaps[i]
	}
	if room := hi - lo; offset[n-1] > room && room > 0 {
		for i := range offset {
			offset[i] *= room / offset[n-1]
		}
	}
	type block struct {
		sum float64
		n   int
	}
	var blocks []block
	for i, a := range at {
		blocks = append(blocks, block{a - offset[i], 1})
		for len(blocks) > 1 {
			a, b := blocks[len(blocks)-2], blocks[len(blocks)-1]
			if a.sum/float64(a.n) < b.sum/float64(b.n) {
				break
			}
			blocks = append(blocks[:len(blocks)-2], block{a.sum + b.sum, a.n + b.n})
		}
	}
	out := make([]float64, 0, n)
	for _, b := range blocks {
		v := min(max(b.sum/float64(b.n), lo), hi-offset[n-1])
		for range b.n {
			out = append(out, v+offset[len(out)])
		}
	}
	return out
}

// segment is a piece of a line that labels would rather not cross.
type segment struct {
	a, b pt
	cost float64 // of a label across it; infinite: no label may
	of   int     // the line it belongs to: a label across a line pays once
}

// placer knows what stands in a drawing already.
type placer struct {
	area  box   // labels stay inside it
	taken []box // by labels and marks
	lines []segment
	count int     // of lines
	apart float64 // that labels keep from one another, in the drawing's unit; 0: clear
}

// avoid adds a polyline.
func (p *placer) avoid(line []pt, cost float64) {
	p.count++
	for i := 1; i < len(line); i++ {
		p.lines = append(p.lines, segment{line[i-1], line[i], cost, p.count})
	}
}

func (p *placer) take(b ...box) { p.taken = append(p.taken, b...) }

// clear is the distance in px that labels keep from one another.
const clear = 2.0

// free tells whether a box lies inside the area and meets nothing that is taken.
func (p *placer) free(b box) bool {
	if b.left() < p.area.left() || b.right() > p.area.right() || b.top() < p.area.top() || b.bottom() > p.area.bottom() {
		return false
	}
	b = b.grow(cmp.Or(p.apart, clear))
	for _, t := range p.taken {
		if b.meets(t) {
			return false
		}
	}
	return true
}

// cost is what a box costs by the lines it lies across.
func (p *placer) cost(b box) float64 {
	sum, paid, l, r, t, m := 0.0, 0, b.left(), b.right(), b.top(), b.bottom()
	for _, s := range p.lines {
		if s.of == paid || max(s.a.x, s.b.x) < l || min(s.a.x, s.b.x) > r || max(s.a.y, s.b.y) < t || min(s.a.y, s.b.y) > m {
			continue
		}
		if b.crosses(s.a, s.b) {
			sum += s.cost
			paid = s.of
		}
	}
	return sum
}

// try is one place a label could take.
type try struct {
	boxes []box   // of its text and marks
	stem  []pt    // a line that belongs to it, which must not run through what is taken
	more  [][]pt  // further such lines
	cost  float64 // of the place itself
	use   func()
}

// best takes the cheapest free place, the first of equals, draws it and marks it taken. It tells whether there was one.
func (p *placer) best(tries []try) bool {
	found, least := -1, math.Inf(1)
next:
	for i, t := range tries {
		cost := t.cost
		if cost >= least {
			continue
		}
		for _, b := range t.boxes {
			if !p.free(b) {
				continue next
			}
		}
		if p.struck(t.stem) {
			continue
		}
		for _, m := range t.more {
			if p.struck(m) {
				continue next
			}
		}
		for _, b := range t.boxes {
			cost += p.cost(b.grow(1))
		}
		if cost < least {
			found, least = i, cost
		}
	}
	if found < 0 {
		return false
	}
	t := tries[found]
	t.use()
	p.take(t.boxes...)
	for _, l := range append(t.more, t.stem) {
		p.avoid(l, math.Inf(1))
	}
	return true
}

// struck tells whether a line runs through something taken.
func (p *placer) struck(line []pt) bool {
	for j := 1; j < len(line); j++ {
		for _, b := range p.taken {
			if b.crosses(line[j-1], line[j]) {
				return true
			}
		}
	}
	return false
}

// rowed sorts labels of given widths, each wanting its middle at a position, into as few rows as a greedy walk needs, so
// that none overlaps in its row. It gives the row and the middle of each, inside [lo, hi].
func rowed(at, width []float64, gap, lo, hi float64) (row []int, x []float64, rows int) {
	order := make([]int, len(at))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(i, j int) bool { return at[order[i]] < at[order[j]] })
	row, x = make([]int, len(at)), make([]float64, len(at))
	var ends []float64
	for _, i := range order {
		m := min(max(at[i], lo+width[i]/2), max(hi-width[i]/2, lo+width[i]/2))
		r := 0
		for r < len(ends) && ends[r]+gap > m-width[i]/2 {
			r++
		}
		if r == len(ends) {
			ends = append(ends, 0)
		}
		ends[r] = m + width[i]/2
		row[i], x[i] = r, m
	}
	return row, x, len(ends)
}
