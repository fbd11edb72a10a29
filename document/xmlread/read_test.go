package xmlread

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"runtime"
	"strings"
	"testing"
	"unicode/utf16"
)

// walk writes the pieces of a file one after another.
func walk(data []byte) (string, error) {
	r, err := New(data)
	if err != nil {
		return "", err
	}
	var b strings.Builder
	for {
		k, err := r.Next()
		switch {
		case err != nil:
			return b.String(), err
		case k == Begin:
			fmt.Fprintf(&b, "<%s", r.Name())
			for _, a := range r.Attributes() {
				fmt.Fprintf(&b, " %s=%q", a.Name, a.Value)
			}
			fmt.Fprintf(&b, " @%d>", r.Line())
		case k == Text:
			fmt.Fprintf(&b, "[%s]", r.Text())
		case k == EndOf:
			fmt.Fprintf(&b, "</%s>", r.Name())
		case k == EndFile:
			return b.String(), nil
		}
	}
}

func TestWalk(t *testing.T) {
	const file = "<?xml version='1.0'?>\n<!-- a < b -->\n<n:root xmlns:n=\"x\" n:a='1 &lt; 2' b=\"&#x3b1;&#233;\">x &amp; y<![CDATA[<z>]]>\n<e\n c = \"\"/><!-- > --></n:root >\n<?end?>\n"
	got, err := walk([]byte(file))
	want := `<root a="1 < 2" b="αé" @3>[x & y][<z>][` + "\n" + `]<e c="" @4></e></root>`
	if err != nil || got != want {
		t.Errorf("%s, %v\nwant %s", got, err, want)
	}
}

func TestEncodings(t *testing.T) {
	const text = "<a>Höhe ≥ 5</a>"
	utf := func(order func(u uint16) []byte, bom bool) []byte {
		var b []byte
		if bom {
			b = order(0xFEFF)
		}
		for _, u := range utf16.Encode([]rune(text)) {
			b = append(b, order(u)...)
		}
		return b
	}
	little := func(u uint16) []byte { return []byte{byte(u), byte(u >> 8)} }
	big := func(u uint16) []byte { return []byte{byte(u >> 8), byte(u)} }
	for name, data := range map[string][]byte{
		"plain": []byte(text), "mark": []byte("\xef\xbb\xbf" + text), "said": []byte("<?xml version=\"1.0\" encoding=\"UTF-8\"?>" + text),
		"16le": utf(little, true), "16be": utf(big, true), "16le bare": utf(little, false), "16be bare": utf(big, false),
	} {
		if got, err := walk(data); err != nil || got != "<a @1>[Höhe ≥ 5]</a>" {
			t.Errorf("%s: %s, %v", name, got, err)
		}
	}
	latin := []byte("<?xml version=\"1.0\" encoding=\"ISO-8859-1\"?><a>H\xf6he</a>")
	if got, err := walk(latin); err != nil || got != "<a @1>[Höhe]</a>" {
		t.Errorf("%s, %v", got, err)
	}
	for data, word := range map[string]string{
		"<a>\n\xf6</a>": ":2: a character that is not UTF-8",
		"<?xml version=\"1.0\" encoding=\"EBCDIC-x\"?><a/>": "not known",
		"<a>\x00</a>":                "zero bytes",
		strings.Repeat("\x00", 9):    "zero bytes",
		"PK\x03\x04\x14\x00\x00\x00": "zero bytes",
	} {
		if _, err := walk([]byte(data)); err == nil || !strings.Contains(Fault("x", err).String(), word) {
			t.Errorf("%q: %v says nothing of %q", data, err, word)
		}
	}
}

