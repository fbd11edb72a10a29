package siting

import (
	"cmp"
	"math"
	"slices"

	"obvert/line"
)

// net is the line's profile points as one graph: neighbours along each run, and the ends of runs that meet at a node.
type net struct {
	l      *line.Line
	first  []int     // by run, the vertex of its first point
	run    []int     // by vertex
	beside [][]int32 // by vertex, vertices joined across a node
}

// parts reports whether air does not pass a node: an open water surface, a free end, pumps.
func parts(k line.NodeKind) bool { return k == line.Tank || k == line.Outfall || k == line.Station }

func newNet(l *line.Line) *net {
	n := &net{l: l}
	for r := range l.Runs {
		n.first = append(n.first, len(n.run))
		for range l.Runs[r].Points {
			n.run = append(n.run, r)
		}
	}
	n.beside = make([][]int32, len(n.run))
	ends := make([][]int32, len(l.Nodes))
	for r := range l.Runs {
		last := n.first[r] + len(l.Runs[r].Points) - 1
		ends[l.Runs[r].From] = append(ends[l.Runs[r].From], int32(n.first[r]))
		ends[l.Runs[r].To] = append(ends[l.Runs[r].To], int32(last))
	}
	for node, at := range ends {
		if parts(l.Nodes[node].Kind) {
			continue
		}
		for k := 1; k < len(at); k++ { // a chain joins them all
			n.beside[at[k-1]] = append(n.beside[at[k-1]], at[k])
			n.beside[at[k]] = append(n.beside[at[k]], at[k-1])
		}
	}
	return n
}

// point is the profile point of a vertex.
func (n *net) point(v int) *line.Point {
	r := n.run[v]
	return &n.l.Runs[r].Points[v-n.first[r]]
}

// node is the node at a vertex, −1 inside a run.
func (n *net) node(v int) int {
	r := n.run[v]
	switch v - n.first[r] {
	case 0:
		return n.l.Runs[r].From
	case len(n.l.Runs[r].Points) - 1:
		return n.l.Runs[r].To
	}
	return -1
}

// neighbours calls do for every vertex next to v.
func (n *net) neighbours(v int, do func(int)) {
	r := n.run[v]
	if v > n.first[r] {
		do(v - 1)
	}
	if v < n.first[r]+len(n.l.Runs[r].Points)-1 {
		do(v + 1)
	}
	for _, w := range n.beside[v] {
		do(int(w))
	}
}

// summit is a maximum of a height over the graph.
type summit struct {
	vertex     int
	prominence float64 // m above the highest low point on the way to higher ground; of the highest: above the lowest of all
	highest    bool    // of everything it hangs together with
}

// summits finds all maxima of a height (m, by vertex) whose prominence is at least so much (m), by vertex. Vertices come
// up in falling order; one with no neighbour up yet is a new summit; where two grounds meet, the lower summit ends.
func (n *net) summits(height []float64, least float64) []summit {
	order := make([]int32, len(height))
	for v := range order {
		order[v] = int32(v)
	}
	slices.SortFunc(order, func(a, b int32) int {
		if c := cmp.Compare(height[b], height[a]); c != 0 {
			return c
		}
		return cmp.Compare(a, b)
	})
	up := make([]int32, len(height)) // parent of a vertex that is up, −1 of one that is not
	for v := range up {
		up[v] = -1
	}
	find := func(v int32) int32 { // the root is the summit itself
		for up[v] != v {
			up[v] = up[up[v]]
			v = up[v]
		}
		return v
	}
	lowest := make([]float64, len(height)) // by summit
	var found []summit
	for _, v := range order {
		up[v] = v
		top := v
		n.neighbours(int(v), func(w int) {
			if up[w] < 0 {
				return
			}
			a, b := find(top), find(int32(w))
			if a == b {
				return
			}
			if height[b] > height[a] || height[b] == height[a] && b < a {
				a, b = b, a
			}
			if p := height[b] - height[v]; b != v && p >= least {
				found = append(found, summit{vertex: int(b), prominence: p})
			}
			up[b] = a
			top = a
		})
		lowest[find(v)] = height[v]
	}
	for v := range up {
		if p := height[v] - lowest[v]; up[v] == int32(v) && p >= least {
			found = append(found, summit{vertex: v, prominence: p, highest: true})
		}
	}
	slices.SortFunc(found, func(a, b summit) int { return cmp.Compare(a.vertex, b.vertex) })
	return found
}

