package grade

import (
	"strings"
	"testing"

	"obvert/line"
)

// A flow-control valve takes what head is left over at its setting; below that it is an open valve with its loss. No source: the laws themselves.
func TestFlowControlValve(t *testing.T) {
	main := func(flow float64, reverse bool) *build {
		b := newBuild()
		a, z := b.tank("a", 100), b.tank("z", 20)
		b.run("main", a, z, 0.3, 1e-4, [2]float64{0, 10}, [2]float64{1000, 10}, [2]float64{2000, 10})
		b.l.Runs[0].Equipment = []line.Equipment{{Name: "limit", Kind: line.FlowControlValve, Chainage: 1000, Flow: flow, Loss: 5, Reverse: reverse}}
		return b
	}
	b := main(0.05, false)
	r := b.solve(t, b.kase(line.Gravity))
	near(t, "flow", r.Runs[0].Flow, 0.05, 1e-6)
	vh, k := speedHead(r.Runs[0].Flow, 0.3), r.fine[0].grid.before[0]
	near(t, "head before it", r.fine[0].head[k], 100-vh-b.loss(r.Runs[0].Flow, 0, 1000), 1e-6)
	near(t, "head behind it", r.fine[0].head[k+1], 20-vh+b.loss(r.Runs[0].Flow, 0, 1000), 1e-6)
	for _, b := range []*build{main(5, false), main(0.05, true)} { // set above what comes; facing the other way
		r = b.solve(t, b.kase(line.Gravity))
		q := r.Runs[0].Flow
		near(t, "all head lost in pipe and open valve", b.loss(q, 0, 2000)+5*speedHead(q, 0.3), 80, 1e-6)
	}
	// Backwards it holds nothing, and closed it passes nothing.
	b = main(0.05, false)
	c := b.kase(line.Gravity)
	b.l.Cases[c].Level[0], b.l.Cases[c].Level[1] = 20, 100
	r = b.solve(t, c)
	near(t, "backwards, all head lost in pipe and open valve", b.loss(-r.Runs[0].Flow, 0, 2000)+5*speedHead(r.Runs[0].Flow, 0.3), 80, 1e-6)
	b.l.Runs[0].Equipment[0].Closed = true
	near(t, "closed", b.solve(t, b.kase(line.Gravity)).Runs[0].Flow, 0, 0)
	b.l.Runs[0].Equipment[0].Closed = false
	r = b.solve(t, b.kase(line.Standing)) // at rest it lets water pass: one body, and the tanks are not at rest
	if !hasNote(r, "grade.not-at-rest") {
		t.Errorf("notes = %+v", r.Notes)
	}
	b.l.Runs[0].Equipment[0].Flow = 0
	if _, err := b.try(c); err == nil || !strings.Contains(err.Error(), `"limit"`) {
		t.Errorf("a valve set to nothing: %v", err)
	}
}

// With a reducing valve before and a sustaining valve behind it, each keeps to its own.
func TestFlowControlBetweenOtherValves(t *testing.T) {
	b := newBuild()
	a, z := b.tank("a", 100), b.tank("z", 5)
	b.run("main", a, z, 0.3, 1e-4, [2]float64{0, 0}, [2]float64{500, 0}, [2]float64{1000, 0}, [2]float64{1500, 0}, [2]float64{2000, 0})
	b.l.Runs[0].Equipment = []line.Equipment{
		{Name: "reduce", Kind: line.ReducingValve, Chainage: 500, Setting: 70},
		{Name: "limit", Kind: line.FlowControlValve, Chainage: 1000, Flow: 0.08},
		{Name: "keep", Kind: line.SustainingValve, Chainage: 1500, Setting: 30},
	}
	b.valve(0, "v", 1000, true)
	r := b.solve(t, b.kase(line.Gravity))
	g := r.fine[0].grid
	near(t, "flow", r.Runs[0].Flow, 0.08, 1e-6)
	near(t, "behind the reducing valve", r.fine[0].head[g.before[0]+1], 70, 1e-6)
	near(t, "before the flow-control valve", r.fine[0].head[g.before[1]], 70-b.loss(r.Runs[0].Flow, 0, 500), 1e-6)
	near(t, "behind it", r.fine[0].head[g.before[1]+1], 30+b.loss(r.Runs[0].Flow, 0, 500), 1e-6)
	near(t, "before the sustaining valve", r.fine[0].head[g.before[2]], 30, 1e-6)
}

