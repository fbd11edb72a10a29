package grade

import (
	"fmt"
	"math"

	"obvert/line"
	"obvert/num"
	"obvert/physics/pump"
	"obvert/quantity"
)

// Bounds on the speed of a drive that holds a flow or a head, where the case gives none.
const (
	slowestSpeed = 0.3
	fastestSpeed = 1.0
)

// holds reports whether a station's drive is to find its speed.
func holds(s *line.StationSetting) bool { return s.HoldFlow != 0 || s.HasHoldHead }

func anyRuns(s *line.StationSetting) bool {
	for _, r := range s.Running {
		if r {
			return true
		}
	}
	return false
}

// speedBounds are the least and greatest speed of a drive.
func speedBounds(s *line.StationSetting) (slow, fast float64) {
	slow, fast = s.SlowestSpeed, s.FastestSpeed
	if slow == 0 {
		slow = slowestSpeed
	}
	if fast == 0 {
		fast = fastestSpeed
	}
	return slow, fast
}

// together is the head curve at full speed of the pumps of a station that run, all at one speed.
type together struct {
	curves  []*pump.Curve
	which   []int // indices of the pumps
	checked bool  // a check valve each
	alike   bool
	top     float64 // m³/s: the sum of their last points
}

func newTogether(st *line.StationData, set *line.StationSetting) (*together, error) {
	t := &together{checked: st.Check == line.CheckEach, alike: true}
	for p := range st.Pumps {
		if p >= len(set.Running) || !set.Running[p] {
			continue
		}
		c, _, err := pump.NewCurve(st.Pumps[p].Curve) // its notes are line's to give
		if err != nil {
			return nil, fmt.Errorf("pump %q: %w", st.Pumps[p].Name, err)
		}
		if len(t.which) > 0 && !equalCurves(st.Pumps[t.which[0]].Curve, st.Pumps[p].Curve) {
			t.alike = false
		}
		_, last := c.Range()
		t.curves, t.which, t.top = append(t.curves, c), append(t.which, p), t.top+last
	}
	return t, nil
}

func equalCurves(a, b [][2]float64) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

// head is the head at which they deliver a flow together at a speed, m, and its derivative by flow. By affinity Q ~ n, H ~ n².
func (t *together) head(q, speed float64) (h, dhdq float64) {
	q /= speed
	if t.alike {
		n := float64(len(t.curves))
		h, dhdq = t.curves[0].Head(q / n)
		dhdq /= n
	} else {
		h, _ = pump.HeadAt(t.curves, q, t.checked)
		flows := 0.0 // per head
		for _, c := range t.curves {
			each, place := c.Flow(h, t.checked)
			if _, d := c.Head(each); place != pump.Shut && d < 0 {
				flows -= 1 / d
			}
		}
		if flows > 0 {
			dhdq = -1 / flows
		}
	}
	return speed * speed * h, speed * dhdq
}

// driveLaw is a station whose drive holds a flow, or the head at a node, while its speed lies within bounds: at the fastest speed it gives less than is wanted, at the
// slowest more. All three are one law that falls with the flow: the middle one of what the slowest speed leaves over, what the fastest does, and what is missing
// from the wanted.
type driveLaw struct {
	pumps      *together
	slow, fast float64
	flow       float64   // m³/s, held; 0: a head is
	target     float64   // m above datum, held at node at
	at         int       // solver's node whose head is held, −1: a flow is
	heads      []float64 // of the solver's nodes, as they stand
	back       bool

	standing bool    // no water passes the pumps
	now      float64 // the speed found, relative
	bound    int     // which bound keeps the drive from what it is to hold: −1 the slowest, +1 the fastest, 0 none
}

// looseness is the fall by flow, m per m³/s, that a held head's law is given in place of none.
const looseness = 1e-5

func (e *driveLaw) ways() (bool, bool) { return true, e.back }
func (e *driveLaw) start() float64 {
	if e.flow > 0 {
		return e.flow
	}
	return e.pumps.top / 2
}

func (e *driveLaw) residual(q, hu, hd float64, _ int) (r, au, ad, c float64) {
	r, au, ad, c, _ = e.three(q, hu, hd)
	return r, au, ad, c
}

// three also says which of the three laws holds: −1 the slowest speed's, +1 the fastest's, 0 the wanted one.
func (e *driveLaw) three(q, hu, hd float64) (r, au, ad, c float64, which int) {
	over, falls := e.leaves(e.fast, q, hu, hd), e.falls(e.fast, q)
	miss, m, steep := 0.0, 0.0, looseness
	if e.at < 0 {
		hold := capped{flow: e.flow}
		miss, steep = hold.miss(q)
		miss, m, steep = miss+leaning*over, leaning, steep+leaning*falls
	} else {
		miss = e.target - e.heads[e.at]
	}
	if over < miss {
		return over, 1, 1, falls, +1
	}
	if over := e.leaves(e.slow, q, hu, hd); over > miss {
		return over, 1, 1, e.falls(e.slow, q), -1
	}
	return miss, m, m, steep, 0
}

