package refilling

import (
	"math"
	"sort"

	"obvert/physics/column"
)

// recorder keeps what a run shows on its way.
type recorder struct {
	m       *model
	quick   bool
	frames  thinned[Frame]
	series  thinned[Moment]
	last    Moment
	energy  float64      // J
	spent   [][2]float64 // time and energy until then, step by step
	rigid   float64      // least time scale over 2L/a
	started bool
	seen    int // meetings
}

// thinned keeps moments evenly spread however long a run is: when it is full, every other goes and the spacing doubles.
type thinned[T any] struct {
	items []T
	times []float64
	step  float64
	next  float64
	most  int
}

func (t *thinned[T]) wants(now float64) bool { return now >= t.next }

func (t *thinned[T]) add(now float64, v T) {
	t.items, t.times = append(t.items, v), append(t.times, now)
	t.next = now + t.step
	if len(t.items) < t.most {
		return
	}
	n := 0
	for i := 0; i < len(t.items); i += 2 {
		t.items[n], t.times[n] = t.items[i], t.times[i]
		n++
	}
	t.items, t.times = t.items[:n], t.times[:n]
	t.step *= 2
	t.next = t.times[n-1] + t.step
}

// spread picks n items evenly over time, the first and the last among them.
func (t *thinned[T]) spread(n int) []T {
	if len(t.items) <= n {
		return t.items
	}
	end := t.times[len(t.times)-1]
	out, at := make([]T, 0, n), 0
	for i := range n {
		want := end * float64(i) / float64(n-1)
		for at < len(t.times)-1 && math.Abs(t.times[at+1]-want) <= math.Abs(t.times[at]-want) {
			at++
		}
		if len(out) > 0 && t.times[at] <= t.times[max(at-1, 0)] && at > 0 {
			continue
		}
		out = append(out, t.items[at])
	}
	return out
}

func newRecorder(m *model, expected float64, frames int) *recorder {
	r := &recorder{m: m, quick: m.in.quick, rigid: math.Inf(1)}
	r.frames = thinned[Frame]{step: expected / 40, most: max(48, 4*frames)}
	r.series = thinned[Moment]{step: expected / 300, most: 600}
	return r
}

// see takes one step of the run.
func (r *recorder) see(c *column.Moment) bool {
	now := r.moment(c)
	if r.started {
		r.energy += (now.Time - r.last.Time) * (now.Power + r.last.Power) / 2
	}
	r.spent = append(r.spent, [2]float64{now.Time, r.energy})
	r.started, r.last = true, now
	if s := c.TimeScale(); s > 0 {
		r.rigid = min(r.rigid, s)
	}
	if r.quick {
		return !r.m.in.halt || !r.broken(c)
	}
	if r.series.wants(now.Time) {
		now.Volume = c.Volume()
		r.series.add(now.Time, now)
	}
	if r.frames.wants(now.Time) {
		r.frames.add(now.Time, r.frame(c))
	}
	return true
}

// until is the energy spent until a time, J.
func (r *recorder) until(t float64) float64 {
	i := sort.Search(len(r.spent), func(i int) bool { return r.spent[i][0] >= t })
	switch {
	case i == len(r.spent):
		return r.energy
	case i == 0:
		return r.spent[0][1]
	}
	a, b := r.spent[i-1], r.spent[i]
	return a[1] + (b[1]-a[1])*(t-a[0])/(b[0]-a[0])
}

// broken tells whether a run has broken a limit, so that nothing it may still do mends it.
func (r *recorder) broken(c *column.Moment) bool {
	list := c.Meetings()
	for ; r.seen < len(list); r.seen++ {
		m := &list[r.seen]
		if r.m.in.SlamLimit > 0 && m.Slam > r.m.in.SlamLimit || m.WorstShare > 1 {
			return true
		}
	}
	return c.Early()
}

// moment reads flows, heads and power.
func (r *recorder) moment(c *column.Moment) Moment {
	out := Moment{Time: c.Time(), Head: math.Inf(-1)}
	n := &r.m.net
	for _, s := range r.m.source {
		q := c.Flow(s)
		if r.m.net.Nodes[s].Kind != column.Junction {
			out.Flow += q
		}
		if h, wet := c.Head(r.m.delivery(s)); wet {
			out.Head = max(out.Head, h)
		}
		if p := r.m.pumps[s]; p != nil {
			if n.Nodes[s].Booster {
				q = r.passing(c, s)
			}
			out.Power += p.power(q, n.Density, n.Gravity)
			p.first = p.first || q > p.last*(1+1e-6)
		}
	}
	if math.IsInf(out.Head, -1) {
		out.Head = 0
	}
	if !r.quick {
		out.Out = c.Out()
	}
	return out
}

// passing is what a booster lifts: the flow into the pipes that begin at it.
func (r *recorder) passing(c *column.Moment, node int) float64 {
	q := 0.0
	for p := range r.m.net.Pipes {
		if pipe := &r.m.net.Pipes[p]; pipe.From == node {
			q += c.PipeFlow(p, pipe.Points[0].Distance)
		}
	}
	return q
}

// frame draws the line as it stands.
func (r *recorder) frame(c *column.Moment) Frame {
	f := Frame{Time: c.Time(), Water: make([][]Water, len(r.m.in.Line.Runs))}
	for _, w := range c.Water(nil) {
		run, from := r.m.place(w.Pipe, w.From)
		_, to := r.m.place(w.Pipe, w.To)
		if to <= from {
			continue
		}
		if n := len(f.Water[run]); n > 0 && from-f.Water[run][n-1].To < 1e-6 {
			f.Water[run][n-1].To = to
			continue
		}
		f.Water[run] = append(f.Water[run], Water{from, to})
	}
	for _, p := range c.Pockets(nil) {
		if p.To-p.From < 1e-3 {
			continue
		}
		run, from := r.m.place(p.Pipe, p.From)
		_, to := r.m.place(p.Pipe, p.To)
		if to <= from {
			continue
		}
		f.Pockets = append(f.Pockets, Air{Run: run, From: from, To: to, Pressure: p.Pressure})
	}
	return f
}
