package deliver

import (
	"math"
	"sort"
	"strings"

	"obvert/engine/grade"
	"obvert/engine/sealing"
	"obvert/line"
	"obvert/study"
)

// view is one route of the line as it is drawn: everything on one chainage, and which words its things go by.
type view struct {
	r     *study.Result
	route int
	name  string
	from  float64 // chainage of its ends, m
	to    float64

	pts    []point
	valves []valveView
	marks  []place   // nodes and equipment
	pieces [][2]int  // ranges of pts by leg: first and one beyond the last
	shown  int       // index of the case whose pools and states are drawn; −1 without cases
	rack   *rackView // types by letter

	ground bool // ground is known somewhere

	// What every sheet asks for again is kept.
	wet   map[int][]stretch
	grade map[int]gradeLine
}

// point is a profile point on the route.
type point struct {
	ch, obvert, ground float64 // m
	dist               float64 // along the pipe from the run's first point, m
	hasGround          bool
	run, index         int
}

// valveView is a placed valve on the route.
type valveView struct {
	result *sealing.ValveResult
	index  int     // in Sealing.Valves
	ch     float64 // on the route, m
	no     string  // what it is called in drawings
	placed *line.Placed
	tube   *study.Tube
}

// place is something with a name at a chainage: a node or a piece of equipment.
type place struct {
	ch     float64
	level  float64 // of the obvert there, m
	name   string
	word   string // what it is
	kind   placeKind
	node   int
	facing float64 // +1: along the route
	closed bool
}

type placeKind uint8

const (
	placeNode placeKind = iota
	placeIsolating
	placeCheck
	placeSustaining
	placeReducing
	placeFlowControl
	placeScour
)

// newView gathers a route.
func newView(r *study.Result, route int, names map[string]string, rack *rackView) *view {
	l := r.Line
	v := &view{r: r, route: route, name: l.Routes[route].Name, shown: shownCase(r), rack: rack, wet: map[int][]stretch{}, grade: map[int]gradeLine{}}
	v.from, v.to = math.Inf(1), math.Inf(-1)
	for _, leg := range l.Routes[route].Legs {
		v.addLeg(leg, names)
	}
	if len(v.pts) == 0 {
		v.from, v.to = 0, 0
	}
	sort.SliceStable(v.valves, func(i, j int) bool { return v.valves[i].ch < v.valves[j].ch })
	sort.SliceStable(v.marks, func(i, j int) bool { return v.marks[i].ch < v.marks[j].ch })
	return v
}

func (v *view) addLeg(leg line.Leg, names map[string]string) {
	run := &v.r.Line.Runs[leg.Run]
	first := len(v.pts)
	for k := range run.Points {
		i := k
		if leg.Sign < 0 {
			i = len(run.Points) - 1 - k
		}
		p := run.Points[i]
		q := point{ch: leg.Offset + leg.Sign*p.Chainage, obvert: p.Obvert, ground: p.Ground, dist: p.Distance, hasGround: p.HasGround, run: leg.Run, index: i}
		v.pts = append(v.pts, q)
		v.from, v.to = min(v.from, q.ch), max(v.to, q.ch)
		v.ground = v.ground || q.hasGround
	}
	v.pieces = append(v.pieces, [2]int{first, len(v.pts)})
	v.addNodes(run, leg, first)
	for i := range run.Equipment {
		e := &run.Equipment[i]
		ch := leg.Offset + leg.Sign*e.Chainage
		kind, word := equipmentKind(e.Kind)
		f := leg.Sign
		if e.Reverse {
			f = -f
		}
		v.marks = append(v.marks, place{ch: ch, level: v.obvertAt(ch), name: e.Name, word: word, kind: kind, node: -1, facing: f, closed: v.closed(leg.Run, i, e)})
	}
	for i := range v.r.Sealing.Valves {
		s := &v.r.Sealing.Valves[i]
		if s.Run != leg.Run {
			continue
		}
		q := valveView{result: s, index: i, ch: leg.Offset + leg.Sign*s.Chainage, no: names[s.Name]}
		if s.Placed >= 0 && s.Placed < len(run.Placed) {
			q.placed = &run.Placed[s.Placed]
		}
		for k := range v.r.Tubes {
			if v.r.Tubes[k].Valve == i {
				q.tube = &v.r.Tubes[k]
			}
		}
		v.valves = append(v.valves, q)
	}
}

