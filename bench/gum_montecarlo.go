package bench

import (
	"math"
	"math/rand/v2"
	"sort"

	"gonum.org/v1/gonum/stat/distuv"
)

// Propagated is a result's distribution as drawn by Monte Carlo.
type Propagated struct {
	Mean      float64 // in the result's unit
	Deviation float64 // standard deviation
	sorted    []float64
}

// MonteCarlo draws the inputs from their distributions and evaluates the model on
// each draw (JCGM 101:2008, clauses 5 and 7). The same seed gives the same
// numbers. A quantity from repeats is drawn from its scaled and shifted t
// distribution (6.4.9.2), whose standard deviation is wider than its standard
// uncertainty for a few repeats and does not exist for fewer than four readings.
func MonteCarlo(in []Input, f func(x []float64) float64, trials int, seed uint64) Propagated {
	src := rand.NewPCG(seed, 0x6f62766572740000)
	draws := make([]func() float64, len(in))
	for i := range in {
		draws[i] = sampler(in[i], src)
	}
	p := Propagated{sorted: make([]float64, trials)}
	x := make([]float64, len(in))
	for k := range p.sorted {
		for i := range draws {
			x[i] = draws[i]()
		}
		p.sorted[k] = f(x)
	}
	p.moments()
	sort.Float64s(p.sorted)
	return p
}

func (p *Propagated) moments() {
	for k, y := range p.sorted {
		d := y - p.Mean
		p.Mean += d / float64(k+1)
		p.Deviation += d * (y - p.Mean)
	}
	p.Deviation = math.Sqrt(p.Deviation / math.Max(1, float64(len(p.sorted)-1)))
}

// sampler draws one input.
func sampler(in Input, src rand.Source) func() float64 {
	u, mid := in.Uncertainty, in.Value
	rng := rand.New(src)
	switch {
	case u == 0:
		return func() float64 { return mid }
	case in.Shape == Rectangular:
		return func() float64 { return mid + u*math.Sqrt(3)*(2*rng.Float64()-1) }
	case in.Shape == Triangular:
		return func() float64 { return mid + u*math.Sqrt(6)*(rng.Float64()-rng.Float64()) }
	case in.Shape == FromRepeats && in.Freedom > 0:
		return distuv.StudentsT{Mu: mid, Sigma: u, Nu: in.Freedom, Src: src}.Rand
	}
	return func() float64 { return mid + u*rng.NormFloat64() }
}

// Symmetric is the probabilistically symmetric interval that holds a share p of
// the draws (JCGM 101:2008, 7.7.2).
func (p Propagated) Symmetric(share float64) (lo, hi float64) {
	return p.quantile((1 - share) / 2), p.quantile((1 + share) / 2)
}

// Shortest is the shortest interval that holds a share p of the draws (JCGM
// 101:2008, 7.7.4).
func (p Propagated) Shortest(share float64) (lo, hi float64) {
	n := len(p.sorted)
	q := int(share*float64(n) + 0.5)
	lo, hi = p.sorted[0], p.sorted[n-1]
	for r := 0; r+q < n; r++ {
		if p.sorted[r+q]-p.sorted[r] < hi-lo {
			lo, hi = p.sorted[r], p.sorted[r+q]
		}
	}
	return lo, hi
}

func (p Propagated) quantile(share float64) float64 {
	pos := share * float64(len(p.sorted)-1)
	i := int(pos)
	if i+1 >= len(p.sorted) {
		return p.sorted[len(p.sorted)-1]
	}
	t := pos - float64(i)
	return p.sorted[i]*(1-t) + p.sorted[i+1]*t
}
