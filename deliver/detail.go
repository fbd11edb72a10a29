package deliver

import (
	"fmt"
	"math"

	"obvert/engine/sealing"
	"obvert/line"
)

// detail draws again, larger and at the same chainage, the places where water stands so little above or below a seat that the
// long section cannot show it.
type detail struct {
	*sheet
	c     *canvas
	wins  []window
	scale float64 // px per m
	top   float64
	high  float64
	p     placer // over all windows: their labels may meet
}

// window is a stretch whose valves stand under one level.
type window struct {
	from, to float64 // px
	level    float64 // in the case shown, m
	top      float64 // highest level or seat drawn, m
	on       []int   // valves
}

const (
	tooSmall   = 9.0 // px of head that the section cannot show
	detailHigh = 118.0
)

// drawDetail draws the band where it is wanted and gives the y below it.
func drawDetail(s *sheet, c *canvas, sectionScale, y float64) float64 {
	d := &detail{sheet: s, c: c, high: detailHigh}
	d.find(sectionScale)
	if len(d.wins) == 0 {
		return y
	}
	d.top = y + 30
	c.line("rule", 0, y, s.w, y)
	c.text(0, y+17, "Seats, larger", faceHead, setting{})
	across := (s.w - s.left - s.right) / (s.to - s.from)
	ratio := niceRatio(d.scale / across)
	d.scale = ratio * across
	note := fmt.Sprintf("where the head at a seat is too small to be seen above: levels drawn %s times the chainage, bore to scale", trimmed(ratio))
	lines := faceNote.wrap(note, s.w-s.left-4)
	c.lines(s.left, y+16, 14, lines, faceNote, setting{})
	d.top += float64(len(lines)-1) * 14
	for i, w := range d.wins {
		d.draw(i, w)
	}
	return d.top + d.high + 16
}

// find gathers the valves and their windows.
func (d *detail) find(sectionScale float64) {
	if d.shown < 0 || d.r.Line.Cases[d.shown].Kind != line.Standing {
		return
	}
	most := 0.0
	for k, j := range d.on {
		q := &d.valves[j]
		c, _ := q.cell(d.shown)
		if c.State != sealing.Tight && c.State != sealing.Drips || c.Head <= 0 || c.Head*sectionScale > tooSmall {
			continue
		}
		level := q.result.Seat + c.Head
		most = max(most, c.Head)
		x := d.x(q.ch)
		lo, hi := x-70, x+70
		if n := len(d.wins); n > 0 {
			last := &d.wins[n-1]
			if math.Abs(last.level-level) < 0.005 && last.on[len(last.on)-1] == d.on[k-1] && lo < last.to+120 {
				last.to, last.on = hi, append(last.on, j)
				last.top = max(last.top, q.result.Seat)
				continue
			}
			if lo < last.to+10 {
				mid := (x + d.x(d.valves[last.on[len(last.on)-1]].ch)) / 2
				if mid-d.x(d.valves[last.on[len(last.on)-1]].ch) < 34 {
					continue // no room beside the one before
				}
				last.to, lo = mid-5, mid+5
			}
		}
		d.wins = append(d.wins, window{from: max(lo, d.left), to: hi, level: level, top: max(level, q.result.Seat), on: []int{j}})
	}
	for i := range d.wins {
		d.wins[i].to = min(d.wins[i].to, d.plotRight())
	}
	d.scale = (d.high - 44) / max(most, 0.05)
}

// y is a level in a window: its highest level stands a little under the top.
func (d *detail) y(w window, level float64) float64 { return d.top + 16 + (w.top-level)*d.scale }

// levels are the levels of the window's pool in the standing cases, the one shown first.
func (d *detail) levels(w window) []float64 {
	out := []float64{w.level}
	q := &d.valves[w.on[0]]
	for _, c := range d.r.StandingCases {
		cell, ok := q.cell(c)
		if !ok || c == d.shown || cell.Head <= 0 {
			continue
		}
		l := q.result.Seat + cell.Head
		known := false
		for _, o := range out {
			known = known || math.Abs(o-l) < 0.005
		}
		if !known {
			out = append(out, l)
		}
	}
	return out
}

