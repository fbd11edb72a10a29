package num

import (
	"fmt"
	"math"
)

// IVP is an initial value problem y' = f(t, y), with what is watched while it is solved. [DormandPrince] takes those that are
// not stiff, [Rosenbrock] those that are.
type IVP struct {
	// F puts the derivative of y at t into dydt. It must not keep either slice.
	F func(t float64, y, dydt []float64)

	Rel float64   // allowed relative error of a step; 0: 1e-6
	Abs []float64 // allowed absolute error of a step, of each unknown, in its unit; one figure serves all; empty: 1e-9

	// Scale, where not nil, puts the allowed error of each unknown into scale before each step, in place of Rel and Abs: what matters
	// may shrink as the solution goes on. Differences for a derivative are then taken over a thousandth of it.
	Scale func(t float64, y, scale []float64)

	// Events puts the values of all event functions into g, one an entry of Sense. An event happens where its function changes
	// sign: from below for +1, from above for −1, either way for 0. The solver then stops just past the earliest.
	Events func(t float64, y, g []float64)
	Sense  []int8

	// Longest, where not nil, returns the longest step that may be tried from here.
	Longest func(t float64, y []float64) float64

	First    float64 // first step; 0: found from the derivative
	Smallest float64 // step; below it the solver gives up; 0: rounding of t alone
	Largest  float64 // step; 0: no bound
	Limit    int     // most steps, tried ones counted; 0: 100,000

	// Lower and Upper are the half-widths of the band that the derivative by y fills; both 0 with Banded false: it is full.
	// Only Rosenbrock asks.
	Banded       bool
	Lower, Upper int
	// Reuse is the number of steps for which a derivative by y may serve; 0: 1. Only Rosenbrock asks.
	Reuse int

	// Accept, where not nil, is called after every accepted step, also the one that an event cuts short; false stops the solver.
	Accept func(t float64, y []float64) bool
	Done   <-chan struct{} // closed to cancel, as context.Context's Done; nil: never
}

// Ending says how the solution of an initial value problem ended.
type Ending uint8

// The ways it may end.
const (
	Reached      Ending = iota // the time asked for
	AtEvent                    // an event; the state is just past it
	Halted                     // Accept said no
	StepLimit                  // too many steps
	StepTooSmall               // the error could not be kept with any step above the smallest
	Interrupted                // Done was closed
	NoNumber                   // f gave NaN or an infinity at the start
)

// String returns the ending in plain words.
func (e Ending) String() string {
	if int(e) < len(endings) {
		return endings[e]
	}
	return fmt.Sprintf("ending %d", uint8(e))
}

var endings = [...]string{"end reached", "event", "halted", "limit of steps reached", "step too small", "cancelled", "derivative not finite"}

// Ride says how far a solver came and what it took.
type Ride struct {
	Ending    Ending
	Time      float64 `unit:"1"` // reached
	Event     int     // index of the event; −1 for none
	Steps     int     // accepted
	Rejected  int
	Evals     int     // of f
	Jacobians int     // derivatives by y
	Next      float64 `unit:"1"` // the step that would have been tried next: a start for what follows
}

// method is one way to make a step.
type method interface {
	// begin gets ready for n unknowns at t, y; f0 is the derivative there.
	begin(p *IVP, n int)
	// try makes a step of size h from (t, y), whose derivative is f0, into y1, and returns the error in units of what is allowed.
	// Not finite: the step is impossible.
	try(t, h float64, y, f0, y1 []float64) float64
	// done makes the step that was tried the last one: f1 becomes the derivative at its end.
	done(t, h float64, y, y1, f1 []float64)
	// inside puts the state at the share s of the last step into out.
	inside(s float64, out []float64)
	order() float64 // of the error estimate, plus one
}

// driver is what the methods share: step control, events, stops.
type driver struct {
	p            *IVP
	n            int
	evals        int
	y, y1, f, f1 []float64
	g, g1, gm    []float64
	mid          []float64
	scaleAbs     []float64
	rel          float64
	t0, t1, span float64 // of the last step: its ends, an event counted, and its whole length
}

func (d *driver) eval(t float64, y, f []float64) {
	d.evals++
	d.p.F(t, y, f)
}

