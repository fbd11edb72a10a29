package grade

import (
	"fmt"
	"math"

	"obvert/line"
)

// still finds the levels of standing water on the grid points of the whole line, or of some of its runs.
type still struct {
	net    *Net
	l      *line.Line
	c      *line.Case
	runs   []bool // runs that take part; nil for all
	level  []float64
	via    []source                // what governs the level of each point
	air    []bool                  // by vertex: air has reached it
	place  []place                 // by vertex
	ends   map[int][]int           // vertices of run ends by solver's node
	extra  []seed                  // nodes whose head is known from a flow
	apart  func(run, seg int) bool // trapped air parts the water there; nil without any
	vapour float64                 // m, gauge head at which water boils
	push   []float64               // by node: head that the running pumps of a station give without flow
}

// place of a vertex: its run and grid index.
type place struct{ run, k int }

// source is what governs a level: a barrier or a control valve (a vertex), or an outlet (a line node).
type source struct{ vertex, node int }

// seed is an outlet: water at a vertex stands at this level at most.
type seed struct {
	vertex int
	level  float64
	by     source
}

func newStill(in Input, runs []bool) *still {
	n := in.Net
	s := &still{net: n, l: n.Line, c: in.kase(), runs: runs, ends: map[int][]int{}, vapour: n.Line.Site.VapourHead()}
	s.level, s.via = make([]float64, n.points), make([]source, n.points)
	s.air, s.place = make([]bool, n.points), make([]place, n.points)
	s.push = make([]float64, len(n.Line.Nodes))
	for i, g := range n.grids {
		for k := range g.obvert {
			s.place[g.vertex+k] = place{i, k}
			s.air[g.vertex+k] = g.entry[k]
		}
		if !s.takes(i) {
			continue
		}
		s.ends[n.begin(i)] = append(s.ends[n.begin(i)], g.vertex)
		s.ends[n.end(i)] = append(s.ends[n.end(i)], g.vertex+g.last())
		for _, e := range [2]struct{ node, k int }{{n.Line.Runs[i].From, 0}, {n.Line.Runs[i].To, g.last()}} {
			if openToAir(s.l, s.c, e.node, g.obvert[e.k]) || s.fallsIn(e.node, i, g.obvert[e.k]) {
				s.air[g.vertex+e.k] = true
			}
		}
	}
	return s
}

// fallsIn reports whether a run discharges over the top of a tank, above its water.
func (s *still) fallsIn(node, run int, obvert float64) bool {
	nd := &s.l.Nodes[node]
	return nd.Kind == line.Tank && nd.Tank.Inlet == line.OverTheTop && s.l.Runs[run].To == node && s.c.Level[node] < obvert
}

func (s *still) takes(run int) bool { return s.runs == nil || s.runs[run] }

// barrier is the level that water must reach to pass a vertex.
func (s *still) barrier(v int) float64 {
	p := s.place[v]
	inv := s.net.grids[p.run].invert[p.k]
	if s.air[v] {
		return inv
	}
	return inv + s.vapour
}

func (s *still) obvert(v int) float64 {
	p := s.place[v]
	return s.net.grids[p.run].obvert[p.k]
}

func (s *still) invert(v int) float64 {
	p := s.place[v]
	return s.net.grids[p.run].invert[p.k]
}

// outlets are the places where standing water can leave the line.
func (s *still) outlets() []seed {
	var seeds []seed
	for node, nd := range s.l.Nodes {
		switch {
		case nd.Kind == line.Tank:
			for _, v := range s.ends[node] {
				seeds = append(seeds, seed{v, s.c.Level[node], source{-1, node}})
			}
		case nd.Kind == line.Outfall:
			for _, v := range s.ends[node] {
				seeds = append(seeds, seed{v, s.invert(v), source{-1, node}})
			}
		case nd.Kind == line.Station && nd.Station.HasSump && nd.Station.Check == line.CheckNone:
			for _, v := range s.ends[node] {
				seeds = append(seeds, seed{v, nd.Station.SuctionLevel + s.push[node], source{-1, node}})
			}
		}
	}
	return append(seeds, s.extra...)
}

// front is the priority queue of Dijkstra's method: a heap by level.
type front []seed

func (f front) less(i, j int) bool {
	return f[i].level < f[j].level || f[i].level == f[j].level && f[i].vertex < f[j].vertex
}

