package document

import (
	"bytes"
	"errors"
	"fmt"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2/unstable"
)

// Bounds of a document.
const (
	mostBytes        = 4 << 20 // 4 MB
	mostDepth        = 32      // of lists and inline tables, and parts of a key
	mostSyntaxFaults = 100
)

// Parse reads a document. It always returns a Doc, so that the caller can go on
// and find the other faults; where a value could not be read, its key is there
// and its readers say nothing more. The faults are those of bytes, syntax and
// duplicates, in the order of the file.
func Parse(file string, data []byte) (*Doc, Faults) {
	b := &builder{doc: &Doc{File: file, data: data[:len(data):len(data)]}}
	d := b.doc
	d.root = &Table{doc: d, begin: bomLength(data)}
	d.root.section = d.root
	b.current = d.root
	d.starts = []int{0}
	if fault, bad := unreadable(file, data); bad {
		d.data, d.unread, d.root.lost, d.root.begin = nil, true, true, 0
		return d, Faults{fault}
	}
	d.starts = lineStarts(d.data)
	b.walk()
	d.sound = b.faults.Err() == nil
	return d, b.faults.Sorted()
}

// unreadable finds what keeps a file from being read as text at all.
func unreadable(file string, data []byte) (Fault, bool) {
	fail := func(f Fault) (Fault, bool) {
		f.File = file
		return f, true
	}
	if len(data) > mostBytes {
		return fail(Fault{What: "the document is too large", Understood: fmt.Sprintf("%.1f MB, and the limit is %d MB", float64(len(data))/(1<<20), mostBytes>>20),
			Hint: "move long tables into files of their own"})
	}
	if bytes.HasPrefix(data, []byte{0xFF, 0xFE}) || bytes.HasPrefix(data, []byte{0xFE, 0xFF}) {
		return fail(Fault{Line: 1, Column: 1, What: "the document is not UTF-8", Understood: "it begins with the mark of UTF-16", Hint: "save it as UTF-8"})
	}
	if utf8.Valid(data) {
		return Fault{}, false
	}
	first, count := -1, 0
	for i := 0; i < len(data); {
		r, n := utf8.DecodeRune(data[i:])
		if r == utf8.RuneError && n == 1 {
			if first < 0 {
				first = i
			}
			count++
		}
		i += n
	}
	f := Fault{Line: 1 + bytes.Count(data[:first], []byte("\n")), What: "the document is not valid UTF-8",
		Hint: "save it as UTF-8; if it comes from an older Windows program it is in Windows-1252"}
	begin := bytes.LastIndexByte(data[:first], '\n') + 1
	f.Column = 1 + utf8.RuneCount(data[begin:first])
	f.Understood = fmt.Sprintf("byte 0x%02X stands alone", data[first])
	if count > 1 {
		f.Understood += fmt.Sprintf(", and %d more of the kind follow", count-1)
	}
	return fail(f)
}

// builder makes the tree out of the walker's expressions.
type builder struct {
	doc     *Doc
	current *Table // the table whose header came last
	faults  Faults
	base    int // offset of the part being walked
	parser  unstable.Parser
}

func (b *builder) fault(at int, f Fault) {
	f = f.printable()
	f.File = b.doc.File
	f.Line, f.Column = b.doc.place(at)
	b.faults = append(b.faults, f)
}

// walk reads the whole document, going on behind each fault of syntax at the
// next line that begins a table or a key.
func (b *builder) walk() {
	b.base = bomLength(b.doc.data)
	for n := 0; b.base < len(b.doc.data); n++ {
		b.parser.Reset(b.doc.data[b.base:])
		done := b.base // everything before this offset was read
		for b.parser.NextExpression() {
			done = b.expression(b.parser.Expression())
			if len(b.faults) >= mostFaults {
				b.tooMany()
				return
			}
		}
		err := b.parser.Error()
		if err == nil {
			return
		}
		if n >= mostSyntaxFaults {
			b.tooMany()
			return
		}
		b.base = b.recover(err, done)
	}
}

func (b *builder) tooMany() {
	b.faults = append(b.faults, Fault{File: b.doc.File, What: "more faults than are listed", Hint: "mend those listed first"})
	b.lose()
}

// lose marks everything read as incomplete, so that nothing is missed in it.
func (b *builder) lose() {
	for t := b.current; t != nil; t = t.parent {
		t.lost = true
	}
}

// expression puts one expression into the tree and returns the offset behind it.
func (b *builder) expression(n *unstable.Node) int {
	switch n.Kind {
	case unstable.KeyValue:
		return b.keyValue(b.current, n, 1)
	case unstable.Table, unstable.ArrayTable:
		parts, end := b.parts(n.Key())
		if len(parts) > 0 {
			b.header(parts, n.Kind == unstable.ArrayTable, end)
		}
		return end
	}
	return b.base
}

// part is one part of a dotted key.
type part struct {
	key string
	at  int // offset
	end int // offset behind it
}

