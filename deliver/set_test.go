package deliver

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"obvert/engine/sizing"
	"obvert/study"
)

func setOf(t *testing.T, r *study.Result, only ...string) []File {
	t.Helper()
	files, err := Set(context.Background(), r, Options{Date: "2026-11-25"}, only)
	if err != nil {
		t.Fatal(err)
	}
	return files
}

// TestSet makes the whole set of every demonstration line: every file there and not empty, its hash on the contents page, no name twice.
func TestSet(t *testing.T) {
	for _, name := range demoNames {
		t.Run(name, func(t *testing.T) {
			checkSet(t, setOf(t, solvedDemo(t, name)))
		})
	}
}

func checkSet(t *testing.T, files []File) {
	t.Helper()
	names := map[string]bool{}
	var contents string
	for _, f := range files {
		if f.Name == contentsText {
			contents = string(f.Data)
		}
	}
	for _, f := range files {
		if names[f.Name] || len(f.Data) == 0 || f.For == "" {
			t.Errorf("%s: twice, empty (%d bytes) or for nothing (%q)", f.Name, len(f.Data), f.For)
		}
		names[f.Name] = true
		if f.SHA256 != fmt.Sprintf("%x", sha256.Sum256(f.Data)) {
			t.Errorf("%s: its hash is not that of its bytes", f.Name)
		}
		if f.Name != contentsText && f.Name != contentsHTML && !strings.Contains(contents, f.SHA256+"  "+f.Name+"\n") {
			t.Errorf("the contents do not give the hash of %s", f.Name)
		}
	}
	for _, p := range products {
		before, after, several := strings.Cut(p.name, "*")
		if !slices.ContainsFunc(files, func(f File) bool {
			return f.Name == p.name || several && strings.HasPrefix(f.Name, before) && strings.HasSuffix(f.Name, after)
		}) {
			t.Errorf("no %s in the set", p.name)
		}
	}
}

// TestSetSameTwice holds that the same study and options give the same bytes in every file, and that the date changes only what bears it.
func TestSetSameTwice(t *testing.T) {
	r := solvedDemo(t, "ridge")
	a, b := setOf(t, r), setOf(t, r)
	for i := range a {
		if a[i].Name != b[i].Name || !bytes.Equal(a[i].Data, b[i].Data) {
			t.Errorf("%s differs from one run to the next", a[i].Name)
		}
	}
}

// TestSetWithoutMuch makes the set of lines on which there is little: no valve, nothing sized, no event.
func TestSetWithoutMuch(t *testing.T) {
	for _, name := range []string{"single", "branch", "named"} {
		r := fixture(name)
		r.Sealing.Valves, r.Tubes, r.Findings, r.Answer = nil, nil, nil, nil
		for i := range r.Line.Runs {
			r.Line.Runs[i].Placed = nil
		}
		files := setOf(t, r)
		checkSet(t, files)
		for _, f := range files {
			if f.Name == "specification.txt" && !strings.Contains(string(f.Data), "No valve stands on this line") {
				t.Errorf("%s: the specification specifies something:\n%s", name, f.Data)
			}
		}
		checkSet(t, setOf(t, fixture(name)))
	}
}

// TestSetChosen holds what --only may say.
func TestSetChosen(t *testing.T) {
	r := fixture("single")
	var names []string
	for _, f := range setOf(t, r, "schedule", "specification.txt") {
		names = append(names, f.Name)
	}
	if got, want := strings.Join(names, " "), "contents.html contents.txt schedule.xlsx schedule.csv specification.txt"; got != want {
		t.Errorf("chosen %s, want %s", got, want)
	}
	err := Chosen([]string{"report", "shedule", "x.pdf"})
	if err == nil || !strings.Contains(err.Error(), `"shedule" is no file of the set (did you mean "schedule"?)`) || !strings.Contains(err.Error(), `"x.pdf"`) {
		t.Errorf("error %v", err)
	}
}

