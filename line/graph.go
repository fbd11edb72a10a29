package line

import (
	"fmt"
	"slices"
	"strings"

	"obvert/quantity"
)

// checkGraph looks at the line as a whole. It is only worth while when every run has found its two nodes: a misspelt
// name would otherwise be told many times over.
func (r *reader) checkGraph() {
	for _, run := range r.line.Runs {
		if run.From < 0 || run.To < 0 {
			return
		}
	}
	if len(r.line.Runs) == 0 {
		return
	}
	for i := range r.line.Nodes {
		r.checkNode(i)
	}
	r.checkParts()
	r.checkChecks()
	if !r.whole() {
		return
	}
	for i := range r.line.Nodes {
		r.checkEnds(i)
		if n := r.line.Nodes[i]; n.Kind == Tank && !r.vague[n.Tank] {
			r.checkTank(i)
		}
	}
}

// checkNode checks that a node has the runs that its kind needs.
func (r *reader) checkNode(i int) {
	n, f := r.line.Nodes[i], r.nodeForms[i]
	if len(n.Runs) == 0 {
		f.fault("name", fmt.Sprintf("the %s %q stands alone: no run begins or ends there", n.Kind, n.Name), "",
			"name it as from or to of a run, or remove it")
		return
	}
	switch n.Kind {
	case Station:
		r.checkStation(i)
	case Outfall, DeadEnd:
		if len(n.Runs) > 1 {
			f.fault("name", fmt.Sprintf("%d runs meet at the %s %q", len(n.Runs), n.Kind, n.Name), r.runList(n.Runs),
				"let them meet at a [[junction]], and one run go on to the "+n.Kind.String())
		}
	case Junction:
		if len(n.Runs) == 1 {
			f.warn("name", "junction.one-run", fmt.Sprintf("only one run meets at the junction %q", n.Name), r.runList(n.Runs)+"; the pipe is closed there",
				"write it as a [[dead_end]], or as an [[offtake]] or [[outfall]] if water leaves there")
		}
	}
}

// checkStation checks that a station has water to draw from and a pipe to pump into.
func (r *reader) checkStation(i int) {
	n, f := r.line.Nodes[i], r.nodeForms[i]
	in, out := r.sides(i)
	switch {
	case len(in) == 0 && !n.Station.HasSump && !f.t.Has("sump_level"):
		f.fault("name", fmt.Sprintf("the pump station %q has nothing to draw from", n.Name), "no run ends there and no sump_level is given",
			"write sump_level = \"…\" for a sump of its own, or let its suction main end there")
	case len(in) > 0 && n.Station.HasSump:
		f.fault("sump_level", fmt.Sprintf("the pump station %q draws from a sump and from a run", n.Name), "suction: "+r.runList(in),
			"leave out sump_level, or let the run end at a tank")
	}
	if len(out) == 0 {
		f.fault("name", fmt.Sprintf("no run begins at the pump station %q", n.Name), "suction: "+r.runList(in), "let the delivery main be a run from the station")
	}
}

// sides are the runs that end at a node and those that begin there.
func (r *reader) sides(node int) (in, out []int) {
	for _, i := range r.line.Nodes[node].Runs {
		if r.line.Runs[i].To == node {
			in = append(in, i)
		} else {
			out = append(out, i)
		}
	}
	return in, out
}

// runList names runs, the first few of many.
func (r *reader) runList(runs []int) string {
	const few = 8
	names := make([]string, 0, few)
	for _, i := range runs {
		if len(names) == few {
			return fmt.Sprintf("runs %s and %d more", strings.Join(names, ", "), len(runs)-few)
		}
		names = append(names, fmt.Sprintf("%q", r.line.Runs[i].Name))
	}
	if len(names) == 1 {
		return "run " + names[0]
	}
	return "runs " + strings.Join(names, ", ")
}

