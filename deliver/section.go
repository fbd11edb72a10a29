package deliver

import (
	"fmt"
	"math"
	"sort"

	"obvert/line"
)

// section draws the long section of one sheet.
type section struct {
	*sheet
	c *canvas
	p *placer

	lines []gradeLine
	pools []poolView

	rail  bool // the valves' labels stand in a rail above the drawing
	extra int  // rows above the drawing for labels that found no place
	left1 int  // labels that found none in this attempt

	lo, hi float64      // levels drawn, m
	ratio  float64      // levels are drawn so many times the chainage
	scale  float64      // px per m of level
	top    float64      // y of hi
	datum  float64      // y of the datum line
	floor  float64      // y under everything of the section
	soil   [][]pt       // the ground in px
	dims   [][3]float64 // dimensions drawn: from, to, y
}

// exaggerations are the ratios a draughtsman would choose.
var exaggerations = []float64{1, 1.5, 2, 2.5, 3, 4, 5, 6, 8}

// niceRatio is the largest of them, times a power of ten, that is not above v.
func niceRatio(v float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(v)))
	best := p
	for _, m := range exaggerations {
		if m*p <= v*(1+1e-9) {
			best = m * p
		}
	}
	return best
}

// Heights of the parts of the section, px.
const (
	sky       = 66.0 // above the highest level, for labels
	titleHigh = 24.0 // of a sheet's own title
	railHigh  = 40.0 // of the rail's two lines
	fanHigh   = 26.0 // of a fan of slanting hairlines
	rowHigh   = 16.0 // of a row of labels above the drawing
	pipeWall  = 5.5  // least drawn height of the pipe
)

// drawSection draws the section on the canvas from y = 0 and gives the y below it. It tries again, first with a rail, then
// with rows above, until every label has its place.
func drawSection(s *sheet, c *canvas) *section {
	d := &section{sheet: s, rail: !s.overview && s.bands && s.crowded()}
	for range 12 {
		d.c = &canvas{w: c.w, id: c.id}
		d.left1, d.soil, d.dims = 0, nil, nil
		rail, extra := d.rail, d.extra
		d.draw()
		if d.rail == rail && d.left1 == 0 {
			break
		}
		d.extra = extra + d.left1
	}
	c.b.WriteString(d.c.b.String())
	c.labels = append(c.labels, d.c.labels...)
	d.c = c
	return d
}

func (d *section) draw() {
	d.measure()
	d.p = &placer{area: rectBox(0, 0, d.w, d.datum-3)}
	if t := d.sheetTitle(); t != "" {
		f := faceHead
		if !d.bands {
			f = faceLabelB
		}
		d.c.text(0, 13, t, f, setting{})
		d.p.take(textBox(0, 13, t, f, setting{}))
	}
	d.staff()
	d.groundAndDrops()
	d.pipe()
	d.ends()
	d.gradeLinesAndLevels()
	d.equipment()
	if d.overview {
		d.sheetLimits()
	} else {
		d.valveLabels()
	}
	d.slackLabels()
	d.lineLabels()
	d.emptyLabels()
	d.foot()
}

