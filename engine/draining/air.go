package draining

import (
	"math"
	"slices"
)

// headTolerance is a head that counts as none.
const headTolerance = 1e-9 // m

// airLevels gives, by vertex, the level of the water below which air stands there: the greatest, over all ways from a place where air can
// come in, of the lowest obvert on the way, for a sag that is full holds it back. −Inf where none can come. Vertices that stand in air at
// the start (level: the water's level there, −Inf where dry) let it pass at once.
//
// It is a path of greatest capacity (M. Pollack, "The maximum capacity through a network", Operations Research 8 (1960) 733–736, from
// memory), found by sweeping the level down and joining what lies above it.
func (g *grid) airLevels(level []float64) []float64 {
	n := len(g.obvert)
	entry := g.inAir(level)
	order := ranked(g.obvert)
	slices.Reverse(order)
	f := newForest(n)
	members := make([][]int32, n) // by root, while no air has come
	own := make([]int32, n)
	reached, airy := make([]float64, n), make([]bool, n)
	above := make([]bool, n)
	for _, v := range order {
		z := g.obvert[v]
		above[v] = true
		reached[v] = math.Inf(-1)
		if airy[v] = entry[v]; airy[v] {
			reached[v] = z
		} else {
			members[v] = append(own[v:v:v+1], v)
		}
		for _, w := range g.next[v] {
			if !above[w] {
				continue
			}
			a, b := f.root(v), f.root(w)
			if a == b {
				continue
			}
			if airy[a] != airy[b] {
				dry := a
				if airy[a] {
					dry = b
				}
				for _, m := range members[dry] {
					reached[m] = z
				}
				members[dry] = nil
			}
			all := airy[a] || airy[b]
			r := f.join(a, b)
			if !all {
				other := a
				if r == a {
					other = b
				}
				members[r] = append(members[r], members[other]...)
				members[other] = nil
			}
			airy[r] = all
		}
	}
	return reached
}

// inAir marks the places where air comes in and the places that it has reached at the start.
func (g *grid) inAir(level []float64) []bool {
	entry := slices.Clone(g.source)
	var queue []int32
	for v := range entry {
		if entry[v] && level[v] < g.obvert[v]-headTolerance {
			queue = append(queue, int32(v))
		}
	}
	for len(queue) > 0 {
		v := queue[len(queue)-1]
		queue = queue[:len(queue)-1]
		for _, w := range g.next[v] {
			if !entry[w] && level[w] < g.obvert[w]-headTolerance {
				entry[w] = true
				queue = append(queue, w)
			}
		}
	}
	return entry
}

// ranked gives the indices of figures in rising order, ties by index.
func ranked(of []float64) []int32 {
	type entry struct {
		x float64
		i int32
	}
	list := make([]entry, len(of))
	for i, x := range of {
		list[i] = entry{x, int32(i)}
	}
	slices.SortFunc(list, func(a, b entry) int {
		switch {
		case a.x < b.x || a.x == b.x && a.i < b.i:
			return -1
		case a.x == b.x && a.i == b.i:
			return 0
		}
		return 1
	})
	order := make([]int32, len(of))
	for k, e := range list {
		order[k] = e.i
	}
	return order
}

// forest joins vertices into sets.
type forest struct{ up, size []int32 }

func newForest(n int) forest {
	f := forest{make([]int32, n), make([]int32, n)}
	for i := range f.up {
		f.up[i], f.size[i] = int32(i), 1
	}
	return f
}

// root is the vertex that stands for a set.
func (f *forest) root(v int32) int32 {
	for f.up[v] != v {
		f.up[v] = f.up[f.up[v]]
		v = f.up[v]
	}
	return v
}

// join makes one set of two and gives its root.
func (f *forest) join(a, b int32) int32 {
	if f.size[a] < f.size[b] {
		a, b = b, a
	}
	f.up[b] = a
	f.size[a] += f.size[b]
	return a
}
