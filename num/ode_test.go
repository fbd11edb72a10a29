package num

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// solver is either method.
type solver interface {
	Solve(p *IVP, t float64, y []float64, end float64) Ride
	At(t float64, out []float64)
}

func solvers() map[string]solver {
	return map[string]solver{"Dormand–Prince": &DormandPrince{}, "Rosenbrock": &Rosenbrock{}}
}

// fixed makes a problem run with steps of one size.
func fixed(p IVP, h float64) *IVP {
	p.Rel, p.Abs, p.First, p.Largest = 1e9, []float64{1e9}, h, h
	return &p
}

// TestOrder halves the step on y' = y cos t (exact: exp(sin t)) and on a forced oscillator: the error must fall by 2^order.
func TestOrder(t *testing.T) {
	p := IVP{F: func(x float64, y, d []float64) {
		d[0] = y[0] * math.Cos(x)
		d[1] = y[2] + math.Sin(x)
		d[2] = -y[1] - y[0]*y[2]*0.1
	}}
	end := func(s solver, h float64) float64 {
		y := []float64{1, 0.3, -0.2}
		if r := s.Solve(fixed(p, h), 0, y, 2); r.Ending != Reached {
			t.Fatalf("%v", r.Ending)
		}
		return math.Abs(y[0] - math.Exp(math.Sin(2)))
	}
	for name, c := range map[string]struct {
		s     solver
		order float64
	}{"Dormand–Prince": {&DormandPrince{}, 5}, "Rosenbrock": {&Rosenbrock{}, 3}} {
		a, b := end(c.s, 0.05), end(c.s, 0.025)
		if got := math.Log2(a / b); math.Abs(got-c.order) > 0.35 {
			t.Errorf("%s: order %.2f from errors %.3g and %.3g, want %g", name, got, a, b, c.order)
		}
	}
}

// TestOrderOldMatrix holds Rosenbrock's order 3 where the derivative by y is kept for all steps: what makes it a W-method.
func TestOrderOldMatrix(t *testing.T) {
	end := func(h float64) float64 {
		y := []float64{1}
		p := fixed(IVP{F: func(x float64, y, d []float64) { d[0] = -y[0] * y[0] * (1 + x) }, Reuse: 1 << 30}, h)
		if r := (&Rosenbrock{}).Solve(p, 0, y, 2); r.Jacobians != 1 {
			t.Fatalf("%d derivatives by y, want one", r.Jacobians)
		}
		return math.Abs(y[0] - 1/(1+2+2.0))
	}
	a, b := end(0.02), end(0.01)
	if got := math.Log2(a / b); math.Abs(got-3) > 0.3 {
		t.Errorf("order %.2f from errors %.3g and %.3g, want 3", got, a, b)
	}
}

// TestRosenbrockConditions holds the conditions of order 3 of a W-method (E. Hairer, G. Wanner, Solving ODEs II, sec. IV.7, from
// memory), stiff accuracy, and no growth at infinity.
func TestRosenbrockConditions(t *testing.T) {
	var beta [4][4]float64 // α + γ
	var alpha, gamma, bsum [4]float64
	for i := range 4 {
		for j := range 4 {
			beta[i][j] = rosAlpha[i][j] + rosGammas[i][j]
			alpha[i] += rosAlpha[i][j]
			gamma[i] += rosGammas[i][j]
			bsum[i] += beta[i][j]
		}
	}
	near := func(what string, got, want float64) {
		if math.Abs(got-want) > 1e-12 {
			t.Errorf("%s: %.15g, want %g", what, got, want)
		}
	}
	var c [10]float64
	second, lower := 0.0, 0.0
	for i := range 4 {
		c[0] += rosB[i]
		c[1] += rosB[i] * alpha[i]
		c[2] += rosB[i] * gamma[i]
		c[3] += rosB[i] * alpha[i] * alpha[i]
		second += rosB2[i]
		lower += rosB2[i] * alpha[i]
		for j := range 4 {
			c[4] += rosB[i] * rosAlpha[i][j] * alpha[j]
			c[5] += rosB[i] * rosAlpha[i][j] * gamma[j]
			c[6] += rosB[i] * rosGammas[i][j] * alpha[j]
			c[7] += rosB[i] * rosGammas[i][j] * gamma[j]
		}
	}
	near("Σb", c[0], 1)
	near("Σbα", c[1], 0.5)
	near("Σbγ", c[2], 0)
	near("Σbα²", c[3], 1./3)
	near("Σbαα", c[4], 1./6)
	near("Σbαγ", c[5], 0)
	near("Σbγα", c[6], 0)
	near("Σbγγ", c[7], 0)
	near("embedded Σb", second, 1)
	near("embedded Σbα", lower, 0.5)
	for j := range 4 { // stiffly accurate: the last row of β is b
		near("last row", beta[3][j], rosB[j])
	}
	near("last abscissa", alpha[3], 1)
	// y' = λ y with hλ → −∞ must be damped to nothing: R(∞) = 0.
	y := []float64{1}
	p := fixed(IVP{F: func(_ float64, y, d []float64) { d[0] = -1e9 * y[0] }}, 1)
	(&Rosenbrock{}).Solve(p, 0, y, 1)
	if math.Abs(y[0]) > 1e-6 {
		t.Errorf("a step of hλ = −1e9 leaves %g of 1", y[0])
	}
}

