package grade

import (
	"fmt"
	"math"

	"obvert/line"
)

// capped is what a run's flow-control valves let pass in one direction.
type capped struct {
	flow  float64 // m³/s; +Inf without such a valve
	equip int     // the valve with the least setting, −1 without
}

// leaning is the share of the head it takes that a flow-control valve, or a drive that holds a flow, is let to give way by: by a hundred-thousandth of the setting for each
// 100 m. Without it heads between two that hold one flow could be anything; so they share what there is to take, and a valve set at just what an off-take or a station
// takes stands open.
const leaning = 1e-4

// setCaps puts the flow-control valves of the whole line into the laws of their runs.
func (f *flow) setCaps() {
	for i, rl := range f.runs {
		rl.cap = [2]capped{{math.Inf(1), -1}, {math.Inf(1), -1}}
		for k := range rl.run.Equipment {
			e := &rl.run.Equipment[k]
			if e.Kind != line.FlowControlValve {
				continue
			}
			f.leans = true
			c := &rl.cap[0]
			if e.Reverse {
				c = &rl.cap[1]
			}
			if e.Flow < c.flow {
				*c = capped{e.Flow, k}
			}
		}
		for dir, sign := range [2]float64{1, -1} {
			if rl.cap[dir].equip >= 0 {
				f.elems[i].kink[dir] = sign * rl.cap[dir].flow
			}
		}
	}
}

// capHead is the head, m, that stands for a flow-control valve's setting as a whole: a law's miss of flow is counted in it.
const capHead = 1e3

// miss is what a flow in the direction of the cap leaves of it, in m, and its steepness, m per m³/s.
func (c *capped) miss(q float64) (r, steep float64) {
	steep = capHead / c.flow
	return steep * (c.flow - q), steep
}

// checkCase names the settings of a case and of the equipment that cannot be worked with.
func (n *Net) checkCase(c *line.Case) (faults []error) {
	fault := func(format string, a ...any) {
		faults = append(faults, fmt.Errorf("grade: case %q: "+format, append([]any{c.Name}, a...)...))
	}
	for i := range n.Line.Runs {
		for k := range n.Line.Runs[i].Equipment {
			e := &n.Line.Runs[i].Equipment[k]
			if e.Kind == line.FlowControlValve && !(e.Flow > stillFlow && !math.IsInf(e.Flow, 0)) && !isClosed(c, i, k) {
				fault("flow-control valve %q on run %q is set to %g m³/s: set it above zero, or close it", e.Name, n.Line.Runs[i].Name, e.Flow)
			}
		}
	}
	holders := map[int]string{}
	for i := range n.Line.Nodes {
		nd := &n.Line.Nodes[i]
		if nd.Station == nil || i >= len(c.Stations) {
			continue
		}
		set := &c.Stations[i]
		if !holds(set) {
			continue
		}
		for _, text := range n.holdFaults(c, i) {
			fault("station %q: %s", nd.Name, text)
		}
		if set.HasHoldHead && anyRuns(set) {
			if other, twice := holders[set.HoldAt]; twice {
				fault("stations %q and %q both hold the head at %q: one node has one head, and how the two share the flow stays open. Let one hold the head and the other a flow or a speed",
					other, nd.Name, n.Line.Nodes[set.HoldAt].Name)
			}
			holders[set.HoldAt] = nd.Name
		}
	}
	return faults
}

func isClosed(c *line.Case, run, equip int) bool {
	return c.Closed != nil && c.Closed[run] != nil && c.Closed[run][equip]
}
