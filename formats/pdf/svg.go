package pdf

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// matrix is a transform: x' = a x + c y + e, y' = b x + d y + f.
type matrix struct{ a, b, c, d, e, f float64 }

func (m matrix) at(x, y float64) (float64, float64) { return m.a*x + m.c*y + m.e, m.b*x + m.d*y + m.f }

// then is the transform that does n first and m after it.
func (m matrix) then(n matrix) matrix {
	return matrix{m.a*n.a + m.c*n.b, m.b*n.a + m.d*n.b, m.a*n.c + m.c*n.d, m.b*n.c + m.d*n.d, m.a*n.e + m.c*n.f + m.e, m.b*n.e + m.d*n.f + m.f}
}

// scale is how much the transform makes lengths grow.
func (m matrix) scale() float64 { return math.Sqrt(math.Abs(m.a*m.d - m.b*m.c)) }

// Size is the size of a drawing from its viewBox, in its own units.
func Size(svg string) (w, h float64, err error) {
	box, err := viewBox(svg)
	return box[2], box[3], err
}

func viewBox(svg string) (box [4]float64, err error) {
	_, rest, ok := strings.Cut(svg, `viewBox="`)
	v, _, _ := strings.Cut(rest, `"`)
	f := strings.FieldsFunc(v, func(r rune) bool { return r == ' ' || r == ',' })
	if !ok || len(f) != 4 {
		return box, errors.New("pdf: the drawing has no viewBox")
	}
	for i := range f {
		if box[i], err = strconv.ParseFloat(f[i], 64); err != nil {
			return box, fmt.Errorf("pdf: viewBox %q: %w", v, err)
		}
	}
	if box[2] <= 0 || box[3] <= 0 {
		return box, fmt.Errorf("pdf: viewBox %q is empty", v)
	}
	return box, nil
}

// painter paints one drawing.
type painter struct {
	d     *Doc
	style *Style
	m     matrix
	top   *node
	depth []level
	clips map[string]string // path data by id, in page space
	in    string            // the clip path being read
	text  *textRun
}

// level is what an open element changed.
type level struct {
	m       matrix
	clipped bool
	clip    string
}

type textRun struct {
	x, y float64
	m    matrix
	look *look
	s    strings.Builder
}

// Draw paints an SVG drawing with its upper left corner at (x, y), width pt wide. An element that cannot be painted is an
// error: nothing is left out without a word.
func (d *Doc) Draw(svg string, style *Style, x, y, width float64) error {
	box, err := viewBox(svg)
	if err != nil {
		return err
	}
	k := width / box[2]
	p := &painter{d: d, style: style, clips: map[string]string{}}
	p.m = matrix{k, 0, 0, -k, x - k*box[0], d.up(y) + k*box[1]}
	x0 := xml.NewDecoder(strings.NewReader(svg))
	for {
		t, err := x0.RawToken()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return fmt.Errorf("pdf: the drawing is no XML: %w", err)
		}
		switch t := t.(type) {
		case xml.StartElement:
			skip, err := p.open(t, x0)
			if err != nil {
				return err
			}
			if skip {
				if err := skipElement(x0); err != nil {
					return err
				}
			}
		case xml.EndElement:
			p.close()
		case xml.CharData:
			if p.text != nil {
				p.text.s.Write(t)
			}
		}
	}
}

// skipElement reads to the end of the element that was opened last.
func skipElement(d *xml.Decoder) error {
	for depth := 1; depth > 0; {
		t, err := d.RawToken()
		if err != nil {
			return fmt.Errorf("pdf: the drawing is no XML: %w", err)
		}
		switch t.(type) {
		case xml.StartElement:
			depth++
		case xml.EndElement:
			depth--
		}
	}
	return nil
}

