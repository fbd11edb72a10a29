// Package sizing finds how much air each place of a line must take in and let out, how big an opening that needs, and
// whether the valve placed there, or which of the rack, gives it.
//
// # Duties
//
//	draining            air in: the peak flow while the line is emptied, or practice's drain velocity in the largest bore beside
//	full-bore burst     air in: each falling leg by itself, the larger counts; never the sum
//	partial burst       air in: a hole as an orifice under its head, not more than the leg brings
//	column separation   air in: the flow stops upstream and the column beyond runs on, a steady bound
//	filling             air out: the filling flow
//
// # Equations
//
// A leg that breaks at a distance L below the place, with a drop F to there, runs at the flow q at which friction takes up the
// drop, and not faster than the drop can set moving:
//
//	Σ L_i·S_i(q) = F,   q ≤ A·√(2gF)
//
// and the break that draws most counts. A suction at the place would slow it: that is left out, on the safe side.
// A leg that rises from the place may go on bringing water, which then comes off (Fair, Geyer and Okun's case of a grade that
// steepens). A hole draws Cd·A·√(2gH).
//
// The air that takes the water's place, ṁ, on one of three bases, p = p₀ ± Δp being the pressure in the pipe:
//
//	free air     q·ρ₀                  ρ₀ = p₀/(R·T₀), dry air at the site's atmosphere and air temperature
//	pipe air     q·ρ₀·(p/p₀)           at the pressure in the pipe, isothermal
//	cooled air   q·ρ₀·(p/p₀)^(1/γ)     at the pressure in the pipe, isentropic
//
// Free air asks for the larger opening going in, pipe air going out; the default takes the larger either way, and each duty
// shows all three. The opening is the isentropic one of package opening.
//
// The vacuum allowed is the smallest of practice's rule, of what the weakest wall on the legs stands over its safety factor, and of
// what the atmosphere can give; the pressure while filling the smaller of the rule and the differential at which
// the valve is carried shut. A valve is held to the largest flow it passes up to there: with an anti-slam stage that may be just
// before it switches.
//
// Air released under pressure, per volume of water: by solubility the difference between what water holds at its source and at the
// lowest pressure here, by the rule a fixed share. Both are shown, the larger counts, at the smallest working pressure at the seat.
//
// Slam as the last air leaves is a·V/2g in mid-line and a·V/g at a dead end. It limits how fast a line may be filled, not the size of
// a valve, and is told by itself.
//
// # Identity
//
// Every needed flow is fed back through the opening of the diameter found; Result.Closure is the largest relative difference.
//
// # Sources
//
// AWWA Manual M51 for the duties, the differentials and the two-per-cent rule, from memory. G. M. Fair, J. C. Geyer, D. A. Okun, Water
// and Wastewater Engineering, vol. 1 (1966), Ex. 12.4. Collapse and wave speed: package pipe. Solubility: package water.
//
// # Range of validity
//
// Steady flows: a surge run shows less at a separation, a draining followed in time more detail. Summits one by one. Dry air, one
// coefficient for all differentials where a record gives no curve. Walls elastic; a vacuum that lasts on a plastic wall has a note.
package sizing
