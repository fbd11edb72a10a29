package bench

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"obvert/document"
	"obvert/physics/valve"
)

func reduce(t testing.TB, r Run) Result {
	t.Helper()
	res, err := Reduce(r)
	if err != nil {
		t.Fatal(err)
	}
	return res
}

func has(res Result, id string) bool {
	for _, f := range res.Findings {
		if f.ID == id {
			return true
		}
	}
	return false
}

func oneValve(seal, letGo float64) []truth {
	return []truth{{name: "V", seat: 0.5, seal: seal, letGo: letGo}}
}

// Without noise and error the truth comes back: sealing, letting-go, hysteresis.
func TestTruthComesBack(t *testing.T) {
	s := plainScene()
	s.run.Gauge.Resolution, s.run.Tube.Resolution = 0, 0
	s.valves = oneValve(1.234, 0.987)
	res := reduce(t, s.build())
	v := res.Valves[0]
	rg := res.Density * res.Gravity
	near(t, "sealing head", v.Sealing.Head(res.Density, res.Gravity), 1.234, 1e-9)
	near(t, "letting-go head", v.LettingGo.Head(res.Density, res.Gravity), 0.987, 1e-9)
	near(t, "hysteresis", v.Hysteresis, rg*(1.234-0.987), 1e-5)
	if !v.HasHysteresis || v.Sealing.Bound != valve.Measured || v.Sealing.Repeats != 3 || len(res.Findings) != 0 {
		t.Errorf("%+v\n%v", v, res.Findings)
	}
}

// The hydrostatic identity: the head at a seat does not depend on where gauge, tube
// zero and seat stand, nor on which of the two was read.
func TestHeightsOfGaugeTubeAndSeat(t *testing.T) {
	for _, c := range []struct {
		name                string
		gauge, tube         bool
		level, zero, seat   float64
		start, top          float64
		wantSeal, wantLetGo float64
	}{
		{"both", true, true, 0.3, 0.2, 0.5, 0.4, 3.6, 1.5, 1.2},
		{"gauge alone, above the seat", true, false, 2.0, 0, 0.5, 0.4, 3.6, 1.5, 1.2},
		{"gauge alone, below the seat", true, false, -1.5, 0, 0.5, 0.4, 3.6, 1.5, 1.2},
		{"tube alone", false, true, 0, -0.7, 0.5, 0.4, 3.6, 1.5, 1.2},
		{"everything 10 m up", true, true, 10.3, 10.2, 10.5, 10.4, 13.6, 1.5, 1.2},
		{"a low seal, 0.4 m from the gauge", true, false, 0.1, 0, 0.5, 0.4, 3.6, 0.2, 0.12},
	} {
		s := plainScene()
		s.start, s.top = c.start, c.top
		s.valves = []truth{{name: "V", seat: c.seat, seal: c.wantSeal, letGo: c.wantLetGo}}
		s.run.Gauge.Resolution, s.run.Tube.Resolution = 0, 0
		s.run.Gauge.Level, s.run.Tube.Zero = c.level, c.zero
		s.run.Tube.Top = c.top + 1
		if !c.gauge {
			s.run.Gauge = nil
		}
		if !c.tube {
			s.run.Tube = nil
		}
		res := reduce(t, s.build())
		near(t, c.name+": sealing", res.Valves[0].Sealing.Head(res.Density, res.Gravity), c.wantSeal, 1e-9)
		near(t, c.name+": letting go", res.Valves[0].LettingGo.Head(res.Density, res.Gravity), c.wantLetGo, 1e-9)
	}
}

// A tube read 2 m above a seat is 2 m of head and ρ·g·2 m of pressure, exactly; a
// gauge that shows the same pressure at another height shows ρ·g·Δz more or less.
func TestHydrostaticIdentity(t *testing.T) {
	r := plainScene().run
	r.Gauge.Certificate.Corrections, r.Tube.Certificate.Corrections = []Correction{{}}, []Correction{{}}
	f, err := newFrame(&r)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "head by the tube", f.head(f.tubeAt(observation{tube: 2.3}, 0.5)), 2.0, 1e-12) // zero 0.2 + 2.3 − seat 0.5
	near(t, "pressure by the gauge", f.gaugeAt(observation{gauge: 20000}, 0.5), 20000-f.unit()*0.2, 1e-9)
	near(t, "density at 16 °C", f.density, 998.94, 0.02) // Kell 1975 by table: 998.943 kg/m³, from memory
}

