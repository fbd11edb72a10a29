package study

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"obvert/bench"
	"obvert/engine/costing"
	"obvert/engine/draining"
	"obvert/engine/refilling"
	"obvert/engine/sealing"
	"obvert/line"
	"obvert/physics/valve"
	"obvert/quantity"
)

// SideBySide lays whole answers of one line side by side, each with one type of the rack at every valve, as [Compare] does.
func SideBySide(all []*Result, records []int) (*Comparison, error) {
	if len(all) < LeastCompared || len(all) > MostCompared || len(all) != len(records) {
		return nil, fmt.Errorf("study: %d answers of %d types to compare: give %d to %d", len(all), len(records), LeastCompared, MostCompared)
	}
	for i, r := range all {
		if r == nil || r.Line == nil || records[i] < 0 || records[i] >= len(r.Line.Rack) || len(r.Sealing.Valves) != len(all[0].Sealing.Valves) || len(r.Line.Cases) != len(all[0].Line.Cases) {
			return nil, fmt.Errorf("study: answer %d of those to compare is not of the same line, or its type is not on the rack", i+1)
		}
	}
	return compared(all, records), nil
}

func compared(all []*Result, index []int) *Comparison {
	l := all[0].Line
	c := &Comparison{Line: l.Name, Currency: comparedCurrency(all, index), StandingCases: all[0].StandingCases, Years: l.Prices.Years, Rate: l.Prices.DiscountRate,
		Days: l.Prices.DaysPerYear, Version: all[0].Version, Hash: l.Hash, results: all}
	for k := range l.Cases {
		c.Cases = append(c.Cases, l.Cases[k].Name)
	}
	for i, r := range all {
		s := &solver{l: r.Line, res: r}
		c.Types = append(c.Types, s.comparedType(index[i], c.Currency))
	}
	c.places(index)
	c.pairs()
	c.everyFails()
	c.best()
	c.answer()
	c.remark()
	return c
}

// comparedCurrency is the currency of a comparison: the line's, or where its document names none the one in which every priced type is priced, or
// none where the types are priced in several.
func comparedCurrency(all []*Result, index []int) string {
	if cur := all[0].Line.Prices.Currency; cur != "" {
		return cur
	}
	cur := ""
	for i, r := range all {
		switch rec := r.Line.Rack[index[i]]; {
		case rec.Price <= 0 || rec.Currency == cur:
		case cur != "":
			return ""
		default:
			cur = rec.Currency
		}
	}
	return cur
}

// known, atLeast and unknown make figures.
func known(v float64, unit string) Measure { return Measure{Value: v, Unit: unit, Known: true} }

func atLeast(v float64, unit, why string) Measure {
	return Measure{Value: v, Unit: unit, Least: true, Why: why}
}

func unknown(unit, why string) Measure { return Measure{Unit: unit, Why: why} }

// comparedType gathers the figures of one type out of its whole answer.
func (s *solver) comparedType(record int, cur string) ComparedType {
	rec := &s.l.Rack[record]
	t := ComparedType{Name: rec.Name, Record: record, SealingBound: rec.Sealing.Bound, LettingGoBound: rec.LettingGo.Bound, LeakCase: -1, DrainCase: -1}
	if rec.Sealing.HasValue() {
		t.Sealing, t.SealingExpanded = s.l.Site.Head(rec.Sealing.Mean), s.l.Site.Head(expanded(rec.Sealing))
	}
	if rec.LettingGo.HasValue() {
		t.LettingGo, t.LettingGoExpanded = s.l.Site.Head(rec.LettingGo.Mean), s.l.Site.Head(expanded(rec.LettingGo))
	}
	for k := range s.l.Cases {
		t.Counts = append(t.Counts, statesOf(s.res.Sealing.Valves, k))
	}
	s.compareDripping(&t)
	s.compareLeak(&t)
	s.compareDraining(&t)
	s.compareRestart(&t)
	s.comparePits(&t)
	s.compareMoney(cur, &t, rec)
	s.compareHolding(&t)
	s.compareAir(&t)
	s.compareChance(&t)
	s.compareFails(&t)
	return t
}

// confidence is what an expanded uncertainty stands for: k is 2 for many degrees of freedom (JCGM 100:2008, G.6.6).
const confidence = 0.9545

// expanded is a threshold's expanded uncertainty, Pa.
func expanded(t valve.Threshold) float64 {
	return bench.CoverageFactor(confidence, t.Freedom) * t.Uncertainty
}

