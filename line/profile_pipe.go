package line

import (
	"math"
	"slices"

	"obvert/document"
)

// Figures of the spike rule, all common practice, no source, but the angle: where both legs at a point are steeper
// than 45° the pipe would have to turn there by more than 90°, and no standard bend does.
const (
	spikeSlope      = 1.0  // 1: rise per run of both legs from which no pipe follows
	doubtfulSlope   = 0.33 // 1: of both legs from which a lone point is doubted
	spikeHeight     = 3.0  // m: least height above, or depth below, both neighbours
	spikeScatter    = 10.0 // 1: least ratio of that height to the usual change of level from point to point nearby
	spikeNeighbours = 8    // legs to either side that "nearby" takes in
)

// findSpikes reports lone points that no pipe could follow, and doubts those it hardly could.
func (p *profileReader) findSpikes(rows []surveyRow) {
	key := columnKey(p.header.columns[p.columns.level].text)
	for i := 1; i+1 < len(rows); i++ {
		height, slope := peak(rows, i)
		if height < spikeHeight || slope < doubtfulSlope {
			continue
		}
		usual := usualChange(rows, i)
		if height <= spikeScatter*usual {
			continue
		}
		p.tellSpike(rows, i, height, slope, usual, key)
	}
	p.endSpike(rows, 0, 1, key)
	p.endSpike(rows, len(rows)-1, len(rows)-2, key)
}

// peak is by how much, in m, a point stands above both neighbours or below both, and the slope of
// the flatter of its two legs (infinite where it is upright); 0 where it stands between them.
func peak(rows []surveyRow, i int) (height, slope float64) {
	before, after := rows[i].z-rows[i-1].z, rows[i].z-rows[i+1].z
	if before*after <= 0 {
		return 0, 0
	}
	before, after = math.Abs(before), math.Abs(after)
	return min(before, after), min(before/(rows[i].s-rows[i-1].s), after/(rows[i+1].s-rows[i].s))
}

// usualChange is the median change of level, in m, over the legs around point i, without its own two.
func usualChange(rows []surveyRow, i int) float64 {
	var buffer [2 * spikeNeighbours]float64
	changes := buffer[:0]
	for j := max(1, i-spikeNeighbours); j < min(len(rows), i+2+spikeNeighbours); j++ {
		if j != i && j != i+1 {
			changes = append(changes, math.Abs(rows[j].z-rows[j-1].z))
		}
	}
	if len(changes) == 0 {
		return 0
	}
	slices.Sort(changes)
	return changes[len(changes)/2]
}

// tellSpike is a fault where both legs are steeper than 45°, else a warning.
func (p *profileReader) tellSpike(rows []surveyRow, i int, height, slope, usual float64, key string) {
	severity, sort := document.WarningSeverity, "doubtful spike"
	if slope > spikeSlope {
		severity, sort = document.FaultSeverity, "spike"
	}
	p.faults.repeated(sort, int(rows[i].line), severity, func() document.Fault {
		side := "above"
		if rows[i].z < rows[i-1].z {
			side = "below"
		}
		f := document.Fault{Key: key, ID: "profile.spike",
			What: "the level " + metres(rows[i].z) + " at " + chainageText(rows[i].s) + " is a lone spike that a pipe could hardly follow",
			Understood: metres(height) + " or more " + side + " its neighbours in " + lineOf(rows[i-1]) + " and " + lineOf(rows[i+1]) +
				", where the level usually changes by " + metres(usual) + " from point to point",
			Hint: "see whether the figure is right"}
		if severity == document.FaultSeverity {
			f.ID = ""
			f.What = "the level " + metres(rows[i].z) + " at " + chainageText(rows[i].s) + " is a lone spike that no pipe could follow"
			f.Hint = "put the level right; where the pipe does go there, give the points where it bends, two at the least"
		}
		return f
	})
}

func lineOf(r surveyRow) string { return "line " + itoa(int(r.line)) }

// endSpike doubts a first or last point at the end of a leg steeper than 45°: it has one neighbour only, and a shaft may stand there.
func (p *profileReader) endSpike(rows []surveyRow, end, next int, key string) {
	if len(rows) < 4 {
		return
	}
	run, rise := math.Abs(rows[end].s-rows[next].s), math.Abs(rows[end].z-rows[next].z)
	if run == 0 || rise < spikeHeight || rise <= spikeSlope*run {
		return
	}
	if usual := usualChange(rows, end); rise > spikeScatter*usual {
		p.faults.Add(document.Fault{ID: "profile.spike", Severity: document.WarningSeverity, Line: int(rows[end].line), Key: key,
			What:       "the level " + metres(rows[end].z) + " at the profile's end is doubtful",
			Understood: metres(rise) + " from that of its neighbour in " + lineOf(rows[next]) + ", " + metres(run) + " away",
			Hint:       "see whether the figure is right"})
	}
}

