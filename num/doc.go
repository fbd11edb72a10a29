// Package num holds the numerical methods that the physics and the engines
// share: one helper that owns an iteration's stop test, roots of one equation,
// curves through points, integrals over a normal error, least squares.
//
// # Iterations
//
// Every iteration in Obvert runs through [Loop]. It counts, it knows the limit,
// it decides when to stop, and it says afterwards what happened: [Outcome] with
// a [Status]. A result that did not converge leaves with its label, never
// without.
//
// # Roots
//
//   - [Root]: Brent's method on a bracket (R. P. Brent, Algorithms for
//     Minimization without Derivatives, 1973, ch. 4): bisection, secant and
//     inverse quadratic steps; never more than a few times the work of bisection.
//   - [Newton]: Newton's step where it stays inside the bracket and at least
//     halves the last but one, bisection otherwise (Press et al., Numerical
//     Recipes, 3rd ed. 2007, sec. 9.4).
//   - [Bracket] and [Brackets]: where the sign changes.
//
// # Curves
//
// [Linear] and [Monotone] go through points with strictly increasing x.
// Monotone is the cubic Hermite curve of F. N. Fritsch and R. E. Carlson,
// Monotone piecewise cubic interpolation, SIAM J. Numer. Anal. 17 (1980) 238:
// it rises only where the data rise and falls only where they fall.
// Outside its points a curve answers with a [Place] that says so.
//
// # Normal errors
//
// [NormalNodes] are Gauss–Hermite nodes and weights for the mean of a function
// of a standard normal variable (G. H. Golub and J. H. Welsch, Calculation of
// Gauss quadrature rules, Math. Comp. 23 (1969) 221); [NormalCDF] and
// [NormalQuantile] are the distribution itself.
//
// # Least squares
//
// [LeastSquares] fits a small linear model by QR factorisation and gives the
// covariance of its coefficients (as in JCGM 100:2008, annex H.3).
//
// # Sparse flow balances
//
// [Sparse] factors the Jacobian of a flow balance on a graph, LU in a
// minimum-degree order.
//
// # Initial value problems
//
//   - [DormandPrince]: not stiff; explicit, order 5(4), with a continuous solution
//     (J. R. Dormand, P. J. Prince, J. Comp. Appl. Math. 6 (1980) 19).
//   - [Rosenbrock]: stiff; linearly implicit, order 3(2), L-stable, full or banded
//     (J. Rang, L. Angermann, BIT 45 (2005) 761).
//
// Both stop at events, found on the continuous solution, and say how they ended
// in a [Ride].
//
// # Range of validity
//
// All functions take and return finite float64. A function under study that
// returns NaN or an infinity ends the iteration with [NotFinite]; no function
// of this package returns NaN for finite arguments.
package num
