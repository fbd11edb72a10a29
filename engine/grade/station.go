package grade

import (
	"fmt"
	"math"

	"obvert/line"
	"obvert/quantity"
)

// fillStation puts a station's work into the result.
func (f *flow) fillStation(r *Result, node int) {
	st, set := f.l.Nodes[node].Station, f.c.Stations[node]
	name := f.l.Nodes[node].Name
	s := StationState{Node: node, DischargeHead: f.head[node]}
	if st.HasSump {
		s.SuctionHead = st.SuctionLevel
	} else {
		s.SuctionHead = f.head[f.net.suction[node]]
	}
	f.starved(r, &s)
	s.Pumps = make([]PumpState, len(st.Pumps))
	for p := range st.Pumps {
		s.Pumps[p] = PumpState{Name: st.Pumps[p].Name}
	}
	lift := s.DischargeHead - s.SuctionHead
	running := 0
	for i := range f.elems {
		e := &f.elems[i]
		if e.node != node {
			continue
		}
		switch law := e.law.(type) {
		case *flowLaw:
			s.Flow = e.q
		case *pumpLaw:
			running++
			s.Flow += e.q
			ps := &s.Pumps[e.pump]
			ps.Running = true
			ps.Flow = e.q
			if e.q > 0 {
				ps.Head, _ = law.curve.Head(e.q)
			} else {
				ps.Head = lift
			}
			f.pumpPower(st, e.pump, f.speed(set, e.pump), ps)
			if shut, _ := law.curve.Head(0); e.q <= stillFlow {
				f.stuck(ps, &s, shut, lift)
			}
		case *driveLaw:
			f.fillDrive(&s, e, law)
		case *passLaw:
			if running == 0 && e.q != 0 && e.u != f.net.header[node] {
				s.Flow = e.q
				f.note("grade.station-passed", name, fmt.Sprintf("%s passes the pumps of %s, which are at rest; their loss is left out.", quantity.Format(e.q, "L/s", 1), name))
			}
		}
	}
	if set.Flow != 0 {
		f.throttled(&s, st, node)
	}
	s.Speed = f.speedOf(&s, set)
	for p := range s.Pumps {
		s.Electric += s.Pumps[p].ShaftPower / st.MotorEfficiency
	}
	r.Stations = append(r.Stations, s)
}

// stuck tells of a running pump that delivers nothing: it gives its shut-off head and a lift is asked of it, m.
func (f *flow) stuck(ps *PumpState, s *StationState, shut, lift float64) {
	name := f.l.Nodes[s.Node].Name
	why := f.because(f.part(s.Node, false, make([]bool, f.net.nodes)), false)
	if ps.CannotLift = lift > shut+energyLimit; ps.CannotLift {
		f.note("grade.pump-cannot-lift", name, fmt.Sprintf("Pump %s of %s cannot lift: its shut-off head is %s and %s is asked of it%s.",
			ps.Name, name, quantity.Format(shut, "m", 2), quantity.Format(lift, "m", 2), why))
	} else if math.Abs(ps.Flow) <= stillFlow {
		f.note("grade.pump-shut-in", name, fmt.Sprintf("Pump %s of %s runs and no water passes it: the way is closed%s. It gives its shut-off head of %s and heats the water in it.",
			ps.Name, name, why, quantity.Format(shut, "m", 2)))
	}
}

// speedOf is the speed at which a station's running pumps turn.
func (f *flow) speedOf(s *StationState, set line.StationSetting) float64 {
	if s.Speed != 0 {
		return s.Speed
	}
	for p := range s.Pumps {
		if s.Pumps[p].Running {
			return f.speed(set, p)
		}
	}
	return 0
}

// starved tells where the pipe to a station without a sump cannot bring what its pumps would take: the water parts at its end, and the suction head is that of the
// parted water, not the one the pumps would need to pull.
func (f *flow) starved(r *Result, s *StationState) {
	for i, rl := range f.runs {
		if f.net.end(i) != f.net.suction[s.Node] || f.l.Nodes[s.Node].Station.HasSump || f.elems[i].q < stillFlow {
			continue
		}
		g, q := rl.g, f.elems[i].q
		rl.f.set(q)
		end := r.fine[i].head[g.last()] + rl.f.speed[g.section(g.last())]*rl.f.q2
		if end <= s.SuctionHead+energyLimit {
			continue
		}
		s.SuctionHead = end
		name := f.l.Nodes[s.Node].Name
		f.note("grade.suction-starved", name, fmt.Sprintf("%s brings %s to %s and no more: the pumps would take more, so the water parts before them and they cavitate. Their curves do not hold there.",
			rl.run.Name, quantity.Format(q, "L/s", 1), name))
	}
}

