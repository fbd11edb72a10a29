package deliver

import (
	"fmt"
	"math"
	"sort"

	"obvert/bench"
	"obvert/physics/valve"
)

// benchRun draws one sealing run: the head against time with the marks of every valve, under it the stretches in which each
// valve was tight, and beside it what the run hands to the line.
type benchRun struct {
	*bench.Result
	form
	c     *canvas
	names []string // short name of each valve
	seat  float64  // common height of the seats above the bench's datum, m; 0 where they differ
	atZ   bool     // the seats differ: heads are drawn at the bench's datum

	t0, t1     float64 // s
	hi         float64 // m
	x0, x1     float64
	y0, y1     float64
	barsBottom float64
	axisTexts  []box
}

// newBenchRun prepares a run for drawing.
func newBenchRun(r *bench.Result, f form, c *canvas, rack *rackView) *benchRun {
	d := &benchRun{Result: r, form: f, c: c, t0: math.Inf(1), t1: math.Inf(-1)}
	for i, v := range r.Valves {
		short := v.Record
		if short == "" {
			short = v.Name
		}
		if t := rack.named(v.Record); t != nil {
			short = t.short
		} else if faceLabelB.width(short) > 40 {
			short = fmt.Sprintf("%d", i+1)
		}
		d.names = append(d.names, short)
		if i > 0 && math.Abs(v.Seat-r.Valves[0].Seat) > 0.0005 {
			d.atZ = true
		}
	}
	if len(r.Valves) > 0 && !d.atZ {
		d.seat = r.Valves[0].Seat
	}
	for _, q := range r.Readings {
		d.t0, d.t1 = min(d.t0, q.Time), max(d.t1, q.Time)
		d.hi = max(d.hi, d.head(q.Pressure))
	}
	for _, v := range r.Valves {
		for _, m := range v.Marks {
			d.t0, d.t1 = min(d.t0, m.Time), max(d.t1, m.Time)
			d.hi = max(d.hi, d.markHead(v, m))
		}
		d.hi = max(d.hi, d.metres(v.Sealing.Mean))
	}
	d.hi = max(d.hi*1.04, 0.1)
	return d
}

func (d *benchRun) metres(p float64) float64 {
	if d.Density <= 0 || d.Gravity <= 0 {
		return 0
	}
	return p / (d.Density * d.Gravity)
}

// head is a reading's head as drawn: at the common seat, or at the bench's datum where the seats differ.
func (d *benchRun) head(p float64) float64 { return d.metres(p) - d.seat }

// markHead is a mark's head as drawn.
func (d *benchRun) markHead(v bench.ValveResult, m bench.Mark) float64 {
	if d.atZ {
		return m.Head + v.Seat
	}
	return m.Head
}

func (d *benchRun) x(t float64) float64 {
	return d.x0 + (t-d.t0)/max(d.t1-d.t0, 1e-9)*(d.x1-d.x0)
}
func (d *benchRun) y(h float64) float64 { return d.y1 - h/d.hi*(d.y1-d.y0) }

// draw lays the run out: the results beside the curve where there is room, else beneath.
func (d *benchRun) draw() {
	if len(d.Readings) == 0 && len(d.Valves) == 0 {
		return
	}
	beside := d.bands && len(d.Valves) <= 5
	d.x0, d.x1, d.y0, d.y1 = d.left, d.w-50, 26, 326
	if beside {
		d.x1 = d.w * 0.66
	}
	if !d.bands {
		d.x0, d.x1, d.y1 = 30, d.w-14, 226
	}
	d.axes()
	d.events()
	d.curve()
	d.markLabels()
	d.bars()
	if beside {
		d.results(d.x1+110, d.w-20, d.y0, d.y1)
		d.c.h = max(d.barsBottom, d.y1+110)
		return
	}
	top := d.barsBottom + 30
	d.results(d.x0, d.x1, top, top+(d.y1-d.y0)*0.8)
	d.c.h = top + (d.y1-d.y0)*0.8 + 110
}

