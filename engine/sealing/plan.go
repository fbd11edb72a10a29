package sealing

import "math"

// plan is an input made ready for drawing: what every draw needs as plain figures. Cells that no error changes are
// settled once; only those in doubt are walked through in every draw.
type plan struct {
	shapes   Shapes
	cases    int
	datum    float64       // m, standard uncertainty
	rough    float64       // 1
	survey   float64       // m
	levels   []float64     // m, of all cases, the first without error
	valves   []drawValve   // those with a cell in doubt
	doubtful int           // cells in doubt
	has      [Sources]bool // this kind of error changes anything
	sure     [][]bool      // by valve of the input, by case: it drips in every draw
	sureAny  []bool        // by case: any does
}

// drawValve is a valve that some error can move.
type drawValve struct {
	at    int // index into the input's valves
	bend      // its thresholds
	first int // of its cells among all in doubt
	cells []drawCell

	// It drips in no case in doubt where the common errors shift its heads by less than this (m), besides the roughness, which
	// shifts them by rough (m) at most for a unit.
	room, rough float64
}

// bend is how a valve's two thresholds may err: standard deviations of the means and from one shutting to the next, m.
type bend struct {
	holds                 bool
	riseMean, riseScatter float64
	fallMean, fallScatter float64
}

// drawCell is one valve in one case, in doubt.
type drawCell struct {
	counts     bool  // it may drip, and that is told
	before     fate  // what the cells settled before it left behind; inDoubt: what the cell before it did
	of         int32 // case
	level      int32 // index into the levels, 0 for one without error
	head       float64
	rough      float64 // m for a unit of relative roughness
	rise, fall float64 // m, that tell whether it drips
	riseKept   float64 // m, that tell whether it is shut from then on
	fallKept   float64
}

// fate is what a cell does in every draw.
type fate uint8

// The fates.
const (
	inDoubt fate = iota
	staysOpen
	staysShut
	staysDripping
)

// plan makes the solver's lots, all valves judged, ready for drawing.
func (s *solver) plan() *plan {
	u := s.in.Uncertainty
	p := &plan{
		shapes: u.Shapes, cases: len(s.in.Cases), datum: u.Datum, rough: u.Roughness, survey: u.Independent,
		levels: []float64{0}, sure: make([][]bool, len(s.in.Valves)), sureAny: make([]bool, len(s.in.Cases)),
	}
	first := make([]int32, len(s.in.Cases)) // by case, where its levels begin
	for k := range s.in.Cases {
		first[k] = int32(len(p.levels))
		p.levels = append(p.levels, s.in.Cases[k].LevelSigma...)
	}
	flags := make([]bool, len(s.in.Valves)*p.cases)
	for i := range s.in.Valves {
		p.sure[i], flags = flags[:p.cases:p.cases], flags[p.cases:]
		if v := s.drawValve(p, i, first); len(v.cells) > 0 {
			v.first = p.doubtful
			v.room, v.rough = p.roomOf(&v)
			p.doubtful += len(v.cells)
			p.valves = append(p.valves, v)
			p.find(&v)
		}
	}
	return p
}

// drawValve turns a valve's lots into plain figures: settles its cells where that can be, and keeps the others.
func (s *solver) drawValve(p *plan, i int, first []int32) drawValve {
	v := drawValve{at: i, bend: s.bendOf(i)}
	before := staysOpen
	for k := range s.in.Cases {
		l, at := &s.lots[i][k], &s.in.Cases[k].At[i]
		if !l.wet {
			before = staysOpen
			continue
		}
		c := drawCell{
			counts: l.counts, before: before, of: int32(k), head: l.head, rough: at.Roughness,
			rise: l.rise, fall: l.fall, riseKept: l.riseKept, fallKept: l.fallKept,
		}
		if at.Group >= 0 {
			c.level = first[k] + int32(at.Group)
		}
		switch before = p.fateOf(&v.bend, &c); before {
		case staysDripping:
			p.sure[i][k], p.sureAny[k] = true, true
			before = staysOpen
		case inDoubt:
			v.cells = append(v.cells, c)
		}
	}
	return v
}