func (p *painter) open(t xml.StartElement, d *xml.Decoder) (skip bool, err error) {
	name := t.Name.Local
	switch name {
	case "title", "desc", "metadata":
		return true, nil
	case "style":
		var css strings.Builder
		for {
			u, err := d.RawToken()
			if err != nil {
				return false, fmt.Errorf("pdf: the drawing is no XML: %w", err)
			}
			if c, ok := u.(xml.CharData); ok {
				css.Write(c)
			} else if _, ok := u.(xml.EndElement); ok {
				break
			}
		}
		p.style = p.style.with(css.String())
		return false, nil
	}
	a := map[string]string{}
	var own [][2]string
	inline := ""
	n := &node{tag: name, parent: p.top}
	for _, at := range t.Attr {
		switch k := at.Name.Local; k {
		case "class":
			n.classes = strings.Fields(at.Value)
			n.key = at.Value
		case "style":
			inline = at.Value
		case "fill", "stroke", "stroke-width", "stroke-dasharray", "stroke-dashoffset", "stroke-linecap", "stroke-linejoin", "stroke-miterlimit", "opacity", "fill-opacity",
			"stroke-opacity", "font-size", "font-weight", "text-anchor", "color", "fill-rule", "paint-order", "display", "visibility":
			own = append(own, [2]string{k, at.Value})
		default:
			a[k] = at.Value
		}
	}
	n.key = name + "." + n.key
	if p.top != nil {
		n.key = p.top.key + ">" + n.key
	}
	if len(own) > 0 || inline != "" {
		n.key += fmt.Sprint(own, inline)
	}
	n.look = p.style.look(n, own, inline)
	l := level{m: p.m, clip: p.in}
	if v := a["transform"]; v != "" {
		m, err := transform(v)
		if err != nil {
			return false, err
		}
		p.m = p.m.then(m)
	}
	if v := a["clip-path"]; v != "" {
		id := strings.TrimSuffix(strings.TrimPrefix(v, "url(#"), ")")
		data, ok := p.clips[id]
		if !ok {
			return false, fmt.Errorf("pdf: the drawing asks for the clip %q, which does not stand before it", v)
		}
		p.d.f.RawWriteStr("q " + data + "W n")
		p.d.set = ""
		l.clipped = true
	}
	p.top = n
	p.depth = append(p.depth, l)
	f := func(k string) float64 { v, _ := length(a[k]); return v }
	switch name {
	case "svg", "g", "defs":
	case "clipPath":
		p.in = a["id"]
	case "path":
		if p.d.buf, err = pathTo(p.d.buf[:0], a["d"], p.m); err != nil {
			return false, err
		}
		p.paint(n.look)
	case "rect":
		if f("width") > 0 && f("height") > 0 {
			p.d.buf = rectTo(p.d.buf[:0], p.m, f("x"), f("y"), f("width"), f("height"), f("rx"), f("ry"))
			p.paint(n.look)
		}
	case "circle", "ellipse":
		rx, ry := f("rx"), f("ry")
		if name == "circle" {
			rx, ry = f("r"), f("r")
		}
		if rx > 0 && ry > 0 {
			p.d.buf = ellipseTo(p.d.buf[:0], p.m, f("cx"), f("cy"), rx, ry)
			p.paint(n.look)
		}
	case "line":
		b := newPen(p.d.buf[:0], p.m)
		b.move(f("x1"), f("y1"))
		b.line(f("x2"), f("y2"))
		p.d.buf = b.b
		p.paint(n.look)
	case "polyline", "polygon":
		data := "M" + a["points"]
		if name == "polygon" {
			data += "Z"
		}
		if p.d.buf, err = pathTo(p.d.buf[:0], data, p.m); err != nil {
			return false, err
		}
		p.paint(n.look)
	case "text":
		p.text = &textRun{x: f("x"), y: f("y"), m: p.m, look: n.look}
	case "tspan":
		if p.text == nil {
			return false, errors.New("pdf: a tspan stands outside a text")
		}
		if a["x"] != "" || a["y"] != "" {
			p.flush()
			if a["x"] != "" {
				p.text.x = f("x")
			}
			if a["y"] != "" {
				p.text.y = f("y")
			}
		}
	default:
		return false, fmt.Errorf("pdf: the drawing has an element <%s>, which is not painted", name)
	}
	return false, nil
}

func (p *painter) close() {
	if p.top == nil {
		return
	}
	if p.top.tag == "text" {
		p.flush()
		p.text = nil
	}
	l := p.depth[len(p.depth)-1]
	p.depth = p.depth[:len(p.depth)-1]
	if l.clipped {
		p.d.f.RawWriteStr("Q")
		p.d.set = ""
	}
	p.m, p.in, p.top = l.m, l.clip, p.top.parent
}

