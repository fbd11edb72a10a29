package column

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"obvert/physics/opening"
)

// TestTwoPockets compares two columns and two vented pockets with testdata/two_pockets.json, which two_pockets.py makes with SciPy's
// solve_ivp from the equations alone.
func TestTwoPockets(t *testing.T) {
	var ref struct {
		Wet      float64 `json:"wet_time"`
		Peak     float64 `json:"peak_head"`
		PeakTime float64 `json:"peak_time"`
		Times    []float64
		States   [][]float64
	}
	data, err := os.ReadFile("testdata/two_pockets.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, &ref); err != nil {
		t.Fatal(err)
	}
	if len(ref.Times) < 2 {
		t.Fatalf("%d moments", len(ref.Times))
	}
	n := straight(300, 0.2, 0.018, 0, 0)
	n.Polytropic, n.Cooled = 1.2, true
	n.Nodes[0] = Node{Kind: Tank, Level: 20}
	n.Nodes[1].Kind = Closed
	for _, v := range []struct{ at, d float64 }{{118, 0.008}, {300, 0.012}} {
		o := opening.Orifice{Area: opening.Circle(v.d), Coefficient: 0.6}
		n.Pipes[0].Vents = append(n.Pipes[0].Vents, Vent{Distance: v.at, In: o, Out: o})
	}
	i := 0
	last := []float64{80, 120, 220}
	lastT := 0.0
	r := run(t, n, Settings{Horizon: 1.0001 * ref.Wet, Tolerance: 1e-5, Water: []Water{{0, 0, 80}, {0, 120, 220}}, Observe: func(m *Moment) bool {
		w := m.Water(nil)
		if len(w) < 2 {
			return true
		}
		now := []float64{w[0].To, w[1].From, w[1].To}
		for i < len(ref.Times) && ref.Times[i] <= m.Time() {
			f := (ref.Times[i] - lastT) / (m.Time() - lastT)
			for k, col := range []int{0, 2, 3} {
				got, want := last[k]+f*(now[k]-last[k]), ref.States[i][col]
				if math.Abs(got-want) > 0.03 {
					t.Errorf("front %d at %g s: %.4f m, want %.4f", k, ref.Times[i], got, want)
				}
			}
			i++
		}
		last, lastT = now, m.Time()
		return true
	}})
	if i != len(ref.Times) {
		t.Errorf("%d of %d moments seen", i, len(ref.Times))
	}
	if r.Airs[0].Peak == 0 {
		t.Fatal("no peak")
	}
	near(t, "peak head", r.Airs[0].Peak/9810, ref.Peak, 3e-3)
	near(t, "peak time", r.Airs[0].PeakTime, ref.PeakTime, 0.02)
	for _, e := range r.Events {
		if e.Kind == ValveWet {
			near(t, "valve wet", e.Time, ref.Wet, 3e-3)
			return
		}
	}
	t.Error("no valve was reached")
}

// TestClosedTop opens the foot of a vertical pipe that is closed at the top, above a little air: how far the water falls. Exact:
// pa/ρg (1 − (x0/(x0+s))^n) = Lt − x0 − s. A tight outlet lets it creep there; with K = 10 it swings through to a smaller pressure (own
// calculation by another solver).
func TestClosedTop(t *testing.T) {
	for _, c := range []struct{ lt, x0, n, drop, head, least, at float64 }{
		{5, 0.5, 1.0, 0.3375, 6.1663, 4.742, 0.686},
		{5, 0.5, 1.2, 0.2751, 6.1038, 4.503, 0.620},
		{5, 0.5, 1.4, 0.2317, 6.0605, 4.318, 0.570},
		{5, 1.0, 1.2, 0.4248, 6.7536, 5.552, 0.729},
		{9, 0.5, 1.2, 0.9800, 2.8087, 1.826, 1.382},
	} {
		area := math.Pi / 4 * 0.01
		drain := func(k, horizon float64) Result {
			n := straight(c.lt, 0.1, 0, 0, c.lt)
			n.Polytropic = c.n
			n.Nodes[0] = Node{Kind: Junction, Hole: area / math.Sqrt(k), HoleLevel: 0, HoleBore: 100}
			n.Nodes[1].Kind = Closed
			return run(t, n, Settings{Horizon: horizon, Tolerance: 1e-4, UntilSteady: true, RestHead: 1e-5, Water: []Water{{0, 0, c.lt - c.x0}}})
		}
		// HoleBore this large keeps the outlet's own inertia away: the book's column has none there.
		swing := drain(10, 20)
		near(t, "least pressure", (swing.Airs[0].Least+atm)/9810, c.least, 0.01)
		creep := drain(1e6, 4000)
		near(t, "final pressure", (creep.Pockets[0].Pressure+atm)/9810, c.head, 3e-3)
		near(t, "drop", creep.Pockets[0].To-creep.Pockets[0].From-c.x0, c.drop, 5e-3)
	}
}

