package line

import (
	"math"
	"os"
	"reflect"
	"strings"
	"testing"
	"testing/fstest"

	"obvert/document"
)

// passingEdits add to the whole line what passes in time, what walls stand and what the ways out cost.
var passingEdits = []string{
	"wall = \"7 mm\"\n", "wall = \"7 mm\"\nsoil_modulus = \"5 MPa\"\ncover = \"1.2 m\"\nwater_table = \"0.4 m\"\novality = \"2 %\"\n",
	"hazen_williams = 140\n", "hazen_williams = 140\nmodulus = \"3 GPa\"\npoisson = 0.4\n",
	"kind = \"scour\"\nat = \"0+100\"\nbore = \"80 mm\"\n", "kind = \"scour\"\nname = \"Scour 1\"\nat = \"0+100\"\nbore = \"80 mm\"\ncoefficient = 0.7\n" +
		"[[run.equipment]]\nkind = \"flow control valve\"\nname = \"FCV\"\nat = \"0+300\"\nflow = \"9 L/s\"\nfacing = \"from\"\n",
	"running = [\"P 2\"]\nspeed = [\"90 %\"]\n", "running = [\"P 2\"]\nhold_head = \"22 m\"\nhold_at = \"Fork\"\nslowest = \"50 %\"\nfastest = \"105 %\"\n",
	"high_point = \"0.2 m\"\n", "high_point = \"0.2 m\"\nadmit_differential = \"20 kPa\"\ncollapse_factor = { value = 3, source = \"our own rule\" }\nslam = \"15 m\"\n",
	"energy = \"0.20 EUR/kWh\"\n", "",
	"[survey]\n", passing + "[survey]\n",
	"[[route]]\n", tariff + "[[route]]\n",
}

const passing = `
[[case]]
name = "Emptying"
kind = "draining"
after = "Standing low"
scours = ["Scour 1"]
horizon = "12 h"

[[case]]
name = "Break"
kind = "burst"
run = "Rising main"
at = "0+400"

[[case]]
name = "Hole"
kind = "burst"
after = "One pump, slow"
run = "Hill main"
at = "0+020"
opening = "50 mm"
coefficient = 0.62
horizon = "2 h"

[[case]]
name = "First water"
kind = "first filling"
start = "Filling"
flow = "8 L/s"

[[case]]
name = "Morning"
kind = "restart"
standing = "8 h"

[[day]]
name = "Workday"
case = "Both pumps"
step = "10 min"
factors = ["40 %", "40 %", "40 %", "40 %", "50 %", "80 %", "140 %", "170 %", "150 %", "120 %", "110 %", "110 %",
  "115 %", "110 %", "100 %", "100 %", "105 %", "120 %", "140 %", "150 %", "130 %", "100 %", "70 %", "50 %"]
rule = [
  { station = "Works", pumps = ["P 1"], tank = "Hill tank", start_below = "130 m", stop_above = "131.5 m" },
  { station = "Works", pumps = ["P 2"], tank = "Hill tank", start_below = "129.5 m", stop_above = "131 m" },
]
`

const tariff = `exchange = "260 EUR"
control_valve = "28000 EUR"
raising = "60000 EUR/m"
pump_duty = "900 EUR/kW"
relocation = "9500 EUR"
regrading = "420 EUR/m"
pit_repair = "1800 EUR"
carbon_price = "90 EUR/t"
pit_volume = "1.1 m³"
[[prices.tariff]]
from = "22:00"
to = "06:00"
energy = "0.12 EUR/kWh"
[[prices.tariff]]
from = "06:00"
to = "22:00"
energy = "0.24 EUR/kWh"

`

func passingFolder(t testing.TB, edits ...string) fstest.MapFS {
	t.Helper()
	return folder(t, append(append([]string{}, passingEdits...), edits...)...)
}

func near(a, b float64) bool { return math.Abs(a-b) <= 1e-9*(1+math.Abs(b)) }

