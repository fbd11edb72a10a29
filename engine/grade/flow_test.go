package grade

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"obvert/line"
	"obvert/physics/pipe"
)

// roughFor finds the roughness at which the friction factor is f, for tables that give f itself.
func roughFor(f, re, bore float64) float64 {
	lo, hi := 0.0, 0.9*bore
	for range 80 {
		m := (lo + hi) / 2
		if pipe.Friction(re, m/bore) < f {
			lo = m
		} else {
			hi = m
		}
	}
	return lo
}

// speedHead is v²/2g, m, of a flow in a bore.
func speedHead(q, bore float64) float64 {
	v := q / (math.Pi / 4 * bore * bore)
	return v * v / (2 * 9.81)
}

// K. Subramanya, 1000 Solved Problems in Fluid Mechanics, Ex. 11.17, p. 248: D 150 mm, f 0.02, L 1000 m, H 16 m, reservoir level
// 100 m, summit 98 m at 600 m, atmosphere 10.3 m of water. Its printed velocity counts pipe friction only: V 1.534 m/s, Q 27.1 L/s, summit 25.26 kPa absolute.
func TestSummitBelowGradeLine(t *testing.T) {
	const bore, v = 0.15, 1.534
	b := newBuild()
	b.l.Site.AtmosphericPressure = 10.3 * 9810
	a, z := b.tank("upper", 100), b.tank("lower", 84)
	b.run("siphon", a, z, bore, roughFor(0.02, v*bore/b.l.Site.Viscosity, bore), [2]float64{0, 90}, [2]float64{600, 98}, [2]float64{1000, 80})
	r := b.solve(t, b.kase(line.Gravity))
	near(t, "flow", r.Runs[0].Flow, 0.0271, 0.002*0.0271)
	summit := (r.Runs[0].PressureHead[1] + 10.3) * 9.81
	near(t, "summit, kPa absolute", summit, 25.26, 0.002*25.26)
	if r.Runs[0].Wetness[1] != Suction {
		t.Errorf("summit is %v, want under suction", r.Runs[0].Wetness[1])
	}
}

// summitLine is a line from a tank at 100 m over a summit at 90 m with an air valve, down to an outfall at 20 m.
func summitLine(rough2 float64, valve bool) *build {
	b := newBuild()
	a, j, z := b.tank("tank", 100), b.node("middle", line.Junction), b.node("outfall", line.Outfall)
	b.run("up", a, j, 0.3, 1e-4, [2]float64{0, 95}, [2]float64{1000, 60}, [2]float64{2000, 90}, [2]float64{2100, 80})
	b.run("down", j, z, 0.3, rough2, [2]float64{0, 80}, [2]float64{1000, 20}, [2]float64{3000, 20})
	if valve {
		b.valve(0, "summit", 2000, true)
	}
	return b
}

// A summit that breaks the grade line sets the flow (no source: it follows from the bound at the valve): 10 m of head over 2,000 m of pipe, whatever lies
// below, until more friction downstream has eaten the slack length up.
func TestSummitSetsTheFlow(t *testing.T) {
	smooth := summitLine(1e-5, true)
	r := smooth.solve(t, smooth.kase(line.Gravity))
	h, _ := pipe.HeadLoss(r.Runs[0].Flow, 0.3, 2000, 1e-4, smooth.l.Site.Viscosity, 9.81)
	near(t, "head lost up to the summit, and velocity head", h+speedHead(r.Runs[0].Flow, 0.3), 10, 1e-6)
	if got := r.Runs[0].PressureHead[2]; got != 0 {
		t.Errorf("gauge head at the open valve = %g, want 0", got)
	}
	if len(r.Slack) == 0 || r.Slack[0].From != 2000 {
		t.Fatalf("slack = %+v, want one from 2,000 m", r.Slack)
	}
	rough := summitLine(1e-3, true)
	q := rough.solve(t, rough.kase(line.Gravity))
	near(t, "flow with a rougher pipe below", q.Runs[0].Flow, r.Runs[0].Flow, 1e-12)
	// Without a valve the summit hangs under suction and the line passes more.
	bare := summitLine(1e-5, false)
	s := bare.solve(t, bare.kase(line.Gravity))
	if s.Runs[0].Flow <= r.Runs[0].Flow {
		t.Errorf("flow without air %g, with air %g: air must not help", s.Runs[0].Flow, r.Runs[0].Flow)
	}
	if low := s.Runs[0].PressureHead[2]; low < bare.l.Site.VapourHead()-1e-6 {
		t.Errorf("summit at %g m, below vapour", low)
	}
}

