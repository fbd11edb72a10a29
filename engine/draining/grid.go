package draining

import (
	"cmp"
	"math"
	"slices"

	"obvert/line"
)

// grid is the whole line cut at every profile point, section border, piece of equipment, valve and opening. Where a section ends or
// equipment stands there are two vertices with nothing between them, so that each vertex has one bore. Nodes have a vertex of their own.
type grid struct {
	l *line.Line
	c *line.Case

	obvert, invert []float64 // m, by vertex
	at             []line.Place
	first          []int // by run: its first vertex; one more entry for the end of the last run's
	segs           []segment
	links          []link
	next           [][]int32 // by vertex: neighbours through open ways
	source         []bool    // by vertex: air can come in here
	tanks          []basin
	valve, opening []int // by valve and opening of the input: vertex
	room           []int32
}

// segment is a straight length of pipe between two vertices.
type segment struct {
	a, b             int // vertices, b = a + 1
	run, section     int
	length           float64 // m of pipe
	bore             float64 // m
	invert1, invert2 float64 // m, at a and b
	obvert1, obvert2 float64 // m
}

// link is a way that water passes in one direction: a check valve, idle pumps.
type link struct {
	from, to int // vertices
	name     string
}

// basin is an open water surface at a vertex.
type basin struct {
	vertex, node int
	area         float64 // m²; +Inf keeps its level
	level        float64 // m, at the start
	highest      float64 // m
	inflow       float64 // m³/s
	name         string
}

// cut is a place at which a run gets vertices.
type cut struct {
	chainage float64
	kind     int // order at one chainage
	index    int
}

const (
	cutPoint = iota
	cutBorder
	cutValve
	cutOpening
	cutEquipment
)

func newGrid(in *Input) *grid {
	g := &grid{l: in.Line, c: &in.Line.Cases[in.Case], valve: make([]int, len(in.Valves)), opening: make([]int, len(in.Openings))}
	cuts := make([][]cut, len(g.l.Runs))
	for i, v := range in.Valves {
		cuts[v.Run] = append(cuts[v.Run], cut{v.Chainage, cutValve, i})
	}
	for i, o := range in.Openings {
		cuts[o.Run] = append(cuts[o.Run], cut{o.Chainage, cutOpening, i})
	}
	g.makeRoom(len(in.Valves) + len(in.Openings))
	for i := range g.l.Runs {
		g.lay(i, cuts[i])
	}
	g.first = append(g.first, len(g.obvert))
	g.join(in)
	for i, v := range in.Valves {
		if v.AdmitsAir && !v.Isolated {
			g.source[g.valve[i]] = true
		}
	}
	return g
}

// makeRoom reserves what the vertices are likely to take.
func (g *grid) makeRoom(n int) {
	n += len(g.l.Nodes)
	for i := range g.l.Runs {
		r := &g.l.Runs[i]
		n += len(r.Points) + len(r.Sections) + 2*len(r.Equipment)
	}
	g.obvert, g.invert, g.at = make([]float64, 0, n), make([]float64, 0, n), make([]line.Place, 0, n)
	g.next, g.source, g.segs = make([][]int32, 0, n), make([]bool, 0, n), make([]segment, 0, n)
}

// lay cuts a run.
func (g *grid) lay(i int, cuts []cut) {
	run := &g.l.Runs[i]
	for k, p := range run.Points {
		cuts = append(cuts, cut{p.Chainage, cutPoint, k})
	}
	for k := 1; k < len(run.Sections); k++ {
		cuts = append(cuts, cut{run.Sections[k].From, cutBorder, k})
	}
	for k, e := range run.Equipment {
		cuts = append(cuts, cut{e.Chainage, cutEquipment, k})
	}
	slices.SortStableFunc(cuts, func(a, b cut) int {
		return cmp.Or(cmp.Compare(a.chainage, b.chainage), cmp.Compare(a.kind, b.kind))
	})
	g.first = append(g.first, len(g.obvert))
	w := layer{grid: g, i: i, run: run, last: -1}
	for _, c := range cuts {
		w.cut(c)
	}
}

