package opening

import (
	"math"

	"obvert/physics/air"
)

// Orifice is an opening with isentropic flow up to its narrowest section and a
// discharge coefficient:
//
//	ṁ = Cd·A·p1/√(R·T1) · ψ,   r = p2/p1
//	ψ = √(2γ/(γ−1) · (r^(2/γ) − r^((γ+1)/γ)))          r > r*  (subsonic)
//	ψ = √γ · (2/(γ+1))^((γ+1)/(2(γ−1)))                 r ≤ r*  (choked)
//	r* = (2/(γ+1))^(γ/(γ−1)) = 0.5283 for air
//
// The coefficient belongs to the area beside it: a coefficient for the area of
// the connection is another number than one for the orifice's own.
type Orifice struct {
	Area        float64 // A, m²
	Coefficient float64 // Cd, 1; above 0, up to 1
	Gamma       float64 // γ = cp/cv, 1; 0: 1.4
	GasConstant float64 // R, J/(kg·K); 0: dry air, 287.05287
}

// Circle returns the area in m² of a circle of diameter d (m), for
// [Orifice.Area].
func Circle(d float64) float64 { return math.Pi / 4 * d * d }

// MassFlow implements [Opening].
func (o Orifice) MassFlow(p1, p2, t1 float64) (Flow, error) {
	if err := o.check(); err != nil {
		return Flow{}, err
	}
	if err := checkState(p1, p2, t1); err != nil {
		return Flow{}, err
	}
	psi, choked := o.nozzle().psi((p1 - p2) / p1)
	return Flow{Mass: o.Coefficient * o.Area * p1 / math.Sqrt(o.gas()*t1) * psi, Choked: choked}, nil
}

// AreaFor returns the area in m² that passes mass (kg/s) from p1 (Pa absolute)
// and t1 (K) to p2 (Pa absolute) with the coefficient and gas of o; the area of
// o is not used. It fails for p1 = p2 unless mass is zero.
func (o Orifice) AreaFor(mass, p1, p2, t1 float64) (float64, error) {
	if !(mass >= 0) || math.IsInf(mass, 0) {
		return 0, &StateError{"mass flow", mass, "kg/s", "give a finite mass flow, 0 or more"}
	}
	o.Area = 1
	f, err := o.MassFlow(p1, p2, t1)
	switch {
	case err != nil:
		return 0, err
	case mass == 0:
		return 0, nil
	case !(f.Mass > 0) || math.IsInf(mass/f.Mass, 0):
		return 0, &StateError{"differential", p1 - p2, "Pa", "no opening passes air without a difference of pressure"}
	}
	return mass / f.Mass, nil
}

// SonicConductance returns the C of ISO 6358 in m³/(s·Pa) (ANR) that o has
// when choked: ṁ*/(p1·ρ0)·√(T1/T0).
func (o Orifice) SonicConductance() (float64, error) {
	if err := o.check(); err != nil {
		return 0, err
	}
	n := o.nozzle()
	return o.Coefficient * o.Area * n.sonic / (math.Sqrt(o.gas()*anr.Temperature) * anr.Density()), nil
}

const maxArea = 1e4 // m²

func (o *Orifice) check() error {
	const kind = "orifice"
	switch {
	case !(o.Area > 0 && o.Area <= maxArea):
		return &DataError{kind, "area", o.Area, "m²", "give the area of the opening, above 0 and up to 10 000 m²"}
	case !(o.Coefficient > 0 && o.Coefficient <= 1):
		return &DataError{kind, "discharge coefficient", o.Coefficient, "",
			"give one above 0 and up to 1, referred to the area beside it"}
	case o.Gamma != 0 && !(o.Gamma > 1 && o.Gamma <= 5.0/3):
		return &DataError{kind, "ratio of heat capacities", o.Gamma, "", "give one above 1 and up to 5/3, or 0 for air"}
	case o.GasConstant != 0 && !(o.GasConstant >= 10 && o.GasConstant <= 5000):
		return &DataError{kind, "gas constant", o.GasConstant, "J/(kg·K)", "give 10…5000, or 0 for dry air"}
	}
	return nil
}

func (o *Orifice) gas() float64 {
	if o.GasConstant == 0 {
		return air.GasConstant
	}
	return o.GasConstant
}

func (o *Orifice) nozzle() nozzle {
	if o.Gamma == 0 || o.Gamma == air.Gamma {
		return airNozzle
	}
	return newNozzle(o.Gamma)
}

// nozzle holds what the flow function ψ needs for one γ.
type nozzle struct {
	twoOver  float64 // 2/γ
	exponent float64 // (γ−1)/γ
	factor   float64 // 2γ/(γ−1)
	critical float64 // r*
	sonic    float64 // ψ at r*
}

func newNozzle(gamma float64) nozzle {
	return nozzle{
		twoOver:  2 / gamma,
		exponent: (gamma - 1) / gamma,
		factor:   2 * gamma / (gamma - 1),
		critical: math.Pow(2/(gamma+1), gamma/(gamma-1)),
		sonic:    math.Sqrt(gamma) * math.Pow(2/(gamma+1), (gamma+1)/(2*(gamma-1))),
	}
}

var airNozzle = newNozzle(air.Gamma)

// psi is the flow function ψ at x = 1 − r = (p1 − p2)/p1, 0…1. Taking x in
// place of r keeps all digits of a small differential.
func (n nozzle) psi(x float64) (psi float64, choked bool) {
	if 1-x <= n.critical {
		return n.sonic, true
	}
	ln := math.Log1p(-x)
	psi = math.Sqrt(-n.factor * math.Exp(n.twoOver*ln) * math.Expm1(n.exponent*ln))
	return min(psi, n.sonic), false
}

// Shape is a shape of opening with the range of discharge coefficients
// measured on it with air.
type Shape struct {
	Name string
	Low  float64 `unit:"1"` // smallest coefficient measured
	High float64 `unit:"1"` // largest
}

// Shapes returns the coefficients that Weisbach measured with air at 0.23 to
// 1.1 atm over the atmosphere, as quoted by W. C. Unwin, "Hydraulics",
// Encyclopaedia Britannica, 11th ed. (1911), sect. 63. They are a guide for an
// opening that was never tested, no substitute for a test.
func Shapes() []Shape {
	return []Shape{
		{"conoidal mouthpiece", 0.97, 0.99},
		{"conical converging mouthpiece", 0.90, 0.99},
		{"short cylinder, rounded inside", 0.92, 0.93},
		{"short cylinder", 0.81, 0.84},
		{"circular, sharp edged", 0.563, 0.788},
	}
}
