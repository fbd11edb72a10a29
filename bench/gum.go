package bench

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Shape is the distribution that stands for what is known of a quantity.
type Shape string

// The shapes, in the words of a budget.
const (
	Normal      Shape = "normal"
	Rectangular Shape = "rectangular"
	Triangular  Shape = "triangular"
	FromRepeats Shape = "from repeats" // a mean of n readings: scaled and shifted t with n − 1 degrees of freedom
)

// Input is a quantity that a measured result depends on (JCGM 100:2008, 4.1).
type Input struct {
	Quantity    string  // what it is
	Value       float64 // its estimate, in Unit
	Unit        string
	Uncertainty float64 // standard uncertainty, in Unit
	Shape       Shape
	Freedom     float64 `unit:"1"` // degrees of freedom of Uncertainty, 0 for infinite
	Source      string  // where estimate and uncertainty come from
}

// FromHalfWidth is the standard uncertainty of a quantity known to lie within ±a,
// anywhere alike: a/√3 (JCGM 100:2008, 4.3.7).
func FromHalfWidth(a float64) float64 { return a / math.Sqrt(3) }

// FromTriangle is the standard uncertainty of a quantity within ±a that lies more
// likely near the middle: a/√6 (JCGM 100:2008, 4.3.9).
func FromTriangle(a float64) float64 { return a / math.Sqrt(6) }

// FromResolution is the standard uncertainty that a digital indication of step δ
// brings by itself: δ/√12 (JCGM 100:2008, F.2.2.1).
func FromResolution(step float64) float64 { return step / math.Sqrt(12) }

// Estimate is a measured result with its uncertainty.
type Estimate struct {
	Value        float64   // in the result's unit
	Uncertainty  float64   // combined standard uncertainty
	Freedom      float64   `unit:"1"` // effective degrees of freedom, 0 for infinite
	Sensitivity  []float64 // ∂f/∂xᵢ by input, result's unit per input's
	Contribution []float64 // cᵢ·u(xᵢ) by input, with sign
	HasNoFreedom bool      // inputs are correlated: Welch–Satterthwaite does not hold
	Inputs       []Input
}

// Evaluate carries the uncertainty of independent inputs through a model by the
// law of propagation, first order:
//
//	u²(y) = Σ cᵢ²·u²(xᵢ),  cᵢ = (f(xᵢ + u) − f(xᵢ − u))/(2u)
//
// (JCGM 100:2008, Eq. 10 and 5.1.3 note 2), with the effective degrees of freedom
// of Welch and Satterthwaite, Eq. G.2b. The model must be finite around the
// estimates.
func Evaluate(in []Input, f func(x []float64) float64) Estimate {
	est, _ := EvaluateAll(in, nil, f)
	return est[0]
}

// EvaluateAll carries correlated inputs through several models at once. r holds
// the correlation coefficients of the inputs (nil: independent); the second result
// those of the models' values:
//
//	u(y_k, y_l) = Σᵢ Σⱼ c_ki·c_lj·u(xᵢ)·u(xⱼ)·r(xᵢ, xⱼ)
//
// (JCGM 100:2008, Eq. 16 and H.2.3). With correlated inputs no effective degrees
// of freedom exist by Welch and Satterthwaite.
func EvaluateAll(in []Input, r [][]float64, models ...func(x []float64) float64) ([]Estimate, [][]float64) {
	out := make([]Estimate, len(models))
	for k, f := range models {
		out[k] = firstOrder(in, f)
	}
	cov := make([][]float64, len(models))
	for k := range models {
		cov[k] = make([]float64, len(models))
		for l := range models {
			cov[k][l] = covariance(out[k].Contribution, out[l].Contribution, r)
		}
	}
	for k := range out {
		out[k].Uncertainty = math.Sqrt(math.Max(0, cov[k][k]))
		out[k].HasNoFreedom = r != nil
		if r == nil {
			out[k].Freedom = welchSatterthwaite(in, out[k].Contribution, out[k].Uncertainty)
		}
	}
	return out, normalised(cov)
}

// firstOrder evaluates the model and its sensitivities.
func firstOrder(in []Input, f func(x []float64) float64) Estimate {
	x := values(in)
	e := Estimate{
		Value:        f(x),
		Sensitivity:  make([]float64, len(in)),
		Contribution: make([]float64, len(in)),
		Inputs:       in,
	}
	for i := range in {
		h := step(in[i])
		e.Sensitivity[i] = (at(f, x, i, h) - at(f, x, i, -h)) / (2 * h)
		e.Contribution[i] = e.Sensitivity[i] * in[i].Uncertainty
	}
	return e
}

func values(in []Input) []float64 {
	x := make([]float64, len(in))
	for i := range in {
		x[i] = in[i].Value
	}
	return x
}

