package draining

import (
	"fmt"
	"math"
	"sort"
)

// record notes what the step does to valves, openings and walls, and gives the largest flow.
func (f *fast) record(m *motion) (most float64) {
	atm, w := f.l.Site.AtmosphericPressure, m.weight()
	at := f.time + 0.5*m.dt
	seen := func(v int, vacuum float64) {
		if vacuum <= 0 {
			return
		}
		place := VacuumPlace{Run: f.at[v].Run, Chainage: f.at[v].Chainage, Time: at, Vacuum: vacuum}
		if place.Run < 0 {
			return
		}
		if vacuum > f.out.WorstVacuum.Vacuum {
			f.out.WorstVacuum = place
		}
		if a, ok := f.allowedAt(v); ok {
			if place.Allowed, place.Margin = a, a-vacuum; !f.out.HasMargin || place.Margin < f.out.LeastMargin.Margin {
				f.out.LeastMargin, f.out.HasMargin = place, true
			}
		}
	}
	under := map[int]float64{} // vacuum at the places of valves
	for i := range f.chains {
		c := &f.chains[i]
		for k := range c.plugs {
			most = max(most, math.Abs(c.plugs[k].q))
			gas := m.gasHead(i, k)
			m.heads(i, k, func(n int, head float64) {
				if head = c.partFull(n, head, gas); head < 0 {
					seen(c.vertex[n], -head*w)
					under[c.vertex[n]] = -head * w
				}
			})
		}
		for k, id := range m.of[i] {
			if id < 0 || m.regions[id].p >= atm {
				continue
			}
			v0, v1 := c.bounds(k)
			for n := sort.SearchFloat64s(c.v, v0); n < len(c.v) && c.v[n] <= v1; n++ {
				seen(c.vertex[n], atm-m.regions[id].p)
				under[c.vertex[n]] = atm - m.regions[id].p
			}
		}
	}
	for _, j := range f.joints {
		most = max(most, math.Abs(j.flow))
	}
	f.recordAir(m, under)
	return most
}

// gasHead is the gauge pressure, m, of the gas at a plug's ends, the less of the two; +Inf where it has water at both.
func (m *motion) gasHead(i, k int) float64 {
	p := &m.chains[i].plugs[k]
	head := math.Inf(1)
	if id := m.of[i][k]; !p.at0 && id >= 0 {
		head = m.regions[id].p
	}
	if id := m.of[i][k+1]; !p.at1 && id >= 0 {
		head = min(head, m.regions[id].p)
	}
	return (head - m.l.Site.AtmosphericPressure) / m.weight()
}

// partFull is the head at the obvert of a vertex of a column that stands against gas. A surface is held at the pipe's axis, and lies aslant in
// truth: where the grade line lies above the axis the obvert stands in the gas, where it lies below the invert the bore is full under suction,
// and between the two it changes evenly.
func (c *chain) partFull(n int, head, gas float64) float64 {
	r := c.top[n] - c.z[n]
	switch a := gas - head - r; { // below the axis, against the gas
	case math.IsInf(gas, 1) || a >= r:
		return head
	case a <= 0:
		return max(head, gas)
	default:
		return gas - 2*a
	}
}

// allowedAt is the vacuum that the wall stands at a vertex, false where that is not known.
func (f *fast) allowedAt(v int) (float64, bool) {
	if f.in.AllowedVacuum == nil {
		return 0, false
	}
	if f.allowed == nil {
		f.allowed = make([]float64, len(f.obvert))
		for i := range f.allowed {
			if f.at[i].Run >= 0 {
				f.allowed[i] = f.in.AllowedVacuum(f.at[i].Run, f.at[i].Chainage)
			}
		}
	}
	return f.allowed[v], f.allowed[v] > 0
}

// recordAir notes what each air valve lets in.
func (f *fast) recordAir(m *motion, under map[int]float64) {
	in := make([]bool, len(f.vents))
	for i := range m.regions {
		r := &m.regions[i]
		if r.vapour || r.open && f.onlyWide(r) {
			f.openVents(m, r, in)
			continue
		}
		for _, v := range r.vents {
			in[v] = !r.open
		}
		for _, v := range r.vents { // that stand in air
			a := &f.air[f.vents[v].valve]
			if !a.opened && r.v0 > 0 {
				a.opened, a.opens = true, f.time
			}
		}
	}
	for i := range f.vents {
		v := &f.vents[i]
		a := &f.air[v.valve]
		if vac, ok := under[f.valve[v.valve]]; ok && vac > a.vacuum {
			a.vacuum = vac
		}
		if !in[i] {
			continue
		}
		a.in += v.mass * m.dt
		if v.mass > a.peak {
			a.peak, a.peakTime, a.choked = v.mass, f.time+0.5*m.dt, v.choked
		}
	}
}

