package pipe

import (
	"math"
	"math/rand/v2"
	"testing"

	"obvert/num"

	"pgregory.net/rapid"
)

const (
	g    = 9.81   // m/s², as the books use
	foot = 0.3048 // m
	inch = 0.0254 // m
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.9g, want %.9g within %.2g", what, got, want, tol)
	}
}

// relative to want
func close(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	near(t, what, got, want, tol*math.Abs(want))
}

// Colebrook–White in 50-digit decimal arithmetic: computed by ourselves with
// testdata/colebrook.py, not published.
var colebrookExact = [][3]float64{
	{4000, 0, 0.0399070140556349},
	{4000, 9.5367431640625e-07, 0.03990798240805528},
	{4000, 0.0001220703125, 0.040030781260374605},
	{4000, 0.0009765625, 0.04088714162853411},
	{4000, 0.0078125, 0.04721436307217833},
	{4000, 0.05, 0.07698683488922486},
	{5000, 0, 0.037392727578047395},
	{5000, 9.5367431640625e-07, 0.03739379534992121},
	{5000, 0.0001220703125, 0.03752914348916695},
	{5000, 0.0009765625, 0.0384698937321467},
	{5000, 0.0078125, 0.045283174053632004},
	{5000, 0.05, 0.07594779848272609},
	{10000, 0, 0.03088295035348769},
	{10000, 9.5367431640625e-07, 0.030884426393702372},
	{10000, 0.0001220703125, 0.03107112002288028},
	{10000, 0.0009765625, 0.03234773177284534},
	{10000, 0.0078125, 0.04082934873773515},
	{10000, 0.05, 0.07380127563853828},
	{31623, 0, 0.02319485122914171},
	{31623, 9.5367431640625e-07, 0.023197531343833237},
	{31623, 0.0001220703125, 0.023533385344700893},
	{31623, 0.0009765625, 0.025687674155387787},
	{31623, 0.0078125, 0.037041243801057645},
	{31623, 0.05, 0.07227469785347616},
	{100000, 0, 0.01798977308427384},
	{100000, 9.5367431640625e-07, 0.01799494218760845},
	{100000, 0.0001220703125, 0.018624974083799754},
	{100000, 0.0009765625, 0.02209534430114852},
	{100000, 0.0078125, 0.03562975338815579},
	{100000, 0.05, 0.07178092944114034},
	{1000000, 0, 0.011645040997991624},
	{1000000, 9.5367431640625e-07, 0.011667088128950778},
	{1000000, 0.0001220703125, 0.013747469780709908},
	{1000000, 0.0009765625, 0.019835941266711635},
	{1000000, 0.0078125, 0.034998731801557124},
	{1000000, 0.05, 0.07157375385985787},
	{12345678, 0, 0.007860473476502558},
	{12345678, 9.5367431640625e-07, 0.0079824559027917},
	{12345678, 0.0001220703125, 0.012577364855430234},
	{12345678, 0.0009765625, 0.01954865672408021},
	{12345678, 0.0078125, 0.03493263844355812},
	{12345678, 0.05, 0.07155254321325442},
	{100000000, 0, 0.0059404663516367615},
	{100000000, 9.5367431640625e-07, 0.006413863286952278},
	{100000000, 0.0001220703125, 0.012463708460045459},
	{100000000, 0.0009765625, 0.019525819814838613},
	{100000000, 0.0078125, 0.03492751877769303},
	{100000000, 0.05, 0.07155090409108325},
}

func TestFrictionToMachinePrecision(t *testing.T) {
	worst := 0.0
	for _, c := range colebrookExact {
		off := math.Abs(Friction(c[0], c[1])/c[2] - 1)
		worst = max(worst, off)
		if off > 1.5e-15 {
			t.Errorf("f(%g, %g) is off by %.2g", c[0], c[1], off)
		}
	}
	t.Logf("largest relative error of f: %.2g", worst)
}

