package study

import (
	"context"
	"fmt"
	"math"
	"slices"
	"sync"

	"obvert/engine/costing"
	"obvert/engine/grade"
	"obvert/engine/sealing"
	"obvert/line"
)

// ways prices all the ways out of valves that drip, side by side, and those of holding valves shut that stand open where the flowing line breaks.
func (s *solver) ways(ctx context.Context) error {
	into := func(of sealing.State, out **costing.Comparison) func(context.Context) error {
		return func(ctx context.Context) (err error) {
			*out, err = s.compared(ctx, of)
			return err
		}
	}
	return together(ctx, into(sealing.Drips, &s.res.Ways), into(sealing.Open, &s.res.Holding))
}

// compared lays out and prices the ways out of a state; nil where no valve is in it.
func (s *solver) compared(ctx context.Context, of sealing.State) (*costing.Comparison, error) {
	in, ok := s.comparison(of)
	if !ok {
		return nil, nil
	}
	c, err := costing.Compare(ctx, in)
	if err != nil {
		return nil, s.unpriced(ctx, err)
	}
	return &c, nil
}

// unpriced says why there is no answer about costs; the rest of the study stands without it.
func (s *solver) unpriced(ctx context.Context, err error) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.res.Assumed = append(s.res.Assumed, line.Assumption{ID: "costing.no-answer", Where: "costs", Text: sentence("Costs are left out: " + err.Error())})
	return nil
}

// comparison lays the line out for costing; false where no valve is in the state.
func (s *solver) comparison(of sealing.State) (costing.ComparisonInput, bool) {
	in := costing.ComparisonInput{
		Name: s.l.Name, Density: s.l.Site.Density, Gravity: s.l.Site.Gravity, Prices: s.l.Prices, Rack: s.l.Rack,
		Margin: 2 * math.Hypot(s.l.Survey.Datum, s.l.Survey.Independent), Parallel: parallel,
	}
	kases := s.operations(&in, of)
	if len(kases) == 0 {
		return in, false
	}
	worst := s.concerns(&in, kases, of)
	if worst < 0 {
		return in, false
	}
	s.places(&in, worst)
	in.Misfit = s.misfits(&in)
	in.Efficiency = s.efficiency(kases)
	in.NoRaise = len(s.terminals()) == 0
	if of == sealing.Drips {
		in.Leak = s.leakOfAll()
	} else {
		in.Leak.Known = true // an open valve leaks nothing
	}
	in.Operate = s.hydraulics(kases, in.Valves, in.Spots)
	return in, true
}

// operations are the cases that a day is made of, and, for valves that drip, every standing case, which must hold however short it is. Where no case has
// hours the first that flows takes what standing leaves of the day.
func (s *solver) operations(in *costing.ComparisonInput, of sealing.State) (kases []int) {
	told := slices.ContainsFunc(s.l.Cases, func(c line.Case) bool { return c.Hours > 0 && c.Kind != line.Filling })
	rest, first := min(s.l.Prices.HoursStanding, 24), true
	for k := range s.l.Cases {
		c := &s.l.Cases[k]
		o := costing.Operation{Name: c.Name, Kind: c.Kind, Hours: c.Hours}
		switch {
		case c.Kind == line.Filling:
			continue
		case c.Kind == line.Standing && of == sealing.Drips:
		case c.Kind == line.Standing:
			continue
		case told && c.Hours == 0, !told && !first:
			continue
		case !told:
			first, o.Hours = false, 24-rest
		}
		kases = append(kases, k)
		in.Cases = append(in.Cases, o)
	}
	if !slices.ContainsFunc(in.Cases, func(o costing.Operation) bool { return o.Kind != line.Standing }) {
		return nil // nothing runs: there is nothing to price
	}
	return kases
}

