package line

import (
	"io/fs"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"obvert/document"
	"obvert/physics/valve"
)

// badInputs are lines with one thing wrong, and what must be said about it.
var badInputs = []struct {
	name  string
	edits []string
	key   string // part of the fault's key
	what  string // part of what is told
}{
	// figures and units
	{"negative diameter", []string{`bore = "300 mm"`, `bore = "-300 mm"`}, "bore", "outside what can be meant"},
	{"no diameter", []string{`bore = "300 mm"`, `bore = "0 mm"`}, "bore", "outside what can be meant"},
	{"bore in metres", []string{`bore = "300 mm"`, `bore = "300 m"`}, "bore", "outside what can be meant"},
	{"no unit", []string{`bore = "300 mm"`, `bore = "300"`}, "bore", "not a length"},
	{"bare number", []string{`bore = "300 mm"`, `bore = 300`}, "bore", "not a length"},
	{"wrong kind", []string{`bore = "300 mm"`, `bore = "300 kPa"`}, "bore", "not a length"},
	{"decimal comma", []string{`height = "0.4 m"`, `height = "0,4 m"`}, "height", "not a length"},
	{"1e308", []string{`level = "108 m"`, `level = "1e308 m"`}, "level", "not a length"},
	{"1e300", []string{`level = "108 m"`, `level = "1e300 m"`}, "level", "outside what can be meant"},
	{"NaN", []string{`level = "108 m"`, `level = "NaN m"`}, "level", "not a length"},
	{"NaN as a number", []string{`hazen_williams = 140`, `hazen_williams = nan`}, "hazen_williams", "not a number"},
	{"infinite number", []string{`local_losses = 2.5`, `local_losses = inf`}, "local_losses", "not a number"},
	{"altitude too high", []string{`altitude = "350 m"`, `altitude = "6001 m"`}, "altitude", "outside what can be meant"},
	{"altitude too low", []string{`altitude = "350 m"`, `altitude = "-431 m"`}, "altitude", "outside what can be meant"},
	{"water too warm", []string{`water_temperature = "12 °C"`, `water_temperature = "61 °C"`}, "water_temperature", "outside what can be meant"},
	{"ice", []string{`water_temperature = "12 °C"`, `water_temperature = "-1 °C"`}, "water_temperature", "outside what can be meant"},
	{"roughness as large as the bore", []string{`roughness = "0.1 mm"`, `roughness = "100 mm"`}, "roughness", "outside what can be meant"},
	{"pipe full of roughness", []string{"bore = \"200 mm\"\nroughness = \"0.1 mm\"", "bore = \"150 mm\"\nroughness = \"45 mm\""}, "roughness", "a quarter of the bore"},
	{"unknown size", []string{`bore = "250 mm"`, `size = "EN 545 K9 DN 301"`}, "size", "no standard size"},
	{"roughness and coefficient", []string{`hazen_williams = 140`, "hazen_williams = 140\nroughness = \"1 mm\""}, "hazen_williams", "friction is given twice"},
	{"currency", []string{`water = "1.2 EUR/m³"`, `water = "1.2 USD/m³"`}, "water", "another currency"},
	{"no years", []string{`years = 25`, `years = 0`}, "years", "outside what can be meant"},
	{"no currency", []string{`[prices]`, "[prices]\ncurrency = \"Taler\""}, "currency", "not a currency"},

	// curves
	{"curve that rises throughout", []string{`["30 L/s", "52 m"], ["60 L/s", "30 m"]`, `["30 L/s", "62 m"], ["60 L/s", "70 m"]`}, "curve", "head rises with flow"},
	{"curve without a fall", []string{`["0 L/s", "60 m"], ["30 L/s", "52 m"], ["60 L/s", "30 m"]`, `["0 L/s", "60 m"], ["30 L/s", "60 m"], ["60 L/s", "60 m"]`}, "curve", "at every flow"},
	{"curve of one point", []string{`["0 L/s", "60 m"], ["30 L/s", "52 m"], ["60 L/s", "30 m"]`, `["0 L/s", "60 m"]`}, "curve", "a curve of 1"},
	{"flows that fall", []string{`["30 L/s", "52 m"], ["60 L/s", "30 m"]`, `["60 L/s", "30 m"], ["30 L/s", "52 m"]`}, "curve[3]", "does not rise"},
	{"negative head", []string{`["60 L/s", "30 m"]`, `["60 L/s", "-3 m"]`}, "curve[3][2]", "outside what can be meant"},
	{"efficiency above one", []string{`["30 L/s", "78 %"]`, `["30 L/s", "178 %"]`}, "efficiency[2][2]", "above 100 %"},
	{"one efficiency above one", []string{`efficiency = [["10 L/s", "50 %"], ["30 L/s", "78 %"], ["60 L/s", "60 %"]]`, `efficiency = "120 %"`}, "efficiency", "above 100 %"},
	{"motor above one", []string{`motor_efficiency = "92 %"`, `motor_efficiency = "102 %"`}, "motor_efficiency", "outside what can be meant"},
	{"no pump", []string{"[[station.pump]]\nname = \"P\"", "[[station.pomp]]\nname = \"P\""}, "pomp", "unknown"},

	// places
	{"valve beyond the end", []string{"name = \"AV 1\"\nat = \"0+600\"", "name = \"AV 1\"\nat = \"0+801\""}, "at", "beyond the run's end"},
	{"valve before the beginning", []string{"name = \"AV 1\"\nat = \"0+600\"", "name = \"AV 1\"\nat = \"-0+001\""}, "at", "before the run's beginning"},
	{"equipment beyond the end", []string{`at = "0+500"`, `at = "5+000"`}, "at", "beyond the run's end"},
	{"gap between sections", []string{"bore = \"250 mm\"", "from = \"0+450\"\nbore = \"250 mm\""}, "from", "gap between two sections"},
	{"overlap of sections", []string{"bore = \"250 mm\"", "from = \"0+350\"\nbore = \"250 mm\""}, "from", "two sections overlap"},
	{"section beyond the end", []string{"bore = \"250 mm\"", "to = \"0+900\"\nbore = \"250 mm\""}, "to", "does not end where the run does"},
	{"section after the beginning", []string{`to = "0+400"`, "from = \"0+010\"\nto = \"0+400\""}, "from", "does not begin where the run does"},
	{"section backwards", []string{"bore = \"250 mm\"", "to = \"0+300\"\nbore = \"250 mm\""}, "to", "ends before it begins"},
	{"section of no length", []string{"bore = \"250 mm\"", "to = \"0+400\"\nbore = \"250 mm\""}, "to", "has no length"},
	{"seat in the pipe", []string{`height = "0.4 m"`, `height = "-0.1 m"`}, "height", "outside what can be meant"},
	{"section without end", []string{"to = \"0+400\"\n", ""}, "to", "not said where the section ends"},
	{"section without bore", []string{"bore = \"250 mm\"\n", ""}, "section[2]", "no bore"},
	{"valve without height", []string{"seat_height = \"0.5 m\"\n", ""}, "height", "how high the seat stands"},

	// names
	{"two nodes of one name", []string{`name = "Lower tank"`, `name = "Hill tank"`}, "name", "two things have the name"},
	{"two runs of one name", []string{`name = "Hill main"`, `name = "Rising main"`}, "name", "two things have the name"},
	{"two valves of one name", []string{`name = "AV 2"`, `name = "AV 1"`}, "name", "two things have the name"},
	{"valve and equipment of one name", []string{`name = "AV 2"`, `name = "IV"`}, "name", "two things have the name"},
	{"two cases of one name", []string{`name = "Standing low"`, `name = "Filling"`}, "name", "two things have the name"},
	{"two pumps of one name", []string{"[[station.pump]]", "[[station.pump]]\nname = \"P 2\"\ncurve = [[\"0 L/s\", \"9 m\"], [\"9 L/s\", \"3 m\"]]\n[[station.pump]]"}, "name", "two things have the name"},
	{"two routes of one name", []string{"[[route]]", "[[route]]\nname = \"Works to the valley\"\nruns = [\"Hill main\"]\n[[route]]"}, "name", "two things have the name"},
	{"unknown node", []string{`to = "Fork"`, `to = "Frok"`}, "to", "no node"},
	{"unknown type", []string{`type = "Test 80"`, `type = "Test 08"`}, "type", "no valve type on the rack"},
	{"unknown pump", []string{`running = ["P 1"]`, `running = ["P1"]`}, "running[1]", "no pump"},
	{"unknown run on a route", []string{`runs = ["Rising main", "Valley main"]`, `runs = ["Rising main", "Vally main"]`}, "runs[2]", "no run"},
	{"unknown isolating valve", []string{`closed = ["IV"]`, `closed = ["VI"]`}, "closed[1]", "no equipment"},
	{"another thing closed", []string{`closed = ["IV"]`, `closed = ["CV"]`}, "closed[1]", "no isolating valve"},
	{"an air valve closed", []string{`closed = ["IV"]`, `closed = ["AV 1"]`}, "closed[1]", "no isolating valve"},
	{"unknown key", []string{`description = "for tests"`, `descripton = "for tests"`}, "descripton", "unknown key"},
	{"unknown table", []string{"[survey]", "[surveys]"}, "surveys", "unknown table"},
	{"key with a letter that looks alike", []string{"level = \"108 m\"", "lеvel = \"108 m\""}, "level", "only looks like a plain one"},
	{"name with a letter that looks alike", []string{`to = "Fork"`, `to = "Fоrk"`}, "to", "no node"},
	{"name with a space at its end", []string{`name = "AV 2"`, `name = "AV 2 "`}, "name", "begins or ends with a space"},
	{"name with a line break", []string{`name = "AV 2"`, `name = "AV\n2"`}, "name", "cannot be seen"},
	{"endless name", []string{`name = "AV 2"`, `name = "` + strings.Repeat("A", 121) + `"`}, "name", "longer than"},

	// the whole
	{"isolated node", []string{"[[junction]]", "[[tank]]\nname = \"Lost\"\nlevel = \"3 m\"\n[[junction]]"}, "name", "stands alone"},
	{"part without a level", []string{"[[junction]]", ring + "[[junction]]"}, "name", "no water level anywhere"},
	{"run that ends where it begins", []string{`to = "Hill tank"`, `to = "Fork"`}, "to", "ends where it begins"},
	{"check valves against each other", []string{"[[run.equipment]]\nkind = \"isolating valve\"", "[[run.equipment]]\nkind = \"check valve\"\nname = \"CV 2\"\nat = \"0+700\"\nfacing = \"from\"\n[[run.equipment]]\nkind = \"isolating valve\""}, "equipment", "against one another"},
	{"check valve against the pumps", []string{"at = \"0+010\"", "at = \"0+010\"\nfacing = \"from\""}, "equipment", "against a pump"},
	{"station with nothing to draw from", []string{"sump_level = \"100.0 m\"\n", ""}, "name", "nothing to draw from"},
	{"two runs at an outfall", []string{"[[junction]]", "[[outfall]]"}, "name", "3 runs meet at the outfall"},
	{"tank below its pipe", []string{"level = \"131 m\"\nlowest = \"129 m\"\nhighest = \"132 m\"", "level = \"125 m\""}, "level", "stands below the pipe"},
	{"tank that feeds nothing", []string{"from = \"Fork\"\nto = \"Hill tank\"\nprofile = \"hill.csv\"", "from = \"Hill tank\"\nto = \"Fork\"\nprofile = \"rising.csv\"", "level = \"131 m\"\nlowest = \"129 m\"\nhighest = \"132 m\"", "level = \"101 m\""}, "level", "never reaches the pipe"},
	{"tank range upside down", []string{`lowest = "129 m"`, `lowest = "133 m"`}, "lowest", "above the highest"},
	{"usual level outside the range", []string{`level = "131 m"`, `level = "132.5 m"`}, "level", "outside the tank's own range"},
	{"tank without a level", []string{"level = \"108 m\"\n", ""}, "level", "is missing"},
	{"route that does not hang together", []string{`runs = ["Rising main", "Valley main"]`, `runs = ["Rising main", "Valley main", "Hill main"]`}, "runs[3]", "does not begin where"},
	{"route twice over a run", []string{`runs = ["Rising main", "Valley main"]`, `runs = ["Rising main", "Rising main"]`}, "runs[2]", "stands twice on the route"},

	// cases
	{"pumping without a pump", []string{`running = ["P 2"]`, `running = []`}, "kind", "no pump runs"},
	{"pumping while standing", []string{"tanks = \"lowest\"", "tanks = \"lowest\"\nstation = [{ name = \"Works\" }]"}, "running", "no pump runs in a standing case"},
	{"flow while standing", []string{"tanks = \"lowest\"", "tanks = \"lowest\"\ndemand = \"50 %\""}, "demand", "no flow"},
	{"speeds that do not fit", []string{`speed = ["90 %"]`, `speed = ["90 %", "80 %"]`}, "speed", "2 speeds for 1 running pumps"},
	{"speed beyond belief", []string{`speed = ["90 %"]`, `speed = "900 %"`}, "speed", "outside what can be meant"},
	{"tank named as a station", []string{`station = [{ name = "Works", running`, `station = [{ name = "Hill tank", running`}, "name", "is no pump station"},
	{"unknown kind of case", []string{`kind = "standing"`, `kind = "stood"`}, "kind", "not a choice"},
	{"more than a day", []string{`hours = "16 h"`, `hours = "25 h"`}, "hours", "outside what can be meant"},

	// equipment
	{"setting of a check valve", []string{"loss = 1.2", "loss = 1.2\nsetting = \"3 m\""}, "setting", "has no setting"},
	{"sustaining valve without a setting", []string{"setting = \"12 m\"\n", ""}, "setting", "is missing"},
	{"closed check valve", []string{"loss = 1.2", "closed = true"}, "closed", "has no closed"},

	// files
	{"profile that is not there", []string{`profile = "hill.csv"`, `profile = "hil.csv"`}, "profile", "no file"},
	{"profile that leaves the folder", []string{`profile = "hill.csv"`, `profile = "../hill.csv"`}, "profile", "leaves the line's folder"},
	{"profile that leaves the folder by a way round", []string{`profile = "hill.csv"`, `profile = "rack/../../hill.csv"`}, "profile", "leaves the line's folder"},
	{"profile from the root", []string{`profile = "hill.csv"`, `profile = "/etc/passwd"`}, "profile", "leaves the line's folder"},
	{"profile from another drive", []string{`profile = "hill.csv"`, `profile = 'C:\hill.csv'`}, "profile", "backslash"},
	{"folder in place of a profile", []string{`profile = "hill.csv"`, `profile = "rack"`}, "profile", "is a folder"},
	{"bench run that is not there", []string{`author = "tester"`, "author = \"tester\"\nbench = [\"bench/run-1.toml\"]"}, "bench[1]", "no file"},

	// text
	{"the same key twice", []string{`description = "for tests"`, "description = \"for tests\"\ndescription = \"again\""}, "description", "twice"},
	{"syntax", []string{`description = "for tests"`, `description = `}, "", ""},
}

