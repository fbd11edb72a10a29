package deliver

import (
	"errors"
	"fmt"
	"io"
	"math"
	"reflect"
	"sort"

	"obvert/line"
	"obvert/study"
)

// Paper is the size of a drawn sheet.
type Paper uint8

// The papers a long section is drawn on, landscape (ISO 216 trimmed sizes).
const (
	PaperA1 Paper = iota // 841 × 594 mm
	PaperA3              // 420 × 297 mm
)

// String is the paper's name.
func (p Paper) String() string { return [...]string{PaperA1: "A1", PaperA3: "A3"}[p] }

// Page is one drawn sheet.
type Page struct {
	Name  string // for a file, without ending: "long-section-A1-2"
	Title string // "Ridge main, sheet 2 of 3"
	SVG   []byte
}

// planForm is a paper with the sizes of what is on it, mm.
type planForm struct {
	name     string
	w, h     float64 // of the paper; w is 0 for a roll, which is as long as the line
	small    float64 // height of figures and notes
	large    float64 // of a valve's number and a band's head
	title    float64 // of the line's name
	stub     float64 // width of the heads of the bands
	after    float64 // room to the right of the plot, for a tank and its levels
	rail     float64 // most length of a label over the section
	strip    float64 // height of the strip of notes and title block
	block    float64 // width of the title block; ISO 7200 allows 180
	section  float64 // least height of the section
	coarsest float64 // denominator of the lengths' scale that is kept by going over several sheets
}

// The margins of ISO 5457: 20 mm at the left for binding, 10 mm elsewhere. Heights of letters are ISO 3098's, 2.5 mm at least on A1
// and 1.8 mm on A3.
const (
	marginBind = 20.0
	margin     = 10.0
)

var (
	planA1   = planForm{name: "A1", w: 841, h: 594, small: 2.5, large: 3.5, title: 7, stub: 64, after: 34, rail: 52, strip: 66, block: 180, section: 110, coarsest: 10000}
	planA3   = planForm{name: "A3", w: 420, h: 297, small: 1.8, large: 2.5, title: 5, stub: 46, after: 22, rail: 33, strip: 46, block: 150, section: 58, coarsest: 20000}
	planRoll = planForm{name: "roll", h: 594, small: 2.5, large: 3.5, title: 7, stub: 64, after: 34, rail: 52, strip: 66, block: 180, section: 110, coarsest: 10000}
)

func (p Paper) form() (planForm, error) {
	switch p {
	case PaperA1:
		return planA1, nil
	case PaperA3:
		return planA3, nil
	}
	return planForm{}, fmt.Errorf("deliver: paper %d is neither A1 nor A3", p)
}

func (f planForm) left() float64      { return marginBind + f.stub + 10 }
func (f planForm) plotWidth() float64 { return f.w - margin - f.after - f.left() }

// mostSheets is how many sheets a route is cut into before its scale is made coarser.
const mostSheets = 24

// standardScale is the smallest of 1, 2 and 5 times a power of ten (ISO 5455) that is not below v, at least 1.
func standardScale(v float64) float64 { return math.Max(1, niceStep(math.Max(v, 1))) }

// finer is the next scale of the series that draws larger.
func finer(s float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(s)+1e-9))
	switch m := math.Round(s / p); m {
	case 5:
		return 2 * p
	case 2:
		return p
	}
	return p / 2
}

// LongSectionSVG draws the long section of every route on sheets of a paper: the line, its grade lines and standing levels, its
// valves with their states, and bands of figures under it on the same chainage. A long line goes over several sheets with match
// lines. The same study and options give the same bytes.
func LongSectionSVG(r *study.Result, o Options, paper Paper) ([]Page, error) {
	f, err := paper.form()
	if err != nil {
		return nil, err
	}
	sheets, err := planSheets(r, o, f)
	if err != nil {
		return nil, err
	}
	var out []Page
	for i, s := range sheets {
		p := newSVGPen()
		s.draw(p)
		title, desc := s.caption()
		out = append(out, Page{Name: fmt.Sprintf("long-section-%s-%d", f.name, i+1), Title: title, SVG: p.page(s.form.w, s.form.h, fmt.Sprintf("ls%d", i+1), title, desc)})
	}
	return out, nil
}

