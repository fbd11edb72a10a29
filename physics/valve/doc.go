// Package valve holds an air valve as a record of what was measured on it: the
// pressures at which it becomes drip-tight and lets go, what leaks below them,
// its orifices, rating and price.
//
// # The record
//
// A record is a TOML text whose schema is published with the product (see
// [Schema]); [Parse] reads it and reports all faults at once, [Format] writes
// it. Pressures are kept in pascal, gauge, at the valve's seat: a head in metres
// belongs to a water and a place, so [Threshold.Head] asks for the density and
// gravity in hand.
//
// Three things are kept apart for each threshold: the mean of this valve, the
// scatter from one shutting to the next, and the standard uncertainty of the
// mean. The next shutting differs from the mean as known by both, see
// [Threshold.Spread].
//
// # Equations
//
//	h = p/(ρ·g)                         head of a threshold
//	u² = u(mean)² + s²                  the next shutting against the mean as known
//	q(p) monotone cubic pieces          leak curve, see [Record.LeakFlow]
//
// The leak curve is zero at the seat, rises to one largest value and falls to
// zero at the sealing pressure. Between its points it is the piecewise cubic
// Hermite interpolant with the slopes of Fritsch and Butland, which stays within
// neighbouring points and has no extremum but at one of them.
//
// # Air
//
// The large orifice in and out, and the outlet as an anti-slam stage throttles it,
// are openings of package opening, each in one of three forms; see [Record.Inlet],
// [Record.Outlet] and [Record.Throttled]. The stage holds from its differential up;
// from [Record].EarlyClosing up the float is carried shut by the air itself.
//
// # Sources
//
//   - F. N. Fritsch, R. E. Carlson, "Monotone piecewise cubic interpolation",
//     SIAM J. Numer. Anal. 17 (1980) 238–246 (from memory).
//   - F. N. Fritsch, J. Butland, "A method for constructing local monotone
//     piecewise cubic interpolants", SIAM J. Sci. Stat. Comput. 5 (1984) 300–304
//     (from memory).
//   - JCGM 100:2008, Evaluation of measurement data: 5.1.2 for adding variances.
//   - The figures of the classes in [Typical]: common practice, no source.
//
// # Range of validity
//
// Between the first and the last point of a leak curve, and from the last point
// to the sealing pressure where that was measured. Beyond, [Record.LeakKnown] is
// false.
package valve
