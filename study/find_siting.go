package study

import (
	"fmt"
	"slices"
	"strings"

	"obvert/engine/siting"
	"obvert/quantity"
)

// findSiting tells what is missing, displaced or superfluous. Places that only spacing or a slight change of slope asks for are told together, run by run.
func (s *solver) findSiting() {
	type group struct {
		run int
		id  string
	}
	places := map[group][]siting.Candidate{}
	var order []group
	for _, c := range s.res.Siting.Candidates {
		switch {
		case c.Verdict == siting.Placed || len(c.Reasons) == 0:
		case c.Verdict == siting.Missing && !essential(c.Reasons):
			g := group{c.Run, c.Reasons[0].ID}
			if len(places[g]) == 0 {
				order = append(order, g)
			}
			places[g] = append(places[g], c)
		default:
			s.candidate(c)
		}
	}
	for _, g := range order {
		s.candidates(places[g])
	}
	for _, x := range s.res.Siting.Superfluous {
		s.res.Findings = append(s.res.Findings, Finding{ID: "siting.superfluous", Severity: Notable, Run: x.Run, Chainage: x.Chainage, Valve: x.Valve,
			Title: fmt.Sprintf("Nothing asks for valve %s", x.Valve), Text: sentence(x.Text), Cures: []string{"Leave it out, or say what it is for: every valve is one more to leak and to look after."}})
	}
}

// candidate tells one place that no practice leaves out, or a valve that stands beside its place.
func (s *solver) candidate(c siting.Candidate) {
	var why []string
	for _, x := range c.Reasons {
		why = append(why, sentence(x.Text))
	}
	f := Finding{ID: "siting.missing", Severity: Fails, Run: c.Run, Chainage: c.Chainage, Title: fmt.Sprintf("No air valve at %s on %s", ch(c.Chainage), s.l.Runs[c.Run].Name), Text: strings.Join(why, " "), Source: c.Reasons[0].Source,
		Cures: []string{fmt.Sprintf("Place one at %s.", ch(c.Chainage))}, Cautions: []string{cautionVacuum}}
	if c.Verdict == siting.Displaced {
		d := s.l.Practice.Displaced
		f.ID, f.Severity, f.Valve, f.Cautions = "siting.displaced", Notable, c.Valve, nil
		if essential(c.Reasons) {
			f.Severity = Doubtful
		}
		f.Title = fmt.Sprintf("Valve %s stands %s from where air gathers, at %s on %s", c.Valve, quantity.Format(c.Distance, "m", 0), ch(c.Chainage), s.l.Runs[c.Run].Name)
		f.Have, f.HaveLabel = Figure{quantity.Format(c.Distance, "m", 0), c.Distance, "m"}, "away"
		f.Need, f.NeedText, f.Source = Figure{quantity.Format(d.Value, "m", 0), d.Value, "m"}, "at most "+quantity.Format(d.Value, "m", 0), d.Source
		f.Cures = []string{fmt.Sprintf("Move it to %s.", ch(c.Chainage))}
	}
	s.res.Findings = append(s.res.Findings, f)
}

// candidates tells places of one run and one reason in one finding.
func (s *solver) candidates(all []siting.Candidate) {
	var at []string
	for i, c := range all {
		if i == mostNamed {
			at = append(at, fmt.Sprintf("and %d more", len(all)-i))
			break
		}
		at = append(at, ch(c.Chainage))
	}
	c := all[0]
	r := c.Reasons[0]
	title := fmt.Sprintf("An air valve is wanted at %s on %s", at[0], s.l.Runs[c.Run].Name)
	if len(all) > 1 {
		title = fmt.Sprintf("Air valves are wanted at %d places on %s", len(all), s.l.Runs[c.Run].Name)
	}
	severity := Notable
	if r.ID == "slack-end" {
		severity = Doubtful // air gathers there, at a place that moves with the case
	}
	text := "At " + strings.Join(at, ", ") + ". The first: " + sentence(r.Text)
	if len(all) == 1 {
		text = sentence(r.Text)
	}
	s.res.Findings = append(s.res.Findings, Finding{ID: "siting.wanted." + r.ID, Severity: severity, Run: c.Run, Chainage: c.Chainage, Title: title,
		Text: text, Source: r.Source,
		Cures: []string{placeThem(len(all)) + ", or set the practice's threshold otherwise and say why: sources differ by a factor of two, and every valve wants a pit."}})
}

// essential tells the reasons that no practice leaves out from those that judgement may: high points and ends of slack sections.
func essential(reasons []siting.Reason) bool {
	return slices.ContainsFunc(reasons, func(r siting.Reason) bool { return strings.Contains(r.ID, "high-point") })
}

func placeThem(n int) string {
	if n == 1 {
		return "Place it"
	}
	return "Place them"
}
