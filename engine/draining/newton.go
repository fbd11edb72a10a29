package draining

import (
	"errors"
	"fmt"
	"math"

	"obvert/num"
)

// solve finds flows and pressures of the step.
func (m *motion) solve() error {
	atm := m.l.Site.AtmosphericPressure
again:
	m.number()
	if m.rows > maxRows {
		return fmt.Errorf("draining: %d bodies of water and air at once are more than the %d that are followed together; drain a shorter part of the line", m.rows, maxRows)
	}
	m.x = make([]float64, m.rows)
	a, b := make([]float64, m.rows*m.rows), make([]float64, m.rows)
	for j := range m.joints {
		if r := m.row[j]; r >= 0 {
			m.x[r] = m.joints[j].z + m.joints[j].head
			if m.joints[j].kind == tankEnd {
				m.x[r] = m.joints[j].level
			}
		}
	}
	for i := range m.regions {
		if r := &m.regions[i]; r.row >= 0 {
			if r.p = r.p0; r.v0 == 0 {
				r.p = atm - 0.01
			}
			m.x[r.row] = (r.p - atm) / m.weight()
		}
	}
	m.hasty = false
	loop := num.Loop{Limit: 60}
	n := 0
	for m.first = true; loop.Next(); m.first = false {
		clear(a)
		clear(b)
		if err := m.assemble(a, b); err != nil {
			return err
		}
		if !eliminate(a, b) {
			return errors.New("draining: a body of water hangs on nothing: its pressure cannot be found")
		}
		ease := 1.0
		if n++; n > 20 { // it goes round a corner of a law and back: take half steps
			ease = 0.5
		}
		under, change := m.update(b, ease)
		if under {
			goto again
		}
		if n > 8 && change < 0.01 && !m.patient && m.shuts() {
			m.hasty = true
			return nil
		}
		if n > 12 && change < 1e-7 || n > 30 && change < 1e-6 { // of 1 cm/s: it creeps
			change = 0
		}
		loop.Seen(change/1e-9, 0)
	}
	if out := loop.Outcome(); !out.OK() && out.Change > 1e3 {
		return fmt.Errorf("draining: flows at %.1f s: %v", m.time, out)
	}
	for j := range m.joints {
		jt := &m.joints[j]
		if jt.kind == shutEnd && len(jt.ends) == 1 && m.touches(jt.ends[0]) { // within rounding already
			c := &m.chains[jt.ends[0].chain]
			k := 0
			if jt.ends[0].last {
				k = len(c.plugs) - 1
			}
			c.plugs[k].q = 0
		}
		if r := m.row[j]; r >= 0 {
			jt.head = m.x[r] - jt.z
			if jt.kind == hole {
				jt.flow = max(0, jt.flow)
			}
		} else if jt.kind == hole {
			jt.flow = 0
		}
	}
	return nil
}

// shuts tells whether a region of no volume would shrink, so that its water meets before the iteration need end.
func (m *motion) shuts() bool {
	for i := range m.regions {
		if r := &m.regions[i]; m.growth(r) < -1e-9 && r.v0 <= m.tiny(r) {
			return true
		}
	}
	return false
}

// maxRows bounds the unknowns of one step.
const maxRows = 600

// tankFlows sums what leaves each tank.
func (m *motion) tankFlows() {
	for j := range m.joints {
		if m.joints[j].kind == tankEnd {
			m.joints[j].flow = 0
		}
	}
	for i := range m.chains {
		c := &m.chains[i]
		for k := range c.plugs {
			p := &c.plugs[k]
			if j := &m.joints[c.a]; p.at0 && j.kind == tankEnd {
				j.flow += p.q
			}
			if j := &m.joints[c.b]; p.at1 && j.kind == tankEnd {
				j.flow -= p.q
			}
		}
	}
	for i := range m.gates {
		if j := &m.joints[m.gates[i].from]; j.kind == tankEnd {
			j.flow += m.gates[i].q
		}
	}
}

// straight is a plug's flow about the last one found: q + g·(H₀ − H₁), the unknown parts of H by their rows.
type straight struct {
	q, g       float64
	row0, row1 int
}

