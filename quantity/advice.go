package quantity

import (
	"fmt"
	"math"
	"strings"
)

// words are everyday spellings of parts of units, folded and in small letters.
var words = map[string]string{
	"sec": "s", "second": "s", "seconds": "s", "mins": "min", "minute": "min", "minutes": "min",
	"hr": "h", "hrs": "h", "hour": "h", "hours": "h", "day": "d", "days": "d", "yr": "a", "year": "a", "years": "a",
	"metre": "m", "metres": "m", "meter": "m", "meters": "m", "lit": "L", "ltr": "L", "litre": "L", "litres": "L",
	"liter": "L", "liters": "L", "cbm": "m³", "cum": "m³", "cu.m": "m³", "sqm": "m²", "inch": "in", "inches": "in",
	`"`: "in", "″": "in", "'": "ft", "’": "ft", "′": "ft", "foot": "ft", "feet": "ft", "cuft": "ft³", "lbs": "lb", "tonne": "t", "tonnes": "t",
	"to": "t", "kgs": "kg", "percent": "%", "pct": "%", "permille": "‰", "degc": "°C", "celsius": "°C", "c": "°C",
	"degf": "°F", "f": "°F", "degrees": "°", "degree": "°", "kelvin": "K", "rev": "r", "lps": "L/s", "lpm": "L/min",
	"lph": "L/h", "cms": "m³/s", "cumec": "m³/s", "cumecs": "m³/s", "cfs": "ft³/s", "cusec": "ft³/s", "cusecs": "ft³/s",
	"cmh": "m³/h", "mld": "ML/d", "mps": "m/s", "fps": "ft/s", "kph": "km/h", "kmh": "km/h", "rps": "1/s", "upm": "rpm",
	"u": "r", "mwc": "mH2O", "mws": "mH2O", "mwg": "mH2O", "mca": "mH2O", "mce": "mH2O", "kg/cm2": "kgf/cm²",
	"barabs": "bar(a)", "bargauge": "bar(g)", "torr": "mmHg", "mcm": "m³", "kn/mm2": "GPa", "kpag": "kPa(g)", "kpaa": "kPa(a)",
	"mpag": "MPa(g)", "mpaa": "MPa(a)", "pag": "Pa(g)", "paa": "Pa(a)", "um": "µm", "cc": "cm³", "micron": "µm", "ft/lb": "ft",
}

// open are units that stand for more than one thing; the answer is not ours.
var open = map[string]string{
	"gal":     "a gallon is a US gal (3.785 L) or a UK gal (4.546 L)",
	"gpm":     "a gallon is a US gal (3.785 L) or a UK gal (4.546 L)",
	"gpd":     "a gallon is a US gal (3.785 L) or a UK gal (4.546 L)",
	"mgd":     "a gallon is a US gal (3.785 L) or a UK gal (4.546 L)",
	"igpm":    "the gallon is written out: UK gal/min",
	"usgpm":   "the gallon is written out: US gal/min",
	"hp":      "a horsepower is 745.7 W (550 ft·lbf/s) or 735.5 W (metric)",
	"bhp":     "a horsepower is 745.7 W (550 ft·lbf/s) or 735.5 W (metric)",
	"ps":      "a horsepower is 745.7 W (550 ft·lbf/s) or 735.5 W (metric)",
	"hz":      "the supply's frequency is not the shaft's speed",
	"ton":     "a ton is a tonne (t, 1000 kg), 1016 kg or 907 kg",
	"tons":    "a ton is a tonne (t, 1000 kg), 1016 kg or 907 kg",
	"month":   "a month has no fixed length",
	"months":  "a month has no fixed length",
	"scfm":    "the conditions of a standard cubic foot differ from house to house",
	"scfh":    "the conditions of a standard cubic foot differ from house to house",
	"slpm":    "the conditions of a standard litre differ from house to house",
	"nlpm":    "the conditions of the litre are written behind the unit",
	"acfm":    "actual volume needs its pressure and temperature",
	"cfm":     "the conditions of the cubic foot are missing",
	"rad/s":   "turns are counted here, not radians",
	"acre-ft": "acre-feet are not read",
}

