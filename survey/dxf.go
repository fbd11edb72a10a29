package survey

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"obvert/document"
	"obvert/formats/dxf"
	"obvert/line"
	"obvert/quantity"
)

// mostDrawn is how many tracks of a drawing are offered; of more, the best.
const mostDrawn = 50

// joinWithin is the gap, in metres, over which the ends of two pieces of a layer count as one point.
const joinWithin = 0.05 // common practice, no source: survey points of one mark repeat to a few centimetres

// drawn is one drawing being read.
type drawn struct {
	g      *document.Gather
	o      Options
	f      *dxf.File
	r      *Reading
	unit   float64 // metres per drawing unit in plan; 0: not known
	height float64 // metres per drawing unit upwards
	asked  bool    // a plan was found whose unit is not known
	scales *scaleFinder
	ground []drawnSection // ground lines of drawn sections
	wants  []string       // sections whose scales are not known
	found  []drawnSection
	spare  []dxf.Chain // on layers whose names speak of something else; taken where there is nothing better
	closed map[string]int
}

// drawnSection is a chain that may be a long section drawn to scale.
type drawnSection struct {
	chain dxf.Chain
	scale sectionScale
	kind  *line.LevelKind
}

// DXF reads a drawing: polylines in space are taken as a plan with heights, flat ones whose x runs steadily as a long section
// drawn to scale. It is a [Reader]. Pieces of one layer that meet end to end are joined. The scales of a section are those
// of Options, or found from the levels and chainages written beside it where three or more of them agree; else they are asked for.
func DXF(file string, data []byte, o Options) (Reading, document.Faults) {
	d := &drawn{g: &document.Gather{File: file}, o: o, r: &Reading{File: file, Format: "DXF"}, closed: map[string]int{}}
	f, faults := dxf.Read(file, data)
	for _, x := range faults {
		d.g.Add(x)
	}
	if d.g.Fatal {
		return Reading{}, d.g.All()
	}
	d.f = f
	d.r.Took = append(d.r.Took, "ASCII DXF "+f.Release()+", "+plural(len(f.Chains), "line or polyline", "lines and polylines"))
	d.r.Took = append(d.r.Took, f.Notes...)
	if !d.planUnit() || !d.levelUnit() || !d.checkLayer() {
		return Reading{}, d.g.All()
	}
	d.scales = newScaleFinder(f, o)
	for _, c := range join(d.chosen(), d.tolerance()) {
		d.sort(c)
	}
	better := len(d.r.Tracks)+len(d.wants) > 0 || len(d.found) > len(d.ground)
	for _, c := range d.spare {
		if better {
			d.r.leave(c, "its layer is named for something else")
			continue
		}
		d.candidate(c)
	}
	d.takeSections()
	d.tellLeft()
	d.rank()
	if len(d.r.Tracks) == 0 {
		d.nothing()
	}
	if d.g.Fatal {
		return Reading{}, d.g.All()
	}
	return *d.r, d.g.All()
}

// planUnit settles the unit of plane coordinates.
func (d *drawn) planUnit() bool {
	if d.o.PlanUnit != "" {
		v, err := quantity.Parse(quantity.Length, "1 "+d.o.PlanUnit)
		if err != nil {
			d.g.Add(document.Fault{Key: "plan-unit", What: err.Error(), Hint: "write the unit of the drawing's plane coordinates, such as m or ft"})
			return false
		}
		d.unit = v
		return true
	}
	if !d.f.HasUnit {
		return true
	}
	v, ok := d.f.Units.InMetres()
	if !ok {
		d.g.Add(document.Fault{What: "the drawing's unit is " + d.f.Units.String(), Understood: fmt.Sprintf("$INSUNITS is %d", int(d.f.Units)), Hint: "say the unit of its plane coordinates"})
		return false
	}
	d.unit = v
	d.r.Took = append(d.r.Took, "the drawing's unit, by $INSUNITS: "+d.f.Units.String())
	return true
}

