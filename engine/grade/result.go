package grade

// Wetness says how a place in the pipe stands in a case.
type Wetness uint8

// The ways a place may stand.
const (
	Full    Wetness = iota // full bore, the obvert at or above the atmosphere
	Suction                // full bore, the obvert below the atmosphere
	Part                   // part full, air above the water
	Empty                  // no water stands there
	Vapour                 // part full under water's vapour
)

// String is the word for a wetness.
func (w Wetness) String() string {
	return [...]string{"full", "under suction", "part full", "empty", "vapour"}[w]
}

// Note is a remark on a result, with a stable id.
type Note struct {
	ID    string // such as "grade.pump-cannot-lift"
	Where string
	Text  string
}

// Result is the state of the whole line in one case.
type Result struct {
	Case       int    // index into the line's cases
	Status     string // "converged", "limit reached", "stopped"
	Iterations int
	// EnergyResidual is the largest head by which any element misses its law, MassResidual the largest flow by which any
	// node misses its balance. Both are 0 for a standing case, which has no flow.
	EnergyResidual float64 `unit:"m"`
	MassResidual   float64 `unit:"m³/s"`

	fine []fine // by run, on the solver's own grid

	Nodes    []NodeState    // by node index
	Runs     []RunState     // by run index
	Stations []StationState // stations only, in node order
	Pools    []Pool         // standing cases: bodies of water at rest, by run and chainage
	Slack    []Slack        // flowing cases: part-full lengths below a control
	Notes    []Note
}

// NodeState is a node in a case.
type NodeState struct {
	Head         float64 `unit:"m"`    // level of the grade line above datum; at a station the discharge side's
	PressureHead float64 `unit:"m"`    // gauge, at the obvert
	Supply       float64 `unit:"m³/s"` // into the line from outside; negative where water leaves
	Wetness      Wetness
	Pool         int // index of the pool it stands in, −1 for none
}

// RunState is a run in a case. Head, PressureHead and Wetness run parallel to the run's points.
type RunState struct {
	Flow         float64   `unit:"m³/s"` // positive from its From node to its To node
	Head         []float64 `unit:"m"`    // level of the grade line; where water does not fill the pipe, the water surface or the obvert
	PressureHead []float64 `unit:"m"`    // gauge, at the obvert; never negative where air can enter
	Wetness      []Wetness
	// Pool is the index of the pool each point stands in, −1 for none. Nil in flowing cases.
	Pool []int
}

// PumpState is one pump in a case.
type PumpState struct {
	Name          string
	Running       bool
	Flow          float64 `unit:"m³/s"`
	Head          float64 `unit:"m"`
	Efficiency    float64 `unit:"1"`
	ShaftPower    float64 `unit:"W"`
	NPSHAvailable float64 `unit:"m"` // 0 with HasNPSH false
	NPSHRequired  float64 `unit:"m"`
	HasNPSH       bool
	CannotLift    bool // runs, but its check valve stays shut
	BeyondCurve   bool // works outside the points given
}

// StationState is a pump station in a case.
type StationState struct {
	Node          int
	Flow          float64 `unit:"m³/s"`
	SuctionHead   float64 `unit:"m"` // level of the grade line before the pumps
	DischargeHead float64 `unit:"m"` // behind them
	Pumps         []PumpState
	Electric      float64 `unit:"W"` // from the mains
	// Speed is the speed of the running pumps, relative to their curves': where the drive holds a flow or a head, the speed found, the same for all; else that
	// of the first running pump as set. 0 where none runs.
	Speed   float64 `unit:"1"`
	AtLimit bool    // the drive holds a flow or a head, and a bound on its speed keeps it from that
}

// Slack is a length of pipe that runs part full below the place that controls it.
type Slack struct {
	Run      int
	From, To float64 `unit:"m"` // chainage, From at the control, To where the pipe is full again (From > To in a run that flows backwards)
	HeadLost float64 `unit:"m"` // between the two
	Vapour   bool    // the space is water's vapour, not air
}

// Pool is a body of water at rest.
type Pool struct {
	Level      float64 `unit:"m"` // of its surface, or of its grade line where it hangs under suction
	Reason     string  // what holds it: "crest at 2+150 on Ridge main", "water level of Hill tank", "check valve at Works"
	Kind       string  // "crest", "tank", "outfall", "check valve", "control valve", "closed in", "sump"
	Fed        bool    // a tank keeps it at its level
	Node       int     // the tank, outfall or station that sets its level, −1 for none
	Spans      []Span
	FullLength float64 `unit:"m"`  // of pipe, full bore
	WetLength  float64 `unit:"m"`  // of pipe with any water in it
	Volume     float64 `unit:"m³"` // of water in the pipe
	Suction    bool    // part of it stands below atmospheric pressure
}

// Span is a stretch of a run that a pool wets.
type Span struct {
	Run              int
	From, To         float64 `unit:"m"` // chainage, wet
	FullFrom, FullTo float64 `unit:"m"` // chainage, full bore; equal where none is
}
