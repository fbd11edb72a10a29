package column

import (
	"math"

	"obvert/physics/pipe"
)

// shape is a pipe by its volume coordinate: w, m³, is the volume of the pipe from its beginning. A front at w leaves exactly w
// behind it, whatever the bores, so that moving fronts by flows keeps the water's volume.
type shape struct {
	w, x, z []float64   // at the points: volume, distance, level of the axis
	inert   []float64   // ∫ dx/(g A) from the beginning, s²/m²
	local   []float64   // local loss from the beginning, s²/m⁵: h = local q|q|
	length  [][]float64 // by law, m
	seg     []piece     // between points i and i+1
	byLaw   []int       // law of each piece
	law     []law
	turns   []turn
	vents   []float64 // w by vent
	checks  []checkAt
	level   [2]float64 // of the axis at the two ends
}

// piece is an even stretch between two points of a shape.
type piece struct {
	section int
	area    float64 // m²
	perArea float64 // 1/area
	rise    float64 // change of level per volume, m⁻²
	inert   float64 // per volume
	local   float64 // per volume
	speed   float64 // velocity head per q², s²/m⁵: 1/(2 g A²)
	bore    float64
	slope   float64 // rise per length
}

// law is the friction of all sections alike.
type law struct {
	pipe *pipe.Law
	f    float64 // slope of the grade line per q|q| where pipe is nil
}

func (l *law) gradient(q float64) float64 {
	if l.pipe != nil {
		s, _ := l.pipe.Gradient(q)
		return s
	}
	return l.f * q * math.Abs(q)
}

// turn is a crest or a low point that water notices: it stands out by more than the bore.
type turn struct {
	w     float64
	z     float64
	crest bool
}

type checkAt struct {
	w       float64
	reverse bool
}

// way is the direction that a check valve lets pass.
func (c checkAt) way() int8 {
	if c.reverse {
		return -1
	}
	return 1
}

// newShape lays a pipe out by volume.
func newShape(p *Pipe, g float64) *shape {
	s := &shape{}
	sec := 0
	add := func(x, z float64) {
		n := len(s.x)
		if n == 0 {
			s.x, s.z, s.w = append(s.x, x), append(s.z, z), append(s.w, 0)
			return
		}
		l := x - s.x[n-1]
		if l <= 0 {
			return
		}
		for sec < len(p.Sections)-1 && s.x[n-1] >= p.Sections[sec].To {
			sec++
		}
		c := &p.Sections[sec]
		a := pipe.Area(c.Bore)
		k := 0.0
		if full := c.To - c.From; full > 0 {
			k = c.Loss / full / (2 * g * a * a)
		}
		rise := (z - s.z[n-1]) / l
		s.seg = append(s.seg, piece{section: sec, area: a, perArea: 1 / a, rise: rise / a, inert: 1 / (g * a * a), local: k / a,
			speed: 1 / (2 * g * a * a), bore: c.Bore, slope: rise})
		s.x, s.z, s.w = append(s.x, x), append(s.z, z), append(s.w, s.w[n-1]+a*l)
	}
	border := 0
	for i, pt := range p.Points {
		for border < len(p.Sections)-1 && p.Sections[border].To < pt.Distance && i > 0 {
			b, prev := p.Sections[border].To, p.Points[i-1]
			if b > prev.Distance {
				add(b, prev.Level+(b-prev.Distance)/(pt.Distance-prev.Distance)*(pt.Level-prev.Level))
			}
			border++
		}
		add(pt.Distance, pt.Level)
	}
	s.laws(p, g)
	s.level = [2]float64{s.z[0], s.z[len(s.z)-1]}
	s.findTurns()
	for i := range p.Vents {
		s.vents = append(s.vents, s.settle(s.volumeAt(p.Vents[i].Distance)))
	}
	for _, c := range p.Checks {
		s.checks = append(s.checks, checkAt{s.volumeAt(c.Distance), c.Reverse})
	}
	return s
}

