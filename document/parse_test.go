package document

import (
	"fmt"
	"strings"
	"testing"

	"obvert/quantity"
)

// told checks faults against "line:column what…", one a line, in order.
func told(t *testing.T, name string, got Faults, want ...string) {
	t.Helper()
	if len(got) != len(want) {
		t.Errorf("%s: %d faults, want %d:\n%s", name, len(got), len(want), got.Error())
		return
	}
	for i, f := range got {
		if s := strings.TrimPrefix(f.String(), f.File+":"); !matches(s, want[i]) {
			t.Errorf("%s:\n got %s\nwant %s", name, s, want[i])
		}
	}
}

// matches reports that the parts of want, split at "…", stand in s in order, the
// first at its front.
func matches(s, want string) bool {
	for i, part := range strings.Split(want, "…") {
		at := strings.Index(s, part)
		if at < 0 || i == 0 && at != 0 {
			return false
		}
		s = s[at+len(part):]
	}
	return true
}

func TestSyntax(t *testing.T) {
	for _, c := range []struct {
		text string
		want []string
	}{
		{"a = 1\nb = \"x\" # c\n[t]\n[[u]]\n[[u]]\n[u.v]\n", nil},
		{"\uFEFFa = 1\n", nil}, {"", nil}, {"# only\n\n", nil}, {"a = 1\r\n[t]\r\nb = 2\r\n", nil},
		{"bore = 450 mm\n", []string{`1:12: bore: the value is not in quotation marks: 450 mm. Write bore = "450 mm".`}},
		{"bore = 450 mm # inside\n", []string{`1:12:… Write bore = "450 mm".`}},
		{"flow = L/s\n", []string{`1:8: flow: … Write flow = "L/s".`}},
		{"ch = 1+250\n", []string{`1:7: ch: … Write ch = "1+250".`}}, {"f = 0,78\n", []string{`1:6: f: a decimal comma: 0,78. Write f = 0.78.`}},
		{"on = True\n", []string{`1:6: on: … Write on = true, or`}}, {"on = no\n", []string{`1:6: on: … Write on = false, or`}}, {"d = 25.11.2026\n", []string{`1:10: d: … Write d = 2026-11-25.`}},
		{"a =\nb = 1\n", []string{`1:4: a: no value stands behind the =. Write a = "…".`}}, {"a = # none\n", []string{`1:5: a: no value`}}, {"a\nb = 1\n", []string{`1:2: the line is neither a key nor a table: "a". Write key =`}},
		{"a: 1\n", []string{`1:2: …Put = between key and value, not a colon.`}}, {"// x\n", []string{`1:1: the line cannot be read… Begin a comment with #.`}},
		{"a = \"x\nb = 1\n", []string{`1:7: a: the text is not closed… Close it with ".`}}, {"a = 'x\n", []string{`1:7: a: the text is not closed… Close it with '.`}},
		{"a = “x”\n", []string{`1:5: a: the value stands in typographic quotation marks. Write them straight: "…".`}},
		{"p = \"C:\\temp\"\nq = \"C:\\data\"\n", []string{`2:8: q: a backslash begins a sign of its own`}}, {"a = \"450\" mm\n", []string{`1:11: a: something stands behind the value`}},
		{"bоre = \"1 m\"\n", []string{`1:2: bore: a key has a letter that only looks like a plain one: "о" (U+043E, Cyrillic) in "bоre". Write bore in plain letters.`}},
		{"größe = 1\n", []string{`1:3: …a key has letters outside a…z: "größe"`}}, {"[rün]\na = 1\n", []string{`1:3: a key has letters outside a…z`}},
		{"[run\nbore = 1\n", []string{`1:5: a table's header is not whole: [run. Write [run].`}}, {"[[run]\na = 1\n", []string{`1:6: a table's header is not whole: [[run]. Write [[run]].`}},
		{"[]\na = 1\n", []string{`1:2: a table's header cannot be read: "[]". Write [name]`}}, {"a = [1, 2\nb = 3\n", []string{`1:1: a: the value that begins here does not end. Close it with ].`}},
		{"a = [1, 2\n[t]\nb = 3\n", []string{`1:1: a: the value that begins here does not end`}}, {"a = [1, 2\n", []string{`1:1: a: the value that begins here does not end. Close it with ].`}},
		{"a = \"\"\"x\ny\n", []string{`1:1: a: the value that begins here does not end. Close it with """.`}}, {"a = [1 2]\n", []string{`1:8: a: the list or table cannot be read`}}, {"a = {b = 1\n", []string{`1:1: a: the value that begins here does not end. Close it with }.`}},
		{"a = [\n 1,\n 2 3,\n]\nb = x\n", []string{`3:4: a: the list or table cannot be read`, `5:5: b: the value is not in quotation marks: x`}},
		{"bad one\na = 450 mm\n[t\nb = \"x\nc = 'ok'\nd = [1,,2]\n", []string{"1:5: the line", "2:9: a: ", "3:3: a table's header", "4:7: t.b: the text is not closed", "6:8: t.d: the list"}},
		{"a = 1\x00\n", []string{"1:6: a: "}}, {"a = 1 \r b = 2\n", []string{"1:7: a: "}},
	} {
		_, faults := Parse("f", []byte(c.text))
		told(t, fmt.Sprintf("%q", c.text), faults, c.want...)
	}
}

