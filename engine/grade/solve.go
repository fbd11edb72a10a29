package grade

import (
	"context"
	"fmt"
	"math"

	"obvert/line"
	"obvert/num"
)

// Solve finds the state of the line in one case: the steady flow, or for a standing case the pools at rest. A case that has
// no steady flow is an error that names the elements that contradict each other.
func Solve(ctx context.Context, in Input) (*Result, error) {
	if err := in.Check(); err != nil {
		return nil, err
	}
	if in.kase().Kind == line.Standing {
		return rest(in)
	}
	_, r, err := solveFlow(ctx, in)
	return r, err
}

// solveFlow solves a case that flows, and gives the solution beside the result.
func solveFlow(ctx context.Context, in Input) (*flow, *Result, error) {
	f, err := newFlow(in)
	if err != nil {
		return nil, nil, err
	}
	var out num.Outcome
	var energy, mass float64
	total := 0
	for round := 0; ; round++ {
		out, energy, mass = f.solve(ctx)
		total += out.Iterations
		if err := ctx.Err(); err != nil {
			return nil, nil, err
		}
		if !settled(energy, mass) {
			return nil, nil, f.impossible()
		}
		if !f.spreadAir() {
			break
		}
		if round > f.net.points {
			return nil, nil, fmt.Errorf("grade: case %q: air does not stop spreading", f.c.Name) // the set only grows: cannot happen
		}
	}
	r := &Result{Case: in.Case, Status: num.Converged.String(), Iterations: total, EnergyResidual: energy, MassResidual: mass}
	f.fill(r)
	return f, r, nil
}

// spreadAir lets air into every length next to it whose head would fall below the obvert, and reports whether it went anywhere. Heads beyond a run's
// ends are those of the last solution: what passes a node is followed no farther before the line is solved anew.
func (f *flow) spreadAir() bool {
	grew := false
	still, anyStill := f.stillRuns()
	if f.in.order != nil {
		return f.spreadOne(still, anyStill)
	}
	for i := range f.runs {
		if !still[i] && f.spreadIn(i) {
			grew = true
		}
	}
	if anyStill && f.airAtRest(still) {
		grew = true
	}
	if f.shareAir() {
		grew = true
	}
	return grew
}

// spreadOne lets air into the first run, in the order asked for, that takes any.
func (f *flow) spreadOne(still []bool, anyStill bool) bool {
	for _, i := range f.in.order(len(f.runs)) {
		if !still[i] && f.spreadIn(i) {
			f.shareAir()
			return true
		}
	}
	return anyStill && f.airAtRest(still) || f.shareAir()
}

// spreadIn spreads the air in one run at its flow now: along the flow, which changes no head farther on, then against it. There every point let
// in raises the heads above it, so that it may be the last. A point whose head stands just at the obvert, such as the second of two at one place, passes it on.
func (f *flow) spreadIn(run int) bool {
	p, rl, air := f.profileOf(run), f.runs[run], f.air[run]
	z, end := rl.g.obvert, rl.g.last()
	up, down, step := 0, end, 1
	if f.elems[run].q < 0 {
		up, down, step = end, 0, -1
	}
	grew := false
	enter := func(k, from int) bool {
		atBound := air[from] && p.before[from] <= z[from]+headTolerance
		if air[k] || p.head[k] > z[k]+headTolerance || !atBound {
			return false
		}
		f.letAirIn(run, k)
		grew = true
		return true
	}
	for k := up; k != down; k += step {
		enter(k+step, k)
	}
	raised := 0.0
	for k := down; ; k -= step {
		was := p.head[k]
		p.before[k] += raised
		p.head[k] = max(was, p.before[k], rl.bound[k])
		if k != down && enter(k, k+step) {
			p.head[k] = z[k]
		}
		if k == up {
			return grew
		}
		raised = p.head[k] - was
	}
}

// airAtRest takes over the air that stands in the runs without flow.
func (f *flow) airAtRest(runs []bool) bool {
	s, _ := f.settleStill(runs)
	grew := false
	for i, g := range f.net.grids {
		for k := range f.air[i] {
			if runs[i] && s.air[g.vertex+k] && !f.air[i][k] {
				f.letAirIn(i, k)
				grew = true
			}
		}
	}
	return grew
}

