package deliver

import (
	"fmt"
	"math"
	"sort"
	"strings"
)

// strip shows the line in time: small long sections, one for each moment, and under them what passes over the whole time.
type strip struct {
	*view
	name   string // what passes, for the caption
	doing  string // "draining" or "refilling"
	frames []frame
	series []series
	lo, hi float64 // stretch of the route that is drawn, m; equal: all of it
}

// frame is the line at one moment.
type frame struct {
	at     float64 // s
	wet    []stretch
	levels []levelSpan
	lines  [][]pt // grade lines, chainage and level
	notes  []frameNote
	under  string // what has come to pass until then
}

// levelSpan is a water surface.
type levelSpan struct{ from, to, level float64 }

// frameNote is a figure at a place of the route: the leak of a valve, the pressure of a pocket.
type frameNote struct {
	ch   float64
	mark mark
	name string // a valve's number, or empty
	text string
	more string  // a second line
	rank float64 // the largest are labelled
}

// series is a quantity over the time of a strip.
type series struct {
	name, unit string
	p          []pt // s, value
	floats     bool // its scale need not begin at nought
	limit      float64
	limitText  string
}

const (
	frameLeast  = 270.0 // px, width
	frameSky    = 40.0
	frameLine   = 14.0 // px more where a note has two lines
	frameRelief = 70.0
	leastWindow = 0.3  // of the route, that a frame shows
	leastWall   = 5.0  // px, drawn height of the pipe
	frameFoot   = 52.0 // of time and what has come to pass
	mostNotes   = 4    // labels in a frame
	mostTold    = 12   // notes and stretches in a cell of the table
	seriesHigh  = 66.0
)

// sky is the room over the highest water of a frame, for its notes.
func (t *strip) sky() float64 {
	for _, f := range t.frames {
		for _, n := range f.notes {
			if n.more != "" {
				return frameSky + frameLine
			}
		}
	}
	return frameSky
}

// high is the height of a frame with its words and the space under it.
func (t *strip) high() float64 { return t.sky() + frameRelief + 14 + frameFoot + 14 }

// film is a strip in one form.
type film struct {
	*strip
	s    *sheet
	from float64
	to   float64
	out  []outlinePoint // the pipe in px, from the frame's left upper corner
	hi   float64        // highest level drawn, m
	unit float64        // px per m of level
	w    float64
	deep float64 // px for the levels; 0: frameRelief
}

// outlinePoint is a point of the pipe's drawn outline.
type outlinePoint struct{ x, top, wall float64 }

// stretch is what is drawn of the route.
func (t *strip) stretch() (from, to float64) {
	if t.hi > t.lo {
		return t.lo, t.hi
	}
	return t.from, t.to
}

// narrow draws only the stretch in which anything changes, where that is less than two thirds of the route: what moves is
// then large enough to be seen.
func (t *strip) narrow() {
	lo, hi := math.Inf(1), math.Inf(-1)
	see := func(a, b float64) { lo, hi = min(lo, a), max(hi, b) }
	edges := func(f *frame) (out []float64) {
		for _, w := range f.wet {
			out = append(out, w.from, w.to)
		}
		sort.Float64s(out)
		return out
	}
	near := func(all []float64, x float64) bool {
		i := sort.SearchFloat64s(all, x-1)
		return i < len(all) && all[i] <= x+1
	}
	for i := 1; i < len(t.frames); i++ {
		a, b := edges(&t.frames[i-1]), edges(&t.frames[i])
		for k, x := range [2][]float64{a, b} {
			for _, v := range x {
				if !near([2][]float64{b, a}[k], v) {
					see(v, v)
				}
			}
		}
		for k, l := range t.frames[i].levels {
			if p := t.frames[i-1].levels; k >= len(p) || math.Abs(p[k].level-l.level) > 0.01 {
				see(l.from, l.to)
			}
		}
	}
	for i := range t.frames {
		for _, n := range t.frames[i].notes {
			see(n.ch, n.ch)
		}
	}
	mid, half := (lo+hi)/2, max(0.56*(hi-lo)+0.01*(t.to-t.from), leastWindow/2*(t.to-t.from))
	lo, hi = max(mid-half, t.from), min(mid+half, t.to)
	if hi > lo && hi-lo < 0.67*(t.to-t.from) {
		t.lo, t.hi = lo, hi
	}
}