func TestDuplicates(t *testing.T) {
	for _, c := range []struct {
		text string
		want []string
	}{
		{"a = 1\na = 2\n", []string{"2:1: a: the key stands twice in its table: it is on line 1 already. Keep one of the two."}},
		{"a = 1\n\"a\" = 2\n", []string{"2:1: a: the key stands twice"}}, {"x = {a = 1, a = 2}\n", []string{"1:13: x.a: the key stands twice"}},
		{"[t]\na = 1\n[t]\na = 1\nb = 450 mm\n", []string{"3:2: t: the table stands twice: it began on line 1. Keep its keys in one place, or write [[t]] where there are several.", "5:9: "}},
		{"[t]\n[[t]]\n", []string{"2:3: t: one table became a list of tables… Write [[t]] in both places."}}, {"[[t]]\n[t]\n", []string{"2:2: t: a list of tables became one table"}},
		{"t = 1\n[t]\n", []string{"2:2: t: the key is not a table: it is a whole number since line 1"}}, {"t = 1\nt.a = 2\n", []string{"2:1: t: nothing can be added to it here: it is a whole number since line 1"}},
		{"t = {a = 1}\n[t.b]\n", []string{"2:2: t: nothing can be added"}}, {"t.a = 1\n[t]\n", []string{"2:2: t: the table stands twice"}}, {"[a.b]\nc = 1\n[a]\nd = 1\n", nil},
		{"[a.b]\nc = 1\n[a]\nb.d = 1\n", []string{"4:1: a.b: nothing can be added"}}, {"[[a]]\n[a.b]\n[[a]]\n[a.b]\n", nil}, {"a = [1]\n[[a]]\n", []string{"2:3: a: the key is not a table: it is a list since line 1"}},
		{"[run]\nname = \"R\"\nbore = 1\nbore = 2\n", []string{`4:1: run "R".bore: the key stands twice`}}, {"a.b = 1\na.c = 2\na.b = 3\n", []string{"3:3: a.b: the key stands twice"}},
	} {
		_, faults := Parse("f", []byte(c.text))
		told(t, fmt.Sprintf("%q", c.text), faults, c.want...)
	}
}

