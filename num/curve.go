package num

import (
	"errors"
	"fmt"
	"math"
	"sort"
)

// Place says where an argument lies with respect to a curve's points.
type Place uint8

// The three places.
const (
	Within Place = iota // between the first point and the last, ends included
	Below               // below the first point
	Above               // above the last point
)

// String returns the place in plain words.
func (p Place) String() string {
	switch p {
	case Within:
		return "within"
	case Below:
		return "below the first point"
	case Above:
		return "above the last point"
	}
	return fmt.Sprintf("place %d", uint8(p))
}

// ErrNotMonotone is returned by Inverse for a curve that does not strictly
// rise or strictly fall.
var ErrNotMonotone = errors.New("the curve neither rises throughout nor falls throughout")

// Curve is a continuous function through points, made by [Linear] or
// [Monotone]. It is safe for concurrent use, and evaluating it allocates nothing.
type Curve struct {
	x, y   []float64
	m      []float64 // slopes at the points; nil for a polygon
	trend  int       // +1 strictly rising, -1 strictly falling, 0 neither
	before float64   // slope at the first point
	after  float64   // slope at the last point
}

// Linear returns the polygon through the points. x must be finite and strictly
// increasing, y finite, and there must be at least two points; the units are
// the caller's.
func Linear(x, y []float64) (*Curve, error) {
	if err := checkPoints(x, y); err != nil {
		return nil, err
	}
	c := newCurve(x, y)
	n := len(c.x)
	c.before = (c.y[1] - c.y[0]) / (c.x[1] - c.x[0])
	c.after = (c.y[n-1] - c.y[n-2]) / (c.x[n-1] - c.x[n-2])
	return c, nil
}

// Monotone returns the monotone cubic Hermite curve through the points, with
// the same conditions as [Linear]. It has a continuous first derivative, and
// its only turning points are points of the data.
//
// Source: F. N. Fritsch, R. E. Carlson, SIAM J. Numer. Anal. 17 (1980) 238-246:
// slopes from the three-point difference, zero where the secants change sign,
// then drawn into the circle of radius 3 (region S2 of the paper).
func Monotone(x, y []float64) (*Curve, error) {
	if err := checkPoints(x, y); err != nil {
		return nil, err
	}
	c := newCurve(x, y)
	c.m = hermiteSlopes(c.x, c.y)
	c.before, c.after = c.m[0], c.m[len(c.m)-1]
	return c, nil
}

// checkPoints looks for what no curve can go through.
func checkPoints(x, y []float64) error {
	if len(x) != len(y) {
		return fmt.Errorf("curve: %d values of x but %d of y: give one y for each x", len(x), len(y))
	}
	if len(x) < 2 {
		return fmt.Errorf("curve: %d points: give at least two", len(x))
	}
	for i := range x {
		if !finite(x[i]) || !finite(y[i]) {
			return fmt.Errorf("curve: point %d (%g, %g) is not finite", i+1, x[i], y[i])
		}
		if i > 0 {
			if x[i] <= x[i-1] {
				return fmt.Errorf("curve: x must increase: point %d has %g after %g", i+1, x[i], x[i-1])
			}
			if !finite((y[i]-y[i-1])/(x[i]-x[i-1])) || !finite(x[i]-x[i-1]) {
				return fmt.Errorf("curve: the slope between points %d and %d is beyond what can be computed", i, i+1)
			}
		}
	}
	return nil
}

func newCurve(x, y []float64) *Curve {
	c := &Curve{x: append([]float64(nil), x...), y: append([]float64(nil), y...)}
	rise, fall := true, true
	for i := 1; i < len(y); i++ {
		rise = rise && y[i] > y[i-1]
		fall = fall && y[i] < y[i-1]
	}
	switch {
	case rise:
		c.trend = +1
	case fall:
		c.trend = -1
	}
	return c
}

// hermiteSlopes returns the slopes at the points after Fritsch and Carlson.
func hermiteSlopes(x, y []float64) []float64 {
	n := len(x)
	h := make([]float64, n-1) // widths
	s := make([]float64, n-1) // secants
	for i := range h {
		h[i] = x[i+1] - x[i]
		s[i] = (y[i+1] - y[i]) / h[i]
	}
	m := make([]float64, n)
	if n == 2 {
		m[0], m[1] = s[0], s[0]
		return m
	}
	for i := 1; i < n-1; i++ {
		if math.Signbit(s[i-1]) == math.Signbit(s[i]) && s[i-1] != 0 && s[i] != 0 {
			wide := h[i-1] + h[i]
			m[i] = s[i-1]*(h[i]/wide) + s[i]*(h[i-1]/wide)
		}
	}
	m[0] = endSlope(h[0], h[1], s[0], s[1])
	m[n-1] = endSlope(h[n-2], h[n-3], s[n-2], s[n-3])
	for i := range s {
		if s[i] == 0 {
			m[i], m[i+1] = 0, 0
			continue
		}
		a, b := m[i]/s[i], m[i+1]/s[i]
		if r := math.Hypot(a, b); r > 3 {
			m[i], m[i+1] = 3*(a/r)*s[i], 3*(b/r)*s[i]
		}
	}
	return m
}

