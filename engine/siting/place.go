package siting

import (
	"fmt"
	"math"
	"slices"

	"obvert/line"
	"obvert/quantity"
)

// Ranks of places: where two are one, the lower rank gives the chainage.
const (
	rankHigh = iota
	rankGrade
	rankPump
	rankIsolating
	rankSlack
	rankSlope
	rankLong
)

// place is a candidate in the making.
type place struct {
	run      int
	chainage float64
	from, to float64 // chainages between which a valve serves it as well
	node     int     // the node it lies at, −1 for none
	side     int8    // of an isolating valve
	pivot    float64 // chainage of that
	rank     int
	reasons  []Reason
}

// place makes a candidate at a vertex. With heights it reaches along its crest.
func (s *solver) place(v int, height []float64, rank int) place {
	c := s.net.point(v).Chainage
	p := place{run: s.net.run[v], chainage: c, from: c, to: c, node: s.net.node(v), rank: rank}
	if height != nil {
		p.from, p.to = s.net.crest(v, height, s.tolerance)
	}
	return p
}

// at makes a candidate at a chainage of a run.
func (s *solver) at(r int, c float64, rank int) place {
	p := place{run: r, chainage: c, from: c, to: c, node: -1, rank: rank}
	switch run := &s.in.Line.Runs[r]; c {
	case run.First():
		p.node = run.From
	case run.Last():
		p.node = run.To
	}
	return p
}

// pumpDischarges are the runs that begin at a station.
func (s *solver) pumpDischarges() {
	for r := range s.in.Line.Runs {
		node := &s.in.Line.Nodes[s.in.Line.Runs[r].From]
		if node.Kind != line.Station {
			continue
		}
		pumps := 0
		if node.Station != nil {
			pumps = len(node.Station.Pumps)
		}
		p := s.at(r, s.in.Line.Runs[r].First(), rankPump)
		p.reasons = []Reason{{
			ID:     "pump-discharge",
			Text:   "discharge of the pumps of " + node.Name + ": what air they bring at the start leaves before the line, and air comes in when they stop",
			Figure: float64(pumps), Threshold: 1, Unit: "1",
			Source: "AWWA Manual M51 lists pump discharges, from memory",
		}}
		s.found = append(s.found, p)
	}
}

// isolatingValves are the sides from which the pipe falls away.
func (s *solver) isolatingValves() {
	const source = "MIL-HDBK-1005/7A, 7.2.5: on flexible pipe also on the downstream side of each shut-off valve; that the pipe falls away from it: common practice, no source"
	for r := range s.in.Line.Runs {
		run := &s.in.Line.Runs[r]
		for _, e := range run.Equipment {
			if e.Kind != line.IsolatingValve || e.Chainage < run.First() || e.Chainage > run.Last() {
				continue
			}
			for _, side := range []int8{-1, +1} {
				slope, ok := s.slopeBeside(r, e.Chainage, side)
				fall := -float64(side) * slope // away from the valve
				if !ok || fall <= s.practice.Flat.Value {
					continue
				}
				where := "before"
				if side > 0 {
					where = "behind"
				}
				p := s.at(r, e.Chainage, rankIsolating)
				p.side, p.pivot, p.node = side, e.Chainage, -1
				p.reasons = []Reason{{
					ID: "isolating-valve",
					Text: fmt.Sprintf("isolating valve %s: %s it the pipe falls away at %s, so with it shut that side can neither fill nor empty without air at its top",
						e.Name, where, percent(fall)),
					Figure: fall, Threshold: s.practice.Flat.Value, Unit: "1", Source: source,
				}}
				s.found = append(s.found, p)
			}
		}
	}
}

// slackEnds are the ends of part-full lengths longer than a valve may be displaced.
func (s *solver) slackEnds() {
	t := s.practice.Displaced
	for f := range s.in.Flowing {
		for _, l := range s.in.Flowing[f].Slack {
			length := math.Abs(l.To - l.From)
			if l.Vapour || length <= t.Value {
				continue
			}
			p := s.at(l.Run, l.To, rankSlack)
			p.reasons = []Reason{{
				ID: "slack-end",
				Text: fmt.Sprintf("end of a slack section: in case %s the pipe runs part full over %s from %s, and air gathers where it is full again",
					s.in.Flowing[f].Name, quantity.Number(length, 0)+" m", quantity.FormatChainage(l.From)),
				Figure: length, Threshold: t.Value, Unit: "m",
				Source: "AWWA Manual M51, from memory, without a number; shorter ones are within the allowed displacement (" + t.Source + ")",
			}}
			s.found = append(s.found, p)
		}
	}
}