// tangent gives a plug's flow as q + g·(H₀ − H₁), H from known heads and rows.
func (m *motion) tangent(i, k int) (q, g float64, row0, row1 int) {
	p := &m.chains[i].plugs[k]
	if m.chains[i].puddle(k) {
		return 0, 0, -1, -1
	}
	h0, row0 := m.side(i, k, false)
	h1, row1 := m.side(i, k, true)
	h, d := m.law(i, k, p.q)
	g = 1 / (d + m.stiffness(i, k))
	return p.q + g*(h0-h1-h), g, row0, row1
}

// stiffness is how much head a plug loses for its flow because its surfaces sink and rise within the step, s/m².
func (m *motion) stiffness(i, k int) (d float64) {
	c := &m.chains[i]
	p := &c.plugs[k]
	rise := func(v float64) float64 { // m/m³
		n, _ := c.find(v)
		if n >= len(c.area) || c.v[n+1] == c.v[n] {
			return 0
		}
		return (c.z[n+1] - c.z[n]) / (c.v[n+1] - c.v[n])
	}
	if !p.at0 && m.shift(i, k, false) != 0 {
		d -= rise(p.v0 + m.when(p)*m.shift(i, k, false))
	}
	if !p.at1 && m.shift(i, k, true) != 0 {
		d += rise(p.v1 + m.when(p)*m.shift(i, k, true))
	}
	return m.when(p) * m.dt * max(0, d)
}

// assemble puts the tangents of all laws into the matrix.
func (m *motion) assemble(a, b []float64) error {
	n, h := m.rows, 0.5*m.dt
	pair := func(q, g float64, r0, r1 int) {
		if r0 >= 0 {
			a[r0*n+r0] += g
			b[r0] -= q
		}
		if r1 >= 0 {
			a[r1*n+r1] += g
			b[r1] += q
		}
		if r0 >= 0 && r1 >= 0 {
			a[r0*n+r1] -= g
			a[r1*n+r0] -= g
		}
	}
	m.lines = m.lines[:0]
	for i := range m.chains {
		for k := range m.chains[i].plugs {
			q, g, r0, r1 := m.tangent(i, k)
			m.lines = append(m.lines, straight{q, g, r0, r1})
			pair(q, g, r0, r1)
		}
	}
	for i := range m.gates {
		if q, g, r0, r1, ok := m.gateTangent(&m.gates[i]); ok {
			pair(q, g, r0, r1)
		}
	}
	for j := range m.joints {
		r, jt := m.row[j], &m.joints[j]
		switch {
		case r < 0:
		case jt.kind == hole:
			h, d := m.jet(jt, jt.flow)
			pair(jt.flow-(jt.z+h)/d, 1/d, r, -1)
		case jt.kind == tankEnd:
			a[r*n+r] += jt.tank.area / h
			b[r] += jt.level*jt.tank.area/h + jt.tank.inflow
		}
	}
	for i := range m.regions {
		r := &m.regions[i]
		if r.row < 0 {
			continue
		}
		v, d, err := m.store(r, r.p)
		if err != nil {
			return err
		}
		d *= m.weight()
		a[r.row*n+r.row] -= d / m.ahead()
		b[r.row] -= (r.v0 - v + d*m.x[r.row]) / m.ahead()
	}
	return nil
}

// gateTangent is the flow of a check valve as that of a plug.
func (m *motion) gateTangent(g *gate) (q, slope float64, r0, r1 int, ok bool) {
	head := func(j int) (float64, int, bool) {
		jt := &m.joints[j]
		if jt.kind == tankEnd && m.row[j] < 0 {
			return jt.level, -1, true
		}
		return 0, m.row[j], m.row[j] >= 0
	}
	h0, r0, ok0 := head(g.from)
	h1, r1, ok1 := head(g.to)
	if !ok0 || !ok1 {
		g.q = 0
		return 0, 0, 0, 0, false
	}
	const open, shut = 0.1, 1e7 // s/m²
	d := open
	if g.q < 0 {
		d = shut
	}
	return (h0 - h1) / d, 1 / d, r0, r1, true
}

