package line

import (
	"io/fs"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"obvert/document"
	"obvert/physics/valve"
)

// whole is a line that uses every table and nearly every key. The tests change one thing at a time.
const whole = `
[line]
name = "Test line"
description = "for tests"
version = "A"
date = 2026-11-25
author = "tester"
assumed = ["The pit is dry."]

[site]
altitude = "350 m"
water_temperature = "12 °C"
air_temperature = "18 °C"
latitude = "47.4°"

[[station]]
name = "Works"
sump_level = "100.0 m"
check_valves = "shared"
motor_efficiency = "92 %"
[[station.pump]]
name = "P"
alike = 2
curve = [["0 L/s", "60 m"], ["30 L/s", "52 m"], ["60 L/s", "30 m"]]
efficiency = [["10 L/s", "50 %"], ["30 L/s", "78 %"], ["60 L/s", "60 %"]]
npsh = [["10 L/s", "2 m"], ["60 L/s", "5 m"]]
axis_level = "101 m"

[[junction]]
name = "Fork"

[[tank]]
name = "Hill tank"
level = "131 m"
lowest = "129 m"
highest = "132 m"
area = "80 m²"
level_uncertainty = "10 mm"

[[tank]]
name = "Lower tank"
level = "108 m"
inlet = "over the top"

[[run]]
name = "Rising main"
from = "Works"
to = "Fork"
profile = "rising.csv"
seat_height = "0.5 m"
[[run.section]]
to = "0+400"
bore = "300 mm"
wall = "7 mm"
material = "ductile iron"
roughness = "0.1 mm"
rating = "16 bar"
local_losses = 2.5
[[run.section]]
bore = "250 mm"
hazen_williams = 140
[[run.equipment]]
kind = "check valve"
name = "CV"
at = "0+010"
loss = 1.2
[[run.equipment]]
kind = "isolating valve"
name = "IV"
at = "0+500"
[[run.valve]]
name = "AV 1"
at = "0+600"
height = "0.4 m"
type = "Test 80"
[[run.valve]]
name = "AV 2"
at = "0+200"
isolated = true
admits_air = false
remark = "old"

[[run]]
name = "Hill main"
from = "Fork"
to = "Hill tank"
profile = "hill.csv"
[[run.section]]
bore = "200 mm"
roughness = "0.1 mm"

[[run]]
name = "Valley main"
from = "Fork"
to = "Lower tank"
profile = "valley.csv"
along_pipe = true
[[run.section]]
bore = "150 mm"
roughness = "0.1 mm"
[[run.equipment]]
kind = "sustaining valve"
name = "SV"
at = "0+250"
setting = "12 m"
[[run.equipment]]
kind = "scour"
at = "0+100"
bore = "80 mm"

[[case]]
name = "Filling"
kind = "filling"
station = [{ name = "Works", running = ["P 1"], flow = "10 L/s" }]

[[case]]
name = "Both pumps"
kind = "pumping"
hours = "16 h"

[[case]]
name = "One pump, slow"
kind = "pumping"
hours = "4 h"
[[case.station]]
name = "Works"
running = ["P 2"]
speed = ["90 %"]

[[case]]
name = "Standing low"
kind = "standing"
tanks = "lowest"
tank = [{ name = "Lower tank", level = "107.5 m" }]
closed = ["IV"]

[survey]
datum = "20 mm"
levels = "10 mm"
roughness = "20 %"

[practice]
name = "ours"
spacing = { value = "500 m", source = "our own rule" }
high_point = "0.2 m"

[prices]
energy = "0.20 EUR/kWh"
carbon = "350 g/kWh"
water = "1.2 EUR/m³"
callout = "180 EUR"
days_per_year = 300
years = 25
discount_rate = "3 %"
daily_volume = "2000 m³"
standing = "4 h"

[[route]]
name = "Works to the valley"
runs = ["Rising main", "Valley main"]
`

const record = `
name = "Test 80"
admits_air = true
origin = "invented for the test"
[sealing]
known = "measured"
mean = "9 kPa"
uncertainty = "0.2 kPa"
`

