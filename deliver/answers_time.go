package deliver

import (
	"fmt"
	"math"
	"strings"

	"obvert/engine/draining"
	"obvert/engine/grade"
	"obvert/engine/refilling"
	"obvert/line"
	"obvert/physics/valve"
)

// standing is the chapter of the stopped line in time.
func (a *answers) standing() *chapter {
	if len(a.Draining) == 0 {
		return nil
	}
	c := &chapter{ID: "drain", Head: "The stopped line in time",
		Note: "What leaks once the line stands, what drains, how far and how fast. Water blue, part full half blue, empty pipe white; each drawing is the long section at one moment, levels to its own scale."}
	t := &table{Caption: "Standing cases", Heads: heads("case", "how it ends", ">stops|after", ">lost|m³", ">drained|m", ">still leaks|L/day", "why", ">water|balance", ">air|balance")}
	order := sortedBy(len(a.Draining), func(i int) float64 { return -max(a.Draining[i].Lost, a.Draining[i].LossPerDay) })
	drawn := 0
	for _, i := range order {
		d := &a.Draining[i]
		if d.Status == draining.NoLeak || len(d.Frames) < 2 {
			continue
		}
		if drawn == mostStrips {
			c.Remarks = append(c.Remarks, "Further standing cases that leak are in the table.")
			break
		}
		drawn++
		a.addDrain(c, d, a.caseNamed(d.Case), nil, -float64(drawn))
	}
	for i := range a.Draining {
		d := &a.Draining[i]
		stops := "–"
		if d.Status == draining.StoppedLeaking || d.Status == draining.Drained {
			stops = durationText(d.StopTime)
		}
		why := d.Reason
		if why == d.Status.String() {
			why = ""
		}
		t.row("", wide(a.caseNamed(d.Case)), cellOf(d.Status.String()), cellOf(stops), cellOf(significant(d.Lost, 3)), cellOf(grouped(d.DrainedLength)), cellOf(perDayText(d.LeakAtEnd)),
			tableCell{Text: why, Class: "w"}, cellOf(balanceText(d.WaterBalance)), cellOf(balanceText(d.AirBalance)))
	}
	c.table(t)
	if len(c.Parts) > 0 {
		c.printWorst()
	}
	if p := a.pits(); p != nil {
		c.table(p)
		c.Cautions = append(c.Cautions, "A pit is a confined space: test the air, never enter alone. A flooded pit over a valve that is open or under suction can be drawn into drinking water.")
	}
	return c
}

// addDrain adds a draining's strips, one for each route that shows what moves.
func (a *answers) addDrain(c *chapter, d *draining.Result, name string, places []line.Place, rank float64) {
	runs := map[int]bool{}
	for k := range d.Valves {
		if d.Valves[k].Total > 0 || d.Valves[k].HasOpened {
			runs[d.Valves[k].Run] = true
		}
	}
	for _, p := range places {
		runs[p.Run] = true
	}
	for k := range d.Frames[0].Runs { // runs whose water changes
		if wetLength(d.Frames[0].Runs[k])-wetLength(d.Frames[len(d.Frames)-1].Runs[k]) > 1 {
			runs[k] = true
		}
	}
	routes := a.routesOf(runs)
	for k, i := range routes {
		v := a.view(i)
		head := name
		if len(routes) > 1 {
			head += ": " + v.name
		}
		c.addStrip(a.drainStrip(d, v, head, places), head, drainWords(d), k > 0)
		c.rank(name, rank)
	}
}

// addStrip adds a strip; on a further route of the same event what passes in the whole line is not drawn and told again.
func (c *chapter) addStrip(t *strip, head, note string, further bool) {
	if further {
		if len(t.frames) == 2 && !t.moves() {
			return
		}
		t.series, note = nil, ""
	}
	if t.hi > t.lo {
		note = strings.TrimSpace(note + " Drawn from " + chainageText(t.lo) + " to " + chainageText(t.hi) + ": elsewhere nothing moves.")
	}
	c.add(t, head, note, "Figures of these drawings", false)
}

