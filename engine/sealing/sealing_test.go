package sealing

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"obvert/physics/valve"
)

const (
	rho = 1000.0  // kg/m³, round figure of these tests
	g   = 9.80665 // m/s², standard gravity (ISO 80000-3)
)

// metres makes a measured threshold from heads in metres.
func metres(mean, uncertainty, scatter float64) valve.Threshold {
	return valve.Threshold{Bound: valve.Measured, Mean: mean * rho * g, Uncertainty: uncertainty * rho * g, Scatter: scatter * rho * g, HasScatter: true}
}

func bounded(b valve.Bound, mean float64) valve.Threshold {
	return valve.Threshold{Bound: b, Mean: mean * rho * g, HasScatter: true}
}

// record is an invented valve that shuts at s and lets go at l (m).
func record(s, l float64) valve.Record {
	return valve.Record{Name: "invented", Sealing: metres(s, 0, 0), LettingGo: metres(l, 0, 0), AdmitsAir: true}
}

// lineOf stands every valve's seat at level 0 and gives it one head per case, so that levels are heads.
func lineOf(rack []valve.Record, cases ...[]float64) Input {
	in := Input{Density: rho, Gravity: g, Rack: rack}
	for i := range cases[0] {
		in.Valves = append(in.Valves, Valve{Name: string(rune('A' + i)), Chainage: float64(100 * i), Record: i % len(rack), AdmitsAir: true})
	}
	for k, heads := range cases {
		c := Case{Name: string(rune('1' + k)), Standing: k%2 == 1}
		for _, h := range heads {
			c.At = append(c.At, At{Level: h, Group: -1})
		}
		in.Cases = append(in.Cases, c)
	}
	return in
}

func solve(t testing.TB, in Input) Result {
	t.Helper()
	res, err := Solve(context.Background(), in)
	if err != nil {
		t.Fatal(err)
	}
	for i := range res.Valves {
		for _, c := range res.Valves[i].Cells {
			for _, x := range []float64{c.Head, c.Needed, c.Margin, c.Sigma, c.Probability, c.Leak} {
				if math.IsNaN(x) || math.IsInf(x, 0) {
					t.Fatalf("valve %d: not finite: %+v", i, c)
				}
			}
		}
	}
	return res
}

func hasNote(res Result, id string) bool {
	for _, n := range res.Notes {
		if n.ID == id {
			return true
		}
	}
	return false
}

// A flat line with 2 m of static head: a valve that seals at 0.2 m stays drip-tight when the pumps stop, one that needs
// 3 m leaks. Common practice, no source.
func TestFlatLineOfTwoMetres(t *testing.T) {
	res := solve(t, lineOf([]valve.Record{record(0.2, 0.15), record(3, 2.5)}, []float64{12, 12}, []float64{2, 2}))
	if c := res.Valves[0].Cells[1]; c.State != Tight || c.Rule != Falling || c.Probability != 0 {
		t.Errorf("sealing at 0.2 m: %+v", c)
	}
	if c := res.Valves[1].Cells[1]; c.State != Drips || math.Abs(c.Margin+0.5) > 1e-12 || c.Probability != 1 {
		t.Errorf("needing 3 m: %+v", c)
	}
	if res.Valves[1].Worst != 1 {
		t.Errorf("worst case %d, want the standing one", res.Valves[1].Worst)
	}
}

