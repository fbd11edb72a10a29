package survey

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"obvert/line"
)

// drawTrack draws a profile that a pipe can have: slopes up to 20 %, now and then a vertical step.
func drawTrack(t *rapid.T) (points []Point, kind line.LevelKind) {
	n := rapid.IntRange(2, 60).Draw(t, "points")
	kind = rapid.SampledFrom([]line.LevelKind{line.LevelObvert, line.LevelInvert, line.LevelAxis, line.LevelGround}).Draw(t, "kind")
	s := float64(rapid.IntRange(-500, 5000).Draw(t, "first"))
	z := float64(rapid.IntRange(-300, 3000).Draw(t, "level"))
	ground := rapid.Bool().Draw(t, "ground")
	for i := range n {
		points = append(points, Point{Chainage: s, Level: z, Ground: z + 1.5, HasLevel: true, HasGround: ground && i%3 > 0, Where: i + 2})
		step := rapid.IntRange(1, 4000).Draw(t, "step")
		if rapid.IntRange(0, 20).Draw(t, "vertical") == 0 && i+2 < n {
			z += 0.75
			continue
		}
		s += float64(step) / 10
		z += math.Round(float64(step)*float64(rapid.IntRange(-200, 200).Draw(t, "slope"))/10) / 1000
		z = min(max(z, -420), 8900) // levels on land, as the reader takes them
	}
	if points[n-1].Chainage-points[0].Chainage < 2 {
		points[n-1].Chainage = points[0].Chainage + 2
	}
	return points, kind
}

// TestComposeProperty holds what a folder promises, for any profile: it is read as a line without a fault, its geometry is the
// track's to the tolerance, and it says again what it assumed.
func TestComposeProperty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		points, kind := drawTrack(t)
		r := Reading{File: "t.csv", Format: "CSV", Tracks: []Track{{Name: "t", Points: points, HasChainage: true, LevelKind: &kind}}}
		c := Choices{Cover: 1.25, HasCover: true, LevelUnit: true, HasTolerance: true, Tolerance: float64(rapid.IntRange(0, 500).Draw(t, "tolerance")) / 1000,
			To: rapid.SampledFrom([]string{"", "tank", "outfall"}).Draw(t, "end"), Turn: rapid.Bool().Draw(t, "turn")}
		f, faults := Compose([]Reading{r}, c)
		if faults.Err() != nil {
			// A spike is a fault of the profile, and a short line may want no pump: both are told, and nothing else may be wrong.
			for _, x := range faults {
				if !strings.Contains(x.What, "spike") && !strings.Contains(x.What, "nothing to lift") && x.Severity == 0 {
					t.Fatal(faults.Err())
				}
			}
			return
		}
		run := &f.Line.Runs[0]
		bore := run.Sections[0].Bore
		rise := map[line.LevelKind]float64{line.LevelInvert: bore, line.LevelAxis: bore / 2, line.LevelGround: -1.25}[kind]
		first, last := points[0].Chainage, points[len(points)-1].Chainage
		for i, q := range points {
			s := q.Chainage
			if c.Turn {
				s = first + last - s
			}
			if i > 0 && points[i-1].Chainage == q.Chainage || i+1 < len(points) && points[i+1].Chainage == q.Chainage {
				continue // a step has several levels at one chainage
			}
			z, ok := f.Line.ObvertAt(0, math.Min(math.Max(s, run.First()), run.Last()))
			if !ok || math.Abs(z-(q.Level+rise)) > c.Tolerance+2e-3 {
				t.Fatalf("at %g m: obvert %g, want %g ± %g", s, z, q.Level+rise, c.Tolerance)
			}
		}
		for i, a := range f.Assumed {
			if f.Line.Assumed[i].ID != "line.stated" || f.Line.Assumed[i].Text != a {
				t.Fatalf("assumption %d is %+v, want %s", i, f.Line.Assumed[i], a)
			}
		}
	})
}

// TestProfileRoundTrip writes profiles and reads them back, by both readers: the same points.
func TestProfileRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		points, _ := drawTrack(t)
		run := line.Run{}
		for _, q := range points {
			run.Points = append(run.Points, line.Point{Chainage: q.Chainage, Obvert: q.Level, Ground: q.Ground, HasGround: q.HasGround})
		}
		checkRoundTrip(t, &run)
	})
}

// fataler is what both kinds of test can do.
type fataler interface {
	Fatalf(format string, args ...any)
}

