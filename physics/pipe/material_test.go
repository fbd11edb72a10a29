package pipe

import (
	"strings"
	"testing"
)

// The names are those people write; the materials they mean are common knowledge, no source.
func TestMaterialOf(t *testing.T) {
	for name, want := range map[string]string{
		"ductile iron": "ductile iron", "Ductile iron, cement lined": "ductile iron", "DI": "ductile iron",
		"cement-mortar lined steel": "steel", "steel with concrete lining": "steel", "PE coated steel": "steel", "mild steel": "steel",
		"stainless steel": "stainless steel", "cast iron": "grey cast iron",
		"PE100": "PE100", "PE 100": "PE100", "PE-80": "PE80", "HDPE": "PE100", "PE 100 RC": "PE100",
		"PVC-U": "PVC-U", "uPVC": "PVC-U", "PVC O": "PVC-O", "GRP": "glass-reinforced plastic",
		"asbestos cement": "fibre cement", "reinforced concrete": "concrete", "AC": "fibre cement",
	} {
		got, ok := MaterialOf(name)
		if !ok || got.Material != want {
			t.Errorf("%q is %q, %v; want %q", name, got.Material, ok, want)
		}
	}
	for _, name := range []string{"", "wood", "steel-cylinder concrete", "steel or PVC", "cement", "lined"} {
		if got, ok := MaterialOf(name); ok {
			t.Errorf("%q was taken for %s", name, got.Material)
		}
	}
}

// Every figure lies in the range of its kind, has a source, and every size of the tables has a known material.
func TestElasticTable(t *testing.T) {
	for _, m := range elastics {
		if !(m.Modulus >= 0.5e9 && m.Modulus <= 250e9) || !(m.Poisson >= 0.15 && m.Poisson < 0.5) || m.Source == "" {
			t.Errorf("%s: E %g, ν %g, source %q", m.Material, m.Modulus, m.Poisson, m.Source)
		}
		if m.LongTerm < 0 || m.LongTerm >= m.Modulus {
			t.Errorf("%s: long-term modulus %g of %g", m.Material, m.LongTerm, m.Modulus)
		}
	}
	for _, name := range Names() {
		s, err := Lookup(name)
		if err != nil {
			t.Fatal(err)
		}
		if e, ok := MaterialOf(s.Material); !ok || !strings.HasPrefix(s.Material, e.Material) {
			t.Errorf("%s is of %q: %v %q", name, s.Material, ok, e.Material)
		}
	}
}
