package grade

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"

	"obvert/line"
	"obvert/num"
)

// element is a law between two nodes, and its flow now.
type element struct {
	law     law
	u, d    int
	run     int // index of the run, −1 for none
	node    int // index of the station, −1 for none
	pump    int // index of the pump, −1 for none
	at      int // of a driveLaw: the node whose head it holds, −1 for none
	forward bool
	back    bool
	q       float64
	// of the last evaluation
	r, au, ad, c float64
	aat          float64 // −∂r/∂h of the head it holds
	open         bool
	jumps        bool       // its law jumps at no flow
	most         float64    // m³/s: no flow beyond is thought of; 0 for any
	kink         [2]float64 // m³/s: flows at which its law breaks, along and against; 0 for none
}

// flow is one steady solution in the making.
type flow struct {
	in         Input
	net        *Net
	l          *line.Line
	c          *line.Case
	elems      []element
	runs       []*runLaw // by run
	profiles   []profile // by run, of the last call of profileOf
	fixed      []bool
	head       []float64 // a driveLaw keeps hold of it
	demand     []float64
	m          *num.Sparse
	rhs        []float64
	air        [][]bool // by run, by grid point: air has reached it
	notes      []Note
	warm       *flow   // a solution of nearly the same, to begin from, or nil
	anchor     float64 // m³/s per m: how firmly a Newton step holds every head where it is
	reach      float64 // m: the farthest that a Newton step moves a head
	controlled bool    // control valves or drives take part
	leans      bool    // some law hangs on the heads only by its leaning
	moved      float64 // m: the farthest that the last step moved a head
}

func newFlow(in Input) (*flow, error) {
	l := in.Net.Line
	f := &flow{in: in, net: in.Net, l: l, c: in.kase()}
	n := in.Net.nodes
	f.fixed, f.head, f.demand, f.rhs = make([]bool, n), make([]float64, n), make([]float64, n), make([]float64, n)
	f.m = in.Net.matrix(f.c)
	f.setNodes()
	for i := range l.Runs {
		f.addRun(i)
	}
	for i := range l.Nodes {
		if l.Nodes[i].Station != nil {
			if err := f.addStation(i); err != nil {
				return nil, err
			}
		}
	}
	f.setCaps()
	f.setPockets()
	f.setBounds()
	if err := f.setNeeds(); err != nil {
		return nil, err
	}
	f.setMoment()
	f.controlled = f.leans
	for i, rl := range f.runs {
		if len(rl.hold) > 0 || rl.cap[0].equip >= 0 || rl.cap[1].equip >= 0 || rl.trapped != nil {
			f.controlled, f.elems[i].jumps = true, true
		}
	}
	f.firstHeads()
	return f, nil
}

// setNodes fixes the heads that are known and the water that is drawn off.
func (f *flow) setNodes() {
	for i := range f.l.Nodes {
		switch nd := &f.l.Nodes[i]; nd.Kind {
		case line.Tank:
			f.fixed[i], f.head[i] = true, f.c.Level[i]
		case line.Outfall:
			f.fixed[i], f.head[i] = true, f.endObvert(i)
		case line.Offtake:
			f.demand[i] = f.c.Demand[i]
		}
	}
}

// endObvert is the level of the obvert at a node: the highest of the run ends that meet there.
func (f *flow) endObvert(node int) float64 { return f.net.top[node] }

