package bench

import (
	"math"
	"strings"
	"testing"
)

// stuckScene has a gauge and, if wanted, a tube, a hold and noise.
func stuckScene(tube bool, jitter float64) scene {
	s := plainScene()
	s.repeats, s.jitter, s.rate = 2, jitter, 0.02
	s.holds, s.hold = []float64{1.5}, 60
	s.valves = []truth{{name: "V", seat: 0.5, seal: 1.6, letGo: 1.3}, {name: "W", seat: 0.5, seal: 2.2, letGo: 1.8}}
	if !tube {
		s.run.Tube = nil
	}
	return s
}

// freeze holds the gauge at one figure from a to b.
func freeze(r Run, a, b float64) Run {
	held, begun := 0.0, false
	samples := append([]Sample(nil), r.Samples...)
	for i := range samples {
		if t := samples[i].Time; t >= a && t <= b {
			if !begun {
				held, begun = samples[i].Gauge, true
			}
			samples[i].Gauge = held
		}
	}
	r.Samples = samples
	return r
}

func TestStuckGauge(t *testing.T) {
	stuck := func(r Run) string {
		for _, f := range r.Check() {
			if strings.Contains(f.What, "stuck") {
				return f.Understood
			}
		}
		return ""
	}
	t.Run("not stuck", func(t *testing.T) {
		for _, tube := range []bool{true, false} {
			for _, jitter := range []float64{0, 3, 30} {
				s := stuckScene(tube, jitter)
				if why := stuck(s.build()); why != "" { // a hold of 60 s, alike to the last digit where there is no jitter
					t.Errorf("tube %t, jitter %g: a hold is called stuck: %s", tube, jitter, why)
				}
				s.run.Gauge.Resolution = 2000 // 0.2 m: steps of ten seconds
				if why := stuck(s.build()); why != "" {
					t.Errorf("tube %t, jitter %g: a coarse gauge is called stuck: %s", tube, jitter, why)
				}
			}
		}
		s := stuckScene(true, 0)
		s.run.Tube.Resolution = 0.1 // a tube read coarsely beside a fine gauge
		if why := stuck(s.build()); why != "" {
			t.Error("a coarse tube is called stuck:", why)
		}
		s = stuckScene(false, 0) // stepped by hand: all holds, jumps between
		s.rate, s.holds, s.hold, s.looks = 1, []float64{0.6, 0.8, 1.0, 1.2, 1.4, 1.6, 1.8, 2, 2.2, 2.4}, 30, 7
		if why := stuck(s.build()); why != "" {
			t.Error("a stepped run is called stuck:", why)
		}
	})
	for _, c := range []struct {
		name   string
		tube   bool
		jitter float64
		a, b   float64
		clue   string
	}{
		{"the tube moves", true, 0, 150, 175, "the tube moved"},
		{"a jump when it comes back", false, 0, 150, 180, "jumps by"},
		{"a whole fall", false, 0, 200, 420, "the head fell"},
		{"readings scatter elsewhere", false, 40, 60, 110, "scatter"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := freeze(stuckScene(c.tube, c.jitter).build(), c.a, c.b)
			if why := stuck(r); !strings.Contains(why, c.clue) {
				t.Errorf("want %q, got %q (repeats %v)", c.clue, why, r.Repeats)
			}
			if _, err := Reduce(r); err == nil {
				t.Error("a run with a stuck gauge was reduced")
			}
		})
	}
	t.Run("valves change meanwhile", func(t *testing.T) {
		// from the middle of the last fall to the end, past both lettings-go: no jump to see
		r := stuckScene(false, 0).build()
		last := r.Repeats[1]
		r = freeze(r, last.Turn+30, r.Samples[len(r.Samples)-1].Time)
		if why := stuck(r); !strings.Contains(why, "2 valves changed") {
			t.Errorf("%q", why)
		}
	})
	t.Run("a tube that runs over", func(t *testing.T) {
		r := stuckScene(true, 0).build()
		for i := range r.Samples {
			r.Samples[i].Tube = math.Min(r.Samples[i].Tube, 2.9)
		}
		found := false
		for _, f := range r.Check() {
			found = found || strings.Contains(f.What, "stuck tube") && strings.Contains(f.Hint, "ran over")
		}
		if !found {
			t.Error(r.Check())
		}
	})
}