// onlyWide tells whether a region is open by valves without a curve alone.
func (f *fast) onlyWide(r *region) bool {
	for _, v := range r.vents {
		if f.vents[v].wide {
			return true
		}
	}
	return false
}

// openVents gives the air of a region that a valve without a curve keeps at the atmosphere's pressure to that valve.
func (f *fast) openVents(m *motion, r *region, in []bool) {
	if r.vapour {
		return
	}
	mass := f.l.Site.AtmosphericPressure / f.gas() * m.growth(r)
	for _, v := range r.vents {
		f.vents[v].mass = 0
		if f.vents[v].wide {
			f.vents[v].mass, in[v] = mass, true
			mass = 0
			a := &f.air[f.vents[v].valve]
			if !a.opened {
				a.opened, a.opens = true, f.time
			}
		}
	}
}

// recordWater notes what has left through each opening in a step of a length that is done.
func (f *fast) recordWater(from, dt float64) {
	for i := range f.outflow {
		lost := 0.0
		for _, j := range f.joints {
			if j.opening == i {
				lost += j.out
			}
		}
		for k := range f.tails {
			if t := &f.tails[k]; t.opening == i {
				lost -= t.still(f.time)
			}
		}
		before := f.lost[i]
		f.outflow[i] = append(f.outflow[i], Outflow{from + 0.5*dt, max(0, lost-before) / dt, 0.5 * (before + lost)})
		f.lost[i] = lost
	}
}

// shoot keeps where the water stands.
func (f *fast) shoot() {
	s := shot{time: f.time, plugs: make([][]plug, len(f.chains)), valves: make([]ValveState, len(f.in.Valves))}
	for i := range f.chains {
		s.plugs[i] = append([]plug(nil), f.chains[i].plugs...)
	}
	for i := range f.in.Valves {
		s.valves[i] = Tight
		if f.air[i].opened {
			s.valves[i] = Open
		}
		if f.in.Valves[i].Isolated {
			s.valves[i] = Dry
		}
	}
	f.shots = append(f.shots, s)
	const most = 400
	if len(f.shots) > most { // keep every other one
		keep := f.shots[:0]
		for i, s := range f.shots {
			if i%2 == 0 || i == len(f.shots)-1 {
				keep = append(keep, s)
			}
		}
		f.shots = keep
	}
}

// stateAt is the state at a moment: the last one kept before it.
func (f *fast) stateAt(t float64) State {
	n := max(0, sort.Search(len(f.shots), func(i int) bool { return f.shots[i].time > t })-1)
	s := &f.shots[n]
	st := State{Time: s.time, Runs: make([][]Span, len(f.l.Runs)), Valves: s.valves}
	pool := 0
	for i := range f.chains {
		for _, p := range s.plugs[i] {
			f.spans(&st, i, p, pool)
			st.Volume += p.v1 - p.v0
			pool++
		}
	}
	for r := range st.Runs {
		sort.Slice(st.Runs[r], func(a, b int) bool { return st.Runs[r][a].From < st.Runs[r][b].From })
	}
	return st
}

// spans adds a plug's stretches, run by run.
func (f *fast) spans(st *State, i int, p plug, pool int) {
	c := &f.chains[i]
	level := math.Inf(-1)
	if !p.at0 {
		level = c.level(p.v0)
	}
	if !p.at1 {
		level = max(level, c.level(p.v1))
	}
	if math.IsInf(level, -1) {
		level = max(c.level(p.v0), c.level(p.v1))
	}
	for n := range c.area {
		v0, v1 := max(p.v0, c.v[n]), min(p.v1, c.v[n+1])
		a, b := f.at[c.vertex[n]], f.at[c.vertex[n+1]]
		if v1 <= v0 || a.Run < 0 || a.Run != b.Run {
			continue
		}
		share := func(v float64) float64 { return a.Chainage + (v-c.v[n])/(c.v[n+1]-c.v[n])*(b.Chainage-a.Chainage) }
		x0, x1 := share(v0), share(v1)
		if x0 > x1 {
			x0, x1 = x1, x0
		}
		list := st.Runs[a.Run]
		st.full += (v1 - v0) / c.area[n]
		if k := len(list) - 1; k >= 0 && list[k].Pool == pool && (math.Abs(list[k].To-x0) < 1e-6 || math.Abs(list[k].From-x1) < 1e-6) {
			list[k].From, list[k].To = min(list[k].From, x0), max(list[k].To, x1)
			list[k].FullFrom, list[k].FullTo = list[k].From, list[k].To
			continue
		}
		st.Runs[a.Run] = append(list, Span{Run: a.Run, From: x0, To: x1, FullFrom: x0, FullTo: x1, Level: level, Pool: pool})
	}
}

