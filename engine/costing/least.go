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
	bears bool // the line runs at b, and fb is 0 or more
}

// least finds the smallest x up to limit at which f is 0 or more, to within [step]; f never falls. Below a slack length's
// end f does not move at all, above it rises by about as much as x: so the search doubles its way up and then goes back
// down the slope. f(from) = start < 0 is known.
func least(f missing, from, start, limit float64) (search, error) {
	br, out, err := climb(f, from, start, limit)
	if err != nil || out != nil {
		return *orEmpty(out), err
	}
	loop := num.Loop{Limit: 80}
	for n := 0; loop.Next() && br.b-br.a > step*(1+1e-9); n++ {
		x := br.next(n)
		y, ok, err := f(x)
		if err != nil {
			return search{}, err
		}
		if ok && y < 0 {
			br.a, br.fa = x, y
		} else {
			br.b, br.fb, br.bears = x, y, ok
		}
		loop.Seen((br.b-br.a)/step, 0)
	}
	if !br.bears {
		return search{at: br.a, short: -br.fa}, nil
	}
	return search{x: br.b, found: true}, nil
}

func orEmpty(s *search) *search {
	if s == nil {
		return &search{}
	}
	return s
}

// climb goes up until something does, or cannot be. A search comes back where nothing up to the limit does.
func climb(f missing, from, start, limit float64) (bracket, *search, error) {
	br := bracket{a: from, fa: start}
	x := min(limit, from-start+step/2)
	loop := num.Loop{Limit: 80}
	for loop.Next() {
		y, ok, err := f(x)
		if err != nil {
			return br, nil, err
		}
		if !ok || y >= 0 {
			br.b, br.fb, br.bears = x, y, ok
			return br, nil, nil
		}
		rises := y-br.fa > (x-br.a)/2
		br.a, br.fa = x, y
		if x >= limit {
			break
		}
		if rises {
			x = min(limit, x-1.05*y+step/2)
		} else {
			x = min(limit, x+max(-y, x-from))
		}
	}
	return br, &search{at: br.a, short: -br.fa}, nil
}

// next is where to look inside the bracket in step n.
func (br *bracket) next(n int) float64 {
	middle := (br.a + br.b) / 2
	x := middle
	switch {
	case !br.bears, n > 5 && n%2 == 0:
	case br.fb <= step:
		x = br.b - step
	case n < 2:
		x = br.b - br.fb + step/2
	default: // along the chord, kept above the root
		x = br.b - br.fb*(br.b-br.a)/(br.fb-br.fa) + step/2
	}
	if x <= br.a || x >= br.b {
		return middle
	}
	return x
}
