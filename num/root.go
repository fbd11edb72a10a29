package num

import "math"

const epsilon = 0x1p-52 // distance from 1 to the next float64

// Root finds x between a and b with f(x) = 0 by Brent's method.
// f must change sign between a and b; tol is the allowed error of x, in the
// unit of x, on top of rounding (4 units in the last place).
//
// Without a change of sign the status is [NoBracket] and x the end with the
// smaller |f|. Outcome.Residual is |f(x)| as a share of the larger |f| of the
// two ends; Outcome.Change is the last bracket over the allowed one.
//
// Source: R. P. Brent, Algorithms for Minimization without Derivatives
// (Prentice-Hall 1973), sec. 4.6, procedure zero.
func Root(f func(float64) float64, a, b, tol float64) (x float64, out Outcome) {
	fa, fb := f(a), f(b)
	size, x, out, ended := rootEnds(a, b, fa, fb)
	if ended {
		return x, out
	}
	c, fc := a, fa // b: best so far; a: the one before; c: other side of the root
	d := b - a     // last step
	e := d         // last but one
	loop := Loop{Limit: 200, ChangeAlone: true}
	for loop.Next() {
		if math.Abs(fc) < math.Abs(fb) {
			a, b, c = b, c, b
			fa, fb, fc = fb, fc, fb
		}
		allowed := 2*epsilon*math.Abs(b) + 0.5*math.Abs(tol) + tiny
		half := 0.5*c - 0.5*b
		if fb == 0 {
			loop.Seen(0, 0)
			break
		}
		loop.Seen(ratio(half, allowed), fb/size)
		if loop.Outcome().OK() {
			break
		}
		d, e = brentStep(a, b, c, fa, fb, fc, d, e, half, allowed)
		a, fa = b, fb
		if math.Abs(d) > allowed {
			b += d
		} else {
			b += math.Copysign(allowed, half)
		}
		fb = f(b)
		if !finite(fb) {
			loop.Stop(NotFinite)
			b, fb = a, fa // the last point that could be computed
			break
		}
		if (fb > 0) == (fc > 0) {
			c, fc = a, fa
			d = b - a
			e = d
		}
	}
	return b, loop.Outcome()
}

const tiny = 0x1p-1060 // keeps a zero tolerance at a root of zero from dividing by zero

// rootEnds looks at the two ends: an exact hit or no bracket ends the search.
// size is the larger |f| of the two.
func rootEnds(a, b, fa, fb float64) (size, x float64, out Outcome, ended bool) {
	size = max(math.Abs(fa), math.Abs(fb))
	x = b
	if math.Abs(fa) < math.Abs(fb) {
		x = a
	}
	switch {
	case !finite(a) || !finite(b) || !finite(fa) || !finite(fb):
		return size, zeroIfNot(x), Outcome{Status: NotFinite, Change: -1, Residual: -1}, true
	case fa == 0:
		return size, a, Outcome{Status: Converged}, true
	case fb == 0:
		return size, b, Outcome{Status: Converged}, true
	case (fa > 0) == (fb > 0):
		return size, x, Outcome{Status: NoBracket, Change: -1, Residual: 1}, true
	}
	return size, x, Outcome{}, false
}

// brentStep chooses the next step d from b and hands on the step before, e.
func brentStep(a, b, c, fa, fb, fc, d, e, half, allowed float64) (dNew, eNew float64) {
	if math.Abs(e) < allowed || math.Abs(fa) <= math.Abs(fb) {
		return half, half // bisection
	}
	var p, q float64
	s := fb / fa
	if a == c { // secant
		p = 2 * half * s
		q = 1 - s
	} else { // inverse quadratic
		r := fb / fc
		t := fa / fc
		p = s * (2*half*t*(t-r) - (b-a)*(r-1))
		q = (t - 1) * (r - 1) * (s - 1)
	}
	if p > 0 {
		q = -q
	} else {
		p = -p
	}
	if 2*p < min(3*half*q-math.Abs(allowed*q), math.Abs(e*q)) {
		return p / q, d
	}
	return half, half
}

