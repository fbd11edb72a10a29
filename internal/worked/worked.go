// Package worked holds the worked numbers of the methods pages to what the code reckons. Only tests import it.
package worked

import (
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// head is the heading of the table on a methods page.
const head = "## Worked numbers"

// Row is one worked number of a page.
type Row struct {
	Key    string  // first column, in back quotes
	Figure float64 // the figure the last column begins with
	Last   float64 // one in its last digit
	Text   string  // the last column
}

// Hold compares the table under "Worked numbers" of docs/methods/page.md with the values reckoned, by key: each figure must
// be the value rounded to the digits printed, each row must have a value and each value a row. The value is in the
// row's own unit.
func Hold(t *testing.T, page string, values map[string]float64) {
	t.Helper()
	path := filepath.Join(Root(t), "docs", "methods", page)
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	rows, faults := Rows(string(data))
	for _, f := range faults {
		t.Errorf("%s: %s", page, f)
	}
	seen := map[string]bool{}
	for _, r := range rows {
		if seen[r.Key] {
			t.Errorf("%s: %s stands twice", page, r.Key)
		}
		seen[r.Key] = true
		v, ok := values[r.Key]
		switch {
		case !ok:
			t.Errorf("%s: nothing reckons %s", page, r.Key)
		case !(math.Abs(v-r.Figure) <= 0.5000001*r.Last):
			t.Errorf("%s: %s is %s on the page, reckoned %.9g", page, r.Key, r.Text, v)
		}
	}
	for k, v := range values {
		if !seen[k] {
			t.Errorf("%s: has no row for %s = %.9g", page, k, v)
		}
	}
}

// Rows reads the table under "Worked numbers", and tells what in it cannot be read.
func Rows(page string) (rows []Row, faults []string) {
	_, rest, found := strings.Cut("\n"+page, "\n"+head+"\n")
	if !found {
		return nil, []string{"has no table under " + head}
	}
	if i := strings.Index(rest, "\n## "); i >= 0 {
		rest = rest[:i]
	}
	for l := range strings.Lines(rest) {
		l = strings.TrimSpace(l)
		if !strings.HasPrefix(l, "| `") {
			continue
		}
		cells := strings.Split(strings.Trim(l, "|"), "|")
		key := strings.Trim(strings.TrimSpace(cells[0]), "`")
		text := strings.TrimSpace(cells[len(cells)-1])
		figure, last, ok := leading(text)
		if !ok || len(cells) < 2 {
			faults = append(faults, key+": no figure begins "+strconv.Quote(text))
			continue
		}
		rows = append(rows, Row{key, figure, last, text})
	}
	if len(rows) == 0 && len(faults) == 0 {
		faults = append(faults, "the table under "+head+" is empty")
	}
	return rows, faults
}

// leading reads the figure a text begins with and one in its last digit: "1,234.5 m" is 1234.5 and 0.1, "1.31e-6" is 1e-8.
func leading(s string) (figure, last float64, ok bool) {
	s, _, _ = strings.Cut(strings.ReplaceAll(strings.TrimSpace(s), "\u2212", "-"), " ")
	s = strings.ReplaceAll(s, ",", "")
	figure, err := strconv.ParseFloat(s, 64)
	if err != nil {
		return 0, 0, false
	}
	mantissa, exponent, _ := strings.Cut(strings.ToLower(s), "e")
	power := 0
	if exponent != "" {
		if power, err = strconv.Atoi(exponent); err != nil {
			return 0, 0, false
		}
	}
	if _, decimals, has := strings.Cut(mantissa, "."); has {
		power -= len(decimals)
	}
	return figure, math.Pow(10, float64(power)), true
}

// Root is the module's folder, found from the package under test upwards.
func Root(t *testing.T) string {
	t.Helper()
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return dir
		}
		up := filepath.Dir(dir)
		if up == dir {
			t.Fatal("no go.mod above " + dir)
		}
		dir = up
	}
}
