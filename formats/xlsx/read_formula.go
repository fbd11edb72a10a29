package xlsx

import (
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"
)

// Limits of the formulas worked out here. A workbook written by a program and never opened since may hold no values at all;
// what goes beyond is for the spreadsheet program to reckon.
const (
	maxPending = 5_000     // formulas without a value in a workbook
	maxFormula = 1_000     // bytes of one
	maxReach   = 2_000_000 // cells that all of them together refer to
)

// plainFunctions are those that are worked out: their cost grows with the cells they are given and no faster.
var plainFunctions = map[string]bool{"SUM": true, "AVERAGE": true, "MIN": true, "MAX": true, "COUNT": true, "ROUND": true, "ROUNDUP": true, "ROUNDDOWN": true,
	"ABS": true, "SQRT": true, "INT": true, "MOD": true, "IF": true, "AND": true, "OR": true, "NOT": true, "SIGN": true, "PI": true,
	"SIN": true, "COS": true, "TAN": true, "ATAN": true, "ATAN2": true, "RADIANS": true, "DEGREES": true, "POWER": true, "EXP": true, "LN": true, "LOG10": true}

// spot is a cell's place in a book.
type spot struct{ sheet, row, column int }

// area is a rectangle on a sheet that a formula refers to.
type area struct {
	sheet int
	Range
}

// pendingCell is a formula without a value.
type pendingCell struct {
	spot
	areas []area
	waits int   // formulas it waits for
	next  []int // formulas that wait for it
}

// workOut gives formulas stored without a value the value they have. What is not plain arithmetic on cells, and what goes
// in a ring, stays pending. Each is reckoned when all that it refers to is known, so none is reckoned twice.
func (a *archive) workOut(b *Book) {
	var all []pendingCell
	at := map[spot]int{}
	reach := 0
	for i := range b.Sheets {
		for _, row := range b.Sheets[i].Rows {
			for _, c := range row.Cells {
				if c.Kind != Pending {
					continue
				}
				if len(at) >= maxPending {
					return
				}
				p := pendingCell{spot: spot{i, row.Number, int(c.Column)}, waits: -1}
				at[p.spot] = len(all)
				if areas, ok := b.areasOf(c.Text, i); ok {
					p.areas, p.waits = areas, 0
					for _, r := range areas {
						reach += (r.LastRow - r.Row + 1) * (r.LastColumn - r.Column + 1)
						if reach > maxReach {
							return
						}
					}
				}
				all = append(all, p)
			}
		}
	}
	for i := range all {
		for _, r := range all[i].areas {
			for row := r.Row; row <= r.LastRow; row++ {
				for column := r.Column; column <= r.LastColumn; column++ {
					if j, ok := at[spot{r.sheet, row, column}]; ok {
						all[i].waits++
						all[j].next = append(all[j].next, i)
					}
				}
			}
		}
	}
	a.reckon(b, all)
}

// reckon works the formulas out in an order in which each finds its figures ready.
func (a *archive) reckon(b *Book, all []pendingCell) {
	f := excelize.NewFile()
	defer f.Close()
	names := make([]string, len(b.Sheets)) // the names of its own sheets matter to nobody
	for i := range b.Sheets {
		names[i] = b.Sheets[i].Name
		if _, err := f.NewSheet(names[i]); err != nil {
			return
		}
	}
	var ready []int
	for i := range all {
		if all[i].waits == 0 {
			ready = append(ready, i)
		}
	}
	known := map[spot]bool{}
	for len(ready) > 0 {
		i := ready[0]
		ready = ready[1:]
		p := all[i]
		cell := b.cell(p.spot)
		if !b.evaluate(f, names, known, p, cell) {
			continue
		}
		for _, j := range p.next {
			if all[j].waits--; all[j].waits == 0 {
				ready = append(ready, j)
			}
		}
	}
}

// evaluate works one formula out. An error among the cells it refers to is its own.
func (b *Book) evaluate(f *excelize.File, names []string, known map[spot]bool, p pendingCell, cell *Cell) (ok bool) {
	defer func() { // a formula from a stranger goes through another's code
		if recover() != nil {
			ok = false
		}
	}()
	for _, r := range p.areas {
		rows := b.Sheets[r.sheet].Rows
		from, _ := slices.BinarySearchFunc(rows, r.Row, func(x Row, n int) int { return x.Number - n })
		for _, row := range rows[from:] {
			if row.Number > r.LastRow {
				break
			}
			for _, c := range row.Cells {
				here := spot{r.sheet, row.Number, int(c.Column)}
				if here.column < r.Column || here.column > r.LastColumn {
					continue
				}
				if c.Kind == Error {
					*cell = Cell{Kind: Error, Text: c.Text, Column: cell.Column, Format: cell.Format, Formula: true, Computed: true}
					return true
				}
				if known[here] {
					continue
				}
				known[here] = true
				if set(f, names[r.sheet], Ref(here.column, here.row), c) != nil {
					return false
				}
			}
		}
	}
	ref := Ref(p.column, p.row)
	if f.SetCellFormula(names[p.sheet], ref, cell.Text) != nil {
		return false
	}
	result, err := f.CalcCellValue(names[p.sheet], ref, excelize.Options{RawCellValue: true})
	out := Cell{Column: cell.Column, Format: cell.Format, Formula: true, Computed: true}
	v, numeric := figure([]byte(result))
	switch {
	case strings.HasPrefix(result, "#"):
		out.Kind, out.Text = Error, result
	case err != nil && strings.HasPrefix(err.Error(), "#"):
		out.Kind, out.Text = Error, err.Error()
	case err != nil:
		return false
	case result == "TRUE":
		out.Kind, out.Value = Bool, 1
	case result == "FALSE":
		out.Kind = Bool
	case numeric && cell.Format.Date:
		out.Kind, out.Value = Date, v
	case numeric:
		out.Kind, out.Value = Number, v
	default:
		out.Kind, out.Text = Text, result
	}
	if set(f, names[p.sheet], ref, out) != nil {
		return false
	}
	known[p.spot] = true
	*cell = out
	return true
}

