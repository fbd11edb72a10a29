package column

import (
	"math"
)

// meet ends a pocket whose air has gone: the columns that bound it become one, their momentum is shared, and the slam of it is reckoned.
func (s *sim) meet(k int) {
	p := &s.pockets[k]
	m := Meeting{Time: s.t, Vent: -1, Head: s.gauge(p.p), Left: p.m}
	toward, perWave, residual := 0.0, 0.0, 0.0
	for _, r := range p.ends {
		perWave += s.behindBeginning(r)
		l := &s.legs[r.leg]
		sh := s.shape[l.pipe]
		e := &l.e[r.side]
		c := &sh.seg[sh.find(e.w, e.hint)]
		toward += outward(r.side) * l.q
		perWave += s.net.Gravity * c.area / s.wave(l.pipe, c.section)
		if r.side == upper {
			m.Before = l.q * c.perArea
		} else {
			m.After = l.q * c.perArea
		}
		m.Pipe = l.pipe
		m.Distance = sh.distanceAt(sh.mark(e.w, e.hint))
	}
	m.DeadEnd = len(p.ends) < 2
	for _, i := range p.vents {
		v := &s.vents[i]
		residual += v.data.Residual
		if v.pipe >= 0 {
			m.Pipe, m.Vent = v.pipe, v.index
			sh := s.shape[v.pipe]
			m.Distance = sh.distanceAt(sh.mark(v.w, 0))
		}
	}
	m.Sealed = Slam(m.Head, toward, perWave, 0, s.net.Gravity)
	m.Slam = Slam(m.Head, toward, perWave, residual, s.net.Gravity)
	m.Passes = residual * math.Sqrt(2*s.net.Gravity*max(0, m.Head+m.Slam))
	m.Pressure = (m.Head + m.Slam) * s.rhoG
	if len(p.ends) > 0 {
		s.worst(&m, p)
		s.res.Meetings = append(s.res.Meetings, m)
		s.event(LastAir, m.Pipe, s.shape[m.Pipe].volumeAt(m.Distance), m.Vent, p)
	}
	for _, i := range append([]int(nil), p.vents...) {
		s.drown(i)
	}
	joined := s.join(k)
	s.impact()
	if n := len(s.res.Meetings); len(p.ends) > 0 && joined >= 0 {
		l := &s.legs[joined]
		s.res.Meetings[n-1].Shared = l.q / s.areaOf(l)
	}
}

// behindBeginning is g A/a of what stands behind a column that has only just begun at a node: of the node's other pipes, and without
// end at a tank.
func (s *sim) behindBeginning(r ref) float64 {
	l := &s.legs[r.leg]
	side := 1 - r.side
	if l.pipe < 0 || l.e[side].at != atNode || s.beginning(l) < 0 {
		return 0
	}
	n := s.nodeOf(l, side)
	switch s.net.Nodes[n].Kind {
	case Tank:
		return math.Inf(1)
	case Junction:
	default:
		return 0
	}
	sum := 0.0
	for _, o := range s.legsAt[n] {
		if other := &s.legs[o.leg]; o.leg != r.leg && !other.dead && other.pipe >= 0 {
			sh := s.shape[other.pipe]
			c := &sh.seg[sh.find(other.e[o.side].w, other.e[o.side].hint)]
			sum += s.net.Gravity * c.area / s.wave(other.pipe, c.section)
		}
	}
	return sum
}

// Slam is the sudden rise of head, m, when the last air leaves an opening at a gauge head h1 (m) and columns that brought a flow
// together, toward (m³/s, what comes less what goes on), must stop or join: it solves
//
//	h2 − h1 = (toward − CdA √(2 g h2)) / perWave
//
// where perWave is the sum of g A/a (m²/s) of the pipes that meet there and residual the CdA of the opening that still passes water (m²).
// With none, in mid-line between equal pipes, that is a·ΔV/2g, at a dead end a·V/g.
func Slam(h1, toward, perWave, residual, g float64) float64 {
	full := toward / perWave
	if residual <= 0 || h1+full <= 0 {
		return full
	}
	// x = √h2: x² + b x − (h1 + full) = 0
	b := residual * math.Sqrt(2*g) / perWave
	c := h1 + full
	x := 2 * c / (b + math.Sqrt(b*b+4*c))
	return x*x - h1
}

// wave is the speed of a pressure wave in a section.
func (s *sim) wave(pipe, section int) float64 {
	if a := s.net.Pipes[pipe].Sections[section].WaveSpeed; a > 0 {
		return a
	}
	s.note(NoteWaveSpeed)
	return DefaultWaveSpeed
}

// DefaultWaveSpeed is used where a section has none, m/s (common practice for metal pipes, no source).
const DefaultWaveSpeed = 1000.0

