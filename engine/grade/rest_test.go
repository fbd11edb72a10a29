package grade

import (
	"math"
	"strings"
	"testing"

	"obvert/line"
)

// ridge is a rising main with a check valve at its pumps, over a summit at 50 m (obvert) down to a tank at 40 m.
func ridge(valve bool) *build {
	b := newBuild()
	p := b.station("works", 0, line.CheckEach, [][2]float64{{0, 80}, {0.1, 50}})
	z := b.tank("hill", 40)
	b.run("main", p, z, 0.3, 1e-4, [2]float64{0, 2}, [2]float64{3000, 50}, [2]float64{4000, 30}, [2]float64{5000, 38})
	if valve {
		b.valve(0, "summit", 3000, true)
	}
	return b
}

// Common practice, no source: at rest water stands up to the invert of the summit on the pumps' side, and to the tank's level on the other;
// between the two the pipe stands empty.
func TestCrestPartsWaterWhereAirEnters(t *testing.T) {
	b := ridge(true)
	r := b.solve(t, b.kase(line.Standing))
	if len(r.Pools) != 2 {
		t.Fatalf("pools = %+v", r.Pools)
	}
	near(t, "level on the pumps' side", r.Pools[0].Level, 49.7, 1e-9)
	near(t, "level on the tank's side", r.Pools[1].Level, 40, 1e-9)
	if !r.Pools[1].Fed || r.Pools[0].Fed || !strings.Contains(r.Pools[0].Reason, "check valves of works") {
		t.Errorf("pools = %+v", r.Pools)
	}
	at := r.At(0, 3000)
	if at.Wetness != Empty || at.PressureHead != 0 {
		t.Errorf("summit: %+v", at)
	}
	// The falling leg drops 20 m in 1,000 m: full below 40 m, that is from 3,500 m.
	s := r.Pools[1].Spans[0]
	near(t, "full from", s.FullFrom, 3500, 1e-6)
	near(t, "wet from", s.From, 3485, 1e-6)
	// The rising leg rises 48 m in 3,000 m: obvert at 49.7 m.
	s = r.Pools[0].Spans[0]
	near(t, "full to", s.FullTo, 3000*(49.7-2)/48, 1e-6)
}

// Without a way in for air both sides hang together, the summit under suction, until −(p_atm − p_v)/ρg.
func TestCrestHoldsWhereNoAirEnters(t *testing.T) {
	b := ridge(false)
	r := b.solve(t, b.kase(line.Standing))
	if len(r.Pools) != 1 || !r.Pools[0].Suction {
		t.Fatalf("pools = %+v", r.Pools)
	}
	near(t, "head at the summit", r.At(0, 3000).PressureHead, -10, 1e-9)
	near(t, "head at the pumps", r.At(0, 0).PressureHead, 38, 1e-9)
	// A summit 60 m high is too much for 10 m of suction: the column parts there.
	for i := range b.l.Runs[0].Points {
		if b.l.Runs[0].Points[i].Obvert == 50 {
			b.l.Runs[0].Points[i].Obvert = 60
		}
	}
	r = b.solve(t, 0)
	near(t, "pumps' side hangs at the summit's bound", r.At(0, 0).Head, 59.7+b.l.Site.VapourHead(), 1e-9)
}

// A valve lower down that admits air breaks the siphon at the crest above it.
func TestAirFromBelowBreaksTheSiphon(t *testing.T) {
	b := ridge(false)
	b.valve(0, "low", 3300, true) // obvert 44 m, above the tank's level
	r := b.solve(t, b.kase(line.Standing))
	if len(r.Pools) != 2 {
		t.Fatalf("pools = %+v", r.Pools)
	}
	near(t, "level on the pumps' side", r.Pools[0].Level, 49.7, 1e-9)
	c := ridge(false)
	c.valve(0, "lower", 3700, true) // obvert 36 m, under water: admits nothing
	r = c.solve(t, c.kase(line.Standing))
	if len(r.Pools) != 1 {
		t.Errorf("a valve under water parts nothing: %+v", r.Pools)
	}
}

// On a graph the level is the least over all ways of the highest barrier on the way: with a second, lower way round the ridge the water leaves by that.
func TestLevelIsTheLowestWayOut(t *testing.T) {
	b := ridge(true)
	b.run("low way", 0, 1, 0.3, 1e-4, [2]float64{0, 2}, [2]float64{2000, 45}, [2]float64{4000, 38})
	b.valve(1, "low summit", 2000, true)
	r := b.solve(t, b.kase(line.Standing))
	near(t, "level at the pumps", r.At(0, 0).Head, 44.7, 1e-9)
	if got := r.At(0, 2900).Wetness; got != Empty {
		t.Errorf("below the high summit the pipe is %v, want empty", got)
	}
}

// At 1:1000 the surface in a 0.3 m pipe takes 300 m from invert to obvert (design of the pipe, by geometry).
func TestFlatPipeIsPartFullFar(t *testing.T) {
	b := newBuild()
	d, o := b.node("end", line.DeadEnd), b.node("out", line.Outfall)
	b.run("flat", d, o, 0.3, 1e-4, [2]float64{0, 10.3}, [2]float64{1000, 11.3})
	r := b.solve(t, b.kase(line.Standing))
	p := r.Pools[0]
	near(t, "wet", p.WetLength, 1000, 1e-6)
	near(t, "full", p.FullLength, 700, 1e-6)
	area := math.Pi / 4 * 0.09
	// Half of the wedge by symmetry of the circle: its mean area is half the full one.
	near(t, "volume", p.Volume, area*700+area*300/2, 1e-5)
}

// A body with no way out is full to its highest point without pressure; the valve that closes it is named.
func TestClosedInBody(t *testing.T) {
	b := newBuild()
	a, d := b.tank("tank", 20), b.node("end", line.DeadEnd)
	b.run("branch", a, d, 0.2, 1e-4, [2]float64{0, 10}, [2]float64{500, 15}, [2]float64{900, 5})
	b.l.Runs[0].Equipment = []line.Equipment{{Name: "gate", Kind: line.IsolatingValve, Chainage: 200, Closed: true}}
	r := b.solve(t, b.kase(line.Standing))
	near(t, "closed in", r.At(0, 900).Head, 15, 1e-9)
	near(t, "before the gate", r.At(0, 100).Head, 20, 1e-9)
	if k := r.Pools[len(r.Pools)-1]; !strings.Contains(k.Reason, "closed in") {
		t.Errorf("reason = %q", k.Reason)
	}
}

func TestTanksThatFlowIntoOneAnotherAreNotAtRest(t *testing.T) {
	b := newBuild()
	a, z := b.tank("upper", 50), b.tank("lower", 40)
	b.run("main", a, z, 0.3, 1e-4, [2]float64{0, 30}, [2]float64{1000, 30})
	r := b.solve(t, b.kase(line.Standing))
	if len(r.Notes) == 0 || r.Notes[0].ID != "grade.not-at-rest" || r.Notes[0].Where != "upper" {
		t.Errorf("notes = %+v", r.Notes)
	}
}
