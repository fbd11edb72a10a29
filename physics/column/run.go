package column

import (
	"context"
	"math"

	"obvert/num"
)

// Ids of notes: what limits an answer.
const (
	NotePushedOn  = "column.pushed-past-low-point" // air pushed past a low point is taken as a plug; it bubbles on
	NoteWaveSpeed = "column.wave-speed-assumed"    // a section without a wave speed was taken at 1,000 m/s
	NoteHot       = "column.air-temperature"       // air was compressed beyond the temperatures that an opening is computed for
	NoteFlutter   = "column.valve-flutters"        // water parted at one valve again and again
	NoteBelow     = "column.below-vapour"          // a head below the vapour pressure was met: the column would have parted there
	NoteFlat      = "column.square-front"          // a front came over a stretch that rises or falls by less than a bore: it is a long wedge, not square; see Result.Flat
)

// GivenPressure is the pressure of a pocket at the start.
type GivenPressure struct {
	Pipe     int
	Distance float64 `unit:"m"`  // a place in the pocket
	Pressure float64 `unit:"Pa"` // absolute
}

// Settings say where a run starts and how it is followed.
type Settings struct {
	Water     []Water         // at rest at the start
	Pressures []GivenPressure // of pockets; others are at the atmosphere
	Horizon   float64         `unit:"s"` // longest time followed
	// Tolerance is the allowed error of a step of the velocity, m/s; 0: 0.01. Volumes and masses are kept exactly whatever it is.
	Tolerance float64 `unit:"m/s"`
	// RestHead is the difference of head, m, up to which water at rest stays at rest: 0: 0.02.
	RestHead float64 `unit:"m"`
	Turns    int     // most events; 0: by the size of the network
	// UntilSteady false: the run ends as soon as no air is left; true: it goes on until nothing changes any more.
	UntilSteady bool
	Observe     func(*Moment) bool // called after every step; false stops
}

func (s *Settings) tolerance() float64 {
	if s.Tolerance > 0 {
		return s.Tolerance
	}
	return 0.01
}

func (s *Settings) restHead() float64 {
	if s.RestHead > 0 {
		return s.RestHead
	}
	return 0.02
}

// Run follows the water from rest until no air is left, nothing changes any more, or the horizon. The error is that of [Network.Check],
// of the settings, or of the context.
func Run(ctx context.Context, net *Network, set Settings) (Result, error) {
	if err := net.Check(); err != nil {
		return Result{}, err
	}
	if err := set.check(net); err != nil {
		return Result{}, err
	}
	s := newSim(net, set)
	s.place()
	s.regroup()
	before := s.volume()
	airBefore := s.air()
	s.started = true
	s.res.Lowest = math.Inf(1)
	s.loop(ctx)
	if err := ctx.Err(); err != nil {
		return Result{}, err
	}
	s.finish(before, airBefore)
	return s.res, nil
}

// place lays the water of the start, and the beginnings of columns at what feeds the line.
func (s *sim) place() {
	for _, w := range s.set.Water {
		sh := s.shape[w.Pipe]
		a, b := sh.volumeAt(w.From), sh.volumeAt(w.To)
		ends := [2]end{{at: free, w: a}, {at: free, w: b}}
		if a <= 1e-9*sh.total() {
			ends[lower].w = 0
			s.touch(&ends[lower], s.net.Pipes[w.Pipe].From)
		}
		if b >= sh.total()*(1-1e-9) {
			ends[upper].w = sh.total()
			s.touch(&ends[upper], s.net.Pipes[w.Pipe].To)
		}
		k := s.newLeg(w.Pipe, ends[lower], ends[upper])
		for side := range ends {
			e := &s.legs[k].e[side]
			_, shut := sh.checkBetween(e.w, e.w, 2*side-1)
			if e.at == free && !shut && sh.falls(e.w, 2*side-1) {
				e.at = held
			}
		}
	}
	for n := range s.net.Nodes {
		nd := &s.net.Nodes[n]
		feeds := nd.Kind == Station && (nd.Pumps != nil || nd.Flow > 0 || nd.NoCheck)
		for _, r := range s.at[n] {
			feeds = feeds || nd.Kind == Tank && nd.Level > s.shape[r.leg].level[r.side]
		}
		wet := feeds
		for k := range s.legs {
			for side := range s.legs[k].e {
				wet = wet || s.legs[k].e[side].at == atNode && nd.Kind == Junction && s.nodeOf(&s.legs[k], side) == n
			}
		}
		if wet {
			s.wetNode(n)
		}
	}
	for k := range s.legs {
		s.legs[k].active = false
		s.oneWay(k)
		l := &s.legs[k]
		for side := range l.e {
			if l.e[side].at != atNode || l.pipe < 0 {
				continue
			}
			nd := &s.net.Nodes[s.nodeOf(l, side)]
			if nd.Kind == Station && (nd.Pumps != nil || nd.Flow > 0) {
				l.active = true
			}
		}
		l.stuck = l.oneWay != 0 && l.pipe >= 0
	}
}

