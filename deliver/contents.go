package deliver

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"strings"

	"obvert/quantity"
	"obvert/study"
)

// The names of the contents page.
const (
	contentsHTML = "contents.html"
	contentsText = "contents.txt"
)

//go:embed assets/contents.html
var contentsTemplate string

// contentsPage lists the files of a set.
type contentsPage struct {
	Name, Subtitle string
	Block          []blockItem
	Stamp          Stamp
	Style          template.CSS
	Answer         []study.Sentence
	Rows           []contentsRow
	Part           bool // the set was made in part
}

type contentsRow struct{ Name, For, Size, SHA256 string }

// newContents is the contents page of the files made.
func newContents(r *study.Result, o Options, files []File, part bool) *contentsPage {
	s := NewStamp(r, o)
	p := &contentsPage{Name: s.Line, Subtitle: "Contents of the set that is handed over", Block: s.Items(), Stamp: s, Style: style(), Answer: r.Answer, Part: part}
	for _, f := range files {
		p.Rows = append(p.Rows, contentsRow{f.Name, f.For, sizeText(len(f.Data)), f.SHA256})
	}
	return p
}

// sizeText is the length of a file: exact in bytes, so that it can be compared.
func sizeText(n int) string { return quantity.Grouped(float64(n)) + " bytes" }

// partNote stands on the contents page of a set made in part.
const partNote = "Only some files of the set were asked for. Other files that lie in this folder are not of this set."

// files are the page for a browser and as plain text.
func (p *contentsPage) files() ([]File, error) {
	t, err := template.New("report").Parse(reportHTML) // for the template of the title block
	if err != nil {
		return nil, fmt.Errorf("deliver: %w", err)
	}
	if t, err = t.New("contents").Parse(contentsTemplate); err != nil {
		return nil, fmt.Errorf("deliver: %w", err)
	}
	var b bytes.Buffer
	if err := t.Execute(&b, p); err != nil {
		return nil, fmt.Errorf("deliver: contents: %w", err)
	}
	return []File{
		File{Data: b.Bytes()}.sealed(contentsHTML, "What the set holds, to be read in a browser."),
		File{Data: []byte(p.text())}.sealed(contentsText, "The same as plain text."),
	}, nil
}

// PartNote is the note of a set made in part, or empty.
func (p *contentsPage) PartNote() string {
	if p.Part {
		return partNote
	}
	return ""
}

// text is the page as plain text. Its hashes stand two spaces before the names, as checking programs read them.
func (p *contentsPage) text() string {
	var b strings.Builder
	line := func(parts ...string) { b.WriteString(strings.Join(parts, "") + "\n") }
	line("Contents of the set for ", p.Stamp.Line)
	line()
	for _, s := range p.Answer {
		line(strings.TrimSpace(s.Lead + " " + s.Rest))
	}
	if n := p.PartNote(); n != "" {
		line()
		line(n)
	}
	line()
	line("Files")
	for _, r := range p.Rows {
		line("  ", r.Name, ", ", r.Size)
		line("    ", r.For)
	}
	line()
	line("SHA-256 of the files")
	for _, r := range p.Rows {
		line(r.SHA256, "  ", r.Name)
	}
	line()
	line("Stamp")
	for _, s := range p.Stamp.Text() {
		line("  ", s)
	}
	return b.String()
}