// levelUnit settles the unit of heights in plan: the drawing's, unless the user says another.
func (d *drawn) levelUnit() bool {
	d.height = d.unit
	if d.o.LevelUnit == "" {
		return true
	}
	v, err := quantity.Parse(quantity.Length, "1 "+d.o.LevelUnit)
	if err != nil {
		d.g.Add(document.Fault{Key: "level-unit", What: err.Error(), Hint: "write the unit of the drawing's heights, such as m or ft"})
		return false
	}
	d.height = v
	return true
}

func (d *drawn) tolerance() float64 {
	if d.unit > 0 {
		return joinWithin / d.unit
	}
	return joinWithin
}

// checkLayer refuses a layer that is not there.
func (d *drawn) checkLayer() bool {
	if d.o.Take == "" {
		return true
	}
	names := map[string]bool{}
	for _, c := range d.f.Chains {
		names[c.Layer] = true
	}
	if names[d.o.Take] {
		return true
	}
	var known []string
	for n := range names {
		known = append(known, n)
	}
	slices.Sort(known)
	hint := "the layers with lines on them are " + strings.Join(shortList(known, 12), ", ")
	if n, ok := quantity.Nearest(d.o.Take, known); ok {
		hint = fmt.Sprintf("was %q meant", n) + "? " + hint
	}
	d.g.Add(document.Fault{What: fmt.Sprintf("no line stands on a layer %q", d.o.Take), Hint: hint})
	return false
}

// chosen are the chains to look at: of one layer where it is named, and the ground beside it.
func (d *drawn) chosen() []dxf.Chain {
	if d.o.Take == "" {
		return d.f.Chains
	}
	var out []dxf.Chain
	other := 0
	for _, c := range d.f.Chains {
		if c.Layer == d.o.Take || isGround(c.Layer) {
			out = append(out, c)
		} else {
			other++
		}
	}
	if other > 0 {
		d.r.Left = append(d.r.Left, plural(other, "line or polyline", "lines and polylines")+" on other layers than "+d.o.Take)
	}
	return out
}

// sort tells what a chain is.
func (d *drawn) sort(c dxf.Chain) {
	lo, hi, zero := c.Points[0].Z, c.Points[0].Z, 0
	for _, p := range c.Points {
		lo, hi = min(lo, p.Z), max(hi, p.Z)
		if p.Z == 0 {
			zero++
		}
	}
	switch {
	case c.Closed:
		d.closed[c.Layer]++
	case lo != hi:
		d.plan(c, zero)
	default:
		d.flat(c)
	}
}

// plan takes a chain in space: chainage is its length in plan.
func (d *drawn) plan(c dxf.Chain, zero int) {
	if d.unit == 0 {
		if len(c.Points) > 2 || c.Layer == d.o.Take {
			d.asked = true
		}
		return
	}
	lowest := math.Inf(1)
	for _, p := range c.Points {
		if p.Z != 0 {
			lowest = min(lowest, math.Abs(p.Z))
		}
	}
	missing := zero > 0 && lowest*d.height > 5
	var points []Point
	same := 0
	for _, p := range c.Points {
		q := Point{East: p.X * d.unit, North: p.Y * d.unit, Level: p.Z * d.height, HasLevel: true, Where: int(p.Line)}
		if missing && p.Z == 0 {
			q.Level, q.HasLevel = 0, false
		}
		if n := len(points); n > 0 {
			last := points[n-1]
			step := math.Hypot(q.East-last.East, q.North-last.North)
			if step == 0 && q.Level == last.Level {
				same++
				continue
			}
			q.Chainage = last.Chainage + step
		}
		points = append(points, q)
	}
	name := fmt.Sprintf("%s on layer %s", strings.ToLower(c.Kind), c.Layer)
	if same > 0 {
		d.r.Left = append(d.r.Left, name+": "+plural(same, "point", "points")+" at the very place of the point before")
	}
	if len(points) < 2 {
		d.r.Left = append(d.r.Left, name+": all its points are one place")
		return
	}
	if missing {
		d.g.Warn("survey.no-height", c.Line, plural(zero, "point", "points")+" of the "+name+" at height zero", "the others lie at "+metres(lowest*d.height, 0)+" and more: zero was taken for no height",
			"give these points their heights, or leave them out")
	}
	with, low, high, _ := heights(points)
	t := Track{Name: c.Layer, Points: points, HasChainage: true, HasPlan: true, Chainages: "along the polyline in plan", LevelKind: d.levelKind(c.Layer)}
	length := points[len(points)-1].Chainage
	share := float64(with) / float64(len(points))
	t.Score = 0.35 + 0.25*share + 0.25*layerWorth(c.Layer)
	if len(points) < 3 {
		t.Score *= 0.3
	}
	t.Why = fmt.Sprintf("a polyline with heights, %s over %s", plural(len(points), "point", "points"), metres(length, 0))
	d.add(t, fmt.Sprintf("%s, line %d: plan with heights, %s, %s long, heights from %s to %s", name, c.Line, plural(len(points), "point", "points"), metres(length, 1), metres(low, 2), metres(high, 2)))
	if c.Arcs > 0 {
		d.r.Took = append(d.r.Took, name+": "+plural(c.Arcs, "arc", "arcs")+" as chords of 5° at most")
	}
	tellReturn(d.g, name, t)
}

