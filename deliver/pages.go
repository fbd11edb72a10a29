package deliver

import (
	"fmt"
	"html/template"
	"runtime"
	"slices"
	"strings"
	"sync"

	"obvert/bench"
	"obvert/engine/sealing"
	"obvert/line"
	"obvert/physics/valve"
	"obvert/study"
)

// routePage is a route's drawings with their twins.
type routePage struct {
	ID, Name   string
	Head, Note string
	Sections   []template.HTML
	Cells      cellTable
	Pools      *plainTable
	Slacks     *plainTable
	Lines      *plainTable
	Levels     *plainTable

	TilesHead, TilesNote string // of the cases side by side
	TilesKey             []keyItem
	Tiles                []template.HTML
	TilesTwin            *plainTable

	TubesHead, TubesNote string
	TubesKey             []keyItem
	Tubes                []template.HTML
	TubesTwin, Rack      *plainTable
}

type keyItem struct {
	Icon template.HTML
	Text string
}

// plainTable is a twin: text only.
type plainTable struct {
	Caption string
	Heads   []string
	Rows    [][]string
}

// cellTable is the twin of the sealing band.
type cellTable struct {
	Caption string
	Heads   []string
	Rows    []cellRow
}

type cellRow struct {
	No, Chainage string
	Cells        []cellItem
}

type cellItem struct {
	Class string
	Icon  template.HTML
	Word  string
	Text  string
}

// drawSheet draws section and bands of one sheet. On paper the section gives way until both fit the page; where that would
// make it too low, the bands take a page of their own.
func drawSheet(s *sheet, id string) []*canvas {
	const leastSection = 230.0 // px
	for section := s.form.section; ; section *= 0.9 {
		if s.page > 0 && section < leastSection && !s.overview {
			return drawApart(s, id)
		}
		c, t := newCanvas(s, id, section)
		d := drawSection(t, c)
		c.h = d.floor
		if s.bands && !s.overview {
			c.h = drawBands(t, c, d.datum, drawDetail(t, c, d.scale, d.floor+4))
		}
		if s.page == 0 || c.h <= s.page || section < 100 {
			return []*canvas{c}
		}
	}
}

// newCanvas is the drawing of a sheet whose section may be so many px high.
func newCanvas(s *sheet, id string, section float64) (*canvas, *sheet) {
	t := *s
	t.form.section = section
	c := &canvas{w: s.w, id: id, class: s.form.name}
	c.title, c.desc = t.caption()
	return c, &t
}

// drawApart draws the section with its larger seats on one page and the bands on the next.
func drawApart(s *sheet, id string) []*canvas {
	var upperPage *canvas
	for section := s.page; section > 100; section *= 0.93 {
		c, t := newCanvas(s, id, section)
		d := drawSection(t, c)
		c.h = drawDetail(t, c, d.scale, d.floor+4)
		upperPage = c
		if c.h <= s.page {
			break
		}
	}
	c, t := newCanvas(s, id+"b", s.form.section)
	c.title = "Bands of sealing, levels and pressure under the drawing before, on the same chainage"
	c.text(0, 13, "Valve", faceHead, setting{})
	for k, j := range t.on {
		q := &t.valves[j]
		cell, _ := q.cell(t.shown)
		w := faceNumber.width(q.no)
		c.text(t.col[k]-(w+16)/2, 14, q.no, faceNumber, setting{})
		c.mark(stateMark(cell.State), t.col[k]+w/2+3, 9, 5)
	}
	c.h = drawBands(&sheet{view: t.view, form: t.form, no: t.no, of: t.of, from: t.from, to: t.to, on: t.on, col: t.col, apart: true}, c, 20, 26)
	return []*canvas{upperPage, c}
}