// checkParts checks that every part of the line that hangs together has a water level somewhere: without one no head in
// it can be known.
func (r *reader) checkParts() {
	part, seen := make([]int, len(r.line.Nodes)), make([]bool, len(r.line.Runs))
	for i := range part {
		part[i] = -1
	}
	for start := range r.line.Nodes {
		if part[start] >= 0 || len(r.line.Nodes[start].Runs) == 0 {
			continue
		}
		part[start] = start
		nodes := []int{start}
		levels, runs := 0, []int{}
		for k := 0; k < len(nodes); k++ {
			n := r.line.Nodes[nodes[k]]
			if n.Kind == Tank || n.Kind == Outfall || n.Kind == Station && n.Station.HasSump {
				levels++
			}
			for _, i := range n.Runs {
				if !seen[i] {
					seen[i] = true
					runs = append(runs, i)
				}
				if next := r.otherEnd(i, nodes[k]); part[next] < 0 {
					part[next] = start
					nodes = append(nodes, next)
				}
			}
		}
		if levels == 0 {
			slices.Sort(runs)
			r.runForms[runs[0]].f.fault("name", "there is no water level anywhere in this part of the line", r.runList(runs),
				"let a run begin or end at a [[tank]], an [[outfall]] or a station with a sump_level")
		}
	}
}

// checkEnds warns where runs meet at levels too different to be one place. Allowed is the largest bore there and 0.3 m,
// so that pipes of different size may share an invert or an axis. The two sides of a pump station are looked at apart;
// pipes enter a tank at any level.
func (r *reader) checkEnds(node int) {
	const reserve = 0.3 // m; common practice, no source
	n := r.line.Nodes[node]
	groups := [][]int{n.Runs}
	switch n.Kind {
	case Tank:
		return
	case Station:
		in, out := r.sides(node)
		groups = [][]int{in, out}
	}
	for _, runs := range groups {
		low, high := -1, -1
		var lowest, highest, bore float64
		for _, i := range runs {
			z, ok := r.line.EndAt(i, node)
			if !ok {
				continue
			}
			if low < 0 || z < lowest {
				low, lowest = i, z
			}
			if high < 0 || z > highest {
				high, highest = i, z
			}
			end := r.line.Runs[i].First()
			if r.line.Runs[i].To == node {
				end = r.line.Runs[i].Last()
			}
			bore = max(bore, r.line.BoreAt(i, end))
		}
		if low >= 0 && highest-lowest > bore+reserve {
			r.nodeForms[node].warn("name", "node.levels-differ", fmt.Sprintf("runs meet at %q at different levels", n.Name),
				fmt.Sprintf("obvert %s of run %q, %s of run %q", quantity.Format(lowest, "m", 2), r.line.Runs[low].Name, quantity.Format(highest, "m", 2), r.line.Runs[high].Name),
				"check the two profiles: another datum, or one of them ends elsewhere")
		}
	}
}

// checkTank holds the levels of a tank against the pipes that leave and enter it.
func (r *reader) checkTank(node int) {
	n, f := r.line.Nodes[node], r.nodeForms[node]
	levelKey, lowKey := "level", "lowest"
	if !f.t.Has(lowKey) {
		lowKey = levelKey
	}
	for _, i := range n.Runs {
		run := &r.line.Runs[i]
		obvert, _ := r.line.EndAt(i, node)
		leaves := run.From == node
		end := run.Last()
		if leaves {
			end = run.First()
		}
		invert := obvert - r.line.BoreAt(i, end)
		has := fmt.Sprintf("invert %s and obvert %s of run %q", quantity.Format(invert, "m", 2), quantity.Format(obvert, "m", 2), run.Name)
		switch {
		case !leaves && n.Tank.Inlet == OverTheTop:
			if obvert < n.Tank.Highest {
				f.warn("inlet", "tank.inlet-drowned", fmt.Sprintf("the pipe into %q lies below the water, though it enters over the top", n.Name),
					has+", highest water "+quantity.Format(n.Tank.Highest, "m", 2), "write inlet = \"below water\", or mend a level")
			}
		case leaves && n.Tank.Highest <= invert:
			f.fault(levelKey, fmt.Sprintf("the water in %q never reaches the pipe that leaves it", n.Name),
				has+", highest water "+quantity.Format(n.Tank.Highest, "m", 2), "check the tank's level and the run's profile against one datum")
		case !leaves && n.Tank.Level <= invert:
			f.fault(levelKey, fmt.Sprintf("the water in %q stands below the pipe that should enter below it", n.Name),
				has+", water "+quantity.Format(n.Tank.Level, "m", 2), "write inlet = \"over the top\", or check the levels against one datum")
		case n.Tank.Lowest < obvert:
			f.warn(lowKey, "tank.pipe-uncovered", fmt.Sprintf("the lowest water in %q does not cover its pipe", n.Name),
				has+", lowest water "+quantity.Format(n.Tank.Lowest, "m", 2), "air is drawn in there; check the level")
		}
	}
}

// ways tells in which directions water can flow through a run past its check valves.
type ways struct{ forward, back bool }

