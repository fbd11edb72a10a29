package line

import (
	"math"
	"slices"

	"obvert/physics/pipe"
	"obvert/quantity"
)

// What holds for a pipe's wall where the document does not say. Each is recorded under Line.Assumed.
const (
	assumedOvality = 0.01 // of a pipe as laid; common practice, no source
	assumedPoisson = 0.3  // where the modulus is given and the material is not known; common practice, no source
)

// The limits of what a wall and the soil around it can be.
var (
	modulusLimits = limits{1e7, 1e12, "GPa", 2} // from soft rubber to above any metal
	thickest      = 0.5                         // wall over bore: plastic pipe of the thickest class (SDR 6) has a quarter
	ovalityLimits = limits{0, 0.2, "%", 0}
	soilLimits    = limits{1e5, 1e9, "MPa", 1}
	tableLimits   = limits{0, 1000, "m", 0} // of water above the pipe's top: a lake's bed included
)

// readWall reads what a section's wall and the soil around it stand. Its material is known by then.
func (r *reader) readWall(f form, s *Section) {
	modulus, hasModulus := f.quantity("modulus", quantity.Stiffness, false, modulusLimits)
	poisson, hasPoisson := f.number("poisson", limits{0, 0.49, "1", 2})
	ovality, hasOvality := f.quantity("ovality", quantity.Ratio, false, ovalityLimits)
	s.SoilModulus, _ = f.quantity("soil_modulus", quantity.Stiffness, false, soilLimits)
	s.WaterTable, _ = f.quantity("water_table", quantity.Length, false, tableLimits)

	r.settleStiffness(f, s)
	if hasModulus {
		s.Modulus = modulus
	}
	if hasPoisson {
		s.Poisson = poisson
	} else if hasModulus && s.Poisson == 0 && !f.t.Has("poisson") {
		s.Poisson = assumedPoisson
		r.assumeOnce("section.poisson", "sections", "Where the modulus of the wall is given alone, Poisson's ratio is 0.3 (common practice, no source).")
	}
	s.AssumedMaterial = s.Modulus > 0 && !(hasModulus && hasPoisson)

	s.Ovality = ovality
	if !hasOvality && !f.t.Has("ovality") {
		s.Ovality = assumedOvality
		r.assumeOnce("section.ovality", "sections", "Where no ovality is given, pipes are out of round by "+quantity.Format(assumedOvality, "%", 0)+
			" of their diameter, largest less smallest (common practice, no source).")
	}
	if s.SoilModulus == 0 && !f.t.Has("soil_modulus") {
		r.assumeOnce("section.free-standing", "sections", "Where no soil modulus is given, the pipe stands against vacuum by its wall alone, as one above ground.")
	}
}

// settleStiffness gives a wall the modulus and Poisson's ratio of its material, where that is known.
func (r *reader) settleStiffness(f form, s *Section) {
	m, known := pipe.MaterialOf(s.Material)
	if !known {
		return
	}
	s.Modulus, s.Poisson = m.Modulus, m.Poisson
	if !f.t.Has("modulus") || !f.t.Has("poisson") {
		r.assumeOnce("section.modulus", "material "+s.Material, "Walls of "+s.Material+" have a modulus of "+quantity.Format(m.Modulus, "GPa", 2)+
			" and a Poisson's ratio of "+quantity.Number(m.Poisson, 2)+" where not given otherwise, for loads that pass within minutes: "+m.Source+".")
	}
}

// assumeOnce records an assumption that many things share a single time.
func (r *reader) assumeOnce(id, where, text string) {
	if a := (Assumption{ID: id, Where: where, Text: text}); !slices.Contains(r.line.Assumed, a) {
		r.line.Assumed = append(r.line.Assumed, a)
	}
}

// settleCover finds the depth of soil over the sections that stand in soil: as given with the section or the run, else
// the least that the profile's ground leaves over the section.
func (r *reader) settleCover(in *runInput, run *Run) {
	for i := range run.Sections {
		s, f := &run.Sections[i], in.sections[i].f
		cover, given := f.quantity("cover", quantity.Length, false, coverLimits)
		buried := f.has("soil_modulus")
		if f.t.Has("cover") && !buried {
			f.warn("cover", "section.soil-unused", "is not used", "no soil_modulus is given, so the pipe stands by its wall alone",
				"write soil_modulus too, such as \"5 MPa\"")
		}
		switch {
		case !buried:
		case given && cover == 0, !f.t.Has("cover") && in.bare:
			f.fault("cover", "soil that bears on the pipe, and none above it", "soil_modulus is given, and a cover of nothing", "give the depth of soil, or leave out soil_modulus")
		case given:
			s.Cover = cover
		case f.t.Has("cover"): // told already
		case in.f.t.Has(keyCover):
			s.Cover = run.Cover
		case !in.profile: // nothing to go by
		default:
			r.coverOfProfile(f, run, s)
		}
	}
}

// coverOfProfile takes the least depth of soil that the profile gives over a section.
func (r *reader) coverOfProfile(f form, run *Run, s *Section) {
	least := math.Inf(1)
	for _, p := range run.Points {
		if p.HasGround && p.Chainage >= s.From && p.Chainage <= s.To {
			least = min(least, max(0, p.Ground-p.Obvert))
		}
	}
	if math.IsInf(least, 1) {
		f.fault("cover", "it is not said how deep the pipe lies in the soil", "soil_modulus is given, and the profile gives no ground here",
			"write cover = \"1.20 m\", or leave out soil_modulus")
		return
	}
	if least == 0 {
		f.fault("cover", "the pipe lies bare somewhere", "soil_modulus is given, and the profile's ground leaves no soil over it",
			"write cover = \"1.20 m\", make a section of what lies bare, or leave out soil_modulus")
		return
	}
	s.Cover = least
	r.assume("section.cover", "run "+run.Name+", from "+chainages(s.From), "The soil over the pipe is "+quantity.Format(least, "m", 2)+
		" deep, the least that the profile gives there.")
}
