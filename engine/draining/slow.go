package draining

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"obvert/num"
	"obvert/quantity"
)

// slow drains a line through leaks so small that every body of water stands level.
type slow struct {
	*tree
	in     *Input
	out    *Result
	leaks  []leak
	bodies []*body

	stopped, tolerance float64
	runIn              float64 // m³
	steps              int
	noted              map[string]bool
}

// mostSteps bounds the panels of one draining.
const mostSteps = 2_000_000

func newSlow(in *Input) *slow {
	g := newGrid(in)
	start := g.startLevels(in.Pools)
	s := &slow{tree: newTree(g, start), in: in, stopped: in.StoppedLeak, tolerance: in.Tolerance, noted: map[string]bool{}}
	if s.stopped == 0 {
		s.stopped = 1e-8
	}
	if s.tolerance == 0 {
		s.tolerance = 1e-4
	}
	s.tolerance /= 5 // the panels' errors add up
	s.out = &Result{Case: in.Case}
	s.leaks = make([]leak, len(in.Valves))
	for i := range s.leaks {
		s.leaks[i] = s.newLeak(i)
	}
	return s
}

// startLevels are the levels of the pools by vertex, −Inf where dry.
func (g *grid) startLevels(pools []Pool) []float64 {
	level := make([]float64, len(g.obvert))
	for v := range level {
		level[v] = math.Inf(-1)
	}
	g.wetSegments(pools, func(seg, pool int) {
		s, h := &g.segs[seg], pools[pool].Level
		for _, v := range [2]int{s.a, s.b} {
			level[v] = max(level[v], h)
		}
	})
	for v := range level {
		if g.at[v].Run < 0 {
			for _, w := range g.next[v] {
				level[v] = max(level[v], level[w])
			}
		}
	}
	return level
}

// wetSegments calls f for every segment that a pool wets.
func (g *grid) wetSegments(pools []Pool, f func(seg, pool int)) {
	type stretch struct {
		Span
		pool int
	}
	by := make([][]stretch, len(g.l.Runs))
	for i, p := range pools {
		for _, sp := range p.Spans {
			by[sp.Run] = append(by[sp.Run], stretch{sp, i})
		}
	}
	for i := range by {
		slices.SortFunc(by[i], func(a, b stretch) int { return cmp.Compare(a.From, b.From) })
	}
	next := make([]int, len(by))
	for i := range g.segs {
		s := &g.segs[i]
		x0, x1 := g.at[s.a].Chainage, g.at[s.b].Chainage
		list := by[s.run]
		for next[s.run] < len(list) && list[next[s.run]].To <= x0 && x1 > x0 {
			next[s.run]++
		}
		for j := next[s.run]; j < len(list) && list[j].From <= x1; j++ {
			sp := &list[j]
			if min(sp.To, x1)-max(sp.From, x0) > 1e-9 || x0 == x1 && sp.From <= x0 && sp.To >= x1 {
				f(i, sp.pool)
			}
		}
	}
}

// begin makes the bodies that stand at the start.
func (s *slow) begin() {
	parts := make([][]int32, len(s.in.Pools))
	taken := make(map[int32]int)
	s.wetSegments(s.in.Pools, func(seg, pool int) {
		h := s.in.Pools[pool].Level
		v := s.low(seg)
		if s.barrier[v] >= h {
			return
		}
		k := s.bodyAt(v, h)
		if other, ok := taken[k]; !ok {
			taken[k] = pool
			parts[pool] = append(parts[pool], k)
		} else if other != pool && s.in.Pools[other].Level != h {
			s.note("draining.not-at-rest", s.where(v), "Two pools of different level are joined by an open way: the line is not at rest. The first one's level counts.")
		}
	})
	for i, p := range s.in.Pools {
		for _, g := range s.regroup(parts[i], p.Level) {
			s.add(g, p.Level, 0, -1, allOf(s.leaks), false)
		}
	}
	for _, t := range s.grid.tanks {
		if k := s.bodyAt(t.vertex, t.level); !s.has(k) {
			s.add([]int32{k}, t.level, 0, -1, allOf(s.leaks), false)
		}
	}
}

