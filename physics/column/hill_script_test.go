package column

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"obvert/physics/opening"
)

// hillCase is what testdata/hill.py makes of one start.
type hillCase struct {
	Crest, Peak, Gone, Before, After, Slam, Out, Front, Full, Early, Reopens float64
	PeakTime                                                                 float64   `json:"peak_time"`
	StageOn                                                                  float64   `json:"stage_on"`
	At150                                                                    []float64 // fronts (m), flows (m³/s), gauge pressure (Pa) at 150 s; none where the air has gone
}

// bent is a pump head 60 − 3000 Q², m.
type bent struct{}

func (bent) Head(q float64) (float64, float64) { return 60 - 3000*q*q, -6000 * q }

// TestHillScript compares four starts of a half drained main over a crest with testdata/hill.json, which hill.py makes by the classical Runge-Kutta
// method from the equations alone: pumped, from a tank, with an anti-slam stage, with a float that air carries shut.
func TestHillScript(t *testing.T) {
	data, err := os.ReadFile("testdata/hill.json")
	if err != nil {
		t.Fatal(err)
	}
	var script map[string]hillCase
	if err := json.Unmarshal(data, &script); err != nil {
		t.Fatal(err)
	}
	if len(script) != 4 {
		t.Fatalf("%d cases", len(script))
	}
	for name, want := range script {
		t.Run(name, func(t *testing.T) { hill(t, name, want) })
	}
}

func hill(t *testing.T, name string, want hillCase) {
	n := straight(1500, 0.3, 0.02, 0, 0)
	n.Pipes[0].Points = []Point{{0, 0}, {500, 20}, {900, 5}, {1500, 30}}
	n.Nodes[0] = Node{Kind: Station, Pumps: bent{}, Ramp: 10}
	n.Nodes[1].Kind = Outlet
	bore := 0.05
	v := Vent{Distance: 500}
	switch name {
	case "tank":
		n.Nodes[0] = Node{Kind: Tank, Level: 45}
	case "stage":
		bore = 0.04
		v.StageAt, v.StageOff, v.Staged = 6000, 600, opening.Orifice{Area: opening.Circle(0.02), Coefficient: 0.6}
	case "early":
		bore = 0.04
		v.CloseAt, v.ReopenAt = 6000, 600
	}
	o := opening.Orifice{Area: opening.Circle(bore), Coefficient: 0.6}
	v.In, v.Out = o, o
	n.Pipes[0].Vents = []Vent{v}
	set := Settings{Horizon: 700, Tolerance: 1e-4, Water: []Water{{0, 0, 250}, {0, 650, 1125}}}
	stays := want.Gone >= 400
	if stays {
		set.Horizon = 400
	}
	var at, last []float64
	lastT := 0.0
	set.Observe = func(m *Moment) bool {
		w := m.Water(nil)
		if at != nil || len(w) != 2 {
			return true
		}
		now := []float64{w[0].To, w[1].From, w[1].To, m.PipeFlow(0, 1), m.PipeFlow(0, 1000), m.Pockets(nil)[0].Pressure}
		if m.Time() >= 150 {
			f := (150 - lastT) / (m.Time() - lastT)
			for i := range now {
				at = append(at, last[i]+f*(now[i]-last[i]))
			}
		}
		last, lastT = now, m.Time()
		return true
	}
	r := run(t, n, set)
	seen := map[Kind]float64{}
	for _, e := range r.Events {
		if _, ok := seen[e.Kind]; !ok {
			seen[e.Kind] = e.Time
		}
	}
	near(t, "comes to the crest", seen[Spills], want.Crest, 2e-3)
	near(t, "peak of the air", r.Airs[0].Peak, want.Peak, 5e-3)
	near(t, "stage", seen[StageOn], want.StageOn, 2e-3)
	near(t, "early closing", seen[ValveEarly], want.Early, 2e-3)
	for i, w := range want.At150 {
		if got := at[i]; !(math.Abs(got-w) <= 5e-3*math.Abs(w)+2e-4) {
			t.Errorf("figure %d at 150 s: %g, want %g", i+1, got, w)
		}
	}
	if stays {
		if len(r.Meetings) != 0 {
			t.Errorf("the air has gone: %+v", r.Meetings)
		}
		near(t, "air let out", r.Vents[0][0].Out, want.Out, 2e-3)
		return
	}
	if len(r.Meetings) != 1 {
		t.Fatalf("%d meetings; %v at %g s", len(r.Meetings), r.Status, r.Time)
	}
	m := r.Meetings[0]
	near(t, "last air", m.Time, want.Gone, 2e-3)
	near(t, "column before", m.Before, want.Before, 5e-3)
	near(t, "column after", m.After, want.After, 5e-3)
	near(t, "slam", m.Slam, want.Slam, 5e-3)
	near(t, "air let out", r.Vents[0][0].Out-r.Vents[0][0].In, want.Out, 5e-3)
	near(t, "full", r.Delivery, want.Full, 3e-3)
}
