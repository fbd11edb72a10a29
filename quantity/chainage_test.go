package quantity

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

var (
	feet   = Stakes{Step: 30.48, Rest: 0.3048} // 100-ft stations
	twenty = Stakes{Step: 20, Rest: 1}
)

func TestParseChainage(t *testing.T) {
	for _, c := range []struct {
		text string
		s    Stakes
		want float64
	}{
		{"1+250", Stakes{}, 1250}, {"0+000", Stakes{}, 0}, {"12+050.75", Stakes{}, 12050.75}, {" 1 + 250 ", Stakes{}, 1250}, {"1+250 m", Stakes{}, 1250},
		{"-0+050", Stakes{}, -50}, {"−1+250", Stakes{}, -1250}, {"1250 m", Stakes{}, 1250}, {"1.25 km", Stakes{}, 1250}, {"4100 ft", Stakes{}, 1249.68}, {"1.25e+3 m", Stakes{}, 1250},
		{"12+50", feet, 381}, {"12+50.5", feet, 381.1524}, {"12+50 ft", feet, 381}, {"1250 ft", feet, 381}, {"3+05", twenty, 65}, {"3+5", twenty, 65}, {"3+19.99", twenty, 79.99},
	} {
		got, err := ParseChainage(c.text, c.s)
		if err != nil || math.Abs(got-c.want) > 1e-12*math.Abs(c.want) {
			t.Errorf("%q with %+v = %.12g (%v), want %g", c.text, c.s, got, err, c.want)
		}
	}
	if v, err := Parse(Chainage, "1+250"); v != 1250 || err != nil {
		t.Error(v, err)
	}
}

func TestChainageRefused(t *testing.T) {
	for _, c := range []struct {
		text             string
		s                Stakes
		understood, hint string
	}{
		{"1+25", Stakes{}, "2 digits behind the +", `write "1+025"`}, {"1+1250", Stakes{}, "reaches the next stake", ""}, {"1+250,5", Stakes{}, "decimal comma", `write "1+250.5"`},
		{"1.5+250", Stakes{}, "plain whole", ""}, {"1+-25", Stakes{}, "plain whole", ""}, {"1+250 ft", Stakes{}, "unit behind", ""}, {"a+250", Stakes{}, "not both figures", ""},
		{"1+", Stakes{}, "not both figures", ""}, {"1250", Stakes{}, "no unit", `write "1250 m" or "1+250"`}, {"1,250+100", Stakes{}, "", ""}, {"1e3+250", Stakes{}, "", ""},
		{"1+250", Stakes{Step: -1, Rest: 1}, "make no sense", ""}, {"1+250", Stakes{Step: math.NaN(), Rest: 1}, "make no sense", ""},
		{"99999999999+250", Stakes{}, "more stakes", ""}, {"nan+250", Stakes{}, "not both", ""}, {"1+2+250", Stakes{}, "", ""},
	} {
		_, err := ParseChainage(c.text, c.s)
		refused(t, Chainage, c.text, err, c.understood, c.hint)
	}
	for _, text := range []string{"12+250", "12+5"} { // km+m where 100-ft stations are meant, and half a figure
		if v, err := ParseChainage(text, feet); err == nil {
			t.Errorf("%s is read as %g", text, v)
		}
	}
	if v, err := ParseChainage("3+20", twenty); err == nil {
		t.Errorf("3+20 is read as %g", v)
	}
}

