package num

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.17g, want %.17g within %g", what, got, want, tol)
	}
}

func TestLoopEnds(t *testing.T) {
	closed := make(chan struct{})
	close(closed)
	tests := []struct {
		name string
		loop Loop
		seen func(l *Loop, i int)
		want Status
		n    int
	}{
		{"converges when both are small", Loop{}, func(l *Loop, i int) { l.Seen(math.Pow(10, float64(3-i)), 0.5) }, Converged, 3},
		{"residual holds it back", Loop{Limit: 9}, func(l *Loop, i int) { l.Seen(0, 2) }, Limit, 9},
		{"change alone", Loop{ChangeAlone: true}, func(l *Loop, i int) { l.Seen(0, 2) }, Converged, 1},
		{"default limit", Loop{}, func(l *Loop, i int) { l.Seen(5, 5) }, Limit, DefaultLimit},
		{"stalls", Loop{Patience: 4}, func(l *Loop, i int) { l.Seen(7, 7) }, Stalled, 5},
		{"patience renewed by progress", Loop{Patience: 2, Limit: 20}, func(l *Loop, i int) { l.Seen(100-float64(i/2), 2) }, Limit, 20},
		{"not finite", Loop{}, func(l *Loop, i int) { l.Seen(math.NaN(), 1) }, NotFinite, 1},
		{"cancelled", Loop{Done: closed}, func(l *Loop, i int) {}, Cancelled, 0},
		{"stopped", Loop{}, func(l *Loop, i int) { l.Stop(NoBracket) }, NoBracket, 1},
	}
	for _, tt := range tests {
		l := tt.loop
		for i := 1; l.Next(); i++ {
			tt.seen(&l, i)
		}
		out := l.Outcome()
		if out.Status != tt.want || out.Iterations != tt.n {
			t.Errorf("%s: %v after %d, want %v after %d", tt.name, out.Status, out.Iterations, tt.want, tt.n)
		}
		if (out.Err("it") == nil) != (tt.want == Converged) {
			t.Errorf("%s: Err is %v", tt.name, out.Err("it"))
		}
		if l.Next() {
			t.Errorf("%s: goes on after its end", tt.name)
		}
	}
}

func TestOutcomeNamesWhatWasIterated(t *testing.T) {
	err := Outcome{Status: Limit, Iterations: 7, Change: 3, Residual: 0.5}.Err("flow in run 2")
	for _, part := range []string{"flow in run 2", "limit of steps reached", "7"} {
		if !strings.Contains(err.Error(), part) {
			t.Errorf("%q does not say %q", err, part)
		}
	}
	if text, _ := Stalled.MarshalText(); string(text) != "stalled" {
		t.Errorf("Stalled is written %q", text)
	}
}

// Roots with known values: the Dottie number cos x = x (OEIS A003957), the
// cubic x³ − 2x − 5 of Wallis (root 2.0945514815423265…, OEIS A007493), a triple
// root, a pole-like steep function, and a root at an end.
func TestRootKnown(t *testing.T) {
	tests := []struct {
		name string
		f    func(float64) float64
		a, b float64
		want float64
		tol  float64
	}{
		{"cos x = x", func(x float64) float64 { return math.Cos(x) - x }, 0, 1, 0.73908513321516064166, 1e-15},
		{"Wallis", func(x float64) float64 { return x*x*x - 2*x - 5 }, 2, 3, 2.0945514815423265, 2e-15},
		{"turned bracket", func(x float64) float64 { return x*x*x - 2*x - 5 }, 3, 2, 2.0945514815423265, 2e-15},
		{"triple root", func(x float64) float64 { return (x - 1) * (x - 1) * (x - 1) }, -3, 7, 1, 1e-5},
		{"steep", func(x float64) float64 { return math.Atan(1e9 * (x - 0.3)) }, -1, 2, 0.3, 1e-15},
		{"flat then steep", func(x float64) float64 { return math.Expm1(40 * (x - 0.9)) }, 0, 1, 0.9, 1e-15},
		{"end", func(x float64) float64 { return x - 2 }, 2, 5, 2, 0},
		{"zero, zero tolerance", func(x float64) float64 { return x * (1 + x*x) }, -1, 3, 0, 1e-300},
	}
	for _, tt := range tests {
		x, out := Root(tt.f, tt.a, tt.b, 0)
		near(t, "Root "+tt.name, x, tt.want, tt.tol)
		if !out.OK() {
			t.Errorf("Root %s: %v", tt.name, out)
		}
		slope := func(x float64) (float64, float64) {
			h := 1e-7 * max(1, math.Abs(x))
			return tt.f(x), (tt.f(x+h) - tt.f(x-h)) / (2 * h)
		}
		x, out = Newton(slope, tt.a, tt.a, tt.b, 0)
		near(t, "Newton "+tt.name, x, tt.want, max(tt.tol, 1e-15))
		if !out.OK() {
			t.Errorf("Newton %s: %v", tt.name, out)
		}
	}
}

