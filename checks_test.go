package obvert_test

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// checksPage is the page that says what holds the product to nature and to books.
const checksPage = "docs/checks.md"

// part is a part of the page, in its order, and words that its rows must have somewhere: a published case that is neither held nor excused
// fails.
type part struct {
	title string
	cases []string
}

// parts are the published cases that the product is held to.
var parts = []part{
	{"Water, air and the atmosphere", []string{"IAPWS R7-97", "IAPWS R12-08", "IAPWS R1-76", "Engineering Data Book, table 2.A.2", "Bilaniuk", "ISO 2533", "ASHRAE",
		"DIN 1343", "liquisearch.com", "Munson", "OIML R 111"}},
	{"Friction and local losses", []string{"Ex. 8-3", "Ex. 8-4", "Ex. 10.19", "Massey", "penstock", "polyethylene", "Ex. 8.8", "Ex. 8.5", "Ex. 11.4",
		"Ex. 14.3", "Moody", "Swamee", "table 3.A.1", "Ex. 11.1,", "table 3.B.1", "nozzles", "0.2083", "Ex. 5.4", "Ex. 12.4", "eqs 5.32–5.34", "table 5.1"}},
	{"Pumps and systems", []string{"system curves, worked example", "combined curves", "two pumps in parallel", "in series", "pump curves, Ex. 1", "pump curves, Ex. 2", "Ex. 12.5", "Ex. 14-2", "366.6",
		"Ex. 8.19", "pump data table"}},
	{"Pressure waves", []string{"Ex. 14.11", "Ex. 14.12", "Ex. 14.14", "Ex. 14.15", "Ex. 14.16", "Ex. 14.18", "penstock", "polyethylene", "Ex. 4.2", "table 4.1", "TM 5-813-9", "Ex. 13.4", "industry brief",
		"restraint", "thick", "Pearsall", "free gas"}},
	{"Collapse under vacuum", []string{"pp. 111–112", "16,250,000", "50.2e6", "F480", "M11", "Moser's buried form", "Scandinavian", "factors from 1.5 to 4", "5 psi, or collapse", "handling thickness", "1111"}},
	{"Air through openings", []string{"NACA Report 1135", "Ex. 12-5", "Ex. 12-6", "Ex. 9.4", "Ex. 11.3", "Discharge of air through an orifice", "flux", "Unwin", "sect. 64", "Jobson", "Tasca", "ISO 5167-2", "ISO 9300",
		"ISO 6358", "50 mm, 0.6", "incompressible", "four zones", "Cd = 0.7"}},
	{"Practice", []string{"every summit", "shut-off valve", "pump discharge", "1,250 to 2,500 ft", "1:500", "2 ft/s", "1 ft/s", "filling flows", "2 psi", "5 psi", "0.0007872", "drain", "burst",
		"2 % of the flow", "air capacity", "stand-by", "blow-off", "state rules", "minimum set", "1 in 120", "isolating gate", "DWS 2510/03", "C512", "EN 1074-4", "AS 4883", "AS/NZS 4936"}},
	{"Air in flowing water", []string{"Escarameia", "Wisner", "Kalinske", "Mosvoll", "Kent", "Corcos", "Benjamin", "Dumitrescu", "Pothof", "FD-4", "Quintana-Molina"}},
	{"Dissolved air", []string{"77A (1973) 133", "bulletin (8-80)", "G7-04", "Sander", "EN 25814", "16 °C"}},
	{"Leakage rates", []string{"ISO 5208", "piping-world.com", "EN 12266-1", "gas"}},
	{"Uncertainty", []string{"H.1", "H.2", "H.3", "9.2.2", "9.2.3", "9.2.4", "9.4"}},
	{"Sizing an air valve", []string{"Ex. 12.4, p. 12-28", "Ex. 11.17", "Ex. 14.1,", "DN 500"}},
	{"Columns of water", []string{"Ex. 13.3", "White", "Ex. 12.1"}},
	{"Draining", []string{"Torricelli", "part-open end valve", "closed top", "Coronado-Hernandez et al. (2022)", "constant air pressure", "Laanearu", "Tijsseling", "Fuertes-Miquel", "Water 9(2) 98", "Water 2025", "Romero"}},
	{"Filling and trapped air", []string{"Martin 1976", "lengthening column", "Liou & Hunt", "Zhou, Hicks & Steffler", "De Martino", "last air", "Lingireddy", "Apollonio", "Trindade", "Arregui", "Carlos", "Besharat"}},
	{"Tanks that run down", []string{"Cengel & Cimbala", "Natarajan", "Sarkar", "Lal, Hydraulics, Ex. 5.18", "Ex. 5.19", "Paradise", "Schaschke, Ex. 6.3", "Ex. 6.6", "Choudhary", "engineeringprep.com", "White"}},
	{"Lengths on the earth", []string{"9602", "9807", "1024", "Caister", "Snyder", "Flinders", "Vincenty", "Aviation Formulary", "PROJ"}},
	{"Files for other programs", []string{"ezdxf", "LandXML 1.2", "ECMA-376", "ISO 32000-1", "pdftotext", "ISO 3098", "mandoc"}},
}

