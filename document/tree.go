package document

import (
	"fmt"
	"sort"
	"strings"
	"unicode/utf8"

	"obvert/quantity"
)

// kind is the sort of a value.
type kind uint8

const (
	textKind kind = iota
	boolKind
	intKind
	floatKind
	dateKind
	dateTimeKind
	timeKind
	listKind
	tableKind
	tablesKind // [[…]]
	brokenKind // a key whose value could not be read: told already
)

// String names the sort in a message.
func (k kind) String() string {
	return [...]string{"a text", "true or false", "a whole number", "a decimal number", "a date", "a date with a time",
		"a time of day", "a list", "a table", "a list of tables", "a value that cannot be read"}[k]
}

// value is one value with the place where it begins.
type value struct {
	kind  kind
	at    int     // offset in bytes
	end   int     // offset behind it; 0 for tables with a header
	text  string  // a text's content; a scalar as it stands in the file
	list  []value // of a list or a list of tables
	table *Table  // of a table
}

// item is a key of a table with its value.
type item struct {
	key   string
	keyAt int // offset of the key
	end   int // offset behind the value; 0 for tables with a header
	value value
}

// origin says how a table came to be; it decides what may be added to it.
type origin uint8

const (
	rootOrigin    origin = iota
	headerOrigin         // [a] or an element of [[a]]
	impliedOrigin        // the a of [a.b]
	dottedOrigin         // the a of a.b = 1
	inlineOrigin         // { … }
)

// Table is a table of the document: the whole of it, one with a header, one of a
// list, or one in braces.
type Table struct {
	doc    *Doc
	parent *Table
	key    string // its own key in the parent
	index  int    // its place in a list, from 1; 0 if it stands alone
	at     int    // offset of its header, key or brace
	origin origin
	lost   bool // its content is not all there: nothing is missed in it

	items []*item
	by    map[string]*item

	section *Table // the table whose header its key = value lines stand under
	prefix  []string
	begin   int // offset behind its header
	last    int // offset behind its last key = value; 0 if there is none

	asked    map[string]bool
	order    []string       // keys asked for, in order
	missed   map[string]int // required keys not there → place in doc.faults
	finished bool
}

func (t *Table) find(key string) *item { return t.by[key] }

func (t *Table) add(it *item) {
	if t.by == nil {
		t.by = map[string]*item{}
	}
	t.items = append(t.items, it)
	t.by[it.key] = it
}

// child makes an empty table below t.
func (t *Table) child(key string, index, at int, o origin) *Table {
	c := &Table{doc: t.doc, parent: t, key: key, index: index, at: at, origin: o, lost: t.lost && o != headerOrigin}
	c.section = c
	return c
}

// Name returns the text of the table's own key "name", or "" if it has none.
// Reading it does not count as asking for the key.
func (t *Table) Name() string {
	if it := t.find("name"); it != nil && it.value.kind == textKind {
		return it.value.text
	}
	return ""
}

// Line returns the line on which the table begins, from 1.
func (t *Table) Line() int {
	line, _ := t.doc.place(t.at)
	return line
}

// Path returns where the table stands, by names where tables have one: run
// "Ridge".section[1]. The root's path is empty.
func (t *Table) Path() string {
	if t.parent == nil {
		return ""
	}
	return t.parent.pathTo(t.segment())
}

func (t *Table) segment() string {
	s := bareOrQuoted(t.key)
	switch name := t.Name(); {
	case name != "":
		return s + " " + quantity.Quote(name)
	case t.index > 0:
		return fmt.Sprintf("%s[%d]", s, t.index)
	}
	return s
}

// pathTo is the full path of a key of the table.
func (t *Table) pathTo(segment string) string {
	p := t.Path()
	switch {
	case p == "":
		return segment
	case segment == "":
		return p
	}
	return p + "." + segment
}

// Has reports whether the key stands in the table. It counts as asking for it.
func (t *Table) Has(key string) bool {
	t.ask(key)
	return t.find(key) != nil
}

// Keys lists the table's keys in the order of the file.
func (t *Table) Keys() []string {
	keys := make([]string, len(t.items))
	for i, it := range t.items {
		keys[i] = it.key
	}
	return keys
}

func (t *Table) ask(key string) {
	if t.asked == nil {
		t.asked = map[string]bool{}
	}
	if !t.asked[key] {
		t.asked[key] = true
		t.order = append(t.order, key)
	}
}

// bareOrQuoted writes a key as TOML does.
func bareOrQuoted(key string) string {
	if key != "" && strings.IndexFunc(key, func(r rune) bool { return r >= utf8.RuneSelf || !isBare(byte(r)) }) < 0 {
		return key
	}
	return quantity.Quote(key)
}

func isBare(c byte) bool {
	return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '-' || c == '_'
}

// Doc is a document: its bytes, its tree, and what was said about it. A Doc and
// its tables are for one goroutine at a time.
type Doc struct {
	File string // the name shown in messages

	data   []byte
	starts []int // offset of each line
	root   *Table
	sound  bool // no fault of syntax
	faults []Fault
	void   map[int]bool // places in faults that were taken back
	full   bool
	unread bool // the bytes are no text: there is nothing to tell of keys

	lately struct{ at, column int } // the last place that was worked out
}

// Root returns the table of the whole document. It is never nil.
func (d *Doc) Root() *Table { return d.root }

// Bytes returns the document as it was read, byte by byte, or with what [Doc.Set]
// changed. The caller may keep and change the copy.
func (d *Doc) Bytes() []byte { return append([]byte(nil), d.data...) }

// place turns an offset into a line and a column, both from 1.
func (d *Doc) place(at int) (line, column int) {
	line = sort.SearchInts(d.starts, at+1)
	if line == 0 {
		return 1, 1
	}
	begin, before := d.starts[line-1], 1
	if line == 1 {
		begin += bomLength(d.data)
	}
	if d.lately.at > begin && d.lately.at <= at { // further on in the same long line
		begin, before = d.lately.at, d.lately.column
	}
	at = min(max(at, begin), len(d.data))
	column = before + utf8.RuneCount(d.data[begin:at])
	d.lately.at, d.lately.column = at, column
	return line, column
}

func lineStarts(data []byte) []int {
	starts := []int{0}
	for i, c := range data {
		if c == '\n' {
			starts = append(starts, i+1)
		}
	}
	return starts
}

func bomLength(data []byte) int {
	if strings.HasPrefix(string(data[:min(3, len(data))]), "\uFEFF") {
		return 3
	}
	return 0
}

// mostFaults is the number of faults kept for one document.
const mostFaults = 1000

// report adds a fault at an offset and returns its place in the list, or -1 if it
// was not kept. Of a document that is no text, nothing more is told than that.
func (d *Doc) report(at int, f Fault) int {
	if d.unread {
		return -1
	}
	if len(d.faults) >= mostFaults {
		if !d.full {
			d.full = true
			d.faults = append(d.faults, Fault{File: d.File, What: fmt.Sprintf("more than %d faults", mostFaults), Hint: "mend those listed first"})
		}
		return -1
	}
	f = f.printable()
	if f.File == "" {
		f.File = d.File
	}
	if f.Line == 0 {
		f.Line, f.Column = d.place(at)
	}
	d.faults = append(d.faults, f)
	return len(d.faults) - 1
}

// Faults returns everything reported so far through the readers, not what
// [Parse] returned, in the order of the file.
func (d *Doc) Faults() Faults {
	var out Faults
	for i, f := range d.faults {
		if !d.void[i] {
			out = append(out, f)
		}
	}
	return out.Sorted()
}
