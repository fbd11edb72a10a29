package pipe

import (
	"errors"
	"math"

	"obvert/physics/air"
)

// Restraint says how a pipe is held along its axis, and so how far its wall gives way to a pressure wave.
type Restraint uint8

// The restraints, with the factor c of a thin wall.
const (
	// ExpansionJoints throughout: no axial stress, c = 1. Socketed pipe that can slide.
	ExpansionJoints Restraint = iota
	// AnchoredThroughout against axial movement: c = 1 − ν². Welded buried pipe.
	AnchoredThroughout
	// AnchoredUpstream only, the widening of the bore alone counted: c = 1 − ν/2.
	AnchoredUpstream
	// AnchoredUpstreamLengthening is the same with the lengthening of the pipe counted as well: c = 5/4 − ν.
	AnchoredUpstreamLengthening
)

// String is the restraint in plain words.
func (r Restraint) String() string {
	if r > AnchoredUpstreamLengthening {
		return "unknown restraint"
	}
	return [...]string{"expansion joints throughout", "anchored throughout", "anchored upstream only",
		"anchored upstream only, lengthening counted"}[r]
}

// thin is the factor c of a thin wall.
func (r Restraint) thin(nu float64) float64 {
	switch r {
	case AnchoredThroughout:
		return 1 - nu*nu
	case AnchoredUpstream:
		return 1 - nu/2
	case AnchoredUpstreamLengthening:
		return 1.25 - nu
	}
	return 1
}

// Gas is free gas spread evenly through the water.
type Gas struct {
	Fraction float64 `unit:"1"`     // of the volume, at the line's pressure, 0 to below 1
	Pressure float64 `unit:"Pa"`    // absolute, in the line; needed with a Fraction
	Exponent float64 `unit:"1"`     // polytropic n: 1 isothermal to 1.4 isentropic; 0: 1
	Density  float64 `unit:"kg/m³"` // of the gas at the line's pressure; 0: dry air at 20 °C
}

// Wave is what the speed of a pressure wave hangs on.
type Wave struct {
	Shell
	Restraint Restraint
	Thick     bool    // the formula of a thick wall, for which see [Wave.Factor]
	Bulk      float64 `unit:"Pa"`    // adiabatic bulk modulus K of the water
	Density   float64 `unit:"kg/m³"` // of the water
	Gas       Gas
}

// Check reports every fault at once, joined; nil where there is none.
func (w Wave) Check() error {
	var c shellChecker
	if err := w.Shell.Check(); err != nil {
		c = append(c, err)
	}
	if w.Restraint > AnchoredUpstreamLengthening {
		c.fault("restraint %d is none: give one of the constants", w.Restraint)
	}
	c.within("bulk modulus", w.Bulk, 0, 1e11, "Pa", "above 0, such as 2.19e9 for water")
	c.within("density", w.Density, 0, 1e5, "kg/m³", "above 0, such as 998")
	if g := w.Gas; g.Fraction != 0 {
		if !(g.Fraction > 0 && g.Fraction < 1) {
			c.fault("share of free gas is %g: give one from 0 to below 1", g.Fraction)
		}
		c.within("absolute pressure of the gas", g.Pressure, 0, 1e9, "Pa", "above 0, absolute")
		if g.Exponent != 0 && !(g.Exponent >= 1 && g.Exponent <= 5.0/3) {
			c.fault("polytropic exponent is %g: give 1 (isothermal) to 1.4 (isentropic), or 0 for 1", g.Exponent)
		}
		c.notNegative("density of the gas", g.Density, "kg/m³")
	}
	return errors.Join(c...)
}

// Factor is c in c·(K/E)(D/t): that of the restraint for a thin wall, and for a thick one
//
//	c = 2t/D·(1 + ν) + D/(D + t)·c_thin
//
// (E. B. Wylie, V. L. Streeter, Fluid Transients in Systems, 1993, from memory). D is the bore. The two meet as t/D falls; at
// D/t = 25 the thick one is some 6 % larger.
func (w Wave) Factor() float64 {
	c := w.Restraint.thin(w.Poisson)
	if !w.Thick {
		return c
	}
	return 2*w.Wall/w.Bore*(1+w.Poisson) + w.Bore/(w.Bore+w.Wall)*c
}

// WaveSpeed returns the speed of a pressure wave, m/s:
//
//	a = 1/√( ρ_m·( (1 − α)/K + α/(n·p) + c·D/(E·t) ) ),   ρ_m = (1 − α)·ρ + α·ρ_gas
//
// with α the share of free gas; without it a = √(K/ρ)/√(1 + c·(K/E)(D/t)) (E. B. Wylie, V. L. Streeter,
// Fluid Transients in Systems, 1993, from memory; with gas I. S. Pearsall, The velocity of water hammer waves, IMechE 1965). The gas is taken as evenly spread and
// the wave as long against the bubbles.
func WaveSpeed(w Wave) (float64, error) {
	if err := w.Check(); err != nil {
		return 0, err
	}
	alpha, density, gas := w.Gas.Fraction, w.Density, 0.0
	if alpha > 0 {
		density = (1-alpha)*density + alpha*w.Gas.density()
		gas = alpha / (w.Gas.exponent() * w.Gas.Pressure)
	}
	give := (1-alpha)/w.Bulk + gas + w.Factor()*w.Bore/(w.Modulus*w.Wall)
	return 1 / math.Sqrt(density*give), nil
}

func (g Gas) exponent() float64 {
	if g.Exponent == 0 {
		return 1
	}
	return g.Exponent
}

const gasTemperature = 293.15 // K, at which the density of the gas is taken where none is given

func (g Gas) density() float64 {
	if g.Density == 0 {
		return g.Pressure / (air.GasConstant * gasTemperature)
	}
	return g.Density
}

// Joukowsky is the rise of head, m, where a flow changes by dv (m/s) at once, by a wave of speed a (m/s): a·Δv/g (N. Joukowsky,
// 1898).
func Joukowsky(a, dv, g float64) float64 { return a * dv / g }

// Period is the time 2L/a, s, in which a wave of speed a (m/s) runs along a length (m) and back.
func Period(length, a float64) float64 { return 2 * length / a }
