package bench

import (
	"testing"

	"obvert/internal/worked"
)

// TestWorkedNumbers recomputes the numbers of docs/methods/bench.md.
func TestWorkedNumbers(t *testing.T) {
	in := []Input{{Quantity: "gauge", Value: 20000, Uncertainty: 80}, {Quantity: "height", Value: 0.35, Uncertainty: 0.002}}
	e := Evaluate(in, func(x []float64) float64 { return x[0] + 998.2*9.81*x[1] })
	worked.Hold(t, "bench.md", map[string]float64{
		"resolution": FromResolution(100), "half": FromHalfWidth(250), "triangle": FromTriangle(5), "coverage": CoverageFactor(0.95, 4),
		"seat": e.Value, "uncertainty": e.Uncertainty,
	})
}
