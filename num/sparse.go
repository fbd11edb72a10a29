package num

import (
	"errors"
	"fmt"
	"slices"
)

// Sparse is a square matrix whose pattern is symmetric while its values need not be: the Jacobian of flows on a graph.
// Order and symbolic factorisation are made once for a pattern; Factor and Solve are then repeated for new values.
//
// The factorisation is LU without row exchange in a minimum-degree order. Without exchange it is stable for matrices that
// are diagonally dominant by columns, as the Jacobian of a flow balance is: what leaves one node arrives at another.
//
// Sources: A. George and J. W. H. Liu, Computer Solution of Large Sparse Positive Definite Systems (1981), ch. 5
// (minimum degree, elimination graph); T. A. Davis, Direct Methods for Sparse Linear Systems (2006), ch. 6 (LU), both from memory.
type Sparse struct {
	n     int
	order []int // order[k] is the row eliminated as the k-th
	place []int // inverse of order

	diag []float64 // by elimination step
	// Row k of U and column k of L right of and below the diagonal share one pattern: index[start[k]:start[k+1]], rising.
	start []int
	index []int
	upper []float64
	lower []float64

	solved []float64
}

// ErrSingular reports a pivot that is zero: the row hangs on nothing.
var ErrSingular = errors.New("num: singular matrix")

// SingularError is ErrSingular with the row at which elimination found it.
type SingularError struct{ Row int }

// Error names the row.
func (e *SingularError) Error() string {
	return fmt.Sprintf("num: singular matrix: row %d hangs on no known value", e.Row)
}

// Unwrap gives ErrSingular.
func (e *SingularError) Unwrap() error { return ErrSingular }

// NewSparse prepares an n × n matrix with a full diagonal and an entry at (i, j) and (j, i) for every pair of links.
// Pairs may repeat, and may name one index twice. It panics on an index outside 0…n−1.
func NewSparse(n int, links [][2]int) *Sparse {
	neighbours := make([][]int, n)
	for _, l := range links {
		i, j := l[0], l[1]
		if i < 0 || j < 0 || i >= n || j >= n {
			panic(fmt.Sprintf("num: link %d–%d outside a matrix of %d rows", i, j, n))
		}
		if i != j {
			neighbours[i] = append(neighbours[i], j)
			neighbours[j] = append(neighbours[j], i)
		}
	}
	for i := range neighbours {
		slices.Sort(neighbours[i])
		neighbours[i] = slices.Compact(neighbours[i])
	}
	s := &Sparse{n: n, order: make([]int, 0, n), place: make([]int, n)}
	rows := eliminate(neighbours, &s.order)
	for k, i := range s.order {
		s.place[i] = k
	}
	s.start = make([]int, n+1)
	for k, row := range rows {
		for _, j := range row {
			s.index = append(s.index, s.place[j])
		}
		slices.Sort(s.index[s.start[k]:])
		s.start[k+1] = len(s.index)
	}
	s.diag = make([]float64, n)
	s.upper = make([]float64, len(s.index))
	s.lower = make([]float64, len(s.index))
	s.solved = make([]float64, n)
	return s
}

// eliminate takes rows out in order of least degree, joining the neighbours of each, and gives for every step the
// neighbours that were left at it: the pattern of the factors. Ties go to the smaller index, so the order is one and the same.
func eliminate(neighbours [][]int, order *[]int) [][]int {
	n := len(neighbours)
	buckets := make([]intHeap, 1)
	put := func(i int) {
		d := len(neighbours[i])
		for len(buckets) <= d {
			buckets = append(buckets, nil)
		}
		buckets[d].push(i)
	}
	for i := range neighbours {
		put(i)
	}
	gone := make([]bool, n)
	rows := make([][]int, 0, n)
	var spare []int
	for low := 0; len(*order) < n; {
		if low >= len(buckets) {
			low = 0
		}
		if len(buckets[low]) == 0 {
			low++
			continue
		}
		i := buckets[low].pop()
		if gone[i] || len(neighbours[i]) != low {
			continue // an old place of this row
		}
		gone[i] = true
		*order = append(*order, i)
		row := neighbours[i]
		for _, j := range row {
			spare = join(spare[:0], neighbours[j], row, i, j)
			neighbours[j] = append(neighbours[j][:0:0], spare...)
		}
		for _, j := range row {
			put(j)
			low = min(low, len(neighbours[j]))
		}
		neighbours[i] = nil
		rows = append(rows, row)
	}
	return rows
}

