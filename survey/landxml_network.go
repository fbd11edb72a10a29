package survey

import (
	"fmt"
	"math"
	"slices"

	"obvert/document"
	"obvert/formats/landxml"
	"obvert/line"
	"obvert/quantity"
)

// The bores that a pipe can have, m: from a garden hose to the largest tunnels. Outside, a diameter is in another unit than the file says.
const (
	leastBore    = 0.01
	greatestBore = 10.0
)

// web is a pipe network as a graph.
type web struct {
	x    *landReader
	n    landxml.Network
	name string
	node map[string]int // index of a structure by name
	at   [][]int        // pipes at each structure
	used []bool         // pipes that stand in a track
	from []int          // structures of each pipe, −1 where it is not usable
	to   []int
}

// run chains the pipes.
func (w *web) run() {
	g := w.x.g
	for i, s := range w.n.Structures {
		if _, twice := w.node[s.Name]; twice {
			g.Repeated("twice", s.Line, document.WarningSeverity, func() document.Fault {
				return document.Fault{ID: "landxml.twice", Key: "Struct", What: "two structures named " + quantity.Quote(s.Name), Hint: "the first is taken"}
			})
			continue
		}
		w.node[s.Name] = i
	}
	w.at = make([][]int, len(w.n.Structures))
	w.used, w.from, w.to = make([]bool, len(w.n.Pipes)), make([]int, len(w.n.Pipes)), make([]int, len(w.n.Pipes))
	for i, p := range w.n.Pipes {
		a, okA := w.node[p.From]
		b, okB := w.node[p.To]
		if !okA || !okB || a == b {
			w.used[i] = true
			g.Repeated("loose", p.Line, document.WarningSeverity, func() document.Fault {
				missing := p.From
				if okA {
					missing = p.To
				}
				f := document.Fault{ID: "landxml.loose", Key: "Pipe " + document.Shown(p.Name, 40), What: "a pipe whose end is not in the file", Understood: "structure " + quantity.Quote(missing), Hint: "it was left out"}
				if okA && okB {
					f.What = "a pipe that begins and ends at one structure"
				}
				return f
			})
			continue
		}
		w.from[i], w.to[i] = a, b
		w.at[a] = append(w.at[a], i)
		w.at[b] = append(w.at[b], i)
	}
	chains := 0
	// First the chains that begin at an end or a branch, downstream as the file draws its pipes; then rings.
	for _, ends := range []bool{true, false} {
		for i := range w.n.Pipes {
			if w.used[i] {
				continue
			}
			for _, start := range []int{w.from[i], w.to[i]} {
				if !w.used[i] && (!ends || len(w.at[start]) != 2) {
					w.chain(start, i, chains)
					chains++
				}
			}
		}
	}
	if chains == 0 {
		w.x.left("%s: a pipe network without a pipe between two structures", w.name)
	}
}

// chain adds the track of the pipes from a structure on, beginning with one.
func (w *web) chain(start, pipe, number int) {
	var pipes, nodes []int
	nodes = append(nodes, start)
	at, against := start, 0
	for {
		w.used[pipe] = true
		pipes = append(pipes, pipe)
		next := w.to[pipe]
		if next == at {
			next = w.from[pipe]
			against++
		}
		at = next
		nodes = append(nodes, at)
		if len(w.at[at]) != 2 || at == start {
			break
		}
		more := w.at[at][0]
		if more == pipe {
			more = w.at[at][1]
		}
		if w.used[more] {
			break
		}
		pipe = more
	}
	if 2*against > len(pipes) { // as most of its pipes are drawn
		slices.Reverse(pipes)
		slices.Reverse(nodes)
	}
	w.track(pipes, nodes, number)
}

// level is the invert of a pipe at a structure, in m.
func (w *web) level(structure, pipe int) (float64, bool) {
	s := w.n.Structures[structure]
	alone := len(s.Inverts) == 1
	for _, v := range s.Inverts {
		if v.Pipe == w.n.Pipes[pipe].Name || v.Pipe == "" && alone {
			return v.Level * w.x.m, true
		}
	}
	return 0, false
}

