package column

import "math"

// watchKind says what an event function looks for. All rise through zero when it happens.
type watchKind uint8

const (
	wStop    watchKind = iota // a front comes to something ahead of it
	wBack                     // a front draws back past something
	wGone                     // a pocket's volume has gone
	wUsedUp                   // a leg's volume has gone
	wRelease                  // what spilled over a crest turns back
	wDetach                   // an open end draws air
	wCheck                    // flow turns at a check valve
	wUncheck                  // a shut check valve is pushed open
	wStageOn
	wStageOff
	wEarly
	wReopen
	wSeal // a puddle closes the bore
)

// watch is one event function.
type watch struct {
	kind  watchKind
	k     int // leg, pocket, vent or puddle
	side  int
	value float64
	vent  int // of a stop or a way back: the vent there, −1 for none
	crest bool
	check bool // a check valve
	end   bool // the pipe's end
}

// watch lists the event functions of what moves.
func (s *sim) watch() {
	s.watches = s.watches[:0]
	for _, k := range s.moving {
		s.watchLeg(k)
	}
	for _, k := range s.watched {
		if l := &s.legs[k]; l.stuck {
			s.add(watch{kind: wUncheck, k: k, value: s.opensAt(l)})
		}
	}
	for _, k := range s.breathing {
		p := &s.pockets[k]
		if p.open {
			continue
		}
		s.add(watch{kind: wGone, k: k})
		for _, i := range p.vents {
			s.watchVent(i)
		}
	}
	for _, i := range s.filling {
		s.add(watch{kind: wSeal, k: i})
	}
	s.sense = s.sense[:0]
	for range s.watches {
		s.sense = append(s.sense, 1)
	}
}

func (s *sim) add(w watch) { s.watches = append(s.watches, w) }

func (s *sim) watchLeg(k int) {
	l := &s.legs[k]
	if l.oneWay != 0 && !l.stuck {
		s.add(watch{kind: wCheck, k: k})
	}
	if l.pipe < 0 {
		return
	}
	moves := false
	for side := range l.e {
		e := &l.e[side]
		switch e.at {
		case free:
			if e.i >= 0 {
				moves = true
				s.add(s.ahead(k, side))
				if w, ok := s.behind(k, side); ok {
					s.add(w)
				}
			}
		case held:
			if l.qi >= 0 {
				s.add(watch{kind: wRelease, k: k, side: side})
			}
		case atNode:
			if n := s.nodeOf(l, side); l.qi >= 0 && (s.net.Nodes[n].Kind == Outlet || s.net.Nodes[n].Kind == Tank && s.level[n] < s.shape[l.pipe].level[side]) {
				s.add(watch{kind: wDetach, k: k, side: side})
			}
		}
	}
	if moves {
		s.add(watch{kind: wUsedUp, k: k, value: s.thin(l)})
	}
}

// plugBores is the length, in bores, below which a plug between two pockets no longer closes the pipe: air breaks through it and its water
// runs to the next below. A face of water lets air in as a nose about as long as the bore (T. B. Benjamin, J. Fluid Mech. 31 (1968) 209;
// from memory), and there is one at either face. New plugs are at least twice as long.
const plugBores = 2.0

// opensAt is the head, m, that moves what is held: a check valve opens at RestHead; water enters a pipe against shut-in air once it stands
// half a bore above it, since the two must pass one another (an assumption: the mouth is then half full).
func (s *sim) opensAt(l *leg) float64 {
	b := s.beginning(l)
	if b < 0 {
		return s.set.restHead()
	}
	p := s.facing(&l.e[1-b])
	if n := s.nodeOf(l, b); p == nil || p.open || s.vented(p) && s.net.Nodes[n].Kind == Station {
		return s.set.restHead()
	}
	return max(s.set.restHead(), 0.5*s.shape[l.pipe].seg[s.shape[l.pipe].find(l.e[b].w, l.e[b].hint)].bore)
}

// mouthRest is how long a pipe's end that was pushed back stays as it is, s: what would come and go there by ripples is one event.
const mouthRest = 2.0

// thin is the volume at which a leg no longer is a column: a plug's is that of plugBores, at a node it is used up.
func (s *sim) thin(l *leg) float64 {
	if l.e[lower].at == atNode || l.e[upper].at == atNode {
		return s.leastLeg(l)
	}
	return min(l.thin, s.plug0(l))
}

// plug0 is the least volume of a plug.
func (s *sim) plug0(l *leg) float64 { return plugBores / goneShare * s.leastLeg(l) }

// leastLeg is the volume at which a leg counts as used up.
func (s *sim) leastLeg(l *leg) float64 {
	sh := s.shape[l.pipe]
	c := sh.seg[sh.find(l.e[upper].w, l.e[upper].hint)]
	return goneShare * c.area * c.bore
}

func (s *sim) watchVent(i int) {
	v := &s.vents[i]
	d := v.data
	switch {
	case v.early:
		s.add(watch{kind: wReopen, k: i})
	case d.CloseAt > 0:
		s.add(watch{kind: wEarly, k: i})
	}
	switch {
	case d.StageAt <= 0 || v.early:
	case v.staged:
		s.add(watch{kind: wStageOff, k: i})
	default:
		s.add(watch{kind: wStageOn, k: i})
	}
}

