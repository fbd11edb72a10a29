package column

import (
	"math"
)

// handle carries out an event.
func (s *sim) handle(w watch) {
	switch w.kind {
	case wStop:
		s.arrive(w)
	case wBack:
		s.drawBack(w)
	case wGone:
		s.meet(w.k)
	case wUsedUp:
		s.usedUp(w.k)
	case wRelease:
		if l := &s.legs[w.k]; s.beginning(l) >= 0 {
			s.hold(l)
		} else {
			l.e[w.side].at = free
		}
	case wDetach:
		e := &s.legs[w.k].e[w.side]
		e.at, e.w = free, s.endW(s.legs[w.k].pipe, w.side)
	case wCheck:
		s.turned(w.k)
	case wUncheck:
		l := &s.legs[w.k]
		l.stuck, l.active = false, true
		if s.beginning(l) < 0 {
			s.event(CheckOpen, l.pipe, l.e[lower].w, -1, nil)
		}
	case wSeal:
		s.seal(w.k)
	default:
		s.switchVent(w)
	}
	switch w.kind {
	case wCheck, wRelease, wUsedUp:
		s.impact()
	}
}

// beginning is the side at whose node a leg has only just begun, −1 where it has not: so little water that its front cannot draw back.
func (s *sim) beginning(l *leg) int {
	if l.pipe < 0 || (l.e[lower].at == atNode) == (l.e[upper].at == atNode) || l.e[upper].w-l.e[lower].w > 3*s.leastLeg(l) {
		return -1
	}
	if l.e[lower].at == atNode {
		return lower
	}
	return upper
}

// hold keeps a leg that has only just begun from drawing back into its node: it waits there until it is pushed out.
func (s *sim) hold(l *leg) {
	l.stuck, l.q, l.active, l.heldAt = true, 0, true, s.t
	l.oneWay = int8(-outward(s.beginning(l)))
	if way := s.checked(l); way != 0 {
		l.oneWay = way
	}
}

// turned is a leg whose flow would turn where it may run one way only.
func (s *sim) turned(k int) {
	l := &s.legs[k]
	if b := s.beginning(l); b >= 0 {
		if n := s.nodeOf(l, b); s.airEnters(l, n) {
			s.dryNode(n)
			return
		}
		s.hold(l)
		return
	}
	if s.oneWay(k); l.oneWay == 0 { // it was held at its beginning and has grown
		return
	}
	l.stuck, l.q = true, 0
	s.event(CheckShut, l.pipe, l.e[lower].w, -1, nil)
}

// airEnters tells whether air that pushes a beginning back into its node finds room there: at a junction to which nothing else brings water.
func (s *sim) airEnters(l *leg, n int) bool {
	if s.net.Nodes[n].Kind != Junction || s.net.Nodes[n].Hole > 0 {
		return false
	}
	leaves := false
	for _, r := range s.legsAt[n] {
		other := &s.legs[r.leg]
		if other.dead || other.pipe < 0 || other == l {
			continue
		}
		if outward(r.side)*other.q > 1e-3*s.areaOf(other) || other.oneWay != 0 && s.beginning(other) < 0 {
			return false
		}
		leaves = leaves || !other.fixed && s.beginning(other) < 0
	}
	return leaves
}

func (s *sim) switchVent(w watch) {
	v := &s.vents[w.k]
	kind := StageOn
	switch w.kind {
	case wStageOn:
		v.staged, v.rec.Staged = true, true
	case wStageOff:
		v.staged, kind = false, StageOff
	case wEarly:
		v.early, v.rec.Early, kind = true, true, ValveEarly
	case wReopen:
		v.early, kind = false, ValveReopens
	}
	p := &s.pockets[v.pocket]
	s.event(kind, v.pipe, v.w, v.index, p)
	if kind == ValveEarly && !s.vented(p) {
		s.event(Trapped, v.pipe, v.w, v.index, p)
	}
}

// vented tells whether any air can leave a pocket by a valve.
func (s *sim) vented(p *pocket) bool {
	for _, i := range p.vents {
		v := &s.vents[i]
		k := ventOut
		switch {
		case v.wet:
			continue
		case v.mouth.leg >= 0:
			return true
		case v.early:
			k = ventSmall
		case v.staged:
			k = ventStaged
		}
		if v.lin[k].o != nil {
			return true
		}
	}
	return false
}