// worst finds the largest pressure of a slam along the columns that meet: their grade line just before, raised by the whole of it. On its
// way the wave is weakened; that is left out, on the safe side.
func (s *sim) worst(m *Meeting, p *pocket) {
	s.forces(s.t)
	m.Worst, m.WorstPipe, m.WorstDistance = m.Pressure, m.Pipe, m.Distance
	for _, r := range p.ends {
		l := &s.legs[r.leg]
		sh := s.shape[l.pipe]
		a := sh.mark(l.e[lower].w, l.e[lower].hint)
		try := func(w float64) {
			if w < l.e[lower].w || w > l.e[upper].w {
				return
			}
			at := sh.mark(w, a.seg)
			h := s.headAt(l, a, at) + m.Slam
			c := &s.net.Pipes[l.pipe].Sections[sh.seg[at.seg].section]
			if pr := h * s.rhoG; pr > m.Worst {
				m.Worst, m.WorstPipe, m.WorstDistance = pr, l.pipe, sh.distanceAt(at)
			}
			if c.Rating > 0 {
				m.WorstShare = max(m.WorstShare, h*s.rhoG/c.Rating)
			}
		}
		try(l.e[lower].w)
		try(l.e[upper].w)
		for _, t := range sh.turns {
			if !t.crest {
				try(t.w)
			}
		}
	}
	if c := &s.net.Pipes[m.Pipe].Sections[s.sectionAt(m.Pipe, m.Distance)]; c.Rating > 0 {
		m.WorstShare = max(m.WorstShare, m.Pressure/c.Rating)
	}
}

func (s *sim) sectionAt(pipe int, x float64) int {
	sh := s.shape[pipe]
	return sh.seg[sh.mark(sh.volumeAt(x), 0).seg].section
}

// headAt is the gauge head on the axis at a mark inside a leg whose forces are known; a is the mark of its lower end.
func (s *sim) headAt(l *leg, a, at mark) float64 {
	sh := s.shape[l.pipe]
	if l.qi < 0 {
		return s.restAt(l, sh.w[at.seg]+at.dw) - sh.levelAt(at)
	}
	h := l.e[lower].e - sh.lost(a, at, l.q) - sh.seg[at.seg].speed*l.q*l.q
	return h - l.dq*(sh.inertAt(at)-sh.inertAt(a)) - sh.levelAt(at)
}

// restAt is the level under which a leg at rest stands at w: that of the end from which nothing shuts it off.
func (s *sim) restAt(l *leg, w float64) float64 {
	shut := [2]bool{}
	for side := range l.e {
		if l.e[side].at == atNode {
			n := s.nodeOf(l, side)
			shut[side] = s.shutNode(n) || s.net.Nodes[n].Kind == Station && l.stuck
		}
	}
	for _, c := range s.shape[l.pipe].checks {
		if l.stuck && c.w >= l.e[lower].w && c.w <= l.e[upper].w && !shut[lower] && !shut[upper] {
			shut[lower], shut[upper] = w >= c.w, w < c.w
		}
	}
	if shut[lower] {
		return l.e[upper].e
	}
	return l.e[lower].e
}

// join makes one of the columns that bound a pocket; it returns a leg of the new one, −1 for none.
func (s *sim) join(k int) int {
	p := &s.pockets[k]
	for _, i := range p.pudd {
		q := &s.puddles[i]
		if len(p.ends) > 0 {
			s.give(p.ends[0].leg, q.v)
		}
		q.used, q.v = false, 0
	}
	joined := -1
	nodes := map[int]bool{}
	for _, sp := range p.spans {
		if sp.left.leg >= 0 && sp.right.leg >= 0 {
			gap := s.legs[sp.right.leg].e[lower].w - s.legs[sp.left.leg].e[upper].w
			joined = s.weld(sp.left.leg, sp.right.leg, gap)
			continue
		}
		for _, r := range []ref{sp.left, sp.right} {
			if r.leg < 0 {
				continue
			}
			l := &s.legs[r.leg]
			e := &l.e[r.side]
			gap := outward(r.side) * (s.endW(l.pipe, r.side) - e.w)
			e.at, e.w = atNode, s.endW(l.pipe, r.side)
			joined = r.leg
			s.giveAt(r.leg, 1-r.side, -gap)
			if n := s.nodeOf(l, r.side); s.shutNode(n) {
				l.q = 0
			} else {
				nodes[n] = true
			}
		}
	}
	for n := range nodes {
		s.wetNode(n)
	}
	return joined
}

