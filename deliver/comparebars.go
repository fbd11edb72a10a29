package deliver

import (
	"fmt"
	"math"
	"strings"

	"obvert/quantity"
	"obvert/study"
)

// comparedBars are the figures of the types as small multiples: a panel for each figure, a bar for each type, all with one edge.
type comparedBars struct {
	c      *study.Comparison
	panels []comparedPanel
}

// comparedPanel is one figure of all types.
type comparedPanel struct {
	head, unit string
	values     []study.Measure // by type
	scale      float64         // shown units in one of the measure
	show       func(float64) string
	limit      float64 // in shown units; 0 for none
	limitText  string
}

const perHour = 3600e3 // L/h in m³/s

func newComparedBars(c *study.Comparison) *comparedBars {
	b := &comparedBars{c: c}
	add := func(head, unit string, scale float64, get func(*study.ComparedType) study.Measure, show func(float64) string) *comparedPanel {
		p := comparedPanel{head: head, unit: unit, scale: scale, show: show}
		for i := range c.Types {
			p.values = append(p.values, get(&c.Types[i]))
		}
		b.panels = append(b.panels, p)
		return &b.panels[len(b.panels)-1]
	}
	add("Leak at rest", "L/h", perHour, func(t *study.ComparedType) study.Measure { return t.Leak }, threeFigures)
	add("Drained length, left alone", "m", 1, func(t *study.ComparedType) study.Measure { return t.Drained }, grouped)
	slam := add("Slam at restart", "m", 1, func(t *study.ComparedType) study.Measure { return t.Slam }, threeFigures)
	if limit := c.Results()[0].Line.Practice.Slam.Value; limit > 0 {
		slam.limit, slam.limitText = limit, "limit "+trimmed(limit)+" m"
	}
	add("Pit days a year", "", 1, func(t *study.ComparedType) study.Measure { return t.PitDays }, grouped)
	add("Energy to hold shut what drips, a year", "kWh", 1, func(t *study.ComparedType) study.Measure { return t.Hold }, grouped)
	add(fmt.Sprintf("Whole-life cost, %.0f years", c.Years), c.Currency, 1, func(t *study.ComparedType) study.Measure { return t.Whole }, grouped)
	return b
}

// threeFigures writes a figure with three significant digits at most.
func threeFigures(v float64) string {
	if math.Abs(v) >= 99.95 {
		return grouped(v)
	}
	return trimmed(v)
}

const barHigh, barRow = 15.0, 26.0

func (b *comparedBars) draw(f form, id string) []*canvas {
	n := len(b.c.Types)
	high := 34 + barRow*float64(n) + 26
	out := tile(f, id, len(b.panels), 340, high, 40, 3, func(c *canvas, i int, x, y, w float64) { b.panel(c, &b.panels[i], x, y, w) })
	for _, c := range out {
		c.title = "Figures of the types compared, a bar for each"
		c.desc = b.words()
	}
	return out
}

// panel draws one figure: the name at the left, the bar, the figure at its end.
func (b *comparedBars) panel(c *canvas, p *comparedPanel, x, y, w float64) {
	head := p.head
	if p.unit != "" {
		head += ", " + p.unit
	}
	c.text(x, y+15, shorten(faceHead, head, w), faceHead, setting{})
	names, figures := 0.0, 0.0
	text := make([]string, len(p.values))
	top := p.limit
	for i := range p.values {
		names = max(names, faceLabel.width(b.c.Types[i].Name))
		text[i] = p.figure(&p.values[i])
		figures = max(figures, faceLabelB.width(text[i]))
		if m := &p.values[i]; m.Known || m.Least {
			top = max(top, m.Value*p.scale)
		}
	}
	names = min(names, w*0.36)
	x0 := x + names + 10
	room := w - names - 10 - figures - 8
	at := func(v float64) float64 { return x0 + max(v, 0)/max(top, 1e-300)*room }
	y += 24
	for i := range p.values {
		m := &p.values[i]
		yy := y + barRow*float64(i) + 4
		c.text(x0-10, yy+barHigh-3, shorten(faceLabel, b.c.Types[i].Name, names), faceLabel, setting{at: end})
		end := x0
		if (m.Known || m.Least) && top > 0 {
			end = at(m.Value * p.scale)
			if m.Value > 0 {
				k := fillBlue
				if m.Least {
					k = fillSlant
				}
				c.b.WriteString(k.shape(x0, yy, end-x0, barHigh))
			}
		}
		f := faceLabelB
		if !m.Known && !m.Least {
			f = faceNote
		}
		c.text(end+7, yy+barHigh-3, shorten(f, text[i], x+w-end-7), f, setting{})
	}
	foot := y + barRow*float64(len(p.values)) + 4
	c.line("hair2", x0, y, x0, foot)
	if p.limit > 0 {
		c.line("limit", at(p.limit), y, at(p.limit), foot)
		at := min(at(p.limit), x+w-faceNote.width(p.limitText))
		c.text(max(at-faceNote.width(p.limitText)/2, x), foot+13, p.limitText, faceNote, setting{})
	}
}

