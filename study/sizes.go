package study

import (
	"context"
	"fmt"
	"runtime"
	"slices"

	"obvert/engine/siting"
	"obvert/engine/sizing"
	"obvert/line"
)

// sizes works out how much air must come and go at every placed valve and every place that wants one.
func (s *solver) sizes(ctx context.Context) error {
	in := sizing.Input{Line: s.l}
	for i := range s.res.Sealing.Valves {
		v := &s.res.Sealing.Valves[i]
		p := s.sized(v.Name, v.Run, v.Chainage)
		p.Placed, p.Record = v.Placed, v.Record
		if s.l.Runs[v.Run].Placed[v.Placed].Isolated {
			p.Record = -1
		}
		in.Places = append(in.Places, p)
	}
	for _, c := range s.res.Siting.Candidates {
		if c.Verdict == siting.Missing && essential(c.Reasons) {
			in.Places = append(in.Places, s.sized(fmt.Sprintf("%s on %s", ch(c.Chainage), s.l.Runs[c.Run].Name), c.Run, c.Chainage))
		}
	}
	if len(in.Places) == 0 {
		return nil
	}
	return s.sizeAll(ctx, in)
}

// fewPlaces is a number of places that is not worth sharing out.
const fewPlaces = 16

// sizeAll shares the places out among the cores: each is sized by itself.
func (s *solver) sizeAll(ctx context.Context, in sizing.Input) error {
	n := min(runtime.GOMAXPROCS(0), (len(in.Places)+fewPlaces-1)/fewPlaces)
	parts := make([]sizing.Result, n)
	err := parallel(ctx, n, func(i int) (err error) {
		one := in
		one.Places = in.Places[i*len(in.Places)/n : (i+1)*len(in.Places)/n]
		parts[i], err = sizing.Solve(ctx, one)
		return err
	})
	if err != nil {
		return err
	}
	all := parts[0]
	for _, p := range parts[1:] {
		all.Places = append(all.Places, p.Places...)
		all.Closure = max(all.Closure, p.Closure)
		for _, note := range p.Notes {
			if !slices.Contains(all.Notes, note) { // what concerns the whole line is said once
				all.Notes = append(all.Notes, note)
			}
		}
	}
	s.res.Sizing = all
	return nil
}

// sized lays out one place for sizing.
func (s *solver) sized(name string, run int, chainage float64) sizing.Place {
	obvert, _ := s.l.ObvertAt(run, chainage)
	p := sizing.Place{Name: name, Run: run, Chainage: chainage, Placed: -1, Record: -1, Obvert: obvert,
		Legs: sizing.Legs(s.l, run, chainage), WaveSpeed: s.waveSpeed(run, chainage), End: s.deadEnd(run, chainage)}
	for k := range s.l.Cases {
		st := s.res.Grades[k].At(run, chainage)
		flow := s.res.Grades[k].Runs[run].Flow
		p.Cases = append(p.Cases, sizing.CaseState{Name: s.l.Cases[k].Name, Kind: s.l.Cases[k].Kind, Flow: max(flow, -flow), Head: st.PressureHead})
	}
	p.Hole = s.hole(run)
	p.DrainWater = s.drainFlow(run, chainage)
	return p
}

// drainFlow is the largest flow of water that a draining on purpose takes from a valve's place, by volume the air that it asked for; 0 where none does.
func (s *solver) drainFlow(run int, chainage float64) float64 {
	most := 0.0
	for i := range s.res.Passed {
		p := &s.res.Passed[i]
		if p.Draining == nil || s.l.Events[p.Event].Kind != line.Draining {
			continue
		}
		for j := range p.Draining.Valves {
			if v := &p.Draining.Valves[j]; v.Run == run && v.Chainage == chainage {
				most = max(most, v.FreePeak)
			}
		}
	}
	return most
}

// hole is the partial burst that the user's own events look at on a run, the largest of them.
func (s *solver) hole(run int) sizing.Hole {
	var h sizing.Hole
	for i := range s.l.Events {
		if e := &s.l.Events[i]; e.Kind == line.Burst && e.At.Run == run && e.Opening > h.Diameter {
			h = sizing.Hole{Diameter: e.Opening, Coefficient: e.Loss}
		}
	}
	return h
}

// deadEnd tells whether a place is at a closed end of the line.
func (s *solver) deadEnd(run int, chainage float64) bool {
	r := &s.l.Runs[run]
	last := r.Points[len(r.Points)-1].Chainage
	return chainage == r.Points[0].Chainage && s.l.Nodes[r.From].Kind == line.DeadEnd || chainage == last && s.l.Nodes[r.To].Kind == line.DeadEnd
}
