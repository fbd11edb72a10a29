package draining

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"obvert/line"
	"obvert/physics/valve"
)

// air50 is a valve with an orifice of 50 mm, coefficient 0.6, both ways.
func air50() valve.Record {
	return valve.Record{Name: "50 mm", NominalDiameter: 0.05, Rating: 1e6, AdmitsAir: true,
		In: &valve.Air{Diameter: 0.05, Coefficient: 0.6}, Out: &valve.Air{Diameter: 0.05, Coefficient: 0.6}}
}

// twoLegs is a sag between two summits with air valves, closed beyond them, and a scour in the sag.
func twoLegs(left, right float64) *build {
	b := newBuild()
	b.run("main", b.node("A", line.DeadEnd), b.node("B", line.DeadEnd), 0.3, [2]float64{0, left}, [2]float64{800, 0}, [2]float64{1600, right})
	b.in.Rack = []valve.Record{air50()}
	b.in.Valves = []Valve{{Name: "AV 1", Chainage: 0, Seat: left + 0.4, AdmitsAir: true}, {Name: "AV 2", Chainage: 1600, Seat: right + 0.4, AdmitsAir: true}}
	b.stand(max(left, right)+5, span{0, 0, 1600})
	b.in.Openings = []Opening{{Name: "scour", Run: 0, Chainage: 800, Diameter: 0.1}}
	b.in.Horizon, b.in.Tolerance = 1e6, 0
	return b
}

// Both legs alike: both summits take in the same air, each half of what the scour lets out.
func TestScourBetweenEqualLegs(t *testing.T) {
	r := twoLegs(30, 30).solve(t)
	a, b := r.Valves[0], r.Valves[1]
	near(t, "air", a.AirIn, b.AirIn, 1e-6)
	near(t, "peak", a.AirPeak, b.AirPeak, 1e-6)
	near(t, "peak of air against half of the water's", a.FreePeak, r.Openings[0].Peak/2, 0.02)
	near(t, "lost", r.Lost, math.Pi/4*0.09*1600, 1e-4)
	if r.Status != Drained || r.WaterBalance > 1e-6 || r.AirBalance > 1e-6 {
		t.Errorf("%s, water %g, air %g", r.Status, r.WaterBalance, r.AirBalance)
	}
}

// Legs of 30 m and 10 m: the lower summit's leg feeds little until the higher one has come down; the mirror line gives the mirror answer, and a
// finer step the same.
func TestScourBetweenUnequalLegs(t *testing.T) {
	r, q := twoLegs(30, 10).solve(t), twoLegs(10, 30).solve(t)
	near(t, "time", r.StopTime, q.StopTime, 1e-6)
	near(t, "air", r.Valves[0].AirIn, q.Valves[1].AirIn, 1e-6)
	near(t, "vacuum", r.Valves[1].Vacuum, q.Valves[0].Vacuum, 1e-6)
	fine := twoLegs(30, 10)
	fine.in.Tolerance = 1e-6
	f := fine.solve(t)
	near(t, "time, finer", r.StopTime, f.StopTime, 1e-2)
	near(t, "air, finer", r.Valves[0].AirIn, f.Valves[0].AirIn, 2e-3)
	near(t, "peak, finer", r.Valves[0].AirPeak, f.Valves[0].AirPeak, 5e-3)
	for _, x := range []Result{r, q, f} {
		if x.WaterBalance > 1e-6 || x.AirBalance > 1e-6 || x.Status != Drained {
			t.Errorf("%s, water %g, air %g", x.Status, x.WaterBalance, x.AirBalance)
		}
	}
}

// A pipe broken across: each leg runs out by itself, as steep as its own slope lets it, and the flows of the two do not add at a summit.
func TestBurstAcrossTheBore(t *testing.T) {
	b := twoLegs(30, 30)
	b.in.Rack[0].In.Diameter = 2 // air without resistance
	b.in.Openings = []Opening{{Name: "burst", Run: 0, Chainage: 800, Burst: true}}
	b.in.Friction = 0.02
	r := b.solve(t)
	v := math.Sqrt(2 * 9.81 * 30 / (0.02 * 800 / 0.3)) // S = f V²/2gD on each leg, at any length of it
	near(t, "free air at one summit", r.Valves[0].FreePeak, v*math.Pi/4*0.09, 2e-3)
	near(t, "time", r.StopTime, 800/v, 5e-3)
	near(t, "water", r.Openings[0].Peak, 2*v*math.Pi/4*0.09, 2e-3)
	if r.WaterBalance > 1e-6 || r.AirBalance > 1e-6 {
		t.Errorf("water %g, air %g", r.WaterBalance, r.AirBalance)
	}
}

