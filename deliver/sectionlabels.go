package deliver

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"obvert/engine/grade"
	"obvert/engine/sealing"
)

// valveLabels sets every valve's number, mark and word: on stems in free sky, or all in a rail.
func (d *section) valveLabels() {
	for _, j := range d.on {
		x, y := d.x(d.valves[j].ch), d.y(d.obvertAt(d.valves[j].ch))
		d.c.circle("seat", x, y, 2.4)
		d.p.take(rectBox(x-2.4, y-2.4, x+2.4, y+2.4))
	}
	if d.rail {
		d.railLabels()
		return
	}
	for _, g := range d.lines { // leave room for the dimensions of slack stretches
		for _, k := range d.slacks(g.cases[0]) {
			x, y := d.x(k.to), d.y(d.obvertAt(k.to))
			d.p.avoid([]pt{{x, y}, {x, y - 130}}, 30)
		}
	}
	order := append([]int{}, d.on...)
	sort.SliceStable(order, func(a, b int) bool { return d.rank(order[a]) < d.rank(order[b]) })
	for _, j := range order {
		if d.stemLabel(j, true) || d.stemLabel(j, false) {
			continue
		}
		if d.bands {
			d.rail = true // again, with a rail
			return
		}
		// On a narrow sheet the table beneath names every valve; its mark stands here, its label where there was room.
		q := &d.valves[j]
		cell, _ := q.cell(d.shown)
		x, y := d.x(q.ch), d.y(d.obvertAt(q.ch))
		d.c.line("stem", x, y, x, y-10)
		d.c.mark(stateMark(cell.State), x, y-14, 3.6)
	}
}

// rank puts the states that want reading first.
func (d *section) rank(j int) int {
	c, _ := d.valves[j].cell(d.shown)
	switch c.State {
	case sealing.Drips:
		return 0
	case sealing.Unrated:
		return 1
	case sealing.Open, sealing.Empty:
		return 2
	}
	return 3
}

// valveNote is the line under a valve's word.
func valveNote(q *valveView, c sealing.Cell) string {
	switch c.State {
	case sealing.Tight:
		if c.Margin >= 9.995 {
			return headText(c.Head) + " m at the seat"
		}
		if c.Margin < 2*c.Sigma || c.Margin < 0.1 {
			return "by only " + headText(c.Margin) + " m"
		}
		return "by " + headText(c.Margin) + " m"
	case sealing.Drips:
		if c.Rule == sealing.Falling {
			return headText(-c.Margin) + " m short of holding"
		}
		return headText(-c.Margin) + " m short of shutting"
	case sealing.Open:
		return "air at the seat"
	case sealing.Empty:
		return "no water under it"
	}
	if q.result.Record < 0 {
		return "no type chosen"
	}
	return "sealing head not measured"
}

// stemLabel tries to set one valve's label on a stem.
func (d *section) stemLabel(j int, note bool) bool {
	q := &d.valves[j]
	c, _ := q.cell(d.shown)
	x, y := d.x(q.ch), d.y(d.obvertAt(q.ch))
	number, word, second, r := faceNumber, faceWord, faceNote, 5.7
	if !d.bands {
		number, word, r = faceLabelB, faceLabel, 4.6
		if note {
			return d.stemLabel(j, false)
		}
	}
	m := stateMark(c.State)
	wn := number.width(q.no)
	w1 := wn + 4 + word.width(stateWord(c.State))
	text := ""
	if note {
		text = valveNote(q, c)
	}
	w := max(w1, second.width(text))
	high := number.size * 0.72
	if text != "" {
		high += 14
	}
	rising := d.obvertAt(q.ch) > d.obvertAt(q.ch-(d.to-d.from)*0.02)+1e-9 && d.obvertAt(q.ch) < d.obvertAt(q.ch+(d.to-d.from)*0.02)-1e-9
	var tries []try
	for h := 28.0; h < 300; h += 7 {
		for _, way := range []float64{-1, 1} {
			if way > 0 && h > 90 {
				continue
			}
			my := y + way*h
			if way > 0 {
				my += d.wall(q.ch)
			}
			for _, side := range []float64{-1, 1} {
				cost := h * 0.35
				if (side < 0) != rising {
					cost += 6
				}
				if way > 0 {
					cost += 45
				}
				xt := x + side*(r+5.3)
				b := rectBox(xt, my-high/2-1, xt+side*w, my+high/2+1)
				b.y += (high - number.size*0.72) / 2
				stem := []pt{{x, y - 3}, {x, my + r + 2}}
				if way > 0 {
					stem = []pt{{x, y + d.wall(q.ch) + 3}, {x, my - 1.5*r - 2}}
				}
				tries = append(tries, try{boxes: []box{markBox(x, my, r), b}, stem: stem, cost: cost, use: func() {
					d.c.line("stem", x, y, x, my)
					d.c.mark(m, x, my, r)
					d.stemText(xt, my+4.5, side, q.no, stateWord(c.State), text, number, word, m)
				}})
			}
		}
	}
	return d.p.best(tries)
}

