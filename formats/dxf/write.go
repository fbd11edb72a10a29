package dxf

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// writer writes pairs of group code and value and keeps the first thing that cannot be written.
type writer struct {
	b       bytes.Buffer
	layers  map[string]bool
	types   map[string]bool
	styles  map[string]bool
	blocks  map[string]bool
	current string // what is being written, for errors
	err     error
}

func (w *writer) fail(format string, a ...any) {
	if w.err == nil {
		w.err = fmt.Errorf("dxf: "+w.current+": "+format, a...)
	}
}

func (w *writer) str(code int, v string) {
	fmt.Fprintf(&w.b, "%3d\n%s\n", code, v)
}

func (w *writer) int(code, v int) { fmt.Fprintf(&w.b, "%3d\n%6d\n", code, v) }

// num writes a real with six decimals at most: a millionth of a drawing unit.
func (w *writer) num(code int, v float64) {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		w.fail("a coordinate is %v", v)
		v = 0
	}
	w.str(code, real(v))
}

func real(v float64) string {
	s := strconv.FormatFloat(v, 'f', 6, 64)
	s = strings.TrimRight(s, "0")
	if strings.HasSuffix(s, ".") {
		s += "0"
	}
	if s == "-0.0" {
		s = "0.0"
	}
	return s
}

func (w *writer) point(code int, p Point) {
	w.num(code, p.X)
	w.num(code+10, p.Y)
	w.num(code+20, 0)
}

// entity begins one on its layer.
func (w *writer) entity(kind, layer string) {
	w.current = kind + " on layer " + layer
	if !w.layers[layer] {
		w.fail("there is no such layer")
	}
	w.str(0, kind)
	w.str(8, layer)
}

func (e Line) write(w *writer) {
	w.entity("LINE", e.Layer)
	w.point(10, e.From)
	w.point(11, e.To)
}

func (e Polyline) write(w *writer) {
	w.entity("POLYLINE", e.Layer)
	if len(e.Points) < 2 {
		w.fail("it has %d points, of two at least", len(e.Points))
	}
	w.int(66, 1)
	w.point(10, Point{})
	closed := 0
	if e.Closed {
		closed = 1
	}
	w.int(70, closed)
	if e.Width > 0 {
		w.num(40, e.Width)
		w.num(41, e.Width)
	}
	for _, p := range e.Points {
		w.entity("VERTEX", e.Layer)
		w.point(10, p)
		if e.Width > 0 {
			w.num(40, e.Width)
			w.num(41, e.Width)
		}
	}
	w.str(0, "SEQEND")
	w.str(8, e.Layer)
}

func (e Solid) write(w *writer) {
	w.entity("SOLID", e.Layer)
	c := e.Corners
	if len(c) != 3 && len(c) != 4 {
		w.fail("it has %d corners, of three or four", len(c))
		return
	}
	last := c[2]
	if len(c) == 4 {
		last = c[3]
	}
	// The format names the last two corners crosswise.
	w.point(10, c[0])
	w.point(11, c[1])
	w.point(12, last)
	w.point(13, c[2])
}

func (e Circle) write(w *writer) {
	w.entity("CIRCLE", e.Layer)
	w.radius(e.Radius)
	w.point(10, e.Centre)
	w.num(40, e.Radius)
}

func (e Arc) write(w *writer) {
	w.entity("ARC", e.Layer)
	w.radius(e.Radius)
	w.point(10, e.Centre)
	w.num(40, e.Radius)
	w.num(50, e.From)
	w.num(51, e.To)
}

func (w *writer) radius(r float64) {
	if !(r > 0) {
		w.fail("its radius is %v", r)
	}
}

