package deliver

import (
	"fmt"
	"math"
	"strings"
)

// day is 24 hours of the line: levels, pumps, power with the tariff, head at the worst valve.
type day struct {
	name   string
	tanks  []dayTank
	pumps  []dayPump
	power  []pt // h, kW, by steps
	bands  []dayBand
	valve  string // the worst one
	head   []pt   // h, m at its seat: where it is least and where it is greatest
	needed float64
	need   string // what the head must not fall below, in words
	unit   string // currency of the tariff
	sums   string // energy, cost, starts
}

// dayTank is the level of a tank.
type dayTank struct {
	name   string
	level  []pt    // h, m above datum
	lo, hi float64 // working range; equal where none is given
}

// dayPump is when a pump runs.
type dayPump struct {
	name string
	on   [][2]float64 // h
}

// dayBand is a stretch of the tariff.
type dayBand struct {
	from, to float64 // h, from below to
	price    float64
	text     string
}

// A day's drawing shows so many tanks and pumps; the table has all.
const (
	mostTanks = 5
	mostPumps = 10
)

// dayPens are the pens of the tanks, in turn; the labels beside the lines tell which is which.
var dayPens = [...]string{"hcurve", "gl p1", "gl p2", "gl fill"}

func (d *day) draw(f form, id string) []*canvas {
	if len(d.tanks) == 0 && len(d.power) == 0 && len(d.pumps) == 0 {
		return nil
	}
	c := &canvas{w: f.w, id: id, title: "A day: " + d.name, desc: d.words()}
	x0, x1 := f.left, f.w-190
	if !f.bands {
		x0, x1 = 44, f.w-84
	}
	y := 4.0
	if len(d.tanks) > 0 {
		y = d.levels(c, x0, x1, y)
	}
	if len(d.pumps) > 0 {
		y = d.running(f, c, x0, x1, y)
	}
	if len(d.power) > 0 {
		y = d.drawn(c, x0, x1, y)
	}
	if len(d.head) > 0 {
		y = d.worst(c, x0, x1, y)
	}
	q := newPlot(c, x0, y-1, x1, y, pt{}, pt{24, 1})
	step := 2.0
	if !f.bands {
		step = 6
	}
	var at []float64
	for h := 0.0; h <= 24; h += step {
		at = append(at, h)
	}
	q.acrossAt(at, func(v float64) string { return fixed(v, 0) }, "h")
	c.h = y + 26
	return []*canvas{c}
}

// band heads a part of the day's drawing and gives the y under the head.
func (d *day) band(c *canvas, word string, y float64) float64 {
	c.line("hair", 0, y, c.w, y)
	c.text(0, y+16, shorten(faceLabelB, word, c.w), faceLabelB, setting{})
	return y + 28
}

func (d *day) levels(c *canvas, x0, x1, y float64) float64 {
	word, tanks := "Tank levels, m above datum", d.tanks
	if n := len(tanks) - mostTanks; n > 0 {
		word += fmt.Sprintf("; %d more in the table", n)
		tanks = tanks[:mostTanks]
	}
	y = d.band(c, word, y)
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, t := range tanks {
		for _, p := range t.level {
			lo, hi = min(lo, p.y), max(hi, p.y)
		}
	}
	// Tanks far apart in level share no scale: each gets a strip of its own.
	if hi-lo > 12 && len(tanks) > 1 {
		for i := range tanks {
			y = d.tank(c, tanks[i:i+1], x0, x1, y, 56)
		}
		return y + 6
	}
	return d.tank(c, tanks, x0, x1, y, 96) + 6
}

