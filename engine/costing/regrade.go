package costing

import (
	"fmt"
	"math"

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
	return splice(points, reversed(before), line.Point{Chainage: chainage, Obvert: low, Ground: top.Ground, HasGround: top.HasGround, Distance: top.Distance}, after), nil
}

// between is the point of a straight pipe at a chainage.
func between(a, b line.Point, chainage float64) line.Point {
	t := 1.0
	if b.Chainage > a.Chainage {
		t = (chainage - a.Chainage) / (b.Chainage - a.Chainage)
	}
	mix := func(x, y float64) float64 { return x + t*(y-x) }
	return line.Point{Chainage: chainage, Obvert: mix(a.Obvert, b.Obvert), Ground: mix(a.Ground, b.Ground),
		HasGround: a.HasGround && b.HasGround, Distance: mix(a.Distance, b.Distance)}
}

func reversed(p []line.Point) []line.Point {
	r := make([]line.Point, len(p))
	for i := range p {
		r[len(p)-1-i] = p[i]
	}
	return r
}

// meet walks away from the summit along the old pipe until the new one, falling from low at the slope a metre of chainage,
// meets it. It returns the old points above the new pipe, at their new level, and the point where they meet.
func meet(old []line.Point, top line.Point, low, slope float64) (out []line.Point, ok bool) {
	level := func(p line.Point) float64 { return low + slope*math.Abs(p.Chainage-top.Chainage) }
	last := top
	for _, p := range old {
		over, was := p.Obvert-level(p), last.Obvert-level(last)
		if over <= 0 {
			t := was / (was - over)
			m := line.Point{Chainage: last.Chainage + t*(p.Chainage-last.Chainage), Obvert: last.Obvert + t*(p.Obvert-last.Obvert),
				Ground: last.Ground + t*(p.Ground-last.Ground), HasGround: p.HasGround && last.HasGround,
				Distance: last.Distance + t*(p.Distance-last.Distance)}
			return append(out, m), true
		}
		last = p
		if p.Chainage == top.Chainage {
			continue // the summit itself
		}
		p.Obvert = level(p)
		out = append(out, p)
	}
	return nil, false
}

// splice puts the new pipe into the old one and measures along it.
func splice(old, before []line.Point, summit line.Point, after []line.Point) Cut {
	c := Cut{From: before[0].Chainage, To: after[len(after)-1].Chainage}
	for _, p := range old {
		if p.Chainage < c.From {
			c.Points = append(c.Points, p)
		}
	}
	anew := append(append(append([]line.Point(nil), before...), summit), after...)
	was := level(old)
	shift := 0.0
	for i := range anew {
		d := anew[i].Distance
		if i > 0 {
			a, b := anew[i-1], anew[i]
			along, rise := d-(a.Distance-shift), was(b)-was(a)
			plan := math.Sqrt(max(0, along*along-rise*rise))
			length := math.Hypot(plan, b.Obvert-a.Obvert)
			c.Length += length
			shift += length - along
			anew[i].Distance = d + shift
		}
	}
	c.Points = append(c.Points, anew...)
	for _, p := range old {
		if p.Chainage > c.To {
			p.Distance += shift
			c.Points = append(c.Points, p)
		}
	}
	return c
}

// level is the old pipe's obvert at the chainage of a point.
func level(points []line.Point) func(line.Point) float64 {
	return func(q line.Point) float64 {
		for i := 1; i < len(points); i++ {
			if points[i].Chainage >= q.Chainage {
				return between(points[i-1], points[i], q.Chainage).Obvert
			}
		}
		return points[len(points)-1].Obvert
	}
}
