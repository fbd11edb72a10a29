package deliver

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"obvert/engine/costing"
	"obvert/physics/valve"
	"obvert/study"
)

// brief is a finding on the first page of the print.
type brief struct {
	No, Class, Word, Title, Where string
	Icon                          template.HTML
}

// findingView is a finding in full.
type findingView struct {
	No, Class, Word, Severity, Title string
	Icon                             template.HTML
	Place                            []string
	Text                             string
	Have, HaveLabel, Need            string
	Bar                              *bar
	Doubt, Source                    string
	Cures                            []string
	Cautions                         []findingCaution
}

// findingCaution is a caution beside a finding. On paper one that stands there already is told by the number of its finding.
type findingCaution struct{ Text, Again string }

// bar is a figure against its requirement.
type bar struct{ Have, Need, Scale string }

// Findings beyond these numbers are set in a table.
const (
	mostFindings = 20
	mostBrief    = 12
)

func (p *report) addFindings(r *study.Result, names map[string]string, numbered bool) {
	p.FindingsNote = "Bars: the figure found, with the requirement as a mark; each to the scale beside it."
	if len(r.Findings) == 0 {
		p.FindingsNote = "None."
	}
	told := map[string]string{}
	for i, f := range r.Findings {
		m, word := findingMark(f)
		no := grouped(float64(i + 1))
		if i < mostBrief {
			where := "whole line"
			if f.Run >= 0 {
				where = chainageText(f.Chainage)
			}
			p.Brief = append(p.Brief, brief{no, m.class(), word, f.Title, where, template.HTML(m.icon())})
		}
		if i >= mostFindings {
			p.moreFinding(r, f, no, word, m)
			continue
		}
		v := findingView{No: no, Class: m.class(), Word: word, Icon: template.HTML(m.icon()), Title: f.Title, Text: f.Text,
			Place: findingPlace(r, f, names, numbered), Have: f.Have.Text, HaveLabel: f.HaveLabel, Need: f.NeedText,
			Source: f.Source, Cures: f.Cures, Bar: findingBar(f)}
		for _, c := range f.Cautions {
			v.Cautions = append(v.Cautions, findingCaution{c, told[c]})
			if told[c] == "" {
				told[c] = no
			}
		}
		if s := f.Severity.String(); s != word && word != "holds" && word != "tight, just" {
			v.Severity = s
		}
		if f.Have.Value == 0 && f.Need.Text == "" { // nought against nothing: the text has said it
			v.Have, v.HaveLabel = "", ""
		}
		if v.Need == "" && f.Need.Text != "" {
			v.Need = "needs " + f.Need.Text
		}
		if f.Doubt > 0 {
			v.Doubt = "chance that it is the other way: " + chanceText(f.Doubt) + " %"
		}
		p.Findings = append(p.Findings, v)
	}
	if n := len(r.Findings) - mostBrief; n > 0 {
		p.BriefRest = upper(counted(n, "more finding is", "more findings are")) + " set out further on."
	}
}

// moreFinding sets a finding in the table under the first ones.
func (p *report) moreFinding(r *study.Result, f study.Finding, no, word string, m mark) {
	if p.More == nil {
		p.More = &table{Caption: "Further findings", Heads: heads(">No.", "state", "finding", ">chainage", ">found", "requirement", "what follows", "cure")}
	}
	where := "–"
	if f.Run >= 0 {
		where = chainageText(f.Chainage)
	}
	w := func(s string) tableCell { return tableCell{Text: s, Class: "w"} }
	p.More.row("", cellOf(no), tableCell{Text: word, Icon: template.HTML(m.icon()), Mark: m.class()}, w(f.Title), cellOf(where), cellOf(f.Have.Text),
		w(f.NeedText), w(f.Text), w(strings.Join(append(append([]string{}, f.Cures...), f.Cautions...), " ")))
}

// findingPlace says where and when: valve, type, chainage, run; cases.
func findingPlace(r *study.Result, f study.Finding, names map[string]string, numbered bool) []string {
	var where []string
	if f.Valve != "" {
		if n, ok := names[f.Valve]; ok && numbered && n != f.Valve {
			where = append(where, "No. "+n, f.Valve)
		} else {
			where = append(where, "valve "+f.Valve)
		}
	}
	if f.Type != "" {
		where = append(where, "type "+f.Type)
	}
	if f.Run >= 0 && f.Run < len(r.Line.Runs) {
		where = append(where, chainageText(f.Chainage))
		if len(r.Line.Runs) > 1 {
			where = append(where, r.Line.Runs[f.Run].Name)
		}
	} else if f.Valve == "" {
		where = append(where, "whole line")
	}
	var cases []string
	for _, c := range f.Cases {
		if c >= 0 && c < len(r.Line.Cases) {
			cases = append(cases, r.Line.Cases[c].Name)
		}
	}
	in := strings.Join(cases, "; ")
	if n := len(r.Line.Cases); n > 1 && len(cases) == n {
		in = "all " + strings.TrimSuffix(counted(n, "", "cases"), " ")
	}
	return nonEmpty(upper(strings.Join(where, ", ")), in)
}

// findingBar draws a figure against a requirement of the same unit.
func findingBar(f study.Finding) *bar {
	if f.Need.Text == "" || f.Have.Unit != f.Need.Unit || f.Need.Value < 0 || f.Have.Value < 0 {
		return nil
	}
	top := max(f.Have.Value, f.Need.Value)
	if top <= 0 {
		return nil
	}
	per, unit := barUnit(f.Have.Unit, top)
	step := niceStep(top / per / 4)
	full := math.Ceil(top/per*1.02/step) * step
	share := func(v float64) string { return num(100 * v / per / full) }
	return &bar{share(f.Have.Value), share(f.Need.Value), strings.TrimSpace("0–" + trimmed(full) + " " + unit)}
}

