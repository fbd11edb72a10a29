package refilling

import (
	"context"
	"fmt"
	"math"
	"slices"

	"obvert/line"
	"obvert/physics/pipe"
	"obvert/quantity"
)

// Search bounds the search for the largest start flow.
type Search struct {
	Least, Most float64 `unit:"m³/s"` // flows tried; 0: those of 0.05 (but at least a little more than the off-takes draw) and 2 m/s in the widest bore
	Scan        int     // flows tried over the range before the answer is narrowed down; 0: 6
	Refine      int     // flows tried then; 0: 4
}

// The velocities between which start flows are sought, m/s.
const (
	leastVelocity = 0.05
	mostVelocity  = 2.0
)

// LargestStart finds the largest start flow that keeps every limit: slam within Input.SlamLimit, pressure within the rating (slam and
// pocket), no more air trapped than Input.AirLimit, no valve carried shut by air, and the line fills.
//
// What comes of a start does not rise steadily with its flow: a faster start can slam less, since its air leaves against more pressure.
// So the whole range is scanned first, in even steps of the logarithm; the answer lies between the last flow below which all keep the
// limits and the first that does not. There the slams on both sides of the border, where they are what binds, tell where to look next. A trial
// ends as soon as it breaks a limit: its figures are those until then.
func LargestStart(ctx context.Context, in Input, s Search) (Start, error) {
	if err := in.Check(); err != nil {
		return Start{}, err
	}
	in.quick, in.halt, in.Sensitivity = true, true, false
	m, err := newModel(&in)
	if err != nil {
		return Start{}, err
	}
	area := math.Pi / 4 * m.bore * m.bore
	if s.Least == 0 {
		drawn, given := in.drawn(1)
		s.Least = max(leastVelocity*area, min(1.05*drawn/given, mostVelocity*area/2))
	}
	if s.Most == 0 {
		s.Most = mostVelocity * area
	}
	if !(s.Least > 0 && s.Most > s.Least) {
		return Start{}, fmt.Errorf("refilling: start flows are sought from %g to %g m³/s: give a range that rises from above 0", s.Least, s.Most)
	}
	if s.Scan < 2 {
		s.Scan = 6
	}
	if s.Refine == 0 {
		s.Refine = 4
	}
	var out Start
	for i := range s.Scan {
		t, err := in.try(ctx, s.Least*math.Pow(s.Most/s.Least, float64(i)/float64(s.Scan-1)))
		if err != nil {
			return Start{}, err
		}
		out.Trials = append(out.Trials, t)
	}
	err = out.narrow(ctx, in, s)
	return out, err
}

// narrow finds the border between the flows that keep the limits and the first that does not.
func (out *Start) narrow(ctx context.Context, in Input, s Search) error {
	bad := slices.IndexFunc(out.Trials, func(t Trial) bool { return len(t.Breaks) > 0 })
	switch bad {
	case -1:
		out.take(out.Trials[len(out.Trials)-1], NoLimit, "")
		return nil
	case 0:
		first := out.Trials[0]
		out.Binds, out.Where = first.Breaks[0], first.Where
		out.Gaps = slices.ContainsFunc(out.Trials, func(t Trial) bool { return len(t.Breaks) == 0 })
		return nil
	}
	out.Gaps = slices.ContainsFunc(out.Trials[bad:], func(t Trial) bool { return len(t.Breaks) == 0 })
	good, worse := out.Trials[bad-1], out.Trials[bad]
	for range s.Refine {
		t, err := in.try(ctx, between(good, worse, in.SlamLimit))
		if err != nil {
			return err
		}
		out.Trials = append(out.Trials, t)
		if len(t.Breaks) == 0 {
			good = t
		} else {
			worse = t
		}
	}
	slices.SortFunc(out.Trials, func(a, b Trial) int {
		switch {
		case a.Flow < b.Flow:
			return -1
		case a.Flow > b.Flow:
			return 1
		}
		return 0
	})
	out.take(good, worse.Breaks[0], worse.Where)
	return nil
}

// between is the flow to try next: where slam binds, that at which a power of the flow through both slams comes to just below the limit; else the middle.
func between(good, worse Trial, limit float64) float64 {
	share := 0.5
	if worse.Breaks[0] == SlamBinds && good.Slam > 0 && worse.Slam > good.Slam {
		share = min(max(math.Log(0.98*limit/good.Slam)/math.Log(worse.Slam/good.Slam), 0.1), 0.9)
	}
	return good.Flow * math.Pow(worse.Flow/good.Flow, share)
}

func (out *Start) take(t Trial, binds Limit, where string) {
	out.Flow, out.Throttle, out.Binds, out.Where = t.Flow, t.Throttle, binds, where
}

