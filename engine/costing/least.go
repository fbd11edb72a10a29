package costing

import "obvert/num"

// step is the tolerance to which a set point, a height and a depth are found, in metres: no valve is set more finely.
const step = 1e-3

// missing is by how much (m) the least held valve holds, negative where it does not, at a set point x; ok is false where
// the line cannot run so.
type missing func(x float64) (y float64, ok bool, err error)

// search is what least found.
type search struct {
	x     float64 // smallest that holds
	found bool
	at    float64 // where not found: the largest x tried at which the line runs
	short float64 // and by how much it was short there
}

// bracket is a set point that does not do, and one that does or that the line cannot bear.
type bracket struct {
	a, fa float64
	b, fb float64
	bears bool    // the line runs at b, and fb is 0 or more
	slope float64 // of the curve above b, as far as two points there tell; 0: not known
	ever  bool    // b is one that was looked at
}

// look puts what f gave at x into the bracket. Points that it tells nothing new about are passed over.
func (br *bracket) look(x, y float64, ok bool) {
	switch {
	case x <= br.a || br.ever && x >= br.b:
	case ok && y < 0:
		br.a, br.fa = x, y
	default:
		br.slope = 0
		if br.ever && br.bears && ok {
			br.slope = (br.fb - y) / (br.b - x)
		}
		br.b, br.fb, br.bears, br.ever = x, y, ok, true
	}
}

// done tells whether b is the smallest to within step: nothing is left between, or it lies so low on a slope that less
// cannot do. The chord from a is less steep than the curve at b, which does not move at first and then rises. Where the line
// cannot bear b it tells whether anything between could do: no change wins a head of more than itself at a valve, and twice
// that is taken to be sure.
func (br *bracket) done() bool {
	if br.b-br.a <= step*(1+1e-9) || !br.bears && 2*(br.b-br.a) < -br.fa {
		return true
	}
	slope := max(br.slope, (br.fb-br.fa)/(br.b-br.a))
	return br.bears && br.fb <= 0.75*step*slope
}

// least finds the smallest x up to limit at which f is 0 or more, to within [step]; f never falls. Below a slack length's
// end f does not move at all, above it rises by about as much as x: so the search triples its way up and then goes back
// down the slope. f(from) = start < 0 is known. hints are where to look first.
func least(f missing, from, start, limit float64, hints ...float64) (search, error) {
	br := bracket{a: from, fa: start}
	for _, x := range hints {
		if x <= br.a || x > limit || br.ever && x >= br.b {
			continue
		}
		y, ok, err := f(x)
		if err != nil {
			return search{}, err
		}
		br.look(x, y, ok)
	}
	if err := br.climb(f, from, limit); err != nil {
		return search{}, err
	}
	if !br.ever {
		return search{at: br.a, short: -br.fa}, nil
	}
	loop := num.Loop{Limit: 80}
	for n := 0; !br.done() && loop.Next(); n++ {
		x := br.next(n)
		y, ok, err := f(x)
		if err != nil {
			return search{}, err
		}
		br.look(x, y, ok)
		loop.Seen((br.b-br.a)/step, 0)
	}
	if !br.bears {
		return search{at: br.a, short: -br.fa}, nil
	}
	return search{x: br.b, found: true}, nil
}

// climb goes up until something does, or cannot be, or the limit is reached.
func (br *bracket) climb(f missing, from, limit float64) error {
	x := min(limit, br.a-br.fa+step/2)
	loop := num.Loop{Limit: 80}
	for !br.ever && loop.Next() {
		y, ok, err := f(x)
		if err != nil {
			return err
		}
		rises := y-br.fa > (x-br.a)/2
		br.look(x, y, ok)
		if br.ever || x >= limit {
			break
		}
		if rises {
			x = min(limit, x-1.02*y+step/2)
		} else {
			x = min(limit, x+max(-y, 2*(x-from)))
		}
	}
	return nil
}

// next is where to look inside the bracket in step n.
func (br *bracket) next(n int) float64 {
	middle := (br.a + br.b) / 2
	x := middle
	switch {
	case !br.bears, n%4 == 3:
	case br.fb <= step*br.slope/4:
		x = br.b - step
	case br.slope > 0: // along the secant of two points above
		x = br.b - br.fb/br.slope + step/2
	default: // by as much as is too much, or half along the chord where that says more
		x = br.b - max(br.fb, br.fb*(br.b-br.a)/(br.fb-br.fa)/2) + step/2
	}
	if x <= br.a || x >= br.b {
		return middle
	}
	return x
}
