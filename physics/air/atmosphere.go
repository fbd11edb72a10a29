package air

import (
	"fmt"
	"math"
)

// Constants of ISO 2533:1975, clause 2.
const (
	GasConstant         = 287.05287 // R of dry air, J/(kg·K)
	Gamma               = 1.4       // κ = cp/cv, 1
	StandardGravity     = 9.80665   // gₙ, m/s²
	SeaLevelPressure    = 101325.0  // pₙ, Pa absolute
	SeaLevelTemperature = 288.15    // Tₙ, K
	lapseRate           = -0.0065   // β in the troposphere, K per geopotential metre
	earthRadius         = 6356766.0 // r, m
	sutherlandBeta      = 1.458e-6  // βs, kg/(s·m·K^½)
	sutherlandS         = 110.4     // S, K
)

// The range of altitude in m in which the product accepts a site. The functions
// of this package reach further; the line's checks use these.
const (
	ServiceMinAltitude = -430.0 // m, shore of the Dead Sea
	ServiceMaxAltitude = 6000.0 // m
)

const (
	minAltitude = -2000.0 // m, where ISO 2533 begins
	maxAltitude = 11000.0 // m, within the troposphere

	celsiusZero = 273.15 // K
)

// Atmosphere is the standard atmosphere at one altitude.
type Atmosphere struct {
	Altitude           float64 `unit:"m"`     // geometric, above mean sea level, m
	Geopotential       float64 `unit:"m"`     // geopotential altitude H = rz/(r+z), geopotential m
	Temperature        float64 `unit:"K"`     // T, K
	Pressure           float64 `unit:"Pa"`    // p, Pa absolute
	Density            float64 `unit:"kg/m³"` // ρ, kg/m³, dry
	SpeedOfSound       float64 `unit:"m/s"`   // a, m/s
	DynamicViscosity   float64 `unit:"Pa·s"`  // μ, Pa·s
	KinematicViscosity float64 `unit:"m²/s"`  // ν = μ/ρ, m²/s
}

// Standard returns the standard atmosphere of ISO 2533 at a geometric altitude
// (m above mean sea level, −2000…11 000):
//
//	H = r·z/(r + z),  T = Tₙ + β·H,  p = pₙ·(T/Tₙ)^(−gₙ/(β·R)),  ρ = p/(R·T)
func Standard(altitude float64) (Atmosphere, error) {
	if err := checkAltitude(altitude, "the ISO 2533 troposphere"); err != nil {
		return Atmosphere{}, err
	}
	h := earthRadius * altitude / (earthRadius + altitude)
	t := SeaLevelTemperature + lapseRate*h
	p := SeaLevelPressure * math.Pow(t/SeaLevelTemperature, -StandardGravity/(lapseRate*GasConstant))
	rho := p / (GasConstant * t)
	mu := sutherland(t)
	return Atmosphere{
		Altitude:           altitude,
		Geopotential:       h,
		Temperature:        t,
		Pressure:           p,
		Density:            rho,
		SpeedOfSound:       math.Sqrt(Gamma * GasConstant * t),
		DynamicViscosity:   mu,
		KinematicViscosity: mu / rho,
	}, nil
}

// Pressure returns the standard atmospheric pressure in Pa absolute at a
// geometric altitude (m above mean sea level); see [Standard].
func Pressure(altitude float64) (float64, error) {
	a, err := Standard(altitude)
	return a.Pressure, err
}

// SpeedOfSound returns the speed of sound in dry air in m/s at temperature tK
// (K, 173.15…473.15): √(κRT), ISO 2533 Eq. 19.
func SpeedOfSound(tK float64) (float64, error) {
	if err := checkIdeal(tK); err != nil {
		return 0, err
	}
	return math.Sqrt(Gamma * GasConstant * tK), nil
}

// Viscosity returns the dynamic viscosity of air in Pa·s at temperature tK (K,
// 173.15…473.15) by Sutherland's formula with the constants of ISO 2533:
// μ = βs·T^1.5/(T + S). It does not depend on pressure at pipeline pressures.
func Viscosity(tK float64) (float64, error) {
	if err := checkIdeal(tK); err != nil {
		return 0, err
	}
	return sutherland(tK), nil
}

func sutherland(tK float64) float64 {
	return sutherlandBeta * tK * math.Sqrt(tK) / (tK + sutherlandS)
}

// DryDensity returns the density of dry air as an ideal gas in kg/m³, p/(RT),
// at temperature tK (K, 173.15…473.15) and pressure pAbs (Pa absolute, above 0
// to 12 MPa). Real air is denser by 0.06 % at 0 °C and 1 bar; at 10 bar by 0.6 %.
func DryDensity(tK, pAbs float64) (float64, error) {
	if err := checkIdeal(tK); err != nil {
		return 0, err
	}
	if !(pAbs > 0 && pAbs <= maxIdealPressure) {
		return 0, &RangeError{"pressure", "Pa", pAbs, 0, maxIdealPressure, "air as an ideal gas",
			"give the absolute pressure in Pa (gauge plus atmosphere), above zero"}
	}
	return pAbs / (GasConstant * tK), nil
}

const (
	minIdealT        = 173.15 // K, −100 °C
	maxIdealT        = 473.15 // K, 200 °C
	maxIdealPressure = 12e6   // Pa absolute
)

func checkIdeal(tK float64) error {
	return checkTemperature(tK, minIdealT, maxIdealT, "air as an ideal gas")
}

// A RangeError reports a quantity outside the range of the equation it was
// given to.
type RangeError struct {
	Quantity string  // what was given, such as "altitude"
	Unit     string  // its unit
	Value    float64 // what was given, in Unit
	Low      float64 // smallest value allowed, in Unit
	High     float64 // largest value allowed, in Unit
	Equation string  // whose range it is
	Hint     string  // what to do
}

func (e *RangeError) Error() string {
	return fmt.Sprintf("air: %s is %s, outside %s…%s of %s: %s", e.Quantity,
		spell(e.Value, e.Unit), spell(e.Low, e.Unit), spell(e.High, e.Unit), e.Equation, e.Hint)
}

// spell writes a value with its unit, temperatures in °C as well.
func spell(v float64, unit string) string {
	switch {
	case math.IsNaN(v):
		return "not a number"
	case unit == "K":
		return fmt.Sprintf("%.6g K (%.5g °C)", v, v-celsiusZero)
	case unit == "Pa":
		return fmt.Sprintf("%.6g Pa abs", v)
	case unit == "1":
		return fmt.Sprintf("%.6g", v)
	}
	return fmt.Sprintf("%.6g %s", v, unit)
}

// within tells whether low <= v <= high; false for NaN.
func within(v, low, high float64) bool { return v >= low && v <= high }

func checkTemperature(tK, low, high float64, equation string) error {
	if within(tK, low, high) {
		return nil
	}
	return &RangeError{"temperature", "K", tK, low, high, equation,
		"give the temperature in K (0 °C is 273.15 K)"}
}

func checkAltitude(z float64, equation string) error {
	if within(z, minAltitude, maxAltitude) {
		return nil
	}
	return &RangeError{"altitude", "m", z, minAltitude, maxAltitude, equation,
		"give the height above mean sea level in metres"}
}
