// Package quantity reads and writes figures with their units: "450 mm",
// "12 L/s", "1.2 bar", "1+250", "6 psi(g)", "1:500", "-3 °C", "35 kWh".
//
// Inside the program every quantity is a float64 in SI units; text with a unit
// exists only at its edge, and this package is that edge. Each [Kind] has a
// closed table of units. Nothing is guessed: a bare number, a unit of another
// kind, a decimal comma, a thousands separator, nan, inf, 1e999, 0x1p-2 and
// 1_000 are refused with an [Error] that says what was understood and how the
// text should be spelt.
//
// # Equations
//
// Every unit is an exact ratio n/d to its SI unit, with a shift s for °C and °F
// alone:
//
//	SI = (x + s)·n/d        x = SI·d/n − s
//
// n and d are whole numbers wherever the definition allows it, so that "450 mm"
// is 450/1000, rounded once, and not 450 × 0.001.
//
// # Sources
//
//   - BIPM, The International System of Units (SI), 9th edition (2019): prefixes,
//     Table 8 (minute, hour, day, degree, hectare, litre, tonne), section 5.4.3
//     (space between figure and unit), section 2.3.1 (a difference of 1 °C is 1 K).
//   - NIST Special Publication 811 (2008), Appendix B.8: inch, foot, yard, mile,
//     pound, pound-force, gallons, psi, conventional metre of water, conventional
//     millimetre of mercury, year of 365 days.
//   - ISO 2533:1975: standard atmosphere, R = 287.05287 J/(kg·K), 15 °C, 101.325 kPa.
//   - ISO 6358-1:2013 with ISO 8778:2003: standard reference atmosphere (ANR),
//     20 °C, 100 kPa, 65 % relative humidity, 1.185 kg/m³ (from memory).
//   - ISO 4217: currency codes (list from memory, checked against a public table).
//
// # Range of validity
//
// A figure's magnitude is zero or 1e-300…1e300, before and after conversion.
// Below absolute zero and below vacuum nothing is read. Whether 40 m is a
// sensible pipe bore is not judged here: the caller does that.
package quantity
