package deliver

import (
	"fmt"
	"html/template"
	"math"
	"sort"
	"strings"

	"obvert/engine/costing"
	"obvert/engine/sealing"
)

// icon is a mark as HTML for a table's cell or a key.
func icon(m mark) template.HTML { return template.HTML(m.icon()) }

// waysOut is the chapter of the ways out of dripping: side by side, and what would change their order.
func (a *answers) waysOut() *chapter { return waysOf(a.Ways, "ways", "The ways out, side by side") }

// holding is the same of valves that stand open where the flowing line breaks.
func (a *answers) holding() *chapter {
	return waysOf(a.Holding, "holding", "Holding open valves shut, side by side")
}

func waysOf(w *costing.Comparison, id, head string) *chapter {
	if w == nil || len(w.Ways) == 0 {
		return nil
	}
	money := currency(w.Currency)
	c := &chapter{ID: id, Head: head, Note: fmt.Sprintf("Present value over %s years at %s %% a year, %s m³ a day delivered in each; energy and carbon are what a way takes above the line as it runs now, and may save.", trimmed(w.Years), trimmed(100*w.Rate), significant(w.Volume, 3))}
	bars := waysView(w)
	some := *bars
	some.rows = nil
	not := &table{Caption: "Ways that are not possible", Heads: heads("way", "because")}
	var byReason grouping
	for _, r := range bars.rows {
		if r.why == "" {
			some.rows = append(some.rows, r)
		} else {
			byReason.add(r.why, r.name)
		}
	}
	for _, why := range byReason.texts {
		not.row("", tableCell{Text: strings.Join(byReason.of[why], "; "), Class: "w"}, tableCell{Text: why, Class: "w"})
	}
	var left int
	some.rows, left = firstRows(some.rows, most)
	note := ""
	if left > 0 {
		note = upper(counted(left, "further way is", "further ways are")) + " in the table."
	}
	if some.flat() { // bars of no length say nothing
		c.table(some.table(money))
	} else {
		for _, p := range wayParts {
			c.Key = append(c.Key, p.fill.key(p.name))
		}
		c.add(tableOf{&some, bars.twin()}, "", note, "The sums", left > 0)
	}
	if t := tornadoView(w); t != nil {
		head := "What would change the order"
		note := fmt.Sprintf("Each bar is one input over its range, all else as reckoned: the cost of “%s” less that of “%s”, %s. Diamond: the order changes within the range.", t.best, t.second, money)
		if t.steady() {
			note += " No input changes the order within its range."
		}
		c.add(t, head, note, "The inputs", false)
	}
	c.table(not)
	for _, s := range w.Assumed {
		c.Remarks = append(c.Remarks, sentence(upper(s)))
	}
	for _, n := range w.Notes {
		c.Remarks = append(c.Remarks, sentence(upper(n.Text)))
	}
	return c
}

// firstRows are the first n rows, and how many are left.
func firstRows(rows []wayRow, n int) ([]wayRow, int) {
	if len(rows) <= n {
		return rows, 0
	}
	return rows[:n], len(rows) - n
}

// waysView is a comparison as it is drawn: the cheapest first, then what has no price, then what is not possible.
func waysView(w *costing.Comparison) *ways {
	v := &ways{name: w.Name, currency: currency(w.Currency), breakEven: w.BreakEven.Text}
	order := make([]int, len(w.Ways))
	for i := range order {
		order[i] = i
	}
	rank := func(q *costing.Way) int {
		switch {
		case !q.Possible:
			return 1 << 20
		case q.Order == 0:
			return 1 << 19
		}
		return q.Order
	}
	sort.SliceStable(order, func(i, j int) bool { return rank(&w.Ways[order[i]]) < rank(&w.Ways[order[j]]) })
	for _, i := range order {
		q := &w.Ways[i]
		r := wayRow{name: q.Name, note: q.Tried, best: i == w.Best}
		switch {
		case !q.Possible:
			r.why = q.Why
			if r.why == "" {
				r.why = "the hydraulics do not allow it"
			}
		case !q.Priced:
			if r.notPriced = q.NotPriced; len(r.notPriced) == 0 {
				r.notPriced = []string{"its price"}
			}
		}
		if q.Possible {
			y := &q.Year
			r.parts = [...]float64{q.Investment, w.Factor * y.EnergyCost, w.Factor * y.WaterCost, w.Factor * y.CalloutFee, w.Factor * y.RepairCost, w.Factor * y.CarbonCost}
		}
		v.rows = append(v.rows, r)
	}
	return v
}

