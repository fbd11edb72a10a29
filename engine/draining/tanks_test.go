package draining

import (
	"math"
	"testing"

	"obvert/line"
)

// leakingTank is a tank of an area, m², that stands full to a height over a leak, m, and the leak, m³/s, by its head, m: a valve whose seat stands
// over a level pipe, so that only the tank has a surface.
func leakingTank(area, height float64, leak func(head float64) float64) *build {
	b := newBuild()
	weight := b.l.Site.Density * b.l.Site.Gravity
	b.run("main", b.tank("Tank", height, area), b.node("B", line.DeadEnd), 0.3, [2]float64{0, -1}, [2]float64{100, -1})
	b.leaks("leak", 0, 100, 1, func(p float64) float64 { return leak(p / weight) })
	b.stand(height, span{0, 0, 100})
	b.in.Horizon = 1e7
	return b
}

// Published times to run a tank down, by a valve that leaks as the orifice does: q = Cd A √(2gh).
func TestTankRunsDownByAnOrifice(t *testing.T) {
	for _, c := range []struct {
		source   string
		area     float64 // m²
		from, to float64 // m
		outlet   float64 // Cd·A, m²
		g        float64 // m/s², as the book has it
		want     float64 // s
	}{
		{"Schaschke, Ex. 6.3, p. 147: 1 m³ in 1 m across, 20 mm, Cd 0.6", math.Pi / 4, 4 / math.Pi, 0, 0.6 * math.Pi / 4 * 4e-4, 9.8, 2124},
		{"Schaschke, Ex. 6.6: tanks of 8 and 4 m² joined by 0.01 m², Cd 0.62, levels apart by 0.30, then 0.10 m; as one tank of 1/(1/8 + 1/4) m²",
			8.0 / 3, 0.30, 0.10, 0.62 * 0.01, 9.81, 44.96},
		{"Choudhary, Ex. 6.16, p. 198: 4 m across, 0.5 m, Cd 0.6, 5 to 2 m", 4 * math.Pi, 5, 2, 0.6 * math.Pi / 16, 9.81, 39.6},
		{"Choudhary, Ex. 6.16: until empty", 4 * math.Pi, 5, 0, 0.6 * math.Pi / 16, 9.81, 107.7},
	} {
		leak := func(h float64) float64 { return c.outlet * math.Sqrt(2*c.g*h) }
		b := leakingTank(c.area, c.from, leak)
		b.in.StoppedLeak = max(leak(c.to), 1e-7*leak(c.from))
		r := b.solve(t)
		near(t, c.source, r.StopTime, c.want, 1e-3)
		near(t, "lost", r.Lost, c.area*(c.from-c.to), 1e-6)
		if r.WaterBalance > 1e-9 || r.Status != StoppedLeaking {
			t.Errorf("%s: balance %g, %s", c.source, r.WaterBalance, r.Status)
		}
	}
}

// F. M. White, Fluid Mechanics, problem 6.27: a tank of diameter D over a capillary of d and L that drops by h drains in laminar flow in
// t₀ = ln(1 + Z₀/h)/C, C = ρ g d⁴/(32 μ L D²). Figures are ours.
func TestLaminarDrainOfATank(t *testing.T) {
	const d, length, diameter, z0, h, mu, rho, g = 0.004, 1.2, 0.5, 0.8, 0.6, 0.0012, 1000, 9.81
	c := rho * g * math.Pow(d, 4) / (32 * mu * length * diameter * diameter)
	leak := func(x float64) float64 { return math.Pi * rho * g * math.Pow(d, 4) * x / (128 * mu * length) } // Hagen and Poiseuille
	b := leakingTank(math.Pi/4*diameter*diameter, z0+h, leak)
	b.in.StoppedLeak = leak(h)
	r := b.solve(t)
	near(t, "time", r.StopTime, math.Log(1+z0/h)/c, 1e-5)
}
