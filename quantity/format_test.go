package quantity

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestFormat(t *testing.T) {
	for _, c := range []struct {
		v        float64
		unit     string
		decimals int
		want     string
	}{
		{0.012, "L/s", 1, "12.0\u00a0L/s"}, {0.012, "l/s", 1, "12.0\u00a0L/s"}, {0.45, "mm", 0, "450\u00a0mm"}, {270.15, "°C", 0, "−3\u00a0°C"}, {0.01, "m3/h", 1, "36.0\u00a0m³/h"},
		{-0.00001, "m", 1, "0.0\u00a0m"}, {-0.06, "m", 1, "−0.1\u00a0m"}, {math.Pi / 2, "°", 1, "90.0°"}, {0.78, "%", 0, "78\u00a0%"}, {0.78, "1", 2, "0.78"}, {1.2e5, "bar(g)", 2, "1.20\u00a0bar(g)"},
		{0.002, "1:n", 0, "1:500"}, {-0.002, "1:n", 0, "−1:500"}, {0, "1:n", 0, "0"}, {1267, "m", -2, "1300\u00a0m"}, {5e-8, "EUR/kWh", 2, "0.18\u00a0EUR/kWh"}, {math.NaN(), "m", 1, "–"}, {math.Inf(-1), "m", 1, "–"},
		{1e16, "m", 1, "1.0e+16\u00a0m"}, {math.NaN(), "1:n", 0, "–"}, {4186, "kJ/(kg·K)", 3, "4.186\u00a0kJ/(kg·K)"},
	} {
		if got := Format(c.v, c.unit, c.decimals); got != c.want {
			t.Errorf("%g in %s: %q, want %q", c.v, c.unit, got, c.want)
		}
	}
	for v, want := range map[float64]string{-3: "−3", 0: "0", -0.2: "0", 2.5: "2", 1e15: "1e+15", math.Inf(1): "–"} {
		if got := Number(v, 0); got != want {
			t.Errorf("%g: %q, want %q", v, got, want)
		}
	}
	defer func() {
		if recover() == nil {
			t.Error("an unknown unit is formatted")
		}
	}()
	Format(1, "furlong", 1)
}

// TestRoundTrip: what Format writes, Parse reads, and Format writes it again the
// same; for every unit of every kind.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		for _, k := range Kinds() {
			if !k.isMoney() && k != TemperatureDifference { // a difference is written in K
				u := rapid.SampledFrom(tables[k].units).Draw(t, "unit")
				roundTrip(t, k, u)
			}
		}
	})
}

func roundTrip(t *rapid.T, k Kind, u unit) {
	x := rapid.Float64Range(-1e8, 1e8).Draw(t, "x")
	decimals := rapid.IntRange(0, 5).Draw(t, "decimals")
	if k == Temperature || k == AbsolutePressure {
		x = math.Abs(x)
	}
	text := Format(u.toSI(x), u.name, decimals)
	v, err := Parse(k, text)
	if err != nil {
		t.Fatalf("%g %s → %q: %v", x, u.name, text, err)
	}
	back := u.fromSI(v)
	if math.Abs(back-x) > 0.5*math.Pow10(-decimals)+1e-12*math.Abs(x)+1e-9 {
		t.Fatalf("%g %s → %q → %g", x, u.name, text, back)
	}
	if again := Format(v, u.name, decimals); again != text {
		t.Fatalf("%q → %q", text, again)
	}
}

// TestMonotone: of two figures in one unit the larger stays the larger.
func TestMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.SampledFrom([]Kind{Length, Flow, GaugePressure, Energy, AirFlow}).Draw(t, "kind")
		unit := rapid.SampledFrom(Units(k)).Draw(t, "unit")
		a, b := rapid.IntRange(-100000, 100000).Draw(t, "a"), rapid.IntRange(-100000, 100000).Draw(t, "b")
		x, errX := Parse(k, fmt.Sprintf("%d %s", a, unit))
		y, errY := Parse(k, fmt.Sprintf("%d %s", b, unit))
		if errX != nil || errY != nil || (a < b) != (x < y) {
			t.Fatalf("%d, %d %s → %g, %g (%v %v)", a, b, unit, x, y, errX, errY)
		}
	})
}

var seeds = []string{
	"450 mm", "12 L/s", "1.2 bar", "1+250", "6 psi(g)", "1:500", "-3 °C", "35 kWh", "450", "1,5 m", "1,500 m", "1.500,5 m", "1 500 m", "nan", "inf m", "1e999 m",
	"0x1p-2", "1_000", "−3°C", "–3 m", "12 lps", "½ in", "1 1/2 in", "DN 300", "350 Nm3/h", "350 m3/h(normal)", "4.5 dm3/(s.bar)", "0.18 EUR/kWh", "€ 5", "12 мм", "４５０ mm",
	"4\u200b50 mm", "\xff", "", " ", "+", "-", ".", ",", "1:", ":1", "1:0", "1+", "+1", "1+2+3", "e5", "1e", "1e+ m", "0b1", "0 bar", "𝟏𝟐 m", "1'000.5 m", "5 kEUR", "1e-400 m", "1/0 in", "3/ m",
}

