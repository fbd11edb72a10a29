package survey

import (
	"fmt"
	"math"
)

// Thinned is what is left of a profile.
type Thinned struct {
	Keep    []int   // indices of the points kept, rising; always the first and the last
	Largest float64 `unit:"m"` // largest vertical distance of a dropped point from what is left, over all levels given; at most the tolerance
	Summits int     // highs lower than the tolerance on one side at least that are gone: air may gather there too
	Flat    float64 `unit:"m"` // the height of the greatest of them above the higher of its two lows
}

// lookahead is how many points in succession may lie outside the cone before a leg is ended. It bounds the work to so many
// visits of each point, whatever the profile's shape.
const lookahead = 64

// Thin chooses the points of a profile that are enough to tell it to a tolerance in m, straight from point to point: no dropped
// point is further than that, measured vertically, from what is left. Chainage never falls; levels are one or more columns for the
// same points (pipe and ground, say), each held to the tolerance. The points of must, if any, are kept.
//
// Always kept, besides the first and the last: the highest point of each summit and the lowest of each low, of the
// first column, where they stand more than the tolerance above or below their neighbours of the other sort; and
// of points at one chainage (a vertical step) the first, the last, the highest and the lowest. A tolerance of 0 keeps all.
//
// Method: legs as long as they can be made. From a kept point, the directions that pass each further point within the tolerance
// form a cone that narrows; the last point whose own direction lies in the cone of those before it ends the leg (one pass, as in
// J. Sklansky, V. Gonzalez, Fast polygonal approximation of digitized curves, Pattern Recognition 12 (1980) 327–331, from
// memory, with vertical in place of perpendicular distances). Time grows with the number of points, at most 64 visits each.
func Thin(chainage []float64, tolerance float64, must []int, levels ...[]float64) (Thinned, error) {
	if err := thinnable(chainage, tolerance, must, levels); err != nil {
		return Thinned{}, err
	}
	n := len(chainage)
	keep := make([]bool, n)
	if tolerance == 0 || n < 3 {
		for i := range keep {
			keep[i] = true
		}
	} else {
		keep[0], keep[n-1] = true, true
		for _, i := range must {
			keep[i] = true
		}
		keepSteps(keep, chainage, levels)
		keepTurns(keep, levels[0], tolerance)
		a := 0
		for b := 1; b < n; b++ {
			if keep[b] {
				fill(keep, chainage, levels, tolerance, a, b)
				a = b
			}
		}
	}
	var t Thinned
	for i, k := range keep {
		if k {
			t.Keep = append(t.Keep, i)
		}
	}
	for j := 1; j < len(t.Keep); j++ {
		t.Largest = max(t.Largest, furthest(chainage, levels, t.Keep[j-1], t.Keep[j]))
	}
	t.Summits, t.Flat = flattened(keep, levels[0])
	return t, nil
}

// thinnable tells what makes a profile unfit.
func thinnable(chainage []float64, tolerance float64, must []int, levels [][]float64) error {
	if !(tolerance >= 0) || math.IsInf(tolerance, 0) {
		return fmt.Errorf("a tolerance of %g m: it must be 0 or more", tolerance)
	}
	if len(levels) == 0 {
		return fmt.Errorf("a profile without levels")
	}
	for _, z := range levels {
		if len(z) != len(chainage) {
			return fmt.Errorf("%d levels for %d chainages", len(z), len(chainage))
		}
		for i, v := range z {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return fmt.Errorf("point %d has no level", i+1)
			}
		}
	}
	for i, s := range chainage {
		if math.IsNaN(s) || math.IsInf(s, 0) {
			return fmt.Errorf("point %d has no chainage", i+1)
		}
		if i > 0 && s < chainage[i-1] {
			return fmt.Errorf("chainage falls at point %d, from %g m to %g m", i+1, chainage[i-1], s)
		}
	}
	for _, i := range must {
		if i < 0 || i >= len(chainage) {
			return fmt.Errorf("a point %d to be kept that is not there", i+1)
		}
	}
	return nil
}

// keepSteps keeps of each group of points at one chainage the first and last, and the highest and lowest of each column: what is left is
// then the same vertical.
func keepSteps(keep []bool, s []float64, levels [][]float64) {
	for a := 0; a < len(s); {
		b := a + 1
		for b < len(s) && s[b] == s[a] {
			b++
		}
		if b > a+1 {
			keep[a], keep[b-1] = true, true
			for _, z := range levels {
				high, low := a, a
				for i := a; i < b; i++ {
					if z[i] > z[high] {
						high = i
					}
					if z[i] < z[low] {
						low = i
					}
				}
				keep[high], keep[low] = true, true
			}
		}
		a = b
	}
}