// measure chooses the scale.
func (d *section) measure() {
	d.lo, d.hi = math.Inf(1), math.Inf(-1)
	see := func(v float64) { d.lo, d.hi = min(d.lo, v), max(d.hi, v) }
	d.levels(d.from, d.to, d.holds, see)
	d.lines = d.view.gradeLines((d.hi - d.lo) * 0.004)
	for _, g := range d.lines {
		for _, piece := range g.pieces {
			for _, q := range d.clipLine(piece) {
				see(q.y)
			}
		}
	}
	d.pools = d.view.pools(d.shown)
	for _, p := range d.pools {
		for _, s := range p.spans {
			if s[1] > d.from && s[0] < d.to {
				see(p.pool.Level)
			}
		}
	}
	for _, m := range d.marks {
		if m.kind == placeNode && d.holds(m.ch) {
			for _, level := range d.tankLevels(m.node) {
				see(level.level)
			}
		}
	}
	if d.hi-d.lo < 0.5 {
		mid := (d.hi + d.lo) / 2
		d.lo, d.hi = mid-0.25, mid+0.25
	}
	across := d.across()
	d.ratio = niceRatio(d.form.section / (d.hi - d.lo) / across)
	d.scale = d.ratio * across
	d.top = sky + float64(d.extra)*rowHigh
	if d.of > 1 || d.overview {
		d.top += titleHigh
	}
	if d.rail {
		d.top += railHigh + d.fanHeight() - 14
	}
	if d.overview {
		d.top -= 30
	}
	if !d.bands {
		d.top -= 26
	}
	// The datum is a round level a little under everything.
	q := niceStep(6 / d.scale)
	d.datum = d.top + (d.hi-math.Floor((d.lo-10/d.scale)/q)*q)*d.scale
}

func (d *section) y(level float64) float64 { return d.top + (d.hi-level)*d.scale }

// wall is the drawn height of the pipe: its bore where that is larger than the least.
func (d *section) wall(ch float64) float64 { return max(pipeWall, d.boreAt(ch)*d.scale) }

// trace is a line over chainage and level in px.
func (d *section) trace(p []pt) []pt {
	out := make([]pt, 0, len(p))
	for _, q := range d.clipLine(p) {
		out = append(out, pt{d.x(q.x), d.y(q.y)})
	}
	return thin(out, 0.25)
}

// obvertLine is the obvert over [a, b] as chainage and level; the points of vertical steps are kept.
func (d *section) obvertLine(a, b float64) []pt {
	out := []pt{{a, d.obvertAt(a)}}
	lo := sort.Search(len(d.pts), func(i int) bool { return d.pts[i].ch > a })
	for i := lo; i < len(d.pts) && d.pts[i].ch < b; i++ {
		out = append(out, pt{d.pts[i].ch, d.pts[i].obvert})
	}
	return append(out, pt{b, d.obvertAt(b)})
}

// staff draws the levels at the left, black and white in turn.
func (d *section) staff() {
	x := d.left - 32
	if !d.bands {
		x = d.left - 25
	}
	n := (d.hi - d.lo) * d.scale / 46
	at, dec := ticks(d.lo, d.hi, max(int(n), 2))
	if len(at) < 2 {
		return
	}
	half := (at[1] - at[0]) / 2
	bottom, top := d.y(at[0]), d.y(at[len(at)-1])
	d.c.rect("staff0", x, top, 4, bottom-top)
	for k, v := range at {
		if k < len(at)-1 {
			d.c.rect("staff1", x, d.y(v+half), 4, d.y(v)-d.y(v+half))
		}
		f, edgeX := faceNote, x-6
		if !d.bands {
			if k%2 == 1 && len(at) > 4 || f.width(fixed(v, dec)) > edgeX {
				continue
			}
			edgeX = x - 3
		}
		d.c.text(edgeX, d.y(v)+4, fixed(v, dec), f, setting{at: end})
		d.p.take(textBox(edgeX, d.y(v)+4, fixed(v, dec), f, setting{at: end}))
	}
	d.p.take(rectBox(x, top, x+4, bottom))
}

// groundLine is the ground on the sheet in pieces, where it is given.
func (d *section) groundLine() [][]pt {
	var out [][]pt
	var piece []pt
	flush := func() {
		if c := d.clipLine(piece); len(c) > 1 {
			out = append(out, c)
		}
		piece = nil
	}
	for _, p := range d.pts {
		if !p.hasGround {
			flush()
			continue
		}
		piece = append(piece, pt{p.ch, p.ground})
	}
	flush()
	return out
}