// rank says of what the parts without one are, and how bad it is.
func (c *chapter) rank(of string, rank float64) {
	for _, p := range c.Parts {
		if p.of == "" {
			p.of, p.rank = of, rank
		}
	}
}

func largestVacuum(d *draining.Result) float64 {
	most := 0.0
	for k := range d.Valves {
		most = max(most, d.Valves[k].Vacuum)
	}
	return most
}

// openPlaces are where an event's water leaves.
func openPlaces(e *line.Event) []line.Place {
	if e.Kind == line.Burst {
		return []line.Place{e.At}
	}
	return e.Scours
}

func wetLength(s []draining.Span) float64 {
	sum := 0.0
	for _, w := range s {
		sum += w.To - w.From
	}
	return sum
}

// drainWords says how a draining ends.
func drainWords(d *draining.Result) string {
	s := upper(d.Status.String())
	switch d.Status {
	case draining.StoppedLeaking, draining.Drained:
		s += " after " + durationText(d.StopTime)
	case draining.HorizonReached:
		s = "Followed for " + durationText(d.StopTime)
	}
	s += ": " + lostText(d.Lost, d.DrainedLength, " of pipe drained")
	if q := leavesAtEnd(d); d.Status == draining.HorizonReached && q >= leastLeak {
		s += "; " + leakText(q) + " still leave"
	}
	s += "."
	if d.Reason != "" && d.Reason != d.Status.String() {
		s += " " + sentence(upper(d.Reason))
	}
	if d.HasMargin {
		s += fmt.Sprintf(" Least margin of a wall against vacuum %s.", pressureText(d.LeastMargin.Margin))
	}
	return s
}

// lostText is water lost and, where there is any, pipe drained.
func lostText(lost, drained float64, word string) string {
	s := volumeText(lost) + " lost"
	if drained >= 0.5 {
		s += ", " + lengthText(drained) + word
	}
	return s
}

// leavesAtEnd is what leaks, or leaves through openings, at the end.
func leavesAtEnd(d *draining.Result) float64 {
	if len(d.Openings) == 0 {
		return d.LeakAtEnd
	}
	sum := 0.0
	for _, o := range d.Openings {
		if n := len(o.Series); n > 0 {
			sum += o.Series[n-1].Flow
		}
	}
	return sum
}

// pits is the table of what the pits receive: of every valve the case in which it loses most.
func (a *answers) pits() *table {
	t := &table{Caption: "What the pits receive", Heads: heads(">No.", ">chainage", "type", "in case", ">first day|L", ">first leak|L/s", ">while it stands|m³", ">as rain on the pit|mm/day", ">pit full after|days", ">lost in all|m³", ">let go after", ">leaks until", "sets where its|water ends")}
	type pick struct {
		d *draining.Result
		k int
	}
	best := map[string]pick{}
	var names []string
	for i := range a.Draining {
		d := &a.Draining[i]
		for k := range d.Valves {
			q := &d.Valves[k]
			if q.Total <= 0 && q.FirstLeak <= 0 {
				continue
			}
			b, ok := best[q.Name]
			if !ok {
				names = append(names, q.Name)
			}
			if !ok || q.Pit.FirstDay > b.d.Valves[b.k].Pit.FirstDay {
				best[q.Name] = pick{d, k}
			}
		}
	}
	for _, n := range names {
		d := best[n].d
		q := &d.Valves[best[n].k]
		rain, fills, ends := "–", "–", ""
		if q.Pit.HasArea {
			rain = significant(q.Pit.Rainfall, 2)
		}
		if q.Pit.Fills {
			fills = significant(q.Pit.DaysToFill, 2)
		}
		if q.Ends {
			ends = "yes"
		}
		lets := "–"
		if q.HasLetGo {
			lets = durationText(q.LetsGo)
		}
		t.row("", cellOf(a.no(n)), cellOf(a.at(q.Run, q.Chainage)), wide(a.typeOf(q.Record)), wide(a.caseNamed(d.Case)), cellOf(grouped(roundTo(q.Pit.FirstDay*1000, 3))), cellOf(significant(q.FirstLeak*1000, 2)),
			cellOf(significant(q.Pit.Standing, 3)), cellOf(rain), cellOf(fills), cellOf(significant(q.Total, 3)), cellOf(lets), cellOf(durationText(q.LastLeak)), cellOf(ends))
	}
	if len(t.Rows) == 0 {
		return nil
	}
	return t
}

