package valve

import (
	"obvert/physics/opening"
)

// The air at a flow test where the record does not say: sea level of ISO 2533.
const (
	testPressure    = 101325.0 // Pa absolute
	testTemperature = 288.15   // K
)

// Inlet returns the large orifice for air into the pipe as an opening; nil where
// the record has none.
func (r *Record) Inlet() (opening.Opening, error) { return r.In.opening(opening.Upstream) }

// Outlet returns the large orifice for air out of the pipe as an opening; nil
// where the record has none.
func (r *Record) Outlet() (opening.Opening, error) { return r.Out.opening(opening.Downstream) }

// Throttled returns what the anti-slam stage lets out of the pipe from its
// switching differential up, as an opening; nil where the record has no stage.
func (r *Record) Throttled() (opening.Opening, error) {
	if r.Stage == nil {
		return nil, nil
	}
	return r.Stage.Out.opening(opening.Downstream)
}

// Release returns the small orifice, which lets air out under pressure, as an
// opening; nil where the valve has none.
func (r *Record) Release() opening.Opening {
	if r.SmallOrifice == nil {
		return nil
	}
	return r.SmallOrifice.opening()
}

func (o *Orifice) opening() opening.Opening {
	return opening.Orifice{Area: opening.Circle(o.Diameter), Coefficient: o.Coefficient}
}

// opening makes an opening of whichever form the air curve was given in. outside
// is the side of the opening on which the test's atmosphere stood.
func (a *Air) opening(outside opening.Side) (opening.Opening, error) {
	switch {
	case a == nil:
		return nil, nil
	case len(a.Points) > 0:
		m, err := opening.NewMeasured(a.testPoints(), a.test(outside))
		if err != nil {
			return nil, err // not a typed nil in the interface
		}
		return m, nil
	case a.C != 0:
		return opening.ISO6358{C: a.C, B: a.CriticalB, M: a.SubsonicM}, nil
	}
	return (&Orifice{Diameter: a.Diameter, Coefficient: a.Coefficient}).opening(), nil
}

func (a *Air) test(outside opening.Side) opening.Test {
	t := opening.Test{Held: outside, Pressure: testPressure, Temperature: testTemperature}
	if a.TestPressure != 0 {
		t.Pressure = a.TestPressure
	}
	if a.TestTemperature != 0 {
		t.Temperature = a.TestTemperature
	}
	return t
}

// testPoints leaves out the curve's zero, which the opening has of itself.
func (a *Air) testPoints() []opening.Point {
	var pts []opening.Point
	for _, p := range a.Points {
		if p.Differential > 0 {
			pts = append(pts, opening.Point{Differential: p.Differential, Mass: p.MassFlow})
		}
	}
	return pts
}
