package deliver

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"obvert/engine/sealing"
)

// bands draws what stands under the long section on the same chainage: sealing, levels, pressure.
type bands struct {
	*sheet
	c *canvas
	y float64
}

// drawBands draws the bands from y down and gives the y below them.
func drawBands(s *sheet, c *canvas, datum, y float64) float64 {
	b := &bands{sheet: s, c: c, y: y}
	before := c.b.String() // the drops go behind the bands: they are written first
	c.b.Reset()
	top := b.fan(datum)
	b.sealing()
	y1 := b.y
	b.levels()
	y2 := b.y
	bottom := b.pressure()
	body := c.b.String()
	c.b.Reset()
	c.b.WriteString(before)
	for _, x := range s.col {
		c.line("drop", x, top, x, y1)
		c.line("drop", x, y2, x, bottom)
	}
	c.b.WriteString(body)
	return b.y
}

// fan leads the drops from the valves' chainages to their columns and gives the y where the columns begin.
func (b *bands) fan(datum float64) float64 {
	if len(b.on) == 0 {
		return b.y
	}
	if !b.pushed() || b.apart {
		for _, x := range b.col {
			b.c.line("drop", x, datum, x, b.y)
		}
		return b.y
	}
	for k, j := range b.on {
		x := b.x(b.valves[j].ch)
		b.c.polyline("drop", []pt{{x, datum}, {x, b.y}, {b.col[k], b.y + b.fanHeight() - 4}})
	}
	b.y += b.fanHeight()
	return b.y - 4
}

func (b *bands) head(word string) {
	b.c.line("rule", 0, b.y, b.w, b.y)
	b.c.text(0, b.y+17, word, faceHead, setting{})
}

const cellWide, cellHigh = 62.0, 30.0

// sealing is the band of valve by case.
func (b *bands) sealing() {
	b.head("Sealing")
	note := "margin in metres at the seat: head available less the head that counts, ↑ sealing head while the head rises, ↓ letting-go head once the valve has been shut"
	lines := faceNote.wrap(note, b.w-b.left-4)
	b.c.lines(b.left, b.y+16, 14, lines, faceNote, setting{halo: true})
	b.y += 16 + float64(len(lines))*14 - 6
	for c, k := range b.r.Line.Cases {
		head, rest := caseName(k)
		room := b.left - 22
		bold := faceLabelB.wrap(head, room)
		plain := faceLabel.wrap(rest, room)
		least := 42.0
		if b.page > 0 {
			least = 37
		}
		high := max(least, float64(len(bold)+len(plain))*14+8)
		b.c.lines(0, b.y+15, 14, bold, faceLabelB, setting{})
		b.c.lines(0, b.y+15+float64(len(bold))*14, 14, plain, faceLabel, setting{})
		for i, j := range b.on {
			q := &b.valves[j]
			cell, _ := q.cell(c)
			b.cell(b.col[i], b.y, cell)
		}
		b.strip(c, b.y+cellHigh+1)
		b.y += high
	}
	b.y += 6
}

// cell is one valve in one case: mark, word, margin. Only a cell that fails is framed.
func (b *bands) cell(x, y float64, c sealing.Cell) {
	m := stateMark(c.State)
	x0 := x - cellWide/2
	b.c.rect("cell c-"+m.class(), x0, y, cellWide, cellHigh)
	r := 4.4
	b.c.mark(m, x0+9, y+15.5, r)
	o := setting{class: "w-" + m.class()}
	if c.State == sealing.Unrated {
		b.c.text(x0+18, y+12.5, "not", faceLabelB, o)
		b.c.text(x0+18, y+25.5, "known", faceLabelB, o)
		return
	}
	b.c.text(x0+18, y+12.5, stateWord(c.State), faceLabelB, o)
	switch c.State {
	case sealing.Tight, sealing.Drips:
		s := marginText(c.Margin) + " " + ruleArrow(c.Rule)
		if c.OverRating {
			s = "over rating"
		}
		f := faceLabel
		if f.width(s) > cellWide-19 {
			f = faceNote
		}
		if f.width(s) > cellWide-19 {
			s = marginText(math.Round(c.Margin)) + ruleArrow(c.Rule)
			if c.OverRating {
				s = "too high"
			}
		}
		b.c.text(x0+18, y+25.5, s, f, setting{})
	default:
		b.c.text(x0+18, y+25.5, "in air", faceNote, setting{})
	}
}

