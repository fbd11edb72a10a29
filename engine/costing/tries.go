package costing

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"obvert/physics/valve"
	"obvert/quantity"
)

// refuse makes a way that cannot be.
func refuse(w Way, format string, args ...any) Way {
	w.Possible, w.Why = false, fmt.Sprintf(format, args...)
	return w
}

// unknown names the valves, but for those taken away, whose need nobody measured; "" where there is none.
func (c *comparer) unknown(but []int) string {
	var names []string
	for i := range c.in.Valves {
		if c.in.Valves[i].Unknown && !slices.Contains(but, i) {
			names = append(names, c.in.Valves[i].Name)
		}
	}
	if names == nil {
		return ""
	}
	return "the sealing head of " + strings.Join(names, ", ") + " was not measured: no head can be said to hold it"
}

// accept leaves the line as it is.
func (c *comparer) accept(_ context.Context, _ *bench, t *tried) error {
	p, l := &c.in.Prices, &c.in.Leak
	w, b := Way{Kind: AcceptLeak, Name: "Accept the leak", Record: -1, Governs: -1}, bill{}
	c.finish(&w, c.base, c.own(), &b.account, false)
	b.refill = l.RefillEnergy * l.Starts * p.DaysPerYear
	b.water, b.refilled = l.Water*p.DaysPerYear, l.RefillWater*l.Starts*p.DaysPerYear
	b.lift = c.perVolume()
	b.visits = p.WetPitCallouts * float64(l.WetPits)
	b.repaired = p.WetPitRepairs * float64(l.WetPits)
	if !l.Known {
		b.lacks = append(b.lacks, "the leak: draining was not solved")
	} else {
		w.say(fmt.Sprintf("Draining: %s lost a day, %d wet pits. Refilling: %s and %.3g kWh a start, %.3g starts a day; that water is the one lost, counted once.",
			quantity.Format(l.Water, "m³", 2), l.WetPits, quantity.Format(l.RefillWater, "m³", 2), l.RefillEnergy, l.Starts))
		if rest := l.Water - l.RefillWater*l.Starts; rest > 0 && b.lift > 0 {
			w.say(fmt.Sprintf("The other %s a day are pumped again, %.3g kWh a m³, so that the same volume arrives.", quantity.Format(rest, "m³", 2), b.lift))
		}
	}
	if l.WetPits > 0 && p.WetPitCallouts == 0 {
		b.lacks = append(b.lacks, "call-outs: the visits a year to a wet pit were not given")
	}
	if l.WetPits > 0 && p.WetPitRepairs == 0 {
		b.lacks = append(b.lacks, "pit repairs: their number a year was not given")
	}
	slam := l.Slam
	if slam == "" {
		slam = "refilling was not asked about slam"
	}
	w.say("Slam: " + strings.TrimSuffix(slam, ".") + ". A valve that drips lets in what stands in its pit when the line is under suction.")
	t.add(w, b)
	return nil
}

// exchange is the needs with a record in the place of every valve that does not hold now.
func (c *comparer) exchange(i int) needs {
	n := c.own()
	for _, v := range c.failing {
		n[v] = c.in.Rack[i].SealingHead(c.in.Density, c.in.Gravity)
	}
	return n
}

// valves puts the exchange of the valves that do not hold now on a bill.
func (c *comparer) valves(b *bill, i int) {
	r, p, n := &c.in.Rack[i], &c.in.Prices, float64(len(c.failing))
	what := "the valve: record " + r.Name + " has no price"
	priced := r.Price > 0
	if priced && r.Currency != "" && p.Currency != "" && r.Currency != p.Currency {
		priced, what = false, fmt.Sprintf("the valve: record %s is priced in %s, the line in %s", r.Name, r.Currency, p.Currency)
	}
	b.add(ValvePrice, n*r.Price, priced, what)
	if !p.HasExchange {
		b.lacks = append(b.lacks, "exchange: the price of the labour was not given")
		return
	}
	b.labour += n * p.Exchange
}

// lowers tells whether a record needs less than every valve that it would replace.
func (c *comparer) lowers(i int) bool {
	r := &c.in.Rack[i]
	if !r.Sealing.HasValue() {
		return false
	}
	head := r.SealingHead(c.in.Density, c.in.Gravity)
	return !slices.ContainsFunc(c.failing, func(v int) bool { x := &c.in.Valves[v]; return x.Record == i || !x.Unknown && head >= x.Sealing })
}

// unfit says why a record cannot take the place; "" where it can.
func (c *comparer) unfit(i int) string {
	switch r := &c.in.Rack[i]; {
	case c.in.Misfit != nil && c.in.Misfit[i] != "":
		return c.in.Misfit[i]
	case !r.Sealing.HasValue():
		return "its sealing head was not measured"
	case r.Sealing.Bound == valve.MoreThan:
		return "it was never seen tight"
	}
	return c.unknown(c.failing)
}

