package sealing

import (
	"context"
	"fmt"
	"math"

	"obvert/physics/valve"
)

// Solve judges every valve in every case. It fails on a faulty input (all faults joined) and when the context ends.
func Solve(ctx context.Context, in Input) (Result, error) {
	if err := in.Check(); err != nil {
		return Result{}, err
	}
	s := newSolver(&in)
	for i := range in.Valves {
		if err := ctx.Err(); err != nil {
			return Result{}, fmt.Errorf("sealing: stopped at valve %q: %w", in.Valves[i].Name, err)
		}
		s.judge(i)
		s.chances(i)
	}
	if !in.Uncertainty.Shapes.normal() {
		s.note("sealing.normal-taken", "", "errors are stated that are not normal: these probabilities take every error as normal, of the same standard uncertainty; the drawn ones keep its shape")
	}
	s.res.AnyDrips = make([]float64, len(in.Cases))
	for k := range in.Cases {
		if err := ctx.Err(); err != nil {
			return Result{}, fmt.Errorf("sealing: stopped at case %q: %w", in.Cases[k].Name, err)
		}
		s.res.AnyDrips[k] = s.anyDrips(k)
	}
	return s.res, nil
}

// solver holds what the steps share.
type solver struct {
	in     *Input
	limits []limits // by record
	lots   [][]lot  // by valve, by case
	res    Result
	quiet  bool // no notes
}

// newSolver gets a checked input ready.
func newSolver(in *Input) *solver {
	s := &solver{in: in, limits: make([]limits, len(in.Rack)), lots: make([][]lot, len(in.Valves))}
	for i := range in.Rack {
		s.limits[i] = s.limitsOf(&in.Rack[i])
	}
	s.res.Valves = make([]ValveResult, len(in.Valves))
	return s
}

func (s *solver) note(id, where, format string, args ...any) {
	if s.quiet {
		return
	}
	s.res.Notes = append(s.res.Notes, Note{ID: id, Where: where, Text: fmt.Sprintf(format, args...)})
}

// limit is a threshold as heads: drips below lo, tight from hi, not known between. A measured one has lo = hi.
type limit struct {
	lo, hi float64 // m; hi may be +Inf
	sigma  float64 // m, of the next shutting about the mean as known
}

// limits are a record's two thresholds in metres of the water in hand.
type limits struct {
	rise, fall limit
	known      bool // anything is known of the sealing head
	holds      bool // the letting-go head helps; else fall = rise
}

// limitsOf turns a record's pressures into heads.
func (s *solver) limitsOf(r *valve.Record) limits {
	l := limits{rise: s.limitOf(r.Sealing)}
	l.known = r.Sealing.HasValue()
	l.fall = l.rise
	if b := r.LettingGo.Bound; b == valve.Measured || b == valve.LessThan {
		l.holds = true
		l.fall = s.limitOf(r.LettingGo)
		if l.fall.hi > l.rise.hi { // tight down to here only as far as it was seen: never worse than shutting anew
			l.fall.hi = l.rise.hi
			l.fall.lo = min(l.fall.lo, l.fall.hi)
		}
	}
	return l
}

func (s *solver) limitOf(t valve.Threshold) limit {
	h := t.Head(s.in.Density, s.in.Gravity)
	l := limit{lo: h, hi: h, sigma: t.Spread() / (s.in.Density * s.in.Gravity)}
	switch t.Bound {
	case valve.MoreThan:
		l.hi = math.Inf(1)
	case valve.LessThan:
		l.lo = 0
	}
	return l
}

// low is the head below which the valve drips. One only bounded from below was seen to drip at the bound itself.
func (l limit) low() float64 {
	if l.lo < l.hi {
		return math.Nextafter(l.lo, math.Inf(1))
	}
	return l.lo
}

