// Package xlsx opens workbooks of the Office Open XML format (ECMA-376, .xlsx and .xlsm) as rows of cells, and writes them.
//
// A workbook is a stranger's file: a zip archive of XML that can be small and unpack to anything. [Read] looks at the
// archive's directory, unpacks only the parts it needs, counts the bytes as they come and goes through them once, so that
// memory is bounded by the limits below whatever the file says of itself. A figure is kept as it is stored, never as it is
// shown; the unit that a number format shows behind it is kept beside it.
//
// The streaming reader of the excelize library gives a cell's text alone, without its type, format or formula, and its
// other one holds a whole sheet in memory; so cells are read here. excelize works out formulas that were stored without a
// value, and writes.
package xlsx

import (
	"slices"
	"strconv"
	"strings"

	"obvert/document"
)

// Limits of a workbook. Where a number has no other reason it is far above what any survey or table of equipment has, and
// small enough for the memory of an ordinary machine.
const (
	// MaxBytes is the size of the file. A million rows of four figures take about 30 MB.
	MaxBytes = 64_000_000
	// maxUnpacked bounds all that is unpacked, byte. A sheet of 1,048,576 rows, the most there can be, of four figures takes
	// about 180 MB.
	maxUnpacked = 600_000_000
	// maxRatio bounds how many times an archive may grow, once it has grown to ratioFrom bytes. Sheets of figures shrink to a
	// tenth, sheets of the same row again and again to a sixtieth; the densest deflate stream there is grows 1,032 times.
	maxRatio  = 150
	ratioFrom = 32_000_000
	maxParts  = 10_000    // entries of the archive
	maxSheets = 1_000     // of a workbook
	maxCells  = 8_000_000 // cells with anything in them, in all sheets together: a million rows of eight; 40 bytes each
	// maxStrings bounds the text of all cells, byte: what stands once and is shown a thousand times counts once.
	maxStrings = 128_000_000
	// MaxColumns is how many columns of a sheet are looked at; cells further right are counted and left.
	MaxColumns = 1024
	maxMerges  = 20_000
	maxStyles  = 65_536  // ECMA-376 lets a workbook have 65,490
	maxName    = 400     // bytes of a sheet's name: 31 characters are allowed
	maxTag     = 16_384  // bytes of one tag with its attributes
	maxText    = 200_000 // bytes of one piece of text: a cell holds 32,767 characters
	maxDepth   = 64      // elements within one another
)

// Kind says what a cell holds.
type Kind uint8

// The kinds of cell.
const (
	Blank   Kind = iota
	Number       // Value
	Text         // Text
	Date         // Value is a date: days since the workbook's beginning of time, shown as a date
	Bool         // Value 0 or 1
	Error        // Text is the error's word, such as "#REF!"
	Pending      // Text is a formula stored without a value, which could not be worked out
)

// String is the word for a kind, with its article.
func (k Kind) String() string {
	return [...]string{"an empty cell", "a number", "text", "a date", "a truth value", "an error", "a formula without a value"}[k]
}

// Cell is one cell with something in it.
type Cell struct {
	Text     string  // of Text, Error and Pending
	Value    float64 // of Number, Date and Bool, as stored
	Format   *Format // how a number is shown; never nil
	Column   int32   // from 1: A
	Kind     Kind
	Formula  bool // the value is the result of a formula
	Computed bool // it was stored without a value and has been worked out here
}

// String is the cell's figure or text as a person would type it, with all its digits and with the unit that its number
// format shows: "12.3456 m". A date reads as in its ISO 8601 form.
func (c Cell) String() string {
	switch c.Kind {
	case Number:
		return c.Format.figure(c.Value)
	case Date:
		return c.Format.date(c.Value)
	case Bool:
		if c.Value != 0 {
			return "TRUE"
		}
		return "FALSE"
	case Pending:
		return "=" + c.Text
	}
	return c.Text
}

// Row is one row with any cell in it.
type Row struct {
	Number int // from 1
	Hidden bool
	Cells  []Cell // by rising column
}

// At is the cell in a column counted from 1, a blank one where there is none.
func (r Row) At(column int) Cell {
	i, ok := slices.BinarySearchFunc(r.Cells, column, func(c Cell, n int) int { return int(c.Column) - n })
	if !ok {
		return Cell{Format: general, Column: int32(column)}
	}
	return r.Cells[i]
}

// Range is a rectangle of cells, all counted from 1 and inclusive.
type Range struct {
	Row, Column         int
	LastRow, LastColumn int
}

// String is the range in the sheet's own notation: "B7:B9".
func (r Range) String() string {
	return Ref(r.Column, r.Row) + ":" + Ref(r.LastColumn, r.LastRow)
}

// Sheet is one sheet of cells.
type Sheet struct {
	Name          string
	Hidden        bool
	Rows          []Row // by rising number, those with anything in them
	Columns       int   // number of the last column with anything in it
	HiddenColumns []int // by rising number, up to Columns
	Merges        []Range
	Beyond        int // cells right of MaxColumns, not kept
}

// Book is a workbook as read.
type Book struct {
	Sheets []Sheet  // of cells, in the workbook's order; sheets of charts alone are left out
	Left   []string // what else there is and was not read, plain sentences
}

// Sheet finds a sheet by its name, capitals and blanks at the ends aside.
func (b Book) Sheet(name string) (int, bool) {
	for i, s := range b.Sheets {
		if s.Name == name {
			return i, true
		}
	}
	for i, s := range b.Sheets {
		if strings.EqualFold(strings.TrimSpace(s.Name), strings.TrimSpace(name)) {
			return i, true
		}
	}
	return 0, false
}

// Ref is a cell's place in the notation of sheets: (3, 12) is "C12".
func Ref(column, row int) string { return ColumnName(column) + strconv.Itoa(row) }

// ColumnName is the name of a column counted from 1: 27 is "AA".
func ColumnName(n int) string {
	var b [8]byte
	i := len(b)
	for n > 0 && i > 0 {
		n--
		i--
		b[i] = byte('A' + n%26)
		n /= 26
	}
	return string(b[i:])
}

// Read opens a workbook from its bytes. The file's name is for the faults only. Where there is a fault the book is empty.
func Read(file string, data []byte) (Book, document.Faults) {
	a, fault := open(file, data)
	if fault != nil {
		return Book{}, document.Faults{*fault}
	}
	book, fault := a.book()
	if fault != nil {
		return Book{}, document.Faults{*fault}
	}
	return book, nil
}
