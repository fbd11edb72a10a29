package valve

import (
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"obvert/physics/opening"

	"obvert/internal/schematest"
)

func readDemo(t testing.TB) map[string][]byte {
	t.Helper()
	files, err := filepath.Glob("../../demo/rack/*.toml")
	if err != nil || len(files) < 5 {
		t.Fatalf("the demo's rack has %d records (%v), want five", len(files), err)
	}
	all := map[string][]byte{}
	for _, f := range files {
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		all[f] = data
	}
	return all
}

func typicalTexts(t testing.TB) map[string][]byte {
	t.Helper()
	all := map[string][]byte{}
	entries, _ := typicalFiles.ReadDir("typical")
	for _, e := range entries {
		data, err := typicalFiles.ReadFile("typical/" + e.Name())
		if err != nil {
			t.Fatal(err)
		}
		all[e.Name()] = data
	}
	return all
}

func TestDemoRecordsRoundTrip(t *testing.T) {
	for _, set := range []map[string][]byte{readDemo(t), typicalTexts(t)} {
		for file, data := range set {
			r, faults := Parse(file, data)
			if len(faults) > 0 {
				t.Errorf("%s: %v", file, faults)
				continue
			}
			again, faults := Parse(file, Format(r))
			if len(faults) > 0 || !reflect.DeepEqual(r, again) {
				t.Errorf("%s does not survive Format: %v\n%s", file, faults, Format(r))
			}
		}
	}
}

// A record's text and its schema must agree: every example holds, and each way of
// spoiling one is noticed.
func TestSchema(t *testing.T) {
	examples := readDemo(t)
	for f, d := range typicalTexts(t) {
		examples[f] = d
	}
	for file, data := range examples {
		if faults := bySchema(t, data); faults != nil {
			t.Errorf("%s: %v", file, faults)
		}
		r, _ := Parse(file, data)
		if faults := bySchema(t, Format(r)); faults != nil {
			t.Errorf("%s as formatted: %v", file, faults)
		}
	}
	base := string(typicalTexts(t)["combination-080.toml"])
	for _, c := range []struct{ old, new string }{
		{`"80 mm"`, `80`}, {`"80 mm"`, `"80"`}, {`"measured"`, `"measurd"`}, {`admits_air`, `admits_ari`},
		{`coefficient = 0.6`, `coefficient = 1.6`}, {"[air_in]", "[air_in]\nconductance = \"3 dm³/(s·bar)\"\ncritical_ratio = 0.3"},
	} {
		spoilt := strings.Replace(base, c.old, c.new, 1)
		if spoilt == base {
			t.Fatalf("%q is not in the example", c.old)
		}
		if bySchema(t, []byte(spoilt)) == nil {
			t.Errorf("the schema takes %q", c.new)
		}
		if _, faults := Parse("x.toml", []byte(spoilt)); faults.Err() == nil {
			t.Errorf("Parse takes %q", c.new)
		}
	}
}

func bySchema(t *testing.T, data []byte) error {
	t.Helper()
	s, err := schematest.Compile(Schema())
	if err != nil {
		t.Fatal(err)
	}
	return schematest.TOML(s, data)
}

func TestTypical(t *testing.T) {
	all := Typical()
	names := map[string]bool{}
	for _, r := range all {
		if names[r.Name] || !r.Typical || !strings.HasPrefix(r.Name, "Typical ") || !strings.Contains(r.Origin, "no source") {
			t.Errorf("%q: want a name of its own, marked typical, with no source claimed", r.Name)
		}
		names[r.Name] = true
		// a class is known worse than a valve: a quarter of the mean at least
		if r.Sealing.Uncertainty < r.Sealing.Mean/4 {
			t.Errorf("%s: sealing ± %g of %g Pa is too sure of itself", r.Name, r.Sealing.Uncertainty, r.Sealing.Mean)
		}
	}
	for _, want := range []string{"Typical low-sealing kinetic DN 80", "Typical ball float DN 50", "Typical combination DN 80"} {
		if !names[want] {
			t.Errorf("no %s", want)
		}
	}
}

const plain = `
name = "X"
admits_air = true
origin = "test"
[sealing]
known = "measured"
mean = "20 kPa"
uncertainty = "0.5 kPa"
[letting_go]
known = "measured"
mean = "15 kPa"
uncertainty = "0.5 kPa"
[leak]
curve = [["2 kPa", "2 L/min"], ["8 kPa", "5 L/min"], ["15 kPa", "1 L/min"]]
`