// bisect solves the equation with math.Log10 by halving: slow, and independent
// of the method under test.
func bisect(re, k float64) float64 {
	lo, hi := 0.1, 40.0
	for range 80 {
		x := 0.5 * (lo + hi)
		if x+2*math.Log10(k/3.7+2.51*x/re) > 0 {
			hi = x
		} else {
			lo = x
		}
	}
	x := 0.5 * (lo + hi)
	return 1 / (x * x)
}

func TestFrictionAgainstBisection(t *testing.T) {
	worst := 0.0
	for _, k := range []float64{0, 1e-9, 1e-7, 1e-6, 1e-5, 1e-4, 5e-4, 1e-3, 5e-3, 0.01, 0.03, 0.05, 0.2, 0.5} {
		for e := math.Log10(4000); e <= 12; e += 0.0137 {
			re := math.Pow(10, e)
			if re < TurbulentLimit {
				continue
			}
			worst = max(worst, math.Abs(Friction(re, k)/bisect(re, k)-1))
		}
	}
	t.Logf("largest relative difference: %.2g", worst)
	if worst > 1e-14 {
		t.Errorf("differs by %.2g", worst)
	}
}

// Points of L. F. Moody's chart (Trans. ASME 66 (1944) 671), readings recalled
// from the equation.
func TestFrictionMoody(t *testing.T) {
	for _, c := range [][3]float64{
		{1e5, 0, 0.01799}, {1e5, 1e-3, 0.02217}, {1e6, 1e-4, 0.01344},
		{1e12, 1e-3, 0.01963}, {1e12, 1e-2, 0.03790}, // fully rough
		{1000, 0.01, 0.064}, // laminar
	} {
		near(t, "friction factor", Friction(c[0], c[1]), c[2], 1e-4)
	}
}

// Worked examples of textbooks. The tolerance is that of the book's rounding or
// chart reading.
func TestHeadLossBooks(t *testing.T) {
	const lps = 1e-3
	tests := []struct {
		source                  string
		q, bore, length, k, nu  float64
		wantVelocity, wantHead  float64
		tolVelocity, tolerances float64
	}{
		{"Çengel & Cimbala, Fluid Mechanics, Ex. 8-3", 6 * lps, 0.050, 60, 2e-6, 1.138e-3 / 999, 3.06, 9.85, 0.005, 0.006},
		{"Massey, Mechanics of Fluids, ch. 7 Ex. 1 (chart)", 50 * lps, 0.150, 300, 0.15e-3, 1.14e-6, 2.83, 16.81, 0.005, 0.012},
		{"design sheet of a small hydropower scheme, steel penstock", 70 * lps, 0.190, 60, 0.1e-3, 1.53e-6, 2.47, 1.81, 0.002, 0.008},
		{"design sheet of a small hydropower scheme, polyethylene", 10 * lps, 0.100, 80, 0.2e-3, 1.53e-6, 1.2732, 1.697, 0.0001, 0.012},
	}
	for _, c := range tests {
		h, _ := HeadLoss(c.q, c.bore, c.length, c.k, c.nu, g)
		close(t, c.source+", head", h, c.wantHead, c.tolerances)
		close(t, c.source+", velocity", Velocity(c.q, c.bore), c.wantVelocity, c.tolVelocity)
	}
	h, _ := HeadLoss(6*lps, 0.050, 60, 2e-6, 1.138e-3/999, g)
	near(t, "Çengel & Cimbala Ex. 8-3, friction factor", Friction(Reynolds(6*lps, 0.050, 1.138e-3/999), 2e-6/0.050), 0.0172, 5e-5)
	close(t, "Çengel & Cimbala Ex. 8-3, pressure drop, Pa", 999*g*h, 96.5e3, 0.006)
}

