package line

import (
	"bytes"
	"errors"
	"math"
	"strconv"
	"strings"
	"unicode"

	"obvert/quantity"
)

// powers of ten that float64 holds exactly.
var powers = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15}

// plainFigure reads a figure of up to 15 digits with an optional sign and decimal sign, and nothing else.
// Both the digits as an integer and the power of ten are exact in float64, so their quotient is the nearest
// float64 to the figure as written (IEEE 754 division is correctly rounded).
func plainFigure(b []byte, decimal byte) (float64, bool) {
	i, negative := 0, false
	if len(b) > 0 && (b[0] == '-' || b[0] == '+') {
		negative = b[0] == '-'
		i = 1
	}
	var m uint64
	digits, places := 0, -1
	for ; i < len(b); i++ {
		c := b[i]
		switch {
		case c-'0' <= 9:
			m = m*10 + uint64(c-'0')
			digits++
			if places >= 0 {
				places++
			}
		case c == decimal && places < 0:
			places = 0
		default:
			return 0, false
		}
		if digits > 15 {
			return 0, false
		}
	}
	if digits == 0 {
		return 0, false
	}
	v := float64(m)
	if places > 0 {
		v /= powers[places]
	}
	if negative && m != 0 {
		v = -v
	}
	return v, true
}

// figure is a cell read as a number with what stood behind it.
type figure struct {
	value   float64 // in the unit as written
	unit    string  // as written behind the figure; empty where there was none
	grouped byte    // the thousands separator met: ' ', '\'', ',', '.'; 0 for none
}

// Signs of many shapes brought to plain ones before a figure is read.
var plainSigns = strings.NewReplacer("\u2212", "-", "\u2013", "-", "\u2019", "'", "\u02bc", "'", "\u00b4", "'",
	"\u00a0", " ", "\u202f", " ", "\u2009", " ", "\u2007", " ", "\u200a", " ")

// missing are the marks of a cell that has no value.
var missing = map[string]bool{"": true, "-": true, "--": true, "---": true, "–": true, "—": true, "n/a": true, "na": true, "n.a.": true,
	"null": true, "none": true, "?": true, "x": true, "/": true, ".": true, "...": true}

// longestFigure is the size in bytes of a cell that may still be a figure with its unit.
const longestFigure = 80

// readFigure reads any spelling of a figure: thousands separators, an exponent, a unit behind it.
// trouble is empty, or says what is wrong.
func readFigure(cell []byte, decimal byte) (f figure, trouble string) {
	if len(cell) > longestFigure {
		return f, "not a figure"
	}
	text := string(cell)
	switch low := strings.ToLower(text); {
	case missing[low]:
		return f, "no value"
	case isSheetError(low):
		return f, "a spreadsheet's error value"
	case isNotFinite(low):
		return f, "not a finite number"
	}
	s := plainSigns.Replace(text)
	body, rest := splitFigure(s)
	if body == "" {
		return f, "not a figure"
	}
	digits, grouped, trouble := joinDigits(body, decimal)
	if trouble != "" {
		return f, trouble
	}
	v, err := strconv.ParseFloat(digits, 64)
	if errors.Is(err, strconv.ErrRange) || math.IsInf(v, 0) {
		return f, "too large a number"
	}
	if err != nil {
		return f, "not a figure"
	}
	return figure{v, strings.TrimSpace(rest), grouped}, ""
}

func isNotFinite(low string) bool {
	switch strings.TrimLeft(low, "+-\u2212") {
	case "nan", "inf", "infinity", "∞", "1.#inf", "1.#qnan", "1.#ind":
		return true
	}
	return false
}

// splitFigure cuts a text behind its figure: "1 250,5 m" into "1 250,5" and " m".
// The first part is empty where the text begins with no figure.
func splitFigure(s string) (body, rest string) {
	i := 0
	if i < len(s) && (s[i] == '-' || s[i] == '+') {
		i++
	}
	digits := 0
	for i < len(s) {
		c := s[i]
		switch {
		case isDigit(c):
			digits++
		case c == '.' || c == ',':
		case (c == ' ' || c == '\'') && digits > 0 && i+1 < len(s) && isDigit(s[i+1]):
		default:
			goto end
		}
		i++
	}
end:
	if digits == 0 {
		return "", s
	}
	if n := exponent(s[i:]); n > 0 {
		i += n
	}
	return s[:i], s[i:]
}

// exponent is the length of "e5", "E+05" at the beginning of a text, else 0.
func exponent(s string) int {
	if len(s) < 2 || s[0]|0x20 != 'e' {
		return 0
	}
	i := 1
	if s[i] == '+' || s[i] == '-' {
		i++
	}
	j := i
	for j < len(s) && isDigit(s[j]) {
		j++
	}
	if j == i {
		return 0
	}
	return j
}

func isDigit(c byte) bool { return c-'0' <= 9 }