func TestUnreadable(t *testing.T) {
	d, faults := Parse("f", append([]byte("a = \"x\"\nname = \"h"), 0xF6, 'h', 'e', 0xFC, '"'))
	told(t, "Windows-1252", faults, "2:10: the document is not valid UTF-8: byte 0xF6 stands alone, and 1 more of the kind follow. Save it as UTF-8")
	if _, ok := d.Root().Text("name", true); ok || len(d.Faults()) != 0 {
		t.Errorf("faults of a document that was not read: %v", d.Faults())
	}
	_, faults = Parse("f", []byte{0xFF, 0xFE, 'a', 0})
	told(t, "UTF-16", faults, "1:1: the document is not UTF-8: it begins with the mark of UTF-16. Save it as UTF-8.")
	_, faults = Parse("f", make([]byte, mostBytes+1))
	if len(faults) != 1 || faults[0].Line != 0 || !strings.Contains(faults[0].String(), "too large: 4.0 MB") {
		t.Error(faults)
	}
	if d, faults := Parse("f", []byte(strings.Repeat("#", mostBytes))); len(faults) != 0 || len(d.Bytes()) != mostBytes {
		t.Error(faults)
	}
}

// TestLarge: deep and long documents end, do not overflow and do not tell faults without number.
func TestLarge(t *testing.T) {
	const mb = 1 << 20
	key32 := strings.Repeat("a.", 31) + "a"
	for name, text := range map[string]string{
		"nested lists":     "a = " + strings.Repeat("[", mb) + strings.Repeat("]", mb),
		"nested tables":    "a = " + strings.Repeat("{a=", mb) + "1" + strings.Repeat("}", mb),
		"forty lists":      "a = " + strings.Repeat("[", 40) + strings.Repeat("]", 40),
		"a long key":       strings.Repeat("a.", mb/4) + "a = 1",
		"a long header":    "[" + strings.Repeat("a.", mb) + "a]\nb = 1",
		"unclosed texts":   strings.Repeat("a = \"\"\"\n", mb/8),
		"unclosed lists":   strings.Repeat("a = [\n", mb/8),
		"bad lines":        strings.Repeat("?\n", mb),
		"one bad line":     strings.Repeat("? ", mb),
		"bad values":       strings.Repeat("a = x\n", mb/6),
		"same keys":        strings.Repeat("a = 1\n", mb/6),
		"open headers":     strings.Repeat("[", 2*mb),
		"quotes":           strings.Repeat("\"", 2*mb),
		"bare numbers":     "a = [" + strings.Repeat("1,", mb/8) + "]",
		"deep and repeats": strings.Repeat("["+key32+"]\n", 5000),
	} {
		d, faults := Parse("f", []byte(text))
		d.Root().Quantities("a", quantity.Length, true)
		d.Root().Finish()
		all := append(faults, d.Faults()...)
		if len(all) == 0 || len(all) > 2*mostFaults+2 {
			t.Errorf("%s: %d faults", name, len(all))
		}
	}
	d, faults := Parse("f", []byte("a = ["+strings.Repeat("\"1 m\",", 100000)+"]\n"))
	v, ok := d.Root().Quantities("a", quantity.Length, true)
	if faults != nil || !ok || len(v) != 100000 || v[99999] != 1 {
		t.Error("a huge list is not read")
	}
}

// TestAfterAFault: what could be read is read, and what could not is not missed.
func TestAfterAFault(t *testing.T) {
	d, faults := Parse("f", []byte("bore = 450 mm\nwall = \"8\"\n[[run\nname = \"A\"\nlength = \"1 km\"\n[site]\nx = [\"1 m\"\ny = \"2 m\"\n"))
	if len(faults) != 3 {
		t.Fatal(faults)
	}
	r := d.Root()
	if _, ok := r.Quantity("bore", quantity.Length, true); ok {
		t.Error("bore is read")
	}
	r.Quantity("wall", quantity.Length, true)
	runs := r.List("run", true)
	if len(runs) != 1 || runs[0].Name() != "A" || runs[0].Path() != `run "A"` {
		t.Fatalf("runs: %v", runs)
	}
	if l, ok := runs[0].Quantity("length", quantity.Length, true); !ok || l != 1000 {
		t.Error(l, ok)
	}
	runs[0].Text("name", true)
	s, _ := r.Sub("site", true)
	s.Quantities("x", quantity.Length, true)
	if y, ok := s.Quantity("y", quantity.Length, true); !ok || y != 2 {
		t.Error(y, ok)
	}
	r.Finish()
	told(t, "after", d.Faults(), `2:8: wall: "8" is not a length: no unit.`)
}
