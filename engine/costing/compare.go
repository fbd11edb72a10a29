package costing

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"obvert/line"
)

// Compare tries every way out with the hydraulics and prices them side by side over the life of the line. It fails on a
// faulty input (all faults joined), where Operate fails or gives figures that cannot be, and when the context ends.
func Compare(ctx context.Context, in ComparisonInput) (Comparison, error) {
	if err := in.Check(); err != nil {
		return Comparison{}, err
	}
	c, err := newComparer(ctx, &in)
	if err != nil {
		return Comparison{}, fmt.Errorf("costing: %q: %w", in.Name, err)
	}
	if c.res.Status == NoBase || c.res.Status == AllHold {
		return c.res, nil
	}
	if err := c.ways(ctx); err != nil {
		return Comparison{}, fmt.Errorf("costing: %q: %w", in.Name, err)
	}
	c.order()
	c.breakEven()
	c.tornado()
	c.remarks()
	return c.res, nil
}

// comparer holds what the ways share; it is only read while they are tried.
type comparer struct {
	in      *ComparisonInput
	tariff  tariff
	base    []State
	volumes []float64 // a day, m³, by case
	volume  float64   // a day, m³
	account account   // of the line as it runs now
	failing []int     // valves that do not hold now
	factor  float64   // present value of 1 a year
	limits  Limits
	bills   []bill // by way
	res     Comparison
}

func newComparer(ctx context.Context, in *ComparisonInput) (*comparer, error) {
	c := &comparer{in: in, limits: in.Limits, factor: PresentFactor(in.Prices.DiscountRate, in.Prices.Years)}
	for _, d := range []struct {
		limit *float64
		usual float64 // common practice, no source: beyond them the line is another one
	}{{&c.limits.Setting, 160}, {&c.limits.Raise, 50}, {&c.limits.PumpHead, 160}, {&c.limits.Depth, 10}} {
		if *d.limit == 0 {
			*d.limit = d.usual
		}
	}
	var err error
	if c.tariff, err = newTariff(in.Prices); err != nil {
		return nil, err
	}
	c.res = Comparison{Name: in.Name, Currency: in.Prices.Currency, Years: in.Prices.Years, Rate: in.Prices.DiscountRate, Factor: c.factor,
		Best: -1, Second: -1, BreakEven: BreakEven{Dearer: -1, Other: -1}}
	b := c.bench()
	base, err := b.states(ctx, Change{})
	if err != nil {
		return nil, err
	}
	c.base, c.res.Calls = base, b.calls
	for k := range base {
		if !base[k].Possible {
			c.note("costing.no-base", "the line cannot run as it is set in case %q: %s. Nothing to compare with", in.Cases[k].Name, base[k].Why)
			c.res.Status = NoBase
		}
	}
	if c.res.Status == NoBase {
		return c, nil
	}
	c.day()
	now := Way{}
	c.finish(&now, base, c.own(), &c.account, false)
	c.close(&c.account)
	c.res.Base = now.Cases
	if !now.Possible {
		c.note("costing.no-base", "as it is set, %s. Nothing to compare with", now.Why)
		c.res.Status = NoBase
		return c, nil
	}
	c.fail()
	return c, nil
}

func (c *comparer) note(id, format string, args ...any) {
	c.res.Notes = append(c.res.Notes, Note{ID: id, Where: c.in.Name, Text: fmt.Sprintf(format, args...)})
}

func (c *comparer) assume(format string, args ...any) {
	c.res.Assumed = append(c.res.Assumed, fmt.Sprintf(format, args...))
}

// day finds what each case delivers a day.
func (c *comparer) day() {
	c.volumes = make([]float64, len(c.in.Cases))
	wanted := c.in.Prices.DailyVolume
	for k := range c.in.Cases {
		o := &c.in.Cases[k]
		switch {
		case !o.runs():
			continue
		case o.Hours > 0:
			c.volumes[k] = c.base[k].Delivered * o.Hours * hour
		case wanted > 0:
			c.volumes[k] = wanted
		default:
			h := min(usual, o.window().length())
			c.volumes[k] = c.base[k].Delivered * h * hour
			c.assume("Neither hours a day nor a volume a day were given: %s runs %g hours a day (common practice, no source).", o.Name, h)
		}
		c.volume += c.volumes[k]
		if o.From == 0 && o.To == 0 && len(c.in.Prices.Tariff) > 0 {
			c.assume("The hours of %s are spread evenly over the day: no hours of the day were given.", o.Name)
		}
	}
	if wanted > 0 {
		if math.Abs(wanted-c.volume) > 1e-6*wanted {
			c.assume("The cases' hours are stretched in proportion to deliver %.4g m³ a day instead of %.4g m³.", wanted, c.volume)
		}
		for k := range c.volumes {
			c.volumes[k] *= wanted / c.volume
		}
		c.volume = wanted
	}
	c.res.Volume = c.volume
}

// fail finds the valves that do not hold as the line runs now.
func (c *comparer) fail() {
	for i := range c.in.Valves {
		v := &c.in.Valves[i]
		fails := v.DripsNow
		for k := range c.base {
			fails = fails || c.concerned(k, i) && !v.Unknown && c.base[k].Heads[i] < v.Sealing-rounding
		}
		if fails {
			c.failing = append(c.failing, i)
		}
	}
	if len(c.failing) == 0 {
		c.res.Status = AllHold
		c.note("costing.all-hold", "every valve holds in every case as the line runs now: nothing to pay for")
	}
}

