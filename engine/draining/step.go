package draining

import (
	"fmt"
	"math"
	"slices"

	"obvert/physics/opening"
	"obvert/physics/pipe"
)

// soft makes an opening's flow straight near no differential, as a solver needs it.
func soft(o opening.Opening) opening.Opening { return opening.Softened{Opening: o} }

// whole is the volume of the full pipe.
func (p *piece) whole() float64 { return pipe.Area(p.bore) * p.length }

// step solves one moment; where the pressure would fall below what air outside or vapour allows, the water parts there and it is solved anew.
func (f *fast) step(m *motion) error {
	f.noBreak = map[int]bool{}
	f.wet()
	m.patient = false
	for range 100 {
		m.gather()
		if err := m.solve(); err != nil {
			return err
		}
		if m.close() {
			m.patient = false
			continue
		}
		if m.hasty {
			m.patient = true
			continue
		}
		if !m.part() {
			return nil
		}
	}
	return fmt.Errorf("draining: the water parts and meets without end at %.1f s", f.time)
}

// wet takes plugs off tanks that have run dry.
func (f *fast) wet() {
	for j := range f.joints {
		jt := &f.joints[j]
		if jt.kind != tankEnd || jt.level > f.endLevel(jt) {
			continue
		}
		f.detach(jt)
	}
}

// detach takes plugs off a joint.
func (f *fast) detach(j *joint) {
	for _, e := range j.ends {
		c := &f.chains[e.chain]
		if len(c.plugs) == 0 {
			continue
		}
		if e.last {
			c.plugs[len(c.plugs)-1].at1 = false
		} else {
			c.plugs[0].at0 = false
		}
	}
}

// part splits the water where its pressure is lowest against what it can be, and reports whether it did.
func (m *motion) part() bool {
	worst := 1e-6
	chainAt, plugAt, vertexAt, jointAt := -1, -1, -1, -1
	admits := m.admitting()
	vapour := m.l.Site.VapourHead()
	try := func(v int, head float64) bool {
		low := vapour
		if admits[v] {
			low = 0
		}
		if d := low - head; d > worst && !m.noBreak[v] {
			worst = d
			return true
		}
		return false
	}
	for i := range m.chains {
		c := &m.chains[i]
		for k := range c.plugs {
			m.heads(i, k, func(n int, head float64) {
				if head >= -worst {
					return
				}
				if eps := 1e-12 * c.total(); c.v[n] <= eps || c.v[n] >= c.total()-eps {
					return // a joint's
				}
				if short := 1.1 * c.short(c.v[n]); c.v[n] <= c.plugs[k].v0+short || c.v[n] >= c.plugs[k].v1-short {
					return // what would part is too short to close the bore
				}
				if try(c.vertex[n], head) {
					chainAt, plugAt, vertexAt, jointAt = i, k, n, -1
				}
			})
		}
	}
	for j := range m.joints {
		if r := m.row[j]; r >= 0 && m.joints[j].kind != hole && m.joints[j].kind != tankEnd {
			v := m.joints[j].vertex
			if m.jointAdmits[j] {
				admits[v] = true
			}
			if try(v, m.x[r]-m.obvert[v]) {
				jointAt = j
			}
		}
	}
	switch {
	case jointAt >= 0:
		m.detach(&m.joints[jointAt])
		return true
	case chainAt >= 0:
		c := &m.chains[chainAt]
		p := c.plugs[plugAt]
		q := p
		p.v1, p.at1, p.in1 = c.v[vertexAt], false, 0
		q.v0, q.at0, q.in0 = c.v[vertexAt], false, 0
		c.plugs = slices.Insert(c.plugs, plugAt+1, q)
		c.plugs[plugAt] = p
		c.gaps = slices.Insert(c.gaps, plugAt+1, gap{p: m.l.Site.AtmosphericPressure})
		return true
	}
	return false
}

// admitting marks the vertices where air can come in.
func (f *fast) admitting() map[int]bool {
	a := make(map[int]bool, len(f.vents))
	for _, v := range f.vents {
		a[f.valve[v.valve]] = true
	}
	return a
}