// An outlet and a stage that throttles it.
const (
	wide  = "[air_out]\ndiameter = \"78 mm\"\ncoefficient = 0.6\n"
	stage = "[anti_slam]\ndifferential = \"4 kPa\"\ndiameter = \"20 mm\"\ncoefficient = 0.6\n"
)

// A leak curve that rises past sealing is refused with what was read: the leak, where it was, and where the valve shuts.
func TestLeakPastSealingSaysWhatWasUnderstood(t *testing.T) {
	_, faults := Parse("x.toml", []byte(strings.Replace(plain, `"15 kPa", "1 L`, `"25 kPa", "9 L`, 1)))
	if len(faults) != 1 {
		t.Fatal(faults)
	}
	for _, want := range []string{"9.000", "25.000", "20.000"} {
		if !strings.Contains(faults[0].Understood, want) {
			t.Errorf("%q is not in %q", want, faults[0].Understood)
		}
	}
}

// The stage's outlet is an opening like the others, and a third of the bore passes a ninth of the air.
func TestThrottled(t *testing.T) {
	r := Record{Out: &Air{Diameter: 0.078, Coefficient: 0.6}, Stage: &Stage{Differential: 4000, Out: Air{Diameter: 0.026, Coefficient: 0.6}}}
	open, err := r.Outlet()
	if err != nil {
		t.Fatal(err)
	}
	less, err := r.Throttled()
	if err != nil {
		t.Fatal(err)
	}
	a, _ := open.MassFlow(105325, 101325, 288.15)
	b, _ := less.MassFlow(105325, 101325, 288.15)
	if math.Abs(9*b.Mass/a.Mass-1) > 1e-12 {
		t.Errorf("%g kg/s throttled, %g kg/s open", b.Mass, a.Mass)
	}
	if o, err := (&Record{}).Throttled(); o != nil || err != nil {
		t.Error("a record without a stage has a throttled outlet")
	}
	r.Stage.Out = Air{Points: []AirPoint{{1000, 0.03}, {2000, 0.01}}}
	if _, err := r.Throttled(); err == nil {
		t.Error("a curve that closes is taken for an opening")
	}
}

// The demo's rack has what sizing and refilling need.
func TestDemoRackIsComplete(t *testing.T) {
	stages := 0
	for file, data := range readDemo(t) {
		r, _ := Parse(file, data)
		if r.In == nil || len(r.In.Points) < 4 || r.Out == nil || len(r.Out.Points) < 4 || r.EarlyClosing == 0 {
			t.Errorf("%s: no measured curve in or out, or no early closing", file)
		}
		if r.Stage != nil {
			stages++
		}
	}
	if stages < 2 {
		t.Errorf("%d types with an anti-slam stage", stages)
	}
}

