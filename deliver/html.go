package deliver

import (
	"bytes"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"io"
	"math"
	"reflect"

	"obvert/line"
	"obvert/study"
)

// Options are what the user chooses for a report. The zero value is an undated report for A4 paper.
type Options struct {
	Date string // as it is to stand in the title block; empty: the line's own date, else left to be filled in
	A3   bool   // print the drawings on A3 instead of A4
}

// The report's parts that are files.
var (
	//go:embed assets/report.html
	reportHTML string
	//go:embed assets/report.css
	reportCSS string
	//go:embed fonts/source-sans-3-latin-400.woff2
	fontRegular []byte
	//go:embed fonts/source-sans-3-latin-600.woff2
	fontSemibold []byte
)

// HTML writes the report: one file that needs nothing else, no script and no network. The same study and options give the
// same bytes. A figure in the result that is not finite is an error, and nothing is written.
func HTML(w io.Writer, r *study.Result, o Options) error {
	if err := complete(r); err != nil {
		return err
	}
	if err := finite(reflect.ValueOf(r), "result"); err != nil {
		return fmt.Errorf("deliver: HTML: %w", err)
	}
	return newReport(r, o).write(w)
}

// write sets the report into its page.
func (p *report) write(w io.Writer) error {
	t, err := template.New("report").Parse(reportHTML)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := t.Execute(&b, p); err != nil {
		return fmt.Errorf("deliver: HTML: %w", err)
	}
	_, err = w.Write(b.Bytes())
	return err
}

// finite walks a value and refuses the first number that is not finite, with its place.
func finite(v reflect.Value, path string) error {
	switch v.Kind() {
	case reflect.Float64:
		if f := v.Float(); math.IsNaN(f) || math.IsInf(f, 0) {
			return fmt.Errorf("%s is %v: a result must be finite, report the input that led to it", path, f)
		}
	case reflect.Pointer, reflect.Interface:
		if !v.IsNil() {
			return finite(v.Elem(), path)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if f := v.Type().Field(i); f.IsExported() {
				if err := finite(v.Field(i), path+"."+f.Name); err != nil {
					return err
				}
			}
		}
	case reflect.Slice, reflect.Array:
		if v.Type().Elem().Kind() == reflect.Float64 {
			for i := range v.Len() {
				if f := v.Index(i).Float(); math.IsNaN(f) || math.IsInf(f, 0) {
					return fmt.Errorf("%s[%d] is %v: a result must be finite, report the input that led to it", path, i, f)
				}
			}
			return nil
		}
		for i := range v.Len() {
			if err := finite(v.Index(i), fmt.Sprintf("%s[%d]", path, i)); err != nil {
				return err
			}
		}
	}
	return nil
}

// report is what the template shows.
type report struct {
	A3                      bool
	Version, Name, Subtitle string
	Style                   template.CSS
	Law                     string
	Block                   []blockItem
	Answer                  []answer
	Brief                   []brief
	BriefRest               string
	Routes                  []routePage
	Bench                   []benchPage
	FindingsNote            string
	Findings                []findingView
	More                    *table
	ScheduleNote            string
	Schedule                *table
	Proof                   []*chapter // after the schedule: how the answer came about
	Money                   []*chapter // after what it costs: the ways out, what matters
	Contents                []content
	CostNote                string
	Costs                   []costTable
	Assumed                 []line.Assumption
	Sources                 []string
	Cautions                []caution
}

// content is a line of the table of contents: a section, or a route with its sections.
type content struct {
	ID, Head string
	Full     string // the section's whole heading, where Head is short
	Links    []content
}

type answer struct {
	Icon              template.HTML
	State, Lead, Rest string
}

type caution struct{ Lead, Rest string }

// style is the style sheet with the fonts in it.
func style() template.CSS {
	face := func(weight int, font []byte) string {
		return fmt.Sprintf(`@font-face{font-family:"Source Sans 3";font-weight:%d;font-style:normal;src:url(data:font/woff2;base64,%s) format('woff2')}`+"\n",
			weight, base64.StdEncoding.EncodeToString(font))
	}
	return template.CSS(face(400, fontRegular) + face(600, fontSemibold) + reportCSS)
}

func newReport(r *study.Result, o Options) *report { return newReportIn(r, o, forms) }

