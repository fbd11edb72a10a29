package costing

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"obvert/line"
)

// tariff is the price of energy by the hour of the day: pieces without gap from 0 to 24 h.
type tariff []line.TariffBand

// newTariff cuts the bands at midnight and puts them in order. Without bands the price is the same at all hours.
func newTariff(p line.Prices) (tariff, error) {
	if len(p.Tariff) == 0 {
		return tariff{{From: 0, To: day, Energy: p.Energy}}, nil
	}
	var t tariff
	for i, b := range p.Tariff {
		if !within(b.From, 0, day) || !within(b.To, 0, day) || b.From == b.To || !(b.Energy >= 0) || math.IsInf(b.Energy, 0) {
			return nil, fmt.Errorf("tariff band %d runs from %g to %g h at %g per kWh: give two different times between 0 and 24 h and a price of 0 or more", i+1, b.From, b.To, b.Energy)
		}
		if b.From < b.To {
			t = append(t, b)
			continue
		}
		for _, part := range [2][2]float64{{b.From, day}, {0, b.To}} {
			if part[0] < part[1] {
				t = append(t, line.TariffBand{From: part[0], To: part[1], Energy: b.Energy})
			}
		}
	}
	slices.SortFunc(t, func(a, b line.TariffBand) int { return cmp.Compare(a.From, b.From) })
	const rounding = 1e-9 // h
	end := 0.0
	for _, b := range t {
		switch {
		case b.From > end+rounding:
			return nil, fmt.Errorf("the tariff says nothing from %g to %g h: its bands must cover the day", end, b.From)
		case b.From < end-rounding:
			return nil, fmt.Errorf("the tariff says two things from %g to %g h: its bands must not overlap", b.From, min(end, b.To))
		}
		end = b.To
	}
	if end < day-rounding {
		return nil, fmt.Errorf("the tariff says nothing from %g to 24 h: its bands must cover the day", end)
	}
	return t, nil
}

func within(x, lo, hi float64) bool { return x >= lo && x <= hi }

// sum is price times hours from one time of the day to a later one.
func (t tariff) sum(from, to float64) float64 {
	s := 0.0
	for _, b := range t {
		s += b.Energy * max(0, min(to, b.To)-max(from, b.From))
	}
	return s
}

// window is the hours of the day in which a case runs.
type window struct{ from, to float64 }

func (o *Operation) window() window {
	if o.From == 0 && o.To == 0 {
		return window{0, day}
	}
	return window{o.From, o.To}
}

// length is how many hours the window has; it may pass midnight.
func (w window) length() float64 {
	if w.from < w.to {
		return w.to - w.from
	}
	return day - w.from + w.to
}

// cost is price times hours for so many hours in a window: spread evenly over it, and what does not fit in spread evenly
// over the rest of the day.
func (t tariff) cost(w window, hours float64) float64 {
	long, all := w.length(), t.sum(0, day)
	inside := all
	switch {
	case w.from < w.to:
		inside = t.sum(w.from, w.to)
	case w.from > w.to:
		inside = all - t.sum(w.to, w.from)
	}
	if hours <= long || long >= day {
		return inside * hours / long
	}
	return inside + (all-inside)*(hours-long)/(day-long)
}

// mean is the price over the day.
func (t tariff) mean() float64 { return t.sum(0, day) / day }
