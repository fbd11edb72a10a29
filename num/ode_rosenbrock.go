package num

import "math"

// Rosenbrock solves stiff initial value problems by the linearly implicit method ROS34PW2 of J. Rang and L. Angermann
// (BIT Numer. Math. 45 (2005) 761): four stages, order 3 with an embedded second order, L-stable, stiffly accurate, and of
// order 3 also with a matrix that is not the exact derivative by y (a W-method), so that one may serve several steps.
// Coefficients from memory; the tests hold the conditions of order and the damping at infinity. Between the ends of a step the
// solution is the cubic through values and derivatives at both.
//
// The zero value is ready. A solver keeps its work space from one call to the next and serves one problem at a time.
type Rosenbrock struct {
	driver
	u       [4][]float64
	e, tmp  []float64
	jac     []float64 // n rows of width Lower+Upper+1
	low, up int
	age     int // steps for which jac has served; −1: none yet
	w       band
	wh      float64 // step for which w was factored; 0: not
	count   int

	y0, yEnd, f0, fEnd []float64 // of the last step
	h                  float64
}

// Solve goes from t with the state y towards end and leaves the state it reached in y; see [DormandPrince.Solve].
func (r *Rosenbrock) Solve(p *IVP, t float64, y []float64, end float64) Ride {
	r.count = 0
	out := r.ride(r, p, t, y, end)
	out.Jacobians = r.count
	return out
}

// At puts the state at a time within the last step into out; it may be called from IVP.Accept.
func (r *Rosenbrock) At(t float64, out []float64) { r.inside(r.shareAt(t), out) }

const rosGamma = 4.3586652150845900e-01

var (
	rosAlpha = [4][4]float64{
		{},
		{8.7173304301691801e-01},
		{8.4457060015369423e-01, -1.1299064236484185e-01},
		{0, 0, 1},
	}
	rosGammas = [4][4]float64{
		{rosGamma},
		{-8.7173304301691801e-01, rosGamma},
		{-9.0338057013044082e-01, 5.4180672388095326e-02, rosGamma},
		{2.4212380706095346e-01, -1.2232505839045147e+00, 5.4526025533510214e-01, rosGamma},
	}
	rosB  = [4]float64{2.4212380706095346e-01, -1.2232505839045147e+00, 1.5452602553351020e+00, rosGamma}
	rosB2 = [4]float64{3.7810903145819369e-01, -9.6042292212423178e-02, 5.0000000000000000e-01, 2.1793326075422950e-01}
)

// rosTable is the method in the form that needs no product with the matrix (E. Hairer, G. Wanner, Solving Ordinary Differential
// Equations II, 2nd ed. 1996, sec. IV.7): u = Γ k, (1/(hγ) − J) uᵢ = f(y + Σ aᵢⱼ uⱼ) + Σ cᵢⱼ uⱼ/h, y₁ = y + Σ mⱼ uⱼ.
type rosTable struct {
	a, c [4][4]float64
	m, e [4]float64
	at   [4]float64 // time of each stage
}

var ros = makeRos()

func makeRos() (t rosTable) {
	var inv [4][4]float64 // of the lower triangle Γ
	for j := range 4 {
		inv[j][j] = 1 / rosGamma
		for i := j + 1; i < 4; i++ {
			sum := 0.0
			for k := j; k < i; k++ {
				sum += rosGammas[i][k] * inv[k][j]
			}
			inv[i][j] = -sum / rosGamma
		}
	}
	for i := range 4 {
		for j := range 4 {
			for k := range 4 {
				t.a[i][j] += rosAlpha[i][k] * inv[k][j]
			}
			if j < i {
				t.c[i][j] = -inv[i][j]
			}
			t.m[i] += rosB[j] * inv[j][i]
			t.e[i] += (rosB[j] - rosB2[j]) * inv[j][i]
			t.at[i] += rosAlpha[i][j]
		}
	}
	return t
}

func (r *Rosenbrock) order() float64 { return 3 }

func (r *Rosenbrock) begin(p *IVP, n int) {
	for i := range r.u {
		r.u[i] = fit(r.u[i], n)
	}
	for _, s := range []*[]float64{&r.e, &r.tmp, &r.y0, &r.yEnd, &r.f0, &r.fEnd} {
		*s = fit(*s, n)
	}
	r.low, r.up = n-1, n-1
	if p.Banded {
		r.low, r.up = min(p.Lower, n-1), min(p.Upper, n-1)
	}
	r.jac = fit(r.jac, n*(r.low+r.up+1))
	r.w.shape(n, r.low, r.up)
	r.age, r.wh = -1, 0
}

