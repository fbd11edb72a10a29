package column

import (
	"math"

	"obvert/num"
	"obvert/physics/air"
	"obvert/physics/opening"
)

// place says what a leg ends at.
type place uint8

const (
	atNode place = iota
	free         // a front that moves
	held         // a front at a crest (or where the pipe begins to fall): what arrives runs down beyond it
)

// The sides of a leg: its end nearer the pipe's beginning, and the other.
const (
	lower = 0
	upper = 1
)

// outward is the sign of a flow that leaves a leg at a side.
func outward(side int) float64 { return float64(2*side - 1) }

// end is one end of a leg.
type end struct {
	at     place
	w      float64 // volume coordinate
	ref    float64 // w when the unknowns were last numbered: the unknown is w − ref
	i      int     // its unknown, −1: it stands
	hint   int     // piece where it was last
	pocket int     // that it faces; −1 at a node
	to     target  // of what spills, at a held end
	from   []ref   // held ends that spill onto it
	passed bool    // a plug that went past the crest where it is
	e      float64 // head of energy, m
}

// ref names an end of a leg.
type ref struct{ leg, side int }

// target is where spilt water goes.
type target struct {
	kind   targetKind
	ref    ref // onto a front
	puddle int
	node   int // out of the line
}

type targetKind uint8

const (
	nowhere targetKind = iota
	ontoFront
	ontoPuddle
	outOfLine
)

// leg is a length of pipe full of water, or the water in a hole at a node (pipe −1).
type leg struct {
	pipe   int
	node   int // of a hole
	e      [2]end
	q      float64 // m³/s, from the lower end to the upper
	qi     int     // its unknown, −1: it stands
	x      float64 // volume that has passed since the unknowns were numbered
	xi     int     // its unknown, −1: not asked
	active bool
	stuck  bool // a check valve holds it
	oneWay int8 // the only direction it may take; 0: both
	fixed  bool // one end is shut
	dead   bool // no longer there
	inert  float64
	lost   float64
	at     [3]float64 // flow and places of its ends for which inert and lost were found
	lastX  float64    // x at the step before
	heldAt float64    // time at which it was held back at its beginning
	thin   float64    // volume at which a plug breaks, where it was made smaller than most
	dq     float64    // acceleration that drives it, whether it may follow or not
}

// pocket is a body of air.
type pocket struct {
	id     int
	m, c   float64 // mass, kg; p = c·ρ^n
	mass   float64 // m when the unknowns were numbered
	rho    float64
	ri     int  // unknown of its density, −1: none
	open   bool // to the atmosphere at a pipe's end
	active bool
	spans  []span
	ends   []ref
	base   float64 // volume from pipe ends
	least  float64 // volume at which the pocket counts as gone, m³
	area   float64 // largest of its pipes
	pudd   []int
	vents  []int // that are dry
	p, v   float64
	was    float64 // volume at the step before
	last   float64 // density then
}

// span is a stretch of one pipe filled with air.
type span struct {
	pipe   int
	lo, hi float64
	left   ref // leg whose upper end bounds it, leg −1: the pipe's beginning
	right  ref
}

// vent is the state of one air valve, or of a hole at a dry node.
type vent struct {
	pipe, index int // −1, node for a hole
	node        int
	w           float64
	wet         bool
	early       bool
	staged      bool
	data        *Vent
	pocket      int // −1: wet
	a           float64
	ai          int
	out         float64    // kg/s now
	asked       [3]float64 // pressure, density and opening for which known is its outflow: most columns of a derivative leave them as they are
	known       float64
	lin         [4]linearOut // near no differential, by opening
	rec         VentRecord
	parted      int     // times the water parted here
	bubbles     float64 // volume of air that a mouth lets out per differential, m³/(s·Pa)
	mouth       ref     // the pipe's end in a tank through which air blows out; leg −1: an air valve, or a hole
}

// linearOut is the slope of an opening's flow at differentials so small that it is taken as linear, kg/(s·Pa).
type linearOut struct {
	o     opening.Opening
	slope float64
}

const (
	ventIn = iota
	ventOut
	ventStaged
	ventSmall
)

// puddle is water that gathers at a low point before it closes the bore there.
type puddle struct {
	pipe   int
	node   int // −1: along the pipe
	w      float64
	v      float64
	vi     int
	seal   float64
	spread [2]float64 // volumes to either side when it closes
	from   []ref
	pocket int
	used   bool
}

