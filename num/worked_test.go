package num

import (
	"testing"

	"obvert/internal/worked"
)

// TestWorkedNumbers recomputes the numbers of docs/methods/num.md.
func TestWorkedNumbers(t *testing.T) {
	z, err := NormalQuantile(0.975)
	if err != nil {
		t.Fatal(err)
	}
	c, err := Monotone([]float64{0, 1, 2}, []float64{0, 1, 1})
	if err != nil {
		t.Fatal(err)
	}
	y, _, _ := c.At(0.5)
	root, _ := Root(func(x float64) float64 { return x*x - 2 }, 0, 2, 1e-12)
	worked.Hold(t, "num.md", map[string]float64{"quantile": z, "cubic": y, "root": root,
		"mean": NormalMean(8, 1, 0.5, func(x float64) float64 { return x * x })})
}
