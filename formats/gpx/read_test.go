package gpx

import (
	"strings"
	"testing"

	"obvert/document"
)

const head = "<?xml version=\"1.0\" encoding=\"windows-1252\"?>\n"

// Versions 1.0 and 1.1, with prefixes and extensions, in another encoding.
func TestRead(t *testing.T) {
	for _, version := range []string{"1.0", "1.1"} {
		data := head + `<g:gpx xmlns:g="http://www.topografix.com/GPX/` + version + `" version="` + version + `" creator="x"><g:wpt lat="1" lon="2"><g:name>W</g:name></g:wpt>
<g:trk><g:name>H` + "\xf6" + `he</g:name><g:trkseg>
<g:trkpt lat="1" lon="2"><g:ele>3.5</g:ele><g:extensions><g:ele>99</g:ele></g:extensions></g:trkpt>
<g:trkpt lat="1.5" lon="2"/></g:trkseg><g:trkseg/></g:trk><g:rte><g:rtept lat="5" lon="6"/></g:rte><g:trk/></g:gpx>`
		f, faults := Read("x.gpx", []byte(data))
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		if f.Version != version || f.Waypoints != 1 || f.Empty != 1 || len(f.Tracks) != 2 || f.Tracks[0].Name != "Höhe" || !f.Tracks[1].Route {
			t.Errorf("%+v", f)
		}
		p := f.Tracks[0].Segments[0]
		if len(p) != 2 || p[0].Ele != 3.5 || !p[0].HasEle || p[0].Line != 4 || p[1].HasEle || p[1].Line != 5 {
			t.Errorf("%+v", p)
		}
	}
}

// All faults come in one pass, the first five of a sort by themselves.
func TestFaults(t *testing.T) {
	var b strings.Builder
	b.WriteString("<gpx version=\"1.1\"><trk><trkseg>\n")
	for range 20 {
		b.WriteString("<trkpt lat=\"x\" lon=\"7\"/>\n")
	}
	b.WriteString("<trkpt lon=\"7\" lat=\"5200000\"/>\n<trkpt lat=\"1\"/>\n<trkpt lat=\"1\" lon=\"1\"><ele>12,5</ele></trkpt>\n</trkseg></trk></gpx>")
	f, faults := Read("x.gpx", []byte(b.String()))
	if len(f.Tracks) > 0 || faults.Err() == nil {
		t.Fatal("read")
	}
	all := faults.Error()
	for _, word := range []string{"x.gpx:2: lat: not an angle", "16 more like this", "lines 7 to 22", "a point without lon", "x.gpx:24: ele: not a height in metres: 12,5"} {
		if !strings.Contains(all, word) {
			t.Errorf("%s\nsays nothing of %q", all, word)
		}
	}
	if n := len(faults.Only(document.FaultSeverity)); n != 8 {
		t.Errorf("%d faults", n)
	}
}
