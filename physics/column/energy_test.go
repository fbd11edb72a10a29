package column

import (
	"context"
	"math"
	"testing"

	"pgregory.net/rapid"

	"obvert/physics/opening"
)

// energy is that of all columns, by motion and by level, and of the air that is shut in (its pressure energy pV/(n−1)), J.
func (s *sim) energy() (kinetic, level, air float64) {
	rg := s.net.Density * s.net.Gravity
	lift := func(sh *shape, a, b float64) float64 { // ∫ z dw
		sum := 0.0
		for i := range sh.seg {
			lo, hi := max(a, sh.w[i]), min(b, sh.w[i+1])
			if hi > lo {
				sum += (hi - lo) * (sh.z[i] + sh.seg[i].rise*(0.5*(lo+hi)-sh.w[i]))
			}
		}
		return sum
	}
	for k := range s.legs {
		if l := &s.legs[k]; !l.dead && l.pipe >= 0 {
			sh := s.shape[l.pipe]
			a, b := sh.mark(l.e[lower].w, 0), sh.mark(l.e[upper].w, 0)
			kinetic += 0.5 * rg * (sh.inertAt(b) - sh.inertAt(a)) * l.q * l.q
			level += rg * lift(sh, l.e[lower].w, l.e[upper].w)
		}
	}
	for i := range s.puddles {
		if q := &s.puddles[i]; q.used && q.pipe >= 0 {
			level += rg * q.v * s.shape[q.pipe].levelAt(s.shape[q.pipe].mark(q.w, 0))
		}
	}
	for k := range s.pockets {
		if p := &s.pockets[k]; !p.open {
			air += p.p * p.v / (s.nExp - 1)
		}
	}
	return kinetic, level, air
}

// TestEnergyBound: what moves has its energy from somewhere. The kinetic energy of all columns, with that of their level and of the shut-in
// air, never exceeds what they began with and what the tank has pushed in: ρ g H + p_a for each m³ (identity; friction, spills, plugs that
// break and columns that meet only take from it). So no column is faster than the heads give, whatever happens in between.
func TestEnergyBound(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		legs := rapid.IntRange(2, 6).Draw(rt, "legs")
		pts := []Point{{0, 0}}
		for i := range legs {
			rise := rapid.Float64Range(3, 25).Draw(rt, "rise")
			if i%2 == 0 {
				rise = -rise
			}
			last := pts[len(pts)-1]
			pts = append(pts, Point{last.Distance + rapid.Float64Range(50, 600).Draw(rt, "length"), last.Level + rise})
		}
		n := hills(pts, 0.2, 0)
		n.Pipes[0].Vents = nil
		head := rapid.Float64Range(5, 60).Draw(rt, "head")
		n.Nodes[0] = Node{Kind: Tank, Level: head}
		n.Nodes[1].Kind = Closed
		var water []Water
		for i := 1; i < len(pts)-1; i += 2 {
			half := rapid.Float64Range(0.1, 0.9).Draw(rt, "pool")
			water = append(water, Water{0, pts[i].Distance - half*(pts[i].Distance-pts[i-1].Distance), pts[i].Distance + half*(pts[i+1].Distance-pts[i].Distance)})
		}
		area := math.Pi / 4 * 0.04
		start, base, moved := math.NaN(), 0.0, 0.0
		_, err := Run(context.Background(), &n, Settings{Horizon: 2000, Tolerance: 1e-3, Water: water, Observe: func(m *Moment) bool {
			kin, lev, air := m.s.energy()
			in := m.s.res.Balance.WaterIn - m.s.res.Balance.WaterOut
			given := (m.s.rhoG*head + m.s.net.Atmosphere) * in
			if math.IsNaN(start) {
				start, base = kin+lev+air-given, in
			}
			moved = max(moved, (m.s.rhoG*head+m.s.net.Atmosphere)*math.Abs(in-base), m.s.rhoG*area*100)
			if over := kin + lev + air - given - start; over > 2e-3*moved {
				rt.Fatalf("%g s: %g J more than was given, of %g J moved; kinetic %g", m.Time(), over, moved, kin)
			}
			return true
		}})
		if err != nil {
			rt.Fatal(err)
		}
	})
}