// report makes the result of what was followed.
func (f *fast) report() {
	r := f.out
	r.past = f
	f.time = max(f.time, min(f.ends, f.in.Horizon))
	r.StopTime = f.time
	if r.Status == HorizonReached && f.leaving() <= f.least() {
		r.Status = Drained
	}
	f.openings()
	if r.Status == Drained {
		r.StopTime = 0
		for _, o := range r.Openings {
			if o.Total > 0 {
				r.StopTime = max(r.StopTime, o.Series[len(o.Series)-1].Time)
			}
		}
	}
	f.valves()
	start := f.stateAt(0)
	r.End = f.stateAt(math.Inf(1))
	r.DrainedLength = max(0, start.full-r.End.full)
	f.balance()
	f.frames()
	f.describe()
}

// openings fills in what left through each opening.
func (f *fast) openings() {
	r := f.out
	r.Openings = make([]OpeningResult, len(f.in.Openings))
	for i := range r.Openings {
		o := &r.Openings[i]
		o.Name = f.in.Openings[i].Name
		for _, j := range f.joints {
			if j.opening == i {
				o.Total += j.out
			}
		}
		way := append(f.cut(i), Outflow{f.time, 0, o.Total})
		if last := len(way) - 2; last >= 0 && r.Status == Drained {
			way[last+1].Time = f.runOut(i, way[last].Time)
		}
		if n := len(way); n > 1 && r.Status != Drained {
			way[n-1].Flow = way[n-2].Flow
		}
		for _, w := range way {
			o.Peak = max(o.Peak, w.Flow)
		}
		for _, share := range [...]float64{0.25, 0.5, 0.75, 0.9, 0.99, 1} {
			o.Marks = append(o.Marks, Mark{share, when(way, share*o.Total)})
		}
		stride := 1 + len(way)/mostOutflows
		for k, w := range way {
			if k%stride == 0 || k == len(way)-1 {
				o.Series = append(o.Series, w)
			}
		}
		r.Lost += o.Total
	}
	for _, j := range f.joints {
		if j.opening < 0 {
			f.elsewhere += j.out
		}
	}
	r.Lost += f.elsewhere
}

// cut is what left through an opening without the time after, in which nothing did.
func (f *fast) cut(i int) []Outflow {
	way := f.outflow[i]
	for len(way) > 1 && way[len(way)-1].Flow <= f.least() {
		way = way[:len(way)-1]
	}
	return way
}

// runOut is when the last water has left through an opening, after a moment at which it still flowed.
func (f *fast) runOut(i int, after float64) (t float64) {
	for k := range f.tails {
		if f.tails[k].opening == i {
			t = max(t, f.tails[k].from+f.tails[k].length)
		}
	}
	if t < after {
		return min(f.time, after)
	}
	return t
}

// mostOutflows is how many points an opening's series keeps.
const mostOutflows = 2000

// when is the time by which a volume has left: between two moments the flow changes evenly.
func when(way []Outflow, v float64) float64 {
	i := sort.Search(len(way), func(i int) bool { return way[i].Lost >= v*(1-1e-12) })
	switch {
	case i == len(way):
		return way[i-1].Time
	case i == 0:
		return way[0].Time
	}
	a, b := way[i-1], way[i]
	width := b.Time - a.Time
	if width <= 0 || b.Lost <= a.Lost {
		return b.Time
	}
	lo, hi := 0.0, 1.0
	for range 60 {
		if x := 0.5 * (lo + hi); hermite(x, width, a.Lost, b.Lost, -a.Flow, -b.Flow) < v {
			lo = x
		} else {
			hi = x
		}
	}
	return a.Time + hi*width
}

