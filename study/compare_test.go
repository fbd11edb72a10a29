package study

import (
	"context"
	"fmt"
	"math"
	"os"
	"reflect"
	"runtime"
	"slices"
	"strings"
	"testing"

	"obvert/engine/costing"
	"obvert/engine/sealing"
	"obvert/line"
	"obvert/physics/valve"
)

// comparedDemo compares types on a demo line.
func comparedDemo(t *testing.T, name string, records ...string) (*Comparison, Source) {
	t.Helper()
	src, faults := Load(os.DirFS("../demo/"+name), nil)
	if faults.Err() != nil {
		t.Fatal(faults)
	}
	c, err := Compare(context.Background(), src, records, Options{})
	if err != nil {
		t.Fatal(err)
	}
	return c, src
}

// A comparison's figures are those of each type studied by itself.
func TestComparedIsStudied(t *testing.T) {
	for _, demo := range []string{"flat-irrigation", "ridge", "twin"} {
		names := []string{"Cedar 80", "Alder 80", "Elder 80", "Dogwood 80"}
		c, src := comparedDemo(t, demo, names...)
		for i, n := range names {
			one := src
			one.Line = withType(src.Line, slices.IndexFunc(src.Line.Rack, func(r valve.Record) bool { return r.Name == n }))
			r, err := Solve(context.Background(), one, Options{})
			if err != nil {
				t.Fatal(err)
			}
			q := &c.Types[i]
			if q.Name != n {
				t.Errorf("%s: type %d is %s, want %s", demo, i, q.Name, n)
			}
			for k := range r.Line.Cases {
				if got := statesOf(r.Sealing.Valves, k); got != q.Counts[k] {
					t.Errorf("%s, %s: case %d: %+v, alone %+v", demo, n, k, q.Counts[k], got)
				}
			}
			day, rate := 0.0, 0.0
			for _, k := range r.StandingCases {
				sum, leak := 0.0, 0.0
				for _, x := range r.Rests {
					if x.Case == k {
						sum += x.PerDay
					}
				}
				for j := range r.Sealing.Valves {
					leak += r.Sealing.Valves[j].Cells[k].Leak
				}
				day, rate = max(day, sum), max(rate, leak)
			}
			if q.PerDay.Value != day || math.Abs(q.Leak.Value-rate) > 1e-15 {
				t.Errorf("%s, %s: leak %g m³/s, %g m³ a day; alone %g, %g", demo, n, q.Leak.Value, q.PerDay.Value, rate, day)
			}
			if q.Chance.Value != r.Drawn.Ever.Drips.P {
				t.Errorf("%s, %s: chance %g, alone %g", demo, n, q.Chance.Value, r.Drawn.Ever.Drips.P)
			}
			if w := r.Ways; w != nil && q.Running.Known {
				accept := slices.IndexFunc(w.Ways, func(x costing.Way) bool { return x.Kind == costing.AcceptLeak })
				if got := w.Ways[accept].PresentValue; got != q.Running.Value {
					t.Errorf("%s, %s: running costs %g, alone %g", demo, n, q.Running.Value, got)
				}
			}
			fails := 0
			for _, f := range r.Findings {
				if f.Severity == Fails {
					fails++
				}
			}
			for _, f := range q.Fails {
				fails -= f.Count
			}
			if fails != 0 {
				t.Errorf("%s, %s: %d failures more alone", demo, n, fails)
			}
		}
	}
}

