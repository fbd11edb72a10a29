package study

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"pgregory.net/rapid"

	"obvert/engine/sealing"
	"obvert/physics/valve"
)

// rising is a main of one slope from pumps with check valves to a summit, and down to a tank beyond it. Its valves stand at
// the chainages given, the last on the summit.
func rising(length, height, bore, seat float64, types []string, at []float64) fstest.MapFS {
	var doc strings.Builder
	fmt.Fprintf(&doc, `
[line]
name = "Rising"
[prices]
currency = "EUR"
energy = "0.2 EUR/kWh"
[[station]]
name = "Works"
sump_level = "0 m"
check_valves = "each"
[[station.pump]]
name = "P"
curve = [["0 L/s","300 m"],["50 L/s","250 m"],["100 L/s","100 m"]]
[[tank]]
name = "Far"
level = "2 m"
[[run]]
name = "Main"
from = "Works"
to = "Far"
profile = "p.csv"
seat_height = "%.6f m"
[[run.section]]
bore = "%.6f mm"
roughness = "0.1 mm"
`, seat, 1e3*bore)
	for i, x := range at {
		fmt.Fprintf(&doc, "[[run.valve]]\nname = \"V%d\"\nat = \"%.6f m\"\ntype = %q\n", i, x, types[i])
	}
	csv := fmt.Sprintf("chainage (m);obvert level (m)\n0;1\n%.6f;%.6f\n%.6f;1\n", length, 1+height, length+500)
	return fstest.MapFS{"line.toml": {Data: []byte(doc.String())}, "p.csv": {Data: []byte(csv)}}
}

// On a leg of one slope the surface keeps its shape as it falls, so what a leak drains is the pipe's section times the length between the two
// levels along the pipe (geometry, no source). The head at every seat is the pool's level less the obvert and the seat's height; the lowest leaking
// seat sets where the water ends, and exchanging another changes nothing.
func TestLeaksDrainToTheLowestSeat(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		length := rapid.Float64Range(500, 3000).Draw(t, "length")
		height := length * rapid.Float64Range(0.02, 0.1).Draw(t, "slope")
		bore := rapid.Float64Range(0.1, 0.6).Draw(t, "bore")
		seat := rapid.Float64Range(0, 0.4).Draw(t, "seat")
		low := length * rapid.Float64Range(0.3, 0.5).Draw(t, "low")
		mid := length * rapid.Float64Range(0.6, 0.7).Draw(t, "mid")
		first := rapid.SampledFrom([]string{"Soft", "Hard"}).Draw(t, "type")
		hard := record("Hard", 500)
		hard.Leak[1].Flow = 10 // so that it leaks to within a micrometre of its seat before its leak counts as none
		r := solveFS2(t, rising(length, height, bore, seat, []string{first, "Hard", "Soft"}, []float64{low, mid, length}), record("Soft", 0.01), hard)
		k := r.StandingCases[0]
		level := 1 + height - bore
		obvert := func(x float64) float64 { return 1 + height*x/length }
		for i, x := range []float64{low, mid} {
			c := r.Sealing.Valves[i].Cells[k]
			if want := level - obvert(x) - seat; math.Abs(c.Head-want) > 2e-5 {
				t.Errorf("head at the seat of V%d: %g, want %g", i, c.Head, want)
			}
		}
		if s := r.Sealing.Valves[2].Cells[k].State; s != sealing.Empty {
			t.Errorf("valve on the summit: %v, want empty", s)
		}
		governs, at := "V1", mid
		if first == "Hard" {
			governs, at = "V0", low
		}
		if len(r.Rests) != 1 {
			t.Fatalf("rests = %+v", r.Rests)
		}
		rest := r.Rests[0]
		end := obvert(at) + seat
		if rest.Fed || rest.Governs != governs || math.Abs(rest.Level-end) > 2e-5 {
			t.Errorf("rest = %+v, want the seat of %s at %g", rest, governs, end)
		}
		// Along the pipe; the profile's chainage is on the plan.
		along := (level - end) * math.Hypot(length, height) / height
		if want := math.Pi / 4 * bore * bore * along; math.Abs(rest.Lost-want) > 1e-4*want+1e-6 {
			t.Errorf("lost %g m³, want %g", rest.Lost, want)
		}
		if math.Abs(rest.Empty-along) > 1e-3 {
			t.Errorf("empty %g m, want %g", rest.Empty, along)
		}
	})
}

func solveFS2(t *rapid.T, fs fstest.MapFS, rack ...valve.Record) *Result {
	src, faults := Load(fs, rack)
	if err := faults.Err(); err != nil {
		t.Fatal(err)
	}
	r, err := Solve(t.Context(), src, Options{})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// A profile file that runs from the far end to the near one is the same pipe: every verdict and every figure of it stays.
func TestTurnedProfileFile(t *testing.T) {
	fs := flat("Low")
	fs["p.csv"] = &fstest.MapFile{Data: []byte("chainage (m);obvert level (m)\n0;10\n300;9\n500;10.6\n1000;10.1\n")}
	a := solveFS(t, fs, record("Low", 0.2))
	fs["p.csv"] = &fstest.MapFile{Data: []byte("chainage (m);obvert level (m)\n1000;10.1\n500;10.6\n300;9\n0;10\n")}
	b := solveFS(t, fs, record("Low", 0.2))
	for i := range a.Sealing.Valves {
		for k, c := range a.Sealing.Valves[i].Cells {
			if d := b.Sealing.Valves[i].Cells[k]; c.State != d.State || c.Head != d.Head || c.Margin != d.Margin {
				t.Errorf("valve %d, case %d: %+v, turned %+v", i, k, c, d)
			}
		}
	}
}