// has tells whether a body has a node, or one that it is part of.
func (s *slow) has(k int32) bool {
	for _, b := range s.bodies {
		for _, p := range b.parts {
			if s.nodes[p].first <= k && k < s.nodes[p].last || s.nodes[k].first <= p && p < s.nodes[k].last {
				return true
			}
		}
	}
	return false
}

func allOf(l []leak) []int {
	all := make([]int, len(l))
	for i := range all {
		all[i] = i
	}
	return all
}

// equip finds the valves and tanks of a body.
func (s *slow) equip(b *body, candidates []int) {
	for _, k := range b.parts {
		for _, i := range candidates {
			if s.holds(k, s.leaks[i].vertex) {
				b.leaks = append(b.leaks, i)
			}
		}
		for i, t := range s.grid.tanks {
			if !s.holds(k, t.vertex) {
				continue
			}
			b.tanks = append(b.tanks, i)
			b.inflow += t.inflow
			if math.IsInf(t.area, 1) {
				b.fed = t.name
			}
		}
	}
}

// add makes a body.
func (s *slow) add(parts []int32, level, time float64, from int, candidates []int, leaked bool) *body {
	b := &body{s: s, id: len(s.out.Pools), parts: parts, level: level, time: time, begun: time, live: true, above: true, leaked: leaked}
	s.equip(b, candidates)
	s.out.Pools = append(s.out.Pools, PoolResult{From: from, Start: time, Fed: b.fed})
	s.bodies = append(s.bodies, b)
	if from < 0 {
		for _, i := range b.leaks {
			s.leaks[i].begin(s, level)
		}
	}
	any := false
	for _, i := range b.leaks {
		k := &s.leaks[i]
		b.unknown = b.unknown || k.state == NoRecord
		any = any || k.state == Drips || k.state == Tight
		if from < 0 && (k.state == Drips || k.state == Tight) {
			k.note(time, level)
		}
	}
	b.lack, b.area = b.measure(level, true)
	if !any && b.inflow == 0 {
		b.rest(0)
	} else {
		b.tally()
	}
	return b
}

// replace ends a body and puts others in its place.
func (s *slow) replace(b *body, groups [][]int32, how string, split bool) {
	r := &s.out.Pools[b.id]
	b.live, b.gone, r.Ended, r.End = false, true, how, b.time
	if r.Status = StoppedLeaking; b.unknown {
		r.Status = NotKnown
	}
	var made []int
	for _, g := range groups {
		n := s.add(g, b.level, b.time, b.id, b.leaks, b.leaked)
		n.above, n.down = !split && b.above, b.down
		n.lack, n.area = n.measure(n.level, false)
		n.step = b.step
		made = append(made, n.id)
	}
	s.out.Pools[b.id].Parts = made
}

// splits takes a body apart at a crest that it has come down to, and reports whether it did.
func (s *slow) splits(b *body) bool {
	var parts []int32
	at := -1
	var below func(k int32)
	below = func(k int32) {
		n := &s.nodes[k]
		if n.split < b.level-headTolerance {
			parts = append(parts, k)
			return
		}
		if at < 0 {
			at = n.crest
		}
		for _, c := range n.children {
			below(c)
		}
	}
	for _, k := range b.parts {
		below(k)
	}
	if at < 0 {
		return false
	}
	how := "split at the crest at " + s.where(at)
	if len(parts) == 0 {
		how = "run dry at " + s.where(at)
	}
	if s.barrier[at] < s.invert[at]-headTolerance && s.reached[at] < b.level-headTolerance {
		s.note("draining.vapour-parted", s.where(at), "The column parts here under water's vapour, for no air can come in. Dissolved air lets such a column down sooner.")
		how = "parted under vapour at " + s.where(at)
	}
	groups := s.regroup(parts, b.level)
	s.replace(b, groups, how, true)
	if len(groups) > 1 {
		s.event(b.time, "draining.splits", s.where(at), fmt.Sprintf("The water comes down to the crest at %.2f m and parts.", b.level))
	}
	return true
}

