package xlsx

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"
)

// Document is a workbook to be written with [Document.Write].
type Document struct {
	Title, Subject, Author, Description string
	Tables                              []Table
}

// Table is one sheet of a workbook to be written: a title, heads, rows.
type Table struct {
	Name    string   // of the sheet, at most 31 characters
	Title   []string // lines above the heads, the first in bold; printed once
	Groups  []Group  // over the heads; empty: none
	Columns []Column
	Rows    [][]Value // each of as many values as there are columns, or fewer

	Freeze   int  // columns that stay in sight, and are printed again on every page
	Filter   bool // the heads get filters
	Portrait bool
	A3       bool
	Foot     string // at the foot of every printed page, beside the page's number
}

// Group is a head over several columns.
type Group struct {
	Text    string
	Columns int
}

// Column is a column of a table.
type Column struct {
	Head   string
	Width  float64 // in characters
	Format string  // of figures, such as "0.00"; empty: as they come
	Wrap   bool    // texts wrap
}

// Value is what stands in a cell: a text, a figure, or nothing.
type Value struct {
	Text    string
	Figure  float64
	Numeric bool   // Figure counts
	Fill    string // colour of the ground, such as "E6F3EE"; empty: none. It says nothing that the text does not say too
	Bold    bool
}

// TextValue is a text. It is written as a text, whatever it looks like: never as a formula.
func TextValue(s string) Value { return Value{Text: s} }

// FigureValue is a number.
func FigureValue(v float64) Value { return Value{Figure: v, Numeric: true} }

// Paper sizes (ECMA-376 part 1, 18.3.1.63), and how many characters of the usual type a page holds across at six tenths of its size, which is about the
// smallest that is read with ease.
const (
	paperA3, paperA4 = 8, 9
	acrossA3         = 330
	acrossA4         = 230
	acrossPortrait   = 0.7 // of that
)

// longest is the number of characters a cell may hold (ECMA-376 part 1, 18.4).
const longest = 32767

// Write returns the workbook. The same document gives the same bytes: its properties carry no time. A figure that is not finite is an error.
func (d *Document) Write() ([]byte, error) {
	f := excelize.NewFile()
	defer f.Close()
	w := &writer{f: f, styles: map[look]int{}}
	for i, t := range d.Tables {
		if i == 0 {
			if err := f.SetSheetName(f.GetSheetName(0), t.Name); err != nil {
				return nil, fmt.Errorf("xlsx: sheet %q: %w", t.Name, err)
			}
		} else if _, err := f.NewSheet(t.Name); err != nil {
			return nil, fmt.Errorf("xlsx: sheet %q: %w", t.Name, err)
		}
		if err := w.table(&t); err != nil {
			return nil, fmt.Errorf("xlsx: sheet %q: %w", t.Name, err)
		}
	}
	// The moment is a fixed one, since the format wants one: the file must not depend on the clock.
	const moment = "2000-01-01T00:00:00Z"
	if err := f.SetDocProps(&excelize.DocProperties{Title: d.Title, Subject: d.Subject, Creator: d.Author, LastModifiedBy: d.Author, Description: d.Description, Created: moment, Modified: moment}); err != nil {
		return nil, fmt.Errorf("xlsx: %w", err)
	}
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		return nil, fmt.Errorf("xlsx: %w", err)
	}
	return b.Bytes(), nil
}

// look is what a style is made of.
type look struct {
	format, fill string
	bold, wrap   bool
	head, title  bool
	group        bool
	right        bool
}

type writer struct {
	f      *excelize.File
	styles map[look]int
}

