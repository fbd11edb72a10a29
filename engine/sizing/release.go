package sizing

import (
	"cmp"
	"fmt"
	"math"

	"obvert/line"
	"obvert/physics/water"
)

// release is the air that comes out of solution at the place, by solubility and by the rule, and the small orifice for it.
func (s *solver) release(p *Place) (Release, error) {
	rule := s.practice.ReleasedAir
	r := Release{
		Wanted: !p.NoRelease, Case: busiest(p), RuleShare: rule.Value, RuleSource: rule.Source, Coefficient: s.small,
		SourcePressure: cmp.Or(p.SourcePressure, s.site.AtmosphericPressure),
	}
	if r.Case < 0 {
		r.Enough = true
		r.Text = "No case with a flow past the place was given: no air released under pressure is reckoned."
		return r, nil
	}
	r.Water = p.Cases[r.Case].Flow
	lowest, working := heads(p, s.seat(p))
	r.LowestPressure = s.absolute(lowest)
	if r.LowestPressure < s.site.VapourPressure {
		s.remark("sizing.below-vapour", p, "a lowest head of %s lies below the %s at which water boils: the vapour pressure is taken", metres(lowest, 2), metres(s.site.VapourHead(), 2))
		r.LowestPressure = s.site.VapourPressure
	}
	r.Working = s.site.Density * s.site.Gravity * working

	temperature := cmp.Or(p.SourceTemperature, s.site.WaterTemperature)
	held, err := s.held(temperature, r.SourcePressure)
	if err != nil {
		return r, err
	}
	here, err := s.held(s.site.WaterTemperature, r.LowestPressure)
	if err != nil {
		return r, err
	}
	r.AtSource, r.AtPlace = held/s.state.density, here/s.state.density
	r.Share = max(0, r.AtSource-r.AtPlace)
	r.Mass, r.RuleMass = r.Share*s.state.density*r.Water, r.RuleShare*s.state.density*r.Water
	if err := s.smallOrifice(p, &r); err != nil {
		return r, err
	}
	r.Text = releaseText(&r)
	if p.Record >= 0 && r.Wanted && r.Needed > 0 && !r.Known {
		r.Text += " The record of the valve has no small orifice."
	}
	if r.Share > r.RuleShare {
		s.remark("sizing.more-than-rule", p, "%s of the water's flow can come out of solution here, more than the %s of the rule: the larger counts",
			percent(r.Share, 1), percent(r.RuleShare, 1))
	}
	return r, nil
}

// leastWorking is the head, m, below which no small orifice works: a millimetre of water. Own choice.
const leastWorking = 1e-3

// seat is the height (m) of the valve's seat above the obvert, the same for every record tried there; 0 for a place without a
// tapping.
func (s *solver) seat(p *Place) float64 {
	if p.Placed < 0 {
		return 0
	}
	return s.in.Line.Runs[p.Run].Placed[p.Placed].Height
}

// heads are the lowest gauge head (m) of the flowing cases or as given, at the obvert where air comes out, and the smallest at
// which the small orifice works (0 where there is none), at its seat a height (m) above.
func heads(p *Place, seat float64) (lowest, working float64) {
	lowest, working = math.Inf(1), math.Inf(1)
	for _, c := range p.Cases {
		if c.Kind != line.Pumping && c.Kind != line.Gravity {
			continue
		}
		lowest = min(lowest, c.Head)
		if h := c.Head - seat; h > leastWorking {
			working = min(working, h)
		}
	}
	if p.HasLowest {
		lowest = min(lowest, p.Lowest)
	}
	if math.IsInf(working, 1) {
		working = 0
	}
	return lowest, working
}

// absolute is the absolute pressure, Pa, at a gauge head, m.
func (s *solver) absolute(head float64) float64 {
	return s.site.AtmosphericPressure + s.site.Density*s.site.Gravity*head
}

// held is the air that water can hold at a temperature and an absolute pressure, kg/m³; none where it boils.
func (s *solver) held(temperature, pressure float64) (float64, error) {
	key := [2]float64{temperature, pressure}
	if m, ok := s.dissolved[key]; ok {
		return m, nil
	}
	boils, err := water.VapourPressure(temperature)
	if err != nil {
		return 0, err
	}
	m := 0.0
	if pressure > boils {
		c, err := water.AirCapacity(temperature, pressure)
		if err != nil {
			return 0, err
		}
		m = c.Mass
	}
	s.dissolved[key] = m
	return m, nil
}

// smallOrifice finds the diameters, and what the placed valve gives.
func (s *solver) smallOrifice(p *Place, r *Release) error {
	need := max(r.Mass, r.RuleMass)
	r.Enough = !r.Wanted || need < leastMass || r.Working == 0
	if r.Working == 0 {
		return nil
	}
	p1, p2, t1 := s.site.AtmosphericPressure+r.Working, s.site.AtmosphericPressure, s.site.WaterTemperature
	for _, o := range []struct {
		mass float64
		d    *float64
	}{{r.Mass, &r.Diameter}, {r.RuleMass, &r.RuleDiameter}} {
		if o.mass < leastMass {
			continue
		}
		var err error
		if *o.d, err = s.orifice(s.small, o.mass, p1, p2, t1); err != nil {
			return err
		}
	}
	r.Needed = max(r.Diameter, r.RuleDiameter)
	if p.Record < 0 || s.rack[p.Record].release == nil {
		return nil
	}
	f, err := s.rack[p.Record].release.MassFlow(p1, p2, t1)
	if err != nil {
		return err
	}
	r.Known, r.Given = true, f.Mass
	if p.Placed >= 0 && s.in.Line.Runs[p.Run].Placed[p.Placed].Isolated {
		r.Given = 0
	}
	if need >= leastMass {
		r.Ratio = r.Given / need
		r.Enough = r.Enough || r.Ratio >= 1
	}
	return nil
}

func releaseText(r *Release) string {
	t := fmt.Sprintf("Water saturated at %s absolute holds %s of its volume as free air, at the place's lowest %s it holds %s: ",
		kPa(r.SourcePressure), percent(r.AtSource, 2), kPa(r.LowestPressure), percent(r.AtPlace, 2))
	if r.Share > 0 {
		t += percent(r.Share, 2) + " can come out."
	} else {
		t += "nothing comes out by solubility."
	}
	t += fmt.Sprintf(" The rule takes %s.", percent(r.RuleShare, 1))
	if r.Working == 0 {
		return t + " There is no pressure above the atmosphere at its seat while water flows: the large orifice stands open and no small one is needed."
	}
	t += fmt.Sprintf(" At a working pressure of %s at the seat and a flow of %s the rule asks for an orifice of %s", kPa(r.Working), litres(r.Water), mm(r.RuleDiameter, 2))
	if r.Diameter > 0 {
		t += ", solubility for one of " + mm(r.Diameter, 2)
	}
	return t + "."
}