func TestFormatChainage(t *testing.T) {
	for v, want := range map[float64]string{1250.4: "1+250", 0: "0+000", 999.6: "1+000", -50: "−0+050", -0.3: "0+000", 123456: "123+456", math.Inf(1): "–", 1e13: "–"} {
		if got := FormatChainage(v); got != want {
			t.Errorf("%g: %s, want %s", v, got, want)
		}
	}
	if got := FormatChainage(math.NaN()); got != "–" {
		t.Error(got)
	}
	if got := FormatChainageDecimals(1250.44, 1); got != "1+250.4" {
		t.Error(got)
	}
	rapid.Check(t, func(t *rapid.T) {
		v, d := rapid.Float64Range(-1e8, 1e8).Draw(t, "v"), rapid.IntRange(0, 4).Draw(t, "decimals")
		text := FormatChainageDecimals(v, d)
		back, err := ParseChainage(text, Stakes{})
		if err != nil || math.Abs(back-v) > 0.5*math.Pow10(-d)*(1+1e-6)+1e-8 {
			t.Fatalf("%g → %s → %g (%v)", v, text, back, err)
		}
		if again := FormatChainageDecimals(back, d); again != text {
			t.Fatalf("%s → %s", text, again)
		}
	})
}

func TestParseMoney(t *testing.T) {
	for _, c := range []struct {
		k      Kind
		text   string
		amount float64
		code   string
	}{
		{Money, "1200 EUR", 1200, "EUR"}, {Money, "1200.50 GBP", 1200.5, "GBP"}, {Money, "-3 USD", -3, "USD"}, {MoneyPerEnergy, "0.18 EUR/kWh", 5e-8, "EUR"},
		{MoneyPerEnergy, "180 EUR / MWh", 5e-8, "EUR"}, {MoneyPerVolume, "1.40 INR/m3", 1.4, "INR"}, {MoneyPerVolume, "0.0014 INR/L", 1.4, "INR"}, {MoneyPerVolume, "1400 INR/ML", 1.4, "INR"},
	} {
		amount, code, err := ParseMoney(c.k, c.text)
		if err != nil || code != c.code || math.Abs(amount-c.amount) > 1e-15*math.Abs(c.amount) {
			t.Errorf("%q: %g %s (%v), want %g %s", c.text, amount, code, err, c.amount, c.code)
		}
	}
	for _, c := range []struct {
		k                      Kind
		text, understood, hint string
	}{
		{Money, "1200", "no currency", `"1200 EUR"`}, {Money, "EUR 1200", "in front", `write "1200 EUR"`}, {Money, "€ 5", "in front", `write "5 EUR"`}, {Money, "1200 €", "a sign, not a code", `write "1200 EUR"`},
		{Money, "5 $", "several currencies", ""}, {Money, "5 eur", "capitals", `write "5 EUR"`}, {Money, "5 kEUR", "written out", ""}, {Money, "5 EUX", "not a currency", ""}, {Money, "5 EUR/kWh", "an amount is asked for", `write "5 EUR"`},
		{Money, "1,200 EUR", "may stand for", `write "1.200 EUR" or "1200 EUR"`}, {Money, "1.200,50 EUR", "thousands", `write "1200.50 EUR"`}, {Money, "nan EUR", "nan is not", ""}, {Money, "1e999 EUR", "larger", ""},
		{MoneyPerEnergy, "0.18 EUR", "for how much", `write "0.18 EUR/kWh"`}, {MoneyPerEnergy, "0,18 EUR/kWh", "decimal comma", `write "0.18 EUR/kWh"`}, {MoneyPerEnergy, "0.18 EUR/kwh", "unknown unit", `write "0.18 EUR/kWh"`},
		{MoneyPerEnergy, "EUR 0.18/kWh", "in front", `write "0.18 EUR/kWh"`}, {MoneyPerEnergy, "0.18 EUR/m3", "unknown unit", ""}, {MoneyPerVolume, "1 EUR/cbm", "unknown unit", `write "1 EUR/m³"`}, {Length, "5 EUR", "of a kind", ""},
	} {
		_, _, err := ParseMoney(c.k, c.text)
		refused(t, c.k, c.text, err, c.understood, c.hint)
	}
	seen := map[string]bool{}
	for _, c := range currencies {
		if len(c) != 3 || seen[c] {
			t.Errorf("the code %s is odd", c)
		}
		seen[c] = true
	}
}
