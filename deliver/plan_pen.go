package deliver

import "math"

// ink is a layer of the drawn sheet: what is drawn with it, in the trade's word, and its pen.
type ink struct {
	layer  string    // in DXF
	colour int       // in DXF, by the index of colours
	hex    string    // in SVG
	width  float64   // of the pen, mm, in SVG; in DXF the pen goes by its colour
	dash   []float64 // mm; nil: a solid line
	words  bool      // texts on it are in its colour
}

// The inks of the sheet. Widths follow the look's: quiet hairlines, ink for water, pipe and state.
var (
	inkFrame     = ink{layer: "FRAME", colour: 7, hex: "#15222c", width: 0.7}
	inkTitle     = ink{layer: "TITLE-BLOCK", colour: 7, hex: "#15222c", width: 0.25}
	inkNotes     = ink{layer: "NOTES", colour: 7, hex: "#4c5a65", width: 0.18, words: true}
	inkHair      = ink{layer: "HAIRLINES", colour: 9, hex: "#c9d0d5", width: 0.15}
	inkEarth     = ink{layer: "EARTH", colour: 9, hex: "#f6f5f2"}
	inkGround    = ink{layer: "GROUND", colour: 34, hex: "#6d6557", width: 0.25, words: true}
	inkHatch     = ink{layer: "GROUND-HATCH", colour: 34, hex: "#6d6557", width: 0.18}
	inkObvert    = ink{layer: "OBVERT", colour: 7, hex: "#15222c", width: 0.35}
	inkInvert    = ink{layer: "INVERT", colour: 7, hex: "#15222c", width: 0.25}
	inkWater     = ink{layer: "WATER", colour: 4, hex: "#8cc4e8"}
	inkPool      = ink{layer: "STANDING-LEVEL", colour: 5, hex: "#00609c", width: 0.25, words: true}
	inkDatum     = ink{layer: "DATUM", colour: 7, hex: "#15222c", width: 0.5}
	inkStaff     = ink{layer: "LEVEL-SCALE", colour: 7, hex: "#15222c", width: 0.18}
	inkChainage  = ink{layer: "CHAINAGE-SCALE", colour: 7, hex: "#4c5a65", width: 0.18, words: true}
	inkStem      = ink{layer: "LEADERS", colour: 8, hex: "#4c5a65", width: 0.15}
	inkValve     = ink{layer: "AIR-VALVES", colour: 7, hex: "#15222c", width: 0.25}
	inkEquipment = ink{layer: "EQUIPMENT", colour: 7, hex: "#15222c", width: 0.3}
	inkNode      = ink{layer: "TANKS-AND-PUMPS", colour: 7, hex: "#15222c", width: 0.35}
	inkRule      = ink{layer: "BANDS", colour: 8, hex: "#9aa5ad", width: 0.18}
	inkHead      = ink{layer: "BAND-HEADS", colour: 7, hex: "#15222c", width: 0.18}
	inkFigure    = ink{layer: "FIGURES", colour: 7, hex: "#15222c", width: 0.18}
	inkMatch     = ink{layer: "MATCH-LINES", colour: 7, hex: "#15222c", width: 0.35, dash: []float64{8, 1.5, 1.5, 1.5}}
)

// stateInks are the inks of valves' states by the mark's class.
var stateInks = map[string]ink{
	"tight":   {layer: "STATE-TIGHT", colour: 94, hex: "#00795a", width: 0.25, words: true},
	"drips":   {layer: "STATE-DRIPS", colour: 32, hex: "#b84a00", width: 0.25, words: true},
	"open":    {layer: "STATE-OPEN", colour: 204, hex: "#6a3d9a", width: 0.35, words: true},
	"empty":   {layer: "STATE-EMPTY", colour: 8, hex: "#63696d", width: 0.25, words: true},
	"unknown": {layer: "STATE-NOT-KNOWN", colour: 8, hex: "#4c5a65", width: 0.25, words: true},
}

