package siting

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"obvert/line"
)

// pipeline is a run through chainages and levels (m), with distances along the slope.
func pipeline(name string, from, to int, points ...float64) line.Run {
	r := line.Run{Name: name, From: from, To: to}
	for k := 0; k < len(points); k += 2 {
		p := line.Point{Chainage: points[k], Obvert: points[k+1]}
		if n := len(r.Points); n > 0 {
			b := r.Points[n-1]
			p.Distance = b.Distance + math.Hypot(p.Chainage-b.Chainage, p.Obvert-b.Obvert)
		}
		r.Points = append(r.Points, p)
	}
	return r
}

// build joins runs at nodes of the given kinds under the usual practice.
func build(kinds []line.NodeKind, runs ...line.Run) *line.Line {
	l := &line.Line{Name: "invented", Practice: line.DefaultPractice(), Runs: runs}
	for i, k := range kinds {
		n := line.Node{Name: fmt.Sprintf("node %d", i), Kind: k}
		for r := range runs {
			if runs[r].From == i || runs[r].To == i {
				n.Runs = append(n.Runs, r)
			}
		}
		l.Nodes = append(l.Nodes, n)
	}
	return l
}

func tankToTank(points ...float64) *line.Line {
	return build([]line.NodeKind{line.Tank, line.Tank}, pipeline("Main", 0, 1, points...))
}

func place0(l *line.Line, names ...any) {
	for k := 0; k < len(names); k += 2 {
		l.Runs[0].Placed = append(l.Runs[0].Placed, line.Placed{Name: names[k].(string), Chainage: float64(names[k+1].(int)), Record: -1})
	}
}

