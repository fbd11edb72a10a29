package line

import (
	"math"
	"sort"
)

// First is the chainage of the run's first point, at its From node; 0 for a run without points.
func (r *Run) First() float64 {
	if len(r.Points) == 0 {
		return 0
	}
	return r.Points[0].Chainage
}

// Last is the chainage of the run's last point, at its To node; 0 for a run without points.
func (r *Run) Last() float64 {
	if len(r.Points) == 0 {
		return 0
	}
	return r.Points[len(r.Points)-1].Chainage
}

// Length is the length of the run's pipe, in metres: along the slope, which is what friction sees.
func (r *Run) Length() float64 {
	if len(r.Points) == 0 {
		return 0
	}
	return r.Points[len(r.Points)-1].Distance
}

// SectionAt is the section that covers a chainage (m) of a run. Where two sections meet it is the one downstream; a
// chainage before the first or behind the last gives that one. It is nil only for a run without sections.
func (l *Line) SectionAt(run int, chainage float64) *Section {
	s := l.Runs[run].Sections
	if len(s) == 0 {
		return nil
	}
	i := sort.Search(len(s), func(i int) bool { return s[i].From > chainage }) - 1
	return &s[max(i, 0)]
}

// BoreAt is the bore, in metres, at a chainage (m) of a run, by [Line.SectionAt]; 0 for a run without sections.
func (l *Line) BoreAt(run int, chainage float64) float64 {
	if s := l.SectionAt(run, chainage); s != nil {
		return s.Bore
	}
	return 0
}

// ObvertAt is the level of the obvert, in metres above datum, at a chainage (m) of a run: straight lines between the
// points of its profile. At a vertical step it is the higher of the two levels, since that is where air gathers. ok is
// false where the chainage lies outside the run.
func (l *Line) ObvertAt(run int, chainage float64) (level float64, ok bool) {
	return interpolate(l.Runs[run].Points, chainage, func(p Point) float64 { return p.Obvert })
}

// DistanceAt is the length of pipe, in metres, from the run's first point to a chainage (m). ok is false where the
// chainage lies outside the run.
func (l *Line) DistanceAt(run int, chainage float64) (distance float64, ok bool) {
	return interpolate(l.Runs[run].Points, chainage, func(p Point) float64 { return p.Distance })
}

// interpolate gives the value at a chainage between points that are in rising order of chainage, the larger of the two
// where several points share it.
func interpolate(p []Point, chainage float64, value func(Point) float64) (float64, bool) {
	if len(p) == 0 || math.IsNaN(chainage) || chainage < p[0].Chainage || chainage > p[len(p)-1].Chainage {
		return 0, false
	}
	i := sort.Search(len(p), func(i int) bool { return p[i].Chainage >= chainage })
	if p[i].Chainage > chainage {
		a, b := p[i-1], p[i]
		t := (chainage - a.Chainage) / (b.Chainage - a.Chainage)
		return value(a)*(1-t) + value(b)*t, true
	}
	v := value(p[i])
	for ; i < len(p) && p[i].Chainage == chainage; i++ {
		v = max(v, value(p[i]))
	}
	return v, true
}

// ValveCount is the number of air valves on the whole line.
func (l *Line) ValveCount() int {
	n := 0
	for i := range l.Runs {
		n += len(l.Runs[i].Placed)
	}
	return n
}

// Valve is the i-th air valve of the line, counted run by run and along each run: its run and its index in that run's
// Placed. It panics where i is outside 0 … ValveCount−1.
func (l *Line) Valve(i int) (run, placed int) {
	for run = range l.Runs {
		if i < len(l.Runs[run].Placed) {
			return run, i
		}
		i -= len(l.Runs[run].Placed)
	}
	panic("line: no such valve")
}

// SeatLevel is the level, in metres above datum, of the seat of an air valve: the obvert below it and its height above.
func (l *Line) SeatLevel(run, placed int) float64 {
	v := l.Runs[run].Placed[placed]
	obvert, _ := l.ObvertAt(run, v.Chainage)
	return obvert + v.Height
}

// EndAt is the obvert's level, in metres above datum, of a run at the node where it begins or ends. ok is false where
// the run does not touch the node or has no points.
func (l *Line) EndAt(run, node int) (level float64, ok bool) {
	r := &l.Runs[run]
	switch {
	case len(r.Points) == 0:
		return 0, false
	case r.From == node:
		return r.Points[0].Obvert, true
	case r.To == node:
		return r.Points[len(r.Points)-1].Obvert, true
	}
	return 0, false
}

// NodeLevel is the level, in metres above datum, of the pipe's obvert at a node: the highest of the runs that meet there.
// ok is false for a node without runs.
func (l *Line) NodeLevel(node int) (level float64, ok bool) {
	for _, r := range l.Nodes[node].Runs {
		if z, has := l.EndAt(r, node); has && (!ok || z > level) {
			level, ok = z, true
		}
	}
	return level, ok
}

// RouteLength is the chainage, in metres, at which a route begins and ends.
func (l *Line) RouteLength(route int) (from, to float64) {
	legs := l.Routes[route].Legs
	if len(legs) == 0 {
		return 0, 0
	}
	from, _ = l.legEnds(legs[0])
	_, to = l.legEnds(legs[len(legs)-1])
	return from, to
}

// RoutePlace is the place on a run at a chainage (m) along a route. Where two legs meet it is the one downstream. ok is
// false where the chainage lies outside the route.
func (l *Line) RoutePlace(route int, chainage float64) (place Place, ok bool) {
	for _, leg := range l.Routes[route].Legs {
		if from, to := l.legEnds(leg); chainage < from || chainage > to {
			continue
		}
		// A leg's own ends are kept against rounding.
		r := &l.Runs[leg.Run]
		on := min(max((chainage-leg.Offset)*leg.Sign, r.First()), r.Last())
		place, ok = Place{Run: leg.Run, Chainage: on}, true
	}
	return place, ok
}

// RouteChainage is the chainage (m) along a route of a place on the line. ok is false where the place's run is not on
// the route.
func (l *Line) RouteChainage(route int, place Place) (chainage float64, ok bool) {
	for _, leg := range l.Routes[route].Legs {
		if leg.Run == place.Run {
			return leg.Offset + leg.Sign*place.Chainage, true
		}
	}
	return 0, false
}

// legEnds is the chainage along its route at which a leg begins and ends.
func (l *Line) legEnds(leg Leg) (from, to float64) {
	r := &l.Runs[leg.Run]
	from, to = leg.Offset+leg.Sign*r.First(), leg.Offset+leg.Sign*r.Last()
	return min(from, to), max(from, to)
}
