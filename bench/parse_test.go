package bench

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"obvert/document"

	"obvert/internal/schematest"
)

// small is a whole run in one text: one valve, one repeat, a tube read every 10 s.
const small = `
name = "small"
date = "2026-11-18"
operator = "x"
[water]
temperature = "16 °C"
temperature_uncertainty = "0.3 K"
[place]
gravity = "9.81 m/s²"
[levels]
uncertainty = "2 mm"
[tight]
no_drop = "30 s"
[observer]
delay = "1 s"
spread = "0.3 s"
[collecting]
volume_uncertainty = "3 mL"
time_uncertainty = "0.5 s"
[tube]
name = "t"
zero = "0.5 m"
top = "4 m"
resolution = "1 mm"
[tube.certificate]
date = "2026-02-01"
correction = "+1 mm"
expanded_uncertainty = "2 mm"
k = 2
[series]
columns = ["time", "tube"]
rows = [["0 s", "0.10 m"], ["10 s", "0.30 m"], ["20 s", "0.50 m"], ["30 s", "0.70 m"], ["40 s", "0.90 m"],
  ["50 s", "1.10 m"], ["60 s", "0.90 m"], ["70 s", "0.70 m"], ["80 s", "0.50 m"], ["90 s", "0.30 m"], ["100 s", "0.10 m"]]
[[repeat]]
from = "0 s"
turn = "50 s"
to = "100 s"
[[valve]]
name = "V"
seat = "0.55 m"
mark = [{ at = "35 s", seen = "tight" }, { at = "75 s", seen = "dripping" }]
leak = [{ at = "18 s", volume = "50 mL", over = "5 s" }]
`

func parse(text string, files map[string]string) (Run, document.Faults) {
	return Parse("run.toml", []byte(text), func(name string) ([]byte, error) {
		if f, ok := files[name]; ok {
			return []byte(f), nil
		}
		return nil, errors.New("no such file: " + name)
	})
}

func TestParseSmall(t *testing.T) {
	r, faults := parse(small, nil)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	res := reduce(t, r)
	v := res.Valves[0]
	// by hand: tight at 34 s, the tube then reads 0.78 m + 1 mm over 0.5 m: 0.731 m above the seat
	near(t, "sealing head", v.Marks[0].Head, 0.731, 1e-9)
	// dripping at 74 s: 0.62 m + 1 mm: 0.571 m
	near(t, "letting-go head", v.Marks[1].Head, 0.571, 1e-9)
	near(t, "leak", v.Leaks[0].Flow, 1e-5, 1e-12)
	if !strings.HasPrefix(v.Statement, "shuts at 0.73") {
		t.Error(v.Statement)
	}
}

func TestRunSchema(t *testing.T) {
	demo, _ := openDemo("run-1.toml")
	schema, err := schematest.Compile(Schema())
	if err != nil {
		t.Fatal(err)
	}
	check := func(text string) error { return schematest.TOML(schema, []byte(text)) }
	for _, text := range []string{string(demo), small} {
		if err := check(text); err != nil {
			t.Error(err)
		}
	}
	for _, c := range [][2]string{
		{`seen = "tight"`, `found = "tight", seen = "tight"`}, {`seen = "tight"`, `sene = "tight"`}, {`seat = "0.55 m"`, `seat = 0.55`},
		{`gravity = "9.81 m/s²"`, ``}, {`correction = "+1 mm"`, "correction = \"+1 mm\"\nerror = \"-1 mm\""}, {`k = 2`, `k = 0`}, {`no_drop = "30 s"`, `no_drop = "30"`},
	} {
		spoilt := strings.Replace(small, c[0], c[1], 1)
		if check(spoilt) == nil {
			t.Errorf("the schema takes %q", c[1])
		}
		if _, faults := parse(spoilt, nil); faults.Err() == nil {
			t.Errorf("Parse takes %q", c[1])
		}
	}
}