// flat takes a chain at one height as a candidate for a drawn section.
func (d *drawn) flat(c dxf.Chain) {
	n := len(c.Points)
	back, last, where := 0, 0.0, 0
	sign := 1.0
	if c.Points[n-1].X < c.Points[0].X {
		sign = -1
	}
	standing := 0.0
	lo, hi := math.Inf(1), math.Inf(-1)
	for i, p := range c.Points {
		lo, hi = min(lo, p.Y), max(hi, p.Y)
		if i > 0 {
			if step := sign * (p.X - last); step < 0 {
				if back++; back == 1 {
					where = int(p.Line)
				}
			}
			standing += math.Abs(p.Y - c.Points[i-1].Y)
		}
		last = p.X
	}
	width := math.Abs(c.Points[n-1].X - c.Points[0].X)
	named := c.Layer == d.o.Take
	switch {
	case width == 0 || n < 3 && !named && layerWorth(c.Layer) <= 0:
		d.r.leave(c, "a straight line by itself")
		return
	case back > 0 && standing <= (hi-lo)*(1+1e-9) && hi > lo:
		d.r.leave(c, "it stands upright: its y runs steadily and its x does not. Are the axes swapped?")
		if named {
			d.g.Warn("survey.axes", where, "the line on layer "+c.Layer+" stands upright", "its y runs steadily and its x does not", "turn the drawing so that chainage runs across and level up")
		}
		return
	case back > 0:
		d.r.leave(c, "its x runs to and fro, so it is no long section, and it has no heights to be a plan with")
		if named {
			d.g.Add(document.Fault{Line: where, What: "the line on layer " + c.Layer + " runs to and fro", Understood: plural(back, "point", "points") + " out of order, the first in this line; in plan it has no heights",
				Hint: "mend the order of its points, or give a polyline with heights"})
		}
		return
	}
	if sign < 0 {
		slices.Reverse(c.Points)
	}
	if layerWorth(c.Layer) < 0 && !named {
		d.spare = append(d.spare, c)
		return
	}
	d.candidate(c)
}

// candidate takes a chain whose x rises as a drawn section, if its scales are known.
func (d *drawn) candidate(c dxf.Chain) {
	named := c.Layer == d.o.Take
	s := drawnSection{chain: c, kind: d.levelKind(c.Layer)}
	var ok bool
	if s.scale, ok = d.scales.of(c); !ok {
		if named || layerWorth(c.Layer) != 0 || len(c.Points) > 4 {
			d.wants = append(d.wants, c.Layer)
		} else {
			d.r.leave(c, "no levels and chainages are written beside it")
		}
		return
	}
	if isGround(c.Layer) {
		d.ground = append(d.ground, s)
	}
	if d.o.Take == "" || named {
		d.found = append(d.found, s)
	}
}