// sim is a run in progress.
type sim struct {
	net      *Network
	set      Settings
	shape    []*shape
	nExp     float64
	binomial [7]float64 // coefficients of (1 + e)^nExp, from the first power
	rhoG     float64
	rhoA     float64 // density of the air outside
	cA       float64 // its p/ρ^n

	// The bodies.
	legs    []leg
	order   [][]int // live legs of each pipe, by w
	pockets []pocket
	vents   []vent
	puddles []puddle
	wet     []bool    // by node
	level   []float64 // of tanks and sumps, by node
	li      []int     // unknown of a tank's level, by node
	boost   []float64 // how far a booster's drive is open, by node
	bi      []int     // its unknown
	at      [][]ref   // by node: pipe ends; ref.leg is the pipe
	legsAt  [][]ref   // by node: live legs that end there
	nextID  int       // of pockets
	started bool

	// What is followed between two events.
	y, abs    []float64
	moving    []int // legs with an unknown
	watched   []int // legs whose forces are followed: those that move, and those that might
	filling   []int // puddles
	breathing []int // pockets
	rising    []int // tanks
	boosting  []int // nodes with pumps of their own
	stations  []int // that run and have water
	pumpBound []bool
	heads     nodeHeads
	low, up   int // half-widths of the band
	watches   []watch
	sense     []int8

	// The course of the run.
	t        float64
	stuckAt  float64 // time at which the step last became too small
	fresh    float64 // time of the state that the bodies hold with its forces: the last that the method asked for, the end of its step
	turn     int     // events so far
	maxTurns int
	steps    int
	solver   num.Rosenbrock
	next     float64 // first step of the next ride
	verdict  verdict // why accept halted the ride
	pending  int     // what it was about
	plug     ref
	lastV    []float64 // by vent: what had passed at the step before
	window   calmWindow
	hot      bool // temperatures had to be bounded

	res     Result
	traces  map[int]int // index into res.Airs by pocket number
	noted   map[string]bool
	came    map[cycle]int
	cycling bool

	picked            []int // work space
	sparePockets      []pocket
	spans, oldSpans   []spanOf // of all pipes, in order
	spanAt, oldSpanAt []int    // where each pipe's begin
	group             []int
	shares            []share
	total             []float64
}

func newSim(net *Network, set Settings) *sim {
	s := &sim{net: net, set: set, noted: map[string]bool{}, traces: map[int]int{}, came: map[cycle]int{}}
	s.nExp = net.Polytropic
	if s.nExp == 0 {
		s.nExp = DefaultPolytropic
	}
	term := 1.0
	for k := range s.binomial {
		term *= (s.nExp - float64(k)) / float64(k+1)
		s.binomial[k] = term
	}
	s.rhoG = net.Density * net.Gravity
	s.rhoA = net.Atmosphere / (air.GasConstant * net.Temperature)
	s.cA = net.Atmosphere / math.Pow(s.rhoA, s.nExp)
	s.at = make([][]ref, len(net.Nodes))
	s.order = make([][]int, len(net.Pipes))
	s.wet = make([]bool, len(net.Nodes))
	s.level = make([]float64, len(net.Nodes))
	s.li = make([]int, len(net.Nodes))
	s.boost = make([]float64, len(net.Nodes))
	s.bi = make([]int, len(net.Nodes))
	for i := range net.Nodes {
		s.level[i] = net.Nodes[i].Level
		s.li[i] = -1
	}
	for i := range net.Pipes {
		p := &net.Pipes[i]
		sh := newShape(p, net.Gravity)
		s.shape = append(s.shape, sh)
		s.at[p.From] = append(s.at[p.From], ref{i, lower})
		s.at[p.To] = append(s.at[p.To], ref{i, upper})
		for k := range p.Vents {
			s.vents = append(s.vents, s.newVent(i, k, -1, sh.vents[k], &p.Vents[k]))
		}
	}
	for n := range net.Nodes {
		if h := net.Nodes[n].Hole; h > 0 {
			o := opening.Orifice{Area: h, Coefficient: 1}
			s.vents = append(s.vents, s.newVent(-1, 0, n, 0, &Vent{Name: net.Nodes[n].Name, In: o, Out: o}))
		}
	}
	s.mouths()
	s.res.Vents = make([][]VentRecord, len(net.Pipes))
	for i := range net.Pipes {
		s.res.Vents[i] = make([]VentRecord, len(net.Pipes[i].Vents))
	}
	s.maxTurns = set.Turns
	if s.maxTurns == 0 {
		s.maxTurns = 500 + 60*len(s.vents)
		for _, sh := range s.shape {
			s.maxTurns += 40 * len(sh.turns)
		}
	}
	return s
}

