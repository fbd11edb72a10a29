package study

import (
	"context"
	"sort"

	"obvert/engine/draining"
	"obvert/engine/sealing"
)

// rests sums up, pool by pool, what draining found in time.
func (s *solver) rests(context.Context) error {
	for i, k := range s.res.StandingCases {
		s.restsOf(k, &s.res.Draining[i])
	}
	return nil
}

func (s *solver) restsOf(k int, d *draining.Result) {
	g := &s.res.Grades[k]
	all := make([]Rest, len(g.Pools))
	for p := range all {
		all[p] = Rest{Case: k, Pool: p, Level: g.Pools[p].Level, Known: true}
	}
	for j := range d.Valves {
		v := &s.res.Sealing.Valves[j]
		if p := g.At(v.Run, v.Chainage).Pool; p >= 0 {
			s.leaks(&all[p], &d.Valves[j], &v.Cells[k])
		}
	}
	root := make([]int, len(d.Pools))
	for i := range d.Pools {
		b := &d.Pools[i]
		root[i] = i
		if b.From >= 0 {
			root[i] = root[b.From]
		}
		if p := root[i]; p < len(all) {
			all[p].Lost += b.Lost
			all[p].Fed = all[p].Fed || b.Fed != ""
		}
	}
	for p := range all {
		if r := &all[p]; len(r.Leaking) > 0 {
			r.Empty = s.leftEmpty(k, p, d)
			s.res.Rests = append(s.res.Rests, *r)
		}
	}
}

// leaks adds what one valve of a pool does.
func (s *solver) leaks(r *Rest, v *draining.ValveResult, c *sealing.Cell) {
	if v.Total <= 0 && v.Start != draining.Drips {
		r.Known = r.Known && v.Start != draining.NoRecord
		return
	}
	r.Leaking = append(r.Leaking, v.Name)
	if c.State == sealing.Drips {
		r.PerDay += c.Leak * s.secondsStanding(r.Case)
		r.Known = r.Known && c.HasLeak
	}
	if v.Ends && (r.Governs == "" || v.Seat < r.Level) {
		r.Governs, r.Level = v.Name, v.Seat
	}
}

// leftEmpty is the length of a pool that holds no water any more.
func (s *solver) leftEmpty(k, pool int, d *draining.Result) float64 {
	p := &s.res.Grades[k].Pools[pool]
	left := 0.0
	for _, sp := range p.Spans {
		wet := d.End.Runs[sp.Run] // by chainage, none over another
		first := sort.Search(len(wet), func(i int) bool { return wet[i].To > sp.From })
		for _, w := range wet[first:] {
			if w.From >= sp.To {
				break
			}
			from, _ := s.l.DistanceAt(sp.Run, max(w.From, sp.From))
			to, _ := s.l.DistanceAt(sp.Run, min(w.To, sp.To))
			left += to - from
		}
	}
	return max(0, p.WetLength-left)
}
