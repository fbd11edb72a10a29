package quantity

import (
	"math"
	"strings"
)

// everywhere holds every spelling of every table once. Temperature comes before
// its difference: °C counts from 0 °C.
var everywhere = func() map[string]unit {
	all := map[string]unit{"1": {"1", 1, 1, 0, nil}}
	for _, k := range Kinds() {
		if k.isMoney() {
			continue
		}
		for spelling, i := range tables[k].by {
			if _, taken := all[spelling]; !taken {
				all[spelling] = tables[k].units[i]
			}
		}
	}
	return all
}()

// atoms are the units that may stand in a product, besides those of the tables.
var atoms = map[string]unit{
	"1": {"1", 1, 1, 0, nil}, "N": {"N", 1, 1, 0, nil}, "kN": {"kN", 1e3, 1, 0, nil}, "mol": {"mol", 1, 1, 0, nil},
	"Hz": {"Hz", 1, 1, 0, nil}, "currency": {"currency", 1, 1, 0, nil},
}

// anyUnit finds a unit by any spelling, or makes it up of its parts.
func anyUnit(spelling string) (unit, bool) {
	s := fold(spelling)
	if u, ok := everywhere[s]; ok {
		return u, true
	}
	if len(s) > 64 {
		return unit{}, false
	}
	u, ok := compose(s)
	u.name = spelling
	return u, ok
}

// compose reads product[/product]; a product of several below the stroke stands
// in brackets.
func compose(s string) (unit, bool) {
	top, bottom, stroke := strings.Cut(s, "/")
	u, ok := product(top)
	if !ok || !stroke {
		return u, ok
	}
	if inner, ok := strings.CutPrefix(bottom, "("); ok {
		if bottom, ok = strings.CutSuffix(inner, ")"); !ok {
			return unit{}, false
		}
	} else if strings.Contains(bottom, "·") {
		return unit{}, false // a/b·c can be read two ways
	}
	below, ok := product(bottom)
	if !ok {
		return unit{}, false
	}
	u.n, u.d = u.n*below.d, u.d*below.n
	return u, finite(u)
}

func product(s string) (unit, bool) {
	u := unit{n: 1, d: 1}
	for part := range strings.SplitSeq(s, "·") {
		f, ok := power(part)
		if !ok {
			return unit{}, false
		}
		u.n, u.d = u.n*f.n, u.d*f.d
	}
	return u, finite(u)
}

// power reads an atom with an exponent: "m", "m3", "s-1".
func power(s string) (unit, bool) {
	if u, ok := atom(s); ok {
		return u, true
	}
	name := strings.TrimRight(s, "0123456789")
	exponent := s[len(name):]
	name, negative := strings.CutSuffix(name, "-")
	u, ok := atom(name)
	if !ok || len(exponent) != 1 || exponent == "0" || name == "1" {
		return unit{}, false
	}
	p := float64(exponent[0] - '0')
	u.n, u.d = math.Pow(u.n, p), math.Pow(u.d, p)
	if negative {
		u.n, u.d = u.d, u.n
	}
	return u, true
}

func atom(s string) (unit, bool) {
	if u, ok := atoms[s]; ok {
		return u, true
	}
	if isCurrency(s) {
		return unit{s, 1, 1, 0, nil}, true
	}
	u, ok := everywhere[s]
	return u, ok && u.shift == 0 && !strings.ContainsAny(s, "/()·")
}

func finite(u unit) bool {
	return u.n > 0 && u.d > 0 && !math.IsInf(u.n, 0) && !math.IsInf(u.d, 0)
}