// layer lays the vertices of one run.
type layer struct {
	*grid
	i, section int
	run        *line.Run
	passed     int     // profile points passed
	last       int     // the last vertex, −1 before the first
	distance   float64 // m of pipe at it
}

// cut lays what a cut asks for.
func (w *layer) cut(c cut) {
	if c.kind == cutPoint {
		p := w.run.Points[c.index]
		w.vertex(c.chainage, p.Obvert, p.Distance)
		w.passed = c.index + 1
		return
	}
	if !w.ensure(c.chainage) {
		return
	}
	here := w.last
	switch c.kind {
	case cutBorder:
		w.section = c.index
		w.vertex(c.chainage, w.obvert[here], w.distance)
		w.tie(here, w.last)
	case cutValve:
		w.grid.valve[c.index] = w.highest(c.chainage)
	case cutOpening:
		w.grid.opening[c.index] = here
	case cutEquipment:
		w.vertex(c.chainage, w.obvert[here], w.distance)
		w.pass(here, c.index)
	}
}

// ensure makes sure that the last vertex stands at a chainage; false outside the profile.
func (w *layer) ensure(chainage float64) bool {
	if w.last >= 0 && w.at[w.last].Chainage == chainage {
		return true
	}
	if w.passed == 0 || w.passed == len(w.run.Points) {
		return false
	}
	a, b := w.run.Points[w.passed-1], w.run.Points[w.passed]
	f := (chainage - a.Chainage) / (b.Chainage - a.Chainage)
	w.vertex(chainage, a.Obvert+f*(b.Obvert-a.Obvert), a.Distance+f*(b.Distance-a.Distance))
	return true
}

// vertex lays a vertex and, where pipe leads to it, the segment before it.
func (w *layer) vertex(chainage, obvert, distance float64) {
	g, p, n := w.grid, w.last, len(w.obvert)
	bore := w.run.Sections[w.section].Bore
	g.obvert, g.invert = append(g.obvert, obvert), append(g.invert, obvert-bore)
	g.at = append(g.at, line.Place{Run: w.i, Chainage: chainage})
	g.next, g.source = append(g.next, g.pair()), append(g.source, false)
	if p >= 0 {
		length := max(distance-w.distance, math.Abs(obvert-g.obvert[p]))
		if length > 0 {
			g.segs = append(g.segs, segment{a: p, b: n, run: w.i, section: w.section, length: length, bore: bore,
				invert1: g.obvert[p] - bore, invert2: obvert - bore, obvert1: g.obvert[p], obvert2: obvert})
			g.tie(p, n)
		}
	}
	w.last, w.distance = n, distance
}

// highest is the highest of the vertices at a chainage that were laid last: a valve on a vertical step stands on top.
func (w *layer) highest(chainage float64) int {
	best := w.last
	for i := best - 1; i >= w.first[w.i] && (w.at[i].Chainage == chainage || w.at[i].Run < 0); i-- {
		if w.at[i].Run >= 0 && w.obvert[i] > w.obvert[best] {
			best = i
		}
	}
	return best
}

// pass opens the way through a piece of equipment between a vertex and the next, as far as it has one.
func (w *layer) pass(here, index int) {
	e := &w.run.Equipment[index]
	up, down := here, w.last
	if e.Reverse {
		up, down = down, up
	}
	switch {
	case w.c.Closed != nil && w.c.Closed[w.i] != nil && w.c.Closed[w.i][index]:
	case e.Kind == line.CheckValve, e.Kind == line.ReducingValve:
		w.links = append(w.links, link{up, down, e.Name})
	case e.Kind == line.SustainingValve:
		w.links = append(w.links, link{down, up, e.Name})
		gate := w.bare(w.obvert[up], w.obvert[up]+e.Setting) // what stands higher than its setting passes it
		w.tie(up, gate)
		w.tie(gate, down)
	default:
		w.tie(up, down)
	}
}

