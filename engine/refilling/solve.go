package refilling

import (
	"context"
	"fmt"
	"math"

	"obvert/physics/column"
	"obvert/quantity"
)

// Solve follows the start until the line is full, steady, or the horizon.
func Solve(ctx context.Context, in Input) (Result, error) {
	if err := in.Check(); err != nil {
		return Result{}, err
	}
	r, err := once(ctx, in)
	if err != nil || !in.Sensitivity {
		return r, err
	}
	for _, n := range []float64{1.0, 1.4} {
		other := in
		other.Polytropic, other.quick = n, true
		s, err := once(ctx, other)
		if err != nil {
			return Result{}, err
		}
		r.Thermal = append(r.Thermal, Sensitivity{Polytropic: n, TimeToFull: s.TimeToFull, Slam: s.Slam, Peak: peak(&s), Status: s.Status})
	}
	r.thermalNote()
	return r, nil
}

func peak(r *Result) float64 {
	most := 0.0
	for i := range r.Pockets {
		most = max(most, r.Pockets[i].Peak)
	}
	return most
}

// thermalNote says how much the thermal convention matters.
func (r *Result) thermalNote() {
	low, high, p0, p1 := r.Slam, r.Slam, peak(r), peak(r)
	for _, t := range r.Thermal {
		low, high = min(low, t.Slam), max(high, t.Slam)
		p0, p1 = min(p0, t.Peak), max(p1, t.Peak)
	}
	r.Notes = append(r.Notes, Note{"refilling.thermal", "", fmt.Sprintf(
		"Air is taken to change its state with the exponent %.3g. From 1.0 (isothermal) to 1.4 (adiabatic) the largest slam goes from %s to %s, the largest pocket pressure from %s to %s.",
		r.Polytropic, quantity.Format(low, "m", 1), quantity.Format(high, "m", 1), quantity.Format(p0, "kPa(g)", 1), quantity.Format(p1, "kPa(g)", 1))})
}

// once solves with one thermal convention.
func once(ctx context.Context, in Input) (Result, error) {
	m, err := newModel(&in)
	if err != nil {
		return Result{}, err
	}
	horizon, expected := m.horizon()
	frames := in.Frames
	if frames == 0 {
		frames = 10
	}
	rec := newRecorder(m, expected, frames)
	if !in.quick {
		rec.frames.add(0, m.firstFrame())
	}
	c, err := column.Run(ctx, &m.net, column.Settings{Water: m.start, Horizon: horizon, Observe: rec.see})
	if err != nil {
		return Result{}, err
	}
	r := Result{Status: c.Status.String(), Time: c.Time, Delivery: c.Delivery, Steps: c.Steps}
	r.Polytropic = in.Polytropic
	if r.Polytropic == 0 {
		r.Polytropic = column.DefaultPolytropic
	}
	m.fill(&r, &c)
	r.Water, r.Energy = c.Balance.Stored, rec.energy/3.6e6
	if r.Filled {
		r.Energy = rec.until(r.TimeToFull) / 3.6e6
	}
	if !math.IsInf(rec.rigid, 1) {
		r.RigidIndex = rec.rigid
	}
	if !in.quick {
		rec.frames.add(c.Time, m.lastFrame(&c))
		r.Frames = rec.frames.spread(frames)
		r.Series = rec.series.items
		m.notesOn(&r, &c, horizon)
	}
	r.Notes = append(m.notes, r.Notes...)
	return r, nil
}

// horizon is how long the run is followed, and how long it should take.
func (m *model) horizon() (horizon, expected float64) {
	q := 0.0
	for _, s := range m.source {
		nd := &m.net.Nodes[s]
		switch {
		case nd.Flow > 0:
			q += nd.Flow
		case m.pumps[s] != nil && !nd.Booster:
			q += 0.5 * m.pumps[s].last
		}
	}
	if q == 0 { // by its level alone: half a metre a second
		q = 0.5 * math.Pi / 4 * m.bore * m.bore
	}
	expected = max(60, m.empty/q)
	horizon = m.in.Horizon
	if horizon == 0 {
		horizon = min(max(2*expected+7200, 3600), 30*86400)
	}
	return horizon, min(expected, horizon)
}

// firstFrame is the line before the start.
func (m *model) firstFrame() Frame {
	f := Frame{Water: make([][]Water, len(m.in.Line.Runs))}
	for i := range m.in.Water {
		f.Water[i] = append([]Water(nil), m.in.Water[i]...)
	}
	return f
}

// lastFrame is the line at the end.
func (m *model) lastFrame(c *column.Result) Frame {
	f := Frame{Time: c.Time, Water: make([][]Water, len(m.in.Line.Runs))}
	for _, w := range c.Water {
		run, from := m.place(w.Pipe, w.From)
		_, to := m.place(w.Pipe, w.To)
		if to <= from {
			continue
		}
		f.Water[run] = append(f.Water[run], Water{from, to})
	}
	for _, p := range c.Pockets {
		if p.To-p.From < 1e-3 {
			continue
		}
		run, from := m.place(p.Pipe, p.From)
		_, to := m.place(p.Pipe, p.To)
		if to <= from {
			continue
		}
		f.Pockets = append(f.Pockets, Air{run, from, to, p.Pressure})
	}
	return f
}

