package draining

import (
	"math"
	"sort"

	"obvert/physics/valve"
)

// leak is a valve as it leaks in time.
type leak struct {
	*Valve
	index, vertex      int
	curve              curve
	goes, shuts        float64 // m: level of the water at which it lets go, falling; at which it shuts, rising (+Inf where never)
	known              bool    // its leak below the sealing head is known
	state              ValveState
	total, largest     float64 // m³, m³/s
	opens, goneAt      float64 // s
	opened, gone, ends bool
	way                []sample
	turns              []turn
}

// flow is the leak at a level of the water.
func (k *leak) flow(level float64) float64 {
	if k.state != Drips {
		return 0
	}
	return k.curve.flow(level - k.Seat)
}

// curve is a leak over the head at the seat, in cubic pieces: a record's own, drawn once.
type curve struct {
	f     func(head float64) float64 // where not nil, in place of the pieces
	heads []float64                  // m, where pieces meet
	c     [][4]float64               // of the share t of a piece: c0 + t (c1 + t (c2 + t c3)), m³/s
	last  float64                    // m³/s, beyond the last
}

// newCurve takes a record's curve over. Between its points LeakFlow is a cubic, which four values determine.
func newCurve(r *valve.Record, weight float64) curve {
	p := []float64{0}
	for _, pt := range r.Leak {
		if pt.Pressure > p[len(p)-1] && (r.Sealing.Bound != valve.Measured && r.Sealing.Bound != valve.LessThan || pt.Pressure < r.Sealing.Mean) {
			p = append(p, pt.Pressure)
		}
	}
	if r.Sealing.Bound == valve.Measured || r.Sealing.Bound == valve.LessThan {
		p = append(p, r.Sealing.Mean)
	}
	var k curve
	for i := range p {
		k.heads = append(k.heads, p[i]/weight)
		if i == 0 {
			continue
		}
		w := p[i] - p[i-1]
		y0, y1, y2, y3 := r.LeakFlow(p[i-1]+1e-12*w), r.LeakFlow(p[i-1]+w/3), r.LeakFlow(p[i-1]+2*w/3), r.LeakFlow(p[i]-1e-12*w)
		k.c = append(k.c, [4]float64{y0, (-11*y0 + 18*y1 - 9*y2 + 2*y3) / 2, (18*y0 - 45*y1 + 36*y2 - 9*y3) / 2, (-9*y0 + 27*y1 - 27*y2 + 9*y3) / 2})
	}
	k.last = r.LeakFlow(p[len(p)-1])
	return k
}

// flow is the leak, m³/s, at a head, m, at the seat.
func (k *curve) flow(head float64) float64 {
	switch {
	case !(head > 0):
		return 0
	case k.f != nil:
		return k.f(head)
	case len(k.c) == 0:
		return 0
	case head >= k.heads[len(k.heads)-1]:
		return k.last
	}
	i := 0
	if len(k.c) > 4 {
		i = sort.SearchFloat64s(k.heads[1:], head)
	} else {
		for k.heads[i+1] < head {
			i++
		}
	}
	t, c := (head-k.heads[i])/(k.heads[i+1]-k.heads[i]), &k.c[i]
	return max(0, c[0]+t*(c[1]+t*(c[2]+t*c[3])))
}

// newLeak reads a valve's record.
func (s *slow) newLeak(i int) leak {
	v := &s.in.Valves[i]
	k := leak{Valve: v, index: i, vertex: s.valve[i], shuts: math.Inf(1), goes: math.Inf(-1)}
	weight := s.l.Site.Density * s.l.Site.Gravity
	if v.Leak != nil {
		k.curve.f = func(head float64) float64 { return v.Leak(head * weight) }
		k.known = true
	}
	if v.Record < 0 {
		if v.Leak != nil && v.Shut {
			s.note("draining.no-letting-go", v.Name, "It was shut when the line came to rest and nothing says down to which head it holds: taken as letting go at once.")
		}
		k.goes = math.Inf(1)
		return k
	}
	r := &s.in.Rack[v.Record]
	if v.Leak == nil && r.HasLeak() {
		k.curve, k.known = newCurve(r, weight), true
	}
	if r.Sealing.Bound == valve.Measured || r.Sealing.Bound == valve.LessThan {
		k.shuts = v.Seat + r.Sealing.Mean/weight
	}
	switch {
	case r.LettingGo.Bound == valve.Measured || r.LettingGo.Bound == valve.LessThan:
		k.goes = v.Seat + r.LettingGo.Mean/weight
	case !math.IsInf(k.shuts, 1):
		k.goes = k.shuts
		if v.Shut {
			s.note("draining.no-letting-go", v.Name, "Its letting-go head was not measured: taken as its sealing head, the safe side.")
		}
	default:
		k.goes = math.Inf(1)
		if v.Shut {
			s.note("draining.no-letting-go", v.Name, "Neither its letting-go head nor its sealing head was measured: taken as letting go at once.")
		}
	}
	return k
}