// touch decides whether water that reaches a pipe's end stands at the node itself.
func (s *sim) touch(e *end, n int) {
	if nd := &s.net.Nodes[n]; nd.Kind != Tank || nd.Level > 0 {
		e.at = atNode
	}
}

// loop goes from event to event.
func (s *sim) loop(ctx context.Context) {
	p := num.IVP{
		F: s.rates, Events: s.measure, Reuse: 2, Limit: 20_000, Done: ctx.Done(), Banded: true,
		Accept: s.accept, Scale: s.scale, Longest: s.longest, Smallest: 1e-9,
	}
	s.next = 0
	for s.turn = 0; ; s.turn++ {
		if s.turn > s.maxTurns {
			s.res.Status = TooManyTurns
			return
		}
		if s.done() {
			return
		}
		if s.cycling {
			s.res.Status = Cycling
			return
		}
		if k := s.vanished(); k >= 0 {
			s.meet(k)
			s.restful()
			s.regroup()
			continue
		}
		s.number()
		if (s.turn == 0 || len(s.y) == 0) && (s.rouseAll() || len(s.y) == 0 && s.wait()) {
			s.number()
		}
		if len(s.y) == 0 {
			s.settle()
			return
		}
		end := s.until()
		p.Abs, p.Sense, p.Lower, p.Upper = s.abs, s.sense, s.low, s.up
		p.First = min(s.next, s.edge())
		s.verdict, s.pending = goOn, -1
		s.remember()
		s.fresh = math.NaN()
		ride := s.solver.Solve(&p, s.t, s.y, end)
		s.t = ride.Time
		s.res.Steps += ride.Steps
		s.next = min(ride.Next, 0.2*max(ride.Next, 1))
		s.load(s.y)
		if !s.proceed(ride) {
			return
		}
	}
}

// edge is how long a first step may be, s, where a front begins just on what it is to come to: its function is never seen below zero, and
// [sim.missed] must not find it a long way off.
func (s *sim) edge() float64 {
	h := math.Inf(1)
	for i := range s.watches {
		w := &s.watches[i]
		if w.kind != wStop {
			continue
		}
		l := &s.legs[w.k]
		hair := s.hair(l)
		if outward(w.side)*(l.e[w.side].w-w.value) > -1e-3*hair && l.q != 0 {
			h = min(h, 2*hair/math.Abs(l.q))
		}
	}
	return h
}

// vanished finds a pocket that water handed on by an event has filled; −1 for none.
func (s *sim) vanished() int {
	for k := range s.pockets {
		if p := &s.pockets[k]; !p.open && p.v < 0.3*p.least && len(p.ends) > 0 {
			return k
		}
	}
	return -1
}

// until is the time to which the next ride may go: the horizon, or the opening of a throttle.
func (s *sim) until() float64 {
	end := s.set.Horizon
	for i := range s.net.Nodes {
		for _, t := range []float64{s.net.Nodes[i].FreeAt, s.net.Nodes[i].Ramp} {
			if t > s.t && s.net.Nodes[i].Kind == Station {
				end = min(end, t)
			}
		}
	}
	return end
}

// proceed deals with how a ride ended; false: the run ends.
func (s *sim) proceed(ride num.Ride) bool {
	w := -1
	switch ride.Ending {
	case num.AtEvent:
		w = ride.Event
	case num.Halted:
		switch s.verdict {
		case stop:
			return false
		case event:
			w = s.pending
		}
	case num.Reached:
		if s.t >= s.set.Horizon {
			s.outOfTime()
			return false
		}
	case num.Interrupted:
		return false
	default:
		if s.t <= s.stuckAt { // once more from here with a new derivative; twice at one time it is given up
			s.res.Status = Stuck
			return false
		}
		s.stuckAt, s.next = s.t, 1e-3
	}
	s.freeze()
	if w >= 0 && s.watches[w].kind == wGone { // at the last whole step: within the step that ends it, the air's density is not smooth
		p := &s.pockets[s.watches[w].k]
		p.rho = p.last
		p.p = s.pressure(p.c, p.rho)
	}
	switch {
	case w >= 0:
		s.handle(s.watches[w])
	case s.verdict == parting:
		s.part(s.pending)
	case s.verdict == rouse:
		s.legs[s.pending].active = true
	case s.verdict == release:
		r := s.plug
		s.legs[r.leg].e[r.side].at, s.legs[r.leg].e[r.side].passed = free, true
	}
	s.restful()
	s.regroup()
	return true
}

