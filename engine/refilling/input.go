package refilling

import (
	"obvert/line"
)

// Water is a length of a run that is full of water.
type Water struct {
	From, To float64 `unit:"m"` // chainage, From < To
}

// Input is a line, the water that stands in it, and how it is started.
type Input struct {
	Line *line.Line
	Case int // index of the case that runs: its stations and tanks feed the line
	// Water is what stands in each run at the start, by rising chainage; nil: the line is empty, and only tanks that lie above all
	// others, or that stations draw from, feed it.
	Water [][]Water
	// Flow is the throttled start flow of each station that runs; 0: as the case has it, or the pumps' own.
	Flow float64 `unit:"m³/s"`
	// Release is the time at which the throttle is opened; 0: it stays.
	Release float64 `unit:"s"`
	Ramp    float64 `unit:"s"` // from standstill to the start flow or full speed; 0: 10 s
	Horizon float64 `unit:"s"` // 0: twice the time the start flow takes for the line's volume, at least 1 h, at most 30 d
	// Polytropic is the exponent of the air's change of state, 1 to 1.4; 0: 1.2.
	Polytropic float64 `unit:"1"`
	// WaveSpeed is the speed of a pressure wave by run and section; nil: 1,000 m/s, with a note.
	WaveSpeed [][]float64 `unit:"m/s"`
	// Carries tells whether water at a velocity (m/s) drives air down a slope (sine, positive) in a bore (m); nil: never.
	Carries func(slope, bore, velocity float64) bool
	// Sensitivity also solves with n = 1.0 and 1.4.
	Sensitivity bool
	Frames      int // drawings of the strip; 0: 10
	// Limits for LargestStart and for the findings; 0 where there is none.
	SlamLimit float64 `unit:"m"`  // largest sudden rise of head
	AirLimit  float64 `unit:"kg"` // largest mass of air left trapped
}
