package line

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"obvert/document"
	"obvert/quantity"
)

const plainHead = "Chainage [m],Obvert [m]\n"

// read reads a profile that must be good.
func read(t *testing.T, text string, o ProfileOptions) (ProfileResult, document.Faults) {
	t.Helper()
	r, faults := ReadProfile("p.csv", []byte(text), o)
	if err := faults.Err(); err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	return r, faults
}

// chainages and obverts of the points, as text.
func shape(points []Point) string {
	var out []string
	for _, p := range points {
		out = append(out, fmt.Sprintf("%.6g:%.6g", p.Chainage, p.Obvert))
	}
	return strings.Join(out, " ")
}

func TestOrder(t *testing.T) {
	tests := []struct {
		name, rows string
		backstep   float64
		want       string
		ids        []string
	}{
		{"in order", "0,10\n10,11\n20,12", 0, "0:10 10:11 20:12", nil},
		{"the same point twice", "0,10\n10,11\n10,11\n20,12", 0, "0:10 10:11 20:12", []string{"profile.repeated"}},
		{"vertical step", "0,10\n10,11\n10,15\n20,12", 0, "0:10 10:11 10:15 20:12", []string{"profile.step"}},
		{"step of three levels", "0,10\n10,11\n10,13\n10,15\n20,15", 0, "0:10 10:11 10:13 10:15 20:15", []string{"profile.step"}},
		{"small backstep", "0,10\n10,11\n9.5,12\n20,12", 0, "0:10 9.5:12 10:11 20:12", []string{"profile.backstep"}},
		{"backstep of a metre", "0,10\n10,11\n9,12\n20,12", 0, "0:10 9:12 10:11 20:12", []string{"profile.backstep"}},
		{"stated backstep", "0,10\n10,11\n5,12\n20,12", 5, "0:10 5:12 10:11 20:12", []string{"profile.backstep"}},
		{"turned", "20,12\n10,11\n0,10", 0, "0:10 10:11 20:12", []string{"profile.turned"}},
		{"turned with a step", "20,12\n10,15\n10,11\n0,10", 0, "0:10 10:11 10:15 20:12", []string{"profile.turned", "profile.step"}},
		{"turned with a backstep", "20,12\n10,11\n10.5,11.5\n0,10", 0, "0:10 10:11 10.5:11.5 20:12", []string{"profile.turned", "profile.backstep"}},
		{"two points falling by less than a backstep", "10,1\n9.5,2", 0, "9.5:2 10:1", []string{"profile.turned"}},
		{"repeated after sorting", "0,10\n10,11\n10.5,11\n10,11\n20,12", 0, "0:10 10:11 10.5:11 20:12", []string{"profile.backstep", "profile.repeated"}},
		{"before zero", "-10,9\n0,10\n\u22125,9.5\n20,11", 5, "-10:9 -5:9.5 0:10 20:11", []string{"profile.backstep"}},
	}
	for _, test := range tests {
		r, faults := read(t, plainHead+test.rows, ProfileOptions{MaxBackstep: test.backstep})
		if got := shape(r.Points); got != test.want {
			t.Errorf("%s: %s, want %s", test.name, got, test.want)
		}
		if got := ids(faults); !sameSet(got, test.ids) {
			t.Errorf("%s: remarks %v, want %v", test.name, got, test.ids)
		}
		if r.Reversed != slices.Contains(test.ids, "profile.turned") {
			t.Errorf("%s: reversed %v", test.name, r.Reversed)
		}
	}
}

