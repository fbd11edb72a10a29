package costing

import (
	"context"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"obvert/line"
)

// moved gives the input with a lever at a value, through the door by which a user would: the prices, the leak, the pump.
func moved(l Lever, to float64) (ComparisonInput, bool) {
	d := publishedLine()
	if l == PumpEfficiency {
		d.eta = to
	}
	in := d.input()
	in.Valves[0].HighPoint = true // no relocation
	p := &in.Prices
	p.WetPitCallouts, p.WetPitRepairs = 1, 0.1
	in.Leak.Water, in.Leak.RefillWater, in.Leak.RefillEnergy = 0.4, 0.1, 0.2
	switch l {
	case EnergyPrice:
		p.Energy = to
	case Hours:
		in.Cases[0].Hours = to
	case DiscountRate:
		p.DiscountRate = to
	case Life:
		p.Years = to
	case LeakRate:
		in.Leak.Water = to
	case Callouts:
		p.WetPitCallouts = to
	case Repairs:
		p.WetPitRepairs = to
	case ValvePrice:
		in.Rack = priced(in.Rack, to)
	case SustainingPrice:
		p.ControlValve = to
	case WaterPrice:
		p.Water = to
	case PumpEfficiency:
		in.Leak.RefillEnergy *= 0.7 / to
	case CarbonPrice:
		p.CarbonPrice = to
	case RaisingPrice:
		p.Raising = to
	case PumpPrice:
		p.PumpDuty = to
	case RelocationPrice:
		p.Relocation = to
	case RegradingPrice:
		p.Regrading = to
	default:
		return in, false
	}
	return in, true
}

// cheapest is the least present value of a kind.
func cheapest(r *Comparison, kind Kind) float64 {
	least := math.Inf(1)
	for _, w := range r.Ways {
		if w.Kind == kind && w.Priced {
			least = min(least, w.PresentValue)
		}
	}
	return least
}

// Every bar of the tornado against the whole comparison done anew with that input: both ends of its range, and the value at
// which the order turns, where the two ways must cost the same, and a little beyond it, where the other must be the cheapest.
func TestTornadoAgainstItself(t *testing.T) {
	start, _ := moved(numLevers, 0)
	r := compare(t, start)
	best, second := r.Ways[r.Best], r.Ways[r.Second]
	if best.Kind == second.Kind || len(r.Tornado) < 12 {
		t.Fatalf("best %s, second %s, %d bars", best.Name, second.Name, len(r.Tornado))
	}
	pair := func(l Lever, x float64) (Comparison, float64) {
		in, ok := moved(l, x)
		if !ok {
			t.Fatalf("no lever %s", l)
		}
		n := compare(t, in)
		return n, n.Ways[r.Best].PresentValue - n.Ways[r.Second].PresentValue
	}
	tol := 1e-6 * (1 + math.Abs(best.PresentValue))
	turns, last := 0, math.Inf(1)
	for _, b := range r.Tornado {
		if b.Swing > last {
			t.Errorf("%s is out of order", b.Name)
		}
		last = b.Swing
		_, at := pair(b.Lever, b.Value)
		near(t, b.Name+" as given", at, best.PresentValue-second.PresentValue, tol)
		_, low := pair(b.Lever, b.Low)
		_, high := pair(b.Lever, b.High)
		near(t, b.Name+" low", b.AtLow, low, tol)
		near(t, b.Name+" high", b.AtHigh, high, tol)
		near(t, b.Name+" swing", b.Swing, max(math.Abs(low-at), math.Abs(high-at)), tol)
		if !b.Turns {
			if !strings.Contains(b.Text, "no value from") {
				t.Error(b.Text)
			}
			continue
		}
		turns++
		if b.InRange != (b.Turn >= b.Low && b.Turn <= b.High) {
			t.Errorf("%s: in range %v", b.Name, b.InRange)
		}
		n, _ := pair(b.Lever, b.Turn)
		to := r.Ways[b.To].Kind
		near(t, b.Name+" where it turns", cheapest(&n, best.Kind), cheapest(&n, to), tol)
		n, _ = pair(b.Lever, b.Turn+0.02*(b.Turn-b.Value))
		if got := n.Ways[n.Best].Kind; got != to {
			t.Errorf("%s beyond %g: best is %s, should be %s", b.Name, b.Turn, n.Ways[n.Best].Name, r.Ways[b.To].Name)
		}
		n, _ = pair(b.Lever, b.Turn-0.02*(b.Turn-b.Value))
		if got := n.Ways[n.Best].Kind; got != best.Kind {
			t.Errorf("%s before %g: best is %s already", b.Name, b.Turn, n.Ways[n.Best].Name)
		}
	}
	if turns < 5 {
		t.Errorf("only %d levers turn the order: the test shows little", turns)
	}
}