// Same valve, same head, two histories, two answers.
func TestMemory(t *testing.T) {
	rack := []valve.Record{record(3, 2.5)}
	shutBefore := solve(t, lineOf(rack, []float64{3.1}, []float64{2.7})).Valves[0].Cells[1]
	neverShut := solve(t, lineOf(rack, []float64{2.9}, []float64{2.7})).Valves[0].Cells[1]
	if shutBefore.State != Tight || shutBefore.Rule != Falling || math.Abs(shutBefore.Needed-2.5) > 1e-12 {
		t.Errorf("shut before: %+v", shutBefore)
	}
	if neverShut.State != Drips || neverShut.Rule != Rising || math.Abs(neverShut.Needed-3) > 1e-12 {
		t.Errorf("not shut before: %+v", neverShut)
	}
	// Memory is lost by dripping …
	if c := solve(t, lineOf(rack, []float64{3.1}, []float64{2.4}, []float64{2.7})).Valves[0].Cells[2]; c.State != Drips || c.Rule != Rising {
		t.Errorf("after dripping: %+v", c)
	}
	// … and by air, or by standing empty.
	for _, w := range []Wetness{InAir, Dry} {
		in := lineOf(rack, []float64{3.1}, []float64{0}, []float64{2.7})
		in.Cases[1].At[0] = At{Wetness: w, Group: -1}
		if c := solve(t, in).Valves[0].Cells[2]; c.State != Drips || c.Rule != Rising || c.Probability != 1 {
			t.Errorf("after wetness %d: %+v", w, c)
		}
	}
	// Exactly the sealing head shuts, exactly the letting-go head holds.
	res := solve(t, lineOf([]valve.Record{{Sealing: valve.Threshold{Bound: valve.Measured, Mean: rho * g, HasScatter: true},
		LettingGo: valve.Threshold{Bound: valve.Measured, Mean: 0.5 * rho * g, HasScatter: true}}}, []float64{1}, []float64{0.5}))
	for k, c := range res.Valves[0].Cells {
		if c.State != Tight || c.Probability != 0 {
			t.Errorf("case %d, just enough: %+v", k, c)
		}
	}
}

func TestPlaces(t *testing.T) {
	rack := []valve.Record{record(1, 0.8)}
	rack[0].Rating = 5 * rho * g
	for _, c := range []struct {
		name  string
		at    At
		valve Valve
		want  State
		head  float64
		note  string
	}{
		{"part full under air", At{Wetness: InAir}, Valve{AdmitsAir: true}, Open, 0, ""},
		{"no water", At{Wetness: Dry}, Valve{AdmitsAir: true}, Empty, 0, ""},
		{"surface in the riser, below the seat", At{Level: 0.3}, Valve{Seat: 0.4, AdmitsAir: true}, Open, 0, ""},
		{"suction, no air comes in", At{Wetness: UnderSuction, Level: -2}, Valve{}, Unrated, -2, "sealing.under-suction"},
		{"suction, but it admits air", At{Wetness: UnderSuction, Level: -2}, Valve{AdmitsAir: true}, Open, 0, "sealing.admits-under-suction"},
		{"isolated", At{Level: 0.3}, Valve{Isolated: true}, Tight, 0.3, "sealing.isolated"},
		{"isolated in a slack pipe", At{Wetness: InAir}, Valve{Isolated: true}, Empty, 0, "sealing.isolated"},
		{"no type chosen", At{Level: 3}, Valve{Record: -1}, Unrated, 3, ""},
		{"the seat's height counts, not the obvert's", At{Level: 1.1}, Valve{Seat: 0.4}, Drips, 0.7, ""},
	} {
		c.at.Group = -1
		in := Input{Density: rho, Gravity: g, Rack: rack, Valves: []Valve{c.valve}, Cases: []Case{{Name: "case", At: []At{c.at}}}}
		res := solve(t, in)
		got := res.Valves[0].Cells[0]
		if got.State != c.want || math.Abs(got.Head-c.head) > 1e-12 || c.note != "" && !hasNote(res, c.note) {
			t.Errorf("%s: %v at %g m, notes %v; want %v at %g m, note %q", c.name, got.State, got.Head, res.Notes, c.want, c.head, c.note)
		}
	}
	res := solve(t, lineOf(rack, []float64{5.1}))
	if !res.Valves[0].Cells[0].OverRating {
		t.Error("5.1 m on a valve rated for 5 m is not over its rating")
	}
}

