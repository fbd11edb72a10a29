package main

import (
	"bufio"
	"io"
	"iter"
	"os"
	"strings"
	"unicode/utf8"

	"golang.org/x/term"

	"obvert/engine/sealing"
	"obvert/study"
)

// The widths of text in columns.
const (
	usualWidth = 80
	leastWidth = 40
	mostWidth  = 100 // longer lines are hard to read
)

// console is where text goes and what it may look like there.
type console struct {
	out    *bufio.Writer
	err    io.Writer
	width  int  // columns
	colour bool // the output is a terminal that shows colour
	live   bool // messages go to a terminal: progress may be shown there
	in     input
}

// newConsole looks at the two outputs and the environment.
func newConsole(out, messages *os.File) *console {
	c := &console{out: bufio.NewWriter(out), err: messages, width: usualWidth, in: newInput(os.Stdin, messages)}
	if term.IsTerminal(int(out.Fd())) {
		c.colour = os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb"
		if w, _, err := term.GetSize(int(out.Fd())); err == nil && w > 0 {
			c.width = min(max(w, leastWidth), mostWidth)
		}
	}
	c.live = term.IsTerminal(int(messages.Fd())) && os.Getenv("TERM") != "dumb" && os.Getenv("CI") == ""
	return c
}

func (c *console) flush() error { return c.out.Flush() }

// line writes one line.
func (c *console) line(parts ...string) {
	for _, p := range parts {
		c.out.WriteString(p) // an error stays with the writer until flush
	}
	c.out.WriteByte('\n')
}

// The looks of text on a terminal that shows colour. A look never says anything
// that the word does not say too.
const (
	strong = "1"
	faint  = "2"
	red    = "31"
	green  = "32"
	yellow = "33"
	purple = "35"
)

// paint gives text a look, where colour is shown.
func (c *console) paint(look, text string) string {
	if !c.colour || look == "" || text == "" {
		return text
	}
	return "\x1b[" + look + "m" + text + "\x1b[0m"
}

// stateLook is the look of a valve's state.
func stateLook(word string) string {
	switch word {
	case sealing.Tight.String():
		return green
	case sealing.Drips.String():
		return red
	case sealing.Open.String():
		return purple
	case sealing.Empty.String(), sealing.Unrated.String():
		return faint
	}
	return ""
}

// severityLook is the look of a finding's severity.
func severityLook(s study.Severity) string {
	switch s {
	case study.Fails:
		return red
	case study.Doubtful:
		return yellow
	case study.Holds:
		return green
	}
	return ""
}

// columns is the width of text in columns, without escape codes.
func columns(s string) int {
	n := 0
	for len(s) > 0 {
		if strings.HasPrefix(s, "\x1b[") {
			if end := strings.IndexByte(s, 'm'); end > 0 {
				s = s[end+1:]
				continue
			}
		}
		_, size := utf8.DecodeRuneInString(s)
		s = s[size:]
		n++
	}
	return n
}

// wrap breaks text at its spaces into lines of at most the width, those after the
// first set in. Words longer than a line are broken where they must be; no-break
// spaces hold.
func wrap(text string, width, indent int) string {
	return strings.Join(wrapLines(text, width, width-indent), "\n"+strings.Repeat(" ", indent))
}

// words parts text at its spaces, but not at no-break spaces.
func words(text string) iter.Seq[string] {
	return strings.FieldsFuncSeq(text, func(r rune) bool { return r == ' ' || r == '\n' || r == '\t' })
}

// wrapLines breaks text into lines, the first of at most one width, the others of another.
func wrapLines(text string, first, rest int) []string {
	var lines []string
	line, used, room := "", 0, first
	next := func() {
		lines, line, used, room = append(lines, line), "", 0, rest
	}
	for word := range words(text) {
		n := columns(word)
		if used > 0 && used+1+n > room {
			next()
		}
		if used > 0 {
			line, used = line+" ", used+1
		}
		for n > room-used && n > 1 && !strings.Contains(word, "\x1b") {
			r := []rune(word)
			cut := max(room-used, 1)
			line += string(r[:cut])
			word, n = string(r[cut:]), n-cut
			next()
		}
		line, used = line+word, used+n
	}
	if used > 0 || len(lines) == 0 {
		lines = append(lines, line)
	}
	return lines
}
