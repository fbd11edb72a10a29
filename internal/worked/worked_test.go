package worked

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestRows(t *testing.T) {
	rows, faults := Rows("# x\n\n## Worked numbers\n\n| | given | |\n|---|---|---|\n| `a` | b | 1,234.5 m |\n| `c` | d | −0.70 |\n| `e` | f | 1.31e-6 m²/s |\n| `g` | h | none |\n\n## More\n\n| `i` | j | 2 |\n")
	want := []Row{{"a", 1234.5, 0.1, ""}, {"c", -0.70, 0.01, ""}, {"e", 1.31e-6, 1e-8, ""}}
	if len(rows) != len(want) {
		t.Fatalf("rows %v", rows)
	}
	for i, w := range want {
		if r := rows[i]; r.Key != w.Key || r.Figure != w.Figure || math.Abs(r.Last/w.Last-1) > 1e-12 {
			t.Errorf("row %d is %+v, want %+v", i, r, w)
		}
	}
	if len(faults) != 1 || !strings.HasPrefix(faults[0], "g: ") {
		t.Errorf("faults %q", faults)
	}
	if _, faults := Rows("# nothing"); len(faults) != 1 {
		t.Errorf("faults %q", faults)
	}
}

// TestEveryMethodsPageIsWorked finds the pages that have no worked numbers, and those whose numbers no test holds.
func TestEveryMethodsPageIsWorked(t *testing.T) {
	root := Root(t)
	held := map[string]bool{}
	err := filepath.WalkDir(root, func(path string, d os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && strings.HasPrefix(d.Name(), ".") && path != root {
			return filepath.SkipDir
		}
		if !strings.HasSuffix(path, "_test.go") {
			return nil
		}
		data, err := os.ReadFile(path)
		for _, part := range strings.Split(string(data), "worked.Hold(t, \"")[1:] {
			name, _, _ := strings.Cut(part, `"`)
			held[name] = true
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	pages, err := filepath.Glob(filepath.Join(root, "docs", "methods", "*.md"))
	if err != nil || len(pages) == 0 {
		t.Fatalf("%d pages, %v", len(pages), err)
	}
	for _, p := range pages {
		name := filepath.Base(p)
		if _, other := unworked[name]; other == held[name] {
			t.Errorf("%s: held by a test: %t, listed as a page without worked numbers: %t", name, held[name], other)
		}
	}
}

// unworked are the pages that say what is read or written and reckon nothing, with what holds them instead.
var unworked = map[string]string{
	"json.md":     "generated (deliver TestKeyPage)",
	"quantity.md": "generated from the tables (quantity TestPage)",
	"line.md":     "every key held to the schema (line schema_test.go)",
	"profile.md":  "dialects by example (line profile_dialect_test.go)",
	"report.md":   "the page of the report's parts",
	"study.md":    "how the engines are joined",
	"survey.md":   "thresholds and the duty, each by a case (survey compose_test.go)",
}
