package grade

import "obvert/line"

// With prepares a line that has the runs of this one, and other levels, pumps or cases. Grids and order of elimination are shared. A line
// whose runs are others is prepared anew.
func (n *Net) With(l *line.Line) (*Net, error) {
	if len(l.Runs) != len(n.Line.Runs) || len(l.Nodes) != len(n.Line.Nodes) {
		return NewNet(l)
	}
	for i := range l.Runs {
		if !sameRun(&l.Runs[i], &n.Line.Runs[i]) {
			return NewNet(l)
		}
	}
	for i := range l.Nodes {
		if !sameSides(l.Nodes[i].Station, n.Line.Nodes[i].Station) {
			return NewNet(l)
		}
	}
	n.matrix(&line.Case{})
	other := &Net{Line: l, grids: n.grids, nodes: n.nodes, suction: n.suction, header: n.header, points: n.points, top: n.top, order: n.order, held: n.held}
	other.once.Do(func() {}) // the order is there already
	return other, nil
}

// sameRun tells whether two runs are the same pipe with the same things in it, by identity.
func sameRun(a, b *line.Run) bool {
	return a.From == b.From && a.To == b.To && identical(a.Points, b.Points) && identical(a.Sections, b.Sections) && identical(a.Equipment, b.Equipment) && identical(a.Placed, b.Placed)
}

// identical tells whether two slices are one.
func identical[T any](a, b []T) bool { return len(a) == len(b) && (len(a) == 0 || &a[0] == &b[0]) }

// sameSides tells whether two stations meet the line at the same sides.
func sameSides(a, b *line.StationData) bool {
	if a == nil || b == nil {
		return a == b
	}
	return a.HasSump == b.HasSump && a.Check == b.Check
}
