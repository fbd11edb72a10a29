package sealing

import (
	"math"
	"testing"

	"obvert/internal/worked"
	"obvert/num"
)

// TestWorkedNumbers recomputes the numbers of docs/methods/sealing.md.
func TestWorkedNumbers(t *testing.T) {
	taps := []Tap{{Name: "summit", Seat: 50, Sealing: 3, LettingGo: 2.5}, {Name: "low", Seat: 48.5, Sealing: 4, LettingGo: 3.5}}
	r, err := RestLevel(51, taps, nil)
	if err != nil {
		t.Fatal(err)
	}
	margin, u := 2.10-1.85, math.Hypot(math.Hypot(0.04, 0.03), 0.10)
	worked.Hold(t, "sealing.md", map[string]float64{
		"margin": margin, "uncertainty": u, "chance": num.NormalCDF(-margin/u) * 100, "rest": r.Level, "gain": r.Exchanges[1].Gain,
	})
}