// figure is a measure in the panel's unit.
func (p *comparedPanel) figure(m *study.Measure) string {
	switch {
	case m.Known:
		return p.show(m.Value * p.scale)
	case m.Least:
		return "≥ " + p.show(m.Value*p.scale)
	}
	return "not known"
}

func (b *comparedBars) words() string {
	var s strings.Builder
	for i := range b.panels {
		p := &b.panels[i]
		fmt.Fprintf(&s, "%s:", p.head)
		for k := range p.values {
			fmt.Fprintf(&s, " %s %s;", b.c.Types[k].Name, strings.TrimSpace(p.figure(&p.values[k])+" "+p.unit))
		}
		s.WriteByte(' ')
	}
	return strings.TrimSpace(s.String())
}

// stopsText is a time until it stops, a dash where nothing ran.
func stopsText(v float64) string {
	if v == 0 {
		return "–"
	}
	return quantity.Duration(v)
}

// measured are all figures of a type, as the table holds them: a head with its unit, and how a figure is shown.
var measured = []struct {
	head  string
	scale float64
	get   func(t *study.ComparedType) study.Measure
	show  func(float64) string
}{
	{"valves that drip in some case", 1, func(t *study.ComparedType) study.Measure { return t.Dripping }, grouped},
	{"leak at rest, L/h", perHour, func(t *study.ComparedType) study.Measure { return t.Leak }, threeFigures},
	{"leak in a day's standing, m³", 1, func(t *study.ComparedType) study.Measure { return t.PerDay }, threeFigures},
	{"lost, left alone, m³", 1, func(t *study.ComparedType) study.Measure { return t.Lost }, threeFigures},
	{"drained length, left alone, m", 1, func(t *study.ComparedType) study.Measure { return t.Drained }, grouped},
	{"until it stops", 1, func(t *study.ComparedType) study.Measure { return t.Stops }, stopsText},
	{"slam at restart, m", 1, func(t *study.ComparedType) study.Measure { return t.Slam }, threeFigures},
	{"of the pipe's rating, %", 100, func(t *study.ComparedType) study.Measure { return t.Share }, threeFigures},
	{"air trapped after restart, kg", 1, func(t *study.ComparedType) study.Measure { return t.Trapped }, threeFigures},
	{"largest start flow, L/s", 1000, func(t *study.ComparedType) study.Measure { return t.Start }, threeFigures},
	{"pit days a year", 1, func(t *study.ComparedType) study.Measure { return t.PitDays }, grouped},
	{"water lost a year, m³", 1, func(t *study.ComparedType) study.Measure { return t.Water }, threeFigures},
	{"visits to pits a year", 1, func(t *study.ComparedType) study.Measure { return t.Callouts }, threeFigures},
	{"energy to refill and pump again a year, kWh", 1, func(t *study.ComparedType) study.Measure { return t.Refill }, grouped},
	{"energy to hold shut what drips a year, kWh", 1, func(t *study.ComparedType) study.Measure { return t.Hold }, grouped},
	{"energy to hold shut what stands open a year, kWh", 1, func(t *study.ComparedType) study.Measure { return t.HoldOpen }, grouped},
	{"chance that any valve drips, %", 100, func(t *study.ComparedType) study.Measure { return t.Chance }, func(v float64) string { return chanceText(v / 100) }},
	{"price of a valve, …", 1, func(t *study.ComparedType) study.Measure { return t.Price }, grouped},
	{"bought for every place, …", 1, func(t *study.ComparedType) study.Measure { return t.Bought }, grouped},
	{"cost a year of keeping it, …", 1, func(t *study.ComparedType) study.Measure { return t.Yearly }, grouped},
	{"present value of that, …", 1, func(t *study.ComparedType) study.Measure { return t.Running }, grouped},
	{"bought and kept, whole life, …", 1, func(t *study.ComparedType) study.Measure { return t.Whole }, grouped},
}

// twin is every figure of every type, the types side by side.
func (b *comparedBars) twin() *plainTable {
	t := &plainTable{Caption: "All figures, type by type", Heads: []string{"figure"}}
	for i := range b.c.Types {
		t.Heads = append(t.Heads, b.c.Types[i].Name)
	}
	heads := []string{"sealing head, letting-go head, m"}
	for i := range b.c.Types {
		heads = append(heads, comparedFigure(&b.c.Types[i]))
	}
	t.Rows = append(t.Rows, heads)
	for _, q := range measured {
		row := []string{strings.ReplaceAll(q.head, "…", b.c.Currency)}
		for i := range b.c.Types {
			m := q.get(&b.c.Types[i])
			p := comparedPanel{scale: q.scale, show: q.show}
			row = append(row, p.figure(&m))
		}
		t.Rows = append(t.Rows, row)
	}
	air := []string{"places short of air: in, out, released; not judged"}
	for i := range b.c.Types {
		q := &b.c.Types[i]
		air = append(air, fmt.Sprintf("%d, %d, %d; %d of %d", q.ShortIn, q.ShortOut, q.ShortSmall, q.AirUnknown, q.Sized))
	}
	t.Rows = append(t.Rows, air)
	return t
}
