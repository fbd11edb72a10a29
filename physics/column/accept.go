package column

import (
	"math"
)

// verdict is why a ride was halted between events.
type verdict uint8

const (
	goOn    verdict = iota
	stop            // the run ends
	event           // one that had happened unseen
	parting         // the water parts at a valve
	rouse           // a leg at rest is pushed
	release         // a held front is carried on as a plug
)

// remember notes where the unknowns of passage stand before a ride.
func (s *sim) remember() {
	if cap(s.lastV) < len(s.vents) {
		s.lastV = make([]float64, len(s.vents))
	}
	s.lastV = s.lastV[:len(s.vents)]
	clear(s.lastV)
	for _, k := range s.moving {
		s.legs[k].lastX = 0
	}
	for _, k := range s.breathing {
		p := &s.pockets[k]
		p.was, p.last = p.v, p.rho
	}
}

// accept books a step and looks for what no event function shows.
func (s *sim) accept(t float64, y []float64) bool {
	s.t = t
	if t != s.fresh {
		s.load(y)
		s.forces(t)
	}
	s.book()
	s.steps++
	if i := s.missed(); i >= 0 {
		s.verdict, s.pending = event, i
		return false
	}
	for _, k := range s.breathing {
		p := &s.pockets[k]
		p.was, p.last = p.v, p.rho
	}
	for _, k := range s.watched {
		l := &s.legs[k]
		if !l.active && math.Abs(l.dq)*l.inert > s.set.restHead() {
			s.verdict, s.pending = rouse, k
			return false
		}
	}
	if s.net.Carries != nil && s.heldCarries() {
		s.verdict = release
		return false
	}
	if s.steps%8 == 0 && s.parts() {
		s.verdict = parting
		return false
	}
	if s.set.Observe != nil && !s.set.Observe(&Moment{s}) {
		s.res.Status, s.verdict = Stopped, stop
		return false
	}
	if s.calmNow() {
		s.settle()
		s.verdict = stop
		return false
	}
	return true
}

// book adds up what has passed since the step before.
func (s *sim) book() {
	b := &s.res.Balance
	for _, k := range s.moving {
		l := &s.legs[k]
		if l.xi < 0 {
			continue
		}
		d := l.x - l.lastX
		l.lastX = l.x
		for side := range l.e {
			into, outside := -outward(side)*d, false
			switch e := &l.e[side]; {
			case l.pipe < 0 && side == upper:
				outside = true
			case l.pipe < 0:
			case e.at == held:
				outside = e.to.kind == outOfLine || e.to.kind == nowhere
			case e.at == atNode:
				nd := &s.net.Nodes[s.nodeOf(l, side)]
				outside = nd.Kind != Junction || nd.Demand > 0
			}
			switch {
			case !outside:
			case into >= 0:
				b.WaterIn += into
			default:
				b.WaterOut -= into
			}
		}
	}
	for _, k := range s.breathing {
		p := &s.pockets[k]
		if p.open {
			continue
		}
		dp := p.p - s.net.Atmosphere
		if p.v < 2*p.least { // its last step, cut short by its end: what it lets out counts, its pressure does not
			dp = 0
		} else {
			s.trace(p, dp)
		}
		for _, i := range p.vents {
			v := &s.vents[i]
			d := v.a - s.lastV[i]
			s.lastV[i] = v.a
			if v.mouth.leg >= 0 && s.net.Nodes[v.node].Kind == Junction {
				b.AirCarried += d
				s.note(NotePushedOn)
				continue
			}
			if d >= 0 {
				v.rec.Out += d
				b.AirOut += d
			} else {
				v.rec.In -= d
				b.AirIn -= d
			}
			v.rec.Largest, v.rec.Suction = max(v.rec.Largest, dp), max(v.rec.Suction, -dp)
		}
	}
}

