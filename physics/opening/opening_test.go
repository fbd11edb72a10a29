package opening

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"obvert/physics/air"
)

// sample returns one opening of each kind.
func sample(t *testing.T) map[string]Opening {
	t.Helper()
	return map[string]Opening{
		"orifice":  Orifice{Area: Circle(0.05), Coefficient: 0.6},
		"argon":    Orifice{Area: Circle(0.05), Coefficient: 0.6, Gamma: 5.0 / 3, GasConstant: 208.13},
		"iso":      ISO6358{C: 3e-6, B: 0.35},
		"iso m":    ISO6358{C: 3e-6, B: 0.2, M: 0.58},
		"in":       measured(t, Upstream),
		"out":      measured(t, Downstream),
		"parallel": Parallel{Orifice{Area: 1e-3, Coefficient: 0.7}, ISO6358{C: 1e-6, B: 0.4}},
		"softened": Softened{Opening: Orifice{Area: 1e-3, Coefficient: 0.7}},
	}
}

// measured is an invented test of a 50 mm valve, to 40 kPa.
func measured(t *testing.T, held Side) *Measured {
	t.Helper()
	m, err := NewMeasured([]Point{
		{2e3, 0.071}, {5e3, 0.115}, {10e3, 0.160}, {20e3, 0.222}, {30e3, 0.262}, {40e3, 0.310},
	}, Test{Held: held, Pressure: 101325, Temperature: 288.15})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// Every opening: nothing at zero; more differential never less flow, by either
// side; continuous, at choking too; proportional to pressure and to 1/√T.
func TestEveryOpening(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 5))
	for name, o := range sample(t) {
		for range 300 {
			p1 := math.Exp(math.Log(2e4) + r.Float64()*math.Log(100))
			t1 := 230 + 100*r.Float64()
			if f := flow(t, o, p1, p1, t1); f.Mass != 0 || f.Choked {
				t.Fatalf("%s: %+v without a differential", name, f)
			}
			a, b := r.Float64()*p1, r.Float64()*p1
			a, b = min(a, b), max(a, b)
			lower, higher := flow(t, o, p1, a, t1), flow(t, o, p1, b, t1)
			if lower.Mass < higher.Mass*(1-1e-12) {
				t.Fatalf("%s: less flow to %g than to %g Pa from %g", name, a, b, p1)
			}
			if higher.Choked && !lower.Choked {
				t.Fatalf("%s: choked to %g but not to %g Pa", name, b, a)
			}
			if more := flow(t, o, p1*1.01, a, t1); more.Mass <= lower.Mass {
				t.Fatalf("%s: no more flow from a higher pressure", name)
			}
			// Small steps of the ratio make small steps of flow.
			step := 1e-9 * p1
			if next := flow(t, o, p1, min(a+step, p1), t1); math.Abs(next.Mass-lower.Mass) > 1e-3*flow(t, o, p1, 0, t1).Mass {
				t.Fatalf("%s: flow jumps at %g of %g Pa", name, a, p1)
			}
			if name == "softened" {
				continue // its corner is a differential, not a ratio
			}
			near(t, name+" ∝ p", flow(t, o, 2*p1, 2*a, t1).Mass, 2*lower.Mass, 1e-9)
			near(t, name+" ∝ 1/√T", flow(t, o, p1, a, 1.21*t1).Mass, lower.Mass/1.1, 1e-12)
		}
	}
}

// The two branches of each formula meet: nozzle and ellipse at choking, the
// ellipse at 0.999, the measured curve at its last point, and a slope of zero
// where flow chokes.
func TestBranchesMeet(t *testing.T) {
	const p1, t1 = 5e5, 290.0
	meet := func(name string, o Opening, r, rel float64) {
		t.Helper()
		near(t, name, flow(t, o, p1, p1*(r-1e-9), t1).Mass, flow(t, o, p1, p1*(r+1e-9), t1).Mass, rel)
	}
	for _, gamma := range []float64{1.1, 1.3, 1.4, 5.0 / 3} {
		o := Orifice{Area: 1e-3, Coefficient: 1, Gamma: gamma}
		meet("nozzle", o, o.nozzle().critical, 1e-12)
	}
	meet("ellipse", ISO6358{C: 1e-6, B: 0.3}, 0.3, 1e-12)
	meet("linear part", ISO6358{C: 1e-6, B: 0.3}, 0.999, 1e-5)
	meet("linear part, m", ISO6358{C: 1e-6, B: 0.3, M: 0.6}, 0.999, 1e-5)
	m := measured(t, Upstream)
	meet("last point", m, 1-m.Largest(), 1e-7)
	s := Softened{Opening: Orifice{Area: 1e-3, Coefficient: 1}, Below: 50}
	meet("softened", s, 1-50/p1, 1e-4)
}

