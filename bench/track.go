package bench

import (
	"math"
	"slices"
	"sort"
)

// track is one instrument's indications over time.
type track struct {
	t    []float64 // s, rising
	v    []float64 // as indicated
	step float64   // s, median interval
}

// widest is how many median intervals a series may pause before it says nothing of
// the time between. Own choice.
const widest = 10

func trackOf(samples []Sample, pick func(Sample) (float64, bool)) track {
	var k track
	for _, s := range samples {
		if v, ok := pick(s); ok {
			k.t, k.v = append(k.t, s.Time), append(k.v, v)
		}
	}
	k.step = medianStep(k.t)
	return k
}

func gaugeTrack(samples []Sample) track {
	return trackOf(samples, func(s Sample) (float64, bool) { return s.Gauge, s.HasGauge })
}

func tubeTrack(samples []Sample) track {
	return trackOf(samples, func(s Sample) (float64, bool) { return s.Tube, s.HasTube })
}

func medianStep(t []float64) float64 {
	d := make([]float64, 0, len(t))
	for i := 1; i < len(t); i++ {
		d = append(d, t[i]-t[i-1])
	}
	return median(d)
}

// median of a list, 0 for an empty one. The list is put in order.
func median(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	slices.Sort(x)
	if n := len(x); n%2 == 0 {
		return (x[n/2-1] + x[n/2]) / 2
	}
	return x[len(x)/2]
}

// at is the indication at a time, straight between neighbours; not ok before the
// first, after the last and in a pause.
func (k track) at(t float64) (float64, bool) {
	n := len(k.t)
	if n == 0 || t < k.t[0] || t > k.t[n-1] {
		return 0, false
	}
	i := sort.SearchFloat64s(k.t, t)
	if k.t[i] == t {
		return k.v[i], true
	}
	if k.t[i]-k.t[i-1] > widest*k.step {
		return 0, false
	}
	w := (t - k.t[i-1]) / (k.t[i] - k.t[i-1])
	return k.v[i-1]*(1-w) + k.v[i]*w, true
}

// pause is the pair of readings around a time that lie too far apart.
func (k track) pause(t float64) (from, to float64, found bool) {
	i := sort.SearchFloat64s(k.t, t)
	if i == 0 || i == len(k.t) || k.t[i] == t || k.t[i]-k.t[i-1] <= widest*k.step {
		return 0, 0, false
	}
	return k.t[i-1], k.t[i], true
}

// between are the places of the readings with a ≤ t ≤ b.
func (k track) between(a, b float64) (lo, hi int) {
	lo = sort.SearchFloat64s(k.t, a)
	hi = sort.Search(len(k.t), func(i int) bool { return k.t[i] > b })
	return lo, max(lo, hi)
}

// span is the largest less the smallest indication with a ≤ t ≤ b.
func (k track) span(a, b float64) float64 {
	lo, hi := k.between(a, b)
	if lo >= hi {
		return 0
	}
	return slices.Max(k.v[lo:hi]) - slices.Min(k.v[lo:hi])
}

// rate is the slope of the readings around t in indication per second, by a
// straight line through those within a half-width, three at least where there are
// three; 0 where there are not two.
func (k track) rate(t, half float64) float64 {
	lo, hi := k.between(t-half, t+half)
	for hi-lo < 3 && (lo > 0 || hi < len(k.t)) {
		lo, hi = max(0, lo-1), min(len(k.t), hi+1)
	}
	if hi-lo < 2 {
		return 0
	}
	line, err := FitLine(k.t[lo:hi], k.v[lo:hi], t)
	if err != nil {
		return 0
	}
	return line.Slope
}

// noise is the standard deviation of one indication about its neighbours, by second
// differences: √(Σ(v₋ − 2v + v₊)²/6n). A straight rise has none.
func (k track) noise() float64 {
	if len(k.v) < 3 {
		return 0
	}
	var d []float64
	for i := 1; i+1 < len(k.v); i++ {
		x := k.v[i-1] - 2*k.v[i] + k.v[i+1]
		d = append(d, x*x)
	}
	// the median of squares, so that corners of the ramp do not count: for a
	// normal variable it is 0.4549 of the variance (χ²₁ median)
	return math.Sqrt(median(d) / 0.4549 / 6)
}

// usualMove is the median of the movements from reading to reading that are not
// nothing.
func (k track) usualMove() float64 {
	var d []float64
	for i := 1; i < len(k.v); i++ {
		if m := math.Abs(k.v[i] - k.v[i-1]); m > 0 {
			d = append(d, m)
		}
	}
	return median(d)
}
