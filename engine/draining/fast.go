package draining

import (
	"context"
	"fmt"
	"math"
	"slices"
)

// fast drains a line through openings: water moves, and air must follow it.
type fast struct {
	*net
	out         *Result
	time        float64
	tails       []tail
	ends        float64 // s: when the last of them has left
	polytropic  float64
	repaid      float64 // m³ of water given back where gaps closed
	held        float64 // Pa absolute: where not 0, the pressure at which air that is shut in is held
	start       float64 // m³ in pipes at the start
	closed      float64 // m³ by which the water grew where gaps of no volume were closed
	air0        float64 // kg at the start
	tankOut     float64 // m³ that tanks without area gave
	runIn       float64 // m³ that ran into tanks
	air         []airRecord
	outflow     [][]Outflow // by opening
	lost        []float64   // m³, by opening
	elsewhere   float64     // m³ out of open ends that are no opening
	airOpen     float64     // kg through open ends
	noBreak     map[int]bool
	scale       float64 // m³/s: 1 cm/s in the largest bore
	shots       []shot
	jointAdmits []bool    // by joint: an air valve stands there
	allowed     []float64 // Pa, by vertex
	mostSteps   int
	pace        float64 // s: how long a step might be but for gaps about to close
}

// tail is the last of a column, which runs out at a flow that falls evenly to nothing.
type tail struct {
	opening      int
	from, length float64 // s
	volume       float64 // m³
}

// trail lets the last of a column run out.
func (f *fast) trail(opening int, volume, length float64) {
	f.tails = append(f.tails, tail{opening, f.time, length, volume})
	f.ends = max(f.ends, f.time+length)
}

// still is what of a tail has not left at a moment, m³.
func (t *tail) still(at float64) float64 {
	x := min(max((t.from+t.length-at)/t.length, 0), 1)
	return t.volume * x * x
}

// airRecord is what an air valve did.
type airRecord struct {
	in, peak, peakTime, vacuum float64
	choked, opened             bool
	opens                      float64
}

// shot is where the water stood at a moment.
type shot struct {
	time   float64
	plugs  [][]plug
	valves []ValveState
}

func newFast(in *Input) (*fast, error) {
	f := &fast{net: newNet(in), out: &Result{Case: in.Case}, mostSteps: in.MostSteps, polytropic: in.Polytropic}
	if f.mostSteps == 0 {
		f.mostSteps = 5000
	}
	if f.polytropic == 0 {
		f.polytropic = 1.2
	}
	f.outflow, f.lost = make([][]Outflow, len(in.Openings)), make([]float64, len(in.Openings))
	f.air = make([]airRecord, len(in.Valves))
	if err := f.tap(); err != nil {
		return nil, err
	}
	for i := range f.chains {
		for _, a := range f.chains[i].area {
			f.scale = max(f.scale, 0.01*a)
		}
	}
	f.fill()
	return f, nil
}

// note remarks something.
func (f *fast) note(id, where, text string) {
	for _, n := range f.out.Notes {
		if n.ID == id && n.Where == where {
			return
		}
	}
	f.out.Notes = append(f.out.Notes, Note{id, where, text})
}

// tap finds the air valves on the chains and their curves.
func (f *fast) tap() error {
	on := make(map[int][]spot)
	f.jointAdmits = make([]bool, len(f.joints))
	for i := range f.chains {
		c := &f.chains[i]
		for k, v := range c.vertex {
			on[v] = append(on[v], spot{i, c.v[k], 0.5 * c.short(c.v[k])})
		}
	}
	for i := range f.in.Valves {
		v := &f.in.Valves[i]
		if v.Isolated || !v.AdmitsAir {
			continue
		}
		vt := vent{valve: i, spots: on[f.valve[i]]}
		if len(vt.spots) == 0 { // its place is a joint whose chains begin at a neighbour
			for _, w := range f.next[f.valve[i]] {
				vt.spots = append(vt.spots, on[int(w)]...)
			}
		}
		if v.Record >= 0 {
			r := &f.in.Rack[v.Record]
			var err error
			if vt.in, err = r.Inlet(); err != nil {
				return fmt.Errorf("draining: air curve of %q: %w", r.Name, err)
			}
			if vt.out, err = r.Outlet(); err != nil {
				return fmt.Errorf("draining: air curve of %q: %w", r.Name, err)
			}
		}
		if vt.in == nil {
			vt.wide = true
			f.note("draining.no-air-curve", v.Name, "It admits air and how much is not known: taken as wide open, so that the vacuum there is none. Give its air curve.")
		} else {
			vt.in = soft(vt.in)
		}
		if vt.out != nil {
			vt.out = soft(vt.out)
		}
		for _, s := range vt.spots {
			c := &f.chains[s.chain]
			if s.v <= 1e-12*c.total() {
				f.jointAdmits[c.a] = true
			}
			if s.v >= c.total()*(1-1e-12) {
				f.jointAdmits[c.b] = true
			}
		}
		f.vents = append(f.vents, vt)
	}
	return nil
}