// ring is a part of a line that has no water level anywhere.
const ring = `
[[junction]]
name = "A"
[[junction]]
name = "B"
[[run]]
name = "out"
from = "A"
to = "B"
profile = "hill.csv"
[[run.section]]
bore = "100 mm"
[[run]]
name = "back"
from = "B"
to = "A"
profile = "hill.csv"
[[run.section]]
bore = "100 mm"
`

func TestBadInput(t *testing.T) {
	for _, c := range badInputs {
		t.Run(c.name, func(t *testing.T) {
			l, faults := Read(folder(t, c.edits...), nil)
			if l != nil || faults.Err() == nil {
				t.Fatalf("accepted")
			}
			found := false
			for _, f := range faults.Only(document.FaultSeverity) {
				if strings.Contains(f.Key, c.key) && strings.Contains(f.What, c.what) {
					found = true
				}
				if f.File == "" || f.Line == 0 || f.What == "" || f.Hint == "" {
					t.Errorf("a fault without place or hint: %+v", f)
				}
			}
			if !found {
				t.Errorf("no fault at %q with %q among:", c.key, c.what)
			}
			if n := len(faults.Only(document.FaultSeverity)); !found || n > 3 {
				for _, f := range faults {
					t.Logf("%s:%d %s: %s; %s; %s", f.File, f.Line, f.Key, f.What, f.Understood, f.Hint)
				}
				if n > 3 {
					t.Errorf("%d faults for one mistake", n)
				}
			}
		})
	}
}

