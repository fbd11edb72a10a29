package valve

import (
	"math"
	"sort"
)

// LeakFlow returns the flow of water in m³/s that leaves the valve at a gauge
// pressure p (Pa) at its seat, for a valve that is not shut: 0 at and below 0 and
// from the sealing pressure up, and between the curve's points the monotone cubic
// pieces of [Fritsch and Butland]; the largest flow is that of a point.
//
// Where the valve was never seen tight, or its sealing pressure is not known, the
// curve does not come down to zero: past its last point the last flow stands, and
// [Record.LeakKnown] is false. A record without a curve leaks nothing here; ask
// [Record.HasLeak] first.
//
// [Fritsch and Butland]: https://doi.org/10.1137/0905021
func (r *Record) LeakFlow(p float64) float64 {
	c := r.leakCurve()
	if len(c) < 2 || !(p > 0) {
		return 0
	}
	last := c[len(c)-1]
	if p >= last.Pressure {
		return last.Flow
	}
	return hermite(c, p)
}

// HasLeak reports whether a leak curve was measured.
func (r *Record) HasLeak() bool { return len(r.Leak) > 0 }

// LeakKnown reports whether the leak at a gauge pressure p (Pa) at the seat
// follows from what was measured.
func (r *Record) LeakKnown(p float64) bool {
	if !r.HasLeak() {
		return false
	}
	c := r.leakCurve()
	return p <= c[len(c)-1].Pressure || r.closes()
}

// LargestLeak returns the largest flow of the leak curve in m³/s and the gauge
// pressure at the seat in Pa at which it leaves; 0, 0 without a curve.
func (r *Record) LargestLeak() (flow, pressure float64) {
	for _, pt := range r.Leak {
		if pt.Flow > flow {
			flow, pressure = pt.Flow, pt.Pressure
		}
	}
	return flow, pressure
}

// closes reports whether the pressure from which nothing leaks is known.
func (r *Record) closes() bool { return r.Sealing.Bound == Measured || r.Sealing.Bound == LessThan }

// leakCurve is the curve with its two ends: zero at the seat, zero at the sealing
// pressure where that is known. Points past the sealing pressure are left out:
// nothing leaks there.
func (r *Record) leakCurve() []LeakPoint {
	if !r.HasLeak() {
		return nil
	}
	c := make([]LeakPoint, 0, len(r.Leak)+2)
	if r.Leak[0].Pressure > 0 {
		c = append(c, LeakPoint{})
	}
	for _, pt := range r.Leak {
		if r.closes() && pt.Pressure >= r.Sealing.Mean {
			break
		}
		c = append(c, pt)
	}
	if r.closes() {
		c = append(c, LeakPoint{Pressure: r.Sealing.Mean})
	}
	return c
}

// hermite evaluates the monotone cubic through c at p, which lies between the
// first and the last pressure.
func hermite(c []LeakPoint, p float64) float64 {
	i := sort.Search(len(c)-1, func(i int) bool { return c[i+1].Pressure > p })
	h := c[i+1].Pressure - c[i].Pressure
	t := (p - c[i].Pressure) / h
	d0, d1 := slope(c, i), slope(c, i+1)
	q := c[i].Flow*(1+2*t)*(1-t)*(1-t) + c[i+1].Flow*t*t*(3-2*t) + h*t*(1-t)*(d0*(1-t)-d1*t)
	// rounding alone can leave the two points' range, by some 1e-16 of it
	lo, hi := math.Min(c[i].Flow, c[i+1].Flow), math.Max(c[i].Flow, c[i+1].Flow)
	return math.Min(hi, math.Max(lo, q))
}

// slope is the curve's slope at point i, in m³/s per Pa: within, the weighted
// harmonic mean of the two neighbouring chords (Fritsch and Butland 1984), 0
// where they differ in sign; at the ends the chord, which keeps its interval
// monotone because it is less than three times itself (Fritsch and Carlson 1980).
func slope(c []LeakPoint, i int) float64 {
	chord := func(i int) float64 {
		return (c[i+1].Flow - c[i].Flow) / (c[i+1].Pressure - c[i].Pressure)
	}
	switch {
	case i == 0:
		return chord(0)
	case i == len(c)-1:
		return chord(i - 1)
	}
	a, b := chord(i-1), chord(i)
	if a*b <= 0 {
		return 0
	}
	h0, h1 := c[i].Pressure-c[i-1].Pressure, c[i+1].Pressure-c[i].Pressure
	w0, w1 := 2*h1+h0, h1+2*h0
	return (w0 + w1) / (w0/a + w1/b)
}
