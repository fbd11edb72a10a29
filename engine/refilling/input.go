package refilling

import (
	"errors"
	"fmt"
	"math"

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
	// Water is what stands in each run at the start, by rising chainage; nil: the line is empty, and then the tanks that it does not
	// begin at are taken as open ends, into which it delivers from above.
	Water [][]Water
	// Flow is the throttled start flow of each station that runs, or of the feeding tank where none does; 0: as the case has it, or
	// what pumps and levels give.
	Flow       float64 `unit:"m³/s"`
	Release    float64 `unit:"s"` // time at which the throttle is opened; 0: it stays
	Ramp       float64 `unit:"s"` // from standstill to the start flow or full speed; 0: 10 s
	Horizon    float64 `unit:"s"` // 0: by volume and flow, at least 1 h, at most 30 d
	Polytropic float64 `unit:"1"` // exponent of the air's change of state, 1 to 1.4; 0: 1.2
	// WaveSpeed is the speed of a pressure wave by run and section; nil: 1,000 m/s, with a note.
	WaveSpeed [][]float64 `unit:"m/s"`
	// Carries tells whether water at a velocity (m/s) drives air down a slope (sine, positive) in a bore (m); nil: never.
	Carries     func(slope, bore, velocity float64) bool
	Sensitivity bool // also with n = 1.0 and 1.4
	Frames      int  // drawings of the strip; 0: 10

	// Limits for LargestStart and for the notes; 0 where there is none.
	SlamLimit float64 `unit:"m"`  // largest sudden rise of head
	AirLimit  float64 `unit:"kg"` // largest mass of air left trapped

	quick bool // figures alone: no frames, no series
	halt  bool // end a run as soon as it breaks a limit: a trial start
}

// DefaultRamp is the time of run-up where none is given, s (common practice, no source).
const DefaultRamp = 10.0

// Check returns every fault of the input at once, joined; nil where there is none.
func (in *Input) Check() error {
	var f []error
	add := func(format string, a ...any) { f = append(f, fmt.Errorf("refilling: "+format, a...)) }
	if in.Line == nil {
		add("no line")
		return errors.Join(f...)
	}
	l := in.Line
	if in.Case < 0 || in.Case >= len(l.Cases) {
		add("case %d of %d: name one that the line has", in.Case, len(l.Cases))
	} else if k := l.Cases[in.Case].Kind; k == line.Standing {
		add("case %q stands: name one that flows to start with", l.Cases[in.Case].Name)
	}
	for _, v := range []struct {
		what string
		v    float64
	}{{"start flow (m³/s)", in.Flow}, {"time of opening the throttle (s)", in.Release}, {"ramp (s)", in.Ramp}, {"horizon (s)", in.Horizon},
		{"slam limit (m)", in.SlamLimit}, {"limit of trapped air (kg)", in.AirLimit}} {
		if !(v.v >= 0) || math.IsInf(v.v, 0) {
			add("%s is %g: give 0 or more", v.what, v.v)
		}
	}
	if n := in.Polytropic; n != 0 && !(n >= 1 && n <= 1.4) {
		add("polytropic exponent is %g: give 1 (isothermal) to 1.4 (adiabatic), or 0 for 1.2", n)
	}
	if in.Water != nil && len(in.Water) != len(l.Runs) {
		add("water is given for %d runs of %d: give one list for each", len(in.Water), len(l.Runs))
	}
	for i := range min(len(in.Water), len(l.Runs)) {
		in.checkWater(i, add)
	}
	in.checkSpeeds(add)
	return errors.Join(f...)
}

func (in *Input) checkWater(i int, add func(string, ...any)) {
	r := &in.Line.Runs[i]
	first, last := r.Points[0].Chainage, r.Points[len(r.Points)-1].Chainage
	at := math.Inf(-1)
	for k, w := range in.Water[i] {
		switch {
		case !(w.From < w.To):
			add("water %d on %s: from %g to %g m: From must lie below To", k+1, r.Name, w.From, w.To)
		case w.From < first-1e-6 || w.To > last+1e-6:
			add("water %d on %s: from %g to %g m; the run goes from %g to %g m", k+1, r.Name, w.From, w.To, first, last)
		case w.From < at:
			add("water %d on %s: begins at %g m, within the length before it", k+1, r.Name, w.From)
		}
		at = w.To
	}
}

func (in *Input) checkSpeeds(add func(string, ...any)) {
	if in.WaveSpeed == nil {
		return
	}
	if len(in.WaveSpeed) != len(in.Line.Runs) {
		add("wave speeds are given for %d runs of %d", len(in.WaveSpeed), len(in.Line.Runs))
		return
	}
	for i := range in.WaveSpeed {
		if len(in.WaveSpeed[i]) != len(in.Line.Runs[i].Sections) {
			add("wave speeds are given for %d sections of %d on %s", len(in.WaveSpeed[i]), len(in.Line.Runs[i].Sections), in.Line.Runs[i].Name)
		}
		for k, a := range in.WaveSpeed[i] {
			if !(a >= 0 && a <= 2000) {
				add("wave speed of section %d on %s is %g m/s: give one up to 1,500 m/s, or 0 where it is not known", k+1, in.Line.Runs[i].Name, a)
			}
		}
	}
}
