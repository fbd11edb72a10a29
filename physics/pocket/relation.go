package pocket

import (
	"fmt"
	"math"
	"slices"
)

// Slope says how a relation reads the slope.
type Slope uint8

// The ways a relation may read the slope.
const (
	NoSlope Slope = iota // it does not enter
	Sine
	Tangent
)

// String is the word for it.
func (s Slope) String() string { return [...]string{"none", "sine", "tangent"}[s] }

// Weight says how firmly a relation is known to us.
type Weight uint8

// The weights.
const (
	Read       Weight = iota // in the source itself
	Quoted                   // where another text quotes it
	FromMemory               // constants or range come from memory
)

// String is the word for a weight.
func (w Weight) String() string { return [...]string{"read", "read as quoted", "from memory"}[w] }

// Relation is one published critical velocity of water down a slope, with the range for which it is given.
type Relation struct {
	ID     string // stable
	Name   string // its authors, with the class of pocket where there is one
	Form   string // the formula in plain text
	Source string
	Range  string // where the range comes from
	Weight Weight
	Slope  Slope

	// Safety is the factor its authors put on the mean of their tests; 1 where there is none.
	Safety    float64 `unit:"1"`
	FromAngle float64 `unit:"°"` // below the horizontal, ends included
	ToAngle   float64 `unit:"°"`
	FromBore  float64 `unit:"m"`
	ToBore    float64 `unit:"m"` // 0: no upper bound is given
	FromSize  float64 `unit:"1"` // pocket number, lower end left out; both 0 where the relation has none
	ToSize    float64 `unit:"1"` // upper end included

	constant, root float64 // F = Safety·(constant + root·√slope)
	flat           float64 // m/s, in place of all that
}

// leastBore is the bore, m, below which none of the relations holds: those for more than 50 mm do not carry over to 12.7 to
// 38 mm (Quintana-Molina et al., Water (MDPI), abstract).
const leastBore = 0.05

// angleRounding keeps an angle that was given in degrees inside a range that ends there.
const angleRounding = 1e-9 // °

// Critical returns the velocity v (m/s) of water at and above which a pocket is carried down a pipe that falls at an angle
// (rad below the horizontal, 0 to π/2) in a bore (m) under gravity g (m/s²), and whether pipe and bore lie within the
// relation's range. Outside it, v is what the formula gives there, and 0 where it gives nothing: a relation by the tangent in a
// vertical pipe. It panics outside the range of its arguments.
func (r *Relation) Critical(angle, bore, g float64) (v float64, inRange bool) {
	check(angle, bore, g)
	return r.critical(newSteepness(angle), bore, math.Sqrt(g*bore))
}

// check panics on an argument that is a caller's mistake.
func check(angle, bore, g float64) {
	if !(angle >= 0 && angle <= math.Pi/2) || !(bore > 0) || !(g > 0) || math.IsInf(bore, 0) || math.IsInf(g, 0) {
		panic(fmt.Sprintf("pocket: angle %g rad, bore %g m, gravity %g m/s²: the angle goes from 0 to π/2, bore and gravity are above 0", angle, bore, g))
	}
}

// steepness is an angle in all the ways that relations read it.
type steepness struct {
	degrees           float64
	rootSine, rootTan float64
	upright           bool // it has no tangent
}

func newSteepness(angle float64) steepness {
	s := steepness{degrees: angle * 180 / math.Pi, rootSine: math.Sqrt(math.Sin(angle)), upright: angle == math.Pi/2}
	if !s.upright {
		s.rootTan = math.Sqrt(math.Tan(angle))
	}
	return s
}

// critical is [Relation.Critical] at a steepness and √(g·D), m/s.
func (r *Relation) critical(s steepness, bore, wave float64) (v float64, inRange bool) {
	inRange = s.degrees >= r.FromAngle-angleRounding && s.degrees <= r.ToAngle+angleRounding &&
		bore >= r.FromBore && (r.ToBore == 0 || bore <= r.ToBore)
	if r.flat > 0 {
		return r.flat, inRange
	}
	f := r.constant
	switch r.Slope {
	case Sine:
		f += r.root * s.rootSine
	case Tangent:
		if s.upright {
			return 0, false
		}
		f += r.root * s.rootTan
	}
	return r.Safety * f * wave, inRange
}

// Sized reports whether the relation was made for pockets of a number n (1); one without a class holds for all.
func (r *Relation) Sized(n float64) bool {
	return r.ToSize == 0 || n > r.FromSize && n <= r.ToSize
}

// Rule reports whether the relation is one velocity for all pipes, a rule and no measurement.
func (r *Relation) Rule() bool { return r.flat > 0 }

// Relations returns all relations, in the order in which [Criticals] and [Verdict] give their figures.
func Relations() []Relation { return slices.Clone(relations[:]) }

// Number returns the pocket number n = 4·V/(π·D³) (1) of a volume of air (m³, at the pipe's pressure) in a bore (m).
func Number(volume, bore float64) float64 { return 4 * volume / (math.Pi * bore * bore * bore) }

// Volume returns the volume (m³) of a pocket of number n (1) in a bore (m): the inverse of [Number].
func Volume(n, bore float64) float64 { return n * math.Pi * bore * bore * bore / 4 }
