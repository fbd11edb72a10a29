package deliver

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"obvert/engine/sealing"
	"obvert/physics/valve"
)

// tubes draws the bench's clear tube at every valve of a sheet, filled with the head at its seat, and across all of them the
// types of the rack as bands from letting-go head to sealing head.
type tubes struct {
	*sheet
	c        *canvas
	top      float64 // head at the tubes' top, m
	scale    float64 // px per m
	y0, y1   float64 // top and foot of the tubes; the ruler ends a little below their top
	standing int     // index into Result.StandingCases of the case shown; −1 where there is none
}

const tubeWide = 22.0

// ruler is the head at the top of the drawn tube: that of the bench's own tube where it covers the rack without dwarfing it,
// else a round figure above the highest sealing head.
func (v *view) ruler() float64 {
	need := 0.0
	for _, t := range v.rack.types {
		if t.sealing.known() {
			need = max(need, t.sealing.mean*1.12)
		}
	}
	if need == 0 {
		return 0
	}
	for _, b := range v.r.Bench {
		for _, q := range b.Valves {
			if h := b.TubeTop - q.Seat; h >= need/1.12 && h <= 2*need {
				return h
			}
		}
	}
	step := niceStep(need) / 10
	return math.Ceil(need/step) * step
}

// standingShown is the index of the shown case among the standing cases.
func (v *view) standingShown() int {
	for k, c := range v.r.StandingCases {
		if c == v.shown {
			return k
		}
	}
	return -1
}

// wanted tells whether a valve's tube is worth drawing on a line of several sheets: it is not simply full.
func (v *view) wanted(q *valveView, top float64) bool {
	if q.tube == nil {
		return false
	}
	c, _ := q.cell(v.shown)
	if c.State != sealing.Tight {
		return true
	}
	for _, h := range q.tube.Heads {
		if h < top {
			return true
		}
	}
	return false
}

// drawTubes draws the tubes of some valves, each at its x.
func drawTubes(s *sheet, c *canvas, on []int, x []float64, bench bool) {
	t := &tubes{sheet: s, c: c, top: s.ruler(), standing: s.standingShown(), y0: 46}
	high := 330.0
	switch {
	case !s.bands:
		high = 300
	case s.page > 0:
		high = 500
	}
	if s.bands && len(on) <= 2 { // one or two valves do not fill a high drawing
		high *= 0.7
	}
	// So many types that their labels would not fit side by side make the ruler longer.
	marks := 0
	for _, q := range s.rack.types {
		if q.sealing.known() {
			marks++
		}
	}
	high = max(high, float64(marks)*14)
	t.y1 = t.y0 + high
	t.scale = (high - 30) / t.top // the ruler's end leaves room for the broken surface
	left, right := s.left-4, s.w-10
	if len(x) > 0 {
		right = min(right, max(x[len(x)-1]+64, s.left+200))
	}
	t.types(left, right)
	if bench {
		t.bench()
	}
	for i, j := range on {
		t.tube(&s.valves[j], x[i])
	}
	c.line("hair2", left, t.y1, right, t.y1)
	t.feet(on, x)
}

func (t *tubes) y(head float64) float64 { return t.y1 - head*t.scale }

// types draws each type as a line at its sealing head over a band down to its letting-go head, with the labels at the left
// spread so that none lies on another.
func (t *tubes) types(left, right float64) {
	type tag struct {
		y    float64
		text string
		name string
		main bool
	}
	var tags []tag
	for _, q := range t.rack.types {
		s, l := q.sealing, q.lettingGo
		if !s.known() {
			continue
		}
		y := t.y(min(s.mean, t.top))
		if l.bound == valve.Measured && s.bound == valve.Measured {
			t.c.rect("hyst", left, y, right-left, max(t.y(l.mean)-y, 0))
		}
		class, text := "seal", rulerText(s.mean)+" ↑"
		if s.bound != valve.Measured {
			class, text = "seal few", s.text()
		}
		t.c.line(class, left, y, right, y)
		tags = append(tags, tag{y, text, q.short, true})
		if l.bound == valve.Measured && t.bands {
			tags = append(tags, tag{t.y(l.mean), rulerText(l.mean) + " ↓", "", false})
		}
	}
	// The letting-go figures yield where there is no room for both.
	if float64(len(tags))*13 > t.y1-t.y0 || !t.bands {
		kept := tags[:0]
		for _, g := range tags {
			if g.main {
				kept = append(kept, g)
			}
		}
		tags = kept
	}
	sort.SliceStable(tags, func(i, j int) bool { return tags[i].y < tags[j].y })
	at := make([]float64, len(tags))
	for i, g := range tags {
		at[i] = g.y
	}
	edgeX := left - 14
	if !t.bands {
		edgeX = left - 3
	}
	for i, y := range Spread(at, 14, t.y0-2, t.y1+2) {
		g := tags[i]
		if t.bands {
			t.c.path("lead", fmt.Sprintf("M%s %sL%s %s", num(edgeX+2), num(y), num(left), num(g.y)))
		}
		f, fb := faceLabel, faceLabelB
		if !g.main {
			f = faceNote
		}
		text := g.text
		if !t.bands { // the letter alone; the figures stand in the table
			text = ""
		}
		if text != "" {
			t.c.text(edgeX, y+4, text, f, setting{at: end})
			edge2 := edgeX - f.width(text) - 4
			t.c.text(edge2, y+4, g.name, fb, setting{at: end})
		} else {
			t.c.text(edgeX, y+4, g.name, fb, setting{at: end})
		}
	}
	if t.bands {
		t.c.lines(0, 12, 14, []string{"tight ↑, letting", "go ↓, m"}, faceNote, setting{})
	}
}

