package line

import (
	"math"
	"strconv"

	"obvert/document"
	"obvert/quantity"
)

// faultList gathers the faults of one file, and counts the rows that gave one.
type faultList struct {
	document.Gather
	badRows int
}

func newFaultList(file string) *faultList {
	return &faultList{Gather: document.Gather{File: file}}
}

// repeated takes a row's fault of a sort that may come thousands of times: build is called for the first few only.
func (l *faultList) repeated(sort string, line int, severity document.Severity, build func() document.Fault) {
	if severity == document.FaultSeverity {
		l.badRows++
	}
	l.Repeated(sort, line, severity, build)
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
