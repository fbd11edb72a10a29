package deliver

import (
	"html/template"
	"strings"

	"obvert/formats/pdf"
)

// span is a stretch of text set in one way, with a mark before it or not. A span follows the one before it without a space
// where its text begins with none.
type span struct {
	text string
	icon template.HTML
	set  pdf.Type
	stay bool // not broken over lines
}

// set is the way text is set.
func (f *flow) set(size float64, bold bool, colour string) pdf.Type {
	return pdf.Type{Size: size, Bold: bold, Colour: f.ink(colour)}
}

// piece is a stretch of a set line.
type piece struct {
	x    float64
	text string
	icon template.HTML
	set  pdf.Type
}

// iconWide is the room of a mark with the gap after it, in em.
const iconWide = 1.12

// word is what a line breaks between.
type word struct {
	text  string
	icon  template.HTML
	set   pdf.Type
	space bool // before it
}

// wrapSpans breaks spans into lines no wider than width.
func (f *flow) wrapSpans(spans []span, width float64) [][]piece {
	var words []word
	space := false
	for _, s := range spans {
		first := true
		put := func(t string, icon template.HTML) {
			words = append(words, word{t, icon, s.set, space})
			space, first = false, false
		}
		if strings.HasPrefix(s.text, " ") {
			space = true
		}
		fields := strings.Fields(s.text)
		if s.stay {
			fields = []string{strings.Join(fields, " ")}
		}
		for i, w := range fields {
			icon := s.icon
			if i > 0 {
				space, icon = true, ""
			}
			put(w, icon)
		}
		if first && s.icon != "" {
			put("", s.icon)
		}
		if strings.HasSuffix(s.text, " ") {
			space = true
		}
	}
	var lines [][]piece
	var line []piece
	x := 0.0
	for i := 0; i < len(words); i++ {
		// words that hang together without a space go as one
		j := i + 1
		for j < len(words) && !words[j].space {
			j++
		}
		w := 0.0
		for _, q := range words[i:j] {
			w += f.wordWidth(q)
		}
		gap := 0.0
		if len(line) > 0 {
			gap = f.d.Width(" ", words[i].set)
		}
		if len(line) > 0 && x+gap+w > width+0.01 {
			lines, line, x, gap = append(lines, line), nil, 0, 0
		}
		x += gap
		for _, q := range words[i:j] {
			for len(line) == 0 && f.wordWidth(q) > width+0.01 { // longer than a line
				n := f.fits(q.text, width-f.iconRoom(q), q.set)
				if n >= len(q.text) {
					break
				}
				lines = append(lines, []piece{{0, q.text[:n], q.icon, q.set}})
				q.text, q.icon = q.text[n:], ""
			}
			if k := len(line) - 1; k >= 0 && line[k].set == q.set && q.icon == "" {
				if gap > 0 {
					line[k].text += " "
				}
				line[k].text += q.text
			} else {
				line = append(line, piece{x, q.text, q.icon, q.set})
			}
			gap = 0
			x += f.wordWidth(q)
		}
		i = j - 1
	}
	if len(line) > 0 {
		lines = append(lines, line)
	}
	return lines
}

func (f *flow) iconRoom(q word) float64 {
	if q.icon == "" {
		return 0
	}
	return iconWide * q.set.Size
}

func (f *flow) wordWidth(q word) float64 { return f.d.Width(q.text, q.set) + f.iconRoom(q) }

// fits is the length in bytes of the longest beginning of a word that is no wider than width: one character at least, after
// a hyphen or the like where there is one in its second half.
func (f *flow) fits(s string, width float64, set pdf.Type) int {
	last, soft := 0, 0
	w := 0.0
	for i, r := range s {
		w += f.d.Width(string(r), set)
		if i > 0 && w > width {
			if soft > last/2 {
				return soft
			}
			return last
		}
		last = i + len(string(r))
		if strings.ContainsRune("-/_.,;", r) {
			soft = last
		}
	}
	return len(s)
}

// lineWidth is how wide a set line is.
func (f *flow) lineWidth(l []piece) float64 {
	w := 0.0
	for _, p := range l {
		e := p.x + f.d.Width(p.text, p.set)
		if p.icon != "" {
			e += iconWide * p.set.Size
		}
		w = max(w, e)
	}
	return w
}

// paintLine sets a line with its base line at y.
func (f *flow) paintLine(l []piece, x, y float64) {
	for _, p := range l {
		at := x + p.x + f.shift
		if p.icon != "" {
			side := 0.86 * p.set.Size
			f.fail(f.d.Draw(string(p.icon), f.style, at, y-0.77*p.set.Size, side))
			at += iconWide * p.set.Size
		}
		f.d.Text(at, y, p.text, p.set)
	}
}

