package deliver

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"obvert/engine/grade"
	"obvert/line"
)

// gradeLine is the hydraulic grade line of one or more cases along a route: pieces of chainage and level, broken where the
// pipe does not run full.
type gradeLine struct {
	cases  []int
	pieces [][]pt // x chainage m, y level m
	kind   line.CaseKind
	flow   float64 // m³/s, of the first run of the route
	top    float64 // highest level, m
}

// stretch is a length of pipe and how it is wetted.
type stretch struct {
	from, to float64 // chainage on the route, m
	full     bool    // else part full
}

// poolView is a body of water at rest on the route.
type poolView struct {
	pool  *grade.Pool
	index int
	spans [][2]float64 // full bore, chainage
}

// gradeLines are the grade lines of the flowing cases, the highest at the upstream end first. Cases whose lines lie on one
// another within tol metres share one.
func (v *view) gradeLines(tol float64) []gradeLine {
	var out []gradeLine
	for c := range v.r.Line.Cases {
		if v.r.Line.Cases[c].Kind == line.Standing || gradeOf(v.r, c) == nil {
			continue
		}
		g, ok := v.grade[c]
		if !ok {
			g = v.gradeLine(c)
			v.grade[c] = g
		}
		g.cases = append([]int{}, g.cases...)
		if len(g.pieces) == 0 {
			continue
		}
		joined := false
		for i := range out {
			if out[i].kind == g.kind && sameLine(out[i].pieces, g.pieces, tol) {
				out[i].cases = append(out[i].cases, c)
				joined = true
				break
			}
		}
		if !joined {
			out = append(out, g)
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].pieces[0][0].y > out[j].pieces[0][0].y })
	return out
}

// sameLine tells whether two broken lines lie on one another.
func sameLine(a, b [][]pt, tol float64) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if len(a[i]) != len(b[i]) {
			return false
		}
		for k := range a[i] {
			if math.Abs(a[i][k].y-b[i][k].y) > tol || a[i][k].x != b[i][k].x {
				return false
			}
		}
	}
	return true
}

func (v *view) gradeLine(c int) gradeLine {
	g := gradeLine{cases: []int{c}, kind: v.r.Line.Cases[c].Kind, top: math.Inf(-1)}
	slack := v.slacks(c)
	var piece []pt
	flush := func() {
		if len(piece) > 1 {
			g.pieces = append(g.pieces, piece)
		}
		piece = nil
	}
	for k, leg := range v.pieces {
		if leg[1] <= leg[0] {
			continue
		}
		s := v.runState(c, v.pts[leg[0]].run)
		if s == nil {
			flush()
			continue
		}
		if k == 0 || g.flow == 0 {
			g.flow = math.Abs(s.Flow)
		}
		for i := leg[0]; i < leg[1]; i++ {
			p := v.pts[i]
			if i > leg[0] {
				for _, e := range edgesBetween(slack, v.pts[i-1].ch, p.ch) {
					if !e.begins {
						flush()
					}
					piece = append(piece, pt{e.at, v.obvertAt(e.at)})
					if e.begins {
						flush()
					}
				}
			}
			w := s.Wetness[p.index]
			begins, ends := atEdge(slack, p.ch)
			if ends {
				flush()
			}
			if w != grade.Full && w != grade.Suction && !begins && !ends || inside(slack, p.ch) {
				flush()
				continue
			}
			piece = append(piece, pt{p.ch, s.Head[p.index]})
			g.top = max(g.top, s.Head[p.index])
			if begins {
				flush()
			}
		}
	}
	flush()
	return g
}

// edge is an end of a slack stretch.
type edge struct {
	at     float64
	begins bool
}

// edgesBetween are the ends of slack stretches strictly inside (a, b), by chainage.
func edgesBetween(s []slackView, a, b float64) []edge {
	var out []edge
	for _, k := range s {
		if k.from > a && k.from < b {
			out = append(out, edge{k.from, true})
		}
		if k.to > a && k.to < b {
			out = append(out, edge{k.to, false})
		}
	}
	sort.Slice(out, func(i, j int) bool { return out[i].at < out[j].at })
	return out
}

// atEdge tells whether a slack stretch begins or ends at a chainage.
func atEdge(s []slackView, ch float64) (begins, ends bool) {
	for _, k := range s {
		begins = begins || math.Abs(ch-k.from) < 1e-9
		ends = ends || math.Abs(ch-k.to) < 1e-9
	}
	return begins, ends
}

// inside tells whether a chainage lies inside a slack stretch, its ends excluded.
func inside(s []slackView, ch float64) bool {
	for _, k := range s {
		if ch > k.from+1e-9 && ch < k.to-1e-9 {
			return true
		}
	}
	return false
}