var profiles = map[string]string{
	"rising.csv": "chainage [m];obvert [m]\n0;101.5\n200;112\n400;110\n600;118\n800;116\n",
	"hill.csv":   "chainage [m];obvert [m]\n0;116\n150;124\n300;128.5\n",
	"valley.csv": "chainage [m];obvert [m]\n0;116\n100;104\n250;107\n400;109\n",
}

// folder is the whole line as a folder, its document changed by pairs of old and new text.
func folder(t testing.TB, edits ...string) fstest.MapFS {
	t.Helper()
	text := whole
	for i := 0; i+1 < len(edits); i += 2 {
		if !strings.Contains(text, edits[i]) {
			t.Fatalf("the test's document has no %q", edits[i])
		}
		text = strings.Replace(text, edits[i], edits[i+1], 1)
	}
	m := fstest.MapFS{"line.toml": {Data: []byte(text)}, "rack/test-80.toml": {Data: []byte(record)}}
	for name, data := range profiles {
		m[name] = &fstest.MapFile{Data: []byte(data)}
	}
	return m
}

// mustRead reads a line that has no fault.
func mustRead(t testing.TB, fsys fs.FS, rack ...valve.Record) (*Line, document.Faults) {
	t.Helper()
	l, faults := Read(fsys, rack)
	for _, f := range faults {
		if f.Severity == document.FaultSeverity {
			t.Errorf("%s:%d %s: %s; %s; %s", f.File, f.Line, f.Key, f.What, f.Understood, f.Hint)
		}
	}
	if l == nil {
		t.Fatal("no line")
	}
	return l, faults
}

func TestReadWhole(t *testing.T) {
	l, faults := mustRead(t, folder(t))
	for _, f := range faults {
		t.Errorf("unwanted: %s:%d %s %s: %s; %s", f.File, f.Line, f.Key, f.ID, f.What, f.Understood)
	}
	if a := l.Assumed[0]; a.ID != "line.stated" || a.Text != "The pit is dry." {
		t.Errorf("the document's own assumption: %+v", a)
	}
	if l.Name != "Test line" || l.Version != "A" || l.Date != "2026-11-25" || l.Author != "tester" {
		t.Errorf("head: %q %q %q %q", l.Name, l.Version, l.Date, l.Author)
	}
	var nodes []string
	for _, n := range l.Nodes {
		nodes = append(nodes, n.Name)
	}
	if want := []string{"Works", "Fork", "Hill tank", "Lower tank"}; !reflect.DeepEqual(nodes, want) {
		t.Errorf("nodes %q, want %q in the order of the document", nodes, want)
	}
	works := l.Nodes[0].Station
	if len(works.Pumps) != 2 || works.Pumps[1].Name != "P 2" || works.Check != CheckShared || works.SuctionLevel != 100 ||
		works.AssumedMotor || works.MotorEfficiency != 0.92 || works.Pumps[0].Curve[1] != [2]float64{0.03, 52} || works.Pumps[0].Efficiency[1] != [2]float64{0.03, 0.78} {
		t.Errorf("station %+v", works)
	}
	main := l.Runs[0]
	if len(main.Sections) != 2 || main.Sections[0].To != 400 || main.Sections[1].From != 400 || main.Sections[1].To != 800 {
		t.Errorf("sections %+v", main.Sections)
	}
	if main.Sections[1].HazenWilliams != 140 || main.Sections[1].Roughness != 0 || main.Sections[0].Rating != 16e5 {
		t.Errorf("sections %+v", main.Sections)
	}
	// Valves come by chainage, whatever their order in the document; a height comes from the run where the valve has none.
	if len(main.Placed) != 2 || main.Placed[0].Name != "AV 2" || main.Placed[0].Height != 0.5 || main.Placed[1].Height != 0.4 {
		t.Errorf("valves %+v", main.Placed)
	}
	if main.Placed[1].Record != 0 || !main.Placed[1].AdmitsAir || main.Placed[0].AdmitsAir || main.Placed[0].Record != -1 || !main.Placed[0].Isolated {
		t.Errorf("valves %+v", main.Placed)
	}
	if e := l.Runs[2].Equipment; len(e) != 2 || e[0].Kind != Scour || e[0].Name != "scour at 0+100 on Valley main" || e[1].Setting != 12 {
		t.Errorf("equipment %+v", e)
	}
	if l.Nodes[3].Tank.Inlet != OverTheTop || l.Nodes[2].Tank.Lowest != 129 || l.Nodes[2].Tank.Uncertainty != 0.01 {
		t.Errorf("tanks %+v %+v", l.Nodes[2].Tank, l.Nodes[3].Tank)
	}
	if l.Survey != (Survey{Datum: 0.02, Independent: 0.01, Roughness: 0.2}) {
		t.Errorf("survey %+v", l.Survey)
	}
	if p := l.Practice; p.Name != "ours" || p.Spacing != (Threshold{500, "m", "our own rule"}) || p.HighPointProminence != (Threshold{0.2, "m", userSource}) ||
		p.Drips != DefaultPractice().Drips {
		t.Errorf("practice %+v", p)
	}
	p := l.Prices
	if p.Currency != "EUR" || math.Abs(p.Energy-0.20) > 1e-12 || math.Abs(p.Carbon-0.35) > 1e-12 || p.Callout != 180 || p.HoursStanding != 4 || p.DaysPerYear != 300 {
		t.Errorf("prices %+v", p)
	}
}

