package geodesy

import "math"

// MeanRadius of the earth, m: the mean (2a + b)/3 of the half axes of GRS 80, R₁ of the IUGG, rounded to 0.1 m.
// Source: H. Moritz, Geodetic Reference System 1980, J. Geod. 74 (2000) 128 (from memory).
const MeanRadius = 6371008.8

// Level is the horizontal distance in m between two points at the level at which they lie: what a tape held level measures on the
// ground, and what chainage counts.
//
// It is the chord between the two earth-centred positions, each carried to the mean of the two heights, bent to the arc. Why so:
//
//   - Carried to the mean height, not to the ellipsoid, since the pipe lies on the ground: at 2,000 m a line is 0.31 m in each km
//     longer than its shadow on the ellipsoid.
//   - Carried to one height, not from point to point as they are: the difference of level belongs to the length along the slope,
//     which the line reckons from chainage and level. In the chord it would count twice.
//   - A chord, since it needs no series that may fail, keeps every digit for points a millimetre apart (a great circle by its arc
//     cosine does not), and is short of the arc by L³/24R² only: 1 µm in 1 km, 1 mm in 10 km. That too is added, by the series of
//     2R arcsin(c/2R) with R = √(ρν) + h, since some tracks have 50 km between points.
//
// Against the geodesic carried to the same height: 1e-9 of the length to 10 km, 3e-6 to 500 km (see TestLevelAgainstGeodesic).
func (e Ellipsoid) Level(a, b Position) float64 {
	h := (a.Height + b.Height) / 2
	x1, y1, z1 := e.Geocentric(Position{a.Lat, a.Lon, h})
	x2, y2, z2 := e.Geocentric(Position{b.Lat, b.Lon, h})
	c := math.Sqrt((x1-x2)*(x1-x2) + (y1-y2)*(y1-y2) + (z1-z2)*(z1-z2))
	x := c / (2 * (e.Radius((a.Lat+b.Lat)/2) + h))
	return c * (1 + x*x/6 + 3*x*x*x*x/40)
}

// Chainages are the chainages in m of a chain of points: sums of [Ellipsoid.Level], 0 for the first. They never fall.
func (e Ellipsoid) Chainages(points []Position) []float64 {
	s := make([]float64, len(points))
	for i := 1; i < len(points); i++ {
		s[i] = s[i-1] + e.Level(points[i-1], points[i])
	}
	return s
}

// GreatCircle is the distance in m on a sphere of [MeanRadius]: for comparison, up to 0.6 % off along a meridian.
// Source: R. W. Sinnott, Virtues of the Haversine, Sky and Telescope 68(2) (1984) 159.
func GreatCircle(a, b Position) float64 {
	u, v := math.Sin((b.Lat-a.Lat)/2*radian), math.Sin((b.Lon-a.Lon)/2*radian)
	q := math.Sqrt(u*u + math.Cos(a.Lat*radian)*math.Cos(b.Lat*radian)*v*v)
	return 2 * MeanRadius * math.Asin(min(q, 1)) // q passes 1 by rounding only, for two points opposite one another
}

// Geodesic is the shortest distance in m on the ellipsoid, heights left aside, by iteration to 0.1 mm and better. ok is false where it
// does not converge: for points all but opposite one another on the earth, which no pipe joins.
// Source: T. Vincenty, Direct and inverse solutions of geodesics on the ellipsoid with application of nested equations,
// Survey Review 23(176) (1975) 88–93.
func (e Ellipsoid) Geodesic(a, b Position) (distance float64, ok bool) {
	const steps = 200 // within half a turn some ten are enough
	f, l := e.f(), math.Remainder(b.Lon-a.Lon, 360)*radian
	axis := e.A * (1 - f)
	sinU1, cosU1 := reduced(a.Lat, f)
	sinU2, cosU2 := reduced(b.Lat, f)
	lambda := l
	for range steps {
		sinL, cosL := math.Sincos(lambda)
		p, q := cosU2*sinL, cosU1*sinU2-sinU1*cosU2*cosL
		sinS, cosS := math.Sqrt(p*p+q*q), sinU1*sinU2+cosU1*cosU2*cosL
		if sinS == 0 {
			return 0, cosS > 0
		}
		sigma := math.Atan2(sinS, cosS)
		sinA := cosU1 * cosU2 * sinL / sinS
		cos2A := 1 - sinA*sinA
		mid := 0.0 // cos 2σₘ; along the equator it has no weight
		if cos2A > 0 {
			mid = cosS - 2*sinU1*sinU2/cos2A
		}
		c := f / 16 * cos2A * (4 + f*(4-3*cos2A))
		before := lambda
		lambda = l + (1-c)*f*sinA*(sigma+c*sinS*(mid+c*cosS*(2*mid*mid-1)))
		if math.Abs(lambda) > math.Pi {
			return 0, false
		}
		if math.Abs(lambda-before) < 1e-13 {
			u2 := cos2A * (e.A*e.A - axis*axis) / (axis * axis)
			big := 1 + u2/16384*(4096+u2*(-768+u2*(320-175*u2)))
			small := u2 / 1024 * (256 + u2*(-128+u2*(74-47*u2)))
			ds := small * sinS * (mid + small/4*(cosS*(2*mid*mid-1)-small/6*mid*(4*sinS*sinS-3)*(4*mid*mid-3)))
			return axis * big * (sigma - ds), true
		}
	}
	return 0, false
}

// reduced is sine and cosine of the reduced latitude, tan U = (1 − f) tan φ.
func reduced(lat, f float64) (sin, cos float64) {
	s, c := math.Sincos(lat * radian)
	s *= 1 - f
	h := math.Hypot(s, c)
	return s / h, c / h
}