// expandedDifference is the expanded uncertainty of the difference of two thresholds that share no error, Pa, with the effective degrees of freedom of
// Welch and Satterthwaite (JCGM 100:2008, G.4.1).
func expandedDifference(a, b valve.Threshold) float64 {
	u2 := a.Uncertainty*a.Uncertainty + b.Uncertainty*b.Uncertainty
	sum := 0.0
	for _, t := range []valve.Threshold{a, b} {
		if t.Freedom > 0 {
			sum += math.Pow(t.Uncertainty, 4) / t.Freedom
		}
	}
	freedom := 0.0
	if sum > 0 {
		freedom = u2 * u2 / sum
	}
	return bench.CoverageFactor(confidence, freedom) * math.Sqrt(u2)
}

// compareDripping counts the valves that drip in some case.
func (s *solver) compareDripping(t *ComparedType) {
	drips, doubt := 0, 0
	for i := range s.res.Sealing.Valves {
		cells := s.res.Sealing.Valves[i].Cells
		switch {
		case slices.ContainsFunc(cells, func(c sealing.Cell) bool { return c.State == sealing.Drips }):
			drips++
		case slices.ContainsFunc(cells, func(c sealing.Cell) bool { return c.State == sealing.Unrated }):
			doubt++
		}
	}
	t.Dripping = known(float64(drips), "1")
	if doubt > 0 {
		t.Dripping = atLeast(float64(drips), "1", fmt.Sprintf("of %d more it is not known", doubt))
	}
}

// compareLeak finds the standing case in which all valves together leak most.
func (s *solver) compareLeak(t *ComparedType) {
	t.Leak, t.PerDay = unknown("m³/s", "no case of the line stands"), unknown("m³", "no case of the line stands")
	why := ""
	most, day := 0.0, 0.0
	for _, k := range s.res.StandingCases {
		sum := 0.0
		for i := range s.res.Sealing.Valves {
			v := &s.res.Sealing.Valves[i]
			switch c := &v.Cells[k]; {
			case c.State == sealing.Drips && c.HasLeak:
				sum += c.Leak
			case c.State == sealing.Drips:
				why = fmt.Sprintf("its leak at %s is not on its leak curve", m2(c.Head))
			case c.State == sealing.Unrated && why == "":
				why = "whether it is tight at " + m2(c.Head) + " was not measured"
			}
		}
		if sum > most {
			most, t.LeakCase = sum, k
		}
		perDay := 0.0
		for i := range s.res.Rests {
			if s.res.Rests[i].Case == k {
				perDay += s.res.Rests[i].PerDay
			}
		}
		day = max(day, perDay)
		t.Leak, t.PerDay = known(most, "m³/s"), known(day, "m³")
	}
	if why != "" {
		t.Leak, t.PerDay = atLeast(most, "m³/s", why), atLeast(day, "m³", why)
	}
}

// compareDraining finds the standing case that drains the longest pipe, of equal ones that which loses most.
func (s *solver) compareDraining(t *ComparedType) {
	const none = "no case of the line stands"
	t.Lost, t.Drained, t.Stops = unknown("m³", none), unknown("m", none), unknown("s", none)
	var worst *draining.Result
	for i := range s.res.Draining {
		d := &s.res.Draining[i]
		if worst == nil || d.DrainedLength > worst.DrainedLength || d.DrainedLength == worst.DrainedLength && d.Lost > worst.Lost {
			worst = d
		}
	}
	if worst == nil {
		return
	}
	if worst.Lost > 0 {
		t.DrainCase = worst.Case
	}
	t.Lost, t.Drained, t.Stops = known(worst.Lost, "m³"), known(worst.DrainedLength, "m"), known(worst.StopTime, "s")
	switch worst.Status {
	case draining.NoLeak:
		t.Stops = known(0, "s")
	case draining.GoesOn:
		t.Lost = atLeast(worst.Lost, "m³", sentenceless(worst.Reason)+", without end")
		t.Stops = unknown("s", "it does not stop: "+sentenceless(worst.Reason))
	case draining.HorizonReached, draining.LimitReached:
		why := "followed for " + quantity.Duration(worst.StopTime) + ", it leaks still"
		t.Lost, t.Drained, t.Stops = atLeast(worst.Lost, "m³", why), atLeast(worst.DrainedLength, "m", why), atLeast(worst.StopTime, "s", why)
	}
	if name := s.unrated(); name != "" {
		why := "whether " + name + " leaks is not known"
		t.Lost, t.Drained, t.Stops = unknown("m³", why), unknown("m", why), unknown("s", why)
	}
}

