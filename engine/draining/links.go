package draining

import (
	"math"

	"obvert/num"
)

// regroup sorts parts at one level into groups that hang together: those which check valves join.
func (s *slow) regroup(parts []int32, level float64) [][]int32 {
	group := make([]int, len(parts))
	for i := range group {
		group[i] = i
	}
	for _, l := range s.links {
		i, j := s.partOf(parts, l.from, level), s.partOf(parts, l.to, level)
		if i < 0 || j < 0 || group[i] == group[j] {
			continue
		}
		for k, g := range group {
			if g == group[j] && k != j {
				group[k] = group[i]
			}
		}
		group[j] = group[i]
	}
	var out [][]int32
	for g := range parts {
		var one []int32
		for k := range parts {
			if group[k] == g {
				one = append(one, parts[k])
			}
		}
		if one != nil {
			out = append(out, one)
		}
	}
	return out
}

// partOf is the index of the part that a wet vertex belongs to, −1 for none.
func (s *slow) partOf(parts []int32, v int, level float64) int {
	if s.barrier[v] >= level {
		return -1
	}
	for i, k := range parts {
		if s.holds(k, v) {
			return i
		}
	}
	return -1
}

// parts takes a body apart at a check valve whose lower side now falls slower than the upper one, and reports whether it did.
func (s *slow) parts(b *body) bool {
	if len(b.parts) < 2 {
		return false
	}
	for _, l := range s.links {
		i, j := s.partOf(b.parts, l.from, b.level), s.partOf(b.parts, l.to, b.level)
		if i < 0 || j < 0 || i == j {
			continue
		}
		lower := s.side(b, l)
		var upper []int32
		for k, p := range b.parts {
			if !lower[k] {
				upper = append(upper, p)
			}
		}
		if len(upper) == 0 {
			continue // another way round joins them
		}
		var low []int32
		for k, p := range b.parts {
			if lower[k] {
				low = append(low, p)
			}
		}
		if s.holdsBack(b, upper, low) {
			s.replace(b, [][]int32{upper, low}, "parted at "+l.name, false)
			return true
		}
	}
	return false
}

// side marks the parts on the lower side of a link.
func (s *slow) side(b *body, cut link) []bool {
	in := make([]bool, len(b.parts))
	in[s.partOf(b.parts, cut.to, b.level)] = true
	for grew := true; grew; {
		grew = false
		for _, l := range s.links {
			if l == cut {
				continue
			}
			i, j := s.partOf(b.parts, l.from, b.level), s.partOf(b.parts, l.to, b.level)
			if i >= 0 && j >= 0 && in[i] != in[j] {
				in[i], in[j], grew = true, true, true
			}
		}
	}
	return in
}

// holdsBack tells whether a check valve between two sides of a body at one level shuts: the lower side would fall no faster by itself.
func (s *slow) holdsBack(b *body, upper, lower []int32) bool {
	rate := func(parts []int32) (q, area float64) {
		one := body{s: s, parts: parts}
		s.equip(&one, b.leaks)
		if one.fed != "" {
			return one.net(b.level), math.Inf(1)
		}
		_, area = one.measure(b.level, false)
		return one.net(b.level), area
	}
	q1, a1 := rate(upper)
	q2, a2 := rate(lower)
	switch {
	case math.IsInf(a2, 1):
		return q1 > 0
	case math.IsInf(a1, 1):
		return q2 < 0
	}
	return q2*a1 < q1*a2*(1-1e-9)
}

// meet joins bodies at check valves whose lower side has come down to the upper one's level.
func (s *slow) meet(x *body) {
	for _, l := range s.links {
		up, low := s.bodyOf(l.from), s.bodyOf(l.to)
		if up == nil || low == nil || up == low || up != x && low != x {
			continue
		}
		end := func(b *body) float64 {
			if b.live {
				return b.time
			}
			return math.Inf(1)
		}
		to := min(end(up), end(low))
		if math.IsInf(to, 1) || low.levelAt(to) >= up.levelAt(to)-1e-12 {
			continue
		}
		at := s.crossing(up, low, max(up.since(), low.since()), to)
		s.unite(up, low, at, l.name)
		return
	}
}

// crossing is when the lower side's level comes down to the upper one's, between two times that both followed in their last panels; it takes
// both back to that moment.
func (s *slow) crossing(up, low *body, from, to float64) float64 {
	type way struct {
		b *body
		p panel
	}
	var ways []way
	for _, b := range [2]*body{up, low} {
		if b.live && b.time > from {
			ways = append(ways, way{b, b.back()})
		}
	}
	apart := func(t float64) float64 {
		d := low.level - up.level
		for _, w := range ways {
			fallen := w.b.until(w.p, min(t, w.p.t1)).h1 - w.p.h0
			if w.b == low {
				d += fallen
			} else {
				d -= fallen
			}
		}
		return d
	}
	at := from
	if apart(from) > 0 {
		at, _ = num.Root(apart, from, to, 1e-12*to)
	}
	for _, w := range ways {
		if at > w.p.t0 {
			w.b.take(w.b.until(w.p, at))
		}
	}
	return at
}

// levelAt is the body's level at a time of its last panel, or later.
func (b *body) levelAt(t float64) float64 {
	if t >= b.time || len(b.panels) == 0 {
		return b.level
	}
	return b.panels[len(b.panels)-1].at(t)
}

// since is when the body's last panel began.
func (b *body) since() float64 {
	if !b.live || len(b.panels) == 0 {
		return b.begun
	}
	return b.panels[len(b.panels)-1].t0
}

// bodyOf is the body that a vertex stands in now, nil where it is dry.
func (s *slow) bodyOf(v int) *body {
	for _, b := range s.bodies {
		if !b.gone && s.partOf(b.parts, v, b.level) >= 0 {
			return b
		}
	}
	return nil
}
