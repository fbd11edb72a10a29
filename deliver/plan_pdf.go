package deliver

import (
	"fmt"
	"io"

	"obvert/formats/pdf"
	"obvert/study"
)

// LongSectionPDF writes the sheets of [LongSectionSVG] as one PDF, a page of the paper's true size for each, to be printed without scaling: a millimetre of the drawing
// is a millimetre of paper. Every sheet has a bookmark. The same study and options give the same bytes.
func LongSectionPDF(w io.Writer, r *study.Result, o Options, paper Paper) error {
	pages, err := LongSectionSVG(r, o, paper)
	if err != nil {
		return err
	}
	form, err := paper.form()
	if err != nil {
		return err
	}
	s := NewStamp(r, o)
	d, err := newPDF(pdf.Options{Title: s.Line + ": long section", Author: s.Author, Subject: "Long section on " + form.name, Creator: trimmedText("Obvert " + s.Program), Date: paperDate(s.Date)})
	if err != nil {
		return fmt.Errorf("deliver: PDF: %w", err)
	}
	plain := pdf.ParseStyle("") // the sheets bear their own
	for _, p := range pages {
		d.Page(form.w*mm, form.h*mm)
		d.Bookmark(0, p.Title, 0)
		if err := d.Draw(string(p.SVG), plain, 0, 0, form.w*mm); err != nil {
			return fmt.Errorf("deliver: %s: %w", p.Name, err)
		}
	}
	out, err := d.Bytes()
	if err != nil {
		return fmt.Errorf("deliver: PDF: %w", err)
	}
	_, err = w.Write(out)
	return err
}

// on is a drawing of the long section on one paper.
func on(paper Paper) func(io.Writer, *study.Result, Options) error {
	return func(w io.Writer, r *study.Result, o Options) error { return LongSectionPDF(w, r, o, paper) }
}
