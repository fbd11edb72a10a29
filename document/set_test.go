package document

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"obvert/quantity"
)

func TestSet(t *testing.T) {
	for _, c := range []struct{ text, path, value, want string }{
		{"# top\na = \"1 m\" # one\nb = 2\n", "a", `"450 mm"`, "# top\na = \"450 mm\" # one\nb = 2\n"},
		{"a   =   1   # c\n", "a", "2", "a   =   2   # c\n"},
		{"a = [1, # x\n 2]\nb = 1\n", "a", "[3]", "a = [3]\nb = 1\n"},
		{"[t]\n  a = 1 # c\n\n# about u\n[u]\n", "t.b", "2", "[t]\n  a = 1 # c\n  b = 2\n\n# about u\n[u]\n"},
		{"[t]\n[u]\na = 1\n", "t.b", "2", "[t]\nb = 2\n[u]\na = 1\n"},
		{"[t] # c", "t.b", "2", "[t] # c\nb = 2"},
		{"a = 1", "b", "2", "a = 1\nb = 2"},
		{"a = 1\r\n[t]\r\n", "b", "2", "a = 1\r\nb = 2\r\n[t]\r\n"},
		{"# about the file\n\n# about t\n[t]\n", "b", "2", "# about the file\n\nb = 2\n# about t\n[t]\n"},
		{"", "b", "2", "b = 2\n"}, {"\uFEFF[t]\n", "b", "2", "\uFEFFb = 2\n[t]\n"},
		{"[[run]]\nname = \"A\"\n[[run]]\nname = \"B b\" # x\n", "run[2].bore", `"1 m"`, "[[run]]\nname = \"A\"\n[[run]]\nname = \"B b\" # x\nbore = \"1 m\"\n"},
		{"[[run]]\nname = \"A\"\n[[run]]\nname = \"B b\"\nbore = \"2 m\"\n", `run "B b".bore`, `"1 m"`, "[[run]]\nname = \"A\"\n[[run]]\nname = \"B b\"\nbore = \"1 m\"\n"},
		{"x = { a = 1, b = 2 } # c\n", "x.a", "3", "x = { a = 3, b = 2 } # c\n"}, {"x = { a = 1 }\n", "x.b", "2", "x = { a = 1, b = 2 }\n"}, {"x = {}\n", "x.b", "2", "x = { b = 2 }\n"},
		{"x = [{ n = 1 }, { n = 2 }]\n", "x[2].n", "5", "x = [{ n = 1 }, { n = 5 }]\n"},
		{"s.a = 1\ns.b.c = 2\n[t]\n", "s.b.d", "3", "s.a = 1\ns.b.c = 2\ns.b.d = 3\n[t]\n"}, {"[a.b]\nc = 1\n", "a.x", "2", "[a.b]\nc = 1\n\n[a]\nx = 2\n"},
		{"a = 1\n", `"odd key"`, `"x"`, "a = 1\n\"odd key\" = \"x\"\n"}, {"l = [\n  1,\n  2,\n]\n[t]\n", "b", "3", "l = [\n  1,\n  2,\n]\nb = 3\n[t]\n"},
		{"a = \"\"\"x\ny\"\"\" # c\nb = 1\n", "a", "'z'", "a = 'z' # c\nb = 1\n"}, {"a = 1 # 2\n", "a", "{ b = 1 }", "a = { b = 1 } # 2\n"},
	} {
		d := parsed(t, c.text)
		if err := d.Set(c.path, c.value); err != nil {
			t.Errorf("%q %s: %v", c.text, c.path, err)
			continue
		}
		if got := string(d.Bytes()); got != c.want {
			t.Errorf("%s = %s in %q:\n got %q\nwant %q", c.path, c.value, c.text, got, c.want)
		}
	}
}

func TestSetRefused(t *testing.T) {
	const text = "a = 1\n[t]\nb = 2\n[[run]]\nname = \"A\"\n[[run]]\nname = \"A\"\n"
	for _, c := range []struct{ path, value, want string }{
		{"a", "450 mm", "write it in quotation marks"}, {"a", "", "not one TOML value"}, {"a", "1 # c", "not one TOML value"}, {"a", "1\nb = 2", "not one TOML value"}, {"a", `"x`, "not one TOML value"}, {"a", "{a=1,a=2}", "not one"},
		{"t", "1", "is a table"}, {"run", "1", "is a list of tables"}, {"run[1]", "1", "names a table"}, {"run[3].x", "1", "no table of run"}, {`run "A".x`, "1", "two tables"}, {`run "B".x`, "1", "no table of run"},
		{"u.b", "1", "no table u"}, {"a.b", "1", "no table of a"}, {"", "1", "not a path"}, {"a..b", "1", "not a path"}, {"run[0].x", "1", "not a path"}, {"run[.x", "1", "not a path"}, {"a b", "1", "not a path"}, {"a.", "1", "not a path"},
	} {
		d := parsed(t, text)
		err := d.Set(c.path, c.value)
		if err == nil || !strings.Contains(err.Error(), c.want) || string(d.Bytes()) != text {
			t.Errorf("%s = %q: %v, want …%s…", c.path, c.value, err, c.want)
		}
	}
	d, _ := Parse("f", []byte("a = x\nb = 1\n"))
	if err := d.Set("b", "2"); err == nil {
		t.Error("a document with faults is changed")
	}
}

