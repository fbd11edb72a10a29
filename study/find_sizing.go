package study

import (
	"fmt"
	"strings"

	"obvert/engine/sizing"
	"obvert/quantity"
)

// findSizing tells which valves are too small for the air that must pass, and which suffice.
func (s *solver) findSizing() {
	var enough []string
	var orifices []*sizing.PlaceResult
	least, leastAt := 0.0, ""
	for i := range s.res.Sizing.Places {
		p := &s.res.Sizing.Places[i]
		switch p.Verdict {
		case sizing.TooSmall:
			if lacksLarge(p) {
				s.tooSmall(p)
				continue
			}
			orifices = append(orifices, p)
			if !largeKnown(p) {
				s.notJudged(p)
			}
		case sizing.NotJudged:
			s.notJudged(p)
		case sizing.Enough:
			enough = append(enough, p.Name)
			if r := smallestRatio(p); r > 0 && (leastAt == "" || r < least) {
				least, leastAt = r, p.Name
			}
		}
	}
	s.smallOrifices(orifices)
	if len(enough) == 0 {
		return
	}
	f := Finding{ID: "sizing.enough", Severity: Holds, Run: -1, Title: largeEnough(len(enough)), Text: s.res.Sizing.BasisText, Source: s.l.Practice.AdmitDifferential.Source}
	if leastAt != "" {
		f.Have, f.HaveLabel = Figure{percent1(least), least, "1"}, "of the need, at least, at "+leastAt
	}
	s.res.Findings = append(s.res.Findings, f)
}

func largeEnough(n int) string {
	if n == 1 {
		return "One valve is large enough for the air that must pass"
	}
	return fmt.Sprintf("%d valves are large enough for the air that must pass", n)
}

// smallestRatio is what a place's valve gives over what is needed, the least of in, out and release; 0 where nothing is needed.
func smallestRatio(p *sizing.PlaceResult) float64 {
	least := 0.0
	for _, r := range []float64{p.In.Given.Ratio, p.Out.Given.Ratio, p.Release.Ratio} {
		if r > 0 && (least == 0 || r < least) {
			least = r
		}
	}
	return least
}

// percent1 is a ratio that may lie above one.
func percent1(r float64) string {
	if r > 20 {
		return "over 20 times"
	}
	return fmt.Sprintf("%.0f\u00a0%%", 100*r)
}

func (s *solver) tooSmall(p *sizing.PlaceResult) {
	f := Finding{ID: "sizing.too-small", Severity: Fails, Run: p.Run, Chainage: p.Chainage, Valve: p.Name, Type: s.typeName(p.Record)}
	var lacks []string
	say := func(way string, w *sizing.Way) {
		if !w.Given.Known || w.Given.Enough || w.Governs < 0 {
			return
		}
		d := &p.Duties[w.Governs]
		lacks = append(lacks, fmt.Sprintf("air %s: %s asks for %s of free air at %s, it passes %s. %s", way, d.Kind, quantity.Format(d.Need.Free, "L/s", 0), quantity.Format(d.Differential, "kPa", 1), quantity.Format(w.Given.Free, "L/s", 0), sentence(d.Text)))
		if f.Title == "" {
			f.Title = fmt.Sprintf("Valve %s is too small for air %s: %s of the need", p.Name, way, percent1(w.Given.Ratio))
			f.Have, f.HaveLabel = Figure{quantity.Format(w.Given.Free, "L/s", 0), w.Given.Free, "m³/s"}, fmt.Sprintf("free air %s at %s", way, quantity.Format(d.Differential, "kPa", 1))
			f.Need, f.NeedText, f.Source = Figure{quantity.Format(d.Need.Free, "L/s", 0), d.Need.Free, "m³/s"}, fmt.Sprintf("needs %s (%s)", quantity.Format(d.Need.Free, "L/s", 0), d.Kind), d.Source
		}
	}
	say("in", &p.In)
	say("out", &p.Out)
	if r := &p.Release; r.Wanted && !r.Enough {
		lacks = append(lacks, "Released air: "+sentence(r.Text))
	}
	f.Text = strings.Join(lacks, " ")
	f.Cures = []string{s.sizeCure(p)}
	f.Cautions = []string{cautionVacuum}
	s.res.Findings = append(s.res.Findings, f)
}

// lacksLarge tells whether a place's large opening is known to be too small.
func lacksLarge(p *sizing.PlaceResult) bool {
	lacks := func(w *sizing.Way) bool { return w.Governs >= 0 && w.Given.Known && !w.Given.Enough }
	return lacks(&p.In) || lacks(&p.Out)
}

// largeKnown tells whether the record has every large-opening curve that is needed.
func largeKnown(p *sizing.PlaceResult) bool {
	known := func(w *sizing.Way) bool { return w.Governs < 0 || w.Given.Known }
	return known(&p.In) && known(&p.Out)
}

