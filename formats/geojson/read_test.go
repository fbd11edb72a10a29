package geojson

import (
	"math"
	"strings"
	"testing"
)

// Members in any order, nested collections, identities, lines of the file.
func TestRead(t *testing.T) {
	const data = "{\"features\": [\n{\"geometry\": {\"coordinates\": [[1, 2, 3],\n[4, 5, null],[7,8,9,10]], \"type\": \"LineString\"}, \"id\": \"f\\u00fcnf\", \"type\": \"Feature\", \"properties\": {\"Title\": \"T\", \"NAME\": \"N\\n\", \"x\": {\"name\": \"deep\"}}},\n" +
		"{\"type\": \"GeometryCollection\", \"geometries\": [{\"type\": \"MultiPoint\", \"coordinates\": [[1,2]]}, null, {\"type\": \"Polygon\", \"coordinates\": [[[1]]]}]},\n" +
		"{\"type\": \"Feature\", \"id\": 7, \"geometry\": {\"type\": \"MultiLineString\", \"coordinates\": [[[1,2],[3,4]],[]]}},\n" +
		"{\"type\": \"Feature\", \"properties\": {\"Z\": \"4.5\", \"level\": \"NaN\"}, \"geometry\": {\"type\": \"Point\", \"coordinates\": [1,2]}}\n" +
		"], \"crs\": {\"type\": \"name\", \"properties\": {\"name\": \"urn:ogc:def:crs:EPSG::25832\"}}, \"type\": \"FeatureCollection\"}"
	f, faults := Read("x.json", []byte(data), []string{"z", "level"})
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	if len(f.Lines) != 2 || f.Lines[0].Name != "N" || f.Lines[1].Name != "7" || strings.Join(f.Lines[0].Keys, " ") != "x" || f.EPSG != 25832 || f.Areas != 1 || f.Empty != 1 {
		t.Fatalf("%+v", f)
	}
	p := f.Lines[0].Parts[0]
	if p[0] != (Position{1, 2, 3, 2, true}) || p[1] != (Position{4, 5, 0, 3, false}) || p[2].Z != 9 {
		t.Errorf("%+v", p)
	}
	if len(f.Points) != 2 || f.Points[1].Figures[0] != 4.5 || !math.IsNaN(f.Points[1].Figures[1]) {
		t.Errorf("%+v", f.Points)
	}
}

func TestCRS(t *testing.T) {
	for name, want := range map[string]int{"urn:ogc:def:crs:OGC:1.3:CRS84": 4326, "EPSG:3857": 3857, "urn:ogc:def:crs:EPSG::27700": 27700, "epsg:4326": 4326, "local:7": 0, "x": 0, "31467": 31467} {
		f, faults := Read("x", []byte(`{"type":"LineString","crs":{"type":"name","properties":{"name":"`+name+`"}},"coordinates":[[1,2],[3,4]]}`), nil)
		if len(faults) > 0 || f.EPSG != want || f.CRS != name {
			t.Errorf("%s: EPSG %d, %q, %v", name, f.EPSG, f.CRS, faults)
		}
	}
}

// A deep file is refused without a deep stack, a long one in time.
func TestBombs(t *testing.T) {
	for name, data := range map[string]string{
		"arrays":  `{"type":"LineString","coordinates":` + strings.Repeat("[", 1_000_000),
		"closed":  `{"type":"LineString","coordinates":` + strings.Repeat("[", 9_000) + strings.Repeat("]", 9_000) + "}",
		"objects": strings.Repeat(`{"type":"Feature","geometry":`, 5_000) + "null" + strings.Repeat("}", 5_000),
		"strings": `{"type":"LineString","coordinates":[` + strings.Repeat(`"\u0041",`, 300_000) + `1]}`,
	} {
		if f, faults := Read("x", []byte(data), nil); faults.Err() == nil || len(f.Lines) > 0 {
			t.Errorf("%s: %+v", name, f)
		} else if len(faults) > 10 {
			t.Errorf("%s: %d faults", name, len(faults))
		}
	}
}
