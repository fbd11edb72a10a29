package pump

import (
	"errors"
	"fmt"
	"math"

	"obvert/num"
)

// Note is a remark on a curve, with a stable id.
type Note struct {
	ID   string  // pump.droop, pump.saddle
	From float64 `unit:"m³/s"` // the flows concerned
	To   float64 `unit:"m³/s"`
	Text string
}

// Place says where a flow lies with respect to the points of a curve.
type Place uint8

// The places.
const (
	Within  Place = iota // between the first point and the last
	Below                // between no flow and a first point above it
	Beyond               // above the last point
	Reverse              // water runs back through the pump
	Shut                 // the pump cannot lift: its check valve stays shut
)

// String returns the place in plain words.
func (p Place) String() string {
	switch p {
	case Within:
		return "within the curve"
	case Below:
		return "below the first point"
	case Beyond:
		return "beyond the last point"
	case Reverse:
		return "water runs back"
	case Shut:
		return "cannot lift"
	}
	return fmt.Sprintf("place %d", uint8(p))
}

// Curve is a pump's head by flow, continuous for every flow. Make it with
// [NewCurve]. It is safe for concurrent use, and evaluating it allocates
// nothing.
type Curve struct {
	points [][2]float64 // m³/s, m

	// between the points: h0 + a q + b q², or the monotone cubic if set
	h0, a, b float64
	cubic    *num.Curve

	q1, h1, m1     float64 // first point and the slope there
	qn, hn, mn, kn float64 // last point, slope, and loss of slope per flow beyond it
	shut, m0, k0   float64 // at no flow: head, slope of the reverse branch, and its curvature
	turns          []float64
	flow, head     float64 // scale of flow and head against the points
}

// NewCurve returns the curve through points of flow, m³/s, and head, m, by
// rising flow. The error names every fault found.
func NewCurve(points [][2]float64) (*Curve, []Note, error) {
	if err := checkHead(points); err != nil {
		return nil, nil, err
	}
	c := &Curve{points: append([][2]float64(nil), points...), flow: 1, head: 1}
	switch len(points) {
	case 2:
		p, q := points[0], points[1]
		c.b = (q[1] - p[1]) / (q[0]*q[0] - p[0]*p[0])
		c.h0 = p[1] - c.b*p[0]*p[0]
	case 3:
		if !c.parabola() {
			c.throughPoints()
		}
	default:
		c.throughPoints()
	}
	c.ends()
	if c.shut < 0 {
		return nil, nil, fmt.Errorf("head drawn out from the first points to no flow is %.3g m, below zero: give the head at no flow", c.shut)
	}
	return c, c.notes(), nil
}

// checkHead looks for what no head curve can be.
func checkHead(points [][2]float64) error {
	faults := checkRows(points, 2)
	if len(faults) > 0 {
		return errors.Join(faults...)
	}
	rises, n := true, len(points)
	for i := 1; i < n; i++ {
		rises = rises && points[i][1] >= points[i-1][1]
	}
	switch {
	case rises && points[0][1] == points[n-1][1]:
		faults = append(faults, fmt.Errorf("head is %g m at every flow: a pump's head falls", points[0][1]))
	case rises:
		faults = append(faults, fmt.Errorf("head rises with flow from %g m to %g m: a pump's head falls; are flow and head exchanged?", points[0][1], points[n-1][1]))
	case points[n-1][1] >= points[n-2][1]:
		faults = append(faults, fmt.Errorf("head does not fall at the end of the curve: point %d has %g m after %g m", n, points[n-1][1], points[n-2][1]))
	}
	return errors.Join(faults...)
}

// checkRows looks at each row of a curve: finite, not negative, by rising flow.
func checkRows(points [][2]float64, least int) (faults []error) {
	if len(points) < least {
		faults = append(faults, fmt.Errorf("%d points: give at least %d", len(points), least))
	} else if last := points[len(points)-1][0]; last < 1e-9 {
		faults = append(faults, fmt.Errorf("the largest flow is %g m³/s: is its unit right?", last))
	}
	for i, p := range points {
		if !(p[0] >= 0 && p[1] >= 0) || p[0] > largest || p[1] > largest {
			faults = append(faults, fmt.Errorf("point %d (%g, %g): give figures from 0 up", i+1, p[0], p[1]))
		}
		if i > 0 && !(p[0] > points[i-1][0]) {
			faults = append(faults, fmt.Errorf("point %d: flow %g m³/s after %g m³/s: flows must rise", i+1, p[0], points[i-1][0]))
		} else if i > 0 && p[0]-points[i-1][0] < 1e-9*p[0] {
			faults = append(faults, fmt.Errorf("points %d and %d have the same flow but for rounding", i, i+1))
		}
	}
	return faults
}

