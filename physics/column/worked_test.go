package column

import (
	"math"
	"testing"

	"obvert/internal/worked"
)

// TestWorkedNumbers recomputes the numbers of docs/methods/column.md.
func TestWorkedNumbers(t *testing.T) {
	const a, g, v = 1000.0, 9.81, 0.5
	area := math.Pi / 4 * 0.3 * 0.3
	pass := 0.6 * math.Pi / 4 * 0.02 * 0.02
	worked.Hold(t, "column.md", map[string]float64{
		"middle": Slam(10, v*area, 2*g*area/a, 0, g), "end": Slam(10, v*area, g*area/a, 0, g),
		"eased": Slam(10, v*area, 2*g*area/a, pass, g),
	})
}
