package document

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Severity says whether a fault stops the work.
type Severity uint8

const (
	FaultSeverity   Severity = iota // the document cannot be used
	WarningSeverity                 // it can be used, and the answer rests on a doubtful thing
	RemarkSeverity                  // it was read in a way worth saying
)

// String is the word shown: "fault", "warning", "remark".
func (s Severity) String() string {
	switch s {
	case FaultSeverity:
		return "fault"
	case WarningSeverity:
		return "warning"
	case RemarkSeverity:
		return "remark"
	}
	return fmt.Sprintf("severity %d", uint8(s))
}

// Fault is one thing to say about a place in a file.
type Fault struct {
	File       string
	Line       int    // from 1; 0 means the file as a whole
	Column     int    // in characters, from 1; 0 means the line as a whole
	Key        string // the full path, by the table's own name where it has one: run "Ridge".bore
	ID         string // warnings and remarks: a stable id, "profile.backstep"
	Severity   Severity
	What       string // what is wrong: `"450" is not a length`
	Understood string // what was understood: "no unit"
	Hint       string // what to do: `write "450 mm"`
}

// String is the fault on one line:
//
//	line.toml:12:3: run "Ridge".bore: "450" is not a length: no unit. Write "450 mm".
func (f Fault) String() string {
	var b strings.Builder
	if place := f.place(); place != "" {
		b.WriteString(place + ": ")
	}
	if f.Severity != FaultSeverity {
		b.WriteString(f.Severity.String())
		if f.ID != "" {
			b.WriteString(" " + f.ID)
		}
		b.WriteString(": ")
	}
	if f.Key != "" {
		b.WriteString(f.Key + ": ")
	}
	b.WriteString(f.What)
	if f.Understood != "" {
		if f.What != "" {
			b.WriteString(": ")
		}
		b.WriteString(f.Understood)
	}
	b.WriteString(stop(f.What + f.Understood))
	if f.Hint != "" {
		b.WriteString(" " + capital(f.Hint) + stop(f.Hint))
	}
	return b.String()
}

// printable makes every text of the fault fit to be shown: no control characters,
// no more than a few lines.
func (f Fault) printable() Fault {
	for _, s := range []*string{&f.Key, &f.What, &f.Understood, &f.Hint} {
		*s = clean(shown(*s, 400))
	}
	return f
}

func (f Fault) place() string {
	file := clean(f.File) // a file's name can hold anything
	switch {
	case f.Line == 0:
		return file
	case f.Column == 0:
		return fmt.Sprintf("%s:%d", file, f.Line)
	}
	return fmt.Sprintf("%s:%d:%d", file, f.Line, f.Column)
}

// stop is the full stop a sentence still needs.
func stop(s string) string {
	if s == "" || strings.HasSuffix(s, ".") || strings.HasSuffix(s, "?") || strings.HasSuffix(s, "!") {
		return ""
	}
	return "."
}

// capital makes the first letter of a sentence a capital, unless the word is a
// name with capitals or signs of its own.
func capital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[n:]
}

// Render writes the fault wrapped at the given number of columns, with the
// lines after the first set in by four spaces. A width below 20 counts as 20.
func (f Fault) Render(w io.Writer, width int) error {
	_, err := io.WriteString(w, strings.Join(wrap(f.String(), max(width, 20), 4), "\n")+"\n")
	return err
}

// wrap breaks a text at spaces, and words longer than a line where they must.
func wrap(text string, width, indent int) []string {
	var lines []string
	margin := strings.Repeat(" ", indent)
	line, used, empty := "", 0, true
	begin := func() {
		lines = append(lines, line)
		line, used, empty = margin, indent, true
	}
	for _, word := range unbroken(text) {
		n := utf8.RuneCountInString(word)
		if !empty && used+1+n > width {
			begin()
		}
		if !empty {
			line, used = line+" ", used+1
		}
		for used+n > width {
			r := []rune(word)
			line += string(r[:width-used])
			word, n = string(r[width-used:]), n-(width-used)
			begin()
		}
		line, used, empty = line+word, used+n, false
	}
	return append(lines, line)
}

// unbroken splits a text at its spaces, but not at those inside short quotation
// marks: "450 mm" stays on one line.
func unbroken(text string) []string {
	const short = 24 // characters
	var words []string
	for _, w := range strings.Split(text, " ") {
		if n := len(words) - 1; n >= 0 && strings.Count(words[n], `"`)%2 == 1 && utf8.RuneCountInString(words[n])+utf8.RuneCountInString(w) < short {
			words[n] += " " + w
			continue
		}
		words = append(words, w)
	}
	return words
}

// Faults are all that there is to say about one or several files.
type Faults []Fault

// Error lists every fault, one a line. Use [Faults.Err] to get an error only
// where there is one.
func (f Faults) Error() string {
	lines := make([]string, len(f))
	for i := range f {
		lines[i] = f[i].String()
	}
	return strings.Join(lines, "\n")
}

// Err returns the faults proper as an error, or nil if there are only warnings
// and remarks.
func (f Faults) Err() error {
	if only := f.Only(FaultSeverity); len(only) > 0 {
		return only
	}
	return nil
}

// Only returns those of one severity, in their order.
func (f Faults) Only(s Severity) Faults {
	var out Faults
	for _, x := range f {
		if x.Severity == s {
			out = append(out, x)
		}
	}
	return out
}

// Sorted returns a copy ordered by file, line and column.
func (f Faults) Sorted() Faults {
	out := slices.Clone(f)
	slices.SortStableFunc(out, func(a, b Fault) int {
		if c := strings.Compare(a.File, b.File); c != 0 {
			return c
		}
		if a.Line != b.Line {
			return a.Line - b.Line
		}
		return a.Column - b.Column
	})
	return out
}

// Render writes all of them, each as [Fault.Render] does.
func (f Faults) Render(w io.Writer, width int) error {
	for _, x := range f {
		if err := x.Render(w, width); err != nil {
			return err
		}
	}
	return nil
}
