package draining

import (
	"math"
	"sort"

	"obvert/line"
	"obvert/physics/pipe"
)

// chain is pipe without branch between two joints. A place on it is told by the volume of full pipe, m³, from its first joint, so that a
// surface moves by what flows whatever the bore.
type chain struct {
	a, b   int       // joints
	vertex []int     // of the grid, in order
	v      []float64 // m³, by vertex
	z, top []float64 // m, by vertex: axis and obvert
	area   []float64 // m², by stretch between two vertices
	kind   []int     // by stretch: friction
	length [][]float64
	rough  []friction
	lag    []float64 // 1/m, by vertex: ∫ dx/A from the first joint
	plugs  []plug
	gaps   []gap // before each plug and after the last
}

// friction is the loss of head along pipe of one kind.
type friction struct {
	law   *pipe.Law
	fixed float64 // s²/m⁶: slope over q|q| with a constant factor
	local float64 // s²/m⁶: local losses spread over the length, likewise
}

// slope of the grade line at a flow, and its derivative, s/m³.
func (f *friction) slope(q float64) (s, d float64) {
	if f.law != nil {
		s, d = f.law.Gradient(q)
	}
	k := f.fixed + f.local
	return s + k*q*math.Abs(q), d + 2*k*math.Abs(q)
}

// plug is water that fills the bore between two places of a chain.
type plug struct {
	v0, v1                   float64 // m³
	at0, at1                 bool    // in touch with the water at the chain's joint there
	in0, in1                 float64 // m³/s: what ran down to its ends in the last step, and is reckoned with in this
	got0, got1, owed0, owed1 float64 // m³ in this step: what ran down to them, what was reckoned with
	crest0, crest1           float64 // m³: the places up to which its ends may rise, beyond which what comes runs away
	q, before, was           float64 // m³/s, positive from v0 to v1: in the middle of the step, at its beginning, in the step before
}

// gap is what is not full of water.
type gap struct {
	mass, p float64 // kg of air, Pa absolute
	of      int     // region it was part of in the last step
}

// jointKind says what stands where chains meet or end.
type jointKind uint8

const (
	meeting jointKind = iota
	shutEnd
	tankEnd
	openEnd
	hole
)

// joint is where chains meet or end.
type joint struct {
	kind    jointKind
	vertex  int
	z       float64 // m: axis, or the level at which water leaves
	tank    *basin
	level   float64 // m, of a tank
	opening int     // index, −1 for none
	k       float64 // s²/m⁵: loss of an open end or a hole over q²
	ends    []chainEnd
	out     float64 // m³ left here
	flow    float64 // m³/s now
	head    float64 // m over z, of the last step
}

// chainEnd is one end of a chain.
type chainEnd struct {
	chain int
	last  bool
}

// net is the line as chains between joints.
type net struct {
	*grid
	in     *Input
	chains []chain
	joints []joint
	gates  []gate
	vents  []vent
}

// gate is a check valve between two joints.
type gate struct {
	from, to int
	q        float64
}

func newNet(in *Input) *net {
	n := &net{grid: newGrid(in), in: in}
	special := n.special()
	segAt := make(map[[2]int]int, len(n.segs))
	for i, s := range n.segs {
		segAt[[2]int{s.a, s.b}] = i
	}
	jointOf := make(map[int]int)
	n.makeJoints(special, jointOf)
	n.alias(special, segAt, jointOf)
	type way struct{ from, to int32 }
	walked := make(map[way]bool)
	for v := range n.obvert {
		if special[v] == 0 {
			continue
		}
		for _, w := range n.next[v] {
			if walked[way{int32(v), w}] {
				continue
			}
			path := []int{v, int(w)}
			for special[path[len(path)-1]] == 0 {
				at := path[len(path)-1]
				for _, x := range n.next[at] {
					if int(x) != path[len(path)-2] {
						path = append(path, int(x))
						break
					}
				}
			}
			last := len(path) - 1
			if last == 1 && jointOf[path[0]] == jointOf[path[1]] {
				continue
			}
			walked[way{int32(v), w}], walked[way{int32(path[last]), int32(path[last-1])}] = true, true
			n.addChain(path, segAt, jointOf)
		}
	}
	for _, l := range n.links {
		n.gates = append(n.gates, gate{from: jointOf[l.from], to: jointOf[l.to]})
	}
	return n
}

// special marks the vertices that are joints.
func (n *net) special() []int8 {
	s := make([]int8, len(n.obvert))
	for v := range s {
		if len(n.next[v]) != 2 {
			s[v] = 1
		}
	}
	for _, t := range n.tanks {
		s[t.vertex] = 1
	}
	for _, l := range n.links {
		s[l.from], s[l.to] = 1, 1
	}
	for _, v := range n.opening {
		s[v] = 1
	}
	return s
}

