package opening

import (
	"encoding/json"
	"math"
	"os"
	"strconv"
	"testing"

	"obvert/physics/air"
)

const (
	inch  = 0.0254
	psi   = 6894.757  // Pa
	pound = 0.4535924 // kg
	foot  = 0.3048
)

// near fails unless got is within rel of want (relative).
func near(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s: got %.10g, want %.10g within %.2g (off by %.2g)", what, got, want, rel, (got-want)/want)
	}
}

func flow(t *testing.T, o Opening, p1, p2, t1 float64) Flow {
	t.Helper()
	f, err := o.MassFlow(p1, p2, t1)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// NACA Report 1135 (1953), Table I, γ = 1.4: p/p0 and A/A* by Mach number. An
// opening of area A passes at p/p0 the flow that A* passes choked, so the flow
// relative to the choked one is A*/A.
func TestNACA1135(t *testing.T) {
	o := Orifice{Area: 1, Coefficient: 1}
	choked := flow(t, o, 1e5, 0, 300).Mass
	for _, c := range []struct{ ratio, areas float64 }{
		{0.9930, 5.8218}, {0.9395, 2.0351}, {0.8430, 1.3398}, {0.7209, 1.0944}, {0.5283, 1},
	} {
		got := flow(t, o, 1e5, c.ratio*1e5, 300).Mass / choked
		// half a unit of the last printed digit of p/p0 counts most near 1
		near(t, "A*/A", got, 1/c.areas, 1e-4+0.5e-4/(2*(1-c.ratio)))
	}
	// Critical ratio and mass-flow constant, same source, Eqs. 44 and 46.
	near(t, "critical ratio", airNozzle.critical, 0.528282, 1e-6)
	near(t, "ψ*", airNozzle.sonic, 0.684731, 1e-6)
}

// Çengel & Cimbala, Fluid Mechanics: Ex. 12-5 (p. 650): a 4 mm hole from 314
// kPa abs and 298 K, critical pressure 166 kPa, 0.00924 kg/s; Ex. 12-6: throat
// of 20 cm², 1 MPa, 800 K, 2.86 kg/s.
func TestCengel(t *testing.T) {
	hole := Orifice{Area: Circle(0.004), Coefficient: 1}
	f := flow(t, hole, 314e3, 100e3, 298)
	near(t, "Ex. 12-5", f.Mass, 0.00924, 0.002)
	if !f.Choked || flow(t, hole, 314e3, 166.5e3, 298).Choked || !flow(t, hole, 314e3, 165.5e3, 298).Choked {
		t.Error("Ex. 12-5: the critical pressure is not 166 kPa")
	}
	near(t, "Ex. 12-6", flow(t, Orifice{Area: 20e-4, Coefficient: 1}, 1e6, 0.4e6, 800).Mass, 2.86, 0.002)
}

// Daugherty & Franzini, Fluid Mechanics with Engineering Applications, Ex. 9.4
// and 9.5: 0.0218 ft², 540 °R, choked from 25.6 and 50 psia: 1.84 and 3.596 lb/s.
func TestDaughertyFranzini(t *testing.T) {
	o := Orifice{Area: 0.0218 * foot * foot, Coefficient: 1}
	near(t, "Ex. 9.4", flow(t, o, 25.6*psi, 10*psi, 540/1.8).Mass, 1.84*pound, 0.002)
	near(t, "Ex. 9.5", flow(t, o, 50*psi, 10*psi, 540/1.8).Mass, 3.596*pound, 0.002)
}

// The trade's table "Discharge of air through an orifice": cubic feet a minute
// of free air (14.7 psia, 70 °F, 0.07494 lb/ft³) by gauge pressure in psi and
// diameter in inches, coefficient 1 (as printed by engineersedge.com, "discharge
// of air through an orifice"; the older compressed-air handbooks have the same).
func TestDischargeTable(t *testing.T) {
	for _, c := range []struct{ d, gauge, cfm, rel float64 }{
		{1, 1, 115, 0.005}, {1, 2, 162, 0.005}, {1, 3, 198, 0.005}, {1, 4, 228, 0.005}, {1, 5, 254, 0.005},
		{1, 6, 278, 0.005}, {1, 7, 300, 0.005}, {1, 9, 339, 0.005}, {1, 12, 388, 0.005}, {1, 15, 430, 0.005},
		{1, 20, 503, 0.005}, {1, 30, 648, 0.005}, {1, 50, 938, 0.005}, {1, 100, 1661, 0.005}, {1, 125, 2023, 0.005},
		{1. / 8, 2, 2.53, 0.005}, {1. / 8, 50, 14.7, 0.005}, {1. / 8, 100, 26.0, 0.005},
		{1. / 4, 100, 104, 0.005}, {1. / 2, 2, 40.5, 0.005}, {1. / 2, 5, 63.5, 0.005},
	} {
		o := Orifice{Area: Circle(c.d * inch), Coefficient: 1}
		f := flow(t, o, (14.7+c.gauge)*psi, 14.7*psi, 530/1.8)
		free := 0.07494 * pound / (foot * foot * foot) // kg/m³
		near(t, "cfm", f.Mass/free/(foot*foot*foot)*60, c.cfm, c.rel)
	}
}

// Not published: fluxes evaluated from the same equation in another program
// (testdata/flux.py), a second opinion on the code only (Cd 1, 101 325 Pa, 288.15 K,
// R 287.05): kg/(s·m²).
func TestSecondOpinion(t *testing.T) {
	o := Orifice{Area: 1, Coefficient: 1, GasConstant: 287.05}
	const p = 101325.0
	for _, c := range []struct{ kPa, in, out float64 }{
		{1, 49.235, 49.480}, {5, 107.715, 110.485}, {13.7895, 169.882, 182.913}, {20, 196.581, 219.805},
		{35, 232.561, 289.259}, {100, 241.240, 479.325}, {600, 241.240, 1669.75},
	} {
		dp := c.kPa * 1e3
		near(t, "in", flow(t, o, p, max(p-dp, 0), 288.15).Mass, c.in, 1e-4)
		near(t, "out", flow(t, o, p+dp, p, 288.15).Mass, c.out, 1e-4)
	}
	near(t, "in at 2000 m", flow(t, o, 79495, 79495-35e3, 275.15).Mass, 193.264, 1e-4)
}

// Small differentials are incompressible: ṁ = Cd·A·√(2ρ·dp) (any text); large
// ones are not: at 5 psi inward the incompressible formula overstates the flow
// by 25 %, at 2 psi outward by 7 % with the density in the pipe.
func TestIncompressibleLimit(t *testing.T) {
	o := Orifice{Area: 3e-3, Coefficient: 0.6}
	const p, tK = 101325.0, 288.15
	rho := p / (air.GasConstant * tK)
	for _, dp := range []float64{1e-3, 0.1, 1, 10, 100} {
		p2 := p - dp
		near(t, "limit", flow(t, o, p, p2, tK).Mass, 0.6*3e-3*math.Sqrt(2*rho*(p-p2)), dp/p+1e-9)
	}
	over := 0.6 * 3e-3 * math.Sqrt(2*rho*5*psi) / flow(t, o, p, p-5*psi, tK).Mass
	near(t, "overstated inward", over, 1.25, 0.01)
	p1 := p + 2*psi
	over = 0.6 * 3e-3 * math.Sqrt(2*rho*p1/p*2*psi) / flow(t, o, p1, p, tK).Mass
	near(t, "overstated outward", over, 1.07, 0.01)
}

// Choked flow is set by the upstream state alone: below p2/p1 of about 0.5 the
// outflow does not depend on the back pressure (Encyclopaedia Britannica 11th
// ed., "Hydraulics", sect. 64). US form: W(lb/s) = 0.5303·A(in²)·p(psia)/√T(°R)
// (the trade's table above, over 15 psig).
func TestChokedConstant(t *testing.T) {
	o := Orifice{Area: Circle(inch), Coefficient: 1}
	want := flow(t, o, 100*psi, 0, 530/1.8)
	for r := 0.0; r < 0.528; r += 0.01 {
		if got := flow(t, o, 100*psi, r*100*psi, 530/1.8); got != want {
			t.Fatalf("choked flow changes at p2/p1 = %g: %v, %v", r, got, want)
		}
	}
	near(t, "0.5303", want.Mass/pound, 0.5303*math.Pi/4*100/math.Sqrt(530), 0.004)
}

// ISO 6358-1:2013 by its own terms: at ANR upstream and choked the flow is C·p1
// in m³/s ANR; the effective area in mm² is about 5 times C in dm³/(s·bar)
// (JIS B 8390 has 4.98, from memory).
func TestISO6358(t *testing.T) {
	v := ISO6358{C: 2e-8, B: 0.3} // 2 dm³/(s·bar)
	f := flow(t, v, 700e3, 100e3, 293.15)
	if !f.Choked {
		t.Error("not choked at a ratio of 1/7")
	}
	near(t, "volume flow ANR", air.ANR().Volume(f.Mass), 2e-8*700e3, 1e-12)
	near(t, "by temperature", flow(t, v, 700e3, 100e3, 350).Mass, f.Mass*math.Sqrt(293.15/350), 1e-12)
	// half way, by hand: r = 0.65 with b = 0.3 is the ratio 0.5: √(1 − 0.25)
	near(t, "subsonic", flow(t, v, 700e3, 0.65*700e3, 293.15).Mass, f.Mass*math.Sqrt(0.75), 1e-12)
	v.M = 0.6
	near(t, "index m", flow(t, v, 700e3, 0.65*700e3, 293.15).Mass, f.Mass*math.Pow(0.75, 0.6), 1e-12)

	c, err := Orifice{Area: 5e-6, Coefficient: 1}.SonicConductance()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "S = 5 C", c, 1e-8, 0.01)
}

