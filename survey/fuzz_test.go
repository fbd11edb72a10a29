package survey

import (
	"math"
	"testing"

	"obvert/document"
)

// sound fails where a reading is not one: no panic, points or faults and never both, nothing that is not finite, chainage that never falls
// where it comes of positions.
func sound(t *testing.T, r Reading, faults document.Faults) {
	t.Helper()
	if (faults.Err() != nil) != (len(r.Tracks) == 0) {
		t.Fatalf("%d tracks and %v", len(r.Tracks), faults)
	}
	for _, x := range faults {
		if x.What == "" || x.Line < 0 {
			t.Fatalf("an empty fault: %+v", x)
		}
	}
	for _, tr := range r.Tracks {
		if len(tr.Points) < 2 || !tr.HasChainage || tr.Name == "" || !(tr.Score >= 0 && tr.Score <= 1) {
			t.Fatalf("%+v", tr)
		}
		for i, p := range tr.Points {
			if v := p.Chainage + p.Level + p.Ground + p.East + p.North + p.Lat + p.Lon; math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("point %d: %+v", i, p)
			}
			if i > 0 && p.Chainage < tr.Points[i-1].Chainage {
				t.Fatalf("chainage falls at point %d", i)
			}
		}
		for _, p := range tr.Pipes {
			if !(p.To >= p.From) || !(p.Bore >= 0) || !(p.Wall >= 0) {
				t.Fatalf("%+v", p)
			}
		}
	}
}

func fuzzReader(f *testing.F, read Reader, seeds ...[]byte) {
	for _, s := range seeds {
		f.Add(s, byte(0))
		f.Add(s, byte(1))
	}
	f.Fuzz(func(t *testing.T, data []byte, way byte) {
		o := Options{}
		if way&1 != 0 {
			o.PlanUnit, o.LevelUnit, o.Tolerance = "ft", "ft", 0.1
		}
		r, faults := read("f", data, o)
		sound(t, r, faults)
	})
}

func FuzzGPX(f *testing.F) {
	fuzzReader(f, GPX, gpxFile(`<trk><name>A</name><trkseg><trkpt lat="47" lon="10"><ele>5</ele><time>2026-01-01T00:00:00Z</time></trkpt><trkpt lat="47.1" lon="10"/></trkseg></trk>`),
		gpxFile(`<rte><rtept lat="-90" lon="180"/><rtept lat="90" lon="-180"/></rte><wpt lat="1" lon="1"/>`))
}

func FuzzGeoJSON(f *testing.F) {
	fuzzReader(f, GeoJSON, written("", func(lon, lat float64) (float64, float64) { return lon, lat }),
		[]byte(`{"type":"MultiLineString","crs":{"properties":{"name":"EPSG:3857"}},"coordinates":[[[1e6,2e6,3],[1.1e6,2e6,4]],[[1,2],[3,4]]]}`),
		[]byte(`{"type":"FeatureCollection","features":[{"type":"Feature","id":1,"properties":{"z":"5"},"geometry":{"type":"Point","coordinates":[1,2]}},{"type":"Feature","geometry":{"type":"GeometryCollection","geometries":[{"type":"MultiPoint","coordinates":[[1,2,3]]}]}}]}`),
		[]byte(`{"type":"LineString","coordinates":[[600000,5200000],[47,110,1e5]]}`))
}

func FuzzLandXML(f *testing.F) {
	fuzzReader(f, LandXML, landFile(metric, `<Alignments><Alignment name="Main" length="200" staStart="0">
<CoordGeom><Line length="100"><Start>0 0 1</Start><End>100 0 2</End></Line><Curve rot="cw" radius="100"><Start>100 0</Start><Center>100 100</Center><End>147.9426 12.2417</End></Curve></CoordGeom>
<Profile><ProfAlign name="P"><PVI>0 10</PVI><ParaCurve length="100">100 14</ParaCurve><CircCurve radius="1000" length="30">200 12</CircCurve><UnsymParaCurve lengthIn="20" lengthOut="30">300 14</UnsymParaCurve><PVI>400 10</PVI></ProfAlign><ProfSurf name="G"><PntList2D>0 1 2 3 2 4</PntList2D></ProfSurf></Profile></Alignment></Alignments>`),
		landFile(`<Imperial linearUnit="foot" diameterUnit="inch"/>`, `<PipeNetworks><PipeNetwork name="N"><Structs><Struct name="A"><Center>0 0</Center><Invert elev="5" refPipe="p"/></Struct><Struct name="B"><Center>9 9</Center><Invert elev="4" refPipe="p"/></Struct></Structs><Pipes><Pipe name="p" refStart="A" refEnd="B"><CircPipe diameter="12" thickness="1"/></Pipe></Pipes></PipeNetwork></PipeNetworks>`))
}
