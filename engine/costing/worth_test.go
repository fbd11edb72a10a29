package costing

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"obvert/line"
)

// Compound-interest tables, factor P/A: DeGarmo, Sullivan, Bontadelli, Engineering Economy, appendix C (from memory; the
// last two are the sum of the single payments, worked out here).
func TestPresentFactorTable(t *testing.T) {
	for _, c := range []struct{ rate, years, want float64 }{
		{0.04, 20, 13.5903}, {0.05, 10, 7.7217}, {0.06, 30, 13.7648}, {0.08, 25, 10.6748}, {0.10, 10, 6.1446}, {0.12, 5, 3.6048},
		{0, 20, 20}, {0.10, 1, 1 / 1.1}, {0.10, 2, 1/1.1 + 1/1.21},
	} {
		near(t, "P/A", PresentFactor(c.rate, c.years), c.want, 5e-5)
	}
	near(t, "A/P at 10 %, 10 years", 1/PresentFactor(0.10, 10), 0.1627, 5e-5) // the same table
}

func TestPresentFactor(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, n := rapid.Float64Range(1e-9, 0.4).Draw(t, "rate"), rapid.IntRange(1, 60).Draw(t, "years")
		sum := 0.0
		for y := n; y > 0; y-- {
			sum += math.Pow(1+r, -float64(y))
		}
		if got := PresentFactor(r, float64(n)); math.Abs(got-sum) > 1e-10*sum {
			t.Fatalf("%g, the single payments make %g", got, sum)
		}
		if PresentFactor(r, float64(n)) >= PresentFactor(0, float64(n)) || PresentFactor(r, float64(n+1)) <= PresentFactor(r, float64(n)) {
			t.Fatal("not falling with the rate, or not rising with the years")
		}
	})
}

// At the time of payback the savings are worth the investment.
func TestPaybackCloses(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		i, s := rapid.Float64Range(1, 1e6).Draw(t, "more"), rapid.Float64Range(1, 1e6).Draw(t, "saves")
		r := rapid.OneOf(rapid.Just(0.0), rapid.Float64Range(1e-6, 0.5)).Draw(t, "rate")
		n, ok := payback(i, s, r)
		if ok != (r*i < s) && i/s < 20 {
			t.Fatalf("pays %v, interest %g, saves %g", ok, r*i, s)
		}
		if ok && r*i < 0.999*s && math.Abs(s*PresentFactor(r, n)-i) > 1e-9*i {
			t.Fatalf("after %g years %g of %g", n, s*PresentFactor(r, n), i)
		}
	})
	for _, c := range []struct {
		more, saves float64
		ok          bool
	}{{0, 1, true}, {0, -1, false}, {5, 0, false}, {5, -1, false}, {1, 1e-310, false}} {
		if n, ok := payback(c.more, c.saves, 0.05); ok != c.ok || n != 0 {
			t.Errorf("%+v: %g %v", c, n, ok)
		}
	}
}

func bands(b ...float64) []line.TariffBand {
	var t []line.TariffBand
	for i := 0; i < len(b); i += 3 {
		t = append(t, line.TariffBand{From: b[i], To: b[i+1], Energy: b[i+2]})
	}
	return t
}

func TestTariff(t *testing.T) {
	// night 22 to 6 at 0.1, day at 0.3
	tar, err := newTariff(line.Prices{Tariff: bands(22, 6, 0.1, 6, 22, 0.3)})
	if err != nil {
		t.Fatal(err)
	}
	all, night, noon := window{0, 24}, window{22, 6}, window{10, 14}
	for _, c := range []struct {
		what        string
		w           window
		hours, want float64
	}{
		{"evenly over the day", all, 12, 12 * (8*0.1 + 16*0.3) / 24},
		{"in the night", night, 6, 0.6},
		{"all night", night, 8, 0.8},
		{"all night and four hours of the day", night, 12, 0.8 + 4*0.3},
		{"at noon", noon, 4, 1.2},
		{"at noon and two hours of the rest", noon, 6, 1.2 + 2*(0.8+12*0.3)/20},
		{"all day", noon, 24, 0.8 + 4.8},
		{"across the band's end", window{4, 8}, 4, 2*0.1 + 2*0.3},
	} {
		near(t, c.what, tar.cost(c.w, c.hours), c.want, 1e-12)
	}
	near(t, "mean", tar.mean(), 5.6/24, 1e-12)
	flat, _ := newTariff(line.Prices{Energy: 0.2})
	near(t, "one price", flat.cost(night, 5), 1, 1e-12)
}

func TestTariffFaults(t *testing.T) {
	for _, c := range []struct {
		bands []line.TariffBand
		want  string
	}{
		{bands(0, 12, 0.1), "from 12 to 24"},
		{bands(6, 24, 0.1), "from 0 to 6"},
		{bands(0, 8, 0.1, 9, 24, 0.2), "from 8 to 9"},
		{bands(0, 10, 0.1, 9, 24, 0.2), "two things from 9 to 10"},
		{bands(22, 6, 0.1, 6, 23, 0.3), "two things from 22 to 23"},
		{bands(0, 25, 0.1), "band 1"},
		{bands(0, 24, -0.1), "band 1"},
		{bands(6, 6, 0.1), "band 1"},
		{bands(0, 24, math.NaN()), "band 1"},
	} {
		if _, err := newTariff(line.Prices{Tariff: c.bands}); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v: got %v, want %q", c.bands, err, c.want)
		}
	}
}

// A tariff of one price at all hours is that price; a case in the cheap hours costs less than one spread over the day.
func TestTariffInComparison(t *testing.T) {
	in := publishedLine().input()
	plain := compare(t, in)
	in.Prices.Tariff = bands(0, 24, in.Prices.Energy)
	same := compare(t, in)
	in.Prices.Tariff = bands(22, 14, 0.1, 14, 22, 0.4) // mean 0.2
	spread := compare(t, in)
	in.Cases[0].From, in.Cases[0].To = 22, 14
	night := compare(t, in)
	for i := range plain.Ways {
		w := plain.Ways[i].Year
		near(t, plain.Ways[i].Name, same.Ways[i].Year.EnergyCost, w.EnergyCost, 1e-9)
		near(t, plain.Ways[i].Name+", spread over the day", spread.Ways[i].Year.EnergyCost, w.EnergyCost, 1e-9)
	}
	// the longer hours of a set point spill into the dear ones: all that is more than 16 h at 0.4, the rest at 0.1
	w := way(t, &night, Sustaining, "summit")
	d := w.Cases[0]
	base := night.Base[0]
	want := 365 / 1000.0 * (d.Power*(16*0.1+(d.Hours-16)*0.4) - base.Power*16*0.1)
	near(t, "in the night", w.Year.EnergyCost, want, 1e-9)
	near(t, "price of the night", base.Price, 0.1, 1e-12)
	if len(spread.Assumed) != 1 || len(night.Assumed) != 0 || len(plain.Assumed) != 0 {
		t.Errorf("assumed %v, %v, %v", spread.Assumed, night.Assumed, plain.Assumed)
	}
}