// headTolerance is a height that no survey knows: smaller differences of head are none.
const headTolerance = 1e-6 // m

func (f *flow) letAirIn(run, k int) {
	f.air[run][k] = true
	f.runs[run].bound[k] = f.runs[run].g.obvert[k]
}

// shareAir carries air through nodes: what reaches one run's end at a node reaches the ends of the others there that stand as high
// or higher. It reports whether anything changed.
func (f *flow) shareAir() bool {
	changed := false
	top := make(map[int]float64) // by solver's node: level of the highest end with air
	at := func(run int, end bool) (node, k int) {
		if end {
			return f.net.end(run), f.runs[run].g.last()
		}
		return f.net.begin(run), 0
	}
	for pass := 0; pass < 2; pass++ {
		for i := range f.runs {
			for _, end := range [2]bool{false, true} {
				n, k := at(i, end)
				if n < len(f.l.Nodes) {
					if kind := f.l.Nodes[n].Kind; kind == line.Tank || kind == line.Outfall || kind == line.Station {
						continue
					}
				}
				z := f.runs[i].g.obvert[k]
				if pass == 0 {
					if f.air[i][k] {
						if t, ok := top[n]; !ok || z < t {
							top[n] = z
						}
					}
				} else if t, ok := top[n]; ok && !f.air[i][k] && z >= t-headTolerance {
					f.letAirIn(i, k)
					changed = true
				}
			}
		}
	}
	return changed
}

// profileOf is the grade line along a run that flows.
func (f *flow) profileOf(i int) *profile {
	rl, e := f.runs[i], &f.elems[i]
	if f.profiles == nil {
		f.profiles = make([]profile, len(f.runs))
	}
	p := &f.profiles[i] // one for each run, laid anew at every call
	if n := len(rl.g.obvert); p.head == nil {
		both := make([]float64, 2*n)
		p.head, p.before = both[:n:n], both[n:]
	} else {
		clear(p.head)
		clear(p.before)
	}
	hu, hd := f.headAt(e, e.u), f.headAt(e, e.d)
	hu, hd = rl.ends(hu, hd)
	back := e.q < 0
	if back {
		hu, hd = hd, hu
	}
	rl.f.set(math.Abs(e.q))
	_, _, _, most := rl.walk(hd, back, p)
	rl.aboveThrottle(p, hu, most, back)
	return p
}

// aboveThrottle reckons the grade line from the upstream end down to the reducing or flow-control valve that throttles: there the head is not what the water
// downstream asks for but what comes.
func (e *runLaw) aboveThrottle(p *profile, from float64, most throttle, back bool) {
	g, h := e.g, from
	i, step, end, stop := 0, 1, g.last(), -1
	c := &e.cap[0]
	if back {
		i, step, end, c = end, -1, 0, &e.cap[1]
	}
	if most.r > energyLimit {
		if from-p.first(back)-e.f.speed[g.section(i)]*e.f.q2 <= energyLimit || c.equip < 0 {
			return // nothing throttles
		}
		stop = g.before[c.equip] + (1+step)/2
	}
	for ; i != stop; i += step {
		vh := e.f.speed[g.section(i)] * e.f.q2
		for k := range e.hold {
			if hd := &e.hold[k]; hd.most && hd.at == i && hd.reverse == back {
				if stop < 0 && hd.head-p.before[i] <= most.r+energyLimit {
					return
				}
				h = min(h, hd.head+vh) // it throttles too, before the one that sets the flow
			}
		}
		if h-vh > p.head[i] {
			p.head[i], p.before[i] = h-vh, h-vh
		}
		if i == end {
			return
		}
		loss, _ := e.lossAlong(min(i, i+step), back)
		h -= loss
	}
}

func (p *profile) first(back bool) float64 {
	if back {
		return p.head[len(p.head)-1]
	}
	return p.head[0]
}