// concerns lists the valves that must hold, and tells which of them lacks most head; −1 where all hold.
func (s *solver) concerns(in *costing.ComparisonInput, kases []int, of sealing.State) int {
	worst, lacks := -1, 0.0
	concerned := make([][]bool, len(kases))
	for i := range s.res.Sealing.Valves {
		v := &s.res.Sealing.Valves[i]
		placed := &s.l.Runs[v.Run].Placed[v.Placed]
		c := costing.Concern{Name: v.Name, Place: costing.Place{Name: v.Name, Run: v.Run, Chainage: v.Chainage}, Height: v.Seat - v.Obvert,
			Sealing: v.Sealing, Unknown: v.Record < 0 || !s.shuts(v.Record), Record: v.Record,
			HighPoint: s.onHighPoint(v.Run, v.Chainage)}
		for j, k := range kases {
			state := v.Cells[k].State
			// One that holds by what it held before is left to it: a set point is sought for those that must shut anew.
			holds := state == sealing.Tight && v.Cells[k].Rule != sealing.Falling
			must := !placed.Isolated && (state == sealing.Drips || holds || state == sealing.Open && of == state && flowing(&s.l.Cases[k]) && s.controls(v, k))
			concerned[j] = append(concerned[j], must)
			if !must || state != of {
				continue
			}
			c.DripsNow = true
			if lack := v.Sealing - s.headNow(v, k); worst < 0 || lack > lacks {
				worst, lacks = i, lack
			}
		}
		in.Valves = append(in.Valves, c)
	}
	for j := range in.Cases {
		in.Cases[j].Concerned = concerned[j]
	}
	return worst
}

// misfits says of every type of the rack why it cannot take the places of the valves that do not hold; "" where it can.
func (s *solver) misfits(in *costing.ComparisonInput) []string {
	why := make([]string, len(in.Rack))
	for i := range in.Valves {
		if !in.Valves[i].DripsNow {
			continue
		}
		v := &s.res.Sealing.Valves[i]
		for r := range why {
			if why[r] != "" {
				continue
			}
			if s.largeEnough(i, r) == tooSmallForAir {
				why[r] = "too small for the air at " + v.Name
			}
			for k := range v.Cells {
				if rating := s.l.Rack[r].Rating; rating > 0 && v.Cells[k].Head > s.l.Site.Head(rating) {
					why[r] = "not rated for the head at " + v.Name
				}
			}
		}
	}
	return why
}

// onHighPoint tells whether a place is a high point, from which no air valve may be taken away.
func (s *solver) onHighPoint(run int, chainage float64) bool {
	reach := s.l.Practice.Displaced.Value
	for i := range s.res.Siting.Candidates {
		c := &s.res.Siting.Candidates[i]
		if c.Run == run && math.Abs(c.Chainage-chainage) <= reach && essential(c.Reasons) {
			return true
		}
	}
	return false
}

// efficiency is that of all stations together in the first case that pumps, from the mains to the water.
func (s *solver) efficiency(kases []int) float64 {
	for _, k := range kases {
		useful, electric := 0.0, 0.0
		for _, x := range s.res.Grades[k].Stations {
			useful += s.l.Site.Density * s.l.Site.Gravity * x.Flow * (x.DischargeHead - x.SuctionHead)
			electric += x.Electric
		}
		if electric > 0 && useful > 0 {
			return min(useful/electric, 1)
		}
	}
	return 0
}

// shuts tells whether a type was ever seen tight.
func (s *solver) shuts(record int) bool { return !s.neverShuts(record) }

// places are where a sustaining valve could stand, where the worst valve could be moved to, and the pipe that could be laid deeper under it.
func (s *solver) places(in *costing.ComparisonInput, worst int) {
	v := &s.res.Sealing.Valves[worst]
	run := &s.l.Runs[v.Run]
	end := run.Points[len(run.Points)-1].Chainage
	if s.flowsBack(v.Run) {
		end = run.Points[0].Chainage
	}
	in.Sustaining = []costing.Place{{Name: v.Name, Run: v.Run, Chainage: v.Chainage}}
	if end != v.Chainage {
		in.Sustaining = append(in.Sustaining, costing.Place{Name: "the end of " + run.Name, Run: v.Run, Chainage: end})
	}
	in.Profile, in.Summit = run.Points, costing.Place{Name: v.Name, Run: v.Run, Chainage: v.Chainage}
	in.Spots = s.spots(v)
}