// joinDigits takes the thousands separators out of a figure and writes its decimal sign as a point.
func joinDigits(body string, decimal byte) (digits string, grouped byte, trouble string) {
	mantissa, exp := body, ""
	if i := strings.IndexAny(body, "eE"); i >= 0 {
		mantissa, exp = body[:i], body[i:]
	}
	sign := ""
	if mantissa[0] == '-' || mantissa[0] == '+' {
		sign, mantissa = mantissa[:1], mantissa[1:]
	}
	whole, places, fraction := strings.Cut(mantissa, string(rune(decimal)))
	if strings.Trim(places, "0123456789") != "" {
		if strings.IndexByte(places, decimal) >= 0 {
			return "", 0, "the decimal sign (" + signName(decimal) + ") stands twice"
		}
		return "", 0, "a thousands separator behind the decimal sign (" + signName(decimal) + ")"
	}
	whole, grouped, trouble = ungroup(whole, decimal)
	if trouble != "" {
		return "", 0, trouble
	}
	if fraction {
		whole += "." + places
	}
	return sign + whole + exp, grouped, ""
}

// ungroup joins "1 250" to "1250": groups of three digits, all with the same separator.
func ungroup(whole string, decimal byte) (string, byte, string) {
	i := strings.IndexAny(whole, " ',.")
	if i < 0 {
		return whole, 0, ""
	}
	sep := whole[i]
	groups := strings.Split(whole, string(rune(sep)))
	good := len(groups[0]) >= 1 && len(groups[0]) <= 3 && groups[0] != "0"
	for k, g := range groups {
		good = good && strings.Trim(g, "0123456789") == "" && (k == 0 || len(g) == 3)
	}
	if good {
		return strings.Join(groups, ""), sep, ""
	}
	if sep == ',' || sep == '.' {
		return "", 0, "a " + signName(sep) + " that parts no thousands, and the decimal sign of the file is the " + signName(decimal)
	}
	return "", 0, "a " + signName(sep) + " that parts no thousands"
}

func signName(c byte) string {
	switch c {
	case '.':
		return "point"
	case ',':
		return "comma"
	case '\'':
		return "apostrophe"
	}
	return "blank"
}

// stakeWords are what surveyors write before a chainage in the cell itself.
var stakeWords = []string{"chainage", "station", "stat", "sta", "stn", "chg", "ch", "km", "pk", "kp", "k", "p.k", "st"}

// bareStake takes such a word off: "km 1+250", "K1+250", "Sta. 12+50".
func bareStake(s string) string {
	for _, w := range stakeWords {
		if len(s) > len(w) && strings.EqualFold(s[:len(w)], w) {
			rest := strings.TrimLeftFunc(strings.TrimLeft(s[len(w):], ".:"), isGap)
			if rest != "" && (isDigit(rest[0]) || rest[0] == '-' || rest[0] == '+') {
				return rest
			}
		}
	}
	return s
}

// looksLikeFigure reports a cell that could be a number, with or without unit, or a chainage.
func looksLikeFigure(cell []byte) bool {
	if len(cell) == 0 || len(cell) > longestFigure {
		return false
	}
	if _, ok := plainFigure(cell, '.'); ok {
		return true
	}
	if _, ok := plainFigure(cell, ','); ok {
		return true
	}
	if !bytes.ContainsAny(cell, "0123456789") {
		return false
	}
	if i := bytes.IndexByte(cell, '+'); i > 0 && i < len(cell)-1 && isDigit(cell[0]) {
		_, front := plainFigure(cell[:i], 0)
		_, back := plainFigure(cell[i+1:], ',')
		if front && back {
			return true
		}
	}
	s := plainSigns.Replace(bareStake(string(cell)))
	body, rest := splitFigure(s)
	if body == "" {
		return false
	}
	rest = strings.TrimSpace(rest)
	if tail, ok := strings.CutPrefix(rest, "+"); ok {
		body, rest = splitFigure(strings.TrimSpace(tail))
		if body == "" {
			return false
		}
		rest = strings.TrimSpace(rest)
	}
	if rest == "" {
		return true
	}
	if c := rest[0] | 0x20; c < 'a' || c > 'z' && c < 0x80 {
		return false
	}
	_, known := unitOfText(rest)
	return known
}

// partsTwo reports a cell that holds two figures with blanks between, as a comma leaves
// where it is the decimal sign and blanks part the columns.
func partsTwo(cell []byte) bool {
	i := bytes.IndexFunc(cell, unicode.IsSpace)
	if i <= 0 || !isDigit(cell[i-1]) {
		return false
	}
	rest := bytes.TrimLeftFunc(cell[i:], unicode.IsSpace)
	if len(rest) == 0 || !isDigit(rest[0]) && rest[0] != '-' {
		return false
	}
	return len(cell)-i-len(rest) > 1 || len(rest) != 3
}

// stakeRule is how "1+250" is read: checked once, so that rows are quick.
type stakeRule struct {
	stakes quantity.Stakes
	digits int // digits that stand behind the plus; 0: any number
}

