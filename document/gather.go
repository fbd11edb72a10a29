package document

import "strconv"

// shownOfASort is how many faults of one sort are told before the rest is counted.
const shownOfASort = 5

// Gather takes the faults of one file and counts those beyond the first few of a sort, so that a file with a million bad rows has a
// short answer.
type Gather struct {
	File    string
	Fatal   bool // a fault proper was taken
	list    Faults
	repeats map[string]*repeat
	order   []string // sorts in the order of their first fault
}

// repeat counts the faults of one sort.
type repeat struct {
	sort     Fault // one of them, for its severity and id
	count    int
	from, to int // lines of the first and last that were not shown
}

// Add takes a fault that is always shown.
func (g *Gather) Add(f Fault) {
	f = f.printable()
	f.File = g.File
	g.Fatal = g.Fatal || f.Severity == FaultSeverity
	g.list = append(g.list, f)
}

// Warn takes a warning that is always shown.
func (g *Gather) Warn(id string, line int, what, understood, hint string) {
	g.Add(Fault{ID: id, Severity: WarningSeverity, Line: line, What: what, Understood: understood, Hint: hint})
}

// Remark takes a remark that is always shown.
func (g *Gather) Remark(id string, line int, what, understood, hint string) {
	g.Add(Fault{ID: id, Severity: RemarkSeverity, Line: line, What: what, Understood: understood, Hint: hint})
}

// Repeated takes one of a sort that may come thousands of times: build is called for the first few only.
func (g *Gather) Repeated(sort string, line int, severity Severity, build func() Fault) {
	r := g.repeats[sort]
	if r == nil {
		if g.repeats == nil {
			g.repeats = map[string]*repeat{}
		}
		r = &repeat{}
		g.repeats[sort] = r
		g.order = append(g.order, sort)
	}
	r.count++
	g.Fatal = g.Fatal || severity == FaultSeverity
	if r.count > shownOfASort {
		if r.from == 0 {
			r.from = line
		}
		r.to = line
		return
	}
	f := build()
	f.Severity, f.Line = severity, line
	g.Add(f)
	r.sort = f
}

// All is every fault in the order of its place, with a count in place of those that were left out.
func (g *Gather) All() Faults {
	out := g.list
	for _, sort := range g.order {
		r := g.repeats[sort]
		more := r.count - shownOfASort
		if more <= 0 {
			continue
		}
		lines := "line " + strconv.Itoa(r.from)
		if r.to != r.from {
			lines = "lines " + strconv.Itoa(r.from) + " to " + strconv.Itoa(r.to)
		}
		out = append(out, Fault{
			File: g.File, Line: r.from, Key: r.sort.Key, ID: r.sort.ID, Severity: r.sort.Severity,
			What:       "… and " + strconv.Itoa(more) + " more like this",
			Understood: lines,
		})
	}
	return out.Sorted()
}

// Shown is a text of a file, fit to stand in a sentence: no more than so many characters, control characters written as escapes.
func Shown(s string, most int) string { return clean(shown(s, most)) }
