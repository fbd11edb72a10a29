package landxml

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Decimals of what is written: lengths, stations and levels to 0.1 mm, diameters in mm to 0.01 mm. Read again, they are within half of
// that.
const (
	decimals         = 4
	diameterDecimals = 2
)

// Head is what a file says of itself.
type Head struct {
	Date        string // 2006-01-02; the schema asks for one: empty, 1970-01-01 is written
	Project     string // name
	Description string // of the project: what is schematic, say
	Application string // name of the program
	Version     string // of the program
}

// Write writes alignments and pipe networks as LandXML 1.2, in metres and diameters in millimetres, whatever f.Units says: figures
// of f are metres throughout, diameters too. Lines, curves and irregular lines of alignments are written, designed profiles as points of
// intersection with their curves. What the schema asks for and f has not is an error, as is a figure that is not finite; then nothing
// that was written may be used.
func Write(out io.Writer, f File, h Head) error {
	w := &writer{w: bufio.NewWriter(out)}
	date := h.Date
	if date == "" {
		date = "1970-01-01"
	}
	w.line(`<?xml version="1.0" encoding="UTF-8"?>`)
	w.line(`<LandXML xmlns="http://www.landxml.org/schema/LandXML-1.2" version="1.2" date="%s" time="00:00:00" language="English" readOnly="false">`, w.text(date))
	w.in++
	w.line(`<Units>`)
	w.line(`	<Metric areaUnit="squareMeter" linearUnit="meter" volumeUnit="cubicMeter" temperatureUnit="celsius" pressureUnit="HPA" diameterUnit="millimeter"/>`)
	w.line(`</Units>`)
	w.line(`<Project name="%s" desc="%s"/>`, w.text(h.Project), w.text(h.Description))
	w.line(`<Application name="%s" version="%s"/>`, w.text(h.Application), w.text(h.Version))
	if len(f.Alignments) > 0 {
		w.line(`<Alignments>`)
		w.in++
		for _, a := range f.Alignments {
			w.alignment(a)
		}
		w.in--
		w.line(`</Alignments>`)
	}
	if len(f.Networks) > 0 {
		w.line(`<PipeNetworks>`)
		w.in++
		for _, n := range f.Networks {
			w.network(n)
		}
		w.in--
		w.line(`</PipeNetworks>`)
	}
	w.in--
	w.line(`</LandXML>`)
	if w.err != nil {
		return w.err
	}
	return w.w.Flush()
}

// writer keeps the first error.
type writer struct {
	w   *bufio.Writer
	in  int
	err error
}

func (w *writer) fail(format string, args ...any) {
	if w.err == nil {
		w.err = fmt.Errorf(format, args...)
	}
}

func (w *writer) line(format string, args ...any) {
	if w.err != nil {
		return
	}
	w.w.WriteString(strings.Repeat("\t", w.in))
	fmt.Fprintf(w.w, format, args...)
	w.w.WriteByte('\n')
}

// text is fit for an attribute. Characters that XML cannot hold become U+FFFD.
func (w *writer) text(s string) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case r == '&':
			b.WriteString("&amp;")
		case r == '<':
			b.WriteString("&lt;")
		case r == '>':
			b.WriteString("&gt;")
		case r == '"':
			b.WriteString("&quot;")
		case r == '\t' || r == '\n' || r == '\r':
			fmt.Fprintf(&b, "&#%d;", r)
		case r < ' ' || r == 0xFFFE || r == 0xFFFF:
			b.WriteRune(utf8.RuneError)
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// fixed writes a figure, never −0.
func (w *writer) fixed(v float64, decimals int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		w.fail("a figure that is not finite")
	}
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return s
}

func (w *writer) m(v float64) string { return w.fixed(v, decimals) }

func (w *writer) coord(name string, c Coord) {
	if !c.Is {
		w.fail("%s of a piece of an alignment is not given", name)
		return
	}
	level := ""
	if c.HasLevel {
		level = " " + w.m(c.Level)
	}
	w.line("<%s>%s %s%s</%s>", name, w.m(c.North), w.m(c.East), level, name)
}

func (w *writer) alignment(a Alignment) {
	if a.Name == "" {
		w.fail("an alignment without a name")
	}
	w.line(`<Alignment name="%s" length="%s" staStart="%s">`, w.text(a.Name), w.m(a.Length), w.m(a.Start))
	w.in++
	if len(a.Elements) > 0 {
		w.line("<CoordGeom>")
		w.in++
		for _, e := range a.Elements {
			w.element(e)
		}
		w.in--
		w.line("</CoordGeom>")
	}
	if len(a.Designs)+len(a.Surfaces) > 0 {
		w.line(`<Profile name="%s">`, w.text(a.Name))
		w.in++
		for _, s := range a.Surfaces {
			w.surface(s)
		}
		for _, d := range a.Designs {
			w.design(d)
		}
		w.in--
		w.line(`</Profile>`)
	}
	w.in--
	w.line(`</Alignment>`)
}

