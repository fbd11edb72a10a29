package deliver

import (
	"fmt"
	"math"

	"obvert/line"
)

// measure settles the heights of the sheet's parts and the scale of levels.
func (s *planSheet) measure() {
	f := &s.form
	s.lo, s.hi = math.Inf(1), math.Inf(-1)
	see := func(v float64) { s.lo, s.hi = min(s.lo, v), max(s.hi, v) }
	s.levels(s.from, s.to, s.holds, see)
	for _, g := range s.lines {
		for _, piece := range g.pieces {
			for _, q := range s.clip(piece) {
				see(q.y)
			}
		}
	}
	for _, p := range s.pools {
		for _, k := range p.spans {
			if k[1] > s.from && k[0] < s.to {
				see(p.pool.Level)
			}
		}
	}
	for _, m := range s.marks {
		if m.kind == placeNode && s.holds(m.ch) {
			for _, l := range s.tankLevels(m.node) {
				see(l.level)
			}
		}
	}
	longest := 0.0
	for i := range s.cols {
		for _, l := range s.cols[i].lines {
			w := planWidth(l.text, l.h, l.bold)
			if s.cols[i].valve >= 0 {
				w += 2.2 * f.large
			}
			longest = max(longest, w)
		}
	}
	s.y.rail = margin + 3 + longest
	s.y.fan = s.y.rail + s.fan()
	s.y.top = s.y.fan + 2*f.small
	s.cases = nil
	for c := range s.r.Line.Cases {
		s.cases = append(s.cases, c)
	}
	axis := 2.4 * f.small
	for {
		high := s.bandsHeight()
		s.y.strip = f.h - margin - f.strip
		s.y.bands = s.y.strip - high - 1
		s.y.axis = s.y.bands - s.fan() - 1
		s.y.datum = s.y.axis - axis
		if s.y.datum-s.y.top >= f.section {
			break
		}
		if f.name == planRoll.name { // a roll is as high as it takes
			f.h += f.section - (s.y.datum - s.y.top)
			continue
		}
		if len(s.cases) == 0 {
			break
		}
		s.cases = s.withoutCalmest(s.cases)
	}
	high := max(s.y.datum-s.y.top, 10)
	s.up = standardScale((s.hi - s.lo) / high * 1000)
	for range 12 {
		q := niceStep(4 * s.up / 1000)
		s.y.zero = math.Floor((s.lo-2.5*s.up/1000)/q) * q
		if (s.hi-s.y.zero)*1000/s.up <= high {
			break
		}
		s.up = standardScale(s.up * 1.01)
	}
	// What the standard scale leaves free stands over the labels, so that these stand near what they name.
	if free := high - (s.hi-s.y.zero)*1000/s.up - 6*f.small; free > 0 {
		s.y.rail, s.y.fan, s.y.top = s.y.rail+free, s.y.fan+free, s.y.top+free
	}
}

// fan is the height of the slanting lines from columns to chainages.
func (s *planSheet) fan() float64 {
	most := 0.0
	for i := range s.cols {
		most = max(most, math.Abs(s.cols[i].x-s.x(s.cols[i].ch)))
	}
	if most < 0.2 {
		return 1.5 * s.form.small
	}
	return min(3*s.form.small+most*0.06, 9*s.form.small)
}

// withoutCalmest leaves out the case in which most valves on the line are tight, the last of equals.
func (s *planSheet) withoutCalmest(cases []int) []int {
	calm, most := len(cases)-1, -1
	for i, c := range cases {
		n := 0
		for k := range s.valves {
			if cell, ok := s.valves[k].cell(c); ok && stateMark(cell.State) == markTight {
				n++
			}
		}
		if n >= most && c != s.shown {
			calm, most = i, n
		}
	}
	return append(append([]int{}, cases[:calm]...), cases[calm+1:]...)
}

// tankLevels are the different levels of a tank in all cases, the highest first.
func (s *planSheet) tankLevels(node int) []tankLevel {
	return (&section{sheet: &sheet{view: s.view}}).tankLevels(node)
}

// trace is a line over chainage and level on the sheet, mm.
func (s *planSheet) trace(p []pt) []pt {
	c := s.clip(p)
	out := make([]pt, len(c))
	for i, q := range c {
		out[i] = pt{s.x(q.x), s.level(q.y)}
	}
	return out
}

// text sets a text and marks its box taken.
func (s *planSheet) text(k ink, p pt, t string, h float64, bold bool, turn float64, a anchor) {
	s.pen.text(k, p, t, h, bold, turn, a)
	s.p.take(planBox(p, t, h, bold, turn, a))
}

