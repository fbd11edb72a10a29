package column

import (
	"math"
)

// load takes the unknowns into the bodies they belong to.
func (s *sim) load(y []float64) {
	for _, k := range s.moving {
		l := &s.legs[k]
		if l.qi >= 0 {
			l.q = y[l.qi]
		}
		if l.xi >= 0 {
			l.x = y[l.xi]
		}
		for side := range l.e {
			if e := &l.e[side]; e.i >= 0 {
				e.w = e.ref + y[e.i]
			}
		}
	}
	for _, k := range s.filling {
		s.puddles[k].v = y[s.puddles[k].vi]
	}
	for _, k := range s.breathing {
		p := &s.pockets[k]
		s.fill(p)
		switch {
		case p.open:
		case p.ri >= 0:
			p.rho = y[p.ri]
			p.m = p.mass
			for _, i := range p.vents {
				v := &s.vents[i]
				v.a = y[v.ai]
				p.m -= v.a
			}
			p.p = s.pressure(p.c, max(p.rho, 1e-9))
		default:
			p.rho = max(p.m, 1e-6*s.rhoA*p.least) / max(p.v, 0.05*p.least)
			p.p = s.pressure(p.c, p.rho)
		}
	}
	for _, n := range s.rising {
		s.level[n] = y[s.li[n]]
	}
	for _, n := range s.boosting {
		s.boost[n] = y[s.bi[n]]
	}
}

// scale sets the allowed errors. That of a front shrinks with the pocket before it: its pressure hangs on what is left of it.
func (s *sim) scale(_ float64, y, scale []float64) {
	copy(scale, s.abs)
	tol := s.set.tolerance()
	for _, k := range s.moving {
		l := &s.legs[k]
		if l.qi >= 0 {
			scale[l.qi] += 0.1 * tol * math.Abs(y[l.qi])
		}
		for side := range l.e {
			if e := &l.e[side]; e.i >= 0 {
				if p := s.facing(e); p != nil && !p.open {
					scale[e.i] = min(scale[e.i], 0.1*max(p.v, p.least))
				}
			}
		}
	}
	for _, k := range s.breathing {
		if p := &s.pockets[k]; p.ri >= 0 {
			scale[p.ri] = 0.1 * tol * math.Abs(y[p.ri])
			for _, i := range p.vents {
				scale[s.vents[i].ai] = 0.1*tol*math.Abs(p.m) + 0.1*s.rhoA*p.least
			}
		}
	}
}

// longest keeps a step from passing the end of a pocket: it may come to where half of what counts as gone is left.
func (s *sim) longest(_ float64, _ []float64) float64 {
	h := math.Inf(1)
	for _, k := range s.breathing {
		p := &s.pockets[k]
		if p.open {
			continue
		}
		shrinks := 0.0
		for _, r := range p.ends {
			e := &s.legs[r.leg].e[r.side]
			if e.i < 0 {
				continue
			}
			shrinks += outward(r.side) * s.legs[r.leg].q
			for _, f := range e.from {
				shrinks += outward(f.side) * s.legs[f.leg].q
			}
		}
		if shrinks > 0 && p.v > p.least {
			share := 1.0
			if p.v > 50*p.least { // not at one go: a step that is refused costs more than two
				share = 0.9
			}
			h = min(h, share*(p.v-0.5*p.least)/shrinks)
		}
	}
	return h
}

