package quantity

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Bounds of a figure's magnitude, before and after conversion, so that nothing
// overflows to infinity or sinks to zero unseen.
const (
	largest  = 1e300
	smallest = 1e-300
	longest  = 256 // characters in a quantity's text
)

// figure is the front of a quantity's text, read.
type figure struct {
	value float64 // in the unit that follows
	text  string  // the figure, rightly spelt
	other string  // a second possible reading of a faulty figure, rightly spelt
	rest  string  // what follows: the unit, spaces cut off
	fault string  // what is wrong with the figure's spelling; empty if nothing
	dead  bool    // no figure could be made of it: text and value mean nothing
}

func dead(fault, rest string) figure { return figure{fault: fault, rest: rest, dead: true} }

// readFigure splits a text into its figure and its unit.
func readFigure(text string) figure {
	s := strings.TrimFunc(text, isSpace)
	switch {
	case s == "":
		return dead("the text is empty", "")
	case !utf8.ValidString(s):
		return dead("the text is not valid UTF-8", "")
	case utf8.RuneCountInString(s) > longest:
		return dead(fmt.Sprintf("longer than %d characters", longest), "")
	}
	if i := strings.IndexFunc(s, isInvisible); i >= 0 {
		r, _ := utf8.DecodeRuneInString(s[i:])
		return readFigure(strings.Map(dropInvisible, s)).spoil(fmt.Sprintf("it holds an invisible character (U+%04X)", r))
	}
	sign, s, odd := readSign(s)
	if word := notFinite(s); word != "" {
		return dead(word+" is not a figure", "")
	}
	body, s := readBody(s)
	if body == "" {
		return dead("no figure", s)
	}
	body, s = reciprocal(body, s)
	exponent, s := readExponent(s)
	f := spell(body)
	if f.dead {
		f.rest = s
		return f
	}
	f.text = sign + f.text + exponent
	if f.other != "" {
		f.other = sign + f.other + exponent
	}
	f.rest = strings.TrimFunc(s, isSpace)
	f = f.evaluate()
	if odd != "" {
		f = f.spoil(odd)
	}
	return f.foreign(body)
}

// spoil adds a fault to a figure.
func (f figure) spoil(fault string) figure {
	if f.fault != "" {
		fault += "; " + f.fault
	}
	f.fault = fault
	return f
}

// readSign takes a leading sign: +, - and the true minus are signs; other
// dashes, and a space behind the sign, are a fault.
func readSign(s string) (sign, rest, odd string) {
	r, n := utf8.DecodeRuneInString(s)
	switch r {
	case '+':
		sign = ""
	case '-', '−':
		sign = "-"
	case '\u2010', '\u2011', '\u2012', '\u2013', '\u2014', '\uFE63', '\uFF0D':
		sign, odd = "-", fmt.Sprintf("%q (U+%04X) is a dash, not a minus", string(r), r)
	default:
		return "", s, ""
	}
	rest = strings.TrimLeftFunc(s[n:], isSpace)
	if len(rest) != len(s[n:]) && odd == "" {
		odd = "a space stands between the sign and the figure"
	}
	return sign, rest, odd
}

// notFinite returns the word when s begins with nan, inf or infinity.
func notFinite(s string) string {
	n := strings.IndexFunc(s, func(r rune) bool { return !unicode.IsLetter(r) })
	if n < 0 {
		n = len(s)
	}
	switch strings.ToLower(s[:n]) {
	case "nan", "inf", "infinity":
		return s[:n]
	}
	return ""
}

// readBody takes digits and whatever people put between them.
func readBody(s string) (body, rest string) {
	end := 0
	for i, r := range s {
		if unicode.IsDigit(r) || strings.ContainsRune(".,_٫٬\uFF0C\uFF0E", r) {
			end = i + utf8.RuneLen(r)
		} else if !isSpace(r) && r != '\'' && r != '’' { // behind the last digit an apostrophe is a feet mark
			break
		}
	}
	return s[:end], s[end:]
}

