package deliver

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"strconv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"obvert/study"
)

// workbook writes a result's schedule, twice: the bytes must be the same.
func workbook(t *testing.T, r *study.Result) []byte {
	t.Helper()
	var b, again bytes.Buffer
	if err := ScheduleXLSX(&b, r, Options{Date: "2026-11-25"}); err != nil {
		t.Fatal(err)
	}
	if err := ScheduleXLSX(&again, r, Options{Date: "2026-11-25"}); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(b.Bytes(), again.Bytes()) {
		t.Error("the same schedule gave different bytes")
	}
	return b.Bytes()
}

// scheduleTable is the schedule's CSV as read back: by head, the texts of all rows.
func scheduleTable(t *testing.T, r *study.Result) (columns map[string][]string, rows int) {
	t.Helper()
	var b bytes.Buffer
	if err := ScheduleCSV(&b, r); err != nil {
		t.Fatal(err)
	}
	all, err := csv.NewReader(&b).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	columns = map[string][]string{}
	for c, head := range all[0] {
		for _, row := range all[1:] {
			columns[head] = append(columns[head], row[c])
		}
	}
	return columns, len(all) - 1
}

// compareSheets compares a workbook's cells, read by whatever library, with the CSV by the workbook's own legend.
func compareSheets(t *testing.T, r *study.Result, sheet, legend [][]string) {
	t.Helper()
	want, n := scheduleTable(t, r)
	const heads = 4 // two lines of title, two of heads
	if len(sheet) != n+heads {
		t.Fatalf("the sheet has %d rows for %d valves", len(sheet), n)
	}
	at := func(row []string, c int) string {
		if c < len(row) {
			return row[c]
		}
		return ""
	}
	seen, figures := 0, 0
	for c, l := range legend[2:] {
		column, ok := want[at(l, 4)]
		if !ok {
			t.Errorf("the legend names %q, which the CSV does not have", at(l, 4))
			continue
		}
		seen++
		for i, text := range column {
			got := at(sheet[heads+i], c)
			if x, err := strconv.ParseFloat(text, 64); err == nil && at(l, 5) != "" {
				times, _ := strconv.ParseFloat(at(l, 5), 64)
				y, err := strconv.ParseFloat(got, 64)
				if err != nil || math.Abs(y-x*times) > 1e-9*math.Abs(x*times) {
					t.Errorf("row %d, %s: %q, the CSV has %q times %g", i+1, at(l, 4), got, text, times)
				}
				figures++
				continue
			}
			if text = strings.TrimPrefix(text, "'"); got != text {
				t.Errorf("row %d, %s: %q, the CSV has %q", i+1, at(l, 4), got, text)
			}
		}
	}
	if cols := 44 + 3*len(r.Line.Cases); seen != cols {
		t.Errorf("%d columns were compared, want %d", seen, cols)
	}
	if n > 0 && figures < 5*n {
		t.Errorf("only %d figures in %d rows", figures, n)
	}
}

// TestScheduleXLSX reads every fixture's workbook back and compares it with the CSV, cell by cell; panes, filter and print area as asked for.
func TestScheduleXLSX(t *testing.T) {
	for name, r := range fixtures() {
		f, err := excelize.OpenReader(bytes.NewReader(workbook(t, r)))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		raw := excelize.Options{RawCellValue: true}
		sheet, err := f.GetRows("Schedule", raw)
		if err != nil {
			t.Fatal(err)
		}
		legend, err := f.GetRows("Legend", raw)
		if err != nil {
			t.Fatal(err)
		}
		compareSheets(t, r, sheet, legend)
		panes, err := f.GetPanes("Schedule")
		if err != nil || !panes.Freeze || panes.XSplit != 2 || panes.YSplit != 4 || panes.TopLeftCell != "C5" {
			t.Errorf("%s: panes %+v, %v", name, panes, err)
		}
		names := map[string]string{}
		for _, d := range f.GetDefinedName() {
			if d.Scope == "Schedule" {
				names[d.Name] = d.RefersTo
			}
		}
		if got, want := names["_xlnm.Print_Titles"], "'Schedule'!$A:$B,'Schedule'!$3:$4"; got != want {
			t.Errorf("%s: %s is printed again, want %s", name, got, want)
		}
		if got, want := names["_xlnm.Print_Area"], "$"+strconv.Itoa(4+len(r.Sealing.Valves)); !strings.HasPrefix(got, "'Schedule'!$A$1:$") || !strings.HasSuffix(got, want) {
			t.Errorf("%s: the print area is %s, want it to row %s", name, got, want)
		}
		layout, err := f.GetPageLayout("Schedule")
		if err != nil || *layout.Orientation != "landscape" || *layout.Size != 9 || *layout.FitToWidth < 1 || *layout.FitToHeight != 0 {
			t.Errorf("%s: layout %+v, %v", name, layout, err)
		}
		props, err := f.GetDocProps()
		if err != nil || props.Created != "2000-01-01T00:00:00Z" || !strings.Contains(props.Description, "2026-11-25") {
			t.Errorf("%s: properties %+v, %v", name, props, err)
		}
		f.Close()
	}
}