// Çengel & Cimbala, Fluid Mechanics, Ex. 8-4: the duct that passes 0.35 m³/s of
// air (ν 1.655e-5 m²/s) over 150 m with 20 m lost: D 0.267 m, f 0.0180,
// Re 100 800, V 6.24 m/s.
func TestBoreForAHeadLoss(t *testing.T) {
	const q, nu = 0.35, 1.655e-5
	d, out := num.Root(func(d float64) float64 {
		h, _ := HeadLoss(q, d, 150, 0, nu, g)
		return h - 20
	}, 0.1, 1, 1e-9)
	if !out.OK() {
		t.Fatal(out)
	}
	close(t, "bore", d, 0.267, 0.003)
	close(t, "Reynolds number", Reynolds(q, d, nu), 100800, 0.003)
	close(t, "velocity", Velocity(q, d), 6.24, 0.003)
	close(t, "friction factor", Friction(Reynolds(q, d, nu), 0), 0.0180, 0.003)
}

// Subramanya, 1000 Solved Problems in Fluid Mechanics, Ex. 10.19: D 250 mm,
// k 0.15 mm, ν 1e-6 m²/s, gradient 2.5 m in 100 m: 127.9 L/s.
func TestFlowForAGradient(t *testing.T) {
	l := NewDarcyWeisbach(0.25, 0.15e-3, 1e-6, g)
	close(t, "flow", l.Flow(0.025), 0.1279, 0.001)
}

// fixed returns the law of a pipe with a given constant friction factor: fully
// rough flow at the roughness that gives it.
func fixed(f, bore float64) Law {
	rough := 3.7 * bore * math.Pow(10, -0.5/math.Sqrt(f))
	return NewDarcyWeisbach(bore, rough, 1e-15, g)
}

// Munson, Young, Okiishi, Fundamentals of Fluid Mechanics, Ex. 8.8: water at
// 60 °F up to the second floor; ρ 1.94 slug/ft³, ν 1.21e-5 ft²/s, drawn copper
// k 5e-6 ft, f 0.0215, ΣK = 10 + 4·1.5 + 2: 10.7, 21.3, 30.5 psi.
func TestFaucetOnTheSecondFloor(t *testing.T) {
	const (
		bore = 0.0625 * foot
		q    = 0.0267 * foot * foot * foot
		rho  = 998.8    // kg/m³: 1.94 slug/ft³
		psi  = 6894.757 // Pa
		gUS  = 9.80665  // m/s²
		nu   = 1.21e-5 * foot * foot
	)
	near(t, "friction factor", Friction(Reynolds(q, bore, nu), 5e-6/0.0625), 0.0215, 2e-4)
	v1, v2 := Velocity(q, bore), Velocity(q, 0.5*inch)
	h := 20*foot + (v2*v2-v1*v1)/(2*gUS)
	near(t, "no losses, psi", rho*gUS*h/psi, 10.7, 0.05)
	friction, _ := HeadLoss(q, bore, 60*foot, 5e-6*foot, nu, gUS)
	near(t, "with friction, psi", rho*gUS*(h+friction)/psi, 21.3, 0.1)
	local, _ := Local{K: 10 + 4*1.5 + 2, Bore: bore}.HeadLoss(q, gUS)
	near(t, "with all losses, psi", rho*gUS*(h+friction+local)/psi, 30.5, 0.13)
}

// Daugherty & Franzini, Fluid Mechanics, Ex. 8.5: D 10 in, L 5000 ft, f 0.02,
// entrance 0.5, exit, 260 ft between two tanks: 6.40 ft³/s.
func TestBetweenTwoTanks(t *testing.T) {
	const bore = 10 * inch
	l := fixed(0.02, bore)
	ends := Local{K: 0.5 + 1, Bore: bore}
	q, out := num.Root(func(q float64) float64 {
		s, _ := l.Gradient(q)
		h, _ := ends.HeadLoss(q, g)
		return 5000*foot*s + h - 260*foot
	}, 0, 10, 1e-12)
	if !out.OK() {
		t.Fatal(out)
	}
	close(t, "flow, ft³/s", q/(foot*foot*foot), 6.40, 0.001)
}