// reciprocal gives the 1 of "24 1/s" back to the unit.
func reciprocal(body, rest string) (figure, unit string) {
	front, one := strings.CutSuffix(body, "1")
	trimmed := strings.TrimRightFunc(front, isSpace)
	if !one || trimmed == "" || trimmed == front || len(rest) < 2 || rest[0] != '/' || !unicode.IsLetter(rune(rest[1])) {
		return body, rest
	}
	return trimmed, "1" + rest
}

// readExponent takes e6, E-3, e−3 directly behind the digits.
func readExponent(s string) (exponent, rest string) {
	if s == "" || (s[0] != 'e' && s[0] != 'E') {
		return "", s
	}
	tail, sign := s[1:], ""
	for _, m := range []string{"+", "-", "−"} {
		if after, ok := strings.CutPrefix(tail, m); ok {
			tail = after
			if m != "+" {
				sign = "-"
			}
			break
		}
	}
	n := 0
	for n < len(tail) && tail[n] >= '0' && tail[n] <= '9' {
		n++
	}
	if n == 0 {
		return "", s
	}
	return "e" + sign + tail[:n], tail[n:]
}

// spell brings digits to the one right spelling and names what was wrong.
func spell(body string) figure {
	f := figure{text: body}
	if plain(body) {
		if strings.HasPrefix(body, ".") {
			f.text = "0" + body
		}
		return f
	}
	if t := asciiDigits(body); t != body {
		return spell(t).spoil("its digits are not plain 0…9")
	}
	if strings.Contains(body, "_") {
		return spell(strings.ReplaceAll(body, "_", "")).spoil("underscores between digits")
	}
	if t := ungrouped(body); t != body {
		return spell(t).spoil("thousands separators between digits")
	}
	return separators(body)
}

// plain reports digits with at most one point that has a digit behind it.
func plain(s string) bool {
	whole, decimals, point := strings.Cut(s, ".")
	if point && decimals == "" || whole == "" && !point {
		return false
	}
	return strings.Trim(whole, "0123456789") == "" && strings.Trim(decimals, "0123456789") == ""
}

// asciiDigits writes every decimal digit of any script as 0…9.
func asciiDigits(s string) string {
	return strings.Map(func(r rune) rune {
		switch r {
		case '٫', '\uFF0C':
			return ','
		case '\uFF0E':
			return '.'
		case '٬':
			return '\''
		}
		if r < 0x80 || !unicode.IsDigit(r) {
			return r
		}
		first := r // decimal digits stand in unbroken runs of tens, zero first
		for unicode.IsDigit(first - 1) {
			first--
		}
		return '0' + (r-first)%10
	}, s)
}

// ungrouped drops spaces and apostrophes between digits.
func ungrouped(s string) string {
	return strings.Map(func(r rune) rune {
		if isSpace(r) || r == '\'' || r == '’' {
			return -1
		}
		return r
	}, s)
}

var doubled = regexp.MustCompile(`[.,]{2}`)

// separators sorts out points and commas.
func separators(s string) figure {
	points, commas := strings.Count(s, "."), strings.Count(s, ",")
	last := strings.LastIndexAny(s, ".,")
	bare := strings.NewReplacer(".", "", ",", "")
	whole, tail := bare.Replace(s[:last+1]), s[last+1:]
	decimal := plainOr(whole + "." + tail)
	all := plainOr(whole + tail)
	switch {
	case strings.Trim(s, ".,") == "" || tail == "" && (points+commas) > 1, doubled.MatchString(s):
		return dead("no figure that can be read", "")
	case tail == "":
		return figure{text: all, fault: "nothing stands behind the decimal sign"}
	case points > 0 && commas > 0:
		return figure{text: decimal, fault: "thousands separators between digits"}
	case points > 1 || commas > 1:
		return figure{text: all, fault: "thousands separators between digits"}
	case len(tail) == 3 && len(whole) >= 1 && len(whole) <= 3 && whole[0] != '0':
		return figure{text: decimal, other: all,
			fault: "the comma may stand for " + decimal + " or for " + all}
	}
	return figure{text: decimal, fault: "a decimal comma"}
}