// section draws the section: levels, ground, pipe, lines, what stands on the pipe.
func (s *planSheet) section() {
	f := s.form
	s.p = &placer{area: rectBox(f.left()-2, s.y.fan, s.right()+f.after-1, s.y.datum-0.5), apart: 0.5}
	s.staff()
	var soil [][]pt
	for _, g := range s.groundPieces() {
		t := s.trace(g)
		if len(t) < 2 {
			continue
		}
		soil = append(soil, t)
		s.pen.fill(inkEarth, append(append([]pt{}, t...), pt{t[len(t)-1].x, s.y.datum}, pt{t[0].x, s.y.datum}))
	}
	for i := range s.cols { // hairlines from what must be read down to the datum
		if c := &s.cols[i]; c.must && s.holds(c.ch) {
			s.pen.line(inkHair, pt{s.x(c.ch), s.level(s.obvertAt(c.ch) - s.boreAt(c.ch))}, pt{s.x(c.ch), s.y.datum})
		}
	}
	s.pipe()
	for _, t := range soil {
		s.pen.polyline(inkGround, t)
		s.hatch(t)
		s.p.avoid(thin(t, 0.1), 8)
	}
	s.pen.line(inkDatum, pt{f.left() - 4, s.y.datum}, pt{s.right(), s.y.datum})
	s.axis()
	s.pools1()
	for i := len(s.lines) - 1; i >= 0; i-- {
		for _, piece := range s.lines[i].pieces {
			t := s.trace(piece)
			s.pen.polyline(s.gradeInk(i), t)
			s.p.avoid(thin(t, 0.1), 8)
		}
	}
	s.things()
	s.matches()
}

func (s *planSheet) gradeInk(i int) ink {
	return gradeInk(i, s.lines[i].cases[0], s.lines[i].kind == line.Filling)
}

// groundPieces is the ground on the route in pieces, where it is given.
func (s *planSheet) groundPieces() [][]pt {
	return (&section{sheet: &sheet{view: s.view, from: s.from, to: s.to}}).groundLine()
}

// pipe draws obvert and invert at their levels and the water of the case shown.
func (s *planSheet) pipe() {
	for _, w := range s.wetted(s.shown) {
		a, b := max(w.from, s.from), min(w.to, s.to)
		if b <= a {
			continue
		}
		share := 0.0 // of the bore under the obvert where the water begins
		if !w.full {
			share = 0.5
		}
		body := s.wall(a, b, share)
		down := s.wall(a, b, 1)
		for i := len(down) - 1; i >= 0; i-- {
			body = append(body, down[i])
		}
		s.pen.fill(inkWater, body)
	}
	up, down := withoutRepeats(s.wall(s.from, s.to, 0)), withoutRepeats(s.wall(s.from, s.to, 1))
	s.pen.polyline(inkObvert, up)
	s.pen.polyline(inkInvert, down)
	s.p.avoid(thin(up, 0.1), math.Inf(1))
	s.p.avoid(thin(down, 0.1), math.Inf(1))
}

// wall is the line of the pipe between two chainages, a share of its bore under the obvert. Vertical steps are kept, in the profile and
// where the bore changes.
func (s *planSheet) wall(a, b, share float64) (out []pt) {
	sections := s.pipeSections()
	add := func(ch, obvert, bore float64) { out = append(out, pt{s.x(ch), s.level(obvert - share*bore)}) }
	for i := 1; i < len(s.pts); i++ {
		p, q := s.pts[i-1], s.pts[i]
		lo, hi := max(p.ch, a), min(q.ch, b)
		if hi < lo || hi == lo && q.ch > p.ch && (p.ch < a || q.ch > b) {
			continue
		}
		at := func(ch float64) float64 {
			switch {
			case ch == p.ch && q.ch > p.ch:
				return p.obvert
			case ch == q.ch && q.ch > p.ch:
				return q.obvert
			}
			return p.obvert + (q.obvert-p.obvert)*(ch-p.ch)/(q.ch-p.ch)
		}
		if q.ch == p.ch {
			bore := s.boreAt(p.ch)
			add(p.ch, p.obvert, bore)
			add(q.ch, q.obvert, bore)
			continue
		}
		cuts := []float64{lo}
		for _, k := range sections {
			if k.from > lo && k.from < hi {
				cuts = append(cuts, k.from)
			}
		}
		cuts = append(cuts, hi)
		for k := 1; k < len(cuts); k++ {
			bore := s.boreAt((cuts[k-1] + cuts[k]) / 2)
			add(cuts[k-1], at(cuts[k-1]), bore)
			add(cuts[k], at(cuts[k]), bore)
		}
	}
	return out
}

// withoutRepeats drops points at the very place of the point before.
func withoutRepeats(p []pt) (out []pt) {
	for i, q := range p {
		if i == 0 || q != p[i-1] {
			out = append(out, q)
		}
	}
	return out
}

