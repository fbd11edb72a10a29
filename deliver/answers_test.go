package deliver

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"

	"obvert/engine/costing"
	"obvert/engine/draining"
	"obvert/engine/grade"
	"obvert/engine/refilling"
	"obvert/engine/sealing"
	"obvert/engine/siting"
	"obvert/engine/sizing"
	"obvert/line"
	"obvert/physics/pocket"
	"obvert/physics/valve"
	"obvert/study"

	"pgregory.net/rapid"
)

// answered is a fixture with invented answers of all engines, consistent in themselves.
func answered(name string) *study.Result {
	r := fixture(name)
	for _, c := range r.StandingCases {
		r.Draining = append(r.Draining, drainFixture(r, c))
	}
	r.Line.Events = []line.Event{{Name: "Emptied by the scour", Kind: line.Draining, After: r.StandingCases[0], Scours: []line.Place{{Chainage: r.Line.Runs[0].Points[1].Chainage}}}, {Name: "Morning restart", Kind: line.Restart}, {Name: "First filling", Kind: line.FirstFilling}}
	d := drainFixture(r, r.StandingCases[0])
	d.Openings = []draining.OpeningResult{{Name: "Scour", Total: 9, Peak: 0.02, Series: []draining.Outflow{{Time: 0, Flow: 0.02}, {Time: 900, Flow: 0}}}}
	f := fillFixture(r)
	r.Passed = []study.Passed{{Event: 0, Draining: &d}, {Event: 1, Refilling: &f, Start: &refilling.Start{Flow: 0.012, Binds: refilling.SlamBinds, Where: "3", Throttle: 5200, Trials: []refilling.Trial{{Flow: 0.02, Slam: 41, Share: 0.7, Time: 4000, Breaks: []refilling.Limit{refilling.SlamBinds}}}}}, {Event: 2, Why: "the line has no station that feeds it"}}
	r.Sizing = sizeFixture(r)
	legFixture(r)
	drawnFixture(r)
	r.Ways = compareFixture()
	r.Line.Days = []line.Day{{Name: "weekday"}}
	r.Days = []grade.DayResult{gradeDay(r)}
	return r
}

// drainFixture lets the pools of a standing case shrink and its dripping valves leak less and less.
func drainFixture(r *study.Result, c int) draining.Result {
	d := draining.Result{Case: c, Status: draining.StoppedLeaking, Reason: "the lowest seat stands dry", StopTime: 40000, Lost: 0, WaterBalance: 2e-13}
	for i, v := range r.Sealing.Valves {
		q := draining.ValveResult{Name: v.Name, Run: v.Run, Chainage: v.Chainage, Placed: v.Placed, Record: v.Record, Seat: v.Seat}
		if v.Cells[c].State == sealing.Drips {
			q.Start, q.End = draining.Drips, draining.Open
			first := 2e-5 / float64(1+i%3)
			for t := 0.0; t <= 40000; t += 2000 {
				q.Series = append(q.Series, draining.Sample{Time: t, Leak: first * (1 - t/40000)})
			}
			q.FirstLeak, q.LargestLeak, q.Total, q.LastLeak = first, first, first*40000/2, 40000
			q.Pit = draining.Pit{FirstDay: q.Total, Standing: q.Total / 2, Rainfall: 210, HasArea: true, DaysToFill: 4.2, Fills: true}
		} else if v.Cells[c].State == sealing.Empty {
			q.Start, q.End = draining.Open, draining.Open
		}
		d.Lost += q.Total
		d.Valves = append(d.Valves, q)
	}
	for k, t := range []float64{0, 600, 3600, 12000, 40000} {
		s := draining.State{Time: t, Volume: 90 - d.Lost*t/40000, Runs: make([][]draining.Span, len(r.Line.Runs))}
		for _, p := range r.Grades[c].Pools {
			for _, w := range p.Spans {
				fall := 0.05 * float64(k) * (w.FullTo - w.FullFrom)
				s.Runs[w.Run] = append(s.Runs[w.Run], draining.Span{Run: w.Run, From: w.From, To: w.To, FullFrom: w.FullFrom, FullTo: w.FullTo - fall, Level: p.Level - 0.1*float64(k)})
			}
		}
		for i := range d.Valves {
			state := d.Valves[i].Start
			if t >= 40000 {
				state = d.Valves[i].End
			}
			s.Valves = append(s.Valves, state)
		}
		d.Frames = append(d.Frames, s)
	}
	d.DrainedLength = 12
	return d
}

