package survey

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"obvert/document"
	"obvert/formats/xlsx"
	"obvert/quantity"
)

// candidate is one sheet with what could be made of it.
type candidate struct {
	sheet   *xlsx.Sheet
	grid    *grid
	reading Reading
	faults  document.Faults // of the sheet alone
	table   *equipmentTable // it is a table of equipment
	rows    int             // rows that hold two figures or more
	headed  bool            // a head was found by which it could be a survey
	score   float64         // as a survey; 0: it is none
	why     string
}

// Workbook reads a workbook: the sheet that holds a long section, chosen by what the sheets hold, and every table of equipment.
// It is a [Reader]. Every sheet that can be read as a long section becomes a track, the best first; what was chosen and why, and what
// was left, stands in the reading. Options.Take names a sheet outright; then no other is looked at, but for tables of equipment.
func Workbook(file string, data []byte, o Options) (Reading, document.Faults) {
	book, faults := xlsx.Read(file, data)
	if faults.Err() != nil {
		return Reading{}, faults
	}
	g := &document.Gather{File: file}
	r := Reading{File: file, Format: "XLSX"}
	r.Left = append(r.Left, book.Left...)
	taken := -1
	if o.Take != "" {
		i, ok := book.Sheet(o.Take)
		if !ok {
			g.Add(noSheet(book, o.Take))
			return Reading{}, g.All()
		}
		taken = i
	}
	var all []*candidate
	for i := range book.Sheets {
		s := &book.Sheets[i]
		switch {
		case len(s.Rows) == 0:
			r.Left = append(r.Left, "Sheet "+quantity.Quote(s.Name)+" is empty.")
		case s.Hidden && i != taken:
			r.Left = append(r.Left, "Sheet "+quantity.Quote(s.Name)+" is hidden; name it to take it.")
		default:
			all = append(all, consider(file, s, i == taken, o))
		}
	}
	for _, c := range all {
		if c.table != nil {
			c.table.read(g, &r)
			for _, f := range c.faults {
				g.Add(f)
			}
		}
	}
	chooseSheet(g, &r, all, taken, book)
	if g.Fatal {
		return Reading{}, g.All()
	}
	return r, g.All()
}

// noSheet is the fault for a name that no sheet has.
func noSheet(book xlsx.Book, name string) document.Fault {
	names := make([]string, len(book.Sheets))
	quoted := make([]string, len(book.Sheets))
	for i, s := range book.Sheets {
		names[i], quoted[i] = s.Name, quantity.Quote(s.Name)
	}
	f := document.Fault{What: "no sheet is named " + quantity.Quote(name), Understood: "the sheets are " + strings.Join(quoted[:min(len(quoted), 20)], ", ") + more(len(quoted)-20)}
	if near, ok := quantity.Nearest(name, names); ok {
		f.Hint = "take " + quantity.Quote(near)
	}
	return f
}

// consider looks at what a sheet holds.
func consider(file string, s *xlsx.Sheet, taken bool, o Options) *candidate {
	g := &document.Gather{File: file}
	t := gridOf(g, s, o)
	c := &candidate{sheet: s, grid: &t}
	if c.table = findEquipment(&t, o); c.table != nil {
		c.faults = g.All()
		return c
	}
	for i := range s.Rows {
		n := 0
		for _, cell := range s.Rows[i].Cells {
			if cell.Kind == xlsx.Number || cell.Kind == xlsx.Date || cell.Kind == xlsx.Error || cell.Kind == xlsx.Pending || cell.Kind == xlsx.Text && beginsFigure(cell.Text) {
				n++
			}
		}
		if n >= 2 {
			c.rows++
		}
	}
	if c.rows == 0 && !taken {
		c.why = "no row holds two figures"
		return c
	}
	c.reading, c.faults = FromGrid(file, s.Name, t.rows, t.places, o)
	c.headed = headed(c.faults)
	explainCells(&t, s, c.faults)
	t.refs(c.faults)
	c.faults = append(g.All(), c.faults...)
	c.judge()
	return c
}

// beginsFigure tells a text that could be a figure.
func beginsFigure(text string) bool {
	text = strings.TrimLeft(text, " +-−")
	return text != "" && text[0] >= '0' && text[0] <= '9'
}