func solve(t testing.TB, in Input) Result {
	t.Helper()
	r, err := Solve(context.Background(), in)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// story is candidates as "run@chainage id+id verdict", in order.
func story(r Result) string {
	var s []string
	for _, c := range r.Candidates {
		var ids []string
		for _, why := range c.Reasons {
			ids = append(ids, why.ID)
		}
		s = append(s, fmt.Sprintf("%d@%.0f %s %s", c.Run, c.Chainage, strings.Join(ids, "+"), [...]string{"placed", "displaced", "missing"}[c.Verdict]))
	}
	return strings.Join(s, "; ")
}

func expect(t *testing.T, r Result, want string) {
	t.Helper()
	if got := story(r); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	for _, c := range r.Candidates {
		for _, why := range c.Reasons {
			if why.Text == "" || why.Source == "" || why.Unit == "" || why.Figure < why.Threshold {
				t.Errorf("at %g: reason without its proof: %+v", c.Chainage, why)
			}
		}
	}
}

// An air valve at every summit: USDA Bulletin "Wood Pipe for Conveying Irrigation Water", p. 15; Fair, Geyer and Okun's
// Water and Wastewater Engineering, 3rd ed. 2010, p. 187. None at the tanks, where air leaves by itself.
func TestEverySummit(t *testing.T) {
	l := tankToTank(0, 50, 100, 54, 200, 50, 300, 52, 400, 48, 500, 49, 600, 55)
	l.Practice.SlopeChange.Value = 1
	expect(t, solve(t, Input{Line: l}), "0@100 high-point missing; 0@300 high-point missing")
	place0(l, "A", 100, "B", 312, "C", 450)
	r := solve(t, Input{Line: l})
	expect(t, r, "0@100 high-point placed; 0@300 high-point placed")
	if len(r.Superfluous) != 1 || r.Superfluous[0].Valve != "C" {
		t.Errorf("superfluous: %+v", r.Superfluous)
	}
	if c := r.Candidates[1]; c.Valve != "B" || c.Distance != 12 || math.Abs(c.Drop-0.48) > 1e-12 {
		t.Errorf("served by %q at %g m, %g m lower", c.Valve, c.Distance, c.Drop)
	}
	// Farther than the practice allows, but near: displaced. Farther yet: missing, and the valve superfluous.
	l.Runs[0].Placed[1].Chainage = 350
	if r = solve(t, Input{Line: l}); story(r) != "0@100 high-point placed; 0@300 high-point displaced" {
		t.Error(story(r))
	}
	l.Runs[0].Placed = l.Runs[0].Placed[:1]
	place0(l, "D", 599)
	if r = solve(t, Input{Line: l}); story(r) != "0@100 high-point placed; 0@300 high-point missing" || len(r.Superfluous) != 1 {
		t.Error(story(r), r.Superfluous)
	}
}

// AWWA Manual M51, from memory: where a downslope increases and where an upslope decreases. Turned round, each becomes
// the other; breaks that open upwards want nothing.
func TestSlopeBreaks(t *testing.T) {
	l := tankToTank(0, 50, 200, 60, 400, 62, 590, 72) // 5 %, 1 %, 5.3 %
	flow := func(q float64) []Flowing {
		return []Flowing{{Name: "flowing", Flow: []float64{q}, Head: [][]float64{{100, 100, 100, 100}}}}
	}
	expect(t, solve(t, Input{Line: l, Flowing: flow(+1)}), "0@200 upslope-decrease missing")
	expect(t, solve(t, Input{Line: l, Flowing: flow(-1)}), "0@200 downslope-increase missing")
	expect(t, solve(t, Input{Line: l}), "0@200 upslope-decrease missing")
	both := append(flow(+1), flow(-1)...)
	expect(t, solve(t, Input{Line: l, Flowing: both}), "0@200 upslope-decrease+downslope-increase missing")
	l = tankToTank(0, 72, 190, 70, 400, 58, 590, 57) // −1 %, −5.7 %, −0.5 %
	r := solve(t, Input{Line: l, Flowing: flow(+1)})
	expect(t, r, "0@190 downslope-increase missing")
	if w := r.Candidates[0].Reasons[0].Text; w != "the downslope increases from 1.1 % to 5.7 %" {
		t.Error(w)
	}
}

// Air valves on long even runs, AWWA Manual M51 (from memory): 380 to 760 m apart; the usual practice has 600 m.
func TestLongRuns(t *testing.T) {
	l := tankToTank(0, 50, 3100, 81)
	r := solve(t, Input{Line: l})
	expect(t, r, "0@517 long-run missing; 0@1033 long-run missing; 0@1550 long-run missing; 0@2067 long-run missing; 0@2583 long-run missing")
	if w := r.Candidates[0].Reasons[0].Text; w != "long run: 3100 m between places where air leaves, rising at 1.0 % here; a valve at most every 600 m" {
		t.Error(w)
	}
	// Exactly the spacing is enough.
	expect(t, solve(t, Input{Line: tankToTank(0, 50, 600, 56)}), "")
	// Valves that keep to the spacing are what the practice asks for, wherever they stand; one too many is superfluous.
	place0(l, "A", 580, "B", 700, "C", 1150, "D", 1700, "E", 2300, "F", 2850)
	r = solve(t, Input{Line: l})
	expect(t, r, "0@580 long-run placed; 0@1150 long-run placed; 0@1700 long-run placed; 0@2300 long-run placed; 0@2850 long-run placed")
	if len(r.Superfluous) != 1 || r.Superfluous[0].Valve != "B" {
		t.Errorf("superfluous: %+v", r.Superfluous)
	}
	// A hole between them is filled in equal parts.
	l.Runs[0].Placed = nil
	place0(l, "A", 500, "D", 1600, "E", 2200, "F", 2700)
	expect(t, solve(t, Input{Line: l}), "0@500 long-run placed; 0@1050 long-run missing; 0@1600 long-run placed; 0@2200 long-run placed; 0@2700 long-run placed")
}

// Spacing goes on through a node that only passes water on, and from the nearest vent at a junction.
func TestLongRunsAcrossNodes(t *testing.T) {
	l := build([]line.NodeKind{line.Tank, line.Offtake, line.Tank}, pipeline("Up", 0, 1, 0, 50, 500, 55), pipeline("Down", 2, 1, 0, 59, 400, 55))
	expect(t, solve(t, Input{Line: l}), "0@450 long-run missing")
	// Three runs at a junction: 100 m and 550 m to the tanks; the third is 500 m long. 100 + 550 > 600, 100 + 500 = 600.
	l = build([]line.NodeKind{line.Tank, line.Tank, line.Tank, line.Junction},
		pipeline("Short", 3, 0, 0, 50, 100, 50.5), pipeline("Long", 3, 1, 0, 50, 550, 55), pipeline("Middle", 3, 2, 0, 50, 500, 54))
	expect(t, solve(t, Input{Line: l}), "1@225 long-run missing")
}

// MIL-HDBK-1005/7A, 7.2.5: an air valve on the downstream side of shut-off valves; here on each side that falls away.
func TestIsolatingValves(t *testing.T) {
	l := tankToTank(0, 60, 250, 50, 500, 40)
	l.Practice.SlopeChange.Value = 1
	l.Runs[0].Equipment = []line.Equipment{{Name: "Gate 1", Kind: line.IsolatingValve, Chainage: 250}, {Name: "Scour", Kind: line.Scour, Chainage: 300}}
	r := solve(t, Input{Line: l})
	expect(t, r, "0@250 isolating-valve missing")
	if r.Candidates[0].Side != +1 {
		t.Errorf("side %d", r.Candidates[0].Side)
	}
	// On a summit both sides fall away, and want a valve each. One valve serves its own side only.
	l = tankToTank(0, 50, 250, 60, 500, 50)
	l.Runs[0].Equipment = []line.Equipment{{Name: "Gate 1", Kind: line.IsolatingValve, Chainage: 250}}
	place0(l, "A", 245)
	r = solve(t, Input{Line: l})
	expect(t, r, "0@250 high-point+isolating-valve+upslope-decrease placed; 0@250 isolating-valve missing")
	place0(l, "B", 255)
	expect(t, solve(t, Input{Line: l}), "0@250 high-point+isolating-valve+upslope-decrease placed; 0@250 isolating-valve placed")
	// In a low point it wants none.
	l = tankToTank(0, 60, 250, 50, 500, 60)
	l.Runs[0].Equipment = []line.Equipment{{Name: "Gate 1", Kind: line.IsolatingValve, Chainage: 250}}
	expect(t, solve(t, Input{Line: l}), "")
}

// AWWA Manual M51, from memory: at the discharge of pumps. The suction side is judged as any pipe.
func TestPumpDischarge(t *testing.T) {
	l := build([]line.NodeKind{line.Tank, line.Station, line.Tank}, pipeline("Suction", 0, 1, 0, 50, 100, 49), pipeline("Rising", 1, 2, 0, 49, 400, 70))
	l.Nodes[1].Station = &line.StationData{Pumps: make([]line.Pump, 2)}
	r := solve(t, Input{Line: l})
	expect(t, r, "1@0 pump-discharge missing")
	if r.Candidates[0].Reasons[0].Figure != 2 {
		t.Errorf("pumps: %+v", r.Candidates[0].Reasons[0])
	}
}

// A pipe that falls less steeply than its grade line and then more steeply comes nearest to it at the break, though it is
// no summit and the break is below the practice's number.
func TestGradeHighPoint(t *testing.T) {
	l := tankToTank(0, 60, 300, 57, 580, 49) // −1 %, −2.86 %
	in := Input{Line: l, Flowing: []Flowing{{Name: "gravity", Flow: []float64{1}, Head: [][]float64{{64, 64 - 3*2, 64 - 5.8*2}}}}}
	r := solve(t, in)
	expect(t, r, "0@300 grade-high-point missing")
	// Pressure heads 4, 1, 3.4 m by hand.
	if f := r.Candidates[0].Reasons[0].Figure; math.Abs(f-3) > 1e-9 {
		t.Errorf("%g m nearer than the pipe around it, want 3 (the lowest of what hangs together)", f)
	}
	if w := r.Candidates[0].Reasons[0].Text; !strings.Contains(w, "gravity") || !strings.Contains(w, "1.00 m") {
		t.Error(w)
	}
	// With the grade line level it is no high point.
	in.Flowing[0].Head = [][]float64{{64, 64, 64}}
	expect(t, solve(t, in), "")
}

func TestSlackEnd(t *testing.T) {
	l := tankToTank(0, 50, 100, 60, 500, 40)
	l.Practice.SlopeChange.Value = 1
	flowing := Flowing{Name: "pumping", Flow: []float64{1}, Head: [][]float64{{70, 60, 45}}, Slack: []Slack{{Run: 0, From: 100, To: 380}}}
	in := Input{Line: l, Flowing: []Flowing{flowing}}
	expect(t, solve(t, in), "0@100 high-point missing; 0@380 slack-end missing")
	in.Flowing[0].Slack[0].Vapour = true
	expect(t, solve(t, in), "0@100 high-point missing")
	in.Flowing[0].Slack[0] = Slack{Run: 0, From: 100, To: 115}
	expect(t, solve(t, in), "0@100 high-point missing")
	// Two cases end within the allowed displacement of one another: one candidate, by the longer.
	in.Flowing[0].Slack[0].To = 380
	two := flowing
	two.Name, two.Slack = "more", []Slack{{Run: 0, From: 100, To: 390}}
	in.Flowing = append(in.Flowing, two)
	expect(t, solve(t, in), "0@100 high-point missing; 0@390 slack-end missing")
}

// A summit at a junction belongs to all runs there: one candidate, and a valve on any of them serves it.
func TestSummitAtAJunction(t *testing.T) {
	l := build([]line.NodeKind{line.Tank, line.Tank, line.Tank, line.Junction},
		pipeline("A", 0, 3, 0, 50, 200, 60), pipeline("B", 3, 1, 0, 60, 200, 50), pipeline("C", 2, 3, 0, 45, 300, 60))
	l.Practice.SlopeChange.Value = 1
	expect(t, solve(t, Input{Line: l}), "0@200 high-point missing")
	l.Runs[2].Placed = []line.Placed{{Name: "V", Chainage: 290}}
	r := solve(t, Input{Line: l})
	expect(t, r, "0@200 high-point placed")
	if c := r.Candidates[0]; c.Valve != "V" || c.Distance != 10 || len(r.Superfluous) != 0 {
		t.Errorf("served by %q at %g m; superfluous %v", c.Valve, c.Distance, r.Superfluous)
	}
	// Rising on along another run, the junction is none.
	l.Runs[1].Points[1].Obvert = 70
	expect(t, solve(t, Input{Line: l}), "")
}

// On a crest so level that no survey tells its top, a valve anywhere serves.
func TestLevelCrest(t *testing.T) {
	l := tankToTank(0, 50, 100, 60, 150, 60.01, 250, 60, 350, 50)
	l.Survey.Independent = 0.02
	l.Practice.SlopeChange.Value = 1
	place0(l, "A", 255)
	r := solve(t, Input{Line: l})
	expect(t, r, "0@150 high-point placed")
	if c := r.Candidates[0]; c.Distance != 105 || c.From > 100 || c.To < 250 {
		t.Errorf("%+v", c)
	}
}

// Errors of the survey add no candidates and lose none: 2 cm on 400 points of a line of three slopes and one summit.
// Fifty surveys, PCG seeded 3.
func TestNoiseOfTheSurvey(t *testing.T) {
	dice := rand.New(rand.NewPCG(3, 3))
	shape := func(x float64) float64 { // 2 %, then 6 %, summit, −5 %
		switch {
		case x < 1000:
			return 50 + 0.06*x
		case x < 1500:
			return 110 + 0.01*(x-1000)
		}
		return 115 - 0.05*(x-1500)
	}
	for range 50 {
		var points []float64
		for x := 0.0; x <= 2000; x += 5 {
			points = append(points, x, shape(x)+0.02*dice.NormFloat64())
		}
		l := tankToTank(points...)
		l.Survey.Independent = 0.02
		l.Practice.Spacing.Value = 5000
		r := solve(t, Input{Line: l})
		if len(r.Candidates) != 2 || math.Abs(r.Candidates[0].Chainage-1000) > 15 || math.Abs(r.Candidates[1].Chainage-1500) > 15 {
			t.Errorf("%s", story(r))
		}
	}
	l := tankToTank(0, 50, 100, 51)
	l.Survey.Independent = 0.1
	if r := solve(t, Input{Line: l}); r.Notes[0].ID != "siting.noise" {
		t.Errorf("no word of the survey: %v", r.Notes)
	}
}

// Prominence by flooding agrees with its definition: for each maximum, the least drop over all ways to higher ground.
func TestProminenceByDefinition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 30).Draw(t, "n")
		z := make([]float64, n)
		var points []float64
		for _, i := range rapid.Permutation(slices.Collect(seq(n))).Draw(t, "levels") {
			z[len(points)/2] = float64(i)
			points = append(points, float64(len(points)), float64(i))
		}
		l := tankToTank(points...)
		got := map[int]float64{}
		for _, s := range newNet(l).summits(z, 1) {
			got[s.vertex] = s.prominence
		}
		want := map[int]float64{}
		for k := range z {
			if k > 0 && z[k-1] > z[k] || k < n-1 && z[k+1] > z[k] {
				continue
			}
			key := math.Inf(-1) // the highest low point on a way to higher ground
			for _, step := range []int{-1, +1} {
				low := z[k]
				for j := k + step; j >= 0 && j < n; j += step {
					low = min(low, z[j])
					if z[j] > z[k] {
						key = max(key, low)
						break
					}
				}
			}
			if math.IsInf(key, -1) {
				key = slices.Min(z)
			}
			want[k] = z[k] - key
		}
		if fmt.Sprint(got) != fmt.Sprint(want) {
			t.Fatalf("levels %v: prominences %v, by definition %v", z, got, want)
		}
	})
}

