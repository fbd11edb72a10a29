package sizing

import (
	"iter"
	"math"
	"slices"
	"sort"

	"obvert/line"
)

// Legs are the legs of pipe that meet at a place of a line: each goes on, through junctions and off-takes, to the next low point
// where it falls from the place, to the next high point where it rises. Where pipes part, each way on is a leg of its own, with the
// pipe down to there in all of them. Rises and falls within twice the survey's independent uncertainty, and not less than a
// millimetre, are passed over. A place at a node has a leg in every run there. The place must lie on the run; a run without points
// or sections has no leg.
func Legs(l *line.Line, run int, chainage float64) []Leg {
	w := walker{line: l, tolerance: max(1e-3, 2*l.Survey.Independent), on: make([]bool, len(l.Runs))}
	r := &l.Runs[run]
	var legs []Leg
	add := func(run int, at float64, forward bool) {
		w.left = mostWalks
		for _, leg := range w.legs(run, at, forward, path{}) {
			if leg.Name = "towards " + l.Nodes[w.end(run, forward)].Name + leg.Name; len(leg.Pieces) > 0 {
				legs = append(legs, leg)
			}
		}
	}
	beside := func(node int) { // the other runs of a node
		for _, other := range l.Nodes[node].Runs {
			if other == run {
				continue
			}
			o := &l.Runs[other]
			if o.From == node {
				add(other, o.First(), true)
			} else {
				add(other, o.Last(), false)
			}
		}
	}
	if chainage > r.First() {
		add(run, chainage, false)
	} else {
		beside(r.From)
	}
	if chainage < r.Last() {
		add(run, chainage, true)
	} else {
		beside(r.To)
	}
	return legs
}

// walker goes along the pipe away from a place.
type walker struct {
	line      *line.Line
	tolerance float64 // m of level
	on        []bool  // runs of the path that is being walked: none is walked twice, so that a loop ends
	left      int     // walks along a run that may still be made
}

// mostWalks bounds the walks along runs from one side of a place, for nets of many loops; beyond it legs end where they are. A
// hundred ways on is more than any falling leg of a main has.
const mostWalks = 1000

// path is a leg in the making.
type path struct {
	pieces   []Piece
	level    float64 // m, relative to the place
	low, top float64 // m, extremes up to now
	keep     int     // pieces up to the extreme that counts
	way      int     // −1 falling, +1 rising, 0 not yet known
}

// add goes on by a piece; it tells whether the path has turned before.
func (p *path) add(piece Piece, tolerance float64) (turned bool) {
	p.pieces = append(p.pieces, piece)
	p.level -= piece.Fall
	switch {
	case p.way <= 0 && p.level < p.low && (p.way < 0 || p.level < -tolerance):
		p.way, p.low, p.keep = -1, p.level, len(p.pieces)
	case p.way >= 0 && p.level > p.top && (p.way > 0 || p.level > tolerance):
		p.way, p.top, p.keep = +1, p.level, len(p.pieces)
	case p.way < 0 && p.level > p.low+tolerance, p.way > 0 && p.level < p.top-tolerance:
		return true
	}
	return false
}

// leg ends the path at its farthest turning point.
func (p *path) leg() []Leg {
	if p.way != 0 {
		p.pieces = p.pieces[:p.keep]
	}
	return []Leg{{Pieces: p.pieces}}
}

// legs walks from a chainage of a run and ends each leg at its farthest turning point. Their names tell the ways taken where pipes
// part.
func (w *walker) legs(run int, at float64, forward bool, p path) []Leg {
	w.on[run] = true
	defer func() { w.on[run] = false }()
	w.left--
	if r := &w.line.Runs[run]; len(r.Points) == 0 || len(r.Sections) == 0 {
		return p.leg()
	}
	for piece := range w.pieces(run, at, forward) {
		if p.add(piece, w.tolerance) {
			return p.leg()
		}
	}
	onward := w.onward(run, forward)
	var legs []Leg
	for _, next := range onward {
		r := &w.line.Runs[next]
		first := r.From == w.end(run, forward)
		start := r.Last()
		if first {
			start = r.First()
		}
		q := p
		q.pieces = slices.Clip(p.pieces)
		for _, leg := range w.legs(next, start, first, q) {
			if len(leg.Pieces) <= len(p.pieces) && len(onward) > 1 {
				continue // it turns where the pipes part
			}
			if len(onward) > 1 {
				leg.Name = " by " + r.Name + leg.Name
			}
			legs = append(legs, leg)
		}
	}
	if len(legs) == 0 {
		return p.leg()
	}
	return legs
}