// bare adds a vertex without pipe, of no run.
func (g *grid) bare(obvert, invert float64) int {
	g.obvert, g.invert = append(g.obvert, obvert), append(g.invert, invert)
	g.at = append(g.at, line.Place{Run: -1})
	g.next, g.source = append(g.next, g.pair()), append(g.source, false)
	return len(g.obvert) - 1
}

// pair is an empty list with room for the two neighbours that most vertices have.
func (g *grid) pair() []int32 {
	if len(g.room) < 2 {
		g.room = make([]int32, 4096)
	}
	p := g.room[:0:2]
	g.room = g.room[2:]
	return p
}

// tie opens the way between two vertices.
func (g *grid) tie(a, b int) {
	g.next[a], g.next[b] = append(g.next[a], int32(b)), append(g.next[b], int32(a))
}

// join gives every node its vertex and ties the ends of runs to it.
func (g *grid) join(in *Input) {
	begins, ends := make([][]int, len(g.l.Nodes)), make([][]int, len(g.l.Nodes))
	for i := range g.l.Runs {
		begins[g.l.Runs[i].From] = append(begins[g.l.Runs[i].From], g.first[i])
		ends[g.l.Runs[i].To] = append(ends[g.l.Runs[i].To], g.lastOf(i))
	}
	for n := range g.l.Nodes {
		nd := &g.l.Nodes[n]
		switch st := nd.Station; {
		case nd.Kind == line.Tank:
			g.standing(in, n, append(begins[n], ends[n]...))
		case nd.Kind == line.Outfall:
			for _, v := range append(begins[n], ends[n]...) {
				g.source[v] = true
			}
		case st != nil && st.HasSump:
			out := g.meet(append(begins[n], ends[n]...))
			sump := g.bare(math.Inf(1), math.Inf(-1))
			g.source[sump] = true
			g.tanks = append(g.tanks, basin{vertex: sump, node: n, area: math.Inf(1), level: st.SuctionLevel, highest: math.Inf(1), name: "the sump of " + nd.Name})
			g.through(sump, out, nd)
		case st != nil:
			g.through(g.meet(ends[n]), g.meet(begins[n]), nd)
		default:
			g.meet(append(begins[n], ends[n]...))
		}
	}
}

// lastOf is the last vertex of a run that stands on it.
func (g *grid) lastOf(run int) int {
	end := len(g.obvert)
	if run+1 < len(g.first) {
		end = g.first[run+1]
	}
	for v := end - 1; ; v-- {
		if g.at[v].Run == run {
			return v
		}
	}
}

// through opens the way through a station's pumps at rest.
func (g *grid) through(from, to int, nd *line.Node) {
	switch {
	case from < 0 || to < 0:
	case nd.Station.Check == line.CheckNone:
		g.tie(from, to)
	default:
		g.links = append(g.links, link{from, to, "the check valves of " + nd.Name})
	}
}

// meet ties run ends together at a vertex; −1 without any.
func (g *grid) meet(ends []int) int {
	switch len(ends) {
	case 0:
		return -1
	case 1:
		return ends[0]
	}
	low, high := math.Inf(1), math.Inf(-1)
	for _, v := range ends {
		low, high = min(low, g.invert[v]), max(high, g.obvert[v])
	}
	n := g.bare(high, low)
	for _, v := range ends {
		g.tie(n, v)
	}
	return n
}

// standing ties run ends to a tank's water.
func (g *grid) standing(in *Input, n int, ends []int) {
	nd := &g.l.Nodes[n]
	t := basin{node: n, area: nd.Tank.Area, level: nd.Tank.Level, highest: nd.Tank.Highest, name: nd.Name}
	if g.c.Level != nil {
		t.level = g.c.Level[n]
	}
	if t.area == 0 {
		t.area = math.Inf(1)
	}
	if in.Inflow != nil {
		t.inflow = in.Inflow[n]
	}
	t.vertex = g.bare(math.Inf(1), math.Inf(-1))
	g.source[t.vertex] = true
	for _, v := range ends {
		g.tie(t.vertex, v)
	}
	g.tanks = append(g.tanks, t)
}