// Of two moments both are drawn where the water's edge has moved by a share of the drawn width, its level by a share of the
// relief, or a valve does something else.
const (
	edgeNews  = 0.03
	levelNews = 0.06
)

// telling leaves out moments that read like the one before: the first, the last, and what brings news are kept.
func (t *strip) telling() {
	if len(t.frames) < 3 {
		return
	}
	from, to := t.stretch()
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range t.pts {
		if p.ch >= from && p.ch <= to {
			lo, hi = min(lo, p.obvert), max(hi, p.obvert)
		}
	}
	edge, level := edgeNews*(to-from), levelNews*max(hi-lo, 0.5)
	kept := t.frames[:1:1]
	for i := 1; i < len(t.frames); i++ {
		f := &t.frames[i]
		if i == len(t.frames)-1 || f.tells(&kept[len(kept)-1], edge, level) {
			kept = append(kept, *f)
		}
	}
	t.frames = kept
}

// moves tells whether a strip shows anything that changes.
func (t *strip) moves() bool {
	from, to := t.stretch()
	return t.frames[len(t.frames)-1].tells(&t.frames[0], edgeNews*(to-from)/2, 0.05)
}

// tells tells whether a moment differs from one before it.
func (f *frame) tells(p *frame, edge, level float64) bool {
	if len(f.notes) != len(p.notes) || len(f.wet) != len(p.wet) || len(f.levels) != len(p.levels) {
		return true
	}
	for i := range f.notes {
		if a, b := &f.notes[i], &p.notes[i]; a.mark != b.mark || a.name != b.name || a.ch != b.ch || a.more != b.more {
			return true
		}
	}
	for i := range f.wet {
		if a, b := f.wet[i], p.wet[i]; math.Abs(a.from-b.from) > edge || math.Abs(a.to-b.to) > edge {
			return true
		}
	}
	for i := range f.levels {
		if math.Abs(f.levels[i].level-p.levels[i].level) > level {
			return true
		}
	}
	return false
}

func (t *strip) draw(f form, id string) []*canvas {
	if len(t.frames) == 0 || len(t.pts) == 0 || t.to <= t.from {
		return nil
	}
	least := frameLeast
	if f.name == "narrow" {
		least = f.w
	}
	d := &film{strip: t}
	d.from, d.to = t.stretch()
	out := tile(f, id, len(t.frames), least, t.high(), 26, 5, func(c *canvas, i int, x, y, w float64) {
		if d.w != w {
			d.measure(w)
		}
		d.frame(c, i, x, y)
	})
	c := out[len(out)-1]
	high := t.chartHigh(f)
	if f.page > 0 && c.h+high > f.page {
		c = &canvas{w: f.w, id: id}
		out = append(out, c)
	}
	c.h = t.chart(f, c, c.h+8)
	for i, c := range out {
		c.title = fmt.Sprintf("%s, %s: the line at %s", upper(t.doing), t.name, counted(len(t.frames), "moment", "moments"))
		if i == 0 {
			c.desc = t.words()
		} else {
			c.desc = "Continued: the figures stand in the table after the drawing."
		}
	}
	return out
}

