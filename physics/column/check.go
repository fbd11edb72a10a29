package column

import (
	"errors"
	"fmt"
	"math"

	"obvert/physics/opening"
)

// faults gathers what is wrong.
type faults []error

func (f *faults) add(format string, a ...any) {
	*f = append(*f, fmt.Errorf("column: "+format, a...))
}

func (f *faults) positive(what string, v float64) {
	if !(v > 0) || math.IsInf(v, 0) {
		f.add("%s is %g: give one above 0", what, v)
	}
}

func (f *faults) notNegative(what string, v float64) {
	if !(v >= 0) || math.IsInf(v, 0) {
		f.add("%s is %g: give 0 or more", what, v)
	}
}

func (f *faults) finite(what string, v float64) {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		f.add("%s is %g: give a number", what, v)
	}
}

// Check returns every fault of a network at once, joined; nil where there is none.
func (n *Network) Check() error {
	var f faults
	f.positive("density of the water (kg/m³)", n.Density)
	f.positive("gravity (m/s²)", n.Gravity)
	f.positive("atmospheric pressure (Pa abs)", n.Atmosphere)
	if !(n.Temperature >= 200 && n.Temperature <= 400) {
		f.add("air temperature is %g K: give it in K, 200 to 400", n.Temperature)
	}
	if n.Polytropic != 0 && !(n.Polytropic >= 1 && n.Polytropic <= 1.4) {
		f.add("polytropic exponent is %g: give 1 (isothermal) to 1.4 (adiabatic), or 0 for %g", n.Polytropic, DefaultPolytropic)
	}
	if len(n.Pipes) == 0 {
		f.add("no pipes")
	}
	for i := range n.Pipes {
		n.checkPipe(&f, i)
	}
	for i := range n.Nodes {
		n.checkNode(&f, i)
	}
	return errors.Join(f...)
}

func (n *Network) checkPipe(f *faults, i int) {
	p := &n.Pipes[i]
	name := fmt.Sprintf("pipe %d %q", i+1, p.Name)
	if p.From < 0 || p.From >= len(n.Nodes) || p.To < 0 || p.To >= len(n.Nodes) {
		f.add("%s: ends at nodes %d and %d of %d", name, p.From, p.To, len(n.Nodes))
	}
	if len(p.Points) < 2 || len(p.Sections) == 0 {
		f.add("%s: has %d points and %d sections: give at least two points and one section", name, len(p.Points), len(p.Sections))
		return
	}
	for k, pt := range p.Points {
		f.finite(fmt.Sprintf("%s, point %d: distance", name, k+1), pt.Distance)
		f.finite(fmt.Sprintf("%s, point %d: level", name, k+1), pt.Level)
		if k == 0 {
			continue
		}
		d, rise := pt.Distance-p.Points[k-1].Distance, math.Abs(pt.Level-p.Points[k-1].Level)
		switch {
		case d < 0:
			f.add("%s, point %d: distance %g m after %g m: distances along the pipe must rise", name, k+1, pt.Distance, p.Points[k-1].Distance)
		case rise > d*(1+1e-6)+1e-6:
			f.add("%s, point %d: the level changes by %g m over %g m of pipe: a pipe is at least as long as it rises", name, k+1, rise, d)
		}
	}
	if !(p.Points[len(p.Points)-1].Distance > p.Points[0].Distance) {
		f.add("%s: has no length", name)
	}
	for k := range p.Sections {
		c := &p.Sections[k]
		at := fmt.Sprintf("%s, section %d", name, k+1)
		f.positive(at+": bore (m)", c.Bore)
		f.notNegative(at+": friction factor", c.Friction)
		f.notNegative(at+": local loss", c.Loss)
		f.notNegative(at+": wave speed (m/s)", c.WaveSpeed)
		if k > 0 && math.Abs(c.From-p.Sections[k-1].To) > 1e-6 {
			f.add("%s: begins at %g m, the one before ends at %g m", at, c.From, p.Sections[k-1].To)
		}
	}
	last := p.Points[len(p.Points)-1].Distance
	for k := range p.Vents {
		n.checkVent(f, fmt.Sprintf("%s, vent %d %q", name, k+1, p.Vents[k].Name), &p.Vents[k], p.Points[0].Distance, last)
	}
	for k, c := range p.Checks {
		if !(c.Distance >= p.Points[0].Distance && c.Distance <= last) {
			f.add("%s, check valve %d: stands at %g m, off the pipe", name, k+1, c.Distance)
		}
	}
}

