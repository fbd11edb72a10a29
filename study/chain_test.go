package study

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"os"
	"runtime"
	"strings"
	"testing"

	"obvert/engine/draining"
	"obvert/engine/refilling"
	"obvert/engine/sealing"
	"obvert/line"
)

var demos = []string{"flat-irrigation", "ridge", "town", "gravity", "twin"}

func demo(t testing.TB, name string) Source {
	t.Helper()
	src, faults := Load(os.DirFS("../demo/"+name), nil)
	if err := faults.Err(); err != nil {
		t.Fatal(err)
	}
	return src
}

func solveDemo(t testing.TB, name string) *Result {
	t.Helper()
	r, err := Solve(context.Background(), demo(t, name), Options{})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// balanceLimit is what water and air may miss, of what moved.
const balanceLimit = 1e-6

// TestDemosBalance holds every answer of every demo line to its own identities.
func TestDemosBalance(t *testing.T) {
	for _, name := range demos {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := solveDemo(t, name)
			for i := range r.Draining {
				drained(t, r.Line.Cases[r.StandingCases[i]].Name, &r.Draining[i])
			}
			for i := range r.Passed {
				p := &r.Passed[i]
				e := r.Line.Events[p.Event].Name
				if p.Why != "" {
					t.Errorf("%s: no answer: %s", e, p.Why)
				}
				if p.Draining != nil {
					drained(t, e, p.Draining)
				}
				if p.Refilling != nil {
					refilled(t, e, p.Refilling)
				}
			}
			for _, d := range r.Days {
				if math.Abs(d.Balance) > 1e-9 {
					t.Errorf("day: balance %g", d.Balance)
				}
			}
			if r.Sizing.Closure > 1e-9 {
				t.Errorf("sizing closes within %g only", r.Sizing.Closure)
			}
			told(t, r)
		})
	}
}

func drained(t *testing.T, what string, d *draining.Result) {
	t.Helper()
	if math.Abs(d.WaterBalance) > balanceLimit || math.Abs(d.AirBalance) > balanceLimit {
		t.Errorf("%s: water balance %g, air balance %g", what, d.WaterBalance, d.AirBalance)
	}
	for _, n := range d.Notes {
		if n.ID == "draining.too-many-steps" {
			t.Errorf("%s: %s", what, n.Text)
		}
	}
}

func refilled(t *testing.T, what string, r *refilling.Result) {
	t.Helper()
	if math.Abs(r.Balance.WaterError) > balanceLimit || math.Abs(r.Balance.AirError) > balanceLimit {
		t.Errorf("%s: water balance %g, air balance %g", what, r.Balance.WaterError, r.Balance.AirError)
	}
	if strings.Contains(r.Status, "too many") {
		t.Errorf("%s: %s", what, r.Status)
	}
}

// told looks at the sentences: each finding has its name, title and text, and nothing is left blank in them.
func told(t *testing.T, r *Result) {
	t.Helper()
	for _, f := range r.Findings {
		texts := append(append([]string{f.Title, f.Text, f.HaveLabel, f.NeedText, f.Source}, f.Cures...), f.Cautions...)
		for _, x := range texts {
			for _, slip := range []string{"..", "  ", " .", "of :", "NaN", "Inf", "%!", "(MISSING)"} {
				if strings.Contains(x, slip) && !strings.Contains(x, "…") {
					t.Errorf("%s: %q in %q", f.ID, slip, x)
				}
			}
		}
		if f.ID == "" || f.Title == "" {
			t.Errorf("finding without name or title: %+v", f)
		}
	}
}

// TestManyCoresOneAnswer: the answer does not depend on how many cores worked on it.
func TestManyCoresOneAnswer(t *testing.T) {
	text := func() []byte {
		r := solveDemo(t, "ridge")
		r.Line = nil
		out, err := json.Marshal(r)
		if err != nil {
			t.Fatal(err)
		}
		return out
	}
	many := text()
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	if one := text(); !bytes.Equal(one, many) {
		t.Error("one core and several give different answers")
	}
}

// TestCureHolds follows the advice: with the named type in its place the valve drips in no case any more.
func TestCureHolds(t *testing.T) {
	src := demo(t, "ridge")
	r := solveDemo(t, "ridge")
	done := 0
	for _, f := range r.Findings {
		if f.ID != "sealing.drips" || !strings.HasPrefix(f.Cures[0], "Tried: with ") {
			continue
		}
		name, _, _ := strings.Cut(strings.TrimPrefix(f.Cures[0], "Tried: with "), " in its place")
		one := src
		l := *src.Line
		l.Runs = append([]line.Run(nil), l.Runs...)
		run := &l.Runs[f.Run]
		run.Placed = append([]line.Placed(nil), run.Placed...)
		for i := range run.Placed {
			for k := range l.Rack {
				if run.Placed[i].Name == f.Valve && l.Rack[k].Name == name {
					run.Placed[i].Record = k
					done++
				}
			}
		}
		one.Line = &l
		again, err := Solve(context.Background(), one, Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, v := range again.Sealing.Valves {
			for k, c := range v.Cells {
				if v.Name == f.Valve && c.State == sealing.Drips {
					t.Errorf("%s with %s still drips in %s", f.Valve, name, l.Cases[k].Name)
				}
			}
		}
	}
	if done == 0 {
		t.Fatal("no cure was tried: the ridge main should have one")
	}
}

// TestLargestStartKeepsLimits starts the line as the answer advises, and sees that every limit is kept.
func TestLargestStartKeepsLimits(t *testing.T) {
	found := 0
	for _, name := range demos {
		r := solveDemo(t, name)
		s := &solver{src: Source{Line: r.Line}, l: r.Line, res: r}
		s.workWalls()
		for i := range r.Passed {
			p := &r.Passed[i]
			if p.Start == nil || p.Start.Flow <= 0 {
				continue
			}
			e := r.Line.Events[p.Event]
			e.Flow = p.Start.Flow
			in, err := s.refillOf(&e)
			if err != nil {
				t.Fatal(err)
			}
			in.Sensitivity = false
			got, err := refilling.Solve(context.Background(), in)
			if err != nil {
				t.Fatal(err)
			}
			if limit := r.Line.Practice.Slam.Value; got.Slam > limit*(1+1e-6) {
				t.Errorf("%s, %s: started with %g m³/s it slams by %g m, at most %g", name, e.Name, e.Flow, got.Slam, limit)
			}
			found++
		}
	}
	t.Logf("%d starts followed", found)
}

// TestChancesAgree: drawn chances are those of the integrals, within four standard errors.
func TestChancesAgree(t *testing.T) {
	for _, name := range demos {
		r := solveDemo(t, name)
		for k := range r.Sealing.AnyDrips {
			if d := r.Drawn.Any[k].Drips; math.Abs(d.P-r.Sealing.AnyDrips[k]) > 4*d.Error+1e-3 {
				t.Errorf("%s, %s: drawn %g ± %g, integrated %g", name, r.Line.Cases[k].Name, d.P, d.Error, r.Sealing.AnyDrips[k])
			}
		}
	}
}
