package deliver

import (
	"fmt"
	"io"

	"obvert/formats/pdf"
)

// kinds are the pages of a paper: upright for text, lying for drawings and wide tables.
func kinds(a3 bool) (page, sheet sheetKind) {
	if a3 {
		return pageA4, sheetA3
	}
	return pageA4, sheetA4
}

// pdf writes the paper as PDF. The same paper gives the same bytes.
func (p *paper) pdf(w io.Writer) error {
	page, sheet := pageA4, sheetA4
	if p.A3 {
		page, sheet = pageA3, sheetA3
	}
	if p.Landscape {
		page = sheet
	}
	f, err := newFlow(pdf.Options{Title: p.Title, Author: p.Author, Subject: p.Subtitle, Creator: "Obvert " + p.Version, Date: paperDate(p.Date)}, page)
	if err != nil {
		return fmt.Errorf("deliver: PDF: %w", err)
	}
	f.foot = p.Foot
	f.titleBlock(p.Title, p.Subtitle, p.Block)
	for i, l := range p.Leaves {
		f.leaf(l, page, sheet, i == 0)
	}
	if p.Law {
		f.use(page)
		f.prose(14, 1.4, span{text: law, set: f.set(1.125*rem, true, "ink")})
	}
	f.layout()
	return f.write(w)
}

// write ends the document and hands it over whole.
func (f *flow) write(w io.Writer) error {
	out, err := f.finish()
	if err != nil {
		return err
	}
	_, err = w.Write(out)
	return err
}

func (f *flow) leaf(l leaf, page, sheet sheetKind, first bool) {
	ink := f.set(rem, false, "ink")
	bold := f.set(rem, true, "ink")
	switch l := l.(type) {
	case headLeaf:
		f.fresh = f.fresh || l.Break && !first
		switch {
		case l.Level <= 1:
			f.head1(l.Text, l.Note, l.Key)
		case l.Level == 2:
			f.head2(l.Text, l.Note, true)
		default:
			b := f.prose(9, 1.3, span{text: l.Text, set: bold})
			if len(b) > 0 {
				b[0].marks = []bookmark{{2, l.Text}}
			}
			f.stayAll(b)
			if l.Note != "" {
				f.stayAll(f.prose(1, 1.4, span{text: l.Note, set: f.set(rem, false, "ink2")}))
			}
		}
	case textLeaf:
		set, leading := ink, 1.45
		if l.Quiet {
			set, leading = f.set(0.94*rem, false, "ink2"), 1.4
		}
		var s []span
		if icon := l.Icon(); icon != "" {
			s = append(s, span{icon: icon, set: bold})
		}
		if l.Lead != "" {
			s = append(s, span{text: l.Lead + " ", set: bold})
		}
		f.prose(4, leading, append(s, span{text: l.Text, set: set})...)
	case listLeaf:
		f.list(l)
	case tableLeaf:
		if l.Table != nil {
			f.grid(8, f.gridOf(l.Table, 8.8))
			f.space(6)
		}
	case plainLeaf:
		if l.Table != nil {
			f.grid(8, f.gridOfPlain(l.Table, 8.8))
			f.space(6)
		}
	case drawLeaf:
		if l.Landscape {
			f.use(sheet)
			f.fresh = true
		}
		svg := onPaper(l.SVG())
		if len(svg) == 0 {
			for _, s := range l.SVG() {
				svg = append(svg, string(s))
			}
		}
		for _, s := range svg {
			f.draw(6, s)
		}
		if l.Note != "" {
			f.stay()
			f.prose(3, 1.4, span{text: l.Note, set: f.set(0.94*rem, false, "ink2")})
		}
		f.use(page)
	case cautionLeaf:
		f.caution(4, rem, l.Text)
	case tickLeaf:
		f.tick(l)
	case fieldsLeaf:
		f.fields(l)
	case breakLeaf:
		f.fresh = true
	default:
		f.fail(fmt.Errorf("a leaf of type %T is not set", l))
	}
}

