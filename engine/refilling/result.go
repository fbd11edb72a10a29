package refilling

// Note is a remark on a result, with a stable id.
type Note struct {
	ID    string // such as "refilling.rigid"
	Where string
	Text  string
}

// Way says how a valve was shut.
type Way uint8

// The ways a valve may be shut.
const (
	StaysOpen Way = iota // it still stands open to air
	ByWater              // water lifted its float
	ByAir                // air carried its float shut before water came
	ByStage              // its anti-slam stage throttled, then water shut it
	WetBefore            // water stood at it from the start
	NoValve              // nothing chosen on the tapping, or isolated: passes nothing
)

// String is the word for a way.
func (w Way) String() string {
	return [...]string{"open", "water", "early, by air", "stage, then water", "wet from the start", "passes nothing"}[w]
}

// Valve is what one air valve did.
type Valve struct {
	Name      string
	Run       int
	Chainage  float64 `unit:"m"`
	Placed    int     // index into the run's valves
	Shut      Way
	Time      float64 `unit:"s"`  // at which water shut it for the last time; 0 where it did not
	AirOut    float64 `unit:"kg"` // passed
	AirIn     float64 `unit:"kg"`
	Largest   float64 `unit:"Pa"` // differential of air flowing out
	LastAir   bool    // the last air of a pocket left here
	Before    float64 `unit:"m/s"` // velocity of the column below when the last air left, along the run
	After     float64 `unit:"m/s"` // velocity of the column beyond it
	Sealed    float64 `unit:"m"`   // sudden rise of head if nothing passes the shut valve
	Slam      float64 `unit:"m"`   // with its residual opening
	Pressure  float64 `unit:"Pa"`  // gauge, at the valve then
	Worst     float64 `unit:"Pa"`  // largest gauge pressure along the two columns then
	WorstAt   float64 `unit:"m"`   // chainage of the place on WorstRun
	WorstRun  int
	Share     float64 `unit:"1"` // of the section's rating that the worst place takes; 0 where no rating is known
	HasRating bool
}

// Pocket is a body of air that was closed in at some time.
type Pocket struct {
	Run      int
	Chainage float64 `unit:"m"`  // of its crest
	Peak     float64 `unit:"Pa"` // largest pressure, gauge
	PeakTime float64 `unit:"s"`  //
	Closed   float64 `unit:"s"`  // time at which it had gone; 0: it stays
	Volume   float64 `unit:"m³"` // at the end, at its own pressure
	Pressure float64 `unit:"Pa"` // at the end, gauge
	Air      float64 `unit:"kg"` // left at the end
	HeadLost float64 `unit:"m"`  // by what stays: the drop between the levels of water on both sides of it
	Vented   bool    // a valve still stands open to it
	Trace    []Trace // of its pressure
}

// Trace is a pressure at a time.
type Trace struct {
	Time     float64 `unit:"s"`
	Pressure float64 `unit:"Pa"` // gauge
}

// Frame is the line at one moment, for a strip of drawings.
type Frame struct {
	Time    float64 `unit:"s"`
	Water   [][]Water
	Pockets []Air
}

// Air is a body of air in a frame.
type Air struct {
	Run      int
	From, To float64 `unit:"m"`  // chainage
	Pressure float64 `unit:"Pa"` // gauge
}

// Moment is one time of the series for drawing.
type Moment struct {
	Time   float64 `unit:"s"`
	Flow   float64 `unit:"m³/s"` // into the line
	Out    float64 `unit:"m³/s"` // out of it
	Volume float64 `unit:"m³"`   // of water in the line
	Head   float64 `unit:"m"`    // at the stations' discharge, above datum; the highest where there are several
	Power  float64 `unit:"W"`    // from the mains
}

// Limit says what binds the largest start.
type Limit uint8