// Settings that only just do not contradict each other: valves in a row set alike share what there is to take; a valve set at what the off-take takes stands open.
func TestFlowControlSetAlike(t *testing.T) {
	b := newBuild()
	a, j, z := b.tank("a", 100), b.node("j", line.Junction), b.tank("z", 20)
	b.run("up", a, j, 0.3, 1e-4, [2]float64{0, 0}, [2]float64{1000, 0})
	b.run("down", j, z, 0.3, 1e-4, [2]float64{0, 0}, [2]float64{1000, 0})
	limit := []line.Equipment{{Name: "limit", Kind: line.FlowControlValve, Chainage: 500, Flow: 0.05}}
	b.l.Runs[0].Equipment, b.l.Runs[1].Equipment = limit, limit
	r := b.solve(t, b.kase(line.Gravity))
	near(t, "flow", r.Runs[0].Flow, 0.05, 1e-6)
	near(t, "head between the two, which share alike", r.Nodes[j].Head, 60, 1e-3)

	c := newBuild()
	a, z = c.tank("a", 100), c.node("farm", line.Offtake)
	c.run("main", a, z, 0.3, 1e-4, [2]float64{0, 0}, [2]float64{1000, 0})
	c.l.Runs[0].Equipment = limit
	c.l.Nodes[z].Demand = 0.05
	r = c.solve(t, c.kase(line.Gravity))
	near(t, "head at the off-take", r.Nodes[z].Head, 100-c.loss(0.05, 0, 1000), 1e-5)
}

// driven is a station with a sump at 0 m that pumps through a main into a tank, with a junction half-way.
func driven(level float64, curves ...[][2]float64) (b *build, p, j int) {
	b = newBuild()
	p, j = b.station("works", 0, line.CheckEach, curves...), b.node("half-way", line.Junction)
	z := b.tank("tank", level)
	b.run("first", p, j, 0.3, 1e-4, [2]float64{0, 0}, [2]float64{1000, 5})
	b.run("second", j, z, 0.3, 1e-4, [2]float64{0, 5}, [2]float64{1000, level - 1})
	return b, p, j
}

var strong = [][2]float64{{0, 80}, {0.05, 70}, {0.1, 45}}

// A drive that holds a flow finds the speed at which the pumps' heads are the line's; by affinity, H(Q, n) = n² H(Q/n) (Hydraulic Institute, Engineering Data
// Book, pump fundamentals).
func TestSpeedThatHoldsAFlow(t *testing.T) {
	for _, curves := range [][][][2]float64{{strong}, {strong, strong}, {strong, {{0, 70}, {0.05, 55}, {0.08, 30}}}} {
		b, p, _ := driven(30, curves...)
		k := b.kase(line.Pumping)
		b.l.Cases[k].Stations[p].HoldFlow = 0.06
		r := b.solve(t, k)
		s := r.Stations[0]
		near(t, "flow", s.Flow, 0.06, 1e-6)
		near(t, "head", s.DischargeHead, 30+b.loss(s.Flow, 0, 2000), 1e-6)
		sum := 0.0
		for i, ps := range s.Pumps {
			c, err := headCurve(&b.l.Nodes[p].Station.Pumps[i], 1)
			if err != nil {
				t.Fatal(err)
			}
			h, _ := c.Head(ps.Flow / s.Speed)
			near(t, "head of the pump at its flow and speed", s.Speed*s.Speed*h, s.DischargeHead, 1e-5)
			sum += ps.Flow
		}
		near(t, "sum over the pumps", sum, s.Flow, 1e-9)
		if s.AtLimit || s.Speed <= 0.3 || s.Speed >= 1 || s.Electric <= 0 {
			t.Errorf("station = %+v", s)
		}
	}
}

// A bound on the speed binds: then the pumps work as at that speed, and it is said.
func TestSpeedAtItsBounds(t *testing.T) {
	for _, c := range []struct{ want, bound float64 }{{0.2, 1}, {0.001, 0.8}} {
		b, p, _ := driven(30, strong)
		k, fix := b.kase(line.Pumping), b.kase(line.Pumping)
		b.l.Cases[k].Stations[p].HoldFlow, b.l.Cases[k].Stations[p].SlowestSpeed = c.want, 0.8
		b.l.Cases[fix].Stations[p].Speed[0] = c.bound
		r, f := b.solve(t, k), b.solve(t, fix)
		near(t, "flow at the bound", r.Stations[0].Flow, f.Stations[0].Flow, 1e-8)
		near(t, "power at the bound", r.Stations[0].Electric, f.Stations[0].Electric, 1e-3)
		if !r.Stations[0].AtLimit || r.Stations[0].Speed != c.bound || !hasNote(r, "grade.speed-at-limit") {
			t.Errorf("station = %+v, notes %+v", r.Stations[0], r.Notes)
		}
	}
}

