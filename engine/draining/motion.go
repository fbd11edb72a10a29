package draining

import (
	"math"
	"sort"

	"obvert/physics/air"
	"obvert/physics/opening"
)

// vent is an air valve that may let air in.
type vent struct {
	valve   int
	spots   []spot
	in, out opening.Opening // nil passes nothing
	wide    bool            // lets air in without resistance, for its curve is not known
	mass    float64         // kg/s now, into the pipe
	choked  bool
}

// spot is a place on a chain.
type spot struct {
	chain   int
	v, near float64 // m³: where, and how near gas must come to be at it: a bore's length
}

// region is gas that hangs together.
type region struct {
	gaps   [][2]int // chain, gap
	faces  []face
	vents  []int
	open   bool // to the atmosphere
	v0, m0 float64
	p0, p  float64 // Pa absolute, before the step and in its middle
	before float64 // Pa: p0 still, once the step is made
	mass   float64 // kg/s in
	grows  float64 // m³/s
	vapour bool
	row    int
}

// face is the end of a plug in gas.
type face struct {
	chain, plug int
	last        bool // the v1 end
	spill       bool // water that comes to it runs away downhill beyond
}

// motion finds flows and pressures of one moment: at each joint what comes goes, in each region of gas volume, mass and pressure agree.
//
// For a plug between two ends with heads H,
//
//	H₀ − H₁ = Σ S(Q) L + K Q|Q| + (L/gA) dQ/dt
//
// and for gas with volume V and mass m, p V = m R T, ṁ by the valves' own curves at p. Flows and heads are sought together: each law is
// replaced by its tangent, flows are eliminated, and one small matrix of heads and pressures remains (Todini and Pilati's method, from
// memory).
type motion struct {
	*fast
	regions []region
	of      [][]int // region by chain and gap, −1 where the gap is none
	rows    int
	row     []int // of joints, −1 where their head is known
	x       []float64
	dt      float64
	lines   []straight // by chain and plug, of the round
	first   bool       // of an iteration
	hasty   bool       // the iteration was left early, for water that meets
	patient bool       // it must not be
}

// weight is ρ g.
func (f *fast) weight() float64 { return f.l.Site.Density * f.l.Site.Gravity }

// exists tells whether a gap of a chain holds gas, or could.
func (c *chain) exists(k int) bool {
	if k == 0 && len(c.plugs) > 0 && c.plugs[0].at0 {
		return false
	}
	return k < len(c.plugs) || len(c.plugs) == 0 || !c.plugs[k-1].at1
}

// puddle tells whether a plug is too short to close the bore: gas on both sides, and less than two bores long.
func (c *chain) puddle(k int) bool {
	p := &c.plugs[k]
	if p.at0 || p.at1 {
		return false
	}
	return p.v1-p.v0 < c.short(p.v0) && p.v0 > 1e-9*c.total() && p.v1 < c.total()*(1-1e-9)
}

// short is the volume of two bores' length of pipe at a place, m³.
func (c *chain) short(v float64) float64 {
	n, _ := c.find(v)
	a := c.area[min(n, len(c.area)-1)]
	return 4 * a * math.Sqrt(a/math.Pi)
}

// bounds of a gap, m³.
func (c *chain) bounds(k int) (v0, v1 float64) {
	v1 = c.total()
	if k > 0 {
		v0 = c.plugs[k-1].v1
	}
	if k < len(c.plugs) {
		v1 = c.plugs[k].v0
	}
	return v0, v1
}