// lowerSealing tries every record that shuts at less head in the place of the valves that do not hold.
func (c *comparer) lowerSealing(_ context.Context, _ *bench, t *tried) error {
	for i := range c.in.Rack {
		r := &c.in.Rack[i]
		if r.Sealing.HasValue() && !c.lowers(i) {
			continue // no way out: it needs as much
		}
		w := Way{Kind: LowerSealing, Name: "Valve " + r.Name, Record: i, Valves: c.failing, Governs: -1}
		var b bill
		c.valves(&b, i)
		if why := c.unfit(i); why != "" {
			t.add(refuse(w, "%s", why), b)
			continue
		}
		c.finish(&w, c.base, c.exchange(i), &b.account, true)
		if k := c.slackest(); !w.Possible && k >= 0 {
			w.Why += fmt.Sprintf("; in case %q %s run part full and the valve at its head stands in air: no valve shuts without head", c.in.Cases[k].Name, quantity.Format(c.base[k].Slack, "m", 0))
		}
		t.add(w, b)
	}
	return nil
}

// slackest is the case with the longest slack length as the line runs now, −1 where there is none.
func (c *comparer) slackest() int {
	worst := -1
	for k := range c.base {
		if s := c.base[k].Slack; s > 0 && (worst < 0 || s > c.base[worst].Slack) {
			worst = k
		}
	}
	return worst
}

// sustaining finds the set point of a sustaining valve at a place: with the valves that stand there, with the pumps made
// larger to keep the flow, and with every type that shuts at less head.
func (c *comparer) sustaining(ctx context.Context, b *bench, t *tried, at Place) error {
	if err := c.setPoint(ctx, b, t, at, -1); err != nil {
		return err
	}
	if err := c.setPointAndPumps(ctx, b, t, at); err != nil {
		return err
	}
	if !c.in.Combined {
		return nil
	}
	for i := range c.in.Rack {
		if c.unfit(i) != "" || !c.lowers(i) {
			continue
		}
		if err := c.setPoint(ctx, b, t, at, i); err != nil {
			return err
		}
	}
	return nil
}

func (c *comparer) setPoint(ctx context.Context, b *bench, t *tried, at Place, record int) error {
	w := Way{Kind: Sustaining, Name: "Sustaining valve at " + at.Name, Place: at, Record: record, Governs: -1}
	var bl bill
	bl.add(SustainingPrice, c.in.Prices.ControlValve, c.in.Prices.HasControlValve, "the sustaining valve: its price was not given")
	n, taken := c.own(), []int(nil)
	if record >= 0 {
		w.Name += ", valve " + c.in.Rack[record].Name
		w.Valves, taken, n = c.failing, c.failing, c.exchange(record)
		c.valves(&bl, record)
	}
	return c.found(ctx, b, t, w, bl, &quest{needs: n, taken: taken, limit: c.limits.Setting,
		hints:  func(k int) []float64 { return b.settings(k, at) },
		change: func(x float64) Change { return Change{HasSustaining: true, Sustaining: at, Setting: x} },
		put: func(w *Way, _ *bill, x float64) string {
			w.SetPoint = x
			return "Set to " + m2(x)
		}})
}

// settings are the settings of a sustaining valve that were tried already in a case, rising: looking there again costs
// nothing.
func (b *bench) settings(k int, at Place) []float64 {
	var s []float64
	for q := range b.known {
		if q.k == k && q.change == (Change{HasSustaining: true, Sustaining: at, Setting: q.change.Setting}) {
			s = append(s, q.change.Setting)
		}
	}
	slices.Sort(s)
	return s
}

// found searches, and finishes the way with what was found.
func (c *comparer) found(ctx context.Context, b *bench, t *tried, w Way, bl bill, q *quest) error {
	if why := c.unknown(q.taken); why != "" {
		t.add(refuse(w, "%s", why), bl)
		return nil
	}
	before := b.calls
	x, governs, why, err := b.find(ctx, q)
	if err != nil {
		return fmt.Errorf("%s: %w", w.Name, err)
	}
	w.Governs = governs
	if why == "" && governs < 0 {
		why = "every valve has the head it needs, and the margin wanted, as the line runs now: there is nothing to find"
	}
	if why != "" {
		w.Calls = b.calls - before
		t.add(refuse(w, "%s", why), bl)
		return nil
	}
	states, err := b.states(ctx, q.change(x))
	if err != nil {
		return fmt.Errorf("%s: %w", w.Name, err)
	}
	w.Calls = b.calls - before
	w.say(q.put(&w, &bl, x) + c.buys(governs, states, q.needs) + ".")
	c.finish(&w, states, q.needs, &bl.account, true)
	t.add(w, bl)
	return nil
}

// buys says what a change wins at the valve that asked for it, in the case that asked most.
func (c *comparer) buys(k int, states []State, n needs) string {
	if k < 0 {
		return ""
	}
	was, now := &c.base[k], &states[k]
	_, v := c.margin(k, was, n)
	if v < 0 || !now.Possible {
		return ""
	}
	text := fmt.Sprintf(": %s more at %s in case %q", m2(now.Heads[v]-was.Heads[v]), c.in.Valves[v].Name, c.in.Cases[k].Name)
	if was.Slack > 0 {
		text += fmt.Sprintf(", where %s run part full now and nothing is won until that is gone", quantity.Format(was.Slack, "m", 0))
	}
	return text
}
