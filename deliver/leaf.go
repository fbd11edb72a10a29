package deliver

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"strings"
)

// paper is a document to be handed over: a title block and under it leaves, one after the other. It is written as one HTML
// page in the report's style ([paper.html]) or as PDF ([paper.pdf]), and both say the same words.
type paper struct {
	Title, Subtitle string
	Version         string      // of Obvert
	Block           []blockItem // the title block; see titleBlock
	Leaves          []leaf
	Landscape       bool
	A3              bool
	Foot            string // on every page of the PDF beside the page's number: name, version, hash
	Law             bool   // the law closes the document
	Author, Date    string // metadata of the PDF; an empty date leaves it undated
}

// leaf is one thing on a paper.
type leaf interface {
	part() string // the name of its template
}

type (
	// headLeaf is a heading of level 1 to 3, with a line of explanation beside it. It stands in the PDF's bookmarks.
	headLeaf struct {
		Level      int
		Text, Note string
		Break      bool // starts a new page
		Key        []keyItem
	}
	// textLeaf is a paragraph: bold lead, then text. Quiet sets it small and grey.
	textLeaf struct {
		Lead, Text string
		Quiet      bool
		State      string // a state's word sets its mark before the text
	}
	// listLeaf is a list under a lead.
	listLeaf struct {
		Lead     string
		Items    []listItem
		Numbered bool
		Columns  int // on a wide page; 0 and 1: one
	}
	// tableLeaf is a table with marks and columns of figures.
	tableLeaf struct{ Table *table }
	// plainLeaf is a table of text.
	plainLeaf struct{ Table *plainTable }
	// drawLeaf holds drawings: in each of the report's forms, of which one is shown, or in one form.
	drawLeaf struct {
		Drawings  []*canvas
		Note      string
		Landscape bool // asks for a landscape page of its own
	}
	// cautionLeaf is a caution with its sign.
	cautionLeaf struct{ Text string }
	// tickLeaf is a box to tick before a text; Write adds a rule to write on, with a label before it where one is given.
	tickLeaf struct {
		Text, Label string
		Write       bool
	}
	// fieldsLeaf are labels with a rule to write on, side by side in so many columns (0: two).
	fieldsLeaf struct {
		Labels  []string
		Columns int
	}
	// breakLeaf starts a new page.
	breakLeaf struct{}
)

// listItem is a line of a list, its lead in bold.
type listItem struct{ Lead, Text string }

func (headLeaf) part() string    { return "p-head" }
func (textLeaf) part() string    { return "p-text" }
func (listLeaf) part() string    { return "p-list" }
func (tableLeaf) part() string   { return "p-table" }
func (plainLeaf) part() string   { return "p-plain" }
func (drawLeaf) part() string    { return "p-draw" }
func (cautionLeaf) part() string { return "p-caution" }
func (tickLeaf) part() string    { return "p-tick" }
func (fieldsLeaf) part() string  { return "p-fields" }
func (breakLeaf) part() string   { return "p-break" }

// SVG are the drawings as they stand in the page.
func (d drawLeaf) SVG() []template.HTML { return svgs(d.Drawings) }

// Icon is the mark before the text.
func (t textLeaf) Icon() template.HTML { return template.HTML(wordMark(t.State).icon()) }

// Class is the colour class of the mark.
func (t textLeaf) Class() string { return wordMark(t.State).class() }

// Wide are the columns that the fields stand in.
func (f fieldsLeaf) Wide() int {
	if f.Columns > 0 {
		return f.Columns
	}
	return 2
}

// add puts leaves at the end.
func (p *paper) add(l ...leaf) { p.Leaves = append(p.Leaves, l...) }

// head adds a heading.
func (p *paper) head(level int, text, note string) {
	p.add(headLeaf{Level: level, Text: text, Note: note})
}

// text adds a paragraph.
func (p *paper) text(lead, text string) { p.add(textLeaf{Lead: lead, Text: text}) }

// table adds a table that has rows.
func (p *paper) table(t *table) {
	if t != nil && len(t.Rows) > 0 {
		p.add(tableLeaf{t})
	}
}

// The page of a paper: its frame, and a template for each leaf.
//
//go:embed assets/paper.html
var paperHTML string

//go:embed assets/paper.css
var paperCSS string

// html writes the paper as one file that needs nothing else.
func (p *paper) html(w io.Writer) error {
	t, err := template.New("report").Parse(reportHTML) // for the templates of block, tables and cautions
	if err != nil {
		return fmt.Errorf("deliver: %w", err)
	}
	if t, err = t.New("paper").Parse(paperHTML); err != nil {
		return fmt.Errorf("deliver: %w", err)
	}
	var body strings.Builder
	open := false
	for i, l := range p.Leaves {
		if h, ok := l.(headLeaf); ok && h.Level <= 1 || i == 0 {
			if open {
				body.WriteString("</section>\n")
			}
			open = true
			body.WriteString("<section class=\"leafs\">")
		}
		if err := t.ExecuteTemplate(&body, l.part(), l); err != nil {
			return fmt.Errorf("deliver: HTML: %w", err)
		}
		body.WriteByte('\n')
	}
	if open {
		body.WriteString("</section>\n")
	}
	page := ""
	switch {
	case p.A3 && p.Landscape:
		page = "@page{size:A3 landscape}"
	case p.A3:
		page = "@page{size:A3 portrait}"
	case p.Landscape:
		page = "@page{size:A4 landscape}"
	}
	var b bytes.Buffer
	err = t.ExecuteTemplate(&b, "paper", struct {
		*paper
		Name, LawText string
		Style         template.CSS
		Body          template.HTML
	}{p, p.Title, law, style() + template.CSS(paperCSS+page), template.HTML(body.String())})
	if err != nil {
		return fmt.Errorf("deliver: HTML: %w", err)
	}
	_, err = w.Write(b.Bytes())
	return err
}