// Gravity and altitude: a tube's head does not depend on g, its pressure goes with
// it; a gauge's pressure does not, its head goes against it.
func TestGravityAndAltitude(t *testing.T) {
	at := func(g float64, gauge bool) Result {
		s := plainScene()
		s.valves = oneValve(1.5, 1.2)
		s.run.Gauge.Resolution, s.run.Tube.Resolution = 0, 0
		s.run.Gauge.Level = 0.5
		if gauge {
			s.run.Tube = nil
		} else {
			s.run.Gauge = nil
		}
		r := s.build()
		r.Gravity = g // recorded in one place, reduced with another place's g
		return reduce(t, r)
	}
	for _, gauge := range []bool{false, true} {
		a, b := at(9.78, gauge), at(9.83, gauge)
		p := b.Valves[0].Sealing.Mean / a.Valves[0].Sealing.Mean
		h := b.Valves[0].Sealing.Head(b.Density, b.Gravity) / a.Valves[0].Sealing.Head(a.Density, a.Gravity)
		wantP, wantH := 9.83/9.78, 1.0
		if gauge {
			wantP, wantH = 1.0, 9.78/9.83
		}
		near(t, "pressure ratio", p, wantP, 1e-9)
		near(t, "head ratio", h, wantH, 1e-9)
	}
	// normal gravity (GRS 80): 9.780 327 m/s² at the equator and sea level, 9.806 199
	// at 45° (Moritz 1980, from memory); 3.086e-6 1/s² less a metre up (free air)
	r := plainScene().run
	r.Gravity, r.HasLatitude = 0, true
	f, err := newFrame(&r)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "g at the equator", f.gravity, 9.780327, 1e-6)
	r.Latitude = math.Pi / 4
	f, _ = newFrame(&r)
	near(t, "g at 45°", f.gravity, 9.806199, 1e-6)
	sea := f.gravity
	r.Altitude = 1500
	f, _ = newFrame(&r)
	near(t, "g at 1,500 m", sea-f.gravity, 1500*3.086e-6, 1e-5)
	if f.gravityU == 0 {
		t.Error("normal gravity without an uncertainty")
	}
}

// A mark is late by the mean delay: without the correction the sealing head would be
// too high by delay × rate and the letting-go head too low by as much.
func TestDelay(t *testing.T) {
	s := plainScene()
	s.run.Gauge, s.run.Tube.Resolution = nil, 0
	s.valves = oneValve(1.5, 1.2)
	r := s.build()
	with := reduce(t, r)
	r.Delay = 0
	without := reduce(t, r)
	rg := with.Density * with.Gravity
	shift := rg * s.rate * s.run.Delay
	near(t, "sealing", without.Valves[0].Sealing.Mean-with.Valves[0].Sealing.Mean, shift, 1e-6)
	near(t, "letting go", without.Valves[0].LettingGo.Mean-with.Valves[0].LettingGo.Mean, -shift, 1e-6)
	// its spread is one line of |rate|·spread, however many repeats there are
	for _, n := range []int{1, 3, 12} {
		s.repeats = n
		v := reduce(t, s.build()).Valves[0]
		up, down := line(v.SealingBudget, "delay"), line(v.LettingGoBudget, "delay")
		near(t, "spread, rising", up.Contribution, rg*s.rate*s.run.DelaySpread, 1e-6)
		near(t, "spread, falling", down.Contribution, rg*s.rate*s.run.DelaySpread, 1e-6)
		if !(up.Sensitivity < 0 && down.Sensitivity > 0) {
			t.Errorf("the delay works the same way up (%g) and down (%g)", up.Sensitivity, down.Sensitivity)
		}
	}
}

func line(b []BudgetLine, part string) BudgetLine {
	for _, l := range b {
		if strings.Contains(l.Quantity, part) {
			return l
		}
	}
	return BudgetLine{}
}

