package siting

// Reason is why a place wants an air valve.
type Reason struct {
	ID        string  // "high-point", "grade-high-point", "downslope-increase", "upslope-decrease", "long-run", "pump-discharge", "isolating-valve", "slack-end"
	Text      string  // a plain sentence with its figures
	Figure    float64 // in Unit
	Threshold float64 // in Unit
	Unit      string
	Source    string
}

// Verdict says how a candidate and the placed valves meet.
type Verdict uint8

// The verdicts.
const (
	Placed    Verdict = iota // a valve stands there
	Displaced                // a valve stands near, farther than the practice allows
	Missing                  // none
)

// Candidate is a place that wants an air valve.
type Candidate struct {
	Run      int
	Chainage float64 `unit:"m"`
	Obvert   float64 `unit:"m"`
	// From and To are the chainages between which a valve serves it as well: a crest so level that no survey tells its top.
	From, To float64 `unit:"m"`
	Side     int8    // of an isolating valve: −1 before it, +1 behind it; 0 for all other candidates
	Reasons  []Reason
	Verdict  Verdict
	Valve    string  // the placed valve that serves it, or the nearest
	Distance float64 `unit:"m"` // to that valve, along the pipe's chainage
	Drop     float64 `unit:"m"` // how much lower the pipe's obvert is at that valve; negative where it is higher
}

// Result is every candidate, and every placed valve that no candidate asks for.
type Result struct {
	Candidates  []Candidate // by run, by chainage
	Superfluous []Spare
	Legs        []Leg   // every falling leg and what the flow does with air there, by run, by chainage
	Tolerance   float64 `unit:"m"` // of level, within which profiles were simplified
	Notes       []Note
}

// Spare is a placed valve that no reason asks for.
type Spare struct {
	Valve    string
	Run      int
	Chainage float64 `unit:"m"`
	Text     string
}

// Note is a remark on a result, with a stable id.
type Note struct {
	ID    string
	Where string
	Text  string
}
