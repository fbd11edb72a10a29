package geodesy

import "math"

// TransverseMercator is a map grid of that projection.
type TransverseMercator struct {
	Ellipsoid     Ellipsoid
	Lat, Lon      float64 `unit:"°"` // of the origin
	Scale         float64 `unit:"1"` // on the central meridian
	FalseEasting  float64 `unit:"m"`
	FalseNorthing float64 `unit:"m"`
}

// series are the coefficients of Krüger's series to the fourth power of the third flattening, forward and back, and the radius
// of the rectifying sphere. What is left out is below 0.1 mm within 3,000 km of the central meridian.
// Source: IOGP Publication 373-7-2 (EPSG Guidance Note 7-2), method 9807, JHS formulas; L. Krüger, Konforme Abbildung des
// Erdellipsoids in der Ebene, Potsdam 1912.
func (t TransverseMercator) series() (b float64, h, back [4]float64) {
	n := t.Ellipsoid.n()
	n2, n3, n4 := n*n, n*n*n, n*n*n*n
	b = t.Ellipsoid.A / (1 + n) * (1 + n2/4 + n4/64)
	h = [4]float64{
		n/2 - 2*n2/3 + 5*n3/16 + 41*n4/180,
		13*n2/48 - 3*n3/5 + 557*n4/1440,
		61*n3/240 - 103*n4/140,
		49561 * n4 / 161280,
	}
	back = [4]float64{
		n/2 - 2*n2/3 + 37*n3/96 - n4/360,
		n2/48 + n3/15 - 437*n4/1440,
		17*n3/480 - 37*n4/840,
		4397 * n4 / 161280,
	}
	return b, h, back
}

// conformal gives the tangent of the conformal latitude: τ′ = sinh(artanh sin φ − e artanh(e sin φ)).
func (t TransverseMercator) conformal(lat float64) float64 {
	e := math.Sqrt(t.Ellipsoid.e2())
	s := math.Sin(lat * radian)
	return math.Sinh(math.Atanh(s) - e*math.Atanh(e*s))
}

// sphere gives ξ′ and η′, transverse Mercator on the conformal sphere.
func (t TransverseMercator) sphere(lat, lon float64) (xi, eta, tau, cosL float64) {
	l := math.Remainder(lon-t.Lon, 360) * radian
	sinL, cosL := math.Sincos(l)
	tau = t.conformal(lat)
	return math.Atan2(tau, cosL), math.Asinh(sinL / math.Hypot(tau, cosL)), tau, cosL
}

// arc is the rectified arc from the equator to the latitude of the origin, divided by the radius of the rectifying sphere.
func (t TransverseMercator) arc(h [4]float64) float64 {
	if t.Lat == 0 {
		return 0
	}
	xi0 := math.Atan(t.conformal(t.Lat))
	xi := xi0
	for j, c := range h {
		xi += c * math.Sin(2*float64(j+1)*xi0)
	}
	return xi
}

// Forward gives the grid's coordinates in m of a latitude and longitude in degrees. ok is false from 80° of longitude off the central
// meridian on, and at the poles' far side, where the series do not hold.
func (t TransverseMercator) Forward(lat, lon float64) (east, north float64, ok bool) {
	if !t.near(lat, lon) {
		return 0, 0, false
	}
	b, h, _ := t.series()
	xi0, eta0, _, _ := t.sphere(lat, lon)
	xi, eta := xi0, eta0
	for j, c := range h {
		k := 2 * float64(j+1)
		xi += c * math.Sin(k*xi0) * math.Cosh(k*eta0)
		eta += c * math.Cos(k*xi0) * math.Sinh(k*eta0)
	}
	return t.FalseEasting + t.Scale*b*eta, t.FalseNorthing + t.Scale*b*(xi-t.arc(h)), true
}

// near tells whether the series hold.
func (t TransverseMercator) near(lat, lon float64) bool {
	return math.Abs(lat) < 89.9999 && math.Abs(math.Remainder(lon-t.Lon, 360)) < 80
}

// Inverse gives latitude and longitude in degrees of a point of the grid. ok is false where none has these coordinates, or
// the point is further than 3,000 km from the central meridian.
func (t TransverseMercator) Inverse(east, north float64) (lat, lon float64, ok bool) {
	b, h, back := t.series()
	eta := (east - t.FalseEasting) / (b * t.Scale)
	xi := (north-t.FalseNorthing)/(b*t.Scale) + t.arc(h)
	if !(math.Abs(eta) < 0.5) || !(math.Abs(xi) < math.Pi/2) {
		return 0, 0, false
	}
	xi0, eta0 := xi, eta
	for j, c := range back {
		k := 2 * float64(j+1)
		xi0 -= c * math.Sin(k*xi) * math.Cosh(k*eta)
		eta0 -= c * math.Cos(k*xi) * math.Sinh(k*eta)
	}
	lon = t.Lon + math.Atan2(math.Sinh(eta0), math.Cos(xi0))/radian
	// q = artanh sin β is the isometric latitude; artanh sin φ = q + e artanh(e sin φ), which contracts by e² a step.
	q := math.Asinh(math.Sin(xi0) / math.Hypot(math.Sinh(eta0), math.Cos(xi0)))
	e := math.Sqrt(t.Ellipsoid.e2())
	s := math.Tanh(q)
	for range 12 { // e²⁴ < 1e-25
		s = math.Tanh(q + e*math.Atanh(e*s))
	}
	return math.Asin(s) / radian, lon, true
}

// ScaleAt is the point scale factor: a length in the grid over the same length on the ellipsoid. ok as for [TransverseMercator.Forward].
// Source: C. F. F. Karney, Transverse Mercator with an accuracy of a few nanometers, J. Geod. 85 (2011) 475–485, eqs 23–28.
func (t TransverseMercator) ScaleAt(lat, lon float64) (k float64, ok bool) {
	if !t.near(lat, lon) {
		return 0, false
	}
	b, h, _ := t.series()
	xi, eta, tau, cosL := t.sphere(lat, lon)
	p, q := 1.0, 0.0
	for j, c := range h {
		m := 2 * float64(j+1)
		p += m * c * math.Cos(m*xi) * math.Cosh(m*eta)
		q += m * c * math.Sin(m*xi) * math.Sinh(m*eta)
	}
	s, c := math.Sincos(lat * radian)
	return t.Scale * b / t.Ellipsoid.A * math.Hypot(p, q) * math.Sqrt(1-t.Ellipsoid.e2()*s*s) / c / math.Hypot(tau, cosL), true
}