// unrated names a valve of which it is not known whether it leaks in a standing case; "" where there is none. Draining takes such a one as leaking, which is neither
// the least nor what is known.
func (s *solver) unrated() string {
	for i, k := range s.res.StandingCases {
		if i >= len(s.res.Draining) {
			break
		}
		for j := range s.res.Draining[i].Valves {
			if v := &s.res.Draining[i].Valves[j]; v.Start == draining.NoRecord || s.res.Sealing.Valves[j].Cells[k].State == sealing.Unrated {
				return v.Name
			}
		}
	}
	return ""
}

// compareRestart looks at the line's restarts: what the air slams that the leaks have let in.
func (s *solver) compareRestart(t *ComparedType) {
	const none = "the line has no restart among its events"
	t.Slam, t.Share, t.Trapped, t.Start = unknown("m", none), unknown("1", none), unknown("kg", none), unknown("m³/s", none)
	for i := range s.res.Passed {
		p := &s.res.Passed[i]
		e := &s.l.Events[p.Event]
		if e.Kind != line.Restart {
			continue
		}
		r := p.Refilling
		if r == nil {
			if !t.Slam.Known {
				t.Slam, t.Share, t.Trapped, t.Start = unknown("m", p.Why), unknown("1", p.Why), unknown("kg", p.Why), unknown("m³/s", p.Why)
			}
			continue
		}
		if !t.Slam.Known || r.Slam > t.Slam.Value {
			t.Slam, t.SlamAt = known(r.Slam, "m"), r.SlamAt
		}
		share, rated := 0.0, false
		for j := range r.Valves {
			share, rated = max(share, r.Valves[j].Share), rated || r.Valves[j].HasRating
		}
		switch {
		case rated || r.Slam == 0:
			t.Share = known(max(share, t.Share.Value), "1")
		case !t.Share.Known:
			t.Share = unknown("1", "the pipe's rating was not given")
		}
		t.Trapped = known(max(r.Trapped, t.Trapped.Value), "kg")
		s.largestStart(t, p, r)
	}
	if name := s.unrated(); name != "" && t.Slam.Known {
		why := "what the leaks let in is not known: of " + name + " it is not known whether it leaks"
		t.Slam, t.SlamAt, t.Share, t.Trapped, t.Start = unknown("m", why), "", unknown("1", why), unknown("kg", why), unknown("m³/s", why)
	}
}

// largestStart keeps the smallest of the largest start flows of the restarts.
func (s *solver) largestStart(t *ComparedType, p *Passed, r *refilling.Result) {
	switch {
	case p.Start != nil:
		m := known(p.Start.Flow, "m³/s")
		m.Why = p.Start.Binds.String() + " binds"
		if p.Start.Flow <= 0 {
			m = unknown("m³/s", "no start flow keeps every limit: "+p.Start.Binds.String()+" binds even at the least")
		}
		if !t.Start.Known || m.Value < t.Start.Value {
			t.Start = m
		}
	case !t.Start.Known && !r.Filled:
		t.Start = unknown("m³/s", "the start does not fill the line: "+r.Status)
	case !t.Start.Known:
		most := 0.0
		for i := range r.Series {
			most = max(most, r.Series[i].Flow)
		}
		if most == 0 {
			t.Start = unknown("m³/s", "the line is full before it starts: there is no air that a start could drive out")
			return
		}
		t.Start = atLeast(most, "m³/s", "as it is started it keeps the limits of slam and rating; no larger start was tried")
	}
}

// daily tells whether a standing case, by its place among them, belongs to a usual day: one with hours a day, or the first where none has. Others are extremes, of
// which no day is made.
func (s *solver) daily(i int) bool {
	return s.l.Cases[s.res.StandingCases[i]].Hours > 0 || !s.someStand() && i == 0
}

// comparePits counts the days on which a pit receives water: those of operation, for each pit whose valve leaks within the hours that a day's standing lasts.
func (s *solver) comparePits(t *ComparedType) {
	if len(s.res.StandingCases) == 0 {
		t.PitDays = unknown("d", "no case of the line stands")
		return
	}
	wet, doubt := map[int]bool{}, ""
	for i, k := range s.res.StandingCases {
		if i >= len(s.res.Draining) || !s.daily(i) {
			continue
		}
		for j := range s.res.Draining[i].Valves {
			v := &s.res.Draining[i].Valves[j]
			switch unrated := s.res.Sealing.Valves[j].Cells[k].State == sealing.Unrated; {
			case v.Pit.Standing > 0 && !unrated:
				wet[j] = true
			case (v.Start == draining.NoRecord || unrated) && doubt == "":
				doubt = "whether " + v.Name + " leaks is not known"
			}
		}
	}
	t.WetPits = len(wet)
	days := float64(len(wet)) * s.l.Prices.DaysPerYear
	t.PitDays = known(days, "d")
	if doubt != "" {
		t.PitDays = atLeast(days, "d", doubt)
	}
}

