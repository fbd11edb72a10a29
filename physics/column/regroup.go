package column

import (
	"math"
	"slices"
)

// regroup finds anew, after the water's bodies have changed, which air hangs together, what it weighs, which valves stand in it and
// where spilt water goes. Air is kept: a pocket that is parted is parted by volume, pockets that join add up.
func (s *sim) regroup() {
	for n := range s.wet {
		s.wet[n] = false
	}
	for k := range s.legs {
		l := &s.legs[k]
		for side := range l.e {
			l.e[side].pocket = -1
			if !l.dead && l.pipe >= 0 && l.e[side].at == atNode {
				s.wet[s.nodeOf(l, side)] = true
			}
		}
	}
	s.swallow()
	old := s.pockets
	group := s.findSpans()
	s.pockets = s.sparePockets[:0]
	for i := range s.spans {
		g := root(group, i)
		if g == i { // a group's first span comes before its others
			s.pockets = grown(s.pockets)
			s.spans[i].pocket = len(s.pockets) - 1
		} else {
			s.spans[i].pocket = s.spans[g].pocket
		}
		p := &s.pockets[s.spans[i].pocket]
		p.spans = append(p.spans, s.spans[i].span)
	}
	for k := range s.pockets {
		s.outline(k)
	}
	s.placeVents()
	s.placePuddles()
	for k := range s.pockets {
		s.fill(&s.pockets[k])
	}
	s.inherit(old)
	s.sparePockets = old
	for k := range s.pockets {
		if p := &s.pockets[k]; !p.open {
			s.trace(p, p.p-s.net.Atmosphere)
		}
	}
	s.findTargets()
}

// grown adds an empty pocket to a list, in room that another has left where there is some.
func grown(list []pocket) []pocket {
	n := len(list)
	if n == cap(list) {
		return append(list, pocket{ri: -1})
	}
	list = list[:n+1]
	p := &list[n]
	*p = pocket{ri: -1, spans: p.spans[:0], ends: p.ends[:0], pudd: p.pudd[:0], vents: p.vents[:0]}
	return list
}

func root(group []int, i int) int {
	for group[i] != i {
		i = group[i]
	}
	return i
}

// spanOf is a span with the pocket it belongs to.
type spanOf struct {
	span
	pocket int
}

// findSpans lists the air of every pipe, in order, and joins what meets at dry nodes; a group is known by its first span.
func (s *sim) findSpans() (group []int) {
	s.spans, s.oldSpans = s.oldSpans[:0], s.spans
	s.spanAt, s.oldSpanAt = s.oldSpanAt[:0], s.spanAt
	group = s.group[:0]
	touch := map[int]int{} // first span at a dry node
	join := func(node, i int) {
		if s.wet[node] || s.openNode(node) || s.shutNode(node) {
			return
		}
		if first, ok := touch[node]; ok {
			a, b := root(group, first), root(group, i)
			group[max(a, b)] = min(a, b)
		} else {
			touch[node] = i
		}
	}
	for p := range s.net.Pipes {
		s.spanAt = append(s.spanAt, len(s.spans))
		at, left := 0.0, ref{-1, upper}
		blocked := false // the water stands at the node itself
		add := func(hi float64, right ref) {
			s.spans = append(s.spans, spanOf{span{p, at, hi, left, right}, -1})
			n := len(s.spans) - 1
			group = append(group, n)
			if left.leg < 0 {
				join(s.net.Pipes[p].From, n)
			}
			if right.leg < 0 {
				join(s.net.Pipes[p].To, n)
			}
		}
		for _, k := range s.order[p] {
			l := &s.legs[k]
			if l.e[lower].at != atNode {
				add(l.e[lower].w, ref{k, lower})
			}
			at, left = l.e[upper].w, ref{k, upper}
			blocked = l.e[upper].at == atNode
		}
		if !blocked {
			add(s.shape[p].total(), ref{-1, lower})
		}
	}
	s.spanAt = append(s.spanAt, len(s.spans))
	s.group = group
	return group
}