// leaves is what the pumps at a speed lift more than the line asks for, m.
func (e *driveLaw) leaves(speed, q, hu, hd float64) float64 {
	h, _ := e.pumps.head(q, speed)
	return hu + h - hd
}

// falls is how the pumps' head falls with the flow, m per m³/s, never nothing.
func (e *driveLaw) falls(speed, q float64) float64 {
	full := speed * e.pumps.top
	if q == 0 {
		q = full / 2
	}
	h, d := e.pumps.head(q, speed)
	return max(-d, 1e-3*math.Abs(h)/full)
}

// pull is −∂r/∂h of the head at the node that is held.
func (e *driveLaw) pull(which int) float64 {
	if which == 0 && e.at >= 0 {
		return 1
	}
	return 0
}

// addDrive adds a station that holds a flow or a head: all its running pumps are one element.
func (f *flow) addDrive(i, in int) error {
	st, set := f.l.Nodes[i].Station, &f.c.Stations[i]
	t, err := newTogether(st, set)
	if err != nil {
		return fmt.Errorf("grade: station %q, %w", f.l.Nodes[i].Name, err)
	}
	law := &driveLaw{pumps: t, flow: set.HoldFlow, at: -1, heads: f.head, back: st.Check == line.CheckNone}
	law.slow, law.fast = speedBounds(set)
	f.leans = true
	if set.HasHoldHead {
		law.at, law.target = set.HoldAt, f.endObvert(set.HoldAt)+set.HoldHead
	}
	f.elems = append(f.elems, element{law: law, u: in, d: i, run: -1, node: i, pump: -1, at: law.at, most: 10 * law.fast * t.top, kink: [2]float64{set.HoldFlow}})
	if h := f.net.header[i]; h >= 0 {
		f.fixed[h], f.head[h] = true, f.endObvert(i) // nothing hangs on it
	}
	return nil
}

// holdFaults are the reasons for which a station cannot hold what its case wants.
func (n *Net) holdFaults(c *line.Case, node int) (faults []string) {
	set := &c.Stations[node]
	slow, fast := speedBounds(set)
	if !(slow > 0 && slow <= fast && fast < 10) {
		faults = append(faults, fmt.Sprintf("speeds from %g to %g: the slowest must lie above zero and not above the fastest, the fastest below 10", slow, fast))
	}
	if set.HoldFlow != 0 && !(set.HoldFlow > stillFlow && set.HoldFlow < 1e6) {
		faults = append(faults, fmt.Sprintf("it cannot hold a flow of %g m³/s", set.HoldFlow))
	}
	if set.Flow != 0 {
		faults = append(faults, "it is throttled to a flow and is to find its speed as well: give one of the two")
	}
	if !set.HasHoldHead {
		return faults
	}
	if set.HoldFlow != 0 {
		faults = append(faults, "it is to hold a flow and a head: one speed holds one of the two")
	}
	if set.HoldAt < 0 || set.HoldAt >= len(n.Line.Nodes) {
		return append(faults, fmt.Sprintf("it is to hold the head at node %d; the line has %d nodes", set.HoldAt, len(n.Line.Nodes)))
	}
	at := &n.Line.Nodes[set.HoldAt]
	switch reached := n.reach(c, node); {
	case at.Kind == line.Tank || at.Kind == line.Outfall:
		faults = append(faults, fmt.Sprintf("it is to hold the head at %q, where open water keeps the head whatever the pumps do", at.Name))
	case !reached[set.HoldAt]:
		faults = append(faults, fmt.Sprintf("it is to hold the head at %q, which no open way leads to from its pumps without passing open water", at.Name))
	}
	return faults
}

// reach marks the line's nodes that a station's discharge side reaches through open pipe and other stations' pumps, not through open water. A node before the
// pumps is reached only by a way round them.
func (n *Net) reach(c *line.Case, node int) []bool {
	seen := make([]bool, n.nodes)
	seen[node] = true
	queue := []int{node}
	visit := func(m int) {
		if !seen[m] {
			seen[m] = true
			queue = append(queue, m)
		}
	}
	for i := 0; i < len(queue); i++ {
		at := queue[i]
		if at < len(n.Line.Nodes) && (n.Line.Nodes[at].Kind == line.Tank || n.Line.Nodes[at].Kind == line.Outfall) {
			continue
		}
		for r := range n.Line.Runs {
			if u, d := n.begin(r), n.end(r); (u == at || d == at) && n.passable(c, r) {
				visit(u + d - at)
			}
		}
		for s := range n.Line.Nodes {
			if s != node && n.suction[s] == at && s != at {
				visit(s)
			}
		}
	}
	return seen
}

