package bench

import (
	"fmt"
	"math"
	"slices"

	"obvert/physics/valve"
)

// judgement is what a run says of one threshold of one valve.
type judgement struct {
	threshold valve.Threshold
	estimate  Estimate
	k         float64
	tight     int // repeats in which the valve was tight
	of        int // repeats that told anything
	findings  []Finding
}

// judgeSealing sums the rises up.
func (f *frame) judgeSealing(v ValveRun, s *story) judgement {
	measured, lower, upper := split(s.up)
	j := judgement{of: len(measured) + len(lower) + len(upper), tight: len(measured) + len(lower)}
	switch {
	case len(upper) > 0:
		top := s.highest
		one := []outcome{{kind: above, p: top.p, obs: []observation{top.obs}}}
		f.bound(&j, v, one, valve.MoreThan, len(upper))
		if j.tight > 0 {
			j.note("bench.not-always-tight", v.Name, fmt.Sprintf("%s was tight in %d of %d repeats only; its sealing head is given as more than what it was seen dripping at.", v.Name, j.tight, j.of))
		}
	case len(measured) > 0:
		f.measure(&j, v, measured, "shutting")
		if len(lower) > 0 {
			j.note("bench.repeat-left-out", v.Name, fmt.Sprintf("%s was tight at the first look in %d of %d repeats; these tell no value and are left out of the mean, which makes it rather too high than too low.", v.Name, len(lower), j.of))
		}
	case len(lower) > 0:
		f.bound(&j, v, highest(lower), valve.LessThan, len(lower))
	default:
		j.note("bench.no-marks", v.Name, v.Name+" has no mark that tells where it became tight.")
	}
	return j
}

// judgeLettingGo sums the falls up, of a valve that was tight in every rise.
func (f *frame) judgeLettingGo(v ValveRun, s *story, sealing valve.Bound) judgement {
	measured, lower, _ := split(s.down)
	j := judgement{of: len(measured) + len(lower)}
	switch {
	case sealing == valve.MoreThan:
		j.threshold.Bound = valve.NotApplicable
	case len(measured) > 0:
		f.measure(&j, v, measured, "letting go")
		if len(lower) > 0 {
			j.note("bench.repeat-left-out", v.Name, fmt.Sprintf("%s was still tight at the last look in %d of %d falls; these tell no value and are left out of the mean letting-go head, which makes it rather too high than too low.", v.Name, len(lower), j.of))
		}
	case len(lower) > 0:
		f.bound(&j, v, highest(lower), valve.LessThan, len(lower))
	}
	return j
}

func (j *judgement) note(id, where, text string) {
	j.findings = append(j.findings, Finding{id, where, text})
}

func split(outs []outcome) (measured, lower, upper []outcome) {
	for _, o := range outs {
		switch o.kind {
		case exact, bounded:
			measured = append(measured, o)
		case below:
			lower = append(lower, o)
		case above:
			upper = append(upper, o)
		}
	}
	return measured, lower, upper
}

// highest is the outcome with the highest pressure: of several bounds from above
// the one that holds for every repeat.
func highest(outs []outcome) []outcome {
	top := outs[0]
	for _, o := range outs {
		if o.p > top.p {
			top = o
		}
	}
	return []outcome{top}
}

// bound gives a threshold that is known from one side only.
func (f *frame) bound(j *judgement, v ValveRun, one []outcome, b valve.Bound, repeats int) {
	j.estimate = Evaluate(f.inputs(v, one, nil))
	j.threshold = valve.Threshold{Bound: b, Mean: j.estimate.Value, Uncertainty: j.estimate.Uncertainty, Repeats: repeats, Freedom: j.estimate.Freedom}
	j.k = CoverageFactor(coverage, j.estimate.Freedom)
}

// measure gives a threshold from its repeats.
func (f *frame) measure(j *judgement, v ValveRun, outs []outcome, what string) {
	sc := f.scatter(j, v, outs, what)
	j.estimate = Evaluate(f.inputs(v, outs, sc))
	j.k = CoverageFactor(coverage, j.estimate.Freedom)
	j.threshold = valve.Threshold{Bound: valve.Measured, Mean: j.estimate.Value, Uncertainty: j.estimate.Uncertainty, Repeats: len(outs), Freedom: j.estimate.Freedom}
	if sc != nil {
		j.threshold.HasScatter, j.threshold.Scatter = true, sc.deviation
	}
	f.drawAgain(j, v, what)
}

// spread is the scatter from one shutting to the next.
type spread struct {
	deviation, freedom float64
	n                  int
	what, source       string
}

