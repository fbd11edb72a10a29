package study

import (
	"context"
	"fmt"
	"math"

	"obvert/engine/sealing"
	"obvert/physics/valve"
)

// tried judges a placed valve with another type of the rack in its place, through all cases in their order.
func (s *solver) tried(i, record int) (sealing.ValveResult, bool) {
	one := s.judged
	one.Valves = []sealing.Valve{s.judged.Valves[i]}
	one.Valves[0].Record = record
	one.Cases = make([]sealing.Case, len(s.judged.Cases))
	for k := range one.Cases {
		one.Cases[k] = s.judged.Cases[k]
		one.Cases[k].At = s.judged.Cases[k].At[i : i+1]
	}
	r, err := sealing.Solve(context.Background(), one)
	if err != nil || len(r.Valves) != 1 {
		return sealing.ValveResult{}, false
	}
	return r.Valves[0], true
}

// least is the smallest margin of a valve over the cases in which water stands at it, and that margin's standard uncertainty; false where it drips in one, or is
// not known.
func least(v *sealing.ValveResult) (margin, sigma float64, tight bool) {
	margin = math.Inf(1)
	for k := range v.Cells {
		switch c := &v.Cells[k]; c.State {
		case sealing.Tight:
			if c.Margin < margin {
				margin, sigma, tight = c.Margin, c.Sigma, true
			}
		case sealing.Drips, sealing.Unrated:
			return 0, 0, false
		}
	}
	return margin, sigma, tight
}

// fitting tries every type of the rack in a valve's place.
func (s *solver) fitting(i int) []string {
	v := &s.res.Sealing.Valves[i]
	best, margin := -1, 0.0
	lowest := math.Inf(1)
	for k := range v.Cells {
		if c := &v.Cells[k]; c.State != sealing.Empty && c.State != sealing.Open {
			lowest = min(lowest, c.Head)
		}
	}
	if math.IsInf(lowest, 1) {
		return nil
	}
	for r := range s.l.Rack {
		t := s.l.Rack[r].Sealing
		if t.Bound != valve.Measured && t.Bound != valve.LessThan || r == v.Record || s.l.Site.Head(t.Mean) >= lowest {
			continue
		}
		other, ok := s.tried(i, r)
		if !ok {
			continue
		}
		// The type that needs most and still holds by three standard uncertainties: no tighter a valve than the place asks for.
		if m, sigma, tight := least(&other); tight && m > 3*sigma && (best < 0 || m < margin) {
			best, margin = r, m
		}
	}
	if best < 0 {
		return []string{fmt.Sprintf("No type of the rack shuts at %s: raise the standing level, move the valve lower, or measure a type with a lower sealing head.", m2(lowest))}
	}
	return []string{fmt.Sprintf("Tried: with %s in its place it is tight in every case in which water stands there, by %s or more%s.", s.l.Rack[best].Name, m2(margin), s.largeEnough(i, best))}
}

const tooSmallForAir = ", but too small for its air"

// largeEnough says whether a type also passes the air that the place needs, where sizing knows.
func (s *solver) largeEnough(i, record int) string {
	v := &s.res.Sealing.Valves[i]
	for j := range s.res.Sizing.Places {
		p := &s.res.Sizing.Places[j]
		if p.Run != v.Run || p.Placed != v.Placed || p.Chainage != v.Chainage {
			continue
		}
		for _, t := range p.Trials {
			if t.Record != record || !t.Judged {
				continue
			}
			if (t.In == 0 || t.In >= 1) && (t.Out == 0 || t.Out >= 1) {
				return ", and large enough for its air"
			}
			return tooSmallForAir
		}
	}
	return ""
}

// tightWith says whether a type in a valve's place would be held shut.
func (s *solver) tightWith(i, record int) string {
	if record == s.res.Sealing.Valves[i].Record {
		return ""
	}
	v, ok := s.tried(i, record)
	if !ok {
		return ""
	}
	if m, _, tight := least(&v); tight {
		return fmt.Sprintf(", which is tight there, margin %s", m2(m))
	}
	return ", which does not stay tight there"
}