// unitAdvice says what an unknown unit was understood as and what to write.
func unitAdvice(k Kind, f figure) (understood, hint string) {
	rest := f.rest
	shown := Quote(rest)
	such := "write " + k.String() + ", such as " + Quote(k.Example())
	if plain, odd := LookAlikes(rest); len(odd) > 0 {
		if u, ok := tables[k].find(plain); ok {
			return "the unit has a letter that only looks like a plain one: " + strings.Join(odd, ", "), write(f.with(u.name)...)
		}
	}
	if text, offer := reference(k, f); text != "" {
		return text, offer
	}
	if text := open[lower(rest)]; text != "" && otherKind(k, rest) == "" {
		return text, such
	}
	if u, ok := spelling(k, rest); ok {
		return "unknown unit " + shown, write(f.with(u)...)
	}
	if k.isPressure() && fold(rest) == "m" {
		return "metres are a length, not a pressure", "if metres of water are meant, " + write(f.with(tables[k].units[waterColumn].name)...)
	}
	if k == Slope && (fold(rest) == "°" || fold(rest) == "deg") && math.Abs(f.value) < 90 {
		return "a slope is the rise per run, not an angle", write(fmt.Sprintf("%.4g %%", 100*math.Tan(f.value*degree)))
	}
	if other := otherKind(k, rest); other != "" {
		return rest + " is a unit of " + other, such
	}
	if u, ok := Nearest(fold(rest), foldedNames(k)); ok && len(rest) > 1 {
		if known, ok := tables[k].find(u); ok {
			return "unknown unit " + shown, write(f.with(known.name)...)
		}
	}
	return "unknown unit " + shown, such
}

func (k Kind) isPressure() bool {
	return k == GaugePressure || k == AbsolutePressure || k == PressureDifference
}

func lower(s string) string { return strings.ToLower(fold(s)) }

func foldedNames(k Kind) []string {
	names := tables[k].spellings()
	for i := range names {
		names[i] = fold(names[i])
	}
	return names
}

// reference answers units that lack, or have too much of, a reference: gauge
// and absolute pressure, cubic metres of air.
func reference(k Kind, f figure) (understood, hint string) {
	switch k {
	case GaugePressure, PressureDifference:
		if _, abs := tables[AbsolutePressure].find(f.rest); abs && k == GaugePressure {
			return f.rest + " counts from vacuum, and gauge pressure is asked for here", "write it above the air outside, such as " + Quote("1.2 bar(g)")
		}
		u, gauged := tables[GaugePressure].find(f.rest)
		if !gauged {
			u, gauged = tables[AbsolutePressure].find(f.rest)
		}
		if gauged && k == PressureDifference {
			name, _, _ := strings.Cut(u.name, "(")
			return "a difference has no reference", write(f.with(name)...)
		}
	case AbsolutePressure:
		if u, plain := tables[PressureDifference].find(f.rest); plain {
			return "it does not say whether it counts from vacuum", "if it does, " + write(f.with(u.name+"(a)")...)
		}
		if _, gauged := tables[GaugePressure].find(f.rest); gauged {
			return f.rest + " counts from the air outside, and absolute pressure is asked for here", "write it above vacuum, such as " + Quote(k.Example())
		}
	case AirFlow:
		return airReference(f)
	}
	return "", ""
}

// airReference answers "350 m3/h" and "350 Nm3/h".
func airReference(f figure) (understood, hint string) {
	rest := fold(f.rest)
	if u, ok := tables[Flow].find(rest); ok {
		if _, ok := tables[AirFlow].find(u.name + "(normal)"); ok {
			return "a volume of air without its conditions", write(append(append(f.with(u.name+"(normal)"), f.with(u.name+"(standard)")...), f.with(u.name+"(ANR)")...)...)
		}
	}
	for prefix, word := range map[string]string{"N": "(normal)", "n": "(normal)", "S": "(standard)", "s": "(standard)"} {
		if after, ok := strings.CutPrefix(rest, prefix); ok {
			if u, ok := tables[AirFlow].find(after + word); ok {
				return "the conditions stand behind the unit", write(f.with(u.name)...)
			}
		}
	}
	return "", ""
}

// spelling finds the unit meant by everyday words and by wrong capitals.
func spelling(k Kind, rest string) (string, bool) {
	low := lower(rest)
	if w, ok := words[low]; ok {
		if u, ok := tables[k].find(w); ok {
			return u.name, true
		}
	}
	low = strings.NewReplacer("co2eq", "", "co2e", "", "co2", "", "per", "/").Replace(low)
	parts := strings.FieldsFunc(low, func(r rune) bool { return r == '/' })
	for i, p := range parts {
		if w, ok := words[p]; ok {
			parts[i] = fold(w)
		}
	}
	joined := strings.ToLower(strings.Join(parts, "/"))
	for _, u := range tables[k].units {
		if strings.ToLower(fold(u.name)) == joined {
			return u.name, true
		}
		for _, a := range u.also {
			if strings.ToLower(fold(a)) == joined {
				return u.name, true
			}
		}
	}
	return "", false
}

// otherKind names the kind whose table has the unit.
func otherKind(k Kind, rest string) string {
	for _, other := range Kinds() {
		if other == k || other.isMoney() || other == Chainage {
			continue
		}
		if _, ok := tables[other].find(rest); ok {
			return other.String()
		}
	}
	if code, _, _ := strings.Cut(fold(rest), "/"); isCurrency(code) {
		return "money"
	}
	return ""
}