// TestFaceAndColumn: water spills over a crest onto the column beyond. Its face there rises towards the crest at S/A − V₂, while the column itself
// goes on at V₂: water heaps up on it, it does not come back. What meets at the crest are the columns, V₁ and V₂; the face's speed is none
// of theirs. With levels that rise alike in both limbs of the sag, slopes s₁ and s₂: V₂ = V₁ s₁/(s₁+s₂), ΔV = V₁ s₂/(s₁+s₂), Δh = a ΔV/2g,
// where the face's speed −V₁ s₂/(s₁+s₂) in place of V₂ would give ΔV = V₁ (s₁+2s₂)/(s₁+s₂). Before and After are both positive.
func TestFaceAndColumn(t *testing.T) {
	for _, c := range []struct{ s1, s2 float64 }{{0.02, 0.02}, {0.04, 0.02}, {0.02, 0.06}} {
		crest, low := Point{500, 20}, Point{500 + 10/c.s1, 10}
		n := hills([]Point{{0, 0}, crest, low, {low.Distance + 40/c.s2, 50}}, 0.3, 150)
		n.Nodes[0] = Node{Kind: Station, Level: 0, Flow: 0.01, Ramp: 10}
		n.Nodes[1].Kind = Outlet
		r := run(t, n, Settings{Horizon: 1e5})
		if len(r.Meetings) != 1 {
			t.Fatalf("%d meetings, %v", len(r.Meetings), r.Status)
		}
		m, v1 := r.Meetings[0], 0.01/(math.Pi/4*0.09)
		v2 := v1 * c.s1 / (c.s1 + c.s2)
		near(t, "column before the crest", m.Before, v1, 0.01)
		near(t, "column beyond it", m.After, v2, 0.03)
		near(t, "slam", m.Sealed, 1000*(v1-v2)/(2*9.81), 0.03)
	}
}

// TestShortPlug: a plug of a bore or two between two pockets does not close the pipe, whatever the pressures: nothing is driven at the speed
// of a shot, and its water is found in the low point.
func TestShortPlug(t *testing.T) {
	n := hills([]Point{{0, 10}, {100, 0}, {200, 10}}, 0.2, 0)
	n.Pipes[0].Vents = nil
	n.Nodes[0].Kind, n.Nodes[1].Kind = Closed, Closed
	for _, length := range []float64{0.3, 20} {
		fastest := 0.0
		r := run(t, n, Settings{Horizon: 100, Water: []Water{{0, 90 - length, 90}, {0, 95, 105}}, Pressures: []GivenPressure{{0, 10, 5 * atm}}, Observe: func(m *Moment) bool {
			for k := range m.s.legs {
				if l := &m.s.legs[k]; !l.dead {
					fastest = max(fastest, math.Abs(l.q)/m.s.areaOf(l))
				}
			}
			return true
		}})
		cleared := 0
		for _, e := range r.Events {
			if e.Kind == Clears && e.Time < 0.01 {
				cleared++
			}
		}
		if short := length < plugBores*0.2; short && cleared == 0 || !short && cleared > 0 {
			t.Errorf("%g m: %d broke at once", length, cleared)
		}
		if limit := math.Sqrt(2 * 4 * atm * 70 / 1000 / 10); fastest > limit { // all that 70 m of air at 4 atm can do on 10 m of water
			t.Errorf("%g m: %g m/s, more than %g", length, fastest, limit)
		}
	}
}

// TestAirIntoTank: air that a column drives before it into a tank under water blows out there; the column is not stopped by a wall.
func TestAirIntoTank(t *testing.T) {
	n := straight(500, 0.3, 0.02, 0, 5)
	n.Nodes[0] = Node{Kind: Tank, Level: 20}
	n.Nodes[1] = Node{Kind: Tank, Level: 8}
	r := run(t, n, Settings{Horizon: 3000, UntilSteady: true, Water: []Water{{0, 0, 300}}})
	if r.Status != Full {
		t.Fatalf("%v: %+v", r.Status, r.Pockets)
	}
	for _, m := range r.Meetings {
		if m.Slam > 0.1 {
			t.Errorf("a slam of %g m against a tank", m.Slam)
		}
	}
	first := atm / (287.05 * n.Temperature) * 200 * math.Pi / 4 * 0.09
	near(t, "air", r.Balance.AirOut, first, 0.02)
}

