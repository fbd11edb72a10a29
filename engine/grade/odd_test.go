package grade

import (
	"math"
	"strings"
	"testing"

	"obvert/line"
	"obvert/physics/pipe"
)

// Lines that a quick version gets wrong. No source but the laws themselves: each figure is worked out beside it.

func (b *build) loss(q float64, run int, length float64) float64 {
	s := &b.l.Runs[run].Sections[0]
	h, _ := pipe.HeadLoss(q, s.Bore, length, s.Roughness, b.l.Site.Viscosity, b.l.Site.Gravity)
	return h
}

// hasNote reports whether a result has a note of that id.
func hasNote(r *Result, id string) bool {
	for _, n := range r.Notes {
		if n.ID == id {
			return true
		}
	}
	return false
}

// Two reducing valves one behind the other: the last sets the flow, the first still keeps the head between them.
func TestReducingValvesInSeries(t *testing.T) {
	b := newBuild()
	a, z := b.tank("a", 100), b.tank("z", 20)
	b.run("main", a, z, 0.3, 1e-4, [2]float64{0, 10}, [2]float64{500, 10}, [2]float64{1000, 10}, [2]float64{1500, 10})
	b.l.Runs[0].Equipment = []line.Equipment{
		{Name: "first", Kind: line.ReducingValve, Chainage: 500, Setting: 60},
		{Name: "second", Kind: line.ReducingValve, Chainage: 1000, Setting: 20},
	}
	b.valve(0, "between", 750, true)
	r := b.solve(t, b.kase(line.Gravity))
	q := r.Runs[0].Flow
	g := r.fine[0].grid
	near(t, "behind the second", r.fine[0].head[g.before[1]+1], 30, 1e-6)
	near(t, "behind the first", r.fine[0].head[g.before[0]+1], 70, 1e-6)
	near(t, "before the second", r.fine[0].head[g.before[1]], 70-b.loss(q, 0, 500), 1e-6)
	near(t, "between them", r.At(0, 750).Head, 70-b.loss(q, 0, 250), 1e-6)
	near(t, "before the first", r.fine[0].head[g.before[0]], 100-speedHead(q, 0.3)-b.loss(q, 0, 500), 1e-6)
}

// An air valve before a reducing or a sustaining valve stands under the head that valve keeps, whatever little the pipe beyond asks for.
func TestAirValveBeforeAControlValve(t *testing.T) {
	for _, e := range []line.Equipment{{Kind: line.SustainingValve, Setting: 25}, {Kind: line.ReducingValve, Setting: 1}} {
		outlet := 5.0 // far below: the pipe beyond asks for little
		if e.Kind == line.ReducingValve {
			outlet = 56
		}
		b := newBuild()
		a, z := b.tank("a", 100), b.node("z", line.Outfall)
		b.run("main", a, z, 0.3, 1e-4, [2]float64{0, 10}, [2]float64{900, 60}, [2]float64{1000, 60}, [2]float64{2000, outlet})
		e.Name, e.Chainage = "control", 1000
		b.l.Runs[0].Equipment = []line.Equipment{e}
		b.valve(0, "at it", 1000, true)
		b.valve(0, "before it", 900, true)
		r := b.solve(t, b.kase(line.Gravity))
		q := r.Runs[0].Flow
		want := 100 - speedHead(q, 0.3) - b.loss(q, 0, 1000)
		k := r.fine[0].grid.before[0]
		near(t, "head before it", r.fine[0].head[k], want, 1e-6)
		if r.fine[0].wet[k] != Full {
			t.Errorf("before %v it is %v, want full", e.Kind, r.fine[0].wet[k])
		}
		if s := r.At(0, 900); s.Wetness != Full || s.PressureHead < 20 {
			t.Errorf("100 m before it: %+v, want full under more than 20 m", s)
		}
	}
}