// fill puts the water of the pools into the chains, as full bores of the same volume.
func (f *fast) fill() {
	level := make([]float64, len(f.segs))
	hangs := make([]bool, len(f.segs))
	for i := range level {
		level[i] = math.Inf(-1)
	}
	f.wetSegments(f.in.Pools, func(s, p int) {
		if f.in.Pools[p].Level > level[s] {
			level[s] = f.in.Pools[p].Level
			for _, sp := range f.in.Pools[p].Spans {
				if sp.Run == f.segs[s].run && sp.FullFrom <= f.at[f.segs[s].a].Chainage && sp.FullTo >= f.at[f.segs[s].b].Chainage {
					hangs[s] = true // full though it may stand above the level: under suction
				}
			}
		}
	})
	water := make(map[[2]int]float64, len(f.segs))
	for i, s := range f.segs {
		w := 0.0
		switch {
		case hangs[i]:
			p := piece{length: s.length, bore: s.bore}
			w = p.whole()
		case !math.IsInf(level[i], -1):
			w = f.volume(i, level[i])
		}
		water[[2]int{s.a, s.b}], water[[2]int{s.b, s.a}] = w, w
	}
	atm := f.l.Site.AtmosphericPressure
	for i := range f.chains {
		c := &f.chains[i]
		w := make([]float64, len(c.area))
		for k := range w {
			w[k] = min(water[[2]int{c.vertex[k], c.vertex[k+1]}], c.v[k+1]-c.v[k])
		}
		c.plugs = gatherPlugs(c, w)
		for _, p := range c.plugs {
			f.start += p.v1 - p.v0
		}
		c.gaps = make([]gap, len(c.plugs)+1)
		for k := range c.gaps {
			v0, v1 := c.bounds(k)
			c.gaps[k] = gap{mass: atm * (v1 - v0) / f.gas(), p: atm}
		}
	}
	f.touch()
	for i := range f.chains {
		for k := range f.chains[i].gaps {
			f.air0 += f.chains[i].gaps[k].mass
		}
	}
}

// gatherPlugs makes plugs of the water in each stretch of a chain: what stands in part-full stretches beside a full one, or about a low point,
// is pushed up against it.
func gatherPlugs(c *chain, w []float64) []plug {
	var out []plug
	full := func(k int) bool { return w[k] >= (c.v[k+1]-c.v[k])*(1-1e-12) }
	for k := 0; k < len(w); {
		if w[k] <= 0 && c.v[k+1] > c.v[k] {
			k++
			continue
		}
		first := k
		for k < len(w) && (w[k] > 0 || c.v[k+1] == c.v[k]) {
			k++
		}
		out = append(out, wetStretch(c, w, first, k, full)...)
	}
	return out
}

// wetStretch makes plugs of stretches first to before last, all of which hold water.
func wetStretch(c *chain, w []float64, first, last int, full func(int) bool) (out []plug) {
	var core [][2]int // full stretches in a row
	for k := first; k < last; k++ {
		if !full(k) || c.v[k+1] == c.v[k] && (len(core) == 0 || core[len(core)-1][1] != k) {
			continue
		}
		if n := len(core); n > 0 && core[n-1][1] == k {
			core[n-1][1] = k + 1
		} else {
			core = append(core, [2]int{k, k + 1})
		}
	}
	sum := func(a, b int) (s float64) {
		for k := a; k < b; k++ {
			s += w[k]
		}
		return s
	}
	if len(core) == 0 {
		low := first
		for k := first; k <= last; k++ {
			if c.z[k] < c.z[low] {
				low = k
			}
		}
		if total := sum(first, last); total > 0 {
			out = append(out, plug{v0: c.v[low] - sum(first, low), v1: c.v[low] + sum(low, last)})
		}
		return out
	}
	for i, k := range core {
		p := plug{v0: c.v[k[0]], v1: c.v[k[1]]}
		before := first
		if i > 0 {
			before = crest(c, core[i-1][1], k[0])
		}
		behind := last
		if i < len(core)-1 {
			behind = crest(c, k[1], core[i+1][0])
		}
		p.v0 -= sum(before, k[0])
		p.v1 += sum(k[1], behind)
		out = append(out, p)
	}
	return out
}

// crest is the highest vertex between two.
func crest(c *chain, a, b int) int {
	top := a
	for k := a; k <= b; k++ {
		if c.z[k] > c.z[top] {
			top = k
		}
	}
	return top
}

