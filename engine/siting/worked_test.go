package siting

import (
	"slices"
	"testing"

	"obvert/internal/worked"
)

// TestWorkedNumbers recomputes the numbers of docs/methods/siting.md.
func TestWorkedNumbers(t *testing.T) {
	l := tankToTank(0, 0, 1000, 20, 2000, 10, 3000, 16, 4000, 0)
	r := solve(t, Input{Line: l})
	var high []Candidate
	for _, c := range r.Candidates {
		if slices.ContainsFunc(c.Reasons, func(x Reason) bool { return x.ID == "high-point" }) {
			high = append(high, c)
		}
	}
	if len(high) != 2 {
		t.Fatalf("%d high points: %+v", len(high), high)
	}
	worked.Hold(t, "siting.md", map[string]float64{"first": high[0].Chainage, "second": high[1].Chainage, "level": high[1].Obvert})
}