// slackView is a slack stretch on the route.
type slackView struct {
	from, to float64 // chainage, from < to
	lost     float64 // head lost, m
	vapour   bool
}

func (v *view) slacks(c int) []slackView {
	g := gradeOf(v.r, c)
	if g == nil {
		return nil
	}
	var out []slackView
	for _, s := range g.Slack {
		for _, w := range v.routeSpan(s.Run, s.From, s.To) {
			out = append(out, slackView{w[0], w[1], s.HeadLost, s.Vapour})
		}
	}
	sort.Slice(out, func(i, j int) bool { return out[i].from < out[j].from })
	return out
}

// pools are the bodies of water of a standing case on the route.
func (v *view) pools(c int) []poolView {
	g := gradeOf(v.r, c)
	if g == nil {
		return nil
	}
	var out []poolView
	for i := range g.Pools {
		p := poolView{pool: &g.Pools[i], index: i}
		for _, s := range g.Pools[i].Spans {
			if s.FullFrom != s.FullTo {
				p.spans = append(p.spans, v.routeSpan(s.Run, s.FullFrom, s.FullTo)...)
			}
		}
		if len(p.spans) == 0 {
			continue
		}
		p.spans = mergeSpans(p.spans)
		out = append(out, p)
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].spans[0][0] < out[j].spans[0][0] })
	return out
}

// mergeSpans sorts stretches and joins those that touch.
func mergeSpans(s [][2]float64) [][2]float64 {
	sort.Slice(s, func(i, j int) bool { return s[i][0] < s[j][0] })
	out := s[:0:0]
	for _, k := range s {
		if n := len(out); n > 0 && k[0] <= out[n-1][1]+1e-6 {
			out[n-1][1] = max(out[n-1][1], k[1])
			continue
		}
		out = append(out, k)
	}
	return out
}

// prepare reckons what every sheet asks for, so that sheets may be drawn side by side: afterwards the view is only read.
func (v *view) prepare() {
	for c := range v.r.Line.Cases {
		v.wetted(c)
	}
	v.gradeLines(0)
}

// wetted tells how the route is filled in a case: stretches with water, part full first so that full ones are drawn over
// them. What no stretch covers is empty.
func (v *view) wetted(c int) []stretch {
	if w, ok := v.wet[c]; ok {
		return w
	}
	w := v.wettedAnew(c)
	v.wet[c] = w
	return w
}

func (v *view) wettedAnew(c int) []stretch {
	g := gradeOf(v.r, c)
	if g == nil {
		return nil
	}
	var part, full []stretch
	if len(g.Pools) > 0 {
		for _, p := range g.Pools {
			for _, s := range p.Spans {
				for _, w := range v.routeSpan(s.Run, s.From, s.To) {
					part = append(part, stretch{w[0], w[1], false})
				}
				for _, w := range v.routeSpan(s.Run, s.FullFrom, s.FullTo) {
					if w[1] > w[0] {
						full = append(full, stretch{w[0], w[1], true})
					}
				}
			}
		}
		return append(joinStretches(part), joinStretches(full)...)
	}
	slack := v.slacks(c)
	for _, leg := range v.pieces {
		if leg[1] <= leg[0] {
			continue
		}
		s := v.runState(c, v.pts[leg[0]].run)
		if s == nil {
			continue
		}
		for i := leg[0] + 1; i < leg[1]; i++ {
			a, b := v.pts[i-1], v.pts[i]
			wa, wb := s.Wetness[a.index], s.Wetness[b.index]
			if wa == grade.Empty && wb == grade.Empty || b.ch <= a.ch {
				continue
			}
			cuts := []float64{a.ch}
			for _, e := range edgesBetween(slack, a.ch, b.ch) {
				cuts = append(cuts, e.at)
			}
			cuts = append(cuts, b.ch)
			for k := 1; k < len(cuts); k++ {
				mid := (cuts[k-1] + cuts[k]) / 2
				dry := len(slack) == 0 && (notFull(wa) || notFull(wb))
				if inside(slack, mid) || dry {
					part = append(part, stretch{cuts[k-1], cuts[k], false})
				} else {
					full = append(full, stretch{cuts[k-1], cuts[k], true})
				}
			}
		}
	}
	return append(joinStretches(part), joinStretches(full)...)
}

func notFull(w grade.Wetness) bool { return w == grade.Part || w == grade.Vapour || w == grade.Empty }

// joinStretches sorts stretches and joins those that follow one another; those of no length are dropped.
func joinStretches(s []stretch) []stretch {
	sort.SliceStable(s, func(i, j int) bool { return s[i].from < s[j].from })
	var out []stretch
	for _, k := range s {
		if k.to-k.from < 1e-3 {
			continue
		}
		if n := len(out); n > 0 && k.from <= out[n-1].to+1e-6 {
			out[n-1].to = max(out[n-1].to, k.to)
			continue
		}
		out = append(out, k)
	}
	return out
}

