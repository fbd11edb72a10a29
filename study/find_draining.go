package study

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"obvert/engine/draining"
	"obvert/line"
	"obvert/quantity"
)

// findDraining tells what the leaks of each standing case drain, and what draining on purpose and bursts ask of the valves.
func (s *solver) findDraining() {
	for i := range s.res.Draining {
		s.standing(s.res.StandingCases[i], &s.res.Draining[i])
	}
	s.pits()
	for i := range s.res.Passed {
		p := &s.res.Passed[i]
		e := &s.l.Events[p.Event]
		switch {
		case p.Why != "":
			s.res.Findings = append(s.res.Findings, Finding{ID: "event.no-answer", Severity: Doubtful, Run: -1, Title: fmt.Sprintf("What passes in “%s” has no answer", e.Name), Text: sentence(p.Why)})
		case p.Draining != nil:
			s.emptied(e, p.Draining)
		}
	}
}

// standing tells of one case at rest.
func (s *solver) standing(k int, d *draining.Result) {
	var leaking []string
	for j := range d.Valves {
		if d.Valves[j].Total > 0 {
			leaking = append(leaking, d.Valves[j].Name)
		}
	}
	if len(leaking) == 0 {
		return
	}
	f := Finding{ID: "draining.loses", Severity: Notable, State: "empty", Run: -1, Cases: []int{k},
		Title: fmt.Sprintf("Left in %s the line loses %s", s.quoted(k), liters(d.Lost)), Have: Figure{liters(d.Lost), d.Lost, "m³"}, HaveLabel: "lost in " + quantity.Duration(d.StopTime),
		Source: "pools followed in time by their leak curves; volumes by circular segments", Cautions: []string{cautionPit}}
	text := []string{s.leakers(leaking)}
	switch d.Status {
	case draining.GoesOn, draining.HorizonReached:
		f.Title = fmt.Sprintf("In %s the leaking does not end", s.quoted(k))
		why := sentenceless(sentence(d.Reason))
		if d.Status == draining.HorizonReached {
			why = fmt.Sprintf("Followed for %s, it leaks still", quantity.Duration(d.StopTime))
		}
		text = append(text, why, fmt.Sprintf("%s a day leave the line", liters(d.LossPerDay)))
		f.Have, f.HaveLabel = Figure{liters(d.LossPerDay), d.LossPerDay, "m³"}, "a day"
	case draining.LimitReached:
		text = append(text, fmt.Sprintf("It was followed for %s only: %s", quantity.Duration(d.StopTime), sentenceless(d.Reason)))
	case draining.NotKnown:
		text = append(text, "How long it goes on is not known: a valve that drips has no leak curve")
	default:
		text = append(text, fmt.Sprintf("The last drop falls after %s", quantity.Duration(d.StopTime)))
	}
	if usual := s.usualLoss(d); usual != "" {
		text = append(text, usual)
	}
	if d.DrainedLength >= 1 {
		text = append(text, fmt.Sprintf("Then %s of pipe that were full hold air", quantity.Format(d.DrainedLength, "m", 0)))
		f.Cautions = append(f.Cautions, cautionStart)
	}
	if late := s.lettingGo(d); late != "" {
		text = append(text, late)
	}
	f.Text = strings.Join(text, ". ") + "."
	f.Cures = s.exchanges(k, d)
	s.res.Findings = append(s.res.Findings, f)
}

// usualLoss is what leaks in the usual time at rest.
func (s *solver) usualLoss(d *draining.Result) string {
	total := 0.0
	for j := range d.Valves {
		total += d.Valves[j].Pit.Standing
	}
	hours := s.secondsStanding(d.Case)
	if hours >= 86400 || total <= 0 || d.StopTime <= hours {
		return ""
	}
	return fmt.Sprintf("In %s at rest %s leave it", quantity.Format(hours, "h", 1), liters(total))
}

// leakers names some valves.
func (s *solver) leakers(names []string) string {
	if len(names) > mostNamed {
		return fmt.Sprintf("%d valves leak, %s and more", len(names), strings.Join(names[:mostNamed], ", "))
	}
	if len(names) == 1 {
		return names[0] + " leaks"
	}
	return strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1] + " leak"
}