func (n *Network) checkVent(f *faults, name string, v *Vent, first, last float64) {
	if !(v.Distance >= first && v.Distance <= last) {
		f.add("%s: stands at %g m, off the pipe (%g to %g m)", name, v.Distance, first, last)
	}
	f.notNegative(name+": residual opening (m²)", v.Residual)
	f.notNegative(name+": differential of the stage (Pa)", v.StageAt)
	f.notNegative(name+": differential of early closing (Pa)", v.CloseAt)
	if v.StageAt > 0 && !(v.StageOff >= 0 && v.StageOff < v.StageAt) {
		f.add("%s: the stage lets go at %g Pa and throttles from %g Pa: it must let go below", name, v.StageOff, v.StageAt)
	}
	if v.CloseAt > 0 && !(v.ReopenAt >= 0 && v.ReopenAt < v.CloseAt) {
		f.add("%s: reopens at %g Pa and is carried shut at %g Pa: it must reopen below", name, v.ReopenAt, v.CloseAt)
	}
	if v.StageAt > 0 && v.Staged == nil && v.Out != nil {
		f.add("%s: has a differential of the stage and no opening for it", name)
	}
	for _, o := range []opening.Opening{v.In, v.Out, v.Staged, v.Small} {
		if o == nil || !(n.Atmosphere > 0) || !(n.Temperature >= 200) {
			continue
		}
		if _, err := o.MassFlow(2*n.Atmosphere, n.Atmosphere, n.Temperature); err != nil {
			f.add("%s: %w", name, err)
		}
	}
}

func (n *Network) checkNode(f *faults, i int) {
	nd := &n.Nodes[i]
	name := fmt.Sprintf("node %d %q", i+1, nd.Name)
	f.finite(name+": level (m)", nd.Level)
	f.notNegative(name+": area (m²)", nd.Area)
	f.notNegative(name+": entry loss", nd.Loss)
	f.notNegative(name+": flow (m³/s)", nd.Flow)
	f.notNegative(name+": ramp (s)", nd.Ramp)
	f.notNegative(name+": time of opening the throttle (s)", nd.FreeAt)
	f.notNegative(name+": demand (m³/s)", nd.Demand)
	f.notNegative(name+": hole (m²)", nd.Hole)
	if nd.Hole > 0 && nd.Kind != Junction {
		f.add("%s: a hole stands at a junction only", name)
	}
	if nd.FreeAt > 0 && nd.Pumps == nil && nd.Kind == Station {
		f.add("%s: the throttle is opened and no pump curve says what then flows", name)
	}
}

// check returns every fault of the settings.
func (s *Settings) check(n *Network) error {
	var f faults
	f.positive("horizon (s)", s.Horizon)
	f.notNegative("tolerance (m/s)", s.Tolerance)
	f.notNegative("head at rest (m)", s.RestHead)
	end := make(map[int]float64)
	for i, w := range s.Water {
		if w.Pipe < 0 || w.Pipe >= len(n.Pipes) {
			f.add("water %d: pipe %d of %d", i+1, w.Pipe, len(n.Pipes))
			continue
		}
		pts := n.Pipes[w.Pipe].Points
		if !(w.From < w.To && w.From >= pts[0].Distance-1e-6 && w.To <= pts[len(pts)-1].Distance+1e-6) {
			f.add("water %d: from %g to %g m on %q, which goes from %g to %g m", i+1, w.From, w.To, n.Pipes[w.Pipe].Name, pts[0].Distance, pts[len(pts)-1].Distance)
		}
		if last, ok := end[w.Pipe]; ok && w.From < last {
			f.add("water %d: from %g m on %q overlaps the one before, which ends at %g m", i+1, w.From, n.Pipes[w.Pipe].Name, last)
		}
		end[w.Pipe] = w.To
	}
	for i, p := range s.Pressures {
		if p.Pipe < 0 || p.Pipe >= len(n.Pipes) || !(p.Pressure > 0) {
			f.add("pressure %d: %g Pa abs on pipe %d: give an absolute pressure above 0 on a pipe that is there", i+1, p.Pressure, p.Pipe)
		}
	}
	return errors.Join(f...)
}