// The order of the names changes nothing but the order; nor does the number of cores.
func TestComparedInAnyOrder(t *testing.T) {
	there, _ := comparedDemo(t, "flat-irrigation", "Alder 80", "Birch 80", "Cedar 80")
	procs := runtime.GOMAXPROCS(1)
	back, _ := comparedDemo(t, "flat-irrigation", "Cedar 80", "Birch 80", "Alder 80")
	again, _ := comparedDemo(t, "flat-irrigation", "Alder 80", "Birch 80", "Cedar 80")
	runtime.GOMAXPROCS(procs)
	there.results, back.results, again.results = nil, nil, nil
	if !reflect.DeepEqual(there, again) {
		t.Error("one core and several give different comparisons")
	}
	slices.Reverse(back.Types)
	if !reflect.DeepEqual(there.Types, back.Types) {
		t.Errorf("in the other order:\n%+v\n%+v", there.Types, back.Types)
	}
	for i := range there.Places {
		p, q := there.Places[i], back.Places[i]
		slices.Reverse(q.Cells)
		if q.Best >= 0 {
			q.Best = 2 - q.Best
		}
		if !reflect.DeepEqual(p, q) {
			t.Errorf("in the other order:\n%+v\n%+v", p, q)
		}
	}
	texts := func(c *Comparison) (all []string) {
		for _, p := range c.Pairs {
			all = append(all, p.Text)
		}
		slices.Sort(all)
		return all
	}
	if !slices.Equal(texts(there), texts(back)) {
		t.Errorf("in the other order:\n%q\n%q", texts(there), texts(back))
	}
}

