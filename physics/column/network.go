package column

import (
	"obvert/physics/opening"
	"obvert/physics/pipe"
)

// Network is pipes between nodes, the air valves on them and what stands at their ends. It is not changed by [Run] and may
// serve several runs at the same time.
type Network struct {
	Pipes []Pipe
	Nodes []Node

	Density     float64 `unit:"kg/m³"` // of the water
	Gravity     float64 `unit:"m/s²"`  // local
	Atmosphere  float64 `unit:"Pa"`    // absolute, outside
	Temperature float64 `unit:"K"`     // of the air outside and of that in the pipe before it is compressed
	Vapour      float64 `unit:"Pa"`    // absolute, of the water; 0 leaves out the check for parted columns
	// Polytropic is the exponent n of p ~ (m/V)^n: 1.0 isothermal to 1.4 adiabatic; 0: [DefaultPolytropic].
	Polytropic float64 `unit:"1"`
	// Cooled lets air leave at the temperature outside, as if the wall had cooled it on its way; else it leaves at that of its pocket,
	// which compression has warmed: less mass then passes an opening.
	Cooled bool
	// Carries tells whether water that flows at a velocity (m/s) down a slope (sine, positive downhill) in a bore (m) drives
	// the air before it as a plug. nil: never, water that passes a crest runs down beneath the air.
	Carries func(slope, bore, velocity float64) bool
}

// Point is a point of a pipe's profile.
type Point struct {
	Distance float64 `unit:"m"` // of pipe from its From node, not falling; two points may share one (a vertical step is not a pipe: give it its length)
	Level    float64 `unit:"m"` // of the pipe's axis above datum
}

// Section is a stretch of pipe of one bore. Sections follow one another without gap.
type Section struct {
	From, To  float64   `unit:"m"` // distance
	Bore      float64   `unit:"m"`
	Law       *pipe.Law // friction; nil: Friction
	Friction  float64   `unit:"1"`   // Darcy's factor, the same at all flows, where Law is nil
	Loss      float64   `unit:"1"`   // local loss coefficients K on v²/2g, spread over the section
	WaveSpeed float64   `unit:"m/s"` // of a pressure wave; 0: 1,000 m/s
	Rating    float64   `unit:"Pa"`  // largest allowed pressure, gauge; 0 where not known
}

// Vent is an air valve, or any opening through which air and nothing else passes.
type Vent struct {
	Name     string
	Distance float64         `unit:"m"`
	In, Out  opening.Opening // air into the pipe and out of it; nil passes nothing that way
	// From a differential StageAt of air flowing out, Pa, Staged stands in place of Out, until the differential falls to StageOff.
	Staged            opening.Opening
	StageAt, StageOff float64 `unit:"Pa"` // StageAt 0: no stage
	// From a differential CloseAt of air flowing out, Pa, the float is carried shut; then Small alone passes air until the differential falls to ReopenAt.
	CloseAt, ReopenAt float64         `unit:"Pa"` // CloseAt 0: never
	Small             opening.Opening // air out while the large orifice is shut; nil: none
	// Residual is Cd·A of what still passes water once water has shut the valve, m².
	Residual float64 `unit:"m²"`
}

// Check is a check valve in a pipe: water passes it towards the pipe's end only.
type Check struct {
	Distance float64 `unit:"m"`
	Reverse  bool    // towards the pipe's beginning only
}

// Pipe runs from one node to another.
type Pipe struct {
	Name     string
	From, To int // indices into Network.Nodes
	Points   []Point
	Sections []Section
	Vents    []Vent
	Checks   []Check
}

// NodeKind says what stands at a node.
type NodeKind uint8

// The kinds of node.
const (
	Junction NodeKind = iota // pipes meet
	Tank                     // a water surface above the pipe's end
	Station                  // pumps that draw from a water surface
	Outlet                   // the pipe ends in the air
	Closed                   // the pipe's end is shut
)

// Lift is the head of pumps by their flow.
type Lift interface {
	// Head returns the head, m, at a flow, m³/s, and its derivative, s/m².
	Head(q float64) (h, dhdq float64)
}

// Node is an end of pipes.
type Node struct {
	Name  string
	Kind  NodeKind
	Level float64 `unit:"m"`  // of a tank's water, or of that which a station draws from, above datum
	Area  float64 `unit:"m²"` // of a tank's water; 0: the level does not change
	Loss  float64 `unit:"1"`  // K on v²/2g where water enters the pipe from a tank or station, besides the velocity head itself

	Pumps     Lift    // of a station, running; nil: they stand still
	Flow      float64 `unit:"m³/s"` // to which a station, or a booster, is throttled; 0: as the pumps give
	FreeAt    float64 `unit:"s"`    // time at which the throttle is opened; 0: never
	Ramp      float64 `unit:"s"`    // in which flow and head of a station rise from nothing; 0: 1 s
	NoCheck   bool    // water may run back through the station
	Booster   bool    // a junction with pumps: their head is added where pipes begin here, as far as the head before them stays above 0.5 to 2.5 m
	Demand    float64 `unit:"m³/s"` // drawn off at a junction while water stands there
	Hole      float64 `unit:"m²"`   // Cd·A of an opening to the air at a junction: a scour, a burst; 0: none
	HoleLevel float64 `unit:"m"`    // at which it lets out, above datum
	HoleBore  float64 `unit:"m"`    // its diameter, for the water that it sets in motion
}

// Water is a length of pipe full of water.
type Water struct {
	Pipe     int
	From, To float64 `unit:"m"` // distance, From < To
}

// DefaultPolytropic is the exponent of the air's change of state where none is given: between isothermal (slow, in
// contact with a wall) and adiabatic (fast). 1.2 is the usual compromise (common practice, no source).
const DefaultPolytropic = 1.2