func (f *front) push(x seed) {
	*f = append(*f, x)
	q := *f
	for i := len(q) - 1; i > 0; {
		up := (i - 1) / 2
		if !q.less(i, up) {
			return
		}
		q[i], q[up] = q[up], q[i]
		i = up
	}
}

func (f *front) pop() seed {
	q := *f
	top, n := q[0], len(q)-1
	q[0] = q[n]
	q = q[:n]
	*f = q
	for i := 0; ; {
		c := 2*i + 1
		if c >= n {
			return top
		}
		if c+1 < n && q.less(c+1, c) {
			c++
		}
		if !q.less(c, i) {
			return top
		}
		q[i], q[c] = q[c], q[i]
		i = c
	}
}

// settle finds all levels for the air as it has spread.
func (s *still) settle() {
	for v := range s.level {
		s.level[v] = math.Inf(1)
	}
	// What is reached at the level in hand needs no queue: none can be lower.
	var queue front
	var flood []seed
	now := math.Inf(-1)
	offer := func(v int, level float64, by source) {
		if math.IsInf(level, 1) {
			return
		}
		if b := s.barrier(v); b > level {
			level, by = b, source{v, -1}
		}
		if level < s.level[v] {
			s.level[v], s.via[v] = level, by
			if level == now {
				flood = append(flood, seed{v, level, by})
			} else {
				queue.push(seed{v, level, by})
			}
		}
	}
	for _, o := range s.outlets() {
		offer(o.vertex, o.level, o.by)
	}
	var at seed
	next := func(v int) {
		level, by := s.control(v, at.vertex, at.level, at.by)
		offer(v, level, by)
	}
	for len(flood) > 0 || len(queue) > 0 {
		if n := len(flood); n > 0 {
			at, flood = flood[n-1], flood[:n-1]
		} else {
			at = queue.pop()
			now = at.level
		}
		if at.level <= s.level[at.vertex] {
			s.neighbours(at.vertex, false, next)
		}
	}
}

// control is the level to which water at one vertex can fall by flowing to its neighbour, which stands at a level, where a sustaining or a
// reducing valve may part the two; Inf where it cannot. Both are taken to shut tight: a sustaining valve holds what stands before it at its setting; a
// reducing valve lets nothing back, and holds what stands before it while the water behind it stands at its setting or above.
func (s *still) control(v, to int, level float64, by source) (float64, source) {
	e, along := s.controlBetween(v, to)
	if e == nil {
		return level, by
	}
	setting := s.setting(v, e)
	switch {
	case e.Kind == line.SustainingValve && along && setting > level:
		return setting, source{v, -1}
	case e.Kind == line.ReducingValve && (!along || level >= setting-headTolerance):
		return math.Inf(1), by
	}
	return level, by
}

// controlBetween is the sustaining or reducing valve between two neighbours, if any, and whether water flows from the first to the second as the
// valve faces.
func (s *still) controlBetween(v, to int) (e *line.Equipment, along bool) {
	p, q := s.place[v], s.place[to]
	if p.run != q.run || p.k-q.k != 1 && q.k-p.k != 1 {
		return nil, false
	}
	sg := &s.net.grids[p.run].seg[min(p.k, q.k)]
	if sg.equip < 0 {
		return nil, false
	}
	e = &s.l.Runs[p.run].Equipment[sg.equip]
	if e.Kind != line.SustainingValve && e.Kind != line.ReducingValve {
		return nil, false
	}
	return e, q.k > p.k != e.Reverse
}

// setting is the level at which a control valve beside a vertex is set.
func (s *still) setting(v int, e *line.Equipment) float64 { return s.obvert(v) + e.Setting }

// gate is how water may pass a segment.
func (s *still) gate(run, seg int) gate {
	if s.apart != nil && s.apart(run, seg) {
		return passNone
	}
	return gateIn(s.c, run, s.net.grids[run].seg[seg])
}

// neighbours calls f for every vertex from which water may flow to v; with joined, for every one that is connected at all by an
// open way in either direction.
func (s *still) neighbours(v int, joined bool, f func(int)) {
	p := s.place[v]
	g := s.net.grids[p.run]
	if p.k > 0 {
		if gt := s.gate(p.run, p.k-1); gt == passBoth || gt == passForward || joined && gt == passBackward {
			f(v - 1)
		}
	}
	if p.k < g.last() {
		if gt := s.gate(p.run, p.k); gt == passBoth || gt == passBackward || joined && gt == passForward {
			f(v + 1)
		}
	}
	if p.k == 0 {
		s.across(s.net.begin(p.run), v, joined, f)
	}
	if p.k == g.last() {
		s.across(s.net.end(p.run), v, joined, f)
	}
}

