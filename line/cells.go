package line

import (
	"strings"

	"obvert/document"
)

// Cells is a text file with columns, cut into cells and not yet understood.
type Cells struct {
	Rows      [][]string // blank rows are left out
	Lines     []int      // the line of each row in the file, from 1
	Encoding  string
	Separator string
}

// ReadCells cuts a text file with columns into cells, in the encodings and with the separators that a profile may have.
// What stands in lines that begin with # is left out. most bounds the rows.
func ReadCells(file string, data []byte, most int) (Cells, document.Faults) {
	p := &profileReader{faults: newFaultList(file), mostBytes: MaxProfileBytes}
	var c Cells
	if !p.decode(data) {
		return c, p.faults.All()
	}
	sep, ok := findSeparator(p.text)
	if !ok {
		sep = separatorOfWords(p.text)
	}
	c.Encoding, c.Separator = p.result.Dialect.Encoding, separatorName(sep)
	r := newRecords(p.text, sep)
	for r.read() {
		if r.blank() || r.comment() {
			continue
		}
		if len(c.Rows) == most {
			p.faults.Add(document.Fault{Line: r.line, What: "too many rows", Understood: "more than " + itoa(most), Hint: "is this a table of equipment?"})
			return Cells{}, p.faults.All()
		}
		c.Rows = append(c.Rows, r.texts())
		c.Lines = append(c.Lines, r.line)
	}
	return c, p.faults.All()
}

// separatorOfWords is the separator that stands most often in the first line that has any: no row has two figures.
func separatorOfWords(text []byte) byte {
	for l := range strings.Lines(string(text[:min(len(text), 1<<16)])) {
		best, most := byte(0), 0
		for _, s := range separators {
			if s.sep == blankSeparator || s.sep == blanksSeparator {
				continue
			}
			if n := strings.Count(l, string(rune(s.sep))); n > most {
				best, most = s.sep, n
			}
		}
		if most > 0 {
			return best
		}
	}
	return ','
}