func (d *day) tank(c *canvas, tanks []dayTank, x0, x1, y, high float64) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, t := range tanks {
		for _, p := range t.level {
			lo, hi = min(lo, p.y), max(hi, p.y)
		}
		if t.hi > t.lo && t.hi-t.lo < 4*max(hi-lo, 0.5) {
			lo, hi = min(lo, t.lo), max(hi, t.hi)
		}
	}
	if hi-lo < 0.2 {
		lo, hi = (lo+hi)/2-0.1, (lo+hi)/2+0.1
	}
	q := newPlot(c, x0, y, x1, y+high, pt{0, lo - 0.03*(hi-lo)}, pt{24, hi + 0.03*(hi-lo)})
	q.up(max(int(high/26), 3))
	var tags []tag
	for i, t := range tanks {
		q.curve(dayPens[i%len(dayPens)], t.level)
		if t.hi > t.lo {
			d.workingRange(q, t)
		}
		if n := len(t.level); n > 0 {
			tags = append(tags, tag{q.y(t.level[n-1].y), t.name, ""})
		}
	}
	c.h = y + high + 30
	q.tags(tags, c.w-x1-12)
	return y + high + 14
}

// workingRange draws the ends of a tank's working range and names them where there is room.
func (d *day) workingRange(q *plot, t dayTank) {
	for k, v := range [2]float64{t.lo, t.hi} {
		if v < q.lo.y || v > q.hi.y {
			continue
		}
		q.curve("limit2", []pt{{0, v}, {24, v}})
		s := [2]string{"lowest ", "highest "}[k] + levelText(v)
		var tries []try
		for i, h := range []float64{0.2, 20.4, 10.2, 5.1, 15.3} {
			for _, dy := range []float64{-3, 12} {
				o := setting{halo: true}
				x, y := q.x(h)+3, q.y(v)+dy
				tries = append(tries, try{boxes: []box{textBox(x, y, s, faceNote, o)}, cost: float64(i) + max(dy, 0)*0.05, use: func() { q.c.text(x, y, s, faceNote, o) }})
			}
		}
		q.p.best(tries)
	}
}

// running draws a row for each pump, filled while it runs.
func (d *day) running(f form, c *canvas, x0, x1, y float64) float64 {
	word, pumps := "Pumps running", d.pumps
	if n := len(pumps) - mostPumps; n > 0 {
		word += fmt.Sprintf("; %d more in the table", n)
		pumps = pumps[:mostPumps]
	}
	y = d.band(c, word, y) - 4
	for _, p := range pumps {
		q := newPlot(c, x0, y, x1, y+12, pt{}, pt{24, 1})
		c.line("grid", x0, y+12, x1, y+12)
		hours := 0.0
		for _, o := range p.on {
			a, b := q.x(max(o[0], 0)), q.x(min(o[1], 24))
			if b > a {
				c.bar(fillInk, a, y+1, b-a, 10)
				hours += o[1] - o[0]
			}
		}
		face, x, s := faceLabel, x1+13, " "+fixed(hours, 1)+" h"
		if !f.bands {
			face, x = faceNote, x1+6
		}
		c.text(x, y+11, shorten(face, p.name, c.w-x-face.width(s))+s, face, setting{})
		y += 18
	}
	return y + 6
}

// drawn draws the electric power over the bands of the tariff.
func (d *day) drawn(c *canvas, x0, x1, y float64) float64 {
	word := "Power, kW"
	if len(d.bands) > 0 {
		word += "; above it the tariff, " + d.unit + " per kWh"
	}
	y = d.band(c, word, y)
	top, dear, cheap := 0.0, 0.0, math.Inf(1)
	for _, p := range d.power {
		top = max(top, p.y)
	}
	for _, b := range d.bands {
		dear, cheap = max(dear, b.price), min(cheap, b.price)
	}
	y0 := y
	if len(d.bands) > 0 {
		y0 += 18
	}
	const high = 84.0
	q := newPlot(c, x0, y0, x1, y0+high, pt{}, pt{24, max(top*1.06, 1)})
	ends := math.Inf(-1)
	for _, b := range d.bands {
		xa, xb := q.x(b.from), q.x(b.to)
		if b.price >= dear && dear > cheap {
			c.rect("env", xa, y0, xb-xa, high)
		}
		c.line("drop", xa, y, xa, y0+high)
		w := faceNote.width(b.text)
		if w < xb-xa-4 && (xa+xb-w)/2 > ends+4 {
			c.text((xa+xb)/2, y+12, b.text, faceNote, setting{at: middle})
			ends = (xa + xb + w) / 2
		}
	}
	q.up(4)
	q.curve("envl", d.power)
	if d.sums != "" {
		c.lines(x1+13, y0+10, 14, firstLines(faceNote.wrap(d.sums, c.w-x1-13), 6), faceNote, setting{})
	}
	return y0 + high + 14
}

