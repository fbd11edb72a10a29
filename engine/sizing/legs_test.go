package sizing

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"obvert/line"
	"obvert/physics/pipe"
)

// profile is a line of runs end to end, each a list of chainage and obvert.
func profile(bore float64, runs ...[][2]float64) *line.Line {
	l := &line.Line{Practice: line.DefaultPractice(), Site: site()}
	for i, pts := range runs {
		r := line.Run{Name: string(rune('a' + i)), From: i, To: i + 1}
		for k, p := range pts {
			d := 0.0
			if k > 0 {
				b := r.Points[k-1]
				d = b.Distance + math.Hypot(p[0]-b.Chainage, p[1]-b.Obvert)
			}
			r.Points = append(r.Points, line.Point{Chainage: p[0], Obvert: p[1], Distance: d})
		}
		r.Sections = []line.Section{{From: pts[0][0], To: pts[len(pts)-1][0], Bore: bore, Roughness: 1e-4}}
		l.Runs = append(l.Runs, r)
	}
	for i := range len(runs) + 1 {
		n := line.Node{Name: string(rune('A' + i)), Kind: line.Junction}
		for k := range runs {
			if k == i-1 || k == i {
				n.Runs = append(n.Runs, k)
			}
		}
		l.Nodes = append(l.Nodes, n)
	}
	return l
}

// site is sea level at 15 °C by ISO 2533.
func site() line.Site {
	return line.Site{WaterTemperature: 288.15, AirTemperature: 288.15, Gravity: 9.80665, AtmosphericPressure: 101325, VapourPressure: 1705,
		Density: 999.1, Viscosity: 1.139e-6}
}

func total(l Leg) (length, fall float64) {
	for _, p := range l.Pieces {
		length, fall = length+p.Length, fall+p.Fall
	}
	return length, fall
}

// A summit with a small dip on the way down, a section joint, and a second run behind a node.
func TestLegsGoToTheNextLowPoint(t *testing.T) {
	l := profile(0.3, [][2]float64{{0, 10}, {100, 20}, {200, 15}, {250, 15.0005}, {300, 12}}, [][2]float64{{0, 12}, {100, 5}, {200, 8}, {300, 0}})
	l.Runs[0].Sections = []line.Section{{From: 0, To: 150, Bore: 0.3, Roughness: 1e-4}, {From: 150, To: 300, Bore: 0.25, Roughness: 1e-4}}
	legs := Legs(l, 0, 100)
	if len(legs) != 2 {
		t.Fatalf("%d legs", len(legs))
	}
	if _, fall := total(legs[0]); legs[0].Name != "towards A" || math.Abs(fall-10) > 1e-12 {
		t.Errorf("%s falls %g", legs[0].Name, fall)
	}
	if _, fall := total(legs[1]); legs[1].Name != "towards B" || math.Abs(fall-15) > 1e-12 {
		t.Errorf("%s falls %g, want 15", legs[1].Name, fall)
	}
	var at float64
	for _, p := range legs[1].Pieces {
		if p.Run == 0 && p.Section == 0 {
			at += p.Length
		}
	}
	if want := math.Hypot(50, 2.5); math.Abs(at-want) > 1e-9 {
		t.Errorf("%g m in the first section, want %g", at, want)
	}
}

// Seen from a break of slope one leg rises and one falls; seen from inside a stretch the lengths add up; a place at a node has
// the legs of both runs; walking back mirrors walking on.
func TestLegsFromOtherPlaces(t *testing.T) {
	l := profile(0.3, [][2]float64{{0, 30}, {100, 28}, {200, 20}}, [][2]float64{{0, 20}, {100, 25}})
	legs := Legs(l, 0, 100)
	_, up := total(legs[0])
	_, down := total(legs[1])
	if up != -2 || down != 8 {
		t.Errorf("rises %g, falls %g", -up, down)
	}
	legs = Legs(l, 0, 150)
	_, up = total(legs[0])
	_, down = total(legs[1])
	if math.Abs(up+6) > 1e-12 || math.Abs(down-4) > 1e-12 {
		t.Errorf("from inside: rises %g, falls %g", -up, down)
	}
	legs = Legs(l, 0, 200)
	if len(legs) != 2 {
		t.Fatalf("at the node %d legs", len(legs))
	}
	_, a := total(legs[0])
	_, b := total(legs[1])
	if a != -10 || b != -5 {
		t.Errorf("at the node the legs rise %g and %g", -a, -b)
	}
	if n := len(Legs(l, 0, 0)); n != 1 {
		t.Errorf("at the line's end %d legs", n)
	}
}