// Each change to a sound record is one fault at the key named.
func TestFaults(t *testing.T) {
	if _, faults := Parse("x.toml", []byte(plain)); len(faults) > 0 {
		t.Fatal(faults)
	}
	for _, c := range []struct{ name, old, new, key, what string }{
		{"letting-go above sealing", `mean = "15 kPa"`, `mean = "25 kPa"`, "letting_go.mean", "letting-go above sealing"},
		{"leak past sealing", `"15 kPa", "1 L`, `"21 kPa", "1 L`, "leak.curve", "past the sealing pressure"},
		{"leak rising past sealing", `"15 kPa", "1 L`, `"25 kPa", "9 L`, "leak.curve", "past the sealing pressure"},
		{"two maxima", `["15 kPa", "1 L/min"]`, `["10 kPa", "1 L/min"], ["15 kPa", "3 L/min"]`, "leak.curve", "rises again"},
		{"unsorted", `"15 kPa", "1 L`, `"5 kPa", "1 L`, "leak.curve", "do not rise"},
		{"negative leak", `"1 L/min"`, `"-1 L/min"`, "leak.curve", "outside"},
		{"bare number", `mean = "20 kPa"`, `mean = 20`, "sealing.mean", ""},
		{"no unit", `mean = "20 kPa"`, `mean = "20"`, "sealing.mean", ""},
		{"wrong kind", `mean = "20 kPa"`, `mean = "20 mm"`, "sealing.mean", ""},
		{"metres of head", `mean = "20 kPa"`, `mean = "2 m"`, "sealing.mean", ""},
		{"below zero", `mean = "20 kPa"`, `mean = "-20 kPa"`, "sealing.mean", "outside"},
		{"unknown key", `known = "measured"`, "known = \"measured\"\nmeen = \"1 kPa\"", "sealing.meen", ""},
		{"letting go of what was not shut", "known = \"measured\"\nmean = \"20 kPa\"", "known = \"more than\"\nmean = \"20 kPa\"", "letting_go.known", "not seen tight"},
		{"no name", `name = "X"`, `name = ""`, "", "empty"},
		{"look-alike letter", `admits_air`, `аdmits_air`, "", ""},
		{"nan", `"2 L/min"`, `"nan L/min"`, "leak.curve[1][2]", ""},
		{"1e308", `mean = "20 kPa"`, `mean = "1e308 kPa"`, "sealing.mean", ""},
		{"letting go above more than sealing", "known = \"measured\"\nmean = \"15 kPa\"", "known = \"more than\"\nmean = \"21 kPa\"", "letting_go.mean", "letting-go above sealing"},
		{"stage that throttles nothing", "[leak]", "[anti_slam]\ndifferential = \"4 kPa\"\ndiameter = \"20 mm\"\ncoefficient = 0.6\n[leak]", "anti_slam", "throttles nothing"},
		{"stage that passes more", "[leak]", wide + "[anti_slam]\ndifferential = \"4 kPa\"\ndiameter = \"90 mm\"\ncoefficient = 0.6\n[leak]", "anti_slam", "passes more"},
		{"stage without an outlet", "[leak]", wide + "[anti_slam]\ndifferential = \"4 kPa\"\n[leak]", "anti_slam", "none or several forms"},
		{"stage in two forms", "[leak]", wide + stage + "conductance = \"3 dm³/(s·bar)\"\ncritical_ratio = 0.3\n[leak]", "anti_slam", "none or several forms"},
		{"stage without a differential", "[leak]", wide + "[anti_slam]\ndiameter = \"20 mm\"\ncoefficient = 0.6\n[leak]", "anti_slam.differential", "is missing"},
		{"stage at no differential", "[leak]", wide + strings.Replace(stage, "4 kPa", "0 kPa", 1) + "[leak]", "anti_slam.differential", "no differential"},
		{"shut before the stage", "admits_air = true\norigin = \"test\"\n", "admits_air = true\nearly_closing = \"3 kPa\"\norigin = \"test\"\n" + wide + stage, "early_closing", "before the stage switches"},
		{"orifice that passes nothing", "[leak]", "[air_in]\ncurve = [[\"1 kPa\", \"0 kg/s\"], [\"9 kPa\", \"0 kg/s\"]]\n[leak]", "air_in.curve", "passes nothing"},
		{"early closing below zero", "admits_air = true\n", "admits_air = true\nearly_closing = \"-3 kPa\"\n", "early_closing", "outside"},
		{"early closing in metres", "admits_air = true\n", "admits_air = true\nearly_closing = \"3 m\"\n", "early_closing", ""},
	} {
		text := strings.Replace(plain, c.old, c.new, 1)
		if text == plain {
			t.Fatalf("%s: %q is not in the text", c.name, c.old)
		}
		_, faults := Parse("x.toml", []byte(text))
		hit := false
		for _, f := range faults.Only(0) {
			hit = hit || f.Line > 0 && (c.key == "" || f.Key == c.key) && strings.Contains(f.What, c.what)
		}
		if !hit {
			t.Errorf("%s: want a fault at %q with %q, got %v", c.name, c.key, c.what, faults)
		}
	}
}

func TestHeadIsOfTheWaterInHand(t *testing.T) {
	r := Record{Sealing: Threshold{Bound: Measured, Mean: 998.2071 * 9.80665 * 2}}
	// ρ at 20 °C, 1 atm: 998.2071 kg/m³ (Kell 1975 table, water at 1 atm)
	if h := r.SealingHead(998.2071, 9.80665); math.Abs(h-2) > 1e-12 {
		t.Errorf("2 m of water came out as %.15g m", h)
	}
	if h := r.SealingHead(983.16, 9.80665); h <= 2 {
		t.Errorf("the same pressure is %g m of 60 °C water, which is lighter", h)
	}
}

