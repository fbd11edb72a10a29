package bench

import "sort"

// outcomeKind says what one rise or one fall told of a valve.
type outcomeKind uint8

const (
	nothing outcomeKind = iota
	exact               // the change was seen
	bounded             // it lies between two looks
	above               // rising: never tight; seen dripping up to here
	below               // rising: tight at the first look, here; falling: still tight here
)

// outcome is what one rise or one fall told of a valve.
type outcome struct {
	kind   outcomeKind
	repeat int
	p      float64 // Pa at the seat: the value, the middle of the bounds, or the bound
	half   float64 // Pa, half the width of the bounds
	obs    []observation
}

// evidence is one instant at which a valve's state is known.
type evidence struct {
	time  float64
	p     float64 // Pa at the seat
	tight bool
	seen  bool // the change itself
	obs   observation
	mark  int // index of the mark, −1 for a leak and for the turn
}

// story is everything a run tells of one valve.
type story struct {
	marks    []Mark
	up, down []outcome // by repeat
	highest  evidence  // the highest head at which it was seen dripping
	dripped  bool
	findings []Finding
}

// tell follows one valve through the run.
func (f *frame) tell(v ValveRun) *story {
	s := &story{}
	ev := f.evidence(v, s)
	for i, sp := range f.run.Repeats {
		var rise, fall []evidence
		for _, e := range ev {
			switch {
			case e.time < sp.From || e.time > sp.To:
			case e.time <= sp.Turn:
				rise = append(rise, e)
			default:
				fall = append(fall, e)
			}
		}
		up := s.rise(v, i+1, rise)
		if up.kind == nothing {
			up = f.shutUnseen(v, sp, i+1, fall)
		}
		down := outcome{kind: nothing, repeat: i + 1}
		if up.kind != above && up.kind != nothing {
			if turn, ok := f.observe(sp.Turn); ok {
				fall = append([]evidence{{time: sp.Turn, p: f.pressure(turn, v.Seat), tight: true, obs: turn, mark: -1}}, fall...)
			}
			down = s.fall(v, i+1, fall)
		} else {
			s.highestOf(fall)
		}
		s.up, s.down = append(s.up, up), append(s.down, down)
	}
	for i := range s.marks {
		if m := &s.marks[i]; !m.Used && m.Why == "" {
			m.Why = "another mark tells more of the same change"
		}
	}
	return s
}

// evidence makes marks of what was seen, and orders what is known by time.
func (f *frame) evidence(v ValveRun, s *story) []evidence {
	seen := append([]Seen(nil), v.Marks...)
	sort.SliceStable(seen, func(a, b int) bool { return seen[a].Time < seen[b].Time })
	var ev []evidence
	for i, m := range seen {
		o, ok := f.observe(m.Time)
		headNow := f.pressure(o, v.Seat)
		if m.Kind == Change {
			o, ok = f.change(m.Time)
		}
		mark := Mark{Time: m.Time, Kind: m.Kind, Tight: m.Tight}
		mark.Repeat, mark.Rising = f.run.phase(m.Time)
		if ok {
			mark.Pressure = f.pressure(o, v.Seat)
			mark.Head = f.head(mark.Pressure)
		}
		switch {
		case !ok:
			mark.Why = "the instruments were not read then"
		case headNow <= 0 && !mark.Rising:
			mark.Why = "made after the water had left the seat"
		case headNow <= 0 || mark.Pressure <= 0:
			mark.Why = "no head at the seat when it happened"
		default:
			ev = append(ev, evidence{m.Time, mark.Pressure, m.Tight, m.Kind == Change, o, i})
		}
		s.marks = append(s.marks, mark)
	}
	for _, l := range v.Leaks {
		mid := l.Time + l.Over/2
		if o, ok := f.observe(mid); ok && l.Volume > 0 {
			if p := f.pressure(o, v.Seat); p > 0 {
				ev = append(ev, evidence{mid, p, false, false, o, -1})
			}
		}
	}
	sort.SliceStable(ev, func(a, b int) bool { return ev[a].time < ev[b].time })
	return ev
}