// LongSectionDXF draws the long section of every route as one DXF, each on a roll as long as the line, one under the other. The
// model space is in millimetres of paper at the scales that stand in the title block, so that texts have their heights; a level
// scale and a chainage scale with ticks let levels and chainages be read back. The same study and options give the same bytes.
func LongSectionDXF(w io.Writer, r *study.Result, o Options) error {
	sheets, err := planSheets(r, o, planRoll)
	if err != nil {
		return err
	}
	p := newDXFPen()
	s := NewStamp(r, o)
	p.d.Comments = []string{"Long section of " + s.Line + ", in millimetres of paper", "Hash of the inputs (SHA-256): " + orNotGiven(s.Hash), "Reckoned by " + s.ReckonedBy(), law}
	for _, sheet := range sheets {
		sheet.draw(p)
		p.at.Y -= sheet.form.h + 50
	}
	return p.d.Write(w)
}

// planSheets lays every route out on sheets of a form.
func planSheets(r *study.Result, o Options, f planForm) ([]*planSheet, error) {
	if err := complete(r); err != nil {
		return nil, err
	}
	if err := finite(reflect.ValueOf(r), "result"); err != nil {
		return nil, fmt.Errorf("deliver: long section: %w", err)
	}
	names, numbered := valveNumbers(r)
	rack := newRackView(r)
	var out []*planSheet
	for i := range r.Line.Routes {
		v := newView(r, i, names, rack)
		if len(v.pts) < 2 || v.to <= v.from {
			continue
		}
		out = append(out, cutPlan(&planRoute{view: v, o: o, numbered: numbered}, f)...)
	}
	if len(out) == 0 {
		return nil, errors.New("deliver: there is no long section to draw: no route has two points at different chainages")
	}
	for i, s := range out {
		s.no, s.of = i+1, len(out)
	}
	return out, nil
}

// planRoute is a route with what its sheets share.
type planRoute struct {
	*view
	o        Options
	numbered bool
	lines    []gradeLine
	pools    []poolView
}

// planSheet is one sheet: a stretch of a route in a form, at scales.
type planSheet struct {
	*planRoute
	form     planForm
	no, of   int // of all sheets
	from, to float64
	scale    float64 // 1:scale of chainages
	up       float64 // 1:up of levels
	cols     []planColumn
	dropped  int // things whose columns have no room on any scale
	cases    []int
	lo, hi   float64 // levels
	y        planHeights
	p        *placer
	pen      pen
	keyed    []gradeLine // lines that found no room for their label on themselves
}

// planHeights are the y of the sheet's parts, mm.
type planHeights struct {
	rail, fan, top, datum, axis, bands, strip float64
	zero                                      float64 // level at datum, m
}

// cutPlan chooses the scale of chainages and cuts a route into sheets.
func cutPlan(r *planRoute, f planForm) []*planSheet {
	length := r.to - r.from
	r.lines = r.gradeLines(0.01)
	if r.shown >= 0 {
		r.pools = r.view.pools(r.shown)
	}
	roll := f.w == 0
	wide := f.plotWidth()
	var scale float64
	if roll {
		scale = min(standardScale(length/planA1.plotWidth()*1000), f.coarsest)
	} else {
		scale = standardScale(length / wide * 1000)
		for scale > f.coarsest && math.Ceil(length/(wide*finer(scale)/1000)) <= mostSheets {
			scale = finer(scale)
		}
	}
	var best []*planSheet
	for s := scale; s >= 1; s = finer(s) {
		if best != nil && math.Ceil(length/(wide*s/1000)) > 2*mostSheets && !roll {
			break
		}
		var sheets []*planSheet
		g := f
		if roll {
			g.w = f.left() + max(length*1000/s, 300) + f.after + margin
		}
		bounds := planBounds(r.from, r.to, g.plotWidth()*s/1000)
		fits := true
		for i := 1; i < len(bounds); i++ {
			k := &planSheet{planRoute: r, form: g, from: bounds[i-1], to: bounds[i], scale: s}
			k.columns()
			fits = fits && k.dropped == 0
			sheets = append(sheets, k)
		}
		best = sheets
		if fits || s == 1 || roll && length*1000/s > 200e3 {
			break
		}
	}
	return best
}