// trace keeps the life of a closed pocket.
func (s *sim) trace(p *pocket, gauge float64) {
	i, ok := s.traces[p.id]
	if !ok {
		i = len(s.res.Airs)
		s.traces[p.id] = i
		pipe, w := s.top(p)
		sh := s.shape[pipe]
		s.res.Airs = append(s.res.Airs, AirRecord{Pipe: pipe, Distance: sh.distanceAt(sh.mark(w, 0)), Born: s.t, Number: p.id})
	}
	a := &s.res.Airs[i]
	if gauge > a.Peak {
		a.Peak, a.PeakTime = gauge, s.t
	}
	a.Least = min(a.Least, gauge)
	if n := len(a.Trace); n > 0 {
		last := a.Trace[n-1]
		if s.t-last[0] < s.set.Horizon*1e-4 && math.Abs(gauge-last[1]) < 0.02*(math.Abs(gauge)+100) || s.t <= last[0] {
			return
		}
		if n >= 400 { // keep every other
			half := a.Trace[:0]
			for j := 0; j < n; j += 2 {
				half = append(half, a.Trace[j])
			}
			a.Trace = half
		}
	}
	a.Trace = append(a.Trace, [2]float64{s.t, gauge})
}

// ended closes the record of a pocket.
func (s *sim) ended(id int) {
	if i, ok := s.traces[id]; ok {
		s.res.Airs[i].Gone = s.t
	}
}

// top is the highest place of a pocket: pipe and volume coordinate.
func (s *sim) top(p *pocket) (pipe int, w float64) {
	best := math.Inf(-1)
	for _, sp := range p.spans {
		sh := s.shape[sp.pipe]
		try := func(at float64) {
			if z := sh.levelAt(sh.mark(at, 0)); z > best {
				best, pipe, w = z, sp.pipe, at
			}
		}
		try(sp.lo)
		try(sp.hi)
		for _, t := range sh.turns {
			if t.crest && t.w > sp.lo && t.w < sp.hi {
				try(t.w)
			}
		}
	}
	return pipe, w
}

// heldCarries finds a held front whose water has become fast enough to go on as a plug.
func (s *sim) heldCarries() bool {
	for _, k := range s.moving {
		l := &s.legs[k]
		for side := range l.e {
			if l.pipe < 0 || l.e[side].at != held || outward(side)*l.q <= 0 {
				continue
			}
			if p := s.facing(&l.e[side]); p != nil && s.vented(p) { // its air goes out by the valve
				continue
			}
			if s.carries(l, side) {
				s.plug = ref{k, side}
				return true
			}
		}
	}
	return false
}

// largestPart is how often the water may part at one valve.
const largestPart = 6

// partHead is the gauge head below which air comes in at a valve that water had shut, m: it has to push the float off its seat.
const partHead = -0.1

// parts finds a valve under water whose head has fallen so low that it lets air in.
func (s *sim) parts() bool {
	low, at := partHead, -1
	for _, k := range s.breathing { // a pocket that is about to go has no room for the water that gives way
		if p := &s.pockets[k]; !p.open && p.v < 10*partBores/goneShare*p.least {
			return false
		}
	}
	for i := range s.vents {
		v := &s.vents[i]
		if v.pipe < 0 || !v.wet || v.pocket >= 0 {
			continue
		}
		for _, k := range s.moving {
			l := &s.legs[k]
			if l.pipe != v.pipe || !(l.e[lower].w < v.w && v.w < l.e[upper].w) {
				continue
			}
			sh := s.shape[v.pipe]
			h := s.headAt(l, sh.mark(l.e[lower].w, l.e[lower].hint), sh.mark(v.w, 0))
			s.res.Lowest = min(s.res.Lowest, h)
			if s.net.Vapour > 0 && h < (s.net.Vapour-s.net.Atmosphere)/s.rhoG {
				s.note(NoteBelow)
			}
			if h < low && v.data.In != nil {
				if v.parted >= largestPart {
					s.note(NoteFlutter)
					break
				}
				low, at = h, i
			}
			break
		}
	}
	s.pending = at
	return at >= 0
}

// calmWindow is the state some time ago, to see whether anything changes.
type calmWindow struct {
	t     float64
	turns int
	q, w  []float64
}

// calmTime is how long nothing must have changed, s.
const calmTime = 600.0