// Each change to a sound run is one clear fault: where, what, what to do.
func TestRunFaults(t *testing.T) {
	for _, c := range []struct{ name, old, new, what string }{
		{"time backwards", `["20 s", "0.50 m"]`, `["5 s", "0.50 m"]`, "time runs backwards"},
		{"time standing still", `["20 s", "0.50 m"]`, `["10 s", "0.50 m"]`, "two readings at one time"},
		{"mark outside the series", `"35 s", seen`, `"350 s", seen`, "a mark outside the series"},
		{"mark before the series", `"35 s", seen`, `"0.5 s", seen`, "a mark without readings"},
		{"unit missing in a row", `"0.50 m"`, `"0.50"`, "is not a length"},
		{"wrong kind in a row", `"0.50 m"`, `"0.50 s"`, ""},
		{"nan", `"0.50 m"`, `"nan m"`, ""},
		{"1e999", `"0.50 m"`, `"1e999 m"`, ""},
		{"no gravity", `gravity = "9.81 m/s²"`, `altitude = "300 m"`, ""},
		{"altitude", `gravity = "9.81 m/s²"`, "latitude = \"47°\"\naltitude = \"9000 m\"", "outside its range"},
		{"hot water", `"16 °C"`, `"70 °C"`, "outside its range"},
		{"tight and dripping", `{ at = "75 s", seen`, `{ at = "35 s", found = "dripping" }, { at = "75 s", seen`, "tight and dripping at one time"},
		{"no delay", "[observer]\ndelay = \"1 s\"\nspread = \"0.3 s\"\n", "", "without the observer's delay"},
		{"no collecting", "[collecting]\nvolume_uncertainty = \"3 mL\"\ntime_uncertainty = \"0.5 s\"\n", "", "uncertainty of collecting"},
		{"both signs", `correction = "+1 mm"`, "correction = \"+1 mm\"\nerror = \"-1 mm\"", "correction is not clear"},
		{"neither sign", `correction = "+1 mm"`, "", "correction is not clear"},
		{"both kinds of mark", `seen = "tight"`, `seen = "tight", found = "tight"`, "kind is not clear"},
		{"unknown key", `top = "4 m"`, "top = \"4 m\"\ntopp = \"4 m\"", ""},
		{"look-alike key", `top = `, `tоp = `, ""},
		{"turn after the end", `turn = "50 s"`, `turn = "150 s"`, "a repeat out of order"},
		{"repeat beyond the series", `to = "100 s"`, `to = "200 s"`, "a repeat outside the series"},
		{"tube upside down", `top = "4 m"`, `top = "0.2 m"`, "top is not above its zero"},
		{"gauge column without a gauge", `["time", "tube"]`, `["time", "gauge"]`, ""},
		{"seat above the water", `seat = "0.55 m"`, `seat = "0.55 km"`, "a seat that the water never reached"},
		{"two valves with one name", "[[valve]]", "[[valve]]\nname = \"V\"\nseat = \"0.5 m\"\n[[valve]]", "two valves with one name"},
		{"marks exchanged", `seen = "tight" }, { at = "75 s"`, `seen = "tight" }, { at = "52 s"`, ""},
		{"no series", "rows = [", "rows = [] # [", ""},
	} {
		text := strings.Replace(small, c.old, c.new, 1)
		if text == small {
			t.Fatalf("%s: %q is not in the text", c.name, c.old)
		}
		r, faults := parse(text, nil)
		if c.name == "marks exchanged" { // sound as a text; the reduction finds it
			if _, err := Reduce(r); err == nil || !strings.Contains(err.Error(), "letting-go above sealing") {
				t.Errorf("%s: %v", c.name, err)
			} else if !strings.Contains(err.Error(), "run.toml:") {
				t.Errorf("%s: no place: %v", c.name, err)
			}
			continue
		}
		hit := false
		for _, f := range faults.Only(document.FaultSeverity) {
			hit = hit || f.File != "" && f.Line > 0 && strings.Contains(f.String(), c.what)
		}
		if !hit {
			t.Errorf("%s: want a fault with a line and %q, got %v", c.name, c.what, faults)
		}
	}
}

// A certificate made after the run is told and stops nothing.
func TestLaterCertificate(t *testing.T) {
	r, faults := parse(strings.Replace(small, `date = "2026-02-01"`, `date = "2027-02-01"`, 1), nil)
	if len(faults) != 1 || faults[0].ID != "certificate.later" || faults[0].Line == 0 || faults[0].Severity != document.WarningSeverity {
		t.Fatal(faults)
	}
	reduce(t, r)
}

