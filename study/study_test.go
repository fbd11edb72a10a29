package study

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"obvert/engine/sealing"
	"obvert/physics/valve"
)

// record is an invented valve that seals at a head in metres of water at 9,806.65 Pa/m, and lets go at nine tenths of it.
func record(name string, head float64) valve.Record {
	p := head * 9806.65
	th := func(m float64) valve.Threshold {
		return valve.Threshold{Bound: valve.Measured, Mean: m, Uncertainty: 100, Scatter: 100, HasScatter: true, Repeats: 3}
	}
	return valve.Record{Name: name, Sealing: th(p), LettingGo: th(0.9 * p), AdmitsAir: true, Rating: 16e5,
		Leak: []valve.LeakPoint{{Pressure: 0, Flow: 0}, {Pressure: p / 2, Flow: 1e-5}, {Pressure: p, Flow: 0}}}
}

// flat is a flat line 1 km long with 2 m of static head.
func flat(kind string) fstest.MapFS {
	doc := `
[line]
name = "Flat"
[prices]
currency = "EUR"
energy = "0.2 EUR/kWh"
[[station]]
name = "Works"
sump_level = "8 m"
check_valves = "each"
[[station.pump]]
name = "P"
curve = [["0 L/s","12 m"],["20 L/s","10 m"],["40 L/s","5 m"]]
[[tank]]
name = "Field"
level = "12.3 m"
[[run]]
name = "Main"
from = "Works"
to = "Field"
profile = "p.csv"
seat_height = "0.3 m"
[[run.section]]
bore = "250 mm"
roughness = "0.1 mm"
[[run.valve]]
name = "V"
at = "0+500"
type = "` + kind + `"
`
	return fstest.MapFS{"line.toml": {Data: []byte(doc)}, "p.csv": {Data: []byte("chainage (m);obvert level (m)\n0;10\n500;10\n1000;10\n")}}
}

