package sealing

import (
	"math"

	"obvert/physics/valve"
)

// plan is an input made ready for drawing: what every draw needs as plain figures, without the valves and cases of which
// no error changes what happens.
type plan struct {
	shapes   Shapes
	cases    int
	datum    float64 // m, standard uncertainty
	rough    float64 // 1
	survey   float64 // m
	levels   []float64
	valves   []drawValve
	certain  []sureValve
	has      [Sources]bool // this kind of error changes anything
	sureDrip []bool        // by case: a valve drips in every draw
}

// drawValve is a valve that some error can move.
type drawValve struct {
	at          int // index into the input's valves
	holds       bool
	riseMean    float64 // m, standard uncertainties of the two thresholds' means
	fallMean    float64
	riseScatter float64 // m, their scatter
	fallScatter float64
	cells       []drawCell // by case

	// It drips in no case where the common errors shift its heads by less than this (m), besides the roughness, which shifts
	// them by rough (m) at most for a unit.
	room, rough float64
}

// drawCell is one valve in one case.
type drawCell struct {
	wet        bool  // water stands under it
	counts     bool  // it may drip, and that is told
	level      int32 // index into the levels, 0 for one without error
	head       float64
	rough      float64 // m for a unit of relative roughness
	rise, fall float64 // m, that tell whether it drips
	riseKept   float64 // m, that tell whether it is shut from then on
	fallKept   float64
}

// sureValve is a valve that does the same in every draw.
type sureValve struct {
	at    int
	drips []bool // by case
}

// plan makes the solver's lots, all valves judged, ready for drawing.
func (s *solver) plan() *plan {
	u := s.in.Uncertainty
	p := &plan{
		shapes: u.Shapes, cases: len(s.in.Cases), datum: u.Datum, rough: u.Roughness, survey: u.Independent,
		levels: []float64{0}, sureDrip: make([]bool, len(s.in.Cases)),
	}
	first := make([]int32, len(s.in.Cases)) // by case, where its levels begin
	for k := range s.in.Cases {
		first[k] = int32(len(p.levels))
		p.levels = append(p.levels, s.in.Cases[k].LevelSigma...)
	}
	slab := make([]drawCell, len(s.in.Valves)*len(s.in.Cases))
	for i := range s.in.Valves {
		v := s.drawValve(i, slab[:p.cases:p.cases], first)
		slab = slab[p.cases:]
		if p.sure(&v) {
			p.settle(&v)
			continue
		}
		v.room, v.rough = p.roomOf(&v)
		p.valves = append(p.valves, v)
	}
	p.find()
	return p
}

// drawValve turns a valve's lots into plain figures.
func (s *solver) drawValve(i int, cells []drawCell, first []int32) drawValve {
	v := drawValve{at: i, cells: cells}
	if rec := s.in.Valves[i].Record; rec >= 0 {
		r := &s.in.Rack[rec]
		perPa := 1 / (s.in.Density * s.in.Gravity)
		spread := func(t valve.Threshold) (mean, scatter float64) { return t.Uncertainty * perPa, t.Scatter * perPa }
		v.riseMean, v.riseScatter = spread(r.Sealing)
		if v.holds = s.limits[rec].holds; v.holds {
			v.fallMean, v.fallScatter = spread(r.LettingGo)
		}
	}
	for k := range cells {
		l, at := &s.lots[i][k], &s.in.Cases[k].At[i]
		if !l.wet {
			continue
		}
		cells[k] = drawCell{
			wet: true, counts: l.counts, head: l.head, rough: at.Roughness,
			rise: l.rise, fall: l.fall, riseKept: l.riseKept, fallKept: l.fallKept,
		}
		if at.Group >= 0 {
			cells[k].level = first[k] + int32(at.Group)
		}
	}
	return v
}

// settled is the distance, in standard deviations, from beyond which no error is looked at: [reach]; 1e-15 lies beyond.
const settled = reach

// sure reports whether no error changes what a valve does in any case: every head stands off from zero and from every
// threshold that counts by more than the errors reach.
func (p *plan) sure(v *drawValve) bool {
	for k := range v.cells {
		c := &v.cells[k]
		if !c.wet {
			continue
		}
		if math.Abs(c.head) <= p.reachOf(c, 0, 0) {
			return false
		}
		for _, t := range []struct{ at, mean, scatter float64 }{
			{c.rise, v.riseMean, v.riseScatter}, {c.riseKept, v.riseMean, v.riseScatter},
			{c.fall, v.fallMean, v.fallScatter}, {c.fallKept, v.fallMean, v.fallScatter},
		} {
			if math.Abs(c.head-t.at) <= p.reachOf(c, t.mean, t.scatter) {
				return false
			}
		}
	}
	return true
}