// crest is how far, in chainage on both sides of a vertex, its run stays within so much (m) of the height there.
func (n *net) crest(v int, height []float64, within float64) (from, to float64) {
	r := n.run[v]
	p := n.l.Runs[r].Points
	base := n.first[r]
	reach := func(step int) float64 {
		floor := height[v] - within
		k := v - base
		for k+step >= 0 && k+step < len(p) && height[base+k+step] >= floor {
			k += step
		}
		c := p[k].Chainage
		if next := k + step; next >= 0 && next < len(p) {
			a, b := height[base+k], height[base+next] // a ≥ floor > b
			c += (p[next].Chainage - c) * (a - floor) / (a - b)
		}
		return c
	}
	return reach(-1), reach(+1)
}

// highPoints finds summits of the pipe.
func (s *solver) highPoints() {
	height := make([]float64, len(s.net.run))
	for v := range height {
		height[v] = s.net.point(v).Obvert
	}
	t := s.practice.HighPointProminence
	for _, m := range s.net.summits(height, t.Value) {
		if !s.closed(m.vertex) {
			continue
		}
		p := s.place(m.vertex, height, rankHigh)
		text := "high point: it stands " + metres(m.prominence) + " above the higher of the low points beside it"
		if m.highest {
			text = "high point: the highest of the pipes that hang together here, " + metres(m.prominence) + " above the lowest"
		}
		p.reasons = []Reason{{ID: "high-point", Text: text, Figure: m.prominence, Threshold: t.Value, Unit: "m", Source: t.Source}}
		s.found = append(s.found, p)
	}
}

// gradeHighPoints finds summits as seen from the grade line of each flowing case.
func (s *solver) gradeHighPoints() {
	t := s.practice.HighPointProminence
	for f := range s.in.Flowing {
		flowing := &s.in.Flowing[f]
		height := make([]float64, len(s.net.run))
		for v := range height {
			r := s.net.run[v]
			height[v] = s.net.point(v).Obvert - flowing.Head[r][v-s.net.first[r]]
		}
		for _, m := range s.net.summits(height, t.Value) {
			if !s.closed(m.vertex) || s.slack(flowing, m.vertex) {
				continue
			}
			p := s.place(m.vertex, height, rankGrade)
			p.reasons = []Reason{{
				ID: "grade-high-point",
				Text: "high point relative to the grade line: in case " + flowing.Name + " the pressure head here is " + metres(-height[m.vertex]) +
					", " + metres(m.prominence) + " less than at the nearest greatest on either side",
				Figure: m.prominence, Threshold: t.Value, Unit: "m", Source: t.Source,
			}}
			s.found = append(s.found, p)
		}
	}
}

// closed reports whether air that gathers at a vertex has no way out: not at a tank, a free end or the discharge of pumps.
func (s *solver) closed(v int) bool {
	node := s.net.node(v)
	if node < 0 {
		return true
	}
	switch k := s.in.Line.Nodes[node].Kind; k {
	case line.Station:
		return v != s.net.first[s.net.run[v]] // the suction side; the discharge has a reason of its own
	default:
		return !parts(k)
	}
}

// slack reports whether a vertex lies in or at the end of a part-full length.
func (s *solver) slack(f *Flowing, v int) bool {
	r, c := s.net.run[v], s.net.point(v).Chainage
	return slices.ContainsFunc(f.Slack, func(l Slack) bool {
		return l.Run == r && c >= math.Min(l.From, l.To) && c <= math.Max(l.From, l.To)
	})
}