// emptied is the chapter of draining through scours and of bursts.
func (a *answers) emptied() *chapter {
	c := &chapter{ID: "empty", Head: "Drained on purpose, and by a burst", Note: "The line empties through open scours or a break; air must come in as fast as the water leaves, or the pipe is left under vacuum."}
	for i := range a.Passed {
		e := &a.Passed[i]
		if e.Event < 0 || e.Event >= len(a.Line.Events) || a.Line.Events[e.Event].Kind > line.Burst {
			continue
		}
		name := a.Line.Events[e.Event].Name
		if e.Why != "" {
			c.Remarks = append(c.Remarks, name+": "+sentence(e.Why))
		}
		if e.Draining == nil {
			continue
		}
		d := e.Draining
		if len(d.Frames) > 1 && len(c.Parts) < mostStrips {
			a.addDrain(c, d, name, openPlaces(&a.Line.Events[e.Event]), largestVacuum(d))
		}
		c.table(a.airIn(name, d))
	}
	if len(c.Parts) > 0 {
		c.printWorst()
		c.Cautions = append(c.Cautions, "Vacuum can collapse a thin pipe and draw a seal out of its groove: open the scours slowly, and watch the gauge at the summit.")
	}
	return c
}

// airIn is what each valve takes in while the line empties.
func (a *answers) airIn(name string, d *draining.Result) *table {
	t := &table{Caption: name + ": air taken in, and vacuum", Heads: heads(">No.", ">chainage", "type", ">largest inflow|L/s free air", ">after", ">taken in|kg", ">largest vacuum|kPa", "remark")}
	for k := range d.Valves {
		q := &d.Valves[k]
		if q.AirIn <= 0 && q.Vacuum <= 0 {
			continue
		}
		var remark []string
		if q.Choked {
			remark = append(remark, "sonic")
		}
		if q.NoAirCurve {
			remark = append(remark, "air curve not known: taken as wide open")
		}
		after := "–"
		if q.FreePeak > 0 {
			after = durationText(q.PeakTime)
		}
		t.row("", cellOf(a.no(q.Name)), cellOf(a.at(q.Run, q.Chainage)), wide(a.typeOf(q.Record)), cellOf(some(q.FreePeak*1000, 1)), cellOf(after), cellOf(some(q.AirIn, 1)),
			cellOf(some(q.Vacuum/1e3, 2)), wide(strings.Join(remark, "; ")))
	}
	return t
}

