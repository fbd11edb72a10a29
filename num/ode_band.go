package num

import "math"

// band is a square banded matrix, factored in place by elimination with row exchange (G. H. Golub, C. F. Van Loan, Matrix
// Computations, 4th ed. 2013, sec. 4.3). A full matrix is one with a wide band.
type band struct {
	n, low, up int // half-widths of the band
	w          int // stored width of a row: exchange widens the upper band by the lower
	a          []float64
	l          []float64 // factors of elimination, low a column
	pivot      []int
}

// shape makes room for n unknowns.
func (b *band) shape(n, low, up int) {
	low, up = min(low, n-1), min(up, n-1)
	b.n, b.low, b.up, b.w = n, low, up, 2*low+up+1
	b.a = fit(b.a, n*b.w)
	b.l = fit(b.l, n*max(low, 1))
	if cap(b.pivot) < n {
		b.pivot = make([]int, n, n+n/2+4)
	}
	b.pivot = b.pivot[:n]
}

// at is the place of row i, column j in a.
func (b *band) at(i, j int) int { return i*b.w + j - i + b.low }

// factor eliminates; false: singular.
func (b *band) factor() bool {
	for k := range b.n {
		p, big := k, math.Abs(b.a[b.at(k, k)])
		lastRow := min(k+b.low, b.n-1)
		for i := k + 1; i <= lastRow; i++ {
			if v := math.Abs(b.a[b.at(i, k)]); v > big {
				p, big = i, v
			}
		}
		b.pivot[k] = p
		if !(big > 0) {
			return false
		}
		lastCol := min(k+b.low+b.up, b.n-1)
		if p != k {
			for j := k; j <= lastCol; j++ {
				x, y := b.at(k, j), b.at(p, j)
				b.a[x], b.a[y] = b.a[y], b.a[x]
			}
		}
		row := b.a[b.at(k, k) : b.at(k, lastCol)+1]
		inv := 1 / row[0]
		for i := k + 1; i <= lastRow; i++ {
			other := b.a[b.at(i, k) : b.at(i, lastCol)+1]
			f := other[0] * inv
			b.l[k*b.low+i-k-1] = f
			if f == 0 {
				continue
			}
			for j := 1; j < len(row); j++ {
				other[j] -= f * row[j]
			}
		}
	}
	return true
}

// solve replaces x by the solution for it as the right side.
func (b *band) solve(x []float64) {
	for k := range b.n {
		if p := b.pivot[k]; p != k {
			x[k], x[p] = x[p], x[k]
		}
		v := x[k]
		if v == 0 {
			continue
		}
		for i := k + 1; i <= min(k+b.low, b.n-1); i++ {
			x[i] -= b.l[k*b.low+i-k-1] * v
		}
	}
	for k := b.n - 1; k >= 0; k-- {
		row := b.a[b.at(k, k):]
		sum := x[k]
		for j := 1; j <= min(b.low+b.up, b.n-1-k); j++ {
			sum -= row[j] * x[k+j]
		}
		x[k] = sum / row[0]
	}
}