func (d *benchRun) axes() {
	at, dec := ticks(0, d.hi, 7)
	for _, v := range at {
		class := "grid"
		if v == 0 {
			class = "hair2"
		}
		d.c.line(class, d.x0, d.y(v), d.x1, d.y(v))
		d.c.text(d.x0-8, d.y(v)+4, fixed(v, dec), faceNote, setting{at: end})
		d.axisTexts = append(d.axisTexts, textBox(d.x0-8, d.y(v)+4, fixed(v, dec), faceNote, setting{at: end}))
	}
	where := "head at the seat, m"
	if d.atZ {
		where = "head at the bench datum, m"
	}
	if d.bands {
		d.c.lines(0, d.y0+4, 14, faceNote.wrap(where, d.left-26), faceNote, setting{})
	} else {
		d.c.text(0, d.y0-10, where, faceNote, setting{})
	}
	mins := (d.t1 - d.t0) / 60
	unit, per, n := "minutes", 60.0, 6
	if mins < 3 {
		unit, per = "seconds", 1
	}
	if !d.bands {
		n = 4
	}
	ticksAt, dec := ticks(0, (d.t1-d.t0)/per, n)
	for i, v := range ticksAt {
		x := d.x(d.t0 + v*per)
		s, o := fixed(v, dec), setting{at: middle}
		if i == len(ticksAt)-1 {
			s += " " + unit
			if x+faceNote.width(s)/2 > d.x1+44 || !d.bands {
				o.at, x = end, min(x+faceNote.width(fixed(v, dec))/2, d.w)
			}
		}
		d.c.text(x, d.y1+17, s, faceNote, o)
		d.c.line("hair2", d.x(d.t0+v*per), d.y1, d.x(d.t0+v*per), d.y1+4)
	}
}

// marks of a valve that were used, by time.
func usedMarks(v bench.ValveResult) []bench.Mark {
	var out []bench.Mark
	for _, m := range v.Marks {
		if m.Used {
			out = append(out, m)
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Time < out[j].Time })
	return out
}

func (d *benchRun) barY(i int) float64 { return d.y1 + 36 + 23*float64(i) }

// events leads a hairline from each change down to its valve's bar.
func (d *benchRun) events() {
	for i, v := range d.Valves {
		for _, m := range usedMarks(v) {
			if m.Kind != bench.Change {
				continue
			}
			class := "evd"
			if m.Tight {
				class = "evt"
			}
			d.c.line(class, d.x(m.Time), d.y(d.markHead(v, m)), d.x(m.Time), d.barY(i)+6)
		}
	}
}

// curve draws the readings: the line, and each reading as a point where they are not too many.
func (d *benchRun) curve() {
	var p []pt
	repeat := 0
	flush := func() {
		if len(p) > 1 {
			d.c.polyline("hcurve", thin(p, 0.3))
			if len(p)*len(d.Readings) < 240*len(p) {
				s := ""
				for _, q := range p {
					s += "M" + num(q.x) + " " + num(q.y) + "h0"
				}
				d.c.path("dots", s)
			}
		}
		p = nil
	}
	for _, r := range d.Readings {
		if r.Repeat != repeat {
			flush()
			repeat = r.Repeat
		}
		p = append(p, pt{d.x(r.Time), d.y(max(d.head(r.Pressure), 0))})
	}
	flush()
}

