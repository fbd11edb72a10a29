package study

import (
	"context"
	"fmt"
	"math"
	"slices"

	"obvert/engine/costing"
	"obvert/engine/grade"
	"obvert/engine/sealing"
	"obvert/line"
	"obvert/quantity"
)

// mostPlaces is how many places are priced: the worst open ones; beyond them the reader asks for himself.
const mostPlaces = 3

// costs prices sealing head at the places where a pumping line does not hold its valve shut.
func (s *solver) costs(ctx context.Context) error {
	var places []costing.Input
	for i := range s.res.Sealing.Valves {
		if len(places) == mostPlaces {
			break
		}
		v := &s.res.Sealing.Valves[i]
		for k := range v.Cells {
			if s.l.Cases[k].Kind != line.Pumping || v.Cells[k].State != sealing.Open && v.Cells[k].State != sealing.Drips {
				continue
			}
			if in, ok := s.place(v, k); ok && s.controls(v, k) {
				places = append(places, in)
			}
			break
		}
	}
	if err := s.ahead(ctx, places); err != nil {
		return s.unpriced(ctx, err)
	}
	s.res.Costing = make([]costing.Result, len(places))
	err := parallel(ctx, len(places), func(i int) error {
		r, err := costing.Solve(ctx, places[i])
		s.res.Costing[i] = r
		return err
	})
	if err != nil {
		s.res.Costing = nil
		return s.unpriced(ctx, err)
	}
	return nil
}

// ahead solves, on all cores, what costing is going to ask for at each place, so that it finds its answers ready.
func (s *solver) ahead(ctx context.Context, places []costing.Input) error {
	type task struct {
		place int
		need  costing.Need
	}
	var tasks []task
	for p := range places {
		in := &places[p]
		for i := range in.Rack {
			r := &in.Rack[i]
			if !r.Sealing.HasValue() {
				continue
			}
			head := r.SealingHead(in.Density, in.Gravity)
			tasks = append(tasks, task{p, costing.Need{Head: head, Mode: costing.VariableSpeed, Flow: in.Base.Delivered}},
				task{p, costing.Need{Head: head, Mode: costing.FixedSpeed}})
		}
	}
	found := make([]costing.Operating, len(tasks))
	err := parallel(ctx, len(tasks), func(i int) error {
		var err error
		found[i], err = places[tasks[i].place].Operate(ctx, tasks[i].need)
		return err
	})
	if err != nil {
		return err
	}
	ready := make([]map[costing.Need]costing.Operating, len(places))
	for i, t := range tasks {
		if ready[t.place] == nil {
			ready[t.place] = map[costing.Need]costing.Operating{}
		}
		ready[t.place][t.need] = found[i]
	}
	for p := range places {
		solve := places[p].Operate
		places[p].Operate = func(ctx context.Context, need costing.Need) (costing.Operating, error) {
			if o, ok := ready[p][need]; ok {
				return o, nil
			}
			return solve(ctx, need)
		}
	}
	return nil
}

// controls tells whether a valve stands at the head of a slack length, or drips: a valve farther down the slack leg is held shut by no set point of its
// own that the one above does not need first.
func (s *solver) controls(v *sealing.ValveResult, k int) bool {
	if v.Cells[k].State == sealing.Drips {
		return true
	}
	for _, sl := range s.res.Grades[k].Slack {
		if sl.Run == v.Run && math.Abs(sl.From-v.Chainage) < 1e-6 {
			return true
		}
	}
	return false
}

// place lays out one place for costing, with the solver of the line as its Operate.
func (s *solver) place(v *sealing.ValveResult, k int) (costing.Input, bool) {
	g := &s.res.Grades[k]
	station := -1
	for j, st := range g.Stations {
		if st.Electric > 0 && (station < 0 || st.Electric > g.Stations[station].Electric) {
			station = j
		}
	}
	if station < 0 || g.Stations[station].Flow <= 0 {
		return costing.Input{}, false
	}
	in := costing.Input{
		Valve: v.Name, Run: v.Run, Chainage: v.Chainage, Case: k,
		Density: s.l.Site.Density, Gravity: s.l.Site.Gravity, Prices: s.l.Prices, Hours: s.l.Cases[k].Hours,
		Base: operating(g, station, 1), HeadNow: s.headNow(v, k), Rack: s.l.Rack,
	}
	if st := &g.Stations[station]; len(g.Stations) > 1 {
		in.Efficiency = s.l.Site.Density * s.l.Site.Gravity * st.Flow * (st.DischargeHead - st.SuctionHead) / st.Electric
	}
	in.Operate = func(ctx context.Context, need costing.Need) (costing.Operating, error) {
		return s.operate(ctx, v, k, station, need)
	}
	return in, true
}

// headNow is the head at a valve's seat as the line runs. Where air stands there the water's surface is at the obvert at most, below the seat.
func (s *solver) headNow(v *sealing.ValveResult, k int) float64 {
	if v.Cells[k].State == sealing.Open {
		return v.Obvert - v.Seat
	}
	return v.Cells[k].Head
}

