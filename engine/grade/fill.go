package grade

import (
	"fmt"
	"math"

	"obvert/line"
	"obvert/quantity"
)

// stillFlow is a flow that counts as none: in a wide short pipe it takes no more head than the iteration may miss.
const stillFlow = 1e-8 // m³/s

// fill puts the solution into a result.
func (f *flow) fill(r *Result) {
	still, anyStill := f.stillRuns()
	r.fine = make([]fine, len(f.runs))
	r.Runs = make([]RunState, len(f.runs))
	for i, rl := range f.runs {
		if still[i] {
			continue
		}
		p := f.profileOf(i)
		f.fillRun(r, i, rl, p)
	}
	r.Nodes = make([]NodeState, len(f.l.Nodes))
	balance := f.balance()
	for i := range f.l.Nodes {
		z := f.endObvert(i)
		r.Nodes[i] = NodeState{Head: f.head[i], PressureHead: f.head[i] - z, Supply: -balance[i], Pool: -1}
		if f.l.Nodes[i].Kind == line.Offtake {
			r.Nodes[i].Supply = -f.demand[i]
		}
	}
	if anyStill {
		f.fillStill(r, still)
	}
	for i := range f.l.Nodes {
		if f.l.Nodes[i].Station != nil {
			f.fillStation(r, i)
		}
	}
	if len(f.in.Pockets) > 0 {
		f.airBound(still)
	}
	f.settleNodes(r)
	r.Notes = append(r.Notes, f.notes...)
}

// stillRuns are the runs that carry no flow.
func (f *flow) stillRuns() (runs []bool, some bool) {
	runs = make([]bool, len(f.runs))
	for i := range f.runs {
		runs[i] = math.Abs(f.elems[i].q) < stillFlow
		some = some || runs[i]
	}
	return runs, some
}

// settleNodes gives each node the state of the pipe that ends at it.
func (f *flow) settleNodes(r *Result) {
	for i := range f.l.Runs {
		fn := r.fine[i]
		for _, end := range [2]struct{ node, k int }{{f.l.Runs[i].From, 0}, {f.l.Runs[i].To, f.net.grids[i].last()}} {
			nd := &r.Nodes[end.node]
			if f.l.Nodes[end.node].Kind != line.Tank && fn.wet[end.k] > nd.Wetness {
				nd.Wetness = fn.wet[end.k]
			}
			if nd.Wetness == Part || nd.Wetness == Empty {
				nd.PressureHead = max(nd.PressureHead, 0)
			}
		}
	}
}

// fine is the state of a run on its grid.
type fine struct {
	grid *grid
	head []float64
	wet  []Wetness
	// Of runs at rest: the level at each grid point, where air has reached, and the head of water's vapour. Nil in runs that flow.
	level  []float64
	air    []bool
	pool   []int
	vapour float64
}

func (f *flow) fillRun(r *Result, i int, rl *runLaw, p *profile) {
	g := rl.g
	fn := fine{grid: g, head: p.head, wet: make([]Wetness, len(p.head))}
	vapour := f.l.Site.VapourHead()
	for k, h := range p.head {
		switch above := h - g.obvert[k]; {
		case !f.air[i][k] && above <= vapour+headTolerance:
			fn.wet[k] = Vapour
		case above < -headTolerance:
			fn.wet[k] = Suction
		case f.air[i][k] && above <= headTolerance && p.before[k] < g.obvert[k]-headTolerance:
			fn.wet[k] = Part
		}
	}
	r.fine[i] = fn
	r.Runs[i] = newRunState(g, fn, f.elems[i].q, nil)
	f.findSlack(r, i, rl, p)
}

func newRunState(g *grid, fn fine, q float64, pool []int) RunState {
	n := len(g.point)
	s := RunState{Flow: q, Head: make([]float64, n), PressureHead: make([]float64, n), Wetness: make([]Wetness, n)}
	if pool != nil {
		s.Pool = make([]int, n)
	}
	for j, k := range g.point {
		s.Head[j], s.Wetness[j] = fn.head[k], fn.wet[k]
		s.PressureHead[j] = pressureHead(g, fn, k)
		if pool != nil {
			s.Pool[j] = pool[k]
		}
	}
	return s
}

func pressureHead(g *grid, fn fine, k int) float64 {
	h := fn.head[k] - g.obvert[k]
	if fn.wet[k] == Part || fn.wet[k] == Empty || math.Abs(h) < 1e-9 {
		return 0
	}
	return h
}

