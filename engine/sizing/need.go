package sizing

import (
	"math"

	"obvert/physics/air"
	"obvert/physics/opening"
)

// state is the free air at the site.
type state struct {
	pressure    float64 // Pa absolute
	temperature float64 // K
	density     float64 // kg/m³
}

// way is +1 for air out of the pipe, −1 for air into it: the sign of the gauge pressure in the pipe.
type way float64

const (
	inward  way = -1
	outward way = +1
)

// counted is how a basis counts a way.
func (b Basis) counted(w way) Basis {
	switch {
	case b != SafeSide:
		return b
	case w == inward:
		return FreeAir
	}
	return PipeAir
}

// mass is the mass of air, kg/s, that takes the place of a flow of water (m³/s), or leaves before it, at a differential (Pa):
//
//	free air     q·ρ₀
//	pipe air     q·ρ₀·p/p₀           p = p₀ ± Δp, at the temperature outside
//	cooled air   q·ρ₀·(p/p₀)^(1/γ)
func (a state) mass(b Basis, w way, water, dp float64) float64 {
	ratio := (a.pressure + float64(w)*dp) / a.pressure
	switch b.counted(w) {
	case PipeAir:
		return water * a.density * ratio
	case CooledAir:
		return water * a.density * math.Pow(ratio, 1/air.Gamma)
	}
	return water * a.density
}

// upstream is the state before the opening: the air outside for air in, that in the pipe for air out.
func (a state) upstream(b Basis, w way, dp float64) (p1, p2, t1 float64) {
	pipe := a.pressure + float64(w)*dp
	if w == inward {
		return a.pressure, pipe, a.temperature
	}
	if b.counted(w) == CooledAir {
		return pipe, a.pressure, a.temperature * math.Pow(pipe/a.pressure, (air.Gamma-1)/air.Gamma)
	}
	return pipe, a.pressure, a.temperature
}

// leastMass is the flow of air, kg/s, below which nothing is needed: some cubic millimetres a second. Own choice.
const leastMass = 1e-9

// size is the need on one basis with the diameter of the orifice that meets it. The misclosure of the diameter fed back through
// the opening goes into the result's identity. A differential of 0 and a
// flow below leastMass have no diameter.
func (s *solver) size(b Basis, w way, water, dp float64) (Sized, error) {
	z := Sized{Basis: b.counted(w), Mass: s.state.mass(b, w, water, dp)}
	z.Free = z.Mass / s.state.density
	if dp <= 0 || z.Mass < leastMass {
		return z, nil
	}
	p1, p2, t1 := s.state.upstream(b, w, dp)
	d, err := s.orifice(s.large, z.Mass, p1, p2, t1)
	z.Diameter = d
	return z, err
}

// orifice is the diameter, m, of the orifice that passes a mass flow, and feeds it back through the opening.
func (s *solver) orifice(cd, mass, p1, p2, t1 float64) (float64, error) {
	area, err := opening.Orifice{Coefficient: cd}.AreaFor(mass, p1, p2, t1)
	if err != nil {
		return 0, err
	}
	d := math.Sqrt(4 / math.Pi * area)
	back, err := opening.Orifice{Area: opening.Circle(d), Coefficient: cd}.MassFlow(p1, p2, t1)
	if err != nil {
		return 0, err
	}
	s.res.Closure = max(s.res.Closure, math.Abs(back.Mass/mass-1))
	return d, nil
}