func TestRootSaysWhatIsWrong(t *testing.T) {
	square := func(x float64) float64 { return x*x + 1 }
	x, out := Root(square, -1, 3, 1e-9)
	if out.Status != NoBracket || x != -1 {
		t.Errorf("no bracket: x %g, %v", x, out)
	}
	if _, out = Root(math.Log, -1, 3, 1e-9); out.Status != NotFinite {
		t.Errorf("log of a negative number: %v", out)
	}
	hole := func(x float64) float64 {
		if x > 0.1 && x < 0.9 {
			return math.NaN()
		}
		return x - 0.5
	}
	x, out = Root(hole, 0, 1, 1e-9)
	if out.Status != NotFinite || math.IsNaN(x) {
		t.Errorf("hole: x %g, %v", x, out)
	}
	x, out = Newton(func(x float64) (float64, float64) { return hole(x), 1 }, 0.5, 0, 1, 1e-9)
	if out.Status != NotFinite || math.IsNaN(x) {
		t.Errorf("hole, Newton: x %g, %v", x, out)
	}
}

func TestRootFindsRandomRoots(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rapid.Float64Range(-50, 50).Draw(t, "root")
		a := r - rapid.Float64Range(1e-6, 100).Draw(t, "below")
		b := r + rapid.Float64Range(1e-6, 100).Draw(t, "above")
		k := rapid.Float64Range(1e-3, 5).Draw(t, "stiffness")
		f := func(x float64) float64 { return math.Sinh(k*(x-r)/20) + 0.1*(x-r) }
		g := func(x float64) (float64, float64) { return f(x), k/20*math.Cosh(k*(x-r)/20) + 0.1 }
		x, out := Root(f, a, b, 1e-12)
		if !out.OK() || math.Abs(x-r) > 1e-11 || out.Iterations > 80 {
			t.Fatalf("Root: %g for %g, %v", x, r, out)
		}
		x, out = Newton(g, a, a, b, 1e-12)
		if !out.OK() || math.Abs(x-r) > 1e-11 || out.Iterations > 120 {
			t.Fatalf("Newton: %g for %g, %v", x, r, out)
		}
	})
}

func TestBracket(t *testing.T) {
	f := func(x float64) float64 { return math.Atan(x - 1e4) }
	lo, hi, out := Bracket(f, 0, 1, -10, 1e6)
	if !out.OK() || lo > 1e4 || hi < 1e4 {
		t.Errorf("[%g, %g], %v", lo, hi, out)
	}
	lo, hi, out = Bracket(f, 0, 1, -10, 1e3)
	if out.Status != NoBracket || lo < -10 || hi > 1e3 {
		t.Errorf("out of limits: [%g, %g], %v", lo, hi, out)
	}
	if _, _, out = Bracket(f, 2, 1, 5, 4); out.Status != NoBracket {
		t.Errorf("empty limits: %v", out)
	}
}