// track makes a track of a chain.
func (w *web) track(pipes, nodes []int, number int) {
	x, g := w.x, w.x.g
	name := w.name
	if number > 0 || len(pipes) < len(w.n.Pipes) {
		name = fmt.Sprintf("%s / %s to %s", w.name, w.n.Structures[nodes[0]].Name, w.n.Structures[nodes[len(nodes)-1]].Name)
	}
	invert := line.LevelInvert
	t := Track{Name: name, HasChainage: true, HasPlan: true, LevelKind: &invert, Score: 0.85 - 0.005*float64(min(number, 20)), Why: "a chain of pipes with the levels of their inverts"}
	s, noLevel, planned := 0.0, 0, 0
	put := func(node, pipe int) {
		st := w.n.Structures[node]
		q := Point{Chainage: s, East: st.Center.East * x.m, North: st.Center.North * x.m, Where: st.Line}
		t.HasPlan = t.HasPlan && st.Center.Is
		q.Level, q.HasLevel = w.level(node, pipe)
		if !q.HasLevel {
			noLevel++
			g.Repeated("invert", st.Line, document.WarningSeverity, func() document.Fault {
				return document.Fault{ID: "survey.missing-height", Key: "Struct " + document.Shown(st.Name, 40), What: "no invert of the pipe " + quantity.Quote(w.n.Pipes[pipe].Name) + " at this structure",
					Hint: "a sump is deeper than the pipe, so that its level was not taken in place"}
			})
		}
		if st.HasRim {
			q.Ground, q.HasGround = st.Rim*x.m, true
		}
		if n := len(t.Points); n > 0 && t.Points[n-1].Chainage == q.Chainage && (t.Points[n-1].Level == q.Level || !q.HasLevel) {
			return
		}
		t.Points = append(t.Points, q)
	}
	for i, p := range pipes {
		put(nodes[i], p)
		length := w.n.Pipes[p].Length * x.m
		a, b := w.n.Structures[nodes[i]].Center, w.n.Structures[nodes[i+1]].Center
		if a.Is && b.Is {
			plan := math.Hypot(b.East-a.East, b.North-a.North) * x.m
			if length > 0 && math.Abs(plan-length) > 0.5+0.01*length {
				g.Repeated("pipe length", w.n.Pipes[p].Line, document.WarningSeverity, func() document.Fault {
					return document.Fault{ID: "landxml.pipe-length", Key: "Pipe " + document.Shown(w.n.Pipes[p].Name, 40), What: "a length that contradicts the structures",
						Understood: metres(length, 2) + " written, " + metres(plan, 2) + " on the plan from centre to centre", Hint: "the plan was taken"}
				})
			}
			length = plan
			planned++
		}
		if !(length > 0) {
			g.Repeated("no length", w.n.Pipes[p].Line, document.FaultSeverity, func() document.Fault {
				return document.Fault{Key: "Pipe " + document.Shown(w.n.Pipes[p].Name, 40), What: "a pipe without length", Hint: "write its length, or the centres of its structures"}
			})
		}
		from := s
		s += length
		put(nodes[i+1], p)
		w.pipe(&t, w.n.Pipes[p], from, s)
	}
	t.Chainages = "read from the lengths of the pipes"
	if planned > 0 {
		t.Chainages = "distance on the plan from structure to structure"
	}
	x.r.Took = append(x.r.Took, fmt.Sprintf("pipe network %q: %s, %s of inverts, %s; chainage is the %s", name, plural(len(pipes), "pipe", "pipes"),
		plural(len(t.Points), "level", "levels"), spanText(t.Points), t.Chainages))
	if noLevel > 0 {
		t.Score *= 1 - float64(noLevel)/float64(2*len(pipes))
	}
	if with, _, _, _ := heights(t.Points); with < 2 {
		x.left("%s: a chain of pipes without inverts", name)
		return
	}
	x.add(t)
}

// pipe adds what the file says of one pipe; alike ones in succession are one.
func (w *web) pipe(t *Track, p landxml.Pipe, from, to float64) {
	x := w.x
	q := Pipe{From: from, To: to, Material: p.Material, Bore: p.Diameter * x.diam, Wall: p.Thickness * x.diam}
	where := func(format string, args ...any) document.Fault {
		return document.Fault{ID: "landxml.diameter", Key: "Pipe " + document.Shown(p.Name, 40), What: fmt.Sprintf(format, args...), Understood: "diameters are in " + x.dunt,
			Hint: "the bore was left out: state it in the line's folder"}
	}
	switch {
	case p.Shape != "" && p.Shape != "CircPipe":
		x.g.Repeated("shape", p.Line, document.WarningSeverity, func() document.Fault { return where("a pipe that is not round: %s", p.Shape) })
		q.Bore, q.Wall = 0, 0
	case p.Diameter == 0:
	case !(q.Bore >= leastBore && q.Bore <= greatestBore):
		x.g.Repeated("diameter", p.Line, document.WarningSeverity, func() document.Fault { return where("a diameter of %s, which no pipe has", metres(q.Bore, 4)) })
		q.Bore, q.Wall = 0, 0
	}
	if !(q.Wall >= 0 && q.Wall < q.Bore) {
		q.Wall = 0
	}
	if q.Bore == 0 && q.Material == "" {
		return
	}
	if n := len(t.Pipes); n > 0 {
		last := &t.Pipes[n-1]
		if last.To == q.From && last.Bore == q.Bore && last.Wall == q.Wall && last.Material == q.Material {
			last.To = q.To
			return
		}
	}
	t.Pipes = append(t.Pipes, q)
}
