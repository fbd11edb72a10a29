package sizing

import (
	"fmt"
	"math"

	"obvert/line"
	"obvert/physics/pipe"
	"obvert/physics/water"
)

// slam is the head by which the water strikes as the last air leaves while filling: a·V/2g in mid-line, where both columns stop
// at half the change, a·V/g at a dead end (N. Joukowsky 1898). V is that in the smallest bore beside the place. What the small
// orifice still passes is not taken off.
func (s *solver) slam(p *Place, out *PlaceResult) (Slam, error) {
	fill := &out.Duties[len(out.Duties)-1]
	d := s.narrow(p)
	l := Slam{End: p.End, Velocity: pipe.Velocity(fill.Water, d), AllowedHead: s.practice.Slam.Value, WaveSpeed: p.WaveSpeed}
	if l.WaveSpeed == 0 {
		a, err := s.waveSpeed(p)
		if err != nil {
			return l, err
		}
		l.WaveSpeed = a
	}
	if l.WaveSpeed == 0 {
		l.Text = "The wall beside the place is not known, so neither is the speed of pressure waves nor the slam; give size or wall, and material."
		return l, nil
	}
	l.Known = true
	share := 0.5
	if p.End {
		share = 1
	}
	l.Head = share * pipe.Joukowsky(l.WaveSpeed, l.Velocity, s.site.Gravity)
	l.AllowedVelocity = l.AllowedHead * s.site.Gravity / (share * l.WaveSpeed)
	l.AllowedFlow = l.AllowedVelocity * pipe.Area(d)
	l.Exceeds = l.Head > l.AllowedHead
	l.Text = fmt.Sprintf("Filling at %s slams by %s as the last air leaves (wave speed %s); %s are allowed, which is %s or %s.",
		speed(l.Velocity, 2), metres(l.Head, 1), speed(l.WaveSpeed, 0), metres(l.AllowedHead, 1),
		speed(l.AllowedVelocity, 2), litres(l.AllowedFlow))
	if l.Exceeds && fill.Required {
		s.remark("sizing.slam", p, "filling at %s would slam by %s, more than the %s allowed: no size of valve cures that; fill at no more than %s, or take a valve that throttles before it shuts",
			litres(fill.Water), metres(l.Head, 1), metres(l.AllowedHead, 1), litres(l.AllowedFlow))
	}
	return l, s.slamDifferential(p, &l, out)
}

// slamDifferential is the differential at which the placed valve passes the air of the allowed flow.
func (s *solver) slamDifferential(p *Place, l *Slam, out *PlaceResult) error {
	if p.Record < 0 || !out.Out.Given.Known || out.Out.Given.Mass == 0 {
		return nil
	}
	f, top := &s.rack[p.Record], out.Out.Given.Differential
	if out.Out.Given.Mass < s.state.mass(s.in.Basis, outward, l.AllowedFlow, top) {
		return nil // it does not let the water come so fast
	}
	dp, err := s.reached(f, outward, l.AllowedFlow, top)
	if err != nil {
		return err
	}
	l.Differential = dp
	out.Out.Allowed.Limits = append(out.Out.Allowed.Limits, Limit{ID: "slam", Value: dp, Source: s.practice.Slam.Source,
		Text: fmt.Sprintf("At %s it lets the water come at the %s that slams by the %s allowed; a bound on how fast to fill, none on its size.",
			kPa(dp), litres(l.AllowedFlow), metres(l.AllowedHead, 1))})
	return nil
}

// waveSpeed is the fastest of the sections beside the place, m/s; 0 where one is not known.
func (s *solver) waveSpeed(p *Place) (float64, error) {
	fastest := 0.0
	for _, l := range p.Legs {
		sec := s.section(l.Pieces[0])
		if !wallKnown(sec) {
			return 0, nil
		}
		a, err := s.sectionSpeed(sec)
		if err != nil {
			return 0, err
		}
		fastest = math.Max(fastest, a)
	}
	return fastest, nil
}

func (s *solver) sectionSpeed(sec *line.Section) (float64, error) {
	if s.bulk == 0 {
		w, err := water.At(s.site.WaterTemperature, s.site.AtmosphericPressure)
		if err != nil {
			return 0, err
		}
		s.bulk = w.BulkModulus
	}
	return pipe.WaveSpeed(pipe.Wave{Shell: shell(sec), Restraint: s.in.Restraint, Bulk: s.bulk, Density: s.site.Density})
}