// TestAllFaultsInOnePass puts many mistakes into one document.
func TestAllFaultsInOnePass(t *testing.T) {
	var edits []string
	want := 0
	for _, name := range []string{"negative diameter", "altitude too high", "efficiency above one", "unknown type", "profile that is not there", "speed beyond belief",
		"valve beyond the end", "isolated node", "tank range upside down", "setting of a check valve", "unknown key"} {
		for _, c := range badInputs {
			if c.name == name {
				edits = append(edits, c.edits...)
				want++
			}
		}
	}
	_, faults := Read(folder(t, edits...), nil)
	if got := len(faults.Only(document.FaultSeverity)); got < want {
		t.Errorf("%d faults of %d in one pass: %v", got, want, faults)
	}
	for i := 1; i < len(faults); i++ {
		if a, b := faults[i-1], faults[i]; a.File == b.File && a.Line > b.Line {
			t.Errorf("faults out of order: line %d before line %d", a.Line, b.Line)
		}
	}
}

func TestNearestSpelling(t *testing.T) {
	for _, c := range []struct{ edit, hint string }{
		{`to = "Frok"`, `"Fork"`}, {`to = "Fоrk"`, `"Fork"`}, {`to = "fork"`, `"Fork"`}, {`to = "nowhere at all"`, `"Hill tank"`},
	} {
		_, faults := Read(folder(t, `to = "Fork"`, c.edit), nil)
		if len(faults) == 0 || !strings.Contains(faults[0].Hint, c.hint) {
			t.Errorf("%s: %+v does not offer %s", c.edit, faults, c.hint)
		}
	}
	_, faults := Read(folder(t, `to = "Fork"`, `to = "Fоrk"`), nil)
	if !strings.Contains(faults[0].Understood, "Cyrillic") {
		t.Errorf("the odd letter is not named: %+v", faults[0])
	}
}

