// Package refilling answers what happens when a line that stands part empty, or empty, is started: water columns advance on the
// drained lengths, air leaves through the valves by their own curves, pockets are closed, and each last air ends in a slam.
//
// The motion is that of package column: rigid columns, air by mass. This package makes its network of a line, follows the run and
// says what each valve, pocket and limit comes to.
package refilling