func TestReadEvents(t *testing.T) {
	l, faults := mustRead(t, passingFolder(t))
	for _, f := range faults {
		t.Errorf("unwanted: %v", f)
	}
	want := []Event{
		{Name: "Emptying", Kind: Draining, After: 3, Scours: []Place{{2, 100}}, Horizon: 43200},
		{Name: "Break", Kind: Burst, After: 1, At: Place{0, 400}, Loss: 1, Horizon: 86400},
		{Name: "Hole", Kind: Burst, After: 2, At: Place{1, 20}, Opening: 0.05, Loss: 0.62, Horizon: 7200},
		{Name: "First water", Kind: FirstFilling, After: 3, Start: 0, Flow: 0.008, Horizon: 14 * 86400},
		{Name: "Morning", Kind: Restart, After: 3, Start: 1, Standing: 28800, Horizon: 48 * 3600},
	}
	if !reflect.DeepEqual(l.Events, want) {
		t.Errorf("events\n%+v, want\n%+v", l.Events, want)
	}
	if len(l.Cases) != 4 {
		t.Errorf("%d cases: events are none", len(l.Cases))
	}
	if len(l.Days) != 1 {
		t.Fatalf("%d days", len(l.Days))
	}
	d := l.Days[0]
	rules := []LevelRule{{0, []int{0}, 2, 130, 131.5}, {0, []int{1}, 2, 129.5, 131}}
	if d.Case != 1 || d.Step != 600 || d.Factors[7] != 1.7 || !reflect.DeepEqual(d.Rules, rules) {
		t.Errorf("day %+v", d)
	}
	if s := l.Cases[2].Stations[0]; !s.HasHoldHead || s.HoldHead != 22 || s.HoldAt != 1 || s.SlowestSpeed != 0.5 || s.FastestSpeed != 1.05 || s.Flow != 0 {
		t.Errorf("held station %+v", s)
	}
	if s := l.Cases[1].Stations[0]; s.HasHoldHead || s.SlowestSpeed != 0 || s.FastestSpeed != 0 {
		t.Errorf("a station that holds nothing has speeds to hold it by: %+v", s)
	}
	if e := l.Runs[2].Equipment; len(e) != 3 || e[0].Coefficient != 0.7 || e[2].Kind != FlowControlValve || e[2].Flow != 0.009 || !e[2].Reverse {
		t.Errorf("equipment %+v", e)
	}
}

func TestReadWalls(t *testing.T) {
	l, _ := mustRead(t, passingFolder(t))
	a, b := l.Runs[0].Sections[0], l.Runs[0].Sections[1]
	// ductile iron: EN 545, 170 GPa (from memory)
	if a.Modulus != 170e9 || a.Poisson != 0.28 || !a.AssumedMaterial || a.Ovality != 0.02 || a.SoilModulus != 5e6 || a.Cover != 1.2 || a.WaterTable != 0.4 {
		t.Errorf("buried section %+v", a)
	}
	if b.Modulus != 3e9 || b.Poisson != 0.4 || b.AssumedMaterial || b.Ovality != assumedOvality || b.SoilModulus != 0 {
		t.Errorf("section with its own modulus %+v", b)
	}
	if c := l.Runs[1].Sections[0]; c.Modulus != 0 || c.Poisson != 0 || c.AssumedMaterial {
		t.Errorf("a section of unknown material has a stiffness: %+v", c)
	}
	for _, id := range []string{"section.modulus", "section.ovality", "section.free-standing"} {
		if n := assumptions(l, id); n != 1 {
			t.Errorf("%s is told %d times", id, n)
		}
	}
}

func assumptions(l *Line, id string) int {
	n := 0
	for _, a := range l.Assumed {
		if a.ID == id {
			n++
		}
	}
	return n
}

// Every material that a standard size names has a stiffness.
func TestMaterialsOfSizes(t *testing.T) {
	for size, modulus := range map[string]float64{
		"EN 545 K9 DN 300": 170e9, "ISO 4427 PE100 SDR 17 dn 315": 1.0e9, "ISO 1452 PVC-U SDR 26 dn 250": 3.0e9,
		"ASME B36.10 12 in STD": 207e9, "EN 10220 323.9 x 5.6": 207e9,
	} {
		l, _ := mustRead(t, folder(t, `bore = "250 mm"`, `size = "`+size+`"`))
		if s := l.Runs[0].Sections[1]; s.Modulus != modulus || s.Wall <= 0 {
			t.Errorf("%s: modulus %g, wall %g, material %q", size, s.Modulus, s.Wall, s.Material)
		}
	}
}

