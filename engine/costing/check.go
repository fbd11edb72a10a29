package costing

import (
	"errors"
	"fmt"
	"math"

	"obvert/line"
)

// checker gathers faults.
type checker struct {
	name   string
	faults []error
}

func (c *checker) fault(format string, args ...any) {
	c.faults = append(c.faults, fmt.Errorf("costing: %q: "+format, append([]any{c.name}, args...)...))
}

func (c *checker) want(what string, x float64, ok bool, want string) {
	if !ok || math.IsInf(x, 0) || math.IsNaN(x) {
		c.fault("%s is %g: give %s", what, x, want)
	}
}

const (
	positive    = "a finite number above 0"
	notNegative = "a finite number, 0 or more"
)

// Check reports every fault of the input at once, joined; nil where there is none.
func (in *ComparisonInput) Check() error {
	c := &checker{name: in.Name}
	c.want("density of the water (kg/m³)", in.Density, in.Density > 0, positive)
	c.want("gravity (m/s²)", in.Gravity, in.Gravity > 0, positive)
	c.want("head wanted above the sealing head (m)", in.Margin, in.Margin >= 0, notNegative)
	c.want("efficiency from mains to water", in.Efficiency, in.Efficiency >= 0 && in.Efficiency <= 1, "0 (take it from the base) to 1")
	c.want("share by which an input may lie off", in.Share, in.Share >= 0 && in.Share < 1, "0 (take 0.2) or more, below 1")
	for _, l := range []struct {
		what string
		x    float64
	}{{"setting", in.Limits.Setting}, {"raise", in.Limits.Raise}, {"pump head", in.Limits.PumpHead}, {"depth", in.Limits.Depth}} {
		c.want("limit of the "+l.what+" (m)", l.x, l.x >= 0, notNegative)
	}
	c.prices(&in.Prices)
	c.valves(in)
	c.cases(in)
	c.leak(&in.Leak)
	c.ranges(in.Ranges)
	if in.Misfit != nil && len(in.Misfit) != len(in.Rack) {
		c.fault("%d records in the rack, but %d words on whether they fit", len(in.Rack), len(in.Misfit))
	}
	for i := range in.Rack {
		r := &in.Rack[i]
		if r.Sealing.HasValue() {
			c.want(fmt.Sprintf("record %q, sealing pressure (Pa)", r.Name), r.Sealing.Mean, r.Sealing.Mean >= 0, notNegative)
		}
		c.want(fmt.Sprintf("record %q, price", r.Name), r.Price, r.Price >= 0, notNegative)
	}
	if in.Operate == nil {
		c.fault("nothing solves the line: give Operate")
	}
	return errors.Join(c.faults...)
}

func (c *checker) prices(p *line.Prices) {
	for _, x := range []struct {
		what string
		x    float64
	}{
		{"price of energy (per kWh)", p.Energy}, {"carbon of energy (kg/kWh)", p.Carbon}, {"price of water (per m³)", p.Water},
		{"price of a call-out", p.Callout}, {"price of an exchange", p.Exchange}, {"price of a sustaining valve", p.ControlValve},
		{"price of a higher terminal level (per m)", p.Raising}, {"price of more pump (per W)", p.PumpDuty},
		{"price of a relocation", p.Relocation}, {"price of regrading (per m)", p.Regrading}, {"price of a pit's repair", p.PitRepair},
		{"visits a year to a wet pit", p.WetPitCallouts}, {"repairs a year of a wet pit", p.WetPitRepairs},
		{"price of carbon (per kg)", p.CarbonPrice}, {"volume a day (m³)", p.DailyVolume},
	} {
		c.want(x.what, x.x, x.x >= 0, notNegative)
	}
	c.want("days of operation a year", p.DaysPerYear, p.DaysPerYear > 0 && p.DaysPerYear <= 366, "more than 0, up to 366")
	c.want("years of the line's life", p.Years, p.Years > 0 && p.Years <= 1000, "more than 0, up to 1000")
	c.want("discount rate", p.DiscountRate, p.DiscountRate >= 0 && p.DiscountRate <= 1, "0 to 1")
	if _, err := newTariff(*p); err != nil {
		c.fault("%v", err)
	}
}

