package draining

import (
	"math"
	"sort"

	"obvert/physics/pipe"
)

// At is the water in the line at a time, s, from the beginning to the end of what was followed; before and after that as at those.
func (r *Result) At(t float64) State { return r.past.stateAt(t) }

// history tells the state at any moment.
type history interface{ stateAt(t float64) State }

// stateAt is the state at a moment of a slow draining.
func (s *slow) stateAt(t float64) State {
	t = min(max(t, 0), s.in.Horizon)
	st := State{Time: t, Runs: make([][]Span, len(s.l.Runs)), Valves: make([]ValveState, len(s.leaks))}
	level, body := s.levelsAt(t)
	for i := range s.leaks {
		st.Valves[i] = s.leaks[i].stateAt(t)
	}
	var w spanner
	for i := range s.segs {
		k := s.owner(i)
		if i == 0 || s.segs[i].run != s.segs[i-1].run {
			w = spanner{g: s.grid, out: &st.Runs[s.segs[i].run]}
		}
		if body[k] < 0 || level[k] <= s.barrier[s.low(i)] {
			w.dry()
			continue
		}
		h := level[k]
		surface := h + s.hung(i, h)
		st.Volume += s.volume(i, surface)
		st.full += w.wet(i, surface, h, int(body[k]))
	}
	return st
}

// levelsAt gives level and body by node of the tree, −1 for none.
func (s *slow) levelsAt(t float64) (level []float64, of []int32) {
	level, of = make([]float64, len(s.nodes)), make([]int32, len(s.nodes))
	for i := range of {
		of[i] = -1
	}
	for _, b := range s.bodies {
		if b.begun > t || b.gone && s.out.Pools[b.id].End <= t {
			continue
		}
		h := b.levelOf(t)
		for _, k := range b.parts {
			for n := s.nodes[k].first; n < s.nodes[k].last; n++ {
				level[n], of[n] = h, int32(b.id)
			}
		}
	}
	return level, of
}

// levelOf is the body's level at any time of its life.
func (b *body) levelOf(t float64) float64 {
	i := sort.Search(len(b.panels), func(i int) bool { return b.panels[i].t1 >= t })
	if i == len(b.panels) {
		return b.level
	}
	return b.panels[i].at(t)
}

// hung is how far above the level the surface in a segment stands.
func (t *tree) hung(seg int, level float64) float64 {
	s := &t.segs[seg]
	if a := t.airLevel(seg); a < max(s.obvert1, s.obvert2)-headTolerance && level > a {
		return t.vapour
	}
	return 0
}

// volume is the water, m³, of a segment under a surface.
func (g *grid) volume(seg int, surface float64) float64 {
	s := &g.segs[seg]
	if surface >= max(s.obvert1, s.obvert2) {
		return pipe.Area(s.bore) * s.length
	}
	p := piece{length: s.length, bore: s.bore, inv1: s.invert1, inv2: s.invert2}
	return p.standing(surface)
}

// spanner joins the wet stretches of a run.
type spanner struct {
	g    *grid
	out  *[]Span
	open bool // the last one reaches to the next segment
}

func (w *spanner) dry() { w.open = false }

// wet adds a segment under a surface, and gives the length that is full, m.
func (w *spanner) wet(seg int, surface, level float64, pool int) float64 {
	s := &w.g.segs[seg]
	if w.open && surface >= max(s.obvert1, s.obvert2) { // most of a line: full, and full before
		cur := &(*w.out)[len(*w.out)-1]
		if x0 := w.g.at[s.a].Chainage; cur.Pool == pool && cur.FullTo == x0 && cur.FullTo > cur.FullFrom {
			cur.To = w.g.at[s.b].Chainage
			cur.FullTo = cur.To
			return s.length
		}
	}
	w0, w1 := below(s.invert1, s.invert2, surface)
	f0, f1 := below(s.obvert1, s.obvert2, surface)
	if w1 <= w0 {
		w.open = false
		return 0
	}
	x0, x1 := w.g.at[s.a].Chainage, w.g.at[s.b].Chainage
	x := func(t float64) float64 { return x0 + t*(x1-x0) }
	full := f1 > f0
	list := *w.out
	if w.open {
		cur := &list[len(list)-1]
		had := cur.FullTo > cur.FullFrom
		if cur.Pool != pool || w0 > 0 || full && had && (f0 > 0 || cur.FullTo < x0) {
			w.open = false
		}
	}
	if !w.open {
		if x1 == x0 { // a vertical step begins no stretch of its own
			return (f1 - f0) * s.length
		}
		list = append(list, Span{Run: s.run, From: x(w0), FullFrom: x(w0), FullTo: x(w0), Level: level, Pool: pool})
		*w.out = list
	}
	cur := &list[len(list)-1]
	if full {
		if cur.FullTo <= cur.FullFrom {
			cur.FullFrom = x(f0)
		}
		cur.FullTo = x(f1)
	}
	cur.To = x(w1)
	w.open = w1 == 1
	return max(0, f1-f0) * s.length
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

// wide reports whether a level is a number to be used.
func wide(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
