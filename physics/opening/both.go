package opening

import (
	"fmt"
	"math"

	"obvert/num"
)

// Both returns the air through a valve that passes it either way: through in
// when the pipe is below the atmosphere, through out when it is above. A nil
// opening passes nothing that way (a valve that admits no air has in = nil).
//
// pPipe and pAtm are absolute pressures (Pa) in the pipe at the valve and
// outside; tPipe and tAtm the temperatures (K) of the air in the pipe and
// outside, of which the upstream one counts. Mass is positive into the pipe,
// negative out of it.
func Both(in, out Opening, pPipe, pAtm, tPipe, tAtm float64) (Flow, error) {
	o, p1, p2, t1, sign := in, pAtm, pPipe, tAtm, 1.0
	if pPipe > pAtm {
		o, p1, p2, t1, sign = out, pPipe, pAtm, tPipe, -1
	}
	if err := checkState(p1, p2, t1); err != nil {
		return Flow{}, err
	}
	if o == nil || p1 == p2 {
		return Flow{}, nil
	}
	f, err := o.MassFlow(p1, p2, t1)
	f.Mass *= sign
	return f, err
}

// Slope returns how the flow of [Both] changes with the pressure in the pipe,
// ∂ṁ/∂pPipe in kg/(s·Pa), never positive. The true slope at equal pressures is
// infinite, because flow begins with the square root of the differential;
// within [DefaultBelow] of it the slope is that of the secant between
// ±DefaultBelow. Elsewhere it is a central difference, good to six digits but
// for corners (choking, points of a measured curve), where it is the mean of
// both sides.
func Slope(in, out Opening, pPipe, pAtm, tPipe, tAtm float64) (float64, error) {
	if err := checkState(max(pPipe, pAtm), min(pPipe, pAtm), tPipe); err != nil {
		return 0, err
	}
	if err := checkTemperature(tAtm); err != nil {
		return 0, err
	}
	dp := math.Abs(pPipe - pAtm)
	mid, step := pPipe, 1e-4*dp
	if dp <= DefaultBelow {
		mid, step = pAtm, min(DefaultBelow, pAtm/2)
	}
	high, low := min(mid+step, maxPressure), max(mid-step, 0)
	a, err := Both(in, out, low, pAtm, tPipe, tAtm)
	if err != nil {
		return 0, err
	}
	b, err := Both(in, out, high, pAtm, tPipe, tAtm)
	if err != nil {
		return 0, err
	}
	return min((b.Mass-a.Mass)/(high-low), 0), nil
}

// A TooMuchError reports a mass flow that an opening does not pass at any
// differential.
type TooMuchError struct {
	Mass float64 // wanted, kg/s
	Most float64 // what the opening passes at most, kg/s
}

func (e *TooMuchError) Error() string {
	return fmt.Sprintf("opening: %.6g kg/s is wanted, but the opening passes at most %.6g kg/s: take a larger one, or several",
		e.Mass, e.Most)
}

// Differential returns the differential in Pa at which o passes mass (kg/s, 0
// or more), with the pressure of one side held at p (Pa absolute) and t1 (K)
// upstream; and the flow there, with its notes. For a choked flow it is the
// smallest such differential. Air drawn in from a held pressure has an upper
// limit: beyond it the error is a [TooMuchError].
func Differential(o Opening, mass float64, held Side, p, t1 float64) (dp float64, at Flow, err error) {
	switch {
	case held > Downstream:
		return 0, Flow{}, &StateError{"held side", float64(held), "", "choose opening.Upstream or opening.Downstream"}
	case !(mass >= 0) || math.IsInf(mass, 0):
		return 0, Flow{}, &StateError{"mass flow", mass, "kg/s", "give a finite mass flow, 0 or more"}
	}
	if err := checkState(p, p, t1); err != nil {
		return 0, Flow{}, err
	}
	if mass == 0 {
		return 0, Flow{}, nil
	}

	// In s = √(dp/p) a flow that begins with a square root is nearly straight.
	most := 1.0
	if held == Downstream {
		most = math.Sqrt((maxPressure - p) / p)
	}
	flow := func(s float64) (dp float64, f Flow, err error) {
		p1, p2 := held.pressures(p, s*s*p)
		p1, p2 = min(p1, maxPressure), max(p2, 0)
		f, err = o.MassFlow(p1, p2, t1)
		return p1 - p2, f, err
	}
	var fault error
	excess := func(s float64) float64 {
		_, f, err := flow(s)
		if err != nil {
			fault = err
			return math.NaN()
		}
		return f.Mass/mass - 1
	}
	low, high := 0.0, min(1e-3, most)
	for excess(high) < 0 && high < most {
		low, high = high, min(4*high, most)
	}
	top := excess(high)
	switch {
	case fault != nil:
		return 0, Flow{}, fault
	case top < 0:
		return 0, Flow{}, &TooMuchError{mass, mass * (1 + top)}
	}
	s := high
	if top == 0 { // perhaps choked from some smaller differential on: find where that begins
		s = firstAtLeast(func(s float64) bool { return excess(s) >= 0 }, low, high)
	} else {
		var out num.Outcome
		s, out = num.Root(excess, low, high, 1e-13*high)
		if err := out.Err("opening: differential for a mass flow"); err != nil && fault == nil {
			fault = err
		}
	}
	if fault != nil {
		return 0, Flow{}, fault
	}
	return flow(s)
}

// firstAtLeast halves [low, high] down to rounding and returns the smallest
// place where ok holds; it holds at high and from its beginning on.
func firstAtLeast(ok func(float64) bool, low, high float64) float64 {
	for range 60 {
		mid := 0.5*low + 0.5*high
		if ok(mid) {
			high = mid
		} else {
			low = mid
		}
	}
	return high
}