// The ellipse of ISO 6358 with b = 0.528 and the nozzle equation describe one
// thing: they differ by less than half a percent (known, from memory).
func TestEllipseAgainstNozzle(t *testing.T) {
	o := Orifice{Area: 1e-4, Coefficient: 0.8}
	c, err := o.SonicConductance()
	if err != nil {
		t.Fatal(err)
	}
	v := ISO6358{C: c, B: airNozzle.critical}
	for r := 0.0; r <= 0.995; r += 0.005 {
		near(t, "flow", flow(t, v, 3e5, r*3e5, 280).Mass, flow(t, o, 3e5, r*3e5, 280).Mass, 0.005)
	}
}

// Weisbach's coefficients (Encyclopaedia Britannica 11th ed., "Hydraulics",
// sect. 63) are ranges within 0…1 and fit Orifice.
func TestShapes(t *testing.T) {
	for _, s := range Shapes() {
		if s.Name == "" || !(0 < s.Low && s.Low <= s.High && s.High < 1) {
			t.Errorf("shape %+v", s)
		}
		flow(t, Orifice{Area: 1e-3, Coefficient: s.High}, 2e5, 1e5, 288)
	}
}

// The other columns of NACA Report 1135, Table I (γ = 1.4): Mach number, T/T0 and ρ/ρ0. What flows through a square metre is ρ a M, so the flow
// function is ψ = √γ M (ρ/ρ0) √(T/T0); at Mach 2, behind a throat, the same times A/A* is the choked one.
func TestNACA1135Columns(t *testing.T) {
	passing := func(mach, temperature, density float64) float64 {
		return math.Sqrt(1.4) * mach * density * math.Sqrt(temperature)
	}
	o := Orifice{Area: 1, Coefficient: 1}
	for _, c := range []struct{ mach, pressure, temperature, density float64 }{
		{0.1, 0.9930, 0.9980, 0.9950}, {0.3, 0.9395, 0.9823, 0.9564}, {0.5, 0.8430, 0.9524, 0.8852}, {0.7, 0.7209, 0.9107, 0.7916}, {1, 0.5283, 0.8333, 0.6339},
	} {
		got := flow(t, o, 1e5, c.pressure*1e5, 300).Mass / 1e5 * math.Sqrt(air.GasConstant*300)
		near(t, "ψ", got, passing(c.mach, c.temperature, c.density), 1e-4+0.5e-4/(2*(1-c.pressure))+0.5e-4/c.density)
	}
	near(t, "ψ* from Mach 2", airNozzle.sonic, 1.6875*passing(2, 0.5556, 0.2300), 5e-4)
	// ṁ √T0/(A p0) = 0.040415 s·K^½/m with R 287.05, evaluated.
	near(t, "with R", flow(t, Orifice{Area: 1, Coefficient: 1, GasConstant: 287.05}, 1e5, 0, 288.15).Mass*math.Sqrt(288.15)/1e5, 0.040415, 2e-5)
}

