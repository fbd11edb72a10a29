package line

import (
	"cmp"
	"container/heap"
	"fmt"
	"math"
	"slices"
)

// readRoutes reads the long sections that the document names and adds those that are wanting: every run stands on one.
func (r *reader) readRoutes(root form) {
	for i, f := range root.list("route", "route", false) {
		name, named := f.name("name", true)
		runs, ok := f.texts("runs")
		if !ok && !f.t.Has("runs") {
			f.fault("runs", "is missing", "", "write runs = [\"first run\", \"next run\"]")
		}
		if named {
			r.routeNames.add(f, "name", name, i)
		}
		if route, ok := r.readLegs(f, name, runs); ok {
			r.line.Routes = append(r.line.Routes, route)
		}
	}
	if r.whole() {
		r.addRoutes()
	}
}

// whole tells whether all runs have their nodes and points.
func (r *reader) whole() bool {
	for i, run := range r.line.Runs {
		if run.From < 0 || run.To < 0 || !r.runForms[i].profile {
			return false
		}
	}
	return true
}

// readLegs puts named runs end to end.
func (r *reader) readLegs(f form, name string, runs []string) (Route, bool) {
	var path []int
	for k, s := range runs {
		i, ok := r.runs.find(f, fmt.Sprintf("runs[%d]", k+1), s)
		if !ok {
			return Route{}, false
		}
		if slices.Contains(path, i) {
			f.fault(fmt.Sprintf("runs[%d]", k+1), fmt.Sprintf("run %q stands twice on the route", s), "", "name each run once")
			return Route{}, false
		}
		path = append(path, i)
	}
	if f.t.Has("runs") && len(path) == 0 {
		f.fault("runs", "the route has no run", "", "name one run or more")
	}
	if len(path) == 0 || !r.whole() {
		return Route{}, false
	}
	start := r.line.Runs[path[0]].From
	if len(path) > 1 && r.touches(path[1], start) && !r.touches(path[1], r.line.Runs[path[0]].To) {
		start = r.line.Runs[path[0]].To
	}
	for k, node := 0, start; k < len(path); k++ {
		if !r.touches(path[k], node) {
			f.fault(fmt.Sprintf("runs[%d]", k+1), fmt.Sprintf("run %q does not begin where the one before it ends", runs[k]),
				fmt.Sprintf("the route has come to %q", r.line.Nodes[node].Name), "name runs that follow one another")
			return Route{}, false
		}
		node = r.otherEnd(path[k], node)
	}
	return r.route(name, start, path), true
}

func (r *reader) touches(run, node int) bool {
	return r.line.Runs[run].From == node || r.line.Runs[run].To == node
}

func (r *reader) otherEnd(run, node int) int {
	if r.line.Runs[run].From == node {
		return r.line.Runs[run].To
	}
	return r.line.Runs[run].From
}

// route puts runs end to end from a node. The chainage along the route begins with that of its first run, or with 0
// where that run is walked against its direction.
func (r *reader) route(name string, start int, path []int) Route {
	route := Route{Name: name}
	at := 0.0
	for k, i := range path {
		run := &r.line.Runs[i]
		leg := Leg{Run: i, Sign: 1}
		if run.From == start {
			if k == 0 {
				at = run.First()
			}
			leg.Offset = at - run.First()
		} else {
			leg.Sign, leg.Offset = -1, at+run.Last()
		}
		at += run.Last() - run.First()
		start = r.otherEnd(i, start)
		route.Legs = append(route.Legs, leg)
	}
	return route
}

// addRoutes makes routes for all runs that stand on none. The first goes from the first pump station, or the tank that
// feeds it, along the longest way; a branch gets a route from where it leaves, a run that closes a ring one of its own.
func (r *reader) addRoutes() {
	covered := make([]bool, len(r.line.Runs))
	for _, route := range r.line.Routes {
		for _, leg := range route.Legs {
			covered[leg.Run] = true
		}
	}
	t := newTree(len(r.line.Nodes))
	for _, kinds := range [][]NodeKind{{Station}, {Tank}, {Junction, Offtake, Outfall, DeadEnd}} {
		for i, n := range r.line.Nodes {
			if slices.Contains(kinds, n.Kind) && !t.reached(i) && len(n.Runs) > 0 {
				r.addTree(t, r.upstream(i), covered)
			}
		}
	}
	for i, done := range covered {
		if !done {
			r.addRoute(r.line.Runs[i].From, []int{i}, covered)
		}
	}
}