func (f *flow) addRun(i int) {
	run, g := &f.l.Runs[i], f.net.grids[i]
	rl := &runLaw{g: g, run: run, forward: true, back: true}
	factor := f.in.RoughnessFactor
	if factor == 0 {
		factor = 1
	}
	rl.f = newLaws(f.l, run, g, factor)
	for _, sg := range g.seg {
		switch f.gateIn(i, sg) {
		case passForward:
			rl.back = false
		case passBackward:
			rl.forward = false
		case passNone:
			rl.forward, rl.back = false, false
		}
	}
	f.openEnds(rl)
	for k, e := range run.Equipment {
		at := g.before[k]
		switch {
		case e.Kind == line.SustainingValve && e.Reverse:
			rl.hold = append(rl.hold, hold{at: at + 1, head: g.obvert[at] + e.Setting, reverse: true})
		case e.Kind == line.SustainingValve:
			rl.hold = append(rl.hold, hold{at: at, head: g.obvert[at] + e.Setting})
		case e.Kind == line.ReducingValve && e.Reverse:
			rl.hold = append(rl.hold, hold{at: at, head: g.obvert[at] + e.Setting, reverse: true, most: true})
		case e.Kind == line.ReducingValve:
			rl.hold = append(rl.hold, hold{at: at + 1, head: g.obvert[at] + e.Setting, most: true})
		}
	}
	f.runs = append(f.runs, rl)
	f.elems = append(f.elems, element{law: rl, u: f.net.begin(i), d: f.net.end(i), run: i, node: -1, pump: -1, at: -1})
}

// gateIn is how water may pass a segment in this case.
func (f *flow) gateIn(run int, sg segment) gate { return gateIn(f.c, run, sg) }

func gateIn(c *line.Case, run int, sg segment) gate {
	if sg.equip >= 0 && c.Closed != nil && c.Closed[run] != nil && c.Closed[run][sg.equip] {
		return passNone
	}
	return sg.gate
}

// openEnds treats the ends of a run that discharge into the air: the head there is the obvert's, and nothing comes back.
func (f *flow) openEnds(rl *runLaw) {
	if h, over := f.overTheTop(rl.run.To, rl.g.obvert[rl.g.last()]); over {
		rl.tail, rl.tailed = h, true
		if h <= rl.g.obvert[rl.g.last()] || f.emptyEnd(rl.run.To) {
			rl.back = false
		}
	}
	if f.l.Nodes[rl.run.From].Kind == line.Outfall {
		rl.head, rl.headed = rl.g.obvert[0], true
		rl.forward = false
	}
}

func (f *flow) overTheTop(node int, obvert float64) (head float64, over bool) {
	switch nd := &f.l.Nodes[node]; {
	case nd.Kind == line.Outfall:
		return obvert, true
	case nd.Kind == line.Tank && nd.Tank.Inlet == line.OverTheTop:
		return max(obvert, f.c.Level[node]), true
	}
	return 0, false
}

func (f *flow) addStation(i int) error {
	st, set := f.l.Nodes[i].Station, f.c.Stations[i]
	in := f.net.suction[i]
	if st.HasSump {
		// The sump is a fixed node of its own: the station's discharge side keeps the line node's number, so the sump is carried by
		// the laws themselves.
		in = -1
	}
	if holds(&set) && anyRuns(&set) {
		return f.addDrive(i, in)
	}
	if set.Flow != 0 {
		f.elems = append(f.elems, element{law: &flowLaw{set.Flow}, u: in, d: i, run: -1, node: i, pump: -1, at: -1})
		return nil
	}
	out := i
	if h := f.net.header[i]; h >= 0 {
		out = h
	}
	running, full := 0, 0.0
	for p := range st.Pumps {
		if p >= len(set.Running) || !set.Running[p] {
			continue
		}
		speed := set.Speed[p]
		if speed == 0 {
			speed = 1
		}
		if f.in.SpeedFactor != 0 {
			speed *= f.in.SpeedFactor
		}
		curve, err := headCurve(&st.Pumps[p], speed)
		if err != nil {
			return fmt.Errorf("grade: station %q, pump %q: %w", f.l.Nodes[i].Name, st.Pumps[p].Name, err)
		}
		top := speed * st.Pumps[p].Curve[len(st.Pumps[p].Curve)-1][0]
		running++
		full += top
		f.elems = append(f.elems, element{law: &pumpLaw{curve: curve, checked: st.Check == line.CheckEach, full: top}, u: in, d: out, run: -1, node: i, pump: p, at: -1})
	}
	switch {
	case running > 0 && out != i:
		f.elems = append(f.elems, element{law: &passLaw{typical: full}, u: out, d: i, run: -1, node: i, pump: -1, at: -1})
	case running == 0:
		f.elems = append(f.elems, element{law: &passLaw{back: st.Check == line.CheckNone, typical: 1e-2}, u: in, d: i, run: -1, node: i, pump: -1, at: -1})
		if out != i {
			f.fixed[out], f.head[out] = true, f.endObvert(i) // nothing hangs on it
		}
	}
	return nil
}

