package study

import (
	"fmt"
	"math"

	"obvert/engine/grade"
	"obvert/line"
)

// findStill tells of cases in which water should flow and does not.
func (s *solver) findStill() {
	for k := range s.res.Grades {
		if !flowing(&s.l.Cases[k]) {
			continue
		}
		most := 0.0
		for i := range s.res.Grades[k].Runs {
			most = max(most, math.Abs(s.res.Grades[k].Runs[i].Flow))
		}
		if most < 1e-9 {
			s.res.Findings = append(s.res.Findings, Finding{ID: "grade.no-flow", Severity: Fails, Run: -1, Cases: []int{k}, Title: "Nothing flows in " + s.quoted(k),
				Text:  "No level and no pump of this case brings water over the highest barrier on the way.",
				Cures: []string{"Check the levels against one datum; raise the source, run more pumps, or open what is closed in this case."}})
		}
	}
}

// findGrade turns the notes on the grade lines into findings, one for each place whatever the number of cases.
func (s *solver) findGrade() {
	type key struct{ id, where string }
	at := map[key]int{}
	for k := range s.res.Grades {
		for _, n := range s.res.Grades[k].Notes {
			if n.ID == "grade.slack" {
				continue // the valve that stands open there tells it
			}
			if i, ok := at[key{n.ID, n.Where}]; ok {
				s.res.Findings[i].Cases = append(s.res.Findings[i].Cases, k)
				continue
			}
			at[key{n.ID, n.Where}] = len(s.res.Findings)
			s.res.Findings = append(s.res.Findings, s.gradeFinding(n, k))
		}
	}
}

func (s *solver) gradeFinding(n grade.Note, k int) Finding {
	f := Finding{ID: n.ID, Severity: Notable, Run: -1, Text: n.Text, Cases: []int{k}}
	switch n.ID {
	case "grade.vapour":
		f.Severity, f.Title = Fails, "Water boils in "+n.Where
		f.Cures = []string{"Let air in at the place, or keep the grade line above the pipe with a sustaining valve."}
		f.Cautions = []string{cautionVacuum}
	case "grade.pump-cannot-lift":
		f.Severity, f.Title = Fails, "A pump of "+n.Where+" cannot lift"
		f.Cures = []string{"Do not run it in this case, or choose a pump whose shut-off head is above the duty."}
		f.Cautions = []string{cautionPump}
	case "grade.pump-shut-in":
		f.Severity, f.Title = Fails, "A pump of "+n.Where+" works against a closed way"
		f.Cures = []string{"Open the way in this case, or stop the pump: without flow its water heats."}
		f.Cautions = []string{cautionPump}
	case "grade.suction-starved":
		f.Severity, f.Title = Fails, n.Where+" asks more than its suction pipe brings"
		f.Cures = []string{"Less flow, a larger suction pipe, or a higher level before it."}
		f.Cautions = []string{cautionPump, cautionVacuum}
	case "grade.npsh":
		f.Severity, f.Title = Fails, "Pump "+n.Where+" has too little NPSH"
		f.Cures = []string{"Raise the suction level or lower the pump."}
		f.Cautions = []string{cautionPump}
	case "grade.beyond-curve":
		f.Severity, f.Title = Doubtful, "Pump "+n.Where+" works beyond its curve"
	case "grade.flow-not-reached":
		f.Severity, f.Title = Fails, "Pump "+n.Where+" does not reach the flow asked for"
	case "grade.speed-at-limit":
		f.Severity, f.Title = Fails, n.Where+" does not hold what its drive is asked to hold"
		f.Cures = []string{"Ask for less, or give the drive more speed or more pumps."}
	case "grade.air-bound":
		f.Severity, f.Title = Fails, "Trapped air keeps "+n.Where+" from flowing"
	case "grade.suction":
		f.Severity, f.Title, f.Cautions = Doubtful, "Standing water hangs under suction", []string{cautionVacuum}
		f.Text = n.Text + " What holds it: " + n.Where + "."
	case "grade.not-at-rest":
		f.Severity, f.Title = Doubtful, "The water from "+n.Where+" is not at rest"
	case "grade.station-passed":
		f.Title = "Water passes " + n.Where + " at rest"
	default:
		f.Title = n.Where
	}
	return f
}

// findPressure holds the largest pressure of every section against its rating.
func (s *solver) findPressure() {
	for i := range s.l.Runs {
		run := &s.l.Runs[i]
		worst, at, kase, rating := 0.0, -1, 0, 0.0
		for k := range s.res.Grades {
			for j, h := range s.res.Grades[k].Runs[i].PressureHead {
				sec := s.l.SectionAt(i, run.Points[j].Chainage)
				if sec == nil || sec.Rating <= 0 {
					continue
				}
				limit := s.l.Site.Head(sec.Rating)
				h += sec.Bore // at the invert, where it is largest
				if share := h / limit; share > worst {
					worst, at, kase, rating = share, j, k, limit
				}
			}
		}
		if at < 0 {
			continue
		}
		h := worst * rating
		f := Finding{ID: "pressure.rating", Severity: Holds, Run: i, Chainage: run.Points[at].Chainage, Cases: []int{kase}, Title: fmt.Sprintf("%s keeps within its rating", run.Name), Have: Figure{m2(h), h, "m"}, HaveLabel: "at the invert in " + s.quoted(kase),
			Need: Figure{m2(rating), rating, "m"}, NeedText: "rated " + m2(rating), Source: ratingSource(s.l.SectionAt(i, run.Points[at].Chainage)), Text: fmt.Sprintf("The steady cases use %s of the rating at %s. Fast events are not in this figure.", percent(worst), ch(run.Points[at].Chainage))}
		if worst > 1 {
			f.Severity, f.Title = Fails, fmt.Sprintf("%s stands above its rating", run.Name)
			f.Cures, f.Cautions = []string{"A higher pressure class here, or less head at the source."}, []string{cautionPressure}
		}
		s.res.Findings = append(s.res.Findings, f)
	}
}

// ratingSource says where a section's rating comes from.
func ratingSource(sec *line.Section) string {
	if sec != nil && sec.Size != "" {
		return "the section, " + sec.Size
	}
	return "as entered for the section"
}