// withCSV is the small run with its series in a file.
func withCSV() string {
	i, j := strings.Index(small, "columns ="), strings.Index(small, "[[repeat]]")
	return small[:i] + "file = \"run.csv\"\n" + small[j:]
}

func csvOf(head, row string) string {
	var b strings.Builder
	b.WriteString(head + "\n")
	for i := range 11 {
		h := 0.1 + 0.2*math.Min(float64(i), float64(10-i))
		fmt.Fprintf(&b, row+"\n", i*10, h)
	}
	return b.String()
}

// The same series in the dialects people have.
func TestSeriesDialects(t *testing.T) {
	want, _ := parse(small, nil)
	comma := strings.ReplaceAll(csvOf("time [s];tube [m]", "%d;%.2f"), ".", ",")
	for name, csv := range map[string]string{
		"commas": csvOf("time [s],tube [m]", "%d,%.2f"), "semicolons": csvOf("Time [s];Tube [m]", "%d;%.2f"), "tabs": csvOf("time (s)\ttube (m)", "%d\t%.2f"),
		"decimal commas": comma, "mm": csvOf("time [s],tube [mm]", "%d,%.2fe3"), "units in cells": csvOf("time,tube", "%d s,%.2f m"),
		"mark at the front and CRLF": "\ufeff" + strings.ReplaceAll(csvOf("time [s],tube [m]", "%d,%.2f"), "\n", "\r\n"),
		"another column":             csvOf("time [s],tube [m],note", "%d,%.2f,x"), "comments and blanks": "# read by camera\n\n" + csvOf("time [s],tube [m]", "%d,%.2f") + "\n,\n",
	} {
		r, faults := parse(withCSV(), map[string]string{"run.csv": csv})
		if err := faults.Err(); err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if len(r.Samples) != len(want.Samples) {
			t.Errorf("%s: %d samples", name, len(r.Samples))
			continue
		}
		for i := range r.Samples {
			near(t, name, r.Samples[i].Tube, want.Samples[i].Tube, 1e-12)
			near(t, name, r.Samples[i].Time, want.Samples[i].Time, 1e-12)
		}
		if remark := name == "decimal commas" || name == "another column"; remark != (len(faults) > 0) {
			t.Errorf("%s: remarks %v", name, faults)
		}
	}
}

func TestSeriesFaults(t *testing.T) {
	good := csvOf("time [s],tube [m]", "%d,%.2f")
	for name, c := range map[string]struct {
		csv, what string
		line      int
	}{
		"empty":             {"", "empty", 0},
		"head alone":        {"time [s],tube [m]\n", "without a reading", 0},
		"no unit":           {strings.Replace(good, "tube [m]", "tube", 1), "no unit", 2},
		"wrong kind":        {strings.Replace(good, "tube [m]", "tube [kPa]", 1), "unit that does not fit", 1},
		"no time":           {strings.Replace(good, "time [s]", "clock [s]", 1), "without time", 1},
		"time backwards":    {strings.Replace(good, "\n30,", "\n3,", 1), "time runs backwards", 5},
		"nan":               {strings.Replace(good, "0.70", "nan", 1), "not a length", 5},
		"1e308":             {strings.Replace(good, "0.70", "1e308", 1), "not a length", 5},
		"decimal comma":     {strings.Replace(good, "0.70", "0,70", 1), "more cells than columns", 5},
		"thousands":         {strings.Replace(good, "0.70", "0 700", 1), "not a length", 5},
		"not UTF-8":         {strings.Replace(good, "0.70", "0.7\xff", 1), "not UTF-8", 5},
		"UTF-16":            {"\xff\xfet\x00", "UTF-16", 1},
		"a row without any": {strings.Replace(good, "30,0.70", "30,", 1), "without a reading", 5},
		"gauge not told of": {strings.ReplaceAll(good, "tube [m]", "gauge [kPa]"), "without a gauge", 2},
	} {
		_, faults := parse(withCSV(), map[string]string{"run.csv": c.csv})
		hit := false
		for _, f := range faults.Only(document.FaultSeverity) {
			hit = hit || f.File == "run.csv" && strings.Contains(f.String(), c.what) && (c.line == 0 || f.Line == c.line)
		}
		if !hit {
			t.Errorf("%s: want %q in line %d, got %v", name, c.what, c.line, faults)
		}
	}
	if _, faults := parse(withCSV(), nil); faults.Err() == nil || !strings.Contains(faults.Error(), "no such file") {
		t.Error("a missing series:", faults)
	}
	for _, path := range []string{"../run.csv", "/etc/passwd", "a/../../run.csv", `a\\run.csv`, "C:run.csv", ".", "a//b.csv"} {
		asked := false
		text := strings.Replace(withCSV(), "run.csv", path, 1)
		_, faults := Parse("run.toml", []byte(text), func(string) ([]byte, error) { asked = true; return nil, nil })
		if faults.Err() == nil || asked {
			t.Errorf("%q leaves the folder, and was asked for: %t", path, asked)
		}
	}
	// a thousand bad rows are told in some twenty lines
	var b strings.Builder
	b.WriteString("time [s],tube [m]\n")
	for i := range 1000 {
		fmt.Fprintf(&b, "%d,x\n", i)
	}
	if _, faults := parse(withCSV(), map[string]string{"run.csv": b.String()}); len(faults) > 2*mostFaults || !strings.Contains(faults.Error(), "980 more") {
		t.Errorf("%d faults", len(faults))
	}
}

