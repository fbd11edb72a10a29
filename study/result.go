package study

import (
	"obvert/bench"
	"obvert/engine/costing"
	"obvert/engine/draining"
	"obvert/engine/grade"
	"obvert/engine/refilling"
	"obvert/engine/sealing"
	"obvert/engine/siting"
	"obvert/engine/sizing"
	"obvert/line"
)

// Severity orders findings.
type Severity uint8

// The severities, worst first.
const (
	Fails    Severity = iota // a requirement is not met
	Doubtful                 // met, but within the uncertainty, or resting on an assumption that could turn it
	Notable                  // nothing fails; whoever runs the line should know
	Holds                    // a requirement that is met, with its figure
)

// String is the word for a severity.
func (s Severity) String() string {
	return [...]string{"fails", "doubtful", "to know", "holds"}[s]
}

// Figure is a number as it is shown: text for people, value and unit for machines.
type Figure struct {
	Text  string  // "2.45 m", with sign and unit
	Value float64 // SI
	Unit  string
}

// Finding is one plain statement about one place.
type Finding struct {
	ID       string // stable: "sealing.drips", "siting.missing", "grade.slack", …
	Severity Severity
	State    string  // the mark it carries: "tight", "drips", "open", "empty", or "" (see deliver)
	Title    string  // "Valve 7 drips whenever the pumps stop"
	Run      int     // −1 for the whole line
	Chainage float64 `unit:"m"`
	Valve    string  // name of the placed valve, or empty
	Type     string  // its type in the rack, or empty
	Cases    []int   // in which it happens
	Text     string  // consequence: what leaks, what stands empty, what follows at the next start

	Have      Figure // the figure found …
	Need      Figure // … against what is required; Text empty where nothing is required
	HaveLabel string // "at the seat, tank low"
	NeedText  string // "needs 2.60 m (letting-go head), 3.00 m to shut"
	Source    string // where the requirement comes from
	// Doubt is the probability that the verdict is the other one, 0 where not reckoned.
	Doubt float64 `unit:"1"`

	Cures    []string // each a plain sentence, tried by the engines where it says so
	Cautions []string
}

// Sentence is one of the three that answer.
type Sentence struct {
	State string // mark
	Lead  string // the first clause, set bold
	Rest  string
}

// Rest is what becomes of a pool whose valves leak: where its level ends if nothing refills it.
type Rest struct {
	Case    int
	Pool    int
	Fed     bool     // a tank or sump makes good what leaks: the level stays and the loss goes on
	Level   float64  `unit:"m"`  // where it ends: at the lowest leaking seat
	Lost    float64  `unit:"m³"` // water lost until then
	Empty   float64  `unit:"m"`  // length of pipe with no water left, beyond what stood empty before
	PerDay  float64  `unit:"m³"` // leak of all its valves at the first level, a day
	Governs string   // the valve whose seat sets Level
	Leaking []string // valves that leak on the way
	Known   bool     // every leaking valve has a leak curve
}

// Tube is one valve's column in the drawing of the bench tube stretched out along the line.
type Tube struct {
	Valve int       // index into Sealing.Valves
	Heads []float64 `unit:"m"` // head at the seat by standing case, in the order of StandingCases
	// Fits tells, by rack record, "tight", "only if shut before" or "no", in the worst standing case.
	Fits []string
}

// Passed is what becomes of an event.
type Passed struct {
	Event    int              // index into the line's events
	Draining *draining.Result // of a draining through scours or a burst; nil in others
	// Refilling is of a first filling or a restart; nil in others. Start is the largest start that keeps every limit, sought
	// where the event breaks one.
	Refilling *refilling.Result
	Start     *refilling.Start
	Why       string // why there is no answer, else empty
}

// Result is the whole answer for one line.
type Result struct {
	Line          *line.Line
	Grades        []grade.Result // by case
	Siting        siting.Result
	Sealing       sealing.Result
	Costing       []costing.Result // by place where sealing head is wanting in a pumping case
	Rests         []Rest
	Tubes         []Tube
	StandingCases []int             // indices of the standing cases
	Draining      []draining.Result // by standing case, in the order of StandingCases: what the leaks of its valves drain in time
	Passed        []Passed          // by event of the line
	Sizing        sizing.Result
	Drawn         sealing.Drawn
	Ways          *costing.Comparison // the ways out of valves that drip, side by side; nil where none does in a case that counts
	Holding       *costing.Comparison // the ways to hold valves shut that stand open where the flowing line breaks; nil where none does
	Days          []grade.DayResult   // by day of the line
	Bench         []bench.Result
	Findings      []Finding  // worst first
	Answer        []Sentence // three, or fewer where there is less to say
	Assumed       []line.Assumption
	Sources       []string // one line each, of formulas and practices that were used
	Version       string
}

// Failed reports whether any finding fails.
func (r *Result) Failed() bool {
	for _, f := range r.Findings {
		if f.Severity == Fails {
			return true
		}
	}
	return false
}
