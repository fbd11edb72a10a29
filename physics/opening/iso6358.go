package opening

import (
	"math"

	"obvert/physics/air"
)

// anr is the reference that ISO 6358 counts volumes at.
var anr = air.ANR()

// ISO6358 is an opening described by the flow-rate characteristics of
// ISO 6358-1:2013:
//
//	ṁ = C·p1·ρ0·√(T0/T1)                                 r ≤ b      (choked)
//	ṁ = C·p1·ρ0·√(T0/T1)·(1 − ((r − b)/(1 − b))²)^m      b < r      (subsonic)
//
// with r = p2/p1, T0 = 293.15 K, ρ0 = 1.185 kg/m³ (ANR). Above r = 0.999 the
// flow is linear in the differential down to zero, as the standard has it (the
// linear part and ρ0 from memory). The cracking pressure of the standard is
// not provided for: an air valve's large orifice has none.
type ISO6358 struct {
	C float64 // sonic conductance, m³/(s·Pa) at ANR; 1 dm³/(s·bar) is 1e-8
	B float64 // critical back-pressure ratio b, 1; 0…0.99
	M float64 // subsonic index m, 1; 0: 0.5
}

const linearFrom = 0.999 // r above which ISO 6358 is linear

// MassFlow implements [Opening].
func (v ISO6358) MassFlow(p1, p2, t1 float64) (Flow, error) {
	if err := v.check(); err != nil {
		return Flow{}, err
	}
	if err := checkState(p1, p2, t1); err != nil {
		return Flow{}, err
	}
	sonic := v.C * p1 * anr.Density() * math.Sqrt(anr.Temperature/t1)
	x := (p1 - p2) / p1
	switch {
	case 1-x <= v.B:
		return Flow{Mass: sonic, Choked: true}, nil
	case 1-x > linearFrom:
		return Flow{Mass: sonic * v.subsonic(1-linearFrom) * x / (1 - linearFrom)}, nil
	}
	return Flow{Mass: sonic * v.subsonic(x)}, nil
}

// subsonic is (1 − ((r − b)/(1 − b))²)^m at x = 1 − r, written as
// (u·(2 − u))^m with u = x/(1 − b).
func (v *ISO6358) subsonic(x float64) float64 {
	u := x / (1 - v.B)
	if v.M == 0 || v.M == 0.5 {
		return math.Sqrt(u * (2 - u))
	}
	return math.Pow(u*(2-u), v.M)
}

func (v *ISO6358) check() error {
	const kind = "ISO 6358"
	switch {
	case !(v.C > 0 && v.C <= 1):
		return &DataError{kind, "sonic conductance C", v.C, "m³/(s·Pa)", "give one above 0 and up to 1; 1 dm³/(s·bar) is 1e-8 m³/(s·Pa)"}
	case !(v.B >= 0 && v.B <= 0.99):
		return &DataError{kind, "critical back-pressure ratio b", v.B, "", "give 0…0.99, mostly 0.2…0.5"}
	case v.M != 0 && !(v.M > 0 && v.M <= 1):
		return &DataError{kind, "subsonic index m", v.M, "", "give one above 0 and up to 1, or 0 for 0.5"}
	}
	return nil
}