// measure fits the route into a frame's width.
func (d *film) measure(w float64) {
	d.w = w
	d.s = &sheet{view: d.view, form: form{w: w - 3, left: 3}, from: d.from, to: d.to}
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, e := range [2]float64{d.from, d.to} {
		lo, hi = min(lo, d.obvertAt(e)), max(hi, d.obvertAt(e))
	}
	trace := []pt{{d.from, d.obvertAt(d.from)}}
	for _, p := range d.pts {
		if p.ch > d.from && p.ch < d.to {
			lo, hi = min(lo, p.obvert), max(hi, p.obvert)
			trace = append(trace, pt{p.ch, p.obvert})
		}
	}
	trace = append(trace, pt{d.to, d.obvertAt(d.to)})
	for _, f := range d.frames {
		for _, l := range f.levels {
			if l.to > d.from && l.from < d.to {
				hi = max(hi, l.level)
			}
		}
		for _, l := range f.lines {
			for _, q := range d.s.clipLine(l) {
				hi = max(hi, q.y)
			}
		}
	}
	if hi-lo < 0.5 {
		lo, hi = (lo+hi)/2-0.25, (lo+hi)/2+0.25
	}
	if d.deep == 0 {
		d.deep = frameRelief
	}
	d.hi, d.unit = hi, d.deep/(hi-lo)
	for i, p := range trace {
		trace[i] = pt{d.s.x(p.x), d.y(p.y)}
	}
	d.out = d.out[:0]
	for _, q := range thin(trace, 0.35) {
		ch := d.from + (q.x-3)/(w-6)*(d.to-d.from)
		d.out = append(d.out, outlinePoint{q.x, q.y, min(max(leastWall, d.boreAt(ch)*d.unit), 14)})
	}
}

func (d *film) y(level float64) float64 { return d.sky() + (d.hi-level)*d.unit }

// between is the outline from x0 to x1.
func (d *film) between(x0, x1 float64) []outlinePoint {
	var out []outlinePoint
	mix := func(a, b outlinePoint, x float64) outlinePoint {
		t := (x - a.x) / (b.x - a.x)
		return outlinePoint{x, a.top + t*(b.top-a.top), a.wall + t*(b.wall-a.wall)}
	}
	for i, q := range d.out {
		if i > 0 {
			a := d.out[i-1]
			for _, x := range [2]float64{x0, x1} {
				if a.x < x && x < q.x {
					out = append(out, mix(a, q, x))
				}
			}
		}
		if q.x >= x0 && q.x <= x1 {
			out = append(out, q)
		}
	}
	return out
}

// ribbon is the pipe from x0 to x1, from a share of its bore below the obvert down to the invert, moved to (dx, dy).
func (d *film) ribbon(x0, x1, share, dx, dy float64) []pt {
	o := d.between(x0, x1)
	out := make([]pt, 0, 2*len(o))
	for _, q := range o {
		out = append(out, pt{dx + q.x, dy + q.top + share*q.wall})
	}
	for i := len(o) - 1; i >= 0; i-- {
		out = append(out, pt{dx + o[i].x, dy + o[i].top + o[i].wall})
	}
	return out
}

// What is wet is drawn to this, px: stretches nearer to one another are joined, shorter ones left out.
const finest = 0.6

// seen are wet stretches in px, as fine as the drawing shows: it cannot hold more than its width has room for.
func (d *film) seen(wet []stretch) []stretch {
	var out []stretch
	last := map[bool]int{} // by fullness: 1 + the index of the stretch before
	for _, w := range wet {
		w.from, w.to = d.s.x(max(w.from, d.from)), d.s.x(min(w.to, d.to))
		if w.to <= w.from {
			continue
		}
		if k := last[w.full] - 1; k >= 0 && w.from-out[k].to < finest {
			out[k].to = max(out[k].to, w.to)
			continue
		}
		out = append(out, w)
		last[w.full] = len(out)
	}
	kept := out[:0]
	for _, w := range out {
		if w.to-w.from >= finest/2 {
			kept = append(kept, w)
		}
	}
	return kept
}

// trace is a line over chainage and level in px, moved to (dx, dy).
func (d *film) trace(l []pt, dx, dy float64) []pt {
	var out []pt
	for _, q := range d.s.clipLine(l) {
		out = append(out, pt{dx + d.s.x(q.x), dy + d.y(q.y)})
	}
	return thin(out, 0.3)
}