// The whole grid of [TestSecondOpinion]: testdata/flux.json, which testdata/flux.py makes (not published). With it the velocity of free air at 1.225 kg/m³,
// as rules of thumb are written: 80 to 120 m/s go with 4 to 10 kPa inward (practitioners' rule, forum eng-tips.com, thread 182380).
func TestFluxScript(t *testing.T) {
	data, err := os.ReadFile("testdata/flux.json")
	if err != nil {
		t.Fatal(err)
	}
	var text struct{ In, Out map[string]float64 } // kg/(s·m²) by kPa from the atmosphere
	if err := json.Unmarshal(data, &text); err != nil {
		t.Fatal(err)
	}
	number := func(m map[string]float64) map[float64]float64 {
		out := map[float64]float64{}
		for k, v := range m {
			dp, err := strconv.ParseFloat(k, 64)
			if err != nil {
				t.Fatal(err)
			}
			out[dp] = v
		}
		return out
	}
	in, out := number(text.In), number(text.Out)
	if len(in) != 12 || len(out) != 12 {
		t.Fatalf("%d and %d points", len(in), len(out))
	}
	o := Orifice{Area: 1, Coefficient: 1, GasConstant: 287.05}
	const p = 101325.0
	for dp, want := range in {
		f := flow(t, o, p, max(p-dp*1e3, 0), 288.15)
		near(t, "in", f.Mass, want, 2e-5)
		if f.Choked != (dp >= 47.798) {
			t.Errorf("in, %g kPa: choked %v", dp, f.Choked)
		}
	}
	for dp, want := range out {
		f := flow(t, o, p+dp*1e3, p, 288.15)
		near(t, "out", f.Mass, want, 2e-5)
		if f.Choked != (dp >= 90.48) {
			t.Errorf("out, %g kPa: choked %v", dp, f.Choked)
		}
	}
	for dp, v := range map[float64]float64{1: 40.19, 5: 87.93, 10: 120.83, 20: 160.47, 35: 189.85, 100: 196.93} {
		near(t, "velocity of free air in", in[dp]/1.225, v, 1e-4)
	}
	slow, fast := flow(t, o, p, p-4e3, 288.15).Mass/1.225, flow(t, o, p, p-10e3, 288.15).Mass/1.225
	if !(slow > 75 && slow < 85 && fast > 115 && fast < 125) {
		t.Errorf("4 and 10 kPa give %g and %g m/s", slow, fast)
	}
}