func seq(n int) func(func(int) bool) {
	return func(yield func(int) bool) {
		for i := range n {
			if !yield(i) {
				return
			}
		}
	}
}

// No point stands off the simplified profile by more than the tolerance, and a straight pipe keeps its ends only.
func TestSimplify(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := make([]line.Point, rapid.IntRange(2, 60).Draw(t, "n"))
		for k := range p {
			p[k] = line.Point{Distance: float64(k * 10), Obvert: rapid.Float64Range(0, 3).Draw(t, "z")}
		}
		tol := rapid.Float64Range(0.01, 2).Draw(t, "tolerance")
		kept := simplify(p, tol)
		for k := 1; k < len(kept); k++ {
			a, b := p[kept[k-1]], p[kept[k]]
			for _, q := range p[kept[k-1] : kept[k]+1] {
				on := a.Obvert + (b.Obvert-a.Obvert)*(q.Distance-a.Distance)/(b.Distance-a.Distance)
				if math.Abs(q.Obvert-on) > tol+1e-12 {
					t.Fatalf("off by %g m at %g m", q.Obvert-on, q.Distance)
				}
			}
		}
	})
	var straight []line.Point
	for k := range 100 {
		straight = append(straight, line.Point{Distance: float64(k), Obvert: 0.01 * float64(k)})
	}
	if kept := simplify(straight, 1e-3); len(kept) != 2 {
		t.Errorf("a straight pipe keeps %d points", len(kept))
	}
}

