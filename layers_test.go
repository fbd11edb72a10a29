package obvert_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// floors are the layers of the house, lowest first. A package may import what lies on a lower floor, never what lies
// beside or above it (see docs/architecture.md).
var floors = [][]string{
	{"quantity", "num"},
	{"document"},
	{"physics"},
	{"line"},
	{"bench", "rig"},
	{"engine"},
	{"study"},
	{"formats"},
	{"survey"},
	{"deliver"},
	{"store"},
	{"server"},
	{"cmd"},
}

// beside names the folders whose packages may import one another: physics builds on water and air. Engines may not,
// study hands numbers from one to the next.
var beside = []string{"physics"}

// outside is what each folder up to and with study may take besides the standard library and gonum, with its reason.
var outside = map[string][]string{
	"document": {"github.com/pelletier/go-toml/v2/unstable", // syntax of TOML with positions
		"golang.org/x/text/", "golang.org/x/net/html/charset"}, // encodings in which XML comes
	"line": {"golang.org/x/text/"}, // encodings in which profiles come
}

// worldly are the parts of the standard library that reach files, network, database or another process.
var worldly = []string{"os", "net", "database", "syscall", "plugin", "path/filepath", "log"}

// clock are the functions of package time that read the clock or wait for it.
var clock = []string{"Now", "Since", "Until", "After", "AfterFunc", "Tick", "NewTimer", "NewTicker", "Sleep"}

// source is one Go file of the module.
type source struct {
	path   string // from the module's root, with slashes
	folder string // of the file
	file   *ast.File
	set    *token.FileSet
}

// sources parses every Go file of the module that is not a test.
func sources(t *testing.T) []source {
	t.Helper()
	var all []source
	set := token.NewFileSet()
	err := filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name := d.Name()
		if d.IsDir() {
			if path != "." && (strings.HasPrefix(name, ".") || name == "testdata" || name == "node_modules" || name == "out") {
				return filepath.SkipDir
			}
			return nil
		}
		if !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
			return nil
		}
		f, err := parser.ParseFile(set, path, nil, parser.ParseComments)
		if err != nil {
			return err
		}
		path = filepath.ToSlash(path)
		folder := "."
		if i := strings.LastIndexByte(path, '/'); i >= 0 {
			folder = path[:i]
		}
		all = append(all, source{path, folder, f, set})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(all) == 0 {
		t.Fatal("no Go file found")
	}
	return all
}

// module is the module's name as go.mod has it.
func module(t *testing.T) string {
	t.Helper()
	data, err := os.ReadFile("go.mod")
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(data)) {
		if name, ok := strings.CutPrefix(line, "module "); ok {
			return strings.TrimSpace(name)
		}
	}
	t.Fatal("go.mod names no module")
	return ""
}

// floorOf is the floor a folder stands on, −1 where it has no place in the house.
func floorOf(folder string) int {
	top, _, _ := strings.Cut(folder, "/")
	return slices.IndexFunc(floors, func(names []string) bool { return slices.Contains(names, top) })
}

// mayImport tells whether the package in one folder may import the one in another.
func mayImport(from, to string) bool {
	a, b := floorOf(from), floorOf(to)
	if a < 0 || b < 0 {
		return false
	}
	if b < a || strings.HasPrefix(to, from+"/") || strings.HasPrefix(from, to+"/") {
		return true // below, or a part of the same package's own
	}
	top, _, _ := strings.Cut(from, "/")
	other, _, _ := strings.Cut(to, "/")
	return top == other && slices.Contains(beside, top)
}

// within tells whether an import path is one of the roots or lies under it.
func within(path string, roots []string) bool {
	return slices.ContainsFunc(roots, func(root string) bool {
		return path == root || strings.HasPrefix(path, strings.TrimSuffix(root, "/")+"/")
	})
}

