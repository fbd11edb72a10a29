package sizing

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"obvert/line"
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
