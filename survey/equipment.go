package survey

import "obvert/line"

// Pump is one row or block of a table of pumps: one pump, or several that are alike.
type Pump struct {
	Station string // the pump station it belongs to; may be empty
	Name    string
	Alike   int // how many there are of it, 1 or more
	// The points of its curves at full speed, by rising flow. Curve has two points or more, the others may be empty.
	Curve        [][2]float64 `unit:"m³/s,m"` // flow and head
	Efficiency   [][2]float64 `unit:"m³/s,1"` // flow and efficiency, 0–1
	NPSH         [][2]float64 `unit:"m³/s,m"` // flow and required net positive suction head
	AxisLevel    float64      `unit:"m"`      // of the impeller's eye, where HasAxisLevel
	HasAxisLevel bool
	Origin       Origin
}

// Valve is one row of a table of air valves.
type Valve struct {
	Name      string
	Run       string  // the run it stands on, where the table says; may be empty
	Chainage  float64 `unit:"m"`
	Type      string  // as the table has it: the name of a record on the rack, or whatever stood there
	Height    float64 `unit:"m"` // of the seat above the pipe's obvert, where HasHeight
	HasHeight bool
	Remark    string
	Origin    Origin
}

// Fitting is one row of a table of other equipment in the pipe.
type Fitting struct {
	Name     string // may be empty
	Kind     line.EquipmentKind
	Run      string  // the run it stands on, where the table says; may be empty
	Chainage float64 `unit:"m"`
	Bore     float64 `unit:"m"`    // 0 where not given; a scour always has one
	Setting  float64 `unit:"m"`    // of a sustaining or reducing valve, which always has one: pressure head at the obvert
	Flow     float64 `unit:"m³/s"` // of a flow control valve, which always has one
	Loss     float64 `unit:"1"`    // local loss coefficient K when open, where HasLoss
	HasLoss  bool
	Closed   bool // an isolating valve that is shut
	Remark   string
	Origin   Origin
}

// Origin is where in a file a record stands.
type Origin struct {
	Table string // the sheet, or the file where it has none
	Row   int    // line or row in the file, from 1
}
