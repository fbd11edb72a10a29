package refilling

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"obvert/line"
	"obvert/physics/column"
	"obvert/physics/opening"
	"obvert/physics/pipe"
	"obvert/physics/valve"
	"obvert/quantity"
)

// part is a stretch of a run that became one pipe of the network: runs are cut at closed valves.
type part struct {
	run      int
	from, to float64 // chainage
}

// model is a line made into a network, and the way back.
type model struct {
	in      *Input
	net     column.Network
	parts   []part
	placed  [][]int // by pipe, by vent: index into the run's valves
	pumps   []*pumps
	source  []int // nodes of the network that feed it
	header  []int // by node of the line: the node behind the check valves of a station in the line, −1 where there is none
	start   []column.Water
	notes   []Note
	control []string // valves that hold a head or a flow
	empty   float64  // volume without water at the start, m³
	bore    float64  // the largest, m
}

func (m *model) note(id, where, format string, a ...any) {
	m.notes = append(m.notes, Note{id, where, fmt.Sprintf(format, a...)})
}

// newModel makes the network.
func newModel(in *Input) (*model, error) {
	l := in.Line
	m := &model{in: in, net: column.Network{
		Density: l.Site.Density, Gravity: l.Site.Gravity, Atmosphere: l.Site.AtmosphericPressure, Temperature: l.Site.AirTemperature,
		Vapour: l.Site.VapourPressure, Polytropic: in.Polytropic, Carries: in.Carries,
	}}
	if m.net.Temperature == 0 {
		m.net.Temperature = l.Site.WaterTemperature
	}
	m.net.Nodes = make([]column.Node, len(l.Nodes))
	m.pumps = make([]*pumps, len(l.Nodes))
	if err := m.nodes(); err != nil {
		return nil, err
	}
	m.headers()
	for i := range l.Runs {
		if err := m.run(i); err != nil {
			return nil, err
		}
	}
	m.fallsIn()
	if len(m.control) > 0 {
		m.note("refilling.control-open", "", "Taken as open with their own loss while the line fills, since they do not yet find the head or flow they hold: %s.", strings.Join(m.control, ", "))
	}
	return m, nil
}

// axis is the level of the pipe's axis at a profile point.
func axis(r *line.Run, i int) float64 {
	return r.Points[i].Obvert - r.Sections[sectionAt(r, r.Points[i].Chainage)].Bore/2
}

func sectionAt(r *line.Run, chainage float64) int {
	for i := range r.Sections {
		if chainage <= r.Sections[i].To {
			return i
		}
	}
	return len(r.Sections) - 1
}

// distance is the length of pipe from a run's first point to a chainage.
func distance(r *line.Run, chainage float64) float64 {
	p := r.Points
	i := sort.Search(len(p), func(i int) bool { return p[i].Chainage >= chainage })
	switch {
	case i == 0:
		return p[0].Distance
	case i == len(p):
		return p[len(p)-1].Distance
	}
	f := (chainage - p[i-1].Chainage) / (p[i].Chainage - p[i-1].Chainage)
	return p[i-1].Distance + f*(p[i].Distance-p[i-1].Distance)
}

// chainage is the way back.
func chainage(r *line.Run, d float64) float64 {
	p := r.Points
	i := sort.Search(len(p), func(i int) bool { return p[i].Distance >= d })
	switch {
	case i == 0:
		return p[0].Chainage
	case i == len(p):
		return p[len(p)-1].Chainage
	case p[i].Distance == p[i-1].Distance:
		return p[i].Chainage
	}
	f := (d - p[i-1].Distance) / (p[i].Distance - p[i-1].Distance)
	return p[i-1].Chainage + f*(p[i].Chainage-p[i-1].Chainage)
}

// place turns a place on a pipe of the network into one on the line.
func (m *model) place(p int, d float64) (run int, at float64) {
	run = m.parts[p].run
	return run, chainage(&m.in.Line.Runs[run], d)
}

// where names a place for a reader.
func (m *model) where(run int, at float64) string {
	return quantity.FormatChainage(at) + " on " + m.in.Line.Runs[run].Name
}