// tornadoView is the tornado of a comparison, nil where there are not two ways in the order.
func tornadoView(w *costing.Comparison) *tornado {
	if w.Best < 0 || w.Second < 0 || len(w.Tornado) == 0 {
		return nil
	}
	best, second := &w.Ways[w.Best], &w.Ways[w.Second]
	t := &tornado{name: w.Name, currency: currency(w.Currency), best: best.Name, second: second.Name, base: best.PresentValue - second.PresentValue}
	for _, b := range w.Tornado {
		if len(t.bars) == most || math.Abs(b.Swing) < 1e-3*math.Abs(t.base) && !b.InRange {
			continue
		}
		scale, unit := 1.0, b.Unit
		switch {
		case b.Lever == costing.DiscountRate || b.Lever == costing.PumpEfficiency:
			scale, unit = 100, "%"
		case unit == "1":
			unit = ""
		}
		r := tornadoBar{name: upper(b.Name), unit: unit, value: scale * b.Value, low: scale * b.Low, high: scale * b.High, atLow: b.AtLow, atHigh: b.AtHigh, inRange: b.Turns && b.InRange, turnValue: scale * b.Turn}
		if b.Turns {
			r.turn = b.Text
			if r.turn == "" {
				r.turn = strings.TrimSpace("turns at " + trimmed(scale*b.Turn) + " " + unit)
			}
		}
		t.bars = append(t.bars, r)
	}
	if len(t.bars) == 0 {
		return nil
	}
	return t
}

// matters is the chapter of chances and of the inputs they come from.
func (a *answers) matters() *chapter {
	d := &a.Drawn
	if d.N == 0 || len(d.Valves) == 0 {
		return nil
	}
	c := &chapter{ID: "matters", Head: "How sure, and what matters", Note: fmt.Sprintf("From %s draws, seed %d; ± is the standard error of the drawing. Shares are of the variance of each valve's margin, in the case in which it is likeliest to drip.", grouped(float64(d.N)), d.Seed)}
	all := &shares{}
	for k := range sealing.Sources {
		all.inputs = append(all.inputs, sealing.Source(k).String())
	}
	for i := range d.Valves {
		if row, ok := a.shareRow(i); ok {
			all.rows = append(all.rows, row)
		}
	}
	chances := &odds{}
	for i := range d.Any {
		chances.rows = append(chances.rows, oddsRow{a.caseNamed(i), d.Any[i].Drips.P, d.Any[i].Drips.Error})
	}
	chances.rows = append(chances.rows, oddsRow{"in any of them", d.Ever.Drips.P, d.Ever.Drips.Error})
	c.add(chances, "That any valve drips", "", "", false)
	some := &shares{inputs: all.inputs}
	var left int
	some.rows, left = worstFirst(all.rows, most, func(r *shareRow) float64 { return -r.chance })
	if len(some.rows) > 0 {
		note := ""
		if left > 0 {
			note = fmt.Sprintf("The %d valves likeliest to drip are drawn; %s in the table.", len(some.rows), counted(left, "more is", "more are"))
		}
		c.Key = all.key()
		c.add(tableOf{some, all.twin()}, "Valve by valve", note, "Every valve", left > 0)
	}
	if t := a.indices(); t != nil {
		c.table(t)
	}
	for _, n := range d.Notes {
		c.Remarks = append(c.Remarks, sentence(upper(n.Text)))
	}
	return c
}

// shareRow is a valve in the case in which it is likeliest to drip, of those in which it has a margin.
func (a *answers) shareRow(i int) (row shareRow, ok bool) {
	v := &a.Drawn.Valves[i]
	best, chance := -1, -1.0
	for k := range v.Cells {
		sum := 0.0
		for _, s := range v.Cells[k].Shares {
			sum += s
		}
		if p := v.Cells[k].Drips.P; sum > 0 && p > chance {
			best, chance = k, p
		}
	}
	if best < 0 {
		return row, false
	}
	cell := &v.Cells[best]
	row = shareRow{no: a.no(v.Name), in: a.caseNamed(best), chance: cell.Drips.P, se: cell.Drips.Error, shares: append([]float64{}, cell.Shares[:]...)}
	if i < len(a.Sealing.Valves) {
		row.place = a.at(a.Sealing.Valves[i].Run, a.Sealing.Valves[i].Chainage)
	}
	return row, true
}

// indices is the table of which input matters for the chance that any valve drips.
func (a *answers) indices() *table {
	names := []string{"case", ">any drips|%"}
	for k := range sealing.Sources {
		names = append(names, ">"+sealing.Source(k).String()+"|%")
	}
	t := &table{Caption: "Which input matters for the chance that any valve drips: share of its variance that knowing the input would take away, ± standard error", Heads: heads(append(names, ">acting|together, %")...)}
	add := func(name string, d *sealing.DrawnAny) {
		if !d.HasIndices {
			return
		}
		cells := []tableCell{wide(name), cellOf(strings.TrimSuffix(oddsText(d.Drips.P, d.Drips.Error), " %"))}
		rest := 1.0
		for _, x := range d.Indices {
			rest -= x.First
			cells = append(cells, cellOf(fixed(100*x.First, 0)+" ± "+fixed(100*x.Error, 0)))
		}
		t.row("", append(cells, cellOf(fixed(100*max(rest, 0), 0)))...)
	}
	for i := range a.Drawn.Any {
		add(a.caseNamed(i), &a.Drawn.Any[i])
	}
	add("in any of them", &a.Drawn.Ever)
	if len(t.Rows) == 0 {
		return nil
	}
	return t
}