// calmNow tells whether nothing has changed for a while, and would not until the horizon at the pace it does.
func (s *sim) calmNow() bool {
	c := &s.window
	if c.turns == s.turn && s.t-c.t < calmTime && s.t >= c.t {
		return false
	}
	if c.turns != s.turn || len(c.q) != len(s.moving) {
		s.look()
		return false
	}
	dt := s.t - c.t
	most, drift := 0.0, 0.0
	for i, k := range s.moving {
		l := &s.legs[k]
		most = max(most, math.Abs(l.q))
		if math.Abs(l.q-c.q[i]) > 2e-3*math.Abs(l.q)+1e-3*s.areaOf(l) {
			s.look()
			return false
		}
	}
	for i, k := range s.moving {
		l := &s.legs[k]
		for side := range l.e {
			d := math.Abs(l.e[side].w-c.w[2*i+side]) / dt
			drift = max(drift, d)
			if p := s.facing(&l.e[side]); l.e[side].at == free && p != nil && d*(s.set.Horizon-s.t) > 0.02*p.v && d > 1e-5*s.areaOf(l) {
				s.look()
				return false
			}
		}
	}
	s.look()
	for _, i := range s.filling {
		if len(s.puddles[i].from) > 0 {
			return false
		}
	}
	for i := range s.net.Nodes {
		if nd := &s.net.Nodes[i]; nd.Kind == Station && (nd.ramp(s.t) < 1 || nd.FreeAt > s.t) {
			return false
		}
	}
	return true
}

// look notes the state for calmNow.
func (s *sim) look() {
	c := &s.window
	c.t, c.turns = s.t, s.turn
	c.q, c.w = c.q[:0], c.w[:0]
	for _, k := range s.moving {
		l := &s.legs[k]
		c.q = append(c.q, l.q)
		c.w = append(c.w, l.e[lower].w, l.e[upper].w)
	}
}

// settle names a state in which nothing changes any more.
func (s *sim) settle() {
	flows, trapped, airs := false, false, false
	for _, k := range s.moving {
		l := &s.legs[k]
		flows = flows || math.Abs(l.q) > 0.01*s.areaOf(l)
	}
	for k := range s.pockets {
		p := &s.pockets[k]
		if p.v <= p.least {
			continue
		}
		airs = true
		trapped = trapped || !p.open && !s.vented(p)
	}
	switch {
	case !airs:
		s.res.Status = Full
	case flows && trapped:
		s.res.Status = AirLeft
	case flows:
		s.res.Status = Slack
	case trapped:
		s.res.Status = AirBound
	default:
		s.res.Status = AtRest
	}
}

func (s *sim) outOfTime() {
	s.res.Status = OutOfTime
}

// finish fills in the result.
func (s *sim) finish(volume, mass float64) {
	r := &s.res
	r.Time = s.t
	b := &r.Balance
	b.Stored = s.volume() - volume
	moved := max(b.WaterIn+b.WaterOut, math.Abs(b.Stored), 1e-3*volume, 1e-9)
	b.WaterError = math.Abs(b.WaterIn-b.WaterOut-b.Stored) / moved
	b.AirStored = s.air() - mass
	moved = max(b.AirIn+b.AirOut+math.Abs(b.AirVented), math.Abs(b.AirStored), 1e-3*mass, 1e-9)
	b.AirError = math.Abs(b.AirIn-b.AirOut-b.AirVented-b.AirCarried-b.AirStored) / moved
	for i := range s.vents {
		if v := &s.vents[i]; v.pipe >= 0 {
			v.rec.Wet = v.wet
			r.Vents[v.pipe][v.index] = v.rec
		}
	}
	m := Moment{s}
	r.Water = m.Water(nil)
	r.Pockets = m.Pockets(nil)
	if math.IsInf(r.Lowest, 1) {
		r.Lowest = 0
	}
	if s.hot {
		s.note(NoteHot)
	}
}

// Moment is the state while a run goes on, for an observer; it is valid during the call alone.
type Moment struct{ s *sim }

// Time returns the time, s.
func (m *Moment) Time() float64 { return m.s.t }

// Water appends the lengths of pipe that are full of water to a list, by pipe and distance.
func (m *Moment) Water(list []Water) []Water {
	for p, order := range m.s.order {
		sh := m.s.shape[p]
		for _, k := range order {
			l := &m.s.legs[k]
			a, b := sh.mark(l.e[lower].w, l.e[lower].hint), sh.mark(l.e[upper].w, l.e[upper].hint)
			if from, to := sh.distanceAt(a), sh.distanceAt(b); to > from {
				list = append(list, Water{p, from, to})
			}
		}
	}
	return list
}

