package pdf

import (
	"bytes"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/go-fonts/dejavu/dejavusans"
	"github.com/go-fonts/dejavu/dejavusansbold"
)

func newDoc(t *testing.T, o Options) *Doc {
	t.Helper()
	if o.Regular == nil {
		o.Regular = dejavusans.TTF
	}
	d, err := New(o)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// plain writes a document of two pages without compression, so that a test can read it.
func plain(t *testing.T, o Options, page func(d *Doc)) string {
	t.Helper()
	d := newDoc(t, o)
	d.f.SetCompression(false)
	d.Page(200, 100)
	page(d)
	b, err := d.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func TestPath(t *testing.T) {
	id := matrix{a: 1, d: 1}
	for _, c := range []struct{ data, want string }{
		{"M1 2L3 4Z", "1 2 m 3 4 l h"},
		{"M1,2 3,4-5-6", "1 2 m 3 4 l -5 -6 l"}, // pairs after a move are lines
		{"m1 2l3 4h5v6z", "1 2 m 4 6 l 9 6 l 9 12 l h"},
		{"M0 0H10V20", "0 0 m 10 0 l 10 20 l"},
		{"M0 0C1 2 3 4 5 6S9 10 11 12", "0 0 m 1 2 3 4 5 6 c 7 8 9 10 11 12 c"},       // the control point is mirrored: 2·5−3, 2·6−4
		{"M0 0Q3 3 6 0T12 0", "0 0 m 2 2 4 2 6 0 c 8 -2 10 -2 12 0 c"},                // raised by thirds: (0+2·3)/3 = 2
		{"M1.5.5L1e1 2", "1.5 0.5 m 10 2 l"},                                          // numbers without blanks, exponents
		{"M1 0A1 1 0 0 1 0 1", "1 0 m 1 0.55 0.55 1 0 1 c"},                           // a quarter circle: 4/3·tan(π/8) = 0.5523
		{"M0 0A5 5 0 0 0 0 0L1 1", "0 0 m 1 1 l"},                                     // an arc to where it stands is nothing
		{"M0 0A0 5 0 0 0 3 4", "0 0 m 3 4 l"},                                         // without a radius it is a line
		{"M0 0A1 1 0 0110 0", "0 0 m 0 -2.76 2.24 -5 5 -5 c 7.76 -5 10 -2.76 10 0 c"}, // too small a radius grows to reach; flags without blanks
	} {
		b, err := pathTo(nil, c.data, id)
		if got := strings.TrimSpace(string(b)); err != nil || got != c.want {
			t.Errorf("%s: %q, %v; want %q", c.data, got, err, c.want)
		}
	}
	for _, bad := range []string{"1 2", "M1", "M1 2X3", "M1 2A1 1 0 2 0 1 1", "M1 2Z3", "Mx 1", "M1e999 0"} {
		if b, err := pathTo(nil, bad, id); err == nil {
			t.Errorf("%s: read as %q", bad, b)
		}
	}
}

func TestTransform(t *testing.T) {
	for _, c := range []struct {
		s    string
		x, y float64
	}{
		{"translate(3 4)", 5, 5},
		{"scale(2)translate(1)", 6, 2},
		{"rotate(90)", -1, 2},
		{"rotate(90 2 1)", 2, 1},
		{"matrix(1 0 0 -1 10 20)", 12, 19},
	} {
		m, err := transform(c.s)
		if x, y := m.at(2, 1); err != nil || math.Hypot(x-c.x, y-c.y) > 1e-12 {
			t.Errorf("%s: (%g, %g), %v; want (%g, %g)", c.s, x, y, err, c.x, c.y)
		}
	}
	for _, bad := range []string{"skewX(3)", "rotate(", "rotate(a)"} {
		if _, err := transform(bad); err == nil {
			t.Errorf("%s was read", bad)
		}
	}
}

func TestCascade(t *testing.T) {
	s := ParseStyle(`:root{--a:#102030;--b:#fff} @media screen{:root{--a:#f00}} @media print{:root{--b:#abc}}
		@font-face{font-family:x;src:url(y)} /* {a comment} */
		path{fill:none;stroke:var(--a)} .x{stroke:#010101;stroke-width:2px} svg .x{stroke:#020202} .x.y{stroke:#030303}
		g>.x{stroke-dasharray:1 2} rect.c{fill:var(--b)} .look{fill:#fff!important;stroke:currentColor} .w{color:#0a0b0c;fill:#0a0b0c}
		.p:hover{stroke:#f00} svg text{font:600 13px "A B",serif;paint-order:stroke} .s{font-size:12px}
		@media (min-width:10px){path{stroke:#f00}} @media print,(min-width:1081px){.m{stroke-width:3}}`)
	root := &node{tag: "svg", key: "svg"}
	at := func(parent *node, tag, classes string) *look {
		n := &node{tag: tag, classes: strings.Fields(classes), parent: parent, key: parent.key + ">" + tag + "." + classes}
		return s.look(n, nil, "")
	}
	colour := func(p paint) Colour { c, _ := p.of(rootLook()); return c }
	if l := at(root, "path", ""); colour(l.stroke) != (Colour{0x10, 0x20, 0x30}) || !l.fill.none {
		t.Errorf("a path: %+v", l)
	}
	if l := at(root, "path", "x"); colour(l.stroke) != (Colour{2, 2, 2}) || l.width != 2 {
		t.Errorf("svg .x outweighs .x and path: %+v", l)
	}
	if l := at(root, "path", "x y"); colour(l.stroke) != (Colour{3, 3, 3}) {
		t.Errorf(".x.y outweighs svg .x: %+v", l)
	}
	if l := at(root, "path", "x"); l.dash != nil {
		t.Error("g>.x held outside a g")
	}
	g := &node{tag: "g", parent: root, key: "g", look: rootLook()}
	if l := at(g, "path", "x"); len(l.dash) != 2 {
		t.Error("g>.x did not hold in a g")
	}
	if l := at(g, "g", "x"); len(l.dash) != 2 || colour(l.stroke) != (Colour{2, 2, 2}) {
		t.Errorf("a descendant: %+v", l)
	}
	if l := at(root, "rect", "c"); colour(l.fill) != (Colour{0xaa, 0xbb, 0xcc}) {
		t.Errorf("the variable of print: %+v", l)
	}
	l := at(root, "circle", "look w")
	stroke, ok := l.stroke.of(l)
	if colour(l.fill) != (Colour{255, 255, 255}) || !ok || stroke != (Colour{10, 11, 12}) {
		t.Errorf("what is important and what is current: %+v", l)
	}
	if l := at(root, "text", "s"); l.size != 12 && l.size != 13 || !l.bold || !l.strokeFirst {
		t.Errorf("a text: %+v", l)
	}
	if l := at(root, "path", "m"); l.width != 3 {
		t.Errorf("a list of media with print: %+v", l)
	}
	if c := s.Colour("a"); c != (Colour{0x10, 0x20, 0x30}) {
		t.Errorf("Colour: %v", c)
	}
}

func TestDraw(t *testing.T) {
	s := ParseStyle(`path{fill:none} .a{stroke:#000;stroke-width:2;stroke-dasharray:4 2} .f{fill:#ff0000} .h{paint-order:stroke;stroke:#fff;stroke-width:3px}`)
	out := plain(t, Options{}, func(d *Doc) {
		err := d.Draw(`<svg viewBox="0 0 20 10"><title>left out</title><path class="a" d="M0 0L20 10"/><rect class="f" x="5" y="5" width="10" height="5"/>`+
			`<clipPath id="c"><rect x="0" y="0" width="10" height="10"/></clipPath><g clip-path="url(#c)"><circle class="f" cx="5" cy="5" r="2" opacity=".5"/></g>`+
			`<text class="h" x="10" y="5" text-anchor="middle" transform="rotate(90 10 5)">a &lt; b</text></svg>`, s, 10, 20, 100)
		if err != nil {
			t.Fatal(err)
		}
	})
	// 20 units over 100 pt: five points to a unit; y from the foot of a page 100 pt high
	for _, want := range []string{
		"q 0 0 0 RG 10 w 4 M [20 10 ]0 d 10 80 m 110 30 l S Q",
		"q 1 0 0 rg 35 55 m 85 55 l 85 30 l 35 30 l 35 55 l h f Q",
		"q 10 80 m 60 80 l 60 30 l 10 30 l 10 80 l h W n",
		"/Span<</ActualText()>>BDC", "1 Tr", "0.00000 -1.00000 1.00000 0.00000", "/ca 0.500",
	} {
		if !strings.Contains(out, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	if strings.Count(out, "left out") != 0 {
		t.Error("the title was set")
	}
	d := newDoc(t, Options{})
	d.Page(100, 100)
	for _, bad := range []string{`<svg/>`, `<svg viewBox="0 0 1"/>`, `<svg viewBox="0 0 0 1"/>`, `<svg viewBox="0 0 1 1"><image/></svg>`, `<svg viewBox="0 0 1 1"><path d="M1"/></svg>`,
		`<svg viewBox="0 0 1 1"><g clip-path="url(#no)"/></svg>`, `<svg viewBox="0 0 1 1"><g transform="skewX(1)"/></svg>`, `<svg viewBox="0 0 1 1"><tspan>x</tspan></svg>`, `<svg viewBox="0 0 1 1"><title>`} {
		if err := d.Draw(bad, s, 0, 0, 10); err == nil {
			t.Errorf("%s was painted", bad)
		}
	}
}

func TestDocument(t *testing.T) {
	write := func(date time.Time) []byte {
		d := newDoc(t, Options{Semibold: dejavusansbold.TTF, Title: "Größe → Δ", Author: "A (B)", Creator: "Test", Language: "en", Date: date})
		d.Page(595, 842)
		d.Bookmark(3, "first", 20) // the first is raised to the top
		d.Text(20, 40, "one → two", Type{Size: 10})
		d.Text(20, 60, "bold", Type{Size: 10, Bold: true})
		d.Page(842, 595)
		d.Bookmark(1, "below it", 30)
		d.Turn(1)
		d.Link(20, 30, 50, 12, 2, 30)
		d.Line(0, 0, 10, 10, 1, Colour{1, 2, 3}, 2, 1)
		d.Fill(0, 0, 10, 10, Colour{255, 0, 0})
		d.Frame(0, 0, 10, 10, 1, Colour{})
		b, err := d.Bytes()
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	a := write(time.Time{})
	if !bytes.Equal(a, write(time.Time{})) {
		t.Error("the same calls gave different bytes")
	}
	if bytes.Contains(a, []byte("CreationDate")) || bytes.Contains(a, []byte("ModDate")) {
		t.Error("an undated document bears a date")
	}
	b := write(time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC))
	if !bytes.Contains(b, []byte("/CreationDate (D:20260301000000)")) {
		t.Error("the date is missing")
	}
	for what, n := range map[string]int{"/Type /Page\n": 2, "/FontFile2": 2, "/Type /Outlines": 1, "/MediaBox [0 0 842.00 595.00]": 1, "/XYZ 0 565.00": 2, "/XYZ 0 822.00": 1} {
		if got := bytes.Count(b, []byte(what)); got != n {
			t.Errorf("%q comes %d times, not %d", what, got, n)
		}
	}
	check(t, a)
	check(t, b)
}

// check has a document read by an independent program.
func check(t *testing.T, b []byte) {
	t.Helper()
	p, err := exec.LookPath("qpdf")
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("qpdf is not installed: the document was not checked")
		}
		t.Log("qpdf is not installed: the document was not checked")
		return
	}
	name := filepath.Join(t.TempDir(), "a.pdf")
	if err := os.WriteFile(name, b, 0o600); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command(p, "--check", name).CombinedOutput(); err != nil {
		t.Errorf("qpdf: %v\n%s", err, out)
	}
}

func TestFaces(t *testing.T) {
	d := newDoc(t, Options{})
	d.Page(100, 100)
	// DejaVu Sans, table hmtx: A is 1401 of 2048 units wide
	if w := d.Width("AA", Type{Size: 2048}); math.Abs(w-2802) > 1e-9 {
		t.Errorf("the width of AA is %g", w)
	}
	if w := d.Width("A\u00adA\n", Type{Size: 2048}); math.Abs(w-2802-651) > 1e-9 { // a soft hyphen is nothing, a line's end a space (651)
		t.Errorf("the width with what is cleaned is %g", w)
	}
	asked := 0
	e, err := New(Options{Regular: latinOnly(t), Fallback: func() []byte { asked++; return dejavusans.TTF }})
	if err != nil {
		t.Fatal(err)
	}
	e.Page(100, 100)
	e.Text(0, 10, "plain", Type{Size: 10})
	if asked != 0 {
		t.Error("the fallback was asked for without need")
	}
	e.Text(0, 10, "a → 龍 😀", Type{Size: 10})
	if asked != 1 {
		t.Errorf("the fallback was asked for %d times", asked)
	}
	if got := string(e.Missing()); got != "龍" {
		t.Errorf("missing: %q", got)
	}
	if _, err := e.Bytes(); err != nil {
		t.Error(err)
	}
	for _, bad := range [][]byte{nil, []byte("wOFF"), dejavusans.TTF[:2000], append([]byte("OTTO"), dejavusans.TTF[4:]...)} {
		if _, err := New(Options{Regular: bad}); err == nil {
			t.Error("a broken font was taken")
		}
	}
	if _, err := newDoc(t, Options{}).Bytes(); err == nil {
		t.Error("a document without a page was written")
	}
}

// latinOnly is the report's own font, which lacks arrows to the right.
func latinOnly(t *testing.T) []byte {
	t.Helper()
	b, err := os.ReadFile("../../deliver/fonts/source-sans-3-400.ttf")
	if err != nil {
		t.Fatal(err)
	}
	return b
}