// The budget adds up: u² is the sum of the lines' squares, every line has its source.
func TestBudgetAddsUp(t *testing.T) {
	s := plainScene()
	s.valves = []truth{{name: "V", seat: 0.5, seal: 1.5, letGo: 1.2, scatter: 0.03}}
	v := reduce(t, s.build()).Valves[0]
	for _, c := range []struct {
		b []BudgetLine
		u float64
	}{{v.SealingBudget, v.Sealing.Uncertainty}, {v.LettingGoBudget, v.LettingGo.Uncertainty}} {
		sum := 0.0
		for _, l := range c.b {
			sum += l.Contribution * l.Contribution
			near(t, l.Quantity, l.Contribution, math.Abs(l.Sensitivity)*l.Uncertainty, 1e-9)
			if l.Source == "" || l.Distribution == "" || l.Unit == "" {
				t.Errorf("a line without source, distribution or unit: %+v", l)
			}
		}
		near(t, "u", c.u, math.Sqrt(sum), 1e-9)
	}
	if l := line(v.SealingBudget, "mean of 3"); l.Freedom != 2 || math.Abs(l.Uncertainty-v.Sealing.Scatter/math.Sqrt(3)) > 1e-9 {
		t.Errorf("the mean of three: %+v", l)
	}
	if v.Sealing.Freedom < 2 || v.Coverage < 2 {
		t.Errorf("ν %g, k %g", v.Sealing.Freedom, v.Coverage)
	}
}

// With scatter and with every systematic error drawn from what the record states,
// the true mean lies within the expanded uncertainty in about 95 of 100 runs.
func TestCoverage(t *testing.T) {
	const runs = 300
	for _, c := range []struct {
		name   string
		change func(*scene)
	}{
		{"errors govern", func(s *scene) { s.valves = []truth{{"V", 0.5, 1.5, 1.2, 0.004, 0, 0}} }},
		{"scatter governs", func(s *scene) { s.valves = []truth{{"V", 0.5, 1.5, 1.2, 0.04, 0, 0}} }},
		{"gauge alone", func(s *scene) { s.run.Tube = nil; s.valves = []truth{{"V", 0.5, 1.5, 1.2, 0.01, 0, 0}} }},
	} {
		within, both := 0, 0
		for seed := range uint64(runs) {
			s := plainScene()
			s.seed, s.wrong, s.jitter = seed+1, true, 15
			s.top, s.rate, s.every = 2.6, 0.03, 2
			c.change(&s)
			res := reduce(t, s.build())
			v, rg := res.Valves[0], res.Density*res.Gravity
			for _, j := range []struct {
				th   valve.Threshold
				k    float64
				true float64
			}{{v.Sealing, v.Coverage, 1.5}, {v.LettingGo, v.LettingGoCoverage, 1.2}} {
				both++
				if math.Abs(j.th.Mean-rg*j.true) <= j.k*j.th.Uncertainty {
					within++
				}
			}
		}
		// sealing and letting-go of a run share errors: the standard deviation of the
		// share lies between √(p(1−p)/600) and √(p(1−p)/300) = 0.0120; three of the latter
		share := float64(within) / float64(both)
		t.Logf("%s: %.3f", c.name, share)
		if math.Abs(share-coverage) > 3*0.0120 {
			t.Errorf("%s: the truth lies within in %.1f %% of the runs, want 95.45 %%", c.name, 100*share)
		}
	}
}

// Looks bound a change: the middle is given, and the truth lies within half the
// width; repeating does not reduce it.
func TestLooks(t *testing.T) {
	s := plainScene()
	s.run.Gauge.Resolution, s.run.Tube.Resolution = 0, 0
	s.looks = 5 // 0.1 m
	s.valves = oneValve(1.5, 1.2)
	for _, n := range []int{1, 3, 9} {
		s.repeats = n
		res := reduce(t, s.build())
		v, rg := res.Valves[0], res.Density*res.Gravity
		h := v.Sealing.Head(res.Density, res.Gravity)
		near(t, "sealing head", h, 1.5, 0.05+1e-9)
		near(t, "letting-go head", v.LettingGo.Head(res.Density, res.Gravity), 1.2, 0.05+1e-9)
		near(t, "look", line(v.SealingBudget, "looks").Uncertainty, rg*0.1/math.Sqrt(12), 1e-6)
		if l := line(v.SealingBudget, "delay"); l.Quantity != "" {
			t.Error("a look has no delay")
		}
		if v.Sealing.HasScatter || !has(res, "bench.no-scatter") {
			t.Errorf("%d repeats: scatter %g seen through looks 0.1 m apart", n, v.Sealing.Scatter)
		}
		if !has(res, "bench.coverage") {
			t.Error("a rectangle is not normal, and nobody says so")
		}
		used := 0
		for _, m := range v.Marks {
			if m.Used {
				used++
			} else if m.Why == "" {
				t.Error("a mark is not used and nobody says why")
			}
		}
		if used != 4*n {
			t.Errorf("%d marks used, want the two around each of %d changes", used, 2*n)
		}
	}
}

