package costing

import (
	"context"
	"fmt"
	"math"

	"obvert/physics/valve"
)

const (
	hour = 3600.0 // s
	day  = 24.0   // h
	// usual is the hours a day that a station runs where nobody said: common practice, no source; it leaves room to run longer.
	usual = 20.0 // h
)

// Solve prices every record of the rack in one place. It fails on a faulty input (all faults joined), where Operate fails
// or gives figures that cannot be, and when the context ends.
func Solve(ctx context.Context, in Input) (Result, error) {
	if err := in.Check(); err != nil {
		return Result{}, err
	}
	p := pricer{in: &in}
	p.res = Result{Valve: in.Valve, Run: in.Run, Chainage: in.Chainage, Case: in.Case, HeadNow: in.HeadNow,
		Currency: in.Prices.Currency, Priced: in.Prices.HasEnergy}
	if !in.Base.Possible {
		p.res.Base = Duty{Why: in.Base.Why}
		p.note("costing.no-base", "the line cannot run as it is set in this case: %s. Nothing to compare with", in.Base.Why)
		return p.res, nil
	}
	p.day()
	p.efficiency()
	p.res.Base = p.duty(in.Base)
	p.prices()
	for i := range in.Rack {
		if err := ctx.Err(); err != nil {
			return Result{}, fmt.Errorf("costing: valve %q: stopped at %q: %w", in.Valve, in.Rack[i].Name, err)
		}
		o, err := p.option(ctx, i)
		if err != nil {
			return Result{}, fmt.Errorf("costing: valve %q, with %q in its place: %w", in.Valve, in.Rack[i].Name, err)
		}
		p.res.Options = append(p.res.Options, o)
	}
	return p.res, nil
}

// pricer holds what the steps share.
type pricer struct {
	in  *Input
	res Result
}

func (p *pricer) note(id, format string, args ...any) {
	p.res.Notes = append(p.res.Notes, Note{ID: id, Where: p.in.Valve, Text: fmt.Sprintf(format, args...)})
}

func (p *pricer) assume(format string, args ...any) {
	p.res.Assumed = append(p.res.Assumed, fmt.Sprintf(format, args...))
}

// day finds the volume to be delivered a day.
func (p *pricer) day() {
	in := p.in
	switch {
	case in.Prices.DailyVolume > 0:
		p.res.DailyVolume = in.Prices.DailyVolume
	case in.Hours > 0:
		p.res.DailyVolume = in.Base.Delivered * in.Hours * hour
		p.assume("The volume a day is what the line delivers now in %.4g hours: %.4g m³.", in.Hours, p.res.DailyVolume)
	default:
		p.res.DailyVolume = in.Base.Delivered * usual * hour
		p.assume("Neither hours a day nor a volume a day were given: the line runs %g hours a day (common practice, no source), which delivers %.4g m³.", usual, p.res.DailyVolume)
	}
}

// efficiency finds the base efficiency from mains to water.
func (p *pricer) efficiency() {
	p.res.Efficiency = p.in.Efficiency
	if p.res.Efficiency > 0 {
		return
	}
	b := p.in.Base
	water := p.in.Density * p.in.Gravity * b.Flow * b.Head
	eta := water / b.Power
	if eta > 0 && eta <= 1 {
		p.res.Efficiency = eta
		return
	}
	p.note("costing.no-efficiency", "the pumps put %.4g W into the water and the line takes %.4g W from the mains: no efficiency follows, so there is no rule of thumb", water, b.Power)
}

// prices says what was not priced.
func (p *pricer) prices() {
	if !p.in.Prices.HasEnergy {
		p.note("costing.no-price", "no price of energy was given: energy is reckoned, its cost is not")
	}
	if !p.in.Prices.HasCarbon {
		p.note("costing.no-carbon", "no carbon per kWh was given: carbon is not reckoned")
	}
}

// duty turns a state of the line into a day and a year.
func (p *pricer) duty(o Operating) Duty {
	d := Duty{Flow: o.Flow, Head: o.Head, Power: o.Power, Speed: o.Speed, Possible: o.Possible, Why: o.Why}
	if !o.Possible {
		return Duty{Why: o.Why}
	}
	d.Hours = p.res.DailyVolume / o.Delivered / hour
	d.Energy = d.Power / 1000 * d.Hours * p.in.Prices.DaysPerYear
	// A duty of exactly 24 hours must not fail by rounding.
	if d.Hours > day*(1+1e-9) {
		d.Possible = false
		d.Why = fmt.Sprintf("it would have to run %.1f hours a day for the day's %.4g m³", d.Hours, p.res.DailyVolume)
	}
	return d
}

