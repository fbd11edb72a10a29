package deliver

import (
	"math"
	"strings"
	"testing"
)

// sheetText is the commissioning sheet of a demo line as text in one line, with what it was made of.
func sheetText(t *testing.T, name string) (*sheetOf, string) {
	t.Helper()
	r := solvedDemo(t, name)
	names, _ := valveNumbers(r)
	s := &sheetOf{Result: r, names: names}
	for i := range r.Passed {
		if p := &r.Passed[i]; p.Refilling != nil && r.Line.Events[p.Event].Kind.String() == "first filling" && s.fill == nil {
			s.fill = p
		}
	}
	return s, strings.Join(strings.Fields(commissioning(r, Options{}).plain(NewStamp(r, Options{}))), " ")
}

// TestFillingParts holds that a run is filled at its part of the flow that fills the line. The first filling of the gravity line is throttled to 10 L/s while its
// filling case would run at 29 L/s; of the twin mains' 36 L/s, main A takes 24.6 and main B 11.4, and the town's main behind the tank takes none.
func TestFillingParts(t *testing.T) {
	s, text := sheetText(t, "gravity")
	if q := s.runFlow(0, s.fillFlow()); math.Abs(q-0.010) > 1e-6 {
		t.Errorf("the lake main fills at %g m³/s, want 0.010", q)
	}
	n := s.slamNeed()
	if n == nil {
		t.Fatal("no place is bound by slam")
	}
	// One main from the lake to the tank: what may run past the valve may fill the line.
	if want := "for the whole line that is " + strings.Join(strings.Fields(flowText(n.Slam.AllowedFlow)), " ") + " where"; !strings.Contains(text, want) {
		t.Errorf("the gravity line's sheet has no %q", want)
	}
	if strings.Contains(text, "umps") {
		t.Error("the gravity line's sheet speaks of pumps")
	}
	for _, want := range []string{"no water comes here in this filling", "lock what lets water in", "The way out at the far end is open and stays open while the line fills: Town tank", "Off-takes shut while the line fills: Market square"} {
		if !strings.Contains(text, want) {
			t.Errorf("the gravity line's sheet has no %q", want)
		}
	}

	s, text = sheetText(t, "twin")
	sum := 0.0
	for r := range s.Line.Runs {
		switch s.Line.Runs[r].Name {
		case "Main A, lower", "Main B, lower":
			sum += s.runFlow(r, s.fillFlow())
		case "Town main":
			if !s.dry(r) {
				t.Error("the filling reaches the town's main")
			}
		}
	}
	if math.Abs(sum-0.036) > 1e-4 {
		t.Errorf("the two mains fill at %g m³/s together, want 0.036", sum)
	}
	if n := s.slamNeed(); n == nil || n.Name == "D1" {
		t.Errorf("slam binds at %+v, where this filling sends no water", n)
	}
	for _, want := range []string{"Let water in from Lake works (L 1), throttled", "Start High works (H 1) only when water stands at its suction", "never the far end against the flow", "Not reached by this filling, and at the flow that sizing took: Town main."} {
		if !strings.Contains(text, want) {
			t.Errorf("the twin mains' sheet has no %q", want)
		}
	}
}

// TestFillingByVolume holds the times of the sheet to volume over flow. The flat line: bore 406 mm, 0.1295 m², 3,590 m: 465 m³, at 38.8 L/s without off-takes. Valve 7 stands
// 60 m before the end: 457 m³, 3 h 16 min.
func TestFillingByVolume(t *testing.T) {
	s, text := sheetText(t, "flat-irrigation")
	volume := 0.0
	for r := range s.Line.Runs {
		p := s.Line.Runs[r].Points
		_, v := s.volume(r, p[0].Chainage, p[len(p)-1].Chainage)
		volume += v
	}
	if math.Abs(volume-464.8) > 0.5 {
		t.Errorf("the pipes hold %.1f m³", volume)
	}
	for _, v := range s.fill.Refilling.Valves {
		if want := 457.0 / s.fillFlow(); v.Name == "7" && math.Abs(v.Time-want) > 0.02*want {
			t.Errorf("valve 7 shuts after %.0f s, by volume %.0f s", v.Time, want)
		}
	}
	if want := "Off-takes shut while the line fills: Middle hydrants."; !strings.Contains(text, want) {
		t.Errorf("the sheet has no %q", want)
	}
}
