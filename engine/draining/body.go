package draining

import (
	"fmt"
	"math"
	"slices"

	"obvert/num"
)

// body is water that hangs together and sinks as one: a node of the tree, or several that check valves join.
type body struct {
	s      *slow
	id     int // index of its result
	parts  []int32
	leaks  []int // valves in it
	tanks  []int
	fed    string  // what keeps its level, empty for nothing
	inflow float64 // m³/s
	marks  []float64

	level, time float64
	lack, area  float64 // at the level, once what happens there has happened
	lost        float64
	above       bool // what happens at the level itself is still to come
	live, gone  bool
	begun       float64 // s
	down        bool    // at the level itself what hung has come down
	leaked      bool
	unknown     bool
	step        float64
	panels      []panel
	before      memory
	why         string
}

// memory is a body before its last panel.
type memory struct {
	time, level, lack, area, lost float64
	above, down                   bool
	panels                        int
	runIn                         float64
	leaks                         []kept
}

// kept is a leak before the last panel.
type kept struct {
	total float64
	way   int
}

func (b *body) remember() {
	m := &b.before
	m.time, m.level, m.lack, m.area, m.lost, m.above, m.down, m.panels, m.runIn = b.time, b.level, b.lack, b.area, b.lost, b.above, b.down, len(b.panels), b.s.runIn
	m.leaks = m.leaks[:0]
	for _, i := range b.leaks {
		m.leaks = append(m.leaks, kept{b.s.leaks[i].total, len(b.s.leaks[i].way)})
	}
}

// back takes the body back to before its last panel.
func (b *body) back() panel {
	m := &b.before
	p := b.panels[m.panels]
	b.s.runIn -= p.runsIn
	b.time, b.level, b.lack, b.area, b.lost, b.above, b.down = m.time, m.level, m.lack, m.area, m.lost, m.above, m.down
	b.panels = b.panels[:m.panels]
	for j, i := range b.leaks {
		k := &b.s.leaks[i]
		k.total, k.way = m.leaks[j].total, k.way[:m.leaks[j].way]
	}
	return p
}

// measure is what the body lacks at a level, m³, and its surface, m².
func (b *body) measure(h float64, above bool) (lack, area float64) {
	for _, k := range b.parts {
		l, a := b.s.measure(k, h, above)
		lack, area = lack+l, area+a
	}
	return lack, area
}

// net is the flow out of the body less what runs in, m³/s, at a level.
func (b *body) net(h float64) float64 {
	q := -b.inflow
	for _, i := range b.leaks {
		q += b.s.leaks[i].flow(h)
	}
	return q
}

// sample notes what its valves do.
func (b *body) sample() {
	for _, i := range b.leaks {
		k := &b.s.leaks[i]
		if k.state == Drips || k.state == Tight {
			k.note(b.time, b.level)
		}
	}
}

// tally lists the levels at which something may happen to the body.
func (b *body) tally() {
	b.marks = b.marks[:0]
	for _, k := range b.parts {
		n := &b.s.nodes[k]
		if wide(n.split) {
			b.marks = append(b.marks, n.split)
		}
		if n.parent >= 0 {
			b.marks = append(b.marks, b.s.nodes[n.parent].split)
		}
		for i := n.from; i < n.to; i++ {
			if p := &b.s.water[i]; p.hang != 0 && wide(p.jump) {
				b.marks = append(b.marks, p.jump)
			}
		}
	}
	for _, i := range b.leaks {
		for _, h := range [3]float64{b.s.leaks[i].Seat, b.s.leaks[i].goes, b.s.leaks[i].shuts} {
			if wide(h) {
				b.marks = append(b.marks, h)
			}
		}
	}
	for _, i := range b.tanks {
		if t := &b.s.grid.tanks[i]; b.inflow > 0 && wide(t.highest) {
			b.marks = append(b.marks, t.highest)
		}
	}
	slices.Sort(b.marks)
	b.marks = slices.Compact(b.marks)
}

// mark is the next level, going down or up, at which something happens.
func (b *body) mark(down bool) (float64, bool) {
	i, _ := slices.BinarySearch(b.marks, b.level)
	if down {
		if i--; i >= 0 {
			return b.marks[i], true
		}
		return 0, false
	}
	for ; i < len(b.marks); i++ {
		if b.marks[i] > b.level {
			return b.marks[i], true
		}
	}
	return 0, false
}

// advance moves the body to the next moment at which something may happen to it.
func (b *body) advance() {
	s := b.s
	if b.above {
		b.above = false
		if b.arrive() {
			return
		}
	}
	n := b.net(b.level)
	b.leaked = b.leaked || n+b.inflow > s.stopped
	if s.parts(b) {
		return
	}
	if b.fed != "" {
		b.goOn(n)
		return
	}
	if math.Abs(n) <= s.stopped*(1+1e-9) {
		b.rest(n)
		return
	}
	down := n > 0
	to, ok := b.mark(down)
	if !ok || b.spills(down) {
		b.goOn(n) // nothing bounds it: only a tank that overflows or a pool that spills
		return
	}
	if to = b.stops(to, down); to == b.level {
		b.rest(n)
		return
	}
	b.down = false
	b.travel(to)
}