// headed tells whether a sheet's faults are of single cells or columns: its head was understood.
func headed(faults document.Faults) bool {
	for _, f := range faults.Only(document.FaultSeverity) {
		if f.Key == "" && f.Column == 0 && (strings.HasPrefix(f.What, "no header") || strings.HasPrefix(f.What, "no table") || strings.HasPrefix(f.What, "no column") ||
			strings.HasPrefix(f.What, "the file is empty")) {
			return false
		}
	}
	return true
}

// explainCells adds what only the workbook knows of a cell: a date where a figure should be, a formula without a value.
func explainCells(t *grid, s *xlsx.Sheet, faults document.Faults) {
	for k := range faults {
		f := &faults[k]
		if f.Column == 0 || f.Line == 0 || f.Severity != document.FaultSeverity {
			continue
		}
		i, ok := slices.BinarySearchFunc(s.Rows, f.Line, func(r xlsx.Row, n int) int { return r.Number - n })
		if !ok {
			continue
		}
		switch c := s.Rows[i].At(t.columnAt(i, f.Column) + 1); c.Kind {
		case xlsx.Date:
			f.Understood = "the cell holds a date: the spreadsheet took a figure for one, or the column is another"
			f.Hint = "type the figure again into a cell formatted as a number"
		case xlsx.Pending:
			f.What = "no value in the cell"
			f.Understood = "the formula =" + c.Text + " was stored without its result, and is not one that is worked out here"
			f.Hint = "open the workbook in a spreadsheet program and save it"
		case xlsx.Error:
			f.Understood = "an error of the spreadsheet"
			f.Hint = "put the cell right in the workbook"
		}
	}
}

// sheetWords in a sheet's name speak for a long section or against it.
var sheetWords = []struct {
	weight float64
	words  []string
}{
	{0.1, []string{"long section", "longsection", "profile", "profil", "perfil", "profilo", "langsschnitt", "laengsschnitt", "survey", "levels", "alignment"}},
	{-0.2, []string{"old", "copy", "backup", "alt", "archive", "superseded", "draft", "kopie", "template", "example"}},
}

// enoughRows is the number of rows at which half of what a sheet's length can say is said.
const enoughRows = 20

// judge scores a sheet as a long section: by what its columns give, by its length, by its name.
func (c *candidate) judge() {
	base := 0.0
	switch {
	case c.faults.Err() != nil && c.headed:
		base, c.why = 0.9, "it has the head of a long section, and faults"
	case c.faults.Err() != nil:
		c.why = ""
		for _, f := range c.faults.Only(document.FaultSeverity) {
			c.why = f.What
			break
		}
		return
	case len(c.reading.Tracks) > 0:
		t := c.reading.Tracks[0]
		base, c.rows, c.why = t.Score, len(t.Points), t.Why
	case len(c.reading.Ask) > 0:
		base, c.why = 0.9, "it has a head of chainage and level, and no unit"
	default:
		c.why = "it gives no point"
		return
	}
	n := float64(c.rows)
	c.score = base * (0.5 + 0.4*n/(n+enoughRows))
	c.why += fmt.Sprintf(", in %s", rows(c.rows))
	name := strings.Join(headWords(c.sheet.Name), " ")
	for _, w := range sheetWords {
		for _, word := range w.words {
			if containsWord(name, word) {
				c.score += w.weight
				if w.weight > 0 {
					c.why += ", and its name says so"
				} else {
					c.why += ", and its name speaks against it"
				}
				break
			}
		}
	}
	c.score = min(max(c.score, 0.01), 1)
}

// nearScore is how close two sheets' scores must be for the choice to be said with a warning.
const nearScore = 0.05

