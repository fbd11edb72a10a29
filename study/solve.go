package study

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"slices"
	"sync"

	"obvert/engine/grade"
	"obvert/engine/sealing"
	"obvert/engine/siting"
	"obvert/line"
)

// Options of a study. The zero value is the default.
type Options struct {
	Version  string
	Progress func(done, total int, what string) // called now and then, from one goroutine at a time
	// First, where not nil, is called as soon as every valve has been judged, while the rest goes on. What it is given must not be changed.
	First func(*sealing.Result)
	// Seed of the draws of chance; the same seed gives the same figures.
	Seed uint64
}

// solver holds what the steps of one study share.
type solver struct {
	src    Source
	l      *line.Line
	o      Options
	net    *grade.Net
	res    *Result
	walls  [][]wall // by run, by section
	stays  []airStays
	judged sealing.Input // what sealing was judged by
	mu     sync.Mutex
	done   int
	all    int
}

// Solve answers everything for one line. An operating case that has no solution is an error that names what contradicts itself in it.
func Solve(ctx context.Context, src Source, o Options) (*Result, error) {
	net, err := grade.NewNet(src.Line)
	if err != nil {
		return nil, err
	}
	s := &solver{src: src, l: src.Line, o: o, net: net}
	s.res = &Result{Line: src.Line, Bench: src.Bench, Version: o.Version, Assumed: src.Line.Assumed}
	s.all = len(src.Line.Cases) + 12
	first := s.chain(step{"grade lines", s.grades}, step{"sealing", s.sealing})
	if err := first(ctx); err != nil {
		return nil, err
	}
	if o.First != nil {
		o.First(&s.res.Sealing)
	}
	s.workWalls()
	// Sizing takes the flows of draining on purpose, where the line is drained so; else it need not wait.
	air := []step{{"siting", s.siting}, {"air that stays", s.pockets}}
	waits := slices.ContainsFunc(s.l.Events, func(e line.Event) bool { return e.Kind == line.Draining })
	if !waits {
		air = append(air, step{"sizing", s.sizes})
	}
	err = together(ctx,
		s.chain(step{"draining", s.drains}, step{"leaks", s.rests}, step{"events", s.events}),
		s.chain(air...),
		s.chain(step{"costs", s.costs}),
		s.chain(step{"chances", s.draws}),
		s.chain(step{"days", s.days}),
	)
	if err == nil && waits {
		err = s.chain(step{"sizing", s.sizes})(ctx)
	}
	if err == nil {
		err = s.chain(step{"ways out", s.ways})(ctx)
	}
	if err != nil {
		return nil, err
	}
	s.tubes()
	s.find()
	s.answer()
	s.sources()
	return s.res, nil
}

// step is a piece of the work with its name.
type step struct {
	what string
	do   func(context.Context) error
}

// chain is steps one after another.
func (s *solver) chain(steps ...step) func(context.Context) error {
	return func(ctx context.Context) error {
		for _, st := range steps {
			if err := st.do(ctx); err != nil {
				return err
			}
			s.progress(st.what)
		}
		return nil
	}
}

// together runs chains that do not need one another, and joins their faults in order.
func together(ctx context.Context, chains ...func(context.Context) error) error {
	return parallel(ctx, len(chains), func(i int) error { return chains[i](ctx) })
}

func (s *solver) progress(what string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.done++
	if s.o.Progress != nil {
		s.o.Progress(min(s.done, s.all), s.all, what)
	}
}

// parallel runs n pieces of work on all cores and joins their faults in order.
func parallel(ctx context.Context, n int, do func(i int) error) error {
	errs := make([]error, n)
	next := make(chan int)
	var wg sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := range next {
				errs[i] = do(i)
			}
		}()
	}
	for i := range n {
		if ctx.Err() != nil {
			break
		}
		next <- i
	}
	close(next)
	wg.Wait()
	if err := ctx.Err(); err != nil {
		return err
	}
	return errors.Join(errs...)
}

func (s *solver) grades(ctx context.Context) error {
	s.res.Grades = make([]grade.Result, len(s.l.Cases))
	for i, c := range s.l.Cases {
		if c.Kind == line.Standing {
			s.res.StandingCases = append(s.res.StandingCases, i)
		}
	}
	return parallel(ctx, len(s.l.Cases), func(i int) error {
		r, err := grade.Solve(ctx, grade.Input{Net: s.net, Case: i})
		if err != nil {
			return err
		}
		s.res.Grades[i] = *r
		s.progress(s.l.Cases[i].Name)
		return nil
	})
}

// flowing tells whether water moves in a case.
func flowing(c *line.Case) bool { return c.Kind != line.Standing }

func (s *solver) siting(ctx context.Context) error {
	in := siting.Input{Line: s.l}
	for i := range s.l.Cases {
		if !flowing(&s.l.Cases[i]) {
			continue
		}
		g := &s.res.Grades[i]
		c := siting.Flowing{Case: i, Name: s.l.Cases[i].Name}
		for r := range g.Runs {
			c.Flow = append(c.Flow, g.Runs[r].Flow)
			c.Head = append(c.Head, g.Runs[r].Head)
		}
		for _, sl := range g.Slack {
			c.Slack = append(c.Slack, siting.Slack{Run: sl.Run, From: sl.From, To: sl.To, Vapour: sl.Vapour})
		}
		in.Flowing = append(in.Flowing, c)
	}
	var err error
	s.res.Siting, err = siting.Solve(ctx, in)
	return err
}

// roughnessStep is the relative change of roughness by which sensitivities are taken.
const roughnessStep = 0.2

