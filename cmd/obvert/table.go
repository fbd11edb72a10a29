package main

import "strings"

// table is a table of text whose cells wrap rather than be cut.
type table struct {
	head []string
	rows [][]string
	look func(cell string) string // of a cell below the head; nil for none
}

// gutter stands between two columns.
const gutter = "  "

// print writes the table. Columns of a table that is wider than the page are
// narrowed by wrapping, the widest first, the first column last of all not below
// its longest word.
func (t *table) print(c *console) {
	widths := t.widths(c.width)
	t.row(c, t.head, widths, func(string) string { return strong })
	total := (len(widths) - 1) * len(gutter)
	for _, w := range widths {
		total += w
	}
	c.line(c.paint(faint, strings.Repeat("─", min(total, c.width))))
	for _, r := range t.rows {
		t.row(c, r, widths, t.look)
	}
}

// row writes one row over as many lines as its tallest cell needs.
func (t *table) row(c *console, cells []string, widths []int, look func(string) string) {
	wrapped, tall := make([][]string, len(widths)), 1
	for i := range widths {
		if i < len(cells) {
			wrapped[i] = wrapLines(cells[i], widths[i], widths[i])
			tall = max(tall, len(wrapped[i]))
		}
	}
	for k := range tall {
		var b strings.Builder
		for i, w := range widths {
			text := ""
			if k < len(wrapped[i]) {
				text = wrapped[i][k]
			}
			painted := text
			if look != nil {
				painted = c.paint(look(cells[i]), text)
			}
			if i < len(widths)-1 {
				painted += strings.Repeat(" ", w-columns(text)) + gutter
			}
			b.WriteString(painted)
		}
		c.line(strings.TrimRight(b.String(), " "))
	}
}

// widths finds the columns' widths for a page.
func (t *table) widths(page int) []int {
	widths, least := make([]int, len(t.head)), make([]int, len(t.head))
	each := func(row []string) {
		for i := range min(len(row), len(widths)) {
			widths[i] = max(widths[i], columns(row[i]))
			for word := range words(row[i]) {
				least[i] = max(least[i], columns(word))
			}
		}
	}
	each(t.head)
	for _, r := range t.rows {
		each(r)
	}
	room := page - (len(widths)-1)*len(gutter)
	for sum(widths) > room {
		widest := -1
		for i := range widths {
			if widths[i] > min(least[i], page/3) && (widest < 0 || widths[i] > widths[widest]) {
				widest = i
			}
		}
		if widest < 0 {
			break // each column is down to its longest word
		}
		widths[widest]--
	}
	return widths
}

func sum(n []int) int {
	total := 0
	for _, x := range n {
		total += x
	}
	return total
}
