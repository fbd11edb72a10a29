package survey

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"obvert/document"
)

// gpxFile wraps the inside of a track.
func gpxFile(inside string) []byte {
	return []byte("<?xml version=\"1.0\"?>\n<gpx version=\"1.1\" creator=\"by hand\" xmlns=\"http://www.topografix.com/GPX/1/1\">\n" + inside + "\n</gpx>\n")
}

// has tells whether a fault of an id or with a word is among them.
func has(f document.Faults, word string) bool {
	for _, x := range f {
		if x.ID == word || strings.Contains(x.String(), word) {
			return true
		}
	}
	return false
}

// A track of three points along a meridian at 500 m. By hand: 0.01° of latitude at 47.005° is ρ·π/18000 with
// ρ = a(1−e²)/(1−e² sin²φ)^1.5 = 6,369,600 m, that is 1111.71 m; carried to 500 m, × (1 + 500/6.37e6): 1111.80 m.
func TestGPXTrack(t *testing.T) {
	data := gpxFile(`<trk><name>Main &amp; branch</name><trkseg>
<trkpt lat="47.00" lon="10"><ele>500</ele></trkpt>
<trkpt lat="47.01" lon="10"><ele>500</ele></trkpt>
<trkpt lat="47.02" lon="10"><ele>510.5</ele></trkpt>
</trkseg></trk>`)
	r, faults := GPX("walk.gpx", data, Options{})
	if faults.Err() != nil {
		t.Fatal(faults)
	}
	if len(r.Tracks) != 1 || r.Format != "GPX" {
		t.Fatalf("%+v", r)
	}
	tr := r.Tracks[0]
	if tr.Name != "Main & branch" || len(tr.Points) != 3 || !tr.HasGeographic || !tr.HasChainage || tr.Noise != HandheldNoise || tr.LevelKind != nil {
		t.Errorf("%+v", tr)
	}
	const e2 = 0.00669437999014
	s := math.Sin(47.005 * math.Pi / 180)
	rho := 6378137 * (1 - e2) / math.Pow(1-e2*s*s, 1.5)
	if want := rho * math.Pi / 18000 * (1 + 500/rho); math.Abs(tr.Points[1].Chainage-want) > 0.001 || math.Abs(want-1111.80) > 0.02 {
		t.Errorf("chainage %.4f, want %.4f", tr.Points[1].Chainage, want)
	}
	if tr.Points[2].Level != 510.5 || tr.Points[2].Where != 6 {
		t.Errorf("%+v", tr.Points[2])
	}
	if !has(faults, "survey.gps-height") {
		t.Errorf("nothing said of what heights are worth: %v", faults)
	}
	if len(r.Took) != 1 || !strings.Contains(r.Took[0], "2223.") || !strings.Contains(r.Took[0], "sphere") {
		t.Errorf("%q", r.Took)
	}
}

// What is doubtful is told: missing heights, repeats, a stand, segments, time, two tracks, the way back.
func TestGPXTold(t *testing.T) {
	var b strings.Builder
	b.WriteString("<wpt lat=\"1\" lon=\"2\"/><trk><name>A</name><trkseg>\n")
	line := 0
	point := func(lat, lon, ele float64, time int) {
		b.WriteString(fmt.Sprintf("<trkpt lat=\"%.7f\" lon=\"%.7f\">", lat, lon))
		if !math.IsNaN(ele) {
			fmt.Fprintf(&b, "<ele>%.1f</ele>", ele)
		}
		fmt.Fprintf(&b, "<time>2026-05-01T%02d:%02d:%02dZ</time></trkpt>\n", time/3600, time/60%60, time%60)
		line++
	}
	for i := range 50 {
		point(47+float64(i)*1e-4, 10, 500+float64(i), i)
	}
	for i := range 3000 { // 3,000 points within 4 m
		point(47.0049+4e-5*math.Sin(float64(i)), 10+4e-5*math.Cos(float64(i)*1.7), 549, 50+i)
	}
	point(47.006, 10, 551, 20) // earlier
	point(47.006, 10, 551, 21)
	point(47.007, 10, math.NaN(), 4000)
	b.WriteString("</trkseg><trkseg>\n")
	point(47.009, 10, 553, 4100)
	point(47.03, 10, 560, 4200)
	b.WriteString("</trkseg></trk><rte><rtept lat=\"47\" lon=\"10\"/><rtept lat=\"47.01\" lon=\"10\"/><rtept lat=\"47.0001\" lon=\"10\"/><rtept lat=\"47.00001\" lon=\"10\"/></rte><trk></trk>")
	r, faults := GPX("walk.gpx", gpxFile(b.String()), Options{})
	if faults.Err() != nil {
		t.Fatal(faults)
	}
	for _, id := range []string{"survey.missing-height", "survey.standing", "survey.segments", "survey.time-back", "survey.long-step", "survey.returns", "survey.no-height"} {
		if !has(faults, id) {
			t.Errorf("nothing said of %s", id)
		}
	}
	if len(r.Tracks) != 2 || r.Tracks[1].Name != "route 2" {
		t.Fatalf("%d tracks", len(r.Tracks))
	}
	a := r.Tracks[0]
	if n := len(a.Points); n < 54 || n > 70 {
		t.Errorf("%d points left", n)
	}
	if all := a.Points[len(a.Points)-1].Chainage; math.Abs(all-0.03*111.2e3) > 40 {
		t.Errorf("%.0f m long", all)
	}
	if r.Tracks[1].Score >= a.Score {
		t.Error("a route without heights scores as a track")
	}
	left := strings.Join(r.Left, "\n")
	for _, word := range []string{"1 waypoint", "1 track or route without points", "standing still", "at the very place"} {
		if !strings.Contains(left, word) {
			t.Errorf("left %q says nothing of %q", left, word)
		}
	}
}