// dripsUnknown says why the ways out do not tell what keeping a type costs, "" where no valve drips in a case that counts.
func (s *solver) dripsUnknown() string {
	for i := range s.res.Sealing.Valves {
		for k := range s.l.Cases {
			switch c := &s.res.Sealing.Valves[i].Cells[k]; {
			case c.State == sealing.Unrated:
				return "whether it is tight at " + m2(c.Head) + " was not measured"
			case c.State == sealing.Drips && s.l.Cases[k].Kind != line.Filling && s.res.Ways == nil:
				for _, a := range s.res.Assumed {
					if a.ID == "costing.no-answer" {
						return sentenceless(a.Text)
					}
				}
				return "no case of the line in which water flows has hours: nothing runs, so nothing was priced"
			}
		}
	}
	return ""
}

// compareMoney takes what accepting the leak costs from the ways out.
//
// All sums are in one currency, cur; without one no price is compared.
func (s *solver) compareMoney(cur string, t *ComparedType, rec *valve.Record) {
	n := float64(len(s.res.Sealing.Valves))
	switch {
	case rec.Price <= 0:
		t.Price = unknown(cur, "its record has no price")
	case cur == "":
		t.Price = unknown(cur, fmt.Sprintf("it is priced in %s, others in another currency, and the line names none", rec.Currency))
	case rec.Currency != cur:
		t.Price = unknown(cur, fmt.Sprintf("it is priced in %s, the line in %s", rec.Currency, cur))
	default:
		t.Price = known(rec.Price, cur)
	}
	t.Bought = t.Price
	t.Bought.Value *= n
	t.Refill, t.Water, t.Callouts, t.Yearly, t.Running = known(0, "kWh"), known(0, "m³"), known(0, "1"), known(0, cur), known(0, cur)
	accept := s.accepted()
	why := s.dripsUnknown()
	switch {
	case why != "":
		t.Refill, t.Water, t.Callouts, t.Yearly, t.Running = unknown("kWh", why), unknown("m³", why), unknown("1", why), unknown(cur, why), unknown(cur, why)
	case accept != nil:
		y := &accept.Year
		t.Refill, t.Water, t.Callouts = known(max(y.MoreEnergy, 0), "kWh"), known(y.Water, "m³"), known(y.Callouts, "1")
		t.Yearly, t.Running = known(y.Cost, cur), known(accept.PresentValue, cur)
		if !accept.Priced {
			lacks := strings.Join(accept.NotPriced, "; ")
			t.Yearly, t.Running = unknown(cur, lacks), unknown(cur, lacks)
			if y.Cost > 0 {
				t.Yearly, t.Running = atLeast(y.Cost, cur, lacks), atLeast(y.Cost*costing.PresentFactor(s.l.Prices.DiscountRate, s.l.Prices.Years), cur, lacks)
			}
		}
	}
	t.Whole = t.Running
	switch {
	case !t.Running.Known && !t.Running.Least:
	case t.Bought.Known:
		t.Whole.Value += t.Bought.Value
	default:
		t.Whole = atLeast(t.Running.Value, cur, t.Bought.Why)
	}
}

// accepted is the way of leaving the line as it is; nil where it was not reckoned.
func (s *solver) accepted() *costing.Way {
	if s.res.Ways == nil {
		return nil
	}
	for i := range s.res.Ways.Ways {
		if w := &s.res.Ways.Ways[i]; w.Kind == costing.AcceptLeak && w.Possible {
			return w
		}
	}
	return nil
}

// compareHolding finds the least energy that head for sealing takes, with this type in its place.
func (s *solver) compareHolding(t *ComparedType) {
	t.Hold, t.HoldOpen = heldBy(s.res.Ways), heldBy(s.res.Holding)
	if why := s.dripsUnknown(); why != "" && s.res.Ways == nil {
		t.Hold = unknown("kWh", why)
	}
	if s.res.Holding == nil {
		for i := range s.res.Sealing.Valves {
			for k := range s.l.Cases {
				if s.l.Cases[k].Kind != line.Standing && s.l.Cases[k].Kind != line.Filling && s.res.Sealing.Valves[i].Cells[k].State == sealing.Open {
					t.HoldOpen = unknown("kWh", "what stands open was not priced")
				}
			}
		}
	}
}