// try starts with one flow and says what it breaks.
func (in Input) try(ctx context.Context, flow float64) (Trial, error) {
	in.Flow, in.Horizon = flow, 0
	r, err := once(ctx, in)
	if err != nil {
		return Trial{}, err
	}
	t := Trial{Flow: flow, Slam: r.Slam, Air: r.Trapped, Time: r.TimeToFull, Throttle: r.ThrottleTime, Status: r.Status}
	where := map[Limit]string{SlamBinds: r.SlamAt + in.drivenBy(&r, flow), TrappedBinds: in.trappedAt(&r)}
	early := ""
	for i := range r.Valves {
		v := &r.Valves[i]
		if v.Share > t.Share {
			t.Share, where[RatingBinds] = v.Share, v.Name
		}
		if v.Shut == ByAir {
			early = v.Name
		}
	}
	pocketShare := 0.0
	for i := range r.Pockets {
		p := &r.Pockets[i]
		run := &in.Line.Runs[p.Run]
		if p.Peak > t.Pocket {
			t.Pocket = p.Peak
		}
		if rating := run.Sections[sectionAt(run, p.Chainage)].Rating; rating > 0 && p.Peak/rating > pocketShare {
			pocketShare = p.Peak / rating
			where[PocketBinds] = quantity.FormatChainage(p.Chainage) + " on " + run.Name
		}
	}
	add := func(broken bool, l Limit) {
		if broken {
			t.Breaks = append(t.Breaks, l)
		}
	}
	add(in.SlamLimit > 0 && t.Slam > in.SlamLimit, SlamBinds)
	add(t.Share > 1, RatingBinds)
	add(pocketShare > 1, PocketBinds)
	add(early != "", EarlyBinds)
	add(t.Air > in.AirLimit && t.Air > 0, TrappedBinds)
	add(!r.Filled && len(t.Breaks) == 0, CannotFill)
	where[EarlyBinds] = early
	if len(t.Breaks) > 0 {
		t.Where = where[t.Breaks[0]]
	}
	return t, nil
}

// drivenBy says, of the largest slam, where its columns meet faster than the start flow alone could make them: a slower start does not mend that.
func (in *Input) drivenBy(r *Result, flow float64) string {
	if drawn, given := in.drawn(flow); given < drawn {
		return fmt.Sprintf(": the off-takes draw %s and so slow a start gives %s: the line empties through them", quantity.Format(drawn, "L/s", 1), quantity.Format(given, "L/s", 1))
	}
	for i := range r.Valves {
		v := &r.Valves[i]
		if v.Name != r.SlamAt || !v.LastAir {
			continue
		}
		run := &in.Line.Runs[v.Run]
		alone := flow / pipe.Area(run.Sections[sectionAt(run, v.Chainage)].Bore)
		if meet := math.Abs(v.Before - v.After); meet > 1.5*alone {
			return fmt.Sprintf(": the columns meet at %s where the start flow alone makes %s; what drives them is water that stood or parted elsewhere and runs together, from a tank, a column behind, or towards an off-take",
				quantity.Format(meet, "m/s", 2), quantity.Format(alone, "m/s", 2))
		}
	}
	return ""
}

// trappedAt is the place of the largest mass of air that stays without a way out.
func (in *Input) trappedAt(r *Result) string {
	most, at := 0.0, ""
	for i := range r.Pockets {
		if p := &r.Pockets[i]; !p.Vented && p.Air > most {
			most, at = p.Air, quantity.FormatChainage(p.Chainage)+" on "+in.Line.Runs[p.Run].Name
		}
	}
	return at
}

// drawn is what the off-takes draw in the case that only the start can feed, and what the stations with a sump that run, or the feeding tank, give
// at a start flow each, m³/s. An off-take behind a tank is the tank's; where a tank stands on the mains before any check valves it feeds with them.
func (in *Input) drawn(flow float64) (drawn, given float64) {
	l, c := in.Line, &in.Line.Cases[in.Case]
	seen := make([]bool, len(l.Nodes))
	fed := false
	var walk func(n int, behind bool)
	walk = func(n int, behind bool) {
		if seen[n] {
			return
		}
		seen[n] = true
		switch nd := &l.Nodes[n]; {
		case nd.Kind == line.Tank && given > 0:
			fed = fed || !behind && nd.Tank.Inlet != line.OverTheTop
			return
		case nd.Kind == line.Offtake && n < len(c.Demand):
			drawn += c.Demand[n]
		case nd.Kind == line.Offtake:
			drawn += nd.Demand
		case nd.Kind == line.Station && !nd.Station.HasSump:
			behind = behind || nd.Station.Check != line.CheckNone
		}
		for _, r := range l.Nodes[n].Runs {
			walk(l.Runs[r].From, behind)
			walk(l.Runs[r].To, behind)
		}
	}
	for n := range l.Nodes {
		if st := l.Nodes[n].Station; l.Nodes[n].Kind == line.Station && st.HasSump && n < len(c.Stations) && slices.Contains(c.Stations[n].Running, true) {
			given += flow
			walk(n, false)
		}
	}
	if given == 0 || fed {
		return 0, max(given, flow)
	}
	return drawn, given
}
