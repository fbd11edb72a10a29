package sizing

import (
	"fmt"
	"strings"

	"obvert/physics/opening"
)

// choose tries the rack, smallest first, and gives the verdict on the placed valve.
func (s *solver) choose(p *Place, out *PlaceResult) error {
	top := highest(p)
	out.Trials = make([]Trial, 0, len(s.order))
	for _, i := range s.order {
		t, err := s.try(i, p, top, out)
		if err != nil {
			return err
		}
		out.Trials = append(out.Trials, t)
		if !t.Judged {
			out.Unjudged = append(out.Unjudged, i)
		}
		if !t.Does {
			continue
		}
		size := s.in.Line.Rack[i].NominalDiameter
		switch {
		case out.Smallest < 0:
			out.Smallest = i
		case out.NextUp < 0 && size > s.in.Line.Rack[out.Smallest].NominalDiameter:
			out.NextUp = i
		}
	}
	if len(s.order) > 0 && out.Smallest < 0 {
		s.remark("sizing.none-does", p, "no valve of the rack does all that is required here%s", s.nearest(out))
	}
	out.Verdict = verdict(p, out)
	return nil
}

// nearest says what stands in the way of the largest record that could be judged.
func (s *solver) nearest(out *PlaceResult) string {
	for i := len(out.Trials) - 1; i >= 0; i-- {
		if t := out.Trials[i]; t.Judged {
			return fmt.Sprintf("; the largest judged, %s: %s", s.in.Line.Rack[t.Record].Name, t.Why)
		}
	}
	return "; none of them has the air curves needed"
}

// highest is the greatest gauge head at the place in any case, m.
func highest(p *Place) float64 {
	top := 0.0
	for _, c := range p.Cases {
		top = max(top, c.Head)
	}
	return top
}

func verdict(p *Place, out *PlaceResult) Verdict {
	known := func(w *Way) bool { return w.Given.Known || w.Governs < 0 }
	enough := func(w *Way) bool { return w.Given.Enough || w.Governs < 0 }
	switch {
	case p.Record < 0:
		return NoValve
	case known(&out.In) && !enough(&out.In), known(&out.Out) && !enough(&out.Out), !out.Release.Enough:
		return TooSmall
	case !known(&out.In) || !known(&out.Out):
		return NotJudged
	}
	return Enough
}

// try holds one record of the rack against the place's needs.
func (s *solver) try(i int, p *Place, top float64, out *PlaceResult) (Trial, error) {
	rec, f := &s.in.Line.Rack[i], &s.rack[i]
	t := Trial{Record: i, Judged: true}
	var few [4]string
	lacks := few[:0]
	for _, side := range [...]struct {
		w     way
		way   *Way
		is    string
		limit float64
		ratio *float64
	}{
		{inward, &out.In, "in", out.In.Allowed.Differential, &t.In},
		{outward, &out.Out, "out", s.practice.VentDifferential.Value, &t.Out}, // its own early closing comes on top
	} {
		if side.way.Governs < 0 {
			continue
		}
		ratio, beyond, known, err := s.ratio(f, side.w, side.limit, out.Duties[side.way.Governs].Water)
		switch {
		case err != nil:
			return t, err
		case !known:
			t.Judged = false
			lacks = append(lacks, "no curve for air "+side.is)
		case side.w == inward && f.closed:
			lacks = append(lacks, "it admits no air")
		case ratio < 1:
			lacks = append(lacks, short(ratio)+" of the air "+side.is)
		}
		*side.ratio, t.Beyond = ratio, t.Beyond || beyond
	}
	small, err := s.trySmall(i, out, &t)
	if err != nil {
		return t, err
	}
	if small != "" {
		lacks = append(lacks, small)
	}
	if high := s.site.Density * s.site.Gravity * top; rec.Rating > 0 && high > rec.Rating {
		lacks = append(lacks, "rated "+bars(rec.Rating)+", "+bars(high)+" stand here")
	}
	t.Why = strings.Join(lacks, "; ")
	t.Does = len(lacks) == 0
	return t, nil
}

// ratio is what a record gives up to a differential over what a flow of water needs there; beyond says that it was read beyond
// what was measured.
func (s *solver) ratio(f *fitted, w way, limit, water float64) (ratio float64, beyond, known bool, err error) {
	flow, at, known, err := f.most(s.state, s.in.Basis, w, limit)
	if err != nil || !known {
		return 0, false, known, err
	}
	return flow.Mass / s.state.mass(s.in.Basis, w, water, at), flow.Note == opening.NoteBeyondMeasured, true, nil
}

// trySmall holds a record's small orifice against the air released; it says what it lacks.
func (s *solver) trySmall(i int, out *PlaceResult, t *Trial) (string, error) {
	r := &out.Release
	need := max(r.Mass, r.RuleMass)
	if !r.Wanted || need < leastMass || r.Working == 0 {
		return "", nil
	}
	o := s.rack[i].release
	if o == nil {
		return "no small orifice", nil
	}
	f, err := o.MassFlow(s.site.AtmosphericPressure+r.Working, s.site.AtmosphericPressure, s.site.WaterTemperature)
	if err != nil {
		return "", err
	}
	if t.Release = f.Mass / need; t.Release < 1 {
		return short(t.Release) + " of the air released", nil
	}
	return "", nil
}