// TestSetKeepsOldTables: tables from before go on showing what they showed.
func TestSetKeepsOldTables(t *testing.T) {
	d := parsed(t, "a = \"1 m\"\n\n\nb = \"x\"\n")
	old := d.Root()
	if err := d.Set("a", `"""1

m"""`); err != nil {
		t.Fatal(err)
	}
	_, line, _, _ := old.Raw("b")
	_, moved, _, _ := d.Root().Raw("b")
	same(t, "lines", fmt.Sprint(line, moved), "4 6")
	old.Quantity("b", quantity.Length, true)
	told(t, "the new document", d.Faults())
}

// document draws a document with comments, odd spaces, tables of every sort; its
// values are all scalars.
func document(t *rapid.T) string {
	var b strings.Builder
	end := rapid.SampledFrom([]string{"\n", "\r\n"}).Draw(t, "end")
	key := func(i int) string { return fmt.Sprintf("k%d", i) }
	value := rapid.SampledFrom([]string{`"450 mm"`, "1", "'x # y'", "2026-01-01", "true", "-1.5e3", `"a\"b"`, "[1, 2]", "{ x = 1 }", `"ä µ ³"`, "[\n 1, # c\n]"})
	comment := rapid.SampledFrom([]string{"", " # c", "   #", "\t# ä"})
	lines := func(header string) {
		b.WriteString(header + comment.Draw(t, "comment") + end)
		for i := range rapid.IntRange(0, 4).Draw(t, "keys") {
			if rapid.Bool().Draw(t, "gap") {
				b.WriteString("# about" + end + end)
			}
			b.WriteString(rapid.SampledFrom([]string{"", "  ", "\t"}).Draw(t, "indent") + key(i) + rapid.SampledFrom([]string{" = ", "=", "  =\t"}).Draw(t, "equals"))
			b.WriteString(value.Draw(t, "value") + comment.Draw(t, "comment") + end)
		}
	}
	lines("# top")
	for i := range rapid.IntRange(0, 3).Draw(t, "tables") {
		lines(fmt.Sprintf("[t%d]", i))
		lines("[[run]]")
	}
	return b.String()
}

// TestSetRoundTrip: only the value changes, and setting it back gives the same
// bytes; a key that is added is one line, and everything else stays.
func TestSetRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := document(t)
		d, faults := Parse("f", []byte(text))
		if faults != nil {
			t.Fatal(faults)
		}
		tables := []*Table{d.root}
		for _, it := range d.root.items {
			for _, e := range append(it.value.list, it.value) {
				if e.table != nil && e.table.origin == headerOrigin {
					tables = append(tables, e.table)
				}
			}
		}
		tab := rapid.SampledFrom(tables).Draw(t, "table")
		key := rapid.SampledFrom([]string{"k0", "k1", "new"}).Draw(t, "key")
		path, it := tab.pathTo(key), tab.find(key)
		if err := d.Set(path, `"changed"`); err != nil {
			t.Fatal(err)
		}
		now := d.Bytes()
		if it == nil {
			if got := len(now) - len(text); !bytes.Contains(now, []byte(key+` = "changed"`)) || got > 30 {
				t.Fatalf("%q → %q", text, now)
			}
			without := strings.Split(string(now), "\n")
			for i, l := range without {
				if strings.TrimSpace(l) == key+` = "changed"` {
					without = append(without[:i], without[i+1:]...)
					break
				}
			}
			if strings.Join(without, "\n") != text {
				t.Fatalf("more than a line was added: %q → %q", text, now)
			}
			return
		}
		before := text[it.value.at:it.end]
		if want := text[:it.value.at] + `"changed"` + text[it.end:]; string(now) != want {
			t.Fatalf("got %q\nwant %q", now, want)
		}
		if err := d.Set(path, before); err != nil || string(d.Bytes()) != text {
			t.Fatalf("setting %s back: %v\n%q\n%q", before, err, d.Bytes(), text)
		}
	})
}
