package deliver

import (
	"fmt"
	"html/template"
	"strings"
	"sync"
	"time"

	_ "embed"

	"github.com/go-fonts/dejavu/dejavusans"

	"obvert/formats/pdf"
)

// The faces of the PDF: Source Sans 3 as in the page, with the scripts that the page leaves to the reader's own fonts, and
// DejaVu Sans for the signs that it lacks.
var (
	//go:embed fonts/source-sans-3-400.ttf
	paperRegular []byte
	//go:embed fonts/source-sans-3-600.ttf
	paperSemibold []byte
)

// Measures of paper, pt. The type is that of the style sheet's print rules, where 1 rem is 9.4 pt.
const (
	mm     = 72 / 25.4
	rem    = 9.4
	colGap = 24.0 // between two columns
)

// sheetKind is a page: its size and margins.
type sheetKind struct {
	w, h                     float64
	left, right, top, bottom float64
	drawing                  float64 // most height of a drawing
}

func (k sheetKind) width() float64  { return k.w - k.left - k.right }
func (k sheetKind) height() float64 { return k.h - k.top - k.bottom }

var (
	pageA4  = sheetKind{w: 210 * mm, h: 297 * mm, left: 14 * mm, right: 14 * mm, top: 14 * mm, bottom: 17 * mm, drawing: 240 * mm}
	sheetA4 = sheetKind{w: 297 * mm, h: 210 * mm, left: 10 * mm, right: 10 * mm, top: 9 * mm, bottom: 13 * mm, drawing: 172 * mm}
	pageA3  = sheetKind{w: 297 * mm, h: 420 * mm, left: 18 * mm, right: 18 * mm, top: 16 * mm, bottom: 20 * mm, drawing: 350 * mm}
	sheetA3 = sheetKind{w: 420 * mm, h: 297 * mm, left: 14 * mm, right: 14 * mm, top: 14 * mm, bottom: 17 * mm, drawing: 245 * mm}
)

// block is a piece of a page that is not cut: a line, a row, a drawing.
type block struct {
	gap   float64 // before it, dropped at the head of a page
	h     float64
	paint func(y float64)
	kind  sheetKind
	keep  bool     // stays with the block after it
	fresh bool     // begins a page
	again []*block // painted once more over it where it comes to stand at the head of a page: the heads of its table
	marks []bookmark
	// sized, where there is one, makes the block at a share of its size: a drawing.
	sized func(k float64) *block
	head  bool // begins a chapter
	// split, where there is one, cuts the block to a height; first is nil where nothing of it fits.
	split func(h float64) (first, rest *block)
}

// bookmark is an entry of the outline.
type bookmark struct {
	level int
	text  string
}

// flow gathers blocks and lays them out.
type flow struct {
	d      *pdf.Doc
	style  *pdf.Style
	kind   sheetKind
	x, w   float64 // the column that blocks are made for
	blocks []*block
	fresh  bool // the next block begins a page
	toc    []tocLine
	shift  float64 // to the right, of what is painted: blocks made for a column at 0
	err    error
	foot   string
}

// spot is where a bookmark came to stand.
type spot struct {
	page int
	y    float64
}

type tocLine struct {
	level int
	text  string
	spot
}

// paperStyle is the style sheet as paper sees it, read once.
var paperStyle = sync.OnceValue(func() *pdf.Style { return pdf.ParseStyle(reportCSS) })

// ink are the colours of the light palette.
func (f *flow) ink(name string) pdf.Colour { return f.style.Colour(name) }

// newPDF begins a document in the faces of paper.
func newPDF(o pdf.Options) (*pdf.Doc, error) {
	o.Regular, o.Semibold, o.Language = paperRegular, paperSemibold, "en"
	o.Fallback = func() []byte { return dejavusans.TTF }
	return pdf.New(o)
}

func newFlow(o pdf.Options, kind sheetKind) (*flow, error) {
	d, err := newPDF(o)
	if err != nil {
		return nil, err
	}
	f := &flow{d: d, style: paperStyle()}
	f.use(kind)
	return f, nil
}

// use makes the blocks that follow for a kind of page.
func (f *flow) use(k sheetKind) { f.kind, f.x, f.w = k, k.left, k.width() }

// add puts a block at the end.
func (f *flow) add(b *block) *block {
	b.kind = f.kind
	if f.fresh {
		b.fresh, f.fresh = true, false
	}
	f.blocks = append(f.blocks, b)
	return b
}

