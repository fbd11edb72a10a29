package refilling

import (
	"slices"

	"obvert/line"
	"obvert/physics/column"
	"obvert/quantity"
)

// headers gives every station that stands in the line and has check valves, running or not, a second node behind them: its delivery header.
// Between the two lies a short link with the check valve at its end. What stands in the mains behind it may pass from one into
// another, as it may in the plant; back through the pumps it may not.
func (m *model) headers() {
	l := m.in.Line
	m.header = make([]int, len(l.Nodes))
	for n := range l.Nodes {
		m.header[n] = -1
		if st := l.Nodes[n].Station; l.Nodes[n].Kind != line.Station || st.HasSump || st.Check == line.CheckNone || !m.leaves(n) {
			continue
		}
		m.net.Nodes = append(m.net.Nodes, column.Node{Name: l.Nodes[n].Name})
		m.pumps = append(m.pumps, nil)
		m.header[n] = len(m.net.Nodes) - 1
	}
}

// behind is the node at which a run begins in the network. The first run behind a header brings the link to it.
func (m *model) behind(i int) int {
	from := m.in.Line.Runs[i].From
	h := m.header[from]
	if h < 0 {
		return from
	}
	if !slices.ContainsFunc(m.net.Pipes, func(p column.Pipe) bool { return p.From == from && p.To == h }) {
		m.link(i, from, h)
	}
	return h
}

// link makes the pipe, one bore long, between the two nodes of a station; its place on the line is the beginning of a run. It is full where water
// stands on either side.
func (m *model) link(i, from, to int) {
	r := &m.in.Line.Runs[i]
	c := r.Sections[0]
	end := r.Points[0].Distance
	p := column.Pipe{Name: m.in.Line.Nodes[from].Name, From: from, To: to, Checks: []column.Check{{Distance: end}}}
	for _, d := range []float64{end - c.Bore, end} {
		p.Points = append(p.Points, column.Point{Distance: d, Level: axis(r, 0)})
	}
	s := column.Section{From: end - c.Bore, To: end, Bore: c.Bore, Rating: c.Rating}
	if m.in.WaveSpeed != nil {
		s.WaveSpeed = m.in.WaveSpeed[i][0]
	}
	p.Sections = []column.Section{s}
	m.net.Pipes = append(m.net.Pipes, p)
	at := r.Points[0].Chainage
	m.parts = append(m.parts, part{i, at, at})
	m.placed = append(m.placed, nil)
	if m.stands(from) {
		m.start = append(m.start, column.Water{Pipe: len(m.net.Pipes) - 1, From: end - c.Bore, To: end})
	}
}

// delivery is the node behind a station's check valves: its header, or the station itself.
func (m *model) delivery(n int) int {
	if n < len(m.header) && m.header[n] >= 0 {
		return m.header[n]
	}
	return n
}

// stands tells whether water stands at a node at the start.
func (m *model) stands(n int) bool {
	for i := range m.in.Water {
		if m.wetEnd(i, n) {
			return true
		}
	}
	return false
}

// wetEnd tells whether a run's water of the start reaches its end at a node.
func (m *model) wetEnd(i, n int) bool {
	r, w := &m.in.Line.Runs[i], m.in.Water[i]
	return len(w) > 0 && (r.From == n && w[0].From <= r.Points[0].Chainage || r.To == n && w[len(w)-1].To >= r.Points[len(r.Points)-1].Chainage)
}

// fallsIn notes tanks whose water stands above an end of a run that begins without water: no rest leaves a line so, unless a valve that is now open was shut.
func (m *model) fallsIn() {
	l := m.in.Line
	if m.in.Water == nil {
		return
	}
	for n := range l.Nodes {
		if m.net.Nodes[n].Kind != column.Tank || slices.Contains(m.source, n) {
			continue
		}
		for p := range m.net.Pipes {
			pipe := &m.net.Pipes[p]
			z := pipe.Points[0].Level
			if pipe.To == n {
				z = pipe.Points[len(pipe.Points)-1].Level
			}
			if (pipe.From == n || pipe.To == n) && m.net.Nodes[n].Level > z && !m.wetEnd(m.parts[p].run, n) {
				m.note("refilling.falls-in", l.Nodes[n].Name, "%s stands %s above the drained end of %s: at the start its water falls in, before anything is started. Slams and times below are of that; see whether the tank had sunk as well.",
					l.Nodes[n].Name, quantity.Format(m.net.Nodes[n].Level-z, "m", 2), pipe.Name)
			}
		}
	}
}