// stemText sets number and word on one line and the note under it, ending or beginning at x.
func (d *section) stemText(x, y, side float64, no, word, note string, number, wordFace face, m mark) {
	o := setting{halo: true, earth: d.inEarth(x+side*20, y)}
	at := start
	left := x
	if side < 0 {
		at = end
		left = x - number.width(no) - 4 - wordFace.width(word)
	}
	o.at = start
	d.c.text(left, y, no, number, o)
	o.class = "w-" + m.class()
	d.c.text(left+number.width(no)+4, y, word, wordFace, o)
	o.class, o.at = "", at
	d.c.text(x, y+14, note, faceNote, o)
}

// railLabels sets all labels in a row above the drawing, each over its column, and leads hairlines down to the valves.
func (d *section) railLabels() {
	y0 := float64(d.extra)*rowHigh + 8
	if d.of > 1 {
		y0 += titleHigh
	}
	for k, j := range d.on {
		q := &d.valves[j]
		c, _ := q.cell(d.shown)
		m, x := stateMark(c.State), d.col[k]
		wn := faceNumber.width(q.no)
		left := x - (wn+16)/2
		d.c.text(left, y0+13, q.no, faceNumber, setting{})
		d.c.mark(m, left+wn+11, y0+8, 5)
		d.c.text(x, y0+28, stateWord(c.State), faceLabelB, setting{at: middle, class: "w-" + m.class()})
		d.p.take(rectBox(x-d.column/2+1, y0, x+d.column/2-1, y0+32))
		vx, vy := d.x(q.ch), d.y(d.obvertAt(q.ch))
		stem := []pt{{x, y0 + 34}, {x, y0 + railHigh}, {vx, y0 + railHigh + d.fanHeight() - 8}, {vx, vy}}
		d.c.polyline("stem thin", stem)
		d.p.avoid(stem, 1.5)
	}
}

// lineLabels names each grade line and each pool's level on the line itself.
func (d *section) lineLabels() {
	many := 0
	for _, g := range d.lines {
		many += len(g.cases)
	}
	for i, g := range d.lines {
		full, short := d.describe(g), d.short(g)
		if !d.bands {
			full = short
		} else if i == 0 {
			full = "grade line, " + full
		}
		d.upstreamLevel(g)
		var traces [][]pt
		for _, p := range g.pieces {
			if t := d.trace(p); len(t) > 1 {
				traces = append(traces, t)
			}
		}
		if len(traces) == 0 {
			continue
		}
		class := d.textClass(i)
		f := faceLabel
		if class == "k2" || class == "k1" {
			f = faceLabelB
		}
		if !d.along(traces[:1], []string{full, short}, f, class, true) {
			d.overflow(full, f, class, traces[0][0])
		}
		for _, t := range traces[1:] { // the line again where it goes on: its short name, where there is room
			if t[len(t)-1].x-t[0].x > 150 {
				d.along([][]pt{t}, []string{short}, f, class, false)
			}
		}
	}
	d.poolLabels()
}

// upstreamLevel sets the level of a grade line at the sheet's upstream end, where there is room.
func (d *section) upstreamLevel(g gradeLine) {
	if !d.bands || d.overview {
		return
	}
	t := d.clipLine(g.pieces[0])
	if len(t) == 0 {
		return
	}
	x, y, s := d.x(t[0].x)+4, d.y(t[0].y)-5, fixed(t[0].y, 1)
	b := textBox(x, y, s, faceNote, setting{})
	d.p.best([]try{{boxes: []box{b}, use: func() { d.c.text(x, y, s, faceNote, setting{halo: true}) }}})
}