func TestBounds(t *testing.T) {
	for _, c := range []struct {
		name             string
		seal, letGo      valve.Threshold
		before, head     float64
		want             State
		rule             Rule
		needed, probable float64
		note             string
	}{
		{"never tight up to 5 m, at 4 m", bounded(valve.MoreThan, 5), bounded(valve.NotApplicable, 0), 0, 4, Drips, Rising, 5, 1, ""},
		{"never tight up to 5 m, at 5 m", bounded(valve.MoreThan, 5), bounded(valve.NotApplicable, 0), 0, 5, Drips, Rising, 5, 1, ""},
		{"never tight up to 5 m, at 6 m", bounded(valve.MoreThan, 5), bounded(valve.NotApplicable, 0), 0, 6, Unrated, Rising, 5, 0, "sealing.beyond-bench"},
		{"never tight, after 6 m at 4 m", bounded(valve.MoreThan, 5), bounded(valve.NotApplicable, 0), 6, 4, Drips, Rising, 5, 1, ""},
		{"tight at the first look, above it", bounded(valve.LessThan, 0.5), bounded(valve.Unknown, 0), 0, 0.6, Tight, Rising, 0.5, 0, ""},
		{"tight at the first look, below it", bounded(valve.LessThan, 0.5), bounded(valve.Unknown, 0), 0, 0.4, Unrated, Rising, 0.5, 0, "sealing.below-bench"},
		{"letting-go not known: judged by the sealing head", metres(1, 0, 0), bounded(valve.Unknown, 0), 2, 0.9, Drips, Rising, 1, 1, "sealing.no-letting-go"},
		{"let go above a bound: judged by the sealing head", metres(1, 0, 0), bounded(valve.MoreThan, 0.6), 2, 0.9, Drips, Rising, 1, 1, "sealing.no-letting-go"},
		{"still tight at the last look, above it", metres(1, 0, 0), bounded(valve.LessThan, 0.6), 2, 0.7, Tight, Falling, 0.6, 0, ""},
		{"still tight at the last look, below it", metres(1, 0, 0), bounded(valve.LessThan, 0.6), 2, 0.5, Unrated, Falling, 0.6, 0, "sealing.below-bench"},
		{"not measured", bounded(valve.Unknown, 0), bounded(valve.Unknown, 0), 2, 2, Unrated, NoRule, 0, 0, "sealing.not-measured"},
	} {
		res := solve(t, lineOf([]valve.Record{{Name: "r", Sealing: c.seal, LettingGo: c.letGo}}, []float64{c.before}, []float64{c.head}))
		got := res.Valves[0].Cells[1]
		if got.State != c.want || got.Rule != c.rule || math.Abs(got.Needed-c.needed) > 1e-9 || got.Probability != c.probable {
			t.Errorf("%s: %v by rule %d, needs %g m, probability %g; want %v, %d, %g m, %g", c.name,
				got.State, got.Rule, got.Needed, got.Probability, c.want, c.rule, c.needed, c.probable)
		}
		if c.note != "" && !hasNote(res, c.note) {
			t.Errorf("%s: no note %s in %v", c.name, c.note, res.Notes)
		}
		if c.want == Unrated && !hasNote(res, "sealing.any-incomplete") {
			t.Errorf("%s: nothing says that the probability of any leaves it out", c.name)
		}
	}
}

func TestLeak(t *testing.T) {
	r := record(2, 1.5)
	r.Leak = []valve.LeakPoint{{Pressure: 0.5 * rho * g, Flow: 1e-5}, {Pressure: 1 * rho * g, Flow: 3e-5}, {Pressure: 1.5 * rho * g, Flow: 1e-5}}
	never := valve.Record{Name: "never", Sealing: bounded(valve.MoreThan, 5), Leak: []valve.LeakPoint{{Pressure: rho * g, Flow: 2e-5}}}
	res := solve(t, lineOf([]valve.Record{r, never, record(2, 1.5)}, []float64{1, 3, 1}))
	if c := res.Valves[0].Cells[0]; !c.HasLeak || math.Abs(c.Leak-3e-5) > 1e-18 {
		t.Errorf("at a point of the curve: %+v", c)
	}
	if c := res.Valves[1].Cells[0]; c.HasLeak || c.Leak != 0 || !hasNote(res, "sealing.leak-beyond-curve") {
		t.Errorf("beyond the curve: %+v", c)
	}
	if c := res.Valves[2].Cells[0]; c.HasLeak || !hasNote(res, "sealing.no-leak-curve") {
		t.Errorf("no curve: %+v", c)
	}
}

