package pdf

import (
	"slices"
	"strconv"
	"strings"
)

// Style is a style sheet as paper sees it: the rules of a CSS text that hold for print, of CSS as far as drawings use it
// (selectors of tags and classes with descendants and children, the cascade by weight and order, custom properties of :root).
// A selector with anything else in it matches nothing.
type Style struct {
	rules []rule
	vars  map[string]string
	cache map[string]*look
}

type rule struct {
	sel    []step // from the element outwards
	weight int
	props  [][2]string
}

// step is one compound of a selector.
type step struct {
	tag     string // empty: any
	classes []string
	child   bool // the next step outwards must be the parent
}

// ParseStyle reads a style sheet.
func ParseStyle(css string) *Style {
	s := &Style{vars: map[string]string{}, cache: map[string]*look{}}
	s.add(css)
	return s
}

// with is the style with a further sheet.
func (s *Style) with(css string) *Style {
	t := &Style{rules: slices.Clone(s.rules), vars: map[string]string{}, cache: map[string]*look{}}
	for k, v := range s.vars {
		t.vars[k] = v
	}
	t.add(css)
	return t
}

func (s *Style) add(css string) {
	for {
		i := strings.Index(css, "/*")
		if i < 0 {
			break
		}
		j := strings.Index(css[i+2:], "*/")
		if j < 0 {
			css = css[:i]
			break
		}
		css = css[:i] + " " + css[i+2+j+2:]
	}
	for {
		open := strings.IndexByte(css, '{')
		if open < 0 {
			return
		}
		head := strings.TrimSpace(css[:open])
		depth, end := 1, open+1
		for end < len(css) && depth > 0 {
			switch css[end] {
			case '{':
				depth++
			case '}':
				depth--
			}
			end++
		}
		body := css[open+1 : max(end-1, open+1)]
		css = css[end:]
		switch {
		case strings.HasPrefix(head, "@media"):
			if printed(head[len("@media"):]) {
				s.add(body)
			}
		case strings.HasPrefix(head, "@"):
		default:
			s.rule(head, body)
		}
	}
}

// printed tells whether one of a list of media is paper.
func printed(list string) bool {
	for _, m := range strings.Split(list, ",") {
		if m = strings.TrimSpace(m); m == "print" || m == "all" {
			return true
		}
	}
	return false
}

func (s *Style) rule(head, body string) {
	props := declarations(body)
	for _, sel := range strings.Split(head, ",") {
		if sel = strings.TrimSpace(sel); sel == ":root" {
			for _, p := range props {
				if strings.HasPrefix(p[0], "--") {
					s.vars[p[0]] = p[1]
				}
			}
			continue
		}
		if steps, weight, ok := selector(sel); ok {
			s.rules = append(s.rules, rule{steps, weight, props})
		}
	}
}

func declarations(body string) (out [][2]string) {
	for _, d := range strings.Split(body, ";") {
		if k, v, ok := strings.Cut(d, ":"); ok {
			out = append(out, [2]string{strings.ToLower(strings.TrimSpace(k)), strings.TrimSpace(v)})
		}
	}
	return out
}

func selector(s string) (steps []step, weight int, ok bool) {
	if s == "" || strings.ContainsAny(s, ":[#+~") {
		return nil, 0, false
	}
	child := false
	for _, w := range strings.Fields(strings.ReplaceAll(s, ">", " > ")) {
		if w == ">" {
			child = true
			continue
		}
		c := strings.Split(w, ".")
		t := step{tag: c[0], classes: c[1:]}
		if t.tag == "*" {
			t.tag = ""
		} else if t.tag != "" {
			weight++
		}
		weight += 1000 * len(t.classes)
		t.child = child
		child = false
		steps = append(steps, t)
	}
	slices.Reverse(steps)
	return steps, weight, !child && len(steps) > 0
}

// node is an element with its ancestors.
type node struct {
	tag     string
	classes []string
	parent  *node
	key     string
	look    *look
}

func (t step) fits(n *node) bool {
	if t.tag != "" && t.tag != n.tag {
		return false
	}
	for _, c := range t.classes {
		if !slices.Contains(n.classes, c) {
			return false
		}
	}
	return true
}

func matches(steps []step, n *node) bool {
	if n == nil || !steps[0].fits(n) {
		return false
	}
	if len(steps) == 1 {
		return true
	}
	if steps[0].child {
		return matches(steps[1:], n.parent)
	}
	for a := n.parent; a != nil; a = a.parent {
		if matches(steps[1:], a) {
			return true
		}
	}
	return false
}

// look is an element's computed style. Lengths are in the drawing's own units.
type look struct {
	fill, stroke, colour      paint
	width, opacity            float64
	fillOpacity, strokeOpaque float64
	dash                      []float64
	dashAt                    float64
	cap, join                 int
	miter                     float64
	size                      float64
	bold, evenOdd, hidden     bool
	strokeFirst               bool
	anchor                    string
}

// paint is a colour, the current colour or none.
type paint struct {
	c             Colour
	none, current bool
}

func (p paint) of(l *look) (Colour, bool) {
	if p.current {
		return l.colour.c, !l.colour.none
	}
	return p.c, !p.none
}

func rootLook() *look {
	return &look{stroke: paint{none: true}, width: 1, opacity: 1, fillOpacity: 1, strokeOpaque: 1, miter: 4, size: 16, anchor: "start"}
}

