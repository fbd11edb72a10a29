package costing

import "math"

// PresentFactor is the present value of 1 paid at the end of each of n years at a discount rate r (0 or more):
//
//	a = (1 − (1+r)⁻ⁿ)/r,   n for r = 0
//
// Source: E. P. DeGarmo, W. G. Sullivan, J. A. Bontadelli, Engineering Economy, the factor P/A (from memory). n need not
// be whole.
func PresentFactor(r, n float64) float64 {
	if r == 0 {
		return n
	}
	return -math.Expm1(-n*math.Log1p(r)) / r
}

// never is a time (years) after which nothing is said to pay for itself.
const never = 1e4

// payback is the time in years after which savings s a year have paid for an investment i at a discount rate r: the
// present factor solved for n. ok is false where they never do.
func payback(i, s, r float64) (n float64, ok bool) {
	switch {
	case i <= 0:
		return 0, s >= 0
	case s <= 0 || r*i >= s:
		return 0, false
	case r == 0:
		n = i / s
	default:
		n = -math.Log1p(-r*i/s) / math.Log1p(r)
	}
	if n > never {
		return 0, false
	}
	return n, true
}