// frame draws one moment with its left upper corner at (dx, dy).
func (d *film) frame(c *canvas, i int, dx, dy float64) {
	f := &d.frames[i]
	left := d.notes(c, d.water(c, f, dx, dy), f, dx, dy)
	y := dy + d.sky() + d.deep + 32
	x := dx
	if len(d.series) > 0 { // under which the moments are numbered
		no := fmt.Sprint(i + 1)
		c.text(x, y, no, faceNote, setting{})
		x += faceNote.width(no) + 7
	}
	c.text(x, y, timeText(f.at), faceLabelB, setting{})
	under := f.under
	if left != "" {
		under = strings.TrimPrefix(under+"; "+left, "; ")
	}
	lines := faceNote.wrap(under, d.w)
	if len(lines) > 2 {
		lines = append(lines[:1], shorten(faceNote, strings.Join(lines[1:], " "), d.w))
	}
	c.lines(dx, y+16, 14, lines, faceNote, setting{})
}

// water draws the pipe of one moment, how it is filled, and the levels, and gives a placer that knows them.
func (d *film) water(c *canvas, f *frame, dx, dy float64) *placer {
	water := ""
	for _, w := range d.seen(f.wet) {
		share := 0.0
		if !w.full {
			share = 0.5
		}
		if p := d.ribbon(w.from, w.to, share, dx, dy); len(p) > 2 {
			water += pathData(p) + "Z"
		}
	}
	c.path("water", water)
	var up, down []pt
	for _, q := range d.out {
		up, down = append(up, pt{dx + q.x, dy + q.top}), append(down, pt{dx + q.x, dy + q.top + q.wall})
	}
	c.polyline("pipe t", up)
	c.polyline("pipe t", down)
	p := &placer{area: rectBox(dx, dy+4, dx+d.w, dy+d.sky()+d.deep+16)}
	p.avoid(up, 25)
	p.avoid(down, 25)
	for _, l := range f.levels {
		a, b := d.s.x(max(l.from, d.from)), d.s.x(min(l.to, d.to))
		if b-a < 2 {
			continue
		}
		line := []pt{{dx + a, dy + d.y(l.level)}, {dx + b, dy + d.y(l.level)}}
		c.polyline("gl std", line)
		p.avoid(line, 6)
	}
	return p
}

// timeText is a moment in words.
func timeText(at float64) string {
	if at == 0 {
		return "at the start"
	}
	return "after " + durationText(at)
}

// notes labels the largest figures at their places; what finds no place is told under the frame.
func (d *film) notes(c *canvas, p *placer, f *frame, dx, dy float64) (left string) {
	order := sortedBy(len(f.notes), func(i int) float64 { return -f.notes[i].rank })
	type spot struct {
		n    *frameNote
		x, y float64
	}
	var spots []spot
	for k, i := range order {
		n := &f.notes[i]
		x, y := dx+d.s.x(n.ch), dy+d.y(d.obvertAt(n.ch))
		if k >= mostNotes {
			continue
		}
		p.take(markBox(x, y-5, 4))
		spots = append(spots, spot{n, x, y})
	}
	var untold []string
	for _, s := range spots {
		c.mark(s.n.mark, s.x, s.y-5, 4)
		if !d.noteLabel(c, p, s.n, s.x, s.y) {
			untold = append(untold, s.n.words())
		}
	}
	if n := len(f.notes) - len(spots); n > 0 {
		untold = append(untold, fmt.Sprintf("%d more in the table", n))
	}
	return strings.Join(untold, "; ")
}

// words are a note in running text.
func (n *frameNote) words() string {
	s := strings.TrimPrefix(n.name+": "+n.text, ": ")
	if n.more != "" {
		s += ", " + n.more
	}
	return s
}

