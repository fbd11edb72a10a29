package dxf

import (
	"math"
	"strconv"
	"strings"
)

// common is what every entity carries.
type common struct {
	kind   string
	layer  string
	line   int
	paper  bool // drawn in paper space
	turned bool // drawn in a plane of its own
	mirror bool // drawn in a plane that looks the other way: x runs backwards
	normal [3]float64
}

// entities reads the section of that name.
func (r *reader) entities() {
	for r.next() && !r.is(0, "ENDSEC") {
		if r.code != 0 {
			continue // what belongs to nothing
		}
		e := common{kind: string(r.value), line: r.line, layer: "0", normal: [3]float64{0, 0, 1}}
		switch e.kind {
		case "LINE":
			r.oneLine(&e)
		case "POLYLINE":
			r.polyline(&e)
		case "LWPOLYLINE":
			r.lightPolyline(&e)
		case "TEXT", "MTEXT":
			r.label(&e)
		case "EOF":
			r.fault(r.line, "the section ENTITIES does not end", "EOF stands in it", "export the drawing again")
			r.ended = true
			return
		case "SEQEND": // of the attributes of an INSERT
			r.body(&e, func() {})
		default:
			r.body(&e, func() {})
			r.leave(e.kind, e.layer, why(&e))
		}
	}
}

func why(e *common) string {
	switch {
	case e.paper:
		return "in paper space"
	case e.turned:
		return "in a plane of its own"
	}
	return ""
}

// body reads the groups of an entity up to the next; what is common to all is kept, the rest handed to take.
func (r *reader) body(e *common, take func()) {
	for r.next() {
		switch r.code {
		case 0:
			r.back()
			e.turned = e.normal[0] != 0 || e.normal[1] != 0
			e.mirror = e.normal[2] < 0
			return
		case 8:
			e.layer = r.layer(r.value)
		case 67:
			e.paper = string(r.value) == "1"
		case 210, 220, 230:
			if v, ok := r.number(); ok {
				if math.Abs(v) < 1e-9 {
					v = 0
				}
				e.normal[(r.code-210)/10] = v
			}
		default:
			take()
		}
	}
}

// keep adds a chain to the file.
func (r *reader) keep(c Chain) {
	if len(r.f.Chains) >= mostChains {
		r.full = true
		return
	}
	r.f.Chains = append(r.f.Chains, c)
}

// room tells whether another vertex may be kept.
func (r *reader) room() bool {
	if r.vertices >= mostVertices {
		r.full = true
		return false
	}
	r.vertices++
	return true
}

func (r *reader) oneLine(e *common) {
	var a, b Vertex
	r.body(e, func() { r.coordinate(10, &a); r.coordinate(11, &b) })
	if e.paper {
		r.leave(e.kind, e.layer, why(e))
		return
	}
	first := r.room() // for each of its ends
	if second := r.room(); first && second {
		r.keep(Chain{Kind: e.kind, Layer: e.layer, Points: []Vertex{a, b}, Space: true, Line: e.line})
	}
}

// coordinate takes a group of a point whose x has the given code.
func (r *reader) coordinate(x int, v *Vertex) {
	switch r.code {
	case x:
		v.X, _ = r.number()
		v.Line = int32(min(r.line, math.MaxInt32))
	case x + 10:
		v.Y, _ = r.number()
	case x + 20:
		v.Z, _ = r.number()
	}
}

// polyline reads a POLYLINE, its vertices and its SEQEND.
func (r *reader) polyline(e *common) {
	var at Vertex
	flags := 0
	r.body(e, func() {
		r.coordinate(10, &at)
		if r.code == 70 {
			flags, _ = r.integer()
		}
	})
	const (
		closed = 1
		space  = 8
		meshes = 16 | 64
	)
	c := Chain{Kind: e.kind, Layer: e.layer, Closed: flags&closed != 0, Space: flags&space != 0, Line: e.line}
	take := !e.paper && flags&meshes == 0 && (!e.turned || c.Space)
	bulge := 0.0
	for r.next() {
		if r.is(0, "SEQEND") {
			end := common{}
			r.body(&end, func() {})
			break
		}
		if !r.is(0, "VERTEX") {
			r.fault(r.line, "a POLYLINE does not end", "SEQEND was expected before "+quoted(r.value), "export the drawing again")
			r.back()
			return
		}
		v := common{}
		p, bend, frame := Vertex{}, 0.0, false
		r.body(&v, func() {
			r.coordinate(10, &p)
			switch r.code {
			case 42:
				bend, _ = r.number()
			case 70:
				f, _ := r.integer()
				frame = f&16 != 0 // a control point of a fitted curve is no point of the line
			}
		})
		if frame || !take {
			continue
		}
		if !c.Space {
			p.Z = at.Z
		}
		r.add(&c, p, bulge)
		bulge = bend
	}
	if !take {
		w := why(e)
		if flags&meshes != 0 {
			w = "a mesh"
		}
		r.leave(e.kind, e.layer, w)
		return
	}
	r.end(e, c, bulge)
}

