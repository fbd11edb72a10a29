package draining

import (
	"context"
	"math"
	"testing"

	"obvert/line"
	"obvert/physics/valve"
)

// build makes small lines for tests.
type build struct {
	l  line.Line
	in Input
}

func newBuild() *build {
	b := &build{}
	b.l.Site = line.Site{WaterTemperature: 283.15, AirTemperature: 288.15, Gravity: 9.81, AtmosphericPressure: 101325, VapourPressure: 1228, Density: 1000, Viscosity: 1.3e-6}
	b.in = Input{Line: &b.l, Horizon: 3e7, Tolerance: 1e-6}
	return b
}

func (b *build) node(name string, kind line.NodeKind) int {
	b.l.Nodes = append(b.l.Nodes, line.Node{Name: name, Kind: kind})
	return len(b.l.Nodes) - 1
}

func (b *build) tank(name string, level, area float64) int {
	n := b.node(name, line.Tank)
	b.l.Nodes[n].Tank = &line.TankData{Level: level, Lowest: level, Highest: level + 100, Area: area}
	return n
}

// run adds a run through points of chainage along the pipe and obvert.
func (b *build) run(name string, from, to int, bore float64, points ...[2]float64) *line.Run {
	r := line.Run{Name: name, From: from, To: to, AlongPipe: true}
	for i, p := range points {
		d := 0.0
		if i > 0 {
			d = r.Points[i-1].Distance + p[0] - points[i-1][0]
		}
		r.Points = append(r.Points, line.Point{Chainage: p[0], Obvert: p[1], Distance: d})
	}
	r.Sections = []line.Section{{From: points[0][0], To: points[len(points)-1][0], Bore: bore, Roughness: 1e-4}}
	b.l.Runs = append(b.l.Runs, r)
	return &b.l.Runs[len(b.l.Runs)-1]
}

// linear is a leak in proportion to the head, m³/s per m.
func linear(k float64) func(float64) float64 {
	return func(p float64) float64 { return k * p / 9810 }
}

// leaks adds a valve with a seat a height above the obvert, whose leak is f of the pressure.
func (b *build) leaks(name string, run int, chainage, height float64, f func(float64) float64) *Valve {
	z, _ := b.l.ObvertAt(run, chainage)
	b.in.Valves = append(b.in.Valves, Valve{Name: name, Run: run, Chainage: chainage, Seat: z + height, Record: -1, AdmitsAir: true, Leak: f})
	return &b.in.Valves[len(b.in.Valves)-1]
}

// stand adds a pool at a level that fills all that lies below it on a run between two chainages.
func (b *build) stand(level float64, parts ...span) {
	p := Pool{Level: level, Node: -1}
	for _, s := range parts {
		p.Spans = append(p.Spans, Span{Run: s.run, From: s.from, To: s.to, FullFrom: s.from, FullTo: s.to, Level: level})
	}
	b.in.Pools = append(b.in.Pools, p)
}

type span struct {
	run      int
	from, to float64
}

func (b *build) solve(t testing.TB) Result {
	t.Helper()
	r, err := b.attempt()
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func (b *build) attempt() (Result, error) {
	if len(b.l.Cases) == 0 {
		c := line.Case{Kind: line.Standing, Level: make([]float64, len(b.l.Nodes))}
		for i, n := range b.l.Nodes {
			if n.Tank != nil {
				c.Level[i] = n.Tank.Level
			}
		}
		b.l.Cases = []line.Case{c}
	}
	return Solve(context.Background(), b.in)
}

// dripping is a record whose leak rises to a peak and falls to nothing at its sealing head; heads in m, flow in m³/s.
func dripping(peak, seal, letGo, most float64) valve.Record {
	const w = 9810
	return valve.Record{Name: "drips", NominalDiameter: 0.08, Rating: 1e6, AdmitsAir: true,
		Sealing:   valve.Threshold{Bound: valve.Measured, Mean: seal * w, Repeats: 3},
		LettingGo: valve.Threshold{Bound: valve.Measured, Mean: letGo * w, Repeats: 3},
		Leak:      []valve.LeakPoint{{Pressure: 0.25 * peak * w, Flow: 0.5 * most}, {Pressure: peak * w, Flow: most}, {Pressure: 0.5 * (peak + seal) * w, Flow: 0.6 * most}}}
}

func near(t testing.TB, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s: %.9g, want %.9g (off by %.2g, allowed %.2g)", what, got, want, (got-want)/want, rel)
	}
}
