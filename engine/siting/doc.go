// Package siting finds every place of a line that wants an air valve, says why, and
// holds the placed valves against them: placed, displaced, missing, superfluous.
//
// # Reasons
//
//	high-point         the obvert stands above the higher of the low points beside it
//	                   by the practice's prominence or more
//	grade-high-point   the same, measured down from the grade line of a flowing case
//	downslope-increase the pipe falls more steeply from here on, in the direction of flow
//	upslope-decrease   the pipe rises less steeply from here on
//	long-run           more than the practice's spacing without a place where air leaves
//	pump-discharge     a run begins at a pump station
//	isolating-valve    the pipe falls away from an isolating valve, on each side by itself
//	slack-end          a part-full length ends here in a flowing case
//
// Each reason carries its figure, the threshold it meets and the threshold's source.
//
// # Equations
//
// The prominence of a summit is its level less the highest low point that any way to
// higher ground must pass. It is found for all summits of the graph at once by
// flooding from the top with a union of neighbouring points (persistence of maxima:
// H. Edelsbrunner, J. Harer, Computational Topology, AMS 2010, sec. VII.1), so a
// summit at a node belongs to all runs that meet there. For the grade line the same
// is done with obvert less grade line.
//
// Slopes are rise over length of pipe (the sine). Before they are compared, the
// profile is reduced to points from which none of the others stands off by more than
// the tolerance (D. H. Douglas, T. K. Peucker, Cartographica 10 (1973) 112–122, with
// the offset measured in level), and then, the least first, of those that do not
// stand out by three tolerances from the chord over their two neighbours (the order
// of M. Visvalingam, J. D. Whyatt, Cartographic Journal 30 (1993) 46–51, with the
// offset in place of the area). What is left are straight legs; where the slope
// falls by the practice's number from one to the next is a break.
// The tolerance is twice the survey's independent uncertainty unless given.
//
// A summit reaches as far to both sides as the pipe stays within the tolerance
// below it: no survey tells where on such a crest the top is, and a valve anywhere on
// it serves.
//
// Candidates nearer than the practice's displacement are one, with all their reasons.
//
// # Air carried or left behind
//
// Straight legs of one direction end to end, from a summit to the next low point, are a
// falling leg; level ones between them belong to it, and it counts if it falls by
// more than the tolerance. It is cut into stretches of one slope and one bore. With
// V_r the critical velocity of relation r ([obvert/physics/pocket]), taken where the
// stretch lies in its range, and A the area of the bore,
//
//	Q_all  = max over stretches of max over r of V_r·A
//	Q_none = max over stretches of min over r of V_r·A
//
// The flow down the leg carries a pocket past all of it by all relations from Q_all on, and
// by none of them past its worst place below Q_none; in between, by some. The stretch
// that sets Q_all is shown with each relation's figure, and so is the leg's mean by length.
//
// A pocket that stays costs its length times the sine of the slope, in place of the
// friction of full pipe. The longest reaches from the leg's top to its foot or to the
// first air valve below the top. Stretches whose friction is as steep as the pipe are
// full and hold none; lengths that run part full in the case already are not counted
// again in the extra head.
//
// # Sources
//
// AWWA Manual M51 lists these places (from memory). Every summit: USDA Bulletin
// "Wood Pipe for Conveying Irrigation Water", p. 15; Fair, Geyer and Okun's Water and
// Wastewater Engineering, 3rd ed. 2010, p. 187. Shut-off valves: MIL-HDBK-1005/7A,
// 7.2.5. The numbers come with [obvert/line.Practice].
//
// # Range of validity
//
// Where air gathers by the shape of the pipe, and by steady flow. Legs are those of
// single runs: one that goes on across a node is told in two parts. Whether a line
// still delivers with its pockets in place is not judged here.
package siting
