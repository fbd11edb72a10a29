package refilling

import (
	"context"
	"math"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"obvert/line"
	"obvert/physics/valve"
)

// build makes a small line: one run over points (chainage, obvert) from a station to an outfall, a valve on every crest.
func build(points [][2]float64, bore float64, rec valve.Record) *line.Line {
	l := &line.Line{
		Site: line.Site{WaterTemperature: 283.15, AirTemperature: 288.15, Gravity: 9.81, AtmosphericPressure: 101325, VapourPressure: 1228, Density: 1000, Viscosity: 1.3e-6},
		Nodes: []line.Node{
			{Name: "Works", Kind: line.Station, Runs: []int{0}, Station: &line.StationData{HasSump: true, SuctionLevel: points[0][1], MotorEfficiency: 0.9,
				Pumps: []line.Pump{{Name: "1", Curve: [][2]float64{{0, 60}, {0.05, 50}, {0.1, 30}}, AssumedEfficiency: 0.7}}}},
			{Name: "End", Kind: line.Outfall, Runs: []int{0}},
		},
		Rack:  []valve.Record{rec},
		Cases: []line.Case{{Name: "Run", Kind: line.Pumping, Stations: []line.StationSetting{{Running: []bool{true}}, {}}}, {Name: "Rest", Kind: line.Standing}},
	}
	r := line.Run{Name: "Main", From: 0, To: 1}
	d := 0.0
	for i, p := range points {
		if i > 0 {
			d += math.Hypot(p[0]-points[i-1][0], p[1]-points[i-1][1])
		}
		r.Points = append(r.Points, line.Point{Chainage: p[0], Obvert: p[1], Distance: d})
		if i > 0 && i < len(points)-1 && p[1] > points[i-1][1] && p[1] > points[i+1][1] {
			r.Placed = append(r.Placed, line.Placed{Name: "AV " + string(rune('A'+len(r.Placed))), Chainage: p[0], AdmitsAir: true})
		}
	}
	r.Sections = []line.Section{{From: points[0][0], To: points[len(points)-1][0], Bore: bore, Roughness: 1e-4, Rating: 1e6}}
	l.Runs = []line.Run{r}
	return l
}

var ridge = [][2]float64{{0, 0}, {500, 20}, {900, 5}, {1500, 30}, {2000, 10}}

func fifty() valve.Record {
	return valve.Record{Name: "Fifty", AdmitsAir: true, In: &valve.Air{Diameter: 0.05, Coefficient: 0.6}, Out: &valve.Air{Diameter: 0.05, Coefficient: 0.6},
		SmallOrifice: &valve.Orifice{Diameter: 0.002, Coefficient: 0.6}}
}

func solve(t *testing.T, in Input) Result {
	t.Helper()
	r, err := Solve(context.Background(), in)
	if err != nil {
		t.Fatal(err)
	}
	if r.Balance.WaterError > 1e-6 || r.Balance.AirError > 1e-6 {
		t.Errorf("balance: water %g, air %g", r.Balance.WaterError, r.Balance.AirError)
	}
	return r
}

// TestFirstFilling follows a line over two crests: what must be found of valves, slam, water and energy. Volumes by geometry, velocities by
// continuity, slam by a ΔV/2g.
func TestFirstFilling(t *testing.T) {
	in := Input{Line: build(ridge, 0.3, fifty()), Case: 0, Flow: 0.03, Sensitivity: true}
	r := solve(t, in)
	area := math.Pi / 4 * 0.09
	if !r.Filled || r.Status != "steady with slack lengths" {
		t.Fatalf("%s: %+v", r.Status, r.Notes)
	}
	a := r.Valves[0]
	if a.Shut != ByWater || !a.LastAir || a.Time <= 0 || r.Valves[1].Shut != StaysOpen {
		t.Errorf("valves: %+v", r.Valves)
	}
	v := 0.03 / area
	near(t, "column before", a.Before, v, 0.01)
	near(t, "slam, sealed", a.Sealed, 1000*(a.Before-a.After)/(2*9.81), 1e-6)
	if a.Slam > a.Sealed || a.Slam < 0.9*a.Sealed {
		t.Errorf("slam %g m with the small orifice, %g m sealed", a.Slam, a.Sealed)
	}
	near(t, "water taken up", r.Water, area*r.lengthTo(in.Line, 1500), 2e-3)
	// Energy until the line is full, not as long as it is followed: pump head at 0.03 m³/s by its curve (about 55 m, between points), 70 % and 90 %.
	kwh := 1000 * 9.81 * 0.03 * (r.TimeToFull - 5) * 55 / 0.63 / 3.6e6
	near(t, "energy", r.Energy, kwh, 0.05)
	if len(r.Frames) < 6 || len(r.Frames) > 12 || len(r.Series) < 20 {
		t.Errorf("%d frames, %d moments", len(r.Frames), len(r.Series))
	}
	if len(r.Thermal) != 2 || math.Abs(r.Thermal[0].Slam-r.Slam) > 0.05*r.Slam {
		t.Errorf("thermal: %+v against %g m", r.Thermal, r.Slam)
	}
	for i := 1; i < len(r.Series); i++ {
		if r.Series[i].Time <= r.Series[i-1].Time {
			t.Fatalf("time does not rise in the series: %g after %g", r.Series[i].Time, r.Series[i-1].Time)
		}
	}
	if r.ThrottleTime != a.Time {
		t.Errorf("throttled for %g s, the last valve shut at %g s", r.ThrottleTime, a.Time)
	}
}

