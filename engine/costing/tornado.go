package costing

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"obvert/num"
	"obvert/quantity"
)

// breakEven compares the best way with the second.
func (c *comparer) breakEven() {
	if c.res.Second < 0 {
		return
	}
	dear, other := c.res.Best, c.res.Second
	if c.res.Ways[dear].Investment < c.res.Ways[other].Investment {
		dear, other = other, dear
	}
	d, o := &c.res.Ways[dear], &c.res.Ways[other]
	e := BreakEven{Found: true, Dearer: dear, Other: other, More: d.Investment - o.Investment, Saves: o.Year.Cost - d.Year.Cost}
	e.Years, e.Pays = payback(e.More, e.Saves, c.in.Prices.DiscountRate)
	switch {
	case e.More == 0:
		e.Text = fmt.Sprintf("%s and %s cost the same to build.", d.Name, o.Name)
	case e.Pays:
		e.Text = fmt.Sprintf("%s costs %s more to build than %s and saves %s a year: it has paid for itself after %.1f years.", d.Name, c.money(e.More), o.Name, c.money(e.Saves), e.Years)
	case e.Saves <= 0:
		e.Text = fmt.Sprintf("%s costs %s more to build than %s and saves nothing: it never pays for itself.", d.Name, c.money(e.More), o.Name)
	default:
		e.Text = fmt.Sprintf("%s costs %s more to build than %s and saves %s a year, too little for the interest on it or for %.0f years: it never pays for itself.", d.Name, c.money(e.More), o.Name, c.money(e.Saves), never)
	}
	if x, ok := c.evenPrice(); ok {
		e.EnergyPrice, e.HasEnergyPrice = x, true
		e.Text += fmt.Sprintf(" Both cost the same at %s per kWh.", c.price4(e.EnergyPrice))
	}
	c.res.BreakEven = e
}

// evenPrice is the mean price of energy at which the best way and the second cost the same, 0 or more. Their difference is
// a straight line in the price. Where energy costs nothing now, the price is the same at all hours.
func (c *comparer) evenPrice() (float64, bool) {
	best, second := &c.bills[c.res.Best].account, &c.bills[c.res.Second].account
	f := asGiven()
	f[EnergyPrice] = 0
	o := c.outlook(f)
	without := c.worth(best, o) - c.worth(second, o) // with energy for nothing
	f[EnergyPrice] = 1
	o = c.outlook(f)
	mean, more := c.meanPrice(), c.worth(best, o)-c.worth(second, o)-without
	if mean == 0 {
		mean, more = 1, (c.year(best, o).Energy-c.year(second, o).Energy)*o.present
	}
	if more == 0 || !c.energyPriced() {
		return 0, false
	}
	x := -without / more
	return x * mean, x >= 0
}

// meanPrice is what a kWh costs now, over all hours the line runs.
func (c *comparer) meanPrice() float64 {
	f := asGiven()
	if kWh, money := c.energy(&c.account, &f); kWh > 0 {
		return money / kWh
	}
	return c.tariff.mean()
}

// efficiency is that of all stations now, from the mains to the water; ok is false where it cannot be told.
func (c *comparer) efficiency() (eta float64, ok bool) {
	if c.in.Efficiency > 0 {
		return c.in.Efficiency, true
	}
	water, mains := 0.0, 0.0
	for k := range c.base {
		s := &c.base[k]
		water += c.in.Density * c.in.Gravity * s.Flow * s.Head * c.account.hours[k]
		mains += s.Power * c.account.hours[k]
	}
	if mains <= 0 {
		return 0, false
	}
	eta = water / mains
	return eta, eta > 0 && eta <= 1
}

// total is how many hours a day the line runs now.
func (a *account) total() float64 {
	sum := 0.0
	for _, h := range a.hours {
		sum += h
	}
	return sum
}

