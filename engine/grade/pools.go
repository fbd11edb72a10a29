package grade

import (
	"fmt"
	"math"
	"strings"

	"obvert/line"
	"obvert/physics/pipe"
	"obvert/quantity"
)

// pools joins the wet grid points into bodies of water and gives, by vertex, the pool each stands in, −1 for none.
func (s *still) pools(r *Result) []int {
	pool := make([]int, len(s.level))
	for v := range pool {
		pool[v] = -1
	}
	for v := range s.level {
		if pool[v] >= 0 || s.wetness(v) == Empty {
			continue
		}
		id := len(r.Pools)
		body := []int{v}
		pool[v] = id
		for i := 0; i < len(body); i++ {
			s.neighbours(body[i], true, func(w int) {
				if pool[w] < 0 && s.wetness(w) != Empty && math.Abs(s.level[w]-s.level[v]) < headTolerance {
					pool[w] = id
					body = append(body, w)
				}
			})
		}
		r.Pools = append(r.Pools, s.describe(v, body))
	}
	for i, g := range s.net.grids {
		s.spans(r, i, g, pool)
	}
	keep := r.Pools[:0]
	renumber := make([]int, len(r.Pools))
	for i := range r.Pools {
		renumber[i] = -1
		if r.Pools[i].WetLength > headTolerance {
			renumber[i] = len(keep)
			keep = append(keep, r.Pools[i])
		}
	}
	r.Pools = keep
	for v, p := range pool {
		if p >= 0 {
			pool[v] = renumber[p]
		}
	}
	return pool
}

// describe says at what level a body stands and what holds it there.
func (s *still) describe(v int, body []int) Pool {
	by := s.via[v]
	p := Pool{Level: s.level[v], Node: by.node}
	switch {
	case by.vertex >= 0:
		pl := s.place[by.vertex]
		if e := s.controlAt(by.vertex); e != nil && p.Level > s.barrier(by.vertex)+headTolerance {
			p.Kind, p.Reason = "control valve", "setting of "+e.Name
			break
		}
		p.Kind = "crest"
		p.Reason = fmt.Sprintf("spills over the crest at %s on %s", quantity.FormatChainage(s.net.grids[pl.run].chainage[pl.k]), s.l.Runs[pl.run].Name)
	case by.node >= 0:
		nd := &s.l.Nodes[by.node]
		switch nd.Kind {
		case line.Tank:
			p.Kind, p.Fed, p.Reason = "tank", true, "water level of "+nd.Name
		case line.Outfall:
			p.Kind, p.Reason = "outfall", "invert of the outfall "+nd.Name
		case line.Station:
			p.Kind, p.Fed, p.Reason = "sump", true, "water level of the sump of "+nd.Name
		default:
			p.Kind, p.Reason = "node", "grade line at "+nd.Name
		}
	default:
		p.Kind, p.Reason = "closed in", "closed in, with no way out: taken as full to its highest point without pressure"
	}
	if held := s.heldBy(body); held != "" {
		p.Reason += "; held by " + held
		if p.Kind == "closed in" {
			p.Kind = "check valve"
		}
	}
	for _, w := range body {
		if wt := s.wetness(w); wt == Suction || wt == Vapour {
			p.Suction = true
		}
	}
	return p
}

// controlAt is the sustaining or reducing valve beside a vertex, or nil.
func (s *still) controlAt(v int) *line.Equipment {
	p := s.place[v]
	seg := s.net.grids[p.run].seg
	for k := max(p.k-1, 0); k <= min(p.k, len(seg)-1); k++ {
		if seg[k].equip >= 0 {
			if e := &s.l.Runs[p.run].Equipment[seg[k].equip]; e.Kind == line.SustainingValve || e.Kind == line.ReducingValve {
				return e
			}
		}
	}
	return nil
}