// merge makes one candidate of those nearer to one another than a valve may be displaced.
func (s *solver) merge() {
	slices.SortStableFunc(s.found, func(a, b place) int {
		if a.rank != b.rank {
			return a.rank - b.rank
		}
		switch fa, fb := a.reasons[0].Figure, b.reasons[0].Figure; {
		case fa > fb: // of equals the stronger
			return -1
		case fa < fb:
			return +1
		}
		return 0
	})
	s.accepted = make([][]place, len(s.in.Line.Runs))
	for _, p := range s.found {
		if near := s.nearAccepted(&p); near != nil {
			near.absorb(&p)
		} else {
			s.accept(p)
		}
	}
	s.found = nil
}

// accept keeps a place, by chainage.
func (s *solver) accept(p place) {
	list := s.accepted[p.run]
	i, _ := slices.BinarySearchFunc(list, p, compare)
	s.accepted[p.run] = slices.Insert(list, i, p)
}

func compare(a, b place) int {
	switch {
	case a.chainage < b.chainage:
		return -1
	case a.chainage > b.chainage:
		return +1
	}
	return int(a.side) - int(b.side)
}

// nearAccepted is an accepted place that serves p as well: on the run itself, or across a node. A summit whose crest
// covers p counts however long it is.
func (s *solver) nearAccepted(p *place) *place {
	if q := near(s.accepted[p.run], p, p.chainage, s.practice.Displaced.Value); q != nil {
		return q
	}
	if p.side != 0 {
		return nil
	}
	run := &s.in.Line.Runs[p.run]
	for _, end := range []struct {
		node int
		off  float64
	}{{run.From, p.chainage - run.First()}, {run.To, run.Last() - p.chainage}} {
		left := s.practice.Displaced.Value - end.off
		if left < 0 || parts(s.in.Line.Nodes[end.node].Kind) {
			continue
		}
		for _, r := range s.in.Line.Nodes[end.node].Runs {
			other := &s.in.Line.Runs[r]
			for _, c := range endsAt(other, end.node) {
				if r == p.run && math.Abs(c-p.chainage) <= end.off {
					continue
				}
				if q := near(s.accepted[r], p, c, left); q != nil {
					return q
				}
			}
		}
	}
	return nil
}

// endsAt are the chainages of a run's ends at a node.
func endsAt(r *line.Run, node int) []float64 {
	var c []float64
	if r.From == node {
		c = append(c, r.First())
	}
	if r.To == node {
		c = append(c, r.Last())
	}
	return c
}

// near is the place of a list, sorted by chainage, that comes within a distance (m) of a chainage with its crest, and
// whose side agrees.
func near(list []place, p *place, c, within float64) *place {
	i, _ := slices.BinarySearchFunc(list, place{chainage: c, side: -2}, compare)
	var best *place
	away := math.Inf(1)
	look := func(k int) {
		q := &list[k]
		d := max(q.from-c, c-q.to, 0)
		agree := p.side == 0 || q.side == 0 && q.rank != rankLong || p.side == q.side
		if d <= within && d < away && agree {
			best, away = q, d
		}
	}
	for k := i; k < len(list); k++ {
		look(k)
		if list[k].chainage > c+within {
			break
		}
	}
	for k := i - 1; k >= 0; k-- {
		look(k)
		if list[k].chainage < c-within {
			break
		}
	}
	return best
}

// absorb adds another's reasons; of one kind the larger figure stays.
func (p *place) absorb(q *place) {
	for _, r := range q.reasons {
		i := slices.IndexFunc(p.reasons, func(have Reason) bool { return have.ID == r.ID })
		switch {
		case i < 0:
			p.reasons = append(p.reasons, r)
		case r.Figure > p.reasons[i].Figure:
			p.reasons[i] = r
		}
	}
	if p.side == 0 && q.side != 0 {
		p.side, p.pivot = q.side, q.pivot
	}
}

func metres(x float64) string  { return quantity.Number(x, 2) + " m" }
func percent(x float64) string { return quantity.Number(100*x, 1) + " %" }