// span is a lever's value, its range and how far its turn is looked for, as factors.
type span struct {
	value        float64
	low, high    float64 // range
	least, most  float64 // of the search for a turn
	source, clip string
}

// farthest is the factor up to which a turn is looked for.
const farthest = 10

// span is that of a lever; ok is false where it has no value that could move.
func (c *comparer) span(l Lever) (s span, ok bool) {
	p := &c.in.Prices
	share := c.in.Share
	if share == 0 {
		share = 0.2
	}
	s = span{low: 1 - share, high: 1 + share, most: farthest, source: fmt.Sprintf("±%.0f %%, chosen, no source", 100*share)}
	switch l {
	case EnergyPrice:
		if c.energyPriced() {
			s.value = c.meanPrice()
		}
	case Hours:
		s.value = c.account.total()
		s.most = day / c.longest()
	case DiscountRate:
		s.value = p.DiscountRate
		s.most = min(s.most, 1/p.DiscountRate)
	case Life:
		s.value, s.least = p.Years, 1/max(p.Years, 1)
	case LeakRate:
		if s.value = c.in.Leak.Water; c.in.Leak.Uncertainty > 0 {
			u := 2 * c.in.Leak.Uncertainty
			s.low, s.high, s.source = max(0, 1-u), 1+u, "twice its standard uncertainty"
		}
	case Callouts:
		s.value = p.WetPitCallouts
	case Repairs:
		s.value = p.WetPitRepairs
	case WaterPrice:
		s.value = p.Water
	case PumpEfficiency:
		s.value, ok = c.efficiency()
		if !ok {
			return s, false
		}
		s.least, s.most = 0.1, 1/s.value
	case CarbonPrice:
		s.value = p.CarbonPrice
	case ValvePrice:
		s.value = c.built(l)
	case SustainingPrice:
		s.value = p.ControlValve
	case RaisingPrice:
		s.value = p.Raising
	case PumpPrice:
		s.value = p.PumpDuty
	case RelocationPrice:
		s.value = p.Relocation
	case RegradingPrice:
		s.value = p.Regrading
	}
	for _, r := range c.in.Ranges {
		if r.Lever == l {
			s.low, s.high, s.source = r.Low, r.High, r.Source
		}
	}
	if s.low < s.least {
		s.low, s.clip = s.least, "no lower value makes sense"
	}
	if s.high > s.most && (l == Hours || l == PumpEfficiency || l == DiscountRate) {
		s.high, s.clip = max(1, s.most), map[Lever]string{Hours: "more hours do not fit into the day", PumpEfficiency: "no more than 1", DiscountRate: "no more than 1"}[l]
	}
	s.most = max(s.most, s.high)
	return s, s.value > 0
}

// longest is the most hours a day of any way in the order.
func (c *comparer) longest() float64 {
	h := c.account.total()
	for i := range c.bills {
		if c.res.Ways[i].Priced {
			h = max(h, c.bills[i].total())
		}
	}
	return h
}

// built is what the best way and the second spend on what a lever scales.
func (c *comparer) built(l Lever) float64 {
	return max(c.bills[c.res.Best].build[l], c.bills[c.res.Second].build[l])
}

// tornado moves every lever by itself.
func (c *comparer) tornado() {
	if c.res.Second < 0 {
		return
	}
	for l := range numLevers {
		if s, ok := c.span(l); ok {
			c.res.Tornado = append(c.res.Tornado, c.bar(l, s))
		}
	}
	slices.SortStableFunc(c.res.Tornado, func(a, b Bar) int { return cmp.Compare(b.Swing, a.Swing) })
}