// lettingGo tells of valves that were tight at first and let go while the head fell.
func (s *solver) lettingGo(d *draining.Result) string {
	var late []string
	for j := range d.Valves {
		if v := &d.Valves[j]; v.HasLetGo && v.Start == draining.Tight {
			late = append(late, fmt.Sprintf("%s after %s", v.Name, quantity.Duration(v.LetsGo)))
		}
	}
	if len(late) == 0 {
		return ""
	}
	if len(late) > mostNamed {
		late = append(late[:mostNamed], fmt.Sprintf("and %d more", len(late)-mostNamed))
	}
	return "Tight at first, these let go as the head falls: " + strings.Join(late, ", ")
}

// exchanges tells which valves set where the water ends.
func (s *solver) exchanges(k int, d *draining.Result) []string {
	var ends []string
	for j := range d.Valves {
		if v := &d.Valves[j]; v.Ends && v.Total > 0 {
			ends = append(ends, v.Name)
		}
	}
	if len(ends) == 0 || len(ends) > mostNamed {
		return nil
	}
	return []string{fmt.Sprintf("Where the water ends is set by the lowest leaking seat of each body: %s. Exchanging others alone saves little.", strings.Join(ends, ", "))}
}

// wetPit is a pit that floods, in the standing case in which it does so first.
type wetPit struct {
	valve *draining.ValveResult
	cases []int
}

// soonDays is the time within which a pit that fills is told, days: between two rounds of whoever looks after it. Common practice, no source.
const soonDays = 7

// pits tells of pits that flood: the first to do so, and which others.
func (s *solver) pits() {
	var all []wetPit
	index := map[string]int{}
	for i, k := range s.res.StandingCases {
		for j := range s.res.Draining[i].Valves {
			v := &s.res.Draining[i].Valves[j]
			if !v.Pit.Fills || v.Pit.DaysToFill > soonDays {
				continue
			}
			at, ok := index[v.Name]
			if !ok {
				at = len(all)
				index[v.Name] = at
				all = append(all, wetPit{valve: v})
			}
			all[at].cases = append(all[at].cases, k)
			if v.Pit.DaysToFill < all[at].valve.Pit.DaysToFill {
				all[at].valve = v
			}
		}
	}
	if len(all) == 0 {
		return
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].valve.Pit.DaysToFill < all[j].valve.Pit.DaysToFill })
	v := all[0].valve
	f := Finding{ID: "draining.pit", Severity: Doubtful, State: "drips", Run: v.Run, Chainage: v.Chainage, Valve: v.Name, Type: s.typeName(v.Record), Cases: all[0].cases,
		Title: fmt.Sprintf("The pit of %s fills within %s", v.Name, quantity.Duration(v.Pit.DaysToFill*86400)), Have: Figure{liters(v.Pit.FirstDay), v.Pit.FirstDay, "m³"}, HaveLabel: "on the first day",
		Need: Figure{liters(s.l.Prices.PitVolume), s.l.Prices.PitVolume, "m³"}, NeedText: "the pit holds " + liters(s.l.Prices.PitVolume), Source: "prices, pit_volume",
		Cures: []string{"Give the pit a drain that flows by itself, and exchange the valve: a wet pit washes soil out and lets vermin in."}, Cautions: []string{cautionPit}}
	if v.Pit.HasArea {
		f.Text = fmt.Sprintf("What it receives equals rain of %s a day on its plan. ", quantity.Format(v.Pit.Rainfall/1000, "mm", 0))
	}
	var others []string
	for _, p := range all[1:] {
		others = append(others, fmt.Sprintf("%s (%s)", p.valve.Name, quantity.Duration(p.valve.Pit.DaysToFill*86400)))
	}
	if n := len(others) - mostNamed; n > 0 {
		others = append(others[:mostNamed], fmt.Sprintf("%d more", n))
	}
	if len(others) > 0 {
		f.Text += "Also within a week: " + strings.Join(others, ", ") + "."
	}
	s.res.Findings = append(s.res.Findings, f)
}

