// Package costing prices sealing head: what it takes, for each valve of the rack put
// in one place, to hold that valve shut while the line pumps.
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
// once at fixed speed (the duty moves along the pumps' curve) and once with the speed
// found that keeps the base flow. Beside it stands the rule of thumb
//
//	P_rule = ρ g Q Δh/η,   Δh = s − h_now (0 where the head suffices)
//
// with the base flow Q, the base efficiency η from mains to water, the sealing head s
// and the head h_now at the seat as the line runs now, over the base hours.
//
// The hydraulics are not here: [Input.Operate] solves the line with a required head
// at the valve's seat and gives flow, head and power.
//
// # Sources
//
// Hydraulic power ρ g Q H/η: Y. A. Cengel, J. M. Cimbala, Fluid Mechanics:
// Fundamentals and Applications, ch. 14. Duty point of a curve and a system:
// Hydraulic Institute, Engineering Data Book, "Pump fundamentals".
//
// # Range of validity
//
// One place, one pumping case, constant tariff. Other ways to find the head (a
// sustaining valve, a higher terminal level, another place) and whole-life value are
// not reckoned here. The rule of thumb equals the full reckoning where flow and
// efficiency do not change.
package costing