// bendOf is how the thresholds of a valve's record may err.
func (s *solver) bendOf(i int) bend {
	rec := s.in.Valves[i].Record
	if rec < 0 {
		return bend{}
	}
	r := &s.in.Rack[rec]
	perPa := 1 / (s.in.Density * s.in.Gravity)
	b := bend{holds: s.limits[rec].holds, riseMean: r.Sealing.Uncertainty * perPa, riseScatter: r.Sealing.Scatter * perPa}
	if b.holds {
		b.fallMean, b.fallScatter = r.LettingGo.Uncertainty*perPa, r.LettingGo.Scatter*perPa
	}
	return b
}

// fateOf tells what a cell does in every draw, if that can be told: its head stands off from zero and from every threshold
// that counts by more than the errors reach.
func (p *plan) fateOf(b *bend, c *drawCell) fate {
	wet := p.reachOf(c, 0, 0)
	rise := p.reachOf(c, b.riseMean, b.riseScatter)
	fall := p.reachOf(c, b.fallMean, b.fallScatter)
	switch {
	case c.head < -wet:
		return staysOpen
	case c.head <= wet:
		return inDoubt
	case c.head > max(c.rise, c.riseKept)+rise,
		c.before == staysShut && b.holds && c.head > max(c.fall, c.fallKept)+fall:
		return staysShut
	case c.head >= c.riseKept-rise,
		c.before != staysOpen && b.holds && c.head >= c.fallKept-fall:
		return inDoubt
	case !c.counts:
		return staysOpen
	case c.head < c.rise-rise && (c.before == staysOpen || !b.holds || c.head < c.fall-fall):
		return staysDripping
	}
	return inDoubt
}

// settled is the distance, in standard deviations, beyond which no error is looked for: [reach]; 1e-15 lies beyond.
const settled = reach

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

// roomOf is the least distance (m) of a valve's heads in doubt from those at which it drips, above its sealing head or below
// its seat, less what its own errors may take; and the largest effect of the roughness.
func (p *plan) roomOf(v *drawValve) (room, rough float64) {
	room = math.Inf(1)
	for k := range v.cells {
		if c := &v.cells[k]; c.counts {
			room = min(room, max(c.head-c.rise, -c.head))
			rough = max(rough, math.Abs(c.rough))
		}
	}
	return room - p.ownReach(v.riseMean, v.riseScatter).far(), rough
}

// find says which kinds of error can move a valve.
func (p *plan) find(v *drawValve) {
	p.has[DatumError] = p.datum > 0
	p.has[SurveyError] = p.survey > 0
	p.has[BenchError] = p.has[BenchError] || v.riseMean > 0 || v.fallMean > 0
	p.has[ScatterError] = p.has[ScatterError] || v.riseScatter > 0 || v.fallScatter > 0
	for k := range v.cells {
		c := &v.cells[k]
		p.has[LevelError] = p.has[LevelError] || p.levels[c.level] > 0
		p.has[RoughnessError] = p.has[RoughnessError] || c.rough != 0 && p.rough > 0
	}
}

// picked is one value of every error, each kind taken from a draw of its own choosing.
type picked struct {
	datum, rough float64   // m; relative
	level        []float64 // m
	seat         []float64 // m, by valve
	mean         []float64 // by valve, rising and falling, in standard deviations
	scatter      []float64 // by cell in doubt, rising and falling, in standard deviations
}

// walk takes a valve, the i-th of the plan, through its cells in doubt: it drips where water stands above its seat and it is
// not shut; it shuts at its sealing head, and holds, once shut, down to its letting-go head.
func (e *picked) walk(v *drawValve, i int, drips []bool) {
	shift := e.datum + e.seat[i]
	riseOff, fallOff := v.riseMean*e.mean[2*i], v.fallMean*e.mean[2*i+1]
	scatter := e.scatter[2*v.first : 2*(v.first+len(v.cells))]
	drips = drips[:len(v.cells)]
	shut := false
	for n := range v.cells {
		c := &v.cells[n]
		if c.before != inDoubt {
			shut = c.before == staysShut
		}
		head := c.head + c.rough*e.rough + shift + e.level[c.level]
		if head <= 0 {
			shut, drips[n] = false, false
			continue
		}
		rise := head - riseOff - v.riseScatter*scatter[2*n]
		if rise >= c.rise && rise >= c.riseKept {
			shut, drips[n] = true, false
			continue
		}
		fall := head - fallOff - v.fallScatter*scatter[2*n+1]
		held := shut && v.holds
		drips[n] = c.counts && rise < c.rise && !(held && fall >= c.fall)
		shut = rise >= c.riseKept || held && fall >= c.fallKept
	}
}
