package xlsx

import (
	"bytes"
	"encoding/xml"
	"io"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

// FuzzRead opens anything: no panic, no figure that is none, cells and rows in order, a fault or a book and never both.
func FuzzRead(f *testing.F) {
	f.Add(kinds(f))
	f.Add(with(f, "docProps/app.xml", "<x/>"))
	f.Add([]byte("PK\x05\x06"))
	f.Fuzz(func(t *testing.T, data []byte) {
		book, faults := Read("f.xlsx", data)
		if faults.Err() != nil && len(book.Sheets) > 0 {
			t.Fatal("both")
		}
		sound(t, book)
	})
}

// FuzzSheet reads any XML as a sheet. What it takes must be well-formed to the standard library's reader as well, where that is strict.
func FuzzSheet(f *testing.F) {
	for _, s := range []string{sheetPart, `<worksheet><cols><col min="1" max="3" hidden="1"/></cols><sheetData><row><c t="inlineStr"><is><t>a&lt;</t></is></c><c><f>A1+1</f></c></row></sheetData>` +
		`<mergeCells><mergeCell ref="A1:B2"/></mergeCells></worksheet>`, `<?xml version="1.0"?><!-- --><a><![CDATA[x]]></a>`} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		book, faults := Read("f.xlsx", with(t, "xl/worksheets/sheet1.xml", text))
		sound(t, book)
		if faults.Err() != nil || strings.Contains(text, "<!") || strings.Contains(text, "<?") {
			return
		}
		d := xml.NewDecoder(strings.NewReader(text))
		for {
			_, err := d.Token()
			if err == io.EOF {
				return
			}
			if err != nil { // names and letters that XML forbids are let through here; tags that do not match are not
				if strings.Contains(err.Error(), "closed by") || strings.Contains(err.Error(), "unexpected EOF") {
					t.Fatalf("%q: %v", text, err)
				}
				return
			}
		}
	})
}

// FuzzFormat reads any number format.
func FuzzFormat(f *testing.F) {
	f.Add(`0.00" m"`, 12.5)
	f.Add(`#,##0,;[Red]-0`, 1e9)
	f.Add(`0"+"000`, -3.25)
	f.Fuzz(func(t *testing.T, code string, v float64) {
		p := parseFormat(code, false)
		if p.Figure(v) == "" || p.date(v) == "" {
			t.Fatalf("%q of %v: nothing", code, v)
		}
	})
}

// sound fails where a book breaks what its documentation says.
func sound(t *testing.T, book Book) {
	for _, s := range book.Sheets {
		last := 0
		for _, row := range s.Rows {
			if row.Number <= last || len(row.Cells) == 0 {
				t.Fatalf("row %d behind %d, %d cells", row.Number, last, len(row.Cells))
			}
			last = row.Number
			column := int32(0)
			for _, c := range row.Cells {
				if c.Column <= column || int(c.Column) > s.Columns || c.Format == nil || c.Kind == Blank || math.IsNaN(c.Value) || math.IsInf(c.Value, 0) {
					t.Fatalf("%+v", c)
				}
				column = c.Column
				_ = c.String()
			}
		}
	}
}

// grown writes a workbook of rows × columns figures with excelize.
func grown(t testing.TB, rows, columns int) []byte {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	w, err := f.NewStreamWriter("Sheet1")
	if err != nil {
		t.Fatal(err)
	}
	row := make([]any, columns)
	for i := range columns {
		row[i] = []string{"Chainage [m]", "Invert level [m]", "Ground level [m]", "Remark"}[i%4]
	}
	if err := w.SetRow("A1", row); err != nil {
		t.Fatal(err)
	}
	for r := range rows {
		for i := range columns {
			row[i] = float64(r)*2.5 + float64(i)
			if i%4 != 0 {
				row[i] = math.Round(1000*(50+20*math.Sin(float64(r)/997+float64(i)))) / 1000
			}
		}
		if err := w.SetRow(Ref(1, r+2), row); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Flush(); err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// TestAgainstExcelize reads the same cells as the other library does, from a workbook of its own writing.
func TestAgainstExcelize(t *testing.T) {
	data := grown(t, 300, 7)
	book, faults := Read("f.xlsx", data)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	f, err := excelize.OpenReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	want, err := f.GetRows("Sheet1", excelize.Options{RawCellValue: true})
	if err != nil {
		t.Fatal(err)
	}
	var got [][]string
	for _, row := range book.Sheets[0].Rows {
		var cells []string
		for c := 1; c <= book.Sheets[0].Columns; c++ {
			cells = append(cells, row.At(c).String())
		}
		got = append(got, cells)
	}
	if !slices.EqualFunc(got, want, slices.Equal[[]string]) {
		t.Error("the two readers differ")
	}
}

func benchmark(b *testing.B, rows int) {
	data := grown(b, rows, 4)
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		if book, faults := Read("f.xlsx", data); len(faults) > 0 || len(book.Sheets[0].Rows) != rows+1 {
			b.Fatal(faults)
		}
	}
	b.ReportMetric(float64(rows)*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
}

func BenchmarkRead100k(b *testing.B) { benchmark(b, 100_000) }

func BenchmarkReadMillion(b *testing.B) {
	if testing.Short() {
		b.Skip("takes long to write")
	}
	benchmark(b, 1_000_000)
}
