package deliver

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"obvert/quantity"
)

// fixed writes a number with n decimals and a true minus sign.
func fixed(v float64, n int) string {
	s := strconv.FormatFloat(v, 'f', n, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return strings.Replace(s, "-", "−", 1)
}

// grouped writes a whole number with commas between thousands.
func grouped(v float64) string { return quantity.Grouped(v) }

// levelText writes a level in metres: two decimals.
func levelText(v float64) string { return fixed(v, 2) }

// headText writes a head in metres: two decimals, one from 10 m up.
func headText(v float64) string {
	if math.Abs(v) >= 9.995 {
		return fixed(v, 1)
	}
	return fixed(v, 2)
}

// marginText is a head with its sign.
func marginText(v float64) string {
	s := headText(v)
	if v != 0 && math.Abs(v) < 0.005 { // the sign decides: show where it comes from
		s = fixed(v, 3)
	}
	switch {
	case strings.HasPrefix(s, "−"):
		return s
	case v < 0:
		return "−" + s
	}
	return "+" + s
}

// rulerText writes a head on the bench's ruler: two decimals, three below 0.1 m where two would hide it.
func rulerText(v float64) string {
	if v > 0 && v < 0.0995 && math.Abs(v*100-math.Round(v*100)) > 0.05 {
		return fixed(v, 3)
	}
	return headText(v)
}

// chainageText writes 5+640: kilometres and metres, to the metre.
func chainageText(v float64) string {
	m := math.Round(math.Abs(v))
	s := fmt.Sprintf("%d+%03d", int64(m)/1000, int64(m)%1000)
	if v < 0 && m > 0 {
		s = "−" + s
	}
	return s
}

// lengthText writes a length: metres below 10 km, else kilometres.
func lengthText(v float64) string {
	if math.Abs(v) >= 9999.5 {
		return fixed(v/1000, 1) + " km"
	}
	if math.Abs(v) < 9.95 && v != math.Trunc(v) {
		return fixed(v, 1) + " m"
	}
	return grouped(v) + " m"
}

// flowText writes a flow in litres a second or cubic metres a second.
func flowText(v float64) string {
	switch l := math.Abs(v) * 1000; {
	case l >= 999.5:
		return significant(v, 3) + " m³/s"
	default:
		return significant(v*1000, 3) + " L/s"
	}
}

// perDayText writes a small flow as litres or cubic metres a day.
func perDayText(v float64) string {
	l := v * 86400 * 1000 // L/day
	switch {
	case l == 0:
		return "0"
	case l < 0.5:
		return "< 1"
	default:
		return grouped(roundTo(l, 2))
	}
}

// significant writes a number with n significant digits and no exponent.
func significant(v float64, n int) string {
	if v == 0 {
		return "0"
	}
	d := n - 1 - int(math.Floor(math.Log10(math.Abs(v))))
	if d < 0 {
		return grouped(roundTo(v, n))
	}
	return fixed(v, min(d, 9))
}

// roundTo rounds to n significant digits.
func roundTo(v float64, n int) float64 {
	if v == 0 {
		return 0
	}
	p := math.Pow(10, float64(n-1)-math.Floor(math.Log10(math.Abs(v))))
	return math.Round(v*p) / p
}

// chanceText writes a probability in per cent without promising more than it holds.
func chanceText(p float64) string {
	switch {
	case p < 0.005:
		return "< 1"
	case p > 0.995:
		return "> 99"
	}
	return fixed(p*100, 0)
}

// slopeText writes a slope as 1:n with an arrow for rise or fall, or "level".
func slopeText(rise, run float64) string {
	if run <= 0 {
		return ""
	}
	n := math.Abs(run / rise)
	if rise == 0 || n >= 99999 {
		return "level"
	}
	arrow := "↑"
	if rise < 0 {
		arrow = "↓"
	}
	if n < 9.95 {
		return arrow + "1:" + fixed(n, 1)
	}
	return arrow + "1:" + grouped(n)
}

// counted writes a small number as a word with its noun.
func counted(n int, one, many string) string {
	words := [...]string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"}
	s := grouped(float64(n))
	if n >= 0 && n < len(words) {
		s = words[n]
	}
	if n == 1 {
		return s + " " + one
	}
	return s + " " + many
}

// upper begins a sentence.
func upper(s string) string {
	for i, r := range s {
		return strings.ToUpper(string(r)) + s[i+len(string(r)):]
	}
	return s
}

// ticks are round numbers from lo to hi, about n of them, and the decimals they need.
func ticks(lo, hi float64, n int) (at []float64, decimals int) {
	if !(hi > lo) || n < 1 {
		return []float64{lo}, 0
	}
	step := niceStep((hi - lo) / float64(n))
	for k := math.Ceil(lo/step - 1e-9); k*step <= hi+step*1e-9; k++ {
		at = append(at, k*step)
	}
	for d, s := 0, step; d < 6; d, s = d+1, s*10 {
		decimals = d
		if math.Abs(s-math.Round(s)) < 1e-6 {
			break
		}
	}
	return at, decimals
}

// niceStep is the smallest of 1, 2 and 5 times a power of ten that is not below v.
func niceStep(v float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, m := range []float64{1, 2, 5} {
		if m*p >= v*(1-1e-9) {
			return m * p
		}
	}
	return 10 * p
}

// trimmed writes a number with at most three significant digits and no zeros at its end.
func trimmed(v float64) string {
	s := significant(v, 3)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// grouping are texts in the order in which they were met, each with all that it is said of.
type grouping struct {
	texts []string
	of    map[string][]string
}

func (g *grouping) add(text, of string) {
	if g.of == nil {
		g.of = map[string][]string{}
	}
	if _, ok := g.of[text]; !ok {
		g.texts = append(g.texts, text)
	}
	g.of[text] = append(g.of[text], of)
}