// heads of the three kinds of table.
const (
	heldHead   = "| case | source | compared | within | test |"
	openHead   = "| case | source | why no test |"
	scriptHead = "| script | makes | read by | run |"
)

// scriptTitle is the part that tells how to run the scripts again.
const scriptTitle = "Numbers from other programs"

// row is a row of a table of the page.
type row struct {
	line  int
	title string // of the part
	head  string // of the table
	cells []string
}

// rows takes the page apart. Titles are those of second order, in the page's order.
func rows(page string) (all []row, titles []string) {
	head, title := "", ""
	for i, text := range strings.Split(page, "\n") {
		text = strings.TrimSpace(text)
		switch {
		case strings.HasPrefix(text, "## "):
			title, head = strings.TrimPrefix(text, "## "), ""
			titles = append(titles, title)
		case !strings.HasPrefix(text, "|"):
			head = ""
		case head == "":
			head = text
		case strings.Trim(text, "|- ") != "":
			cells := strings.Split(strings.Trim(text, "|"), "|")
			for k := range cells {
				cells[k] = strings.TrimSpace(cells[k])
			}
			all = append(all, row{i + 1, title, head, cells})
		}
	}
	return all, titles
}

var (
	named = regexp.MustCompile("^`([a-z0-9/]+)` ((?:Test|Example)[A-Za-z0-9_]*(?:, (?:Test|Example)[A-Za-z0-9_]*)*)$")
	// weighed is what tells how much a source is worth: a place in it, its kind, or that there is none.
	weighed = regexp.MustCompile(`(?i)\d|from memory|by ourselves|common practice|\.com|\.org|abstract|forum|withheld`)
)

// testsOf is what a cell names, as "folder.Test". Packages are divided by semicolons.
func testsOf(cell string) ([]string, error) {
	var all []string
	for each := range strings.SplitSeq(cell, ";") {
		m := named.FindStringSubmatch(strings.TrimSpace(each))
		if m == nil {
			return nil, fmt.Errorf("%q is not `folder` TestA, TestB; …", cell)
		}
		for name := range strings.SplitSeq(m[2], ", ") {
			all = append(all, m[1]+"."+name)
		}
	}
	return all, nil
}

// checkPage returns what is wrong with a page, by the tests that exist, the parts that are wanted and the scripts there are.
func checkPage(page string, exists map[string]bool, want []part, scripts []string) []string {
	var wrong []string
	fault := func(r row, format string, args ...any) {
		wrong = append(wrong, fmt.Sprintf("%s:%d: ", checksPage, r.line)+fmt.Sprintf(format, args...))
	}
	all, titles := rows(page)
	said := map[string]string{} // by part
	listed := map[string]bool{}
	for _, r := range all {
		columns := strings.Count(r.head, "|") - 1
		if len(r.cells) != columns || slices.Contains(r.cells, "") {
			fault(r, "%d full cells, want %d: %s", len(r.cells), columns, r.cells)
			continue
		}
		said[r.title] += "\n" + strings.Join(r.cells[:2], " ")
		tests := ""
		switch r.head {
		case heldHead, openHead:
			if len([]rune(r.cells[1])) < 8 || !weighed.MatchString(r.cells[1]) {
				fault(r, "%q is no source: author, work and place, or that it is from memory, by ourselves, common practice", r.cells[1])
			}
			if r.head == heldHead {
				tests = r.cells[4]
			}
		case scriptHead:
			listed[strings.Trim(r.cells[0], "`")] = true
			tests = r.cells[2]
		default:
			fault(r, "a table of the kind %q is not known", r.head)
		}
		if tests == "" {
			continue
		}
		names, err := testsOf(tests)
		if err != nil {
			fault(r, "%v", err)
		}
		for _, name := range names {
			if !exists[name] {
				fault(r, "there is no %s", name)
			}
		}
	}
	var wanted []string
	for _, p := range want {
		wanted = append(wanted, p.title)
		for _, c := range p.cases {
			if !strings.Contains(said[p.title], c) {
				wrong = append(wrong, fmt.Sprintf("%s: nothing said of %q under %q", checksPage, c, p.title))
			}
		}
	}
	if wanted = append(wanted, scriptTitle); !slices.Equal(titles, wanted) {
		wrong = append(wrong, fmt.Sprintf("%s: parts are\n%q\nwant\n%q", checksPage, titles, wanted))
	}
	for _, s := range scripts {
		if !listed[s] {
			wrong = append(wrong, fmt.Sprintf("%s: %s is not listed under %q", checksPage, s, scriptTitle))
		}
		delete(listed, s)
	}
	for s := range listed {
		wrong = append(wrong, fmt.Sprintf("%s: there is no script %s", checksPage, s))
	}
	return wrong
}