// What may bind.
const (
	NoLimit      Limit = iota // nothing does, up to the largest flow tried
	SlamBinds                 // the sudden rise of head
	RatingBinds               // the pressure of slam against the rating
	PocketBinds               // the pressure of a pocket against the rating
	TrappedBinds              // air left behind
	EarlyBinds                // a valve is carried shut by air
	CannotFill                // the line does not fill even at the least flow tried
)

// String is the word for a limit.
func (l Limit) String() string {
	return [...]string{"none", "slam", "rating", "pocket pressure", "trapped air", "early closing", "does not fill"}[l]
}

// Trial is one start flow of the search.
type Trial struct {
	Flow     float64 `unit:"m³/s"`
	Slam     float64 `unit:"m"`  // largest
	Share    float64 `unit:"1"`  // largest share of a rating
	Pocket   float64 `unit:"Pa"` // largest pocket pressure, gauge
	Air      float64 `unit:"kg"` // trapped
	Time     float64 `unit:"s"`  // to full
	Throttle float64 `unit:"s"`  // until the last valve had shut
	Status   string
	Breaks   []Limit // what it breaks
	Where    string  // valve or place of the first of them
}

// Start is the largest start flow that keeps every limit.
type Start struct {
	Flow     float64 `unit:"m³/s"` // 0 with CannotFill
	Binds    Limit
	Where    string  // at which the limit binds
	Throttle float64 `unit:"s"` // how long the start must be throttled: until the last valve has shut
	Trials   []Trial // in the order of their flows
	// Gaps tells that a larger flow than one that breaks a limit keeps it again: the answer is the largest below which all flows tried keep it.
	Gaps bool
}

// Sensitivity is what the thermal convention changes.
type Sensitivity struct {
	Polytropic float64 `unit:"1"`
	TimeToFull float64 `unit:"s"`
	Slam       float64 `unit:"m"`
	Peak       float64 `unit:"Pa"` // largest pocket pressure, gauge
	Status     string
}

// Balance is the identity the answer was checked by.
type Balance struct {
	WaterIn    float64 `unit:"m³"`
	WaterOut   float64 `unit:"m³"`
	Stored     float64 `unit:"m³"`
	WaterError float64 `unit:"1"` // of the volume moved
	AirOut     float64 `unit:"kg"`
	AirIn      float64 `unit:"kg"`
	AirOpen    float64 `unit:"kg"` // through open ends
	AirCarried float64 `unit:"kg"` // left in the water when pockets were closed
	AirStored  float64 `unit:"kg"`
	AirError   float64 `unit:"1"` // of the mass moved
}

// Result is how a line fills.
type Result struct {
	Status     string  // "full", "steady with slack lengths", "air-bound", "at rest", "horizon reached", …
	Filled     bool    // full, or steady with slack lengths or trapped air: it delivers
	TimeToFull float64 `unit:"s"` // 0 where it does not fill
	Time       float64 `unit:"s"` // to which it was followed
	Delivery   float64 `unit:"s"` // at which water first came out at the other end; 0 where it did not
	Polytropic float64 `unit:"1"` // used

	Valves  []Valve
	Pockets []Pocket
	Frames  []Frame
	Series  []Moment

	Water        float64 `unit:"m³"`  // that the line took up
	Energy       float64 `unit:"kWh"` // from the mains until the line was full
	Slam         float64 `unit:"m"`   // the largest of all
	SlamAt       string  // the valve, or the place
	Trapped      float64 `unit:"kg"` // air that stays in pockets without a way out
	Carried      float64 `unit:"kg"` // air that went on with the water
	ThrottleTime float64 `unit:"s"`  // until the last valve had shut: how long a start must be throttled
	// RigidIndex is the shortest time scale of a column's change of velocity over the time 2L/a of a pressure wave in it. Well
	// above 1 the rigid column stands for the elastic one.
	RigidIndex float64       `unit:"1"`
	Thermal    []Sensitivity // at n = 1.0 and 1.4, where asked for
	Balance    Balance
	Steps      int
	Notes      []Note
}