// carries asks whether water that passes a crest goes on as a plug.
func (s *sim) carries(l *leg, side int) bool {
	if s.net.Carries == nil {
		return false
	}
	if p := s.facing(&l.e[side]); p != nil && p.p < s.net.Atmosphere && s.vented(p) { // its valve draws air in: nothing is driven ahead
		return false
	}
	sh := s.shape[l.pipe]
	slope := sh.slopeFrom(l.e[side].w, 2*side-1)
	c := sh.seg[sh.find(l.e[side].w, 0)]
	return slope > 0 && s.net.Carries(slope, c.bore, math.Abs(l.q)*c.perArea)
}

// arrive is a front that has come to what lies ahead of it.
func (s *sim) arrive(w watch) {
	l := &s.legs[w.k]
	e := &l.e[w.side]
	s.flat(l, w)
	switch {
	case w.vent >= 0:
		s.drown(w.vent)
	case w.check:
		s.atCheck(w)
	case w.crest:
		s.again(w)
		if s.carries(l, w.side) {
			e.passed = true
			for i := range s.vents {
				if v := &s.vents[i]; v.pipe == l.pipe && !v.wet && math.Abs(v.w-w.value) <= s.hair(l) {
					s.drown(i)
				}
			}
			return
		}
		if p := s.facing(e); p != nil && !p.open && len(p.ends) == 2 && p.v < 10*p.least { // what it meets there is another column
			s.meet(e.pocket)
			return
		}
		beyond := outward(w.side) * (e.w - w.value)
		e.at, e.w = held, w.value
		s.hand(s.runsTo(l.pipe, e.w, 2*w.side-1, ref{w.k, w.side}, 0), beyond, 0)
		s.event(Spills, l.pipe, e.w, -1, s.facing(e))
	default:
		s.atEnd(w.k, w.side)
	}
}

// flat notes a front that arrives over a stretch, even in its sense of slope, that rises or falls by less than a bore: its wedge is longer than
// the stretch.
func (s *sim) flat(l *leg, w watch) {
	sh := s.shape[l.pipe]
	dir := 2*w.side - 1
	at := sh.mark(w.value-float64(dir)*s.hair(l), 0)
	c := &sh.seg[at.seg]
	end := sh.mark(l.e[1-w.side].w, 0)
	i := at.seg
	for i != end.seg && sh.seg[i-dir].slope*c.slope > 0 {
		i -= dir
	}
	from := mark{i, 0}
	if i == end.seg {
		from = end
	} else if dir < 0 {
		from.dw = sh.w[i+1] - sh.w[i]
	}
	travel := math.Abs(sh.distanceAt(at) - sh.distanceAt(from))
	rise := math.Abs(sh.levelAt(at) - sh.levelAt(from))
	f := &s.res.Flat
	if !(travel > 5*c.bore) || rise >= c.bore || s.noted[NoteFlat] && f.Travel >= travel {
		return
	}
	s.note(NoteFlat)
	*f = Flat{Pipe: l.pipe, Distance: sh.distanceAt(at), Slope: rise / travel, Travel: travel, Wedge: sh.x[len(sh.x)-1]}
	if rise > 0 {
		f.Wedge = min(f.Wedge, c.bore*travel/rise)
	}
}

// facing is the pocket that an end faces, nil for none.
func (s *sim) facing(e *end) *pocket {
	if e.pocket < 0 || e.pocket >= len(s.pockets) {
		return nil
	}
	return &s.pockets[e.pocket]
}

// drown lets water shut a valve.
func (s *sim) drown(i int) {
	v := &s.vents[i]
	v.wet, v.early, v.staged = true, false, false
	v.rec.Wet, v.rec.WetSince = true, s.t
	if v.pocket < 0 || v.pipe < 0 {
		return
	}
	p := &s.pockets[v.pocket]
	s.event(ValveWet, v.pipe, v.w, v.index, p)
	if !p.open && !s.vented(p) && p.v > 20*p.least {
		s.event(Trapped, v.pipe, v.w, v.index, p)
	}
}