// space adds room before the next block.
func (f *flow) space(h float64) { f.add(&block{gap: h, keep: true}) }

// aside makes the blocks of a column and takes them out of the flow.
func (f *flow) aside(x, w float64, make func()) []*block {
	blocks, fresh, fx, fw := f.blocks, f.fresh, f.x, f.w
	f.blocks, f.fresh, f.x, f.w = nil, false, x, w
	make()
	out := f.blocks
	f.blocks, f.fresh, f.x, f.w = blocks, fresh, fx, fw
	return out
}

// height of blocks set one under the other, without the gap before the first.
func height(b []*block) (h float64) {
	for i, q := range b {
		if i > 0 {
			h += q.gap
		}
		h += q.h
	}
	return h
}

// paintAll paints blocks from y on.
func paintAll(b []*block, y float64) {
	for i, q := range b {
		if i > 0 {
			y += q.gap
		}
		if q.paint != nil {
			q.paint(y)
		}
		y += q.h
	}
}

// beside adds columns as one block.
func (f *flow) beside(gap float64, cols ...[]*block) *block {
	h := 0.0
	for _, c := range cols {
		h = max(h, height(c))
	}
	return f.add(&block{gap: gap, h: h, paint: func(y float64) {
		for _, c := range cols {
			paintAll(c, y)
		}
	}})
}

// feet writes the foot of every page.
func (f *flow) feet() {
	set := pdf.Type{Size: 7.5, Colour: f.ink("ink2")}
	n := f.d.Pages()
	for i := 1; i <= n; i++ {
		f.d.Turn(i)
		w, h := f.d.PageSize(i)
		k := f.kindOf(w, h)
		y := h - k.bottom/2 + 4
		f.d.Line(k.left, y-10, w-k.right, y-10, 0.5, f.ink("hair"))
		page := fmt.Sprintf("page %d of %d", i, n)
		room := k.width() - f.d.Width(page, set) - colGap
		f.d.Text(k.left, y, f.shorten(f.foot, room, set), set)
		f.d.Text(w-k.right-f.d.Width(page, set), y, page, set)
	}
}

func (f *flow) kindOf(w, h float64) sheetKind {
	for _, k := range []sheetKind{pageA4, sheetA4, pageA3, sheetA3} {
		if k.w == w && k.h == h {
			return k
		}
	}
	return pageA4
}

// shorten cuts a text to a width, with an ellipsis.
func (f *flow) shorten(s string, w float64, t pdf.Type) string {
	if f.d.Width(s, t) <= w {
		return s
	}
	r := []rune(s)
	for len(r) > 0 && f.d.Width(string(r)+"…", t) > w {
		r = r[:len(r)-1]
	}
	return strings.TrimSpace(string(r)) + "…"
}

// finish ends the document.
func (f *flow) finish() ([]byte, error) {
	f.feet()
	if f.err != nil {
		return nil, f.err
	}
	return f.d.Bytes()
}

// draw adds drawings, each as wide as the column and no higher than the page allows.
func (f *flow) draw(gap float64, svg string) *block {
	w0, h0, err := pdf.Size(svg)
	if err != nil {
		f.fail(err)
		return nil
	}
	w := f.w
	h := w * h0 / w0
	if h > f.kind.drawing {
		w, h = w*f.kind.drawing/h, f.kind.drawing
	}
	mid := f.x + f.w/2
	at := func(k float64) *block {
		return &block{gap: gap, h: h * k, paint: func(y float64) { f.fail(f.d.Draw(svg, f.style, mid-w*k/2, y, w*k)) }}
	}
	b := at(1)
	b.sized = at
	return f.add(b)
}

func (f *flow) fail(err error) {
	if f.err == nil && err != nil {
		f.err = fmt.Errorf("deliver: PDF: %w", err)
	}
}

// onPaper are the drawings of those that are shown in print.
func onPaper(svg []template.HTML) (out []string) {
	for _, s := range svg {
		if strings.HasPrefix(string(s), `<svg class="print"`) {
			out = append(out, string(s))
		}
	}
	return out
}

// paperDate reads the date a document bears; what is no date leaves it undated.
func paperDate(s string) time.Time {
	t, err := time.Parse("2006-01-02", strings.TrimSpace(s))
	if err != nil {
		return time.Time{}
	}
	return t
}