// points turns rows into points of the obvert, with the length of pipe to each.
func (p *profileReader) points(rows []surveyRow) []Point {
	if rows[len(rows)-1].s-rows[0].s <= sameLevel {
		p.faults.Add(document.Fault{Line: int(rows[0].line), What: "a profile without length",
			Understood: "all points stand at chainage " + chainageText(rows[0].s), Hint: "a profile needs two chainages or more"})
		return nil
	}
	distances := p.distances(rows)
	out := make([]Point, 0, len(rows)+2*len(p.options.Borders))
	borders := slices.Sorted(slices.Values(p.options.Borders))
	for i, row := range rows {
		if p.bored() && i > 0 {
			out = p.atBorders(out, rows[i-1], row, distances[i-1], distances[i], borders)
		}
		rise, ok := p.rise(row.s)
		if !ok {
			p.noBore(row)
			continue
		}
		out = append(out, Point{Chainage: row.s, Obvert: row.z + rise, Ground: row.g, HasGround: row.hasG, Distance: distances[i]})
	}
	return out
}

// bored reports a kind of level that needs the bore.
func (p *profileReader) bored() bool {
	return p.result.LevelKind == LevelInvert || p.result.LevelKind == LevelAxis
}

// rise is from the level read up to the obvert, in m: the bore from the invert, half of it from the axis, less the
// cover from the ground.
func (p *profileReader) rise(s float64) (float64, bool) {
	switch p.result.LevelKind {
	case LevelObvert:
		return 0, true
	case LevelGround:
		if p.options.Cover == nil {
			return 0, true // told already
		}
		return -*p.options.Cover, true
	}
	if p.options.BoreAt == nil {
		return 0, false
	}
	bore, ok := p.options.BoreAt(s)
	if !ok || !(bore > 0) || math.IsInf(bore, 0) {
		return 0, false
	}
	if p.result.LevelKind == LevelAxis {
		return bore / 2, true
	}
	return bore, true
}

// noBore reports a point that no section covers.
func (p *profileReader) noBore(row surveyRow) {
	p.faults.repeated("bore", int(row.line), document.FaultSeverity, func() document.Fault {
		return document.Fault{Key: columnKey(p.header.columns[p.columns.chainage].text),
			What:       "no bore at chainage " + chainageText(row.s),
			Understood: "levels of the " + kindName(p.result.LevelKind) + ", which become those of the obvert by the bore of the section there",
			Hint:       "let the run's sections reach from the first to the last chainage of its profile"}
	})
}

// atBorders adds, between two rows, a vertical step of the obvert at each border of sections where the bore changes:
// invert and axis go through there, the obvert does not.
func (p *profileReader) atBorders(out []Point, a, b surveyRow, da, db float64, borders []float64) []Point {
	first, _ := slices.BinarySearch(borders, a.s)
	for _, s := range borders[first:] {
		if s > b.s {
			break
		}
		if s <= a.s || b.s-a.s <= 0 {
			continue
		}
		before, ok1 := p.rise(math.Nextafter(s, math.Inf(-1)))
		behind, ok2 := p.rise(s)
		if !ok1 || !ok2 || math.Abs(before-behind) <= sameLevel {
			continue
		}
		t := (s - a.s) / (b.s - a.s)
		q := Point{Chainage: s, Obvert: a.z + t*(b.z-a.z) + before, Distance: da + t*(db-da)}
		if a.hasG && b.hasG {
			q.Ground, q.HasGround = a.g+t*(b.g-a.g), true
		}
		out = append(out, q)
		if s < b.s { // else the row itself stands behind the border
			q.Obvert += behind - before
			out = append(out, q)
		}
	}
	return out
}

// distances are the lengths of pipe, in m, from the first row to each: along the slope, √(Δs² + Δz²), or Δs where
// chainage is measured along the pipe.
func (p *profileReader) distances(rows []surveyRow) []float64 {
	out := make([]float64, len(rows))
	for i := 1; i < len(rows); i++ {
		ds, dz := rows[i].s-rows[i-1].s, rows[i].z-rows[i-1].z
		if !p.options.AlongPipe {
			out[i] = out[i-1] + math.Hypot(ds, dz)
			continue
		}
		out[i] = out[i-1] + ds
		if math.Abs(dz) > ds+sameLevel {
			p.tooSteep(rows[i-1], rows[i], ds, dz)
		}
	}
	return out
}

// tooSteep reports a leg that rises by more than its own length.
func (p *profileReader) tooSteep(a, b surveyRow, ds, dz float64) {
	p.faults.repeated("steep", int(b.line), document.FaultSeverity, func() document.Fault {
		return document.Fault{Key: columnKey(p.header.columns[p.columns.level].text),
			What: "a leg of " + metres(ds) + " along the pipe with a rise of " + metres(dz),
			Understood: "from " + chainageText(a.s) + " in " + lineOf(a) + " to " + chainageText(b.s) +
				", chainage measured along the pipe: no pipe rises by more than its own length",
			Hint: "put chainage or level right, or leave " + keyAlongPipe + " out where chainage is measured on the plan"}
	})
}
