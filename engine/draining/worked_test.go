package draining

import (
	"testing"

	"obvert/internal/worked"
)

// TestWorkedNumbers recomputes the numbers of docs/methods/draining.md.
func TestWorkedNumbers(t *testing.T) {
	r := inclined(50).solve(t)
	m := r.Openings[0].Marks
	worked.Hold(t, "draining.md", map[string]float64{"quarter": m[0].Time, "half": m[1].Time, "air": r.Valves[0].FreePeak * 1000})
}
