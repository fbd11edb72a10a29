package sealing

import "obvert/physics/valve"

// State is what a valve does in a case.
type State uint8

// The states of a valve.
const (
	Tight   State = iota // shut and drip-tight
	Drips                // water at its seat, not enough head to shut it
	Open                 // air at its seat while the line flows, or it admits air
	Empty                // no water stands at it
	Unrated              // no valve chosen, or its sealing head was not measured
)

// String is the word for a state, as written on every sheet.
func (s State) String() string {
	return [...]string{"tight", "drips", "open", "empty", "not known"}[s]
}

// Rule says which of a valve's two pressures judged it.
type Rule uint8

// The rules.
const (
	NoRule  Rule = iota
	Rising       // the sealing head: the valve was not shut before
	Falling      // the letting-go head: the valve was shut before and holds
)

// Cell is one valve in one case.
type Cell struct {
	State  State
	Rule   Rule
	Head   float64 `unit:"m"` // gauge, at the seat, 0 where air stands there
	Needed float64 `unit:"m"` // sealing or letting-go head by Rule, in metres of the water in hand
	Margin float64 `unit:"m"` // Head − Needed; meaningful with State Tight or Drips
	Sigma  float64 `unit:"m"` // standard uncertainty of the margin
	// Probability that it drips, given all uncertainties; 0 where no margin applies.
	Probability float64 `unit:"1"`
	Leak        float64 `unit:"m³/s"` // by its leak curve, where it drips
	HasLeak     bool    // the leak at this head follows from what was measured
	OverRating  bool    // head above the valve's rated pressure
}

// ValveResult is one placed valve in all cases.
type ValveResult struct {
	Name      string
	Run       int
	Chainage  float64 `unit:"m"`
	Placed    int     // index into the run's Placed
	Record    int     // index into the rack, −1 for none
	Seat      float64 `unit:"m"` // level of the seat above datum
	Obvert    float64 `unit:"m"` // level of the obvert there
	Sealing   float64 `unit:"m"` // sealing head in metres of the water in hand
	LettingGo float64 `unit:"m"` // letting-go head
	// SealingBound and LettingGoBound say how the two are known: measured, more than, less than, or not.
	SealingBound, LettingGoBound valve.Bound
	Cells                        []Cell // by case
	Worst                        int    // index of the worst case
}

// Result is the judgement of every valve in every case.
type Result struct {
	Valves []ValveResult // by run, by chainage
	// AnyDrips is, by case, the probability that at least one valve drips: an integral over the common error.
	AnyDrips []float64 `unit:"1"`
	Notes    []Note
}

// Note is a remark on a result, with a stable id.
type Note struct {
	ID    string
	Where string
	Text  string
}
