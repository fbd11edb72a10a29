package sizing

import (
	"errors"
	"fmt"
	"math"

	"obvert/line"
	"obvert/num"
	"obvert/physics/pipe"
	"obvert/physics/valve"
)

// Piece is a straight stretch of a leg within one section of a run.
type Piece struct {
	Run     int
	Section int     // index into the run's sections: bore, friction, wall
	Length  float64 `unit:"m"` // of pipe
	Fall    float64 `unit:"m"` // of the obvert over it, away from the place; negative where the pipe rises
}

// Leg is the pipe from a place down to the next low point, or up from it. [Legs] finds them.
type Leg struct {
	Name   string  // "towards Outfall"
	Pieces []Piece // from the place on
}

// CaseState is one operating case at a place.
type CaseState struct {
	Name string
	Kind line.CaseKind
	Flow float64 `unit:"m³/s"` // past the place, magnitude
	Head float64 `unit:"m"`    // gauge, at the obvert
}

// Hole is a partial burst.
type Hole struct {
	Diameter    float64 `unit:"m"` // 0: no partial burst is looked at
	Coefficient float64 `unit:"1"` // of discharge; 0: 0.6
	Head        float64 `unit:"m"` // of water over it; 0: the fall of each leg
}

// Place is a placed air valve or a place that wants one.
type Place struct {
	Name     string
	Run      int
	Chainage float64 `unit:"m"`
	Placed   int     // index into the run's valves, −1 for a bare candidate
	Record   int     // index into the line's rack, −1 where no type is chosen
	Obvert   float64 `unit:"m"` // above datum
	End      bool    // a dead end: slam there is twice that of mid-line
	Legs     []Leg
	// Fed: a leg that rises from here goes on bringing water at its gravity flow while another falls, and that comes off the
	// burst flow. Leave it false where an isolating valve above can be shut.
	Fed   bool
	Cases []CaseState

	DrainWater float64 `unit:"m³/s"` // largest flow of water from here while draining, as the draining engine found it; 0: practice's drain velocity
	FillWater  float64 `unit:"m³/s"` // filling flow; 0: that of a filling case, else practice's filling velocity
	Hole       Hole

	SourcePressure    float64 `unit:"Pa"` // absolute, at which the water took up air; 0: the site's atmosphere
	SourceTemperature float64 `unit:"K"`  // of the water then; 0: the site's water
	HasLowest         bool
	Lowest            float64 `unit:"m"` // lowest gauge head at the obvert, if lower than in any case
	NoRelease         bool    // no small orifice is wanted here

	WaveSpeed float64 `unit:"m/s"` // 0: by the wall
}

// Input is what [Solve] needs.
type Input struct {
	Line   *line.Line // read only: site, sections, practice, rack
	Places []Place    // in any order

	Basis        Basis
	Coefficient  float64    `unit:"1"` // of discharge, at which large-orifice diameters are stated; 0: 0.6
	SmallOrifice float64    `unit:"1"` // the same for small orifices; 0: 0.7
	Shown        []DutyKind // duties that are shown but do not count for the choice; nil: all count

	Form      pipe.Form      // of the collapse of a free-standing pipe
	Restraint pipe.Restraint // of the pipe, for the speed of pressure waves
}

// The coefficients at which diameters are stated where none is given.
const (
	usualLarge = 0.6 // sharp edge; Weisbach's 0.563 to 0.788, see package opening
	usualSmall = 0.7 // common practice, no source
	usualHole  = 0.6 // sharp hole under water, textbook value
)

// Check reports every fault of the input at once, joined; nil where there is none.
func (in *Input) Check() error {
	if in.Line == nil {
		return errors.New("sizing: no line: give one")
	}
	c := checker{Checks: num.Checks{Of: "sizing"}, line: in.Line, form: in.Form, seen: map[[2]int]bool{}}
	c.site()
	c.practice()
	c.options(in)
	for i := range in.Line.Rack {
		c.record(&in.Line.Rack[i])
	}
	for i := range in.Places {
		c.place(&in.Places[i])
	}
	return c.Err()
}

// checker collects faults. Where they are is written only when there is one: a line has thousands of figures.
type checker struct {
	num.Checks
	line *line.Line
	form pipe.Form
	seen map[[2]int]bool // sections that were looked at
}