// atEnd is a front that has come to its pipe's end.
func (s *sim) atEnd(k, side int) {
	l := &s.legs[k]
	e := &l.e[side]
	n := s.nodeOf(l, side)
	for i := range s.vents { // what stands at the end itself
		if v := &s.vents[i]; v.pipe == l.pipe && !v.wet && math.Abs(v.w-s.endW(l.pipe, side)) <= s.hair(l) {
			s.drown(i)
		}
	}
	e.at = atNode
	beyond := outward(side) * (e.w - s.endW(l.pipe, side))
	e.w = s.endW(l.pipe, side)
	s.giveAt(k, 1-side, beyond)
	switch {
	case s.openNode(n):
		if s.res.Delivery == 0 {
			s.res.Delivery = s.t
		}
		s.event(Delivers, l.pipe, e.w, -1, nil)
	case s.shutNode(n):
		l.q = 0
	default:
		s.event(NodeWet, l.pipe, e.w, -1, s.facing(e))
		s.wetNode(n)
		s.impact()
	}
}

// wetNode lets the water that has come to a node stand at the beginnings of all its pipes.
func (s *sim) wetNode(n int) {
	for i := range s.vents {
		if v := &s.vents[i]; v.pipe < 0 && v.node == n {
			v.wet = true
		}
	}
	spare := 0.0
	var fresh []int
	for _, r := range s.at[n] {
		list := s.order[r.leg]
		w := s.endW(r.leg, r.side)
		near := -1
		if len(list) > 0 {
			near = list[0]
			if r.side == upper {
				near = list[len(list)-1]
			}
		}
		if near >= 0 {
			l := &s.legs[near]
			e := &l.e[r.side]
			switch {
			case e.at == atNode:
				spare += outward(r.side) * l.q
				continue
			case math.Abs(e.w-w) <= 2*s.leastLeg(l):
				gap := outward(r.side) * (w - e.w)
				e.at, e.w = atNode, w
				s.giveAt(near, 1-r.side, -gap)
				spare += outward(r.side) * l.q
				continue
			}
		}
		ends := [2]end{{at: free, w: w}, {at: free, w: w}}
		ends[r.side].at = atNode
		if s.shape[r.leg].falls(w, 1-2*r.side) {
			ends[1-r.side].at = held
		}
		k := s.newLeg(r.leg, ends[lower], ends[upper])
		s.legs[k].active = true
		s.oneWay(k)
		fresh = append(fresh, k)
	}
	for _, k := range fresh { // the new ones share what comes
		l := &s.legs[k]
		side := lower
		if l.e[upper].at == atNode {
			side = upper
		}
		l.q = -outward(side) * max(0, spare) / float64(len(fresh))
	}
	if s.net.Nodes[n].Hole > 0 && !s.hasHole(n) {
		k := s.newLeg(-1, end{at: atNode}, end{at: atNode})
		s.legs[k].node, s.legs[k].active, s.legs[k].oneWay = n, true, 1
	}
}

func (s *sim) hasHole(n int) bool {
	for k := range s.legs {
		if l := &s.legs[k]; !l.dead && l.pipe < 0 && l.node == n {
			return true
		}
	}
	return false
}

// dryNode lets air into a node: every leg there gets a front.
func (s *sim) dryNode(n int) {
	spare, keeps := 0.0, -1
	for _, r := range s.legsAt[n] {
		l := &s.legs[r.leg]
		if l.pipe < 0 {
			s.drop(r.leg)
			continue
		}
		l.e[r.side].at = free
		if v := l.e[upper].w - l.e[lower].w; v <= s.leastLeg(l) {
			spare += v
			s.drop(r.leg)
		} else {
			keeps = r.leg
			s.oneWay(r.leg)
			l.stuck = l.stuck && l.oneWay != 0
		}
	}
	switch {
	case spare == 0:
	case keeps >= 0:
		s.give(keeps, spare)
	default:
		s.puddles[s.puddleAt(-1, n, 0)].v += spare
	}
	for i := range s.vents {
		v := &s.vents[i]
		if v.pipe < 0 && v.node == n {
			v.wet = false
		}
	}
}

