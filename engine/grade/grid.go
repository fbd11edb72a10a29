package grade

import (
	"sort"

	"obvert/line"
)

// gate says how water may pass a segment.
type gate uint8

const (
	passBoth gate = iota
	passForward
	passBackward
	passNone
)

// segment joins two neighbouring grid points of a run.
type segment struct {
	length  float64 // m of pipe
	section int     // index into the run's sections
	gate    gate
	equip   int     // index into the run's equipment, −1 for plain pipe
	k       float64 // local loss coefficient of the equipment
}

// grid is a run cut at every profile point, section border, piece of equipment and valve. Equipment stands on a segment of no
// length, so that it has a grid point on either side.
type grid struct {
	chainage []float64 // m
	distance []float64 // m of pipe from the first point
	obvert   []float64 // m
	invert   []float64 // m
	seg      []segment // between point i and i+1
	length   []float64 // m of pipe, by section
	point    []int     // grid index of each profile point
	valve    []int     // grid index of each placed valve
	before   []int     // grid index just before each piece of equipment; before+1 is just behind it
	entry    []bool    // air can come in here
	narrow   []int     // by grid point: the section there, the narrower of two that meet
	vertex   int       // number of its first grid point among all points of the line
}

// section is the index of the section at a grid point, the narrower of two that meet there.
func (g *grid) section(k int) int { return g.narrow[k] }

func (g *grid) last() int { return len(g.chainage) - 1 }

// cut is a place at which a run's grid gets points.
type cut struct {
	chainage float64
	kind     int // order at one chainage: profile points, borders, valves, equipment
	index    int
}

const (
	cutPoint = iota
	cutBorder
	cutValve
	cutEquipment
)

// newGrid cuts a run.
func newGrid(run *line.Run) *grid {
	g := &grid{
		point:  make([]int, len(run.Points)),
		valve:  make([]int, len(run.Placed)),
		before: make([]int, len(run.Equipment)),
	}
	cuts := make([]cut, 0, len(run.Points)+len(run.Placed)+len(run.Equipment)+len(run.Sections))
	for i, p := range run.Points {
		cuts = append(cuts, cut{p.Chainage, cutPoint, i})
	}
	for i := 1; i < len(run.Sections); i++ {
		cuts = append(cuts, cut{run.Sections[i].From, cutBorder, i})
	}
	for i, v := range run.Placed {
		cuts = append(cuts, cut{v.Chainage, cutValve, i})
	}
	for i, e := range run.Equipment {
		cuts = append(cuts, cut{e.Chainage, cutEquipment, i})
	}
	sort.SliceStable(cuts, func(a, b int) bool {
		if cuts[a].chainage != cuts[b].chainage {
			return cuts[a].chainage < cuts[b].chainage
		}
		return cuts[a].kind < cuts[b].kind
	})
	g.place(run, cuts)
	g.fit(run)
	return g
}

// place lays the grid points and the segments between them.
func (g *grid) place(run *line.Run, cuts []cut) {
	at := 0 // profile points at or before the cut
	for _, c := range cuts {
		switch c.kind {
		case cutPoint:
			p := run.Points[c.index]
			g.append(p.Chainage, p.Distance, p.Obvert, -1, 0)
			g.point[c.index] = len(g.chainage) - 1
			at = c.index + 1
		case cutBorder:
			g.between(run, at, c.chainage)
		case cutValve:
			g.between(run, at, c.chainage)
			g.valve[c.index] = g.highestAt(c.chainage)
		case cutEquipment:
			g.between(run, at, c.chainage)
			i := len(g.chainage) - 1
			g.before[c.index] = i
			e := &run.Equipment[c.index]
			g.append(g.chainage[i], g.distance[i], g.obvert[i], c.index, e.Loss)
			if e.Kind == line.CheckValve {
				if e.Reverse {
					g.seg[len(g.seg)-1].gate = passBackward
				} else {
					g.seg[len(g.seg)-1].gate = passForward
				}
			}
		}
	}
}

// between makes sure that a grid point stands at the chainage, after the at-th profile point.
func (g *grid) between(run *line.Run, at int, chainage float64) {
	if n := len(g.chainage); n > 0 && g.chainage[n-1] == chainage {
		return
	}
	if at == 0 || at == len(run.Points) {
		return // outside the profile: line's checks refuse it
	}
	a, b := run.Points[at-1], run.Points[at]
	f := (chainage - a.Chainage) / (b.Chainage - a.Chainage)
	g.append(chainage, a.Distance+f*(b.Distance-a.Distance), a.Obvert+f*(b.Obvert-a.Obvert), -1, 0)
}

func (g *grid) append(chainage, distance, obvert float64, equip int, k float64) {
	if n := len(g.chainage); n > 0 {
		g.seg = append(g.seg, segment{length: distance - g.distance[n-1], equip: equip, k: k})
	}
	g.chainage = append(g.chainage, chainage)
	g.distance = append(g.distance, distance)
	g.obvert = append(g.obvert, obvert)
}

// highestAt is the highest of the grid points at a chainage that were laid last: a valve on a vertical step stands on top.
func (g *grid) highestAt(chainage float64) int {
	best := len(g.chainage) - 1
	for i := best - 1; i >= 0 && g.chainage[i] == chainage; i-- {
		if g.obvert[i] > g.obvert[best] {
			best = i
		}
	}
	return best
}

// fit gives every segment its section, every point its invert, and marks where air can come in.
func (g *grid) fit(run *line.Run) {
	s := 0
	for i := range g.seg {
		mid := (g.chainage[i] + g.chainage[i+1]) / 2
		for s+1 < len(run.Sections) && (mid > run.Sections[s].To || mid == run.Sections[s+1].From) {
			s++
		}
		g.seg[i].section = s
	}
	g.length = make([]float64, len(run.Sections))
	for _, sg := range g.seg {
		g.length[sg.section] += sg.length
	}
	g.invert, g.narrow = make([]float64, len(g.obvert)), make([]int, len(g.obvert))
	for i := range g.obvert {
		before, behind := g.seg[max(i-1, 0)].section, g.seg[min(i, len(g.seg)-1)].section
		g.narrow[i] = behind
		if run.Sections[before].Bore < run.Sections[behind].Bore {
			g.narrow[i] = before
		}
		g.invert[i] = g.obvert[i] - run.Sections[g.narrow[i]].Bore
	}
	g.entry = make([]bool, len(g.obvert))
	for i, v := range run.Placed {
		if v.AdmitsAir && !v.Isolated {
			g.entry[g.valve[i]] = true
		}
	}
}
