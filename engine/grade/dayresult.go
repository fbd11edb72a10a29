package grade

// DayInput is one day of a line.
type DayInput struct {
	Net *Net
	Day int // index into the line's days
	// RoughnessFactor multiplies the roughness of every section; 0 means 1.
	RoughnessFactor float64 `unit:"1"`
}

// DayResult is 24 hours of a line, from midnight to midnight.
type DayResult struct {
	Day    int    // index into the line's days
	Status string // "converged", "limit reached": then Steps end where the work was stopped
	Solved int    // steady flows solved
	Pieces int    // pieces into which the steps were cut, at changes of price and off-take, at starts and stops, at tank limits and where levels move fast
	// Balance is what the water balance misses, relative to the water that entered or left the line and its tanks: supply − use − overflow − gain in store.
	Balance float64 `unit:"1"`

	Steps    []DayStep
	Tanks    []DayTank    // in node order
	Offtakes []DayOfftake // off-takes and outfalls, in node order
	Stations []DayStation // in node order
	Valves   []DayValve   // placed air valves, by run and chainage
	Bands    []DayBand    // of the tariff, as the prices give them; one for all hours where there is none

	Delivered float64 `unit:"m³"`       // to off-takes and outfalls
	Unmet     float64 `unit:"m³"`       // asked for by off-takes and not delivered
	Overflow  float64 `unit:"m³"`       // over the rims of tanks
	Energy    float64 `unit:"kWh"`      // from the mains
	Cost      float64 `unit:"currency"` // of energy, in the currency of the prices; 0 with HasCost false
	HasCost   bool
	Carbon    float64 `unit:"kg"` // of the energy; 0 with HasCarbon false
	HasCarbon bool
	Notes     []Note
}

// DayStep is a step of a day. Slices run parallel to the result's Tanks, Stations and Offtakes.
type DayStep struct {
	From      float64   `unit:"s"` // since midnight
	To        float64   `unit:"s"`
	Level     []float64 `unit:"m"`    // of each tank, at the end of the step
	Flow      []float64 `unit:"m³/s"` // of each station, mean over the step
	Power     []float64 `unit:"W"`    // of each station from the mains, mean over the step
	Speed     []float64 `unit:"1"`    // of each station, at the end of the step; 0 where no pump runs
	Running   [][]bool  // by station, by pump: at the end of the step
	Delivered []float64 `unit:"m³"` // to each off-take and outfall
	Unmet     []float64 `unit:"m³"`
	Cost      float64   `unit:"currency"`
}

// DayTank is a tank over a day.
type DayTank struct {
	Node     int
	Start    float64 `unit:"m"` // level
	End      float64 `unit:"m"`
	Least    float64 `unit:"m"`
	Greatest float64 `unit:"m"`
	Inflow   float64 `unit:"m³"` // net, from the line; overflow included
	Overflow float64 `unit:"m³"`
	Empty    float64 `unit:"s"` // time at its lowest level with nothing to give
	Fixed    bool    // its area is not known: its level is kept
}

// DayOfftake is an off-take or an outfall over a day.
type DayOfftake struct {
	Node      int
	Delivered float64 `unit:"m³"`
	Unmet     float64 `unit:"m³"`
}

// DayStation is a pump station over a day.
type DayStation struct {
	Node   int
	Volume float64 `unit:"m³"`
	Energy float64 `unit:"kWh"`
	Cost   float64 `unit:"currency"`
	Peak   float64 `unit:"W"` // greatest power from the mains
	Pumps  []DayPump
}

// DayPump is one pump over a day.
type DayPump struct {
	Name   string
	Starts int
	Hours  float64 `unit:"h"`
	Volume float64 `unit:"m³"`
}

// DayValve is the pressure head at the obvert below an air valve over a day.
type DayValve struct {
	Run        int
	Placed     int     // index into the run's valves
	Least      float64 `unit:"m"` // gauge, at the obvert
	LeastAt    float64 `unit:"s"` // since midnight
	Greatest   float64 `unit:"m"`
	GreatestAt float64 `unit:"s"`
}

// DayBand is a band of the tariff over a day.
type DayBand struct {
	From   float64 `unit:"h"` // of the day; From > To where it passes midnight
	To     float64 `unit:"h"`
	Price  float64 `unit:"1/kWh"`
	Energy float64 `unit:"kWh"`
	Cost   float64 `unit:"currency"`
}
