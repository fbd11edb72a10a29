package air

import "math"

// NoteBeyondCIPM is the note of a density outside 15…27 °C or 600…1100 hPa,
// the range for which CIPM-2007 was made. Out to the limits of [Humid] the
// equation stays within about 0.1 % of the real gas up to 2 bar (own estimate
// against virial coefficients, no source), better than any input of a pipeline
// calculation.
const NoteBeyondCIPM = "air.beyond-cipm-2007"

// Moist is humid air at one state.
type Moist struct {
	Temperature      float64 `unit:"K"`        // T, K
	Pressure         float64 `unit:"Pa"`       // p, Pa absolute
	RelativeHumidity float64 `unit:"1"`        // h, 0…1
	Density          float64 `unit:"kg/m³"`    // ρ, kg/m³
	VapourPressure   float64 `unit:"Pa"`       // partial pressure of the vapour, Pa
	VapourFraction   float64 `unit:"1"`        // mole fraction of vapour x_v
	Compressibility  float64 `unit:"1"`        // Z
	GasConstant      float64 `unit:"J/(kg·K)"` // p/(ρT), J/(kg·K): what an ideal-gas formula needs to get this density
	Note             string  // empty, or NoteBeyondCIPM
}

// Constants of CIPM-2007, Metrologia 45 (2008) 149, Eq. 1 and Appendix A (from
// memory; a test compares with the independent OIML formula).
const (
	molarGas    = 8.314472    // R, J/(mol·K), CODATA 2006 as CIPM-2007 uses it
	molarVapour = 18.01528e-3 // Mv, kg/mol
	molarDry    = 28.96546e-3 // Ma at x_CO2 = 400 µmol/mol, kg/mol
	minMoistT   = 223.15      // K, −50 °C
	maxMoistT   = 353.15      // K, 80 °C
	minMoistP   = 1e3         // Pa absolute
	maxMoistP   = 2e6         // Pa absolute
	cipmLowT    = celsiusZero + 15
	cipmHighT   = celsiusZero + 27
	cipmLowP    = 60e3
	cipmHighP   = 110e3
)

// Humid returns the density of humid air by CIPM-2007 at temperature tK (K,
// 223.15…353.15), pressure pAbs (Pa absolute, 1 kPa…2 MPa) and relative
// humidity rh (0…1), with 400 µmol/mol of carbon dioxide:
//
//	ρ = p·Ma/(Z·R·T) · (1 − x_v·(1 − Mv/Ma)),  x_v = h·f(p, t)·psv(t)/p
//
// It fails where the vapour would take more than half of the pressure. Below
// 0 °C humidity is counted over supercooled water, as the weather services do.
func Humid(tK, pAbs, rh float64) (Moist, error) {
	const equation = "CIPM-2007 as used here"
	if err := checkTemperature(tK, minMoistT, maxMoistT, equation); err != nil {
		return Moist{}, err
	}
	if !within(pAbs, minMoistP, maxMoistP) {
		return Moist{}, &RangeError{"pressure", "Pa", pAbs, minMoistP, maxMoistP, equation,
			"give the absolute pressure in Pa (gauge plus atmosphere)"}
	}
	if err := checkHumidity(rh, equation); err != nil {
		return Moist{}, err
	}
	t := tK - celsiusZero
	f := 1.00062 + 3.14e-8*pAbs + 5.6e-7*t*t // enhancement factor, Eq. A1.2
	x := rh * f * saturation(tK) / pAbs
	if x > 0.5 {
		return Moist{}, &RangeError{"mole fraction of vapour", "1", x, 0, 0.5, equation,
			"this is vapour rather than humid air; check pressure and temperature"}
	}
	z := compressibility(tK, pAbs, x)
	rho := pAbs * molarDry / (z * molarGas * tK) * (1 - x*(1-molarVapour/molarDry))
	m := Moist{
		Temperature: tK, Pressure: pAbs, RelativeHumidity: rh,
		Density: rho, VapourPressure: x * pAbs, VapourFraction: x,
		Compressibility: z, GasConstant: pAbs / (rho * tK),
	}
	if !within(tK, cipmLowT, cipmHighT) || !within(pAbs, cipmLowP, cipmHighP) {
		m.Note = NoteBeyondCIPM
	}
	return m, nil
}

// saturation is the vapour pressure of water in Pa at tK, CIPM-2007 Eq. A1.1.
func saturation(tK float64) float64 {
	return math.Exp(1.2378847e-5*tK*tK - 1.9121316e-2*tK + 33.93711047 - 6.3431645e3/tK)
}

// compressibility is Z of humid air, CIPM-2007 Eq. A1.4.
func compressibility(tK, p, x float64) float64 {
	t := tK - celsiusZero
	a := 1.58123e-6 + t*(-2.9331e-8+t*1.1043e-10)
	b := 5.707e-6 - 2.051e-8*t
	c := 1.9898e-4 - 2.376e-6*t
	r := p / tK
	return 1 - r*(a+x*(b+x*c)) + r*r*(1.83e-11-0.765e-8*x*x)
}

// VapourPressure returns the partial pressure of the vapour in humid air in Pa
// at temperature tK (K, 223.15…353.15) and relative humidity rh (0…1), without
// the enhancement factor: rh·psv(T), CIPM-2007 Eq. A1.1.
func VapourPressure(tK, rh float64) (float64, error) {
	const equation = "the vapour pressure of CIPM-2007"
	if err := checkTemperature(tK, minMoistT, maxMoistT, equation); err != nil {
		return 0, err
	}
	if err := checkHumidity(rh, equation); err != nil {
		return 0, err
	}
	return rh * saturation(tK), nil
}

func checkHumidity(rh float64, equation string) error {
	if within(rh, 0, 1) {
		return nil
	}
	return &RangeError{"relative humidity", "1", rh, 0, 1, equation,
		"give the humidity as a share, 0.65 for 65 %"}
}