func TestRefused(t *testing.T) {
	for data, word := range map[string]string{
		"":                                     "no element",
		"<a>":                                  "cut short",
		"<a":                                   "cut short",
		"<a></b>":                              "do not match",
		"</a>":                                 "nothing open",
		"<a/><b/>":                             "second root",
		"x<a/>":                                "text outside",
		"<a/>y":                                "text outside",
		"<a b=1/>":                             "without quotes",
		"<a b/>":                               "not well formed",
		"<a b='1'c='2'/>":                      "not well formed",
		"<a b='1' b='2'/>":                     "twice",
		"<a b='<'/>":                           "< inside",
		"<a b='1/>":                            "without an end",
		"<a>&b;</a>":                           "not known",
		"<a>&#0;</a>":                          "not known",
		"<a>& b</a>":                           "begins no reference",
		"<a>< b</a>":                           "begins no tag",
		"<a><!-- </a>":                         "comment without an end",
		"<a><![CDATA[ </a>":                    "CDATA section without",
		"<a><?x </a>":                          "instruction without",
		"<!DOCTYPE a><a/>":                     "document type",
		"<a " + attributes(201) + "/>":         "more than 200 attributes",
		strings.Repeat("<a>", 300):             "200 deep",
		"<" + strings.Repeat("a", 1000) + "/>": "a name of 1000 bytes",
		"<a " + strings.Repeat("a", 1000) + "='1'/>": "not well formed",
	} {
		if _, err := walk([]byte(data)); err == nil || !strings.Contains(err.Error(), word) {
			t.Errorf("%.60q: %v says nothing of %q", data, err, word)
		}
	}
}

func attributes(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "a%d='' ", i)
	}
	return b.String()
}

// What could make a small file large, or a walk slow, stays within the file's own size.
func TestBombs(t *testing.T) {
	const million = 1_000_000
	for name, data := range map[string]string{
		"entities":  "<!DOCTYPE l [<!ENTITY a \"" + strings.Repeat("lol", 100) + "\"><!ENTITY b \"" + strings.Repeat("&a;", 100) + "\">]><l>&b;</l>",
		"deep":      strings.Repeat("<a>", million),
		"attribute": "<a b='" + strings.Repeat("&amp;", million) + "'/>",
		"text":      "<a>" + strings.Repeat("&#65;", million) + "</a>",
		"comments":  "<a>" + strings.Repeat("x<!---->", million) + "</a>",
		"name":      "<" + strings.Repeat("a", 5*million),
		"ends":      "<a>" + strings.Repeat("</", million),
	} {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		r, err := New([]byte(data))
		if err == nil {
			if err = r.Root("a", "test"); err == nil {
				_, err = r.Content()
			}
		}
		runtime.ReadMemStats(&after)
		if grown := after.TotalAlloc - before.TotalAlloc; grown > 8*uint64(len(data))+1_000_000 {
			t.Errorf("%s: %d bytes allocated for %d (%v)", name, grown, len(data), err)
		}
	}
}

func TestNumber(t *testing.T) {
	for text, want := range map[string]float64{" 12.5\n": 12.5, "-3": -3, "1e3": 1000, "+.5": 0.5} {
		if got, ok := Number([]byte(text)); !ok || got != want {
			t.Errorf("%q: %v %v", text, got, ok)
		}
	}
	for _, text := range []string{"", " ", "NaN", "INF", "0x10", "1_000", "1,5", "1e999", "1 2", "--1", strings.Repeat("1", 70)} {
		if got, ok := Number([]byte(text)); ok {
			t.Errorf("%q is %v", text, got)
		}
	}
}

// FuzzWalk holds the walk against encoding/xml: what both read has the same elements, and nothing panics or stands still.
func FuzzWalk(f *testing.F) {
	for _, s := range []string{"<a/>", "<a b='1'>x<!-- --><c/></a>", "<?xml version=\"1.0\"?><a>&lt;<![CDATA[x]]></a>", "\xff\xfe<\x00", "<a:b xmlns:a='x' a:c=\"&#65;\"/>"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		r, err := New(data)
		if err != nil {
			return
		}
		var mine []string
		for n := 0; ; n++ {
			if n > 2*len(data)+10 {
				t.Fatal("it does not end")
			}
			k, e := r.Next()
			if e != nil {
				if _, again := r.Next(); again != e {
					t.Fatalf("%v, then %v", e, again)
				}
				return
			}
			if line := r.Line(); line < 1 || line > 1+bytes.Count(r.data, []byte("\n")) {
				t.Fatalf("line %d", line)
			}
			if k == EndFile {
				break
			}
			if k == Begin {
				mine = append(mine, string(r.Name()))
			}
		}
		d := xml.NewDecoder(bytes.NewReader(r.data))
		var theirs []string
		for {
			token, e := d.RawToken()
			if e == io.EOF {
				break
			}
			if e != nil {
				return // stricter about letters of names and the like
			}
			if s, ok := token.(xml.StartElement); ok {
				theirs = append(theirs, s.Name.Local)
			}
		}
		if len(mine) != len(theirs) {
			t.Fatalf("%q: elements %q, by encoding/xml %q", r.data, mine, theirs)
		}
	})
}
