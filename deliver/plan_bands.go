package deliver

import (
	"fmt"
	"math"
	"strings"

	"obvert/engine/sealing"
)

// planBand is one band of figures under the section.
type planBand struct {
	head, unit string
	high       float64
	draw       func(y float64) // from its upper edge
}

// bandsOf are the sheet's bands from above.
func (s *planSheet) bandsOf() []planBand {
	h := s.form.small
	out := []planBand{s.figures("Chainage", "km + m", func(c *planColumn) string { return planChainage(c.ch) })}
	if s.ground {
		out = append(out, s.figures("Ground level", "m", func(c *planColumn) string {
			if g, ok := s.groundAt(c.ch); ok {
				return levelText(g)
			}
			return ""
		}))
	}
	out = append(out,
		s.figures("Obvert level", "m", func(c *planColumn) string { return levelText(s.obvertAt(c.ch)) }),
		s.figures("Invert level", "m", func(c *planColumn) string {
			if b := s.boreAt(c.ch); b > 0 {
				return levelText(s.obvertAt(c.ch) - b)
			}
			return ""
		}))
	if s.ground {
		out = append(out, s.figures("Cover over the obvert", "m", func(c *planColumn) string {
			if g, ok := s.groundAt(c.ch); ok {
				return levelText(g - s.obvertAt(c.ch))
			}
			return ""
		}))
	}
	out = append(out,
		planBand{"Slope, length", "1 in, m", 3.6 * h, s.slopes},
		planBand{"Pipe", "", 1.9 * h, s.pipes},
		s.figures("Pressure head, largest", "m", func(c *planColumn) string { return s.extreme(c, math.Max) }),
		s.figures("Pressure head, smallest", "m", func(c *planColumn) string { return s.extreme(c, math.Min) }))
	if len(s.valves) > 0 {
		for _, k := range s.cases {
			out = append(out, s.caseBand(k))
		}
	}
	return out
}

// planChainage is a chainage to the centimetre where it is not a whole metre.
func planChainage(v float64) string {
	r := math.Round(v*100) / 100
	if r == math.Trunc(r) {
		return chainageText(r)
	}
	whole := math.Floor(r)
	return chainageText(whole) + fixed(r-whole, 2)[1:]
}

// figures is a band of figures turned at their columns.
func (s *planSheet) figures(head, unit string, of func(*planColumn) string) planBand {
	h := s.form.small
	texts := make([]string, len(s.cols))
	widest := 4 * h
	for i := range s.cols {
		texts[i] = of(&s.cols[i])
		widest = max(widest, planWidth(texts[i], h, s.cols[i].valve >= 0))
	}
	high := widest + 0.9*h
	return planBand{head, unit, high, func(y float64) {
		for i := range s.cols {
			s.pen.text(inkFigure, pt{s.cols[i].x + h/2, y + high - 0.45*h}, texts[i], h, s.cols[i].valve >= 0, -90, start)
		}
	}}
}

// pressureHead is the gauge head at the obvert in a case: at a valve that holds water from the head at its seat.
func (s *planSheet) pressureHead(c *planColumn, k int) (float64, bool) {
	if c.valve >= 0 {
		v := &s.valves[c.valve]
		if cell, ok := v.cell(k); ok && (cell.State == sealing.Tight || cell.State == sealing.Drips) {
			return cell.Head + v.result.Seat - v.result.Obvert, true
		}
	}
	known := true
	h := s.view.along(c.ch, func(p point) float64 {
		st := s.runState(k, p.run)
		if st == nil {
			known = false
			return 0
		}
		return st.PressureHead[p.index]
	})
	return h, known
}

// extreme is the largest or smallest pressure head of all cases.
func (s *planSheet) extreme(c *planColumn, of func(a, b float64) float64) string {
	best, any := 0.0, false
	for k := range s.r.Line.Cases {
		if h, ok := s.pressureHead(c, k); ok {
			if any {
				h = of(best, h)
			}
			best, any = h, true
		}
	}
	if !any {
		return ""
	}
	return headText(best)
}