// outline notes what bounds a pocket.
func (s *sim) outline(k int) {
	p := &s.pockets[k]
	for _, sp := range p.spans {
		for _, r := range []ref{sp.left, sp.right} {
			if r.leg >= 0 {
				p.ends = append(p.ends, r)
				s.legs[r.leg].e[r.side].pocket = k
			}
		}
		sh := s.shape[sp.pipe]
		if sp.left.leg < 0 {
			p.open = p.open || s.openNode(s.net.Pipes[sp.pipe].From)
		}
		if sp.right.leg < 0 {
			p.base += sh.total()
			p.open = p.open || s.openNode(s.net.Pipes[sp.pipe].To)
		}
		c := sh.seg[sh.find(0.5*(sp.lo+sp.hi), 0)]
		p.area = max(p.area, c.area)
		p.least = max(p.least, goneShare*c.area*c.bore)
	}
}

// goneShare is the volume, in cubes of bore (area times bore), at which a pocket counts as gone: the column then ends it at its speed.
const goneShare = 3e-3

// fill reckons a pocket's volume from its fronts.
func (s *sim) fill(p *pocket) {
	p.v = p.base
	for _, r := range p.ends {
		w := s.legs[r.leg].e[r.side].w
		if r.side == upper {
			w = -w
		}
		p.v += w
	}
	for _, k := range p.pudd {
		p.v -= s.puddles[k].v
	}
}

// placeVents finds the pocket of every valve that stands in air. A valve that no air reaches is wet.
func (s *sim) placeVents() {
	for i := range s.vents {
		v := &s.vents[i]
		v.pocket = -1
		if v.mouth.leg >= 0 {
			v.pocket = s.beforeMouth(v.mouth)
			if v.wet = v.pocket < 0; !v.wet {
				s.pockets[v.pocket].vents = append(s.pockets[v.pocket].vents, i)
			}
			continue
		}
		if v.wet {
			continue
		}
		v.pocket = s.pocketAt(v.pipe, v.node, v.w)
		if v.pocket < 0 {
			v.wet = true
			v.rec.Wet, v.rec.WetSince = true, s.t
			continue
		}
		p := &s.pockets[v.pocket]
		p.vents = append(p.vents, i)
	}
}

// beforeMouth is the closed pocket that stands at a pipe's end under water, −1 for none.
func (s *sim) beforeMouth(r ref) int {
	list := s.order[r.leg]
	if len(list) == 0 {
		return -1
	}
	k := list[r.side*(len(list)-1)]
	l := &s.legs[k]
	e := &l.e[1-r.side]
	if l.e[r.side].at != atNode || s.beginning(l) < 0 || e.pocket < 0 || s.pockets[e.pocket].open {
		return -1
	}
	return e.pocket
}

// pocketAt is the pocket in which a place stands; −1: in water.
func (s *sim) pocketAt(pipe, node int, w float64) int {
	if pipe >= 0 {
		c := s.shape[pipe].seg[0]
		hair := 5e-4 * c.area * c.bore
		lo, hi := s.spanAt[pipe], s.spanAt[pipe+1]
		for lo < hi { // the first that ends at or beyond w
			if mid := (lo + hi) / 2; s.spans[mid].hi < w-hair {
				lo = mid + 1
			} else {
				hi = mid
			}
		}
		if lo < s.spanAt[pipe+1] && w >= s.spans[lo].lo-hair {
			return s.spans[lo].pocket
		}
		return -1
	}
	for i := range s.spans {
		sp := &s.spans[i]
		if sp.left.leg < 0 && s.net.Pipes[sp.pipe].From == node || sp.right.leg < 0 && s.net.Pipes[sp.pipe].To == node {
			return sp.pocket
		}
	}
	return -1
}

func (s *sim) placePuddles() {
	for i := range s.puddles {
		q := &s.puddles[i]
		if !q.used {
			continue
		}
		q.pocket = s.pocketAt(q.pipe, q.node, q.w)
		if q.pocket >= 0 {
			s.pockets[q.pocket].pudd = append(s.pockets[q.pocket].pudd, i)
		}
	}
}