// weld makes one leg of two neighbours whose gap has closed; the gap's small volume is taken off a far end.
func (s *sim) weld(a, b int, gap float64) int {
	la, lb := &s.legs[a], &s.legs[b]
	q := 0.0
	if !la.fixed && !lb.fixed {
		q = (s.inertia(la)*la.q + s.inertia(lb)*lb.q) / (s.inertia(la) + s.inertia(lb))
	}
	la.e[upper] = lb.e[upper]
	la.q = q
	la.active = true
	la.stuck = la.stuck || lb.stuck
	s.drop(b)
	if !s.giveAt(a, upper, -gap) {
		s.giveAt(a, lower, -gap)
	}
	s.oneWay(a)
	la.stuck = la.stuck && la.oneWay != 0 && float64(la.oneWay)*la.q <= 0 // a blow the other way opens it
	if la.oneWay != 0 && float64(la.oneWay)*la.q < 0 {
		la.q = 0
	}
	return a
}

// inertia of a leg as it is now, s²/m².
func (s *sim) inertia(l *leg) float64 {
	sh := s.shape[l.pipe]
	a, b := sh.mark(l.e[lower].w, l.e[lower].hint), sh.mark(l.e[upper].w, l.e[upper].hint)
	c := &sh.seg[a.seg]
	return max(sh.inertAt(b)-sh.inertAt(a), c.bore*c.inert*c.area)
}

// impact makes the flows balance again at every wet junction after a sudden change, by the sudden heads that share momentum: for each
// node Σ s·ΔQ = −(Σ s·Q − demand), ΔQ = (Pa − Pb)/I.
func (s *sim) impact() {
	s.listNodes()
	var nodes []int
	row := make([]int, len(s.net.Nodes))
	for n := range row {
		row[n] = -1
		if s.net.Nodes[n].Kind == Junction && len(s.legsAt[n]) > 0 {
			row[n] = len(nodes)
			nodes = append(nodes, n)
		}
	}
	n := len(nodes)
	if n == 0 {
		return
	}
	opens := map[int]bool{} // shut check valves that the blow opens: all until it proves to push some of them shut
	for k := range s.legs {
		if l := &s.legs[k]; l.stuck && !l.dead && l.pipe >= 0 && !s.isFixed(l) && s.beginning(l) < 0 {
			opens[k] = true
		}
	}
	blow := s.blow(nodes, row, opens)
	for range len(s.legs) {
		shut := false
		for k := range opens {
			if l := &s.legs[k]; float64(l.oneWay)*blow[k] <= 1e-3*s.areaOf(l) {
				delete(opens, k)
				shut = true
			}
		}
		if !shut {
			break
		}
		blow = s.blow(nodes, row, opens)
	}
	for k := range s.legs {
		if l := &s.legs[k]; blow[k] != 0 {
			if opens[k] {
				l.stuck = false
				s.event(CheckOpen, l.pipe, l.e[lower].w, -1, nil)
			}
			l.q += blow[k]
			l.active = true
		}
	}
}

// blow is the sudden change of every leg's flow that makes the nodes balance.
func (s *sim) blow(nodes, row []int, opens map[int]bool) []float64 {
	n := len(nodes)
	a, b := make([]float64, n*n), make([]float64, n)
	perI := func(k int) float64 {
		switch l := &s.legs[k]; {
		case l.pipe < 0:
			s.resist(l)
			return 1 / l.inert
		case l.stuck && !opens[k] || s.isFixed(l):
			return 0
		default:
			return 1 / s.inertia(l)
		}
	}
	for i, node := range nodes {
		b[i] = s.inflow(node) - s.net.Nodes[node].Demand
		for _, r := range s.legsAt[node] {
			l := &s.legs[r.leg]
			g := perI(r.leg)
			a[i*n+i] += g
			if other := 1 - r.side; l.pipe >= 0 && l.e[other].at == atNode {
				if j := row[s.nodeOf(l, other)]; j >= 0 {
					a[i*n+j] -= g
				}
			}
		}
	}
	eliminate(a, b, n)
	out := make([]float64, len(s.legs))
	for k := range s.legs {
		l := &s.legs[k]
		if l.dead {
			continue
		}
		dp := 0.0
		for side := range l.e {
			if l.e[side].at == atNode && (l.pipe >= 0 || side == lower) {
				if j := row[s.nodeOf(l, side)]; j >= 0 {
					dp -= outward(side) * b[j]
				}
			}
		}
		if dp != 0 {
			out[k] = dp * perI(k)
		}
	}
	return out
}

// isFixed tells whether an end of a leg is shut.
func (s *sim) isFixed(l *leg) bool {
	for side := range l.e {
		if l.e[side].at == atNode && s.shutNode(s.nodeOf(l, side)) {
			return true
		}
	}
	return false
}
