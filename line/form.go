package line

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"obvert/document"
	"obvert/quantity"
)

// form is a table of the document on its way into the model: it reads keys within limits and reports what is wrong at
// the key's own place.
type form struct {
	t  *document.Table
	of string // the kind of table by its path in the schema, such as "run.section"; "" at the root
	r  *reader
}

// limits is the range, ends included, in which a value can be meant. Outside it a unit is wrong or a digit too many.
type limits struct {
	low, high float64
	unit      string // in which the limits are shown
	decimals  int
}

// The limits of the values of a line. Bad values are refused long before they could upset a calculation.
var (
	levelLimits       = limits{-1000, 10_000, "m", 0}   // above datum: from below any mine's floor to above any pass
	chainageLimits    = limits{-1e6, 1e7, "m", 0}       // ten thousand kilometres
	boreLimits        = limits{0.004, 15, "mm", 0}      //
	wallLimits        = limits{1e-4, 1, "mm", 1}        //
	roughnessLimits   = limits{0, 0.05, "mm", 0}        //
	heightLimits      = limits{0, 20, "m", 0}           // of a seat above the obvert: it cannot lie in the pipe
	coverLimits       = limits{0, 100, "m", 0}          //
	pressureLimits    = limits{1e3, 1e8, "bar", 2}      // rating
	lossLimits        = limits{0, 1e5, "1", 0}          // local loss coefficient
	flowLimits        = limits{0, 1e4, "m³/s", 0}       //
	headLimits        = limits{0, 5000, "m", 0}         //
	areaLimits        = limits{0.01, 1e10, "m²", 2}     //
	altitudeLimits    = limits{-430, 6000, "m", 0}      // the shore of the Dead Sea to the highest towns and mines
	waterLimits       = limits{273.15, 333.15, "°C", 0} //
	airLimits         = limits{213.15, 333.15, "°C", 0} // any weather on record
	gravityLimits     = limits{9.75, 9.85, "m/s²", 2}   // at the Earth's surface
	atmosphereLimits  = limits{4e4, 1.15e5, "kPa", 0}   //
	latitudeLimits    = limits{-1.5707963267948966, 1.5707963267948966, "°", 0}
	ratioLimits       = limits{0, 1, "%", 0}
	coefficientLimits = limits{0.01, 1, "1", 0} // discharge coefficient
	moneyLimits       = limits{0, 1e12, "1", 0}
	sigmaLimits       = limits{0, 100, "m", 0} // standard uncertainty of a level
)

// asked notes that the reader knows a key of this kind of table. A test holds the schema against these notes.
func (f form) asked(key string) {
	if f.r.asked != nil {
		if f.r.asked[f.of] == nil {
			f.r.asked[f.of] = map[string]bool{}
		}
		f.r.asked[f.of][key] = true
	}
}

// fault reports what is wrong with the value of a key.
func (f form) fault(key, what, understood, hint string) {
	f.report(key, document.Fault{What: what, Understood: understood, Hint: hint})
}

// warn reports what can be meant but is seldom meant.
func (f form) warn(key, id, what, understood, hint string) {
	f.report(key, document.Fault{Severity: document.WarningSeverity, ID: id, What: what, Understood: understood, Hint: hint})
}

// remark reports how something was understood.
func (f form) remark(key, id, what, understood, hint string) {
	f.report(key, document.Fault{Severity: document.RemarkSeverity, ID: id, What: what, Understood: understood, Hint: hint})
}

// report passes a fault on, with plain spaces: it is read on terminals and typed again from there.
func (f form) report(key string, fault document.Fault) {
	for _, s := range []*string{&fault.What, &fault.Understood, &fault.Hint} {
		*s = strings.ReplaceAll(*s, "\u00a0", " ")
	}
	f.t.Report(key, fault)
}

func (f form) has(key string) bool { f.asked(key); return f.t.Has(key) }

func (f form) text(key string, required bool) (string, bool) {
	f.asked(key)
	return f.t.Text(key, required)
}

func (f form) texts(key string) ([]string, bool) {
	f.asked(key)
	return f.t.Texts(key, false)
}

func (f form) flag(key string) (v, ok bool) {
	f.asked(key)
	return f.t.Bool(key, false)
}

func (f form) date(key string) string {
	f.asked(key)
	v, _ := f.t.Date(key, false)
	return v
}

func (f form) choice(key string, required bool, choices ...string) (string, bool) {
	f.asked(key)
	return f.t.Choice(key, required, choices...)
}

// number reads a plain number without a unit.
func (f form) number(key string, l limits) (float64, bool) {
	f.asked(key)
	v, ok := f.t.Float(key, false)
	return v, ok && f.within(key, v, l)
}

// quantity reads a value with its unit, within limits.
func (f form) quantity(key string, k quantity.Kind, required bool, l limits) (float64, bool) {
	f.asked(key)
	v, ok := f.t.Quantity(key, k, required)
	return v, ok && f.within(key, v, l)
}