// The soil over a section comes from the section, else the run, else the profile.
func TestCover(t *testing.T) {
	soil := []string{"bore = \"250 mm\"\nhazen_williams = 140\n", "bore = \"250 mm\"\nhazen_williams = 140\nsoil_modulus = \"3 MPa\"\n"}
	m := folder(t, soil...)
	m["rising.csv"] = &fstest.MapFile{Data: []byte("chainage [m];obvert [m];ground [m]\n0;101.5;103\n200;112;113.1\n400;110;112\n600;118;119.5\n800;116;117.3\n")}
	l, _ := mustRead(t, m)
	if c := l.Runs[0].Sections[1].Cover; !near(c, 1.3) || assumptions(l, "section.cover") != 1 {
		t.Errorf("cover %g m, want the least of the profile behind 0+400, 1.3 m", c)
	}
	if c := l.Runs[0].Sections[0].Cover; c != 0 {
		t.Errorf("cover %g m of a section that is not in soil", c)
	}
	_, faults := Read(folder(t, soil...), nil)
	if f := faults.Only(document.FaultSeverity); len(f) != 1 || !strings.Contains(f[0].What, "how deep the pipe lies") {
		t.Errorf("%v", faults)
	}
	_, faults = Read(folder(t, "bore = \"250 mm\"\n", "bore = \"250 mm\"\ncover = \"1 m\"\n"), nil)
	if len(faults) != 1 || faults[0].ID != "section.soil-unused" {
		t.Errorf("%v", faults)
	}
	// water alone counts: a pipe on a river's bed
	l, faults = Read(folder(t, "bore = \"250 mm\"\n", "bore = \"250 mm\"\nwater_table = \"4 m\"\n"), nil)
	if len(faults) != 0 || l.Runs[0].Sections[0].WaterTable != 4 && l.Runs[0].Sections[1].WaterTable != 4 {
		t.Errorf("%v", faults)
	}
}

func TestReadWaysOut(t *testing.T) {
	l, _ := mustRead(t, passingFolder(t))
	p := l.Prices
	for name, c := range map[string]struct {
		got, want float64
		has       bool
	}{
		"exchange": {p.Exchange, 260, p.HasExchange}, "control valve": {p.ControlValve, 28000, p.HasControlValve},
		"raising": {p.Raising, 60000, p.HasRaising}, "pump duty": {p.PumpDuty, 0.9, p.HasPumpDuty}, "relocation": {p.Relocation, 9500, p.HasRelocation},
		"regrading": {p.Regrading, 420, p.HasRegrading}, "pit repair": {p.PitRepair, 1800, p.HasPitRepair}, "carbon price": {p.CarbonPrice, 0.09, p.HasCarbonPrice},
		"visits": {p.WetPitCallouts, assumedWetVisits, true}, "repairs": {p.WetPitRepairs, assumedWetRepairs, true},
		"pit area": {p.PitArea, 1, true}, "pit volume": {p.PitVolume, 1.1, true},
		"energy": {p.Energy, (8*0.12 + 16*0.24) / 24, p.HasEnergy}, // the mean over the day
	} {
		if !near(c.got, c.want) || !c.has {
			t.Errorf("%s: %g, want %g", name, c.got, c.want)
		}
	}
	if len(p.Tariff) != 2 || p.Tariff[0].From != 22 || p.Tariff[0].To != 6 || !near(p.Tariff[0].Energy, 0.12) || p.Tariff[1].To != 22 {
		t.Errorf("tariff %+v", p.Tariff)
	}
	if v := l.Practice; v.AdmitDifferential.Value != 20e3 || v.CollapseFactor != (Threshold{3, "1", "our own rule"}) || v.Slam.Value != 15 || v.StoppedLeak != DefaultPractice().StoppedLeak {
		t.Errorf("practice %+v", v)
	}
	bare, _ := mustRead(t, minimalFolder())
	if p := bare.Prices; p.PitArea != assumedPitArea || p.WetPitCallouts != 0 || p.HasEnergy || p.Tariff != nil {
		t.Errorf("prices of a line without any: %+v", p)
	}
}

