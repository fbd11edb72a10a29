package obvert_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"reflect"
	"strconv"
	"strings"
	"testing"

	"obvert/quantity"
)

// tagged are the folders whose exported structs carry figures that reach a person.
var tagged = []string{"physics", "line", "bench", "engine", "study"}

// untaggable are the structs that go without tags, each with its reason. One that needs no exception any more fails the test.
var untaggable = map[string]string{
	"bench.Estimate":       "in the unit of whatever was estimated",
	"bench.StraightLine":   "in the units of the points it was fitted to",
	"bench.Propagated":     "in the unit of whatever was propagated",
	"bench.Certificate":    "in the unit of the instrument it belongs to",
	"bench.Correction":     "in the unit of the instrument it belongs to",
	"air.Reference":        "an argument, never shown; units in its doc comment",
	"opening.Test":         "an argument, never shown; units in its doc comment",
	"opening.ISO6358":      "an argument, never shown; units in its doc comment",
	"opening.Orifice":      "an argument, never shown; units in its doc comment",
	"opening.Softened":     "an argument, never shown; units in its doc comment",
	"opening.TooMuchError": "an error, shown by its own text",
}

// figures knows which named types of the module are numbers with a fraction: a table heading needs their unit.
type figures map[string]bool

// key names a type by package and name.
func (f figures) key(pkg, name string) string { return pkg + "." + name }

// isFigure tells whether a field's type is a number with a fraction, or a list, table or pointer of them. Whole numbers
// are indices and counts: they may go without a unit.
func (f figures) isFigure(pkg string, e ast.Expr) bool {
	switch e := e.(type) {
	case *ast.Ident:
		return e.Name == "float64" || e.Name == "float32" || f[f.key(pkg, e.Name)]
	case *ast.SelectorExpr:
		x, ok := e.X.(*ast.Ident)
		return ok && f[f.key(x.Name, e.Sel.Name)]
	case *ast.ArrayType:
		return f.isFigure(pkg, e.Elt)
	case *ast.StarExpr:
		return f.isFigure(pkg, e.X)
	case *ast.MapType:
		return f.isFigure(pkg, e.Value)
	case *ast.ParenExpr:
		return f.isFigure(pkg, e.X)
	}
	return false
}

// types walks the type declarations of a file.
func types(file *ast.File, visit func(*ast.TypeSpec)) {
	for _, d := range file.Decls {
		g, ok := d.(*ast.GenDecl)
		if !ok || g.Tok != token.TYPE {
			continue
		}
		for _, spec := range g.Specs {
			visit(spec.(*ast.TypeSpec))
		}
	}
}

// figuresOf gathers the named types that are figures, through as many names as there are.
func figuresOf(files []*ast.File) figures {
	f := figures{}
	for before := -1; before != len(f); {
		before = len(f)
		for _, file := range files {
			types(file, func(spec *ast.TypeSpec) {
				if f.isFigure(file.Name.Name, spec.Type) {
					f[f.key(file.Name.Name, spec.Name.Name)] = true
				}
			})
		}
	}
	return f
}

// lack is one field that lacks its unit.
type lack struct{ owner, field, place, why string }

// untagged returns what is wrong with the fields of a file's exported structs.
func untagged(set *token.FileSet, file *ast.File, f figures) (wrong []lack, fields int) {
	types(file, func(spec *ast.TypeSpec) {
		s, ok := spec.Type.(*ast.StructType)
		if !ok || !spec.Name.IsExported() {
			return
		}
		for _, field := range s.Fields.List {
			for _, name := range field.Names {
				if !name.IsExported() {
					continue
				}
				fields++
				if why := fieldFault(file.Name.Name, field, s, f); why != "" {
					owner := f.key(file.Name.Name, spec.Name.Name)
					wrong = append(wrong, lack{owner, name.Name, set.Position(name.Pos()).String(), why})
				}
			}
		}
	})
	return wrong, fields
}

// fieldFault says what is wrong with a field's unit, "" if nothing.
func fieldFault(pkg string, field *ast.Field, s *ast.StructType, f figures) string {
	tag, has := "", false
	if field.Tag != nil {
		text, err := strconv.Unquote(field.Tag.Value)
		if err != nil {
			return err.Error()
		}
		tag, has = reflect.StructTag(text).Lookup("unit")
	}
	if !has {
		if f.isFigure(pkg, field.Type) && !namesUnit(s) {
			return `a figure without a unit tag: write unit:"m³/s", or unit:"1" for a plain number`
		}
		return ""
	}
	for unit := range strings.SplitSeq(tag, ",") { // a table has a unit for each column
		if !quantity.Known(unit) {
			return "unit " + strconv.Quote(unit) + " is not one that quantity knows"
		}
	}
	return ""
}

// namesUnit tells whether a struct carries its unit as text in a field of its own.
func namesUnit(s *ast.StructType) bool {
	for _, field := range s.Fields.List {
		for _, name := range field.Names {
			if id, ok := field.Type.(*ast.Ident); name.Name == "Unit" && ok && id.Name == "string" {
				return true
			}
		}
	}
	return false
}

// TestFiguresHaveUnits walks every exported struct and fails on a figure without a unit.
func TestFiguresHaveUnits(t *testing.T) {
	all := sources(t)
	files := make([]*ast.File, len(all))
	for i, s := range all {
		files[i] = s.file
	}
	known, seen, excused := figuresOf(files), 0, map[string]bool{}
	for _, s := range all {
		if !within(s.folder, tagged) {
			continue
		}
		wrong, fields := untagged(s.set, s.file, known)
		seen += fields
		for _, w := range wrong {
			if _, ok := untaggable[w.owner]; ok {
				excused[w.owner] = true
				continue
			}
			t.Errorf("%s: %s.%s: %s", w.place, w.owner, w.field, w.why)
		}
	}
	for owner := range untaggable {
		if !excused[owner] {
			t.Errorf("%s needs no exception any more: take it out of untaggable", owner)
		}
	}
	if seen < 100 {
		t.Errorf("only %d exported fields seen: is the walk looking in the right folders?", seen)
	}
}

// TestTagRule breaks the rule on purpose.
func TestTagRule(t *testing.T) {
	const text = `package p
type Gauge float64
type Result struct {
	A float64
	B []float64 ` + "`unit:\"m³/s\"`" + `
	C Gauge
	D [][2]float64 ` + "`unit:\"m³/s,m\"`" + `
	E map[string]float64
	F float64 ` + "`unit:\"furlongs\"`" + `
	G float64 ` + "`unit:\"\"`" + `
	H, I *float64
	N int
	s float64
}
type Line struct { Value float64; Unit string }
type inner struct { A float64 }
`
	set := token.NewFileSet()
	file, err := parser.ParseFile(set, "p.go", text, parser.SkipObjectResolution)
	if err != nil {
		t.Fatal(err)
	}
	wrong, fields := untagged(set, file, figuresOf([]*ast.File{file}))
	var got []string
	for _, w := range wrong {
		got = append(got, w.field)
	}
	if want := "A C E F G H I"; strings.Join(got, " ") != want {
		t.Errorf("found %v, want %s", got, want)
	}
	if fields != 12 {
		t.Errorf("%d fields seen, want 12", fields)
	}
}