// groundAndDrops draws the earth and the hairlines from the valves to the datum; the ground line and its hatch come over the
// pipe's casing later.
func (d *section) groundAndDrops() {
	for _, g := range d.groundLine() {
		t := d.trace(g)
		if len(t) < 2 {
			continue
		}
		d.soil = append(d.soil, t)
		d.c.polygon("earth", append(append([]pt{}, t...), pt{t[len(t)-1].x, d.datum}, pt{t[0].x, d.datum}))
	}
	if d.overview || !d.bands {
		return
	}
	for _, j := range d.on {
		ch := d.valves[j].ch
		d.c.line("drop", d.x(ch), d.y(d.obvertAt(ch))+d.wall(ch), d.x(ch), d.datum)
	}
}

// inEarth tells whether a place lies under the ground line.
func (d *section) inEarth(x, y float64) bool {
	for _, t := range d.soil {
		if g, ok := yAt(t, x); ok && y > g {
			return true
		}
	}
	return false
}

// pipe draws the casing, the water of the case shown, and the walls.
func (d *section) pipe() {
	body := d.ribbon(d.from, d.to, 0)
	d.c.polygon("casing", body)
	for _, w := range d.wetted(d.shown) {
		a, b := max(w.from, d.from), min(w.to, d.to)
		if b <= a {
			continue
		}
		part := 0.0
		if !w.full {
			part = 0.5
		}
		d.c.polygon("water", d.ribbon(a, b, part))
	}
	top := d.trace(d.obvertLine(d.from, d.to))
	for _, g := range d.groundLine() {
		t := d.trace(g)
		d.c.polyline("ground", t)
		d.hatch(t)
		d.p.avoid(t, 14)
	}
	under := d.lower(1)
	d.c.polyline("pipe", top)
	d.c.polyline("pipe", under)
	d.p.avoid(top, math.Inf(1))
	d.p.avoid(under, math.Inf(1))
	d.c.line("datum", d.left-26, d.datum, d.plotRight(), d.datum)
}

// lower is the obvert moved down by a share of the drawn bore.
func (d *section) lower(share float64) []pt {
	line := d.obvertLine(d.from, d.to)
	out := make([]pt, len(line))
	for i, q := range line {
		out[i] = pt{d.x(q.x), d.y(q.y) + share*d.wall(q.x)}
	}
	return thin(out, 0.25)
}

// ribbon is the pipe between two chainages, from a share of its bore below the obvert down to its invert.
func (d *section) ribbon(a, b, share float64) []pt {
	var up, down []pt
	for _, q := range d.obvertLine(a, b) {
		x, y, w := d.x(q.x), d.y(q.y), d.wall((max(q.x, a)+min(q.x, b))/2)
		up, down = append(up, pt{x, y + share*w}), append(down, pt{x, y + w})
	}
	up, down = thin(up, 0.25), thin(down, 0.25)
	for i := len(down) - 1; i >= 0; i-- {
		up = append(up, down[i])
	}
	return up
}

// hatch sets the ground's strokes in threes where there is room above the pipe.
func (d *section) hatch(t []pt) {
	var b string
	for x := d.left + 34; x < d.plotRight()-14; x += 96 {
		ok, s := true, ""
		for k := range 3 {
			xs := x + 4*float64(k)
			y, in := yAt(t, xs)
			ch := d.from + (xs-4-d.left)/(d.w-d.left-d.right)*(d.to-d.from)
			ok = ok && in && d.y(d.obvertAt(ch))-y > 6.5
			s += "M" + num(xs) + " " + num(y+0.6) + "l-4 5"
		}
		if ok {
			b += s
		}
	}
	d.c.path("hatch", b)
}

// yAt is the y of a polyline that rises in x.
func yAt(t []pt, x float64) (y float64, ok bool) {
	i := sort.Search(len(t), func(i int) bool { return t[i].x >= x })
	if i == 0 || i == len(t) {
		return 0, false
	}
	a, b := t[i-1], t[i]
	if b.x == a.x {
		return b.y, true
	}
	return a.y + (b.y-a.y)*(x-a.x)/(b.x-a.x), true
}

