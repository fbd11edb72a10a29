// Package column follows rigid columns of water and the air between them through a network of pipes: filling and starting a line that
// stands part empty, and emptying one.
//
// # Bodies
//
// Each pipe is divided into lengths full of water and lengths full of air. A leg is a length of water between two ends; an end is a node,
// a front that moves, or a front held at a crest. A pocket is air that hangs together, through dry nodes too. Fronts are square to the
// pipe. Their unknown is the volume of the pipe up to them, so that the water's volume is kept whatever the bores.
//
// # Equations
//
//	I dQ/dt = Ea − Eb − h(Q),  I = ∫ dx/(g A)          a leg; E heads of energy at its ends, h friction and local losses
//	E = z + (p − pa)/(ρ g) + Q²/(2 g A²)               at a front; at a held one z is the invert
//	dw/dt = Q ± S                                      a front; S is what spills onto it
//	Σ s dQ/dt = 0                                      a junction in water: its head is solved for
//	p = c·(m/V)^n                                      a pocket; n 1 (isothermal) to 1.4 (adiabatic), 1.2 unless told
//	dm/dt = −Σ ṁ(p)                                    through its air valves, each by its own curves
//	dρ/dt = (−Σ ṁ − ρ dV/dt)/V                         what is integrated: it stays smooth while m and V go to nothing
//
// # At a crest
//
// Water that comes to a crest with air beyond does not run on as a plug, unless [Network.Carries] says that its velocity carries the air
// along: it spills. The front stays at the crest, the water runs down beneath the air and is added to the next body of water below, or gathers at the
// low point as a puddle until it closes the bore there. The body below rises and drives the air back to the valve at the crest. Where it
// comes to the crest the last air has gone: the two columns become one, momentum is shared, and the sudden rise of head is
//
//	Δh = (ΣQ − CdA √(2 g h₂)) / Σ(g A/a)               ΣQ what comes less what goes on: a·ΔV/2g in mid-line, a·V/g at a dead end
//
// # Plugs, tees, tanks
//
// A plug shorter than two bores does not close the pipe: air breaks through it and its water runs down. Air that is pushed to a tank blows out against
// its depth; to a tee, enters it where nothing else brings water there, else goes on as bubbles and is booked as carried. While a valve
// draws air in, water passes beneath the air.
//
// # Numbers
//
// The unknowns of what moves are solved by [obvert/num.Rosenbrock], banded in the order in which the bodies lie, from event to event: a front at a
// valve, a crest, an end; a pocket or a leg that ends; a stage or a float that switches; a check valve. A body at rest stays at rest, and costs nothing,
// until the heads at its ends differ by [Settings.RestHead]. Water is kept to rounding by the method, and the result gives the balance; air likewise.
//
// # Sources
//
//   - C. S. Martin, Entrapped air in pipelines, 2nd Int. Conf. Pressure Surges, BHRA 1976, F2 (trapped pocket; from memory).
//   - C. P. Liou, W. A. Hunt, J. Hydraul. Eng. 122(10) (1996) 534 (filling with a rigid column; from memory).
//   - F. Zhou, F. E. Hicks, P. M. Steffler, J. Hydraul. Eng. 128(6) (2002) 625; G. De Martino, N. Fontana, M. Giugni, J. Hydraul. Eng. 134(9)
//     (2008) 1395 (air through an orifice, cushion and hammer; abstracts).
//   - S. Lingireddy, D. J. Wood, N. Zloczower, J. AWWA 96(7) (2004) (slam of the last air; abstract).
//   - N. Joukowsky 1898, for Δh = a ΔV/g.
//
// # Range of validity
//
// Columns long against their bores, and changes slow against the travel of a pressure wave (see [Moment.TimeScale]). Not here: the time
// that water takes down a slope, the wedge of a front where the pipe rises less than a bore in some fifty, air drawn into the water, waves
// between two meetings, columns that part at vapour pressure (noted). What enters a junction of three or more pipes loses its velocity head.
package column
