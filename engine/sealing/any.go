package sealing

import (
	"math"
	"slices"

	"obvert/num"
)

const (
	// negligible is the probability below which a valve does not change that of any.
	negligible = 1e-10
	// leastOwn is the share of a common error below which an own error is not resolved.
	leastOwn = 1.0 / 1000
	// reach is how far the normal errors are followed, in standard deviations; 1e-15 lies beyond.
	reach = 8.0
	// stepPerWidth is the step of the trapezoid rule against the width σ of the steepest rise: the error of the rule for
	// Φ(z/σ)·φ(z) is of the order exp(−2π²σ²/step²) (Trefethen and Weideman 2014, sec. 5), here 1e-6.
	stepPerWidth = 1.2
	// largestStep resolves φ itself to 1e-15.
	largestStep = 0.5
	// coarsest is the smallest step where three errors are nested, which their smoothing of one another allows.
	coarsest = 0.25
)

// anyDrips is the probability that at least one valve drips in case k.
func (s *solver) anyDrips(k int) float64 {
	var act []int
	s.remarkLeftOut(k)
	for i := range s.lots {
		c := &s.res.Valves[i].Cells[k]
		if !s.lots[i][k].counts || c.Probability < negligible {
			continue
		}
		if c.Probability > 1-negligible {
			act = []int{i}
			break
		}
		act = append(act, i)
	}
	switch len(act) {
	case 0:
		return 0
	case 1:
		return s.res.Valves[act[0]].Cells[k].Probability
	}
	return s.newJoint(k, act).any()
}

// remarkLeftOut says how many valves the probability of any leaves out in case k.
func (s *solver) remarkLeftOut(k int) {
	left := 0
	for i := range s.res.Valves {
		if s.res.Valves[i].Cells[k].State == Unrated {
			left++
		}
	}
	if left > 0 {
		s.note("sealing.any-incomplete", s.in.Cases[k].Name, "the probability that any valve drips leaves out %d whose state is not known", left)
	}
}

// joint is the common error of several valves in one case.
type joint struct {
	s      *solver
	k      int
	groups [][]int // valves by the level they stand under
	level  []float64
	// One level over all is one error with the datum: both shift all heads alike. ofShift is the datum's part of a shift,
	// leftOver what stays uncertain of the datum once the shift is given.
	shift, ofShift, leftOver float64
	rough                    bool    // roughness enters
	own                      float64 // m, the smallest own error
	steepest                 float64 // m, the largest effect of roughness
	least                    float64 // m, own errors below this are not resolved
}

func (s *solver) newJoint(k int, act []int) *joint {
	u := s.in.Uncertainty
	j := &joint{s: s, k: k, shift: u.Datum, ofShift: 1, own: math.Inf(1)}
	j.split(act)
	if len(j.groups) == 1 && j.level[0] > 0 { // merge level and datum
		v := j.level[0]
		j.shift = math.Hypot(u.Datum, v)
		j.ofShift = u.Datum * u.Datum / (j.shift * j.shift)
		j.leftOver = u.Datum * v / j.shift
		j.level[0] = 0
	}
	largest := j.shift
	for _, v := range j.level {
		largest = max(largest, v)
	}
	for _, i := range act {
		l := &s.lots[i][k]
		r := math.Abs(l.rough)
		j.rough = j.rough || r > 0
		j.steepest = max(j.steepest, r)
		j.own = min(j.own, j.ownOf(i))
	}
	j.least = leastOwn * max(largest, j.steepest)
	j.own = max(j.own, j.least)
	return j
}

// ownOf is the standard deviation (m) of the steepest step of a valve's probability.
func (j *joint) ownOf(i int) float64 {
	l := &j.s.lots[i][j.k]
	head := j.s.sigmaHead(l, false)
	if l.head < reach*j.s.sigmaHead(l, true) {
		return head // whether water reaches the seat at all matters, and does not depend on the valve
	}
	return math.Hypot(head, min(l.riseOwn, l.fallOwn))
}

