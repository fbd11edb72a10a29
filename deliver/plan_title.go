package deliver

import (
	"fmt"
	"strings"
)

// frame draws the frame inside the margins of ISO 5457.
func (s *planSheet) frame() {
	f := s.form
	l, r, t, b := marginBind, f.w-margin, margin, f.h-margin
	s.pen.polyline(inkFrame, []pt{{l, t}, {r, t}, {r, b}, {l, b}, {l, t}})
	s.pen.line(inkTitle, pt{l, s.y.strip}, pt{r, s.y.strip})
}

// titleBlock draws what identifies the sheet (the fields of ISO 7200) in its lower right corner.
func (s *planSheet) titleBlock() {
	f, h := s.form, s.form.small
	x, y, right, bottom := f.w-margin-f.block, s.y.strip, f.w-margin, f.h-margin
	s.pen.line(inkFrame, pt{x, y}, pt{x, bottom})
	s.pen.line(inkFrame, pt{x, y}, pt{right, y})
	stamp := NewStamp(s.r, s.o)
	pad := 0.8 * h
	// The line's name, as large as it fits in two lines.
	room := f.block - 2*pad
	var lines []string
	size := f.title
	for _, size = range []float64{f.title, f.large + (f.title-f.large)/2, f.large, f.small} {
		if !isHeight(size) {
			continue
		}
		if lines = planWrap(stamp.Line, size, true, room); len(lines) <= 2 && float64(len(lines))*1.4*size < 0.30*f.strip {
			break
		}
	}
	at := y + pad
	for _, l := range lines[:min(len(lines), 3)] {
		s.pen.text(inkTitle, pt{x + pad, at + 1.1*size}, l, size, true, 0, start)
		at += 1.4 * size
	}
	what := "Long section"
	if s.view.name != "" && len(s.r.Line.Routes) > 1 {
		what += ": " + s.view.name
	}
	what += fmt.Sprintf(", chainage %s to %s", planChainage(s.from), planChainage(s.to))
	for _, l := range linesUpTo(planWrap(what, h, false, room), 2) {
		s.pen.text(inkTitle, pt{x + pad, at + 1.2*h}, l, h, false, 0, start)
		at += 1.5 * h
	}
	type cell struct {
		term, text string
		check      bool
	}
	exaggerated := "levels " + scaleText(s.up)
	if k := s.scale / s.up; k > 1.001 {
		exaggerated += fmt.Sprintf(" (drawn %s times the lengths)", trimmed(k))
	}
	paper := f.name
	if paper == planRoll.name {
		paper = fmt.Sprintf("roll, %s × %s mm", fixed(f.w, 0), fixed(f.h, 0))
	}
	cells := [][]cell{
		{{"Scales, ISO 5455", "lengths " + scaleText(s.scale) + ", " + exaggerated, false}, {"Sheet", fmt.Sprintf("%d of %d, %s", s.no, s.of, paper), false}},
		{{"Hash of the inputs", orNotGiven(stamp.ShortHash()), false}, {"Version of the line", orNotGiven(stamp.Version), false}, {"Date", orNotGiven(stamp.Date), false}},
		{{"Reckoned by", stamp.ReckonedBy(), false}, {"To be checked by a licensed engineer", "name, date", true}},
	}
	shares := [][]float64{{0.68, 0.32}, {0.42, 0.29, 0.29}, {0.46, 0.54}}
	top := max(at+0.5*h, bottom-3*4*h)
	high := (bottom - top) / 3
	for i, row := range cells {
		cy, cx := top+float64(i)*high, x
		s.pen.line(inkTitle, pt{x, cy}, pt{right, cy})
		for k, c := range row {
			w := f.block * shares[i][k]
			if k > 0 {
				s.pen.line(inkTitle, pt{cx, cy}, pt{cx, cy + high})
			}
			s.pen.text(inkNotes, pt{cx + pad, cy + 1.35*h}, fitted(c.term, h, w-2*pad), h, false, 0, start)
			if c.check {
				s.pen.line(inkNotes, pt{cx + pad, cy + high - 0.5*h}, pt{cx + w - pad, cy + high - 0.5*h})
				s.pen.text(inkNotes, pt{cx + w - pad, cy + high - 0.8*h}, c.text, h, false, 0, end)
			} else {
				s.pen.text(inkTitle, pt{cx + pad, cy + high - 0.75*h}, fitted(c.text, h, w-2*pad), h, false, 0, start)
			}
			cx += w
		}
	}
}

// isHeight tells whether a height is one of ISO 3098.
func isHeight(h float64) bool {
	for _, v := range textHeights {
		if v == h {
			return true
		}
	}
	return false
}