// valves fills in what each valve did.
func (f *fast) valves() {
	r := f.out
	r.Valves = make([]ValveResult, len(f.in.Valves))
	for i := range f.in.Valves {
		v, a := &f.in.Valves[i], &f.air[i]
		k := &r.Valves[i]
		*k = ValveResult{Name: v.Name, Run: v.Run, Chainage: v.Chainage, Placed: v.Placed, Record: v.Record, Seat: v.Seat, AdmitsAir: v.AdmitsAir,
			Start: f.shots[0].valves[i], End: f.shots[len(f.shots)-1].valves[i], Opens: a.opens, HasOpened: a.opened,
			AirIn: a.in, AirPeak: a.peak, PeakTime: a.peakTime, Vacuum: a.vacuum, Choked: a.choked}
		k.FreePeak = a.peak * f.gas() / f.l.Site.AtmosphericPressure
		r.AirIn += a.in
	}
	for i := range f.vents {
		r.Valves[f.vents[i].valve].NoAirCurve = f.vents[i].wide
	}
}

// balance compares what is left with what there was and what came and went.
func (f *fast) balance() {
	r := f.out
	wrong := r.End.Volume - f.start + r.Lost - f.tankOut - f.runIn
	for _, j := range f.joints {
		if j.kind == tankEnd && !math.IsInf(j.tank.area, 1) {
			wrong += j.tank.area * (j.level - j.tank.level)
		}
	}
	if r.Lost > 0 {
		r.WaterBalance = math.Abs(wrong) / r.Lost
	}
	air := -f.air0 - f.airIn()
	moved := math.Abs(f.airIn())
	for i := range f.chains {
		for _, g := range f.chains[i].gaps {
			air += g.mass
		}
	}
	if moved > 0 {
		r.AirBalance = math.Abs(air) / max(moved, 1e-6) // below a milligram nothing has moved
	}
}

// airIn is the air that came in by every way, kg.
func (f *fast) airIn() float64 {
	sum := f.airOpen
	for i := range f.vents {
		if v := &f.vents[i]; !v.wide {
			sum += f.air[v.valve].in
		}
	}
	return sum
}

// frames picks moments between which equal shares of the change of the water in the pipes lie; of the time, where it does not change.
func (f *fast) frames() {
	const most = 9
	r := f.out
	done := make([]float64, len(f.shots))
	for i := 1; i < len(done); i++ {
		done[i] = done[i-1] + math.Abs(f.shots[i].water()-f.shots[i-1].water())
	}
	all := done[len(done)-1]
	if all <= 1e-9*f.start {
		for i := range done {
			done[i] = f.shots[i].time
		}
		all = done[len(done)-1]
	}
	last := -1
	for k := range most {
		i := sort.SearchFloat64s(done, all*float64(k)/(most-1)*(1-1e-12))
		if i = min(i, len(done)-1); i > last {
			r.Frames = append(r.Frames, f.stateAt(f.shots[i].time))
			last = i
		}
	}
}

// water is the volume in all pipes, m³.
func (s *shot) water() (v float64) {
	for _, plugs := range s.plugs {
		for _, p := range plugs {
			v += p.v1 - p.v0
		}
	}
	return v
}

// describe adds what a reader must know.
func (f *fast) describe() {
	r := f.out
	if f.repaid > 1e-3*r.Lost && r.Lost > 0 {
		f.note("draining.coarse", "", "Where water ran into water more than a thousandth of what was lost had to be put right at another surface: take times with care.")
	}
	if r.Status == HorizonReached {
		for _, j := range f.joints {
			if j.kind == tankEnd && math.IsInf(j.tank.area, 1) && j.flow > 0 {
				r.Status, r.Reason = GoesOn, j.tank.name+" feeds it and keeps its level"
			} else if j.kind == tankEnd && j.flow > f.least() && r.Reason == "" {
				r.Reason = fmt.Sprintf("%s still feeds it and has sunk by %.2f m", j.tank.name, j.tank.level-j.level)
			}
		}
	}
	if r.WorstVacuum.Vacuum > 0.98*(f.l.Site.AtmosphericPressure-f.l.Site.VapourPressure) {
		f.note("draining.vapour", f.where(f.vertexNear(r.WorstVacuum)), "The water parts under its vapour: no air comes in where it must. The wall stands full vacuum there, and columns that meet again strike hard.")
	}
	if r.HasMargin && r.LeastMargin.Margin < 0 {
		f.note("draining.buckles", f.where(f.vertexNear(r.LeastMargin)), "The vacuum is greater than the wall is allowed to stand: the pipe may buckle. Let in more air, or open less.")
	}
}

// vertexNear is a vertex at a place.
func (f *fast) vertexNear(p VacuumPlace) int {
	for v := f.first[p.Run]; v < f.first[p.Run+1]; v++ {
		if f.at[v].Run == p.Run && f.at[v].Chainage == p.Chainage {
			return v
		}
	}
	return f.first[p.Run]
}