func TestBracketsFindsAllRootsOfSine(t *testing.T) {
	found := Brackets(math.Sin, 0.5, 20, 100)
	if len(found) != 6 { // kπ for k = 1…6
		t.Fatalf("%d brackets: %v", len(found), found)
	}
	for k, b := range found {
		x, _ := Root(math.Sin, b[0], b[1], 0)
		near(t, "root of sine", x, float64(k+1)*math.Pi, 1e-14)
	}
	// roots exactly on the grid count once each
	grid := Brackets(func(x float64) float64 { return (x - 1) * (x - 2) * (x - 3) }, 0, 3, 3)
	if len(grid) != 3 {
		t.Errorf("roots on the grid: %v", grid)
	}
}

// Data of F. N. Fritsch & R. E. Carlson (1980), table 1 (RPN 14, a calibration
// curve): from memory, used for shape only.
var (
	rpnX = []float64{7.99, 8.09, 8.19, 8.7, 9.2, 10, 12, 15, 20}
	rpnY = []float64{0, 2.76429e-5, 4.37498e-2, 0.169183, 0.469428, 0.943740, 0.998636, 0.999919, 0.999994}
)

func TestMonotoneRisesWithItsData(t *testing.T) {
	c, err := Monotone(rpnX, rpnY)
	if err != nil {
		t.Fatal(err)
	}
	if c.Trend() != 1 {
		t.Fatalf("trend %d", c.Trend())
	}
	last := -1.0
	for i := 0; i <= 12010; i++ {
		x := min(7.99+float64(i)/1000, 20)
		y, slope, where := c.At(x)
		if where != Within || slope < 0 || y < last {
			t.Fatalf("at %g: %g after %g, slope %g, %v", x, y, last, slope, where)
		}
		last = y
	}
	for i := range rpnX {
		y, _, _ := c.At(rpnX[i])
		near(t, "through its points", y, rpnY[i], 0)
	}
}

func TestCurveReproducesPolynomials(t *testing.T) {
	x := []float64{-2, -1, 0.5, 3, 4}
	y := make([]float64, len(x))
	for i := range x {
		y[i] = 3*x[i] - 7
	}
	for name, build := range map[string]func(x, y []float64) (*Curve, error){"Linear": Linear, "Monotone": Monotone} {
		c, err := build(x, y)
		if err != nil {
			t.Fatal(err)
		}
		for v := -2.0; v <= 4; v += 0.125 {
			got, slope, _ := c.At(v)
			near(t, name+" of a straight line", got, 3*v-7, 1e-14)
			near(t, name+" slope", slope, 3, 1e-14)
		}
	}
	// a parabola on equal steps: three-point slopes are exact where the limiter rests
	px := []float64{0, 1, 2, 3, 4, 5}
	py := []float64{0, 1, 4, 9, 16, 25}
	c, _ := Monotone(px, py)
	for v := 1.0; v <= 5; v += 0.1 {
		got, slope, _ := c.At(v)
		near(t, "parabola", got, v*v, 1e-13)
		near(t, "slope of the parabola", slope, 2*v, 1e-12)
	}
}

func TestCurveSaysWhereItWasAsked(t *testing.T) {
	c, _ := Monotone([]float64{1, 2, 4}, []float64{5, 3, 2})
	y, slope, where := c.At(0.5)
	if y != 5 || slope != 0 || where != Below {
		t.Errorf("below: %g %g %v", y, slope, where)
	}
	y, slope, where = c.At(9)
	if y != 2 || slope != 0 || where != Above {
		t.Errorf("above: %g %g %v", y, slope, where)
	}
	_, end, _ := c.At(4)
	y, slope, where = c.Extend(6)
	if where != Above || slope != end || math.Abs(y-(2+2*end)) > 1e-15 {
		t.Errorf("extended: %g %g %v, slope at the end %g", y, slope, where, end)
	}
	if _, where, _ := c.Inverse(6); where != Below {
		t.Errorf("inverse above the first value of a falling curve: %v", where)
	}
	if _, where, _ := c.Inverse(1); where != Above {
		t.Errorf("inverse below the last value of a falling curve: %v", where)
	}
	bump, _ := Linear([]float64{0, 1, 2}, []float64{0, 1, 0})
	if _, _, err := bump.Inverse(0.5); !errors.Is(err, ErrNotMonotone) {
		t.Errorf("inverse of a bump: %v", err)
	}
}

