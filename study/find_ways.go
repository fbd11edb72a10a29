package study

import (
	"fmt"
	"strings"

	"obvert/engine/costing"
)

// findWays tells which way out is the cheapest, by how much, and what would have to change to change that.
func (s *solver) findWays() {
	if c := s.res.Ways; c != nil {
		s.findWay(c, "out of dripping", "No way out of dripping was found that holds every valve")
	}
	if c := s.res.Holding; c != nil {
		s.findWay(c, "to hold shut what stands open", "No way was found to hold shut what stands open")
	}
}

func (s *solver) findWay(c *costing.Comparison, way, none string) {
	f := Finding{ID: "costing.ways", Severity: Notable, Run: -1, Source: "each way solved at equal volume a day and priced over the life of the line"}
	if c.Best < 0 {
		f.Title = fmt.Sprintf("The ways %s are solved, but not priced", way)
		var lacks []string
		for _, w := range c.Ways {
			if w.Possible && len(w.NotPriced) > 0 {
				lacks = append(lacks, fmt.Sprintf("%s (%s)", w.Name, strings.Join(w.NotPriced, ", ")))
			}
		}
		if len(lacks) == 0 {
			f.Title = none
			f.Severity = Doubtful
		}
		f.Text = "Prices are wanting for: " + strings.Join(lacks, "; ") + "."
		s.res.Findings = append(s.res.Findings, f)
		return
	}
	best := &c.Ways[c.Best]
	f.Title = fmt.Sprintf("The cheapest way %s over %.0f years: %s", way, c.Years, best.Name)
	if best.Kind == costing.AcceptLeak {
		f.Title = fmt.Sprintf("Over %.0f years no way %s is cheaper than to leave it so", c.Years, way)
	}
	f.Have, f.HaveLabel = Figure{s.money(best.PresentValue), best.PresentValue, "currency"}, "present value, above what the line costs as it runs now"
	var text []string
	if best.Kind != costing.AcceptLeak { // its figures stand in the table; there is nothing to try
		text = append(text, sentence(best.Tried))
	}
	if c.Second >= 0 {
		second := &c.Ways[c.Second]
		text = append(text, fmt.Sprintf("Next: %s, %s more.", second.Name, s.money(second.PresentValue-best.PresentValue)))
	}
	if accept := wayOf(c, costing.AcceptLeak); accept != nil && accept != best && accept.Priced {
		text = append(text, fmt.Sprintf("To accept the leak costs %s more than the best.", s.money(accept.PresentValue-best.PresentValue)))
	}
	if c.BreakEven.Found {
		text = append(text, sentence(c.BreakEven.Text))
	}
	text = append(text, s.turning(c))
	if c == s.res.Ways {
		text = append(text, s.noHours())
	}
	f.Text = strings.TrimSpace(strings.Join(text, " "))
	var unpriced []string
	for _, w := range c.Ways {
		if w.Possible && !w.Priced {
			unpriced = append(unpriced, w.Name)
		}
	}
	if len(unpriced) > 0 {
		f.Cures = []string{"Not in the order, for want of a price: " + strings.Join(unpriced, "; ") + "."}
	}
	s.res.Findings = append(s.res.Findings, f)
}

func wayOf(c *costing.Comparison, kind costing.Kind) *costing.Way {
	for i := range c.Ways {
		if c.Ways[i].Kind == kind {
			return &c.Ways[i]
		}
	}
	return nil
}

// noHours names the cases in which valves drip and of which no day is made.
func (s *solver) noHours() string {
	var names []string
	for i, k := range s.res.StandingCases {
		if d := &s.res.Draining[i]; s.l.Cases[k].Hours == 0 && d.Lost > 0 {
			names = append(names, s.quoted(k))
		}
	}
	if len(names) == 0 || len(names) == len(s.res.StandingCases) {
		return ""
	}
	return "What leaks in " + strings.Join(names, " and ") + " costs nothing here, for it has no hours a day."
}

// turning says which input would change the order.
func (s *solver) turning(c *costing.Comparison) string {
	for i := range c.Tornado {
		if b := &c.Tornado[i]; b.Turns && b.InRange {
			return "The order hangs on this: " + sentence(b.Text)
		}
	}
	if len(c.Tornado) > 0 {
		return "No input within its range changes the order."
	}
	return ""
}
