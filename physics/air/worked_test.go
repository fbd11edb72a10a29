package air

import (
	"testing"

	"obvert/internal/worked"
)

// TestWorkedNumbers recomputes the numbers of docs/methods/air.md.
func TestWorkedNumbers(t *testing.T) {
	a, err := Standard(1000)
	if err != nil {
		t.Fatal(err)
	}
	m, err := Humid(293.15, 101325, 0.5)
	if err != nil {
		t.Fatal(err)
	}
	free, err := At("free air", 293.15, 90000, 0)
	if err != nil {
		t.Fatal(err)
	}
	worked.Hold(t, "air.md", map[string]float64{
		"pressure": a.Pressure / 1000, "temperature": a.Temperature, "density": a.Density, "sound": a.SpeedOfSound,
		"humid": m.Density, "mass": Normal().Mass(100), "standard": Convert(100, Normal(), StandardISO()), "free": Convert(100, Normal(), free),
	})
}
