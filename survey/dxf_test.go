package survey

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"

	"obvert/formats/dxf"
	"obvert/line"
)

// drawnProfile is an invented long section: chainage, obvert, ground.
var drawnProfile = [][3]float64{{0, 98, 99.5}, {400, 103.25, 104.6}, {900, 131.4, 132.8}, {1250, 126, 128.3}, {2000, 141.07, 142.5}}

// drawnSheet draws the profile at 1:5000 and 1:500 in millimetres with its origin at (50, 30) for chainage 0 and level 90. With
// scales, a staff and a row of chainages are drawn; with ticks, they have ticks.
func drawnSheet(scales, ticks bool) *dxf.Drawing {
	d := &dxf.Drawing{Units: dxf.Millimetres, Layers: []dxf.Layer{{Name: "OBVERT", Colour: 7}, {Name: "GROUND", Colour: 8}, {Name: "FRAME", Colour: 7}, {Name: "TEXTS", Colour: 7}}}
	at := func(ch, z float64) dxf.Point { return dxf.Point{X: 50 + ch/5, Y: 30 + (z-90)*2} }
	var up, ground []dxf.Point
	for _, p := range drawnProfile {
		up, ground = append(up, at(p[0], p[1])), append(ground, at(p[0], p[2]))
	}
	d.Entities = append(d.Entities, dxf.Polyline{Layer: "OBVERT", Points: up}, dxf.Polyline{Layer: "GROUND", Points: ground},
		dxf.Polyline{Layer: "FRAME", Points: []dxf.Point{{X: 0, Y: 0}, {X: 500, Y: 0}, {X: 500, Y: 200}, {X: 0, Y: 200}}, Closed: true})
	if !scales {
		return d
	}
	for v := 90.0; v <= 140; v += 10 {
		p := at(0, v)
		d.Entities = append(d.Entities, dxf.Text{Layer: "TEXTS", At: dxf.Point{X: 40, Y: p.Y - 0.9}, Height: 2.5, Align: dxf.Right, Text: fmt.Sprint(v)})
		if ticks {
			d.Entities = append(d.Entities, dxf.Line{Layer: "TEXTS", From: dxf.Point{X: 42, Y: p.Y}, To: dxf.Point{X: 44, Y: p.Y}})
		}
	}
	for ch := 0.0; ch <= 2000; ch += 500 {
		p := at(ch, 90)
		d.Entities = append(d.Entities, dxf.Text{Layer: "TEXTS", At: dxf.Point{X: p.X, Y: 22}, Height: 2.5, Align: dxf.Centre, Text: fmt.Sprintf("%d+%03d", int(ch)/1000, int(ch)%1000)})
		if ticks {
			d.Entities = append(d.Entities, dxf.Line{Layer: "TEXTS", From: dxf.Point{X: p.X, Y: 30}, To: dxf.Point{X: p.X, Y: 27}})
		}
	}
	// Figures pushed aside, as in the bands of a drawn section, must not spoil the row.
	d.Entities = append(d.Entities, dxf.Text{Layer: "TEXTS", At: dxf.Point{X: 151, Y: 22}, Height: 2.5, Align: dxf.Centre, Text: "0+400"})
	return d
}

func bytesOf(t testing.TB, d *dxf.Drawing) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := d.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// holdsProfile compares a track with the profile.
func holdsProfile(t *testing.T, tr Track, shift, tolerance float64) {
	t.Helper()
	if len(tr.Points) != len(drawnProfile) {
		t.Fatalf("%d points, want %d", len(tr.Points), len(drawnProfile))
	}
	for i, p := range tr.Points {
		w := drawnProfile[i]
		if math.Abs(p.Chainage-w[0]) > 1e-6 || math.Abs(p.Level-w[1]-shift) > tolerance || !p.HasGround || math.Abs(p.Ground-w[2]-shift) > tolerance || p.Where == 0 {
			t.Errorf("point %d: %+v, want %v", i, p, w)
		}
	}
}