// verdict places a head above 0 against a limit.
func (l limit) verdict(h float64) State {
	switch {
	case h >= l.hi:
		return Tight
	case h < l.lo, h == l.lo && l.lo > 0:
		return Drips
	}
	return Unrated
}

// judge fills one valve's results through all cases, but for the chances.
func (s *solver) judge(i int) {
	v := &s.in.Valves[i]
	out := &s.res.Valves[i]
	*out = ValveResult{Name: v.Name, Run: v.Run, Chainage: v.Chainage, Placed: v.Placed, Record: v.Record, Seat: v.Seat, Obvert: v.Obvert}
	var lim limits
	if v.Record >= 0 {
		lim = s.limits[v.Record]
		r := &s.in.Rack[v.Record]
		out.SealingBound, out.LettingGoBound = r.Sealing.Bound, r.LettingGo.Bound
		if lim.known {
			out.Sealing = r.SealingHead(s.in.Density, s.in.Gravity)
		}
		if r.LettingGo.HasValue() {
			out.LettingGo = r.LettingGoHead(s.in.Density, s.in.Gravity)
		}
		s.remarkRecord(v, r, lim)
	}
	out.Cells = make([]Cell, len(s.in.Cases))
	s.lots[i] = make([]lot, len(s.in.Cases))
	shut := false
	for k := range s.in.Cases {
		out.Cells[k], s.lots[i][k] = s.cell(v, k, i, lim, shut)
		shut = s.lots[i][k].shut
	}
}

// chances fills in one valve's probabilities and which case is the worst.
func (s *solver) chances(i int) {
	out := &s.res.Valves[i]
	for k := range out.Cells {
		if s.lots[i][k].counts {
			out.Cells[k].Probability = s.chance(i, k)
		}
	}
	out.Worst = worst(out.Cells)
}

// cell judges one valve in one case by whether it was shut before.
func (s *solver) cell(v *Valve, k, i int, lim limits, shut bool) (Cell, lot) {
	at := s.in.Cases[k].At[i]
	where := v.Name + ", " + s.in.Cases[k].Name
	if at.Wetness == Dry {
		return Cell{State: Empty}, lot{}
	}
	if v.Isolated {
		return s.isolated(v, at, where)
	}
	switch at.Wetness {
	case InAir:
		return Cell{State: Open}, lot{}
	case UnderSuction:
		return s.suction(v, at, where)
	}
	head := at.Level - v.Seat
	cell := Cell{Head: head}
	one := s.newLot(at, k, head, lim)
	s.rate(&cell, v)
	switch {
	case head <= 0: // the water's surface is at or below the seat
		cell.State, cell.Head = Open, 0
		one.air = true
		one.counts = v.Record >= 0 && lim.known
		one.aim(lim, Drips)
		return cell, one
	case v.Record < 0 || !lim.known:
		cell.State = Unrated
		return cell, lot{}
	}
	cell.Rule = Rising
	need := lim.rise
	if shut && lim.holds {
		cell.Rule, need = Falling, lim.fall
	}
	cell.State = need.verdict(head)
	one.aim(lim, cell.State)
	one.counts = cell.State != Unrated
	// A valve of which nothing is known between two bounds counts as not shut: the safe side for the cases that follow.
	one.shut = cell.State == Tight
	cell.Needed = need.hi
	if cell.State == Drips || math.IsInf(need.hi, 1) {
		cell.Needed = need.lo
	}
	cell.Sigma = math.Hypot(s.sigmaHead(&one, true), need.sigma)
	switch cell.State {
	case Unrated:
		s.remarkUnknown(where, head, need)
	case Drips:
		s.leak(&cell, v, where)
		fallthrough
	default:
		cell.Margin = head - cell.Needed
	}
	return cell, one
}

// isolated is a valve behind a shut isolating valve.
func (s *solver) isolated(v *Valve, at At, where string) (Cell, lot) {
	s.note("sealing.isolated", where, "its isolating valve is shut: it holds water but neither lets air in nor out")
	if at.Wetness == InAir {
		return Cell{State: Empty}, lot{}
	}
	cell := Cell{State: Tight, Head: at.Level - v.Seat}
	s.rate(&cell, v)
	return cell, lot{}
}

