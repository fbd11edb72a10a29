package bench

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.8g, want %.8g within %g", what, got, want, tol)
	}
}

// JCGM 100:2008, annex H.1: an end gauge by comparison. Lengths in nm.
func gaugeBlock() ([]Input, func([]float64) float64) {
	in := []Input{
		{Quantity: "standard", Value: 50000623, Uncertainty: 25, Shape: Normal, Freedom: 18},
		{Quantity: "mean difference", Value: 215, Uncertainty: 5.8, Shape: FromRepeats, Freedom: 24},
		{Quantity: "comparator, random", Uncertainty: 3.9, Shape: Normal, Freedom: 5},
		{Quantity: "comparator, systematic", Uncertainty: 6.7, Shape: Normal, Freedom: 8},
		{Quantity: "expansion of the standard", Value: 11.5e-6, Uncertainty: FromHalfWidth(2e-6), Shape: Rectangular},
		{Quantity: "difference of expansion", Uncertainty: FromHalfWidth(1e-6), Shape: Rectangular, Freedom: 50},
		{Quantity: "temperature, mean", Value: -0.1, Uncertainty: 0.2, Shape: Normal},
		{Quantity: "temperature, cycle", Uncertainty: 0.35, Shape: Normal},
		{Quantity: "difference of temperature", Uncertainty: FromHalfWidth(0.05), Shape: Rectangular, Freedom: 2},
	}
	f := func(x []float64) float64 {
		ls, d, as, da, th, dth := x[0], x[1]+x[2]+x[3], x[4], x[5], x[6]+x[7], x[8]
		return ls + d - ls*(da*th+as*dth)
	}
	return in, f
}

func TestGUMH1GaugeBlock(t *testing.T) {
	in, f := gaugeBlock()
	e := Evaluate(in, f)
	near(t, "length", e.Value, 50000838, 0.5)
	near(t, "u", e.Uncertainty, 32, 0.5)
	c := e.Contribution
	near(t, "u of the standard", math.Abs(c[0]), 25, 0.05)
	near(t, "u of the difference", math.Sqrt(c[1]*c[1]+c[2]*c[2]+c[3]*c[3]), 9.7, 0.05)
	near(t, "u of the difference of expansion", math.Abs(c[5]), 2.887, 0.01)
	near(t, "u of the difference of temperature", math.Abs(c[8]), 16.599, 0.05)
	near(t, "effective degrees of freedom", math.Floor(e.Freedom), 16, 0) // H.1.6, from memory
	near(t, "k at 99 %", CoverageFactor(0.99, 16), 2.92, 0.005)           // H.1.6 and table G.2, from memory
	near(t, "u with second order", SecondOrder(in, f), 34, 0.5)
	if e.Uncertainty >= 33 || SecondOrder(in, f) <= 33 {
		t.Error("the second-order terms make no difference")
	}
}

// JCGM 100:2008, annex H.2: resistance, reactance and impedance from correlated
// voltage, current and phase.
func TestGUMH2Correlated(t *testing.T) {
	in := []Input{
		{Quantity: "V", Value: 4.999, Unit: "V", Uncertainty: 0.0032},
		{Quantity: "I", Value: 19.661e-3, Unit: "A", Uncertainty: 9.5e-6},
		{Quantity: "phase", Value: 1.04446, Unit: "rad", Uncertainty: 7.5e-4},
	}
	r := [][]float64{{1, -.36, .86}, {-.36, 1, -.65}, {.86, -.65, 1}}
	resistance := func(x []float64) float64 { return x[0] / x[1] * math.Cos(x[2]) }
	reactance := func(x []float64) float64 { return x[0] / x[1] * math.Sin(x[2]) }
	impedance := func(x []float64) float64 { return x[0] / x[1] }
	e, c := EvaluateAll(in, r, resistance, reactance, impedance)
	near(t, "R", e[0].Value, 127.732, 0.001)
	near(t, "X", e[1].Value, 219.85, 0.01)
	near(t, "Z", e[2].Value, 254.26, 0.01)
	near(t, "u(R)", e[0].Uncertainty, 0.0700, 0.0007)
	near(t, "u(X)", e[1].Uncertainty, 0.2957, 0.003)
	near(t, "u(Z)", e[2].Uncertainty, 0.2366, 0.0024)
	near(t, "r(R,X)", c[0][1], -0.59, 0.006)
	near(t, "r(R,Z)", c[0][2], -0.49, 0.006)
	near(t, "r(X,Z)", c[1][2], 0.99, 0.006)
	if alone := Evaluate(in, resistance); math.Abs(alone.Uncertainty/e[0].Uncertainty-1) < 0.5 {
		t.Error("the correlation makes no difference to u(R)")
	}
	if !e[0].HasNoFreedom {
		t.Error("degrees of freedom claimed for correlated inputs")
	}
}

