package costing

import (
	"context"

	"obvert/line"
	"obvert/physics/valve"
)

// Place is where something could stand.
type Place struct {
	Name     string // how a reader knows it: "terminal", "500 m behind the summit"
	Run      int
	Chainage float64 `unit:"m"`
}

// Move takes a placed air valve away from where it stands.
type Move struct {
	Valve int   // index into ComparisonInput.Valves
	To    Place // meaningful only with Placed
	// Placed tells whether the valve stands at To. False: it is only taken away, to see what head the line then has at the spots.
	Placed bool
}

// Lowering lays the pipe deeper at a place, as [Regrade] does.
type Lowering struct {
	Place Place
	Depth float64 `unit:"m"`
}

// Change is what one way out does to the line in one case. The zero value leaves the line as it is.
type Change struct {
	HasSustaining bool
	Sustaining    Place   // where a sustaining valve is put
	Setting       float64 `unit:"m"` // head that it holds before it, gauge, at the pipe's obvert there

	Raise    float64 `unit:"m"` // of the terminal level
	PumpHead float64 `unit:"m"` // added to the head of every running pump at the same flow

	HasMove     bool
	Move        Move
	HasLowering bool
	Lowering    Lowering
}

// State is the line in one case with one change, as its hydraulics give it. At rest Delivered, Flow, Power and Shaft are 0
// and Possible is true.
type State struct {
	Operating
	Shaft float64   `unit:"W"` // at the pumps' shafts, all stations
	Heads []float64 `unit:"m"` // gauge, at the seat of each of ComparisonInput.Valves; where air stands at it, the obvert's level less the seat's
	Spots []float64 `unit:"m"` // gauge, at the obvert of each of ComparisonInput.Spots; may be nil where no valve is moved
	Slack float64   `unit:"m"` // length that runs part full; 0: none. Until it is gone a set point or a higher level buys nothing
	// Lost is the head that the part-full lengths lose more than full ones would: about what a set point at their end must make
	// up first. It is a first guess for the search and no more; 0 where not known.
	Lost float64 `unit:"m"`
}

// Hydraulics solves the line in one case (index into ComparisonInput.Cases) with one change. It answers with Possible false
// where the line cannot run so, and with an error only where the solving itself failed. It must be safe for concurrent use
// where ComparisonInput.Parallel is given.
type Hydraulics func(ctx context.Context, k int, change Change) (State, error)

// Concern is an air valve that does not hold now, or that a change could make let go.
type Concern struct {
	Name     string
	Place    Place
	Height   float64 `unit:"m"` // of the seat above the pipe's obvert
	Sealing  float64 `unit:"m"` // head it needs at its seat
	Unknown  bool    // its sealing head was not measured
	Record   int     // index into the rack, −1 where none
	DripsNow bool    // it is one of those that do not hold as the line runs now
	// HighPoint: it stands on a high point, from which no valve may be taken away.
	HighPoint bool
}

// Operation is one case with its share of the day.
type Operation struct {
	Name  string
	Kind  line.CaseKind
	Hours float64 `unit:"h"` // a day as the line runs now
	// From and To bound the hours of the day in which the case runs, spread evenly between them; it may pass midnight. Both 0:
	// spread evenly over the whole day.
	From, To float64 `unit:"h"`
	// Concerned tells, by valve, which must hold in this case; nil: all.
	Concerned []bool
}

// Leak is what the valves that do not hold cost, from the answers to draining and refilling.
type Leak struct {
	Known        bool    // false: draining was not solved
	Water        float64 `unit:"m³"` // lost a day, all valves together
	Uncertainty  float64 `unit:"1"`  // relative standard uncertainty of Water; 0 where not known
	WetPits      int     // pits that receive it
	Starts       float64 `unit:"1"`   // restarts a day after which drained lengths are filled again
	RefillWater  float64 `unit:"m³"`  // a start: water that fills the drained lengths
	RefillEnergy float64 `unit:"kWh"` // a start
	Slam         string  // what refilling says of the slam, in words; may be empty
}

// Lever is an input whose range the tornado walks through.
type Lever uint8

// The levers.
const (
	EnergyPrice Lever = iota
	Hours
	DiscountRate
	Life
	LeakRate
	Callouts // visits a year to a wet pit
	Repairs  // a year, of a wet pit
	ValvePrice
	SustainingPrice
	WaterPrice
	PumpEfficiency
	CarbonPrice
	RaisingPrice
	PumpPrice
	RelocationPrice
	RegradingPrice
	numLevers
)

// Range is how far a lever may lie from its value, as factors on that value.
type Range struct {
	Lever  Lever
	Low    float64 `unit:"1"` // 0…1
	High   float64 `unit:"1"` // 1 or more
	Source string  // why these
}

// Limits bound the search for what has to be found. A zero takes the default that its comment names.
type Limits struct {
	Setting  float64 `unit:"m"` // 160
	Raise    float64 `unit:"m"` // 50
	PumpHead float64 `unit:"m"` // 160
	Depth    float64 `unit:"m"` // 10
}

// ComparisonInput is what [Compare] needs.
type ComparisonInput struct {
	Name    string  // of what is compared, for faults and notes: a valve or a place
	Density float64 `unit:"kg/m³"`
	Gravity float64 `unit:"m/s²"`
	Prices  line.Prices

	Valves []Concern
	Cases  []Operation
	Rack   []valve.Record
	Misfit []string // by record: why it cannot take the place; "" where it can; nil: all can

	Margin     float64      `unit:"m"` // of head wanted above each sealing head
	Sustaining []Place      // where a sustaining valve could stand, each a way of its own
	Spots      []Place      // where a valve could be moved to, the one that is liked best first
	Profile    []line.Point // of the run of the valve that is to be laid deeper; empty: no regrading
	Summit     Place        // where the pipe would be laid deeper, on Profile
	NoRaise    bool         // the terminal level cannot be raised: it is an outfall in a river, say
	Leak       Leak

	Limits Limits
	// Efficiency of all stations as the line runs now, from the mains to the water, for the tornado's lever. 0: taken from the
	// base states, which is right where the line has one station.
	Efficiency float64 `unit:"1"`
	Share      float64 `unit:"1"` // by which a lever without a Range may lie off; 0: 0.2
	Ranges     []Range
	// Combined tells to try the sustaining valve with each lower-sealing type as well.
	Combined bool

	Operate Hydraulics
	// Parallel calls work(0) … work(n−1), in any order or at once, and returns the first error. nil: one after the other.
	Parallel func(ctx context.Context, n int, work func(i int) error) error
}
