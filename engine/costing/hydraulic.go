package costing

import (
	"context"
	"fmt"
	"math"
	"strings"

	"obvert/quantity"
)

// asked names one question to the hydraulics.
type asked struct {
	k      int
	change Change
}

// bench asks the hydraulics and remembers: a search asks the same twice. Each way has its own, so that ways can be tried at
// once.
type bench struct {
	c     *comparer
	known map[asked]State
	calls int
}

func (c *comparer) bench() *bench { return &bench{c: c, known: map[asked]State{}} }

// state is the line in one case with a change.
func (b *bench) state(ctx context.Context, k int, change Change) (State, error) {
	if change == (Change{}) && k < len(b.c.base) {
		return b.c.base[k], nil
	}
	if !b.c.in.Cases[k].runs() {
		change.PumpHead = 0 // at rest no pump gives any
	}
	q := asked{k, change}
	if s, ok := b.known[q]; ok {
		return s, nil
	}
	if err := ctx.Err(); err != nil {
		return State{}, err
	}
	b.calls++
	s, err := b.c.in.Operate(ctx, k, change)
	if err == nil {
		err = b.c.believe(k, &s)
	}
	if err != nil {
		return s, fmt.Errorf("in case %q: %w", b.c.in.Cases[k].Name, err)
	}
	b.known[q] = s
	return s, nil
}

// believe looks at an answer of the hydraulics.
func (c *comparer) believe(k int, s *State) error {
	if !s.Possible {
		return nil
	}
	if len(s.Heads) != len(c.in.Valves) || s.Spots != nil && len(c.in.Spots) > 0 && len(s.Spots) != len(c.in.Spots) {
		return fmt.Errorf("the line was solved, but with %d heads at %d valves and %d at %d spots", len(s.Heads), len(c.in.Valves), len(s.Spots), len(c.in.Spots))
	}
	for _, x := range append(append([]float64{s.Delivered, s.Flow, s.Head, s.Power, s.Shaft, s.Slack, s.Lost}, s.Heads...), s.Spots...) {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return fmt.Errorf("the line was solved, but not to finite figures: %+v", *s)
		}
	}
	if c.in.Cases[k].runs() && s.Delivered <= 0 || s.Power < 0 || s.Shaft < 0 || s.Slack < 0 {
		return fmt.Errorf("the line was solved, but it delivers %.4g m³/s at %.4g W (%.4g W at the shafts), %.4g m slack", s.Delivered, s.Power, s.Shaft, s.Slack)
	}
	return nil
}

// needs is the head each valve needs at its seat, in metres.
type needs []float64

// own is what the valves need that stand there now.
func (c *comparer) own() needs {
	n := make(needs, len(c.in.Valves))
	for i := range n {
		n[i] = c.in.Valves[i].Sealing
	}
	return n
}

// margin is the least margin over the valves that must hold in a case, and whose it is; −1 where none must.
func (c *comparer) margin(k int, s *State, n needs) (least float64, whose int) {
	whose = -1
	for i, h := range s.Heads {
		if !c.concerned(k, i) {
			continue
		}
		if m := h - n[i]; whose < 0 || m < least {
			least, whose = m, i
		}
	}
	return least, whose
}

func (c *comparer) concerned(k, i int) bool {
	o := &c.in.Cases[k]
	return o.Concerned == nil || o.Concerned[i]
}

// rounding is a head (m) that no gauge shows.
const rounding = 1e-9

// holds tells whether a margin does.
func (c *comparer) holds(margin float64, whose int) bool {
	return whose < 0 || margin >= c.in.Margin-rounding
}

// quest is what is looked for: the size x of a change with which all valves hold.
type quest struct {
	needs needs
	taken []int   // valves that are exchanged: what they themselves need does not count
	limit float64 // of x, m
	// hints are sizes at which to look first in a case, rising.
	hints  func(k int) []float64
	change func(x float64) Change
	// put writes the size and what hangs on it into the way and its bill, and says it.
	put func(w *Way, b *bill, x float64) string
}

// find looks for the smallest x at which all valves hold in every case, the cases one after the other from what the ones
// before need; governs is the case that asked most. why is not empty where there is none.
func (b *bench) find(ctx context.Context, q *quest) (x float64, governs int, why string, err error) {
	c := b.c
	governs = -1
	if k, why, err := b.hopeless(ctx, q, x); why != "" || err != nil {
		return 0, k, why, err
	}
	for k := range c.in.Cases {
		stopped := ""
		f := func(x float64) (float64, bool, error) {
			change := Change{}
			if x > 0 {
				change = q.change(x)
			}
			s, err := b.state(ctx, k, change)
			if err != nil || !s.Possible {
				stopped = s.Why
				return 0, false, err
			}
			m, whose := c.margin(k, &s, q.needs)
			if whose < 0 {
				m = c.in.Margin
			}
			return m - c.in.Margin, true, nil
		}
		start, ok, err := f(x)
		switch {
		case err != nil:
			return 0, k, "", err
		case !ok:
			return 0, k, fmt.Sprintf("with %s the line cannot run in case %q: %s", m2(x), c.in.Cases[k].Name, stopped), nil
		case start >= -rounding:
			continue
		}
		got, err := least(f, x, start, q.limit, q.first(k, start, c.base[k].Lost)...)
		if err != nil {
			return 0, k, "", err
		}
		if !got.found {
			if stopped != "" {
				return 0, k, fmt.Sprintf("in case %q the line does not bear what it would take: with %s the least held valve is %s short, and with more %s", c.in.Cases[k].Name, m2(got.at), m2(got.short), stopped), nil
			}
			return 0, k, fmt.Sprintf("in case %q, even with %s, the least held valve is %s short", c.in.Cases[k].Name, m2(got.at), m2(got.short)), nil
		}
		x, governs = got.x, k
	}
	return x, governs, "", nil
}