// begin gives a valve its state in water at a level.
func (k *leak) begin(s *slow, level float64) {
	switch head := level - k.Seat; {
	case k.Isolated:
		k.turn(Dry, 0)
	case head <= 0:
		k.turn(k.inAir(s), 0)
	case level >= k.shuts, k.Shut && level > k.goes:
		k.turn(Tight, 0)
	case !k.known:
		k.turn(NoRecord, 0)
		s.note("draining.no-curve", k.Name, "Water stands at its seat and its leak is not known: what it loses is not in the answer.")
	default:
		k.turn(Drips, 0)
		if r := s.record(k); r != nil && !r.LeakKnown(head*s.l.Site.Density*s.l.Site.Gravity) {
			s.note("draining.beyond-curve", k.Name, "The head at its seat lies beyond what was measured: the last leak of its curve stands.")
		}
	}
}

// record is the valve's record where its curve comes from one.
func (s *slow) record(k *leak) *valve.Record {
	if k.curve.f != nil || k.Record < 0 {
		return nil
	}
	return &s.in.Rack[k.Record]
}

// inAir is the state of a valve whose seat stands above the water: open, unless no air has come there.
func (k *leak) inAir(s *slow) ValveState {
	if k.AdmitsAir || s.tree.reached[k.vertex] >= s.obvert[k.vertex]-headTolerance {
		return Open
	}
	s.note("draining.suction-tapping", k.Name, "The pipe comes under suction here and this valve lets no air in: whatever stands in its pit may be drawn into the line through its seat or joints. Keep the pit dry and clean, and mind back-siphonage into drinking water.")
	return Sucks
}

// turn gives the valve a state from a time on.
func (k *leak) turn(st ValveState, t float64) {
	k.state = st
	k.turns = append(k.turns, turn{t, st})
}

// turn is a change of state.
type turn struct {
	time  float64
	state ValveState
}

// stateAt is the valve's state at a time.
func (k *leak) stateAt(t float64) ValveState {
	st := Dry
	for i, u := range k.turns {
		if i > 0 && u.time > t {
			break
		}
		st = u.state
	}
	return st
}

// meet changes the valve's state at the level its body has come to.
func (k *leak) meet(b *body, down bool) {
	s, h := b.s, b.level
	switch {
	case k.state == Tight && down && h <= k.goes+headTolerance:
		k.letGo(b)
	case k.state == Drips && !down && h >= k.shuts-headTolerance:
		k.turn(Tight, b.time)
		s.event(b.time, "draining.shuts", k.Name, "The head has risen to its sealing head: it shuts.")
	case (k.state == Open || k.state == Sucks) && !down && h >= k.Seat-headTolerance && k.known:
		k.turn(Drips, b.time)
	}
	if !down || h > k.Seat+headTolerance {
		return
	}
	switch k.state {
	case Drips, NoRecord, Tight:
		k.note(b.time, h)
		k.turn(k.inAir(s), b.time)
		if k.AdmitsAir {
			k.opens, k.opened = b.time, true
			s.event(b.time, "draining.opens", k.Name, "The water has come down to its seat: it opens to air.")
		}
	}
}

// letGo opens a valve that was shut.
func (k *leak) letGo(b *body) {
	k.goneAt, k.gone = b.time, true
	if k.known {
		k.turn(Drips, b.time)
	} else {
		k.turn(NoRecord, b.time)
	}
	b.unknown = b.unknown || !k.known
	b.s.event(b.time, "draining.lets-go", k.Name, "The head has come down to its letting-go head: it drips from now on.")
	k.note(b.time, b.level)
}

// note adds a sample.
func (k *leak) note(t, level float64) {
	q := k.flow(level)
	if q > k.largest {
		k.largest = q
	}
	k.way = append(k.way, sample{Sample{t, max(0, level-k.Seat), q}, k.total})
}

// sample is a valve at a moment with what it has lost so far, m³.
type sample struct {
	Sample
	lost float64
}

// lostAt is what the valve has lost at a time, m³: the cubic through the samples about it, whose slopes are the leaks.
func (k *leak) lostAt(t float64) float64 {
	w := k.way
	i := sort.Search(len(w), func(i int) bool { return w[i].Time > t })
	switch {
	case len(w) == 0 || i == 0:
		return 0
	case i == len(w):
		return w[i-1].lost
	}
	a, b := w[i-1], w[i]
	width := b.Time - a.Time
	return hermite((t-a.Time)/width, width, a.lost, b.lost, -a.Leak, -b.Leak)
}
