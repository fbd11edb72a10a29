package deliver

import (
	"fmt"
	"io"
	"reflect"
	"slices"
	"strings"

	"obvert/formats/pdf"
	"obvert/study"
)

// PDF writes the report as PDF: text and findings on A4, drawings and wide tables on A4 or A3 lying, with bookmarks, contents,
// page numbers and embedded fonts. It shows what the HTML report shows on paper, of the same values. The same study and
// options give the same bytes: the document bears the user's date or none. Characters that neither font holds (most
// ideographs) are set as boxes, as they are told in the text of the document all the same.
// A figure in the result that is not finite is an error, and nothing is written.
func PDF(w io.Writer, r *study.Result, o Options) error {
	if err := complete(r); err != nil {
		return err
	}
	if err := finite(reflect.ValueOf(r), "result"); err != nil {
		return fmt.Errorf("deliver: PDF: %w", err)
	}
	f, err := newReportIn(r, o, []form{formPrint}).pages(r, o)
	if err != nil {
		return err
	}
	return f.write(w)
}

// pages lays the report out.
func (p *report) pages(r *study.Result, o Options) (*flow, error) {
	page, sheet := kinds(p.A3)
	date := o.Date
	if date == "" {
		date = r.Line.Date
	}
	f, err := newFlow(pdf.Options{Title: p.Name + ": is every air valve held shut?", Author: r.Line.Author, Subject: p.Subtitle, Creator: strings.TrimSpace("Obvert " + p.Version), Date: paperDate(date)}, page)
	if err != nil {
		return nil, fmt.Errorf("deliver: PDF: %w", err)
	}
	f.foot = p.footText()
	f.titleBlock(p.Name, p.Subtitle, p.Block)
	p.setAnswer(f)
	p.setBrief(f)
	first := len(f.blocks)
	f.use(sheet)
	for i := range p.Routes {
		p.setRoute(f, &p.Routes[i])
	}
	for i := range p.Bench {
		p.setBench(f, &p.Bench[i])
	}
	f.use(page)
	f.fresh = true
	p.setFindings(f)
	if p.More != nil {
		f.use(sheet)
		f.grid(14, f.gridOf(p.More, 8.2))
	}
	f.use(sheet)
	f.head1("Schedule of air valves", p.ScheduleNote, nil)
	if p.Schedule != nil {
		f.grid(4, f.gridOf(p.Schedule, 8.4))
	}
	for _, c := range p.Proof {
		p.setChapter(f, c)
	}
	p.setCosts(f)
	for _, c := range p.Money {
		p.setChapter(f, c)
	}
	f.use(page)
	f.fresh = true
	p.setEnd(f)
	all := f.blocks
	f.blocks = slices.Insert(f.blocks, first, f.aside(f.x, f.w, func() { f.contents(all) })...)
	f.layout()
	return f, f.err
}

// footText is what stands at the foot of every page.
func (p *report) footText() string {
	s := []string{p.Name}
	for _, b := range p.Block {
		switch b.Term {
		case "Version of the line":
			s = append(s, "version "+b.Text)
		case "Date":
			s = append(s, b.Text)
		case "Hash of the inputs":
			s = append(s, "inputs "+b.Text)
		}
	}
	return strings.Join(append(s, strings.TrimSpace("Obvert "+p.Version)), "  ·  ")
}

func (p *report) setAnswer(f *flow) {
	const size = 13.0
	gap := 14.0
	for _, a := range p.Answer {
		x := f.x
		b := f.proseIn(gap, 1.38, f.x+24, f.w-24, span{text: a.Lead + " ", set: f.set(size, true, "ink")}, span{text: a.Rest, set: f.set(size, false, "ink")})
		gap = 8
		if len(b) > 0 && a.Icon != "" {
			paint := b[0].paint
			b[0].paint = func(y float64) {
				f.fail(f.d.Draw(string(a.Icon), f.style, x, y+baseline(size, 1.38)-0.8*size, 13))
				paint(y)
			}
		}
	}
	f.space(9)
}

