package deliver

import (
	"fmt"
	"html/template"
	"slices"
	"sort"
	"strings"

	"obvert/engine/sealing"
	"obvert/line"
)

// caseTiles shows a route once for each operating case: small long sections of one scale and one chainage, so that the eye
// compares like with like. Each carries its case's name, what the valves do in words, its own grade line or standing levels.
type caseTiles struct {
	*view
	cases []int // those drawn
	left  int   // cases that stand in the table only
}

const (
	tileDeep   = 84.0 // px for the levels
	tileGap    = 26.0 // px between two tiles
	tileRow    = 4    // most tiles in a row
	tileLevels = 3    // most levels written in a tile
)

// newCaseTiles chooses the cases: all of them, or of very many those in which most valves are not tight.
func newCaseTiles(v *view) *caseTiles {
	all := make([]int, len(v.r.Line.Cases))
	for c := range all {
		all[c] = c
	}
	t := &caseTiles{view: v}
	t.cases, t.left = worstFirst(all, most, func(c *int) float64 { return -float64(v.notTight(*c)) })
	return t
}

// notTight counts the route's valves that are not tight in a case.
func (v *view) notTight(c int) int {
	n := 0
	for i := range v.valves {
		if k, _ := v.valves[i].cell(c); k.State != sealing.Tight {
			n++
		}
	}
	return n
}

// told is whether there is anything to compare: valves in several cases.
func (t *caseTiles) told() bool {
	return len(t.cases) > 1 && len(t.valves) > 0 && len(t.pts) > 0 && t.to > t.from
}

// least is the least width of a tile: more where many valves stand in it.
func (t *caseTiles) least(f form) float64 {
	switch n := len(t.valves); {
	case !f.bands:
		return f.w
	case n <= 14:
		return 290
	case n <= 40:
		return 390
	}
	return 580
}

// tileWords are what stands over a tile.
func (t *caseTiles) tileWords(c int, w float64) (name, note []string) {
	clip := func(f face, s string) []string {
		l := f.wrap(s, w)
		if len(l) > 2 {
			l = append(l[:1], shorten(f, strings.Join(l[1:], " "), w))
		}
		return l
	}
	return clip(faceLabelB, t.r.Line.Cases[c].Name), clip(faceNote, strings.Join(t.sentence(c), "; "))
}

// sentence is a case in words: its valves by state, then its flow or what stands empty.
func (t *caseTiles) sentence(c int) []string {
	words := (&sheet{view: t.view, on: t.between(t.from, t.to)}).stateWords(c)
	var out []string
	if len(words) > 0 {
		out = append(out, strings.Join(words, ", "))
	}
	switch g := gradeOf(t.r, c); {
	case g == nil:
		out = append(out, "levels not worked out")
	case t.r.Line.Cases[c].Kind != line.Standing:
		if q := t.grade[c].flow; q > 0 {
			out = append(out, flowText(q))
		}
	}
	if gap := t.dryLength(c); gap >= 1 && gradeOf(t.r, c) != nil {
		out = append(out, lengthText(gap)+" without water")
	}
	return out
}

// dryLength is the length of pipe that stands without water in a case.
func (v *view) dryLength(c int) float64 {
	sum := 0.0
	_, gaps := v.emptyLength(c)
	for _, g := range gaps {
		sum += v.pipeLength(g[0], g[1])
	}
	return sum
}

// frames are the cases as a strip draws its moments.
func (t *caseTiles) frames() []frame {
	out := make([]frame, len(t.cases))
	for k, c := range t.cases {
		f := &out[k]
		f.wet = t.wetted(c)
		if t.r.Line.Cases[c].Kind != line.Standing {
			f.lines = t.grade[c].pieces
		} else {
			for _, p := range t.pools(c) {
				for _, s := range p.spans {
					f.levels = append(f.levels, levelSpan{s[0], s[1], p.pool.Level})
				}
			}
		}
		for i := range t.valves {
			q := &t.valves[i]
			k, _ := q.cell(c)
			n := frameNote{ch: q.ch, mark: stateMark(k.State), name: q.no, text: stateWord(k.State)}
			switch k.State {
			case sealing.Drips:
				n.rank = 4 + k.Probability
			case sealing.Unrated:
				n.rank = 3
			case sealing.Open:
				n.rank = 2
			case sealing.Empty:
				n.rank = 1
			}
			f.notes = append(f.notes, n)
		}
	}
	return out
}

