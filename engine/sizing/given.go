package sizing

import (
	"errors"
	"math"
	"slices"

	"obvert/num"
	"obvert/physics/opening"
	"obvert/physics/valve"
)

// fitted is a record of the rack as openings.
type fitted struct {
	in, out opening.Opening // nil where not known
	stage   opening.Opening // of the throttled outlet; nil without one
	stageAt float64         // Pa, from which it has switched; there itself the value just before counts
	early   float64         // Pa, from which the float is carried shut, likewise; +Inf where not measured
	release opening.Opening // small orifice; nil without one
	closed  bool            // admits no air
	shut    bool            // its isolating valve is shut: it passes nothing either way
}

// fit makes the openings of a record that [Input.Check] has passed.
func fit(r *valve.Record) fitted {
	f := fitted{early: math.Inf(1), release: r.Release(), closed: !r.AdmitsAir}
	f.in, _ = r.Inlet()
	f.out, _ = r.Outlet()
	f.stage, _ = r.Throttled()
	if r.Stage != nil {
		f.stageAt = r.Stage.Differential
	}
	if r.EarlyClosing > 0 {
		f.early = r.EarlyClosing
	}
	if f.out == nil && f.in == nil && f.closed {
		f.out = f.release // a valve with a small orifice alone lets air out by that
	}
	return f
}

// passes is the air that a record passes one way at a differential, kg/s. known is false where the record lacks the curve.
func (f *fitted) passes(a state, b Basis, w way, dp float64) (flow opening.Flow, known bool, err error) {
	o := f.in
	switch {
	case f.shut:
		return opening.Flow{}, true, nil
	case w == outward && dp > f.early:
		return opening.Flow{}, f.out != nil, nil
	case w == outward && f.stage != nil && dp > f.stageAt:
		o = f.stage
	case w == outward:
		o = f.out
	case f.closed:
		return opening.Flow{}, true, nil
	}
	if o == nil || dp <= 0 {
		return opening.Flow{}, o != nil, nil
	}
	flow, err = o.MassFlow(a.upstream(b, w, dp))
	return flow, true, err
}

// most is the flow at which a record does most of what is needed up to an allowed differential, and where: at the end, or just
// before the anti-slam stage switches. Air at pipe pressure is denser at the end, so that the same mass then takes the place of
// less water: each is held to the need at its own differential.
func (f *fitted) most(a state, b Basis, w way, allowed float64) (flow opening.Flow, at float64, known bool, err error) {
	at = allowed
	if w == outward {
		at = min(at, f.early)
	}
	flow, known, err = f.passes(a, b, w, at)
	if err != nil || !known || w == inward || f.stage == nil || at <= f.stageAt {
		return flow, at, known, err
	}
	before, _, err := f.passes(a, b, w, f.stageAt)
	if before.Mass*a.mass(b, w, 1, at) > flow.Mass*a.mass(b, w, 1, f.stageAt) {
		return before, f.stageAt, true, err
	}
	return flow, at, true, err
}

// judge holds the placed valve against the needs, both ways.
func (s *solver) judge(p *Place, out *PlaceResult) error {
	if p.Record < 0 {
		s.bare(out)
		return nil
	}
	f := s.rack[p.Record]
	name := s.in.Line.Rack[p.Record].Name
	if p.Placed >= 0 {
		placed := &s.in.Line.Runs[p.Run].Placed[p.Placed]
		f.closed, f.shut = !placed.AdmitsAir, placed.Isolated
	}
	if f.shut {
		s.remark("sizing.isolated", p, "the isolating valve below it is shut: it passes nothing")
	}
	for _, side := range []struct {
		w   way
		way *Way
		is  string
	}{{inward, &out.In, "in"}, {outward, &out.Out, "out"}} {
		g, err := s.given(&f, side.w, side.way, out.Duties)
		if err != nil {
			return err
		}
		switch {
		case !g.Known:
			g.Why = "record " + name + " has no curve for air " + side.is
			s.remark("sizing.no-air-curve", p, "record %s has no curve for air %s: whether it is large enough cannot be judged; measure it, or give bore and coefficient", name, side.is)
		case f.shut:
			g.Why = "its isolating valve is shut"
		case side.w == inward && f.closed:
			g.Why = "it admits no air"
		}
		if g.Beyond {
			s.remark("opening.beyond-measured", p, "the flow of %s %s at %s is read beyond the largest differential measured", name, side.is, kPa(g.Differential))
		}
		if g.Throttled {
			does := "at the filling flow it stays open"
			if g.Reached == 0 || g.Reached > f.stageAt {
				does = "at the filling flow it switches, and what it passes then is counted"
			}
			s.remark("sizing.stage", p, "the anti-slam stage of %s switches at %s, below the %s allowed while filling; %s", name, kPa(f.stageAt), kPa(side.way.Allowed.Differential), does)
		}
		side.way.Given = g
		if side.way.Curve, err = s.curve(&f, side.w, side.way, out.Duties); err != nil {
			return err
		}
		side.way.HasGiven = g.Known
	}
	return nil
}

