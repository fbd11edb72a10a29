package landxml

import (
	"fmt"
	"math"
	"sort"
)

// Doubt is what is wrong with a designed profile at a place.
type Doubt struct {
	Line  int
	What  string
	Fatal bool // the profile cannot be set out
}

// mostChords is how many points a curve is set out by at most.
const mostChords = 10_000

// SetOut gives the points of a designed profile, by rising station, in the file's units: points of intersection, and vertical curves as
// chords no further than tolerance from the curve, measured vertically, with the curve's highest or lowest point among them. A curve
// is tangent to the grades before and after it.
//
// Parabola of length L about the point of intersection, with grades g₁, g₂ (tangents, not in per cent): z = z_b + g₁x + (g₂ − g₁)x²/2L.
// Two parabolas of lengths L₁, L₂ that meet above or below it: their curvatures are (g₂ − g₁)/(L₁ + L₂) times L₂/L₁ and L₁/L₂. A circle of
// radius R begins R tan(|θ₂ − θ₁|/2) before the point along the grade. Source: W. Schofield, M. Breach, Engineering
// Surveying, chapter on vertical curves (from memory); a chord of horizontal length h is z″h²/8 off a parabola.
func (p ProfAlign) SetOut(tolerance float64) (points []StationLevel, doubts []Doubt) {
	v := p.Verticals
	if !sort.SliceIsSorted(v, func(i, j int) bool { return v[i].Station < v[j].Station }) {
		v = append([]Vertical(nil), v...)
		sort.SliceStable(v, func(i, j int) bool { return v[i].Station < v[j].Station })
		doubts = append(doubts, Doubt{p.Line, "points of intersection out of order: sorted by station", false})
	}
	reached := math.Inf(-1) // station up to which the curve before goes
	for i := range v {
		if i > 0 && i < len(v)-1 && v[i].Kind != PVI && v[i].Station > v[i-1].Station && v[i+1].Station > v[i].Station {
			c, from, to, why := curve(v[i-1], v[i], v[i+1], tolerance)
			const slack = 1e-6 // curves that touch do so to the digits written
			switch {
			case why != "":
			case from < v[i-1].Station-slack*(1+math.Abs(from)) || from < reached-slack*(1+math.Abs(from)):
				why = "it begins before the curve or the point before it ends"
			case to > v[i+1].Station+slack*(1+math.Abs(to)):
				why = "it ends beyond the next point of intersection"
			}
			if why != "" {
				doubts = append(doubts, Doubt{v[i].Line, "a vertical curve that does not fit: " + why, true})
				continue
			}
			reached = to
			points = append(points, c...)
			continue
		}
		if v[i].Kind != PVI {
			doubts = append(doubts, Doubt{v[i].Line, "a vertical curve at an end of the profile or at a step has no grade on one side: taken as a point", false})
		}
		points = append(points, StationLevel{v[i].Station, v[i].Level, int32(v[i].Line)})
	}
	sort.SliceStable(points, func(i, j int) bool { return points[i].Station < points[j].Station }) // curves that touch, in the last digits
	return points, doubts
}

// curve sets out the curve at v between its neighbours.
func curve(before, v, after Vertical, tolerance float64) (points []StationLevel, from, to float64, why string) {
	g1 := (v.Level - before.Level) / (v.Station - before.Station)
	g2 := (after.Level - v.Level) / (after.Station - v.Station)
	at := func(s, z float64) { points = append(points, StationLevel{s, z, int32(v.Line)}) }
	if g1 == g2 {
		at(v.Station, v.Level)
		return points, v.Station, v.Station, ""
	}
	// parabola sets out a piece that begins at s, z with the grade g and has the second derivative k, of length l.
	parabola := func(s, z, g, k, l float64, last bool) {
		n := chords(l*math.Sqrt(math.Abs(k)/(8*tolerance)), tolerance)
		turn := -g / k // where it is level
		for i := 0; i < n || last && i == n; i++ {
			x := l * float64(i) / float64(n)
			at(s+x, z+g*x+k*x*x/2)
			if next := l * float64(i+1) / float64(n); turn > x && turn < next && i < n {
				at(s+turn, z+g*turn/2)
			}
		}
	}
	switch v.Kind {
	case ParaCurve:
		if !(v.Length > 0) {
			return nil, 0, 0, "it has no length"
		}
		from, to = v.Station-v.Length/2, v.Station+v.Length/2
		parabola(from, v.Level-g1*v.Length/2, g1, (g2-g1)/v.Length, v.Length, true)
	case UnsymParaCurve:
		l1, l2 := v.Length, v.LengthOut
		if !(l1 > 0 && l2 > 0) {
			return nil, 0, 0, "it has no lengths"
		}
		from, to = v.Station-l1, v.Station+l2
		k1, k2 := (g2-g1)/(l1+l2)*l2/l1, (g2-g1)/(l1+l2)*l1/l2
		z := v.Level - g1*l1
		parabola(from, z, g1, k1, l1, false)
		parabola(v.Station, z+g1*l1+k1*l1*l1/2, g1+k1*l1, k2, l2, true)
	case CircCurve:
		a1, a2 := math.Atan(g1), math.Atan(g2)
		r := v.Radius
		if !(r > 0) && v.Length > 0 {
			r = v.Length / math.Abs(a2-a1)
		}
		if !(r > 0) {
			return nil, 0, 0, "it has neither radius nor length"
		}
		tangent := r * math.Tan(math.Abs(a2-a1)/2)
		from, to = v.Station-tangent*math.Cos(a1), v.Station+tangent*math.Cos(a2)
		sag := math.Copysign(1, a2-a1) // the centre lies above
		s0, z0 := from-sag*r*math.Sin(a1), v.Level-tangent*math.Sin(a1)+sag*r*math.Cos(a1)
		// Off the chord by r(1 − cos δ/2), which stands over it by the steeper grade.
		steep := max(math.Abs(a1), math.Abs(a2))
		step := 2 * math.Acos(max(1-tolerance*math.Cos(steep)/r, 0))
		n := chords(math.Abs(a2-a1)/step, tolerance)
		for i := 0; i <= n; i++ {
			a := a1 + (a2-a1)*float64(i)/float64(n)
			at(s0+sag*r*math.Sin(a), z0-sag*r*math.Cos(a))
			if next := a1 + (a2-a1)*float64(i+1)/float64(n); i < n && a*next < 0 {
				at(s0, z0-sag*r)
			}
		}
	}
	if len(points) > mostChords {
		return nil, 0, 0, fmt.Sprintf("it takes more than %d points at this tolerance", mostChords)
	}
	return points, from, to, ""
}

// chords is a whole number of chords, 1 or more. One more than mostChords stands for too many.
func chords(n, tolerance float64) int {
	if !(tolerance > 0) || !(n < mostChords) {
		return mostChords + 1
	}
	return max(int(math.Ceil(n)), 1)
}
