package geodesy

import (
	"fmt"
	"math"
)

// Grid is a coordinate reference system whose plane coordinates can be turned into positions.
type Grid struct {
	Code     int    // EPSG
	Name     string // as the EPSG dataset has it
	Mercator bool   // Web Mercator: not a grid to measure in; see [Grid.Position]
	plane    TransverseMercator
}

// Geographic tells whether an EPSG code is one of latitude and longitude that are WGS 84 to a metre: WGS 84 (4326, 4979), ETRS89 (4258, 4937), NAD83 (4269).
func Geographic(code int) bool {
	switch code {
	case 4326, 4979, 4258, 4937, 4269:
		return true
	}
	return false
}

// GridOf finds a grid by its EPSG code. Known are WGS 84/UTM (32601–32660, 32701–32760), ETRS89/UTM (25828–25838), NAD83/UTM (26901–26923),
// GDA94 and GDA2020/MGA (28348–28358, 7846–7859), the British National Grid (27700), DHDN/Gauß–Krüger (31466–31469) and Web
// Mercator (3857 and its forerunners 3785, 900913, 102100). Source of the parameters: EPSG dataset (from memory); checked one by one
// against pyproj (TestAgainstPyproj).
func GridOf(code int) (Grid, error) {
	utm := func(name string, e Ellipsoid, zone int, south bool) (Grid, error) {
		t := TransverseMercator{Ellipsoid: e, Lon: float64(6*zone - 183), Scale: 0.9996, FalseEasting: 500000}
		if south {
			t.FalseNorthing = 10000000
		}
		return Grid{Code: code, Name: name, plane: t}, nil
	}
	switch {
	case code > 32600 && code <= 32660:
		return utm(fmt.Sprintf("WGS 84 / UTM zone %dN", code-32600), WGS84, code-32600, false)
	case code > 32700 && code <= 32760:
		return utm(fmt.Sprintf("WGS 84 / UTM zone %dS", code-32700), WGS84, code-32700, true)
	case code >= 25828 && code <= 25838:
		return utm(fmt.Sprintf("ETRS89 / UTM zone %dN", code-25800), GRS80, code-25800, false)
	case code >= 26901 && code <= 26923:
		return utm(fmt.Sprintf("NAD83 / UTM zone %dN", code-26900), GRS80, code-26900, false)
	case code >= 28348 && code <= 28358:
		return utm(fmt.Sprintf("GDA94 / MGA zone %d", code-28300), GRS80, code-28300, true)
	case code >= 7846 && code <= 7859:
		return utm(fmt.Sprintf("GDA2020 / MGA zone %d", code-7800), GRS80, code-7800, true)
	case code >= 31466 && code <= 31469:
		z := code - 31464
		return Grid{Code: code, Name: fmt.Sprintf("DHDN / 3-degree Gauss-Kruger zone %d", z),
			plane: TransverseMercator{Ellipsoid: Bessel, Lon: float64(3 * z), Scale: 1, FalseEasting: float64(z)*1e6 + 500000}}, nil
	case code == 27700:
		return Grid{Code: code, Name: "OSGB36 / British National Grid",
			plane: TransverseMercator{Airy, 49, -2, 0.9996012717, 400000, -100000}}, nil
	case code == 3857 || code == 3785 || code == 900913 || code == 102100:
		return Grid{Code: code, Name: "WGS 84 / Pseudo-Mercator", Mercator: true, plane: TransverseMercator{Ellipsoid: WGS84}}, nil
	}
	return Grid{}, fmt.Errorf("no grid of EPSG:%d is known here", code)
}

// Ellipsoid is the figure of the earth that the grid's positions count on.
func (g Grid) Ellipsoid() Ellipsoid { return g.plane.Ellipsoid }

// Position gives latitude and longitude, on the grid's own datum, of a point of the grid in m. For Web Mercator it undoes the
// projection, so that lengths come out as on the ground: at 24°, 2,000 m on the ground are some 2,190 m there. ok is false where no point has
// these coordinates. On a datum other than WGS 84 the position may be some 100 m from where WGS 84 has it; lengths are the
// same to a few parts in a million.
// Source for Web Mercator: IOGP Publication 373-7-2, method 1024: φ = 90° − 2 arctan e^(−N/a), λ = E/a.
func (g Grid) Position(east, north float64) (lat, lon float64, ok bool) {
	if !g.Mercator {
		return g.plane.Inverse(east, north)
	}
	const end = math.Pi * 6378137 // m; the map is as wide as the earth, and as high up to 85.06°
	if !(math.Abs(east) <= end*1.000001) || !(math.Abs(north) <= end*1.000001) {
		return 0, 0, false
	}
	a := g.plane.Ellipsoid.A
	return math.Atan(math.Sinh(north/a)) / radian, east / a / radian, true
}

// Coordinates gives the grid's coordinates in m of a position on its own datum.
func (g Grid) Coordinates(lat, lon float64) (east, north float64, ok bool) {
	if !g.Mercator {
		return g.plane.Forward(lat, lon)
	}
	if !(math.Abs(lat) <= 85.06) {
		return 0, 0, false
	}
	a := g.plane.Ellipsoid.A
	return a * lon * radian, a * math.Asinh(math.Tan(lat*radian)), true
}

// Ground is what one metre of the grid is worth on the ground, at a place and a height above the ellipsoid in m:
//
//	ground/grid = (1 + h/R)/k
//
// with the point scale factor k and the mean radius R. ok is false for Web Mercator, which has not one scale at a place but two that
// differ by up to 0.7 %, and outside the grid.
// Source: IOGP Publication 373-7-2, introduction to scale factors; the height factor is (R + h)/R, as in every textbook of surveying (common practice).
func (g Grid) Ground(east, north, height float64) (factor float64, ok bool) {
	if g.Mercator {
		return 0, false
	}
	lat, lon, ok := g.plane.Inverse(east, north)
	if !ok {
		return 0, false
	}
	k, ok := g.plane.ScaleAt(lat, lon)
	if !ok {
		return 0, false
	}
	return (1 + height/g.plane.Ellipsoid.Radius(lat)) / k, true
}