// Newton finds x between a and b with f(x) = 0 from f and its derivative:
// Newton's step from start where it stays inside the bracket and shrinks fast
// enough, bisection otherwise. f must change sign between a and b. tol is the
// allowed last step, in the unit of x, on top of rounding. The outcome reads as
// that of [Root], its Change being the last step.
//
// Source: W. H. Press et al., Numerical Recipes, 3rd ed. (Cambridge 2007), sec. 9.4.
func Newton(f func(float64) (y, slope float64), start, a, b, tol float64) (x float64, out Outcome) {
	fa, _ := f(a)
	fb, _ := f(b)
	size, x, out, ended := rootEnds(a, b, fa, fb)
	if ended {
		return x, out
	}
	lo, hi := a, b // f(lo) < 0 < f(hi), not ordered in x
	if fa > 0 {
		lo, hi = b, a
	}
	x = start
	if !(x > min(a, b) && x < max(a, b)) {
		x = 0.5*a + 0.5*b
	}
	before := math.Abs(b - a) // last step but one
	last := before
	loop := Loop{Limit: 200, ChangeAlone: true}
	for loop.Next() {
		y, slope := f(x)
		if !finite(y) {
			loop.Stop(NotFinite)
			break
		}
		if y == 0 {
			loop.Seen(0, 0)
			break
		}
		if y < 0 {
			lo = x
		} else {
			hi = x
		}
		next := x - y/slope
		inside := next > min(lo, hi) && next < max(lo, hi) // false for NaN too
		if !inside || math.Abs(next-x) > 0.5*before {
			next = 0.5*lo + 0.5*hi
		}
		before, last = last, math.Abs(next-x)
		x = next
		allowed := 2*epsilon*math.Abs(x) + math.Abs(tol) + tiny
		loop.Seen(ratio(last, allowed), y/size)
	}
	return x, loop.Outcome()
}

// Bracket widens [a, b] away from its middle, by a factor 1.6 a step, until f
// changes sign across it; it stays within [least, most]. The status is
// [NoBracket] where f has one sign at both limits.
func Bracket(f func(float64) float64, a, b, least, most float64) (lo, hi float64, out Outcome) {
	const grow = 1.6 // Press et al., Numerical Recipes, sec. 9.1
	lo, hi = max(min(a, b), least), min(max(a, b), most)
	if !(lo < hi) {
		return lo, hi, Outcome{Status: NoBracket, Change: -1, Residual: -1}
	}
	fl, fh := f(lo), f(hi)
	loop := Loop{Limit: 400}
	for loop.Next() {
		switch {
		case !finite(fl) || !finite(fh):
			loop.Stop(NotFinite)
		case fl == 0 || fh == 0 || (fl > 0) != (fh > 0):
			loop.Seen(0, 0)
		case lo <= least && hi >= most:
			loop.Stop(NoBracket)
		case hi >= most || lo > least && math.Abs(fl) < math.Abs(fh):
			lo = max(least, lo-grow*(hi-lo))
			fl = f(lo)
		default:
			hi = min(most, hi+grow*(hi-lo))
			fh = f(hi)
		}
	}
	return lo, hi, loop.Outcome()
}

// Brackets divides [a, b] into n equal parts and returns those across which f
// changes sign, in order; a root exactly at a division is a bracket of no
// width. Roots nearer together than a part can be missed. Points where f is not
// finite belong to no bracket.
func Brackets(f func(float64) float64, a, b float64, n int) [][2]float64 {
	var found [][2]float64
	var x0, y0 float64 // the division before; y0 = 0: no bracket begins there
	for i := range n + 1 {
		x := a + (b-a)*(float64(i)/float64(n))
		y := f(x)
		switch {
		case !finite(y):
			y = 0
		case y == 0:
			found = append(found, [2]float64{x, x})
		case y0 != 0 && (y0 > 0) != (y > 0):
			found = append(found, [2]float64{x0, x})
		}
		x0, y0 = x, y
	}
	return found
}

// ratio is a/b for b > 0, kept finite.
func ratio(a, b float64) float64 { return min(math.Abs(a)/b, math.MaxFloat64) }

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

func zeroIfNot(x float64) float64 {
	if finite(x) {
		return x
	}
	return 0
}
