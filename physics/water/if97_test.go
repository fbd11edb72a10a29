package water

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// near fails unless got is within rel of want (relative).
func near(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s: got %.10g, want %.10g within %.2g (off by %.2g)", what, got, want, rel, (got-want)/want)
	}
}

// IAPWS R7-97(2012) Table 5. The entropy at 500 K is from memory.
func TestRegion1(t *testing.T) {
	for _, c := range []struct{ tK, mpa, v, h, s, cp, w float64 }{
		{300, 3, 0.00100215168, 115.331273, 0.392294792, 4.17301218, 1507.73921},
		{300, 80, 0.000971180894, 184.142828, 0.368563852, 4.01008987, 1634.69054},
		{500, 3, 0.00120241800, 975.542239, 2.58041912, 4.65580682, 1240.71337},
	} {
		got, err := ThermalAt(c.tK, c.mpa*1e6)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "v", got.SpecificVolume, c.v, 1e-8)
		near(t, "h", got.Enthalpy, c.h*1e3, 1e-8)
		near(t, "s", got.Entropy, c.s*1e3, 1e-8)
		near(t, "cp", got.HeatCapacity, c.cp*1e3, 1e-8)
		near(t, "w", got.SpeedOfSound, c.w, 1e-8)
	}
}

// IAPWS R7-97(2012) Table 35 and, from memory, Table 36.
func TestSaturationLine(t *testing.T) {
	for _, c := range []struct{ tK, mpa float64 }{
		{300, 0.00353658941}, {500, 2.63889776}, {600, 12.3443146},
	} {
		got, err := VapourPressure(c.tK)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "ps", got, c.mpa*1e6, 1e-8)
	}
	for _, c := range []struct{ mpa, tK float64 }{
		{0.1, 372.755919}, {1, 453.035632}, {10, 584.149488},
	} {
		got, err := BoilingTemperature(c.mpa * 1e6)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "Ts", got, c.tK, 1e-8)
	}
}

// Saturated water 0…100 °C, Hydraulic Institute Engineering Data Book, Table
// 2.A.2 (from NIST data). The speed of sound of IF97 region 1 is known to lie
// up to 0.2 % above that of IAPWS-95 on which the table rests.
func TestSaturatedWaterTable(t *testing.T) {
	for _, c := range []struct{ tC, bar, rho, sound, mPas float64 }{
		{0, 0.0061165, 999.79, 1402.3, 1.7912},
		{10, 0.01229, 999.65, 1447.1, 1.3056},
		{20, 0.023408, 998.16, 1482.2, 1.0014},
		{30, 0.042494, 995.60, 1509.0, 0.79719},
		{40, 0.073889, 992.17, 1528.8, 0.65285},
		{60, 0.19956, 983.16, 1550.8, 0.46631},
		{80, 0.47434, 971.76, 1554.3, 0.35429},
		{100, 1.0145, 958.34, 1543.1, 0.28171},
	} {
		tK := c.tC + 273.15
		ps, err := VapourPressure(tK)
		if err != nil {
			t.Fatal(err)
		}
		got, err := At(tK, ps)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "p_v", got.VapourPressure, c.bar*1e5, 0.0015)
		near(t, "rho", got.Density, c.rho, 0.0001)
		near(t, "c", got.SpeedOfSound, c.sound, 0.002)
		near(t, "mu", got.DynamicViscosity, c.mPas*1e-3, 0.001)
	}
}

// Vapour pressure in kPa, Hydraulic Institute Engineering Data Book, table of
// water properties, metric.
func TestVapourPressureTable(t *testing.T) {
	for _, c := range []struct{ tC, kPa float64 }{
		{4.4, 0.839}, {10, 1.228}, {15.6, 1.767}, {21.1, 2.503}, {26.7, 3.495},
		{32.2, 4.814}, {37.8, 6.545}, {60, 19.919}, {100, 101.325},
	} {
		got, err := VapourPressure(c.tC + 273.15)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "p_v", got, c.kPa*1e3, 0.005)
	}
}

// Density of water at 1 atm in kg/m³ (wfrjr.com, data table "water"; the values
// are those of the usual metrological tables).
func TestDensityAtOneAtmosphere(t *testing.T) {
	for _, c := range []struct{ tC, rho float64 }{
		{4, 999.9720}, {10, 999.7026}, {15, 999.1026}, {20, 998.2071}, {25, 997.0479}, {30, 995.6502},
	} {
		got, err := Density(c.tC+273.15, 101325)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "rho", got, c.rho, 5e-6)
	}
}

// Bilaniuk & Wong, J. Acoust. Soc. Am. 93 (1993) 1609, erratum 99 (1996) 3257,
// 148-point set, 1 atm. IF97 lies up to 0.2 % above: the tolerance is the known
// difference of the formulations.
func TestSpeedOfSoundMeasured(t *testing.T) {
	k := []float64{1402.38744, 5.03836171, -5.81172916e-2, 3.34638117e-4, -1.48259672e-6, 3.16585020e-9}
	for tC := 0.0; tC < 100; tC += 2.5 {
		want := 0.0
		for i := len(k) - 1; i >= 0; i-- {
			want = want*tC + k[i]
		}
		got, err := At(tC+273.15, 101325)
		if err != nil {
			t.Fatal(err)
		}
		rel := 0.002
		if tC <= 20 {
			rel = 0.0008
		}
		near(t, "c", got.SpeedOfSound, want, rel)
	}
}