// Whatever the profile, no two candidates of one side are nearer than the allowed displacement, each valve is used or
// superfluous, and after a valve is put at each candidate none is missing or displaced.
func TestFollowingTheAnswer(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 40).Draw(t, "n")
		var points []float64
		x := 0.0
		for range n {
			points = append(points, x, rapid.Float64Range(0, 30).Draw(t, "level"))
			x += rapid.Float64Range(0, 300).Draw(t, "step")
		}
		l := tankToTank(points...)
		r, err := Solve(context.Background(), Input{Line: l})
		if err != nil {
			t.Fatal(err)
		}
		last := math.Inf(-1)
		for k, c := range r.Candidates {
			if c.Chainage-last < l.Practice.Displaced.Value-1e-9 && !slices.ContainsFunc(c.Reasons, func(w Reason) bool { return w.ID == "long-run" }) &&
				!slices.ContainsFunc(r.Candidates[k-1].Reasons, func(w Reason) bool { return w.ID == "long-run" }) {
				t.Fatalf("candidates at %g and %g m", last, c.Chainage)
			}
			last = c.Chainage
			l.Runs[0].Placed = append(l.Runs[0].Placed, line.Placed{Name: fmt.Sprint(k), Chainage: c.Chainage})
		}
		again, err := Solve(context.Background(), Input{Line: l})
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range again.Candidates {
			if c.Verdict != Placed {
				t.Fatalf("at %g m: %d though a valve was put there: %s", c.Chainage, c.Verdict, story(again))
			}
		}
	})
}

