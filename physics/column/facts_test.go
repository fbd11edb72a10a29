package column

import (
	"context"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"obvert/physics/opening"
)

// TestMirror turns a line end for end: the same answer, mirrored.
func TestMirror(t *testing.T) {
	for _, from := range []float64{0.01, 0.05} {
		n := hills(twoHills, 0.3, 50)
		n.Nodes[0] = Node{Kind: Station, Level: 0, Flow: from, Ramp: 10}
		n.Nodes[1].Kind = Outlet
		l := twoHills[len(twoHills)-1].Distance
		var back []Point
		for i := len(twoHills) - 1; i >= 0; i-- {
			back = append(back, Point{l - twoHills[i].Distance, twoHills[i].Level})
		}
		m := hills(back, 0.3, 50)
		m.Nodes[0], m.Nodes[1] = n.Nodes[1], n.Nodes[0]
		a, b := run(t, n, Settings{Horizon: 20000}), run(t, m, Settings{Horizon: 20000})
		if a.Status != b.Status || len(a.Meetings) != len(b.Meetings) || len(a.Events) != len(b.Events) {
			t.Fatalf("%v %d %d, mirrored %v %d %d", a.Status, len(a.Meetings), len(a.Events), b.Status, len(b.Meetings), len(b.Events))
		}
		for i := range a.Meetings {
			p, q := a.Meetings[i], b.Meetings[i]
			near(t, "time", q.Time, p.Time, 1e-3)
			near(t, "place", l-q.Distance, p.Distance, 1e-3)
			near(t, "columns", q.After, -p.Before, 1e-2)
			near(t, "columns", q.Before, -p.After, 1e-2)
			near(t, "slam", q.Slam, p.Slam, 1e-2)
		}
		near(t, "air", b.Balance.AirOut, a.Balance.AirOut, 2e-3)
	}
}

// TestTwoHalves: two valves of half the size are one.
func TestTwoHalves(t *testing.T) {
	build := func(split bool) Network {
		n := hills(twoHills, 0.3, 30)
		n.Nodes[0] = Node{Kind: Station, Level: 0, Flow: 0.05, Ramp: 10}
		n.Nodes[1].Kind = Outlet
		if split {
			o := opening.Orifice{Area: opening.Circle(0.03) / 2, Coefficient: 0.6}
			var v []Vent
			for _, one := range n.Pipes[0].Vents {
				one.In, one.Out = o, o
				v = append(v, one, one)
			}
			n.Pipes[0].Vents = v
		}
		return n
	}
	one, two := run(t, build(false), Settings{Horizon: 20000}), run(t, build(true), Settings{Horizon: 20000})
	if len(one.Meetings) != 1 || len(two.Meetings) != 1 {
		t.Fatalf("%d and %d meetings", len(one.Meetings), len(two.Meetings))
	}
	near(t, "time", two.Meetings[0].Time, one.Meetings[0].Time, 1e-4)
	near(t, "slam", two.Meetings[0].Slam, one.Meetings[0].Slam, 2e-3)
	near(t, "air through each", two.Vents[0][0].Out, one.Vents[0][0].Out/2, 1e-3)
	near(t, "air through each", two.Vents[0][1].Out, two.Vents[0][0].Out, 1e-9)
}

// TestTolerance: a hundredth of the allowed error changes little.
func TestTolerance(t *testing.T) {
	n := many(5)
	set := Settings{Horizon: 3 * 86400, Water: halfFull(&n)}
	coarse := run(t, n, set)
	set.Tolerance = 1e-4
	fine := run(t, n, set)
	if len(coarse.Meetings) != len(fine.Meetings) || len(fine.Meetings) < 4 {
		t.Fatalf("%d and %d meetings", len(coarse.Meetings), len(fine.Meetings))
	}
	for i := range fine.Meetings {
		near(t, "time", coarse.Meetings[i].Time, fine.Meetings[i].Time, 1e-4)
		near(t, "slam", coarse.Meetings[i].Slam, fine.Meetings[i].Slam, 5e-3)
	}
}

// vented is the rig of Zhou, Hicks and Steffler and of De Martino and others: a tank, a pipe of 10 m and 35 mm (from memory), water in half of
// it, air in the rest, an orifice at the end.
func vented(t *testing.T, head, d, air float64) (cushion, slam, gone float64) {
	t.Helper()
	n := straight(10, 0.035, 0.02, 0, 0)
	n.Nodes[0] = Node{Kind: Tank, Level: head}
	n.Nodes[1].Kind = Closed
	o := opening.Orifice{Area: opening.Circle(d), Coefficient: 0.6}
	n.Pipes[0].Vents = []Vent{{Distance: 10, In: o, Out: o, Residual: 0.6 * opening.Circle(d)}}
	r := run(t, n, Settings{Horizon: 600, Tolerance: 1e-3, Water: []Water{{0, 0, 10 - air}}})
	if len(r.Meetings) != 1 {
		t.Fatalf("%g m, %g mm: %d meetings, %v", head, 1000*d, len(r.Meetings), r.Status)
	}
	return r.Airs[0].Peak / 9810, r.Meetings[0].Slam, r.Meetings[0].Time
}