func fillFixture(r *study.Result) refilling.Result {
	run := &r.Line.Runs[0]
	from, to := run.Points[0].Chainage, run.Points[len(run.Points)-1].Chainage
	f := refilling.Result{Status: "full", Filled: true, TimeToFull: 5400, Water: 70, Energy: 31, Slam: 22, SlamAt: "3", RigidIndex: 12, Balance: refilling.Balance{WaterError: 1e-9, AirError: 3e-9}}
	p := refilling.Pocket{Peak: 41e3}
	for k := range 7 {
		u := float64(k) / 6
		front := from + (to-from)*u
		w := refilling.Frame{Time: 5400 * u, Water: make([][]refilling.Water, len(r.Line.Runs))}
		w.Water[0] = []refilling.Water{{From: from, To: front}}
		if k < 6 {
			w.Pockets = []refilling.Air{{Run: 0, From: front, To: to, Pressure: 41e3 * u}}
		}
		f.Frames = append(f.Frames, w)
		f.Series = append(f.Series, refilling.Moment{Time: 5400 * u, Flow: 0.02 - 0.01*u, Volume: 20 + 70*u})
		p.Trace = append(p.Trace, refilling.Trace{Time: 5400 * u, Pressure: 41e3 * u})
	}
	f.Pockets = []refilling.Pocket{p}
	for i, v := range r.Sealing.Valves {
		f.Valves = append(f.Valves, refilling.Valve{Name: v.Name, Run: v.Run, Chainage: v.Chainage, Shut: refilling.ByWater, Time: 800 * float64(i+1), AirOut: 3, Largest: 4e3, LastAir: i%2 == 0, Before: 0.4, Slam: 22, Sealed: 30, Worst: 6e5, Share: 0.6, HasRating: true})
	}
	return f
}

func sizeFixture(r *study.Result) sizing.Result {
	s := sizing.Result{Status: "complete", BasisText: "Air in is counted as free air.", Atmosphere: 101325, Temperature: 288.15, Density: 1.225}
	for i, v := range r.Sealing.Valves {
		p := sizing.PlaceResult{Name: v.Name, Run: v.Run, Chainage: v.Chainage, Placed: v.Placed, Record: v.Record, Smallest: 0, NextUp: -1, Verdict: sizing.Enough,
			Release: sizing.Release{Wanted: i%2 == 0, Share: 0.004, RuleShare: 0.02, Working: 4e5, Diameter: 0.0004, RuleDiameter: 0.0012, Known: true, Ratio: 1.8, Enough: true}}
		way := func(limit, flow float64) sizing.Way {
			w := sizing.Way{Governs: 0, HasGiven: true, Allowed: sizing.Allowed{Differential: limit, Limits: []sizing.Limit{{ID: "practice", Value: limit, Text: "Practice allows it.", Binds: true}}}}
			for k := range 20 {
				dp := limit * 1.3 * float64(k) / 19
				w.Curve = append(w.Curve, sizing.Point{Differential: dp, Needed: flow, Given: 0.6 * math.Sqrt(dp/limit)})
			}
			w.Given = sizing.Given{Known: true, Enough: flow < 0.6}
			return w
		}
		p.In, p.Out = way(34.5e3, 0.3+0.1*float64(i%5)), way(13.8e3, 0.05)
		p.Out.Governs = 2
		if !p.In.Given.Enough {
			p.Verdict = sizing.TooSmall
			p.Trials = []sizing.Trial{{Record: p.Record, Judged: true, Why: "air in 0.9 of what is needed"}}
		}
		duty := func(k sizing.DutyKind, dp, mass float64) sizing.Duty {
			return sizing.Duty{Kind: k, Required: k != sizing.FullBurst, Differential: dp, Need: sizing.Sized{Mass: mass, Free: mass / s.Density}}
		}
		p.Duties = []sizing.Duty{duty(sizing.Drain, 34.5e3, 0.3+0.1*float64(i%5)), duty(sizing.FullBurst, 34.5e3, 0.9), duty(sizing.Fill, 13.8e3, 0.05)}
		s.Places = append(s.Places, p)
	}
	return s
}

