package bench

import (
	"fmt"
	"math"
	"sort"

	"obvert/physics/air"
	"obvert/physics/water"
)

// frame is everything about a run that does not change from reading to reading.
type frame struct {
	run         *Run
	gauge, tube track // as indicated

	density, densityU float64 // kg/m³, standard uncertainty
	gravity, gravityU float64 // m/s²
	gravitySource     string
	densitySource     string

	gaugeU, tubeU float64 // Pa, standard uncertainty of each instrument's own at its level
	weight        float64 // of the gauge where both are read
}

const (
	seaLevel = 101325.0 // Pa absolute, ISO 2533
	// anomaly is the standard uncertainty of normal gravity against true gravity:
	// common practice, no source.
	anomaly = 5e-4 // m/s²
)

// newFrame puts the water, gravity and the instruments of a run together.
func newFrame(r *Run) (*frame, error) {
	f := &frame{run: r, gauge: gaugeTrack(r.Samples), tube: tubeTrack(r.Samples)}
	if err := f.liquid(); err != nil {
		return nil, err
	}
	if err := f.pull(); err != nil {
		return nil, err
	}
	f.weigh()
	return f, nil
}

// liquid takes the density at the bench's temperature and atmosphere, and its
// uncertainty by the temperature's.
func (f *frame) liquid() error {
	r, p := f.run, seaLevel
	if r.Altitude != 0 {
		atm, err := air.Standard(r.Altitude)
		if err != nil {
			return fmt.Errorf("bench: %w", err)
		}
		p = atm.Pressure
	}
	rho, err := water.Density(r.WaterTemperature, p)
	if err != nil {
		return fmt.Errorf("bench: %w", err)
	}
	u := r.WaterTemperatureUncertainty
	warm, err := water.Density(r.WaterTemperature+math.Max(u, 0.1), p)
	if err != nil {
		return fmt.Errorf("bench: %w", err)
	}
	f.density = rho
	f.densityU = math.Hypot((warm-rho)/math.Max(u, 0.1)*u, r.DensityUncertainty*rho)
	f.densitySource = "IAPWS-IF97 at the water's temperature"
	return nil
}

// pull takes gravity as given or by latitude and altitude.
func (f *frame) pull() error {
	r := f.run
	if r.Gravity > 0 {
		f.gravity, f.gravityU, f.gravitySource = r.Gravity, r.GravityUncertainty, "as given"
		return nil
	}
	g, err := air.Gravity(r.Latitude, r.Altitude)
	if err != nil {
		return fmt.Errorf("bench: %w", err)
	}
	f.gravity, f.gravityU = g, anomaly
	f.gravitySource = "normal gravity (GRS 80) by latitude and altitude; true gravity differs by 0.0005 m/s², common practice, no source"
	if r.GravityUncertainty > 0 {
		f.gravityU = r.GravityUncertainty
	}
	return nil
}

// unit is ρ·g, Pa per metre.
func (f *frame) unit() float64 { return f.density * f.gravity }

// head is a pressure in metres of the bench's water.
func (f *frame) head(p float64) float64 { return p / f.unit() }

// weigh sets the uncertainty of each instrument's own and the weights by inverse
// variance.
func (f *frame) weigh() {
	lv := f.unit() * f.run.LevelUncertainty
	if g := f.run.Gauge; g != nil {
		f.gaugeU = norm(g.Certificate.Expanded/g.Certificate.K, FromResolution(g.Resolution), FromHalfWidth(g.Drift), lv)
		f.weight = 1
	}
	if t := f.run.Tube; t != nil {
		f.tubeU = norm(f.unit()*t.Certificate.Expanded/t.Certificate.K, f.unit()*FromResolution(t.Resolution), f.unit()*FromHalfWidth(t.Drift), lv)
		f.weight = 0
	}
	if f.run.Gauge != nil && f.run.Tube != nil {
		a, b := f.gaugeU*f.gaugeU, f.tubeU*f.tubeU
		f.weight = 0.5
		if a+b > 0 {
			f.weight = b / (a + b)
		}
	}
}

func norm(x ...float64) float64 {
	s := 0.0
	for _, v := range x {
		s += v * v
	}
	return math.Sqrt(s)
}

// added is the correction of an indication, straight between the certificate's
// points and that of the nearest one beyond them.
func (c Certificate) added(at float64) float64 {
	p := c.Corrections
	i := sort.Search(len(p), func(i int) bool { return p[i].At >= at })
	switch {
	case i == 0:
		return p[0].Added
	case i == len(p):
		return p[i-1].Added
	}
	w := (at - p[i-1].At) / (p[i].At - p[i-1].At)
	return p[i-1].Added*(1-w) + p[i].Added*w
}