func TestCurveRefuses(t *testing.T) {
	inf := math.Inf(1)
	for name, p := range map[string][2][]float64{
		"one point":     {{1}, {1}},
		"none":          {nil, nil},
		"unequal":       {{1, 2}, {1}},
		"equal x":       {{1, 1}, {1, 2}},
		"falling x":     {{2, 1}, {1, 2}},
		"not a number":  {{1, 2}, {1, math.NaN()}},
		"infinite":      {{1, inf}, {1, 2}},
		"infinite step": {{-1e308, 1e308}, {0, 1}},
		"infinite rise": {{0, 1}, {-1e308, 1e308}},
	} {
		if _, err := Linear(p[0], p[1]); err == nil {
			t.Errorf("Linear takes %s", name)
		}
		if _, err := Monotone(p[0], p[1]); err == nil {
			t.Errorf("Monotone takes %s", name)
		}
	}
}

// drawPoints draws a strictly rising or falling set of points.
func drawPoints(t *rapid.T) (x, y []float64) {
	n := rapid.IntRange(2, 12).Draw(t, "n")
	sign := rapid.SampledFrom([]float64{-1, 1}).Draw(t, "sign")
	x, y = make([]float64, n), make([]float64, n)
	for i := 1; i < n; i++ {
		x[i] = x[i-1] + rapid.Float64Range(1e-3, 10).Draw(t, "dx")
		y[i] = y[i-1] + sign*rapid.Float64Range(1e-3, 10).Draw(t, "dy")
	}
	return x, y
}

func TestCurveProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y := drawPoints(t)
		build := rapid.SampledFrom([]func(x, y []float64) (*Curve, error){Linear, Monotone}).Draw(t, "kind")
		c, err := build(x, y)
		if err != nil {
			t.Fatal(err)
		}
		first, last := c.Range()
		v := first + (last-first)*rapid.Float64Range(0, 1).Draw(t, "share")
		v = min(v, last)
		got, slope, where := c.At(v)
		if where != Within || float64(c.Trend())*slope < -1e-12 {
			t.Fatalf("At(%g) = %g, %g, %v with trend %d", v, got, slope, where, c.Trend())
		}
		back, where, err := c.Inverse(got)
		again, _, _ := c.At(back)
		if err != nil || where != Within || math.Abs(again-got) > 1e-13*(1+math.Abs(got)+math.Abs(slope)*last) {
			t.Fatalf("Inverse(%g) = %g (%v, %v), where the curve is %g", got, back, where, err, again)
		}
		// continuous, and its slope is its derivative
		h := 1e-6
		if v-h > first && v+h < last {
			lo, _, _ := c.At(v - h)
			hi, _, _ := c.At(v + h)
			_, s0, _ := c.At(v - h)
			_, s1, _ := c.At(v + h)
			mean := (hi - lo) / (2 * h)
			if mean < min(s0, s1, slope)-1e-3*(1+math.Abs(slope)) || mean > max(s0, s1, slope)+1e-3*(1+math.Abs(slope)) {
				t.Fatalf("slope at %g: %g, difference %g", v, slope, mean)
			}
		}
	})
}

func TestCurveAllocatesNothing(t *testing.T) {
	c, _ := Monotone(rpnX, rpnY)
	if n := testing.AllocsPerRun(100, func() {
		c.At(9.5)
		c.Extend(30)
		c.Inverse(0.5)
	}); n != 0 {
		t.Errorf("%g allocations", n)
	}
}

