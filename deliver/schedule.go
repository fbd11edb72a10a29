package deliver

import (
	"reflect"
	"sort"
	"strings"

	"obvert/engine/sealing"
	"obvert/engine/siting"
	"obvert/physics/valve"
	"obvert/study"
)

// ScheduleRow is one air valve of the schedule handed over. A figure that is not known is nil: null in JSON, empty in CSV.
type ScheduleRow struct {
	Number   string // the valve's name in the drawings
	Valve    string // its own name
	Run      string
	Chainage float64  `unit:"m"` // along its run
	Reason   string   // why a valve stands there
	Obvert   float64  `unit:"m"` // level of the pipe's obvert above datum
	Seat     float64  `unit:"m"` // level of the valve's seat above datum
	Ground   *float64 `unit:"m"` // level of the ground above datum; null where the profile does not give it

	Type                 string   // record in the rack
	TypeShort            string   // its letter in the drawings
	NominalDiameter      *float64 `unit:"m"`
	Connection           string
	Rating               *float64 `unit:"Pa"` // gauge
	RatingHead           *float64 `unit:"m"`  // the same in metres of the line's water
	SealingKnown         string   // "measured", "more than", "less than", "unknown"
	SealingHead          *float64 `unit:"m"` // rising, at the seat
	SealingUncertainty   *float64 `unit:"m"` // expanded, k = 2, of the mean
	LettingGoKnown       string
	LettingGoHead        *float64 `unit:"m"` // falling, at the seat
	LettingGoUncertainty *float64 `unit:"m"` // expanded, k = 2

	LargestHead *float64 `unit:"m"` // at the seat, over all cases
	LargestCase string
	OverRating  bool // in any case

	Case        string   // the case shown in the drawings
	Head        *float64 `unit:"m"` // at the seat
	State       string
	Probability *float64 `unit:"1"` // that it drips
	Leak        *float64 `unit:"m³/s"`

	SmallestMargin *float64 `unit:"m"` // over all cases in which water stands at the seat
	SmallestCase   string
	WorstState     string // in the worst case
	WorstCase      string
	LikeliestDrip  *float64 `unit:"1"` // the largest probability that it drips, over all cases in which water stands at the seat
	LikeliestCase  string

	AirIn        ScheduleAir // what it must let into the pipe, and what it lets in
	AirOut       ScheduleAir // what it must let out while the line fills, and what it lets out
	SmallOrifice *float64    `unit:"m"` // diameter wanted for air that comes out of the water, the larger of solubility and rule
	SizeVerdict  string      // "large enough", "too small", "cannot be judged", "no valve", or empty where it was not sized
	Remarks      string

	Cases []ScheduleCase // by operating case, in the order of the line
}

// ScheduleAir is the air that a valve must pass one way. Masses are of air; volumes are of free air at the site's atmosphere (sizing's
// atmosphere_pa and temperature_k).
type ScheduleAir struct {
	Duty         string   // the duty that governs: "draining", "full-bore burst", "partial burst", "column separation", "filling"; empty where none is required
	Differential *float64 `unit:"Pa"` // allowed between pipe and atmosphere
	Needed       *float64 `unit:"kg/s"`
	NeededFree   *float64 `unit:"m³/s"`
	Given        *float64 `unit:"kg/s"` // what the placed valve passes
	GivenFree    *float64 `unit:"m³/s"`
	GivenAt      *float64 `unit:"Pa"` // the differential at which it passes that, at most the one allowed
	Verdict      string   // "enough", "too little", "not known", "nothing required"
}

// ScheduleCase is a valve in one operating case.
type ScheduleCase struct {
	Name        string   // of the case
	Head        *float64 `unit:"m"` // available at the seat, gauge
	Needed      *float64 `unit:"m"` // that holds it shut: sealing head, or letting-go head where it was shut before
	Rule        string   // which of the two: "rising", "falling", "none"
	Margin      *float64 `unit:"m"` // available less needed, where water stands at the seat
	State       string
	Probability *float64 `unit:"1"`    // that it drips
	Leak        *float64 `unit:"m³/s"` // where it is known
}