// emptied tells what draining through scours or a burst takes: time, air, vacuum.
func (s *solver) emptied(e *line.Event, d *draining.Result) {
	f := Finding{ID: "draining.scour", Severity: Holds, Run: -1, Title: fmt.Sprintf("“%s” empties %s in %s", e.Name, liters(d.Lost), quantity.Duration(d.StopTime)),
		Have: Figure{quantity.Duration(d.StopTime), d.StopTime, "s"}, HaveLabel: "until the last water has left", Source: "columns with friction, air by each valve's inflow curve"}
	if e.Kind == line.Burst {
		f.ID, f.Run, f.Chainage, f.Severity = "draining.burst", e.At.Run, e.At.Chainage, Notable
	}
	text := []string{fmt.Sprintf("At most %s leave it", peakOut(d))}
	switch d.Status {
	case draining.HorizonReached, draining.GoesOn:
		if f.HaveLabel = "followed"; f.Severity == Holds {
			f.Severity = Doubtful
		}
		f.Title = fmt.Sprintf("“%s” does not end within %s", e.Name, quantity.Duration(d.StopTime))
		text = append(text, upper(sentenceless(d.Reason)))
	case draining.LimitReached:
		f.Severity = Doubtful
		f.Title = fmt.Sprintf("“%s” was followed for %s only", e.Name, quantity.Duration(d.StopTime))
		text = append(text, upper(sentenceless(d.Reason)))
	}
	if air := hungriest(d); air != nil {
		text = append(text, fmt.Sprintf("Most air goes in at %s: %s of free air, %s below the atmosphere there", air.Name, quantity.Format(air.FreePeak, "L/s", 0), quantity.Format(air.Vacuum, "kPa", 1)))
	}
	f.Text = sentence(strings.Join(slices.DeleteFunc(text, func(t string) bool { return t == "" }), ". "))
	s.vacuum(&f, d)
	s.res.Findings = append(s.res.Findings, f)
}

// vacuum holds the largest vacuum against the smaller of what the practice admits and what the wall stands.
func (s *solver) vacuum(f *Finding, d *draining.Result) {
	w := d.WorstVacuum
	limit, source := s.l.Practice.AdmitDifferential.Value, s.l.Practice.AdmitDifferential.Source
	if m := d.LeastMargin; d.HasMargin && (limit <= 0 || m.Margin < limit-w.Vacuum) {
		w, limit, source = m, m.Allowed, "collapse of the wall there over its safety factor"
	}
	if w.Vacuum <= 0 || limit <= 0 {
		return
	}
	f.Run, f.Chainage = w.Run, w.Chainage
	f.Have, f.HaveLabel = Figure{quantity.Format(w.Vacuum, "kPa", 1), w.Vacuum, "Pa"}, fmt.Sprintf("below the atmosphere at %s%s", ch(w.Chainage), afterTime(w.Time))
	f.Need, f.NeedText, f.Source = Figure{quantity.Format(limit, "kPa", 1), limit, "Pa"}, "at most "+quantity.Format(limit, "kPa", 1), source
	f.Cautions = []string{cautionVacuum, cautionPit}
	if w.Vacuum > limit {
		f.Severity = Fails
		f.Cures = []string{"Larger inflow at the places that sizing names, or open the scour more slowly.", "A wall or bedding that stands the vacuum."}
		if f.ID == "draining.burst" {
			f.Severity = Doubtful // a burst is judged by its consequence
		}
		f.Title += fmt.Sprintf(", at a vacuum of %s", quantity.Format(w.Vacuum, "kPa", 0))
	}
}

// afterTime is a time since the beginning, where it is one.
func afterTime(t float64) string {
	if t < 0.5 {
		return " at once"
	}
	return " after " + quantity.Duration(t)
}

func sentenceless(t string) string { return strings.TrimSuffix(t, ".") }

// peakOut is the largest flow of an opening.
func peakOut(d *draining.Result) string {
	peak := 0.0
	for _, o := range d.Openings {
		peak = max(peak, o.Peak)
	}
	return quantity.Format(peak, "L/s", 1)
}

// hungriest is the valve that takes most air; nil where none takes any.
func hungriest(d *draining.Result) *draining.ValveResult {
	best, most := -1, math.SmallestNonzeroFloat64
	for j := range d.Valves {
		if d.Valves[j].FreePeak > most {
			best, most = j, d.Valves[j].FreePeak
		}
	}
	if best < 0 {
		return nil
	}
	return &d.Valves[best]
}
