package siting

import (
	"container/heap"
	"math"

	"obvert/line"
)

// simplify picks the fewest points of a profile from which none of the others stands off by more than the tolerance (m of
// level): Douglas and Peucker 1973. It gives their indices, first and last included.
func simplify(p []line.Point, tolerance float64) []int {
	keep := make([]bool, len(p))
	keep[0], keep[len(p)-1] = true, true
	stack := [][2]int{{0, len(p) - 1}}
	for len(stack) > 0 {
		a, b := stack[len(stack)-1][0], stack[len(stack)-1][1]
		stack = stack[:len(stack)-1]
		slope := 0.0
		if d := p[b].Distance - p[a].Distance; d > 0 {
			slope = (p[b].Obvert - p[a].Obvert) / d
		}
		worst, at := tolerance, -1
		for k := a + 1; k < b; k++ {
			if off := math.Abs(p[k].Obvert - p[a].Obvert - slope*(p[k].Distance-p[a].Distance)); off > worst {
				worst, at = off, k
			}
		}
		if at >= 0 {
			keep[at] = true
			stack = append(stack, [2]int{a, at}, [2]int{at, b})
		}
	}
	var kept []int
	for k, yes := range keep {
		if yes {
			kept = append(kept, k)
		}
	}
	return kept
}

// standsOut is by how many tolerances a break must stand out from the chord over its two legs: 3, which is 6 standard
// deviations of the survey; three levels that err independently make 1.4 of them at most, and among thousands of points
// the worst reaches four times that.
const standsOut = 3

// prune drops points of a simplified profile, the least first, until every one left stands out by so much (m of level) from
// the chord over its two neighbours. One break that errors have split into several is one again.
func prune(p []line.Point, kept []int, least float64) []int {
	c := corners{p: p, before: make([]int, len(kept)), after: make([]int, len(kept)), kept: kept, out: make([]float64, len(kept))}
	for k := range kept {
		c.before[k], c.after[k] = k-1, k+1
	}
	for k := 1; k < len(kept)-1; k++ {
		c.push(k)
	}
	for c.Len() > 0 {
		e := heap.Pop(&c).(corner)
		if e.out != c.out[e.at] { // overtaken by a later one
			continue
		}
		if e.out >= least {
			break
		}
		b, a := c.before[e.at], c.after[e.at]
		c.after[b], c.before[a], c.out[e.at] = a, b, -1
		for _, k := range []int{b, a} {
			if k > 0 && k < len(kept)-1 {
				c.push(k)
			}
		}
	}
	var left []int
	for k := 0; k < len(kept); k = c.after[k] {
		left = append(left, kept[k])
	}
	return left
}

// corner is a point by how far it stands out.
type corner struct {
	at  int
	out float64 // m
}

// corners is a heap of corners, the least first, on a list of those still kept.
type corners struct {
	p             []line.Point
	kept          []int
	before, after []int     // by corner, the neighbour still kept
	out           []float64 // by corner, the valid figure; −1 once dropped
	heap          []corner
}

// push reckons a corner anew.
func (c *corners) push(k int) {
	a, m, b := c.p[c.kept[c.before[k]]], c.p[c.kept[k]], c.p[c.kept[c.after[k]]]
	share := 0.5
	if d := b.Distance - a.Distance; d > 0 {
		share = (m.Distance - a.Distance) / d
	}
	c.out[k] = math.Abs(m.Obvert - a.Obvert*(1-share) - b.Obvert*share)
	heap.Push(c, corner{k, c.out[k]})
}

// Len, Less, Swap, Push and Pop make it a [heap.Interface].
func (c *corners) Len() int           { return len(c.heap) }
func (c *corners) Less(i, j int) bool { return c.heap[i].out < c.heap[j].out }
func (c *corners) Swap(i, j int)      { c.heap[i], c.heap[j] = c.heap[j], c.heap[i] }
func (c *corners) Push(x any)         { c.heap = append(c.heap, x.(corner)) }
func (c *corners) Pop() any {
	last := c.heap[len(c.heap)-1]
	c.heap = c.heap[:len(c.heap)-1]
	return last
}

// leg is a straight stretch of a simplified profile.
type leg struct {
	from, to int     // indices of points
	length   float64 // m, of pipe
	slope    float64 // rise over length of pipe
}

// legs are the straight stretches of a run. A vertical step whose length is not in the distances has slope ±1.
func legs(p []line.Point, tolerance float64) []leg {
	kept := prune(p, simplify(p, tolerance), standsOut*tolerance)
	var list []leg
	for k := 1; k < len(kept); k++ {
		a, b := kept[k-1], kept[k]
		rise := p[b].Obvert - p[a].Obvert
		length := p[b].Distance - p[a].Distance
		if length == 0 && rise == 0 {
			continue
		}
		length = max(length, math.Abs(rise))
		list = append(list, leg{from: a, to: b, length: length, slope: rise / length})
	}
	return list
}

// slopeBreaks finds where a run falls more steeply or rises less steeply from one leg to the next.
func (s *solver) slopeBreaks() {
	t := s.practice.SlopeChange
	for r := range s.in.Line.Runs {
		dirs := s.directions(r)
		for k := 1; k < len(s.legs[r]); k++ {
			a, b := s.legs[r][k-1], s.legs[r][k]
			change := a.slope - b.slope
			if change < t.Value {
				continue
			}
			v := s.net.first[r] + b.from
			p := s.place(v, nil, rankSlope)
			for _, dir := range dirs {
				p.reasons = append(p.reasons, breakReason(a.slope, b.slope, dir, t))
			}
			s.found = append(s.found, p)
		}
	}
}

// breakReason words a break from slope a to slope b, as water meets it that flows forwards (+1) or backwards (−1).
func breakReason(a, b, dir float64, t line.Threshold) Reason {
	if dir < 0 {
		a, b = -b, -a
	}
	r := Reason{ID: "upslope-decrease", Figure: a - b, Threshold: t.Value, Unit: "1", Source: t.Source}
	switch {
	case a+b < 0 && a <= 0:
		r.ID = "downslope-increase"
		r.Text = "the downslope increases from " + percent(-a) + " to " + percent(-b)
	case a+b < 0:
		r.ID = "downslope-increase"
		r.Text = "a rise of " + percent(a) + " turns into a fall of " + percent(-b)
	case b >= 0:
		r.Text = "the upslope decreases from " + percent(a) + " to " + percent(b)
	default:
		r.Text = "a rise of " + percent(a) + " turns into a fall of " + percent(-b)
	}
	return r
}

// directions are those in which water flows through a run in the cases given: +1, −1 or both; +1 where none is known.
func (s *solver) directions(r int) []float64 {
	var forwards, backwards bool
	for f := range s.in.Flowing {
		forwards = forwards || s.in.Flowing[f].Flow[r] > 0
		backwards = backwards || s.in.Flowing[f].Flow[r] < 0
	}
	switch {
	case forwards && backwards:
		return []float64{+1, -1}
	case backwards:
		return []float64{-1}
	}
	return []float64{+1}
}

// slopeBeside is the slope of the leg before (−1) or behind (+1) a chainage of a run; ok is false at the run's ends.
func (s *solver) slopeBeside(r int, chainage float64, side int8) (slope float64, ok bool) {
	p := s.in.Line.Runs[r].Points
	for _, l := range s.legs[r] {
		from, to := p[l.from].Chainage, p[l.to].Chainage
		if side < 0 && from < chainage && chainage <= to || side > 0 && from <= chainage && chainage < to {
			return l.slope, true
		}
	}
	return 0, false
}
