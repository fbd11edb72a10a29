package sizing

import (
	"fmt"

	"obvert/line"
	"obvert/physics/pipe"
	"obvert/quantity"
)

// weakest is the wall near the place that allows the least vacuum: of every section that its legs touch, since the air that comes
// in stands in all of them under one pressure. Where a wall is not known it says so.
func (s *solver) weakest(p *Place) (Wall, error) {
	var weak Wall
	unknown := ""
	for i := range p.Legs {
		pieces := p.Legs[i].Pieces
		for k := range pieces {
			run, sec := pieces[k].Run, pieces[k].Section
			if k > 0 && pieces[k-1].Run == run && pieces[k-1].Section == sec {
				continue
			}
			c, err := s.wall(run, sec)
			switch {
			case err != nil:
				return Wall{}, err
			case !c.wall.Known && unknown == "":
				unknown = c.wall.Text
			case c.wall.Known && (!weak.Known || c.wall.Allowed < weak.Allowed):
				weak = c.wall
			}
		}
	}
	switch {
	case !weak.Known:
		weak.Text = unknown
	case unknown != "":
		weak.Text += " " + unknown
	}
	return weak, nil
}

// wallWords say what the ids of package pipe mean.
var wallWords = map[string]string{
	pipe.NoteShallow:   "its cover lies outside the 1.2 to 24 m that the buried form is for with a vacuum inside (AWWA Manual M11 and its kin, from memory)",
	pipe.NoteFlooded:   "the ground water stands above the ground: buoyancy is that of water at the ground, its weight in full",
	pipe.NoteOval:      "its ovality is beyond the table of the reduction",
	pipe.NoteThick:     "mean diameter over wall is below 10: such a wall does not fail by elastic buckling",
	pipe.NoteNothing:   "soil, water and traffic outside take all that the pipe may bear",
	pipe.NoteUnderFree: "buried it is allowed less than in the open: the soil is soft or heavy; the lesser counts",
}

func (s *solver) sectionName(run, i int) string {
	sec := &s.in.Line.Runs[run].Sections[i]
	what := sec.Material
	if sec.Size != "" {
		what = sec.Size
	}
	if what != "" {
		what = " (" + what + ")"
	}
	return fmt.Sprintf("section %d of run %s%s", i+1, s.in.Line.Runs[run].Name, what)
}

// wall works out what a section stands and remarks on it, once.
func (s *solver) wall(run, i int) (*section, error) {
	c := &s.sections[run][i]
	if c.hasWall {
		return c, nil
	}
	c.hasWall = true
	sec := &s.in.Line.Runs[run].Sections[i]
	name := s.sectionName(run, i)
	if !wallKnown(sec) {
		c.wall.Text = sentence(name) + ": its wall or material is not known; no collapse is reckoned for it."
		s.note("sizing.wall-unknown", name, "its wall or material is not known, so no collapse is reckoned for it and only the rule of practice applies; give size or wall, and material")
		return c, nil
	}
	v := vacuum(sec, s.in.Form, s.practice.CollapseFactor.Value)
	b, err := pipe.Collapse(v)
	if err != nil {
		return nil, err
	}
	w := Wall{Known: true, Run: run, Section: i, Bore: sec.Bore, Ratio: v.Mean() / v.Wall, Free: b.Free, Buried: b.Buried, Buckles: b.Free,
		Factor: v.Factor, Allowed: b.Allowed, FreeAllowed: b.FreeAllowed}
	how := "collapses free-standing at " + kPa(b.Free)
	if !b.Buried && b.Load > 0 {
		how += ", under water that presses by " + kPa(b.Load)
	}
	if b.Buried {
		w.Buckles = b.Critical
		how = fmt.Sprintf("buckles buried at %s (second opinion %s; free-standing %s), loads of soil and water %s", kPa(b.Critical), kPa(b.Moser), kPa(b.Free), kPa(b.Load))
	}
	if e, ok := pipe.MaterialOf(sec.Material); ok && e.LongTerm > 0 {
		v.Modulus *= e.LongTerm / e.Modulus
		lasting, err := pipe.Collapse(v)
		if err != nil {
			return nil, err
		}
		w.Creeps, w.LongTerm = true, lasting.Allowed
	}
	w.Text = fmt.Sprintf("%s, mean diameter %s times its wall, %s; over the factor %s that allows a vacuum of %s.", sentence(name),
		quantity.Number(w.Ratio, 0), how, quantity.Number(v.Factor, 1), kPa(w.Allowed))
	c.wall = w
	s.wallNotes(name, &w, b.Notes)
	return c, nil
}

