package draining

import (
	"math"
	"testing"

	"obvert/line"
	"obvert/physics/valve"
)

// wideOpen adds a valve that lets air in without resistance to speak of.
func (b *build) wideOpen(run int, chainage float64) {
	z, _ := b.l.ObvertAt(run, chainage)
	b.in.Rack = append(b.in.Rack, valve.Record{Name: "wide", NominalDiameter: 1, Rating: 1e6, AdmitsAir: true, In: &valve.Air{Diameter: 5, Coefficient: 0.9}})
	b.in.Valves = append(b.in.Valves, Valve{Name: "AV", Run: run, Chainage: chainage, Seat: z, Record: len(b.in.Rack) - 1, AdmitsAir: true})
}

// inclined is a pipe with its top at 20 m, closed but for an air valve, and an end valve at its foot whose loss on the pipe's velocity is k.
func inclined(k float64) *build {
	b := newBuild()
	b.run("main", b.node("top", line.DeadEnd), b.node("foot", line.DeadEnd), 0.3, [2]float64{0, 20}, [2]float64{1000, 0})
	b.wideOpen(0, 0)
	b.stand(25, span{0, 0, 1000})
	b.in.Openings = []Opening{{Name: "end valve", Run: 0, Chainage: 1000, Coefficient: 1 / math.Sqrt(k+1)}}
	b.in.Friction = 0.02
	b.in.Horizon = 1e5
	b.in.Tolerance = 1e-4
	return b
}

// Exact, quasi-steady: V = √(2 g s l/(K + f l/D)), t = [√(l(K+bl)) + K/√b asinh √(bl/K)] / √(2gs) between l and L, b = f/D.
func TestInclinedPipe(t *testing.T) {
	for _, k := range []float64{50, 2000} {
		r := inclined(k).solve(t)
		b, s := 0.02/0.3, 0.02
		way := func(l float64) float64 { return math.Sqrt(l*(k+b*l)) + k/math.Sqrt(b)*math.Asinh(math.Sqrt(b*l/k)) }
		for _, m := range r.Openings[0].Marks {
			want := (way(1000) - way(1000*(1-m.Share))) / math.Sqrt(2*9.81*s)
			near(t, "time", m.Time, want, 1e-3)
		}
		if r.WaterBalance > 1e-9 || r.AirBalance > 1e-6 || r.Status != Drained {
			t.Errorf("water %g, air %g, %s", r.WaterBalance, r.AirBalance, r.Status)
		}
		// Free air follows the water.
		near(t, "air", r.Valves[0].FreePeak, math.Pi/4*0.09*math.Sqrt(2*9.81*s*1000/(k+b*1000)), 2e-3)
	}
}

// The same with the column's inertia: own rigid-column figures of another solver, about 6 s and 1 s behind the quasi-steady ones.
func TestInclinedPipeWithInertia(t *testing.T) {
	for _, c := range []struct {
		k    float64
		want [3]float64
	}{{50, [3]float64{146.8, 299.7, 479.3}}, {2000, [3]float64{615.1, 1339.8, 2280.4}}} {
		b := inclined(c.k)
		b.in.Inertia = true
		r := b.solve(t)
		for i, want := range c.want {
			near(t, "time", r.Openings[0].Marks[i].Time, want, 1e-3)
		}
		if r.WaterBalance > 1e-9 || r.AirBalance > 1e-6 {
			t.Errorf("water %g, air %g", r.WaterBalance, r.AirBalance)
		}
	}
}

const foot, inch = 0.3048, 0.0254

// lostAt is when an opening has let a volume go.
func lostAt(o OpeningResult, v float64) float64 { return when(o.Series, v) }

