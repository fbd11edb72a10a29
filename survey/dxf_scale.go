package survey

import (
	"fmt"
	"math"
	"regexp"
	"sort"
	"strconv"
	"strings"

	"obvert/formats/dxf"
	"obvert/quantity"
)

// sectionScale turns a place in a drawn section into chainage and level.
type sectionScale struct {
	across, from       float64 // m of chainage per unit, chainage at x = 0
	up, datum          float64 // m of level per unit, level at y = 0
	noise              float64 // m, of a level, where the place of the level scale's zero is guessed
	acrossText, upText string
}

func (s *sectionScale) chainage(x float64) float64 { return s.from + x*s.across }
func (s *sectionScale) level(y float64) float64    { return s.datum + y*s.up }

// scaleRow is figures in a row or a column that stand at places proportional to their values.
type scaleRow struct {
	per, zero  float64 // value per unit, value at 0
	lo, hi     float64 // places of its first and last
	off        float64 // of the row: x of a column, y of a row
	n          int
	guessed    bool    // no tick was found beside the figures: their place is known within their height
	half       float64 // units, half of the figures' height
	lineOfFile int
}

// scaleFinder knows the scales written in a drawing.
type scaleFinder struct {
	o       Options
	columns []scaleRow // levels
	rows    []scaleRow // chainages
	why     string     // what is wanting, a clause
}

// figure is a number written in a drawing.
type figure struct {
	x, y, h, v float64
	line       int
}

var (
	levelFigure    = regexp.MustCompile(`^[+-]?\d{1,5}(?:[.,]\d{1,3})?(?: ?m)?$`)
	chainageFigure = regexp.MustCompile(`^\d{1,4}\+\d{1,3}(?:[.,]\d{1,3})?$`)
)

// newScaleFinder looks through the texts and ticks of a drawing.
func newScaleFinder(f *dxf.File, o Options) *scaleFinder {
	s := &scaleFinder{o: o}
	var levels, chainages []figure
	for _, l := range f.Labels {
		t := strings.TrimSpace(l.Text)
		turn := math.Mod(math.Mod(l.Turn, 360)+360, 360)
		q := figure{x: l.X, y: l.Y, h: l.Height, line: l.Line}
		switch {
		case chainageFigure.MatchString(t):
			v, err := quantity.ParseChainage(strings.Replace(t, ",", ".", 1), o.Stakes)
			if err != nil {
				continue
			}
			q.v = v
			if math.Abs(turn-90) < 1 { // the middle of a figure that reads upwards stands half its height before its base line
				q.x -= q.h / 2
			}
			chainages = append(chainages, q)
		case levelFigure.MatchString(t) && (turn < 1 || turn > 359):
			v, err := strconv.ParseFloat(strings.Replace(strings.TrimRight(t, " m"), ",", ".", 1), 64)
			if err != nil {
				continue
			}
			q.v = v
			levels = append(levels, q)
		}
	}
	across, up := ticks(f)
	for _, r := range findRows(levels, func(q figure) (along, off float64) { return q.y, q.x }) {
		s.columns = append(s.columns, settle(r, up))
	}
	for _, r := range findRows(chainages, func(q figure) (along, off float64) { return q.x, q.y }) {
		s.rows = append(s.rows, settle(r, across))
	}
	var lacking []string
	if o.ScaleUp == 0 && len(s.columns) == 0 {
		lacking = append(lacking, "no level scale of three figures or more stands beside them")
	}
	if o.ScaleAcross == 0 && len(s.rows) == 0 {
		lacking = append(lacking, "no row of three chainages or more stands along them")
	}
	s.why = strings.Join(lacking, ", ")
	return s
}

// ticks are the places of short straight lines: x of upright ones, y of level ones, rising.
func ticks(f *dxf.File) (across, up []float64) {
	for i := range f.Chains {
		p := f.Chains[i].Points
		if len(p) != 2 {
			continue
		}
		switch {
		case p[0].X == p[1].X && p[0].Y != p[1].Y:
			across = append(across, p[0].X)
		case p[0].Y == p[1].Y && p[0].X != p[1].X:
			up = append(up, p[0].Y)
		}
	}
	sort.Float64s(across)
	sort.Float64s(up)
	return across, up
}

// run is a candidate row with the places of its figures.
type run struct {
	scaleRow
	at []float64
	h  float64
}

// findRows finds runs of three figures or more that share a line and stand at places proportional to their values. Figures
// of a row that stand aside, as where they are pushed apart to be read, are passed over.
func findRows(all []figure, place func(figure) (along, off float64)) []run {
	sort.SliceStable(all, func(i, j int) bool {
		ai, oi := place(all[i])
		aj, oj := place(all[j])
		if oi != oj {
			return oi < oj
		}
		return ai < aj
	})
	var out []run
	for i := 0; i < len(all); {
		_, off := place(all[i])
		j := i + 1
		for j < len(all) {
			if _, o := place(all[j]); math.Abs(o-off) > 1e-3*math.Max(all[i].h, 1e-9) {
				break
			}
			j++
		}
		out = append(out, runsIn(all[i:j], off, place)...)
		i = j
	}
	return out
}