// A ft, a kW, a ton: prices for each unit come out per SI unit.
func TestMoneyPer(t *testing.T) {
	for text, want := range map[string]float64{"304.8 EUR/ft": 1000, "1 EUR/mm": 1000, "2.5 EUR / km": 0.0025} {
		l, _ := mustRead(t, passingFolder(t, `"420 EUR/m"`, `"`+text+`"`))
		if !near(l.Prices.Regrading, want) {
			t.Errorf("%s is %g a metre, want %g", text, l.Prices.Regrading, want)
		}
	}
}

// badPassing are lines with one thing wrong in what passes in time, walls, tariff and prices.
var badPassing = []struct {
	name  string
	edits []string
	key   string
	what  string
}{
	{"unknown case before", []string{`after = "Standing low"`, `after = "Standing lo"`}, "after", "there is no case"},
	{"case of another kind before", []string{`after = "Standing low"`, `after = "Both pumps"`}, "after", "is no standing case"},
	{"event before", []string{`after = "Standing low"`, `after = "Break"`}, "after", "is no operating case"},
	{"start at rest", []string{`start = "Filling"`, `start = "Standing low"`}, "start", "is no case in which water flows"},
	{"scour wider than the pipe", []string{"bore = \"80 mm\"\ncoefficient", "bore = \"800 mm\"\ncoefficient"}, "bore", "wider than the pipe"},
	{"unknown scour", []string{`scours = ["Scour 1"]`, `scours = ["Scour 2"]`}, "scours[1]", "there is no"},
	{"valve as a scour", []string{`scours = ["Scour 1"]`, `scours = ["AV 1"]`}, "scours[1]", "is no scour"},
	{"scour twice", []string{`scours = ["Scour 1"]`, `scours = ["Scour 1", "Scour 1"]`}, "scours[2]", "named twice"},
	{"no scour", []string{"scours = [\"Scour 1\"]\n", ""}, "scours", "no scour is opened"},
	{"burst beyond the end", []string{`at = "0+020"`, `at = "0+301"`}, "at", "beyond the run's end"},
	{"burst on no run", []string{"run = \"Hill main\"\n", ""}, "run", "is missing"},
	{"hole wider than the pipe", []string{`opening = "50 mm"`, `opening = "250 mm"`}, "opening", "wider than the pipe"},
	{"coefficient above one", []string{`coefficient = 0.62`, `coefficient = 1.2`}, "coefficient", "outside what can be meant"},
	{"no flow to fill at", []string{`flow = "8 L/s"`, `flow = "0 L/s"`}, "flow", "outside what can be meant"},
	{"horizon of nothing", []string{`horizon = "2 h"`, `horizon = "0 h"`}, "horizon", "outside what can be meant"},
	{"horizon without end", []string{`horizon = "2 h"`, `horizon = "10 a"`}, "horizon", "outside what can be meant"},
	{"scours of a burst", []string{`opening = "50 mm"`, `scours = ["Scour 1"]`}, "scours", "a burst has no scours"},
	{"hours of an event", []string{`standing = "8 h"`, `hours = "8 h"`}, "hours", "a restart has no hours"},
	{"start of a case", []string{`hours = "16 h"`, `start = "Filling"`}, "start", "a pumping case has no start"},
	{"misspelt kind of event", []string{"name = \"Hole\"\nkind = \"burst\"", "name = \"Hole\"\nkind = \"brust\""}, "kind", "not a choice"},
	{"name of a case", []string{`name = "Break"`, `name = "Filling"`}, "name", "two things have the name"},

	{"day of 23 hours", []string{`"70 %", "50 %"]`, `"70 %"]`}, "factors", "24 hours"},
	{"negative factor", []string{`"40 %", "40 %", "40 %", "40 %"`, `"-40 %", "40 %", "40 %", "40 %"`}, "factors[1]", "outside what can be meant"},
	{"bare factor", []string{`factors = ["40 %"`, `factors = [0.4`}, "factors[1]", ""},
	{"step of seven minutes", []string{`step = "10 min"`, `step = "7 min"`}, "step", "does not divide the hour"},
	{"step of two hours", []string{`step = "10 min"`, `step = "2 h"`}, "step", "outside what can be meant"},
	{"day of a standing case", []string{`case = "Both pumps"`, `case = "Standing low"`}, "case", "is no case in which water flows"},
	{"start above stop", []string{`start_below = "130 m", stop_above = "131.5 m"`, `start_below = "131.5 m", stop_above = "130 m"`}, "start_below", "start above the level"},
	{"rule without a level", []string{`start_below = "130 m", `, ``}, "start_below", "is missing"},
	{"rule by a tank without area", []string{"area = \"80 m²\"\n", ""}, "tank", "never changes"},
	{"rule of no station", []string{`{ station = "Works", pumps = ["P 1"]`, `{ station = "Fork", pumps = ["P 1"]`}, "station", "is no pump station"},
	{"rule of an unknown pump", []string{`pumps = ["P 1"]`, `pumps = ["P 3"]`}, "pumps[1]", "there is no pump"},
	{"pump with two rules", []string{`pumps = ["P 1"]`, `pumps = ["P 2"]`}, "pumps", "has two rules"},
	{"rule of no pump", []string{`pumps = ["P 1"]`, `pumps = []`}, "pumps", "starts no pump"},

	{"gap in the tariff", []string{"from = \"06:00\"\nto = \"22:00\"", "from = \"06:00\"\nto = \"21:30\""}, "tariff", "does not cover the day"},
	{"overlap in the tariff", []string{"from = \"06:00\"\nto = \"22:00\"", "from = \"05:00\"\nto = \"22:00\""}, "tariff", "hold at one time"},
	{"band of nothing", []string{"from = \"06:00\"\nto = \"22:00\"", "from = \"06:00\"\nto = \"06:00\""}, "to", "ends when it begins"},
	{"time of day", []string{`to = "06:00"`, `to = "6 h"`}, "to", "not a time of day"},
	{"minute sixty", []string{`to = "06:00"`, `to = "05:60"`}, "to", "not a time of day"},
	{"time beyond the day", []string{`to = "06:00"`, `to = "24:01"`}, "to", "not a time of day"},
	{"band without a price", []string{"energy = \"0.12 EUR/kWh\"\n", ""}, "energy", "is missing"},
	{"two energy prices", []string{`exchange = "260 EUR"`, `energy = "0.2 EUR/kWh"`}, "energy", "priced twice"},
	{"price without a unit", []string{`"420 EUR/m"`, `"420 EUR"`}, "regrading", "not a price for each m"},
	{"price per another thing", []string{`"420 EUR/m"`, `"420 EUR/kg"`}, "regrading", "not a price for each m"},
	{"price that is none", []string{`"420 EUR/m"`, `"dear/m"`}, "regrading", "not a price for each m"},
	{"price in another currency", []string{`"420 EUR/m"`, `"420 USD/m"`}, "regrading", "another currency"},

	{"held twice", []string{`hold_head = "22 m"`, "hold_head = \"22 m\"\nhold_flow = \"9 L/s\""}, "hold_head", "two things at once"},
	{"held and throttled", []string{`hold_head = "22 m"`, "hold_head = \"22 m\"\nflow = \"9 L/s\""}, "flow", "set twice"},
	{"held at a fixed speed", []string{`hold_head = "22 m"`, "hold_head = \"22 m\"\nspeed = \"90 %\""}, "speed", "set twice"},
	{"speeds that hold nothing", []string{"hold_head = \"22 m\"\nhold_at = \"Fork\"\n", ""}, "slowest", "nothing is held"},
	{"held without a pump", []string{"running = [\"P 2\"]", "running = []"}, "running", "no pump runs that could hold"},
	{"a held flow of nothing", []string{"hold_head = \"22 m\"\nhold_at = \"Fork\"\n", "hold_flow = \"0 L/s\"\n"}, "hold_flow", "a flow of nothing"},
	{"held nowhere", []string{"hold_at = \"Fork\"\n", ""}, "hold_head", "where the head is held"},
	{"nothing held", []string{"hold_head = \"22 m\"\n", ""}, "hold_at", "no head is held"},
	{"held at an unknown node", []string{`hold_at = "Fork"`, `hold_at = "Frok"`}, "hold_at", "there is no node"},
	{"head held at a tank", []string{`hold_at = "Fork"`, `hold_at = "Hill tank"`}, "hold_at", "no pump sets the head"},
	{"slowest above fastest", []string{`slowest = "50 %"`, `slowest = "110 %"`}, "slowest", "not below the fastest"},
	{"flow control without a flow", []string{"flow = \"9 L/s\"\n", ""}, "flow", "is missing"},
	{"flow control of nothing", []string{`flow = "9 L/s"`, `flow = "0 L/s"`}, "flow", "no flow"},
	{"flow of a check valve", []string{"loss = 1.2", "loss = 1.2\nflow = \"3 L/s\""}, "flow", "has no flow"},
	{"Poisson's ratio above a half", []string{`poisson = 0.4`, `poisson = 0.6`}, "poisson", "outside what can be meant"},
	{"modulus in MPa of soil", []string{`modulus = "3 GPa"`, `modulus = "3 MPa"`}, "modulus", "outside what can be meant"},
	{"a drop held by a drive", []string{"hold_head = \"22 m\"\nhold_at = \"Fork\"\n", "hold_flow = \"0.000001 L/s\"\n"}, "hold_flow", "a flow of nothing"},
	{"a drop through a flow control valve", []string{`flow = "9 L/s"`, `flow = "0.000001 L/s"`}, "flow", "no flow"},
	{"Poisson's ratio of a half", []string{`poisson = 0.4`, `poisson = 0.5`}, "poisson", "outside what can be meant"},
	{"wall thicker than half the bore", []string{`wall = "7 mm"`, `wall = "170 mm"`}, "wall", "thicker than half the bore"},
	{"soil that covers nothing", []string{`cover = "1.2 m"`, `cover = "0 m"`}, "cover", "none above it"},
	{"a summit of no height", []string{`high_point = "0.2 m"`, `high_point = "0 m"`}, "high_point", "outside what can be meant"},
	{"a change of slope of nothing", []string{`high_point = "0.2 m"`, `slope_change = "0 %"`}, "slope_change", "outside what can be meant"},
	{"valves every millimetre", []string{`value = "500 m"`, `value = "1 mm"`}, "value", "outside what can be meant"},
	{"nothing displaced", []string{`high_point = "0.2 m"`, `displaced = "0 m"`}, "displaced", "outside what can be meant"},
	{"all of it air", []string{`high_point = "0.2 m"`, `released_air = "100 %"`}, "released_air", "outside what can be meant"},
	{"collapse factor below one", []string{`value = 3`, `value = 0.5`}, "value", "outside what can be meant"},
}

