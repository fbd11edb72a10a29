package bench

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"obvert/physics/valve"
)

// leaks reduces what was collected at holds.
func (f *frame) leaks(v ValveRun) ([]LeakReading, []Finding) {
	var out []LeakReading
	var notes []Finding
	for _, l := range v.Leaks {
		p, moved, ok := f.hold(l, v.Seat)
		where := fmt.Sprintf("%s at %s", v.Name, seconds(l.Time))
		switch {
		case !ok || p <= 0:
			notes = append(notes, Finding{"bench.leak-without-head", where, where + ": a leak with no head at the seat is not used."})
			continue
		case moved > math.Max(p/20, 4*f.gaugeStep()):
			notes = append(notes, Finding{"bench.not-held", where, fmt.Sprintf("%s: the head moved by %s while the leak was collected; the mean of %s is used.", where, kPaText(moved), kPaText(p))})
		}
		q := l.Volume / l.Over
		u := math.Hypot(f.run.VolumeUncertainty/l.Over, q*f.run.TimeUncertainty/l.Over)
		_, rising := f.run.phase(l.Time)
		out = append(out, LeakReading{Pressure: p, Flow: q, Uncertainty: u, Rising: rising})
	}
	sort.SliceStable(out, func(a, b int) bool { return out[a].Pressure < out[b].Pressure })
	return out, notes
}

// gaugeStep is the coarser step of the instruments in Pa.
func (f *frame) gaugeStep() float64 {
	step := 0.0
	if f.run.Gauge != nil {
		step = f.run.Gauge.Resolution
	}
	if f.run.Tube != nil {
		step = math.Max(step, f.unit()*f.run.Tube.Resolution)
	}
	return step
}

// hold is the mean pressure at the seat while a leak was collected, and by how much
// it moved.
func (f *frame) hold(l Collected, seat float64) (mean, moved float64, ok bool) {
	const looks = 20
	lo, hi := math.Inf(1), math.Inf(-1)
	n := 0
	for i := 0; i <= looks; i++ {
		o, read := f.observe(l.Time + l.Over*float64(i)/looks)
		if !read {
			continue
		}
		p := f.pressure(o, seat)
		mean += p
		lo, hi = math.Min(lo, p), math.Max(hi, p)
		n++
	}
	if n == 0 {
		return 0, 0, false
	}
	return mean / float64(n), hi - lo, true
}

// fitLeak makes a leak curve of the readings: those of rising head below the
// sealing pressure, or, where there are none, those of falling head.
func fitLeak(name string, readings []LeakReading, sealing valve.Threshold) ([]valve.LeakPoint, []Finding) {
	var notes []Finding
	closes := sealing.Bound == valve.Measured || sealing.Bound == valve.LessThan
	pick := func(rising bool) []LeakReading {
		var some []LeakReading
		past := 0
		for _, l := range readings {
			if l.Rising != rising {
				continue
			}
			if closes && l.Pressure >= sealing.Mean {
				past++
				continue
			}
			some = append(some, l)
		}
		if past > 0 {
			notes = append(notes, Finding{"bench.leak-past-sealing", name, fmt.Sprintf("%s: %d leaks collected at or above its mean sealing pressure are left out of the leak curve, which ends there.", name, past)})
		}
		return some
	}
	some := pick(true)
	if len(some) == 0 && len(readings) > 0 {
		if some = pick(false); len(some) > 0 {
			notes = append(notes, Finding{"bench.leak-falling", name, name + ": the leak curve rests on leaks collected while the head fell."})
		}
	}
	if len(some) == 0 {
		return nil, notes
	}
	return unimodal(some), notes
}

// block is a stretch of readings that were pooled to one value.
type block struct{ weight, pressure, flow float64 }

// unimodal is the curve nearest to the readings, by weighted least squares, among
// those that rise to one largest value and then fall: for every place of the
// largest value the rising part and the falling part by pooling neighbours that are
// out of order, and the place with the least sum of squares. Readings must be
// sorted by pressure.
func unimodal(readings []LeakReading) []valve.LeakPoint {
	pts := merge(readings)
	best, least := []block(nil), math.Inf(1)
	for peak := range pts {
		left := monotone(pts[:peak+1])
		right := slices.Clone(pts[peak+1:])
		slices.Reverse(right)
		fall := monotone(right)
		slices.Reverse(fall)
		whole := append(slices.Clone(left), fall...)
		if sse := squares(pts, left, fall, peak); sse < least {
			best, least = whole, sse
		}
	}
	return points(best)
}

// merge joins readings at one pressure, within a thousandth, and weighs them by
// 1/u²; alike where no uncertainty is stated.
func merge(readings []LeakReading) []block {
	weighed := true
	for _, l := range readings {
		weighed = weighed && l.Uncertainty > 0
	}
	var pts []block
	for _, l := range readings {
		w := 1.0
		if weighed {
			w = 1 / (l.Uncertainty * l.Uncertainty)
		}
		b := block{w, l.Pressure, l.Flow}
		if n := len(pts); n > 0 && l.Pressure-pts[n-1].pressure <= 1e-3*l.Pressure {
			pts[n-1] = pool(pts[n-1], b)
			continue
		}
		pts = append(pts, b)
	}
	return pts
}

func pool(a, b block) block {
	w := a.weight + b.weight
	return block{w, (a.weight*a.pressure + b.weight*b.pressure) / w, (a.weight*a.flow + b.weight*b.flow) / w}
}

// monotone pools neighbours until the flows rise (Barlow et al. 1972, ch. 1).
func monotone(pts []block) []block {
	var out []block
	for _, p := range pts {
		out = append(out, p)
		for n := len(out); n > 1 && out[n-2].flow >= out[n-1].flow; n = len(out) {
			out = append(out[:n-2], pool(out[n-2], out[n-1]))
		}
	}
	return out
}

// squares is the weighted sum of squares of the readings about the pooled values.
// A block's pressures run on from the last block's.
func squares(pts, left, fall []block, peak int) float64 {
	sum := 0.0
	part := func(pts, blocks []block) {
		i := 0
		for _, b := range blocks {
			for w := 0.0; i < len(pts) && w < b.weight*(1-1e-9); i++ {
				w += pts[i].weight
				d := pts[i].flow - b.flow
				sum += pts[i].weight * d * d
			}
		}
	}
	part(pts[:peak+1], left)
	part(pts[peak+1:], fall)
	return sum
}

// points makes a leak curve of the pooled readings.
func points(blocks []block) []valve.LeakPoint {
	var out []valve.LeakPoint
	for _, b := range blocks {
		out = append(out, valve.LeakPoint{Pressure: b.pressure, Flow: b.flow})
	}
	return out
}
