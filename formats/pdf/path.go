package pdf

import (
	"fmt"
	"math"
	"strconv"
)

// pen writes a path in page space.
type pen struct {
	b      []byte
	m      matrix
	x, y   float64 // where it stands, in the drawing's space
	sx, sy float64 // where the part began
}

func newPen(b []byte, m matrix) *pen { return &pen{b: b, m: m} }

func (p *pen) point(x, y float64) {
	px, py := p.m.at(x, y)
	p.b = append(appendNumber(p.b, px), ' ')
	p.b = append(appendNumber(p.b, py), ' ')
}

func (p *pen) move(x, y float64) {
	p.point(x, y)
	p.b = append(p.b, "m "...)
	p.x, p.y, p.sx, p.sy = x, y, x, y
}

func (p *pen) line(x, y float64) {
	p.point(x, y)
	p.b = append(p.b, "l "...)
	p.x, p.y = x, y
}

func (p *pen) curve(x1, y1, x2, y2, x, y float64) {
	p.point(x1, y1)
	p.point(x2, y2)
	p.point(x, y)
	p.b = append(p.b, "c "...)
	p.x, p.y = x, y
}

func (p *pen) close() {
	p.b = append(p.b, "h "...)
	p.x, p.y = p.sx, p.sy
}

// arc is an elliptical arc to (x, y), from the SVG 1.1 implementation notes, F.6.5 and F.6.6, cut into Bézier curves of a
// quarter turn at most: their error is under 3·10⁻⁴ of the radius (common practice, no source).
func (p *pen) arc(rx, ry, turn float64, large, sweep bool, x, y float64) {
	rx, ry = math.Abs(rx), math.Abs(ry)
	if rx == 0 || ry == 0 {
		p.line(x, y)
		return
	}
	if x == p.x && y == p.y {
		return
	}
	phi := turn * math.Pi / 180
	c, s := math.Cos(phi), math.Sin(phi)
	dx, dy := (p.x-x)/2, (p.y-y)/2
	x1, y1 := c*dx+s*dy, -s*dx+c*dy
	if l := x1*x1/(rx*rx) + y1*y1/(ry*ry); l > 1 {
		rx, ry = rx*math.Sqrt(l), ry*math.Sqrt(l)
	}
	q := math.Sqrt(max(0, (rx*rx*ry*ry-rx*rx*y1*y1-ry*ry*x1*x1)/(rx*rx*y1*y1+ry*ry*x1*x1)))
	if large == sweep {
		q = -q
	}
	cx1, cy1 := q*rx*y1/ry, -q*ry*x1/rx
	cx, cy := c*cx1-s*cy1+(p.x+x)/2, s*cx1+c*cy1+(p.y+y)/2
	from := math.Atan2((y1-cy1)/ry, (x1-cx1)/rx)
	by := math.Atan2((-y1-cy1)/ry, (-x1-cx1)/rx) - from
	if sweep && by < 0 {
		by += 2 * math.Pi
	} else if !sweep && by > 0 {
		by -= 2 * math.Pi
	}
	n := max(int(math.Ceil(math.Abs(by)/(math.Pi/2)-1e-9)), 1)
	step := by / float64(n)
	k := 4.0 / 3 * math.Tan(step/4)
	at := func(u, v float64) (float64, float64) { return cx + c*rx*u - s*ry*v, cy + s*rx*u + c*ry*v }
	for i := range n {
		a := from + float64(i)*step
		b := a + step
		ax, ay := at(math.Cos(a)-k*math.Sin(a), math.Sin(a)+k*math.Cos(a))
		bx, by := at(math.Cos(b)+k*math.Sin(b), math.Sin(b)-k*math.Cos(b))
		ex, ey := at(math.Cos(b), math.Sin(b))
		if i == n-1 {
			ex, ey = x, y
		}
		p.curve(ax, ay, bx, by, ex, ey)
	}
}

func ellipseTo(b []byte, m matrix, cx, cy, rx, ry float64) []byte {
	p := newPen(b, m)
	p.move(cx+rx, cy)
	p.arc(rx, ry, 0, false, true, cx-rx, cy)
	p.arc(rx, ry, 0, false, true, cx+rx, cy)
	p.close()
	return p.b
}

func rectTo(b []byte, m matrix, x, y, w, h, rx, ry float64) []byte {
	p := newPen(b, m)
	if rx == 0 {
		rx = ry
	}
	if ry == 0 {
		ry = rx
	}
	rx, ry = min(rx, w/2), min(ry, h/2)
	p.move(x+rx, y)
	p.line(x+w-rx, y)
	if rx > 0 {
		p.arc(rx, ry, 0, false, true, x+w, y+ry)
	}
	p.line(x+w, y+h-ry)
	if rx > 0 {
		p.arc(rx, ry, 0, false, true, x+w-rx, y+h)
	}
	p.line(x+rx, y+h)
	if rx > 0 {
		p.arc(rx, ry, 0, false, true, x, y+h-ry)
	}
	p.line(x, y+ry)
	if rx > 0 {
		p.arc(rx, ry, 0, false, true, x+rx, y)
	}
	p.close()
	return p.b
}