// rates is y' = f(t, y).
func (s *sim) rates(t float64, y, d []float64) {
	s.load(y)
	clear(d)
	s.forces(t)
	s.fresh = t
	for _, k := range s.moving {
		l := &s.legs[k]
		if l.qi >= 0 {
			d[l.qi] = l.dq
		}
		if l.xi >= 0 {
			d[l.xi] = l.q
		}
		for side := range l.e {
			e := &l.e[side]
			if e.i < 0 {
				continue
			}
			sum := l.q
			for _, r := range e.from {
				from := &s.legs[r.leg]
				sum += outward(side) * outward(r.side) * from.q
			}
			d[e.i] = sum
		}
	}
	for _, k := range s.filling {
		q := &s.puddles[k]
		for _, r := range q.from {
			d[q.vi] += outward(r.side) * s.legs[r.leg].q
		}
	}
	for _, k := range s.breathing {
		p := &s.pockets[k]
		if p.ri < 0 {
			continue
		}
		out := 0.0
		for _, i := range p.vents {
			v := &s.vents[i]
			v.out = s.pass(v, p.p, max(p.rho, 1e-9))
			d[v.ai] = v.out
			out += v.out
		}
		d[p.ri] = s.denser(p, out, d)
	}
	for _, n := range s.rising {
		d[s.li[n]] = s.inflow(n) / s.net.Nodes[n].Area
	}
	for _, n := range s.boosting {
		d[s.bi[n]] = s.throttle(n, t)
	}
}

// A booster's drive gives way in proportion, from suctionHigh (m before it) to nothing at suctionLow, and, where it is throttled, from a
// flow flowBand below the one allowed to as much above it. It follows within driveTime, s. In proportion, since a drive that integrates
// swings against the columns' inertia without damping (assumptions, no source).
const (
	suctionHigh = 2.5
	suctionLow  = 0.5
	flowBand    = 0.05
	driveTime   = 1.0
)

// throttle is how fast a booster's drive opens, 1/s; it stays between shut (0) and full (1).
func (s *sim) throttle(n int, t float64) float64 {
	r := s.at[n][0]
	nd := &s.net.Nodes[n]
	wanted := (s.heads.h[n] - s.shape[r.leg].level[r.side] - suctionLow) / (suctionHigh - suctionLow)
	if nd.Flow > 0 && (nd.FreeAt == 0 || t < nd.FreeAt) {
		wanted = min(wanted, (1+flowBand-s.drawn(n)/nd.Flow)/(2*flowBand))
	}
	return (min(max(wanted, 0), 1) - s.boost[n]) / driveTime
}

// drawn is what a booster delivers: the flow of all pipes that begin at it.
func (s *sim) drawn(n int) float64 {
	out := 0.0
	for _, r := range s.legsAt[n] {
		if r.side == lower && s.legs[r.leg].pipe >= 0 {
			out += s.legs[r.leg].q
		}
	}
	return out
}

// lifts is what a booster's pumps add, at the flow of all pipes that begin at it.
func (s *sim) lifts(n int) float64 {
	h, _ := s.net.Nodes[n].Pumps.Head(max(0, s.drawn(n)))
	return max(0, h) * min(1, max(0, s.boost[n]))
}

// denser is dρ/dt of a pocket: what its volume loses less what its vents let out. Density, not mass, is followed, since it stays smooth
// while mass and volume both go to nothing; the mass is kept apart by what passed the vents, and the density is drawn towards mass over
// volume as long as there is volume enough for that to mean something.
func (s *sim) denser(p *pocket, out float64, d []float64) float64 {
	grows := 0.0
	for _, r := range p.ends {
		if i := s.legs[r.leg].e[r.side].i; i >= 0 {
			grows -= outward(r.side) * d[i]
		}
	}
	for _, k := range p.pudd {
		if i := s.puddles[k].vi; i >= 0 {
			grows -= d[i]
		}
	}
	v := max(p.v, 0.05*p.least)
	enough := v / (v + drawVolume*p.least)
	return (-out-p.rho*grows)/v + enough/drawTime*(p.m/v-p.rho)
}

// The density is drawn towards mass over volume within drawTime, s, in pockets well above drawVolume times the volume that counts as gone.
const (
	drawTime   = 20.0
	drawVolume = 3000.0
)

// inflow is the water that comes to a node through its pipes, m³/s.
func (s *sim) inflow(n int) float64 {
	sum := 0.0
	for _, r := range s.legsAt[n] {
		sum += outward(r.side) * s.legs[r.leg].q
	}
	return sum
}