// Moments of the standard normal distribution: E z^(2k) = (2k−1)!!
// (M. Abramowitz, I. Stegun, Handbook of Mathematical Functions, 26.2).
func TestNormalNodesMoments(t *testing.T) {
	for _, n := range []int{1, 2, 3, 7, 20, 64, MaxNodes} {
		nodes := NormalNodes(n)
		want := 1.0
		for k := 0; 2*k <= min(2*n-1, 40); k++ {
			var even, odd float64
			for _, node := range nodes {
				p := math.Pow(node.Z, float64(2*k))
				even += node.Weight * p
				odd += node.Weight * p * node.Z
			}
			near(t, "even moment", even/want, 1, 1e-12)
			near(t, "odd moment", odd/want, 0, 1e-12)
			want *= float64(2*k + 1)
		}
	}
}

// Abramowitz & Stegun table 25.10, n = 5: x = 0.958572464613819 and
// 2.020182870456086 for the weight exp(−x²); ours are √2 times these.
func TestNormalNodesPublished(t *testing.T) {
	nodes := NormalNodes(5)
	near(t, "middle", nodes[2].Z, 0, 0)
	near(t, "inner", nodes[3].Z/math.Sqrt2, 0.958572464613819, 1e-15)
	near(t, "outer", nodes[4].Z/math.Sqrt2, 2.020182870456086, 1e-15)
	near(t, "inner weight", nodes[3].Weight*math.Sqrt(math.Pi), 0.3936193231522, 1e-12)
	near(t, "outer weight", nodes[4].Weight*math.Sqrt(math.Pi), 0.01995324205905, 1e-13)
}

// The mean of Φ((z−a)/b) over z ~ N(0, 1) is Φ(−a/√(1+b²)), an exact identity:
// the integral over a common error has this form.
func TestNormalMeanOfCommonError(t *testing.T) {
	for _, a := range []float64{-2, 0, 0.7, 3} {
		const b = 0.8
		got := NormalMean(40, 0, 1, func(z float64) float64 { return NormalCDF((z - a) / b) })
		near(t, "mean over the common error", got, NormalCDF(-a/math.Sqrt(1+b*b)), 1e-9)
	}
	near(t, "mean of exp", NormalMean(30, 1, 0.5, math.Exp), math.Exp(1+0.125), 1e-13)
}

// Φ(1.959963984540054) = 0.975 and Φ(−10) = 7.619853024160527e-24 (Abramowitz &
// Stegun 26.2 and table 26.2; digits from memory).
func TestNormalDistribution(t *testing.T) {
	near(t, "CDF", NormalCDF(1.959963984540054), 0.975, 1e-16)
	near(t, "tail", NormalCDF(-10)/7.619853024160527e-24, 1, 1e-12)
	z, err := NormalQuantile(0.975)
	near(t, "quantile", z, 1.959963984540054, 1e-13)
	if err != nil {
		t.Error(err)
	}
	for _, p := range []float64{1e-300, 1e-20, 1e-5, 0.3, 0.5, 0.9, 1 - 1e-9} {
		z, err := NormalQuantile(p)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "round trip", NormalCDF(z)/p, 1, 1e-11)
	}
	for _, p := range []float64{0, 1, -1, 2, math.NaN()} {
		if z, err := NormalQuantile(p); err == nil || math.IsNaN(z) {
			t.Errorf("quantile of %g: %g, %v", p, z, err)
		}
	}
	near(t, "density is the derivative", NormalPDF(0.4), (NormalCDF(0.4+1e-5)-NormalCDF(0.4-1e-5))/2e-5, 1e-9)
}