// noteLabel sets a note in the sky over its place or, lacking room, under the pipe: the name in bold, then the figure.
func (d *film) noteLabel(c *canvas, p *placer, n *frameNote, x, y float64) bool {
	lead := 0.0
	if n.name != "" {
		lead = faceNoteB.width(n.name) + 4
	}
	w := max(lead+faceNote.width(n.text), faceNote.width(n.more))
	deep := 0.0 // of the second line
	if n.more != "" {
		deep = 13
	}
	var tries []try
	for _, shift := range []float64{0, -0.5, 0.5, -0.3, 0.3} {
		for _, lift := range []float64{16, 30, 44, 58, -22, -36, 72, 86} {
			tx, ty := x+shift*w-w/2, y-lift
			if lift > 0 {
				ty -= deep
			}
			bold, plain := setting{halo: true}, setting{halo: true, class: "w-" + n.mark.class()}
			stem := []pt{{x, y - 11}, {x, ty + deep + 3}}
			if lift < 0 {
				stem = []pt{{x, y + 6}, {x, ty - 10}}
			}
			one := textBox(tx, ty, n.text, faceNote, plain)
			tries = append(tries, try{boxes: []box{rectBox(tx, one.top(), tx+w, one.bottom()+deep)}, stem: stem, cost: math.Abs(lift)*0.2 + math.Abs(shift)*3 + max(0, -lift)*0.3,
				use: func() {
					if math.Abs(lift) > 17 {
						c.polyline("stem thin", stem)
					}
					c.text(tx, ty, n.name, faceNoteB, bold)
					c.text(tx+lead, ty, n.text, faceNote, plain)
					c.text(tx, ty+deep, n.more, faceNote, plain)
				}})
		}
	}
	return p.best(tries)
}

// shorten cuts a text to a width, with an ellipsis where anything goes.
func shorten(f face, s string, w float64) string {
	if f.width(s) <= w {
		return s
	}
	r := []rune(s)
	for len(r) > 0 && f.width(string(r)+"…") > w {
		r = r[:len(r)-1]
	}
	return strings.TrimRight(string(r), " ,;") + "…"
}

// seriesGap is the distance from one small chart to the next: on a narrow sheet the name stands between them.
func seriesGap(f form) float64 {
	if f.bands {
		return 20
	}
	return 34
}

func (t *strip) chartHigh(f form) float64 {
	return float64(len(t.series))*(seriesHigh+seriesGap(f)) + 66
}

// chart draws the series under one another over one time, with a hairline at every frame's moment, and gives the y below.
func (t *strip) chart(f form, c *canvas, y float64) float64 {
	if len(t.series) == 0 {
		return y
	}
	end := t.frames[len(t.frames)-1].at
	for _, s := range t.series {
		if n := len(s.p); n > 0 {
			end = max(end, s.p[n-1].x)
		}
	}
	x0, x1 := f.left, f.w-f.right
	if !f.bands {
		x0, x1 = 44, f.w-14
	}
	k := t.timeScale(end)
	at := make([]float64, len(t.frames))
	for i := range t.frames {
		at[i] = x0 + k.at(t.frames[i].at)*(x1-x0)
	}
	top := y + 34
	if !f.bands {
		top += 16
	}
	step := seriesHigh + seriesGap(f)
	bottom := top + float64(len(t.series)-1)*step + seriesHigh
	t.moments(f, c, at, y, top, bottom, x0, x1)
	for n := range t.series {
		y0 := top + float64(n)*step
		t.seriesPlot(f, c, &t.series[n], x0, y0, x1, k, n == len(t.series)-1)
	}
	if k.root { // its note
		return bottom + 46
	}
	return bottom + 28
}

// moments numbers the frames over the charts and leads a hairline from each through them.
func (t *strip) moments(f form, c *canvas, at []float64, y, top, bottom, x0, x1 float64) {
	order := sortedBy(len(at), func(i int) float64 { return at[i] })
	rising := make([]float64, len(at))
	for k, i := range order {
		rising[k] = at[i]
	}
	if f.bands {
		c.text(0, y+12, "moment", faceLabelB, setting{})
	}
	elbow := y + 30
	for k, x := range Spread(rising, 16, x0, x1) {
		c.polyline("lead", []pt{{x, y + 15}, {rising[k], elbow}})
		c.line("drop", rising[k], elbow, rising[k], bottom)
		c.text(x, y+12, fmt.Sprint(order[k]+1), faceNoteB, setting{at: middle})
	}
}

