// Package pump is what a rotodynamic pump does: head, efficiency and required
// NPSH by flow, at any speed and impeller trim, alone and in parallel, and the
// power it takes.
//
// # Head by flow
//
// [NewCurve] goes through every point given:
//
//   - two points: H = H₀ − a Q², the form a pump's curve has where swirl at
//     entry and shock losses are small (common practice, no source);
//   - three points: H = H₀ + a Q + b Q² where that falls throughout;
//   - otherwise: the monotone cubic of Fritsch and Carlson (package num).
//
// One point is refused: it tells nothing of the slope. Outside the points a
// curve goes on by rules that keep it continuous, with its slope, and falling,
// and [Curve.Place] says where that happens:
//
//   - beyond the last point the slope steepens in proportion to the flow, as it
//     does for H₀ − a Q²;
//   - between no flow and a first point above it, likewise;
//   - at reverse flow (a running pump through which others, behind one shared
//     check valve, push water back) head rises with the square of the flow, to
//     shut-off head and as much again at the last point's flow turned round. Four-quadrant diagrams of radial
//     pumps show head of that order (from memory); it is steep enough to keep
//     such flows small and no basis for a transient.
//
// A curve that rises throughout, or at its upper end, is a fault. One that
// droops at low flow is taken, with a note that names the flows at which one
// head has two duties.
//
// # Affinity
//
// Q ~ n D³, H ~ n² D², P ~ ρ n³ D⁵ between similar pumps; a trim of the impeller
// in the same casing goes as Q ~ D, H ~ D² (Hydraulic Institute, Engineering
// Data Book, pump fundamentals). Efficiency is taken as equal at corresponding
// flows: good within some 20 % of speed and 10 % of trim (common practice, no
// source), optimistic beyond.
//
// # Power and suction
//
// Shaft power ρ g Q H/η, electric power that over the efficiency of motor and
// drive. NPSH available is absolute head at the impeller's eye less vapour
// pressure head.
//
// # Range of validity
//
// Steady pumping of clean water by rotodynamic pumps. No positive displacement
// pumps, no viscous corrections. An efficiency that is not known is for the
// caller to assume, and to say so.
package pump
