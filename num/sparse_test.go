package num

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// randomBalance fills a sparse and a dense matrix with the Jacobian of a random flow balance: links of unsymmetric
// conductance, columns that sum to the node's own leakage.
func randomBalance(rng *rand.Rand, n, extra int) (*Sparse, *mat.Dense) {
	var links [][2]int
	for i := 1; i < n; i++ {
		links = append(links, [2]int{i, rng.IntN(i)})
	}
	for range extra {
		links = append(links, [2]int{rng.IntN(n), rng.IntN(n)})
	}
	s, d := NewSparse(n, links), mat.NewDense(n, n, nil)
	add := func(i, j int, v float64) {
		s.Add(i, j, v)
		d.Set(i, j, d.At(i, j)+v)
	}
	for _, l := range links {
		if l[0] == l[1] {
			continue
		}
		gu, gd := math.Pow(10, 4*rng.Float64()-2), 0.0
		if rng.IntN(3) > 0 {
			gd = gu
		}
		add(l[0], l[0], gu)
		add(l[1], l[0], -gu)
		add(l[1], l[1], gd)
		add(l[0], l[1], -gd)
	}
	for i := range n {
		add(i, i, 1e-3+rng.Float64())
	}
	return s, d
}

// The reference is gonum's dense LU with partial pivoting, a general-purpose library.
func TestSparseAgreesWithDenseLU(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, n := range []int{1, 2, 3, 10, 60, 200} {
		s, d := randomBalance(rng, n, n/2)
		b := make([]float64, n)
		for i := range b {
			b[i] = rng.NormFloat64()
		}
		if err := s.Factor(); err != nil {
			t.Fatal(err)
		}
		x := make([]float64, n)
		s.Solve(x, b)
		var want mat.VecDense
		if err := want.SolveVec(d, mat.NewVecDense(n, b)); err != nil {
			t.Fatal(err)
		}
		for i := range x {
			if diff := math.Abs(x[i] - want.AtVec(i)); diff > 1e-9*(1+math.Abs(want.AtVec(i))) {
				t.Fatalf("n=%d: x[%d] = %g, dense LU %g", n, i, x[i], want.AtVec(i))
			}
		}
	}
}

func TestSparseNamesTheRowThatHangsOnNothing(t *testing.T) {
	s := NewSparse(3, [][2]int{{0, 1}})
	s.Add(0, 0, 2)
	s.Add(1, 1, 2)
	s.Add(0, 1, -1)
	s.Add(1, 0, -1)
	err := s.Factor()
	var singular *SingularError
	if !errors.As(err, &singular) || singular.Row != 2 || !errors.Is(err, ErrSingular) {
		t.Fatalf("got %v, want row 2 singular", err)
	}
}

func BenchmarkSparseGrid(b *testing.B) {
	const side = 32
	var links [][2]int
	at := func(i, j int) int { return i*side + j }
	for i := range side {
		for j := range side {
			if i > 0 {
				links = append(links, [2]int{at(i, j), at(i-1, j)})
			}
			if j > 0 {
				links = append(links, [2]int{at(i, j), at(i, j-1)})
			}
		}
	}
	rhs := make([]float64, side*side)
	rhs[17] = 1
	b.Run("order", func(b *testing.B) {
		for b.Loop() {
			NewSparse(side*side, links)
		}
	})
	s := NewSparse(side*side, links)
	b.Run("factor and solve", func(b *testing.B) {
		for b.Loop() {
			s.Clear()
			for _, l := range links {
				s.Add(l[0], l[0], 1)
				s.Add(l[1], l[1], 1)
				s.Add(l[0], l[1], -1)
				s.Add(l[1], l[0], -1)
			}
			for i := range side * side {
				s.Add(i, i, 1e-6)
			}
			if err := s.Factor(); err != nil {
				b.Fatal(err)
			}
			s.Solve(rhs, rhs)
			clear(rhs)
			rhs[17] = 1
		}
	})
}
