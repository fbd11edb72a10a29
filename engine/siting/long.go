package siting

import (
	"fmt"
	"math"
	"slices"

	"obvert/line"
	"obvert/quantity"
)

// chain is runs end to end between nodes at which more or fewer than two runs meet, or where air is at the end of the
// pipe.
type chain struct {
	links      []link
	length     float64 // m
	start, end int     // nodes
}

// link is a run of a chain; offset is its first walked end.
type link struct {
	run      int
	forwards bool
	offset   float64 // m along the chain
}

// through reports whether a node only passes water on between two runs.
func through(n *line.Node) bool { return len(n.Runs) == 2 && !parts(n.Kind) }

// chains splits the line.
func (s *solver) chains() []chain {
	done := make([]bool, len(s.in.Line.Runs))
	var list []chain
	for r := range done {
		if done[r] {
			continue
		}
		// Back to the start of the chain, or once round a loop, …
		first, node := r, s.in.Line.Runs[r].From
		for through(&s.in.Line.Nodes[node]) {
			next := s.otherRun(node, first)
			if next < 0 || next == r {
				break
			}
			first, node = next, s.otherEnd(next, node)
		}
		// … and forwards through all of it.
		c := chain{start: node}
		for at := first; at >= 0 && !done[at]; {
			done[at] = true
			run := &s.in.Line.Runs[at]
			c.links = append(c.links, link{run: at, forwards: run.From == node, offset: c.length})
			c.length += run.Last() - run.First()
			node = s.otherEnd(at, node)
			if !through(&s.in.Line.Nodes[node]) {
				break
			}
			at = s.otherRun(node, at)
		}
		c.end = node
		list = append(list, c)
	}
	return list
}

// otherRun is the run that goes on from a node with two, −1 where it is the same one.
func (s *solver) otherRun(node, run int) int {
	for _, r := range s.in.Line.Nodes[node].Runs {
		if r != run {
			return r
		}
	}
	return -1
}

// otherEnd is the node at a run's other end.
func (s *solver) otherEnd(run, node int) int {
	if r := &s.in.Line.Runs[run]; r.From == node {
		return r.To
	}
	return s.in.Line.Runs[run].From
}

// along is the distance (m) along the chain of a chainage on one of its runs.
func (s *solver) along(l link, chainage float64) float64 {
	r := &s.in.Line.Runs[l.run]
	if l.forwards {
		return l.offset + chainage - r.First()
	}
	return l.offset + r.Last() - chainage
}

// back is the run and chainage at a distance (m) along a chain.
func (s *solver) back(c *chain, x float64) (run int, chainage float64) {
	l := c.links[0]
	for _, next := range c.links[1:] {
		if next.offset > x {
			break
		}
		l = next
	}
	r := &s.in.Line.Runs[l.run]
	if l.forwards {
		chainage = r.First() + x - l.offset
	} else {
		chainage = r.Last() - (x - l.offset)
	}
	return l.run, min(max(chainage, r.First()), r.Last()) // rounding alone leaves the run
}

// vented is where air leaves a chain: its candidates, by distance along it.
func (s *solver) vented(c *chain) []float64 {
	var at []float64
	for _, l := range c.links {
		for _, p := range s.accepted[l.run] {
			at = append(at, s.along(l, p.chainage))
		}
	}
	for _, end := range []struct {
		node int
		x    float64
	}{{c.start, 0}, {c.end, c.length}} {
		if s.ventedNode(end.node) {
			at = append(at, end.x)
		}
	}
	slices.Sort(at)
	return at
}

// ventedNode reports whether a chain's end counts as a place where air leaves: the end of all pipe, or a candidate on any
// run at the node.
func (s *solver) ventedNode(node int) bool {
	n := &s.in.Line.Nodes[node]
	if parts(n.Kind) || len(n.Runs) < 2 {
		return true
	}
	for _, r := range n.Runs {
		for _, c := range endsAt(&s.in.Line.Runs[r], node) {
			for _, p := range s.accepted[r] {
				if p.chainage == c {
					return true
				}
			}
		}
	}
	return false
}