// Where no valve lets air in the column parts under vapour, and the margin to what the wall stands is told.
func TestNoAirPartsUnderVapour(t *testing.T) {
	b := twoLegs(40, 40)
	b.in.Valves[0].AdmitsAir, b.in.Valves[1].AdmitsAir = false, false
	b.in.AllowedVacuum = func(int, float64) float64 { return 60e3 }
	b.in.Horizon = 5000
	r := b.solve(t)
	near(t, "vacuum", r.WorstVacuum.Vacuum, 101325-1228, 1e-6)
	if !r.HasMargin || math.Abs(r.LeastMargin.Margin-(60e3-101325+1228)) > 1 {
		t.Errorf("margin %+v", r.LeastMargin)
	}
	var ids []string
	for _, n := range r.Notes {
		ids = append(ids, n.ID)
	}
	if len(ids) != 2 || ids[0] != "draining.vapour" || ids[1] != "draining.buckles" {
		t.Errorf("notes %v", ids)
	}
	// The water stops where vapour holds it up, 10.2 m over the scour.
	if got, want := r.Lost/(math.Pi/4*0.09), 2*800*(1-(101325.0-1228)/9810/40); math.Abs(got-want) > 5 {
		t.Errorf("%g m of pipe drained, want %g", got, want)
	}
}

// A tank beyond the summit goes on feeding: no end.
func TestTankFeedsAScour(t *testing.T) {
	b := newBuild()
	b.run("main", b.tank("High tank", 25, 0), b.node("B", line.DeadEnd), 0.3, [2]float64{0, 20}, [2]float64{300, 22}, [2]float64{800, 0}, [2]float64{1000, 5})
	b.in.Rack = []valve.Record{air50()}
	b.in.Valves = []Valve{{Name: "AV 1", Chainage: 300, Seat: 22.4, AdmitsAir: true}, {Name: "AV 2", Chainage: 1000, Seat: 5.4, AdmitsAir: true}}
	b.stand(25, span{0, 0, 1000})
	b.in.Openings = []Opening{{Name: "scour", Run: 0, Chainage: 800, Diameter: 0.2}}
	b.in.Horizon, b.in.Tolerance = 20000, 0
	r := b.solve(t)
	if r.Status != GoesOn || r.WaterBalance > 1e-6 || r.AirBalance > 1e-6 {
		t.Errorf("%s (%s), water %g, air %g", r.Status, r.Reason, r.WaterBalance, r.AirBalance)
	}
}

// Random hills with a scour: what left is what lacks, air likewise, and what stands at the end is what the crests hold with the scour as outlet.
func TestRandomHillsThroughAScour(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		if rapid.IntRange(0, 4).Draw(t, "one in five") > 0 { // they take their time
			return
		}
		h := drawHills(t)
		b := h.build()
		b.in.Rack = []valve.Record{air50()}
		for i := range b.in.Valves {
			v := &b.in.Valves[i]
			v.Record, v.Leak, v.AdmitsAir = 0, nil, true
		}
		low := 0
		for i, p := range h.points {
			if p[1] < h.points[low][1] {
				low = i
			}
		}
		b.in.Openings = []Opening{{Name: "scour", Run: 0, Chainage: h.points[low][0], Diameter: 0.1}}
		b.in.Horizon, b.in.Tolerance = 1e6, 0
		r, err := b.attempt()
		if err != nil {
			t.Fatal(err)
		}
		if r.WaterBalance*r.Lost > 1e-6*(r.Lost+r.Frames[0].Volume) || r.AirBalance > 1e-6 {
			t.Errorf("water %g of %g m³, air %g, %s", r.WaterBalance, r.Lost, r.AirBalance, r.Status)
		}
		series := r.Openings[0].Series
		if r.Status != Drained && len(series) > 1 && series[len(series)-2].Flow > 1e-5 {
			t.Errorf("%s after %g s and %d steps", r.Status, r.StopTime, r.Steps)
		}
	})
}

// Where the steps end before the horizon the result says so, and to what time it goes.
func TestLimitOfSteps(t *testing.T) {
	b := twoLegs(30, 10)
	b.in.MostSteps = 20
	r := b.solve(t)
	last := r.Openings[0].Series[len(r.Openings[0].Series)-1]
	if r.Status != LimitReached || r.Steps != 20 || r.StopTime != last.Time || r.StopTime >= b.in.Horizon || r.Reason == "" {
		t.Errorf("%s at %g s after %d steps: %q", r.Status, r.StopTime, r.Steps, r.Reason)
	}
	if b.in.MostSteps = -1; b.in.Check() == nil {
		t.Error("less than no steps are taken for a limit")
	}
}

// Frames lie between equal shares of the water that leaves, whatever the time.
func TestFramesShareTheWater(t *testing.T) {
	r := twoLegs(30, 30).solve(t)
	if n := len(r.Frames); n < 8 || n > 10 {
		t.Fatalf("%d frames", n)
	}
	for i := 1; i < len(r.Frames); i++ {
		if d := r.Frames[i-1].Volume - r.Frames[i].Volume; math.Abs(d-r.Lost/8) > 0.05*r.Lost {
			t.Errorf("frame %d: %g m³ of %g left since the one before", i, d, r.Lost)
		}
	}
}
