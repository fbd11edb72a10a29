package siting

import (
	"context"
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"obvert/line"
	"obvert/quantity"
)

// Solve finds all candidates and holds the placed valves against them. It fails on a faulty input (all faults joined) and
// when the context ends. The line is only read.
func Solve(ctx context.Context, in Input) (Result, error) {
	if err := in.Check(); err != nil {
		return Result{}, err
	}
	s := solver{in: &in, practice: &in.Line.Practice, net: newNet(in.Line), tolerance: in.tolerance()}
	s.res.Tolerance = s.tolerance
	for r := range in.Line.Runs {
		s.legs = append(s.legs, legs(in.Line.Runs[r].Points, s.tolerance))
	}
	s.remarks()
	for _, step := range []func(){
		s.highPoints, s.gradeHighPoints, s.pumpDischarges, s.isolatingValves, s.slackEnds, s.slopeBreaks, s.merge, s.longRuns, s.match, s.fallingLegs,
	} {
		if err := ctx.Err(); err != nil {
			return Result{}, fmt.Errorf("siting: stopped: %w", err)
		}
		step()
	}
	return s.res, nil
}

// solver holds what the steps share.
type solver struct {
	in        *Input
	practice  *line.Practice
	net       *net
	tolerance float64
	legs      [][]leg
	found     []place
	accepted  [][]place // by run, by chainage
	res       Result
}

func (s *solver) remarks() {
	p := s.practice.HighPointProminence.Value
	// A summit is told from its low points by the difference of two levels, known to √2 of one: twice that.
	if told := 2 * math.Sqrt2 * s.in.Line.Survey.Independent; p < told {
		s.res.Notes = append(s.res.Notes, Note{ID: "siting.noise", Where: s.practice.Name, Text: fmt.Sprintf(
			"a high point counts from %s of prominence, less than the %s that the survey can tell apart: some of them may be errors of the survey", metres(p), metres(told))})
	}
	if len(s.in.Flowing) == 0 {
		s.res.Notes = append(s.res.Notes, Note{ID: "siting.no-flow", Where: s.in.Line.Name,
			Text: "no flowing case: high points relative to the grade line and ends of slack sections were not looked for, and every run is taken to flow from its first node to its last"})
	}
}

// reachOf is how far from a candidate a valve that serves no other is called displaced: ten times what the practice allows,
// but not half the spacing. Our own rule.
func (s *solver) reachOf() float64 {
	return min(10*s.practice.Displaced.Value, s.practice.Spacing.Value/2)
}

// pairing is a candidate and a placed valve.
type pairing struct {
	candidate  int
	run, valve int
	distance   float64 // m, beyond the candidate's crest
}

// match meets candidates and placed valves.
func (s *solver) match() {
	var places []place
	for r := range s.accepted {
		places = append(places, s.accepted[r]...)
	}
	used := make([][]bool, len(s.in.Line.Runs))
	for r := range used {
		used[r] = make([]bool, len(s.in.Line.Runs[r].Placed))
	}
	open := s.serve(places, used)
	s.displace(places, open, used)
	for r := range used {
		for v, yes := range used[r] {
			if !yes {
				s.res.Superfluous = append(s.res.Superfluous, s.spare(r, v))
			}
		}
	}
}

// serve gives every candidate the nearest valve within the allowed displacement, and returns the candidates without.
func (s *solver) serve(places []place, used [][]bool) (open []int) {
	s.res.Candidates = make([]Candidate, len(places))
	for i := range places {
		p := &places[i]
		obvert, _ := s.in.Line.ObvertAt(p.run, p.chainage)
		c := Candidate{Run: p.run, Chainage: p.chainage, Obvert: obvert, From: p.from, To: p.to, Side: p.side, Reasons: p.reasons, Verdict: Missing}
		s.res.Candidates[i] = c
		if best := s.nearestValve(p, math.Inf(1), nil); best != nil {
			s.fill(i, *best)
			if best.distance <= s.practice.Displaced.Value {
				s.res.Candidates[i].Verdict = Placed
				used[best.run][best.valve] = true
				continue
			}
		}
		open = append(open, i)
	}
	return open
}