// emptyLength is the length of the route without any water in a case.
func (v *view) emptyLength(c int) (length float64, gaps [][2]float64) {
	var wet [][2]float64
	for _, s := range v.wetted(c) {
		wet = append(wet, [2]float64{s.from, s.to})
	}
	at := v.from
	for _, w := range mergeSpans(wet) {
		if w[0] > at+1e-6 {
			gaps = append(gaps, [2]float64{at, w[0]})
			length += w[0] - at
		}
		at = max(at, w[1])
	}
	if v.to > at+1e-6 {
		gaps = append(gaps, [2]float64{at, v.to})
		length += v.to - at
	}
	return length, gaps
}

// describe is a grade line's label: its cases and its flow.
func (v *view) describe(g gradeLine) string {
	var names []string
	for _, c := range g.cases {
		names = append(names, v.r.Line.Cases[c].Name)
	}
	s := strings.Join(names, "; ")
	if len(g.cases) == 1 && g.flow > 0 {
		s += ", " + flowText(g.flow)
	}
	return s
}

// short is a shorter label: what sets the case apart, which is the second half of its name where another case shares the first.
func (v *view) short(g gradeLine) string {
	heads := map[string]int{}
	for _, c := range v.r.Line.Cases {
		h, _ := caseName(c)
		heads[h]++
	}
	var names []string
	for _, c := range g.cases {
		head, rest := caseName(v.r.Line.Cases[c])
		if heads[head] > 1 && rest != "" {
			head = rest
		}
		names = append(names, head)
	}
	return strings.Join(names, "; ")
}

// pressures are the largest and the smallest pressure head over all cases along the route, and the rating, as lines of
// chainage and metres. The rating is broken where it is not known.
func (v *view) pressures() (largest, smallest []pt, rating [][]pt) {
	for _, leg := range v.pieces {
		if leg[1] <= leg[0] {
			continue
		}
		run := v.pts[leg[0]].run
		for i := leg[0]; i < leg[1]; i++ {
			p := v.pts[i]
			hi, lo := math.Inf(-1), math.Inf(1)
			for c := range v.r.Line.Cases {
				if s := v.runState(c, run); s != nil {
					hi, lo = max(hi, s.PressureHead[p.index]), min(lo, s.PressureHead[p.index])
				}
			}
			if hi >= lo {
				largest, smallest = append(largest, pt{p.ch, hi}), append(smallest, pt{p.ch, lo})
			}
		}
		for _, s := range v.r.Line.Runs[run].Sections {
			if s.Rating > 0 && v.r.Line.Site.Density > 0 && v.r.Line.Site.Gravity > 0 {
				h := v.r.Line.Site.Head(s.Rating)
				for _, w := range v.routeSpan(run, s.From, s.To) {
					rating = append(rating, []pt{{w[0], h}, {w[1], h}})
				}
			}
		}
	}
	sort.SliceStable(rating, func(i, j int) bool { return rating[i][0].x < rating[j][0].x })
	return largest, smallest, joinLevel(rating)
}

// joinLevel joins level pieces of one height that follow one another.
func joinLevel(p [][]pt) [][]pt {
	var out [][]pt
	for _, k := range p {
		if n := len(out); n > 0 && out[n-1][1].y == k[0].y && k[0].x <= out[n-1][1].x+1e-6 {
			out[n-1][1].x = max(out[n-1][1].x, k[1].x)
			continue
		}
		out = append(out, k)
	}
	return out
}

// boreAt is the bore of the pipe at a chainage of the route, 0 where it is not known.
func (v *view) boreAt(ch float64) float64 {
	for _, leg := range v.r.Line.Routes[v.route].Legs {
		for _, s := range v.r.Line.Runs[leg.Run].Sections {
			a, b := leg.Offset+leg.Sign*s.From, leg.Offset+leg.Sign*s.To
			if ch >= min(a, b)-1e-9 && ch <= max(a, b)+1e-9 {
				return s.Bore
			}
		}
	}
	return 0
}

// bores are the bores on the route, as one phrase.
func (v *view) bores() string {
	lo, hi := math.Inf(1), 0.0
	for _, leg := range v.r.Line.Routes[v.route].Legs {
		for _, s := range v.r.Line.Runs[leg.Run].Sections {
			if s.Bore > 0 {
				lo, hi = min(lo, s.Bore), max(hi, s.Bore)
			}
		}
	}
	switch {
	case hi == 0:
		return "bore"
	case hi-lo < 0.0005:
		return fmt.Sprintf("bore of %s m", fixed(hi, 3))
	}
	return fmt.Sprintf("bore of %s to %s m", fixed(lo, 3), fixed(hi, 3))
}