// split sorts the valves by the level they stand under, those under none first.
func (j *joint) split(act []int) {
	sorted := slices.Clone(act)
	group := func(i int) int { return j.s.lots[i][j.k].group }
	slices.SortStableFunc(sorted, func(a, b int) int { return group(a) - group(b) })
	for n, i := range sorted {
		if n == 0 || group(i) != group(sorted[n-1]) {
			j.groups = append(j.groups, nil)
			j.level = append(j.level, j.s.lots[i][j.k].level)
		}
		last := len(j.groups) - 1
		j.groups[last] = append(j.groups[last], i)
	}
}

// any is 1 − ∫ Π (1 − P_i(z)) φ(z) dz over datum, levels and roughness: roughness outside, levels inside.
func (j *joint) any() float64 {
	nested := 0
	inner := 0.0
	for _, v := range j.level {
		inner = max(inner, v)
	}
	for _, on := range []bool{j.rough, j.shift > 0, inner > 0} {
		if on {
			nested++
		}
	}
	least := 0.0
	if nested == 3 {
		least = coarsest
	}
	levels := make([][]num.Node, len(j.groups))
	for g := range levels {
		levels[g] = grid(j.own, j.level[g], least)
	}
	shifts := grid(math.Hypot(j.own, inner), j.shift, least)
	var roughs []num.Node
	if j.rough {
		roughs = grid(math.Hypot(math.Hypot(j.own, inner), j.shift), j.steepest, least)
	} else {
		roughs = []num.Node{{Z: 0, Weight: 1}}
	}
	none := 0.0
	for _, r := range roughs {
		for _, d := range shifts {
			none += r.Weight * d.Weight * j.none(d.Z*j.shift, r.Z, levels)
		}
	}
	return min(1, max(0, 1-none)) // rounding alone leaves [0, 1], by some 1e-16
}

// none is the probability that no valve drips, given the shift (m) of all heads and the roughness (standard deviations).
func (j *joint) none(shift, rough float64, levels [][]num.Node) float64 {
	product := 1.0
	for g, valves := range j.groups {
		sum := 0.0
		for _, z := range levels[g] {
			p := z.Weight
			for _, i := range valves {
				p *= 1 - j.given(i, shift, z.Z*j.level[g], rough)
				if p == 0 {
					break
				}
			}
			sum += p
		}
		if product *= sum; product == 0 {
			break
		}
	}
	return product
}

// given is the probability that valve i drips, given all common errors.
func (j *joint) given(i int, shift, level, rough float64) float64 {
	l := &j.s.lots[i][j.k]
	ind := j.s.in.Uncertainty.Independent
	return j.s.dripsGiven(i, j.k, common{
		shift: shift + level + rough*l.rough, own: ind,
		past: j.ofShift * shift, pastOwn: math.Hypot(ind, j.leftOver),
		rough: rough, fixRough: j.rough,
	}, j.least)
}

// grid is the trapezoid rule for a standard normal variable whose unit is sigma (m), fine enough for a rise of the given
// width (m), with steps of at least least. Without sigma it is one node. Its weights sum to 1.
func grid(width, sigma, least float64) []num.Node {
	if sigma <= 0 {
		return []num.Node{{Z: 0, Weight: 1}}
	}
	step := min(largestStep, max(least, stepPerWidth*width/math.Hypot(width, sigma)))
	n := int(math.Ceil(reach / step))
	step = reach / float64(n)
	nodes := make([]num.Node, 0, 2*n+1)
	sum := 0.0
	for i := -n; i <= n; i++ {
		z := float64(i) * step
		nodes = append(nodes, num.Node{Z: z, Weight: num.NormalPDF(z)})
		sum += num.NormalPDF(z)
	}
	for i := range nodes {
		nodes[i].Weight /= sum
	}
	return nodes
}
