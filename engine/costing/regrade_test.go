package costing

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"obvert/line"
)

// A tent of 1:100 both ways laid 2 m deeper: towards the start it falls at 1:500 and meets the old pipe where
// 2 + d/500 = d/100, at 250 m; behind at 1:300, where 2 + d/300 = d/100, at 300 m.
func TestRegradeByHand(t *testing.T) {
	long := math.Hypot(1000, 10)
	tent := []line.Point{{Chainage: 0, Obvert: 90}, {Chainage: 1000, Obvert: 100, Distance: long}, {Chainage: 2000, Obvert: 90, Distance: 2 * long}}
	c, err := Regrade(tent, 1000, 2)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "from", c.From, 750, 1e-9)
	near(t, "to", c.To, 1300, 1e-9)
	near(t, "length", c.Length, math.Hypot(250, 0.5)+math.Hypot(300, 1), 1e-9)
	want := []line.Point{{Chainage: 0, Obvert: 90}, {Chainage: 750, Obvert: 97.5}, {Chainage: 1000, Obvert: 98}, {Chainage: 1300, Obvert: 97}, {Chainage: 2000, Obvert: 90}}
	if len(c.Points) != len(want) {
		t.Fatalf("%+v", c.Points)
	}
	for i := range want {
		near(t, "chainage", c.Points[i].Chainage, want[i].Chainage, 1e-9)
		near(t, "obvert", c.Points[i].Obvert, want[i].Obvert, 1e-9)
	}
	was := 2*long - (math.Hypot(250, 2.5) + math.Hypot(300, 3))
	near(t, "length of all", c.Points[4].Distance, was+c.Length, 1e-9)
}

func TestRegradeFaults(t *testing.T) {
	ramp := []line.Point{{Chainage: 0, Obvert: 90}, {Chainage: 100, Obvert: 91, Distance: 100}}
	for _, c := range []struct{ at, depth float64 }{{-1, 1}, {101, 1}, {math.NaN(), 1}, {50, -1}, {50, math.NaN()}, {50, math.Inf(1)}, {100, 0.5}, {50, 5}} {
		if _, err := Regrade(ramp, c.at, c.depth); err == nil {
			t.Errorf("%+v: no fault", c)
		}
	}
	if c, err := Regrade(ramp, 50, 0); err != nil || c.Length != 0 || len(c.Points) != 2 {
		t.Errorf("%+v %v", c, err)
	}
}

// On any profile the new pipe is nowhere above the old one, differs only between its ends, has its summit at the depth, and
// chainage and length rise.
func TestRegradeAnywhere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 30).Draw(t, "points")
		var p []line.Point
		s, d := 0.0, 0.0
		for i := range n {
			z := rapid.Float64Range(0, 20).Draw(t, "obvert")
			if i > 0 {
				ds := rapid.OneOf(rapid.Just(0.0), rapid.Float64Range(0.1, 100)).Draw(t, "step")
				s += ds
				d += math.Hypot(ds, z-p[i-1].Obvert)
			}
			p = append(p, line.Point{Chainage: s, Obvert: z, Distance: d})
		}
		at := rapid.Float64Range(0, s).Draw(t, "at")
		depth := rapid.Float64Range(0.01, 5).Draw(t, "depth")
		c, err := Regrade(p, at, depth)
		if err != nil {
			return
		}
		if !(c.From <= at && at <= c.To) || c.Length < c.To-c.From-1e-9 {
			t.Fatalf("%+v", c)
		}
		found := false
		for i, q := range c.Points {
			if i > 0 && (q.Chainage < c.Points[i-1].Chainage || q.Distance < c.Points[i-1].Distance-1e-9) {
				t.Fatalf("back at %d: %+v", i, c.Points)
			}
			lo, hi := reach(p, q.Chainage)
			if q.Obvert > hi+1e-9 {
				t.Fatalf("above the old pipe at %g: %g, %g", q.Chainage, q.Obvert, hi)
			}
			if (q.Chainage < c.From || q.Chainage > c.To) && (q.Obvert < lo-1e-9) {
				t.Fatalf("differs outside at %g", q.Chainage)
			}
			if q.Chainage == at {
				lo, hi := reach(p, at)
				found = found || q.Obvert >= lo-depth-1e-9 && q.Obvert <= hi-depth+1e-9
			}
		}
		if !found {
			t.Fatalf("no summit %g below the old pipe at %g: %+v", depth, at, c.Points)
		}
	})
}

// reach is the lowest and highest level that a profile has at a chainage.
func reach(p []line.Point, s float64) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for i := 1; i < len(p); i++ {
		if s < p[i-1].Chainage-1e-9 || s > p[i].Chainage+1e-9 {
			continue
		}
		ends := []float64{between(p[i-1], p[i], s).Obvert}
		if p[i].Chainage-p[i-1].Chainage < 1e-6 {
			ends = []float64{p[i-1].Obvert, p[i].Obvert}
		}
		for _, z := range ends {
			lo, hi = min(lo, z), max(hi, z)
		}
	}
	return lo, hi
}
