package costing

import (
	"fmt"
	"math"
	"slices"

	"obvert/line"
)

// Gradients of a pipe laid anew at an air valve: it rises towards the valve and falls away behind it. Common practice, no
// source; the run is taken to flow in the direction of its chainage.
const (
	towards = 1.0 / 500
	away    = 1.0 / 300
)

// Cut is a pipe laid deeper.
type Cut struct {
	Points   []line.Point
	From, To float64 `unit:"m"` // chainage between which it is relaid
	Length   float64 `unit:"m"` // of pipe relaid
}

// Regrade lays a pipe deeper by a depth (m) at a chainage (m): from there it falls at 1:500 towards the run's beginning and
// at 1:300 towards its end until it meets the pipe that is there. Chainages stay, lengths along the pipe are measured anew.
// It fails where the new pipe would not meet the old one on this run.
func Regrade(points []line.Point, chainage, depth float64) (Cut, error) {
	if len(points) < 2 || !(chainage >= points[0].Chainage && chainage <= points[len(points)-1].Chainage) {
		return Cut{}, fmt.Errorf("costing: no pipe at chainage %g m to be laid deeper", chainage)
	}
	if !(depth >= 0) || math.IsInf(depth, 0) {
		return Cut{}, fmt.Errorf("costing: a pipe laid deeper by %g m: give 0 or more", depth)
	}
	at := 0
	for at < len(points)-2 && points[at+1].Chainage < chainage {
		at++
	}
	top := between(points[at], points[at+1], chainage)
	low := top.Obvert - depth
	if depth == 0 {
		return Cut{Points: points, From: chainage, To: chainage}, nil
	}
	before, okBefore := meet(reversed(points[:at+1]), top, low, -towards)
	after, okAfter := meet(points[at+1:], top, low, -away)
	if !okBefore || !okAfter {
		return Cut{}, fmt.Errorf("costing: a pipe laid deeper by %.2f m at chainage %.0f m does not meet the old one on this run", depth, chainage)
	}
	summit := relaid{top, top.Obvert}
	summit.Obvert = low
	return splice(points, slices.Concat(reversed(before), []relaid{summit}, after)), nil
}

// between is the point of a straight pipe at a chainage.
func between(a, b line.Point, chainage float64) line.Point {
	t := 1.0
	if b.Chainage > a.Chainage {
		t = (chainage - a.Chainage) / (b.Chainage - a.Chainage)
	}
	p := mix(a, b, t)
	p.Chainage = chainage
	return p
}

// mix is the point a share t of the way from a to b.
func mix(a, b line.Point, t float64) line.Point {
	at := func(x, y float64) float64 { return x + t*(y-x) }
	return line.Point{Chainage: at(a.Chainage, b.Chainage), Obvert: at(a.Obvert, b.Obvert), Ground: at(a.Ground, b.Ground),
		HasGround: a.HasGround && b.HasGround, Distance: at(a.Distance, b.Distance)}
}

// relaid is a point of the new pipe, with the level that the old one had there.
type relaid struct {
	line.Point
	was float64 // m
}

func reversed[T any](p []T) []T {
	r := slices.Clone(p)
	slices.Reverse(r)
	return r
}

// meet walks away from the summit along the old pipe until the new one, falling from low at the slope a metre of chainage,
// meets it. It returns the old points above the new pipe, at their new level, and the point where they meet.
func meet(old []line.Point, top line.Point, low, slope float64) (out []relaid, ok bool) {
	level := func(p line.Point) float64 { return low + slope*math.Abs(p.Chainage-top.Chainage) }
	last := top
	for _, p := range old {
		over, was := p.Obvert-level(p), last.Obvert-level(last)
		if over <= 0 {
			m := mix(last, p, was/(was-over))
			return append(out, relaid{m, m.Obvert}), true
		}
		last = p
		if p.Chainage == top.Chainage {
			continue // the summit itself
		}
		out = append(out, relaid{p, p.Obvert})
		out[len(out)-1].Obvert = level(p)
	}
	return nil, false
}

// splice puts the new pipe into the old one and measures along it.
func splice(old []line.Point, anew []relaid) Cut {
	c := Cut{From: anew[0].Chainage, To: anew[len(anew)-1].Chainage}
	for _, p := range old {
		if p.Chainage < c.From {
			c.Points = append(c.Points, p)
		}
	}
	shift := 0.0
	for i, p := range anew {
		if i > 0 {
			a := &anew[i-1]
			along, rise := p.Distance-a.Distance, p.was-a.was
			plan := math.Sqrt(max(0, along*along-rise*rise))
			length := math.Hypot(plan, p.Obvert-a.Obvert)
			c.Length += length
			shift += length - along
		}
		p.Distance += shift
		c.Points = append(c.Points, p.Point)
	}
	for _, p := range old {
		if p.Chainage > c.To {
			p.Distance += shift
			c.Points = append(c.Points, p)
		}
	}
	return c
}