// mouths adds the ends of pipes under the water of tanks and junctions: air that is pushed there blows out through the water, against its
// pressure. From a tank it is gone; into a junction it goes on as bubbles with what flows there, and is not followed.
func (s *sim) mouths() {
	for n := range s.net.Nodes {
		if k := s.net.Nodes[n].Kind; k != Tank && k != Junction {
			continue
		}
		for _, r := range s.at[n] {
			c := s.shape[r.leg].seg[r.side*(len(s.shape[r.leg].seg)-1)]
			v := s.newVent(-1, 0, n, 0, &Vent{})
			v.mouth, v.wet = r, true
			v.bubbles = c.area * noseSpeed * math.Sqrt(s.net.Gravity*c.bore) / (0.5 * s.rhoG * c.bore)
			s.vents = append(s.vents, v)
		}
	}
}

// noseSpeed is the speed of a long bubble's nose over √(g·bore) (D. T. Dumitrescu, ZAMM 23 (1943) 139; from memory): a pipe's end lets
// air out at that speed where its pressure exceeds the water's by half a bore of head, and in proportion.
const noseSpeed = 0.35

// outside is the pressure against which a vent lets air out, Pa.
func (s *sim) outside(v *vent) float64 {
	pa := s.net.Atmosphere
	if v.mouth.leg < 0 {
		return pa
	}
	h := s.level[v.node]
	if s.net.Nodes[v.node].Kind == Junction {
		h = s.heads.h[v.node]
	}
	return pa + s.rhoG*max(0, h-s.shape[v.mouth.leg].level[v.mouth.side])
}

func (s *sim) newVent(pipe, index, node int, w float64, d *Vent) vent {
	v := vent{pipe: pipe, index: index, node: node, w: w, data: d, pocket: -1, ai: -1, mouth: ref{leg: -1}}
	pa, ta := s.net.Atmosphere, s.net.Temperature
	for k, o := range []opening.Opening{d.In, d.Out, d.Staged, d.Small} {
		if o == nil {
			continue
		}
		f, err := o.MassFlow(pa+opening.DefaultBelow, pa, ta)
		if k == ventIn {
			f, err = o.MassFlow(pa, pa-opening.DefaultBelow, ta)
		}
		if err == nil { // Check has asked every opening before
			v.lin[k] = linearOut{o, f.Mass / opening.DefaultBelow}
		}
	}
	return v
}

// pass returns the air that leaves through a vent, kg/s, negative where it comes in, at a pressure p (Pa) and a density of the
// air in the pipe.
func (s *sim) pass(v *vent, p, rho float64) float64 {
	pa := s.outside(v)
	dp := p - pa
	if v.mouth.leg >= 0 {
		return rho * v.bubbles * max(0, dp)
	}
	k := ventOut
	switch {
	case dp < 0:
		k = ventIn
	case v.early:
		k = ventSmall
	case v.staged:
		k = ventStaged
	}
	l := &v.lin[k]
	switch {
	case l.o == nil:
		return 0
	case math.Abs(dp) < opening.DefaultBelow:
		return l.slope * dp
	}
	if now := [3]float64{p, rho, float64(k)}; now != v.asked {
		v.asked, v.known = now, s.through(l.o, p, rho)
	}
	return v.known
}

// through is what leaves by an opening, kg/s, negative where it comes in.
func (s *sim) through(o opening.Opening, p, rho float64) float64 {
	pa := s.net.Atmosphere
	if p > pa {
		t := s.net.Temperature
		if !s.net.Cooled {
			t = p / (rho * air.GasConstant)
		}
		if !(t > 160 && t < 990) { // beyond what an opening is computed for
			t = min(max(t, 160), 990)
			s.hot = true
		}
		f, _ := o.MassFlow(p, pa, t)
		return f.Mass
	}
	f, _ := o.MassFlow(pa, max(p, 0), s.net.Temperature)
	return -f.Mass
}

