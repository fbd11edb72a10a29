package pump

import (
	"math"

	"obvert/num"
)

// FlowAt returns the flow, m³/s, that pumps in parallel deliver together against
// a head, m. Checked pumps have a check valve each: one that cannot lift
// delivers nothing. Others share one, or have none, and let water back.
func FlowAt(pumps []*Curve, head float64, checked bool) float64 {
	var sum float64
	for _, c := range pumps {
		q, _ := c.Flow(head, checked)
		sum += q
	}
	return sum
}

// HeadAt returns the head, m, at which pumps in parallel deliver a flow, m³/s,
// together, and how well it was found.
//
// Where a curve droops, flow as a function of head jumps at its peak, and some
// flows are reached at no head by all pumps on the falling side: then the
// outcome is Stalled and the head that of the jump. No pumps, or with check
// valves a flow below zero, have no answer: NoBracket and zero head.
func HeadAt(pumps []*Curve, flow float64, checked bool) (head float64, out num.Outcome) {
	none := num.Outcome{Status: num.NoBracket, Change: -1, Residual: -1}
	if len(pumps) == 0 || checked && flow < 0 {
		return 0, none
	}
	if len(pumps) == 1 {
		head, _ = pumps[0].Head(flow)
		return head, num.Outcome{Status: num.Converged}
	}
	var top, size float64
	jumps := false
	for _, c := range pumps {
		jumps = jumps || len(c.turns) > 0
		_, peak := c.Peak()
		_, last := c.Range()
		top, size = max(top, peak), max(size, last)
	}
	if checked && flow == 0 {
		return top, num.Outcome{Status: num.Converged}
	}
	f := func(h float64) float64 { return FlowAt(pumps, h, checked) - flow }
	lo, hi, out := num.Bracket(f, 0, top*(1+1e-12), -1e6*top, 1e6*top)
	if !out.OK() {
		return 0, out
	}
	head, out = num.Root(f, lo, hi, 0)
	// on a nearly level part of a curve rounding of the head alone moves the flow
	// a little; a jump needs a turning point and is larger
	if out.OK() && jumps && math.Abs(f(head)) > 1e-3*size {
		out.Status = num.Stalled
	}
	return head, out
}
