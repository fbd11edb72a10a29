package quantity

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

const (
	none       = "–"      // what stands where there is no figure
	minus      = "−"      // U+2212
	noBreak    = "\u00a0" // between figure and unit
	plainLimit = 1e15     // from here on figures are written with e
)

// Format writes v, given in SI, as a figure in the named unit with a no-break
// space: Format(0.012, "L/s", 1) is "12.0 L/s". The unit is any that [Known]
// knows, and "1:n" for a slope; it is shown in its best spelling. Differences of
// temperature are written in K, since °C counts from 0 °C. Not a number and
// infinity become "–". A unit that is not known is a fault of the program: Format
// panics.
func Format(v float64, unit string, decimals int) string {
	if fold(unit) == "1:n" {
		return formatSlope(v, decimals)
	}
	x, name := convert(v, unit)
	n := Number(x, decimals)
	if n == none || name == "" || name == "1" {
		return n
	}
	if gap(name) == "" {
		return n + name
	}
	return n + noBreak + name
}

func convert(v float64, unit string) (float64, string) {
	u, ok := anyUnit(unit)
	if !ok {
		panic("quantity: no unit " + strconv.Quote(unit))
	}
	return u.fromSI(v), u.name
}

// formatSlope writes a tangent as "1:500".
func formatSlope(v float64, decimals int) string {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return Number(v, 0)
	}
	n := Number(1/math.Abs(v), decimals)
	if n == none {
		return none
	}
	if v < 0 {
		return minus + "1:" + n
	}
	return "1:" + n
}

// Number writes the figure alone, with the given number of decimals; negative
// decimals round to tens, hundreds. It has a true minus (U+2212), no thousands
// separator, and "–" for what is not finite. From 1e15 on it is written with e.
func Number(v float64, decimals int) string {
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		return none
	case math.Abs(v) >= plainLimit:
		return sign(v) + strconv.FormatFloat(math.Abs(v), 'e', min(max(decimals, 0), 16), 64)
	}
	if decimals < 0 {
		step := math.Pow10(min(-decimals, 15))
		v, decimals = math.Round(v/step)*step, 0
	}
	s := fixed(math.Abs(v), min(decimals, 300))
	if strings.Trim(s, "0.") == "" {
		return s // no minus before a zero
	}
	return sign(v) + s
}

func sign(v float64) string {
	if v < 0 {
		return minus
	}
	return ""
}

func fixed(v float64, decimals int) string { return strconv.FormatFloat(v, 'f', decimals, 64) }

// To converts v from SI into the named unit. An unknown unit and a figure that
// leaves the range of numbers are errors.
func To(v float64, unit string) (float64, error) {
	u, ok := anyUnit(unit)
	if !ok {
		return 0, fmt.Errorf("no unit %s", Quote(unit))
	}
	x := u.fromSI(v)
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return 0, fmt.Errorf("%g in SI has no finite figure in %s", v, unit)
	}
	return x, nil
}

// Known reports whether the unit is one that [To] and [Format] understand: any
// of the tables, "1" for a plain number, "currency" or an ISO 4217 code, and
// products, powers and quotients of those, such as "J/(kg·K)" or "s²/m⁵".
func Known(unit string) bool {
	_, ok := anyUnit(unit)
	return ok
}

// Grouped writes a whole number with a comma between groups of three figures: "1,302,026".
func Grouped(v float64) string {
	s := Number(math.Abs(math.Round(v)), 0)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	if math.Round(v) < 0 {
		s = minus + s
	}
	return s
}