// pathTo writes path data (SVG 1.1, 8.3) in page space.
func pathTo(b []byte, data string, m matrix) ([]byte, error) {
	p := newPen(b, m)
	s := scanner{s: data}
	var cmd, last byte
	var cx, cy float64 // the last control point
	for {
		s.blank()
		if s.at >= len(s.s) {
			break
		}
		if c := s.s[s.at]; c >= 'A' && c <= 'Z' && c != 'E' || c >= 'a' && c <= 'z' && c != 'e' {
			cmd = c
			s.at++
		} else if cmd == 'M' {
			cmd = 'L'
		} else if cmd == 'm' {
			cmd = 'l'
		} else if cmd == 0 || cmd == 'Z' || cmd == 'z' {
			return p.b, fmt.Errorf("pdf: path data: a command is missing at %q", tail(s.s[s.at:]))
		}
		ox, oy := 0.0, 0.0
		if cmd >= 'a' {
			ox, oy = p.x, p.y
		}
		up := cmd &^ 0x20
		switch up {
		case 'M', 'L', 'T':
			x, y := ox+s.number(), oy+s.number()
			switch up {
			case 'M':
				p.move(x, y)
			case 'L':
				p.line(x, y)
			default:
				if last != 'Q' && last != 'T' {
					cx, cy = p.x, p.y
				}
				cx, cy = 2*p.x-cx, 2*p.y-cy
				p.quad(cx, cy, x, y)
			}
		case 'H':
			p.line(ox+s.number(), p.y)
		case 'V':
			p.line(p.x, oy+s.number())
		case 'C', 'S':
			x1, y1 := p.x, p.y
			if up == 'C' {
				x1, y1 = ox+s.number(), oy+s.number()
			} else if last == 'C' || last == 'S' {
				x1, y1 = 2*p.x-cx, 2*p.y-cy
			}
			cx, cy = ox+s.number(), oy+s.number()
			p.curve(x1, y1, cx, cy, ox+s.number(), oy+s.number())
		case 'Q':
			cx, cy = ox+s.number(), oy+s.number()
			p.quad(cx, cy, ox+s.number(), oy+s.number())
		case 'A':
			rx, ry, turn := s.number(), s.number(), s.number()
			large, sweep := s.flag(), s.flag()
			p.arc(rx, ry, turn, large, sweep, ox+s.number(), oy+s.number())
		case 'Z':
			p.close()
		default:
			return p.b, fmt.Errorf("pdf: path data: %q is no command", string(cmd))
		}
		if s.err != nil {
			return p.b, s.err
		}
		last = up
	}
	return p.b, nil
}

func (p *pen) quad(cx, cy, x, y float64) {
	p.curve(p.x+2*(cx-p.x)/3, p.y+2*(cy-p.y)/3, x+2*(cx-x)/3, y+2*(cy-y)/3, x, y)
}

// scanner reads the numbers of path data.
type scanner struct {
	s   string
	at  int
	err error
}

func (s *scanner) blank() {
	for s.at < len(s.s) && (s.s[s.at] == ' ' || s.s[s.at] == ',' || s.s[s.at] == '\n' || s.s[s.at] == '\t' || s.s[s.at] == '\r') {
		s.at++
	}
}

func (s *scanner) number() float64 {
	s.blank()
	from := s.at
	dot, exp := false, false
	for ; s.at < len(s.s); s.at++ {
		c := s.s[s.at]
		switch {
		case c >= '0' && c <= '9':
			continue
		case (c == '-' || c == '+') && (s.at == from || s.s[s.at-1] == 'e' || s.s[s.at-1] == 'E'):
			continue
		case c == '.' && !dot && !exp:
			dot = true
			continue
		case (c == 'e' || c == 'E') && !exp && s.at > from:
			exp = true
			continue
		}
		break
	}
	v, err := strconv.ParseFloat(s.s[from:s.at], 64)
	if (err != nil || math.IsInf(v, 0)) && s.err == nil {
		s.err = fmt.Errorf("pdf: path data: a number is missing at %q", tail(s.s[from:]))
	}
	return v
}

func (s *scanner) flag() bool {
	s.blank()
	if s.at < len(s.s) && (s.s[s.at] == '0' || s.s[s.at] == '1') {
		s.at++
		return s.s[s.at-1] == '1'
	}
	if s.err == nil {
		s.err = fmt.Errorf("pdf: path data: a flag is missing at %q", tail(s.s[s.at:]))
	}
	return false
}

func tail(s string) string {
	if len(s) > 24 {
		return s[:24] + "…"
	}
	return s
}