// firstLines are the first n lines.
func firstLines(l []string, n int) []string { return l[:min(len(l), n)] }

// worst draws the head at the worst valve against what it needs.
func (d *day) worst(c *canvas, x0, x1, y float64) float64 {
	y = d.band(c, "Head at the seat of valve "+d.valve+", m", y)
	lo, hi := min(d.needed, 0), d.needed
	for _, p := range d.head {
		lo, hi = min(lo, p.y), max(hi, p.y)
	}
	const high = 84.0
	q := newPlot(c, x0, y, x1, y+high, pt{0, lo}, pt{24, max(hi*1.06, 0.1)})
	q.up(4)
	if d.need != "" {
		q.curve("limit", []pt{{0, d.needed}, {24, d.needed}})
	}
	for _, p := range d.head {
		m := markTight
		if d.need != "" && p.y < d.needed {
			m = markDrips
		}
		at := pt{q.x(p.x), q.y(p.y)}
		c.line("stem", at.x, q.y1, at.x, at.y)
		c.mark(m, at.x, at.y, 4.4)
		q.p.take(markBox(at.x, at.y, 4.4))
	}
	for k, p := range d.head {
		if k > 0 && p == d.head[0] {
			break
		}
		q.spot(pt{q.x(p.x), q.y(p.y)}, [2]string{"least ", "greatest "}[min(k, 1)]+headText(p.y)+" at "+hourText(p.x), faceNote, "", 1)
	}
	if d.need != "" {
		c.h = y + high + 30
		q.tags([]tag{{q.y(d.needed), d.need, "w-drips"}}, c.w-x1-12)
	}
	return y + high
}

func (d *day) words() string {
	var b []string
	for _, t := range d.tanks {
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, p := range t.level {
			lo, hi = min(lo, p.y), max(hi, p.y)
		}
		if hi >= lo {
			b = append(b, fmt.Sprintf("%s between %s and %s m", t.name, levelText(lo), levelText(hi)))
		}
	}
	for _, p := range d.pumps {
		var on []string
		for _, o := range p.on {
			on = append(on, hourText(o[0])+" to "+hourText(o[1]))
		}
		b = append(b, p.name+" runs "+strings.Join(on, ", "))
	}
	for _, p := range d.head {
		b = append(b, "head at the seat of valve "+d.valve+" at "+hourText(p.x)+" "+headText(p.y)+" m")
	}
	return strings.Join(append(b, d.sums), ". ") + "."
}

// hourText is a time of the day.
func hourText(h float64) string {
	m := int(math.Round(h * 60))
	return fmt.Sprintf("%02d:%02d", m/60, m%60)
}

func (d *day) twin() *plainTable {
	t := &plainTable{Caption: "A day, " + d.name + ", hour by hour", Heads: []string{"hour"}}
	for _, k := range d.tanks {
		t.Heads = append(t.Heads, k.name+", m")
	}
	t.Heads = append(t.Heads, "pumps running", "power, kW")
	for h := 0.0; h <= 24; h++ {
		row := []string{hourText(h)}
		for _, k := range d.tanks {
			row = append(row, valueAt(k.level, h, 2))
		}
		var on []string
		for _, p := range d.pumps {
			for _, o := range p.on {
				if h >= o[0] && h < o[1] {
					on = append(on, p.name)
				}
			}
		}
		row = append(row, dashed(strings.Join(on, ", ")), valueAt(d.power, h, 1))
		t.Rows = append(t.Rows, row)
	}
	return t
}

// valueAt is a line's value at x, a dash where it has none.
func valueAt(p []pt, x float64, n int) string {
	if len(p) == 0 {
		return "–"
	}
	return fixed(curveAt(p, x).y, n)
}
