package sealing

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"obvert/num"
	"runtime"
	"sync"
	"sync/atomic"
)

const (
	sqrt3 = 1.7320508075688772
	sqrt6 = 2.449489742783178
	// mostDraws keeps a slip of the pen from running for days.
	mostDraws = 10_000_000
	// block is how many draws a worker takes at a time.
	block = 16
)

func (o Options) check() error {
	c := checker{num.Checks{Of: "sealing"}}
	if o.N < 0 || o.N > mostDraws {
		c.Fault("%d draws: give 1 to %d, or 0 for %d", o.N, mostDraws, DefaultDraws)
	}
	if o.Workers < 0 {
		c.Fault("%d workers: give 1 or more, or 0 for one a processor", o.Workers)
	}
	return c.Err()
}

// Draws finds the probabilities of [Solve] by drawing all errors many times (JCGM 101:2008, 7), each from its stated
// distribution, and walking every valve through the cases in their order with each; and which kind of error matters.
// Draw d has a random stream of its own, seeded by the seed and d alone, and only whole numbers are summed: the result
// is the same to the last bit whatever the number of workers.
//
// A threshold's mean errs once for all cases, its scatter anew in each. In a case in which a shut valve no longer holds
// it tries to shut anew. Where a history hangs on the errors this is what [Solve] approaches from the safe side.
//
// The standard error of a probability seen x times in N is that of the share after Bayes and Laplace, √(p(1−p)/(N+3)) with
// p = (x+1)/(N+2): not 0 where x is.
//
// It fails on a faulty input or option (all faults joined) and when the context ends.
func Draws(ctx context.Context, in Input, o Options) (Drawn, error) {
	if err := errors.Join(in.Check(), o.check()); err != nil {
		return Drawn{}, err
	}
	if o.N == 0 {
		o.N = DefaultDraws
	}
	if o.Workers == 0 {
		o.Workers = runtime.GOMAXPROCS(0)
	}
	s := newSolver(&in)
	s.quiet = true // what is to be said of the judging, Solve says
	for i := range in.Valves {
		s.judge(i)
	}
	p := s.plan()
	t, err := p.run(ctx, o)
	if err != nil {
		return Drawn{}, err
	}
	return s.drawn(p, t, o), nil
}

// tally counts what happened; sums of tallies do not depend on their order.
type tally struct {
	drips []int // by cell in doubt
	ever  []int // by valve of the plan: in any of its cells in doubt
	any   []int // by case, and last in any of them
	// By kind of error, by case and last in any: how often any dripped in the second trial, which shares that kind of error
	// alone with the first; and how often in both.
	again, both [Sources][]int
}

func (p *plan) newTally() *tally {
	t := &tally{drips: make([]int, p.doubtful), ever: make([]int, len(p.valves)), any: make([]int, p.cases+1)}
	for s := range t.again {
		t.again[s], t.both[s] = make([]int, p.cases+1), make([]int, p.cases+1)
	}
	return t
}

func (t *tally) add(o *tally) {
	sum := func(to, from []int) {
		for i, n := range from {
			to[i] += n
		}
	}
	sum(t.drips, o.drips)
	sum(t.ever, o.ever)
	sum(t.any, o.any)
	for s := range t.again {
		sum(t.again[s], o.again[s])
		sum(t.both[s], o.both[s])
	}
}

// run makes all draws, in blocks, by the workers.
func (p *plan) run(ctx context.Context, o Options) (*tally, error) {
	total := p.newTally()
	var next atomic.Int64
	var lock sync.Mutex
	var all sync.WaitGroup
	for range min(o.Workers, (o.N+block-1)/block) {
		all.Go(func() {
			w := p.newWorker(o)
			for ctx.Err() == nil {
				from := int(next.Add(block)) - block
				if from >= o.N {
					break
				}
				for d := from; d < min(from+block, o.N); d++ {
					w.draw(uint64(d))
				}
			}
			lock.Lock()
			defer lock.Unlock()
			total.add(w.tally)
		})
	}
	all.Wait()
	if err := ctx.Err(); err != nil {
		return nil, fmt.Errorf("sealing: stopped before %d draws were made: %w", o.N, err)
	}
	return total, nil
}

// worker makes draws one after another in memory of its own.
type worker struct {
	plan          *plan
	seed          uint64
	indices       bool
	a, b          thrower // two independent draws
	live          []int   // valves of the plan that may drip under the common errors of either draw
	drips         []bool  // of one valve, by cell in doubt
	first, second []bool  // by case, and last in any: whether any drips
	tally         *tally
}

func (p *plan) newWorker(o Options) *worker {
	w := &worker{
		plan: p, seed: mix(o.Seed), indices: !o.NoIndices, a: p.newThrower(), b: p.newThrower(), live: make([]int, 0, len(p.valves)),
		drips: make([]bool, p.cases), first: make([]bool, p.cases+1), second: make([]bool, p.cases+1), tally: p.newTally(),
	}
	return w
}

// draw makes draw d.
func (w *worker) draw(d uint64) {
	w.a.seed(w.seed + 4*d)
	w.b.seed(w.seed + 4*d + 2)
	w.a.common()
	w.b.common()
	w.sift()
	w.a.own(w.live)
	w.tried()
	if !w.indices {
		return
	}
	w.b.own(w.live)
	for s := range Sources {
		if w.plan.has[s] {
			w.triedAgain(Source(s))
		}
	}
}

