package valve

// Bound says how a threshold pressure is known.
type Bound uint8

// How a threshold is known.
const (
	Unknown  Bound = iota // not measured
	Measured              // a value with its uncertainty
	MoreThan              // seen dripping at Mean; it shuts somewhere above, or never
	LessThan              // seen tight at Mean already; it shuts somewhere below
	NotApplicable
)

// Threshold is a pressure at the seat, gauge, at which a valve changes between dripping and drip-tight.
type Threshold struct {
	Bound       Bound
	Mean        float64 `unit:"Pa"` // the valve's mean, gauge, at the seat
	Uncertainty float64 `unit:"Pa"` // standard uncertainty (k = 1) of the mean
	Scatter     float64 `unit:"Pa"` // standard deviation from one shutting to the next
	HasScatter  bool    // false: one repeat and no pooled figure
	Repeats     int     `unit:"1"`
	Freedom     float64 `unit:"1"` // effective degrees of freedom of Uncertainty, 0 for infinite
}

// LeakPoint is a point of a leak curve.
type LeakPoint struct {
	Pressure float64 `unit:"Pa"`   // gauge, at the seat
	Flow     float64 `unit:"m³/s"` // of water out of the valve
}

// Air is the large orifice one way, in whichever form it was given. Exactly one form is set.
type Air struct {
	Points      []AirPoint // measured curve
	Diameter    float64    `unit:"m"` // of the orifice, with Coefficient
	Coefficient float64    `unit:"1"`
	C           float64    `unit:"m³/(s·Pa)"` // ISO 6358 sonic conductance, ANR
	CriticalB   float64    `unit:"1"`         // ISO 6358 b
	SubsonicM   float64    `unit:"1"`         // ISO 6358 m

	TestPressure    float64 `unit:"Pa"` // of the air outside when Points were measured, absolute; 0: 101 325 Pa
	TestTemperature float64 `unit:"K"`  // of the air then; 0: 288.15 K
}

// AirPoint is a point of a measured air curve.
type AirPoint struct {
	Differential float64 `unit:"Pa"`   // between pipe and atmosphere, positive
	MassFlow     float64 `unit:"kg/s"` //
}

// Stage is an anti-slam stage: from a differential of air flowing out, the outlet is throttled.
type Stage struct {
	Differential float64 `unit:"Pa"` // at which it switches, gauge in the pipe
	Out          Air     // what it then passes
}

// Orifice is a plain opening.
type Orifice struct {
	Diameter    float64 `unit:"m"`
	Coefficient float64 `unit:"1"`
}

// Record is an air valve as a record of what was measured.
type Record struct {
	Name        string // unique in a rack
	Description string
	Typical     bool // a generic class, no particular valve

	Sealing   Threshold   // rising: drip-tight from here
	LettingGo Threshold   // falling: tight down to here
	Leak      []LeakPoint // by rising pressure from 0; empty where not measured

	In, Out      *Air     // nil where not known
	SmallOrifice *Orifice // nil where the valve has none
	Stage        *Stage   // anti-slam stage; nil where it has none or it was not measured
	// EarlyClosing is the differential of air flowing out, Pa, at which the float is carried shut before water comes; 0 where it was not measured.
	EarlyClosing float64 `unit:"Pa"`
	AdmitsAir    bool

	NominalDiameter float64 `unit:"m"`
	Connection      string
	Rating          float64 `unit:"Pa"` // gauge
	Price           float64 `unit:"1"`
	Currency        string
	Origin          string // where the numbers come from: bench run, date, who
	Source          string // file the record was read from
}
