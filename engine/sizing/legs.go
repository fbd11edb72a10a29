package sizing

import (
	"iter"
	"math"
	"sort"

	"obvert/line"
)

// Legs are the legs of pipe that meet at a place of a line: each goes on, through nodes where just two runs meet, to the next
// low point where it falls from the place, to the next high point where it rises. Rises and falls within twice the survey's
// independent uncertainty, and not less than a millimetre, are passed over. A place at a node has a leg in every run there.
// The place must lie on the run; a run without points or sections has no leg.
func Legs(l *line.Line, run int, chainage float64) []Leg {
	w := walker{line: l, tolerance: max(1e-3, 2*l.Survey.Independent)}
	r := &l.Runs[run]
	var legs []Leg
	add := func(run int, at float64, forward bool) {
		if leg := w.leg(run, at, forward); len(leg.Pieces) > 0 {
			legs = append(legs, leg)
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
}

// leg walks from a chainage of a run and ends at the farthest turning point.
func (w *walker) leg(run int, at float64, forward bool) Leg {
	r := &w.line.Runs[run]
	end := r.From
	if forward {
		end = r.To
	}
	leg := Leg{Name: "towards " + w.line.Nodes[end].Name}
	var (
		level    float64 // relative to the place
		low, top float64 // extremes up to now
		keep     int     // pieces up to the extreme that counts
		way      int     // −1 falling, +1 rising, 0 not yet known
	)
	for range len(w.line.Runs) { // each run at most once
		r := &w.line.Runs[run]
		if len(r.Points) == 0 || len(r.Sections) == 0 {
			break
		}
		for p := range w.pieces(run, at, forward) {
			leg.Pieces = append(leg.Pieces, p)
			level -= p.Fall
			switch {
			case way <= 0 && level < low && (way < 0 || level < -w.tolerance):
				way, low, keep = -1, level, len(leg.Pieces)
			case way >= 0 && level > top && (way > 0 || level > w.tolerance):
				way, top, keep = +1, level, len(leg.Pieces)
			case way < 0 && level > low+w.tolerance, way > 0 && level < top-w.tolerance:
				leg.Pieces = leg.Pieces[:keep]
				return leg
			}
		}
		next, from, ok := w.next(run, forward)
		if !ok {
			break
		}
		run, forward = next, from
		at = w.line.Runs[run].First()
		if !forward {
			at = w.line.Runs[run].Last()
		}
	}
	if way != 0 {
		leg.Pieces = leg.Pieces[:keep]
	}
	return leg
}

// next is the run that goes on behind the end of this one, and whether it is walked from its first point; false where the pipe
// ends, opens into a tank or station, or parts.
func (w *walker) next(run int, forward bool) (next int, first, ok bool) {
	node := w.line.Runs[run].From
	if forward {
		node = w.line.Runs[run].To
	}
	n := &w.line.Nodes[node]
	if len(n.Runs) != 2 || n.Kind != line.Junction && n.Kind != line.Offtake {
		return 0, false, false
	}
	next = n.Runs[0]
	if next == run {
		next = n.Runs[1]
	}
	if next == run { // a loop of one run
		return 0, false, false
	}
	return next, w.line.Runs[next].From == node, true
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
