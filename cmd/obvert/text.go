package main

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"obvert/document"
	"obvert/engine/sealing"
	"obvert/line"
	"obvert/quantity"
	"obvert/study"
)

// lineHead writes the line's name and size.
func (c *console) lineHead(l *line.Line) {
	valves := 0
	for i := range l.Runs {
		valves += len(l.Runs[i].Placed)
	}
	c.line(c.paint(strong, l.Name))
	c.line(strings.Join([]string{count(len(l.Runs), "run"), count(len(l.Nodes), "node"), count(valves, "air valve"),
		count(len(l.Cases), "operating case"), count(len(l.Rack), "type") + " on the rack"}, ", "))
}

// count writes a number with its noun.
func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// faults writes warnings in full and remarks in full or only their number.
func (c *console) faults(all document.Faults, remarks bool) {
	show := all.Only(document.WarningSeverity)
	rest := all.Only(document.RemarkSeverity)
	if remarks {
		show, rest = append(show, rest...), nil
	}
	if len(show) > 0 {
		c.line()
		_ = show.Render(c.out, c.width)
	}
	if n := len(rest); n > 0 {
		c.line()
		c.line(count(n, "remark"), " on how the files were read; obvert check tells them.")
	}
}

// assumed writes what the document did not say.
func (c *console) assumed(all []line.Assumption) {
	if len(all) == 0 {
		return
	}
	c.line()
	c.line("Assumed, since the document does not say:")
	for _, a := range all {
		text := a.Text
		if a.Where != "" {
			text = a.Where + ": " + text
		}
		c.line("  ", wrap(text+" "+c.paint(faint, "("+a.ID+")"), c.width-2, 4))
	}
}

// study writes the answer, the table and the findings.
func (c *console) study(r *study.Result, faults document.Faults) {
	c.lineHead(r.Line)
	c.faults(faults, false)
	c.answer(r.Answer)
	c.states(r)
	c.findings(r)
	c.line()
	c.line(wrap("Local codes and a licensed engineer decide. "+count(len(r.Assumed), "assumption")+" in the report.", c.width, 0))
}

// labelWidth holds the longest state and severity.
const labelWidth = 9

// labelled writes text beside a word in the margin.
func (c *console) labelled(look, word, text string) {
	for i, l := range wrapLines(text, c.width-labelWidth, c.width-labelWidth) {
		if i > 0 {
			word = ""
		}
		c.line(c.paint(look, word), strings.Repeat(" ", labelWidth-columns(word)), l)
	}
}

func (c *console) answer(sentences []study.Sentence) {
	c.line()
	for _, s := range sentences {
		text := s.Lead
		if s.Rest != "" {
			text += " " + s.Rest
		}
		c.labelled(stateLook(s.State), s.State, text)
	}
}

// states writes the table of valves and cases, in parts where the cases do not
// stand side by side on the page.
func (c *console) states(r *study.Result) {
	valves := r.Sealing.Valves
	if len(valves) == 0 {
		return
	}
	const cell = 14 // columns of a case and its gutter
	side := max(1, (c.width-26)/cell)
	over := false
	for from := 0; from < len(r.Line.Cases); from += side {
		to := min(from+side, len(r.Line.Cases))
		t := table{head: []string{"valve", "at"}, look: cellLook}
		for _, lc := range r.Line.Cases[from:to] {
			t.head = append(t.head, lc.Name)
		}
		for _, v := range valves {
			row := []string{v.Name, r.Line.Runs[v.Run].Name + " " + quantity.FormatChainage(v.Chainage)}
			if len(r.Line.Runs) == 1 {
				row[1] = quantity.FormatChainage(v.Chainage)
			}
			for _, x := range v.Cells[from:to] {
				row = append(row, cellText(x))
				over = over || x.OverRating
			}
			t.rows = append(t.rows, row)
		}
		c.line()
		t.print(c)
	}
	note := "Figures: margin in m, the head at the seat less the head needed: ↑ to shut (sealing head), ↓ to stay shut (letting-go head)."
	if over {
		note += " ! stands for a head above the valve's rating."
	}
	c.line(wrap(note, c.width, 0))
}

