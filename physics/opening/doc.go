// Package opening computes the air that an opening passes between two absolute
// pressures: the large orifice of an air valve in and out, its small orifice, a
// burst, a leak, a nozzle on a bench.
//
// Three models stand behind one interface, [Opening]:
//
//   - [Orifice]: isentropic flow with a discharge coefficient, subsonic and
//     choked (the nozzle equation of Saint-Venant & Wantzel 1839; in this form
//     e.g. Shapiro, Dynamics and Thermodynamics of Compressible Fluid Flow, 1953,
//     ch. 4, and NACA Report 1135, 1953, Eqs. 43–46 and 80).
//   - [ISO6358]: the sonic conductance C, critical back-pressure ratio b and
//     subsonic index m of ISO 6358-1:2013.
//   - [Measured]: points from a test, monotone between them, carried to other
//     pressures and temperatures by similarity.
//
// Every flow is a mass flow; package air turns it into a volume at a named
// reference. Both helpers of the trade are here: [Both] for a valve that passes
// air either way, [Differential] for the pressure that a flow needs.
//
// # Range of validity
//
// Air as an ideal gas with constant heat capacities, adiabatic up to the
// narrowest section: 150…1000 K, up to 100 MPa. At 20 bar and 15 °C real air
// passes some 1 % more (critical flow factors of ISO 9300, from memory). A single coefficient is
// an approximation for a sharp edge: its contraction weakens as the pressure
// ratio falls, so that a coefficient of 0.60 for small differentials becomes
// about 0.75 at the critical ratio (Jobson, Proc. IMechE 169 (1955) 767; Bragg,
// J. Mech. Eng. Sci. 2 (1960) 35; the figures from memory). A measured curve
// holds this; a coefficient does not.
//
// # Near zero
//
// Flow grows with the square root of a small differential, so its derivative
// at zero is infinite. [Slope] stays finite by taking a secant there, and
// [Softened] makes an opening linear below a stated differential, which an
// implicit solver needs.
package opening
