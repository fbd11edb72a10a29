package survey

import (
	"strconv"
	"strings"
	"unicode/utf8"

	"obvert/document"
	"obvert/formats/xlsx"
	"obvert/line"
	"obvert/quantity"
)

// grid is a table as rows of text, with the places they come from: a sheet of a workbook, or a text file.
type grid struct {
	file   string
	name   string // of the sheet, or the file where it has none
	sheet  bool   // a sheet: columns have letters
	rows   [][]string
	places []int // row or line of each
}

// textOf shows a cell of a sheet as text: its figure with all digits and a point, with the unit that its format shows.
func textOf(c xlsx.Cell) string {
	switch c.Kind {
	case xlsx.Number:
		text := c.Format.Figure(c.Value)
		if u := c.Format.Unit; u != "" && isUnit(u) {
			text += " " + u
		}
		return text
	case xlsx.Pending:
		return "formula without a value"
	}
	return c.String()
}

// isUnit tells a unit from other words behind a figure.
func isUnit(u string) bool {
	if u == "%" {
		return true
	}
	for _, k := range []quantity.Kind{quantity.Length, quantity.Flow, quantity.GaugePressure, quantity.Power, quantity.RotationalSpeed} {
		if _, err := quantity.Parse(k, "1 "+u); err == nil {
			return true
		}
	}
	return false
}

// gridOf makes a grid of a sheet. A text merged over several columns, but not over all, stands in each of them: a head over
// its two. Figures written as text with a decimal comma get a point where it is clear that they have one. What is worth saying of
// the sheet as a whole goes into g.
func gridOf(g *document.Gather, s *xlsx.Sheet, o Options) grid {
	out := grid{file: g.File, name: s.Name, sheet: true, rows: make([][]string, len(s.Rows)), places: make([]int, len(s.Rows))}
	units := map[*xlsx.Format]bool{}
	hidden, firstHidden := 0, 0
	for i, row := range s.Rows {
		last := int(row.Cells[len(row.Cells)-1].Column)
		text := make([]string, last)
		for _, c := range row.Cells {
			if c.Kind == xlsx.Number { // the way of nearly every cell
				text[c.Column-1] = c.Format.Figure(c.Value)
				known, seen := units[c.Format]
				if !seen {
					known = c.Format.Unit != "" && isUnit(c.Format.Unit)
					units[c.Format] = known
				}
				if known {
					text[c.Column-1] += " " + c.Format.Unit
				}
				continue
			}
			text[c.Column-1] = textOf(c)
		}
		out.rows[i], out.places[i] = text, row.Number
		if row.Hidden {
			if hidden++; hidden == 1 {
				firstHidden = row.Number
			}
		}
	}
	out.spread(g, s)
	out.points(g, s, o)
	if hidden > 0 {
		g.Warn("survey.hidden-rows", firstHidden, "sheet "+quantity.Quote(s.Name)+" has "+plural(hidden, "hidden row", "hidden rows")+", read like the others",
			"the first is row "+itoa(firstHidden), "delete them in the spreadsheet where they are not meant")
	}
	if n := len(s.HiddenColumns); n > 0 {
		g.Remark("survey.hidden-columns", 0, "sheet "+quantity.Quote(s.Name)+" has "+plural(n, "hidden column", "hidden columns")+", read like the others",
			"the first is "+xlsx.ColumnName(s.HiddenColumns[0]), "")
	}
	if s.Beyond > 0 {
		g.Warn("survey.beyond", 0, "sheet "+quantity.Quote(s.Name)+" has "+plural(s.Beyond, "cell", "cells")+" beyond column "+xlsx.ColumnName(xlsx.MaxColumns),
			"they are not looked at", "")
	}
	return out
}

// spread repeats what stands in merged cells across the columns of its row, where it is text, and tells of merged figures.
func (t *grid) spread(g *document.Gather, s *xlsx.Sheet) {
	at := map[int]int{}
	if len(s.Merges) > 0 {
		for i, n := range t.places {
			at[n] = i
		}
	}
	var figures []string
	first := 0
	for _, m := range s.Merges {
		i, ok := at[m.Row]
		if !ok {
			continue
		}
		c := s.Rows[i].At(m.Column)
		switch {
		case c.Kind == xlsx.Blank:
		case c.Kind != xlsx.Text:
			if len(figures) == 0 {
				first = m.Row
			}
			figures = append(figures, m.String())
		case m.LastColumn > m.Column && m.LastColumn-m.Column+1 < s.Columns && !wholeTitle(s.Rows[i], m):
			for n := m.Column; n < min(m.LastColumn, s.Columns); n++ {
				for len(t.rows[i]) <= n {
					t.rows[i] = append(t.rows[i], "")
				}
				t.rows[i][n] = c.Text
			}
		}
	}
	if n := len(figures); n > 0 {
		g.Warn("survey.merged", first, "sheet "+quantity.Quote(s.Name)+" has "+plural(n, "range", "ranges")+" of merged cells with a figure in them",
			strings.Join(figures[:min(n, 5)], ", ")+more(n-5)+": the figure is that of the first cell alone, the others are empty",
			"unmerge them and write the figure into every row it is meant for")
	}
}

// wholeTitle tells a title merged over several columns: nothing else stands in its row.
func wholeTitle(r xlsx.Row, m xlsx.Range) bool {
	return len(r.Cells) == 1 && m.LastColumn-m.Column >= 2
}

func more(n int) string {
	if n > 0 {
		return " and " + itoa(n) + " more"
	}
	return ""
}

// commaColumn is what the texts of one column tell of figures written with a comma.
type commaColumn struct {
	sure, vague int
	row         int // of the first
	example     string
}