// gradeInk is the ink of a case's grade line: the highest line has the heaviest pen, filling is dashed, and each other line has
// its own pattern, so that black and white reads the same.
func gradeInk(rank, caseIndex int, filling bool) ink {
	k := ink{layer: "GRADE-LINE-" + grouped(float64(caseIndex+1)), colour: 5, hex: "#4a5a8c", width: 0.3, words: true}
	switch {
	case filling:
		k.hex, k.colour, k.width, k.dash = "#4c5a65", 8, 0.25, []float64{2.4, 1.2}
	case rank == 0:
		k.hex, k.colour, k.width = "#15222c", 7, 0.45
	case rank > 1:
		k.dash = [][]float64{{6, 1}, {6, 1, 1, 1}, {3, 0.8, 0.8, 0.8, 0.8, 0.8}, {1.2, 0.8}}[(rank-2)%4]
	}
	return k
}

// shape is a sign of the sheet; in DXF each is a block.
type shape uint8

const (
	shapeTight shape = iota
	shapeDrips
	shapeOpen
	shapeEmpty
	shapeUnknown
	shapeWater // the triangle of a water surface, its point on it
)

// shapeOf is the sign of a state.
func shapeOf(m mark) shape {
	switch m {
	case markTight:
		return shapeTight
	case markDrips:
		return shapeDrips
	case markOpen:
		return shapeOpen
	case markEmpty:
		return shapeEmpty
	}
	return shapeUnknown
}

// pen draws in millimetres of paper, x to the right and y downwards from the sheet's upper left corner. The sheet is composed
// once; each kind of file is one pen.
type pen interface {
	line(k ink, a, b pt)
	polyline(k ink, p []pt)
	// fill fills an area; a file of lines alone may leave it out where it says nothing that the lines do not.
	fill(k ink, p []pt)
	// solid fills three or four corners in every file.
	solid(k ink, p []pt)
	circle(k ink, c pt, r float64)
	// text sets one line of text of capitals h high with its base line at p, turned clockwise by degrees.
	text(k ink, p pt, s string, h float64, bold bool, turn float64, a anchor)
	shape(k ink, s shape, c pt, r float64)
}

// Text heights of ISO 3098-1, mm.
var textHeights = []float64{1.8, 2.5, 3.5, 5, 7}

// capital is the height of a capital of Source Sans 3 in em, from the font's OS/2 table.
const capitalHeight = 0.66

// strokeWide is the advance of a character in the DXF's text style, in heights of a capital: the font of strokes that every
// reader has advances by one height, and the style narrows it.
const strokeWide = 0.72

// planWidth is the width of a text on the sheet: of the two fonts it may be set in, the wider.
func planWidth(s string, h float64, bold bool) float64 {
	n := 0
	for range s {
		n++
	}
	return math.Max(TextWidth(s, h/capitalHeight, bold), float64(n)*h*strokeWide)
}

// planWrap breaks a text into lines no wider than width.
func planWrap(s string, h float64, bold bool, width float64) []string {
	f := face{size: h / capitalHeight, bold: bold}
	lines := f.wrap(s, width)
	for try := 0; try < 12; try++ { // the other font may be wider
		widest := 0.0
		for _, l := range lines {
			widest = max(widest, planWidth(l, h, bold))
		}
		if widest <= width {
			break
		}
		lines = f.wrap(s, width*(1-0.04*float64(try+1)))
	}
	return lines
}

// planBox is the box of the ink of a text on the sheet.
func planBox(p pt, s string, h float64, bold bool, turn float64, a anchor) box {
	w := planWidth(s, h, bold)
	left := 0.0
	switch a {
	case middle:
		left = -w / 2
	case end:
		left = -w
	}
	const above, below = 1.06, 0.31 // of a capital's height: inkAbove and inkBelow
	cx, cy := left+w/2, (below-above)/2*h
	sin, cos := math.Sincos(turn * math.Pi / 180)
	return box{x: p.x + cx*cos - cy*sin, y: p.y + cx*sin + cy*cos, w: w, h: (above + below) * h, turn: turn * math.Pi / 180}
}
