package survey

import (
	"cmp"
	"slices"
	"strings"

	"obvert/quantity"
)

// mostAlike bounds the pumps of one row.
const mostAlike = 100

// readPumps reads a table of pumps: a point of a curve a row, or a pump a row.
func (e *equipmentTable) readPumps(r *Reading, rows []int) {
	wide := slices.ContainsFunc(e.heads, func(h equipmentHead) bool { return h.role != "" && (h.number > 0 || h.flow != "") })
	var all []*Pump
	var first []int
	for _, i := range rows {
		name, station := e.word(i, roleName), e.word(i, roleStation)
		var p *Pump
		if n := len(all); n > 0 {
			last := all[n-1]
			switch {
			case name == "" && (station == "" || station == last.Station) && (!wide || e.curveOf(i) != roleHead):
				p = last
			case name != "" && name == last.Name && (station == "" || station == last.Station) && (!wide || e.curveOf(i) != roleHead):
				p = last
			}
			if station == "" && name != "" && e.has(roleStation) {
				station = last.Station // a merged cell, or written once for the block
			}
		}
		if p == nil {
			p = &Pump{Name: name, Station: station, Alike: 1, Origin: e.origin(i)}
			all, first = append(all, p), append(first, i)
		}
		if n, ok := e.plainNumber(i, roleAlike, 1, mostAlike); ok {
			if n != float64(int(n)) {
				e.fault(i, e.column(roleAlike), quantity.Quote(e.word(i, roleAlike))+" is not a number of pumps", "", "write a whole number")
			}
			p.Alike = int(n)
		}
		if v, ok := e.figure(i, roleAxis); ok {
			p.AxisLevel, p.HasAxisLevel = v, true
		}
		if wide {
			e.widePoints(i, p)
		} else {
			e.longPoint(i, p)
		}
	}
	for k, p := range all {
		e.checkPump(first[k], p)
		r.Pumps = append(r.Pumps, *p)
	}
}

// longPoint takes the point of a row.
func (e *equipmentTable) longPoint(i int, p *Pump) {
	q, ok := e.figure(i, roleFlow)
	if !ok {
		if e.word(i, roleFlow) == "" {
			e.fault(i, e.column(roleFlow), "the flow is missing", "", "write the flow of this point of the curve, such as 0 for the closed valve")
		}
		return
	}
	some := false
	for _, role := range []string{roleHead, roleEfficiency, roleNPSH} {
		if v, given := e.figure(i, role); given {
			p.point(role, q, v)
			some = true
		}
	}
	if !some && e.word(i, roleHead) == "" {
		e.fault(i, e.column(roleHead), "the head is missing", "", "write the head at this flow, or leave the row out")
	}
}

// point adds a point to one of the curves.
func (p *Pump) point(role string, q, v float64) {
	switch role {
	case roleHead:
		p.Curve = append(p.Curve, [2]float64{q, v})
	case roleEfficiency:
		p.Efficiency = append(p.Efficiency, [2]float64{q, v})
	case roleNPSH:
		p.NPSH = append(p.NPSH, [2]float64{q, v})
	}
}

// widePoints takes the points of a row in columns "Q1", "H1", "Q2", "H2" or under flows.
func (e *equipmentTable) widePoints(i int, p *Pump) {
	curve := e.curveOf(i)
	for c, h := range e.heads {
		switch {
		case h.role == "":
		case h.flow != "":
			if v, ok := e.figureAt(i, c, roleUnits[curve]); ok {
				q, _ := quantity.Parse(quantity.Flow, h.flow)
				p.point(curve, q, v)
			}
		case h.number > 0 && h.role != roleFlow:
			v, ok := e.figureAt(i, c, roleUnits[h.role])
			if !ok {
				continue
			}
			f := slices.IndexFunc(e.heads, func(x equipmentHead) bool { return x.role == roleFlow && x.number == h.number })
			if f < 0 {
				e.fault(i, c, "a point without a flow", "no column is headed with the flow of point "+itoa(h.number), "add the column, such as "+quantity.Quote("Q"+itoa(h.number)+" [L/s]"))
				continue
			}
			q, ok := e.figureAt(i, f, quantity.Flow)
			if !ok {
				if e.cell(i, f) == "" {
					e.fault(i, f, "the flow of point "+itoa(h.number)+" is missing", "", "write it, or leave the whole point out")
				}
				continue
			}
			p.point(h.role, q, v)
		}
	}
}

// curveOf tells which curve a row under flows gives: the head, unless a word in it says efficiency or NPSH.
func (e *equipmentTable) curveOf(i int) string {
	for c := range e.rows[i] {
		if c < len(e.heads) && (e.heads[c].role == "" || e.heads[c].role == roleAlike) {
			words := strings.Join(headWords(e.cell(i, c)), " ")
			for _, role := range rolesOf(words) {
				if role == roleEfficiency || role == roleNPSH {
					return role
				}
			}
		}
	}
	return roleHead
}

// checkPump brings a pump's curves into order and tells what cannot be one.
func (e *equipmentTable) checkPump(row int, p *Pump) {
	called := "the pump"
	if p.Name != "" {
		called = "pump " + quantity.Quote(p.Name)
	}
	for _, c := range []struct {
		points *[][2]float64
		name   string
		need   bool
	}{{&p.Curve, "head", true}, {&p.Efficiency, "efficiency", false}, {&p.NPSH, "NPSH", false}} {
		points := *c.points
		slices.SortStableFunc(points, func(a, b [2]float64) int { return cmp.Compare(a[0], b[0]) })
		for k, x := range points {
			switch {
			case x[0] < 0 || x[1] < 0:
				e.fault(row, -1, called+": a negative figure on the curve of "+c.name, "", "put the sign right")
			case k > 0 && x[0] == points[k-1][0]:
				e.fault(row, -1, called+": the curve of "+c.name+" has two points at one flow", quantity.Format(x[0], "L/s", 3), "leave one of them out")
			case c.name == "efficiency" && x[1] > 1:
				e.fault(row, -1, called+": an efficiency above 100 %", quantity.Format(x[1], "%", 1), "write such as 78 %")
			}
		}
		switch {
		case len(points) == 1 && c.need, len(points) == 0 && c.need && !e.g.Fatal:
			e.fault(row, -1, called+" has a curve of "+plural(len(points), "point", "points"), "", "give two points of flow and head or more, from no flow to beyond the duty")
		case len(points) == 1:
			e.fault(row, -1, called+" has a curve of "+c.name+" of one point", "", "give two or more, or none")
		}
	}
}
