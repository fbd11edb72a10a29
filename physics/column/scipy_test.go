package column

import (
	"encoding/json"
	"os"
	"testing"

	"obvert/physics/opening"
)

// TestAgainstSciPy compares with testdata/columns.json, which testdata/columns.py makes with SciPy's solve_ivp from the equations alone.
func TestAgainstSciPy(t *testing.T) {
	data, err := os.ReadFile("testdata/columns.json")
	if err != nil {
		t.Fatal(err)
	}
	var script struct {
		DeadEnd []struct{ Ratio, Exponent, Friction, Peak, Time float64 } `json:"dead_end"`
		Vented  []struct {
			Orifice  float64 `json:"orifice_mm"`
			Peak     float64 `json:"peak_head"`
			PeakTime float64 `json:"peak_time"`
			Gone     float64 `json:"gone_time"`
			Speed    float64 `json:"gone_speed"`
		}
	}
	if err := json.Unmarshal(data, &script); err != nil {
		t.Fatal(err)
	}
	if len(script.DeadEnd) != 4 || len(script.Vented) != 4 {
		t.Fatalf("%d dead ends, %d vents", len(script.DeadEnd), len(script.Vented))
	}
	for _, c := range script.DeadEnd {
		peak, at := deadEnd(t, c.Ratio, c.Exponent, c.Friction)
		near(t, "peak at a dead end", peak, c.Peak, 3e-3)
		near(t, "its time", at, c.Time, 5e-3)
	}
	for _, c := range script.Vented {
		n := straight(100, 0.1, 0.02, 0, 0)
		n.Cooled = true
		n.Nodes[0] = Node{Kind: Tank, Level: 30}
		n.Nodes[1].Kind = Closed
		o := opening.Orifice{Area: opening.Circle(c.Orifice / 1000), Coefficient: 0.6}
		n.Pipes[0].Vents = []Vent{{Distance: 100, In: o, Out: o}}
		r := run(t, n, Settings{Horizon: 60, Tolerance: 1e-4, Water: []Water{{0, 0, 50}}})
		if len(r.Meetings) != 1 {
			t.Fatalf("%g mm: %d meetings, %v at %g s", c.Orifice, len(r.Meetings), r.Status, r.Time)
		}
		near(t, "peak of the air, m", r.Airs[0].Peak/9810, c.Peak, 5e-3)
		near(t, "time without air", r.Meetings[0].Time, c.Gone, 3e-3)
		near(t, "speed then", r.Meetings[0].Before, c.Speed, 5e-3)
	}
}
