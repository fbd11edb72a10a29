package deliver

import (
	"fmt"
	"math"
	"strings"
)

// airs are the air valves with what they must pass and what they do pass, each in a small chart of its own.
type airs struct {
	valves []airValve
	basis  string // of the flows: "free air, L/s at 101.3 kPa and 10 °C"
}

// airValve is one valve.
type airValve struct {
	no, place, typ string
	in, out        airSide
}

// airSide is one direction of air through a valve.
type airSide struct {
	given  []pt // differential, kPa; free air, m³/s, by rising differential
	needs  []airNeed
	limit  float64 // kPa, allowed; 0: none stated
	why    string  // the reason of the limit
	choice string  // the smallest type that does it, and the next one up
}

// airNeed is what one duty asks for.
type airNeed struct {
	duty         string
	flow         float64 // m³/s free air
	differential float64 // kPa at which it must pass
	met          bool
	unknown      bool // the valve's curve is not known
}

const (
	airLeast = 560.0 // px, width of a valve's pair of charts
	airHigh  = 262.0
	airPlot  = 132.0
)

func (a *airs) draw(f form, id string) []*canvas {
	if len(a.valves) == 0 {
		return nil
	}
	least, high := airLeast, airHigh
	if !f.bands {
		least, high = f.w, 2*airHigh-26
	}
	out := tile(f, id, len(a.valves), least, high, 36, 3, func(c *canvas, i int, x, y, w float64) { a.valve(f, c, i, x, y, w) })
	for i, c := range out {
		c.title = "Needed against given air, valve by valve"
		if i == 0 {
			c.desc = a.words()
		} else {
			c.desc = "Continued: the figures stand in the table after the drawing."
		}
	}
	return out
}

// valve draws air in beside air out or, on a narrow sheet, above it.
func (a *airs) valve(f form, c *canvas, i int, x, y, w float64) {
	v := &a.valves[i]
	c.line("hair", x, y, x+w, y)
	c.text(x, y+21, v.no, faceNumber, setting{})
	at := x + faceNumber.width(v.no) + 10
	c.text(at, y+20, shorten(faceNote, v.place+", "+v.typ, x+w-at), faceNote, setting{})
	if !f.bands {
		a.side(c, &v.in, "air in", x, y+40, w)
		a.side(c, &v.out, "air out", x, y+airHigh-6, w)
		return
	}
	half := (w - 28) / 2
	a.side(c, &v.in, "air in", x, y+40, half)
	a.side(c, &v.out, "air out", x+half+28, y+40, half)
}

// flowUnit is the unit in which flows up to top m³/s are drawn.
func flowUnit(top float64) (per float64, unit string) {
	if top >= 1.5 {
		return 1, "m³/s"
	}
	return 1e-3, "L/s"
}

func (a *airs) side(c *canvas, s *airSide, word string, x, y, w float64) {
	top, wide := 0.0, s.limit
	for _, n := range s.needs {
		top, wide = max(top, n.flow), max(wide, n.differential)
	}
	if wide == 0 && len(s.given) > 0 {
		wide = s.given[len(s.given)-1].x
	}
	wide *= 1.3
	for _, p := range s.given {
		if p.x <= wide || top == 0 {
			top = max(top, p.y)
		}
	}
	if len(s.needs) == 0 && len(s.given) == 0 || wide == 0 {
		c.text(x, y+14, word, faceLabelB, setting{})
		c.text(x, y+32, "nothing asked, no curve known", faceNote, setting{})
		return
	}
	per, unit := flowUnit(top)
	x0 := x + 46
	q := newPlot(c, x0, y+22, x+w, y+22+airPlot, pt{}, pt{wide, top * 1.08 / per})
	head := word
	c.text(x, y+12, head, faceLabelB, setting{})
	c.text(x+faceLabelB.width(head)+8, y+12, shorten(faceNote, unit+" of free air", w-faceLabelB.width(head)-8), faceNote, setting{})
	q.up(4, false)
	q.across(5, "kPa")
	scaled := make([]pt, len(s.given))
	for i, p := range s.given {
		scaled[i] = pt{p.x, p.y / per}
	}
	q.curve("hcurve", scaled)
	if s.limit > 0 {
		q.curve("limit", []pt{{s.limit, 0}, {s.limit, q.hi.y}})
	}
	a.needs(q, s, per, unit)
	a.foot(c, s, x, y+22+airPlot+32, w)
}