func TestBadFolder(t *testing.T) {
	pipe := &fstest.MapFile{Mode: fs.ModeNamedPipe | 0o644}
	dir := &fstest.MapFile{Mode: fs.ModeDir | 0o755}
	big := func(n int) *fstest.MapFile { return &fstest.MapFile{Data: make([]byte, n)} }
	bad := &fstest.MapFile{Data: []byte("[line]\nname = \"\xff\"\n")}
	for _, c := range []struct {
		name   string
		change func(fstest.MapFS)
		file   string
		what   string
	}{
		{"no document", func(m fstest.MapFS) { delete(m, "line.toml") }, "line.toml", "there is no line.toml"},
		{"folder in place of the document", func(m fstest.MapFS) { m["line.toml"] = dir }, "line.toml", "is a folder"},
		{"pipe in place of the document", func(m fstest.MapFS) { m["line.toml"] = pipe }, "line.toml", "is a pipe"},
		{"document too large", func(m fstest.MapFS) { m["line.toml"] = big(DocumentLimit + 1) }, "line.toml", "larger than 4 MB"},
		{"document that is no UTF-8", func(m fstest.MapFS) { m["line.toml"] = bad }, "line.toml", "UTF-8"},
		{"empty document", func(m fstest.MapFS) { m["line.toml"] = big(0) }, "line.toml", "is missing"},
		{"pipe in place of a profile", func(m fstest.MapFS) { m["hill.csv"] = pipe }, "line.toml", "is a pipe"},
		{"profile too large", func(m fstest.MapFS) { m["hill.csv"] = big(MaxProfileBytes + 1) }, "line.toml", "larger than 64 MB"},
		{"empty profile", func(m fstest.MapFS) { m["hill.csv"] = big(0) }, "hill.csv", ""},
		{"profile of one point", func(m fstest.MapFS) {
			m["hill.csv"] = &fstest.MapFile{Data: []byte("chainage [m];obvert [m]\n0;116\n")}
		}, "hill.csv", "one point"},
		{"pipe on the rack", func(m fstest.MapFS) { m["rack/x.toml"] = pipe }, "rack/x.toml", "is a pipe"},
		{"record too large", func(m fstest.MapFS) { m["rack/x.toml"] = big(DocumentLimit + 1) }, "rack/x.toml", "larger than 4 MB"},
		{"record that is no UTF-8", func(m fstest.MapFS) { m["rack/x.toml"] = bad }, "rack/x.toml", "UTF-8"},
		{"two records of one name", func(m fstest.MapFS) { m["rack/x.toml"] = &fstest.MapFile{Data: []byte(record)} }, "rack/x.toml", "two valve types have the name"},
		{"letting go above sealing", func(m fstest.MapFS) {
			m["rack/test-80.toml"] = &fstest.MapFile{Data: []byte(record + "[letting_go]\nknown = \"measured\"\nmean = \"11 kPa\"\nuncertainty = \"0.1 kPa\"\n")}
		}, "rack/test-80.toml", ""},
		{"file in place of the rack", func(m fstest.MapFS) { delete(m, "rack/test-80.toml"); m["rack"] = big(3) }, "rack", "is a file"},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := folder(t)
			c.change(m)
			done := make(chan struct{})
			var l *Line
			var faults document.Faults
			go func() { l, faults = Read(m, nil); close(done) }()
			select {
			case <-done:
			case <-time.After(20 * time.Second):
				t.Fatal("hangs")
			}
			if l != nil || faults.Err() == nil {
				t.Fatal("accepted")
			}
			found := false
			for _, f := range faults {
				found = found || f.File == c.file && strings.Contains(f.What, c.what)
			}
			if !found {
				t.Errorf("no fault in %s with %q among %+v", c.file, c.what, faults)
			}
		})
	}
}

