package bench

import (
	"fmt"
	"math"

	"obvert/num"
)

// StraightLine is y = Intercept + Slope·(x − Origin) through readings (JCGM
// 100:2008, H.3).
type StraightLine struct {
	Origin             float64 // x₀, in the unit of x
	Intercept, Slope   float64 // in the unit of y, and of y over that of x
	InterceptDeviation float64 // standard uncertainties
	SlopeDeviation     float64
	Correlation        float64 `unit:"1"` // of Intercept and Slope
	Freedom            float64 `unit:"1"` // n − 2
}

// FitLine puts a straight line through readings by least squares, all weighed
// alike. With two readings the uncertainties are 0 for want of anything to judge
// them by.
func FitLine(x, y []float64, origin float64) (StraightLine, error) {
	if len(x) != len(y) || len(x) < 2 {
		return StraightLine{}, fmt.Errorf("bench: a line through %d readings at %d places: give two or more, as many of each", len(y), len(x))
	}
	rows := make([][]float64, len(x))
	for i := range x {
		rows[i] = []float64{1, x[i] - origin}
	}
	fit, err := num.LeastSquares(rows, y, nil)
	if err != nil {
		return StraightLine{}, fmt.Errorf("bench: a line through %d readings: %w", len(x), err)
	}
	l := StraightLine{
		Origin: origin, Intercept: fit.Coef[0], Slope: fit.Coef[1],
		InterceptDeviation: fit.Deviation(0), SlopeDeviation: fit.Deviation(1), Freedom: float64(len(x) - 2),
	}
	if d := l.InterceptDeviation * l.SlopeDeviation; d > 0 {
		l.Correlation = fit.Covariance[0][1] / d
	}
	return l, nil
}

// At is the line's value at x and its standard uncertainty, with the correlation
// of intercept and slope (JCGM 100:2008, Eq. H.15).
func (l StraightLine) At(x float64) (y, u float64) {
	d := x - l.Origin
	y = l.Intercept + l.Slope*d
	v := l.InterceptDeviation*l.InterceptDeviation + d*d*l.SlopeDeviation*l.SlopeDeviation +
		2*d*l.InterceptDeviation*l.SlopeDeviation*l.Correlation
	return y, math.Sqrt(math.Max(0, v))
}