func newStakeRule(s quantity.Stakes) (stakeRule, string) {
	if s == (quantity.Stakes{}) {
		s = quantity.Stakes{Step: 1000, Rest: 1}
	}
	if !(s.Step > 0 && s.Rest > 0 && s.Step >= s.Rest && s.Step <= 1e6) {
		return stakeRule{}, "stakes that cannot be: one every " + strconv.FormatFloat(s.Step, 'g', -1, 64) + " m"
	}
	r := stakeRule{stakes: s}
	if l := math.Log10(s.Step / s.Rest); math.Abs(l-math.Round(l)) < 1e-9 {
		r.digits = int(math.Round(l))
	}
	return r, ""
}

// feet reports stakes that count in feet.
func (r stakeRule) feet() bool { return r.stakes.Rest != 1 }

// plain reads "1+250.4" where it is written without any ornament.
func (r stakeRule) plain(b []byte, decimal byte) (float64, bool) {
	i := bytes.IndexByte(b, '+')
	if i <= 0 || i > 9 || b[0] == '+' {
		return 0, false
	}
	front, ok := plainFigure(b[:i], 0)
	if !ok || !isDigit(b[i-1]) {
		return 0, false
	}
	back := b[i+1:]
	rest, ok := plainFigure(back, decimal)
	if !ok || !isDigit(back[0]) {
		return 0, false
	}
	if n := bytes.IndexByte(back, decimal); n >= 0 {
		back = back[:n]
	}
	if r.digits > 0 && len(back) != r.digits || rest*r.stakes.Rest >= r.stakes.Step*(1-1e-12) || r.digits == 0 && len(back) > 4 {
		return 0, false
	}
	v := math.Abs(front)*r.stakes.Step + rest*r.stakes.Rest
	if b[0] == '-' {
		v = -v
	}
	return v, true
}

// read reads a chainage with a plus in any spelling.
func (r stakeRule) read(text string, decimal byte) (float64, *quantity.Error) {
	s := plainSigns.Replace(bareStake(text))
	if decimal == ',' {
		s = strings.ReplaceAll(s, ",", ".")
	}
	s = strings.ReplaceAll(s, " ", "")
	v, err := quantity.ParseChainage(s, r.stakes)
	if err == nil {
		return v, nil
	}
	var fault *quantity.Error
	if !errors.As(err, &fault) {
		fault = &quantity.Error{Kind: quantity.Chainage, Text: text, Understood: err.Error()}
	}
	return 0, fault
}

// tally counts cells and keeps the line of the first.
type tally struct{ count, line int }

func (t *tally) hit(line int) {
	if t.count == 0 {
		t.line = line
	}
	t.count++
}

// signs is what the figures of a file tell of its decimal sign.
type signs struct {
	point, comma           tally // cells in which it can only be the decimal sign
	vaguePoint, vagueComma tally // cells in which it could part thousands as well
	example                string
}

// look takes in one cell. A reading by thousands above the largest value, in the unit as
// written, cannot be meant.
func (s *signs) look(cell []byte, line int, largest float64) {
	behindPlus := false
	if i := bytes.LastIndexByte(cell, '+'); i > 0 && cell[i-1]|0x20 != 'e' {
		cell, behindPlus = cell[i+1:], true
	}
	points, commas, last, first := 0, 0, -1, -1
	n := 0
	for ; n < len(cell); n++ {
		c := cell[n]
		if (c == '.' || c == ',') && n+1 < len(cell) && isDigit(cell[n+1]) {
			if c == '.' {
				points++
			} else {
				commas++
			}
			if last = n; first < 0 {
				first = n
			}
			continue
		}
		if c < 0x80 && !isDigit(c) && c != '-' && c != '\'' && c != ' ' && c != '.' && c != ',' {
			break
		}
	}
	if last < 0 {
		return
	}
	sure, vague := &s.point, &s.vaguePoint
	if cell[last] == ',' {
		sure, vague = &s.comma, &s.vagueComma
	}
	other := &s.comma
	if cell[last] == ',' {
		other = &s.point
	}
	switch {
	case points > 0 && commas > 0:
		sure.hit(line)
	case points+commas > 1:
		other.hit(line) // it parts thousands, so the other is the decimal sign
	case behindPlus || !thousands(cell[:n], first, largest):
		sure.hit(line)
	default:
		if vague.count == 0 && cell[last] == ',' {
			s.example = string(cell[:n])
		}
		vague.hit(line)
	}
}

// thousands reports whether the sign at i of "1,250" could part thousands: up to three digits before it, no
// leading zero, exactly three behind, and a value that can be.
func thousands(cell []byte, i int, largest float64) bool {
	before := i
	for before > 0 && isDigit(cell[before-1]) {
		before--
	}
	behind := i + 1
	v := 0.0
	for ; behind < len(cell) && isDigit(cell[behind]); behind++ {
	}
	for _, c := range cell[before:behind] {
		if isDigit(c) {
			v = v*10 + float64(c-'0')
		}
	}
	n := i - before
	return n >= 1 && n <= 3 && cell[before] != '0' && behind-i-1 == 3 && v <= largest
}
