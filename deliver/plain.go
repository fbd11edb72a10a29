package deliver

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// plainWidth is the width of plain text in columns: what a mail or a form takes without breaking lines anew.
const plainWidth = 78

// plain writes a paper as plain text, with the whole stamp at its end: the same words as the page.
func (p *paper) plain(s Stamp) string {
	var b strings.Builder
	under := func(text, line string) {
		b.WriteString(text + "\n" + strings.Repeat(line, min(utf8.RuneCountInString(text), plainWidth)) + "\n")
	}
	under(p.Title, "=")
	b.WriteString(p.Subtitle + "\n")
	for _, l := range p.Leaves {
		switch l := l.(type) {
		case headLeaf:
			b.WriteByte('\n')
			under(l.Text, "-")
			if l.Note != "" {
				b.WriteString(folded(l.Note, "", ""))
			}
		case textLeaf:
			b.WriteString(folded(strings.TrimSpace(l.Lead+" "+l.Text), "", ""))
		case listLeaf:
			if l.Lead != "" {
				b.WriteString(folded(l.Lead, "", ""))
			}
			for i, x := range l.Items {
				mark := "- "
				if l.Numbered {
					mark = fmt.Sprintf("%d. ", i+1)
				}
				b.WriteString(folded(strings.TrimSpace(x.Lead+" "+x.Text), mark, strings.Repeat(" ", len(mark))))
			}
		case cautionLeaf:
			b.WriteString(folded("Caution. "+l.Text, "! ", "  "))
		case tableLeaf:
			b.WriteString(plainRows(l.Table))
		case tickLeaf:
			text := l.Text
			if l.Write {
				text = strings.TrimSpace(text+" "+l.Label) + ": " + strings.Repeat("_", 16)
			}
			b.WriteString(folded(text, "[ ] ", "    "))
		case fieldsLeaf:
			for _, f := range l.Labels {
				b.WriteString(folded(f+": "+strings.Repeat("_", 24), "", ""))
			}
		}
	}
	b.WriteByte('\n')
	under("Stamp", "-")
	for _, t := range s.Text() {
		if strings.HasPrefix(t, "  ") || t == "Assumed:" {
			continue // the assumptions stand above
		}
		b.WriteString(folded(t, "", "  "))
	}
	return b.String()
}

// plainRows writes a table as a block for each row: a head and its text on a line, so that nothing depends on the width of letters.
func plainRows(t *table) string {
	var b strings.Builder
	for _, r := range t.Rows {
		var s []string
		for i, c := range r.Cells {
			if c.Text != "" && i < len(t.Heads) {
				if i == 0 {
					s = append(s, c.Text+":")
					continue
				}
				end := ";"
				if i == len(r.Cells)-1 {
					end = "."
				}
				s = append(s, strings.Join(t.Heads[i].Lines, " ")+" "+c.Text+end)
			}
		}
		b.WriteString(folded(strings.Join(s, " "), "- ", "  "))
	}
	return b.String()
}

// folded breaks a text at its spaces into lines of the plain width; no-break spaces hold.
func folded(text, first, rest string) string {
	var b strings.Builder
	line, used := first, utf8.RuneCountInString(first)
	empty := true
	for _, w := range strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || r == '\n' || r == '\t' }) {
		n := utf8.RuneCountInString(w)
		if !empty && used+1+n > plainWidth {
			b.WriteString(line + "\n")
			line, used, empty = rest, utf8.RuneCountInString(rest), true
		}
		if !empty {
			line, used = line+" ", used+1
		}
		line, used, empty = line+w, used+n, false
	}
	b.WriteString(line + "\n")
	return b.String()
}
