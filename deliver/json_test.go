package deliver

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"sort"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "rewrite the golden files and docs/methods/json.md")

func encoded(t *testing.T, name string) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := JSON(&b, fixture(name)); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return b.Bytes()
}

// TestJSONIsJSON reads what was written with the standard library and looks for repeated keys.
func TestJSONIsJSON(t *testing.T) {
	for name := range makers {
		raw := encoded(t, name)
		var v map[string]any
		if err := json.Unmarshal(raw, &v); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if v["format"] != float64(Format) {
			t.Errorf("%s: format %v, want %d", name, v["format"], Format)
		}
		if err := repeated(json.NewDecoder(bytes.NewReader(raw))); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if !bytes.Equal(raw, encoded(t, name)) {
			t.Errorf("%s: two runs differ", name)
		}
	}
}

// repeated walks one JSON value and refuses a key that an object has twice.
func repeated(d *json.Decoder) error {
	tok, err := d.Token()
	if err != nil {
		return err
	}
	delim, ok := tok.(json.Delim)
	if !ok {
		return nil
	}
	seen := map[string]bool{}
	for d.More() {
		if delim == '{' {
			k, err := d.Token()
			if err != nil {
				return err
			}
			if seen[k.(string)] {
				return fmt.Errorf("key %q twice in one object", k)
			}
			seen[k.(string)] = true
		}
		if err := repeated(d); err != nil {
			return err
		}
	}
	_, err = d.Token()
	return err
}

// TestJSONCarriesTheFigures compares figures in the JSON with the result they come from.
func TestJSONCarriesTheFigures(t *testing.T) {
	r := fixture("ridge")
	var v struct {
		Sealing struct {
			Valves []struct {
				Name      string
				ChainageM float64 `json:"chainage_m"`
				SeatM     float64 `json:"seat_m"`
				Cells     []struct {
					State   string
					Rule    string
					HeadM   float64 `json:"head_m"`
					MarginM float64 `json:"margin_m"`
				}
			}
		}
		Grades []struct {
			Runs []struct {
				FlowM3S float64   `json:"flow_m3_s"`
				HeadM   []float64 `json:"head_m"`
				Wetness []string
			}
		}
		Schedule []map[string]any
	}
	if err := json.Unmarshal(encoded(t, "ridge"), &v); err != nil {
		t.Fatal(err)
	}
	near := func(a, b float64) bool { return math.Abs(a-b) <= 1e-9*max(1, math.Abs(b)) }
	if len(v.Sealing.Valves) != 7 || len(v.Schedule) != 7 {
		t.Fatalf("%d valves, %d rows", len(v.Sealing.Valves), len(v.Schedule))
	}
	for i, s := range r.Sealing.Valves {
		got := v.Sealing.Valves[i]
		if got.Name != s.Name || !near(got.ChainageM, s.Chainage) || !near(got.SeatM, s.Seat) {
			t.Errorf("valve %d: %+v", i, got)
		}
		for c, cell := range s.Cells {
			g := got.Cells[c]
			if g.State != cell.State.String() || !near(g.HeadM, cell.Head) || !near(g.MarginM, cell.Margin) {
				t.Errorf("valve %s case %d: %+v, want %+v", s.Name, c, g, cell)
			}
		}
	}
	for c, g := range r.Grades {
		got := v.Grades[c].Runs[0]
		if !near(got.FlowM3S, g.Runs[0].Flow) || len(got.HeadM) != len(g.Runs[0].Head) || got.Wetness[0] != g.Runs[0].Wetness[0].String() {
			t.Errorf("case %d: %v", c, got)
		}
	}
}

// TestNotFiniteIsAnError puts NaN and infinity where a figure belongs.
func TestNotFiniteIsAnError(t *testing.T) {
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		r := fixture("ridge")
		r.Sealing.Valves[2].Cells[1].Head = bad
		var b bytes.Buffer
		for what, err := range map[string]error{"JSON": JSON(&b, r), "HTML": HTML(&b, r, Options{})} {
			if err == nil || !strings.Contains(strings.ToLower(err.Error()), "valves") || !strings.Contains(err.Error(), "finite") {
				t.Errorf("%s with %v: error %v, want one that names the place", what, bad, err)
			}
		}
		r.Sealing.Valves[2].Cells[1].Head = 1
		r.Sealing.Valves[0].Seat = bad
		if err := ScheduleCSV(&b, r); err == nil || !strings.Contains(err.Error(), "seat_m") {
			t.Errorf("CSV with %v: error %v", bad, err)
		}
		if b.Len() != 0 {
			t.Errorf("%d bytes were written beside the error", b.Len())
		}
	}
	if err := JSON(&bytes.Buffer{}, nil); err == nil {
		t.Error("no result at all is no error")
	}
}

