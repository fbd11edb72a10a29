package deliver

import (
	"cmp"
	"math"
	"slices"

	"obvert/engine/refilling"
	"obvert/engine/sealing"
	"obvert/engine/sizing"
	"obvert/line"
	"obvert/physics/valve"
	"obvert/study"
)

// need is what one place asks of a valve, whichever stands there.
type need struct {
	row     *ScheduleRow
	nominal float64 // m, of the valve placed; 0 where none is chosen

	wet       bool    // water stands at the seat in some case
	head      float64 // m, the smallest head at the seat in any case in which water stands there
	in        string  // that case
	u         float64 // m, standard uncertainty of that head: levels and roughness, not the valve's own
	uKnown    bool    // u follows from the study; else only the survey's own errors are in it
	limit     float64 // m, head less 2 u: the largest sealing head
	open      []string
	largest   float64 // m, largest head at the seat
	pipe      float64 // Pa, rating of the pipe there; 0 where not known
	rating    float64 // Pa, the smallest class that the largest head keeps
	airIn     *sizing.Duty
	airOut    *sizing.Duty
	orifice   float64 // m
	stage     bool    // slam asks for an anti-slam stage
	stageWhy  string
	stageFlow float64 // m³/s, of water that keeps the slam allowed; 0 where not known
	stageFast float64 // m/s, the same
}

// coverage is the factor from standard to expanded uncertainty in what is asked of a buyer: about 95 % (JCGM 100:2008, 6.3.3).
const coverage = 2

// ratings are the PN classes of EN 1092-2, Pa gauge, from PN 10 up, below which air valves for mains are hardly made (common practice, no source).
var ratings = []float64{10e5, 16e5, 25e5, 40e5, 63e5}

// needs are the needs of all places with a valve, in the order of the schedule.
func needs(r *study.Result) []need {
	rows := Schedule(r)
	var out []need
	for i := range rows {
		for k := range r.Sealing.Valves {
			s := &r.Sealing.Valves[k]
			if s.Name == rows[i].Valve && r.Line.Runs[s.Run].Name == rows[i].Run && s.Chainage == rows[i].Chainage {
				out = append(out, needOf(r, s, &rows[i]))
				break
			}
		}
	}
	return out
}

func needOf(r *study.Result, s *sealing.ValveResult, row *ScheduleRow) need {
	n := need{row: row}
	if row.NominalDiameter != nil {
		n.nominal = *row.NominalDiameter
	}
	var rec *valve.Record
	if s.Record >= 0 && s.Record < len(r.Line.Rack) {
		rec = &r.Line.Rack[s.Record]
	}
	for c := range s.Cells {
		cell := &s.Cells[c]
		n.largest = max(n.largest, cell.Head)
		if cell.State == sealing.Open {
			n.open = append(n.open, r.Line.Cases[c].Name)
		}
		if cell.Head <= 0 || cell.State == sealing.Open || cell.State == sealing.Empty {
			continue
		}
		u, known := headError(r.Line, rec, cell)
		if limit := cell.Head - coverage*u; !n.wet || limit < n.limit {
			n.wet, n.limit, n.head, n.u, n.uKnown, n.in = true, limit, cell.Head, u, known, r.Line.Cases[c].Name
		}
	}
	if sec := r.Line.SectionAt(s.Run, s.Chainage); sec != nil {
		n.pipe = sec.Rating
	}
	want := n.largest * r.Line.Site.Density * r.Line.Site.Gravity
	n.rating = want
	if i := slices.IndexFunc(ratings, func(p float64) bool { return p >= want*(1-1e-9) }); i >= 0 {
		n.rating = ratings[i]
	}
	n.sized(r, s)
	return n
}

// headError is the standard uncertainty of a head at a seat, in metres: that of the margin with the valve's own taken out. Where the margin was
// not judged, only the survey's errors are known.
func headError(l *line.Line, rec *valve.Record, cell *sealing.Cell) (u float64, known bool) {
	if rec != nil && cell.Sigma > 0 {
		t := rec.Sealing
		if cell.Rule == sealing.Falling {
			t = rec.LettingGo
		}
		own := l.Site.Head(t.Spread())
		return math.Sqrt(max(cell.Sigma*cell.Sigma-own*own, 0)), true
	}
	return math.Hypot(l.Survey.Datum, l.Survey.Independent), false
}

// sized adds what air and slam ask for.
func (n *need) sized(r *study.Result, s *sealing.ValveResult) {
	p := sizedPlace(r, s)
	if p != nil {
		if p.In.Governs >= 0 && p.In.Governs < len(p.Duties) {
			n.airIn = &p.Duties[p.In.Governs]
		}
		if p.Out.Governs >= 0 && p.Out.Governs < len(p.Duties) {
			n.airOut = &p.Duties[p.Out.Governs]
		}
		if p.Release.Wanted {
			n.orifice = p.Release.Needed
		}
		if p.Slam.Known {
			n.stageFlow, n.stageFast = p.Slam.AllowedFlow, p.Slam.AllowedVelocity
			if p.Slam.Exceeds {
				n.stage, n.stageWhy = true, p.Slam.Text
			}
		}
	}
	limit := r.Line.Practice.Slam.Value
	for i := range r.Passed {
		f := r.Passed[i].Refilling
		if f == nil || limit <= 0 {
			continue
		}
		k := slices.IndexFunc(f.Valves, func(v refilling.Valve) bool { return v.Run == s.Run && v.Placed == s.Placed })
		if k >= 0 && f.Valves[k].Slam > limit && !n.stage {
			n.stage = true
			n.stageWhy = "In “" + r.Line.Events[r.Passed[i].Event].Name + "” the valve shuts with a slam of " + headText(f.Valves[k].Slam) + " m; " + headText(limit) + " m are allowed."
		}
	}
}

// limitBands are the upper ends of the classes of sealing limit in which needs are alike, m: a class is bought by its strictest member, so that the
// classes are narrow where a valve is hard to find and wide where any valve does. Common practice, no source.
var limitBands = []float64{0, 0.2, 0.5, 1, 2, 5}

func limitBand(n *need) int {
	if !n.wet {
		return len(limitBands) + 1
	}
	if i := slices.IndexFunc(limitBands, func(b float64) bool { return n.limit <= b }); i >= 0 {
		return i
	}
	return len(limitBands)
}

// alike tells that two needs are served by one type: the same nominal size, pressure class, class of sealing limit and stage.
func alike(a, b *need) bool {
	return a.nominal == b.nominal && a.row.Connection == b.row.Connection && a.rating == b.rating && limitBand(a) == limitBand(b) && a.stage == b.stage
}

// grouped needs: those that are alike together, the strictest sealing limit first.
func groupNeeds(all []need) [][]need {
	var out [][]need
	for _, n := range all {
		k := slices.IndexFunc(out, func(g []need) bool { return alike(&g[0], &n) })
		if k < 0 {
			out = append(out, []need{n})
			continue
		}
		out[k] = append(out[k], n)
	}
	slices.SortStableFunc(out, func(a, b []need) int {
		return cmp.Or(cmp.Compare(limitBand(&a[0]), limitBand(&b[0])), cmp.Compare(a[0].nominal, b[0].nominal), cmp.Compare(a[0].rating, b[0].rating))
	})
	return out
}

// strictest is the member of a group with the smallest value.
func strictest(g []need, by func(*need) float64) *need {
	best := &g[0]
	for i := range g {
		if by(&g[i]) < by(best) {
			best = &g[i]
		}
	}
	return best
}