// A type and its copy cannot be told apart, and are alike in every figure.
func TestCopyCannotBeToldApart(t *testing.T) {
	src, faults := Load(os.DirFS("../demo/flat-irrigation"), nil)
	if faults.Err() != nil {
		t.Fatal(faults)
	}
	l := *src.Line
	l.Rack = slices.Clone(l.Rack)
	twin := l.Rack[2]
	twin.Name = "Cedar 80 again"
	l.Rack = append(l.Rack, twin)
	src.Line = &l
	c, err := Compare(context.Background(), src, []string{l.Rack[2].Name, twin.Name, l.Rack[0].Name}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	p := c.pair(0, 1)
	if p.Apart || !p.Same || !strings.Contains(p.Text, "cannot be told apart") {
		t.Errorf("%+v", p)
	}
	if q := c.pair(0, 2); !q.Apart || q.Same {
		t.Errorf("%+v", q)
	}
	a, b := c.Types[0], c.Types[1]
	b.Name, b.Record = a.Name, a.Record
	if !reflect.DeepEqual(a, b) {
		t.Errorf("the copy differs:\n%+v\n%+v", a, b)
	}
	for _, s := range c.Best {
		if slices.Contains(s.Types, 0) != slices.Contains(s.Types, 1) {
			t.Errorf("%+v", s)
		}
	}
	if !strings.Contains(c.Answer[2].Rest, "cannot be told apart: Cedar 80 and Cedar 80 again") {
		t.Errorf("answer %+v", c.Answer[2])
	}
}

// A valve that shuts at less head, and until then leaks nine tenths of what the other does, never leaks more: the tenth is for the cubic's bulge between the points.
func TestLessHeadNeverLeaksMore(t *testing.T) {
	src, faults := Load(os.DirFS("../demo/flat-irrigation"), nil)
	if faults.Err() != nil {
		t.Fatal(faults)
	}
	for _, to := range []float64{0.05, 0.1, 0.2, 0.3, 0.4, 0.55, 0.7, 0.75, 0.85, 0.95, 1} {
		l := *src.Line
		high := l.Rack[2] // Cedar 80
		low := high
		low.Name = "Lower"
		low.Sealing.Mean *= to
		low.LettingGo.Mean = min(high.LettingGo.Mean, low.Sealing.Mean)
		low.Leak = nil
		for _, p := range high.Leak {
			if p.Flow *= 0.9; p.Pressure < low.Sealing.Mean {
				low.Leak = append(low.Leak, p)
			}
		}
		low.Leak = append(low.Leak, valve.LeakPoint{Pressure: low.Sealing.Mean, Flow: 0})
		l.Rack = []valve.Record{high, low}
		one := src
		one.Line = &l
		c, err := Compare(context.Background(), one, []string{"Lower", high.Name}, Options{})
		if err != nil {
			t.Fatal(err)
		}
		a, b := c.Types[0], c.Types[1]
		if a.Leak.Value > b.Leak.Value+1e-15 || a.PerDay.Value > b.PerDay.Value+1e-9 || a.Dripping.Value > b.Dripping.Value || a.PitDays.Value > b.PitDays.Value {
			t.Errorf("at %.2f of the head: leak %g over %g, %g m³ a day over %g, %g drip over %g", to, a.Leak.Value, b.Leak.Value, a.PerDay.Value, b.PerDay.Value, a.Dripping.Value, b.Dripping.Value)
		}
		for i := range c.Places {
			if x, y := c.Places[i].Cells[0], c.Places[i].Cells[1]; y.All && !x.All {
				t.Errorf("place %d: the lower one is not tight where the higher is", i)
			}
		}
	}
}

// By hand, on the flat line of this package: V's seat stands 0.3 m over the obvert at 10 m, the tank at 12.3 m, so that 2 m stand at it when the pumps do not run.
//
//	High shuts at 3 m and leaks 10 mL/s at 1.5 m, none at 0 and 3 m. Between the last two points the monotone cubic, flat at its top and at its end with the slope of
//	the chord, 10/1.5 mL/s a metre: a third of the way, at 2 m, (2/27 − 3/9 + 1)·10 + (1/9 − 1/27)·10 = 7.407 + 0.741 = 8.148 mL/s = 29.33 L/h; and, with no hours
//	given, 24 h a day: 704.0 L. One pit, 365 days a year. Low shuts at 0.2 m: nothing.
//	Their sealing heads differ by 2.8 m; each is uncertain by 100 Pa, the difference by 2.00 · 100·√2 Pa = 283 Pa = 0.029 m.
func TestComparedByHand(t *testing.T) {
	low, high := record("Low", 0.2), record("High", 3)
	low.Price, low.Currency = 900, "EUR"
	high.Price, high.Currency = 600, "EUR"
	src, faults := Load(flat("Low"), []valve.Record{low, high})
	if faults.Err() != nil {
		t.Fatal(faults)
	}
	c, err := Compare(context.Background(), src, []string{"Low", "High"}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	near := func(what string, got, want, within float64) {
		t.Helper()
		if !(math.Abs(got-want) <= within) {
			t.Errorf("%s: %g, want %g", what, got, want)
		}
	}
	l, h := &c.Types[0], &c.Types[1]
	near("head", c.Places[0].Lowest, 2, 1e-9)
	// The record's heads are made with 9,806.65 Pa/m, the line's water is a little lighter: a per mille.
	near("leak", h.Leak.Value*3600e3, 29.33, 0.1)
	near("a day", h.PerDay.Value*1000, 704, 2)
	near("pit days", h.PitDays.Value, 365, 0)
	near("Low's leak", l.Leak.Value, 0, 0)
	near("Low's pit days", l.PitDays.Value, 0, 0)
	near("difference", c.Pairs[0].Difference, 2.8, 0.005)
	near("its uncertainty", c.Pairs[0].Expanded, 0.0289, 2e-4)
	near("margin", c.Places[0].Cells[1].Margin, -1, 0.005)
	if v := c.Places[0].Cells; v[0].Verdict != StaysTight || v[1].Verdict != DripsStanding || c.Places[0].Best != 0 && v[0].Enough {
		t.Errorf("%+v", c.Places[0])
	}
	near("bought", h.Bought.Value, 600, 0)
	near("Low, bought and run", l.Whole.Value, 900, 0)
	if h.Whole.Known || !strings.Contains(h.Whole.Why, "water") {
		t.Errorf("without a price of water: %+v", h.Whole)
	}
}

// A line that names no currency takes that of the prices, if it is one; in two currencies nothing is compared, and the sentence says so.
func TestComparedCurrency(t *testing.T) {
	low, high := record("Low", 0.2), record("High", 3)
	low.Price, low.Currency = 900, "EUR"
	for currency, want := range map[string]string{"EUR": "EUR", "CHF": ""} {
		high.Price, high.Currency = 600, currency
		fs := flat("Low")
		doc, _, _ := strings.Cut(string(fs["line.toml"].Data), "[prices]")
		_, rest, _ := strings.Cut(string(fs["line.toml"].Data), "[[station]]")
		fs["line.toml"].Data = []byte(doc + "[[station]]" + rest)
		src, faults := Load(fs, []valve.Record{low, high})
		if faults.Err() != nil {
			t.Fatal(faults)
		}
		c, err := Compare(context.Background(), src, []string{"Low", "High"}, Options{})
		if err != nil {
			t.Fatal(err)
		}
		l := &c.Types[0]
		if c.Currency != want || l.Price.Known != (want != "") || l.Whole.Unit != want {
			t.Errorf("beside a price in %s: in %q, Low's price %+v, whole life %+v", currency, c.Currency, l.Price, l.Whole)
		}
		money := c.Answer[2]
		if text := money.Lead + " " + money.Rest; strings.Contains(text, "900") != (want != "") || want != "" && !strings.Contains(text, "900\u00a0EUR") {
			t.Errorf("beside a price in %s: %s", currency, text)
		}
		if want == "" && !strings.Contains(l.Price.Why, "EUR") {
			t.Errorf("why: %s", l.Price.Why)
		}
	}
}

// What was not measured makes no figure.
func TestComparedNotKnown(t *testing.T) {
	c, _ := comparedDemo(t, "ridge", "Alder 80", "Elder 80")
	e := &c.Types[1]
	for what, m := range map[string]Measure{"drained": e.Drained, "slam": e.Slam, "cost": e.Yearly, "whole": e.Whole, "water": e.Water} {
		if m.Known || m.Why == "" {
			t.Errorf("%s of a valve never seen tight: %+v", what, m)
		}
	}
	if !e.Leak.Least || !e.Dripping.Least || !e.PitDays.Least {
		t.Errorf("%+v, %+v, %+v", e.Leak, e.Dripping, e.PitDays)
	}
	for _, b := range c.Best {
		if b.Of == "lowest whole-life cost" && !slices.Equal(b.Unknown, []int{1}) {
			t.Errorf("%+v", b)
		}
	}
}

// Types that cannot be compared are refused, all faults at once.
func TestCompareRefuses(t *testing.T) {
	src, _ := Load(flat("Low"), []valve.Record{record("Low", 0.2), record("High", 3)})
	for _, c := range []struct {
		names []string
		want  []string
	}{
		{[]string{"Low"}, []string{"1 types to compare: name 2 to 6"}},
		{[]string{"Low", "Low"}, []string{"named twice"}},
		{[]string{"Low", "Hihg", "Lwo"}, []string{`"High"`, `"Low"`}},
		{make([]string, 7), []string{"7 types"}},
	} {
		_, err := Compare(context.Background(), src, c.names, Options{})
		for _, w := range c.want {
			if err == nil || !strings.Contains(err.Error(), w) {
				t.Errorf("%q: %v, want %s", c.names, err, w)
			}
		}
	}
}

// The verdicts are ordered as they are told: what decides at a place is the worst.
func TestComparedVerdicts(t *testing.T) {
	rack := []valve.Record{record("A", 1)}
	s := &solver{l: &line.Line{Rack: rack}, res: &Result{StandingCases: []int{0, 1}}}
	for i, c := range []struct {
		cells []sealing.Cell
		want  Verdict
		of    int
	}{
		{[]sealing.Cell{{State: sealing.Tight, Rule: sealing.Rising, Head: 2}, {State: sealing.Tight, Rule: sealing.Falling, Head: 1.5}}, StaysTight, 1},
		{[]sealing.Cell{{State: sealing.Tight, Rule: sealing.Rising, Head: 2}, {State: sealing.Tight, Rule: sealing.Falling, Head: 0.95}}, OnlyIfShut, 1},
		{[]sealing.Cell{{State: sealing.Drips, Head: 0.5}, {State: sealing.Empty}}, DripsStanding, 0},
		{[]sealing.Cell{{State: sealing.Empty}, {State: sealing.Tight, Head: 2}}, NoWater, 0},
		{[]sealing.Cell{{State: sealing.Unrated, Head: 2}, {State: sealing.Open}}, NotJudged, 0},
	} {
		s.res.Sealing.Valves = []sealing.ValveResult{{Sealing: 1, Cells: c.cells}}
		got := s.comparedCell(0, 0)
		if got.Verdict != c.want || got.Case != c.of {
			t.Errorf("%d: %s in %d, want %s in %d", i, got.Verdict, got.Case, c.want, c.of)
		}
	}
	for v := StaysTight; v <= DripsStanding; v++ {
		if fmt.Sprint(v) == "" {
			t.Errorf("verdict %d has no word", v)
		}
	}
}
