package bench

import (
	"fmt"
	"math"

	"obvert/quantity"
)

func kPaText(p float64) string { return quantity.Format(p, "kPa", 3) }

// A stuck instrument shows one figure to the last digit while the head moves. Three
// things look like it and are not: a hold (the head does not move), a coarse
// resolution (the head moves less than a step) and a tube that runs over. Own rules,
// no source:
//
//  1. Where the other instrument moves over the same time by more than three steps
//     of both, and than its own scatter, it is stuck.
//  2. Where it shows nothing but one figure over a whole rise or fall, it is stuck.
//  3. Where the figure, once it moves again, jumps by more than half of what the
//     ramp before it would have brought meanwhile, more than three steps and more
//     than five times what it moves from reading to reading, it was stuck: after a
//     hold a ramp goes on from where it was.
//  4. Where a valve shut and let go, or two valves changed well after it began,
//     while the ramp of that rise or fall would have moved it by more than three
//     steps, it is stuck.
//  5. Where ten readings or more are alike though single readings scatter by more
//     than a step elsewhere, it is stuck, held or not.
const (
	fewestAlike   = 5   // readings that make a stretch
	manySteps     = 3.0 // steps of the indication that count as a movement
	manyMoves     = 5.0 // usual movements that make a jump
	enoughScatter = 10  // readings for rule 5
	scatterSpan   = 8.0 // standard deviations that scatter alone spans in a few thousand readings
	smallest      = 1.0 // Pa, that rounding may move
)

// instrument is a track as the search for a stretch sees it, all in Pa.
type instrument struct {
	name  string
	track track
	step  float64 // Pa

	noise     float64 // Pa, scatter of single readings
	usualMove float64 // Pa, median of the movements that are not nothing
}

// stretch is a run of readings that are alike to the last digit.
type stretch struct {
	lo, hi   int // places in the track, hi the last one
	from, to float64
}

func (c *checker) stuck() {
	const rhoG = 9806.65 // Pa/m: near enough to compare movements
	var ins []instrument
	if g := c.run.Gauge; g != nil {
		ins = append(ins, instrument{name: "gauge", track: c.gauge, step: g.Resolution})
	}
	if u := c.run.Tube; u != nil {
		k := track{t: c.tube.t, v: make([]float64, len(c.tube.v)), step: c.tube.step}
		for i, h := range c.tube.v {
			k.v[i] = rhoG * h
		}
		ins = append(ins, instrument{name: "tube", track: k, step: rhoG * u.Resolution})
	}
	for i := range ins {
		ins[i].noise, ins[i].usualMove = ins[i].track.noise(), ins[i].track.usualMove()
	}
	for i, in := range ins {
		var other *instrument
		if len(ins) == 2 {
			other = &ins[1-i]
		}
		for _, s := range in.stretches() {
			if why := c.whyStuck(in, other, s); why != "" {
				c.add(c.sampleAt(s.from, in.name), "a stuck "+in.name,
					fmt.Sprintf("%d readings alike from %s to %s, while %s", s.hi-s.lo+1, seconds(s.from), seconds(s.to), why),
					fmt.Sprintf("leave the %s's readings of that time out, or the run; a tube that ran over belongs out as well", in.name))
				break // one is enough to stop
			}
		}
	}
}

// sampleAt is the place of the row at a time.
func (c *checker) sampleAt(t float64, key string) place {
	for _, s := range c.run.Samples {
		if s.Time == t {
			p := s.at
			if p.key == "" {
				p.key = key
			}
			return p
		}
	}
	return place{key: key}
}

func (in instrument) stretches() []stretch {
	var all []stretch
	k := in.track
	for lo := 0; lo < len(k.v); {
		hi := lo
		for hi+1 < len(k.v) && k.v[hi+1] == k.v[lo] {
			hi++
		}
		if hi-lo+1 >= fewestAlike {
			all = append(all, stretch{lo, hi, k.t[lo], k.t[hi]})
		}
		lo = hi + 1
	}
	return all
}

// whyStuck says what moved meanwhile, or nothing for a stretch that is no fault.
func (c *checker) whyStuck(in instrument, other *instrument, s stretch) string {
	if other != nil {
		still := manySteps*(in.step+other.step) + scatterSpan*other.noise + smallest
		if moved := other.track.span(s.from, s.to); moved > still {
			return fmt.Sprintf("the %s moved by %s", other.name, kPaText(moved))
		}
		// the other one held still as well, or was not read: a hold unless shown otherwise
		if lo, hi := other.track.between(s.from, s.to); hi-lo >= 2 {
			return ""
		}
	}
	if why := c.wholePhase(s); why != "" {
		return why
	}
	rate := c.phaseRate(in, s)
	if want := math.Abs(rate) * (s.to - s.from); want > manySteps*in.step+smallest {
		if jump, ok := in.jump(s); ok && jump > want/2 && jump > manySteps*in.step && jump > manyMoves*in.usualMove {
			return fmt.Sprintf("the next one jumps by %s", kPaText(jump))
		}
		if why := c.marksMoved(s); why != "" {
			return why
		}
	}
	if n := s.hi - s.lo + 1; n >= enoughScatter && in.step > 0 && in.noise > in.step {
		return fmt.Sprintf("readings elsewhere scatter by %s", kPaText(in.noise))
	}
	return ""
}

// wholePhase finds a rise or a fall that a stretch fills.
func (c *checker) wholePhase(s stretch) string {
	for i, sp := range c.run.Repeats {
		if s.from <= sp.From && s.to >= sp.Turn {
			return fmt.Sprintf("the head rose in repeat %d", i+1)
		}
		if s.from <= sp.Turn && s.to >= sp.To {
			return fmt.Sprintf("the head fell in repeat %d", i+1)
		}
	}
	return ""
}

// phaseRate is the ramp in Pa/s that the instrument shows over the rise or fall in
// which a stretch begins, the stretch itself left out.
func (c *checker) phaseRate(in instrument, s stretch) float64 {
	n, rising := c.run.phase(s.from)
	if n == 0 {
		return 0
	}
	sp := c.run.Repeats[n-1]
	a, b := sp.From, sp.Turn
	if !rising {
		a, b = sp.Turn, sp.To
	}
	lo, hi := in.track.between(a, b)
	first, last := max(lo, s.lo), min(hi-1, s.hi+1) // the stretch, and the step out of it
	if hi-lo < 2 || last < first {
		return 0
	}
	t, v := in.track.t, in.track.v
	took := t[hi-1] - t[lo] - (t[last] - t[first])
	if took <= 0 {
		return 0
	}
	return (v[hi-1] - v[lo] - (v[last] - v[first])) / took
}

// jump is how far the first reading after a stretch lies from it.
func (in instrument) jump(s stretch) (float64, bool) {
	if s.hi+1 >= len(in.track.v) {
		return 0, false
	}
	return math.Abs(in.track.v[s.hi+1] - in.track.v[s.hi]), true
}

// marksMoved finds valves whose changes show that the head moved.
func (c *checker) marksMoved(s stretch) string {
	begun := s.from + c.run.Delay + 3*c.run.DelaySpread
	changed := map[string]bool{}
	for _, v := range c.run.Valves {
		shut, let := false, false
		for _, m := range v.Marks {
			if m.Kind != Change || m.Time < begun || m.Time > s.to {
				continue
			}
			changed[v.Name] = true
			shut, let = shut || m.Tight, let || !m.Tight
		}
		if shut && let {
			return v.Name + " shut and let go"
		}
	}
	if len(changed) >= 2 {
		return fmt.Sprintf("%d valves changed", len(changed))
	}
	return ""
}
