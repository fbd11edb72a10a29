package pipe

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// relative fails where got is not within tol of want, relatively.
func relative(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*math.Abs(want)) {
		t.Errorf("%s: %.6g, want %.6g within %.2g", what, got, want, tol)
	}
}

func speed(t *testing.T, w Wave) float64 {
	t.Helper()
	a, err := WaveSpeed(w)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

const subramanya = "K. Subramanya, 1000 Solved Problems in Fluid Mechanics, ch. 14, "

// Worked examples; c = 1, thin wall.
func TestWaveSpeedPublished(t *testing.T) {
	rigid := Shell{Bore: 1, Wall: 0.01, Modulus: math.Inf(1)}
	for _, c := range []struct {
		source        string
		shell         Shell
		bulk, density float64
		want, tol     float64 // m/s
	}{
		{subramanya + "Ex. 14.11, rigid", rigid, 2.22e9, 998, 1491.5, 0.0005},
		{subramanya + "Ex. 14.12, crude oil in steel", Shell{2.5, 0.020, 207e9, 0}, 1.43e9, 798.4, 980.4, 0.0005},
		{"micro-hydro design sheet, steel 190 × 2.5 mm", Shell{0.190, 0.0025, 210e9, 0}, 2.1e9, 1000, 1092, 0.001},
		{"micro-hydro design sheet, HDPE 100 × 12 mm", Shell{0.100, 0.012, 0.5e9, 0}, 2.1e9, 1000, 241.52, 0.0005},
	} {
		relative(t, c.source, speed(t, Wave{Shell: c.shell, Bulk: c.bulk, Density: c.density}), c.want, c.tol)
	}
}

// Surges and times that follow from the speed.
func TestSurgePublished(t *testing.T) {
	const g = 9.81
	castIron := speed(t, Wave{Shell: Shell{0.9, 0.0125, 100e9, 0}, Bulk: 2.0e9, Density: 998})
	relative(t, subramanya+"Ex. 14.14, head", Joukowsky(castIron, 2.60, g), 240.2, 0.001)

	for modulus, want := range map[float64]float64{math.Inf(1): 3.04e6, 210e9: 2.482e6} {
		a := speed(t, Wave{Shell: Shell{0.6, 0.012, modulus, 0}, Bulk: 2.1e9, Density: 998})
		relative(t, subramanya+"Ex. 14.15, pressure", 998*g*Joukowsky(a, 2.1, g), want, 0.001)
	}

	oil := speed(t, Wave{Shell: Shell{0.8, 0.080, 210e9, 0}, Bulk: 1.43e9, Density: 798.4})
	relative(t, subramanya+"Ex. 14.16, 2L/a", Period(1000, oil), 1.544, 0.001)

	a := speed(t, Wave{Shell: Shell{0.6, 0.015, 104.1e9, 0}, Bulk: 2.11e9, Density: 998})
	fast := 998 * g * Joukowsky(a, 3, g)
	relative(t, subramanya+"Ex. 14.18, fast closure", fast, 3.235e6, 0.001)
	relative(t, subramanya+"Ex. 14.18, closure in 2 s by Michaud's ratio", fast*Period(800, a)/2, 2.394e6, 0.0015)

	relative(t, "US Army TM 5-813-9, Fig. 4-5, 2L/a", Period(3400, 2690), 2.53, 0.001)
	relative(t, "US Army TM 5-813-9, Fig. 4-5, head (book took g = 32.0)", Joukowsky(2690, 6.48, 32.2), 544.7, 0.007)
	relative(t, "R. L. Daugherty, J. B. Franzini, Fluid Mechanics, Ex. 13.4, psi",
		62.4/144*Joukowsky(3200, 30/(math.Pi*4), 32.2), 102.9, 0.002)
}

// US practice counts in the pipe's outside diameter over wall (DR), less one or two: K 300,000 psi and water of 62.4 lb/ft³. Each
// number is the surge for 1 ft/s, in psi (industry brief on plastic pipe).
func TestSurgePerFootPerSecond(t *testing.T) {
	const water = 999.55 // kg/m³, 62.4 lb/ft³
	for _, c := range []struct {
		name    string
		modulus float64 // psi
		surge   map[float64]float64
	}{
		{"PVC", 400e3, map[float64]float64{41: 11.4, 32.5: 12.8, 25: 14.7, 21: 16.0, 18: 17.4}},
		{"HDPE", 115e3, map[float64]float64{21: 8.8, 17: 9.9, 13.5: 11.3, 11: 12.7, 9: 14.3, 7.3: 16.3}},
	} {
		for dr, want := range c.surge {
			// The brief's 4,660 ft/s belongs to K/ρ = 4,660², where 300,000 psi over 62.4 lb/ft³ is 4,720²: a known spread of 1.3 %.
			k := 300e3 * psi
			a := speed(t, Wave{Shell: Shell{Bore: (dr - 2) / dr, Wall: 1 / dr, Modulus: c.modulus * psi}, Bulk: k, Density: k / math.Pow(4660*foot, 2)})
			relative(t, c.name, water*a*foot/psi, want, 0.006)
		}
	}
	// A. P. Moser, S. Folkman, Buried Pipe Design, 3rd ed., Ex. 4.2: 8 in PVC DR18, 1,311 ft/s; E 400,000 psi, D/t taken as 16.
	k := 300e3 * psi
	a := speed(t, Wave{Shell: Shell{Bore: 16, Wall: 1, Modulus: 400e3 * psi}, Bulk: k, Density: k / math.Pow(4720*foot, 2)})
	relative(t, "Moser and Folkman Ex. 4.2", a/foot, 1311, 0.012)
}

// A. P. Moser, S. Folkman, Buried Pipe Design, 3rd ed., Table 4.1: ductile iron, ft/s. The table does not say which diameter and c it
// took; the nominal diameter, the nominal walls of AWWA C151 (from memory), E 24e6 psi, K 300,000 psi and c = 1 − 0.28² come within
// 1.6 %. Class 52, 6 in, is printed wrong and left out.
func TestWaveSpeedDuctileIronTable(t *testing.T) {
	k := 300e3 * psi
	for _, c := range []struct{ nominal, wall, want float64 }{
		{6, 0.25, 4206}, {8, 0.27, 4085}, {10, 0.29, 3996}, {12, 0.31, 3919}, {14, 0.33, 3859}, {16, 0.34, 3783},
		{18, 0.35, 3716}, {20, 0.36, 3655},
		{4, 0.29, 4452}, {8, 0.33, 4202}, {12, 0.37, 4038}, // class 52
	} {
		w := Wave{Shell: Shell{Bore: c.nominal * inch, Wall: c.wall * inch, Modulus: 24e6 * psi, Poisson: 0.28},
			Restraint: AnchoredThroughout, Bulk: k, Density: k / math.Pow(4720*foot, 2)}
		relative(t, "ductile iron", speed(t, w)/foot, c.want, 0.016)
	}
}

// Every restraint, thin and thick, against the formulas evaluated apart from this code: a second opinion, no published table.
// K 2.19 GPa, ρ 998.2 kg/m³.
func TestWaveSpeedByRestraint(t *testing.T) {
	for _, c := range []struct {
		name          string
		outside, wall float64 // mm
		modulus, nu   float64
		want          [5]float64 // c = 1, 1 − ν/2, 1 − ν², 1.25 − ν, thick with c_thin = 1
	}{
		{"DI DN 300 K9", 326, 7.2, 170e9, 0.28, [5]float64{1186.9, 1217.8, 1203.9, 1193.3, 1179.2}},
		{"DI DN 600 K9", 635, 9.9, 170e9, 0.28, [5]float64{1103.9, 1139.9, 1123.6, 1111.3, 1097.7}},
		{"steel 323.9 × 5.6", 323.9, 5.6, 207e9, 0.30, [5]float64{1174.4, 1208.5, 1194.5, 1185.4, 1168.1}},
		{"PVC-U 315 × 12.1", 315, 12.1, 3.0e9, 0.40, [5]float64{344.0, 382.0, 373.4, 371.3, 332.1}},
		{"PE100 315 × 28.6", 315, 28.6, 1.0e9, 0.45, [5]float64{325.2, 366.9, 362.0, 361.5, 295.5}},
		{"PE100 315 × 18.7", 315, 18.7, 1.0e9, 0.45, [5]float64{255.9, 289.4, 285.4, 285.0, 240.9}},
	} {
		w := Wave{Shell: Shell{(c.outside - 2*c.wall) / 1e3, c.wall / 1e3, c.modulus, c.nu}, Bulk: 2.19e9, Density: 998.2}
		for i, r := range []Restraint{ExpansionJoints, AnchoredUpstream, AnchoredThroughout, AnchoredUpstreamLengthening} {
			w.Restraint = r
			relative(t, c.name+", "+r.String(), speed(t, w), c.want[i], 5e-5/c.want[i]*1000)
		}
		w.Restraint, w.Thick = ExpansionJoints, true
		relative(t, c.name+", thick", speed(t, w), c.want[4], 5e-5/c.want[4]*1000)
	}
}

// The formula of a mixture evaluated: K 2.19 GPa, D 0.5 m, wall 8 mm, E 200 GPa, water 1,000 kg/m³, gas 1.2 kg/m³ at 101.325 kPa,
// isothermal, shares at the line's pressure.
func TestWaveSpeedWithGas(t *testing.T) {
	shares := []float64{0, 1e-5, 1e-4, 1e-3, 2e-3, 5e-3, 1e-2, 5e-2}
	for p, row := range map[float64][]float64{
		101325:  {1140.3, 1073.5, 754.7, 306.8, 221.0, 141.6, 100.8, 46.1},
		303975:  {1140.3, 1116.6, 954.4, 496.6, 369.3, 241.6, 173.2, 79.8},
		1013250: {1140.3, 1133.0, 1073.5, 755.1, 604.5, 419.8, 308.2, 144.9},
	} {
		for i, want := range row {
			w := Wave{Shell: Shell{Bore: 0.5, Wall: 0.008, Modulus: 200e9}, Bulk: 2.19e9, Density: 1000,
				Gas: Gas{Fraction: shares[i], Pressure: p, Density: 1.2 * p / 101325}}
			if got := speed(t, w); math.Abs(got-want) > 0.051 {
				t.Errorf("%g Pa, share %g: %.2f m/s, want %.1f", p, shares[i], got, want)
			}
		}
	}
}

// I. S. Pearsall, The velocity of water hammer waves, IMechE 1965: one part of free air in 10,000 of water about halves the speed
// (rigid pipe, atmospheric pressure). The formula gives 44 % less.
func TestWaveSpeedPearsall(t *testing.T) {
	w := Wave{Shell: Shell{Bore: 1, Wall: 0.1, Modulus: math.Inf(1)}, Bulk: 2.19e9, Density: 1000}
	clear := speed(t, w)
	w.Gas = Gas{Fraction: 1e-4, Pressure: 101325}
	if lost := 1 - speed(t, w)/clear; lost < 0.40 || lost > 0.55 {
		t.Errorf("1 in 10,000 of air takes %.0f %% of the speed", 100*lost)
	}
}

// More wall, stiffer wall, less bore, less gas: faster. Never faster than in unbounded water. The thick formula meets the thin one
// as the wall gets thin.
func TestWaveSpeedProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := Wave{
			Shell: Shell{Bore: rapid.Float64Range(0.05, 3).Draw(t, "bore"), Modulus: rapid.Float64Range(0.5e9, 250e9).Draw(t, "modulus"),
				Poisson: rapid.Float64Range(0.1, 0.49).Draw(t, "poisson")},
			Restraint: Restraint(rapid.IntRange(0, 3).Draw(t, "restraint")), Thick: rapid.Bool().Draw(t, "thick"),
			Bulk: 2.19e9, Density: 998,
		}
		w.Wall = w.Bore * rapid.Float64Range(0.005, 0.2).Draw(t, "wall")
		a, err := WaveSpeed(w)
		if err != nil {
			t.Fatal(err)
		}
		if !(a > 0 && a < math.Sqrt(w.Bulk/w.Density)) {
			t.Fatalf("%g m/s", a)
		}
		stiff, gassy := w, w
		stiff.Modulus *= 1.1
		gassy.Gas = Gas{Fraction: 1e-3, Pressure: 2e5}
		if b, _ := WaveSpeed(stiff); b <= a {
			t.Fatal("a stiffer wall is no faster")
		}
		if b, _ := WaveSpeed(gassy); b >= a {
			t.Fatal("gas is no slower")
		}
		fine := w
		fine.Wall = w.Bore * 1e-6
		thin := fine
		fine.Thick, thin.Thick = true, false
		if f, c := fine.Factor(), thin.Factor(); math.Abs(f/c-1) > 1e-5 {
			t.Fatalf("thick %g, thin %g", f, c)
		}
	})
}

// All faults come at once.
func TestWaveSpeedFaults(t *testing.T) {
	_, err := WaveSpeed(Wave{Shell: Shell{Bore: math.NaN(), Wall: -1, Poisson: 0.5}, Restraint: 9, Gas: Gas{Fraction: 1, Exponent: 3, Density: math.Inf(1)}})
	for _, what := range []string{"bore", "wall", "modulus of elasticity", "Poisson", "restraint", "bulk modulus", "density is", "share of free gas",
		"absolute pressure", "polytropic", "density of the gas"} {
		if err == nil || !strings.Contains(err.Error(), what) {
			t.Errorf("nothing said of %s: %v", what, err)
		}
	}
}