// bar is one lever's.
func (c *comparer) bar(l Lever, s span) Bar {
	best, second := &c.bills[c.res.Best].account, &c.bills[c.res.Second].account
	with := func(x float64) *outlook {
		f := asGiven()
		f[l] = x
		return c.outlook(f)
	}
	lead := func(x float64) float64 { o := with(x); return c.worth(best, o) - c.worth(second, o) }
	b := Bar{Lever: l, Name: l.String(), Unit: l.unit(c.in.Prices.Currency), Value: s.value, Low: s.low * s.value, High: s.high * s.value,
		AtLow: lead(s.low), AtHigh: lead(s.high), To: -1}
	now := lead(1)
	b.Swing = max(math.Abs(b.AtLow-now), math.Abs(b.AtHigh-now))
	ahead := func(x float64) (float64, int) { return c.ahead(with(x)) }
	for _, end := range []float64{s.least, s.most} {
		x, ok := turn(func(x float64) float64 { m, _ := ahead(x); return m }, end)
		if !ok || b.Turns && math.Abs(x-1) >= math.Abs(b.Turn/s.value-1) {
			continue
		}
		_, to := ahead(x + 1e-6*(end-x))
		b.Turns, b.Turn, b.To = true, x*s.value, to
		b.InRange = x >= s.low && x <= s.high
	}
	b.Text = c.barText(&b, &s)
	return b
}

// ahead is by how much the best way, or one of its kind, is cheaper than the cheapest of the others; to is that one.
func (c *comparer) ahead(o *outlook) (m float64, to int) {
	own, other := math.Inf(1), math.Inf(1)
	alone := c.kin(c.res.Second) // all are of one kind: the best stands against the others
	for i := range c.bills {
		if !c.res.Ways[i].Priced {
			continue
		}
		w := c.worth(&c.bills[i].account, o)
		if i == c.res.Best || c.kin(i) && !alone {
			own = min(own, w)
		} else if w < other {
			other, to = w, i
		}
	}
	return other - own, to
}

// turn is the value nearest to 1, on the way from 1 to an end, at which a margin that is not negative at 1 becomes so.
func turn(margin func(float64) float64, end float64) (float64, bool) {
	const parts = 6
	last := 1.0
	for i := 1; i <= parts && end != 1; i++ {
		x := 1 + (end-1)*float64(i)/parts
		if margin(x) < 0 {
			if margin(last) <= 0 {
				return last, true
			}
			r, out := num.Root(margin, last, x, 1e-12)
			return r, out.OK()
		}
		last = x
	}
	return 0, false
}

func (c *comparer) barText(b *Bar, s *span) string {
	show := func(x float64) string { return quantity.Number(x, digits(x)) }
	unit := ""
	if b.Unit != "1" {
		unit = "\u00a0" + b.Unit
	}
	text := fmt.Sprintf("%s %s%s, range %s to %s (%s", b.Name, show(b.Value), unit, show(b.Low), show(b.High), s.source)
	if s.clip != "" {
		text += "; " + s.clip
	}
	text += "): "
	switch {
	case !b.Turns:
		return text + fmt.Sprintf("no value from %s to %s changes which way is cheapest.", show(s.least*s.value), show(s.most*s.value))
	case b.InRange:
		return text + fmt.Sprintf("at %s, inside the range, %s becomes the cheapest.", show(b.Turn), c.name(b.To))
	}
	return text + fmt.Sprintf("no value in the range changes which way is cheapest; at %s %s would.", show(b.Turn), c.name(b.To))
}

func (c *comparer) name(way int) string {
	if way < 0 {
		return "another way"
	}
	return c.res.Ways[way].Name
}

// digits is how many decimals show four figures.
func digits(x float64) int {
	if x == 0 || math.Abs(x) >= 1000 {
		return 0
	}
	return min(8, 3-int(math.Floor(math.Log10(math.Abs(x)))))
}

func (c *comparer) money(v float64) string {
	text := quantity.Number(v, 0)
	if c.in.Prices.Currency != "" {
		text += "\u00a0" + c.in.Prices.Currency
	}
	return text
}

func (c *comparer) price4(v float64) string {
	text := quantity.Number(v, 4)
	if c.in.Prices.Currency != "" {
		text += "\u00a0" + c.in.Prices.Currency
	}
	return text
}
