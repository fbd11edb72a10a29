package grade

import (
	"context"
	"math"

	"obvert/num"
)

const (
	mostSweeps = 20    // over all drives that hold a head
	sameSpeed  = 1e-10 // relative: speeds nearer than this are one
)

// bySpeed finds the speeds of the drives that hold a head one by one, each on a bracket, for lines where Newton's method on all of it at once goes round in a ring: a held
// head rises with the speed of the pumps that hold it. With several such drives it goes over them again until no speed changes. It gives back the misses it was given where
// there is no such drive, or one of its flows cannot be found.
func (f *flow) bySpeed(ctx context.Context, energy, mass float64) (steps int, e, m float64) {
	var drives []*driveLaw
	for i := range f.elems {
		if law, ok := f.elems[i].law.(*driveLaw); ok && law.at >= 0 {
			drives = append(drives, law)
		}
	}
	slow, fast := make([]float64, len(drives)), make([]float64, len(drives))
	for i, d := range drives {
		slow[i], fast[i] = d.slow, d.fast
		d.slow, d.now = d.fast, d.fast // pinned
	}
	defer func() {
		for i, d := range drives {
			d.slow, d.fast = slow[i], fast[i]
		}
	}()
	lost := len(drives) == 0
	over := func(d *driveLaw, speed float64) float64 {
		d.slow, d.fast, d.now = speed, speed, speed
		for try := 0; try < triesWithoutControls && !lost; try++ {
			if try > 0 {
				f.in.Guess, f.warm = nil, nil
				f.firstHeads()
			}
			var out num.Outcome
			out, e, m = f.newton(ctx, tries[try].storage, tries[try].relax, longest)
			steps += out.Iterations
			if settled(e, m) {
				return d.heads[d.at] - d.target
			}
		}
		lost = true
		return math.NaN()
	}
	for sweep := 0; sweep < mostSweeps && !lost; sweep++ {
		moved := 0.0
		for i, d := range drives {
			was, now := d.now, fast[i]
			if over(d, fast[i]) > 0 {
				if now = slow[i]; over(d, slow[i]) < 0 {
					now, _ = num.Root(func(n float64) float64 { return over(d, n) }, slow[i], fast[i], sameSpeed)
				}
			}
			over(d, now)
			moved = max(moved, math.Abs(now-was))
		}
		if len(drives) == 1 || moved <= 2*sameSpeed {
			break
		}
		lost = lost || sweep == mostSweeps-1
	}
	if lost {
		return steps, energy, mass
	}
	return steps, e, m
}
