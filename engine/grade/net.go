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

// matrix gives an empty Jacobian; the order of elimination is found once.
func (n *Net) matrix() *num.Sparse {
	n.once.Do(func() {
		var links [][2]int
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
		n.order = num.NewSparse(n.nodes, links)
	})
	return n.order.Clone()
}

// Need is a head that somebody wants at a place: a sustaining valve set there would keep it.
type Need struct {
	Run      int
	Chainage float64 `unit:"m"`
	Head     float64 `unit:"m"` // level of the grade line above datum, at least
}

// Leak is a valve that drips: standing water ends at its seat.
type Leak struct {
	Run      int
	Chainage float64 `unit:"m"`
	Seat     float64 `unit:"m"` // level above datum
}

// Input is one case of a line.
type Input struct {
	Net  *Net
	Case int // index into the line's cases
	Need []Need
	// Leaks are valves through which a line at rest has drained as far as their seats, and that let air in.
	Leaks []Leak
	// RoughnessFactor multiplies the roughness of every section; 0 means 1.
	RoughnessFactor float64 `unit:"1"`
	// SpeedFactor multiplies the speed of every running pump; 0 means 1.
	SpeedFactor float64 `unit:"1"`
	// Guess, where not nil, gives the flow in m³/s from which the iteration starts, by element; for tests of uniqueness.
	Guess func(element int) float64
}

// Check names everything in the input that cannot be solved.
func (in Input) Check() error {
	if in.Net == nil {
		return errors.New("grade: no net")
	}
	var faults []error
	if in.Case < 0 || in.Case >= len(in.Net.Line.Cases) {
		faults = append(faults, fmt.Errorf("grade: no case %d; the line has %d", in.Case, len(in.Net.Line.Cases)))
	}
	for _, w := range in.Need {
		if w.Run < 0 || w.Run >= len(in.Net.Line.Runs) {
			faults = append(faults, fmt.Errorf("grade: no run %d", w.Run))
		}
	}
	for _, k := range in.Leaks {
		if k.Run < 0 || k.Run >= len(in.Net.Line.Runs) {
			faults = append(faults, fmt.Errorf("grade: a leak on run %d: there is no such run", k.Run))
		}
	}
	if in.RoughnessFactor < 0 || in.SpeedFactor < 0 {
		faults = append(faults, errors.New("grade: roughness and speed factors must not be negative"))
	}
	return errors.Join(faults...)
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
