package pump

import (
	"errors"
	"fmt"

	"obvert/num"
)

// Efficiency is a pump's efficiency by flow. Make it with [NewEfficiency]. It
// is safe for concurrent use.
type Efficiency struct {
	curve *num.Curve
	flow  float64 // scale of flow against the points
}

// NewEfficiency returns the monotone cubic through points of flow, m³/s, and
// efficiency, 0–1, by rising flow. Efficiency at no flow is zero, so a curve
// that begins above it is drawn to the origin. The error names every fault
// found.
func NewEfficiency(points [][2]float64) (*Efficiency, error) {
	faults := checkRows(points, 2)
	for i, p := range points {
		switch {
		case p[1] > 1:
			faults = append(faults, fmt.Errorf("point %d has an efficiency of %g: give a share up to 1 (is it in per cent?)", i+1, p[1]))
		case p[0] == 0 && p[1] > 0:
			faults = append(faults, fmt.Errorf("point %d has an efficiency of %g at no flow: it is 0 there", i+1, p[1]))
		case p[0] > 0 && p[1] == 0:
			faults = append(faults, fmt.Errorf("point %d has no efficiency at a flow of %g m³/s: such a pump would take endless power", i+1, p[0]))
		}
	}
	if len(faults) > 0 {
		return nil, errors.Join(faults...)
	}
	var q, eta []float64
	if points[0][0] > 0 {
		q, eta = []float64{0}, []float64{0}
	}
	for _, p := range points {
		q, eta = append(q, p[0]), append(eta, p[1])
	}
	curve, err := num.Monotone(q, eta)
	if err != nil {
		return nil, fmt.Errorf("efficiency: %w", err)
	}
	return &Efficiency{curve: curve, flow: 1}, nil
}

// At returns the efficiency, 0–1, at a flow q, m³/s, and where that lies. Beyond
// the last point it is the last point's, which is too high: say so. At reverse
// flow it is zero.
func (e *Efficiency) At(q float64) (eta float64, where Place) {
	if q < 0 {
		return 0, Reverse
	}
	eta, _, place := e.curve.At(q / e.flow)
	if place == num.Above {
		return eta, Beyond
	}
	return eta, Within
}

// Best returns the flow, m³/s, and the efficiency of the best point given.
func (e *Efficiency) Best() (q, eta float64) {
	for i := range e.curve.Len() {
		if x, y := e.curve.Point(i); y > eta {
			q, eta = x*e.flow, y
		}
	}
	return q, eta
}

// AtSpeed returns the efficiency at a speed, as a ratio r to this one's: the
// same at corresponding flows.
func (e *Efficiency) AtSpeed(r float64) *Efficiency {
	return &Efficiency{curve: e.curve, flow: e.flow * positive(r)}
}

// Trimmed returns the efficiency with the impeller trimmed to the ratio r: the
// same at corresponding flows, which flatters the trimmed pump by a few points.
func (e *Efficiency) Trimmed(r float64) *Efficiency { return e.AtSpeed(r) }

// Shaft returns the power at the shaft, W, at a flow q ≥ 0, m³/s, and a head h, m,
// of water of density rho, kg/m³, under gravity g, m/s²: ρ g Q H/η. Towards no
// flow, where flow and efficiency vanish together, it is the limit of that.
func (e *Efficiency) Shaft(q, h, rho, g float64) float64 {
	x := q / e.flow
	perFlow := e.perFlow(x)
	return rho * g * h * e.flow / perFlow
}

// perFlow is η/q at the scale of the points, by its limit near zero.
func (e *Efficiency) perFlow(x float64) float64 {
	_, last := e.curve.Range()
	if x < 1e-7*last {
		_, slope, _ := e.curve.At(0)
		if slope > 0 {
			return slope
		}
		x = 1e-7 * last
	}
	eta, _, _ := e.curve.At(x)
	return eta / x
}

// ShaftPower returns the power at the shaft, W, of a pump that lifts a flow q,
// m³/s, of water of density rho, kg/m³, by a head h, m, under gravity g, m/s²,
// with an efficiency eta above 0: ρ g Q H/η. It panics for another efficiency.
func ShaftPower(q, h, eta, rho, g float64) float64 {
	if !(eta > 0 && eta <= 1) {
		panic(fmt.Sprintf("pump: shaft power with an efficiency of %g", eta))
	}
	return rho * g * q * h / eta
}

// ElectricPower returns the power from the mains, W, for a power at the shaft, W,
// and the efficiencies of the motor and of the drive (frequency converter,
// gear; 1 without), each above 0 and up to 1. It panics for others.
func ElectricPower(shaft, motor, drive float64) float64 {
	if !(motor > 0 && motor <= 1 && drive > 0 && drive <= 1) {
		panic(fmt.Sprintf("pump: electric power with efficiencies of %g and %g", motor, drive))
	}
	return shaft / (motor * drive)
}

// NPSH is the net positive suction head that a pump requires, by flow. Make it
// with [NewNPSH]. It is safe for concurrent use.
type NPSH struct {
	curve      *num.Curve
	flow, head float64 // scale against the points
}

// NewNPSH returns the monotone cubic through points of flow, m³/s, and required
// NPSH, m, by rising flow. The error names every fault found.
func NewNPSH(points [][2]float64) (*NPSH, error) {
	if faults := checkRows(points, 2); len(faults) > 0 {
		return nil, errors.Join(faults...)
	}
	q, h := make([]float64, len(points)), make([]float64, len(points))
	for i, p := range points {
		q[i], h[i] = p[0], p[1]
	}
	curve, err := num.Monotone(q, h)
	if err != nil {
		return nil, fmt.Errorf("NPSH: %w", err)
	}
	return &NPSH{curve: curve, flow: 1, head: 1}, nil
}

// Required returns the NPSH, m, required at a flow q, m³/s, and where that lies.
// Beyond the last point the curve goes on along its tangent, which is too low;
// below the first point it is the first point's.
func (n *NPSH) Required(q float64) (h float64, where Place) {
	x := q / n.flow
	h, _, place := n.curve.At(x)
	switch {
	case q < 0:
		where = Reverse
	case place == num.Below:
		where = Below
	case place == num.Above:
		where = Beyond
		onward, _, _ := n.curve.Extend(x)
		h = max(h, onward)
	}
	return n.head * h, where
}

// AtSpeed returns the required NPSH at a speed, as a ratio r to this one's:
// Q ~ r, NPSH ~ r² (common practice, no source; optimistic far below full speed).
func (n *NPSH) AtSpeed(r float64) *NPSH {
	return &NPSH{curve: n.curve, flow: n.flow * positive(r), head: n.head * r * r}
}

// NPSHAvailable returns the net positive suction head, m, that the site offers:
//
//	(p_atm − p_v)/ρg + z − z_eye
//
// with the atmosphere's and water's vapour pressure, Pa absolute, water's
// density rho, kg/m³, gravity g, m/s², the level of the energy line before the
// pump and that of the impeller's eye, both m above datum. A negative answer
// means that water would boil before it got there.
func NPSHAvailable(atmosphere, vapour, rho, g, energyLevel, eye float64) float64 {
	return (atmosphere-vapour)/(rho*g) + energyLevel - eye
}

func positive(r float64) float64 {
	if !(r > 0) || r > largest {
		panic(fmt.Sprintf("pump: curve scaled by %g", r))
	}
	return r
}