func (e Text) write(w *writer) {
	w.entity("TEXT", e.Layer)
	if !(e.Height > 0) {
		w.fail("the height of %q is %v", e.Text, e.Height)
	}
	style := e.Style
	if style == "" {
		style = "STANDARD"
	}
	if !w.styles[style] {
		w.fail("there is no text style %s", style)
	}
	w.point(10, e.At)
	w.num(40, e.Height)
	w.str(1, Encode(e.Text))
	if e.Turn != 0 {
		w.num(50, e.Turn)
	}
	if e.Width > 0 {
		w.num(41, e.Width)
	}
	w.str(7, style)
	if e.Align != Left {
		w.int(72, int(e.Align))
		w.point(11, e.At)
	}
}

func (e Insert) write(w *writer) {
	w.entity("INSERT", e.Layer)
	if !w.blocks[e.Block] {
		w.fail("there is no block %s", e.Block)
	}
	w.str(2, e.Block)
	w.point(10, e.At)
	if e.Scale != 0 && e.Scale != 1 {
		w.num(41, e.Scale)
		w.num(42, e.Scale)
		w.num(43, e.Scale)
	}
	if e.Turn != 0 {
		w.num(50, e.Turn)
	}
}

// Write writes the drawing. A layer, style or block that is used and not declared, a name the format does not know, and a
// coordinate that is not finite are errors, and nothing is written.
func (d *Drawing) Write(out io.Writer) error {
	w := &writer{layers: map[string]bool{"0": true}, types: map[string]bool{"CONTINUOUS": true}, styles: map[string]bool{"STANDARD": true}, blocks: map[string]bool{}}
	for _, c := range d.Comments {
		w.str(999, ascii(c))
	}
	d.header(w)
	d.tables(w)
	d.blocks(w)
	w.str(0, "SECTION")
	w.str(2, "ENTITIES")
	for _, e := range d.Entities {
		e.write(w)
	}
	w.str(0, "ENDSEC")
	w.str(0, "EOF")
	if w.err != nil {
		return w.err
	}
	_, err := out.Write(w.b.Bytes())
	return err
}

func (d *Drawing) header(w *writer) {
	w.current = "HEADER"
	lo, hi := d.Extent()
	w.str(0, "SECTION")
	w.str(2, "HEADER")
	head := func(name string) { w.str(9, name) }
	head("$ACADVER")
	w.str(1, "AC1009")
	head("$DWGCODEPAGE")
	w.str(3, "ansi_1252")
	head("$INSBASE")
	w.point(10, Point{})
	for _, v := range []struct {
		name string
		p    Point
	}{{"$EXTMIN", lo}, {"$EXTMAX", hi}} {
		head(v.name)
		w.point(10, v.p)
	}
	for _, v := range []struct {
		name string
		p    Point
	}{{"$LIMMIN", lo}, {"$LIMMAX", hi}} {
		head(v.name)
		w.num(10, v.p.X)
		w.num(20, v.p.Y)
	}
	head("$INSUNITS") // of a later release; readers of R12 pass over header variables they do not know
	w.int(70, int(d.Units))
	head("$LUNITS") // decimal
	w.int(70, 2)
	head("$LUPREC")
	w.int(70, 4)
	head("$LTSCALE")
	w.num(40, 1)
	head("$FILLMODE")
	w.int(70, 1)
	w.str(0, "ENDSEC")
}

func (w *writer) table(name string, n int, entries func()) {
	w.str(0, "TABLE")
	w.str(2, name)
	w.int(70, n)
	entries()
	w.str(0, "ENDTAB")
}

