package study

import (
	"fmt"
	"strings"

	"obvert/engine/refilling"
	"obvert/line"
	"obvert/quantity"
)

// findRefilling tells what each first filling and each restart does to the line.
func (s *solver) findRefilling() {
	for i := range s.res.Passed {
		if p := &s.res.Passed[i]; p.Refilling != nil {
			s.refilled(&s.l.Events[p.Event], p)
		}
	}
}

func (s *solver) refilled(e *line.Event, p *Passed) {
	r := p.Refilling
	if r.Water <= 1e-6 && r.Slam == 0 {
		return // the line was full already
	}
	f := Finding{ID: "refilling.keeps", Severity: Holds, Run: -1, Cases: []int{e.Start}, Title: fmt.Sprintf("“%s” fills the line in %s", e.Name, quantity.Duration(r.TimeToFull)),
		Have: Figure{quantity.Duration(r.TimeToFull), r.TimeToFull, "s"}, HaveLabel: "until the line is full", Source: "rigid columns with friction and inertia, air out by each valve's curve",
		Text: fmt.Sprintf("It takes %s of water and %s. ", liters(r.Water), quantity.Format(r.Energy*3.6e6, "kWh", 1)), Cautions: []string{cautionStart, cautionPump}}
	if !r.Filled {
		f.ID, f.Severity, f.Title = "refilling.not-full", Fails, fmt.Sprintf("“%s” does not fill the line: %s", e.Name, r.Status)
		f.Have, f.HaveLabel = Figure{quantity.Duration(r.Time), r.Time, "s"}, "followed"
		f.Cures = s.startCure(p)
	}
	s.slam(&f, p)
	s.early(&f, r)
	s.trapped(&f, r)
	for _, n := range r.Notes {
		if n.ID == "refilling.rigid" {
			f.Text += sentence(n.Text) + " "
		}
	}
	f.Text = strings.TrimSpace(f.Text)
	s.res.Findings = append(s.res.Findings, f)
}

// slam holds the largest slam against the practice, and against the rating where one is known.
func (s *solver) slam(f *Finding, p *Passed) {
	r, limit := p.Refilling, s.l.Practice.Slam
	var worst *refilling.Valve
	for i := range r.Valves {
		if v := &r.Valves[i]; v.LastAir && (worst == nil || v.Slam > worst.Slam) {
			worst = v
		}
	}
	if worst == nil || worst.Slam <= 0 {
		return
	}
	f.Run, f.Chainage, f.Valve = worst.Run, worst.Chainage, worst.Name
	f.Text += fmt.Sprintf("The last air leaves at %s after %s with the water at %s before it and %s behind. ", worst.Name, quantity.Duration(worst.Time), quantity.Format(worst.Before, "m/s", 2), quantity.Format(worst.After, "m/s", 2))
	if worst.Share > 0 {
		f.Text += fmt.Sprintf("The pipe then bears %s of its rating. ", percent(worst.Share))
	}
	if limit.Value <= 0 {
		return
	}
	f.Need, f.NeedText, f.Source = Figure{m0(limit.Value), limit.Value, "m"}, "at most "+m0(limit.Value), limit.Source
	f.Have, f.HaveLabel = Figure{m0(worst.Slam), worst.Slam, "m"}, "slam at "+worst.Name
	if worst.Slam > limit.Value || worst.Share > 1 {
		f.Severity, f.Title = Fails, fmt.Sprintf("“%s” slams %s by %s", f.eventName(), worst.Name, m0(worst.Slam))
		f.ID = "refilling.slam"
		f.Cures = s.startCure(p)
		f.Cautions = append(f.Cautions, cautionPressure)
	}
}

// eventName is the name between the quotes of a finding's title.
func (f *Finding) eventName() string {
	_, rest, _ := strings.Cut(f.Title, "“")
	name, _, _ := strings.Cut(rest, "”")
	return name
}

// startCure is the largest start that keeps every limit, as the engine found it.
func (s *solver) startCure(p *Passed) []string {
	st := p.Start
	if st == nil {
		return nil
	}
	if st.Flow <= 0 {
		return []string{"Tried: no start flow keeps every limit (" + st.Binds.String() + " binds even at the least): larger air outflow, an anti-slam stage, or less drained length."}
	}
	text := fmt.Sprintf("Tried: a start throttled to %s keeps every limit", quantity.Format(st.Flow, "L/s", 1))
	if st.Binds != refilling.NoLimit {
		text += fmt.Sprintf("; beyond it %s binds", st.Binds)
		if st.Where != "" {
			text += " at " + st.Where
		}
	}
	if st.Throttle > 0 {
		text += fmt.Sprintf(". Throttle for %s", quantity.Duration(st.Throttle))
	}
	return []string{text + ".", "Or a valve with an anti-slam stage, or one that keeps the line full at rest: then there is no air to drive out."}
}

// early tells of valves that air carries shut before water comes.
func (s *solver) early(f *Finding, r *refilling.Result) {
	var names []string
	for i := range r.Valves {
		if r.Valves[i].Shut == refilling.ByAir {
			names = append(names, r.Valves[i].Name)
		}
	}
	if len(names) == 0 {
		return
	}
	it := "it"
	if len(names) > 1 {
		it = "them"
	}
	f.Text += s.leakersAre(names) + " carried shut by air before water comes: the air behind " + it + " stays. "
	if f.Severity == Holds {
		f.ID, f.Severity, f.Title = "refilling.early", Fails, fmt.Sprintf("“%s” carries %s shut too early", f.eventName(), names[0])
	}
}

func (s *solver) leakersAre(names []string) string {
	if len(names) == 1 {
		return names[0] + " is"
	}
	if len(names) > mostNamed {
		return fmt.Sprintf("%d valves are", len(names))
	}
	return strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1] + " are"
}

// trapped tells of air that finds no way out.
func (s *solver) trapped(f *Finding, r *refilling.Result) {
	if r.Trapped <= trappedAir {
		return
	}
	volume, lost := 0.0, 0.0
	for i := range r.Pockets {
		if p := &r.Pockets[i]; !p.Vented && p.Closed == 0 {
			volume, lost = volume+p.Volume, lost+p.HeadLost
		}
	}
	f.Text += fmt.Sprintf("%s of air stay in the pipe, which costs %s of head while they do. ", liters(volume), m2(lost))
	if f.Severity == Holds {
		f.ID, f.Severity, f.Title = "refilling.trapped", Doubtful, fmt.Sprintf("“%s” leaves air in the pipe", f.eventName())
		f.Cures = []string{"An air valve at the crest of each pocket; siting names the places."}
	}
}
