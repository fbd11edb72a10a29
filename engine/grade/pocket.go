package grade

import (
	"fmt"
	"math"

	"obvert/quantity"
)

// trapped is the part of a segment that lies along a pocket of air.
type trapped struct {
	share float64 // of the segment's length
	fall  float64 // m, of the pipe along that part
	back  bool    // the leg falls towards the run's beginning
}

// checkPockets names every pocket that cannot be where it is said to be.
func (in Input) checkPockets() (faults []error) {
	for i, p := range in.Pockets {
		fault := func(format string, a ...any) {
			faults = append(faults, fmt.Errorf("grade: pocket %d: "+format, append([]any{i + 1}, a...)...))
		}
		if p.Run < 0 || p.Run >= len(in.Net.Line.Runs) {
			fault("no run %d; the line has %d", p.Run, len(in.Net.Line.Runs))
			continue
		}
		run, g := &in.Net.Line.Runs[p.Run], in.Net.grids[p.Run]
		lo, hi := min(p.From, p.To), max(p.From, p.To)
		if !(lo >= run.First() && hi <= run.Last() && lo < hi) {
			fault("from %.3f to %.3f m is no length of run %q, which goes from %.3f to %.3f m", p.From, p.To, run.Name, run.First(), run.Last())
			continue
		}
		if rise, at := g.risesAlong(p); rise > headTolerance {
			fault("between %.3f and %.3f m run %q rises by %.2f m up to %s: air stands in a leg that falls all along, from its upper end (from) to its lower (to)",
				p.From, p.To, run.Name, rise, quantity.FormatChainage(at))
		}
		for j, o := range in.Pockets[:i] {
			if o.Run == p.Run && min(o.From, o.To) < hi && max(o.From, o.To) > lo {
				fault("it overlaps pocket %d on run %q", j+1, run.Name)
			}
		}
	}
	return faults
}

// risesAlong is the largest rise of the obvert from one grid point to the next, going down a pocket, and where.
func (g *grid) risesAlong(p Pocket) (rise, at float64) {
	for s := range g.seg {
		if share, fall := g.along(p, s); share > 0 {
			if -fall > rise {
				rise, at = -fall, g.chainage[s+1]
			}
		}
	}
	return rise, at
}

// along is the share of a segment that a pocket covers, and the fall of the obvert over it in the pocket's own direction, m.
func (g *grid) along(p Pocket, s int) (share, fall float64) {
	a, b := g.chainage[s], g.chainage[s+1]
	lo, hi := min(p.From, p.To), max(p.From, p.To)
	switch {
	case a == b && lo <= a && b < hi && g.seg[s].equip < 0: // a vertical step
		share = 1
	case b > a:
		share = max(0, (min(b, hi)-max(a, lo))/(b-a))
	}
	fall = share * (g.obvert[s] - g.obvert[s+1])
	if p.To < p.From {
		fall = -fall
	}
	return share, fall
}

// setPockets lays the trapped air on the grids.
func (f *flow) setPockets() {
	for _, p := range f.in.Pockets {
		rl := f.runs[p.Run]
		if rl.trapped == nil {
			rl.trapped = make([]trapped, len(rl.g.seg))
		}
		for s := range rl.g.seg {
			share, fall := rl.g.along(p, s)
			t := &rl.trapped[s]
			if share > 0 {
				t.back = p.To < p.From
			}
			t.share, t.fall = t.share+share, t.fall+max(fall, 0)
		}
	}
}

// lossAlong is the head lost in a segment at the flow last set, m, and its derivative by flow: in the equipment on it, or in the pipe, where along trapped
// air that falls with the water the loss is the pipe's fall. Against a pocket's fall water drives the air before it over the crest, and only friction is left.
func (e *runLaw) lossAlong(s int, back bool) (loss, grow float64) {
	sg, f := &e.g.seg[s], e.f
	if sg.equip >= 0 {
		return f.equip[sg.equip] * f.q2, f.equip[sg.equip] * f.dq2
	}
	length := sg.length
	if e.trapped != nil {
		if t := &e.trapped[s]; t.share > 0 && t.back == back {
			loss, length = t.fall, (1-t.share)*length
		}
	}
	return loss + f.slope[sg.section]*length, f.grow[sg.section] * length
}

// partedAt reports whether a pocket begins in a segment: water that does not flow stands apart on either side of it.
func (f *flow) partedAt(run, seg int) bool {
	t := f.runs[run].trapped
	return t != nil && t[seg].share > 0 && (seg == 0 || t[seg-1].share == 0)
}

// trappedFall is the head that all pockets of a run ask for, m, in a direction of flow.
func (e *runLaw) trappedFall(back bool) (fall float64) {
	for _, t := range e.trapped {
		if t.back == back {
			fall += t.fall
		}
	}
	return fall
}

// airBound tells of runs that their trapped air keeps from flowing.
func (f *flow) airBound(still []bool) {
	for i, rl := range f.runs {
		if rl.trapped == nil || !still[i] {
			continue
		}
		e := &f.elems[i]
		hu, hd := rl.ends(f.headAt(e, e.u), f.headAt(e, e.d))
		for _, back := range [2]bool{false, true} {
			if back {
				hu, hd = hd, hu
			}
			if may := e.forward && !back || e.back && back; !may || rl.trappedFall(back) == 0 {
				continue
			}
			rl.f.set(0)
			need, _, _, most := rl.walk(hd, back, nil)
			free := *rl
			free.trapped = nil
			bare, _, _, _ := free.walk(hd, back, nil)
			if hu <= bare+headTolerance || most.r < 0 && math.Abs(most.r) > headTolerance && hu > need {
				continue // it would stand still without the air too
			}
			name := rl.run.Name
			f.note("grade.air-bound", name, fmt.Sprintf("%s is air-bound: to push water past its trapped air takes a head of %s above datum at the upstream end, and %s is there; without the air %s would do. Let the air out at the crests before the line is started.",
				name, quantity.Format(need, "m", 2), quantity.Format(hu, "m", 2), quantity.Format(bare, "m", 2)))
		}
	}
}