// Signs: what the leak alone costs moves it alone, what only the sustaining valve costs moves that alone. Whichever of the
// two is the best, the difference is best less second.
func TestTornadoSigns(t *testing.T) {
	for _, water := range []float64{0.05, 0.7} {
		in, _ := moved(LeakRate, water)
		r := compare(t, in)
		best, second := r.Ways[r.Best].Kind, r.Ways[r.Second].Kind
		sign := 1.0
		if best != AcceptLeak {
			sign, best, second = -1, second, best
		}
		if best != AcceptLeak || second != Sustaining || (sign > 0) != (water < 1) {
			t.Fatalf("best %s, second %s", r.Ways[r.Best].Name, r.Ways[r.Second].Name)
		}
		for _, b := range r.Tornado {
			rises := sign * (b.AtHigh - b.AtLow)
			switch b.Lever {
			case LeakRate, Callouts, Repairs, WaterPrice, Life: // dear for the leak
				if rises <= 0 {
					t.Errorf("%s: %g at low, %g at high", b.Name, b.AtLow, b.AtHigh)
				}
			case SustainingPrice, ValvePrice, EnergyPrice, CarbonPrice: // dear for the sustaining valve
				if rises >= 0 {
					t.Errorf("%s: %g at low, %g at high", b.Name, b.AtLow, b.AtHigh)
				}
			case PumpEfficiency, DiscountRate: // good for what costs energy; good for what costs later
				if rises <= 0 == (b.Lever == PumpEfficiency) {
					t.Errorf("%s: %g at low, %g at high", b.Name, b.AtLow, b.AtHigh)
				}
			case RaisingPrice, PumpPrice, RegradingPrice, RelocationPrice:
				if rises != 0 || b.Swing != 0 {
					t.Errorf("%s: %g at low, %g at high", b.Name, b.AtLow, b.AtHigh)
				}
			}
		}
	}
}

// At the years of break-even, as the line's life, the two cost the same; at the price of break-even too.
func TestBreakEvenCloses(t *testing.T) {
	in, _ := moved(numLevers, 0)
	in.Leak.Water = 0.8
	r := compare(t, in)
	e := r.BreakEven
	if !e.Found || !e.Pays || !(e.Years > 0) {
		t.Fatalf("%+v", e)
	}
	d, o := r.Ways[e.Dearer], r.Ways[e.Other]
	near(t, "more to build", e.More, d.Investment-o.Investment, 1e-9)
	in.Prices.Years = e.Years
	n := compare(t, in)
	near(t, "after the years of break-even", n.Ways[e.Dearer].PresentValue, n.Ways[e.Other].PresentValue, 1e-6*d.PresentValue)
	in.Prices.Years = 20
	if !e.HasEnergyPrice {
		t.Fatalf("no price of break-even: %s", e.Text)
	}
	in.Prices.Energy = e.EnergyPrice
	n = compare(t, in)
	near(t, "at the price of break-even", n.Ways[e.Dearer].PresentValue, n.Ways[e.Other].PresentValue, 1e-6*d.PresentValue)
	if !strings.Contains(e.Text, "paid for itself") {
		t.Error(e.Text)
	}
	// against the leak accepted, every way by itself
	in.Prices.Energy = 0.2
	r = compare(t, in)
	a := way(t, &r, AcceptLeak, "")
	for _, w := range r.Ways {
		if !w.Priced || !w.Pays || w.Kind == AcceptLeak {
			continue
		}
		saved := (a.Year.Cost - w.Year.Cost) * PresentFactor(0.04, w.Payback)
		near(t, w.Name+": saved until payback", saved, w.Investment-a.Investment, 1e-6*w.Investment)
	}
}

// Dearer energy never makes a way that takes more of it cheaper, a longer life never one that costs each year.
func TestMonotone(t *testing.T) {
	in, _ := moved(numLevers, 0)
	rapid.Check(t, func(t *rapid.T) {
		in := in
		in.Prices.Energy = rapid.Float64Range(0, 1).Draw(t, "energy")
		in.Prices.Years = rapid.Float64Range(1, 60).Draw(t, "years")
		in.Prices.DiscountRate = rapid.Float64Range(0, 0.3).Draw(t, "rate")
		a, err := Compare(t.Context(), in)
		if err != nil {
			t.Fatal(err)
		}
		more := in
		more.Prices.Energy += rapid.Float64Range(0, 1).Draw(t, "more for energy")
		b, err := Compare(t.Context(), more)
		if err != nil {
			t.Fatal(err)
		}
		longer := in
		longer.Prices.Years += rapid.Float64Range(0, 50).Draw(t, "more years")
		c, err := Compare(t.Context(), longer)
		if err != nil {
			t.Fatal(err)
		}
		last := math.Inf(-1)
		for n := 1; ; n++ {
			i := -1
			for j := range a.Ways {
				if a.Ways[j].Order == n {
					i = j
				}
			}
			if i < 0 {
				break
			}
			if a.Ways[i].PresentValue < last {
				t.Fatalf("order %d is cheaper than the one before", n)
			}
			last = a.Ways[i].PresentValue
		}
		for i, w := range a.Ways {
			if !w.Priced {
				continue
			}
			eps := 1e-9 * (1 + math.Abs(w.PresentValue))
			if d := b.Ways[i].PresentValue - w.PresentValue; d*w.Year.MoreEnergy < -eps {
				t.Fatalf("%s takes %g kWh more and costs %g more with dearer energy", w.Name, w.Year.MoreEnergy, d)
			}
			if d := c.Ways[i].PresentValue - w.PresentValue; d*w.Year.Cost < -eps {
				t.Fatalf("%s costs %g a year and %g more over a longer life", w.Name, w.Year.Cost, d)
			}
		}
	})
}