// scatter finds the scatter: from the repeats, or for one repeat, or for repeats
// whose looks stand too far apart to see it, from a pooled figure if there is one.
func (f *frame) scatter(j *judgement, v ValveRun, outs []outcome, what string) *spread {
	n := len(outs)
	mean, half := 0.0, 0.0
	for _, o := range outs {
		mean += o.p / float64(n)
		half += o.half / float64(n)
	}
	ss := 0.0
	for _, o := range outs {
		ss += (o.p - mean) * (o.p - mean)
	}
	s := &spread{freedom: float64(n - 1), n: n, what: what, source: fmt.Sprintf("%d repeats", n)}
	if n > 1 {
		s.deviation = math.Sqrt(ss / float64(n-1))
	}
	hidden := n > 1 && half > 0 && s.deviation < FromHalfWidth(half)
	if n > 1 && !hidden {
		return s
	}
	why := "one repeat"
	if hidden {
		why = "the looks stand too far apart to see it"
	}
	if p := f.run.Pooled; p != nil {
		j.note("bench.scatter-pooled", v.Name, fmt.Sprintf("%s, %s: %s; the scatter of %s is taken from other runs (%s).", v.Name, what, why, kPaText(p.Scatter), p.Source))
		return &spread{p.Scatter, p.Freedom, n, what, "pooled: " + p.Source}
	}
	j.note("bench.no-scatter", v.Name, fmt.Sprintf("%s, %s: %s, so nothing is known of its scatter from one time to the next, and the uncertainty holds none of it.", v.Name, what, why))
	return nil
}

// inputs lists everything a threshold depends on, and the model that makes the
// threshold of it: the mean over the repeats of the pressure at the seat.
func (f *frame) inputs(v ValveRun, outs []outcome, sc *spread) ([]Input, func(x []float64) float64) {
	b := &budget{f: f, seat: v.Seat}
	b.gather(outs)
	if sc != nil {
		b.add(Input{Quantity: fmt.Sprintf("%s, mean of %d", sc.what, sc.n), Unit: "Pa", Uncertainty: sc.deviation / math.Sqrt(float64(sc.n)),
			Shape: FromRepeats, Freedom: sc.freedom, Source: sc.source}, func(m *moved, x float64) { m.offset += x })
	}
	b.instruments()
	b.surroundings(v)
	b.observer(outs)
	return b.in, b.model
}

// moved is the frame with its inputs moved: what the model varies.
type moved struct {
	density, gravity       float64
	gauge, tube            float64 // shifts of the indications, Pa and m
	gaugeLevel, zero, seat float64
	offset, delay          float64
}

type budget struct {
	f                     *frame
	seat                  float64
	in                    []Input
	put                   []func(*moved, float64)
	obs                   []observation
	share                 []float64 // of each observation in the mean
	gaugeShare, tubeShare float64   // of the instruments in the mean
	gaugeAdded, tubeAdded float64   // mean corrections
	rate                  float64   // mean of the ramp at changes
	late                  bool
}

func (b *budget) add(in Input, put func(*moved, float64)) {
	b.in, b.put = append(b.in, in), append(b.put, put)
}

// gather flattens the repeats' observations, each with its share in the mean.
func (b *budget) gather(outs []outcome) {
	for _, o := range outs {
		for _, ob := range o.obs {
			w := 1 / float64(len(outs)*len(o.obs))
			b.obs, b.share = append(b.obs, ob), append(b.share, w)
			b.gaugeShare += w * ob.gaugeShare
			b.tubeShare += w * (1 - ob.gaugeShare)
			b.gaugeAdded += w * ob.gaugeAdded
			b.tubeAdded += w * ob.tubeAdded
			b.rate += w * ob.rate
			b.late = b.late || ob.late
		}
	}
}

// model is the threshold for inputs x.
func (b *budget) model(x []float64) float64 {
	f := b.f
	m := moved{density: f.density, gravity: f.gravity, seat: b.seat}
	if f.run.Gauge != nil {
		m.gaugeLevel = f.run.Gauge.Level
	}
	if f.run.Tube != nil {
		m.zero = f.run.Tube.Zero
	}
	m.delay = f.run.Delay
	for i, v := range x {
		b.put[i](&m, v)
	}
	p, rg := m.offset, m.density*m.gravity
	for i, o := range b.obs {
		byGauge := o.gauge + m.gauge + rg*(m.gaugeLevel-m.seat)
		byTube := rg * (m.zero + o.tube + m.tube - m.seat)
		p += b.share[i] * (o.gaugeShare*byGauge + (1-o.gaugeShare)*byTube - o.rate*(m.delay-f.run.Delay))
	}
	return p
}

func (b *budget) instruments() {
	r := b.f.run
	if g := r.Gauge; g != nil && b.gaugeShare > 0 {
		at := b.gaugeAdded
		b.certificate("gauge", "Pa", g.Certificate, at, func(m *moved, x float64) { m.gauge += x - at })
		b.plain("gauge, drift since its certificate", "Pa", FromHalfWidth(g.Drift), "as stated for the gauge", func(m *moved, x float64) { m.gauge += x })
		b.plain("gauge, step of indication", "Pa", FromResolution(g.Resolution), "resolution as stated", func(m *moved, x float64) { m.gauge += x })
		b.level("height of the gauge", g.Level, func(m *moved, x float64) { m.gaugeLevel = x })
	}
	if t := r.Tube; t != nil && b.tubeShare > 0 {
		at := b.tubeAdded
		b.certificate("tube", "m", t.Certificate, at, func(m *moved, x float64) { m.tube += x - at })
		b.plain("tube, change since its certificate", "m", FromHalfWidth(t.Drift), "as stated for the tube", func(m *moved, x float64) { m.tube += x })
		b.plain("tube, step of reading", "m", FromResolution(t.Resolution), "resolution as stated", func(m *moved, x float64) { m.tube += x })
		b.level("height of the tube's zero", t.Zero, func(m *moved, x float64) { m.zero = x })
	}
	if r.Gauge != nil && r.Tube != nil {
		if d, differ := b.apart(); differ {
			b.plain("gauge against tube", "Pa", FromResolution(d), "they differ by more than their uncertainties; truth lies anywhere between", func(m *moved, x float64) { m.offset += x })
		}
	}
}

