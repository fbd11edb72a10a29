package column

// Status says how a run ended.
type Status uint8

// The ways a run may end.
const (
	Full         Status = iota // no air is left that water could reach
	Slack                      // steady, with air that stays below a crest whose valve stands open
	AirLeft                    // steady, with trapped air that the water passes
	AirBound                   // nothing moves any more, and trapped air is left
	AtRest                     // nothing moves any more: what drives the water cannot lift it farther
	OutOfTime                  // the horizon was reached first
	TooManyTurns               // more events than allowed: the last state is given
	Stopped                    // by the observer
	Stuck                      // the step of the integration became too small
	Cycling                    // water comes and goes at one place again and again: the last state is given
)

// String is the word for a status.
func (s Status) String() string {
	return [...]string{"full", "steady with slack lengths", "steady with trapped air", "air-bound", "at rest", "horizon reached",
		"too many events", "stopped", "step too small", "in a cycle"}[s]
}

// Kind says what happened.
type Kind uint8

// What may happen.
const (
	ValveWet     Kind = iota // water reached an air valve and shut it
	ValveDry                 // water left an air valve
	ValveEarly               // air carried a float shut
	ValveReopens             // it fell again
	StageOn                  // an anti-slam stage throttles
	StageOff                 // and opens again
	Spills                   // water has reached a crest and runs down beyond it
	Pools                    // water closed a low point
	LastAir                  // two columns met, or one met a closed end
	Trapped                  // the last way out of a pocket was shut while air was in it
	MovesOn                  // a pocket was pushed past a low point
	Delivers                 // water came to an open end or a tank
	NodeWet                  // water came to a node where pipes meet
	CheckShut                // a check valve shut
	CheckOpen                // and opened
	Parts                    // a full pipe parted where a valve admits air
	Clears                   // a length of water was used up
)

// String is a short name for what happened.
func (k Kind) String() string {
	return [...]string{"valve wet", "valve dry", "valve shut early", "valve reopens", "stage on", "stage off", "spills", "pools", "last air",
		"trapped", "moves on", "delivers", "node wet", "check valve shut", "check valve open", "parts", "clears"}[k]
}

// Event is something that happened.
type Event struct {
	Time     float64 `unit:"s"`
	Kind     Kind
	Pipe     int
	Distance float64 `unit:"m"`
	Vent     int     // index into the pipe's vents, −1 where none is meant
	Pressure float64 `unit:"Pa"` // gauge, of the air concerned
	Air      float64 `unit:"kg"` // mass of the air concerned
	Volume   float64 `unit:"m³"` // its volume
	Number   int     // of its pocket, as in [Pocket]; 0 for none
}

// Meeting is the instant at which the last air of a pocket has gone.
type Meeting struct {
	Time     float64 `unit:"s"`
	Pipe     int
	Distance float64 `unit:"m"`
	Vent     int     // the vent at that place, −1 for none
	Before   float64 `unit:"m/s"` // velocity of the column on the side of the pipe's beginning, positive towards its end
	After    float64 `unit:"m/s"` // velocity of the column on the other side
	Shared   float64 `unit:"m/s"` // of both once they are one
	DeadEnd  bool    // one of the two is a closed end
	Head     float64 `unit:"m"` // gauge, of the last air
	// Sealed is the sudden rise of head where nothing passes the valve once it is shut; Slam that with its residual opening.
	Sealed float64 `unit:"m"`
	Slam   float64 `unit:"m"`
	// Passes is what the residual opening then lets out.
	Passes   float64 `unit:"m³/s"`
	Pressure float64 `unit:"Pa"` // gauge, at the place, with Slam
	// Worst is the largest pressure with Slam over the two columns, gauge, by the grade line before they met; WorstShare is the
	// largest share of a section's rating that it takes (0 where no rating is known), at WorstPipe and WorstDistance.
	Worst         float64 `unit:"Pa"`
	WorstShare    float64 `unit:"1"`
	WorstPipe     int
	WorstDistance float64 `unit:"m"`
	Left          float64 `unit:"kg"` // air that was still there and goes with the water
}

// VentRecord is what passed through one vent.
type VentRecord struct {
	Out, In  float64 `unit:"kg"` // of air
	Largest  float64 `unit:"Pa"` // differential of air flowing out
	Suction  float64 `unit:"Pa"` // largest differential of air flowing in
	Wet      bool    // at the end
	WetSince float64 `unit:"s"`
	Early    bool    // was shut by air at some time
	Staged   bool    // its stage throttled at some time
}

// Pocket is a body of air at the end of a run.
type Pocket struct {
	Pipe     int
	From, To float64 `unit:"m"`  // the longest stretch of it on that pipe, distance
	Volume   float64 `unit:"m³"` // of all of it
	Pressure float64 `unit:"Pa"` // gauge
	Mass     float64 `unit:"kg"`
	Open     bool    // to the atmosphere at a pipe's end
	Vented   bool    // a valve stands open to it
	Number   int     // the same for one pocket throughout a run
}

// Balance is what came, went and stayed.
type Balance struct {
	WaterIn    float64 `unit:"m³"` // from tanks, stations
	WaterOut   float64 `unit:"m³"` // to tanks, outlets, off-takes, holes
	Stored     float64 `unit:"m³"` // more in the pipes than before
	WaterError float64 `unit:"1"`  // of the volume moved, or of a thousandth of what there was where that is more
	AirIn      float64 `unit:"kg"`
	AirOut     float64 `unit:"kg"` // through vents
	AirVented  float64 `unit:"kg"` // through open ends, holes
	AirCarried float64 `unit:"kg"` // left behind in the water when pockets were closed
	AirStored  float64 `unit:"kg"` // more in pockets than before
	AirError   float64 `unit:"1"`  // of the mass moved, or of a thousandth of what there was where that is more
}

// Result is how a run went.
type Result struct {
	Status   Status
	Time     float64 `unit:"s"` // at its end
	Events   []Event
	Meetings []Meeting
	Vents    [][]VentRecord // by pipe, by vent
	Water    []Water        // at the end
	Pockets  []Pocket       // at the end
	Delivery float64        `unit:"s"` // time at which water first left at an outlet or tank; 0 where it did not
	Balance  Balance
	Steps    int
	Airs     []AirRecord // every closed-in pocket, in the order in which they were closed in
	Lowest   float64     `unit:"m"` // smallest gauge head at a wet air valve's place while water moved
	Notes    []string    // ids of what limits the answer, each once
	Flat     Flat        // with NoteFlat
}

// Flat is the longest stretch, all of it rising or all falling, over which a front came and which rises or falls by less than a bore: the front's wedge is longer than it.
type Flat struct {
	Pipe     int
	Distance float64 `unit:"m"`
	Slope    float64 `unit:"1"` // rise per length of the stretch
	Wedge    float64 `unit:"m"` // bore over slope, at most the pipe
	Travel   float64 `unit:"m"` // length of the stretch
}

// AirRecord is the life of one pocket.
type AirRecord struct {
	Pipe     int
	Distance float64      `unit:"m"`  // of its highest place when it was first seen
	Born     float64      `unit:"s"`  //
	Gone     float64      `unit:"s"`  // time at which it was no more; 0 where it stays
	Peak     float64      `unit:"Pa"` // largest pressure, gauge
	PeakTime float64      `unit:"s"`
	Least    float64      `unit:"Pa"`   // smallest pressure, gauge
	Trace    [][2]float64 `unit:"s,Pa"` // time and gauge pressure, thinned
	Number   int          // of [Pocket]
}