// suction is a valve at a pipe that stands below the atmosphere.
func (s *solver) suction(v *Valve, at At, where string) (Cell, lot) {
	if v.AdmitsAir {
		s.note("sealing.admits-under-suction", where, "the pipe was given as under suction, but this valve lets air in: taken as open")
		return Cell{State: Open}, lot{}
	}
	head := at.Level - v.Seat
	s.note("sealing.under-suction", where,
		"%.2f m below the atmosphere at its seat: no bench measures tightness that way, and a seat that is not tight draws in what stands in the pit", max(-head, 0))
	return Cell{State: Unrated, Head: head}, lot{}
}

// rate compares the head with the valve's rated pressure.
func (s *solver) rate(cell *Cell, v *Valve) {
	if v.Record < 0 {
		return
	}
	r := &s.in.Rack[v.Record]
	cell.OverRating = r.Rating > 0 && cell.Head*s.in.Density*s.in.Gravity > r.Rating
}

// leak reads the leak curve at the head of a valve that drips.
func (s *solver) leak(cell *Cell, v *Valve, where string) {
	r := &s.in.Rack[v.Record]
	p := cell.Head * s.in.Density * s.in.Gravity
	switch {
	case !r.HasLeak():
		s.note("sealing.no-leak-curve", where, "it drips, but %s has no leak curve: how much is not known", r.Name)
	case !r.LeakKnown(p):
		s.note("sealing.leak-beyond-curve", where, "it drips at %.2f m, above the leak curve of %s: how much is not known", cell.Head, r.Name)
	default:
		cell.Leak, cell.HasLeak = r.LeakFlow(p), true
	}
}

// remarkRecord says what a valve's record leaves open.
func (s *solver) remarkRecord(v *Valve, r *valve.Record, lim limits) {
	if !lim.known {
		s.note("sealing.not-measured", v.Name, "the sealing head of %s was not measured", r.Name)
		return
	}
	if !lim.holds {
		s.note("sealing.no-letting-go", v.Name, "the letting-go head of %s is not known: judged by its sealing head in every case, the safe side", r.Name)
	}
	if !r.Sealing.HasScatter {
		s.note("sealing.no-scatter", v.Name, "the scatter of %s from one shutting to the next is not known: its probabilities leave it out and are too sure", r.Name)
	}
}

// remarkUnknown says why a head cannot be judged.
func (s *solver) remarkUnknown(where string, head float64, need limit) {
	if math.IsInf(need.hi, 1) {
		s.note("sealing.beyond-bench", where, "never seen tight, dripping up to %.2f m on the bench: whether %.2f m shuts it nobody has measured", need.lo, head)
		return
	}
	s.note("sealing.below-bench", where, "seen tight from %.2f m: whether %.2f m keeps it so nobody has measured", need.hi, head)
}

// worst is the index of the case that is worst for a valve.
func worst(cells []Cell) int {
	at := 0
	for k := range cells {
		if k > 0 && worse(&cells[k], &cells[at]) {
			at = k
		}
	}
	return at
}

// worse orders cells: dripping, not known, over its rating, tight, open, empty; then by probability, then by margin.
func worse(a, b *Cell) bool {
	rank := func(c *Cell) int {
		switch {
		case c.State == Drips:
			return 5
		case c.State == Unrated:
			return 4
		case c.OverRating:
			return 3
		case c.State == Tight && c.Rule != NoRule:
			return 2
		case c.State == Open:
			return 1
		}
		return 0
	}
	if ra, rb := rank(a), rank(b); ra != rb {
		return ra > rb
	}
	if a.Probability != b.Probability {
		return a.Probability > b.Probability
	}
	return a.Margin < b.Margin
}
