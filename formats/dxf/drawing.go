package dxf

import "math"

// Unit is what one drawing unit is, by the values of $INSUNITS.
type Unit int

// The units that lengths of a drawing come in.
const (
	Unitless    Unit = 0
	Inches      Unit = 1
	Feet        Unit = 2
	Millimetres Unit = 4
	Centimetres Unit = 5
	Metres      Unit = 6
	Kilometres  Unit = 7
)

// InMetres is the length of one unit in metres; ok is false for units that are none of a survey. Inch and foot are the
// international ones, 0.0254 m and 0.3048 m exactly (NIST SP 811, B.6); the United States survey foot is 1200/3937 m.
func (u Unit) InMetres() (m float64, ok bool) {
	switch u {
	case Inches:
		return 0.0254, true
	case Feet:
		return 0.3048, true
	case 3:
		return 1609.344, true
	case Millimetres:
		return 0.001, true
	case Centimetres:
		return 0.01, true
	case Metres:
		return 1, true
	case Kilometres:
		return 1000, true
	case 10:
		return 0.9144, true
	case 14:
		return 0.1, true
	case 21:
		return 1200.0 / 3937, true
	}
	return 0, false
}

// String is the unit's word.
func (u Unit) String() string {
	words := map[Unit]string{Unitless: "no unit", Inches: "inches", Feet: "feet", 3: "miles", Millimetres: "millimetres", Centimetres: "centimetres",
		Metres: "metres", Kilometres: "kilometres", 10: "yards", 14: "decimetres", 21: "US survey feet"}
	if w, ok := words[u]; ok {
		return w
	}
	return "a unit that is none of a survey"
}

// Point is a place in a drawing, in drawing units.
type Point struct{ X, Y float64 }

// Layer is a layer of a drawing. The names of R12 are of letters, digits, $, - and _, at most 31 of them.
type Layer struct {
	Name     string
	Colour   int    // 1 to 255, by the index of colours; 7 is black on white paper
	LineType string // empty: CONTINUOUS
}

// LineType is a pattern of dashes: lengths in drawing units, negative for gaps.
type LineType struct {
	Name, Description string
	Dashes            []float64
}

// Style is a text style.
type Style struct {
	Name  string
	Font  string  // "txt" is the one font every reader has
	Width float64 // of a character against the font's own; 0: 1
}

// Block is a group of entities that INSERT sets at places.
type Block struct {
	Name     string
	Base     Point
	Entities []Entity
}

// Drawing is what is written.
type Drawing struct {
	Comments  []string // stand at the head of the file
	Units     Unit
	LineTypes []LineType
	Layers    []Layer
	Styles    []Style
	Blocks    []Block
	Entities  []Entity
}

// Entity is something drawn. R12 knows more kinds; these are the ones a drawing of lines and texts needs.
type Entity interface {
	write(w *writer)
	extent(see func(Point))
}

// Line is one straight line.
type Line struct {
	Layer    string
	From, To Point
}

// Polyline is a chain of straight lines, two points or more.
type Polyline struct {
	Layer  string
	Points []Point
	Closed bool
	Width  float64 // of the pen in drawing units; 0: a hairline
}

// Solid is a filled triangle or quadrilateral, its corners in order round it.
type Solid struct {
	Layer   string
	Corners []Point // three or four
}

// Circle is a circle.
type Circle struct {
	Layer  string
	Centre Point
	Radius float64
}

// Arc is an arc, counter-clockwise from one angle to the other, in degrees from the x axis.
type Arc struct {
	Layer    string
	Centre   Point
	Radius   float64
	From, To float64
}

// Align says where a text stands against its point.
type Align int

// The alignments along the base line.
const (
	Left   Align = 0
	Centre Align = 1
	Right  Align = 2
)

// Text is one line of text on its base line.
type Text struct {
	Layer  string
	At     Point
	Height float64 // of capitals, drawing units
	Turn   float64 // degrees, counter-clockwise
	Align  Align
	Style  string
	Width  float64 // of a character against the font's own; 0: the style's
	Text   string
}

// Insert sets a block.
type Insert struct {
	Layer string
	Block string
	At    Point
	Scale float64 // 0: 1
	Turn  float64 // degrees
}

func (e Line) extent(see func(Point)) { see(e.From); see(e.To) }
func (e Polyline) extent(see func(Point)) {
	for _, p := range e.Points {
		see(p)
	}
}
func (e Solid) extent(see func(Point)) {
	for _, p := range e.Corners {
		see(p)
	}
}
func (e Circle) extent(see func(Point)) { square(e.Centre, e.Radius, see) }
func (e Arc) extent(see func(Point))    { square(e.Centre, e.Radius, see) }
func (e Text) extent(see func(Point))   { see(e.At) }
func (e Insert) extent(see func(Point)) { see(e.At) }

func square(c Point, r float64, see func(Point)) {
	see(Point{c.X - r, c.Y - r})
	see(Point{c.X + r, c.Y + r})
}

// Extent is the box of all entities, zero where there are none. A text and a block count by their point.
func (d *Drawing) Extent() (lo, hi Point) {
	lo, hi = Point{math.Inf(1), math.Inf(1)}, Point{math.Inf(-1), math.Inf(-1)}
	for _, e := range d.Entities {
		e.extent(func(p Point) {
			lo, hi = Point{min(lo.X, p.X), min(lo.Y, p.Y)}, Point{max(hi.X, p.X), max(hi.Y, p.Y)}
		})
	}
	if lo.X > hi.X {
		return Point{}, Point{}
	}
	return lo, hi
}