// runsIn takes runs from the figures of one line, the longest first.
func runsIn(row []figure, off float64, place func(figure) (along, off float64)) []run {
	const most = 400 // figures of a line that are looked at pair by pair
	var out []run
	for len(row) >= 3 && len(row) <= most {
		var best []int
		for a := 0; a < len(row)-2; a++ {
			for b := a + 1; b < min(len(row), a+9); b++ {
				pa, _ := place(row[a])
				pb, _ := place(row[b])
				per := (row[b].v - row[a].v) / (pb - pa)
				if !(per > 0) || math.IsInf(per, 0) {
					continue
				}
				in := []int{}
				for k := range row {
					pk, _ := place(row[k])
					if math.Abs(row[a].v+per*(pk-pa)-row[k].v) <= 0.02*row[a].h*per {
						in = append(in, k)
					}
				}
				if len(in) > len(best) {
					best = in
				}
			}
		}
		if len(best) < 3 {
			return out
		}
		r := run{h: row[best[0]].h}
		first, last := row[best[0]], row[best[len(best)-1]]
		pf, _ := place(first)
		pl, _ := place(last)
		r.per = (last.v - first.v) / (pl - pf)
		r.zero = first.v - r.per*pf
		r.lo, r.hi, r.off, r.n, r.lineOfFile = pf, pl, off, len(best), first.line
		var rest []figure
		k := 0
		for i, q := range row {
			if k < len(best) && best[k] == i {
				p, _ := place(q)
				r.at = append(r.at, p)
				k++
				continue
			}
			rest = append(rest, q)
		}
		out = append(out, r)
		row = rest
	}
	return out
}

// settle finds the ticks that belong to a row's figures: at one and the same distance from each, no more than their height.
// Without ticks a figure's middle is taken for its place.
func settle(r run, ticks []float64) scaleRow {
	s := r.scaleRow
	near := func(p float64) []float64 {
		i := sort.SearchFloat64s(ticks, p-1.5*r.h)
		j := sort.SearchFloat64s(ticks, p+1.5*r.h)
		return ticks[i:j]
	}
	best, hits := 0.0, 0
	for _, t := range near(r.at[0]) {
		d := t - r.at[0]
		n := 0
		for _, p := range r.at {
			for _, u := range near(p) {
				if math.Abs(u-p-d) < 1e-3*math.Max(r.h, 1e-9) {
					n++
					break
				}
			}
		}
		if n > hits || n == hits && math.Abs(d) < math.Abs(best) {
			best, hits = d, n
		}
	}
	s.half = r.h / 2
	if hits == len(r.at) {
		s.zero -= s.per * best // the value stands at the tick
		return s
	}
	s.guessed = true
	return s
}

// of is the scale of a chain: what the user says, else the nearest level scale and row of chainages beside it.
func (s *scaleFinder) of(c dxf.Chain) (sectionScale, bool) {
	n := len(c.Points)
	x0, x1 := c.Points[0].X, c.Points[n-1].X
	y0, y1 := c.Points[0].Y, c.Points[0].Y
	for _, p := range c.Points {
		y0, y1 = min(y0, p.Y), max(y1, p.Y)
	}
	var out sectionScale
	switch {
	case s.o.ScaleAcross > 0:
		out.across, out.from = s.o.ScaleAcross, -x0*s.o.ScaleAcross
		out.acrossText = fmt.Sprintf("chainage from the line's beginning at %s a unit, as said", metres(s.o.ScaleAcross, 4))
	default:
		r, ok := nearest(s.rows, x0, x1, func(off float64) float64 { return math.Max(y0-off, off-y1) })
		if !ok {
			return out, false
		}
		out.across, out.from = r.per, r.zero
		out.acrossText = fmt.Sprintf("chainage at %s a unit, from %d chainages written along it", metres(r.per, 4), r.n)
	}
	switch {
	case s.o.ScaleUp > 0:
		out.up, out.datum = s.o.ScaleUp, s.o.Datum
		out.upText = fmt.Sprintf("levels at %s a unit above %s, as said", metres(s.o.ScaleUp, 4), metres(s.o.Datum, 2))
	default:
		r, ok := nearest(s.columns, y0, y1, func(off float64) float64 { return math.Max(x0-off, off-x1) })
		if !ok {
			return out, false
		}
		out.up, out.datum = r.per, r.zero
		out.upText = fmt.Sprintf("levels at %s a unit, from %d levels written beside it", metres(r.per, 4), r.n)
		if r.guessed {
			out.datum -= r.per * r.half
			out.noise = r.per * r.half
			out.upText += fmt.Sprintf("; no ticks stand at them, so their middles were taken and all levels may be off by %s", metres(out.noise, 2))
		}
	}
	return out, true
}

// nearest is the row that runs along [lo, hi] for at least half of the shorter of the two and stands nearest to it; of equally near
// ones the one with more figures.
func nearest(rows []scaleRow, lo, hi float64, away func(off float64) float64) (best scaleRow, ok bool) {
	least := math.Inf(1)
	for _, r := range rows {
		shared := min(hi, r.hi) - max(lo, r.lo)
		if shared < 0.5*min(hi-lo, r.hi-r.lo) {
			continue
		}
		if d := away(r.off); d < least || d == least && r.n > best.n {
			best, least, ok = r, d, true
		}
	}
	return best, ok
}