// Below a vertical step whose top is slack the pipe is full: only what lies beyond the top is not.
func TestSlackFromTheTopOfAStep(t *testing.T) {
	b := newBuild()
	a, z := b.tank("a", 100), b.node("z", line.Outfall)
	r0 := b.run("main", a, z, 0.3, 1e-4, [2]float64{0, 60}, [2]float64{1000, 60}, [2]float64{1000, 90}, [2]float64{2000, 20})
	for k := 2; k < 4; k++ {
		r0.Points[k].Distance += 30
	}
	b.valve(0, "top", 1000, true)
	r := b.solve(t, b.kase(line.Gravity))
	q := r.Runs[0].Flow
	near(t, "head lost to the top, and velocity head", b.loss(q, 0, 1030)+speedHead(q, 0.3), 10, 1e-6)
	near(t, "gauge head at the foot", r.Runs[0].PressureHead[1], 30+b.loss(q, 0, 30), 1e-6)
	if w := r.Runs[0].Wetness[1]; w != Full {
		t.Errorf("the foot of the step is %v, want full", w)
	}
	if s := r.At(0, 1000); s.PressureHead != 0 || s.Wetness != Part {
		t.Errorf("top: %+v", s)
	}
}

// A step down that water falls is a slack length of no chainage: its head is lost all the same, and said.
func TestSlackInAStepDown(t *testing.T) {
	b := newBuild()
	a, z := b.tank("a", 100), b.tank("z", 50)
	r0 := b.run("main", a, z, 0.3, 1e-4, [2]float64{0, 60}, [2]float64{1000, 90}, [2]float64{1000, 20}, [2]float64{1200, 20})
	for k := 2; k < 4; k++ {
		r0.Points[k].Distance += 70
	}
	b.valve(0, "top", 1000, true)
	r := b.solve(t, b.kase(line.Gravity))
	if len(r.Slack) != 1 || r.Slack[0].HeadLost < 30 {
		t.Fatalf("slack = %+v, want one with more than 30 m lost", r.Slack)
	}
}

// Pumps against a closed valve: no flow, and the pipe before the valve stands under the shut-off head.
func TestPumpsAgainstAClosedValve(t *testing.T) {
	for _, check := range []line.CheckValves{line.CheckEach, line.CheckShared, line.CheckNone} {
		b := newBuild()
		p := b.station("works", 3, check, [][2]float64{{0, 60}, {0.05, 50}, {0.1, 30}})
		z := b.tank("tank", 40)
		b.run("main", p, z, 0.3, 1e-4, [2]float64{0, 0}, [2]float64{500, 20}, [2]float64{1000, 38})
		b.l.Runs[0].Equipment = []line.Equipment{{Name: "gate", Kind: line.IsolatingValve, Chainage: 600, Closed: true}}
		b.valve(0, "v", 500, true)
		r := b.solve(t, b.kase(line.Pumping))
		near(t, "flow", r.Runs[0].Flow, 0, 1e-9)
		near(t, "head at the pumps", r.Nodes[p].Head, 63, 1e-6)
		near(t, "gauge head at the valve", r.At(0, 500).PressureHead, 43, 1e-6)
		near(t, "beyond the gate", r.At(0, 700).Head, 40, 1e-6)
		if r.Stations[0].Pumps[0].CannotLift || !hasNote(r, "grade.pump-shut-in") {
			t.Errorf("check valves %v: %+v, notes %+v", check, r.Stations[0].Pumps, r.Notes)
		}
	}
}

// A body with no way out stands at least at the level of a tank that feeds it through a check valve.
func TestClosedInButFed(t *testing.T) {
	b := newBuild()
	a, d := b.tank("tank", 50), b.node("end", line.DeadEnd)
	b.run("branch", a, d, 0.2, 1e-4, [2]float64{0, 10}, [2]float64{500, 15}, [2]float64{900, 5})
	b.l.Runs[0].Equipment = []line.Equipment{{Name: "check", Kind: line.CheckValve, Chainage: 200}}
	r := b.solve(t, b.kase(line.Standing))
	near(t, "beyond the check valve", r.At(0, 900).Head, 50, 1e-9)
	// The same from the sump of a station with check valves: a closed gate beyond.
	c := newBuild()
	p, z := c.station("works", 30, line.CheckEach, [][2]float64{{0, 60}, {0.1, 30}}), c.tank("far", 60)
	c.run("main", p, z, 0.2, 1e-4, [2]float64{0, 10}, [2]float64{500, 15}, [2]float64{900, 5})
	c.l.Runs[0].Equipment = []line.Equipment{{Name: "gate", Kind: line.IsolatingValve, Chainage: 700, Closed: true}}
	r = c.solve(t, c.kase(line.Standing))
	near(t, "between pumps and gate", r.At(0, 500).Head, 30, 1e-9)
	near(t, "beyond the gate", r.At(0, 800).Head, 60, 1e-9)
}

