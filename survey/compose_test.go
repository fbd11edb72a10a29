package survey

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"

	"obvert/line"
	"obvert/physics/pipe"
	"obvert/physics/water"
)

// compose makes a folder that must be in order.
func compose(t *testing.T, text string, c Choices) Folder {
	t.Helper()
	r, faults := Text("north.csv", []byte(text), Options{})
	if faults.Err() != nil {
		t.Fatal(faults.Err())
	}
	f, faults := Compose([]Reading{r}, c)
	if faults.Err() != nil {
		t.Fatal(faults.Err())
	}
	return f
}

const rising = "Chainage [m],Obvert level [m],Ground level [m]\n0,100,101.5\n500,110,111.5\n1000,130,131.5\n1500,120,121.2\n2000,125,126.5\n"
const falling = "Chainage [m],Invert level [m]\n0,200\n400,190\n800,195\n1200,160\n"

// TestComposeRising makes a rising main of a profile alone: its duty is that of a calculation apart.
func TestComposeRising(t *testing.T) {
	f := compose(t, rising, Choices{Pipe: "EN 545 C40 DN 200", Flow: 0.02})
	l := f.Line
	if len(l.Runs) != 1 || l.Nodes[0].Kind != line.Station || l.Nodes[1].Kind != line.Tank || len(l.Runs[0].Placed) != 0 {
		t.Fatalf("%+v", l)
	}
	// The summit at 1+000 sets the duty: 130 − 100 m and friction on the slope √(Δs² + Δz²) up to there; the end would ask for 127 m
	// and friction on 2 km, at about 2.1 m/km.
	size, err := pipe.Lookup("EN 545 C40 DN 200")
	if err != nil {
		t.Fatal(err)
	}
	w, err := water.At(283.15, 101325)
	if err != nil {
		t.Fatal(err)
	}
	length := math.Hypot(500, 10) + math.Hypot(500, 20)
	loss, _ := pipe.HeadLoss(0.02, size.Bore, length, 0.1e-3, w.KinematicViscosity, 9.80665)
	curve := l.Nodes[0].Station.Pumps[0].Curve
	if len(curve) != 4 || math.Abs(curve[2][0]-0.02) > 1e-9 || math.Abs(curve[2][1]-(30+loss)) > 0.01 || math.Abs(curve[0][1]-1.25*curve[2][1]) > 0.01 {
		t.Errorf("curve %v, want %.3f m at 20 L/s", curve, 30+loss)
	}
	doc := string(f.Files[0].Data)
	for _, want := range []string{"# assumed by import: The pump lifts", "assumed = [", `sump_level = "100 m"`, `level = "127 m"`, "[[station.pump]]"} {
		if !strings.Contains(doc, want) {
			t.Errorf("no %q in\n%s", want, doc)
		}
	}
	if strings.Contains(doc, "The pipe is") {
		t.Error("the pipe was given, and is said to be assumed")
	}
	for _, a := range f.Assumed {
		found := false
		for _, have := range l.Assumed {
			found = found || have.Text == a
		}
		if !found {
			t.Errorf("not among the line's assumptions: %s", a)
		}
	}
}

// TestComposeFalling makes a gravity main.
func TestComposeFalling(t *testing.T) {
	l := compose(t, falling, Choices{}).Line
	bore := l.Runs[0].Sections[0].Bore
	if l.Nodes[0].Kind != line.Tank || math.Abs(l.Nodes[0].Tank.Level-(203+bore)) > 0.006 {
		t.Errorf("%+v", l.Nodes[0].Tank)
	}
	l = compose(t, falling, Choices{To: "outfall", From: "station", FromLevel: 150, HasFromLevel: true}).Line
	if l.Nodes[0].Kind != line.Station || l.Nodes[1].Kind != line.Outfall || l.Nodes[0].Station.SuctionLevel != 150 {
		t.Errorf("%+v", l.Nodes)
	}
}