// baseline is where a line's base line stands under the top of its line box, for a leading in em of the size: the ink from
// cap height to descender stands in its middle.
func baseline(size, leading float64) float64 { return size*leading/2 + size*(inkAbove-inkBelow)/2 }

// prose adds a paragraph, line by line, so that it may be cut between two pages, but not after its first line or before
// its last.
func (f *flow) prose(gap, leading float64, spans ...span) []*block {
	return f.proseIn(gap, leading, f.x, f.w, spans...)
}

func (f *flow) proseIn(gap, leading, x, w float64, spans ...span) []*block {
	lines := f.wrapSpans(spans, w)
	var out []*block
	for i, l := range lines {
		size := 0.0
		for _, p := range l {
			size = max(size, p.set.Size)
		}
		b := f.add(&block{h: size * leading, paint: func(y float64) { f.paintLine(l, x, y+baseline(size, leading)) }})
		if i == 0 {
			b.gap = gap
		}
		n := len(lines)
		b.keep = n > 1 && (i == 0 || i == n-2)
		out = append(out, b)
	}
	return out
}

// stay keeps the last block with what follows.
func (f *flow) stay() {
	if n := len(f.blocks); n > 0 {
		f.blocks[n-1].keep = true
	}
}

// rule draws a line over the column.
func (f *flow) rule(gap, width float64, colour string) *block {
	x, w, c := f.x, f.w, f.ink(colour)
	return f.add(&block{gap: gap, h: width, keep: true, paint: func(y float64) { f.d.Line(x, y+width/2, x+w, y+width/2, width, c) }})
}

// head1 adds the heading of a section with the note beside it, under a rule.
func (f *flow) head1(text, note string, key []keyItem) {
	size := 1.375 * rem
	left := f.w / 2.6
	spans := []span{{text: note, set: f.set(0.94*rem, false, "ink2")}}
	for _, k := range key {
		spans = append(spans, span{text: " "}, span{text: k.Text + " ", icon: k.Icon, set: f.set(0.94*rem, false, "ink"), stay: true})
	}
	if note == "" && len(key) == 0 {
		left = f.w
	}
	x, w := f.x, f.w
	r := f.rule(14, 0.75, "rule")
	r.head, r.marks = true, []bookmark{{0, text}}
	a := f.aside(x, left-colGap, func() { f.prose(0, 1.2, span{text: text, set: f.set(size, true, "ink")}) })
	var b []*block
	if left < w {
		b = f.aside(x+left, w-left, func() { f.prose(0, 1.35, spans...) })
		if len(b) > 0 { // the first lines stand on one base line
			b[0].h += baseline(size, 1.2) - baseline(0.94*rem, 1.35)
			paint, drop := b[0].paint, baseline(size, 1.2)-baseline(0.94*rem, 1.35)
			b[0].paint = func(y float64) { paint(y + drop) }
		}
	}
	f.beside(4, a, b).keep = true
	f.space(6)
}

// head2 adds a heading inside a section.
func (f *flow) head2(text, note string, mark bool) {
	b := f.prose(12, 1.3, span{text: text, set: f.set(1.125*rem, true, "ink")})
	if mark && len(b) > 0 {
		b[0].marks = []bookmark{{1, text}}
	}
	f.stayAll(b)
	if note != "" {
		f.stayAll(f.prose(1, 1.4, span{text: note, set: f.set(rem, false, "ink2")}))
	}
	f.space(3)
}

func (f *flow) stayAll(b []*block) {
	for _, q := range b {
		q.keep = true
	}
}

// cautionSVG is the sign before a caution, styled as in the page.
const cautionSVG = `<svg viewBox="0 0 16 15"><g class="caut"><path d="M8 1L15.3 14H.7Z"/><path d="M8 5.4v4.4M8 11.4v1.2"/></g></svg>`

// caution adds a caution with its sign.
func (f *flow) caution(gap, size float64, text string) {
	if text == "" {
		return
	}
	x, in := f.x, 1.75*size
	f.stay() // with what it cautions about
	b := f.proseIn(gap, 1.4, f.x+in, f.w-in, span{text: "Caution. ", set: f.set(size, true, "ink")}, span{text: text, set: f.set(size, false, "ink")})
	if len(b) > 0 {
		paint := b[0].paint
		b[0].paint = func(y float64) {
			f.fail(f.d.Draw(cautionSVG, f.style, x, y+baseline(size, 1.4)-0.86*size, 1.15*size))
			paint(y)
		}
	}
}