func (w *writer) element(e Element) {
	rot := "ccw"
	if e.Clockwise {
		rot = "cw"
	}
	name := map[ElementKind]string{Line: "Line", Curve: "Curve", Irregular: "IrregularLine"}[e.Kind]
	switch e.Kind {
	case Line:
		w.line(`<Line length="%s">`, w.m(e.Length))
	case Curve:
		w.line(`<Curve rot="%s" radius="%s" length="%s">`, rot, w.m(e.Radius), w.m(e.Length))
	case Irregular:
		w.line(`<IrregularLine length="%s">`, w.m(e.Length))
	default:
		w.fail("a spiral cannot be written")
	}
	w.in++
	w.coord("Start", e.Start)
	if e.Kind == Curve {
		w.coord("Center", e.Center)
	}
	w.coord("End", e.End)
	if e.Kind == Irregular {
		var list []string
		for _, p := range e.Points {
			list = append(list, w.m(p.North)+" "+w.m(p.East))
		}
		w.line("<PntList2D>%s</PntList2D>", strings.Join(list, " "))
	}
	w.in--
	w.line("</%s>", name)
}

func (w *writer) design(d ProfAlign) {
	if len(d.Verticals) < 2 {
		w.fail("profile %q has %d points: two are the least", d.Name, len(d.Verticals))
	}
	w.line(`<ProfAlign name="%s">`, w.text(d.Name))
	w.in++
	for _, v := range d.Verticals {
		at := w.m(v.Station) + " " + w.m(v.Level)
		switch v.Kind {
		case ParaCurve:
			w.line(`<ParaCurve length="%s">%s</ParaCurve>`, w.m(v.Length), at)
		case UnsymParaCurve:
			w.line(`<UnsymParaCurve lengthIn="%s" lengthOut="%s">%s</UnsymParaCurve>`, w.m(v.Length), w.m(v.LengthOut), at)
		case CircCurve:
			w.line(`<CircCurve length="%s" radius="%s">%s</CircCurve>`, w.m(v.Length), w.m(v.Radius), at)
		default:
			w.line("<PVI>%s</PVI>", at)
		}
	}
	w.in--
	w.line(`</ProfAlign>`)
}

func (w *writer) surface(s Surface) {
	state := ""
	if s.State != "" {
		state = fmt.Sprintf(` state="%s"`, w.text(s.State))
	}
	w.line(`<ProfSurf name="%s"%s>`, w.text(s.Name), state)
	w.in++
	if w.err == nil {
		w.w.WriteString(strings.Repeat("\t", w.in) + "<PntList2D>")
		for i, p := range s.Points {
			if i > 0 {
				w.w.WriteByte(' ')
			}
			w.w.WriteString(w.m(p.Station) + " " + w.m(p.Level))
		}
		w.w.WriteString("</PntList2D>\n")
	}
	w.in--
	w.line(`</ProfSurf>`)
}

func (w *writer) network(n Network) {
	w.line(`<PipeNetwork name="%s" pipeNetType="%s">`, w.text(n.Name), w.text(n.Type))
	w.in++
	w.line(`<Structs>`)
	w.in++
	for _, s := range n.Structures {
		rim, sump := "", ""
		if s.HasRim {
			rim = fmt.Sprintf(` elevRim="%s"`, w.m(s.Rim))
		}
		if s.HasSump {
			sump = fmt.Sprintf(` elevSump="%s"`, w.m(s.Sump))
		}
		w.line(`<Struct name="%s"%s%s>`, w.text(s.Name), rim, sump)
		w.in++
		w.coord("Center", s.Center)
		w.line(`<Connection/>`)
		for _, v := range s.Inverts {
			w.line(`<Invert elev="%s" flowDir="%s" refPipe="%s"/>`, w.m(v.Level), w.text(v.Flow), w.text(v.Pipe))
		}
		w.in--
		w.line(`</Struct>`)
	}
	w.in--
	w.line(`</Structs>`)
	w.line(`<Pipes>`)
	w.in++
	for _, p := range n.Pipes {
		if p.Name == "" || p.From == "" || p.To == "" {
			w.fail("a pipe without a name or an end")
		}
		w.line(`<Pipe name="%s" refStart="%s" refEnd="%s" length="%s">`, w.text(p.Name), w.text(p.From), w.text(p.To), w.m(p.Length))
		thickness, material := "", ""
		if p.Thickness > 0 {
			thickness = fmt.Sprintf(` thickness="%s"`, w.fixed(p.Thickness*1000, diameterDecimals))
		}
		if p.Material != "" {
			material = fmt.Sprintf(` material="%s"`, w.text(p.Material))
		}
		w.line(`	<CircPipe diameter="%s"%s%s/>`, w.fixed(p.Diameter*1000, diameterDecimals), material, thickness)
		w.line(`</Pipe>`)
	}
	w.in--
	w.line(`</Pipes>`)
	w.in--
	w.line(`</PipeNetwork>`)
}