// findSlack collects the part-full lengths of a run, each from the place that controls it to where the pipe is full again.
func (f *flow) findSlack(r *Result, i int, rl *runLaw, p *profile) {
	g := rl.g
	n := g.last()
	k, step := 0, 1
	if f.elems[i].q < 0 {
		k, step = n, -1
	}
	lost := func(k int) bool {
		return p.before[k] < rl.bound[k]-headTolerance && p.head[k] <= rl.bound[k]+headTolerance
	}
	for ; k >= 0 && k <= n; k += step {
		if !lost(k) {
			continue
		}
		s := Slack{Run: i, From: g.chainage[k], Vapour: !f.air[i][k]}
		first, start := k, p.head[k]
		bound := func(k int) float64 {
			if s.Vapour {
				return rl.bound[k]
			}
			return g.obvert[k]
		}
		end, endHead := g.chainage[k], p.before[k]
		for k+step >= 0 && k+step <= n {
			next := k + step
			// Downstream of k the full pipe's grade line comes in at before[k], below the bound; it meets the bound before the next
			// point if it stands above it there.
			here, there := p.before[k]-bound(k), p.head[next]-bound(next)
			if there > headTolerance {
				t := here / (here - there)
				end = g.chainage[k] + t*(g.chainage[next]-g.chainage[k])
				endHead = bound(k) + t*(bound(next)-bound(k))
				break
			}
			end, endHead = g.chainage[next], p.head[next]
			k = next
			if !lost(k) {
				break
			}
			if k+step < 0 || k+step > n {
				endHead = p.head[k]
			}
		}
		s.To, s.HeadLost = end, start-endHead
		if s.To != s.From || first+step >= 0 && first+step <= n && s.HeadLost > headTolerance { // the second: down a vertical step
			r.Slack = append(r.Slack, s)
			f.markSlack(r, i, s, min(first, k), max(first, k))
		}
	}
}

// markSlack marks the grid points first to last, inside a slack length, as part full.
func (f *flow) markSlack(r *Result, run int, s Slack, first, last int) {
	fn, g := &r.fine[run], f.net.grids[run]
	mark := Part
	if s.Vapour {
		mark = Vapour
	}
	for k := first; k <= last; k++ {
		fn.wet[k] = mark
	}
	for j, k := range g.point {
		r.Runs[run].Wetness[j] = fn.wet[k]
		r.Runs[run].PressureHead[j] = pressureHead(g, *fn, k)
	}
	what := "air"
	id := "grade.slack"
	if s.Vapour {
		what, id = "water vapour", "grade.vapour"
	}
	f.notes = append(f.notes, Note{ID: id, Where: f.l.Runs[run].Name,
		Text: fmt.Sprintf("From %s to %s on %s the pipe runs part full under %s; %s of head is lost there.",
			quantity.FormatChainage(s.From), quantity.FormatChainage(s.To), f.l.Runs[run].Name, what, quantity.Format(s.HeadLost, "m", 2))})
}

// State is the water at one place of a run.
type State struct {
	Head         float64 `unit:"m"` // level of the grade line above datum
	PressureHead float64 `unit:"m"` // gauge, at the obvert
	Obvert       float64 `unit:"m"`
	Wetness      Wetness
	Pool         int // index of the pool it stands in, −1 for none
}

// At is the state at a chainage of a run. At a placed valve or a profile point it is exact; between grid points the grade
// line is straight. Where several points share the chainage the highest counts, for a valve stands on top.
func (r *Result) At(run int, chainage float64) State {
	fn := r.fine[run]
	g := fn.grid
	k := g.nearest(chainage)
	if g.chainage[k] == chainage {
		best := k
		for k > 0 && g.chainage[k-1] == chainage {
			k--
			if g.obvert[k] > g.obvert[best] || g.obvert[k] == g.obvert[best] && fn.head[k] < fn.head[best] {
				best = k
			}
		}
		return fn.stateOf(best)
	}
	if k == g.last() {
		return fn.stateOf(k)
	}
	t := (chainage - g.chainage[k]) / (g.chainage[k+1] - g.chainage[k])
	if fn.level != nil {
		return fn.restAt(k, t)
	}
	mid := func(a []float64) float64 { return a[k] + t*(a[k+1]-a[k]) }
	s := State{Head: mid(fn.head), Obvert: mid(g.obvert), Wetness: max(fn.wet[k], fn.wet[k+1]), Pool: -1}
	if s.PressureHead = s.Head - s.Obvert; s.PressureHead > headTolerance {
		s.Wetness = Full
	}
	if s.Wetness == Part || s.Wetness == Empty {
		s.PressureHead = 0
	}
	return s
}

func (fn fine) stateOf(k int) State {
	s := State{fn.head[k], pressureHead(fn.grid, fn, k), fn.grid.obvert[k], fn.wet[k], -1}
	if fn.pool != nil {
		s.Pool = fn.pool[k]
	}
	return s
}

// restAt is the state of a run at rest a part t of the way from grid point k to the next: water stands there at the lower of the two levels, or at the
// barrier of the place itself.
func (fn fine) restAt(k int, t float64) State {
	g := fn.grid
	mid := func(a []float64) float64 { return a[k] + t*(a[k+1]-a[k]) }
	s := State{Obvert: mid(g.obvert), Pool: -1}
	own := mid(g.invert)
	hanging := !fn.air[k] && !fn.air[k+1]
	if hanging {
		own += fn.vapour
	}
	s.Head = max(min(fn.level[k], fn.level[k+1]), own)
	s.Wetness = wetnessAt(s.Head, s.Obvert, mid(g.invert), own, !hanging)
	if s.PressureHead = s.Head - s.Obvert; s.Wetness == Part || s.Wetness == Empty {
		s.PressureHead = 0
	}
	switch {
	case s.Wetness == Empty:
		s.Head = s.Obvert
	case fn.pool == nil:
	case fn.level[k] <= s.Head && fn.pool[k] >= 0:
		s.Pool = fn.pool[k]
	default:
		s.Pool = fn.pool[k+1]
	}
	return s
}