// filled is the chapter of first fillings and restarts.
func (a *answers) filled() *chapter {
	c := &chapter{ID: "fill", Head: "Filling and starting again", Note: "The water columns advance, the air between them leaves through the valves, and the last of it leaves fastest. Ring: air closed in, with its pressure."}
	for i := range a.Passed {
		e := &a.Passed[i]
		if e.Event < 0 || e.Event >= len(a.Line.Events) || a.Line.Events[e.Event].Kind < line.FirstFilling {
			continue
		}
		name := a.Line.Events[e.Event].Name
		if e.Why != "" {
			c.Remarks = append(c.Remarks, name+": "+sentence(e.Why))
		}
		if e.Refilling == nil {
			continue
		}
		d := e.Refilling
		if len(d.Frames) < 2 || len(d.Series) < 2 {
			c.Remarks = append(c.Remarks, name+": "+refillWords(d))
		} else if len(c.Parts) < mostStrips {
			runs := map[int]bool{}
			for k := range d.Frames[0].Water {
				runs[k] = len(d.Frames[0].Water[k]) > 0 || len(d.Frames[len(d.Frames)-1].Water[k]) > 0
			}
			routes := a.routesOf(runs)
			for k, r := range routes[:min(len(routes), mostStrips)] {
				v := a.view(r)
				head := name
				if len(routes) > 1 {
					head += ": " + v.name
				}
				note := refillWords(d)
				if e.Start != nil {
					note += " " + upper(startWords(e.Start))
				}
				c.addStrip(a.refillStrip(d, v, head), head, note, k > 0)
				c.rank(name, d.Slam)
			}
		}
		c.table(a.lastAir(name, d))
		if e.Start != nil {
			c.table(startTable(name, e.Start))
		}
		if d.RigidIndex > 0 {
			c.Remarks = append(c.Remarks, fmt.Sprintf("%s: water balance %s of the volume moved, air balance %s of the mass. The columns change their velocity over %s times the travel of a pressure wave; well above 1 the rigid column stands for the elastic one.", name, balanceText(d.Balance.WaterError), balanceText(d.Balance.AirError), significant(d.RigidIndex, 2)))
		}
	}
	if len(c.Parts) > 0 {
		c.printWorst()
		c.Cautions = append(c.Cautions, "Compressed air stores energy: fill slowly, stand clear of the valves, and never pressure-test with air.")
	}
	return c
}

// refillWords says how a filling ends.
func refillWords(d *refilling.Result) string {
	if d.Filled && d.TimeToFull == 0 && d.Water < 1e-3 {
		return "Nothing to fill: the line stands full."
	}
	s := upper(d.Status)
	if d.TimeToFull > 0 {
		s += " after " + durationText(d.TimeToFull)
	}
	s += fmt.Sprintf(": %s of water taken up", volumeText(d.Water))
	if d.Energy > 0 {
		s += ", " + significant(d.Energy, 3) + " kWh"
	}
	if d.Time > 1.02*d.TimeToFull {
		s += " in the " + durationText(d.Time) + " that it was followed"
	}
	s += "."
	if d.Slam > 0 {
		s += fmt.Sprintf(" Largest slam %s m", headText(d.Slam))
		if d.SlamAt != "" {
			s += " at " + d.SlamAt
		}
		for k := range d.Valves {
			if q := &d.Valves[k]; q.Name == d.SlamAt && q.LastAir {
				s += ", where the water before and beyond it runs at " + speeds(q)
			}
		}
		s += "."
	}
	if d.Trapped > 0 {
		s += " Air left behind: " + significant(d.Trapped, 2) + " kg."
	}
	return s
}

// lastAir is what each valve did while the line filled.
func (a *answers) lastAir(name string, d *refilling.Result) *table {
	t := &table{Caption: name + ": how the valves shut", Heads: heads(">No.", ">chainage", "shut by", ">after", ">air out|kg", ">largest pressure|kPa", ">water before it,|then beyond, m/s", ">slam|m", ">with nothing|passing, m", ">worst pressure|bar", ">of the rating|%")}
	for k := range d.Valves {
		q := &d.Valves[k]
		if q.Shut == refilling.WetBefore {
			continue
		}
		after, v, slam, sealed, worst, share := "–", "–", "–", "–", "–", "–"
		if q.Time > 0 {
			after = durationText(q.Time)
		}
		if q.LastAir {
			v = speeds(q)
			slam, sealed, worst = headText(q.Slam), headText(q.Sealed), fixed(q.Worst/1e5, 1)
			if q.HasRating {
				share = fixed(100*q.Share, 0)
			}
		}
		class := ""
		if q.LastAir && q.HasRating && q.Share > 1 || q.Shut == refilling.ByAir {
			class = "drips"
		}
		t.row(class, cellOf(a.no(q.Name)), cellOf(a.at(q.Run, q.Chainage)), cellOf(q.Shut.String()), cellOf(after), cellOf(some(q.AirOut, 2)), cellOf(some(q.Largest/1e3, 2)), cellOf(v), cellOf(slam), cellOf(sealed), cellOf(worst), cellOf(share))
	}
	return t
}

