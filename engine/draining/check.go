package draining

import (
	"fmt"

	"obvert/num"
	"obvert/physics/valve"
)

// longest is the longest horizon, s: a hundred years.
const longest = 100 * 365.25 * 86400

// Check reports every fault of the input at once, joined; nil where there is none.
func (in *Input) Check() error {
	c := checker{num.Checks{Of: "draining"}}
	if in.Line == nil || in.Case < 0 || in.Case >= len(in.Line.Cases) {
		c.Fault("case %d of no line, or of a line without it: give a line and the index of one of its cases", in.Case)
		return c.Err()
	}
	c.Positive("horizon (s)", in.Horizon)
	if in.Horizon > longest {
		c.Fault("horizon is %g s: give at most a hundred years", in.Horizon)
	}
	c.NotNegative("usual time at rest (s)", in.Standing)
	c.NotNegative("leak that counts as none (m³/s)", in.StoppedLeak)
	c.NotNegative("plan of a pit (m²)", in.PitArea)
	c.NotNegative("volume of a pit (m³)", in.PitVolume)
	c.NotNegative("friction factor", in.Friction)
	if in.Polytropic != 0 && !(in.Polytropic >= 1 && in.Polytropic <= 1.4) {
		c.Fault("polytropic exponent is %g: give 1 to 1.4, or 0 for 1.2", in.Polytropic)
	}
	if in.Tolerance != 0 && !(in.Tolerance >= 1e-10 && in.Tolerance <= 0.1) {
		c.Fault("tolerance is %g: give 1e-10 to 0.1, or 0 for 1e-4", in.Tolerance)
	}
	if in.MostSteps < 0 {
		c.Fault("the most steps are %d: give a number above 0, or 0 for 5,000", in.MostSteps)
	}
	if in.Inflow != nil && len(in.Inflow) != len(in.Line.Nodes) {
		c.Fault("inflow tells of %d nodes but there are %d: give one figure for each", len(in.Inflow), len(in.Line.Nodes))
	} else {
		for i, q := range in.Inflow {
			c.NotNegative(fmt.Sprintf("inflow of %q (m³/s)", in.Line.Nodes[i].Name), q)
		}
	}
	for i := range in.Line.Runs {
		c.run(in, i)
	}
	if c.Err() != nil {
		return c.Err()
	}
	for i := range in.Pools {
		c.pool(in, i)
	}
	for i := range in.Rack {
		c.record(&in.Rack[i])
	}
	for i := range in.Valves {
		c.valve(in, i)
	}
	for i := range in.Openings {
		c.opening(in, i)
	}
	return c.Err()
}

// checker collects faults.
type checker struct{ num.Checks }

func (c *checker) run(in *Input, i int) {
	r := &in.Line.Runs[i]
	if len(r.Points) < 2 || len(r.Sections) == 0 {
		c.Fault("run %q has %d points and %d sections: give at least two points and one section", r.Name, len(r.Points), len(r.Sections))
	}
	for _, s := range r.Sections {
		c.Positive(fmt.Sprintf("run %q, bore (m)", r.Name), s.Bore)
	}
}

func (c *checker) on(in *Input, what string, run int, chainage float64) bool {
	if run < 0 || run >= len(in.Line.Runs) {
		c.Fault("%s stands on run %d of %d", what, run, len(in.Line.Runs))
		return false
	}
	r := &in.Line.Runs[run]
	if !(chainage >= r.First() && chainage <= r.Last()) {
		c.Fault("%s stands at %g m, off run %q, which goes from %g m to %g m", what, chainage, r.Name, r.First(), r.Last())
		return false
	}
	return true
}

func (c *checker) pool(in *Input, i int) {
	p := &in.Pools[i]
	who := fmt.Sprintf("pool %d", i+1)
	c.Finite(who+", level (m)", p.Level)
	for _, s := range p.Spans {
		if c.on(in, who, s.Run, s.From) && c.on(in, who, s.Run, s.To) && s.To < s.From {
			c.Fault("%s wets run %q from %g m to %g m: give the smaller chainage first", who, in.Line.Runs[s.Run].Name, s.From, s.To)
		}
	}
}

func (c *checker) record(r *valve.Record) {
	for _, p := range valve.Check(*r) {
		c.Fault("record %q: %s", r.Name, p.Error())
	}
}

func (c *checker) valve(in *Input, i int) {
	v := &in.Valves[i]
	who := fmt.Sprintf("valve %q", v.Name)
	if v.Record < -1 || v.Record >= len(in.Rack) {
		c.Fault("%s has record %d of a rack of %d: give −1 for none, or 0 to %d", who, v.Record, len(in.Rack), len(in.Rack)-1)
	}
	c.Finite(who+", level of the seat (m)", v.Seat)
	if !c.on(in, who, v.Run, v.Chainage) {
		return
	}
	if z, ok := in.Line.ObvertAt(v.Run, v.Chainage); ok && v.Seat < z-1e-6 {
		c.Fault("%s has its seat at %.3f m, below the obvert at %.3f m: a valve stands on top of the pipe; give the level of its seat", who, v.Seat, z)
	}
}

func (c *checker) opening(in *Input, i int) {
	o := &in.Openings[i]
	who := fmt.Sprintf("opening %q", o.Name)
	c.on(in, who, o.Run, o.Chainage)
	c.NotNegative(who+", diameter (m)", o.Diameter)
	if !(o.Coefficient >= 0 && o.Coefficient <= 1) {
		c.Fault("%s has a discharge coefficient of %g: give 0 to 1 (0: the usual one)", who, o.Coefficient)
	}
	if o.HasLevel {
		c.Finite(who+", level (m)", o.Level)
	}
}