// join merges two rising lists into out, leaving out two numbers.
func join(out, a, b []int, not1, not2 int) []int {
	for len(a) > 0 || len(b) > 0 {
		var v int
		switch {
		case len(b) == 0 || len(a) > 0 && a[0] < b[0]:
			v, a = a[0], a[1:]
		case len(a) == 0 || b[0] < a[0]:
			v, b = b[0], b[1:]
		default:
			v, a, b = a[0], a[1:], b[1:]
		}
		if v != not1 && v != not2 {
			out = append(out, v)
		}
	}
	return out
}

// intHeap is a binary heap of integers, least on top.
type intHeap []int

func (h *intHeap) push(v int) {
	*h = append(*h, v)
	s := *h
	for i := len(s) - 1; i > 0; {
		p := (i - 1) / 2
		if s[p] <= s[i] {
			break
		}
		s[p], s[i] = s[i], s[p]
		i = p
	}
}

func (h *intHeap) pop() int {
	s := *h
	top := s[0]
	last := len(s) - 1
	s[0] = s[last]
	*h = s[:last]
	s = s[:last]
	for i := 0; ; {
		c := 2*i + 1
		if c >= last {
			break
		}
		if c+1 < last && s[c+1] < s[c] {
			c++
		}
		if s[i] <= s[c] {
			break
		}
		s[i], s[c] = s[c], s[i]
		i = c
	}
	return top
}

// Clear sets every value to zero.
func (s *Sparse) Clear() {
	clear(s.diag)
	clear(s.upper)
	clear(s.lower)
}

// Add adds v at row i, column j, which must be on the diagonal or on a link.
func (s *Sparse) Add(i, j int, v float64) {
	if i == j {
		s.diag[s.place[i]] += v
		return
	}
	r, c := s.place[i], s.place[j]
	if r < c {
		s.upper[s.slot(r, c)] += v
	} else {
		s.lower[s.slot(c, r)] += v
	}
}

// slot is the position in index of column c in the pattern of step r.
func (s *Sparse) slot(r, c int) int {
	lo, hi := s.start[r], s.start[r+1]
	for lo < hi {
		m := (lo + hi) / 2
		if s.index[m] < c {
			lo = m + 1
		} else {
			hi = m
		}
	}
	if lo == s.start[r+1] || s.index[lo] != c {
		panic("num: entry outside the pattern")
	}
	return lo
}

// Factor replaces the values by their factors, in place. After it only Solve may follow, until Clear.
// It returns a *SingularError at a pivot that is zero.
func (s *Sparse) Factor() error {
	for k := 0; k < s.n; k++ {
		d := s.diag[k]
		if d == 0 {
			return &SingularError{Row: s.order[k]}
		}
		a, b := s.start[k], s.start[k+1]
		for p := a; p < b; p++ {
			s.lower[p] /= d
		}
		for p := a; p < b; p++ {
			r := s.index[p]
			lp, up := s.lower[p], s.upper[p]
			s.diag[r] -= lp * up
			if p+1 == b {
				continue
			}
			// Row r's pattern holds every later index of row k: walk the two together.
			q := s.start[r]
			for t := p + 1; t < b; t++ {
				c := s.index[t]
				for s.index[q] != c {
					q++
				}
				s.upper[q] -= lp * s.upper[t]
				s.lower[q] -= s.lower[t] * up
			}
		}
	}
	return nil
}

// Solve gives in x the solution for the right side b; the two may be one slice.
func (s *Sparse) Solve(x, b []float64) {
	y := s.solved
	for k, i := range s.order {
		y[k] = b[i]
	}
	for k := 0; k < s.n; k++ {
		for p := s.start[k]; p < s.start[k+1]; p++ {
			y[s.index[p]] -= s.lower[p] * y[k]
		}
	}
	for k := s.n - 1; k >= 0; k-- {
		v := y[k]
		for p := s.start[k]; p < s.start[k+1]; p++ {
			v -= s.upper[p] * y[s.index[p]]
		}
		y[k] = v / s.diag[k]
	}
	for k, i := range s.order {
		x[i] = y[k]
	}
}

// Clone gives a matrix of the same pattern, all zero, that shares order and symbolic part and may be used at the same time.
func (s *Sparse) Clone() *Sparse {
	c := *s
	c.diag = make([]float64, s.n)
	c.upper = make([]float64, len(s.index))
	c.lower = make([]float64, len(s.index))
	c.solved = make([]float64, s.n)
	return &c
}