// TestFaults holds bad files to what is said of them: place, what, and how many.
func TestFaults(t *testing.T) {
	inv := LevelInvert
	cover := 1.2
	bad := math.NaN()
	tests := []struct {
		name string
		text string
		o    ProfileOptions
		want []string // beginnings or pieces of the faults, in order
	}{
		{"empty", "", ProfileOptions{}, []string{"p.csv: the file is empty"}},
		{"blank", " \r\n\t\n", ProfileOptions{}, []string{"p.csv: the file is empty"}},
		{"header alone", plainHead, ProfileOptions{}, []string{"no row with figures"}},
		{"one point", plainHead + "0,1\n", ProfileOptions{}, []string{"p.csv:2: a profile of one point"}},
		{"no length", plainHead + "5,1\n5,2\n", ProfileOptions{}, []string{"p.csv:2: a profile without length"}},
		{"not finite", plainHead + "0,NaN\n10,inf\n20,-Infinity\n30,1e308\n40,1e999\n50,1\n60,2\n", ProfileOptions{},
			[]string{`p.csv:2:3: column "Obvert [m]": "NaN" is not a level`, `p.csv:3:4: `, `p.csv:4:4: `, `p.csv:5:4: `, `p.csv:6:4: column "Obvert [m]": "1e999" is not a level: too large`}},
		{"chainage not finite", plainHead + "nan,1\n10,2\n1e308,3\n20,4\n", ProfileOptions{},
			[]string{`p.csv:2:1: column "Chainage [m]": "nan" is not a chainage`, `p.csv:4:1: `}},
		{"missing", plainHead + "0,\n,5\n10,-\n20,n/a\n30,1\n40,1\n", ProfileOptions{},
			[]string{"p.csv:2:3: column \"Obvert [m]\": the level is missing", "p.csv:3:1: column \"Chainage [m]\": the chainage is missing", "p.csv:4:4: ", "p.csv:5:4: "}},
		{"a short row", plainHead + "0,1\n10\n20,1\n", ProfileOptions{}, []string{"p.csv:3: column \"Obvert [m]\": the level is missing"}},
		{"impossible heights", "Chainage [m],Obvert [mm]\n0,1\n10,2\n20,-430001\n30,9000001\n", ProfileOptions{}, []string{"p.csv:4:4: ", "p.csv:5:4: "}},
		{"heights by a wrong unit", "Chainage [m],Obvert [km]\n0,101\n10,102\n", ProfileOptions{}, []string{"101000 m, outside", "102000 m, outside"}},
		{"unit not said", "Chainage,Obvert\n0,1\n10,2\n20,x\n", ProfileOptions{},
			[]string{"column \"Chainage\": no unit", "column \"Obvert\": no unit", "p.csv:4:4: column \"Obvert\": the level is missing"}},
		{"kind not said", "Chainage [m],Level [m]\n0,1\n10,abc\n", ProfileOptions{},
			[]string{`p.csv:1: column "Level [m]": of what these levels are is not said`, "p.csv:3:4: "}},
		{"nothing said", "Chainage,Level\n0,1\n10,2\n", ProfileOptions{}, []string{"of what these levels are", "no unit", "no unit"}},
		{"kind against header", "Chainage [m],Obvert [m]\n0,1\n10,2\n", ProfileOptions{LevelKind: &inv}, []string{"the file's header and the line's document differ"}},
		{"ground without cover", "Chainage [m],Ground [m]\n0,1\n10,2\n", ProfileOptions{}, []string{"levels of the ground, and no cover"}},
		{"cover that cannot be", "Chainage [m],Ground [m]\n0,1\n10,2\n", ProfileOptions{Cover: &bad}, []string{"cover: a cover of – is not one of a pipe"}},
		{"no bore", "Chainage [m],Invert [m]\n0,1\n10,2\n", ProfileOptions{}, []string{"p.csv:2: column \"Chainage [m]\": no bore at chainage 0+000", "p.csv:3: "}},
		{"comma is both", plainHead + "0,100,5\n10,101,5\n", ProfileOptions{}, []string{"p.csv:2: 3 figures under a header of 2 columns", "p.csv:3: "}},
		{"comma may be either", "Chainage [m];Obvert [m]\n0;1,250\n10;2,500\n", ProfileOptions{}, []string{"p.csv:2: the comma may be the decimal sign or part thousands"}},
		{"two decimal signs", "Chainage [m];Obvert [m]\n0;1,2\n10;2,5\n20;2.5\n", ProfileOptions{}, []string{`p.csv:4:4: column "Obvert [m]": "2.5" is not a level: a point`}},
		{"broken groups", "Chainage [m];Obvert [m]\n0;1.5\n10;2 50\n20;1''000\n", ProfileOptions{}, []string{"p.csv:3:4: ", "p.csv:4:4: "}},
		{"100-ft stations not stated", "Station,Obvert [m]\n0+00,1\n1+00,2\n", ProfileOptions{}, []string{"p.csv:2:1: column \"Station\": \"0+00\" is not a chainage", "p.csv:3:1: "}},
		{"a stake too far", "Station,Obvert [m]\n0+000,1\n0+1200,2\n0+20,3\n", ProfileOptions{}, []string{"p.csv:3:1: ", "p.csv:4:1: "}},
		{"feet with km+m", "Station [ft],Obvert [m]\n0+000,1\n0+120,2\n", ProfileOptions{}, []string{"chainage in ft, written with a plus"}},
		{"unit against header", plainHead + "0,1\n10,2 ft\n20,2 kg\n", ProfileOptions{}, []string{"p.csv:3:4: ", "p.csv:4:4: "}},
		{"two units in the header", "Chainage [m],Obvert m [ft/m]\n0,1\n10,2\n", ProfileOptions{}, []string{"two units in one header"}},
		{"backstep", plainHead + "0,10\n10,10\n8.99,10\n20,10\n", ProfileOptions{}, []string{"p.csv:3: column \"Chainage [m]\": chainage 0+010 is out of order by 1.01 m"}},
		{"backstep where none is allowed", plainHead + "0,10\n10,10\n9.99,10\n20,10\n", ProfileOptions{MaxBackstep: -1}, []string{"is out of order by 0.01 m"}},
		{"one wrong chainage is one fault", plainHead + "0,1\n10,1\n2000,1\n30,1\n40,1\n50,1\n60,1\n", ProfileOptions{},
			[]string{"p.csv:4: column \"Chainage [m]\": chainage 2+000 is out of order by 1970 m: in the file it stands after 0+010 in line 3 and before 0+030 in line 5"}},
		{"pieces in the wrong order", plainHead + "50,1\n60,1\n70,1\n80,1\n0,1\n10,1\n20,1\n", ProfileOptions{},
			[]string{"p.csv:6: column \"Chainage [m]\": chainages 0+000 to 0+020 in lines 6 to 8 are out of order by up to 80 m"}},
		{"lone spike", plainHead + "0,10\n10,10.2\n20,10.1\n30,60\n40,10\n50,10.4\n60,10\n", ProfileOptions{},
			[]string{"p.csv:5: column \"Obvert [m]\": the level 60 m at 0+030 is a lone spike"}},
		{"lone pit", plainHead + "0,110\n10,110.2\n20,110.1\n30,0\n40,110\n50,110.4\n60,110\n", ProfileOptions{}, []string{"p.csv:5: "}},
		{"several spikes", plainHead + "0,10\n10,10\n20,99\n30,10\n40,10\n50,10\n60,-50\n70,10\n80,10\n90,10\n", ProfileOptions{}, []string{"p.csv:4: ", "p.csv:8: "}},
		{"up and down at one chainage", plainHead + "0,10\n10,10.2\n20,10.1\n20,60\n20,10\n50,10.4\n60,10\n", ProfileOptions{}, []string{"p.csv:5: "}},
		{"steeper than its own length", plainHead + "0,10\n10,21\n20,22\n", ProfileOptions{AlongPipe: true}, []string{"p.csv:3: column \"Obvert [m]\": a leg of 10 m along the pipe with a rise of 11 m"}},
		{"no header", "0,1\n10,2\n", ProfileOptions{}, []string{"no header line found"}},
		{"strange header", "foo,bar\n0,1\n10,2\n", ProfileOptions{}, []string{`p.csv:1: no header line with both a chainage and a level: "foo" neither`}},
		{"no such column", plainHead + "0,1\n10,2\n", ProfileOptions{Columns: map[string]string{"Lvl": "invert", "2": "obvrt"}},
			[]string{`p.csv: columns."2": "obvrt" is not what a column can hold. Write "obvert"`, `p.csv:1: columns."Lvl": the profile has no such column`}},
		{"two of a kind", "Chainage [m],Invert [m],Invert old [m]\n0,1,2\n10,2,3\n", ProfileOptions{}, []string{"several columns could be the level of the invert"}},
		{"two chainages", "Chainage [m],Station [m],Obvert [m]\n0,1,2\n10,2,3\n", ProfileOptions{}, []string{"several columns could be chainage"}},
		{"no table", "hello\nworld\n", ProfileOptions{}, []string{"no table in this file"}},
		{"zero bytes", "Chainage [m],Obvert [m]\n0,1\n\x00\x00\n10,2", ProfileOptions{}, []string{"the first in line 3"}},
		{"a workbook", "PK\x03\x04rest", ProfileOptions{}, []string{"a workbook or an archive"}},
		{"options", plainHead + "0,1\n10,2\n", ProfileOptions{MaxBackstep: math.Inf(1), LevelUnit: "bar", Decimal: "dot", Stakes: quantity.Stakes{Step: -1}},
			[]string{"largest_backstep: ", "level_unit: \"bar\" is not a unit", "decimal_sign: ", "stakes: "}},
		{"bad ground beside good levels", "Chainage [m],Obvert [m],Ground [m]\n0,1,2\n10,2,abc\n20,3,\n30,3,99999\n", ProfileOptions{Cover: &cover},
			[]string{"p.csv:3:6: column \"Ground [m]\": \"abc\" is not a ground level", "p.csv:5:6: "}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			r, faults := ReadProfile("p.csv", []byte(test.text), test.o)
			only := faults.Only(document.FaultSeverity)
			if len(only) != len(test.want) {
				t.Fatalf("%d faults, want %d:\n%v", len(only), len(test.want), only)
			}
			for i, f := range only {
				if said := strings.ReplaceAll(f.String(), "\u00a0", " "); !strings.Contains(said, test.want[i]) {
					t.Errorf("fault %d: %s\nwant %s", i, f, test.want[i])
				}
				if f.Hint == "" && f.Understood == "" {
					t.Errorf("neither hint nor what was understood: %s", f)
				}
			}
			if r.Points != nil {
				t.Error("points in spite of faults")
			}
		})
	}
}

