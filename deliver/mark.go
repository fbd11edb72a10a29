package deliver

import (
	"fmt"
	"strings"

	"obvert/engine/sealing"
	"obvert/study"
)

// mark is the shape of a state. Every mark has its own shape, so that it reads without colour.
type mark uint8

const (
	markNone    mark = iota
	markTight        // disc
	markDrips        // drop
	markOpen         // ring
	markEmpty        // hollow diamond
	markUnknown      // ring of dashes with a dot
	markFails        // triangle, point down
	markDoubt        // half square
	markKnow         // hollow square
)

var markClass = [...]string{"", "tight", "drips", "open", "empty", "unknown", "drips", "doubt", "know"}

// class is the mark's colour class: w-… for words, m-… for marks, c-… for cells.
func (m mark) class() string { return markClass[m] }

// stateMark is the mark of a valve's state.
func stateMark(s sealing.State) mark {
	switch s {
	case sealing.Tight:
		return markTight
	case sealing.Drips:
		return markDrips
	case sealing.Open:
		return markOpen
	case sealing.Empty:
		return markEmpty
	}
	return markUnknown
}

// wordMark is the mark of a state given as its word.
func wordMark(w string) mark {
	switch w {
	case "tight":
		return markTight
	case "drips":
		return markDrips
	case "open":
		return markOpen
	case "empty":
		return markEmpty
	case "not known":
		return markUnknown
	}
	return markNone
}

// severityMark is the mark of a finding that carries no state of a valve.
func severityMark(s study.Severity) mark {
	switch s {
	case study.Fails:
		return markFails
	case study.Doubtful:
		return markDoubt
	case study.Notable:
		return markKnow
	}
	return markTight
}

// findingMark is the mark and the word at a finding's number.
func findingMark(f study.Finding) (mark, string) {
	m := wordMark(f.State)
	if m == markNone {
		return severityMark(f.Severity), f.Severity.String()
	}
	if m == markTight {
		switch f.Severity {
		case study.Doubtful:
			return m, "tight, just"
		case study.Holds:
			return m, "holds"
		}
	}
	return m, f.State
}

// shape is the SVG of a mark with its middle at (x, y) and radius r.
func (m mark) shape(x, y, r float64) string {
	p := func(class, f string, v ...float64) string {
		a := make([]any, len(v))
		for i := range v {
			a[i] = num(v[i])
		}
		return fmt.Sprintf(`<path class="%s" d="%s"/>`, class, fmt.Sprintf(f, a...))
	}
	switch m {
	case markTight:
		return fmt.Sprintf(`<circle class="m-tight" cx="%s" cy="%s" r="%s"/>`, num(x), num(y), num(r))
	case markDrips:
		t, b, w := y-1.5*r, y+0.3*r, 1.02*r
		return p("m-drips", "M%s %sC%s %s %s %s %s %sA%s %s 0 0 1 %s %sC%s %s %s %s %s %sZ",
			x, t, x+0.26*r, t+0.9*r, x+w, t+1.25*r, x+w, b, w, w, x-w, b, x-w, t+1.25*r, x-0.26*r, t+0.9*r, x, t)
	case markOpen:
		return fmt.Sprintf(`<circle class="m-open" cx="%s" cy="%s" r="%s"/>`, num(x), num(y), num(0.84*r))
	case markEmpty:
		d := 1.08 * r
		return p("m-empty", "M%s %sL%s %sL%s %sL%s %sZ", x, y-d, x+d, y, x, y+d, x-d, y)
	case markUnknown:
		return fmt.Sprintf(`<circle class="m-unknown" cx="%s" cy="%s" r="%s"/><circle class="m-undot" cx="%[1]s" cy="%[2]s" r="%[4]s"/>`, num(x), num(y), num(0.9*r), num(0.3*r))
	case markFails:
		return p("m-drips", "M%s %sH%sL%s %sZ", x-1.1*r, y-0.85*r, x+1.1*r, x, y+1.05*r)
	case markDoubt:
		return p("m-know", "M%s %sH%sV%sH%sZ", x-r*0.9, y-r*0.9, x+r*0.9, y+r*0.9, x-r*0.9) +
			p("m-dot", "M%s %sH%sV%sH%sZ", x-r*0.9, y, x+r*0.9, y+r*0.9, x-r*0.9)
	case markKnow:
		return p("m-know", "M%s %sH%sV%sH%sZ", x-r*0.85, y-r*0.85, x+r*0.85, y+r*0.85, x-r*0.85)
	}
	return ""
}

func (c *canvas) mark(m mark, x, y, r float64) { c.b.WriteString(m.shape(x, y, r)) }

// markBox is the room a mark takes.
func markBox(x, y, r float64) box { return rectBox(x-1.15*r, y-1.5*r, x+1.15*r, y+1.35*r) }

// icon is a mark as a small picture in running text.
func (m mark) icon() string {
	if m == markNone {
		return ""
	}
	return `<svg viewBox="0 0 14 14" aria-hidden="true">` + m.shape(7, 7.4, 5) + `</svg>`
}

// fitMark is the mark of one type at one tube.
type fitMark uint8

const (
	fitTight fitMark = iota
	fitOnlyIfShut
	fitNo
	fitUnknown
)

func fitOf(s string) fitMark {
	switch s {
	case "tight":
		return fitTight
	case "only if shut before":
		return fitOnlyIfShut
	case "no":
		return fitNo
	}
	return fitUnknown
}

// shape is the SVG of a fit; the type that is fitted is drawn large.
func (f fitMark) shape(x, y float64, fitted bool) string {
	r := 3.2
	if fitted {
		r = 5.2
	}
	switch f {
	case fitTight:
		return fmt.Sprintf(`<circle class="m-tight" cx="%s" cy="%s" r="%s"/>`, num(x), num(y), num(r))
	case fitOnlyIfShut:
		return fmt.Sprintf(`<circle class="m-halfo" cx="%s" cy="%s" r="%s"/><path class="m-half" d="M%s %sA%[3]s %[3]s 0 0 0 %[6]s %[5]sZ"/>`,
			num(x), num(y), num(r), num(x-r), num(y), num(x+r))
	case fitNo:
		class, d := "x-no", 2.6
		if fitted {
			class, d = "x-fit", 4.6
		}
		return fmt.Sprintf(`<path class="%s" d="M%s %sL%s %sM%[2]s %[5]sL%[4]s %[3]s"/>`, class, num(x-d), num(y-d), num(x+d), num(y+d))
	}
	return ""
}

// stateWord is a valve's state as one word or two.
func stateWord(s sealing.State) string { return s.String() }

// ruleArrow is ↑ where the sealing head counts, ↓ where the letting-go head does.
func ruleArrow(r sealing.Rule) string {
	switch r {
	case sealing.Rising:
		return "↑"
	case sealing.Falling:
		return "↓"
	}
	return ""
}

// letters numbers types A, B … Z, AA, AB ….
func letters(i int) string {
	var b strings.Builder
	if i >= 26 {
		b.WriteString(letters(i/26 - 1))
	}
	b.WriteByte(byte('A' + i%26))
	return b.String()
}