// end is the node at which a walk along a run arrives.
func (w *walker) end(run int, forward bool) int {
	if forward {
		return w.line.Runs[run].To
	}
	return w.line.Runs[run].From
}

// onward are the runs that go on behind the end of this one and are not on the path; none where the pipe ends, or opens into a
// tank or station.
func (w *walker) onward(run int, forward bool) []int {
	n := &w.line.Nodes[w.end(run, forward)]
	if n.Kind != line.Junction && n.Kind != line.Offtake || w.left <= 0 {
		return nil
	}
	return slices.DeleteFunc(slices.Clone(n.Runs), func(next int) bool { return w.on[next] })
}

// spot is a point of the pipe.
type spot struct{ chainage, level, distance float64 }

// pieces walks the straight stretches of a run from a chainage to its end, cut where sections meet.
func (w *walker) pieces(run int, at float64, forward bool) iter.Seq[Piece] {
	p, sections := w.line.Runs[run].Points, w.line.Runs[run].Sections
	return func(yield func(Piece) bool) {
		a, k := w.start(run, at, forward)
		step := -1
		if forward {
			step = +1
		}
		for ; k >= 0 && k < len(p); k += step {
			b := spotOf(p[k])
			for a != b {
				s := sectionBetween(sections, a.chainage, b.chainage)
				c := b
				if cut := cutOf(&sections[s], s, len(sections), forward); between(a.chainage, cut, b.chainage) {
					t := (cut - a.chainage) / (b.chainage - a.chainage)
					c = spot{cut, a.level + t*(b.level-a.level), a.distance + t*(b.distance-a.distance)}
				}
				if length := math.Abs(c.distance - a.distance); length > 0 && !yield(Piece{Run: run, Section: s, Length: length, Fall: a.level - c.level}) {
					return
				}
				a = c
			}
		}
	}
}

// between reports whether x lies strictly between a and b, in either order.
func between(a, x, b float64) bool { return a < x && x < b || b < x && x < a }

// sectionBetween is the section a stretch from a towards b begins in.
func sectionBetween(s []line.Section, a, b float64) int {
	i := sort.Search(len(s), func(i int) bool { return s[i].From > a }) - 1
	if b < a && i > 0 && s[i].From == a { // walking back, the one before
		i--
	}
	return max(i, 0)
}

// cutOf is the chainage at which section i of n ends in the direction walked; beyond all chainages at the run's ends.
func cutOf(s *line.Section, i, n int, forward bool) float64 {
	const beyond = 1e18
	switch {
	case forward && i < n-1:
		return s.To
	case forward:
		return beyond
	case i > 0:
		return s.From
	}
	return -beyond
}

// start is where a walk from a chainage begins, and the index of the point it comes to first. Where several points share the
// chainage it begins at the highest, as air does.
func (w *walker) start(run int, at float64, forward bool) (from spot, next int) {
	p := w.line.Runs[run].Points
	i := min(sort.Search(len(p), func(i int) bool { return p[i].Chainage >= at }), len(p)-1)
	if p[i].Chainage > at && i > 0 { // inside a stretch
		level, _ := w.line.ObvertAt(run, at)
		distance, _ := w.line.DistanceAt(run, at)
		if forward {
			return spot{at, level, distance}, i
		}
		return spot{at, level, distance}, i - 1
	}
	top := i
	for k := i; k < len(p) && p[k].Chainage == p[i].Chainage; k++ {
		if p[k].Obvert > p[top].Obvert {
			top = k
		}
	}
	if forward {
		return spotOf(p[top]), top + 1
	}
	return spotOf(p[top]), top - 1
}

func spotOf(p line.Point) spot { return spot{p.Chainage, p.Obvert, p.Distance} }
