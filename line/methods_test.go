package line

import (
	"fmt"
	"math"
	"testing"
	"testing/fstest"

	"pgregory.net/rapid"
)

// stepped is a run with a vertical step of 2 m at 100 m.
func stepped() *Line {
	return &Line{
		Nodes: []Node{{Name: "A", Runs: []int{0}}, {Name: "B", Runs: []int{0}}, {Name: "alone"}},
		Runs: []Run{{From: 0, To: 1, Points: []Point{{Chainage: 50, Obvert: 10}, {Chainage: 100, Obvert: 12, Distance: 50}, {Chainage: 100, Obvert: 14, Distance: 52}, {Chainage: 200, Obvert: 10, Distance: 152}},
			Sections: []Section{{From: 50, To: 120, Bore: 0.3}, {From: 120, To: 200, Bore: 0.2}},
			Placed:   []Placed{{Chainage: 150, Height: 0.5}}}},
	}
}

func TestObvertAt(t *testing.T) {
	l := stepped()
	for _, c := range []struct {
		at, want float64
		ok       bool
	}{{50, 10, true}, {75, 11, true}, {100, 14, true}, {150, 12, true}, {200, 10, true}, {49.9, 0, false}, {200.1, 0, false}, {math.NaN(), 0, false}, {math.Inf(1), 0, false}} {
		if got, ok := l.ObvertAt(0, c.at); got != c.want || ok != c.ok {
			t.Errorf("at %g: %g %t, want %g %t", c.at, got, ok, c.want, c.ok)
		}
	}
	if got, _ := l.DistanceAt(0, 150); got != 102 {
		t.Errorf("distance %g", got)
	}
	if got := l.SeatLevel(0, 0); got != 12.5 {
		t.Errorf("seat %g", got)
	}
	if r := l.Runs[0]; r.First() != 50 || r.Last() != 200 || r.Length() != 152 {
		t.Errorf("%g %g %g", r.First(), r.Last(), r.Length())
	}
}

func TestSectionAt(t *testing.T) {
	l := stepped()
	for at, want := range map[float64]float64{0: 0.3, 50: 0.3, 119.9: 0.3, 120: 0.2, 200: 0.2, 300: 0.2} {
		if got := l.BoreAt(0, at); got != want {
			t.Errorf("bore at %g: %g, want %g", at, got, want)
		}
	}
	if s := (&Line{Runs: []Run{{}}}).SectionAt(0, 1); s != nil {
		t.Error("a section where there is none")
	}
}

func TestNodeLevel(t *testing.T) {
	l := stepped()
	if z, ok := l.NodeLevel(1); z != 10 || !ok {
		t.Errorf("%g %t", z, ok)
	}
	if _, ok := l.NodeLevel(2); ok {
		t.Error("a level where no run ends")
	}
	if _, ok := l.EndAt(0, 2); ok {
		t.Error("an end at a node that the run does not touch")
	}
}

func TestValve(t *testing.T) {
	l := &Line{Runs: []Run{{Placed: make([]Placed, 2)}, {}, {Placed: make([]Placed, 3)}}}
	if l.ValveCount() != 5 {
		t.Errorf("%d valves", l.ValveCount())
	}
	for i, want := range [][2]int{{0, 0}, {0, 1}, {2, 0}, {2, 1}, {2, 2}} {
		if run, placed := l.Valve(i); run != want[0] || placed != want[1] {
			t.Errorf("valve %d: %d %d", i, run, placed)
		}
	}
	defer func() {
		if recover() == nil {
			t.Error("a sixth valve of five")
		}
	}()
	l.Valve(5)
}

// network draws a line of tanks and junctions with runs at random between them, so that every node has one.
func network(t *rapid.T) fstest.MapFS {
	n := rapid.IntRange(2, 9).Draw(t, "nodes")
	text := "[line]\nname = \"random\"\n"
	for i := range n {
		text += fmt.Sprintf("[[tank]]\nname = \"N%d\"\nlevel = \"200 m\"\n", i)
	}
	runs := 0
	m := fstest.MapFS{}
	run := func(a, b int) {
		if a == b {
			return
		}
		first := rapid.IntRange(0, 50).Draw(t, "first")
		length := rapid.IntRange(1, 500).Draw(t, "length")
		text += fmt.Sprintf("[[run]]\nname = \"R%d\"\nfrom = \"N%d\"\nto = \"N%d\"\nprofile = \"p%d.csv\"\n[[run.section]]\nbore = \"100 mm\"\n", runs, a, b, runs)
		m[fmt.Sprintf("p%d.csv", runs)] = &fstest.MapFile{Data: fmt.Appendf(nil, "chainage [m];obvert [m]\n%d;100\n%d;101\n", first, first+length)}
		runs++
	}
	for i := 1; i < n; i++ {
		run(i, rapid.IntRange(0, i-1).Draw(t, "to"))
	}
	for range rapid.IntRange(0, 6).Draw(t, "more") {
		run(rapid.IntRange(0, n-1).Draw(t, "a"), rapid.IntRange(0, n-1).Draw(t, "b"))
	}
	m["line.toml"] = &fstest.MapFile{Data: []byte(text)}
	return m
}

// TestRoutesCover holds what a route is, on any graph: every run stands on exactly one of the routes made by Obvert, legs
// follow one another without gap, and place and chainage on the route are each other's inverse.
func TestRoutesCover(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, faults := Read(network(t), nil)
		if l == nil {
			t.Fatalf("%v", faults)
		}
		count := make([]int, len(l.Runs))
		names := map[string]bool{}
		for i, route := range l.Routes {
			if names[route.Name] {
				t.Errorf("two routes %q", route.Name)
			}
			names[route.Name] = true
			from, to := l.RouteLength(i)
			length, end := 0.0, from
			for _, leg := range route.Legs {
				count[leg.Run]++
				r := &l.Runs[leg.Run]
				length += r.Last() - r.First()
				a, b := l.legEnds(leg)
				if math.Abs(a-end) > 1e-9 {
					t.Errorf("a leg begins at %g, the one before ended at %g", a, end)
				}
				end = b
				for _, at := range []float64{r.First(), (r.First()*3 + r.Last()) / 4} {
					s, ok := l.RouteChainage(i, Place{leg.Run, at})
					p, found := l.RoutePlace(i, s)
					if !ok || !found || p.Run == leg.Run && math.Abs(p.Chainage-at) > 1e-9 {
						t.Errorf("place %g on run %d: chainage %g, back %+v", at, leg.Run, s, p)
					}
				}
			}
			if math.Abs(to-from-length) > 1e-9 {
				t.Errorf("route of %g m, legs of %g m", to-from, length)
			}
			if _, ok := l.RoutePlace(i, to+1); ok {
				t.Error("a place beyond the route")
			}
		}
		for i, n := range count {
			if n != 1 {
				t.Errorf("run %d stands on %d routes", i, n)
			}
		}
	})
}

// TestDefaultPractice holds that every threshold has a unit and a source.
func TestDefaultPractice(t *testing.T) {
	p := DefaultPractice()
	for _, th := range []Threshold{p.Spacing, p.HighPointProminence, p.SlopeChange, p.Flat, p.Displaced, p.Drips, p.FillingVelocity} {
		if th.Value <= 0 || th.Unit == "" || th.Source == "" {
			t.Errorf("%+v", th)
		}
	}
}