// TestSmallAndLargeOrifices: what Zhou, Hicks & Steffler (J. Hydraul. Eng. 128(6) (2002) 625) and De Martino, Fontana & Giugni (J. Hydraul.
// Eng. 134(9) (2008) 1395) found, as their abstracts say: with small orifices the air is a cushion and its pressure the largest, with larger ones the
// water hammer at the end is; the hammer grows with head and orifice; the time falls with both; how much air there was matters little to it.
func TestSmallAndLargeOrifices(t *testing.T) {
	const bore = 0.035
	lastCushion, lastTime, lastSpeed := math.Inf(1), math.Inf(1), 0.0
	for _, share := range []float64{0.06, 0.1, 0.15, 0.2} {
		cushion, slam, gone := vented(t, 14, share*bore, 5)
		if cushion > lastCushion || gone > lastTime || slam < lastSpeed {
			t.Errorf("d/D %g: cushion %g after %g m, slam %g after %g m, %g after %g s", share, cushion, lastCushion, slam, lastSpeed, gone, lastTime)
		}
		lastCushion, lastTime, lastSpeed = cushion, gone, slam
	}
	c, s, _ := vented(t, 14, 0.02*bore, 5)
	if c < s {
		t.Errorf("d/D 0.02: the cushion's %g m is less than the hammer's %g m", c, s)
	}
	c, s, _ = vented(t, 14, 0.25*bore, 5)
	if s < c {
		t.Errorf("d/D 0.25: the hammer's %g m is less than the cushion's %g m", s, c)
	}
	_, low, slow := vented(t, 7, 0.15*bore, 5)
	_, high, fast := vented(t, 14, 0.15*bore, 5)
	if low >= high || slow <= fast {
		t.Errorf("head 7 and 14 m: slam %g and %g m, %g and %g s", low, high, slow, fast)
	}
	_, little, _ := vented(t, 14, 0.2*bore, 3)
	_, much, _ := vented(t, 14, 0.2*bore, 6)
	near(t, "slam by pocket", little, much, 0.25)
}

// TestEarlyClosing: a float that air carries shut lets only the small orifice pass; a stage throttles and slams less.
func TestEarlyClosing(t *testing.T) {
	solve := func(change func(*Vent)) Result {
		n := hills(twoHills, 0.3, 25)
		n.Nodes[0] = Node{Kind: Station, Level: 0, Flow: 0.1, Ramp: 10}
		n.Nodes[1].Kind = Outlet
		change(&n.Pipes[0].Vents[0])
		return run(t, n, Settings{Horizon: 20000})
	}
	has := func(r Result, k Kind) bool {
		for _, e := range r.Events {
			if e.Kind == k {
				return true
			}
		}
		return false
	}
	plain := solve(func(*Vent) {})
	small := opening.Orifice{Area: opening.Circle(0.003), Coefficient: 0.6}
	staged := solve(func(v *Vent) {
		v.Staged, v.StageAt, v.StageOff = opening.Orifice{Area: opening.Circle(0.01), Coefficient: 0.6}, 2000, 200
	})
	early := solve(func(v *Vent) { v.CloseAt, v.ReopenAt, v.Small = 2000, 200, small })
	if has(plain, StageOn) || has(plain, ValveEarly) || plain.Vents[0][0].Largest < 3000 {
		t.Fatalf("plain: largest differential %g Pa", plain.Vents[0][0].Largest)
	}
	if !has(staged, StageOn) || !staged.Vents[0][0].Staged || len(staged.Meetings) == 0 {
		t.Fatalf("the stage never throttled; %v", staged.Status)
	}
	if a, b := staged.Meetings[0].Sealed, plain.Meetings[0].Sealed; a >= b {
		t.Errorf("slam with a stage %g m, without %g m", a, b)
	}
	if !has(early, ValveEarly) || !early.Vents[0][0].Early {
		t.Error("the float was not carried shut")
	}
	if a, b := early.Airs[0].Peak, staged.Airs[0].Peak; a <= b {
		t.Errorf("pocket behind a shut float %g Pa, behind a stage %g Pa", a, b)
	}
}

// TestNoWayOut: air without a way out is squeezed, holds the water, and its head is lost; the air stays to the gram.
func TestNoWayOut(t *testing.T) {
	n := hills(twoHills, 0.3, 50)
	n.Pipes[0].Vents = nil
	n.Nodes[0] = Node{Kind: Tank, Level: 32}
	n.Nodes[1].Kind = Outlet
	r := run(t, n, Settings{Horizon: 40000, Water: []Water{{0, 0, 490}, {0, 850, 950}}})
	var p *Pocket
	for i := range r.Pockets {
		if !r.Pockets[i].Open {
			p = &r.Pockets[i]
		}
	}
	if p == nil || p.Pressure < 1e4 {
		t.Fatalf("%v: no pocket under pressure: %+v", r.Status, r.Pockets)
	}
	near(t, "air kept", p.Mass, atm/(287.05287*ta)*math.Pi/4*0.09*360, 1e-6)
	// At rest both sides balance: tank over crest = pocket = what stands beyond.
	if r.Status == AirBound {
		near(t, "pressure", p.Pressure/9810, 32-20+0.15, 0.05)
	}
}