// caseBand is the band of one case: each valve's state, the head at its seat and the head that counts.
func (s *planSheet) caseBand(k int) planBand {
	h := s.form.small
	type cell struct {
		word, have, need string
		m                mark
	}
	cells := map[int]cell{}
	widest := 4 * h
	for i := range s.cols {
		if s.cols[i].valve < 0 {
			continue
		}
		c, _ := s.valves[s.cols[i].valve].cell(k)
		t := cell{word: stateWord(c.State), m: stateMark(c.State)}
		switch c.State {
		case sealing.Tight, sealing.Drips:
			t.have, t.need = headText(c.Head), "of "+headText(c.Needed)
			if c.Rule == sealing.Falling {
				t.need += "*"
			}
		case sealing.Open, sealing.Empty:
			t.have = "in air"
		default: // in two lines, which saves the band's height
			t.word, t.have, _ = strings.Cut(t.word, " ")
		}
		cells[i] = t
		widest = max(widest, planWidth(t.word, h, true)+2.2*h, planWidth(t.have, h, true), planWidth(t.need, h, false))
	}
	high := max(widest+0.9*h, float64(len(planWrap(s.r.Line.Cases[k].Name, h, false, s.form.stub-8)))*1.5*h+0.6*h)
	return planBand{s.r.Line.Cases[k].Name, "", high, func(y float64) {
		foot := y + high - 0.45*h
		for i := range s.cols {
			t, ok := cells[i]
			if !ok {
				continue
			}
			ink := stateInks[t.m.class()]
			x := s.cols[i].x
			s.pen.shape(ink, shapeOf(t.m), pt{x - pitch(h), foot - 0.8*h}, 0.6*h)
			s.pen.text(ink, pt{x - pitch(h) + h/2, foot - 2.2*h}, t.word, h, true, -90, start)
			of := inkFigure
			if t.need == "" {
				of = ink
			}
			s.pen.text(of, pt{x + h/2, foot}, t.have, h, t.m == markUnknown, -90, start)
			s.pen.text(inkFigure, pt{x + pitch(h) + h/2, foot}, t.need, h, false, -90, start)
		}
	}}
}

// slopes is the band of slope and length between the breaks that stand out.
func (s *planSheet) slopes(y float64) {
	h := s.form.small
	var trace []pt
	for _, p := range s.pts {
		if s.holds(p.ch) {
			trace = append(trace, pt{s.x(p.ch), s.level(p.obvert)})
		}
	}
	if len(trace) == 0 || trace[0].x > s.x(s.from)+0.01 {
		trace = append([]pt{{s.x(s.from), s.level(s.obvertAt(s.from))}}, trace...)
	}
	if trace[len(trace)-1].x < s.x(s.to)-0.01 {
		trace = append(trace, pt{s.x(s.to), s.level(s.obvertAt(s.to))})
	}
	breaks := thin(trace, 0.35)
	flat := &sheet{view: s.view}
	for i, b := range breaks {
		if i == 0 || b.x-breaks[i-1].x > 0.6 {
			s.pen.line(inkRule, pt{b.x, y}, pt{b.x, y + 3.6*h})
		}
		if i == 0 {
			continue
		}
		a := breaks[i-1]
		ca, cb := s.from+(a.x-s.form.left())*s.scale/1000, s.from+(b.x-s.form.left())*s.scale/1000
		rise := s.obvertAt(cb) - s.obvertAt(ca)
		if !flat.straight(ca, cb) || cb-ca < 1e-6 {
			continue
		}
		slope := slopeText(rise, cb-ca)
		way := 0.0
		for _, arrow := range []string{"↑", "↓"} {
			if len(slope) > len(arrow) && slope[:len(arrow)] == arrow {
				slope, way = slope[len(arrow):], map[string]float64{"↑": -1, "↓": 1}[arrow]
			}
		}
		length := lengthText(cb - ca)
		mid := (a.x + b.x) / 2
		w := planWidth(slope, h, false)
		if w+2*h < b.x-a.x-h {
			s.pen.text(inkFigure, pt{mid + 0.8*h, y + 1.5*h}, slope, h, false, 0, middle)
			x := mid + 0.8*h - w/2 - 0.5*h
			if way != 0 {
				s.pen.line(inkFigure, pt{x - 1.3*h, y + h - 0.45*h*way}, pt{x, y + h + 0.45*h*way})
			}
		}
		if planWidth(length, h, false) < b.x-a.x-h {
			s.pen.text(inkFigure, pt{mid, y + 3.1*h}, length, h, false, 0, middle)
		}
	}
}