func TestReadCases(t *testing.T) {
	l, _ := mustRead(t, folder(t))
	if len(l.Cases) != 4 {
		t.Fatalf("%d cases", len(l.Cases))
	}
	filling, both, slow, standing := l.Cases[0], l.Cases[1], l.Cases[2], l.Cases[3]
	if s := filling.Stations[0]; !reflect.DeepEqual(s.Running, []bool{true, false}) || s.Flow != 0.010 {
		t.Errorf("filling %+v", s)
	}
	if s := both.Stations[0]; !reflect.DeepEqual(s.Running, []bool{true, true}) || both.Hours != 16 || !reflect.DeepEqual(s.Speed, []float64{1, 1}) {
		t.Errorf("both pumps %+v", s)
	}
	if s := slow.Stations[0]; !reflect.DeepEqual(s.Running, []bool{false, true}) || s.Speed[1] != 0.9 {
		t.Errorf("one pump %+v", s)
	}
	if standing.Level[2] != 129 || standing.Level[3] != 107.5 || !standing.Closed[0][1] || both.Closed[0][1] {
		t.Errorf("standing %+v", standing)
	}
	for _, c := range l.Cases {
		if len(c.Stations) != len(l.Nodes) || len(c.Demand) != len(l.Nodes) || len(c.Level) != len(l.Nodes) || len(c.Closed) != len(l.Runs) || c.Default {
			t.Errorf("case %q does not run parallel to nodes and runs", c.Name)
		}
	}
}

func TestReadRoutes(t *testing.T) {
	l, _ := mustRead(t, folder(t))
	want := []Route{
		{"Works to the valley", []Leg{{0, 0, 1}, {2, 800, 1}}},
		{"Fork to Hill tank", []Leg{{1, 0, 1}}},
	}
	if !reflect.DeepEqual(l.Routes, want) {
		t.Errorf("routes %+v, want %+v", l.Routes, want)
	}
}

// minimal is the least that makes a line.
const minimal = `
[line]
name = "Small main"
[[station]]
name = "Works"
sump_level = "100 m"
[[station.pump]]
curve = [["0 L/s", "40 m"], ["80 L/s", "10 m"]]
[[tank]]
name = "Hill tank"
lowest = "120 m"
highest = "122 m"
[[run]]
name = "Main"
from = "Works"
to = "Hill tank"
profile = "main.csv"
[[run.section]]
bore = "300 mm"
material = "ductile iron"
`