// forces finds the acceleration of every leg that moves or might.
func (s *sim) forces(t float64) {
	for _, k := range s.watched {
		s.resist(&s.legs[k])
	}
	s.solveHeads(t)
	for _, k := range s.watched {
		l := &s.legs[k]
		for side := range l.e {
			if l.e[side].at == atNode && l.pipe >= 0 || l.pipe < 0 && side == lower {
				l.e[side].e = s.nodeEnergy(l, side)
			}
		}
		l.dq = (l.e[lower].e - l.e[upper].e - l.lost) / l.inert
	}
}

// resist finds a leg's inertia, its friction and the energy at its fronts.
func (s *sim) resist(l *leg) {
	if l.pipe < 0 {
		nd := &s.net.Nodes[l.node]
		g := s.net.Gravity
		bore := nd.HoleBore
		if bore == 0 {
			bore = math.Sqrt(4 * nd.Hole / math.Pi)
		}
		l.inert = bore / (g * math.Pi / 4 * bore * bore)
		l.lost = l.q * math.Abs(l.q) / (2 * g * nd.Hole * nd.Hole)
		l.e[upper].e = nd.HoleLevel
		return
	}
	sh := s.shape[l.pipe]
	a, b := &l.e[lower], &l.e[upper]
	ma, mb := sh.mark(a.w, a.hint), sh.mark(b.w, b.hint)
	a.hint, b.hint = ma.seg, mb.seg
	if now := [3]float64{l.q, a.w, b.w}; now != l.at || l.inert == 0 {
		c := &sh.seg[ma.seg]
		l.at = now
		l.inert = max(sh.inertAt(mb)-sh.inertAt(ma), c.bore*c.inert*c.area) // not less than one bore of length
		l.lost = sh.lost(ma, mb, l.q)
	}
	for side, m := range [2]mark{ma, mb} {
		e := &l.e[side]
		if e.at == atNode {
			continue
		}
		c := &sh.seg[m.seg]
		e.e = sh.levelAt(m) + c.speed*l.q*l.q
		if e.pocket >= 0 {
			e.e += s.gauge(s.pockets[e.pocket].p)
		}
		if e.at == held {
			e.e -= 0.5 * c.bore // spills at the invert
		}
	}
}

// velocityHead is that in a leg at a side, m.
func (s *sim) velocityHead(l *leg, side int) float64 {
	if l.pipe < 0 {
		return 0
	}
	e := &l.e[side]
	sh := s.shape[l.pipe]
	return sh.seg[sh.find(e.w, e.hint)].speed * l.q * l.q
}

// nodeEnergy is the head of energy in the pipe at the node where a leg ends.
func (s *sim) nodeEnergy(l *leg, side int) float64 {
	n := s.nodeOf(l, side)
	nd := &s.net.Nodes[n]
	in := -outward(side) * l.q // into the pipe
	switch nd.Kind {
	case Tank:
		return s.level[n] + s.entry(nd, l, side, in)
	case Outlet:
		if l.pipe >= 0 {
			return s.shape[l.pipe].level[side] + s.velocityHead(l, side)
		}
	case Station:
		if nd.Pumps == nil && nd.Flow == 0 { // at rest, passed freely or shut
			return s.level[n] + s.entry(nd, l, side, in)
		}
		return s.heads.h[n] + s.entry(nd, l, side, in)
	case Junction:
		return s.heads.h[n] + s.nodeExtra(l, side)
	}
	return s.heads.h[n]
}

// entry is what a tank or station adds to its level: a loss where water enters the pipe, the velocity head that is lost where it leaves.
func (s *sim) entry(nd *Node, l *leg, side int, in float64) float64 {
	v := s.velocityHead(l, side)
	if in >= 0 {
		return -nd.Loss * v
	}
	return v
}

// ramp is how far a station has been run up.
func (n *Node) ramp(t float64) float64 {
	return min(1, max(0, t/n.ramp0()))
}

