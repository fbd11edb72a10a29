package num

// DormandPrince solves initial value problems that are not stiff, by the explicit Runge–Kutta pair of order 5(4) of
// J. R. Dormand and P. J. Prince (J. Comp. Appl. Math. 6 (1980) 19), with the continuous solution of order 4 of E. Hairer,
// S. P. Nørsett and G. Wanner (Solving Ordinary Differential Equations I, 2nd ed. 1993, sec. II.6). Coefficients from memory;
// the tests hold the order of both.
//
// The zero value is ready. A solver keeps its work space from one call to the next and serves one problem at a time.
type DormandPrince struct {
	driver
	k      [7][]float64
	dense  [5][]float64
	e, tmp []float64
}

// Solve goes from t with the state y towards end and leaves the state it reached in y. It stops early at an event, at Accept's
// word, at a limit: the ride says where and why. A new call with the same y goes on from there.
func (d *DormandPrince) Solve(p *IVP, t float64, y []float64, end float64) Ride {
	return d.ride(d, p, t, y, end)
}

// At puts the state at a time within the last step into out; it may be called from IVP.Accept.
func (d *DormandPrince) At(t float64, out []float64) { d.inside(d.shareAt(t), out) }

var dopriC = [7]float64{0, 1. / 5, 3. / 10, 4. / 5, 8. / 9, 1, 1}

var dopriA = [7][6]float64{
	{},
	{1. / 5},
	{3. / 40, 9. / 40},
	{44. / 45, -56. / 15, 32. / 9},
	{19372. / 6561, -25360. / 2187, 64448. / 6561, -212. / 729},
	{9017. / 3168, -355. / 33, 46732. / 5247, 49. / 176, -5103. / 18656},
	{35. / 384, 0, 500. / 1113, 125. / 192, -2187. / 6784, 11. / 84},
}

// dopriE is the weights of order 5 less those of order 4.
var dopriE = [7]float64{71. / 57600, 0, -71. / 16695, 71. / 1920, -17253. / 339200, 22. / 525, -1. / 40}

// dopriD are the weights of the highest term of the continuous solution.
var dopriD = [7]float64{-12715105075. / 11282082432, 0, 87487479700. / 32700410799, -10690763975. / 1880347072,
	701980252875. / 199316789632, -1453857185. / 822651844, 69997945. / 29380423}

func (d *DormandPrince) order() float64 { return 5 }

func (d *DormandPrince) begin(_ *IVP, n int) {
	for i := range d.k {
		d.k[i] = fit(d.k[i], n)
	}
	for i := range d.dense {
		d.dense[i] = fit(d.dense[i], n)
	}
	d.e, d.tmp = fit(d.e, n), fit(d.tmp, n)
}

func (d *DormandPrince) try(t, h float64, y, f0, y1 []float64) float64 {
	copy(d.k[0], f0)
	for s := 1; s < 7; s++ {
		for i := range d.tmp {
			sum := 0.0
			for j := range s {
				sum += dopriA[s][j] * d.k[j][i]
			}
			d.tmp[i] = y[i] + h*sum
		}
		d.eval(t+dopriC[s]*h, d.tmp, d.k[s])
	}
	copy(y1, d.tmp) // the last stage is the solution
	for i := range d.e {
		sum := 0.0
		for j := range d.k {
			sum += dopriE[j] * d.k[j][i]
		}
		d.e[i] = h * sum
	}
	return d.norm(d.e, y, y1)
}

func (d *DormandPrince) done(_, h float64, y, y1, f1 []float64) {
	copy(f1, d.k[6])
	for i := range y {
		diff := y1[i] - y[i]
		bend := h*d.k[0][i] - diff
		top := 0.0
		for j := range d.k {
			top += dopriD[j] * d.k[j][i]
		}
		d.dense[0][i], d.dense[1][i], d.dense[2][i] = y[i], diff, bend
		d.dense[3][i], d.dense[4][i] = diff-h*d.k[6][i]-bend, h*top
	}
}

func (d *DormandPrince) inside(s float64, out []float64) {
	u := 1 - s
	for i := range out {
		out[i] = d.dense[0][i] + s*(d.dense[1][i]+u*(d.dense[2][i]+s*(d.dense[3][i]+u*d.dense[4][i])))
	}
}

// shareAt is the share of the last whole step at a time.
func (d *driver) shareAt(t float64) float64 {
	if d.span == 0 {
		return 1
	}
	return (t - d.t0) / d.span
}