// TestKeys checks the making of keys from names and units.
func TestKeys(t *testing.T) {
	for name, want := range map[string]string{"PressureHead": "pressure_head", "NPSHRequired": "npsh_required", "ID": "id", "HasNPSH": "has_npsh", "CriticalB": "critical_b", "X": "x"} {
		if got := snake(name); got != want {
			t.Errorf("snake(%s) = %s, want %s", name, got, want)
		}
	}
	for unit, want := range map[string]string{"m": "m", "m³/s": "m3_s", "1": "", "kg/m³": "kg_m3", "Pa": "pa", "1/kWh": "per_kwh", "m³/(s·Pa)": "m3_s_pa", "J/(kg·K)": "j_kg_k", "m/s²": "m_s2", "m³/s,m": "m3_s_m"} {
		if got := unitKey(unit); got != want {
			t.Errorf("unitKey(%s) = %s, want %s", unit, got, want)
		}
	}
}

// TestScheduleCSV reads the schedule back.
func TestScheduleCSV(t *testing.T) {
	for name, r := range fixtures() {
		var b bytes.Buffer
		if err := ScheduleCSV(&b, r); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		rows, err := csv.NewReader(&b).ReadAll()
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if len(rows) != len(r.Sealing.Valves)+1 {
			t.Errorf("%s: %d rows for %d valves", name, len(rows), len(r.Sealing.Valves))
		}
		for i, h := range rows[0] {
			if strings.HasSuffix(h, "head") || h == "chainage" || h == "seat" {
				t.Errorf("%s: column %d %q has no unit", name, i, h)
			}
		}
	}
	r := fixture("single")
	r.Sealing.Valves[0].Name = "=HYPERLINK(1)"
	var b bytes.Buffer
	if err := ScheduleCSV(&b, r); err != nil || !strings.Contains(b.String(), "'=HYPERLINK") {
		t.Errorf("a formula goes through: %v %s", err, b.String())
	}
}

// golden compares with a file under testdata, or rewrites it.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%v (go test ./deliver -update writes it)", err)
	}
	if !bytes.Equal(want, got) {
		t.Errorf("%s differs; look at it, then go test ./deliver -update\n%s", path, firstDifference(want, got))
	}
}

func firstDifference(a, b []byte) string {
	x, y := strings.Split(string(a), "\n"), strings.Split(string(b), "\n")
	for i := range max(len(x), len(y)) {
		p, q := "", ""
		if i < len(x) {
			p = x[i]
		}
		if i < len(y) {
			q = y[i]
		}
		if p != q {
			return fmt.Sprintf("line %d\nwas %.300s\nis  %.300s", i+1, p, q)
		}
	}
	return ""
}

var (
	svgBody  = regexp.MustCompile(`(?s)(<svg [^>]*role="img"[^>]*>.*?</desc>).*?</svg>`)
	fontData = regexp.MustCompile(`base64,[A-Za-z0-9+/=]+`)
	between  = regexp.MustCompile(`>\s*<`)
)

// skeleton is a report without its drawings' insides, its style and its fonts, one tag a line.
func skeleton(report []byte) []byte {
	s := svgBody.ReplaceAll(report, []byte("$1</svg>"))
	s = fontData.ReplaceAll(s, []byte("base64,…"))
	s = regexp.MustCompile(`(?s)<style>.*?</style>`).ReplaceAll(s, []byte("<style>…</style>"))
	s = regexp.MustCompile(`(?s)<svg viewBox="0 0 1[46] 1[45]".*?</svg>`).ReplaceAll(s, []byte("<svg/>"))
	return append(between.ReplaceAll(s, []byte(">\n<")), '\n')
}