// longRuns adds candidates where more than the spacing lies between places where air leaves.
func (s *solver) longRuns() {
	chains := s.chains()
	vents := make([][]float64, len(chains))
	beyond := make(map[int][]float64) // by node, the way to the first vent of each chain that ends there
	for i := range chains {
		c := &chains[i]
		vents[i] = s.vented(c)
		first, last := c.length, c.length
		if v := vents[i]; len(v) > 0 {
			first, last = v[0], c.length-v[len(v)-1]
		}
		beyond[c.start] = append(beyond[c.start], first)
		beyond[c.end] = append(beyond[c.end], last)
	}
	for i := range chains {
		c, v := &chains[i], vents[i]
		first, last := c.length, c.length
		if len(v) > 0 {
			first, last = v[0], c.length-v[len(v)-1]
		}
		stops := []float64{-nearest(beyond[c.start], first)}
		stops = append(stops, v...)
		stops = append(stops, c.length+nearest(beyond[c.end], last))
		valves := s.valvesOn(c)
		for k := 1; k < len(stops); k++ {
			s.fillGap(c, valves, stops[k-1], stops[k])
		}
	}
}

// nearest is the shortest of the ways that chains at a node have to a vent, leaving out one that is the chain's own.
func nearest(ways []float64, own float64) float64 {
	best, left := math.Inf(1), true
	for _, w := range ways {
		if left && w == own {
			left = false
			continue
		}
		best = min(best, w)
	}
	if math.IsInf(best, 1) {
		return 0
	}
	return best
}

// valvesOn are the placed valves of a chain, by distance along it.
func (s *solver) valvesOn(c *chain) []float64 {
	var at []float64
	for _, l := range c.links {
		for _, v := range s.in.Line.Runs[l.run].Placed {
			at = append(at, s.along(l, v.Chainage))
		}
	}
	slices.Sort(at)
	return at
}

// fillGap adds candidates between two vents at distances a and b along a chain: at placed valves where they keep to the
// spacing, else in equal parts.
func (s *solver) fillGap(c *chain, valves []float64, a, b float64) {
	t := s.practice.Spacing
	most := t.Value * (1 + 1e-9) // a gap of exactly the spacing is none
	for x := a; b-x > most; {
		// The farthest valve within the spacing, but none that already serves the vent at b.
		i, _ := slices.BinarySearch(valves, math.Nextafter(min(x+most, b-s.practice.Displaced.Value), math.Inf(1)))
		if i > 0 && valves[i-1] > x+s.practice.Displaced.Value {
			x = valves[i-1]
		} else {
			next := b
			if i < len(valves) && valves[i] < b-s.practice.Displaced.Value {
				next = valves[i]
			}
			x += (next - x) / math.Ceil((next-x)/most)
		}
		if x > 0 && x < c.length && x < b {
			s.addLong(c, x, a, b)
		}
	}
}

// addLong adds a candidate of a long run at a distance along a chain.
func (s *solver) addLong(c *chain, x, a, b float64) {
	t := s.practice.Spacing
	run, chainage := s.back(c, x)
	p := s.at(run, chainage, rankLong)
	p.reasons = []Reason{{
		ID: "long-run",
		Text: fmt.Sprintf("long run: %s m between places where air leaves, %s here; a valve at most every %s m",
			quantity.Number(b-a, 0), s.trend(run, chainage), quantity.Number(t.Value, 0)),
		Figure: b - a, Threshold: t.Value, Unit: "m", Source: t.Source,
	}}
	s.accept(p)
}

// trend words the slope at a chainage.
func (s *solver) trend(run int, chainage float64) string {
	slope, ok := s.slopeBeside(run, chainage, +1)
	if !ok {
		slope, _ = s.slopeBeside(run, chainage, -1)
	}
	switch flat := s.practice.Flat.Value; {
	case slope > flat:
		return "rising at " + percent(slope)
	case slope < -flat:
		return "falling at " + percent(-slope)
	}
	return "nearly level"
}
