package valve

import (
	"math"
	"testing"
)

// Rows of a published table of leakage rates in drops a minute, 1 drop = 62.5 mm³
// ("Valve seat leakage rates comparison", piping-world.com).
func TestRatesInDrops(t *testing.T) {
	for _, c := range []struct {
		rate  string
		dn    float64
		drops float64 // a minute
	}{{"B", 0.050, 0.48}, {"D", 0.050, 4.8}, {"G", 0.050, 96}, {"E", 0.100, 28.8}} {
		found := false
		for _, r := range Rates() {
			if r.Name == c.rate {
				found = true
				if got := r.Flow(c.dn) / Drop * 60; math.Abs(got-c.drops) > 0.001*c.drops {
					t.Errorf("rate %s, DN %g: %g drops a minute, want %g", c.rate, c.dn*1e3, got, c.drops)
				}
			}
		}
		if !found {
			t.Errorf("no rate %s", c.rate)
		}
	}
}

func TestRateOf(t *testing.T) {
	const mLperMin = 1e-6 / 60
	// reckoned here from the rates: DN 100, E is 1.8 mL/min, F is 6, G is 12
	for _, c := range []struct {
		q    float64
		want string
	}{{0, "A"}, {1.8 * mLperMin, "E"}, {1.81 * mLperMin, "EE"}, {6 * mLperMin, "F"}, {12 * mLperMin, "G"}, {12.1 * mLperMin, ""}} {
		if r, ok := RateOf(c.q, 0.1); r.Name != c.want || ok != (c.want != "") {
			t.Errorf("%g m³/s: rate %q, want %q", c.q, r.Name, c.want)
		}
	}
	for i, r := range Rates() {
		if i > 0 && r.Limit <= Rates()[i-1].Limit {
			t.Errorf("rate %s is not looser than the one before", r.Name)
		}
	}
}
