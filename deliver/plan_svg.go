package deliver

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"strings"
)

// svgPen draws a sheet as SVG. Its unit is a tenth of a millimetre, written with one decimal.
type svgPen struct {
	b     strings.Builder
	inks  []ink
	names map[string]int
}

func newSVGPen() *svgPen { return &svgPen{names: map[string]int{}} }

// class is the class of an ink in the sheet's style.
func (p *svgPen) class(k ink) string {
	i, ok := p.names[k.layer]
	if !ok {
		i = len(p.inks)
		p.names[k.layer] = i
		p.inks = append(p.inks, k)
	}
	return fmt.Sprint(i)
}

func tenths(p []pt) []pt {
	out := make([]pt, len(p))
	for i, q := range p {
		out[i] = pt{q.x * 10, q.y * 10}
	}
	return thin(out, 0.25)
}

func (p *svgPen) line(k ink, a, b pt) { p.polyline(k, []pt{a, b}) }

func (p *svgPen) polyline(k ink, q []pt) {
	if len(q) > 1 {
		fmt.Fprintf(&p.b, `<path class="l%s" d="%s"/>`+"\n", p.class(k), pathData(tenths(q)))
	}
}

func (p *svgPen) fill(k ink, q []pt) {
	if len(q) > 2 {
		fmt.Fprintf(&p.b, `<path class="f%s" d="%sZ"/>`+"\n", p.class(k), pathData(tenths(q)))
	}
}

func (p *svgPen) solid(k ink, q []pt) { p.fill(k, q) }

func (p *svgPen) circle(k ink, c pt, r float64) {
	fmt.Fprintf(&p.b, `<circle class="l%s w" cx="%s" cy="%s" r="%s"/>`+"\n", p.class(k), num(c.x*10), num(c.y*10), num(r*10))
}

func (p *svgPen) text(k ink, q pt, s string, h float64, bold bool, turn float64, a anchor) {
	if strings.TrimSpace(s) == "" {
		return
	}
	class := "t" + p.class(k)
	if bold {
		class += " b"
	}
	fmt.Fprintf(&p.b, `<text class="%s" x="%s" y="%s" font-size="%s"`, class, num(q.x*10), num(q.y*10), num(h*10/capitalHeight))
	switch a {
	case middle:
		p.b.WriteString(` text-anchor="middle"`)
	case end:
		p.b.WriteString(` text-anchor="end"`)
	}
	if turn != 0 {
		fmt.Fprintf(&p.b, ` transform="rotate(%s %s %s)"`, num(turn), num(q.x*10), num(q.y*10))
	}
	p.b.WriteString(">" + escape(s) + "</text>\n")
}

func (p *svgPen) shape(k ink, s shape, c pt, r float64) {
	x, y := c.x*10, c.y*10
	switch s {
	case shapeWater:
		fmt.Fprintf(&p.b, `<path class="l%s w" d="M%s %sh%sL%s %sZM%s %sh%sM%s %sh%s"/>`+"\n", p.class(k), num(x-10*r), num(y-17*r), num(20*r), num(x), num(y),
			num(x-8*r), num(y+5*r), num(16*r), num(x-4*r), num(y+9*r), num(8*r))
		return
	}
	m := [...]mark{shapeTight: markTight, shapeDrips: markDrips, shapeOpen: markOpen, shapeEmpty: markEmpty, shapeUnknown: markUnknown}[s]
	p.b.WriteString(m.shape(x, y, 10*r) + "\n")
}

// planCSS is what is common to all sheets; the marks are those of the report.
const planCSS = `svg{background:#fff}text{font-family:"Source Sans 3",system-ui,sans-serif;font-weight:400;font-variant-numeric:tabular-nums lining-nums;paint-order:stroke;stroke:#fff;stroke-width:7;stroke-linejoin:round;stroke-opacity:.85}` +
	`.b{font-weight:600}path,circle{fill:none;stroke-linejoin:round}.w{fill:#fff}` +
	`.m-tight{fill:#00795a}.m-drips{fill:#b84a00}.m-open{fill:#fff;stroke:#6a3d9a;stroke-width:5}.m-empty{fill:#fff;stroke:#63696d;stroke-width:3.5}.m-unknown{fill:#fff;stroke:#4c5a65;stroke-width:3;stroke-dasharray:5 3.5}.m-undot{fill:#4c5a65}` + "\n"

// page is the finished sheet.
func (p *svgPen) page(w, h float64, id, title, desc string) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" width="%smm" height="%smm" viewBox="0 0 %s %s" role="img" aria-labelledby="%s-t %[5]s-d"><title id="%[5]s-t">%s</title><desc id="%[5]s-d">%s</desc>`+"\n<style>",
		num(w), num(h), num(w*10), num(h*10), id, escape(title), escape(desc))
	for _, f := range []struct {
		weight int
		data   []byte
	}{{400, fontRegular}, {600, fontSemibold}} {
		fmt.Fprintf(&b, `@font-face{font-family:"Source Sans 3";font-weight:%d;src:url(data:font/woff2;base64,%s) format('woff2')}`+"\n", f.weight, base64.StdEncoding.EncodeToString(f.data))
	}
	b.WriteString(planCSS)
	for i, k := range p.inks {
		fmt.Fprintf(&b, ".l%d{stroke:%s;stroke-width:%s", i, k.hex, num(k.width*10))
		for n, d := range k.dash {
			sep := " "
			if n == 0 {
				sep = ";stroke-dasharray:"
			}
			b.WriteString(sep + num(d*10))
		}
		words := "#15222c"
		if k.words {
			words = k.hex
		}
		fmt.Fprintf(&b, "}.f%d{fill:%s}.t%d{fill:%s}\n", i, k.hex, i, words)
	}
	b.WriteString("</style>\n")
	fmt.Fprintf(&b, `<path class="w" d="M0 0H%sV%sH0Z"/>`+"\n", num(w*10), num(h*10))
	b.WriteString(p.b.String())
	b.WriteString("</svg>\n")
	return b.Bytes()
}