func TestBadPassing(t *testing.T) {
	for _, c := range badPassing {
		t.Run(c.name, func(t *testing.T) {
			l, faults := Read(passingFolder(t, c.edits...), nil)
			bad := faults.Only(document.FaultSeverity)
			if l != nil || len(bad) == 0 {
				t.Fatal("accepted")
			}
			found := false
			for _, f := range bad {
				found = found || strings.Contains(f.Key, c.key) && strings.Contains(f.What, c.what)
				if f.File == "" || f.Line == 0 || f.What == "" || f.Hint == "" {
					t.Errorf("a fault without place or hint: %+v", f)
				}
			}
			if !found || len(bad) > 2 {
				t.Errorf("%d faults, want %q at %q:", len(bad), c.what, c.key)
				for _, f := range bad {
					t.Log(f)
				}
			}
		})
	}
}

// All of them at once: what hangs on one fault is not told, all the others are.
func TestAllPassingFaultsInOnePass(t *testing.T) {
	names := []string{"unknown case before", "unknown scour", "burst beyond the end", "coefficient above one", "day of 23 hours", "step of seven minutes",
		"pump with two rules", "gap in the tariff", "price without a unit", "held at an unknown node", "flow control of nothing", "Poisson's ratio above a half"}
	var edits []string
	for _, name := range names {
		for _, c := range badPassing {
			if c.name == name {
				edits = append(edits, c.edits...)
			}
		}
	}
	_, faults := Read(passingFolder(t, edits...), nil)
	if n := len(faults.Only(document.FaultSeverity)); n != len(names) {
		t.Errorf("%d faults of %d: %v", n, len(names), faults)
	}
}