// TestSetStopped holds that no file comes of a set that was stopped, nor of a result that is not finite.
func TestSetStopped(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if files, err := Set(ctx, fixture("single"), Options{}, nil); !errors.Is(err, context.Canceled) || files != nil {
		t.Errorf("%d files, error %v", len(files), err)
	}
	r := fixture("single")
	r.Sealing.Valves[0].Cells[0].Head = math.Inf(1)
	if files, err := Set(context.Background(), r, Options{}, nil); err == nil || files != nil {
		t.Errorf("%d files, error %v", len(files), err)
	}
}

// TestSpecificationRidge recomputes the sealing limit of two valves of the ridge by hand. In "Standing, tank low" both hang on the East tank at
// its lowest level 260.90 m. AV 6: obvert 259.10, seat 0.40 above, head 260.90 − 259.50 = 1.40 m. AV 7: obvert 259.40, head 1.10 m. Errors, k = 1:
// datum 40 mm, each level 30 mm, tank 20 mm: u = √(0.040² + 0.030² + 0.020²) = 0.0539 m. Limit = head − 2 u: 1.292 m and 0.992 m.
func TestSpecificationRidge(t *testing.T) {
	r := solvedDemo(t, "ridge")
	u := math.Sqrt(0.040*0.040 + 0.030*0.030 + 0.020*0.020)
	all := needs(r)
	if len(all) != 7 {
		t.Fatalf("%d needs", len(all))
	}
	for number, head := range map[string]float64{"AV 6": 1.40, "AV 7": 1.10} {
		i := slices.IndexFunc(all, func(n need) bool { return n.row.Number == number })
		n := &all[i]
		if math.Abs(n.limit-(head-2*u)) > 0.002 || n.in != "Standing, tank low" || math.Abs(n.u-u) > 1e-3 || !n.uKnown {
			t.Errorf("%s: limit %.4f, u %.4f in %q, want %.4f, %.4f", number, n.limit, n.u, n.in, head-2*u, u)
		}
	}
	text := string(setOf(t, r, "specification.txt")[2].Data)
	text = strings.Join(strings.Fields(text), " ")
	for _, want := range []string{"Largest sealing head 1.29 m of water at the seat", "Largest sealing head 0.99 m of water at the seat", "1.40 m at valve AV 6 in “Standing, tank low”",
		"No limit follows from the study", "valve AV 4 in “Filling", "EN 1074-4", "normal (0 °C, 101.325 kPa)"} {
		if !strings.Contains(text, want) {
			t.Errorf("the specification has no %q", want)
		}
	}
	for _, g := range groupNeeds(all) {
		for i := range g {
			if n := strictest(g, func(n *need) float64 { return n.limit }); n.limit > g[i].limit {
				t.Errorf("a duty asks for %.2f m where %s needs %.2f", n.limit, g[i].row.Number, g[i].limit)
			}
			for _, out := range []bool{false, true} {
				own := mostAir(g[i:i+1], out)
				if most := mostAir(g, out); own != nil && (most == nil || most.Need.Mass < own.Need.Mass) {
					t.Errorf("a duty asks for less air than %s needs", g[i].row.Number)
				}
			}
		}
	}
}

// TestAirNeeds holds that a group asks for all that its members need: the most air may be wanted at one place and the lower differential allowed at another.
func TestAirNeeds(t *testing.T) {
	duty := func(mass, dp float64) *sizing.Duty {
		return &sizing.Duty{Differential: dp, Need: sizing.Sized{Mass: mass}}
	}
	g := []need{{airIn: duty(0.30, 5e3)}, {airIn: duty(0.31, 34.5e3)}, {airIn: duty(0.2, 34.5e3)}, {airIn: duty(0.30, 9e3)}, {}}
	all := airNeeds(g, false)
	if len(all) != 2 || all[0] != g[1].airIn || all[1] != g[0].airIn {
		t.Fatalf("%d needs: %+v", len(all), all)
	}
	for i := range g {
		if d := g[i].airIn; d != nil && !slices.ContainsFunc(all, func(e *sizing.Duty) bool { return covers(e, d) }) {
			t.Errorf("%.2f kg/s at %.1f kPa is not asked for", d.Need.Mass, d.Differential/1e3)
		}
	}
	var said []string
	r := solvedDemo(t, "ridge")
	airCapacity(r, g[:2], func(lead, text string) { said = append(said, text) })
	if len(said) < 1 || !strings.Contains(said[0], "at least 0.300 kg/s at 5.0 kPa") {
		t.Errorf("%q", said)
	}
	if len(airNeeds(g, true)) != 0 {
		t.Error("air out is asked for")
	}
	if got := limitText(0.004); got != "cannot be met" {
		t.Errorf("a limit of 4 mm is %s", got)
	}
}

