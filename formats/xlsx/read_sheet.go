package xlsx

import (
	"bytes"
	"math"
	"slices"
	"strconv"
)

// The most that a sheet can have (ECMA-376 lets programs choose; these are the bounds that all of them keep).
const (
	mostRows    = 1_048_576
	mostColumns = 16_384
)

// sheetReader reads the part of one sheet.
type sheetReader struct {
	a       *archive
	s       *scanner
	sheet   Sheet
	row     int    // number of the row in hand
	column  int    // number of the cell in hand
	cells   []Cell // of the row in hand
	chunk   []Cell // where rows' cells are kept
	hidden  [][2]int
	value   []byte
	formula []byte
}

// readSheet reads a sheet's part.
func (a *archive) readSheet(part string) (Sheet, error) {
	s, err := a.part(part)
	if err != nil {
		return Sheet{}, err
	}
	defer s.close.Close()
	r := &sheetReader{a: a, s: s}
	for {
		t, err := s.next()
		if err != nil {
			return Sheet{}, err
		}
		if t == eof {
			break
		}
		if t != startTag {
			continue
		}
		switch string(s.name) {
		case "row":
			err = r.readRow()
		case "col":
			r.readColumn()
		case "mergeCell":
			err = r.readMerge()
		}
		if err != nil {
			return Sheet{}, err
		}
	}
	r.hideColumns()
	slices.SortFunc(r.sheet.Merges, func(x, y Range) int {
		if x.Row != y.Row {
			return x.Row - y.Row
		}
		return x.Column - y.Column
	})
	return r.sheet, nil
}

// readRow reads a row, whose tag has just been opened.
func (r *sheetReader) readRow() error {
	s := r.s
	if ref := s.attr("r"); ref != nil {
		n := whole(ref)
		if n <= r.row || n > mostRows {
			return errOrder
		}
		r.row = n
	} else if r.row++; r.row > mostRows {
		return errOrder
	}
	hidden := s.flag("hidden")
	depth := s.depth()
	r.cells, r.column = r.cells[:0], 0
	for {
		t, err := s.next()
		switch {
		case err != nil:
			return err
		case t == eof:
			return errMarkup
		case t == endTag && s.depth() < depth:
			r.keepRow(hidden)
			return nil
		case t == startTag && s.depth() == depth+1 && string(s.name) == "c":
			if err := r.readCell(); err != nil {
				return err
			}
		}
	}
}

// keepRow puts the cells in hand away.
func (r *sheetReader) keepRow(hidden bool) {
	if len(r.cells) == 0 {
		return
	}
	if cap(r.chunk)-len(r.chunk) < len(r.cells) {
		r.chunk = make([]Cell, 0, max(8192, len(r.cells)))
		if len(r.sheet.Rows) < 100 { // a small sheet, so far
			r.chunk = make([]Cell, 0, max(512, len(r.cells)))
		}
	}
	from := len(r.chunk)
	r.chunk = append(r.chunk, r.cells...)
	r.sheet.Rows = append(r.sheet.Rows, Row{Number: r.row, Hidden: hidden, Cells: r.chunk[from:len(r.chunk):len(r.chunk)]})
	r.sheet.Columns = max(r.sheet.Columns, int(r.cells[len(r.cells)-1].Column))
}

// readCell reads a cell, whose tag has just been opened.
func (r *sheetReader) readCell() error {
	s := r.s
	if ref := s.attr("r"); ref != nil {
		column, row := place(ref)
		if column <= r.column || column > mostColumns || row != r.row {
			return errOrder
		}
		r.column = column
	} else if r.column++; r.column > mostColumns {
		return errOrder
	}
	style := s.number("s")
	kind := cellType(s.attr("t"))
	depth := s.depth()
	r.value, r.formula = r.value[:0], r.formula[:0]
	hasValue, hasFormula, inline := false, false, ""
	var into *[]byte
	for {
		t, err := s.next()
		switch {
		case err != nil:
			return err
		case t == eof:
			return errMarkup
		case t == endTag:
			if s.depth() < depth {
				return r.keepCell(kind, style, hasValue, hasFormula, inline)
			}
			into = nil
		case t == startTag && s.depth() == depth+1:
			switch string(s.name) {
			case "v":
				into, hasValue = &r.value, true
			case "f":
				into, hasFormula = &r.formula, true
			case "is":
				if inline, err = r.a.richText(s); err != nil {
					return err
				}
			}
		case t == text && into != nil:
			if *into = append(*into, s.body...); len(*into) > maxText {
				return errStrings
			}
		}
	}
}