// along sets a label along one of some lines: above it near the upstream end for preference, below it where that is taken.
// It tries the texts in their order.
func (d *section) along(lines [][]pt, texts []string, f face, class string, must bool) bool {
	limit := 14.0
	if must {
		limit = 26
	}
	for _, s := range texts {
		w := f.width(s)
		for _, step := range []float64{46, 6} { // beside the staff's end first, then from the very beginning
			var tries []try
			for _, t := range lines {
				first, last := t[0].x, t[len(t)-1].x
				if step > 6 && (last-first < w+110 || !d.bands) {
					continue
				}
				for x := first + step; x < last-10; x += 14 {
					for _, y := range d.alongTries(t, x, w, s, f, class, (x-first)*0.03) {
						if d.p.cost(y.boxes[0].grow(1)) <= limit {
							tries = append(tries, y)
						}
					}
				}
			}
			if d.p.best(tries) {
				return true
			}
		}
	}
	return false
}

// alongTries are the places of a label that begins on a line at x: above and below it.
func (d *section) alongTries(t []pt, x, w float64, s string, f face, class string, cost float64) []try {
	y, ok := yAt(t, x)
	if !ok {
		return nil
	}
	// Walk along the line until the chord is as long as the label.
	x2, y2 := x, y
	for step := w / 16; math.Hypot(x2-x, y2-y) < w; {
		x2 += step
		if y2, ok = yAt(t, x2); !ok {
			return nil
		}
	}
	for k := 1; k < 8; k++ { // the line must be straight under the label
		u := float64(k) / 8
		if yy, _ := yAt(t, x+u*(x2-x)); math.Abs(yy-(y+u*(y2-y))) > 3 {
			return nil
		}
	}
	a := math.Atan2(y2-y, x2-x)
	if math.Abs(a) > 0.9 {
		return nil
	}
	turn := math.Round(a*1800/math.Pi) / 10
	sin, cos := math.Sin(a), math.Cos(a)
	var out []try
	for _, off := range []float64{-5, f.size*inkAbove + 6} {
		px, py := x-off*sin, y+off*cos
		o := setting{class: class, turn: turn, halo: true, earth: d.inEarth(px, py)}
		b := textBox(px, py, s, f, o)
		c := cost
		if off > 0 {
			c += 5
		}
		out = append(out, try{boxes: []box{b}, cost: c, use: func() {
			if d.p.cost(b.grow(1)) > 8 { // the line it crosses is broken for it, as a draughtsman does
				q := b.grow(1.5).corners()
				plate := "plate"
				if o.earth {
					plate = "plate pe"
				}
				d.c.polygon(plate, q[:])
			}
			d.c.text(px, py, s, f, o)
		}})
	}
	return out
}

// poolLabels sets each pool's level with the sign of a water surface; small pools keep their level for the table.
func (d *section) poolLabels() {
	name := ""
	if d.shown >= 0 {
		name = d.r.Line.Cases[d.shown].Name
	}
	for _, p := range d.pools {
		best := [2]float64{}
		for _, s := range p.spans {
			a, b := d.x(max(s[0], d.from)), d.x(min(s[1], d.to))
			if b-a > best[1]-best[0] {
				best = [2]float64{a, b}
			}
		}
		if best[1]-best[0] < 34 || d.overview && best[1]-best[0] < 120 {
			continue
		}
		y := d.y(p.pool.Level)
		t := []pt{{best[0], y}, {best[1], y}}
		texts := []string{
			fmt.Sprintf("%s, level %s: %s", name, levelText(p.pool.Level), heldWords(p.pool)),
			fmt.Sprintf("%s, level %s", name, levelText(p.pool.Level)),
			"level " + levelText(p.pool.Level),
			levelText(p.pool.Level),
		}
		if p.pool.Kind == "tank" && d.to == d.view.to && best[1] > d.plotRight()-1 {
			texts = texts[:1] // the tank shows its level already
		}
		if !d.bands {
			texts = texts[len(texts)-1:]
		}
		d.waterSign(best, y)
		d.along([][]pt{t}, texts, faceLabel, "kw", false)
	}
}

// heldWords says what holds a pool where it stands, to follow its level.
func heldWords(p *grade.Pool) string {
	switch p.Kind {
	case "tank", "sump", "outfall", "node", "control valve":
		return "held by the " + p.Reason
	}
	return p.Reason
}

// waterSign sets the triangle of a water surface where it is free.
func (d *section) waterSign(span [2]float64, y float64) {
	var tries []try
	for x := span[0] + 18; x < span[1]-6; x += 20 {
		tries = append(tries, try{boxes: []box{rectBox(x-5.5, y-8.5, x+5.5, y-0.6), rectBox(x-4.5, y+2, x+4.5, y+6)}, cost: (x - span[0]) * 0.02, use: func() {
			d.c.path("lvl", fmt.Sprintf("M%s %sh10l-5 8Z", num(x-5), num(y-8)))
			d.c.path("lvl", fmt.Sprintf("M%s %sh8M%s %sh4", num(x-4), num(y+2.5), num(x-2), num(y+5)))
		}})
	}
	d.p.best(tries)
}