// tried is what one attempt came to: ways and their bills.
type tried struct {
	ways  []Way
	bills []bill
	calls int
}

func (t *tried) add(w Way, b bill) { t.ways, t.bills = append(t.ways, w), append(t.bills, b) }

// ways tries all of them, at once where the caller lends his hands for it.
func (c *comparer) ways(ctx context.Context) error {
	attempts := []func(context.Context, *bench, *tried) error{c.accept, c.lowerSealing}
	for i := range c.in.Sustaining {
		attempts = append(attempts, func(ctx context.Context, b *bench, t *tried) error {
			return c.sustaining(ctx, b, t, c.in.Sustaining[i])
		})
	}
	attempts = append(attempts, c.raise, c.pumps, c.relocate, c.regrade)
	found := make([]tried, len(attempts))
	work := func(i int) error {
		b := c.bench()
		err := attempts[i](ctx, b, &found[i])
		found[i].calls = b.calls
		return err
	}
	run := c.in.Parallel
	if run == nil {
		run = inTurn
	}
	if err := run(ctx, len(attempts), work); err != nil {
		return err
	}
	for i := range found {
		c.res.Calls += found[i].calls
		for j := range found[i].ways {
			w, b := &found[i].ways[j], &found[i].bills[j]
			c.price(w, b)
			c.res.Residual = max(c.res.Residual, c.residual(w, &b.account))
			c.res.Ways = append(c.res.Ways, *w)
			c.bills = append(c.bills, *b)
		}
	}
	return nil
}

// inTurn does one after the other.
func inTurn(ctx context.Context, n int, work func(i int) error) error {
	for i := range n {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := work(i); err != nil {
			return err
		}
	}
	return nil
}

// residual is the relative difference between the volume a way delivers a day and the one wanted.
func (c *comparer) residual(w *Way, a *account) float64 {
	if !w.Possible {
		return 0
	}
	v := 0.0
	for k := range a.hours {
		v += a.delivered[k] * a.hours[k] * hour
	}
	return math.Abs(v-c.volume) / c.volume
}

// order puts the ways that are possible and priced in order of present value; of equals the one that costs less to build
// comes first.
func (c *comparer) order() {
	var in []int
	for i := range c.res.Ways {
		if c.res.Ways[i].Priced {
			in = append(in, i)
		}
	}
	slices.SortStableFunc(in, func(a, b int) int {
		x, y := &c.res.Ways[a], &c.res.Ways[b]
		return cmp.Or(cmp.Compare(x.PresentValue, y.PresentValue), cmp.Compare(x.Investment, y.Investment))
	})
	leak := slices.IndexFunc(c.res.Ways, func(w Way) bool { return w.Kind == AcceptLeak && w.Priced })
	for n, i := range in {
		w := &c.res.Ways[i]
		w.Order = n + 1
		if leak >= 0 && leak != i {
			a := &c.res.Ways[leak]
			w.Payback, w.Pays = payback(w.Investment-a.Investment, a.Year.Cost-w.Year.Cost, c.in.Prices.DiscountRate)
		}
	}
	switch {
	case len(in) == 0:
		c.res.Status = NoOrder
	case len(in) == 1:
		c.res.Status, c.res.Best = OnlyWay, in[0]
	default:
		c.res.Best, c.res.Second = in[0], in[1]
		for _, i := range in {
			if !c.kin(i) {
				c.res.Second = i
				break
			}
		}
	}
}

// kin tells whether a way is of the best way's kind.
func (c *comparer) kin(i int) bool { return c.res.Ways[i].Kind == c.res.Ways[c.res.Best].Kind }

// remarks says what holds for the whole comparison.
func (c *comparer) remarks() {
	p := &c.in.Prices
	if !c.energyPriced() {
		c.note("costing.no-price", "no price of energy was given: ways that change the pumps' work show it in kWh and stand outside the order")
	}
	if !p.HasCarbon {
		c.note("costing.no-carbon", "no carbon per kWh was given: carbon is not reckoned")
	}
	if !p.HasCarbonPrice {
		c.note("costing.no-carbon-price", "no price of carbon was given: carbon is shown in kg and is in no way's money")
	}
	if p.DiscountRate == 0 {
		c.note("costing.no-discount", "the discount rate is 0: a cost in %.4g years counts as much as one today", p.Years)
	}
	for i := range c.res.Ways {
		if w := &c.res.Ways[i]; w.Possible && w.Year.MoreEnergy < 0 {
			c.note("costing.saves", "%s takes less energy than now: the pumps then work at a better efficiency, or fewer hours", w.Name)
		}
	}
	if slices.ContainsFunc(c.in.Cases, func(o Operation) bool { return o.Kind == line.Standing || o.Kind == line.Filling }) {
		c.note("costing.memory", "in every case a valve is held to need its sealing head; that one which has shut already holds down to its letting-go head is not counted on")
	}
	c.note("costing.life", "nothing built is renewed within the %.4g years, and nothing is worth anything after them; upkeep of what is built is not reckoned", p.Years)
}
