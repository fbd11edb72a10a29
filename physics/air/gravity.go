package air

import "math"

// Constants of the Geodetic Reference System 1980 (Moritz, Bull. Géod. 54
// (1980) 395–405), from memory.
const (
	grsGammaE = 9.7803267715      // γe, normal gravity at the equator, m/s²
	grsK      = 0.001931851353    // k = bγp/(aγe) − 1
	grsE2     = 0.00669438002290  // e², first eccentricity squared
	grsA      = 6378137.0         // a, m
	grsF      = 1 / 298.257222101 // f, flattening
	grsM      = 0.00344978600308  // m = ω²a²b/(GM)
)

// Gravity returns normal gravity in m/s² at a geodetic latitude (rad,
// −π/2…π/2) and altitude (m above mean sea level, −2000…11 000):
//
//	γ = γe·(1 + k·sin²φ)/√(1 − e²·sin²φ)                    Somigliana
//	g = γ·(1 − 2(1 + f + m − 2f·sin²φ)·h/a + 3·h²/a²)       free air
//
// Real gravity differs by what lies below: mostly less than 0.0005 m/s² (50
// ppm), on high plateaux and ridges up to 0.002 m/s² more (common practice, no
// source). A gauge or tube needs no better; a deadweight tester wants the value
// of the national survey.
func Gravity(latitude, altitude float64) (float64, error) {
	const equation = "normal gravity (GRS 80)"
	if !within(latitude, -math.Pi/2, math.Pi/2) {
		return 0, &RangeError{"latitude", "rad", latitude, -math.Pi / 2, math.Pi / 2, equation,
			"give the latitude in radians, south negative (90° is 1.5708 rad)"}
	}
	if err := checkAltitude(altitude, equation); err != nil {
		return 0, err
	}
	s2 := math.Sin(latitude)
	s2 *= s2
	g := grsGammaE * (1 + grsK*s2) / math.Sqrt(1-grsE2*s2)
	h := altitude / grsA
	return g * (1 - 2*(1+grsF+grsM-2*grsF*s2)*h + 3*h*h), nil
}