// markLabels sets every mark on the curve and names it where there is room, the changes of the first repeat first.
func (d *benchRun) markLabels() {
	p := &placer{area: rectBox(0, 0, d.x1+60, d.y1-2)}
	if !d.bands {
		p.area = rectBox(0, 0, d.w, d.y1-2)
	}
	p.take(d.axisTexts...)
	type named struct {
		m     bench.Mark
		x, y  float64
		label string
	}
	var all []named
	for i, v := range d.Valves {
		for _, m := range v.Marks {
			x, y := d.x(m.Time), d.y(d.markHead(v, m))
			shape := markDrips
			if m.Tight {
				shape = markTight
			}
			switch {
			case !m.Used:
				d.c.path("x-no", fmt.Sprintf("M%s %sl6 6m0 -6l-6 6", num(x-3), num(y-3)))
			case m.Kind == bench.Look:
				d.c.circle("look w-"+shape.class(), x, y, 3)
			default:
				d.c.mark(shape, x, y, 4.4)
				label := d.names[i] + " " + rulerText(m.Head)
				if !m.Tight {
					label = rulerText(m.Head) + " " + d.names[i]
				}
				all = append(all, named{m, x, y, label})
			}
			p.take(rectBox(x-4.5, y-4.5, x+4.5, y+4.5))
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].m.Repeat < all[j].m.Repeat })
	for i := 1; i < len(d.Readings); i++ {
		a, b := d.Readings[i-1], d.Readings[i]
		if a.Repeat == b.Repeat {
			p.avoid([]pt{{d.x(a.Time), d.y(max(d.head(a.Pressure), 0))}, {d.x(b.Time), d.y(max(d.head(b.Pressure), 0))}}, 30)
		}
	}
	if !d.bands {
		return // the table beneath names them
	}
	for _, n := range all {
		var tries []try
		for _, dx := range []float64{9, 16, 28, 44} {
			for dy := -22.0; dy <= 22; dy += 4 {
				for _, side := range []float64{-1, 1} {
					o := setting{halo: true}
					x := n.x + side*dx
					if side < 0 {
						o.at = end
					}
					cost := dx*0.3 + math.Abs(dy)*0.3
					if side > 0 == n.m.Tight { // rising marks stand left of the curve, falling ones right
						cost += 8
					}
					y := n.y + 4 + dy
					tries = append(tries, try{boxes: []box{textBox(x, y, n.label, faceLabel, o)}, cost: cost,
						use: func() { d.c.text(x, y, n.label, faceLabel, o) }})
				}
			}
		}
		kept := tries[:0]
		for _, t := range tries {
			if p.cost(t.boxes[0]) < 61 {
				kept = append(kept, t)
			}
		}
		p.best(kept)
	}
}

// tightSpan is a stretch of time in which a valve was tight or dripping, as far as its marks tell.
type tightSpan struct {
	from, to float64
	tight    bool
}

// spans are a valve's stretches: it drips from the beginning of the run until its first mark says otherwise; a new repeat
// begins dripping.
func (d *benchRun) spans(v bench.ValveResult) []tightSpan {
	begins := map[int]float64{}
	var repeats []int
	ends := map[int]float64{}
	most := 0
	for _, r := range d.Readings {
		most = max(most, r.Repeat)
	}
	for _, r := range d.Readings {
		if r.Repeat == 0 && most > 0 { // between two repeats
			continue
		}
		if _, ok := begins[r.Repeat]; !ok {
			begins[r.Repeat] = r.Time
			repeats = append(repeats, r.Repeat)
		}
		ends[r.Repeat] = r.Time
	}
	marks := usedMarks(v)
	var out []tightSpan
	for _, rep := range repeats {
		at, tight := begins[rep], false
		for _, m := range marks {
			if m.Repeat != rep || m.Tight == tight {
				continue
			}
			out = append(out, tightSpan{at, m.Time, tight})
			at, tight = m.Time, m.Tight
		}
		out = append(out, tightSpan{at, ends[rep], tight})
	}
	return out
}

// bars draws when each valve was tight.
func (d *benchRun) bars() {
	for i, v := range d.Valves {
		y := d.barY(i)
		label := "valve " + d.names[i]
		if !d.bands {
			label = d.names[i]
		}
		d.c.text(d.x0-8, y+4, label, faceLabel, setting{at: end})
		for _, s := range d.spans(v) {
			x1, x2 := d.x(s.from), d.x(s.to)
			if x2-x1 < 0.5 {
				continue
			}
			if s.tight {
				d.c.rect("tightl", x1, y-6, x2-x1, 12)
				if faceNoteB.width("tight") < x2-x1-6 {
					d.c.text((x1+x2)/2, y+4, "tight", faceNoteB, setting{at: middle, class: "tl"})
				}
				continue
			}
			w := faceNote.width("drips")
			if x2-x1 > w+24 {
				mid := (x1 + x2) / 2
				d.c.path("dripl", fmt.Sprintf("M%s %sH%sM%s %[2]sH%[5]s", num(x1+1), num(y), num(mid-w/2-5), num(mid+w/2+5), num(x2-1)))
				d.c.text(mid, y+4, "drips", faceNote, setting{at: middle, class: "w-drips"})
			} else if x2-x1 > 2 {
				d.c.path("dripl", fmt.Sprintf("M%s %sH%s", num(x1+1), num(y), num(x2-1)))
			}
		}
	}
	d.barsBottom = d.barY(len(d.Valves)-1) + 12
}