func TestSpread(t *testing.T) {
	// 3-4-5: variances add (JCGM 100:2008, 5.1.2)
	if u := (Threshold{Uncertainty: 3, Scatter: 4}).Spread(); u != 5 {
		t.Errorf("spread %g, want 5", u)
	}
}

func TestLeakFlowShape(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyRecord(t)
		end := r.Sealing.Mean
		if r.Sealing.Bound == MoreThan && len(r.Leak) > 0 {
			end = r.Leak[len(r.Leak)-1].Pressure
		}
		if r.LeakFlow(0) != 0 || r.LeakFlow(-1) != 0 {
			t.Fatal("leaks with no water at the seat")
		}
		most, at := r.LargestLeak()
		last, falling := 0.0, false
		for i := 0; i <= 400; i++ {
			p := end * float64(i) / 400
			q := r.LeakFlow(p)
			if !(q >= 0 && q <= most*(1+1e-12)) {
				t.Fatalf("%g m³/s at %g Pa, largest is %g at %g", q, p, most, at)
			}
			tol := most * 1e-12
			if falling && q > last+tol {
				t.Fatalf("rises again at %g Pa", p)
			}
			falling = falling || q < last-tol
			last = q
		}
		for _, pt := range r.Leak {
			if q := r.LeakFlow(pt.Pressure); math.Abs(q-pt.Flow) > 1e-12*most {
				t.Fatalf("misses its point %v: %g", pt, q)
			}
		}
		if r.closes() && (r.LeakFlow(end) != 0 || r.LeakFlow(2*end) != 0 || r.HasLeak() && !r.LeakKnown(2*end)) {
			t.Fatal("leaks from the sealing pressure up")
		}
		if r.Sealing.Bound == MoreThan && r.LeakKnown(end*1.01) {
			t.Fatal("claims to know the leak above what was measured")
		}
	})
}

// anyRecord draws a sound record.
func anyRecord(t *rapid.T) Record {
	p := func(lo, hi float64, name string) float64 {
		v := rapid.Float64Range(lo, hi).Draw(t, name)
		if v < 1e-200 { // no figure that a text may hold
			return 0
		}
		return v
	}
	r := Record{
		Name: rapid.StringMatching(`[A-Za-zÀ-ÿ"\\\t ]{0,12}x`).Draw(t, "name"), Origin: "o", AdmitsAir: rapid.Bool().Draw(t, "admits"),
		Sealing:         Threshold{Bound: Measured, Mean: p(500, 90000, "mean"), Uncertainty: p(0, 5e3, "u"), Scatter: p(0, 900, "s"), HasScatter: true, Repeats: 3, Freedom: p(1, 90, "nu")},
		NominalDiameter: p(0.02, 0.4, "dn"), Rating: p(1e5, 4e6, "rating"), Price: math.Round(p(1, 9e3, "price")), Currency: "EUR",
	}
	r.LettingGo = Threshold{Bound: Measured, Mean: r.Sealing.Mean * p(0.1, 1, "ratio"), Uncertainty: p(0, 5e3, "ul")}
	if rapid.Bool().Draw(t, "never tight") {
		r.Sealing.Bound, r.LettingGo = MoreThan, Threshold{Bound: NotApplicable}
	}
	n := rapid.IntRange(0, 8).Draw(t, "points")
	peak := rapid.IntRange(0, 8).Draw(t, "peak")
	q := 0.0
	for i := range n {
		step := p(1e-7, 1e-4, "step")
		if i <= peak {
			q += step
		} else {
			q = math.Max(0, q-step)
		}
		r.Leak = append(r.Leak, LeakPoint{Pressure: r.Sealing.Mean * float64(i+1) / float64(n+2), Flow: q})
	}
	if rapid.Bool().Draw(t, "air") {
		r.In = &Air{C: p(1e-8, 1e-5, "C"), CriticalB: p(0, 0.9, "b"), SubsonicM: p(0.3, 1, "m")}
		r.Out = &Air{Diameter: p(0.01, 0.3, "d"), Coefficient: p(0.1, 1, "cd")}
		r.SmallOrifice = &Orifice{Diameter: p(0.001, 0.01, "ds"), Coefficient: p(0.1, 1, "cds")}
		if rapid.Bool().Draw(t, "stage") {
			r.Stage = &Stage{Differential: p(100, 2e4, "stage"), Out: Air{Diameter: r.Out.Diameter * p(0.1, 0.9, "dt"), Coefficient: r.Out.Coefficient}}
			r.EarlyClosing = r.Stage.Differential * p(1.01, 5, "early")
		}
	}
	return r
}

