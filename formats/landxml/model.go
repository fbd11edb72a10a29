// Package landxml reads and writes alignments, profiles and pipe networks of LandXML files.
//
// Source: LandXML-1.2 schema, landxml.org (2008), and its forerunners 1.0 and 1.1, from memory. Names are matched without their
// namespace, which differs between the versions. Figures stay in the file's own units; [Units] says what they are worth. Stations
// are internal ones: the schema's type station is "the actual measured distance along the geometry … where no station equations are
// applied".
package landxml

// Limits of what is read.
const (
	MaxPoints = 5_000_000 // points of all lists together
	MaxThings = 200_000   // alignments, profiles, geometry, structures and pipes together
)

// Units are what figures of a file are worth.
type Units struct {
	Linear       float64 // m per unit of length; 0: not said, or not understood
	LinearName   string  // as written
	Diameter     float64 // m per unit of a pipe's diameter; 0: not said
	DiameterName string
	Imperial     bool
	Line         int
}

// Coord is a point: north, east and maybe a level, in the file's units.
type Coord struct {
	North, East, Level float64
	Is, HasLevel       bool
	ref                string // name of a point given elsewhere
}

// ElementKind is the kind of a piece of an alignment.
type ElementKind uint8

// The kinds of piece.
const (
	Line ElementKind = iota
	Curve
	Spiral
	Irregular // a chain of points
)

// Element is a piece of an alignment.
type Element struct {
	Kind               ElementKind
	Start, Center, End Coord
	Length             float64 // as written, or reckoned where it is not and can be
	Radius             float64
	Clockwise          bool
	Points             []Coord // of an irregular line, its ends among them
	Line               int
}

// Equation is a station equation: how stations shown differ from internal ones from a place on.
type Equation struct{ Ahead, Back, Internal float64 }

// VerticalKind is the kind of a point of vertical intersection.
type VerticalKind uint8

// The kinds: none, parabola, parabola of two lengths, circle.
const (
	PVI VerticalKind = iota
	ParaCurve
	UnsymParaCurve
	CircCurve
)

// Vertical is a point of vertical intersection with its curve.
type Vertical struct {
	Kind              VerticalKind
	Station, Level    float64
	Length, LengthOut float64 // of the curve; LengthOut of an unsymmetrical one
	Radius            float64
	Line              int
}

// ProfAlign is a designed profile.
type ProfAlign struct {
	Name      string
	Verticals []Vertical
	Line      int
}

// Surface is the profile of a surface: the ground.
type Surface struct {
	Name, State string
	Points      []StationLevel
	Line        int
}

// StationLevel is a point of a profile.
type StationLevel struct {
	Station, Level float64
	Line           int32
}

// Alignment is an alignment with its profiles.
type Alignment struct {
	Name          string
	Start         float64 // station of its beginning
	Length        float64 // as written
	Elements      []Element
	Equations     []Equation
	Designs       []ProfAlign
	Surfaces      []Surface
	Line          int
	CrossSections bool
}

// Structure is a node of a pipe network.
type Structure struct {
	Name      string
	Center    Coord
	Rim, Sump float64
	HasRim    bool
	HasSump   bool
	Inverts   []Invert
	Line      int
}

// Invert is the level of the invert of a pipe at a structure.
type Invert struct {
	Level float64
	Pipe  string
	Flow  string // "in", "out" or "both", seen from the structure
}

// Pipe is a pipe of a network.
type Pipe struct {
	Name, From, To string
	Length         float64 // as written, 0 where not
	Diameter       float64 // in units of diameter; 0 where the pipe is not circular or it is not given
	Thickness      float64
	Material       string
	Shape          string // CircPipe, EggPipe …
	Line           int
}

// Network is a pipe network.
type Network struct {
	Name, Type string
	Structures []Structure
	Pipes      []Pipe
	Line       int
}

// File is what a file holds.
type File struct {
	Version     string
	Application string
	Units       Units
	EPSG        int    // of the coordinate system; 0 where not given
	CRS         string // its name
	Alignments  []Alignment
	Networks    []Network
	Surfaces    int // terrain models, not read
	Other       []string
}