// TestNotSpikes holds the spike rule off what pipes do: steps, shafts, real steep ground, humps of two bends.
func TestNotSpikes(t *testing.T) {
	tests := []struct{ name, rows string }{
		{"upright step", "0,10\n10,10\n20,10\n20,60\n30,60\n40,60"},
		{"shaft down and up", "0,100\n10,100\n10,60\n30,60\n30,100\n40,100"},
		{"step at a summit", "0,100\n10,100\n20,100\n20,140\n40,139\n60,138"},
		{"ridge of steep ground", "0,100\n10,115\n20,132\n30,148\n40,166\n50,150\n60,133\n70,119\n80,101"},
		{"zigzag of a gorge", "0,100\n10,130\n20,100\n30,128\n40,102\n50,131\n60,99"},
		{"canal crossing of two bends", "0,10\n10,10\n12,16\n30,16\n32,10\n50,10\n60,10"},
		{"hump of two metres", "0,10\n10,10\n20,10\n21,12\n22,10\n40,10\n50,10"},
		{"noise of close points", "0,10\n0.01,10.3\n0.02,9.9\n0.03,10.2\n10,10\n20,10"},
	}
	for _, test := range tests {
		_, faults := read(t, plainHead+test.rows, ProfileOptions{})
		for _, f := range faults {
			if f.ID == "profile.spike" {
				t.Errorf("%s: %s", test.name, f)
			}
		}
	}
}

