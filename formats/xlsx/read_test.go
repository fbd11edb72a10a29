package xlsx

import (
	"os"
	"strings"
	"testing"
)

// kinds is the workbook that testdata/make.py wrote with another library.
func kinds(t testing.TB) []byte {
	t.Helper()
	data, err := os.ReadFile("testdata/kinds.xlsx")
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// TestKinds reads every kind of cell as the script that wrote the workbook has it.
func TestKinds(t *testing.T) {
	book, faults := Read("kinds.xlsx", kinds(t))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	if len(book.Sheets) != 2 || book.Sheets[0].Name != "Kinds & more" || book.Sheets[0].Hidden || !book.Sheets[1].Hidden {
		t.Fatalf("sheets: %+v", book.Sheets)
	}
	if len(book.Left) != 1 || !strings.Contains(book.Left[0], `"Drawing"`) {
		t.Errorf("left: %q", book.Left)
	}
	s := book.Sheets[0]
	cells := map[string]Cell{}
	for _, row := range s.Rows {
		if (row.Number == 3) != row.Hidden {
			t.Errorf("row %d hidden: %v", row.Number, row.Hidden)
		}
		for _, c := range row.Cells {
			cells[Ref(int(c.Column), row.Number)] = c
		}
	}
	for _, w := range []struct {
		ref  string
		kind Kind
		text string
		unit string
	}{
		{"A1", Text, "text with <, & and Ø", ""},
		{"A2", Number, "12.34567890123457 m", "m"},
		{"A3", Number, "7 %", "%"},
		{"A4", Date, "2026-05-12", ""},
		{"A5", Date, "2026-05-12 14:30:05", ""},
		{"A6", Bool, "TRUE", ""},
		{"A7", Error, "#REF!", ""},
		{"A8", Number, "1+250.4", ""},
		{"A9", Number, "1.25 km", "km"},
		{"A10", Text, "12,5", ""},
		{"A11", Number, "-3e-09", ""},
		{"A12", Text, "merged", ""},
		{"C2", Number, "2500.8", ""}, // 2 × 1250.4
		{"C3", Number, "5001.2", ""}, // 2500.8 + 1250.4 + 1250
		{"C4", Error, "#REF!", ""},
		{"C5", Pending, "=C6", ""},
		{"C6", Pending, "=C5", ""},
		{"C7", Number, "2.5", ""},
		{"C8", Pending, `=INDIRECT("A2")`, ""},
		{"C9", Text, "deep", ""},
		{"E20", Number, "5", ""},
	} {
		c, ok := cells[w.ref]
		if !ok {
			t.Errorf("%s is not there", w.ref)
			continue
		}
		if c.Kind != w.kind || c.String() != w.text || c.Format.Unit != w.unit {
			t.Errorf("%s: %s %q, unit %q; want %s %q, unit %q", w.ref, c.Kind, c.String(), c.Format.Unit, w.kind, w.text, w.unit)
		}
		if c.Formula != strings.HasPrefix(w.ref, "C") || c.Computed != (c.Formula && c.Kind != Pending) {
			t.Errorf("%s: formula %v, computed %v", w.ref, c.Formula, c.Computed)
		}
		delete(cells, w.ref)
	}
	if len(cells) > 0 {
		t.Errorf("cells that nobody wrote: %v", cells)
	}
	if len(s.Merges) != 1 || s.Merges[0].String() != "A12:C13" {
		t.Errorf("merges: %v", s.Merges)
	}
	if len(s.HiddenColumns) != 1 || s.HiddenColumns[0] != 3 || s.Columns != 5 {
		t.Errorf("hidden columns %v of %d", s.HiddenColumns, s.Columns)
	}
}