// fill takes over what the run came to.
func (m *model) fill(r *Result, c *column.Result) {
	b := &c.Balance
	r.Balance = Balance{WaterIn: b.WaterIn, WaterOut: b.WaterOut, Stored: b.Stored, WaterError: b.WaterError, AirOut: b.AirOut, AirIn: b.AirIn,
		AirOpen: b.AirVented, AirCarried: b.AirCarried, AirStored: b.AirStored, AirError: b.AirError}
	r.Carried = b.AirCarried
	m.valves(r, c)
	m.pockets(r, c)
	last := 0.0
	pushed := map[int]float64{} // by pocket: the same air may be pushed past one low point after another
	for _, e := range c.Events {
		switch e.Kind {
		case column.LastAir, column.Delivers, column.Spills, column.NodeWet, column.ValveWet, column.Pools:
			last = e.Time
		}
		switch e.Kind {
		case column.LastAir, column.ValveWet:
			r.ThrottleTime = e.Time
		case column.MovesOn:
			r.Carried += max(0, e.Air-pushed[e.Number])
			pushed[e.Number] = max(pushed[e.Number], e.Air)
		}
	}
	r.Filled = c.Status == column.Full || c.Status == column.Slack || c.Status == column.AirLeft
	if r.Filled {
		r.TimeToFull = last
	}
}

// valves says what each air valve did.
func (m *model) valves(r *Result, c *column.Result) {
	l := m.in.Line
	for p := range c.Vents {
		for k, v := range c.Vents[p] {
			run := m.parts[p].run
			pl := &l.Runs[run].Placed[m.placed[p][k]]
			out := Valve{Name: pl.Name, Run: run, Chainage: pl.Chainage, Placed: m.placed[p][k], AirOut: v.Out, AirIn: v.In, Largest: v.Largest}
			d := m.net.Pipes[p].Vents[k]
			switch {
			case d.Out == nil && d.In == nil:
				out.Shut = NoValve
			case v.Early: // whether water came to it later or not
				out.Shut, out.Time = ByAir, v.WetSince
			case !v.Wet:
				out.Shut = StaysOpen
			case v.WetSince == 0:
				out.Shut = WetBefore
			case v.Staged:
				out.Shut, out.Time = ByStage, v.WetSince
			default:
				out.Shut, out.Time = ByWater, v.WetSince
			}
			for i := range c.Meetings {
				if mt := &c.Meetings[i]; mt.Pipe == p && mt.Vent == k && (!out.LastAir || mt.Slam > out.Slam) {
					m.meeting(&out, mt)
				}
			}
			r.Valves = append(r.Valves, out)
		}
	}
	for i := range c.Meetings {
		mt := &c.Meetings[i]
		if r.SlamAt != "" && mt.Slam <= r.Slam {
			continue
		}
		run, at := m.place(mt.Pipe, mt.Distance)
		r.Slam, r.SlamAt = mt.Slam, m.where(run, at)
		if mt.Vent >= 0 {
			r.SlamAt = l.Runs[run].Placed[m.placed[mt.Pipe][mt.Vent]].Name
		}
	}
}

// meeting takes over the last air of a valve.
func (m *model) meeting(v *Valve, mt *column.Meeting) {
	v.LastAir, v.Before, v.After = true, mt.Before, mt.After
	v.Sealed, v.Slam, v.Pressure, v.Worst = mt.Sealed, mt.Slam, mt.Pressure, mt.Worst
	v.WorstRun, v.WorstAt = m.place(mt.WorstPipe, mt.WorstDistance)
	v.Share, v.HasRating = mt.WorstShare, mt.WorstShare > 0
}

// pockets says what each body of air did.
func (m *model) pockets(r *Result, c *column.Result) {
	for i := range c.Airs {
		a := &c.Airs[i]
		run, at := m.place(a.Pipe, a.Distance)
		out := Pocket{Run: run, Chainage: at, Peak: a.Peak, PeakTime: a.PeakTime, Closed: a.Gone}
		if !m.in.quick {
			out.Trace = make([]Trace, 0, len(a.Trace))
			for _, t := range a.Trace {
				out.Trace = append(out.Trace, Trace{t[0], t[1]})
			}
		}
		stays := false
		for k := range c.Pockets {
			if e := &c.Pockets[k]; e.Number == a.Number && !e.Open {
				stays = true
				line := &m.in.Line.Runs[m.parts[e.Pipe].run]
				out.Volume, out.Pressure, out.Air, out.Vented = e.Volume, e.Pressure, e.Mass, e.Vented
				out.HeadLost = math.Abs(m.axisAt(line, e.From) - m.axisAt(line, e.To))
				if !e.Vented {
					r.Trapped += e.Mass
				}
			}
		}
		if !stays && a.Gone == 0 {
			out.Closed = c.Time
		}
		r.Pockets = append(r.Pockets, out)
	}
}