func marked(seal, letGo float64, marks ...Seen) Run {
	s := plainScene()
	s.repeats = 1
	s.valves = oneValve(seal, letGo)
	r := s.build()
	r.Valves[0].Marks = marks
	return r
}

// atHead is when the water stands h above the seat of 0.5 m in plainScene's repeats.
func atHead(repeat int, h float64, rising bool) float64 {
	s := plainScene()
	p := s.path(nil)
	from := 0.0
	for range repeat - 1 {
		from += math.Ceil(p.length) + 1
	}
	if rising {
		return from + p.rise(0.5+h)
	}
	return from + p.fall(0.5+h)
}

// What cannot be known is said as such.
func TestBounds(t *testing.T) {
	look := func(t float64, tight bool) Seen { return Seen{Time: t, Kind: Look, Tight: tight} }
	head := func(res Result, th valve.Threshold) float64 { return th.Head(res.Density, res.Gravity) }

	t.Run("never tight: the highest head seen dripping, not the tube's top", func(t *testing.T) {
		res := reduce(t, marked(9, 8, look(atHead(1, 1, true), false), look(atHead(1, 2.5, true), false), look(atHead(1, 2, false), false)))
		v := res.Valves[0]
		if v.Sealing.Bound != valve.MoreThan || v.LettingGo.Bound != valve.NotApplicable || v.HasHysteresis {
			t.Fatalf("%+v", v)
		}
		near(t, "more than", head(res, v.Sealing), 2.5, 0.002)
		if !strings.Contains(v.Statement, "more than 2.50") {
			t.Error(v.Statement)
		}
	})
	t.Run("a leak collected is seen dripping", func(t *testing.T) {
		r := marked(9, 8, look(atHead(1, 1, true), false))
		r.Valves[0].Leaks = []Collected{{Time: atHead(1, 1.98, true), Volume: 1e-4, Over: 2}}
		res := reduce(t, r)
		near(t, "more than", head(res, res.Valves[0].Sealing), 2.0, 0.002)
	})
	t.Run("tight at the first look", func(t *testing.T) {
		res := reduce(t, marked(0.1, 0.05, look(atHead(1, 0.3, true), true), look(atHead(1, 1, true), true), look(atHead(1, 0.2, false), true)))
		v := res.Valves[0]
		if v.Sealing.Bound != valve.LessThan || v.LettingGo.Bound != valve.LessThan {
			t.Fatalf("%+v", v)
		}
		near(t, "less than", head(res, v.Sealing), 0.3, 0.002)
		near(t, "lets go below", head(res, v.LettingGo), 0.2, 0.002)
	})
	t.Run("tight in one of three repeats", func(t *testing.T) {
		s := plainScene()
		s.valves = oneValve(2.5, 2)
		r := s.build()
		r.Valves[0].Marks = []Seen{
			look(atHead(1, 2.9, true), false), {Time: atHead(2, 2.6, true), Tight: true}, {Time: atHead(2, 2, false)}, look(atHead(3, 3, true), false),
		}
		res := reduce(t, r)
		v := res.Valves[0]
		if v.Sealing.Bound != valve.MoreThan || v.LettingGo.Bound != valve.NotApplicable || !has(res, "bench.not-always-tight") {
			t.Fatalf("%+v %v", v, res.Findings)
		}
		near(t, "more than", head(res, v.Sealing), 3, 0.002)
		if !strings.Contains(v.Statement, "1 of 3 repeats") {
			t.Error(v.Statement)
		}
	})
	t.Run("a falling mark after the water had left the seat", func(t *testing.T) {
		s := plainScene()
		late := s.path(nil).fall(0.45)
		res := reduce(t, marked(0.2, 0.1, Seen{Time: atHead(1, 0.2, true) + 1.2, Tight: true}, Seen{Time: late}))
		v := res.Valves[0]
		if v.LettingGo.Bound != valve.Unknown || !has(res, "bench.mark-not-used") || v.Marks[1].Used || !strings.Contains(v.Marks[1].Why, "left the seat") {
			t.Fatalf("%+v\n%v", v, res.Findings)
		}
	})
	t.Run("one repeat, no pooled scatter", func(t *testing.T) {
		r := marked(1.5, 1.2, Seen{Time: atHead(1, 1.5, true) + 1.2, Tight: true})
		res := reduce(t, r)
		if v := res.Valves[0]; v.Sealing.HasScatter || !has(res, "bench.no-scatter") || v.Sealing.Repeats != 1 || !strings.Contains(v.Statement, "not known") {
			t.Fatalf("%+v", v)
		}
		r.Pooled = &Pooled{Scatter: 300, Freedom: 12, Source: "six runs of 2026"}
		res = reduce(t, r)
		v := res.Valves[0]
		if !v.Sealing.HasScatter || v.Sealing.Scatter != 300 || line(v.SealingBudget, "shutting").Freedom != 12 || v.Sealing.Uncertainty < 300 {
			t.Fatalf("%+v", v)
		}
	})
	t.Run("no marks", func(t *testing.T) {
		res := reduce(t, marked(1, 0.5))
		if v := res.Valves[0]; v.Sealing.Bound != valve.Unknown || !has(res, "bench.no-marks") {
			t.Fatalf("%+v", v)
		}
	})
	t.Run("tight, then dripping again, then tight", func(t *testing.T) {
		res := reduce(t, marked(1, 0.5, Seen{Time: atHead(1, 1, true) + 1.2, Tight: true}, look(atHead(1, 1.5, true), false), Seen{Time: atHead(1, 2, true) + 1.2, Tight: true}))
		near(t, "sealing", head(res, res.Valves[0].Sealing), 2, 0.002)
		if !has(res, "bench.dripped-again") {
			t.Error(res.Findings)
		}
	})
	t.Run("marks exchanged", func(t *testing.T) {
		_, err := Reduce(marked(1, 0.5, Seen{Time: atHead(1, 0.5, true) + 1.2, Tight: true}, Seen{Time: atHead(1, 1, false) + 1.2}))
		var faults document.Faults
		if !errors.As(err, &faults) || !strings.Contains(err.Error(), "letting-go above sealing") {
			t.Fatal(err)
		}
	})
	t.Run("no hysteresis within the uncertainty", func(t *testing.T) {
		res := reduce(t, marked(1, 0.5, Seen{Time: atHead(1, 1, true) + 1.2, Tight: true}, Seen{Time: atHead(1, 1.004, false) + 1.2}))
		v := res.Valves[0]
		if !has(res, "bench.no-hysteresis") || v.Hysteresis != 0 || v.Sealing.Mean != v.LettingGo.Mean {
			t.Fatalf("%+v %v", v, res.Findings)
		}
		if ps := valve.Check(Records(res)[0]); len(ps) > 0 {
			t.Fatal(ps)
		}
	})
}

