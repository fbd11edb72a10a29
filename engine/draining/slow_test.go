package draining

import (
	"math"
	"testing"

	"obvert/line"
)

// vee is a sag between two ends, with a leaking valve at the left end.
func vee(k float64) *build {
	b := newBuild()
	n0, n1 := b.node("A", line.DeadEnd), b.node("B", line.DeadEnd)
	b.run("main", n0, n1, 0.3, [2]float64{0, 10}, [2]float64{500, 0}, [2]float64{1000, 12})
	b.leaks("AV 1", 0, 0, 0.4, linear(k))
	b.leaks("AV 2", 0, 1000, 0.4, func(float64) float64 { return 0 })
	b.stand(11.5, span{0, 0, 980})
	return b
}

// A column that falls in a sloped full pipe before a linear leak: t = (A/k) ln(x0/x1), with A the constant surface (exact; while the surface
// lies wholly in the sloped part between obvert and invert of its ends).
func TestLinearLeakIsLogarithmic(t *testing.T) {
	b := vee(1e-5)
	b.in.StoppedLeak = 1e-7
	r := b.solve(t)
	t.Logf("%+v", r.Status)
	sine := 12.0 / 500
	a := math.Pi / 4 * 0.09 / sine
	near(t, "stop", r.StopTime, a/1e-5*math.Log((11.5-10.4)/(1e-7/1e-5)), 1e-6)
	near(t, "lost", r.Lost, a*(11.5-10.4-0.01), 1e-9)
	if r.WaterBalance > 1e-9 {
		t.Errorf("balance %g", r.WaterBalance)
	}
	for _, e := range r.Events {
		t.Log(e)
	}
	for _, p := range r.Pools {
		t.Log(p.Ended, p.Status, p.Start, p.End, p.Lost, len(p.Levels))
	}
	t.Log(r.Steps, r.DrainedLength, r.Valves[0].Pit, r.End.Runs, r.Frames[0].Runs)
}