func (t *caseTiles) draw(f form, id string) []*canvas {
	t.prepare()
	d := &film{strip: &strip{view: t.view, frames: t.frames()}, from: t.from, to: t.to, deep: tileDeep}
	least := t.least(f)
	lines := 0
	for _, c := range t.cases {
		name, note := t.tileWords(c, least)
		lines = max(lines, len(name)+len(note))
	}
	head := float64(lines)*15 + 4
	side := min(max(int((f.w+tileGap)/(least+tileGap)), 1), tileRow)
	rows := (len(t.cases) + side - 1) / side
	side = (len(t.cases) + rows - 1) / rows // rows of one length
	out := tile(f, id, len(t.cases), least, head+frameSky+tileDeep+34, tileGap, side, func(c *canvas, i int, x, y, w float64) {
		if d.w != w {
			d.measure(w)
		}
		t.tile(d, c, i, x, y, head)
	})
	for i, c := range out {
		c.title = fmt.Sprintf("%s, %s: small long sections of one scale", t.name, counted(len(t.cases), "case", "cases"))
		c.desc = t.words()
		if i > 0 {
			c.title += ", continued"
			c.desc = "Continued: the figures stand in the table after the drawing."
		}
	}
	return out
}

// tile draws one case with its left upper corner at (x, y).
func (t *caseTiles) tile(d *film, c *canvas, i int, x, y, head float64) {
	k := t.cases[i]
	f := &d.frames[i]
	c.line("hair2", x, y+0.5, x+d.w, y+0.5)
	name, note := t.tileWords(k, d.w)
	c.lines(x, y+16, 15, name, faceLabelB, setting{})
	c.lines(x, y+16+15*float64(len(name)), 15, note, faceNote, setting{})
	y += head
	p := d.water(c, f, x, y)
	class := "gl p2"
	if t.r.Line.Cases[k].Kind == line.Filling {
		class = "gl fill"
	}
	for _, l := range f.lines {
		trace := d.trace(l, x, y)
		c.polyline(class, trace)
		p.avoid(trace, 12)
	}
	t.marks(d, c, p, f, x, y)
	t.levels(d, c, p, f, x, y)
}

// marks sets a mark at every valve, the worst first: one that would lie on a worse one is a dot on the pipe. Of those that
// are not tight as many are named as find room.
func (t *caseTiles) marks(d *film, c *canvas, p *placer, f *frame, x, y float64) {
	r, dot := 3.8, 2.3
	if len(f.notes) > 40 {
		r, dot = 3.2, 1.5
	}
	var named []*frameNote
	for _, i := range sortedBy(len(f.notes), func(i int) float64 { return -f.notes[i].rank }) {
		n := &f.notes[i]
		vx, vy := x+d.s.x(n.ch), y+d.y(d.obvertAt(n.ch))
		b := markBox(vx, vy-5, r)
		if n.mark == markTight || !p.free(b) {
			c.circle("w-"+n.mark.class(), vx, vy-1, dot)
			continue
		}
		p.take(b)
		c.mark(n.mark, vx, vy-5, r)
		named = append(named, n)
	}
	for _, n := range named[:min(len(named), mostNotes)] {
		d.noteLabel(c, p, n, x+d.s.x(n.ch), y+d.y(d.obvertAt(n.ch)))
	}
}