// hatch sets the ground's strokes in threes.
func (s *planSheet) hatch(t []pt) {
	step, long := 22*s.form.small/2.5, 0.7*s.form.small
	for x := s.form.left() + 0.4*step; x < s.right()-4; x += step {
		for k := range 3 {
			xs := x + 0.5*long*float64(k)
			y, ok := yAt(t, xs)
			ch := s.from + (xs-s.form.left())*s.scale/1000
			if ok && s.level(s.obvertAt(ch))-y > 1.3*long {
				s.pen.line(inkHatch, pt{xs, y}, pt{xs - 0.7*long, y + long})
			}
		}
	}
}

// staff draws the scale of levels at the left, with a tick at each of its figures.
func (s *planSheet) staff() {
	f := s.form
	x, w := f.left()-6, 0.5*f.small
	at, dec := ticks(s.y.zero, max(s.hi, s.y.zero+(s.y.datum-s.y.top)*0.5*s.up/1000), max(int((s.y.datum-s.y.top)/(5*f.small)), 3))
	for len(at) < 4 { // three intervals at least, so that the scale reads
		at = append(at, at[len(at)-1]+(at[1]-at[0]))
	}
	for k, v := range at {
		y := s.level(v)
		if y < s.y.top-3*f.small {
			break
		}
		if k < len(at)-1 && s.level(at[k+1]) >= s.y.top-3*f.small {
			half := s.level((v + at[k+1]) / 2)
			s.pen.solid(inkStaff, []pt{{x, y}, {x + w, y}, {x + w, half}, {x, half}})
			top := s.level(at[k+1])
			s.pen.polyline(inkStaff, []pt{{x, y}, {x, top}, {x + w, top}, {x + w, y}})
		}
		s.pen.line(inkStaff, pt{x - f.small, y}, pt{x, y})
		s.text(inkStaff, pt{x - 1.4*f.small, y + f.small/2}, fixed(v, dec), f.small, false, 0, end)
	}
	s.text(inkHead, pt{marginBind + 3, s.y.datum + f.small/2}, "Level above datum, m", f.small, false, 0, start)
}

// axis draws the scale of chainages under the datum, with ticks at round ones.
func (s *planSheet) axis() {
	f := s.form
	step := niceStep(18 * f.small * s.scale / 1000)
	for n := 0; n < 12 && (s.to-s.from)/step < 4; n++ {
		step = niceStep(step * 0.45)
	}
	decimals := 0
	if step < 1 {
		decimals = 2
	}
	last := math.Inf(-1)
	for k := math.Ceil(s.from/step - 1e-9); k*step <= s.to+1e-9; k++ {
		x := s.x(k * step)
		s.pen.line(inkChainage, pt{x, s.y.datum}, pt{x, s.y.datum + 0.8*f.small})
		t := chainageText(k * step)
		if decimals > 0 {
			t = chainageText(math.Floor(k*step+1e-9)) + fixed(k*step-math.Floor(k*step+1e-9), decimals)[1:]
		}
		w := planWidth(t, f.small, false)
		if x-w/2 < last+f.small || x+w/2 > s.right()+f.after-2 {
			continue
		}
		last = x + w/2
		s.text(inkChainage, pt{x, s.y.axis - 0.25*f.small}, t, f.small, false, 0, middle)
	}
}

// pools1 draws the levels of standing water in the case shown.
func (s *planSheet) pools1() {
	for _, p := range s.pools {
		for _, k := range p.spans {
			a, b := max(k[0], s.from), min(k[1], s.to)
			if b <= a {
				continue
			}
			t := []pt{{s.x(a), s.level(p.pool.Level)}, {s.x(b), s.level(p.pool.Level)}}
			s.pen.line(inkPool, t[0], t[1])
			s.p.avoid(t, 8)
		}
	}
}