// freeze brings the pockets' outlines up to date before the water's bodies change.
func (s *sim) freeze() {
	for i := range s.spans {
		sp := &s.spans[i]
		if sp.left.leg >= 0 {
			sp.lo = s.legs[sp.left.leg].e[upper].w
		}
		if sp.right.leg >= 0 {
			sp.hi = s.legs[sp.right.leg].e[lower].w
		}
	}
}

// restful lets legs rest that hardly move and are hardly pushed: all that are joined by water, or none, since what flows through a junction
// must go on balancing there.
func (s *sim) restful() {
	s.listNodes()
	calm := make([]bool, len(s.legs))
	for k := range s.legs {
		l := &s.legs[k]
		calm[k] = l.dead || !l.active || l.pipe >= 0 && !s.feeds(l) && math.Abs(l.q) < 1e-3*s.areaOf(l) &&
			math.Abs(l.dq)*l.inert < 0.3*s.set.restHead() && len(l.e[0].from)+len(l.e[1].from) == 0
	}
	for again := true; again; {
		again = false
		for n := range s.legsAt {
			if s.net.Nodes[n].Kind == Tank {
				continue
			}
			all := true
			for _, r := range s.legsAt[n] {
				all = all && calm[r.leg]
			}
			for _, r := range s.legsAt[n] {
				if !all && calm[r.leg] {
					calm[r.leg], again = false, true
				}
			}
		}
	}
	for k := range s.legs {
		if l := &s.legs[k]; calm[k] && !l.dead && l.active {
			l.active, l.q = false, 0
		}
	}
}

// rouseAll wakes every leg at rest whose ends are out of balance, and tells whether there was one.
func (s *sim) rouseAll() bool {
	s.watched = s.watched[:0]
	for k := range s.legs {
		if l := &s.legs[k]; !l.dead && !l.fixed {
			s.watched = append(s.watched, k)
		}
	}
	s.forces(s.t)
	any := false
	for _, k := range s.watched {
		l := &s.legs[k]
		push := l.dq * l.inert
		if l.stuck {
			push *= float64(l.oneWay)
		} else {
			push = math.Abs(push)
		}
		if (!l.active || l.stuck) && push > s.set.restHead() {
			l.active, l.stuck, any = true, false, true
		}
	}
	return any
}

// wait lets time pass, while nothing moves, until a station that is being run up pushes something; false where none ever does.
func (s *sim) wait() bool {
	const parts = 200
	start, end := s.t, s.t
	for i := range s.net.Nodes {
		if nd := &s.net.Nodes[i]; nd.Kind == Station {
			end = max(end, nd.FreeAt, nd.ramp0())
		}
	}
	end = min(end, s.set.Horizon)
	for i := 1; i <= parts && end > start; i++ {
		s.t = start + (end-start)*float64(i)/parts
		if s.rouseAll() {
			return true
		}
	}
	s.t = max(start, min(end, s.t))
	return false
}

// feeds tells whether a leg hangs at a running station.
func (s *sim) feeds(l *leg) bool {
	for side := range l.e {
		if l.e[side].at == atNode {
			nd := &s.net.Nodes[s.nodeOf(l, side)]
			if nd.Kind == Station && (nd.Pumps != nil || nd.Flow > 0) {
				return true
			}
		}
	}
	return false
}

// done tells whether no air is left that matters.
func (s *sim) done() bool {
	if s.set.UntilSteady {
		return false
	}
	for k := range s.pockets {
		p := &s.pockets[k]
		if !p.open || p.v > p.least {
			return false
		}
	}
	s.res.Status = Full
	return true
}

// volume is the water in the pipes and puddles.
func (s *sim) volume() float64 {
	v := 0.0
	for k := range s.legs {
		if l := &s.legs[k]; !l.dead && l.pipe >= 0 {
			v += l.e[upper].w - l.e[lower].w
		}
	}
	for i := range s.puddles {
		if s.puddles[i].used {
			v += s.puddles[i].v
		}
	}
	return v
}

// air is the mass in closed pockets.
func (s *sim) air() float64 {
	m := 0.0
	for k := range s.pockets {
		if p := &s.pockets[k]; !p.open {
			m += p.m
		}
	}
	return m
}