// tankLevel is a tank's water level in some cases.
type tankLevel struct {
	level float64
	shown bool // in the case drawn
}

// tankLevels are the different levels of a tank, or of a station's sump, in all cases, the highest first.
func (d *section) tankLevels(node int) []tankLevel {
	l := d.r.Line
	n := &l.Nodes[node]
	if n.Kind != line.Tank || n.Tank == nil {
		return nil
	}
	var out []tankLevel
	add := func(level float64, shown bool) {
		for i := range out {
			if math.Abs(out[i].level-level) < 0.005 {
				out[i].shown = out[i].shown || shown
				return
			}
		}
		out = append(out, tankLevel{level, shown})
	}
	for c := range l.Cases {
		if node < len(l.Cases[c].Level) {
			add(l.Cases[c].Level[node], c == d.shown)
		}
	}
	if len(out) == 0 {
		add(n.Tank.Level, true)
	}
	sort.Slice(out, func(i, j int) bool { return out[i].level > out[j].level })
	return out
}

// ends draws what stands at the route's two ends: tank, pumps, outfall, closed end.
func (d *section) ends() {
	for _, m := range d.marks {
		if m.kind != placeNode || !d.holds(m.ch) {
			continue
		}
		switch {
		case m.ch == d.view.to && d.to == d.view.to:
			d.endSymbol(m, d.plotRight(), 1)
		case m.ch == d.view.from && d.from == d.view.from:
			d.endSymbol(m, d.left, -1)
		}
	}
}

// endSymbol draws an end node; side is +1 at the right end.
func (d *section) endSymbol(m place, x, side float64) {
	n := &d.r.Line.Nodes[m.node]
	y, w := d.y(m.level), d.wall(m.ch)
	wide := 24.0
	if side < 0 || !d.bands {
		wide = 16
	}
	switch n.Kind {
	case line.Tank:
		levels := d.tankLevels(m.node)
		shown := levels[0].level
		for _, t := range levels {
			if t.shown {
				shown = t.level
			}
		}
		water, bottom := d.y(shown), y+w
		if water > y && n.Tank.Inlet == line.OverTheTop || water > bottom-2 {
			bottom = water + 14
		}
		d.c.rect("water", min(x, x+side*wide), water, wide, bottom-water)
		high := min(d.y(levels[0].level), y) - 8
		d.c.path("wall", fmt.Sprintf("M%s %sV%sM%[1]s %[4]sV%[5]sh%[6]sV%[2]s", num(x), num(high), num(y), num(max(y+w, water)), num(bottom), num(side*wide)))
		d.p.take(rectBox(x, high, x+side*wide, bottom))
		d.levelTexts(levels, x+side*(wide+5), side)
	case line.Station:
		d.c.circle("eq", x+side*11, y+w/2, 7.5)
		d.c.path("eqf", fmt.Sprintf("M%s %sl%s 5.4l%s 5.4", num(x+side*11+side*5), num(y+w/2-5.4), num(-side*12.4), num(side*12.4)))
		d.p.take(rectBox(x+side*3, y+w/2-8, x+side*19, y+w/2+8))
	case line.DeadEnd:
		d.c.path("wall", fmt.Sprintf("M%s %sV%s", num(x+side), num(y-3), num(y+w+3)))
	case line.Outfall:
		d.c.path("eqf", fmt.Sprintf("M%s %sq%s 1 %s 9", num(x), num(y+w/2), num(side*8), num(side*9)))
	}
}

// levelTexts sets the levels of a tank beside it, spread so that none lies on another.
func (d *section) levelTexts(levels []tankLevel, x, side float64) {
	if !d.bands {
		return
	}
	at := make([]float64, len(levels))
	for i, t := range levels {
		at[i] = d.y(t.level) + 4
	}
	if side < 0 { // the staff stands there
		return
	}
	for i, y := range Spread(at, 13, 12, d.datum-4) {
		if faceNote.width(levelText(levels[i].level)) > d.w-x {
			continue
		}
		d.c.text(x, y, levelText(levels[i].level), faceNote, setting{at: start})
		d.p.take(textBox(x, y, levelText(levels[i].level), faceNote, setting{at: start}))
	}
}

