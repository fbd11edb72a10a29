// Package costing prices what it takes to hold air valves shut.
//
// [Solve] prices sealing head: for each valve of the rack put in one place, what it
// costs to hold that valve shut while the line pumps. [Compare] sets all ways out
// side by side over the life of the line.
//
// # Why it is not ρ g Q Δh/η
//
// More head moves the duty point: less flow, another efficiency, longer hours for
// the same volume a day. And where the summit is slack, the valve there is open now
// and the head is not Δh more than today's at the pump. So both states are solved,
// with the line's own pumps, and compared at equal daily volume:
//
//	T  = V/(3600·q)            hours a day for the day's volume V at the delivered flow q
//	E  = P·T·D/1000            kWh a year of D days at the electric power P of all stations
//	ΔC = (E − E_base)·c        a year, at c per kWh; may be negative
//	Δm = (E − E_base)·k        carbon a year, at k per kWh
//
// Solve does so once at fixed speed (the duty moves along the pumps' curve) and once
// with the speed found that keeps the base flow. Beside it stands the rule of thumb
//
//	P_rule = ρ g Q Δh/η,   Δh = s − h_now (0 where the head suffices)
//
// with the base flow Q, the base efficiency η from mains to water, the sealing head s
// and the head h_now at the seat as the line runs now, over the base hours.
//
// # The ways out
//
// A valve that shuts at less head; a sustaining valve, alone, with such a valve, or
// with pumps that keep the flow; a higher terminal level; larger pumps; the valve in
// another place; the pipe laid deeper ([Regrade]); the leak accepted. Set point,
// height, pump head, depth and place are found by asking the hydraulics: the smallest
// x with
//
//	m(x) = min over valves and cases of (h_seat − s) ≥ margin wanted
//
// m does not move until the slack length is gone and rises by about as much as x
// then. Each way has the volume of every case as it is now; hours follow.
//
// # Money
//
//	a  = (1 − (1+r)⁻ⁿ)/r        present value of 1 a year over n years at the rate r; n for r = 0
//	PV = I + C·a                whole-life value of an investment I and C a year
//	A  = PV/a                   the same as an equal sum a year
//	n* = −ln(1 − r·ΔI/S)/ln(1+r)   years after which savings S a year have paid for ΔI; ΔI/S for r = 0
//
// C is that of energy, carbon, water, call-outs and repairs above the line as it runs
// now, were it tight. Water lost that no refill brings back is pumped again, at
// E_base/(V·D) a m³. A way that lacks a price shows its physical figures, names what it
// lacks, and stands outside the order. The tornado moves one input at a time and
// reckons every way anew; the hydraulics are not asked again, since no lever changes
// them.
//
// The hydraulics are not here: [Input.Operate] solves the line with a required head
// at the valve's seat, [ComparisonInput.Operate] with a [Change].
//
// # Sources
//
// Hydraulic power ρ g Q H/η: Y. A. Cengel, J. M. Cimbala, Fluid Mechanics:
// Fundamentals and Applications, ch. 14. Duty point of a curve and a system:
// Hydraulic Institute, Engineering Data Book, "Pump fundamentals". Present value:
// E. P. DeGarmo, W. G. Sullivan, J. A. Bontadelli, Engineering Economy (from memory).
// An air valve at every high point: G. M. Fair, J. C. Geyer, D. A. Okun, Water and
// Wastewater Engineering, 3rd ed. 2010, p. 187.
//
// # Range of validity
//
// Steady running and rest; no demand charges. Of Solve: one place, one pumping case,
// one price of energy. Of Compare: one set point for all cases; nothing built is
// renewed within the life or worth anything after it; upkeep of what is built is not
// reckoned; prices do not rise. The rule of thumb equals the full reckoning where
// flow and efficiency do not change.
package costing
