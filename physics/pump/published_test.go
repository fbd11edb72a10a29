package pump

import (
	"testing"

	"obvert/num"
)

// Hydraulic Institute, Engineering Data Book, pump curves, Ex. 2 in US units: an impeller of 10.625 in, 2,000 US gal/min at 80 ft, trimmed to 67 ft: 9.72 in; at
// 9.75 in, 1,835 US gal/min.
func TestTrimPublishedInInches(t *testing.T) {
	c := curve(t, [2]float64{0, 100 * foot}, [2]float64{2000 * gpm, 80 * foot}, [2]float64{2600 * gpm, 60 * foot})
	d, out := num.Root(func(d float64) float64 {
		r := d / 10.625
		return head(c.Trimmed(r))(2000*gpm*r) - 67*foot
	}, 8, 10.625, 1e-9)
	if !out.OK() {
		t.Fatal(out)
	}
	near(t, "diameter, in", d, 9.72, 0.01)
	r := 9.75 / 10.625
	trimmed := c.Trimmed(r)
	q, where := trimmed.Flow(80*foot*r*r, true)
	if where != Within {
		t.Fatalf("the trimmed pump's duty is %v", where)
	}
	near(t, "flow at 9.75 in", q/gpm, 1835, 2)
}

// Hydraulic Institute, Engineering Data Book, pump fundamentals: kW = Q H s/(366.6 η) with Q in m³/h, H in m and s the specific gravity. With 1,000 kg/m³
// and 9.80665 m/s² the figure is 367.1; the handbook's is 0.14 % below.
func TestPowerFormulaPublished(t *testing.T) {
	const q, h, eta = 250.0, 62.0, 0.74
	want := q * h / (366.6 * eta) * 1e3
	near(t, "power, W", ShaftPower(q*m3h, h, eta, 1000, 9.80665), want, 0.0015*want)
	near(t, "the exact figure", q*h*1e3/(eta*ShaftPower(q*m3h, h, eta, 1000, 9.80665)), 367.1, 0.05)
}

// Hydraulic Institute, Engineering Data Book, pump data table: at 204.4 m³/h 47.2 m, 78 %, 33.7 kW and NPSH 3.4 m required. The points beside that one
// are invented; curves through points must give the printed row back.
func TestPumpTablePublished(t *testing.T) {
	const q = 204.4
	n, err := NewNPSH([][2]float64{{100 * m3h, 2.4}, {q * m3h, 3.4}, {260 * m3h, 5}})
	if err != nil {
		t.Fatal(err)
	}
	e, err := NewEfficiency([][2]float64{{100 * m3h, 0.6}, {q * m3h, 0.78}, {260 * m3h, 0.74}})
	if err != nil {
		t.Fatal(err)
	}
	if r, where := n.Required(q * m3h); where != Within || r != 3.4 {
		t.Errorf("NPSH %g, %v", r, where)
	}
	near(t, "power, W", e.Shaft(q*m3h, 47.2, 1000, 9.80665), 33.7e3, 0.005*33.7e3)
}