// Tanks that drain through a pipe or an orifice.
func TestTanksThatDrain(t *testing.T) {
	disc := func(d float64) float64 { return math.Pi / 4 * d * d }
	for _, c := range []struct {
		source         string
		area           float64 // of the tank, m²
		h1, h2         float64 // head over the outlet's axis, m
		length, bore   float64 // of the pipe, m
		f              float64 // Darcy's
		entry          float64 // loss on v²/2g, besides the exit's 1
		hole, coef     float64 // m; 0: the full bore
		gravity        float64
		published, tol float64 // s
		exact          float64 // s, by the formula
	}{
		{"Cengel & Cimbala, Fluid Mechanics, ch. 14: pool of 10 m drained by 25 m of 5 cm pipe", disc(10), 2, 0, 25, 0.05, 0.022, 0, 0, 0, 9.81, 88480, 2e-3, 88480},
		{"Natarajan, Principles of Fluid Mechanics, ex. 7.15 (p. 279)", disc(1.2), 8, 4, 250, 0.02, 0.01, 0.5, 0, 0, 9.81, 4*3600 + 12*60 + 25, 1e-3, 15145.5},
		{"Sarkar, ex. 6.17 (p. 131)", 90, 10, 7, 400, 0.15, 4 * 0.008, 0.5, 0, 0, 9.81, 3.0742 * 3600, 1e-3, 3.0746 * 3600},
		{"J. Lal, Hydraulics, ex. 5.18 (p. 164)", 1e4 * foot * foot, 50 * foot, 40 * foot, 1500 * foot, 0.5 * foot, 4 * 0.0075, 0.5, 0, 0, 32.2 * foot, 25 * 3600, 0.01, 25.18 * 3600},
		{"J. Lal, ex. 5.19, pipe with a drop of 20 ft", 24 * 12 * foot * foot, 26 * foot, 20 * foot, 25 * foot, foot / 3, 4 * 0.006, 0.5, 0, 0, 32.2 * foot, 940, 0.01, 936.6},
		{"J. Lal, ex. 5.19, level pipe", 24 * 12 * foot * foot, 6 * foot, 0, 25 * foot, foot / 3, 4 * 0.006, 0.5, 0, 0, 32.2 * foot, 3660, 5e-3, 3659.9},
		{"J. Lal, ex. 5.19, plain orifice", 24 * 12 * foot * foot, 6 * foot, 0, 0.05, 1, 1e-9, 0, foot / 3, 0.6, 32.2 * foot, 3358, 5e-3, 3357.8},
		{"Paradise, Problems in Hydraulics, ex. 7.5 (p. 143)", 5280 * 5280 / 16 * foot * foot, 18 * foot, 13 * foot, 200 * foot, 2 * foot, 4 * 0.006, 0.5, 0, 0, 32.2 * foot, (48 + 20./60) * 3600, 2e-3, 48.31 * 3600},
		{"Schaschke, ex. 6.3 (p. 147)", disc(1), 1 / disc(1), 0, 0.05, 0.5, 1e-9, 0, 0.02, 0.6, 9.8, 2124, 5e-3, 2124},
		{"Choudhary, ex. 6.16 (p. 198), from 5 m to 2 m", disc(4), 5, 2, 0.05, 3.9, 1e-9, 0, 0.5, 0.6, 9.81, 39.6, 2e-3, 39.58},
		{"tank of 4 ft, outlet of 5 in², no loss, from 6 ft to 2 ft (engineeringprep.com, problem 435)", disc(4 * foot), 6 * foot, 2 * foot, 0.05, 3.9 * foot, 1e-9, 0, math.Sqrt(5*4/math.Pi) * inch, 1, 32.2 * foot, 94, 0.01, 93.38},
	} {
		b := newBuild()
		b.l.Site.Gravity = c.gravity
		// The outlet's axis at 0; the pipe level, so that all its water stands below the tank.
		r := b.run("pipe", b.tank("tank", c.h1, c.area), b.node("end", line.DeadEnd), c.bore, [2]float64{0, c.bore / 2}, [2]float64{c.length, c.bore / 2})
		r.Sections[0].LocalLoss = c.entry
		b.stand(c.h1+c.bore, span{0, 0, c.length})
		b.in.Openings = []Opening{{Name: "outlet", Run: 0, Chainage: c.length, Diameter: c.hole, Coefficient: c.coef}}
		b.in.Friction, b.in.Horizon, b.in.Tolerance = c.f, 1e7, 1e-5
		res := b.solve(t)
		volume := c.area * (c.h1 - c.h2)
		if c.h2 == 0 {
			volume *= 1 - 1e-9
		}
		got := lostAt(res.Openings[0], volume)
		t.Logf("%s: %.5g, published %.5g, exact %.5g", c.source, got, c.published, c.exact)
		near(t, c.source, got, c.published, c.tol)
		near(t, c.source+" (formula)", got, c.exact, max(2e-3, 0))
		if res.WaterBalance > 1e-6 {
			t.Errorf("%s: balance %g", c.source, res.WaterBalance)
		}
	}
}