func TestFaults(t *testing.T) {
	if _, err := Solve(context.Background(), Input{}); err == nil || !strings.Contains(err.Error(), "no line") {
		t.Errorf("got %v", err)
	}
	l := build([]line.NodeKind{line.Tank, line.Tank}, pipeline("A", 0, 5, 0, 50, 100, math.NaN()), pipeline("B", 0, 1, 0, 50), pipeline("C", 0, 1, 100, 50, 0, 50))
	l.Practice.Spacing.Value, l.Practice.Displaced.Value = 0, math.Inf(1)
	l.Runs[0].Placed = []line.Placed{{Name: "V", Chainage: 300}}
	err := (&Input{Line: l, Tolerance: -1, Flowing: []Flowing{
		{Name: "short"},
		{Name: "full", Flow: []float64{math.NaN(), 0, 0}, Head: [][]float64{{1}, {1}, {1, math.Inf(1)}}, Slack: []Slack{{Run: 9}, {Run: 0, To: 900}}},
	}}).Check()
	for _, want := range []string{"spacing", "displacement", "tolerance", "node 5", "obvert NaN", "has 1 points", "comes after", `valve "V"`,
		`"short" gives 0 flows`, "1 levels", "flow NaN", "grade line +Inf", "run 9", "slack length to 900"} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("no word of %q in:\n%v", want, err)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Solve(ctx, Input{Line: tankToTank(0, 1, 2, 3)}); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
}

