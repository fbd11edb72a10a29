package geodesy

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"pgregory.net/rapid"
)

// numbers are what testdata/pyproj.py wrote: pyproj 3.4.1 on PROJ 9.1.1, a general-purpose library that shares nothing with this one.
type numbers struct {
	Grids []struct {
		Code             int
		Lat, Lon         float64
		East, North      float64
		BackLat, BackLon float64 `json:"-"`
	}
	Scales []struct {
		Code        int
		Lat, Lon, K float64
	}
	Lines []struct {
		Ellipsoid                 string
		Lat1, Lon1, Lat2, Lon2, S float64
	}
	Geocentric []struct{ Lat, Lon, H, X, Y, Z float64 }
}

func readNumbers(t *testing.T) (n numbers) {
	t.Helper()
	data, err := os.ReadFile("testdata/pyproj.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, &n); err != nil {
		t.Fatal(err)
	}
	if len(n.Grids) < 100 || len(n.Scales) < 100 || len(n.Lines) < 50 || len(n.Geocentric) < 4 {
		t.Fatalf("only %d, %d, %d, %d numbers", len(n.Grids), len(n.Scales), len(n.Lines), len(n.Geocentric))
	}
	return n
}

// Grids to 0.2 mm (the two half axes of WGS 84 and GRS 80 alone make 0.1 mm), scale factors to 1e-9, lines to 0.1 mm and 1e-9, earth-centred coordinates to 0.1 mm.
func TestAgainstPyproj(t *testing.T) {
	n := readNumbers(t)
	for _, c := range n.Grids {
		g, err := GridOf(c.Code)
		if err != nil {
			t.Error(err)
			continue
		}
		e, nn, ok := g.Coordinates(c.Lat, c.Lon)
		if !ok || math.Hypot(e-c.East, nn-c.North) > 2e-4 {
			t.Errorf("EPSG:%d %g %g: %.4f %.4f, want %.4f %.4f", c.Code, c.Lat, c.Lon, e, nn, c.East, c.North)
		}
		lat, lon, ok := g.Position(c.East, c.North)
		if !ok || math.Abs(lat-c.Lat) > 1e-9 || math.Abs(lon-c.Lon) > 1e-9 {
			t.Errorf("EPSG:%d %.4f %.4f: %.10f %.10f, want %.10f %.10f", c.Code, c.East, c.North, lat, lon, c.Lat, c.Lon)
		}
	}
	for _, c := range n.Scales {
		g, _ := GridOf(c.Code)
		if k, ok := g.plane.ScaleAt(c.Lat, c.Lon); !ok || math.Abs(k-c.K) > 1e-9 {
			t.Errorf("EPSG:%d %g %g: scale %.10f, want %.10f", c.Code, c.Lat, c.Lon, k, c.K)
		}
	}
	by := map[string]Ellipsoid{"WGS84": WGS84, "GRS80": GRS80, "airy": Airy, "bessel": Bessel, "intl": Hayford}
	for _, c := range n.Lines {
		s, ok := by[c.Ellipsoid].Geodesic(Position{Lat: c.Lat1, Lon: c.Lon1}, Position{Lat: c.Lat2, Lon: c.Lon2})
		if !ok || math.Abs(s-c.S) > max(1e-4, 1e-10*c.S) {
			t.Errorf("%+v: %.4f", c, s)
		}
	}
	for _, c := range n.Geocentric {
		x, y, z := WGS84.Geocentric(Position{c.Lat, c.Lon, c.H})
		if math.Abs(x-c.X)+math.Abs(y-c.Y)+math.Abs(z-c.Z) > 1e-4 {
			t.Errorf("%+v: %.4f %.4f %.4f", c, x, y, z)
		}
	}
}

// The level distance is the geodesic, carried from the ellipsoid to the height: to 1e-9 up to 10 km, 3e-6 up to 500 km.
func TestLevelAgainstGeodesic(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := Position{Lat: rapid.Float64Range(-80, 80).Draw(t, "lat"), Lon: rapid.Float64Range(-180, 180).Draw(t, "lon")}
		far := math.Pow(10, rapid.Float64Range(0, math.Log10(500e3)).Draw(t, "far"))
		turn := rapid.Float64Range(0, 2*math.Pi).Draw(t, "azimuth")
		b := Position{Lat: a.Lat + far*math.Cos(turn)/111e3, Lon: a.Lon + far*math.Sin(turn)/111e3/math.Cos(a.Lat*radian)}
		s, ok := WGS84.Geodesic(a, b)
		if !ok {
			t.Fatal("not converged")
		}
		within := 1e-9*s + 2e-6 // Vincenty's own noise on a short line
		if s > 10e3 {
			within = 3e-6 * s
			if math.Abs(a.Lat) > 75 {
				within *= 10
			}
		}
		if got := WGS84.Level(a, b); math.Abs(got-s) > within {
			t.Fatalf("level %.6f, geodesic %.6f", got, s)
		}
		a.Height = rapid.Float64Range(-400, 9000).Draw(t, "height")
		b.Height = a.Height
		if far < 10e3 {
			want := s * (1 + a.Height/WGS84.Radius(a.Lat)) // R by the azimuth differs from √(ρν) by up to 0.34 %
			if got := WGS84.Level(a, b); math.Abs(got-want) > 0.0045*math.Abs(a.Height)/6.36e6*s+1e-9*s+2e-6 {
				t.Fatalf("at %.0f m: %.6f, want %.6f", a.Height, got, want)
			}
		}
	})
}