// TestNetworks runs tees of random pipes, fed by a tank, from random pools: water and air balance, endings have names, and no column is faster
// than all the head there is can make it: V² ≤ 2 g times the fall from the highest water to the lowest place, and what the air then gives back.
// With n = 1 the air in the pockets weighs p V/(R T): that is held against what came and went.
func TestNetworks(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := straight(100, 0.2, 0.02, 0, 0)
		n.Polytropic = 1
		n.Cooled = true
		head := rapid.Float64Range(15, 50).Draw(rt, "head")
		n.Nodes = []Node{{Name: "tank", Kind: Tank, Level: head}, {Name: "tee"}, {Name: "out", Kind: Outlet}, {Name: "end", Kind: NodeKind(rapid.SampledFrom([]int{int(Outlet), int(Closed), int(Tank)}).Draw(rt, "end"))}}
		n.Pipes = nil
		low := 0.0
		o := opening.Orifice{Area: opening.Circle(0.05), Coefficient: 0.6}
		var water []Water
		for i, ends := range [][2]int{{0, 1}, {1, 2}, {1, 3}} {
			bore := rapid.SampledFrom([]float64{0.15, 0.2, 0.3}).Draw(rt, "bore")
			pts := []Point{{0, []float64{5, 0, 0}[i]}}
			for range 3 {
				last := pts[len(pts)-1]
				pts = append(pts, Point{last.Distance + rapid.Float64Range(60, 400).Draw(rt, "length"), rapid.Float64Range(-8, 12).Draw(rt, "level")})
				low = min(low, pts[len(pts)-1].Level)
			}
			if i == 0 {
				pts = append(pts, Point{pts[3].Distance + 80, 0})
			}
			last := pts[len(pts)-1].Distance
			p := Pipe{From: ends[0], To: ends[1], Points: pts, Sections: []Section{{0, last, bore, nil, 0.02, 0, 1000, 1e6}}}
			for k := 1; k < len(pts)-1; k++ {
				if pts[k].Level > pts[k-1].Level && pts[k].Level > pts[k+1].Level && rapid.Bool().Draw(rt, "valve") {
					p.Vents = append(p.Vents, Vent{Distance: pts[k].Distance, In: o, Out: o})
				}
				if pts[k].Level < pts[k-1].Level && pts[k].Level < pts[k+1].Level {
					water = append(water, Water{i, pts[k].Distance - 30, pts[k].Distance + 30})
				}
			}
			n.Pipes = append(n.Pipes, p)
		}
		if n.Nodes[3].Kind == Tank {
			n.Nodes[3].Level = n.Pipes[2].Points[3].Level + 2
		}
		before := math.NaN()
		r, err := Run(context.Background(), &n, Settings{Horizon: 5000, Water: water, Observe: func(m *Moment) bool {
			if math.IsNaN(before) {
				before = m.s.air() + m.s.res.Balance.AirOut - m.s.res.Balance.AirIn + m.s.res.Balance.AirVented + m.s.res.Balance.AirCarried
			}
			return true
		}})
		if err != nil {
			rt.Fatal(err)
		}
		b := r.Balance
		if !(b.WaterError < 1e-6) || !(b.AirError < 1e-6) || r.Status == Stuck || r.Status == TooManyTurns {
			rt.Fatalf("%v, water %g, air %g", r.Status, b.WaterError, b.AirError)
		}
		most := 3 * math.Sqrt(2*9.81*(head+2-low))
		for _, m := range r.Meetings {
			if !(math.Abs(m.Before) < most && math.Abs(m.After) < most) {
				rt.Fatalf("%g and %g m/s meet under %g m", m.Before, m.After, head-low)
			}
		}
		if math.IsNaN(before) {
			return
		}
		ledger, weighed := before+b.AirIn-b.AirOut-b.AirVented-b.AirCarried, 0.0
		for _, p := range r.Pockets {
			if !p.Open {
				weighed += (p.Pressure + n.Atmosphere) * p.Volume / (287.05 * n.Temperature)
			}
		}
		if math.Abs(weighed-ledger) > 0.01*before+1e-3 {
			rt.Fatalf("pockets weigh %g kg, the ledger has %g kg of %g", weighed, ledger, before)
		}
	})
}
