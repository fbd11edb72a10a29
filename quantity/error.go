package quantity

import (
	"strconv"
	"strings"
	"unicode/utf8"
)

// Error says why a text is not a quantity of the kind asked for.
type Error struct {
	Kind       Kind
	Text       string // as given
	Understood string // what was understood of it: "no unit"
	Hint       string // what to do: `write "450 mm" or "450 m"`
}

// Error reads `"450" is not a length: no unit; write "450 mm" or "450 m"`.
func (e *Error) Error() string {
	s := e.What()
	if e.Understood != "" {
		s += ": " + e.Understood
	}
	if e.Hint != "" {
		s += "; " + e.Hint
	}
	return s
}

// What is the first part of the message: `"450" is not a length`.
func (e *Error) What() string { return Quote(e.Text) + " is not " + e.Kind.String() }

// longestQuote is the number of characters of a text shown in a message.
const longestQuote = 48

// Quote puts a text in quotation marks for a message: control and invisible
// characters are written as escapes, a long text is cut with an ellipsis.
func Quote(s string) string {
	if utf8.RuneCountInString(s) > longestQuote {
		n := 0
		for i := range s {
			if n == longestQuote-1 {
				s = s[:i] + "…"
				break
			}
			n++
		}
	}
	return strconv.Quote(s)
}

// write joins right spellings into a hint: `write "450 mm" or "450 m"`.
func write(spellings ...string) string {
	quoted := make([]string, len(spellings))
	for i, s := range spellings {
		quoted[i] = Quote(s)
	}
	return "write " + strings.Join(quoted, " or ")
}