// A difference of level does not lengthen the chainage, and turning the line round changes nothing.
func TestLevelIsHorizontal(t *testing.T) {
	a, b := Position{47, 10, 500}, Position{47.001, 10.001, 700}
	flat := WGS84.Level(Position{47, 10, 600}, Position{47.001, 10.001, 600})
	if got := WGS84.Level(a, b); math.Abs(got-flat) > 1e-9 {
		t.Errorf("%.9f with a step of level, %.9f without", got, flat)
	}
	if x, y := WGS84.Level(a, b), WGS84.Level(b, a); x != y {
		t.Errorf("%v there, %v back", x, y)
	}
	if s := WGS84.Chainages([]Position{a, a, b, a}); s[0] != 0 || s[1] != 0 || s[3] != 2*s[2] {
		t.Errorf("%v", s)
	}
}

// What a metre of the grid is worth: two points 1 km apart in the grid, by their positions.
func TestGroundAgainstLevel(t *testing.T) {
	for _, code := range []int{32632, 27700, 25833, 31467, 28355} {
		g, _ := GridOf(code)
		lat := 50.0
		if code == 28355 {
			lat = -37
		}
		for _, off := range []float64{-1.4, 0, 0.3, 2.8} {
			e, n, _ := g.Coordinates(lat, g.plane.Lon+off)
			lat1, lon1, _ := g.Position(e-300, n-400)
			lat2, lon2, _ := g.Position(e+300, n+400)
			for _, h := range []float64{0, 1500} {
				f, ok := g.Ground(e, n, h)
				if !ok {
					t.Fatal("no factor")
				}
				got := g.Ellipsoid().Level(Position{lat1, lon1, h}, Position{lat2, lon2, h})
				// 2 ppm for R by the azimuth at 1,500 m
				if math.Abs(got-1000*f) > 1e-5+2e-6*h {
					t.Errorf("EPSG:%d at %g°, %g m: %.6f on the ground, factor gives %.6f", code, off, h, got, 1000*f)
				}
			}
		}
	}
}

// Outside their range the functions say so.
func TestRefusals(t *testing.T) {
	for _, code := range []int{0, -1, 32600, 32661, 32700, 32761, 25827, 25839, 4326, 2154, 31470} {
		if g, err := GridOf(code); err == nil {
			t.Errorf("EPSG:%d is %s", code, g.Name)
		}
	}
	utm, _ := GridOf(32632)
	for _, p := range [][2]float64{{9e6, 5e6}, {5e5, 2e7}, {math.NaN(), 0}, {0, math.Inf(1)}} {
		if _, _, ok := utm.Position(p[0], p[1]); ok {
			t.Errorf("%v has a position", p)
		}
		if f, ok := utm.Ground(p[0], p[1], 0); ok {
			t.Errorf("%v has a factor %v", p, f)
		}
	}
	if _, _, ok := utm.Coordinates(90, 9); ok {
		t.Error("the pole has coordinates")
	}
	if _, _, ok := utm.Coordinates(0, 100); ok {
		t.Error("91° off has coordinates")
	}
	web, _ := GridOf(3857)
	if _, ok := web.Ground(0, 6e6, 0); ok {
		t.Error("Web Mercator has one scale")
	}
	if _, _, ok := web.Position(3e7, 0); ok {
		t.Error("a place beyond the map has a position")
	}
	if _, ok := WGS84.Geodesic(Position{Lat: 0.1}, Position{Lat: -0.1, Lon: 179.95}); ok {
		t.Error("points opposite one another have converged")
	}
	for _, p := range []Position{{91, 0, 0}, {0, 361, 0}, {math.NaN(), 0, 0}, {0, 0, math.Inf(1)}} {
		if p.Valid() {
			t.Errorf("%v is valid", p)
		}
	}
	if !Geographic(4326) || Geographic(3857) {
		t.Error("Geographic")
	}
}