// TestEmbeddedOrders checks Dormand and Prince's table: rows sum to the abscissae, weights to 1, their difference to 0.
func TestEmbeddedOrders(t *testing.T) {
	sum := 0.0
	for i, row := range dopriA {
		c := 0.0
		for _, a := range row {
			c += a
		}
		if math.Abs(c-dopriC[i]) > 1e-14 {
			t.Errorf("row %d sums to %g, want %g", i, c, dopriC[i])
		}
		sum += dopriE[i]
	}
	if math.Abs(sum) > 1e-15 {
		t.Errorf("the error weights sum to %g", sum)
	}
}

// TestInside compares the solution within a step with the exact one.
func TestInside(t *testing.T) {
	for name, s := range solvers() {
		worst := 0.0
		out := make([]float64, 2)
		last := 0.0
		p := IVP{
			F:   func(_ float64, y, d []float64) { d[0], d[1] = y[1], -y[0] },
			Rel: 1e-8, Abs: []float64{1e-8},
		}
		p.Accept = func(x float64, _ []float64) bool {
			for _, f := range []float64{0.2, 0.5, 0.8} {
				at := last + f*(x-last)
				s.At(at, out)
				worst = max(worst, math.Abs(out[0]-math.Sin(at)))
			}
			last = x
			return true
		}
		s.Solve(&p, 0, []float64{0, 1}, 6)
		if worst > 1e-6 {
			t.Errorf("%s: %g off within steps", name, worst)
		}
	}
}

// TestFreeFall finds when a stone thrown up falls back through three heights, from above only: exact.
func TestFreeFall(t *testing.T) {
	const g, v = 9.81, 20.0
	for name, s := range solvers() {
		y := []float64{0, v}
		p := IVP{
			F:      func(_ float64, y, d []float64) { d[0], d[1] = y[1], -g },
			Events: func(_ float64, y, g []float64) { g[0], g[1], g[2] = y[0]-5, y[0]-10, y[1] },
			Sense:  []int8{-1, -1, 0},
			Rel:    1e-8,
		}
		now, order := 0.0, []int{}
		for range 3 {
			r := s.Solve(&p, now, y, 100)
			if r.Ending != AtEvent {
				t.Fatalf("%s: %v", name, r.Ending)
			}
			now = r.Time
			order = append(order, r.Event)
			want := v / g
			if r.Event < 2 {
				want += math.Sqrt(v*v-2*g*[]float64{5, 10}[r.Event]) / g
			}
			if math.Abs(now-want) > 1e-7 {
				t.Errorf("%s: event %d at %.9f s, want %.9f", name, r.Event, now, want)
			}
		}
		if order[0] != 2 || order[1] != 1 || order[2] != 0 {
			t.Errorf("%s: events in the order %v, want 2 1 0", name, order)
		}
	}
}

// TestStiff takes a fast decay onto a slow circle (A. Prothero, A. Robinson, Math. Comp. 28 (1974) 145; exact: cos t): the
// implicit method needs few steps however stiff, the explicit one many.
func TestStiff(t *testing.T) {
	p := IVP{
		F:   func(x float64, y, d []float64) { d[0] = -1e6*(y[0]-math.Cos(x)) - math.Sin(x) },
		Rel: 1e-5, Abs: []float64{1e-5}, Limit: 20_000,
	}
	y := []float64{2}
	r := (&Rosenbrock{}).Solve(&p, 0, y, 10)
	if r.Ending != Reached || r.Steps > 400 || math.Abs(y[0]-math.Cos(10)) > 1e-4 {
		t.Errorf("Rosenbrock: %v in %d steps, %g off", r.Ending, r.Steps, y[0]-math.Cos(10))
	}
	y[0] = 2
	if r := (&DormandPrince{}).Solve(&p, 0, y, 10); r.Ending != StepLimit {
		t.Errorf("Dormand–Prince: %v after %d steps; a limit of 20,000 should have stopped it", r.Ending, r.Steps)
	}
}

