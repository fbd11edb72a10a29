// Package draining follows the stopped line in time: what drains through valves that leak, through open scours and through a burst; how far,
// how fast, when it ends, what the pits receive, and how much air must come in.
//
// # Leaks: water that stands level
//
// Leaks are so small that every body of water is level. As the level h of a body sinks it falls into parts: a tree, made once by sweeping the
// level up and joining what hangs together (union–find; leaves are sags, inner nodes crests). Water parts at a vertex when h comes down to
//
//	b = min(z_i, max(a, z_i − h_v)),   h_v = (p_atm − p_v)/ρg
//
// with z_i the invert and a the level below which air stands there: the greatest, over all ways from a place where air can come in, of the
// lowest obvert on the way. So a crest that air reaches parts at its invert; one that none reaches hangs as a siphon until it parts under
// vapour; and where the level comes to the obvert of the sag that held the air back, the level stands while the column behind comes down.
//
// Volume and surface are functions of the level alone, exact by circular segments: V(h) and A(h) = dV/dh. Between events
//
//	t = ∫ A/(Σq − q_in) dh,   V_i = ∫ q_i A/(Σq − q_in) dh
//
// so that volumes are exact and the quadrature (Gauss, four points, panels halved until two agree) weighs 1/q alone. A linear leak gives
// t = (A/k) ln(x₀/x₁), which never ends: a body has stopped where its leak is below [Input].StoppedLeak.
//
// Valves that were shut hold down to their letting-go head, drip by their leak curve, and open to air at their seat. Check valves and idle
// pumps join bodies on a common clock: the lower side is fed from when its level has come down to the upper's for as long as it would by
// itself fall faster.
//
// # Openings: water that moves
//
// The water is columns that fill the bore between surfaces, told by volume; water that passes a crest or a valve under air runs down to the
// next column. At each step
//
//	H₀ − H₁ = Σ S(Q) L + Σ K Q|Q| + (L/gA) dQ/dt         each column; the last term with Input.Inertia
//	ΣQ = 0                                              each joint
//	p V = m R T, dm/dt by the valves' curves at p        air that hangs together; shut in: p Vⁿ constant
//	H − z = Q²/(2g C² A²)                               a hole; a broken end recovers the velocity head of its pipe
//
// are solved together. Water parts where its head would fall below the obvert at a valve that admits air, or to water's vapour elsewhere.
//
// # Sources
//
//   - M. Pollack, Operations Research 8 (1960) 733: paths of greatest capacity (from memory).
//   - E. Todini, S. Pilati (1988): flows eliminated from Newton's method on a network (from memory).
//   - F. N. Fritsch, R. E. Carlson, SIAM J. Numer. Anal. 17 (1980) 238: monotone cubics.
//   - Test cases: Çengel & Cimbala, Natarajan, Sarkar, Lal, Paradise, Schaschke, Choudhary; a measured vertical pipe (Georgia Institute of
//     Technology, 2002).
//
// # Range
//
// Leaks: friction, the water's elasticity and the tapping's volume are left out; dissolved air, which lets hanging columns down in time, too.
// A reducing valve passes water to its lower side as a check valve does, its setting left out. After a column has parted under vapour each side
// is followed by itself. Openings: the bore is full between surfaces (no part-full flow, which is slower in flat pipes); air is at the
// outside's temperature; leaks of valves are left out; pumps stand still.
package draining