// swallow adds a puddle that a column has reached to that column.
func (s *sim) swallow() {
	for i := range s.puddles {
		q := &s.puddles[i]
		if !q.used {
			continue
		}
		for k := range s.legs {
			l := &s.legs[k]
			if l.dead || l.pipe < 0 {
				continue
			}
			inside := q.pipe == l.pipe && q.w > l.e[lower].w && q.w < l.e[upper].w ||
				q.node >= 0 && s.wet[q.node] && (l.e[lower].at == atNode && s.nodeOf(l, lower) == q.node || l.e[upper].at == atNode && s.nodeOf(l, upper) == q.node)
			if !inside {
				continue
			}
			s.give(k, q.v)
			q.used, q.v = false, 0
			break
		}
	}
}

// give adds a volume of water to a leg, at a front that can move.
func (s *sim) give(k int, v float64) {
	l := &s.legs[k]
	for _, side := range []int{upper, lower} {
		if l.e[side].at != atNode {
			s.giveAt(k, side, v)
			return
		}
	}
	if !s.giveAt(k, upper, v) { // where it goes nowhere, the balance shows it
		s.giveAt(k, lower, v)
	}
}

// giveAt adds a volume at one side of a leg, if water can go there.
func (s *sim) giveAt(k, side int, v float64) bool {
	e := &s.legs[k].e[side]
	switch e.at {
	case free:
		e.w += outward(side) * v
		return true
	case held:
		return s.hand(target{kind: ontoFront, ref: ref{k, side}}, v, 0)
	}
	return s.giveNode(k, side, v, 0)
}

// giveNode adds a volume of water to a leg from the node at one side: what is missing there the node supplies, what is too much it takes.
func (s *sim) giveNode(k, side int, v float64, depth int) bool {
	n := s.nodeOf(&s.legs[k], side)
	switch {
	case s.net.Nodes[n].Kind == Junction:
		for _, r := range s.at[n] {
			list := s.order[r.leg]
			if len(list) == 0 || depth > len(s.net.Pipes) {
				continue
			}
			near := list[0]
			if r.side == upper {
				near = list[len(list)-1]
			}
			if near == k || s.legs[near].e[r.side].at != atNode {
				continue
			}
			far := &s.legs[near].e[1-r.side]
			if far.at != atNode && s.giveAt(near, 1-r.side, v) || far.at == atNode && s.giveNode(near, 1-r.side, v, depth+1) {
				return true
			}
		}
		return false
	case s.shutNode(n):
		return false
	case v < 0:
		s.res.Balance.WaterIn -= v
	default:
		s.res.Balance.WaterOut += v
	}
	return true
}

// hand passes a volume of spilt water to where it goes, and tells whether it came to anywhere; depth bounds a ring of targets.
func (s *sim) hand(t target, v float64, depth int) bool {
	switch {
	case depth > 8: // two held fronts that face one another
		return false
	case t.kind == ontoFront && s.legs[t.ref.leg].e[t.ref.side].at == free:
		s.legs[t.ref.leg].e[t.ref.side].w += outward(t.ref.side) * v
	case t.kind == ontoFront && s.legs[t.ref.leg].e[t.ref.side].at == held:
		l := &s.legs[t.ref.leg] // where its water goes may have changed with what has just gone
		return s.hand(s.runsTo(l.pipe, l.e[t.ref.side].w, 2*t.ref.side-1, t.ref, 0), v, depth+1)
	case t.kind == ontoPuddle:
		s.puddles[t.puddle].v += v
	case t.kind == outOfLine:
		s.res.Balance.WaterOut += v
	default: // the balance shows it
		return false
	}
	return true
}

// share is how much of an old pocket's volume a new one took over.
type share struct {
	from, to int
	v        float64
}