// overflow sets a label in the rows above the drawing with a hairline to what it names.
func (d *section) overflow(s string, f face, class string, at pt) {
	lines := f.wrap(s, d.w-d.left-12)
	if len(lines) > 1 && len(lines) > d.extra {
		d.left1 += len(lines)
		return
	}
	w := f.widest(lines)
	var tries []try
	for row := 0; row+len(lines) <= d.extra; row++ {
		y := float64(row)*rowHigh + 13
		if d.of > 1 {
			y += titleHigh
		}
		for x := max(at.x-w/2, 4.0); x < d.w-w-4; x += 30 {
			b := rectBox(x, y-10, x+w, y+3+float64(len(lines)-1)*14)
			ax := min(max(at.x, x+4), x+w-4)
			lead := []pt{{ax, b.bottom() + 2}, {at.x, at.y}}
			use := func() {
				d.c.polyline("lead", lead)
				d.c.lines(x, y, 14, lines, f, setting{class: class, halo: true})
			}
			tries = append(tries,
				try{boxes: []box{b}, stem: lead, cost: math.Abs(ax-at.x) * 0.1, use: use},
				try{boxes: []box{b}, cost: 200 + math.Abs(ax-at.x)*0.1, use: use})
		}
	}
	if !d.p.best(tries) {
		d.left1 += len(lines)
	}
}

// slackLabels sets the dimension of each slack stretch above the pipe; of several that begin at one summit the longest three.
func (d *section) slackLabels() {
	if !d.bands || d.overview {
		return
	}
	type dim struct {
		from, to float64
		text     string
	}
	perStart := map[string]int{}
	var dims []dim
	for _, g := range d.lines {
		for _, s := range d.slacks(g.cases[0]) {
			k := chainageText(s.from)
			if s.from < d.from || s.to > d.to || perStart[k] >= 3 {
				continue
			}
			perStart[k]++
			text := "slack " + lengthText(s.to-s.from)
			if s.vapour {
				text += ", under vapour"
			}
			dims = append(dims, dim{s.from, s.to, text + ", " + d.short(g)})
		}
	}
	sort.SliceStable(dims, func(i, j int) bool { // the longest lowest, as dimensions are stacked
		if dims[i].from != dims[j].from {
			return dims[i].from < dims[j].from
		}
		return dims[i].to > dims[j].to
	})
	for _, m := range dims {
		a, b := d.x(m.from), d.x(m.to)
		ya, yb := d.y(d.obvertAt(m.from)), d.y(d.obvertAt(m.to))
		w := faceLabel.width(m.text)
		var tries []try
		for h := 20.0; h < 160; h += 8 {
			y := min(ya, yb) - h
			for _, side := range []float64{1, -1} {
				tx, at := b+8, start
				if side < 0 {
					tx, at = a-8, end
				}
				o := setting{at: at, halo: true}
				boxes := []box{textBox(tx, y+4, m.text, faceLabel, o)}
				if b-a > w+12 && perStart[chainageText(m.from)] == 1 {
					o.at = middle
					boxes = []box{textBox((a+b)/2, y-5, m.text, faceLabel, o)}
					tx = (a + b) / 2
				}
				fa, fb := d.extension(a, y, ya-2), d.extension(b, y, yb-2)
				ends := [][]pt{{{a, y - 6}, {a, fa - 2}}, {{b, y - 6}, {b, fb - 2}}, {{a, y}, {b, y}}}
				if d.dimNear(a, b, y) {
					continue
				}
				tries = append(tries, try{boxes: boxes, more: ends, cost: h*0.3 + (1-side)*4, use: func() {
					d.c.line("dim", a, y, b, y)
					d.dims = append(d.dims, [3]float64{a, b, y})
					d.c.path("dimt", fmt.Sprintf("M%s %sl7 -7M%s %[2]sl7 -7", num(a-3.5), num(y+3.5), num(b-3.5)))
					d.c.line("ext", a, y-6, a, fa)
					d.c.line("ext", b, y-6, b, fb)
					ty := y + 4
					if o.at == middle {
						ty = y - 5
					}
					d.c.text(tx, ty, m.text, faceLabel, o)
				}})
			}
		}
		if !d.p.best(tries) {
			d.overflow(m.text, faceLabel, "", pt{(a + b) / 2, (ya + yb) / 2})
		}
	}
}

