package grade

import (
	"context"
	"fmt"
	"math"

	"obvert/line"
	"obvert/quantity"
)

// rates are what passes at one moment of a day. Slices run parallel to the result's tanks, off-takes and stations.
type rates struct {
	r     *Result
	store []float64   // m³/s, into each tank's store
	over  []float64   // m³/s, over its rim
	given []float64   // m³/s, to each off-take and outfall
	want  []float64   // m³/s, that each off-take asks for
	power []float64   // W
	flow  []float64   // m³/s, of each station
	pump  [][]float64 // m³/s, of each pump
	sumps float64     // m³/s, out of the sumps of stations
}

// limits are the states of the tanks in a piece: they stay what they are at its beginning.
type limits struct{ empty, full []bool }

// limits finds which tanks are full or empty.
func (d *dayRun) limits() limits {
	m := limits{make([]bool, len(d.tanks)), make([]bool, len(d.tanks))}
	for i, t := range d.tanks {
		if data := d.l.Nodes[t.node].Tank; t.area > 0 && t.ranged {
			m.empty[i], m.full[i] = t.level <= data.Lowest+levelNear, t.level >= data.Highest-levelNear
		}
	}
	return m
}

// solve finds what passes with the tanks at levels, m.
func (d *dayRun) solve(ctx context.Context, level []float64, m limits) (*rates, error) {
	for i, t := range d.tanks {
		d.kase.Level[t.node], d.moment.empty[t.node] = level[i], m.empty[i]
	}
	if d.unchanged(m) {
		return d.last, nil
	}
	f, r, err := solveFlow(ctx, Input{Net: d.in.Net, Case: d.def.Case, RoughnessFactor: d.in.RoughnessFactor, day: &d.moment})
	if err != nil {
		return nil, fmt.Errorf("grade: day %q at %s: %w", d.def.Name, clock(d.at), err)
	}
	f.warm, d.moment.warm = nil, f
	d.res.Solved++
	d.last = d.ratesOf(f, r, m)
	return d.last, nil
}

// unchanged reports whether all that a flow hangs on is as it was for the last one, and keeps it for the next time.
func (d *dayRun) unchanged(m limits) bool {
	same, k := d.last != nil, 0
	put := func(x float64) {
		if k == len(d.hung) {
			d.hung = append(d.hung, math.NaN())
		}
		same = same && d.hung[k] == x
		d.hung[k] = x
		k++
	}
	flag := func(b bool) float64 {
		if b {
			return 1
		}
		return 0
	}
	for i, t := range d.tanks {
		put(d.kase.Level[t.node])
		put(flag(m.empty[i]) + 2*flag(m.full[i]))
	}
	for _, o := range d.res.Offtakes {
		put(d.kase.Demand[o.Node])
	}
	for _, s := range d.res.Stations {
		for _, r := range d.kase.Stations[s.Node].Running {
			put(flag(r))
		}
	}
	return same
}

func (d *dayRun) ratesOf(f *flow, r *Result, m limits) *rates {
	k := &rates{r: r, store: make([]float64, len(d.tanks)), over: make([]float64, len(d.tanks))}
	k.given, k.want = make([]float64, len(d.res.Offtakes)), make([]float64, len(d.res.Offtakes))
	balance, drawn := f.balance(), make(map[int]float64)
	for i := range f.elems {
		switch e := &f.elems[i]; e.law.(type) {
		case *drawLaw, *emptyLaw:
			drawn[e.node] = -e.q
		default:
			if e.u < 0 {
				k.sumps += e.q
			}
		}
	}
	for i, t := range d.tanks {
		in := drawn[t.node]
		if f.fixed[t.node] {
			in = balance[t.node]
		}
		if m.full[i] && in > stillFlow {
			k.over[i] = in
		} else {
			k.store[i] = in
		}
	}
	for i, o := range d.res.Offtakes {
		if d.l.Nodes[o.Node].Kind == line.Outfall {
			k.given[i] = balance[o.Node]
		} else {
			k.given[i], k.want[i] = drawn[o.Node], d.kase.Demand[o.Node]
		}
	}
	for _, s := range r.Stations {
		flows := make([]float64, len(s.Pumps))
		for p := range s.Pumps {
			flows[p] = s.Pumps[p].Flow
		}
		k.power, k.flow, k.pump = append(k.power, s.Electric), append(k.flow, s.Flow), append(k.pump, flows)
	}
	return k
}

