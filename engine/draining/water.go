package draining

import (
	"math"

	"obvert/physics/pipe"
)

// piece is the water that stands in a straight length of pipe, as a function of the level alone.
//
// With depths d = (h − invert)/cos at both ends and S the area of the circular segment,
//
//	V(h) = L/(d₂−d₁) ∫ S dd,   A(h) = dV/dh = L/(d₂−d₁) · (S(d₂) − S(d₁))/cos
//
// Above the level jump no air has come and the surface stands under vapour, at h + hang; the column comes down while the level stands at
// jump.
type piece struct {
	top, bottom  float64 // m: full from top up, empty from bottom down
	full         float64 // m³
	length, bore float64 // m
	inv1, inv2   float64 // m
	cos          float64 // of the slope; 0 for a vertical pipe
	jump, hang   float64 // m; hang is 0 where air stands over the water whenever it does not fill the pipe
}

// piece describes a segment's water.
func (t *tree) piece(seg int) piece {
	s := &t.segs[seg]
	sine := (s.invert2 - s.invert1) / s.length
	p := piece{length: s.length, bore: s.bore, inv1: s.invert1, inv2: s.invert2, full: pipe.Area(s.bore) * s.length, jump: math.Inf(1),
		cos: math.Sqrt(max(0, 1-sine*sine))}
	if p.cos < 1e-7 {
		p.cos = 0
	}
	p.bottom, p.top = min(p.inv1, p.inv2), max(s.obvert1, s.obvert2)
	if p.cos == 0 {
		p.top = max(p.inv1, p.inv2)
	}
	if a := t.airLevel(seg); a < p.top-headTolerance {
		p.jump, p.hang = a, t.vapour
	}
	return p
}

// under is the height that a surface in the piece has over the level; above says that a level at the jump itself counts as above it.
func (p *piece) under(h float64, above bool) float64 {
	if p.hang != 0 && (h > p.jump || above && h == p.jump) {
		return p.hang
	}
	return 0
}

// missing is the volume, m³, that the piece lacks at a level, and the area, m², of its surface.
func (p *piece) missing(h float64, above bool) (lack, area float64) {
	h += p.under(h, above)
	switch {
	case h >= p.top:
		return 0, 0
	case h <= p.bottom:
		return p.full, 0
	case p.cos == 0:
		a := p.full / p.length
		return a * (p.top - h), a
	}
	d1, d2 := (h-p.inv1)/p.cos, (h-p.inv2)/p.cos
	lack = p.full - pipe.WedgeVolume(p.length, p.bore, d1, d2)
	if rise := d2 - d1; math.Abs(rise) < 1e-5*p.bore {
		area = p.length * pipe.SegmentWidth(0.5*(d1+d2), p.bore) / p.cos
	} else {
		area = p.length / (rise * p.cos) * (pipe.SegmentArea(d2, p.bore) - pipe.SegmentArea(d1, p.bore))
	}
	return lack, area
}

// standing is the volume, m³, under a surface, by the textbook's closed form.
func (p *piece) standing(surface float64) float64 {
	return pipe.StandingVolume(surface, p.length, p.bore, p.inv1, p.inv2)
}

// measure is the volume, m³, that pipes and tanks of a node lack at a level against full pipes and the tanks' first levels, and the area, m²,
// of all surfaces.
func (t *tree) measure(k int32, h float64, above bool) (lack, area float64) {
	n := &t.nodes[k]
	w := t.water[n.from:n.to]
	for i := range w {
		p := &w[i]
		if p.hang == 0 {
			if h >= p.top {
				continue
			}
			if h <= p.bottom {
				lack += p.full
				continue
			}
		}
		l, a := p.missing(h, above)
		lack, area = lack+l, area+a
	}
	for _, tk := range t.tanks {
		if t.holds(k, tk.vertex) && !math.IsInf(tk.area, 1) {
			lack, area = lack+tk.area*(tk.level-h), area+tk.area
		}
	}
	return lack, area
}