// largest is a figure that no pump reaches, in any unit here.
const largest = 1e9

// parabola lays H₀ + a Q + b Q² through three points and reports whether it
// falls from no flow to the last point, as the points do.
func (c *Curve) parabola() bool {
	p := c.points
	if !(p[0][1] > p[1][1] && p[1][1] > p[2][1]) {
		return false
	}
	s1 := (p[1][1] - p[0][1]) / (p[1][0] - p[0][0])
	s2 := (p[2][1] - p[1][1]) / (p[2][0] - p[1][0])
	b := (s2 - s1) / (p[2][0] - p[0][0])
	a := s1 - b*(p[0][0]+p[1][0])
	last := p[2][0]
	if a > 0 && a*last <= 1e-12*p[0][1] {
		a = 0 // zero but for rounding
	}
	if a > 0 || a+2*b*last >= 0 {
		return false
	}
	c.a, c.b = a, b
	c.h0 = p[0][1] - p[0][0]*(a+b*p[0][0])
	return true
}

func (c *Curve) throughPoints() {
	q, h := make([]float64, len(c.points)), make([]float64, len(c.points))
	for i, p := range c.points {
		q[i], h[i] = p[0], p[1]
	}
	curve, err := num.Monotone(q, h)
	if err != nil {
		panic("pump: " + err.Error()) // not reached: the points were checked
	}
	c.cubic = curve
	for i := 1; i < len(h)-1; i++ {
		if (h[i]-h[i-1])*(h[i+1]-h[i]) <= 0 {
			c.turns = append(c.turns, q[i])
		}
	}
}

// ends works out how the curve goes on outside its points.
func (c *Curve) ends() {
	first, last := c.points[0], c.points[len(c.points)-1]
	c.q1, c.h1 = first[0], first[1]
	c.qn, c.hn = last[0], last[1]
	_, c.m1 = c.between(c.q1)
	_, c.mn = c.between(c.qn)
	if c.cubic == nil && c.b < 0 {
		c.kn = -2 * c.b // the formula goes on
	} else {
		before := c.points[len(c.points)-2]
		secant := (last[1] - before[1]) / (last[0] - before[0])
		c.kn = -min(c.mn, secant) / c.qn
	}
	var slope float64
	c.shut, slope = c.forward(0)
	c.m0 = min(slope, 0)
	_, peak := c.Peak()
	c.k0 = max(c.shut+c.m0*c.qn, 0.1*peak) / (c.qn * c.qn)
}

// between evaluates the curve between its points.
func (c *Curve) between(q float64) (h, slope float64) {
	if c.cubic == nil {
		return c.h0 + q*(c.a+q*c.b), c.a + 2*c.b*q
	}
	h, slope, _ = c.cubic.At(q)
	return h, slope
}

// forward evaluates the curve at the scale of its points for q ≥ 0.
func (c *Curve) forward(q float64) (h, slope float64) {
	switch {
	case q > c.qn:
		d := q - c.qn
		return c.hn + d*(c.mn-0.5*c.kn*d), c.mn - c.kn*d
	case q < c.q1 && c.cubic != nil:
		return c.h1 + 0.5*c.m1*(q*q-c.q1*c.q1)/c.q1, c.m1 * (q / c.q1)
	}
	return c.between(q)
}

// Head returns the head h, m, at a flow q, m³/s, and its derivative dhdq, s/m².
// It answers for every flow; [Curve.Place] says whether the points bear it out.
func (c *Curve) Head(q float64) (h, dhdq float64) {
	q /= c.flow
	if q >= 0 {
		h, dhdq = c.forward(q)
	} else {
		h, dhdq = c.shut+q*(c.m0+c.k0*q), c.m0+2*c.k0*q
	}
	return c.head * h, c.head / c.flow * dhdq
}

// Place says where a flow q, m³/s, lies with respect to the points.
func (c *Curve) Place(q float64) Place {
	switch q /= c.flow; {
	case q < 0:
		return Reverse
	case q < c.q1:
		return Below
	case q > c.qn*(1+1e-12):
		return Beyond
	}
	return Within
}

// Range returns the flows of the first and last point, m³/s, at this curve's
// speed and size.
func (c *Curve) Range() (first, last float64) { return c.flow * c.q1, c.flow * c.qn }

// ShutOff returns the head at no flow, m.
func (c *Curve) ShutOff() float64 { return c.head * c.shut }

// Peak returns the highest head at forward flow, m, and its flow, m³/s: the
// shut-off head, but for a curve that droops.
func (c *Curve) Peak() (q, h float64) {
	h = c.shut
	for _, turn := range c.turns {
		if v, _ := c.forward(turn); v > h {
			q, h = turn, v
		}
	}
	return c.flow * q, c.head * h
}

