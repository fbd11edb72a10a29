package water

import (
	"fmt"
	"math"
)

// The range in which the product accepts water in a pipeline. The functions of
// this package reach further; the line's checks use these.
const (
	ServiceMinTemperature = 273.15 // K, 0 °C
	ServiceMaxTemperature = 333.15 // K, 60 °C
	ServiceMaxPressure    = 10e6   // Pa absolute, 100 bar
)

const celsiusZero = 273.15 // K

// A State is a point of liquid water.
type State struct {
	Temperature float64 `unit:"K"`  // K
	Pressure    float64 `unit:"Pa"` // Pa absolute
}

// Properties are the properties of liquid water at one State.
//
// Two bulk moduli are given because handbooks quote either without saying
// which. Pressure waves are too fast for heat to flow, so the wave speed needs
// the adiabatic one, K = ρc²; a slow pressure test feels the isothermal one.
// They differ by the ratio of the heat capacities, cp/cv: nothing at 4 °C,
// 0.7 % at 20 °C, 5 % at 60 °C.
type Properties struct {
	State

	Density               float64 `unit:"kg/m³"` // ρ, kg/m³
	DynamicViscosity      float64 `unit:"Pa·s"`  // μ, Pa·s
	KinematicViscosity    float64 `unit:"m²/s"`  // ν = μ/ρ, m²/s
	SpeedOfSound          float64 `unit:"m/s"`   // c, m/s, in unbounded water
	BulkModulus           float64 `unit:"Pa"`    // adiabatic (isentropic) modulus ρc², Pa
	IsothermalBulkModulus float64 `unit:"Pa"`    // −v·(∂p/∂v) at constant temperature, Pa
	VapourPressure        float64 `unit:"Pa"`    // saturation pressure at the temperature, Pa absolute
}

// At returns the properties of liquid water at temperature tK (K) and pressure
// pAbs (Pa absolute). It fails with a [RangeError] outside 273.15…623.15 K and
// vapour pressure…100 MPa.
func At(tK, pAbs float64) (Properties, error) {
	ps, err := checkLiquid(tK, pAbs)
	if err != nil {
		return Properties{}, err
	}
	g := gibbs(tK, pAbs)
	rho := 1 / g.volume()
	mu := viscosity(tK, rho)
	c := g.soundSpeed()
	return Properties{
		State:                 State{Temperature: tK, Pressure: pAbs},
		Density:               rho,
		DynamicViscosity:      mu,
		KinematicViscosity:    mu / rho,
		SpeedOfSound:          c,
		BulkModulus:           rho * c * c,
		IsothermalBulkModulus: g.isothermalModulus(),
		VapourPressure:        ps,
	}, nil
}

// Properties returns the properties of liquid water at s; see [At].
func (s State) Properties() (Properties, error) { return At(s.Temperature, s.Pressure) }

// Density returns the density of liquid water in kg/m³ at temperature tK (K)
// and pressure pAbs (Pa absolute), IAPWS-IF97 region 1.
func Density(tK, pAbs float64) (float64, error) {
	if _, err := checkLiquid(tK, pAbs); err != nil {
		return 0, err
	}
	return 1 / gibbs(tK, pAbs).volume(), nil
}

// A RangeError reports a quantity outside the range of the equation it was
// given to.
type RangeError struct {
	Quantity string  // what was given, such as "temperature"
	Unit     string  // its unit
	Value    float64 // what was given, in Unit
	Low      float64 // smallest value allowed, in Unit
	High     float64 // largest value allowed, in Unit
	Equation string  // whose range it is
	Hint     string  // what to do
}

func (e *RangeError) Error() string {
	return fmt.Sprintf("water: %s is %s, outside %s…%s of %s: %s", e.Quantity,
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
	}
	return fmt.Sprintf("%.6g %s", v, unit)
}

// within tells whether low <= v <= high; false for NaN.
func within(v, low, high float64) bool { return v >= low && v <= high }

const (
	kelvinHint   = "give the temperature in K (0 °C is 273.15 K)"
	absoluteHint = "give the absolute pressure in Pa (gauge plus atmosphere)"
)

func checkTemperature(tK, low, high float64, equation string) error {
	if within(tK, low, high) {
		return nil
	}
	return &RangeError{"temperature", "K", tK, low, high, equation, kelvinHint}
}

// checkLiquid checks for region 1 and returns the vapour pressure in Pa, which
// is the lower limit of pressure there.
func checkLiquid(tK, pAbs float64) (ps float64, err error) {
	const equation = "IAPWS-IF97 region 1 (liquid water)"
	if err := checkTemperature(tK, minRegion1, maxRegion1, equation); err != nil {
		return 0, err
	}
	ps = saturation(tK)
	if within(pAbs, ps, maxPressure) {
		return ps, nil
	}
	hint := absoluteHint
	if pAbs < ps {
		hint = "below its vapour pressure water is no liquid; " + absoluteHint
	}
	return ps, &RangeError{"pressure", "Pa", pAbs, ps, maxPressure, equation, hint}
}
