// Package grade finds the steady flow and the hydraulic grade line of a line in one operating case; for a line at
// rest, the pools of water in it; and for a day, how levels, pumps, energy and cost go by the hour (SolveDay).
//
// # Flow
//
// The unknowns are the head of every node and the flow of every element (run, pump, station passed at rest). Each node
// balances its flows; each element has a law, a residual r(Q, Hu, Hd) that falls with its flow Q and is zero at the solution.
// For a run, walking from its downstream end up,
//
//	D(n) = Hd,  D(i) = max(b(i), D(i+1) + loss(i → i+1, Q)),  r = Hu − D(0),
//
// where b(i) is the least head that point i can have: the obvert where air can reach it, the obvert less
// (p_atm − p_v)/(ρ g) elsewhere, the setting of a sustaining valve. So at every point the head above its bound and the head
// lost in the part-full leg below it are both ≥ 0 and one of the two is zero. Where the bound holds, the flow is set by what lies
// upstream of it alone. A check valve, a pump's own check valve and a crest that neither side can reach give Q ≥ 0 ⟂ r ≤ 0.
//
// A flow-control valve gives Q ≤ setting ⟂ head it takes ≥ 0; a drive that holds a flow or a head, the middle one of its pumps' laws at the slowest and the fastest
// speed and of what is missing; air trapped in a falling leg, a loss of the leg's fall for water that flows down it.
//
// All laws are monotone, so the solution is one, whatever the first guess. Newton's method on heads and flows together
// (Todini and Pilati's elimination of the flows, from memory) leaves one sparse matrix of the size of the nodes; where a bound holds it is not
// symmetric.
//
// Air spreads along the pipe from where it enters (an air valve that admits it, an open end) through every length whose
// head would fall below the obvert, and the solution is repeated with the bound raised there. The set of such places only grows. It is followed
// point by point against the flow, for each point let in raises the heads above it; in runs without flow it is that of the water at rest.
//
// # Rest
//
// The level of standing water at a place is the least, over all ways from there to an outlet, of the highest barrier on
// the way: the invert where air can enter, the invert less (p_atm − p_v)/(ρ g) where it cannot (both sides then hang
// together as a siphon). Outlets are outfalls, tanks and stations without a check valve; check valves are passed one way, closed valves not
// at all. It is a shortest-path problem with the maximum in place of the sum (Pollack 1960, "The maximum capacity through
// a network", Operations Research 8(5), from memory), solved from the outlets by Dijkstra's method.
//
// A sustaining valve is a barrier at its setting for what flows as it faces; a reducing valve feeds up to its setting and lets nothing back; both are taken to
// shut tight. A body with no way out stands full to its highest point, or at the level of what feeds it one way where that is higher.
//
// # Day
//
// Levels of tanks by Heun's method between hours, prices, starts, stops and tank limits; every flow in between is a steady one. Volumes are means of the same states, so
// water balances exactly but for what each flow misses. Off-takes draw what they ask for while the grade line stands above the pipe; an empty tank gives what comes.
//
// # Range
//
// Pressure heads are at the obvert. Nodes carry the head of energy; in the pipe the grade line stands v²/2g below it. Entry and exit
// losses are left out unless a local loss is given. Part-full
// lengths carry what comes: their own depth is not reckoned. Air is taken to climb against the flow; at velocities above the critical
// one it would be carried down.
package grade