func legFixture(r *study.Result) {
	run := &r.Line.Runs[0]
	for i := 1; i < len(run.Points); i++ {
		a, b := run.Points[i-1], run.Points[i]
		if b.Obvert >= a.Obvert || len(r.Siting.Legs) >= 60 {
			continue
		}
		l := siting.Leg{From: a.Chainage, To: b.Chainage, Down: 1, Length: b.Chainage - a.Chainage, Fall: a.Obvert - b.Obvert}
		angle := math.Asin(min(l.Fall/l.Length, 1))
		l.Worst = siting.Stretch{From: l.From, To: l.To, Length: l.Length, Slope: math.Sin(angle), Bore: 0.3, Critical: pocket.At(angle, 0.3, g0)}
		for c, k := range r.Line.Cases {
			v := k.Kind
			if v == line.Standing {
				continue
			}
			speed := 0.4 + 0.5*float64(c)
			l.Cases = append(l.Cases, siting.LegCase{Case: c, Velocity: speed, Carried: l.Worst.Critical.Carried(speed), Down: true, Longest: siting.Pocket{Stands: true, Extra: 1.2}})
		}
		r.Siting.Legs = append(r.Siting.Legs, l)
	}
}

func drawnFixture(r *study.Result) {
	d := sealing.Drawn{N: 1000, Seed: 7}
	for _, v := range r.Sealing.Valves {
		q := sealing.DrawnValve{Name: v.Name}
		for _, c := range v.Cells {
			k := sealing.DrawnCell{Drips: sealing.Estimate{P: c.Probability, Error: 0.003}}
			if c.State == sealing.Tight || c.State == sealing.Drips {
				k.Shares = [sealing.Sources]float64{0.4, 0.2, 0, 0.2, 0.15, 0.05}
			}
			q.Cells = append(q.Cells, k)
		}
		d.Valves = append(d.Valves, q)
	}
	for range r.Line.Cases {
		d.Any = append(d.Any, sealing.DrawnAny{Drips: sealing.Estimate{P: 0.31, Error: 0.015}, HasIndices: true})
	}
	d.Ever = sealing.DrawnAny{Drips: sealing.Estimate{P: 0.62, Error: 0.015}}
	r.Drawn = d
}

func compareFixture() *costing.Comparison {
	w := &costing.Comparison{Name: "valve 6", Currency: "EUR", Volume: 4000, Years: 25, Rate: 0.03, Factor: 17.4, Best: 1, Second: 0, BreakEven: costing.BreakEven{Found: true, Text: "Type A has paid for itself after 2.4 years."}}
	w.Ways = []costing.Way{
		{Kind: costing.AcceptLeak, Name: "Accept the leak", Possible: true, Priced: true, Order: 2, Year: costing.Year{WaterCost: 40, CalloutFee: 300, RepairCost: 60, EnergyCost: 12, CarbonCost: 1}},
		{Kind: costing.LowerSealing, Name: "Type A", Possible: true, Priced: true, Order: 1, Investment: 900, Year: costing.Year{EnergyCost: -20, CarbonCost: -2}},
		{Kind: costing.HigherTerminal, Name: "Higher terminal level", Possible: true, NotPriced: []string{"raising"}, Year: costing.Year{EnergyCost: 800}},
		{Kind: costing.Regrading, Name: "Regrading", Why: "no depth does it"},
	}
	for i := range w.Ways {
		y := &w.Ways[i].Year
		y.Cost = y.EnergyCost + y.CarbonCost + y.WaterCost + y.CalloutFee + y.RepairCost
		if w.Ways[i].Priced {
			w.Ways[i].PresentValue = w.Ways[i].Investment + w.Factor*y.Cost
		}
	}
	base := w.Ways[1].PresentValue - w.Ways[0].PresentValue
	w.Tornado = []costing.Bar{{Name: "leak", Unit: "m³/d", Value: 0.2, Low: 0.02, High: 0.4, AtLow: 300, AtHigh: 2 * base, Swing: 300 - base, Turns: true, Turn: 0.03, InRange: true, To: 0, Text: "Below 0.03 m³/d: accept the leak."}}
	return w
}