// drawBack is a front that has uncovered a valve, or moved past a low point.
func (s *sim) drawBack(w watch) {
	l := &s.legs[w.k]
	e := &l.e[w.side]
	e.passed = false
	if w.vent < 0 {
		p := s.facing(e)
		s.event(MovesOn, l.pipe, e.w, -1, p)
		s.note(NotePushedOn)
		return
	}
	for i := range s.vents {
		v := &s.vents[i]
		if v.pipe == l.pipe && v.wet && math.Abs(v.w-w.value) <= s.hair(l) {
			v.wet, v.rec.Wet = false, false
			s.event(ValveDry, v.pipe, v.w, v.index, s.facing(e))
		}
	}
}

// usedUp is a leg of which nothing is left.
func (s *sim) usedUp(k int) {
	l := &s.legs[k]
	for side := range l.e {
		if l.e[side].at != atNode {
			continue
		}
		n := s.nodeOf(l, side)
		left := outward(1-side) * (l.e[1-side].w - l.e[side].w)
		l.e[1-side].w = l.e[side].w
		s.giveNode(k, side, left, 0)
		s.hold(l)
		s.event(Clears, l.pipe, l.e[side].w, -1, nil)
		wet := false
		for _, r := range s.legsAt[n] {
			other := &s.legs[r.leg]
			wet = wet || !other.dead && other.pipe >= 0 && s.beginning(other) < 0
		}
		if s.net.Nodes[n].Kind == Junction && !wet {
			s.dryNode(n)
		}
		return
	}
	s.event(Clears, l.pipe, l.e[lower].w, -1, nil)
	ends := [2]float64{l.e[lower].w, l.e[upper].w}
	s.drop(k)
	s.hand(s.downFrom(l.pipe, ends), ends[upper]-ends[lower], 0)
}

// downFrom is where the water of a plug that stood between two places goes when air has broken through it: to the low point within it,
// or down from its lower end.
func (s *sim) downFrom(pipe int, ends [2]float64) target {
	sh := s.shape[pipe]
	for _, t := range sh.turns {
		if !t.crest && t.w >= ends[lower] && t.w <= ends[upper] {
			return target{kind: ontoPuddle, puddle: s.puddleAt(pipe, -1, t.w)}
		}
	}
	side := lower
	if sh.levelAt(sh.mark(ends[upper], 0)) < sh.levelAt(sh.mark(ends[lower], 0)) {
		side = upper
	}
	return s.runsTo(pipe, ends[side], 2*side-1, ref{-1, 0}, 0)
}

// seal makes a column of a puddle that has closed the bore.
func (s *sim) seal(i int) {
	q := &s.puddles[i]
	comes := [2]float64{} // from below w, from above
	for _, r := range q.from {
		side := lower
		if r.side == lower {
			side = upper
		}
		comes[side] += outward(r.side) * s.legs[r.leg].q
	}
	if q.node >= 0 {
		s.sealNode(q)
		return
	}
	f := q.v / q.seal
	a, b := s.between(q.pipe, q.w, q.w-q.spread[0]*f, q.w+q.spread[1]*f)
	k := s.newLeg(q.pipe, end{at: free, w: a}, end{at: free, w: b})
	l := &s.legs[k]
	l.active, l.thin = true, 0.5*q.v
	s.oneWay(k)
	// Both levels rise alike: what comes from below passes in proportion to the length that the other limb takes for a height.
	all := q.spread[0] + q.spread[1]
	l.q = comes[lower]*q.spread[1]/all - comes[upper]*q.spread[0]/all
	l.stuck = l.oneWay != 0 && float64(l.oneWay)*l.q <= 0
	q.used, q.v = false, 0
	s.event(Pools, q.pipe, q.w, -1, nil)
}

// between moves a length of water from a to b about w so that it overlaps no other: fronts may have drawn near since its spread was reckoned.
func (s *sim) between(pipe int, w, a, b float64) (from, to float64) {
	lo, hi := 0.0, s.shape[pipe].total()
	for _, k := range s.order[pipe] {
		if e := &s.legs[k].e; e[upper].w <= w {
			lo = max(lo, e[upper].w)
		} else if e[lower].w >= w {
			hi = min(hi, e[lower].w)
		}
	}
	move := max(0, lo-a)
	a, b = a+move, b+move
	move = max(0, b-hi)
	return max(lo, a-move), b - move
}

