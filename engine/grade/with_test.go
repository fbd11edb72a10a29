package grade

import (
	"context"
	"testing"

	"obvert/line"
)

// TestWith: a net that shares its grids gives, bit for bit, what one made anew gives.
func TestWith(t *testing.T) {
	b := newBuild()
	low, high := b.station("Works", 10, line.CheckEach, [][2]float64{{0, 60}, {0.1, 40}}), b.tank("End", 40)
	b.run("Main", low, high, 0.3, 1e-4, [2]float64{0, 10}, [2]float64{500, 45}, [2]float64{900, 30}, [2]float64{1000, 38})
	b.valve(0, "V", 500, true)
	b.kase(line.Pumping)
	b.kase(line.Standing)
	l := &b.l
	net, err := NewNet(l)
	if err != nil {
		t.Fatal(err)
	}
	raised := *l
	raised.Cases = append([]line.Case(nil), l.Cases...)
	for k := range raised.Cases {
		raised.Cases[k].Level = append([]float64(nil), l.Cases[k].Level...)
		for n := range raised.Cases[k].Level {
			raised.Cases[k].Level[n] += 1.5
		}
	}
	shared, err := net.With(&raised)
	if err != nil {
		t.Fatal(err)
	}
	if &shared.grids[0] != &net.grids[0] {
		t.Error("the grids are not shared")
	}
	anew, err := NewNet(&raised)
	if err != nil {
		t.Fatal(err)
	}
	for k := range raised.Cases {
		a, errA := Solve(context.Background(), Input{Net: shared, Case: k})
		b, errB := Solve(context.Background(), Input{Net: anew, Case: k})
		if errA != nil || errB != nil {
			t.Fatal(errA, errB)
		}
		for r := range a.Runs {
			if a.Runs[r].Flow != b.Runs[r].Flow || a.Runs[r].Head[1] != b.Runs[r].Head[1] {
				t.Errorf("case %d: flow %g and %g m³/s, head %g and %g m", k, a.Runs[r].Flow, b.Runs[r].Flow, a.Runs[r].Head[1], b.Runs[r].Head[1])
			}
		}
	}
	other := raised
	other.Runs = append([]line.Run(nil), l.Runs...)
	other.Runs[0].Points = append([]line.Point(nil), l.Runs[0].Points...)
	other.Runs[0].Points[1].Obvert += 0.1
	if n, err := net.With(&other); err != nil || &n.grids[0] == &net.grids[0] {
		t.Errorf("another profile shares the grids (%v)", err)
	}
}