// big is a line of 100 km with n points, 200 valves and 6 flowing cases.
func big(n int) Input {
	var points []float64
	for k := range n {
		x := 100_000 * float64(k) / float64(n-1)
		points = append(points, x, 100+30*math.Sin(x/900)+8*math.Sin(x/170)+0.05*math.Sin(float64(k*k)))
	}
	l := tankToTank(points...)
	l.Survey.Independent = 0.03
	for k := range 200 {
		l.Runs[0].Placed = append(l.Runs[0].Placed, line.Placed{Name: fmt.Sprint(k), Chainage: 500 * float64(k)})
	}
	var bores []float64
	for k := range 20 {
		bores = append(bores, 5000*float64(k+1), 0.8+0.1*float64(k%3))
	}
	bore(l, 0, bores...)
	in := Input{Line: l}
	for c := range 6 {
		head := make([]float64, n)
		for k := range head {
			head[k] = 250 - float64(c+1)*5*float64(k)/float64(n)
		}
		in.Flowing = append(in.Flowing, Flowing{Case: c, Name: fmt.Sprint(c), Flow: []float64{0.3 + 0.2*float64(c)}, Head: [][]float64{head}})
	}
	return in
}

func BenchmarkSolve(b *testing.B) {
	for _, n := range []int{5000, 50_000} {
		in := big(n)
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			for b.Loop() {
				if _, err := Solve(context.Background(), in); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