// Gauge and tube are combined by inverse variance; where they differ by more than
// their uncertainties, a finding says so and the budget holds the difference.
func TestGaugeAgainstTube(t *testing.T) {
	s := plainScene()
	s.valves = oneValve(1.5, 1.2)
	r := s.build()
	f, err := newFrame(&r)
	if err != nil {
		t.Fatal(err)
	}
	a, b := 1/(f.gaugeU*f.gaugeU), 1/(f.tubeU*f.tubeU)
	near(t, "weight of the gauge", f.weight, a/(a+b), 1e-12)
	o, _ := f.observe(60)
	near(t, "combined u", f.uncertainty(o), 1/math.Sqrt(a+b), 1e-9)
	if has(reduce(t, r), "bench.instruments-differ") {
		t.Error("they differ, and should not")
	}
	for i := range r.Samples {
		r.Samples[i].Gauge += 600
	}
	res := reduce(t, r)
	if !has(res, "bench.instruments-differ") || line(res.Valves[0].SealingBudget, "gauge against tube").Contribution == 0 {
		t.Errorf("600 Pa apart: %v", res.Findings)
	}
}

// The correction's sign: a certificate's correction is added, its error taken off.
func TestCorrectionSign(t *testing.T) {
	c := Certificate{Corrections: []Correction{{0, 10}, {1000, 30}}}
	for at, want := range map[float64]float64{-5: 10, 0: 10, 500: 20, 1000: 30, 2000: 30} {
		near(t, fmt.Sprint(at), c.added(at), want, 1e-12)
	}
	if !c.beyond(-5) || c.beyond(500) || !c.beyond(1001) {
		t.Error("the certificate's range")
	}
}

