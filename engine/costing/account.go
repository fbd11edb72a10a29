package costing

import (
	"fmt"
	"strings"
)

// levers says how each lever is shown: its unit, with … for the currency.
var levers = [numLevers]struct{ name, unit string }{
	EnergyPrice: {"energy price", "…/kWh"}, Hours: {"hours run a day", "h"}, DiscountRate: {"discount rate", "1"}, Life: {"life", "years"},
	LeakRate: {"water leaked a day", "m³"}, Callouts: {"visits a year to a wet pit", "1"}, Repairs: {"repairs a year of a wet pit", "1"},
	ValvePrice: {"price of the air valve", "…"}, SustainingPrice: {"price of the sustaining valve", "…"}, WaterPrice: {"water price", "…/m³"},
	PumpEfficiency: {"pump efficiency, mains to water", "1"}, CarbonPrice: {"carbon price", "…/kg"}, RaisingPrice: {"price of a higher terminal level", "…/m"},
	PumpPrice: {"price of more pump", "…/W"}, RelocationPrice: {"price of a relocation", "…"}, RegradingPrice: {"price of regrading", "…/m"},
}

// String is the lever's name.
func (l Lever) String() string {
	if l >= numLevers {
		return fmt.Sprintf("lever %d", uint8(l))
	}
	return levers[l].name
}

// unit is the lever's unit in a currency.
func (l Lever) unit(currency string) string {
	if currency == "" {
		currency = "currency"
	}
	return strings.ReplaceAll(levers[l].unit, "…", currency)
}

// factors are what each lever is multiplied by.
type factors [numLevers]float64

// asGiven are all levers as they were given.
func asGiven() factors {
	var f factors
	for i := range f {
		f[i] = 1
	}
	return f
}

// account is what a way builds, uses and loses, before prices: enough to price it anew with any lever moved.
type account struct {
	build    factors   // investment by the lever that scales it, in money
	labour   float64   // investment that no lever scales
	power    []float64 // W, by case
	hours    []float64 // a day, by case
	refill   float64   // kWh a year
	water    float64   // m³ a year
	visits   float64   // a year
	repaired float64   // a year
}

// energy is the stations' work in a year (kWh) and its price.
func (c *comparer) energy(a *account, f *factors) (kWh, money float64) {
	p := &c.in.Prices
	for k := range a.power {
		if a.power[k] == 0 {
			continue
		}
		perHour := a.power[k] / 1000 / f[PumpEfficiency] * p.DaysPerYear
		hours := a.hours[k] * f[Hours]
		kWh += perHour * hours
		money += perHour * c.tariff.cost(c.in.Cases[k].window(), hours) * f[EnergyPrice]
	}
	refill := a.refill / f[PumpEfficiency]
	return kWh + refill, money + refill*c.tariff.mean()*f[EnergyPrice]
}

// year prices a year of a way.
func (c *comparer) year(a *account, f *factors) Year {
	p := &c.in.Prices
	kWh, money := c.energy(a, f)
	base, baseMoney := c.energy(&c.account, f)
	y := Year{Energy: kWh, MoreEnergy: kWh - base, Water: a.water * f[LeakRate], Callouts: a.visits * f[Callouts], Repairs: a.repaired * f[Repairs]}
	if c.energyPriced() {
		y.EnergyCost = money - baseMoney
	}
	y.Carbon = y.MoreEnergy * p.Carbon
	y.CarbonCost = y.Carbon * p.CarbonPrice * f[CarbonPrice]
	y.WaterCost = y.Water * p.Water * f[WaterPrice]
	y.CalloutFee = y.Callouts * p.Callout
	y.RepairCost = y.Repairs * p.PitRepair
	y.Cost = y.EnergyCost + y.CarbonCost + y.WaterCost + y.CalloutFee + y.RepairCost
	return y
}

// investment is what a way costs to build.
func (a *account) investment(f *factors) float64 {
	sum := a.labour
	for l := range a.build {
		sum += a.build[l] * f[l]
	}
	return sum
}

// worth is the present value of a way over the line's life.
func (c *comparer) worth(a *account, f *factors) float64 {
	p := &c.in.Prices
	return a.investment(f) + c.year(a, f).Cost*PresentFactor(p.DiscountRate*f[DiscountRate], p.Years*f[Life])
}

func (c *comparer) energyPriced() bool { return c.in.Prices.HasEnergy || len(c.in.Prices.Tariff) > 0 }

// bill gathers a way's investment and what of it has no price.
type bill struct {
	account
	lacks []string
}

// add puts a built thing on the bill.
func (b *bill) add(l Lever, money float64, priced bool, what string) {
	if !priced {
		b.lacks = append(b.lacks, what)
		return
	}
	b.build[l] += money
}

// use looks whether what a year uses has a price.
func (c *comparer) use(b *bill) {
	p := &c.in.Prices
	lack := func(is bool, what string) {
		if is {
			b.lacks = append(b.lacks, what)
		}
	}
	f := asGiven()
	more := c.year(&b.account, &f).MoreEnergy
	lack(more != 0 && !c.energyPriced(), "energy: its price was not given")
	lack(more != 0 && p.HasCarbonPrice && !p.HasCarbon, "carbon: a price was given, but no carbon per kWh")
	lack(b.water > 0 && !p.HasWater, "water: its price was not given")
	lack(b.visits > 0 && !p.HasCallout, "call-outs: the price of a visit was not given")
	lack(b.repaired > 0 && !p.HasPitRepair, "pit repairs: their price was not given")
}

// price puts a bill into a way.
func (c *comparer) price(w *Way, b *bill) {
	if w.Possible {
		c.motors(w, b)
		c.use(b)
	}
	f := asGiven()
	w.NotPriced = b.lacks
	w.Priced = w.Possible && len(b.lacks) == 0
	w.Investment = b.investment(&f)
	if !w.Possible {
		return
	}
	w.Year = c.year(&b.account, &f)
	if w.Priced {
		w.PresentValue = c.worth(&b.account, &f)
		w.Annual = w.PresentValue / c.factor
	}
}
