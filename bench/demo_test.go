package bench

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"obvert/physics/valve"
)

// writeDemo makes the demo's run anew from its invented truth, and the measured
// parts of the rack from the run: go test ./bench -run Demo -write-demo
var writeDemo = flag.Bool("write-demo", false, "write demo/bench and demo/rack")

const demoDir = "../demo/bench"

// demoScene is the invented bench: five valves whose sealing heads go from almost
// nothing to five metres, the last never tight below the tube's top.
func demoScene() scene {
	return scene{
		seed: 20261166, top: 5.64, start: 0.58, rate: 0.01, every: 2, repeats: 3,
		hold: 44, holds: []float64{0.68, 0.73, 0.95, 1.2, 1.4, 1.9, 2.5, 3.0, 3.8, 4.6, 5.1},
		jitter: 12, wrong: true, reaction: 0.25,
		run: Run{
			WaterTemperature: 289.65, WaterTemperatureUncertainty: 0.3, HasLatitude: true, Latitude: 47.3 * math.Pi / 180, Altitude: 430,
			LevelUncertainty: 0.0015, Delay: 1.4, DelaySpread: 0.4, HasDelay: true, NoDrop: 60,
			VolumeUncertainty: 3e-6, TimeUncertainty: 0.4, HasCollecting: true,
			Gauge: &Gauge{Level: 0.352, Resolution: 10, Drift: 50, Certificate: Certificate{Corrections: []Correction{{Added: 80}}, Expanded: 120, K: 2}},
			Tube:  &Tube{Zero: 0.504, Top: 5.65, Resolution: 0.001, Certificate: Certificate{Corrections: []Correction{{Added: 0.001}}, Expanded: 0.003, K: 2}},
		},
		valves: []truth{
			{"A", 0.631, 0.15, 0.11, 0.008, 12e-5, 1}, {"B", 0.634, 0.9, 0.74, 0.02, 5e-5, 1}, {"C", 0.629, 2.6, 2.1, 0.04, 6e-5, 0.9},
			{"D", 0.633, 4.7, 3.9, 0.06, 7e-5, 0.9}, {"E", 0.630, 0, 0, 0, 8e-5, 0.8},
		},
	}
}

const demoHead = `# A sealing run of five invented valves on one manifold. See README.md beside this file.
# Every figure carries its unit; heights are above the datum, pressures are gauge.

name     = "Sealing run 1"
date     = "2026-11-18"
operator = "A. Operator"
bench    = "Bench 2, manifold of five"
remark   = "Invented: made from a known truth with noise, to show the reduction."

[water]
temperature             = "16.5 °C"
temperature_uncertainty = "0.3 K"          # standard, k = 1

[place]                                    # local gravity follows from these two
latitude = "47.3°"
altitude = "430 m"

[levels]
datum       = "floor of the bench"
uncertainty = "1.5 mm"                     # standard, of each height by itself

[tight]
no_drop = "60 s"                           # tight means: no drop in this time

[observer]                                 # a change is marked late, never early
delay  = "1.4 s"                           # on the mean
spread = "0.4 s"                           # standard uncertainty of that mean; the same for all repeats

[collecting]
volume_uncertainty = "3 mL"                # standard
time_uncertainty   = "0.4 s"               # standard

[gauge]
name       = "pressure transmitter P7"
level      = "352 mm"
resolution = "0.01 kPa"
drift      = "0.05 kPa"                    # largest change since the certificate, either way
[gauge.certificate]
number               = "P7-26-03"
date                 = "2026-03-02"
error                = "-0.08 kPa"         # indication less true value: it is taken off
expanded_uncertainty = "0.12 kPa"
k                    = 2

[tube]
name       = "standing tube T1, scale read by camera"
zero       = "504 mm"                      # height of the scale's zero
top        = "5.65 m"
resolution = "1 mm"
[tube.certificate]
number               = "T1-26-02"
date                 = "2026-02-11"
correction           = "+1 mm"             # added to the reading
expanded_uncertainty = "3 mm"
k                    = 2

[series]
file = "run-1.csv"
`

// demoNames are the rack's names, by the bench's.
var demoNames = map[string]string{"A": "Alder 80", "B": "Birch 80", "C": "Cedar 80", "D": "Dogwood 80", "E": "Elder 80"}

func demoTexts() (toml, csv []byte) {
	s := demoScene()
	r := s.build()
	var b bytes.Buffer
	b.WriteString(demoHead)
	for i, sp := range r.Repeats {
		fmt.Fprintf(&b, "\n[[repeat]]                                 # %d\nfrom = \"%.0f s\"\nturn = \"%.0f s\"\nto   = \"%.0f s\"\n", i+1, math.Ceil(sp.From), sp.Turn, math.Floor(sp.To))
	}
	for i, v := range r.Valves {
		marks := v.Marks
		if s.valves[i].seal == 0 {
			marks = append(demoLooks(s, r, v), marks...)
		}
		demoValve(&b, v, marks)
	}
	var c bytes.Buffer
	c.WriteString("time [s],gauge [kPa],tube [m]\n")
	for _, sm := range r.Samples {
		fmt.Fprintf(&c, "%.0f,%.2f,%.3f\n", sm.Time, sm.Gauge/1e3, sm.Tube)
	}
	return b.Bytes(), c.Bytes()
}

