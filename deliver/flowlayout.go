package deliver

import "slices"

// sitting is where the blocks of a document stand: the pages so far, the place on the last of them, and what stands where.
type sitting struct {
	pages    []sheetKind
	y, limit float64
	on       sheetKind
	placed   []placed
	toc      []tocLine
}

// placed is a block on a page.
type placed struct {
	page  int
	y     float64
	paint func(y float64)
}

// page begins a page.
func (s *sitting) page(k sheetKind) {
	s.pages = append(s.pages, k)
	s.on, s.y, s.limit = k, k.top, k.h-k.bottom
}

// put places a block.
func (s *sitting) put(b *block) {
	for _, m := range b.marks {
		s.toc = append(s.toc, tocLine{m.level, m.text, spot{len(s.pages), s.y}})
	}
	if b.paint != nil {
		s.placed = append(s.placed, placed{len(s.pages), s.y, b.paint})
	}
	s.y += b.h
}

// then is the sitting with more blocks on it; s stays as it is.
func (s sitting) then(queue []*block) sitting {
	s.pages, s.placed, s.toc = slices.Clip(s.pages), slices.Clip(s.placed), slices.Clip(s.toc)
	for len(queue) > 0 {
		n := 1 // how many blocks stay together
		for n < len(queue) && queue[n-1].keep && queue[n].kind == queue[0].kind && !queue[n].fresh {
			n++
		}
		first := queue[0]
		top := len(s.pages) == 0 || first.fresh || first.kind != s.on
		need := 0.0
		for i, b := range queue[:n] {
			if i > 0 || s.y > s.on.top {
				need += b.gap
			}
			if i == n-1 && b.split != nil { // enough that a part of it fits
				if part, _ := b.split(s.limit - s.y - need); part != nil {
					need += part.h
					continue
				}
			}
			need += b.h
		}
		if !top && s.y > s.on.top && s.y+need > s.limit+0.01 {
			top = true
		}
		if top {
			s.page(first.kind)
			for _, b := range first.again {
				s.put(b)
			}
		}
		for len(queue) > 0 && n > 0 {
			b := queue[0]
			queue, n = queue[1:], n-1
			if s.y > s.on.top {
				s.y += b.gap
			}
			if b.split != nil && s.y+b.h > s.limit+0.01 {
				part, rest := b.split(s.limit - s.y)
				if part == nil && s.y > s.on.top {
					s.page(b.kind)
					part, rest = b.split(s.limit - s.y)
				}
				if part != nil {
					s.put(part)
					if rest != nil {
						rest.kind = b.kind
						rest.fresh = true
						queue = slices.Insert(slices.Clone(queue), 0, rest)
					}
					break
				}
			}
			if s.y+b.h > s.limit+0.01 && s.y > s.on.top+height(b.again) { // within what should stay together but is too high for a page
				s.page(b.kind)
				for _, a := range b.again {
					s.put(a)
				}
			}
			s.put(b)
		}
	}
	return s
}

// sizes are the shares of their size at which drawings, and the gaps between blocks, are tried for a chapter: never below 85 hundredths.
var sizes = []float64{1, 0.97, 0.94, 0.91, 0.88, 0.85}

// scaled are the blocks with their drawings at a share of their size, and the gaps twice as much nearer.
func scaled(k float64, blocks []*block) []*block {
	if k == 1 {
		return blocks
	}
	out := make([]*block, len(blocks))
	for i, b := range blocks {
		c := *b
		if b.sized != nil {
			small := b.sized(k)
			c.h, c.paint = small.h, small.paint
		}
		c.gap *= 1 - 2*(1-k)
		out[i] = &c
	}
	return out
}

// length is how much paper the blocks take, in pages.
func (s *sitting) length() float64 {
	return float64(len(s.pages)-1) + (s.y-s.on.top)/s.on.height()
}

// worthwhile is how much of a page a smaller size must spare.
const worthwhile = 0.2

// layout places the blocks on pages, and paints them when all are placed: the contents name the pages of what comes after. A chapter stands at the largest of
// the sizes at which it takes the fewest pages, or spares a good part of one, so that no drawing is alone on a page for want of a few points, and no line runs
// over to a page of its own.
func (f *flow) layout() {
	var s sitting
	for queue := f.blocks; len(queue) > 0; {
		n := 1
		for n < len(queue) && !queue[n].head && !queue[n].fresh {
			n++
		}
		best := s.then(queue[:n])
		for _, k := range sizes[1:] {
			if len(best.pages) == len(s.pages) {
				break
			}
			if t := s.then(scaled(k, queue[:n])); len(t.pages) < len(best.pages) || t.length() < best.length()-worthwhile {
				best = t
			}
		}
		s, queue = best, queue[n:]
	}
	for i, k := range s.pages {
		f.d.Page(k.w, k.h)
		for _, t := range s.toc {
			if t.page == i+1 {
				f.d.Bookmark(t.level, t.text, t.y)
			}
		}
	}
	f.toc = s.toc
	on := 0
	for _, p := range s.placed {
		if p.page != on {
			on = p.page
			f.d.Turn(on)
		}
		p.paint(p.y)
	}
}
