package study

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"obvert/engine/sealing"
	"obvert/line"
	"obvert/physics/valve"
	"obvert/quantity"
)

// findSealing has a finding for every valve and state that somebody must know of, and one for all that hold.
func (s *solver) findSealing() {
	var hold []string
	var dry []dryValve
	least, leastAt := math.Inf(1), -1
	for i := range s.res.Sealing.Valves {
		v := &s.res.Sealing.Valves[i]
		by := map[sealing.State][]int{}
		var over, doubtful []int
		for k := range v.Cells {
			c := &v.Cells[k]
			by[c.State] = append(by[c.State], k)
			if c.OverRating {
				over = append(over, k)
			}
			if c.State == sealing.Tight && c.Probability > s.l.Practice.Drips.Value {
				doubtful = append(doubtful, k)
			}
		}
		placed := &s.l.Runs[v.Run].Placed[v.Placed]
		switch {
		case placed.Isolated:
			s.add(i, nil, Finding{ID: "sealing.isolated", Severity: Notable, Title: fmt.Sprintf("Valve %s is shut off from the line", v.Name),
				Text: "Its isolating valve is closed: it neither lets air in or out nor leaks. What it stands there for does not happen.", Cures: []string{"Open its isolating valve, or take it off the schedule."}})
			continue
		case v.Record < 0:
			s.add(i, nil, Finding{ID: "sealing.unknown", Severity: Doubtful, Title: fmt.Sprintf("Valve %s has no type", v.Name),
				Text: "Nothing can be said of its tightness until a type with a measured sealing head is chosen.", Cures: s.fitting(i)})
			continue
		}
		if len(by[sealing.Drips]) > 0 {
			s.drips(i, by[sealing.Drips])
		}
		if len(by[sealing.Unrated]) > 0 {
			s.unknown(i, by[sealing.Unrated])
		}
		if len(doubtful) > 0 {
			s.doubtful(i, doubtful)
		}
		if len(over) > 0 {
			s.overRating(i, over)
		}
		if open := by[sealing.Open]; len(open) > 0 {
			s.open(i, open)
		}
		if empty := by[sealing.Empty]; len(empty) > 0 {
			dry = append(dry, dryValve{i, empty})
		}
		if len(by[sealing.Tight]) == len(v.Cells) && len(doubtful) == 0 {
			hold = append(hold, v.Name)
			for k := range v.Cells {
				if v.Cells[k].Margin < least {
					least, leastAt = v.Cells[k].Margin, i
				}
			}
		}
	}
	s.dryTogether(dry)
	if len(hold) > 0 {
		f := Finding{ID: "sealing.holds", Severity: Holds, State: "tight", Run: -1, Title: fmt.Sprintf("%s held shut in every case", countValves(len(hold))),
			Text: "Tight throughout: " + strings.Join(hold, ", ") + "."}
		if leastAt >= 0 {
			f.Have = Figure{signed(least), least, "m"}
			f.HaveLabel = "smallest margin, at valve " + s.res.Sealing.Valves[leastAt].Name
		}
		s.res.Findings = append(s.res.Findings, f)
	}
}

func countValves(n int) string {
	if n == 1 {
		return "One valve is"
	}
	return fmt.Sprintf("%d valves are", n)
}

// worstOf is the case among some in which a valve's margin is smallest.
func worstOf(v *sealing.ValveResult, cases []int) int {
	worst := cases[0]
	for _, k := range cases {
		if v.Cells[k].Margin < v.Cells[worst].Margin {
			worst = k
		}
	}
	return worst
}

func ruleName(r sealing.Rule) string {
	if r == sealing.Falling {
		return "letting-go head"
	}
	return "sealing head"
}