func (p *report) setBrief(f *flow) {
	f.rule(6, 0.75, "rule").marks = []bookmark{{0, "Findings in brief"}}
	f.stayAll(f.prose(6, 1.3, span{text: "Findings in brief", set: f.set(12.5, true, "ink")}))
	f.space(4)
	x, w := f.x, f.w
	ink := f.set(rem, false, "ink")
	for i, q := range p.Brief {
		where := f.d.Width(q.Where, ink)
		b := f.aside(x+106, w-106-where-14, func() { f.prose(0, 1.35, span{text: q.Title, set: ink}) })
		f.add(&block{h: height(b) + 5.5, paint: func(y float64) {
			if i > 0 {
				f.d.Line(x, y, x+w, y, 0.5, f.ink("hair"))
			}
			base := y + 2.8 + baseline(rem, 1.35)
			f.d.Text(x, base, q.No, f.set(rem, true, "ink"))
			f.paintLine([]piece{{0, q.Word, q.Icon, pdf.Type{Size: rem, Bold: true, Colour: f.wordInk(q.Class)}}}, x+28, base)
			paintAll(b, y+2.8)
			f.d.Text(x+w-where, base, q.Where, ink)
		}})
	}
	if p.BriefRest != "" {
		f.prose(4, 1.4, span{text: p.BriefRest, set: ink})
	}
	f.prose(8, 1.4, span{text: p.Law, set: f.set(1.05*rem, true, "ink")})
}

// contents lists the sections of blocks with their pages, in two columns. The pages are known when it is painted.
func (f *flow) contents(of []*block) {
	var heads []string
	for _, b := range of {
		for _, m := range b.marks {
			if m.level == 0 {
				heads = append(heads, m.text)
			}
		}
	}
	if len(heads) < 3 {
		return
	}
	f.rule(10, 0.75, "rule")
	f.stayAll(f.prose(5, 1.3, span{text: "Contents", set: f.set(12.5, true, "ink")}))
	f.space(3)
	set := f.set(8.6, false, "ink")
	heads = heads[1:] // the first is on this page: findings in brief
	const cols, lead = 2, 10.5
	rows := (len(heads) + cols - 1) / cols
	w := (f.w - (cols-1)*18) / cols
	left := f.x
	f.add(&block{h: float64(rows) * lead, paint: func(y float64) {
		for i, head := range heads {
			t := f.top(i + 1)
			no := fmt.Sprint(t.page)
			x, y := left+float64(i/rows)*(w+18), y+float64(i%rows)*lead
			base := y + 8
			room := w - f.d.Width(no, set) - 8
			if before, after, ok := strings.Cut(head, ": "); ok && f.d.Width(head, set) > room { // what tells it from the others stands after the colon
				before, _, _ = strings.Cut(before, ",")
				head = before + ": " + after
			}
			text := f.shorten(head, room, set)
			f.d.Text(x, base, text, set)
			if from, to := x+f.d.Width(text, set)+4, x+w-f.d.Width(no, set)-4; to > from {
				f.d.Line(from, base-1, to, base-1, 0.5, f.ink("hair"))
			}
			f.d.Text(x+w-f.d.Width(no, set), base, no, set)
			f.d.Link(x, y, w, lead, t.page, t.y)
		}
	}})
}

// top is the i-th place of the outline's first level.
func (f *flow) top(i int) tocLine {
	for _, t := range f.toc {
		if t.level == 0 {
			if i == 0 {
				return t
			}
			i--
		}
	}
	return tocLine{}
}

func (p *report) setRoute(f *flow, r *routePage) {
	f.fresh = true
	f.head1(r.Head, r.Note, nil)
	for i, s := range onPaper(r.Sections) {
		f.draw(map[bool]float64{true: 0, false: 18}[i == 0], s)
	}
	if len(r.Tiles) > 0 {
		f.head1(r.TilesHead, r.TilesNote, r.TilesKey)
		for _, s := range onPaper(r.Tiles) {
			f.draw(12, s)
		}
	}
	if len(r.Tubes) > 0 {
		f.head1(r.TubesHead, r.TubesNote, r.TubesKey)
		for _, s := range onPaper(r.Tubes) {
			f.draw(12, s)
		}
	}
}