// TestReference compares with numbers of an independent library; the script that made them lies beside them.
func TestReference(t *testing.T) {
	var ref struct {
		Robertson []float64 `json:"robertson"`
		VanDerPol []float64 `json:"van_der_pol"`
		Arenstorf []float64 `json:"arenstorf"`
	}
	data, err := os.ReadFile("testdata/ode.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, &ref); err != nil {
		t.Fatal(err)
	}
	cases := []struct {
		name string
		s    solver
		p    IVP
		y    []float64
		end  float64
		want []float64
		tol  float64
	}{
		{"Robertson", &Rosenbrock{}, IVP{F: func(_ float64, y, d []float64) {
			d[0] = -0.04*y[0] + 1e4*y[1]*y[2]
			d[2] = 3e7 * y[1] * y[1]
			d[1] = -d[0] - d[2]
		}, Rel: 1e-7, Abs: []float64{1e-10, 1e-13, 1e-10}}, []float64{1, 0, 0}, 40, ref.Robertson, 1e-5},
		{"van der Pol", &Rosenbrock{}, IVP{F: func(_ float64, y, d []float64) {
			d[0], d[1] = y[1], 100*(1-y[0]*y[0])*y[1]-y[0]
		}, Rel: 1e-7, Abs: []float64{1e-9}}, []float64{2, 0}, 60, ref.VanDerPol, 1e-5},
		{"Arenstorf", &DormandPrince{}, IVP{F: arenstorf, Rel: 1e-11, Abs: []float64{1e-12}},
			[]float64{0.994, 0, 0, -2.00158510637908252240537862224}, 10, ref.Arenstorf, 1e-5},
	}
	for _, c := range cases {
		r := c.s.Solve(&c.p, 0, c.y, c.end)
		for i, w := range c.want {
			if math.Abs(c.y[i]-w) > c.tol*max(1e-3, math.Abs(w)) {
				t.Errorf("%s (%v): y[%d] = %.10g, want %.10g", c.name, r.Ending, i, c.y[i], w)
			}
		}
	}
}

// arenstorf is the restricted three-body problem of Hairer, Nørsett, Wanner, Solving ODEs I, sec. II.0.
func arenstorf(_ float64, y, d []float64) {
	const m, n = 0.012277471, 1 - 0.012277471
	d1 := math.Pow((y[0]+m)*(y[0]+m)+y[1]*y[1], 1.5)
	d2 := math.Pow((y[0]-n)*(y[0]-n)+y[1]*y[1], 1.5)
	d[0], d[1] = y[2], y[3]
	d[2] = y[0] + 2*y[3] - n*(y[0]+m)/d1 - m*(y[0]-n)/d2
	d[3] = y[1] - 2*y[2] - n*y[1]/d1 - m*y[1]/d2
}

// TestBanded solves the heat equation by lines: band and full matrix must agree, and linear invariants must stay.
func TestBanded(t *testing.T) {
	const n = 40
	f := func(_ float64, y, d []float64) {
		for i := range y {
			d[i] = 0
			if i > 0 {
				d[i] += 300 * (y[i-1] - y[i])
			}
			if i < n-1 {
				d[i] += 300 * (y[i+1] - y[i])
			}
		}
	}
	run := func(banded bool) ([]float64, Ride) {
		y := make([]float64, n)
		y[3] = 1
		r := (&Rosenbrock{}).Solve(&IVP{F: f, Rel: 1e-6, Banded: banded, Lower: 1, Upper: 1, Reuse: 5}, 0, y, 1)
		return y, r
	}
	a, ra := run(true)
	b, rb := run(false)
	sum := 0.0
	for i := range a {
		sum += a[i]
		if math.Abs(a[i]-b[i]) > 1e-7 {
			t.Errorf("y[%d]: band %g, full %g", i, a[i], b[i])
		}
	}
	if math.Abs(sum-1) > 1e-12 {
		t.Errorf("heat is not kept: %g", sum-1)
	}
	if ra.Evals >= rb.Evals/2 {
		t.Errorf("the band saves no evaluations: %d against %d", ra.Evals, rb.Evals)
	}
}

