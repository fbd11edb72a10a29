package grade

import (
	"errors"
	"fmt"

	"obvert/line"
)

// Need is a head that somebody wants at a place: a sustaining valve set there would keep it.
type Need struct {
	Run      int
	Chainage float64 `unit:"m"`
	Head     float64 `unit:"m"` // level of the grade line above datum, at least
}

// Leak is a valve that drips: standing water ends at its seat.
type Leak struct {
	Run      int
	Chainage float64 `unit:"m"`
	Seat     float64 `unit:"m"` // level above datum
}

// Pocket is air that stands trapped in a falling leg and does not go away. Water runs under it with a free surface, so the grade line falls along it as the pipe
// does.
type Pocket struct {
	Run  int
	From float64 `unit:"m"` // chainage of its upper end; To may be less, in a leg that falls towards the run's beginning
	To   float64 `unit:"m"` // chainage of its lower end
}

// Input is one case of a line.
type Input struct {
	Net  *Net
	Case int // index into the line's cases
	Need []Need
	// Leaks are valves through which a line at rest has drained as far as their seats, and that let air in.
	Leaks []Leak
	// Pockets are trapped air that the flow has to pass; they count in cases that flow.
	Pockets []Pocket
	// RoughnessFactor multiplies the roughness of every section; 0 means 1.
	RoughnessFactor float64 `unit:"1"`
	// SpeedFactor multiplies the speed of every running pump; 0 means 1. A drive that holds a flow or a head finds its own speed all the same.
	SpeedFactor float64 `unit:"1"`
	// Guess, where not nil, gives the flow in m³/s from which the iteration starts, by element; for tests of uniqueness.
	Guess func(element int) float64

	day *dayCase // what a moment of a day changes; nil for a case as it is
	// order, where not nil, lets air into one run at a time, in the order it gives to a round's runs; for tests of its effect.
	order func(runs int) []int
}

// kase is the case with what the moment of a day changes in it.
func (in Input) kase() *line.Case {
	if in.day != nil {
		return in.day.kase
	}
	return &in.Net.Line.Cases[in.Case]
}

// Check names everything in the input that cannot be solved.
func (in Input) Check() error {
	if in.Net == nil {
		return errors.New("grade: no net")
	}
	l := in.Net.Line
	var faults []error
	fault := func(format string, a ...any) { faults = append(faults, fmt.Errorf("grade: "+format, a...)) }
	known := in.Case >= 0 && in.Case < len(l.Cases)
	if !known {
		fault("no case %d; the line has %d", in.Case, len(l.Cases))
	}
	for _, w := range in.Need {
		if w.Run < 0 || w.Run >= len(l.Runs) {
			fault("no run %d", w.Run)
		}
	}
	for _, k := range in.Leaks {
		if k.Run < 0 || k.Run >= len(l.Runs) {
			fault("a leak on run %d: there is no such run", k.Run)
		}
	}
	if in.RoughnessFactor < 0 || in.SpeedFactor < 0 {
		fault("roughness and speed factors must not be negative")
	}
	if known {
		faults = append(faults, in.checkPockets()...)
		faults = append(faults, in.Net.checkCase(in.kase())...)
	}
	return errors.Join(faults...)
}
