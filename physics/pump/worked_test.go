package pump

import (
	"testing"

	"obvert/internal/worked"
)

// TestWorkedNumbers recomputes the numbers of docs/methods/pump.md.
func TestWorkedNumbers(t *testing.T) {
	c, _, err := NewCurve([][2]float64{{0, 60}, {0.04, 50}, {0.06, 40}})
	if err != nil {
		t.Fatal(err)
	}
	head := func(c *Curve, q float64) float64 { h, _ := c.Head(q); return h }
	shaft := ShaftPower(0.04, 50, 0.75, 1000, 9.81)
	worked.Hold(t, "pump.md", map[string]float64{
		"slower": head(c.AtSpeed(0.9), 0.036), "parallel": FlowAt([]*Curve{c, c}, 50, true), "shaft": shaft / 1000,
		"electric": ElectricPower(shaft, 0.93, 0.97) / 1000, "npsh": NPSHAvailable(101325, 1228, 999.7, 9.81, 212, 210),
	})
}
