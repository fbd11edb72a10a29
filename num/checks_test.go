package num

import (
	"math"
	"strings"
	"testing"
)

func TestChecks(t *testing.T) {
	c := Checks{Of: "bore"}
	c.Positive("length (m)", 3)
	c.NotNegative("flow (m³/s)", 0)
	c.Finite("level (m)", -4)
	if err := c.Err(); err != nil {
		t.Errorf("nothing is wrong, and %v", err)
	}
	for _, x := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		c.Positive("a", x)
		c.NotNegative("b", x)
		c.Finite("c", x)
	}
	c.Who = func() string { return "pipe %d" }
	c.Positive("d", 0)
	c.NotNegative("e", -1)
	if n := strings.Count(c.Err().Error(), "bore: "); n != 11 || !strings.Contains(c.Err().Error(), "bore: pipe %d: e is -1") {
		t.Errorf("%d faults, want 11:\n%v", n, c.Err())
	}
}