// A curve made of an orifice's own flows is that orifice: at the points
// exactly, between them closely, at another altitude and temperature, in the
// other direction, and beyond its end, but there with the note.
func TestMeasuredIsSimilar(t *testing.T) {
	o := Orifice{Area: Circle(0.08), Coefficient: 0.55}
	for _, test := range []Test{
		{Held: Upstream, Pressure: 101325, Temperature: 288.15},
		{Held: Downstream, Pressure: 98000, Temperature: 295},
	} {
		var points []Point
		for _, dp := range []float64{40e3, 1e3, 3e3, 6e3, 12e3, 20e3, 30e3} { // any order
			p1, p2 := test.Held.pressures(test.Pressure, dp)
			points = append(points, Point{dp, flow(t, o, p1, p2, test.Temperature).Mass})
		}
		m, err := NewMeasured(points, test)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range points {
			p1, p2 := test.Held.pressures(test.Pressure, p.Differential)
			f := flow(t, m, p1, p2, test.Temperature)
			near(t, "at a point", f.Mass, p.Mass, 1e-9)
			if f.Note != "" {
				t.Errorf("note %q at a measured point", f.Note)
			}
		}
		for _, p1 := range []float64{79495, 101325, 250e3} {
			for x := 1e-4; x < 0.9; x *= 1.07 {
				want := flow(t, o, p1, p1*(1-x), 270)
				got := flow(t, m, p1, p1*(1-x), 270)
				rel := 0.001
				if x > m.Largest() {
					rel = 1e-9
				}
				near(t, "elsewhere", got.Mass, want.Mass, rel)
				if (got.Note == NoteBeyondMeasured) != (x > m.Largest()) || got.Choked != want.Choked {
					t.Errorf("x = %g: %+v, want choked %v and the note only beyond %g", x, got, want.Choked, m.Largest())
				}
				area, err := m.EffectiveArea(x)
				if err != nil {
					t.Fatal(err)
				}
				near(t, "effective area", area, 0.55*Circle(0.08), 0.001)
			}
		}
	}
}

// One point is enough for a square root, and says how far it reaches.
func TestMeasuredOnePoint(t *testing.T) {
	m, err := NewMeasured([]Point{{10e3, 0.2}}, Test{Upstream, 100e3, 288.15})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "Largest", m.Largest(), 0.1, 1e-15)
	near(t, "quarter of the differential", flow(t, m, 100e3, 97.5e3, 288.15).Mass, 0.1, 1e-9)
	if f := flow(t, m, 100e3, 89e3, 288.15); f.Note != NoteBeyondMeasured || f.Mass <= 0.2 {
		t.Errorf("beyond: %+v", f)
	}
}