// heads calls fn with the gauge head at the obvert of every vertex within a plug.
func (m *motion) heads(i, k int, fn func(n int, head float64)) {
	c := &m.chains[i]
	p := &c.plugs[k]
	known, row := m.side(i, k, false)
	h := known
	if row >= 0 {
		h += m.x[row]
	}
	if p.at0 && m.joints[c.a].kind == tankEnd && p.q > 0 {
		h -= m.entry(c, 0) * p.q * p.q
	}
	slope := make([]float64, len(c.rough))
	for r := range c.rough {
		slope[r], _ = c.rough[r].slope(p.q)
	}
	inertia := 0.0
	if m.in.Inertia {
		inertia = (p.q - p.before) * 2 / (m.dt * m.l.Site.Gravity)
	}
	v0 := p.v0
	if !p.at0 {
		v0 += m.when(p) * m.shift(i, k, false)
	}
	v1 := p.v1
	if !p.at1 {
		v1 += m.when(p) * m.shift(i, k, true)
	}
	from, _ := c.find(v0)
	lag := c.mid(c.lag, v0)
	start := make([]float64, len(c.rough))
	for r := range start {
		start[r] = c.mid(c.length[r], v0)
	}
	for n := from; n < len(c.v) && c.v[n] <= v1; n++ {
		if c.v[n] < v0 || c.v[n] == v0 && !p.at0 || c.v[n] == v1 && !p.at1 {
			continue
		}
		at := h - inertia*(c.lag[n]-lag)
		for r := range slope {
			at -= slope[r] * (c.length[r][n] - start[r])
		}
		fn(n, at-c.top[n])
	}
}

// close joins the water again at gaps of no volume that would shrink, and reports whether it did.
func (m *motion) close() bool {
	for i := range m.regions {
		r := &m.regions[i]
		if r.grows = m.growth(r); r.grows >= -1e-12 || r.v0 > m.tiny(r) {
			continue
		}
		if m.merge(r) {
			return true
		}
	}
	return false
}

// tiny is a volume of gas that counts as none.
func (m *motion) tiny(r *region) float64 {
	most := 0.0
	for _, g := range r.gaps {
		most = max(most, m.chains[g[0]].total())
	}
	return 1e-8 * most
}

// growth is how fast the volume of a region grows, m³/s.
func (m *motion) growth(r *region) (d float64) {
	for _, f := range r.faces {
		if q := m.chains[f.chain].plugs[f.plug].q; f.last {
			d -= q
		} else {
			d += q
		}
	}
	return d
}

// merge joins the water on both sides of a region, where it is of one gap or about one joint.
func (m *motion) merge(r *region) bool {
	if len(r.gaps) == 1 {
		i, k := r.gaps[0][0], r.gaps[0][1]
		c := &m.chains[i]
		if k > 0 && k < len(c.plugs) {
			v0, v1 := c.bounds(k)
			m.closed += v1 - v0
			m.airOpen -= c.gaps[k].mass
			if n, _ := c.find(v0); true {
				m.noBreak[c.vertex[n]], m.noBreak[c.vertex[min(n+1, len(c.vertex)-1)]] = true, true
			}
			a, b := &c.plugs[k-1], c.plugs[k]
			w0, w1 := a.v1-a.v0, b.v1-b.v0
			if t := w0 + w1; t > 0 { // momentum is shared
				a.before = (a.before*w0 + b.before*w1) / t
			}
			a.v1, a.at1, a.in1 = b.v1, b.at1, b.in1
			c.plugs = slices.Delete(c.plugs, k, k+1)
			c.gaps = slices.Delete(c.gaps, k, k+1)
			return true
		}
	}
	// Gaps of no volume at a joint: its water hangs together again.
	for _, g := range r.gaps {
		c := &m.chains[g[0]]
		j := c.a
		if g[1] > 0 {
			j = c.b
		}
		jt := &m.joints[j]
		if jt.kind == openEnd || jt.kind == tankEnd && jt.level <= m.endLevel(jt) {
			continue
		}
		all := true
		for _, e := range jt.ends {
			all = all && m.nearly(e, m.tiny(r))
		}
		if !all {
			continue
		}
		m.noBreak[jt.vertex] = true
		for _, e := range jt.ends {
			c := &m.chains[e.chain]
			if n := len(c.plugs); e.last {
				m.closed += c.total() - c.plugs[n-1].v1
				c.plugs[n-1].v1, c.plugs[n-1].at1 = c.total(), true
				m.airOpen -= c.gaps[n].mass
				c.gaps[n].mass = 0
			} else {
				m.closed += c.plugs[0].v0
				c.plugs[0].v0, c.plugs[0].at0 = 0, true
				m.airOpen -= c.gaps[0].mass
				c.gaps[0].mass = 0
			}
		}
		return true
	}
	return false
}

