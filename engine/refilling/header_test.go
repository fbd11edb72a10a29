package refilling

import (
	"os"
	"strings"
	"testing"

	"obvert/line"
)

// town is the demo line with a booster, full of water, nothing drawn off.
func town(t *testing.T) (*line.Line, Input) {
	t.Helper()
	l, faults := line.Read(os.DirFS("../../demo/town"), nil)
	if err := faults.Err(); err != nil {
		t.Fatal(err)
	}
	in := Input{Line: l, Case: -1, Ramp: 1e6, Horizon: 2000}
	for i := range l.Cases {
		c := &l.Cases[i]
		if c.Kind == line.Pumping && in.Case < 0 {
			in.Case = i
			for n := range c.Demand {
				c.Demand[n] = 0
			}
		}
	}
	for r := range l.Runs {
		p := l.Runs[r].Points
		in.Water = append(in.Water, []Water{{p[0].Chainage, p[len(p)-1].Chainage}})
	}
	return l, in
}

// TestBoosterHolds: before its pumps give anything the main behind a booster's check valves stays where it is; without check valves it falls
// back through the pumps.
func TestBoosterHolds(t *testing.T) {
	for _, check := range []line.CheckValves{line.CheckEach, line.CheckShared, line.CheckNone} {
		l, in := town(t)
		lift := 0
		for n := range l.Nodes {
			if st := l.Nodes[n].Station; st != nil && !st.HasSump {
				st.Check = check
			}
		}
		for r := range l.Runs {
			if l.Runs[r].Name == "Hill main" {
				lift = r
			}
		}
		in.Water[3][0].To /= 2 // room for what falls back
		r := solve(t, in)
		end := l.Runs[lift].Points[len(l.Runs[lift].Points)-1].Chainage
		water := r.Frames[len(r.Frames)-1].Water[lift]
		full := len(water) == 1 && water[0] == Water{0, end}
		// A main that runs back takes 25 m³.
		if held := check != line.CheckNone; held != (r.Balance.WaterIn < 0.1) || held && !full {
			t.Errorf("check valves %d: the Hill main holds %v of %g m, %g m³ ran back; %s", check, water, end, r.Balance.WaterIn, r.Status)
		}
		for _, n := range r.Notes {
			if check != line.CheckNone && n.ID == "refilling.parts" && strings.HasSuffix(n.Where, "Hill main") {
				t.Errorf("%s: %s", n.Where, n.Text)
			}
		}
	}
}

// TestStartAboveOfftakes: no start is sought that gives less than the off-takes draw, for that empties the line, and such a one is told so.
func TestStartAboveOfftakes(t *testing.T) {
	l, in := town(t)
	in.Ramp, in.SlamLimit, in.Water[3][0].To = 0, 15, in.Water[3][0].To/2
	const demand = 0.012
	for n := range l.Nodes {
		if l.Nodes[n].Kind == line.Offtake {
			for len(l.Cases[in.Case].Demand) <= n {
				l.Cases[in.Case].Demand = append(l.Cases[in.Case].Demand, 0)
			}
			l.Cases[in.Case].Demand[n] = demand
			break
		}
	}
	s, err := LargestStart(t.Context(), in, Search{Scan: 2, Refine: 1})
	if err != nil {
		t.Fatal(err)
	}
	if first := s.Trials[0].Flow; first < demand || first > 1.1*demand {
		t.Errorf("the first start tried is %g m³/s, and %g are drawn off", first, demand)
	}
	if text := in.drivenBy(&Result{}, 0.5*demand); !strings.Contains(text, "12.0\u00a0L/s") || !strings.Contains(text, "6.0\u00a0L/s") {
		t.Errorf("%q", text)
	}
	if text := in.drivenBy(&Result{}, 2*demand); text != "" {
		t.Errorf("%q", text)
	}
}

// TestTankFallsIn: a tank above the drained end of its main is told of, one above a full end is not.
func TestTankFallsIn(t *testing.T) {
	l, in := town(t)
	told := func() int {
		r := solve(t, in)
		n := 0
		for i := range r.Notes {
			if r.Notes[i].ID == "refilling.falls-in" {
				n++
			}
		}
		return n
	}
	in.Horizon = 60
	if n := told(); n != 0 {
		t.Errorf("%d notes of a full line", n)
	}
	for r := range l.Runs {
		if l.Runs[r].Name == "Hill main" {
			in.Water[r][0].To /= 2
		}
	}
	if n := told(); n != 1 {
		t.Errorf("%d notes, want one", n)
	}
}