func TestFormatParseIsIdentity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyRecord(t)
		if ps := Check(r); len(ps) > 0 {
			t.Fatalf("drew a record that Check refuses: %v", ps)
		}
		got, faults := Parse("", Format(r))
		if len(faults) > 0 || !reflect.DeepEqual(got, r) {
			t.Fatalf("%v\n%s\n%+v\n%+v", faults, Format(r), got, r)
		}
	})
}

func TestOpenings(t *testing.T) {
	const p0, t0 = 101325.0, 288.15
	hole := opening.Orifice{Area: opening.Circle(0.08), Coefficient: 0.6}
	want, _ := hole.MassFlow(p0, p0-5000, t0)
	in := []AirPoint{{}, {1000, 0}, {5000, 0}, {20000, 0}}
	for i := range in {
		f, _ := hole.MassFlow(p0, p0-in[i].Differential, t0)
		in[i].MassFlow = f.Mass
	}
	c, err := hole.SonicConductance()
	if err != nil {
		t.Fatal(err)
	}
	for name, a := range map[string]*Air{
		"bore": {Diameter: 0.08, Coefficient: 0.6}, "curve": {Points: in}, "ISO 6358": {C: c, CriticalB: 0.5283, SubsonicM: 0.5},
	} {
		r := Record{In: a}
		o, err := r.Inlet()
		if err != nil {
			t.Fatal(name, err)
		}
		got, err := o.MassFlow(p0, p0-5000, t0)
		// the three forms of one nozzle agree: exactly, at its own test point, and
		// within the 2 % by which the ellipse of ISO 6358 differs from the nozzle
		if tol := map[string]float64{"bore": 1e-12, "curve": 1e-6, "ISO 6358": 0.03}[name]; err != nil || math.Abs(got.Mass/want.Mass-1) > tol {
			t.Errorf("%s passes %g kg/s, want %g (%v)", name, got.Mass, want.Mass, err)
		}
	}
	if o, err := (&Record{}).Outlet(); o != nil || err != nil || (&Record{}).Release() != nil {
		t.Error("a record without orifices has openings")
	}
}

func TestWithMeasuredKeepsWhatTheBenchCannotKnow(t *testing.T) {
	old := Record{Name: "A", Price: 5, Currency: "EUR", SmallOrifice: &Orifice{0.002, 0.7}, Sealing: Threshold{Bound: Measured, Mean: 1}}
	got := old.WithMeasured(Record{Name: "A", Sealing: Threshold{Bound: Measured, Mean: 2}, Origin: "run"})
	if got.Sealing.Mean != 2 || got.Price != 5 || got.SmallOrifice == nil || got.Origin != "run" {
		t.Errorf("%+v", got)
	}
}

func FuzzParse(f *testing.F) {
	for _, data := range typicalTexts(f) {
		f.Add(string(data))
	}
	for _, data := range readDemo(f) {
		f.Add(string(data))
	}
	f.Add(plain)
	f.Add(plain + wide + stage)
	f.Add("name = \"x\"\nearly_closing = \"1e9 kPa\"\n[anti_slam]\ncurve = [[\"1 Pa\", \"1 kg/s\"]]")
	f.Add("name = \"x\"\n[sealing]\nknown = \"less than\"\nmean = \"nan Pa\"")
	f.Add("[leak]\ncurve = [[\"1 Pa\"]]\n[air_in]\ncurve = []")
	f.Fuzz(func(t *testing.T, text string) {
		r, faults := Parse("f.toml", []byte(text))
		if faults.Err() != nil {
			return
		}
		if ps := Check(r); len(ps) > 0 {
			t.Fatalf("Parse let through what Check refuses: %v", ps)
		}
		for _, p := range []float64{-1, 0, 1, 1e3, 1e5, 1e7} {
			if q := r.LeakFlow(p); !(q >= 0) || math.IsInf(q, 0) {
				t.Fatalf("leak %g at %g", q, p)
			}
		}
		again, faults := Parse("f.toml", Format(r))
		if faults.Err() != nil || !reflect.DeepEqual(r, again) {
			t.Fatalf("does not survive Format: %v\n%+v\n%+v", faults, r, again)
		}
	})
}
