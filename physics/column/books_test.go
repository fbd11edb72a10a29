package column

import (
	"math"
	"testing"
)

// F. M. White, Fluid Mechanics, problem 3.180: a level pipe without friction opened under a constant head h: V = V_f tanh(V_f t/2L), V_f = √(2gh).
func TestEstablishmentWithoutFriction(t *testing.T) {
	const length, bore, h = 120.0, 0.2, 3.0
	n := straight(length, bore, 0, 0, 0)
	n.Nodes[0] = Node{Kind: Tank, Level: h}
	n.Nodes[1].Kind = Outlet
	vf := math.Sqrt(2 * 9.81 * h)
	points := 0
	run(t, n, Settings{Horizon: 3 * 2 * length / vf, Tolerance: 1e-5, UntilSteady: true, Water: []Water{{0, 0, length}}, Observe: func(m *Moment) bool {
		v, want := m.Flow(0)/(math.Pi/4*bore*bore), vf*math.Tanh(vf*m.Time()/(2*length))
		if math.Abs(v-want) > 2e-3*vf {
			t.Errorf("%.3f s: %.4f m/s, want %.4f", m.Time(), v, want)
		}
		points++
		return true
	}})
	if points < 10 {
		t.Errorf("%d points", points)
	}
}
