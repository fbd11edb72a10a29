package quantity

import (
	"fmt"
	"math"
	"strings"
)

// Parse reads a text such as "450 mm" as a figure of the given kind.
//
// The result is in the kind's SI unit (see [Kind.SI]). An ordinary, no-break or
// thin space, or none, stands between figure and unit; ³ and 3, · and ., both
// signs µ, and a hyphen and the true minus are the same. The spellings are
// case-sensitive. A [Chainage] may be written "1+250", in kilometres and metres
// (see [ParseChainage]); a [Slope] "1:500". Money is read by [ParseMoney].
// The error is an *[Error].
func Parse(k Kind, text string) (float64, error) {
	switch {
	case !k.valid():
		return 0, &Error{k, text, "the program asked for a kind that does not exist", "report this as a fault of the program"}
	case k.isMoney():
		return 0, &Error{k, text, "an amount of money has a currency beside its figure", "report this as a fault of the program"}
	case k == Chainage:
		return ParseChainage(text, Stakes{})
	case k == Slope && strings.Contains(text, ":"):
		return parseSlope(text)
	}
	return parse(k, text)
}

// parse reads a figure with a unit of the kind's table.
func parse(k Kind, text string) (float64, error) {
	f := readFigure(text)
	u, known := tables[k].find(f.rest)
	switch {
	case f.dead:
		return 0, &Error{k, text, f.fault, deadHint(k, f)}
	case f.rest == "":
		return 0, noUnit(k, text, f)
	case !known:
		return 0, wrongUnit(k, text, f)
	case f.fault != "":
		return 0, &Error{k, text, f.fault, write(f.with(u.name)...)}
	}
	v := u.toSI(f.value)
	if fault := outside(k, f.value, v); fault != "" {
		return 0, &Error{k, text, fault, "write a figure such as " + Quote(k.Example())}
	}
	return v, nil
}

// outside names what no figure of the kind can be.
func outside(k Kind, x, v float64) string {
	switch {
	case math.Abs(v) > largest:
		return "larger than any figure read here (1e300)"
	case x != 0 && math.Abs(v) < smallest && k != Temperature:
		return "smaller than any figure read here (1e-300)"
	case k == Temperature && v < 0:
		return "it lies below absolute zero (−273.15 °C)"
	case k == AbsolutePressure && v < 0:
		return "it lies below vacuum"
	}
	return ""
}

// with joins the figure's right spellings with a unit.
func (f figure) with(unit string) []string {
	out := []string{f.text + gap(unit) + unit}
	if f.other != "" {
		out = append(out, f.other+gap(unit)+unit)
	}
	return out
}

// gap is the space between a figure and its unit: none before ° ′ ″ (SI
// Brochure 5.4.3).
func gap(unit string) string {
	if unit == "°" || unit == "" {
		return ""
	}
	return " "
}

// deadHint helps where no figure was found.
func deadHint(k Kind, f figure) string {
	front := strings.ToUpper(strings.TrimFunc(f.rest, isSpace))
	if k == Length && strings.HasPrefix(front, "DN") {
		return "DN is a nominal size, not a bore: give the bore, such as " + Quote(k.Example())
	}
	return "write a figure with its unit, such as " + Quote(k.Example())
}

// noUnit answers a bare number.
func noUnit(k Kind, text string, f figure) *Error {
	understood := "no unit"
	if f.fault != "" {
		understood = f.fault + "; " + understood
	}
	var offer []string
	switch k {
	case Slope:
		offer = append(slopeSpelling(f.value), f.text+" %")
	case Ratio:
		offer = []string{percent(f.value)}
		if math.Abs(f.value) > 1 {
			offer = []string{f.text + " %"}
		}
	case Chainage:
		offer = f.with("m")
		if f.fault == "" && f.value >= 0 && f.value < 1e9 {
			offer = append(offer, FormatChainage(f.value))
		}
	default:
		for _, u := range tables[k].units[:min(2, len(tables[k].units))] {
			offer = append(offer, f.with(u.name)[0])
		}
	}
	return &Error{k, text, understood, write(offer...)}
}

// percent writes a plain ratio in percent.
func percent(v float64) string { return fmt.Sprintf("%.6g %%", 100*v) }

// slopeSpelling writes a tangent as "1:n", where that is short.
func slopeSpelling(v float64) []string {
	if v == 0 || math.Abs(v) >= 1 || math.Abs(v) < 1e-6 {
		return []string{percent(v)}
	}
	if n := math.Round(1 / math.Abs(v)); math.Abs(n*math.Abs(v)-1) < 1e-9 {
		sign := ""
		if v < 0 {
			sign = "-"
		}
		return []string{fmt.Sprintf("%s1:%.0f", sign, n)}
	}
	return []string{percent(v)}
}

// wrongUnit answers a unit that the kind's table does not have.
func wrongUnit(k Kind, text string, f figure) *Error {
	e := &Error{Kind: k, Text: text}
	e.Understood, e.Hint = unitAdvice(k, f)
	if f.fault != "" {
		e.Understood = f.fault + "; " + e.Understood
	}
	return e
}

// parseSlope reads "1:500": a rise of 1 on a run of 500.
func parseSlope(text string) (float64, error) {
	front, back, _ := strings.Cut(text, ":")
	rise, run := readFigure(front), readFigure(back)
	hint := "write 1 and the run on which the pipe rises by 1, such as " + Quote("1:500")
	switch {
	case rise.dead || run.dead || rise.rest != "" || run.rest != "":
		return 0, &Error{Slope, text, "a ratio that cannot be read", hint}
	case math.Abs(rise.value) != 1:
		return 0, &Error{Slope, text, "the first figure is not 1, so which side is the rise is open", hint}
	case run.value <= 0:
		return 0, &Error{Slope, text, "the run is not above zero", hint}
	case rise.fault != "" || run.fault != "":
		return 0, &Error{Slope, text, strings.Trim(rise.fault+"; "+run.fault, "; "), write(rise.text + ":" + run.text)}
	}
	v := rise.value / run.value
	if math.Abs(v) > largest || math.Abs(v) < smallest {
		return 0, &Error{Slope, text, "no slope that can be reckoned with", hint}
	}
	return v, nil
}
