package survey

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"obvert/survey/geodesy"
)

// ridge is a line of three points at 47° N, 10° E.
var ridge = [][3]float64{{10, 47, 500}, {10.01, 47, 520}, {10.01, 47.01, 515.5}}

// written is the line in coordinates made by f.
func written(crs string, f func(lon, lat float64) (float64, float64)) []byte {
	var c []string
	for _, p := range ridge {
		x, y := f(p[0], p[1])
		c = append(c, fmt.Sprintf("[%.9f, %.9f, %g]", x, y, p[2]))
	}
	if crs != "" {
		crs = `"crs": {"type": "name", "properties": {"name": "` + crs + `"}},` + "\n"
	}
	return []byte("{\"type\": \"FeatureCollection\",\n" + crs + "\"features\": [{\"type\": \"Feature\", \"properties\": {\"name\": \"Ridge\", \"dn\": 300},\n" +
		"\"geometry\": {\"type\": \"LineString\", \"coordinates\": [\n" + strings.Join(c, ",\n") + "]}}]}\n")
}

// The same line in degrees, swapped, in UTM, on the British grid's neighbour and in Web Mercator has the same chainage on the ground.
func TestGeoJSONGrids(t *testing.T) {
	var want [3]float64
	for i := 1; i < 3; i++ {
		a, b := ridge[i-1], ridge[i]
		want[i] = want[i-1] + geodesy.WGS84.Level(geodesy.Position{Lat: a[1], Lon: a[0], Height: a[2]}, geodesy.Position{Lat: b[1], Lon: b[0], Height: b[2]})
	}
	in := func(code int) func(lon, lat float64) (float64, float64) {
		g, err := geodesy.GridOf(code)
		if err != nil {
			t.Fatal(err)
		}
		return func(lon, lat float64) (float64, float64) {
			e, n, ok := g.Coordinates(lat, lon)
			if !ok {
				t.Fatal("no coordinates")
			}
			return e, n
		}
	}
	for _, c := range []struct {
		crs, word string
		f         func(lon, lat float64) (float64, float64)
	}{
		{"", "47.0000° N, 10.0000° E", func(lon, lat float64) (float64, float64) { return lon, lat }},
		{"urn:ogc:def:crs:OGC:1.3:CRS84", "47.0000° N", func(lon, lat float64) (float64, float64) { return lon, lat }},
		{"urn:ogc:def:crs:EPSG::25832", "ETRS89 / UTM zone 32N", in(25832)},
		{"EPSG:32632", "a metre of the grid being worth 1.000", in(32632)},
		{"EPSG:3857", "a metre of the grid being worth 0.68", in(3857)},
	} {
		r, faults := GeoJSON("line.geojson", written(c.crs, c.f), Options{})
		if faults.Err() != nil {
			t.Errorf("%s: %v", c.crs, faults)
			continue
		}
		tr := r.Tracks[0]
		for i, p := range tr.Points {
			if math.Abs(p.Chainage-want[i]) > 0.002 || p.Level != ridge[i][2] || p.Where != i+4+boolInt(c.crs != "") {
				t.Errorf("%q: %+v, want chainage %.3f", c.crs, p, want[i])
			}
		}
		if tr.Name != "Ridge" || !strings.Contains(strings.Join(r.Took, "\n"), c.word) || !strings.Contains(strings.Join(r.Left, "\n"), "dn") {
			t.Errorf("%q: %q, left %q", c.crs, r.Took, r.Left)
		}
		if has(faults, "survey.web-mercator") != (c.crs == "EPSG:3857") {
			t.Errorf("%q: %v", c.crs, faults)
		}
	}
}

func boolInt(b bool) int {
	if b {
		return 1
	}
	return 0
}

func TestGeoJSONSwapped(t *testing.T) {
	data := []byte(`{"type":"LineString","coordinates":[[47,110,5],[47.01,110,6]]}`)
	r, faults := GeoJSON("x.json", data, Options{})
	if faults.Err() != nil || !has(faults, "survey.swapped") {
		t.Fatal(faults)
	}
	if p := r.Tracks[0].Points[0]; p.Lat != 47 || p.Lon != 110 {
		t.Errorf("%+v", p)
	}
}