func (c *checker) valves(in *ComparisonInput) {
	if len(in.Valves) == 0 {
		c.fault("no valve is concerned: give one or more")
	}
	for i := range in.Valves {
		v := &in.Valves[i]
		if !v.Unknown {
			c.want(fmt.Sprintf("valve %q, sealing head (m)", v.Name), v.Sealing, v.Sealing >= 0, notNegative)
		}
		c.want(fmt.Sprintf("valve %q, height of its seat (m)", v.Name), v.Height, true, "a finite number")
		if v.Record < -1 || v.Record >= len(in.Rack) {
			c.fault("valve %q is of record %d of a rack of %d: give its index, or -1 for none", v.Name, v.Record, len(in.Rack))
		}
	}
}

func (c *checker) cases(in *ComparisonInput) {
	running, hours := 0, 0.0
	for i := range in.Cases {
		o := &in.Cases[i]
		c.want(fmt.Sprintf("case %q, hours a day", o.Name), o.Hours, within(o.Hours, 0, day), "0 (not known) to 24")
		from, to := within(o.From, 0, day), within(o.To, 0, day)
		c.want(fmt.Sprintf("case %q, hour from which it runs", o.Name), o.From, from, "0 to 24")
		c.want(fmt.Sprintf("case %q, hour to which it runs", o.Name), o.To, to, "0 to 24")
		if long := o.window().length(); from && to && o.Hours > long*(1+1e-9) {
			c.fault("case %q runs %g hours a day between %g and %g h, which are %g: give fewer hours or a longer time", o.Name, o.Hours, o.From, o.To, long)
		}
		if o.Concerned != nil && len(o.Concerned) != len(in.Valves) {
			c.fault("case %q says of %d valves whether they must hold, there are %d", o.Name, len(o.Concerned), len(in.Valves))
		}
		if o.runs() {
			running++
			hours += o.Hours
		}
	}
	if running == 0 {
		c.fault("in no case does water move steadily: give a pumping or gravity case")
	}
	if hours > day*(1+1e-9) {
		c.fault("all cases together run %g hours a day: give 24 at most", hours)
	}
	if running > 1 {
		for i := range in.Cases {
			if o := &in.Cases[i]; o.runs() && o.Hours == 0 {
				c.fault("case %q has no hours a day: of several cases each needs them", o.Name)
			}
		}
	}
}

func (c *checker) leak(l *Leak) {
	c.want("leak: water lost a day (m³)", l.Water, l.Water >= 0, notNegative)
	c.want("leak: relative uncertainty", l.Uncertainty, l.Uncertainty >= 0, notNegative)
	c.want("leak: restarts a day", l.Starts, l.Starts >= 0, notNegative)
	c.want("leak: water to refill (m³)", l.RefillWater, l.RefillWater >= 0, notNegative)
	c.want("leak: energy to refill (kWh)", l.RefillEnergy, l.RefillEnergy >= 0, notNegative)
	if l.WetPits < 0 {
		c.fault("leak: %d wet pits: give 0 or more", l.WetPits)
	}
}

func (c *checker) ranges(all []Range) {
	seen := map[Lever]bool{}
	for _, r := range all {
		if r.Lever >= numLevers {
			c.fault("range of lever %d: there are %d", r.Lever, numLevers)
			continue
		}
		if seen[r.Lever] {
			c.fault("range of %s: given twice", r.Lever)
		}
		seen[r.Lever] = true
		c.want(fmt.Sprintf("range of %s, low factor", r.Lever), r.Low, within(r.Low, 0, 1), "0 to 1")
		c.want(fmt.Sprintf("range of %s, high factor", r.Lever), r.High, r.High >= 1, "1 or more")
	}
}

// runs tells whether water moves steadily in the case, so that it delivers a share of the day's volume.
func (o *Operation) runs() bool { return o.Kind == line.Pumping || o.Kind == line.Gravity }
