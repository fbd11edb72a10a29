package water

import "math"

// Reference quantities of IAPWS R12-08 (Sect. 2.2).
const (
	muStar  = 1e-6  // μ*, Pa·s
	rhoStar = 322.0 // ρ*, kg/m³

	maxViscosityT   = 1173.15 // K, largest temperature of R12-08
	maxViscosityRho = 1250.0  // kg/m³, about water at 0 °C and 1 GPa, the largest pressure of R12-08
)

// h0 holds the coefficients of the dilute-gas viscosity, IAPWS R12-08 Table 1.
var h0 = [4]float64{1.67752, 2.20462, 0.6366564, -0.241605}

// h1[i][j] holds the coefficients of the finite-density factor, IAPWS R12-08
// Table 2: powers i of 1/T̄ − 1 and j of ρ̄ − 1.
var h1 = [6][7]float64{
	{5.20094e-1, 2.22531e-1, -2.81378e-1, 1.61913e-1, -3.25372e-2, 0, 0},
	{8.50895e-2, 9.99115e-1, -9.06851e-1, 2.57399e-1, 0, 0, 0},
	{-1.08374, 1.88797, -7.72479e-1, 0, 0, 0, 0},
	{-2.89555e-1, 1.26613, -4.89837e-1, 0, 6.98452e-2, 0, -4.35673e-3},
	{0, 0, -2.57040e-1, 0, 0, 8.72102e-3, 0},
	{0, 1.20573e-1, 0, 0, 0, 0, -5.93264e-4},
}

// viscosity is μ = μ*·μ̄0(T̄)·μ̄1(T̄, ρ̄), IAPWS R12-08 Eqs. 10–12 with μ̄2 = 1.
func viscosity(tK, rho float64) float64 {
	t := tK / criticalT
	it := 1 / t
	d := ((h0[3]*it+h0[2])*it+h0[1])*it + h0[0]
	mu0 := 100 * math.Sqrt(t) / d

	x, y := it-1, rho/rhoStar-1
	sum := 0.0
	for i := len(h1) - 1; i >= 0; i-- {
		row := &h1[i]
		s := 0.0
		for j := len(row) - 1; j >= 0; j-- {
			s = s*y + row[j]
		}
		sum = sum*x + s
	}
	return muStar * mu0 * math.Exp((1+y)*sum)
}

// Viscosity returns the dynamic viscosity of water or steam in Pa·s at
// temperature tK (K, 273.15…1173.15) and density rho (kg/m³, above 0 to 1250)
// by IAPWS R12-08 without its critical enhancement.
func Viscosity(tK, rho float64) (float64, error) {
	const equation = "IAPWS R12-08"
	if err := checkTemperature(tK, minRegion1, maxViscosityT, equation); err != nil {
		return 0, err
	}
	if !(rho > 0 && rho <= maxViscosityRho) {
		return 0, &RangeError{"density", "kg/m³", rho, 0, maxViscosityRho, equation,
			"give the density in kg/m³, above zero"}
	}
	return viscosity(tK, rho), nil
}

// SurfaceTension returns the surface tension of water against its own vapour
// in N/m at temperature tK (K, 273.15…647.096), IAPWS R1-76(2014):
// σ = 235.8 mN/m · τ^1.256 · (1 − 0.625 τ), τ = 1 − T/Tc. Against air the value
// is the same within the uncertainty of the release (0.5 % at 20 °C).
func SurfaceTension(tK float64) (float64, error) {
	if err := checkTemperature(tK, minRegion1, criticalT, "IAPWS R1-76(2014)"); err != nil {
		return 0, err
	}
	tau := 1 - tK/criticalT
	return 235.8e-3 * math.Pow(tau, 1.256) * (1 - 0.625*tau), nil
}
