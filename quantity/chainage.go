package quantity

import (
	"fmt"
	"math"
	"strings"
)

// Stakes says what "1+250" means on a line: how far apart the whole stakes are
// and in what unit the rest is counted. The zero value is kilometres and metres.
type Stakes struct {
	Step float64 // m per whole stake: 1000 (km+m), 30.48 (100-ft stations), 20
	Rest float64 // m per unit behind the "+": 1 or 0.3048
}

func (s Stakes) orDefault() Stakes {
	if s == (Stakes{}) {
		return Stakes{Step: 1000, Rest: 1}
	}
	return s
}

// digits is the number of digits that the whole part behind the "+" has when
// the step is a power of ten, else 0 (any number up to the step's own).
func (s Stakes) digits() (exact, most int) {
	n := s.Step / s.Rest
	l := math.Log10(n)
	if r := math.Round(l); math.Abs(l-r) < 1e-9 {
		return int(r), int(r)
	}
	return 0, int(math.Ceil(l))
}

// ParseChainage reads a chainage in metres: "1+250", "1+250.4", "1250 m",
// "1.25 km". In km+m three digits stand behind the plus, in 100-ft stations two,
// so that one is not taken for the other. A sign counts for the whole:
// "-0+050" is −50 m. The error is an *[Error].
func ParseChainage(text string, s Stakes) (float64, error) {
	s = s.orDefault()
	if !(s.Step > 0 && s.Rest > 0 && s.Step >= s.Rest && s.Step <= 1e6) {
		return 0, &Error{Chainage, text, fmt.Sprintf("stakes %g m apart, counted in %g m, make no sense", s.Step, s.Rest), "give the distance between two stakes"}
	}
	trimmed := strings.TrimFunc(text, isSpace)
	if i := strings.LastIndexByte(trimmed, '+'); i > 0 && !strings.ContainsAny(trimmed[i-1:i], "eE") {
		return stakes(text, trimmed[:i], trimmed[i+1:], s)
	}
	return parse(Chainage, text)
}

// stakes reads the two parts of "1+250".
func stakes(text, front, back string, s Stakes) (float64, error) {
	exact, most := s.digits()
	example := "1+250"
	switch {
	case exact == 2:
		example = "12+50"
	case exact == 0:
		example = "12+5"
	}
	fail := func(understood, hint string) (float64, error) {
		return 0, &Error{Chainage, text, understood, hint}
	}
	such := "write a chainage, such as " + Quote(example)
	whole, rest := readFigure(front), readFigure(back)
	switch {
	case whole.dead || rest.dead:
		return fail("the two sides of the + are not both figures", such)
	case whole.rest != "" || whole.value != math.Trunc(whole.value) || strings.ContainsAny(whole.text, ".e") || strings.ContainsAny(rest.text, "e-"):
		return fail("the part before the + is not a plain whole figure", such)
	case rest.rest != "" && fold(rest.rest) != restUnit(s):
		return fail("a unit behind the + that is not "+restUnit(s), such)
	case math.Abs(whole.value) > 1e9:
		return fail("more stakes than any line has", such)
	case rest.value*s.Rest >= s.Step*(1-1e-12):
		return fail(fmt.Sprintf("the part behind the + reaches the next stake (%g m apart)", s.Step), such)
	case whole.fault != "" || rest.fault != "":
		return fail(strings.Trim(whole.fault+"; "+rest.fault, "; "), write(whole.text+"+"+padded(rest.text, exact)))
	}
	if n := len(wholeDigits(rest.text)); exact > 0 && n != exact || n > max(most, 1) {
		return fail(fmt.Sprintf("%d digits behind the +, and stakes %g m apart have %d", n, s.Step, most),
			write(whole.text+"+"+padded(rest.text, most)))
	}
	v := math.Abs(whole.value)*s.Step + rest.value*s.Rest
	if strings.HasPrefix(whole.text, "-") {
		v = 0 - v // never −0
	}
	return v, nil
}

// padded gives a figure's whole part n digits.
func padded(figure string, n int) string {
	whole, decimals, point := strings.Cut(figure, ".")
	whole = strings.TrimLeft(whole, "0")
	whole = strings.Repeat("0", max(0, n-len(whole), 1-len(whole))) + whole
	if point {
		return whole + "." + decimals
	}
	return whole
}

func restUnit(s Stakes) string {
	if s.Rest == 1 {
		return "m"
	}
	return "ft"
}

func wholeDigits(s string) string {
	w, _, _ := strings.Cut(s, ".")
	return w
}

// FormatChainage writes a chainage v in metres as km+m, rounded to whole
// metres: 1250.4 becomes "1+250".
func FormatChainage(v float64) string { return FormatChainageDecimals(v, 0) }

// FormatChainageDecimals writes a chainage v in metres as km+m with the given
// number of decimals: (1250.4, 1) becomes "1+250.4". A figure that is not
// finite, or beyond 1e12 m, becomes "–".
func FormatChainageDecimals(v float64, decimals int) string {
	if math.IsNaN(v) || math.Abs(v) > 1e12 {
		return none
	}
	decimals = min(max(decimals, 0), 9)
	figures := fixed(math.Abs(v), decimals)
	whole, tail, _ := strings.Cut(figures, ".")
	whole = fmt.Sprintf("%04s", whole)
	out := whole[:len(whole)-3] + "+" + whole[len(whole)-3:]
	if tail != "" {
		out += "." + tail
	}
	if v < 0 && strings.Trim(out, "0+.") != "" {
		out = minus + out
	}
	return out
}