// bare draws the needed curves of a place without a record.
func (s *solver) bare(out *PlaceResult) {
	none := fitted{early: math.Inf(1)}
	for _, side := range []struct {
		w   way
		way *Way
	}{{inward, &out.In}, {outward, &out.Out}} {
		side.way.Given.Why = "no valve is chosen"
		side.way.Curve, _ = s.curve(&none, side.w, side.way, out.Duties) // nothing to read, nothing to fail
	}
}

// given is what a record passes one way against what the governing duty needs.
func (s *solver) given(f *fitted, w way, side *Way, duties []Duty) (Given, error) {
	flow, at, known, err := f.most(s.state, s.in.Basis, w, side.Allowed.Differential)
	if err != nil || !known {
		return Given{}, err
	}
	g := Given{Known: true, Differential: max(at, 0), Mass: flow.Mass, Free: flow.Mass / s.state.density, Choked: flow.Choked,
		Beyond: flow.Note == opening.NoteBeyondMeasured, Throttled: w == outward && f.stage != nil && side.Allowed.Differential > f.stageAt}
	if side.Governs < 0 {
		g.Enough = true
		return g, nil
	}
	water := duties[side.Governs].Water
	g.Ratio = g.Mass / s.state.mass(s.in.Basis, w, water, g.Differential)
	g.Enough = g.Ratio >= 1
	if g.Enough {
		g.Reached, err = s.reached(f, w, water, at)
	}
	return g, err
}

// reached is the differential up to at where the record passes what is needed there.
func (s *solver) reached(f *fitted, w way, water, at float64) (float64, error) {
	top := at
	if w == outward && f.stage != nil && at > f.stageAt { // if it does before the stage switches, it never switches
		before, _, err := f.passes(s.state, s.in.Basis, w, f.stageAt)
		if err != nil {
			return 0, err
		}
		if before.Mass >= s.state.mass(s.in.Basis, w, water, f.stageAt) {
			top = f.stageAt
		}
	}
	var fault error
	// In the root of the differential a flow is nearly straight.
	x, out := num.Root(func(x float64) float64 {
		dp := x * x
		flow, _, err := f.passes(s.state, s.in.Basis, w, dp)
		fault = errors.Join(fault, err)
		return flow.Mass - s.state.mass(s.in.Basis, w, water, dp)
	}, 0, math.Sqrt(top), 1e-9*math.Sqrt(top))
	return x * x, errors.Join(fault, out.Err("differential at which the valve passes what is needed"))
}

// shares are the points of a curve as shares of the allowed differential; the last lies beyond it.
var shares = []float64{0, 0.02, 0.08, 0.2, 0.35, 0.5, 0.65, 0.8, 1, 1.25}

// curve is the needed and the given flow over the differential, up to a quarter beyond the allowed one, with both sides of the
// places where an anti-slam stage switches or a float is carried shut.
func (s *solver) curve(f *fitted, w way, side *Way, duties []Duty) ([]Point, error) {
	allowed := side.Allowed.Differential
	if allowed <= 0 {
		return nil, nil
	}
	end := shares[len(shares)-1] * allowed
	if w == inward {
		end = min(end, s.state.pressure) // no more vacuum than that
	}
	at := make([]float64, 0, len(shares)+4)
	for _, x := range shares {
		at = append(at, min(x*allowed, end))
	}
	if w == outward {
		for _, jump := range []float64{f.stageAt, f.early} {
			if jump > 0 && jump < end {
				at = append(at, jump, math.Nextafter(jump, end))
			}
		}
	}
	slices.Sort(at)
	at = slices.Compact(at)
	points := make([]Point, 0, len(at))
	for _, dp := range at {
		p := Point{Differential: dp, Closed: w == outward && dp > f.early}
		if side.Governs >= 0 {
			p.Needed = s.state.mass(s.in.Basis, w, duties[side.Governs].Water, dp)
		}
		flow, _, err := f.passes(s.state, s.in.Basis, w, dp)
		if err != nil {
			return nil, err
		}
		p.Given, p.Beyond = flow.Mass, flow.Note == opening.NoteBeyondMeasured
		points = append(points, p)
	}
	return points, nil
}
