package survey

import (
	"bytes"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"obvert/document"
	"obvert/line"
)

// workbook reads a workbook that testdata/workbooks/make.py wrote with another library.
func workbook(t testing.TB, name string) []byte {
	t.Helper()
	data, err := os.ReadFile("testdata/workbooks/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// holds fails unless one of the texts holds the piece.
func holds(t *testing.T, what string, texts []string, piece string) {
	t.Helper()
	if !slices.ContainsFunc(texts, func(s string) bool { return strings.Contains(s, piece) }) {
		t.Errorf("%s: nothing of %q in %q", what, piece, texts)
	}
}

// told are faults as texts.
func told(f document.Faults) []string {
	out := make([]string, len(f))
	for i := range f {
		out[i] = f[i].String()
	}
	return out
}

// TestWorkbookSurvey reads an office's workbook: a title, a merged head over two rows, an empty column, units under the head, a footer
// of averages, an old survey beside it and a hidden one. The figures are those of the script.
func TestWorkbookSurvey(t *testing.T) {
	r, faults := Workbook("plover.xlsx", workbook(t, "plover.xlsx"), Options{})
	if faults.Err() != nil {
		t.Fatal(faults)
	}
	if len(r.Tracks) != 2 || r.Tracks[0].Name != "Plover LS" || !(r.Tracks[0].Score > r.Tracks[1].Score+0.1) || r.Format != "XLSX" {
		t.Fatalf("tracks %+v", r.Tracks)
	}
	track := r.Tracks[0]
	if len(track.Points) != 41 || track.LevelKind == nil || *track.LevelKind != line.LevelInvert || !track.HasChainage {
		t.Fatalf("%d points, %v", len(track.Points), track.LevelKind)
	}
	for i, p := range track.Points {
		x := float64(i)
		ground := math.Round(1000*(50+0.8*x-0.02*x*x)) / 1000
		if p.Chainage != 25*x || math.Abs(p.Ground-ground) > 1e-12 || math.Abs(p.Level-(ground-1.75)) > 1e-12 || p.Where != 6+i || !p.HasGround {
			t.Fatalf("point %d: %+v, ground %v", i, p, ground)
		}
	}
	holds(t, "took", r.Took, `Sheet "Plover LS" is taken as the long section: it gives chainage and level, in 41 rows`)
	holds(t, "took", r.Took, `Level of the invert from column D, "Level Invert m AOD", in m`)
	holds(t, "left", r.Left, `"Plover draft" is hidden`)
	holds(t, "left", r.Left, `"Plover LS old": another suits a long section better`)
	holds(t, "left", r.Left, `"Notes": no row holds two figures`)
	holds(t, "left", r.Left, `(totals)`)
}

// TestWorkbookTake names a sheet: a hidden one, one by the wrong name.
func TestWorkbookTake(t *testing.T) {
	data := workbook(t, "plover.xlsx")
	r, faults := Workbook("plover.xlsx", data, Options{Take: "plover draft "})
	if faults.Err() != nil || len(r.Tracks) != 1 || r.Tracks[0].Name != "Plover draft" || len(r.Tracks[0].Points) != 400 {
		t.Fatalf("%v, %d tracks", faults, len(r.Tracks))
	}
	holds(t, "left", r.Left, `"Plover LS": another was named`)
	r, faults = Workbook("plover.xlsx", data, Options{Take: "Plover SL"})
	if len(r.Tracks) > 0 {
		t.Error("a reading for a sheet that is not there")
	}
	holds(t, "faults", told(faults), `no sheet is named "Plover SL": the sheets are "Notes", "Plover LS"`)
	holds(t, "faults", told(faults), `Take "Plover LS"`)
}

// TestWorkbookPeculiar reads what spreadsheets do to surveys.
func TestWorkbookPeculiar(t *testing.T) {
	for _, c := range []struct {
		file   string
		points int
		at     int // a point, from 0
		s, z   float64
		kind   line.LevelKind
		says   string // among the faults, the sentences of what was taken and left
	}{
		{"formulas.xlsx", 31, 30, 615, 13.4, line.LevelAxis, `"Chainage"`}, // 30 steps of 20.5 m, worked out here; shown with a plus
		{"comma.xlsx", 20, 1, 12.5, 101.4, line.LevelInvert, "40 figures stored as text with a decimal comma"},
		{"feet.xlsx", 15, 1, 30.48, 321 * 0.3048, line.LevelObvert, "in ft"},
		{"missing.xlsx", 58, 7, 80, 20.08, line.LevelInvert, "2 of 60 points have no level and are left out: rows 9, 33"},
		{"merged.xlsx", 78, 9, 90, 20.09, line.LevelInvert, "B11:B13: the figure is that of the first cell alone"},
	} {
		r, faults := Workbook(c.file, workbook(t, c.file), Options{})
		if faults.Err() != nil || len(r.Tracks) != 1 {
			t.Errorf("%s: %v", c.file, faults)
			continue
		}
		track := r.Tracks[0]
		if len(track.Points) != c.points || track.LevelKind == nil || *track.LevelKind != c.kind {
			t.Errorf("%s: %d points of %v", c.file, len(track.Points), track.LevelKind)
			continue
		}
		if p := track.Points[c.at]; math.Abs(p.Chainage-c.s) > 1e-9 || math.Abs(p.Level-c.z) > 1e-9 {
			t.Errorf("%s: point %d is %v, %v; want %v, %v", c.file, c.at, p.Chainage, p.Level, c.s, c.z)
		}
		holds(t, c.file, slices.Concat(told(faults), r.Took, r.Left), c.says)
	}
}

// TestWorkbookSpoilt tells each spoilt cell by its place, all in one pass, and does not slip over to a shorter sheet that is whole.
func TestWorkbookSpoilt(t *testing.T) {
	r, faults := Workbook("spoilt.xlsx", workbook(t, "spoilt.xlsx"), Options{})
	if len(r.Tracks) > 0 || faults.Err() == nil {
		t.Fatal("spoilt cells were read")
	}
	all := told(faults)
	holds(t, "date", all, `spoilt.xlsx:4: sheet "Spoilt", cell C4, column "Invert level [m]": "2026-05-12" is not a level: the cell holds a date`)
	holds(t, "error", all, `cell C6, column "Invert level [m]": "#REF!" is not a level: an error of the spreadsheet`)
	holds(t, "formula", all, `cell C8, column "Invert level [m]": no value in the cell: the formula =INDIRECT("C7") was stored without its result`)
	holds(t, "other", all, `sheet "Whole" can be read`)
	if r, faults := Workbook("spoilt.xlsx", workbook(t, "spoilt.xlsx"), Options{Take: "Whole"}); faults.Err() != nil || len(r.Tracks) != 1 {
		t.Errorf("the whole sheet, named: %v", faults)
	}
}

// sheets writes a workbook of sheets, row by row.
func sheets(t testing.TB, names []string, rows ...[][]any) []byte {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	for i, name := range names {
		if i == 0 {
			if err := f.SetSheetName("Sheet1", name); err != nil {
				t.Fatal(err)
			}
		} else if _, err := f.NewSheet(name); err != nil {
			t.Fatal(err)
		}
		for k, row := range rows[i] {
			if err := f.SetSheetRow(name, "A"+itoa(k+1), &row); err != nil {
				t.Fatal(err)
			}
		}
	}
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// TestWorkbookOdd reads workbooks with nothing to read, with two sheets as good as one another, without units.
func TestWorkbookOdd(t *testing.T) {
	survey := [][]any{{"Chainage [m]", "Invert level [m]"}, {0, 10.5}, {50, 11.25}, {100, 11}}
	_, faults := Workbook("f.xlsx", sheets(t, []string{"List"}, [][]any{{"Fruit", "Price"}, {"Apple", 2}}), Options{})
	holds(t, "no survey", told(faults), `no sheet with a long section or a table of equipment: "List": no row holds two figures`)
	_, faults = Workbook("f.xlsx", sheets(t, []string{"List"}, nil), Options{})
	holds(t, "empty", told(faults), "no sheet with a long section")
	r, faults := Workbook("f.xlsx", sheets(t, []string{"North", "South"}, survey, survey), Options{})
	if len(r.Tracks) != 2 || r.Tracks[0].Name != "North" {
		t.Errorf("two alike: %v", faults)
	}
	holds(t, "two alike", told(faults), `"North" is taken, "South" is left`)
	bare := [][]any{{"Chainage", "Invert level"}, {0, 10.5}, {50, 11.25}, {100, 11}}
	r, faults = Workbook("f.xlsx", sheets(t, []string{"A"}, bare), Options{})
	if faults.Err() != nil || len(r.Ask) != 2 || len(r.Tracks) > 0 {
		t.Errorf("no units: %v, asks %q", faults, r.Ask)
	}
	r, faults = Workbook("f.xlsx", sheets(t, []string{"A"}, bare), Options{LevelUnit: "m", PlanUnit: "m"})
	if faults.Err() != nil || len(r.Ask) > 0 || len(r.Tracks) != 1 {
		t.Errorf("units said: %v, asks %q", faults, r.Ask)
	}
}