func solveFS(t testing.TB, fs fstest.MapFS, rack ...valve.Record) *Result {
	t.Helper()
	src, faults := Load(fs, rack)
	if err := faults.Err(); err != nil {
		t.Fatal(err)
	}
	r, err := Solve(context.Background(), src, Options{})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Common practice, no source: on a flat line 1 km long with 2 m of static head a valve sealing at 0.2 m stays drip-tight when the pumps
// stop; one that needs 3 m leaks.
func TestFlatLine(t *testing.T) {
	low, high := record("Low", 0.2), record("High", 3)
	r := solveFS(t, flat("Low"), low, high)
	k := r.StandingCases[0]
	if c := r.Sealing.Valves[0].Cells[k]; c.State != sealing.Tight || math.Abs(c.Head-2) > 1e-6 {
		t.Errorf("valve sealing at 0.2 m: %v with %.3f m", c.State, c.Head)
	}
	if r.Failed() {
		t.Errorf("nothing should fail: %+v", r.Findings[0])
	}
	r = solveFS(t, flat("High"), low, high)
	c := r.Sealing.Valves[0].Cells[k]
	if c.State != sealing.Drips || c.Leak <= 0 {
		t.Errorf("valve sealing at 3 m: %v, leak %g", c.State, c.Leak)
	}
	if !r.Failed() || r.Findings[0].ID != "sealing.drips" || !strings.Contains(r.Findings[0].Cures[0], "Low") {
		t.Errorf("first finding = %+v", r.Findings[0])
	}
	if !r.Rests[0].Fed || r.Rests[0].PerDay <= 0 {
		t.Errorf("the tank feeds the leak: %+v", r.Rests)
	}
}

// summit is a rising main over a summit that breaks the grade line, with a pump whose head hardly changes with its flow.
func summit() fstest.MapFS {
	doc := `
[line]
name = "Summit"
[prices]
currency = "EUR"
energy = "0.2 EUR/kWh"
[[station]]
name = "Works"
sump_level = "0 m"
check_valves = "each"
[[station.pump]]
name = "P"
curve = [["0 L/s","110 m"],["30 L/s","80 m"],["45 L/s","20 m"]]
[[tank]]
name = "Low"
level = "20.3 m"
[[run]]
name = "Main"
from = "Works"
to = "Low"
profile = "p.csv"
seat_height = "0 m"
[[run.section]]
bore = "1000 mm"
roughness = "0.1 mm"
[[run.valve]]
name = "Top"
at = "0+500"
type = "H3"
`
	return fstest.MapFS{"line.toml": {Data: []byte(doc)}, "p.csv": {Data: []byte("chainage (m);obvert level (m)\n0;1\n500;60\n1000;19\n")}}
}

// Common practice, no source: valves needing 3, 4, 5, 6 and 10 m on a summit cost that much head at the pump while it runs. In a bore so wide that
// friction is nothing the pump's head rises by just that.
func TestSummitCostsItsSealingHead(t *testing.T) {
	heads := []float64{3, 4, 5, 6, 10}
	var rack []valve.Record
	for _, h := range heads {
		rack = append(rack, record(fmt.Sprintf("H%g", h), h))
	}
	r := solveFS(t, summit(), rack...)
	if len(r.Costing) != 1 {
		t.Fatalf("%d places priced, want the summit; sealing %+v", len(r.Costing), r.Sealing.Valves[0].Cells)
	}
	for i, o := range r.Costing[0].Options {
		want := r.Line.Site.Head(rack[i].Sealing.Mean)
		if math.Abs(o.RaisedHead-want) > 0.01 {
			t.Errorf("%s raises the pump's head by %.3f m, want %.3f", o.Name, o.RaisedHead, want)
		}
		if o.CostFixed <= 0 || o.RuleOfThumb <= 0 {
			t.Errorf("%s: cost %g, rule %g", o.Name, o.CostFixed, o.RuleOfThumb)
		}
	}
}

// A valve's memory: the same standing level, two histories, two answers.
func TestMemoryOfTheCases(t *testing.T) {
	r := solveFS(t, flat("Mid"), record("Mid", 2.1))
	k := r.StandingCases[0]
	if c := r.Sealing.Valves[0].Cells[k]; c.State != sealing.Tight || c.Rule != sealing.Falling {
		t.Errorf("after pumping: %v by rule %v", c.State, c.Rule)
	}
	fs := flat("Mid")
	fs["line.toml"].Data = append(fs["line.toml"].Data, []byte("[[case]]\nname = \"Rest\"\nkind = \"standing\"\n")...)
	r = solveFS(t, fs, record("Mid", 2.1))
	if c := r.Sealing.Valves[0].Cells[0]; c.State != sealing.Drips || c.Rule != sealing.Rising {
		t.Errorf("never shut before: %v by rule %v", c.State, c.Rule)
	}
}

// A source below the crest brings nothing over it: a finding fails, it is no silence.
func TestNothingFlows(t *testing.T) {
	doc := `
[line]
name = "Too low"
[[tank]]
name = "Source"
level = "20 m"
[[outfall]]
name = "End"
[[run]]
name = "Main"
from = "Source"
to = "End"
profile = "p.csv"
[[run.section]]
bore = "250 mm"
roughness = "0.1 mm"
`
	r := solveFS(t, fstest.MapFS{"line.toml": {Data: []byte(doc)}, "p.csv": {Data: []byte("chainage (m);obvert level (m)\n0;10\n500;30\n1000;40\n")}})
	if !r.Failed() || r.Findings[0].ID != "grade.no-flow" {
		t.Errorf("findings = %+v", r.Findings)
	}
}

func TestCompareNamesTheNearest(t *testing.T) {
	src, _ := Load(flat("Low"), []valve.Record{record("Low", 0.2), record("High", 3)})
	if _, err := Compare(context.Background(), src, []string{"Hihg"}, Options{}); err == nil || !strings.Contains(err.Error(), `"High"`) {
		t.Errorf("got %v", err)
	}
	both, err := Compare(context.Background(), src, []string{"Low", "High"}, Options{})
	if err != nil || both.Results()[0].Failed() || !both.Results()[1].Failed() {
		t.Errorf("got %v, %v", both, err)
	}
}

// long makes a line of 100 km with 5,000 profile points, 200 valves and 6 cases.
func long(km, points, valves int) fstest.MapFS {
	var doc, csv strings.Builder
	doc.WriteString(`
[line]
name = "Long"
[prices]
currency = "EUR"
energy = "0.2 EUR/kWh"
[[station]]
name = "Works"
sump_level = "50 m"
check_valves = "each"
[[station.pump]]
name = "P1"
curve = [["0 L/s","250 m"],["300 L/s","220 m"],["600 L/s","120 m"]]
[[station.pump]]
name = "P2"
curve = [["0 L/s","250 m"],["300 L/s","220 m"],["600 L/s","120 m"]]
[[tank]]
name = "End"
lowest = "98 m"
highest = "102 m"
`)
	for _, c := range [][3]string{{"fill", "filling", ""}, {"two", "pumping", ""}, {"one", "pumping", "one"}, {"high", "standing", ""}, {"low", "standing", "lowest"}, {"two again", "pumping", ""}} {
		fmt.Fprintf(&doc, "[[case]]\nname = %q\nkind = %q\n", c[0], c[1])
		if c[2] == "lowest" {
			doc.WriteString("tanks = \"lowest\"\n")
		}
		if c[2] == "one" {
			doc.WriteString("[[case.station]]\nname = \"Works\"\nrunning = [\"P1\"]\n")
		}
	}
	doc.WriteString("[[case]]\nname = \"morning start\"\nkind = \"restart\"\nafter = \"high\"\nstart = \"two\"\nstanding = \"48 h\"\n")
	doc.WriteString("[[run]]\nname = \"Main\"\nfrom = \"Works\"\nto = \"End\"\nprofile = \"p.csv\"\nseat_height = \"0.4 m\"\n[[run.section]]\nbore = \"800 mm\"\nroughness = \"0.1 mm\"\nrating = \"30 bar\"\n")
	length := 1000 * float64(km)
	for i := range valves {
		fmt.Fprintf(&doc, "[[run.valve]]\nname = \"V%d\"\nat = \"%.0f m\"\ntype = \"T%d\"\n", i+1, math.Round(length*(float64(i)+0.5)/float64(valves)), i%5)
	}
	csv.WriteString("chainage (m);obvert level (m)\n")
	for i := range points {
		x := length * float64(i) / float64(points-1)
		z := 60 + 55*x/length + 20*math.Sin(x/3000) + 6*math.Sin(x/700+1)
		z -= 40 * max(0, (x-(length-2250))/2250) // down to a tank below the last summit: the grade line breaks there
		fmt.Fprintf(&csv, "%.3f;%.3f\n", x, z)
	}
	return fstest.MapFS{"line.toml": {Data: []byte(doc.String())}, "p.csv": {Data: []byte(csv.String())}}
}

func longRack() []valve.Record {
	var rack []valve.Record
	for i, h := range []float64{0.2, 0.9, 2.1, 3.4, 5} {
		rack = append(rack, record(fmt.Sprintf("T%d", i), h))
	}
	return rack
}

// TestLongLine keeps the benchmark honest: the long line exercises slack, costs and leaks.
func TestLongLine(t *testing.T) {
	r := solveFS(t, long(100, 5000, 200), longRack()...)
	if len(r.Sealing.Valves) != 200 || len(r.Grades) != 6 || len(r.Findings) == 0 {
		t.Errorf("%d valves, %d cases, %d findings", len(r.Sealing.Valves), len(r.Grades), len(r.Findings))
	}
	if len(r.Costing) == 0 || len(r.Rests) == 0 {
		t.Errorf("%d places priced, %d pools leak: the long line should have both", len(r.Costing), len(r.Rests))
	}
}