// drawRoute draws every sheet of a route in every form: side by side, for each drawing stands by itself, and in a fixed order.
func drawRoute(v *view, id string, in []form) []*canvas {
	v.prepare()
	type job struct {
		sheet *sheet
		id    string
	}
	var jobs []job
	for _, f := range in {
		sheets := cut(v, f)
		if len(sheets) > 1 {
			jobs = append(jobs, job{key(v, sheets), fmt.Sprintf("ls%s%s0", id, f.name[:1])})
		}
		for _, s := range sheets {
			jobs = append(jobs, job{s, fmt.Sprintf("ls%s%s%d", id, f.name[:1], s.no)})
		}
	}
	drawn := make([][]*canvas, len(jobs))
	var wait sync.WaitGroup
	gate := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i, j := range jobs {
		wait.Go(func() {
			gate <- struct{}{}
			defer func() { <-gate }()
			drawn[i] = drawSheet(j.sheet, j.id)
		})
	}
	wait.Wait()
	return slices.Concat(drawn...)
}

// drawTubeSheets draws the tubes of a route in every form. On a line of several sheets only the tubes that are not simply
// full are drawn; left is how many are not.
func drawTubeSheets(v *view, id string, in []form) (out []*canvas, left int) {
	top := v.ruler()
	if top <= 0 || len(v.r.Tubes) == 0 {
		return nil, 0
	}
	for _, f := range in {
		sheets := cut(v, f)
		first := true
		for _, s := range sheets {
			on := s.on
			if len(sheets) > 1 {
				on = nil
				for _, j := range s.on {
					if s.wanted(&s.valves[j], top) {
						on = append(on, j)
					} else if f.name == in[0].name {
						left++
					}
				}
			}
			for len(on) > 0 {
				var some []int
				some, on = tubeBatch(s, on)
				c := &canvas{w: s.w, id: fmt.Sprintf("tu%s%s%d%d", id, f.name[:1], s.no, some[0]), class: f.name}
				drawTubes(s, c, some, tubeColumns(s, some, first), first && s.bands)
				c.title, c.desc = s.tubesCaption(some)
				first = false
				out = append(out, c)
			}
		}
	}
	return out, left
}

// tubeBatch takes as many valves as one drawing holds.
func tubeBatch(s *sheet, on []int) (some, rest []int) {
	n := int((tubeHi(s)-tubeLo(s, true))/s.column) + 1
	if !s.bands {
		n = 7
	}
	if len(on) <= n {
		return on, nil
	}
	return on[:n], on[n:]
}

// tubeLo and tubeHi are the places of the outermost tubes.
func tubeLo(s *sheet, bench bool) float64 {
	if !s.bands {
		return s.left + 20
	}
	if bench {
		return s.left + 28 + 74
	}
	return s.left + 46
}

func tubeHi(s *sheet) float64 {
	if !s.bands {
		return s.w - 24
	}
	return s.w - s.right + 6
}

// tubeColumns are the tubes' places: along the chainage as far as they fit, on a narrow sheet evenly spaced.
func tubeColumns(s *sheet, on []int, bench bool) []float64 {
	lo, hi := tubeLo(s, bench && s.bands), tubeHi(s)
	at := make([]float64, len(on))
	for i, j := range on {
		at[i] = s.x(s.valves[j].ch)
		if !s.bands {
			at[i] = lo + float64(i)*min((hi-lo)/max(float64(len(on)-1), 1), 60)
		}
	}
	return Spread(at, s.column, lo, hi)
}

// svgs are drawings as HTML.
func svgs(c []*canvas) []template.HTML {
	out := make([]template.HTML, len(c))
	for i := range c {
		out[i] = template.HTML(c[i].svg())
	}
	return out
}

