package deliver

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"slices"
	"strings"

	"obvert/quantity"
	"obvert/study"
)

// File is one file of what is handed over.
type File struct {
	Name   string
	For    string // what it is for, a plain sentence
	SHA256 string // of its bytes, hexadecimal
	Data   []byte
}

// product is a kind of file of the set. A kind may come as several files: sheets, routes.
type product struct {
	kind string // what a user calls it, without the ending
	name string // of its file, or of its files with * for what tells them apart
	use  string
	make func(r *study.Result, o Options) ([]File, error)
}

// products are all kinds of file, in the order of the contents page.
var products = []product{
	{"report", "report.html", "The report with its drawings, to be read in a browser: the answer, every case, every finding, how it was reckoned.", single(HTML)},
	{"report", "report.pdf", "The same for paper: A4 with its drawings, bookmarks and page numbers.", single(PDF)},
	{"long-section", "long-section.dxf", "The long section of every route for drawing programs (DXF R12), in millimetres of paper at the scales in its title block.", single(LongSectionDXF)},
	{"long-section", "long-section-a1-*.svg", "The long section on A1, with bands of figures and title block: ", sheets(PaperA1)},
	{"long-section", "long-section-a3-*.svg", "The long section on A3: ", sheets(PaperA3)},
	{"long-section", "long-section-a1.pdf", "The sheets of the long section on A1 in one file, to be printed in true size.", single(on(PaperA1))},
	{"long-section", "long-section-a3.pdf", "The sheets of the long section on A3 in one file, to be printed in true size.", single(on(PaperA3))},
	{"schedule", "schedule.xlsx", "The schedule of air valves as a workbook: position, level, size, duty, heads in every case, rating, remarks; stamp and legend on sheets of their own.", single(ScheduleXLSX)},
	{"schedule", "schedule.csv", "The schedule of air valves as plain CSV (RFC 4180), for other programs. It carries no stamp of its own: its hash stands here.", single(undated(ScheduleCSV))},
	{"geometry", "geometry.landxml.xml", "The geometry of every run for survey and design programs (LandXML 1.2): levels and stations, bores and inverts; no plan. It is read again by obvert import.", geometryLandXML},
	{"geometry", "profile-*.csv", "The profile of a run as plain CSV, chainage and level of the obvert in metres; obvert import reads it again: ", profilesCSV},
	{"specification", "specification.html", "What is needed of the valves, by duty, with test conditions: for an enquiry; no maker is meant.", single(SpecificationHTML)},
	{"specification", "specification.pdf", "The same for paper.", single(SpecificationPDF)},
	{"specification", "specification.txt", "The same as plain text, ready to paste.", single(SpecificationText)},
	{"commissioning", "commissioning.html", "How the line is filled, watched, started and drained, with blanks for the readings: for who builds and runs it.", single(CommissioningHTML)},
	{"commissioning", "commissioning.pdf", "The same for paper, to be taken along and filled in.", single(CommissioningPDF)},
	{"result", "result.json", "Every figure of the result for machines, SI with the unit in the key.", single(undated(JSON))},
}

// single is a product of one file.
func single(write func(io.Writer, *study.Result, Options) error) func(*study.Result, Options) ([]File, error) {
	return func(r *study.Result, o Options) ([]File, error) {
		var b bytes.Buffer
		if err := write(&b, r, o); err != nil {
			return nil, err
		}
		return []File{{Data: b.Bytes()}}, nil
	}
}

// sheets is a product of a file for each drawn sheet; what a sheet shows is said after what they are for.
func sheets(paper Paper) func(*study.Result, Options) ([]File, error) {
	return func(r *study.Result, o Options) ([]File, error) {
		pages, err := LongSectionSVG(r, o, paper)
		if err != nil {
			return nil, err
		}
		var out []File
		for _, p := range pages {
			out = append(out, File{Name: strings.ToLower(p.Name) + ".svg", For: p.Title, Data: p.SVG})
		}
		return out, nil
	}
}

// undated is a product that no option changes.
func undated(write func(io.Writer, *study.Result) error) func(io.Writer, *study.Result, Options) error {
	return func(w io.Writer, r *study.Result, _ Options) error { return write(w, r) }
}

// Kinds are the words by which the products of the set are chosen, each once, in the order of the contents page.
func Kinds() (out []string) {
	for _, p := range products {
		if !slices.Contains(out, p.kind) {
			out = append(out, p.kind)
		}
	}
	return out
}

// FileNames are the names of all files of the set, with * for what tells several of a kind apart.
func FileNames() (out []string) {
	for _, p := range products {
		out = append(out, p.name)
	}
	return append(out, contentsHTML, contentsText)
}

// Chosen checks the words that choose products, kinds or file names such as "schedule" and "report.pdf", and returns an error that names
// every one that is neither.
func Chosen(words []string) error {
	var bad []string
	known := append(Kinds(), FileNames()...)
	for _, w := range words {
		if slices.ContainsFunc(products, func(p product) bool { return p.chosen([]string{w}) }) {
			continue
		}
		text := fmt.Sprintf("%q is no file of the set", w)
		if near, ok := quantity.Nearest(w, known); ok {
			text += fmt.Sprintf(" (did you mean %q?)", near)
		}
		bad = append(bad, text)
	}
	if len(bad) == 0 {
		return nil
	}
	return fmt.Errorf("%s; the set has %s", strings.Join(bad, "; "), strings.Join(Kinds(), ", "))
}

// chosen tells whether words name the product; no words name all.
func (p product) chosen(words []string) bool {
	for _, w := range words {
		w = strings.ToLower(strings.TrimSpace(w))
		if w == p.kind || w == p.name {
			return true
		}
		if before, after, several := strings.Cut(p.name, "*"); several && w == strings.TrimSuffix(before, "-")+after {
			return true // long-section-a1.svg: all its sheets
		}
	}
	return len(words) == 0
}

// Set makes the files that are handed over, all of them or those chosen by kind or name, and a contents page that lists each with its hash.
// The same result and options give the same bytes. The context is looked at while each file is made; no file is returned with an error.
func Set(ctx context.Context, r *study.Result, o Options, only []string) ([]File, error) {
	if err := Chosen(only); err != nil {
		return nil, err
	}
	if err := complete(r); err != nil {
		return nil, err
	}
	var files []File
	for _, p := range products {
		if !p.chosen(only) {
			continue
		}
		made, err := p.files(ctx, r, o)
		if err != nil {
			return nil, err
		}
		files = append(files, made...)
	}
	contents, err := newContents(r, o, files, len(only) > 0).files()
	if err != nil {
		return nil, err
	}
	return append(contents, files...), nil
}

// files makes a product; the making cannot be stopped, but left.
func (p product) files(ctx context.Context, r *study.Result, o Options) ([]File, error) {
	type made struct {
		files []File
		err   error
	}
	done := make(chan made, 1)
	go func() {
		f, err := p.make(r, o)
		done <- made{f, err}
	}()
	select {
	case <-ctx.Done():
		return nil, ctx.Err()
	case m := <-done:
		if m.err != nil {
			return nil, m.err
		}
		for i := range m.files {
			m.files[i] = m.files[i].sealed(p.name, p.use)
		}
		return m.files, ctx.Err()
	}
}

// sealed gives a file its name and purpose where it has none of its own, and its hash.
func (f File) sealed(name, use string) File {
	if f.Name == "" {
		f.Name = name
	}
	if strings.HasSuffix(use, ": ") || f.For == "" {
		f.For = use + f.For
	}
	sum := sha256.Sum256(f.Data)
	f.SHA256 = hex.EncodeToString(sum[:])
	return f
}
