package num

import (
	"errors"
	"fmt"
	"math"
	"strings"
)

// Checks gathers the faults of an input, so that all are told at once.
type Checks struct {
	Of  string        // package whose input it is
	Who func() string // what is being looked at, asked only where there is a fault; nil: the input as a whole

	faults []error
}

// Fault adds one.
func (c *Checks) Fault(format string, args ...any) {
	of := c.Of + ": "
	if c.Who != nil {
		of += c.Who() + ": "
	}
	c.faults = append(c.faults, fmt.Errorf(strings.ReplaceAll(of, "%", "%%")+format, args...))
}

// Positive wants a finite number above 0.
func (c *Checks) Positive(what string, x float64) {
	if !(x > 0) || math.IsInf(x, 0) {
		c.Fault("%s is %g: give a finite number above 0", what, x)
	}
}

// NotNegative wants a finite number of 0 or more.
func (c *Checks) NotNegative(what string, x float64) {
	if !(x >= 0) || math.IsInf(x, 0) {
		c.Fault("%s is %g: give a finite number, 0 or more", what, x)
	}
}

// Finite wants a finite number.
func (c *Checks) Finite(what string, x float64) {
	if !finite(x) {
		c.Fault("%s is %g: give a finite number", what, x)
	}
}

// Err is all faults so far, joined; nil where there is none.
func (c *Checks) Err() error { return errors.Join(c.faults...) }