// size makes the work space fit n unknowns and m events.
func (d *driver) size(p *IVP, n int) {
	d.p, d.n, d.evals = p, n, 0
	for _, s := range []*[]float64{&d.y, &d.y1, &d.f, &d.f1, &d.mid, &d.scaleAbs} {
		*s = fit(*s, n)
	}
	for _, s := range []*[]float64{&d.g, &d.g1, &d.gm} {
		*s = fit(*s, len(p.Sense))
	}
	d.rel = p.Rel
	switch {
	case p.Scale != nil:
		d.rel = 0
	case d.rel == 0:
		d.rel = 1e-6
	}
	for i := range d.scaleAbs {
		switch {
		case len(p.Abs) == 0:
			d.scaleAbs[i] = 1e-9
		case len(p.Abs) == 1:
			d.scaleAbs[i] = p.Abs[0]
		default:
			d.scaleAbs[i] = p.Abs[i]
		}
	}
}

// fit returns a slice of length n, the old one where it is long enough.
func fit(s []float64, n int) []float64 {
	if cap(s) < n {
		return make([]float64, n, n+n/2+4)
	}
	return s[:n]
}

// norm is the root mean square of e in units of what is allowed between y and y1.
func (d *driver) norm(e, y, y1 []float64) float64 {
	sum := 0.0
	for i, v := range e {
		r := v / (d.scaleAbs[i] + d.rel*max(math.Abs(y[i]), math.Abs(y1[i])))
		sum += r * r
	}
	return math.Sqrt(sum / float64(max(1, len(e))))
}

// ride solves from t to end, y being the state at both.
func (d *driver) ride(m method, p *IVP, t float64, y []float64, end float64) (r Ride) {
	d.size(p, len(y))
	copy(d.y, y)
	r = Ride{Time: t, Event: -1}
	defer func() { r.Evals = d.evals; copy(y, d.y) }()
	m.begin(p, d.n)
	d.eval(t, d.y, d.f)
	if !allFinite(d.f) {
		r.Ending = NoNumber
		return r
	}
	if p.Events != nil {
		p.Events(t, d.y, d.g)
	}
	if end <= t {
		return r
	}
	if p.Scale != nil {
		p.Scale(t, d.y, d.scaleAbs)
	}
	limit := p.Limit
	if limit == 0 {
		limit = 100_000
	}
	h := p.First
	if h == 0 {
		h = d.firstStep(t, end, m.order())
	}
	lastErr := 1.0
	for range limit {
		select {
		case <-p.Done:
			r.Ending = Interrupted
			return r
		default:
		}
		if p.Largest > 0 {
			h = min(h, p.Largest)
		}
		if p.Scale != nil {
			p.Scale(t, d.y, d.scaleAbs)
		}
		if p.Longest != nil {
			h = max(min(h, p.Longest(t, d.y)), 2*p.Smallest)
		}
		last, planned := false, h
		if h >= (end-t)*(1-1e-12) {
			h, last = end-t, true
		}
		err := m.try(t, h, d.y, d.f, d.y1)
		if !(err <= 1) { // also NaN
			r.Rejected++
			shrink := 0.2
			if err > 1 && !math.IsInf(err, 1) {
				shrink = max(0.1, 0.9*math.Pow(err, -1/m.order()))
			}
			h *= shrink
			if h < p.Smallest || t+h/16 <= t {
				r.Ending = StepTooSmall
				return r
			}
			continue
		}
		to := t + h
		if last {
			to = end
		}
		m.done(t, h, d.y, d.y1, d.f1)
		r.Steps++
		hit := -1
		if p.Events != nil {
			p.Events(to, d.y1, d.g1)
			hit = d.locate(m, t, to)
		}
		d.t0, d.t1, d.span = t, to, h
		if hit >= 0 {
			share, cut := d.share(m, hit, t, to)
			to = cut
			m.inside(share, d.y1)
			d.t1 = to
		}
		// A step that follows a good one grows by the errors of both (a PI controller: K. Gustafsson, ACM TOMS 17 (1991) 533).
		grow := 5.0
		if err > 0 {
			grow = 0.9 * math.Pow(err, -0.7/m.order()) * math.Pow(lastErr, 0.4/m.order())
		}
		grow = min(5, max(0.2, grow))
		lastErr = max(err, 1e-4)
		t = to
		d.y, d.y1 = d.y1, d.y
		d.f, d.f1 = d.f1, d.f
		d.g, d.g1 = d.g1, d.g
		r.Time = t
		if last {
			r.Next = max(planned, h*grow)
		} else {
			r.Next = h * grow
		}
		go1 := p.Accept == nil || p.Accept(t, d.y)
		switch {
		case hit >= 0:
			r.Ending, r.Event = AtEvent, hit
			return r
		case !go1:
			r.Ending = Halted
			return r
		case last:
			return r
		}
		h *= grow
	}
	r.Ending = StepLimit
	return r
}

