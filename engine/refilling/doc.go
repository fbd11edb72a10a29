// Package refilling answers what happens when a line that stands part empty, or empty, is started: water columns advance on the
// drained lengths, air leaves through the valves by their own curves, pockets are closed, and each last air ends in a slam.
//
// The motion is that of package column: rigid columns, air by mass. This package makes its network of a line and a case, follows the run, and
// says what each valve, pocket and limit comes to. [Solve] follows one start; [LargestStart] looks for the largest start flow that keeps every
// limit, and names the limit that binds.
//
// # What is taken
//
//   - A station rises to its throttled flow, or to full speed by affinity, within the ramp; a throttle holds its flow as far as the pumps'
//     curve gives the head. Without a running station the highest tank feeds the line, throttled where a start flow is given.
//   - A booster starts when water stands at it, gives way as its suction falls from 2.5 to 0.5 m, and holds the start flow (assumptions, no source).
//   - In a line that stands empty, tanks that do not feed it are open ends.
//   - Closed isolating valves cut the line; sustaining, reducing and flow-control valves are open with their own loss. Each is noted.
//   - An air valve's large orifice stands open until water reaches it, a stage throttles from its differential, air carries the float shut
//     from the early-closing differential; both let go at a tenth of it, or at the letting-go pressure where that is known (an assumption, no source).
//     Once shut, the small orifice is what still passes water.
//   - A valve that stands less than half a bore below its crest counts as on it.
//
// # Checked by
//
// Water and air balances (Result.Balance), the share of a column's time scale over that of a wave (Result.RigidIndex), and the answers at n = 1.0
// and 1.4 (Result.Thermal).
//
// # Range of validity
//
// That of package column. Slams are those of the instant when the last air leaves: what the waves do afterwards is the surge engine's.
package refilling