// displace pairs candidates without a valve and valves without a candidate, nearest first.
func (s *solver) displace(places []place, open []int, used [][]bool) {
	var pairs []pairing
	for _, i := range open {
		if best := s.nearestValve(&places[i], s.reachOf(), used); best != nil {
			best.candidate = i
			pairs = append(pairs, *best)
		}
	}
	slices.SortStableFunc(pairs, func(a, b pairing) int {
		switch {
		case a.distance < b.distance:
			return -1
		case a.distance > b.distance:
			return +1
		}
		return 0
	})
	for _, p := range pairs {
		if used[p.run][p.valve] {
			continue
		}
		used[p.run][p.valve] = true
		s.res.Candidates[p.candidate].Verdict = Displaced
		s.fill(p.candidate, p)
	}
}

// fill writes a valve into a candidate.
func (s *solver) fill(i int, p pairing) {
	c := &s.res.Candidates[i]
	v := &s.in.Line.Runs[p.run].Placed[p.valve]
	c.Valve = v.Name
	c.Distance = s.apart(c.Run, c.Chainage, p.run, v.Chainage)
	obvert, _ := s.in.Line.ObvertAt(p.run, v.Chainage)
	c.Drop = c.Obvert - obvert
}

// apart is the distance (m) between two places on one run or on two that share a node.
func (s *solver) apart(r int, c float64, q int, d float64) float64 {
	best := math.Inf(1)
	if r == q {
		best = math.Abs(c - d)
	}
	a, b := &s.in.Line.Runs[r], &s.in.Line.Runs[q]
	for _, node := range []int{a.From, a.To} {
		for _, ca := range endsAt(a, node) {
			for _, cb := range endsAt(b, node) {
				best = min(best, math.Abs(c-ca)+math.Abs(d-cb))
			}
		}
	}
	return best
}

// nearestValve is the placed valve nearest to a candidate's crest, within a distance (m), leaving out those taken: on its
// run, or on another across a node that the way to it passes.
func (s *solver) nearestValve(p *place, within float64, taken [][]bool) *pairing {
	var best *pairing
	take := func(r, v int, d float64) {
		if d <= within && (best == nil || d < best.distance) {
			best = &pairing{run: r, valve: v, distance: d}
		}
	}
	s.valvesNear(p, taken, take)
	if p.side != 0 {
		return best
	}
	run := &s.in.Line.Runs[p.run]
	for _, end := range []struct {
		node int
		off  float64
	}{{run.From, p.from - run.First()}, {run.To, run.Last() - p.to}} {
		if end.off > within || best != nil && end.off > best.distance || parts(s.in.Line.Nodes[end.node].Kind) {
			continue
		}
		for _, r := range s.in.Line.Nodes[end.node].Runs {
			if r == p.run {
				continue
			}
			other := &s.in.Line.Runs[r]
			for _, c := range endsAt(other, end.node) {
				s.valvesNear(&place{run: r, chainage: c, from: c, to: c}, taken, func(r, v int, d float64) { take(r, v, d+end.off) })
			}
		}
	}
	return best
}

// valvesNear offers the free valves of a run nearest to a place on it, one on each side and those on its crest.
func (s *solver) valvesNear(p *place, taken [][]bool, take func(run, valve int, distance float64)) {
	placed := s.in.Line.Runs[p.run].Placed
	free := func(v int) bool {
		if taken != nil && taken[p.run][v] {
			return false
		}
		c := placed[v].Chainage
		return p.side == 0 || p.side < 0 && c <= p.pivot || p.side > 0 && c >= p.pivot
	}
	i := sort.Search(len(placed), func(k int) bool { return placed[k].Chainage >= p.chainage })
	for k := i; k < len(placed); k++ {
		if free(k) {
			take(p.run, k, max(0, placed[k].Chainage-p.to))
			break
		}
	}
	for k := i - 1; k >= 0; k-- {
		if free(k) {
			take(p.run, k, max(0, p.from-placed[k].Chainage))
			break
		}
	}
}

// spare words a valve that nothing asks for.
func (s *solver) spare(r, v int) Spare {
	run := &s.in.Line.Runs[r]
	valve := &run.Placed[v]
	out := Spare{Valve: valve.Name, Run: r, Chainage: valve.Chainage, Text: "no reason of the practice asks for a valve here"}
	away := math.Inf(1)
	for i := range s.accepted[r] {
		p := &s.accepted[r][i]
		if d := math.Abs(p.chainage - valve.Chainage); d < away {
			away = d
			out.Text = fmt.Sprintf("no reason of the practice asks for a valve here; the nearest place that one asks for is %s m away at %s (%s)",
				quantity.Number(d, 0), quantity.FormatChainage(p.chainage), strings.ReplaceAll(p.reasons[0].ID, "-", " "))
		}
	}
	return out
}
