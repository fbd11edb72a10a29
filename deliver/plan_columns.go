package deliver

import (
	"fmt"
	"math"
	"sort"
)

// planColumn is a place whose figures are written, and what is said of it over the section.
type planColumn struct {
	ch    float64
	x     float64 // where its figures stand, mm
	wide  float64 // what they take, mm
	valve int     // index into view.valves, −1 for none
	lines []planLine
	must  bool // a valve, an end, a change of pipe, equipment
	state mark
}

// planLine is a line of a label over the section.
type planLine struct {
	text string
	h    float64
	bold bool
	k    ink
}

// pitch is the distance between two turned lines of a height.
func pitch(h float64) float64 { return 1.55 * h }

// labelOf wraps what is said of a place to the rail's length.
func (s *planSheet) labelOf(parts ...planLine) (out []planLine, wide float64) {
	for _, p := range parts {
		if p.text == "" {
			continue
		}
		for _, l := range planWrap(p.text, p.h, p.bold, s.form.rail-2.2*s.form.large) {
			p.text = l
			out = append(out, p)
			wide += pitch(p.h)
		}
	}
	return out, wide
}

// columns places everything that must have figures, and as many of the profile's points as there is room for between.
func (s *planSheet) columns() {
	f := s.form
	one := pitch(f.small)
	var must []planColumn
	for i := range s.valves {
		v := &s.valves[i]
		if !(v.ch >= s.from && (v.ch < s.to || s.last() && s.holds(v.ch))) {
			continue
		}
		c, _ := v.cell(s.shown)
		m := stateMark(c.State)
		k := stateInks[m.class()]
		q := planColumn{ch: v.ch, valve: i, must: true, state: m}
		kind := "no type chosen"
		if v.result.Record >= 0 && v.result.Record < len(s.r.Line.Rack) {
			kind = s.r.Line.Rack[v.result.Record].Name
			if d := s.r.Line.Rack[v.result.Record].NominalDiameter; d > 0 {
				kind += fmt.Sprintf(", DN %s", fixed(d*1000, 0))
			}
		}
		q.lines, q.wide = s.labelOf(planLine{v.no + "  " + stateWord(c.State), f.large, true, k}, planLine{kind, f.small, false, inkValve})
		q.wide = max(q.wide+0.4*f.small, 3*pitch(f.small))
		must = append(must, q)
	}
	for _, m := range s.marks {
		if !s.holds(m.ch) || m.ch >= s.to && !s.last() {
			continue
		}
		k := inkEquipment
		if m.kind == placeNode {
			k = inkNode
		}
		word := m.word
		if m.closed {
			word += ", shut"
		}
		q := planColumn{ch: m.ch, valve: -1, must: true}
		q.lines, q.wide = s.labelOf(planLine{m.name, f.small, true, k}, planLine{word, f.small, false, k})
		q.wide = max(q.wide+0.4*f.small, one)
		must = append(must, q)
	}
	must = s.squeeze(must)
	have := func(ch float64) bool {
		for i := range must {
			if math.Abs(must[i].ch-ch) < 0.005 {
				return true
			}
		}
		return false
	}
	plain := func(ch float64) {
		if s.holds(ch) && !have(ch) {
			must = append(must, planColumn{ch: ch, valve: -1, must: true, wide: one})
		}
	}
	room := func(n int) bool { return s.width(must)+float64(n)*one < s.room() }
	if room(2) {
		plain(s.from)
		plain(s.to)
	}
	for _, k := range s.pipeSections() {
		if room(1) {
			plain(k.from)
		}
	}
	sort.SliceStable(must, func(i, j int) bool { return must[i].ch < must[j].ch })
	at, gaps := make([]float64, len(must)), make([]float64, len(must))
	for i := range must {
		at[i] = s.x(must[i].ch)
		if i > 0 {
			gaps[i] = (must[i-1].wide + must[i].wide) / 2
		}
	}
	for i, x := range spreadBy(at, gaps, f.left(), max(s.right()+0.45*f.after, f.left()+s.width(must))) {
		must[i].x = x
	}
	s.cols = s.between(must, one)
}

func (s *planSheet) width(cols []planColumn) float64 {
	w := 0.0
	for i := range cols {
		w += cols[i].wide
	}
	return w
}

// room is the width that columns may take together.
func (s *planSheet) room() float64 { return s.form.w - margin - 0.55*s.form.after - s.form.left() }

// squeeze keeps the columns that have room on the sheet, those that want reading first, and counts the others.
func (s *planSheet) squeeze(must []planColumn) []planColumn {
	s.dropped = 0
	room := s.room()
	if s.width(must) <= room {
		return must
	}
	order := make([]int, len(must))
	for i := range order {
		order[i] = i
	}
	rank := func(i int) int {
		switch must[i].state {
		case markDrips:
			return 0
		case markUnknown:
			return 1
		case markOpen, markEmpty:
			return 2
		case markTight:
			return 3
		}
		return 4
	}
	sort.SliceStable(order, func(a, b int) bool { return rank(order[a]) < rank(order[b]) })
	keep := make([]bool, len(must))
	sum := 0.0
	for _, i := range order {
		if sum+must[i].wide > room {
			s.dropped++
			continue
		}
		sum += must[i].wide
		keep[i] = true
	}
	var out []planColumn
	for i := range must {
		if keep[i] {
			out = append(out, must[i])
		}
	}
	return out
}

// between adds the points of the profile that stand out most, where they keep their order and their distance.
func (s *planSheet) between(cols []planColumn, one float64) []planColumn {
	trace := s.relief(s.holds, s.x, 100)
	for tol := 20.0; tol > 0.1; tol /= 2 {
		for _, p := range thin(trace, tol) {
			ch := s.from + (p.x-s.form.left())*s.scale/1000
			i := sort.Search(len(cols), func(i int) bool { return cols[i].ch >= ch-0.005 })
			if i < len(cols) && math.Abs(cols[i].ch-ch) < 0.01 {
				continue
			}
			if i > 0 && p.x-cols[i-1].x < (cols[i-1].wide+one)/2 || i < len(cols) && cols[i].x-p.x < (cols[i].wide+one)/2 {
				continue
			}
			cols = append(cols, planColumn{})
			copy(cols[i+1:], cols[i:])
			cols[i] = planColumn{ch: ch, x: p.x, wide: one, valve: -1}
		}
	}
	return cols
}