// A vertical step at the place: the walk begins at its top, whichever way it goes.
func TestLegsAtAStep(t *testing.T) {
	l := profile(0.3, [][2]float64{{0, 0}, {100, 1}, {100, 5}, {200, 0}})
	legs := Legs(l, 0, 100)
	length, fall := total(legs[0])
	if math.Abs(fall-5) > 1e-12 || math.Abs(length-4-math.Hypot(100, 1)) > 1e-9 {
		t.Errorf("down the step: falls %g over %g", fall, length)
	}
	if _, fall := total(legs[1]); fall != 5 {
		t.Errorf("on: falls %g", fall)
	}
}

// tee is a summit at 100 m of run a, which ends at 300 m at a node where run b goes on to (100 m, b's level) and run c to (100 m,
// c's level).
func tee(b, c float64) *line.Line {
	l := profile(0.3, [][2]float64{{0, 0}, {100, 20}, {300, 18}}, [][2]float64{{0, 18}, {100, b}})
	other := profile(0.3, [][2]float64{{0, 18}, {100, c}}).Runs[0]
	other.Name, other.From, other.To = "c", 1, 3
	l.Runs = append(l.Runs, other)
	l.Nodes[1].Runs = append(l.Nodes[1].Runs, 2)
	l.Nodes = append(l.Nodes, line.Node{Name: "D", Kind: line.Junction, Runs: []int{2}})
	return l
}

// Where pipes part each way on is a leg of its own: the break that draws most may lie beyond. 2 m over 200 m and then 18 m over 100 m
// of pipe draw what a slope of 20/300 does, not what 2/200 does.
func TestLegsPastATee(t *testing.T) {
	for _, c := range []struct {
		b, c  float64
		names string
		falls []float64
	}{
		{0, 17, "towards A; towards B by b; towards B by c", []float64{20, 20, 3}},
		{30, 0, "towards A; towards B by c", []float64{20, 20}},
		{30, 40, "towards A; towards B", []float64{20, 2}},
	} {
		var names []string
		l := tee(c.b, c.c)
		for i, leg := range Legs(l, 0, 100) {
			names = append(names, leg.Name)
			if _, fall := total(leg); i < len(c.falls) && math.Abs(fall-c.falls[i]) > 1e-12 {
				t.Errorf("%s falls %g, want %g", leg.Name, fall, c.falls[i])
			}
		}
		if got := strings.Join(names, "; "); got != c.names {
			t.Errorf("legs %q, want %q", got, c.names)
		}
	}
	l := tee(0, 17)
	p := Place{Name: "S", Chainage: 100, Placed: -1, Record: -1, Obvert: 20, NoRelease: true, Legs: Legs(l, 0, 100)[1:]}
	law := pipe.NewDarcyWeisbach(0.3, 1e-4, l.Site.Viscosity, l.Site.Gravity)
	d := duty(t, &solve(t, Input{Line: l, Places: []Place{p}}).Places[0], FullBurst)
	relative(t, "burst beyond the tee", d.Water, law.Flow(20/(math.Hypot(200, 2)+math.Hypot(100, 18))), 1e-9)

	// A ring of b and c: each way down is a leg, and the walk ends.
	ring := tee(0, 0)
	ring.Runs[2].To = 2
	ring.Nodes[2].Runs = append(ring.Nodes[2].Runs, 2)
	if legs := Legs(ring, 0, 100); len(legs) != 3 {
		t.Errorf("a ring: %+v", legs)
	}
}

// The line walked the other way has the same legs, mirrored; lengths add up to pipe between the turning points; a leg that falls never
// rises by more than the tolerance on its way.
func TestLegsMirror(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 20).Draw(t, "points")
		var pts, back [][2]float64
		for i := range n {
			pts = append(pts, [2]float64{float64(i) * 100, rapid.Float64Range(0, 50).Draw(t, "level")})
		}
		end := pts[n-1][0]
		for i := range n {
			back = append(back, [2]float64{end - pts[n-1-i][0], pts[n-1-i][1]})
		}
		at := rapid.Float64Range(1, end-1).Draw(t, "at")
		on, off := Legs(profile(0.3, pts), 0, at), Legs(profile(0.3, back), 0, end-at)
		if len(on) != 2 || len(off) != 2 {
			t.Fatalf("%d and %d legs", len(on), len(off))
		}
		for i := range on {
			l1, f1 := total(on[i])
			l2, f2 := total(off[1-i])
			if math.Abs(l1-l2) > 1e-6 || math.Abs(f1-f2) > 1e-6 {
				t.Fatalf("leg %d: %g m falling %g, mirrored %g m falling %g", i, l1, f1, l2, f2)
			}
			way, low, level := math.Copysign(1, f1), 0.0, 0.0
			for _, p := range on[i].Pieces {
				level -= way * p.Fall
				if level > low+2e-3+1e-9 { // before it is known which way it goes, the place itself is the measure
					t.Fatalf("leg %d turns on its way", i)
				}
				low = min(low, level)
			}
		}
	})
}