// TestComposeTurned lets chainage count from the other end.
func TestComposeTurned(t *testing.T) {
	l := compose(t, falling, Choices{Turn: true}).Line
	if l.Nodes[0].Kind != line.Station || l.Runs[0].Points[0].Chainage != 0 || math.Abs(l.Runs[0].Points[1].Chainage-400) > 1e-9 {
		t.Errorf("%+v", l.Runs[0].Points)
	}
}

// TestComposeAgain gives the same bytes for the same input.
func TestComposeAgain(t *testing.T) {
	a, b := compose(t, rising, Choices{}), compose(t, rising, Choices{})
	for i := range a.Files {
		if a.Files[i].Name != b.Files[i].Name || !bytes.Equal(a.Files[i].Data, b.Files[i].Data) {
			t.Errorf("%s differs", a.Files[i].Name)
		}
	}
}

// equipment is what tables might give for the rising main.
func equipment() Reading {
	return Reading{File: "things.xlsx",
		Pumps: []Pump{{Station: "Works", Name: "P", Alike: 2, Curve: [][2]float64{{0, 60}, {0.02, 50}, {0.04, 30}}, Efficiency: [][2]float64{{0.01, 0.5}, {0.02, 0.7}},
			NPSH: [][2]float64{{0.01, 2}, {0.03, 4}}, AxisLevel: 98, HasAxisLevel: true}, {Station: "Booster", Name: "B", Alike: 1, Curve: [][2]float64{{0, 10}, {0.02, 5}}}},
		Pipes: []Pipe{{From: 0, To: 999, Size: "en545 c40 dn 200"}, {From: 1000, To: 1500, Bore: 0.15, Wall: 0.005, Material: "steel", Roughness: 0.1e-3},
			{From: 1500, To: 2000, Bore: 0.15, Wall: 0.005, Material: "steel", Roughness: 0.1e-3}},
		Valves: []Valve{{Name: "AV 1", Chainage: 1000, Type: "Oak 80", Height: 0.5, HasHeight: true, Remark: "in the \"pit\""}, {Chainage: 500}, {Name: "AV 9", Chainage: 5000}},
		Fittings: []Fitting{{Kind: line.Scour, Chainage: 1500, Bore: 0.08, Name: "S 1"}, {Kind: line.IsolatingValve, Chainage: 10, Closed: true, HasLoss: true, Loss: 0.2},
			{Kind: line.SustainingValve, Chainage: 1990, Setting: 4}, {Kind: line.FlowControlValve, Chainage: 1995, Flow: 0.02}, {Kind: line.CheckValve, Chainage: 20}},
	}
}

// TestComposeEquipment takes tables beside the profile.
func TestComposeEquipment(t *testing.T) {
	r, _ := Text("north.csv", []byte(rising), Options{})
	f, faults := Compose([]Reading{r, equipment()}, Choices{Name: "North main"})
	if faults.Err() != nil {
		t.Fatal(faults.Err())
	}
	run := f.Line.Runs[0]
	if run.Name != "North main" || len(run.Sections) != 2 || run.Sections[0].Size != "EN 545 C40 DN 200" || math.Abs(run.Sections[1].Bore-0.15) > 1e-9 || run.Sections[0].To != 999 {
		t.Errorf("%+v", run.Sections)
	}
	if len(run.Placed) != 2 || run.Placed[0].Name == "" || run.Placed[0].Height != 0.4 || run.Placed[1].Height != 0.5 {
		t.Errorf("%+v", run.Placed)
	}
	if len(run.Equipment) != 5 || !run.Equipment[0].Closed || run.Equipment[2].Bore != 0.08 || run.Equipment[3].Setting != 4 {
		t.Errorf("%+v", run.Equipment)
	}
	s := f.Line.Nodes[0].Station
	if f.Line.Nodes[0].Name != "Works" || len(s.Pumps) != 2 || !s.Pumps[0].HasSuctionAxis || len(s.Pumps[0].Efficiency) != 2 || s.Pumps[0].Efficiency[1][1] != 0.7 {
		t.Errorf("%+v", s)
	}
	left := strings.Join(f.Left, "\n")
	for _, want := range []string{"AV 9", "Booster", "Oak 80"} {
		if !strings.Contains(left, want) {
			t.Errorf("nothing is said of %s:\n%s", want, left)
		}
	}
}