// keepTurns keeps the highest point of each summit and the lowest of each low. A high is one when the profile has
// fallen from it by more than the tolerance, a low likewise: so noise smaller than that makes none. Of a level top both ends are kept.
func keepTurns(keep []bool, z []float64, tolerance float64) {
	high, low := 0, 0 // since the last turn
	way := 0          // 1 rising from the last low, −1 falling from the last high, 0 not known
	mark := func(i int, back int) {
		keep[i] = true
		last := i
		for j := i + 1; j <= back && z[j] == z[i]; j++ {
			last = j
		}
		keep[last] = true
	}
	for i := range z {
		if z[i] > z[high] {
			high = i
		}
		if z[i] < z[low] {
			low = i
		}
		switch {
		case way >= 0 && z[high]-z[i] > tolerance:
			mark(high, i)
			way, low = -1, i
		case way <= 0 && z[i]-z[low] > tolerance:
			mark(low, i)
			way, high = 1, i
		}
	}
}

// fill keeps points between the kept points a and b until all that are dropped lie within the tolerance. Chainage rises strictly
// from a to b, or the two are neighbours: see [keepSteps].
func fill(keep []bool, s []float64, levels [][]float64, tolerance float64, a, b int) {
	if b-a < 2 || s[b] == s[a] {
		return
	}
	// The cone is held a few roundings narrower than the tolerance, so that the guarantee holds in the last digit too.
	greatest := 0.0
	for _, z := range levels {
		for _, v := range z[a : b+1] {
			greatest = max(greatest, math.Abs(v))
		}
	}
	tol := max(tolerance-16*greatest*0x1p-52, 0)
	type cone struct{ lo, hi float64 }
	cones := make([]cone, len(levels))
	for a < b {
		for k := range cones {
			cones[k] = cone{math.Inf(-1), math.Inf(1)}
		}
		last, bad := a+1, 0
	leg:
		for i := a + 1; i <= b; i++ {
			ds := s[i] - s[a]
			inside := true
			for k, z := range levels {
				slope := (z[i] - z[a]) / ds
				inside = inside && slope >= cones[k].lo && slope <= cones[k].hi
			}
			if inside {
				last, bad = i, 0
			} else if bad++; bad > lookahead {
				break
			}
			for k, z := range levels {
				dz := z[i] - z[a]
				cones[k].lo = max(cones[k].lo, (dz-tol)/ds)
				cones[k].hi = min(cones[k].hi, (dz+tol)/ds)
				if cones[k].lo > cones[k].hi {
					break leg
				}
			}
		}
		a = last
		keep[a] = true
	}
}

// furthest is the largest vertical distance in m of the points between a and b from the straight line between these.
func furthest(s []float64, levels [][]float64, a, b int) float64 {
	far := 0.0
	if s[b] == s[a] {
		return 0 // a vertical step: see keepSteps
	}
	for _, z := range levels {
		for i := a + 1; i < b; i++ {
			far = max(far, math.Abs(z[i]-between(s, z, a, b, s[i])))
		}
	}
	return far
}

// between is the level at a chainage on the straight line from point a to point b.
func between(s, z []float64, a, b int, at float64) float64 {
	t := (at - s[a]) / (s[b] - s[a])
	return z[a]*(1-t) + z[b]*t
}

// flattened counts the highs of the profile that are not among the points kept, and gives the height of the greatest above the
// higher of the two lows beside it.
func flattened(keep []bool, z []float64) (count int, greatest float64) {
	low := z[0]
	for i := 1; i < len(z)-1; {
		j := i
		for j < len(z)-1 && z[j+1] == z[i] {
			j++
		}
		low = min(low, z[i])
		if j < len(z)-1 && z[i-1] < z[i] && z[j+1] < z[i] {
			right := z[i]
			for k := j + 1; k < len(z) && z[k] <= right; k++ {
				right = z[k]
			}
			gone := true
			for k := i; k <= j; k++ {
				gone = gone && !keep[k]
			}
			if gone {
				count++
				greatest = max(greatest, z[i]-max(low, right))
			}
			low = z[i]
		}
		i = j + 1
	}
	return count, greatest
}
