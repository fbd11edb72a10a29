package draining

import (
	"testing"

	"obvert/line"
	"obvert/physics/valve"
)

// burstUnder is a pipe of 1000 m that falls by 20 m, with points every 10 m, torn off at its foot; air comes in at its top through one valve of an
// orifice, m, coefficient 0.6. Water stands from a chainage on.
func burstUnder(orifice, from float64) *build {
	b := newBuild()
	var pts [][2]float64
	for x := 0.0; x <= 1000; x += 10 {
		pts = append(pts, [2]float64{x, 20 - 0.02*x})
	}
	b.run("main", b.node("top", line.DeadEnd), b.node("foot", line.DeadEnd), 0.3, pts...)
	b.in.Rack = []valve.Record{{Name: "one", NominalDiameter: orifice, Rating: 1e6, AdmitsAir: true, In: &valve.Air{Diameter: orifice, Coefficient: 0.6}}}
	b.in.Valves = []Valve{{Name: "AV", Seat: 20.4, AdmitsAir: true}}
	b.stand(25, span{0, from, 1000})
	b.in.Openings = []Opening{{Name: "torn off", Run: 0, Chainage: 1000, Burst: true}}
	b.in.Friction, b.in.Horizon, b.in.Tolerance = 0.02, 1e5, 0
	return b
}

// Water laid down at a column's end within a gap leaves no gap without its air: all of a region shares its air by volume.
func TestAirIsSharedByVolume(t *testing.T) {
	b := burstUnder(0.05, 0)
	b.solve(t)
	f, err := newFast(&b.in)
	if err != nil {
		t.Fatal(err)
	}
	c := &f.chains[0]
	c.plugs = []plug{{v0: 10, v1: 20}, {v0: 21, v1: 30}}
	c.gaps = []gap{{mass: 12, of: 0}, {mass: 0, of: 0}, {mass: 5, of: -1}}
	f.share(1)
	near(t, "air before", c.gaps[0].mass, 12*10./11, 1e-12)
	near(t, "air between", c.gaps[1].mass, 12*1./11, 1e-12)
	near(t, "air of no region", c.gaps[2].mass, 5, 0)
}