// across goes through a node to the other run ends there, and through the idle pumps of a station.
func (s *still) across(node, v int, joined bool, f func(int)) {
	if node < len(s.l.Nodes) && (s.l.Nodes[node].Kind == line.Tank || s.l.Nodes[node].Kind == line.Outfall) {
		return // open water parts the runs
	}
	for _, w := range s.ends[node] {
		if w != v {
			f(w)
		}
	}
	for i := range s.l.Nodes {
		st := s.l.Nodes[i].Station
		if st == nil || st.HasSump {
			continue
		}
		if node == i { // discharge side: water comes from the suction side through the check valves
			for _, w := range s.ends[s.net.suction[i]] {
				f(w)
			}
		}
		if node == s.net.suction[i] && (st.Check == line.CheckNone || joined) {
			for _, w := range s.ends[i] {
				f(w)
			}
		}
	}
}

// spread lets air in from every entry that stands above its water's grade line, along all pipe above it, and reports whether it
// went anywhere. A crest that it reaches and lays dry holds back the water behind it, so it goes on only through what stands above that crest's
// invert; whatever else is in its reach shows when the levels are settled anew.
func (s *still) spread() bool {
	type reach struct {
		v     int
		crest float64 // highest invert laid dry on the way
	}
	var queue []reach
	for v, a := range s.air {
		if a && s.takes(s.place[v].run) && s.level[v] < s.obvert(v)-headTolerance {
			queue = append(queue, reach{v, math.Inf(-1)})
		}
	}
	grew := false
	for len(queue) > 0 {
		at := queue[len(queue)-1]
		queue = queue[:len(queue)-1]
		s.neighbours(at.v, true, func(w int) {
			if !s.air[w] && max(s.level[w], at.crest) < s.obvert(w)-headTolerance {
				s.air[w] = true
				grew = true
				queue = append(queue, reach{w, max(at.crest, s.invert(w))})
			}
		})
	}
	return grew
}

// solve finds levels and air together: air only spreads, levels then only rise.
func (s *still) solve() {
	s.settle()
	for s.spread() {
		s.settle()
	}
	s.closeIn()
}

// closeIn gives bodies that have no way out the level at which their highest point just stands full, or the level of what feeds them through check valves and
// pumps where that is higher.
func (s *still) closeIn() {
	done := make([]bool, len(s.level))
	for v := range s.level {
		if done[v] || !math.IsInf(s.level[v], 1) || !s.takes(s.place[v].run) {
			continue
		}
		body, top := []int{v}, v
		done[v] = true
		for i := 0; i < len(body); i++ {
			s.neighbours(body[i], true, func(w int) {
				if !done[w] && math.IsInf(s.level[w], 1) {
					done[w] = true
					body = append(body, w)
					if s.obvert(w) > s.obvert(top) {
						top = w
					}
				}
			})
		}
		level, by := s.obvert(top), source{-1, -1}
		for _, w := range body {
			s.feeds(w, func(fed float64, from source) {
				if fed > level {
					level, by = fed, from
				}
			})
		}
		for _, w := range body {
			s.level[w], s.via[w] = level, by
		}
	}
}

// feeds calls f for every level from which water may flow to a vertex one way: through a check valve, or through a station's pumps.
func (s *still) feeds(v int, f func(level float64, by source)) {
	p := s.place[v]
	g, node := s.net.grids[p.run], -1
	switch {
	case p.k == 0:
		node = s.net.begin(p.run)
	case p.k == g.last():
		node = s.net.end(p.run)
	}
	lift := 0.0
	if node >= 0 && node < len(s.l.Nodes) && s.l.Nodes[node].Station != nil {
		lift = s.push[node]
		if st := s.l.Nodes[node].Station; st.HasSump {
			f(st.SuctionLevel+lift, source{-1, node})
		}
	}
	s.neighbours(v, true, func(w int) {
		if !s.flowsTo(w, v) {
			return
		}
		if math.IsInf(s.level[w], 1) {
			return
		}
		if q := s.place[w]; q.run != p.run && s.net.end(q.run) != node && s.net.begin(q.run) != node {
			f(s.level[w]+lift, s.via[w]) // across the pumps
			return
		}
		e, along := s.controlBetween(w, v)
		switch {
		case e == nil || e.Kind == line.SustainingValve:
			f(s.level[w], s.via[w])
		case along && s.setting(v, e) < s.level[w]:
			f(s.setting(v, e), source{v, -1})
		case along:
			f(s.level[w], s.via[w])
		}
	})
}

