// Package pipe is what a pipe does to water: its sizes by standard, friction,
// local losses, the geometry of a part-full bore, the speed of pressure waves
// in it, and the vacuum its wall bears.
//
// # Friction
//
// Darcy–Weisbach, S = f/D·v²/2g, with
//
//	f = 64/Re                                        Re ≤ 2000
//	1/√f = −2 log10( (k/D)/3.7 + 2.51/(Re √f) )      Re ≥ 4000
//
// (J. L. M. Poiseuille and G. Hagen; C. F. Colebrook, J. Inst. Civ. Eng. 11
// (1939) 133). Colebrook–White is solved to machine precision, not
// approximated. Between Re 2000 and 4000 nature offers no law; here head loss
// is the cubic in the flow that meets both branches in value and slope, so
// that it rises throughout and Newton's method can walk through it. Or
// Hazen–Williams, v = 0.849 C R^0.63 S^0.54. See [Law].
//
// # Local losses
//
// h = K v|v|/2g, with a short table of K ([Fittings]) and Borda–Carnot
// ([Enlargement]).
//
// # Sizes
//
// [Lookup] finds a pipe by its standard name, such as "EN 545 K9 DN 300", with
// outside diameter, wall, lining, bore, rating where the standard gives one, and
// a typical roughness marked as assumed. [Names] lists them.
//
// # Part-full bores
//
// Area, width and wetted perimeter by depth ([SegmentArea] and its neighbours),
// and the volume of a sloped pipe cut by a level water surface in closed form
// ([WedgeVolume], [StandingVolume]).
//
// # Walls
//
// A [Shell] is the bearing wall; [MaterialOf] gives its modulus and Poisson's
// ratio by the material's name. [WaveSpeed]:
//
//	a = 1/√( ρ_m·( (1 − α)/K + α/(n·p) + c·D/(E·t) ) )
//
// with c by the pipe's [Restraint] and α the share of free gas. [Collapse]:
//
//	P = 2E/(1−ν²)·(t/D)³                         free-standing, and its kin by [Form]
//	q = 1/F·√(32 R_w B′ E′ EI/D³) − loads        buried, AWWA Manual M11
//
// Which D: the bore for the wave speed, the mean diameter for the free-standing
// pipe (the outside one where the form says so), the outside one for the buried.
//
// # Range of validity
//
// Colebrook–White: water and other Newtonian liquids in circular full bores,
// k/D up to 0.05 (the end of Moody's chart; computed, not supported, beyond).
// Hazen–Williams: water near 15 °C, about 0.3 to 3 m/s, bores above 50 mm
// (common practice). Friction: steady flow, no free gas. Wave speed: gas evenly
// spread, waves long against its bubbles; a wall without creep. Collapse:
// elastic, D/t above 10; buried with a cover of 1.2 to 24 m.
package pipe