// apart is the mean difference of gauge and tube at the marks in Pa, and whether it
// is more than their uncertainties allow.
func (b *budget) apart() (float64, bool) {
	sum, n := 0.0, 0
	for _, o := range b.obs {
		if o.byGauge && o.byTube {
			sum += b.f.gaugeAt(o, b.seat) - b.f.tubeAt(o, b.seat)
			n++
		}
	}
	if n == 0 {
		return 0, false
	}
	d := math.Abs(sum / float64(n))
	return d, d > 2*math.Hypot(b.f.gaugeU, b.f.tubeU)
}

func (b *budget) certificate(name, unit string, c Certificate, added float64, put func(*moved, float64)) {
	source := "certificate of " + c.Date
	if c.Number != "" {
		source = "certificate " + c.Number + " of " + c.Date
	}
	b.add(Input{Quantity: name + ", correction", Value: added, Unit: unit, Uncertainty: c.Expanded / c.K, Shape: Normal,
		Source: fmt.Sprintf("%s, U with k = %g", source, c.K)}, put)
}

// plain adds a rectangular line about zero, where it says anything.
func (b *budget) plain(name, unit string, u float64, source string, put func(*moved, float64)) {
	if u > 0 {
		b.add(Input{Quantity: name, Unit: unit, Uncertainty: u, Shape: Rectangular, Source: source}, put)
	}
}

func (b *budget) level(name string, at float64, put func(*moved, float64)) {
	b.add(Input{Quantity: name, Value: at, Unit: "m", Uncertainty: b.f.run.LevelUncertainty, Shape: Normal, Source: "levelling of the bench, as stated"}, put)
}

func (b *budget) surroundings(v ValveRun) {
	f := b.f
	b.level("height of the seat", v.Seat, func(m *moved, x float64) { m.seat = x })
	b.add(Input{Quantity: "density of the water", Value: f.density, Unit: "kg/m³", Uncertainty: f.densityU, Shape: Normal, Source: f.densitySource},
		func(m *moved, x float64) { m.density = x })
	b.add(Input{Quantity: "gravity", Value: f.gravity, Unit: "m/s²", Uncertainty: f.gravityU, Shape: Normal, Source: f.gravitySource},
		func(m *moved, x float64) { m.gravity = x })
}

// observer adds what watching brings: the delay, and the width between looks.
func (b *budget) observer(outs []outcome) {
	if b.late {
		b.add(Input{Quantity: "delay of a mark", Value: b.f.run.Delay, Unit: "s", Uncertainty: b.f.run.DelaySpread, Shape: Normal,
			Source: "as stated for the observer; common to all repeats"}, func(m *moved, x float64) { m.delay = x })
	}
	half := 0.0
	for _, o := range outs {
		half += o.half / float64(len(outs))
	}
	b.plain("between two looks", "Pa", FromHalfWidth(half), "mean half-width between looks; common to all repeats", func(m *moved, x float64) { m.offset += x })
}

// draws is how often a budget is drawn again; with it an interval's end is good to
// some 3 % of its half-width (√(p(1−p)/n) over the normal density there).
const draws = 2_000

// drawAgain checks the shape that the expanded uncertainty supposes: the budget
// drawn by Monte Carlo (JCGM 101:2008, clause 8) against a normal distribution of
// the same standard uncertainty. The line from repeats is drawn as normal, since its
// few degrees of freedom are in k already. Where the two part by more than a tenth,
// a finding says so.
func (f *frame) drawAgain(j *judgement, v ValveRun, what string) {
	e := j.estimate
	if e.Uncertainty == 0 {
		return
	}
	in := slices.Clone(e.Inputs)
	for i := range in {
		if in[i].Shape == FromRepeats {
			in[i].Shape = Normal
		}
	}
	linear := func(x []float64) float64 {
		y := 0.0
		for i := range x {
			y += e.Sensitivity[i] * (x[i] - in[i].Value)
		}
		return y
	}
	lo, hi := MonteCarlo(in, linear, draws, 1).Symmetric(coverage)
	if u, drawn := CoverageFactor(coverage, 0)*e.Uncertainty, (hi-lo)/2; math.Abs(u-drawn) > drawn/10 {
		j.note("bench.coverage", v.Name, fmt.Sprintf("%s, %s: ± %s supposes a normal distribution; drawn from the budget line by line, 95.45 %% lie within ± %s.",
			v.Name, what, kPaText(u), kPaText(drawn)))
	}
}