// Pockets appends the bodies of air to a list.
func (m *Moment) Pockets(list []Pocket) []Pocket {
	s := m.s
	for k := range s.pockets {
		p := &s.pockets[k]
		out := Pocket{Volume: p.v, Pressure: p.p - s.net.Atmosphere, Mass: p.m, Open: p.open, Vented: p.open || s.vented(p), Number: p.id}
		longest := -1.0
		for _, sp := range p.spans {
			sh := s.shape[sp.pipe]
			lo, hi := sp.lo, sp.hi
			if sp.left.leg >= 0 {
				lo = s.legs[sp.left.leg].e[upper].w
			}
			if sp.right.leg >= 0 {
				hi = s.legs[sp.right.leg].e[lower].w
			}
			a, b := sh.distanceAt(sh.mark(lo, 0)), sh.distanceAt(sh.mark(hi, 0))
			if b-a > longest {
				longest = b - a
				out.Pipe, out.From, out.To = sp.pipe, a, b
			}
		}
		list = append(list, out)
	}
	return list
}

// Flow returns what leaves a node into its pipes, m³/s; negative where water comes to it.
func (m *Moment) Flow(node int) float64 { return -m.s.inflow(node) }

// Head returns the level of the energy line at a station or junction, m above datum; it means something only where water stands there.
func (m *Moment) Head(node int) (h float64, wet bool) {
	if len(m.s.legsAt[node]) == 0 {
		return 0, false
	}
	switch nd := &m.s.net.Nodes[node]; {
	case nd.Kind == Junction, nd.Kind == Station && (nd.Pumps != nil || nd.Flow > 0):
		return m.s.heads.h[node], true
	}
	return m.s.level[node], true
}

// Meetings returns the last airs so far; the list must not be changed.
func (m *Moment) Meetings() []Meeting { return m.s.res.Meetings }

// Early tells whether any float has been carried shut by air so far.
func (m *Moment) Early() bool {
	for i := range m.s.vents {
		if m.s.vents[i].rec.Early {
			return true
		}
	}
	return false
}

// Volume returns the water in the pipes, m³.
func (m *Moment) Volume() float64 { return m.s.volume() }

// Out returns what leaves the line in all: at outlets, tanks, off-takes and holes, m³/s.
func (m *Moment) Out() float64 {
	s, sum := m.s, 0.0
	for _, k := range s.moving {
		l := &s.legs[k]
		for side := range l.e {
			e := &l.e[side]
			f := outward(side) * l.q
			switch {
			case l.pipe < 0 && side == upper, l.pipe >= 0 && e.at == held && e.to.kind == outOfLine:
				sum += f
			case l.pipe >= 0 && e.at == atNode:
				if n := s.nodeOf(l, side); f > 0 && (s.openNode(n) || s.net.Nodes[n].Demand > 0) {
					sum += f
				}
			}
		}
	}
	return sum
}

// TimeScale returns the shortest time in which a column that moves would change its velocity by what drives it, over the time 2L/a
// that a pressure wave takes along it and back; 0 where none moves.
func (m *Moment) TimeScale() float64 {
	s, least := m.s, math.Inf(1)
	for _, k := range s.moving {
		l := &s.legs[k]
		if l.pipe < 0 || l.qi < 0 || math.Abs(l.q) < 0.05*s.areaOf(l) {
			continue
		}
		sh := s.shape[l.pipe]
		length := sh.distanceAt(sh.mark(l.e[upper].w, l.e[upper].hint)) - sh.distanceAt(sh.mark(l.e[lower].w, l.e[lower].hint))
		c := &sh.seg[sh.find(l.e[upper].w, l.e[upper].hint)]
		if l.dq == 0 || length <= c.bore {
			continue
		}
		change := math.Abs(l.q / l.dq)
		least = min(least, change*s.wave(l.pipe, c.section)/(2*length))
	}
	if math.IsInf(least, 1) {
		return 0
	}
	return least
}

// PipeFlow returns the flow in a pipe at a distance, m³/s, towards its end; 0 where air stands there.
func (m *Moment) PipeFlow(pipe int, distance float64) float64 {
	s := m.s
	w := s.shape[pipe].volumeAt(distance)
	for _, k := range s.order[pipe] {
		if l := &s.legs[k]; w >= l.e[lower].w && w <= l.e[upper].w {
			return l.q
		}
	}
	return 0
}
