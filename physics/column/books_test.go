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

// tripping is a pump that gives a head until it fails.
type tripping struct{ head float64 }

func (p *tripping) Head(float64) (h, dhdq float64) { return p.head, 0 }

// B. S. Massey, J. Ward-Smith, Mechanics of Fluids, Ex. 12.1, p. 557: 0.05 m³/s in 90 m of 0.15 m, Fanning's f 0.007, against a static lift of 8 m; the pump
// fails: water goes on for 2.6 s. Exact: t = atan(u₀ √(b/a))/√(ab), a = gH/L, b = 2f/d: 2.6178 s, in which 0.05859 m³ still come. The book
// leaves the velocity head out, which is taken off the friction here: 4f − d/L.
func TestPumpFails(t *testing.T) {
	const length, bore, lift, f = 90.0, 0.15, 8.0, 0.007
	n := straight(length, bore, 4*f-bore/length, 0, lift)
	const trip = 15.0 // s, by which the throttle has brought the flow to its value
	pump := &tripping{2 * lift}
	n.Nodes[0] = Node{Kind: Station, Level: 0, Pumps: pump, Ramp: 1, Flow: 0.05, FreeAt: trip}
	n.Nodes[1].Kind = Outlet
	var failed, stopped, volume, lastT, lastQ float64
	run(t, n, Settings{Horizon: 600, Tolerance: 1e-6, UntilSteady: true, Water: []Water{{0, 0, length - 0.5}}, Observe: func(m *Moment) bool {
		now, q := m.Time(), m.Flow(0)
		switch {
		case failed == 0 && now >= trip:
			near(t, "flow before the failure", q, 0.05, 1e-6)
			failed, pump.head = now, 0
		case failed > 0 && stopped == 0 && q <= 1e-9:
			stopped = now
			if q < 0 {
				stopped = lastT + lastQ/(lastQ-q)*(now-lastT)
			}
			volume += lastQ / 2 * (stopped - lastT)
			return false
		case failed > 0:
			volume += (lastQ + q) / 2 * (now - lastT)
		}
		lastT, lastQ = now, q
		return true
	}})
	if failed == 0 || stopped == 0 {
		t.Fatalf("failed at %g s, stopped at %g s", failed, stopped)
	}
	near(t, "time to rest", stopped-failed, 2.6178, 0.005)
	near(t, "as the book has it", stopped-failed, 2.6, 0.01)
	near(t, "water after the failure", volume, 0.05859, 0.005)
}