// demoLooks are the looks at a valve that never became tight.
func demoLooks(s scene, r Run, v ValveRun) []Seen {
	var m []Seen
	for _, sp := range r.Repeats[1:] {
		for _, h := range []float64{1, 2, 3, 4} {
			m = append(m, Seen{Time: sp.From + s.path(nil).rise(v.Seat+h), Kind: Look})
		}
	}
	return m
}

func demoValve(b *bytes.Buffer, v ValveRun, marks []Seen) {
	fmt.Fprintf(b, "\n[[valve]]\nname   = %q\nrecord = %q\nseat   = \"%.0f mm\"\nmark   = [\n", v.Name, demoNames[v.Name], v.Seat*1e3)
	for _, m := range marks {
		key, state := "seen", "dripping"
		if m.Kind == Look {
			key = "found"
		}
		if m.Tight {
			state = "tight"
		}
		fmt.Fprintf(b, "  { at = \"%.1f s\", %s = %q },\n", m.Time, key, state)
	}
	b.WriteString("]\nleak   = [\n")
	for _, l := range v.Leaks {
		fmt.Fprintf(b, "  { at = \"%.0f s\", volume = \"%.0f mL\", over = \"%.0f s\" },\n", math.Ceil(l.Time), l.Volume*1e6, l.Over)
	}
	b.WriteString("]\n")
}

func openDemo(name string) ([]byte, error) { return os.ReadFile(filepath.Join(demoDir, name)) }

func parseDemo(t testing.TB) Run {
	t.Helper()
	data, err := openDemo("run-1.toml")
	if err != nil {
		t.Fatal(err)
	}
	r, faults := Parse("run-1.toml", data, openDemo)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return r
}

func rackFile(name string) string {
	return filepath.Join("../demo/rack", strings.ReplaceAll(strings.ToLower(name), " ", "-")+".toml")
}

// The demo's run is what its invented truth makes, and gives that truth back within
// its uncertainties.
func TestDemoRun(t *testing.T) {
	toml, csv := demoTexts()
	if *writeDemo {
		for name, data := range map[string][]byte{"run-1.toml": toml, "run-1.csv": csv} {
			if err := os.WriteFile(filepath.Join(demoDir, name), data, 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
	if got, _ := openDemo("run-1.toml"); !bytes.Equal(got, toml) {
		t.Error("demo/bench/run-1.toml is not what this test makes; run it with -write-demo")
	}
	if got, _ := openDemo("run-1.csv"); !bytes.Equal(got, csv) {
		t.Error("demo/bench/run-1.csv is not what this test makes; run it with -write-demo")
	}
	res := reduce(t, parseDemo(t))
	rg := res.Density * res.Gravity
	for i, v := range res.Valves {
		want := demoScene().valves[i]
		t.Log(v.Record, v.Statement)
		if want.seal == 0 {
			if v.Sealing.Bound != valve.MoreThan || v.Sealing.Mean/rg < 4.9 || v.Sealing.Mean/rg > 5.02 {
				t.Errorf("%s: %s", v.Record, v.Statement)
			}
			continue
		}
		near(t, v.Record+" sealing", v.Sealing.Mean, rg*want.seal, v.Coverage*v.Sealing.Uncertainty)
		near(t, v.Record+" letting go", v.LettingGo.Mean, rg*want.letGo, v.LettingGoCoverage*v.LettingGo.Uncertainty)
	}
	for _, f := range res.Findings {
		t.Error("a finding on the demo:", f)
	}
}

// The demo's rack is what the demo's run gives, in its measured parts; the rest was
// entered by hand.
func TestDemoRack(t *testing.T) {
	for _, rec := range Records(reduce(t, parseDemo(t))) {
		file := rackFile(rec.Name)
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		have, faults := valve.Parse(file, data)
		if err := faults.Err(); err != nil {
			t.Fatal(err)
		}
		rec.Source = have.Source
		want := have.WithMeasured(rec)
		if *writeDemo {
			if err := os.WriteFile(file, valve.Format(want), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		if !reflect.DeepEqual(want, have) {
			t.Errorf("%s is not what the run gives; run this test with -write-demo:\n%s\nagainst\n%s", file, valve.Format(want), valve.Format(have))
		}
		if have.In == nil || have.Price == 0 || have.Rating == 0 || have.Connection == "" {
			t.Errorf("%s: what is entered by hand is missing", file)
		}
	}
}