// setBounds gives every grid point the least head it can have.
func (f *flow) setBounds() {
	vapour := f.l.Site.VapourHead()
	f.air = make([][]bool, len(f.runs))
	for i, rl := range f.runs {
		g := rl.g
		rl.bound = make([]float64, len(g.obvert))
		f.air[i] = make([]bool, len(g.obvert))
		copy(f.air[i], g.entry)
		if f.openToAir(rl.run.To, g.obvert[g.last()]) || f.emptyEnd(rl.run.To) {
			f.air[i][g.last()] = true
		}
		if f.openToAir(rl.run.From, g.obvert[0]) || f.emptyEnd(rl.run.From) {
			f.air[i][0] = true
		}
		for k, z := range g.obvert {
			rl.bound[k] = z + vapour
			if f.air[i][k] {
				rl.bound[k] = z
			}
		}
	}
	f.shareAir()
}

// openToAir reports whether a pipe's end at a node lies open to the air.
func (f *flow) openToAir(node int, obvert float64) bool { return openToAir(f.l, f.c, node, obvert) }

func openToAir(l *line.Line, c *line.Case, node int, obvert float64) bool {
	switch nd := &l.Nodes[node]; nd.Kind {
	case line.Outfall:
		return true
	case line.Tank:
		return c.Level[node] < obvert
	}
	return false
}

// setNeeds puts the wanted heads on the grid.
func (f *flow) setNeeds() error {
	for _, w := range f.in.Need {
		rl := f.runs[w.Run]
		i := rl.g.nearest(w.Chainage)
		if rl.g.chainage[i] != w.Chainage {
			return fmt.Errorf("grade: a head is wanted at %.3f m on run %q, where no grid point stands", w.Chainage, rl.run.Name)
		}
		for i > 0 && rl.g.chainage[i-1] == w.Chainage && rl.g.obvert[i-1] > rl.g.obvert[i] {
			i--
		}
		rl.hold = append(rl.hold, hold{at: i, head: w.Head, both: true})
	}
	return nil
}

// firstHeads puts every free node above all pipe, and every flow at its law's own start.
func (f *flow) firstHeads() {
	top, low := math.Inf(-1), math.Inf(1)
	for _, rl := range f.runs {
		for _, z := range rl.g.obvert {
			top, low = max(top, z), min(low, z)
		}
	}
	f.reach = 2*(top-low) + 100
	for i := range f.head {
		if !f.fixed[i] {
			f.head[i] = top
		}
	}
	for i := range f.elems {
		e := &f.elems[i]
		e.forward, e.back = e.law.ways()
		e.q = e.law.start()
		if f.in.Guess != nil {
			e.q = f.in.Guess(i)
		}
		if e.q > 0 && !e.forward || e.q < 0 && !e.back {
			e.q = 0
		}
	}
	if f.warm != nil {
		f.beginWarm()
	}
}

// node heads with the sump of a station, whose number is −1, standing in for itself.
func (f *flow) headAt(e *element, n int) float64 {
	if n < 0 {
		if st := f.l.Nodes[e.node].Station; st != nil {
			return st.SuctionLevel
		}
		return 0 // of no moment to an off-take's law or an empty tank's
	}
	return f.head[n]
}

// Tolerances of the iteration; what is asked of the result stands in Result's own comment.
const (
	energyGoal  = 1e-9  // m
	massGoal    = 1e-13 // m³/s
	energyLimit = 1e-6  // m
	massLimit   = 1e-9  // m³/s
	longest     = 300   // Newton steps
)

