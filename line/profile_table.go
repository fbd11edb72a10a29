package line

import (
	"bytes"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Limits within a table, far above what any survey has.
const (
	mostCells       = 1024 // cells of a row that are looked at
	longestQuoted   = 4096 // bytes of a cell in quotation marks
	sampledRows     = 200  // rows looked at to find separator and header
	blankSeparator  = ' '  // one or more blanks
	blanksSeparator = '_'  // two or more blanks; stands for itself in no file, it is only our mark
)

// span is the place of a cell in the text: 64 MB fit.
type span struct{ from, to int32 }

// records reads a table row by row without copying it. A row is a line, or several
// where a cell in quotation marks runs over a line's end.
type records struct {
	text   []byte
	sep    byte
	quotes bool // there are quotation marks in the text at all
	at     int  // where the next row begins
	start  int  // where the row just read begins
	end    int  // where it ends, without the line end
	line   int  // number of its first line
	next   int  // number of the next row's first line
	cells  []span
}

func newRecords(text []byte, sep byte) *records {
	return &records{text: text, sep: sep, next: 1, quotes: bytes.IndexByte(text, '"') >= 0}
}

// read takes the next row; false at the end of the text.
func (r *records) read() bool {
	if r.at >= len(r.text) {
		return false
	}
	r.start, r.line = r.at, r.next
	r.cells = r.cells[:0]
	r.takeLine()
	if !r.quotes || bytes.IndexByte(r.text[r.start:r.end], '"') < 0 {
		r.split()
		return true
	}
	r.splitQuoted()
	return true
}

// takeLine moves to the end of the line that begins at r.at.
func (r *records) takeLine() {
	r.end = len(r.text)
	r.next++
	if i := bytes.IndexByte(r.text[r.at:], '\n'); i >= 0 {
		r.end = r.at + i
		r.at += i + 1
	} else {
		r.at = r.end
	}
	if r.end > r.start && r.text[r.end-1] == '\r' {
		r.end--
	}
}

// split cuts a row without quotation marks.
func (r *records) split() {
	if r.sep == blankSeparator || r.sep == blanksSeparator {
		r.splitBlanks()
		return
	}
	from := r.start
	for i := r.start; i < r.end; i++ {
		if r.text[i] == r.sep {
			if r.put(from, i); len(r.cells) == mostCells {
				return
			}
			from = i + 1
		}
	}
	r.put(from, r.end)
}

// splitBlanks cuts a row at runs of blanks.
func (r *records) splitBlanks() {
	least := 1
	if r.sep == blanksSeparator {
		least = 2
	}
	i := r.start
	for i < r.end && isBlank(r.text[i]) {
		i++
	}
	from := i
	for i < r.end && len(r.cells) < mostCells {
		if !isBlank(r.text[i]) {
			i++
			continue
		}
		j := i
		for j < r.end && isBlank(r.text[j]) {
			j++
		}
		if j-i >= least && j < r.end {
			r.put(from, i)
			from = j
		}
		i = j
	}
	if from < r.end {
		r.put(from, r.end)
	}
}

func isBlank(c byte) bool { return c == ' ' || c == '\t' }

// splitQuoted cuts a row that has quotation marks. A mark that opens no cell, or a cell
// that is never closed, is an ordinary character (an inch, a remark of the surveyor's).
func (r *records) splitQuoted() {
	i := r.start
	for len(r.cells) < mostCells {
		open := i
		for open < r.end && isBlank(r.text[open]) && r.text[open] != r.sep {
			open++
		}
		if open < r.end && r.text[open] == '"' {
			if end, after, ok := r.closing(open + 1); ok {
				r.put(open+1, end)
				for after > r.end { // the cell ran over line ends
					r.takeLine()
				}
				if after >= r.end {
					return
				}
				i = after + 1
				continue
			}
		}
		j := bytes.IndexByte(r.text[i:r.end], r.sep)
		if j < 0 {
			r.put(i, r.end)
			return
		}
		r.put(i, i+j)
		i += j + 1
	}
}

// closing finds the mark that closes a cell whose text begins at i: the cell's end, and the place of the separator
// or line end behind it.
func (r *records) closing(i int) (end, after int, ok bool) {
	for limit := min(len(r.text), i+longestQuoted); i < limit; i++ {
		if r.text[i] != '"' {
			continue
		}
		if i+1 < len(r.text) && r.text[i+1] == '"' {
			i++
			continue
		}
		for after = i + 1; after < len(r.text) && isBlank(r.text[after]) && r.text[after] != r.sep; after++ {
		}
		switch {
		case after == len(r.text), r.text[after] == '\n', r.text[after] == r.sep:
			return i, after, true
		case r.text[after] == '\r' && after+1 < len(r.text) && r.text[after+1] == '\n':
			return i, after, true
		}
		return 0, 0, false
	}
	return 0, 0, false
}

// put keeps a cell without the blanks around it.
func (r *records) put(from, to int) {
	for from < to && r.text[from] <= ' ' {
		from++
	}
	for from < to && r.text[to-1] <= ' ' {
		to--
	}
	if from < to && (r.text[from] >= utf8.RuneSelf || r.text[to-1] >= utf8.RuneSelf) {
		cell := r.text[from:to]
		left := bytes.TrimLeftFunc(cell, isGap)
		from += len(cell) - len(left)
		to = from + len(bytes.TrimRightFunc(left, isGap))
	}
	r.cells = append(r.cells, span{int32(from), int32(to)})
}

// isGap reports spaces of every width, with the zero-width no-break space that a misplaced byte-order mark is.
func isGap(c rune) bool {
	return unicode.IsSpace(c) || unicode.Is(unicode.Zs, c) || c == '\ufeff' || c == '\u200b'
}

// cell is the cell in column i, counted from 0; empty where the row is shorter.
func (r *records) cell(i int) []byte {
	if i < 0 || i >= len(r.cells) {
		return nil
	}
	return r.text[r.cells[i].from:r.cells[i].to]
}

// column is the place of cell i in its line, in characters from 1.
func (r *records) column(i int) int {
	if i < 0 || i >= len(r.cells) {
		return 0
	}
	from := int(r.cells[i].from)
	begin := r.start
	if j := bytes.LastIndexByte(r.text[r.start:from], '\n'); j >= 0 {
		begin += j + 1
	}
	return utf8.RuneCount(r.text[begin:from]) + 1
}

// blank reports a row with nothing in it.
func (r *records) blank() bool {
	for _, c := range r.cells {
		if c.to > c.from {
			return false
		}
	}
	return true
}

// texts are all cells as text, with doubled quotation marks made single. Cells too long for any header are cut.
func (r *records) texts() []string {
	out := make([]string, len(r.cells))
	for i := range r.cells {
		cell := r.cell(i)
		out[i] = strings.ReplaceAll(string(cell[:min(len(cell), 2*longestHeader)]), `""`, `"`)
	}
	return out
}

// comment reports a row that begins as a comment does and is none of a spreadsheet's error values.
func (r *records) comment() bool {
	row := bytes.TrimLeftFunc(r.text[r.start:r.end], isGap)
	switch {
	case bytes.HasPrefix(row, []byte("//")), bytes.HasPrefix(row, []byte("%")):
		return true
	case bytes.HasPrefix(row, []byte("#")):
		return len(r.cell(0)) > 12 || !isSheetError(string(r.cell(0)))
	}
	return false
}

// sheetErrors are what spreadsheets write into cells that could not be computed.
var sheetErrors = map[string]bool{"#n/a": true, "#nv": true, "#value!": true, "#wert!": true, "#ref!": true, "#bezug!": true, "#div/0!": true,
	"#name?": true, "#num!": true, "#zahl!": true, "#null!": true, "#valeur!": true, "#nombre!": true, "#nom?": true, "####": true}

func isSheetError(s string) bool { return len(s) < 12 && sheetErrors[strings.ToLower(s)] }

// separators are tried in this order: the comma last, since it may be a decimal sign.
var separators = []struct {
	sep  byte
	name string
}{{'\t', "tab"}, {';', "semicolon"}, {'|', "bar"}, {',', "comma"}, {blanksSeparator, "two or more blanks"}, {blankSeparator, "blanks"}}

func separatorName(sep byte) string {
	for _, s := range separators {
		if s.sep == sep {
			return s.name
		}
	}
	return ""
}

// findSeparator takes the first that cuts at least half as many rows into two figures or more as the best does.
func findSeparator(text []byte) (byte, bool) {
	if s, ok := statedSeparator(text); ok {
		return s, true
	}
	var scores [6]int
	best := 0
	for i, s := range separators {
		scores[i] = score(text, s.sep)
		if s.sep == ',' && best > 0 {
			scores[i] /= 2 // "1,5;2,5" is cut into figures by the comma as well
		}
		best = max(best, scores[i])
	}
	if best == 0 {
		return 0, false
	}
	for i, s := range separators {
		if 2*scores[i] >= best {
			return s.sep, true
		}
	}
	return 0, false
}

// statedSeparator reads a first line "sep=;" as spreadsheets write and obey it.
func statedSeparator(text []byte) (byte, bool) {
	line, _, _ := bytes.Cut(text, []byte{'\n'})
	line = bytes.TrimSpace(line)
	if len(line) == 5 && bytes.EqualFold(line[:4], []byte("sep=")) && bytes.IndexByte([]byte(";,|"), line[4]) >= 0 {
		return line[4], true
	}
	return 0, false
}

// score counts the rows near the beginning that the separator cuts into two figures or more.
func score(text []byte, sep byte) int {
	r := newRecords(text, sep)
	n := 0
	for looked := 0; looked < sampledRows && r.read(); {
		if r.blank() || r.comment() {
			continue
		}
		looked++
		figures := 0
		for i := range min(len(r.cells), 32) {
			if looksLikeFigure(r.cell(i)) {
				figures++
			} else if sep == ',' && partsTwo(r.cell(i)) {
				figures = -mostCells
			}
		}
		if figures >= 2 {
			n++
		}
	}
	return n
}