func TestMeasuredFaults(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	good := Test{Upstream, 101325, 288.15}
	for _, c := range []struct {
		points []Point
		test   Test
		says   []string
	}{
		{nil, good, []string{"no points"}},
		{[]Point{{1e3, 0.1}, {1e3, 0.2}}, good, []string{"points 1 and 2 have the same differential"}},
		{[]Point{{9e3, 0.3}, {9.5e3, 0.2}}, good, []string{"point 2", "begins to close"}},
		{[]Point{{0, 0}, {-5, 1}, {5e3, -1}, {200e3, 1}, {nan, 1}, {1e3, inf}}, good,
			[]string{"point 1: differential is 0 Pa", "point 2: differential is -5", "point 3: mass flow is -1",
				"point 4: differential is 200000 Pa: it is larger", "point 5: differential is not a number", "point 6: mass flow is +Inf"}},
		{[]Point{{1e-9, 0.1}}, good, []string{"lost in the rounding"}},
		{[]Point{{1e9, 0.1}}, Test{Downstream, 1e5, 288}, []string{"100 MPa"}},
		{[]Point{{1e3, 0.1}}, Test{Upstream, 0, 288}, []string{"pressure of the test is 0 Pa abs"}},
		{[]Point{{1e3, 0.1}}, Test{Upstream, 1e5, 15}, []string{"temperature of the test", "15 K", "give it in K"}},
		{[]Point{{1e3, 0.1}}, Test{Side(7), 1e5, 288}, []string{"held side is 7"}},
	} {
		m, err := NewMeasured(c.points, c.test)
		if err == nil || m != nil {
			t.Errorf("%v: %v, want an error saying %q", c.points, m, c.says)
			continue
		}
		for _, s := range c.says {
			if !strings.Contains(err.Error(), s) {
				t.Errorf("error %q does not say %q", err, s)
			}
		}
	}
	m := measured(t, Upstream)
	for _, x := range []float64{0, -1, 1.1, nan} {
		if a, err := m.EffectiveArea(x); err == nil {
			t.Errorf("EffectiveArea(%g) = %g, want an error", x, a)
		}
	}
}

// Both ways: the sign, the side whose temperature counts, a valve that admits
// no air, and the mirror: what goes in at (p, q) goes out at (q, p).
func TestBoth(t *testing.T) {
	in, out := Orifice{Area: 2e-3, Coefficient: 0.6}, Orifice{Area: 1e-3, Coefficient: 0.5}
	const pAtm = 95e3
	both := func(in, out Opening, pPipe float64) Flow {
		t.Helper()
		f, err := Both(in, out, pPipe, pAtm, 300, 280)
		if err != nil {
			t.Fatal(err)
		}
		return f
	}
	near(t, "in", both(in, out, 90e3).Mass, flow(t, in, pAtm, 90e3, 280).Mass, 0)
	near(t, "out", both(in, out, 99e3).Mass, -flow(t, out, 99e3, pAtm, 300).Mass, 0)
	for _, f := range []Flow{both(in, out, pAtm), both(nil, out, 90e3), both(in, nil, 99e3)} {
		if f != (Flow{}) {
			t.Errorf("%+v, want no flow", f)
		}
	}
	if math.Signbit(both(in, out, pAtm).Mass) {
		t.Error("minus zero")
	}
	a, err1 := Both(in, in, 80e3, 120e3, 290, 290)
	b, err2 := Both(in, in, 120e3, 80e3, 290, 290)
	if err1 != nil || err2 != nil || a.Mass != -b.Mass {
		t.Errorf("not mirrored: %v, %v (%v, %v)", a, b, err1, err2)
	}
	// never rising with the pressure in the pipe
	last := math.Inf(1)
	for p := 0.0; p < 300e3; p += 500 {
		m := both(in, out, p).Mass
		if m > last {
			t.Fatalf("inflow rises with pressure at %g Pa", p)
		}
		last = m
	}
	for _, p := range []float64{math.NaN(), -1, math.Inf(1)} {
		if f, err := Both(in, out, p, pAtm, 300, 280); err == nil {
			t.Errorf("Both at %g Pa: %+v, want an error", p, f)
		}
	}
}