func TestRackFromOutside(t *testing.T) {
	outside, faults := valve.Parse("test-90.toml", []byte(strings.Replace(record, "Test 80", "Test 90", 1)))
	if faults.Err() != nil {
		t.Fatal(faults)
	}
	l, _ := mustRead(t, folder(t, `type = "Test 80"`, `type = "Test 90"`), outside)
	if i := l.Runs[0].Placed[1].Record; l.Rack[i].Name != "Test 90" || len(l.Rack) != 2 {
		t.Errorf("the valve's record is %q", l.Rack[i].Name)
	}
	outside.Name, outside.Sealing.Mean = "Test 80", outside.Sealing.Mean+1
	if _, faults := Read(folder(t), []valve.Record{outside}); faults.Err() == nil {
		t.Error("two records of one name are accepted, one from the folder and one from outside")
	}
}

// TestHash holds that the hash depends on every input and on nothing else.
func TestHash(t *testing.T) {
	hash := func(m fs.FS, rack ...valve.Record) string {
		l, _ := mustRead(t, m, rack...)
		if len(l.Hash) != 64 {
			t.Fatalf("hash %q", l.Hash)
		}
		return l.Hash
	}
	base := hash(folder(t))
	if base != hash(folder(t)) {
		t.Error("two readings of the same folder differ")
	}
	other := folder(t)
	other["notes.txt"] = &fstest.MapFile{Data: []byte("not read")}
	if hash(other) != base {
		t.Error("a file that is not read changes the hash")
	}
	seen := map[string]string{base: "the folder itself"}
	for name, m := range map[string]fstest.MapFS{
		"document": folder(t, "for tests", "for the tests"),
		"profile":  func() fstest.MapFS { m := folder(t); m["hill.csv"].Data = append(m["hill.csv"].Data, '\n'); return m }(),
		"record": func() fstest.MapFS {
			m := folder(t)
			m["rack/test-80.toml"].Data = append(m["rack/test-80.toml"].Data, '\n')
			return m
		}(),
	} {
		h := hash(m)
		if first, twice := seen[h]; twice {
			t.Errorf("%s and %s have the same hash", name, first)
		}
		seen[h] = name
	}
	withBench := func(run, series string) fstest.MapFS {
		m := folder(t, `author = "tester"`, "author = \"tester\"\nbench = [\"bench/run.toml\"]")
		m["bench/run.toml"] = &fstest.MapFile{Data: []byte(run)}
		m["bench/run.csv"] = &fstest.MapFile{Data: []byte(series)}
		return m
	}
	const run = "[series]\nfile = \"run.csv\"\n"
	if a := hash(withBench(run, "1")); a == hash(withBench(run+"\n", "1")) || a == hash(withBench(run, "2")) {
		t.Error("a bench run or its series does not change the hash")
	}
	outside, _ := valve.Parse("x.toml", []byte(strings.Replace(record, "Test 80", "Test 90", 1)))
	if hash(folder(t), outside) == base {
		t.Error("a record from outside does not change the hash")
	}
}

