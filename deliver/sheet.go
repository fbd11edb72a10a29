package deliver

import (
	"fmt"
	"math"
)

// form is one size in which everything is drawn: the style sheet shows the one that suits the window or the paper.
type form struct {
	name        string
	w           float64 // of the drawing, px
	left, right float64 // margins beside the plot, px
	section     float64 // most height for the levels of the long section, px
	page        float64 // height that section and bands must keep to, px; 0: as high as it takes
	column      float64 // least distance between two valves' columns, px
	bands       bool
	perSheet    int // most valves on a sheet where there are no columns
}

// The forms. The look's desk drawing is 1240 wide; paper is drawn so that its smallest type is 7 pt on A4:
// 277 mm of width over 1340 px makes 12 px 7.0 pt, and 826 px fill the height that the heading leaves.
var (
	formDesk   = form{name: "desk", w: 1240, left: 122, right: 64, section: 380, column: 66, bands: true}
	formWide   = form{name: "wide", w: 1960, left: 150, right: 90, section: 470, column: 66, bands: true}
	formNarrow = form{name: "narrow", w: 388, left: 50, right: 30, section: 250, column: 44, perSheet: 10}
	formPrint  = form{name: "print", w: 1340, left: 122, right: 64, section: 380, page: 826, column: 66, bands: true}
	forms      = []form{formDesk, formWide, formNarrow, formPrint}
)

// columnLo and columnHi are where the outermost columns may stand.
func (f form) columnLo() float64 { return f.left + 22 }
func (f form) columnHi() float64 { return f.w - f.right + 30 }

func (f form) capacity() int {
	if f.perSheet > 0 {
		return f.perSheet
	}
	return int((f.columnHi()-f.columnLo())/f.column) + 1
}

// sheet is a stretch of a route in one form.
type sheet struct {
	*view
	form
	no, of   int // from 1
	from, to float64
	on       []int     // the valves on it, indices into view.valves
	col      []float64 // the column of each of them, px
	overview bool      // the key of a line that takes several sheets
	apart    bool      // the bands stand on a page of their own
	others   []*sheet  // of an overview: the sheets it is the key to
}

// cut lays a route out on sheets: as few of equal length as hold their valves' columns, and where valves stand too close
// together for that, by the number of valves.
func cut(v *view, f form) []*sheet {
	if len(v.pts) == 0 || v.to <= v.from {
		return nil
	}
	n := len(v.valves)
	limit := max((n+f.capacity()-1)/f.capacity(), 1)
	for k := limit; k <= 2*limit; k++ {
		if bounds := equalBounds(v.from, v.to, k); fits(v, bounds, f.capacity()) {
			return sheetsOf(v, f, bounds)
		}
	}
	bounds := []float64{v.from}
	per := (n + limit - 1) / limit
	for i := per; i < n; i += per {
		b := (v.valves[i-1].ch + v.valves[i].ch) / 2
		if b > bounds[len(bounds)-1] && b < v.to {
			bounds = append(bounds, b)
		}
	}
	return sheetsOf(v, f, append(bounds, v.to))
}

// equalBounds cuts [from, to] into k stretches of equal length, to whole hundreds of metres where they are long.
func equalBounds(from, to float64, k int) []float64 {
	step := (to - from) / float64(k)
	if step > 1000 {
		step = math.Ceil(step/100) * 100
	}
	b := []float64{from}
	for i := 1; i < k; i++ {
		if at := from + float64(i)*step; at < to {
			b = append(b, at)
		}
	}
	return append(b, to)
}

// between counts the valves of a stretch; one that stands on a bound belongs to the stretch after it.
func (v *view) between(from, to float64) []int {
	var on []int
	for i := range v.valves {
		if ch := v.valves[i].ch; ch >= from && (ch < to || to >= v.to) {
			on = append(on, i)
		}
	}
	return on
}

func fits(v *view, bounds []float64, capacity int) bool {
	for i := 1; i < len(bounds); i++ {
		if len(v.between(bounds[i-1], bounds[i])) > capacity {
			return false
		}
	}
	return true
}

func sheetsOf(v *view, f form, bounds []float64) []*sheet {
	var out []*sheet
	for i := 1; i < len(bounds); i++ {
		s := &sheet{view: v, form: f, no: i, of: len(bounds) - 1, from: bounds[i-1], to: bounds[i]}
		s.on = v.between(s.from, s.to)
		at := make([]float64, len(s.on))
		for k, j := range s.on {
			at[k] = s.x(v.valves[j].ch)
		}
		s.col = Spread(at, f.column, f.columnLo(), f.columnHi())
		out = append(out, s)
	}
	return out
}

// key is the overview of a line on several sheets.
func key(v *view, sheets []*sheet) *sheet {
	f := sheets[0].form
	f.section *= 0.62
	s := &sheet{view: v, form: f, no: 1, of: 1, from: v.from, to: v.to, overview: true, others: sheets}
	s.on = v.between(v.from, v.to)
	for _, j := range s.on {
		s.col = append(s.col, s.x(v.valves[j].ch))
	}
	return s
}

// x is the place of a chainage in the drawing.
func (s *sheet) x(ch float64) float64 {
	return s.left + (ch-s.from)/(s.to-s.from)*(s.w-s.left-s.right)
}

func (s *sheet) plotRight() float64 { return s.w - s.right }

// holds tells whether a chainage lies on the sheet.
func (s *sheet) holds(ch float64) bool { return ch >= s.from && ch <= s.to }

// fanHeight is the height of the fan from chainages to columns: more where columns are pushed far.
func (s *sheet) fanHeight() float64 {
	most := 0.0
	for k, j := range s.on {
		most = max(most, math.Abs(s.col[k]-s.x(s.valves[j].ch)))
	}
	return min(fanHigh+most*0.08, 60)
}

// pushed tells whether any column stands off its chainage, so that a fan is drawn.
func (s *sheet) pushed() bool {
	for k, j := range s.on {
		if math.Abs(s.col[k]-s.x(s.valves[j].ch)) > 0.5 {
			return true
		}
	}
	return false
}

// crowded tells whether so many valves stand so much closer than their columns that stems of their own would be a thicket.
func (s *sheet) crowded() bool {
	n := 0
	for k := 1; k < len(s.on); k++ {
		if s.x(s.valves[s.on[k]].ch)-s.x(s.valves[s.on[k-1]].ch) < 0.6*s.column {
			n++
		}
	}
	return n > 2 && 3*n > len(s.on) || len(s.on) > 14
}

// title is what the sheet is called where there are several.
func (s *sheet) title() string {
	if s.of <= 1 {
		return ""
	}
	return fmt.Sprintf("sheet %d of %d, %s to %s", s.no, s.of, chainageText(s.from), chainageText(s.to))
}

// clipLine cuts a polyline over chainage to the sheet, by straight lines.
func (s *sheet) clipLine(p []pt) []pt {
	var out []pt
	for i, q := range p {
		if i > 0 {
			a, b := p[i-1], q
			for _, edge := range []float64{s.from, s.to} {
				if (a.x-edge)*(b.x-edge) < 0 {
					out = append(out, pt{edge, a.y + (b.y-a.y)*(edge-a.x)/(b.x-a.x)})
				}
			}
		}
		if s.holds(q.x) {
			out = append(out, q)
		}
	}
	return out
}