// touch joins plugs that reach a joint to the water there.
func (f *fast) touch() {
	for j := range f.joints {
		jt := &f.joints[j]
		all := jt.kind != openEnd && !(jt.kind == tankEnd && jt.level <= f.endLevel(jt))
		for _, e := range jt.ends {
			all = all && (f.reaches(e) || jt.kind == hole || jt.kind == tankEnd)
		}
		for _, e := range jt.ends {
			if c := &f.chains[e.chain]; all && f.reaches(e) {
				if e.last {
					c.plugs[len(c.plugs)-1].at1, c.plugs[len(c.plugs)-1].v1 = true, c.total()
				} else {
					c.plugs[0].at0, c.plugs[0].v0 = true, 0
				}
			}
		}
	}
}

// endLevel is the lowest axis of the pipes at a joint.
func (f *fast) endLevel(j *joint) float64 {
	z := math.Inf(1)
	for _, e := range j.ends {
		c := &f.chains[e.chain]
		if e.last {
			z = min(z, c.z[len(c.z)-1])
		} else {
			z = min(z, c.z[0])
		}
	}
	return z
}

// reaches tells whether water stands at a chain's end.
func (n *net) reaches(e chainEnd) bool {
	c := &n.chains[e.chain]
	if len(c.plugs) == 0 {
		return false
	}
	eps := 1e-10 * (1 + c.total())
	if e.last {
		return c.plugs[len(c.plugs)-1].v1 >= c.total()-eps
	}
	return c.plugs[0].v0 <= eps
}

// run follows the water to its end or to the horizon.
func (f *fast) run(ctx context.Context) error {
	m := &motion{fast: f, dt: 1e-3}
	dt := 1e-3
	still, quiet := 0, 0.0
	f.shoot()
	for f.out.Steps = 0; f.out.Steps < f.mostSteps; f.out.Steps++ {
		if f.out.Steps%32 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		m.dt = min(dt, f.in.Horizon-f.time)
		want := m.dt
		if err := f.tryStep(m); err != nil {
			return err
		}
		if m.dt < want {
			f.pace = m.dt
		}
		most := f.record(m)
		from := f.time
		f.apply(m)
		f.recordWater(from, m.dt)
		f.shoot()
		if f.time >= f.in.Horizon*(1-1e-12) {
			if f.out.Status = HorizonReached; most <= f.least() {
				f.out.Status = Drained
			}
			return nil
		}
		if out := f.leaving(); out > f.least() {
			quiet = f.time
		} else if f.time > 1.5*quiet+600 || f.time > quiet+600 && most < 0.01*f.scale { // air may still breathe, but no water leaves
			f.out.Status = Drained
			return nil
		}
		if still++; most > f.least() || f.time < f.ends || f.out.Steps < 5 {
			still = 0
		}
		if still > 8 {
			f.out.Status = Drained
			return nil
		}
		dt = f.nextStep(m)
	}
	f.out.Status = LimitReached
	f.out.Reason = fmt.Sprintf("followed for %d steps, to %.0f s of %.0f s", f.mostSteps, f.time, f.in.Horizon)
	f.note("draining.too-many-steps", "", fmt.Sprintf("Followed for %d steps, to %.0f s, and stopped short of the horizon: what happens after is not known.", f.mostSteps, f.time))
	return nil
}

// leaving is the flow that left through all openings in the last step, m³/s.
func (f *fast) leaving() (q float64) {
	for _, way := range f.outflow {
		if n := len(way); n > 0 {
			q += way[n-1].Flow
		}
	}
	return q
}

// tryStep solves a step, and shorter ones where that fails.
func (f *fast) tryStep(m *motion) (err error) {
	plugs, gaps := make([][]plug, len(f.chains)), make([][]gap, len(f.chains))
	for i := range f.chains {
		plugs[i], gaps[i] = slices.Clone(f.chains[i].plugs), slices.Clone(f.chains[i].gaps)
	}
	closed, air := f.closed, f.airOpen
	const tries, least = 12, 0.005 // s
	for range tries {
		if err = f.step(m); err == nil && (m.dt < least || !m.overlaps()) {
			return nil
		}
		for i := range f.chains {
			f.chains[i].plugs, f.chains[i].gaps = slices.Clone(plugs[i]), slices.Clone(gaps[i])
		}
		f.closed, f.airOpen = closed, air
		m.dt *= 0.25
	}
	return err
}

