package geodesy

import (
	"math"
	"testing"
)

// dms is an angle in degrees of degrees, minutes and seconds; the sign of the degrees counts for all.
func dms(d, m, s float64) float64 {
	return math.Copysign(math.Abs(d)+m/60+s/3600, d)
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s = %.9g, want %.9g ± %g", what, got, want, within)
	}
}

// IOGP Publication 373-7-2 (EPSG Guidance Note 7-2), worked example of the geographic/geocentric conversion, method 9602,
// from memory. Printed to the millimetre, its latitude and longitude to 0.001″ (0.03 m) and yet chosen to fit.
func TestPublishedGeocentric(t *testing.T) {
	x, y, z := WGS84.Geocentric(Position{dms(53, 48, 33.820), dms(2, 7, 46.380), 73.0})
	near(t, "X", x, 3771793.968, 0.001)
	near(t, "Y", y, 140253.342, 0.001)
	near(t, "Z", z, 5124304.349, 0.001)
}

// IOGP Publication 373-7-2, worked example of transverse Mercator, method 9807, on the British National Grid, from memory:
// 50°30′00″ N, 0°30′00″ E is 577274.98 E, 69740.49 N by the JHS formulas.
func TestPublishedTransverseMercator(t *testing.T) {
	g, err := GridOf(27700)
	if err != nil {
		t.Fatal(err)
	}
	e, n, ok := g.Coordinates(50.5, 0.5)
	if !ok {
		t.Fatal("no coordinates")
	}
	near(t, "E", e, 577274.98, 0.01)
	near(t, "N", n, 69740.49, 0.01)
	lat, lon, ok := g.Position(577274.98, 69740.49)
	if !ok {
		t.Fatal("no position")
	}
	near(t, "φ", lat, 50.5, 1e-7)
	near(t, "λ", lon, 0.5, 1e-7)
}

// Ordnance Survey, A guide to coordinate systems in Great Britain, annexe C, worked example (Caister water tower), from memory:
// 52°39′27.2531″ N, 1°43′4.5177″ E is 651409.903 E, 313177.270 N.
func TestPublishedNationalGrid(t *testing.T) {
	g, _ := GridOf(27700)
	e, n, _ := g.Coordinates(dms(52, 39, 27.2531), dms(1, 43, 4.5177))
	near(t, "E", e, 651409.903, 0.001)
	near(t, "N", n, 313177.270, 0.001)
}

// J. P. Snyder, Map Projections: A Working Manual, USGS Professional Paper 1395 (1987), p. 269, numerical example of the
// transverse Mercator, from memory: Clarke 1866, UTM zone 18, 40°30′ N, 73°30′ W: x 127106.5 m without false easting,
// y 4484124.4 m, k 0.9997989.
func TestPublishedSnyder(t *testing.T) {
	g := TransverseMercator{Ellipsoid: Clarke66, Lon: -75, Scale: 0.9996}
	e, n, _ := g.Forward(40.5, -73.5)
	near(t, "x", e, 127106.5, 0.1)
	near(t, "y", n, 4484124.4, 0.1)
	k, _ := g.ScaleAt(40.5, -73.5)
	near(t, "k", k, 0.9997989, 5e-8)
}

// IOGP Publication 373-7-2, worked example of Popular Visualisation Pseudo-Mercator, method 1024, from memory: 24°22′54.433″ N,
// 100°20′00.000″ W is 11169055.58 m west, 2800000.00 m north.
func TestPublishedWebMercator(t *testing.T) {
	g, _ := GridOf(3857)
	lat, lon, ok := g.Position(-11169055.58, 2800000.00)
	if !ok {
		t.Fatal("no position")
	}
	near(t, "φ", lat, dms(24, 22, 54.433), 2e-7)
	near(t, "λ", lon, -dms(100, 20, 0), 2e-7)
	e, n, _ := g.Coordinates(dms(24, 22, 54.433), -dms(100, 20, 0))
	near(t, "E", e, -11169055.58, 0.01)
	near(t, "N", n, 2800000.00, 0.01)
}

