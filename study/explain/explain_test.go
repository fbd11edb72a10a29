package explain

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"obvert/line"
)

// form is the form of an id.
var form = regexp.MustCompile(`^[a-z][a-z0-9-]*(\.[a-z][a-z0-9-]*)+$`)

// notIDs have the form of an id and are none: paths of tables in a schema, keys, files.
var notIDs = []string{"run.section", "run.valve", "run.equipment", "case.tank", "case.station", "case.offtake", "day.rule", "prices.tariff",
	"station.pump", "leak.curve", "cu.m", "p.k"}

// folders hold the packages that write ids.
var folders = []string{"quantity", "num", "document", "physics", "line", "bench", "engine", "study", "survey"}

// emitted collects the ids that the source of the program can write, each with a place.
func emitted(t *testing.T) map[string]string {
	t.Helper()
	out := map[string]string{}
	set := token.NewFileSet()
	for _, folder := range folders {
		err := filepath.WalkDir("../../"+folder, func(path string, d fs.DirEntry, err error) error {
			if err != nil {
				return err
			}
			if d.IsDir() && d.Name() == "testdata" || strings.Contains(filepath.ToSlash(path), "study/explain") {
				return fs.SkipDir
			}
			if d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
				return nil
			}
			file, err := parser.ParseFile(set, path, nil, parser.SkipObjectResolution)
			if err != nil {
				return err
			}
			inSiting := strings.Contains(filepath.ToSlash(path), "engine/siting/")
			ast.Inspect(file, func(n ast.Node) bool {
				switch n := n.(type) {
				case *ast.ImportSpec:
					return false
				case *ast.BasicLit:
					if s := text(n); form.MatchString(s) && !fileName(s) {
						out[s] = set.Position(n.Pos()).String()
					}
				case *ast.KeyValueExpr: // a reason of siting has its page under siting
					if k, ok := n.Key.(*ast.Ident); ok && inSiting && k.Name == "ID" {
						reason(out, set, n.Value)
					}
				case *ast.AssignStmt:
					if s, ok := n.Lhs[0].(*ast.SelectorExpr); ok && inSiting && s.Sel.Name == "ID" {
						reason(out, set, n.Rhs[0])
					}
				}
				return true
			})
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	return out
}

func text(e ast.Expr) string {
	lit, ok := e.(*ast.BasicLit)
	if !ok || lit.Kind != token.STRING {
		return ""
	}
	s, err := strconv.Unquote(lit.Value)
	if err != nil {
		return ""
	}
	return s
}

func reason(out map[string]string, set *token.FileSet, e ast.Expr) {
	if s := text(e); s != "" && !strings.Contains(s, ".") {
		out["siting."+s] = set.Position(e.Pos()).String()
	}
}

func fileName(s string) bool {
	return slices.Contains([]string{".toml", ".csv", ".json", ".html", ".md", ".txt", ".xlsx", ".xml", ".dxf", ".gpx", ".rels", ".example", ".org", ".net"}, filepath.Ext(s))
}

// TestEveryIDHasAPage walks the source for ids: each has a page, and each page an id.
func TestEveryIDHasAPage(t *testing.T) {
	ids := emitted(t)
	if len(ids) < 150 {
		t.Fatalf("only %d ids found: is the walk looking in the right folders?", len(ids))
	}
	for _, s := range notIDs {
		if ids[s] == "" {
			t.Errorf("%q is excused and no longer found", s)
		}
		delete(ids, s)
	}
	for id, at := range ids {
		if _, ok := Find(id); !ok {
			t.Errorf("%s: %s has no page in study/explain/pages", at, id)
		}
	}
	for _, p := range Pages() {
		if ids[p.ID] == "" && !strings.HasPrefix(p.ID, "practice.") {
			t.Errorf("the page %s is of no id that the source can write", p.ID)
		}
	}
}

// TestEveryThresholdHasAPage holds the pages of the practice to its fields.
func TestEveryThresholdHasAPage(t *testing.T) {
	p := line.DefaultPractice()
	v := reflect.ValueOf(p)
	sources, n := map[string]int{}, 0
	for i := range v.NumField() {
		if th, ok := v.Field(i).Interface().(line.Threshold); ok {
			sources[th.Source]++
			n++
		}
	}
	pages := 0
	for _, x := range Pages() {
		if strings.HasPrefix(x.ID, "practice.") {
			pages++
			if sources[x.Source]--; sources[x.Source] < 0 {
				t.Errorf("%s: its source is not that of a threshold: %q", x.ID, x.Source)
			}
		}
	}
	if pages != n {
		t.Errorf("%d pages for %d thresholds", pages, n)
	}
}

// TestPagesSaySomething holds every page to its parts: each there, sentences whole, three of them at least and twelve at most.
func TestPagesSaySomething(t *testing.T) {
	seen := map[string]bool{}
	for _, p := range Pages() {
		if seen[p.ID] {
			t.Errorf("%s has two pages", p.ID)
		}
		seen[p.ID] = true
		sentences := 0
		for name, s := range map[string]string{"title": p.Title, "means": p.Means, "why": p.Why, "do": p.Do, "source": p.Source} {
			if s == "" {
				t.Errorf("%s: no %s", p.ID, name)
			}
			if strings.ContainsRune(s, '!') || !utf8.ValidString(s) {
				t.Errorf("%s: %s: %s", p.ID, name, s)
			}
			if name == "means" || name == "why" || name == "do" {
				sentences += strings.Count(s, ". ") + 1
				if !strings.HasSuffix(s, ".") {
					t.Errorf("%s: %s does not end as a sentence: %s", p.ID, name, s)
				}
			}
		}
		if sentences < 3 || sentences > 12 {
			t.Errorf("%s has %d sentences", p.ID, sentences)
		}
		for _, c := range p.Cautions {
			if !strings.HasSuffix(c, ".") {
				t.Errorf("%s: the caution does not end as a sentence: %s", p.ID, c)
			}
		}
	}
}

// TestNear finds pages by a part of an id and by a mistyped one.
func TestNear(t *testing.T) {
	if got := Near("practice"); len(got) != 15 { // its thresholds, and that one was changed
		t.Errorf("%d pages of the practice", len(got))
	}
	for word, want := range map[string]string{"sealing.dirps": "sealing.drips", "slamm": "sizing.slam", "siting.mising": "siting.missing"} {
		if got := Near(word); len(got) != 1 || got[0].ID != want {
			t.Errorf("%s: %v", word, got)
		}
	}
	if got := Near("tomato-plant"); len(got) != 0 {
		t.Errorf("got %v", got)
	}
	if _, ok := Find(" Sealing.Drips"); !ok {
		t.Error("capitals count")
	}
}

// TestParseRefuses breaks the form of a page in each way.
func TestParseRefuses(t *testing.T) {
	for _, s := range []string{"means: x", "# g\n## a.b no title", "## a.b | t", "# g\n## a.b | t\nwhat: x", "# g\n## a.b | t\nwhy: x\nwhy: y"} {
		if _, err := parse(s); err == nil {
			t.Errorf("accepted: %q", s)
		}
	}
}