// nearly tells whether water stands within a volume of a chain's end.
func (n *net) nearly(e chainEnd, tiny float64) bool {
	c := &n.chains[e.chain]
	if len(c.plugs) == 0 {
		return false
	}
	if e.last {
		return c.total()-c.plugs[len(c.plugs)-1].v1 <= tiny
	}
	return c.plugs[0].v0 <= tiny
}

// apply moves everything by the step.
func (f *fast) apply(m *motion) {
	atm := f.l.Site.AtmosphericPressure
	for i := range f.chains {
		for k := range f.chains[i].gaps {
			f.chains[i].gaps[k].of = -1
		}
	}
	for i := range m.regions {
		r := &m.regions[i]
		v1 := max(r.v0+m.dt*m.growth(r), 0)
		mass, p := r.m0+m.dt*r.mass, atm
		switch {
		case r.open:
			mass = atm * v1 / f.gas()
			r.mass = (mass - r.m0) / m.dt
			f.airOpen += mass - r.m0
		case r.vapour:
			mass, p = r.m0, f.l.Site.VapourPressure
		case len(r.vents) == 0 && r.v0 > 0 && v1 > 0:
			p = r.p0 * math.Pow(r.v0/v1, f.polytropic)
		case v1 > 0:
			p = mass * f.gas() / v1
		}
		for _, g := range r.gaps { // shared out below, by the new volumes
			f.chains[g[0]].gaps[g[1]] = gap{p: p, of: i}
		}
		if len(r.gaps) > 0 {
			g := r.gaps[0]
			f.chains[g[0]].gaps[g[1]].mass = mass
		}
		r.before, r.m0, r.p0 = r.p0, mass, p
	}
	type spill struct {
		chain   int
		v       float64
		forward bool
		volume  float64
	}
	var spills []spill
	for i := range f.chains {
		c := &f.chains[i]
		for k := range c.plugs {
			p := &c.plugs[k]
			d0, d1 := 0.0, 0.0
			if !p.at0 {
				p.owed0 = p.in0 * m.dt
				if d0 = m.shift(i, k, false); d0 > p.q*m.dt-p.owed0 {
					spills = append(spills, spill{i, p.v0 + d0, false, d0 - p.q*m.dt + p.owed0})
				}
			}
			if !p.at1 {
				p.owed1 = p.in1 * m.dt
				if d1 = m.shift(i, k, true); d1 < p.q*m.dt+p.owed1 {
					spills = append(spills, spill{i, p.v1 + d1, true, p.q*m.dt + p.owed1 - d1})
				}
			}
			if lacks := d1 - p.q*m.dt - p.owed1; !p.at1 && lacks > 0 { // it ran out: so much less has left at the other end
				f.unsay(c, p, lacks)
			}
			if lacks := p.q*m.dt - p.owed0 - d0; !p.at0 && lacks > 0 {
				f.unsay(c, p, lacks)
			}
			p.v0, p.v1 = p.v0+d0, p.v1+d1
			p.was = p.before
			p.before = 2*p.q - p.before
			if !f.in.Inertia {
				p.was, p.before = p.q, p.q
			}
		}
	}
	for j := range f.joints {
		jt := &f.joints[j]
		switch jt.kind {
		case hole:
			jt.out += jt.flow * m.dt
		case tankEnd:
			in := jt.tank.inflow * m.dt
			f.runIn += in
			if math.IsInf(jt.tank.area, 1) {
				f.tankOut += jt.flow*m.dt - in
			} else {
				jt.level += (in - jt.flow*m.dt) / jt.tank.area
			}
		}
	}
	f.time += m.dt
	f.share(len(m.regions))
	for _, s := range spills {
		if left := f.deposit(s.chain, s.v, s.forward, s.volume, 0); left > 0 {
			f.giveBack(s.chain, s.v, s.forward, left)
		}
	}
	f.settleOwed(m.dt)
	f.vanish(m)
	f.soak()
	f.repay()
	f.share(len(m.regions))
}

// unsay takes back water that was counted as passed on by a plug that did not have it.
func (f *fast) unsay(c *chain, p *plug, volume float64) {
	if out := f.mouth(c, p); out != nil {
		out.out -= volume
	} else {
		f.closed += volume
	}
}

