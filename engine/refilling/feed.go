package refilling

import (
	"fmt"
	"math"

	"obvert/line"
	"obvert/num"
	"obvert/physics/column"
	"obvert/physics/pump"
)

// pumps is what runs in a station.
type pumps struct {
	curves []*pump.Curve
	eff    []*pump.Efficiency // nil entries: assumed
	assume []float64
	motor  float64
	lift   column.Lift
	last   float64 // flow at the end of the curves together, m³/s
	first  bool    // beyond it was seen
}

// lifted is the head of several pumps by their flow together, from a table.
type lifted struct{ c *num.Curve }

func (l lifted) Head(q float64) (h, dhdq float64) {
	h, dhdq, _ = l.c.Extend(q)
	return h, dhdq
}

// level is a lift of nothing: a tank that feeds through a throttle.
type level struct{}

func (level) Head(float64) (h, dhdq float64) { return 0, 0 }

// nodes makes the network's nodes.
func (m *model) nodes() error {
	l := m.in.Line
	c := &l.Cases[m.in.Case]
	top := m.feedingTank()
	for n := range l.Nodes {
		nd := &l.Nodes[n]
		out := column.Node{Name: nd.Name}
		switch nd.Kind {
		case line.Offtake:
			out.Demand = nd.Demand
			if n < len(c.Demand) {
				out.Demand = c.Demand[n]
			}
		case line.Outfall:
			out.Kind = column.Outlet
		case line.DeadEnd:
			out.Kind = column.Closed
		case line.Tank:
			m.tank(n, &out, top)
		case line.Station:
			if err := m.station(n, &out); err != nil {
				return err
			}
		}
		m.net.Nodes[n] = out
	}
	m.followBoosters()
	if len(m.source) == 0 {
		return fmt.Errorf("refilling: case %q feeds the line from nowhere: no station runs in it and no tank stands above the line", c.Name)
	}
	return nil
}

// followBoosters lets a booster give no more than the one station before it is throttled to.
func (m *model) followBoosters() {
	flow := 0.0
	for _, n := range m.source {
		switch nd := &m.net.Nodes[n]; {
		case nd.Booster:
		case nd.Flow == 0 || flow > 0:
			return
		default:
			flow = nd.Flow
		}
	}
	for _, n := range m.source {
		if nd := &m.net.Nodes[n]; nd.Booster && nd.Flow == 0 {
			nd.Flow = flow
		}
	}
}

// feedingTank is the highest tank where no station runs; −1 where one does.
func (m *model) feedingTank() int {
	l := m.in.Line
	c := &l.Cases[m.in.Case]
	best, high := -1, math.Inf(-1)
	for n := range l.Nodes {
		switch l.Nodes[n].Kind {
		case line.Station:
			if m.runs(n) {
				return -1
			}
		case line.Tank:
			if z := tankLevel(l, c, n); z > high {
				best, high = n, z
			}
		}
	}
	return best
}

func tankLevel(l *line.Line, c *line.Case, n int) float64 {
	if n < len(c.Level) {
		return c.Level[n]
	}
	return l.Nodes[n].Tank.Level
}

// runs tells whether a station runs in the case.
func (m *model) runs(n int) bool {
	c := &m.in.Line.Cases[m.in.Case]
	if n >= len(c.Stations) {
		return false
	}
	for _, on := range c.Stations[n].Running {
		if on {
			return true
		}
	}
	return false
}

func (m *model) tank(n int, out *column.Node, top int) {
	l := m.in.Line
	c := &l.Cases[m.in.Case]
	out.Kind, out.Level, out.Area = column.Tank, tankLevel(l, c, n), l.Nodes[n].Tank.Area
	feeds := n == top || m.leaves(n) && m.in.Water != nil
	switch {
	case feeds && m.in.Flow > 0 && n == top: // a throttle at the tank: its level is what drives
		out.Kind, out.Pumps, out.Flow, out.Ramp, out.FreeAt = column.Station, level{}, m.in.Flow, m.ramp(), m.in.Release
		m.source = append(m.source, n)
	case n == top:
		m.source = append(m.source, n)
	case m.in.Water == nil && !m.suction(n):
		out.Kind = column.Outlet
		m.note("refilling.tank-as-outlet", l.Nodes[n].Name, "%s does not feed the empty line: it is taken as shut off or empty until water comes to it.", l.Nodes[n].Name)
	}
}

// leaves tells whether a run begins at a node.
func (m *model) leaves(n int) bool {
	for _, r := range m.in.Line.Nodes[n].Runs {
		if m.in.Line.Runs[r].From == n {
			return true
		}
	}
	return false
}

// suction tells whether a tank's water runs to a station by a run of its own.
func (m *model) suction(n int) bool {
	l := m.in.Line
	for _, r := range l.Nodes[n].Runs {
		if run := &l.Runs[r]; run.From == n && l.Nodes[run.To].Kind == line.Station {
			return true
		}
	}
	return false
}