func plainOr(s string) string {
	if strings.HasPrefix(s, ".") {
		return "0" + s
	}
	return s
}

// evaluate turns the rightly spelt figure into a number within the bounds.
func (f figure) evaluate() figure {
	v, err := strconv.ParseFloat(f.text, 64)
	switch {
	case err != nil && math.IsInf(v, 0), math.Abs(v) > largest:
		return dead(shorten(f.text)+" is larger than any figure read here (1e300)", f.rest)
	case err != nil:
		return dead("no figure that can be read", f.rest)
	case math.Abs(v) < smallest && strings.ContainsAny(mantissa(f.text), "123456789"):
		return dead(shorten(f.text)+" is smaller than any figure read here (1e-300)", f.rest)
	}
	f.value = v
	return f
}

func mantissa(s string) string {
	m, _, _ := strings.Cut(s, "e")
	return m
}

// shorten keeps a long figure from filling a message.
func shorten(s string) string {
	if len(s) > 16 {
		return s[:15] + "…"
	}
	return s
}

// foreign finds notations of programming languages and fractions by what
// follows the digits.
func (f figure) foreign(body string) figure {
	lower := strings.ToLower(f.rest)
	switch {
	case f.dead:
		return f
	case body == "0" && len(lower) > 1 && otherBase(lower[0], lower[1]):
		return dead("hexadecimal, binary and octal figures are not read", "")
	case strings.HasPrefix(lower, "/") && len(lower) > 1 && lower[1] >= '0' && lower[1] <= '9':
		return f.fraction(body)
	case strings.IndexFunc(lower, isFraction) == 0:
		return dead("a fraction is not read", "")
	case strings.HasPrefix(lower, "×") || strings.HasPrefix(lower, "x10") || strings.HasPrefix(lower, "*10"):
		return dead("a power of ten is written with e: 1.5e3", "")
	case strings.HasPrefix(lower, "…") || strings.HasPrefix(lower, ".."):
		return dead("a range is not one figure", "")
	}
	if r, _ := utf8.DecodeRuneInString(lower); strings.ContainsRune("-–—−±", r) {
		return dead("more than one figure", "")
	}
	return f
}

// otherBase reports what follows the 0 of 0x1f, 0b1 and 0o7; "0 bar" is none.
func otherBase(letter, next byte) bool {
	digit := next >= '0' && next <= '9'
	return letter == 'x' && (digit || next == '.' || next >= 'a' && next <= 'f') || (letter == 'b' || letter == 'o') && digit
}

func isFraction(r rune) bool { return unicode.Is(unicode.No, r) }

// fraction reads "3/4 in" and "1 1/2 in", to offer the decimal figure.
func (f figure) fraction(body string) figure {
	none := dead("a fraction is not read", "")
	n := 1
	for n < len(f.rest) && f.rest[n] >= '0' && f.rest[n] <= '9' {
		n++
	}
	below, err := strconv.ParseFloat(f.rest[1:n], 64)
	words := strings.FieldsFunc(body, isSpace)
	if err != nil || below == 0 || len(words) > 2 {
		return none
	}
	sum := 0.0
	for i, w := range words {
		v, err := strconv.ParseFloat(w, 64)
		if err != nil || !plain(w) {
			return none
		}
		if i == len(words)-1 {
			v /= below
		}
		sum += v
	}
	if strings.HasPrefix(f.text, "-") {
		sum = -sum
	}
	g := figure{text: strconv.FormatFloat(sum, 'g', 6, 64), rest: strings.TrimFunc(f.rest[n:], isSpace), fault: "a fraction is not read"}
	return g.evaluate()
}
