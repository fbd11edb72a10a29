package valve

import (
	"math"
	"testing"
)

// ISO 5208:2015, rates for liquids in mm³/s per mm of nominal size (from memory), with the drops a second per mm of a published table of drops,
// 1 drop = 62.5 mm³ ("Valve seat leakage rates comparison", piping-world.com; its headings print D as .00016, its rows have it right). The table
// rounds to two figures, so AA and C agree to 5 % only.
func TestRatesPublished(t *testing.T) {
	for _, c := range []struct {
		rate       string
		mm3, drops float64
	}{
		{"A", 0, 0}, {"AA", 0.006, .0001}, {"B", 0.01, .00016}, {"C", 0.03, .0005}, {"CC", 0.08, .0013}, {"D", 0.1, .0016},
		{"E", 0.3, .0048}, {"EE", 0.39, .0062}, {"F", 1, .016}, {"G", 2, .032},
	} {
		r, ok := rateNamed(c.rate)
		if !ok {
			t.Fatalf("no rate %s", c.rate)
		}
		if got := r.Flow(0.001) * 1e9; math.Abs(got-c.mm3) > 1e-12 {
			t.Errorf("rate %s: %g mm³/s per mm, want %g", c.rate, got, c.mm3)
		}
		if got := r.Flow(0.001) / Drop; math.Abs(got-c.drops) > 0.05*c.drops {
			t.Errorf("rate %s: %g drops a second per mm, want %g", c.rate, got, c.drops)
		}
	}
}

// The same rates as mL/min at DN 50, 100 and 200: arithmetic on the standard's figures, reckoned by ourselves.
func TestRatesInMillilitres(t *testing.T) {
	for rate, want := range map[string][3]float64{
		"B": {.03, .06, .12}, "D": {0.3, 0.6, 1.2}, "E": {0.9, 1.8, 3.6}, "F": {3, 6, 12}, "G": {6, 12, 24},
	} {
		r, ok := rateNamed(rate)
		if !ok {
			t.Fatalf("no rate %s", rate)
		}
		for i, dn := range []float64{0.05, 0.1, 0.2} {
			if got := r.Flow(dn) * 60e6; math.Abs(got-want[i]) > 1e-9 {
				t.Errorf("rate %s, DN %g: %g mL/min, want %g", rate, dn*1e3, got, want[i])
			}
		}
	}
}

func rateNamed(name string) (Rate, bool) {
	for _, r := range Rates() {
		if r.Name == name {
			return r, true
		}
	}
	return Rate{}, false
}