func TestCheckFindsAllFaults(t *testing.T) {
	in := lineOf([]valve.Record{record(1, 2)}, []float64{1, 1}, []float64{1, 1})
	in.Density = 0
	in.Gravity = math.NaN()
	in.Uncertainty.Datum = -1
	in.Valves[0].Record = 7
	in.Valves[0].Chainage = 500
	in.Valves[1].Seat = math.Inf(1)
	in.Cases[0].At = in.Cases[0].At[:1]
	in.Cases[1].At[0] = At{Level: math.NaN(), Group: 3, Roughness: 1}
	in.Cases[1].At[1].Wetness = 9
	in.Cases[1].LevelSigma = []float64{-1}
	err := in.Check()
	if err == nil {
		t.Fatal("no fault found")
	}
	for _, want := range []string{"density", "gravity", "datum", "record 7", "stands before", "seat", "tells of 1 valves", "grade line",
		"level 3 of 1", "wetness 9", "uncertainty of level 0", "roughness though the line stands", "lets go at"} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("no word of %q in:\n%v", want, err)
		}
	}
	if _, got := Solve(context.Background(), in); got == nil || got.Error() != err.Error() {
		t.Errorf("Solve says %v", got)
	}
}

func TestCancel(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Solve(ctx, lineOf([]valve.Record{record(1, 0.5)}, []float64{1})); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
}

// More head never makes a valve that stands under water less tight, whatever its history; and the answers agree with a
// plain step-by-step account of the float.
func TestMoreHeadIsNeverWorse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.Float64Range(0.1, 6).Draw(t, "sealing")
		l := s * rapid.Float64Range(0, 1).Draw(t, "share")
		heads := rapid.SliceOfN(rapid.Float64Range(0.01, 8), 1, 6).Draw(t, "heads")
		more := rapid.Float64Range(0, 3).Draw(t, "more")
		at := rapid.IntRange(0, len(heads)-1).Draw(t, "at")
		run := func(more float64) []Cell {
			var cases [][]float64
			for k, h := range heads {
				if k == at {
					h += more
				}
				cases = append(cases, []float64{h})
			}
			in := lineOf([]valve.Record{record(s, l)}, cases...)
			in.Uncertainty = Uncertainty{Datum: 0.05, Independent: 0.02}
			res, err := Solve(context.Background(), in)
			if err != nil {
				t.Fatal(err)
			}
			return res.Valves[0].Cells
		}
		low, high := run(0), run(more)
		shut := false
		for k, h := range heads {
			shut = h >= low[k].seal(s) || shut && h >= l
			if (low[k].State == Tight) != shut {
				t.Fatalf("case %d of %v with %g/%g: %v, but shut is %v", k, heads, s, l, low[k].State, shut)
			}
			if low[k].State == Tight && high[k].State != Tight {
				t.Fatalf("case %d: tight at %v, not with %g m more in case %d", k, heads, more, at)
			}
			far := h > 0.5 // the surface surely above the seat
			// An uncertain history is integrated to some 1e-6 (see stepPerWidth); a sure one, which more head makes of it, is exact.
			if far && high[k].Probability > low[k].Probability+2e-6 {
				t.Fatalf("case %d: probability %g, with more head %g", k, low[k].Probability, high[k].Probability)
			}
		}
	})
}

// seal is the sealing head as the cell's record gives it after the way through pascal.
func (c Cell) seal(s float64) float64 { return s * rho * g / (rho * g) }
