package draining

import (
	"obvert/line"
	"obvert/physics/valve"
)

// Span is a stretch of a run that a pool wets.
type Span struct {
	Run              int
	From, To         float64 `unit:"m"` // chainage, wet
	FullFrom, FullTo float64 `unit:"m"` // chainage, full bore; equal where none is
	Level            float64 `unit:"m"` // of its grade line, above datum; where a surface touches air, the level of that surface
	Pool             int     // number of the body of water it belongs to
}

// Pool is a body of water at rest from which the draining begins.
type Pool struct {
	Level   float64 `unit:"m"` // of its surface, or of its grade line where it hangs under suction, above datum
	Fed     bool    // a tank or a sump stands in open connection with it
	Node    int     // the tank, outfall or station that sets its level, −1 for none
	Suction bool    // part of it stands below atmospheric pressure
	Spans   []Span
}

// Valve is an air valve on its tapping.
type Valve struct {
	Name      string
	Run       int
	Chainage  float64 `unit:"m"`
	Placed    int     // index into the run's valves
	Seat      float64 `unit:"m"` // level of the valve's seat, above datum
	Record    int     // index into Input.Rack; −1 where no type is chosen
	AdmitsAir bool
	Isolated  bool // its isolating valve is shut: it neither admits, releases nor leaks
	Shut      bool // it was shut when the line came to rest, and holds down to its letting-go head

	// Leak, where not nil, is the flow of water, m³/s, at a gauge pressure, Pa, at the seat, for a valve that is not shut; it takes the
	// place of the record's leak curve.
	Leak func(pressure float64) float64
}

// Opening is a place where water leaves on purpose or by mishap: an open scour, a burst, a broken end.
type Opening struct {
	Name        string
	Run         int
	Chainage    float64 `unit:"m"`
	Diameter    float64 `unit:"m"` // 0: the full bore of the pipe
	Coefficient float64 `unit:"1"` // discharge coefficient on that diameter; 0: 0.6, or 1 for the full bore
	Burst       bool    // a break, not a scour
	Level       float64 `unit:"m"` // at which the water leaves; used with HasLevel, else the pipe's axis
	HasLevel    bool
}

// Input is what [Solve] needs.
type Input struct {
	Line *line.Line
	Case int // index of the line's case that gives tank levels, closed equipment and stations

	Pools  []Pool // as the standing line has them
	Valves []Valve
	Rack   []valve.Record
	Inflow []float64 `unit:"m³/s"` // by node: what runs into a tank meanwhile; nil: nothing

	// Openings, where any, drain the line on purpose or by burst, and leaks of valves are left out; without them the line drains through
	// its leaking valves.
	Openings []Opening
	// AllowedVacuum is the largest pressure below the atmosphere's, Pa, that the pipe stands at a chainage; nil where not known.
	AllowedVacuum func(run int, chainage float64) float64
	Inertia       bool    // with openings: the columns have mass; else each moment is a steady one
	Friction      float64 `unit:"1"` // Darcy friction factor of all pipe; 0: by roughness and Reynolds number
	// Polytropic is the exponent by which air that is shut in expands: 1 isothermal to 1.4 adiabatic; 0: 1.2 (common practice, no source).
	Polytropic float64 `unit:"1"`

	Horizon     float64 `unit:"s"`    // the longest time followed
	Standing    float64 `unit:"s"`    // the usual time at rest, for what pits receive; 0: Horizon
	StoppedLeak float64 `unit:"m³/s"` // leak of a body of water that counts as none; 0: 1e-8 m³/s
	PitArea     float64 `unit:"m²"`   // plan of a usual pit; 0 where not known
	PitVolume   float64 `unit:"m³"`   // that fills before it overflows; 0 where not known
	// Tolerance is the relative error allowed of a time; 0: 1e-4. Volumes are exact whatever it is.
	Tolerance float64 `unit:"1"`
	// MostSteps bounds the effort with openings: after so many steps the status is LimitReached; 0: 5,000.
	MostSteps int
}