// A drive that holds a head, at its own discharge or far off, and two stations in series that hold one each.
func TestSpeedThatHoldsAHead(t *testing.T) {
	for _, own := range []bool{true, false} {
		b, p, j := driven(30, strong)
		k := b.kase(line.Pumping)
		set := &b.l.Cases[k].Stations[p]
		set.HasHoldHead, set.HoldHead, set.HoldAt = true, 27, j
		length, lost := 1000.0, 2.0 // from the node that is held to the tank
		if own {
			set.HoldHead, set.HoldAt, length, lost = 35, p, 2000, 5
		}
		r := b.solve(t, k)
		near(t, "pressure head held", r.Nodes[set.HoldAt].PressureHead, set.HoldHead, 1e-6)
		s := r.Stations[0]
		c, _ := headCurve(&b.l.Nodes[p].Station.Pumps[0], s.Speed)
		h, _ := c.Head(s.Flow)
		near(t, "head of the pump", h, s.DischargeHead, 1e-6)
		near(t, "head lost from there", b.loss(s.Flow, 0, length), lost, 1e-5)
	}
	b, p, s := boosted(line.CheckEach)
	k := b.kase(line.Pumping)
	b.l.Cases[k].Stations[p].HasHoldHead, b.l.Cases[k].Stations[p].HoldHead, b.l.Cases[k].Stations[p].HoldAt = true, 31, p
	b.l.Cases[k].Stations[s].HasHoldHead, b.l.Cases[k].Stations[s].HoldHead, b.l.Cases[k].Stations[s].HoldAt = true, 42, s
	r := b.solve(t, k)
	near(t, "at the works", r.Nodes[p].PressureHead, 31, 1e-6)
	near(t, "at the booster", r.Nodes[s].PressureHead, 42, 1e-6)
}

// Trapped air takes the fall of the leg it stands in, in place of friction there; against its fall it takes nothing. A pump that cannot give it is held by air.
func TestPocketTakesItsFall(t *testing.T) {
	b := newBuild()
	a, z := b.tank("a", 60), b.tank("z", 40)
	b.run("main", a, z, 0.3, 1e-4, [2]float64{0, 0}, [2]float64{500, 30}, [2]float64{1000, 10}, [2]float64{1500, 0})
	k := b.kase(line.Gravity)
	n, _ := NewNet(&b.l)
	r, err := Solve(t.Context(), Input{Net: n, Case: k, Pockets: []Pocket{{0, 500, 750}}})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "friction and pocket", b.loss(r.Runs[0].Flow, 0, 1250)+10, 20, 1e-6)
	up, err := Solve(t.Context(), Input{Net: n, Case: k, Pockets: []Pocket{{0, 500, 625}, {0, 750, 1000}, {0, 625, 750}, {0, 1000, 1500}}})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "flow with 30 m of pockets", up.Runs[0].Flow, 0, 0)
	if !hasNote(up, "grade.air-bound") {
		t.Errorf("notes = %+v", up.Notes)
	}
	near(t, "before the air", up.At(0, 400).Head, 60, 1e-6)
	b.l.Cases[k].Level[0], b.l.Cases[k].Level[1] = 40, 60
	back, err := Solve(t.Context(), Input{Net: n, Case: k, Pockets: []Pocket{{0, 500, 750}}})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "friction against the pocket", b.loss(-back.Runs[0].Flow, 0, 1500), 20, 1e-6)
	for _, p := range []Pocket{{0, 750, 500}, {0, 400, 600}, {0, 900, 1600}, {3, 0, 1}, {0, 500, 500}} {
		if _, err := Solve(t.Context(), Input{Net: n, Case: k, Pockets: []Pocket{p}}); err == nil {
			t.Errorf("pocket %+v was taken", p)
		}
	}
}