// span follows the day from one break to the next.
func (d *dayRun) span(ctx context.Context, from, to float64) error {
	factor := d.def.Factors[min(int((from+instant)/hourSeconds), int(dayHours)-1)]
	for _, o := range d.res.Offtakes {
		if nd := &d.l.Nodes[o.Node]; nd.Kind == line.Offtake {
			if d.kase.Demand[o.Node] = nd.Demand * factor; d.kase.Demand[o.Node] <= stillFlow {
				d.kase.Demand[o.Node] = 0
			}
		}
	}
	d.openStep(from)
	for d.at = from; d.at < to-instant; {
		if err := ctx.Err(); err != nil {
			return err
		}
		if d.res.Pieces >= d.most {
			d.res.Status = "limit reached"
			d.note("grade.day-limit", d.def.Name, fmt.Sprintf("The day is followed to %s and no farther: by then it took %d pieces. Pumps start and stop too often, or a tank is too small for what flows through it.", clock(d.at), d.most))
			break
		}
		h, err := d.piece(ctx, to-d.at)
		if err != nil {
			return err
		}
		d.at += h
		d.res.Pieces++
	}
	d.closeStep()
	return nil
}

// piece follows the day for one piece of at most the given length, s, and gives its length.
func (d *dayRun) piece(ctx context.Context, longest float64) (float64, error) {
	d.setLevels()
	d.obey(d.at > 0)
	m, n := d.limits(), len(d.tanks)
	now, guess, next := make([]float64, n), make([]float64, n), make([]float64, n)
	for i, t := range d.tanks {
		now[i] = t.level
	}
	first, err := d.solve(ctx, now, m)
	if err != nil {
		return 0, err
	}
	d.witness(first)
	h := longest
	for i := range d.tanks {
		if rate := d.rise(i, first.store[i]); rate != 0 {
			if goal, any := d.goal(i, now[i], rate); any {
				h = min(h, max((goal-now[i])/rate, instant))
			}
		}
	}
	for {
		for i := range d.tanks {
			guess[i] = now[i] + h*d.rise(i, first.store[i])
		}
		second, err := d.solve(ctx, guess, m)
		if err != nil {
			return 0, err
		}
		shorter := h
		for i := range d.tanks {
			a, b := d.rise(i, first.store[i]), d.rise(i, second.store[i])
			next[i] = now[i] + h*(a+b)/2
			if math.Abs(b-a)*h/2 > levelGoal && h > shortest {
				shorter = min(shorter, max(h/2, shortest))
			}
			if goal, any := d.goal(i, now[i], next[i]-now[i]); any && math.Abs(next[i]-now[i]) > math.Abs(goal-now[i])+levelNear {
				shorter = min(shorter, h*(goal-now[i])/(next[i]-now[i]))
			}
		}
		if shorter < h && shorter > instant {
			h = shorter
			continue
		}
		d.add(first, second, h, next)
		return h, nil
	}
}

// setLevels puts the tanks' levels where the rules look for them.
func (d *dayRun) setLevels() {
	for _, t := range d.tanks {
		d.kase.Level[t.node] = t.level
	}
}

// rise is how fast a tank's level rises with a flow into its store, m/s; nothing where its area is not known.
func (d *dayRun) rise(i int, store float64) float64 {
	if d.tanks[i].area <= 0 {
		return 0
	}
	return store / d.tanks[i].area
}

