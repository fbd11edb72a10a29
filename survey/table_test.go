package survey

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"obvert/document"
	"obvert/line"
)

// read reads a table that must be in order and gives its one track.
func read(t *testing.T, text string, o Options) (Track, Reading) {
	t.Helper()
	r, faults := Text("t.csv", []byte(text), o)
	if err := faults.Err(); err != nil {
		t.Fatal(err)
	}
	if len(r.Tracks) != 1 {
		t.Fatalf("%d tracks, asks %v", len(r.Tracks), r.Ask)
	}
	return r.Tracks[0], r
}

// TestTextDialects reads the same four points in many spellings.
func TestTextDialects(t *testing.T) {
	for name, text := range map[string]string{
		"comma":      "Chainage [m],Invert level [m],Remark\n0,100.5,start\n100,101.25,\n200,103,\n300,102.125,end\n",
		"semicolons": "Trasse Nord\n\nStation [km];Sohlhöhe [müNN]\n0,000;100,5\n0,100;101,25\n0,200;103\n0,300;102,125\n",
		"tabs":       "PK\tCote fil d'eau (m NGF)\n0+000\t100.5\n0+100\t101.25\n0+200\t103\n0+300\t102.125\n",
		"plan":       "Point,Easting [m],Northing [m],Invert level [m]\nA,500000,100000,100.5\nB,500060,100080,101.25\nC,500120,100160,103\nD,500180,100240,102.125\n",
		"german":     "Rechtswert [m];Hochwert [m];Sohlhöhe [m]\n3500000;5500000;100,5\n3500060;5500080;101,25\n3500120;5500160;103\n3500180;5500240;102,125\n",
		"spanish":    "Este (m)\tNorte (m)\tCota de solera (m)\n500000\t100000\t100,5\n500060\t100080\t101,25\n500120\t100160\t103\n500180\t100240\t102,125\n",
		"french":     "X [m];Y [m];Radier [m]\n0;0;100,5\n60;80;101,25\n120;160;103\n180;240;102,125\n",
	} {
		t.Run(name, func(t *testing.T) {
			track, r := read(t, text, Options{})
			if !track.HasChainage || len(track.Points) != 4 || track.LevelKind == nil || *track.LevelKind != line.LevelInvert {
				t.Fatalf("%+v", track)
			}
			for i, want := range []float64{100.5, 101.25, 103, 102.125} {
				p := track.Points[i]
				if p.Level != want || math.Abs(p.Chainage-100*float64(i)) > 1e-9 {
					t.Errorf("point %d: chainage %v, level %v", i, p.Chainage, p.Level)
				}
			}
			if len(r.Took) < 3 || track.Chainages == "" || track.Why == "" {
				t.Errorf("says too little: %q %q", r.Took, track.Chainages)
			}
		})
	}
}

// TestTextGeographic reads latitude and longitude, with and without the sign for degrees.
func TestTextGeographic(t *testing.T) {
	track, _ := read(t, "Latitude,Longitude,Ground level [m]\n47.1,8.5,400\n47.101°,8.5,405\n", Options{})
	if !track.HasGeographic || math.Abs(track.Points[1].Chainage-111.2) > 0.1 || track.Points[1].Lat != 47.101 || track.Points[0].Lon != 8.5 {
		t.Errorf("%+v", track)
	}
}

// TestTextAsks leaves open what the file does not say.
func TestTextAsks(t *testing.T) {
	for text, want := range map[string]string{
		"Chainage,Level\n0,100\n10,101\n":                      "level-unit plan-unit",
		"Chainage [m],Level\n0,100\n10,101\n":                  "level-unit",
		"Easting,Northing,Level [m]\n0,0,100\n10,0,101\n":      "plan-unit",
		"Chainage [m],Level [m]\n0,100\n10,101\n":              "",
		"Chainage [m],Level [m],Ground\n0,100,1\n10,101,102\n": "level-unit",
	} {
		r, faults := Text("t.csv", []byte(text), Options{})
		if err := faults.Err(); err != nil {
			t.Errorf("%q: %v", text, err)
		}
		if got := strings.Join(r.Ask, " "); got != want {
			t.Errorf("%q asks %q, want %q", text, got, want)
		}
		if (len(r.Ask) > 0) == (len(r.Tracks) > 0) {
			t.Errorf("%q: asks %q and has %d tracks", text, r.Ask, len(r.Tracks))
		}
	}
}