// linesUpTo is the first n of some lines; the last of them says where more would follow.
func linesUpTo(lines []string, n int) []string {
	if len(lines) <= n {
		return lines
	}
	out := append([]string{}, lines[:n]...)
	out[n-1] += " …"
	return out
}

// fitted is a text, with an ellipsis where it would run out of its cell.
func fitted(t string, h, w float64) string {
	if planWidth(t, h, false) <= w {
		return t
	}
	r := []rune(t)
	for len(r) > 1 && planWidth(string(r)+"…", h, false) > w {
		r = r[:len(r)-1]
	}
	return strings.TrimSpace(string(r)) + "…"
}

// note is a paragraph beside the title block.
type note struct {
	head, text string
	ink        *ink // of a line that stands for a grade line
}

// notes writes what is assumed, who must check, and what the signs mean, in columns at the left of the title block.
func (s *planSheet) notes() {
	f, h := s.form, s.form.small
	left, right := marginBind+3, f.w-margin-f.block-4
	top, bottom := s.y.strip+0.6*h, f.h-margin-0.8*h
	var all []note
	for i := range s.keyed {
		k := s.gradeInk(s.rankOf(s.keyed[i]))
		all = append(all, note{head: "Grade line", text: s.describe(s.keyed[i]), ink: &k})
	}
	if s.shown >= 0 {
		all = append(all, note{head: "Shown", text: "states over the section, water and standing levels as in the case " + s.r.Line.Cases[s.shown].Name + "."})
	}
	heads := "Levels above datum, heads in metres of the line's water. Per case and valve: state, head at the seat, of the head that counts; * letting-go head, once shut."
	if n := len(s.r.Line.Cases) - len(s.cases); n > 0 && len(s.valves) > 0 {
		heads += " " + upper(counted(n, "case", "cases")) + " without room here: see the schedule."
	}
	all = append(all, note{head: "Bands", text: heads})
	for _, p := range s.unsaidPipes() {
		all = append(all, note{head: "Pipe", text: p})
	}
	for _, c := range usualCautions[:min(len(usualCautions), 4)] {
		all = append(all, note{head: c.Lead, text: c.Rest})
	}
	for _, a := range NewStamp(s.r, s.o).Assumptions() {
		all = append(all, note{head: "Assumed", text: assumedText(a)})
	}
	columns := max(int((right-left)/(52*h)), 1)
	gap := 2 * h
	wide := (right - left - gap*float64(columns-1)) / float64(columns)
	pitch := 1.45 * h
	col, y := 0, top
	// The law stands under the notes, whatever else has room.
	bottom -= pitch + 0.4*h
	s.pen.text(inkTitle, pt{left, f.h - margin - 0.9*h}, fitted(law, h, right-left), h, true, 0, start)
	for i, n := range all {
		head := n.head + " "
		indent := planWidth(head, h, true) + 0.5*h
		lines := planWrap(n.text, h, false, wide-indent)
		need := float64(len(lines)) * pitch
		reserve := 0.0
		if col == columns-1 && i < len(all)-1 {
			reserve = pitch
		}
		if y+need > bottom && y > top && col < columns-1 {
			col, y = col+1, top
		}
		if y+need+reserve > bottom {
			s.pen.text(inkNotes, pt{left + float64(col)*(wide+gap), y + 1.1*h}, fmt.Sprintf("%d more notes stand in the report.", len(all)-i), h, false, 0, start)
			return
		}
		x := left + float64(col)*(wide+gap)
		s.pen.text(inkHead, pt{x, y + 1.1*h}, n.head, h, true, 0, start)
		for _, l := range lines {
			s.pen.text(inkNotes, pt{x + indent, y + 1.1*h}, l, h, false, 0, start)
			y += pitch
		}
		if n.ink != nil {
			s.pen.line(*n.ink, pt{x, y - pitch + 1.35*h}, pt{x + indent - h, y - pitch + 1.35*h})
		}
	}
}

// rankOf is a grade line's place among the lines of the route.
func (s *planSheet) rankOf(g gradeLine) int {
	for i := range s.lines {
		if s.lines[i].cases[0] == g.cases[0] {
			return i
		}
	}
	return 0
}

// unsaidPipes are the pipes of the sheet that are too short for their words in the band.
func (s *planSheet) unsaidPipes() (out []string) {
	h := s.form.small
	for _, p := range s.pipeSections() {
		a, b := s.x(max(p.from, s.from)), s.x(min(p.to, s.to))
		texts := s.pipeTexts(p)
		if b > a && texts[0] != "" && planWidth(texts[0], h, false) >= b-a-h {
			out = append(out, fmt.Sprintf("%s to %s: %s.", planChainage(p.from), planChainage(p.to), texts[0]))
		}
	}
	return out
}