// flowsBack tells whether a run flows against its direction in the first case that flows.
func (s *solver) flowsBack(run int) bool {
	for k := range s.l.Cases {
		if flowing(&s.l.Cases[k]) {
			return s.res.Grades[k].Runs[run].Flow < 0
		}
	}
	return false
}

// spots are the nearest places on either side of a valve that lie lower by the head it lacks.
func (s *solver) spots(v *sealing.ValveResult) []costing.Place {
	lack := 0.0
	for k := range v.Cells {
		if c := &v.Cells[k]; c.State == sealing.Drips {
			lack = max(lack, v.Sealing-c.Head)
		}
	}
	if lack == 0 {
		return nil
	}
	lack += 2 * math.Hypot(s.l.Survey.Datum, s.l.Survey.Independent)
	points := s.l.Runs[v.Run].Points
	var spots []costing.Place
	for _, sign := range []int{1, -1} {
		best := -1
		for j := range points {
			d := float64(sign) * (points[j].Chainage - v.Chainage)
			if d > 0 && points[j].Obvert <= v.Obvert-lack && (best < 0 || d < float64(sign)*(points[best].Chainage-v.Chainage)) {
				best = j
			}
		}
		if best >= 0 {
			spots = append(spots, costing.Place{Name: fmt.Sprintf("%s on %s", ch(points[best].Chainage), s.l.Runs[v.Run].Name), Run: v.Run, Chainage: points[best].Chainage})
		}
	}
	slices.SortStableFunc(spots, func(a, b costing.Place) int {
		return int(math.Copysign(1, math.Abs(a.Chainage-v.Chainage)-math.Abs(b.Chainage-v.Chainage)))
	})
	return spots
}

// terminals are the tanks that take water in the first case that flows.
func (s *solver) terminals() []int {
	var nodes []int
	for k := range s.l.Cases {
		if s.l.Cases[k].Kind != line.Pumping && s.l.Cases[k].Kind != line.Gravity {
			continue
		}
		for n := range s.l.Nodes {
			if s.l.Nodes[n].Kind == line.Tank && s.res.Grades[k].Nodes[n].Supply < 0 {
				nodes = append(nodes, n)
			}
		}
		break
	}
	return nodes
}

// delivered is what leaves the line at tanks, outfalls and off-takes.
func (s *solver) delivered(g *grade.Result) float64 {
	q := 0.0
	for n := range g.Nodes {
		q += max(0, -g.Nodes[n].Supply)
	}
	return q
}

// hydraulics solves the line in one case with one change, for costing. It is safe for concurrent use.
func (s *solver) hydraulics(kases []int, valves []costing.Concern, spots []costing.Place) costing.Hydraulics {
	nets := changedNets{s: s}
	return func(ctx context.Context, k int, ch costing.Change) (costing.State, error) {
		net, err := nets.of(ch)
		if err != nil {
			return costing.State{}, err
		}
		in := grade.Input{Net: net, Case: kases[k]}
		if ch.HasSustaining {
			obvert, _ := net.Line.ObvertAt(ch.Sustaining.Run, ch.Sustaining.Chainage)
			in.Need = []grade.Need{{Run: ch.Sustaining.Run, Chainage: ch.Sustaining.Chainage, Head: obvert + ch.Setting}}
		}
		g, err := grade.Solve(ctx, in)
		if err != nil {
			if ctx.Err() != nil {
				return costing.State{}, ctx.Err()
			}
			return costing.State{Operating: costing.Operating{Why: err.Error()}}, nil
		}
		return s.state(net.Line, g, kases[k], valves, spots), nil
	}
}

