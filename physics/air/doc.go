// Package air computes the air around and inside a pipeline: the atmosphere at
// a site, the density of dry and humid air, what a cubic metre of "free air"
// means, viscosity, and the gravity that pressures and heads are tied by.
//
// # Equations and sources
//
//   - Standard atmosphere by altitude: ISO 2533:1975, troposphere (the same
//     numbers as ICAO and US Standard Atmosphere 1976 there).
//   - Density of humid air: CIPM-2007 (Picard, Davis, Gläser & Fujii, Metrologia
//     45 (2008) 149–155), with its own vapour pressure and enhancement factor.
//   - Reference conditions: normal (DIN 1343), standard (ISO 2533), ANR
//     (ISO 8778).
//   - Viscosity: Sutherland's formula with the constants of ISO 2533.
//   - Gravity: normal gravity of GRS 80 (Moritz, Bull. Géod. 54 (1980) 395) with
//     the second-order free-air term.
//
// # Range of validity
//
// Altitudes are geometric: metres above mean sea level, as a survey gives them.
// They are turned into the geopotential metres of ISO 2533 here. The product
// accepts −430…6000 m, see [ServiceMinAltitude]; the functions −2000…11 000 m.
// Outside their range functions return a [RangeError]. CIPM-2007 is made for
// laboratories (15…27 °C, 600…1100 hPa); beyond that a result carries
// [NoteBeyondCIPM].
//
// A site's real pressure wanders about the standard by ±3 % with the weather
// (common practice, no source); its temperature by far more. Give the site's
// own temperature to the density functions: the standard's is for when nothing
// else is known.
//
// All arguments are SI: K, Pa absolute, m; relative humidity 0…1.
package air