// set gives a cell its value in the reckoning workbook.
func set(f *excelize.File, sheet, ref string, c Cell) error {
	if err := f.SetCellFormula(sheet, ref, ""); err != nil {
		return err
	}
	switch c.Kind {
	case Number, Date:
		return f.SetCellValue(sheet, ref, c.Value)
	case Bool:
		return f.SetCellBool(sheet, ref, c.Value != 0)
	}
	return f.SetCellStr(sheet, ref, c.Text)
}

// cell is the cell at a place where there is one.
func (b *Book) cell(s spot) *Cell {
	rows := b.Sheets[s.sheet].Rows
	i, _ := slices.BinarySearchFunc(rows, s.row, func(x Row, n int) int { return x.Number - n })
	j, _ := slices.BinarySearchFunc(rows[i].Cells, s.column, func(c Cell, n int) int { return int(c.Column) - n })
	return &rows[i].Cells[j]
}

// areasOf lists what a formula refers to; not ok where it is more than plain arithmetic on cells.
func (b *Book) areasOf(formula string, sheet int) (areas []area, ok bool) {
	if formula == "" || len(formula) > maxFormula {
		return nil, false
	}
	s := formula
	for len(s) > 0 {
		c := s[0]
		switch {
		case strings.IndexByte(" +-*/^(),<>=%\r\n\t", c) >= 0:
			s = s[1:]
		case c == '"': // a text, which comparisons may need; texts are never joined
			end := strings.IndexByte(s[1:], '"')
			if end < 0 {
				return nil, false
			}
			s = s[end+2:]
		case c >= '0' && c <= '9' || c == '.':
			n := 1
			for n < len(s) && (isFigure(s[n]) || (s[n] == '+' || s[n] == '-') && s[n-1]|0x20 == 'e') {
				n++
			}
			s = s[n:]
		default:
			r, rest, fine := b.reference(s, sheet)
			if fine {
				areas, s = append(areas, r), rest
				continue
			}
			n := 0
			for n < len(s) && (s[n]|0x20 >= 'a' && s[n]|0x20 <= 'z' || s[n] >= '0' && s[n] <= '9') {
				n++
			}
			word := strings.ToUpper(s[:n])
			call := n < len(s) && s[n] == '(' && plainFunctions[word]
			if !call && word != "TRUE" && word != "FALSE" {
				return nil, false
			}
			s = s[n:]
		}
	}
	return areas, true
}

func isFigure(c byte) bool { return c >= '0' && c <= '9' || c == '.' || c == 'e' || c == 'E' }

// reference reads a cell or a range at the front of a formula: A1, $A$1:B9, 'Sheet 2'!C3.
func (b *Book) reference(s string, sheet int) (r area, rest string, ok bool) {
	r.sheet = sheet
	if name, tail, quoted := sheetName(s); quoted {
		i, found := b.Sheet(name)
		if !found {
			return r, s, false
		}
		r.sheet, s = i, tail
	}
	c1, r1, n := cellRef(s)
	if n == 0 {
		return r, s, false
	}
	r.Range = Range{r1, c1, r1, c1}
	s = s[n:]
	if strings.HasPrefix(s, ":") {
		c2, r2, n := cellRef(s[1:])
		if n == 0 {
			return r, s, false
		}
		r.Range = Range{min(r1, r2), min(c1, c2), max(r1, r2), max(c1, c2)}
		s = s[n+1:]
	}
	return r, s, true
}

// sheetName takes a sheet's name and the mark behind it off the front of a reference.
func sheetName(s string) (name, rest string, ok bool) {
	if tail, quoted := strings.CutPrefix(s, "'"); quoted {
		var b strings.Builder
		for {
			i := strings.IndexByte(tail, '\'')
			if i < 0 || i+1 >= len(tail) {
				return "", s, false
			}
			b.WriteString(tail[:i])
			switch tail[i+1] {
			case '\'':
				b.WriteByte('\'')
				tail = tail[i+2:]
			case '!':
				return b.String(), tail[i+2:], true
			default:
				return "", s, false
			}
		}
	}
	i := strings.IndexAny(s, "!+-*/^(),<>=% \"&:")
	if i <= 0 || s[i] != '!' {
		return "", s, false
	}
	return s[:i], s[i+1:], true
}

// cellRef reads A1 or $A$1 at the front of a text; n is how long it is, 0 where there is none.
func cellRef(s string) (column, row, n int) {
	i := 0
	dollar := func() {
		if i < len(s) && s[i] == '$' {
			i++
		}
	}
	dollar()
	from := i
	for i < len(s) && s[i]|0x20 >= 'a' && s[i]|0x20 <= 'z' && i-from < 4 {
		column = column*26 + int(s[i]|0x20-'a') + 1
		i++
	}
	if i == from {
		return 0, 0, 0
	}
	dollar()
	digits := i
	for i < len(s) && s[i] >= '0' && s[i] <= '9' && i-digits < 8 {
		row = row*10 + int(s[i]-'0')
		i++
	}
	if row < 1 || row > mostRows || column > mostColumns || i < len(s) && (s[i] == '(' || s[i]|0x20 >= 'a' && s[i]|0x20 <= 'z' || s[i] == '_') {
		return 0, 0, 0
	}
	return column, row, i
}
