package costing

import (
	"context"
	"errors"
	"fmt"
	"math"

	"obvert/line"
	"obvert/physics/valve"
)

// Mode says how the pumps are to find a head.
type Mode uint8

// The modes.
const (
	FixedSpeed    Mode = iota // at the speed they run at now; the flow is what comes of it
	VariableSpeed             // at the speed that keeps the base flow
)

// Need is what a way of operating must bring about.
type Need struct {
	Head float64 `unit:"m"` // gauge, at the valve's seat, at least
	Mode Mode
	Flow float64 `unit:"m³/s"` // to be delivered with VariableSpeed: the base's Delivered
}

// Operating is the line in one way of operating, as its hydraulics give it.
type Operating struct {
	Delivered float64 `unit:"m³/s"` // what counts towards the day's volume
	Flow      float64 `unit:"m³/s"` // through the station concerned
	Head      float64 `unit:"m"`    // added by its pumps
	Power     float64 `unit:"W"`    // electric, all stations of the line
	Speed     float64 `unit:"1"`    // relative, 1 at full speed
	Possible  bool    // false: the pumps cannot do it; see Why
	Why       string  // a plain clause
}

// Operate solves the line with a required head at the valve's seat. It answers with Possible false where the pumps cannot
// bring it about, and with an error only where the solving itself failed.
type Operate func(ctx context.Context, need Need) (Operating, error)

// Input is what [Solve] needs.
type Input struct {
	Valve    string // name of the placed valve
	Run      int
	Chainage float64 `unit:"m"`
	Case     int

	Density float64 `unit:"kg/m³"` // of the water in hand
	Gravity float64 `unit:"m/s²"`  // local
	Prices  line.Prices
	Hours   float64 `unit:"h"` // a day in this case as it runs now; 0 where not given

	Base    Operating // as the line runs now
	HeadNow float64   `unit:"m"` // gauge, at the valve's seat, as it runs now; where the valve is open, the obvert's level less the seat's
	// Efficiency of the station concerned at the base duty, from the mains to the water, for the rule of thumb. 0: taken
	// from Base, which is right where the line has one station.
	Efficiency float64 `unit:"1"`
	Rack       []valve.Record
	Operate    Operate
}

// Check reports every fault of the input at once, joined; nil where there is none.
func (in *Input) Check() error {
	var faults []error
	fault := func(format string, args ...any) {
		faults = append(faults, fmt.Errorf("costing: valve %q: "+format, append([]any{in.Valve}, args...)...))
	}
	check := func(what string, x float64, ok bool, want string) {
		if !ok || math.IsInf(x, 0) || math.IsNaN(x) {
			fault("%s is %g: give %s", what, x, want)
		}
	}
	const positive, notNegative = "a finite number above 0", "a finite number, 0 or more"
	check("density of the water (kg/m³)", in.Density, in.Density > 0, positive)
	check("gravity (m/s²)", in.Gravity, in.Gravity > 0, positive)
	check("hours a day", in.Hours, in.Hours >= 0 && in.Hours <= 24, "0 (not known) to 24")
	check("head at the seat (m)", in.HeadNow, true, "a finite number; negative where the water's surface lies below the seat")
	check("efficiency from mains to water", in.Efficiency, in.Efficiency >= 0 && in.Efficiency <= 1, "0 (take it from the base) to 1")
	check("price of energy (per kWh)", in.Prices.Energy, in.Prices.Energy >= 0, notNegative)
	check("carbon of energy (kg/kWh)", in.Prices.Carbon, in.Prices.Carbon >= 0, notNegative)
	check("days of operation a year", in.Prices.DaysPerYear, in.Prices.DaysPerYear > 0 && in.Prices.DaysPerYear <= 366, "more than 0, up to 366")
	check("volume a day (m³)", in.Prices.DailyVolume, in.Prices.DailyVolume >= 0, notNegative)
	if in.Base.Possible {
		check("base: flow delivered (m³/s)", in.Base.Delivered, in.Base.Delivered > 0, positive)
		check("base: flow of the station (m³/s)", in.Base.Flow, in.Base.Flow > 0, positive)
		check("base: head added by the pumps (m)", in.Base.Head, true, "a finite number")
		check("base: electric power (W)", in.Base.Power, in.Base.Power > 0, positive)
	}
	for i := range in.Rack {
		if t := in.Rack[i].Sealing; t.HasValue() {
			check(fmt.Sprintf("record %q, sealing pressure (Pa)", in.Rack[i].Name), t.Mean, t.Mean >= 0, notNegative)
		}
	}
	if in.Operate == nil {
		fault("nothing solves the line: give Operate")
	}
	return errors.Join(faults...)
}