func (p *report) setBench(f *flow, b *benchPage) {
	f.head1(b.Head, b.Note, nil)
	for _, s := range onPaper(b.Drawings) {
		f.draw(10, s)
	}
	for _, t := range append([]*table{b.Results}, b.Budget...) {
		if t != nil {
			f.grid(12, f.gridOf(t, 8.4))
		}
	}
	for i, s := range b.Remarks {
		gap := 3.0
		if i == 0 {
			gap = 8
		}
		f.prose(gap, 1.4, span{text: s, set: f.set(8.8, false, "ink2")})
	}
	f.caution(6, 8.8, b.Caution)
}

func (p *report) setFindings(f *flow) {
	f.head1("Findings, worst first", p.FindingsNote, nil)
	for i := range p.Findings {
		p.setFinding(f, &p.Findings[i], i == 0)
	}
}

// setFinding sets a finding: its number and state beside its title and text, the figure with its bar to the right of them.
func (p *report) setFinding(f *flow, v *findingView, first bool) {
	const size, quiet = 8.8, 8.2
	x, w := f.x, f.w
	const in = 60.0
	main := (w - in) * 0.61
	side := (w - in) - main - 16
	no := f.aside(x, in-6, func() {
		f.prose(0, 1.1, span{text: v.No, set: f.set(13, true, "ink")})
		f.prose(2, 1.3, span{text: v.Word, icon: v.Icon, set: pdf.Type{Size: size, Bold: true, Colour: f.wordInk(v.Class)}})
		if v.Severity != "" {
			f.prose(0, 1.3, span{text: v.Severity, set: f.set(quiet, false, "ink2")})
		}
	})
	text := f.aside(x+in, main, func() {
		f.prose(0, 1.25, span{text: v.Title, set: f.set(10.4, true, "ink")})
		f.prose(1.5, 1.35, span{text: strings.Join(v.Place, " / "), set: f.set(quiet, false, "ink2")})
		f.prose(3, 1.36, span{text: v.Text, set: f.set(size, false, "ink")})
		for i, c := range v.Cures {
			lead := "Or. "
			if i == 0 {
				lead = "Cure. "
			}
			f.prose(2.5, 1.36, span{text: lead, set: f.set(size, true, "ink")}, span{text: c, set: f.set(size, false, "ink")})
		}
	})
	figure := f.aside(x+in+main+16, side, func() {
		if v.Have != "" {
			f.prose(0, 1.1, span{text: v.Have + " ", set: f.set(13, true, "ink")}, span{text: v.HaveLabel, set: f.set(size, false, "ink")})
		}
		if v.Bar != nil {
			f.bar(v.Bar)
		}
		for _, s := range []string{v.Need, v.Doubt} {
			if s != "" {
				f.prose(3, 1.3, span{text: s, set: f.set(size, false, "ink")})
			}
		}
		if v.Source != "" {
			f.prose(2, 1.3, span{text: v.Source, set: f.set(8, false, "ink2")})
		}
	})
	cautions := func() {
		for _, c := range v.Cautions {
			s := c.Text
			if c.Again != "" {
				s = "As at finding " + c.Again + "."
			}
			f.caution(4, size, s)
		}
	}
	if len(v.Cautions) > 0 { // where there is more room
		inText := f.aside(x+in, main, cautions)
		inFigure := f.aside(x+in+main+16, side, cautions)
		if height(text)+height(inText) < height(figure)+height(inFigure) {
			text = append(text, inText...)
		} else {
			figure = append(figure, inFigure...)
		}
	}
	h := max(height(no), height(text), height(figure))
	f.add(&block{h: h + 15, paint: func(y float64) {
		if !first {
			f.d.Line(x, y, x+w, y, 0.5, f.ink("hair"))
		}
		for _, c := range [][]*block{no, text, figure} {
			paintAll(c, y+7)
		}
	}})
}

