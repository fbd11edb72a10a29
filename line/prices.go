package line

import "obvert/quantity"

// What holds where [survey] and [prices] do not say.
const (
	assumedDatum      = 0.05 // m, standard uncertainty common to all levels of the pipe; common practice, no source
	assumedLevels     = 0.03 // m, of each level by itself; common practice, no source
	assumedRoughSigma = 0.25 // relative, of the roughness; common practice, no source
	assumedDays       = 365
	assumedYears      = 20
	joulePerKWh       = 3.6e6
)

// readSurvey reads [survey]: how well the levels are known.
func (r *reader) readSurvey(root form) {
	s := Survey{Datum: assumedDatum, Independent: assumedLevels, Roughness: assumedRoughSigma, Assumed: true}
	if f, ok := root.sub("survey", "survey"); ok {
		take := func(key string, k quantity.Kind, l limits, into *float64) bool {
			v, ok := f.quantity(key, k, false, l)
			if ok {
				*into = v
			}
			return ok
		}
		datum := take("datum", quantity.Length, sigmaLimits, &s.Datum)
		levels := take("levels", quantity.Length, sigmaLimits, &s.Independent)
		take("roughness", quantity.Ratio, ratioLimits, &s.Roughness)
		s.Assumed = !datum || !levels
	}
	if s.Assumed {
		r.assume("survey.uncertainty", "survey", "The pipe's levels are known to "+quantity.Format(s.Datum, "mm", 0)+" in common and "+
			quantity.Format(s.Independent, "mm", 0)+" each (standard uncertainties; common practice, no source).")
	}
	r.line.Survey = s
}

// readPractice reads [practice]: each threshold as a text with its unit, or as a table with value and source.
func (r *reader) readPractice(root form) {
	p := DefaultPractice()
	r.line.Practice = p
	f, ok := root.sub("practice", "practice")
	if !ok {
		return
	}
	named := false
	if p.Name, named = f.name("name", false); !named {
		p.Name = r.line.Practice.Name
	}
	long := limits{10, 1e6, "m", 0}
	slope := limits{1e-6, 10, "%", 4}
	changed := false
	for _, t := range []struct {
		key  string
		k    quantity.Kind
		l    limits
		into *Threshold
	}{
		{"spacing", quantity.Length, long, &p.Spacing},
		{"high_point", quantity.Length, limits{0.001, 1000, "m", 3}, &p.HighPointProminence},
		{"slope_change", quantity.Slope, slope, &p.SlopeChange},
		{"flat", quantity.Slope, limits{0, 10, "%", 0}, &p.Flat},
		{"displaced", quantity.Length, limits{0.001, 1e5, "m", 3}, &p.Displaced},
		{"drips", quantity.Ratio, ratioLimits, &p.Drips},
		{"filling_velocity", quantity.Speed, limits{0.001, 10, "m/s", 3}, &p.FillingVelocity},
		{"admit_differential", quantity.PressureDifference, limits{100, 1e5, "kPa", 1}, &p.AdmitDifferential},
		{"vent_differential", quantity.PressureDifference, limits{100, 1e6, "kPa", 1}, &p.VentDifferential},
		{"collapse_factor", plainNumber, limits{1, 20, "1", 0}, &p.CollapseFactor},
		{"slam", quantity.Length, limits{0.1, 1000, "m", 1}, &p.Slam},
		{"released_air", quantity.Ratio, limits{0, 0.5, "%", 0}, &p.ReleasedAir},
		{"drain_velocity", quantity.Speed, limits{0.001, 10, "m/s", 3}, &p.DrainVelocity},
		{"stopped_leak", quantity.Flow, limits{1e-12, 1, "L/s", 12}, &p.StoppedLeak},
	} {
		if r.readThreshold(f, t.key, t.k, t.l, t.into) {
			changed = true
		}
	}
	if changed && !named {
		p.Name = "usual practice, changed by the user"
	}
	r.line.Practice = p
}

// userSource stands where a threshold was changed without a source.
const userSource = "set in line.toml, no source given"

// plainNumber stands for a threshold without a dimension, in place of a kind of quantity.
const plainNumber quantity.Kind = 0

// readThreshold reads one threshold, as a value or as a table with value and source.
func (r *reader) readThreshold(f form, key string, k quantity.Kind, l limits, into *Threshold) bool {
	if !f.has(key) {
		return false
	}
	if _, _, _, scalar := f.t.Raw(key); scalar {
		v, ok := f.figure(key, k, false, l)
		if ok {
			into.Value, into.Source = v, userSource
		}
		return ok
	}
	sub, ok := f.sub(key, "practice."+key)
	if !ok {
		return false
	}
	v, ok := sub.figure("value", k, true, l)
	source, sourced := sub.text("source", false)
	if ok {
		into.Value = v
	}
	into.Source = userSource
	if sourced {
		into.Source = source
	}
	return ok
}

// figure reads a value with its unit, or a plain number.
func (f form) figure(key string, k quantity.Kind, required bool, l limits) (float64, bool) {
	if k != plainNumber {
		return f.quantity(key, k, required, l)
	}
	f.asked(key)
	v, ok := f.t.Float(key, required)
	return v, ok && f.within(key, v, l)
}

// readPrices reads [prices].
func (r *reader) readPrices(root form) {
	p := Prices{DaysPerYear: assumedDays, Years: assumedYears, PitArea: assumedPitArea}
	defer func() { r.line.Prices = p }()
	f, ok := root.sub("prices", "prices")
	if !ok {
		r.assumePit(p.PitArea)
		return
	}
	if c, ok := f.text("currency", false); ok {
		if _, _, err := quantity.ParseMoney(quantity.Money, "1 "+c); err != nil {
			f.fault("currency", quantity.Quote(c)+" is not a currency", "", "write its ISO 4217 code, such as \"EUR\"")
		} else {
			p.Currency = c
		}
	}
	p.Energy, p.HasEnergy = f.money("energy", quantity.MoneyPerEnergy, &p.Currency)
	p.Energy *= joulePerKWh
	p.Water, p.HasWater = f.money("water", quantity.MoneyPerVolume, &p.Currency)
	p.Callout, p.HasCallout = f.money("callout", quantity.Money, &p.Currency)
	p.Carbon, p.HasCarbon = f.quantity("carbon", quantity.MassPerEnergy, false, limits{0, 1e-5, "kg/kWh", 1})
	p.Carbon *= joulePerKWh
	if v, ok := f.number("days_per_year", limits{0.01, 366, "1", 2}); ok {
		p.DaysPerYear = v
	}
	if v, ok := f.number("years", limits{0.1, 200, "1", 1}); ok {
		p.Years = v
	}
	p.DiscountRate, _ = f.quantity("discount_rate", quantity.Ratio, false, ratioLimits)
	p.DailyVolume, _ = f.quantity("daily_volume", quantity.Volume, false, limits{0, 1e9, "m³", 0})
	if v, ok := f.quantity("standing", quantity.Time, false, dayLimits); ok {
		p.HoursStanding = v / 3600
	}
	r.readTariff(f, &p)
	r.readWaysOut(f, &p)
	r.readPits(f, &p)
}

// dayLimits is a time within a day.
var dayLimits = limits{0, 86400, "h", 0}