// laws gathers the sections of one friction law and sums lengths, inertia and local losses along the pipe.
func (s *shape) laws(p *Pipe, g float64) {
	which := make([]int, len(p.Sections))
	for i := range p.Sections {
		c := &p.Sections[i]
		a := pipe.Area(c.Bore)
		l := law{pipe: c.Law}
		if c.Law == nil {
			l.f = c.Friction / c.Bore / (2 * g * a * a)
		}
		which[i] = -1
		for k, have := range s.law {
			if have.f == l.f && (have.pipe == l.pipe || have.pipe != nil && l.pipe != nil && *have.pipe == *l.pipe) {
				which[i] = k
			}
		}
		if which[i] < 0 {
			which[i] = len(s.law)
			s.law = append(s.law, l)
		}
	}
	n := len(s.x)
	s.inert, s.local = make([]float64, n), make([]float64, n)
	s.length = make([][]float64, len(s.law))
	for k := range s.length {
		s.length[k] = make([]float64, n)
	}
	for i, c := range s.seg {
		dw := s.w[i+1] - s.w[i]
		s.inert[i+1] = s.inert[i] + c.inert*dw
		s.local[i+1] = s.local[i] + c.local*dw
		for k := range s.length {
			s.length[k][i+1] = s.length[k][i]
		}
		s.length[which[c.section]][i+1] += dw * c.perArea
	}
	s.byLaw = make([]int, len(s.seg))
	for i, c := range s.seg {
		s.byLaw[i] = which[c.section]
	}
}

func (s *shape) total() float64 { return s.w[len(s.w)-1] }

// find returns the piece in which w lies, looking from a hint outwards; at a point, the piece behind it.
func (s *shape) find(w float64, hint int) int {
	n := len(s.seg)
	if hint < 0 || hint >= n {
		hint = 0
	}
	for steps := 0; ; steps++ {
		switch {
		case hint > 0 && w < s.w[hint]:
			hint--
		case hint < n-1 && w > s.w[hint+1]:
			hint++
		default:
			return hint
		}
		if steps == 8 { // far off
			lo, hi := 0, n-1
			for lo < hi {
				mid := (lo + hi) / 2
				if w > s.w[mid+1] {
					lo = mid + 1
				} else {
					hi = mid
				}
			}
			hint = lo
		}
	}
}

// mark is a place on a shape with all that has been summed up to it.
type mark struct {
	seg int
	dw  float64 // beyond the beginning of the piece
}

func (s *shape) mark(w float64, hint int) mark {
	i := s.find(w, hint)
	return mark{i, w - s.w[i]}
}

func (s *shape) levelAt(m mark) float64    { return s.z[m.seg] + s.seg[m.seg].rise*m.dw }
func (s *shape) distanceAt(m mark) float64 { return s.x[m.seg] + s.seg[m.seg].perArea*m.dw }
func (s *shape) inertAt(m mark) float64    { return s.inert[m.seg] + s.seg[m.seg].inert*m.dw }

// lost is the head lost by a flow between two marks.
func (s *shape) lost(a, b mark, q float64) float64 {
	h := 0.0
	for k := range s.law {
		l := s.length[k][b.seg] - s.length[k][a.seg]
		if s.byLaw[b.seg] == k {
			l += b.dw * s.seg[b.seg].perArea
		}
		if s.byLaw[a.seg] == k {
			l -= a.dw * s.seg[a.seg].perArea
		}
		if l != 0 {
			h += l * s.law[k].gradient(q)
		}
	}
	k := s.local[b.seg] + s.seg[b.seg].local*b.dw - s.local[a.seg] - s.seg[a.seg].local*a.dw
	return h + k*q*math.Abs(q)
}

