package draining

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"obvert/line"
)

// TestAgainstSciPy compares with testdata/draining.json, which testdata/draining.py makes with SciPy's solve_ivp and quad from the equations alone.
func TestAgainstSciPy(t *testing.T) {
	data, err := os.ReadFile("testdata/draining.json")
	if err != nil {
		t.Fatal(err)
	}
	var script struct {
		Inclined []struct {
			Loss  float64
			Times [3]float64
		}
		ClosedTop []struct{ Length, Air, Exponent, Least, Time float64 } `json:"closed_top"`
		Leaking   struct{ Area, High, Low, K, H0, Time float64 }
	}
	if err := json.Unmarshal(data, &script); err != nil {
		t.Fatal(err)
	}
	if len(script.Inclined) != 2 || len(script.ClosedTop) != 3 {
		t.Fatalf("%d sloped pipes, %d with their top shut", len(script.Inclined), len(script.ClosedTop))
	}
	for _, c := range script.Inclined {
		b := inclined(c.Loss)
		b.in.Inertia = true
		r := b.solve(t)
		for i, want := range c.Times {
			near(t, "time", r.Openings[0].Marks[i].Time, want, 1e-3)
		}
	}
	for _, c := range script.ClosedTop {
		b := newBuild()
		b.l.Site.VapourPressure = 1 // the script knows no vapour
		b.run("pipe", b.node("top", line.DeadEnd), b.node("foot", line.DeadEnd), 0.05, [2]float64{0, c.Length}, [2]float64{c.Length, 0})
		b.stand(c.Length-c.Air-0.05, span{0, c.Air, c.Length})
		b.in.Openings = []Opening{{Name: "foot", Run: 0, Chainage: c.Length, Coefficient: 1 / math.Sqrt(11)}}
		b.in.Friction, b.in.Polytropic = 1e-9, c.Exponent
		b.in.Inertia, b.in.Horizon, b.in.Tolerance = true, 3, 1e-6
		r := b.solve(t)
		near(t, "least", (101325-r.WorstVacuum.Vacuum)/9810, c.Least, 3e-3)
		near(t, "at", r.WorstVacuum.Time, c.Time, 0.02)
	}
	c := script.Leaking
	leak := func(h float64) float64 { return c.K * h * math.Exp(-h/c.H0) }
	b := leakingTank(c.Area, c.High, leak)
	b.in.StoppedLeak, b.in.Horizon, b.in.Tolerance = leak(c.Low), 1e9, 1e-7
	// The leak at the end is less than at the start, and the curve has one peak between: nothing stops it earlier.
	if leak(c.High) <= leak(c.Low) {
		t.Fatal("the leak counts as stopped from the start")
	}
	r := b.solve(t)
	near(t, "time of a leak that rises and falls", r.StopTime, c.Time, 1e-6)
}
