package xlsx

import (
	"math"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

// Format is what a cell's number format says of its figure (ECMA-376 part 1, 18.8.31).
type Format struct {
	Code   string // as in the workbook; empty: general
	Unit   string // the text shown behind the figure, such as "m"; "%" for a share of a hundred
	Before string // the text shown before the figure
	Shift  int    // the figure shown is the one stored times ten to this: 2 with %, −3 where thousands are shown
	Plus   int    // digits behind a plus, where the figure is shown as "1+250": 3; else 0
	Date   bool   // the figure is a date or a time of day
	epoch  bool   // dates count from 1904
}

// general is the format of a cell that has none.
var general = &Format{}

// builtIn are the formats that a workbook may name without writing them (ECMA-376 part 1, 18.8.30); dates of all
// languages are told apart from figures by their numbers alone.
func builtIn(id int) string {
	switch {
	case id == 9:
		return "0%"
	case id == 10:
		return "0.00%"
	case id >= 14 && id <= 22, id >= 27 && id <= 36, id >= 45 && id <= 47, id >= 50 && id <= 58, id >= 71 && id <= 81:
		return "yyyy-mm-dd"
	}
	return ""
}

// parseFormat understands the first section of a number format, the one for positive figures.
func parseFormat(code string, epoch bool) *Format {
	f := &Format{Code: code, epoch: epoch}
	if len(code) > 1000 || strings.EqualFold(code, "general") || code == "@" || code == "" {
		return f
	}
	var before, behind strings.Builder
	between := ""   // literal since the last place for a digit
	places := false // any place for a digit was met
	sincePlus := -1 // places behind a plus; −1: no plus
	point, commas, percent := false, 0, false
	say := func(lit string) {
		if places {
			behind.WriteString(lit)
			between += lit
		} else {
			before.WriteString(lit)
		}
	}
	for i := 0; i < len(code); {
		r, n := utf8.DecodeRuneInString(code[i:])
		i += n
		switch {
		case r == ';':
			i = len(code)
		case r == '"':
			end := strings.IndexByte(code[i:], '"')
			if end < 0 {
				end = len(code) - i
			}
			say(code[i : i+end])
			i += min(end+1, len(code)-i)
		case r == '\\':
			_, m := utf8.DecodeRuneInString(code[i:])
			say(code[i : i+m])
			i += m
		case r == '_' || r == '*': // a blank as wide as the next sign; a filling
			_, m := utf8.DecodeRuneInString(code[i:])
			i += m
			if r == '_' {
				say(" ")
			}
		case r == '[':
			end := strings.IndexByte(code[i:], ']')
			if end < 0 {
				return f
			}
			inner := code[i : i+end]
			i += end + 1
			if money, ok := strings.CutPrefix(inner, "$"); ok {
				word, _, _ := strings.Cut(money, "-")
				say(word)
			} else if t := strings.Trim(strings.ToLower(inner), "hms"); t == "" && inner != "" {
				f.Date = true
			}
		case r == '0' || r == '#' || r == '?':
			if strings.TrimSpace(between) == "+" && !point {
				sincePlus = 0
			}
			if sincePlus >= 0 && !point {
				sincePlus++
			}
			places, between, commas = true, "", 0
			behind.Reset()
		case r == '.':
			point = true
		case r == ',':
			if places && between == "" {
				commas++
			}
		case r == '%':
			percent = true
		case (r == 'E' || r == 'e') && i < len(code) && (code[i] == '+' || code[i] == '-'):
			i++
		case strings.ContainsRune("yYmMdDhHsS", r):
			f.Date = true
		case (r == 'a' || r == 'A') && (strings.HasPrefix(strings.ToLower(code[i:]), "m/pm") || strings.HasPrefix(strings.ToLower(code[i:]), "/p")):
			f.Date = true
			i += strings.IndexAny(code[i:], "pP") + 1
		case r == 'G' && strings.HasPrefix(strings.ToLower(code[i:]), "eneral"):
			i += len("eneral")
			places = true
		default:
			say(string(r))
		}
	}
	if f.Date {
		return f
	}
	f.Before, f.Unit = strings.TrimSpace(before.String()), strings.TrimSpace(behind.String())
	f.Shift = -3 * commas
	if percent {
		f.Shift += 2
		f.Unit = strings.TrimSpace("% " + f.Unit)
	}
	if sincePlus > 0 && sincePlus <= 6 && f.Shift == 0 {
		f.Plus = sincePlus
	}
	return f
}

// Figure is the stored figure in the unit that is shown, with all its digits: 0.755 shown as a share of a hundred is
// "75.5"; 1250.4 shown with a plus is "1+250.4".
func (f *Format) Figure(v float64) string {
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		return "–"
	case f.Plus > 0:
		return f.stakes(v)
	case f.Shift != 0:
		v = shifted(v, f.Shift)
	}
	if a := math.Abs(v); a != 0 && (a >= 1e15 || a < 1e-7) {
		return strconv.FormatFloat(v, 'e', -1, 64)
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// shifted multiplies by a power of ten in decimal, so that 0.07 becomes 7 and not a hair more.
func shifted(v float64, by int) float64 {
	mantissa, exponent, _ := strings.Cut(strconv.FormatFloat(v, 'e', -1, 64), "e")
	e, _ := strconv.Atoi(exponent)
	out, err := strconv.ParseFloat(mantissa+"e"+strconv.Itoa(e+by), 64)
	if err != nil {
		return v * math.Pow10(by)
	}
	return out
}

// stakes writes 1250.4 as "1+250.4".
func (f *Format) stakes(v float64) string {
	whole, decimals, point := strings.Cut(strconv.FormatFloat(math.Abs(v), 'f', -1, 64), ".")
	if n := f.Plus + 1 - len(whole); n > 0 {
		whole = strings.Repeat("0", n) + whole
	}
	out := whole[:len(whole)-f.Plus] + "+" + whole[len(whole)-f.Plus:]
	if point {
		out += "." + decimals
	}
	if v < 0 {
		out = "-" + out
	}
	return out
}

// figure is the figure with its unit.
func (f *Format) figure(v float64) string {
	if f.Unit == "" {
		return f.Figure(v)
	}
	return f.Figure(v) + " " + f.Unit
}

// Workbooks count days from 1899-12-31 and take 1900 for a leap year, or from 1904-01-01 (ECMA-376 part 1, 18.17.4.1).
const (
	leapDay1900 = 60        // the day that never was
	lastDay     = 2_958_466 // behind 9999-12-31
)

// date is a serial day as a date, a time of day, or both.
func (f *Format) date(v float64) string {
	if !(v >= 0 && v < lastDay) {
		return f.Figure(v)
	}
	day := math.Floor(v)
	seconds := int(math.Round((v - day) * 86400))
	start := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)
	switch {
	case f.epoch:
		start = time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)
	case day < leapDay1900:
		start = start.AddDate(0, 0, 1)
	}
	t := start.AddDate(0, 0, int(day)).Add(time.Duration(seconds) * time.Second)
	switch {
	case v < 1 && !f.epoch:
		return t.Format("15:04:05")
	case seconds == 0:
		return t.Format("2006-01-02")
	}
	return t.Format("2006-01-02 15:04:05")
}
