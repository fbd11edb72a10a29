package deliver

import (
	"fmt"
	"html/template"
	"strings"
)

// fill is a way of filling a bar. The fills differ in pattern, so that they read without colour.
type fill uint8

const (
	fillInk     fill = iota // solid, ink
	fillBlue                // solid, blue
	fillWater               // solid, pale, outlined
	fillSlant               // strokes
	fillDots                //
	fillUpright             // upright strokes
	fillEmpty               // outline only
)

// shape is the SVG of a bar.
func (k fill) shape(x, y, w, h float64) string {
	if w < 0.05 || h <= 0 {
		return ""
	}
	rect := func(class string) string {
		return fmt.Sprintf(`<rect class="%s" x="%s" y="%s" width="%s" height="%s"/>`, class, num(x), num(y), num(w), num(h))
	}
	switch k {
	case fillInk:
		return rect("b-ink")
	case fillBlue:
		return rect("b-en")
	case fillWater:
		return rect("b-water")
	case fillEmpty:
		return rect("b-none")
	case fillDots:
		var b strings.Builder
		for yy, odd := y+3.0, false; yy < y+h-1; yy, odd = yy+4, !odd {
			from := x + 3
			if odd {
				from += 3
			}
			for xx := from; xx < x+w-1; xx += 6 {
				b.WriteString("M" + num(xx) + " " + num(yy) + "h0")
			}
		}
		return rect("b-none") + stroke("b-dots", b.String())
	}
	lean := 0.0
	if k == fillSlant {
		lean = h
	}
	var b strings.Builder
	for at := x + 3; at < x+w+lean; at += 5 {
		// From (at, y) down to (at − lean, y + h), cut to the bar.
		a, e, ok := clipSegment(pt{at, y}, pt{at - lean, y + h}, x, y, x+w, y+h)
		if ok {
			b.WriteString("M" + num(a.x) + " " + num(a.y) + "L" + num(e.x) + " " + num(e.y))
		}
	}
	return rect("b-none") + stroke("b-line", b.String())
}

func stroke(class, d string) string {
	if d == "" {
		return ""
	}
	return `<path class="` + class + `" d="` + d + `"/>`
}

func (c *canvas) bar(k fill, x, y, w, h float64) { c.b.WriteString(k.shape(x, y, w, h)) }

// key is the fill as a small picture in running text.
func (k fill) key(text string) keyItem {
	return keyItem{template.HTML(`<svg viewBox="0 0 14 14" aria-hidden="true">` + k.shape(0.5, 1.5, 13, 11) + `</svg>`), text}
}
