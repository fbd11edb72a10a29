package grade

import (
	"fmt"
	"math"
	"strings"

	"obvert/line"
	"obvert/quantity"
)

// impossible names what keeps a case from having a solution: for every part of the line whose water does not balance, by how much, and what stands at its borders.
func (f *flow) impossible() error {
	var words []string
	balance, done := f.balance(), make([]bool, f.net.nodes)
	for n, b := range balance {
		if f.fixed[n] || done[n] || math.Abs(b) <= massLimit {
			continue
		}
		part := f.part(n, b < 0, done)
		total := 0.0
		for _, m := range part {
			total += balance[m]
		}
		if math.Abs(total) <= massLimit {
			total = b
		}
		words = append(words, f.lacks(part, n, total)+f.because(part, total < 0))
	}
	if len(words) == 0 {
		for i := range f.elems {
			if e := &f.elems[i]; e.open && math.Abs(e.r) > energyLimit {
				words = append(words, fmt.Sprintf("%s misses its law by %.3g m", f.nameOf(e), e.r))
			}
		}
	}
	if len(words) > 4 {
		words = append(words[:4], fmt.Sprintf("and %d more", len(words)-4))
	}
	return fmt.Errorf("grade: case %q has no steady flow: %s. Look for off-takes beyond a closed or check valve, for a tank too low to feed them, for pumps that cannot lift",
		f.c.Name, strings.Join(words, "; "))
}

// lacks says what a part of the line gets too little or too much of, from the outcome at one of its nodes.
func (f *flow) lacks(part []int, n int, b float64) string {
	var draws []string
	for _, m := range part {
		if m < len(f.l.Nodes) && f.demand[m] > 0 {
			draws = append(draws, fmt.Sprintf("off-take %q draws %s", f.l.Nodes[m].Name, quantity.Format(f.demand[m], "L/s", 2)))
		}
	}
	if len(draws) > 3 {
		draws = append(draws[:3], fmt.Sprintf("%d more draw from the same part", len(draws)-3))
	}
	short := quantity.Format(-b, "L/s", 2)
	switch {
	case b < 0 && len(draws) > 0:
		return fmt.Sprintf("%s, and %s of it cannot get there", strings.Join(draws, ", "), short)
	case b < 0:
		return fmt.Sprintf("%s more is taken at %s than can get there", short, f.nodeName(n))
	}
	return fmt.Sprintf("%s more is driven to %s than can leave it", quantity.Format(b, "L/s", 2), f.nodeName(n))
}

// nodeName names a node of the solver.
func (f *flow) nodeName(n int) string {
	if n < len(f.l.Nodes) {
		return fmt.Sprintf("%q", f.l.Nodes[n].Name)
	}
	for i := range f.l.Nodes {
		if f.net.suction[i] == n {
			return fmt.Sprintf("the suction side of %q", f.l.Nodes[i].Name)
		}
	}
	return "a station's main"
}

// part is the nodes whose heads hang together with one's: across every element whose flow depends on the heads on either side and is not at a limit.
func (f *flow) part(n int, lacking bool, done []bool) []int {
	part := []int{n}
	done[n] = true
	for i := 0; i < len(part); i++ {
		at := part[i]
		for k := range f.elems {
			e := &f.elems[k]
			if e.u != at && e.d != at || e.u < 0 {
				continue
			}
			if m := e.u + e.d - at; !done[m] && !f.fixed[m] && f.limit(e, (e.d == at) == lacking) == "" {
				done[m] = true
				part = append(part, m)
			}
		}
	}
	return part
}

// because names the limits at the borders of a part of the line.
func (f *flow) because(part []int, lacking bool) string {
	in := map[int]bool{}
	for _, n := range part {
		in[n] = true
	}
	var why []string
	for k := range f.elems {
		e := &f.elems[k]
		u, d := e.u >= 0 && in[e.u], in[e.d]
		if u == d {
			continue
		}
		if w := f.limit(e, d == lacking); w != "" {
			why = append(why, w)
		}
	}
	if len(why) > 4 {
		why = append(why[:4], fmt.Sprintf("%d more limits", len(why)-4))
	}
	if len(why) == 0 {
		return ""
	}
	return ": " + strings.Join(why, ", ")
}