// sealNode makes columns of a puddle at a node, in all its pipes in proportion to their lengths for a height.
func (s *sim) sealNode(q *puddle) {
	n := q.node
	v := q.v
	q.used, q.v = false, 0
	s.wetNode(n)
	sum := 0.0
	for _, r := range s.at[n] {
		sum += s.wedge(r.leg, s.endW(r.leg, r.side), 1-2*r.side)
	}
	for _, r := range s.at[n] {
		part := v * s.wedge(r.leg, s.endW(r.leg, r.side), 1-2*r.side) / sum
		for _, k := range s.order[r.leg] {
			if l := &s.legs[k]; l.e[r.side].at == atNode {
				l.q = 0
				if l.e[1-r.side].at == held {
					l.e[1-r.side].at = free
				}
				s.give(k, part)
			}
		}
		s.event(Pools, r.leg, s.endW(r.leg, r.side), -1, nil)
	}
}

// oneWay finds whether a check valve or a station lets a leg flow one way only.
func (s *sim) oneWay(k int) {
	l := &s.legs[k]
	if l.pipe < 0 {
		l.oneWay = 1
		return
	}
	l.oneWay = 0
	if b := s.beginning(l); b >= 0 {
		if nd := &s.net.Nodes[s.nodeOf(l, b)]; nd.Kind == Station && nd.Pumps == nil && nd.Flow > 0 { // it gives its flow whatever it takes
			return
		}
		l.oneWay = int8(-outward(b))
	}
	if way := s.checked(l); way != 0 {
		l.oneWay = way
	}
	for side := range l.e {
		if l.e[side].at != atNode {
			continue
		}
		nd := &s.net.Nodes[s.nodeOf(l, side)]
		if nd.Kind == Station && !nd.NoCheck && nd.Pumps != nil {
			l.oneWay = int8(-outward(side))
		}
	}
}

// checked is the direction that a check valve in a leg, or at one of its ends, lets it take; 0: both.
func (s *sim) checked(l *leg) int8 {
	hair := s.hair(l)
	for _, c := range s.shape[l.pipe].checks {
		if c.w >= l.e[lower].w-hair && c.w <= l.e[upper].w+hair {
			return c.way()
		}
	}
	return 0
}

// atCheck is a front that has come to a check valve: it passes it and may not come back, or it stands on it.
func (s *sim) atCheck(w watch) {
	l := &s.legs[w.k]
	s.oneWay(w.k)
	if float64(l.oneWay)*outward(w.side) > 0 {
		return
	}
	l.stuck, l.q, l.active = true, 0, true
	s.event(CheckShut, l.pipe, w.value, -1, nil)
}

// partBores is the length of the first gap where water parts, in bores.
const partBores = 0.1

// part lets air into a full pipe at a valve that admits it, where the head has fallen below the atmosphere.
func (s *sim) part(i int) {
	v := &s.vents[i]
	for _, k := range s.order[v.pipe] {
		l := &s.legs[k]
		if !(l.e[lower].w < v.w && v.w < l.e[upper].w) {
			continue
		}
		gap, room := partBores/goneShare*s.leastLeg(l), 2*s.plug0(l)
		low, high := v.w, v.w+gap // the column that goes on keeps its crest
		if l.q < 0 {
			low, high = v.w-gap, v.w
		}
		if low-room <= l.e[lower].w || high+room >= l.e[upper].w {
			return
		}
		q, top := l.q, l.e[upper]
		first := end{at: free, w: low}
		second := end{at: free, w: high}
		sh := s.shape[v.pipe]
		if q >= 0 && (sh.falls(v.w, 1) || sh.slopeFrom(v.w, 1) >= 0) { // what goes on runs down beneath the air that comes in
			first.at = held
		}
		if q <= 0 && (sh.falls(v.w, -1) || sh.slopeFrom(v.w, -1) >= 0) {
			second.at = held
		}
		stuck := l.oneWay
		l.e[upper] = first
		l.e[upper].i, l.e[upper].pocket = -1, -1
		n := s.newLeg(v.pipe, second, top)
		s.legs[n].q, s.legs[n].active = q, true
		s.legs[k].active = true
		if stuck != 0 {
			s.oneWay(k)
			s.oneWay(n)
		}
		if !s.giveAt(n, upper, gap) { // the water that stood in the gap
			s.giveAt(k, lower, gap)
		}
		v.wet, v.rec.Wet = false, false
		v.parted++
		s.event(Parts, v.pipe, v.w, v.index, nil)
		return
	}
}