// Weisbach's figures as Unwin quotes them (see [Shapes]): conoidal 0.97–0.99, converging cone 0.90–0.99, short cylinder 0.81–0.84, rounded inside
// 0.92–0.93, circular sharp-edged 0.563–0.788. The trade's table of [TestDischargeTable] says to multiply by 0.97 for a rounded and 0.65 for
// a sharp edge: both lie within.
func TestWeisbachPublished(t *testing.T) {
	want := map[string][2]float64{
		"conoidal mouthpiece": {0.97, 0.99}, "conical converging mouthpiece": {0.90, 0.99}, "short cylinder": {0.81, 0.84},
		"short cylinder, rounded inside": {0.92, 0.93}, "circular, sharp edged": {0.563, 0.788},
	}
	for _, s := range Shapes() {
		if w, ok := want[s.Name]; !ok || s.Low != w[0] || s.High != w[1] {
			t.Errorf("%s: %g to %g, printed %v", s.Name, s.Low, s.High, w)
		}
		delete(want, s.Name)
		if within := s.Low <= 0.97 && 0.97 <= s.High; s.Name == "conoidal mouthpiece" && !within {
			t.Error("the trade's 0.97 for a rounded edge lies outside")
		}
		if within := s.Low <= 0.65 && 0.65 <= s.High; s.Name == "circular, sharp edged" && !within {
			t.Error("the trade's 0.65 for a sharp edge lies outside")
		}
	}
	if len(want) > 0 {
		t.Errorf("missing: %v", want)
	}
}
