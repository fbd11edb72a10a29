package costing

import (
	"context"
	"fmt"

	"obvert/quantity"
)

// raise finds the terminal level.
func (c *comparer) raise(ctx context.Context, b *bench, t *tried) error {
	p := &c.in.Prices
	w := Way{Kind: HigherTerminal, Name: "Higher terminal level", Record: -1, Governs: -1}
	if c.in.NoRaise {
		t.add(refuse(w, "the level at the line's end cannot be raised"), bill{})
		return nil
	}
	return c.found(ctx, b, t, w, bill{}, &quest{needs: c.own(), limit: c.limits.Raise,
		change: func(x float64) Change { return Change{Raise: x} },
		put: func(w *Way, bl *bill, x float64) string {
			w.Height = x
			bl.add(RaisingPrice, x*p.Raising, p.HasRaising, "a higher terminal level: its price a metre was not given")
			return "Raised by " + m2(x)
		}})
}

// mostMoves is how many spots are tried that looked sufficient with the valve taken away.
const mostMoves = 5

// relocate finds the first spot in which the one valve that does not hold would.
func (c *comparer) relocate(ctx context.Context, b *bench, t *tried) error {
	p := &c.in.Prices
	w := Way{Kind: Relocation, Name: "Relocation", Record: -1, Governs: -1}
	var bl bill
	bl.add(RelocationPrice, p.Relocation, p.HasRelocation, "the relocation: its price was not given")
	switch {
	case len(c.failing) > 1:
		t.add(refuse(w, "%d valves do not hold: moving one cures one", len(c.failing)), bl)
		return nil
	case len(c.in.Spots) == 0:
		t.add(refuse(w, "no other place was given"), bl)
		return nil
	}
	if why := c.unknown(nil); why != "" {
		t.add(refuse(w, "%s", why), bl)
		return nil
	}
	v := c.failing[0]
	w.Name, w.Valves = "Relocation of "+c.in.Valves[v].Name, []int{v}
	defer func() { c.countLast(t, b) }()
	away, err := b.states(ctx, Change{HasMove: true, Move: Move{Valve: v}})
	if err != nil {
		return fmt.Errorf("%s: %w", w.Name, err)
	}
	best, where, moved := 0.0, -1, 0
	for j := range c.in.Spots {
		m, why := c.spot(away, v, j)
		if why != "" {
			t.add(refuse(w, "with the valve taken away, %s", why), bl)
			return nil
		}
		if where < 0 || m > best {
			best, where = m, j
		}
		if m < c.in.Margin-rounding || moved == mostMoves {
			continue
		}
		moved++
		states, err := b.states(ctx, Change{HasMove: true, Move: Move{Valve: v, To: c.in.Spots[j], Placed: true}})
		if err != nil {
			return fmt.Errorf("%s: %w", w.Name, err)
		}
		try, bill := w, bl
		try.Place, try.Name = c.in.Spots[j], w.Name+" to "+c.in.Spots[j].Name
		try.say(fmt.Sprintf("Where it stood there is then no valve: air that gathers there finds no way out, and none in when the line drains. It was the first of %d places with head enough.", len(c.in.Spots)))
		c.finish(&try, states, c.own(), &bill.account, true)
		if try.Possible && c.in.Valves[v].HighPoint {
			// USDA, Wood Pipe for Conveying Irrigation Water, p. 15; Fair, Geyer and Okun, Water and Wastewater Engineering, 3rd ed.
			// 2010, p. 187.
			t.add(refuse(try, "there it would hold, but %s stands on a high point, and every high point needs an air valve: else air stays there and the pipe may collapse under vacuum", c.in.Valves[v].Name), bill)
			return nil
		}
		if try.Possible {
			t.add(try, bill)
			return nil
		}
	}
	if moved > 0 {
		t.add(refuse(w, "%d places seemed to have head enough, but not with the valve there", moved), bl)
		return nil
	}
	t.add(refuse(w, "none of %d places has head enough; the best, %s, is %s short", len(c.in.Spots), c.in.Spots[where].Name, m2(c.in.Margin-best)), bl)
	return nil
}

// countLast writes the calls of an attempt into its last way.
func (c *comparer) countLast(t *tried, b *bench) {
	if n := len(t.ways); n > 0 {
		t.ways[n-1].Calls = b.calls
	}
}

// spot is the margin that a valve would have at a spot, the least over the cases, with the line as it is without it.
func (c *comparer) spot(away []State, v, j int) (least float64, why string) {
	seen := false
	for k := range away {
		s := &away[k]
		switch {
		case !s.Possible:
			return 0, fmt.Sprintf("in case %q %s", c.in.Cases[k].Name, s.Why)
		case s.Spots == nil:
			return 0, fmt.Sprintf("the hydraulics gave no heads at the spots in case %q", c.in.Cases[k].Name)
		case !c.concerned(k, v):
			continue
		}
		if m := s.Spots[j] - c.in.Valves[v].Height - c.in.Valves[v].Sealing; !seen || m < least {
			least, seen = m, true
		}
	}
	return least, ""
}

// regrade finds the depth by which the pipe must be laid lower.
func (c *comparer) regrade(ctx context.Context, b *bench, t *tried) error {
	p, in := &c.in.Prices, c.in
	w := Way{Kind: Regrading, Name: "Regrading at " + in.Summit.Name, Place: in.Summit, Record: -1, Governs: -1}
	if len(in.Profile) == 0 {
		t.add(refuse(w, "no profile of the run was given"), bill{})
		return nil
	}
	var failed error
	limit := c.deepest(c.limits.Depth)
	if limit <= step {
		t.add(refuse(w, "the pipe cannot be laid deeper and meet the old one on this run"), bill{})
		return nil
	}
	err := c.found(ctx, b, t, w, bill{}, &quest{needs: c.own(), limit: limit,
		change: func(x float64) Change {
			return Change{HasLowering: true, Lowering: Lowering{Place: in.Summit, Depth: x}}
		},
		put: func(w *Way, bl *bill, x float64) string {
			cut, err := Regrade(in.Profile, in.Summit.Chainage, x)
			failed = err
			w.Depth, w.Length = x, cut.Length
			bl.add(RegradingPrice, cut.Length*p.Regrading, p.HasRegrading, "regrading: its price a metre was not given")
			return fmt.Sprintf("Laid %s deeper, %s of pipe relaid", m2(x), quantity.Format(cut.Length, "m", 0))
		}})
	if err == nil {
		err = failed
	}
	return err
}

// deepest is the largest depth up to a limit at which the new pipe still meets the old one on the run.
func (c *comparer) deepest(limit float64) float64 {
	meets := func(depth float64) bool {
		_, err := Regrade(c.in.Profile, c.in.Summit.Chainage, depth)
		return err == nil
	}
	if meets(limit) {
		return limit
	}
	lo, hi := 0.0, limit
	for range 40 { // halvings: far below step
		if mid := (lo + hi) / 2; meets(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}