func (r *Result) lengthTo(l *line.Line, chainage float64) float64 {
	return distance(&l.Runs[0], chainage)
}

func near(t *testing.T, what string, got, want, share float64) {
	t.Helper()
	if !(math.Abs(got-want) <= share*math.Abs(want)) {
		t.Errorf("%s: %.6g, want %.6g within %g", what, got, want, share)
	}
}

// TestRestart starts a line of which the upper part of the second climb alone has drained, as far as the first crest: less water, less time, the first valve stays wet.
func TestRestart(t *testing.T) {
	l := build(ridge, 0.3, fifty())
	r := solve(t, Input{Line: l, Flow: 0.03, Water: [][]Water{{{0, 1262}}}})
	if r.Valves[0].Shut != WetBefore || r.Valves[0].AirOut != 0 {
		t.Errorf("first valve: %+v", r.Valves[0])
	}
	near(t, "water", r.Water, math.Pi/4*0.09*(r.lengthTo(l, 1500)-r.lengthTo(l, 1262)), 2e-3)
	empty := solve(t, Input{Line: l, Flow: 0.03})
	if r.TimeToFull >= empty.TimeToFull {
		t.Errorf("%g s from part full, %g s from empty", r.TimeToFull, empty.TimeToFull)
	}
}

// TestStageAndEarlyClosing: the ways a valve is shut are told apart.
func TestStageAndEarlyClosing(t *testing.T) {
	small := fifty()
	small.Out.Diameter, small.In.Diameter = 0.02, 0.02
	staged := small
	staged.Stage = &valve.Stage{Differential: 3000, Out: valve.Air{Diameter: 0.008, Coefficient: 0.6}}
	early := small
	early.EarlyClosing = 3000
	plain := solve(t, Input{Line: build(ridge, 0.3, small), Flow: 0.08})
	s := solve(t, Input{Line: build(ridge, 0.3, staged), Flow: 0.08})
	e := solve(t, Input{Line: build(ridge, 0.3, early), Flow: 0.08})
	if plain.Valves[0].Shut != ByWater || s.Valves[0].Shut != ByStage {
		t.Errorf("plain %v, with a stage %v", plain.Valves[0].Shut, s.Valves[0].Shut)
	}
	if s.Slam >= plain.Slam {
		t.Errorf("slam %g m with a stage, %g m without", s.Slam, plain.Slam)
	}
	found := false
	for _, v := range e.Valves {
		found = found || v.Shut == ByAir || v.Largest >= 3000
	}
	if !found {
		t.Errorf("no float was carried shut: %+v", e.Valves)
	}
	for _, n := range e.Notes { // a float carried shut at 3 kPa is told in kPa
		if m := regexp.MustCompile(`up to ([0-9.]+).kPa`).FindStringSubmatch(n.Text); n.ID == "refilling.early" {
			if len(m) != 2 {
				t.Fatalf("%q", n.Text)
			}
			if v, err := strconv.ParseFloat(m[1], 64); err != nil || v < 3 || v > 400 {
				t.Errorf("%q", n.Text)
			}
		}
	}
}

// TestLargestStart: the answer keeps the limit, and a little more breaks it; what binds has a name.
func TestLargestStart(t *testing.T) {
	in := Input{Line: build(ridge, 0.3, fifty()), SlamLimit: 15}
	s, err := LargestStart(context.Background(), in, Search{})
	if err != nil {
		t.Fatal(err)
	}
	if s.Binds != SlamBinds || s.Where == "" || !(s.Flow > 0) {
		t.Fatalf("%+v", s)
	}
	in.Flow = s.Flow
	if r := solve(t, in); r.Slam > 15 || r.Slam < 14 {
		t.Errorf("slam %g m at the largest start flow", r.Slam)
	}
	in.Flow = 1.1 * s.Flow
	if r := solve(t, in); r.Slam <= 15 {
		t.Errorf("slam %g m at a tenth more", r.Slam)
	}
	if len(s.Trials) > 10 {
		t.Errorf("%d solves", len(s.Trials))
	}
	if math.Abs(s.Throttle) < 1 {
		t.Errorf("throttled for %g s", s.Throttle)
	}
	in.Flow, in.SlamLimit = 0, 1e-3
	if s, err = LargestStart(context.Background(), in, Search{Scan: 3, Refine: 1}); err != nil || s.Flow != 0 || s.Binds != SlamBinds {
		t.Errorf("an impossible limit: %+v, %v", s, err)
	}
}

