package draining

// Status says how a draining ended.
type Status uint8

// The ways a draining ends.
const (
	NoLeak         Status = iota // no valve leaks: nothing moves
	StoppedLeaking               // every leak came to its end
	Drained                      // nothing is left above the opening
	HorizonReached               // water still leaves at the horizon
	GoesOn                       // what feeds the leak never ends
	NotKnown                     // a leak is not known, so neither is its end
	LimitReached                 // the most steps were made before the end and the horizon
)

// String is the word for a status.
func (s Status) String() string {
	return [...]string{"no leak", "stopped leaking", "drained", "horizon reached", "goes on for ever", "not known", "limit of steps reached"}[s]
}

// ValveState is what a valve does at a moment.
type ValveState uint8

// The states of a valve.
const (
	Tight    ValveState = iota // shut and drip-tight
	Drips                      // water at its seat and not shut
	Open                       // it admits air, or stands in air
	Dry                        // no water stood at it from the start, or its isolating valve is shut
	Sucks                      // under suction, and admits no air
	NoRecord                   // water at its seat, and its leak is not known
)

// String is the word for a state.
func (s ValveState) String() string {
	return [...]string{"tight", "drips", "open", "empty", "under suction", "not known"}[s]
}

// Note is a remark on a result, with a stable id.
type Note struct {
	ID    string // such as "draining.no-curve"
	Where string
	Text  string
}

// Sample is a valve at a moment.
type Sample struct {
	Time float64 `unit:"s"`
	Head float64 `unit:"m"`    // gauge, at the seat, 0 in air
	Leak float64 `unit:"m³/s"` // of water
}

// ValveResult is one valve over the time followed.
type ValveResult struct {
	Name      string
	Run       int
	Chainage  float64 `unit:"m"`
	Placed    int
	Record    int
	Seat      float64 `unit:"m"` // level of the seat above datum
	AdmitsAir bool

	Start, End  ValveState
	Series      []Sample // by rising time
	FirstLeak   float64  `unit:"m³/s"` // at the moment it begins to leak
	LargestLeak float64  `unit:"m³/s"`
	Total       float64  `unit:"m³"` // of water lost through it
	LetsGo      float64  `unit:"s"`  // when it let go; with HasLetGo
	HasLetGo    bool
	Opens       float64 `unit:"s"` // when it opened to air; with HasOpened
	HasOpened   bool
	LastLeak    float64 `unit:"s"` // when it leaked for the last time

	// Ends tells that its seat is the lowest leaking one of its body, and so sets where that body ends.
	Ends bool

	// Air through it, and the vacuum there.
	AirIn      float64 `unit:"kg"`   // taken in
	AirPeak    float64 `unit:"kg/s"` // largest
	FreePeak   float64 `unit:"m³/s"` // the same, as air outside (site's pressure and temperature)
	PeakTime   float64 `unit:"s"`
	Vacuum     float64 `unit:"Pa"` // largest, below the atmosphere, at the valve
	Choked     bool    // at the peak the flow was sonic
	NoAirCurve bool    // it admits air, and its curve is not known: taken as wide open

	Pit Pit
}

// Pit is what the pit of a valve receives.
type Pit struct {
	FirstDay   float64 `unit:"m³/d"` // on the first day at rest
	Standing   float64 `unit:"m³"`   // over the usual time at rest
	Rainfall   float64 `unit:"mm/d"` // on the pit's plan, that would bring as much as the first day; with HasArea
	HasArea    bool
	DaysToFill float64 `unit:"d"` // until the pit's volume is full; with Fills
	Fills      bool
}

// Level is a body's level at a moment.
type Level struct {
	Time  float64 `unit:"s"`
	Level float64 `unit:"m"`
}

// PoolResult is one body of water from its beginning, as a pool at rest or as a part of one that split, to its own end.
type PoolResult struct {
	From   int     // the body it came from, −1 for a pool at rest
	Parts  []int   // the bodies it split into, or the one it joined
	Start  float64 `unit:"s"`
	End    float64 `unit:"s"`
	Ended  string  // "split at the crest at 2+150 on Ridge main", "stopped leaking", …
	Levels []Level // by rising time
	Lost   float64 `unit:"m³"` // through leaks while it lasted
	Fed    string  // what feeds it, empty for nothing
	Status Status
}

// State is the water in the line at a moment.
type State struct {
	Time   float64      `unit:"s"`
	Runs   [][]Span     // by run, by chainage: what is wet
	Volume float64      `unit:"m³"` // of water in pipes
	Valves []ValveState // by valve

	full float64 // m of pipe, full bore
}

// VacuumPlace is where the pressure falls furthest, or comes nearest to what the wall stands.
type VacuumPlace struct {
	Run      int
	Chainage float64 `unit:"m"`
	Time     float64 `unit:"s"`
	Vacuum   float64 `unit:"Pa"` // below the atmosphere
	Allowed  float64 `unit:"Pa"` // 0 where not known
	Margin   float64 `unit:"Pa"` // Allowed − Vacuum
}

// OpeningResult is one opening over the time followed.
type OpeningResult struct {
	Name   string
	Total  float64 `unit:"m³"`   // of water that left
	Peak   float64 `unit:"m³/s"` // largest flow
	Series []Outflow
	Marks  []Mark
}

// Outflow is the flow out of an opening at a moment.
type Outflow struct {
	Time float64 `unit:"s"`
	Flow float64 `unit:"m³/s"`
	Lost float64 `unit:"m³"` // so far
}

// Mark is when a share of the water that will leave has left.
type Mark struct {
	Share float64 `unit:"1"`
	Time  float64 `unit:"s"`
}

// Event is something that happened at a moment.
type Event struct {
	Time  float64 `unit:"s"`
	ID    string  // such as "draining.splits"
	Where string
	Text  string
}

// Result is a line draining in time.
type Result struct {
	Case     int
	Status   Status
	Reason   string  // "East tank keeps the leak of AV 2 fed"
	StopTime float64 `unit:"s"`  // when the last leak ended or the last water left; the horizon, or the time the limit of steps came to, where neither did
	Lost     float64 `unit:"m³"` // of water
	// LeakAtEnd is what still leaks at the end, LossPerDay what that makes a day.
	LeakAtEnd     float64 `unit:"m³/s"`
	LossPerDay    float64 `unit:"m³/d"`
	DrainedLength float64 `unit:"m"` // of pipe that was full at rest and is not at the end

	Valves   []ValveResult
	Pools    []PoolResult
	Openings []OpeningResult
	Events   []Event
	Frames   []State // some moments, for a strip of drawings
	End      State

	WorstVacuum  VacuumPlace // the largest
	LeastMargin  VacuumPlace // the nearest to what the wall stands; with HasMargin
	HasMargin    bool
	AirIn        float64 `unit:"kg"`
	WaterBalance float64 `unit:"1"` // |water at the start − at the end − lost + run in| over the water moved
	AirBalance   float64 `unit:"1"` // likewise of the air, with openings
	Steps        int

	Notes []Note

	past history
}