// addNodes adds the nodes at a leg's ends, each once.
func (v *view) addNodes(run *line.Run, leg line.Leg, first int) {
	if len(v.pts) == first {
		return
	}
	nodes := [2]int{run.From, run.To}
	if leg.Sign < 0 {
		nodes = [2]int{run.To, run.From}
	}
	for k, n := range nodes {
		p := v.pts[first]
		if k == 1 {
			p = v.pts[len(v.pts)-1]
		}
		if n < 0 || n >= len(v.r.Line.Nodes) {
			continue
		}
		known := false
		for _, m := range v.marks {
			known = known || m.kind == placeNode && m.node == n && math.Abs(m.ch-p.ch) < 1e-6
		}
		if !known {
			v.marks = append(v.marks, place{ch: p.ch, level: p.obvert, name: v.r.Line.Nodes[n].Name, word: nodeWord(&v.r.Line.Nodes[n]), kind: placeNode, node: n, facing: 1})
		}
	}
}

// closed tells whether an isolating valve is shut in the case shown.
func (v *view) closed(run, i int, e *line.Equipment) bool {
	if v.shown >= 0 {
		if c := v.r.Line.Cases[v.shown].Closed; run < len(c) && i < len(c[run]) {
			return c[run][i]
		}
	}
	return e.Closed
}

// obvertAt is the obvert's level at a chainage of the route, by the straight line between profile points.
func (v *view) obvertAt(ch float64) float64 {
	return v.along(ch, func(p point) float64 { return p.obvert })
}

// along interpolates a property of the points; the ends hold beyond the ends.
func (v *view) along(ch float64, f func(point) float64) float64 {
	i := sort.Search(len(v.pts), func(i int) bool { return v.pts[i].ch >= ch })
	switch {
	case len(v.pts) == 0:
		return 0
	case i == 0:
		return f(v.pts[0])
	case i == len(v.pts):
		return f(v.pts[i-1])
	}
	a, b := v.pts[i-1], v.pts[i]
	if b.ch == a.ch {
		return f(b)
	}
	t := (ch - a.ch) / (b.ch - a.ch)
	return f(a) + t*(f(b)-f(a))
}

// groundAt is the ground at a chainage of the route, where it is known on both sidev.
func (v *view) groundAt(ch float64) (level float64, known bool) {
	i := sort.Search(len(v.pts), func(i int) bool { return v.pts[i].ch >= ch-1e-6 })
	switch {
	case i == len(v.pts):
		return 0, false
	case v.pts[i].ch-ch < 1e-6:
		return v.pts[i].ground, v.pts[i].hasGround
	case i == 0:
		return 0, false
	}
	return v.along(ch, func(p point) float64 { return p.ground }), v.pts[i-1].hasGround && v.pts[i].hasGround
}

// pipeLength is the length of pipe between two chainages of the route, along the slope.
func (v *view) pipeLength(a, b float64) float64 {
	sum := 0.0
	for _, leg := range v.pieces {
		for i := leg[0] + 1; i < leg[1]; i++ {
			p, q := v.pts[i-1], v.pts[i]
			d := math.Abs(q.dist - p.dist)
			switch lo, hi := max(a, p.ch), min(b, q.ch); {
			case q.ch > p.ch && hi > lo:
				sum += d * (hi - lo) / (q.ch - p.ch)
			case q.ch == p.ch && q.ch > a && q.ch < b: // a vertical step
				sum += d
			}
		}
	}
	return sum
}

// routeSpan turns a stretch of a run into stretches of the route.
func (v *view) routeSpan(run int, from, to float64) [][2]float64 {
	var out [][2]float64
	for _, leg := range v.r.Line.Routes[v.route].Legs {
		if leg.Run == run {
			a, b := leg.Offset+leg.Sign*from, leg.Offset+leg.Sign*to
			out = append(out, [2]float64{min(a, b), max(a, b)})
		}
	}
	return out
}

// gradeOf is the state of the line in a case, nil where there is none.
func gradeOf(r *study.Result, c int) *grade.Result {
	for i := range r.Grades {
		if r.Grades[i].Case == c {
			return &r.Grades[i]
		}
	}
	return nil
}

// runState is a run's state in a case with as many heads as points, else nil.
func (v *view) runState(c, run int) *grade.RunState {
	g := gradeOf(v.r, c)
	if g == nil || run >= len(g.Runs) {
		return nil
	}
	s := &g.Runs[run]
	n := len(v.r.Line.Runs[run].Points)
	if len(s.Head) != n || len(s.PressureHead) != n || len(s.Wetness) != n {
		return nil
	}
	return s
}