// beyond reports whether an indication lies outside the certificate's points.
func (c Certificate) beyond(at float64) bool {
	p := c.Corrections
	return len(p) > 1 && (at < p[0].At || at > p[len(p)-1].At)
}

// observation is what both instruments said at one instant.
type observation struct {
	time              float64 // s
	gauge             float64 // Pa, corrected indication
	tube              float64 // m, corrected indication
	gaugeAdded        float64 // corrections within
	tubeAdded         float64
	byGauge, byTube   bool
	rate              float64 // Pa/s, of the head, with sign
	gaugeRaw, tubeRaw float64
	late              bool    // a change, brought forward by the mean delay
	gaugeShare        float64 // weight of the gauge
}

// observe reads both instruments at a time.
func (f *frame) observe(t float64) (observation, bool) {
	o := observation{time: t}
	if f.run.Gauge != nil {
		if o.gaugeRaw, o.byGauge = f.gauge.at(t); o.byGauge {
			o.gaugeAdded = f.run.Gauge.Certificate.added(o.gaugeRaw)
			o.gauge = o.gaugeRaw + o.gaugeAdded
		}
	}
	if f.run.Tube != nil {
		if o.tubeRaw, o.byTube = f.tube.at(t); o.byTube {
			o.tubeAdded = f.run.Tube.Certificate.added(o.tubeRaw)
			o.tube = o.tubeRaw + o.tubeAdded
		}
	}
	switch {
	case o.byGauge && o.byTube:
		o.gaugeShare = f.weight
	case o.byGauge:
		o.gaugeShare = 1
	}
	return o, o.byGauge || o.byTube
}

// gaugeAt and tubeAt are each instrument's pressure at a level, Pa gauge.
func (f *frame) gaugeAt(o observation, level float64) float64 {
	if f.run.Gauge == nil {
		return 0
	}
	return o.gauge + f.unit()*(f.run.Gauge.Level-level)
}

func (f *frame) tubeAt(o observation, level float64) float64 {
	if f.run.Tube == nil {
		return 0
	}
	return f.unit() * (f.run.Tube.Zero + o.tube - level)
}

// pressure is the combined pressure at a level, Pa gauge.
func (f *frame) pressure(o observation, level float64) float64 {
	return o.gaugeShare*f.gaugeAt(o, level) + (1-o.gaugeShare)*f.tubeAt(o, level)
}

// uncertainty is the standard uncertainty of pressure: the instruments' own.
func (f *frame) uncertainty(o observation) float64 {
	return math.Hypot(o.gaugeShare*f.gaugeU, (1-o.gaugeShare)*f.tubeU)
}

// change observes what was marked at t as a change seen to happen: the mean delay
// earlier, with the ramp's rate there.
func (f *frame) change(t float64) (observation, bool) {
	d := f.run.Delay
	o, ok := f.observe(t - d)
	if !ok {
		return o, false
	}
	o.late = true
	o.rate = f.rate(t-d, o)
	return o, true
}

// rate is the ramp around a time in Pa/s: over twice the delay, five readings at
// least.
func (f *frame) rate(t float64, o observation) float64 {
	r := 0.0
	if o.byGauge {
		r += o.gaugeShare * f.gauge.rate(t, math.Max(f.run.Delay, 2*f.gauge.step))
	}
	if o.byTube {
		r += (1 - o.gaugeShare) * f.unit() * f.tube.rate(t, math.Max(f.run.Delay, 2*f.tube.step))
	}
	return r
}

// readings are the series, corrected and combined, at the bench's datum.
func (f *frame) readings() []Reading {
	out := make([]Reading, 0, len(f.run.Samples))
	for _, s := range f.run.Samples {
		o, ok := f.observe(s.Time)
		if !ok {
			continue
		}
		rd := Reading{Time: s.Time, Pressure: f.pressure(o, 0), Uncertainty: f.uncertainty(o), HasGauge: s.HasGauge, HasTube: s.HasTube}
		if s.HasGauge {
			rd.Gauge = f.gaugeAt(o, 0)
		}
		if s.HasTube {
			rd.Tube = f.tubeAt(o, 0)
		}
		rd.Repeat, rd.Rising = f.run.phase(s.Time)
		out = append(out, rd)
	}
	return out
}