// hopeless looks whether a case at rest does not hold even at the limit: then nothing need be sought.
func (b *bench) hopeless(ctx context.Context, q *quest, from float64) (k int, why string, err error) {
	c := b.c
	for k := range c.in.Cases {
		if c.in.Cases[k].runs() {
			continue
		}
		short := 0.0
		for _, x := range []float64{from, q.limit} {
			change := Change{}
			if x > 0 {
				change = q.change(x)
			}
			s, err := b.state(ctx, k, change)
			if err != nil || !s.Possible {
				return k, "", err // the search tells it
			}
			m, whose := c.margin(k, &s, q.needs)
			if whose < 0 {
				m = c.in.Margin
			}
			if short = c.in.Margin - m; short <= rounding {
				break
			}
		}
		if short > rounding {
			return k, fmt.Sprintf("in case %q, even with %s, the least held valve is %s short", c.in.Cases[k].Name, m2(q.limit), m2(short)), nil
		}
	}
	return 0, "", nil
}

// first is where to look first: where hinted, else at what is missing, alone and with what a slack length loses.
func (q *quest) first(k int, start, lost float64) []float64 {
	if q.hints != nil {
		if h := q.hints(k); len(h) > 0 {
			return h
		}
	}
	if lost == 0 {
		return nil
	}
	return []float64{-start + step/2, -start + lost + step/2}
}

// states are all cases with one change.
func (b *bench) states(ctx context.Context, change Change) ([]State, error) {
	all := make([]State, len(b.c.in.Cases))
	for k := range all {
		var err error
		if all[k], err = b.state(ctx, k, change); err != nil {
			return nil, err
		}
	}
	return all, nil
}

// finish puts what the hydraulics gave for every case into a way, and tells whether it does.
func (c *comparer) finish(w *Way, states []State, n needs, account *account, judged bool) {
	account.power, account.hours = make([]float64, len(states)), make([]float64, len(states))
	account.delivered = make([]float64, len(states))
	w.Possible = true
	no := func(format string, args ...any) {
		if w.Possible {
			w.Possible, w.Why = false, fmt.Sprintf(format, args...)
		}
	}
	total := 0.0
	var said []string
	for k := range states {
		s, name := &states[k], c.in.Cases[k].Name
		d := c.caseDuty(k, s, n)
		w.Cases = append(w.Cases, d)
		if !s.Possible {
			no("in case %q %s", name, s.Why)
			continue
		}
		account.power[k], account.hours[k], account.delivered[k] = d.Power, d.Hours, s.Delivered
		total += d.Hours
		w.Power = max(w.Power, s.Shaft-c.base[k].Shaft)
		if d.Valve >= 0 {
			said = append(said, c.saw(k, &d))
			if judged && !c.holds(d.Margin, d.Valve) {
				no("in case %q valve %q is still %s short", name, c.in.Valves[d.Valve].Name, m2(c.in.Margin-d.Margin))
			}
		}
	}
	// A day of exactly 24 hours must not fail by rounding.
	if total > day*(1+1e-9) {
		no("the line would have to run %.1f hours a day for the day's %.4g m³", total, c.volume)
	}
	w.say(said...)
}

// saw says what the hydraulics showed in a case.
func (c *comparer) saw(k int, d *CaseDuty) string {
	text := fmt.Sprintf("%s: %s at %s", c.in.Cases[k].Name, signed(d.Margin), c.in.Valves[d.Valve].Name)
	if c.in.Cases[k].runs() {
		text += fmt.Sprintf(", %s for %.2f h a day", quantity.Format(d.Flow, "L/s", 2), d.Hours)
	}
	if d.Slack > 0 {
		text += fmt.Sprintf(", %s part full", quantity.Format(d.Slack, "m", 0))
	}
	return text + "."
}

// caseDuty turns a state into a day.
func (c *comparer) caseDuty(k int, s *State, n needs) CaseDuty {
	d := CaseDuty{Case: k, Valve: -1, Duty: Duty{Why: s.Why}}
	if !s.Possible {
		return d
	}
	d.Duty = Duty{Flow: s.Flow, Head: s.Head, Power: s.Power, Speed: s.Speed, Possible: true}
	d.Margin, d.Valve = c.margin(k, s, n)
	d.Slack = s.Slack
	if !c.in.Cases[k].runs() {
		return d
	}
	d.Hours = c.volumes[k] / s.Delivered / hour
	d.Energy = s.Power / 1000 * d.Hours * c.in.Prices.DaysPerYear
	if c.energyPriced() && d.Hours <= day*(1+1e-9) {
		d.Price = c.tariff.cost(c.in.Cases[k].window(), d.Hours) / d.Hours
	}
	return d
}

// say adds to what was tried.
func (w *Way) say(text ...string) {
	for _, t := range text {
		if w.Tried != "" && t != "" {
			w.Tried += " "
		}
		w.Tried += t
	}
}

func m2(x float64) string { return quantity.Format(x, "m", 2) }

// signed is a margin in metres with its sign.
func signed(x float64) string {
	if t := m2(x); strings.HasPrefix(t, "−") {
		return t
	}
	return "+" + m2(x)
}