// startWords is the largest start in a sentence.
func startWords(s *refilling.Start) string {
	if s.Binds == refilling.CannotFill {
		return "the line does not fill even at the least start flow tried" + strings.TrimSuffix(leastTried(s), ",") + "."
	}
	if s.Flow <= 0 {
		t := "no start flow tried keeps every limit; the least" + leastTried(s) + " breaks that of " + s.Binds.String()
		if s.Where != "" {
			t += " at " + s.Where
		}
		return t + "."
	}
	t := "the largest start that keeps every limit is " + flowText(s.Flow)
	if s.Binds != refilling.NoLimit {
		t += "; what binds is " + s.Binds.String()
		if s.Where != "" {
			t += " at " + s.Where
		}
	}
	if s.Throttle > 0 {
		t += "; it must be throttled for " + durationText(s.Throttle)
	}
	if s.Gaps {
		t += ". Some larger flow keeps the limits again; it is not counted on"
	}
	return t + "."
}

// leastTried is the least start flow of a search, behind a comma.
func leastTried(s *refilling.Start) string {
	if len(s.Trials) == 0 {
		return ""
	}
	return ", " + flowText(s.Trials[0].Flow) + ","
}

// startTable is the search for the largest start.
func startTable(name string, s *refilling.Start) *table {
	t := &table{Caption: name + ": start flows tried", Heads: heads(">flow|L/s", ">slam|m", ">of the rating|%", ">pocket|kPa", ">air left|kg", ">full after", "breaks", "where")}
	for _, q := range s.Trials {
		var breaks []string
		for _, b := range q.Breaks {
			breaks = append(breaks, b.String())
		}
		full := "–"
		if q.Time > 0 {
			full = durationText(q.Time)
		}
		t.row("", cellOf(significant(q.Flow*1000, 3)), cellOf(headText(q.Slam)), cellOf(fixed(100*q.Share, 0)), cellOf(some(q.Pocket/1e3, 1)), cellOf(some(q.Air, 2)), cellOf(full), wide(dashed(strings.Join(breaks, ", "))), wide(q.Where))
	}
	return t
}

// days is the chapter of days.
func (a *answers) days() *chapter {
	c := &chapter{ID: "day", Head: "A day", Note: "Tanks fill and run down, pumps start and stop by their levels; energy by the tariff. Dear hours are grey."}
	for i := range a.Result.Days {
		d := &a.Result.Days[i]
		if d.Day < 0 || d.Day >= len(a.Line.Days) || len(d.Steps) == 0 || len(c.Parts) >= mostStrips {
			continue
		}
		q := a.day(d)
		c.add(q, upper(q.name), "", "Hour by hour", false)
		for _, n := range d.Notes {
			c.Remarks = append(c.Remarks, strings.TrimPrefix(n.Where+": "+sentence(n.Text), ": "))
		}
		if d.Balance > 0 {
			c.Remarks = append(c.Remarks, upper(q.name)+": water balance "+balanceText(d.Balance)+" of what came and went.")
		}
	}
	return c
}

