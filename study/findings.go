package study

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"
	"unicode"
	"unicode/utf8"

	"obvert/engine/grade"
	"obvert/engine/sealing"
	"obvert/engine/siting"
	"obvert/line"
	"obvert/physics/valve"
	"obvert/quantity"
)

const (
	boundMeasured = valve.Measured
	boundLessThan = valve.LessThan
)

// Cautions that stand beside what they concern; common practice, no source.
const (
	cautionPit      = "A flooded pit over drinking water is a way in for what stands in it when the line is sucked empty. Test the pit's air before anyone enters: it is a confined space, and vermin live there."
	cautionStart    = "Refill slowly and vent at low pressure: air under pressure stores energy, and a column that meets another slams. Never pressure-test with air."
	cautionVacuum   = "A vacuum can collapse a thin pipe and draw dirty water in through joints. Check the pipe's wall against it."
	cautionPump     = "Isolate and lock off pumps before work on the line."
	cautionPressure = "Do not run above a rating. Isolate and drain before work."
)

// find writes the findings and puts them in order.
func (s *solver) find() {
	s.findSealing()
	s.findSiting()
	s.findStill()
	s.findGrade()
	s.findPressure()
	s.findCosts()
	f := s.res.Findings
	sort.SliceStable(f, func(i, j int) bool {
		if f[i].Severity != f[j].Severity {
			return f[i].Severity < f[j].Severity
		}
		return rank(f[i].ID) < rank(f[j].ID)
	})
}

// rank orders findings of one severity: what concerns people first, then water, then money.
func rank(id string) int {
	order := []string{"grade.no-flow", "grade.vapour", "pressure.rating", "valve.rating", "grade.suction-starved", "grade.npsh", "grade.pump-shut-in", "grade.pump-cannot-lift", "sealing.drips", "siting.missing", "sealing.doubtful", "grade.suction", "sealing.unknown", "siting.displaced", "sealing.open", "sealing.empty", "costing", "siting"}
	for i, p := range order {
		if strings.HasPrefix(id, p) {
			return i
		}
	}
	return len(order)
}

func m2(v float64) string { return quantity.Format(v, "m", 2) }

// signed is a margin with its sign.
func signed(v float64) string {
	if v > 0 {
		return "+" + quantity.Format(v, "m", 2)
	}
	return quantity.Format(v, "m", 2)
}

func ch(x float64) string { return quantity.FormatChainage(x) }

func (s *solver) typeName(record int) string {
	if record < 0 {
		return ""
	}
	return s.l.Rack[record].Name
}

// findSealing has a finding for every valve and state that somebody must know of, and one for all that hold.
func (s *solver) findSealing() {
	var hold []string
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
		s.dryOrOpen(i, by)
		if len(by[sealing.Tight]) == len(v.Cells) && len(doubtful) == 0 {
			hold = append(hold, v.Name)
			for k := range v.Cells {
				if v.Cells[k].Margin < least {
					least, leastAt = v.Cells[k].Margin, i
				}
			}
		}
	}
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

// add completes a finding about a placed valve.
func (s *solver) add(i int, cases []int, f Finding) {
	v := &s.res.Sealing.Valves[i]
	f.Run, f.Chainage, f.Valve, f.Type, f.Cases = v.Run, v.Chainage, v.Name, s.typeName(v.Record), cases
	s.res.Findings = append(s.res.Findings, f)
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
		if h := s.secondsStanding(k); h < 86400 {
			return text + fmt.Sprintf("%s in the %s a day that it stands, into the pit. %s", liters(day), quantity.Format(h, "h", 1), s.waterCost(day))
		}
		return text + fmt.Sprintf("%s in 24 h at rest, into the pit. %s", liters(day), s.waterCost(day))
	}
	return text + fmt.Sprintf("%s a day, into the pit. ", liters(day))
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