// levels writes the levels of the longest standing surfaces beside them, where there is room.
func (t *caseTiles) levels(d *film, c *canvas, p *placer, f *frame, x, y float64) {
	long := slices.Clone(f.levels)
	sort.SliceStable(long, func(i, j int) bool { return long[i].to-long[i].from > long[j].to-long[j].from })
	o := setting{halo: true, class: "kw"}
	for _, l := range long[:min(len(long), tileLevels)] {
		s := levelText(l.level)
		a, b, w := x+d.s.x(l.from), x+d.s.x(l.to), faceNote.width(s)
		var tries []try
		for at := a + 2; at+w < b; at += 8 {
			for _, off := range []float64{-4, 13} {
				ty := y + d.y(l.level) + off
				tries = append(tries, try{boxes: []box{textBox(at, ty, s, faceNote, o)}, cost: max(off, 0) * 0.2, use: func() { c.text(at, ty, s, faceNote, o) }})
			}
		}
		p.best(tries)
	}
}

// words are the cases for a screen reader.
func (t *caseTiles) words() string {
	var b []string
	for _, c := range t.cases {
		b = append(b, t.r.Line.Cases[c].Name+": "+strings.Join(t.sentence(c), "; "))
	}
	return strings.Join(b, ". ") + "."
}

// twin sets out every case, those too that are not drawn.
func (t *caseTiles) twin() *plainTable {
	out := &plainTable{Caption: "Case by case", Heads: []string{"case", "flow", "levels at rest, m", "valves by state", "not tight", "without water"}}
	for c, k := range t.r.Line.Cases {
		flow, levels := "–", []string{}
		if q := t.grade[c].flow; q > 0 && k.Kind != line.Standing {
			flow = flowText(q)
		}
		if k.Kind == line.Standing {
			for _, p := range t.pools(c) {
				levels = append(levels, levelText(p.pool.Level)+" from "+chainageText(p.spans[0][0])+" to "+chainageText(p.spans[len(p.spans)-1][1]))
			}
		}
		levels = curtailed(levels)
		var bad []string
		for i := range t.valves {
			if k, _ := t.valves[i].cell(c); k.State != sealing.Tight {
				bad = append(bad, t.valves[i].no+" "+stateWord(k.State))
			}
		}
		empty := lengthText(t.dryLength(c))
		if gradeOf(t.r, c) == nil {
			empty = "not worked out"
		}
		words := (&sheet{view: t.view, on: t.between(t.from, t.to)}).stateWords(c)
		out.Rows = append(out.Rows, []string{k.Name, flow, dashed(strings.Join(levels, "; ")), dashed(strings.Join(words, ", ")), dashed(strings.Join(curtailed(bad), ", ")), empty})
	}
	return out
}

// curtailed is the beginning of a list that would be too long for a cell, with how many are left out.
func curtailed(s []string) []string {
	if n := len(s) - mostTold; n > 0 {
		return append(slices.Clone(s[:mostTold]), fmt.Sprintf("and %d more", n))
	}
	return s
}

// note is what stands beside the heading.
func (t *caseTiles) note() string {
	s := fmt.Sprintf("Every case on one scale, from %s to %s: the pipe blue where it is full, half blue where part full, white where it stands without water.", chainageText(t.from), chainageText(t.to))
	flows, stands := false, false
	for _, c := range t.cases {
		k := t.r.Line.Cases[c].Kind == line.Standing
		flows, stands = flows || !k, stands || k
	}
	switch {
	case flows && stands:
		s += " Over it the case's own grade line, dashed while filling, or in blue the levels at which the water stands."
	case flows:
		s += " Over it the case's own grade line, dashed while filling."
	default:
		s += " In blue the levels at which the water stands."
	}
	if t.left > 0 {
		s += fmt.Sprintf(" Drawn are those with most valves not tight; %s in the table only.", counted(t.left, "case stands", "cases stand"))
	}
	return s
}

// key names the marks that occur.
func (t *caseTiles) key() []keyItem {
	var out []keyItem
	seen := map[sealing.State]bool{}
	for _, c := range t.cases {
		for i := range t.valves {
			k, _ := t.valves[i].cell(c)
			seen[k.State] = true
		}
	}
	for _, s := range []sealing.State{sealing.Tight, sealing.Drips, sealing.Open, sealing.Empty, sealing.Unrated} {
		if seen[s] {
			out = append(out, keyItem{template.HTML(stateMark(s).icon()), stateWord(s)})
		}
	}
	return out
}