func operating(g *grade.Result, station int, speed float64) costing.Operating {
	st := &g.Stations[station]
	o := costing.Operating{Delivered: st.Flow, Flow: st.Flow, Head: st.DischargeHead - st.SuctionHead, Speed: speed, Possible: st.Flow > 0}
	for _, x := range g.Stations {
		o.Power += x.Electric
	}
	if !o.Possible {
		o.Why = "the pumps cannot lift that high"
	}
	return o
}

// operate solves the line with a head wanted at a valve's seat: at the speed there is, or at the speed that keeps the flow.
func (s *solver) operate(ctx context.Context, v *sealing.ValveResult, k, station int, need costing.Need) (costing.Operating, error) {
	wanted := []grade.Need{{Run: v.Run, Chainage: v.Chainage, Head: v.Seat + need.Head}}
	impossible := func(err error) (costing.Operating, error) {
		if ctx.Err() != nil {
			return costing.Operating{}, ctx.Err()
		}
		return costing.Operating{Why: err.Error()}, nil
	}
	if need.Mode == costing.FixedSpeed {
		g, err := grade.Solve(ctx, grade.Input{Net: s.net, Case: k, Need: wanted})
		if err != nil {
			return impossible(err)
		}
		return operating(g, station, 1), nil
	}
	// A drive that holds the flow finds the speed within one solution.
	const slowest, fastest = 0.5, 1.6
	l := *s.l
	l.Cases = slices.Clone(l.Cases)
	l.Cases[k].Stations = slices.Clone(l.Cases[k].Stations)
	node := s.res.Grades[k].Stations[station].Node
	set := &l.Cases[k].Stations[node]
	set.Flow, set.HasHoldHead, set.HoldFlow, set.SlowestSpeed, set.FastestSpeed = 0, false, need.Flow, slowest, fastest
	net, err := s.net.With(&l)
	if err != nil {
		return costing.Operating{}, err
	}
	g, err := grade.Solve(ctx, grade.Input{Net: net, Case: k, Need: wanted})
	if err != nil {
		return impossible(err)
	}
	if g.Stations[station].AtLimit {
		return costing.Operating{Why: fmt.Sprintf("no speed between %.0f\u00a0%% and %.0f\u00a0%% keeps the flow", 100*slowest, 100*fastest)}, nil
	}
	return operating(g, station, g.Stations[station].Speed), nil
}

// findCosts tells what holding a valve shut while pumping costs.
func (s *solver) findCosts() {
	for i := range s.res.Costing {
		c := &s.res.Costing[i]
		if o := s.fittedOption(c); o != nil && o.Fixed.Possible && c.Priced {
			s.res.Findings = append(s.res.Findings, Finding{ID: "costing.head", Severity: Notable, State: "open", Run: c.Run, Chainage: c.Chainage, Valve: c.Valve, Type: o.Name, Cases: []int{c.Case},
				Title: fmt.Sprintf("Holding valve %s shut in %s costs %s a year", c.Valve, s.quoted(c.Case), s.money(o.CostFixed)),
				Have:  Figure{signed(o.RaisedHead), o.RaisedHead, "m"}, HaveLabel: "more at the pump",
				Text:   fmt.Sprintf("%s needs %s at its seat there; the station then delivers %s instead of %s, %s a day instead of %s. The rule of thumb would say %s.", o.Name, m2(o.Sealing), quantity.Format(o.Fixed.Flow, "L/s", 1), quantity.Format(c.Base.Flow, "L/s", 1), quantity.Format(o.Fixed.Hours*3600, "h", 1), quantity.Format(c.Base.Hours*3600, "h", 1), s.money(o.RuleOfThumb)),
				Source: "solved with a sustaining valve at the place, at equal volume a day"})
		}
	}
}

// fittedOption is the option of the type that stands at the place, or the dearest of those that can be had.
func (s *solver) fittedOption(c *costing.Result) *costing.Option {
	for i := range s.res.Sealing.Valves {
		v := &s.res.Sealing.Valves[i]
		if v.Name != c.Valve || v.Run != c.Run {
			continue
		}
		for j := range c.Options {
			if c.Options[j].Record == v.Record {
				return &c.Options[j]
			}
		}
	}
	return nil
}

func (s *solver) money(v float64) string {
	return quantity.Grouped(v) + "\u00a0" + s.l.Prices.Currency
}

// costText says in one sentence what the place with the dearest need costs.
func (s *solver) costText() string {
	for i := range s.res.Costing {
		c := &s.res.Costing[i]
		if o := s.fittedOption(c); o != nil && o.Fixed.Possible && c.Priced {
			return fmt.Sprintf("Holding %s shut in %s would take %s at its seat and cost about %s a year.", c.Valve, s.quoted(c.Case), m2(o.Sealing), s.money(o.CostFixed))
		}
	}
	return ""
}
