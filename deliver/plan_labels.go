package deliver

import (
	"fmt"
	"math"
)

// labels names what stands on the section: valves and equipment in the rail over it, lines along themselves.
func (s *planSheet) labels() {
	s.rail()
	for _, p := range s.pools {
		s.poolLabel(p)
	}
	for i, g := range s.lines {
		full, short := s.describe(g), s.short(g)
		if i == 0 {
			full = "grade line, " + full
		}
		placed, any := false, false
		for k, piece := range g.pieces {
			t := thin(s.trace(piece), 0.05)
			if len(t) < 2 {
				continue
			}
			any = true
			if !placed {
				placed = s.along(t, []string{full, short}, s.gradeInk(i), i == 0)
			} else if k > 0 && t[len(t)-1].x-t[0].x > 60 {
				s.along(t, []string{short}, s.gradeInk(i), i == 0)
			}
		}
		if any && !placed {
			s.keyed = append(s.keyed, g)
		}
	}
}

// rail sets the labels of a sheet's things over the section, turned, each over its column, and leads hairlines down to them.
func (s *planSheet) rail() {
	f := s.form
	for i := range s.cols {
		c := &s.cols[i]
		if len(c.lines) == 0 {
			continue
		}
		x, y := c.x, s.y.rail
		px, py := s.x(c.ch), s.level(s.obvertAt(c.ch))
		s.pen.polyline(inkStem, []pt{{x, y + 0.5}, {x, y + 1.5}, {px, s.y.fan}, {px, py}})
		s.p.avoid([]pt{{px, s.y.fan}, {px, py}}, 2)
		foot := y
		if c.valve >= 0 {
			r := 0.42 * f.large
			k := stateInks[c.state.class()]
			s.pen.shape(k, shapeOf(c.state), pt{x, y - 1.1*r}, r)
			s.pen.circle(inkValve, pt{px, py}, 0.35*f.small)
			foot -= 2.2*r + 1.5
			s.p.take(rectBox(px-0.5*f.small, py-0.5*f.small, px+0.5*f.small, py+0.5*f.small))
		}
		wide := 0.0
		for _, l := range c.lines {
			wide += pitch(l.h)
		}
		at := x - wide/2
		for _, l := range c.lines {
			at += pitch(l.h)
			s.pen.text(l.k, pt{at - 0.28*l.h, foot}, l.text, l.h, l.bold, -90, start)
		}
	}
}

// along sets a label along a line: above it for preference, near its upstream end, trying the texts in their order.
func (s *planSheet) along(t []pt, texts []string, k ink, bold bool) bool {
	h := s.form.small
	for _, text := range texts {
		w := planWidth(text, h, bold)
		var tries []try
		first := t[0].x
		step := max(2*h, (t[len(t)-1].x-first)/150)
		for x := first + 2*h; x < t[len(t)-1].x-w; x += step {
			for _, below := range []bool{false, true} {
				if q, ok := s.alongTry(t, x, w, text, k, bold, below); ok {
					q.cost += (x - first) * 0.02
					if s.p.cost(q.boxes[0].grow(0.3)) <= 5 {
						tries = append(tries, q)
					}
				}
			}
		}
		if s.p.best(tries) {
			return true
		}
	}
	return false
}

// alongTry is the place of a label that begins on a line at x, if the line is straight there.
func (s *planSheet) alongTry(t []pt, x, w float64, text string, k ink, bold, below bool) (try, bool) {
	h := s.form.small
	y, ok := yAt(t, x)
	if !ok {
		return try{}, false
	}
	x2, y2 := x, y
	for step := w / 12; math.Hypot(x2-x, y2-y) < w; {
		x2 += step
		if y2, ok = yAt(t, x2); !ok {
			return try{}, false
		}
	}
	for i := 1; i < 6; i++ {
		u := float64(i) / 6
		if yy, _ := yAt(t, x+u*(x2-x)); math.Abs(yy-(y+u*(y2-y))) > 0.35*h {
			return try{}, false
		}
	}
	a := math.Atan2(y2-y, x2-x)
	if math.Abs(a) > 0.9 {
		return try{}, false
	}
	turn := math.Round(a*1800/math.Pi) / 10
	sin, cos := math.Sincos(a)
	off, cost := -0.55*h, 0.0
	if below {
		off, cost = 1.55*h, 3
	}
	p := pt{x - off*sin, y + off*cos}
	return try{boxes: []box{planBox(p, text, h, bold, turn, start)}, cost: cost, use: func() { s.pen.text(k, p, text, h, bold, turn, start) }}, true
}

// poolLabel sets a pool's level on it with the sign of a water surface.
func (s *planSheet) poolLabel(p poolView) {
	best := [2]float64{}
	for _, k := range p.spans {
		a, b := s.x(max(k[0], s.from)), s.x(min(k[1], s.to))
		if b-a > best[1]-best[0] {
			best = [2]float64{a, b}
		}
	}
	h := s.form.small
	if best[1]-best[0] < 6*h {
		return
	}
	y := s.level(p.pool.Level)
	name := s.r.Line.Cases[s.shown].Name
	texts := []string{
		fmt.Sprintf("%s, level %s: %s", name, levelText(p.pool.Level), p.pool.Reason),
		fmt.Sprintf("%s, level %s", name, levelText(p.pool.Level)),
		"level " + levelText(p.pool.Level), levelText(p.pool.Level),
	}
	var tries []try
	for x := best[0] + 3*h; x < best[1]-2*h; x += 4 * h {
		tries = append(tries, try{boxes: []box{rectBox(x-h, y-1.5*h, x+h, y-0.2)}, cost: (x - best[0]) * 0.02, use: func() { s.pen.shape(inkPool, shapeWater, pt{x, y}, 0.7*h) }})
	}
	s.p.best(tries)
	s.along([]pt{{best[0], y}, {best[1], y}}, texts, inkPool, false)
}