// heldBy is the least more energy a year of the ways that hold the valves by head: 0 where nothing has to be held.
func heldBy(c *costing.Comparison) Measure {
	if c == nil || c.Status == costing.AllHold {
		return known(0, "kWh")
	}
	var least *costing.Way
	why := ""
	for i := range c.Ways {
		w := &c.Ways[i]
		if !slices.Contains([]costing.Kind{costing.Sustaining, costing.SustainingAndPumps, costing.HigherTerminal, costing.LargerPumps}, w.Kind) {
			continue
		}
		if !w.Possible {
			if why == "" {
				why = w.Why
			}
			continue
		}
		if least == nil || w.Year.MoreEnergy < least.Year.MoreEnergy {
			least = w
		}
	}
	if least == nil {
		if why == "" && len(c.Notes) > 0 {
			why = c.Notes[0].Text
		}
		return unknown("kWh", "no head was found that holds it: "+sentenceless(why))
	}
	m := known(least.Year.MoreEnergy, "kWh")
	m.Why = least.Name
	return m
}

// compareAir counts the places at which a type passes less air than it should.
func (s *solver) compareAir(t *ComparedType) {
	for i := range s.res.Sizing.Places {
		p := &s.res.Sizing.Places[i]
		if p.Placed < 0 || p.Record < 0 {
			continue
		}
		t.Sized++
		if p.In.Governs >= 0 && p.In.Given.Known && !p.In.Given.Enough {
			t.ShortIn++
		}
		if p.Out.Governs >= 0 && p.Out.Given.Known && !p.Out.Given.Enough {
			t.ShortOut++
		}
		if p.Release.Wanted && !p.Release.Enough {
			t.ShortSmall++
		}
		if !largeKnown(p) {
			t.AirUnknown++
		}
	}
}

// compareChance is the chance that any valve drips in any case, out of the draws of all errors.
func (s *solver) compareChance(t *ComparedType) {
	left := 0
	for i := range s.res.Sealing.Valves {
		if slices.ContainsFunc(s.res.Sealing.Valves[i].Cells, func(c sealing.Cell) bool { return c.State == sealing.Unrated }) {
			left++
		}
	}
	if s.res.Drawn.N == 0 {
		t.Chance = unknown("1", "no air valve stands on the line")
		return
	}
	t.Chance, t.ChanceError = known(s.res.Drawn.Ever.Drips.P, "1"), s.res.Drawn.Ever.Drips.Error
	if left > 0 {
		t.Chance = atLeast(t.Chance.Value, "1", fmt.Sprintf("it leaves out what is not known at %d of the valves", left))
	}
}

// failWords says what a kind of finding that fails means, for one and for many.
var failWords = map[string][2]string{
	"sealing.drips":      {"one valve drips", "%d valves drip"},
	"sizing.too-small":   {"too small for the air of one place", "too small for the air of %d places"},
	"valve.rating":       {"not rated for the head at one place", "not rated for the head at %d places"},
	"refilling.slam":     {"a start slams beyond the limit", "%d starts slam beyond the limit"},
	"refilling.early":    {"a start carries valves shut too early", "%d starts carry valves shut too early"},
	"refilling.not-full": {"a start does not fill the line", "%d starts do not fill the line"},
	"siting.missing":     {"one place wants a valve and has none", "%d places want a valve and have none"},
}

// compareFails gathers the requirements that are not met, worst first as the findings are.
func (s *solver) compareFails(t *ComparedType) {
	for i := range s.res.Findings {
		f := &s.res.Findings[i]
		if f.Severity != Fails {
			continue
		}
		at := slices.IndexFunc(t.Fails, func(x Failure) bool { return x.ID == f.ID })
		if at < 0 {
			t.Fails = append(t.Fails, Failure{ID: f.ID, Text: sentenceless(f.Title)})
			at = len(t.Fails) - 1
		}
		t.Fails[at].Count++
	}
	for i := range t.Fails {
		f := &t.Fails[i]
		w, ok := failWords[f.ID]
		switch {
		case ok && f.Count == 1:
			f.Text = w[0]
		case ok:
			f.Text = fmt.Sprintf(w[1], f.Count)
		case f.Count > 1:
			f.Text += fmt.Sprintf(", and %d more of the kind", f.Count-1)
		}
	}
}