func (s *solver) sealing(ctx context.Context) error {
	in := sealing.Input{
		Density: s.l.Site.Density, Gravity: s.l.Site.Gravity, Rack: s.l.Rack,
		Uncertainty: sealing.Uncertainty{Datum: s.l.Survey.Datum, Independent: s.l.Survey.Independent, Roughness: s.l.Survey.Roughness},
	}
	for r := range s.l.Runs {
		for p, v := range s.l.Runs[r].Placed {
			obvert, _ := s.l.ObvertAt(r, v.Chainage)
			in.Valves = append(in.Valves, sealing.Valve{Name: v.Name, Run: r, Chainage: v.Chainage, Placed: p, Record: v.Record,
				Obvert: obvert, Seat: s.l.SeatLevel(r, p), AdmitsAir: v.AdmitsAir, Isolated: v.Isolated})
		}
	}
	in.Cases = make([]sealing.Case, len(s.l.Cases))
	err := parallel(ctx, len(s.l.Cases), func(i int) error {
		c, err := s.sealingCase(ctx, i, in.Valves)
		in.Cases[i] = c
		return err
	})
	if err != nil {
		return err
	}
	s.judged = in
	s.res.Sealing, err = sealing.Solve(ctx, in)
	return err
}

// sealingCase hands one case's water to the valves. In a flowing case a second solution with rougher pipes gives how each head hangs on the
// roughness.
func (s *solver) sealingCase(ctx context.Context, i int, valves []sealing.Valve) (sealing.Case, error) {
	g, lc := &s.res.Grades[i], &s.l.Cases[i]
	c := sealing.Case{Name: lc.Name, Standing: lc.Kind == line.Standing, At: make([]sealing.At, len(valves))}
	var rougher *grade.Result
	if !c.Standing && s.l.Survey.Roughness > 0 {
		var err error
		if rougher, err = grade.Solve(ctx, grade.Input{Net: s.net, Case: i, RoughnessFactor: 1 + roughnessStep}); err != nil {
			rougher = nil // rougher pipes may make a case impossible: then nothing is known of the slope, and a note says so
			s.mu.Lock()
			s.res.Assumed = append(s.res.Assumed, line.Assumption{ID: "sealing.no-roughness", Where: lc.Name,
				Text: fmt.Sprintf("With pipes rougher by a fifth this case has no solution; the uncertainty of its heads leaves roughness out: %v", err)})
			s.mu.Unlock()
		}
	}
	if c.Standing {
		for _, p := range g.Pools {
			c.LevelSigma = append(c.LevelSigma, s.levelSigma(p))
		}
	} else {
		sigma := 0.0
		for _, nd := range s.l.Nodes {
			if nd.Tank != nil {
				sigma = max(sigma, nd.Tank.Uncertainty)
			}
		}
		c.LevelSigma = []float64{sigma}
	}
	for k, v := range valves {
		st := g.At(v.Run, v.Chainage)
		at := sealing.At{Level: st.Head, Group: -1}
		switch st.Wetness {
		case grade.Suction, grade.Vapour: // a valve that admitted air would have let it in
			at.Wetness = sealing.UnderSuction
		case grade.Full:
			at.Wetness = sealing.Wet
		default:
			at.Wetness = sealing.InAir
			if c.Standing {
				at.Wetness = sealing.Dry
			}
			at.Level = 0
		}
		if at.Wetness == sealing.Wet || at.Wetness == sealing.UnderSuction {
			at.Group = 0
			if c.Standing {
				at.Group = st.Pool
			}
			if rougher != nil {
				at.Roughness = (rougher.At(v.Run, v.Chainage).Head - st.Head) / roughnessStep
			}
		}
		c.At[k] = at
	}
	return c, nil
}

// levelSigma is how well a pool's level is known: a tank's as its own, a crest's as any surveyed level.
func (s *solver) levelSigma(p grade.Pool) float64 {
	if p.Node >= 0 {
		if t := s.l.Nodes[p.Node].Tank; t != nil {
			return t.Uncertainty
		}
	}
	return s.l.Survey.Independent
}

// secondsStanding is the time a day in which a standing case leaks: the case's own hours, else those of the prices, else the whole day.
func (s *solver) secondsStanding(kase int) float64 {
	if h := s.l.Cases[kase].Hours; h > 0 {
		return h * 3600
	}
	if h := s.l.Prices.HoursStanding; h > 0 {
		return h * 3600
	}
	return 24 * 3600
}

func (s *solver) neverShuts(record int) bool {
	b := s.l.Rack[record].Sealing.Bound
	return !(b == boundMeasured || b == boundLessThan)
}

// tubes lays out the heads at every seat in the standing cases, against every type of the rack.
func (s *solver) tubes() {
	for i := range s.res.Sealing.Valves {
		v := &s.res.Sealing.Valves[i]
		t := Tube{Valve: i}
		worst := -1
		for j, k := range s.res.StandingCases {
			h := v.Cells[k].Head
			t.Heads = append(t.Heads, h)
			if worst < 0 || h < t.Heads[worst] {
				worst = j
			}
		}
		if worst >= 0 {
			for r := range s.l.Rack {
				t.Fits = append(t.Fits, s.fits(r, t.Heads[worst]))
			}
		}
		s.res.Tubes = append(s.res.Tubes, t)
	}
}

// fits is how a type of the rack would stand at a head.
func (s *solver) fits(record int, head float64) string {
	r := &s.l.Rack[record]
	rise, fall := s.l.Site.Head(r.Sealing.Mean), s.l.Site.Head(r.LettingGo.Mean)
	switch {
	case head <= 0:
		return "no"
	case (r.Sealing.Bound == boundMeasured || r.Sealing.Bound == boundLessThan) && head >= rise:
		return "tight"
	case r.Sealing.Bound == boundMeasured && r.LettingGo.Bound == boundMeasured && head >= fall:
		return "only if shut before"
	}
	return "no"
}