// A pump at rest against two air-bound summits: the static lift is not enough, the lift and the falls together are asked.
func TestPumpHeldByAir(t *testing.T) {
	b := newBuild()
	p, z := b.station("works", 0, line.CheckEach, [][2]float64{{0, 60}, {0.1, 30}}), b.tank("tank", 20)
	b.run("main", p, z, 0.3, 1e-4, [2]float64{0, 0}, [2]float64{500, 40}, [2]float64{1000, 5}, [2]float64{1500, 30}, [2]float64{2000, 15})
	k := b.kase(line.Pumping)
	n, _ := NewNet(&b.l)
	for _, c := range []struct {
		low   float64
		bound bool
	}{{800, false}, {1000, true}} { // 21 or 35 m of fall, and 15 m: with the lift of 20 m 56 or 70 m
		r, err := Solve(t.Context(), Input{Net: n, Case: k, Pockets: []Pocket{{0, 500, c.low}, {0, 1500, 2000}}})
		if err != nil {
			t.Fatal(err)
		}
		if hasNote(r, "grade.air-bound") != c.bound || (r.Runs[0].Flow > 0) == c.bound {
			t.Errorf("to %g: flow %g, notes %+v", c.low, r.Runs[0].Flow, r.Notes)
		}
		if c.bound {
			near(t, "head at the pumps", r.Nodes[p].Head, 60, 1e-6)
			near(t, "head beyond the air", r.At(0, 2000).Head, 20, 1e-6)
		} else {
			near(t, "lift", r.Nodes[p].Head, 20+21+15+b.loss(r.Runs[0].Flow, 0, 2000-300-500), 1e-6)
		}
	}
}