// ramp0 is the time in which a station is run up.
func (n *Node) ramp0() float64 {
	if n.Ramp == 0 {
		return 1
	}
	return n.Ramp
}

// throttled tells whether a station's flow is held down.
func (n *Node) throttled(t float64) bool {
	return n.Kind == Station && n.Flow > 0 && (n.FreeAt == 0 || t < n.FreeAt || n.Pumps == nil)
}

// lift is the head that a station's pumps give a flow at a time, by affinity while they run up.
func (n *Node) lift(q, t float64) float64 {
	if n.Pumps == nil {
		return math.Inf(1) // held to its flow whatever it takes
	}
	r := max(n.ramp(t), 0.01)
	h, _ := n.Pumps.Head(max(q, 0) / r)
	return h * r * r
}

// nodeHeads are the heads of energy at nodes where none is given.
type nodeHeads struct {
	h     []float64
	nodes []int // unknown: wet junctions and throttled stations
	row   []int // by node, −1
	a, b  []float64
}

// throttleTime is how fast a throttled station, and an off-take, comes to its flow, s.
const throttleTime = 0.5

// solveHeads finds the heads of wet junctions, where the flows of all legs must go on balancing, and of stations: a station's head is what its
// pumps give, or less where a throttle holds its flow.
func (s *sim) solveHeads(t float64) {
	h := &s.heads
	for _, n := range s.stations {
		nd := &s.net.Nodes[n]
		s.pumpBound[n] = false
		if !nd.throttled(t) {
			h.h[n] = s.level[n] + nd.lift(-s.inflow(n), t)
			h.row[n] = -1
		}
	}
	for pass := 0; pass <= len(s.stations); pass++ {
		if len(h.nodes) == 0 {
			return
		}
		s.assemble(t)
		if s.limitByPumps(t) {
			return
		}
	}
}

// assemble sets up and solves Σ s·dQ/dt = (wanted − Σ s·Q)/τ for the unknown heads.
func (s *sim) assemble(t float64) {
	h := &s.heads
	n := 0
	for _, node := range h.nodes {
		nd := &s.net.Nodes[node]
		if nd.Kind == Station && (!nd.throttled(t) || s.pumpBound[node]) {
			h.row[node] = -1
			continue
		}
		h.row[node] = n
		n++
	}
	h.a, h.b = fitted(h.a, n*n), fitted(h.b, n)
	clear(h.a)
	clear(h.b)
	for _, node := range h.nodes {
		i := h.row[node]
		if i < 0 {
			continue
		}
		nd := &s.net.Nodes[node]
		want := nd.Demand // towards the node
		if nd.Kind == Station {
			want = -nd.Flow * nd.ramp(t)
		}
		h.b[i] = (s.inflow(node) - want) / throttleTime
		moves := false
		for _, r := range s.legsAt[node] {
			l := &s.legs[r.leg]
			if l.qi < 0 {
				continue
			}
			moves = true
			g := 1 / l.inert
			// dQ out of the node's view: outward(side)·dq = outward(side)·(Ea − Eb − lost)/I
			h.a[i*n+i] += g
			sgn := outward(r.side)
			h.b[i] -= sgn * l.lost * g
			h.b[i] -= g * s.nodeExtra(l, r.side)
			other := 1 - r.side
			if l.pipe >= 0 && l.e[other].at == atNode {
				m := s.nodeOf(l, other)
				if j := h.row[m]; j >= 0 && s.isUnknown(m) {
					h.a[i*n+j] -= g
					h.b[i] += g * s.nodeExtra(l, other)
					continue
				}
				l.e[other].e = s.nodeEnergy(l, other)
			}
			h.b[i] += g * l.e[other].e
		}
		if !moves {
			h.a[i*n+i], h.b[i] = 1, s.restHead(node)
		}
	}
	eliminate(h.a, h.b, n)
	for _, node := range h.nodes {
		if i := h.row[node]; i >= 0 {
			h.h[node] = h.b[i]
		}
	}
}

