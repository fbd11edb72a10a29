package line

import (
	"math"
	"slices"
	"strings"
	"unicode"

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
	ovalityLimits = limits{0, 0.2, "%", 0}
	soilLimits    = limits{1e5, 1e9, "MPa", 1}
	tableLimits   = limits{0, 1000, "m", 0} // of water above the pipe's top: a lake's bed included
)

// chaudhry is the source of most of the moduli below.
const chaudhry = "M. H. Chaudhry, Applied Hydraulic Transients, table 2-1 (from memory)"

// stiffnesses are the modulus of elasticity and Poisson's ratio of a wall by material, for loads that pass within minutes.
// The first that a word of the material names is taken.
var stiffnesses = []struct {
	words   []string
	modulus float64 // Pa
	poisson float64
	source  string
}{
	{[]string{"ductile"}, 170e9, 0.28, "EN 545 for the modulus, common practice for the ratio (both from memory)"},
	{[]string{"steel"}, 207e9, 0.27, chaudhry + ": 200 to 212 GPa"},
	{[]string{"iron"}, 100e9, 0.25, chaudhry + ": cast iron 80 to 170 GPa, the grey iron of mains near its lower end"},
	{[]string{"pe", "pe80", "pe100", "hdpe", "polyethylene"}, 0.8e9, 0.46, chaudhry + "; under a load of hours and more it is a half and less"},
	{[]string{"pvc"}, 2.75e9, 0.45, chaudhry + ": 2.4 to 2.75 GPa; the ratio is common practice, no source"},
	{[]string{"asbestos"}, 24e9, 0.2, chaudhry + "; the ratio is common practice, no source"},
	{[]string{"concrete"}, 30e9, 0.15, chaudhry + ": 14 to 30 GPa"},
}

// materialWords are the words of a material in small letters.
func materialWords(material string) []string {
	return strings.FieldsFunc(strings.ToLower(material), func(c rune) bool { return !unicode.IsLetter(c) && !unicode.IsDigit(c) })
}

// namesOne tells whether one of the words is among those of a material.
func namesOne(material []string, words []string) bool {
	return slices.ContainsFunc(words, func(w string) bool { return slices.Contains(material, w) })
}

// readWall reads what a section's wall and the soil around it stand. Its material is known by then.
func (r *reader) readWall(f form, s *Section) {
	modulus, hasModulus := f.quantity("modulus", quantity.Stiffness, false, modulusLimits)
	poisson, hasPoisson := f.number("poisson", limits{0, 0.5, "1", 0})
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
	words := materialWords(s.Material)
	for _, m := range stiffnesses {
		if !namesOne(words, m.words) {
			continue
		}
		s.Modulus, s.Poisson = m.modulus, m.poisson
		if !f.t.Has("modulus") || !f.t.Has("poisson") {
			r.assumeOnce("section.modulus", "material "+s.Material, "Walls of "+s.Material+" have a modulus of "+quantity.Format(m.modulus, "GPa", 2)+
				" and a Poisson's ratio of "+quantity.Number(m.poisson, 2)+" where not given otherwise: "+m.source+".")
		}
		return
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
	s.Cover = least
	r.assume("section.cover", "run "+run.Name+", from "+chainages(s.From), "The soil over the pipe is "+quantity.Format(least, "m", 2)+
		" deep, the least that the profile gives there.")
}
