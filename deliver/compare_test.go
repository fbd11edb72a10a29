package deliver

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"html"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"obvert/physics/valve"
	"obvert/study"

	"pgregory.net/rapid"
)

// comparedOf lays the types of a spec's rack side by side, each at every place.
func comparedOf(s spec) *study.Comparison {
	var all []*study.Result
	var index []int
	for k := range s.rack[:min(len(s.rack), study.MostCompared)] {
		one := s
		one.valves = slices.Clone(s.valves)
		for i := range one.valves {
			one.valves[i].record = k
		}
		all, index = append(all, one.build()), append(index, k)
	}
	c, err := study.SideBySide(all, index)
	if err != nil {
		panic(err)
	}
	return c
}

// sixTypes are five that were seen tight and one that never was, with a long name.
func sixTypes() []valve.Record {
	all := fiveTypes()
	for i, n := range []string{"Alder 80", "Birch 80", "Birch 80, second delivery with the harder seat", "Dogwood 80", "Elder 80"} {
		all[i].Name, all[i].Price, all[i].Currency = n, 1000-100*float64(i), "EUR"
	}
	never := record("Fir 80", 5.3, 0, 0.2)
	never.Sealing.Bound, never.LettingGo = valve.MoreThan, valve.Threshold{Bound: valve.NotApplicable}
	return append(all, never)
}

// comparedFixtures are lines of every kind with two to six types.
func comparedFixtures() map[string]*study.Comparison {
	out := map[string]*study.Comparison{}
	for name, s := range map[string]spec{"ridge": ridgeLine(), "flat": flatLine(), "named": namedLine(), "close": closeLine(2400), "long": longLine(), "single": singleLine()} {
		s.rack = sixTypes()
		if name == "single" {
			s.rack = s.rack[1:3]
		}
		out[name] = comparedOf(s)
	}
	forty := longLine()
	forty.rack, forty.valves = sixTypes(), forty.valves[:min(40, len(forty.valves))]
	out["forty"] = comparedOf(forty)
	return out
}

// drawnComparison draws everything of a comparison in every form.
func drawnComparison(c *study.Comparison) (out []*canvas) {
	for i, d := range newComparedLines(c) {
		out = append(out, inForms(d, fmt.Sprintf("cl%d", i))...)
	}
	return append(out, inForms(newComparedBars(c), "cb")...)
}

// TestComparedLabelsApart: nothing collides, nothing is cut, with six types and with 200 valves, in every form.
func TestComparedLabelsApart(t *testing.T) {
	for name, c := range comparedFixtures() {
		n := 0
		for _, d := range drawnComparison(c) {
			n += len(d.labels)
			for _, f := range faults(d) {
				t.Errorf("%s: %s", name, f)
			}
			if d.title == "" || d.desc == "" {
				t.Errorf("%s %s: nothing for a screen reader", name, d.id)
			}
			if d.class == "print" && d.h > formPrint.page {
				t.Errorf("%s %s: %.0f px high, the page holds %.0f", name, d.id, d.h, formPrint.page)
			}
		}
		if n < 100 {
			t.Errorf("%s: only %d labels were drawn", name, n)
		}
	}
}

// TestComparedLabelsApartOnAnyLine draws random lines with two to six types.
func TestComparedLabelsApartOnAnyLine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		defer func(all []form) { forms = all }(forms)
		forms = []form{rapid.SampledFrom(forms).Draw(t, "form")}
		s := randomSpec(t)
		s.rack = sixTypes()[:rapid.IntRange(2, 6).Draw(t, "types")]
		for i := range s.rack {
			s.rack[i].Name = fmt.Sprintf("%s%d", rapid.StringMatching(`[A-Za-z]{1,6}|[A-Za-z -]{20,60}`).Draw(t, "type"), i)
			shift := rapid.Float64Range(0.1, 3).Draw(t, "heads")
			s.rack[i].Sealing.Mean *= shift
			s.rack[i].LettingGo.Mean *= shift
		}
		for _, c := range drawnComparison(comparedOf(s)) {
			for _, f := range faults(c) {
				t.Error(f)
			}
		}
	})
}

// TestComparedTwins: the tables hold every place and every figure, also those that are not drawn.
func TestComparedTwins(t *testing.T) {
	for name, c := range comparedFixtures() {
		for _, d := range newComparedLines(c) {
			w := d.twin()
			if len(w.Rows) != len(c.Places) {
				t.Errorf("%s: %d rows for %d places", name, len(w.Rows), len(c.Places))
			}
			if len(d.all)+d.left != len(c.Places) {
				t.Errorf("%s: %d places drawn and %d left out of %d", name, len(d.all), d.left, len(c.Places))
			}
			for i, r := range w.Rows {
				if len(r) != len(w.Heads) {
					t.Errorf("%s: row %d has %d cells under %d heads", name, i, len(r), len(w.Heads))
				}
				for k := range c.Types {
					if want := c.Places[i].Cells[k].Verdict.String(); !strings.HasPrefix(r[5+k], want) {
						t.Errorf("%s: row %d, %s: %q, want %q", name, i, c.Types[k].Name, r[5+k], want)
					}
				}
			}
		}
		w := newComparedBars(c).twin()
		if len(w.Rows) != len(measured)+2 || len(w.Rows[0]) != len(c.Types)+1 {
			t.Errorf("%s: %d rows of %d", name, len(w.Rows), len(w.Rows[0]))
		}
	}
}