func minimalFolder() fstest.MapFS {
	return fstest.MapFS{"line.toml": {Data: []byte(minimal)}, "main.csv": {Data: []byte("chainage [m];obvert [m]\n100;101\n500;117\n1100;118\n")}}
}

// gravity is a line without pumps, with the kinds of node that the others lack.
const gravity = `
[line]
name = "Gravity main"
[[tank]]
name = "Spring"
level = "125 m"
[[offtake]]
name = "Farm"
demand = "2 L/s"
[[junction]]
name = "Fork"
[[outfall]]
name = "Basin"
[[dead_end]]
name = "Stub"
[[run]]
name = "One"
from = "Spring"
to = "Farm"
profile = "a.csv"
[[run.section]]
size = "ISO 4427 PE100 SDR 17 dn 160"
[[run]]
name = "Two"
from = "Farm"
to = "Fork"
profile = "b.csv"
[[run.section]]
bore = "150 mm"
[[run]]
name = "Three"
from = "Fork"
to = "Basin"
profile = "c.csv"
[[run.section]]
bore = "150 mm"
[[run]]
name = "Four"
from = "Fork"
to = "Stub"
profile = "c.csv"
[[run.section]]
bore = "100 mm"
[[case]]
name = "Day"
kind = "gravity"
demand = "150 %"
[[case]]
name = "Night"
kind = "gravity"
offtake = [{ name = "Farm", demand = "0 L/s" }]
[practice]
spacing = { value = "1000 ft", source = "a rule" }
high_point = { value = "0.3 m" }
slope_change = { value = "1:100" }
flat = { value = "0.1 %" }
displaced = { value = "50 m" }
drips = { value = "1 %" }
filling_velocity = { value = "0.05 m/s" }
`

func gravityFolder() fstest.MapFS {
	return fstest.MapFS{"line.toml": {Data: []byte(gravity)},
		"a.csv": {Data: []byte("chainage [m];obvert [m]\n0;124\n500;110\n")},
		"b.csv": {Data: []byte("chainage [m];obvert [m]\n0;110\n500;112\n")},
		"c.csv": {Data: []byte("chainage [m];obvert [m]\n0;112\n700;100\n")}}
}

func TestReadGravity(t *testing.T) {
	l, faults := mustRead(t, gravityFolder())
	if len(faults) > 0 {
		t.Errorf("unwanted: %v", faults)
	}
	if l.Cases[0].Demand[1] != 0.003 || l.Cases[1].Demand[1] != 0 {
		t.Errorf("demands %v %v", l.Cases[0].Demand, l.Cases[1].Demand)
	}
	p := l.Practice
	if math.Abs(p.Spacing.Value-304.8) > 1e-9 || p.Spacing.Source != "a rule" || p.SlopeChange.Value != 0.01 || p.Flat.Value != 0.001 || p.Name != "usual practice, changed by the user" {
		t.Errorf("practice %+v", p)
	}
	// The longest way is the first route; a branch has a route from where it leaves.
	want := []Route{{"Spring to Basin", []Leg{{0, 0, 1}, {1, 500, 1}, {2, 1000, 1}}}, {"Fork to Stub", []Leg{{3, 0, 1}}}}
	if !reflect.DeepEqual(l.Routes, want) {
		t.Errorf("routes %+v, want %+v", l.Routes, want)
	}
}