// repay gives back, at the surface of the longest column with room for it short of a crest, the little water that grew or was lost where gaps
// closed, so that none is.
func (f *fast) repay() {
	if f.closed == 0 {
		return
	}
	var best *plug
	var first bool
	for i := range f.chains {
		c := &f.chains[i]
		for k := range c.plugs {
			p := &c.plugs[k]
			if best != nil && p.v1-p.v0 <= best.v1-best.v0 {
				continue
			}
			start, _ := c.bounds(k)
			_, end := c.bounds(k + 1)
			switch {
			case !p.at0 && p.v0 > 0 && p.v0-max(start, c.crest(p.v0, false)) >= -f.closed:
				best, first = p, true
			case !p.at1 && p.v1 < c.total() && min(end, c.crest(p.v1, true))-p.v1 >= -f.closed:
				best, first = p, false
			}
		}
	}
	if best == nil || f.closed > 0.1*(best.v1-best.v0) {
		return
	}
	f.repaid += math.Abs(f.closed)
	if first {
		best.v0 += f.closed
	} else {
		best.v1 -= f.closed
	}
	f.closed = 0
}

// settleOwed takes back what was reckoned to run down to each end, now that what did has been added.
func (f *fast) settleOwed(dt float64) {
	for i := range f.chains {
		for k := range f.chains[i].plugs {
			p := &f.chains[i].plugs[k]
			p.v0, p.v1 = p.v0+p.owed0, p.v1-p.owed1
			out := f.mouth(&f.chains[i], p)
			if short := p.v0 - p.v1; short > 0 { // so much less has left
				f.unsay(&f.chains[i], p, short)
				if p.at1 || p.owed0 > 0 {
					p.v0 = p.v1
				} else {
					p.v1 = p.v0
				}
			}
			if p.in0, p.in1 = 0, 0; out != nil || f.small(p) {
				p.in0, p.in1 = p.got0/dt, p.got1/dt
			}
			p.got0, p.got1, p.owed0, p.owed1 = 0, 0, 0, 0
		}
	}
}

// soak joins water that has run into other water, such as a puddle, with its volume kept.
func (f *fast) soak() {
	for i := range f.chains {
		c := &f.chains[i]
		for k := 1; k < len(c.plugs); k++ {
			a, b := &c.plugs[k-1], c.plugs[k]
			if b.v0 > a.v1 || b.v0 == a.v1 && !c.puddle(k-1) && !c.puddle(k) {
				continue
			}
			va, vb := a.v1-a.v0, b.v1-b.v0
			switch {
			case !b.at1:
				a.v1 = a.v0 + va + vb
			case !a.at0:
				a.v0, a.v1 = b.v1-va-vb, b.v1
			default:
				f.closed += c.total() - va - vb
				a.v1 = b.v1
			}
			if vb > va {
				a.q, a.before, a.was = b.q, b.before, b.was
			}
			a.at1, a.in1 = b.at1, b.in1
			c.gaps[k-1].mass += c.gaps[k].mass
			c.plugs, c.gaps = slices.Delete(c.plugs, k, k+1), slices.Delete(c.gaps, k, k+1)
			k--
		}
	}
}

// giveBack returns water that found no room to the plug whose end stands at a place.
func (f *fast) giveBack(i int, v float64, forward bool, volume float64) {
	c := &f.chains[i]
	for k := range c.plugs {
		p := &c.plugs[k]
		switch {
		case forward && p.v1 == v && !p.at0:
			p.v0 -= volume
			return
		case !forward && p.v0 == v && !p.at1:
			p.v1 += volume
			return
		case forward && p.v1 == v && p.at0 && f.joints[c.a].kind == tankEnd:
			f.intoTank(&f.joints[c.a], volume)
			return
		case !forward && p.v0 == v && p.at1 && f.joints[c.b].kind == tankEnd:
			f.intoTank(&f.joints[c.b], volume)
			return
		}
	}
	f.closed -= volume // counted as an error of the balance
}

// intoTank lets water into a tank.
func (f *fast) intoTank(j *joint, volume float64) {
	if math.IsInf(j.tank.area, 1) {
		f.tankOut -= volume
	} else {
		j.level += volume / j.tank.area
	}
}