// checkParsed is what must hold for any text at all.
func checkParsed(t *testing.T, k Kind, text string, v float64, err error) {
	t.Helper()
	if math.IsNaN(v) || math.IsInf(v, 0) || math.Abs(v) > largest {
		t.Fatalf("%v %q = %g", k, text, v)
	}
	if err == nil {
		return
	}
	e, ok := err.(*Error)
	if !ok || v != 0 || e.Kind != k || e.Text != text || e.Understood == "" || e.Hint == "" {
		t.Fatalf("%v %q: %#v with value %g", k, text, err, v)
	}
	if n := len([]rune(e.Error())); n > 600 || strings.ContainsAny(e.Error(), "\n\r\x00") {
		t.Fatalf("%v %q: the message has %d characters: %s", k, text, n, e)
	}
	offersParse(t, e)
}

func FuzzParse(f *testing.F) {
	for _, s := range seeds {
		for _, k := range []Kind{Length, Flow, Slope, GaugePressure, AbsolutePressure, Temperature, AirFlow, Ratio} {
			f.Add(uint8(k), s)
		}
	}
	f.Fuzz(func(t *testing.T, kind uint8, text string) {
		k := Kind(kind)
		if !k.valid() || k.isMoney() {
			_, err := Parse(k, text)
			if err == nil {
				t.Fatalf("%v %q is accepted", k, text)
			}
			return
		}
		v, err := Parse(k, text)
		checkParsed(t, k, text, v, err)
		if err != nil || k == Chainage {
			return
		}
		stable(t, k, text, v)
	})
}

// stable: the figure survives Format and Parse in the kind's own first unit.
func stable(t *testing.T, k Kind, text string, v float64) {
	t.Helper()
	u := tables[k].units[0]
	x := math.Abs(u.fromSI(v))
	if x > 1e9 || x != 0 && x < 1e-3 {
		return // more digits than a float has
	}
	first := Format(v, u.name, 4)
	back, err := Parse(k, first)
	if err != nil {
		t.Fatalf("%v %q → %q: %v", k, text, first, err)
	}
	if second := Format(back, u.name, 4); second != first {
		t.Fatalf("%v %q → %q → %q", k, text, first, second)
	}
}

func FuzzParseChainage(f *testing.F) {
	for _, s := range seeds {
		f.Add(s, 1000.0, 1.0)
		f.Add(s, 30.48, 0.3048)
	}
	f.Fuzz(func(t *testing.T, text string, step, rest float64) {
		v, err := ParseChainage(text, Stakes{step, rest})
		if math.IsNaN(v) || math.IsInf(v, 0) || (err != nil) != (v == 0 && err != nil) {
			t.Fatalf("%q = %g, %v", text, v, err)
		}
		if step == 1000 && rest == 1 {
			checkParsed(t, Chainage, text, v, err)
		}
	})
}

func FuzzParseMoney(f *testing.F) {
	for _, s := range seeds {
		f.Add(uint8(Money), s)
		f.Add(uint8(MoneyPerEnergy), s)
	}
	f.Fuzz(func(t *testing.T, kind uint8, text string) {
		v, code, err := ParseMoney(Kind(kind), text)
		if err == nil && !isCurrency(code) {
			t.Fatalf("%q has the currency %q", text, code)
		}
		if Kind(kind).isMoney() {
			checkParsed(t, Kind(kind), text, v, err)
		}
	})
}

// FuzzUnit: a unit that is not in the table is an error, whatever it is.
func FuzzUnit(f *testing.F) {
	for _, s := range []string{"mm", "m/s", "J/(kg·K)", "µm", "", "m³", "(", "1", "m-1", "furlong"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, name string) {
		if x, err := To(1, name); Known(name) != (err == nil) && err == nil || math.IsNaN(x) || math.IsInf(x, 0) {
			t.Fatalf("%q: %g, %v", name, x, err)
		}
		if strings.IndexFunc(name, func(r rune) bool { return strings.ContainsRune("0123456789.,'’_+-−:", r) }) >= 0 {
			return
		}
		for _, k := range []Kind{Length, Flow, GaugePressure} {
			_, listed := tables[k].find(name)
			if _, err := Parse(k, "7 "+name); (err == nil) != listed && len(name) < 100 {
				t.Fatalf("%v: unit %q, listed %v, %v", k, name, listed, err)
			}
		}
	})
}

func BenchmarkParse(b *testing.B) {
	for b.Loop() {
		if _, err := Parse(Flow, "12.5 L/s"); err != nil {
			b.Fatal(err)
		}
	}
}

func ExampleParse() {
	v, _ := Parse(Length, "450 mm")
	fmt.Println(v)
	_, err := Parse(Length, "450")
	fmt.Println(err)
	_, err = Parse(AbsolutePressure, "1.2 bar")
	fmt.Println(err)
	// Output:
	// 0.45
	// "450" is not a length: no unit; write "450 mm" or "450 m"
	// "1.2 bar" is not an absolute pressure: it does not say whether it counts from vacuum; if it does, write "1.2 bar(a)"
}

func ExampleFormat() {
	line := fmt.Sprintln(Format(0.012, "L/s", 1), Format(270.15, "°C", 0), FormatChainage(1250.4))
	fmt.Print(strings.ReplaceAll(line, "\u00a0", " ")) // no-break spaces
	// Output: 12.0 L/s −3 °C 1+250
}