// TestRandomHills: whatever the line, water and air are kept, every end is a named one, and no figure is NaN.
func TestRandomHills(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		pts := []Point{{0, 0}}
		x := 0.0
		for range rapid.IntRange(2, 9).Draw(rt, "points") {
			x += rapid.Float64Range(50, 900).Draw(rt, "length")
			pts = append(pts, Point{x, rapid.Float64Range(-20, 25).Draw(rt, "level")})
		}
		n := hills(pts, rapid.Float64Range(0.1, 0.8).Draw(rt, "bore"), rapid.Float64Range(10, 100).Draw(rt, "vent"))
		area := math.Pi / 4 * n.Pipes[0].Sections[0].Bore * n.Pipes[0].Sections[0].Bore
		n.Nodes[0] = Node{Kind: Station, Level: 0, Flow: area * rapid.Float64Range(0.05, 2).Draw(rt, "velocity"), Ramp: 10}
		n.Nodes[1].Kind = rapid.SampledFrom([]NodeKind{Outlet, Closed}).Draw(rt, "end")
		n.Nodes[0].Pumps = steady(rapid.Float64Range(5, 80).Draw(rt, "head"))
		r, err := Run(context.Background(), &n, Settings{Horizon: 40000})
		if err != nil {
			rt.Fatal(err)
		}
		b := r.Balance
		if !(b.WaterError < 1e-6) || !(b.AirError < 1e-6) {
			rt.Errorf("%v: water %g, air %g", r.Status, b.WaterError, b.AirError)
		}
		if r.Status == Stuck {
			rt.Errorf("%v after %g s", r.Status, r.Time)
		}
		for _, p := range r.Pockets {
			if math.IsNaN(p.Pressure+p.Volume+p.Mass) || p.Volume < -1e-3 {
				rt.Errorf("pocket %+v", p)
			}
		}
	})
}

// steady is a pump of one head.
type steady float64

func (s steady) Head(q float64) (h, dhdq float64) { return float64(s) - 10*q*q, -20 * q }

// TestFaults: all faults at once, each with what was understood.
func TestFaults(t *testing.T) {
	n := straight(100, 0.1, 0.02, 0, 0)
	n.Density, n.Pipes[0].To, n.Pipes[0].Sections[0].Bore = -1, 7, 0
	n.Pipes[0].Vents = []Vent{{Name: "X", Distance: 200, CloseAt: 5, ReopenAt: 9}}
	n.Polytropic = 2
	err := n.Check()
	if err == nil {
		t.Fatal("no fault")
	}
	for _, w := range []string{"density", "nodes 0 and 7", "bore", "200 m", "reopens at 9", "polytropic exponent is 2"} {
		if !strings.Contains(err.Error(), w) {
			t.Errorf("%q is not told in: %v", w, err)
		}
	}
	n = straight(100, 0.1, 0.02, 0, 0)
	_, err = Run(context.Background(), &n, Settings{Water: []Water{{3, 0, 1}, {0, 50, 20}}})
	for _, w := range []string{"horizon", "pipe 3", "from 50 to 20"} {
		if err == nil || !strings.Contains(err.Error(), w) {
			t.Errorf("%q is not told in: %v", w, err)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	n = many(3)
	if _, err := Run(ctx, &n, Settings{Horizon: 1e6}); err == nil {
		t.Error("a cancelled run gave an answer")
	}
}

// TestCarries: where the water's velocity carries the air along, the column goes over the crests as a plug, shuts their valves as it passes, and
// comes to the end when the whole volume has come in; air that it shuts in before a body of water is told, not vented.
func TestCarries(t *testing.T) {
	n := hills(twoHills, 0.3, 50)
	n.Nodes[0] = Node{Kind: Station, Level: 0, Flow: 0.1, Ramp: 10}
	n.Nodes[1].Kind = Outlet
	asked, least := 0, 1.3
	n.Carries = func(slope, bore, velocity float64) bool {
		asked++
		if !(slope > 0 && slope < 1) || bore != 0.3 || velocity < least {
			t.Errorf("asked with slope %g, bore %g m, %g m/s", slope, bore, velocity)
		}
		return true
	}
	r := run(t, n, Settings{Horizon: 20000})
	length := twoHills[len(twoHills)-1].Distance
	if r.Status != Full || asked == 0 || len(r.Meetings) != 0 || !r.Vents[0][0].Wet {
		t.Fatalf("%v, asked %d times, %d meetings", r.Status, asked, len(r.Meetings))
	}
	near(t, "delivery", r.Delivery, length*math.Pi/4*0.09/0.1+5, 2e-3)
	// With water standing in the low point the plug shuts air in between.
	least = 0 // the air that is shut in slows it
	r = run(t, n, Settings{Horizon: 20000, Water: []Water{{0, 850, 950}}})
	trapped := false
	for _, e := range r.Events {
		trapped = trapped || e.Kind == Trapped && e.Air > 10
	}
	if !trapped {
		t.Errorf("no air was told as trapped: %v", r.Status)
	}
}
