package study

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"obvert/engine/siting"
	"obvert/quantity"
)

// findSiting tells what is missing, displaced or superfluous. Places that only spacing, a slight change of slope or a valve that can be shut asks
// for are told together, run by run; those at the end of a slack section apart, for they weigh more.
func (s *solver) findSiting() {
	type group struct {
		run   int
		slack bool
	}
	places := map[group][]siting.Candidate{}
	var order []group
	for _, c := range s.res.Siting.Candidates {
		switch {
		case c.Verdict == siting.Placed || len(c.Reasons) == 0:
		case c.Verdict == siting.Missing && !essential(c.Reasons):
			g := group{c.Run, c.Reasons[0].ID == slackEnd}
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

// slackEnd is the reason of a place where a part-full length is full again: air gathers there, and it moves with the case.
const slackEnd = "slack-end"

// candidates tells places of one run in one finding: by reason, the places it names and the words of its first.
func (s *solver) candidates(all []siting.Candidate) {
	var reasons []siting.Reason
	at := map[string][]string{}
	for _, c := range all {
		r := c.Reasons[0]
		if len(at[r.ID]) == 0 {
			reasons = append(reasons, r)
		}
		at[r.ID] = append(at[r.ID], ch(c.Chainage))
	}
	c := all[0]
	f := Finding{ID: "siting.wanted", Severity: Notable, Run: c.Run, Chainage: c.Chainage, Source: reasons[0].Source,
		Cures: []string{placeThem(len(all)) + ", or set the practice's threshold otherwise and say why: sources differ by a factor of two, and every valve wants a pit."}}
	if reasons[0].ID == slackEnd {
		f.ID, f.Severity = "siting.wanted.slack-end", Doubtful
	}
	name := s.l.Runs[c.Run].Name
	if len(all) == 1 {
		f.Title, f.Text = fmt.Sprintf("An air valve is wanted at %s on %s", ch(c.Chainage), name), sentence(reasons[0].Text)
		s.res.Findings = append(s.res.Findings, f)
		return
	}
	f.Title = fmt.Sprintf("Air valves are wanted at %d places on %s", len(all), name)
	var told, sources []string
	for _, r := range reasons {
		places := at[r.ID]
		if len(places) > mostNamed {
			places = append(slices.Clone(places[:mostNamed]), fmt.Sprintf("%d more", len(places)-mostNamed))
		}
		where := places[0]
		if len(places) > 1 {
			where += " (likewise " + strings.Join(places[1:], ", ") + ")"
		}
		told = append(told, "At "+where+": "+lower(sentence(r.Text)))
		if r.Source != "" && !slices.Contains(sources, r.Source) {
			sources = append(sources, r.Source)
		}
	}
	f.Text, f.Source = strings.Join(told, " "), strings.Join(sources, "; ")
	s.res.Findings = append(s.res.Findings, f)
}

// essential tells the reasons that no practice leaves out from those that judgement may: high points and ends of slack sections.
func essential(reasons []siting.Reason) bool {
	return slices.ContainsFunc(reasons, func(r siting.Reason) bool { return strings.Contains(r.ID, "high-point") })
}

// lower sets the first letter of a sentence small, to stand after a colon.
func lower(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToLower(r)) + s[n:]
}

func placeThem(n int) string {
	if n == 1 {
		return "Place it"
	}
	return "Place them"
}
