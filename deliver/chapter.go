package deliver

import (
	"html/template"
	"runtime"
	"strings"
	"sync"
)

// chapter is a section of the report that answers one question with drawings, the figures of each drawing as a table, and
// tables of its own.
type chapter struct {
	ID         string // of its heading, for links
	Head, Note string
	Key        []keyItem
	Names      []keyItem // a longer key, set in columns under the heading
	Parts      []*part
	Tables     []*table
	Remarks    []string
	Cautions   []string
	Unprinted  string // the parts that are not on paper
}

// part is one drawing with its figures.
type part struct {
	Head     string // over the drawing; empty where the chapter has one part only
	Note     string
	Drawings []template.HTML
	Twin     *plainTable
	Summary  string      // over the folded figures
	Print    bool        // the figures are printed too: the drawing does not show all
	Brief    *plainTable // printed in the place of the figures, which are too wide for paper
	Screen   bool        // not on paper: a worse one of the same kind is
	source   drawing
	id       string
	of       string  // the case or event
	rank     float64 // how bad it is
}

// add puts a drawing into the chapter; more says how many rows stand in its table beyond those drawn. The drawing is made by
// [report.drawChapters].
func (c *chapter) add(d drawing, head, note, summary string, more bool) {
	if summary == "" {
		summary = "Figures of this drawing"
	}
	c.Parts = append(c.Parts, &part{Head: head, Note: note, Twin: d.twin(), Summary: summary, Print: more, source: d, id: c.ID + letters(len(c.Parts))})
}

// printWorst leaves on paper the worst case or event alone, and tells which are drawn in the file only.
func (c *chapter) printWorst() {
	worst := -1
	for i, p := range c.Parts {
		if worst < 0 || p.rank > c.Parts[worst].rank {
			worst = i
		}
	}
	var others []string
	for _, p := range c.Parts {
		if p.of == c.Parts[worst].of {
			continue
		}
		p.Screen = true
		if n := len(others); n == 0 || others[n-1] != p.of {
			others = append(others, p.of)
		}
	}
	if len(others) > 0 {
		c.Unprinted = "Drawn in the file, not on paper: " + strings.Join(others, "; ") + "."
	}
}

// table adds a table that has rows.
func (c *chapter) table(t *table) {
	if t != nil && len(t.Rows) > 0 {
		t.dropEmpty()
		c.Tables = append(c.Tables, t)
	}
}

// dropEmpty leaves out the columns that hold nothing in any row.
func (t *table) dropEmpty() {
	if len(t.Groups) > 0 {
		return
	}
	holds := make([]bool, len(t.Heads))
	for _, r := range t.Rows {
		for i := range min(len(r.Cells), len(holds)) {
			holds[i] = holds[i] || i == 0 || r.Cells[i].Icon != "" || r.Cells[i].Text != "" && r.Cells[i].Text != "–"
		}
	}
	keep := func(i int) bool { return i < len(holds) && holds[i] }
	heads := t.Heads[:0:0]
	for i, h := range t.Heads {
		if keep(i) {
			heads = append(heads, h)
		}
	}
	t.Heads = heads
	for k := range t.Rows {
		cells := t.Rows[k].Cells[:0:0]
		for i, c := range t.Rows[k].Cells {
			if keep(i) {
				cells = append(cells, c)
			}
		}
		t.Rows[k].Cells = cells
	}
}

// empty tells whether the chapter has nothing to show.
func (c *chapter) empty() bool { return len(c.Parts) == 0 && len(c.Tables) == 0 && len(c.Remarks) == 0 }

// drawChapters makes the drawings of all chapters, side by side, for each stands by itself.
func drawChapters(in []form, all ...[]*chapter) {
	var wait sync.WaitGroup
	gate := make(chan struct{}, runtime.GOMAXPROCS(0))
	for _, chapters := range all {
		for _, c := range chapters {
			for _, p := range c.Parts {
				wait.Go(func() {
					gate <- struct{}{}
					defer func() { <-gate }()
					p.Drawings = svgs(inSome(in, p.source, p.id))
				})
			}
		}
	}
	wait.Wait()
}

// most is how many valves, legs or cases a drawing holds; what is beyond stands in the table.
const most = 12

// worstFirst cuts rows to the worst of them: those with the smallest key, in their own order, and tells how many are left out.
func worstFirst[T any](rows []T, n int, key func(*T) float64) (kept []T, left int) {
	if len(rows) <= n {
		return rows, 0
	}
	order := sortedBy(len(rows), func(i int) float64 { return key(&rows[i]) })
	keep := make([]bool, len(rows))
	for _, i := range order[:n] {
		keep[i] = true
	}
	for i := range rows {
		if keep[i] {
			kept = append(kept, rows[i])
		}
	}
	return kept, len(rows) - n
}

// tableOf is a drawing whose table holds more than is drawn.
type tableOf struct {
	drawing
	table *plainTable
}

func (t tableOf) twin() *plainTable { return t.table }

// sentence ends a text with a full stop.
func sentence(s string) string {
	s = strings.TrimSpace(s)
	if s == "" || strings.HasSuffix(s, ".") {
		return s
	}
	return s + "."
}