// run makes the pipes of a run: one between every two closed valves.
func (m *model) run(i int) error {
	l := m.in.Line
	r := &l.Runs[i]
	c := &l.Cases[m.in.Case]
	cuts := []float64{r.Points[0].Chainage}
	for e := range r.Equipment {
		if eq := &r.Equipment[e]; eq.Kind == line.IsolatingValve && i < len(c.Closed) && e < len(c.Closed[i]) && c.Closed[i][e] {
			cuts = append(cuts, eq.Chainage)
			m.note("refilling.closed-valve", eq.Name, "%s is closed: nothing passes it.", eq.Name)
		}
	}
	cuts = append(cuts, r.Points[len(r.Points)-1].Chainage)
	from := m.behind(i)
	for k := 1; k < len(cuts); k++ {
		to := r.To
		if k < len(cuts)-1 {
			to = m.closedNode(r.Name)
		}
		if distance(r, cuts[k]) > distance(r, cuts[k-1]) {
			if err := m.pipe(i, part{i, cuts[k-1], cuts[k]}, from, to); err != nil {
				return err
			}
		}
		if k < len(cuts)-1 {
			from = m.closedNode(r.Name)
		}
	}
	return nil
}

func (m *model) closedNode(name string) int {
	m.net.Nodes = append(m.net.Nodes, column.Node{Name: name, Kind: column.Closed})
	m.pumps = append(m.pumps, nil)
	return len(m.net.Nodes) - 1
}

// pipe makes one pipe of a stretch of a run.
func (m *model) pipe(i int, pt part, from, to int) error {
	l := m.in.Line
	r := &l.Runs[i]
	p := column.Pipe{Name: r.Name, From: from, To: m.endNode(r, to)}
	lo, hi := distance(r, pt.from), distance(r, pt.to)
	level := func(d float64) float64 { return m.axisAt(r, d) }
	p.Points = append(p.Points, column.Point{Distance: lo, Level: level(lo)})
	for k := range r.Points {
		if d := r.Points[k].Distance; d > lo && d < hi {
			p.Points = append(p.Points, column.Point{Distance: d, Level: axis(r, k)})
		}
	}
	p.Points = append(p.Points, column.Point{Distance: hi, Level: level(hi)})
	m.sections(i, &p, lo, hi)
	m.equipment(i, &p, lo, hi)
	var placed []int
	for k := range r.Placed {
		last := pt.to == r.Points[len(r.Points)-1].Chainage
		if v := &r.Placed[k]; v.Chainage >= pt.from && (v.Chainage < pt.to || last && v.Chainage == pt.to) {
			vent, err := m.vent(r, v)
			if err != nil {
				return err
			}
			p.Vents = append(p.Vents, vent)
			placed = append(placed, k)
		}
	}
	m.net.Pipes = append(m.net.Pipes, p)
	m.parts = append(m.parts, pt)
	m.placed = append(m.placed, placed)
	m.water(i, len(m.net.Pipes)-1, lo, hi)
	return nil
}

// axisAt is the axis's level at a distance.
func (m *model) axisAt(r *line.Run, d float64) float64 {
	p := r.Points
	i := sort.Search(len(p), func(i int) bool { return p[i].Distance >= d })
	if i == 0 {
		return axis(r, 0)
	}
	if i == len(p) {
		return axis(r, len(p)-1)
	}
	if p[i].Distance == p[i-1].Distance {
		return axis(r, i)
	}
	f := (d - p[i-1].Distance) / (p[i].Distance - p[i-1].Distance)
	return axis(r, i-1) + f*(axis(r, i)-axis(r, i-1))
}

func (m *model) sections(i int, p *column.Pipe, lo, hi float64) {
	l := m.in.Line
	r := &l.Runs[i]
	for k := range r.Sections {
		s := &r.Sections[k]
		a, b := distance(r, s.From), distance(r, s.To)
		if b <= lo || a >= hi {
			continue
		}
		share := 1.0
		if b > a {
			share = (min(b, hi) - max(a, lo)) / (b - a)
		}
		law := pipe.NewDarcyWeisbach(s.Bore, s.Roughness, l.Site.Viscosity, l.Site.Gravity)
		if s.HazenWilliams > 0 {
			law = pipe.NewHazenWilliams(s.Bore, s.HazenWilliams)
		}
		c := column.Section{From: max(a, lo), To: min(b, hi), Bore: s.Bore, Law: &law, Loss: s.LocalLoss * share, Rating: s.Rating}
		if m.in.WaveSpeed != nil {
			c.WaveSpeed = m.in.WaveSpeed[i][k]
		}
		m.bore = max(m.bore, s.Bore)
		p.Sections = append(p.Sections, c)
	}
}