// endSlope is the three-point difference at an end, kept to the sign of the
// end secant s0.
func endSlope(h0, h1, s0, s1 float64) float64 {
	m := s0 + (s0-s1)*(h0/(h0+h1))
	if s0 == 0 || (m > 0) != (s0 > 0) {
		return 0
	}
	return m
}

// At returns the curve's value and slope at x. Outside the points it returns
// the value at the nearer end, slope zero, and says so in the place: the
// caller decides what that means. At an inner corner of a polygon the slope is
// that of the part to the right.
func (c *Curve) At(x float64) (y, slope float64, where Place) {
	n := len(c.x)
	switch {
	case x < c.x[0]:
		return c.y[0], 0, Below
	case x > c.x[n-1]:
		return c.y[n-1], 0, Above
	case x != x:
		panic("num: Curve.At of NaN")
	}
	i := c.part(x)
	y, slope = c.inPart(i, x)
	return y, slope, Within
}

// Extend is [Curve.At], but outside the points it goes on along the tangent at
// the nearer end.
func (c *Curve) Extend(x float64) (y, slope float64, where Place) {
	y, slope, where = c.At(x)
	switch where {
	case Below:
		return y + c.before*(x-c.x[0]), c.before, where
	case Above:
		return y + c.after*(x-c.x[len(c.x)-1]), c.after, where
	}
	return y, slope, where
}

// part returns the index of the part that holds x, which must lie within.
func (c *Curve) part(x float64) int {
	i := sort.SearchFloat64s(c.x, x)
	if i < len(c.x) && c.x[i] == x {
		i++ // a point belongs to the part on its right
	}
	return min(max(i-1, 0), len(c.x)-2)
}

// inPart evaluates part i.
func (c *Curve) inPart(i int, x float64) (y, slope float64) {
	h := c.x[i+1] - c.x[i]
	dy := c.y[i+1] - c.y[i]
	if x == c.x[i+1] { // the last point, exactly
		if c.m == nil {
			return c.y[i+1], dy / h
		}
		return c.y[i+1], c.m[i+1]
	}
	t := (x - c.x[i]) / h
	if c.m == nil {
		return c.y[i] + t*dy, dy / h
	}
	// y = y0 + t (h m0 + t (3 dy - h (2 m0 + m1) + t (h (m0 + m1) - 2 dy)))
	b := c.m[i] * h
	e := c.m[i+1] * h
	p := 3*dy - 2*b - e
	q := b + e - 2*dy
	y = c.y[i] + t*(b+t*(p+t*q))
	// a part never leaves its ends' values but by rounding
	y = min(max(y, min(c.y[i], c.y[i+1])), max(c.y[i], c.y[i+1]))
	return y, (b + t*(2*p+3*t*q)) / h
}

// Range returns the first x and the last.
func (c *Curve) Range() (first, last float64) { return c.x[0], c.x[len(c.x)-1] }

// Trend is +1 for a curve that rises throughout, -1 for one that falls
// throughout, 0 for any other.
func (c *Curve) Trend() int { return c.trend }

// Len returns the number of points.
func (c *Curve) Len() int { return len(c.x) }

// Point returns point i, counted from 0.
func (c *Curve) Point(i int) (x, y float64) { return c.x[i], c.y[i] }

// Inverse returns the x at which a strictly monotone curve has the value y.
// For y outside the curve's values it returns the end that is nearer, with the
// place of x with respect to the points: Below means that x would lie below
// the first point.
func (c *Curve) Inverse(y float64) (x float64, where Place, err error) {
	if c.trend == 0 {
		return c.x[0], Within, ErrNotMonotone
	}
	if y != y {
		panic("num: Curve.Inverse of NaN")
	}
	n := len(c.x)
	up := float64(c.trend)
	switch {
	case up*(y-c.y[0]) < 0:
		return c.x[0], Below, nil
	case up*(y-c.y[n-1]) > 0:
		return c.x[n-1], Above, nil
	}
	// first point at or past y
	k := sort.Search(n, func(i int) bool { return up*(c.y[i]-y) >= 0 })
	if c.y[k] == y {
		return c.x[k], Within, nil
	}
	return c.inverseInPart(k-1, y), Within, nil
}

// inverseInPart solves part i for x: bisection made faster by Newton's step.
func (c *Curve) inverseInPart(i int, y float64) float64 {
	lo, hi := c.x[i], c.x[i+1]
	h := hi - lo
	x := lo + h*((y-c.y[i])/(c.y[i+1]-c.y[i]))
	if c.m == nil {
		return min(max(x, lo), hi)
	}
	up := float64(c.trend)
	loop := Loop{Limit: 120, ChangeAlone: true}
	for loop.Next() {
		v, slope := c.inPart(i, x)
		miss := up * (v - y)
		if miss == 0 {
			break
		}
		if miss > 0 {
			hi = x
		} else {
			lo = x
		}
		next := x - (v-y)/slope
		if !(next > lo && next < hi) {
			next = lo + 0.5*(hi-lo)
		}
		step := next - x
		x = next
		loop.Seen(step/(4*epsilon*(math.Abs(x)+h)), 0)
	}
	return x
}