func TestDXFSectionByItsOwnScales(t *testing.T) {
	r, faults := DXF("s.dxf", bytesOf(t, drawnSheet(true, true)), Options{})
	if faults.Err() != nil {
		t.Fatal(faults)
	}
	tr := r.Tracks[0]
	if tr.Name != "OBVERT" || tr.LevelKind == nil || *tr.LevelKind != line.LevelObvert || !tr.HasChainage || tr.Noise != 0 {
		t.Errorf("track %q, kind %v, noise %g", tr.Name, tr.LevelKind, tr.Noise)
	}
	holdsProfile(t, tr, 0, 1e-6)
	left := strings.Join(r.Left, "\n")
	if !strings.Contains(left, "closed polyline on layer FRAME") {
		t.Errorf("left: %s", left)
	}
	if took := strings.Join(r.Took, "\n"); !strings.Contains(took, "from 5 chainages") || !strings.Contains(took, "from 6 levels") || !strings.Contains(took, "ground over it from layer GROUND") {
		t.Errorf("took: %s", took)
	}
}

// TestDXFSectionWithoutTicks: the figures' middles stand for their places, and the reading says what that is worth: half of 2.5 mm at 1:500, 0.625 m.
func TestDXFSectionWithoutTicks(t *testing.T) {
	r, faults := DXF("s.dxf", bytesOf(t, drawnSheet(true, false)), Options{})
	if faults.Err() != nil {
		t.Fatal(faults)
	}
	// The base lines stand 0.9 mm under their levels, the middles 0.35 mm over them: levels come out 0.175 m low.
	holdsProfile(t, r.Tracks[0], -0.175, 1e-6)
	if math.Abs(r.Tracks[0].Noise-0.625) > 1e-6 || !strings.Contains(strings.Join(r.Took, " "), "may be off by 0.62\u00a0m") {
		t.Errorf("noise %g; %s", r.Tracks[0].Noise, r.Took)
	}
}

func TestDXFSectionByTheUsersScales(t *testing.T) {
	data := bytesOf(t, drawnSheet(false, false))
	_, faults := DXF("s.dxf", data, Options{})
	if faults.Err() == nil || !strings.Contains(faults.Err().Error(), "the scales of the drawn long section are not known") || !strings.Contains(faults.Err().Error(), "no level scale of three figures") {
		t.Fatalf("%v", faults)
	}
	r, faults := DXF("s.dxf", data, Options{ScaleAcross: 5, ScaleUp: 0.5, Datum: 75, Take: "OBVERT"})
	if faults.Err() != nil {
		t.Fatal(faults)
	}
	holdsProfile(t, r.Tracks[0], 0, 1e-6) // y 30 is level 90: 15 m above the drawing's zero line
}

func TestDXFNamesALayer(t *testing.T) {
	data := bytesOf(t, drawnSheet(true, true))
	r, faults := DXF("s.dxf", data, Options{Take: "GROUND"})
	if faults.Err() != nil || len(r.Tracks) != 1 || r.Tracks[0].Name != "GROUND" || r.Tracks[0].Points[0].Level < 99.4 {
		t.Fatalf("%v %v", faults, r.Tracks)
	}
	_, faults = DXF("s.dxf", data, Options{Take: "OBVRT"})
	if faults.Err() == nil || !strings.Contains(faults.Err().Error(), `"OBVERT"`) {
		t.Errorf("%v", faults)
	}
}

// groupsOf writes one entity's groups.
func groupsOf(pairs ...any) string {
	var b strings.Builder
	for i := 0; i < len(pairs); i += 2 {
		fmt.Fprintf(&b, "%v\n%v\n", pairs[i], pairs[i+1])
	}
	return b.String()
}

func inSpace(layer string, closed int, points ...[3]float64) string {
	s := groupsOf(0, "POLYLINE", 8, layer, 66, 1, 70, 8+closed)
	for _, p := range points {
		s += groupsOf(0, "VERTEX", 8, layer, 10, p[0], 20, p[1], 30, p[2])
	}
	return s + groupsOf(0, "SEQEND")
}

func drawnFile(units int, entities ...string) []byte {
	return []byte(groupsOf(0, "SECTION", 2, "HEADER", 9, "$ACADVER", 1, "AC1015", 9, "$INSUNITS", 70, units, 0, "ENDSEC", 0, "SECTION", 2, "ENTITIES") +
		strings.Join(entities, "") + groupsOf(0, "ENDSEC", 0, "EOF"))
}

