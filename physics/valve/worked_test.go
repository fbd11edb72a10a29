package valve

import (
	"testing"

	"obvert/internal/worked"
)

// TestWorkedNumbers recomputes the numbers of docs/methods/valve.md.
func TestWorkedNumbers(t *testing.T) {
	s := Threshold{Bound: Measured, Mean: 20000, Uncertainty: 400, Scatter: 300, HasScatter: true}
	r := Record{Name: "worked", Sealing: Threshold{Bound: Measured, Mean: 8000}, Leak: []LeakPoint{{0, 0}, {2000, 3e-5}, {6000, 1e-5}}}
	worked.Hold(t, "valve.md", map[string]float64{
		"head": s.Head(998.2071, 9.80665), "next": s.Spread(), "chord": r.LeakFlow(1000) * 1e6, "top": r.LeakFlow(2000) * 1e6,
		"falling": r.LeakFlow(4000) * 1e6, "shut": r.LeakFlow(8000) * 1e6, "rate": Rates()[1].Flow(0.08) * 1e9,
	})
}
