package sizing

import (
	"testing"

	"obvert/internal/worked"
	"obvert/line"
)

// TestWorkedNumbers recomputes the numbers of docs/methods/sizing.md.
func TestWorkedNumbers(t *testing.T) {
	l, p := straight(line.Section{Bore: 60 * inch, HazenWilliams: 100}, -0.020, 0.040)
	l.Site.AtmosphericPressure, l.Site.AirTemperature = 14.3*psi, 519/1.8
	l.Practice.AdmitDifferential.Value = (14.3 - 6.1) * psi
	p.Fed = true
	r := solve(t, Input{Line: l, Places: []Place{p}, Basis: CooledAir, Coefficient: 0.5})
	d := duty(t, &r.Places[0], FullBurst)
	worked.Hold(t, "sizing.md", map[string]float64{
		"velocity": d.Velocity, "cooled": d.All[2].Diameter * 1000, "free": d.All[0].Diameter * 1000, "ratio": d.All[0].Diameter / d.All[2].Diameter,
	})
}