// tries are how the iteration is begun anew: how firmly the first steps hold the heads, m³/s per m, as if every node had some storage, and the share of each step that is
// made. The laws of control valves break where they begin to hold, and now and then the steps go round in a ring from one start and not from another; lines with such valves
// get more tries.
var tries = [...]struct{ storage, relax float64 }{{0, 1}, {1e-3, 1}, {1e-2, 1}, {1e-1, 1},
	{0, 0.5}, {1e-2, 0.7}, {0, 1}, {1e-2, 0.4}, {0, 0.8}, {1e-2, 1}, {1e-3, 0.6}, {1e-1, 1}, {0, 0.3}, {1e-2, 0.9}, {1e-3, 0.5}, {1e-1, 0.5}}

const triesWithoutControls = 4

// solve runs Newton's method to its end for the bounds as they stand. Where it does not get there from where it stands, it begins anew: from the laws' own
// starts, then from flows about them.
func (f *flow) solve(ctx context.Context) (out num.Outcome, energy, mass float64) {
	total, most := 0, triesWithoutControls
	if f.controlled {
		most = len(tries)
	}
	for try := range most {
		limit := longest
		if try >= triesWithoutControls {
			limit = longest / 2
		}
		if try > 0 {
			f.in.Guess, f.warm = nil, nil
			if try >= triesWithoutControls {
				f.in.Guess = f.around(uint64(try))
			}
			f.firstHeads()
		}
		out, energy, mass = f.newton(ctx, tries[try].storage, tries[try].relax, limit)
		total += out.Iterations
		if settled(energy, mass) || ctx.Err() != nil {
			break
		}
	}
	if !settled(energy, mass) && ctx.Err() == nil {
		var more int
		if more, energy, mass = f.bySpeed(ctx, energy, mass); settled(energy, mass) {
			out.Status = num.Converged
		}
		total += more
	}
	out.Iterations = total
	f.findSpeeds()
	return out, energy, mass
}

func settled(energy, mass float64) bool { return energy <= energyLimit && mass <= massLimit }

// around is a guess of flows between the laws' own starts and their opposites, the same for the same seed.
func (f *flow) around(seed uint64) func(int) float64 {
	rng := rand.New(rand.NewPCG(seed, seed))
	return func(i int) float64 { return (2*rng.Float64() - 1) * f.elems[i].law.start() }
}

func (f *flow) newton(ctx context.Context, storage, relax float64, limit int) (num.Outcome, float64, float64) {
	loop := num.Loop{Limit: limit}
	energy, mass := math.Inf(1), math.Inf(1)
	best := math.Inf(1)
	since := 0
	for loop.Next() {
		if ctx.Err() != nil {
			loop.Stop(num.Cancelled)
			break
		}
		energy, mass = f.evaluate()
		if energy <= energyGoal && mass <= massGoal && (!f.leans || f.moved <= headTolerance) {
			loop.Stop(num.Converged)
			break
		}
		if measure := energy + mass*1e3; measure < best {
			best, since = measure, 0
		} else if since++; since > 8 && energy <= energyLimit && mass <= massLimit {
			loop.Stop(num.Converged) // as far as the digits go
			break
		}
		n := loop.Outcome().Iterations
		f.anchor = max(anchor, storage*math.Pow(0.9, float64(n)))
		if storage == 0 && n > 60 {
			relax = min(relax, 0.5)
		}
		f.step(relax)
	}
	return loop.Outcome(), energy, mass
}

// evaluate takes every law's residual and gives the largest misses of energy and of mass.
func (f *flow) evaluate() (energy, mass float64) {
	for i := range f.rhs {
		f.rhs[i] = -f.demand[i]
	}
	for i := range f.elems {
		e := &f.elems[i]
		f.evaluateElement(e)
		if e.open {
			energy = max(energy, math.Abs(e.r))
		}
		if e.u >= 0 {
			f.rhs[e.u] -= e.q
		}
		f.rhs[e.d] += e.q
	}
	for i, b := range f.rhs {
		if !f.fixed[i] {
			mass = max(mass, math.Abs(b))
		}
	}
	return energy, mass
}

func (f *flow) evaluateElement(e *element) {
	f.evaluateLaw(e)
	if e.at >= 0 {
		law := e.law.(*driveLaw)
		_, _, _, _, which := law.three(e.q, f.headAt(e, e.u), f.headAt(e, e.d))
		e.aat = law.pull(which)
	}
}