// wallNotes remark on a wall where a vacuum could matter to it at all.
func (s *solver) wallNotes(name string, w *Wall, ids []string) {
	if min(w.Allowed, w.FreeAllowed) < s.site.AtmosphericPressure {
		for _, id := range ids {
			s.note(id, name, "%s", wallWords[id])
		}
	}
	if w.Creeps && w.LongTerm < min(w.Allowed, s.practice.AdmitDifferential.Value) {
		s.note("sizing.creep", name, "it creeps: under a vacuum that lasts it allows no more than %s, by its long-term modulus; %s is for minutes", kPa(w.LongTerm), kPa(w.Allowed))
	}
}

func wallKnown(sec *line.Section) bool { return sec.Wall > 0 && sec.Modulus > 0 }

// vacuum is what the collapse of a section hangs on.
func vacuum(sec *line.Section, form pipe.Form, factor float64) pipe.Vacuum {
	return pipe.Vacuum{
		Shell: shell(sec), Form: form, Ovality: sec.Ovality, Factor: factor,
		Soil: pipe.Soil{Modulus: sec.SoilModulus, Cover: sec.Cover, WaterTable: sec.WaterTable},
	}
}

// shell is the bearing wall of a section: by its standard size the lining is left out.
func shell(sec *line.Section) pipe.Shell {
	sh := pipe.Shell{Bore: sec.Bore, Wall: sec.Wall, Modulus: sec.Modulus, Poisson: sec.Poisson}
	if sec.Size == "" {
		return sh
	}
	if size, err := pipe.Lookup(sec.Size); err == nil && size.Bore == sec.Bore && size.Wall == sec.Wall {
		sh.Bore += 2 * size.Lining
	}
	return sh
}

// leastDifferential is the smallest differential, Pa, that an opening is sized for. Own choice.
const leastDifferential = 1.0

// commonLimits writes what limits a differential alike at every place.
func (s *solver) commonLimits() {
	p := s.practice
	s.rules.admit = Limit{ID: "practice", Value: p.AdmitDifferential.Value, Source: p.AdmitDifferential.Source,
		Text: "Practice allows a vacuum of " + kPa(p.AdmitDifferential.Value) + "."}
	s.rules.vent = Limit{ID: "practice", Value: p.VentDifferential.Value, Source: p.VentDifferential.Source,
		Text: "Practice allows a pressure of air of " + kPa(p.VentDifferential.Value) + " while filling."}
	s.rules.collapse = Limit{ID: "collapse", Source: "A. P. Moser, S. Folkman, Buried Pipe Design, 3rd ed.; buried: AWWA Manual M11, from memory; factor: " +
		p.CollapseFactor.Source}
	boils := s.site.AtmosphericPressure - s.site.VapourPressure
	s.rules.boils = Limit{ID: "vapour", Value: boils, Text: "Water boils at a vacuum of " + kPa(boils) + " here.", Source: "IAPWS-IF97; ISO 2533"}
}

// allowedIn is the vacuum allowed: the rule, the wall, and what the atmosphere can give at all.
func (s *solver) allowedIn(w *Wall) Allowed {
	if !w.Known {
		return smallest([]Limit{s.rules.admit, s.rules.boils})
	}
	wall := s.rules.collapse
	wall.Text = w.Text
	if w.Allowed >= leastDifferential { // no opening can be made for less
		wall.Value = w.Allowed
	}
	return smallest([]Limit{s.rules.admit, wall, s.rules.boils})
}

// allowedOut is the pressure of air allowed while the line fills: the rule, and what carries the placed valve's float shut.
func (s *solver) allowedOut(p *Place) Allowed {
	limits := []Limit{s.rules.vent}
	if p.Record < 0 {
		return smallest(limits)
	}
	r := &s.in.Line.Rack[p.Record]
	if r.EarlyClosing > 0 {
		limits = append(limits, Limit{ID: "early-closing", Value: r.EarlyClosing, Source: "record of the valve",
			Text: "From " + kPa(r.EarlyClosing) + " on the air carries the float of " + r.Name + " shut before water comes."})
	}
	a := smallest(limits)
	if r.Stage != nil {
		a.Limits = append(a.Limits, Limit{ID: "stage", Value: r.Stage.Differential, Source: "record of the valve",
			Text: "From " + kPa(r.Stage.Differential) + " on the anti-slam stage of " + r.Name + " throttles; what it passes then is counted, the differential is not limited."})
	}
	return a
}

// smallest marks the limit that binds.
func smallest(limits []Limit) Allowed {
	at := 0
	for i := range limits {
		if limits[i].Value < limits[at].Value {
			at = i
		}
	}
	limits[at].Binds = true
	return Allowed{Differential: limits[at].Value, Limits: limits}
}