func (s *solver) needOf(v *sealing.ValveResult, c *sealing.Cell) (Figure, string, string) {
	text := fmt.Sprintf("needs %s (%s)", m2(c.Needed), ruleName(c.Rule))
	if c.Rule == sealing.Falling {
		text += fmt.Sprintf(", %s to shut anew", m2(v.Sealing))
	}
	r := &s.l.Rack[v.Record]
	source := r.Origin
	if r.Typical {
		source = "typical of its class, common practice, no source"
	}
	if source == "" {
		source = "the record of " + r.Name
	}
	return Figure{m2(c.Needed), c.Needed, "m"}, text, source
}

func (s *solver) drips(i int, cases []int) {
	v := &s.res.Sealing.Valves[i]
	k := worstOf(v, cases)
	c := &v.Cells[k]
	f := Finding{ID: "sealing.drips", Severity: Fails, State: "drips", Title: fmt.Sprintf("Valve %s drips%s", v.Name, s.when(cases)),
		Have: Figure{m2(c.Head), c.Head, "m"}, HaveLabel: "at the seat in " + s.quoted(k), Doubt: 1 - c.Probability}
	f.Need, f.NeedText, f.Source = s.needOf(v, c)
	f.Text = s.leakText(v, k) + s.restText(v.Name, cases)
	f.Cures = append(s.fitting(i), s.exchangeText(v.Name, cases)...)
	f.Cautions = []string{cautionPit}
	if slices.ContainsFunc(cases, func(k int) bool { return s.l.Cases[k].Kind == line.Standing }) {
		f.Cautions = append(f.Cautions, cautionStart)
	}
	s.add(i, cases, f)
}

// when says in a few words in which cases.
func (s *solver) when(cases []int) string {
	standing := 0
	for _, k := range cases {
		if s.l.Cases[k].Kind == line.Standing {
			standing++
		}
	}
	switch {
	case len(cases) == len(s.l.Cases):
		return " in every case"
	case standing == len(cases) && standing == len(s.res.StandingCases):
		return " whenever the line stands"
	case len(cases) == 1:
		return " in " + s.quoted(cases[0])
	}
	return fmt.Sprintf(" in %d of %d cases", len(cases), len(s.l.Cases))
}

func (s *solver) leakText(v *sealing.ValveResult, k int) string {
	c := &v.Cells[k]
	if !c.HasLeak {
		return "How much it leaks is not known: its record has no leak curve. "
	}
	day := c.Leak * 86400
	text := fmt.Sprintf("It drips %s, ", quantity.Format(c.Leak, "L/h", 1))
	if s.l.Cases[k].Kind == line.Standing {
		day = c.Leak * s.secondsStanding(k)
		if h := s.secondsStanding(k); h < 86400 && s.l.Cases[k].Hours == 0 && s.someStand() {
			return text + fmt.Sprintf("%s in %s at rest, into the pit. ", liters(day), quantity.Format(h, "h", 1))
		} else if h < 86400 {
			return text + fmt.Sprintf("%s in the %s a day that it stands, into the pit. %s", liters(day), quantity.Format(h, "h", 1), s.waterCost(day))
		}
		return text + fmt.Sprintf("%s in 24 h at rest, into the pit. %s", liters(day), s.waterCost(day))
	}
	return text + fmt.Sprintf("%s a day, into the pit. ", liters(day))
}

// someStand tells whether some standing case has hours a day: then one without them is an extreme, of which no day is made.
func (s *solver) someStand() bool {
	return slices.ContainsFunc(s.res.StandingCases, func(k int) bool { return s.l.Cases[k].Hours > 0 })
}

// waterCost is what the water lost a day is worth a year, where its price was given.
func (s *solver) waterCost(day float64) string {
	p := &s.l.Prices
	if !p.HasWater {
		return ""
	}
	return fmt.Sprintf("At its price that is %s a year. ", s.money(day*p.DaysPerYear*p.Water))
}

// liters is a volume as people say it.
func liters(m3 float64) string {
	if m3 >= 9999.5 {
		return quantity.Grouped(m3) + "\u00a0m³"
	}
	if m3 >= 10 {
		return quantity.Format(m3, "m³", 1)
	}
	return quantity.Format(m3, "L", 0)
}

