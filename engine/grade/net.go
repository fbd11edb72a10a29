package grade

import (
	"errors"
	"fmt"
	"math"
	"sync"

	"obvert/line"
	"obvert/num"
)

// Net is a line made ready for solving: its runs cut into grids, its nodes numbered, the order of elimination found. It
// may serve many cases at once.
type Net struct {
	Line  *line.Line
	grids []*grid
	// Nodes of the solver: first the line's, then the suction side of every station that a run reaches, then the common main behind the pumps of
	// stations that share one check valve.
	nodes   int
	suction []int     // by line node: the suction side's number, or the line node's own
	header  []int     // by line node: the number of the main before a shared check valve, or −1
	points  int       // grid points of all runs together
	top     []float64 // m, by line node: the highest obvert of the run ends that meet there

	once  sync.Once
	order *num.Sparse
	held  map[[2]int]bool // pairs in it for the sake of drives that hold a head
}

// NewNet prepares a line that has passed its checks.
func NewNet(l *line.Line) (*Net, error) {
	if len(l.Runs) == 0 || len(l.Nodes) == 0 {
		return nil, errors.New("grade: the line has no runs")
	}
	n := &Net{Line: l, nodes: len(l.Nodes)}
	for i := range l.Runs {
		run := &l.Runs[i]
		if len(run.Points) < 2 || len(run.Sections) == 0 {
			return nil, fmt.Errorf("grade: run %q needs two profile points and a section", run.Name)
		}
		g := newGrid(run)
		g.vertex = n.points
		n.points += len(g.chainage)
		n.grids = append(n.grids, g)
	}
	n.top = make([]float64, len(l.Nodes))
	for i := range n.top {
		n.top[i] = math.Inf(-1)
	}
	for i, run := range l.Runs {
		g := n.grids[i]
		n.top[run.From] = max(n.top[run.From], g.obvert[0])
		n.top[run.To] = max(n.top[run.To], g.obvert[g.last()])
	}
	n.suction = make([]int, len(l.Nodes))
	n.header = make([]int, len(l.Nodes))
	for i := range l.Nodes {
		n.suction[i], n.header[i] = i, -1
		s := l.Nodes[i].Station
		if s == nil {
			continue
		}
		if !s.HasSump {
			n.suction[i] = n.nodes
			n.nodes++
		}
		if s.Check == line.CheckShared {
			n.header[i] = n.nodes
			n.nodes++
		}
	}
	return n, nil
}

// begin and end are the solver's nodes at a run's two ends.
func (n *Net) begin(run int) int { return n.Line.Runs[run].From }

func (n *Net) end(run int) int { return n.suction[n.Line.Runs[run].To] }

// matrix gives an empty Jacobian for a case; the order of elimination is found once, for all cases of the line. A case made later whose drives hold heads elsewhere gets
// one of its own.
func (n *Net) matrix(c *line.Case) *num.Sparse {
	n.once.Do(func() {
		links := n.links()
		n.held = map[[2]int]bool{}
		for k := range n.Line.Cases {
			for _, at := range n.holdLinks(&n.Line.Cases[k]) {
				n.held[at] = true
				links = append(links, at)
			}
		}
		n.order = num.NewSparse(n.nodes, links)
	})
	at := n.holdLinks(c)
	for _, a := range at {
		if !n.held[a] {
			return num.NewSparse(n.nodes, append(n.links(), at...))
		}
	}
	return n.order.Clone()
}

// links are the pairs of nodes that elements join.
func (n *Net) links() (links [][2]int) {
	for i := range n.Line.Runs {
		links = append(links, [2]int{n.begin(i), n.end(i)})
	}
	for i := range n.Line.Nodes {
		if n.suction[i] != i {
			links = append(links, [2]int{n.suction[i], i})
		}
		if n.header[i] >= 0 {
			links = append(links, [2]int{n.header[i], i}, [2]int{n.suction[i], n.header[i]})
		}
	}
	return links
}

// holdLinks are the pairs of nodes that drives which hold a head join besides.
func (n *Net) holdLinks(c *line.Case) (links [][2]int) {
	for i := range c.Stations {
		set := &c.Stations[i]
		if at := set.HoldAt; set.HasHoldHead && at >= 0 && at < len(n.Line.Nodes) && n.Line.Nodes[i].Station != nil {
			links = append(links, [2]int{at, i}, [2]int{at, n.suction[i]})
		}
	}
	return links
}

// nearest is the grid index at, or just upstream of, a chainage.
func (g *grid) nearest(chainage float64) int {
	lo, hi := 0, g.last()
	for lo < hi {
		m := (lo + hi + 1) / 2
		if g.chainage[m] <= chainage {
			lo = m
		} else {
			hi = m - 1
		}
	}
	return lo
}

// top is the grid index of the highest of the points at a chainage, else that just upstream of it.
func (g *grid) top(chainage float64) int {
	best := g.nearest(chainage)
	for k := best - 1; k >= 0 && g.chainage[k] == chainage; k-- {
		if g.obvert[k] > g.obvert[best] {
			best = k
		}
	}
	return best
}
