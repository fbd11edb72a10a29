package pipe

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

const psi = 6894.757 // Pa

func collapse(t *testing.T, v Vacuum) Buckling {
	t.Helper()
	b, err := Collapse(v)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// A. P. Moser, S. Folkman, Buried Pipe Design, 3rd ed., pp. 111–112: the two writings of each form are one.
func TestCollapseForms(t *testing.T) {
	const e, nu, r, wall = 30e6, 0.3, 36.0, 0.5
	relative(t, "ring", ring(e, wall/(2*r)), 3*e*wall*wall*wall/12/(r*r*r), 1e-12)
	relative(t, "tube", longTube(e, nu, wall/(2*r)), e*wall*wall*wall/(4*(1-nu*nu)*r*r*r), 1e-12)
	relative(t, "ring over tube", ring(e, 0.01)/longTube(e, nu, 0.01), 1-nu*nu, 1e-12)
	relative(t, "three quarters, on the mean diameter", threeQuarter(e, nu, 41), 0.75*longTube(e, nu, 1/40.0), 1e-12)
}

// The steel form P = 16,250,000 (t/D)³ psi with a safety factor of 4, on the nominal diameter (AWWA Manual M51, from memory): 18.37
// and 2.30 psi; D/t of 148.1 for 5 psi and 103.4 for 14.7 psi. Its constant is 1.4 % below 2E/(1−ν²)/4 at E 30e6 psi, ν 0.3.
func TestCollapseSteelForm(t *testing.T) {
	form := func(ratio float64) float64 { return longTube(30e6, 0.3, ratio) / 4 }
	relative(t, "24 in × 1/4 in", form(0.25/24), 18.37, 0.015)
	relative(t, "48 in × 1/4 in", form(0.25/48), 2.30, 0.016)
	relative(t, "D/t at 5 psi", math.Cbrt(form(1)/5), 148.1, 0.006)
	relative(t, "D/t at 14.7 psi", math.Cbrt(form(1)/14.7), 103.4, 0.006)
	if p := form(0.25 / 48); p >= 5 {
		t.Errorf("48 in × 1/4 in stands the rule's 5 psi: %g", p)
	}
}

// The handbook form P = 50.2e6 (t/d)³ psi without a safety factor (Fair and Geyer's family, from memory) for 24 in × 1/4 in: it
// leaves room for the out-of-roundness of the day's pipe, some 24 % below the perfect tube.
func TestCollapseHandbookForm(t *testing.T) {
	got := longTube(30e6, 0.3, 0.25/24)
	if kept := 56.7 / got; kept < 0.70 || kept > 0.80 {
		t.Errorf("the handbook form keeps %.2f of the perfect tube; Moser and Folkman: out-of-roundness can cost up to 30 %%", kept)
	}
}

// ASTM F480 for PVC, E 400,000 psi, ν 0.33 (as quoted on a practitioners' forum), and the form on the safe side: psi by DR, evaluated from
// the formulas apart from this code.
func TestCollapsePVC(t *testing.T) {
	for dr, want := range map[float64][2]float64{17: {206.3, 164.4}, 21: {106.9, 84.2}, 26: {55.2, 43.1}, 32.5: {27.8, 21.5}, 41: {13.69, 10.52}} {
		b := collapse(t, Vacuum{Shell: Shell{Bore: 0.3 * (1 - 2/dr), Wall: 0.3 / dr, Modulus: 400e3 * psi, Poisson: 0.33}, Form: OutsideForm, Factor: 1})
		relative(t, "F480", b.Free/psi, want[0], 0.002)
		relative(t, "safe side", b.ThreeQuarter/psi, want[1], 0.002)
		if b.OutsideForm != b.Free || b.Governs != "free-standing" || b.Allowed != b.Free {
			t.Errorf("DR %g: %+v", dr, b)
		}
	}
}

// A calculation sheet by AWWA Manual M11 (scribd.com/document/543200316): steel 72 in × 1/2 in, E 30e6 psi, E′ 500 psi, cover 60 in,
// water 40 in above the top, fill 100 lb/ft³, traffic 3,600 lb/ft, safety factor 2.
func TestCollapseBuriedSheet(t *testing.T) {
	const lb = 4.4482216 // N
	v := Vacuum{Shell: Shell{Bore: 71 * inch, Wall: 0.5 * inch, Modulus: 30e6 * psi, Poisson: 0.3}, Factor: 2,
		Soil: Soil{Modulus: 500 * psi, Cover: 60 * inch, WaterTable: 40 * inch, Weight: 100 * lb / (foot * foot * foot), LiveLoad: 3600 * lb / foot}}
	b := collapse(t, v)
	relative(t, "R_w", b.Buoyancy, 0.78, 0.001)
	relative(t, "B′, printed to two figures", b.Support, 0.26, 0.02)
	relative(t, "B′", b.Support, 0.2571, 0.0005)
	relative(t, "q_a, psi", b.BuriedAllowed/psi, 25.91, 0.001)
	relative(t, "q_a, kPa", b.BuriedAllowed/1e3, 178.64, 0.001)
	relative(t, "loads, psi", b.Load/psi, 8.32, 0.001)
	relative(t, "loads, kPa", b.Load/1e3, 57.36, 0.001)
	relative(t, "vacuum", b.Allowed, b.BuriedAllowed-b.Load, 1e-12)
	if b.Governs != "buried" || len(b.Notes) != 0 {
		t.Errorf("governs %q, notes %v", b.Governs, b.Notes)
	}
	// Moser's form for the same pipe, on a diameter of 72 in, and his free ring: evaluated, 121.3 and 20.1 psi.
	relative(t, "Moser, psi", moser(500, 0.3, 30e6*0.5*0.5*0.5/12, 36), 121.3, 0.001)
	relative(t, "ring, psi", ring(30e6, 0.5/72), 20.1, 0.001)
	relative(t, "Moser on the mean diameter", b.Moser/psi, 121.3, 0.012)
}

// Handbooks of plastic pipe (from memory): deflections of 1 to 6 % leave 0.91, 0.84, 0.76, 0.70, 0.64, 0.59.
func TestCollapseRoundness(t *testing.T) {
	for i, want := range []float64{1, 0.914, 0.836, 0.764, 0.698, 0.639, 0.585} {
		if got := roundness(2 * float64(i) / 100); math.Abs(got-want) > 0.002 {
			t.Errorf("%d %%: %.3f, want %.3f", i, got, want)
		}
	}
}

// A pipe without soil that water stands over, as on a river's bed: 5 m press by 49.033 kPa (9806.65 N/m³), which comes off what its wall
// may bear; more than that leaves nothing.
func TestCollapseUnderWater(t *testing.T) {
	v := Vacuum{Shell: Shell{Bore: 0.29, Wall: 0.0115, Modulus: 0.8e9, Poisson: 0.45}, Factor: 2}
	dry := collapse(t, v)
	v.Soil.WaterTable = 5
	wet := collapse(t, v)
	relative(t, "what 5 m take", dry.Allowed-wet.Allowed, 49033.25, 1e-12)
	relative(t, "load", wet.Load, 49033.25, 1e-12)
	if wet.Free != dry.Free || wet.FreeAllowed != wet.Allowed || wet.Buried || len(wet.Notes) != 0 {
		t.Errorf("%+v", wet)
	}
	v.Soil.WaterTable = 10
	if deep := collapse(t, v); deep.Allowed != 0 || !slices.Contains(deep.Notes, NoteNothing) {
		t.Errorf("%+v", deep)
	}
}

func TestCollapseNotes(t *testing.T) {
	base := Vacuum{Shell: Shell{Bore: 0.6, Wall: 0.01, Modulus: 170e9, Poisson: 0.28}, Factor: 2, Soil: Soil{Modulus: 5e6, Cover: 2}}
	for id, change := range map[string]func(*Vacuum){
		NoteShallow:   func(v *Vacuum) { v.Soil.Cover = 0.8 },
		NoteFlooded:   func(v *Vacuum) { v.Soil.WaterTable = 3 },
		NoteOval:      func(v *Vacuum) { v.Ovality = 0.3 },
		NoteThick:     func(v *Vacuum) { v.Wall = 0.1 },
		NoteNothing:   func(v *Vacuum) { v.Wall = 0.001; v.Soil.LiveLoad = 1e6 },
		NoteUnderFree: func(v *Vacuum) { v.Soil.Modulus = 5e4 },
	} {
		if b := collapse(t, base); slices.Contains(b.Notes, id) {
			t.Errorf("%s without its cause", id)
		}
		v := base
		change(&v)
		if b := collapse(t, v); !slices.Contains(b.Notes, id) || b.Allowed < 0 {
			t.Errorf("%s is missing: %v, allowed %g", id, b.Notes, b.Allowed)
		}
	}
}

// A thicker or stiffer wall stands more, an oval one less; the factor divides; soil support grows with its modulus.
func TestCollapseProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := Vacuum{
			Shell: Shell{Bore: rapid.Float64Range(0.05, 3).Draw(t, "bore"), Modulus: rapid.Float64Range(0.5e9, 250e9).Draw(t, "modulus"),
				Poisson: rapid.Float64Range(0.1, 0.49).Draw(t, "poisson")},
			Form: Form(rapid.IntRange(0, 3).Draw(t, "form")), Ovality: rapid.Float64Range(0, 0.1).Draw(t, "ovality"), Factor: rapid.Float64Range(1, 4).Draw(t, "factor"),
		}
		v.Wall = v.Bore * rapid.Float64Range(0.002, 0.1).Draw(t, "wall")
		must := func(v Vacuum) Buckling {
			b, err := Collapse(v)
			if err != nil {
				t.Fatal(err)
			}
			return b
		}
		b := must(v)
		thick, oval, twice := v, v, v
		thick.Wall *= 1.05
		oval.Ovality += 0.01
		twice.Factor *= 2
		if !(must(thick).Free > b.Free && must(oval).Free < b.Free) || math.Abs(must(twice).Allowed/b.Allowed-0.5) > 1e-12 {
			t.Fatal("out of order")
		}
		if !(b.ThreeQuarter < b.OutsideForm && b.OutsideForm < b.LongTube && b.Ring < b.LongTube) {
			t.Fatalf("%+v", b)
		}
		v.Soil = Soil{Modulus: rapid.Float64Range(1e5, 2e7).Draw(t, "soil"), Cover: rapid.Float64Range(0.5, 10).Draw(t, "cover")}
		buried, wet := must(v), v
		wet.Soil.WaterTable = v.Soil.Cover / 2
		if buried.Free != b.Free || must(wet).Allowed > buried.Allowed || !(buried.Allowed >= 0) {
			t.Fatalf("%+v", buried)
		}
	})
}

func TestCollapseFaults(t *testing.T) {
	_, err := Collapse(Vacuum{Shell: Shell{Bore: 0, Wall: 0, Modulus: math.Inf(1), Poisson: -1}, Form: 9, Ovality: 1, Factor: 0.5, Soil: Soil{Modulus: 1, WaterTable: -1}})
	for _, what := range []string{"bore", "wall is", "Poisson", "infinite", "form 9", "ovality", "safety factor", "ground water", "no cover"} {
		if err == nil || !strings.Contains(err.Error(), what) {
			t.Errorf("nothing said of %s: %v", what, err)
		}
	}
}