func (s *story) use(ev ...evidence) {
	for _, e := range ev {
		if e.mark >= 0 {
			s.marks[e.mark].Used = true
		}
	}
}

// highestOf keeps the highest head at which the valve was seen dripping.
func (s *story) highestOf(ev []evidence) {
	for _, e := range ev {
		if !e.tight && (!s.dripped || e.p > s.highest.p) {
			s.highest, s.dripped = e, true
		}
	}
}

// rise finds where a valve became tight for good in one rise: after the last time
// it was seen dripping.
func (s *story) rise(v ValveRun, repeat int, ev []evidence) outcome {
	s.highestOf(ev)
	last, shut := -1, -1
	for i, e := range ev {
		if !e.tight {
			last = i
		}
	}
	for i := last + 1; i < len(ev); i++ {
		if ev[i].tight {
			shut = i
			break
		}
	}
	for i := 0; i < last; i++ {
		if ev[i].tight {
			s.findings = append(s.findings, Finding{"bench.dripped-again", v.Name,
				v.Name + " was tight and dripped again while the head rose; what counts is where it became tight for good."})
			break
		}
	}
	switch {
	case shut < 0 && last < 0:
		return outcome{kind: nothing, repeat: repeat}
	case shut < 0:
		return s.neverTight(repeat, ev)
	case ev[shut].seen:
		s.use(ev[shut])
		return outcome{kind: exact, repeat: repeat, p: ev[shut].p, obs: []observation{ev[shut].obs}}
	case last < 0:
		s.use(ev[shut])
		return outcome{kind: below, repeat: repeat, p: ev[shut].p, obs: []observation{ev[shut].obs}}
	}
	return s.between(repeat, ev[last], ev[shut])
}

// neverTight is a rise at whose end the valve still dripped.
func (s *story) neverTight(repeat int, ev []evidence) outcome {
	top := ev[0]
	for _, e := range ev {
		if !e.tight && (top.tight || e.p > top.p) {
			top = e
		}
	}
	s.use(top)
	return outcome{kind: above, repeat: repeat, p: top.p, obs: []observation{top.obs}}
}

// between is a change that two looks bound.
func (s *story) between(repeat int, a, b evidence) outcome {
	s.use(a, b)
	half := (b.p - a.p) / 2
	if half < 0 {
		half = -half
	}
	return outcome{kind: bounded, repeat: repeat, p: (a.p + b.p) / 2, half: half, obs: []observation{a.obs, b.obs}}
}

// shutUnseen is a rise in which nobody looked: where the fall shows that the valve
// was tight, it shut somewhere below the turn.
func (f *frame) shutUnseen(v ValveRun, sp Span, repeat int, fall []evidence) outcome {
	if len(fall) > 0 && (fall[0].tight || fall[0].seen) {
		if turn, ok := f.observe(sp.Turn); ok {
			return outcome{kind: below, repeat: repeat, p: f.pressure(turn, v.Seat), obs: []observation{turn}}
		}
	}
	return outcome{kind: nothing, repeat: repeat}
}

// fall finds where a valve that was tight at the turn let go: the first time it
// was seen dripping. ev begins with the turn.
func (s *story) fall(v ValveRun, repeat int, ev []evidence) outcome {
	for i, e := range ev {
		if e.tight {
			continue
		}
		s.againTight(v, ev[i+1:])
		if e.seen {
			s.use(e)
			return outcome{kind: exact, repeat: repeat, p: e.p, obs: []observation{e.obs}}
		}
		return s.between(repeat, e, ev[i-1])
	}
	last := ev[0]
	for _, e := range ev {
		if e.p < last.p {
			last = e
		}
	}
	if last.mark < 0 {
		return outcome{kind: nothing, repeat: repeat}
	}
	s.use(last)
	return outcome{kind: below, repeat: repeat, p: last.p, obs: []observation{last.obs}}
}

// againTight notes a valve that shut again on the way down.
func (s *story) againTight(v ValveRun, rest []evidence) {
	for _, e := range rest {
		if e.tight {
			s.findings = append(s.findings, Finding{"bench.tight-again", v.Name,
				v.Name + " let go and was tight again while the head fell; what counts is where it let go first."})
			return
		}
	}
}
