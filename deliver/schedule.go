package deliver

import (
	"encoding/csv"
	"fmt"
	"io"
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
	Chainage float64 `unit:"m"` // along its run
	Reason   string  // why a valve stands there
	Obvert   float64 `unit:"m"` // level of the pipe's obvert above datum
	Seat     float64 `unit:"m"` // level of the valve's seat above datum

	Type                 string   // record in the rack
	TypeShort            string   // its letter in the drawings
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
	for c, cell := range s.Cells {
		name := r.Line.Cases[c].Name
		if row.LargestHead == nil || cell.Head > *row.LargestHead {
			row.LargestHead, row.LargestCase = ptr(cell.Head), name
		}
		row.OverRating = row.OverRating || cell.OverRating
		judged := cell.State == sealing.Tight || cell.State == sealing.Drips
		if judged && (row.SmallestMargin == nil || cell.Margin < *row.SmallestMargin) {
			row.SmallestMargin, row.SmallestCase = ptr(cell.Margin), name
		}
		if c == shown {
			row.Case, row.Head, row.State = name, ptr(cell.Head), cell.State.String()
			if judged {
				row.Probability = ptr(cell.Probability)
			}
			if cell.HasLeak {
				row.Leak = ptr(cell.Leak)
			} else if cell.State == sealing.Tight {
				row.Leak = ptr(0)
			}
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

// ScheduleCSV writes the schedule of air valves: UTF-8, comma separated, one head line, SI units in the heads, ten
// significant digits (RFC 4180). The heads are the schedule's keys in the JSON. A text that a spreadsheet would take for a
// formula gets an apostrophe before it.
func ScheduleCSV(w io.Writer, r *study.Result) error {
	if err := complete(r); err != nil {
		return err
	}
	t := reflect.TypeFor[ScheduleRow]()
	c := csv.NewWriter(w)
	c.UseCRLF = true
	var heads []string
	for i := range t.NumField() {
		heads = append(heads, jsonKey(t.Field(i)))
	}
	if err := c.Write(heads); err != nil {
		return err
	}
	for _, row := range Schedule(r) {
		v := reflect.ValueOf(row)
		var cells []string
		for i := range t.NumField() {
			s, err := cellText(v.Field(i))
			if err != nil {
				return fmt.Errorf("deliver: schedule: valve %q, %s: %w", row.Valve, heads[i], err)
			}
			cells = append(cells, s)
		}
		if err := c.Write(cells); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}

func cellText(v reflect.Value) (string, error) {
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			return "", nil
		}
		return cellText(v.Elem())
	case reflect.Float64:
		return number(v.Float())
	case reflect.Bool:
		if v.Bool() {
			return "yes", nil
		}
		return "no", nil
	}
	s := v.String()
	if s != "" && strings.ContainsRune("=+-@\t\r", rune(s[0])) {
		s = "'" + s
	}
	return s, nil
}