// share gives each gap that a region was made of, or that has come about in it since, its part of the air by its volume.
func (f *fast) share(regions int) {
	mass, volume := make([]float64, regions), make([]float64, regions)
	each := func(do func(g *gap, w float64)) {
		for i := range f.chains {
			c := &f.chains[i]
			for k := range c.gaps {
				if g := &c.gaps[k]; g.of >= 0 {
					v0, v1 := c.bounds(k)
					do(g, max(0, v1-v0))
				}
			}
		}
	}
	each(func(g *gap, w float64) { mass[g.of], volume[g.of] = mass[g.of]+g.mass, volume[g.of]+w })
	each(func(g *gap, w float64) {
		if volume[g.of] > 0 {
			g.mass = mass[g.of] * w / volume[g.of]
		}
	})
}

// deposit lets water run down from a place until it meets water, a low point or a way out, and gives what found no room.
func (f *fast) deposit(i int, v float64, forward bool, volume float64, hops int) (left float64) {
	c := &f.chains[i]
	k := 0 // the gap it runs into
	for k < len(c.plugs) && (c.plugs[k].v0 < v || forward && c.plugs[k].v0 <= v && c.plugs[k].v1 <= v) {
		k++
	}
	if !forward {
		for k > 0 && c.plugs[k-1].v1 > v {
			k--
		}
	}
	v0, v1 := c.bounds(k)
	low, dry := c.lowFrom(v, forward)
	switch {
	case forward && k < len(c.plugs) && v1 <= low:
		if over := f.overflow(c, k, false, &volume); over > 0 && hops < mostHops {
			return f.grow(c, k, volume, false) + f.deposit(i, c.plugs[k].v1, forward, over, hops+1)
		}
		return f.grow(c, k, volume, false)
	case !forward && k > 0 && v0 >= low:
		if over := f.overflow(c, k-1, true, &volume); over > 0 && hops < mostHops {
			left := f.grow(c, k-1, volume, true)
			return left + f.deposit(i, c.plugs[k-1].v0, forward, over, hops+1)
		}
		return f.grow(c, k-1, volume, true)
	}
	if dry { // the chain's end
		return f.leave(i, forward, low, volume, hops)
	}
	return f.puddle(i, k, low, volume)
}

// mostHops is over how many puddles and joints water runs in one step.
const mostHops = 64

// overflow takes from a volume that runs to an end of a puddle what does not stay there: where gas has blown water out of a dip over its far
// crest until it no longer closes the bore, what still comes is carried over, too.
func (f *fast) overflow(c *chain, k int, last bool, volume *float64) (over float64) {
	p := &c.plugs[k]
	if !c.puddle(k) {
		return 0
	}
	if last && c.fall(p.v0, false) >= 0 || !last && c.fall(p.v1, true) >= 0 {
		return 0
	}
	room := max(0, 0.5*c.short(p.v0)-(p.v1-p.v0))
	if over = *volume - room; over <= 0 {
		return 0
	}
	*volume = room
	return over
}

// grow adds water at an end of a plug, and what has no room there at the other, and gives what has none.
func (f *fast) grow(c *chain, k int, volume float64, last bool) (left float64) {
	p := &c.plugs[k]
	for range 2 {
		if last && !p.at1 {
			_, end := c.bounds(k + 1)
			d := min(volume, max(0, end-p.v1))
			p.v1, p.got1, volume = p.v1+d, p.got1+d, volume-d
		}
		if !last && !p.at0 {
			start, _ := c.bounds(k)
			d := min(volume, max(0, p.v0-start))
			p.v0, p.got0, volume = p.v0-d, p.got0+d, volume-d
		}
		last = !last
	}
	return volume
}

// lowFrom walks down from a place to the next low point; end tells that it is the chain's end.
func (c *chain) lowFrom(v float64, forward bool) (low float64, end bool) {
	n, f := c.find(v)
	if forward {
		z := c.level(v)
		for n++; n < len(c.v); n++ {
			if c.z[n] > z+headTolerance && c.v[n] > v {
				return c.v[n-1], false
			}
			z = c.z[n]
		}
		return c.total(), true
	}
	z := c.level(v)
	if f == 0 && n > 0 && c.v[n] >= v {
		n--
	}
	for ; n >= 0; n-- {
		if c.z[n] > z+headTolerance && c.v[n] < v {
			return c.v[min(n+1, len(c.v)-1)], false
		}
		z = c.z[n]
	}
	return 0, true
}

