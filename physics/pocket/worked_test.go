package pocket

import (
	"math"
	"testing"

	"obvert/internal/worked"
)

// TestWorkedNumbers recomputes the numbers of docs/methods/pocket.md.
func TestWorkedNumbers(t *testing.T) {
	share, ok := Filled(0.01, 0.04)
	if !ok {
		t.Fatal("no pocket")
	}
	critical := map[string]float64{}
	for _, r := range Relations() {
		critical[r.ID], _ = r.Critical(5*math.Pi/180, 0.5, 9.81)
	}
	worked.Hold(t, "pocket.md", map[string]float64{
		"head": HeadLost(40, 5*math.Pi/180), "share": share, "length": Length(0.5, 0.3, share),
		"wisner": critical["wisner"], "kent": critical["mosvoll"], "corcos": critical["corcos"],
	})
}
