package siting

import "obvert/physics/pocket"

// Leg is a run's pipe between a summit and the next low point. Levels within the tolerance are taken as survey error, so
// it may hold small rises.
type Leg struct {
	Run       int
	From, To  float64 `unit:"m"` // chainage of its top and of its foot
	Down      int8    // +1: it falls with the chainage; −1: against it
	Length    float64 `unit:"m"` // of pipe
	Fall      float64 `unit:"m"` // from top to foot
	Stretches int     // straight stretches of one bore that it was split into
	Worst     Stretch // the one in which the strictest relation asks for the largest flow
	Mean      Stretch // as if the whole leg had its mean slope and its mean bore, both by length
	// PocketTo is the chainage of the lower end of the longest pocket that may stand: the leg's foot, or the first air valve
	// below its top.
	PocketTo    float64   `unit:"m"`
	PocketValve string    // that valve, or empty
	TopValve    string    // an air valve at its top, through which a pocket may leave that creeps up; or empty
	Cases       []LegCase // by flowing case
}

// Stretch is a straight stretch of one bore.
type Stretch struct {
	From, To float64          `unit:"m"` // chainage, upper end first
	Length   float64          `unit:"m"` // of pipe
	Slope    float64          `unit:"1"` // fall over length of pipe: the sine
	Bore     float64          `unit:"m"`
	Critical pocket.Criticals // velocities, by [pocket.Relations]
}

// LegCase is a leg in a flowing case.
type LegCase struct {
	Case         int     // index into the line's cases
	Velocity     float64 `unit:"m/s"` // down the leg, in the bore of its worst stretch; negative where water flows up
	MeanVelocity float64 `unit:"m/s"` // the same in its mean bore
	// Carried is the verdict for the whole leg: of all its stretches the worst. Mean is that of the mean stretch. Both mean
	// something only with Down.
	Carried pocket.Carried
	Mean    pocket.Carried
	Down    bool    // water flows down the leg; else air rises with it, or nothing flows
	Slack   float64 `unit:"m"` // length of the leg that already runs part full in this case
	Longest Pocket  // the longest pocket that may stand, from top to PocketTo
	Stated  Pocket  // one of the stated volume, from the top of the worst stretch down, cut at the leg's foot
}

// Pocket is what a stationary pocket costs. It is all 0 where none can stand: water flows up the leg, stands still, or is
// carried by all relations; or the full bore's friction is steeper than the pipe, so that no free surface can run under it.
type Pocket struct {
	Stands bool    // it may stand, by one relation or more
	Volume float64 `unit:"m³"` // at the pipe's pressure, over water at its normal depth
	Length float64 `unit:"m"`  // of pipe that it takes
	Head   float64 `unit:"m"`  // by which the grade line falls along it
	Extra  float64 `unit:"m"`  // Head less the friction of full pipe, where the case does not run part full there already
}
