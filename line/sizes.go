package line

import (
	"slices"
	"strings"
	"unicode"

	"obvert/physics/pipe"
	"obvert/quantity"
)

// mostBadSizes is how many different unknown names of sizes are told.
const mostBadSizes = 50

// applySize fills in what a standard size by name says: bore, wall, material, rating.
func (r *reader) applySize(f form, s *Section) (size pipe.Size, ok bool) {
	if s.Size == "" {
		return pipe.Size{}, false
	}
	hint, bad := r.badSizes[s.Size]
	if !bad && len(r.badSizes) >= mostBadSizes {
		return pipe.Size{}, false // looking for near names takes its time, and enough is told to begin with
	}
	var err error
	if !bad {
		size, err = pipe.Lookup(s.Size)
	}
	if err != nil {
		_, hint, _ = strings.Cut(err.Error(), ": ")
		r.badSizes[s.Size], bad = hint, true
	}
	if bad {
		f.fault("size", "no standard size "+quantity.Quote(s.Size)+" is known", "", hint)
		return pipe.Size{}, false
	}
	s.Size, s.Bore, s.Wall = size.Name, size.Bore, size.Wall
	if s.Material == "" {
		s.Material = size.Material
	}
	if s.Rating == 0 {
		s.Rating = size.Rating
	}
	return size, true
}

// dataBook is the source of most of the heights of roughness below.
const dataBook = "Hydraulic Institute, Engineering Data Book, table 3.A.1"

// roughnesses are heights of sand-grain roughness by material, for pipe in good condition. The first that a word of the
// material names is taken.
var roughnesses = []struct {
	words  []string
	k      float64 // m
	source string
}{
	{[]string{"cement", "mortar", "lined", "ductile"}, 0.1e-3, "common practice for cement-lined pipe, no source"},
	{[]string{"pe", "pe80", "pe100", "hdpe", "polyethylene", "pvc", "plastic", "grp"}, 0.00152e-3, dataBook},
	{[]string{"galvanised", "galvanized"}, 0.152e-3, dataBook},
	{[]string{"steel"}, 0.0457e-3, dataBook},
	{[]string{"iron"}, 0.26e-3, dataBook},
	{[]string{"concrete"}, 0.305e-3, dataBook + ", its smoothest"},
}

// otherRoughness is taken where the material is not known.
const otherRoughness = 0.1e-3 // m, common practice, no source

// assumedRoughness is the roughness of a section by its standard size or its material, with the sentence that says so.
func assumedRoughness(s Section, size pipe.Size) (k float64, text string) {
	if size.Roughness > 0 {
		return size.Roughness, roughnessText(size.Roughness, size.Material, size.RoughnessSource)
	}
	words := materialWords(s.Material)
	for _, m := range roughnesses {
		if namesOne(words, m.words) {
			return m.k, roughnessText(m.k, s.Material, m.source)
		}
	}
	return otherRoughness, "Roughness " + quantity.Format(otherRoughness, "mm", 3) + ", whatever the material (common practice, no source)."
}

func roughnessText(k float64, material, source string) string {
	return "Roughness " + quantity.Format(k, "mm", 4) + " for " + material + ": " + source + "."
}

// materialWords are the words of a material in small letters.
func materialWords(material string) []string {
	return strings.FieldsFunc(strings.ToLower(material), func(c rune) bool { return !unicode.IsLetter(c) && !unicode.IsDigit(c) })
}

// namesOne tells whether one of the words is among those of a material.
func namesOne(material []string, words []string) bool {
	return slices.ContainsFunc(words, func(w string) bool { return slices.Contains(material, w) })
}
