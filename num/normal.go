package num

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Node is a point of a quadrature rule.
type Node struct {
	Z      float64 `unit:"1"` // value of the standard normal variable
	Weight float64 `unit:"1"` // its weight; the weights of a rule sum to 1
}

// MaxNodes is the largest rule NormalNodes makes: beyond it the outer weights
// are too small for a float64.
const MaxNodes = 200

// NormalNodes returns the n-point Gauss–Hermite rule for a standard normal
// variable: the sum of Weight·g(Z) is the mean of g, exact for a polynomial g
// of degree up to 2n−1. The nodes increase and are symmetric about zero.
// It panics for n outside 1…MaxNodes.
//
// The nodes are the eigenvalues of the Jacobi matrix of the Hermite polynomials
// He (zero diagonal, √k beside it), sharpened by Newton's method; the weights
// are 1/Σ ψ_k², ψ_k being the orthonormal polynomials.
// Source: G. H. Golub, J. H. Welsch, Math. Comp. 23 (1969) 221-230.
func NormalNodes(n int) []Node {
	if n < 1 || n > MaxNodes {
		panic(fmt.Sprintf("num: NormalNodes of %d points: from 1 to %d", n, MaxNodes))
	}
	nodes := make([]Node, n)
	jacobi := mat.NewSymDense(n, nil)
	for k := 1; k < n; k++ {
		jacobi.SetSym(k-1, k, math.Sqrt(float64(k)))
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(jacobi, false) {
		panic("num: NormalNodes: eigenvalues of the Jacobi matrix not found")
	}
	for i, z := range eigen.Values(nil) {
		for range 3 {
			last, before, _ := hermite(n, z)
			// ψ_n' = √n ψ_(n-1)
			z -= last / (math.Sqrt(float64(n)) * before)
		}
		nodes[i].Z = z
	}
	for i := range nodes { // exact symmetry, exact zero in the middle
		j := n - 1 - i
		if i <= j {
			z := 0.5 * (nodes[j].Z - nodes[i].Z)
			_, _, square := hermite(n, z)
			nodes[i] = Node{-z, 1 / square}
			nodes[j] = Node{z, 1 / square}
		}
	}
	return nodes
}

// hermite evaluates the orthonormal Hermite polynomials ψ_k of the standard
// normal weight: ψ_n, ψ_(n-1), and Σ ψ_k² for k < n.
func hermite(n int, z float64) (last, before, square float64) {
	before, last = 0, 1
	for k := range n {
		square += last * last
		before, last = last, (z*last-math.Sqrt(float64(k))*before)/math.Sqrt(float64(k+1))
	}
	return last, before, square
}

// NormalMean returns the mean of g over a normal variable with the given mean
// and standard deviation (both in the unit of g's argument), by n nodes.
func NormalMean(n int, mean, deviation float64, g func(float64) float64) float64 {
	var sum float64
	for _, node := range NormalNodes(n) {
		sum += node.Weight * g(mean+deviation*node.Z)
	}
	return sum
}

// NormalCDF returns the probability that a standard normal variable is at most
// z. It keeps its relative accuracy far into the lower tail; for the upper
// tail use NormalCDF(-z).
func NormalCDF(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// NormalPDF returns the density of a standard normal variable at z.
func NormalPDF(z float64) float64 {
	return math.Exp(-0.5*z*z) / math.Sqrt(2*math.Pi)
}

// NormalQuantile returns the z that a standard normal variable stays below with
// probability p. p must lie between 0 and 1, ends excluded.
func NormalQuantile(p float64) (float64, error) {
	if !(p > 0 && p < 1) {
		return 0, fmt.Errorf("normal quantile: probability %g: give one above 0 and below 1", p)
	}
	return distuv.UnitNormal.Quantile(p), nil
}
