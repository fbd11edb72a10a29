package study

import (
	"context"
	"fmt"
	"slices"

	"obvert/engine/costing"
	"obvert/engine/draining"
	"obvert/engine/sealing"
	"obvert/line"
)

// drains follows every standing case in time while its valves leak.
func (s *solver) drains(ctx context.Context) error {
	s.res.Draining = make([]draining.Result, len(s.res.StandingCases))
	return parallel(ctx, len(s.res.StandingCases), func(i int) error {
		r, err := draining.Solve(ctx, s.drainingOf(s.res.StandingCases[i]))
		if err != nil {
			return fmt.Errorf("%s: %w", s.l.Cases[s.res.StandingCases[i]].Name, err)
		}
		s.res.Draining[i] = r
		return nil
	})
}

// standingHorizon is the longest time for which a leaking line is followed: a year.
const standingHorizon = 365 * 86400.0

// drainingOf lays out a line at rest for draining.
func (s *solver) drainingOf(k int) draining.Input {
	p := &s.l.Prices
	return draining.Input{
		Line: s.l, Case: k, Pools: s.pools(k), Valves: s.tapped(k), Rack: s.l.Rack,
		AllowedVacuum: s.wallVacuum, Horizon: standingHorizon, Standing: s.secondsStanding(k),
		StoppedLeak: s.l.Practice.StoppedLeak.Value, PitArea: p.PitArea, PitVolume: p.PitVolume,
	}
}

// pools hands over the bodies of water of a standing case.
func (s *solver) pools(k int) []draining.Pool {
	g := &s.res.Grades[k]
	pools := make([]draining.Pool, len(g.Pools))
	for i, p := range g.Pools {
		pools[i] = draining.Pool{Level: p.Level, Fed: p.Fed, Node: p.Node, Suction: p.Suction}
		for _, sp := range p.Spans {
			pools[i].Spans = append(pools[i].Spans, draining.Span{Run: sp.Run, From: sp.From, To: sp.To, FullFrom: sp.FullFrom, FullTo: sp.FullTo, Level: p.Level, Pool: i})
		}
	}
	return pools
}

// tapped hands over the air valves as they stand in a case at rest.
func (s *solver) tapped(k int) []draining.Valve {
	valves := make([]draining.Valve, len(s.res.Sealing.Valves))
	for i := range s.res.Sealing.Valves {
		v := &s.res.Sealing.Valves[i]
		placed := &s.l.Runs[v.Run].Placed[v.Placed]
		valves[i] = draining.Valve{Name: v.Name, Run: v.Run, Chainage: v.Chainage, Placed: v.Placed, Seat: v.Seat, Record: v.Record,
			AdmitsAir: placed.AdmitsAir, Isolated: placed.Isolated, Shut: v.Cells[k].State == sealing.Tight}
	}
	return valves
}

// events works out what passes in time.
func (s *solver) events(ctx context.Context) error {
	s.res.Passed = make([]Passed, len(s.l.Events))
	return parallel(ctx, len(s.l.Events), func(i int) error {
		p := Passed{Event: i}
		var err error
		switch e := &s.l.Events[i]; e.Kind {
		case line.Draining, line.Burst:
			p.Draining, err = s.emptying(ctx, e)
		case line.FirstFilling, line.Restart:
			err = s.refill(ctx, e, &p)
		}
		if err != nil {
			if ctx.Err() != nil {
				return ctx.Err()
			}
			p.Why = err.Error()
		}
		s.res.Passed[i] = p
		return nil
	})
}

// emptying drains the line through its scours or a burst.
func (s *solver) emptying(ctx context.Context, e *line.Event) (*draining.Result, error) {
	k := s.restBefore(e)
	if k < 0 {
		return nil, fmt.Errorf("event %q begins from rest, and no case of the line stands: add a [[case]] with kind = \"standing\"", e.Name)
	}
	in := s.drainingOf(k)
	in.Horizon = e.Horizon
	if in.Horizon <= 0 {
		in.Horizon = emptyingHorizon
	}
	if in.MostSteps = s.mostSteps(); e.Default {
		in.MostSteps = min(in.MostSteps, usualSteps)
	}
	if e.Kind == line.Burst {
		in.Openings = []draining.Opening{{Name: e.Name, Run: e.At.Run, Chainage: e.At.Chainage, Diameter: e.Opening, Coefficient: e.Loss, Burst: true}}
	}
	for _, at := range e.Scours {
		for _, q := range s.l.Runs[at.Run].Equipment {
			if q.Kind == line.Scour && q.Chainage == at.Chainage {
				in.Openings = append(in.Openings, draining.Opening{Name: q.Name, Run: at.Run, Chainage: at.Chainage, Diameter: q.Bore, Coefficient: q.Coefficient})
			}
		}
	}
	r, err := draining.Solve(ctx, in)
	return &r, err
}

// emptyingHorizon is the longest time for which an opened line is followed: three days.
const emptyingHorizon = 3 * 86400.0

// usualSteps bounds the effort for an event that nobody asked for; the answer says how far it came.
const usualSteps = 600

// mostSteps bounds the effort for an event: a step costs more the more valves and equipment part the water. The answer says how far it came.
func (s *solver) mostSteps() int {
	const most, many = 5000, 20
	parts := s.l.ValveCount()
	for r := range s.l.Runs {
		parts += len(s.l.Runs[r].Equipment)
	}
	return most * many / (many + parts)
}

// restBefore is the standing case from which an event begins: its own, else the first; −1 where no case stands.
func (s *solver) restBefore(e *line.Event) int {
	if e.After >= 0 && e.After < len(s.l.Cases) && s.l.Cases[e.After].Kind == line.Standing {
		return e.After
	}
	if len(s.res.StandingCases) > 0 {
		return s.res.StandingCases[0]
	}
	return -1
}

// drainingIn is the answer to draining of a standing case.
func (s *solver) drainingIn(k int) *draining.Result {
	if i := slices.Index(s.res.StandingCases, k); i >= 0 {
		return &s.res.Draining[i]
	}
	return nil
}

// leakOfAll is what leaks and restarts cost a day, for costing.
func (s *solver) leakOfAll() costing.Leak {
	var leak costing.Leak
	wet := map[string]bool{}
	for i := range s.res.StandingCases {
		d := &s.res.Draining[i]
		if !s.daily(i) { // an extreme case stands for no day
			continue
		}
		leak.Known = true
		for j := range d.Valves {
			v := &d.Valves[j]
			leak.Water += v.Pit.Standing
			if v.Total > 0 {
				wet[v.Name] = true
			}
			leak.Known = leak.Known && v.Start != draining.NoRecord
		}
	}
	leak.WetPits = len(wet)
	for i := range s.res.Passed {
		p := &s.res.Passed[i]
		if s.l.Events[p.Event].Kind != line.Restart || p.Refilling == nil {
			continue
		}
		if leak.Water <= 0 || p.Refilling.Water <= 0 {
			break // what has to be filled stood empty without any leak, and does so in every way
		}
		share := min(1, leak.Water/p.Refilling.Water)
		leak.Starts, leak.RefillWater, leak.RefillEnergy = 1, share*p.Refilling.Water, share*p.Refilling.Energy
		leak.Slam = s.slamWords(p.Refilling)
		break
	}
	return leak
}