// A rule's levels outside the tank's range are warned of.
func TestRuleOutsideTheTank(t *testing.T) {
	_, faults := mustRead(t, passingFolder(t, `start_below = "129.5 m"`, `start_below = "128.5 m"`))
	if len(faults) != 1 || faults[0].ID != "day.level-outside" {
		t.Errorf("%v", faults)
	}
}

// A tariff's fault names the hours.
func TestTariffHours(t *testing.T) {
	for edit, hours := range map[string]string{
		"from = \"06:00\"\nto = \"21:30\"": "from 21:30 to 22:00", "from = \"05:00\"\nto = \"22:00\"": "from 05:00 to 06:00",
		"from = \"07:15\"\nto = \"21:00\"": "from 06:00 to 07:15, from 21:00 to 22:00",
	} {
		_, faults := Read(passingFolder(t, "from = \"06:00\"\nto = \"22:00\"", edit), nil)
		if len(faults) != 1 || !strings.Contains(faults[0].Understood, hours) {
			t.Errorf("%q: want %q in %v", edit, hours, faults)
		}
	}
	l, _ := mustRead(t, passingFolder(t, "from = \"22:00\"\nto = \"06:00\"\nenergy = \"0.12 EUR/kWh\"\n[[prices.tariff]]\nfrom = \"06:00\"\nto = \"22:00\"", "from = \"00:00\"\nto = \"24:00\""))
	if p := l.Prices; len(p.Tariff) != 1 || !near(p.Energy, 0.24) {
		t.Errorf("one band for the whole day: %+v", p.Tariff)
	}
}