// What contradicts each other is named.
func TestContradictionsAreNamed(t *testing.T) {
	for name, c := range map[string]struct {
		line  func() (*build, int)
		words []string
	}{
		"throttled above a flow-control valve": {func() (*build, int) {
			b, p, _ := driven(30, strong)
			b.l.Runs[1].Equipment = []line.Equipment{{Name: "limit", Kind: line.FlowControlValve, Chainage: 500, Flow: 0.04}}
			k := b.kase(line.Pumping)
			b.l.Cases[k].Stations[p].Flow = 0.05
			return b, k
		}, []string{`"works"`, `"limit"`, "50.0", "40.0"}},
		"held head at an unreached node": {func() (*build, int) {
			b, p, _ := driven(30, strong)
			k := b.kase(line.Pumping)
			far := b.node("far", line.DeadEnd)
			b.run("off", 2, far, 0.1, 1e-4, [2]float64{0, 5}, [2]float64{100, 5})
			b.l.Cases[k].Stations[p].HasHoldHead, b.l.Cases[k].Stations[p].HoldAt = true, far
			b.l.Cases[k].Closed = append(b.l.Cases[k].Closed, nil)
			b.l.Cases[k].Stations = append(b.l.Cases[k].Stations, line.StationSetting{})
			b.l.Cases[k].Demand, b.l.Cases[k].Level = append(b.l.Cases[k].Demand, 0), append(b.l.Cases[k].Level, 0)
			return b, k
		}, []string{`"works"`, `"far"`, "no open way"}},
		"an off-take behind a closed valve": {func() (*build, int) {
			b := newBuild()
			a, o := b.tank("tank", 60), b.node("farm", line.Offtake)
			b.l.Nodes[o].Demand = 0.01
			b.run("main", a, o, 0.3, 1e-4, [2]float64{0, 5}, [2]float64{1000, 5})
			b.l.Runs[0].Equipment = []line.Equipment{{Name: "gate", Kind: line.IsolatingValve, Chainage: 500, Closed: true}}
			return b, b.kase(line.Gravity)
		}, []string{`"farm"`, `"gate"`, "10.00 L/s"}},
		"an off-take behind a check valve that faces it": {func() (*build, int) {
			b := newBuild()
			a, o := b.tank("tank", 60), b.node("farm", line.Offtake)
			b.l.Nodes[o].Demand = 0.01
			b.run("main", a, o, 0.3, 1e-4, [2]float64{0, 5}, [2]float64{1000, 5})
			b.l.Runs[0].Equipment = []line.Equipment{{Name: "flap", Kind: line.CheckValve, Chainage: 500, Reverse: true}}
			return b, b.kase(line.Gravity)
		}, []string{`"farm"`, `"flap"`}},
		"an off-take behind a flow-control valve": {func() (*build, int) {
			b := newBuild()
			a, o := b.tank("tank", 60), b.node("farm", line.Offtake)
			b.l.Nodes[o].Demand = 0.01
			b.run("main", a, o, 0.3, 1e-4, [2]float64{0, 5}, [2]float64{1000, 5})
			b.l.Runs[0].Equipment = []line.Equipment{{Name: "limit", Kind: line.FlowControlValve, Chainage: 500, Flow: 0.004}}
			return b, b.kase(line.Gravity)
		}, []string{`"farm"`, `"limit"`, "4.0 L/s"}},
		"a sustaining valve above what the pump gives": {func() (*build, int) {
			b := newBuild()
			p, o := b.station("works", 0, line.CheckEach, strong), b.node("farm", line.Offtake)
			b.l.Nodes[o].Demand = 0.01
			b.run("main", p, o, 0.3, 1e-4, [2]float64{0, 5}, [2]float64{1000, 5})
			b.l.Runs[0].Equipment = []line.Equipment{{Name: "keep", Kind: line.SustainingValve, Chainage: 500, Setting: 90}}
			return b, b.kase(line.Pumping)
		}, []string{`"farm"`, `"keep"`, "95.00", "works"}},
		"a reducing valve below a sustaining one": {func() (*build, int) {
			b := newBuild()
			a, o := b.tank("tank", 100), b.node("farm", line.Offtake)
			b.l.Nodes[o].Demand = 0.01
			b.run("main", a, o, 0.3, 1e-4, [2]float64{0, 5}, [2]float64{1000, 5})
			b.l.Runs[0].Equipment = []line.Equipment{
				{Name: "reduce", Kind: line.ReducingValve, Chainage: 300, Setting: 20},
				{Name: "keep", Kind: line.SustainingValve, Chainage: 500, Setting: 40},
			}
			return b, b.kase(line.Gravity)
		}, []string{`"farm"`, `"reduce"`, `"keep"`}},
		"an off-take above the tank": {func() (*build, int) {
			b := newBuild()
			a, j, o := b.tank("tank", 60), b.node("j", line.Junction), b.node("farm", line.Offtake)
			b.l.Nodes[o].Demand = 0.01
			b.run("main", a, j, 0.3, 1e-4, [2]float64{0, 5}, [2]float64{1000, 5})
			b.run("up", j, o, 0.3, 1e-4, [2]float64{0, 5}, [2]float64{800, 75}, [2]float64{1000, 60})
			return b, b.kase(line.Gravity)
		}, []string{`"farm"`, `"up"`, "75.00"}},
	} {
		b, k := c.line()
		_, err := b.try(k)
		if err == nil {
			t.Errorf("%s: it was solved", name)
			continue
		}
		for _, w := range c.words {
			if !strings.Contains(strings.ReplaceAll(err.Error(), "\u00a0", " "), w) {
				t.Errorf("%s: %q is not in: %v", name, w, err)
			}
		}
	}
}

// A way that settings keep shut is no contradiction where nothing is drawn beyond; what keeps it shut is named with the pump.
func TestWhatKeepsThePumpShutIn(t *testing.T) {
	for word, e := range map[string][]line.Equipment{
		`sustaining valve "keep" asks for 95.00 m`: {{Name: "keep", Kind: line.SustainingValve, Chainage: 500, Setting: 90}},
		`reducing valve "reduce"`:                  {{Name: "reduce", Kind: line.ReducingValve, Chainage: 300, Setting: 10}, {Name: "keep", Kind: line.SustainingValve, Chainage: 500, Setting: 40}},
		`"gate" on run "main" is closed`:           {{Name: "gate", Kind: line.IsolatingValve, Chainage: 500, Closed: true}},
	} {
		b := newBuild()
		p, z := b.station("works", 0, line.CheckEach, strong), b.tank("tank", 30)
		b.run("main", p, z, 0.3, 1e-4, [2]float64{0, 5}, [2]float64{1000, 5})
		b.l.Runs[0].Equipment = e
		r := b.solve(t, b.kase(line.Pumping))
		near(t, "flow", r.Runs[0].Flow, 0, 1e-9)
		if len(r.Notes) == 0 || !strings.Contains(strings.ReplaceAll(r.Notes[0].Text, "\u00a0", " "), word) {
			t.Errorf("%s is not in %+v", word, r.Notes)
		}
	}
}
