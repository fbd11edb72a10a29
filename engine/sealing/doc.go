// Package sealing judges every air valve in every operating case: is it drip-tight,
// does it drip, is it open, does it stand empty; by what margin, with what
// probability, and how much leaks.
//
// # Equations
//
//	h = H − z_seat                          head at the seat: grade line less level of the seat
//	s = p_seal/(ρ·g), l = p_go/(ρ·g)        sealing and letting-go head in metres of the water in hand
//	tight:  h ≥ s, or shut before and h ≥ l
//	drips:  0 < h, and not tight
//	open:   air at the seat (h ≤ 0, slack pipe)      empty: no water in the pipe
//	margin: h − s by [Rising], h − l by [Falling]
//
// A valve has a memory. The cases are taken in the order in which they follow one
// another; a valve that was shut keeps shut down to its letting-go head, and
// loses that as soon as it drips, opens or stands empty. Each cell names the
// rule it was judged by.
//
// # Probability
//
// [Solve] takes errors as normal. A margin's variance is the sum of the squares (JCGM
// 100:2008, 5.1.2) of what is common to the line (datum; the level of the pool's
// tank; roughness, times the head's sensitivity to it) and what is the valve's own
// (its survey, the uncertainty of its mean and its scatter from one shutting to
// the next). The probability that it drips is that of 0 < h < needed:
//
//	P = P(open) − Φ(−h/σ_h)
//
// where Φ(−h/σ_h) is the chance that no water reaches the seat (exact where the
// sealing head cannot be below zero, as of a real valve), and P(open) follows the
// valve's history. With a_j = (s − h_j)/σ and b_j = (l − h_j)/σ in case j,
//
//	never shut before:       P(open) = Φ(a_k)
//	surely shut before:      P(open) = Φ(b_k)
//	else:                    P(open) = min(Φ(a_k), Q)
//
// Q is the chance that no earlier shutting lasts: that for every j before k the
// shutting error is below a_j or the holding error below max(b_(j+1) … b_k). The
// shutting errors of a valve are taken as one in all cases, its holding errors as
// another; the error of the seat's level, which both share, is integrated over.
// This is our own derivation, no published one; it leans to the safe side (two
// tries to shut count as one), and a Monte Carlo run in the tests stands against it.
//
// That any valve drips is not a product of these: the datum moves all seats
// together. With z the common errors,
//
//	P(any) = 1 − ∫ Π_i (1 − P_i(z)) φ(z) dz
//
// with the levels of several pools integrated inside and roughness outside; a level
// that all stand under is one error with the datum. The trapezoid rule converges
// exponentially for such integrands (L. N. Trefethen, J. A. C. Weideman, The
// exponentially convergent trapezoidal rule, SIAM Review 56 (2014) 385–458); its
// step follows the steepest P_i. Own errors below 1/1000 of the largest common one
// are taken as that there.
//
// # Drawing
//
// [Draws] finds the same probabilities by drawing, for errors of any stated [Shape], with
// a threshold's scatter anew in each case, and over all cases together. Which error
// matters it tells twice. A margin is a sum of errors with constant factors: its
// variance has exact shares. For the event that any valve drips it gives first-order
// indices (I. M. Sobol', Math. Modelling and Computational Experiments 1 (1993) 407–414),
//
//	S_u = Var E(Y | X_u) / Var Y = Cov(Y, Y_u) / Var Y
//
// where Y_u is a second trial that shares the errors X_u alone with the first (pick and
// freeze; A. Saltelli et al., Computer Physics Communications 181 (2010) 259–270; estimator
// and standard error of A. Janon et al., ESAIM: P&S 18 (2014) 342–364; all three from memory). What is missing
// to a sum of 1 is errors acting together. Datum, levels and roughness are one
// kind each, and so are all seats' surveys, all benches, all scatters.
//
// Cells that stand off from every threshold by more than 8 standard deviations are
// settled before; 1e-15 is lost by that.
//
// # What is not known
//
// A threshold may be known only as a bound. "More than x" (never seen tight, x the
// highest head at which it was seen dripping): drips up to x, not known above.
// "Less than y" (tight at the first look): tight from y, not known below. A
// letting-go head that is not known, or known only as "more than", does not
// help: the valve is judged by its sealing head in every case, the safe side, and a
// note says so. Under suction nothing was measured: not known.
//
// # Where a leak ends
//
// [RestLevel] follows a pool that nothing refills: it falls to the lowest seat that
// leaks, and valves that held let go on the way.
//
// # Range of validity
//
// Steady and standing cases. A tank keeps its level unless [RestLevel] is asked.
// Thresholds hold for clean valves as they were on the bench.
package sealing