// TestDXFPlan joins three pieces drawn in any direction. By hand: legs of 300 m (3-4-5: 180, 240), 100 m and 50 m.
func TestDXFPlan(t *testing.T) {
	data := drawnFile(6,
		inSpace("pipe main", 0, [3]float64{180, 240, 12}, [3]float64{0, 0, 10}),
		inSpace("pipe main", 0, [3]float64{280, 240.01, 13}, [3]float64{330, 240.01, 14}),
		inSpace("pipe main", 0, [3]float64{180, 240, 12}, [3]float64{280, 240.01, 13}),
		inSpace("plots", 1, [3]float64{0, 0, 1}, [3]float64{9, 0, 2}, [3]float64{9, 9, 3}),
		groupsOf(0, "LINE", 8, "contours", 10, 0, 20, 0, 30, 20, 11, 400, 21, 0, 31, 20),
		groupsOf(0, "INSERT", 8, "trees", 2, "TREE", 10, 0, 20, 0), groupsOf(0, "HATCH", 8, "fields"))
	r, faults := DXF("p.dxf", data, Options{})
	if faults.Err() != nil {
		t.Fatal(faults)
	}
	if len(r.Tracks) != 1 {
		t.Fatalf("%d tracks: %v", len(r.Tracks), r.Took)
	}
	tr := r.Tracks[0]
	got := ""
	for _, p := range tr.Points {
		got += fmt.Sprintf("%.2f:%g ", p.Chainage, p.Level)
	}
	back := "0.00:14 50.00:13 150.00:12 450.00:10 "
	if got != "0.00:10 300.00:12 400.00:13 450.00:14 " && got != back || !tr.HasPlan {
		t.Errorf("points %s", got)
	}
	left := strings.Join(r.Left, "\n")
	for _, want := range []string{"closed polyline on layer plots", "INSERT × 1 on trees", "HATCH × 1 on fields", "contours"} {
		if !strings.Contains(left, want) {
			t.Errorf("%q is not told as left:\n%s", want, left)
		}
	}
}

func TestDXFTells(t *testing.T) {
	flat := func(layer string, pts ...[2]float64) string {
		s := groupsOf(0, "LWPOLYLINE", 8, layer, 90, len(pts), 70, 0)
		for _, p := range pts {
			s += groupsOf(10, p[0], 20, p[1])
		}
		return s
	}
	say := Options{ScaleAcross: 1, ScaleUp: 1}
	for name, c := range map[string]struct {
		data []byte
		o    Options
		want string
	}{
		"no unit":        {drawnFile(0, inSpace("main", 0, [3]float64{0, 0, 10}, [3]float64{50, 0, 11}, [3]float64{99, 0, 12})), Options{}, "plan-unit"},
		"in feet":        {drawnFile(2, inSpace("main", 0, [3]float64{0, 0, 10}, [3]float64{1000, 0, 11}, [3]float64{2000, 0, 12})), Options{}, "609.6\u00a0m long"},
		"levels in feet": {drawnFile(6, inSpace("main", 0, [3]float64{0, 0, 1000}, [3]float64{50, 0, 1100}, [3]float64{99, 0, 1200})), Options{LevelUnit: "ft"}, "heights from 304.80\u00a0m to 365.76\u00a0m"},
		"zero heights":   {drawnFile(6, inSpace("main", 0, [3]float64{0, 0, 110}, [3]float64{50, 0, 0}, [3]float64{99, 0, 112})), Options{}, "zero was taken for no height"},
		"same point":     {drawnFile(6, inSpace("main", 0, [3]float64{0, 0, 110}, [3]float64{0, 0, 110}, [3]float64{99, 0, 112})), Options{}, "1 point at the very place"},
		"closed":         {drawnFile(6, inSpace("main", 1, [3]float64{0, 0, 110}, [3]float64{9, 0, 110.5}, [3]float64{9, 9, 112})), Options{}, "closed polyline on layer main"},
		"upright":        {drawnFile(6, flat("main", [2]float64{10, 0}, [2]float64{12, 50}, [2]float64{11, 100})), say, "stands upright"},
		"to and fro":     {drawnFile(6, flat("main", [2]float64{0, 10}, [2]float64{80, 12}, [2]float64{40, 11}, [2]float64{90, 14})), say, "runs to and fro"},
		"named to, fro":  {drawnFile(6, flat("main", [2]float64{0, 10}, [2]float64{80, 12}, [2]float64{40, 11}, [2]float64{90, 14})), Options{ScaleAcross: 1, ScaleUp: 1, Take: "main"}, "1 point out of order"},
		"from the right": {drawnFile(6, flat("main", [2]float64{90, 14}, [2]float64{40, 11}, [2]float64{0, 10})), say, "90.0\u00a0m long, levels from 10.00\u00a0m to 14.00\u00a0m"},
		"unit of none":   {drawnFile(8, flat("main", [2]float64{90, 14}, [2]float64{40, 11}, [2]float64{0, 10})), say, "none of a survey"},
		"nothing":        {drawnFile(6, groupsOf(0, "CIRCLE", 8, "x", 10, 0, 20, 0, 40, 1)), Options{}, "no line of a pipe"},
	} {
		r, faults := DXF("x.dxf", c.data, c.o)
		all := strings.Join(append(append(r.Took, r.Left...), r.Ask...), "\n")
		for _, f := range faults {
			all += "\n" + f.String()
		}
		if !strings.Contains(all, c.want) {
			t.Errorf("%s: %q is not told:\n%s", name, c.want, all)
		}
	}
}

