package quantity

import (
	"errors"
	"math"
	"strings"
	"testing"
)

// TestTable holds what is shown of a unit to what the unit is read as.
func TestTable(t *testing.T) {
	for _, k := range Kinds() {
		rows := Table(k)
		if (k == Money) != (len(rows) == 0) {
			t.Errorf("%v has %d units", k, len(rows))
		}
		for _, u := range rows {
			if u.Source == "" || u.Exact == "" {
				t.Errorf("%v, %s: no source or no exact worth", k, u.Name)
			}
			if k.isMoney() {
				continue
			}
			v, err := Parse(k, "1 "+u.Name)
			if err != nil {
				t.Fatal(err)
			}
			if want := (1 + u.Shift) * u.SI; math.Abs(v-want) > 1e-14*math.Abs(want) {
				t.Errorf("1 %s is read as %g and shown as %g", u.Name, v, want)
			}
			x, name, err := Convert(k, v, u.Name)
			if err != nil || name != u.Name || math.Abs(x-1) > 1e-12 {
				t.Errorf("1 %s comes back as %g %s, %v", u.Name, x, name, err)
			}
		}
	}
}

// TestTableSays compares a few rows with their definitions: NIST SP 811, Appendix B.8 (inch, psi from pound-force and
// inch, °F), SI Brochure 2.3.1 (°C), ISO 2533 (standard air).
func TestTableSays(t *testing.T) {
	for _, c := range []struct {
		kind                Kind
		unit, exact, source string
	}{
		{Length, "in", "254/10000 m", fromNIST},
		{Length, "mm", "1/1000 m", fromBIPM},
		{Length, "km", "1000 m", fromBIPM},
		{GaugePressure, "psi(g)", "44482216152605/6451600000 Pa", fromNIST},
		{AbsolutePressure, "bar(a)", "100000 Pa", fromBIPM},
		{Temperature, "°C", "(x + 273.15) K", fromBIPM},
		{Temperature, "°F", "(x + 459.67) · 5/9 K", fromNIST},
		{Flow, "US gal/min", "3785411784/60000000000000 m³/s", fromNIST},
		{AirFlow, "m³/h(standard)", "1.225/3600 kg/s", fromISO},
		{AirFlow, "m³/h(ANR)", "1.185/3600 kg/s", fromANR},
		{Ratio, "%", "1/100", fromBIPM},
	} {
		found := false
		for _, u := range Table(c.kind) {
			if u.Name == c.unit {
				found = true
				if u.Exact != c.exact || u.Source != c.source {
					t.Errorf("%s: %s, %s; want %s, %s", u.Name, u.Exact, u.Source, c.exact, c.source)
				}
			}
		}
		if !found {
			t.Errorf("%v has no %s", c.kind, c.unit)
		}
	}
}

// TestConvertRefused names the nearest unit of the kind.
func TestConvertRefused(t *testing.T) {
	_, _, err := Convert(Flow, 1, "m3/hr")
	var e *Error
	if !errors.As(err, &e) || !strings.Contains(err.Error(), `did you mean "m³/h"?`) {
		t.Errorf("got %v", err)
	}
	if _, _, err := Convert(Slope, 0, "1:n"); err == nil {
		t.Error("a level slope was written as 1:n")
	}
	if x, _, err := Convert(Slope, 0.002, "1:n"); err != nil || math.Abs(x-500) > 1e-9 {
		t.Errorf("0.002 is 1:%g, %v", x, err)
	}
	if _, _, err := Convert(Length, 1e300, "mm"); err != nil {
		t.Error(err)
	}
	if _, _, err := Convert(Length, 1e306, "mm"); err == nil {
		t.Error("a figure beyond the range of numbers was written")
	}
}
