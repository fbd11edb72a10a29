package num

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Fit is the result of a least-squares fit. Its figures have the units of the
// caller's data: coefficient j has the unit of y over that of column j.
type Fit struct {
	Coef       []float64   // coefficients, one a column of the model
	Covariance [][]float64 // of the coefficients, from the scatter; nil without degrees of freedom
	Scatter    float64     `unit:"1"` // standard deviation of one observation of weight 1, in the unit of y; 0 without degrees of freedom
	Freedom    int         `unit:"1"` // degrees of freedom: observations less coefficients
	Condition  float64     `unit:"1"` // condition number of the scaled model; above 1e8 the coefficients say little
}

// Deviation returns the standard deviation of coefficient j, or 0 without
// degrees of freedom.
func (f Fit) Deviation(j int) float64 {
	if f.Covariance == nil {
		return 0
	}
	return math.Sqrt(f.Covariance[j][j])
}

// At returns the fitted value for one row of the model, and its standard
// deviation (0 without degrees of freedom).
func (f Fit) At(row []float64) (y, deviation float64) {
	var variance float64
	for j, r := range row {
		y += r * f.Coef[j]
		if f.Covariance == nil {
			continue
		}
		for k, s := range row {
			variance += r * f.Covariance[j][k] * s
		}
	}
	return y, math.Sqrt(max(variance, 0))
}

// largestCondition is where a fit is refused: half the digits of a float64 are
// left at 1e8, none at 1e16.
const largestCondition = 1e12

// LeastSquares fits y ≈ Σ coef_j · model[i][j] by weighted least squares.
// model has one row an observation; weight (nil: all 1) is 1/variance of each
// observation up to a common factor. It refuses data that do not determine the
// coefficients.
//
// The columns are scaled to unit length and the system is solved by QR
// factorisation (Å. Björck, Numerical Methods for Least Squares Problems, SIAM
// 1996, sec. 2.4).
func LeastSquares(model [][]float64, y, weight []float64) (Fit, error) {
	rows := len(model)
	if err := checkModel(model, y, weight); err != nil {
		return Fit{}, err
	}
	cols := len(model[0])
	a := mat.NewDense(rows, cols, nil)
	b := mat.NewVecDense(rows, nil)
	for i, row := range model {
		w := 1.0
		if weight != nil {
			w = math.Sqrt(weight[i])
		}
		for j, v := range row {
			a.Set(i, j, w*v)
		}
		b.SetVec(i, w*y[i])
	}
	scale, err := scaleColumns(a)
	if err != nil {
		return Fit{}, err
	}
	var qr mat.QR
	qr.Factorize(a)
	fit := Fit{Freedom: rows - cols, Condition: qr.Cond()}
	if !(fit.Condition < largestCondition) {
		return Fit{}, fmt.Errorf("least squares: the %d observations do not tell the %d coefficients apart", rows, cols)
	}
	var x mat.VecDense
	if err := qr.SolveVecTo(&x, false, b); err != nil {
		return Fit{}, fmt.Errorf("least squares: %w", err)
	}
	fit.Coef = make([]float64, cols)
	for j := range cols {
		fit.Coef[j] = x.AtVec(j) / scale[j]
	}
	if fit.Freedom > 0 {
		var left mat.VecDense
		left.MulVec(a, &x)
		left.SubVec(b, &left)
		fit.Scatter = mat.Norm(&left, 2) / math.Sqrt(float64(fit.Freedom))
		fit.Covariance = covariance(&qr, scale, fit.Scatter)
	}
	return fit, nil
}

// checkModel looks for what no fit can use.
func checkModel(model [][]float64, y, weight []float64) error {
	rows := len(model)
	if rows == 0 || len(model[0]) == 0 {
		return fmt.Errorf("least squares: no data")
	}
	if len(y) != rows || weight != nil && len(weight) != rows {
		return fmt.Errorf("least squares: %d rows, %d values, %d weights: give one of each an observation", rows, len(y), len(weight))
	}
	cols := len(model[0])
	if rows < cols {
		return fmt.Errorf("least squares: %d observations for %d coefficients: give at least %d", rows, cols, cols)
	}
	for i, row := range model {
		if len(row) != cols {
			return fmt.Errorf("least squares: row %d has %d columns, the first has %d", i+1, len(row), cols)
		}
		for _, v := range row {
			if !finite(v) {
				return fmt.Errorf("least squares: row %d holds %g", i+1, v)
			}
		}
		if !finite(y[i]) {
			return fmt.Errorf("least squares: value %d is %g", i+1, y[i])
		}
		if weight != nil && !(weight[i] > 0 && finite(weight[i])) {
			return fmt.Errorf("least squares: weight %d is %g: weights are above zero", i+1, weight[i])
		}
	}
	return nil
}

// scaleColumns gives each column unit length and returns the lengths.
func scaleColumns(a *mat.Dense) ([]float64, error) {
	rows, cols := a.Dims()
	scale := make([]float64, cols)
	for j := range cols {
		scale[j] = mat.Norm(a.ColView(j), 2)
		if scale[j] == 0 || !finite(scale[j]) {
			return nil, fmt.Errorf("least squares: column %d of the model has the length %g: it determines nothing", j+1, scale[j])
		}
		for i := range rows {
			a.Set(i, j, a.At(i, j)/scale[j])
		}
	}
	return scale, nil
}

// covariance returns s² (AᵀA)⁻¹ = s² R⁻¹ R⁻ᵀ for unscaled columns.
func covariance(qr *mat.QR, scale []float64, s float64) [][]float64 {
	cols := len(scale)
	var r mat.Dense
	qr.RTo(&r)
	upper := mat.NewTriDense(cols, mat.Upper, nil)
	for i := range cols {
		for j := i; j < cols; j++ {
			upper.SetTri(i, j, r.At(i, j))
		}
	}
	var inverse mat.TriDense
	if err := inverse.InverseTri(upper); err != nil {
		return nil // not reached: the condition was tested
	}
	var square mat.Dense
	square.Mul(&inverse, inverse.T())
	c := make([][]float64, cols)
	for i := range c {
		c[i] = make([]float64, cols)
		for j := range c[i] {
			c[i][j] = s * s * square.At(i, j) / (scale[i] * scale[j])
		}
	}
	return c
}