// dimNear tells whether another dimension runs closer than a line of text.
func (d *section) dimNear(a, b, y float64) bool {
	for _, o := range d.dims {
		if a < o[1] && b > o[0] && math.Abs(y-o[2]) < 14 {
			return true
		}
	}
	return false
}

// extension is how far down an extension line of a dimension goes: to the pipe, or to the mark that stands over it.
func (d *section) extension(x, from, to float64) float64 {
	for _, b := range d.p.taken {
		if math.Abs(b.x-x) < 1.5 && b.w < 20 && b.top() > from && b.top() < to {
			to = b.top() - 1
		}
	}
	return to
}

// emptyLabels names the lengths that stand without water in the case shown.
func (d *section) emptyLabels() {
	if !d.bands || d.overview || d.shown < 0 {
		return
	}
	_, gaps := d.emptyLength(d.shown)
	for _, g := range gaps {
		a, b := max(g[0], d.from), min(g[1], d.to)
		if b-a < 1 || d.x(b)-d.x(a) < 14 {
			continue
		}
		mid := (a + b) / 2
		x, y := d.x(mid), d.y(d.obvertAt(mid))+d.wall(mid)
		text := lengthText(d.pipeLength(g[0], g[1])) + " stand empty"
		var tries []try
		for h := 26.0; h < 260; h += 8 {
			for _, dx := range []float64{-40, 40, 0, -90, 90, -150, 150} {
				o := setting{at: middle, halo: true, earth: d.inEarth(x+dx, y+h)}
				bx := textBox(x+dx, y+h, text, faceLabel, o)
				lead := []pt{{x, y + 1}, {x + dx*0.6, y + h - 11}}
				tries = append(tries, try{boxes: []box{bx}, stem: []pt{{x + dx*0.1, y + 4}, lead[1]}, cost: h*0.3 + math.Abs(dx)*0.05, use: func() {
					d.c.polyline("lead", lead)
					d.c.text(x+dx, y+h, text, faceLabel, o)
				}})
			}
		}
		if !d.p.best(tries) {
			d.overflow(text, faceLabel, "", pt{x, y})
		}
	}
}

// sheetLimits marks the sheets on the key of a long line, with their numbers, and the valves that are not tight.
func (d *section) sheetLimits() {
	for _, j := range d.on {
		q := &d.valves[j]
		c, _ := q.cell(d.shown)
		x, y := d.x(q.ch), d.y(d.obvertAt(q.ch))
		if c.State == sealing.Tight {
			d.c.circle("seat", x, y, 1.4)
			continue
		}
		m := stateMark(c.State)
		for h := 10.0; h < 90; h += 9 {
			if b := markBox(x, y-h, 4); d.p.free(b) {
				d.c.line("stem", x, y, x, y-h)
				d.c.mark(m, x, y-h, 4)
				d.p.take(b)
				break
			}
		}
	}
	for _, o := range d.others {
		if o.no > 1 {
			d.c.line("limit2", d.x(o.from), d.top-24, d.x(o.from), d.datum+8)
		}
	}
}

// sheetWords is what a sheet's place in the key says: how many of its valves are in which state.
func (s *sheet) sheetWords() []string { return s.stateWords(s.shown) }

// stateWords counts the sheet's valves by their state in a case.
func (s *sheet) stateWords(in int) (words []string) {
	count := map[sealing.State]int{}
	for _, j := range s.on {
		c, _ := s.valves[j].cell(in)
		count[c.State]++
	}
	for _, st := range []sealing.State{sealing.Drips, sealing.Unrated, sealing.Open, sealing.Empty, sealing.Tight} {
		if count[st] > 0 {
			words = append(words, fmt.Sprintf("%d %s", count[st], stateWord(st)))
		}
	}
	return words
}

// footItem is a block of text under the datum.
type footItem struct {
	at    float64 // x of what it names
	lines []string
	scale bool // the scale bar
}