// things draws tanks, pumps and equipment as the trade's signs.
func (s *planSheet) things() {
	u := s.form.small / 2.5 // signs are drawn for figures of 2.5 mm
	for _, m := range s.marks {
		if !s.holds(m.ch) {
			continue
		}
		x, top := s.x(m.ch), s.level(m.level)
		y := (top + s.level(m.level-s.boreAt(m.ch))) / 2
		if m.kind == placeNode {
			side := 0.0
			if m.ch >= s.planRoute.to && s.last() {
				side = 1
			} else if m.ch <= s.planRoute.from && s.first() {
				side = -1
			}
			s.node(m, x, y, side, u)
			continue
		}
		at := func(dx, dy float64) pt { return pt{x + dx*u, y + dy*u} }
		bow := func() {
			s.pen.polyline(inkEquipment, []pt{at(-1.8, -1.3), at(-1.8, 1.3), at(1.8, -1.3), at(1.8, 1.3), at(-1.8, -1.3)})
			if m.closed {
				s.pen.solid(inkEquipment, []pt{at(-1.8, -1.3), at(-1.8, 1.3), at(0, 0)})
				s.pen.solid(inkEquipment, []pt{at(1.8, -1.3), at(1.8, 1.3), at(0, 0)})
			}
		}
		switch m.kind {
		case placeIsolating:
			bow()
		case placeCheck:
			d := m.facing
			s.pen.polyline(inkEquipment, []pt{at(-1.5*d, -1.3), at(1.5*d, 0), at(-1.5*d, 1.3), at(-1.5*d, -1.3)})
			s.pen.line(inkEquipment, at(1.5*d, -1.3), at(1.5*d, 1.3))
		case placeSustaining, placeReducing:
			bow()
			s.pen.line(inkEquipment, at(0, 0), at(0, -1.6))
			s.pen.circle(inkEquipment, at(0, -2.4), 0.9*u)
		case placeFlowControl:
			bow()
			s.pen.line(inkEquipment, at(0, 0), at(0, -1.6))
			s.pen.polyline(inkEquipment, []pt{at(-0.9, -1.6), at(0.9, -1.6), at(0.9, -3.2), at(-0.9, -3.2), at(-0.9, -1.6)})
		default: // a scour: a branch downwards
			s.pen.line(inkEquipment, at(0, 0), at(0, 3))
			s.pen.polyline(inkEquipment, []pt{at(-0.9, 2), at(0, 3), at(0.9, 2)})
		}
		s.p.take(rectBox(x-2.2*u, y-2*u, x+2.2*u, y+3.2*u))
	}
}

// node draws an end of the route, side +1 at its right end and −1 at its left, or a place between its runs.
func (s *planSheet) node(m place, x, y, side, u float64) {
	n := &s.r.Line.Nodes[m.node]
	at := func(dx, dy float64) pt { return pt{x + dx*u, y + dy*u} }
	switch n.Kind {
	case line.Tank:
		if side == 0 {
			side = 1
		}
		levels := s.tankLevels(m.node)
		top, bottom := s.level(levels[0].level)-2*u, max(s.level(m.level-s.boreAt(m.ch)), s.level(levels[len(levels)-1].level))+1.5*u
		wide := 6 * side * u
		s.pen.polyline(inkNode, []pt{{x, top}, {x, bottom}, {x + wide, bottom}, {x + wide, top}})
		at := make([]float64, len(levels))
		for i, l := range levels {
			s.pen.line(inkPool, pt{x, s.level(l.level)}, pt{x + wide, s.level(l.level)})
			at[i] = s.level(l.level)
		}
		s.p.take(rectBox(x, top, x+wide, bottom))
		s.pen.shape(inkPool, shapeWater, pt{x + wide/2, s.level(levels[0].level)}, 0.9*u)
		if side > 0 && m.ch >= s.planRoute.to {
			h := s.form.small
			for i, l := range Spread(at, 1.5*h, s.y.fan+2*h, s.y.datum-h) {
				s.text(inkPool, pt{x + wide + 0.5*h, l + h/2}, levelText(levels[i].level), h, false, 0, start)
			}
		}
	case line.Station:
		if side == 0 {
			side = 1
			x -= 3 * u
			at = func(dx, dy float64) pt { return pt{x + dx*u, y + dy*u} }
		}
		s.pen.circle(inkNode, at(3*side, 0), 2.2*u)
		s.pen.polyline(inkNode, []pt{at(3*side-1.3, -1.7), at(3*side+2.2, 0), at(3*side-1.3, 1.7)})
		s.p.take(rectBox(x+3*side*u-2.4*u, y-2.4*u, x+3*side*u+2.4*u, y+2.4*u))
	case line.DeadEnd:
		s.pen.line(inkNode, at(0, -2), at(0, 2))
	case line.Outfall:
		s.pen.polyline(inkNode, []pt{at(0, 0), at(2, 0.3), at(2.6, 2.5)})
	}
}

// matches draws the lines at which sheets meet.
func (s *planSheet) matches() {
	h := s.form.small
	mark := func(x float64, other int, a anchor, dx float64) {
		s.pen.line(inkMatch, pt{x, s.y.top - 2*h}, pt{x, s.y.datum})
		ch := s.from
		if dx > 0 {
			ch = s.to
		}
		s.text(inkMatch, pt{x + dx, s.y.top - 1.5*h}, fmt.Sprintf("match line %s, sheet %d", chainageText(ch), other), h, false, 90, a)
	}
	if !s.first() {
		mark(s.form.left(), s.no-1, start, -0.9*h-0.5)
	}
	if !s.last() {
		mark(s.right(), s.no+1, start, 0.7*h)
	}
}