// A seat_height that cannot be read is told once, not again at every valve that rests on it.
func TestUnreadableSeatHeightIsToldOnce(t *testing.T) {
	doc := `[line]
name = "Main"
[[tank]]
name = "A"
level = "30 m"
[[outfall]]
name = "Z"
[[run]]
name = "R"
from = "A"
to = "Z"
profile = "p.csv"
seat_height = "0,40 m"
[[run.section]]
bore = "200 mm"
[[run.valve]]
name = "V1"
at = "0+100"
[[run.valve]]
name = "V2"
at = "0+200"
`
	_, faults := Read(fstest.MapFS{"line.toml": {Data: []byte(doc)}, "p.csv": {Data: []byte("chainage (m);obvert level (m)\n0;20\n100;22\n200;21\n300;10\n")}}, nil)
	bad := faults.Only(document.FaultSeverity)
	if len(bad) != 1 || !strings.Contains(bad[0].String(), "decimal comma") {
		t.Errorf("faults = %v, want the decimal comma alone", bad)
	}
}

// A tank's level that cannot be read is told once, not again where the pipe lies above a level of nothing.
func TestUnreadableTankLevelIsToldOnce(t *testing.T) {
	const levels = "level = \"131 m\"\nlowest = \"129 m\"\nhighest = \"132 m\""
	for _, edit := range []string{"level = \"131,0 m\"", "level = \"131\"", "level = \"131 m\"\nlowest = \"129\"", "level = \"131\"\nlowest = \"129 m\"\nhighest = \"132 m\""} {
		_, faults := Read(folder(t, levels, edit), nil)
		if len(faults) != 1 || !strings.Contains(faults[0].What, "not a length") {
			t.Errorf("%q: %v", edit, faults)
		}
	}
}
