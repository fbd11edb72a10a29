package draining

import (
	"math"
	"slices"
	"sort"
)

const (
	day         = 86400.0 // s
	mostSamples = 60      // of a series
)

// report makes the result of what was followed.
func (s *slow) report() {
	r := s.out
	r.past, r.Steps = s, s.steps
	s.pools()
	s.valves()
	s.verdict()
	start := s.stateAt(0)
	r.End = s.stateAt(s.in.Horizon)
	r.DrainedLength = max(0, start.full-r.End.full)
	s.balance(start)
	s.frames(start)
}

// pools fills in what became of the bodies.
func (s *slow) pools() {
	for _, b := range s.bodies {
		p := &s.out.Pools[b.id]
		p.Lost = b.lost
		if !b.gone {
			p.End = b.time
		}
		p.Levels = append(p.Levels, Level{b.begun, b.first()})
		for i, stride := 0, 1+len(b.panels)/mostSamples; i < len(b.panels); i++ {
			if i%stride == stride-1 || i == len(b.panels)-1 {
				p.Levels = append(p.Levels, Level{b.panels[i].t1, b.panels[i].h1})
			}
		}
		s.out.Lost += b.lost
		if !b.gone {
			s.ends(b)
		}
	}
}

// first is the level a body began with.
func (b *body) first() float64 {
	if len(b.panels) > 0 {
		return b.panels[0].h0
	}
	return b.level
}

// ends marks the valve whose seat set where a body's level ended: the lowest that leaked.
func (s *slow) ends(b *body) {
	low := -1
	for _, i := range b.leaks {
		if s.leaks[i].total > 0 && (low < 0 || s.leaks[i].Seat < s.leaks[low].Seat) {
			low = i
		}
	}
	if low >= 0 && s.out.Pools[b.id].Status == StoppedLeaking {
		s.leaks[low].ends = true
	}
}

// valves fills in what each valve did.
func (s *slow) valves() {
	s.out.Valves = make([]ValveResult, len(s.leaks))
	for i := range s.leaks {
		k, v := &s.leaks[i], &s.out.Valves[i]
		*v = ValveResult{Name: k.Name, Run: k.Run, Chainage: k.Chainage, Placed: k.Placed, Record: k.Record, Seat: k.Seat, AdmitsAir: k.AdmitsAir,
			Start: k.stateAt(0), End: k.state, LargestLeak: k.largest, Total: k.total, LetsGo: k.goneAt, HasLetGo: k.gone,
			Opens: k.opens, HasOpened: k.opened, Ends: k.ends}
		if len(k.turns) > 0 {
			v.Start = k.turns[0].state
		}
		stride := 1 + len(k.way)/mostSamples
		for j, w := range k.way {
			if j%stride == 0 || j == len(k.way)-1 {
				v.Series = append(v.Series, w.Sample)
			}
			if w.Leak > 0 {
				if v.FirstLeak == 0 {
					v.FirstLeak = w.Leak
				}
				v.LastLeak = w.Time
			}
		}
		v.Pit = s.pit(k)
	}
}

// pit is what the pit of a valve receives.
func (s *slow) pit(k *leak) Pit {
	standing := s.in.Standing
	if standing == 0 {
		standing = s.in.Horizon
	}
	p := Pit{FirstDay: k.lostAt(day), Standing: k.lostAt(standing)}
	if s.in.PitArea > 0 {
		p.HasArea, p.Rainfall = true, p.FirstDay/s.in.PitArea*1000
	}
	if v := s.in.PitVolume; v > 0 && k.total >= v {
		i := sort.Search(len(k.way)-1, func(i int) bool { return k.way[i].lost >= v })
		lo, hi := k.way[max(i-1, 0)].Time, k.way[i].Time
		for range 60 {
			if mid := 0.5 * (lo + hi); k.lostAt(mid) < v {
				lo = mid
			} else {
				hi = mid
			}
		}
		p.Fills, p.DaysToFill = true, hi/day
	}
	return p
}

// verdict says how the draining as a whole ended.
func (s *slow) verdict() {
	r := s.out
	rank := map[Status]int{NoLeak: 0, StoppedLeaking: 1, NotKnown: 2, HorizonReached: 3, GoesOn: 4}
	for _, b := range s.bodies {
		p := &r.Pools[b.id]
		if b.gone {
			if rank[p.Status] > rank[r.Status] && p.Lost > 0 {
				r.Status = p.Status
			}
			continue
		}
		if p.Status == GoesOn || p.Status == HorizonReached {
			for _, i := range b.leaks {
				r.LeakAtEnd += s.leaks[i].flow(b.level)
			}
		}
		if p.Status == StoppedLeaking && p.Lost == 0 && len(b.panels) == 0 {
			continue
		}
		if rank[p.Status] > rank[r.Status] {
			r.Status, r.Reason = p.Status, p.Ended
		}
	}
	r.LossPerDay = r.LeakAtEnd * day
	for _, v := range r.Valves {
		r.StopTime = max(r.StopTime, v.LastLeak)
	}
	for _, b := range s.bodies {
		if b.lost > 0 {
			r.StopTime = max(r.StopTime, r.Pools[b.id].End)
		}
	}
}

// balance compares the water at the start and at the end, each reckoned anew from the drawing of what is wet, with what was lost.
func (s *slow) balance(start State) {
	r := s.out
	wrong := r.End.Volume - start.Volume + r.Lost - s.runIn
	level, _ := s.levelsAt(s.in.Horizon)
	first, _ := s.levelsAt(0)
	for _, t := range s.grid.tanks {
		if !math.IsInf(t.area, 1) {
			k := s.of[t.vertex]
			wrong += t.area * (level[k] - first[k])
		}
	}
	for _, b := range s.bodies { // stopped by the horizon while a column comes down
		if !b.gone {
			lack, _ := b.measure(b.level, false)
			wrong += lack - b.lack
		}
	}
	if r.Lost > 0 {
		r.WaterBalance = math.Abs(wrong) / r.Lost
	}
}

// frames picks some moments for a strip of drawings: the beginning and the end, shares of what is lost, and partings between.
func (s *slow) frames(start State) {
	r := s.out
	if r.Lost == 0 {
		r.Frames = []State{start}
		return
	}
	last := r.StopTime
	times := []float64{0, last}
	for _, share := range [...]float64{0.1, 0.25, 0.5, 0.75, 0.9, 0.98} {
		times = append(times, s.lostBy(share*r.Lost, last))
	}
	const most = 12
	for _, e := range r.Events {
		if len(times) < most && e.ID == "draining.splits" && e.Time > 0 {
			times = append(times, e.Time)
		}
	}
	slices.Sort(times)
	for i, t := range times {
		if i == 0 || t > times[i-1] {
			r.Frames = append(r.Frames, s.stateAt(t))
		}
	}
}

// lostBy is when a volume has been lost.
func (s *slow) lostBy(v, last float64) float64 {
	lo, hi := 0.0, last
	for range 24 {
		mid, sum := 0.5*(lo+hi), 0.0
		for i := range s.leaks {
			if s.leaks[i].total > 0 {
				sum += s.leaks[i].lostAt(mid)
			}
		}
		if sum < v {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}
