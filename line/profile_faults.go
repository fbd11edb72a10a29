package line

import (
	"math"
	"strconv"

	"obvert/document"
	"obvert/quantity"
)

// shownFaults is how many faults of one sort are told before the rest is counted.
const shownFaults = 5

// faultList gathers faults of one file and counts those beyond the first few of a sort.
type faultList struct {
	file    string
	list    document.Faults
	repeats map[string]*repeat
	order   []string // sorts in the order of their first fault
	fatal   bool
	badRows int // rows that gave a fault
}

// repeat counts the faults of one sort.
type repeat struct {
	sort     document.Fault // one of them, for its severity and id
	count    int
	from, to int // lines of the first and last that were not shown
}

func newFaultList(file string) *faultList {
	return &faultList{file: file, repeats: map[string]*repeat{}}
}

// add takes a fault that is always shown.
func (l *faultList) add(f document.Fault) {
	f.File = l.file
	l.fatal = l.fatal || f.Severity == document.FaultSeverity
	l.list = append(l.list, f)
}

// remark takes a remark that is always shown.
func (l *faultList) remark(id string, line int, what, understood, hint string) {
	l.add(document.Fault{ID: id, Severity: document.RemarkSeverity, Line: line, What: what, Understood: understood, Hint: hint})
}

// repeated takes one of a sort that may come thousands of times: build is called for the first few only.
func (l *faultList) repeated(sort string, line int, severity document.Severity, build func() document.Fault) {
	r := l.repeats[sort]
	if r == nil {
		r = &repeat{}
		l.repeats[sort] = r
		l.order = append(l.order, sort)
	}
	r.count++
	if severity == document.FaultSeverity {
		l.fatal = true
		l.badRows++
	}
	if r.count > shownFaults {
		if r.from == 0 {
			r.from = line
		}
		r.to = line
		return
	}
	f := build()
	f.Severity, f.Line = severity, line
	l.add(f)
	r.sort = f
}

// all is every fault, with a count in place of those that were left out.
func (l *faultList) all() document.Faults {
	out := l.list
	for _, sort := range l.order {
		r := l.repeats[sort]
		more := r.count - shownFaults
		if more <= 0 {
			continue
		}
		out = append(out, document.Fault{
			File: l.file, Line: r.from, Key: r.sort.Key, ID: r.sort.ID, Severity: r.sort.Severity,
			What:       "… and " + itoa(more) + " more like this",
			Understood: lines(r.from, r.to),
		})
	}
	return out.Sorted()
}

func itoa(n int) string { return strconv.Itoa(n) }

// lines names one line or a range of lines.
func lines(from, to int) string {
	if from == to {
		return "line " + itoa(from)
	}
	return "lines " + itoa(from) + " to " + itoa(to)
}

// counted is "1 row" or "3 rows".
func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return itoa(n) + " " + many
}

// chainageText writes a chainage in m to the millimetre where it has millimetres.
func chainageText(s float64) string {
	for d := range 3 {
		scale := math.Pow10(d)
		if math.Abs(math.Round(s*scale)/scale-s) < 5e-7 {
			return quantity.FormatChainageDecimals(s, d)
		}
	}
	return quantity.FormatChainageDecimals(s, 3)
}

// metres writes a length or level in m to the millimetre where it has millimetres.
func metres(v float64) string {
	for d := range 3 {
		scale := math.Pow10(d)
		if math.Abs(math.Round(v*scale)/scale-v) < 5e-7 {
			return quantity.Format(v, "m", d)
		}
	}
	return quantity.Format(v, "m", 3)
}
