package column

import (
	"math"

	"obvert/physics/opening"
)

// number gives every body that moves its unknowns, in the order in which they lie along the pipes, so that what hangs together has
// numbers close together; and lists what is followed. Bodies at rest between pockets in balance have none and cost nothing.
func (s *sim) number() {
	s.y, s.abs = s.y[:0], s.abs[:0]
	s.moving, s.watched, s.filling, s.breathing, s.rising, s.boosting, s.stations = s.moving[:0], s.watched[:0], s.filling[:0], s.breathing[:0], s.rising[:0], s.boosting[:0], s.stations[:0]
	s.listNodes()
	s.wake()
	for i := range s.pockets {
		s.pockets[i].ri, s.pockets[i].active = -1, false
	}
	for i := range s.vents {
		s.vents[i].ai = -1
	}
	for i := range s.net.Nodes {
		s.li[i], s.bi[i] = -1, -1
		if !s.wet[i] {
			s.boost[i] = 0
		}
	}
	for i := range s.puddles {
		s.puddles[i].vi = -1
	}
	for p := range s.net.Pipes {
		for _, k := range s.order[p] {
			s.numberLeg(k)
		}
		for _, sp := range s.firstSpans(p) {
			s.numberPocket(sp)
		}
	}
	for k := range s.legs {
		if l := &s.legs[k]; !l.dead && l.pipe < 0 {
			s.numberLeg(k)
		}
	}
	for i := range s.puddles {
		if q := &s.puddles[i]; q.used && len(q.from) > 0 && q.vi < 0 {
			s.numberPuddle(i)
		}
	}
	s.listHeads()
	s.bandwidth()
	s.watch()
}

// listNodes lists the legs that end at each node.
func (s *sim) listNodes() {
	if s.legsAt == nil {
		s.legsAt = make([][]ref, len(s.net.Nodes))
		s.pumpBound = make([]bool, len(s.net.Nodes))
		s.heads.h = make([]float64, len(s.net.Nodes))
		s.heads.row = make([]int, len(s.net.Nodes))
	}
	for n := range s.legsAt {
		s.legsAt[n] = s.legsAt[n][:0]
	}
	for k := range s.legs {
		l := &s.legs[k]
		if l.dead {
			continue
		}
		for side := range l.e {
			if l.e[side].at == atNode && (l.pipe >= 0 || side == lower) {
				n := s.nodeOf(l, side)
				s.legsAt[n] = append(s.legsAt[n], ref{k, side})
			}
		}
	}
}

// wake decides which legs move: those that did, those onto which water spills, those whose ends differ by more than restHead, and
// all that are joined to one of them by water.
func (s *sim) wake() {
	for k := range s.legs {
		l := &s.legs[k]
		if l.dead {
			continue
		}
		l.fixed = false
		for side := range l.e {
			e := &l.e[side]
			if len(e.from) > 0 {
				l.active = true
			}
			if e.at == atNode && l.pipe >= 0 && s.shutNode(s.nodeOf(l, side)) {
				l.fixed, l.q = true, 0
			}
		}
	}
	for again := true; again; {
		again = false
		for n := range s.legsAt {
			if s.net.Nodes[n].Kind == Tank || len(s.legsAt[n]) < 2 {
				continue
			}
			any := false
			for _, r := range s.legsAt[n] {
				any = any || s.legs[r.leg].active
			}
			for _, r := range s.legsAt[n] {
				if l := &s.legs[r.leg]; any && !l.active {
					l.active, again = true, true
				}
			}
		}
	}
}

// unknown adds one.
func (s *sim) unknown(v, abs float64) int {
	s.y, s.abs = append(s.y, v), append(s.abs, abs)
	return len(s.y) - 1
}