// Subramanya, 1000 Solved Problems, Ex. 11.4: 1800, 1200, 600 m of 50, 40, 30 cm
// with one friction factor. In series they equal 4318.2 m of 40 cm, or 3600 m of
// 38.57 cm; in parallel 377.37 m of 50 cm.
func TestEquivalentPipes(t *testing.T) {
	const f, q = 0.02, 0.1
	length := []float64{1800, 1200, 600}
	bore := []float64{0.5, 0.4, 0.3}
	var series float64
	for i := range bore {
		l := fixed(f, bore[i])
		s, _ := l.Gradient(q)
		series += length[i] * s
	}
	l40 := fixed(f, 0.4)
	s40, _ := l40.Gradient(q)
	close(t, "series, of 40 cm", series/s40, 4318.2, 0.0001)
	d, _ := num.Root(func(d float64) float64 {
		l := fixed(f, d)
		s, _ := l.Gradient(q)
		return 3600*s - series
	}, 0.2, 0.6, 1e-9)
	close(t, "series, bore of 3600 m", d, 0.3857, 0.0002)

	// one head lost by all three
	const head = 10.0
	var sum float64
	for i := range bore {
		l := fixed(f, bore[i])
		sum += l.Flow(head / length[i])
	}
	l50 := fixed(f, 0.5)
	s50, _ := l50.Gradient(sum)
	close(t, "parallel, of 50 cm", head/s50, 377.37, 0.0005)
}

// Douglas, Solving Problems in Fluid Mechanics, Ex. 14.3: pipes of 50 and
// 100 mm in parallel, 100 m, Fanning's f 0.008, 10 m of head, K 1.5 each:
// 0.0034 and 0.0190 m³/s, together as one pipe of 106 mm.
func TestParallelPipes(t *testing.T) {
	flow := func(bore float64) float64 {
		l := fixed(4*0.008, bore)
		local := Local{K: 1.5, Bore: bore}
		q, out := num.Root(func(q float64) float64 {
			s, _ := l.Gradient(q)
			h, _ := local.HeadLoss(q, g)
			return 100*s + h - 10
		}, 0, 1, 1e-12)
		if !out.OK() {
			t.Fatal(out)
		}
		return q
	}
	near(t, "50 mm", flow(0.05), 0.0034, 5e-5)
	near(t, "100 mm", flow(0.1), 0.0190, 5e-5)
	sum := flow(0.05) + flow(0.1)
	near(t, "together", sum, 0.0224, 5e-5)
	d, _ := num.Root(func(d float64) float64 { // the book leaves local losses out here
		l := fixed(4*0.008, d)
		s, _ := l.Gradient(sum)
		return 100*s - 10
	}, 0.08, 0.15, 1e-9)
	near(t, "one pipe instead, m", d, 0.106, 5e-4)
}

// Subramanya, 1000 Solved Problems, Ex. 11.1: 450 L/min from 60 into 90 mm
// suddenly, 20 kPa before: 21.73 kPa behind.
func TestSuddenEnlargement(t *testing.T) {
	const q, rho = 0.450 / 60, 1000.0
	v1, v2 := Velocity(q, 0.06), Velocity(q, 0.09)
	h, _ := Enlargement(0.06, 0.09).HeadLoss(q, g)
	p2 := 20e3 + rho*((v1*v1-v2*v2)/2-g*h)
	close(t, "pressure behind, Pa", p2, 21.73e3, 0.001)
	if k := Enlargement(0.1, 1e9).K; math.Abs(k-1) > 1e-12 {
		t.Errorf("into a tank K = %g", k)
	}
}