func (s *still) wetness(v int) Wetness {
	return wetnessAt(s.level[v], s.obvert(v), s.invert(v), s.barrier(v), s.air[v])
}

func wetnessAt(level, obvert, invert, barrier float64, air bool) Wetness {
	switch {
	case level >= obvert-headTolerance:
		return Full
	case !air && level <= barrier+headTolerance:
		return Vapour
	case !air:
		return Suction
	case level > invert+headTolerance:
		return Part
	}
	return Empty
}

// fineOf is the state of a run on its grid.
func (s *still) fineOf(run int) fine {
	g := s.net.grids[run]
	n := len(g.obvert)
	fn := fine{grid: g, head: make([]float64, n), wet: make([]Wetness, n), level: s.level[g.vertex : g.vertex+n], air: s.air[g.vertex : g.vertex+n], vapour: s.l.Site.VapourHead()}
	for k := range n {
		v := g.vertex + k
		fn.wet[k], fn.head[k] = s.wetness(v), s.level[v]
		if fn.wet[k] == Empty {
			fn.head[k] = g.obvert[k]
		}
	}
	return fn
}

// rest solves a standing case.
func rest(in Input) (*Result, error) {
	s := newStill(in, nil)
	for _, lk := range in.Leaks {
		g := in.Net.grids[lk.Run]
		v := g.vertex + g.top(lk.Chainage)
		s.air[v] = true
		s.extra = append(s.extra, seed{v, lk.Seat, source{-1, -1}})
	}
	s.solve()
	r := &Result{Case: in.Case, Status: "at rest"}
	pool := s.pools(r)
	r.fine = make([]fine, len(s.l.Runs))
	r.Runs = make([]RunState, len(s.l.Runs))
	for i, g := range s.net.grids {
		r.fine[i] = s.fineOf(i)
		r.fine[i].pool = pool[g.vertex : g.vertex+len(g.obvert)]
		r.Runs[i] = newRunState(g, r.fine[i], 0, r.fine[i].pool)
	}
	r.Nodes = make([]NodeState, len(s.l.Nodes))
	for i := range s.l.Nodes {
		r.Nodes[i] = s.nodeState(i, pool)
	}
	s.remarks(r)
	return r, nil
}

func (s *still) nodeState(node int, pool []int) NodeState {
	ends := s.ends[node]
	if len(ends) == 0 {
		ends = s.ends[s.net.suction[node]]
	}
	nd := NodeState{Pool: -1}
	if len(ends) == 0 {
		return nd
	}
	best := ends[0]
	for _, v := range ends {
		if s.obvert(v) > s.obvert(best) {
			best = v
		}
	}
	nd.Wetness, nd.Pool = s.wetness(best), pool[best]
	nd.Head = s.level[best]
	if nd.Wetness == Empty {
		nd.Head = s.obvert(best)
	}
	if nd.PressureHead = nd.Head - s.obvert(best); nd.Wetness == Part || nd.Wetness == Empty {
		nd.PressureHead = 0
	}
	if s.l.Nodes[node].Kind == line.Tank {
		nd.Head = s.c.Level[node]
	}
	return nd
}

// remarks says what a reader of a standing case must know: tanks that would flow into one another, columns held by suction.
func (s *still) remarks(r *Result) {
	for node, nd := range s.l.Nodes {
		if nd.Kind != line.Tank {
			continue
		}
		for _, v := range s.ends[node] {
			p := s.place[v]
			if p.k != 0 && nd.Tank.Inlet == line.OverTheTop {
				continue
			}
			// A lower outlet somewhere else in the same body: the water is not at rest.
			if low, by := s.lowerOutlet(v, s.c.Level[node]); low {
				r.Notes = append(r.Notes, Note{ID: "grade.not-at-rest", Where: nd.Name,
					Text: fmt.Sprintf("%s stands at %.2f m and an open way leads down to %s: the water is not at rest but flows. Close a valve in this case, or make it a case of gravity flow.", nd.Name, s.c.Level[node], by)})
				break
			}
		}
	}
	for i := range r.Pools {
		if r.Pools[i].Suction {
			r.Notes = append(r.Notes, Note{ID: "grade.suction", Where: r.Pools[i].Reason,
				Text: "Part of a pool hangs under suction, because no air can enter at its crest. Dissolved air lets such a column down in time, and a joint or valve under suction can draw in what stands in its pit."})
		}
	}
}