// numberLeg gives a leg its unknowns, with the pockets at its ends between them.
func (s *sim) numberLeg(k int) {
	l := &s.legs[k]
	l.qi, l.xi = -1, -1
	for side := range l.e {
		l.e[side].i = -1
	}
	if !l.active {
		return
	}
	area, tol := s.areaOf(l), s.set.tolerance()
	s.moving, s.watched = append(s.moving, k), append(s.watched, k)
	if p := l.e[lower].pocket; p >= 0 {
		s.numberPocket(p)
	}
	if n := s.nodeOf(l, lower); l.pipe >= 0 && l.e[lower].at == atNode {
		s.numberTank(n)
	}
	front := func(side int) {
		if e := &l.e[side]; e.at == free && (!l.fixed && !l.stuck || len(e.from) > 0) {
			e.ref = e.w
			e.i = s.unknown(0, 20*tol*area)
		}
	}
	front(lower)
	if !l.fixed && !l.stuck {
		l.qi = s.unknown(l.q, tol*area)
		if s.counts(l) {
			l.x = 0
			l.xi = s.unknown(0, 1e3*area)
		}
	} else {
		l.q = 0
	}
	front(upper)
	if l.pipe >= 0 && l.e[upper].at == atNode {
		s.numberTank(s.nodeOf(l, upper))
	}
	if p := l.e[upper].pocket; p >= 0 {
		s.numberPocket(p)
	}
}

// counts tells whether what passes a leg goes into or out of the line, so that it must be added up.
func (s *sim) counts(l *leg) bool {
	if l.pipe < 0 {
		return true
	}
	for side := range l.e {
		e := &l.e[side]
		switch {
		case e.at == held && (e.to.kind == outOfLine || e.to.kind == nowhere):
			return true
		case e.at == atNode:
			nd := &s.net.Nodes[s.nodeOf(l, side)]
			if nd.Kind != Junction || nd.Demand > 0 {
				return true
			}
		}
	}
	return false
}

func (s *sim) areaOf(l *leg) float64 {
	if l.pipe < 0 {
		return s.net.Nodes[l.node].Hole
	}
	sh := s.shape[l.pipe]
	return sh.seg[sh.find(l.e[upper].w, l.e[upper].hint)].area
}

func (s *sim) numberPocket(k int) {
	p := &s.pockets[k]
	if p.active {
		return
	}
	p.active = true
	s.breathing = append(s.breathing, k)
	for _, i := range p.pudd {
		if q := &s.puddles[i]; len(q.from) > 0 && q.vi < 0 {
			s.numberPuddle(i)
		}
	}
	if p.open || len(p.vents) == 0 {
		return
	}
	p.mass = p.m
	p.ri = s.unknown(p.rho, s.rhoA)
	for _, i := range p.vents {
		v := &s.vents[i]
		v.a = 0
		v.ai = s.unknown(0, s.rhoA*p.area) // follows the mass: needs no control of its own
	}
}

func (s *sim) numberPuddle(i int) {
	q := &s.puddles[i]
	q.vi = s.unknown(q.v, 0.1*q.seal)
	s.filling = append(s.filling, i)
}

func (s *sim) numberTank(n int) {
	nd := &s.net.Nodes[n]
	if nd.Booster && nd.Pumps != nil && s.bi[n] < 0 {
		s.bi[n] = s.unknown(s.boost[n], 0.02)
		s.boosting = append(s.boosting, n)
	}
	if nd.Kind == Tank && nd.Area > 0 && s.li[n] < 0 {
		s.li[n] = s.unknown(s.level[n], 1e-3)
		s.rising = append(s.rising, n)
	}
}

// firstSpans are the pockets of a pipe that still breathe towards balance though no leg beside them moves.
func (s *sim) firstSpans(pipe int) []int {
	s.picked = s.picked[:0]
	for k := range s.pockets {
		p := &s.pockets[k]
		if p.active || p.open || p.spans[0].pipe != pipe || len(p.vents) == 0 {
			continue
		}
		if math.Abs(p.p-s.net.Atmosphere) > 2*opening.DefaultBelow {
			s.picked = append(s.picked, k)
		}
	}
	return s.picked
}

// listHeads lists the nodes whose head is unknown, the stations that run, and the legs at rest that must be watched.
func (s *sim) listHeads() {
	s.heads.nodes = s.heads.nodes[:0]
	for n := range s.net.Nodes {
		s.heads.row[n] = -1
		if len(s.legsAt[n]) == 0 {
			continue
		}
		nd := &s.net.Nodes[n]
		switch {
		case nd.Kind == Junction:
			s.heads.nodes = append(s.heads.nodes, n)
		case nd.Kind == Station && (nd.Pumps != nil || nd.Flow > 0):
			s.stations = append(s.stations, n)
			if nd.Flow > 0 {
				s.heads.nodes = append(s.heads.nodes, n)
			}
		}
	}
	for k := range s.legs {
		l := &s.legs[k]
		if l.dead || l.active {
			continue
		}
		near := l.pipe < 0
		for side := range l.e {
			e := &l.e[side]
			near = near || e.pocket >= 0 && s.pockets[e.pocket].active || e.at == atNode && s.driven(l, side)
		}
		if near && !l.fixed {
			s.watched = append(s.watched, k)
		}
	}
}

