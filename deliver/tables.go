package deliver

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"obvert/bench"
	"obvert/engine/sealing"
	"obvert/physics/valve"
	"obvert/study"
)

// table is a table that slides sideways where the window is narrow.
type table struct {
	Caption string
	Quiet   bool // the caption is for screen readers only
	Groups  []group
	Heads   []head
	Rows    []tableRow
}

// Half tells that a table is narrow enough to stand beside another.
func (t *table) Half() bool {
	for _, h := range t.Heads {
		if h.Class == "w" {
			return false
		}
	}
	return len(t.Heads) <= 7 && len(t.Groups) == 0
}

type group struct {
	Text string
	Span int
}

type head struct {
	Lines []string
	Class string
}

type tableRow struct {
	Class string
	Cells []tableCell
}

type tableCell struct {
	Text  string
	Class string
	Icon  template.HTML
	Mark  string
}

// heads reads "letting go|↓" as two lines; a leading > sets the column to the right.
func heads(s ...string) []head {
	var out []head
	for _, t := range s {
		h := head{}
		if rest, ok := strings.CutPrefix(t, ">"); ok {
			h.Class, t = "n", rest
		}
		h.Lines = strings.Split(t, "|")
		out = append(out, h)
	}
	return out
}

// row sets cells in the classes of the heads.
func (t *table) row(class string, cells ...tableCell) {
	for i := range cells {
		if cells[i].Class == "" && i < len(t.Heads) {
			cells[i].Class = t.Heads[i].Class
		}
	}
	t.Rows = append(t.Rows, tableRow{class, cells})
}

func cellOf(s string) tableCell { return tableCell{Text: s} }

// wide is a cell whose text may wrap.
func wide(s string) tableCell {
	c := tableCell{Text: s}
	if len(s) > 22 {
		c.Class = "w"
	}
	return c
}

func optional(v *float64, f func(float64) string) string {
	if v == nil {
		return "–"
	}
	return f(*v)
}

func (p *report) addSchedule(r *study.Result, rack *rackView, numbered bool) {
	rows := Schedule(r)
	p.ScheduleNote = "Levels in metres above datum, heads in metres of the line's water at the seat" + seatNote(r) + "."
	shown := shownCase(r)
	name := ""
	if shown >= 0 {
		name = upper(r.Line.Cases[shown].Name)
	}
	t := &table{Caption: "Schedule of air valves", Quiet: true}
	place := []string{">No.", ">chainage", "reason", ">obvert|m", ">seat|m", "type"}
	if numbered {
		place = append([]string{">No.", "name"}, place[1:]...)
	}
	if len(r.Line.Runs) > 1 {
		place = append(place[:1:1], append([]string{"run"}, place[1:]...)...)
	}
	t.Groups = []group{{"Place", len(place)}, {"From the bench, m at the seat", 4}, {"Largest", 1}, {name, 4}, {"Smallest margin", 2}}
	t.Heads = heads(append(place, ">sealing|↑", ">±|k = 2", ">letting go|↓", ">±|k = 2", ">head|m", ">head|m", "state", ">may drip|%", ">leak|L/day", ">m", "in case")...)
	for _, s := range rows {
		m := wordMark(s.State)
		cells := []tableCell{cellOf(s.Number)}
		if len(r.Line.Runs) > 1 {
			cells = append(cells, wide(s.Run))
		}
		if numbered {
			cells = append(cells, wide(s.Valve))
		}
		typ := s.Type
		if rack.lettered && s.TypeShort != "" {
			typ = s.TypeShort + ", " + s.Type
		}
		if typ == "" {
			typ = "–"
		}
		head := optional(s.LargestHead, headText)
		if s.OverRating {
			head += " over rating"
		}
		in := s.SmallestCase
		if in == "" {
			in = "in air in every case"
			if s.SealingKnown == "unknown" {
				in = "not judged"
			}
		}
		cells = append(cells, cellOf(chainageText(s.Chainage)), cellOf(s.Reason), cellOf(levelText(s.Obvert)), cellOf(levelText(s.Seat)), wide(typ),
			cellOf(boundText(s.SealingKnown, s.SealingHead)), cellOf(optional(s.SealingUncertainty, rulerText)),
			cellOf(boundText(s.LettingGoKnown, s.LettingGoHead)), cellOf(optional(s.LettingGoUncertainty, rulerText)),
			cellOf(head), cellOf(optional(s.Head, headText)),
			tableCell{Text: s.State, Icon: template.HTML(m.icon()), Mark: m.class()},
			cellOf(optional(s.Probability, chanceText)), cellOf(optional(s.Leak, perDayText)),
			cellOf(optional(s.SmallestMargin, marginText)), wide(in))
		class := m.class()
		if s.WorstState == sealing.Drips.String() {
			class = "drips"
		}
		t.row(class, cells...)
	}
	p.Schedule = t
}

func boundText(known string, v *float64) string {
	switch {
	case known == "not applicable":
		return "none"
	case v == nil:
		return "–"
	case known == "more than":
		return "> " + rulerText(*v)
	case known == "less than":
		return "< " + rulerText(*v)
	}
	return rulerText(*v)
}