// equipment draws the trade's signs on the pipe.
func (d *section) equipment() {
	for _, m := range d.marks {
		if !d.holds(m.ch) {
			continue
		}
		x, y := d.x(m.ch), d.y(m.level)+d.wall(m.ch)/2
		if m.kind == placeNode {
			if m.ch > d.view.from && m.ch < d.view.to && d.r.Line.Nodes[m.node].Kind == line.Station {
				d.c.circle("eq", x, y, 7)
				d.c.path("eqf", fmt.Sprintf("M%s %sl11.4 5l-11.4 5", num(x-4.6), num(y-5)))
				d.p.take(rectBox(x-8, y-8, x+8, y+8))
			}
			continue
		}
		d.c.b.WriteString(equipmentSign(m, x, y))
		d.p.take(rectBox(x-7, y-6, x+7, y+6))
	}
}

// equipmentSign is a bow tie for valves in the pipe, filled where shut, and a branch downwards for a scour.
func equipmentSign(m place, x, y float64) string {
	bow := fmt.Sprintf("M%s %sv9l12 -9v9Z", num(x-6), num(y-4.5))
	class := "eq"
	if m.closed {
		class = "eq shut"
	}
	switch m.kind {
	case placeIsolating:
		return fmt.Sprintf(`<path class="%s" d="%s"/>`, class, bow)
	case placeCheck:
		s := m.facing
		return fmt.Sprintf(`<path class="eq" d="M%s %sl%s 4.5l%s 4.5Z"/><path class="wall" d="M%s %sv9"/>`, num(x-s*5), num(y-4.5), num(s*10), num(-s*10), num(x+s*5), num(y-4.5))
	case placeSustaining, placeReducing:
		return fmt.Sprintf(`<path class="eq" d="%s"/><path class="eqf" d="M%s %sv-5"/><circle class="eq" cx="%[2]s" cy="%[4]s" r="3"/>`, bow, num(x), num(y), num(y-8))
	case placeFlowControl:
		return fmt.Sprintf(`<path class="eq" d="%s"/><path class="eqf" d="M%s %sv-5"/><path class="eq" d="M%s %sh6v-5h-6Z"/>`, bow, num(x), num(y), num(x-3), num(y-5))
	}
	return fmt.Sprintf(`<path class="eqf" d="M%s %sv9m-3 -3l3 3.5l3 -3.5"/>`, num(x), num(y))
}

// gradeLinesAndLevels draws the lines; their labels come after the valves'.
func (d *section) gradeLinesAndLevels() {
	for i := len(d.lines) - 1; i >= 0; i-- {
		for _, piece := range d.lines[i].pieces {
			t := d.trace(piece)
			d.c.polyline("gl "+d.lineClass(i), t)
			d.p.avoid(t, 12)
		}
	}
	for _, p := range d.pools {
		for _, s := range p.spans {
			a, b := max(s[0], d.from), min(s[1], d.to)
			if b <= a {
				continue
			}
			t := []pt{{d.x(a), d.y(p.pool.Level)}, {d.x(b), d.y(p.pool.Level)}}
			d.c.polyline("gl std", t)
			d.p.avoid(t, 12)
		}
	}
}

// lineClass is the heaviest pen for the highest line of the pumping cases, dashes for filling.
func (d *section) lineClass(i int) string {
	if d.lines[i].kind == line.Filling {
		return "fill"
	}
	for k := range i {
		if d.lines[k].kind != line.Filling {
			return "p1"
		}
	}
	return "p2"
}

// textClass is the colour of a line's label.
func (d *section) textClass(i int) string {
	return map[string]string{"fill": "k0", "p1": "k1", "p2": "k2"}[d.lineClass(i)]
}
