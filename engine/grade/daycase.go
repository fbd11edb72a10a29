package grade

import (
	"obvert/line"
)

// dayCase is a case as a moment of a day has it.
type dayCase struct {
	kase  *line.Case
	empty []bool // by node: a tank at its lowest level, that gives nothing but what comes
	warm  *flow  // a solution to begin from, or nil
}

// drawLaw is an off-take that draws what it asks for while the grade line stands above the pipe there, and less where it does not. Its flow is negative: it leaves the line.
type drawLaw struct {
	demand float64 // m³/s
	level  float64 // m above datum: of the obvert at the off-take
}

func (e *drawLaw) ways() (bool, bool) { return false, true }
func (e *drawLaw) start() float64     { return -e.demand }

func (e *drawLaw) residual(q, _, hd float64, _ int) (r, au, ad, c float64) {
	hold := capped{flow: e.demand}
	miss, steep := hold.miss(-q)
	if above := hd - e.level; above < miss {
		return -above, 0, 1, looseness
	}
	return -miss, 0, 0, steep
}

// emptyLaw is an empty tank: water flows in where the grade line stands at its level, and none comes out. Its flow is negative: it leaves the line.
type emptyLaw struct{ level float64 }

func (e *emptyLaw) ways() (bool, bool) { return false, true }
func (e *emptyLaw) start() float64     { return 0 }

func (e *emptyLaw) residual(_, _, hd float64, _ int) (r, au, ad, c float64) {
	return e.level - hd, 0, 1, looseness
}

// setMoment puts in what a moment of a day has in place of fixed heads and draws.
func (f *flow) setMoment() {
	if f.in.day == nil {
		return
	}
	f.warm = f.in.day.warm
	add := func(node int, l law, kink float64) {
		f.elems = append(f.elems, element{law: l, u: -1, d: node, run: -1, node: node, pump: -1, at: -1, kink: [2]float64{0, kink}})
	}
	for i := range f.l.Nodes {
		switch nd := &f.l.Nodes[i]; {
		case nd.Kind == line.Offtake && f.demand[i] > 0:
			add(i, &drawLaw{f.demand[i], f.endObvert(i)}, -f.demand[i])
			f.demand[i] = 0
		case f.in.day.empty[i]:
			f.fixed[i] = false
			add(i, &emptyLaw{f.c.Level[i]}, 0)
		}
	}
}

// emptyEnd reports whether a run's end at a node opens into an empty tank, where air comes in.
func (f *flow) emptyEnd(node int) bool { return f.in.day != nil && f.in.day.empty[node] }

// beginWarm takes heads and flows over from a solution of the same line, as far as the two have the same elements.
func (f *flow) beginWarm() {
	for i, h := range f.warm.head {
		if !f.fixed[i] {
			f.head[i] = h
		}
	}
	k := 0
	for i := range f.elems {
		e := &f.elems[i]
		if _, idle := e.law.(*passLaw); idle {
			e.q = 0
		}
		for j := k; j < len(f.warm.elems); j++ { // in the same order, but for what has come or gone
			if w := &f.warm.elems[j]; w.run == e.run && w.node == e.node && w.pump == e.pump {
				if w.q >= 0 && e.forward || w.q <= 0 && e.back {
					e.q = w.q
				}
				k = j + 1
				break
			}
		}
	}
}