// A dripping valve on top of a vertical step drains to its seat there, not to one at the foot.
func TestLeakOnAStep(t *testing.T) {
	b := newBuild()
	p, z := b.station("works", 0, line.CheckEach, [][2]float64{{0, 80}, {0.1, 50}}), b.node("end", line.DeadEnd)
	b.run("main", p, z, 0.3, 1e-4, [2]float64{0, 2}, [2]float64{500, 30}, [2]float64{500, 20}, [2]float64{900, 40})
	b.valve(0, "top", 500, true)
	n, err := NewNet(&b.l)
	if err != nil {
		t.Fatal(err)
	}
	r, err := Solve(t.Context(), Input{Net: n, Case: b.kase(line.Standing), Leaks: []Leak{{0, 500, 30.4}}})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "level", r.At(0, 0).Head, 30.4, 1e-9)
}

// A dead-end branch off a pumped main stands under the head of the main, up to where its own air lies above it.
func TestDeadEndBranchDuringPumping(t *testing.T) {
	b := newBuild()
	p := b.station("works", 0, line.CheckEach, [][2]float64{{0, 60}, {0.05, 50}, {0.1, 30}})
	j, z, d := b.node("j", line.Junction), b.tank("tank", 30), b.node("end", line.DeadEnd)
	b.run("up", p, j, 0.3, 1e-4, [2]float64{0, 0}, [2]float64{500, 10})
	b.run("on", j, z, 0.3, 1e-4, [2]float64{0, 10}, [2]float64{500, 25})
	b.run("branch", j, d, 0.1, 1e-4, [2]float64{0, 10}, [2]float64{300, 12}, [2]float64{600, 90})
	b.valve(2, "low", 300, true)
	b.valve(2, "high", 600, true)
	r := b.solve(t, b.kase(line.Pumping))
	near(t, "branch", r.At(2, 300).Head, r.Nodes[j].Head, 1e-9)
	if s := r.At(2, 600); s.Wetness != Empty || s.PressureHead != 0 {
		t.Errorf("end of the branch: %+v", s)
	}
	if h := r.Nodes[j].Head; h < 30 || h > 60 {
		t.Errorf("junction at %g", h)
	}
}

// boosted is two stations one behind the other, the second without a sump.
func boosted(check line.CheckValves) (*build, int, int) {
	curve := [][2]float64{{0, 40}, {0.05, 35}, {0.1, 20}}
	b := newBuild()
	p, s := b.station("works", 0, check, curve), b.station("booster", 0, check, curve)
	b.l.Nodes[s].Station.HasSump = false
	z := b.tank("tank", 45)
	b.run("first", p, s, 0.3, 1e-4, [2]float64{0, 0}, [2]float64{1000, 5})
	b.run("second", s, z, 0.3, 1e-4, [2]float64{0, 5}, [2]float64{2000, 44})
	return b, p, s
}