func gradeDay(r *study.Result) grade.DayResult {
	d := grade.DayResult{Status: "converged", Tanks: []grade.DayTank{{Node: 1, Start: 190, Least: 189, Greatest: 191}}, Stations: []grade.DayStation{{Node: 0, Pumps: []grade.DayPump{{Name: "P1"}, {Name: "P2"}}}},
		Bands: []grade.DayBand{{From: 6, To: 22, Price: 0.24}, {From: 22, To: 6, Price: 0.11}}, Energy: 900, Cost: 150, HasCost: true, Delivered: 3000, Balance: 1e-15}
	for i := range 96 {
		on := i%40 < 25
		power := 0.0
		if on {
			power = 60e3
		}
		d.Steps = append(d.Steps, grade.DayStep{From: 900 * float64(i), To: 900 * float64(i+1), Level: []float64{190 + math.Sin(float64(i)/10)}, Power: []float64{power}, Running: [][]bool{{on, false}}})
	}
	for _, v := range r.Sealing.Valves {
		d.Valves = append(d.Valves, grade.DayValve{Run: v.Run, Placed: v.Placed, Least: 2, LeastAt: 3600 * 5, Greatest: 40, GreatestAt: 3600 * 9})
	}
	for i := range r.Sealing.Valves {
		r.Sealing.Valves[i].LettingGoBound = valve.Measured
	}
	return d
}

// chaptersOf are all chapters of a result, not drawn.
func chaptersOf(r *study.Result) []*chapter {
	names, numbered := valveNumbers(r)
	proof, money := newAnswers(r, names, numbered, newRackView(r)).chapters()
	return append(proof, money...)
}

// TestAnswersInTheReport looks for every chapter in the report, holds its drawings to the rule of the labels, and its figures
// to the engines'.
func TestAnswersInTheReport(t *testing.T) {
	for _, name := range []string{"ridge", "long", "branch", "named"} {
		r := answered(name)
		ids := map[string]bool{}
		for _, c := range chaptersOf(r) {
			ids[c.ID] = true
			for _, q := range c.Parts {
				for _, d := range inForms(q.source, "t") {
					for _, f := range faults(d) {
						t.Errorf("%s, %s: %s", name, c.ID, f)
					}
				}
				if len(q.Twin.Rows) == 0 {
					t.Errorf("%s, %s: a drawing without its table", name, c.ID)
				}
			}
		}
		for _, id := range []string{"drain", "empty", "fill", "air", "carried", "day", "ways", "matters"} {
			if !ids[id] {
				t.Errorf("%s: no chapter %q", name, id)
			}
		}
	}
}

// TestLongAnswersAreCut holds what is drawn of a long line to a dozen; the table has the rest, and says so.
func TestLongAnswersAreCut(t *testing.T) {
	r := answered("long")
	for _, c := range chaptersOf(r) {
		if c.ID == "drain" {
			for _, d := range inForms(c.Parts[0].source, "x") {
				if n := len(d.svg()); n > 150_000 {
					t.Errorf("a strip of the long line takes %d bytes", n)
				}
			}
		}
		if c.ID == "air" {
			q := c.Parts[0]
			if n := len(q.source.(tableOf).drawing.(*airs).valves); n != most {
				t.Errorf("%d valves are drawn, want %d", n, most)
			}
			if !strings.Contains(q.Note, "188 more") || !q.Print {
				t.Errorf("note %q, printed %v: want it to tell of 188 more, and their table printed", q.Note, q.Print)
			}
			if n := len(q.Twin.Rows); n != 600 {
				t.Errorf("%d rows in the table, want three duties of 200 valves", n)
			}
		}
	}
}

// TestBarsAreThePresentValue adds up what is stacked: it is the engine's present value.
func TestBarsAreThePresentValue(t *testing.T) {
	w := compareFixture()
	for _, row := range waysView(w).rows {
		for _, q := range w.Ways {
			if q.Name == row.name && q.Priced && math.Abs(row.total()-q.PresentValue) > 1e-9*math.Abs(q.PresentValue) {
				t.Errorf("%s: the bar is %g long, the present value %g", q.Name, row.total(), q.PresentValue)
			}
		}
	}
}

