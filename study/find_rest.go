package study

import (
	"fmt"

	"obvert/engine/sealing"
	"obvert/quantity"
)

// findDays tells what goes wrong in a day, and what a day uses.
func (s *solver) findDays() {
	for i := range s.res.Days {
		d := &s.res.Days[i]
		name := s.l.Days[d.Day].Name
		for _, n := range d.Notes {
			if n.ID == "grade.slack" {
				continue // the steady cases tell it
			}
			f := Finding{ID: n.ID, Severity: Notable, Run: -1, Title: fmt.Sprintf("%s, in the day “%s”", sentenceless(n.Where), name), Text: sentence(n.Text)}
			switch n.ID {
			case "grade.tank-overflow", "grade.tank-empty", "grade.unmet-demand", "grade.day-limit":
				f.Severity = Fails
			case "grade.rule-idle", "grade.tank-fixed", "grade.tank-no-range":
				f.Severity = Doubtful
			}
			s.res.Findings = append(s.res.Findings, f)
		}
		f := Finding{ID: "day.uses", Severity: Holds, Run: -1, Title: fmt.Sprintf("The day “%s” takes %s", name, quantity.Format(d.Energy*3.6e6, "kWh", 0)),
			Have: Figure{liters(d.Delivered), d.Delivered, "m³"}, HaveLabel: "delivered", Text: "The water balance of its tanks closes.", Source: "steady flows in steps, tanks integrated, cut where a pump starts or stops"}
		if d.HasCost {
			f.Text = fmt.Sprintf("By the tariff that is %s. ", s.cents(d.Cost)) + f.Text
		}
		if d.Unmet > 0 {
			f.Severity = Notable
			f.Text += fmt.Sprintf(" %s that off-takes asked for were not delivered.", liters(d.Unmet))
		}
		s.res.Findings = append(s.res.Findings, f)
	}
}

func (s *solver) cents(v float64) string {
	return quantity.Number(v, 2) + "\u00a0" + s.l.Prices.Currency
}

// findChances tells the chance that any valve drips, and which error it hangs on.
func (s *solver) findChances() {
	d := &s.res.Drawn
	if d.N == 0 || d.Ever.Drips.P == 0 || d.Ever.Drips.P == 1 {
		return
	}
	f := Finding{ID: "sealing.any", Severity: Notable, Run: -1, Title: fmt.Sprintf("The chance that any valve drips in some case is %s", percent(d.Ever.Drips.P)),
		Have: Figure{percent(d.Ever.Drips.P), d.Ever.Drips.P, "1"}, HaveLabel: fmt.Sprintf("± %.1f %% (standard error of %s draws)", 100*d.Ever.Drips.Error, quantity.Number(float64(d.N), 0)),
		Source: "errors drawn from their stated distributions, common ones common to all valves"}
	if d.Ever.HasIndices {
		best := 0
		for i := range d.Ever.Indices {
			if d.Ever.Indices[i].First > d.Ever.Indices[best].First {
				best = i
			}
		}
		f.Text = fmt.Sprintf("It hangs most on the %s: to know that alone would take away %s of the doubt.", sealing.Source(best), percent(d.Ever.Indices[best].First))
	}
	s.res.Findings = append(s.res.Findings, f)
}