// everyFails marks what fails with every type.
func (c *Comparison) everyFails() {
	for i := range c.Types {
		for j := range c.Types[i].Fails {
			f := &c.Types[i].Fails[j]
			f.Every = true
			for k := range c.Types {
				f.Every = f.Every && slices.ContainsFunc(c.Types[k].Fails, func(x Failure) bool { return x.ID == f.ID && x.Count == f.Count })
			}
		}
	}
}

// places judges every type at every place.
func (c *Comparison) places(index []int) {
	first := c.results[0]
	for i := range first.Sealing.Valves {
		v := &first.Sealing.Valves[i]
		p := ComparedPlace{Valve: v.Name, Run: v.Run, Chainage: v.Chainage, Seat: v.Seat, Best: -1}
		p.Lowest = math.Inf(1)
		for _, k := range c.StandingCases {
			p.Heads = append(p.Heads, v.Cells[k].Head)
			p.Lowest = min(p.Lowest, v.Cells[k].Head)
		}
		if len(p.Heads) == 0 {
			p.Lowest = 0
		}
		for t, r := range c.results {
			s := &solver{l: r.Line, res: r}
			p.Cells = append(p.Cells, s.comparedCell(i, index[t]))
		}
		c.mix(&p)
		c.Places = append(c.Places, p)
	}
}

// comparedCell is what a type does at a place.
func (s *solver) comparedCell(i, record int) ComparedCell {
	v := &s.res.Sealing.Valves[i]
	cell := ComparedCell{Case: -1, Verdict: NotJudged}
	_, _, cell.All = least(v)
	cell.Enough = s.sizedEnough(v)
	for _, k := range s.res.StandingCases {
		c := &v.Cells[k]
		verdict := NotJudged
		switch {
		case c.State == sealing.Drips:
			verdict = DripsStanding
		case c.State == sealing.Tight && c.Rule == sealing.Falling && c.Head < v.Sealing:
			verdict = OnlyIfShut
		case c.State == sealing.Tight:
			verdict = StaysTight
		case c.State == sealing.Empty:
			verdict = NoWater
		case c.State == sealing.Open:
			verdict = StandsOpen
		}
		margin := 0.0
		if s.l.Rack[record].Sealing.HasValue() && verdict != NoWater && verdict != StandsOpen {
			margin = c.Head - v.Sealing
		}
		if cell.Case < 0 || verdict > cell.Verdict || verdict == cell.Verdict && margin < cell.Margin {
			cell.Case, cell.Verdict, cell.Margin = k, verdict, margin
		}
	}
	return cell
}

// sizedEnough tells whether sizing found the placed type large enough.
func (s *solver) sizedEnough(v *sealing.ValveResult) bool {
	for j := range s.res.Sizing.Places {
		p := &s.res.Sizing.Places[j]
		if p.Run == v.Run && p.Placed == v.Placed && p.Chainage == v.Chainage {
			return largeKnown(p) && !lacksLarge(p)
		}
	}
	return false
}

// mix chooses the type of a mixed set at a place.
func (c *Comparison) mix(p *ComparedPlace) {
	tight := false
	for i := range p.Cells {
		x := &p.Cells[i]
		tight = tight || x.All
		if !x.All || !x.Enough {
			continue
		}
		if p.Best < 0 || c.cheaper(i, p.Best, p) {
			p.Best = i
		}
	}
	switch {
	case p.Best >= 0:
	case tight:
		p.Why = "none that is tight is known to be large enough for its air"
	case !slices.ContainsFunc(p.Cells, func(x ComparedCell) bool { return x.Verdict != NoWater && x.Verdict != StandsOpen }):
		p.Why = "it stands in air: no head there shuts any of them"
	default:
		p.Why = "none is tight in every case"
	}
}

// cheaper tells whether type a would rather stand at a place than type b: by price, then by the smaller need of head, then by name.
func (c *Comparison) cheaper(a, b int, p *ComparedPlace) bool {
	x, y := &c.Types[a], &c.Types[b]
	switch {
	case x.Price.Known != y.Price.Known:
		return x.Price.Known
	case x.Price.Value != y.Price.Value:
		return x.Price.Value < y.Price.Value
	case x.Sealing != y.Sealing:
		return x.Sealing < y.Sealing
	}
	return x.Name < y.Name
}