// day is 24 hours as they are drawn.
func (a *answers) day(d *grade.DayResult) *day {
	q := &day{name: a.Line.Days[d.Day].Name}
	for k, t := range d.Tanks {
		if t.Fixed {
			continue
		}
		n := &a.Line.Nodes[t.Node]
		w := dayTank{name: n.Name, level: []pt{{0, t.Start}}}
		if n.Tank != nil {
			w.lo, w.hi = n.Tank.Lowest, n.Tank.Highest
		}
		for _, s := range d.Steps {
			if k < len(s.Level) {
				w.level = append(w.level, pt{s.To / 3600, s.Level[k]})
			}
		}
		q.tanks = append(q.tanks, w)
	}
	for k := range d.Stations {
		s := &d.Stations[k]
		for j := range s.Pumps {
			name := strings.TrimSpace(s.Pumps[j].Name)
			if len(d.Stations) > 1 || name == "" {
				name = strings.TrimPrefix(name+", "+a.Line.Nodes[s.Node].Name, ", ")
			}
			p := dayPump{name: name}
			for i := range d.Steps {
				t := &d.Steps[i]
				if k >= len(t.Running) || j >= len(t.Running[k]) || !t.Running[k][j] {
					continue
				}
				from, to := t.From/3600, t.To/3600
				if n := len(p.on); n > 0 && math.Abs(p.on[n-1][1]-from) < 1e-6 {
					p.on[n-1][1] = to
				} else {
					p.on = append(p.on, [2]float64{from, to})
				}
			}
			q.pumps = append(q.pumps, p)
		}
	}
	if len(q.pumps) > 0 {
		for _, s := range d.Steps {
			sum := 0.0
			for _, w := range s.Power {
				sum += w / 1e3
			}
			q.power = append(q.power, pt{s.From / 3600, sum}, pt{s.To / 3600, sum})
		}
	}
	a.dayTariff(q, d)
	a.dayWorst(q, d)
	q.sums = a.daySums(d)
	return q
}

// dayTariff adds the bands of the tariff, cut at midnight.
func (a *answers) dayTariff(q *day, d *grade.DayResult) {
	if !d.HasCost || len(q.power) == 0 {
		return
	}
	for _, b := range d.Bands {
		text := trimmed(b.Price)
		if b.From < b.To {
			q.bands = append(q.bands, dayBand{b.From, b.To, b.Price, text})
			continue
		}
		if b.To > 0 {
			q.bands = append(q.bands, dayBand{0, b.To, b.Price, text})
		}
		if b.From < 24 {
			q.bands = append(q.bands, dayBand{b.From, 24, b.Price, text})
		}
	}
	order := sortedBy(len(q.bands), func(i int) float64 { return q.bands[i].from })
	sorted := make([]dayBand, len(order))
	for k, i := range order {
		sorted[k] = q.bands[i]
	}
	q.bands, q.unit = sorted, strings.TrimSpace(currency(a.Line.Prices.Currency))
}

// dayWorst adds the valve that comes nearest to letting go, or falls furthest under it.
func (a *answers) dayWorst(q *day, d *grade.DayResult) {
	least := math.Inf(1)
	for _, w := range d.Valves {
		for i := range a.Sealing.Valves {
			s := &a.Sealing.Valves[i]
			if s.Run != w.Run || s.Placed != w.Placed || s.Record < 0 || s.LettingGoBound != valve.Measured {
				continue
			}
			high := s.Seat - s.Obvert
			if w.Greatest <= high { // it stands in air all day
				continue
			}
			if m := w.Least - high - s.LettingGo; m < least {
				least = m
				q.valve, q.needed, q.need = a.no(s.Name), s.LettingGo, "lets go at "+headText(s.LettingGo)+" m"
				q.head = []pt{{w.LeastAt / 3600, max(w.Least-high, 0)}, {w.GreatestAt / 3600, max(w.Greatest-high, 0)}}
			}
		}
	}
}

// daySums is what the day comes to.
func (a *answers) daySums(d *grade.DayResult) string {
	var s []string
	if d.Energy > 0 {
		s = append(s, significant(d.Energy, 3)+" kWh")
	}
	if d.HasCost {
		s = append(s, strings.TrimSpace(significant(d.Cost, 3)+" "+a.Line.Prices.Currency))
	}
	if d.HasCarbon {
		s = append(s, significant(d.Carbon, 3)+" kg of carbon")
	}
	if d.Delivered > 0 {
		s = append(s, significant(d.Delivered, 3)+" m³ delivered")
	}
	if d.Unmet > 0 {
		s = append(s, significant(d.Unmet, 3)+" m³ not delivered")
	}
	if d.Overflow > 0 {
		s = append(s, significant(d.Overflow, 3)+" m³ spilt")
	}
	return strings.Join(s, ", ")
}