func (b *builder) parts(it unstable.Iterator) (parts []part, end int) {
	for it.Next() {
		n := it.Node()
		at := b.base + int(n.Raw.Offset)
		end = at + int(n.Raw.Length)
		parts = append(parts, part{string(n.Data), at, end})
	}
	if len(parts) > mostDepth {
		b.fault(parts[0].at, Fault{What: fmt.Sprintf("a key of %d parts", len(parts)), Understood: fmt.Sprintf("%d are the most", mostDepth)})
		parts = parts[:0]
	}
	return parts, end
}

// keyValue puts key = value into a table and returns the offset behind it.
func (b *builder) keyValue(t *Table, n *unstable.Node, depth int) int {
	end := b.base + int(n.Raw.Offset) + int(n.Raw.Length)
	parts, keyEnd := b.parts(n.Key())
	t.last = end
	if len(parts) == 0 {
		return end
	}
	last := parts[len(parts)-1]
	it := &item{key: last.key, keyAt: last.at, end: end}
	owner := b.dotted(t, parts)
	if owner == nil {
		return end
	}
	if first := owner.find(it.key); first != nil {
		b.twice(owner, it, first)
		return end
	}
	it.value = b.value(n.Value(), b.valueAt(keyEnd), owner, it.key, 0, depth)
	owner.add(it)
	return end
}

// valueAt finds the value behind a key: behind the = and spaces.
func (b *builder) valueAt(keyEnd int) int {
	data := b.doc.data
	i := keyEnd
	for i < len(data) && data[i] != '=' {
		i++
	}
	for i++; i < len(data) && (data[i] == ' ' || data[i] == '\t'); i++ {
	}
	return min(i, len(data))
}

// value copies a value out of the walker's tree.
func (b *builder) value(n *unstable.Node, at int, owner *Table, key string, index, depth int) value {
	v := value{at: at, text: string(n.Data)}
	if n.Raw.Length > 0 {
		v.at = b.base + int(n.Raw.Offset)
		v.end = v.at + int(n.Raw.Length)
	}
	switch n.Kind {
	case unstable.String:
		v.kind = textKind
	case unstable.Bool:
		v.kind = boolKind
	case unstable.Integer:
		v.kind = intKind
	case unstable.Float:
		v.kind = floatKind
	case unstable.LocalDate:
		v.kind = dateKind
	case unstable.LocalTime:
		v.kind = timeKind
	case unstable.LocalDateTime, unstable.DateTime:
		v.kind = dateTimeKind
	case unstable.Array, unstable.InlineTable:
		if depth > mostDepth {
			b.fault(v.at, Fault{Key: owner.pathTo(bareOrQuoted(key)), What: fmt.Sprintf("lists nested more than %d deep", mostDepth), Hint: "write the list flat"})
			v.kind, v.end = brokenKind, v.at+1
			return v
		}
		if n.Kind == unstable.Array {
			return b.list(n, v, owner, key, depth)
		}
		return b.inline(n, v, owner, key, index, depth)
	}
	return v
}

// list copies a list; the walker does not say where lists begin and end, so that
// is worked out from their elements.
func (b *builder) list(n *unstable.Node, v value, owner *Table, key string, depth int) value {
	v.kind, v.text = listKind, ""
	next := b.skip(v.at + 1)
	it := n.Children()
	for it.Next() {
		if c := it.Node(); c.Kind != unstable.Comment {
			e := b.value(c, next, owner, key, len(v.list)+1, depth+1)
			v.list = append(v.list, e)
			next = b.skip(e.end)
		}
	}
	v.end = min(next+1, len(b.doc.data))
	return v
}

// skip passes white space, line ends, commas and comments.
func (b *builder) skip(at int) int {
	data := b.doc.data
	for at < len(data) {
		switch data[at] {
		case ' ', '\t', '\r', '\n', ',':
			at++
		case '#':
			at = b.doc.nextLine(at)
		default:
			return at
		}
	}
	return at
}

func (b *builder) inline(n *unstable.Node, v value, owner *Table, key string, index, depth int) value {
	v.kind, v.text = tableKind, ""
	t := owner.child(key, index, v.at, inlineOrigin)
	t.begin = v.at + 1
	v.table = t
	end := t.begin
	it := n.Children()
	for it.Next() {
		if c := it.Node(); c.Kind == unstable.KeyValue {
			end = b.keyValue(t, c, depth+1)
		}
	}
	v.end = min(b.skip(end)+1, len(b.doc.data))
	return v
}

// recover reports a fault of syntax and returns the offset to go on from.
func (b *builder) recover(err error, done int) int {
	at, message := b.base, err.Error()
	var perr *unstable.ParserError
	if errors.As(err, &perr) {
		at, message = b.base+int(b.parser.Range(perr.Highlight).Offset), perr.Message
	}
	s := b.stumble(at, message, done)
	b.fault(s.at, s.fault)
	b.keep(s)
	return s.resume
}