// Slope against differences taken by the test itself, and finite, not
// positive, at and about zero.
func TestSlope(t *testing.T) {
	const pAtm = 100e3
	for name, o := range sample(t) {
		for _, pPipe := range []float64{0, 30e3, 60e3, 91e3, 99.8e3, 99999, pAtm, 100001, 100.2e3, 107e3, 150e3, 900e3} {
			got, err := Slope(o, o, pPipe, pAtm, 290, 285)
			if err != nil {
				t.Fatal(err)
			}
			if !(got <= 0) || math.IsInf(got, 0) {
				t.Fatalf("%s: slope %g at %g Pa", name, got, pPipe)
			}
			if math.Abs(pPipe-pAtm) < 50 || pPipe == 0 {
				continue
			}
			h := 0.01 * math.Abs(pPipe-pAtm)
			up, _ := Both(o, o, pPipe+h, pAtm, 290, 285)
			down, _ := Both(o, o, pPipe-h, pAtm, 290, 285)
			want := (up.Mass - down.Mass) / (2 * h)
			if math.Abs(got-want) > 0.01*math.Abs(want)+1e-12 {
				t.Errorf("%s: slope %g at %g Pa, differences give %g", name, got, pPipe, want)
			}
		}
	}
	if s, err := Slope(nil, nil, 90e3, pAtm, 290, 285); s != 0 || err != nil {
		t.Errorf("closed valve: slope %g, %v", s, err)
	}
	for _, c := range [][4]float64{{math.NaN(), 1e5, 290, 290}, {1e5, math.NaN(), 290, 290}, {1e5, 1e5, 20, 290}, {1e5, 1e5, 290, 20}} {
		if s, err := Slope(nil, nil, c[0], c[1], c[2], c[3]); err == nil {
			t.Errorf("Slope%v = %g, want an error", c, s)
		}
	}
}

// The inverse: a differential gives a flow which gives the differential back,
// for every kind of opening, from breaths to choking.
func TestDifferentialRoundTrip(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 1))
	for name, o := range sample(t) {
		for range 200 {
			held := Side(r.IntN(2))
			p := 60e3 + 100e3*r.Float64()
			dp := math.Exp(math.Log(0.1) + r.Float64()*math.Log(4e5)) // 0.1 Pa…40 kPa
			dp = min(dp, 0.45*p)
			p1, p2 := held.pressures(p, dp)
			want := flow(t, o, p1, p2, 285)
			got, at, err := Differential(o, want.Mass, held, p, 285)
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			near(t, name+" mass", at.Mass, want.Mass, 1e-8)
			if !want.Choked {
				near(t, name+" differential", got, dp, 1e-6+1e-9*p/dp)
			} else if got > dp*(1+1e-9) {
				t.Errorf("%s: %g Pa is not the smallest for a choked flow", name, got)
			}
		}
	}
}

func TestDifferentialLimits(t *testing.T) {
	o := Orifice{Area: 1e-3, Coefficient: 0.6}
	const p, tK = 101325.0, 288.15
	most := flow(t, o, p, 0, tK).Mass

	// exactly choked: where choking begins, not where the vacuum is full
	dp, at, err := Differential(o, most, Upstream, p, tK)
	if err != nil || !(math.Abs(dp-(1-airNozzle.critical)*p) < 1) || at.Mass != most {
		t.Errorf("choked flow at %g Pa (%+v, %v), want %g", dp, at, err, (1-airNozzle.critical)*p)
	}
	_, _, err = Differential(o, 1.001*most, Upstream, p, tK)
	var much *TooMuchError
	if !errors.As(err, &much) || math.Abs(much.Most-most) > 1e-12 {
		t.Errorf("more than choked: %v", err)
	}
	// outward there is hardly a limit
	dp, at, err = Differential(o, 10*most, Downstream, p, tK)
	if err != nil || !at.Choked {
		t.Errorf("ten times the choked inflow, outward: %g Pa, %+v, %v", dp, at, err)
	}
	near(t, "outward", p+dp, 10*p, 1e-9)
	if _, _, err = Differential(o, 1e6, Downstream, p, tK); !errors.As(err, &much) {
		t.Errorf("beyond 100 MPa: %v", err)
	}
	if dp, at, err := Differential(o, 0, Upstream, p, tK); dp != 0 || at != (Flow{}) || err != nil {
		t.Errorf("nothing wanted: %g, %+v, %v", dp, at, err)
	}
	// the note of the flow comes with it
	_, at, err = Differential(measured(t, Upstream), 0.312, Upstream, p, tK)
	if err != nil || at.Note != NoteBeyondMeasured {
		t.Errorf("beyond the measured curve: %+v, %v", at, err)
	}
	for _, c := range []struct {
		mass, p, t float64
		held       Side
	}{{-1, p, tK, Upstream}, {math.NaN(), p, tK, Upstream}, {math.Inf(1), p, tK, Downstream}, {1, 0, tK, Upstream}, {1, p, 15, Upstream}, {1, p, tK, Side(3)}} {
		if dp, _, err := Differential(o, c.mass, c.held, c.p, c.t); err == nil {
			t.Errorf("Differential(%v) = %g, want an error", c, dp)
		}
	}
	if _, _, err := Differential(Orifice{}, 0.1, Upstream, p, tK); err == nil || !strings.Contains(err.Error(), "area") {
		t.Errorf("an opening without area: %v", err)
	}
}

