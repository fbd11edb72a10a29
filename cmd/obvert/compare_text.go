package main

import (
	"fmt"
	"strings"

	"obvert/physics/valve"
	"obvert/quantity"
	"obvert/study"
)

// compared writes the answer, the figures of each type, the valves' states by case, and who is best at what.
func (c *console) compared(all *study.Comparison) {
	c.answer(all.Answer)
	c.line()
	c.comparedBench(all)
	c.line()
	c.comparedWater(all)
	c.line()
	c.comparedMoney(all)
	c.comparedCases(all)
	c.comparedPlaces(all)
	c.line()
	for _, b := range all.Best {
		c.line(wrap(b.Text, c.width, 2))
	}
	for _, p := range all.Pairs {
		if !p.Apart {
			c.line(wrap(p.Text, c.width, 2))
		}
	}
	c.comparedFails(all)
	c.line()
	for _, r := range all.Remarks {
		c.line(wrap(r, c.width, 2))
	}
}

// comparedBench writes what the bench knows of each type, and its price.
func (c *console) comparedBench(all *study.Comparison) {
	t := table{head: []string{"type at every place", "shuts, m", "lets go, m", "any drips", "price"}}
	for i := range all.Types {
		q := &all.Types[i]
		chance := measureText(q.Chance, func(p float64) string { return percentText(max(p, 1e-6)) }) // no draw proves that it never drips
		t.rows = append(t.rows, []string{q.Name, comparedHead(q.SealingBound, q.Sealing, q.SealingExpanded),
			comparedHead(q.LettingGoBound, q.LettingGo, q.LettingGoExpanded), chance, moneyText(q.Price)})
	}
	t.print(c)
	c.line(wrap("Heads at the seat in metres of the line's water; ± is the expanded uncertainty of the valve's mean (95 %).", c.width, 0))
}

// comparedWater writes what leaks, drains and strikes.
func (c *console) comparedWater(all *study.Comparison) {
	t := table{head: []string{"type", "drip", "leak, L/h", "a day, m³", "pit days a year", "short of air"}}
	for i := range all.Types {
		q := &all.Types[i]
		t.rows = append(t.rows, []string{q.Name, measureText(q.Dripping, whole), measureText(q.Leak, in("L/h", 1)), measureText(q.PerDay, in("m³", 2)),
			measureText(q.PitDays, whole), airText(q)})
	}
	t.print(c)
	c.line()
	t = table{head: []string{"type", "lost, m³", "drained, m", "until it stops", "slam, m", "of rating", "start, L/s"}}
	for i := range all.Types {
		q := &all.Types[i]
		t.rows = append(t.rows, []string{q.Name, measureText(q.Lost, in("m³", 1)), measureText(q.Drained, whole),
			measureText(q.Stops, stopsText), measureText(q.Slam, in("m", 1)), measureText(q.Share, percentText), measureText(q.Start, in("L/s", 1))})
	}
	t.print(c)
	c.line(wrap("Lost, drained: the line left alone in its worst standing case. Slam: at the restart. Start: the largest flow that keeps every limit. – not known, ≥ at least.", c.width, 0))
}

// comparedMoney writes what holding and keeping each type takes.
func (c *console) comparedMoney(all *study.Comparison) {
	t := table{head: []string{"type", "water, m³/a", "visits/a", "to hold shut, kWh/a", "cost a year", "bought", fmt.Sprintf("in %.0f years", all.Years)}}
	for i := range all.Types {
		q := &all.Types[i]
		t.rows = append(t.rows, []string{q.Name, measureText(q.Water, in("m³", 1)), measureText(q.Callouts, whole), measureText(q.Hold, whole), moneyText(q.Yearly), moneyText(q.Bought), moneyText(q.Whole)})
	}
	t.print(c)
}

// measureText is a figure, "≥" before a least one, "–" where none is known.
func measureText(m study.Measure, show func(float64) string) string {
	switch {
	case m.Known:
		return show(m.Value)
	case m.Least:
		if s := show(m.Value); strings.HasPrefix(s, ">") {
			return s
		}
		return "≥\u00a0" + show(m.Value)
	}
	return "–"
}

func whole(v float64) string { return quantity.Grouped(v) }

// in shows a figure in a unit, without the unit.
func in(unit string, decimals int) func(float64) string {
	return func(v float64) string {
		if x, err := quantity.To(v, unit); err == nil {
			if x >= 99.95 {
				return quantity.Grouped(x)
			}
			if s := quantity.Number(x, decimals); v == 0 || strings.Trim(s, "0.") != "" {
				return strings.TrimSuffix(s, "."+strings.Repeat("0", decimals))
			}
			return "<\u00a0" + quantity.Number(fraction(decimals), decimals)
		}
		return quantity.Number(v, decimals)
	}
}

// fraction is the least figure that some decimals show.
func fraction(decimals int) float64 {
	f := 1.0
	for range decimals {
		f /= 10
	}
	return f
}

func stopsText(v float64) string {
	if v == 0 {
		return "–"
	}
	return quantity.Duration(v)
}

