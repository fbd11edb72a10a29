package pipe

import (
	"fmt"
	"math"

	"obvert/num"
)

// All functions of a depth take it normal to the pipe's axis, from the invert,
// in m. A depth at or below 0 is an empty bore, one at or above the bore a full
// one: both are real states, so nothing is clamped without cause. With
// R = bore/2 and half the water's angle φ from 0 to π, depth = R(1 − cos φ).

// halfAngle returns φ for a depth within the bore, accurate at both ends.
func halfAngle(depth, bore float64) float64 {
	return 2 * math.Atan2(math.Sqrt(depth), math.Sqrt(bore-depth))
}

// segmentShare is φ − sin φ cos φ, without cancellation at small φ.
func segmentShare(phi float64) float64 {
	if phi > 0.2 {
		return phi - math.Sin(phi)*math.Cos(phi)
	}
	p := phi * phi
	return phi * p * (2./3 - p*(2./15-p*(4./315-p*(2./2835-p*(4./155925)))))
}

// SegmentArea returns the area of water, m², at a depth, m, in a bore, m:
// R² (φ − sin φ cos φ).
func SegmentArea(depth, bore float64) float64 {
	switch {
	case depth <= 0:
		return 0
	case depth >= bore:
		return Area(bore)
	}
	return bore * bore / 4 * segmentShare(halfAngle(depth, bore))
}

// SegmentWidth returns the width of the water surface, m, at a depth, m, in a
// bore, m: 2√(depth (bore − depth)). It is zero in an empty or full bore.
func SegmentWidth(depth, bore float64) float64 {
	if depth <= 0 || depth >= bore {
		return 0
	}
	return 2 * math.Sqrt(depth*(bore-depth))
}

// SegmentPerimeter returns the wetted perimeter, m, at a depth, m, in a bore, m:
// bore·φ.
func SegmentPerimeter(depth, bore float64) float64 {
	switch {
	case depth <= 0:
		return 0
	case depth >= bore:
		return math.Pi * bore
	}
	return bore * halfAngle(depth, bore)
}

// HydraulicRadius returns area over wetted perimeter, m, at a depth, m, in a
// bore, m; zero in an empty one.
func HydraulicRadius(depth, bore float64) float64 {
	if depth <= 0 {
		return 0
	}
	return SegmentArea(depth, bore) / SegmentPerimeter(depth, bore)
}

// SegmentDepth returns the depth, m, at which a bore, m, holds an area of water,
// m²: the inverse of [SegmentArea]. The area must lie from 0 to that of the full
// bore (to within rounding); it panics elsewhere.
func SegmentDepth(area, bore float64) float64 {
	full := Area(bore)
	const rounding = 1e-12
	switch {
	case !(bore > 0) || !(area >= 0 && area <= full*(1+rounding)):
		panic(fmt.Sprintf("pipe: SegmentDepth of %g m² in a bore of %g m", area, bore))
	case area == 0:
		return 0
	case area >= full:
		return bore
	}
	if area > full/2 { // by the air's segment, which keeps its digits
		return bore - SegmentDepth(full-area, bore)
	}
	share := 4 * area / (bore * bore)
	// φ − sin φ cos φ < 2φ³/3, and the cube root is exact for small φ
	start := min(math.Cbrt(1.5*share), math.Pi/2)
	phi, _ := num.Newton(func(phi float64) (y, slope float64) {
		s := math.Sin(phi)
		return segmentShare(phi) - share, 2 * s * s
	}, start*(1+1e-9), start*(1-1e-9), 1.7, 0)
	half := math.Sin(phi / 2)
	return bore * half * half
}

// segmentIntegral is the integral of the area over the depth from 0, m³:
// R³ (sin φ − φ cos φ − sin³φ/3) in the bore, and a full bore's area for each
// metre above it.
func segmentIntegral(depth, bore float64) float64 {
	r := bore / 2
	switch {
	case depth <= 0:
		return 0
	case depth >= bore:
		return math.Pi*r*r*r + Area(bore)*(depth-bore)
	}
	phi := halfAngle(depth, bore)
	if phi < 0.1 { // its series, without cancellation
		p := phi * phi
		return r * r * r * p * p * phi * (2./15 - p*(11./315-p*(17./3780-p*(461./1247400))))
	}
	s, c := math.Sincos(phi)
	return r * r * r * (s - phi*c - s*s*s/3)
}

// WedgeVolume returns the volume of water, m³, in a straight length of pipe, m,
// with a depth, m, at either end that runs evenly from one to the other: a
// level surface in a sloped pipe. Depths may lie below 0 (the surface meets the
// invert on the way) and above the bore (it meets the obvert).
//
// It is the integral of the circular segment's area along the pipe, in closed
// form; where the two depths are within a few millionths of the bore of one
// another, by Gauss's two points.
func WedgeVolume(length, bore, depth1, depth2 float64) float64 {
	rise := depth2 - depth1
	if math.Abs(rise) < 1e-5*bore {
		mid, off := depth1+0.5*rise, rise/(2*math.Sqrt(3))
		return length * 0.5 * (SegmentArea(mid-off, bore) + SegmentArea(mid+off, bore))
	}
	return length * ((segmentIntegral(depth2, bore) - segmentIntegral(depth1, bore)) / rise)
}

// StandingVolume returns the volume of water, m³, that stands below a level, m
// above datum, in a straight length of pipe, m, of the given bore, m, with the
// inverts of its end sections at invert1 and invert2, m above datum. The ends
// are cut at right angles to the axis. A vertical pipe is included. It panics
// where the inverts differ by more than the length.
func StandingVolume(level, length, bore, invert1, invert2 float64) float64 {
	if !(length > 0) {
		if length == 0 {
			return 0
		}
		panic(fmt.Sprintf("pipe: StandingVolume in a length of %g m", length))
	}
	sine := (invert2 - invert1) / length
	if !(math.Abs(sine) <= 1+1e-9) {
		panic(fmt.Sprintf("pipe: StandingVolume: inverts %g m and %g m in a length of %g m", invert1, invert2, length))
	}
	cosine := math.Sqrt(max(0, 1-sine*sine))
	if cosine < 1e-7 { // vertical: the surface is square to the axis
		low := min(invert1, invert2)
		return Area(bore) * min(max(level-low, 0), length)
	}
	return WedgeVolume(length, bore, (level-invert1)/cosine, (level-invert2)/cosine)
}
