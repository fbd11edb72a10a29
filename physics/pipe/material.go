package pipe

import (
	"slices"
	"strings"
	"unicode"
)

// Elastic is how a wall's material gives way, for collapse under vacuum and the speed of pressure waves.
type Elastic struct {
	Material string  // its usual name, such as "ductile iron"
	Modulus  float64 `unit:"Pa"` // of elasticity E in hoop bending, short-term at 20 °C
	Poisson  float64 `unit:"1"`  // ratio ν
	// LongTerm is the modulus that creep leaves after 50 years; 0 for a material that does not creep. A vacuum that lasts
	// hours meets something between the two.
	LongTerm float64 `unit:"Pa"`
	Source   string  // where the figures are from
}

// textbook values that several sources repeat alike.
const (
	wylie     = "E. B. Wylie, V. L. Streeter, Fluid Transients in Systems (1993), table of moduli, from memory"
	plastics  = "; long-term modulus common practice, no source"
	composite = "common practice, no source: laminate and lay-up decide, take the maker's figures"
)

// elastics are the materials by the words that name them, the particular before the general.
var elastics = []struct {
	words []string // any of these names it
	also  string   // and this one beside it; empty: none
	Elastic
}{
	{[]string{"ductile", "di", "dip", "dicl", "ggg", "spheroidal"}, "", Elastic{"ductile iron", 170e9, 0.28, 0, "E: EN 545, annex on buried pipes, from memory; ν: " + wylie}},
	{[]string{"stainless", "inox"}, "", Elastic{"stainless steel", 195e9, 0.30, 0, "common practice, no source"}},
	{[]string{"fibre", "fiber", "asbestos"}, "cement", Elastic{"fibre cement", 24e9, 0.30, 0, wylie}},
	{[]string{"ac"}, "", Elastic{"fibre cement", 24e9, 0.30, 0, wylie}},
	{[]string{"grp", "gre", "frp", "rtrp", "fibreglass", "fiberglass", "glass"}, "", Elastic{"glass-reinforced plastic", 20e9, 0.30, 7e9, composite}},
	{[]string{"pvco", "bopvc", "oriented"}, "", Elastic{"PVC-O", 4.0e9, 0.45, 1.6e9, "E: ISO 16422, from memory; ν: common practice, no source" + plastics}},
	{[]string{"pvc", "pvcu", "upvc", "pvcm", "mpvc"}, "", Elastic{"PVC-U", 3.0e9, 0.40, 1.5e9, "E: ISO 1452, from memory; ν: common practice, no source" + plastics}},
	{[]string{"pe80", "mdpe"}, "", Elastic{"PE80", 0.8e9, 0.45, 0.16e9, "common practice, no source"}},
	{[]string{"pe", "pe100", "hdpe", "pehd", "polyethylene"}, "", Elastic{"PE100", 1.0e9, 0.45, 0.2e9, "common practice, no source; 0.8 GPa (115,000 psi) in the US"}},
	{[]string{"pp", "polypropylene"}, "", Elastic{"polypropylene", 1.3e9, 0.42, 0.3e9, "common practice, no source"}},
	{[]string{"abs"}, "", Elastic{"ABS", 2.3e9, 0.38, 0.8e9, "common practice, no source"}},
	{[]string{"concrete", "rcp", "pccp"}, "", Elastic{"concrete", 30e9, 0.20, 0, "common practice, no source; a cracked wall has less"}},
	{[]string{"steel"}, "", Elastic{"steel", 207e9, 0.30, 0, wylie + " (207 GPa)"}},
	{[]string{"iron", "ci", "cip", "gg"}, "", Elastic{"grey cast iron", 100e9, 0.25, 0, "K. Subramanya, 1000 Solved Problems in Fluid Mechanics, Ex. 14.14 (E); ν: common practice, no source"}},
	{[]string{"copper"}, "", Elastic{"copper", 120e9, 0.34, 0, wylie}},
	{[]string{"aluminium", "aluminum"}, "", Elastic{"aluminium", 70e9, 0.33, 0, wylie}},
}

// MaterialOf finds how a wall's material gives way by its name as a person writes it: "ductile iron, cement lined", "PE 100",
// "uPVC", "mild steel". Linings and coatings are passed over. It is false where no word is known, and where two
// materials are named, as in "steel-cylinder concrete": such a wall needs its own figures.
func MaterialOf(name string) (Elastic, bool) {
	words := materialWords(name)
	at := -1
	for i := range elastics {
		m := &elastics[i]
		if m.also != "" && !slices.Contains(words, m.also) {
			continue
		}
		if !slices.ContainsFunc(m.words, func(w string) bool { return slices.Contains(words, w) }) {
			continue
		}
		switch {
		case at < 0:
			at = i
		case !particular(&elastics[at].Elastic, &m.Elastic):
			return Elastic{}, false
		}
	}
	if at < 0 {
		return Elastic{}, false
	}
	return elastics[at].Elastic, true
}

// particular reports whether a names a kind of b's family, so that both words may stand in one name: ductile iron, stainless
// steel, PE 80.
func particular(a, b *Elastic) bool {
	family := func(e *Elastic) string {
		switch e.Material {
		case "ductile iron", "grey cast iron":
			return "iron"
		case "steel", "stainless steel":
			return "steel"
		case "PVC-O", "PVC-U":
			return "PVC"
		case "PE80", "PE100":
			return "PE"
		}
		return e.Material
	}
	return family(a) == family(b)
}

// materialWords are the words of a name in lower case, without what lines or coats the wall. Letters and a figure beside them
// are one word ("PE 100" is "pe100"), and so are the letters of PVC-U, PVC-O and PE-HD.
func materialWords(name string) []string {
	fields := strings.FieldsFunc(strings.ToLower(name), func(c rune) bool { return !unicode.IsLetter(c) && !unicode.IsDigit(c) })
	var words []string
	for _, w := range fields {
		last := len(words) - 1
		switch {
		case w == "lined" || w == "lining" || w == "coated" || w == "coating":
			for ; last >= 0 && slices.Contains(linings, words[last]); last-- {
				words = words[:last]
			}
		case last >= 0 && slices.Contains(joined, words[last]+w):
			words[last] += w
		default:
			words = append(words, w)
		}
	}
	return words
}

var (
	linings = []string{"cement", "mortar", "concrete", "epoxy", "bitumen", "polyurethane", "pe", "pp", "zinc", "resin", "with", "and"}
	joined  = []string{"pe80", "pe100", "pvcu", "pvco", "pvcm", "pehd"}
)
