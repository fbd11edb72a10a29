package pipe

import (
	"fmt"
	"math"
)

// The Reynolds numbers between which flow is neither surely laminar nor surely
// turbulent. Laminar up to 2000 and Colebrook–White from 4000 is the usual
// reading of the chart (L. F. Moody, Trans. ASME 66 (1944) 671, "critical zone").
const (
	LaminarLimit   = 2000.0
	TurbulentLimit = 4000.0
)

// MaxRelativeRoughness is where Moody's chart ends. Beyond it friction is
// computed all the same, and the caller says so in a note.
const MaxRelativeRoughness = 0.05

// Constants of the Colebrook–White equation
// (C. F. Colebrook, J. Inst. Civ. Eng. 11 (1939) 133).
const (
	roughDivisor = 3.7
	smoothFactor = 2.51
)

// perE turns a natural logarithm into 2·log10.
const perE = 2 / math.Ln10

// Friction returns the Darcy friction factor (4 times Fanning's) for a Reynolds
// number re above 0 and a relative roughness k/D from 0 to below 1.
//
// Up to re 2000 it is 64/re; from 4000 it solves
//
//	1/√f = −2 log10( (k/D)/3.7 + 2.51/(re √f) )
//
// to machine precision. Between the two no formula holds: there head loss is
// the cubic that meets both branches in value and in slope, which rises
// throughout. It panics outside the range of its arguments.
func Friction(re, relRough float64) float64 {
	if !(re > 0 && relRough >= 0 && relRough < 1) {
		panic(fmt.Sprintf("pipe: Friction at Reynolds number %g and relative roughness %g", re, relRough))
	}
	if re <= LaminarLimit {
		return 64 / re
	}
	a := relRough / roughDivisor
	if re >= TurbulentLimit {
		x, _ := colebrook(a, smoothFactor/re)
		return 1 / (x * x)
	}
	// f·re² goes with head loss
	x, w := colebrook(a, smoothFactor/TurbulentLimit)
	end := TurbulentLimit * TurbulentLimit / (x * x)
	g, _ := blend(re, LaminarLimit, 64, TurbulentLimit, end, 2*end/TurbulentLimit*(1-w))
	return g / (re * re)
}

// blend is the cubic between a straight line through the origin (slope m1) up to
// x1 and the point (x2, y2) with slope m2. It rises throughout for m1·x1 < y2
// and end slopes under three times the secant's (Fritsch, Carlson, SIAM J.
// Numer. Anal. 17 (1980) 238); here they are at most 0.26 and 1.26 times.
func blend(x, x1, m1, x2, y2, m2 float64) (y, slope float64) {
	h := x2 - x1
	y1 := m1 * x1
	t := (x - x1) / h
	dy := y2 - y1
	b, e := m1*h, m2*h
	p := 3*dy - 2*b - e
	q := b + e - 2*dy
	return y1 + t*(b+t*(p+t*q)), (b + t*(2*p+3*t*q)) / h
}

// colebrook solves x + c ln(a + b x) = 0, c = 2/ln 10, for x = 1/√f, where
// a = (k/D)/3.7 and b = 2.51/re.
//
// share = w/(1+w), w = c b/(a + b x), is what the slope of head loss needs:
// d ln f / d ln re = −2 share.
//
// A start within about 0.05 (a damped fixed-point step from x = 8, then a whole
// one, both by a quick logarithm) is followed by one step of sixth order: with δ
// the step sought, u = b/y, y = a + b x, z = u δ,
//
//	z + w ln(1+z) = −u F(x)   ⇒   z = z₀ + p (z²/2 − z³/3 + …), p = w/(1+w),
//
// turned round by Lagrange's series. The error that it leaves is below that of
// rounding for re from 4000 to 1e12 and k/D from 0 to 0.5 (see the tests).
func colebrook(a, b float64) (x, share float64) {
	x = 8 - 0.92*(8+perE*quickLog(a+8*b))
	x = -perE * quickLog(a+b*x)

	y := a + b*x
	f := x + perE*fullLog(y)
	u := b / y
	w := perE * u
	r := 1 / (1 + w)
	p := w * r
	d := -f * r
	z := u * d
	c3 := 0.5*p - 1./3
	c4 := 0.25 - p*(5./6-p*(5./8))
	c5 := -0.2 + p*(13./12-p*(7./4-p*(7./8)))
	x += d + d*(z*p)*((0.5+z*c3)+z*z*(c4+z*c5))
	return x, p * (1 - r*z) // w at the new x, to first order
}

// The logarithm by table: ln y = e ln 2 + ln m, and 1/m is near one of 256
// tabulated numbers, so that what is left is a short series (P. T. P. Tang, ACM
// Trans. Math. Softw. 16 (1990) 378). math.Log would do, at about twice the
// time of the whole solution.
const logSteps = 256

type logEntry struct{ inverse, log float64 }

var logTable = func() (t [logSteps]logEntry) {
	for i := range t {
		inverse := 1 / (1 + (float64(i)+0.5)/logSteps)
		t[i] = logEntry{inverse, -math.Log(inverse)}
	}
	return t
}()

// splitLog returns the tabulated part of ln y and r, |r| < 1/511, such that
// ln y = coarse + ln(1+r). y must be a positive normal number.
func splitLog(y float64) (coarse, r float64) {
	bits := math.Float64bits(y)
	entry := &logTable[bits>>44&(logSteps-1)]
	mantissa := math.Float64frombits(bits&(1<<52-1) | 1023<<52)
	exponent := float64(int64(bits>>52) - 1023)
	return exponent*math.Ln2 + entry.log, mantissa*entry.inverse - 1
}

// quickLog is ln y within 2e-6.
func quickLog(y float64) float64 {
	coarse, r := splitLog(y)
	return coarse + r
}

// fullLog is ln y within a few units in the last place of its exponent part.
func fullLog(y float64) float64 {
	coarse, r := splitLog(y)
	r2 := r * r
	return coarse + (r + r2*((r*(1./3)-1./2)+r2*(r*(1./5)-1./4)))
}