// cellType is the first letter or two of a cell's type, which tell all of them apart.
func cellType(t []byte) string {
	switch string(t) {
	case "s":
		return "s"
	case "str":
		return "str"
	case "inlineStr":
		return "is"
	case "b":
		return "b"
	case "e":
		return "e"
	case "d":
		return "d"
	}
	return "n"
}

// keepCell makes a cell of what was read.
func (r *sheetReader) keepCell(kind string, style int, hasValue, hasFormula bool, inline string) error {
	if r.column > MaxColumns {
		if len(r.value) > 0 || inline != "" || hasFormula {
			r.sheet.Beyond++
		}
		return nil
	}
	c := Cell{Column: int32(r.column), Format: r.a.style(style), Formula: hasFormula}
	var err error
	switch {
	case hasFormula && len(r.value) == 0 && !(kind == "str" && hasValue):
		c.Kind = Pending
		c.Text, err = r.a.keep(r.formula)
		r.a.pending = true
	case kind == "is":
		c.Kind, c.Text = Text, inline
	case len(r.value) == 0:
		return nil
	case kind == "s":
		n := whole(bytes.TrimSpace(r.value))
		if n < 0 || n >= len(r.a.shared) {
			return errMarkup
		}
		c.Kind, c.Text = Text, r.a.shared[n]
	case kind == "str", kind == "d":
		c.Kind = Text
		c.Text, err = r.a.keep(r.value)
	case kind == "e":
		c.Kind = Error
		c.Text, err = r.a.keep(r.value)
	case kind == "b":
		c.Kind = Bool
		c.Value, _ = figure(r.value)
	default:
		v, ok := figure(r.value)
		switch {
		case !ok:
			c.Kind = Text
			c.Text, err = r.a.keep(r.value)
		case c.Format.Date:
			c.Kind, c.Value = Date, v
		default:
			c.Kind, c.Value = Number, v
		}
	}
	if err != nil {
		return err
	}
	if c.Kind == Text && c.Text == "" {
		return nil
	}
	if r.a.cells++; r.a.cells > maxCells {
		return errCells
	}
	r.cells = append(r.cells, c)
	return nil
}

// figure reads a number as XML Schema writes a double, without the ones that are no figures.
func figure(b []byte) (float64, bool) {
	b = bytes.TrimSpace(b)
	if len(b) == 0 || len(b) > 400 {
		return 0, false
	}
	for _, c := range b {
		if (c < '0' || c > '9') && c != '.' && c != '-' && c != '+' && c != 'e' && c != 'E' {
			return 0, false
		}
	}
	v, err := strconv.ParseFloat(string(b), 64)
	return v, err == nil && !math.IsInf(v, 0)
}

// place reads a reference such as "C12"; zeros where it is none.
func place(ref []byte) (column, row int) {
	i := 0
	for i < len(ref) && i < 4 {
		c := ref[i] | 0x20
		if c < 'a' || c > 'z' {
			break
		}
		column = column*26 + int(c-'a') + 1
		i++
	}
	if i == 0 || i == len(ref) {
		return 0, 0
	}
	if row = whole(ref[i:]); row < 1 {
		return 0, 0
	}
	return column, row
}

// readColumn takes what a sheet says of columns: whether they are hidden.
func (r *sheetReader) readColumn() {
	from, to := r.s.number("min"), r.s.number("max")
	if r.s.flag("hidden") && from >= 1 && to >= from && len(r.hidden) < MaxColumns {
		r.hidden = append(r.hidden, [2]int{from, min(to, MaxColumns)})
	}
}

// hideColumns lists the hidden columns among those with anything in them.
func (r *sheetReader) hideColumns() {
	hidden := make([]bool, r.sheet.Columns+1)
	for _, h := range r.hidden {
		for c := h[0]; c <= min(h[1], r.sheet.Columns); c++ {
			hidden[c] = true
		}
	}
	for c, h := range hidden {
		if h {
			r.sheet.HiddenColumns = append(r.sheet.HiddenColumns, c)
		}
	}
}

// readMerge takes a merged range.
func (r *sheetReader) readMerge() error {
	from, to, _ := bytes.Cut(r.s.attr("ref"), []byte(":"))
	c1, r1 := place(from)
	c2, r2 := place(to)
	if c1 < 1 || c2 < c1 || r2 < r1 {
		return nil // one cell, or nothing that could be meant
	}
	if len(r.sheet.Merges) >= maxMerges {
		return errMerges
	}
	r.sheet.Merges = append(r.sheet.Merges, Range{r1, c1, r2, c2})
	return nil
}