// lowerOutlet looks, going the way water flows from a tank at a level, for an outlet that stands lower.
func (s *still) lowerOutlet(from int, level float64) (bool, string) {
	type step struct{ v int }
	seen := map[int]bool{from: true}
	queue := []step{{from}}
	for i := 0; i < len(queue); i++ {
		v := queue[i].v
		if i > 0 {
			if by := s.via[v]; by.node >= 0 && s.level[v] < level-headTolerance {
				return true, s.l.Nodes[by.node].Name
			}
		}
		s.onward(v, func(w int) {
			falls, _ := s.control(v, w, s.level[w], source{})
			if !seen[w] && max(falls, s.barrier(w)) < level-headTolerance {
				seen[w] = true
				queue = append(queue, step{w})
			}
		})
	}
	return false, ""
}

// onward calls f for every vertex to which water may flow from v.
func (s *still) onward(v int, f func(int)) {
	s.neighbours(v, true, func(w int) {
		if s.flowsTo(v, w) {
			f(w)
		}
	})
}

// flowsTo reports whether water may flow from a vertex to its neighbour.
func (s *still) flowsTo(v, w int) (may bool) {
	s.neighbours(w, false, func(x int) { may = may || x == v })
	return may
}

// settleStill finds the levels in the runs of a flowing case that carry no flow, and the nodes whose heads are set by flow.
func (f *flow) settleStill(runs []bool) (s *still, byFlow map[int]bool) {
	s = newStill(f.in, runs)
	for i, g := range f.net.grids {
		if runs[i] {
			for k, a := range f.air[i] {
				s.air[g.vertex+k] = s.air[g.vertex+k] || a
			}
		}
	}
	for i := range f.elems {
		switch e := &f.elems[i]; law := e.law.(type) {
		case *pumpLaw:
			h, _ := law.curve.Head(0)
			s.push[e.node] = max(s.push[e.node], h)
		case *driveLaw:
			h, _ := law.pumps.head(0, law.now)
			s.push[e.node] = max(s.push[e.node], h)
		}
	}
	flowing := make(map[int]bool)
	for i := range f.runs {
		if !runs[i] {
			flowing[f.net.begin(i)], flowing[f.net.end(i)] = true, true
		}
	}
	for i := range f.elems {
		if e := &f.elems[i]; e.run < 0 && math.Abs(e.q) >= stillFlow {
			flowing[e.d] = true
			if e.u >= 0 {
				flowing[e.u] = true
			}
		}
	}
	for n, vs := range s.ends {
		if !flowing[n] {
			continue
		}
		if n < len(f.l.Nodes) && (f.l.Nodes[n].Kind == line.Tank || f.l.Nodes[n].Kind == line.Outfall) {
			continue
		}
		for _, v := range vs {
			s.extra = append(s.extra, seed{v, f.head[n], source{-1, min(n, len(f.l.Nodes)-1)}})
		}
	}
	if len(f.in.Pockets) > 0 {
		s.apart = f.partedAt
	}
	s.solve()
	return s, flowing
}

// fillStill puts the runs of a flowing case that carry no flow into the result.
func (f *flow) fillStill(r *Result, runs []bool) {
	s, flowing := f.settleStill(runs)
	for i, g := range f.net.grids {
		if !runs[i] {
			continue
		}
		r.fine[i] = s.fineOf(i)
		r.Runs[i] = newRunState(g, r.fine[i], 0, nil)
	}
	for i := range f.l.Nodes {
		if !flowing[i] && !f.fixed[i] {
			nd := s.nodeState(i, make([]int, len(s.level)))
			nd.Pool = -1
			r.Nodes[i] = nd
			f.head[i] = nd.Head
		}
	}
}