// TestDXFBranch leaves a branching layer in its pieces.
func TestDXFBranch(t *testing.T) {
	a, b, c := [3]float64{100, 0, 10}, [3]float64{200, 50, 12}, [3]float64{200, -50, 11}
	r, faults := DXF("b.dxf", drawnFile(6, inSpace("main", 0, [3]float64{0, 0, 9}, [3]float64{50, 0, 9.5}, a), inSpace("main", 0, a, [3]float64{150, 0, 11}, b), inSpace("main", 0, a, [3]float64{150, -5, 10}, c)), Options{})
	if faults.Err() != nil || len(r.Tracks) != 3 {
		t.Errorf("%d tracks, %v", len(r.Tracks), faults)
	}
}

// TestDXFLeavesWhatIsNamedForSomethingElse: a grade line over the pipe is no pipe, but where there is nothing else it is offered.
func TestDXFLeavesWhatIsNamedForSomethingElse(t *testing.T) {
	d := drawnSheet(true, true)
	d.Layers = append(d.Layers, dxf.Layer{Name: "GRADE-LINE", Colour: 5})
	grade := dxf.Polyline{Layer: "GRADE-LINE", Points: []dxf.Point{{X: 50, Y: 128}, {X: 250, Y: 120}, {X: 450, Y: 90}}}
	d.Entities = append(d.Entities, grade)
	r, faults := DXF("s.dxf", bytesOf(t, d), Options{})
	if faults.Err() != nil || len(r.Tracks) != 2 || !strings.Contains(strings.Join(r.Left, "\n"), "layer GRADE-LINE, line ") {
		t.Errorf("%v, %d tracks; left %s", faults, len(r.Tracks), r.Left)
	}
	d.Entities = append(d.Entities[2:len(d.Entities)-1:len(d.Entities)-1], grade)
	r, faults = DXF("s.dxf", bytesOf(t, d), Options{})
	if faults.Err() != nil || len(r.Tracks) != 1 || r.Tracks[0].Name != "GRADE-LINE" {
		t.Errorf("%v, tracks %v", faults, r.Tracks)
	}
}

// FuzzDXF: whatever the drawing, a track has two points or more, finite, with chainage that does not fall.
func FuzzDXF(f *testing.F) {
	f.Add(bytesOf(f, drawnSheet(true, true)), "")
	f.Add(bytesOf(f, drawnSheet(true, false)), "GROUND")
	f.Add(drawnFile(6, inSpace("main", 0, [3]float64{0, 0, 110}, [3]float64{50, 0, 0}, [3]float64{99, 0, 112})), "")
	f.Fuzz(func(t *testing.T, data []byte, take string) {
		r, faults := DXF("x.dxf", data, Options{Take: take})
		if faults.Err() != nil {
			if len(r.Tracks) > 0 {
				t.Fatal("faults and tracks")
			}
			return
		}
		if len(r.Tracks) == 0 && len(r.Ask) == 0 {
			t.Fatal("no track, and no word why")
		}
		for _, tr := range r.Tracks {
			if len(tr.Points) < 2 {
				t.Fatalf("%s has %d points", tr.Name, len(tr.Points))
			}
			for i, p := range tr.Points {
				if math.IsNaN(p.Chainage+p.Level+p.Ground) || math.IsInf(p.Chainage+p.Level+p.Ground, 0) || i > 0 && p.Chainage < tr.Points[i-1].Chainage {
					t.Fatalf("%s, point %d: %+v", tr.Name, i, p)
				}
			}
		}
	})
}
