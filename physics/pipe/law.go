package pipe

import (
	"fmt"
	"math"
)

// Law is the friction of one pipe: how steep the hydraulic grade line is at a
// flow. Make it with [NewDarcyWeisbach] or [NewHazenWilliams]; evaluating it
// allocates nothing, and it is safe for concurrent use.
//
// Every law is odd in the flow, rises throughout, has a continuous derivative
// and a finite slope above zero at no flow: what Newton's method needs.
type Law struct {
	hazen bool

	// Darcy–Weisbach
	laminar   float64 // slope of grade line per flow, s/m³
	q1, q2    float64 // flows at the two Reynolds limits, m³/s
	rough     float64 // (k/D)/3.7
	smooth    float64 // 2.51/Re at unit flow, m³/s
	turbulent float64 // slope of grade line per f q², (s/m³)²

	// Hazen–Williams
	k    float64 // slope of grade line at q^1.85…, SI
	tiny float64 // flow below which the cubic stands for the power, m³/s
}

// NewDarcyWeisbach returns the law
//
//	S = f/D · v|v|/2g
//
// with the friction factor of [Friction], for a bore in m, a sand-grain
// roughness in m, a kinematic viscosity nu in m²/s and gravity g in m/s². It
// panics unless all are finite, bore, nu and g above zero, and the roughness
// from zero to below the bore.
func NewDarcyWeisbach(bore, rough, nu, g float64) Law {
	if !(bore > 0 && rough >= 0 && rough < bore && nu > 0 && g > 0) ||
		math.IsInf(bore, 0) || math.IsInf(nu, 0) || math.IsInf(g, 0) {
		panic(fmt.Sprintf("pipe: Darcy–Weisbach with bore %g m, roughness %g m, viscosity %g m²/s, gravity %g m/s²", bore, rough, nu, g))
	}
	perRe := math.Pi / 4 * bore * nu // flow at Reynolds number 1
	d2 := bore * bore
	return Law{
		laminar:   128 * nu / (math.Pi * g * d2 * d2),
		q1:        LaminarLimit * perRe,
		q2:        TurbulentLimit * perRe,
		rough:     rough / bore / roughDivisor,
		smooth:    smoothFactor * perRe,
		turbulent: 8 / (math.Pi * math.Pi * g * d2 * d2 * bore),
	}
}

// Constants of the formula of A. Hazen and G. S. Williams in SI units,
// v = 0.849 C R^0.63 S^0.54 (G. M. Fair, J. C. Geyer, D. A. Okun, Water and
// Wastewater Engineering, 3rd ed., Wiley 2010, eq. 5.33, p. 165).
const (
	hazenFactor   = 0.849
	hazenRadius   = 0.63
	hazenGradient = 0.54
	hazenPower    = 1 / hazenGradient
)

// TinyVelocity is the mean velocity, m/s, below which a Hazen–Williams law is
// replaced by the odd cubic that meets it there in value and slope and leaves
// zero with a finite slope. The formula itself says nothing at such velocities.
const TinyVelocity = 1e-3

// NewHazenWilliams returns the law v = 0.849 C R^0.63 S^0.54 (m, m/s) for a
// bore in m and a coefficient c. The formula is an empirical one for water near
// 15 °C at about 0.3 to 3 m/s in bores above 50 mm (common practice). It panics
// unless both are finite and above zero.
func NewHazenWilliams(bore, c float64) Law {
	if !(bore > 0 && c > 0) || math.IsInf(bore, 0) || math.IsInf(c, 0) {
		panic(fmt.Sprintf("pipe: Hazen–Williams with bore %g m and C %g", bore, c))
	}
	area := Area(bore)
	unit := hazenFactor * c * math.Pow(bore/4, hazenRadius) * area // flow at slope 1
	return Law{hazen: true, k: math.Pow(unit, -hazenPower), tiny: TinyVelocity * area}
}

