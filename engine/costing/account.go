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
	build     factors   // investment by the lever that scales it, in money
	labour    float64   // investment that no lever scales
	power     []float64 // W, by case
	hours     []float64 // a day, by case
	delivered []float64 // m³/s, by case
	refill    float64   // kWh a year
	water     float64   // m³ a year, lost
	refilled  float64   // m³ a year of it that refilling brings back
	lift      float64   // kWh to bring a m³ of the rest to the line's end again
	visits    float64   // a year
	repaired  float64   // a year

	// What stations gives at the hours as given, kept once the account is closed: no other lever changes it otherwise than in
	// proportion.
	kWh, money float64
	closed     bool
}

// close keeps what the stations' work and its price are at the levers as given.
func (c *comparer) close(a *account) {
	a.kWh, a.money = c.stations(a, 1)
	a.closed = true
}

// energy is the work of a year (kWh) and its price: that of the stations in their cases, of refilling, and of pumping what is
// lost without being refilled, so that the same volume arrives.
func (c *comparer) energy(a *account, f *factors) (kWh, money float64) {
	kWh, money = c.stations(a, f[Hours])
	more := a.refill + a.lift*max(0, a.water*f[LeakRate]-a.refilled)
	kWh += more
	money += more * c.tariff.mean()
	return kWh / f[PumpEfficiency], money / f[PumpEfficiency] * f[EnergyPrice]
}

// stations is the work of a year (kWh) in all cases and its price, with all hours multiplied by a factor.
func (c *comparer) stations(a *account, stretch float64) (kWh, money float64) {
	if a.closed && stretch == 1 {
		return a.kWh, a.money
	}
	for k := range a.power {
		if a.power[k] == 0 {
			continue
		}
		perHour := a.power[k] / 1000 * c.in.Prices.DaysPerYear
		hours := a.hours[k] * stretch
		kWh += perHour * hours
		money += perHour * c.tariff.cost(c.in.Cases[k].window(), hours)
	}
	return kWh, money
}

// perVolume is the work of all stations (kWh) for a m³ delivered, as the line runs now.
func (c *comparer) perVolume() float64 {
	kWh, _ := c.stations(&c.account, 1)
	return kWh / (c.volume * c.in.Prices.DaysPerYear)
}

// outlook is the levers at certain values, with what all ways have in common there.
type outlook struct {
	factors
	kWh, money float64 // a year, of the line as it runs now
	present    float64 // value of 1 a year
}

func (c *comparer) outlook(f factors) *outlook {
	p := &c.in.Prices
	o := &outlook{factors: f, present: PresentFactor(p.DiscountRate*f[DiscountRate], p.Years*f[Life])}
	o.kWh, o.money = c.energy(&c.account, &f)
	return o
}

// year prices a year of a way.
func (c *comparer) year(a *account, o *outlook) Year {
	p := &c.in.Prices
	kWh, money := c.energy(a, &o.factors)
	y := Year{Energy: kWh, MoreEnergy: kWh - o.kWh, Water: a.water * o.factors[LeakRate], Callouts: a.visits * o.factors[Callouts], Repairs: a.repaired * o.factors[Repairs]}
	if c.energyPriced() {
		y.EnergyCost = money - o.money
	}
	y.Carbon = y.MoreEnergy * p.Carbon
	y.CarbonCost = y.Carbon * p.CarbonPrice * o.factors[CarbonPrice]
	y.WaterCost = y.Water * p.Water * o.factors[WaterPrice]
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
func (c *comparer) worth(a *account, o *outlook) float64 {
	return a.investment(&o.factors) + c.year(a, o).Cost*o.present
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
	more := c.year(&b.account, c.outlook(asGiven())).MoreEnergy
	lack(more != 0 && !c.energyPriced(), "energy: its price was not given")
	lack(more != 0 && p.HasCarbonPrice && !p.HasCarbon, "carbon: a price was given, but no carbon per kWh")
	lack(b.water > 0 && !p.HasWater, "water: its price was not given")
	lack(b.visits > 0 && !p.HasCallout, "call-outs: the price of a visit was not given")
	lack(b.repaired > 0 && !p.HasPitRepair, "pit repairs: their price was not given")
}

// price puts a bill into a way.
func (c *comparer) price(w *Way, b *bill) {
	if w.Possible {
		c.close(&b.account)
		c.motors(w, b)
		c.use(b)
	}
	o := c.outlook(asGiven())
	w.NotPriced = b.lacks
	w.Priced = w.Possible && len(b.lacks) == 0
	w.Investment = b.investment(&o.factors)
	if !w.Possible {
		return
	}
	w.Year = c.year(&b.account, o)
	if w.Priced {
		w.PresentValue = c.worth(&b.account, o)
		w.Annual = w.PresentValue / c.factor
	}
}
