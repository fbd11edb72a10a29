package study

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"obvert/physics/valve"
	"obvert/quantity"
)

// pairs says of every two types whether they can be told apart. At one place the errors of datum, water level, roughness and seat are the same for both and cancel:
// what is left is the bench's, of each type by itself. Two types are told apart where their sealing heads, or their letting-go heads, differ by more than the expanded
// uncertainty of the difference, k·√(u_a² + u_b²) with a confidence of 95 % (JCGM 100:2008, 5.1.2, 6.2.1 and G.4.1).
func (c *Comparison) pairs() {
	for a := range c.Types {
		for b := a + 1; b < len(c.Types); b++ {
			p := ComparedPair{A: a, B: b, Same: c.same(a, b)}
			x, y := &c.Types[a], &c.Types[b]
			if y.Sealing < x.Sealing || y.Sealing == x.Sealing && y.Name < x.Name {
				x, y = y, x
			}
			c.tell(&p, x, y)
			c.Pairs = append(c.Pairs, p)
		}
	}
}

// same tells whether every valve is in the same state in every case with both.
func (c *Comparison) same(a, b int) bool {
	x, y := c.results[a].Sealing.Valves, c.results[b].Sealing.Valves
	for i := range x {
		for k := range x[i].Cells {
			if x[i].Cells[k].State != y[i].Cells[k].State {
				return false
			}
		}
	}
	return true
}

// tell judges two types, x the one with the lower sealing head.
func (c *Comparison) tell(p *ComparedPair, x, y *ComparedType) {
	site, rack := c.results[0].Line.Site, c.results[0].Line.Rack
	a, b := &rack[x.Record], &rack[y.Record]
	who := x.Name + " and " + y.Name
	on := " On this line they do the same: every valve is in the same state in every case."
	if !p.Same {
		on = ""
	}
	if x.SealingBound == valve.Unknown || y.SealingBound == valve.Unknown || x.SealingBound == valve.NotApplicable || y.SealingBound == valve.NotApplicable {
		p.Text = who + " cannot be told apart: a sealing head was not measured." + on
		return
	}
	d := y.Sealing - x.Sealing
	u := site.Head(expandedDifference(a.Sealing, b.Sealing))
	switch {
	case x.SealingBound == valve.Measured && y.SealingBound == valve.Measured:
		p.Difference, p.Expanded = d, u
		if p.Apart = d > u; p.Apart {
			p.Text = fmt.Sprintf("%s can be told apart: %s shuts at %s less, ±\u00a0%s (95\u00a0%%).%s", who, x.Name, m2(d), m3(u), on)
			return
		}
	case y.SealingBound == valve.MoreThan && x.SealingBound == valve.Measured, x.SealingBound == valve.LessThan && y.SealingBound == valve.Measured,
		x.SealingBound == valve.LessThan && y.SealingBound == valve.MoreThan:
		if p.Apart = d > u; p.Apart {
			p.Text = fmt.Sprintf("%s can be told apart: %s shuts at %s less at the least.%s", who, x.Name, m2(d), on)
			return
		}
	default:
		p.Text = who + " cannot be told apart: a sealing head is known by a bound only." + on
		return
	}
	if x.LettingGoBound == valve.Measured && y.LettingGoBound == valve.Measured {
		if g, v := math.Abs(y.LettingGo-x.LettingGo), site.Head(expandedDifference(a.LettingGo, b.LettingGo)); g > v {
			p.Apart = true
			p.Text = fmt.Sprintf("%s can be told apart by their letting-go heads alone: they differ by %s, ±\u00a0%s (95\u00a0%%).%s", who, m2(g), m3(v), on)
			return
		}
	}
	p.Text = fmt.Sprintf("%s cannot be told apart: their sealing heads differ by %s, and that is uncertain by ±\u00a0%s (95\u00a0%%).%s", who, m3(d), m3(u), on)
}

func m3(v float64) string { return quantity.Format(v, "m", 3) }

// pair is what is said of two types.
func (c *Comparison) pair(a, b int) *ComparedPair {
	for i := range c.Pairs {
		if p := &c.Pairs[i]; p.A == min(a, b) && p.B == max(a, b) {
			return p
		}
	}
	return nil
}