// Gradient returns the slope s of the hydraulic grade line (head lost per
// length of pipe, 1) at a flow q, m³/s, and its derivative dsdq, s/m³. Both the
// slope and the flow are positive along the pipe. q must be finite.
func (l *Law) Gradient(q float64) (s, dsdq float64) {
	size := math.Abs(q)
	switch {
	case l.hazen:
		s, dsdq = l.hazenGradient(size)
	case size <= l.q1:
		return l.laminar * q, l.laminar
	case size >= l.q2:
		s, dsdq = l.turbulentGradient(size)
	default:
		s2, m2 := l.turbulentGradient(l.q2)
		s, dsdq = blend(size, l.q1, l.laminar, l.q2, s2, m2)
	}
	if q < 0 {
		s = -s
	}
	return s, dsdq
}

// turbulentGradient is f/D·v²/2g and its derivative 2 s/q (1 − share).
func (l *Law) turbulentGradient(q float64) (s, dsdq float64) {
	x, share := colebrook(l.rough, l.smooth/q)
	v := q / x
	s = l.turbulent * v * v
	return s, 2 * s / q * (1 - share)
}

// hazenGradient is k q^n, and below the tiny flow q₀ the cubic
// k q₀^n ((3−n)/2 t + (n−1)/2 t³), t = q/q₀.
func (l *Law) hazenGradient(q float64) (s, dsdq float64) {
	if q >= l.tiny {
		s = l.k * math.Pow(q, hazenPower)
		return s, hazenPower * s / q
	}
	const linear, cubic = (3 - hazenPower) / 2, (hazenPower - 1) / 2
	edge := l.k * math.Pow(l.tiny, hazenPower)
	t := q / l.tiny
	return edge * t * (linear + cubic*t*t), edge / l.tiny * (linear + 3*cubic*t*t)
}

// HeadLoss returns the head h, m, lost to friction by a flow q, m³/s, in a pipe
// of the given bore and length, m, sand-grain roughness, m, with a kinematic
// viscosity nu, m²/s, under gravity g, m/s²; and its derivative dhdq, s/m².
// It panics as [NewDarcyWeisbach] does.
func HeadLoss(q, bore, length, rough, nu, g float64) (h, dhdq float64) {
	l := NewDarcyWeisbach(bore, rough, nu, g)
	s, dsdq := l.Gradient(q)
	return length * s, length * dsdq
}

// HazenWilliams returns the head h, m, lost to friction by a flow q, m³/s, in a
// pipe of the given bore and length, m, and coefficient c; and its derivative
// dhdq, s/m². It panics as [NewHazenWilliams] does.
func HazenWilliams(q, bore, length, c float64) (h, dhdq float64) {
	l := NewHazenWilliams(bore, c)
	s, dsdq := l.Gradient(q)
	return length * s, length * dsdq
}

// Flow returns the flow, m³/s, at which the grade line has the slope s: the
// inverse of [Law.Gradient], within about 1e-15 of itself.
func (l *Law) Flow(s float64) float64 {
	size := math.Abs(s)
	var q float64
	switch {
	case s == 0:
		return 0
	case l.hazen:
		q = math.Pow(size/l.k, hazenGradient)
		if q < l.tiny {
			q = l.invert(size, 0, l.tiny)
		}
	case size <= l.laminar*l.q1:
		q = size / l.laminar
	default:
		if s2, _ := l.turbulentGradient(l.q2); size < s2 {
			q = l.invert(size, l.q1, l.q2)
			break
		}
		// f q² = s is known, so that Re√f is: the equation is explicit
		v := math.Sqrt(size / l.turbulent) // q √f
		q = v * -perE * math.Log(l.rough+l.smooth/v)
	}
	return math.Copysign(q, s)
}

// invert finds the flow between two flows by bisection; rare, and exact.
func (l *Law) invert(s, lo, hi float64) float64 {
	for range 100 {
		mid := 0.5 * (lo + hi)
		if mid <= lo || mid >= hi {
			break
		}
		if v, _ := l.Gradient(mid); v < s {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}

// Area returns the area of a full bore, m², for a bore in m.
func Area(bore float64) float64 { return math.Pi / 4 * bore * bore }

// Velocity returns the mean velocity, m/s, of a flow q, m³/s, in a full bore, m.
func Velocity(q, bore float64) float64 { return q / Area(bore) }

// Reynolds returns the Reynolds number |v|D/ν of a flow q, m³/s, in a full bore,
// m, with a kinematic viscosity nu, m²/s.
func Reynolds(q, bore, nu float64) float64 {
	return math.Abs(q) / (math.Pi / 4 * bore * nu)
}