// TestDoubtfulSpikes: legs flatter than 45°, and ends, are doubted and kept.
func TestDoubtfulSpikes(t *testing.T) {
	for _, rows := range []string{
		"0,10\n10,10\n20,10\n40,25\n60,10\n70,10\n80,10",
		"0,10\n10,10\n20,10\n30,10\n40,90",
		"0,90\n10,10\n20,10\n30,10\n40,10",
	} {
		r, faults := read(t, plainHead+rows, ProfileOptions{})
		if got := ids(faults); len(got) != 1 || got[0] != "profile.spike" || faults[0].Severity != document.WarningSeverity {
			t.Errorf("%q: %v", rows, faults)
		}
		if len(r.Points) != strings.Count(rows, "\n")+1 {
			t.Errorf("%q: points lost", rows)
		}
	}
}

// TestKinds turns levels of every kind into those of the obvert.
func TestKinds(t *testing.T) {
	cover := 1.5
	inv, axis := LevelInvert, LevelAxis
	bore := func(s float64) (float64, bool) {
		if s < 100 {
			return 0.6, true
		}
		return 0.4, true
	}
	tests := []struct {
		name, head string
		o          ProfileOptions
		want       string
		ground     bool
	}{
		{"obvert", "Chainage [m],Soffit [m]\n", ProfileOptions{}, "0:10 100:11 200:12", false},
		{"invert", "Chainage [m],Invert [m]\n", ProfileOptions{BoreAt: bore}, "0:10.6 100:11.4 200:12.4", false},
		{"axis", "Chainage [m],Axis [m]\n", ProfileOptions{BoreAt: bore}, "0:10.3 100:11.2 200:12.2", false},
		{"ground", "Chainage [m],Ground [m]\n", ProfileOptions{Cover: &cover}, "0:8.5 100:9.5 200:10.5", true},
		{"stated invert", "Chainage [m],Level [m]\n", ProfileOptions{BoreAt: bore, LevelKind: &inv}, "0:10.6 100:11.4 200:12.4", false},
		{"stated axis, units too", "Chainage,Level\n", ProfileOptions{BoreAt: bore, LevelKind: &axis, LevelUnit: "m", ChainageUnit: "m"}, "0:10.3 100:11.2 200:12.2", false},
		{"stated by column", "a,b\n", ProfileOptions{LevelUnit: "m", ChainageUnit: "m", Columns: map[string]string{"a": "chainage", "2": "obvert"}}, "0:10 100:11 200:12", false},
		{"no header, columns stated", "", ProfileOptions{LevelUnit: "m", ChainageUnit: "m", Columns: map[string]string{"1": "chainage", "2": "obvert"}}, "0:10 100:11 200:12", false},
		{"no header, two columns", "", ProfileOptions{LevelUnit: "m", ChainageUnit: "m", LevelKind: &inv, BoreAt: bore}, "0:10.6 100:11.4 200:12.4", false},
		{"borders", "Chainage [m],Invert [m]\n", ProfileOptions{BoreAt: bore, Borders: []float64{50, 100}}, "0:10.6 100:11.6 100:11.4 200:12.4", false},
		{"feet", "Chainage [m],Obvert [ft]\n", ProfileOptions{}, "0:3.048 100:3.3528 200:3.6576", false},
		{"feet of the US survey", "Chainage [ftUS],Obvert [m]\n", ProfileOptions{}, "0:10 30.4801:11 60.9601:12", false},
	}
	for _, test := range tests {
		r, _ := read(t, test.head+"0,10\n100,11\n200,12\n", test.o)
		if got := shape(r.Points); got != test.want {
			t.Errorf("%s: %s, want %s", test.name, got, test.want)
		}
		if r.Points[0].HasGround != test.ground || test.ground && r.Points[0].Ground != 10 {
			t.Errorf("%s: ground %v", test.name, r.Points[0])
		}
	}
	_, faults := read(t, "Chainage [m],Ground [m]\n0,10\n100,11\n", ProfileOptions{Cover: &cover})
	if got := ids(faults); len(got) != 1 || got[0] != "profile.ground" || !strings.Contains(faults[0].String(), "every answer") {
		t.Errorf("ground without its remark: %v", faults)
	}
}