// isUnknown tells whether a node's head is among those solved for.
func (s *sim) isUnknown(n int) bool {
	k := s.net.Nodes[n].Kind
	return k == Junction || k == Station
}

// nodeExtra is what a leg's energy at a node is above the node's own head.
func (s *sim) nodeExtra(l *leg, side int) float64 {
	n := s.nodeOf(l, side)
	nd := &s.net.Nodes[n]
	in := -outward(side) * l.q
	switch {
	case nd.Kind == Station:
		return s.entry(nd, l, side, in)
	case in < 0:
		return s.mixing(n, l, side) * s.velocityHead(l, side)
	case nd.Booster && nd.Pumps != nil && side == lower && l.pipe >= 0:
		return s.lifts(n)
	}
	return 0
}

// mixing is the share of its velocity head that a column loses where it enters a junction: all of it where three or more pipes meet
// (about that of a tee; common practice, no source); next to none where two long columns pass into one another.
func (s *sim) mixing(n int, l *leg, side int) float64 {
	switch {
	case len(s.at[n]) != 2 || l.pipe < 0:
		return 1
	case l.e[lower].at == atNode && l.e[upper].at == atNode: // a full pipe that passes into the next
		return 0
	}
	c := &s.shape[l.pipe].seg[s.shape[l.pipe].find(l.e[side].w, l.e[side].hint)]
	short := 5 * c.bore * c.area
	return short / (short + l.e[upper].w - l.e[lower].w)
}

// restHead is the head of a node where nothing can move: the highest of what its legs stand under, or what its station can give.
func (s *sim) restHead(n int) float64 {
	nd := &s.net.Nodes[n]
	if nd.Kind == Station && nd.Pumps != nil {
		return s.level[n] + nd.lift(0, s.t)
	}
	h := math.Inf(-1)
	for _, r := range s.legsAt[n] {
		l := &s.legs[r.leg]
		switch far := &l.e[1-r.side]; {
		case far.at != atNode:
			h = max(h, far.e)
		case l.pipe >= 0 && s.net.Nodes[s.nodeOf(l, 1-r.side)].Kind == Tank:
			h = max(h, s.level[s.nodeOf(l, 1-r.side)])
		}
	}
	if math.IsInf(h, -1) {
		h = 0
		for _, r := range s.at[n] {
			h = s.shape[r.leg].level[r.side]
		}
	}
	return h
}

// limitByPumps lets the pumps' curve rule where a throttled station would need more than its pumps give; true when nothing changed.
func (s *sim) limitByPumps(t float64) bool {
	settled := true
	for _, n := range s.stations {
		nd := &s.net.Nodes[n]
		if !nd.throttled(t) || s.pumpBound[n] {
			continue
		}
		if most := s.level[n] + nd.lift(-s.inflow(n), t); s.heads.h[n] > most {
			s.pumpBound[n] = true
			s.heads.h[n] = most
			settled = false
		}
	}
	return settled
}

func fitted(v []float64, n int) []float64 {
	if cap(v) < n {
		return make([]float64, n, 2*n+4)
	}
	return v[:n]
}

// eliminate solves a·x = b in place for a small full matrix that its diagonal rules.
func eliminate(a, b []float64, n int) {
	for k := range n {
		d := a[k*n+k]
		if d == 0 {
			b[k] = 0
			continue
		}
		for i := k + 1; i < n; i++ {
			f := a[i*n+k] / d
			if f == 0 {
				continue
			}
			for j := k + 1; j < n; j++ {
				a[i*n+j] -= f * a[k*n+j]
			}
			b[i] -= f * b[k]
		}
	}
	for k := n - 1; k >= 0; k-- {
		if a[k*n+k] == 0 {
			continue
		}
		sum := b[k]
		for j := k + 1; j < n; j++ {
			sum -= a[k*n+j] * b[j]
		}
		b[k] = sum / a[k*n+k]
	}
}
