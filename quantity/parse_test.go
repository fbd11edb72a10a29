package quantity

import (
	"errors"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// TestParse: the values follow from the definitions in the package comment; the
// figures beside them are ours.
func TestParse(t *testing.T) {
	for _, c := range []struct {
		k    Kind
		text string
		want float64
	}{
		{Length, "450 mm", 0.45}, {Length, "450mm", 0.45}, {Length, " 450 mm ", 0.45}, {Length, "24 in", 0.6096}, {Length, "+3 m", 3},
		{Length, "-3.5 m", -3.5}, {Length, "−3.5 m", -3.5}, {Length, ".5 m", 0.5}, {Length, "1.5e3 m", 1500}, {Length, "1.5E-3 km", 1.5},
		{Length, "15e−1 m", 1.5}, {Length, "450 µm", 4.5e-4}, {Length, "450 μm", 4.5e-4}, {Length, "0 m", 0}, {Length, "0.000 m", 0}, {Length, "007 m", 7},
		{Flow, "12 L/s", 0.012}, {Flow, "12 l/s", 0.012}, {Flow, "12 ℓ/s", 0.012}, {Flow, "36 m3/h", 0.01}, {Flow, "36 m³/h", 0.01}, {Flow, "36 m^3 / h", 0.01},
		{Flow, "8.64 ML/d", 0.1}, {Flow, "8.64 Ml/d", 0.1}, {Flow, "100 US gal/min", 3.785411784e-1 / 60}, {Flow, "1 ft3/s", 0.028316846592},
		{GaugePressure, "1.2 bar", 1.2e5}, {GaugePressure, "1.2 bar(g)", 1.2e5}, {GaugePressure, "1.2 bar (g)", 1.2e5}, {GaugePressure, "6 barg", 6e5},
		{GaugePressure, "6 psi(g)", 6 * 6894.757293168361}, {GaugePressure, "0 bar", 0}, {GaugePressure, "10 mH2O", 98066.5}, {GaugePressure, "10 mH₂O", 98066.5},
		{AbsolutePressure, "1.013 bar(a)", 1.013e5}, {AbsolutePressure, "1013.25 hPa(abs)", 101325}, {PressureDifference, "0.35 bar", 3.5e4},
		{Temperature, "-3 °C", 270.15}, {Temperature, "−3°C", 270.15}, {Temperature, "15 ℃", 288.15}, {Temperature, "300 K", 300}, {Temperature, "59 °F", 288.15},
		{TemperatureDifference, "5 K", 5}, {TemperatureDifference, "5 °C", 5}, {TemperatureDifference, "9 °F", 5},
		{Slope, "1:500", 0.002}, {Slope, "-1:500", -0.002}, {Slope, "−1 : 500", -0.002}, {Slope, "2 ‰", 0.002}, {Slope, "0.2%", 0.002}, {Slope, "2 mm/m", 0.002},
		{Ratio, "78 %", 0.78}, {Ratio, "2 ‰", 0.002}, {Density, "998.2 kg/m3", 998.2}, {DynamicViscosity, "1.002 mPa.s", 1.002e-3}, {DynamicViscosity, "1.002 mPa*s", 1.002e-3},
		{KinematicViscosity, "1 mm2/s", 1e-6}, {Energy, "35 kWh", 1.26e8}, {Power, "35 kW", 35e3}, {Time, "2 h", 7200}, {Time, "1 a", 31536000},
		{RotationalSpeed, "1450 rpm", 1450.0 / 60}, {RotationalSpeed, "24 1/s", 24}, {RotationalSpeed, "1450 1/min", 1450.0 / 60}, {RotationalSpeed, "1 1/s", 1}, {RotationalSpeed, "1450 min⁻¹", 1450.0 / 60}, {RotationalSpeed, "1450 min^-1", 1450.0 / 60},
		{Angle, "180°", math.Pi}, {Angle, "200 gon", math.Pi}, {Acceleration, "9.807 m/s2", 9.807}, {Stiffness, "210 GPa", 2.1e11}, {Stiffness, "8 kN/m2", 8e3},
		{SonicConductance, "4.5 dm3/(s.bar)", 4.5e-8}, {SonicConductance, "4.5 dm³/(s·bar)(ANR)", 4.5e-8}, {MassPerEnergy, "360 g/kWh", 1e-7}, {MassFlow, "36 kg/h", 0.01},
		{Area, "1 ha", 1e4}, {Volume, "5 US gal", 0.01892705892}, {Mass, "2 t", 2000}, {Speed, "36 km/h", 10},
	} {
		got, err := Parse(c.k, c.text)
		if err != nil || math.Abs(got-c.want) > 2.3e-16*math.Abs(c.want) {
			t.Errorf("%v %q = %.17g (%v), want %.17g", c.k, c.text, got, err, c.want)
		}
	}
}

var extreme = regexp.MustCompile(`larger than|smaller than|below absolute|below vacuum`)

var quoted = regexp.MustCompile(`"(?:[^"\\]|\\.)*"`)

// refused checks an error's parts, and that every spelling its hint offers is
// accepted.
func refused(t *testing.T, k Kind, text string, err error, understood, hint string) {
	t.Helper()
	var e *Error
	if !errors.As(err, &e) {
		t.Errorf("%v %q is accepted", k, text)
		return
	}
	if e.Kind != k || e.Text != text || !strings.Contains(e.Understood, understood) || !strings.Contains(e.Hint, hint) {
		t.Errorf("%v %q:\n got %v\nwant …%s…; …%s…", k, text, e, understood, hint)
	}
	offersParse(t, e)
}

func offersParse(t *testing.T, e *Error) {
	t.Helper()
	for _, q := range quoted.FindAllString(e.Hint, -1) {
		s, err := strconv.Unquote(q)
		if err != nil || strings.HasSuffix(s, "…") {
			continue
		}
		if e.Kind.isMoney() {
			_, _, err = ParseMoney(e.Kind, s)
		} else {
			_, err = Parse(e.Kind, s)
		}
		var inner *Error
		if errors.As(err, &inner) && extreme.MatchString(inner.Understood) {
			continue // rightly spelt, and no figure of the kind
		}
		if err != nil {
			t.Errorf("%v %q: the hint %s is refused itself: %v", e.Kind, e.Text, q, err)
		}
	}
}

func TestRefused(t *testing.T) {
	for _, c := range []struct {
		k                      Kind
		text, understood, hint string
	}{
		{Length, "450", "no unit", `write "450 mm" or "450 m"`},
		{Length, "12 L/s", "L/s is a unit of a flow", `such as "450 mm"`},
		{Flow, "450 mm", "mm is a unit of a length", `"12 L/s"`},
		{Length, "1,5 m", "decimal comma", `write "1.5 m"`},
		{Length, "0,500 m", "decimal comma", `write "0.500 m"`},
		{Length, "1,5", "decimal comma; no unit", `write "1.5 mm" or "1.5 m"`},
		{Length, "1,500 m", "may stand for 1.500 or for 1500", `write "1.500 m" or "1500 m"`},
		{Length, "1,500,000 m", "thousands", `write "1500000 m"`},
		{Length, "1.500.000 m", "thousands", `write "1500000 m"`},
		{Length, "1,500.5 m", "thousands", `write "1500.5 m"`},
		{Length, "1.500,5 m", "thousands", `write "1500.5 m"`},
		{Length, "1 500 m", "thousands", `write "1500 m"`},
		{Length, "1\u202f500 m", "thousands", `write "1500 m"`},
		{Length, "1'500,25 m", "thousands", `write "1500.25 m"`},
		{Length, "1_000 m", "underscores", `write "1000 m"`},
		{Length, "5. m", "nothing stands behind", `write "5 m"`},
		{Length, "nan", "nan is not a figure", ""}, {Length, "NaN m", "NaN is not a figure", ""}, {Length, "-inf m", "inf is not a figure", ""},
		{Length, "Infinity m", "Infinity is not", ""},
		{Length, "1e999 m", "larger than any", ""}, {Length, "-1e301 m", "larger than any", ""}, {Length, "1e300 km", "larger than any", ""},
		{Length, "1e-999 m", "smaller than any", ""}, {Length, "1e-300 mm", "smaller than any", ""},
		{Length, "0x1p-2 m", "hexadecimal", ""}, {Length, "0x1p-2", "hexadecimal", ""}, {Length, "0b101 m", "binary", ""}, {Length, "0o17 m", "octal", ""},
		{Length, "", "empty", ""}, {Length, " \u00a0 ", "empty", ""}, {Length, "mm", "no figure", ""}, {Length, "DN 300", "no figure", "nominal size"},
		{Length, "1/2 in", "fraction", `write "0.5 in"`}, {Length, "1 1/2 in", "fraction", `write "1.5 in"`}, {Length, "½ in", "no figure", ""},
		{Length, "1½ in", "fraction", ""}, {Length, "10-12 m", "more than one figure", ""}, {Length, "10±1 m", "more than one", ""}, {Length, "10...12 m", "no figure that can be read", ""},
		{Length, "1.5×10^3 m", "power of ten", ""}, {Length, "450 MM", `unknown unit "MM"`, `write "450 mm"`}, {Length, "450 milimeter", "unknown unit", ""},
		{Length, "450 metres", "unknown unit", `write "450 m"`}, {Length, `24"`, "unknown unit", `write "24 in"`}, {Length, "12 мм", "Cyrillic", `write "12 mm"`},
		{Length, "4\u200b50 mm", "invisible character (U+200B)", `write "450 mm"`}, {Length, "４５０ mm", "not plain", `write "450 mm"`}, {Length, "٤٥٠ mm", "not plain", `write "450 mm"`},
		{Length, "–3 m", "U+2013", `write "-3 m"`}, {Length, "- 3 m", "space stands between", `write "-3 m"`}, {Length, "1+250", "", ""}, {Length, "\xff m", "UTF-8", ""},
		{Length, strings.Repeat("1", 300) + " m", "longer than 256", ""}, {Length, "1..2 m", "", ""}, {Length, "1,2,3 m", "thousands", ""}, {Length, ", m", "no figure", ""},
		{Flow, "12 lps", "unknown unit", `write "12 L/s"`}, {Flow, "12 l/sec", "unknown unit", `write "12 L/s"`}, {Flow, "12 m3/hr", "unknown", `write "12 m³/h"`},
		{Flow, "12 gpm", "a gallon is", ""}, {Flow, "12 cumecs", "unknown", `write "12 m³/s"`}, {Flow, "12 M3/H", "unknown", `write "12 m³/h"`},
		{GaugePressure, "1.2 bar(a)", "counts from vacuum", `"1.2 bar(g)"`}, {GaugePressure, "12 m", "metres are a length", `write "12 mH2O"`},
		{GaugePressure, "12 mWS", "unknown", `write "12 mH2O"`}, {GaugePressure, "6 PSI", "unknown", `write "6 psi"`},
		{AbsolutePressure, "1.2 bar", "does not say whether", `write "1.2 bar(a)"`}, {AbsolutePressure, "1.2 bar(g)", "from the air outside", `"1.013 bar(a)"`},
		{AbsolutePressure, "-1 bar(a)", "below vacuum", ""}, {PressureDifference, "1.2 bar(g)", "no reference", `write "1.2 bar"`}, {PressureDifference, "1.2 bar(a)", "no reference", `write "1.2 bar"`},
		{Temperature, "15", "no unit", `write "15 °C"`}, {Temperature, "15 C", "unknown", `write "15 °C"`}, {Temperature, "15 degC", "unknown", `write "15 °C"`}, {Temperature, "-300 °C", "absolute zero", ""}, {Temperature, "-1 K", "absolute zero", ""},
		{Slope, "0.002", "no unit", `write "1:500" or "0.002 %"`}, {Slope, "3°", "not an angle", `write "5.241 %"`}, {Slope, "500:1", "not 1", ""}, {Slope, "1:0", "not above zero", ""},
		{Slope, "1:-5", "not above zero", ""}, {Slope, "1:5,5", "decimal comma", `write "1:5.5"`}, {Slope, "1:500 m", "cannot be read", ""}, {Slope, "1:2:3", "", ""},
		{Ratio, "0.78", "no unit", `write "78 %"`}, {Ratio, "78", "no unit", `write "78 %"`}, {Ratio, "78 percent", "unknown", `write "78 %"`},
		{AirFlow, "350 m3/h", "without its conditions", `write "350 m³/h(normal)" or "350 m³/h(standard)" or "350 m³/h(ANR)"`}, {AirFlow, "350 Nm3/h", "conditions stand behind", `write "350 m³/h(normal)"`},
		{AirFlow, "350 scfm", "conditions of a standard", ""}, {AirFlow, "350 m3/h(Normal)", "unknown", `write "350 m³/h(normal)"`},
		{Power, "5 hp", "a horsepower is", ""}, {Power, "5 Kw", "unknown", `write "5 kW"`}, {Energy, "35 KWH", "unknown", `write "35 kWh"`}, {Energy, "35 kW", "unit of a power", ""},
		{RotationalSpeed, "50 Hz", "not the shaft's", ""}, {RotationalSpeed, "1450 U/min", "unknown", `write "1450 rpm"`}, {MassPerEnergy, "380 gCO2/kWh", "unknown", `write "380 g/kWh"`},
		{RotationalSpeed, "241/s", "unknown unit", ""}, {Time, "3 months", "no fixed length", ""}, {Time, "5 years", "unknown", `write "5 a"`}, {Mass, "3 tons", "a ton is", ""}, {Energy, "5 EUR", "unit of money", ""},
		{Length, "859'", "unknown unit", `write "859 ft"`}, {Length, "1'859 m", "thousands separators", `write "1859 m"`}, {Length, "1'859'", "thousands separators", `"1859 ft"`},
		{Density, "998 kg/cbm", "unknown", `write "998 kg/m³"`}, {Chainage, "1250", "no unit", `write "1250 m" or "1+250"`}, {Chainage, "450 mm", "unit of a length", ""},
		{Money, "5 EUR", "currency beside", ""}, {Kind(0), "5 m", "does not exist", ""}, {Kind(99), "5 m", "does not exist", ""},
	} {
		_, err := Parse(c.k, c.text)
		refused(t, c.k, c.text, err, c.understood, c.hint)
	}
}

// TestErrorText is the sentence promised in the package's agreement.
func TestErrorText(t *testing.T) {
	_, err := Parse(Length, "450")
	if got, want := err.Error(), `"450" is not a length: no unit; write "450 mm" or "450 m"`; got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	if got := (&Error{Kind: Flow, Text: strings.Repeat("x", 90)}).Error(); len([]rune(got)) > 70 || !strings.Contains(got, "…") {
		t.Errorf("a long text is not cut: %s", got)
	}
}

func TestNearest(t *testing.T) {
	known := []string{"bore", "wall", "length", "section", "name", "L/s"}
	for word, want := range map[string]string{"bor": "bore", "broe": "bore", "Bore": "bore", "lenght": "length", "sectoin": "section", "wal": "wall", "l/s": "L/s", "nmae": "name"} {
		if got, ok := Nearest(word, known); !ok || got != want {
			t.Errorf("%s: %q, want %q", word, got, want)
		}
	}
	for _, word := range []string{"", "x", "pressure", "be", strings.Repeat("a", 1000)} {
		if got, ok := Nearest(word, known); ok {
			t.Errorf("%.20s is taken for %q", word, got)
		}
	}
	if _, ok := Nearest("a", []string{"b"}); ok {
		t.Error("a letter is taken for another")
	}
	// Distances worked out by hand: swap 1, insert 1, replace 1; "ca" to "abc" is 3
	// in the restricted form (the textbook case that tells it from the full one).
	for _, c := range []struct {
		a, b string
		want int
	}{{"", "", 0}, {"ab", "ba", 1}, {"ab", "axb", 1}, {"ab", "ax", 1}, {"ca", "abc", 3}, {"kitten", "sitting", 3}} {
		if got := distance([]rune(c.a), []rune(c.b)); got != c.want {
			t.Errorf("%s→%s: %d, want %d", c.a, c.b, got, c.want)
		}
		if got := distance([]rune(c.b), []rune(c.a)); got != c.want {
			t.Errorf("%s→%s: %d, want %d", c.b, c.a, got, c.want)
		}
	}
}

func TestLookAlikes(t *testing.T) {
	plain, named := LookAlikes("bоrе") // Cyrillic о and е
	if plain != "bore" || len(named) != 2 || named[0] != `"о" (U+043E, Cyrillic)` {
		t.Errorf("%q %q", plain, named)
	}
	if plain, named = LookAlikes("ｍｍ"); plain != "mm" || len(named) != 1 || !strings.Contains(named[0], "fullwidth") {
		t.Errorf("%q %q", plain, named)
	}
	if _, named = LookAlikes("Ονομα"); len(named) == 0 || !strings.Contains(named[0], "Greek") {
		t.Errorf("%q", named)
	}
	for _, s := range []string{"bore", "", "µm", "m³/s", "°C", "höhe"} {
		if plain, named := LookAlikes(s); plain != s || named != nil {
			t.Errorf("%q → %q %q", s, plain, named)
		}
	}
}