// gather finds the regions of gas.
func (m *motion) gather() {
	m.regions, m.of = m.regions[:0], make([][]int, len(m.chains))
	n := 0
	start := make([]int, len(m.chains)+1)
	for i := range m.chains {
		start[i] = n
		n += len(m.chains[i].plugs) + 1
	}
	start[len(m.chains)] = n
	f := newForest(n + len(m.joints))
	gassy := make([]bool, len(m.joints))
	for j := range m.joints {
		for _, e := range m.joints[j].ends {
			c := &m.chains[e.chain]
			k := 0
			if e.last {
				k = len(c.plugs)
			}
			if c.exists(k) {
				gassy[j] = true
				a, b := f.root(int32(start[e.chain]+k)), f.root(int32(n+j))
				if a != b {
					f.join(a, b)
				}
			}
		}
	}
	for i := range m.chains { // gas passes over a short puddle
		c := &m.chains[i]
		for k := range c.plugs {
			if c.puddle(k) {
				c.plugs[k].q, c.plugs[k].before = 0, 0
				if a, b := f.root(int32(start[i]+k)), f.root(int32(start[i]+k+1)); a != b {
					f.join(a, b)
				}
			}
		}
	}
	index := map[int32]int{}
	for i := range m.chains {
		c := &m.chains[i]
		m.of[i] = make([]int, len(c.plugs)+1)
		for k := range m.of[i] {
			m.of[i][k] = -1
			if !c.exists(k) {
				continue
			}
			root := f.root(int32(start[i] + k))
			id, ok := index[root]
			if !ok {
				id = len(m.regions)
				index[root] = id
				m.regions = append(m.regions, region{})
			}
			r := &m.regions[id]
			m.of[i][k] = id
			v0, v1 := c.bounds(k)
			r.gaps = append(r.gaps, [2]int{i, k})
			r.v0 += v1 - v0
			r.m0 += c.gaps[k].mass
			if r.p0 == 0 || v1-v0 > 0 {
				r.p0 = c.gaps[k].p
			}
		}
	}
	for j := range m.joints {
		if jt := &m.joints[j]; gassy[j] {
			r := &m.regions[index[f.root(int32(n+j))]]
			switch jt.kind {
			case openEnd, tankEnd:
				r.open = true
			case hole:
				r.open = r.open || m.dry(jt)
			}
		}
	}
	m.face()
	m.crests()
	m.ventilate()
}

// crests finds how far the ends of all plugs may rise.
func (f *fast) crests() {
	for i := range f.chains {
		c := &f.chains[i]
		for k := range c.plugs {
			p := &c.plugs[k]
			if !p.at0 {
				p.crest0 = c.crest(p.v0, false)
			}
			if !p.at1 {
				p.crest1 = c.crest(p.v1, true)
			}
		}
	}
}

// dry tells whether no plug is in touch with a joint.
func (n *net) dry(j *joint) bool {
	for _, e := range j.ends {
		if n.touches(e) {
			return false
		}
	}
	return true
}

// touches tells whether water stands at a chain's end and hangs together with the joint.
func (n *net) touches(e chainEnd) bool {
	c := &n.chains[e.chain]
	if len(c.plugs) == 0 {
		return false
	}
	if e.last {
		return c.plugs[len(c.plugs)-1].at1
	}
	return c.plugs[0].at0
}

// face finds the ends of plugs in gas.
func (m *motion) face() {
	for i := range m.chains {
		c := &m.chains[i]
		for k := range c.plugs {
			p := &c.plugs[k]
			if !p.at0 {
				r := &m.regions[m.of[i][k]]
				r.faces = append(r.faces, face{i, k, false, m.spills(i, p.v0, false)})
			}
			if !p.at1 {
				r := &m.regions[m.of[i][k+1]]
				r.faces = append(r.faces, face{i, k, true, m.spills(i, p.v1, true)})
			}
		}
	}
}

// spills tells whether water pressed out of a plug's end runs away from it.
func (m *motion) spills(i int, v float64, forward bool) bool {
	c := &m.chains[i]
	if c.fall(v, forward) < 0 {
		return true
	}
	j, at := c.a, v <= 1e-12*c.total()
	if forward {
		j, at = c.b, v >= c.total()*(1-1e-12)
	}
	return at && m.joints[j].kind != shutEnd
}

// ventilate finds the valves of each region.
func (m *motion) ventilate() {
	for i := range m.vents {
		for _, s := range m.vents[i].spots {
			c := &m.chains[s.chain]
			if id := m.regionAt(c, s); id >= 0 {
				m.regions[id].vents = append(m.regions[id].vents, i)
				if m.vents[i].wide {
					m.regions[id].open = true
				}
				break
			}
		}
	}
}