// cellText is a state with its margin where it has one.
func cellText(x sealing.Cell) string {
	s := x.State.String()
	if x.State == sealing.Tight || x.State == sealing.Drips {
		m := quantity.Number(x.Margin, 2)
		if x.Margin != 0 && math.Abs(x.Margin) < 0.005 {
			m = quantity.Number(x.Margin, 4) // two decimals would hide on which side it lies
		}
		if x.Margin >= 0 {
			m = "+" + m
		}
		s += " " + m
		switch x.Rule {
		case sealing.Rising:
			s += "↑"
		case sealing.Falling:
			s += "↓"
		}
	}
	if x.OverRating {
		s += " !"
	}
	return s
}

// cellLook is the look of a cell by the state it names.
func cellLook(cell string) string {
	word, _, _ := strings.Cut(cell, " ")
	if cell == sealing.Unrated.String() {
		word = cell
	}
	return stateLook(word)
}

// findings writes what follows, worst first; what holds comes as one line each.
func (c *console) findings(r *study.Result) {
	counts := map[study.Severity]int{}
	for _, f := range r.Findings {
		counts[f.Severity]++
	}
	c.line()
	if len(r.Findings) == 0 {
		c.line(c.paint(strong, "No findings."))
		return
	}
	var parts []string
	for s := study.Fails; s <= study.Holds; s++ {
		if counts[s] > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", counts[s], severityVerb(s, counts[s])))
		}
	}
	c.line(c.paint(strong, "Findings: "+strings.Join(parts, ", ")))
	ordered := slices.Clone(r.Findings)
	slices.SortStableFunc(ordered, func(a, b study.Finding) int { return cmp.Compare(a.Severity, b.Severity) })
	told := map[string]bool{}
	for i, f := range ordered {
		if f.Severity == study.Holds && i > 0 && ordered[i-1].Severity != study.Holds {
			c.line()
		}
		c.finding(r, &f, told)
	}
}

// severityVerb is a severity after a number.
func severityVerb(s study.Severity, n int) string {
	if n == 1 || s == study.Doubtful || s == study.Notable {
		return s.String()
	}
	return strings.TrimSuffix(s.String(), "s")
}

// finding writes one finding. A caution that was told before comes as one line.
func (c *console) finding(r *study.Result, f *study.Finding, told map[string]bool) {
	look := severityLook(f.Severity)
	if f.Severity == study.Holds {
		c.labelled(look, f.Severity.String(), f.Title)
		return
	}
	c.line()
	c.labelled(look, f.Severity.String(), f.Title)
	c.labelled("", "", where(r, f)+" · "+c.paint(faint, f.ID))
	if f.Have.Text != "" {
		text := f.Have.Text
		if f.HaveLabel != "" {
			text += " " + f.HaveLabel
		}
		switch {
		case f.NeedText != "":
			text += "; " + f.NeedText
		case f.Need.Text != "":
			text += "; needs " + f.Need.Text
		}
		if f.Source != "" {
			text += " (" + strings.TrimSuffix(f.Source, ".") + ")"
		}
		c.labelled("", "", text)
	}
	if f.Text != "" {
		c.labelled("", "", f.Text)
	}
	for _, s := range f.Cures {
		c.labelled("", "", "Cure: "+s)
	}
	for _, s := range f.Cautions {
		if told[s] {
			s = shortened("as above: "+s, c.width-labelWidth)
		}
		told[s] = true
		c.labelled(yellow, "caution", s)
	}
}

// shortened cuts text that stands elsewhere in full to one line.
func shortened(s string, width int) string {
	lines := wrapLines(s, width-2, width)
	if len(lines) == 1 {
		return s
	}
	return lines[0] + " …"
}

// where is a finding's place and cases.
func where(r *study.Result, f *study.Finding) string {
	place := "the whole line"
	if f.Run >= 0 && f.Run < len(r.Line.Runs) {
		place = r.Line.Runs[f.Run].Name + " " + quantity.FormatChainage(f.Chainage)
	}
	var names []string
	for _, i := range f.Cases {
		names = append(names, r.Line.Cases[i].Name)
	}
	if len(names) > 0 {
		place += " · " + list(names)
	}
	return place
}