// goldens are the golden files and what makes them.
var goldens = map[string]func(t *testing.T) []byte{
	"single.json": func(t *testing.T) []byte { return encoded(t, "single") },
	"ridge.csv": func(t *testing.T) []byte {
		var b bytes.Buffer
		if err := ScheduleCSV(&b, fixture("ridge")); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	},
	"single.html.txt": func(t *testing.T) []byte {
		var b bytes.Buffer
		if err := HTML(&b, fixture("single"), Options{Date: "2026-05-12"}); err != nil {
			t.Fatal(err)
		}
		return skeleton(b.Bytes())
	},
}

func init() { // the charts, as they stand on a desk
	for name, d := range map[string]drawing{"strip": stripFixture("ridge"), "airs": airFixture(2), "ways": waysFixture(), "tornado": tornadoFixture(), "legs": legsFixture(1), "day": dayFixture(2), "shares": sharesFixture(3), "odds": oddsFixture()} {
		goldens["chart-"+name+".txt"] = func(*testing.T) []byte {
			var b bytes.Buffer
			for _, c := range d.draw(formDesk, name) {
				c.class = formDesk.name
				b.WriteString(strings.ReplaceAll(c.svg(), "><", ">\n<") + "\n")
			}
			return b.Bytes()
		}
	}
}

// TestGoldens compares the golden files and refuses one that no test makes.
func TestGoldens(t *testing.T) {
	for name, make := range goldens {
		golden(t, name, make(t))
	}
	entries, err := os.ReadDir("testdata")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if _, ok := goldens[e.Name()]; !ok && !e.IsDir() {
			t.Errorf("testdata/%s is no test's: remove it", e.Name())
		}
	}
}

// TestHTMLSameTwice writes every report twice.
func TestHTMLSameTwice(t *testing.T) {
	for name := range makers {
		if name == "long" { // TestWriteReports draws it once; twice takes too long
			continue
		}
		var a, b bytes.Buffer
		if err := HTML(&a, fixture(name), Options{}); err != nil {
			t.Fatal(err)
		}
		if err := HTML(&b, fixture(name), Options{}); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(a.Bytes(), b.Bytes()) {
			t.Errorf("%s: two runs differ", name)
		}
		if strings.Contains(a.String(), "ZgotmplZ") || strings.Contains(a.String(), "NaN") || strings.Contains(a.String(), "Inf\"") {
			t.Errorf("%s: the template refused something, or a coordinate is no number", name)
		}
		for _, far := range []string{"http://", "https://", "<script", "@import"} {
			if strings.Contains(a.String(), far) {
				t.Errorf("%s: the report holds %q: it must need nothing else", name, far)
			}
		}
		if !strings.Contains(a.String(), law) {
			t.Errorf("%s: who decides is not said", name)
		}
	}
}

// TestFacesAgree compares the faces that are measured with the style sheet that sets them.
func TestFacesAgree(t *testing.T) {
	for _, f := range faces {
		rule := regexp.MustCompile(`svg \.` + f.class + `\{([^}]*)\}`).FindStringSubmatch(reportCSS)
		if rule == nil {
			t.Errorf("no rule for svg .%s", f.class)
			continue
		}
		if want := fmt.Sprintf("font-size:%gpx", f.size); !strings.Contains(rule[1], want) {
			t.Errorf("svg .%s{%s}: want %s", f.class, rule[1], want)
		}
		if bold := strings.Contains(rule[1], "font-weight:600"); bold != f.bold {
			t.Errorf("svg .%s{%s}: bold %v, measured as %v", f.class, rule[1], bold, f.bold)
		}
		if f.size < 12 {
			t.Errorf("svg .%s is smaller than 12 px", f.class)
		}
	}
}