// regionAt is the region of gas at a spot, −1 in water: one that comes within a bore's length of the spot counts, for water that just passes
// a crest leaves the top of the pipe free.
func (m *motion) regionAt(c *chain, s spot) int {
	best, near, of := -1, s.near, m.of[s.chain]
	for k := sort.Search(len(c.plugs), func(k int) bool { return c.plugs[k].v0 >= s.v-near }); k < len(of); k++ {
		v0, v1 := c.bounds(k)
		if v0 > s.v+near {
			break
		}
		if d := max(v0-s.v, s.v-v1, 0); of[k] >= 0 && d < near {
			best, near = of[k], d
		}
	}
	return best
}

// number gives every unknown its row.
func (m *motion) number() {
	m.row = make([]int, len(m.joints))
	m.rows = 0
	for j := range m.joints {
		m.row[j] = -1
		jt := &m.joints[j]
		if unknown := jt.kind == meeting || jt.kind == shutEnd || jt.kind == hole || jt.kind == tankEnd && !math.IsInf(jt.tank.area, 1); unknown && !m.dry(jt) {
			m.row[j] = m.rows
			m.rows++
		}
	}
	for i := range m.regions {
		r := &m.regions[i]
		r.row = -1
		if !r.open && m.held > 0 {
			r.p, r.vapour = m.held, true
			continue
		}
		if !r.open && len(r.vents) == 0 && r.m0 == 0 {
			r.vapour = true
		}
		switch {
		case r.open:
			r.p = m.l.Site.AtmosphericPressure
		case r.vapour:
			r.p = m.l.Site.VapourPressure
		}
		if !r.open && !r.vapour {
			r.row = m.rows
			m.rows++
		}
	}
}

// side is the head at a plug's end: a known part and the row of an unknown one.
func (m *motion) side(i, k int, last bool) (known float64, row int) {
	c := &m.chains[i]
	p := &c.plugs[k]
	at, v, j, gapK := p.at0, p.v0, c.a, k
	if last {
		at, v, j, gapK = p.at1, p.v1, c.b, k+1
	}
	if at {
		jt := &m.joints[j]
		if jt.kind == tankEnd && m.row[j] < 0 {
			return jt.level, -1
		}
		return 0, m.row[j]
	}
	r := &m.regions[m.of[i][gapK]]
	v += m.when(p) * m.shift(i, k, last)
	z := c.level(v)
	if jt := &m.joints[j]; jt.kind == openEnd && (!last && v <= 0 || last && v >= c.total()*(1-1e-12)) {
		z = jt.z
	}
	if r.row >= 0 {
		return z, r.row
	}
	return z + (r.p-m.l.Site.AtmosphericPressure)/m.weight(), -1
}

// shift is how far, m³, a plug's end in gas moves in the step.
func (m *motion) shift(i, k int, last bool) float64 {
	c := &m.chains[i]
	p := &c.plugs[k]
	d := p.q * m.dt
	if last {
		d += p.in1 * m.dt
	} else {
		d -= p.in0 * m.dt
	}
	if last {
		return min(max(d, p.v0-p.v1), max(0, p.crest1-p.v1))
	}
	return max(min(d, p.v1-p.v0), min(0, p.crest0-p.v0))
}

// law is the head lost along a plug at a flow, and its derivative.
func (m *motion) law(i, k int, q float64) (h, d float64) {
	c := &m.chains[i]
	p := &c.plugs[k]
	v0, v1 := p.v0, p.v1
	if !p.at0 {
		v0 += m.when(p) * m.shift(i, k, false)
	}
	if !p.at1 {
		v1 += m.when(p) * m.shift(i, k, true)
	}
	h, d = c.loss(v0, v1, q)
	g := m.l.Site.Gravity
	add := func(r float64) { h, d = h+r*q*math.Abs(q), d+2*r*math.Abs(q) }
	if p.at0 && m.joints[c.a].kind == tankEnd && q > 0 {
		add(m.entry(c, 0))
	}
	if p.at1 && m.joints[c.b].kind == tankEnd && q < 0 {
		add(m.entry(c, len(c.area)-1))
	}
	if j := &m.joints[c.a]; j.kind == openEnd && !p.at0 && q < 0 && p.v0 <= 1e-12*c.total() {
		add(j.k)
	}
	if j := &m.joints[c.b]; j.kind == openEnd && !p.at1 && q > 0 && p.v1 >= c.total()*(1-1e-12) {
		add(j.k)
	}
	if m.in.Inertia {
		l := (c.mid(c.lag, v1) - c.mid(c.lag, v0)) / g * 2 / m.dt
		h, d = h+l*(q-p.before), d+l
	}
	return h, max(d, m.least(c, v0, v1))
}