// TestBandSolve holds elimination against the product with the matrix, with pivots that must move.
func TestBandSolve(t *testing.T) {
	const n, low, up = 9, 2, 1
	var b band
	b.shape(n, low, up)
	clear(b.a)
	var full [n][n]float64
	x := 0.37
	for i := range n {
		for j := max(0, i-low); j <= min(n-1, i+up); j++ {
			x = math.Mod(x*37.7+0.113, 1)
			full[i][j] = x - 0.5
			if i == j {
				full[i][j] *= 1e-3
			}
			b.a[b.at(i, j)] = full[i][j]
		}
	}
	want, rhs := make([]float64, n), make([]float64, n)
	for i := range n {
		want[i] = float64(i) - 3
	}
	for i := range n {
		for j := range n {
			rhs[i] += full[i][j] * want[j]
		}
	}
	if !b.factor() {
		t.Fatal("singular")
	}
	b.solve(rhs)
	for i := range n {
		if math.Abs(rhs[i]-want[i]) > 1e-9 {
			t.Errorf("x[%d] = %g, want %g", i, rhs[i], want[i])
		}
	}
}

// TestEndings provokes each way to end.
func TestEndings(t *testing.T) {
	grow := func(_ float64, y, d []float64) { d[0] = y[0] * y[0] } // infinite at t = 1
	bad := func(_ float64, _, d []float64) { d[0] = math.NaN() }
	done := make(chan struct{})
	close(done)
	for name, s := range solvers() {
		for want, p := range map[Ending]IVP{
			StepTooSmall: {F: grow},
			NoNumber:     {F: bad},
			Interrupted:  {F: grow, Done: done},
			Halted:       {F: grow, Accept: func(float64, []float64) bool { return false }},
			StepLimit:    {F: grow, Limit: 5},
		} {
			y := []float64{1}
			if r := s.Solve(&p, 0, y, 2); r.Ending != want {
				t.Errorf("%s: %v, want %v", name, r.Ending, want)
			}
			if !allFinite(y) {
				t.Errorf("%s, %v: state %v", name, want, y)
			}
		}
	}
}

// TestGoesOn stops and goes on: the same end within tolerance.
func TestGoesOn(t *testing.T) {
	f := func(x float64, y, d []float64) { d[0] = math.Cos(x) * y[0] }
	for name, s := range solvers() {
		y := []float64{1}
		p := IVP{F: f, Rel: 1e-9}
		r := s.Solve(&p, 0, y, 1.3)
		p.First = r.Next
		s.Solve(&p, r.Time, y, 2)
		if got, want := y[0], math.Exp(math.Sin(2)); math.Abs(got-want) > 1e-7 {
			t.Errorf("%s: %.10g, want %.10g", name, got, want)
		}
	}
}

func BenchmarkRosenbrockStep(b *testing.B) {
	p := IVP{F: func(_ float64, y, d []float64) {
		for i := range y {
			d[i] = -y[i] * float64(i+1)
		}
	}, Rel: 1e9, Abs: []float64{1e9}, First: 0.01, Largest: 0.01, Reuse: 4}
	var r Rosenbrock
	y := make([]float64, 12)
	for b.Loop() {
		r.Solve(&p, 0, y, 1)
	}
}

// TestScaleAndLongest: errors allowed by what is left, and steps that may not pass a place. y' = −1 to zero beside z' = −z/y, whose right side is
// infinite there; exact: z = z₀·y.
func TestScaleAndLongest(t *testing.T) {
	p := IVP{
		F:       func(_ float64, y, d []float64) { d[0], d[1] = -1, -y[1]/max(y[0], 1e-12) },
		Scale:   func(_ float64, y, s []float64) { s[0], s[1] = 1e-4*y[0], 1e-4*math.Abs(y[1]) },
		Longest: func(_ float64, y []float64) float64 { return 0.9 * y[0] },
		Events:  func(_ float64, y, g []float64) { g[0] = y[0] - 1e-3 },
		Sense:   []int8{-1},
	}
	for name, s := range solvers() {
		y := []float64{1, 5}
		r := s.Solve(&p, 0, y, 2)
		if r.Ending != AtEvent || math.Abs(r.Time-(1-1e-3)) > 1e-6 || math.Abs(y[1]/y[0]-5) > 0.02 {
			t.Errorf("%s: %v at %g, z/y %g, want 5", name, r.Ending, r.Time, y[1]/y[0])
		}
	}
}