func TestReadMinimal(t *testing.T) {
	l, _ := mustRead(t, minimalFolder())
	var kinds []CaseKind
	for _, c := range l.Cases {
		kinds = append(kinds, c.Kind)
		if !c.Default {
			t.Errorf("case %q is not marked as made by Obvert", c.Name)
		}
	}
	if want := []CaseKind{Filling, Pumping, Standing, Standing}; !reflect.DeepEqual(kinds, want) {
		t.Errorf("default cases %v, want %v", kinds, want)
	}
	// 0.3 m/s in a bore of 300 mm: π/4·0.3²·0.3 = 21.2 L/s.
	if got := l.Cases[0].Stations[0].Flow; math.Abs(got-0.0212058) > 1e-6 {
		t.Errorf("filling flow %g m³/s", got)
	}
	if l.Cases[2].Level[1] != 121 || l.Cases[3].Level[1] != 120 {
		t.Errorf("levels %v %v", l.Cases[2].Level, l.Cases[3].Level)
	}
	ids := map[string]bool{}
	for _, a := range l.Assumed {
		ids[a.ID] = true
		if a.Where == "" || !strings.HasSuffix(a.Text, ".") {
			t.Errorf("assumption %+v", a)
		}
	}
	for _, id := range []string{"site.altitude", "site.water-temperature", "site.air-temperature", "site.gravity", "station.check-valves", "station.motor-efficiency",
		"pump.efficiency", "tank.level", "level.uncertainty", "section.roughness", "survey.uncertainty", "case.filling-flow", "case.default"} {
		if !ids[id] {
			t.Errorf("nothing is said about %s", id)
		}
	}
	if len(l.Routes) != 1 || l.Routes[0].Name != "Works to Hill tank" || l.Routes[0].Legs[0] != (Leg{0, 0, 1}) {
		t.Errorf("routes %+v", l.Routes)
	}
}

// TestStandardSize holds the section of a standard size against EN 545 (ductileironsuppliers.com, metaludyog.com):
// DN 300 K9 has 326 mm outside, a wall of 7.2 mm and 4 mm of cement.
func TestStandardSize(t *testing.T) {
	l, _ := mustRead(t, folder(t, `bore = "250 mm"
hazen_williams = 140`, `size = "ISO 2531 K9 DN 300"`))
	s := l.Runs[0].Sections[1]
	if math.Abs(s.Bore-0.3036) > 1e-9 || math.Abs(s.Wall-0.0072) > 1e-9 || !strings.HasPrefix(s.Material, "ductile iron") || s.Roughness <= 0 || s.Size != "EN 545 K9 DN 300" {
		t.Errorf("%+v", s)
	}
	if !slices.ContainsFunc(l.Assumed, func(a Assumption) bool { return a.ID == "section.roughness" }) {
		t.Error("the roughness of the size is not told as assumed")
	}
	l, _ = mustRead(t, folder(t, `bore = "250 mm"
hazen_williams = 140`, "size = \"EN 545 K9 DN 300\"\nbore = \"299 mm\"\nrating = \"10 bar\""))
	if s := l.Runs[0].Sections[1]; s.Bore != 0.299 || s.Rating != 10e5 {
		t.Errorf("what the section says does not go before its size: %+v", s)
	}
}

// TestReadSite holds the derived values against published ones.
func TestReadSite(t *testing.T) {
	l, _ := mustRead(t, folder(t, `altitude = "350 m"`, `altitude = "1000 m"`, `"12 °C"`, `"20 °C"`))
	near := func(what string, got, want, tol float64) {
		if math.Abs(got-want) > tol*math.Abs(want) {
			t.Errorf("%s %g, want %g", what, got, want)
		}
	}
	// ISO 2533:1975, 1000 m: 89 876.3 Pa (geometric altitude; public table of the standard atmosphere).
	near("air pressure", l.Site.AtmosphericPressure, 89876.3, 1e-4)
	// Hydraulic Institute, Engineering Data Book, table 2.A.2, 20 °C: 998.16 kg/m³, 2.3408 kPa, 1.0014 mPa·s.
	near("density", l.Site.Density, 998.16, 5e-4)
	near("vapour pressure", l.Site.VapourPressure, 2340.8, 5e-3)
	near("viscosity", l.Site.Viscosity, 1.0014e-3/998.16, 5e-3)
	// Geodetic Reference System 1980 (Moritz), from memory: 9.8062 m/s² at 45°, 3.086 µm/s² less for each metre; 47.4°
	// lies 0.0022 m/s² above 45°.
	near("gravity", l.Site.Gravity, 9.8062+0.0022-3.086e-3, 5e-5)
}