// written are the tests of the module, as "folder.Test", with the file each stands in, and the scripts beside tests.
func written(t *testing.T) (tests map[string]string, scripts []string) {
	t.Helper()
	tests = map[string]string{}
	set := token.NewFileSet()
	err := filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && path != "." && (strings.HasPrefix(d.Name(), ".") || d.Name() == "node_modules" || d.Name() == "out") {
			return filepath.SkipDir
		}
		path = filepath.ToSlash(path)
		switch {
		case strings.HasSuffix(path, ".py") && strings.Contains(path, "/testdata/"):
			scripts = append(scripts, path)
		case strings.HasSuffix(path, "_test.go"):
			f, err := parser.ParseFile(set, path, nil, parser.SkipObjectResolution)
			if err != nil {
				return err
			}
			folder := "."
			if i := strings.LastIndexByte(path, '/'); i >= 0 {
				folder = path[:i]
			}
			for _, decl := range f.Decls {
				if fn, ok := decl.(*ast.FuncDecl); ok && fn.Recv == nil && fn.Body != nil && len(fn.Body.List) > 0 &&
					(strings.HasPrefix(fn.Name.Name, "Test") || strings.HasPrefix(fn.Name.Name, "Example")) {
					tests[folder+"."+fn.Name.Name] = path
				}
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return tests, scripts
}

// TestChecksPage holds the page to the tests: every row has its source and a test that exists, every published case is held or says why
// not, every test in a file of published cases is on the page, every script is told of, and what a script made lies beside it.
func TestChecksPage(t *testing.T) {
	data, err := os.ReadFile(checksPage)
	if err != nil {
		t.Fatal(err)
	}
	page := string(data)
	tests, scripts := written(t)
	exists := map[string]bool{}
	for name := range tests {
		exists[name] = true
	}
	for _, wrong := range checkPage(page, exists, parts, scripts) {
		t.Error(wrong)
	}
	shown := map[string]bool{}
	all, _ := rows(page)
	for _, r := range all {
		cell := ""
		switch r.head {
		case heldHead:
			cell = r.cells[len(r.cells)-1]
		case scriptHead:
			cell = r.cells[2]
			for made := range strings.SplitSeq(r.cells[1], ", ") {
				if made = strings.Trim(made, "`"); strings.HasSuffix(made, ".json") {
					if _, err := os.Stat(made); err != nil {
						t.Errorf("%s:%d: %v", checksPage, r.line, err)
					}
				}
			}
		}
		names, _ := testsOf(cell)
		for _, name := range names {
			shown[name] = true
		}
	}
	for name, path := range tests {
		if strings.HasSuffix(path, "/published_test.go") && !shown[name] {
			t.Errorf("%s: %s is on no row of %s", path, name, checksPage)
		}
	}
}

// TestChecksRule breaks the page in every way: a gate that never closed is none.
func TestChecksRule(t *testing.T) {
	want := []part{{"One", []string{"Ex. 1", "Ex. 2"}}}
	exists, scripts := map[string]bool{"physics/pipe.TestA": true, "num.TestB": true}, []string{"num/testdata/x.py"}
	page := "# Page\n\n## One\n\n" + heldHead + "\n|---|---|---|---|---|\n| a | Author, Ex. 1 | b | 1 % | `physics/pipe` TestA; `num` TestB |\n\n" +
		openHead + "\n|---|---|---|\n| c | Author, Ex. 2 | abstract only |\n\n## " + scriptTitle + "\n\n" + scriptHead + "\n|---|---|---|---|\n| `num/testdata/x.py` | `num/testdata/x.json` | `num` TestB | python3 |\n"
	if wrong := checkPage(page, exists, want, scripts); len(wrong) > 0 {
		t.Fatalf("a sound page: %q", wrong)
	}
	for what, change := range map[string][2]string{
		"no physics/pipe.TestC": {"TestA;", "TestC;"},
		"there is no":           {"`num` TestB |\n\n", "`line` TestB |\n\n"},
		"is not `folder`":       {"`physics/pipe` TestA;", "TestA;"},
		"is no source":          {"Author, Ex. 1", "somebody wise"},
		"full cells":            {"Author, Ex. 1", ""},
		"want 5":                {" b | 1 % |", " b |"},
		"Ex. 2":                 {"Author, Ex. 2", "Author, Ex. 3"},
		"parts are":             {"## One", "## Two"},
		"is not listed":         {"| `num/testdata/x.py` | `num/testdata/x.json` | `num` TestB | python3 |\n", ""},
		"there is no script":    {"`num/testdata/x.py`", "`num/testdata/y.py`"},
		"is not known":          {"| why no test |", "| because |"},
	} {
		broken := strings.Replace(page, change[0], change[1], 1)
		if broken == page {
			t.Errorf("%q changes nothing", change[0])
		}
		if wrong := strings.Join(checkPage(broken, exists, want, scripts), "\n"); !strings.Contains(wrong, what) {
			t.Errorf("%q for %q: %q says nothing of %q", change[1], change[0], wrong, what)
		}
	}
}