// points gives figures stored as text with a decimal comma a point. A column in which 1,250 could as well mean a thousand is a fault,
// unless another figure of it, or the user, says.
func (t *grid) points(g *document.Gather, s *xlsx.Sheet, o Options) {
	columns := map[int]*commaColumn{}
	for i, row := range s.Rows {
		for _, c := range row.Cells {
			if c.Kind != xlsx.Text || len(c.Text) > 40 {
				continue
			}
			clear, ok := commaFigure(strings.TrimSpace(c.Text))
			if !ok {
				continue
			}
			k := columns[int(c.Column)]
			if k == nil {
				k = &commaColumn{row: t.places[i], example: c.Text}
				columns[int(c.Column)] = k
			}
			if clear {
				k.sure++
			} else {
				k.vague++
			}
		}
	}
	if len(columns) == 0 {
		return
	}
	all := commaColumn{}
	for n := 1; n <= s.Columns; n++ {
		k := columns[n]
		if k == nil {
			continue
		}
		if all.sure+all.vague == 0 || k.row < all.row {
			all.row, all.example = k.row, k.example
		}
		all.sure += k.sure
		all.vague += k.vague
	}
	switch {
	case o.Decimal == "point":
		return
	case all.sure == 0 && o.Decimal == "":
		// Package line asks for the decimal sign where such figures stand in a column that is read.
		return
	}
	for i, row := range s.Rows {
		for _, c := range row.Cells {
			if c.Kind == xlsx.Text && len(c.Text) <= 40 && columns[int(c.Column)] != nil {
				if text := strings.TrimSpace(c.Text); isComma(text) {
					t.rows[i][c.Column-1] = strings.Replace(text, ",", ".", 1)
				}
			}
		}
	}
	g.Remark("survey.text-figures", all.row, "sheet "+quantity.Quote(s.Name)+" has "+plural(all.sure+all.vague, "figure", "figures")+" stored as text with a decimal comma",
		"the first is "+quantity.Quote(all.example)+", read as "+quantity.Quote(strings.Replace(all.example, ",", ".", 1)), "")
}

func isComma(text string) bool {
	_, ok := commaFigure(text)
	return ok
}

// commaFigure tells a text such as "12,5" or "12,5 m"; clear where the comma cannot part thousands.
func commaFigure(text string) (clear, ok bool) {
	front, back, found := strings.Cut(text, ",")
	if i := strings.LastIndexByte(front, '+'); i > 0 {
		front = front[i+1:]
		clear = true
	}
	front = strings.TrimLeft(front, "+-−")
	n := 0
	for n < len(back) && back[n] >= '0' && back[n] <= '9' {
		n++
	}
	rest := strings.TrimSpace(back[n:])
	if !found || front == "" || strings.Trim(front, "0123456789") != "" || n == 0 || strings.ContainsAny(rest, ",.0123456789") || len(rest) > 8 {
		return false, false
	}
	return clear || n != 3 || len(front) > 3 || front[0] == '0', true
}

// gridOfText makes a grid of a text file with columns.
func gridOfText(file string, data []byte, o Options) (grid, document.Faults) {
	c, faults := line.ReadCells(file, data, mostEquipment)
	t := grid{file: file, name: file, rows: c.Rows, places: c.Lines}
	if c.Separator == "comma" {
		return t, faults
	}
	sure := o.Decimal == "comma"
	for _, row := range t.rows {
		for _, text := range row {
			clear, _ := commaFigure(text)
			sure = sure || clear
		}
	}
	if sure && o.Decimal != "point" {
		for _, row := range t.rows {
			for i, text := range row {
				if isComma(text) {
					row[i] = strings.Replace(text, ",", ".", 1)
				}
			}
		}
	}
	return t, faults
}

// cell is the text in a row and a column counted from 0.
func (t *grid) cell(row, column int) string {
	if column < 0 || column >= len(t.rows[row]) {
		return ""
	}
	return strings.TrimSpace(t.rows[row][column])
}

// columnKey names a cell or a column for a fault.
func (t *grid) columnKey(row, column int, head string) string {
	key := ""
	if t.sheet {
		key = "sheet " + quantity.Quote(t.name)
		if column >= 0 && row >= 0 {
			key += ", cell " + xlsx.Ref(column+1, t.places[row])
		}
	}
	if head != "" {
		if key != "" {
			key += ", "
		}
		key += "column " + quantity.Quote(head)
	}
	return key
}

// refs turns the places of faults in the grid's text, as [FromGrid] reads it, into cells of the sheet.
func (t *grid) refs(faults document.Faults) {
	at := make(map[int]int, len(faults))
	for _, f := range faults {
		at[f.Line] = -1
	}
	for i, n := range t.places {
		if _, wanted := at[n]; wanted {
			at[n] = i
		}
	}
	for k := range faults {
		f := &faults[k]
		key := "sheet " + quantity.Quote(t.name)
		if i := at[f.Line]; f.Line > 0 && i >= 0 && f.Column > 0 {
			key += ", cell " + xlsx.Ref(t.columnAt(i, f.Column)+1, f.Line)
		}
		f.Column = 0
		if f.Key != "" {
			key += ", " + f.Key
		}
		f.Key = key
	}
}

// columnAt is the column, from 0, whose text begins at a character of the row as [gridText] writes it.
func (t *grid) columnAt(row, character int) int {
	at := 1
	for j, cell := range t.rows[row] {
		n := utf8.RuneCount(appendCell(nil, cell))
		if character <= at+n {
			return j
		}
		at += n + 1
	}
	return max(0, len(t.rows[row])-1)
}

func itoa(n int) string { return strconv.Itoa(n) }