// look computes an element's style from its parent's, its attributes and the sheet.
func (s *Style) look(n *node, attrs [][2]string, inline string) *look {
	plain := inline == "" && len(attrs) == 0
	if plain {
		if l := s.cache[n.key]; l != nil {
			return l
		}
	}
	l := rootLook()
	if n.parent != nil && n.parent.look != nil {
		*l = *n.parent.look
		l.opacity = n.parent.look.opacity // of the group, multiplied down
	}
	for _, a := range attrs {
		s.set(l, a[0], a[1])
	}
	var hits []int
	for i := range s.rules {
		if matches(s.rules[i].sel, n) {
			hits = append(hits, i)
		}
	}
	slices.SortStableFunc(hits, func(a, b int) int { return s.rules[a].weight - s.rules[b].weight })
	for _, strong := range []bool{false, true} {
		for _, i := range hits {
			for _, p := range s.rules[i].props {
				if v, important := strings.CutSuffix(p[1], "!important"); important == strong {
					s.set(l, p[0], v)
				}
			}
		}
		if !strong {
			for _, p := range declarations(inline) {
				s.set(l, p[0], strings.TrimSuffix(p[1], "!important"))
			}
		}
	}
	if plain {
		s.cache[n.key] = l
	}
	return l
}

// value puts custom properties in the place of var(…).
func (s *Style) value(v string) string {
	for range 8 {
		i := strings.Index(v, "var(")
		if i < 0 {
			break
		}
		j := strings.IndexByte(v[i:], ')')
		if j < 0 {
			break
		}
		name, other, _ := strings.Cut(v[i+4:i+j], ",")
		w, ok := s.vars[strings.TrimSpace(name)]
		if !ok {
			w = strings.TrimSpace(other)
		}
		v = v[:i] + w + v[i+j+1:]
	}
	return strings.TrimSpace(v)
}

// Colour is a custom property of :root as a colour; black where there is none of that name.
func (s *Style) Colour(name string) Colour {
	p, _ := parsePaint(s.value("var(--" + name + ")"))
	return p.c
}

func (s *Style) set(l *look, key, v string) {
	v = s.value(v)
	pt := func(p *paint) {
		if q, ok := parsePaint(v); ok {
			*p = q
		}
	}
	num := func(f *float64) {
		if x, ok := length(v); ok {
			*f = x
		}
	}
	switch key {
	case "fill":
		pt(&l.fill)
	case "stroke":
		pt(&l.stroke)
	case "color":
		pt(&l.colour)
	case "stroke-width":
		num(&l.width)
	case "opacity":
		if x, ok := length(v); ok {
			l.opacity *= x
		}
	case "fill-opacity":
		num(&l.fillOpacity)
	case "stroke-opacity":
		num(&l.strokeOpaque)
	case "stroke-dashoffset":
		num(&l.dashAt)
	case "stroke-miterlimit":
		num(&l.miter)
	case "stroke-dasharray":
		l.dash = nil
		for _, w := range strings.FieldsFunc(v, func(r rune) bool { return r == ' ' || r == ',' }) {
			if x, ok := length(w); ok {
				l.dash = append(l.dash, x)
			}
		}
		if len(l.dash)%2 == 1 {
			l.dash = append(l.dash, l.dash...)
		}
	case "stroke-linecap":
		l.cap = max(slices.Index([]string{"butt", "round", "square"}, v), 0)
	case "stroke-linejoin":
		l.join = max(slices.Index([]string{"miter", "round", "bevel"}, v), 0)
	case "fill-rule":
		l.evenOdd = v == "evenodd"
	case "paint-order":
		l.strokeFirst = strings.HasPrefix(v, "stroke")
	case "text-anchor":
		l.anchor = v
	case "display":
		l.hidden = v == "none"
	case "visibility":
		l.hidden = v == "hidden"
	case "font-size":
		num(&l.size)
	case "font-weight":
		l.bold = heavy(v)
	case "font":
		l.bold = false
		for _, w := range strings.Fields(v) {
			w, _, _ = strings.Cut(w, "/")
			if heavy(w) {
				l.bold = true
			} else if strings.HasSuffix(w, "px") {
				if x, ok := length(w); ok {
					l.size = x
				}
			}
		}
	}
}

func heavy(v string) bool {
	n, err := strconv.Atoi(v)
	return v == "bold" || err == nil && n >= 600
}

// length reads a number or a number of px.
func length(v string) (float64, bool) {
	x, err := strconv.ParseFloat(strings.TrimSuffix(strings.TrimSpace(v), "px"), 64)
	return x, err == nil
}

func parsePaint(v string) (paint, bool) {
	switch v = strings.ToLower(strings.TrimSpace(v)); v {
	case "none", "transparent":
		return paint{none: true}, true
	case "currentcolor":
		return paint{current: true}, true
	case "black":
		return paint{}, true
	case "white":
		return paint{c: Colour{255, 255, 255}}, true
	}
	if h, ok := strings.CutPrefix(v, "#"); ok {
		if len(h) == 3 {
			h = string([]byte{h[0], h[0], h[1], h[1], h[2], h[2]})
		}
		n, err := strconv.ParseUint(h, 16, 32)
		if err == nil && len(h) == 6 {
			return paint{c: Colour{uint8(n >> 16), uint8(n >> 8), uint8(n)}}, true
		}
	}
	return paint{}, false
}