// inherit hands the air of the pockets before to those now.
func (s *sim) inherit(old []pocket) {
	shares, total := s.shares[:0], fitted(s.total, len(old))
	clear(total)
	sorted := true
	for p := 0; p < len(s.net.Pipes) && len(s.oldSpanAt) > 0; p++ {
		j := s.oldSpanAt[p]
		for i := s.spanAt[p]; i < s.spanAt[p+1]; i++ {
			now := &s.spans[i]
			for j < s.oldSpanAt[p+1] && s.oldSpans[j].hi < now.lo {
				j++
			}
			for k := j; k < s.oldSpanAt[p+1] && s.oldSpans[k].lo <= now.hi; k++ {
				was := &s.oldSpans[k]
				v := max(0, min(now.hi, was.hi)-max(now.lo, was.lo)) + 1e-14
				total[was.pocket] += v
				sorted = sorted && (len(shares) == 0 || shares[len(shares)-1].to <= now.pocket)
				shares = append(shares, share{was.pocket, now.pocket, v})
			}
		}
	}
	if !sorted {
		slices.SortStableFunc(shares, func(a, b share) int { return a.to - b.to })
	}
	s.shares, s.total = shares, total
	b := &s.res.Balance
	for o := range old {
		if total[o] == 0 && !old[o].open {
			b.AirCarried += old[o].m
			s.ended(old[o].id)
		}
	}
	taken := map[int]int{}
	at := 0
	for k := range s.pockets {
		first := at
		for at < len(shares) && shares[at].to == k {
			at++
		}
		s.receive(k, old, merged(shares[first:at]), total, taken)
	}
}

// merged adds up what one pocket has of each old one.
func merged(shares []share) []share {
	n := 0
	for _, sh := range shares {
		found := false
		for i := range n {
			if shares[i].from == sh.from {
				shares[i].v += sh.v
				found = true
			}
		}
		if !found {
			shares[n] = sh
			n++
		}
	}
	return shares[:n]
}

// receive fills one new pocket with air.
func (s *sim) receive(k int, old []pocket, shares []share, total []float64, taken map[int]int) {
	p, b := &s.pockets[k], &s.res.Balance
	m, pv, from, most, best, closed := 0.0, 0.0, 0, 0.0, -1, 0.0
	c := s.cA
	for _, sh := range shares {
		o := &old[sh.from]
		f := sh.v / total[sh.from]
		from++
		c = o.c
		if !o.open {
			m += f * o.m
			pv += f * o.p * o.v
			closed += f * o.m
		}
		if sh.v > most {
			most, best = sh.v, sh.from
		}
	}
	switch {
	case p.open:
		b.AirVented += closed
		p.m, p.c, p.p = s.rhoA*p.v, s.cA, s.net.Atmosphere
	case from == 0:
		p.m, p.c = s.rhoA*p.v, s.cA
		if s.started {
			b.AirIn += p.m // let in by the valve where the water parted
		} else if start := s.startPressure(p); start > 0 {
			p.m *= start / s.net.Atmosphere // at the temperature outside
			p.c = start / math.Pow(p.m/p.v, s.nExp)
		}
	default:
		for _, sh := range shares { // air of what was open stays at the atmosphere's density
			if old[sh.from].open {
				add := s.rhoA * max(0, p.v) * sh.v / covered(shares)
				m += add
				pv += s.net.Atmosphere * add / s.rhoA
				b.AirVented -= add
			}
		}
		p.m = m
		if from > 1 && m > 0 && p.v > 0 {
			c = pv / p.v / math.Pow(m/p.v, s.nExp)
		}
		p.c = c
	}
	if best >= 0 {
		if _, gone := taken[old[best].id]; !gone {
			p.id = old[best].id
			taken[p.id] = k
		}
	}
	if p.id == 0 {
		s.nextID++
		p.id = s.nextID
		taken[p.id] = k
	}
	if !p.open {
		p.rho = max(p.m, 1e-300) / max(p.v, 0.1*p.least)
		if best >= 0 && (from == 1 || p.m <= 0) && !old[best].open && old[best].rho > 0 {
			p.rho = old[best].rho // the same air: mass over volume may be off by rounding where little is left
		}
		p.p = s.pressure(p.c, p.rho)
	}
}

