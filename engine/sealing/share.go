package sealing

import "math"

// drawn makes figures of the counts.
func (s *solver) drawn(p *plan, t *tally, o Options) Drawn {
	d := Drawn{N: o.N, Seed: o.Seed, Shapes: p.shapes, Valves: make([]DrawnValve, len(s.in.Valves)), Any: make([]DrawnAny, p.cases)}
	for i := range d.Valves {
		d.Valves[i] = DrawnValve{Name: s.in.Valves[i].Name, Cells: make([]DrawnCell, p.cases), Ever: estimate(0, o.N)}
		for k := range d.Valves[i].Cells {
			d.Valves[i].Cells[k] = DrawnCell{Drips: estimate(0, o.N), Shares: s.shares(i, k)}
		}
	}
	for i, sure := range p.sure {
		for k, drips := range sure {
			if drips {
				d.Valves[i].Cells[k].Drips = estimate(o.N, o.N)
				d.Valves[i].Ever = estimate(o.N, o.N)
			}
		}
	}
	for i := range p.valves {
		from := &p.valves[i]
		v := &d.Valves[from.at]
		for n := range from.cells {
			v.Cells[from.cells[n].of].Drips = estimate(t.drips[from.first+n], o.N)
		}
		if v.Ever.P < 1 {
			v.Ever = estimate(t.ever[i], o.N)
		}
	}
	for k := range d.Any {
		d.Any[k] = p.anyOf(t, k, o)
	}
	d.Ever = p.anyOf(t, p.cases, o)
	s.quiet = false
	for k := range s.in.Cases {
		s.remarkLeftOut(k)
	}
	d.Notes = s.res.Notes
	return d
}

// estimate is a probability seen x times in n.
func estimate(x, n int) Estimate {
	p := float64(x+1) / float64(n+2)
	return Estimate{P: float64(x) / float64(n), Error: math.Sqrt(p * (1 - p) / float64(n+3))}
}

// shares are the parts of a margin's variance by kind of error: its derivatives are constants, so they are exact.
func (s *solver) shares(i, k int) (part [Sources]float64) {
	cell, l := &s.res.Valves[i].Cells[k], &s.lots[i][k]
	if cell.Rule == NoRule || !l.counts {
		return part
	}
	u := s.in.Uncertainty
	r := &s.in.Rack[s.in.Valves[i].Record]
	t := r.Sealing
	if cell.Rule == Falling {
		t = r.LettingGo
	}
	perPa := 1 / (s.in.Density * s.in.Gravity)
	rough := l.rough
	if u.Shapes.Roughness == LogNormal {
		rough *= math.Sqrt(1 + u.Roughness*u.Roughness) // its median is 1, its mean √(1 + u²)
	}
	sum := 0.0
	for source, sigma := range [Sources]float64{
		DatumError: u.Datum, LevelError: l.level, RoughnessError: rough, SurveyError: u.Independent,
		BenchError: t.Uncertainty * perPa, ScatterError: t.Scatter * perPa,
	} {
		part[source] = sigma * sigma
		sum += part[source]
	}
	if sum > 0 {
		for source := range part {
			part[source] /= sum
		}
	}
	return part
}

// anyOf makes figures of the counts of one case, or of all in one for k = cases.
func (p *plan) anyOf(t *tally, k int, o Options) DrawnAny {
	a := DrawnAny{Drips: estimate(t.any[k], o.N)}
	if o.NoIndices || t.any[k] == 0 || t.any[k] == o.N {
		return a
	}
	a.HasIndices = true
	for s := range a.Indices {
		if p.has[s] {
			a.Indices[s] = firstOrder(t.any[k], t.again[s][k], t.both[s][k], o.N)
		}
	}
	return a
}

// firstOrder is the first-order index of Sobol' of a kind of error for an event, by pick-freeze: of n pairs of trials that
// share this kind of error alone, the event came in a of the first, b of the second and both of either. The estimator
// takes mean and variance from both trials, and its standard error is that of its central limit theorem (A. Janon,
// T. Klein, A. Lagnoux, M. Nodet, C. Prieur, Asymptotic normality and efficiency of two Sobol index estimators, ESAIM:
// Probability and Statistics 18 (2014) 342–364, from memory).
func firstOrder(a, b, both, n int) Index {
	size := float64(n)
	mean := float64(a+b) / (2 * size)
	variance := mean * (1 - mean)
	x := Index{First: (float64(both)/size - mean*mean) / variance}
	sum, squares := 0.0, 0.0
	for _, pair := range []struct {
		count         int
		first, second float64
	}{{both, 1, 1}, {a - both, 1, 0}, {b - both, 0, 1}, {n - a - b + both, 0, 0}} {
		f, s := pair.first-mean, pair.second-mean
		u := f*s - x.First/2*(f*f+s*s)
		sum += float64(pair.count) * u
		squares += float64(pair.count) * u * u
	}
	x.Error = math.Sqrt(max(0, squares/size-sum*sum/(size*size))/size) / variance
	return x
}