// takeSections turns drawn sections into tracks, with the ground over them where one is drawn.
func (d *drawn) takeSections() {
	for _, s := range d.found {
		t := Track{Name: s.chain.Layer, HasChainage: true, LevelKind: s.kind, Chainages: strings.TrimPrefix(s.scale.acrossText, "chainage ")}
		same := 0
		for _, p := range s.chain.Points {
			q := Point{Chainage: s.scale.chainage(p.X), Level: s.scale.level(p.Y), HasLevel: true, Where: int(p.Line)}
			if n := len(t.Points); n > 0 && t.Points[n-1].Chainage == q.Chainage && t.Points[n-1].Level == q.Level {
				same++
				continue
			}
			t.Points = append(t.Points, q)
		}
		if len(t.Points) < 2 {
			continue
		}
		ground := ""
		if !isGround(s.chain.Layer) {
			ground = d.addGround(&t, s.scale)
		}
		length := t.Points[len(t.Points)-1].Chainage - t.Points[0].Chainage
		_, low, high, _ := heights(t.Points)
		t.Noise = s.scale.noise
		t.Score = 0.3 + 0.5*layerWorth(s.chain.Layer) + 0.1*math.Min(float64(len(t.Points))/20, 1)
		if s.chain.Points[0].Y == s.chain.Points[len(s.chain.Points)-1].Y && low == high {
			t.Score *= 0.2 // a level line: the datum, a frame, water at rest
		}
		t.Why = fmt.Sprintf("a long section drawn to scale, %s over %s", plural(len(t.Points), "point", "points"), metres(length, 0))
		d.add(t, fmt.Sprintf("%s on layer %s, line %d: long section, %s, %s long, levels from %s to %s; %s; %s%s", strings.ToLower(s.chain.Kind), s.chain.Layer, s.chain.Line,
			plural(len(t.Points), "point", "points"), metres(length, 1), metres(low, 2), metres(high, 2), s.scale.acrossText, s.scale.upText, ground))
		if same > 0 {
			d.r.Left = append(d.r.Left, s.chain.Layer+": "+plural(same, "point", "points")+" at the very place of the point before")
		}
	}
}

// addGround sets the level of a ground line drawn on the same scales over the points of a section.
func (d *drawn) addGround(t *Track, scale sectionScale) string {
	first, last := t.Points[0].Chainage, t.Points[len(t.Points)-1].Chainage
	name, set := "", 0
	for _, g := range d.ground {
		pts := g.chain.Points
		a, b := g.scale.chainage(pts[0].X), g.scale.chainage(pts[len(pts)-1].X)
		if b < first || a > last || g.scale != scale {
			continue
		}
		k := 1
		for i := range t.Points {
			q := &t.Points[i]
			// Drawn coordinates are rounded: the ends of two lines that mean one chainage may differ by a hair.
			hair := 1e-6 * math.Max(b-a, 1)
			if q.HasGround || q.Chainage < a-hair || q.Chainage > b+hair {
				continue
			}
			for k < len(pts)-1 && g.scale.chainage(pts[k].X) < q.Chainage {
				k++
			}
			p0, p1 := pts[k-1], pts[k]
			x0, x1 := g.scale.chainage(p0.X), g.scale.chainage(p1.X)
			level := g.scale.level(p1.Y)
			if x1 > x0 {
				level = g.scale.level(p0.Y) + (level-g.scale.level(p0.Y))*(min(max(q.Chainage, x0), x1)-x0)/(x1-x0)
			}
			q.Ground, q.HasGround = level, true
			set++
		}
		name = g.chain.Layer
	}
	if set == 0 {
		return ""
	}
	return "; ground over it from layer " + name
}

func (d *drawn) add(t Track, took string) {
	d.r.Tracks = append(d.r.Tracks, t)
	d.r.Took = append(d.r.Took, took)
}

// levelKind is what the user said, or what a layer's name says.
func (d *drawn) levelKind(layer string) *line.LevelKind {
	if d.o.LevelKind != nil {
		return d.o.LevelKind
	}
	for _, w := range levelWords {
		if hasWord(layer, w.words) {
			k := w.kind
			return &k
		}
	}
	return nil
}

