package pipe

import (
	"errors"
	"fmt"
	"math"
)

// Shell is the bearing wall of a pipe. A lining does not bear: with one, Bore is the inside of the bearing wall.
type Shell struct {
	Bore    float64 `unit:"m"`  // inside diameter D
	Wall    float64 `unit:"m"`  // thickness t
	Modulus float64 `unit:"Pa"` // of elasticity E; +Inf for a rigid wall
	Poisson float64 `unit:"1"`  // ratio ν
}

// Outside is the outside diameter, m.
func (s Shell) Outside() float64 { return s.Bore + 2*s.Wall }

// Mean is the diameter of the wall's middle, m.
func (s Shell) Mean() float64 { return s.Bore + s.Wall }

// Check reports every fault of the wall at once, joined; nil where there is none.
func (s Shell) Check() error {
	var c shellChecker
	c.within("bore", s.Bore, 0, 20, "m", "above 0 and up to 20 m")
	c.within("wall", s.Wall, 0, 2, "m", "above 0 and up to 2 m")
	if !(s.Modulus > 0) {
		c.fault("modulus of elasticity is %g Pa: give one above 0, such as 170e9 for ductile iron", s.Modulus)
	}
	if !(s.Poisson >= 0 && s.Poisson < 0.5) {
		c.fault("Poisson's ratio is %g: give one from 0 to below 0.5, such as 0.28 for ductile iron", s.Poisson)
	}
	return errors.Join(c...)
}

// shellChecker collects faults.
type shellChecker []error

func (c *shellChecker) fault(format string, args ...any) {
	*c = append(*c, fmt.Errorf("pipe: "+format, args...))
}

// within wants low < x ≤ high.
func (c *shellChecker) within(what string, x, low, high float64, unit, limits string) {
	if !(x > low && x <= high) {
		c.fault("%s is %g %s: give one %s", what, x, unit, limits)
	}
}

// notNegative wants a finite figure, 0 or more.
func (c *shellChecker) notNegative(what string, x float64, unit string) {
	if !(x >= 0) || math.IsInf(x, 0) {
		c.fault("%s is %g %s: give a finite number, 0 or more", what, x, unit)
	}
}