// endNode is the node at which a run ends: an open end of its own where it pours into a tank from above.
func (m *model) endNode(r *line.Run, to int) int {
	if to != r.To || m.in.Line.Nodes[to].Kind != line.Tank || m.in.Line.Nodes[to].Tank.Inlet != line.OverTheTop {
		return to
	}
	m.net.Nodes = append(m.net.Nodes, column.Node{Name: m.in.Line.Nodes[to].Name, Kind: column.Outlet})
	m.pumps = append(m.pumps, nil)
	return len(m.net.Nodes) - 1
}

func (m *model) ramp() float64 {
	if m.in.Ramp > 0 {
		return m.in.Ramp
	}
	return DefaultRamp
}

func (m *model) station(n int, out *column.Node) error {
	l := m.in.Line
	nd := &l.Nodes[n]
	st := nd.Station
	if !m.runs(n) {
		if st.HasSump {
			out.Kind, out.Level, out.NoCheck = column.Station, st.SuctionLevel, st.Check == line.CheckNone
		}
		return nil
	}
	p, err := m.running(n)
	if err != nil {
		return err
	}
	m.pumps[n] = p
	out.Pumps = p.lift
	m.source = append(m.source, n)
	if !st.HasSump {
		out.Booster = true
		m.note("refilling.booster", nd.Name, "%s starts when water stands at it. Its drive is taken to give way as its suction falls from 2.5 to 0.5 m, and to hold the start flow.", nd.Name)
	} else {
		out.Kind, out.Level, out.NoCheck = column.Station, st.SuctionLevel, st.Check == line.CheckNone
	}
	set := l.Cases[m.in.Case].Stations[n]
	out.Ramp, out.FreeAt, out.Flow = m.ramp(), m.in.Release, m.in.Flow
	switch {
	case out.Booster && out.Flow == 0:
	case out.Flow > 0:
	case set.Flow > 0:
		out.Flow = set.Flow
	case set.HoldFlow > 0:
		out.Flow = set.HoldFlow
	case set.HasHoldHead:
		m.note("refilling.held-head", nd.Name, "%s holds a head in this case; while the line fills it is taken at full speed, unthrottled.", nd.Name)
	}
	return nil
}

// running gathers a station's running pumps.
func (m *model) running(n int) (*pumps, error) {
	nd := &m.in.Line.Nodes[n]
	st, set := nd.Station, m.in.Line.Cases[m.in.Case].Stations[n]
	p := &pumps{motor: st.MotorEfficiency}
	if p.motor == 0 {
		p.motor = 1
	}
	for i := range st.Pumps {
		if i >= len(set.Running) || !set.Running[i] {
			continue
		}
		c, _, err := pump.NewCurve(st.Pumps[i].Curve) // its notes are the line's to give
		if err != nil {
			return nil, fmt.Errorf("refilling: pump %s of %s: %w", st.Pumps[i].Name, nd.Name, err)
		}
		speed := 1.0
		if i < len(set.Speed) && set.Speed[i] > 0 {
			speed = set.Speed[i]
		}
		var e *pump.Efficiency
		if len(st.Pumps[i].Efficiency) > 0 {
			if e, err = pump.NewEfficiency(st.Pumps[i].Efficiency); err != nil {
				return nil, fmt.Errorf("refilling: pump %s of %s: %w", st.Pumps[i].Name, nd.Name, err)
			}
			e = e.AtSpeed(speed)
		}
		c = c.AtSpeed(speed)
		_, last := c.Range()
		p.last += last
		p.curves, p.eff, p.assume = append(p.curves, c), append(p.eff, e), append(p.assume, st.Pumps[i].AssumedEfficiency)
	}
	if len(p.curves) == 1 {
		p.lift = p.curves[0]
		return p, nil
	}
	const rows = 48
	q, h := make([]float64, rows+1), make([]float64, rows+1)
	for i := range q {
		q[i] = 1.5 * p.last * float64(i) / rows
		head, out := pump.HeadAt(p.curves, q[i], st.Check == line.CheckEach)
		if err := out.Err("refilling: head of " + nd.Name); err != nil && out.Status != num.Stalled {
			return nil, err
		}
		h[i] = head
	}
	c, err := num.Monotone(q, h)
	if err != nil {
		return nil, fmt.Errorf("refilling: pumps of %s together: %w", nd.Name, err)
	}
	p.lift = lifted{c}
	return p, nil
}

// power is what the pumps take from the mains at a flow, W: alike pumps share alike.
func (p *pumps) power(q, rho, g float64) float64 {
	if q <= 0 {
		return 0
	}
	sum, share := 0.0, q/float64(len(p.curves))
	for i, c := range p.curves {
		h, _ := c.Head(share)
		eta := p.assume[i]
		if p.eff[i] != nil {
			eta, _ = p.eff[i].At(share)
		}
		if eta > 0 {
			sum += rho * g * share * max(h, 0) / eta
		}
	}
	return sum / p.motor
}