// rank puts the best first and keeps no more than can be told apart.
func (d *drawn) rank() {
	longest := 0.0
	length := func(t *Track) float64 { return t.Points[len(t.Points)-1].Chainage - t.Points[0].Chainage }
	for i := range d.r.Tracks {
		longest = max(longest, length(&d.r.Tracks[i]))
	}
	for i := range d.r.Tracks {
		if t := &d.r.Tracks[i]; longest > 0 {
			t.Score = min(t.Score*(0.6+0.4*length(t)/longest), 1)
		}
	}
	sort.SliceStable(d.r.Tracks, func(i, j int) bool { return d.r.Tracks[i].Score > d.r.Tracks[j].Score })
	if n := len(d.r.Tracks); n > mostDrawn {
		d.r.Left = append(d.r.Left, plural(n-mostDrawn, "line", "lines")+" that suit a long section less than those taken")
		d.r.Tracks = d.r.Tracks[:mostDrawn]
		d.r.Took = append(d.r.Took[:mostDrawn], "of "+plural(n, "candidate", "candidates")+" the best are offered")
	}
}

// leave counts a chain among what was left.
func (r *Reading) leave(c dxf.Chain, why string) {
	r.Left = append(r.Left, fmt.Sprintf("%s on layer %s, line %d: %s", strings.ToLower(c.Kind), c.Layer, c.Line, why))
}

// tellLeft shortens what was left to one sentence a sort, and adds what the format's reader left.
func (d *drawn) tellLeft() {
	d.r.Left = gathered(d.r.Left)
	var layers []string
	for l := range d.closed {
		layers = append(layers, l)
	}
	slices.Sort(layers)
	for _, l := range layers {
		d.r.Left = append(d.r.Left, plural(d.closed[l], "closed polyline", "closed polylines")+" on layer "+l+": an outline is no line of a pipe")
	}
	type kind struct{ kind, why string }
	counts, on := map[kind]int{}, map[kind][]string{}
	var order []kind
	for _, c := range d.f.Left {
		k := kind{c.Kind, c.Why}
		if counts[k] == 0 {
			order = append(order, k)
		}
		counts[k] += c.N
		if !slices.Contains(on[k], c.Layer) {
			on[k] = append(on[k], c.Layer)
		}
	}
	for _, k := range order {
		s := fmt.Sprintf("%s × %d on %s", k.kind, counts[k], strings.Join(shortList(on[k], 6), ", "))
		switch {
		case k.why != "":
			s += ": " + k.why
		case k.kind == "INSERT":
			s += ": what stands in blocks is not looked at"
		}
		d.r.Left = append(d.r.Left, s)
	}
}

// gathered joins sentences that differ in their place only.
func gathered(all []string) []string {
	count, first := map[string]int{}, map[string]string{}
	var order []string
	for _, s := range all {
		_, why, _ := strings.Cut(s, ": ")
		if count[why] == 0 {
			order, first[why] = append(order, why), s
		}
		count[why]++
	}
	var out []string
	for _, why := range order {
		s := first[why]
		if n := count[why]; n > 1 {
			s += fmt.Sprintf(" (and %d more like it)", n-1)
		}
		out = append(out, s)
	}
	return out
}

// nothing says why there is no track and what would help.
func (d *drawn) nothing() {
	switch {
	case d.asked:
		d.r.Ask = append(d.r.Ask, "plan-unit")
	case len(d.wants) > 0:
		slices.Sort(d.wants)
		names := shortList(slices.Compact(d.wants), 6)
		d.g.Add(document.Fault{What: "the scales of the drawn long section are not known", Understood: "flat lines on " + strings.Join(names, ", ") + "; " + d.scales.why,
			Hint: "say how many metres of chainage and of level one drawing unit is, and the level of the drawing's zero line (--scale-across, --scale-up, --datum): for a sheet in millimetres at 1:5000 across and 1:200 up that is 5 and 0.2"})
	default:
		d.g.Add(document.Fault{What: "the drawing holds no line of a pipe", Understood: strings.Join(shortList(d.r.Left, 4), "; "), Hint: "give a polyline with heights in plan, or a long section drawn as an open polyline"})
	}
}