// upstream goes back from a station along its suction run to the tank that feeds it.
func (r *reader) upstream(node int) int {
	for range r.line.Nodes {
		n := r.line.Nodes[node]
		if n.Kind != Station || n.Station.HasSump {
			return node
		}
		back := -1
		for _, i := range n.Runs {
			if r.line.Runs[i].To == node && back < 0 {
				back = r.line.Runs[i].From
			}
		}
		if back < 0 {
			return node
		}
		node = back
	}
	return node
}

// addTree lays the tree of shortest ways from a node and cuts it into routes, the longest first.
func (r *reader) addTree(t *tree, start int, covered []bool) {
	order := r.shortest(t, start)
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Or(cmp.Compare(t.way[b], t.way[a]), cmp.Compare(a, b)) })
	for _, node := range order {
		var path []int
		from := node
		for t.by[from] >= 0 && !covered[t.by[from]] {
			path = append(path, t.by[from])
			from = r.otherEnd(t.by[from], from)
		}
		if len(path) > 0 {
			slices.Reverse(path)
			r.addRoute(from, path, covered)
		}
	}
}

// addRoute adds a route that Obvert made, named after its ends, and after its run where that is not enough.
func (r *reader) addRoute(start int, path []int, covered []bool) {
	end := start
	for _, i := range path {
		covered[i] = true
		end = r.otherEnd(i, end)
	}
	name := r.line.Nodes[start].Name + " to " + r.line.Nodes[end].Name
	if _, taken := r.routeNames.index[name]; taken {
		name = r.line.Runs[path[len(path)-1]].Name + ", " + name
	}
	r.routeNames.index[name] = len(r.line.Routes)
	r.line.Routes = append(r.line.Routes, r.route(name, start, path))
}

// tree holds the shortest way in metres of chainage to every node, and the run by which it is reached: −1 at a start.
type tree struct {
	way []float64
	by  []int
}

func newTree(nodes int) *tree {
	t := &tree{make([]float64, nodes), make([]int, nodes)}
	for i := range t.way {
		t.way[i], t.by[i] = math.Inf(1), -1
	}
	return t
}

func (t *tree) reached(node int) bool { return !math.IsInf(t.way[node], 0) }

// shortest finds the shortest ways from a node to all that hang together with it, and returns those nodes
// (E. W. Dijkstra, A note on two problems in connexion with graphs, Numerische Mathematik 1 (1959) 269).
func (r *reader) shortest(t *tree, start int) []int {
	order := []int{start}
	t.way[start] = 0
	q := &queue{{start, 0}}
	for q.Len() > 0 {
		at := heap.Pop(q).(waypoint)
		if at.way > t.way[at.node] {
			continue
		}
		for _, i := range r.line.Nodes[at.node].Runs {
			run := &r.line.Runs[i]
			next, d := r.otherEnd(i, at.node), at.way+run.Last()-run.First()
			if d >= t.way[next] {
				continue
			}
			if !t.reached(next) {
				order = append(order, next)
			}
			t.way[next], t.by[next] = d, i
			heap.Push(q, waypoint{next, d})
		}
	}
	return order
}

// waypoint is a node with the way to it.
type waypoint struct {
	node int
	way  float64
}

// queue hands out the nearest waypoint first, the smaller node index of two equally near.
type queue []waypoint

func (q queue) Len() int { return len(q) }
func (q queue) Less(i, j int) bool {
	return q[i].way < q[j].way || q[i].way == q[j].way && q[i].node < q[j].node
}
func (q queue) Swap(i, j int) { q[i], q[j] = q[j], q[i] }
func (q *queue) Push(x any)   { *q = append(*q, x.(waypoint)) }
func (q *queue) Pop() any {
	old := *q
	x := old[len(old)-1]
	*q = old[:len(old)-1]
	return x
}