func newRoutePage(r *study.Result, i int, names map[string]string, numbered bool, rack *rackView, in []form) routePage {
	v := newView(r, i, names, rack)
	p := routePage{ID: fmt.Sprint(i + 1), Name: v.name, Head: "The line"}
	if len(r.Line.Routes) > 1 {
		p.Head += ": " + v.name
	}
	drawn := drawRoute(v, p.ID, in)
	p.Sections = svgs(drawn)
	p.Note = sectionNote(v, numbered)
	p.Cells = v.cellTable()
	p.Pools, p.Slacks, p.Lines, p.Levels = v.poolTable(), v.slackTable(), v.lineTable(), v.levelTable()
	if t := newCaseTiles(v); t.told() {
		p.TilesHead = "Case by case"
		if len(r.Line.Routes) > 1 {
			p.TilesHead += ": " + v.name
		}
		p.TilesNote, p.TilesKey, p.TilesTwin = t.note(), t.key(), t.twin()
		p.Tiles = svgs(inSome(in, t, "cs"+p.ID))
	}
	tubes, left := drawTubeSheets(v, p.ID, in)
	if len(tubes) == 0 {
		return p
	}
	p.Tubes = svgs(tubes)
	p.TubesHead = "The bench tube, stretched out along the line"
	if len(r.Line.Routes) > 1 {
		p.TubesHead += ": " + v.name
	}
	p.TubesNote = "One ruler for both: the water that stands at each seat, " + caseWords(v) + ", and across it the head at which each type became tight on the bench; grey down to where it lets go."
	if len(r.StandingCases) > 1 {
		p.TubesNote += " Dashed: the other standing cases; the last row holds the types that are tight in all of them, in brackets only if shut before."
	}
	if rack.lettered {
		p.TubesNote += " The letters are joined to the types in the schedule."
	}
	if left > 0 {
		p.TubesNote += fmt.Sprintf(" %s have more water than the ruler is high and are tight: they are not drawn.", upper(counted(left, "other valve", "other valves")))
	}
	p.TubesKey = []keyItem{
		{template.HTML(`<svg viewBox="0 0 14 14" aria-hidden="true">` + fitTight.shape(7, 7, true) + `</svg>`), "covered: tight"},
		{template.HTML(`<svg viewBox="0 0 14 14" aria-hidden="true">` + fitOnlyIfShut.shape(7, 7, true) + `</svg>`), "tight only if shut before"},
		{template.HTML(`<svg viewBox="0 0 14 14" aria-hidden="true">` + fitNo.shape(7, 7, true) + `</svg>`), "not covered: not tight"},
		{"", "large mark with name: the type fitted"},
	}
	p.TubesTwin = v.tubeTable()
	p.Rack = rackTable(rack)
	return p
}

// caseWords names the case drawn inside a sentence.
func caseWords(v *view) string {
	if v.shown < 0 {
		return "at rest"
	}
	return "in the case “" + v.r.Line.Cases[v.shown].Name + "”"
}

func sectionNote(v *view, numbered bool) string {
	s := "Levels in metres above datum."
	if v.shown >= 0 {
		s = "Pipe filled and valves named " + caseWords(v) + "; grade lines of all cases that flow. " + s
	}
	if !v.ground {
		s += " No ground was given."
	}
	if numbered {
		s += " Valves are numbered; the schedule joins number and name."
	}
	return s
}

// cellText is the second line of a cell, in words where there is room for them.
func cellWords(c sealing.Cell) string {
	switch c.State {
	case sealing.Tight, sealing.Drips:
		s := marginText(c.Margin) + " " + ruleArrow(c.Rule)
		if c.OverRating {
			s += ", above the valve's rating"
		}
		return s
	case sealing.Unrated:
		return headText(c.Head) + " m at the seat"
	}
	return "in air"
}