// money reads a price in the line's currency, which the first price names where [prices] does not.
func (f form) money(key string, k quantity.Kind, currency *string) (float64, bool) {
	f.asked(key)
	v, c, ok := f.t.Money(key, k, false)
	if !ok {
		return 0, false
	}
	if *currency == "" {
		*currency = c
	}
	if c != *currency {
		f.fault(key, "is in another currency than the rest", c+" where the prices are in "+*currency, "give every price in "+*currency)
		return 0, false
	}
	return v, f.within(key, v, moneyLimits)
}

// chainage reads a chainage, counted by the run's own stakes.
func (f form) chainage(key string, s quantity.Stakes, required bool) (float64, bool) {
	f.asked(key)
	text, ok := f.t.Text(key, required)
	if !ok {
		return 0, false
	}
	v, err := quantity.ParseChainage(text, s)
	if err != nil {
		f.quantityFault(key, err)
		return 0, false
	}
	return v, f.within(key, v, chainageLimits)
}

// quantityFault reports what package quantity found wrong.
func (f form) quantityFault(key string, err error) {
	if e, ok := err.(*quantity.Error); ok {
		f.fault(key, e.What(), e.Understood, e.Hint)
		return
	}
	f.fault(key, err.Error(), "", "")
}

// within reports a value outside its limits.
func (f form) within(key string, v float64, l limits) bool {
	if v >= l.low && v <= l.high {
		return true
	}
	f.fault(key, "lies outside what can be meant", "understood as "+l.show(v),
		"give a value from "+l.show(l.low)+" to "+l.show(l.high))
	return false
}

// show writes a value in the limits' unit, without a unit for a plain number.
func (l limits) show(v float64) string {
	if l.unit == "1" {
		return fmt.Sprintf("%.4g", v)
	}
	shown, err := quantity.To(v, l.unit)
	if err != nil {
		return fmt.Sprintf("%.4g", v)
	}
	if shown != 0 && (shown > 1e7 || shown < -1e7 || (shown < 1e-3 && shown > -1e-3)) {
		return fmt.Sprintf("%.3g %s", shown, l.unit)
	}
	if s := fmt.Sprintf("%.*f", l.decimals, shown); strings.Trim(s, "-0.") != "" || shown == 0 {
		if fmt.Sprintf("%.6g", shown) == s {
			return quantity.Format(v, l.unit, l.decimals)
		}
	}
	return fmt.Sprintf("%.6g %s", shown, l.unit)
}

func (f form) sub(key, of string) (form, bool) {
	f.asked(key)
	t, ok := f.t.Sub(key, false)
	return form{t, of, f.r}, ok
}

func (f form) list(key, of string, required bool) []form {
	f.asked(key)
	tables := f.t.List(key, required)
	forms := make([]form, len(tables))
	for i, t := range tables {
		forms[i] = form{t, of, f.r}
	}
	return forms
}

// curve reads points of a curve over flow.
func (f form) curve(key string, value quantity.Kind, required bool, l limits) ([][2]float64, bool) {
	f.asked(key)
	rows, ok := f.t.Rows(key, required, quantity.Flow, value)
	if !ok {
		return nil, false
	}
	points := make([][2]float64, 0, len(rows))
	for i, row := range rows {
		if !f.withinRow(key, i, 0, row[0], flowLimits) || !f.withinRow(key, i, 1, row[1], l) {
			return nil, false
		}
		points = append(points, [2]float64{row[0], row[1]})
	}
	return points, true
}

func (f form) withinRow(key string, i, column int, v float64, l limits) bool {
	if v >= l.low && v <= l.high {
		return true
	}
	f.fault(fmt.Sprintf("%s[%d][%d]", key, i+1, column+1), "lies outside what can be meant", "understood as "+l.show(v),
		"give a value from "+l.show(l.low)+" to "+l.show(l.high))
	return false
}

// longestName is the longest name, in characters, that can be drawn somewhere.
const longestName = 120

// name reads a table's name: something a person can say and a label can carry.
func (f form) name(key string, required bool) (string, bool) {
	s, ok := f.text(key, required)
	if !ok {
		return "", false
	}
	switch {
	case s != strings.TrimSpace(s):
		f.fault(key, "begins or ends with a space", fmt.Sprintf("%q", s), "write "+fmt.Sprintf("%q", strings.TrimSpace(s)))
	case utf8.RuneCountInString(s) > longestName:
		f.fault(key, fmt.Sprintf("is longer than %d characters", longestName), "", "shorten it")
	case strings.ContainsFunc(s, hidden):
		f.fault(key, "holds a character that cannot be seen", fmt.Sprintf("%q", s), "write it in one line of plain text")
	default:
		return s, true
	}
	return "", false
}

// hidden tells characters that a name must not hold: line breaks, control characters, marks that turn the direction.
func hidden(r rune) bool {
	return r != ' ' && r != '\u00a0' && !unicode.IsPrint(r)
}