// chooseSheet takes the sheet that suits a long section best, and says of the others why they were left.
func chooseSheet(g *document.Gather, r *Reading, all []*candidate, taken int, book xlsx.Book) {
	var fit []*candidate
	for _, c := range all {
		if c.score > 0 && (taken < 0 || c.sheet == &book.Sheets[taken]) {
			fit = append(fit, c)
		}
	}
	slices.SortStableFunc(fit, func(a, b *candidate) int { return cmp.Compare(b.score, a.score) })
	var best *candidate
	if len(fit) > 0 {
		best = fit[0]
	}
	for _, c := range all {
		if c == best || c.table != nil {
			continue
		}
		why := c.why
		if c.score > 0 {
			why = "another suits a long section better"
			if c.faults.Err() != nil {
				why += ", and this one has faults"
			}
		}
		if taken >= 0 && c.sheet != &book.Sheets[taken] {
			why = "another was named"
		}
		if why == "" {
			why = "neither a long section nor a table of equipment"
		}
		r.Left = append(r.Left, "Sheet "+quantity.Quote(c.sheet.Name)+": "+why+".")
	}
	if best == nil {
		noSurvey(g, r, all, taken, book)
		return
	}
	for _, f := range best.faults {
		g.Add(f)
	}
	if best.faults.Err() != nil {
		if taken < 0 {
			for _, c := range fit[1:] {
				if c.faults.Err() == nil {
					g.Remark("survey.other-sheet", 0, "sheet "+quantity.Quote(best.sheet.Name)+" suits a long section best, and has faults",
						"sheet "+quantity.Quote(c.sheet.Name)+" can be read", "name the sheet to take it")
					break
				}
			}
		}
		return
	}
	say := "Sheet " + quantity.Quote(best.sheet.Name) + " is taken as the long section: " + best.why + "."
	if taken >= 0 {
		say = "Sheet " + quantity.Quote(best.sheet.Name) + " is taken as named."
	}
	took := append([]string{say}, best.reading.Took...)
	for i := range took {
		took[i] = lettered(took[i])
	}
	r.Took = append(took, r.Took...)
	r.Left = append(r.Left, best.reading.Left...)
	r.Ask = best.reading.Ask
	for _, c := range fit {
		if c.faults.Err() != nil {
			continue
		}
		for _, t := range c.reading.Tracks {
			t.Score, t.Why = c.score, c.why
			r.Tracks = append(r.Tracks, t)
		}
	}
	if len(r.Ask) > 0 {
		r.Tracks = nil
	}
	if len(fit) > 1 && taken < 0 && fit[1].score > best.score-nearScore {
		g.Warn("survey.sheets", 0, "two sheets suit a long section about as well", quantity.Quote(best.sheet.Name)+" is taken, "+quantity.Quote(fit[1].sheet.Name)+" is left",
			"name the sheet to take where it is the other")
	}
}

var numberedColumn = regexp.MustCompile(` from column (\d+), "`)

// lettered names a sheet's column by its letter.
func lettered(say string) string {
	return numberedColumn.ReplaceAllStringFunc(say, func(m string) string {
		n, _ := strconv.Atoi(numberedColumn.FindStringSubmatch(m)[1])
		return " from column " + xlsx.ColumnName(n) + `, "`
	})
}

// noSurvey tells of a workbook without a long section. One of equipment alone is none the worse.
func noSurvey(g *document.Gather, r *Reading, all []*candidate, taken int, book xlsx.Book) {
	if taken >= 0 {
		for _, c := range all {
			if c.sheet == &book.Sheets[taken] && c.table == nil {
				for _, f := range c.faults {
					g.Add(f)
				}
			}
		}
	}
	if g.Fatal || len(r.Tables) > 0 {
		return
	}
	var seen []string
	for _, c := range all {
		if len(seen) < 10 && c.table == nil {
			why := c.why
			if why == "" {
				why = "no head that is understood"
			}
			if n := len(c.sheet.Merges); n > 0 {
				why += "; " + plural(n, "range", "ranges") + " of merged cells in it, which hold a value in their first cell alone: unmerge them"
			}
			seen = append(seen, quantity.Quote(c.sheet.Name)+": "+why)
		}
	}
	understood := strings.Join(seen, "; ")
	if understood == "" {
		understood = "no sheet that is not hidden has anything in it"
	}
	g.Add(document.Fault{What: "no sheet with a long section or a table of equipment", Understood: understood,
		Hint: `head two columns "Chainage [m]" and "Invert level [m]", or say which is which with --column 1=chainage --column 2=invert`})
}
