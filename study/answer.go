package study

import (
	"fmt"
	"slices"
	"strings"

	"obvert/engine/costing"
	"obvert/engine/draining"
	"obvert/engine/sealing"
	"obvert/engine/siting"
	"obvert/line"
	"obvert/quantity"
)

// answer writes the three sentences that stand before any table.
func (s *solver) answer() {
	s.res.Answer = append(s.res.Answer, s.answerSealing())
	if a, ok := s.answerFlow(); ok {
		s.res.Answer = append(s.res.Answer, a)
	}
	s.res.Answer = append(s.res.Answer, s.answerCost())
}

// answerSealing is the first question: is every valve held shut when the line stands?
func (s *solver) answerSealing() Sentence {
	dripping, first, same := s.dripping()
	n := s.l.ValveCount()
	if n == 0 {
		return Sentence{State: "empty", Lead: "No air valve stands on this line.", Rest: "Where air gathers, and where it must come and go, is told below."}
	}
	if first == nil {
		s1 := Sentence{State: "tight", Lead: fmt.Sprintf("None of the %d air valves drips in any case.", n)}
		if n == 1 {
			s1.Lead = "The air valve drips in no case."
		}
		for i := range s.res.Findings {
			if f := &s.res.Findings[i]; f.ID == "sealing.holds" && f.Have.Text != "" {
				s1.Rest = fmt.Sprintf("The %s, is %s.", f.HaveLabel, f.Have.Text)
			}
			if f := &s.res.Findings[i]; f.ID == "sealing.unknown" {
				s1.Lead = fmt.Sprintf("No air valve is known to drip, but of %s it is not known.", f.Valve)
				s1.State = "empty"
			}
		}
		return s1
	}
	lead := fmt.Sprintf("%d of the %d air valves drip", len(dripping), n)
	if len(dripping) == 1 {
		lead = fmt.Sprintf("One of the %d air valves drips", n)
		if n == 1 {
			lead = "The air valve drips"
		}
	}
	if same {
		lead += s.when(first.Cases)
	}
	worst := ""
	if len(dripping) > 1 {
		worst = ", the worst,"
	}
	rest := fmt.Sprintf("valve %s at %s%s has %s %s and %s.", first.Valve, ch(first.Chainage), worst, first.Have.Text, first.HaveLabel, first.NeedText)
	lead += ":"
	if len(dripping) > 1 && len(dripping) <= 6 {
		rest += " Also: " + strings.Join(without(dripping, first.Valve), ", ") + "."
	}
	return Sentence{State: "drips", Lead: lead, Rest: rest}
}

// dripping are the names of the valves that drip, the finding of the one that lacks most head, and whether all drip in the same cases.
func (s *solver) dripping() (names []string, worst *Finding, same bool) {
	same = true
	for i := range s.res.Findings {
		f := &s.res.Findings[i]
		if f.ID != "sealing.drips" {
			continue
		}
		names = append(names, f.Valve)
		same = same && (worst == nil || slices.Equal(f.Cases, worst.Cases))
		if worst == nil || f.Need.Value-f.Have.Value > worst.Need.Value-worst.Have.Value {
			worst = f
		}
	}
	return names, worst, same
}

func without(names []string, name string) []string {
	var out []string
	for _, n := range names {
		if n != name {
			out = append(out, n)
		}
	}
	return out
}

// answerFlow is the second: where does the line run slack, and what stands empty at rest?
func (s *solver) answerFlow() (Sentence, bool) {
	for i := range s.res.Sealing.Valves {
		v := &s.res.Sealing.Valves[i]
		for k := range v.Cells {
			if v.Cells[k].State != sealing.Open || s.l.Cases[k].Kind == line.Standing {
				continue
			}
			sen := Sentence{State: "open", Lead: fmt.Sprintf("Valve %s at %s never shuts while the line flows:", v.Name, ch(v.Chainage)), Rest: "the grade line breaks there and the pipe beyond runs part full."}
			if e := s.emptyLength(); e > 1 {
				sen.Rest += fmt.Sprintf(" After each stop %s of pipe stand without water.", quantity.Format(e, "m", 0))
			}
			sen.Rest += s.startText()
			return sen, true
		}
	}
	best := -1
	for i := range s.res.Draining {
		if d := &s.res.Draining[i]; best < 0 || d.Lost > s.res.Draining[best].Lost {
			best = i
		}
	}
	if best < 0 || s.res.Draining[best].Lost <= 0 {
		return Sentence{}, false
	}
	d := &s.res.Draining[best]
	if d.Status == draining.GoesOn || d.Status == draining.HorizonReached {
		return Sentence{State: "drips", Lead: fmt.Sprintf("In %s %s a day run into the pits;", s.quoted(s.res.StandingCases[best]), liters(d.LossPerDay)), Rest: s.goesOn(d) + s.startText()}, true
	}
	sen := Sentence{State: "empty", Lead: fmt.Sprintf("Left standing, the line loses %s in %s:", liters(d.Lost), quantity.Duration(d.StopTime)), Rest: "no pipe that was full holds air then."}
	if d.DrainedLength >= 1 {
		sen.Rest = fmt.Sprintf("%s of pipe then hold air.", quantity.Format(d.DrainedLength, "m", 0))
	}
	sen.Rest += s.startText()
	return sen, true
}

// goesOn says why a leaking does not end.
func (s *solver) goesOn(d *draining.Result) string {
	if d.Status == draining.HorizonReached {
		return fmt.Sprintf("followed for %s, it leaks still.", quantity.Duration(d.StopTime))
	}
	return sentence(d.Reason)
}