// update takes the new heads and pressures over, or a share of their change, and tells whether gas would come below the vapour pressure, and the largest change of a flow
// as a share of the largest flow.
func (m *motion) update(x []float64, ease float64) (under bool, change float64) {
	atm, w := m.l.Site.AtmosphericPressure, m.weight()
	for i := range m.regions {
		r := &m.regions[i]
		if r.row < 0 {
			continue
		}
		p := r.p + ease*(atm+w*x[r.row]-r.p)
		x[r.row] = (p - atm) / w
		if low := m.l.Site.VapourPressure; p < low {
			// a step may overshoot: go half the way; if that is where it stays, the space is vapour
			if r.p-low < 1 {
				r.vapour, under = true, true
				continue
			}
			p = 0.5 * (r.p + low)
			x[r.row] = (p - atm) / w
			change = 1
		}
		if (p-atm)*(r.p-atm) < 0 && math.Abs(r.p-atm) > 0.011 {
			// The curve of a valve is steepest at no differential: stop just short of it, from where steps do not overshoot.
			p = atm + math.Copysign(0.01, r.p-atm)
			x[r.row], change = (p-atm)/w, 1
		}
		change = max(change, math.Abs(p-r.p)*1e-6)
		r.p = p
	}
	if under {
		return true, 0
	}
	copy(m.x, x)
	at := func(row int) float64 {
		if row < 0 {
			return 0
		}
		return x[row]
	}
	most, moved := m.scale, 0.0
	n := 0
	for i := range m.chains {
		for k := range m.chains[i].plugs {
			p, l := &m.chains[i].plugs[k], &m.lines[n]
			next := p.q + ease*(l.q+l.g*(at(l.row0)-at(l.row1))-p.q)
			moved = max(moved, math.Abs(next-p.q))
			most = max(most, math.Abs(next))
			p.q = next
			n++
		}
	}
	for i := range m.gates {
		if q, g, r0, r1, ok := m.gateTangent(&m.gates[i]); ok {
			next := m.gates[i].q + ease*(q+g*(at(r0)-at(r1))-m.gates[i].q)
			moved = max(moved, math.Abs(next-m.gates[i].q))
			m.gates[i].q = next
		}
	}
	for j := range m.joints {
		if jt := &m.joints[j]; jt.kind == hole && m.row[j] >= 0 {
			h, d := m.jet(jt, jt.flow)
			next := jt.flow + ease*(x[m.row[j]]-jt.z-h)/d
			moved = max(moved, math.Abs(next-jt.flow))
			jt.flow = next
		}
	}
	m.tankFlows()
	return false, max(change, moved/most)
}

// eliminate solves a small dense system in place, with row exchange; false where it is singular. Rows of a line are short: each ends at its
// last figure.
func eliminate(a, b []float64) bool {
	n := len(b)
	end := make([]int, n)
	for i := range end {
		for end[i] = n; end[i] > 0 && a[i*n+end[i]-1] == 0; {
			end[i]--
		}
	}
	for k := range n {
		best := k
		for i := k + 1; i < n; i++ {
			if math.Abs(a[i*n+k]) > math.Abs(a[best*n+k]) {
				best = i
			}
		}
		if a[best*n+k] == 0 {
			return false
		}
		if best != k {
			for j := k; j < max(end[k], end[best]); j++ {
				a[k*n+j], a[best*n+j] = a[best*n+j], a[k*n+j]
			}
			b[k], b[best] = b[best], b[k]
			end[k], end[best] = end[best], end[k]
		}
		for i := k + 1; i < n; i++ {
			f := a[i*n+k] / a[k*n+k]
			if f == 0 {
				continue
			}
			end[i] = max(end[i], end[k])
			for j := k; j < end[k]; j++ {
				a[i*n+j] -= f * a[k*n+j]
			}
			b[i] -= f * b[k]
		}
	}
	for k := n - 1; k >= 0; k-- {
		for j := k + 1; j < end[k]; j++ {
			b[k] -= a[k*n+j] * b[j]
		}
		b[k] /= a[k*n+k]
	}
	return true
}
