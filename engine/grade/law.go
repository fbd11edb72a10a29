package grade

import (
	"math"

	"obvert/line"
)

// law is one element's relation between its flow and the heads at its two ends.
type law interface {
	// residual of the law at flow q (positive from u to d) and heads hu, hd: in metres, falling with q. Its derivatives are
	// au = ∂r/∂hu, ad = −∂r/∂hd, c = −∂r/∂q, none negative. At q = 0, direction tells which branch is meant: +1 or −1.
	residual(q, hu, hd float64, direction int) (r, au, ad, c float64)
	// ways says in which directions water can pass at all.
	ways() (forward, backward bool)
	// start is the flow from which Newton's method begins, m³/s.
	start() float64
}

// runLaw is a run with its bounds.
type runLaw struct {
	g       *grid
	f       *laws
	run     *line.Run
	forward bool
	back    bool
	bound   []float64 // least head by grid point, m above datum
	hold    []hold    // sustaining and reducing valves and wanted heads
	tail    float64   // head at the run's end where it is not the node's: discharge over the top
	tailed  bool
	head    float64 // the same at the run's beginning
	headed  bool
	cap     [2]capped // flow-control valves: that face the run's end, that face its beginning
	trapped []trapped // by segment; nil without pockets
}

// hold is a head that a valve keeps, or that somebody wants, at a grid point.
type hold struct {
	at      int     // grid index: before a sustaining valve, behind a reducing one (as water flows)
	head    float64 // m above datum
	reverse bool    // it works on water flowing towards the run's From node
	both    bool    // it works both ways
	most    bool    // a reducing valve: head at most this
}

func (e *runLaw) ways() (bool, bool) { return e.forward, e.back }
func (e *runLaw) start() float64     { return e.f.still }

// ends are the heads at a run's two ends: the nodes', but for ends that discharge into the air.
func (e *runLaw) ends(hu, hd float64) (float64, float64) {
	if e.tailed {
		hd = e.tail
	}
	if e.headed {
		hu = e.head
	}
	return hu, hd
}

func (e *runLaw) residual(q, hu, hd float64, direction int) (r, au, ad, c float64) {
	hu, hd = e.ends(hu, hd)
	if q > 0 || q == 0 && direction > 0 {
		e.f.set(q)
		need, dq, w, most := e.walk(hd, false, nil)
		r, au, ad, c = hu-need, 1, w, dq
		if most.r < r {
			r, au, ad, c = most.r, 0, most.w, most.dq
		}
		if e.cap[0].equip >= 0 {
			if miss, steep := e.cap[0].miss(q); miss < r*(1-leaning) {
				return miss + leaning*r, leaning * au, leaning * ad, steep + leaning*c
			}
		}
	} else {
		e.f.set(-q)
		need, dq, w, most := e.walk(hu, true, nil)
		r, au, ad, c = need-hd, w, 1, dq
		if -most.r > r {
			r, au, ad, c = -most.r, most.w, 0, most.dq
		}
		if e.cap[1].equip >= 0 {
			if miss, steep := e.cap[1].miss(-q); -miss > r*(1-leaning) {
				return leaning*r - miss, leaning * au, leaning * ad, steep + leaning*c
			}
		}
	}
	if q == 0 {
		e.f.set(e.f.still)
		_, dq, _, _ := e.walk(hd, direction < 0, nil)
		c = max(c, dq)
	}
	c = max(c, leastSlope)
	return r, au, ad, c
}

// leastSlope stands for the derivative of a law that does not depend on the flow: the run is controlled at its very first point.
const leastSlope = 1e-9 // m per m³/s

// throttle is the tightest reducing valve on a walk.
type throttle struct{ r, dq, w float64 }

// walk goes up the run against the flow whose slopes were set, from the head at the downstream end, and gives the head that the
// upstream end needs, its derivative by flow and by the downstream head (1 where no bound holds, else 0). With back, water flows from the
// last point to the first. Where out is not nil, it gets the grade line at every grid point, after its bound.
func (e *runLaw) walk(from float64, back bool, out *profile) (need, dq, w float64, most throttle) {
	g, f := e.g, e.f
	most.r = math.Inf(1)
	need, w = from, 1
	n := g.last()
	i, step, end := n, -1, 0
	if back {
		i, step, end = 0, 1, n
	}
	holds := e.hold
	for {
		speed := f.speed[g.section(i)]
		b, vh := e.bound[i], speed*f.q2
		for k := range holds {
			if h := &holds[k]; h.at == i && (h.both || h.reverse == back) {
				if h.most {
					if r := h.head + vh - need; r < most.r {
						most = throttle{r, max(dq-speed*f.dq2, 0), w}
					}
				} else {
					b = max(b, h.head)
				}
			}
		}
		if out != nil {
			out.before[i] = need - vh
		}
		if b += vh; b > need {
			need, dq, w = b, speed*f.dq2, 0
		}
		if out != nil {
			out.head[i] = need - vh
		}
		if i == end {
			return need, dq, w, most
		}
		s := i
		if step < 0 {
			s = i - 1
		}
		sg := &g.seg[s]
		if sg.equip >= 0 || e.trapped != nil {
			loss, grow := e.lossAlong(s, back)
			need += loss
			dq += grow
		} else {
			need += f.slope[sg.section] * sg.length
			dq += f.grow[sg.section] * sg.length
		}
		i += step
	}
}

// profile is the grade line along a run as walk found it: heads less the velocity head.
type profile struct {
	head   []float64 // m above datum
	before []float64 // the same before a bound raised it: what the water downstream asks for
}

// pumpLaw is one running pump, from suction to discharge.
type pumpLaw struct {
	curve interface {
		Head(q float64) (h, dhdq float64)
	}
	checked bool // has a check valve of its own
	full    float64
}

func (e *pumpLaw) ways() (bool, bool) { return true, !e.checked }
func (e *pumpLaw) start() float64     { return e.full }

func (e *pumpLaw) residual(q, hu, hd float64, _ int) (r, au, ad, c float64) {
	h, d := e.curve.Head(q)
	if q == 0 {
		_, d = e.curve.Head(e.full / 2)
	}
	return hu + h - hd, 1, 1, max(-d, 1e-3*math.Abs(h)/e.full)
}

// passLaw is a way with next to no loss: a check valve behind several pumps, a station at rest.
type passLaw struct {
	back    bool
	typical float64 // m³/s
}

// passLoss is small enough to leave every head as it is to a micrometre at any flow of a water main.
const passLoss = 1e-7 // m per m³/s

func (e *passLaw) ways() (bool, bool) { return true, e.back }
func (e *passLaw) start() float64     { return e.typical }

func (e *passLaw) residual(q, hu, hd float64, _ int) (r, au, ad, c float64) {
	return hu - hd - passLoss*q, 1, 1, passLoss
}

// flowLaw is a station throttled to a flow.
type flowLaw struct{ flow float64 }

func (e *flowLaw) ways() (bool, bool) { return true, false }
func (e *flowLaw) start() float64     { return e.flow }

func (e *flowLaw) residual(q, _, _ float64, _ int) (r, au, ad, c float64) {
	return e.flow - q, 0, 0, 1
}