func (d *detail) draw(i int, w window) {
	bottom := d.top + d.high
	id := fmt.Sprintf("%sz%d", d.c.id, i)
	fmt.Fprintf(&d.c.b, `<clipPath id="%s"><rect x="%s" y="%s" width="%s" height="%s"/></clipPath><g clip-path="url(#%[1]s)">`, id, num(w.from), num(d.top), num(w.to-w.from), num(d.high))
	across := (d.w - d.left - d.right) / (d.to - d.from)
	ch := func(x float64) float64 { return d.from + (x-d.left)/across }
	a, b := max(ch(w.from-20), d.from), min(ch(w.to+20), d.to)
	var up, down []pt
	for _, p := range d.pts {
		if p.ch >= a && p.ch <= b {
			up = append(up, pt{d.x(p.ch), d.y(w, p.obvert)})
		}
	}
	up = append(append([]pt{{d.x(a), d.y(w, d.obvertAt(a))}}, up...), pt{d.x(b), d.y(w, d.obvertAt(b))})
	for _, p := range up {
		down = append(down, pt{p.x, p.y + d.boreAt(ch(p.x))*d.scale})
	}
	ribbon := append([]pt{}, up...)
	for k := len(down) - 1; k >= 0; k-- {
		ribbon = append(ribbon, down[k])
	}
	d.c.polygon("water", ribbon)
	d.c.polyline("pipe", up)
	d.c.polyline("pipe", down)
	d.c.b.WriteString("</g>")
	p := &d.p
	p.area = rectBox(max(w.from-40, 0), d.top-12, min(w.to+64, d.w), bottom)
	p.avoid(up, math.Inf(1))
	for k, l := range d.levels(w) {
		y := d.y(w, l)
		if y > bottom-2 || y < d.top-4 {
			continue
		}
		class := "gl std"
		if k > 0 {
			class = "gl std low"
		}
		d.c.line(class, w.from, y, w.to, y)
		p.avoid([]pt{{w.from, y}, {w.to, y}}, 20)
	}
	for _, j := range w.on {
		d.seat(p, w, &d.valves[j])
	}
	for _, l := range d.levels(w) {
		y := d.y(w, l)
		if y > bottom-2 || y < d.top-4 {
			continue
		}
		d.place(p, []pt{{w.to + 4, y + 4}, {w.to - 46, y - 5}, {w.from + 2, y - 5}, {w.to - 46, y + 14}, {w.from + 2, y + 14}}, levelText(l), faceNote, "kw")
	}
}

// seat draws one valve's seat, its height over the obvert and the dimension to the level.
func (d *detail) seat(p *placer, w window, q *valveView) {
	c, _ := q.cell(d.shown)
	x, yo, ys, yl := d.x(q.ch), d.y(w, q.result.Obvert), d.y(w, q.result.Seat), d.y(w, w.level)
	d.c.line("stem2", x, yo, x, ys)
	d.c.line("stem2", x-6, ys, x+6, ys)
	d.c.line("ext", x+6, ys, x+18, ys)
	d.c.line("dim", x+14, ys, x+14, yl)
	d.c.path("dimt", fmt.Sprintf("M%s %sl7 -7M%[1]s %[3]sl7 -7", num(x+10.5), num(ys+3.5), num(yl+3.5)))
	p.take(rectBox(x-6, min(ys, yo), x+6, max(ys, yo)), rectBox(x+10, min(ys, yl)-4, x+18, max(ys, yl)+4))
	mid := (ys + yl) / 2
	d.place(p, []pt{{x + 21, mid + 4}, {x + 21, ys + 16}, {x + 21, yl - 6}, {x - 40, mid + 4}}, headText(c.Head), faceLabelB, "")
	d.place(p, []pt{{x - 12 - faceNumber.width(q.no), ys + 5}, {x - 12 - faceNumber.width(q.no), ys - 6}, {x - 12 - faceNumber.width(q.no), ys + 20}, {x + 20, ys + 16}, {x + 20, ys + 30}}, q.no, faceNumber, "")
}

// place sets a text at the first free of some places.
func (d *detail) place(p *placer, at []pt, s string, f face, class string) {
	var tries []try
	for k, q := range at {
		o := setting{class: class, halo: true}
		tries = append(tries, try{boxes: []box{textBox(q.x, q.y, s, f, o)}, cost: float64(k) * 4, use: func() { d.c.text(q.x, q.y, s, f, o) }})
	}
	p.best(tries)
}