// list sets a list, its items hanging from their number or dash.
func (f *flow) list(l listLeaf) {
	ink, bold := f.set(rem, false, "ink"), f.set(rem, true, "ink")
	if l.Lead != "" {
		f.stayAll(f.prose(5, 1.45, span{text: l.Lead, set: bold}))
	}
	in := 1.4 * rem
	if l.Numbered {
		in = f.d.Width(fmt.Sprint(len(l.Items))+". ", ink) + 3
	}
	item := func(i int, it listItem) {
		sign := "–"
		if l.Numbered {
			sign = fmt.Sprint(i+1) + "."
		}
		var s []span
		if it.Lead != "" {
			s = append(s, span{text: it.Lead + " ", set: bold})
		}
		b := f.proseIn(2, 1.4, f.x+in, f.w-in, append(s, span{text: it.Text, set: ink})...)
		if len(b) > 0 {
			paint, x := b[0].paint, f.x
			b[0].paint = func(y float64) {
				f.d.Text(x+f.shift, y+baseline(rem, 1.4), sign, ink)
				paint(y)
			}
		}
	}
	if l.Columns > 1 {
		var make []func()
		for i, it := range l.Items {
			make = append(make, func() { item(i, it) })
		}
		f.columns(2, l.Columns, colGap, make)
		return
	}
	for i, it := range l.Items {
		item(i, it)
	}
}

// tick sets a box to tick, its text and a rule to write on.
func (f *flow) tick(l tickLeaf) {
	const side = 8.5
	x, w := f.x, f.w
	room := w - 18
	if l.Write {
		room = w*0.62 - 18
	}
	b := f.aside(x+18, room, func() { f.prose(0, 1.45, span{text: l.Text, set: f.set(rem, false, "ink")}) })
	h := max(height(b), rem*1.45)
	quiet := f.set(rem, false, "ink2")
	f.add(&block{gap: 5, h: h, paint: func(y float64) {
		base := y + baseline(rem, 1.45)
		f.d.Frame(x, base-side+1.2, side, side, 0.8, f.ink("ink"))
		paintAll(b, y)
		if l.Write {
			at := x + w*0.62 + 8
			if l.Label != "" {
				f.d.Text(at, base, l.Label, quiet)
				at += f.d.Width(l.Label, quiet) + 6
			}
			f.d.Line(at, base+2, max(x+w, at+30), base+2, 0.6, f.ink("ink2"))
		}
	}})
}

// fields sets labels with rules to write on.
func (f *flow) fields(l fieldsLeaf) {
	n := l.Wide()
	w := (f.w - colGap*float64(n-1)) / float64(n)
	set := f.set(rem, false, "ink2")
	for i := 0; i < len(l.Labels); i += n {
		row := l.Labels[i:min(i+n, len(l.Labels))]
		x := f.x
		f.add(&block{h: 25, keep: i+n < len(l.Labels), paint: func(y float64) {
			for k, s := range row {
				at := x + float64(k)*(w+colGap)
				s = f.shorten(s, w-30, set)
				f.d.Text(at, y+20, s, set)
				f.d.Line(at+f.d.Width(s, set)+6, y+22, at+w, y+22, 0.6, f.ink("ink2"))
			}
		}})
	}
	f.space(6)
}

// titleBlock sets name, subtitle and the fields of the title block.
func (f *flow) titleBlock(title, sub string, items []blockItem) {
	f.rule(0, 1.6, "rule")
	b := f.prose(8, 1.1, span{text: title, set: f.set(2*rem, true, "ink")})
	f.stayAll(b)
	f.stayAll(f.prose(3, 1.45, span{text: sub, set: f.set(rem, false, "ink2")}))
	f.rule(8, 0.5, "hair")
	const n = 3
	w := f.w / n
	x, full := f.x, f.w
	for i := 0; i < len(items); i += n {
		row := items[i:min(i+n, len(items))]
		cols := make([][]*block, len(row))
		for k, it := range row {
			in := 8.0
			if k == 0 {
				in = 0
			}
			cols[k] = f.aside(x+float64(k)*w+in, w-in-8, func() {
				f.prose(0, 1.3, span{text: it.Term, set: f.set(0.8125*rem, false, "ink2")})
				if it.Check {
					at, wide := f.x, f.w
					f.add(&block{gap: 12, h: 0.6, paint: func(y float64) { f.d.Line(at, y, at+wide, y, 0.6, f.ink("ink2")) }})
					f.prose(0, 1.3, span{text: it.Text, set: f.set(0.75*rem, false, "ink2")})
				} else {
					f.prose(0, 1.35, span{text: it.Text, set: f.set(rem, false, "ink")})
				}
			})
		}
		last := i+n >= len(items)
		h := 0.0
		for _, c := range cols {
			h = max(h, height(c))
		}
		f.add(&block{h: h + 9, keep: !last, paint: func(y float64) {
			for k, c := range cols {
				if k > 0 {
					f.d.Line(x+float64(k)*w, y, x+float64(k)*w, y+h+9, 0.5, f.ink("hair"))
				}
				paintAll(c, y+4)
			}
			if !last {
				f.d.Line(x, y+h+9, x+full, y+h+9, 0.5, f.ink("hair"))
			}
		}})
	}
	f.stay()
	f.rule(0, 0.75, "rule").keep = false
}