// strip is the pipe drawn straight: full, part full, empty.
func (b *bands) strip(c int, y float64) {
	for _, w := range b.wetted(c) {
		x1, x2 := b.x(max(w.from, b.from)), b.x(min(w.to, b.to))
		if x2 <= x1 {
			continue
		}
		if w.full {
			b.c.rect("water", x1, y, x2-x1, 4)
		} else {
			b.c.rect("water", x1, y+2.2, x2-x1, 1.8)
		}
	}
	b.c.line("pipe t", b.left, y, b.plotRight(), y)
	b.c.line("pipe t", b.left, y+4, b.plotRight(), y+4)
}

// column is a place whose levels are written.
type column struct {
	x, ch  float64
	ground float64
	has    bool
	obvert float64
	valve  bool
}

// columns chooses the places: every valve at its column, the ends, then the points that stand out most, as many as fit
// between them with least px between two.
func (s *sheet) columns(least float64) []column {
	var out []column
	add := func(x, ch float64, valve bool) {
		g, has := s.groundAt(ch)
		out = append(out, column{x, ch, g, has, s.obvertAt(ch), valve})
	}
	for k, j := range s.on {
		add(s.col[k], s.valves[j].ch, true)
	}
	// try adds a place that is no valve's, where it keeps its order among the columns and its distance from them.
	try := func(ch float64) {
		x := s.x(ch)
		for _, o := range out {
			if math.Abs(o.ch-ch) < 0.5 || math.Abs(o.x-x) < least || (o.x-x)*(o.ch-ch) < 0 {
				return
			}
		}
		add(x, ch, false)
	}
	try(s.from)
	try(s.to)
	trace := s.relief(s.holds, s.x, 300)
	across := (s.w - s.left - s.right) / max(s.to-s.from, 1e-9)
	for tol := 64.0; tol > 2; tol /= 2 {
		for _, p := range thin(trace, tol) {
			try(s.from + (p.x-s.left)/across)
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].x < out[j].x })
	return out
}

// levels is the band of chainage, levels and slopes, figures turned at their chainage.
func (b *bands) levels() {
	cols := b.columns(15)
	b.head("Chainage")
	row := func(high float64, name string, f func(column) string) {
		if name != "" {
			b.c.text(0, b.y+high/2+5, name, faceLabel, setting{})
			b.c.text(b.left-12, b.y+high/2+5, "m", faceNote, setting{at: end})
		}
		for _, c := range cols {
			face := faceRow
			if c.valve {
				face = faceRowB
			}
			b.c.text(c.x+4, b.y+high-4, f(c), face, setting{turn: -90, halo: true})
		}
		b.y += high
	}
	widest := func(f func(column) string) float64 {
		w := 0.0
		for _, c := range cols {
			w = max(w, faceRowB.width(f(c)))
		}
		return w + 9
	}
	ch := func(c column) string { return chainageText(c.ch) }
	gr := func(c column) string {
		if !c.has {
			return ""
		}
		return levelText(c.ground)
	}
	ob := func(c column) string { return levelText(c.obvert) }
	row(max(widest(ch), 26), "", ch)
	b.c.line("hair", 0, b.y, b.plotRight(), b.y)
	if b.ground {
		row(widest(gr), "Ground level", gr)
		b.c.line("hair", 0, b.y, b.plotRight(), b.y)
	}
	row(widest(ob), "Obvert level", ob)
	b.c.line("hair", 0, b.y, b.plotRight(), b.y)
	b.c.text(0, b.y+14, "Rise ↑ or fall ↓", faceLabel, setting{})
	for i := 1; i < len(cols); i++ {
		a, z := cols[i-1], cols[i]
		s := slopeText(z.obvert-a.obvert, z.ch-a.ch)
		if b.straight(a.ch, z.ch) && faceNote.width(s) < z.x-a.x-6 {
			b.c.text((a.x+z.x)/2, b.y+14, s, faceNote, setting{at: middle, halo: true})
		}
		b.c.line("hair", z.x, b.y+4, z.x, b.y+17)
	}
	b.y += 20
}