func (n *net) makeJoints(special []int8, of map[int]int) {
	opening := make(map[int]int)
	for i, v := range n.opening {
		opening[v] = i
	}
	tanks := make(map[int]*basin)
	for i := range n.tanks {
		tanks[n.tanks[i].vertex] = &n.tanks[i]
	}
	for v := range special {
		if special[v] == 0 {
			continue
		}
		j := joint{vertex: v, opening: -1, z: 0.5 * (n.obvert[v] + n.invert[v])}
		i, broken := opening[v]
		switch {
		case broken:
			n.open(&j, i)
		case tanks[v] != nil:
			j.kind, j.tank, j.level, j.z = tankEnd, tanks[v], tanks[v].level, 0
		case n.at[v].Run >= 0 && len(n.next[v]) <= 1 && n.outfallAt(v):
			j.kind = openEnd
		case len(n.next[v]) <= 1 && !n.linked(v):
			j.kind = shutEnd
		}
		of[v] = len(n.joints)
		n.joints = append(n.joints, j)
	}
}

// alias makes one joint of two that stand at one place.
func (n *net) alias(special []int8, segAt map[[2]int]int, of map[int]int) {
	for v := range special {
		for _, w := range n.next[v] {
			_, ahead := segAt[[2]int{v, int(w)}]
			_, behind := segAt[[2]int{int(w), v}]
			if special[v] == 0 || special[w] == 0 || ahead || behind || of[v] == of[int(w)] {
				continue
			}
			keep, drop := of[v], of[int(w)]
			if k := n.joints[keep].kind; k == meeting || k == shutEnd {
				keep, drop = drop, keep
			}
			if n.joints[drop].kind == tankEnd {
				continue
			}
			for x, j := range of {
				if j == drop {
					of[x] = keep
				}
			}
		}
	}
}

func (n *net) linked(v int) bool {
	for _, l := range n.links {
		if l.from == v || l.to == v {
			return true
		}
	}
	return false
}

// outfallAt tells whether a run's end discharges into the air.
func (n *net) outfallAt(v int) bool {
	r := &n.l.Runs[n.at[v].Run]
	return v == n.first[n.at[v].Run] && n.l.Nodes[r.From].Kind == line.Outfall || v == n.lastOf(n.at[v].Run) && n.l.Nodes[r.To].Kind == line.Outfall
}

// open makes a joint of an opening. A broken pipe lets out at its own bore, and the water that comes to it moves already: of the jet's
// velocity head only what exceeds that of the pipe is lost. A hole in the side takes all of its jet's from water that stands.
func (n *net) open(j *joint, i int) {
	o := &n.in.Openings[i]
	j.opening = i
	bore := n.obvert[j.vertex] - n.invert[j.vertex]
	d, c := o.Diameter, o.Coefficient
	if d == 0 {
		d = bore
	}
	if c == 0 {
		if c = 0.6; o.Diameter == 0 {
			c = 1
		}
	}
	if o.HasLevel {
		j.z = o.Level
	}
	whole := pipe.Area(bore)
	k := math.Pow(whole/(c*pipe.Area(d)), 2)
	j.kind = hole
	if o.Diameter == 0 {
		j.kind = openEnd
		k = max(0, k-1)
	}
	j.k = k / (2 * n.l.Site.Gravity * whole * whole)
}

// addChain lays a chain along a path of vertices. At a pipe broken across its whole bore each side ends in a joint of its own.
func (n *net) addChain(path []int, segAt map[[2]int]int, jointOf map[int]int) {
	id := len(n.chains)
	end := func(v int, last bool) int {
		j := jointOf[v]
		if jt := &n.joints[j]; jt.kind == openEnd && len(jt.ends) > 0 {
			twin := *jt
			twin.ends = nil
			n.joints = append(n.joints, twin)
			j = len(n.joints) - 1
		}
		n.joints[j].ends = append(n.joints[j].ends, chainEnd{id, last})
		return j
	}
	c := chain{a: end(path[0], false), b: end(path[len(path)-1], true)}
	kinds := make(map[[2]int]int)
	volume, lag := 0.0, 0.0
	var lengths []float64
	add := func(v int) {
		c.vertex = append(c.vertex, v)
		c.v, c.lag = append(c.v, volume), append(c.lag, lag)
		c.z, c.top = append(c.z, 0.5*(n.obvert[v]+n.invert[v])), append(c.top, n.obvert[v])
	}
	for i, v := range path {
		if i > 0 {
			s, ok := segAt[[2]int{path[i-1], v}]
			if !ok {
				s, ok = segAt[[2]int{v, path[i-1]}]
			}
			length, area, kind := 0.0, 1.0, 0
			if ok {
				sg := &n.segs[s]
				length, area = sg.length, pipe.Area(sg.bore)
				key := [2]int{sg.run, sg.section}
				k, seen := kinds[key]
				if !seen {
					k = len(c.rough)
					kinds[key] = k
					c.rough = append(c.rough, n.frictionOf(sg))
				}
				kind = k
			}
			if len(c.vertex) > 0 && wide(n.obvert[v]) {
				c.area, c.kind = append(c.area, area), append(c.kind, kind)
				lengths = append(lengths, length)
				volume += length * area
				lag += length / area
			}
		}
		if wide(n.obvert[v]) && wide(n.invert[v]) {
			add(v)
		}
	}
	if len(c.rough) == 0 {
		c.rough = []friction{{}}
	}
	c.length = make([][]float64, len(c.rough))
	for k := range c.length {
		c.length[k] = make([]float64, len(c.vertex))
		for i, l := range lengths {
			c.length[k][i+1] = c.length[k][i]
			if c.kind[i] == k {
				c.length[k][i+1] += l
			}
		}
	}
	n.chains = append(n.chains, c)
}

