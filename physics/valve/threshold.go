package valve

import "math"

// String is the word for a bound, as a record's text has it.
func (b Bound) String() string {
	if int(b) < len(bounds) {
		return bounds[b]
	}
	return "?"
}

// bounds are the words of a record's key "known", in the order of the constants.
var bounds = [...]string{"not measured", "measured", "more than", "less than", "not applicable"}

// Head returns the threshold's mean in metres of water of a density (kg/m³)
// under a gravity (m/s²). Whether it is a value or only a bound, [Threshold.Bound]
// says; it is 0 where nothing was measured.
func (t Threshold) Head(density, gravity float64) float64 { return t.Mean / (density * gravity) }

// HasValue reports whether Mean is a value or a bound of one.
func (t Threshold) HasValue() bool {
	return t.Bound == Measured || t.Bound == MoreThan || t.Bound == LessThan
}

// Spread returns the standard deviation in Pa of the next shutting about the mean
// as known: the uncertainty of the mean and the scatter together,
// u² = u(mean)² + s² (JCGM 100:2008, 5.1.2). Without a scatter it is the
// uncertainty alone, which is too small: ask HasScatter.
func (t Threshold) Spread() float64 { return math.Hypot(t.Uncertainty, t.Scatter) }

// SealingHead returns the sealing head in metres of water of a density (kg/m³)
// under a gravity (m/s²); see [Threshold.Head].
func (r *Record) SealingHead(density, gravity float64) float64 {
	return r.Sealing.Head(density, gravity)
}

// LettingGoHead returns the letting-go head in metres of water of a density
// (kg/m³) under a gravity (m/s²); see [Threshold.Head].
func (r *Record) LettingGoHead(density, gravity float64) float64 {
	return r.LettingGo.Head(density, gravity)
}

// WithMeasured returns the record with its measured parts (both thresholds, the
// leak curve and their origin) taken from another, and with the other's name. What
// a bench run cannot know (orifices, rating, connection, price) stays.
func (r Record) WithMeasured(m Record) Record {
	r.Name = m.Name
	r.Sealing, r.LettingGo, r.Leak = m.Sealing, m.LettingGo, m.Leak
	r.Origin, r.Source = m.Origin, m.Source
	return r
}
