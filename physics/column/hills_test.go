package column

import (
	"context"
	"fmt"
	"math"
	"testing"

	"obvert/physics/opening"
)

// hills is a line over several crests with a valve on each: points are distance and level.
func hills(points []Point, bore, ventMM float64) Network {
	last := points[len(points)-1].Distance
	n := straight(last, bore, 0.02, 0, 0)
	n.Pipes[0].Points = points
	n.Pipes[0].Sections[0].To = last
	o := opening.Orifice{Area: opening.Circle(ventMM / 1000), Coefficient: 0.6}
	for i := 1; i < len(points)-1; i++ {
		if points[i].Level > points[i-1].Level && points[i].Level > points[i+1].Level {
			n.Pipes[0].Vents = append(n.Pipes[0].Vents, Vent{Name: fmt.Sprint("AV ", points[i].Distance), Distance: points[i].Distance, In: o, Out: o})
		}
	}
	return n
}

var twoHills = []Point{{0, 0}, {500, 20}, {900, 5}, {1500, 30}, {2000, 10}}

// many is a line of 100 km over 100 crests: a climb of 40 m in all, each sag 12 m deep.
func many(crests int) Network {
	pts := []Point{{0, 0}}
	for i := range crests {
		x := float64(i) * 1000
		pts = append(pts, Point{x + 550, 15 + 0.4*float64(i)}, Point{x + 1000, 3 + 0.4*float64(i)})
	}
	pts[len(pts)-1].Level = pts[len(pts)-2].Level + 1
	n := hills(pts, 0.5, 80)
	n.Nodes[0] = Node{Kind: Station, Level: 0, Flow: 0.06, Ramp: 10}
	n.Nodes[1].Kind = Outlet
	return n
}

// BenchmarkRefill100Pockets starts a line of 100 km whose valves have let it drain half a sag deep at every crest.
func BenchmarkRefill100Pockets(b *testing.B) {
	n := many(100)
	set := Settings{Horizon: 30 * 86400, Water: halfFull(&n)}
	b.ReportAllocs()
	steps := 0
	for b.Loop() {
		r, err := Run(context.Background(), &n, set)
		if err != nil || r.Status != Full || len(r.Meetings) < 99 {
			b.Fatalf("%v %v after %g s, %d meetings", err, r.Status, r.Time, len(r.Meetings))
		}
		steps = r.Steps
	}
	b.ReportMetric(float64(steps), "steps")
}

// halfFull is water at rest in every sag, up to half the way to the lower of its crests, and in the first climb.
func halfFull(n *Network) []Water {
	pts := n.Pipes[0].Points
	at := func(a, b Point, z float64) float64 {
		return a.Distance + (z-a.Level)/(b.Level-a.Level)*(b.Distance-a.Distance)
	}
	water := []Water{{0, 0, pts[1].Distance / 2}}
	for i := 2; i < len(pts)-1; i += 2 {
		z := (pts[i].Level + min(pts[i-1].Level, pts[i+1].Level)) / 2
		water = append(water, Water{0, at(pts[i-1], pts[i], z), at(pts[i], pts[i+1], z)})
	}
	return water
}

// TestTwoHills follows a first filling over two crests. What must come out: water spills over the first crest when the climb's volume
// has come in, closes the low point beyond, and the pool rises in both limbs in proportion to their slopes, so that at the last air
// the far column moves at s₁/(s₁+s₂) of the spilling flow (levels equal; friction is next to nothing); momentum is shared; the second
// crest spills to the outfall and stays slack.
func TestTwoHills(t *testing.T) {
	n := hills(twoHills, 0.3, 50)
	n.Nodes[0] = Node{Kind: Station, Level: 0, Flow: 0.03, Ramp: 10}
	n.Nodes[1].Kind = Outlet
	r := run(t, n, Settings{Horizon: 20000})
	if r.Status != Slack || len(r.Meetings) != 1 {
		t.Fatalf("%v, %d meetings", r.Status, len(r.Meetings))
	}
	area := math.Pi / 4 * 0.09
	at := map[Kind]float64{}
	for i := len(r.Events) - 1; i >= 0; i-- {
		at[r.Events[i].Kind] = r.Events[i].Time
	}
	near(t, "first crest", at[Spills], 500*area/0.03+5, 2e-3) // a ramp of 10 s costs 5 s of flow
	m := r.Meetings[0]
	s1, s2 := 15.0/400, 25.0/600
	v := 0.03 / area
	near(t, "before", m.Before, v, 1e-3)
	near(t, "beyond", m.After, v*s1/(s1+s2), 0.02)
	near(t, "slam", m.Sealed, 1000*(m.Before-m.After)/(2*9.81), 1e-9)
	// Momentum: columns of one bore share it by their lengths.
	front := 500 + (0.03*(m.Time-5)-500*area)/area
	near(t, "shared", m.Shared, (500*m.Before+(front-500)*m.After)/front, 5e-3)
	if got := r.Vents[0][0].Out; math.Abs(got-(r.Balance.AirOut)) > 1e-9 {
		t.Errorf("valve passed %g kg, all %g kg", got, r.Balance.AirOut)
	}
}
