package pipe

import (
	"testing"

	"obvert/internal/worked"
)

// TestWorkedNumbers recomputes the numbers of docs/methods/pipe.md.
func TestWorkedNumbers(t *testing.T) {
	const q, bore, g, nu = 0.1, 0.3, 9.81, 1e-6
	h, _ := HeadLoss(q, bore, 1000, 0.0001, nu, g)
	hw, _ := HazenWilliams(q, bore, 1000, 140)
	wall := Shell{Bore: 0.3, Wall: 0.006, Modulus: 170e9, Poisson: 0.28}
	a, err := WaveSpeed(Wave{Shell: wall, Bulk: 2.1e9, Density: 1000})
	if err != nil {
		t.Fatal(err)
	}
	thin, err := Collapse(Vacuum{Shell: Shell{Bore: 0.4, Wall: 0.004, Modulus: 210e9, Poisson: 0.3}, Factor: 4})
	if err != nil {
		t.Fatal(err)
	}
	worked.Hold(t, "pipe.md", map[string]float64{
		"velocity": Velocity(q, bore), "reynolds": Reynolds(q, bore, nu), "friction": Friction(Reynolds(q, bore, nu), 0.0001/bore),
		"loss": h, "hazen": hw, "wave": a, "slam": Joukowsky(a, 0.5, g),
		"half": SegmentArea(bore/2, bore), "flat": StandingVolume(bore/2, 300, bore, 0, bore),
		"collapse": thin.Free / 1000, "allowed": thin.Allowed / 1000,
	})
}
