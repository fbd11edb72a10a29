package draining

import (
	"math"
	"testing"

	"obvert/line"
)

// siphon is two sags with a summit between that has no valve; the left end leaks, the right end admits air.
func siphon(summit float64, points ...[2]float64) *build {
	b := newBuild()
	if points == nil {
		points = [][2]float64{{0, 5}, {200, 0}, {400, summit}, {600, 0}, {800, 13}}
	}
	b.run("main", b.node("A", line.DeadEnd), b.node("B", line.DeadEnd), 0.3, points...)
	last := points[len(points)-1][0]
	b.leaks("AV 1", 0, 0, 0.4, linear(1e-5))
	b.leaks("AV 2", 0, last, 0.4, linear(0))
	b.in.StoppedLeak = 1e-9
	return b
}

// A crest where no air comes in parts nothing: both sides sink to the leaking seat together, the crest under suction.
func TestSiphonHangsTogether(t *testing.T) {
	b := siphon(11)
	b.flood(0, 12)
	r := b.solve(t)
	seat := 5.4
	if got := levelAt(r.End, 600); math.Abs(got-seat) > 2e-4 {
		t.Errorf("beyond the crest the level ends at %g, want %g", got, seat)
	}
	if len(r.Pools) != 1 || r.WaterBalance > 1e-9 {
		t.Errorf("%d pools, balance %g", len(r.Pools), r.WaterBalance)
	}
	// The left leg is full up to its end, so only the rising end on the right has a surface: a 13 m rise in 200 m.
	near(t, "lost", r.Lost, math.Pi/4*0.09*(12-seat-1e-4)*200/13, 1e-6)
}

// The same with a valve that admits air on the crest: the right side keeps what its crest holds.
func TestAirPartsAtTheInvert(t *testing.T) {
	b := siphon(11)
	b.leaks("AV 3", 0, 400, 0.4, linear(0))
	b.flood(0, 12)
	r := b.solve(t)
	if got := levelAt(r.End, 600); math.Abs(got-10.7) > 1e-6 {
		t.Errorf("beyond the crest the level ends at %g, want the invert 10.7", got)
	}
	if got := levelAt(r.End, 200); math.Abs(got-5.4) > 2e-4 {
		t.Errorf("before the crest the level ends at %g, want the seat 5.4", got)
	}
	if r.WaterBalance > 1e-9 || r.Valves[2].HasOpened == false {
		t.Errorf("balance %g; %+v", r.WaterBalance, r.Valves[2])
	}
}

// A summit higher than vapour holds: the column parts there at its invert less (p_atm − p_v)/ρg.
func TestColumnPartsUnderVapour(t *testing.T) {
	b := siphon(17, [2]float64{0, 5}, [2]float64{200, 0}, [2]float64{400, 17}, [2]float64{600, 0}, [2]float64{800, 19})
	b.flood(0, 18)
	r := b.solve(t)
	hv := (101325.0 - 1228) / 9810
	if got, want := levelAt(r.End, 600), 16.7-hv; math.Abs(got-want) > 1e-6 {
		t.Errorf("beyond the summit the level ends at %g, want %g", got, want)
	}
	if got := levelAt(r.End, 200); math.Abs(got-5.4) > 2e-4 {
		t.Errorf("before it the level ends at %g, want 5.4", got)
	}
	if r.WaterBalance > 1e-9 {
		t.Errorf("balance %g", r.WaterBalance)
	}
	noted := false
	for _, n := range r.Notes {
		noted = noted || n.ID == "draining.vapour-parted"
	}
	if !noted {
		t.Errorf("no note of it: %v", r.Notes)
	}
}

// Where the sag before a hanging column comes to its obvert, air comes past it and the column comes down while the level stands.
func TestAirComesPastASag(t *testing.T) {
	b := siphon(0, [2]float64{0, 8}, [2]float64{200, 6}, [2]float64{300, 9}, [2]float64{400, 2}, [2]float64{800, 13})
	b.in.Valves[0].Seat = 8.4
	b.leaks("AV 3", 0, 400, 0.2, linear(1e-5)) // leaks in the deep sag
	b.in.Valves[0].Leak = linear(0)
	b.flood(0, 12)
	r := b.solve(t)
	broke := false
	for _, e := range r.Events {
		broke = broke || e.ID == "draining.air-breaks-in"
	}
	if !broke {
		t.Errorf("no air came past the sag: %v", r.Events)
	}
	if r.WaterBalance > 1e-9 {
		t.Errorf("balance %g", r.WaterBalance)
	}
	if got := levelAt(r.End, 400); math.Abs(got-2.2) > 2e-4 {
		t.Errorf("the deep sag ends at %g, want the seat 2.2", got)
	}
	if got := levelAt(r.End, 200); math.Abs(got-6) > 1e-6 {
		t.Errorf("the sag ends at %g, want 6, its obvert, at which it parted", got)
	}
}