// bar draws a figure against its requirement, with the scale's words.
func (f *flow) bar(b *bar) {
	set := f.set(7, false, "ink2")
	x, wide := f.x, min(f.w-f.d.Width(b.Scale, set)-6, 120)
	have, need := percent(b.Have)*wide, percent(b.Need)*wide
	f.add(&block{gap: 3, h: 10, paint: func(y float64) {
		f.d.Fill(x, y+3, have, 5, f.ink("water"))
		f.d.Line(x, y+8, x+wide, y+8, 0.6, f.ink("ink2"))
		f.d.Line(x+need, y+1, x+need, y+10, 1.4, f.ink("ink"))
		f.d.Text(x+wide+5, y+8, b.Scale, set)
	}})
}

// percent reads a number of per cent.
func percent(s string) float64 {
	var v float64
	fmt.Sscanf(s, "%g", &v)
	return min(max(v, 0), 100) / 100
}

func (p *report) setChapter(f *flow, c *chapter) {
	f.head1(c.Head, c.Note, c.Key)
	if len(c.Names) > 0 {
		var items []func()
		for _, k := range c.Names {
			items = append(items, func() {
				f.prose(0, 1.35, span{text: k.Text, icon: k.Icon, set: f.set(0.88*rem, false, "ink2")})
			})
		}
		f.columns(2, 4, colGap, items)
		f.stay()
	}
	for i, q := range c.Parts {
		if q.Screen {
			continue
		}
		if q.Head != "" {
			f.head2(q.Head, q.Note, true)
		} else if q.Note != "" {
			f.stayAll(f.prose(4, 1.4, span{text: q.Note, set: f.set(rem, false, "ink2")}))
		}
		for _, s := range onPaper(q.Drawings) {
			gap := 8.0
			if i == 0 && q.Head == "" {
				gap = 2
			}
			f.draw(gap, s)
		}
		if q.Print {
			t := q.Twin
			if q.Brief != nil {
				t = q.Brief
			}
			if t != nil {
				f.grid(10, f.gridOfPlain(t, 8.2))
			}
		}
	}
	if c.Unprinted != "" {
		f.prose(8, 1.4, span{text: c.Unprinted, set: f.set(8.8, false, "ink2")})
	}
	f.tables(c.Tables)
	gap := 10.0
	for _, s := range c.Remarks {
		f.prose(gap, 1.4, span{text: s, set: f.set(8.4, false, "ink2")})
		gap = 3
	}
	for _, s := range c.Cautions {
		f.caution(5, 8.8, s)
	}
}

// tables sets tables one under the other, narrow ones two by two.
func (f *flow) tables(all []*table) {
	for i := 0; i < len(all); i++ {
		if i+1 < len(all) && all[i].Half() && all[i+1].Half() {
			w := (f.w - colGap*1.5) / 2
			a := f.aside(f.x, w, func() { f.grid(0, f.gridOf(all[i], 8.4)) })
			b := f.aside(f.x+w+colGap*1.5, w, func() { f.grid(0, f.gridOf(all[i+1], 8.4)) })
			if max(height(a), height(b)) < f.kind.height()*0.8 {
				f.beside(14, a, b)
				i++
				continue
			}
		}
		f.grid(14, f.gridOf(all[i], 8.4))
	}
}

func (p *report) setCosts(f *flow) {
	if len(p.Costs) == 0 {
		return
	}
	f.head1("What it costs", p.CostNote, nil)
	for i := 0; i < len(p.Costs); i += 2 {
		if i+1 == len(p.Costs) {
			w := f.w
			f.w = min(f.w, 560)
			f.grid(12, f.costGrid(&p.Costs[i]))
			f.w = w
			break
		}
		w := (f.w - colGap*1.5) / 2
		a := f.aside(f.x, w, func() { f.grid(0, f.costGrid(&p.Costs[i])) })
		b := f.aside(f.x+w+colGap*1.5, w, func() { f.grid(0, f.costGrid(&p.Costs[i+1])) })
		f.beside(12, a, b)
	}
}

// The keys of the bars: a stretch of bar, and the mark across it.
const (
	swatchBar  = `<svg viewBox="0 0 14 14"><rect class="b-en" x="0" y="3" width="13" height="8"/></svg>`
	swatchRule = `<svg viewBox="0 0 14 14"><rect class="b-ink" x="9" y="0" width="2.4" height="14"/></svg>`
)