// straight tells whether the pipe between two places keeps near one slope, so that the slope may be written: within a tenth of
// the rise, or 0.1 m.
func (s *sheet) straight(a, z float64) bool {
	ya, yz := s.obvertAt(a), s.obvertAt(z)
	for _, p := range s.pts {
		if p.ch > a && p.ch < z {
			if y := ya + (yz-ya)*(p.ch-a)/(z-a); math.Abs(p.obvert-y) > max(0.1, 0.1*math.Abs(yz-ya)) {
				return false
			}
		}
	}
	return z > a
}

// pressure is the band of the largest and smallest pressure head and of the pipe's rating. It gives the y of its zero line.
func (b *bands) pressure() float64 {
	const high = 76.0
	b.head("Pressure")
	note := "head at the obvert, largest and smallest of all cases, m"
	lines := faceNote.wrap(note, b.left-44)
	b.c.lines(0, b.y+33, 14, lines, faceNote, setting{})
	hi, lo, rating := b.pressures()
	hi, lo = b.clipLine(hi), b.clipLine(lo)
	top, bottom := 1.0, 0.0
	var peak pt
	for _, p := range hi {
		if p.y > top || p == hi[0] {
			peak = p
		}
		top = max(top, p.y)
	}
	var low pt
	for _, p := range lo {
		if p.y < bottom {
			low = p
		}
		bottom = min(bottom, p.y)
	}
	limit, over := 0.0, math.Inf(1)
	for _, p := range rating {
		if p[1].x > b.from && p[0].x < b.to {
			limit, over = max(limit, p[0].y), min(over, p[0].y)
		}
	}
	drawn := limit > 0 && over < 2.5*top
	peakTop := top
	if drawn {
		top = max(top, min(limit, 2.5*top))
	}
	y0 := b.y + 26
	scale := high / (top - bottom)
	y := func(v float64) float64 { return y0 + (top-v)*scale }
	zero := y(0)
	tr := func(p []pt) []pt {
		out := make([]pt, len(p))
		for i, q := range p {
			out[i] = pt{b.x(q.x), y(q.y)}
		}
		return thin(out, 0.25)
	}
	up, down := tr(hi), tr(lo)
	env := append([]pt{}, up...)
	for i := len(down) - 1; i >= 0; i-- {
		env = append(env, down[i])
	}
	b.c.polygon("env", env)
	b.c.line("hair2", b.left, zero, b.plotRight(), zero)
	b.c.polyline("envl thin", down)
	b.c.polyline("envl", up)
	p := &placer{area: rectBox(b.left-2, b.y+2, b.w, y0+high+18)}
	p.avoid(up, 10)
	p.avoid(down, 10)
	p.avoid([]pt{{b.left, zero}, {b.plotRight(), zero}}, 10)
	at, dec := ticks(bottom, top, 3)
	for _, v := range at {
		b.c.text(b.left-8, y(v)+4, fixed(v, dec), faceNote, setting{at: end})
		b.c.line("hair2", b.left-4, y(v), b.left, y(v))
	}
	b.ratings(p, rating, drawn, y, limit)
	b.peak(p, hi, peak, peakTop, y, rating)
	if bottom < -0.005 {
		s := headText(low.y) + " m: under suction"
		b.spot(p, pt{b.x(low.x), y(low.y)}, []string{s}, faceLabelB, "w-drips")
	}
	b.y = y0 + high + 22
	return max(zero, y0+high)
}

