package document

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"

	"obvert/quantity"
)

// Set gives one key another value and leaves every other byte as it was. The
// path is that of a fault: "site.altitude", `run "Ridge".bore`, "run[2].bore"
// (counted from 1). The text is a value as TOML writes it, quotation marks
// included: `"450 mm"`. A key that is not there is added behind the last of its
// table; its table must exist. On error nothing is changed. Tables obtained
// before go on showing the old document, and what was reported is forgotten.
func (d *Doc) Set(path string, text string) error {
	if !d.sound {
		return fmt.Errorf("%s has faults of syntax: mend them first", d.File)
	}
	text = strings.Trim(text, " \t")
	if err := isValue(text); err != nil {
		return err
	}
	segments, err := splitPath(path)
	if err != nil {
		return err
	}
	t, err := d.tableAt(path, segments[:len(segments)-1])
	if err != nil {
		return err
	}
	last := segments[len(segments)-1]
	if last.index != 0 || last.named {
		return fmt.Errorf("%s names a table, not a value", path)
	}
	it := t.find(last.key)
	if it != nil && it.end == 0 {
		return fmt.Errorf("%s is %s, not a value", path, it.value.kind)
	}
	var data []byte
	if it != nil {
		data = splice(d.data, it.value.at, it.end, text)
	} else {
		data = d.appended(t, last.key, text)
	}
	changed, faults := Parse(d.File, data)
	if err := faults.Err(); err != nil {
		return fmt.Errorf("%s = %s cannot stand there: %w", path, text, err)
	}
	old := *d
	old.adopt(old.root)
	*d = *changed
	d.adopt(d.root)
	return nil
}

// adopt makes the tree of a new document point to this one.
func (d *Doc) adopt(t *Table) {
	t.doc = d
	for _, it := range t.items {
		d.adoptValue(it.value)
	}
}

func (d *Doc) adoptValue(v value) {
	if v.table != nil {
		d.adopt(v.table)
	}
	for _, e := range v.list {
		d.adoptValue(e)
	}
}

func splice(data []byte, from, to int, text string) []byte {
	out := make([]byte, 0, len(data)+len(text))
	out = append(out, data[:from]...)
	out = append(out, text...)
	return append(out, data[to:]...)
}

// isValue checks that a text is exactly one TOML value.
func isValue(text string) error {
	const front = "x = "
	doc := []byte(front + text)
	_, faults := Parse("", doc)
	var p unstable.Parser
	p.Reset(doc)
	whole := p.NextExpression() && p.Expression().Kind == unstable.KeyValue && int(p.Expression().Raw.Length) == len(doc)
	if whole && faults.Err() == nil && !p.NextExpression() && p.Error() == nil {
		return nil
	}
	if strings.ContainsAny(text, `"'[]{}=`) {
		return fmt.Errorf("%s is not one TOML value", quantity.Quote(text))
	}
	return fmt.Errorf("%s is not one TOML value: write it in quotation marks, %q", quantity.Quote(text), strconv.Quote(text))
}

// appended writes key = text behind the last key of a table.
func (d *Doc) appended(t *Table, key, text string) []byte {
	pair := bareOrQuoted(key) + " = " + text
	if t.origin == inlineOrigin || t.section.origin == inlineOrigin {
		return d.appendedInline(t, pair)
	}
	for i := len(t.prefix) - 1; i >= 0; i-- {
		pair = bareOrQuoted(t.prefix[i]) + "." + pair
	}
	end := "\n"
	if i := bytes.IndexByte(d.data, '\n'); i > 0 && d.data[i-1] == '\r' {
		end = "\r\n"
	}
	s := t.section
	switch {
	case t.origin == impliedOrigin:
		front := end
		if len(d.data) > 0 && d.data[len(d.data)-1] != '\n' {
			front += end
		}
		return splice(d.data, len(d.data), len(d.data), front+"["+t.parent.headerPath(t.key)+"]"+end+pair+end)
	case s.last > 0:
		return d.insertLine(d.nextLine(s.last), d.indent(s.last)+pair, end)
	case s.origin == rootOrigin:
		return d.insertLine(d.beforeFirstHeader(), pair, end)
	}
	return d.insertLine(s.begin, pair, end)
}

// insertLine puts a line at an offset that begins a line or ends the document.
func (d *Doc) insertLine(at int, line, end string) []byte {
	if at > 0 && at == len(d.data) && d.data[at-1] != '\n' {
		return splice(d.data, at, at, end+line)
	}
	return splice(d.data, at, at, line+end)
}

