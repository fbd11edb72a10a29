package deliver

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// pt is a point of a drawing in px, y downwards.
type pt struct{ x, y float64 }

// anchor says which end of a text stands at its x.
type anchor uint8

const (
	start anchor = iota
	middle
	end
)

// canvas is one drawing: it writes SVG and remembers the box of every label, so that collisions can be tested.
type canvas struct {
	w, h   float64
	id     string
	title  string
	desc   string
	class  string
	b      strings.Builder
	labels []label
}

// label is a text that was set: its words and the box of its ink.
type label struct {
	text string
	box  box
}

// num writes a coordinate in tenths of a px.
func num(v float64) string {
	s := strconv.FormatFloat(v, 'f', 1, 64)
	s = strings.TrimSuffix(s, ".0")
	if s == "-0" {
		return "0"
	}
	return s
}

var xmlEscape = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&#34;", "'", "&#39;")

// escape makes a text safe inside XML and drops the control characters that XML forbids.
func escape(s string) string {
	return xmlEscape.Replace(strings.Map(func(r rune) rune {
		if r < 0x20 && r != '\t' && r != '\n' || r == 0xFFFE || r == 0xFFFF {
			return -1
		}
		return r
	}, s))
}

// pathData writes an open path through points.
func pathData(p []pt) string {
	var b strings.Builder
	for i, q := range p {
		if i == 0 {
			b.WriteByte('M')
		} else {
			b.WriteByte('L')
		}
		b.WriteString(num(q.x))
		b.WriteByte(' ')
		b.WriteString(num(q.y))
	}
	return b.String()
}

func (c *canvas) path(class, d string) {
	if d != "" {
		fmt.Fprintf(&c.b, `<path class="%s" d="%s"/>`, class, d)
	}
}

func (c *canvas) line(class string, x1, y1, x2, y2 float64) {
	c.path(class, "M"+num(x1)+" "+num(y1)+"L"+num(x2)+" "+num(y2))
}

func (c *canvas) polyline(class string, p []pt) {
	if len(p) > 1 {
		c.path(class, pathData(p))
	}
}

func (c *canvas) polygon(class string, p []pt) {
	if len(p) > 2 {
		c.path(class, pathData(p)+"Z")
	}
}

func (c *canvas) rect(class string, x, y, w, h float64) {
	fmt.Fprintf(&c.b, `<rect class="%s" x="%s" y="%s" width="%s" height="%s"/>`, class, num(x), num(y), num(max(w, 0)), num(max(h, 0)))
}

func (c *canvas) circle(class string, x, y, r float64) {
	fmt.Fprintf(&c.b, `<circle class="%s" cx="%s" cy="%s" r="%s"/>`, class, num(x), num(y), num(r))
}

// setting is what a text may have besides its place.
type setting struct {
	class string  // further classes
	at    anchor  //
	turn  float64 // degrees, clockwise
	halo  bool    // a rim of paper, for labels that cross a line
	earth bool    // the rim is earth
}

// text sets one line of text with its base line's end, middle or start at (x, y).
func (c *canvas) text(x, y float64, s string, f face, o setting) {
	if strings.TrimSpace(s) == "" {
		return
	}
	c.labels = append(c.labels, label{s, textBox(x, y, s, f, o)})
	class := f.class
	if o.class != "" {
		class += " " + o.class
	}
	if o.halo {
		class += " halo"
	}
	if o.earth {
		class += " halo he"
	}
	fmt.Fprintf(&c.b, `<text x="%s" y="%s" class="%s"`, num(x), num(y), class)
	switch o.at {
	case middle:
		c.b.WriteString(` text-anchor="middle"`)
	case end:
		c.b.WriteString(` text-anchor="end"`)
	}
	if o.turn != 0 {
		fmt.Fprintf(&c.b, ` transform="rotate(%s %s %s)"`, num(o.turn), num(x), num(y))
	}
	c.b.WriteString(">" + escape(s) + "</text>")
}

// lines sets several lines of text, one under the other, the first base line at y.
func (c *canvas) lines(x, y, gap float64, lines []string, f face, o setting) {
	for i, l := range lines {
		c.text(x, y+float64(i)*gap, l, f, o)
	}
}

// The ink of a line of Source Sans 3 above and below its base line, in em: cap height 0.66, descender 0.205 (from the font's
// OS/2 and glyf tables), with the accents of capitals left out.
const (
	inkAbove = 0.70
	inkBelow = 0.205
)

// textBox is the box of the ink of a line of text.
func textBox(x, y float64, s string, f face, o setting) box {
	w := f.width(s)
	left := 0.0
	switch o.at {
	case middle:
		left = -w / 2
	case end:
		left = -w
	}
	mid := (inkBelow - inkAbove) / 2 * f.size
	a := o.turn * math.Pi / 180
	cx, cy := left+w/2, mid
	return box{
		x: x + cx*math.Cos(a) - cy*math.Sin(a), y: y + cx*math.Sin(a) + cy*math.Cos(a),
		w: w, h: (inkAbove + inkBelow) * f.size, turn: a,
	}
}

// svg is the finished drawing.
func (c *canvas) svg() string {
	return fmt.Sprintf(`<svg class="%s" viewBox="0 0 %s %s" role="img" aria-labelledby="%s-t %s-d"><title id="%s-t">%s</title><desc id="%s-d">%s</desc>%s</svg>`,
		c.class, num(c.w), num(c.h), c.id, c.id, c.id, escape(c.title), c.id, escape(c.desc), c.b.String())
}

// thin drops the points of a polyline that stand less than tol px off the line through their neighbours
// (Douglas and Peucker, The Canadian Cartographer 10(2), 1973, 112–122).
func thin(p []pt, tol float64) []pt {
	if len(p) < 3 {
		return p
	}
	keep := make([]bool, len(p))
	keep[0], keep[len(p)-1] = true, true
	// In blocks: on a saw-tooth the time grows with the square of a block's length.
	const block = 500
	var stack [][2]int
	for a := 0; a < len(p)-1; a += block {
		b := min(a+block, len(p)-1)
		keep[b] = true
		stack = append(stack, [2]int{a, b})
	}
	for len(stack) > 0 {
		a, b := stack[len(stack)-1][0], stack[len(stack)-1][1]
		stack = stack[:len(stack)-1]
		far, at := tol, -1
		for i := a + 1; i < b; i++ {
			if d := segmentDistance(p[i], p[a], p[b]); d > far {
				far, at = d, i
			}
		}
		if at >= 0 {
			keep[at] = true
			stack = append(stack, [2]int{a, at}, [2]int{at, b})
		}
	}
	out := make([]pt, 0, len(p))
	for i, k := range keep {
		if k {
			out = append(out, p[i])
		}
	}
	return out
}

// segmentDistance is the distance of p from the segment a–b.
func segmentDistance(p, a, b pt) float64 {
	dx, dy := b.x-a.x, b.y-a.y
	l := dx*dx + dy*dy
	t := 0.0
	if l > 0 {
		t = min(max(((p.x-a.x)*dx+(p.y-a.y)*dy)/l, 0), 1)
	}
	return math.Hypot(p.x-a.x-t*dx, p.y-a.y-t*dy)
}