// results draws what the run hands to the line: sealing and letting-go head of every valve with their expanded uncertainty
// and the hysteresis between them.
func (d *benchRun) results(x0, x1, y0, y1 float64) {
	title := "What the bench hands to the line, m at the seat"
	lines := faceLabelB.wrap(title, d.w-x0)
	d.c.lines(x0, y0-14-float64(len(lines)-1)*14, 14, lines, faceLabelB, setting{})
	top := d.hi
	y := func(h float64) float64 { return y1 - h/top*(y1-y0) }
	at, _ := ticks(0, top, 7)
	for _, v := range at {
		class := "grid"
		if v == 0 {
			class = "hair2"
		}
		d.c.line(class, x0, y(v), x1, y(v))
	}
	n := float64(len(d.Valves))
	gap := min((x1-x0)/max(n, 1), 72)
	if !d.bands {
		gap = (x1 - x0) / max(n, 1)
	}
	for i, v := range d.Valves {
		x := x0 + gap*(float64(i)+0.3)
		d.threshold(v, x, y, y1, gap)
		for k, l := range faceLabelB.wrap(d.names[i], gap-4) {
			d.c.text(x, y1+17+float64(k)*14, l, faceLabelB, setting{at: middle})
		}
	}
	for i, s := range []string{"↑ sealing head, rising: drip-tight from here", "↓ letting-go head, falling: drips from here",
		"bar between them: hysteresis", "whisker: expanded uncertainty, each with its own k"} {
		d.c.text(x0, y1+46+float64(i)*18, s, faceNote, setting{})
	}
}

// threshold draws one valve's two heads with their labels spread apart.
func (d *benchRun) threshold(v bench.ValveResult, x float64, y func(float64) float64, y1, gap float64) {
	s, l := d.metres(v.Sealing.Mean), d.metres(v.LettingGo.Mean)
	whisker := func(t valve.Threshold, k, h float64) {
		if k <= 0 {
			k = 2
		}
		u := k * d.metres(t.Uncertainty)
		if u > 0 {
			d.c.line("whisk", x, y(h+u), x, min(y(max(h-u, 0)), y1))
		}
	}
	if v.Sealing.Bound == valve.Measured && v.LettingGo.Bound == valve.Measured {
		d.c.rect("hysb", x-5, y(s), 10, max(y(l)-y(s), 0))
	}
	var at []float64
	var text []string
	switch v.Sealing.Bound {
	case valve.Measured:
		whisker(v.Sealing, v.Coverage, s)
		d.c.line("sealb", x-9, y(s), x+9, y(s))
		text = append(text, rulerText(s)+" ↑")
	case valve.MoreThan:
		d.c.path("more", fmt.Sprintf("M%s %sV%sm-4 5l4 -5l4 5", num(x), num(y(s)), num(y(s)-14)))
		text = append(text, "> "+rulerText(s))
	case valve.LessThan:
		d.c.path("more", fmt.Sprintf("M%s %sV%sm-4 -5l4 5l4 -5", num(x), num(y(s)-2), num(min(y(s)+12, y1))))
		text = append(text, "< "+rulerText(s))
	default:
		text = append(text, "not known")
	}
	at = append(at, y(s))
	if v.LettingGo.Bound == valve.Measured {
		whisker(v.LettingGo, v.LettingGoCoverage, l)
		d.c.line("goal", x-9, y(l), x+9, y(l))
		at, text = append(at, y(l)), append(text, rulerText(l)+" ↓")
	}
	if at[0] > at[len(at)-1] {
		at[0] = at[len(at)-1]
	}
	for i, yy := range Spread(at, 14, 8, y1-7) {
		f := faceLabel
		if i > 0 {
			f = faceNote
		}
		if f.width(text[i]) > gap-16 {
			f = faceNote
		}
		if f.width(text[i]) <= gap-14 {
			d.c.text(x+12, yy+4, text[i], f, setting{halo: true})
		}
	}
}

// caption is what a screen reader hears of a run.
func (d *benchRun) caption() (title, desc string) {
	title = "Bench run " + d.Name + ": head against time, with the heads at which each valve became drip-tight and let go"
	for _, v := range d.Valves {
		desc += v.Name + ": " + v.Statement + ". "
	}
	return title, desc
}