// restText says what a leak drains.
func (s *solver) restText(valve string, cases []int) string {
	for _, r := range s.res.Rests {
		if !slices.Contains(cases, r.Case) || !slices.Contains(r.Leaking, valve) {
			continue
		}
		if r.Fed {
			return "A tank makes good what is lost: the level stays, and so does the dripping. "
		}
		if r.Governs == "" {
			return fmt.Sprintf("Left alone for %s the water beside it loses %s. ", quantity.Duration(standingHorizon), liters(r.Lost))
		}
		text := fmt.Sprintf("Left alone the water falls to %s above datum, the seat of %s: %s are lost", m2(r.Level), r.Governs, liters(r.Lost))
		if r.Empty > 1 {
			text += fmt.Sprintf(" and %s of pipe stand empty. At the next start that air has to leave first, fast, and the valves slam behind it", quantity.Format(r.Empty, "m", 0))
		}
		return text + ". "
	}
	return ""
}

// exchangeText says which valve's exchange would change where the water ends.
func (s *solver) exchangeText(valve string, cases []int) []string {
	for _, r := range s.res.Rests {
		if slices.Contains(cases, r.Case) && slices.Contains(r.Leaking, valve) && !r.Fed && r.Governs != "" && r.Governs != valve && len(r.Leaking) > 1 {
			return []string{fmt.Sprintf("Exchanging this valve alone leaves the line draining to the seat of %s: that one sets where the water ends.", r.Governs)}
		}
	}
	return nil
}

func (s *solver) unknown(i int, cases []int) {
	v := &s.res.Sealing.Valves[i]
	c := &v.Cells[cases[0]]
	r := &s.l.Rack[v.Record]
	f := Finding{ID: "sealing.unknown", Severity: Doubtful, Title: fmt.Sprintf("Whether valve %s seals is not known", v.Name), Have: Figure{m2(c.Head), c.Head, "m"}, HaveLabel: "at the seat in " + s.quoted(cases[0]),
		Text: fmt.Sprintf("The record of %s does not say at which head it shuts.", r.Name), Source: r.Origin, Cures: append([]string{"Put it on the bench."}, s.fitting(i)...)}
	if r.Sealing.Bound == valve.MoreThan {
		f.Text = fmt.Sprintf("%s was still dripping at %s, the most it was given on the bench; what it does above that nobody has seen.", r.Name, m2(s.l.Site.Head(r.Sealing.Mean)))
	}
	s.add(i, cases, f)
}

func (s *solver) doubtful(i int, cases []int) {
	v := &s.res.Sealing.Valves[i]
	k := worstOf(v, cases)
	c := &v.Cells[k]
	f := Finding{ID: "sealing.doubtful", Severity: Doubtful, State: "tight", Title: fmt.Sprintf("Valve %s holds by less than the errors", v.Name), Have: Figure{signed(c.Margin), c.Margin, "m"}, HaveLabel: "margin in " + s.quoted(k), Doubt: c.Probability,
		Text: fmt.Sprintf("Its margin is %s with a standard uncertainty of %s: the chance that it drips is %s.", m2(c.Margin), m2(c.Sigma), percent(c.Probability))}
	f.Need, f.NeedText, f.Source = s.needOf(v, c)
	f.Cures = append([]string{"Survey the seat and the standing level against one benchmark before money is spent."}, s.fitting(i)...)
	s.add(i, cases, f)
}

func (s *solver) overRating(i int, cases []int) {
	v := &s.res.Sealing.Valves[i]
	k := cases[0]
	for _, j := range cases {
		if v.Cells[j].Head > v.Cells[k].Head {
			k = j
		}
	}
	rated := s.l.Site.Head(s.l.Rack[v.Record].Rating)
	s.add(i, cases, Finding{ID: "valve.rating", Severity: Fails, Title: fmt.Sprintf("Valve %s stands above its rating", v.Name), Have: Figure{m2(v.Cells[k].Head), v.Cells[k].Head, "m"}, HaveLabel: "at the seat in " + s.quoted(k),
		Need: Figure{m2(rated), rated, "m"}, NeedText: "rated " + m2(rated), Source: "the record of " + s.typeName(v.Record), Text: "Its body and float are not made for this pressure.", Cures: []string{"Choose a type rated for it."}, Cautions: []string{cautionPressure}})
}