// Marks without a series, and marks in a pause of it.
func TestMarksWithoutReadings(t *testing.T) {
	r, _ := parse(small, nil)
	r.Samples = nil
	if err := r.Check().Err(); err == nil || !strings.Contains(err.Error(), "marks without readings") {
		t.Error(err)
	}
	s := plainScene()
	s.repeats, s.valves = 1, oneValve(1.5, 1.2)
	r = s.build()
	at := r.Valves[0].Marks[0].Time
	var thin []Sample
	for _, x := range r.Samples {
		if math.Abs(x.Time-at) > 10 {
			thin = append(thin, x)
		}
	}
	r.Samples = thin
	if err := r.Check().Err(); err == nil || !strings.Contains(err.Error(), "a mark without readings") {
		t.Error(err)
	}
}

func FuzzRun(f *testing.F) {
	demo, _ := openDemo("run-1.toml")
	csv, _ := openDemo("run-1.csv")
	f.Add(string(demo), string(csv[:4000]))
	f.Add(small, "")
	f.Add(withCSV(), csvOf("time [s],tube [m]", "%d,%.2f"))
	f.Add(withCSV(), "time\ttube (m)\n1 s\t1\n\"")
	f.Add(withCSV(), "time [s];tube [m];gauge [psi(g)]\n0;1,5;\n1;;3\n")
	f.Fuzz(func(t *testing.T, text, series string) {
		r, faults := Parse("run.toml", []byte(text), func(string) ([]byte, error) { return []byte(series), nil })
		if faults.Err() != nil {
			return
		}
		res, err := Reduce(r)
		if err != nil {
			return
		}
		for _, v := range res.Valves {
			if !finite(v.Sealing.Mean, v.Sealing.Uncertainty, v.Sealing.Scatter, v.LettingGo.Mean, v.LettingGo.Uncertainty, v.Hysteresis, v.Coverage) {
				t.Fatalf("not finite: %+v", v)
			}
			for _, p := range v.Leak {
				if !finite(p.Flow, p.Pressure) || p.Flow < 0 {
					t.Fatalf("leak %+v", p)
				}
			}
		}
		Records(res)
	})
}

func FuzzSeries(f *testing.F) {
	f.Add([]byte(csvOf("time [s],tube [m]", "%d,%.2f")))
	f.Add([]byte("time [s];gauge [kPa(g)];tube (mm)\n0;1,5;200\n"))
	f.Add([]byte("\ufefftime\ttube\n1 s\t2 ft\n\n#x\n"))
	f.Add([]byte("\xff\xfe"))
	f.Fuzz(func(t *testing.T, data []byte) {
		samples, faults := parseSeries("s.csv", data)
		if len(samples) == 0 && faults.Err() == nil {
			t.Fatal("no sample and no fault")
		}
		for _, s := range samples {
			if !finite(s.Time, s.Gauge, s.Tube) {
				t.Fatalf("%+v", s)
			}
		}
	})
}