// Flinders Peak to Buninyong, the test line of the Geocentric Datum of Australia Technical Manual (ICSM), from memory: on GRS 80
// 54972.271 m; in MGA zone 55 273741.297 E 5796489.777 N with a scale of 1.00023056, and 228854.052 E 5828259.038 N. The
// grid distance of the ends follows from these.
func TestPublishedFlindersPeak(t *testing.T) {
	flinders := Position{-dms(37, 57, 3.72030), dms(144, 25, 29.52440), 0}
	buninyong := Position{-dms(37, 39, 10.15610), dms(143, 55, 35.38390), 0}
	s, ok := GRS80.Geodesic(flinders, buninyong)
	if !ok {
		t.Fatal("not converged")
	}
	near(t, "s", s, 54972.271, 0.0005)
	near(t, "level", GRS80.Level(flinders, buninyong), 54972.271, 0.003)
	g, _ := GridOf(28355)
	e, n, _ := g.Coordinates(flinders.Lat, flinders.Lon)
	near(t, "E", e, 273741.297, 0.0006)
	near(t, "N", n, 5796489.777, 0.0006)
	near(t, "k", 1/must(g.Ground(e, n, 0)), 1.00023056, 1e-8)
	e2, n2, _ := g.Coordinates(buninyong.Lat, buninyong.Lon)
	near(t, "E", e2, 228854.052, 0.001)
	near(t, "N", n2, 5828259.038, 0.001)
	// The line's scale by Simpson's rule over its ends and middle (the manual's own way) gives the grid distance of the ellipsoid's.
	k := (1/must(g.Ground(e, n, 0)) + 4/must(g.Ground((e+e2)/2, (n+n2)/2, 0)) + 1/must(g.Ground(e2, n2, 0))) / 6
	near(t, "grid distance", math.Hypot(e2-e, n2-n), s*k, 0.003)
}

func must(v float64, ok bool) float64 {
	if !ok {
		panic("no value")
	}
	return v
}

// T. Vincenty, Survey Review 23(176) (1975), table II: his five test lines, from memory. (a) on Bessel's ellipsoid, the others
// on the International one. Printed to the millimetre.
func TestPublishedVincenty(t *testing.T) {
	for _, c := range []struct {
		name             string
		e                Ellipsoid
		lat1, lat2, lon2 float64
		s                float64
	}{
		{"a", Bessel, dms(55, 45, 0), -dms(33, 26, 0), dms(108, 13, 0), 14110526.170},
		{"b", Hayford, dms(37, 19, 54.95367), dms(26, 7, 42.83946), dms(41, 28, 35.50729), 4085966.703},
		{"c", Hayford, dms(35, 16, 11.24862), dms(67, 22, 14.77638), dms(137, 47, 28.31435), 8084823.839},
		{"d", Hayford, dms(1, 0, 0), -dms(0, 59, 53.83076), dms(179, 17, 48.02997), 19960000.000},
		{"e", Hayford, dms(1, 0, 0), dms(1, 1, 15.18952), dms(179, 46, 17.84244), 19780006.558},
	} {
		s, ok := c.e.Geodesic(Position{Lat: c.lat1}, Position{Lat: c.lat2, Lon: c.lon2})
		if !ok {
			t.Errorf("line %s: not converged", c.name)
		}
		near(t, "line "+c.name, s, c.s, 0.0011)
	}
}

// E. Williams, Aviation Formulary, worked example, from memory: Los Angeles 33°57′ N 118°24′ W to New York 40°38′ N 73°47′ W
// is 0.623585 radians of a great circle.
func TestPublishedGreatCircle(t *testing.T) {
	near(t, "arc", GreatCircle(Position{dms(33, 57, 0), -dms(118, 24, 0), 0}, Position{dms(40, 38, 0), -dms(73, 47, 0), 0})/MeanRadius, 0.623585, 6e-7)
}