func TestStationsInSeries(t *testing.T) {
	for _, check := range []line.CheckValves{line.CheckEach, line.CheckShared, line.CheckNone} {
		b, p, s := boosted(check)
		r := b.solve(t, b.kase(line.Pumping))
		// By bisection: both pumps lift the level of the tank and the friction of 3,000 m.
		c, err := headCurve(&b.l.Nodes[p].Station.Pumps[0], 1)
		if err != nil {
			t.Fatal(err)
		}
		lo, hi := 0.0, 0.1
		for range 80 {
			q := (lo + hi) / 2
			if h, _ := c.Head(q); 2*h > 45+b.loss(q, 0, 3000) {
				lo = q
			} else {
				hi = q
			}
		}
		near(t, "flow", r.Runs[1].Flow, lo, 1e-8)
		near(t, "mass", r.Runs[0].Flow, r.Runs[1].Flow, 1e-9)
		h, _ := c.Head(lo)
		near(t, "head before the booster", r.Stations[1].SuctionHead, h-b.loss(lo, 0, 1000), 1e-6)
		near(t, "head behind the booster", r.Stations[1].DischargeHead, 2*h-b.loss(lo, 0, 1000), 1e-6)
		// The booster stopped: 40 m of shut-off head do not reach 45 m.
		k := b.kase(line.Pumping)
		b.l.Cases[k].Stations[s].Running[0] = false
		if check == line.CheckNone {
			continue // then water runs back through the booster: another case
		}
		r = b.solve(t, k)
		near(t, "flow with the booster stopped", r.Runs[1].Flow, 0, 1e-9)
		near(t, "head behind the stopped booster", r.At(1, 0).Head, 45, 1e-6)
		// Between the two stations' check valves water may stand at up to what lets it out past the booster.
		near(t, "head before it", r.At(0, 1000).Head, 45, 1e-6)
		if !r.Stations[0].Pumps[0].CannotLift {
			t.Errorf("works: %+v", r.Stations[0])
		}
		// A tank low enough: water passes the pumps at rest.
		b.l.Runs[1].Points[1].Obvert = 20
		b.l.Cases[k].Level[2] = 25
		r = b.solve(t, k)
		if r.Runs[1].Flow <= 0 || !hasNote(r, "grade.station-passed") {
			t.Errorf("booster passed: flow %g, notes %+v", r.Runs[1].Flow, r.Notes)
		}
	}
}

// Water that runs backwards through a reducing valve is not reduced, nor held by a sustaining one.
func TestControlValvesPassReversedFlow(t *testing.T) {
	for _, kind := range []line.EquipmentKind{line.ReducingValve, line.SustainingValve} {
		b := newBuild()
		a, z := b.tank("a", 20), b.tank("z", 100)
		b.run("main", a, z, 0.3, 1e-4, [2]float64{0, 10}, [2]float64{1000, 10}, [2]float64{2000, 10})
		b.l.Runs[0].Equipment = []line.Equipment{{Name: "e", Kind: kind, Chainage: 1000, Setting: 50}}
		r := b.solve(t, b.kase(line.Gravity))
		near(t, "friction over the whole run", b.loss(-r.Runs[0].Flow, 0, 2000), 80, 1e-6)
	}
}

// A valve at a run's very end, at a junction, at its beginning: one place, one answer.
func TestValveAtARunsEnd(t *testing.T) {
	flow := func(run int, at float64) float64 {
		b := summitLine(1e-5, false)
		b.l.Runs[0].Points = b.l.Runs[0].Points[:3]
		b.l.Runs[0].Sections[0].To = 2000
		b.l.Runs[1].Points[0].Obvert = 90
		if run >= 0 {
			b.valve(run, "v", at, true)
		}
		return b.solve(t, b.kase(line.Gravity)).Runs[0].Flow
	}
	near(t, "at the end of the first and the beginning of the second", flow(0, 2000), flow(1, 0), 1e-10)
	if bare := flow(-1, 0); math.Abs(bare-flow(0, 2000)) < 1e-4 {
		t.Errorf("the valve changes nothing: %g", bare)
	}
}

// A change of bore at a crest: the narrower pipe's invert is the barrier, from whichever side the run is entered.
func TestCrestAtAChangeOfBore(t *testing.T) {
	for _, bores := range [][2]float64{{0.3, 0.6}, {0.6, 0.3}} {
		b := newBuild()
		d, o := b.node("end", line.DeadEnd), b.node("out", line.Outfall)
		b.run("main", d, o, 0.3, 1e-4, [2]float64{0, 10}, [2]float64{500, 20}, [2]float64{1000, 5})
		b.l.Runs[0].Sections = []line.Section{{From: 0, To: 500, Bore: bores[0], Roughness: 1e-4}, {From: 500, To: 1000, Bore: bores[1], Roughness: 1e-4}}
		b.valve(0, "v", 500, true)
		r := b.solve(t, b.kase(line.Standing))
		near(t, "level", r.At(0, 0).Head, 19.7, 1e-9)
		if !strings.Contains(r.Pools[0].Reason, "crest") {
			t.Errorf("reason = %q", r.Pools[0].Reason)
		}
	}
}