// sift finds the valves that may drip in any case, whichever of the two draws each common error is taken from.
func (w *worker) sift() {
	shift := max(w.a.shift(), w.b.shift())
	rough := max(math.Abs(w.a.rough), math.Abs(w.b.rough))
	w.live = w.live[:0]
	for i := range w.plan.valves {
		if v := &w.plan.valves[i]; v.room <= shift+v.rough*rough {
			w.live = append(w.live, i)
		}
	}
}

// mix spreads a counter over all bits, so that the streams of neighbouring draws have nothing to do with one another
// (SplitMix64: G. L. Steele, D. Lea, C. H. Flood, OOPSLA 2014).
func mix(z uint64) uint64 {
	z += 0x9e3779b97f4a7c15
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// thrower draws errors from a stream of its own.
type thrower struct {
	picked
	plan *plan
	pcg  *rand.PCG
	dice *rand.Rand
}

func (p *plan) newThrower() thrower {
	t := thrower{plan: p, pcg: rand.NewPCG(0, 0)}
	t.dice = rand.New(t.pcg)
	t.level = make([]float64, len(p.levels))
	t.seat, t.mean = make([]float64, len(p.valves)), make([]float64, 2*len(p.valves))
	t.scatter = make([]float64, 2*p.doubtful)
	return t
}

func (t *thrower) seed(n uint64) { t.pcg.Seed(mix(n), mix(n+1)) }

// common draws the errors that valves share.
func (t *thrower) common() {
	p := t.plan
	var one [1]float64
	t.fill(one[:], p.shapes.Datum, p.has[DatumError])
	t.datum = p.datum * one[0]
	t.fill(one[:], p.shapes.Roughness, p.has[RoughnessError])
	t.rough = p.rough * one[0]
	if p.shapes.Roughness == LogNormal {
		t.rough = math.Expm1(logDeviation(p.rough) * one[0])
	}
	t.fill(t.level, p.shapes.Level, p.has[LevelError])
	for g, sigma := range p.levels {
		t.level[g] *= sigma
	}
}

// shift is how far (m) datum and levels move a head at most.
func (t *thrower) shift() float64 {
	most := 0.0
	for _, x := range t.level {
		most = max(most, math.Abs(x))
	}
	return most + math.Abs(t.datum)
}

// own draws the errors of some valves' own.
func (t *thrower) own(valves []int) {
	p := t.plan
	for _, i := range valves {
		v := &p.valves[i]
		t.fill(t.seat[i:i+1], p.shapes.Independent, p.has[SurveyError])
		t.seat[i] *= p.survey
		t.fill(t.mean[2*i:2*i+2], p.shapes.Bench, p.has[BenchError])
		t.fill(t.scatter[2*v.first:2*(v.first+len(v.cells))], p.shapes.Scatter, p.has[ScatterError])
	}
}

// fill draws values of zero mean and unit variance; none where the kind of error moves nothing. Of a log-normal error it
// draws the normal one underneath.
func (t *thrower) fill(z []float64, shape Shape, has bool) {
	switch {
	case !has:
		clear(z)
	case shape == Rectangular:
		for i := range z {
			z[i] = sqrt3 * (2*t.dice.Float64() - 1)
		}
	case shape == Triangular:
		for i := range z {
			z[i] = sqrt6 * (t.dice.Float64() - t.dice.Float64())
		}
	default:
		for i := range z {
			z[i] = t.dice.NormFloat64()
		}
	}
}

// logDeviation is the standard deviation of the logarithm of a log-normal factor of relative standard deviation u.
func logDeviation(u float64) float64 { return math.Sqrt(math.Log1p(u * u)) }

// tried walks the valves with the first draw and counts.
func (w *worker) tried() {
	p, any := w.plan, w.first
	copy(any, p.sureAny)
	for _, i := range w.live {
		v := &p.valves[i]
		w.a.walk(v, i, w.drips)
		ever := 0
		for n := range v.cells {
			if w.drips[n] {
				w.tally.drips[v.first+n]++
				any[v.cells[n].of] = true
				ever = 1
			}
		}
		w.tally.ever[i] += ever
	}
	sumUp(any)
	for k, yes := range any {
		if yes {
			w.tally.any[k]++
		}
	}
}

// sumUp sets the last: whether any of the others is.
func sumUp(any []bool) {
	last := len(any) - 1
	any[last] = false
	for _, yes := range any[:last] {
		any[last] = any[last] || yes
	}
}

// triedAgain walks all valves with the second draw but for one kind of error, which is that of the first, and counts.
func (w *worker) triedAgain(s Source) {
	p, any := w.plan, w.second
	e := w.b.picked
	e.take(s, &w.a.picked)
	left := p.cases // in which none drips yet
	for k, sure := range p.sureAny {
		if any[k] = sure; sure {
			left--
		}
	}
	for _, i := range w.live {
		if left == 0 {
			break
		}
		v := &p.valves[i]
		e.walk(v, i, w.drips)
		for n := range v.cells {
			if k := v.cells[n].of; w.drips[n] && !any[k] {
				any[k] = true
				left--
			}
		}
	}
	sumUp(any)
	again, both := w.tally.again[s], w.tally.both[s]
	for k, yes := range any {
		if yes {
			again[k]++
			if w.first[k] {
				both[k]++
			}
		}
	}
}

// take takes one kind of error from another draw.
func (e *picked) take(s Source, from *picked) {
	switch s {
	case DatumError:
		e.datum = from.datum
	case LevelError:
		e.level = from.level
	case RoughnessError:
		e.rough = from.rough
	case SurveyError:
		e.seat = from.seat
	case BenchError:
		e.mean = from.mean
	case ScatterError:
		e.scatter = from.scatter
	}
}