// equipment adds the losses of what stands in the pipe to its sections, and check valves.
func (m *model) equipment(i int, p *column.Pipe, lo, hi float64) {
	r := &m.in.Line.Runs[i]
	for k := range r.Equipment {
		e := &r.Equipment[k]
		d := distance(r, e.Chainage)
		if d < lo || d > hi || d == hi && hi < r.Points[len(r.Points)-1].Distance {
			continue
		}
		for s := range p.Sections {
			if c := &p.Sections[s]; d <= c.To || s == len(p.Sections)-1 {
				c.Loss += e.Loss
				break
			}
		}
		switch e.Kind {
		case line.CheckValve:
			p.Checks = append(p.Checks, column.Check{Distance: d, Reverse: e.Reverse})
		case line.SustainingValve, line.ReducingValve, line.FlowControlValve:
			m.control = append(m.control, e.Name)
		}
	}
}

// vent makes an air valve of what was measured on it.
func (m *model) vent(r *line.Run, v *line.Placed) (column.Vent, error) {
	out := column.Vent{Name: v.Name, Distance: distance(r, v.Chainage)}
	if v.Isolated || v.Record < 0 {
		return out, nil
	}
	rec := &m.in.Line.Rack[v.Record]
	fail := func(what string, err error) error {
		return fmt.Errorf("refilling: %s (%s): %s: %w", v.Name, rec.Name, what, err)
	}
	var err error
	if v.AdmitsAir && rec.AdmitsAir {
		if out.In, err = rec.Inlet(); err != nil {
			return out, fail("air in", err)
		}
	}
	small := rec.Release()
	out.Small = small
	large, err := rec.Outlet()
	if err != nil {
		return out, fail("air out", err)
	}
	out.Out = together(large, small)
	if out.Out == nil {
		m.note("refilling.no-air-curve", v.Name, "%s (%s) has no outflow curve: no air is let out through it.", v.Name, rec.Name)
	}
	if rec.SmallOrifice != nil {
		out.Residual = rec.SmallOrifice.Coefficient * math.Pi / 4 * rec.SmallOrifice.Diameter * rec.SmallOrifice.Diameter
	}
	if rec.Stage != nil {
		throttled := valve.Record{Out: &rec.Stage.Out}
		staged, err := throttled.Outlet()
		if err != nil {
			return out, fail("anti-slam stage", err)
		}
		out.Staged, out.StageAt, out.StageOff = together(staged, small), rec.Stage.Differential, stageOff*rec.Stage.Differential
	}
	if rec.EarlyClosing > 0 && large != nil {
		out.CloseAt, out.ReopenAt = rec.EarlyClosing, stageOff*rec.EarlyClosing
		if rec.LettingGo.HasValue() && rec.LettingGo.Mean < rec.EarlyClosing {
			out.ReopenAt = rec.LettingGo.Mean
		}
	}
	return out, nil
}

// stageOff is the share of its differential at which a stage, or a float without a known letting-go pressure, opens again: nearly
// none, since the differential over the closed part holds it (an assumption, no source).
const stageOff = 0.1

// together is two openings side by side, nil where both are.
func together(a, b opening.Opening) opening.Opening {
	switch {
	case a == nil:
		return b
	case b == nil:
		return a
	}
	return opening.Parallel{a, b}
}

// water lays what stands in a pipe at the start.
func (m *model) water(run, p int, lo, hi float64) {
	r := &m.in.Line.Runs[run]
	volume := func(a, b float64) float64 {
		v := 0.0
		for _, s := range m.net.Pipes[p].Sections {
			if l := min(b, s.To) - max(a, s.From); l > 0 {
				v += l * pipe.Area(s.Bore)
			}
		}
		return v
	}
	m.empty += volume(lo, hi)
	if m.in.Water == nil {
		return
	}
	for _, w := range m.in.Water[run] {
		a, b := max(distance(r, w.From), lo), min(distance(r, w.To), hi)
		if b-a < 1e-6 {
			continue
		}
		m.start = append(m.start, column.Water{Pipe: p, From: a, To: b})
		m.empty -= volume(a, b)
	}
}