func checkRoundTrip(t fataler, run *line.Run) {
	var b bytes.Buffer
	if err := WriteProfileCSV(&b, run); err != nil {
		t.Fatalf("%v", err)
	}
	back, faults := line.ReadProfile("p.csv", b.Bytes(), line.ProfileOptions{})
	for _, f := range faults {
		if strings.Contains(f.What, "spike") {
			return // a profile that no pipe has
		}
	}
	r, more := Read("p.csv", b.Bytes(), Options{})
	if faults.Err() != nil || more.Err() != nil || len(r.Tracks) != 1 {
		t.Fatalf("%v %v\n%s", faults.Err(), more.Err(), b.String())
	}
	if len(back.Points) != len(run.Points) || len(r.Tracks[0].Points) != len(run.Points) {
		t.Fatalf("%d and %d points, want %d", len(back.Points), len(r.Tracks[0].Points), len(run.Points))
	}
	for i, want := range run.Points {
		a, q := back.Points[i], r.Tracks[0].Points[i]
		for _, d := range []float64{a.Chainage - want.Chainage, a.Obvert - want.Obvert, q.Chainage - want.Chainage, q.Level - want.Obvert} {
			if math.Abs(d) > 0.6e-4 {
				t.Fatalf("point %d: %+v and %+v, want %+v", i, a, q, want)
			}
		}
		if a.HasGround != want.HasGround || want.HasGround && math.Abs(a.Ground-want.Ground) > 0.6e-4 {
			t.Fatalf("ground of point %d: %+v, want %+v", i, a, want)
		}
	}
}

// TestDemosRoundTrip exports every run of the demonstration lines as a profile, imports it again and composes a line of it: the same
// geometry to a tenth of a millimetre.
func TestDemosRoundTrip(t *testing.T) {
	runs := 0
	for _, name := range []string{"flat-irrigation", "gravity", "ridge", "town", "twin"} {
		l, faults := line.Read(os.DirFS("../demo/"+name), nil)
		if l == nil {
			t.Fatal(faults.Err())
		}
		for i := range l.Runs {
			runs++
			run := &l.Runs[i]
			checkRoundTrip(t, run)
			var b bytes.Buffer
			if err := WriteProfileCSV(&b, run); err != nil {
				t.Fatal(err)
			}
			r, _ := Read("p.csv", b.Bytes(), Options{})
			f, faults := Compose([]Reading{r}, Choices{Pipe: "EN 545 C40 DN 300", Name: run.Name, From: "station", FromLevel: run.Points[0].Obvert - 50, HasFromLevel: true})
			if faults.Err() != nil {
				t.Errorf("%s, run %s: %v", name, run.Name, faults.Err())
				continue
			}
			for j, q := range f.Line.Runs[0].Points {
				if math.Abs(q.Obvert-run.Points[j].Obvert) > 1e-4 || !run.AlongPipe && math.Abs(q.Distance-run.Points[j].Distance) > 1e-3 {
					t.Errorf("%s, run %s, point %d: %+v, was %+v", name, run.Name, j, q, run.Points[j])
				}
			}
		}
	}
	if runs < 20 {
		t.Errorf("only %d runs", runs)
	}
}