// costGrid sets the price of sealing head at one place.
func (f *flow) costGrid(t *costTable) *grid {
	const size = 8.4
	g := &grid{caption: t.Caption, bold: true, size: size, pad: 2.5, gap: 8, wide: true, headRule: 0.5}
	g.heads = []gridHead{{[]string{"type, sealing head"}, false}, {[]string{"more", "head, m"}, true}, {[]string{"kWh", "a year"}, true}, {nil, false}, {[]string{t.CurveHead}, true}}
	if t.Speed {
		g.heads = append(g.heads, gridHead{[]string{t.SpeedHead}, true})
	}
	g.heads = append(g.heads, gridHead{[]string{"rule of", "thumb"}, true})
	ink, bold, quiet := f.set(size, false, "ink"), f.set(size, true, "ink"), f.set(size, false, "ink2")
	right := func(s string, set pdf.Type) gridCell {
		return gridCell{spans: []span{{text: s, set: set}}, right: true}
	}
	for _, q := range t.Rows {
		row := gridRow{cells: []gridCell{{spans: []span{{text: q.Type + " ", set: bold}, {text: q.Sealing, set: quiet, stay: true}}, wrap: true}}}
		if q.Impossible != "" {
			row.cells = append(row.cells, gridCell{spans: []span{{text: q.Impossible, set: ink}}, span: q.Span, wrap: true})
			g.rows = append(g.rows, row)
			continue
		}
		have, rule := percent(q.Bar), percent(q.RuleAt)
		row.cells = append(row.cells, right(q.Head, ink), right(q.Energy, ink), gridCell{spans: []span{{text: strings.Repeat("\u00a0", 40), set: ink, stay: true}}, paint: func(x, y, w, h float64) {
			f.d.Fill(x, y+h/2-3.4, have*w, 6.8, f.ink("en"))
			if q.HasRule {
				f.d.Line(x+rule*w, y+h/2-5.5, x+rule*w, y+h/2+5.5, 1.3, f.ink("ink"))
			}
		}}, right(q.Cost, bold))
		if q.HasSpeed {
			row.cells = append(row.cells, right(q.Speed, ink))
		}
		row.cells = append(row.cells, right(q.Rule, quiet))
		g.rows = append(g.rows, row)
	}
	small := f.set(7.6, false, "ink2")
	g.foot = append(g.foot, []span{{text: "with the pump's own curve: the duty moves, and the hours with it ", icon: swatchBar, set: small}, {text: " rule of thumb ρ g Q Δh / η", icon: swatchRule, set: small}})
	for _, n := range t.Notes {
		g.foot = append(g.foot, []span{{text: n, set: small}})
	}
	return g
}

// setEnd sets what was assumed, the sources and the cautions.
func (p *report) setEnd(f *flow) {
	const size = 8.3
	ink, quiet, bold := f.set(size, false, "ink"), f.set(size, false, "ink2"), f.set(size, true, "ink")
	var assumed, sources, cautions []func()
	for _, a := range p.Assumed {
		assumed = append(assumed, func() {
			var s []span
			if a.Where != "" {
				s = append(s, span{text: a.Where + ": ", set: quiet})
			}
			f.prose(0, 1.32, append(s, span{text: a.Text, set: ink})...)
		})
	}
	for _, t := range p.Sources {
		sources = append(sources, func() { f.prose(0, 1.32, span{text: t, set: ink}) })
	}
	for _, c := range p.Cautions {
		cautions = append(cautions, func() { f.prose(0, 1.32, span{text: c.Lead + " ", set: bold}, span{text: c.Rest, set: ink}) })
	}
	for _, q := range []struct {
		head  string
		n     int
		items []func()
	}{{"Assumed", 3, assumed}, {"Sources", 2, sources}, {"Cautions", 2, cautions}} {
		f.head1(q.head, "", nil)
		f.columns(0, q.n, 18, q.items)
	}
	f.prose(14, 1.4, span{text: p.Law, set: f.set(1.125*rem, true, "ink")})
}
