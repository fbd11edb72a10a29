package grade

import (
	"context"
	"math"
	"testing"

	"obvert/line"
)

// build makes small lines for tests. Bores are one for each run; levels are obverts.
type build struct {
	l line.Line
}

func newBuild() *build {
	b := &build{}
	b.l.Site = line.Site{WaterTemperature: 283.15, Gravity: 9.81, AtmosphericPressure: 101325, VapourPressure: 1228, Density: 1000, Viscosity: 1.3e-6}
	return b
}

func (b *build) node(name string, kind line.NodeKind) int {
	b.l.Nodes = append(b.l.Nodes, line.Node{Name: name, Kind: kind})
	return len(b.l.Nodes) - 1
}

func (b *build) tank(name string, level float64) int {
	n := b.node(name, line.Tank)
	b.l.Nodes[n].Tank = &line.TankData{Level: level, Lowest: level, Highest: level}
	return n
}

func (b *build) station(name string, suction float64, check line.CheckValves, curves ...[][2]float64) int {
	n := b.node(name, line.Station)
	st := &line.StationData{Check: check, HasSump: true, SuctionLevel: suction, MotorEfficiency: 0.9}
	for i, c := range curves {
		st.Pumps = append(st.Pumps, line.Pump{Name: string(rune('1' + i)), Curve: c, AssumedEfficiency: 0.75})
	}
	b.l.Nodes[n].Station = st
	return n
}

// run adds a run through points of chainage and obvert.
func (b *build) run(name string, from, to int, bore, rough float64, points ...[2]float64) *line.Run {
	r := line.Run{Name: name, From: from, To: to, AlongPipe: true}
	for i, p := range points {
		d := 0.0
		if i > 0 {
			d = r.Points[i-1].Distance + p[0] - points[i-1][0]
		}
		r.Points = append(r.Points, line.Point{Chainage: p[0], Obvert: p[1], Distance: d})
	}
	r.Sections = []line.Section{{From: points[0][0], To: points[len(points)-1][0], Bore: bore, Roughness: rough}}
	b.l.Runs = append(b.l.Runs, r)
	return &b.l.Runs[len(b.l.Runs)-1]
}

func (r2 *build) valve(run int, name string, chainage float64, admits bool) {
	r := &r2.l.Runs[run]
	r.Placed = append(r.Placed, line.Placed{Name: name, Chainage: chainage, AdmitsAir: admits, Record: -1})
}

// kase adds a case with every pump running.
func (b *build) kase(kind line.CaseKind) int {
	c := line.Case{Name: "case", Kind: kind}
	n := len(b.l.Nodes)
	c.Stations, c.Demand, c.Level = make([]line.StationSetting, n), make([]float64, n), make([]float64, n)
	for i, nd := range b.l.Nodes {
		if nd.Tank != nil {
			c.Level[i] = nd.Tank.Level
		}
		c.Demand[i] = nd.Demand
		if nd.Station != nil {
			for range nd.Station.Pumps {
				c.Stations[i].Running = append(c.Stations[i].Running, kind == line.Pumping)
				c.Stations[i].Speed = append(c.Stations[i].Speed, 1)
			}
		}
	}
	for _, r := range b.l.Runs {
		closed := make([]bool, len(r.Equipment))
		for k, e := range r.Equipment {
			closed[k] = e.Closed
		}
		c.Closed = append(c.Closed, closed)
	}
	b.l.Cases = append(b.l.Cases, c)
	return len(b.l.Cases) - 1
}

func (b *build) solve(t *testing.T, kase int) *Result {
	t.Helper()
	r, err := b.try(kase)
	if err != nil {
		t.Fatal(err)
	}
	if r.EnergyResidual > energyLimit || r.MassResidual > massLimit {
		t.Fatalf("residuals %g m, %g m³/s", r.EnergyResidual, r.MassResidual)
	}
	return r
}

func (b *build) try(kase int) (*Result, error) {
	n, err := NewNet(&b.l)
	if err != nil {
		return nil, err
	}
	return Solve(context.Background(), Input{Net: n, Case: kase})
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.9g, want %.9g within %.2g", what, got, want, tol)
	}
}