// coefficient wants one of discharge, or 0 for the usual one.
func (c *checker) coefficient(what string, x float64) {
	if !(x >= 0 && x <= 1) {
		c.Fault("%s is %g: give one above 0 and up to 1, or 0 for the usual one", what, x)
	}
}

func (c *checker) site() {
	c.Who = func() string { return "site" }
	s := &c.line.Site
	c.Positive("atmospheric pressure (Pa)", s.AtmosphericPressure)
	c.Positive("gravity (m/s²)", s.Gravity)
	c.Positive("density of the water (kg/m³)", s.Density)
	c.Positive("kinematic viscosity (m²/s)", s.Viscosity)
	if !(s.VapourPressure >= 0 && s.VapourPressure < s.AtmosphericPressure) {
		c.Fault("vapour pressure is %g Pa: give one from 0 to below the atmosphere's %g Pa", s.VapourPressure, s.AtmosphericPressure)
	}
	if !(s.AirTemperature >= 173.15 && s.AirTemperature <= 473.15) {
		c.Fault("temperature of the air is %g K: give one of 173.15 to 473.15 K", s.AirTemperature)
	}
	if !(s.WaterTemperature >= 273.15 && s.WaterTemperature <= 333.15) {
		c.Fault("temperature of the water is %g K: give one of 273.15 to 333.15 K", s.WaterTemperature)
	}
}

func (c *checker) practice() {
	p := &c.line.Practice
	c.Who = func() string { return fmt.Sprintf("practice %q", p.Name) }
	for _, t := range []struct {
		what string
		line.Threshold
	}{
		{"largest vacuum while air comes in (Pa)", p.AdmitDifferential}, {"largest pressure of air while filling (Pa)", p.VentDifferential},
		{"slam (m)", p.Slam}, {"filling velocity (m/s)", p.FillingVelocity}, {"drain velocity (m/s)", p.DrainVelocity},
	} {
		c.Positive(t.what, t.Value)
	}
	for _, t := range []line.Threshold{p.AdmitDifferential, p.VentDifferential} {
		if t.Value > 0 && t.Value < leastDifferential {
			c.Fault("a differential of %g Pa: give one of 1 Pa or more; pressures are in pascal", t.Value)
		}
	}
	if f := p.CollapseFactor.Value; !(f >= 1 && f <= 100) {
		c.Fault("safety factor on collapse is %g: give one from 1, usually 2 to 4", f)
	}
	if f := p.ReleasedAir.Value; !(f >= 0 && f < 1) {
		c.Fault("share of released air is %g: give one from 0 to below 1, usually 0.02", f)
	}
}

func (c *checker) options(in *Input) {
	c.Who = nil
	c.coefficient("coefficient of the large orifice", in.Coefficient)
	c.coefficient("coefficient of the small orifice", in.SmallOrifice)
	if in.Basis > CooledAir {
		c.Fault("basis %d is none: give one of the constants", in.Basis)
	}
	if in.Form > pipe.ThreeQuarter {
		c.Fault("form of collapse %d is none: give one of the constants", in.Form)
	}
	if in.Restraint > pipe.AnchoredUpstreamLengthening {
		c.Fault("restraint %d is none: give one of the constants", in.Restraint)
	}
	for _, k := range in.Shown {
		if k > Fill {
			c.Fault("duty %d is none: give one of the constants", k)
		}
	}
}

func (c *checker) record(r *valve.Record) {
	c.Who = func() string { return fmt.Sprintf("record %q", r.Name) }
	for _, p := range valve.Check(*r) {
		c.Fault("%v", p)
	}
	if x := r.EarlyClosing; x > 0 && x < leastDifferential {
		c.Fault("early closing is %g Pa: give 1 Pa or more, or 0 where it was not measured; pressures are in pascal", x)
	}
}