// Hazen–Williams, published figures.
func TestHazenWilliamsPublished(t *testing.T) {
	const gpm = 231 * inch * inch * inch / 60
	// engineering handbook form h = 0.2083 (100/C)^1.852 q^1.852/d^4.8655 (gpm,
	// in): 200 gpm, 3.048 in, C 140: 9 ft in 100 ft. Its rounded constants make it
	// 1.3 % larger than the formula they come from
	h, _ := HazenWilliams(200*gpm, 3.048*inch, 100, 140)
	close(t, "handbook form", h, 9, 0.015)
	// G. M. Fair, J. C. Geyer, D. A. Okun, Water and Wastewater Engineering,
	// 3rd ed. 2010, Ex. 5.4 (a chart): 12 in, C 100, 1 Mgd and 0.1 Mgd
	const mgd = 1e6 * 231 * inch * inch * inch / 86400
	h, _ = HazenWilliams(mgd, 12*inch, 1000, 100)
	close(t, "Fair Ex. 5.4", h, 2.05, 0.06)
	h, _ = HazenWilliams(0.1*mgd, 12*inch, 1000, 100)
	close(t, "Fair Ex. 5.4, tenth", h, 0.028, 0.06)
	// Fair, Geyer, Okun 1966, Ex. 12.4: 60 in, C 100, 20 and 40 per mille:
	// 18.3 and 26.7 ft/s
	l := NewHazenWilliams(60*inch, 100)
	close(t, "Fair Ex. 12.4", Velocity(l.Flow(0.020), 60*inch)/foot, 18.3, 0.003)
	close(t, "Fair Ex. 12.4, steep", Velocity(l.Flow(0.040), 60*inch)/foot, 26.7, 0.003)
	// computed by ourselves from eq. 5.34 of the same book: C 120, 0.4 m,
	// 0.25 m³/s, 800 m; the usual rounding to 10.67, 1.852, 4.8704 gives 8.01
	h, _ = HazenWilliams(0.25, 0.4, 800, 120)
	close(t, "eq. 5.34", h, 8.01, 0.002)
}

// drawLaw draws any law within the range of pipelines and beyond.
func drawLaw(t *rapid.T) (l Law, scale float64) {
	bore := math.Pow(10, rapid.Float64Range(-2, 0.6).Draw(t, "log bore"))
	if rapid.Bool().Draw(t, "Hazen–Williams") {
		l = NewHazenWilliams(bore, rapid.Float64Range(40, 160).Draw(t, "C"))
		return l, l.tiny
	}
	rough := bore * rapid.SampledFrom([]float64{0, 1e-6, 1e-4, 1e-3, 0.05, 0.5}).Draw(t, "k/D")
	nu := math.Pow(10, rapid.Float64Range(-7, -4).Draw(t, "log viscosity"))
	l = NewDarcyWeisbach(bore, rough, nu, g)
	return l, l.q1
}

func TestLawProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, scale := drawLaw(t)
		q := scale * math.Pow(10, rapid.Float64Range(-3, 5).Draw(t, "log flow"))
		s, m := l.Gradient(q)
		if back, m2 := l.Gradient(-q); back != -s || m2 != m {
			t.Fatalf("not odd at %g: %g, %g", q, s, back)
		}
		if !(s > 0 && m > 0 && m >= 0.99*s/q && m < 20*s/q) {
			t.Fatalf("at %g: slope %g, derivative %g", q, s, m)
		}
		up, mUp := l.Gradient(q * (1 + 1e-6))
		down, mDown := l.Gradient(q * (1 - 1e-6))
		difference := (up - down) / (q*(1+1e-6) - q*(1-1e-6))
		if math.Abs(difference/m-1) > 1e-4+math.Abs(mUp-mDown)/m {
			t.Fatalf("derivative at %g: %g, by difference %g", q, m, difference)
		}
		if back := l.Flow(s); math.Abs(back/q-1) > 1e-12 {
			t.Fatalf("flow at the slope of %g: %g", q, back)
		}
		if l.Flow(-s) != -l.Flow(s) || l.Flow(0) != 0 {
			t.Fatal("flow is not odd")
		}
	})
}

// Head loss rises throughout, and its derivative is continuous where one branch
// hands over to the next.
func TestLawIsSmooth(t *testing.T) {
	for _, k := range []float64{0, 1e-5, 1e-3, 0.05, 0.5} {
		l := NewDarcyWeisbach(0.3, 0.3*k, 1.3e-6, g)
		checkSmooth(t, &l, 2.2*l.q2, l.q1, l.q2)
	}
	l := NewHazenWilliams(0.3, 120)
	checkSmooth(t, &l, 4*l.tiny, l.tiny)
	s, m := l.Gradient(0)
	if s != 0 || !(m > 0) || math.IsInf(m, 0) {
		t.Errorf("Hazen–Williams at rest: %g, %g", s, m)
	}
}

