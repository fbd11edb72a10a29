package costing

import (
	"testing"

	"obvert/internal/worked"
	"obvert/line"
)

// TestWorkedNumbers recomputes the numbers of docs/methods/costing.md.
func TestWorkedNumbers(t *testing.T) {
	const q, dh, eta, hours, days, price = 0.05, 3.0, 0.70, 20.0, 365.0, 0.20
	watt := 1000 * 9.81 * q * dh / eta
	cut, err := Regrade([]line.Point{{Chainage: 0, Obvert: 0}, {Chainage: 1000, Obvert: 20, Distance: 1000}, {Chainage: 2000, Obvert: 0, Distance: 2000}}, 1000, 2)
	if err != nil {
		t.Fatal(err)
	}
	worked.Hold(t, "costing.md", map[string]float64{
		"power": watt / 1000, "energy": watt * hours * days / 1000, "money": watt * hours * days / 1000 * price,
		"factor": PresentFactor(0.03, 25), "value": watt * hours * days / 1000 * price * PresentFactor(0.03, 25), "even": PresentFactor(0, 25),
		"cut": cut.Length,
	})
}