// TestBorderBetweenPoints: the invert runs through a change of bore, the obvert steps there.
func TestBorderBetweenPoints(t *testing.T) {
	bore := func(s float64) (float64, bool) {
		if s < 50 {
			return 0.6, true
		}
		return 0.4, true
	}
	r, _ := read(t, "Chainage [m],Invert [m],Ground [m]\n0,10,12\n100,20,22\n", ProfileOptions{BoreAt: bore, Borders: []float64{50}})
	if got := shape(r.Points); got != "0:10.6 50:15.6 50:15.4 100:20.4" {
		t.Error(got)
	}
	half := math.Hypot(100, 10) / 2
	for i, want := range []float64{0, half, half, 2 * half} {
		if p := r.Points[i]; math.Abs(p.Distance-want) > 1e-12 || !p.HasGround {
			t.Errorf("point %d: %+v, want distance %g", i, p, want)
		}
	}
}

// TestDistance: 3, 4, 5 along the slope; the chainage itself along the pipe.
func TestDistance(t *testing.T) {
	rows := plainHead + "100,0\n104,3\n104,8\n116,3\n"
	r, _ := read(t, rows, ProfileOptions{})
	for i, want := range []float64{0, 5, 10, 23} {
		if r.Points[i].Distance != want {
			t.Errorf("along the slope, point %d: %g, want %g", i, r.Points[i].Distance, want)
		}
	}
	r, _ = read(t, plainHead+"100,0\n105,3\n118,8\n", ProfileOptions{AlongPipe: true})
	for i, want := range []float64{0, 5, 18} {
		if r.Points[i].Distance != want {
			t.Errorf("along the pipe, point %d: %g, want %g", i, r.Points[i].Distance, want)
		}
	}
}