// heldBy names the check valves and closed valves at a body's border behind which water stands lower, or none.
func (s *still) heldBy(body []int) string {
	var names []string
	say := func(n string) {
		for _, x := range names {
			if x == n {
				return
			}
		}
		names = append(names, n)
	}
	for _, v := range body {
		p := s.place[v]
		g := s.net.grids[p.run]
		look := func(seg, other int, blocked gate) {
			sg := g.seg[seg]
			if sg.equip < 0 {
				return
			}
			if gt := gateIn(s.c, p.run, sg); (gt == blocked || gt == passNone) && s.level[v] > s.level[other]+headTolerance {
				say(s.l.Runs[p.run].Equipment[sg.equip].Name)
			}
		}
		if p.k > 0 {
			look(p.k-1, v-1, passForward)
		}
		if p.k < g.last() {
			look(p.k, v+1, passBackward)
		}
		if p.k == 0 {
			if nd := &s.l.Nodes[s.l.Runs[p.run].From]; nd.Station != nil && nd.Station.Check != line.CheckNone {
				say("the check valves of " + nd.Name)
			}
		}
	}
	return strings.Join(names, ", ")
}

// spans adds a run's wet stretches to the pools they belong to, one span for each full-bore stretch in them.
func (s *still) spans(r *Result, run int, g *grid, pool []int) {
	sections := s.l.Runs[run].Sections
	type open struct {
		span Span
		pool int
	}
	var cur *open
	flush := func() {
		if cur != nil {
			if cur.span.To > cur.span.From {
				r.Pools[cur.pool].Spans = append(r.Pools[cur.pool].Spans, cur.span)
			}
			cur = nil
		}
	}
	for k, sg := range g.seg {
		a, b := g.vertex+k, g.vertex+k+1
		id, level := pool[a], s.level[a]
		hanging := !s.air[a]
		if id < 0 || pool[b] >= 0 && s.level[b] < level-headTolerance {
			id, level, hanging = pool[b], s.level[b], !s.air[b]
		}
		if id < 0 {
			flush()
			continue
		}
		// Along the segment invert and obvert are straight: the wet part is where invert < level, the full part where obvert ≤ level.
		bore := sections[sg.section].Bore
		za, zb := g.obvert[k], g.obvert[k+1]
		w0, w1 := below(za-bore, zb-bore, level)
		f0, f1 := below(za, zb, level)
		if hanging && pool[a] == id && pool[b] == id && !s.air[b] {
			w0, w1, f0, f1 = 0, 1, 0, 1
		}
		if w1 <= w0 {
			if sg.length > 0 {
				flush()
			}
			continue
		}
		x := func(t float64) float64 { return g.chainage[k] + t*(g.chainage[k+1]-g.chainage[k]) }
		p := &r.Pools[id]
		p.WetLength += (w1 - w0) * sg.length
		p.FullLength += max(0, f1-f0) * sg.length
		if f1-f0 == 1 {
			p.Volume += math.Pi / 4 * bore * bore * sg.length
		} else {
			p.Volume += pipe.StandingVolume(level, max(sg.length, math.Abs(zb-za)), bore, za-bore, zb-bore)
		}
		full := f1 > f0
		if cur != nil && (cur.pool != id || w0 > 0 || full && cur.span.FullTo > cur.span.FullFrom && (f0 > 0 || cur.span.FullTo < g.chainage[k])) {
			flush()
		}
		if cur == nil {
			cur = &open{Span{Run: run, From: x(w0), FullFrom: x(w0), FullTo: x(w0)}, id}
		}
		if full {
			if cur.span.FullTo <= cur.span.FullFrom {
				cur.span.FullFrom = x(f0)
			}
			cur.span.FullTo = x(f1)
		}
		cur.span.To = x(w1)
		if w1 < 1 {
			flush()
		}
	}
	flush()
}

// below is the part t0…t1 of a straight line from a to b, 0 ≤ t ≤ 1, that lies at or below a level.
func below(a, b, level float64) (t0, t1 float64) {
	switch {
	case a <= level+headTolerance && b <= level+headTolerance:
		return 0, 1
	case a > level && b > level:
		return 0, 0
	case a <= level:
		return 0, (level - a) / (b - a)
	}
	return (level - a) / (b - a), 1
}