// seatNote says how high the seats stand above the obvert.
func seatNote(r *study.Result) string {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, s := range r.Sealing.Valves {
		lo, hi = min(lo, s.Seat-s.Obvert), max(hi, s.Seat-s.Obvert)
	}
	switch {
	case hi < lo:
		return ""
	case hi-lo < 0.005:
		return ", seats " + fixed(hi, 2) + " m above the obvert"
	}
	return ", seats " + fixed(lo, 2) + " to " + fixed(hi, 2) + " m above the obvert"
}

// resultTable is what a run found, valve by valve.
func (d *benchRun) resultTable() *table {
	t := &table{Caption: "Result, m of the bench's water at the seat", Heads: heads("valve", "record", ">sealing|↑", ">± |expanded", ">shut to|shut", ">letting go|↓", ">± |expanded", ">hysteresis", ">repeats", "in words")}
	for i, v := range d.Valves {
		text := func(q valve.Threshold, k float64) (mean, u string) {
			if k <= 0 {
				k = 2
			}
			h := headValue{q.Bound, d.metres(q.Mean), k * d.metres(q.Uncertainty)}
			u = "–"
			if q.Bound == valve.Measured && h.expanded > 0 {
				u = significant(h.expanded, 2) + " (k = " + trimmed(k) + ")"
			}
			return h.text(), u
		}
		s, su := text(v.Sealing, v.Coverage)
		l, lu := text(v.LettingGo, v.LettingGoCoverage)
		scatter, hyst := "–", "–"
		if v.Sealing.HasScatter {
			scatter = rulerText(d.metres(v.Sealing.Scatter))
		}
		if v.HasHysteresis {
			hyst = rulerText(d.metres(v.Hysteresis))
		}
		record := v.Record
		if d.names[i] != v.Record && record != "" {
			record = d.names[i] + ", " + record
		}
		t.row("", wide(v.Name), wide(record), cellOf(s), cellOf(su), cellOf(scatter), cellOf(l), cellOf(lu), cellOf(hyst), cellOf(fmt.Sprint(v.Sealing.Repeats)),
			tableCell{Text: v.Statement, Class: "w"})
	}
	return t
}

// budgetRow is one quantity of the budgets of several valves.
type budgetRow struct {
	quantity, unit, distribution, source string
	lo, hi, freedom                      float64
	share                                map[int][2]string // by valve: contribution to sealing and to letting go, Pa
}

// budgetTables show every line of the uncertainty budgets: a row for each quantity, a column for each valve with what it
// contributes to the sealing and to the letting-go pressure. Six valves stand side by side.
func (d *benchRun) budgetTables() []*table {
	const side = 6
	var out []*table
	for from := 0; from < len(d.Valves); from += side {
		some := d.Valves[from:min(from+side, len(d.Valves))]
		rows := budgetRows(some)
		if len(rows) == 0 {
			continue
		}
		t := &table{Caption: "Uncertainty budget (JCGM 100:2008): standard uncertainty of each quantity, and what it adds to sealing / letting-go pressure, Pa"}
		names := []string{"quantity", ">standard|uncertainty", "unit", "distribution", ">degrees of|freedom"}
		for i := range some {
			names = append(names, ">"+d.names[from+i]+"|Pa")
		}
		t.Heads = heads(append(names, "source")...)
		for _, r := range rows {
			u, free := significant(r.lo, 2), "∞"
			if significant(r.hi, 2) != u {
				u += " to " + significant(r.hi, 2)
			}
			if r.freedom > 0 {
				free = trimmed(r.freedom)
			}
			cells := []tableCell{wide(r.quantity), cellOf(u), cellOf(r.unit), cellOf(r.distribution), cellOf(free)}
			for i := range some {
				s := r.share[i]
				cells = append(cells, cellOf(dashed(s[0])+" / "+dashed(s[1])))
			}
			t.row("", append(cells, tableCell{Text: r.source, Class: "w"})...)
		}
		cells := []tableCell{cellOf("combined"), cellOf(""), cellOf(""), cellOf(""), cellOf("")}
		for _, v := range some {
			cells = append(cells, cellOf(combined(v.Sealing)+" / "+combined(v.LettingGo)))
		}
		t.row("", append(cells, tableCell{Text: "root of the sum of squares, with correlations", Class: "w"})...)
		out = append(out, t)
	}
	return out
}

func budgetRows(valves []bench.ValveResult) []*budgetRow {
	var rows []*budgetRow
	byKey := map[string]*budgetRow{}
	for i, v := range valves {
		for k, lines := range [2][]bench.BudgetLine{v.SealingBudget, v.LettingGoBudget} {
			for _, l := range lines {
				key := l.Quantity + "\x00" + l.Unit + "\x00" + l.Distribution + "\x00" + l.Source
				r := byKey[key]
				if r == nil {
					r = &budgetRow{quantity: l.Quantity, unit: l.Unit, distribution: l.Distribution, source: l.Source, lo: l.Uncertainty, hi: l.Uncertainty, freedom: l.Freedom, share: map[int][2]string{}}
					byKey[key] = r
					rows = append(rows, r)
				}
				r.lo, r.hi = min(r.lo, l.Uncertainty), max(r.hi, l.Uncertainty)
				s := r.share[i]
				s[k] = significant(l.Contribution, 2)
				r.share[i] = s
			}
		}
	}
	return rows
}

func dashed(s string) string {
	if s == "" {
		return "–"
	}
	return s
}

func combined(t valve.Threshold) string {
	if t.Bound != valve.Measured || t.Uncertainty == 0 {
		return "–"
	}
	return significant(t.Uncertainty, 2)
}