// needs marks what each duty asks for and names it; the curve is named last.
func (a *airs) needs(q *plot, s *airSide, per float64, unit string) {
	for _, n := range s.needs {
		x, y := q.x(n.differential), q.y(n.flow/per)
		q.p.take(rectBox(x-5, y-5, x+5, y+5))
	}
	for _, i := range sortedBy(len(s.needs), func(i int) float64 { return -s.needs[i].flow }) {
		n := &s.needs[i]
		m := n.mark()
		x, y := q.x(n.differential), q.y(n.flow/per)
		q.c.mark(m, x, y, 4.4)
		q.spot(pt{x, y}, n.duty+" "+significant(n.flow/per, 3)+" "+unit, faceNote, "w-"+m.class(), -1)
	}
	if len(s.given) > 1 {
		for _, t := range []float64{0.8, 0.5, 0.3, 0.95} {
			p := curveAt(s.given, t*q.hi.x)
			if q.spot(pt{q.x(p.x), q.y(p.y / per)}, "given", faceNote, "kw", 1) {
				break
			}
		}
	}
}

func (n *airNeed) mark() mark {
	switch {
	case n.unknown:
		return markUnknown
	case n.met:
		return markTight
	}
	return markFails
}

func (n *airNeed) word() string {
	switch {
	case n.unknown:
		return "not known"
	case n.met:
		return "given"
	}
	return "not given"
}

// curveAt is a curve's point at x, by straight lines, its ends beyond its ends.
func curveAt(p []pt, x float64) pt {
	for i := 1; i < len(p); i++ {
		if x <= p[i].x && p[i].x > p[i-1].x {
			t := max((x-p[i-1].x)/(p[i].x-p[i-1].x), 0)
			return pt{p[i-1].x + t*(p[i].x-p[i-1].x), p[i-1].y + t*(p[i].y-p[i-1].y)}
		}
	}
	return p[len(p)-1]
}

// foot says why the limit is where it is, and which type does it.
func (a *airs) foot(c *canvas, s *airSide, x, y, w float64) {
	var lines []string
	if s.limit > 0 {
		lines = append(lines, faceNote.wrap("limit "+trimmed(s.limit)+" kPa: "+s.why, w)...)
	}
	lines = append(lines, faceNote.wrap(s.choice, w)...)
	if len(lines) > 3 {
		lines = append(lines[:2], shorten(faceNote, strings.Join(lines[2:], " "), w))
	}
	c.lines(x, y, 14, lines, faceNote, setting{})
}

func (a *airs) words() string {
	var b []string
	for _, v := range a.valves {
		for k, s := range []*airSide{&v.in, &v.out} {
			for _, n := range s.needs {
				b = append(b, fmt.Sprintf("valve %s, air %s, %s: %s L/s wanted at %s kPa, %s", v.no, [...]string{"in", "out"}[k], n.duty, significant(n.flow*1000, 3), trimmed(n.differential), n.word()))
			}
		}
	}
	return strings.Join(b, ". ") + "."
}

func (a *airs) twin() *plainTable {
	t := &plainTable{Caption: "Air needed and given, " + a.basis, Heads: []string{"valve", "type", "way", "duty", "needed, L/s", "at, kPa", "given there, L/s", "verdict", "limit, kPa", "because", "types that do it"}}
	for _, v := range a.valves {
		for k, s := range []*airSide{&v.in, &v.out} {
			for _, n := range s.needs {
				given := "–"
				if len(s.given) > 0 {
					given = significant(curveAt(s.given, n.differential).y*1000, 3)
				}
				limit := "–"
				if s.limit > 0 {
					limit = trimmed(s.limit)
				}
				t.Rows = append(t.Rows, []string{v.no + ", " + v.place, v.typ, [...]string{"in", "out"}[k], n.duty, significant(n.flow*1000, 3), trimmed(n.differential), given, n.word(), limit, dashed(s.why), dashed(s.choice)})
			}
		}
	}
	return t
}

// worst is how far a valve falls short, largest need over given first; valves that meet everything come last.
func (v *airValve) worst() float64 {
	most := 0.0
	for _, s := range []*airSide{&v.in, &v.out} {
		for _, n := range s.needs {
			switch given := 0.0; {
			case n.unknown:
				most = max(most, 0.99)
			case len(s.given) > 0:
				given = curveAt(s.given, n.differential).y
				most = max(most, n.flow/max(given, 1e-9))
			default:
				most = math.Inf(1)
			}
		}
	}
	return most
}