func TestDefaultEvents(t *testing.T) {
	l, _ := mustRead(t, folder(t))
	var names []string
	for _, e := range l.Events {
		names = append(names, e.Name)
		if !e.Default || e.Horizon <= 0 {
			t.Errorf("event %+v", e)
		}
	}
	want := []string{"Restart", "First filling", "Draining through scour at 0+100 on Valley main", "Burst on Rising main at 0+000"}
	if !reflect.DeepEqual(names, want) {
		t.Fatalf("events %q, want %q", names, want)
	}
	// The filling case, with its 10 L/s and its off-takes shut: what an off-take drew would not fill the line.
	if e := l.Events[1]; e.Flow != 0.010 || e.Start != 0 || e.After != 3 || l.Cases[e.Start].Kind != Filling {
		t.Errorf("first filling %+v", e)
	}
	if assumptions(l, "event.default") != 1 || assumptions(l, "scour.coefficient") != 1 {
		t.Errorf("assumed %+v", l.Assumed)
	}

	// Without a filling case: 0.3 m/s in the smallest bore of the first run, here 250 mm.
	fill := "[[case]]\nname = \"Filling\"\nkind = \"filling\"\nstation = [{ name = \"Works\", running = [\"P 1\"], flow = \"10 L/s\" }]\n"
	l, _ = mustRead(t, folder(t, fill, ""))
	if q := l.Events[1].Flow; !near(q, 0.3*math.Pi/4*0.25*0.25) || l.Cases[l.Events[1].Start].Kind != Pumping {
		t.Errorf("first filling at %g m³/s, as case %d", q, l.Events[1].Start)
	}

	// Of the default cases: a restart into pumping, or into gravity flow.
	l, _ = mustRead(t, folder(t, whole[strings.Index(whole, "[[case]]"):strings.Index(whole, "[survey]")], ""))
	if e := l.Events[0]; e.Kind != Restart || l.Cases[e.Start].Kind != Pumping || l.Cases[e.After].Kind != Standing {
		t.Errorf("%+v", e)
	}
	m := gravityFolder()
	m["line.toml"] = &fstest.MapFile{Data: []byte(gravity[:strings.Index(gravity, "[[case]]")])}
	l, _ = mustRead(t, m)
	if e := l.Events[0]; e.Kind != Restart || l.Cases[e.Start].Kind != Gravity || l.Cases[e.After].Kind != Standing {
		t.Errorf("%+v", e)
	}
}