// firstStep is a step after which the solution will have moved by about a hundredth of its tolerance scale (E. Hairer,
// S. P. Nørsett, G. Wanner, Solving Ordinary Differential Equations I, 2nd ed. 1993, sec. II.4, shortened).
func (d *driver) firstStep(t, end, order float64) float64 {
	d0, d1 := 0.0, 0.0
	for i := range d.y {
		sc := d.scaleAbs[i] + d.rel*math.Abs(d.y[i])
		d0 += d.y[i] * d.y[i] / (sc * sc)
		d1 += d.f[i] * d.f[i] / (sc * sc)
	}
	n := float64(max(1, d.n))
	d0, d1 = math.Sqrt(d0/n), math.Sqrt(d1/n)
	h := 1e-6 * (end - t)
	if d1 > 1e-10 {
		h = max(h*1e-3, 0.01*max(d0, math.Pow(0.01, 1/order))/d1)
	}
	return min(h, (end-t)/10)
}

// crossed tells whether an event function went through zero the way it is watched.
func crossed(a, b float64, sense int8) bool {
	switch {
	case a == 0 && b == 0:
		return false
	case sense > 0:
		return a < 0 && b >= 0
	case sense < 0:
		return a > 0 && b <= 0
	}
	return a < 0 && b >= 0 || a > 0 && b <= 0
}

// locate returns the event that happens first in the last step, −1 for none.
func (d *driver) locate(m method, from, to float64) int {
	hit, many := -1, false
	for i, s := range d.p.Sense {
		if crossed(d.g[i], d.g1[i], s) {
			many = hit >= 0
			if many {
				break
			}
			hit = i
		}
	}
	if !many {
		return hit
	}
	best, at := -1, 2.0
	for i, s := range d.p.Sense {
		if crossed(d.g[i], d.g1[i], s) {
			if share, _ := d.share(m, i, from, to); share < at {
				best, at = i, share
			}
		}
	}
	return best
}

// share returns the share of the last step at which event i has just happened, and the time there, by the false-position
// method on the interpolant with halved weights (the "Illinois" rule; M. Dowell, P. Jarratt, BIT 11 (1971) 168).
func (d *driver) share(m method, i int, from, to float64) (share, t float64) {
	at := func(s float64) float64 {
		m.inside(s, d.mid)
		d.p.Events(from+s*(to-from), d.mid, d.gm)
		return d.gm[i]
	}
	a, ga, b, gb := 0.0, d.g[i], 1.0, at(1)
	if gb == 0 || (gb > 0) == (ga > 0) { // the end of the step itself, but for rounding of the interpolant
		return 1, to
	}
	side := 0
	for range 60 {
		if b-a < 1e-12 {
			break
		}
		s := b - gb*(b-a)/(gb-ga)
		if !(s > a && s < b) {
			s = 0.5 * (a + b)
		}
		g := at(s)
		if g == 0 || (g > 0) == (gb > 0) {
			b, gb = s, g
			if g == 0 {
				break
			}
			if side == 1 {
				ga *= 0.5
			}
			side = 1
		} else {
			a, ga = s, g
			if side == -1 {
				gb *= 0.5
			}
			side = -1
		}
		if math.Abs(b-a) < 1e-9 {
			break
		}
	}
	return b, from + b*(to-from)
}

func allFinite(v []float64) bool {
	for _, x := range v {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}