// covered is the volume of a new pocket that comes from old ones.
func covered(shares []share) float64 {
	sum := 0.0
	for _, sh := range shares {
		sum += sh.v
	}
	return sum
}

// startPressure is the absolute pressure given for a pocket at the start, 0 for none.
func (s *sim) startPressure(p *pocket) float64 {
	for _, a := range s.set.Pressures {
		w := s.shape[a.Pipe].volumeAt(a.Distance)
		for _, sp := range p.spans {
			if sp.pipe == a.Pipe && w >= sp.lo && w <= sp.hi {
				return a.Pressure
			}
		}
	}
	return 0
}

// findTargets finds where the water of every held end goes.
func (s *sim) findTargets() {
	for k := range s.legs {
		for side := range s.legs[k].e {
			s.legs[k].e[side].from = s.legs[k].e[side].from[:0]
		}
	}
	for i := range s.puddles {
		s.puddles[i].from = s.puddles[i].from[:0]
	}
	s.faceToFace()
	for k := range s.legs {
		l := &s.legs[k]
		if l.dead || l.pipe < 0 {
			continue
		}
		for side := range l.e {
			if l.e[side].at != held {
				continue
			}
			dir := 2*side - 1
			t := s.runsTo(l.pipe, l.e[side].w, dir, ref{k, side}, 0)
			s.legs[k].e[side].to = t
			switch t.kind {
			case outOfLine:
				if s.res.Delivery == 0 && s.started {
					s.res.Delivery = s.t
				}
			case ontoFront:
				e := &s.legs[t.ref.leg].e[t.ref.side]
				e.from = append(e.from, ref{k, side})
			case ontoPuddle:
				q := &s.puddles[t.puddle]
				q.from = append(q.from, ref{k, side})
			}
		}
	}
	for i := range s.puddles { // dry and forgotten
		q := &s.puddles[i]
		if q.used && q.v == 0 && len(q.from) == 0 {
			q.used = false
		}
	}
}

// faceToFace lets one of two held fronts go where nothing but a slope lies between them: what the other spills comes onto it.
func (s *sim) faceToFace() {
	for p, list := range s.order {
		for i := 1; i < len(list); i++ {
			a, b := &s.legs[list[i-1]], &s.legs[list[i]]
			if a.e[upper].at != held || b.e[lower].at != held {
				continue
			}
			if _, low := s.shape[p].lowBetween(a.e[upper].w, b.e[lower].w, 1); low {
				continue
			}
			if a.q >= -b.q {
				b.e[lower].at = free
			} else {
				a.e[upper].at = free
			}
		}
	}
}

// runsTo follows water that runs down a pipe from w in a direction to where it gathers.
func (s *sim) runsTo(pipe int, w float64, dir int, self ref, depth int) target {
	sh := s.shape[pipe]
	next, nextW := -1, s.endW(pipe, (dir+1)/2)
	list := s.order[pipe]
	for i := range list {
		k := list[i]
		if dir < 0 {
			k = list[len(list)-1-i]
		}
		near := lower
		if dir < 0 {
			near = upper
		}
		if k != self.leg && s.legs[k].e[near].at != atNode && float64(dir)*(s.legs[k].e[near].w-w) >= -s.hair(&s.legs[k]) {
			next, nextW = k, s.legs[k].e[near].w
			break
		}
	}
	low, ok := sh.lowBetween(w, nextW, dir)
	if c, shut := sh.checkBetween(w, nextW, dir); shut && !(ok && float64(dir)*(c-low) > 0) {
		low, ok = c, true
	}
	if ok {
		return target{kind: ontoPuddle, puddle: s.puddleAt(pipe, -1, low)}
	}
	if next >= 0 {
		return target{kind: ontoFront, ref: ref{next, (1 - dir) / 2}}
	}
	node := s.net.Pipes[pipe].To
	if dir < 0 {
		node = s.net.Pipes[pipe].From
	}
	switch {
	case s.openNode(node):
		return target{kind: outOfLine, node: node}
	case s.shutNode(node), depth > len(s.net.Pipes):
		return target{kind: ontoPuddle, puddle: s.puddleAt(-1, node, 0)}
	}
	best, steep := ref{-1, 0}, 1e-9
	for _, r := range s.at[node] {
		if r.leg == pipe && s.endW(pipe, r.side) == nextW {
			continue
		}
		d := 1 - 2*r.side
		if slope := s.shape[r.leg].slopeFrom(s.endW(r.leg, r.side), d); slope > steep && s.shape[r.leg].falls(s.endW(r.leg, r.side), d) {
			best, steep = r, slope
		}
	}
	if best.leg >= 0 {
		return s.runsTo(best.leg, s.endW(best.leg, best.side), 1-2*best.side, ref{-1, 0}, depth+1)
	}
	return target{kind: ontoPuddle, puddle: s.puddleAt(-1, node, 0)}
}