// style is the number of a look in the workbook.
func (w *writer) style(l look) (int, error) {
	if n, ok := w.styles[l]; ok {
		return n, nil
	}
	s := &excelize.Style{Font: &excelize.Font{Bold: l.bold || l.head || l.title || l.group, Size: 10, Family: "Calibri"},
		Alignment: &excelize.Alignment{Vertical: "top", WrapText: l.wrap}}
	line := func(side string) excelize.Border { return excelize.Border{Type: side, Color: "B8BCBF", Style: 1} }
	switch {
	case l.title:
		s.Font.Size = 13
	case l.head, l.group:
		s.Fill = excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{"EEF0F1"}}
		s.Border = []excelize.Border{line("left"), line("right"), line("top"), line("bottom")}
		s.Alignment.Vertical, s.Alignment.WrapText = "bottom", true
		if s.Alignment.Horizontal, s.Alignment.Indent = "left", 1; l.right {
			s.Alignment.Horizontal, s.Alignment.Indent = "right", 0
		}
	default:
		s.Border = []excelize.Border{line("bottom")}
		if l.format == "" {
			s.Alignment.Horizontal, s.Alignment.Indent = "left", 1
		}
		if l.fill != "" {
			s.Fill = excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{l.fill}}
		}
	}
	if l.format != "" {
		s.CustomNumFmt = &l.format
	}
	n, err := w.f.NewStyle(s)
	if err != nil {
		return 0, err
	}
	w.styles[l] = n
	return n, nil
}

// set writes one cell.
func (w *writer) set(sheet string, column, row int, v Value, l look) error {
	ref, err := excelize.CoordinatesToCellName(column, row)
	if err != nil {
		return err
	}
	n, err := w.style(l)
	if err != nil {
		return err
	}
	if err := w.f.SetCellStyle(sheet, ref, ref, n); err != nil {
		return err
	}
	switch {
	case v.Numeric && (math.IsNaN(v.Figure) || math.IsInf(v.Figure, 0)):
		return fmt.Errorf("%s: the figure is %v: it must be finite", ref, v.Figure)
	case v.Numeric:
		return w.f.SetCellFloat(sheet, ref, v.Figure, -1, 64)
	case v.Text == "":
		return nil
	case len(v.Text) > longest:
		return fmt.Errorf("%s: the text has %d bytes, a cell holds %d", ref, len(v.Text), longest)
	}
	return w.f.SetCellStr(sheet, ref, v.Text)
}

// table writes a sheet.
func (w *writer) table(t *Table) error {
	row := 0
	for i, s := range t.Title {
		row++
		// beside the columns that are printed again on every page: there the title would be cut
		if err := w.set(t.Name, t.Freeze+1, row, TextValue(s), look{title: i == 0}); err != nil {
			return err
		}
	}
	first := row + 1 // of the heads
	if len(t.Groups) > 0 {
		row++
		if err := w.groups(t, row); err != nil {
			return err
		}
	}
	row++
	heads := row
	total, most := 0.0, 1
	for c, k := range t.Columns {
		if err := w.set(t.Name, c+1, row, TextValue(k.Head), look{head: true, right: k.Format != ""}); err != nil {
			return err
		}
		name := ColumnName(c + 1)
		if err := w.f.SetColWidth(t.Name, name, name, k.Width); err != nil {
			return err
		}
		total += k.Width
		most = max(most, lines(k.Head, k.Width))
	}
	if err := w.height(t.Name, row, most); err != nil {
		return err
	}
	for _, cells := range t.Rows {
		row++
		most = 1
		for c := range t.Columns {
			v := Value{}
			if c < len(cells) {
				v = cells[c]
			}
			if err := w.set(t.Name, c+1, row, v, look{format: t.Columns[c].Format, fill: v.Fill, bold: v.Bold, wrap: t.Columns[c].Wrap}); err != nil {
				return err
			}
			if t.Columns[c].Wrap {
				most = max(most, lines(v.Text, t.Columns[c].Width))
			}
		}
		if err := w.height(t.Name, row, most); err != nil {
			return err
		}
	}
	if len(t.Columns) == 0 {
		return nil
	}
	return w.page(t, first, heads, row, total)
}

// The height of a line of type in points, and how many of a column's characters a line of text fills at most, since words break early.
const (
	lineHeight = 13.5
	filled     = 0.92
)

// lines are about how many lines a text takes in a width of so many characters.
func lines(s string, width float64) int {
	n, used := 1, 0.0
	for _, word := range strings.Fields(s) {
		l := float64(len([]rune(word)))
		if used > 0 && used+1+l > width*filled {
			n, used = n+1, 0
		}
		if used > 0 {
			used++
		}
		for used += l; used > width && width >= 1; used -= width {
			n++
		}
	}
	return n
}