// shownCase is the case in which the drawing shows pools and states: the standing case in which most valves are not tight,
// the first of equals; without a standing case, the first case.
func shownCase(r *study.Result) int {
	if r.Line == nil || len(r.Line.Cases) == 0 {
		return -1
	}
	best, most := -1, -1
	for i, c := range r.Line.Cases {
		if c.Kind != line.Standing {
			continue
		}
		bad := 0
		for _, s := range r.Sealing.Valves {
			if i < len(s.Cells) && s.Cells[i].State == sealing.Drips {
				bad++
			}
		}
		if bad > most {
			best, most = i, bad
		}
	}
	if best < 0 {
		best = 0
	}
	return best
}

// cell is a valve's cell in a case; ok is false where there is none.
func (q *valveView) cell(c int) (sealing.Cell, bool) {
	if c < 0 || c >= len(q.result.Cells) {
		return sealing.Cell{State: sealing.Unrated}, false
	}
	return q.result.Cells[c], true
}

// caseName splits a case's name at its first comma: what the line does, and how.
func caseName(c line.Case) (head, rest string) {
	head, rest, _ = strings.Cut(c.Name, ",")
	return strings.TrimSpace(head), strings.TrimSpace(rest)
}

func nodeWord(n *line.Node) string {
	switch n.Kind {
	case line.Offtake:
		return "off-take"
	case line.Tank:
		return "tank"
	case line.Station:
		w := "pumping station"
		if n.Station != nil {
			switch n.Station.Check {
			case line.CheckShared:
				w += ", one check valve"
			case line.CheckEach:
				w += ", check valves"
			case line.CheckNone:
				w += ", no check valve"
			}
		}
		return w
	case line.Outfall:
		return "outfall"
	case line.DeadEnd:
		return "closed end"
	}
	return "junction"
}

func equipmentKind(k line.EquipmentKind) (placeKind, string) {
	switch k {
	case line.IsolatingValve:
		return placeIsolating, "isolating valve"
	case line.CheckValve:
		return placeCheck, "check valve"
	case line.SustainingValve:
		return placeSustaining, "sustaining valve"
	case line.ReducingValve:
		return placeReducing, "reducing valve"
	case line.FlowControlValve:
		return placeFlowControl, "flow-control valve"
	}
	return placeScour, "scour"
}

// widestNumber is the widest name that a column of the drawings holds.
const widestNumber = 46 // px, at faceNumber

// valveNumbers gives every placed valve the name it goes by in drawings: its own where all are short, else a number in the
// order of the routes. named tells whether they are numbers.
func valveNumbers(r *study.Result) (names map[string]string, named bool) {
	names = map[string]string{}
	for _, s := range r.Sealing.Valves {
		names[s.Name] = s.Name
		named = named || faceNumber.width(s.Name) > widestNumber || s.Name == ""
	}
	if !named {
		return names, false
	}
	type at struct {
		name  string
		route int
		ch    float64
	}
	var order []at
	for _, s := range r.Sealing.Valves {
		a := at{s.Name, len(r.Line.Routes), s.Chainage}
	search:
		for i, route := range r.Line.Routes {
			for _, leg := range route.Legs {
				if leg.Run == s.Run {
					a.route, a.ch = i, leg.Offset+leg.Sign*s.Chainage
					break search
				}
			}
		}
		order = append(order, a)
	}
	sort.SliceStable(order, func(i, j int) bool {
		if order[i].route != order[j].route {
			return order[i].route < order[j].route
		}
		return order[i].ch < order[j].ch
	})
	for i, a := range order {
		names[a.name] = grouped(float64(i + 1))
	}
	return names, true
}

// relief is the pipe's obverts between the bounds of a sheet, places in x and levels high px or mm from the lowest to the highest: what stands out in it is
// worth a figure.
func (v *view) relief(holds func(float64) bool, x func(float64) float64, high float64) []pt {
	lo, hi := math.Inf(1), math.Inf(-1)
	var trace []pt
	for _, p := range v.pts {
		if holds(p.ch) {
			lo, hi = min(lo, p.obvert), max(hi, p.obvert)
			trace = append(trace, pt{x(p.ch), p.obvert})
		}
	}
	for i := range trace {
		trace[i].y = (trace[i].y - lo) * high / max(hi-lo, 0.5)
	}
	return trace
}

// levels shows every level of pipe and ground on a sheet to see: at its ends and at the points between.
func (v *view) levels(from, to float64, holds func(float64) bool, see func(float64)) {
	for _, ch := range []float64{from, to} {
		see(v.obvertAt(ch))
		see(v.obvertAt(ch) - v.boreAt(ch))
	}
	for _, p := range v.pts {
		if !holds(p.ch) {
			continue
		}
		see(p.obvert)
		see(p.obvert - v.boreAt(p.ch))
		if p.hasGround {
			see(p.ground)
		}
	}
}
