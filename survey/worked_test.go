package survey

import (
	"math"
	"testing"

	"obvert/formats/landxml"
	"obvert/internal/worked"
	"obvert/survey/geodesy"
)

// TestWorkedNumbers holds the worked numbers of the page on geodesy.
func TestWorkedNumbers(t *testing.T) {
	at := func(lat, h float64) geodesy.Position { return geodesy.Position{Lat: lat, Lon: 10, Height: h} }
	level := func(h float64) float64 { return geodesy.WGS84.Level(at(47, h), at(47.01, h)) }
	ground := func(code int, e, n, h float64) float64 {
		g, err := geodesy.GridOf(code)
		if err != nil {
			t.Fatal(err)
		}
		f, ok := g.Ground(e, n, h)
		if !ok {
			t.Fatal("no factor")
		}
		return f
	}
	web, err := geodesy.GridOf(3857)
	if err != nil {
		t.Fatal(err)
	}
	e1, n1, _ := web.Coordinates(48, 10)
	e2, n2, _ := web.Coordinates(48.001, 10.001)
	curve := landxml.ProfAlign{Verticals: []landxml.Vertical{{Station: 0, Level: 10}, {Kind: landxml.ParaCurve, Station: 100, Level: 14, Length: 100}, {Station: 200, Level: 12}}}
	points, _ := curve.SetOut(0.005)
	top, chord := points[0], 0.0
	for i, p := range points {
		if p.Level > top.Level {
			top = p
		}
		if i > 0 && p.Station > 50 && p.Station < 150.0001 {
			chord = max(chord, p.Station-points[i-1].Station)
		}
	}
	thin, err := Thin([]float64{0, 100, 200, 300, 400, 500}, 0.16, nil, []float64{0, 2, 4.3, 4.1, 8, 10})
	if err != nil {
		t.Fatal(err)
	}
	worked.Hold(t, "geodesy.md", map[string]float64{
		"level": level(500), "ellipsoid": level(0), "sphere": geodesy.GreatCircle(at(47, 0), at(47.01, 0)),
		"height": (level(1000)/level(0) - 1) * 1000, "bend": 1e12 / (24 * math.Pow(geodesy.WGS84.Radius(47), 2)) * 1e3,
		"centre": ground(32632, 500000, 5.2e6, 0), "edge": ground(32632, 727000, 5.2e6, 0), "high": ground(32632, 500000, 5.2e6, 2000),
		"web": geodesy.WGS84.Level(geodesy.Position{Lat: 48, Lon: 10}, geodesy.Position{Lat: 48.001, Lon: 10.001}) / math.Hypot(e2-e1, n2-n1),
		"top": top.Level, "station": top.Station, "chord": chord, "thinned": thin.Largest, "kept": float64(len(thin.Keep)),
	})
}
