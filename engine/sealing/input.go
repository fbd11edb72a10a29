package sealing

import (
	"fmt"

	"obvert/num"
	"obvert/physics/valve"
)

// Wetness says what stands at a valve in a case.
type Wetness uint8

// What may stand at a valve.
const (
	Wet          Wetness = iota // the pipe is full there, its obvert at or above the atmosphere
	InAir                       // the line flows and the pipe is part full there, under air or vapour
	Dry                         // the line stands and no water reaches the valve
	UnderSuction                // the pipe is full there, below the atmosphere, and no air comes in
)

// Valve is an air valve on its tapping.
type Valve struct {
	Name      string
	Run       int
	Chainage  float64 `unit:"m"`
	Placed    int     // index into the run's valves
	Record    int     // index into Input.Rack; −1 where no type is chosen
	Obvert    float64 `unit:"m"` // level of the pipe's obvert there, above datum
	Seat      float64 `unit:"m"` // level of the valve's seat, above datum
	AdmitsAir bool
	Isolated  bool // its isolating valve is shut: it neither admits, releases nor leaks
}

// At is the water at one valve in one case.
type At struct {
	Wetness Wetness
	// Level of the grade line above datum: gauge pressure head at the obvert plus the obvert's level. It counts with Wet and
	// UnderSuction only.
	Level float64 `unit:"m"`
	// Roughness is the change of Level for a unit relative change of all roughnesses, 0 where nothing moves.
	Roughness float64 `unit:"m"`
	Group     int     // index into Case.LevelSigma of the level it stands under, −1 for a level without error
}

// Case is one operating case.
type Case struct {
	Name     string
	Standing bool // at rest; else it flows
	// LevelSigma is the standard uncertainty of each level that several valves stand under together: one per pool in a
	// standing case, usually one for the whole of a flowing case.
	LevelSigma []float64 `unit:"m"`
	At         []At      // by valve
}

// Uncertainty is how well the line is known, as standard uncertainties (k = 1).
type Uncertainty struct {
	Datum       float64 `unit:"m"` // common to all seats against tanks and outfalls
	Independent float64 `unit:"m"` // of each seat's level by itself
	Roughness   float64 `unit:"1"` // relative, common to all pipes
	Shapes      Shapes  // of all errors, for [Draws]; [Solve] takes every one as normal, and says so where it is not
}

// Input is what [Solve] needs.
type Input struct {
	Density     float64 `unit:"kg/m³"` // of the water in hand
	Gravity     float64 `unit:"m/s²"`  // local
	Rack        []valve.Record
	Valves      []Valve // by run, by chainage
	Cases       []Case  // in the order in which they follow one another
	Uncertainty Uncertainty
}

// Check reports every fault of the input at once, joined; nil where there is none.
func (in *Input) Check() error {
	c := checker{num.Checks{Of: "sealing"}}
	c.Positive("density of the water (kg/m³)", in.Density)
	c.Positive("gravity (m/s²)", in.Gravity)
	c.NotNegative("uncertainty of the datum (m)", in.Uncertainty.Datum)
	c.NotNegative("independent uncertainty of levels (m)", in.Uncertainty.Independent)
	c.NotNegative("relative uncertainty of roughness", in.Uncertainty.Roughness)
	c.shapes(in.Uncertainty.Shapes)
	for i := range in.Rack {
		c.record(&in.Rack[i])
	}
	for i := range in.Valves {
		c.valve(in, i)
	}
	for k := range in.Cases {
		c.operating(in, k)
	}
	return c.Err()
}

// checker collects faults.
type checker struct{ num.Checks }

func (c *checker) shapes(s Shapes) {
	for _, e := range []struct {
		what  string
		shape Shape
		last  Shape
	}{
		{"datum", s.Datum, Triangular}, {"independent levels", s.Independent, Triangular}, {"roughness", s.Roughness, LogNormal},
		{"water levels", s.Level, Triangular}, {"bench", s.Bench, Triangular}, {"scatter", s.Scatter, Triangular},
	} {
		if e.shape > e.last {
			c.Fault("distribution %d of the error of the %s: give normal, rectangular or triangular, and log-normal of the roughness alone", e.shape, e.what)
		}
	}
}