func TestAreaFor(t *testing.T) {
	o := Orifice{Coefficient: 0.62}
	a, err := o.AreaFor(0.25, 120e3, 101325, 290)
	if err != nil {
		t.Fatal(err)
	}
	o.Area = a
	near(t, "back", flow(t, o, 120e3, 101325, 290).Mass, 0.25, 1e-14)
	if a, err := o.AreaFor(0, 1e5, 1e5, 290); a != 0 || err != nil {
		t.Errorf("nothing needs %g m², %v", a, err)
	}
	for _, c := range [][3]float64{{1, 1e5, 1e5}, {-1, 2e5, 1e5}, {math.NaN(), 2e5, 1e5}, {1, 1e5, 2e5}} {
		if a, err := o.AreaFor(c[0], c[1], c[2], 290); err == nil {
			t.Errorf("AreaFor%v = %g, want an error", c, a)
		}
	}
}

// Softened: straight to zero, never more than a quarter of the flow at Below
// away from the square root, untouched above.
func TestSoftened(t *testing.T) {
	raw := Orifice{Area: 1e-3, Coefficient: 0.7}
	s := Softened{Opening: raw, Below: 40}
	const p = 1e5
	at := flow(t, raw, p, p-40, 290).Mass
	for dp := 0.0; dp < 80; dp += 0.5 {
		soft, hard := flow(t, s, p, p-dp, 290).Mass, flow(t, raw, p, p-dp, 290).Mass
		if dp < 40 {
			near(t, "straight", soft, at*dp/40, 1e-12)
			if d := hard - soft; d < -1e-15 || d > 0.2501*at {
				t.Errorf("off by %g of %g at %g Pa", d, at, dp)
			}
		} else if soft != hard {
			t.Errorf("changed above the limit, at %g Pa", dp)
		}
	}
	if f, err := (Softened{Opening: raw, Below: 1e5}).MassFlow(100, 50, 290); err != nil || f.Mass <= 0 {
		t.Errorf("limit above the upstream pressure: %+v, %v", f, err)
	}
	for _, below := range []float64{-1, math.NaN(), math.Inf(1)} {
		if _, err := (Softened{Opening: raw, Below: below}).MassFlow(p, p-1, 290); err == nil {
			t.Errorf("Below = %g: no error", below)
		}
	}
}

func TestParallel(t *testing.T) {
	a, b := Orifice{Area: 1e-3, Coefficient: 0.7}, measured(t, Upstream)
	f := flow(t, Parallel{a, b}, 101325, 60e3, 290)
	near(t, "sum", f.Mass, flow(t, a, 101325, 60e3, 290).Mass+flow(t, b, 101325, 60e3, 290).Mass, 1e-15)
	if f.Note != NoteBeyondMeasured || f.Choked {
		t.Errorf("%+v, want the note and not choked", f)
	}
	if f := flow(t, Parallel{}, 2e5, 1e5, 290); f != (Flow{}) {
		t.Errorf("no opening passes %+v", f)
	}
	if _, err := (Parallel{a, Orifice{}}).MassFlow(2e5, 1e5, 290); err == nil {
		t.Error("a faulty opening among them: no error")
	}
}