func TestGeoJSONPlane(t *testing.T) {
	data := []byte(`{"type":"MultiLineString","coordinates":[[[600000,5200000,5],[600300,5200400,6]],[[600300,5200400,6],[600310,5200400,7]],[[600320,5200400,7],[600320,5200400,9]]]}`)
	if _, faults := GeoJSON("x.json", data, Options{}); faults.Err() == nil || !has(faults, "no grid named") || !has(faults, "Web Mercator") {
		t.Error(faults)
	}
	r, faults := GeoJSON("x.json", data, Options{PlanUnit: "m"})
	if faults.Err() != nil || !has(faults, "survey.plane") || !has(faults, "survey.segments") {
		t.Fatal(faults)
	}
	p := r.Tracks[0].Points
	if len(p) != 5 || p[1].Chainage != 500 || p[2].Chainage != 510 || p[4].Chainage != 520 || p[4].Level != 9 {
		t.Errorf("%+v", p)
	}
	if _, faults := GeoJSON("x.json", []byte(strings.Replace(string(data), "{", `{"crs":{"properties":{"name":"EPSG:2154"}},`, 1)), Options{}); !has(faults, "grid that is not known") {
		t.Error(faults)
	}
}

func TestGeoJSONPoints(t *testing.T) {
	data := []byte(`{"type":"FeatureCollection","features":[
{"type":"Feature","properties":{"Level":"12.5"},"geometry":{"type":"Point","coordinates":[10,47]}},
{"type":"Feature","properties":{"level":13},"geometry":{"type":"Point","coordinates":[10,47.001]}},
{"type":"Feature","properties":null,"geometry":{"type":"Point","coordinates":[10,47.002,14]}},
{"type":"Feature","properties":{},"geometry":null},
{"type":"Feature","geometry":{"type":"Polygon","coordinates":[]}}]}`)
	r, faults := GeoJSON("x.json", data, Options{})
	if faults.Err() != nil {
		t.Fatal(faults)
	}
	p := r.Tracks[0].Points
	if len(p) != 3 || p[0].Level != 12.5 || p[1].Level != 13 || p[2].Level != 14 || p[2].Where != 4 {
		t.Errorf("%+v", p)
	}
	if left := strings.Join(r.Left, "; "); !strings.Contains(left, "1 area") || !strings.Contains(left, "1 feature without") {
		t.Errorf("%q", left)
	}
}

func TestGeoJSONFaults(t *testing.T) {
	for data, word := range map[string]string{
		``:            "not JSON",
		"{\n\"a\":\n": "x.json:2: not JSON",
		`[]`:          "not a GeoJSON object",
		`{"type":"LineString","coordinates":[[1],[2,3]]}`:                                            "two or three numbers",
		`{"type":"LineString","coordinates":["a",[2,3],[2,4]]}`:                                      "two or three numbers",
		`{"type":"LineString","coordinates":7}`:                                                      "no array",
		`{"type":"LineString","coordinates":[[1,1e999],[2,3]]}`:                                      "two or three numbers",
		`{"type":"LineString","coordinates":[[1,1],[1,1]]}`:                                          "no line of two places",
		`{"type":"Feature"}`:                                                                         "no line and no chain",
		`{"type":"Road"}`:                                                                            "geojson.type",
		`{"type":"LineString","coordinates":[[0,0],[1,2]]}{"a":1}`:                                   "Several JSON texts",
		strings.Repeat(`{"type":"GeometryCollection","geometries":[`, 30) + strings.Repeat(`]}`, 30): "20 deep",
		"\xff\xfe{\x00": "UTF-16",
	} {
		r, faults := GeoJSON("x.json", []byte(data), Options{})
		if faults.Err() == nil || !has(faults, word) || len(r.Tracks) > 0 {
			t.Errorf("%.60s: %v says nothing of %q", data, faults, word)
		}
	}
}
