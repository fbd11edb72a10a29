package air

import "fmt"

// A Reference is the state that a volume of air is counted at. "Free",
// "normal" and "standard" cubic metres differ by 8 % and more: every volume or
// volume flow of air names its Reference, and between them air is kept as mass.
type Reference struct {
	Name        string  // as printed beside the unit
	Temperature float64 // K
	Pressure    float64 // Pa absolute
	Humidity    float64 // relative, 0…1
	Source      string  // where it is defined

	density float64 // kg/m³; 0 in a Reference that no constructor made
}

// Normal is the normal state of DIN 1343: 0 °C, 101 325 Pa, dry. Its density,
// 1.2923 kg/m³, is that of an ideal gas; real dry air has 1.2930.
func Normal() Reference {
	return ideal("normal", 273.15, 101325, "DIN 1343")
}

// StandardISO is the standard state of ISO 2533 at sea level: 15 °C,
// 101 325 Pa, dry, 1.2250 kg/m³.
func StandardISO() Reference {
	return ideal("standard", SeaLevelTemperature, SeaLevelPressure, "ISO 2533")
}

// ANR is the standard reference atmosphere of pneumatics, ISO 8778: 20 °C,
// 100 kPa, 65 % relative humidity. Its density is the 1.185 kg/m³ by which
// ISO 6358-1 defines the sonic conductance (from memory), so that conductances
// and volume flows agree; CIPM-2007 gives 1.1820 for that state, 0.25 % less.
func ANR() Reference {
	return Reference{"ANR", 293.15, 100e3, 0.65, "ISO 8778, density ISO 6358-1", 1.185}
}

func ideal(name string, tK, p float64, source string) Reference {
	return Reference{name, tK, p, 0, source, p / (GasConstant * tK)}
}

// At returns the reference for a volume at the state of the user's choice, for
// example free air at the site: temperature tK (K), pressure pAbs (Pa absolute)
// and relative humidity rh (0…1) as [Humid] takes them. name is printed beside
// the unit.
func At(name string, tK, pAbs, rh float64) (Reference, error) {
	m, err := Humid(tK, pAbs, rh)
	if err != nil {
		return Reference{}, fmt.Errorf("reference state %q: %w", name, err)
	}
	return Reference{name, tK, pAbs, rh, "CIPM-2007", m.Density}, nil
}

// Density returns the density of air at the reference in kg/m³. It panics for
// a Reference that was not made by a function of this package: that is a
// mistake of the program.
func (r Reference) Density() float64 {
	if !(r.density > 0) {
		panic("air: Reference without a density: use Normal, StandardISO, ANR or At")
	}
	return r.density
}

// Mass returns the mass in kg of v (m³) at the reference, or kg/s of m³/s.
func (r Reference) Mass(v float64) float64 { return v * r.Density() }

// Volume returns the volume in m³ at the reference of m (kg), or m³/s of kg/s.
func (r Reference) Volume(m float64) float64 { return m / r.Density() }

// Convert returns v (m³ or m³/s, counted at from) as counted at to: the same
// mass of air.
func Convert(v float64, from, to Reference) float64 { return to.Volume(from.Mass(v)) }

// String names the reference with its state: "normal (0 °C, 101.325 kPa)".
func (r Reference) String() string {
	s := fmt.Sprintf("%s (%.4g °C, %.6g kPa", r.Name, r.Temperature-celsiusZero, r.Pressure/1e3)
	if r.Humidity > 0 {
		s += fmt.Sprintf(", %.3g %% RH", 100*r.Humidity)
	}
	return s + ")"
}