// contests are what types are the best at; a smaller figure is the better one.
var contests = []struct {
	of    string
	get   func(t *ComparedType) Measure
	shown func(c *Comparison, v float64) string
}{
	{"fewest valves that drip", func(t *ComparedType) Measure { return t.Dripping }, func(_ *Comparison, v float64) string { return none(v, quantity.Number(v, 0)) }},
	{"least leak at rest", func(t *ComparedType) Measure { return t.Leak }, func(_ *Comparison, v float64) string { return none(v, perHour(v)) }},
	{"shortest drained length", func(t *ComparedType) Measure { return t.Drained }, func(_ *Comparison, v float64) string { return none(v, metres(v)) }},
	{"smallest slam at restart", func(t *ComparedType) Measure { return t.Slam }, func(_ *Comparison, v float64) string { return none(v, quantity.Format(v, "m", 1)) }},
	{"fewest pit days", func(t *ComparedType) Measure { return t.PitDays }, func(_ *Comparison, v float64) string { return none(v, quantity.Number(v, 0)+" a year") }},
	{"fewest places short of air", airShort, func(_ *Comparison, v float64) string { return none(v, quantity.Number(v, 0)) }},
	{"smallest chance that any valve drips", func(t *ComparedType) Measure { return t.Chance }, func(_ *Comparison, v float64) string { return chanceWords(v) }},
	{"lowest price of a valve", func(t *ComparedType) Measure { return t.Price }, func(c *Comparison, v float64) string { return c.money(v) }},
	{"lowest whole-life cost", func(t *ComparedType) Measure { return t.Whole }, func(c *Comparison, v float64) string { return c.money(v) }},
}

// perHour is a leak in litres an hour, with three figures at most.
func perHour(v float64) string {
	const perHour = 3600e3
	if v*perHour >= 99.95 {
		return quantity.Grouped(v*perHour) + "\u00a0L/h"
	}
	return quantity.Format(v, "L/h", 1)
}

func metres(v float64) string { return quantity.Grouped(v) + "\u00a0m" }

func none(v float64, s string) string {
	if v == 0 {
		return "none"
	}
	return s
}

// airShort is at how many places a type passes too little air.
func airShort(t *ComparedType) Measure {
	m := known(float64(t.ShortIn+t.ShortOut+t.ShortSmall), "1")
	switch {
	case t.Sized == 0:
		return unknown("1", "no place was sized")
	case t.AirUnknown > 0:
		return atLeast(m.Value, "1", fmt.Sprintf("at %d places its record lacks a curve", t.AirUnknown))
	}
	return m
}

func chanceWords(p float64) string {
	switch {
	case p < 0.005:
		return "below 1 %"
	case p > 0.995:
		return "above 99 %"
	}
	return fmt.Sprintf("%.0f\u00a0%%", 100*p)
}

func (c *Comparison) money(v float64) string {
	return strings.TrimSuffix(quantity.Grouped(v)+"\u00a0"+c.Currency, "\u00a0")
}

// alike is the relative difference below which two figures are one.
const alike = 5e-4

// best finds who is best at what, by the stated figures alone.
func (c *Comparison) best() {
	for _, q := range contests {
		b := ComparedBest{Of: q.of}
		lowest := math.Inf(1)
		for i := range c.Types {
			if m := q.get(&c.Types[i]); m.Known {
				lowest = min(lowest, m.Value)
			}
		}
		for i := range c.Types {
			switch m := q.get(&c.Types[i]); {
			case m.Known && m.Value <= lowest+alike*math.Abs(lowest):
				b.Types = append(b.Types, i)
			case !m.Known && !(m.Least && m.Value > lowest):
				b.Unknown = append(b.Unknown, i)
			}
		}
		for i := range c.Types {
			if slices.Contains(b.Types, i) || slices.Contains(b.Unknown, i) || q.of == "lowest price of a valve" {
				continue
			}
			if slices.ContainsFunc(b.Types, func(t int) bool { p := c.pair(i, t); return p != nil && !p.Apart }) {
				b.Alike = append(b.Alike, i)
			}
		}
		switch {
		case len(b.Types) == 0:
			b.Text = upper(q.of) + ": not known of any."
		case len(b.Types) == len(c.Types):
			b.Text = fmt.Sprintf("%s: no difference, %s with each.", upper(q.of), q.shown(c, lowest))
		default:
			b.Text = fmt.Sprintf("%s: %s, %s.", upper(q.of), c.names(b.Types), q.shown(c, lowest))
		}
		if len(b.Alike) > 0 {
			b.Text += fmt.Sprintf(" By the heads measured %s cannot be told apart from that.", c.names(b.Alike))
		}
		if len(b.Unknown) > 0 && len(b.Types) > 0 {
			b.Text += " Not known: " + c.names(b.Unknown) + "."
		}
		c.Best = append(c.Best, b)
	}
}

// names lists types in words.
func (c *Comparison) names(of []int) string {
	var n []string
	for _, i := range of {
		n = append(n, c.Types[i].Name)
	}
	if len(n) < 2 {
		return strings.Join(n, "")
	}
	return strings.Join(n[:len(n)-1], ", ") + " and " + n[len(n)-1]
}