// goal is the next level at which something happens to a tank on its way up or down.
func (d *dayRun) goal(i int, level, way float64) (goal float64, any bool) {
	t := &d.tanks[i]
	goal = math.Inf(1)
	look := func(z float64, rising bool) {
		if dist := math.Abs(z - level); rising == (way > 0) && (z-level)*way > 0 && dist > levelNear && dist < math.Abs(goal-level) {
			goal, any = z, true
		}
	}
	if data := d.l.Nodes[t.node].Tank; t.ranged {
		look(data.Highest, true)
		look(data.Lowest, false)
	}
	for k, r := range d.def.Rules {
		if r.Tank == t.node {
			if d.on[k] {
				look(r.StopAbove, true)
			} else {
				look(r.StartBelow, false)
			}
		}
	}
	return goal, any
}

// witness keeps what is greatest and least at a moment, and its remarks.
func (d *dayRun) witness(k *rates) {
	i := 0
	for run, g := range d.in.Net.grids {
		for v := range g.valve {
			dv, h := &d.res.Valves[i], pressureHead(g, k.r.fine[run], g.valve[v])
			if h < dv.Least {
				dv.Least, dv.LeastAt = h, d.at
			}
			if h > dv.Greatest {
				dv.Greatest, dv.GreatestAt = h, d.at
			}
			i++
		}
	}
	for s := range d.res.Stations {
		d.res.Stations[s].Peak = max(d.res.Stations[s].Peak, k.power[s])
	}
	for _, n := range k.r.Notes {
		if d.noted[[2]string{n.ID, n.Where}] {
			continue
		}
		d.note(n.ID, n.Where, fmt.Sprintf("At %s, the first time: %s", clock(d.at), n.Text))
	}
}

// add takes a piece's volumes, energies and new levels into the result.
func (d *dayRun) add(a, b *rates, h float64, level []float64) {
	step := &d.res.Steps[len(d.res.Steps)-1]
	for i := range d.tanks {
		t, dt := &d.tanks[i], &d.res.Tanks[i]
		t.level = level[i]
		over := h * (a.over[i] + b.over[i]) / 2
		dt.Overflow += over
		dt.Inflow += over + h*(a.store[i]+b.store[i])/2
		dt.Least, dt.Greatest = min(dt.Least, t.level), max(dt.Greatest, t.level)
		name := d.l.Nodes[t.node].Name
		if over > 0 {
			d.note("grade.tank-overflow", name, fmt.Sprintf("%s is full at %s and overflows. Stop its pumps at a lower level, or throttle what feeds it.", name, clock(d.at)))
		}
		if d.moment.empty[t.node] && math.Abs(a.store[i]) <= stillFlow {
			dt.Empty += h
			d.note("grade.tank-empty", name, fmt.Sprintf("%s is empty at %s: it gives nothing but what flows into it.", name, clock(d.at)))
		}
	}
	for i := range d.res.Offtakes {
		o := &d.res.Offtakes[i]
		given := h * (a.given[i] + b.given[i]) / 2
		unmet := 0.0
		if d.l.Nodes[o.Node].Kind == line.Offtake {
			if unmet = h*a.want[i] - given; unmet <= 1e-6*h*a.want[i] {
				unmet = 0
			}
		}
		if unmet > 0 {
			name := d.l.Nodes[o.Node].Name
			d.note("grade.unmet-demand", name, fmt.Sprintf("At %s %s asks for %s and gets %s: the grade line would fall below the pipe there.", clock(d.at), name,
				quantity.Format(a.want[i], "L/s", 1), quantity.Format(given/h, "L/s", 1)))
		}
		o.Delivered, o.Unmet = o.Delivered+given, o.Unmet+unmet
		step.Delivered[i], step.Unmet[i] = step.Delivered[i]+given, step.Unmet[i]+unmet
	}
	d.addStations(step, a, b, h)
	d.sumps += h * (a.sumps + b.sumps) / 2
}