// indent is the white space before the line that holds an offset's key.
func (d *Doc) indent(at int) string {
	line := d.lineText(d.starts[d.lineIndex(at-1)])
	indent := line[:len(line)-len(strings.TrimLeft(line, " \t"))]
	if !keyLine.MatchString(line) {
		return "" // the last line of a long list
	}
	return indent
}

// beforeFirstHeader is where a document without keys outside tables takes one:
// before its first header and the comment lines right above that.
func (d *Doc) beforeFirstHeader() int {
	i := 0
	for i < len(d.starts) && !strings.HasPrefix(strings.Trim(d.lineText(d.starts[i]), "\uFEFF \t"), "[") {
		i++
	}
	if i == len(d.starts) {
		return len(d.data)
	}
	for i > 0 && strings.HasPrefix(strings.TrimSpace(d.lineText(d.starts[i-1])), "#") {
		i--
	}
	return max(d.starts[i], bomLength(d.data))
}

// appendedInline puts key = text into braces.
func (d *Doc) appendedInline(t *Table, pair string) []byte {
	s := t.section
	for i := len(t.prefix) - 1; i >= 0; i-- {
		pair = bareOrQuoted(t.prefix[i]) + "." + pair
	}
	if s.last > 0 {
		return splice(d.data, s.last, s.last, ", "+pair)
	}
	return splice(d.data, s.begin, s.begin, " "+pair+" ")
}

// segment is one step of a path.
type segment struct {
	key   string
	index int    // from 1; 0 if none is given
	name  string // the table's own name
	named bool
}

// splitPath takes a path apart: a.b[2].c, run "Ridge".bore, "odd key".c.
func splitPath(path string) ([]segment, error) {
	var out []segment
	rest := strings.TrimSpace(path)
	bad := func() ([]segment, error) {
		return nil, fmt.Errorf(`%s is not a path: write one such as run "Ridge".bore or run[2].bore`, quantity.Quote(path))
	}
	for {
		var s segment
		var ok bool
		if s.key, rest, ok = cutKey(rest); !ok {
			return bad()
		}
		if after, found := strings.CutPrefix(rest, "["); found {
			number, tail, closed := strings.Cut(after, "]")
			n, err := strconv.Atoi(number)
			if !closed || err != nil || n < 1 {
				return bad()
			}
			s.index, rest = n, tail
		} else if strings.HasPrefix(rest, " ") {
			name, tail, ok := cutKey(strings.TrimLeft(rest, " "))
			if !ok || !strings.HasPrefix(strings.TrimLeft(rest, " "), `"`) {
				return bad()
			}
			s.name, s.named, rest = name, true, tail
		}
		out = append(out, s)
		if rest == "" {
			return out, nil
		}
		if rest, ok = strings.CutPrefix(rest, "."); !ok {
			return bad()
		}
	}
}

// cutKey takes a bare or quoted key from the front of a text.
func cutKey(s string) (key, rest string, ok bool) {
	if strings.HasPrefix(s, `"`) {
		quoted, err := strconv.QuotedPrefix(s)
		if err != nil {
			return "", s, false
		}
		key, err = strconv.Unquote(quoted)
		return key, s[len(quoted):], err == nil
	}
	n := 0
	for n < len(s) && isBare(s[n]) {
		n++
	}
	return s[:n], s[n:], n > 0
}

// tableAt walks down a path.
func (d *Doc) tableAt(path string, segments []segment) (*Table, error) {
	t := d.root
	for _, s := range segments {
		it := t.find(s.key)
		if it == nil {
			return nil, fmt.Errorf("%s: there is no table %s", path, t.pathTo(bareOrQuoted(s.key)))
		}
		next, err := choose(path, it.value, s)
		if err != nil {
			return nil, err
		}
		t = next
	}
	return t, nil
}

// choose picks the table a segment means.
func choose(path string, v value, s segment) (*Table, error) {
	if v.table != nil && s.index == 0 && (!s.named || v.table.Name() == s.name) {
		return v.table, nil
	}
	if s.index > 0 && s.index <= len(v.list) && v.list[s.index-1].table != nil {
		return v.list[s.index-1].table, nil
	}
	var found *Table
	for _, e := range v.list {
		if s.named && e.table != nil && e.table.Name() == s.name {
			if found != nil {
				return nil, fmt.Errorf("%s: two tables %s have the name %s", path, s.key, quantity.Quote(s.name))
			}
			found = e.table
		}
	}
	if found == nil {
		return nil, fmt.Errorf("%s: no table of %s is meant by that", path, bareOrQuoted(s.key))
	}
	return found, nil
}
