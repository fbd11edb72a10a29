package deliver

import (
	"fmt"
	"strings"

	"obvert/formats/dxf"
)

// dxfPen draws sheets into one DXF drawing, each with its upper left corner at a place of the model space.
type dxfPen struct {
	d     dxf.Drawing
	at    dxf.Point // of the upper left corner
	known map[string]bool
}

// planStyle is the DXF's text style.
const planStyle = "SHEET"

func newDXFPen() *dxfPen {
	p := &dxfPen{known: map[string]bool{}}
	p.d.Units = dxf.Millimetres
	p.d.Styles = []dxf.Style{{Name: planStyle, Font: "txt", Width: strokeWide}}
	p.blocks()
	return p
}

func (p *dxfPen) to(q pt) dxf.Point { return dxf.Point{X: p.at.X + q.x, Y: p.at.Y - q.y} }

func (p *dxfPen) all(q []pt) []dxf.Point {
	out := make([]dxf.Point, len(q))
	for i := range q {
		out[i] = p.to(q[i])
	}
	return out
}

// layer enters an ink's layer when it is first used.
func (p *dxfPen) layer(k ink) string {
	if p.known[k.layer] {
		return k.layer
	}
	p.known[k.layer] = true
	l := dxf.Layer{Name: k.layer, Colour: k.colour}
	if len(k.dash) > 0 {
		l.LineType = p.lineType(k.dash)
	}
	p.d.Layers = append(p.d.Layers, l)
	return k.layer
}

// lineType enters a pattern of dashes.
func (p *dxfPen) lineType(dash []float64) string {
	name, text := "DASH", "Dashes and gaps in mm:"
	t := dxf.LineType{}
	for i, d := range dash {
		name += "-" + strings.ReplaceAll(fmt.Sprint(d), ".", "_")
		text += " " + fmt.Sprint(d)
		if i%2 == 1 {
			d = -d
		}
		t.Dashes = append(t.Dashes, d)
	}
	t.Name, t.Description = name, text
	for _, k := range p.d.LineTypes {
		if k.Name == name {
			return name
		}
	}
	p.d.LineTypes = append(p.d.LineTypes, t)
	return name
}

func (p *dxfPen) add(e dxf.Entity) { p.d.Entities = append(p.d.Entities, e) }

func (p *dxfPen) line(k ink, a, b pt) {
	p.add(dxf.Line{Layer: p.layer(k), From: p.to(a), To: p.to(b)})
}

func (p *dxfPen) polyline(k ink, q []pt) {
	if len(q) > 1 {
		p.add(dxf.Polyline{Layer: p.layer(k), Points: p.all(q)})
	}
}

// fill draws nothing: earth and water are areas between lines that are drawn.
func (p *dxfPen) fill(ink, []pt) {}

func (p *dxfPen) solid(k ink, q []pt) { p.add(dxf.Solid{Layer: p.layer(k), Corners: p.all(q)}) }

func (p *dxfPen) circle(k ink, c pt, r float64) {
	p.add(dxf.Circle{Layer: p.layer(k), Centre: p.to(c), Radius: r})
}

func (p *dxfPen) text(k ink, q pt, s string, h float64, _ bool, turn float64, a anchor) {
	if strings.TrimSpace(s) == "" {
		return
	}
	align := [...]dxf.Align{start: dxf.Left, middle: dxf.Centre, end: dxf.Right}[a]
	p.add(dxf.Text{Layer: p.layer(k), At: p.to(q), Height: h, Turn: -turn, Align: align, Style: planStyle, Text: s})
}

// blockNames are the signs' names as blocks.
var blockNames = [...]string{shapeTight: "VALVE-TIGHT", shapeDrips: "VALVE-DRIPS", shapeOpen: "VALVE-OPEN", shapeEmpty: "VALVE-EMPTY", shapeUnknown: "VALVE-NOT-KNOWN", shapeWater: "WATER-LEVEL"}

func (p *dxfPen) shape(k ink, s shape, c pt, r float64) {
	p.add(dxf.Insert{Layer: p.layer(k), Block: blockNames[s], At: p.to(c), Scale: r})
}

// blocks draws the signs with radius 1, on layer 0 so that they take the colour of the layer they are set on.
func (p *dxfPen) blocks() {
	chain := func(q ...dxf.Point) (out []dxf.Entity) {
		for i := range q {
			out = append(out, dxf.Line{Layer: "0", From: q[i], To: q[(i+1)%len(q)]})
		}
		return out
	}
	disc := func(r float64) (out []dxf.Entity) { // a filled circle as sixteen triangles' worth of quadrilaterals
		for _, q := range discQuads(r) {
			out = append(out, dxf.Solid{Layer: "0", Corners: q})
		}
		return out
	}
	ring := func(r float64) dxf.Entity { return dxf.Circle{Layer: "0", Radius: r} }
	drop := append(disc(0.9), dxf.Solid{Layer: "0", Corners: []dxf.Point{{X: -0.78, Y: 0.45}, {X: 0.78, Y: 0.45}, {X: 0, Y: 1.7}}})
	p.d.Blocks = []dxf.Block{
		{Name: blockNames[shapeTight], Entities: append(disc(1), ring(1))},
		{Name: blockNames[shapeDrips], Entities: drop},
		{Name: blockNames[shapeOpen], Entities: []dxf.Entity{ring(1), ring(0.8)}},
		{Name: blockNames[shapeEmpty], Entities: chain(dxf.Point{Y: 1.2}, dxf.Point{X: 1.2}, dxf.Point{Y: -1.2}, dxf.Point{X: -1.2})},
		{Name: blockNames[shapeUnknown], Entities: append(disc(0.3), dxf.Arc{Layer: "0", Radius: 1, From: 20, To: 160}, dxf.Arc{Layer: "0", Radius: 1, From: 200, To: 340})},
		{Name: blockNames[shapeWater], Entities: append(chain(dxf.Point{X: -1, Y: 1.7}, dxf.Point{X: 1, Y: 1.7}, dxf.Point{}),
			dxf.Line{Layer: "0", From: dxf.Point{X: -0.8, Y: -0.5}, To: dxf.Point{X: 0.8, Y: -0.5}}, dxf.Line{Layer: "0", From: dxf.Point{X: -0.4, Y: -0.9}, To: dxf.Point{X: 0.4, Y: -0.9}})},
	}
}

// discQuads are quadrilaterals that fill a circle, by its sine at steps of 22.5°.
func discQuads(r float64) (out [][]dxf.Point) {
	sin := [...]float64{0, 0.3826834, 0.7071068, 0.9238795, 1}
	at := func(i int) dxf.Point { // from the top, right side
		if i <= 4 {
			return dxf.Point{X: r * sin[i], Y: r * sin[4-i]}
		}
		return dxf.Point{X: r * sin[8-i], Y: -r * sin[i-4]}
	}
	for i := range 8 {
		a, b := at(i), at(i+1)
		q := []dxf.Point{a, b, {X: -b.X, Y: b.Y}, {X: -a.X, Y: a.Y}}
		switch i {
		case 0:
			q = []dxf.Point{a, b, {X: -b.X, Y: b.Y}}
		case 7:
			q = []dxf.Point{a, b, {X: -a.X, Y: a.Y}}
		}
		out = append(out, q)
	}
	return out
}