// The slack length ends where the full pipe's grade line from below meets the pipe.
func TestSlackEndsWhereThePipeIsFull(t *testing.T) {
	b := newBuild()
	a, z := b.tank("tank", 100), b.tank("low", 60)
	b.run("main", a, z, 0.3, 1e-4, [2]float64{0, 95}, [2]float64{1000, 95}, [2]float64{2000, 55}, [2]float64{2500, 55})
	b.valve(0, "break", 1000, true)
	r := b.solve(t, b.kase(line.Gravity))
	if len(r.Slack) != 1 {
		t.Fatalf("slack = %+v", r.Slack)
	}
	q := r.Runs[0].Flow
	grad, _ := pipe.HeadLoss(q, 0.3, 1, 1e-4, b.l.Site.Viscosity, 9.81)
	// Grade line from the lower tank: 60 − v²/2g + grad·(2500 − x); pipe: 95 − 0.04 (x − 1000).
	want := (95 + 40 - 60 + speedHead(q, 0.3) - 2500*grad) / (0.04 - grad)
	near(t, "end of slack", r.Slack[0].To, want, 1e-3)
	near(t, "head at entry", r.Runs[0].Head[1], 95, 1e-9)
}

// Two summits: the lower one farther on governs (no source; by the bound: 10 m over 1,000 m against 8 m over 500 m).
func TestLowerSummitMayGovern(t *testing.T) {
	b := newBuild()
	a, z := b.tank("tank", 100), b.node("outfall", line.Outfall)
	b.run("main", a, z, 0.3, 1e-4, [2]float64{0, 90}, [2]float64{500, 92}, [2]float64{700, 80}, [2]float64{2500, 90}, [2]float64{4000, 10})
	b.valve(0, "first", 500, true)
	b.valve(0, "second", 2500, true)
	r := b.solve(t, b.kase(line.Gravity))
	h, _ := pipe.HeadLoss(r.Runs[0].Flow, 0.3, 2500, 1e-4, b.l.Site.Viscosity, 9.81)
	near(t, "head lost to the second summit, and velocity head", h+speedHead(r.Runs[0].Flow, 0.3), 10, 1e-6)
	if r.Runs[0].PressureHead[1] <= 0 {
		t.Error("the first summit should be under pressure")
	}
}

// Random graphs of tanks, off-takes, valves and an outfall: one answer, whatever the flows from which the iteration starts.
func TestBranchesBalanceFromAnyStart(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 7))
	for trial := range 40 {
		b := newBuild()
		n := 6 + rng.IntN(10)
		b.tank("t", 100)
		for i := 1; i < n; i++ {
			switch {
			case i == n-1:
				b.tank("u", 60+30*rng.Float64())
			case i == n-2:
				b.node("out", line.Outfall)
			default:
				k := b.node(string(rune('a'+i)), line.Offtake)
				b.l.Nodes[k].Demand = 0.002 * rng.Float64()
			}
		}
		level := make([]float64, n)
		for i := range level {
			level[i] = 20 + 60*rng.Float64()
		}
		link := func(i, j int) {
			mid := [2]float64{500 + 100*rng.Float64(), 20 + 75*rng.Float64()}
			b.run("r", i, j, 0.15+0.2*rng.Float64(), 1e-4, [2]float64{0, level[i]}, mid, [2]float64{1000 + 1000*rng.Float64(), level[j]})
			if rng.IntN(2) == 0 {
				b.valve(len(b.l.Runs)-1, "v", mid[0], true)
			}
		}
		for i := 1; i < n; i++ {
			link(max(0, i-1-rng.IntN(2)), i)
		}
		for range n / 3 {
			i, j := rng.IntN(n-2), rng.IntN(n-2)
			if i != j {
				link(i, j)
			}
		}
		k := b.kase(line.Gravity)
		base, err := b.try(k)
		if err != nil {
			if !strings.Contains(err.Error(), "off-take") {
				t.Errorf("trial %d: %v", trial, err)
			}
			continue
		}
		net, _ := NewNet(&b.l)
		for range 3 {
			other, err := Solve(t.Context(), Input{Net: net, Case: k, Guess: func(int) float64 { return 0.3 * (rng.Float64() - 0.5) }})
			if err != nil {
				t.Errorf("trial %d: %v", trial, err)
				continue
			}
			for i := range base.Runs {
				if math.Abs(base.Runs[i].Flow-other.Runs[i].Flow) > 1e-8 {
					t.Errorf("trial %d: run %d flows %g or %g by its first guess", trial, i, base.Runs[i].Flow, other.Runs[i].Flow)
				}
			}
		}
	}
}