func (d *Drawing) tables(w *writer) {
	w.current = "TABLES"
	w.str(0, "SECTION")
	w.str(2, "TABLES")
	lo, hi := d.Extent()
	w.table("VPORT", 1, func() { // the view that shows all when the file is opened
		w.str(0, "VPORT")
		w.str(2, "*ACTIVE")
		w.int(70, 0)
		for _, v := range []struct {
			code int
			p    Point
		}{{10, Point{}}, {11, Point{1, 1}}, {12, Point{(lo.X + hi.X) / 2, (lo.Y + hi.Y) / 2}}, {13, Point{}}, {14, Point{10, 10}}, {15, Point{10, 10}}} {
			w.num(v.code, v.p.X)
			w.num(v.code+10, v.p.Y)
		}
		for code, p := range []([3]float64){{0, 0, 1}, {0, 0, 0}} { // the way one looks, and at what
			for k, v := range p {
				w.num(16+code+10*k, v)
			}
		}
		w.num(40, max(hi.Y-lo.Y, (hi.X-lo.X)/1.6, 1)*1.05)
		w.num(41, 1.6)
		w.num(42, 50)
	})
	w.table("LTYPE", len(d.LineTypes)+1, func() {
		w.lineType(LineType{Name: "CONTINUOUS", Description: "Solid line"})
		for _, t := range d.LineTypes {
			w.name("line type", t.Name, w.types)
			w.lineType(t)
		}
	})
	w.table("LAYER", len(d.Layers)+1, func() {
		w.layer(Layer{Name: "0", Colour: 7})
		for _, l := range d.Layers {
			w.name("layer", l.Name, w.layers)
			w.layer(l)
		}
	})
	w.table("STYLE", len(d.Styles)+1, func() {
		w.style(Style{Name: "STANDARD", Font: "txt"})
		for _, s := range d.Styles {
			w.name("text style", s.Name, w.styles)
			w.style(s)
		}
	})
	w.str(0, "ENDSEC")
}

// name checks a name of R12 and enters it.
func (w *writer) name(kind, name string, known map[string]bool) {
	w.current = kind + " " + strconv.Quote(name)
	bad := strings.ContainsFunc(name, func(r rune) bool {
		return !(r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '$' || r == '-' || r == '_')
	})
	if bad || name == "" || len(name) > 31 {
		w.fail("a name in R12 has 1 to 31 capitals, digits, $, - or _")
	}
	if known[name] {
		w.fail("it is declared twice")
	}
	known[name] = true
}

func (w *writer) lineType(t LineType) {
	w.str(0, "LTYPE")
	w.str(2, t.Name)
	w.int(70, 0)
	w.str(3, ascii(t.Description))
	w.int(72, 65)
	w.int(73, len(t.Dashes))
	sum := 0.0
	for _, d := range t.Dashes {
		sum += math.Abs(d)
	}
	w.num(40, sum)
	for _, d := range t.Dashes {
		w.num(49, d)
	}
}

func (w *writer) layer(l Layer) {
	if l.Colour < 1 || l.Colour > 255 {
		w.fail("colour %d is none of 1 to 255", l.Colour)
	}
	t := l.LineType
	if t == "" {
		t = "CONTINUOUS"
	}
	if !w.types[t] {
		w.fail("there is no line type %s", t)
	}
	w.str(0, "LAYER")
	w.str(2, l.Name)
	w.int(70, 0)
	w.int(62, l.Colour)
	w.str(6, t)
}

func (w *writer) style(s Style) {
	w.str(0, "STYLE")
	w.str(2, s.Name)
	w.int(70, 0)
	w.num(40, 0)
	width := s.Width
	if width == 0 {
		width = 1
	}
	w.num(41, width)
	w.num(50, 0)
	w.int(71, 0)
	w.num(42, 1)
	w.str(3, ascii(s.Font))
	w.str(4, "")
}

func (d *Drawing) blocks(w *writer) {
	w.str(0, "SECTION")
	w.str(2, "BLOCKS")
	for _, b := range d.Blocks {
		w.name("block", b.Name, w.blocks)
		w.str(0, "BLOCK")
		w.str(8, "0")
		w.str(2, b.Name)
		w.int(70, 0)
		w.point(10, b.Base)
		w.str(3, b.Name)
		for _, e := range b.Entities {
			e.write(w)
		}
		w.str(0, "ENDBLK")
		w.str(8, "0")
	}
	w.str(0, "ENDSEC")
}
