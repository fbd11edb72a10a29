package document

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2"

	"obvert/quantity"
)

var seeds = []string{
	whole, "", "a = 450 mm\n", "a = \"1,5 m\"\nb = [1, 2\nc = 3\n[t\nd = 1\n", "[[run]]\nname = \"A\"\n[[run]]\nname = \"A\"\n", "bоre = \"1 m\"\n", "a = {b = {c = [[[]]]}}\n",
	"a.b.c = 1\na.b.d = 2\n[a.e]\n", "\uFEFFa = 1\r\n", "a = \"\"\"\nx\n\"\"\"\n", "a = '''x''' # c", "a = \"\\u00e9\\n\"", "a = 2026-11-25\nb = 2026-02-30\nc = 10:00:00\n", "\xff", "\x00", "a = [\n# c\n1,\n]", "a = [",
	"[", "[[", "[]", "]", "=", "a", "a =", "\"\" = 1\n", "a = {", "a = {}\n", "a = nan\nb = inf\nc = 1e999\nd = 0x1F\n", "[a]\n[a.b]\n[a]\n", "[a.b]\n[a]\n[a.b.c]\n", "[[a]]\n[a.b]\n[[a]]\n[a.b]\n", "a = 1\na.b = 2\n",
}

// readAll walks a document through every reader.
func readAll(t *Table, depth int) {
	for _, key := range t.Keys() {
		t.Raw(key)
		t.Text(key, true)
		t.Choice(key, true, "pumping", "standing")
		t.Bool(key, true)
		t.Int(key, true)
		t.Float(key, true)
		t.Quantity(key, quantity.Length, true)
		t.Money(key, quantity.Money, true)
		t.Quantities(key, quantity.Flow, true)
		t.Texts(key, true)
		t.Rows(key, true, quantity.Flow, quantity.Length)
		t.Date(key, true)
		t.Report(key, Fault{What: "x"})
		if sub, ok := t.Sub(key, true); ok && depth < 100 {
			readAll(sub, depth+1)
		}
		for _, e := range t.List(key, true) {
			if depth < 100 {
				readAll(e, depth+1)
			}
		}
	}
	t.Text("missing", true)
}

// checkFaults: every fault has a place within the file and can be shown.
func checkFaults(t *testing.T, data []byte, faults Faults) {
	t.Helper()
	lines := 1 + bytes.Count(data, []byte("\n"))
	for _, f := range faults {
		if f.What == "" || f.Line < 0 || f.Line > lines || f.Column < 0 || f.Column > len(data)+1 {
			t.Fatalf("%q: %#v", data, f)
		}
		var b bytes.Buffer
		f.Render(&b, 80)
		for line := range strings.SplitSeq(b.String(), "\n") {
			if utf8.RuneCountInString(line) > 80 || strings.ContainsAny(line, "\x00\r") {
				t.Fatalf("%q: %q", data, line)
			}
		}
	}
}

// FuzzParse: no panic, places within the file, bytes kept; and a second reader of
// TOML (the unmarshaller of go-toml, which judges duplicates by itself) accepts
// what this one accepts, and the other way round.
func FuzzParse(f *testing.F) {
	for _, s := range seeds {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		d, faults := Parse("f", data)
		if d.sound && !bytes.Equal(d.Bytes(), data) {
			t.Fatal("the bytes were changed")
		}
		readAll(d.Root(), 0)
		d.Root().Finish()
		checkFaults(t, data, faults)
		checkFaults(t, data, d.Faults())
		var m map[string]any
		err := toml.Unmarshal(bytes.TrimPrefix(data, []byte("\uFEFF")), &m)
		switch {
		case err == nil && faults.Err() != nil && !bounded(faults):
			t.Fatalf("%q is refused: %v", data, faults)
		case err != nil && faults.Err() == nil && !ofContent(err.Error()):
			t.Fatalf("%q is accepted: %v", data, err)
		}
	})
}

// bounded: faults of our own bounds, which the other reader does not have.
func bounded(faults Faults) bool {
	s := faults.Error()
	return strings.Contains(s, " parts") || strings.Contains(s, "nested more than")
}

// ofContent: faults of dates and numbers, which are judged here when they are read.
func ofContent(s string) bool {
	for _, part := range []string{"date", "time", "offset", "number", "integer", "float", "digit", "year", "month", "day", "hour", "minute", "second", "value out of range", "underscore", "range", "int64"} {
		if strings.Contains(s, part) {
			return true
		}
	}
	return false
}

// FuzzSet: a change either is refused and changes nothing, or leaves a document
// without fault in which the key has the value, and nothing before the key's
// table has moved.
func FuzzSet(f *testing.F) {
	for _, s := range seeds {
		for _, path := range []string{"a", "new", "run[1].name", `run "A".x`, "a.b", "t.d", "x.y[2].z"} {
			f.Add([]byte(s), path, `"450 mm"`)
		}
	}
	f.Add([]byte("a = 1\n"), "a", "1 # c")
	f.Add([]byte("a = 1\n"), "b", "[1,\n2]")
	f.Fuzz(func(t *testing.T, data []byte, path, text string) {
		d, faults := Parse("f", data)
		if faults.Err() != nil {
			return
		}
		keys := countKeys(d.Root())
		if err := d.Set(path, text); err != nil {
			if !bytes.Equal(d.Bytes(), data) {
				t.Fatalf("%q changed to %q on error %v", data, d.Bytes(), err)
			}
			return
		}
		if !bytes.Contains(d.Bytes(), []byte(strings.Trim(text, " \t"))) {
			t.Fatalf("%q has no %q", d.Bytes(), text)
		}
		if _, faults := Parse("f", d.Bytes()); faults.Err() != nil {
			t.Fatalf("%q: %v", d.Bytes(), faults)
		}
		if text == `"450 mm"` && countKeys(d.Root()) > keys+1 {
			t.Fatalf("%q → %q: more keys than one came", data, d.Bytes())
		}
		now := d.Bytes()
		if err := d.Set(path, text); err != nil || !bytes.Equal(d.Bytes(), now) {
			t.Fatalf("setting again: %v, %q → %q", err, now, d.Bytes())
		}
	})
}

func countKeys(t *Table) int {
	n := len(t.items)
	for _, it := range t.items {
		for _, e := range append(it.value.list, it.value) {
			if e.table != nil {
				n += countKeys(e.table)
			}
		}
	}
	return n
}

func BenchmarkParse(b *testing.B) {
	data := []byte(strings.Repeat("[[run]]\nname = \"Ridge\"\nbore = \"450 mm\" # c\ncurve = [[\"0 L/s\", \"62 m\"], [\"20 L/s\", \"58 m\"]]\n", 1000))
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		if _, faults := Parse("f", data); faults != nil {
			b.Fatal(faults)
		}
	}
}
