package study

import (
	"context"
	"fmt"
	"math"
	"slices"

	"obvert/engine/draining"
	"obvert/engine/refilling"
	"obvert/line"
	"obvert/physics/pocket"
	"obvert/quantity"
)

// refill fills the line, empty or drained as it was left standing, and seeks the largest start that keeps every limit.
func (s *solver) refill(ctx context.Context, e *line.Event, p *Passed) error {
	in, err := s.refillOf(e)
	if err != nil {
		return err
	}
	r, err := refilling.Solve(ctx, in)
	if err != nil {
		return err
	}
	p.Refilling = &r
	if !s.slams(&r) {
		return nil // as it is started it keeps every limit: nobody asks for more
	}
	in.Frames, in.Sensitivity, in.AirLimit = 0, false, 0
	var search refilling.Search
	const many = 60                           // valves, from which each trial takes long
	if e.Default || s.l.ValveCount() > many { // nobody asked, or each trial is dear: a coarser look
		search = refilling.Search{Scan: 5, Refine: 2}
	}
	start, err := refilling.LargestStart(ctx, in, search)
	if err != nil {
		return err
	}
	p.Start = &start
	return nil
}

// slams tells whether a start breaks a limit that another flow could keep: air that no valve lets out stays whatever the flow.
func (s *solver) slams(r *refilling.Result) bool {
	if r.Slam > s.l.Practice.Slam.Value {
		return true
	}
	for i := range r.Valves {
		if r.Valves[i].Share > 1 || r.Valves[i].Shut == refilling.ByAir {
			return true
		}
	}
	return false
}

// trappedAir is the mass of air left in pockets without a way out from which it counts, kg: about a litre at atmospheric pressure. Common practice, no
// source.
const trappedAir = 0.001

// refillOf lays out a start of the line.
func (s *solver) refillOf(e *line.Event) (refilling.Input, error) {
	if e.Start < 0 || e.Start >= len(s.l.Cases) || !flowing(&s.l.Cases[e.Start]) {
		return refilling.Input{}, fmt.Errorf("event %q starts a case in which nothing flows: name a pumping, gravity or filling case", e.Name)
	}
	in := refilling.Input{
		Line: s.l, Case: e.Start, Flow: e.Flow, Horizon: e.Horizon, Sensitivity: true,
		SlamLimit: s.l.Practice.Slam.Value, AirLimit: trappedAir, Carries: s.carries(),
	}
	for r := range s.walls {
		speeds := make([]float64, len(s.walls[r]))
		for i := range speeds {
			speeds[i] = s.walls[r][i].speed
		}
		in.WaveSpeed = append(in.WaveSpeed, speeds)
	}
	if e.Kind == line.Restart {
		k := s.restBefore(e)
		if k < 0 {
			return in, fmt.Errorf("event %q begins from rest, and no case of the line stands: add a [[case]] with kind = \"standing\"", e.Name)
		}
		state := s.stateLeft(k, e.Standing)
		in.Water = s.square(state)
		in.Line = s.withLevels(e.Start, k, state)
	}
	return in, nil
}

// withLevels is the line with the water levels of one case in another: a start finds the tanks as the rest before it, and its leaks, left them.
func (s *solver) withLevels(start, rest int, state draining.State) *line.Line {
	l := *s.l
	l.Cases = slices.Clone(l.Cases)
	level := slices.Clone(l.Cases[rest].Level)
	for n := range l.Nodes {
		if t := l.Nodes[n].Tank; t != nil && t.Area > 0 {
			level[n] = min(level[n], s.levelLeft(n, rest, state))
		}
	}
	l.Cases[start].Level = level
	return &l
}

// levelLeft is how far the water in a tank has sunk with that of its pipes: Inf where no pipe tells.
func (s *solver) levelLeft(node, rest int, state draining.State) float64 {
	left := math.Inf(1)
	for _, r := range s.l.Nodes[node].Runs {
		if slices.Contains(s.l.Cases[rest].Closed[r], true) {
			continue // shut off, it tells nothing of the tank
		}
		run := &s.l.Runs[r]
		end := run.Points[0]
		if run.To == node {
			if s.l.Nodes[node].Tank.Inlet == line.OverTheTop {
				continue // the tank's water does not reach this pipe
			}
			end = run.Points[len(run.Points)-1]
		}
		at := end.Obvert - s.l.BoreAt(r, end.Chainage) // no water stands in the pipe's end: the tank's is not above its invert
		for _, sp := range state.Runs[r] {
			if sp.From <= end.Chainage && end.Chainage <= sp.To {
				at = sp.Level
			}
		}
		left = min(left, at)
	}
	return left
}

// stateLeft is the water in the line after a time at rest (s; 0: the usual time, or until the leaks stopped where no time is usual).
func (s *solver) stateLeft(k int, standing float64) draining.State {
	d := s.drainingIn(k)
	if standing <= 0 && s.l.Prices.HoursStanding > 0 || s.l.Cases[k].Hours > 0 {
		standing = s.secondsStanding(k)
	}
	if standing > 0 {
		return d.At(standing)
	}
	return d.End
}

// square gives level water the square ends that a moving column has: where its surface meets the pipe's axis, so that the column stands at rest as the water
// did, and on an even slope holds as much. Water that fills the bore nowhere counts as air.
func (s *solver) square(state draining.State) [][]refilling.Water {
	water := make([][]refilling.Water, len(s.l.Runs))
	for r := range state.Runs {
		for _, sp := range state.Runs[r] {
			if sp.FullTo <= sp.FullFrom {
				continue
			}
			w := refilling.Water{From: s.axisAt(r, sp.Level, sp.FullFrom, sp.From), To: s.axisAt(r, sp.Level, sp.FullTo, sp.To)}
			if n := len(water[r]); n > 0 && water[r][n-1].To >= w.From { // two bodies at a crest between them
				w.From = water[r][n-1].To
			}
			if w.To > w.From {
				water[r] = append(water[r], w)
			}
		}
	}
	return water
}

// axisAt is the chainage between a full end and a wet end at which the pipe's axis stands at a level (m).
func (s *solver) axisAt(run int, level, full, wet float64) float64 {
	above := func(x float64) bool {
		obvert, _ := s.l.ObvertAt(run, x)
		return obvert-s.l.BoreAt(run, x)/2 > level
	}
	if full == wet || above(full) {
		return full
	}
	if !above(wet) {
		return wet
	}
	for range 50 {
		if m := (full + wet) / 2; above(m) {
			wet = m
		} else {
			full = m
		}
	}
	return full
}

// carries tells whether all published relations say that water drives air down a slope.
func (s *solver) carries() func(slope, bore, velocity float64) bool {
	g := s.l.Site.Gravity
	return func(slope, bore, velocity float64) bool {
		c := pocket.At(math.Asin(min(slope, 1)), bore, g)
		return c.Carried(velocity) == pocket.ByAll
	}
}

// slamWords says what a refilling does to the line.
func (s *solver) slamWords(r *refilling.Result) string {
	switch {
	case r.Slam > 0:
		return fmt.Sprintf("each start slams by up to %s, at %s", quantity.Format(r.Slam, "m", 0), r.SlamAt)
	case !r.Filled:
		return "a start does not fill the line: " + r.Status
	}
	return ""
}