func (f *flow) evaluateLaw(e *element) {
	hu, hd := f.headAt(e, e.u), f.headAt(e, e.d)
	e.open = true
	switch {
	case e.q != 0:
		e.r, e.au, e.ad, e.c = e.law.residual(e.q, hu, hd, 0)
		return
	case e.forward:
		if e.r, e.au, e.ad, e.c = e.law.residual(0, hu, hd, 1); e.r > 0 {
			return
		}
	}
	if e.back {
		if e.r, e.au, e.ad, e.c = e.law.residual(0, hu, hd, -1); e.r < 0 {
			return
		}
	}
	e.open, e.r = false, 0
}

// anchor keeps the head of a node that hangs on nothing where it is, without moving the solution of any other.
const anchor = 1e-10 // m³/s per m

// step makes one Newton step.
func (f *flow) step(relax float64) {
	f.m.Clear()
	for i := range f.elems {
		e := &f.elems[i]
		if !e.open {
			continue
		}
		g := e.r / e.c
		f.spread(e, e.u, -1, g)
		f.spread(e, e.d, +1, g)
	}
	for i := range f.rhs {
		if f.fixed[i] {
			f.m.Add(i, i, 1)
			f.rhs[i] = 0
		} else {
			f.m.Add(i, i, f.anchor)
		}
	}
	if err := f.m.Factor(); err != nil {
		return // anchored: cannot happen; the iteration then ends at its limit and says so
	}
	f.m.Solve(f.rhs, f.rhs)
	for i, d := range f.rhs { // behind a bound a head hangs on nothing but its anchor, and would fly off
		f.rhs[i] = min(max(d, -f.reach), f.reach)
	}
	for i := range f.elems {
		e := &f.elems[i]
		if !e.open {
			continue
		}
		du, dd := 0.0, 0.0
		if e.u >= 0 {
			du = f.rhs[e.u]
		}
		dd = f.rhs[e.d]
		q := e.q + relax*(e.r+e.au*du-e.ad*dd-e.held(f.rhs))/e.c
		e.q = f.allowed(e, q)
	}
	f.moved = 0
	for i, d := range f.rhs {
		f.head[i] += relax * d
		f.moved = max(f.moved, math.Abs(d))
	}
}

// spread adds an element's part of a node's balance: sign is −1 where water leaves the node.
func (f *flow) spread(e *element, n int, sign, g float64) {
	if n < 0 || f.fixed[n] {
		return
	}
	f.rhs[n] += sign * g
	if e.u >= 0 && !f.fixed[e.u] {
		f.m.Add(n, e.u, -sign*e.au/e.c)
	}
	if !f.fixed[e.d] {
		f.m.Add(n, e.d, sign*e.ad/e.c)
	}
	if e.at >= 0 && e.aat != 0 && !f.fixed[e.at] {
		f.m.Add(n, e.at, sign*e.aat/e.c)
	}
}

// held is what a step of the heads takes from the residual through the node whose head the element holds.
func (e *element) held(step []float64) float64 {
	if e.at < 0 {
		return 0
	}
	return e.aat * step[e.at]
}

// allowed keeps a flow within what its element lets pass. A flow that changes sign where a bound holds stops at zero first, and one that passes a setting stops there.
func (f *flow) allowed(e *element, q float64) float64 {
	switch {
	case q > 0 && !e.forward, q < 0 && !e.back:
		return 0
	case e.most > 0 && math.Abs(q) > e.most:
		return math.Copysign(e.most, q)
	case q*e.q < 0 && (e.au != e.ad || e.jumps):
		return 0
	}
	for _, k := range e.kink {
		if k != 0 && (q-k)*(e.q-k) < 0 && q*k > 0 {
			return k
		}
	}
	return q
}

func (f *flow) balance() []float64 {
	b := make([]float64, f.net.nodes)
	for i := range b {
		b[i] = -f.demand[i]
	}
	for i := range f.elems {
		e := &f.elems[i]
		if e.u >= 0 {
			b[e.u] -= e.q
		}
		b[e.d] += e.q
	}
	return b
}