// foot sets what stands under the datum: its level, the names of nodes and equipment, the scale.
func (d *section) foot() {
	items := d.footItems()
	var at, width []float64
	for _, i := range items {
		w := faceNote.widest(i.lines)
		x := i.at
		switch {
		case i.scale:
			w = d.scaleWidth()
		case d.overview:
		case i.at <= d.left+1:
			x += w / 2
		case i.at >= d.plotRight()-1 && w > d.right:
			x -= w/2 - d.right/2
		}
		at, width = append(at, x), append(width, w)
	}
	row, x, rows := rowed(at, width, 14, 2, d.w-2)
	top := d.datum + 18
	for r := range rows {
		most := 0
		for i, it := range items {
			if row[i] != r {
				continue
			}
			most = max(most, len(it.lines))
			if it.scale {
				most = max(most, 2)
				d.scaleBar(x[i]-width[i]/2, top+8)
				continue
			}
			if !d.overview && it.at > d.left+1 && it.at < d.plotRight()-1 {
				d.c.line("ext", it.at, d.datum, it.at, top+3)
			}
			d.c.lines(x[i], top+14, 14, it.lines, faceNote, setting{at: middle, halo: true})
		}
		top += float64(most)*14 + 4
	}
	d.c.text(d.left-26, d.datum+14, "datum "+levelText(d.hi-(d.datum-d.top)/d.scale)+" m", faceNote, setting{halo: true})
	d.floor = top + 8
	if !d.bands {
		d.floor = d.kilometres(top) + 2
	}
}

func (d *section) footItems() []footItem {
	var items []footItem
	if d.overview {
		for _, o := range d.others {
			room := d.x(o.to) - d.x(o.from) - 6
			lines := []string{fmt.Sprintf("%d", o.no)}
			if room > 40 {
				lines = append([]string{fmt.Sprintf("sheet %d", o.no)}, o.sheetWords()...)
			}
			items = append(items, footItem{at: (d.x(o.from) + d.x(o.to)) / 2, lines: lines})
		}
	} else {
		for _, m := range d.marks {
			if !d.holds(m.ch) || !d.bands && m.kind != placeNode {
				continue
			}
			room := 150.0
			if x := d.x(m.ch); d.bands && (x <= d.left+1 || x >= d.plotRight()-1) {
				room = 250
			}
			lines := faceNote.wrap(m.name, room)
			if !strings.Contains(strings.ToLower(m.name), strings.Split(m.word, ",")[0]) && m.word != "junction" {
				lines = append(lines, faceNote.wrap(m.word, room)...)
			}
			if m.closed {
				lines = append(lines, "shut")
			}
			items = append(items, footItem{at: d.x(m.ch), lines: lines})
		}
	}
	if d.bands {
		items = append(items, footItem{at: (d.left + d.plotRight()) / 2, scale: true})
	}
	return items
}

// kilometres sets the chainage under a narrow drawing.
func (d *section) kilometres(y float64) float64 {
	at, dec := ticks(d.from/1000, d.to/1000, 3)
	for i, v := range at {
		s := fixed(v, dec)
		if i == 0 {
			s += " km"
		}
		x, o := d.x(v*1000), setting{at: middle}
		if x+faceNote.width(s)/2 > d.w {
			o.at = end
		}
		d.c.text(x, y+12, s, faceNote, o)
		d.c.line("hair2", x, d.datum, x, d.datum+4)
	}
	return y + 16
}

// scaleStep is the length of the scale bar, m.
func (d *section) scaleStep() float64 { return niceStep((d.to - d.from) * 0.1) }

// scaleNote says how much the levels are enlarged.
func (d *section) scaleNote() string {
	note := "levels in the chainage's own scale"
	if d.ratio != 1 {
		note = "levels drawn " + trimmed(d.ratio) + " times the chainage"
	}
	if d.wall(d.from) <= pipeWall {
		return note + "; pipe drawn wider than its " + d.bores()
	}
	return note + "; pipe drawn to its bore"
}

func (d *section) scaleWidth() float64 {
	return 8 + d.scaleStep()*d.across() + 30 + faceNote.width(d.scaleNote())
}

// across is px per m of chainage.
func (d *section) across() float64 { return (d.w - d.left - d.right) / (d.to - d.from) }

// scaleBar draws the scale of chainage, black and white in turn, and the note beside it.
func (d *section) scaleBar(x, y float64) {
	x += 8
	step := d.scaleStep()
	part := step / 4 * d.across()
	for k := range 4 {
		class := "staff1"
		if k%2 == 1 {
			class = "staff0"
		}
		d.c.rect(class, x+float64(k)*part, y+9, part, 4)
	}
	d.c.text(x, y+5, "0", faceNote, setting{at: middle, halo: true})
	d.c.text(x+4*part, y+5, lengthText(step), faceNote, setting{at: middle, halo: true})
	d.c.text(x+4*part+30, y+14, d.scaleNote(), faceNote, setting{halo: true})
}