// least is a slope that no law goes below, s/m²: at first that at 2 cm/s, so that the first step from rest is of the right size.
func (m *motion) least(c *chain, v0, v1 float64) float64 {
	slowly := 1e-7
	if m.first {
		slowly = 0.02
	}
	q := slowly * c.area[0]
	_, d := c.loss(v0, v1, q)
	return d + q*m.entry(c, 0) + 1e-5
}

// entry is the velocity head, over q², of water that a tank sets in motion.
func (m *motion) entry(c *chain, k int) float64 {
	if k < 0 || k >= len(c.area) {
		return 0
	}
	a := c.area[k]
	for k > 0 && k < len(c.area) && c.v[k+1] == c.v[k] {
		k--
		a = c.area[k]
	}
	return 1 / (2 * m.l.Site.Gravity * a * a)
}

// breathe is the air that flows into a region at a pressure, kg/s, and its derivative.
func (m *motion) breathe(r *region, p float64) (mass, slope float64, err error) {
	s := &m.l.Site
	for _, i := range r.vents {
		v := &m.vents[i]
		f, err := opening.Both(v.in, v.out, p, s.AtmosphericPressure, s.AirTemperature, s.AirTemperature)
		if err != nil {
			return 0, 0, err
		}
		v.mass, v.choked = f.Mass, f.Choked
		mass += f.Mass
		d := 2.0
		if p <= s.AtmosphericPressure { // the curves of the two ways meet at a corner: stay on one side
			d = -2
		}
		g, err := opening.Both(v.in, v.out, p+d, s.AtmosphericPressure, s.AirTemperature, s.AirTemperature)
		if err != nil {
			return 0, 0, err
		}
		slope += min(0, (g.Mass-f.Mass)/d)
	}
	return mass, slope, nil
}

// gas is R T of the air outside.
func (f *fast) gas() float64 { return air.GasConstant * f.l.Site.AirTemperature }

// ahead is how far into the step the gas is looked at, s: columns with mass swing against it, so there its middle; without, pressure settles at
// once, and only its end does not overshoot.
func (m *motion) ahead() float64 {
	if m.in.Inertia {
		return 0.5 * m.dt
	}
	return m.dt
}

// when is the share of the step after which a plug is looked at: its middle; a small one, which settles within the step, at its end.
func (m *motion) when(p *plug) float64 {
	if !m.in.Inertia && p.in0+p.in1 > 0 {
		return 1
	}
	return 0.5
}

// small tells whether a plug holds next to nothing of the water.
func (f *fast) small(p *plug) bool { return p.v1-p.v0 < 2e-3*f.start }

// store is the volume that a region's mass takes up at that moment at a pressure, and its derivative.
func (m *motion) store(r *region, p float64) (v, d float64, err error) {
	if len(r.vents) == 0 && r.v0 > 0 { // shut in: polytropic
		n := m.polytropic
		v = r.v0 * math.Pow(r.p0/p, 1/n)
		return v, -v / (n * p), nil
	}
	mass, slope, err := m.breathe(r, p)
	r.mass = mass
	h := m.ahead()
	in := r.m0 + h*mass
	return in * m.gas() / p, min(m.gas()*(h*slope/p-in/(p*p)), -1e-14), err
}

// jet is the head lost in a hole at a flow, and its derivative; nothing comes in through it.
func (m *motion) jet(j *joint, q float64) (h, d float64) {
	const shut = 1e8 // s/m²
	if q < 0 {
		return shut * q, shut
	}
	least := 1e-7
	if m.first {
		least = 1e-3
	}
	return j.k * q * q, 2*j.k*max(q, least*math.Sqrt(1/(2*m.l.Site.Gravity*j.k))) + 1e-4
}