// fitting tries every type of the rack at a valve's seat in the standing and filling order of the cases.
func (s *solver) fitting(i int) []string {
	v := &s.res.Sealing.Valves[i]
	low, at := math.Inf(1), -1
	for k := range v.Cells {
		c := &v.Cells[k]
		if c.State != sealing.Empty && c.State != sealing.Open && c.Head < low {
			low, at = c.Head, k
		}
	}
	if at < 0 {
		return nil
	}
	best, margin := -1, 0.0
	for r := range s.l.Rack {
		t := s.l.Rack[r].Sealing
		if t.Bound != valve.Measured && t.Bound != valve.LessThan || r == v.Record {
			continue
		}
		mg := low - s.l.Site.Head(t.Mean)
		sigma := math.Hypot(v.Cells[at].Sigma, s.l.Site.Head(t.Spread()))
		// The type that needs most and still holds by three standard uncertainties: no tighter a valve than the place asks for.
		if mg > 3*sigma && (best < 0 || mg < margin) {
			best, margin = r, mg
		}
	}
	if best < 0 {
		return []string{fmt.Sprintf("No type of the rack shuts at %s: raise the standing level, move the valve lower, or measure a type with a lower sealing head.", m2(low))}
	}
	return []string{fmt.Sprintf("Tried: %s in its place is tight in every case in which water stands there, by %s or more.", s.l.Rack[best].Name, m2(margin))}
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

func percent(p float64) string {
	switch {
	case p < 0.01:
		return "under 1 %"
	case p > 0.99:
		return "over 99 %"
	}
	return fmt.Sprintf("%.0f %%", 100*p)
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

// dryOrOpen tells of a valve at which air stands.
func (s *solver) dryOrOpen(i int, by map[sealing.State][]int) {
	v := &s.res.Sealing.Valves[i]
	open, empty := by[sealing.Open], by[sealing.Empty]
	if len(open) > 0 {
		lost, length := 0.0, 0.0
		for _, k := range open {
			for _, sl := range s.res.Grades[k].Slack {
				if sl.Run == v.Run && math.Abs(sl.From-v.Chainage) < 1 {
					lost, length = max(lost, sl.HeadLost), max(length, math.Abs(sl.To-sl.From))
				}
			}
		}
		text := "Air stands at it while the line flows: it is open, not leaking. "
		if length > 0 {
			text += fmt.Sprintf("The pipe runs part full over %s beyond it and %s of head are lost there. ", quantity.Format(length, "m", 0), m2(lost))
		}
		s.add(i, open, Finding{ID: "sealing.open", Severity: Notable, State: "open", Title: fmt.Sprintf("Valve %s stays open%s", v.Name, s.when(open)), Have: Figure{m2(0), 0, "m"}, HaveLabel: "at the seat", Text: text,
			Cures: s.holdOpen(v), Cautions: []string{cautionVacuum}})
	}
	if len(empty) > 0 {
		s.add(i, empty, Finding{ID: "sealing.empty", Severity: Notable, State: "empty", Title: fmt.Sprintf("Valve %s stands empty%s", v.Name, s.when(empty)), Have: Figure{m2(0), 0, "m"}, HaveLabel: "of water at the seat",
			Text: "No water reaches it when the line rests: nothing drips, but the pipe beside it is full of air and every start has to drive that out.", Cautions: []string{cautionStart}})
	}
}

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

// mostNamed is how many places one finding names before it counts the rest.
const mostNamed = 8

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
		Cures: []string{"Place them, or set the practice's threshold otherwise and say why: sources differ by a factor of two, and every valve wants a pit."}})
}

// sentence gives a clause its capital and its full stop.
func sentence(t string) string {
	if t == "" {
		return t
	}
	r, n := utf8.DecodeRuneInString(t)
	t = string(unicode.ToUpper(r)) + t[n:]
	if !strings.HasSuffix(t, ".") {
		t += "."
	}
	return t
}

// essential tells the reasons that no practice leaves out from those that judgement may: high points and ends of slack sections.
func essential(reasons []siting.Reason) bool {
	return slices.ContainsFunc(reasons, func(r siting.Reason) bool { return strings.Contains(r.ID, "high-point") })
}

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

// quoted is a case's name as it stands in a sentence.
func (s *solver) quoted(kase int) string { return "“" + s.l.Cases[kase].Name + "”" }

// ratingSource says where a section's rating comes from.
func ratingSource(sec *line.Section) string {
	if sec != nil && sec.Size != "" {
		return "the section, " + sec.Size
	}
	return "as entered for the section"
}

// holdOpen is what can be done about a valve that stays open while the line flows.
func (s *solver) holdOpen(v *sealing.ValveResult) []string {
	if t := s.l.Rack[v.Record].Sealing; t.Bound != valve.Measured && t.Bound != valve.LessThan {
		return []string{"No head tried on the bench has shut this type: exchange it before thinking of a sustaining valve. Or leave it open, and check that it does not slam at each start."}
	}
	return []string{"A sustaining valve beyond the place would hold it shut; the costs say at what price. Else leave it open, as many lines do, and check that it does not slam at each start."}
}
