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
	mark           mark
	verdict        string // "large enough", "too small"
	choice         string // the smallest type that does it, and the next one up
	in, out        airSide
}

// airSide is one direction of air through a valve.
type airSide struct {
	given  []pt // differential, kPa; free air, m³/s, by rising differential
	needed []pt // the same of the duty that governs
	needs  []airNeed
	limit  float64 // kPa, allowed; 0: none stated
	why    string  // the reason of the limit
	across string  // what the differential is: "vacuum in the pipe"
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
	airHigh  = 274.0
	airPlot  = 118.0
)

func (a *airs) draw(f form, id string) []*canvas {
	if len(a.valves) == 0 {
		return nil
	}
	least, high := airLeast, airHigh
	if !f.bands {
		least, high = f.w, 2*airHigh-72
	}
	out := tile(f, id, len(a.valves), least, high, 36, 3, func(c *canvas, i int, x, y, w float64) { a.valve(f, c, i, x, y, w, high) })
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
func (a *airs) valve(f form, c *canvas, i int, x, y, w, high float64) {
	v := &a.valves[i]
	c.line("hair", x, y, x+w, y)
	c.text(x, y+21, v.no, faceNumber, setting{})
	at := x + faceNumber.width(v.no) + 10
	c.mark(v.mark, at+5, y+15, 4.6)
	c.text(at+14, y+20, v.verdict, faceLabelB, setting{class: "w-" + v.mark.class()})
	at += 22 + faceLabelB.width(v.verdict)
	c.text(at, y+20, shorten(faceNote, v.place+", "+v.typ, x+w-at), faceNote, setting{})
	if f.bands {
		c.lines(x, y+high-30, 14, twoLines(faceLabel, v.choice, w), faceLabel, setting{})
	} else {
		c.lines(x, y+high-44, 14, firstLines(faceLabel.wrap(v.choice, w), 3), faceLabel, setting{})
		a.side(c, &v.in, "air in", x, y+40, w)
		a.side(c, &v.out, "air out", x, y+airHigh-46, w)
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
	lead := faceLabelB.width(word) + 8
	c.text(x, y+12, word, faceLabelB, setting{})
	c.text(x+lead, y+12, shorten(faceNote, unit+" of free air, against "+s.across+", kPa", w-lead), faceNote, setting{})
	q.up(4)
	q.across(5, "")
	scaled := make([]pt, len(s.given))
	for i, p := range s.given {
		scaled[i] = pt{p.x, p.y / per}
	}
	q.curve("hcurve", scaled)
	needed := make([]pt, len(s.needed))
	for i, p := range s.needed {
		needed[i] = pt{p.x, p.y / per}
	}
	q.curve("gl fill", needed)
	if s.limit > 0 {
		q.curve("limit", []pt{{s.limit, 0}, {s.limit, q.hi.y}})
	}
	a.needs(q, s, per, unit)
	a.foot(c, s, x, y+22+airPlot+32, w)
}

// needs marks what each duty asks for and names it beside its mark, in the order of the flows; the curves are named last.
func (a *airs) needs(q *plot, s *airSide, per float64, unit string) {
	order := sortedBy(len(s.needs), func(i int) float64 { return -s.needs[i].flow })
	at := make([]float64, len(order))
	for k, i := range order {
		at[k] = q.y(s.needs[i].flow/per) + 4
	}
	ys := Spread(at, 14, q.y0+9, q.y1-4)
	for k, i := range order {
		n := &s.needs[i]
		m := n.mark()
		x, y := q.x(n.differential), q.y(n.flow/per)
		text := n.duty + " " + significant(n.flow/per, 3) + " " + unit
		w := faceNote.width(text)
		o, tx := setting{at: end, halo: true, class: "w-" + m.class()}, x-9
		if tx-w < q.x0+2 {
			o.at, tx = start, min(x+9, q.x1-w)
		}
		if math.Abs(ys[k]-4-y) > 3 {
			edge := tx + 1
			if o.at == start {
				edge = tx - 1
			}
			q.c.polyline("lead", []pt{{x, y}, {edge, ys[k] - 4}})
		}
		q.c.mark(m, x, y, 4.4)
		q.c.text(tx, ys[k], text, faceNote, o)
		q.p.take(textBox(tx, ys[k], text, faceNote, o), rectBox(x-5, y-5, x+5, y+5))
	}
	name := func(curve []pt, word, class string) {
		for _, t := range []float64{0.55, 0.68, 0.4, 0.9, 0.25} {
			if p := curveAt(curve, t*q.hi.x); q.spot(pt{q.x(p.x), q.y(p.y / per)}, word, faceNote, class, 1) {
				return
			}
		}
	}
	if len(s.given) > 1 {
		name(s.given, "given", "kw")
	}
	if len(s.needed) > 1 {
		name(s.needed, "needed", "")
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

// foot says why the limit is where it is.
func (a *airs) foot(c *canvas, s *airSide, x, y, w float64) {
	if s.limit > 0 {
		c.lines(x, y, 14, twoLines(faceNote, "Limit "+trimmed(s.limit)+" kPa. "+s.why, w), faceNote, setting{})
	}
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
				t.Rows = append(t.Rows, []string{v.no + ", " + v.place, v.typ, [...]string{"in", "out"}[k], n.duty, significant(n.flow*1000, 3), trimmed(n.differential), given, n.word(), limit, dashed(s.why), dashed(v.choice)})
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