// startText says what the first restart does.
func (s *solver) startText() string {
	for i := range s.res.Passed {
		p := &s.res.Passed[i]
		r := p.Refilling
		if s.l.Events[p.Event].Kind != line.Restart || r == nil || r.Water <= 1e-6 {
			continue
		}
		if !r.Filled {
			return " The next start does not fill it (" + r.Status + ")."
		}
		text := fmt.Sprintf(" The next start fills it in %s", quantity.Duration(r.TimeToFull))
		if r.Slam > 0.5 {
			text += fmt.Sprintf(", and the last air slams %s by %s", r.SlamAt, quantity.Format(r.Slam, "m", 0))
		}
		return text + "."
	}
	return ""
}

func wanting(n int) string {
	if n == 1 {
		return "One place wants an air valve and has none."
	}
	return fmt.Sprintf("%d places want an air valve and have none.", n)
}

// emptyLength is the largest length of pipe without water in any standing case.
func (s *solver) emptyLength() float64 {
	total := 0.0
	for i := range s.l.Runs {
		total += s.l.Runs[i].Length()
	}
	empty := 0.0
	for _, k := range s.res.StandingCases {
		wet := 0.0
		for _, p := range s.res.Grades[k].Pools {
			wet += p.WetLength
		}
		empty = max(empty, total-wet)
	}
	return empty
}

// answerCost is the third: what would cure it, and at what price?
func (s *solver) answerCost() Sentence {
	if _, f, _ := s.dripping(); f != nil && len(f.Cures) > 0 {
		sen := Sentence{State: "tight", Lead: "What would end the dripping at " + f.Valve + ":", Rest: strings.TrimPrefix(f.Cures[0], "Tried: ")}
		if sen.Rest == f.Cures[0] { // nothing of the rack was found tight there
			sen.State = "drips"
		}
		if extra := s.wayText(); extra != "" {
			sen.Rest += " " + extra
		} else if extra := s.costText(); extra != "" {
			sen.Rest += " " + extra
		}
		return sen
	}
	if extra := s.wayText(); extra != "" {
		return Sentence{State: "open", Lead: "Holding the open valve shut has a price.", Rest: extra}
	}
	if extra := s.costText(); extra != "" {
		return Sentence{State: "open", Lead: "Holding the open valve shut has a price.", Rest: extra}
	}
	missing := 0
	for i := range s.res.Findings {
		if s.res.Findings[i].ID == "siting.missing" && s.res.Findings[i].Severity == Fails {
			missing++
		}
	}
	if missing > 0 {
		return Sentence{State: "empty", Lead: wanting(missing), Rest: "What asks for it is told below, with its source."}
	}
	wanted := 0
	for _, c := range s.res.Siting.Candidates {
		if c.Verdict == siting.Missing {
			wanted++
		}
	}
	if wanted > 0 {
		return Sentence{State: "tight", Lead: "No high point lacks an air valve.", Rest: fmt.Sprintf("By spacing, slope or slack length %s more would be wanted; they are told below.", quantity.Number(float64(wanted), 0))}
	}
	return Sentence{State: "tight", Lead: "Every place that wants an air valve has one.", Rest: "The proof follows."}
}

// wayText names the cheapest way out.
func (s *solver) wayText() string {
	c := s.res.Ways
	if c == nil {
		c = s.res.Holding
	}
	if c == nil || c.Best < 0 {
		return ""
	}
	text := fmt.Sprintf("Over %.0f years the cheapest way out is this: %s.", c.Years, sentenceless(c.Ways[c.Best].Name))
	if c.Ways[c.Best].Kind == costing.AcceptLeak {
		text = fmt.Sprintf("Over %.0f years, with the hours given, nothing is cheaper than to leave it so.", c.Years)
		if c.Second >= 0 {
			return text + fmt.Sprintf(" The next way, %s, costs %s more.", sentenceless(c.Ways[c.Second].Name), s.money(c.Ways[c.Second].PresentValue-c.Ways[c.Best].PresentValue))
		}
		return text
	}
	if c.Second >= 0 {
		text += fmt.Sprintf(" The next costs %s more.", s.money(c.Ways[c.Second].PresentValue-c.Ways[c.Best].PresentValue))
	}
	return text
}

// sources lists what the figures rest on.
func (s *solver) sources() {
	s.res.Sources = []string{
		"Friction: Darcy–Weisbach with Colebrook–White; Hazen–Williams where a section says so.",
		"Water: IAPWS-IF97 region 1 and saturation line, IAPWS R12-08 viscosity. Air and atmosphere: ISO 2533.",
		"Slack sections: at every place the head above its bound and the head lost below it are both at least zero, and one of them is zero.",
		"Standing levels: the least, over all ways to an outlet, of the highest barrier on the way.",
		"Sealing: sealing head rising, letting-go head once shut; chances from the survey's, the tank's and the bench's errors, the common ones integrated.",
		"Draining: bodies of water at rest by leak curve and circular segment, time by quadrature in level; through openings by columns with friction.",
		"Refilling: rigid columns with friction and inertia, air by each valve's curve, slam by the momentum of the columns that meet.",
		"Air openings: isentropic flow with a coefficient, ISO 6358, or the measured curve. Collapse: ring and long tube, AWWA M11 where buried.",
		"Costs: equal volume a day, present value at the discount rate, energy by the tariff.",
		"Bench: uncertainty by JCGM 100:2008.",
		"Practice: " + s.l.Practice.Name + ".",
	}
	worst, mass := 0.0, 0.0
	for _, g := range s.res.Grades {
		worst, mass = max(worst, g.EnergyResidual), max(mass, g.MassResidual)
	}
	s.res.Sources = append(s.res.Sources, fmt.Sprintf("Balance of the steady solutions: %.1g m and %.1g m³/s at most.", worst, mass))
}
