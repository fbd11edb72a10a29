package water

import (
	"math"
	"testing"
)

// IAPWS R12-08 Table 4 (μ̄2 = 1), viscosity in μPa·s.
func TestViscosity(t *testing.T) {
	for _, c := range []struct{ rho, tK, microPas float64 }{
		{998, 298.15, 889.735100}, {1200, 298.15, 1437.649467}, {1000, 373.15, 307.883622},
		{1, 433.15, 14.538324}, {1000, 433.15, 217.685358}, {1, 873.15, 32.619287},
		{100, 873.15, 35.802262}, {600, 873.15, 77.430195}, {1, 1173.15, 44.217245},
		{100, 1173.15, 47.640433}, {400, 1173.15, 64.154608},
	} {
		got, err := Viscosity(c.tK, c.rho)
		if err != nil {
			t.Fatal(err)
		}
		// 1e-8 relative plus half a unit of the last digit printed.
		if math.Abs(got*1e6-c.microPas) > 1e-8*c.microPas+0.5e-6 {
			t.Errorf("(%g kg/m³, %g K): got %.7f μPa·s, want %.6f", c.rho, c.tK, got*1e6, c.microPas)
		}
	}
	for _, c := range []struct{ tK, rho float64 }{
		{273, 1000}, {1174, 1}, {300, 0}, {300, -1}, {300, 1251}, {math.NaN(), 1000}, {300, math.NaN()},
	} {
		if got, err := Viscosity(c.tK, c.rho); err == nil {
			t.Errorf("Viscosity(%g, %g) = %g, want an error", c.tK, c.rho, got)
		}
	}
}

// The well-known standard value, 1.0016 mPa·s at 20 °C and 1 atm (ISO/TR 3666,
// from memory; also the reference point of IAPWS R12-08).
func TestViscosityAt20(t *testing.T) {
	x, err := At(293.15, 101325)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mu", x.DynamicViscosity, 1.0016e-3, 2e-5)
	near(t, "nu", x.KinematicViscosity, 1.0034e-6, 2e-5)
}

// IAPWS R1-76(2014): values of the release at 300 K and 450 K; 72.75 mN/m at
// 20 °C is its Table 1, from memory.
func TestSurfaceTension(t *testing.T) {
	for _, c := range []struct{ tK, sigma, rel float64 }{
		{300, 0.0716859625, 2e-9}, {450, 0.0428914992, 2e-9}, {293.15, 72.75e-3, 2e-4},
	} {
		got, err := SurfaceTension(c.tK)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "sigma", got, c.sigma, c.rel)
	}
	got, err := SurfaceTension(criticalT)
	if err != nil || got != 0 {
		t.Errorf("surface tension at the critical point: %g, %v; want 0", got, err)
	}
}