func (c *checker) place(p *Place) {
	who := func() string { return fmt.Sprintf("place %q", p.Name) }
	c.Who = who
	c.Finite("chainage (m)", p.Chainage)
	c.Finite("obvert (m)", p.Obvert)
	if p.Run < 0 || p.Run >= len(c.line.Runs) {
		c.Fault("it is on run %d of %d", p.Run, len(c.line.Runs))
	} else if n := len(c.line.Runs[p.Run].Placed); p.Placed < -1 || p.Placed >= n {
		c.Fault("it is valve %d of %d on its run: give −1 for a bare candidate", p.Placed, n)
	}
	if p.Record < -1 || p.Record >= len(c.line.Rack) {
		c.Fault("it has record %d of a rack of %d: give −1 for none", p.Record, len(c.line.Rack))
	}
	if len(p.Legs) == 0 {
		c.Fault("it has no leg: give the pipe on its sides, falling or rising")
	}
	c.NotNegative("flow while draining (m³/s)", p.DrainWater)
	c.NotNegative("flow while filling (m³/s)", p.FillWater)
	c.NotNegative("hole (m)", p.Hole.Diameter)
	c.coefficient("coefficient of the hole", p.Hole.Coefficient)
	c.NotNegative("head over the hole (m)", p.Hole.Head)
	c.NotNegative("wave speed (m/s)", p.WaveSpeed)
	if x := p.SourcePressure; x != 0 && !(x > 1e3 && x <= 1e7) {
		c.Fault("the water took up air at %g Pa: give an absolute pressure of 1 kPa to 10 MPa, or 0 for the atmosphere's", x)
	}
	if x := p.SourceTemperature; x != 0 && !(x >= 273.15 && x <= 333.15) {
		c.Fault("the water took up air at %g K: give 273.15 to 333.15 K, or 0 for the site's", x)
	}
	if p.HasLowest {
		c.Finite("lowest head (m)", p.Lowest)
	}
	for i := range p.Cases {
		s := &p.Cases[i]
		c.Who = func() string { return fmt.Sprintf("%s, case %q", who(), s.Name) }
		c.NotNegative("flow (m³/s)", s.Flow)
		c.Finite("head (m)", s.Head)
	}
	for i := range p.Legs {
		c.leg(who, &p.Legs[i])
	}
}

func (c *checker) leg(place func() string, l *Leg) {
	at := 0
	c.Who = func() string { return fmt.Sprintf("%s, leg %q, piece %d", place(), l.Name, at+1) }
	if len(l.Pieces) == 0 {
		c.Fault("there is none: give one or more")
	}
	for i := range l.Pieces {
		s := &l.Pieces[i]
		at = i
		if s.Run < 0 || s.Run >= len(c.line.Runs) {
			c.Fault("it is on run %d of %d", s.Run, len(c.line.Runs))
			continue
		}
		if n := len(c.line.Runs[s.Run].Sections); s.Section < 0 || s.Section >= n {
			c.Fault("it is on section %d of %d", s.Section, n)
			continue
		}
		c.Positive("length (m)", s.Length)
		c.Finite("fall (m)", s.Fall)
		if math.Abs(s.Fall) > s.Length*(1+1e-9) {
			c.Fault("it falls %g m over %g m of pipe: no pipe falls by more than its length", s.Fall, s.Length)
		}
		if key := [2]int{s.Run, s.Section}; !c.seen[key] {
			c.seen[key] = true
			who := c.Who
			c.section(s.Run, s.Section)
			c.Who = who
		}
	}
}

func (c *checker) section(run, i int) {
	s := &c.line.Runs[run].Sections[i]
	c.Who = func() string { return fmt.Sprintf("run %q, section %d", c.line.Runs[run].Name, i+1) }
	c.Positive("bore (m)", s.Bore)
	if !(s.HazenWilliams >= 0) || math.IsInf(s.HazenWilliams, 0) || s.HazenWilliams == 0 && !(s.Roughness >= 0 && s.Roughness < s.Bore) {
		c.Fault("roughness %g m, Hazen–Williams C %g: give one of the two, above 0", s.Roughness, s.HazenWilliams)
	}
	c.NotNegative("wall (m)", s.Wall)
	c.NotNegative("modulus of elasticity (Pa)", s.Modulus)
	if wallKnown(s) && s.Bore > 0 {
		v := vacuum(s, c.form, 1)
		if err := v.Check(); err != nil {
			c.Fault("%w", err)
		}
	}
}
