package opening

import (
	"fmt"
	"math"
)

// Opening passes air between two absolute pressures.
type Opening interface {
	// MassFlow returns the air that flows from the stagnation state upstream,
	// p1 (Pa absolute) and t1 (K), to p2 (Pa absolute, p1 >= p2 >= 0)
	// downstream. The flow is never negative and is zero for p1 = p2.
	MassFlow(p1, p2, t1 float64) (Flow, error)
}

// Flow is the air that an opening passes.
type Flow struct {
	Mass   float64 `unit:"kg/s"` // mass flow, kg/s
	Choked bool    // sonic: a lower pressure downstream would pass no more
	Note   string  // empty, or the id of what to know about the value
}

// NoteBeyondMeasured is the note of a flow at a differential beyond the largest
// that was measured.
const NoteBeyondMeasured = "opening.beyond-measured"

// Side is the side of an opening whose pressure is held while the differential
// changes.
type Side uint8

// The two sides.
const (
	Upstream   Side = iota // upstream pressure held: air drawn in from the atmosphere
	Downstream             // downstream pressure held: air let out into the atmosphere
)

// String returns the side in plain words.
func (s Side) String() string {
	switch s {
	case Upstream:
		return "upstream"
	case Downstream:
		return "downstream"
	}
	return fmt.Sprintf("side %d", uint8(s))
}

// pressures returns p1 and p2 (Pa absolute) for a differential dp (Pa) with
// the pressure of side s held at p.
func (s Side) pressures(p, dp float64) (p1, p2 float64) {
	if s == Downstream {
		return p + dp, p
	}
	return p, p - dp
}

const (
	minTemperature = 150.0  // K
	maxTemperature = 1000.0 // K
	maxPressure    = 100e6  // Pa absolute
)

// A StateError reports pressures or a temperature between which no flow can be
// computed.
type StateError struct {
	What  string  // which quantity
	Value float64 // in Unit
	Unit  string
	Hint  string // what is wrong and what to do
}

func (e *StateError) Error() string {
	return fmt.Sprintf("opening: %s is %s: %s", e.What, spell(e.Value, e.Unit), e.Hint)
}

func spell(v float64, unit string) string {
	if math.IsNaN(v) {
		return "not a number"
	}
	return fmt.Sprintf("%.6g %s", v, unit)
}

// checkState checks the arguments of MassFlow.
func checkState(p1, p2, t1 float64) error {
	switch {
	case !(p1 > 0 && p1 <= maxPressure):
		return &StateError{"upstream pressure", p1, "Pa abs",
			"give the absolute pressure (gauge plus atmosphere), above 0 and up to 100 MPa"}
	case !(p2 >= 0):
		return &StateError{"downstream pressure", p2, "Pa abs",
			"give the absolute pressure (gauge plus atmosphere), 0 or more"}
	case p2 > p1:
		return &StateError{"downstream pressure", p2, "Pa abs",
			fmt.Sprintf("it is above the upstream pressure, %.6g Pa abs; swap the two sides, or use Both", p1)}
	}
	return checkTemperature(t1)
}

func checkTemperature(t1 float64) error {
	if t1 >= minTemperature && t1 <= maxTemperature {
		return nil
	}
	return &StateError{"upstream temperature", t1, "K",
		"give it in K (15 °C is 288.15 K), 150…1000 K"}
}

// A DataError reports a number that describes an opening and cannot be right.
type DataError struct {
	Opening string // kind of opening
	What    string // which number
	Value   float64
	Unit    string
	Hint    string // what is allowed and what to do
}

func (e *DataError) Error() string {
	return fmt.Sprintf("opening: %s: %s is %s: %s", e.Opening, e.What, spell(e.Value, e.Unit), e.Hint)
}

// Parallel is several openings side by side between the same pressures, such as
// the large and the small orifice of one valve. Its flow is the sum; it is
// choked when all are; it carries the first note.
type Parallel []Opening

// MassFlow implements [Opening].
func (p Parallel) MassFlow(p1, p2, t1 float64) (Flow, error) {
	if err := checkState(p1, p2, t1); err != nil {
		return Flow{}, err
	}
	sum := Flow{Choked: len(p) > 0}
	for _, o := range p {
		f, err := o.MassFlow(p1, p2, t1)
		if err != nil {
			return Flow{}, err
		}
		sum.Mass += f.Mass
		sum.Choked = sum.Choked && f.Choked
		if sum.Note == "" {
			sum.Note = f.Note
		}
	}
	return sum, nil
}

// DefaultBelow is the differential in Pa under which [Softened] and [Slope]
// replace the square root by a straight line where none is given: 1 mm of water.
const DefaultBelow = 10.0

// Softened makes the flow of an opening linear in the differential below a
// stated one, so that its derivative at zero is finite. The line joins zero to
// the flow at Below; under it the flow is too small by at most a quarter of the
// flow at Below.
type Softened struct {
	Opening
	Below float64 // differential under which the flow is linear, Pa; 0: DefaultBelow
}

// MassFlow implements [Opening].
func (s Softened) MassFlow(p1, p2, t1 float64) (Flow, error) {
	below := s.Below
	if below == 0 {
		below = DefaultBelow
	}
	if !(below > 0 && below < maxPressure) {
		return Flow{}, &DataError{"softened opening", "Below", s.Below, "Pa", "give a small differential above 0"}
	}
	dp := p1 - p2
	if below >= p1 { // all of the range is below
		below = p1
	}
	if !(dp >= 0 && dp < below) {
		return s.Opening.MassFlow(p1, p2, t1)
	}
	if err := checkState(p1, p2, t1); err != nil {
		return Flow{}, err
	}
	f, err := s.Opening.MassFlow(p1, p1-below, t1)
	f.Mass *= dp / below
	f.Choked = false
	return f, err
}