// checkWays are the directions that the check valves of every run leave.
func (r *reader) checkWays() []ways {
	w := make([]ways, len(r.line.Runs))
	for i, run := range r.line.Runs {
		w[i] = ways{true, true}
		for _, e := range run.Equipment {
			if e.Kind == CheckValve {
				w[i].forward = w[i].forward && !e.Reverse
				w[i].back = w[i].back && e.Reverse
			}
		}
	}
	return w
}

// checkChecks finds check valves that stand against one another: two in one run, and runs through which water could flow
// from a source to an outlet but for check valves.
func (r *reader) checkChecks() {
	free := make([]ways, len(r.line.Runs))
	for i := range free {
		free[i] = ways{true, true}
	}
	held := r.checkWays()
	reported := false
	for i, w := range held {
		if !w.forward && !w.back {
			a, b := r.opposed(i)
			r.runForms[i].f.fault("equipment", "two check valves stand against one another", fmt.Sprintf("%q and %q on run %q: no water can pass either way",
				a, b, r.line.Runs[i].Name), "let both face the way the water flows: facing = \"to\" or \"from\"")
			reported = true
		}
	}
	if reported || slices.Equal(free, held) {
		return
	}
	could, can := r.carries(free), r.carries(held)
	var shut []int
	for i := range held {
		if could[i] && !can[i] && held[i] != free[i] {
			shut = append(shut, i)
		}
	}
	for _, i := range shut {
		var names []string
		for _, e := range r.line.Runs[i].Equipment {
			if e.Kind == CheckValve {
				names = append(names, fmt.Sprintf("%q", e.Name))
			}
		}
		r.runForms[i].f.fault("equipment", "check valves stand against one another, or against a pump: no water can ever flow through this run",
			strings.Join(names, ", ")+" on run "+fmt.Sprintf("%q", r.line.Runs[i].Name),
			"look along the line from a source to an outlet and let every check valve face that way")
	}
}

// opposed are the names of two check valves of a run that face one another.
func (r *reader) opposed(run int) (a, b string) {
	for _, e := range r.line.Runs[run].Equipment {
		if e.Kind == CheckValve && !e.Reverse {
			a = e.Name
		}
		if e.Kind == CheckValve && e.Reverse {
			b = e.Name
		}
	}
	return a, b
}

// carries tells for every run whether some water can flow through it: from a source to its one end, and from its other
// end to an outlet. A pump station is two places, its suction side and its delivery side; water goes from the first to
// the second only, unless nothing holds it back.
func (r *reader) carries(w []ways) []bool {
	n := len(r.line.Nodes)
	suction := func(node int) int { return node }
	delivery := func(node int) int {
		if r.line.Nodes[node].Kind == Station {
			return n + node
		}
		return node
	}
	next, before := make([][]int, 2*n), make([][]int, 2*n)
	join := func(a, b int) { next[a] = append(next[a], b); before[b] = append(before[b], a) }
	var sources, outlets []int
	for i, node := range r.line.Nodes {
		switch {
		case node.Kind == Tank:
			sources, outlets = append(sources, i), append(outlets, i)
		case node.Kind == Outfall || node.Kind == Offtake:
			outlets = append(outlets, i)
		case node.Kind == Station && node.Station.HasSump:
			sources = append(sources, delivery(i))
			if node.Station.Check == CheckNone {
				outlets = append(outlets, delivery(i))
			}
		case node.Kind == Station:
			join(suction(i), delivery(i))
			if node.Station.Check == CheckNone {
				join(delivery(i), suction(i))
			}
		}
	}
	for i, run := range r.line.Runs {
		a, b := delivery(run.From), suction(run.To)
		if w[i].forward {
			join(a, b)
		}
		if w[i].back {
			join(b, a)
		}
	}
	fed, drained := reach(next, sources), reach(before, outlets)
	all := make([]bool, len(r.line.Runs))
	for i, run := range r.line.Runs {
		a, b := delivery(run.From), suction(run.To)
		all[i] = w[i].forward && fed[a] && drained[b] || w[i].back && fed[b] && drained[a]
	}
	return all
}

// reach marks the places that can be come to from some others.
func reach(next [][]int, from []int) []bool {
	seen := make([]bool, len(next))
	stack := slices.Clone(from)
	for len(stack) > 0 {
		at := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		if seen[at] {
			continue
		}
		seen[at] = true
		stack = append(stack, next[at]...)
	}
	return seen
}
