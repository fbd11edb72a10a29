package draining

import (
	"math"
	"testing"

	"obvert/line"
)

// Measured: vented vertical pipes drain through a hole at their foot (student experiment, Georgia Institute of Technology, 2002,
// ace.gatech.edu/experiments2/2413/torricelli/fall02). With one coefficient of 0.65 all four times are met within 12 %.
func TestVerticalPipesMeasured(t *testing.T) {
	for _, c := range []struct {
		name                        string
		hole, pipe, level, measured float64 // radii and level in inches, s
		exact                       float64 // s, Torricelli's with 0.65
	}{
		{"BB", 0.25, 1, 55.25, 13.3, 13.17}, {"BS", 0.125, 1, 58.6, 50.4, 54.2}, {"SB", 0.25, 0.5, 57.4, 3.8, 3.36}, {"SS", 0.125, 0.5, 55.7, 13.1, 13.22},
	} {
		b := newBuild()
		bore, h := 2*c.pipe*inch, c.level*inch
		r := b.run("pipe", b.node("top", line.DeadEnd), b.node("foot", line.DeadEnd), bore, [2]float64{0, h}, [2]float64{h, 0})
		b.wideOpen(0, r.Points[0].Chainage)
		b.stand(h, span{0, 0, h})
		b.in.Openings = []Opening{{Name: "hole", Run: 0, Chainage: h, Diameter: 2 * c.hole * inch, Coefficient: 0.65}}
		b.in.Friction, b.in.Horizon = 1e-9, 1000
		res := b.solve(t)
		near(t, c.name+", measured", res.StopTime, c.measured, 0.12)
		near(t, c.name+", by Torricelli", res.StopTime, c.exact, 5e-3)
	}
}

// Exact: a vertical pipe whose top is shut, opened at its foot: the water stops where
//
//	p_a/ρg (1 − (x₀/(x₀+s))ⁿ) = L − x₀ − s
//
// having swung past it; the least pressure is that of a rigid column (own figures of another solver, K = 10 at the outlet, no friction).
func TestClosedTop(t *testing.T) {
	for _, c := range []struct{ length, air, n, drop, rests, least, at float64 }{
		{5, 0.5, 1, 0.3375, 6.1663, 4.742, 0.686}, {5, 0.5, 1.2, 0.2751, 6.1038, 4.503, 0.620}, {5, 0.5, 1.4, 0.2317, 6.0605, 4.318, 0.570},
		{5, 1, 1.2, 0.4248, 6.7536, 5.552, 0.729}, {9, 0.5, 1.2, 0.9800, 2.8087, 1.826, 1.382},
	} {
		b := newBuild()
		b.l.Site.VapourPressure = 1 // so that the exact figures, which know no vapour, hold
		b.run("pipe", b.node("top", line.DeadEnd), b.node("foot", line.DeadEnd), 0.05, [2]float64{0, c.length}, [2]float64{c.length, 0})
		b.stand(c.length-c.air-0.05, span{0, c.air, c.length})
		b.in.Openings = []Opening{{Name: "foot", Run: 0, Chainage: c.length, Coefficient: 1 / math.Sqrt(11)}}
		b.in.Friction, b.in.Horizon, b.in.Polytropic = 1e-9, 1e4, c.n
		still := b.solve(t)
		near(t, "drop", still.Lost/(math.Pi/4*0.05*0.05), c.drop, 2e-3)
		near(t, "rests at", (101325-still.WorstVacuum.Vacuum)/9810, c.rests, 2e-3)
		b.in.Inertia, b.in.Horizon, b.in.Tolerance = true, 3, 1e-6
		swung := b.solve(t)
		near(t, "least", (101325-swung.WorstVacuum.Vacuum)/9810, c.least, 3e-3)
		near(t, "at", swung.WorstVacuum.Time, c.at, 0.02)
		if still.WaterBalance > 1e-6 || swung.WaterBalance > 1e-6 {
			t.Errorf("balances %g, %g", still.WaterBalance, swung.WaterBalance)
		}
	}
}

// Exact (rigid column with friction, no loss at the outlet): level pipe emptied by air of constant pressure P from rest with a length L₀:
//
//	V² = (2P/ρ) e^(fl/D) [E₁(fl/D) − E₁(fL₀/D)]
func TestLevelPipeEmptiedByAir(t *testing.T) {
	b := newBuild()
	const p, l0, d, f = 100e3, 200, 0.2, 0.015
	b.run("pipe", b.node("A", line.DeadEnd), b.node("B", line.DeadEnd), d, [2]float64{0, 0.1}, [2]float64{l0, 0.1})
	b.stand(1, span{0, 0, l0})
	b.in.Openings = []Opening{{Name: "end", Run: 0, Chainage: l0}}
	b.in.Friction, b.in.Inertia, b.in.Horizon, b.in.Tolerance = f, true, 100, 1e-6
	b.l.Cases = []line.Case{{Level: make([]float64, 2)}}
	if err := b.in.Check(); err != nil {
		t.Fatal(err)
	}
	m, err := newFast(&b.in)
	if err != nil {
		t.Fatal(err)
	}
	// Air stands behind the column at a pressure that does not change: as if its pipe went on without end.
	c := &m.chains[0]
	c.plugs[0].at0 = false
	m.held = p + 101325
	want := []struct{ share, v, t float64 }{{0.9, 3.3246, 9.986}, {0.75, 4.0159, 18.050}, {0.5, 4.8783, 29.402}, {0.25, 6.6012, 38.384}, {0.1, 9.4684, 42.287}}
	m2 := &motion{fast: m, dt: 1e-3}
	k := 0
	for range 40000 {
		if err := m.step(m2); err != nil {
			t.Fatal(err)
		}
		m.apply(m2)
		if len(c.plugs) == 0 || k == len(want) {
			break
		}
		left := (c.plugs[0].v1 - c.plugs[0].v0) / c.total()
		for k < len(want) && left <= want[k].share {
			near(t, "velocity", c.plugs[0].before/(math.Pi/4*d*d), want[k].v, 5e-3)
			near(t, "time", m.time, want[k].t, 5e-3)
			k++
		}
		m2.dt = min(m.nextStep(m2), 0.02)
	}
	if k < len(want) {
		t.Errorf("it came to %d of %d places", k, len(want))
	}
}
