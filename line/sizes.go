package line

import (
	"fmt"
	"strings"

	"obvert/quantity"
)

// applySize fills in what a standard size by name says: bore, wall, material, rating.
func (r *reader) applySize(f form, s *Section) {
	if s.Size != "" && !f.t.Has("bore") {
		f.fault("size", fmt.Sprintf("no standard size %q is known", s.Size), "", "write the bore and the wall: bore = \"300 mm\", wall = \"7 mm\"")
	}
}

// roughnesses are heights of sand-grain roughness by material, for pipe in good condition.
var roughnesses = []struct {
	words  []string
	k      float64 // m
	source string
}{
	{[]string{"cement", "mortar", "lined"}, 0.1e-3, "common practice for cement-lined pipe, no source"},
	{[]string{"ductile"}, 0.1e-3, "common practice for cement-lined pipe, no source"},
	{[]string{"pe", "pe100", "pe80", "polyethylene", "pvc", "pvc-u", "pvc-o", "plastic", "grp"}, 0.01e-3,
		"common practice with joints counted in, no source; smooth plastic alone has 0.0015 mm (Hydraulic Institute, Engineering Data Book, table 3.A.1)"},
	{[]string{"galvanised", "galvanized"}, 0.152e-3, "Hydraulic Institute, Engineering Data Book, table 3.A.1"},
	{[]string{"steel"}, 0.0457e-3, "Hydraulic Institute, Engineering Data Book, table 3.A.1"},
	{[]string{"cast", "iron"}, 0.26e-3, "Hydraulic Institute, Engineering Data Book, table 3.A.1"},
	{[]string{"concrete"}, 0.305e-3, "Hydraulic Institute, Engineering Data Book, table 3.A.1, smoothest"},
}

// otherRoughness is taken where the material is not known.
const otherRoughness = 0.1e-3 // m, common practice, no source

// assumedRoughness is the roughness of a section by its material, with the sentence that says so.
func assumedRoughness(s Section) (k float64, text string) {
	words := strings.FieldsFunc(strings.ToLower(s.Material), func(c rune) bool { return c == ' ' || c == ',' || c == '/' || c == '(' || c == ')' })
	for _, m := range roughnesses {
		for _, w := range words {
			for _, known := range m.words {
				if w == known || strings.HasPrefix(w, known+"-") {
					return m.k, "Roughness " + quantity.Format(m.k, "mm", 3) + " by its material, " + s.Material + " (" + m.source + ")."
				}
			}
		}
	}
	return otherRoughness, "Roughness " + quantity.Format(otherRoughness, "mm", 3) + ", whatever the material (common practice, no source)."
}