// Hydraulic Institute, Engineering Data Book, pump fundamentals, combined curves (worked example): pump H = 380 − 0.06 Q − 0.0018 Q² (ft, US gal/min) on 265 ft of
// static head and 4.026 in pipe of 1,255 ft with f = 0.02 and ΣK = 3.79 works at 200 gal/min and 296 ft; with 275 ft of static head at 190.6 gal/min.
func TestOperatingPoint(t *testing.T) {
	const ft, gpm = 0.3048, 3.785411784e-3 / 60
	for _, c := range []struct{ static, flow float64 }{{265, 200}, {275, 190.6}} {
		b := newBuild()
		b.l.Site.Gravity = 32.17 * ft
		var curve [][2]float64
		for q := 0.0; q <= 300; q += 10 {
			curve = append(curve, [2]float64{q * gpm, (380 - 0.06*q - 0.0018*q*q) * ft})
		}
		p := b.station("pumps", 0, line.CheckEach, curve)
		z := b.tank("tank", c.static*ft)
		const bore, length = 4.026 * 0.0254, 1255 * ft
		v := c.flow * gpm / (math.Pi / 4 * bore * bore)
		b.run("main", p, z, bore, roughFor(0.02, v*bore/b.l.Site.Viscosity, bore), [2]float64{0, 0}, [2]float64{length, 0})
		b.l.Runs[0].Sections[0].LocalLoss = 3.79
		r := b.solve(t, b.kase(line.Pumping))
		near(t, "flow, US gal/min", r.Runs[0].Flow/gpm, c.flow, 0.002*c.flow)
	}
}

// Two pumps of different curves with a check valve each: the weaker, whose shut-off head is below the duty, stays shut and is named.
func TestPumpThatCannotLift(t *testing.T) {
	b := newBuild()
	p := b.station("pumps", 0, line.CheckEach, [][2]float64{{0, 60}, {0.05, 50}, {0.1, 30}}, [][2]float64{{0, 20}, {0.05, 15}})
	z := b.tank("tank", 40)
	b.run("main", p, z, 0.3, 1e-4, [2]float64{0, 0}, [2]float64{1000, 38})
	r := b.solve(t, b.kase(line.Pumping))
	if s := r.Stations[0]; !s.Pumps[1].CannotLift || s.Pumps[1].Flow != 0 || s.Pumps[0].Flow <= 0 {
		t.Errorf("pumps = %+v", s.Pumps)
	}
	if len(r.Notes) == 0 || r.Notes[0].ID != "grade.pump-cannot-lift" {
		t.Errorf("notes = %+v", r.Notes)
	}
	// Behind one shared check valve the strong pump drives water back through the weak one.
	b.l.Nodes[p].Station.Check = line.CheckShared
	r = b.solve(t, 0)
	if s := r.Stations[0]; s.Pumps[1].Flow >= 0 {
		t.Errorf("behind a shared check valve the weak pump passes %g m³/s, want water running back", s.Pumps[1].Flow)
	}
}