// lightPolyline reads an LWPOLYLINE: a plane chain at one elevation.
func (r *reader) lightPolyline(e *common) {
	c := Chain{Kind: e.kind, Line: e.line}
	elevation, bend, bulge := 0.0, 0.0, 0.0
	var p Vertex
	open := false
	flush := func() {
		if open {
			r.add(&c, p, bulge)
			bulge, bend = bend, 0
		}
	}
	r.body(e, func() {
		switch r.code {
		case 38:
			elevation, _ = r.number()
		case 70:
			f, _ := r.integer()
			c.Closed = f&1 != 0
		case 10:
			flush()
			p, open = Vertex{}, true
			r.coordinate(10, &p)
		case 20:
			r.coordinate(10, &p)
		case 42:
			bend, _ = r.number()
		}
	})
	flush()
	if e.paper || e.turned {
		r.leave(e.kind, e.layer, why(e))
		return
	}
	for i := range c.Points {
		c.Points[i].Z = elevation
	}
	c.Layer = e.layer
	r.end(e, c, bulge)
}

// end keeps a finished chain.
func (r *reader) end(e *common, c Chain, bulge float64) {
	c.Layer = e.layer
	if len(c.Points) < 2 {
		r.leave(e.kind, e.layer, "of a single point")
		return
	}
	if c.Closed && bulge != 0 {
		r.bend(&c, c.Points[0], bulge)
	}
	if e.mirror && !c.Space { // the plane's own x runs against the drawing's (arbitrary axis rule of the format)
		for i := range c.Points {
			c.Points[i].X, c.Points[i].Z = -c.Points[i].X, -c.Points[i].Z
		}
	}
	r.keep(c)
}

// add appends a vertex, and before it the chords of the arc that leads to it.
func (r *reader) add(c *Chain, p Vertex, bulge float64) {
	if bulge != 0 && len(c.Points) > 0 {
		r.bend(c, p, bulge)
	}
	if r.room() {
		c.Points = append(c.Points, p)
	}
}

// bend appends points on the arc from the last point to p: bulge is the tangent of a quarter of its angle, positive
// counter-clockwise (public DXF reference, group 42). One chord takes 5° at most: its sagitta is 0.1 % of the radius.
func (r *reader) bend(c *Chain, p Vertex, bulge float64) {
	a := c.Points[len(c.Points)-1]
	angle := 4 * math.Atan(bulge)
	n := int(math.Ceil(math.Abs(angle) / (5 * math.Pi / 180)))
	dx, dy := p.X-a.X, p.Y-a.Y
	if math.Hypot(dx, dy) == 0 || n < 1 {
		return
	}
	c.Arcs++
	// The centre stands off the chord's middle by chord/2 · cot(angle/2), to the left of the chord for a positive angle.
	k := (1 - bulge*bulge) / (4 * bulge)
	cx, cy := (a.X+p.X)/2-k*dy, (a.Y+p.Y)/2+k*dx
	for i := 1; i < n; i++ {
		t := angle * float64(i) / float64(n)
		sin, cos := math.Sincos(t)
		ux, uy := a.X-cx, a.Y-cy
		q := Vertex{X: cx + ux*cos - uy*sin, Y: cy + ux*sin + uy*cos, Z: a.Z + (p.Z-a.Z)*float64(i)/float64(n), Line: p.Line}
		if r.room() {
			c.Points = append(c.Points, q)
		}
	}
}

// label reads a TEXT or MTEXT.
func (r *reader) label(e *common) {
	l := Label{Line: e.line}
	var at, aligned Vertex
	along, upright, moved := 0, 0, false
	var words []string
	r.body(e, func() {
		r.coordinate(10, &at)
		switch r.code {
		case 1, 3:
			if len(words) < 8 {
				words = append(words, r.text())
			}
		case 11:
			moved = true
			aligned.X, _ = r.number()
		case 21:
			aligned.Y, _ = r.number()
		case 40:
			l.Height, _ = r.number()
		case 50:
			l.Turn, _ = r.number()
		case 72:
			along, _ = strconv.Atoi(string(r.value))
		case 73:
			upright, _ = strconv.Atoi(string(r.value))
		}
	})
	if e.paper || e.turned {
		r.leave(e.kind, e.layer, why(e))
		return
	}
	if len(r.f.Labels) >= mostTexts {
		r.leave(e.kind, e.layer, "beyond the number that is read")
		return
	}
	l.X, l.Y = at.X, at.Y
	if e.kind == "TEXT" && moved && (along != 0 || upright != 0) && along != 3 && along != 5 {
		l.X, l.Y = aligned.X, aligned.Y
	}
	if e.mirror {
		l.X = -l.X
	}
	s := strings.Join(words, "")
	if e.kind == "MTEXT" {
		s = unformatted(s)
	}
	l.Layer, l.Text = e.layer, clip(s)
	r.f.Labels = append(r.f.Labels, l)
}

// unformatted takes the formatting codes out of an MTEXT.
func unformatted(s string) string {
	var b strings.Builder
	for i := 0; i < len(s); i++ {
		switch c := s[i]; {
		case c == '{' || c == '}':
		case c == '\\' && i+1 < len(s):
			i++
			switch s[i] {
			case 'P', 'N', '~':
				b.WriteByte(' ')
			case '\\', '{', '}':
				b.WriteByte(s[i])
			case 'L', 'l', 'O', 'o', 'K', 'k':
			default: // a code that runs to its semicolon
				n := strings.IndexByte(s[i:], ';')
				if n < 0 {
					return b.String()
				}
				i += n
			}
		default:
			b.WriteByte(c)
		}
	}
	return b.String()
}