func TestRanges(t *testing.T) {
	in, _ := moved(numLevers, 0)
	in.Share = 0.1
	in.Ranges = []Range{{Lever: EnergyPrice, Low: 0.5, High: 3, Source: "ten years of bills"}}
	in.Cases[0].Hours = 21.5
	r := compare(t, in)
	for _, b := range r.Tornado {
		switch b.Lever {
		case EnergyPrice:
			near(t, "low", b.Low, 0.1, 1e-12)
			near(t, "high", b.High, 0.6, 1e-12)
			if !strings.Contains(b.Text, "ten years of bills") {
				t.Error(b.Text)
			}
		case WaterPrice:
			near(t, "share", b.High, 1.5*1.1, 1e-12)
		case LeakRate: // 0.3 is its standard uncertainty
			near(t, "twice the uncertainty", b.High, 0.4*1.6, 1e-12)
		case Hours:
			if b.High > 24 || !strings.Contains(b.Text, "fit into the day") {
				t.Errorf("%g hours: %s", b.High, b.Text)
			}
		case PumpEfficiency:
			near(t, "efficiency", b.Value, 0.7, 1e-12)
		}
	}
	in.Efficiency = 0.95
	for _, b := range compare(t, in).Tornado {
		if b.Lever == PumpEfficiency && (b.High > 1 || !strings.Contains(b.Text, "no more than 1")) {
			t.Errorf("efficiency up to %g: %s", b.High, b.Text)
		}
	}
	// without a rate there is nothing to move
	in.Prices.DiscountRate = 0
	for _, b := range compare(t, in).Tornado {
		if b.Lever == DiscountRate {
			t.Error("a discount rate of 0 has a bar")
		}
	}
}

// Two ways of one kind only: the best stands against the other.
func TestOneKind(t *testing.T) {
	in := publishedLine().input()
	in.Valves[0].HighPoint, in.NoRaise, in.Profile, in.Leak.Known, in.Prices.HasPumpDuty, in.Combined = true, true, nil, false, false, false
	r := compare(t, in)
	if r.Status != Compared || r.Second < 0 || r.Second == r.Best || r.Ways[r.Second].Kind != Sustaining || len(r.Tornado) == 0 {
		t.Errorf("%d: best %d, second %d, %d bars", r.Status, r.Best, r.Second, len(r.Tornado))
	}
}

var sink Comparison

// The engine without its hydraulics: how many comparisons fit into the time of one call of theirs (about 1 ms).
func BenchmarkCompare(b *testing.B) {
	d := publishedLine()
	in := d.input()
	in.Cases = append(in.Cases, Operation{Name: "standing", Kind: line.Standing, Concerned: []bool{false}})
	in.Operate = func(ctx context.Context, k int, ch Change) (State, error) { return d.operate(ctx, in.Cases[k], ch) }
	for b.Loop() {
		var err error
		if sink, err = Compare(b.Context(), in); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(sink.Calls), "calls/op")
}

// Where energy costs nothing the price of break-even is that of all hours alike: with it given, the two cost the same.
func TestBreakEvenFromNothing(t *testing.T) {
	in, _ := moved(LeakRate, 0.9)
	in.Prices.Energy, in.Prices.PumpDuty = 0, 100 // no pumps: sustaining valve against the leak
	r := compare(t, in)
	b := r.BreakEven
	if !b.HasEnergyPrice || b.EnergyPrice <= 0 {
		t.Fatalf("best %s, second %s: %+v", r.Ways[r.Best].Name, r.Ways[r.Second].Name, b)
	}
	in.Prices.Energy = b.EnergyPrice
	n := compare(t, in)
	near(t, "at that price", n.Ways[r.Best].PresentValue, n.Ways[r.Second].PresentValue, 1e-6)
}