func TestFaultyOpenings(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, o := range []Opening{
		Orifice{}, Orifice{Area: 1}, Orifice{Area: -1, Coefficient: 0.6}, Orifice{Area: inf, Coefficient: 0.6},
		Orifice{Area: 1, Coefficient: 1.01}, Orifice{Area: nan, Coefficient: 0.6}, Orifice{Area: 1, Coefficient: nan},
		Orifice{Area: 1, Coefficient: 1, Gamma: 1}, Orifice{Area: 1, Coefficient: 1, Gamma: 2},
		Orifice{Area: 1, Coefficient: 1, GasConstant: -1}, Orifice{Area: 1, Coefficient: 1, GasConstant: nan},
		ISO6358{}, ISO6358{C: nan}, ISO6358{C: 1e-8, B: 1}, ISO6358{C: 1e-8, B: -0.1}, ISO6358{C: 1e-8, B: 0.3, M: 2},
		ISO6358{C: 1e-8, B: nan}, ISO6358{C: inf},
	} {
		f, err := o.MassFlow(2e5, 1e5, 290)
		var de *DataError
		if !errors.As(err, &de) || f != (Flow{}) {
			t.Errorf("%#v: %+v, %v; want a DataError", o, f, err)
		}
	}
	if _, err := (Orifice{Area: 1}).SonicConductance(); err == nil {
		t.Error("SonicConductance without a coefficient: no error")
	}
}

func TestFaultyStates(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for name, o := range sample(t) {
		for _, c := range [][3]float64{
			{0, 0, 290}, {-1e5, -2e5, 290}, {nan, 1e5, 290}, {1e5, nan, 290}, {inf, 1e5, 290}, {2e5, -1, 290},
			{1e5, 1.0001e5, 290}, {2e5, 1e5, 17}, {2e5, 1e5, nan}, {2e5, 1e5, inf}, {2e8, 1e5, 290}, {1e5, inf, 290},
		} {
			f, err := o.MassFlow(c[0], c[1], c[2])
			var se *StateError
			if !errors.As(err, &se) || f != (Flow{}) {
				t.Errorf("%s%v: %+v, %v; want a StateError", name, c, f, err)
			}
		}
	}
	if Side(9).String() != "side 9" || Upstream.String() != "upstream" || Downstream.String() != "downstream" {
		t.Error("names of sides")
	}
}

// No input makes a NaN, an infinity, a negative flow or a panic.
func FuzzMassFlow(f *testing.F) {
	f.Add(101325.0, 90e3, 288.15, 1e-3, 0.6, 0.3, 0.5)
	f.Add(1e5, 1e5, 150.0, 1e-300, 1e-300, 0.0, 1.0)
	f.Add(1e-300, 0.0, 1000.0, 1e300, 1.0, 0.99, 1e-3)
	f.Add(math.NaN(), math.Inf(1), -1.0, 0.0, 2.0, 1.0, 0.0)
	f.Add(1e8, math.Nextafter(1e8, 0), 290.0, 1.0, 1.0, 0.528, 0.5)
	f.Fuzz(func(t *testing.T, p1, p2, t1, area, cd, b, m float64) {
		openings := []Opening{
			Orifice{Area: area, Coefficient: cd, Gamma: 1 + b},
			ISO6358{C: area, B: b, M: m},
			Softened{Opening: Orifice{Area: area, Coefficient: cd}, Below: m},
		}
		if curve, err := NewMeasured([]Point{{area, cd}, {2 * area, 2 * cd}}, Test{Downstream, p2, t1}); err == nil {
			openings = append(openings, curve)
		}
		for _, o := range openings {
			f, err := o.MassFlow(p1, p2, t1)
			if err != nil && f.Mass != 0 {
				t.Errorf("%#v: %g beside an error", o, f.Mass)
			}
			if !(f.Mass >= 0 && !math.IsInf(f.Mass, 0)) {
				t.Errorf("%#v passes %g from %g to %g Pa at %g K", o, f.Mass, p1, p2, t1)
			}
		}
	})
}

func BenchmarkOrifice(b *testing.B) {
	var o Opening = Orifice{Area: 2e-3, Coefficient: 0.6}
	for b.Loop() {
		if _, err := o.MassFlow(101325, 90e3, 288.15); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkMeasured(b *testing.B) {
	m, err := NewMeasured([]Point{{2e3, 0.071}, {5e3, 0.115}, {10e3, 0.160}, {20e3, 0.222}, {30e3, 0.262}},
		Test{Upstream, air.SeaLevelPressure, 288.15})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := m.MassFlow(101325, 90e3, 288.15); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkDifferential(b *testing.B) {
	o := Orifice{Area: 2e-3, Coefficient: 0.6}
	for b.Loop() {
		if _, _, err := Differential(o, 0.2, Upstream, 101325, 288.15); err != nil {
			b.Fatal(err)
		}
	}
}
