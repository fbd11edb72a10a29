// Package water computes what a pipeline engineer needs to know about liquid
// water: density, viscosity, speed of sound, bulk moduli, vapour pressure,
// surface tension, and how much air it can hold in solution.
//
// # Equations and sources
//
//   - Density, enthalpy, entropy, heat capacity, speed of sound: IAPWS-IF97,
//     region 1, the 34-term Gibbs energy (IAPWS R7-97(2012), Eq. 7, Table 2).
//   - Vapour pressure and boiling temperature: the saturation line of the same
//     release (Eqs. 30 and 31, Table 34).
//   - Viscosity: IAPWS R12-08, without the critical enhancement (its Eq. 10,
//     factor μ̄2 = 1), which is below 2 % except close to the critical point.
//   - Surface tension: IAPWS R1-76(2014).
//   - Henry's constants of N₂, O₂, Ar and CO₂: IAPWS G7-04; carried to pipeline
//     pressures with the Poynting factor and the fugacity of air.
//
// # Range of validity
//
// The functions cover the range of their standard: 0…350 °C (273.15…623.15 K)
// and from the vapour pressure to 100 MPa for liquid water. The product uses
// them from 0 to 60 °C and up to 10 MPa, see [ServiceMinTemperature] and its
// neighbours. Outside the standard's range every function returns a
// [RangeError]; nothing is clamped and nothing is NaN.
//
// The speed of sound of IAPWS-IF97 lies about 1 m/s (0.08 %) above that of the
// scientific formulation IAPWS-95 and of the measurements at 20 °C and 1 atm
// (Bilaniuk & Wong 1993). Which modulus is meant matters more: see
// [Properties].
//
// All arguments are SI: temperatures in K, pressures in Pa absolute.
package water
