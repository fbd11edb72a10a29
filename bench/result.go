package bench

import "obvert/physics/valve"

// Reading is one instant of a run, corrected by the instruments' certificates.
type Reading struct {
	Time        float64 `unit:"s"`
	Pressure    float64 `unit:"Pa"` // gauge, at the bench datum level, gauge and tube combined by their uncertainties
	Uncertainty float64 `unit:"Pa"` // standard uncertainty of Pressure
	Gauge, Tube float64 `unit:"Pa"` // each instrument's own, at the bench datum level; meaningful with HasGauge, HasTube
	HasGauge    bool
	HasTube     bool
	Repeat      int `unit:"1"` // from 1
	Rising      bool
}

// MarkKind tells a change seen to happen from a state found at a look.
type MarkKind uint8

// The kinds of mark.
const (
	Change MarkKind = iota
	Look
)

// Mark is what somebody saw a valve do.
type Mark struct {
	Time     float64 `unit:"s"`
	Kind     MarkKind
	Tight    bool    // became tight, or was found tight; else dripping
	Rising   bool    // on the way up
	Repeat   int     `unit:"1"`
	Pressure float64 `unit:"Pa"` // gauge, at this valve's seat, corrected for the mark's delay
	Head     float64 `unit:"m"`  // the same in metres of the bench's water
	Used     bool
	Why      string // where not used: why
}

// BudgetLine is one line of an uncertainty budget (JCGM 100:2008).
type BudgetLine struct {
	Quantity     string
	Value        float64 // in Unit
	Unit         string
	Uncertainty  float64 // standard, in Unit
	Distribution string  // "normal", "rectangular", "triangular", "from repeats"
	Sensitivity  float64 // Pa per Unit
	Contribution float64 `unit:"Pa"`
	Freedom      float64 `unit:"1"` // degrees of freedom, 0 for infinite
	Source       string
}

// LeakReading is one leak collected at a hold.
type LeakReading struct {
	Pressure    float64 `unit:"Pa"` // gauge, at the seat
	Flow        float64 `unit:"m³/s"`
	Uncertainty float64 `unit:"m³/s"`
	Rising      bool
}

// ValveResult is one valve of a run, reduced.
type ValveResult struct {
	Name            string
	Record          string  // the name its record gets in a rack
	Seat            float64 `unit:"m"` // above the bench datum
	Marks           []Mark
	Sealing         valve.Threshold
	LettingGo       valve.Threshold
	Hysteresis      float64 `unit:"Pa"` // sealing less letting-go; meaningful with HasHysteresis
	HasHysteresis   bool
	Leaks           []LeakReading
	Leak            []valve.LeakPoint // the fitted curve
	SealingBudget   []BudgetLine
	LettingGoBudget []BudgetLine
	Coverage        float64 `unit:"1"` // coverage factor k for the expanded uncertainty shown
	// LettingGoCoverage is the coverage factor of the letting-go head; its degrees of freedom are its own.
	LettingGoCoverage float64 `unit:"1"`
	Statement         string  // one plain sentence: "shuts at 2.04 m ± 0.05 m (k = 2), lets go at 1.78 m"
}

// Finding is a remark on a run: instruments that disagree, a stuck gauge, a mark not used.
type Finding struct {
	ID    string
	Where string
	Text  string
}

// Result is a reduced sealing run.
type Result struct {
	Name             string
	Date             string
	Operator         string
	Bench            string
	WaterTemperature float64 `unit:"K"`
	Density          float64 `unit:"kg/m³"`
	Gravity          float64 `unit:"m/s²"`
	TubeTop          float64 `unit:"m"` // above the bench datum, 0 where there is no tube
	TightMeans       string  // "no drop in 60 s"
	Readings         []Reading
	Valves           []ValveResult
	Findings         []Finding
	Source           string
}
