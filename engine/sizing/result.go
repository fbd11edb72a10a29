package sizing

// DutyKind is what an air valve is wanted for.
type DutyKind uint8

// The duties. All but Fill let air in.
const (
	Drain            DutyKind = iota // the line is emptied on purpose
	FullBurst                        // a leg breaks over its full bore
	PartBurst                        // a hole in a leg
	ColumnSeparation                 // the flow stops upstream and the column beyond runs on
	Fill                             // the line is filled
)

// String is the duty in plain words.
func (k DutyKind) String() string {
	if k > Fill {
		return "unknown duty"
	}
	return [...]string{"draining", "full-bore burst", "partial burst", "column separation", "filling"}[k]
}

// Basis says how the volume of air that takes the water's place is counted.
type Basis uint8

// The bases.
const (
	SafeSide  Basis = iota // FreeAir for air in, PipeAir for air out: the greater mass either way
	FreeAir                // at the site's atmosphere
	PipeAir                // at the pressure in the pipe, at the temperature of the air outside
	CooledAir              // at the pressure in the pipe, expanded or compressed without heat (isentropic)
)

// String is the basis in plain words.
func (b Basis) String() string {
	if b > CooledAir {
		return "unknown basis"
	}
	return [...]string{"safe side", "free air", "air at pipe pressure, isothermal", "air at pipe pressure, isentropic"}[b]
}

// Sized is a mass flow of air and the orifice that passes it, on one basis.
type Sized struct {
	Basis    Basis
	Mass     float64 `unit:"kg/s"` // of air
	Free     float64 `unit:"m³/s"` // the same as free air at the site's atmosphere
	Diameter float64 `unit:"m"`    // of the orifice that passes it at the allowed differential, at Result.Coefficient
}

// Duty is one thing a valve at a place is wanted for.
type Duty struct {
	Kind     DutyKind
	Required bool    // it counts for the choice; else it is only shown
	Text     string  // a plain sentence with its figures
	Source   string  // of the rule
	Leg      int     // index into the place's legs, −1 where none
	Case     int     // index into the place's cases, −1 where none
	Water    float64 `unit:"m³/s"` // volume per second that air must take the place of, or leaves before
	Velocity float64 `unit:"m/s"`  // of that water in its bore
	Bore     float64 `unit:"m"`    // of the pipe meant

	Differential float64  `unit:"Pa"` // allowed, between pipe and atmosphere
	Need         Sized    // on the basis in force
	All          [3]Sized // on every basis: free air, pipe air, cooled air
}

// Limit is one thing that limits a differential.
type Limit struct {
	// ID is "practice", "collapse", "vapour" or "early-closing"; and "stage" or "slam", which are told and do not limit.
	ID     string
	Value  float64 `unit:"Pa"`
	Text   string  // a plain sentence
	Source string
	Binds  bool // the smallest of all
}

// Allowed is the largest differential allowed at a place.
type Allowed struct {
	Differential float64 `unit:"Pa"`
	Limits       []Limit
}

// Wall is what the weakest wall near a place stands under vacuum.
type Wall struct {
	Known   bool
	Run     int // of the weakest section
	Section int
	Bore    float64 `unit:"m"`
	Ratio   float64 `unit:"1"`  // mean diameter over wall
	Free    float64 `unit:"Pa"` // critical pressure free-standing, with its ovality
	Buried  bool
	Buckles float64 `unit:"Pa"` // critical pressure of the case that governs, loads not taken off
	Factor  float64 `unit:"1"`  // safety factor
	Allowed float64 `unit:"Pa"` // vacuum
	// FreeAllowed is the vacuum allowed where the soil beside the pipe is dug away.
	FreeAllowed float64 `unit:"Pa"`
	Creeps      bool    // LongTerm counts
	// LongTerm is the vacuum allowed if it lasts, with the modulus that creep leaves after 50 years.
	LongTerm float64 `unit:"Pa"`
	Text     string  // a plain sentence
}

// Given is what a valve passes one way at the differentials allowed.
type Given struct {
	Known        bool    // its record has the curve
	Differential float64 `unit:"Pa"`   // at which it does most of what is needed, up to the allowed one
	Mass         float64 `unit:"kg/s"` // there
	Free         float64 `unit:"m³/s"` // the same as free air at the site's atmosphere
	Ratio        float64 `unit:"1"`    // Mass over what the governing duty needs; 0 where nothing is needed
	Enough       bool    // Ratio ≥ 1, or nothing is needed
	// Reached is the differential at which the valve passes what is needed; 0 where it does not within the allowed one.
	Reached   float64 `unit:"Pa"`
	Choked    bool
	Beyond    bool // read beyond the largest differential measured
	Throttled bool // its anti-slam stage switches below the allowed differential
	Why       string
}

// Point is one point of the needed and the given curve.
type Point struct {
	Differential float64 `unit:"Pa"`
	Needed       float64 `unit:"kg/s"` // by the governing duty
	Given        float64 `unit:"kg/s"` // by the placed valve
	Beyond       bool    // Given is read beyond the largest differential measured
	Closed       bool    // the valve has been carried shut: Given is 0
}