// bench draws the bench's own tube at the left, full, with a dot at each sealing head.
func (t *tubes) bench() {
	x := t.left + 28
	t.glass(x, t.top, false)
	for _, q := range t.rack.types {
		if q.sealing.bound == valve.Measured && q.sealing.mean <= t.top {
			t.c.circle("m-dot", x, t.y(q.sealing.mean), 2.6)
		}
	}
	t.c.text(x, t.y0-6, "the bench", faceLabelB, setting{at: middle})
	t.c.text(x, t.y1+18, "tube "+trimmed(t.top)+" m", faceNote, setting{at: middle})
	t.c.text(x, t.y1+32, "full", faceNote, setting{at: middle})
}

// glass draws a tube filled to a head; beyond its top the surface is broken.
func (t *tubes) glass(x, head float64, broken bool) {
	t.c.rect("glass", x-tubeWide/2, t.y0, tubeWide, t.y1-t.y0)
	if head > 0 {
		y := max(t.y(head), t.y0)
		t.c.rect("water", x-tubeWide/2, y, tubeWide, t.y1-y)
	}
	t.c.path("tubew", fmt.Sprintf("M%s %sV%sH%sV%[2]s", num(x-tubeWide/2), num(t.y0), num(t.y1), num(x+tubeWide/2)))
	if broken {
		t.c.path("brk", fmt.Sprintf("M%s %sq6.5 -6 14 0t14 0M%[1]s %[3]sq6.5 -6 14 0t14 0", num(x-tubeWide/2-3), num(t.y0+11), num(t.y0+16)))
	}
}

// head is the head at a valve's seat in the standing case shown.
func (t *tubes) head(q *valveView) float64 {
	if q.tube != nil && t.standing >= 0 && t.standing < len(q.tube.Heads) {
		return q.tube.Heads[t.standing]
	}
	c, _ := q.cell(t.shown)
	return c.Head
}

// tube is one valve's tube: its water, its other standing levels, the types.
func (t *tubes) tube(q *valveView, x float64) {
	head := t.head(q)
	beyond := head > t.top+1e-9
	t.glass(x, head, beyond)
	if beyond {
		s := headText(head) + " m"
		t.c.text(x, t.y0-6, s, faceLabelB, setting{at: middle})
	}
	// The other standing cases are dashed across the glass.
	others := map[string]bool{}
	if q.tube != nil {
		for k, h := range q.tube.Heads {
			if k == t.standing || h > t.top || h <= 0 || math.Abs(h-head) < 0.005 || others[headText(h)] {
				continue
			}
			others[headText(h)] = true
			t.c.line("lowl", x-tubeWide/2, t.y(h), x+tubeWide/2, t.y(h))
		}
	}
	t.fits(q, x)
	if !beyond && head > 0 && t.bands {
		y := t.y(head) + 4
		o := setting{at: end, halo: true}
		b := textBox(x-tubeWide/2-4, y, headText(head), faceLabelB, o)
		if b.bottom() > t.y1-1 {
			y -= b.bottom() - t.y1 + 1
		}
		t.c.text(x-tubeWide/2-4, y, headText(head), faceLabelB, o)
	}
}