// unite makes one body of two at a time.
func (s *slow) unite(up, low *body, at float64, by string) {
	h := low.level
	if up.fed != "" {
		h = up.level
	}
	lack := up.lack + low.lack
	parts := append(slices.Clone(up.parts), low.parts...)
	both := body{s: s, parts: parts}
	s.equip(&both, append(slices.Clone(up.leaks), low.leaks...))
	if both.fed == "" && up.level != low.level {
		lo, hi := min(up.level, low.level), max(up.level, low.level)
		h, _ = num.Root(func(h float64) float64 { l, _ := both.measure(h, false); return l - lack }, lo, hi, 0)
	}
	leaks := append(slices.Clone(up.leaks), low.leaks...)
	n := s.add(parts, h, at, low.id, leaks, up.leaked || low.leaked)
	n.above = false
	n.lack, n.area = n.measure(h, false)
	if n.fed != "" {
		s.runIn += lack - n.lack // what the feed makes up at the joint
	}
	for _, b := range [2]*body{up, low} {
		r := &s.out.Pools[b.id]
		b.live, b.gone, r.Ended, r.End, r.Parts = false, true, "joined at "+by, at, []int{n.id}
		r.Status = StoppedLeaking
	}
	s.event(at, "draining.joins", by, fmt.Sprintf("The water below has come down to %.2f m, the level of the water above: it is fed from there.", h))
}

// run follows all bodies to their ends.
func (s *slow) run(ctx context.Context) error {
	s.begin()
	next := s.first
	if len(s.links) == 0 { // nothing that one body does concerns another
		next = s.inTurn()
	}
	for range mostSteps {
		b := next()
		if b == nil {
			return nil
		}
		if s.steps%64 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		if b.time >= s.in.Horizon {
			b.end(HorizonReached, "horizon reached")
			continue
		}
		b.advance()
		if len(s.links) > 0 {
			s.meet(b)
		}
	}
	return fmt.Errorf("draining: not done after %d steps at %.0f s: the line splits and joins without end; give a shorter horizon", mostSteps, s.first().time)
}

// first is the live body whose time is the earliest, nil where none lives.
func (s *slow) first() (first *body) {
	for _, b := range s.bodies {
		if b.live && (first == nil || b.time < first.time) {
			first = b
		}
	}
	return first
}

// inTurn gives the first body until it lives no more, then the next.
func (s *slow) inTurn() func() *body {
	i := 0
	return func() *body {
		for ; i < len(s.bodies); i++ {
			if s.bodies[i].live {
				return s.bodies[i]
			}
		}
		return nil
	}
}

// event notes what happened.
func (s *slow) event(t float64, id, where, text string) {
	s.out.Events = append(s.out.Events, Event{t, id, where, text})
}

// note remarks something once.
func (s *slow) note(id, where, text string) {
	if key := id + "|" + where; !s.noted[key] {
		s.noted[key] = true
		s.out.Notes = append(s.out.Notes, Note{id, where, text})
	}
}

// where names a vertex.
func (g *grid) where(v int) string {
	p := g.at[v]
	if p.Run < 0 {
		for _, w := range g.next[v] {
			if q := g.at[w]; q.Run >= 0 {
				p = q
				break
			}
		}
	}
	if p.Run < 0 {
		return "a node"
	}
	return quantity.FormatChainage(p.Chainage) + " on " + g.l.Runs[p.Run].Name
}

// span names where a body stands.
func (s *slow) span(b *body) string {
	for _, k := range b.parts {
		for n := s.nodes[k]; ; n = s.nodes[n.children[0]] {
			if s.at[n.crest].Run >= 0 || len(n.children) == 0 {
				return s.where(n.crest)
			}
		}
	}
	return ""
}