// seriesPlot draws one quantity over the time.
func (t *strip) seriesPlot(f form, c *canvas, s *series, x0, y0, x1 float64, k timeScale, last bool) {
	lo, hi := 0.0, 0.0
	for _, p := range s.p {
		hi, lo = max(hi, p.y), min(lo, p.y)
	}
	near := s.limit > 0 && s.limit < 2.5*hi
	if near {
		hi = max(hi, s.limit)
	}
	if s.floats && len(s.p) > 0 {
		least := hi
		for _, p := range s.p {
			least = min(least, p.y)
		}
		if least > 0 && hi > least {
			lo = max(least-0.08*(hi-least), 0)
		}
	}
	if hi == lo {
		hi = lo + 1
	}
	q := newPlot(c, x0, y0, x1, y0+seriesHigh, pt{0, lo}, pt{1, lo + (hi-lo)*1.05})
	q.up(3)
	name := s.name + ", " + s.unit
	far := ""
	if s.limit > 0 && !near {
		far = s.limitText + " " + trimmed(s.limit) + ", off the scale"
	}
	if f.bands {
		l := twoLines(faceLabel, name, f.left-44)
		c.lines(0, y0+10, 15, l, faceLabel, setting{})
		c.lines(0, y0+10+15*float64(len(l)), 13, firstLines(faceNote.wrap(far, f.left-44), 3), faceNote, setting{})
	} else {
		if far != "" {
			name += "; " + far
		}
		c.text(x0, y0-8, shorten(faceNote, name, f.w-x0), faceNote, setting{halo: true})
	}
	scaled := make([]pt, len(s.p))
	for i, p := range s.p {
		scaled[i] = pt{k.at(p.x), p.y}
	}
	q.curve("hcurve", scaled)
	if near {
		q.curve("limit", []pt{{0, s.limit}, {q.hi.x, s.limit}})
		q.spot(pt{x1 - 4, q.y(s.limit) + 12}, s.limitText+" "+trimmed(s.limit), faceNote, "w-drips", -1)
	}
	if last {
		k.across(q, f)
		return
	}
	c.line("hair2", x0, q.y1, x1, q.y1)
}

// words are the strip for a screen reader.
func (t *strip) words() string {
	var b []string
	for _, f := range t.frames {
		s := timeText(f.at)
		if f.under != "" {
			s += ": " + f.under
		}
		b = append(b, s)
	}
	return strings.Join(b, ". ") + "."
}

func (t *strip) twin() *plainTable {
	out := &plainTable{Caption: upper(t.doing) + ", " + t.name + ": moment by moment", Heads: []string{"moment", "time", "what has come to pass", "at the valves and in the pockets", "water stands"}}
	for i, f := range t.frames {
		var notes, wet []string
		for _, n := range f.notes {
			notes = append(notes, n.words())
		}
		if n := len(notes) - mostTold; n > 0 {
			notes = append(notes[:mostTold:mostTold], fmt.Sprintf("and %d more", n))
		}
		for _, w := range f.wet {
			s := chainageText(w.from) + " to " + chainageText(w.to)
			if !w.full {
				s += " part full"
			}
			wet = append(wet, s)
		}
		if n := len(wet) - mostTold; n > 0 {
			wet = append(wet[:mostTold:mostTold], fmt.Sprintf("and %d more stretches", n))
		}
		out.Rows = append(out.Rows, []string{fmt.Sprint(i + 1), timeText(f.at), dashed(f.under), dashed(strings.Join(notes, "; ")), dashed(strings.Join(wet, "; "))})
	}
	return out
}