// TestTwins: several level columns, one taken, the others named.
func TestTwins(t *testing.T) {
	inv := LevelInvert
	rows := "Chainage [m],Obvert [m],Invert [m],Ground [m],Level [m]\n0,10,9,12,1\n10,11,10,,1\n"
	r, faults := read(t, rows, ProfileOptions{})
	if shape(r.Points) != "0:10 10:11" || !r.Points[0].HasGround || r.Points[1].HasGround {
		t.Errorf("%+v", r.Points)
	}
	if got := ids(faults); !sameSet(got, []string{"profile.unused-level"}) {
		t.Error(got)
	}
	r, _ = read(t, rows, ProfileOptions{LevelKind: &inv, BoreAt: func(float64) (float64, bool) { return 2, true }})
	if shape(r.Points) != "0:11 10:12" {
		t.Error(shape(r.Points))
	}
}

// TestFigures reads single cells.
func TestFigures(t *testing.T) {
	tests := []struct {
		cell    string
		decimal byte
		value   float64
		unit    string
	}{
		{"12", '.', 12, ""}, {"12.5", '.', 12.5, ""}, {"12,5", ',', 12.5, ""}, {"-0.25", '.', -0.25, ""}, {"\u22123.5", '.', -3.5, ""}, {"+7", '.', 7, ""},
		{".5", '.', 0.5, ""}, {"5.", '.', 5, ""}, {"1 250.5", '.', 1250.5, ""}, {"1\u00a0250,5", ',', 1250.5, ""}, {"1\u202f250\u202f000", '.', 1250000, ""},
		{"1'250.5", '.', 1250.5, ""}, {"1’250.5", '.', 1250.5, ""}, {"1.250,5", ',', 1250.5, ""}, {"1,250.5", '.', 1250.5, ""}, {"1,250", '.', 1250, ""},
		{"1.5e3", '.', 1500, ""}, {"1,5E+03", ',', 1500, ""}, {"12.3 m", '.', 12.3, "m"}, {"12.3m AOD", '.', 12.3, "m AOD"}, {"5 ft", '.', 5, "ft"},
		{"123456789.123456789", '.', 123456789.123456789, ""}, {"0.1", '.', 0.1, ""}, {"000012.50", '.', 12.5, ""},
	}
	for _, test := range tests {
		f, trouble := readFigure([]byte(test.cell), test.decimal)
		if v, ok := plainFigure([]byte(test.cell), test.decimal); ok && v != test.value {
			t.Errorf("%q: quickly %v, want %v", test.cell, v, test.value)
		}
		if trouble != "" || f.value != test.value || f.unit != test.unit {
			t.Errorf("%q: %+v %s, want %v %q", test.cell, f, trouble, test.value, test.unit)
		}
	}
	for _, cell := range []string{"", "-", "abc", "1.2.3", "1 25", "1,25", "12,3456", "0,250", "1.5,5", "nan", "+inf", "0x10", "1_000x", "e5", "--5", "1e999", "#N/A", "."} {
		if f, trouble := readFigure([]byte(cell), '.'); trouble == "" && f.unit == "" {
			t.Errorf("%q is read as %v", cell, f.value)
		}
	}
}

