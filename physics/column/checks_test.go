package column

import (
	"context"
	"math"
	"testing"

	"obvert/physics/opening"
)

// inLine is a low tank, a level main to a station in the line that stands still, and a main that rises to a high tank; all of it full.
func inLine(check bool) (*Network, Settings) {
	plain := func(a, b float64) []Section { return []Section{{From: a, To: b, Bore: 0.3, Friction: 0.02}} }
	n := &Network{Density: 1000, Gravity: 9.81, Atmosphere: 101325, Temperature: 288, Vapour: 1200}
	n.Nodes = []Node{{Name: "low", Kind: Tank, Level: 5}, {Name: "pumps", Booster: true}, {Name: "header"}, {Name: "high", Kind: Tank, Level: 50}}
	n.Pipes = []Pipe{
		{Name: "suction", From: 0, To: 1, Points: []Point{{0, 0}, {500, 0}}, Sections: plain(0, 500)},
		{Name: "link", From: 1, To: 2, Points: []Point{{0, 0}, {0.3, 0}}, Sections: plain(0, 0.3)},
		{Name: "rise", From: 2, To: 3, Points: []Point{{0, 0}, {500, 40}}, Sections: plain(0, 500)},
	}
	if check {
		n.Pipes[1].Checks = []Check{{Distance: 0.3}}
	}
	return n, Settings{Horizon: 3000, UntilSteady: true, Water: []Water{{0, 0, 500}, {1, 0, 0.3}, {2, 0, 500}}}
}

// TestRestStays: what stands full behind a shut check valve stays at rest, to the last digit; without the valve it runs back.
func TestRestStays(t *testing.T) {
	for _, check := range []bool{true, false} {
		n, set := inLine(check)
		most, least := 0.0, 0.0
		set.Observe = func(m *Moment) bool {
			most, least = max(most, m.PipeFlow(2, 250)), min(least, m.PipeFlow(2, 250))
			return true
		}
		r, err := Run(context.Background(), n, set)
		if err != nil {
			t.Fatal(err)
		}
		if check && (most != 0 || least != 0 || r.Status != Full || r.Balance.WaterOut != 0 || r.Balance.WaterIn != 0) {
			t.Errorf("held by a check valve it moves, %g to %g m³/s, %v, %+v", least, most, r.Status, r.Balance)
		}
		// 45 m over 1000 m of pipe and one velocity head: f L/D + 1 = 67.7.
		if want := -math.Pi / 4 * 0.09 * math.Sqrt(2*9.81*45/(0.02*1000.3/0.3+1)); !check && math.Abs(least/want-1) > 0.01 {
			t.Errorf("without a check valve %g m³/s runs back, want %g", least, want)
		}
	}
}

// TestCheckPassed: a column that rises past a check valve does not come back. Without friction x V²/2g = H x − s x²/2, so it comes to x = 2H/s.
func TestCheckPassed(t *testing.T) {
	for _, at := range []float64{0, 95, 150} {
		n := &Network{Density: 1000, Gravity: 9.81, Atmosphere: 101325, Temperature: 288}
		n.Nodes = []Node{{Name: "tank", Kind: Tank, Level: 10}, {Name: "top", Kind: Outlet}}
		n.Pipes = []Pipe{{Name: "rise", To: 1, Points: []Point{{0, 0}, {500, 50}}, Sections: []Section{{To: 500, Bore: 0.3}}, Checks: []Check{{Distance: at}}}}
		r, err := Run(context.Background(), n, Settings{Horizon: 300, UntilSteady: true, Tolerance: 1e-4})
		if err != nil {
			t.Fatal(err)
		}
		if len(r.Water) != 1 || math.Abs(r.Water[0].To-200) > 0.5 {
			t.Errorf("check valve at %g m: %v, want the water to stand to 200 m; %v", at, r.Water, r.Status)
		}
	}
}

// TestFallsOnCheck: water that falls through a dry pipe stands on the check valve that it comes to.
func TestFallsOnCheck(t *testing.T) {
	n := &Network{Density: 1000, Gravity: 9.81, Atmosphere: 101325, Temperature: 288}
	n.Nodes = []Node{{Name: "foot", Kind: Outlet}, {Name: "top", Kind: Outlet}}
	n.Pipes = []Pipe{{Name: "fall", To: 1, Points: []Point{{0, 0}, {500, 50}}, Sections: []Section{{To: 500, Bore: 0.3, Friction: 0.02}}, Checks: []Check{{Distance: 200}}}}
	r, err := Run(context.Background(), n, Settings{Horizon: 600, UntilSteady: true, Water: []Water{{0, 300, 400}}})
	if err != nil {
		t.Fatal(err)
	}
	all := 0.0
	for _, w := range r.Water {
		all += w.To - w.From
	}
	if len(r.Water) == 0 || math.Abs(r.Water[0].From-200) > 0.01 || math.Abs(all-100) > 1e-6 || r.Balance.WaterOut != 0 {
		t.Errorf("%v %v, want 100 m of water that begins at 200 m", r.Water, r.Status)
	}
	n.Pipes[0].Checks = nil
	if r, _ = Run(context.Background(), n, Settings{Horizon: 600, UntilSteady: true, Water: []Water{{0, 300, 400}}}); r.Balance.WaterOut == 0 {
		t.Errorf("without a check valve nothing runs out: %v", r.Water)
	}
}

// TestHeldUnderPumps: a column that a shut check valve holds at its foot stands under the level of its surface, not under that of the sump: its air
// valves stay shut, whatever the sump's level.
func TestHeldUnderPumps(t *testing.T) {
	for _, sump := range []float64{-20, 0, 20} {
		hole := opening.Orifice{Area: 0.002, Coefficient: 0.6}
		n := &Network{Density: 1000, Gravity: 9.81, Atmosphere: 101325, Temperature: 288, Vapour: 1200}
		n.Nodes = []Node{{Name: "works", Kind: Station, Level: sump, Pumps: given(60), Ramp: 1e6}, {Name: "top", Kind: Outlet}}
		n.Pipes = []Pipe{{Name: "rise", To: 1, Points: []Point{{0, 0}, {500, 50}}, Sections: []Section{{To: 500, Bore: 0.3, Friction: 0.02}},
			Vents: []Vent{{Name: "half way", Distance: 200, In: hole, Out: hole}}}}
		r, err := Run(context.Background(), n, Settings{Horizon: 2000, UntilSteady: true, Water: []Water{{0, 0, 400}}})
		if err != nil {
			t.Fatal(err)
		}
		if len(r.Events) != 0 || len(r.Water) != 1 || r.Water[0] != (Water{0, 0, 400}) {
			t.Errorf("sump at %g m: %v %v %v", sump, r.Water, r.Events, r.Status)
		}
	}
}

// given is a head that does not depend on the flow.
type given float64

func (h given) Head(float64) (float64, float64) { return float64(h), 0 }