// TestReadDetects finds the form by content, whatever the name.
func TestReadDetects(t *testing.T) {
	for name, c := range map[string]struct{ data, want string }{
		"csv":           {"Chainage [m],Invert level [m]\n0,1\n10,2\n", "CSV"},
		"gpx":           {"<?xml version=\"1.0\"?>\n<!-- c --><gpx xmlns=\"x\"></gpx>", "GPX"},
		"landxml":       {"\ufeff<?xml version='1.0'?><LandXML xmlns=\"x\">", "LandXML"},
		"geojson":       {" {\"type\": \"FeatureCollection\"}", "GeoJSON"},
		"dxf":           {"999\nmade by hand\n  0\nSECTION\n  2\nENTITIES\n", "DXF"},
		"dxf crlf":      {"  0\r\nSECTION\r\n", "DXF"},
		"xlsx":          {"PK\x03\x04....xl/workbook.xml", "XLSX"},
		"zip":           {"PK\x03\x04....letters/a.txt", "!archive"},
		"password":      {"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "!password"},
		"pdf":           {"%PDF-1.7", "!PDF"},
		"gzip":          {"\x1f\x8b\x08", "!gzip"},
		"html":          {"<!doctype html>\n<html lang=\"en\">", "!web"},
		"other xml":     {"<kml:kml xmlns:kml=\"x\">", "!<kml>"},
		"xml no root":   {"<!-- never closed", "!no root"},
		"empty":         {" \r\n", "!empty"},
		"utf-16 gpx":    {"\xff\xfe<\x00g\x00p\x00x\x00>\x00", "GPX"},
		"points as xyz": {"0 SECTION\n1 2 3\n", "CSV"},
	} {
		f, fault := detect([]byte(c.data))
		switch want, refused := strings.CutPrefix(c.want, "!"); {
		case refused && (fault == nil || !strings.Contains(fault.What+fault.Understood, want) || fault.Hint == ""):
			t.Errorf("%s: %+v %+v, want a fault with %q", name, f, fault, want)
		case !refused && (fault != nil || f.name != want):
			t.Errorf("%s: %+v %+v, want %s", name, f, fault, want)
		}
	}
}

// TestReadEnding warns of a name that says something else.
func TestReadEnding(t *testing.T) {
	r, faults := Read("track.gpx", []byte("Chainage [m],Invert level [m]\n0,1\n10,2\n"), Options{})
	if len(r.Tracks) != 1 || len(faults) == 0 || faults[0].ID != "survey.ending" {
		t.Errorf("%+v %v", r, faults)
	}
	if _, faults := Read("track.CSV", []byte("Chainage [m],Invert level [m]\n0,1\n10,2\n"), Options{}); len(faults) > 0 {
		t.Errorf("%v", faults)
	}
}

// checkReading holds what every reading promises: figures that are finite, and no track beside a fault.
func checkReading(t *testing.T, r Reading, failed bool) {
	if failed && len(r.Tracks)+len(r.Valves)+len(r.Pumps) > 0 {
		t.Fatalf("a fault, and %d tracks", len(r.Tracks))
	}
	for _, track := range r.Tracks {
		for i, q := range track.Points {
			if s := q.Chainage + q.Level + q.Ground + q.East + q.North + q.Lat + q.Lon; math.IsNaN(s) || math.IsInf(s, 0) {
				t.Fatalf("point %d: %+v", i, q)
			}
			if track.HasChainage && i > 0 && q.Chainage < track.Points[i-1].Chainage {
				t.Fatalf("chainage falls at point %d", i)
			}
		}
	}
}

// FuzzText reads any bytes as a table: no panic, nothing that is not finite, and what composes is a line.
func FuzzText(f *testing.F) {
	f.Add([]byte("Chainage [m],Invert level [m],Ground level [m]\n0,100,101\n10,101.5,102\n20,101,\n"), "m", uint8(1))
	f.Add([]byte("Titel\nRechtswert;Hochwert;Höhe\n3500000,5;5400000,25;101,5\n3500010,5;5400000,25;102\n"), "m", uint8(3))
	f.Add([]byte("lat\tlon\tz\n47.1°\t8.5\t400 m\n47.11\t8.5\t\n47.12\t8.5\t390\n"), "", uint8(3))
	f.Add([]byte("PK;Radier\n0+000;1\n0+010;2\n"), "ft", uint8(0))
	f.Add([]byte("\xff\xfeC\x00h\x00;\x00L\x00\n\x001\x00;\x002\x00\n\x00"), "km", uint8(2))
	f.Fuzz(func(t *testing.T, data []byte, unit string, kind uint8) {
		k := line.LevelKind(kind % 4)
		r, faults := Text("f.csv", data, Options{LevelUnit: unit, PlanUnit: unit, LevelKind: &k})
		checkReading(t, r, faults.Err() != nil)
		if faults.Err() != nil || len(r.Tracks) == 0 {
			return
		}
		folder, faults := Compose([]Reading{r}, Choices{Cover: 1, HasCover: true})
		if (faults.Err() == nil) != (folder.Line != nil) {
			t.Fatal("a folder without a line, or a line with faults")
		}
	})
}

// FuzzDetect looks at any bytes: it says a form or why not.
func FuzzDetect(f *testing.F) {
	for _, s := range []string{"", "PK\x03\x04xl/", "<a", "<!--", "{", "0\nSECTION\n", "999\n\n999\n", "\xff\xfe<\x00", "<?x?><!a><b:c/>"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		form, fault := detect(data)
		if (form == nil) == (fault == nil) || fault != nil && (fault.What == "" || fault.Hint == "") {
			t.Fatal(fmt.Sprint(form, fault))
		}
	})
}
