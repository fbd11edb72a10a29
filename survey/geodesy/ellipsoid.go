package geodesy

import "math"

const radian = math.Pi / 180

// Ellipsoid is a figure of the earth.
type Ellipsoid struct {
	Name              string
	A                 float64 `unit:"m"` // half the axis across the equator
	InverseFlattening float64 `unit:"1"` // 1/f
}

// The ellipsoids in use here. WGS 84 and GRS 80 differ by 0.1 mm in the polar half axis.
// Source: EPSG dataset, ellipsoids 7030, 7019, 7001, 7004, 7022 and 7008 (from memory).
var (
	WGS84    = Ellipsoid{"WGS 84", 6378137, 298.257223563}
	GRS80    = Ellipsoid{"GRS 1980", 6378137, 298.257222101}
	Airy     = Ellipsoid{"Airy 1830", 6377563.396, 299.3249646}
	Bessel   = Ellipsoid{"Bessel 1841", 6377397.155, 299.1528128}
	Hayford  = Ellipsoid{"International 1924", 6378388, 297}
	Clarke66 = Ellipsoid{"Clarke 1866", 6378206.4, 294.978698213898}
)

// f is the flattening.
func (e Ellipsoid) f() float64 { return 1 / e.InverseFlattening }

// e2 is the square of the first eccentricity, f(2 − f).
func (e Ellipsoid) e2() float64 { return e.f() * (2 - e.f()) }

// n is the third flattening, f/(2 − f).
func (e Ellipsoid) n() float64 { return e.f() / (2 - e.f()) }

// Position is a place by latitude, longitude and height.
type Position struct {
	Lat    float64 `unit:"°"` // north positive
	Lon    float64 `unit:"°"` // east positive
	Height float64 `unit:"m"` // above the ellipsoid
}

// Valid tells whether a position can be one: finite, latitude within ±90°, longitude within ±360°.
func (p Position) Valid() bool {
	return math.Abs(p.Lat) <= 90 && math.Abs(p.Lon) <= 360 && !math.IsNaN(p.Height) && !math.IsInf(p.Height, 0)
}

// Geocentric gives the earth-centred coordinates in m of a position: x towards 0° E on the equator, y towards 90° E, z to the
// north pole. Source: IOGP Publication 373-7-2 (EPSG Guidance Note 7-2), section on geographic/geocentric conversions, method 9602:
//
//	X = (ν + h) cos φ cos λ,  Y = (ν + h) cos φ sin λ,  Z = ((1 − e²) ν + h) sin φ,  ν = a/√(1 − e² sin² φ)
func (e Ellipsoid) Geocentric(p Position) (x, y, z float64) {
	sinLat, cosLat := math.Sincos(p.Lat * radian)
	sinLon, cosLon := math.Sincos(p.Lon * radian)
	nu := e.A / math.Sqrt(1-e.e2()*sinLat*sinLat)
	return (nu + p.Height) * cosLat * cosLon, (nu + p.Height) * cosLat * sinLon, ((1-e.e2())*nu + p.Height) * sinLat
}

// Radius is the mean radius of curvature √(ρν) in m at a latitude in degrees: that of the sphere which fits best there.
// Source: IOGP Publication 373-7-2, symbols: ρ = a(1 − e²)/(1 − e² sin² φ)^1.5, R = √(ρν).
func (e Ellipsoid) Radius(lat float64) float64 {
	s := math.Sin(lat * radian)
	return e.A * math.Sqrt(1-e.e2()) / (1 - e.e2()*s*s)
}