// overlaps tells whether water would run into water by more than nothing within the step.
func (m *motion) overlaps() bool {
	share, floor := m.shares()
	for i := range m.chains {
		c := &m.chains[i]
		for k := range c.plugs { // one end stands, the other would pass it
			p := &c.plugs[k]
			if use := math.Abs(m.uses(i, k)); use > 4*max(share*(p.v1-p.v0), floor) {
				return true
			}
			if left := p.v1 - p.v0; (p.at0 || p.at1 || m.shift(i, k, true) == 0 || m.shift(i, k, false) == 0) &&
				m.uses(i, k) > 0.5*left && left > 1e-6*c.total() {
				return true
			}
		}
		for k := 1; k < len(c.plugs); k++ {
			gap := c.plugs[k].v0 + m.shift(i, k, false) - c.plugs[k-1].v1 - m.shift(i, k-1, true)
			if gap < -1e-9*c.total() && !c.puddle(k) && !c.puddle(k-1) {
				return true
			}
		}
	}
	return false
}

// uses is the volume that a plug loses in the step, m³, less than nothing where it grows.
func (m *motion) uses(i, k int) float64 {
	p := &m.chains[i].plugs[k]
	d0, d1 := 0.0, 0.0
	if !p.at0 {
		d0 = m.shift(i, k, false)
	}
	if !p.at1 {
		d1 = m.shift(i, k, true)
	}
	return d0 - d1
}

// least is a flow that counts as none.
func (f *fast) least() float64 {
	if f.in.StoppedLeak > 0 {
		return f.in.StoppedLeak
	}
	return 1e-8
}

// shares is the share of a column, and the volume where that is less, m³, that it may lose in a step: a column that holds no more than a few
// thousandths of the water is nothing to be exact about.
func (f *fast) shares() (share, floor float64) {
	share = 0.03
	if f.in.Tolerance > 0 {
		share = min(0.05, share*math.Sqrt(f.in.Tolerance/1e-4))
	}
	return share, 0.1 * share * f.start
}

// nextStep is how long the next step may be: no column loses, no gas comes nearer to vapour, and no gap closes, by more than a small share.
// After a short one for a gap to close, steps soon are as long again as before.
func (f *fast) nextStep(m *motion) float64 {
	f.crests()
	share, floor := f.shares()
	dt := 1.3 * m.dt
	if !f.in.Inertia {
		dt = min(2*max(m.dt, f.pace), 16*m.dt)
	}
	for i := range m.regions {
		r := &m.regions[i]
		if d := math.Abs(r.p - r.before); r.row >= 0 && r.v0 > 0 && d > 0 {
			dt = min(dt, m.dt*max(0.3, share*(r.p-f.l.Site.VapourPressure)/d))
		}
	}
	for i := range f.chains {
		c := &f.chains[i]
		for k := range c.plugs {
			p := &c.plugs[k]
			if d := math.Abs(p.q - p.was); f.in.Inertia && d > 0 {
				dt = min(dt, m.dt*max(0.3, 1.5*share*(math.Abs(p.q)+f.scale)/d))
			}
			d0, d1 := 0.0, 0.0
			if !p.at0 {
				d0 = m.shift(i, k, false) / m.dt
			}
			if !p.at1 {
				d1 = m.shift(i, k, true) / m.dt
			}
			if net := math.Abs(d1 - d0); net > 0 {
				dt = min(dt, max(share*(p.v1-p.v0), min(floor, 0.2*(p.v1-p.v0)))/net)
			}
			if q := max(math.Abs(d0), math.Abs(d1)); q > 0 {
				dt = min(dt, max(share*(p.v1-p.v0), floor)/q)
			}
		}
	}
	f.pace = dt
	dt = min(dt, f.untilGapsClose(m, floor))
	if left := f.ends - f.time; left > 0 {
		dt = min(dt, max(0.2*left, 0.02*(f.ends-f.tails[len(f.tails)-1].from)))
	}
	for j := range f.joints {
		if jt := &f.joints[j]; jt.kind == tankEnd && jt.flow > 0 && !math.IsInf(jt.tank.area, 1) && jt.level > f.endLevel(jt) {
			left := jt.level - f.endLevel(jt)
			dt = min(dt, max(share*left, min(0.1*left, 0.1*share), 1e-5)*jt.tank.area/jt.flow)
		}
	}
	return dt
}

// untilGapsClose is how long the next step may be for no gap to close past nothing, +Inf where none closes.
func (f *fast) untilGapsClose(m *motion, floor float64) float64 {
	dt := math.Inf(1)
	for i := range f.chains {
		c := &f.chains[i]
		for k := range c.gaps {
			rate := 0.0
			if k > 0 && !c.plugs[k-1].at1 {
				rate -= m.shift(i, k-1, true) / m.dt
			}
			if k < len(c.plugs) && !c.plugs[k].at0 {
				rate += m.shift(i, k, false) / m.dt
			}
			if v0, v1 := c.bounds(k); rate < 0 && v1-v0 > 0 {
				w := v1 - v0
				if w > 0.1*floor {
					w *= 0.5
				}
				dt = min(dt, max(w, 1e-9*c.total())/-rate)
			}
		}
	}
	return dt
}