// TestComparedPage writes the page twice: the same bytes, nothing from elsewhere, the law, every type.
func TestComparedPage(t *testing.T) {
	for name, c := range comparedFixtures() {
		var a, b bytes.Buffer
		for _, w := range []*bytes.Buffer{&a, &b} {
			if err := CompareHTML(w, c, Options{Date: "2026-05-12"}); err != nil {
				t.Fatal(err)
			}
		}
		if !bytes.Equal(a.Bytes(), b.Bytes()) {
			t.Errorf("%s: two runs differ", name)
		}
		for _, bad := range []string{"http://", "https://", "<script", "@import", "NaN", "ZgotmplZ"} {
			if bytes.Contains(a.Bytes(), []byte(bad)) {
				t.Errorf("%s: the page holds %q", name, bad)
			}
		}
		want := []string{law, "2026-05-12", "3f9c 1a77"}
		for i := range c.Types {
			want = append(want, html.EscapeString(c.Types[i].Name))
		}
		for _, s := range want {
			if !bytes.Contains(a.Bytes(), []byte(s)) {
				t.Errorf("%s: the page lacks %q", name, s)
			}
		}
		c.Types[0].Lost.Value = noGround
		a.Reset()
		if err := CompareHTML(&a, c, Options{}); err == nil || a.Len() > 0 {
			t.Errorf("%s: a figure that is no number: %v, %d bytes", name, err, a.Len())
		}
		if err := CompareJSON(&a, c); err == nil || a.Len() > 0 {
			t.Errorf("%s: a figure that is no number: %v, %d bytes of JSON", name, err, a.Len())
		}
	}
	if err := CompareHTML(&bytes.Buffer{}, &study.Comparison{}, Options{}); err == nil {
		t.Error("a comparison of nothing was drawn")
	}
}

// TestComparedFiles reads JSON and CSV back.
func TestComparedFiles(t *testing.T) {
	c := comparedFixtures()["ridge"]
	var j, s bytes.Buffer
	if err := CompareJSON(&j, c); err != nil {
		t.Fatal(err)
	}
	var back struct {
		Format     int
		Comparison struct {
			Types []struct {
				Name          string
				SealingHead   float64 `json:"sealing_m"`
				Dripping      struct{ Value float64 }
				Leak          struct{ Unit, Why string }
				SealingBound  string  `json:"sealing_bound"`
				LettingGoHead float64 `json:"letting_go_m"`
			}
			Places []struct {
				Cells []struct{ Verdict string }
			}
		}
	}
	if err := json.Unmarshal(j.Bytes(), &back); err != nil {
		t.Fatal(err)
	}
	if back.Format != Format || len(back.Comparison.Types) != 6 || back.Comparison.Types[5].SealingBound != "more than" || back.Comparison.Types[1].Leak.Unit != "m³/s" ||
		back.Comparison.Types[3].Dripping.Value != c.Types[3].Dripping.Value || len(back.Comparison.Places) != len(c.Places) {
		t.Errorf("%+v", back)
	}
	if err := CompareCSV(&s, c); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&s).ReadAll()
	if err != nil || len(rows) != 7 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	for _, head := range []string{"name", "sealing_m", "leak_m3_s", "leak_known", "whole_eur_known", "stops_s", "drained_m"} {
		if head == "whole_eur_known" {
			head = "whole_known"
		}
		if !slices.Contains(rows[0], head) {
			t.Errorf("the CSV has no column %s: %v", head, rows[0])
		}
	}
	at := slices.Index(rows[0], "dripping")
	if rows[4][at] != fmt.Sprint(c.Types[3].Dripping.Value) {
		t.Errorf("dripping %s, want %g", rows[4][at], c.Types[3].Dripping.Value)
	}
}

func init() { // the drawings of a comparison, as they stand on a desk, and its files
	ridge := func() *study.Comparison { return comparedFixtures()["ridge"] }
	svg := func(d drawing) []byte {
		var b bytes.Buffer
		for _, c := range d.draw(formDesk, "c") {
			c.class = formDesk.name
			b.WriteString(strings.ReplaceAll(c.svg(), "><", ">\n<") + "\n")
		}
		return b.Bytes()
	}
	goldens["compare-line.txt"] = func(*testing.T) []byte { return svg(newComparedLines(ridge())[0]) }
	goldens["compare-bars.txt"] = func(*testing.T) []byte { return svg(newComparedBars(ridge())) }
	goldens["compare.csv"] = func(t *testing.T) []byte {
		var b bytes.Buffer
		if err := CompareCSV(&b, ridge()); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	goldens["compare.json"] = func(t *testing.T) []byte {
		var b bytes.Buffer
		if err := CompareJSON(&b, comparedFixtures()["single"]); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
}

// TestComparedInTheBrowser opens the page on a phone, a desk and a wide window: no error, no two labels meet, nothing cut off.
func TestComparedInTheBrowser(t *testing.T) {
	chrome := browser(t)
	names := []string{"ridge"}
	if os.Getenv("CI") == "true" {
		names = []string{"ridge", "named", "close", "forty", "single"}
	}
	all := comparedFixtures()
	for _, name := range names {
		var b bytes.Buffer
		if err := CompareHTML(&b, all[name], Options{Date: "2026-05-12"}); err != nil {
			t.Fatal(err)
		}
		page := filepath.Join(t.TempDir(), name+".html")
		if err := os.WriteFile(page, []byte(strings.Replace(b.String(), "</body>", probe, 1)), 0o644); err != nil {
			t.Fatal(err)
		}
		for _, w := range []int{400, 1366, 1920} {
			checkAt(t, chrome, page, w)
		}
	}
}