// TestKeyPage holds docs/methods/json.md to the types.
func TestKeyPage(t *testing.T) {
	got := keyPage(t)
	path := filepath.Join("..", "docs", "methods", "json.md")
	if *update {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil || !bytes.Equal(want, got) {
		t.Errorf("%s is not what the types say (%v); go test ./deliver -run TestKeyPage -update\n%s", path, err, firstDifference(want, got))
	}
}

// keyPage writes the reference of the JSON's keys: a table for every type, meanings from the comments in the source.
func keyPage(t *testing.T) []byte {
	var b strings.Builder
	b.WriteString("# The JSON and the CSV, key by key\n\nGenerated from the types by `go test ./deliver -run TestKeyPage -update`; do not edit.\n\n" +
		"One object. Figures are SI, finite, with ten significant digits; the unit ends the key (`head_m`, `flow_m3_s`; no unit: dimensionless, or named by the `unit` beside it). " +
		"Counted kinds are words. References between parts are indices from 0; −1 is none. `null` is not known. Keys only come and never change their meaning while `format` stays the same.\n\n" +
		"The schedule's CSV has one row for each object of `schedule`, its keys as heads, an empty cell for `null`. " +
		"The keys of an object in it follow after the object's key (`air_in_needed_kg_s`). Each operating case gives a group of columns with its number in the order of the line: `case_1_name`, `case_1_head_m` … are of the first. " +
		"A text that begins as a formula does gets an apostrophe before it.\n")
	seen := map[reflect.Type]bool{}
	queue := []reflect.Type{reflect.TypeFor[document](), reflect.TypeFor[comparedDocument]()}
	for len(queue) > 0 {
		typ := queue[0]
		queue = queue[1:]
		if seen[typ] {
			continue
		}
		seen[typ] = true
		title := typ.String()
		if typ == reflect.TypeFor[document]() {
			title = "The document"
		}
		if typ == reflect.TypeFor[comparedDocument]() {
			title = "The comparison"
		}
		fmt.Fprintf(&b, "\n## %s\n\n| key | holds | unit | meaning |\n|---|---|---|---|\n", title)
		queue = append(queue, keyRows(t, &b, typ)...)
	}
	return []byte(b.String())
}

func keyRows(t *testing.T, b *strings.Builder, typ reflect.Type) (next []reflect.Type) {
	says := meanings(t, typ)
	for i := range typ.NumField() {
		f := typ.Field(i)
		if !f.IsExported() {
			continue
		}
		if typ == reflect.TypeFor[document]() && f.Name == "Result" {
			next = append(next, keyRows(t, b, f.Type.Elem())...)
			continue
		}
		holds, inner := kindText(f.Type)
		if inner != nil {
			next = append(next, inner)
		}
		unit := f.Tag.Get("unit")
		fmt.Fprintf(b, "| `%s` | %s | %s | %s |\n", jsonKey(f), holds, unit, strings.ReplaceAll(says[f.Name], "|", "\\|"))
	}
	return next
}

func kindText(t reflect.Type) (string, reflect.Type) {
	switch t.Kind() {
	case reflect.Pointer:
		s, in := kindText(t.Elem())
		return s + " or null", in
	case reflect.Slice, reflect.Array:
		s, in := kindText(t.Elem())
		return "list of " + s, in
	case reflect.Struct:
		return "[" + t.String() + "](#" + strings.ToLower(strings.ReplaceAll(t.String(), ".", "")) + ")", t
	case reflect.Uint8:
		var w []string
		for i := range 16 {
			v := reflect.New(t).Elem()
			v.SetUint(uint64(i))
			s, ok := tryWord(v)
			if !ok {
				break
			}
			w = append(w, s)
		}
		return "one of: " + strings.Join(w, ", "), nil
	case reflect.Float64:
		return "number", nil
	case reflect.Int:
		return "whole number", nil
	case reflect.Bool:
		return "true or false", nil
	}
	return "text", nil
}

// tryWord is a counted value's word, where it has one.
func tryWord(v reflect.Value) (s string, ok bool) {
	defer func() {
		if recover() != nil {
			ok = false
		}
	}()
	s, err := wordOf(v)
	return s, err == nil
}

// meanings reads the comments beside a struct's fields from the source of its package.
func meanings(t *testing.T, typ reflect.Type) map[string]string {
	dir := filepath.Join("..", strings.TrimPrefix(typ.PkgPath(), "obvert/"))
	files, err := filepath.Glob(filepath.Join(dir, "*.go"))
	if err != nil {
		t.Fatal(err)
	}
	sort.Strings(files)
	says := map[string]string{}
	for _, file := range files {
		if strings.HasSuffix(file, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.ParseComments)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(f, func(n ast.Node) bool {
			s, ok := n.(*ast.TypeSpec)
			if !ok || s.Name.Name != typ.Name() {
				return true
			}
			if st, ok := s.Type.(*ast.StructType); ok {
				for _, field := range st.Fields.List {
					text := strings.Join(strings.Fields(field.Doc.Text()+" "+field.Comment.Text()), " ")
					for _, name := range field.Names {
						says[name.Name] = text
					}
				}
			}
			return false
		})
	}
	return says
}