// newReportIn is the report with its drawings in some forms only.
func newReportIn(r *study.Result, o Options, in []form) *report {
	l := r.Line
	names, numbered := valveNumbers(r)
	p := &report{A3: o.A3, Version: r.Version, Name: l.Name, Style: style(), Law: law, Assumed: NewStamp(r, o).Assumptions(), Sources: r.Sources, Cautions: usualCautions}
	p.Subtitle = subtitle(r)
	p.Block = titleBlock(r, o)
	for _, s := range r.Answer {
		m := wordMark(s.State)
		p.Answer = append(p.Answer, answer{template.HTML(m.icon()), s.State, s.Lead, s.Rest})
	}
	rack := newRackView(r)
	for i := range l.Routes {
		p.Routes = append(p.Routes, newRoutePage(r, i, names, numbered, rack, in))
	}
	for i := range r.Bench {
		p.Bench = append(p.Bench, newBenchPage(&r.Bench[i], i, rack, in))
	}
	p.addFindings(r, names, numbered)
	p.addSchedule(r, rack, numbered)
	p.addCosts(r, names, rack)
	p.Proof, p.Money = newAnswers(r, names, numbered, rack).chapters()
	drawChapters(in, p.Proof, p.Money)
	p.Contents = p.contents()
	return p
}

// contents lists the sections where there are chapters beyond the usual ones.
func (p *report) contents() (out []content) {
	if len(p.Proof)+len(p.Money) == 0 {
		return nil
	}
	for _, r := range p.Routes {
		links := []content{{ID: "ls" + r.ID, Head: "The line", Full: r.Head}}
		if len(r.Tiles) > 0 {
			links = append(links, content{ID: "cs" + r.ID, Head: "Case by case", Full: r.TilesHead})
		}
		if len(r.Tubes) > 0 {
			links = append(links, content{ID: "tu" + r.ID, Head: "Bench tube", Full: r.TubesHead})
		}
		if len(p.Routes) == 1 {
			out = append(out, links...)
		} else {
			out = append(out, content{Head: r.Name, Links: links})
		}
	}
	for _, b := range p.Bench {
		out = append(out, content{ID: "be" + b.ID, Head: b.Head})
	}
	out = append(out, content{ID: "fi", Head: "Findings"}, content{ID: "sc", Head: "Schedule of air valves"})
	for _, c := range p.Proof {
		out = append(out, content{ID: c.ID, Head: c.Head})
	}
	if len(p.Costs) > 0 {
		out = append(out, content{ID: "co", Head: "What it costs"})
	}
	for _, c := range p.Money {
		out = append(out, content{ID: c.ID, Head: c.Head})
	}
	return out
}

// usualCautions are the cautions of the trade that belong on every sheet; those that concern one finding stand beside it.
var usualCautions = []caution{
	{"Compressed air", "in a pipe stores energy. Vent slowly, stand clear, never pressure-test with air."},
	{"Vacuum", "can collapse a thin pipe and draw a seal out of its groove."},
	{"Pits", "are confined spaces: gas, water, vermin. Test the air, never enter alone."},
	{"Drinking water:", "a flooded pit over an open valve is a way in for dirt."},
	{"Before work", "stop and lock the pumps, shut and lock the valves, let the pressure down."},
}

// subtitle is the line's description, or a sentence made of its ends.
func subtitle(r *study.Result) string {
	l := r.Line
	n := counted(len(r.Sealing.Valves), "air valve", "air valves")
	if l.Description != "" {
		return l.Description
	}
	length := 0.0
	for _, run := range l.Runs {
		if k := len(run.Points); k > 0 {
			length += run.Points[k-1].Chainage - run.Points[0].Chainage
		}
	}
	s := lengthText(length)
	if length >= 1000 {
		s = fixed(length/1000, 1) + " km"
	}
	if len(l.Nodes) > 1 && len(l.Runs) == 1 {
		s = l.Nodes[l.Runs[0].From].Name + " to " + l.Nodes[l.Runs[0].To].Name + ", " + s
	} else if len(l.Runs) > 1 {
		s += " in " + counted(len(l.Runs), "run", "runs")
	}
	return s + ", with " + n
}

// titleBlock is the stamp under the question that the report answers.
func titleBlock(r *study.Result, o Options) []blockItem {
	return append([]blockItem{{Term: "Question", Text: "Is every valve held shut?"}}, NewStamp(r, o).Items()...)
}