// Schedule is the table of air valves, by number.
func Schedule(r *study.Result) []ScheduleRow {
	names, numbered := valveNumbers(r)
	rack := newRackView(r)
	shown := shownCase(r)
	rows := make([]ScheduleRow, 0, len(r.Sealing.Valves))
	for i := range r.Sealing.Valves {
		rows = append(rows, scheduleRow(r, &r.Sealing.Valves[i], names, rack, shown))
	}
	if numbered {
		sort.SliceStable(rows, func(i, j int) bool {
			a, b := strings.ReplaceAll(rows[i].Number, ",", ""), strings.ReplaceAll(rows[j].Number, ",", "")
			return len(a) < len(b) || len(a) == len(b) && a < b
		})
	}
	return rows
}

func scheduleRow(r *study.Result, s *sealing.ValveResult, names map[string]string, rack *rackView, shown int) ScheduleRow {
	row := ScheduleRow{Number: names[s.Name], Valve: s.Name, Run: r.Line.Runs[s.Run].Name, Chainage: s.Chainage, Reason: reason(r, s),
		Obvert: s.Obvert, Seat: s.Seat, SealingKnown: words[reflect.TypeFor[valve.Bound]()][0], LettingGoKnown: words[reflect.TypeFor[valve.Bound]()][0]}
	if t := rack.of(s.Record); t != nil {
		row.Type, row.TypeShort = t.name, t.short
		row.SealingKnown, row.SealingHead, row.SealingUncertainty = t.sealing.columns()
		row.LettingGoKnown, row.LettingGoHead, row.LettingGoUncertainty = t.lettingGo.columns()
	}
	row.place(r, s)
	row.air(r, s)
	for c := range r.Line.Cases {
		if c >= len(s.Cells) {
			row.Cases = append(row.Cases, ScheduleCase{Name: r.Line.Cases[c].Name, State: sealing.Unrated.String(), Rule: ruleWord(sealing.NoRule)})
			continue
		}
		row.inCase(r, &s.Cells[c], c)
		if c == shown {
			k := &row.Cases[c]
			row.Case, row.Head, row.State, row.Probability, row.Leak = k.Name, k.Head, k.State, k.Probability, k.Leak
		}
	}
	if s.Worst >= 0 && s.Worst < len(s.Cells) {
		row.WorstState, row.WorstCase = s.Cells[s.Worst].State.String(), r.Line.Cases[s.Worst].Name
	}
	return row
}

func ptr(v float64) *float64 { return &v }

func (h headValue) columns() (known string, mean, expanded *float64) {
	known = words[reflect.TypeFor[valve.Bound]()][h.bound]
	if h.known() {
		mean = ptr(h.mean)
	}
	if h.bound == valve.Measured {
		expanded = ptr(h.expanded)
	}
	return known, mean, expanded
}

// reasonWords are the reasons for a place, by their id, as short as a schedule wants them.
var reasonWords = map[string]string{
	"high-point": "high point", "grade-high-point": "high point to the grade line", "downslope-increase": "downslope increases",
	"upslope-decrease": "upslope decreases", "long-run": "long run", "pump-discharge": "pump discharge",
	"isolating-valve": "isolating valve", "slack-end": "end of slack length",
}

// reason is why a valve stands where it does: of the candidates it serves, a high point before any other; a place that it does not serve, however near,
// is no reason.
func reason(r *study.Result, s *sealing.ValveResult) string {
	id := ""
	for _, c := range r.Siting.Candidates {
		if c.Valve != s.Name || c.Run != s.Run || c.Verdict == siting.Missing {
			continue
		}
		for _, x := range c.Reasons {
			if id == "" || strings.Contains(x.ID, "high-point") && !strings.Contains(id, "high-point") {
				id = x.ID
			}
		}
	}
	if w := reasonWords[id]; w != "" {
		return w
	}
	if id != "" {
		return strings.ReplaceAll(id, "-", " ")
	}
	for _, p := range r.Siting.Superfluous {
		if p.Valve == s.Name {
			return "none found"
		}
	}
	return ""
}