// JCGM 100:2008 (GUM), annex H.3, calibration of a thermometer: readings of
// table H.6 from memory, results printed there: intercept −0.1712 (29), slope
// 0.00218 (67), correlation −0.930, scatter 0.0035; at 30 °C −0.1494 (41).
func TestLeastSquaresThermometer(t *testing.T) {
	temp := []float64{21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511}
	corr := []float64{-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160}
	model := make([][]float64, len(temp))
	for i, v := range temp {
		model[i] = []float64{1, v - 20}
	}
	fit, err := LeastSquares(model, corr, nil)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "intercept", fit.Coef[0], -0.1712, 5e-5)
	near(t, "its deviation", fit.Deviation(0), 0.0029, 5e-5)
	near(t, "slope", fit.Coef[1], 0.00218, 5e-6)
	near(t, "its deviation", fit.Deviation(1), 0.00067, 5e-6)
	near(t, "correlation", fit.Covariance[0][1]/fit.Deviation(0)/fit.Deviation(1), -0.930, 5e-4)
	near(t, "scatter", fit.Scatter, 0.0035, 5e-5)
	y, u := fit.At([]float64{1, 10})
	near(t, "at 30 °C", y, -0.1494, 5e-5)
	near(t, "its deviation", u, 0.0041, 5e-5)
}

func TestLeastSquaresRecoversItsModel(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 15).Draw(t, "n")
		coef := []float64{rapid.Float64Range(-9, 9).Draw(t, "a"), rapid.Float64Range(-9, 9).Draw(t, "b"), rapid.Float64Range(-9, 9).Draw(t, "c")}
		model := make([][]float64, n)
		y, w := make([]float64, n), make([]float64, n)
		for i := range model {
			x := float64(i) / float64(n)
			model[i] = []float64{1, x, x * x}
			y[i] = coef[0] + coef[1]*x + coef[2]*x*x
			w[i] = rapid.Float64Range(0.1, 10).Draw(t, "weight")
		}
		fit, err := LeastSquares(model, y, w)
		if err != nil {
			t.Fatal(err)
		}
		for j := range coef {
			if math.Abs(fit.Coef[j]-coef[j]) > 1e-10 {
				t.Fatalf("coefficient %d: %g for %g", j, fit.Coef[j], coef[j])
			}
		}
		if fit.Scatter > 1e-10 || (fit.Covariance == nil) != (n == 3) {
			t.Fatalf("scatter %g of exact data, covariance %v", fit.Scatter, fit.Covariance)
		}
	})
}

func TestLeastSquaresRefuses(t *testing.T) {
	line := [][]float64{{1, 1}, {1, 1}, {1, 1}}
	y := []float64{1, 2, 3}
	for name, try := range map[string]func() (Fit, error){
		"no data":        func() (Fit, error) { return LeastSquares(nil, nil, nil) },
		"too few":        func() (Fit, error) { return LeastSquares(line[:1], y[:1], nil) },
		"one x":          func() (Fit, error) { return LeastSquares(line, y, nil) },
		"empty column":   func() (Fit, error) { return LeastSquares([][]float64{{1, 0}, {2, 0}}, y[:2], nil) },
		"unequal":        func() (Fit, error) { return LeastSquares(line, y[:2], nil) },
		"ragged":         func() (Fit, error) { return LeastSquares([][]float64{{1, 2}, {1}}, y[:2], nil) },
		"not finite":     func() (Fit, error) { return LeastSquares([][]float64{{math.NaN()}}, y[:1], nil) },
		"value":          func() (Fit, error) { return LeastSquares([][]float64{{1}}, []float64{math.Inf(1)}, nil) },
		"weight of zero": func() (Fit, error) { return LeastSquares([][]float64{{1}}, y[:1], []float64{0}) },
	} {
		if _, err := try(); err == nil {
			t.Errorf("takes %s", name)
		}
	}
}

func BenchmarkRoot(b *testing.B) {
	f := func(x float64) float64 { return x*x*x - 2*x - 5 }
	for b.Loop() {
		Root(f, 2, 3, 1e-12)
	}
}

func BenchmarkCurveAt(b *testing.B) {
	c, _ := Monotone(rpnX, rpnY)
	for b.Loop() {
		c.At(9.7)
	}
}