// TestTextFaults gives tables that cannot be used: a clear word, no track.
func TestTextFaults(t *testing.T) {
	many := "Chainage [m],Level [m]\n"
	for i := range 20 {
		many += string(rune('0'+i/10)) + string(rune('0'+i%10)) + "0," + map[bool]string{true: "100"}[i%2 == 0] + "\n"
	}
	some := "Chainage [m],Level [m]\n"
	for i := range 40 {
		some += fmt.Sprintf("%d0,%s\n", i, map[bool]string{true: "100"}[i%10 > 0])
	}
	for name, c := range map[string]struct{ text, want string }{
		"some missing": {some, "4 of 40 points have no level"},
		"empty":        {"", "empty"},
		"binary":       {"a\x00\x01\x02\x03\x04bc\x00\x00\x05", "zero bytes"},
		"prose":        {"Dear Sir,\nplease find attached nothing at all.\n", "no table"},
		"zip":          {"PK\x03\x04", "workbook"},
		"exchanged":    {"Chainage [m],Invert level [m]\n100.1,0\n101.2,500\n100.4,1000\n102.3,1500\n101.9,2000\n102.4,2500\n101,3000\n", "look exchanged"},
		"many missing": {many, "10 of 20 points have no level"},
		"out of order": {"Chainage [m],Invert level [m]\n0,1\n100,2\n200,3\n900,4\n300,4\n400,5\n5,5\n500,6\n600,6\n850,6\n700,6\n800,6\n", "out of order"},
		"globe":        {"Latitude,Longitude,Level [m]\n118.5,47.1,400\n118.6,47.2,405\n", "exchanged"},
		"height":       {"Easting [m],Northing [m],Level [m]\n500,400,600000\n501,410,600100\n", "outside"},
		"spike":        {"Chainage [m],Level [m]\n0,100\n10,100.1\n20,100.2\n30,0\n40,100.4\n50,100.5\n60,100.6\n", "spike"},
		"no heads":     {"1,500000,100000,10\n2,500010,100000,11\n", "--column"},
	} {
		r, faults := Text("t.csv", []byte(c.text), Options{})
		if faults.Err() == nil || len(r.Tracks) > 0 {
			t.Errorf("%s: no fault; %+v", name, r)
			continue
		}
		if !strings.Contains(faults.Err().Error()+hints(faults), c.want) {
			t.Errorf("%s: says %v", name, faults.Err())
		}
	}
}

func hints(faults document.Faults) string {
	var b strings.Builder
	for _, f := range faults {
		b.WriteString(f.Hint + f.Understood)
	}
	return b.String()
}

// TestTextOutOfOrder names each of three rows that stand in the wrong place.
func TestTextOutOfOrder(t *testing.T) {
	_, faults := Text("t.csv", []byte("Chainage [m],Invert level [m]\n0,1\n100,2\n200,3\n900,4\n300,4\n400,5\n5,5\n500,6\n600,6\n850,6\n700,6\n800,6\n"), Options{})
	var got []int
	for _, f := range faults {
		if f.Severity == document.FaultSeverity {
			got = append(got, f.Line)
		}
	}
	if len(got) != 3 || got[0] != 5 || got[1] != 8 || got[2] != 11 {
		t.Errorf("lines %v, want 5, 8 and 11", got)
	}
}

// TestTextFewMissing leaves out a point without a level and says so; the pipe still goes through its place.
func TestTextFewMissing(t *testing.T) {
	r, faults := Text("t.csv", []byte("Easting [m],Northing [m],Level [m]\n0,0,100\n30,0,101\n30,40,\n60,80,103\n"), Options{})
	if faults.Err() != nil || len(r.Tracks) != 1 {
		t.Fatal(faults)
	}
	if p := r.Tracks[0].Points; len(p) != 3 || math.Abs(p[2].Chainage-120) > 1e-9 {
		t.Errorf("%+v", p)
	}
	if w := faults.Only(document.WarningSeverity); len(w) != 1 || w[0].Line != 4 {
		t.Errorf("%+v", faults)
	}
}

// TestFromGrid reads cells with line ends, tabs and quotation marks in them, rows left out, and numbers faults by the
// sheet's rows.
func TestFromGrid(t *testing.T) {
	grid := [][]string{{"Chainage\n[m]", "Invert\tlevel [m]", `pipe 12"`}, {"0", "100.5", "a \"b\""}, {"100", "bad", ""}}
	_, faults := FromGrid("b.xlsx", "Sheet 1", grid, []int{3, 5, 9}, Options{})
	if len(faults) == 0 || faults[0].Line != 9 {
		t.Errorf("%+v", faults)
	}
	grid[2][1] = "101.25"
	r, faults := FromGrid("b.xlsx", "Sheet 1", grid, []int{3, 5, 9}, Options{})
	if faults.Err() != nil || len(r.Tracks) != 1 || r.Tracks[0].Name != "Sheet 1" {
		t.Fatalf("%+v %v", r, faults)
	}
	if p := r.Tracks[0].Points; len(p) != 2 || p[1].Where != 9 || p[1].Level != 101.25 {
		t.Errorf("%+v", p)
	}
}