// spills reports whether the body rises over a crest or a tank's rim, where it goes no higher.
func (b *body) spills(down bool) bool {
	if down {
		return false
	}
	for _, i := range b.tanks {
		if t := &b.s.grid.tanks[i]; b.level >= t.highest {
			b.why = t.name + " is full and what runs in spills"
			return true
		}
	}
	for _, k := range b.parts {
		if p := b.s.nodes[k].parent; p >= 0 && b.level >= b.s.nodes[p].split {
			b.why = "what runs in spills over the crest at " + b.s.where(b.s.nodes[p].crest)
			return true
		}
	}
	return false
}

// stops brings a target forward to where the net flow counts as none; the body's own level where it does already.
func (b *body) stops(to float64, down bool) float64 {
	least := b.s.stopped
	if !down {
		least = -least
	}
	f := func(h float64) float64 { return b.net(h) - least }
	const parts = 12
	last := b.level
	for i := 1; i <= parts; i++ {
		h := b.level + (to-b.level)*float64(i)/parts
		if (f(h) <= 0) == down || f(h) == 0 {
			x, _ := num.Root(f, last, h, 1e-12)
			if math.Abs(x-b.level) < 1e-11 {
				return b.level
			}
			return x
		}
		last = h
	}
	return to
}

// travel takes one panel towards a level, as wide as the error allows.
func (b *body) travel(to float64) {
	d := to - b.level
	step := b.step
	if step == 0 || step > math.Abs(d) {
		step = math.Abs(d)
	}
	for range 60 {
		h := b.level + math.Copysign(step, d)
		if step >= 0.999*math.Abs(d) {
			h = to
		}
		p, wrong := b.try(h)
		if wrong > b.s.tolerance && step > 1e-7*max(1e-3, math.Abs(d)) {
			step *= 0.5
			continue
		}
		b.step = step
		if wrong < 0.05*b.s.tolerance {
			b.step = 2.5 * step
		}
		if p.t1 >= b.s.in.Horizon {
			p = b.until(p, b.s.in.Horizon)
		}
		b.take(p)
		b.above = h == to && p.h1 == h
		return
	}
}

// goOn leaves the body at its level to the horizon.
func (b *body) goOn(n float64) {
	q := n + b.inflow
	if q <= b.s.stopped {
		b.rest(n)
		return
	}
	in := b.inflow
	b.inflow = q
	b.take(panel{t0: b.time, tm: 0.5 * (b.time + b.s.in.Horizon), t1: b.s.in.Horizon, h0: b.level, hm: b.level, h1: b.level, l0: b.lack, lm: b.lack, l1: b.lack})
	b.inflow = in
	b.end(GoesOn, "")
}

// rest ends the body's way at a level where it stands.
func (b *body) rest(n float64) {
	switch {
	case b.inflow > b.s.stopped && n+b.inflow > b.s.stopped:
		if b.why == "" {
			b.why = "what runs in keeps pace with the leak"
		}
		b.goOn(n)
	case b.unknown:
		b.end(NotKnown, "the leak of a valve is not known")
	case b.leaked || b.lost > 0:
		b.end(StoppedLeaking, "stopped leaking")
	default:
		b.end(NoLeak, "no leak")
	}
}

// end stops the body for good.
func (b *body) end(st Status, how string) {
	b.live = false
	r := &b.s.out.Pools[b.id]
	if how == "" {
		how = b.why
		if how == "" {
			how = b.fed + " keeps its level"
		}
	}
	if b.unknown {
		st = NotKnown
	}
	r.Status, r.Ended = st, how
}

// arrive does what happens at the level the body has come to, and reports whether the body is no more or time has passed.
func (b *body) arrive() bool {
	s := b.s
	down := b.net(b.level) >= 0
	for _, i := range b.leaks {
		s.leaks[i].meet(b, down)
	}
	b.lack, b.area = b.measure(b.level, true)
	low, area := b.measure(b.level, false)
	if gap := low - b.lack; !b.down && gap > 1e-12 && b.net(b.level) > s.stopped {
		// Air comes past a sag and a column under vapour comes down behind it: the level stands until it is down.
		t := b.time + gap/b.net(b.level)
		s.event(b.time, "draining.air-breaks-in", s.span(b), fmt.Sprintf("Air comes past a sag whose obvert stands at %.2f m, and %.1f m³ of water behind it that hung under suction come down.", b.level, gap))
		p := panel{t0: b.time, tm: 0.5 * (b.time + t), t1: t, h0: b.level, hm: b.level, h1: b.level, l0: b.lack, lm: 0.5 * (b.lack + low), l1: low, a1: area}
		if t >= s.in.Horizon {
			p = b.until(p, s.in.Horizon)
		}
		b.take(p)
		b.area, b.above, b.down = area, true, true
		return true
	}
	b.lack, b.area = low, area
	return s.splits(b)
}