// pipeTexts are the ways to say what a pipe is, the fullest first.
func (s *planSheet) pipeTexts(p planPipe) []string {
	k := p.section
	join := func(parts ...string) (out string) {
		for _, t := range parts {
			if t != "" {
				if out != "" {
					out += ", "
				}
				out += t
			}
		}
		return out
	}
	bore, rating := "", ""
	if k.Bore > 0 {
		bore = "bore " + fixed(k.Bore*1000, 0) + " mm"
	}
	if k.Rating > 0 {
		rating = "rated " + trimmed(k.Rating/1e5) + " bar"
	}
	size := k.Size
	if size == "" {
		size = bore
	}
	full := join(k.Size, k.Material, bore, rating)
	return []string{full, join(size, k.Material, rating), join(size, rating), size}
}

// pipes is the band of what the pipe is.
func (s *planSheet) pipes(y float64) {
	h := s.form.small
	for _, p := range s.pipeSections() {
		a, b := s.x(max(p.from, s.from)), s.x(min(p.to, s.to))
		if b-a < 0.3 {
			continue
		}
		s.pen.line(inkRule, pt{a, y}, pt{a, y + 1.9*h})
		s.pen.line(inkRule, pt{b, y}, pt{b, y + 1.9*h})
		for _, t := range s.pipeTexts(p) {
			if t != "" && planWidth(t, h, false) < b-a-h {
				s.pen.text(inkFigure, pt{(a + b) / 2, y + 1.4*h}, t, h, false, 0, middle)
				break
			}
		}
	}
}

// bandsHeight is the height of all bands together.
func (s *planSheet) bandsHeight() float64 {
	sum := 0.0
	for _, b := range s.bandsOf() {
		sum += b.high
	}
	return sum
}

// bands draws the bands with their heads.
func (s *planSheet) bands() {
	f, h := s.form, s.form.small
	y := s.y.bands
	right := s.right()
	for i := range s.cols {
		right = max(right, s.cols[i].x+s.cols[i].wide/2)
	}
	for i := range s.cols { // hairlines from the chainages to the columns
		c := &s.cols[i]
		s.pen.polyline(inkHair, []pt{{s.x(c.ch), s.y.axis}, {s.x(c.ch), s.y.axis + 0.6*h}, {c.x, y - 0.8*h}, {c.x, y}})
	}
	said := false
	for _, b := range s.bandsOf() {
		s.pen.line(inkRule, pt{marginBind, y}, pt{right, y})
		x := marginBind + 3
		lines := planWrap(b.head, h, false, f.stub-8-planWidth(b.unit, h, false))
		for i, l := range lines {
			s.pen.text(inkHead, pt{x, y + b.high/2 + h/2 + (float64(i)-float64(len(lines)-1)/2)*1.5*h}, l, h, i == 0, 0, start)
		}
		if b.unit != "" {
			s.pen.text(inkNotes, pt{f.left() - 6, y + b.high/2 + h/2}, b.unit, h, false, 0, end)
		}
		b.draw(y)
		y += b.high
		said = true
	}
	if said {
		s.pen.line(inkRule, pt{marginBind, y}, pt{right, y})
	}
	if len(s.cols) > 0 && s.dropped > 0 {
		s.pen.text(inkNotes, pt{f.left(), y + 1.3*h}, fmt.Sprintf("%d more things stand too close to be written here: see the schedule.", s.dropped), h, false, 0, start)
	}
}
