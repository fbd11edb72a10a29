// Package explain says of every finding, note, warning, remark and assumption, by its id, what it means, why it matters, what
// can be done, where its figures come from, and what to be careful of. It is the only place where that is written; a test
// walks the source for all ids and fails where one has no page, or a page no id.
package explain

import (
	"embed"
	"fmt"
	"io/fs"
	"slices"
	"strings"

	"obvert/line"
	"obvert/quantity"
)

// Page is what there is to say of one id.
type Page struct {
	ID       string
	Group    string // "Held shut or not"
	Title    string // "A valve drips"
	Means    string
	Why      string
	Do       string
	Source   string   // of the figures, or of the rule
	Cautions []string // may be none
}

//go:embed pages/*.md
var files embed.FS

// all are the pages in the order in which they are written, groups together.
var all = read(files)

// read takes the pages of a folder apart. What does not have their form is a fault of the program: read panics.
func read(fsys fs.FS) []Page {
	names, err := fs.Glob(fsys, "pages/*.md") // sorted
	if err != nil || len(names) == 0 {
		panic(fmt.Sprintf("explain: no pages: %v", err))
	}
	var pages []Page
	for _, name := range names {
		data, err := fs.ReadFile(fsys, name)
		if err != nil {
			panic("explain: " + err.Error())
		}
		more, err := parse(string(data))
		if err != nil {
			panic(fmt.Sprintf("explain: %s: %v", name, err))
		}
		pages = append(pages, more...)
	}
	thresholds(pages)
	return pages
}

// parse reads one file: a group's head, then pages with a head and a line for each part.
func parse(text string) ([]Page, error) {
	var pages []Page
	group, n := "", 0
	for l := range strings.Lines(text) {
		n++
		l = strings.TrimSpace(l)
		if l == "" {
			continue
		}
		if head, ok := strings.CutPrefix(l, "# "); ok {
			group = head
			continue
		}
		if head, ok := strings.CutPrefix(l, "## "); ok {
			id, title, ok := strings.Cut(head, " | ")
			if !ok || group == "" {
				return nil, fmt.Errorf("line %d: a page's head is “## id | title”, below a group's head", n)
			}
			pages = append(pages, Page{ID: id, Group: group, Title: title})
			continue
		}
		word, rest, _ := strings.Cut(l, ": ")
		if len(pages) == 0 {
			return nil, fmt.Errorf("line %d: text before the first page", n)
		}
		p := &pages[len(pages)-1]
		parts := map[string]*string{"means": &p.Means, "why": &p.Why, "do": &p.Do, "source": &p.Source}
		switch part := parts[word]; {
		case word == "caution":
			p.Cautions = append(p.Cautions, rest)
		case part == nil || *part != "":
			return nil, fmt.Errorf("line %d: %q is no part of a page, or stands twice", n, word)
		default:
			*part = rest
		}
	}
	return pages, nil
}

// thresholds gives the pages of the practice their usual figures and sources, from where they are defined.
func thresholds(pages []Page) {
	p := line.DefaultPractice()
	for _, t := range []struct {
		key  string
		of   line.Threshold
		unit string
		with int // decimals
	}{
		{"spacing", p.Spacing, "m", 0}, {"high_point", p.HighPointProminence, "m", 2}, {"slope_change", p.SlopeChange, "%", 1},
		{"flat", p.Flat, "1:n", 0}, {"displaced", p.Displaced, "m", 0}, {"drips", p.Drips, "%", 0}, {"filling_velocity", p.FillingVelocity, "m/s", 2},
		{"admit_differential", p.AdmitDifferential, "kPa", 1}, {"vent_differential", p.VentDifferential, "kPa", 1},
		{"collapse_factor", p.CollapseFactor, "1", 1}, {"slam", p.Slam, "m", 0}, {"released_air", p.ReleasedAir, "%", 0},
		{"drain_velocity", p.DrainVelocity, "m/s", 2}, {"stopped_leak", p.StoppedLeak, "mL/min", 1},
	} {
		i := slices.IndexFunc(pages, func(x Page) bool { return x.ID == "practice."+t.key })
		if i < 0 {
			panic("explain: no page for practice." + t.key)
		}
		pages[i].Means += " Usual: " + quantity.Format(t.of.Value, t.unit, t.with) + "."
		pages[i].Source = t.of.Source
	}
}

// Pages lists all pages, by group.
func Pages() []Page { return slices.Clone(all) }

// Find returns the page of an id, capitals or not. A reason for an air valve is found by its own name too: long-run.
func Find(id string) (Page, bool) {
	id = strings.ToLower(strings.TrimSpace(id))
	for _, full := range []string{id, "siting." + id} {
		if i := slices.IndexFunc(all, func(p Page) bool { return p.ID == full }); i >= 0 {
			return all[i], true
		}
	}
	return Page{}, false
}

// Near returns pages for a word that is no id: those whose id has it as a part, else the one whose id is nearest.
func Near(word string) []Page {
	word = strings.ToLower(strings.TrimSpace(word))
	var out []Page
	var ids, lasts []string
	for _, p := range all {
		first, last, _ := strings.Cut(p.ID, ".")
		if word != "" && (first == word || last == word || strings.HasSuffix(last, "."+word)) {
			out = append(out, p)
		}
		ids, lasts = append(ids, p.ID), append(lasts, last)
	}
	if len(out) > 0 {
		return out
	}
	near, ok := quantity.Nearest(word, ids)
	if !ok {
		last, found := quantity.Nearest(word, lasts)
		if !found {
			return nil
		}
		near = ids[slices.Index(lasts, last)]
	}
	p, _ := Find(near)
	return []Page{p}
}
