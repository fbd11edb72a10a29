package draining

import (
	"math"
	"testing"

	"obvert/line"
	"obvert/physics/valve"
)

// burstUnder is a pipe of 1000 m that falls by 20 m, with points every 10 m, torn off at its foot; air comes in at its top through one valve of an
// orifice, m, coefficient 0.6. Water stands from a chainage on.
func burstUnder(orifice, from float64) *build {
	b := newBuild()
	var pts [][2]float64
	for x := 0.0; x <= 1000; x += 10 {
		pts = append(pts, [2]float64{x, 20 - 0.02*x})
	}
	b.run("main", b.node("top", line.DeadEnd), b.node("foot", line.DeadEnd), 0.3, pts...)
	b.in.Rack = []valve.Record{{Name: "one", NominalDiameter: orifice, Rating: 1e6, AdmitsAir: true, In: &valve.Air{Diameter: orifice, Coefficient: 0.6}}}
	b.in.Valves = []Valve{{Name: "AV", Seat: 20.4, AdmitsAir: true}}
	b.stand(25, span{0, from, 1000})
	b.in.Openings = []Opening{{Name: "torn off", Run: 0, Chainage: 1000, Burst: true}}
	b.in.Friction, b.in.Horizon, b.in.Tolerance = 0.02, 1e5, 0
	return b
}

// throat is the air, kg/s, that an orifice passes from the atmosphere to a pressure: isentropic flow of a perfect gas, k = 1.4 (Cengel & Cimbala,
// Fluid Mechanics, ch. 12), times its area and coefficient.
func throat(d, coefficient, p, atm, t float64) float64 {
	const k, gas = 1.4, 287.05
	r := max(p/atm, math.Pow(2/(k+1), k/(k-1)))
	return coefficient * math.Pi / 4 * d * d * atm / math.Sqrt(gas*t) * math.Sqrt(2*k/(k-1)*(math.Pow(r, 2/k)-math.Pow(r, (k+1)/k)))
}

// The vacuum is that at which the valve lets in, as a volume at the pressure inside, what the leg lets out under gravity less that vacuum
// (an own figure, by halving). It is greatest at the start, when the leg is longest: V² fL/D = 2g(sL − Δp/ρg), for each moment is a steady one and
// the torn end takes no more head than the velocity that the water has.
func TestVacuumAtOneValve(t *testing.T) {
	for _, d := range []float64{0.03, 0.05, 0.1} {
		r := burstUnder(d, 0).solve(t)
		lo, hi := 0.0, 100000.0
		for range 60 {
			dp := 0.5 * (lo + hi)
			q := math.Pi / 4 * 0.09 * math.Sqrt(max(0, 2*(9.81*20-dp/1000))/(0.02*1000/0.3))
			p := 101325 - dp
			if throat(d, 0.6, p, 101325, 288.15) < q*p/(287.05*288.15) {
				lo = dp
			} else {
				hi = dp
			}
		}
		near(t, "vacuum", r.WorstVacuum.Vacuum, lo, 0.01)
		near(t, "vacuum at the valve", r.Valves[0].Vacuum, lo, 0.01)
	}
}

// With air in the pipe at first the vacuum grows and falls; half the error allowed changes it by next to nothing. Halving the step takes a
// quarter of the tolerance.
func TestVacuumDoesNotHangOnTheStep(t *testing.T) {
	for _, inertia := range []bool{false, true} {
		for _, d := range []float64{0.02, 0.03, 0.05, 0.1} {
			for _, from := range []float64{0, 15, 200} {
				a, b := burstUnder(d, from), burstUnder(d, from)
				a.in.Inertia, b.in.Inertia = inertia, inertia
				b.in.Tolerance = 2.5e-5
				x, y := a.solve(t), b.solve(t)
				near(t, "vacuum", x.WorstVacuum.Vacuum, y.WorstVacuum.Vacuum, 0.02)
			}
		}
	}
}

// Water that falls in a pipe open to the air above stands under no vacuum, whatever points of the profile its surface passes in a step.
func TestNoVacuumBeyondASurface(t *testing.T) {
	if r := burstUnder(3, 0).solve(t); r.WorstVacuum.Vacuum > 50 {
		t.Errorf("%+v", r.WorstVacuum)
	}
}

// Water laid down at a column's end within a gap leaves no gap without its air: all of a region shares its air by volume.
func TestAirIsSharedByVolume(t *testing.T) {
	b := burstUnder(0.05, 0)
	b.solve(t)
	f, err := newFast(&b.in)
	if err != nil {
		t.Fatal(err)
	}
	c := &f.chains[0]
	c.plugs = []plug{{v0: 10, v1: 20}, {v0: 21, v1: 30}}
	c.gaps = []gap{{mass: 12, of: 0}, {mass: 0, of: 0}, {mass: 5, of: -1}}
	f.share(1)
	near(t, "air before", c.gaps[0].mass, 12*10./11, 1e-12)
	near(t, "air between", c.gaps[1].mass, 12*1./11, 1e-12)
	near(t, "air of no region", c.gaps[2].mass, 5, 0)
}

// An end of a column rises to the crest before it and no further in a step, however long: what comes beyond runs down.
func TestColumnEndsRiseToCrests(t *testing.T) {
	c := chain{v: []float64{0, 1, 2, 3, 4, 5, 6}, z: []float64{5, 3, 3, 7, 7, 1, 9}}
	for _, w := range []struct {
		v       float64
		forward bool
		want    float64
	}{
		{1.5, true, 3}, {2.5, true, 3}, {3, true, 3}, {3.5, true, 3.5}, {4.5, true, 4.5}, {5, true, 6}, {5.5, true, 6}, {6, true, 6},
		{6, false, 6}, {5, false, 4}, {4.5, false, 4}, {3.5, false, 3.5}, {2.5, false, 2.5}, {2, false, 0}, {1, false, 0}, {0.5, false, 0}, {0, false, 0},
	} {
		if got := c.crest(w.v, w.forward); got != w.want {
			t.Errorf("from %g, forward %v: %g, want %g", w.v, w.forward, got, w.want)
		}
		if down := c.fall(w.v, w.forward) < 0; down != (w.want == w.v && w.v > 0 && (w.v < 6 || !w.forward)) {
			t.Errorf("at %g, forward %v: falls away %v", w.v, w.forward, down)
		}
	}
}

// Water to be given back goes where there is room for it short of a crest, and comes from where it is too much.
func TestRepayStaysShortOfCrests(t *testing.T) {
	n := &net{chains: []chain{{v: []float64{0, 10, 40}, z: []float64{0, 9, 0}, area: []float64{1, 1},
		plugs: []plug{{v0: 3, v1: 5}, {v0: 10, v1: 40, at1: true}}}}}
	f := &fast{net: n, closed: -0.1}
	f.repay()
	p := n.chains[0].plugs
	if f.closed != 0 || p[1].v0 != 10 || p[1].v1-p[1].v0+p[0].v1-p[0].v0 != 32.1 {
		t.Errorf("%g m³ left to give, %+v", f.closed, p)
	}
	f.closed = 0.1
	f.repay()
	if f.closed != 0 || p[1].v0 != 10.1 {
		t.Errorf("%g m³ left to take, %+v", f.closed, p)
	}
}
