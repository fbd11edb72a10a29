package quantity

import (
	"fmt"
	"math"
	"strings"
)

// Unit is one row of a kind's table, as it is shown.
type Unit struct {
	Name   string   // the best spelling
	Also   []string // other spellings that are read
	Exact  string   // what one of it is, as the ratio it is defined by: "254/10000 m"
	SI     float64  // the same as a figure in the kind's SI unit; for a price per unit, what one currency a unit is
	Shift  float64  // what is added to a figure before it is multiplied; only °C and °F have one
	Source string   // where the definition stands
}

// Table lists the units in which a kind is written, best first, each with its exact worth in SI and the source of its
// definition. For prices these are the units below the stroke; [Money] has none.
func Table(k Kind) []Unit {
	if !k.valid() || k == Money {
		return nil
	}
	all := make([]Unit, 0, len(tables[k].units))
	for _, u := range tables[k].units {
		all = append(all, Unit{u.name, u.also, exact(k, u), u.n / u.d, u.shift, origin(u.name)})
	}
	return all
}

// exact writes what one of a unit is: "254/10000 m", "x + 273.15 K".
func exact(k Kind, u unit) string {
	s := ratio(u.n, u.d)
	if u.shift != 0 {
		s = fmt.Sprintf("(x + %g)", u.shift)
		if r := ratio(u.n, u.d); r != "1" {
			s += " · " + r
		}
	}
	if si := k.SI(); si != "1" {
		s += " " + si
	}
	return s
}

// ratio writes n/d, without a stroke where it divides evenly.
func ratio(n, d float64) string {
	plain := func(v float64) string {
		if v == math.Trunc(v) && math.Abs(v) < 1e15 {
			return fmt.Sprintf("%.0f", v)
		}
		return fmt.Sprintf("%.12g", v)
	}
	if q := n / d; q >= 1 && q == math.Trunc(q) || d == 1 {
		return plain(q)
	}
	return plain(n) + "/" + plain(d)
}

// The sources of definitions.
const (
	fromBIPM = "BIPM, SI Brochure, 9th edition (2019)"
	fromNIST = "NIST SP 811 (2008), Appendix B.8"
	fromISO  = "ISO 2533:1975"
	fromANR  = "ISO 6358-1:2013 with ISO 8778:2003 (from memory)"
)

// outsideSI are the units that the SI Brochure does not define, as they stand in products and quotients.
var outsideSI = []string{"in", "in²", "in³", "ft", "ft²", "ft³", "yd", "mi", "lb", "US gal", "UK gal", "US Mgal", "psi", "mH2O", "mmH2O", "ftH2O",
	"mmHg", "kgf", "atm", "a", "°F", "cP", "cSt", "gon", "rpm", "Wh", "kWh", "MWh", "GWh"}

// origin names the source of a unit by what it is made of.
func origin(name string) string {
	switch {
	case strings.HasSuffix(name, "(normal)"), strings.HasSuffix(name, "(standard)"):
		return fromISO
	case strings.HasSuffix(name, "(ANR)"):
		return fromANR
	}
	name = strings.TrimSuffix(strings.TrimSuffix(name, "(g)"), "(a)")
	for part := range strings.FieldsFuncSeq(name, func(r rune) bool { return r == '/' || r == '·' }) {
		for _, u := range outsideSI {
			if part == u {
				return fromNIST
			}
		}
	}
	return fromBIPM
}

// Convert gives a figure of a kind, in SI, in one of the kind's units, however that is spelt, and the unit's best
// spelling. A unit the kind does not have is an *[Error] that names the nearest one.
func Convert(k Kind, v float64, unit string) (float64, string, error) {
	if !k.valid() || k.isMoney() {
		return 0, "", fmt.Errorf("%v is not converted", k)
	}
	if k == Slope && fold(unit) == "1:n" {
		if v == 0 {
			return 0, "", fmt.Errorf("a level slope has no 1:n")
		}
		return 1 / v, "1:n", nil
	}
	u, ok := tables[k].find(unit)
	if !ok {
		return 0, "", noSuchUnit(k, unit)
	}
	x := u.fromSI(v)
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return 0, "", fmt.Errorf("%g %s has no finite figure in %s", v, k.SI(), u.name)
	}
	return x, u.name, nil
}

// noSuchUnit answers a unit to convert into that the kind does not have.
func noSuchUnit(k Kind, unit string) *Error {
	e := &Error{Kind: k, Text: unit, Understood: "unknown unit", Hint: "write one of its units, such as " + Quote(tables[k].units[0].name)}
	if other := otherKind(k, unit); other != "" {
		e.Understood = "a unit of " + other
	}
	if u, ok := spelling(k, unit); ok {
		e.Hint = "did you mean " + Quote(u) + "?"
	} else if near, ok := Nearest(fold(unit), foldedNames(k)); ok {
		u, _ := tables[k].find(near)
		e.Hint = "did you mean " + Quote(u.name) + "?"
	}
	return e
}