func TestWarningsAndRemarks(t *testing.T) {
	for _, c := range []struct {
		name, id string
		edits    []string
	}{
		{"droop", "pump.droop", []string{`["0 L/s", "60 m"], ["30 L/s", "52 m"]`, `["0 L/s", "50 m"], ["20 L/s", "55 m"]`}},
		{"levels differ", "node.levels-differ", []string{"hill.csv", "valley.csv", `profile = "valley.csv"`, `profile = "high.csv"`}},
		{"names alike", "name.alike", []string{`name = "Lower tank"`, `name = "Hill  Tank"`, `to = "Lower tank"`, `to = "Hill  Tank"`, `tank = [{ name = "Lower tank"`, `tank = [{ name = "Hill  Tank"`}},
		{"junction of one run", "junction.one-run", []string{"[[case]]", "[[junction]]\nname = \"J\"\n[[run]]\nname = \"stub\"\nfrom = \"Fork\"\nto = \"J\"\nprofile = \"hill.csv\"\n[[run.section]]\nbore = \"100 mm\"\n[[case]]"}},
		{"lowest water under the pipe", "tank.pipe-uncovered", []string{`lowest = "129 m"`, `lowest = "127 m"`}},
		{"drowned inlet", "tank.inlet-drowned", []string{`level = "108 m"`, `level = "110 m"`, `level = "107.5 m"`, `level = "110 m"`}},
		{"level outside the range", "case.level-outside", []string{`{ name = "Lower tank", level = "107.5 m" }`, `{ name = "Hill tank", level = "140 m" }`}},
		{"long day", "case.long-day", []string{`hours = "4 h"`, `hours = "20 h"`}},
		{"twin", "run.twin", []string{"[[run]]\nname = \"Valley main\"", "[[run]]\nname = \"Hill main 2\"\nfrom = \"Fork\"\nto = \"Hill tank\"\nprofile = \"hill.csv\"\n[[run.section]]\nbore = \"200 mm\"\nroughness = \"0.1 mm\"\n[[run]]\nname = \"Valley main\""}},
		{"rough pipe", "section.rough", []string{`roughness = "0.1 mm"`, `roughness = "20 mm"`}},
		{"latitude beside gravity", "site.latitude-unused", []string{`latitude = "47.4°"`, "latitude = \"47.4°\"\ngravity = \"9.807 m/s²\""}},
	} {
		fsys := folder(t, c.edits...)
		fsys["high.csv"] = &fstest.MapFile{Data: []byte("chainage [m];obvert [m]\n0;118\n100;104\n250;107\n400;109\n")}
		_, faults := mustRead(t, fsys)
		found := false
		for _, f := range faults {
			found = found || f.ID == c.id
			if f.ID == "" || f.Line == 0 || f.File == "" {
				t.Errorf("%s: a warning or remark without id or place: %+v", c.name, f)
			}
		}
		if !found {
			t.Errorf("%s: no %s among %+v", c.name, c.id, faults)
		}
	}
}

// TestCopyOfARecord reads a line whose own rack holds a copy of a record that is handed in: the two are one. Another of the same name is not.
func TestCopyOfARecord(t *testing.T) {
	same, faults := valve.Parse("store/test-80.toml", []byte(record))
	if faults.Err() != nil {
		t.Fatal(faults)
	}
	l, faults := Read(folder(t), []valve.Record{same})
	if l == nil || faults.Err() != nil {
		t.Fatal(faults)
	}
	alone, _ := Read(folder(t), nil)
	if len(l.Rack) != len(alone.Rack) {
		t.Errorf("%d records on the rack, %d without the copy", len(l.Rack), len(alone.Rack))
	}
	same.Sealing.Mean += 1
	if _, faults := Read(folder(t), []valve.Record{same}); faults.Err() == nil || !strings.Contains(faults.Err().Error(), "rack/test-80.toml in the line's folder") {
		t.Errorf("another record of the same name: %v", faults)
	}
}