// paint fills and strokes the path in the buffer.
func (p *painter) paint(l *look) {
	if p.in != "" {
		p.clips[p.in] += string(p.d.buf)
		return
	}
	fill, filled := l.fill.of(l)
	stroke, stroked := l.stroke.of(l)
	stroked = stroked && l.width > 0
	if l.hidden || !filled && !stroked || len(p.d.buf) == 0 {
		return
	}
	alpha := l.opacity
	if filled && !stroked {
		alpha *= l.fillOpacity
	} else if !filled {
		alpha *= l.strokeOpaque
	}
	if alpha < 1 {
		p.d.f.SetAlpha(max(alpha, 0), "Normal")
		defer p.d.f.SetAlpha(1, "Normal")
	}
	var s strings.Builder
	s.WriteString("q ")
	if filled {
		s.WriteString(rgb(fill) + " rg ")
	}
	if stroked {
		k := p.m.scale()
		s.WriteString(rgb(stroke) + " RG " + number(max(l.width*k, 0.01)) + " w ")
		if l.cap != 0 {
			s.WriteString(strconv.Itoa(l.cap) + " J ")
		}
		if l.join != 0 {
			s.WriteString(strconv.Itoa(l.join) + " j ")
		} else if l.miter != 10 {
			s.WriteString(number(l.miter) + " M ")
		}
		if len(l.dash) > 0 {
			s.WriteByte('[')
			for _, v := range l.dash {
				s.WriteString(number(v*k) + " ")
			}
			s.WriteString("]" + number(l.dashAt*k) + " d ")
		}
	}
	s.Write(p.d.buf)
	op := map[[3]bool]string{{true, false, false}: "f", {true, false, true}: "f*", {false, true, false}: "S", {false, true, true}: "S", {true, true, false}: "B", {true, true, true}: "B*"}[[3]bool{filled, stroked, l.evenOdd}]
	s.WriteString(op + " Q")
	p.d.f.RawWriteStr(s.String())
}

// flush sets the text gathered so far.
func (p *painter) flush() {
	t := p.text
	s := strings.Join(strings.Fields(clean(t.s.String())), " ")
	t.s.Reset()
	l := t.look
	colour, ok := l.fill.of(l)
	if s == "" || l.hidden || !ok {
		return
	}
	k := t.m.scale()
	set := Type{Size: l.size * k, Bold: l.bold, Colour: colour}
	w := p.d.Width(s, set)
	turn := math.Atan2(t.m.b, t.m.a)
	x, up := t.m.at(t.x, t.y)
	back := 0.0
	switch l.anchor {
	case "middle":
		back = w / 2
	case "end":
		back = w
	}
	x, up = x-back*math.Cos(turn), up-back*math.Sin(turn)
	if c, ok := l.stroke.of(l); ok && l.width > 0 && l.strokeFirst {
		rim := set
		rim.Colour = c
		p.d.text(x, up, turn, s, rim, l.width*k)
	}
	if l.opacity < 1 {
		p.d.f.SetAlpha(max(l.opacity, 0), "Normal")
		defer p.d.f.SetAlpha(1, "Normal")
	}
	p.d.text(x, up, turn, s, set, 0)
	t.x += w / k
}

// transform reads a list of transforms.
func transform(s string) (matrix, error) {
	m := matrix{a: 1, d: 1}
	for s = strings.TrimSpace(s); s != ""; s = strings.TrimLeft(s, " ,") {
		name, rest, ok := strings.Cut(s, "(")
		args, after, ok2 := strings.Cut(rest, ")")
		if !ok || !ok2 {
			return m, fmt.Errorf("pdf: transform %q is not understood", s)
		}
		s = after
		var v []float64
		for _, w := range strings.FieldsFunc(args, func(r rune) bool { return r == ' ' || r == ',' }) {
			x, err := strconv.ParseFloat(w, 64)
			if err != nil {
				return m, fmt.Errorf("pdf: transform %q: %w", args, err)
			}
			v = append(v, x)
		}
		arg := func(i int, otherwise float64) float64 {
			if i < len(v) {
				return v[i]
			}
			return otherwise
		}
		switch strings.TrimSpace(name) {
		case "translate":
			m = m.then(matrix{1, 0, 0, 1, arg(0, 0), arg(1, 0)})
		case "scale":
			m = m.then(matrix{arg(0, 1), 0, 0, arg(1, arg(0, 1)), 0, 0})
		case "rotate":
			a := arg(0, 0) * math.Pi / 180
			c, n, x, y := math.Cos(a), math.Sin(a), arg(1, 0), arg(2, 0)
			m = m.then(matrix{1, 0, 0, 1, x, y}).then(matrix{c, n, -n, c, 0, 0}).then(matrix{1, 0, 0, 1, -x, -y})
		case "matrix":
			m = m.then(matrix{arg(0, 1), arg(1, 0), arg(2, 0), arg(3, 1), arg(4, 0), arg(5, 0)})
		default:
			return m, fmt.Errorf("pdf: the transform %q is not painted", name)
		}
	}
	return m, nil
}