// barUnit is the unit in which a scale up to top reads best, and how much of the finding's own unit it holds.
func barUnit(unit string, top float64) (per float64, name string) {
	switch {
	case unit == "1":
		return 0.01, "%"
	case unit == "Pa" && top >= 2e5:
		return 1e5, "bar"
	case unit == "Pa":
		return 1e3, "kPa"
	case unit == "m³/s" && top < 1:
		return 1e-3, "L/s"
	case unit == "m³" && top < 0.1:
		return 1e-3, "L"
	}
	return 1, unit
}

// costTable is the price of sealing head at one place.
type costTable struct {
	Caption, CurveHead, SpeedHead string
	Speed                         bool
	Rows                          []costRow
	Notes                         []string
}

type costRow struct {
	Type, Sealing, Head, Energy, Bar, RuleAt, Cost, Speed, Rule string
	HasRule, HasSpeed                                           bool
	Impossible                                                  string // why there are no figures
	Span                                                        int
}

func (p *report) addCosts(r *study.Result, names map[string]string, rack *rackView) {
	priced := r.Line.Prices.HasEnergy
	if len(r.Costing) == 0 {
		return
	}
	p.CostNote = "What it takes to hold a valve shut while the line pumps, at equal volume a day, against leaving it open. "
	if priced {
		p.CostNote += "Energy at " + trimmed(r.Line.Prices.Energy) + " " + currency(r.Line.Prices.Currency) + "/kWh."
	} else {
		p.CostNote += "No price of energy was given: costs are shown as kWh."
	}
	for _, c := range r.Costing {
		p.Costs = append(p.Costs, newCostTable(r, c, names, rack, priced))
	}
}

// currency is a currency's sign, or its letters as given.
func currency(s string) string {
	if sign, ok := map[string]string{"EUR": "€", "USD": "$", "GBP": "£"}[s]; ok {
		return sign
	}
	if s == "" {
		return "money"
	}
	return s
}

func newCostTable(r *study.Result, c costing.Result, names map[string]string, rack *rackView, priced bool) costTable {
	money := c.Currency
	if money == "" {
		money = r.Line.Prices.Currency
	}
	t := costTable{Speed: true, CurveHead: "fixed speed", SpeedHead: "speed changed"}
	no := names[c.Valve]
	if no == "" {
		no = c.Valve
	}
	caseName := ""
	if c.Case >= 0 && c.Case < len(r.Line.Cases) {
		caseName = r.Line.Cases[c.Case].Name
	}
	unit := "kWh a year"
	if priced {
		unit = currency(money) + " a year"
	}
	t.Caption = fmt.Sprintf("Holding valve %s at %s shut, %s: %s", no, chainageText(c.Chainage), caseName, unit)
	scale := 0.0
	fixedCost := func(o costing.Option) float64 {
		if priced {
			return o.CostFixed
		}
		return o.Fixed.Energy - c.Base.Energy
	}
	variable := func(o costing.Option) float64 {
		if priced {
			return o.CostVariable
		}
		return o.Variable.Energy - c.Base.Energy
	}
	for _, o := range c.Options {
		if o.Fixed.Possible {
			scale = max(scale, fixedCost(o))
		}
		if priced {
			scale = max(scale, o.RuleOfThumb)
		}
	}
	for _, o := range c.Options {
		k := rack.of(o.Record)
		row := costRow{Type: o.Name, Sealing: headText(o.Sealing) + " m", Span: 6}
		switch o.Bound {
		case valve.MoreThan:
			row.Sealing = "> " + row.Sealing
		case valve.LessThan:
			row.Sealing = "< " + row.Sealing
		}
		if k != nil {
			row.Type = k.full()
		}
		if o.Enough {
			row.Impossible = "The place has that head already: nothing changes."
			t.Rows = append(t.Rows, row)
			continue
		}
		if !o.Fixed.Possible && !o.Variable.Possible {
			row.Impossible = upper(strings.TrimSuffix(o.Fixed.Why, ".")) + "."
			if o.Fixed.Why == "" {
				row.Impossible = "The pumps cannot do it."
			}
			t.Rows = append(t.Rows, row)
			continue
		}
		row.HasSpeed = true
		row.Head, row.Energy, row.Cost, row.Bar = marginText(o.RaisedHead), "–", "not possible", "0"
		if o.Fixed.Possible {
			row.Energy = signed(o.Fixed.Energy - c.Base.Energy)
			row.Cost = signed(fixedCost(o))
			if scale > 0 {
				row.Bar = num(100 * max(fixedCost(o), 0) / scale)
			}
		}
		row.Speed = "not possible"
		if o.Variable.Possible {
			row.Speed = signed(variable(o))
		}
		row.Rule = "–"
		if priced {
			row.Rule = grouped(roundTo(o.RuleOfThumb, 3))
			row.HasRule = scale > 0 && o.RuleOfThumb >= 0
			row.RuleAt = num(100 * o.RuleOfThumb / max(scale, 1e-12))
		}
		t.Rows = append(t.Rows, row)
	}
	t.Notes = append(t.Notes, fmt.Sprintf("Base, valve open: %s against %s m, %s h a day, %s kWh a year.", flowText(c.Base.Flow), headText(c.Base.Head), trimmed(c.Base.Hours), grouped(roundTo(c.Base.Energy, 4))))
	t.Notes = append(t.Notes, c.Assumed...)
	for _, n := range c.Notes {
		t.Notes = append(t.Notes, n.Text)
	}
	return t
}

// signed is a whole number to three significant digits with a minus where it is one.
func signed(v float64) string { return grouped(roundTo(v, 3)) }
