package refilling

import (
	"math"
	"testing"

	"obvert/internal/worked"
)

// TestWorkedNumbers recomputes the numbers of docs/methods/refilling.md.
func TestWorkedNumbers(t *testing.T) {
	r := solve(t, Input{Line: build(ridge, 0.3, fifty()), Case: 0, Flow: 0.03, Sensitivity: true})
	worked.Hold(t, "refilling.md", map[string]float64{
		"velocity": 0.03 / (math.Pi / 4 * 0.09), "shuts": r.Valves[0].Time, "sealed": r.Valves[0].Sealed, "slam": r.Valves[0].Slam,
		"water": r.Water,
	})
}