// slope finds the derivative by y from differences, all columns that share no row at a time (A. R. Curtis, M. J. D. Powell,
// J. K. Reid, J. Inst. Math. Appl. 13 (1974) 117).
func (r *Rosenbrock) slope(t float64, y, f0 []float64) {
	r.count++
	r.age, r.wh = 0, 0
	width := r.low + r.up + 1
	copy(r.tmp, y)
	for first := 0; first < min(width, r.n); first++ {
		for j := first; j < r.n; j += width {
			r.tmp[j] = y[j] + r.nudge(j, y[j])
		}
		r.eval(t, r.tmp, r.e)
		for j := first; j < r.n; j += width {
			d := r.tmp[j] - y[j]
			r.tmp[j] = y[j]
			for i := max(0, j-r.up); i <= min(r.n-1, j+r.low); i++ {
				r.jac[i*width+j-i+r.low] = (r.e[i] - f0[i]) / d
			}
		}
	}
}

// nudge is the difference by which unknown j is moved.
func (r *Rosenbrock) nudge(j int, y float64) float64 {
	const root = 1.5e-8
	if r.p.Scale != nil {
		return max(1e-3*r.scaleAbs[j], 1e-12*math.Abs(y))
	}
	return root * max(math.Abs(y), 1e-2*r.scaleAbs[j]/r.rel)
}

// matrix factors 1/(hγ) − J.
func (r *Rosenbrock) matrix(h float64) bool {
	if r.wh == h {
		return true
	}
	width := r.low + r.up + 1
	d := 1 / (h * rosGamma)
	for i := range r.n {
		row := r.w.a[i*r.w.w : (i+1)*r.w.w]
		src := r.jac[i*width : (i+1)*width]
		for k, v := range src {
			row[k] = -v
		}
		for k := width; k < len(row); k++ {
			row[k] = 0
		}
		row[r.low] += d
		for k := range row { // entries outside the matrix
			if j := i + k - r.low; j < 0 || j >= r.n {
				row[k] = 0
			}
		}
	}
	r.wh = h
	return r.w.factor()
}

func (r *Rosenbrock) try(t, h float64, y, f0, y1 []float64) float64 {
	reuse := max(1, r.p.Reuse)
	if r.age < 0 || r.age >= reuse {
		r.slope(t, y, f0)
	}
	err := r.stages(t, h, y, f0, y1)
	if !(err <= 1) && r.age > 0 { // an old matrix may be to blame: once more with a new one
		r.slope(t, y, f0)
		err = r.stages(t, h, y, f0, y1)
	}
	return err
}

func (r *Rosenbrock) stages(t, h float64, y, f0, y1 []float64) float64 {
	if !r.matrix(h) {
		r.wh = 0
		return math.Inf(1)
	}
	for s := range 4 {
		u := r.u[s]
		if s == 0 {
			copy(u, f0)
		} else {
			copy(r.tmp, y)
			for j := range s {
				if a := ros.a[s][j]; a != 0 {
					for i, v := range r.u[j] {
						r.tmp[i] += a * v
					}
				}
			}
			r.eval(t+ros.at[s]*h, r.tmp, u)
			for j := range s {
				c := ros.c[s][j] / h
				for i, v := range r.u[j] {
					u[i] += c * v
				}
			}
		}
		r.w.solve(u)
	}
	copy(y1, y)
	clear(r.e)
	for s := range 4 {
		m, e := ros.m[s], ros.e[s]
		for i, v := range r.u[s] {
			y1[i] += m * v
			r.e[i] += e * v
		}
	}
	if !allFinite(y1) {
		return math.Inf(1)
	}
	return r.norm(r.e, y, y1)
}

func (r *Rosenbrock) done(t, h float64, y, y1, f1 []float64) {
	r.age++
	r.eval(t+h, y1, f1)
	r.h = h
	copy(r.y0, y)
	copy(r.yEnd, y1)
	copy(r.f0, r.f)
	copy(r.fEnd, f1)
}

func (r *Rosenbrock) inside(s float64, out []float64) {
	u := 1 - s
	h00, h10, h01, h11 := (1+2*s)*u*u, s*u*u, s*s*(3-2*s), -s*s*u
	for i := range out {
		out[i] = h00*r.y0[i] + h01*r.yEnd[i] + r.h*(h10*r.f0[i]+h11*r.fEnd[i])
	}
}