// TestRoundedDown holds that a limit is never stated larger than it is.
func TestRoundedDown(t *testing.T) {
	for v, want := range map[float64]string{1.2923: "1.29", 1.2999: "1.29", 0.99: "0.99", 2: "2.00", 0.004: "0.00", 12.345: "12.34"} {
		if got := roundedDown(v); got != want {
			t.Errorf("%g is %s, want %s", v, got, want)
		}
	}
}

// TestPlain holds the width of plain text, and that it says what the page says.
func TestPlain(t *testing.T) {
	r := solvedDemo(t, "town")
	for _, p := range []*paper{specification(r, Options{}), commissioning(r, Options{})} {
		for i, line := range strings.Split(p.plain(NewStamp(r, Options{})), "\n") {
			if n := utf8.RuneCountInString(line); n > plainWidth && strings.Contains(strings.TrimSpace(line), " ") {
				t.Errorf("line %d has %d columns: %s", i+1, n, line)
			}
		}
	}
}

// TestCommissioning holds the figures of the sheet: a volume by hand, the order in which water shuts the valves, the start that keeps the
// limits, and that it says where the study has no answer.
func TestCommissioning(t *testing.T) {
	s := &sheetOf{Result: solvedDemo(t, "ridge")}
	// EN 545 K9 DN 300: outside 326 mm, wall 7.2 mm, lining 4 mm: bore 303.6 mm, 0.07239 m². From 0+012 to 1+240 the pipe is 1,228 m on the plan and climbs
	// 49.4 m, at the least √(1228² + 49.4²) = 1,229.0 m: 88.97 m³.
	if length, volume := s.volume(0, 12, 1240); math.Abs(volume-88.97) > 0.1 || length < 1228.9 || length > 1230 {
		t.Errorf("from AV 1 to AV 2: %.2f m, %.3f m³", length, volume)
	}
	text := func(name string) string {
		r := solvedDemo(t, name)
		return strings.Join(strings.Fields(commissioning(r, Options{}).plain(NewStamp(r, Options{}))), " ")
	}
	ridge := text("ridge")
	i, j, k := strings.Index(ridge, "AV 1: at 0+012"), strings.Index(ridge, "AV 6: at 4+985"), strings.Index(ridge, "AV 4: at 3+385")
	if i < 0 || j < i || k < j {
		t.Errorf("valves at %d, %d, %d: want them in the order in which water shuts them, the one that stays open last", i, j, k)
	}
	for _, want := range []string{"“First filling”: ends steady with slack lengths after", "Scour 1 at 1+560; Scour 2 at 4+560", "Let water in from Valley works (Pump 1), throttled to 15.0 L/s", "vents and stays open", "Caution."} {
		if !strings.Contains(ridge, want) {
			t.Errorf("the ridge's sheet has no %q", want)
		}
	}
	town := text("town")
	r := solvedDemo(t, "town")
	for _, want := range []string{"not reckoned as an event", "Largest start that keeps the limits: " + strings.Join(strings.Fields(flowText(startOf(r))), " ") + "; slam binds, at valve L1"} {
		if !strings.Contains(town, want) {
			t.Errorf("the town's sheet has no %q", want)
		}
	}
}

func startOf(r *study.Result) float64 {
	for _, p := range r.Passed {
		if p.Start != nil {
			return p.Start.Flow
		}
	}
	return 0
}