// volumeAt is the volume coordinate of a distance.
func (s *shape) volumeAt(x float64) float64 {
	lo, hi := 0, len(s.seg)-1
	for lo < hi {
		mid := (lo + hi) / 2
		if x > s.x[mid+1] {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	return min(max(0, s.w[lo]+(x-s.x[lo])*s.seg[lo].area), s.total())
}

// findTurns finds crests and low points along the pipe that stand out from both neighbours by more than the bore: a lesser one
// neither parts water nor seals. Of a level stretch the middle counts.
func (s *shape) findTurns() {
	type extreme struct {
		first, last int
		z           float64
	}
	top, low := extreme{0, 0, s.z[0]}, extreme{0, 0, s.z[0]}
	dir := 0
	bore := func(i int) float64 { return s.seg[min(i, len(s.seg)-1)].bore }
	middle := func(e extreme) float64 { return 0.5 * (s.w[e.first] + s.w[e.last]) }
	for i, z := range s.z {
		switch {
		case z > top.z:
			top = extreme{i, i, z}
		case z == top.z && i == top.last+1:
			top.last = i
		}
		switch {
		case z < low.z:
			low = extreme{i, i, z}
		case z == low.z && i == low.last+1:
			low.last = i
		}
		switch {
		case dir >= 0 && top.z-z > bore(top.first):
			if top.first > 0 && (dir != 0 || top.z-s.z[0] > bore(0)) {
				s.turns = append(s.turns, turn{middle(top), top.z, true})
			}
			dir, low = -1, extreme{i, i, z}
			top = extreme{i, i, z}
		case dir <= 0 && z-low.z > bore(low.first):
			if low.first > 0 && (dir != 0 || s.z[0]-low.z > bore(0)) {
				s.turns = append(s.turns, turn{middle(low), low.z, false})
			}
			dir, top = 1, extreme{i, i, z}
			low = extreme{i, i, z}
		}
	}
}

// settle moves a valve onto the crest beside it, or onto the pipe's end where that is a crest of its own, where it stands less than half
// a bore below on the slope down from there: water that spills there does not reach its tapping. Beyond a dip it is another matter, however little it
// stands below.
func (s *shape) settle(w float64) float64 {
	m := s.mark(w, 0)
	z := s.levelAt(m)
	for i, t := range s.turns {
		if !t.crest || t.z-z > 0.5*s.seg[m.seg].bore || t.z < z {
			continue
		}
		between := i > 0 && w < s.turns[i-1].w || i < len(s.turns)-1 && w > s.turns[i+1].w
		if !between {
			return t.w
		}
	}
	bore := s.seg[m.seg].bore
	n := len(s.turns)
	if rise := s.level[0] - z; rise > 0 && rise <= 0.5*bore && s.slopes(0, w, z, s.level[0]) && (n == 0 || w < s.turns[0].w && !s.turns[0].crest) {
		return 0
	}
	if rise := s.level[1] - z; rise > 0 && rise <= 0.5*bore && s.slopes(w, s.total(), z, s.level[1]) && (n == 0 || w > s.turns[n-1].w && !s.turns[n-1].crest) {
		return s.total()
	}
	return w
}

// slopes tells whether no point of the pipe between two places lies outside two levels.
func (s *shape) slopes(from, to, low, high float64) bool {
	for i, w := range s.w {
		if w > from && w < to && (s.z[i] < low || s.z[i] > high) {
			return false
		}
	}
	return true
}

// falls tells whether the pipe falls from w towards the direction dir, up to the next turn or end.
func (s *shape) falls(w float64, dir int) bool {
	const hair = 1e-9
	for k := range s.turns {
		i := k
		if dir < 0 {
			i = len(s.turns) - 1 - k
		}
		t := s.turns[i]
		if dir > 0 && t.w > w+hair*s.total() || dir < 0 && t.w < w-hair*s.total() {
			return !t.crest
		}
	}
	here := s.levelAt(s.mark(w, 0))
	end := s.level[1]
	if dir < 0 {
		end = s.level[0]
	}
	return end < here-s.seg[s.find(w, 0)].bore // a lesser fall does not let air in over the water
}

// slopeFrom is the sine of the slope just beyond w in the direction dir, positive downhill.
func (s *shape) slopeFrom(w float64, dir int) float64 {
	hair := 1e-9 * s.total()
	c := s.seg[s.find(min(max(w+float64(dir)*hair, 0), s.total()), 0)]
	return -c.slope * float64(dir)
}
