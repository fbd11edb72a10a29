package siting

import (
	"errors"
	"fmt"
	"math"

	"obvert/line"
)

// Slack is a part-full length of a flowing case.
type Slack struct {
	Run      int
	From, To float64 `unit:"m"` // chainage; To where the pipe is full again
	Vapour   bool    // the space is water's vapour, not air
}

// Flowing is one flowing case.
type Flowing struct {
	Case  int // index into the line's cases
	Name  string
	Flow  []float64   `unit:"m³/s"` // by run, positive from its From node to its To node
	Head  [][]float64 `unit:"m"`    // level of the grade line above datum, by run, by point
	Slack []Slack
}

// Input is what [Solve] needs.
type Input struct {
	Line    *line.Line // read only
	Flowing []Flowing
	// Tolerance of level (m) within which profiles are simplified; 0: twice the survey's independent uncertainty, and not
	// less than a millimetre.
	Tolerance float64 `unit:"m"`
	// PocketVolume is that of the pocket (m³, at the pipe's pressure) whose cost in head is told beside the longest possible
	// one; 0: one of pocket number 2 in the bore at hand, which would fill two bores of length.
	PocketVolume float64 `unit:"m³"`
}

// leastTolerance is what remains of a survey without error.
const leastTolerance = 1e-3 // m

// tolerance is the one in force.
func (in *Input) tolerance() float64 {
	if in.Tolerance > 0 {
		return in.Tolerance
	}
	return max(leastTolerance, 2*in.Line.Survey.Independent)
}

// Check reports every fault of the input at once, joined; nil where there is none.
func (in *Input) Check() error {
	if in.Line == nil {
		return errors.New("siting: no line: give one")
	}
	c := checker{line: in.Line}
	c.notNegative("tolerance of level (m)", in.Tolerance)
	c.notNegative("volume of the pocket (m³)", in.PocketVolume)
	c.notNegative("independent uncertainty of levels (m)", in.Line.Survey.Independent)
	p := &in.Line.Practice
	for _, t := range []struct {
		what string
		line.Threshold
	}{
		{"spacing (m)", p.Spacing}, {"prominence of a high point (m)", p.HighPointProminence},
		{"change of slope", p.SlopeChange}, {"displacement (m)", p.Displaced},
	} {
		if !(t.Value > 0) || math.IsInf(t.Value, 0) {
			c.fault("practice %q: %s is %g: give a finite number above 0", p.Name, t.what, t.Value)
		}
	}
	c.notNegative(fmt.Sprintf("practice %q: flat slope", p.Name), p.Flat.Value)
	for r := range in.Line.Runs {
		c.run(r)
	}
	for i := range in.Flowing {
		c.flowing(&in.Flowing[i])
	}
	c.sections()
	return errors.Join(c.faults...)
}

// checker collects faults.
type checker struct {
	line   *line.Line
	faults []error
}

func (c *checker) fault(format string, args ...any) {
	c.faults = append(c.faults, fmt.Errorf("siting: "+format, args...))
}

func (c *checker) notNegative(what string, x float64) {
	if !(x >= 0) || math.IsInf(x, 0) {
		c.fault("%s is %g: give a finite number, 0 or more", what, x)
	}
}

func (c *checker) run(i int) {
	r := &c.line.Runs[i]
	if r.From < 0 || r.From >= len(c.line.Nodes) || r.To < 0 || r.To >= len(c.line.Nodes) {
		c.fault("run %q goes from node %d to node %d of %d: give indices of nodes", r.Name, r.From, r.To, len(c.line.Nodes))
	}
	if len(r.Points) < 2 {
		c.fault("run %q has %d points: give two or more", r.Name, len(r.Points))
		return
	}
	for k, p := range r.Points {
		if !finite(p.Chainage) || !finite(p.Obvert) || !finite(p.Distance) {
			c.fault("run %q, point %d: chainage %g, obvert %g, distance %g m: give finite numbers", r.Name, k+1, p.Chainage, p.Obvert, p.Distance)
		}
		if k > 0 && (p.Chainage < r.Points[k-1].Chainage || p.Distance < r.Points[k-1].Distance) {
			c.fault("run %q, point %d at %g m comes after %g m: give the points along the run", r.Name, k+1, p.Chainage, r.Points[k-1].Chainage)
		}
	}
	for k, v := range r.Placed {
		if !(v.Chainage >= r.First() && v.Chainage <= r.Last()) {
			c.fault("run %q, valve %q at %g m: the run goes from %g to %g m", r.Name, v.Name, v.Chainage, r.First(), r.Last())
		}
		if k > 0 && v.Chainage < r.Placed[k-1].Chainage {
			c.fault("run %q, valve %q at %g m comes after %g m: give the valves along the run", r.Name, v.Name, v.Chainage, r.Placed[k-1].Chainage)
		}
	}
}