// smallOrifices tells of valves whose large opening suffices and whose small one does not, or is wanting: those where air does come out of solution
// one by one, those that only the rule of practice asks more of together.
func (s *solver) smallOrifices(places []*sizing.PlaceResult) {
	var byRule []string
	worst := -1
	for i, p := range places {
		if p.Release.Mass > 0 {
			s.smallOrifice(p)
			continue
		}
		byRule = append(byRule, p.Name)
		if worst < 0 || p.Release.Needed > places[worst].Release.Needed {
			worst = i
		}
	}
	if worst < 0 {
		return
	}
	p := places[worst]
	r := &p.Release
	names := strings.Join(byRule[:min(len(byRule), mostNamed)], ", ")
	if n := len(byRule) - mostNamed; n > 0 {
		names += fmt.Sprintf(" and %d more", n)
	}
	s.res.Findings = append(s.res.Findings, Finding{ID: "sizing.small-orifice-rule", Severity: Notable, Run: p.Run, Chainage: p.Chainage, Valve: p.Name, Type: s.typeName(p.Record),
		Title: "By rule of thumb, not by solubility, some small orifices are small", Have: s.orificeGiven(r), HaveLabel: "of the rule's need, at " + p.Name,
		Need: Figure{quantity.Format(r.Needed, "mm", 1), r.Needed, "m"}, NeedText: "an orifice of " + quantity.Format(r.Needed, "mm", 1), Source: r.RuleSource,
		Text: fmt.Sprintf("This concerns %s. %s Where a source is saturated with more air than that, or water is warmed on its way, air does come out.", names, sentence(r.Text))})
}

// orificeGiven is what a small orifice lets go, as a share of the need.
func (s *solver) orificeGiven(r *sizing.Release) Figure {
	if !r.Known {
		return Figure{"none", 0, "1"}
	}
	return Figure{percent1(r.Ratio), r.Ratio, "1"}
}

func (s *solver) smallOrifice(p *sizing.PlaceResult) {
	r := &p.Release
	f := Finding{ID: "sizing.small-orifice", Severity: Doubtful, Run: p.Run, Chainage: p.Chainage, Valve: p.Name, Type: s.typeName(p.Record),
		Title: fmt.Sprintf("Valve %s has no small orifice for released air", p.Name), Have: s.orificeGiven(r), HaveLabel: "of the need",
		Need: Figure{quantity.Format(r.Needed, "mm", 1), r.Needed, "m"}, NeedText: "an orifice of " + quantity.Format(r.Needed, "mm", 1), Source: "solubility by Henry's law at the source's and the place's pressures; " + r.RuleSource,
		Text: sentence(r.Text), Cures: []string{s.sizeCure(p)}}
	if r.Known {
		f.Title = fmt.Sprintf("The small orifice of %s lets go %s of the air released", p.Name, percent1(r.Ratio))
	}
	s.res.Findings = append(s.res.Findings, f)
}

// sizeCure names the smallest type of the rack that does it, and the next one up.
func (s *solver) sizeCure(p *sizing.PlaceResult) string {
	if p.Smallest < 0 {
		d := 0.0
		for _, g := range []int{p.In.Governs, p.Out.Governs} {
			if g >= 0 {
				d = max(d, p.Duties[g].Need.Diameter)
			}
		}
		if !lacksLarge(p) && largeKnown(p) {
			return fmt.Sprintf("No type of the rack has such a small orifice: %s (coefficient %.2g) would do.", quantity.Format(p.Release.Needed, "mm", 1), p.Release.Coefficient)
		}
		return fmt.Sprintf("No type of the rack passes enough: an opening of %s (coefficient %.2g) would, or two valves side by side.", quantity.Format(d, "mm", 0), s.res.Sizing.Coefficient)
	}
	text := "Tried: the smallest type that passes enough is " + s.l.Rack[p.Smallest].Name
	if p.NextUp >= 0 {
		text += ", the next one up " + s.l.Rack[p.NextUp].Name
	}
	if i, ok := s.valveNamed(p.Name); ok {
		text += s.tightWith(i, p.Smallest)
	}
	return text + "."
}

// valveNamed finds a placed valve by its name.
func (s *solver) valveNamed(name string) (int, bool) {
	for i := range s.res.Sealing.Valves {
		if s.res.Sealing.Valves[i].Name == name {
			return i, true
		}
	}
	return 0, false
}

func (s *solver) notJudged(p *sizing.PlaceResult) {
	why := "its record lacks a curve that is needed"
	for _, w := range []*sizing.Way{&p.In, &p.Out} {
		if !w.Given.Known && w.Given.Why != "" {
			why = w.Given.Why
			break
		}
	}
	s.res.Findings = append(s.res.Findings, Finding{ID: "sizing.not-judged", Severity: Doubtful, Run: p.Run, Chainage: p.Chainage, Valve: p.Name, Type: s.typeName(p.Record),
		Title: fmt.Sprintf("Whether valve %s is large enough cannot be said", p.Name), Text: sentence(why), Cures: []string{"Measure its air curves on the second rig.", s.sizeCure(p)}})
}
