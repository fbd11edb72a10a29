package document

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"obvert/quantity"
)

// elements reads a list, and reports any other value.
func (t *Table) elements(key string, required bool, want, hint string) ([]value, bool) {
	v, ok := t.get(key, required, hint)
	if !ok {
		return nil, false
	}
	if v.kind != listKind {
		t.wrong(bareOrQuoted(key), v, want, hint)
		return nil, false
	}
	return v.list, true
}

func indexed(key string, i int) string { return fmt.Sprintf("%s[%d]", bareOrQuoted(key), i+1) }

// Quantities reads a list of texts with units, in SI units. One bad element
// makes the whole list not ok, but all of them are reported.
func (t *Table) Quantities(key string, k quantity.Kind, required bool) ([]float64, bool) {
	list, ok := t.elements(key, required, "a list of texts", fmt.Sprintf("write %s = [%q, …]", bareOrQuoted(key), k.Example()))
	if !ok {
		return nil, false
	}
	out := make([]float64, len(list))
	for i, v := range list {
		var fine bool
		out[i], fine = t.quantity(indexed(key, i), v, k)
		ok = ok && fine
	}
	if !ok {
		return nil, false
	}
	return out, true
}

// Texts reads a list of texts, none of them empty.
func (t *Table) Texts(key string, required bool) ([]string, bool) {
	list, ok := t.elements(key, required, "a list of texts", fmt.Sprintf(`write %s = ["…", "…"]`, bareOrQuoted(key)))
	if !ok {
		return nil, false
	}
	out := make([]string, len(list))
	for i, v := range list {
		var fine bool
		out[i], fine = t.text(indexed(key, i), v)
		ok = ok && fine
	}
	if !ok {
		return nil, false
	}
	return out, true
}

// Rows reads a list of lists of texts, one kind a column, in SI units:
// [["0 L/s", "62 m"], ["20 L/s", "58 m"]].
func (t *Table) Rows(key string, required bool, cols ...quantity.Kind) ([][]float64, bool) {
	sample := make([]string, len(cols))
	for i, k := range cols {
		sample[i] = strconv.Quote(k.Example())
	}
	row := "[" + strings.Join(sample, ", ") + "]"
	list, ok := t.elements(key, required, "a list of rows", "write "+bareOrQuoted(key)+" = ["+row+", …]")
	if !ok {
		return nil, false
	}
	out := make([][]float64, len(list))
	for i, v := range list {
		var fine bool
		out[i], fine = t.row(indexed(key, i), v, row, cols)
		ok = ok && fine
	}
	if !ok {
		return nil, false
	}
	return out, true
}

func (t *Table) row(path string, v value, sample string, cols []quantity.Kind) ([]float64, bool) {
	if v.kind != listKind {
		t.wrong(path, v, "a row", "write "+sample)
		return nil, false
	}
	if len(v.list) != len(cols) {
		t.doc.report(v.at, Fault{Key: t.pathTo(path), What: fmt.Sprintf("a row of %d, where %d are asked for", len(v.list), len(cols)), Hint: "write " + sample})
		return nil, false
	}
	out, ok := make([]float64, len(cols)), true
	for j, k := range cols {
		var fine bool
		out[j], fine = t.quantity(fmt.Sprintf("%s[%d]", path, j+1), v.list[j], k)
		ok = ok && fine
	}
	return out, ok
}

// Sub reads a table: one with a header, a dotted one, or one in braces.
func (t *Table) Sub(key string, required bool) (*Table, bool) {
	v, ok := t.get(key, required, "write a table ["+t.headerPath(key)+"]")
	if !ok {
		return nil, false
	}
	if v.kind != tableKind {
		hint := "write a table [" + t.headerPath(key) + "]"
		if v.kind == tablesKind {
			hint = "write it once, as [" + t.headerPath(key) + "]"
		}
		t.wrong(bareOrQuoted(key), v, "one table", hint)
		return nil, false
	}
	return v.table, true
}

// headerPath is the name a key has in a header: without indices and names.
func (t *Table) headerPath(key string) string {
	p := bareOrQuoted(key)
	for ; t.parent != nil; t = t.parent {
		p = bareOrQuoted(t.key) + "." + p
	}
	return p
}

// List reads a list of tables: [[key]], or tables in braces in a list. One that
// is required must have at least one table.
func (t *Table) List(key string, required bool) []*Table {
	hint := "write a table [[" + t.headerPath(key) + "]]"
	v, ok := t.get(key, required, hint)
	if !ok {
		return nil
	}
	if v.kind == tableKind && v.table.origin != inlineOrigin {
		hint = "write its header as [[" + t.headerPath(key) + "]]"
	}
	if v.kind != tablesKind && v.kind != listKind {
		t.wrong(bareOrQuoted(key), v, "a list of tables", hint)
		return nil
	}
	if required && len(v.list) == 0 {
		t.doc.report(v.at, Fault{Key: t.pathTo(bareOrQuoted(key)), What: "the list is empty", Hint: hint})
	}
	var out []*Table
	for i, e := range v.list {
		if e.kind != tableKind {
			t.wrong(indexed(key, i), e, "a table", `write { name = "…", … }`)
			continue
		}
		out = append(out, e.table)
	}
	return out
}

// dateForm is the one form of a date.
const dateForm = "2006-01-02"

// Date reads a day, as a TOML date or as a text, and returns it as 2006-01-02.
func (t *Table) Date(key string, required bool) (string, bool) {
	path := bareOrQuoted(key)
	v, ok := t.get(key, required, "write "+path+" = 2026-03-31")
	if !ok {
		return "", false
	}
	if v.kind != dateKind && v.kind != textKind {
		hint := "write year-month-day, such as 2026-03-31"
		if v.kind == dateTimeKind && len(v.text) > 10 {
			hint = "write the day alone: " + v.text[:10]
		}
		t.wrong(path, v, "a date", hint)
		return "", false
	}
	if d, err := time.Parse(dateForm, v.text); err == nil && d.Year() > 0 {
		return v.text, true
	}
	f := Fault{Key: t.pathTo(path), What: quantity.Quote(v.text) + " is not a date", Hint: "write year-month-day, such as 2026-03-31"}
	f.Understood, f.Hint = otherDate(v.text, f.Hint)
	t.doc.report(v.at, f)
	return "", false
}

// day returns a date in another form as 2006-01-02, or "" if it is none or may
// mean two days.
func day(text string) string {
	for _, form := range []string{"2.1.2006", "2006/1/2", "2006.1.2", "2 January 2006", "January 2, 2006", "2 Jan 2006", "2006-1-2"} {
		if d, err := time.Parse(form, text); err == nil {
			return d.Format(dateForm)
		}
	}
	return ""
}

// otherDate understands the day-first forms, where they can mean one day only.
func otherDate(text, hint string) (understood, better string) {
	if d := day(text); d != "" {
		return "", "write " + d
	}
	dayFirst, err1 := time.Parse("2/1/2006", text)
	monthFirst, err2 := time.Parse("1/2/2006", text)
	switch {
	case err1 == nil && err2 == nil && !dayFirst.Equal(monthFirst):
		return "the day or the month may come first", "write " + dayFirst.Format(dateForm) + " or " + monthFirst.Format(dateForm)
	case err1 == nil:
		return "", "write " + dayFirst.Format(dateForm)
	case err2 == nil:
		return "", "write " + monthFirst.Format(dateForm)
	}
	if _, err := time.Parse("2006-01-02", text); err != nil && strings.Contains(err.Error(), "out of range") {
		return "there is no such day", hint
	}
	return "", hint
}
