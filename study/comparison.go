package study

import (
	"obvert/engine/sealing"
	"obvert/physics/valve"
)

// The least and the most types that are laid side by side.
const (
	LeastCompared = 2
	MostCompared  = 6
)

// Measure is one figure of a comparison, and how far it is known.
type Measure struct {
	Value float64 // SI, or in Unit where that is a year's or a day's sum
	Unit  string
	Known bool
	Least bool   // known to be as much at the least
	Why   string // why it is not known, or is a least one; else empty, or what goes with the figure
}

// Comparison is the same line worked through once with each of some types at every place. Rows are the types in the order in which they were named.
type Comparison struct {
	Line          string
	Currency      string
	Types         []ComparedType
	Places        []ComparedPlace // by air valve, by run and chainage
	Pairs         []ComparedPair  // every two types
	Best          []ComparedBest  // who is best at what
	Answer        []Sentence      // three
	Remarks       []string        // how the figures are counted
	Cases         []string        // names, in the order of the counts of a type
	StandingCases []int           // indices into Cases, in the order of the heads of a place
	Years         float64         `unit:"1"` // of the whole-life figures
	Rate          float64         `unit:"1"` // of discount, a year
	Days          float64         `unit:"1"` // of operation, a year
	Version       string
	Hash          string // of all inputs

	results []*Result
}

// Results are the whole answers behind a comparison, by type.
func (c *Comparison) Results() []*Result { return c.results }

// ComparedType is one type at every place of the line.
type ComparedType struct {
	Name   string
	Record int // of the rack

	SealingBound, LettingGoBound valve.Bound
	Sealing                      float64 `unit:"m"` // in the line's water, at the seat
	SealingExpanded              float64 `unit:"m"` // expanded uncertainty of the mean (95 %)
	LettingGo                    float64 `unit:"m"`
	LettingGoExpanded            float64 `unit:"m"`

	Counts   []StateCount // by case
	Dripping Measure      // 1, valves that drip in some case

	Leak     Measure // m³/s, of all valves at the levels at which the line comes to rest, in the standing case that leaks most
	LeakCase int     // −1 where none leaks
	PerDay   Measure // m³, the same over the hours at rest of a day

	Lost      Measure // m³, drained out of the line left standing, in the standing case that drains most
	Drained   Measure // m, length of pipe that was full and then holds air
	Stops     Measure // s, until it stops
	DrainCase int     // −1 where none drains
	Refill    Measure // kWh a year, to bring back what is lost, and to pump it again

	Slam    Measure // m, the largest of the restarts
	SlamAt  string  // valve or place
	Share   Measure // 1, largest share of the pipe's rating that a slam takes
	Trapped Measure // kg, air that stays in the line after the restart
	Start   Measure // m³/s, the largest start flow that keeps every limit

	Hold     Measure // kWh a year, to hold shut by head what drips
	HoldOpen Measure // kWh a year, to hold shut by head what stands open while the line flows
	Water    Measure // m³ a year, lost
	Callouts Measure // visits a year
	Price    Measure // of one valve
	Bought   Measure // of one for every place
	Yearly   Measure // cost a year of keeping the type and its leak
	Running  Measure // present value of Yearly over the line's life
	Whole    Measure // present value of buying it and running it

	WetPits int     // pits that receive water in a day's standing
	PitDays Measure // days a year on which a pit receives water, summed over the pits

	ShortIn, ShortOut, ShortSmall int // places where it passes less air than is needed: in, out, released under pressure
	AirUnknown                    int // places where its air cannot be judged
	Sized                         int // places sized

	Chance      Measure // 1, that any valve drips in any case
	ChanceError float64 `unit:"1"` // standard error of it, from the number of draws

	Fails []Failure // requirements not met
}

// StateCount is how many valves are in which state in a case.
type StateCount struct{ Tight, Drips, Open, Empty, Unknown int }

// Failure is a requirement that a type does not meet.
type Failure struct {
	ID    string // of the finding
	Count int    // findings of it
	Text  string // a clause, "4 valves drip"
	Every bool   // it fails with every type compared: no reason to choose another
}

// Verdict is what a type does at a place, over all standing cases.
type Verdict uint8

// The verdicts, worst last.
const (
	StaysTight    Verdict = iota // shuts and is tight
	OnlyIfShut                   // tight as long as it was shut in the case before
	NoWater                      // no water stands at it
	StandsOpen                   // air stands at it
	NotJudged                    // not known
	DripsStanding                // drips
)

// String is the words for a verdict.
func (v Verdict) String() string {
	return [...]string{"tight", "only if shut before", "empty", "open", "not known", "drips"}[v]
}

// ComparedCell is one type at one place.
type ComparedCell struct {
	Verdict Verdict
	Case    int     // the standing case that decides; −1 where the line has none
	Margin  float64 `unit:"m"` // head at the seat less the sealing head, with a verdict of tight, only if shut before or drips
	All     bool    // tight in every case in which water stands there, flowing ones too
	Enough  bool    // large enough for the air of its place, where that could be judged
}

// ComparedPlace is one air valve's place.
type ComparedPlace struct {
	Valve    string
	Run      int
	Chainage float64        `unit:"m"`
	Seat     float64        `unit:"m"`
	Heads    []float64      `unit:"m"` // at the seat, by standing case, in the order of StandingCases
	Lowest   float64        `unit:"m"` // the smallest of them
	Cells    []ComparedCell // by type
	// Best is the type that would stand here in a mixed set: the cheapest of those that are tight in every case and large enough for the air, of equal
	// price or without one that which needs the least head; −1 where none is.
	Best int
	Why  string // why none is
}

// ComparedPair says whether two types can be told apart.
type ComparedPair struct {
	A, B  int // indices into Types
	Apart bool
	// Difference of the sealing heads and the expanded uncertainty of that difference (95 %), both 0 where one of them is only bounded.
	Difference float64 `unit:"m"`
	Expanded   float64 `unit:"m"`
	Same       bool    // every valve is in the same state in every case
	Text       string
}

// ComparedBest is who is best at one thing.
type ComparedBest struct {
	Of      string // "least leak at rest"
	Types   []int  // the best, all of one value or not to be told apart; empty where none is known
	Alike   []int  // types not among the best by their figure that cannot be told apart from one of them
	Unknown []int  // types whose figure is not known
	Text    string
}

// statesOf counts the valves of a case.
func statesOf(valves []sealing.ValveResult, k int) StateCount {
	var n StateCount
	for i := range valves {
		switch valves[i].Cells[k].State {
		case sealing.Tight:
			n.Tight++
		case sealing.Drips:
			n.Drips++
		case sealing.Open:
			n.Open++
		case sealing.Empty:
			n.Empty++
		default:
			n.Unknown++
		}
	}
	return n
}