// passable reports whether water can pass a run at all, in one direction or the other.
func (n *Net) passable(c *line.Case, run int) bool {
	forward, back := true, true
	for _, sg := range n.grids[run].seg {
		switch gateIn(c, run, sg) {
		case passNone:
			return false
		case passForward:
			back = false
		case passBackward:
			forward = false
		}
	}
	return forward || back
}

// find finds the speed at which the pumps work.
func (e *driveLaw) find(q, hu, hd float64) {
	_, _, _, _, which := e.three(q, hu, hd)
	e.standing = math.Abs(q) <= stillFlow
	switch {
	case e.standing && e.at >= 0: // against a closed way, if it is one; see settled
		shut, _ := e.pumps.head(0, 1)
		e.now, e.bound = min(max(math.Sqrt(max(0, e.target-hu)/shut), e.slow), e.fast), 0
	case which > 0 || e.leaves(e.fast, q, hu, hd) <= 0:
		e.now, e.bound = e.fast, +1
	case which < 0 || e.leaves(e.slow, q, hu, hd) >= 0:
		e.now, e.bound = e.slow, -1
	default:
		e.now, _ = num.Root(func(n float64) float64 { return e.leaves(n, q, hu, hd) }, e.slow, e.fast, 1e-13)
		e.bound = 0
	}
}

// settled tells, for pumps that no water passes, what keeps them from the head they are to hold, now that heads in water at rest are known.
func (e *driveLaw) settled() {
	if !e.standing || e.at < 0 {
		return
	}
	switch missing := e.target - e.heads[e.at]; {
	case missing > headTolerance:
		e.now, e.bound = e.fast, +1
	case missing < -headTolerance: // it is there without the pumps
		e.now, e.bound = e.slow, -1
	}
}

// findSpeeds finds the speeds of all drives that hold something.
func (f *flow) findSpeeds() {
	for i := range f.elems {
		if e := &f.elems[i]; e.node >= 0 {
			if law, ok := e.law.(*driveLaw); ok {
				law.find(e.q, f.headAt(e, e.u), f.headAt(e, e.d))
			}
		}
	}
}

// fillDrive puts the pumps of a station that finds its speed into its state.
func (f *flow) fillDrive(s *StationState, e *element, law *driveLaw) {
	st := f.l.Nodes[e.node].Station
	hu, hd := f.headAt(e, e.u), f.headAt(e, e.d)
	law.settled()
	s.Flow, s.Speed = e.q, law.now
	h := hd - hu
	if e.q > stillFlow {
		h, _ = law.pumps.head(e.q, s.Speed)
	}
	for i, p := range law.pumps.which {
		ps := &s.Pumps[p]
		ps.Running, ps.Head = true, h
		if c := law.pumps.curves[i].AtSpeed(s.Speed); math.Abs(e.q) > stillFlow {
			var place pump.Place
			ps.Flow, place = c.Flow(h, law.pumps.checked)
			if law.pumps.alike {
				ps.Flow = e.q / float64(len(law.pumps.which))
			}
			f.pumpPower(st, p, s.Speed, ps)
			ps.CannotLift = place == pump.Shut
		} else {
			f.stuck(ps, s, c.ShutOff(), h)
		}
	}
	if law.bound != 0 {
		s.AtLimit = true
		f.noteLimit(s, law)
	}
}

// noteLimit tells what a drive at a bound of its speed leaves of what it is to hold.
func (f *flow) noteLimit(s *StationState, law *driveLaw) {
	name := f.l.Nodes[s.Node].Name
	wanted, got := "a flow of "+quantity.Format(law.flow, "L/s", 1), quantity.Format(s.Flow, "L/s", 1)
	if law.at >= 0 {
		z := f.endObvert(law.at)
		wanted = fmt.Sprintf("a pressure head of %s at %s", quantity.Format(law.target-z, "m", 2), f.l.Nodes[law.at].Name)
		got = quantity.Format(f.head[law.at]-z, "m", 2)
	}
	word := "slowest"
	if law.bound > 0 {
		word = "fastest"
	}
	f.note("grade.speed-at-limit", name, fmt.Sprintf("%s is to hold %s and runs at its %s speed, %s of full: there it is %s.", name, wanted, word, quantity.Format(s.Speed, "%", 1), got))
}