// JCGM 100:2008, annex H.3: calibration of a thermometer. The eleven readings are
// from memory; the results of the annex confirm them.
func TestGUMH3StraightLine(t *testing.T) {
	temps := []float64{21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511}
	corr := []float64{-.171, -.169, -.166, -.159, -.164, -.165, -.156, -.157, -.159, -.161, -.160}
	l, err := FitLine(temps, corr, 20)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "intercept", l.Intercept, -0.1712, 0.00005)
	near(t, "its u", l.InterceptDeviation, 0.0029, 0.00005)
	near(t, "slope", l.Slope, 0.00218, 0.000005)
	near(t, "its u", l.SlopeDeviation, 0.00067, 0.000005)
	near(t, "correlation", l.Correlation, -0.930, 0.0005)
	y, u := l.At(30)
	near(t, "at 30 °C", y, -0.1494, 0.00005)
	near(t, "its u", u, 0.0041, 0.00005)
}

func sum(x []float64) float64 {
	s := 0.0
	for _, v := range x {
		s += v
	}
	return s
}

// JCGM 101:2008, 9.2.2 to 9.2.4: sums of four quantities.
func TestJCGM101Additive(t *testing.T) {
	four := func(shape Shape, last float64) []Input {
		in := make([]Input, 4)
		for i := range in {
			in[i] = Input{Uncertainty: 1, Shape: shape}
		}
		in[3].Uncertainty = last
		return in
	}
	const trials = 200_000
	for _, c := range []struct {
		name             string
		in               []Input
		u, gum, mc, tol  float64
		exact, exactTols float64
	}{
		{"9.2.2 normal", four(Normal, 1), 2.0, 3.92, 3.92, 0.03, 3.91993, 0.03},
		// the exact half-width is 2√3(2 − (3/5)^¼)
		{"9.2.3 rectangular", four(Rectangular, 1), 2.0, 3.92, 3.88, 0.03, 2 * math.Sqrt(3) * (2 - math.Pow(0.6, 0.25)), 0.03},
		{"9.2.4 one dominant", four(Rectangular, 10), 10.1, 19.9, 17.0, 0.1, 0, 0},
	} {
		e := Evaluate(c.in, sum)
		near(t, c.name+": u", e.Uncertainty, c.u, 0.05)
		near(t, c.name+": GUM half-width", CoverageFactor(0.95, e.Freedom)*e.Uncertainty, c.gum, 0.05)
		lo, hi := MonteCarlo(c.in, sum, trials, 1).Symmetric(0.95)
		near(t, c.name+": drawn half-width", (hi-lo)/2, c.mc, c.tol)
		if c.exact > 0 {
			near(t, c.name+": exact half-width", (hi-lo)/2, c.exact, c.exactTols)
		}
	}
}

// JCGM 101:2008, 9.4: comparison loss Y = X₁² + X₂² where the first-order law
// gives an uncertainty of nothing.
func TestJCGM101ComparisonLoss(t *testing.T) {
	in := []Input{{Uncertainty: 0.005, Shape: Normal}, {Uncertainty: 0.005, Shape: Normal}}
	f := func(x []float64) float64 { return x[0]*x[0] + x[1]*x[1] }
	p := MonteCarlo(in, f, 200_000, 2)
	near(t, "mean", p.Mean, 50e-6, 0.5e-6)
	near(t, "deviation", p.Deviation, 50e-6, 0.7e-6)
	lo, hi := p.Shortest(0.95)
	near(t, "low end", lo, 0, 0.5e-6)
	near(t, "high end", hi, 150e-6, 2e-6)
	if u := Evaluate(in, f).Uncertainty; u != 0 {
		t.Errorf("first order gives %g, the flat point has slope zero", u)
	}
	near(t, "second order", SecondOrder(in, f), 50e-6, 1e-9) // 9.4.2.2.2 note, from memory: equals the exact 2u²
}

// A Student t quantile table: JCGM 100:2008, table G.2 (from memory).
func TestCoverageFactor(t *testing.T) {
	for _, c := range []struct{ p, nu, k float64 }{
		{0.9545, 1, 13.97}, {0.9545, 2, 4.53}, {0.9545, 10, 2.28}, {0.95, 4, 2.78}, {0.99, 8, 3.36}, {0.9545, 0, 2.00},
	} {
		near(t, "k", CoverageFactor(c.p, c.nu), c.k, 0.006)
	}
}

// The law of propagation on a linear model is exact, whatever the numbers.
func TestLinearModelIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "n")
		in, c, want := make([]Input, n), make([]float64, n), 0.0
		for i := range in {
			in[i] = Input{Value: rapid.Float64Range(-10, 10).Draw(t, "x"), Uncertainty: rapid.Float64Range(0.01, 5).Draw(t, "u")}
			c[i] = rapid.Float64Range(-3, 3).Draw(t, "c")
			want += c[i] * c[i] * in[i].Uncertainty * in[i].Uncertainty
		}
		f := func(x []float64) float64 {
			s := 0.0
			for i := range x {
				s += c[i] * x[i]
			}
			return s
		}
		e := Evaluate(in, f)
		if math.Abs(e.Uncertainty-math.Sqrt(want)) > 1e-9*(1+math.Sqrt(want)) || e.Freedom != 0 {
			t.Fatalf("%g against %g", e.Uncertainty, math.Sqrt(want))
		}
		if s := SecondOrder(in, f); math.Abs(s-e.Uncertainty) > 1e-6*(1+e.Uncertainty) {
			t.Fatalf("second order of a straight model: %g against %g", s, e.Uncertainty)
		}
	})
}