// TestComposeFaults refuses what makes no line, with a clear word.
func TestComposeFaults(t *testing.T) {
	for name, c := range map[string]struct {
		text string
		c    Choices
		want string
	}{
		"no kind":      {"Chainage [m],Level [m]\n0,100\n10,101\n", Choices{}, "of what the levels are"},
		"no cover":     {"Chainage [m],Ground level [m]\n0,100\n10,101\n", Choices{}, "no cover"},
		"mountain":     {"Chainage [m],Invert level [m]\n0,300\n200,400\n400,520\n600,700\n", Choices{}, "mountain"},
		"ground in ft": {"Chainage [m],Invert level [m],Ground level [m]\n0,100,332\n100,101,335\n200,102,338\n300,103,342\n", Choices{}, "look like feet"},
		"pipe in ft":   {"Chainage [m],Invert level [m],Ground level [m]\n0,328,101.5\n100,331,102.5\n200,334.6,103.5\n300,338,104.5\n", Choices{}, "look like feet"},
		"out of order": {"Easting [m],Northing [m],Invert level [m]\n0,0,1\n100,0,1\n300,0,2\n200,0,2\n400,0,3\n500,0,3\n", Choices{}, "turns back"},
		"pipe":         {rising, Choices{Pipe: "EN 545 C40 DN 201"}, "no standard size"},
		"take":         {rising, Choices{Take: "south"}, "no \"south\""},
		"tank below":   {rising, Choices{From: "tank"}, "rises above the water"},
		"no lift":      {falling, Choices{From: "station", To: "outfall"}, "nothing to lift"},
		"words":        {falling, Choices{From: "pump"}, "none of the words"},
		"tolerance":    {falling, Choices{Tolerance: math.NaN()}, "tolerance"},
		"no length":    {"Chainage [km],Obvert [m]\n0,100\n0.0005,101\n", Choices{}, "without length"},
	} {
		r, faults := Text("north.csv", []byte(c.text), Options{})
		if faults.Err() != nil {
			t.Errorf("%s: %v", name, faults.Err())
			continue
		}
		f, faults := Compose([]Reading{r}, c.c)
		if faults.Err() == nil || len(f.Files) > 0 || !strings.Contains(faults.Err().Error(), c.want) {
			t.Errorf("%s: %v, want %q", name, faults.Err(), c.want)
		}
	}
	if _, faults := Compose([]Reading{equipment()}, Choices{}); faults.Err() == nil || !strings.Contains(faults.Err().Error(), "no profile") {
		t.Error("tables alone made a line")
	}
}

// TestComposeThins keeps within the tolerance and says by how much it thinned.
func TestComposeThins(t *testing.T) {
	var b strings.Builder
	b.WriteString("Chainage [m],Obvert level [m]\n")
	for i := range 6001 {
		fmt.Fprintf(&b, "%d,%.3f\n", i, 100+10*math.Sin(float64(i)/500)+0.01*math.Sin(float64(i)))
	}
	whole := compose(t, b.String(), Choices{HasTolerance: true})
	if len(whole.Track.Points) != 6001 {
		t.Errorf("%d points left of all", len(whole.Track.Points))
	}
	f := compose(t, b.String(), Choices{})
	if n := len(f.Track.Points); n > 600 || f.Points != 6001 {
		t.Errorf("%d of %d points", n, f.Points)
	}
	if !strings.Contains(strings.Join(f.Took, "\n"), "of 6001 kept") {
		t.Errorf("%q", f.Took)
	}
	for _, q := range whole.Line.Runs[0].Points {
		if z, ok := f.Line.ObvertAt(0, q.Chainage); !ok || math.Abs(z-q.Obvert) > UsualTolerance+1e-4 {
			t.Fatalf("at %g m: %g, was %g", q.Chainage, z, q.Obvert)
		}
	}
}
