package deliver

import (
	"fmt"
	"io"
	"reflect"
	"strings"

	"obvert/study"
)

// CompareHTML writes the page on which the types compared stand side by side: three sentences, the bench's tube stretched out along the line with every type across it,
// the figures as bars, who is best at what, and every figure as a table. It is one file that needs nothing else. The same comparison and options give the same bytes. A
// figure that is not finite is an error, and nothing is written.
func CompareHTML(w io.Writer, c *study.Comparison, o Options) error {
	p, err := comparedPaper(c, o, false)
	if err != nil {
		return err
	}
	return p.html(w)
}

// ComparePDF writes the same as PDF, with vector drawings and embedded fonts: answer and bars on the first sheet, the tubes on the next, the tables after them. The
// document bears the user's date or none.
func ComparePDF(w io.Writer, c *study.Comparison, o Options) error {
	p, err := comparedPaper(c, o, true)
	if err != nil {
		return err
	}
	return p.pdf(w)
}

// comparedPaper is the page of a comparison. On sheets the bars stand under the answer, where there is room for them, and the tubes have a sheet of their own.
func comparedPaper(c *study.Comparison, o Options, sheets bool) (*paper, error) {
	if c == nil || len(c.Results()) != len(c.Types) || len(c.Types) == 0 {
		return nil, fmt.Errorf("deliver: the comparison has no types: compare them first")
	}
	for _, r := range c.Results() {
		if err := complete(r); err != nil {
			return nil, err
		}
	}
	if err := finite(reflect.ValueOf(c), "comparison"); err != nil {
		return nil, fmt.Errorf("deliver: HTML: %w", err)
	}
	stamp := NewStamp(c.Results()[0], o)
	var names []string
	for i := range c.Types {
		names = append(names, c.Types[i].Name)
	}
	p := &paper{Title: c.Line, Subtitle: upper(counted(len(names), "type", "types")) + " of air valve compared: " + and(names) + ".", Version: c.Version,
		Block: append([]blockItem{{Term: "Question", Text: "Which type keeps the line shut, and at what price?"}}, stamp.Items()...),
		Law:   true, Landscape: true, A3: o.A3, Author: stamp.Author, Date: stamp.Date}
	p.Foot = strings.Join([]string{c.Line, "comparison", stamp.ReckonedBy(), stamp.ShortHash()}, " · ")
	for _, s := range c.Answer {
		p.add(textLeaf{State: s.State, Lead: s.Lead, Text: s.Rest})
	}
	lines, bars := newComparedLines(c), newComparedBars(c)
	if sheets {
		p.comparedBars(bars)
	}
	for i, d := range lines {
		head := "The tube on the bench, stretched out along the line"
		if d.name != "" {
			head += ": " + d.name
		}
		p.add(headLeaf{Level: 1, Text: head, Note: d.note(), Break: true})
		p.add(drawLeaf{Drawings: inForms(d, fmt.Sprintf("cl%d", i+1))})
	}
	if !sheets {
		p.comparedBars(bars)
	}
	p.comparedWords(c)
	p.head(1, "How it is counted", "")
	var items []listItem
	for _, r := range c.Remarks {
		items = append(items, listItem{Text: r})
	}
	p.add(listLeaf{Items: items, Columns: 2})
	p.add(headLeaf{Level: 1, Text: "All figures", Note: "Heads in metres of the line's water at the seat. ≥ at least; – none.", Break: true})
	p.table(figuresTable(bars.twin()))
	if len(lines) > 0 {
		p.table(figuresTable(lines[0].twin()))
	}
	p.table(whyTable(c))
	items = nil
	for _, a := range stamp.Assumptions() {
		items = append(items, listItem{Text: assumedText(a)})
	}
	p.head(1, "Assumed", "What the line's document did not give.")
	p.add(listLeaf{Items: items, Columns: 2})
	return p, nil
}

// comparedBars sets the figures as bars.
func (p *paper) comparedBars(b *comparedBars) {
	p.head(1, "What each does to the line", "Each figure of every type on one scale. A striped bar is a least figure; what is not known has no bar.")
	p.add(drawLeaf{Drawings: inForms(b, "cb")})
}

// comparedWords says who is best at what, what cannot be told apart, and which requirement each type fails.
func (p *paper) comparedWords(c *study.Comparison) {
	p.add(headLeaf{Level: 1, Text: "Who is best at what", Note: "By the figures as they stand; no figure is weighed against another.", Break: true})
	var items []listItem
	for _, b := range c.Best {
		lead, rest, _ := strings.Cut(b.Text, ": ")
		items = append(items, listItem{lead + ":", rest})
	}
	p.add(listLeaf{Items: items, Columns: 2})
	items = nil
	for i := range c.Types {
		items = append(items, listItem{c.Types[i].Name + ":", failsText(&c.Types[i])})
	}
	p.add(listLeaf{Lead: "What each fails", Items: items})
	items = nil
	for _, q := range c.Pairs {
		items = append(items, listItem{Text: q.Text})
	}
	p.add(listLeaf{Lead: "What can be told apart", Items: items, Columns: 2})
}

// failsText lists the requirements that a type fails.
func failsText(t *study.ComparedType) string {
	var parts []string
	for _, f := range t.Fails {
		s := f.Text
		if f.Every {
			s += " (with every type)"
		}
		parts = append(parts, s)
	}
	if parts == nil {
		return "nothing."
	}
	return strings.Join(parts, "; ") + "."
}

// figuresTable sets a table of texts with its figures to the right.
func figuresTable(t *plainTable) *table {
	out := &table{Caption: t.Caption}
	var h []string
	for i, s := range t.Heads {
		if i > 0 {
			s = ">" + s
		}
		h = append(h, s)
	}
	out.Heads = heads(h...)
	for _, r := range t.Rows {
		var cells []tableCell
		for i, s := range r {
			if i > 0 && len(s) > 34 {
				cells = append(cells, tableCell{Text: s, Class: "w"})
				continue
			}
			cells = append(cells, cellOf(s))
		}
		out.row("", cells...)
	}
	return out
}

// whyTable says why a figure is not known, or what goes with it.
func whyTable(c *study.Comparison) *table {
	t := &table{Caption: "What goes with the figures", Heads: heads("type", "figure", "because")}
	for i := range c.Types {
		var g grouping
		for _, q := range measured {
			m := q.get(&c.Types[i])
			if m.Why != "" {
				head, _, _ := strings.Cut(q.head, ",")
				g.add(m.Why, head)
			}
		}
		for _, why := range g.texts {
			t.row("", cellOf(c.Types[i].Name), tableCell{Text: upper(and(g.of[why])), Class: "w"}, tableCell{Text: upper(sentence(why)), Class: "w"})
		}
	}
	return t
}

// and joins words: "a, b and c".
func and(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

// note says how the drawing is read.
func (d *comparedLine) note() string {
	s := "One ruler for all: the water at each seat in the standing case that leaves least, dashed the others; across it each type, grey from letting-go to sealing head, darker where the sealing head is uncertain. Water over the dark band: tight. Under each tube the word for each type, and the head at the seat less its sealing head in metres."
	switch {
	case d.left == 1:
		s += " One other place, at which every type is tight under more water than the ruler is high, is not drawn; it stands in the table."
	case d.left > 1:
		s += fmt.Sprintf(" %d other places, at which every type is tight under more water than the ruler is high, are not drawn; they stand in the table.", d.left)
	}
	return s
}
