package opening

import (
	"errors"
	"fmt"
	"math"
	"sort"

	"obvert/num"
	"obvert/physics/air"
)

// Point is one point of a flow test.
type Point struct {
	Differential float64 `unit:"Pa"`   // p1 − p2, Pa, above 0
	Mass         float64 `unit:"kg/s"` // mass flow, kg/s
}

// Test is the state in which the points of a flow test were taken.
type Test struct {
	Held        Side    // the side whose pressure stayed the same: Upstream for air in, Downstream for air out
	Pressure    float64 // of that side, Pa absolute; mostly the atmosphere's at the bench
	Temperature float64 // upstream stagnation temperature, K
}

// Measured is an opening known by test points. It keeps each point as the
// effective throat function
//
//	K = ṁ·√(R·T1)/p1   (m², = Cd·A·ψ of an [Orifice])   over   x = (p1 − p2)/p1
//
// which similarity makes a function of x alone: the same opening at another
// upstream pressure, density or temperature has the same K at the same x, as
// long as its coefficient does not depend on the Reynolds number and nothing in
// it moves. That is how ISO 6358 and ISO 5167 carry flows, too. Between the
// points K² is a monotone cubic of x; K² is straight where the flow goes with
// the square root of the differential, so the curve starts at an exact zero.
//
// Beyond the largest x measured the effective area is held at its last value
// and the flow follows ψ of the isentropic nozzle; such a flow carries
// [NoteBeyondMeasured].
type Measured struct {
	square *num.Curve // K², m⁴, over x
	last   float64    // largest x measured
	area   float64    // effective area K/ψ there, m²
}

// NewMeasured returns the opening measured by the points, in any order. K must
// not fall with x: points at which a valve begins to close are not points of
// its opening. All faults come in one error.
func NewMeasured(points []Point, test Test) (*Measured, error) {
	if err := test.check(); err != nil {
		return nil, err
	}
	if len(points) == 0 {
		return nil, errors.New("opening: measured curve: no points: give at least one differential with its mass flow")
	}
	var faults []error
	order := make([]int, len(points))
	for i, p := range points {
		order[i] = i
		if err := test.checkPoint(i, p); err != nil {
			faults = append(faults, err)
		}
	}
	if len(faults) > 0 {
		return nil, errors.Join(faults...)
	}
	sort.SliceStable(order, func(a, b int) bool {
		return points[order[a]].Differential < points[order[b]].Differential
	})

	x, y := []float64{0}, []float64{0}
	for at, i := range order {
		p := points[i]
		p1, _ := test.Held.pressures(test.Pressure, p.Differential)
		k := p.Mass * math.Sqrt(air.GasConstant*test.Temperature) / p1
		xi, yi := p.Differential/p1, k*k
		last := len(x) - 1
		switch {
		case xi <= x[last]:
			faults = append(faults, fmt.Errorf("opening: measured curve: points %d and %d have the same differential, %.6g Pa: keep one, or their mean",
				order[max(at-1, 0)]+1, i+1, p.Differential))
			continue
		case yi < y[last]:
			faults = append(faults, fmt.Errorf("opening: measured curve: point %d (%.6g Pa, %.6g kg/s) passes less for its pressure ratio than the point before: "+
				"an opening whose shape stays cannot; smooth the run, or end the curve where the valve begins to close", i+1, p.Differential, p.Mass))
			continue
		}
		x, y = append(x, xi), append(y, yi)
	}
	if len(faults) > 0 {
		return nil, errors.Join(faults...)
	}
	square, err := num.Monotone(x, y)
	if err != nil {
		return nil, fmt.Errorf("opening: measured curve: %w", err)
	}
	m := &Measured{square: square, last: x[len(x)-1]}
	psi, _ := airNozzle.psi(m.last)
	m.area = math.Sqrt(y[len(y)-1]) / psi
	return m, nil
}

func (t Test) check() error {
	const kind = "measured curve"
	switch {
	case t.Held > Downstream:
		return &DataError{kind, "held side", float64(t.Held), "", "choose opening.Upstream or opening.Downstream"}
	case !(t.Pressure > 0 && t.Pressure <= maxPressure):
		return &DataError{kind, "pressure of the test", t.Pressure, "Pa abs",
			"give the absolute pressure of the side that was held, mostly the atmosphere's"}
	}
	if err := checkTemperature(t.Temperature); err != nil {
		return fmt.Errorf("opening: measured curve: temperature of the test: %w", err)
	}
	return nil
}

func (t Test) checkPoint(i int, p Point) error {
	kind := fmt.Sprintf("measured curve, point %d", i+1)
	p1, p2 := t.Held.pressures(t.Pressure, p.Differential)
	switch {
	case !(p.Differential > 0) || math.IsInf(p.Differential, 0):
		return &DataError{kind, "differential", p.Differential, "Pa", "give one above 0; the curve starts at zero by itself"}
	case p2 < 0:
		return &DataError{kind, "differential", p.Differential, "Pa",
			fmt.Sprintf("it is larger than the absolute pressure upstream, %.6g Pa; check the unit", t.Pressure)}
	case p1 > maxPressure:
		return &DataError{kind, "differential", p.Differential, "Pa", "the upstream pressure would be above 100 MPa; check the unit"}
	case p.Differential/p1 < 1e-12:
		return &DataError{kind, "differential", p.Differential, "Pa", "it is lost in the rounding of the absolute pressure; check the unit"}
	case !(p.Mass > 0 && p.Mass < 1e9):
		return &DataError{kind, "mass flow", p.Mass, "kg/s", "give a mass flow above 0"}
	}
	return nil
}

// MassFlow implements [Opening].
func (m *Measured) MassFlow(p1, p2, t1 float64) (Flow, error) {
	if err := checkState(p1, p2, t1); err != nil {
		return Flow{}, err
	}
	scale := p1 / math.Sqrt(air.GasConstant*t1)
	x := (p1 - p2) / p1
	if x > m.last*(1+1e-12) { // a hair for the rounding of p1 − p2
		psi, choked := airNozzle.psi(x)
		return Flow{Mass: m.area * psi * scale, Choked: choked, Note: NoteBeyondMeasured}, nil
	}
	k2, _, _ := m.square.At(min(x, m.last))
	return Flow{Mass: math.Sqrt(k2) * scale, Choked: 1-x <= airNozzle.critical}, nil
}

// Largest returns the largest (p1 − p2)/p1 that was measured.
func (m *Measured) Largest() float64 { return m.last }

// EffectiveArea returns Cd·A in m² of the orifice that passes the same at the
// relative differential x = (p1 − p2)/p1, above 0 up to 1. Its change with x
// shows what a single coefficient would hide.
func (m *Measured) EffectiveArea(x float64) (float64, error) {
	if !(x > 0 && x <= 1) {
		return 0, &StateError{"relative differential", x, "", "give (p1 − p2)/p1, above 0 and up to 1"}
	}
	if x > m.last {
		return m.area, nil
	}
	k2, _, _ := m.square.At(x)
	psi, _ := airNozzle.psi(x)
	return math.Sqrt(k2) / psi, nil
}