// TestDecimalSign settles the sign by what a file's figures can mean.
func TestDecimalSign(t *testing.T) {
	tests := []struct {
		name, rows, want string
	}{
		{"comma by two decimals", "0;10,25\n10;11,50", "0:10.25 10:11.5"},
		{"comma by a leading zero", "0;0,250\n10;1,500", "0:0.25 10:1.5"},
		{"comma, since 101 km is no level", "0;101,250\n10;102,500", "0:101.25 10:102.5"},
		{"comma by points that part thousands", "1.000,0;10\n2.000,0;11", "1000:10 2000:11"},
		{"comma in levels, thousands in chainage", "500;10,5\n1.000;11,5", "500:10.5 1000:11.5"},
		{"point by commas that part thousands", "1,000.0;10\n2,000.0;11", "1000:10 2000:11"},
		{"point though thousands look alike", "1.000;10.5\n2.250;11", "1:10.5 2.25:11"},
		{"points that part millions", "1.000.000;10\n1.000.500;11", "1e+06:10 1.0005e+06:11"},
		{"comma behind the plus", "0+000,000;10\n0+100,500;11", "0:10 100.5:11"},
	}
	for _, test := range tests {
		r, _ := read(t, "Chainage [m];Obvert [m]\n"+test.rows, ProfileOptions{})
		if got := shape(r.Points); got != test.want {
			t.Errorf("%s: %s, want %s", test.name, got, test.want)
		}
	}
	r, _ := read(t, "Chainage [m];Obvert [m]\n0;1,250\n10;2,500", ProfileOptions{Decimal: "comma"})
	if got := shape(r.Points); got != "0:1.25 10:2.5" {
		t.Error("stated comma:", got)
	}
	r, _ = read(t, "Chainage [m];Obvert [m]\n0;1,250\n10000;2,500", ProfileOptions{Decimal: "point"})
	if got := shape(r.Points); got != "0:1250 10000:2500" {
		t.Error("stated point:", got)
	}
}

// TestCountedFaults: thousands of faults of a sort are five and a count.
func TestCountedFaults(t *testing.T) {
	const shown = 5
	var b strings.Builder
	b.WriteString(plainHead)
	for i := range 10_000 {
		fmt.Fprintf(&b, "%d,abc\n", i)
	}
	_, faults := ReadProfile("p.csv", []byte(b.String()), ProfileOptions{})
	if len(faults) != shown+1 {
		t.Fatalf("%d faults", len(faults))
	}
	if got := faults[shown].String(); got != `p.csv:7: column "Obvert [m]": … and 9995 more like this: lines 7 to 10001.` {
		t.Error(got)
	}
}

// TestLimits refuses files over the stated limits.
func TestLimits(t *testing.T) {
	_, faults := ReadProfile("p.csv", make([]byte, MaxProfileBytes+1), ProfileOptions{})
	if len(faults) != 1 || !strings.Contains(faults[0].String(), "64 MB") {
		t.Error(faults)
	}
	p := &profileReader{faults: newFaultList("p.csv"), mostPoints: 3, mostBytes: MaxProfileBytes}
	p.read([]byte(plainHead + "0,1\n1,1\n2,1\n3,1\n4,1\n"))
	if all := p.faults.All(); len(all) != 1 || all[0].What != "too many points" || all[0].Line != 5 || p.result.Points != nil {
		t.Error(all)
	}
	// One endless line, of separators, of quotation marks, of blanks: nothing may grow with its square.
	for _, piece := range []string{",", "\",", "\"a,", "\"\"", " ", "1 ", "#", ";\"\";"} {
		text := plainHead + strings.Repeat(piece, 2_000_000/len(piece))
		if r, _ := ReadProfile("p.csv", []byte(text), ProfileOptions{}); r.Points != nil {
			t.Errorf("%q: %v points", piece, len(r.Points))
		}
	}
}