// lowBetween is the first low point that water running from w meets before it comes to end.
func (s *shape) lowBetween(w, end float64, dir int) (float64, bool) {
	for i := range s.turns {
		t := s.turns[i]
		if dir < 0 {
			t = s.turns[len(s.turns)-1-i]
		}
		if !t.crest && float64(dir)*(t.w-w) > 0 && float64(dir)*(end-t.w) > 0 {
			return t.w, true
		}
	}
	return 0, false
}

// checkBetween is the first check valve that holds back water running from w to end.
func (s *shape) checkBetween(w, end float64, dir int) (at float64, ok bool) {
	for _, c := range s.checks {
		if int(c.way())*dir < 0 && float64(dir)*(c.w-w) >= 0 && float64(dir)*(end-c.w) >= 0 && !(ok && float64(dir)*(c.w-at) >= 0) {
			at, ok = c.w, true
		}
	}
	return at, ok
}

// puddleAt finds or makes the puddle at a low point.
func (s *sim) puddleAt(pipe, node int, w float64) int {
	for i := range s.puddles {
		q := &s.puddles[i]
		if q.used && q.pipe == pipe && q.node == node && (node >= 0 || q.w == w) {
			return i
		}
	}
	q := puddle{pipe: pipe, node: node, w: w, used: true, vi: -1}
	if pipe >= 0 {
		q.spread = [2]float64{s.wedge(pipe, w, -1), s.wedge(pipe, w, 1)}
		q.seal = q.spread[0] + q.spread[1]
	} else {
		for _, r := range s.at[node] {
			q.seal += s.wedge(r.leg, s.endW(r.leg, r.side), 1-2*r.side)
		}
	}
	q.pocket = s.pocketAt(pipe, node, w)
	k := slices.IndexFunc(s.puddles, func(q puddle) bool { return !q.used })
	if k < 0 {
		s.puddles = append(s.puddles, q)
		k = len(s.puddles) - 1
	} else {
		s.puddles[k] = q
	}
	if q.pocket >= 0 {
		p := &s.pockets[q.pocket]
		p.pudd = append(p.pudd, k)
	}
	return k
}

// wedge is the water that stands beside a low point, on one side of it, when it reaches the obvert there: half the pipe over the
// length that it rises by one bore (exact for an even slope, by symmetry of the circle), at most half the way to whatever is next.
func (s *sim) wedge(pipe int, w float64, dir int) float64 {
	sh := s.shape[pipe]
	if _, shut := sh.checkBetween(w, w, dir); shut {
		return 0
	}
	c := sh.seg[sh.find(min(max(w+float64(dir)*1e-9*sh.total(), 0), sh.total()), 0)]
	room := math.Abs(s.endW(pipe, (dir+1)/2) - w)
	for _, k := range s.order[pipe] {
		for side := range s.legs[k].e {
			if d := float64(dir) * (s.legs[k].e[side].w - w); d > 0 {
				room = min(room, d)
			}
		}
	}
	for _, t := range sh.turns {
		if d := float64(dir) * (t.w - w); d > 0 {
			room = min(room, d)
		}
	}
	rise := max(-sh.slopeFrom(w, dir), 1e-4)
	return min(c.area*c.bore/(2*rise), 0.5*room)
}