func TestLeakCurve(t *testing.T) {
	s := plainScene()
	s.rate, s.hold = 0.02, 40
	s.holds = []float64{0.6, 0.9, 1.2, 1.5, 1.8, 2.3}
	s.valves = []truth{{name: "V", seat: 0.5, seal: 2.0, letGo: 1.6, leakMost: 40e-6, leakPow: 0.8}}
	r := s.build()
	res := reduce(t, r)
	v := res.Valves[0]
	if len(v.Leaks) != 6 || len(v.Leak) == 0 {
		t.Fatalf("%d leaks, %d points", len(v.Leaks), len(v.Leak))
	}
	rec := Records(res)[0]
	if ps := valve.Check(rec); len(ps) > 0 {
		t.Fatal(ps)
	}
	rg := res.Density * res.Gravity
	for h := 0.1; h < 2; h += 0.05 {
		near(t, fmt.Sprintf("leak at %.2f m", h), rec.LeakFlow(h*rg), s.valves[0].leak(h), 2.2e-6)
	}
	if rec.LeakFlow(2.05*rg) != 0 || rec.LeakFlow(0) != 0 {
		t.Error("the curve does not end at the seat and at the sealing head")
	}
}

// A sum of squares no larger can be had by no curve of the shape: compared with all
// two-value curves of brute force on small cases, and exact on data that have it.
func TestUnimodal(t *testing.T) {
	mk := func(q ...float64) []LeakReading {
		var l []LeakReading
		for i, f := range q {
			l = append(l, LeakReading{Pressure: float64(i+1) * 100, Flow: f, Uncertainty: 1})
		}
		return l
	}
	flows := func(p []valve.LeakPoint) string {
		var s []string
		for _, x := range p {
			s = append(s, fmt.Sprintf("%g@%g", x.Flow, x.Pressure))
		}
		return strings.Join(s, " ")
	}
	for _, c := range []struct {
		in   []float64
		want string
	}{
		{[]float64{1, 3, 2}, "1@100 3@200 2@300"},
		{[]float64{2, 1, 5, 4}, "1.5@150 5@300 4@400"},    // pooled on the way up
		{[]float64{1, 6, 2, 4}, "1@100 6@200 3@350"},      // pooled on the way down
		{[]float64{5, 1, 2, 6, 0}, "2.5@200 6@400 0@500"}, // (5+1)/2 = 3 > 2, so (5+1+2)/3 … see below
	} {
		got := flows(unimodal(mk(c.in...)))
		if c.in[0] == 5 { // by hand: 5, 1, 2 pool to 8/3 at 200
			c.want = fmt.Sprintf("%g@200 6@400 0@500", 8.0/3)
		}
		if got != c.want {
			t.Errorf("%v: %s, want %s", c.in, got, c.want)
		}
	}
}

func TestRecordsOfEveryKind(t *testing.T) {
	s := plainScene()
	s.jitter = 10
	s.holds, s.hold = []float64{0.7, 1.2, 2.0, 3.0}, 30
	s.valves = []truth{
		{"A", 0.5, 0.15, 0.1, 0.005, 2e-5, 1}, {"B", 0.52, 0.9, 0.7, 0.02, 3e-5, 1}, {"C", 0.51, 2.5, 2, 0.03, 4e-5, 1}, {"D", 0.5, 0, 0, 0, 5e-5, 1},
	}
	res := reduce(t, s.build())
	recs := Records(res)
	if len(recs) != 4 {
		t.Fatal(len(recs))
	}
	for i, r := range recs {
		if ps := valve.Check(r); len(ps) > 0 {
			t.Errorf("%s: %v", r.Name, ps)
		}
		if _, faults := valve.Parse(r.Name, valve.Format(r)); faults.Err() != nil {
			t.Error(faults)
		}
		if math.Abs(r.Sealing.Mean-res.Valves[i].Sealing.Mean) > r.Sealing.Uncertainty/100 {
			t.Errorf("%s: rounded from %g to %g", r.Name, res.Valves[i].Sealing.Mean, r.Sealing.Mean)
		}
		t.Log(r.Name, res.Valves[i].Statement)
	}
	for _, f := range res.Findings {
		t.Log(f)
	}
}

func BenchmarkReduce(b *testing.B) {
	s := plainScene()
	s.valves = []truth{{"A", 0.5, 0.15, 0.1, 0.005, 0, 0}, {"B", 0.52, 0.9, 0.7, 0.02, 0, 0}, {"C", 0.51, 2.5, 2, 0.03, 0, 0}}
	r := s.build()
	for b.Loop() {
		if _, err := Reduce(r); err != nil {
			b.Fatal(err)
		}
	}
}