// height makes a row as high as its most lines.
func (w *writer) height(sheet string, row, most int) error {
	return w.f.SetRowHeight(sheet, row, min(lineHeight*float64(most)+2, 409)) // the most that the format knows
}

// groups writes the heads over the heads.
func (w *writer) groups(t *Table, row int) error {
	c, most := 1, 1
	for _, g := range t.Groups {
		width := 0.0
		for k := range g.Columns {
			v := Value{}
			if k == 0 {
				v.Text = g.Text
			}
			if c+k <= len(t.Columns) {
				width += t.Columns[c+k-1].Width
			}
			if err := w.set(t.Name, c+k, row, v, look{group: true}); err != nil {
				return err
			}
		}
		if g.Columns > 1 {
			if err := w.f.MergeCell(t.Name, Ref(c, row), Ref(c+g.Columns-1, row)); err != nil {
				return err
			}
		}
		most = max(most, lines(g.Text, width))
		c += g.Columns
	}
	return w.height(t.Name, row, most)
}

// page sets panes, filter, paper and what is printed again on every page. first and heads are the first and last row of heads, last the last row.
func (w *writer) page(t *Table, first, heads, last int, total float64) error {
	f := w.f
	top := Ref(t.Freeze+1, heads+1)
	panes := &excelize.Panes{Freeze: true, XSplit: t.Freeze, YSplit: heads, TopLeftCell: top, ActivePane: "bottomRight"}
	if t.Freeze == 0 {
		panes.ActivePane = "bottomLeft"
	}
	if err := f.SetPanes(t.Name, panes); err != nil {
		return err
	}
	end := ColumnName(len(t.Columns))
	if t.Filter && last > heads {
		if err := f.AutoFilter(t.Name, fmt.Sprintf("A%d:%s%d", heads, end, last), nil); err != nil {
			return err
		}
	}
	quoted := "'" + strings.ReplaceAll(t.Name, "'", "''") + "'!"
	repeat := quoted + "$" + strconv.Itoa(first) + ":$" + strconv.Itoa(heads)
	if t.Freeze > 0 {
		repeat = quoted + "$A:$" + ColumnName(t.Freeze) + "," + repeat
	}
	for _, n := range [][2]string{{"_xlnm.Print_Area", fmt.Sprintf("%s$A$1:$%s$%d", quoted, end, last)}, {"_xlnm.Print_Titles", repeat}} {
		if err := f.SetDefinedName(&excelize.DefinedName{Name: n[0], RefersTo: n[1], Scope: t.Name}); err != nil {
			return err
		}
	}
	size, across, way := paperA4, float64(acrossA4), "landscape"
	if t.A3 {
		size, across = paperA3, acrossA3
	}
	if t.Portrait {
		across, way = across*acrossPortrait, "portrait"
	}
	wide, high := int(math.Ceil(total/across)), 0
	if err := f.SetPageLayout(t.Name, &excelize.PageLayoutOptions{Size: &size, Orientation: &way, FitToWidth: &wide, FitToHeight: &high}); err != nil {
		return err
	}
	yes := true
	if err := f.SetSheetProps(t.Name, &excelize.SheetPropsOptions{FitToPage: &yes}); err != nil {
		return err
	}
	margin, bottom, foot := 0.4, 0.65, 0.3
	if err := f.SetPageMargins(t.Name, &excelize.PageLayoutMarginsOptions{Left: &margin, Right: &margin, Top: &margin, Bottom: &bottom, Header: &foot, Footer: &foot}); err != nil {
		return err
	}
	return f.SetHeaderFooter(t.Name, &excelize.HeaderFooterOptions{OddFooter: "&L" + footText(t.Foot) + "&R&A, page &P of &N"})
}

// footText is a foot in the words of the format: an ampersand is doubled, and the whole stays within its 255 characters.
func footText(s string) string {
	const room = 200
	if r := []rune(s); len(r) > room {
		s = string(r[:room-1]) + "…"
	}
	return strings.ReplaceAll(s, "&", "&&")
}