// TestBlownOut empties a level pipe by a constant air pressure. Exact: V² = (2P/ρ) e^(fl/D) [E₁(fl/D) − E₁(fL₀/D)]; P 100 kPa, L₀ 200 m,
// D 0.2 m, f 0.015 (E₁ the exponential integral; times by integration).
func TestBlownOut(t *testing.T) {
	const l0 = 200.0
	n := straight(2e6+l0, 0.2, 0.015, 0, 0)
	n.Nodes[0].Kind, n.Nodes[1].Kind = Closed, Outlet
	want := []struct{ share, v, t float64 }{{0.9, 3.3246, 9.986}, {0.75, 4.0159, 18.050}, {0.5, 4.8783, 29.402}, {0.25, 6.6012, 38.384}, {0.1, 9.4684, 42.287}}
	i, lastL, lastT, lastV := 0, l0, 0.0, 0.0
	run(t, n, Settings{Horizon: 60, Tolerance: 1e-5, Water: []Water{{0, 2e6, 2e6 + l0}}, Pressures: []GivenPressure{{0, 1000, atm + 1e5}}, Observe: func(m *Moment) bool {
		w := m.Water(nil)
		if len(w) == 0 {
			return false
		}
		l, v := w[0].To-w[0].From, m.PipeFlow(0, 2e6+l0)/(math.Pi/4*0.04)
		for i < len(want) && l <= want[i].share*l0 {
			f := (lastL - want[i].share*l0) / (lastL - l)
			near(t, "velocity", lastV+f*(v-lastV), want[i].v, 0.01)
			near(t, "time", lastT+f*(m.Time()-lastT), want[i].t, 0.01)
			i++
		}
		lastL, lastT, lastV = l, m.Time(), v
		return i < len(want)
	}})
	if i != len(want) {
		t.Errorf("%d of %d lengths seen", i, len(want))
	}
}

// TestInclined drains an inclined pipe, vented at the top, through a partly open end: time to 75, 50 and 25 % of its length by an own
// calculation with inertia (the quasi-steady closed form gives 140.63, 293.96, 474.37 s). L 1000 m, D 0.3 m, f 0.02, K 50, slope 0.02.
func TestInclined(t *testing.T) {
	const l, slope, k = 1000.0, 0.02, 50.0
	area := math.Pi / 4 * 0.09
	n := straight(l, 0.3, 0.02, 0, l*slope)
	n.Nodes[0] = Node{Kind: Junction, Hole: area / math.Sqrt(k), HoleBore: 100}
	n.Nodes[1].Kind = Outlet
	want := []struct{ share, t float64 }{{0.75, 146.8}, {0.5, 299.7}, {0.25, 479.3}}
	i, lastL, lastT := 0, l, 0.0
	run(t, n, Settings{Horizon: 2000, Tolerance: 1e-4, Water: []Water{{0, 0, l}}, UntilSteady: true, Observe: func(m *Moment) bool {
		w := m.Water(nil)
		left := w[0].To - w[0].From
		for i < len(want) && left <= want[i].share*l {
			f := (lastL - want[i].share*l) / (lastL - left)
			near(t, "time", lastT+f*(m.Time()-lastT), want[i].t, 0.01)
			i++
		}
		lastL, lastT = left, m.Time()
		return i < len(want)
	}})
	if i != len(want) {
		t.Errorf("%d of %d lengths seen", i, len(want))
	}
}