// sections looks at what falling legs need: bores, friction, and the water's figures. A run without sections is left out
// there, and a note says so.
func (c *checker) sections() {
	any := false
	for i := range c.line.Runs {
		r := &c.line.Runs[i]
		for k := range r.Sections {
			any = true
			t := &r.Sections[k]
			if !(t.To >= t.From) || k > 0 && t.From != r.Sections[k-1].To {
				c.fault("run %q, section %d goes from %g to %g m: give sections one after another without gap", r.Name, k+1, t.From, t.To)
			}
			if !(t.Bore > 0) || math.IsInf(t.Bore, 0) {
				c.fault("run %q, section %d: bore %g m: give a finite number above 0", r.Name, k+1, t.Bore)
			}
			if !(t.HazenWilliams > 0) && !(t.Roughness >= 0 && t.Roughness < t.Bore) || !(t.HazenWilliams >= 0) || math.IsInf(t.HazenWilliams, 0) {
				c.fault("run %q, section %d: roughness %g m, Hazen–Williams coefficient %g: give a roughness from 0 to below the bore, or a coefficient above 0",
					r.Name, k+1, t.Roughness, t.HazenWilliams)
			}
		}
		if n := len(r.Sections); n > 0 && len(r.Points) > 0 && (r.Sections[0].From > r.First() || r.Sections[n-1].To < r.Last()) {
			c.fault("run %q: its sections go from %g to %g m, the run from %g to %g m: give sections for all of it",
				r.Name, r.Sections[0].From, r.Sections[n-1].To, r.First(), r.Last())
		}
	}
	for _, t := range []struct {
		what string
		x    float64
	}{{"gravity (m/s²)", c.line.Site.Gravity}, {"viscosity of the water (m²/s)", c.line.Site.Viscosity}} {
		if any && (!(t.x > 0) || math.IsInf(t.x, 0)) {
			c.fault("site: %s is %g: give a finite number above 0", t.what, t.x)
		}
	}
}

func (c *checker) flowing(f *Flowing) {
	if len(f.Flow) != len(c.line.Runs) || len(f.Head) != len(c.line.Runs) {
		c.fault("case %q gives %d flows and %d grade lines for %d runs: give one of each a run", f.Name, len(f.Flow), len(f.Head), len(c.line.Runs))
		return
	}
	for r := range f.Head {
		run := &c.line.Runs[r]
		if len(f.Head[r]) != len(run.Points) {
			c.fault("case %q, run %q: %d levels of the grade line for %d points: give one a point", f.Name, run.Name, len(f.Head[r]), len(run.Points))
		}
		if !finite(f.Flow[r]) {
			c.fault("case %q, run %q: flow %g m³/s: give a finite number", f.Name, run.Name, f.Flow[r])
		}
		for k, h := range f.Head[r] {
			if !finite(h) {
				c.fault("case %q, run %q, point %d: level of the grade line %g m: give a finite number", f.Name, run.Name, k+1, h)
			}
		}
	}
	for _, s := range f.Slack {
		if s.Run < 0 || s.Run >= len(c.line.Runs) {
			c.fault("case %q: slack length on run %d of %d", f.Name, s.Run, len(c.line.Runs))
			continue
		}
		r := &c.line.Runs[s.Run]
		for _, x := range []float64{s.From, s.To} {
			if !(x >= r.First() && x <= r.Last()) {
				c.fault("case %q, run %q: slack length to %g m: the run goes from %g to %g m", f.Name, r.Name, x, r.First(), r.Last())
			}
		}
	}
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