// At rest a sustaining valve shuts when the water before it has fallen to its setting, and holds it there above the tank beyond; a reducing valve feeds a dead
// end up to its setting only, and shuts where another tank holds the water behind it higher.
func TestControlValvesAtRest(t *testing.T) {
	b := newBuild()
	p, z := b.station("works", 0, line.CheckEach, [][2]float64{{0, 80}, {0.1, 50}}), b.tank("tank", 20)
	b.run("main", p, z, 0.3, 1e-4, [2]float64{0, 2}, [2]float64{1000, 10}, [2]float64{2000, 15})
	b.l.Runs[0].Equipment = []line.Equipment{{Name: "keep", Kind: line.SustainingValve, Chainage: 1000, Setting: 30}}
	r := b.solve(t, b.kase(line.Standing))
	near(t, "before the sustaining valve", r.At(0, 500).Head, 40, 1e-9)
	near(t, "behind it", r.At(0, 1500).Head, 20, 1e-9)
	if len(r.Pools) != 2 || !strings.Contains(r.Pools[0].Reason, "keep") || r.Pools[0].Kind != "control valve" {
		t.Errorf("pools = %+v", r.Pools)
	}
	b.l.Runs[0].Equipment[0].Setting = 5 // 15 m above datum, below the tank's level: it stays open
	r = b.solve(t, 0)
	near(t, "before an open sustaining valve", r.At(0, 500).Head, 20, 1e-9)

	c := newBuild()
	a, d := c.tank("a", 100), c.node("end", line.DeadEnd)
	c.run("main", a, d, 0.3, 1e-4, [2]float64{0, 10}, [2]float64{1000, 10}, [2]float64{2000, 5})
	c.l.Runs[0].Equipment = []line.Equipment{{Name: "reduce", Kind: line.ReducingValve, Chainage: 1000, Setting: 30}}
	r = c.solve(t, c.kase(line.Standing))
	near(t, "before the reducing valve", r.At(0, 500).Head, 100, 1e-9)
	near(t, "behind it", r.At(0, 1500).Head, 40, 1e-9)
	// The same at no flow in a case of flow: an off-take that draws nothing.
	c.l.Nodes[d].Kind = line.Offtake
	r = c.solve(t, c.kase(line.Gravity))
	near(t, "behind it, nothing drawn", r.At(0, 1500).Head, 40, 1e-9)
	// A tank beyond that stands higher than the setting.
	c.l.Nodes[d].Kind, c.l.Nodes[d].Tank = line.Tank, &line.TankData{Level: 60}
	r = c.solve(t, c.kase(line.Standing))
	near(t, "before the shut reducing valve", r.At(0, 500).Head, 100, 1e-9)
	near(t, "behind it", r.At(0, 1500).Head, 60, 1e-9)
	if hasNote(r, "grade.not-at-rest") {
		t.Errorf("notes = %+v", r.Notes)
	}
}

// A booster that would take more than its suction pipe brings: the flow is what the pipe brings down to water's vapour at its end, the suction head stays at that
// bound, and it is said.
func TestStarvedBooster(t *testing.T) {
	b := newBuild()
	a, s, z := b.tank("a", 20), b.station("booster", 0, line.CheckEach, [][2]float64{{0, 40}, {0.05, 35}, {0.1, 20}}), b.tank("z", 0)
	b.l.Nodes[s].Station.HasSump = false
	b.run("first", a, s, 0.2, 1e-4, [2]float64{0, 0}, [2]float64{3000, 18})
	b.run("second", s, z, 0.3, 1e-4, [2]float64{0, 18}, [2]float64{2000, -4})
	r := b.solve(t, b.kase(line.Pumping))
	q := r.Runs[0].Flow
	low := 18 + b.l.Site.VapourHead()
	near(t, "head lost to the booster, and velocity head", b.loss(q, 0, 3000)+speedHead(q, 0.2), 20-low, 1e-6)
	near(t, "suction head", r.Stations[0].SuctionHead, low+speedHead(q, 0.2), 1e-6)
	if !hasNote(r, "grade.suction-starved") {
		t.Errorf("notes = %+v", r.Notes)
	}
	fed, _, _ := boosted(line.CheckEach)
	if r = fed.solve(t, fed.kase(line.Pumping)); hasNote(r, "grade.suction-starved") {
		t.Errorf("a booster that is fed: %+v", r.Notes)
	}
}