// limit says what keeps an element from letting more water pass, from u to d or, not along, from d to u; empty where nothing does.
func (f *flow) limit(e *element, along bool) string {
	switch law := e.law.(type) {
	case *runLaw:
		return f.limitOfRun(e, law, along)
	case *flowLaw:
		return fmt.Sprintf("station %q is throttled to %s", f.l.Nodes[e.node].Name, quantity.Format(law.flow, "L/s", 1))
	case *driveLaw:
		if law.flow > 0 && e.q >= law.flow*(1-1e-6) {
			return fmt.Sprintf("station %q holds a flow of %s", f.l.Nodes[e.node].Name, quantity.Format(law.flow, "L/s", 1))
		}
	}
	name := ""
	if e.node >= 0 {
		name = f.l.Nodes[e.node].Name
	}
	switch {
	case e.open && e.q != 0:
		return ""
	case along && !e.forward, !along && !e.back:
		return fmt.Sprintf("the check valves of %q let nothing back", name)
	case e.pump >= 0:
		h, _ := e.law.(*pumpLaw).curve.Head(0)
		return fmt.Sprintf("pump %q of %q gives %s above its suction side at no flow", f.l.Nodes[e.node].Station.Pumps[e.pump].Name, name, quantity.Format(h, "m", 2))
	}
	return ""
}

// limitOfRun is limit for a run.
func (f *flow) limitOfRun(e *element, rl *runLaw, along bool) string {
	name := rl.run.Name
	c := &rl.cap[0]
	if !along {
		c = &rl.cap[1]
	}
	switch {
	case along && !e.forward, !along && !e.back:
		return f.shutOff(e.run, along)
	case c.equip >= 0 && math.Abs(e.q) >= c.flow*(1-1e-6):
		return fmt.Sprintf("flow-control valve %q on run %q lets %s pass", rl.run.Equipment[c.equip].Name, name, quantity.Format(c.flow, "L/s", 1))
	}
	hu, hd := rl.ends(f.headAt(e, e.u), f.headAt(e, e.d))
	up := e.u
	if !along {
		hu, hd, up = hd, hu, e.d
	}
	rl.f.set(max(math.Abs(e.q), 0))
	g := rl.governor(hd, !along)
	come := fmt.Sprintf("%s come to it from %s", quantity.Format(hu, "m", 2), f.nodeName(up))
	switch {
	case g.reducer >= 0 && g.most <= energyLimit:
		eq := &rl.run.Equipment[g.reducer]
		if w := f.place(rl, g.beyond); w != "" {
			return fmt.Sprintf("reducing valve %q on run %q keeps %s behind it at most, and beyond it %s", eq.Name, name, quantity.Format(g.setting, "m", 2), w)
		}
		return fmt.Sprintf("reducing valve %q on run %q keeps %s behind it at most", eq.Name, name, quantity.Format(g.setting, "m", 2))
	case g.first.point >= 0:
		return fmt.Sprintf("%s on run %q, and %s", f.place(rl, g.first), name, come)
	}
	return ""
}

// shutOff names the equipment that lets nothing pass along a run, or against it.
func (f *flow) shutOff(run int, along bool) string {
	r, against := &f.l.Runs[run], passBackward
	if !along {
		against = passForward
	}
	var names []string
	for _, sg := range f.net.grids[run].seg {
		if sg.equip < 0 {
			continue
		}
		switch e := &r.Equipment[sg.equip]; f.gateIn(run, sg) {
		case passNone:
			names = append(names, fmt.Sprintf("%q on run %q is closed", e.Name, r.Name))
		case against:
			names = append(names, fmt.Sprintf("check valve %q on run %q lets nothing pass that way", e.Name, r.Name))
		}
	}
	if len(names) == 0 {
		return fmt.Sprintf("run %q ends in the air and brings nothing back", r.Name)
	}
	return strings.Join(names, ", ")
}

