package opening

import (
	"testing"

	"obvert/internal/worked"
)

// TestWorkedNumbers recomputes the numbers of docs/methods/opening.md.
func TestWorkedNumbers(t *testing.T) {
	o := Orifice{Area: Circle(0.080), Coefficient: 0.6}
	flow := func(p1, p2 float64) float64 {
		f, err := o.MassFlow(p1, p2, 288.15)
		if err != nil {
			t.Fatal(err)
		}
		return f.Mass
	}
	c, err := o.SonicConductance()
	if err != nil {
		t.Fatal(err)
	}
	d, _, err := Differential(o, 0.3, Upstream, 101325, 288.15)
	if err != nil {
		t.Fatal(err)
	}
	worked.Hold(t, "opening.md", map[string]float64{
		"in": flow(101325, 91325), "out": flow(111325, 101325), "choked": flow(101325, 0.5*101325), "more": flow(101325, 0.2*101325),
		"conductance": c * 1e8, "differential": d / 1000,
	})
}