// TestWaterAsTheEngineHasIt holds the lengths drawn full and part full to those of the engine, at every moment.
func TestWaterAsTheEngineHasIt(t *testing.T) {
	r := answered("ridge")
	names, numbered := valveNumbers(r)
	a := newAnswers(r, names, numbered, newRackView(r))
	for i := range r.Draining {
		d := &r.Draining[i]
		at := map[float64]int{}
		for k := range d.Frames {
			at[d.Frames[k].Time] = k
		}
		for _, f := range a.drainStrip(d, a.view(0), "x", nil).frames {
			k := at[f.at]
			full, wet, wantFull, wantWet := 0.0, 0.0, 0.0, 0.0
			for _, w := range f.wet {
				wet += w.to - w.from
				if w.full {
					full += w.to - w.from
				}
			}
			for _, s := range d.Frames[k].Runs[0] {
				wantFull, wantWet = wantFull+s.FullTo-s.FullFrom, wantWet+s.To-s.From
			}
			if math.Abs(full-wantFull) > 0.1 || math.Abs(wet-wantWet) > 0.1 {
				t.Errorf("case %d, moment %d: %.1f m full of %.1f m wet, want %.1f of %.1f", d.Case, k, full, wet, wantFull, wantWet)
			}
		}
	}
}

// TestFramesOf holds the choice of moments: the first, no two without news between them, in their order, no more than a strip
// holds, near to even progress.
func TestFramesOf(t *testing.T) {
	even := framesOf(71, func(i int) float64 { return float64(i) / 70 })
	if fmt.Sprint(even) != "[0 10 20 30 40 50 60 70]" {
		t.Errorf("even progress: %v", even)
	}
	if got := framesOf(9, func(i int) float64 { return min(float64(i), 1) }); fmt.Sprint(got) != "[0 1]" {
		t.Errorf("all at once: %v", got)
	}
	if got := framesOf(4, func(int) float64 { return 0 }); fmt.Sprint(got) != "[0]" {
		t.Errorf("nothing passes: %v", got)
	}
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.SliceOfN(rapid.Float64Range(0, 1), 1, 60).Draw(t, "progress")
		got := framesOf(len(p), func(i int) float64 { return p[i] })
		if len(got) == 0 || len(got) > mostFrames || got[0] != 0 {
			t.Fatalf("%v of %v", got, p)
		}
		for k := 1; k < len(got); k++ {
			if got[k] <= got[k-1] {
				t.Fatalf("%v is out of order", got)
			}
		}
	})
}

// TestLostOver checks the drawn loss against the engine's totals, at the end and by the exact integral of a leak that falls in
// a straight line.
func TestLostOver(t *testing.T) {
	r := answered("ridge")
	for i := range r.Draining {
		d := &r.Draining[i]
		lost := lostOver(d)
		for _, u := range []float64{0, 0.25, 0.5, 1, 2} {
			x := min(u, 1)
			want := d.Lost * (1 - (1-x)*(1-x))
			if got := lost(u * 40000); math.Abs(got-want) > 1e-9*max(d.Lost, 1e-9) {
				t.Errorf("case %d at %g of the time: %g m³, want %g", d.Case, u, got, want)
			}
		}
	}
}

// TestAnswersSameTwice writes a report with every chapter twice.
func TestAnswersSameTwice(t *testing.T) {
	var a, b bytes.Buffer
	for _, w := range []*bytes.Buffer{&a, &b} {
		if err := HTML(w, answered("ridge"), Options{}); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("two runs differ")
	}
	if s := a.String(); strings.Contains(s, "ZgotmplZ") || strings.Contains(s, "NaN") {
		t.Error("the template refused something, or a coordinate is no number")
	}
	for _, id := range []string{"drain", "ways", "fi"} {
		if n := strings.Count(a.String(), fmt.Sprintf(`id="h-%s"`, id)); n != 1 {
			t.Errorf("%d headings with the id h-%s", n, id)
		}
	}
}