// Identities of thermodynamics, by central differences of the package's own
// results: they hold only if all derivatives of the Gibbs energy are right.
func TestIdentities(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 97))
	at := func(tK, p float64) Thermal {
		x, err := ThermalAt(tK, p)
		if err != nil {
			t.Fatal(err)
		}
		return x
	}
	for range 200 {
		tK := 274 + 340*r.Float64()
		p := 15e6 + 80e6*r.Float64()
		x := at(tK, p)
		dT, dp := 1e-2, 1e3
		hot, cold := at(tK+dT, p), at(tK-dT, p)
		up, down := at(tK, p+dp), at(tK, p-dp)

		cp := (hot.Enthalpy - cold.Enthalpy) / (2 * dT)
		vT := (hot.SpecificVolume - cold.SpecificVolume) / (2 * dT)
		vp := (up.SpecificVolume - down.SpecificVolume) / (2 * dp)
		sp := (up.Entropy - down.Entropy) / (2 * dp)
		near(t, "cp = ∂h/∂T", x.HeatCapacity, cp, 1e-6)
		near(t, "T·∂s/∂T = cp", tK*(hot.Entropy-cold.Entropy)/(2*dT), cp, 1e-6)
		if math.Abs(sp+vT) > 1e-5*math.Abs(vT)+1e-11 {
			t.Errorf("∂s/∂p = −∂v/∂T: %g, %g", sp, -vT)
		}

		all, err := At(tK, p)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "K_T", all.IsothermalBulkModulus, -x.SpecificVolume/vp, 1e-5)
		// K_S/K_T = cp/cv with cp − cv = −T·(∂v/∂T)²/(∂v/∂p).
		cv := x.HeatCapacity + tK*vT*vT/vp
		near(t, "K_S/K_T", all.BulkModulus/all.IsothermalBulkModulus, x.HeatCapacity/cv, 1e-5)
	}
}

func TestSaturationRoundTrip(t *testing.T) {
	last := 0.0
	for tK := 273.15; tK <= 647; tK += 0.37 {
		ps, err := VapourPressure(tK)
		if err != nil {
			t.Fatal(err)
		}
		if ps <= last {
			t.Fatalf("vapour pressure falls at %g K", tK)
		}
		last = ps
		back, err := BoilingTemperature(ps)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "Ts(ps(T))", back, tK, 1e-9)
	}
}

// In the product's range everything is finite and runs the way it must.
func TestServiceRange(t *testing.T) {
	for _, p := range []float64{101325, 1e6, ServiceMaxPressure} {
		mu := math.Inf(1)
		for tK := ServiceMinTemperature; tK <= ServiceMaxTemperature; tK += 0.5 {
			x, err := At(tK, p)
			if err != nil {
				t.Fatal(err)
			}
			if x.DynamicViscosity >= mu {
				t.Errorf("viscosity does not fall with temperature at %g K, %g Pa", tK, p)
			}
			mu = x.DynamicViscosity
			if x.IsothermalBulkModulus > x.BulkModulus*(1+1e-9) {
				t.Errorf("isothermal modulus above adiabatic at %g K, %g Pa", tK, p)
			}
			if x != must(t)(x.State.Properties()) {
				t.Errorf("State.Properties differs from At at %g K", tK)
			}
		}
	}
}

func must(t *testing.T) func(Properties, error) Properties {
	return func(p Properties, err error) Properties {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
}

func TestOutOfRange(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		tK, p float64
		says  string
	}{
		{20, 1e5, "temperature is 20 K (-253.15 °C)"},
		{273.1, 1e5, "273.15 K (0 °C)"},
		{624, 50e6, "623.15 K (350 °C)"},
		{nan, 1e5, "not a number"},
		{inf, 1e5, "temperature"},
		{293.15, nan, "not a number"},
		{293.15, inf, "pressure"},
		{293.15, -1e5, "no liquid"},
		{293.15, 2000, "below its vapour pressure"},
		{293.15, 100.1e6, "1e+08 Pa abs"},
	} {
		x, err := At(c.tK, c.p)
		var re *RangeError
		if !errors.As(err, &re) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("At(%g, %g): error %v, want one saying %q", c.tK, c.p, err, c.says)
		}
		if x != (Properties{}) {
			t.Errorf("At(%g, %g) returns numbers beside its error", c.tK, c.p)
		}
		if _, err := Density(c.tK, c.p); err == nil {
			t.Errorf("Density(%g, %g): no error", c.tK, c.p)
		}
		if _, err := ThermalAt(c.tK, c.p); err == nil {
			t.Errorf("ThermalAt(%g, %g): no error", c.tK, c.p)
		}
		if _, err := AirCapacity(c.tK, c.p); err == nil {
			t.Errorf("AirCapacity(%g, %g): no error", c.tK, c.p)
		}
	}
	for _, tK := range []float64{nan, inf, -1, 273, 648} {
		if _, err := VapourPressure(tK); err == nil {
			t.Errorf("VapourPressure(%g): no error", tK)
		}
		if _, err := SurfaceTension(tK); err == nil {
			t.Errorf("SurfaceTension(%g): no error", tK)
		}
	}
	for _, p := range []float64{nan, inf, 0, 600, 22.1e6} {
		if _, err := BoilingTemperature(p); err == nil {
			t.Errorf("BoilingTemperature(%g): no error", p)
		}
	}
}

func BenchmarkIF97(b *testing.B) {
	for b.Loop() {
		if _, err := At(293.15, 5e5); err != nil {
			b.Fatal(err)
		}
	}
}