func percentText(p float64) string {
	switch {
	case p == 0:
		return "0"
	case p < 0.005:
		return "<\u00a01\u00a0%"
	case p > 0.995:
		return ">\u00a099\u00a0%"
	}
	return fmt.Sprintf("%.0f\u00a0%%", 100*p)
}

func moneyText(m study.Measure) string {
	s := measureText(m, quantity.Grouped)
	if s == "–" || m.Unit == "" {
		return s
	}
	return s + "\u00a0" + m.Unit
}

// airText counts the places that get too little air.
func airText(q *study.ComparedType) string {
	var parts []string
	for _, p := range []struct {
		n    int
		word string
	}{{q.ShortIn, "in"}, {q.ShortOut, "out"}, {q.ShortSmall, "small"}, {q.AirUnknown, "not known"}} {
		if p.n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", p.n, p.word))
		}
	}
	if len(parts) == 0 {
		return "none"
	}
	return strings.Join(parts, ", ")
}

// comparedHead is a threshold with its bound or uncertainty.
func comparedHead(b valve.Bound, head, expanded float64) string {
	h := quantity.Number(head, 2)
	switch b {
	case valve.Measured:
		if expanded > 0 {
			return h + "\u00a0±\u00a0" + quantity.Number(expanded, 2)
		}
		return h
	case valve.MoreThan:
		return ">\u00a0" + h
	case valve.LessThan:
		return "<\u00a0" + h
	case valve.NotApplicable:
		return "n/a"
	}
	return "not measured"
}

// comparedCases writes how many valves are in which state, by type and case.
func (c *console) comparedCases(all *study.Comparison) {
	const cell = 12 // columns of a case and its gutter
	side := max(1, (c.width-16)/cell)
	for from := 0; from < len(all.Cases); from += side {
		to := min(from+side, len(all.Cases))
		t := table{head: append([]string{"type"}, all.Cases[from:to]...)}
		for i := range all.Types {
			row := []string{all.Types[i].Name}
			for k := from; k < to; k++ {
				row = append(row, tally(all.Types[i].Counts[k]))
			}
			t.rows = append(t.rows, row)
		}
		c.line()
		t.print(c)
	}
}

// tally writes the states of all valves in a case: "3 tight, 2 drip".
func tally(n study.StateCount) string {
	var parts []string
	for _, p := range []struct {
		n         int
		one, many string
	}{{n.Tight, "tight", "tight"}, {n.Drips, "drips", "drip"}, {n.Open, "open", "open"}, {n.Empty, "empty", "empty"}, {n.Unknown, "not known", "not known"}} {
		word := p.many
		if p.n == 1 {
			word = p.one
		}
		if p.n > 0 {
			parts = append(parts, fmt.Sprintf("%d\u00a0%s", p.n, word))
		}
	}
	if len(parts) == 0 {
		return "–"
	}
	return strings.Join(parts, ", ")
}

// mostPlaces is how many places are written one by one; on a longer line the places of a mixed set are counted.
const mostPlaces = 20

// comparedPlaces writes which types are tight at each place, and which would stand there in a mixed set.
func (c *console) comparedPlaces(all *study.Comparison) {
	if len(all.Places) == 0 {
		return
	}
	c.line()
	if len(all.Places) > mostPlaces {
		counts := make([]int, len(all.Types))
		none := 0
		for i := range all.Places {
			if b := all.Places[i].Best; b >= 0 {
				counts[b]++
			} else {
				none++
			}
		}
		var parts []string
		for i, n := range counts {
			if n > 0 {
				parts = append(parts, fmt.Sprintf("%s at %d", all.Types[i].Name, n))
			}
		}
		if none > 0 {
			parts = append(parts, fmt.Sprintf("none at %d", none))
		}
		c.line(wrap("Mixed, the cheapest that is tight and large enough: "+strings.Join(parts, ", ")+".", c.width, 2))
		return
	}
	t := table{head: []string{"valve", "least head, m", "tight in every case", "mixed set"}}
	for i := range all.Places {
		p := &all.Places[i]
		var tight []string
		for k := range p.Cells {
			if p.Cells[k].All {
				tight = append(tight, all.Types[k].Name)
			}
		}
		row := []string{p.Valve, "–", "none", p.Why}
		if len(p.Heads) > 0 {
			row[1] = quantity.Number(p.Lowest, 2)
		}
		if len(tight) > 0 {
			row[2] = strings.Join(tight, ", ")
		}
		if p.Best >= 0 {
			row[3] = all.Types[p.Best].Name
		}
		t.rows = append(t.rows, row)
	}
	t.print(c)
	c.line(wrap("Least head: at the seat, over the standing cases. Mixed set: the cheapest of these types that is tight in every case and large enough for its air.", c.width, 0))
}

// comparedFails writes which requirement each type fails.
func (c *console) comparedFails(all *study.Comparison) {
	c.line()
	for i := range all.Types {
		q := &all.Types[i]
		var parts []string
		for _, f := range q.Fails {
			if f.Every {
				parts = append(parts, f.Text+" (with every type)")
			} else {
				parts = append(parts, f.Text)
			}
		}
		text := "fails nothing"
		if len(parts) > 0 {
			text = strings.Join(parts, "; ")
		}
		c.line(wrap(q.Name+": "+text+".", c.width, 2))
	}
}
