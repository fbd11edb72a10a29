package draining

import (
	"math"

	"obvert/num"
)

// panel is a stretch of a body's way between two levels.
type panel struct {
	t0, tm, t1   float64    // s
	h0, hm, h1   float64    // m: level at its beginning, its middle, its end
	a0, am, a1   float64    // m²: surface
	l0, lm, l1   float64    // m³ that the body lacks
	fall         [3]float64 // m/s: how fast the level falls, likewise
	lost, runsIn float64    // m³
}

// gauss is Gauss's rule of four points on 0…1.
var gauss = [4]struct{ x, w float64 }{
	{0.0694318442029737, 0.1739274225687269}, {0.3300094782075719, 0.3260725774312731},
	{0.6699905217924281, 0.3260725774312731}, {0.9305681557970263, 0.1739274225687269},
}

// pass integrates over the level from h0 to h1, between which the volume lacking goes from l0 to l1 and the surface from a0 to a1:
//
//	t = ∫ A/n dh,  V_i = ∫ q_i A/n dh
//
// with n the flow out of the body less what runs in. A is that of the cubic which has these volumes and surfaces at its ends, so that the
// volume is met exactly and the quadrature weighs 1/n alone.
func (b *body) pass(h0, h1, l0, l1, a0, a1 float64, add func(w, h float64)) (t float64) {
	d := h1 - h0
	mean := (l1 - l0) / d
	var slope [4]float64
	even := false
	for i, g := range gauss {
		x := g.x
		slope[i] = 6*x*(1-x)*mean - (1-4*x+3*x*x)*a0 - (3*x*x-2*x)*a1
		even = even || slope[i] > 0
	}
	for i, g := range gauss {
		if even { // the cubic turns, so near an edge of the water's shape: a straight line does not
			slope[i] = mean
		}
		h := h0 + g.x*d
		w := g.w * d * slope[i] / b.net(h)
		t += w
		if add != nil {
			add(w, h)
		}
	}
	return t
}

// try makes a panel from where the body stands to a level, and estimates its relative error.
func (b *body) try(to float64) (p panel, wrong float64) {
	p = panel{t0: b.time, h0: b.level, hm: 0.5 * (b.level + to), h1: to}
	down := to < b.level
	p.l0, p.a0 = b.lack, b.area
	p.lm, p.am = b.measure(p.hm, down)
	p.l1, p.a1 = b.measure(to, down)
	whole := b.pass(p.h0, p.h1, p.l0, p.l1, p.a0, p.a1, nil)
	p.tm = p.t0 + b.pass(p.h0, p.hm, p.l0, p.lm, p.a0, p.am, nil)
	p.t1 = p.tm + b.pass(p.hm, p.h1, p.lm, p.l1, p.am, p.a1, nil)
	if dt := p.t1 - p.t0; dt > 0 {
		wrong = math.Abs(whole-dt) / dt
	}
	return p, wrong
}

// take moves the body along a panel.
func (b *body) take(p panel) {
	b.remember()
	add := func(w, h float64) {
		for _, i := range b.leaks {
			if k := &b.s.leaks[i]; k.state == Drips {
				v := w * k.flow(h)
				k.total += v
				p.lost += v
			}
		}
	}
	if p.h1 == p.h0 {
		add(p.t1-p.t0, p.h0)
	} else {
		b.pass(p.h0, p.hm, p.l0, p.lm, p.a0, p.am, add)
		b.pass(p.hm, p.h1, p.lm, p.l1, p.am, p.a1, add)
		p.fall = [3]float64{b.fall(p.h0, p.a0), b.fall(p.hm, p.am), b.fall(p.h1, p.a1)}
	}
	p.runsIn = b.inflow * (p.t1 - p.t0)
	b.time, b.level = p.t1, p.h1
	b.lack, b.area = p.l1, p.a1
	b.lost += p.lost
	b.s.runIn += p.runsIn
	b.panels = append(b.panels, p)
	b.s.steps++
	b.sample()
}

// fall is how fast the level falls, m/s; +Inf where nothing has a surface.
func (b *body) fall(h, area float64) float64 {
	if area <= 0 {
		return math.Copysign(math.Inf(1), b.net(h))
	}
	return b.net(h) / area
}

// until cuts a panel short at a time.
func (b *body) until(p panel, t float64) panel {
	if t >= p.t1 {
		return p
	}
	if t <= p.t0 {
		p.t1, p.tm, p.h1, p.hm, p.l1, p.lm, p.a1, p.am = p.t0, p.t0, p.h0, p.h0, p.l0, p.l0, p.a0, p.a0
		return p
	}
	if p.h0 == p.h1 {
		p.lm, p.l1 = p.l0, p.l0+(p.l1-p.l0)*(t-p.t0)/(p.t1-p.t0)
		p.t1 = t
		p.tm = 0.5 * (p.t0 + t)
		return p
	}
	h, _ := num.Root(func(h float64) float64 {
		if h == p.h0 {
			return p.t0 - t
		}
		q, _ := b.try(h)
		return q.t1 - t
	}, p.h0, p.h1, 1e-13*(1+math.Abs(p.h0)))
	if h == p.h0 {
		p.t1, p.tm, p.h1, p.hm, p.l1, p.lm = t, 0.5*(p.t0+t), p.h0, p.h0, p.l0, p.l0
		return p
	}
	q, _ := b.try(h)
	q.t1 = t
	return q
}

// at is the level at a time within a panel: the cubic through its ends with the speeds there, held monotone (F. N. Fritsch and R. E.
// Carlson, SIAM J. Numer. Anal. 17 (1980) 238, region of slopes up to three times the secant's).
func (p *panel) at(t float64) float64 {
	switch {
	case t <= p.t0 || p.h0 == p.h1:
		return p.h0
	case t >= p.t1:
		return p.h1
	case t <= p.tm:
		return hermite((t-p.t0)/(p.tm-p.t0), p.tm-p.t0, p.h0, p.hm, p.fall[0], p.fall[1])
	}
	return hermite((t-p.tm)/(p.t1-p.tm), p.t1-p.tm, p.hm, p.h1, p.fall[1], p.fall[2])
}

// hermite is the monotone cubic from h0 to h1 over a width, at a share x of it, with the speeds of fall at its ends.
func hermite(x, width, h0, h1, fall0, fall1 float64) float64 {
	mean := (h1 - h0) / width
	limit := func(fall float64) float64 {
		d := -fall
		if d*mean < 0 {
			return 0
		}
		return math.Copysign(min(math.Abs(d), 3*math.Abs(mean)), mean)
	}
	d0, d1 := limit(fall0), limit(fall1)
	y := 1 - x
	return h0 + (h1-h0)*x*x*(3-2*x) + width*x*y*(y*d0-x*d1)
}