// planBounds cuts [from, to] into as few equal stretches as are no longer than most, to whole hundreds of metres where they are long.
func planBounds(from, to, most float64) []float64 {
	k := int(math.Ceil((to - from) / most * (1 - 1e-9)))
	if k <= 1 {
		return []float64{from, to}
	}
	step := (to - from) / float64(k)
	for _, q := range []float64{100, 50, 10, 1} {
		if up := math.Ceil(step/q) * q; up <= most {
			step = up
			break
		}
	}
	out := []float64{from}
	for i := 1; from+float64(i)*step < to-1e-9; i++ {
		out = append(out, from+float64(i)*step)
	}
	return append(out, to)
}

// x is the place of a chainage on the sheet, mm.
func (s *planSheet) x(ch float64) float64 { return s.form.left() + (ch-s.from)*1000/s.scale }

// right is the plot's right edge.
func (s *planSheet) right() float64 { return s.x(s.to) }

// level is the y of a level on the sheet, mm.
func (s *planSheet) level(z float64) float64 { return s.y.datum - (z-s.y.zero)*1000/s.up }

func (s *planSheet) holds(ch float64) bool { return ch >= s.from-1e-9 && ch <= s.to+1e-9 }

// last tells whether the sheet is the route's last, first whether it is its first.
func (s *planSheet) last() bool  { return s.to >= s.planRoute.to }
func (s *planSheet) first() bool { return s.from <= s.planRoute.from }

// clip cuts a polyline over chainage to the sheet.
func (s *planSheet) clip(p []pt) []pt { return (&sheet{from: s.from, to: s.to}).clipLine(p) }

// draw draws the whole sheet.
func (s *planSheet) draw(p pen) {
	s.pen, s.keyed = p, nil
	s.measure()
	s.frame()
	s.section()
	s.labels()
	s.bands()
	s.notes()
	s.titleBlock()
}

// caption is the sheet's title and what a screen reader hears of it.
func (s *planSheet) caption() (title, desc string) {
	title = s.r.Line.Name
	if s.view.name != "" && len(s.r.Line.Routes) > 1 {
		title += ", " + s.view.name
	}
	title = fmt.Sprintf("%s, long section, sheet %d of %d", title, s.no, s.of)
	desc = fmt.Sprintf("From chainage %s to %s, obvert from %s m to %s m; lengths %s, levels %s. The report holds the same figures as tables.",
		chainageText(s.from), chainageText(s.to), levelText(s.obvertAt(s.from)), levelText(s.obvertAt(s.to)), scaleText(s.scale), scaleText(s.up))
	return title, desc
}

func scaleText(s float64) string {
	if s < 1 {
		return fixed(1/s, 0) + ":1"
	}
	return "1:" + fixed(s, 0)
}

// route order of marks and sections is by chainage; breaks are where the pipe changes.
func (s *planSheet) pipeSections() (out []planPipe) {
	for _, leg := range s.r.Line.Routes[s.route].Legs {
		run := &s.r.Line.Runs[leg.Run]
		for i := range run.Sections {
			k := &run.Sections[i]
			a, b := leg.Offset+leg.Sign*k.From, leg.Offset+leg.Sign*k.To
			out = append(out, planPipe{min(a, b), max(a, b), k})
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].from < out[j].from })
	return out
}

// planPipe is a section of pipe on the route.
type planPipe struct {
	from, to float64
	section  *line.Section
}
