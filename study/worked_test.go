package study

import (
	"context"
	"math"
	"testing"

	"obvert/internal/worked"
	"obvert/physics/valve"
)

// TestWorkedNumbers recomputes the numbers of docs/methods/compare.md.
func TestWorkedNumbers(t *testing.T) {
	src, faults := Load(flat("Low"), []valve.Record{record("Low", 0.2), record("High", 3)})
	if faults.Err() != nil {
		t.Fatal(faults)
	}
	c, err := Compare(context.Background(), src, []string{"Low", "High"}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	ridge, _ := comparedDemo(t, "ridge", "Alder 80", "Cedar 80")
	high, cedar := &c.Types[1], &ridge.Types[1]
	worked.Hold(t, "compare.md", map[string]float64{
		"leak": high.Leak.Value * 3600e3, "day": high.PerDay.Value, "pit_days": high.PitDays.Value,
		"difference": c.Pairs[0].Difference, "uncertainty": c.Pairs[0].Expanded,
		"cedar_day": cedar.PerDay.Value, "cedar_bought": cedar.Bought.Value, "cedar_present": cedar.Running.Value, "cedar_whole": cedar.Whole.Value,
	})
	// The page's own arithmetic.
	if a := (1 - math.Pow(1.03, -25)) / 0.03; math.Abs(a*cedar.Yearly.Value-cedar.Running.Value) > 0.01 || math.Abs(cedar.Leak.Value*6*3600-cedar.PerDay.Value) > 1e-9 {
		t.Errorf("%g a year is %g, want %g; %g m³/s for 6 h is not %g m³", cedar.Yearly.Value, a*cedar.Yearly.Value, cedar.Running.Value, cedar.Leak.Value, cedar.PerDay.Value)
	}
}
