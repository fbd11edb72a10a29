package quantity

import (
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the table of units into the methods page")

const (
	page      = "../docs/methods/quantity.md"
	pageBegin = "<!-- units: written by go test ./quantity -update -->\n"
	pageEnd   = "<!-- end of units -->\n"
)

// TestPage fails when the table of units in the methods page is out of date.
func TestPage(t *testing.T) {
	data, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	before, rest, ok1 := strings.Cut(string(data), pageBegin)
	was, after, ok2 := strings.Cut(rest, pageEnd)
	if !ok1 || !ok2 {
		t.Fatalf("%s has lost the marks around its table", page)
	}
	now := unitTable()
	if was == now {
		return
	}
	if !*update {
		t.Fatalf("%s is out of date: run go test ./quantity -update", page)
	}
	if err := os.WriteFile(page, []byte(before+pageBegin+now+pageEnd+after), 0o644); err != nil {
		t.Fatal(err)
	}
}

// unitTable writes every kind with its units, what one of each is in SI, and the
// other accepted spellings.
func unitTable() string {
	var b strings.Builder
	for _, k := range Kinds() {
		fmt.Fprintf(&b, "\n### %s\n\nIn SI: %s. Example: `%s`.\n\n", title(k), inSI(k), k.Example())
		if k == Money {
			b.WriteString("A figure and an ISO 4217 code.\n")
			continue
		}
		if k.isMoney() {
			b.WriteString("A figure, an ISO 4217 code, a stroke and a unit: ")
			b.WriteString("`" + strings.Join(Units(k), "`, `") + "`.\n")
			continue
		}
		b.WriteString("| unit | one is, in SI | also written |\n|---|---|---|\n")
		for _, u := range tables[k].units {
			also := ""
			if len(u.also) > 0 {
				also = "`" + strings.Join(u.also, "`, `") + "`"
			}
			fmt.Fprintf(&b, "| `%s` | %s | %s |\n", u.name, worth(u), also)
		}
	}
	return b.String()
}

func inSI(k Kind) string {
	if k.SI() == "1" {
		return "a plain number"
	}
	return k.SI()
}

func title(k Kind) string {
	_, name, _ := strings.Cut(k.String(), " ")
	return strings.ToUpper(name[:1]) + name[1:]
}

// worth writes what one of a unit is in SI, to ten digits.
func worth(u unit) string {
	s := fmt.Sprintf("%.10g", u.n/u.d)
	if u.shift != 0 {
		s += fmt.Sprintf(", after adding %g", u.shift)
	}
	return s
}