func (v *view) cellTable() cellTable {
	t := cellTable{Caption: "Sealing, valve by case: word and margin in metres at the seat. ↑ against the sealing head, ↓ against the letting-go head.", Heads: []string{"valve"}}
	for _, c := range v.r.Line.Cases {
		t.Heads = append(t.Heads, c.Name)
	}
	for i := range v.valves {
		q := &v.valves[i]
		row := cellRow{No: q.no, Chainage: chainageText(q.ch)}
		for c := range v.r.Line.Cases {
			cell, _ := q.cell(c)
			m := stateMark(cell.State)
			row.Cells = append(row.Cells, cellItem{m.class(), template.HTML(m.icon()), stateWord(cell.State), cellWords(cell)})
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

func (v *view) poolTable() *plainTable {
	t := &plainTable{Caption: "Pools of the standing cases", Heads: []string{"case", "from", "to", "level, m", "what holds it there", "full bore, m", "wet, m", "water, m³"}}
	for c, k := range v.r.Line.Cases {
		if k.Kind != line.Standing {
			continue
		}
		for _, p := range v.pools(c) {
			why := p.pool.Reason
			if p.pool.Suction {
				why += "; part of it hangs under suction"
			}
			for _, s := range p.spans {
				t.Rows = append(t.Rows, []string{k.Name, chainageText(s[0]), chainageText(s[1]), levelText(p.pool.Level), why,
					grouped(p.pool.FullLength), grouped(p.pool.WetLength), significant(p.pool.Volume, 3)})
			}
		}
		_, gaps := v.emptyLength(c)
		for _, g := range gaps {
			if g[1]-g[0] >= 1 {
				t.Rows = append(t.Rows, []string{k.Name, chainageText(g[0]), chainageText(g[1]), "–", "stands empty", "0", "0", "0"})
			}
		}
	}
	return t
}

func (v *view) slackTable() *plainTable {
	t := &plainTable{Caption: "Slack stretches of the flowing cases", Heads: []string{"case", "from", "to", "length", "head lost, m", "space filled by"}}
	for c, k := range v.r.Line.Cases {
		for _, s := range v.slacks(c) {
			what := "air"
			if s.vapour {
				what = "water vapour"
			}
			t.Rows = append(t.Rows, []string{k.Name, chainageText(s.from), chainageText(s.to), lengthText(s.to - s.from), headText(s.lost), what})
		}
	}
	return t
}

func (v *view) lineTable() *plainTable {
	t := &plainTable{Caption: "Grade lines", Heads: []string{"case", "flow", "at the upstream end, m", "at the downstream end, m"}}
	for _, g := range v.gradeLines(0) {
		last := g.pieces[len(g.pieces)-1]
		for _, c := range g.cases {
			t.Rows = append(t.Rows, []string{v.r.Line.Cases[c].Name, flowText(g.flow), levelText(g.pieces[0][0].y), levelText(last[len(last)-1].y)})
		}
	}
	return t
}

func (v *view) levelTable() *plainTable {
	t := &plainTable{Caption: "Levels along the line, m above datum", Heads: []string{"chainage", "ground", "obvert", "what stands there"}}
	for _, s := range cut(v, formDesk) {
		for _, c := range s.columns(15) {
			g := "–"
			if c.has {
				g = levelText(c.ground)
			}
			what := ""
			if c.valve {
				what = "air valve"
			}
			for _, m := range v.marks {
				if m.ch == c.ch {
					what = strings.TrimPrefix(what+", "+m.name, ", ")
				}
			}
			t.Rows = append(t.Rows, []string{chainageText(c.ch), g, levelText(c.obvert), what})
		}
	}
	return t
}

func (v *view) tubeTable() *plainTable {
	t := &plainTable{Caption: "Head at the seat by standing case, m, and the types that would be tight in the worst of them; in brackets: only if shut before", Heads: []string{"valve", "type fitted"}}
	for _, c := range v.r.StandingCases {
		if c >= 0 && c < len(v.r.Line.Cases) {
			t.Heads = append(t.Heads, v.r.Line.Cases[c].Name)
		}
	}
	t.Heads = append(t.Heads, "tight here")
	d := &tubes{sheet: &sheet{view: v}, standing: v.standingShown()}
	for i := range v.valves {
		q := &v.valves[i]
		if q.tube == nil {
			continue
		}
		row := []string{q.no, v.rack.of(q.result.Record).full()}
		for k := range t.Heads[2 : len(t.Heads)-1] {
			h := "–"
			if k < len(q.tube.Heads) {
				h = headText(q.tube.Heads[k])
			}
			row = append(row, h)
		}
		names, _ := d.tightHere(q)
		t.Rows = append(t.Rows, append(row, names))
	}
	return t
}

func rackTable(rack *rackView) *plainTable {
	t := &plainTable{Caption: "The rack, m of the line's water at the seat", Heads: []string{"type", "sealing ↑", "letting go ↓"}}
	for i := range rack.types {
		q := &rack.types[i]
		t.Rows = append(t.Rows, []string{q.full(), plusMinus(q.sealing), plusMinus(q.lettingGo)})
	}
	return t
}

func plusMinus(h headValue) string {
	if h.bound == valve.Measured && h.expanded > 0 {
		return h.text() + " ± " + rulerText(h.expanded)
	}
	return h.text()
}

// benchPage is a run's drawing with its tables.
type benchPage struct {
	ID         string
	Head, Note string
	Drawings   []template.HTML
	Marks      *plainTable
	Results    *table
	Budget     []*table
	Remarks    []string
	Caution    string
}

func newBenchPage(r *bench.Result, i int, rack *rackView, in []form) benchPage {
	p := benchPage{ID: fmt.Sprint(i + 1), Head: "The run on the bench", Caution: "A bench under pressure: keep clear of the valves' outlets, and let no air stand in the manifold before the head is raised."}
	if r.Name != "" {
		p.Head += ": " + r.Name
	}
	var parts []string
	parts = append(parts, upper(counted(len(r.Valves), "valve", "valves")), "water at "+fixed(r.WaterTemperature-273.15, 1)+" °C")
	if r.TightMeans != "" {
		parts = append(parts, "tight means "+r.TightMeans)
	}
	if r.Bench != "" {
		parts = append(parts, r.Bench)
	}
	p.Note = strings.Join(parts, "; ") + ". Each change of state is joined to the valve it belongs to; hollow marks are looks, crosses marks that were not used."
	if r.Date != "" || r.Operator != "" {
		p.Note += " Run on " + strings.Join(nonEmpty(r.Date, r.Operator), " by ") + "."
	}
	var drawn []*canvas
	for _, f := range in {
		c := &canvas{w: f.w, id: fmt.Sprintf("be%s%s", p.ID, f.name[:1]), class: f.name}
		d := newBenchRun(r, f, c, rack)
		d.draw()
		c.title, c.desc = d.caption()
		drawn = append(drawn, c)
	}
	p.Drawings = svgs(drawn)
	d := newBenchRun(r, formDesk, nil, rack)
	p.Marks = markTable(r)
	p.Results = d.resultTable()
	p.Budget = d.budgetTables()
	for _, f := range r.Findings {
		p.Remarks = append(p.Remarks, strings.TrimPrefix(f.Where+": "+f.Text, ": "))
	}
	return p
}

func nonEmpty(s ...string) []string {
	var out []string
	for _, t := range s {
		if t != "" {
			out = append(out, t)
		}
	}
	return out
}

func markTable(r *bench.Result) *plainTable {
	t := &plainTable{Caption: "Every mark of the run: head in metres at the valve's own seat", Heads: []string{"valve", "time, s", "repeat", "way", "kind", "state", "head, m", "used"}}
	for _, v := range r.Valves {
		for _, m := range v.Marks {
			way, kind, state, used := "falling", "change", "dripping", "yes"
			if m.Rising {
				way = "rising"
			}
			if m.Kind == bench.Look {
				kind = "look"
			}
			if m.Tight {
				state = "tight"
			}
			if !m.Used {
				used = "no: " + m.Why
			}
			t.Rows = append(t.Rows, []string{v.Name, fixed(m.Time, 0), fmt.Sprint(m.Repeat), way, kind, state, rulerText(m.Head), used})
		}
	}
	return t
}