func (d *dayRun) addStations(step *DayStep, a, b *rates, h float64) {
	band := &d.bands[d.band(d.at+h/2)]
	for k := range d.res.Stations {
		s := &d.res.Stations[k]
		work := h * (a.power[k] + b.power[k]) / 2 / wattHours
		cost := work * band.Price
		volume := h * (a.flow[k] + b.flow[k]) / 2
		s.Volume, s.Energy, s.Cost = s.Volume+volume, s.Energy+work, s.Cost+cost
		band.Energy, band.Cost, step.Cost = band.Energy+work, band.Cost+cost, step.Cost+cost
		step.Flow[k], step.Power[k] = step.Flow[k]+volume, step.Power[k]+work*wattHours
		step.Speed[k] = a.r.Stations[k].Speed
		for p := range s.Pumps {
			s.Pumps[p].Volume += h * (a.pump[k][p] + b.pump[k][p]) / 2
			if d.kase.Stations[s.Node].Running[p] {
				s.Pumps[p].Hours += h / hourSeconds
			}
		}
	}
}

// band is the index of the band of the tariff at a time, s.
func (d *dayRun) band(t float64) int {
	t /= hourSeconds
	for i, b := range d.bands {
		if b.From < b.To && t >= b.From && t < b.To || b.From > b.To && (t >= b.From || t < b.To) {
			return i
		}
	}
	return len(d.bands) - 1 // the tariff was checked to cover the day
}

// openStep begins a step of the result, unless the break is inside one.
func (d *dayRun) openStep(at float64) {
	k := int((at + instant) / d.step)
	if len(d.res.Steps) > k {
		return
	}
	from := float64(k) * d.step
	s, o := len(d.res.Stations), len(d.res.Offtakes)
	d.res.Steps = append(d.res.Steps, DayStep{From: from, To: min(from+d.step, daySeconds), Level: make([]float64, len(d.tanks)),
		Flow: make([]float64, s), Power: make([]float64, s), Speed: make([]float64, s), Running: make([][]bool, s), Delivered: make([]float64, o), Unmet: make([]float64, o)})
}

// closeStep writes the state at the end of a span into its step; where the step ends there, its volumes and energies become means.
func (d *dayRun) closeStep() {
	s := &d.res.Steps[len(d.res.Steps)-1]
	for i, t := range d.tanks {
		s.Level[i] = t.level
	}
	for k, st := range d.res.Stations {
		s.Running[k] = append(s.Running[k][:0], d.kase.Stations[st.Node].Running...)
	}
	limited := d.res.Pieces >= d.most
	if d.at < s.To-instant && !limited {
		return
	}
	s.To = min(s.To, d.at)
	if long := s.To - s.From; long > 0 {
		for k := range s.Flow {
			s.Flow[k], s.Power[k] = s.Flow[k]/long, s.Power[k]/long
		}
	}
}

// finish looks at the last moment and closes the sums.
func (d *dayRun) finish(ctx context.Context) error {
	now := make([]float64, len(d.tanks))
	for i, t := range d.tanks {
		now[i] = t.level
		d.res.Tanks[i].End = t.level
	}
	last, err := d.solve(ctx, now, d.limits())
	if err != nil {
		return err
	}
	d.witness(last)
	in, out, gain := d.sumps, 0.0, 0.0
	for i, t := range d.tanks {
		d.res.Overflow += d.res.Tanks[i].Overflow
		if t.area > 0 {
			gain += t.area * (t.level - d.start[i].level)
			continue
		}
		if v := d.res.Tanks[i].Inflow; v > 0 {
			out += v
		} else {
			in -= v
		}
	}
	for _, o := range d.res.Offtakes {
		d.res.Delivered += o.Delivered
		d.res.Unmet += o.Unmet
	}
	out += d.res.Delivered + d.res.Overflow
	if most := max(math.Abs(in), math.Abs(out), math.Abs(gain)); most > 0 {
		d.res.Balance = math.Abs(in-out-gain) / most
	}
	for _, b := range d.bands {
		d.res.Energy, d.res.Cost = d.res.Energy+b.Energy, d.res.Cost+b.Cost
	}
	d.res.Bands = d.bands
	if p := &d.l.Prices; p.HasCarbon {
		d.res.Carbon, d.res.HasCarbon = d.res.Energy*p.Carbon, true
	}
	if !d.res.HasCost {
		d.res.Cost = 0
	}
	return nil
}
