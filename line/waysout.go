package line

import (
	"fmt"
	"strings"

	"obvert/quantity"
)

// What holds for pits where [prices] does not say.
const (
	assumedPitArea    = 1.0 // m², plan of a pit; common practice, no source
	assumedWetVisits  = 1.0 // a year to a pit whose valve drips; common practice, no source
	assumedWetRepairs = 0.1 // a year of a pit whose valve drips; common practice, no source
)

// readWaysOut reads what the ways out cost: other valves, other levels, other pumps, another course.
func (r *reader) readWaysOut(f form, p *Prices) {
	p.Exchange, p.HasExchange = f.money("exchange", quantity.Money, &p.Currency)
	p.ControlValve, p.HasControlValve = f.money("control_valve", quantity.Money, &p.Currency)
	p.Raising, p.HasRaising = f.moneyPer("raising", quantity.Length, "m", &p.Currency)
	p.PumpDuty, p.HasPumpDuty = f.moneyPer("pump_duty", quantity.Power, "kW", &p.Currency)
	p.Relocation, p.HasRelocation = f.money("relocation", quantity.Money, &p.Currency)
	p.Regrading, p.HasRegrading = f.moneyPer("regrading", quantity.Length, "m", &p.Currency)
	p.CarbonPrice, p.HasCarbonPrice = f.moneyPer("carbon_price", quantity.Mass, "t", &p.Currency)
}

// readPits reads what a wet pit costs, and its size.
func (r *reader) readPits(f form, p *Prices) {
	p.PitRepair, p.HasPitRepair = f.money("pit_repair", quantity.Money, &p.Currency)
	visits, hasVisits := f.number("wet_pit_visits", limits{0, 366, "1", 0})
	repairs, hasRepairs := f.number("wet_pit_repairs", limits{0, 366, "1", 0})
	area, hasArea := f.quantity("pit_area", quantity.Area, false, limits{0.01, 1000, "m²", 2})
	p.PitVolume, _ = f.quantity("pit_volume", quantity.Volume, false, limits{0.001, 1e4, "m³", 3})
	p.WetPitCallouts, p.WetPitRepairs = visits, repairs
	if !hasVisits && !f.t.Has("wet_pit_visits") && p.HasCallout {
		p.WetPitCallouts = assumedWetVisits
		r.assume("prices.wet-pit-visits", "prices", "A pit whose valve drips is visited once a year for it (common practice, no source).")
	}
	if !hasRepairs && !f.t.Has("wet_pit_repairs") && p.HasPitRepair {
		p.WetPitRepairs = assumedWetRepairs
		r.assume("prices.wet-pit-repairs", "prices", "A pit whose valve drips is repaired once in ten years for it (common practice, no source).")
	}
	if hasArea {
		p.PitArea = area
	} else if !f.t.Has("pit_area") {
		r.assumePit(p.PitArea)
	}
}

func (r *reader) assumePit(area float64) {
	r.assume("prices.pit-area", "prices", "A pit has "+quantity.Format(area, "m²", 1)+" on plan (common practice, no source).")
}

// moneyPer reads a price for each unit of a quantity, such as "5200 EUR/m", in the line's currency and per SI unit.
func (f form) moneyPer(key string, k quantity.Kind, example string, currency *string) (float64, bool) {
	text, ok := f.text(key, false)
	if !ok {
		return 0, false
	}
	hint := fmt.Sprintf("write it with its currency and unit, such as \"5200 EUR/%s\"", example)
	amount, unit, parted := cutLast(text, "/")
	if !parted {
		f.fault(key, fmt.Sprintf("%s is not a price for each %s", quantity.Quote(text), example), "nothing stands behind a \"/\"", hint)
		return 0, false
	}
	v, c, err := quantity.ParseMoney(quantity.Money, amount)
	if err != nil {
		f.fault(key, fmt.Sprintf("%s is not a price for each %s", quantity.Quote(text), example), quantity.Quote(amount)+" is no amount of money", hint)
		return 0, false
	}
	each, err := quantity.Parse(k, "1 "+strings.TrimSpace(unit))
	if err != nil || each <= 0 {
		f.fault(key, fmt.Sprintf("%s is not a price for each %s", quantity.Quote(text), example), quantity.Quote(unit)+" is not "+k.String()+"'s unit", hint)
		return 0, false
	}
	if *currency == "" {
		*currency = c
	}
	if c != *currency {
		f.fault(key, "is in another currency than the rest", c+" where the prices are in "+*currency, "give every price in "+*currency)
		return 0, false
	}
	v /= each
	return v, f.within(key, v, moneyLimits)
}

// cutLast parts a text at the last mark in it.
func cutLast(s, mark string) (before, after string, found bool) {
	i := strings.LastIndex(s, mark)
	if i < 0 {
		return s, "", false
	}
	return s[:i], s[i+len(mark):], true
}