// AtSpeed returns the curve at a speed, as a ratio r to this curve's: Q ~ r,
// H ~ r². It panics unless r is above zero.
func (c *Curve) AtSpeed(r float64) *Curve { return c.scaled(r, r*r) }

// Trimmed returns the curve with the impeller turned down to a diameter, as a
// ratio r to this curve's, in the same casing: Q ~ r, H ~ r² (Hydraulic
// Institute, Engineering Data Book, pump fundamentals). Trust it to about 10 %.
func (c *Curve) Trimmed(r float64) *Curve { return c.scaled(r, r*r) }

// Similar returns the curve of a geometrically similar pump, by the ratios of
// its speed and its diameter to this curve's: Q ~ n D³, H ~ n² D².
func (c *Curve) Similar(speed, diameter float64) *Curve {
	return c.scaled(speed*diameter*diameter*diameter, speed*speed*diameter*diameter)
}

func (c *Curve) scaled(flow, head float64) *Curve {
	if !(flow > 0 && head > 0) || math.IsInf(flow, 0) || math.IsInf(head, 0) {
		panic(fmt.Sprintf("pump: curve scaled by %g in flow and %g in head", flow, head))
	}
	s := *c
	s.flow *= flow
	s.head *= head
	return &s
}

// Flow returns the flow, m³/s, that the pump delivers against a head, m, and
// where that lies. Of several flows with this head it is the largest, the
// steady one in most systems. Against more than its highest head a pump with a
// check valve of its own delivers nothing (Shut); one without it lets water
// back (Reverse).
func (c *Curve) Flow(head float64, checked bool) (q float64, where Place) {
	q, lifts := c.largestFlow(head / c.head)
	switch {
	case lifts:
		q *= c.flow
		return q, c.Place(q)
	case checked:
		return 0, Shut
	}
	// shut + m0 q + k0 q² = head, q < 0
	over := head/c.head - c.shut
	return -c.flow * 2 * over / (-c.m0 + math.Sqrt(c.m0*c.m0+4*c.k0*over)), Reverse
}

// largestFlow returns the largest q ≥ 0 with this head, at the scale of the
// points, and false where there is none.
func (c *Curve) largestFlow(head float64) (float64, bool) {
	if head <= c.hn {
		// hn + mn d − kn d²/2 = head
		short := c.hn - head
		if short == 0 {
			return c.qn, true
		}
		return c.qn + 2*short/(-c.mn+math.Sqrt(c.mn*c.mn+2*c.kn*short)), true
	}
	right := c.qn
	for i := len(c.turns); i >= 0; i-- {
		left := 0.0
		if i > 0 {
			left = c.turns[i-1]
		}
		if top, _ := c.forward(left); top >= head {
			return c.solve(head, left, right), true
		}
		right = left
	}
	return 0, false
}

// solve finds the flow with this head between two flows across which it falls
// through it.
func (c *Curve) solve(head, left, right float64) float64 {
	q, _ := num.Newton(func(q float64) (float64, float64) {
		h, slope := c.forward(q)
		return h - head, slope
	}, 0.5*(left+right), left, right, 0)
	return q
}

// notes describes droops and saddles.
func (c *Curve) notes() []Note {
	var notes []Note
	flow, peak := c.Peak()
	if flow > 0 {
		// down the falling side to the shut-off head again
		same, _ := c.largestFlow(c.shut)
		notes = append(notes, Note{ID: "pump.droop", From: 0, To: same, Text: fmt.Sprintf(
			"head droops at low flow: heads from %.4g m (no flow) to %.4g m (at %.4g L/s) have two duties, one below and one above that flow, up to %.4g L/s",
			c.shut, peak, flow*1e3, same*1e3)})
	}
	for i, turn := range c.turns {
		before := 0.0
		if i > 0 {
			before = c.turns[i-1]
		}
		if i+1 == len(c.turns) {
			break // the curve falls from its last turn on
		}
		left, _ := c.forward(before)
		low, _ := c.forward(turn)
		top, _ := c.forward(c.turns[i+1])
		if !(low < left && low < top) {
			continue
		}
		from := before
		if top < left {
			from = c.solve(top, before, turn)
		}
		to, _ := c.largestFlow(low)
		notes = append(notes, Note{ID: "pump.saddle", From: from, To: to, Text: fmt.Sprintf(
			"head has a saddle at %.4g L/s: heads from %.4g m to %.4g m have several duties, between %.4g and %.4g L/s",
			turn*1e3, low, min(top, left), from*1e3, to*1e3)})
	}
	return notes
}