// leave passes water that has run to a chain's end on.
func (f *fast) leave(i int, forward bool, at, volume float64, hops int) (left float64) {
	c := &f.chains[i]
	j := c.a
	if forward {
		j = c.b
	}
	jt := &f.joints[j]
	switch jt.kind {
	case openEnd, hole:
		jt.out += volume
		return 0
	case tankEnd:
		f.intoTank(jt, volume)
		return 0
	case meeting:
		best, z := chainEnd{-1, false}, math.Inf(1)
		for _, e := range jt.ends {
			if e.chain == i && e.last == forward {
				continue
			}
			o := &f.chains[e.chain]
			from := 0.0
			if e.last {
				from = o.total()
			}
			if d := o.fall(from, !e.last); d < z {
				best, z = e, d
			}
		}
		if best.chain >= 0 && hops < mostHops {
			from := 0.0
			if best.last {
				from = f.chains[best.chain].total()
			}
			return f.deposit(best.chain, from, !best.last, volume, hops+1)
		}
	}
	k := 0
	if forward {
		k = len(c.plugs)
	}
	return f.puddle(i, k, at, volume)
}

// puddle makes new water at a place in a gap.
func (f *fast) puddle(i, k int, at, volume float64) (left float64) {
	c := &f.chains[i]
	v0, v1 := c.bounds(k)
	if room := max(0, v1-v0); volume > room {
		left, volume = volume-room, room
	}
	p := plug{v0: max(v0, at-0.5*volume)}
	if p.v1 = p.v0 + volume; p.v1 > v1 {
		p.v0, p.v1 = v1-volume, v1
	}
	g := c.gaps[k]
	before := 0.0
	if w := v1 - v0; w > 0 {
		before = g.mass * max(0, p.v0-v0) / max(w-volume, 1e-300)
		before = min(before, g.mass)
	}
	c.plugs = slices.Insert(c.plugs, k, p)
	c.gaps = slices.Insert(c.gaps, k, gap{before, g.p, g.of})
	c.gaps[k+1].mass = g.mass - before
	return left
}

// vanish takes away water that is used up: what little is left goes where it was going.
func (f *fast) vanish(m *motion) {
	for i := range f.chains {
		c := &f.chains[i]
		for k := 0; k < len(c.plugs); k++ {
			p := c.plugs[k]
			left := p.v1 - p.v0
			j := f.sink(c, &p)
			few := 1e-6 * c.total()
			if j != nil && !(p.at0 && p.at1) && f.loose(c, &p) {
				few = max(few, min(c.short(p.v0), 1e-3*f.start))
			}
			if left > few {
				continue
			}
			if j == nil && left > 1e-9*c.total() {
				continue
			}
			if j != nil {
				j.out += left
				if q := math.Abs(p.q); q > 0 && left > 0 {
					q *= math.Sqrt(left / (left + 0.5*q*m.dt)) // Q goes with the square root of what is left
					f.trail(j.opening, left, 2*left/q)
				}
			} else {
				f.closed -= left
			}
			c.gaps[k].mass += c.gaps[k+1].mass
			c.plugs = slices.Delete(c.plugs, k, k+1)
			c.gaps = slices.Delete(c.gaps, k+1, k+2)
			k--
		}
	}
}

// loose tells whether the end of a plug away from its mouth stands in gas.
func (f *fast) loose(c *chain, p *plug) bool {
	if p.q < 0 {
		return !p.at1
	}
	return !p.at0
}

// mouth is the opening that one end of a plug stands at, nil for none.
func (f *fast) mouth(c *chain, p *plug) *joint {
	a, b := &f.joints[c.a], &f.joints[c.b]
	switch {
	case a.kind == hole && p.at0, a.kind == openEnd && p.v0 <= 1e-12*c.total():
		return a
	case b.kind == hole && p.at1, b.kind == openEnd && p.v1 >= c.total()*(1-1e-12):
		return b
	}
	return nil
}

// sink is the opening that a plug runs out of, nil for none.
func (f *fast) sink(c *chain, p *plug) *joint {
	a, b := &f.joints[c.a], &f.joints[c.b]
	switch {
	case p.q < 0 && a.kind == hole && p.at0, p.q < 0 && a.kind == openEnd && p.v0 <= 1e-12*c.total():
		return a
	case p.q > 0 && b.kind == hole && p.at1, p.q > 0 && b.kind == openEnd && p.v1 >= c.total()*(1-1e-12):
		return b
	}
	return nil
}