// TestScheduleXLSXFormula holds that a text is written as a text, whatever it looks like.
func TestScheduleXLSXFormula(t *testing.T) {
	r := fixture("single")
	r.Sealing.Valves[0].Name = "=HYPERLINK(1)"
	f, err := excelize.OpenReader(bytes.NewReader(workbook(t, r)))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if formula, err := f.GetCellFormula("Schedule", "B5"); err != nil || formula != "" {
		t.Errorf("a name became the formula %q (%v)", formula, err)
	}
	if kind, _ := f.GetCellType("Schedule", "B5"); kind != excelize.CellTypeSharedString && kind != excelize.CellTypeInlineString {
		t.Errorf("a name is a cell of type %v", kind)
	}
	if text, _ := f.GetCellValue("Schedule", "B5"); text != "=HYPERLINK(1)" {
		t.Errorf("the name reads %q", text)
	}
}

// TestScheduleXLSXNotFinite holds that a figure which is not finite stops the workbook.
func TestScheduleXLSXNotFinite(t *testing.T) {
	r := fixture("single")
	r.Sealing.Valves[0].Cells[0].Head = math.NaN()
	var b bytes.Buffer
	if err := ScheduleXLSX(&b, r, Options{}); err == nil || !strings.Contains(err.Error(), "_head_m") || b.Len() != 0 {
		t.Errorf("error %v, %d bytes", err, b.Len())
	}
}

// TestScheduleXLSXElsewhere has another library read the workbook: python3-openpyxl, which shares nothing with the writer.
func TestScheduleXLSXElsewhere(t *testing.T) {
	python := ""
	for _, p := range []string{"python3", "/usr/bin/python3"} { // the second is that of the system's packages
		if exec.Command(p, "-c", "import openpyxl").Run() == nil {
			python = p
			break
		}
	}
	if python == "" {
		if os.Getenv("CI") == "true" {
			t.Fatal("python3-openpyxl is not installed; CI must have it")
		}
		t.Skip("python3-openpyxl is not installed")
	}
	const script = `import json, sys, openpyxl
b = openpyxl.load_workbook(sys.argv[1])
text = lambda v: "" if v is None else repr(v) if isinstance(v, float) else str(v)
s = b["Schedule"]
assert s["B5"].data_type == "s", s["B5"].data_type
json.dump({"sheet": [[text(c.value) for c in r] for r in s.iter_rows()], "legend": [[text(c.value) for c in r] for r in b["Legend"].iter_rows()],
 "panes": s.freeze_panes, "area": str(s.print_area), "rows": str(s.print_title_rows), "columns": str(s.print_title_cols), "filter": s.auto_filter.ref or "",
 "landscape": s.page_setup.orientation, "fit": s.sheet_properties.pageSetUpPr.fitToPage, "formulas": [c.coordinate for w in b for r in w.iter_rows() for c in r if c.data_type == "f"]}, sys.stdout)`
	for _, name := range []string{"ridge", "long", "named", "branch"} {
		r := fixture(name)
		path := filepath.Join(t.TempDir(), "schedule.xlsx")
		if err := os.WriteFile(path, workbook(t, r), 0o644); err != nil {
			t.Fatal(err)
		}
		cmd := exec.Command(python, "-c", script, path)
		var out, messages bytes.Buffer
		cmd.Stdout, cmd.Stderr = &out, &messages
		if err := cmd.Run(); err != nil {
			t.Fatalf("%s: %v\n%s", name, err, messages.String())
		}
		var got struct {
			Sheet, Legend                                 [][]string
			Panes, Area, Rows, Columns, Filter, Landscape string
			Fit                                           bool
			Formulas                                      []string
		}
		if err := json.Unmarshal(out.Bytes(), &got); err != nil {
			t.Fatal(err)
		}
		compareSheets(t, r, got.Sheet, got.Legend)
		if got.Panes != "C5" || got.Rows != "$3:$4" || got.Columns != "$A:$B" || got.Landscape != "landscape" || !got.Fit || !strings.HasPrefix(strings.ReplaceAll(got.Filter, "$", ""), "A4:") || !strings.Contains(got.Area, "$A$1:$") {
			t.Errorf("%s: %+v", name, []any{got.Panes, got.Area, got.Rows, got.Columns, got.Filter, got.Landscape, got.Fit})
		}
		if len(got.Formulas) > 0 {
			t.Errorf("%s: formulas in %v", name, got.Formulas)
		}
	}
}

// TestFlat holds the documented heads: an object's fields after its key, the cases by number.
func TestFlat(t *testing.T) {
	var heads []string
	for _, f := range flat(reflect.ValueOf(ScheduleRow{Cases: make([]ScheduleCase, 2)}), "") {
		heads = append(heads, f.head)
	}
	all := "," + strings.Join(heads, ",") + ","
	for _, want := range []string{",air_in_needed_kg_s,", ",air_out_given_at_pa,", ",case_1_name,case_1_head_m,case_1_needed_m,", ",case_2_state,"} {
		if !strings.Contains(all, want) {
			t.Errorf("no %s in %s", want, all)
		}
	}
	if strings.Contains(all, "case_3") {
		t.Error("a third case of two")
	}
}