// open tells of a valve at which air stands while it could let water out.
func (s *solver) open(i int, open []int) {
	v := &s.res.Sealing.Valves[i]
	lost, length := 0.0, 0.0
	for _, k := range open {
		for _, sl := range s.res.Grades[k].Slack {
			if sl.Run == v.Run && math.Abs(sl.From-v.Chainage) < 1 {
				lost, length = max(lost, sl.HeadLost), max(length, math.Abs(sl.To-sl.From))
			}
		}
	}
	f := Finding{ID: "sealing.open", Severity: Notable, State: "open", Title: fmt.Sprintf("Valve %s stays open%s", v.Name, s.when(open)), Have: Figure{m2(0), 0, "m"}, HaveLabel: "at the seat", Cautions: []string{cautionVacuum}}
	if slices.ContainsFunc(open, func(k int) bool { return flowing(&s.l.Cases[k]) }) {
		f.Text = "Air stands at it while the line flows: it is open, not leaking. "
		if length > 0 {
			f.Text += fmt.Sprintf("The pipe runs part full over %s beyond it and %s of head are lost there. ", quantity.Format(length, "m", 0), m2(lost))
		}
		f.Cures = s.holdOpen(v)
	} else {
		f.Text = "At rest the water's surface stands in the pipe below its seat: it is open, not leaking."
		f.Cautions = []string{cautionStart}
	}
	s.add(i, open, f)
}

// dryValve is a valve that no water reaches in some cases.
type dryValve struct {
	valve int
	cases []int
}

// dryTogether tells of the valves of one run that stand empty in the same cases.
func (s *solver) dryTogether(dry []dryValve) {
	for len(dry) > 0 {
		run := func(d dryValve) int { return s.res.Sealing.Valves[d.valve].Run }
		var all, rest []dryValve
		for _, d := range dry {
			if run(d) == run(dry[0]) && slices.Equal(d.cases, dry[0].cases) {
				all = append(all, d)
			} else {
				rest = append(rest, d)
			}
		}
		dry = rest
		first := all[0]
		v := &s.res.Sealing.Valves[first.valve]
		f := Finding{ID: "sealing.empty", Severity: Notable, State: "empty", Title: fmt.Sprintf("Valve %s stands empty%s", v.Name, s.when(first.cases)), Have: Figure{m2(0), 0, "m"}, HaveLabel: "of water at the seat",
			Text: "No water reaches it when the line rests: nothing drips, but the pipe beside it is full of air and every start has to drive that out.", Cautions: []string{cautionStart}}
		if len(all) > 1 {
			var names []string
			for _, d := range all {
				names = append(names, s.res.Sealing.Valves[d.valve].Name)
			}
			f.Title = fmt.Sprintf("%d valves stand empty%s", len(all), s.when(first.cases))
			f.Text = "No water reaches " + strings.Join(names, ", ") + " when the line rests: nothing drips, but the pipe beside them is full of air and every start has to drive that out."
		}
		s.add(first.valve, first.cases, f)
	}
}

// holdOpen is what can be done about a valve that stays open while the line flows.
func (s *solver) holdOpen(v *sealing.ValveResult) []string {
	if t := s.l.Rack[v.Record].Sealing; t.Bound != valve.Measured && t.Bound != valve.LessThan {
		return []string{"No head tried on the bench has shut this type: exchange it before thinking of a sustaining valve. Or leave it open, and check that it does not slam at each start."}
	}
	return []string{"A sustaining valve beyond the place would hold it shut; the costs say at what price. Else leave it open, as many lines do, and check that it does not slam at each start."}
}
