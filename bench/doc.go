// Package bench reduces a sealing run to what it says of each valve: the sealing
// head, the letting-go head, the leak curve, each with its uncertainty.
//
// A sealing run stands several valves on one manifold and raises the water in a
// tube, or the pressure on a gauge, until they shut, then lets it down until they
// let go, as often as it takes. [Parse] reads the run, [Reduce] reduces it,
// [Records] makes valve records of the result.
//
// # Equations
//
// All pressures are gauge. z is a height above the bench's datum, ρ and g the
// density of the bench's water and gravity at the bench.
//
//	p_seat = p_gauge + c_gauge + ρ·g·(z_gauge − z_seat)          by the gauge
//	p_seat = ρ·g·(z_tube + h + c_tube − z_seat)                  by the tube
//	p      = Σ w·p_seat,  w ∝ 1/u²                               both together
//	p_mark = p(t − d)  ≈  p(t) − d·dp/dt                         a change seen late by d
//	h      = p/(ρ·g)                                             metres of the bench's water
//
// The weight of the air beside the tube is neglected, 0.12 % of a height, as it is
// along a line.
//
// # What is known of a change
//
// A mark of a change is late, never early: the mean delay of the observer is taken
// off, upwards and downwards, and its spread stays in the budget in full, because
// all repeats share the observer. A look bounds the change between two looks; a
// change anywhere between is alike likely (rectangular), and since the looks of all
// repeats stand at much the same heads this is not reduced by repeating. Where all
// repeats are so bounded this is also the largest-likelihood answer: any mean
// between the bounds is alike likely, the middle is taken.
//
//   - Not tight in every repeat: "more than x", x the highest head at which it was
//     seen dripping. A letting-go head does not apply.
//   - Tight at the first look in every repeat: "less than y", y the highest of
//     these heads.
//   - A mark made with no head at the seat is not used.
//
// # Leak curve
//
// Leaks collected while the head rose, taken together with zero at the seat and
// zero at the sealing pressure, by weighted least squares among all curves that
// rise to one largest value and fall again. For each place of the largest value
// the best such curve comes from pooling neighbours that are out of order (the
// pool-adjacent-violators rule); the place with the smallest sum of squares is
// taken, and readings that were pooled become one point at their mean pressure.
// Between points see package valve.
//
// # Uncertainty
//
// By JCGM 100:2008: every line of the budget is shown, degrees of freedom by Welch
// and Satterthwaite, the coverage factor from Student's t for 95.45 %. Each
// budget is drawn again by Monte Carlo (JCGM 101:2008, clause 8), and a finding says
// where the two differ. The valve's mean, its scatter from one shutting to the
// next and the uncertainty of the mean are kept apart.
//
// # Sources
//
//   - JCGM 100:2008, Guide to the expression of uncertainty in measurement.
//   - JCGM 101:2008, Supplement 1: propagation of distributions using a Monte
//     Carlo method.
//   - R. E. Barlow, D. J. Bartholomew, J. M. Bremner, H. D. Brunk, Statistical
//     Inference under Order Restrictions, Wiley 1972, ch. 1 (from memory).
//   - IAPWS-IF97 for the density (package water), normal gravity of GRS 80 (package
//     air).
//
// # Range of validity
//
// Water of 0…60 °C, the bench at −430…6,000 m. Heads that change slowly against
// the gauge's and tube's own response; velocity heads in the manifold small against
// the uncertainty stated.
package bench