// checkImport returns what is wrong with one import, "" if nothing.
func checkImport(mod, folder, path string) string {
	if own, ok := strings.CutPrefix(path, mod+"/"); ok {
		if !mayImport(folder, own) {
			return "points up or sideways: imports " + own
		}
		return ""
	}
	if floorOf(folder) > floorOf("study") {
		return ""
	}
	if within(path, worldly) {
		return "imports " + path + ": files, network, processes belong above study"
	}
	first, _, _ := strings.Cut(path, "/")
	top, _, _ := strings.Cut(folder, "/")
	if strings.Contains(first, ".") && !within(path, []string{"gonum.org/v1/gonum"}) && !within(path, outside[top]) {
		return "imports " + path + ": up to study only the standard library and gonum"
	}
	return ""
}

// TestImportsPointDown holds the house to its plan.
func TestImportsPointDown(t *testing.T) {
	mod := module(t)
	for _, s := range sources(t) {
		if s.file.Name.Name == "main" && strings.Contains(s.folder+"/", "/internal/") {
			continue // a generator, not part of the product
		}
		if strings.HasPrefix(s.folder, "internal/") {
			continue // helpers of tests: nothing of the product may import them, as the rule below has it
		}
		if floorOf(s.folder) < 0 {
			t.Errorf("%s: folder %q has no place in the house: give it a floor in layers_test.go and docs/architecture.md", s.path, s.folder)
			continue
		}
		for _, spec := range s.file.Imports {
			path, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				t.Fatal(err)
			}
			if wrong := checkImport(mod, s.folder, path); wrong != "" {
				t.Errorf("%s: %s", s.set.Position(spec.Pos()), wrong)
			}
		}
		if floorOf(s.folder) <= floorOf("study") {
			clockless(t, s)
		}
	}
}

// clockless fails where a file reads the clock or waits for it.
func clockless(t *testing.T, s source) {
	t.Helper()
	name := ""
	for _, spec := range s.file.Imports {
		if spec.Path.Value == `"time"` {
			name = "time"
			if spec.Name != nil {
				name = spec.Name.Name
			}
		}
	}
	if name == "" {
		return
	}
	ast.Inspect(s.file, func(n ast.Node) bool {
		sel, ok := n.(*ast.SelectorExpr)
		if !ok {
			return true
		}
		if id, ok := sel.X.(*ast.Ident); ok && id.Name == name && slices.Contains(clock, sel.Sel.Name) {
			t.Errorf("%s: %s.%s: the clock belongs above study", s.set.Position(sel.Pos()), name, sel.Sel.Name)
		}
		return true
	})
}

// TestLayerRule breaks the rule on purpose: a gate that never closed is none.
func TestLayerRule(t *testing.T) {
	for _, c := range []struct {
		folder, path string
		fine         bool
	}{
		{"physics/valve", "m/quantity", true},
		{"physics/valve", "m/physics/air", true},
		{"engine/sealing", "m/physics/valve", true},
		{"study", "m/engine/grade", true},
		{"cmd/obvert", "os", true},
		{"engine/grade", "gonum.org/v1/gonum/mat", true},
		{"document", "github.com/pelletier/go-toml/v2/unstable", true},
		{"survey", "m/line", true},
		{"deliver", "m/formats/dxf", true},
		{"formats/xlsx", "github.com/xuri/excelize/v2", true},
		{"deliver/internal/advances", "m/deliver", true},

		{"engine/sealing", "m/engine/grade", false},
		{"physics/valve", "m/line", false},
		{"line", "m/study", false},
		{"cmd/obvert", "m/internal/schematest", false},
		{"study", "m/deliver", false},
		{"formats/dxf", "m/formats/xlsx", false},
		{"survey", "m/deliver", false},
		{"quantity", "m/num", false},
		{"engine/grade", "m/util", false},
		{"line", "os", false},
		{"study", "net/http", false},
		{"bench", "database/sql", false},
		{"physics/pipe", "github.com/spf13/cobra", false},
	} {
		if wrong := checkImport("m", c.folder, c.path); (wrong == "") != c.fine {
			t.Errorf("%s imports %s: %q", c.folder, c.path, wrong)
		}
	}
}