// pressure is that of air of a density.
func (s *sim) pressure(c, rho float64) float64 {
	if s.nExp == 1 {
		return c * rho
	}
	if e := rho/s.rhoA - 1; math.Abs(e) < 0.01 { // air next to that outside, mostly: the binomial series, to rounding
		b := &s.binomial
		return c / s.cA * s.net.Atmosphere * (1 + e*(b[0]+e*(b[1]+e*(b[2]+e*(b[3]+e*(b[4]+e*(b[5]+e*b[6])))))))
	}
	return c * math.Exp(s.nExp*math.Log(rho))
}

// gauge is the head of a pressure above the atmosphere, m.
func (s *sim) gauge(p float64) float64 { return (p - s.net.Atmosphere) / s.rhoG }

// newLeg adds a leg to a pipe, at its place by w.
func (s *sim) newLeg(pipe int, a, b end) int {
	k := -1
	for i := range s.legs {
		if s.legs[i].dead {
			k = i
			break
		}
	}
	if k < 0 {
		s.legs = append(s.legs, leg{})
		k = len(s.legs) - 1
	}
	s.legs[k] = leg{pipe: pipe, e: [2]end{a, b}, qi: -1, xi: -1, thin: math.Inf(1), heldAt: -mouthRest}
	for side := range s.legs[k].e {
		s.legs[k].e[side].i, s.legs[k].e[side].pocket = -1, -1
	}
	if pipe < 0 {
		return k
	}
	list := s.order[pipe]
	at := 0
	for at < len(list) && s.legs[list[at]].e[lower].w+s.legs[list[at]].e[upper].w <= a.w+b.w {
		at++
	}
	list = append(list, 0)
	copy(list[at+1:], list[at:])
	list[at] = k
	s.order[pipe] = list
	return k
}

// drop removes a leg.
func (s *sim) drop(k int) {
	l := &s.legs[k]
	l.dead, l.active = true, false
	if l.pipe < 0 {
		return
	}
	list := s.order[l.pipe]
	for i, have := range list {
		if have == k {
			s.order[l.pipe] = append(list[:i], list[i+1:]...)
			return
		}
	}
}

// nodeOf is the node at a side of a leg's pipe.
func (s *sim) nodeOf(l *leg, side int) int {
	if l.pipe < 0 {
		return l.node
	}
	if side == lower {
		return s.net.Pipes[l.pipe].From
	}
	return s.net.Pipes[l.pipe].To
}

// endW is the volume coordinate of a pipe's end.
func (s *sim) endW(pipe, side int) float64 {
	if side == lower {
		return 0
	}
	return s.shape[pipe].total()
}

// open tells whether a dry node lets air in and out freely.
func (s *sim) openNode(n int) bool {
	nd := &s.net.Nodes[n]
	return nd.Kind == Outlet || nd.Kind == Tank
}

// shut tells whether nothing passes a node's pipe end.
func (s *sim) shutNode(n int) bool {
	nd := &s.net.Nodes[n]
	return nd.Kind == Closed || nd.Kind == Station && nd.Pumps == nil && nd.Flow == 0 && !nd.NoCheck
}

func (s *sim) note(id string) {
	if !s.noted[id] {
		s.noted[id] = true
		s.res.Notes = append(s.res.Notes, id)
	}
}

// cycle is something at which a front arrives again: its pipe, side and place.
type cycle struct {
	pipe, side int
	w          float64
}

// mostCycles is how often a front may arrive at one crest or end before the run is said to be in a cycle.
const mostCycles = 20

// again counts the arrivals at a crest or an end.
func (s *sim) again(w watch) {
	at := cycle{s.legs[w.k].pipe, w.side, w.value}
	if s.came[at]++; s.came[at] > mostCycles {
		s.cycling = true
	}
}

func (s *sim) event(k Kind, pipe int, w float64, ventIndex int, p *pocket) {
	e := Event{Time: s.t, Kind: k, Pipe: pipe, Vent: ventIndex}
	if pipe >= 0 {
		sh := s.shape[pipe]
		e.Distance = sh.distanceAt(sh.mark(min(max(w, 0), sh.total()), 0))
	}
	if p != nil {
		e.Pressure, e.Volume, e.Number = p.p-s.net.Atmosphere, p.v, p.id
		if !p.open {
			e.Air = p.m
		}
	}
	s.res.Events = append(s.res.Events, e)
}