// where are the types for which something holds.
func (c *Comparison) where(ok func(t *ComparedType) bool) (of []int) {
	for i := range c.Types {
		if ok(&c.Types[i]) {
			of = append(of, i)
		}
	}
	return of
}

// answer writes the three sentences: who is tight, what the others leak and drain, what it costs.
func (c *Comparison) answer() {
	if len(c.Places) == 0 {
		c.Answer = []Sentence{{State: "empty", Lead: "No air valve stands on this line.", Rest: "There is nothing to compare."}}
		return
	}
	c.Answer = []Sentence{c.answerTight(), c.answerLeak(), c.answerMoney()}
}

func (c *Comparison) answerTight() Sentence {
	tight := c.where(func(t *ComparedType) bool { return t.Dripping.Known && t.Dripping.Value == 0 })
	var others []string
	for i := range c.Types {
		t := &c.Types[i]
		if slices.Contains(tight, i) {
			continue
		}
		text := fmt.Sprintf("%s drips at %.0f", t.Name, t.Dripping.Value)
		if len(others) > 0 {
			text = fmt.Sprintf("%s at %.0f", t.Name, t.Dripping.Value)
		}
		if t.Dripping.Least {
			if text += " or more"; t.Dripping.Value == 0 {
				text = "with " + t.Name + " it is not known of any"
			}
		}
		others = append(others, text)
	}
	n := fmt.Sprintf("the %d air valves", len(c.Places))
	if len(c.Places) == 1 && len(tight) < len(c.Types) {
		return c.answerOne(tight)
	}
	rest := strings.Join(others, ", ") + "."
	switch len(tight) {
	case 0:
		return Sentence{State: "drips", Lead: "With none of them is every valve held shut:", Rest: fmt.Sprintf("of %s %s.", n, strings.Join(others, ", "))}
	case len(c.Types):
		return Sentence{State: "tight", Lead: "With each of them no valve drips in any case;", Rest: "what is left to choose by is air, slam and price."}
	}
	verb := "drip"
	if len(tight) == 1 {
		verb = "drips"
	}
	return Sentence{State: "tight", Lead: fmt.Sprintf("%s %s nowhere.", c.names(tight), verb), Rest: fmt.Sprintf("Of %s %s", n, rest)}
}

// answerOne answers for a line with one valve, that not every type keeps from dripping.
func (c *Comparison) answerOne(tight []int) Sentence {
	verb := func(of []int, one, many string) string {
		if len(of) == 1 {
			return c.names(of) + " " + one
		}
		return c.names(of) + " " + many
	}
	drips := c.where(func(t *ComparedType) bool { return t.Dripping.Value > 0 })
	doubt := c.where(func(t *ComparedType) bool { return !t.Dripping.Known && t.Dripping.Value == 0 })
	var parts []string
	if len(drips) > 0 {
		parts = append(parts, verb(drips, "drips", "drip"))
	}
	if len(doubt) > 0 {
		parts = append(parts, "of "+c.names(doubt)+" it is not known")
	}
	rest := strings.Join(parts, ", ") + "."
	if len(tight) == 0 {
		return Sentence{State: "drips", Lead: "With none of them is the valve known to be held shut:", Rest: rest}
	}
	return Sentence{State: "tight", Lead: verb(tight, "does", "do") + " not drip.", Rest: upper(rest)}
}

func (c *Comparison) answerLeak() Sentence {
	worst := -1
	for i := range c.Types {
		if m := &c.Types[i].Leak; (m.Known || m.Least) && (worst < 0 || m.Value > c.Types[worst].Leak.Value) {
			worst = i
		}
	}
	if worst < 0 {
		return Sentence{State: "empty", Lead: "What leaks at rest is not known:", Rest: sentence(c.Types[0].Leak.Why)}
	}
	t := &c.Types[worst]
	if t.Leak.Value == 0 {
		s := Sentence{State: "tight", Lead: "At rest none of them is known to leak.", Rest: "No pipe is drained, and no restart meets air that leaks let in."}
		if !t.Leak.Known {
			s = Sentence{State: "empty", Lead: "What leaks at rest is not known of all of them:", Rest: sentence(t.Leak.Why)}
		}
		return s
	}
	more := ""
	if t.Leak.Least {
		more = " or more"
	}
	s := Sentence{State: "drips", Lead: fmt.Sprintf("%s leaks most at rest, %s%s;", t.Name, perHour(t.Leak.Value), more)}
	switch {
	case t.Drained.Value >= 1 && t.Stops.Known:
		s.Rest = fmt.Sprintf("left alone, %s of pipe hold air after %s", metres(t.Drained.Value), quantity.Duration(t.Stops.Value))
	case !t.Drained.Known && !t.Drained.Least:
		s.Rest = "what that drains is not known"
	case t.Drained.Value >= 1:
		s.Rest = fmt.Sprintf("left alone, %s of pipe come to hold air", metres(t.Drained.Value))
	default:
		s.Rest = "no pipe that was full comes to hold air"
	}
	if t.Slam.Known && t.Slam.Value > 0.5 {
		s.Rest += fmt.Sprintf(", and the restart slams %s by %s", t.SlamAt, quantity.Format(t.Slam.Value, "m", 0))
	}
	s.Rest += "."
	if dry := c.where(func(t *ComparedType) bool { return t.Leak.Known && t.Leak.Value == 0 }); len(dry) > 0 {
		verb := "leak"
		if len(dry) == 1 {
			verb = "leaks"
		}
		s.Rest += fmt.Sprintf(" %s %s nothing.", c.names(dry), verb)
	}
	return s
}