// TestFaults: all faults at once.
func TestFaults(t *testing.T) {
	l := build(ridge, 0.3, fifty())
	_, err := Solve(context.Background(), Input{Line: l, Case: 1, Flow: -1, Polytropic: 3, Water: [][]Water{{{900, 100}}}, WaveSpeed: [][]float64{{9999}}})
	for _, w := range []string{`"Rest" stands`, "start flow (m³/s) is -1", "exponent is 3", "from 900 to 100", "9999"} {
		if err == nil || !strings.Contains(err.Error(), w) {
			t.Errorf("%q is not told in: %v", w, err)
		}
	}
	l.Cases[0].Stations[0].Running[0] = false
	if _, err := Solve(context.Background(), Input{Line: l}); err == nil || !strings.Contains(err.Error(), "from nowhere") {
		t.Errorf("a line that nothing feeds: %v", err)
	}
}

// TestDemoLines starts every demo line in every case: each ends in a named way, keeps its balances, and gives no figure that is none.
func TestDemoLines(t *testing.T) {
	for _, d := range []string{"ridge", "town", "flat-irrigation", "gravity", "twin"} {
		l, faults := line.Read(os.DirFS("../../demo/"+d), nil)
		if err := faults.Err(); err != nil {
			t.Skipf("%s: %v", d, err)
		}
		for c := range l.Cases {
			if l.Cases[c].Kind == line.Standing {
				continue
			}
			r, err := Solve(context.Background(), Input{Line: l, Case: c})
			if err != nil {
				t.Errorf("%s, %s: %v", d, l.Cases[c].Name, err)
				continue
			}
			if r.Status == "step too small" || r.Status == "too many events" || !(r.Balance.WaterError < 1e-6) || !(r.Balance.AirError < 1e-6) {
				t.Errorf("%s, %s: %s, balance %g and %g", d, l.Cases[c].Name, r.Status, r.Balance.WaterError, r.Balance.AirError)
			}
			for _, v := range r.Valves {
				if math.Abs(v.Before) > 10 || math.Abs(v.After) > 10 { // √(2g·5 m): more than any of them has at hand over so short a way
					t.Errorf("%s, %s: %s: columns of %g and %g m/s meet", d, l.Cases[c].Name, v.Name, v.Before, v.After)
				}
				if math.IsNaN(v.Slam + v.AirOut + v.AirIn + v.Pressure + v.Worst + v.Share) {
					t.Errorf("%s, %s: %+v", d, l.Cases[c].Name, v)
				}
			}
		}
	}
}

// TestNotesOnce: valves that hold a head or a flow are named in one note, and only where there are any; a flat slope in one, with its figures.
func TestNotesOnce(t *testing.T) {
	count := func(r Result, id string) (n int, text string) {
		for _, one := range r.Notes {
			if one.ID == id {
				n, text = n+1, one.Text
			}
		}
		return n, text
	}
	plain := build(ridge, 0.3, fifty())
	r := solve(t, Input{Line: plain, Flow: 0.03})
	for _, id := range []string{"refilling.control-open", "refilling.flat"} {
		if n, text := count(r, id); n != 0 {
			t.Errorf("%d of %s: %s", n, id, text)
		}
	}
	l := build([][2]float64{{0, 0}, {500, 20}, {900, 5}, {1400, 25}, {1450, 24.9}, {1650, 24.95}, {2000, 40}}, 0.3, fifty())
	l.Runs[0].Placed = append(l.Runs[0].Placed, line.Placed{Name: "AV flat", Chainage: 1650, AdmitsAir: true})
	l.Runs[0].Equipment = []line.Equipment{{Kind: line.SustainingValve, Name: "PSV", Chainage: 100}, {Kind: line.FlowControlValve, Name: "FCV", Chainage: 200}}
	r = solve(t, Input{Line: l, Flow: 0.03})
	if n, text := count(r, "refilling.control-open"); n != 1 || !strings.Contains(text, "PSV, FCV") {
		t.Errorf("%d notes on open control valves: %s", n, text)
	}
	// 0.05 m on 200 m is 0.25 in a thousand: a wedge of 0.3/0.00025 = 1,200 m.
	if n, text := count(r, "refilling.flat"); n != 1 || !strings.Contains(text, "0.25 in a thousand") || !strings.Contains(text, "1200") {
		t.Errorf("%d notes on a flat slope: %s", n, text)
	}
}
