package draining

import "slices"

// tree is how the line falls into bodies of water as its level sinks: a leaf is a sag, an inner node is a crest at which two or more parts
// company. A node stands for all that hangs together below its parent's crest; it splits into its children at its own.
type tree struct {
	*grid
	barrier []float64 // m, by vertex: water that hangs together parts there when its level comes down to this
	reached []float64 // m, by vertex: below this level air stands there
	vapour  float64   // m, by how much a surface under vapour stands above one under air
	nodes   []treeNode
	of      []int32 // by vertex: node in which it runs dry
	water   []piece // of all segments, by node
}

// treeNode is a body of water between two levels.
type treeNode struct {
	split       float64 // m: level at which it splits into its children; for a leaf, at which it is gone
	crest       int     // vertex at which it splits; of a leaf, its sag
	parent      int32   // −1 for none
	children    []int32
	first, last int32 // nodes from first to before last are this one and what it splits into
	from, to    int32 // likewise of pieces
}

// newTree makes the tree. level is the water's level by vertex at the start.
func newTree(g *grid, level []float64) *tree {
	t := &tree{grid: g, vapour: -g.l.Site.VapourHead(), reached: g.airLevels(level)}
	t.barrier = make([]float64, len(g.obvert))
	for v, inv := range g.invert {
		// Air at the crest: its invert. None: the column hangs until it parts under vapour or air comes past a sag.
		t.barrier[v] = min(inv, max(t.reached[v], inv-t.vapour))
	}
	t.grow()
	t.number()
	return t
}

// grow sweeps the level up and joins what hangs together.
func (t *tree) grow() {
	n := len(t.barrier)
	order := ranked(t.barrier)
	f := newForest(n)
	node := make([]int32, n) // by root
	wet := make([]bool, n)
	t.of = make([]int32, n)
	var meet []int32
	for _, v := range order {
		wet[v] = true
		meet = meet[:0]
		for _, w := range t.next[v] {
			if wet[w] {
				if r := f.root(w); !slices.Contains(meet, r) {
					meet = append(meet, r)
				}
			}
		}
		var id int32
		if len(meet) == 1 {
			id = node[meet[0]]
		} else {
			id = int32(len(t.nodes))
			t.nodes = append(t.nodes, treeNode{split: t.barrier[v], crest: int(v), parent: -1})
			for _, r := range meet {
				t.nodes[id].children = append(t.nodes[id].children, node[r])
				t.nodes[node[r]].parent = id
			}
		}
		r := v
		for _, m := range meet {
			r = f.join(r, m)
		}
		node[r], t.of[v] = id, id
	}
}

// number puts the nodes in an order in which each stands before its parts and they follow it without gap, and lays out the water.
func (t *tree) number() {
	rank := make([]int32, len(t.nodes))
	sorted := make([]treeNode, 0, len(t.nodes))
	var stack []int32
	for i := len(t.nodes) - 1; i >= 0; i-- { // parents were made after their children
		if t.nodes[i].parent < 0 {
			stack = append(stack, int32(i))
			for len(stack) > 0 {
				k := stack[len(stack)-1]
				stack = stack[:len(stack)-1]
				rank[k] = int32(len(sorted))
				sorted = append(sorted, t.nodes[k])
				stack = append(stack, t.nodes[k].children...)
			}
		}
	}
	for i := range sorted {
		n := &sorted[i]
		if n.parent >= 0 {
			n.parent = rank[n.parent]
		}
		for j, c := range n.children {
			n.children[j] = rank[c]
		}
		n.first, n.last = int32(i), int32(i+1)
	}
	for i := len(sorted) - 1; i > 0; i-- {
		if p := sorted[i].parent; p >= 0 {
			sorted[p].last = max(sorted[p].last, sorted[i].last)
		}
	}
	t.nodes = sorted
	for v := range t.of {
		t.of[v] = rank[t.of[v]]
	}
	t.pour()
}

// pour gives every segment to the node in which its lower end runs dry.
func (t *tree) pour() {
	count := make([]int32, len(t.nodes)+1)
	for i := range t.segs {
		count[t.owner(i)+1]++
	}
	for k := range t.nodes {
		count[k+1] += count[k]
	}
	for k := range t.nodes {
		t.nodes[k].from, t.nodes[k].to = count[k], count[t.nodes[k].last]
	}
	t.water = make([]piece, len(t.segs))
	for i := range t.segs {
		k := t.owner(i)
		t.water[count[k]] = t.piece(i)
		count[k]++
	}
}

// low is the end of a segment that runs dry last.
func (t *tree) low(seg int) int {
	s := &t.segs[seg]
	if t.barrier[s.b] < t.barrier[s.a] {
		return s.b
	}
	return s.a
}

// owner is the node in which a segment runs dry.
func (t *tree) owner(seg int) int32 { return t.of[t.low(seg)] }

// bodyAt is the node that a vertex belongs to at a level above its own barrier.
func (t *tree) bodyAt(v int, level float64) int32 {
	k := t.of[v]
	for p := t.nodes[k].parent; p >= 0 && t.nodes[p].split < level; p = t.nodes[k].parent {
		k = p
	}
	return k
}

// holds tells whether a vertex belongs to a node or to one of its parts.
func (t *tree) holds(k int32, v int) bool {
	return t.of[v] >= t.nodes[k].first && t.of[v] < t.nodes[k].last
}

// airLevel is the level of the water below which air stands over a segment.
func (t *tree) airLevel(seg int) float64 {
	s := &t.segs[seg]
	return max(t.reached[s.a], t.reached[s.b])
}