func (f *flow) note(id, where, text string) {
	f.notes = append(f.notes, Note{ID: id, Where: where, Text: text})
}

func (f *flow) speed(set line.StationSetting, pump int) float64 {
	v := 1.0
	if pump < len(set.Speed) && set.Speed[pump] != 0 {
		v = set.Speed[pump]
	}
	if f.in.SpeedFactor != 0 {
		v *= f.in.SpeedFactor
	}
	return v
}

// pumpPower reckons a running pump's efficiency, power and NPSH at its flow.
func (f *flow) pumpPower(st *line.StationData, pump int, speed float64, ps *PumpState) {
	p := &st.Pumps[pump]
	at := ps.Flow / speed // on the curve at full speed, by affinity
	last := p.Curve[len(p.Curve)-1][0]
	ps.BeyondCurve = at > last*(1+1e-9)
	if ps.BeyondCurve {
		f.note("grade.beyond-curve", ps.Name, fmt.Sprintf("Pump %s works at %s, beyond the last point of its curve (%s); the curve is drawn on.",
			ps.Name, quantity.Format(ps.Flow, "L/s", 1), quantity.Format(last*speed, "L/s", 1)))
	}
	ps.Efficiency = p.AssumedEfficiency
	if len(p.Efficiency) > 0 {
		ps.Efficiency = along(p.Efficiency, at)
	}
	if ps.Flow > stillFlow && ps.Efficiency > 0 {
		ps.ShaftPower = f.l.Site.Density * f.l.Site.Gravity * ps.Flow * ps.Head / ps.Efficiency
	}
	if len(p.NPSH) > 0 && p.HasSuctionAxis {
		ps.HasNPSH = true
		ps.NPSHRequired = along(p.NPSH, at) * speed * speed
		ps.NPSHAvailable = f.suctionHead(st, pump) - p.SuctionAxis - f.l.Site.VapourHead()
		if ps.NPSHAvailable < ps.NPSHRequired {
			f.note("grade.npsh", ps.Name, fmt.Sprintf("Pump %s has %s of NPSH and needs %s: it would cavitate.",
				ps.Name, quantity.Format(ps.NPSHAvailable, "m", 2), quantity.Format(ps.NPSHRequired, "m", 2)))
		}
	}
}

func (f *flow) suctionHead(st *line.StationData, _ int) float64 {
	if st.HasSump {
		return st.SuctionLevel
	}
	for i := range f.l.Nodes {
		if f.l.Nodes[i].Station == st {
			return f.head[f.net.suction[i]]
		}
	}
	return math.Inf(-1) // a station is always one of the line's
}

// along is a curve through points, straight between them, held at its ends.
func along(points [][2]float64, x float64) float64 {
	if x <= points[0][0] {
		return points[0][1]
	}
	for i := 1; i < len(points); i++ {
		if a, b := points[i-1], points[i]; x <= b[0] {
			return a[1] + (x-a[0])/(b[0]-a[0])*(b[1]-a[1])
		}
	}
	return points[len(points)-1][1]
}

// throttled shares a fixed flow among the pumps that run; what their curves give beyond the line's need is lost in the throttle.
func (f *flow) throttled(s *StationState, st *line.StationData, node int) {
	set := f.c.Stations[node]
	lift := s.DischargeHead - s.SuctionHead
	var curves []pumpCurve
	var which []int
	for p := range st.Pumps {
		if p < len(set.Running) && set.Running[p] {
			c, err := headCurve(&st.Pumps[p], f.speed(set, p))
			if err == nil {
				curves, which = append(curves, c), append(which, p)
			}
		}
	}
	if len(curves) == 0 {
		return
	}
	// Alike pumps share alike; the head at that share is the pump's, the rest is throttled.
	share := set.Flow / float64(len(curves))
	for i, c := range curves {
		ps := &s.Pumps[which[i]]
		ps.Running, ps.Flow = true, share
		ps.Head, _ = c.Head(share)
		f.pumpPower(st, which[i], f.speed(set, which[i]), ps)
		if ps.Head < lift-headTolerance {
			f.note("grade.flow-not-reached", s.Pumps[which[i]].Name, fmt.Sprintf("Pump %s gives %s at %s and the line asks for %s: this flow cannot be had from it.",
				ps.Name, quantity.Format(ps.Head, "m", 2), quantity.Format(share, "L/s", 1), quantity.Format(lift, "m", 2)))
		}
	}
}

// pumpCurve is a head curve at a speed.
type pumpCurve interface {
	Head(q float64) (h, dhdq float64)
}
