package deliver

import (
	"fmt"
	"strings"
)

// shares tell which input matters: by valve, what share of the variance of its margin comes from each, and how likely it is
// that it drips.
type shares struct {
	inputs []string
	rows   []shareRow
}

// shareRow is one valve in one case.
type shareRow struct {
	no, place, in string
	chance, se    float64   // probability of dripping and its standard error; se 0 where the probability is exact
	shares        []float64 // of the variance, in the order of the inputs
}

// shareFills are the fills of the inputs, in turn.
var shareFills = [...]fill{fillInk, fillBlue, fillSlant, fillDots, fillWater, fillUpright, fillEmpty}

const shareHigh = 46.0

func (s *shares) draw(f form, id string) []*canvas {
	if len(s.rows) == 0 {
		return nil
	}
	x0, x1, high := 270.0, f.w-230.0, shareHigh
	if !f.bands {
		x0, x1, high = 0, f.w, shareHigh+22
	}
	per := len(s.rows)
	if f.page > 0 {
		per = max(int((f.page-30)/high), 1)
	}
	var out []*canvas
	for from := 0; from < len(s.rows); from += per {
		to := min(from+per, len(s.rows))
		c := &canvas{w: f.w, id: id, title: "What matters: share of the variance of the margin by input", desc: s.words(s.rows[from:to])}
		for i := from; i < to; i++ {
			y := float64(i-from) * high
			r := &s.rows[i]
			c.line("hair", 0, y+1, f.w, y+1)
			bar := y + 20
			chance := "drips " + oddsText(r.chance, r.se)
			no := faceNumber.width(r.no)
			if f.bands {
				c.text(0, y+34, r.no, faceNumber, setting{})
				room := x0 - no - 28
				c.text(no+9, y+24, shorten(faceNote, r.place, room), faceNote, setting{})
				c.text(no+9, y+39, shorten(faceNote, r.in, room), faceNote, setting{})
				c.text(x1+18, y+34, shorten(faceLabelB, chance, f.w-x1-18), faceLabelB, setting{})
			} else {
				c.text(0, y+19, r.no, faceNumber, setting{})
				w := faceLabelB.width(chance)
				c.text(f.w, y+19, chance, faceLabelB, setting{at: end})
				c.text(no+8, y+19, shorten(faceNote, r.in, f.w-no-w-20), faceNote, setting{})
				bar = y + 42
			}
			s.bar(c, r, x0, x1, bar)
		}
		c.h = float64(to-from)*high + 6
		out = append(out, c)
	}
	return out
}

// bar stacks the shares to a whole, with their figures above.
func (s *shares) bar(c *canvas, r *shareRow, x0, x1, y float64) {
	x := x0
	var at []float64
	var text []string
	for k, v := range r.shares {
		w := v * (x1 - x0)
		c.bar(shareFills[k%len(shareFills)], x, y, w, 16)
		if v >= 0.03 {
			at, text = append(at, x+w/2), append(text, fixed(100*v, 0)+" %")
		}
		x += w
	}
	for k, m := range Spread(at, 34, x0+16, x1-16) {
		c.text(m, y-4, text[k], faceNote, setting{at: middle})
	}
}

// oddsText is a probability with its standard error, in per cent.
func oddsText(p, se float64) string {
	if se <= 0 {
		return chanceText(p) + " %"
	}
	n := 1
	if se >= 0.01 {
		n = 0
	}
	switch {
	case p < 0.0005:
		return "< 0.1 %"
	case p > 0.9995:
		return "> 99.9 %"
	}
	return fixed(100*p, n) + " ± " + fixed(100*se, n) + " %"
}

func (s *shares) words(rows []shareRow) string {
	var b []string
	for _, r := range rows {
		var parts []string
		for k, v := range r.shares {
			if v >= 0.005 && k < len(s.inputs) {
				parts = append(parts, s.inputs[k]+" "+fixed(100*v, 0)+" %")
			}
		}
		b = append(b, fmt.Sprintf("valve %s, %s: drips %s; %s", r.no, r.in, oddsText(r.chance, r.se), strings.Join(parts, ", ")))
	}
	return strings.Join(b, ". ") + "."
}

func (s *shares) twin() *plainTable {
	t := &plainTable{Caption: "What matters: probability of dripping, per cent ± its standard error, and share of the variance of the margin by input, per cent", Heads: append([]string{"valve", "case", "drips"}, s.inputs...)}
	for _, r := range s.rows {
		row := []string{strings.TrimSuffix(r.no+", "+r.place, ", "), r.in, oddsText(r.chance, r.se)}
		for k := range s.inputs {
			v := "–"
			if k < len(r.shares) {
				v = fixed(100*r.shares[k], 1)
			}
			row = append(row, v)
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

func (s *shares) key() []keyItem {
	var out []keyItem
	for k, n := range s.inputs {
		out = append(out, shareFills[k%len(shareFills)].key(n))
	}
	return out
}

// odds are the chances that any valve drips, case by case.
type odds struct{ rows []oddsRow }

// oddsRow is one case.
type oddsRow struct {
	name       string
	chance, se float64
}

func (o *odds) draw(f form, id string) []*canvas {
	if len(o.rows) == 0 {
		return nil
	}
	const row, head = 30.0, 26.0
	c := &canvas{w: f.w, id: id, title: "The chance that any valve drips, case by case", desc: o.words()}
	x0, x1, gap := 270.0, f.w-230, row
	if !f.bands {
		x0, x1, gap = 8, f.w-90, row+16
	}
	y1 := head + gap*float64(len(o.rows))
	q := newPlot(c, x0, head, x1, y1, pt{}, pt{100, 1})
	at, _ := ticks(0, 100, 5)
	for _, v := range at {
		c.line("grid", q.x(v), head-4, q.x(v), y1)
	}
	q.scaleAbove(at, 0, "%")
	for i, r := range o.rows {
		y := head + gap*float64(i)
		mid := y + row/2
		if f.bands {
			c.text(0, mid+4, shorten(faceLabelB, r.name, x0-20), faceLabelB, setting{})
		} else {
			c.text(0, y+14, shorten(faceLabelB, r.name, f.w), faceLabelB, setting{halo: true})
			mid += 14
		}
		c.line("hair", x0, mid, x1, mid)
		a, b := q.x(max(100*(r.chance-2*r.se), 0)), q.x(min(100*(r.chance+2*r.se), 100))
		c.line("whisk2", a, mid, b, mid)
		c.circle("dot on", q.x(100*r.chance), mid, 4.4)
		c.text(b+10, mid+4, oddsText(r.chance, r.se), faceLabel, setting{halo: true})
	}
	c.h = y1 + 4
	return []*canvas{c}
}

func (o *odds) words() string {
	var b []string
	for _, r := range o.rows {
		b = append(b, r.name+": "+oddsText(r.chance, r.se))
	}
	return strings.Join(b, ". ") + "."
}

func (o *odds) twin() *plainTable {
	t := &plainTable{Caption: "The chance that any valve drips, per cent ± its standard error", Heads: []string{"case", "any drips"}}
	for _, r := range o.rows {
		t.Rows = append(t.Rows, []string{r.name, oddsText(r.chance, r.se)})
	}
	return t
}