// state is what costing sees of a solution.
func (s *solver) state(l *line.Line, g *grade.Result, kase int, valves []costing.Concern, spots []costing.Place) costing.State {
	st := costing.State{Operating: costing.Operating{Possible: true, Speed: 1}}
	if flowing(&l.Cases[kase]) {
		st.Delivered = s.delivered(g)
		st.Flow = st.Delivered
		if st.Delivered <= 0 {
			st.Possible, st.Why = false, "nothing flows"
		}
	}
	for _, x := range g.Stations {
		st.Power += x.Electric
		if h := x.DischargeHead - x.SuctionHead; x.Electric > 0 && h > st.Head {
			st.Head, st.Flow, st.Speed = h, x.Flow, x.Speed
		}
		for _, p := range x.Pumps {
			st.Shaft += p.ShaftPower
			if p.CannotLift {
				st.Possible, st.Why = false, "a pump cannot lift that high"
			}
		}
	}
	for i := range valves {
		v := &valves[i]
		obvert, _ := l.ObvertAt(v.Place.Run, v.Place.Chainage)
		st.Heads = append(st.Heads, headAt(g, v.Place, obvert)-v.Height)
	}
	for _, p := range spots {
		obvert, _ := l.ObvertAt(p.Run, p.Chainage)
		st.Spots = append(st.Spots, headAt(g, p, obvert))
	}
	for _, sl := range g.Slack {
		st.Slack += math.Abs(sl.To - sl.From)
		st.Lost += sl.HeadLost
	}
	return st
}

// headAt is the gauge head at the obvert of a place, 0 where air stands there.
func headAt(g *grade.Result, p costing.Place, obvert float64) float64 {
	st := g.At(p.Run, p.Chainage)
	if st.Wetness == grade.Full || st.Wetness == grade.Suction {
		return st.Head - obvert
	}
	return 0
}

// changedNets prepares the line as a change leaves it, once for each.
type changedNets struct {
	s     *solver
	mu    sync.Mutex
	ready map[netKey]*grade.Net
}

// netKey is what of a change asks for another net.
type netKey struct {
	raise, head, depth float64
	run                int
	at                 float64
}

func (c *changedNets) of(ch costing.Change) (*grade.Net, error) {
	key := netKey{raise: ch.Raise, head: ch.PumpHead}
	if ch.HasLowering {
		key.depth, key.run, key.at = ch.Lowering.Depth, ch.Lowering.Place.Run, ch.Lowering.Place.Chainage
	}
	if key == (netKey{}) {
		return c.s.net, nil
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if net, ok := c.ready[key]; ok {
		return net, nil
	}
	l := c.s.changed(key)
	if ch.HasLowering {
		l.Runs = slices.Clone(l.Runs)
		run := &l.Runs[key.run]
		cut, err := costing.Regrade(run.Points, key.at, key.depth)
		if err != nil {
			return nil, err
		}
		run.Points = cut.Points
	}
	net, err := c.s.net.With(l)
	if err != nil {
		return nil, err
	}
	if c.ready == nil {
		c.ready = map[netKey]*grade.Net{}
	}
	c.ready[key] = net
	return net, nil
}

// changed is a copy of the line with its terminal tanks raised and its pumps' heads enlarged.
func (s *solver) changed(key netKey) *line.Line {
	l := *s.l
	if key.raise != 0 {
		l.Cases = slices.Clone(l.Cases)
		for k := range l.Cases {
			l.Cases[k].Level = slices.Clone(l.Cases[k].Level)
			for _, n := range s.terminals() {
				l.Cases[k].Level[n] += key.raise
			}
		}
	}
	if key.head != 0 {
		l.Nodes = slices.Clone(l.Nodes)
		for n := range l.Nodes {
			if l.Nodes[n].Station == nil {
				continue
			}
			st := *l.Nodes[n].Station
			st.Pumps = slices.Clone(st.Pumps)
			for p := range st.Pumps {
				st.Pumps[p].Curve = slices.Clone(st.Pumps[p].Curve)
				for q := range st.Pumps[p].Curve {
					st.Pumps[p].Curve[q][1] += key.head
				}
			}
			l.Nodes[n].Station = &st
		}
	}
	return &l
}