// Way is all that concerns air one way: in or out.
type Way struct {
	Allowed  Allowed
	Governs  int     // index into the duties, −1 where none is required
	Given    Given   // by the placed valve
	Curve    []Point // by rising differential
	HasGiven bool    // the curve's Given counts
}

// Release is the air that comes out of solution and the small orifice that lets it go.
type Release struct {
	Wanted bool    // a small orifice is wanted at this place
	Case   int     // index into the place's cases whose flow is the largest, −1 where none flows
	Water  float64 `unit:"m³/s"` // largest flow past the place

	SourcePressure float64 `unit:"Pa"` // absolute, at which the water took up air
	LowestPressure float64 `unit:"Pa"` // absolute, lowest at the place
	AtSource       float64 `unit:"1"`  // free air held per volume of water at the source
	AtPlace        float64 `unit:"1"`  // the same at the lowest pressure
	Share          float64 `unit:"1"`  // released by solubility: the difference, 0 where more is held here
	RuleShare      float64 `unit:"1"`  // released by the rule of practice
	RuleSource     string

	Working      float64 `unit:"Pa"`   // smallest working pressure, gauge, at the valve's seat, at which it must go
	Mass         float64 `unit:"kg/s"` // by solubility
	RuleMass     float64 `unit:"kg/s"` // by the rule
	Diameter     float64 `unit:"m"`    // of the small orifice, by solubility
	RuleDiameter float64 `unit:"m"`    // by the rule
	Needed       float64 `unit:"m"`    // the larger of the two
	Coefficient  float64 `unit:"1"`    // at which the diameters are stated
	Known        bool    // the placed valve's record has a small orifice
	Given        float64 `unit:"kg/s"` // what it passes at the working pressure
	Ratio        float64 `unit:"1"`    // Given over the larger of the two needs; 0 where nothing is needed
	Enough       bool
	Text         string // a plain sentence
}

// Slam is the head by which the water strikes as the last air leaves at the filling velocity.
type Slam struct {
	Known           bool    // the wave speed is known
	WaveSpeed       float64 `unit:"m/s"`
	End             bool    // at a dead end: a·V/g; in mid-line a·V/2g
	Velocity        float64 `unit:"m/s"` // of the water while filling, in the smallest bore beside the place
	Head            float64 `unit:"m"`   // by which it slams, less nothing for the residual opening
	AllowedHead     float64 `unit:"m"`
	AllowedVelocity float64 `unit:"m/s"`
	AllowedFlow     float64 `unit:"m³/s"`
	Exceeds         bool
	// Differential is that at which the placed valve passes the air of AllowedFlow; 0 where not known or not reached.
	Differential float64 `unit:"Pa"`
	Text         string
}

// Trial is one record of the rack at one place.
type Trial struct {
	Record  int
	Judged  bool    // false: it lacks a curve that is needed, see Why
	Does    bool    // all that is required
	In      float64 `unit:"1"` // given over needed; 0 where not needed or not known
	Out     float64 `unit:"1"`
	Release float64 `unit:"1"`
	Beyond  bool    // In or Out is read beyond the largest differential measured
	Why     string  // what it lacks, "" where it does
}

// PlaceResult is one place.
type PlaceResult struct {
	Name     string
	Run      int
	Chainage float64 `unit:"m"`
	Placed   int     // index into the run's valves, −1 for a bare candidate
	Record   int     // index into the rack, −1 for none

	Duties  []Duty
	In, Out Way
	Wall    Wall
	Release Release
	Slam    Slam

	Verdict  Verdict
	Trials   []Trial // by nominal diameter, then price, of the rack
	Smallest int     // record that does it with the smallest nominal diameter, then price; −1 where none does
	NextUp   int     // the next larger one that does it; −1 where none
	Unjudged []int   // records that lack a curve needed here
}

// Verdict says whether the placed valve is large enough.
type Verdict uint8

// The verdicts.
const (
	NoValve   Verdict = iota // none is placed, or no type chosen
	Enough                   // in, out and small orifice
	TooSmall                 // one of them is not
	NotJudged                // the record lacks a curve that is needed
)

// String is the verdict in plain words.
func (v Verdict) String() string {
	if v > NotJudged {
		return "unknown verdict"
	}
	return [...]string{"no valve", "large enough", "too small", "cannot be judged"}[v]
}

// Result is every place sized.
type Result struct {
	Status string // "complete"; "stopped" where the context ended it, with the places up to then
	Places []PlaceResult

	Basis       Basis
	BasisText   string  // a plain sentence: how air is counted, at what state
	Atmosphere  float64 `unit:"Pa"`    // absolute, of the free air
	Temperature float64 `unit:"K"`     // of the free air, and of isothermal air in the pipe
	Density     float64 `unit:"kg/m³"` // of the free air, dry
	Coefficient float64 `unit:"1"`     // at which large-orifice diameters are stated

	// Closure is the identity: the largest relative difference between a needed flow and what the opening of the stated
	// diameter passes at the stated differential.
	Closure float64 `unit:"1"`
	Notes   []Note
}

// Note is a remark on a result, with a stable id.
type Note struct {
	ID    string
	Where string
	Text  string
}