// step is the change of an input for its sensitivity: its uncertainty, or, for one
// that is exact, a part in 1e5 of it.
func step(in Input) float64 {
	switch {
	case in.Uncertainty > 0:
		return in.Uncertainty
	case in.Value != 0:
		return 1e-5 * math.Abs(in.Value)
	}
	return 1e-5
}

// at is the model with input i moved by h.
func at(f func([]float64) float64, x []float64, i int, h float64) float64 {
	y := append([]float64(nil), x...)
	y[i] += h
	return f(y)
}

func covariance(a, b []float64, r [][]float64) float64 {
	sum := 0.0
	for i := range a {
		if r == nil {
			sum += a[i] * b[i]
			continue
		}
		for j := range b {
			sum += a[i] * b[j] * r[i][j]
		}
	}
	return sum
}

// normalised turns covariances into correlation coefficients.
func normalised(cov [][]float64) [][]float64 {
	r := make([][]float64, len(cov))
	for k := range cov {
		r[k] = make([]float64, len(cov))
		for l := range cov {
			if d := math.Sqrt(cov[k][k] * cov[l][l]); d > 0 {
				r[k][l] = cov[k][l] / d
			}
		}
	}
	return r
}

// welchSatterthwaite is ν_eff = u⁴ / Σ (cᵢuᵢ)⁴/νᵢ (JCGM 100:2008, Eq. G.2b); 0 for
// infinite.
func welchSatterthwaite(in []Input, contribution []float64, u float64) float64 {
	sum := 0.0
	for i := range in {
		if in[i].Freedom > 0 && u > 0 {
			ratio := contribution[i] / u
			sum += ratio * ratio * ratio * ratio / in[i].Freedom
		}
	}
	if sum == 0 {
		return 0
	}
	return 1 / sum
}

// SecondOrder is the combined standard uncertainty with the next terms of the
// Taylor series, for models that are flat or curved where they stand:
//
//	u²(y) = Σ cᵢ²u²(xᵢ) + Σᵢ Σⱼ (½·f_ij² + f_i·f_ijj)·u²(xᵢ)·u²(xⱼ)
//
// (JCGM 100:2008, 5.1.2 note: for normal, independent inputs). The derivatives are
// central differences over one uncertainty.
func SecondOrder(in []Input, f func(x []float64) float64) float64 {
	e := Evaluate(in, f)
	x := values(in)
	sum := e.Uncertainty * e.Uncertainty
	for i := range in {
		for j := range in {
			ui, uj := in[i].Uncertainty, in[j].Uncertainty
			if ui == 0 || uj == 0 {
				continue
			}
			fij, fijj := derivatives(f, x, i, j, ui, uj)
			sum += (fij*fij/2 + e.Sensitivity[i]*fijj) * ui * ui * uj * uj
		}
	}
	return math.Sqrt(math.Max(0, sum))
}

// derivatives are ∂²f/∂xᵢ∂xⱼ and ∂³f/∂xᵢ∂xⱼ².
func derivatives(f func([]float64) float64, x []float64, i, j int, ui, uj float64) (fij, fijj float64) {
	g := func(a, b float64) float64 {
		y := append([]float64(nil), x...)
		y[i] += a * ui
		y[j] += b * uj
		return f(y)
	}
	if i == j {
		fij = (g(1, 0) - 2*g(0, 0) + g(-1, 0)) / (ui * ui)
		fijj = (g(1, 1) - 2*g(1, 0) + 2*g(-1, 0) - g(-1, -1)) / (2 * ui * ui * ui)
		return fij, fijj
	}
	fij = (g(1, 1) - g(1, -1) - g(-1, 1) + g(-1, -1)) / (4 * ui * uj)
	fijj = ((g(1, 1) - 2*g(1, 0) + g(1, -1)) - (g(-1, 1) - 2*g(-1, 0) + g(-1, -1))) / (2 * ui * uj * uj)
	return fij, fijj
}

// coverage is the level of confidence of the expanded uncertainties shown: with it
// k is 2 for a normal distribution (JCGM 100:2008, table G.1).
const coverage = 0.9545

// CoverageFactor is k = t_p(ν) for a level of confidence p, 0 to 1, and ν degrees
// of freedom, 0 for infinite (JCGM 100:2008, G.6.4).
func CoverageFactor(p, freedom float64) float64 {
	if freedom <= 0 {
		return distuv.UnitNormal.Quantile((1 + p) / 2)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: freedom}.Quantile((1 + p) / 2)
}

// Budget lists an estimate's inputs as the lines of its budget.
func (e Estimate) Budget() []BudgetLine {
	lines := make([]BudgetLine, len(e.Inputs))
	for i, in := range e.Inputs {
		lines[i] = BudgetLine{
			Quantity: in.Quantity, Value: in.Value, Unit: in.Unit, Uncertainty: in.Uncertainty,
			Distribution: string(in.Shape), Sensitivity: e.Sensitivity[i], Contribution: math.Abs(e.Contribution[i]),
			Freedom: in.Freedom, Source: in.Source,
		}
	}
	return lines
}
