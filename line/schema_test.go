package line

import (
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"obvert/document"

	"obvert/internal/schematest"
)

func compileSchema(t testing.TB) *jsonschema.Schema {
	t.Helper()
	s, err := schematest.Compile(Schema())
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func validate(s *jsonschema.Schema, text string) error { return schematest.TOML(s, []byte(text)) }

func TestSchemaAcceptsExamples(t *testing.T) {
	s := compileSchema(t)
	examples := map[string]string{"whole": whole, "minimal": minimal, "gravity": gravity}
	demos, err := filepath.Glob("../demo/*/line.toml")
	if err != nil || len(demos) < 3 {
		t.Errorf("%d demo lines, %v", len(demos), err)
	}
	for _, name := range demos {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		examples[name] = string(data)
	}
	for name, text := range examples {
		if err := validate(s, text); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestDemos reads the demonstration lines as they are shipped: no fault, no warning, and a rack that says the same as the
// one that the bench run gives.
func TestDemos(t *testing.T) {
	for _, c := range []struct {
		name                         string
		runs, valves, points, routes int
	}{
		{"flat-irrigation", 2, 7, 96, 1}, {"gravity", 4, 7, 157, 2}, {"ridge", 1, 7, 111, 1}, {"town", 8, 11, 235, 3}, {"twin", 7, 10, 263, 3},
	} {
		l, faults := mustRead(t, os.DirFS("../demo/"+c.name))
		points := 0
		for _, r := range l.Runs {
			points += len(r.Points)
		}
		if len(l.Runs) != c.runs || l.ValveCount() != c.valves || points != c.points || len(l.Routes) != c.routes || len(l.Rack) != 5 {
			t.Errorf("%s: %d runs, %d valves, %d points, %d routes, %d types", c.name, len(l.Runs), l.ValveCount(), points, len(l.Routes), len(l.Rack))
		}
		for _, f := range faults.Only(document.WarningSeverity) {
			t.Errorf("%s: %v", c.name, f)
		}
		for _, name := range l.Bench {
			for _, file := range []string{name, strings.TrimSuffix(name, ".toml") + ".csv"} {
				want, err := os.ReadFile(filepath.Join("../demo", file))
				if err != nil {
					t.Fatal(err)
				}
				if got, err := os.ReadFile(filepath.Join("../demo", c.name, file)); err != nil || !bytes.Equal(got, want) {
					t.Errorf("%s: %s is not the demonstration bench run; copy it there (%v)", c.name, file, err)
				}
			}
		}
		files, err := filepath.Glob("../demo/rack/*.toml")
		if err != nil || len(files) != len(l.Rack) {
			t.Errorf("%d files on the bench's rack, %v", len(files), err)
		}
		for _, file := range files {
			want, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			got, err := os.ReadFile(filepath.Join("../demo", c.name, "rack", filepath.Base(file)))
			if err != nil || !bytes.Equal(got, want) {
				t.Errorf("%s: rack/%s is not what the bench gives; copy demo/rack there (%v)", c.name, filepath.Base(file), err)
			}
		}
	}
}

// TestSchemaRefuses holds that the schema catches what an editor should underline.
func TestSchemaRefuses(t *testing.T) {
	s := compileSchema(t)
	for _, c := range []string{"no unit", "bare number", "unknown key", "unknown table", "unknown kind of case", "unknown run", "name with a space at its end", "tank without a name"} {
		edits := map[string][]string{
			"unknown run":         {`from = "Works"`, `form = "Works"`},
			"tank without a name": {"name = \"Lower tank\"\nlevel", "level"},
		}[c]
		for _, b := range badInputs {
			if b.name == c {
				edits = b.edits
			}
		}
		if err := validate(s, string(folder(t, edits...)["line.toml"].Data)); err == nil {
			t.Errorf("%s: accepted", c)
		}
	}
}

// TestSchemaKeys holds the schema's keys against those that the reader asks for, both ways.
func TestSchemaKeys(t *testing.T) {
	asked := map[string]map[string]bool{}
	for _, fsys := range []fs.FS{folder(t), minimalFolder(), gravityFolder(), thresholdFolder(t)} {
		r := newReader(fsys)
		r.asked = asked
		r.read(nil)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema()))
	if err != nil {
		t.Fatal(err)
	}
	known := map[string]map[string]bool{}
	schemaKeys(doc.(map[string]any), "", known)
	for _, pair := range []struct {
		a, b map[string]map[string]bool
		say  string
	}{{asked, known, "the reader asks for %q in [%s], the schema has no such key"}, {known, asked, "the schema has %q in [%s], the reader never asks for it"}} {
		for of, keys := range pair.a {
			for key := range keys {
				if !pair.b[of][key] {
					t.Errorf(pair.say, key, of)
				}
			}
		}
	}
}

// schemaKeys gathers the keys of every kind of table in a schema.
func schemaKeys(s map[string]any, of string, into map[string]map[string]bool) {
	for _, alt := range asList(s["oneOf"]) {
		schemaKeys(alt.(map[string]any), of, into)
	}
	if items, ok := s["items"].(map[string]any); ok {
		schemaKeys(items, of, into)
	}
	properties, _ := s["properties"].(map[string]any)
	for key, p := range properties {
		if into[of] == nil {
			into[of] = map[string]bool{}
		}
		into[of][key] = true
		schemaKeys(p.(map[string]any), strings.TrimPrefix(of+"."+key, "."), into)
	}
}

func asList(v any) []any {
	l, _ := v.([]any)
	return l
}

// TestMethodsPage holds that docs/methods/line.md explains every table and key of the schema.
func TestMethodsPage(t *testing.T) {
	data, err := os.ReadFile("../docs/methods/line.md")
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema()))
	if err != nil {
		t.Fatal(err)
	}
	known := map[string]map[string]bool{}
	schemaKeys(doc.(map[string]any), "", known)
	sections := map[string]string{}
	title := ""
	for part := range strings.SplitSeq(string(data), "\n") {
		if strings.HasPrefix(part, "### ") {
			title = strings.Trim(strings.TrimPrefix(part, "### "), "[`]")
		}
		sections[title] += part + "\n"
	}
	var missing []string
	for of, keys := range known {
		if of == "" || strings.HasPrefix(of, "practice.") {
			continue
		}
		for key := range keys {
			if known[strings.TrimPrefix(of+"."+key, ".")] != nil && !strings.HasPrefix(of, "practice") {
				continue // a table of its own
			}
			if !strings.Contains(sections[of], "| `"+key+"` |") {
				missing = append(missing, fmt.Sprintf("[%s] %s", of, key))
			}
		}
	}
	slices.Sort(missing)
	for _, m := range missing {
		t.Errorf("not explained: %s", m)
	}
}