func (c *checker) record(r *valve.Record) {
	who := fmt.Sprintf("record %q", r.Name)
	for _, t := range []struct {
		what string
		t    valve.Threshold
	}{{"sealing pressure", r.Sealing}, {"letting-go pressure", r.LettingGo}} {
		if !t.t.HasValue() {
			continue
		}
		c.NotNegative(who+", "+t.what+" (Pa)", t.t.Mean)
		c.NotNegative(who+", uncertainty of the "+t.what+" (Pa)", t.t.Uncertainty)
		c.NotNegative(who+", scatter of the "+t.what+" (Pa)", t.t.Scatter)
	}
	if r.Sealing.Bound == valve.Measured && r.LettingGo.Bound == valve.Measured && r.LettingGo.Mean > r.Sealing.Mean {
		c.Fault("%s lets go at %g Pa, above the %g Pa at which it shuts: a valve holds down to less than it needs to shut; look whether the two are exchanged",
			who, r.LettingGo.Mean, r.Sealing.Mean)
	}
	c.NotNegative(who+", rated pressure (Pa)", r.Rating)
	for i, p := range r.Leak {
		c.NotNegative(fmt.Sprintf("%s, leak curve point %d, pressure (Pa)", who, i+1), p.Pressure)
		c.NotNegative(fmt.Sprintf("%s, leak curve point %d, flow (m³/s)", who, i+1), p.Flow)
		if i > 0 && !(p.Pressure > r.Leak[i-1].Pressure) {
			c.Fault("%s, leak curve point %d at %g Pa does not follow %g Pa: give the points by rising pressure", who, i+1, p.Pressure, r.Leak[i-1].Pressure)
		}
	}
}

func (c *checker) valve(in *Input, i int) {
	v := &in.Valves[i]
	who := fmt.Sprintf("valve %q", v.Name)
	c.Finite(who+", chainage (m)", v.Chainage)
	c.Finite(who+", level of the obvert (m)", v.Obvert)
	c.Finite(who+", level of the seat (m)", v.Seat)
	if v.Record < -1 || v.Record >= len(in.Rack) {
		c.Fault("%s has record %d of a rack of %d: give −1 for none, or 0 to %d", who, v.Record, len(in.Rack), len(in.Rack)-1)
	}
	if i > 0 {
		if b := &in.Valves[i-1]; v.Run < b.Run || v.Run == b.Run && v.Chainage < b.Chainage {
			c.Fault("%s stands before %q: give the valves by run and by chainage", who, b.Name)
		}
	}
}

func (c *checker) operating(in *Input, k int) {
	cs := &in.Cases[k]
	who := fmt.Sprintf("case %q", cs.Name)
	for g, s := range cs.LevelSigma {
		c.NotNegative(fmt.Sprintf("%s, uncertainty of level %d (m)", who, g), s)
	}
	if len(cs.At) != len(in.Valves) {
		c.Fault("%s tells of %d valves but there are %d: give one entry for each", who, len(cs.At), len(in.Valves))
		return
	}
	for i := range cs.At {
		at := &cs.At[i]
		there := fmt.Sprintf("%s, valve %q", who, in.Valves[i].Name)
		if at.Wetness > UnderSuction {
			c.Fault("%s: wetness %d is none of Wet, InAir, Dry, UnderSuction", there, at.Wetness)
		}
		if at.Wetness == Wet || at.Wetness == UnderSuction {
			c.Finite(there+", level of the grade line (m)", at.Level)
			c.Finite(there+", sensitivity to roughness (m)", at.Roughness)
		}
		if cs.Standing && at.Roughness != 0 {
			c.Fault("%s: head changes by %g m with roughness though the line stands: roughness enters only where water moves", there, at.Roughness)
		}
		if at.Group < -1 || at.Group >= len(cs.LevelSigma) {
			c.Fault("%s stands under level %d of %d: give −1 for none, or 0 to %d", there, at.Group, len(cs.LevelSigma), len(cs.LevelSigma)-1)
		}
	}
}