// Events of the user's may begin from the usual cases by their names.
func TestEventsOfUsualCases(t *testing.T) {
	m := minimalFolder()
	m["line.toml"] = &fstest.MapFile{Data: []byte(minimal + "\n[[case]]\nname = \"Later\"\nkind = \"restart\"\nafter = \"Standing, tanks low\"\n")}
	l, _ := mustRead(t, m)
	if len(l.Events) != 1 || l.Cases[l.Events[0].After].Name != "Standing, tanks low" || !l.Cases[0].Default {
		t.Errorf("%+v", l.Events)
	}
}

// A line in which nothing stands still has no event that begins at rest, and says so.
func TestNoStandingCase(t *testing.T) {
	i := strings.Index(whole, "[[case]]\nname = \"Standing low\"")
	j := strings.Index(whole, "[survey]")
	l, _ := mustRead(t, folder(t, whole[i:j], ""))
	if len(l.Events) > 0 {
		t.Errorf("%+v", l.Events)
	}
	if assumptions(l, "event.no-standing") != 1 {
		t.Error("not said")
	}
	_, faults := Read(folder(t, whole[i:j], "[[case]]\nname = \"R\"\nkind = \"restart\"\n"), nil)
	if len(faults) != 1 || !strings.Contains(faults[0].What, "no standing case") {
		t.Errorf("%v", faults)
	}
}

// Where there are many scours, the lowest of each run is drained.
func TestManyScours(t *testing.T) {
	text := ""
	for i := 1; i <= mostDefaultScours; i++ {
		text += "[[run.equipment]]\nkind = \"scour\"\nat = \"0+1" + string(rune('0'+i/10)) + string(rune('0'+i%10)) + "\"\nbore = \"50 mm\"\n"
	}
	l, _ := mustRead(t, folder(t, "[[case]]\nname = \"Filling\"", text+"[[case]]\nname = \"Filling\""))
	var at []Place
	for _, e := range l.Events {
		if e.Kind == Draining {
			at = append(at, e.Scours...)
		}
	}
	if !reflect.DeepEqual(at, []Place{{2, 100}}) { // the valley main's low point
		t.Errorf("drained at %+v", at)
	}
}

func TestSchemaOfPassing(t *testing.T) {
	s := compileSchema(t)
	if err := validate(s, string(passingFolder(t)["line.toml"].Data)); err != nil {
		t.Error(err)
	}
	for _, name := range []string{"day of 23 hours", "bare factor", "time of day", "band without a price", "Poisson's ratio above a half", "misspelt kind of event", "coefficient above one"} {
		for _, c := range badPassing {
			if c.name == name && validate(s, string(passingFolder(t, c.edits...)["line.toml"].Data)) == nil {
				t.Errorf("%s: accepted", name)
			}
		}
	}
}

// Every threshold of the usual practice has a source and the value that the methods page tells.
func TestPracticeOnMethodsPage(t *testing.T) {
	page, err := os.ReadFile("../docs/methods/line.md")
	if err != nil {
		t.Fatal(err)
	}
	for key, usual := range map[string]string{
		"admit_differential": "34.5 kPa", "vent_differential": "13.8 kPa", "collapse_factor": "2.", "slam": "20 m", "released_air": "2 %",
		"drain_velocity": "0.3 m/s", "stopped_leak": "0.6 mL/min",
	} {
		i := strings.Index(string(page), "| `"+key+"` |")
		if row, _, _ := strings.Cut(string(page[i:]), "\n"); !strings.Contains(row, "Usual: "+usual) {
			t.Errorf("%s: %s", key, row)
		}
	}
	v := reflect.ValueOf(DefaultPractice())
	for i := range v.NumField() {
		if th, ok := v.Field(i).Interface().(Threshold); ok && (th.Source == "" || th.Unit == "" || th.Value <= 0) {
			t.Errorf("%s: %+v", v.Type().Field(i).Name, th)
		}
	}
}

// thresholdFolder is the passing line with every threshold written as a table.
func thresholdFolder(t testing.TB) fstest.MapFS {
	t.Helper()
	return passingFolder(t, "slam = \"15 m\"\n", `slam = { value = "15 m", source = "ours" }
vent_differential = { value = "2 psi", source = "ours" }
released_air = { value = "2.5 %" }
drain_velocity = { value = "0.5 m/s" }
stopped_leak = { value = "1 mL/min" }
`, "admit_differential = \"20 kPa\"", "admit_differential = { value = \"20 kPa\", source = \"ours\" }")
}