func (n *net) frictionOf(s *segment) friction {
	sec := &n.l.Runs[s.run].Sections[s.section]
	g, a := n.l.Site.Gravity, pipe.Area(s.bore)
	var f friction
	switch {
	case n.in.Friction > 0:
		f.fixed = n.in.Friction / (2 * g * s.bore * a * a)
	case sec.HazenWilliams > 0:
		l := pipe.NewHazenWilliams(s.bore, sec.HazenWilliams)
		f.law = &l
	default:
		l := pipe.NewDarcyWeisbach(s.bore, sec.Roughness, n.l.Site.Viscosity, g)
		f.law = &l
	}
	if sec.LocalLoss > 0 {
		f.local = sec.LocalLoss / (2 * g * a * a) / math.Max(sec.To-sec.From, 1e-9)
	}
	return f
}

// total is the volume of the chain.
func (c *chain) total() float64 { return c.v[len(c.v)-1] }

// find is the stretch in which a place lies, and the share of it that lies before the place.
func (c *chain) find(v float64) (i int, f float64) {
	i = sort.SearchFloat64s(c.v, v)
	if i > 0 {
		i--
	}
	for i < len(c.v)-2 && c.v[i+1] <= v {
		i++
	}
	if i >= len(c.v)-1 {
		return max(len(c.v)-2, 0), 1
	}
	if w := c.v[i+1] - c.v[i]; w > 0 {
		return i, min(max((v-c.v[i])/w, 0), 1)
	}
	return i, 0
}

// mid interpolates a figure by vertex at a place.
func (c *chain) mid(of []float64, v float64) float64 {
	if len(of) == 1 {
		return of[0]
	}
	i, f := c.find(v)
	return of[i] + f*(of[i+1]-of[i])
}

// level is the axis at a place.
func (c *chain) level(v float64) float64 { return c.mid(c.z, v) }

// loss is the head lost between two places at a flow, and its derivative.
func (c *chain) loss(v0, v1, q float64) (h, d float64) {
	for k := range c.rough {
		l := c.mid(c.length[k], v1) - c.mid(c.length[k], v0)
		if l == 0 {
			continue
		}
		s, ds := c.rough[k].slope(q)
		h, d = h+l*s, d+l*ds
	}
	return h, d
}

// fall is how the pipe goes on from a place, seen away from the water there: below 0 where it goes down.
func (c *chain) fall(v float64, forward bool) float64 {
	const tiny = 1e-9
	n := len(c.v)
	if forward {
		for i := max(1, sort.SearchFloat64s(c.v, v)); i < n; i++ {
			if c.v[i] > v+tiny*(1+v) && c.z[i] != c.z[i-1] {
				return c.z[i] - c.z[i-1]
			}
		}
		return 0
	}
	for i := min(n-2, sort.SearchFloat64s(c.v, v)); i >= 0; i-- {
		if c.v[i] < v-tiny*(1+v) && c.z[i] != c.z[i+1] {
			return c.z[i] - c.z[i+1]
		}
	}
	return 0
}

// crest is the place up to which water rises from a place before the pipe falls away from it: the place itself where it does at once, the
// chain's end where it never does.
func (c *chain) crest(v float64, forward bool) float64 {
	const tiny = 1e-9
	top, place := c.level(v), v
	look := func(i int) bool {
		switch {
		case c.z[i] > top:
			top, place = c.z[i], c.v[i]
		case c.z[i] < top:
			return false
		}
		return true
	}
	if forward {
		for i := sort.SearchFloat64s(c.v, v+tiny*(1+v)); i < len(c.v); i++ {
			if !look(i) {
				return place
			}
		}
		return c.total()
	}
	for i := sort.SearchFloat64s(c.v, v-tiny*(1+v)) - 1; i >= 0; i-- {
		if !look(i) {
			return place
		}
	}
	return 0
}
