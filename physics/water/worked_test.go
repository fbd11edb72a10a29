package water

import (
	"testing"

	"obvert/internal/worked"
)

// TestWorkedNumbers recomputes the numbers of docs/methods/water.md.
func TestWorkedNumbers(t *testing.T) {
	const tK, p = 283.15, 101325.0
	w, err := At(tK, p)
	if err != nil {
		t.Fatal(err)
	}
	gas, err := AirCapacity(tK, p)
	if err != nil {
		t.Fatal(err)
	}
	worked.Hold(t, "water.md", map[string]float64{
		"density": w.Density, "viscosity": w.KinematicViscosity * 1e6, "vapour pressure": w.VapourPressure,
		"speed of sound": w.SpeedOfSound, "bulk modulus": w.BulkModulus / 1e9,
		"boiling head": -(p - w.VapourPressure) / (w.Density * 9.80665), "air": gas.NormalVolume * 100,
	})
}