func (c *Comparison) answerMoney() Sentence {
	rank := c.where(func(t *ComparedType) bool { return t.Whole.Known })
	slices.SortStableFunc(rank, func(a, b int) int {
		x, y := c.Types[a].Whole.Value, c.Types[b].Whole.Value
		if x < y {
			return -1
		}
		if x > y {
			return 1
		}
		return 0
	})
	alikes := c.alikes()
	if len(rank) == 0 {
		return Sentence{State: "not known", Lead: "What each costs over its life is not known:", Rest: strings.TrimSpace(sentence(c.Types[0].Whole.Why) + alikes)}
	}
	first := &c.Types[rank[0]]
	s := Sentence{State: "not known", Lead: fmt.Sprintf("Over %.0f years %s costs least, %s bought and kept as it leaks;", c.Years, first.Name, c.money(first.Whole.Value))}
	switch {
	case first.Dripping.Known && first.Dripping.Value > 0:
		s.State = "drips"
	case first.Dripping.Known:
		s.State, s.Lead = "tight", fmt.Sprintf("Over %.0f years %s costs least, %s;", c.Years, first.Name, c.money(first.Whole.Value))
	}
	if len(rank) > 1 {
		s.Rest = fmt.Sprintf("the next, %s, %s more.", c.Types[rank[1]].Name, c.money(c.Types[rank[1]].Whole.Value-first.Whole.Value))
	} else {
		s.Rest = "of the others it is not known."
	}
	s.Rest += alikes
	return s
}

// alikes names the pairs that cannot be told apart.
func (c *Comparison) alikes() string {
	var out []string
	for _, p := range c.Pairs {
		if !p.Apart {
			out = append(out, c.names([]int{p.A, p.B}))
		}
	}
	if out == nil {
		return ""
	}
	return " Within their uncertainty these cannot be told apart: " + strings.Join(out, "; ") + "."
}

// remark says how the figures are counted.
func (c *Comparison) remark() {
	r := c.results[0]
	s := &solver{l: r.Line, res: r}
	c.Remarks = append(c.Remarks,
		"Each type stands at every place, with all else as it is. Two types see the same water: the errors of datum, level, roughness and seat are common to both and cancel in their difference; what is left is the bench's (JCGM 100:2008).",
		"Leak: that of all valves at the levels at which the line comes to rest, in the standing case that leaks most. Draining: the line left alone in the standing case that drains most.")
	var cases []string
	for i, k := range c.StandingCases {
		if s.daily(i) {
			cases = append(cases, fmt.Sprintf("%s in %s", quantity.Format(s.secondsStanding(k), "h", 1), s.quoted(k)))
		}
	}
	if len(cases) > 0 {
		c.Remarks = append(c.Remarks, fmt.Sprintf("Pit days: the %.0f days of operation a year, once for every pit that receives water within a day's standing: %s. Standing cases without hours are extremes, of which no day is made. Leaks while the line flows are not in them.",
			c.Days, strings.Join(cases, " and ")))
	}
	c.Remarks = append(c.Remarks,
		fmt.Sprintf("Whole-life cost: one valve bought for each place at its record's price, and over %.0f years at %.1f %% a year what leaks, refilling, visits and repairs cost. The pumps' usual work and the labour of putting valves in are the same for all, and left out.", c.Years, 100*c.Rate),
		"Energy to hold shut: the least of sustaining valve, higher terminal level and larger pumps that holds every valve with this type in its place. What stands open while the line flows is counted apart from what drips.")
}