// bounding is a place whose bound sets the head above it.
type bounding struct {
	point int     // grid index, −1 for none
	hold  int     // index into the run's holds, −1 for its level
	head  float64 // m above datum
}

// governor is what sets the head that a run asks for at its upstream end.
type governor struct {
	first   bounding // the uppermost place at its bound
	reducer int      // index of the equipment, −1 for none: the reducing valve that leaves least over
	setting float64  // its head, m above datum
	most    float64  // what it leaves over, m
	beyond  bounding // the uppermost place at its bound below it
}

// governor walks up a run as walk does, at the flow last set, and keeps what governs.
func (e *runLaw) governor(from float64, back bool) governor {
	g := governor{first: bounding{point: -1}, reducer: -1, most: math.Inf(1), beyond: bounding{point: -1}}
	i, step, end := e.g.last(), -1, 0
	if back {
		i, step, end = 0, 1, e.g.last()
	}
	need := from
	for {
		vh := e.f.speed[e.g.section(i)] * e.f.q2
		at, b := bounding{i, -1, e.bound[i]}, e.bound[i]
		for k := range e.hold {
			h := &e.hold[k]
			switch {
			case h.at != i || !h.both && h.reverse != back:
			case h.most:
				if over := h.head + vh - need; over < g.most {
					g.most, g.setting, g.reducer, g.beyond = over, h.head, e.equipAt(i, line.ReducingValve), g.first
				}
			case h.head > b:
				at, b = bounding{i, k, h.head}, h.head
			}
		}
		if b+vh > need-headTolerance {
			need, g.first = max(need, b+vh), at
		}
		if i == end {
			return g
		}
		loss, _ := e.lossAlong(min(i, i+step), back)
		need += loss
		i += step
	}
}

// equipAt is the index of the equipment of a kind beside a grid point, −1 for none.
func (e *runLaw) equipAt(i int, kind line.EquipmentKind) int {
	for s := max(i-1, 0); s <= min(i, len(e.g.seg)-1); s++ {
		if k := e.g.seg[s].equip; k >= 0 && e.run.Equipment[k].Kind == kind {
			return k
		}
	}
	return -1
}

// place says what a bound is of; empty for none.
func (f *flow) place(rl *runLaw, b bounding) string {
	if b.point < 0 {
		return ""
	}
	head := quantity.Format(b.head, "m", 2)
	at := quantity.FormatChainage(rl.g.chainage[b.point])
	switch {
	case b.hold >= 0 && rl.hold[b.hold].both:
		return fmt.Sprintf("a head of %s is wanted at %s", head, at)
	case b.hold >= 0:
		if k := rl.equipAt(b.point, line.SustainingValve); k >= 0 {
			return fmt.Sprintf("sustaining valve %q asks for %s before it", rl.run.Equipment[k].Name, head)
		}
	case b.head >= rl.g.obvert[b.point]-headTolerance:
		return fmt.Sprintf("water must rise to %s at %s, where air comes in", head, at)
	}
	return fmt.Sprintf("water must rise to %s at %s, or it parts there below an obvert of %s", head, at, quantity.Format(rl.g.obvert[b.point], "m", 2))
}

func (f *flow) nameOf(e *element) string {
	switch {
	case e.run >= 0:
		return fmt.Sprintf("run %q", f.l.Runs[e.run].Name)
	case e.pump >= 0:
		return fmt.Sprintf("pump %q", f.l.Nodes[e.node].Station.Pumps[e.pump].Name)
	}
	return fmt.Sprintf("station %q", f.l.Nodes[e.node].Name)
}