// ratings draws the pipe's rating where it is near enough to be drawn to the same scale, else says what it is.
func (b *bands) ratings(p *placer, rating [][]pt, drawn bool, y func(float64) float64, limit float64) {
	if limit == 0 {
		b.c.text(b.plotRight(), b.y+17, "rating of the pipe not given", faceNote, setting{at: end})
		p.take(textBox(b.plotRight(), b.y+17, "rating of the pipe not given", faceNote, setting{at: end}))
		return
	}
	if !drawn {
		s := "rating of the pipe " + headText(limit) + " m, above this scale"
		b.c.text(b.plotRight(), b.y+17, s, faceNote, setting{at: end})
		p.take(textBox(b.plotRight(), b.y+17, s, faceNote, setting{at: end}))
		return
	}
	for i := len(rating) - 1; i >= 0; i-- {
		q := b.clipLine(rating[i])
		if len(q) < 2 || y(q[0].y) < b.y+4 {
			continue
		}
		t := []pt{{b.x(q[0].x), y(q[0].y)}, {b.x(q[len(q)-1].x), y(q[0].y)}}
		b.c.polyline("limit", t)
		p.avoid(t, 30)
		s := "rating of the pipe " + headText(q[0].y) + " m"
		o := setting{at: end, halo: true}
		var tries []try
		for x := t[1].x - 2; x > t[0].x+faceLabel.width(s); x -= 40 {
			for _, dy := range []float64{-5, 15} {
				tries = append(tries, try{boxes: []box{textBox(x, t[0].y+dy, s, faceLabel, o)}, cost: (t[1].x-x)*0.02 + max(dy, 0)*0.3,
					use: func() { b.c.text(x, t[0].y+dy, s, faceLabel, o) }})
			}
		}
		p.best(tries)
	}
}

// peak names the largest head and what share of the rating it is.
func (b *bands) peak(p *placer, hi []pt, peak pt, top float64, y func(float64) float64, rating [][]pt) {
	if len(hi) == 0 {
		return
	}
	lines := []string{headText(top) + " m largest"}
	for _, r := range rating {
		if peak.x >= r[0].x-1e-6 && peak.x <= r[1].x+1e-6 && r[0].y > 0 {
			lines[0] += ","
			lines = append(lines, fixed(100*top/r[0].y, 0)+" % of the rating")
			break
		}
	}
	b.spot(p, pt{b.x(peak.x), y(peak.y)}, lines, faceLabelB, "")
}

// spot sets a short label near a point: the first free place around it, nearest first.
func (b *bands) spot(p *placer, at pt, lines []string, f face, class string) {
	w := f.widest(lines)
	var tries []try
	for dy := -34.0; dy <= 60; dy += 4 {
		for _, dx := range []float64{8, 40, 90, 160, 240, -8, -40, -90, -160, -240} {
			x, o := at.x+dx, setting{class: class, halo: true}
			if dx < 0 {
				o.at = end
			}
			y := at.y + dy
			var boxes []box
			for i, l := range lines {
				boxes = append(boxes, textBox(x, y+float64(i)*14, l, f, o))
			}
			if dx > 0 && x+w > b.w || dx < 0 && x-w < b.left {
				continue
			}
			tries = append(tries, try{boxes: boxes, cost: math.Hypot(dx, dy) * 0.15, use: func() { b.c.lines(x, y, 14, lines, f, o) }})
		}
	}
	p.best(tries)
}

// caption is what a screen reader hears first of a section's drawing.
func (s *sheet) caption() (title, desc string) {
	l := s.r.Line
	title = "Long section of " + l.Name
	if s.view.name != "" && len(l.Routes) > 1 {
		title += ", " + s.view.name
	}
	if t := s.sheetTitle(); t != "" {
		title += ", " + strings.ToLower(t)
	}
	if s.bands {
		title += ", over bands for sealing, levels and pressure"
	}
	desc = fmt.Sprintf("From chainage %s to %s, obvert from %s m to %s m.", chainageText(s.from), chainageText(s.to), levelText(s.obvertAt(s.from)), levelText(s.obvertAt(s.to)))
	for _, g := range s.gradeLines(0.01) {
		first, last := g.pieces[0][0], g.pieces[len(g.pieces)-1]
		desc += fmt.Sprintf(" Grade line, %s: from %s m to %s m.", s.describe(g), levelText(first.y), levelText(last[len(last)-1].y))
	}
	if s.shown >= 0 {
		desc += " Pools and states as in the case " + l.Cases[s.shown].Name + ":"
		for _, st := range s.sheetWords() {
			desc += " " + st + ";"
		}
	}
	return title, desc + " The table after this drawing holds the same figures."
}

// sheetTitle stands over a sheet of several.
func (s *sheet) sheetTitle() string {
	if s.overview {
		return "Key to the sheets"
	}
	return upper(s.title())
}
