package costing

import (
	"context"
	"fmt"
	"math"

	"obvert/line"
	"obvert/num"
)

// leading is the pumping case that delivers most a day, −1 where none pumps: larger pumps are chosen for it.
func (c *comparer) leading() int {
	best := -1
	for k := range c.in.Cases {
		if c.in.Cases[k].Kind == line.Pumping && c.base[k].Power > 0 && (best < 0 || c.volumes[k] > c.volumes[best]) {
			best = k
		}
	}
	return best
}

// setPointAndPumps finds set point and pump head together: all valves hold, and the leading case has its flow of now.
func (c *comparer) setPointAndPumps(ctx context.Context, b *bench, t *tried, at Place) error {
	lead := c.leading()
	if lead < 0 {
		return nil // no pumps to make larger
	}
	p := &c.in.Prices
	w := Way{Kind: SustainingAndPumps, Name: "Sustaining valve at " + at.Name + " and larger pumps", Place: at, Record: -1, Governs: -1}
	var bl bill
	bl.add(SustainingPrice, p.ControlValve, p.HasControlValve, "the sustaining valve: its price was not given")
	k := &keeper{b: b, at: at, k: lead, heads: map[float64]float64{}}
	if m, whose := c.margin(lead, &c.base[lead], c.own()); whose >= 0 {
		// At the same flow what is won at a valve is what the pumps give more.
		k.lastHead = max(0, c.in.Margin-m)
	}
	q := quest{needs: c.own(), limit: c.limits.Setting, change: func(x float64) Change { return k.change(ctx, x) }}
	if n := len(t.ways); n > 0 && t.ways[n-1].Possible {
		k.last = t.ways[n-1].SetPoint // what suffices at less flow
		q.hints = func(int) []float64 { return []float64{k.last} }
	}
	q.put = func(w *Way, _ *bill, x float64) string {
		w.SetPoint, w.PumpHead = x, k.heads[x]
		return fmt.Sprintf("Set to %s, with %s more at the pumps for the flow of now in case %q", m2(x), m2(w.PumpHead), c.in.Cases[lead].Name)
	}
	err := c.found(ctx, b, t, w, bl, &q)
	if k.failed != nil {
		return fmt.Errorf("%s: %w", w.Name, k.failed)
	}
	return err
}

// keeper finds, for every set point that is tried, the pump head that keeps the flow.
type keeper struct {
	b              *bench
	at             Place
	k              int                 // case
	heads          map[float64]float64 // by set point
	last, lastHead float64             // set point tried before, and its head
	failed         error
}

func (k *keeper) change(ctx context.Context, x float64) Change {
	if _, ok := k.heads[x]; !ok {
		h, err := k.keepFlow(ctx, x, max(0, k.lastHead+x-k.last))
		if err != nil && k.failed == nil {
			k.failed = err
		}
		k.heads[x], k.last, k.lastHead = h, x, h
	}
	return k.with(x, k.heads[x])
}

func (k *keeper) with(x, h float64) Change {
	return Change{HasSustaining: true, Sustaining: k.at, Setting: x, PumpHead: h}
}

// keepFlow finds the head, 0 or more, that the pumps must have more at the same flow to deliver what they deliver now,
// against a sustaining valve set to x. It gives the limit where that is not enough: the way is then judged as it is.
func (k *keeper) keepFlow(ctx context.Context, x, guess float64) (float64, error) {
	c := k.b.c
	var failed error
	over := func(h float64) float64 {
		s, err := k.b.state(ctx, k.k, k.with(x, h))
		if err != nil && failed == nil {
			failed = err
		}
		if !s.Possible {
			return -1
		}
		return s.Delivered/c.base[k.k].Delivered - 1
	}
	const same = 1e-6 // of the flow
	if guess > 0 && guess <= c.limits.PumpHead && math.Abs(over(guess)) <= same {
		return guess, failed
	}
	lo := 0.0
	if over(lo) >= -same || failed != nil {
		return 0, failed
	}
	hi := min(c.limits.PumpHead, max(guess, 1))
	loop := num.Loop{Limit: 20}
	for loop.Next() && over(hi) < 0 && failed == nil {
		if hi >= c.limits.PumpHead {
			return hi, nil
		}
		lo, hi = hi, min(c.limits.PumpHead, 2*hi)
	}
	h, out := num.Root(over, lo, hi, step/4)
	if failed == nil && !out.OK() {
		failed = fmt.Errorf("the pump head for the flow of now was not found: %s", out.Status)
	}
	return h, failed
}

// pumps finds the head that the pumps must have more at the same flow, and nothing else: the line then carries more, and
// friction behind the valves may hold them.
func (c *comparer) pumps(ctx context.Context, b *bench, t *tried) error {
	if c.leading() < 0 {
		return nil
	}
	w := Way{Kind: LargerPumps, Name: "Larger pumps", Record: -1, Governs: -1}
	return c.found(ctx, b, t, w, bill{}, &quest{needs: c.own(), limit: c.limits.PumpHead,
		change: func(x float64) Change { return Change{PumpHead: x} },
		put: func(w *Way, _ *bill, x float64) string {
			w.PumpHead = x
			return m2(x) + " more at the pumps at the same flow"
		}})
}

// motors puts larger pumps on a bill by the power they take more.
func (c *comparer) motors(w *Way, b *bill) {
	p := &c.in.Prices
	if w.PumpHead == 0 || !w.Possible {
		return
	}
	shaft := 0.0
	for k := range c.base {
		shaft = max(shaft, c.base[k].Shaft)
	}
	if shaft == 0 {
		b.lacks = append(b.lacks, "larger pumps: the hydraulics gave no power at the shafts")
		return
	}
	if w.Power == 0 {
		w.say("The pumps take no more power at their shafts than now.")
	}
	b.add(PumpPrice, w.Power*p.PumpDuty, p.HasPumpDuty, "larger pumps: the price of a watt was not given")
}