func TestOfftakeThatCannotBeFedIsNamed(t *testing.T) {
	b := newBuild()
	a, o := b.tank("tank", 10), b.node("farm", line.Offtake)
	b.l.Nodes[o].Demand = 5
	b.run("main", a, o, 0.1, 1e-4, [2]float64{0, 5}, [2]float64{1000, 5})
	if _, err := b.try(b.kase(line.Gravity)); err == nil || !strings.Contains(err.Error(), "farm") {
		t.Fatalf("got %v, want a fault that names the off-take", err)
	}
}

// A sustaining valve keeps the head before it; a reducing valve the head behind it.
func TestSustainingAndReducing(t *testing.T) {
	b := newBuild()
	a, z := b.tank("tank", 100), b.tank("low", 20)
	b.run("main", a, z, 0.3, 1e-4, [2]float64{0, 10}, [2]float64{1000, 10}, [2]float64{2000, 10})
	b.l.Runs[0].Equipment = []line.Equipment{{Name: "keep", Kind: line.SustainingValve, Chainage: 1000, Setting: 70}}
	r := b.solve(t, b.kase(line.Gravity))
	g := r.fine[0]
	near(t, "head before the sustaining valve", g.head[1], 80, 1e-6)
	b.l.Runs[0].Equipment[0] = line.Equipment{Name: "reduce", Kind: line.ReducingValve, Chainage: 1000, Setting: 15}
	r = b.solve(t, 0)
	near(t, "head behind the reducing valve", r.fine[0].head[2], 25, 1e-6)
	h, _ := pipe.HeadLoss(r.Runs[0].Flow, 0.3, 1000, 1e-4, b.l.Site.Viscosity, 9.81)
	near(t, "head before the reducing valve", r.fine[0].head[1], 100-h-speedHead(r.Runs[0].Flow, 0.3), 1e-6)
}

// K. Subramanya, 1000 Solved Problems in Fluid Mechanics, Ex. 10.19, p. 222: D 250 mm, k 0.15 mm, ν 1e-6 m²/s, 2.5 m in 100 m: 127.9 L/s.
func TestPublishedFlowByGradient(t *testing.T) {
	b := newBuild()
	b.l.Site.Viscosity = 1e-6
	a, z := b.tank("a", 100), b.tank("z", 75)
	b.run("main", a, z, 0.25, 0.15e-3, [2]float64{0, 0}, [2]float64{1000, 0})
	r := b.solve(t, b.kase(line.Gravity))
	near(t, "flow", r.Runs[0].Flow, 0.1279, 0.001*0.1279)
}

// J. F. Douglas, Solving Problems in Fluid Mechanics, Ex. 14.3: two pipes side by side, 50 and 100 mm, 100 m long, Fanning f 0.008, 10 m of head, entry and exit
// losses 1.5 v²/2g: 0.0034 and 0.0190 m³/s.
func TestPublishedParallelPipes(t *testing.T) {
	b := newBuild()
	a, z := b.tank("a", 20), b.tank("z", 10)
	for _, p := range []struct{ bore, q float64 }{{0.05, 0.0034}, {0.1, 0.0190}} {
		re := p.q / (math.Pi / 4 * p.bore * p.bore) * p.bore / b.l.Site.Viscosity
		b.run("p", a, z, p.bore, roughFor(0.032, re, p.bore), [2]float64{0, 0}, [2]float64{100, 0})
		b.l.Runs[len(b.l.Runs)-1].Sections[0].LocalLoss = 1.5
	}
	r := b.solve(t, b.kase(line.Gravity))
	near(t, "small pipe", r.Runs[0].Flow, 0.0034, 0.01*0.0034)
	near(t, "large pipe", r.Runs[1].Flow, 0.0190, 0.01*0.0190)
	near(t, "both", r.Runs[0].Flow+r.Runs[1].Flow, 0.0224, 0.01*0.0224)
}