// reachOf is how far (m) a cell's head and a threshold, whose mean and scatter have the given standard deviations (m), may
// err together.
func (p *plan) reachOf(c *drawCell, mean, scatter float64) float64 {
	f := p.ownReach(mean, scatter)
	f.add(p.shapes.Datum, p.datum)
	f.add(p.shapes.Level, p.levels[c.level])
	rough := math.Abs(c.rough)
	if p.shapes.Roughness == LogNormal {
		f.rest += rough * math.Expm1(settled*logDeviation(p.rough))
	} else {
		f.add(p.shapes.Roughness, rough*p.rough)
	}
	return f.far()
}

// ownReach is the same for a valve's own errors alone.
func (p *plan) ownReach(mean, scatter float64) farthest {
	var f farthest
	f.add(p.shapes.Independent, p.survey)
	f.add(p.shapes.Bench, mean)
	f.add(p.shapes.Scatter, scatter)
	return f
}

// farthest is how far errors may go together: normal ones by the root of the sum of their squares, bounded ones by the sum.
type farthest struct{ normal, rest float64 }

func (f *farthest) add(shape Shape, sigma float64) {
	switch shape {
	case Rectangular:
		f.rest += sqrt3 * sigma
	case Triangular:
		f.rest += sqrt6 * sigma
	default:
		f.normal += sigma * sigma
	}
}

func (f farthest) far() float64 { return f.rest + settled*math.Sqrt(f.normal) }

// roomOf is the least distance (m) of a valve's heads from those at which it drips, above its sealing head or below its
// seat, less what its own errors may take; and the largest effect of the roughness.
func (p *plan) roomOf(v *drawValve) (room, rough float64) {
	room = math.Inf(1)
	for k := range v.cells {
		if c := &v.cells[k]; c.wet && c.counts {
			room = min(room, max(c.head-c.rise, -c.head))
			rough = max(rough, math.Abs(c.rough))
		}
	}
	return room - p.ownReach(v.riseMean, v.riseScatter).far(), rough
}

// settle keeps what a sure valve does.
func (p *plan) settle(v *drawValve) {
	drips := make([]bool, p.cases)
	var e picked
	e.none(1, p.cases, len(p.levels))
	e.walk(v, 0, drips)
	for k, d := range drips {
		p.sureDrip[k] = p.sureDrip[k] || d
	}
	p.certain = append(p.certain, sureValve{v.at, drips})
}

// find says which kinds of error can move anything.
func (p *plan) find() {
	for i := range p.valves {
		v := &p.valves[i]
		p.has[DatumError] = p.datum > 0
		p.has[SurveyError] = p.survey > 0
		p.has[BenchError] = p.has[BenchError] || v.riseMean > 0 || v.fallMean > 0
		p.has[ScatterError] = p.has[ScatterError] || v.riseScatter > 0 || v.fallScatter > 0
		for k := range v.cells {
			c := &v.cells[k]
			p.has[LevelError] = p.has[LevelError] || c.wet && p.levels[c.level] > 0
			p.has[RoughnessError] = p.has[RoughnessError] || c.wet && c.rough != 0 && p.rough > 0
		}
	}
}

// picked is one value of every error, each kind taken from a draw of its own choosing.
type picked struct {
	datum, rough float64   // m; relative
	level        []float64 // m
	seat         []float64 // m, by valve
	mean         []float64 // by valve, rising and falling, in standard deviations
	scatter      []float64 // by valve, by case, rising and falling, in standard deviations
}

// none takes no error at all.
func (e *picked) none(valves, cases, levels int) {
	e.level = make([]float64, levels)
	e.seat = make([]float64, valves)
	e.mean = make([]float64, 2*valves)
	e.scatter = make([]float64, 2*valves*cases)
}

// walk takes a valve, the i-th of the plan, through all cases: it drips where water stands above its seat and it is not
// shut; it shuts at its sealing head, and holds, once shut, down to its letting-go head.
func (e *picked) walk(v *drawValve, i int, drips []bool) {
	shift := e.datum + e.seat[i]
	riseOff, fallOff := v.riseMean*e.mean[2*i], v.fallMean*e.mean[2*i+1]
	scatter := e.scatter[2*i*len(v.cells):]
	shut := false
	for k := range v.cells {
		c := &v.cells[k]
		head := c.head + c.rough*e.rough + shift + e.level[c.level]
		if !c.wet || head <= 0 {
			shut, drips[k] = false, false
			continue
		}
		rise := head - riseOff - v.riseScatter*scatter[2*k]
		fall := head - fallOff - v.fallScatter*scatter[2*k+1]
		held := shut && v.holds
		drips[k] = c.counts && rise < c.rise && !(held && fall >= c.fall)
		shut = rise >= c.riseKept || held && fall >= c.fallKept
	}
}