// driven tells whether what stands at a leg's node may change its head.
func (s *sim) driven(l *leg, side int) bool {
	n := s.nodeOf(l, side)
	nd := &s.net.Nodes[n]
	return nd.Kind != Closed && nd.Kind != Outlet
}

// bandwidth finds how far from the diagonal the derivative by the unknowns reaches.
func (s *sim) bandwidth() {
	s.low, s.up = 0, 0
	mark := func(row, col int) {
		if row >= 0 && col >= 0 {
			s.low, s.up = max(s.low, row-col), max(s.up, col-row)
		}
	}
	air := func(row, k int) {
		if k < 0 {
			return
		}
		p := &s.pockets[k]
		mark(row, p.ri)
		for _, r := range p.ends {
			mark(row, s.legs[r.leg].e[r.side].i)
		}
		for _, q := range p.pudd {
			mark(row, s.puddles[q].vi)
		}
	}
	own := func(row int, l *leg) {
		mark(row, l.qi)
		for side := range l.e {
			mark(row, l.e[side].i)
			air(row, l.e[side].pocket)
			if l.e[side].at == atNode && l.pipe >= 0 {
				mark(row, s.li[s.nodeOf(l, side)])
			}
		}
	}
	for _, k := range s.moving {
		l := &s.legs[k]
		own(l.qi, l)
		mark(l.xi, l.qi)
		for side := range l.e {
			e := &l.e[side]
			mark(e.i, l.qi)
			for _, r := range e.from {
				mark(e.i, s.legs[r.leg].qi)
			}
		}
	}
	for _, k := range s.breathing {
		p := &s.pockets[k]
		air(p.ri, k)
		for _, i := range p.vents {
			mark(p.ri, s.vents[i].ai)
			mark(s.vents[i].ai, p.ri)
		}
		for _, r := range p.ends {
			l := &s.legs[r.leg]
			mark(p.ri, l.qi)
			for _, f := range l.e[r.side].from {
				mark(p.ri, s.legs[f.leg].qi)
			}
		}
		for _, q := range p.pudd {
			for _, f := range s.puddles[q].from {
				mark(p.ri, s.legs[f.leg].qi)
			}
		}
	}
	for _, i := range s.filling {
		for _, r := range s.puddles[i].from {
			mark(s.puddles[i].vi, s.legs[r.leg].qi)
		}
	}
	s.joined(own, mark)
}

// joined marks what hangs together through nodes whose heads are found together.
func (s *sim) joined(own func(int, *leg), mark func(int, int)) {
	for _, n := range s.rising {
		for _, r := range s.legsAt[n] {
			mark(s.li[n], s.legs[r.leg].qi)
		}
	}
	group := make([]int, len(s.net.Nodes))
	for i := range group {
		group[i] = i
	}
	for _, k := range s.moving {
		if l := &s.legs[k]; l.pipe >= 0 && l.e[lower].at == atNode && l.e[upper].at == atNode {
			a, b := root(group, s.nodeOf(l, lower)), root(group, s.nodeOf(l, upper))
			if s.isUnknown(s.nodeOf(l, lower)) && s.isUnknown(s.nodeOf(l, upper)) {
				group[max(a, b)] = min(a, b)
			}
		}
	}
	for _, n := range s.heads.nodes {
		for _, r := range s.legsAt[n] {
			for _, m := range s.heads.nodes {
				if root(group, m) != root(group, n) {
					continue
				}
				mark(s.legs[r.leg].qi, s.bi[m])
				for _, other := range s.legsAt[m] {
					own(s.legs[r.leg].qi, &s.legs[other.leg])
					own(s.bi[n], &s.legs[other.leg])
				}
			}
		}
	}
	for _, n := range s.stations {
		for _, r := range s.legsAt[n] {
			for _, other := range s.legsAt[n] {
				mark(s.legs[r.leg].qi, s.legs[other.leg].qi)
			}
		}
	}
}