// option prices one record.
func (p *pricer) option(ctx context.Context, i int) (Option, error) {
	in := p.in
	r := &in.Rack[i]
	o := Option{Record: i, Name: r.Name, Bound: r.Sealing.Bound}
	if !r.Sealing.HasValue() {
		o.Fixed.Why = "its sealing head was not measured"
		o.Variable.Why = o.Fixed.Why
		return o, nil
	}
	o.Sealing = r.SealingHead(in.Density, in.Gravity)
	more := o.Sealing - in.HeadNow
	if more <= 0 && r.Sealing.Bound != valve.MoreThan {
		o.Enough = true
		o.Fixed, o.Variable = p.res.Base, p.res.Base
		return o, nil
	}
	o.RuleOfThumb = p.rule(max(0, more))
	fixed, err := p.operate(ctx, Need{Head: o.Sealing, Mode: FixedSpeed})
	if err != nil {
		return o, fmt.Errorf("at fixed speed: %w", err)
	}
	variable, err := p.operate(ctx, Need{Head: o.Sealing, Mode: VariableSpeed, Flow: in.Base.Delivered})
	if err != nil {
		return o, fmt.Errorf("with the speed changed: %w", err)
	}
	o.Fixed, o.Variable = p.duty(fixed), p.duty(variable)
	o.RaisedHead, o.CostFixed = p.against(o.Fixed)
	o.RaisedVariable, o.CostVariable = p.against(o.Variable)
	if o.Fixed.Possible && in.Prices.HasCarbon {
		o.Carbon = (o.Fixed.Energy - p.res.Base.Energy) * in.Prices.Carbon
	}
	p.remark(&o)
	return o, nil
}

// operate asks for a state of the line and looks at the answer.
func (p *pricer) operate(ctx context.Context, need Need) (Operating, error) {
	o, err := p.in.Operate(ctx, need)
	if err != nil || !o.Possible {
		return o, err
	}
	for _, x := range []float64{o.Delivered, o.Flow, o.Head, o.Power, o.Speed} {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return o, fmt.Errorf("the line was solved for %.3g m at the seat, but not to finite figures: %+v", need.Head, o)
		}
	}
	if o.Delivered <= 0 || o.Power < 0 {
		return o, fmt.Errorf("the line was solved for %.3g m at the seat, but it delivers %.4g m³/s at %.4g W", need.Head, o.Delivered, o.Power)
	}
	return o, nil
}

// against is the head (m) and the cost a year of a duty over the base; 0, 0 where it is not possible.
func (p *pricer) against(d Duty) (head, cost float64) {
	if !d.Possible {
		return 0, 0
	}
	if p.in.Prices.HasEnergy {
		cost = (d.Energy - p.res.Base.Energy) * p.in.Prices.Energy
	}
	return d.Head - p.res.Base.Head, cost
}

// rule is the rule of thumb for a head (m), a year: ρ g Q Δh/η over the base hours (Cengel and Cimbala, ch. 14, for the
// power).
func (p *pricer) rule(head float64) float64 {
	if p.res.Efficiency == 0 || !p.in.Prices.HasEnergy {
		return 0
	}
	power := p.in.Density * p.in.Gravity * p.in.Base.Flow * head / p.res.Efficiency
	return power / 1000 * p.res.Base.Hours * p.in.Prices.DaysPerYear * p.in.Prices.Energy
}

// remark says what a reader of an option must know.
func (p *pricer) remark(o *Option) {
	if o.Bound == valve.MoreThan {
		p.note("costing.at-least", "%s was never seen tight up to %.2f m: it costs at least what is shown, and may never shut", o.Name, o.Sealing)
	}
	if o.Fixed.Possible && o.CostFixed < 0 {
		p.note("costing.saves", "to hold %s shut at fixed speed takes less energy than now: the pumps then work at a better efficiency", o.Name)
	}
	if o.Variable.Possible && o.Variable.Speed > 1 {
		p.note("costing.overspeed", "%s at the flow of now takes %.3f of full speed: the pumps, motors and drive must be made for it", o.Name, o.Variable.Speed)
	}
}