func checkSmooth(t *testing.T, l *Law, top float64, joints ...float64) {
	t.Helper()
	const n = 20000
	last, _ := l.Gradient(0)
	for i := 1; i <= n; i++ {
		s, m := l.Gradient(top * float64(i) / n)
		if s <= last || !(m > 0) {
			t.Fatalf("falls at %g of %g", top*float64(i)/n, top)
		}
		last = s
	}
	for _, q := range joints {
		s0, m0 := l.Gradient(q * (1 - 1e-10))
		s1, m1 := l.Gradient(q * (1 + 1e-10))
		close(t, "slope across a joint", s1, s0, 1e-9)
		close(t, "derivative across a joint", m1, m0, 1e-6)
	}
}

func TestFrictionAgreesWithTheLaw(t *testing.T) {
	const bore, nu = 0.2, 1e-6
	for _, re := range []float64{10, 1999, 2001, 2500, 3999, 4001, 1e5, 1e8} {
		for _, k := range []float64{0, 1e-3, 0.05} {
			q := re * math.Pi / 4 * bore * nu
			h, _ := HeadLoss(q, bore, 1, k*bore, nu, g)
			v := Velocity(q, bore)
			close(t, "f v²/2gD", Friction(re, k)*v*v/(2*g*bore), h, 1e-13)
		}
	}
}

// Hagen and Poiseuille's law: h = 32 ν L v/(g D²), exact in laminar flow.
func TestLaminarIsPoiseuille(t *testing.T) {
	const bore, nu, length = 0.05, 1e-4, 10.0
	const q = 0.5e-3
	h, m := HeadLoss(q, bore, length, 1e-3, nu, g)
	close(t, "head", h, 32*nu*length*Velocity(q, bore)/(g*bore*bore), 1e-14)
	close(t, "derivative", m, h/q, 1e-14)
}

func TestCallersFaultsPanic(t *testing.T) {
	for name, f := range map[string]func(){
		"no bore":           func() { NewDarcyWeisbach(0, 0, 1e-6, g) },
		"rough as the bore": func() { NewDarcyWeisbach(0.1, 0.1, 1e-6, g) },
		"not a number":      func() { NewDarcyWeisbach(0.1, math.NaN(), 1e-6, g) },
		"no viscosity":      func() { NewDarcyWeisbach(0.1, 0, 0, g) },
		"endless bore":      func() { NewDarcyWeisbach(math.Inf(1), 0, 1, g) },
		"no C":              func() { NewHazenWilliams(0.1, 0) },
		"Reynolds number 0": func() { Friction(0, 0) },
		"too rough":         func() { Friction(1e5, 1) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", name)
				}
			}()
			f()
		}()
	}
}

func TestGradientAllocatesNothing(t *testing.T) {
	l := NewDarcyWeisbach(0.3, 1e-4, 1e-6, g)
	if n := testing.AllocsPerRun(100, func() { l.Gradient(0.1) }); n != 0 {
		t.Errorf("%g allocations", n)
	}
}

var sink float64

// Different Reynolds numbers and roughnesses at each call, so that no branch
// is learnt.
func BenchmarkColebrook(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 2))
	var in [1024][2]float64
	for i := range in {
		in[i] = [2]float64{4e3 * math.Pow(2.5e4, rng.Float64()), 0.05 * math.Pow(rng.Float64(), 4)}
	}
	i := 0
	for b.Loop() {
		c := &in[i&1023]
		sink += Friction(c[0], c[1])
		i++
	}
}

func BenchmarkGradient(b *testing.B) {
	l := NewDarcyWeisbach(0.3, 1e-4, 1e-6, g)
	q := 0.05
	for b.Loop() {
		_, m := l.Gradient(q)
		q += 1e-9 * m
	}
}

func BenchmarkHazenGradient(b *testing.B) {
	l := NewHazenWilliams(0.3, 120)
	q := 0.05
	for b.Loop() {
		_, m := l.Gradient(q)
		q += 1e-9 * m
	}
}