// fitAt is what a type would do with a head at its seat: by its sealing head if it were open, by its letting-go head if it
// had been shut before. Beyond what the bench has seen it is not known.
func fitAt(k *typeView, head float64) fitMark {
	s, l := k.sealing, k.lettingGo
	switch {
	case s.bound == valve.MoreThan && head > s.mean, s.bound == valve.LessThan && head < s.mean && head > 0:
		return fitUnknown
	case s.bound == valve.MoreThan:
		return fitNo
	case head >= s.mean:
		return fitTight
	case l.bound == valve.Measured && head >= l.mean && head > 0:
		return fitOnlyIfShut
	}
	return fitNo
}

// fits sets the mark of every type in the tube; where two would lie on one another they stand side by side.
func (t *tubes) fits(q *valveView, x float64) {
	lastY, side, head := math.Inf(1), 0.0, t.head(q)
	for i := range t.rack.types {
		k := &t.rack.types[i]
		if !k.sealing.known() {
			continue
		}
		y := t.y(min(k.sealing.mean, t.top))
		dx := 0.0
		if lastY-y < 6.6 {
			if side == 0 {
				side = 1
			}
			side = -side
			dx = side * 5.2
		} else {
			side = 0
		}
		lastY = y
		fitted := q.result.Record == k.record
		t.c.b.WriteString(fitAt(k, head).shape(x+dx, y, fitted))
		if fitted {
			t.c.text(x+tubeWide/2+4, y+4, k.short, faceLabelB, setting{halo: true})
		}
	}
}

// tightHere lists the types that would be tight at a valve: with brackets those that hold only if shut before.
func (t *tubes) tightHere(q *valveView) (short string, all int) {
	if q.tube == nil {
		return "", 0
	}
	var names []string
	known, tight := 0, 0
	for _, k := range t.rack.types {
		if k.record >= len(q.tube.Fits) {
			continue
		}
		known++
		switch fitOf(q.tube.Fits[k.record]) {
		case fitTight:
			tight++
			names = append(names, k.short)
		case fitOnlyIfShut:
			names = append(names, "("+k.short+")")
		}
	}
	switch {
	case known == 0:
		return "no type", 0
	case tight == known:
		return "any type", tight
	case len(names) == 0:
		return "none", 0
	}
	return strings.Join(names, " "), len(names)
}

// tightWord heads the last row: the types tight here, in all standing cases where there are several.
func (t *tubes) tightWord() string {
	if len(t.r.StandingCases) > 1 {
		return "tight in all of them"
	}
	return "types tight here"
}

// feet sets number, state, chainage and the types that would be tight under each tube.
func (t *tubes) feet(on []int, x []float64) {
	if t.bands {
		for k, s := range []string{"valve", "the type fitted is", "chainage", t.tightWord()} {
			t.c.text(0, t.y1+[]float64{18, 36, 51, 72}[k], s, faceNote, setting{})
		}
	}
	bottom := t.y1 + 76
	for i, j := range on {
		q := &t.valves[j]
		c, _ := q.cell(t.shown)
		m := stateMark(c.State)
		number, word := faceNumber, faceLabelB
		if !t.bands {
			number, word = faceLabelB, faceNoteB
		}
		w := number.width(q.no)
		left := x[i] - (w+16)/2
		t.c.text(left, t.y1+20, q.no, number, setting{})
		t.c.mark(m, left+w+10, t.y1+15.5, 4.8)
		state := stateWord(c.State)
		if word.width(state) > t.column-4 {
			state = "unknown"
		}
		t.c.text(x[i], t.y1+36, state, word, setting{at: middle, class: "w-" + m.class()})
		t.c.text(x[i], t.y1+51, chainageText(q.ch), faceNote, setting{at: middle})
		names, n := t.tightHere(q)
		f := faceLabelB
		if !t.bands {
			f = faceNoteB
		}
		if n == 0 {
			f = faceNote
		}
		lines := f.wrap(names, t.column-6)
		t.c.lines(x[i], t.y1+72, 14, lines, f, setting{at: middle})
		bottom = max(bottom, t.y1+62+float64(len(lines))*14+6)
	}
	t.c.h = bottom
}

// tubesCaption is what a screen reader hears of the tubes.
func (s *sheet) tubesCaption(on []int) (title, desc string) {
	title = "The bench tube stretched out along " + s.r.Line.Name + ": head at each valve's seat against the sealing head of every type"
	if t := s.title(); t != "" {
		title += ", " + t
	}
	t := &tubes{sheet: s, standing: s.standingShown()}
	for _, j := range on {
		q := &s.valves[j]
		names, _ := t.tightHere(q)
		desc += fmt.Sprintf("Valve %s: %s m, tight here: %s. ", q.no, headText(t.head(q)), names)
	}
	return title, strings.TrimSpace(desc)
}