// ahead finds the next thing that a front comes to as it goes on: an air valve in the air before it, a check valve, a crest, the pipe's end.
func (s *sim) ahead(k, side int) watch {
	l := &s.legs[k]
	e := &l.e[side]
	sh := s.shape[l.pipe]
	dir := outward(side)
	hair := s.hair(l)
	w := watch{kind: wStop, k: k, side: side, value: s.endW(l.pipe, side), vent: -1, end: true}
	for i := range sh.turns {
		t := sh.turns[i]
		if side == lower {
			t = sh.turns[len(sh.turns)-1-i]
		}
		// A front that was let go at a crest may come back to it.
		if t.crest && dir*(t.w-e.w) > -hair && !(e.passed && dir*(t.w-e.w) <= hair) {
			w.value, w.crest, w.end = t.w, true, false
			break
		}
	}
	for i := range s.vents {
		v := &s.vents[i]
		if v.pipe != l.pipe || v.wet || dir*(v.w-e.w) < -hair || dir*(w.value-v.w) <= hair && (w.crest || w.end) {
			continue
		}
		if dir*(w.value-v.w) > 0 {
			w.value, w.vent, w.crest, w.end = v.w, i, false, false
		}
	}
	for _, c := range sh.checks {
		if dir*(c.w-e.w) > hair && dir*(w.value-c.w) > hair {
			w.value, w.vent, w.crest, w.check, w.end = c.w, -1, false, true, false
		}
	}
	return w
}

// behind finds what a front uncovers as it draws back: a valve under water, or a low point past which its air moves on.
func (s *sim) behind(k, side int) (watch, bool) {
	l := &s.legs[k]
	e := &l.e[side]
	sh := s.shape[l.pipe]
	dir := outward(side)
	hair := s.hair(l)
	w, found := watch{kind: wBack, k: k, side: side, value: l.e[1-side].w, vent: -1}, false
	for i := range s.vents {
		v := &s.vents[i]
		if v.pipe == l.pipe && v.wet && dir*(v.w-e.w) < hair && dir*(v.w-w.value) > 0 {
			w.value, w.vent, found = v.w, i, true
		}
	}
	for _, t := range sh.turns {
		if !t.crest && dir*(t.w-e.w) < -hair && dir*(t.w-w.value) > 0 {
			w.value, w.vent, found = t.w, -1, true
		}
	}
	return w, found
}

// hair is a volume below which two places on a pipe are one.
func (s *sim) hair(l *leg) float64 {
	c := s.shape[l.pipe].seg[0]
	return 5e-4 * c.area * c.bore
}

// measure puts the values of the event functions into g.
func (s *sim) measure(t float64, y, g []float64) {
	asked := t == s.fresh
	if !asked {
		s.load(y)
		s.fresh = math.NaN()
	}
	for i := range s.watches {
		w := &s.watches[i]
		switch w.kind {
		case wStop:
			g[i] = outward(w.side) * (s.legs[w.k].e[w.side].w - w.value)
		case wBack:
			g[i] = -outward(w.side) * (s.legs[w.k].e[w.side].w - w.value)
		case wGone:
			p := &s.pockets[w.k]
			g[i] = p.least - p.v
		case wUsedUp:
			l := &s.legs[w.k]
			g[i] = w.value - (l.e[upper].w - l.e[lower].w)
		case wRelease, wDetach:
			g[i] = -outward(w.side) * s.legs[w.k].q
		case wCheck:
			l := &s.legs[w.k]
			g[i] = -float64(l.oneWay) * l.q
		case wUncheck:
			if !asked {
				s.forces(t)
				asked = true
			}
			l := &s.legs[w.k]
			g[i] = min(float64(l.oneWay)*l.dq*l.inert-w.value, t-l.heldAt-mouthRest)
		case wStageOn, wStageOff, wEarly, wReopen:
			v := &s.vents[w.k]
			dp := s.pockets[v.pocket].p - s.net.Atmosphere
			switch w.kind {
			case wStageOn:
				g[i] = dp - v.data.StageAt
			case wStageOff:
				g[i] = v.data.StageOff - dp
			case wEarly:
				g[i] = dp - v.data.CloseAt
			default:
				g[i] = v.data.ReopenAt - dp
			}
		case wSeal:
			q := &s.puddles[w.k]
			g[i] = q.v - q.seal
		}
	}
}

// missed finds an event that has happened without its function having been seen below zero: a body that began just on the edge.
func (s *sim) missed() int {
	for i := range s.watches {
		w := &s.watches[i]
		switch w.kind {
		case wStop:
			l := &s.legs[w.k]
			if outward(w.side)*(l.e[w.side].w-w.value) > s.hair(l) {
				return i
			}
		case wGone:
			p := &s.pockets[w.k]
			if p.v < p.least && p.v < p.was || p.v < 0.3*p.least {
				return i
			}
		case wUsedUp:
			l := &s.legs[w.k]
			least := 0.99 * w.value
			if l.e[lower].at == atNode || l.e[upper].at == atNode { // it may have begun with nothing
				least = -s.hair(l)
			}
			if l.e[upper].w-l.e[lower].w < least {
				return i
			}
		case wRelease, wDetach:
			if l := &s.legs[w.k]; outward(w.side)*l.q < -1e-4*s.areaOf(l) {
				return i
			}
		case wCheck:
			if l := &s.legs[w.k]; float64(l.oneWay)*l.q < -1e-6*s.areaOf(l) {
				return i
			}
		case wUncheck:
			if l := &s.legs[w.k]; float64(l.oneWay)*l.dq*l.inert > 1.05*w.value && s.t > l.heldAt+mouthRest {
				return i
			}
		case wSeal:
			if q := &s.puddles[w.k]; q.v > 1.001*q.seal {
				return i
			}
		}
	}
	return -1
}
