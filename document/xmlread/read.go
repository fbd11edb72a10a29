// Package xmlread walks an XML file as a chain of beginnings, texts and ends that know their lines.
//
// It is for data that others send: what is read is bounded (size, depth, attributes), document type declarations and the entities they
// could define are refused, so that a small file cannot grow, and names lose their prefixes, since the versions of a format differ in their
// namespaces and in little else. Texts are slices of the file itself wherever nothing in them is escaped: a million points cost no
// allocation each. It checks that a file is well formed as far as that decides how it is understood: tags that match, one root, quoted and
// unique attributes, known references. Source: W3C, Extensible Markup Language (XML) 1.0 (Fifth Edition), 2008.
package xmlread

import (
	"bytes"
	"fmt"
	"strconv"
	"unicode/utf8"

	"obvert/document"
)

// Limits of a file.
const (
	MaxBytes      = 512_000_000 // of the file, once it is UTF-8
	MaxDepth      = 200         // of elements in one another
	MaxAttributes = 200         // of one element
	MaxName       = 200         // bytes of a name
)

// Kind is the kind of a piece.
type Kind uint8

// The kinds of piece.
const (
	Begin   Kind = iota // of an element
	Text                // between tags; one text may come in several pieces
	EndOf               // of an element
	EndFile             // nothing more
)

// Error is what is wrong with a file.
type Error struct {
	Line             int
	What, Understood string
	Hint             string
}

// Error is the fault on one line.
func (e *Error) Error() string { return Fault("", e).String() }

// Fault is an error of the walk, or of another kind, as a fault of the named file.
func Fault(file string, err error) document.Fault {
	if e, ok := err.(*Error); ok {
		return document.Fault{File: file, Line: e.Line, What: e.What, Understood: e.Understood, Hint: e.Hint}
	}
	return document.Fault{File: file, What: err.Error()}
}

// Attribute is one attribute of an element.
type Attribute struct {
	Name  []byte // without prefix
	Value []byte // references resolved
}

// Reader walks a file.
type Reader struct {
	data    []byte
	at      int // where the next piece begins
	start   int // where the current piece began
	counted int // line breaks are counted to here
	lines   int
	open    [][]byte // names of the elements open, with prefixes
	name    []byte
	text    []byte
	attrs   []Attribute
	empty   bool // the element that has begun has ended already
	rooted  bool // the root has begun
	failed  error
}

// New begins to read a file. The error is an *[Error].
func New(data []byte) (*Reader, error) {
	text, err := decode(data)
	if err != nil {
		return nil, err
	}
	return &Reader{data: text}, nil
}

// Line is the line of the piece last returned, from 1.
func (r *Reader) Line() int {
	if r.start > r.counted {
		r.lines += bytes.Count(r.data[r.counted:r.start], []byte{'\n'})
		r.counted = r.start
	}
	return r.lines + 1
}

// Name is the name, without prefix, of the element that has begun or ended. It holds until the next piece.
func (r *Reader) Name() []byte { return r.name }

// Is tells whether the element that has begun or ended has a name.
func (r *Reader) Is(name string) bool { return string(r.name) == name }

// Depth is how many elements are open; one that has begun counts, one that has ended does not.
func (r *Reader) Depth() int { return len(r.open) }

// Text is a piece of text, references resolved. It holds until the next piece.
func (r *Reader) Text() []byte { return r.text }

// Attribute is the value of an attribute of the element that has begun, and whether it is there.
func (r *Reader) Attribute(name string) ([]byte, bool) {
	for i := range r.attrs {
		if string(r.attrs[i].Name) == name {
			return r.attrs[i].Value, true
		}
	}
	return nil, false
}

// Attributes are those of the element that has begun, in the file's order. They hold until the next piece.
func (r *Reader) Attributes() []Attribute { return r.attrs }

// Next gives the next piece. After an error it gives the same error again. Errors are *[Error].
func (r *Reader) Next() (Kind, error) {
	if r.failed != nil {
		return EndFile, r.failed
	}
	k, err := r.next()
	if err != nil {
		r.failed = err
	}
	return k, err
}

func (r *Reader) fail(what, understood, hint string) (Kind, error) {
	return EndFile, &Error{Line: r.Line(), What: what, Understood: understood, Hint: hint}
}

const wellFormed = "write the file again from the program that made it"

func (r *Reader) next() (Kind, error) {
	if r.empty {
		r.empty = false
		r.open = r.open[:len(r.open)-1]
		r.attrs = r.attrs[:0]
		return EndOf, nil
	}
	for {
		r.start = r.at
		if r.at >= len(r.data) {
			if len(r.open) > 0 {
				return r.fail("the file ends in the middle", "the element <"+string(r.open[len(r.open)-1])+"> is still open", "it was cut short: fetch it again")
			}
			if !r.rooted {
				return r.fail("no XML in it", "the file has no element", "")
			}
			return EndFile, nil
		}
		if r.data[r.at] != '<' {
			end := bytes.IndexByte(r.data[r.at:], '<')
			if end < 0 {
				end = len(r.data) - r.at
			}
			raw := r.data[r.at : r.at+end]
			r.at += end
			if len(r.open) == 0 {
				if len(bytes.TrimSpace(raw)) > 0 {
					return r.fail("text outside the root element", document.Shown(string(raw), 40), wellFormed)
				}
				continue
			}
			var err error
			if r.text, err = r.resolve(raw); err != nil {
				return EndFile, err
			}
			return Text, nil
		}
		rest := r.data[r.at:]
		switch {
		case bytes.HasPrefix(rest, []byte("<!--")):
			end := bytes.Index(rest[4:], []byte("-->"))
			if end < 0 {
				return r.fail("a comment without an end", "", "the file was cut short, or --> is missing")
			}
			r.at += 4 + end + 3
		case bytes.HasPrefix(rest, []byte("<![CDATA[")):
			end := bytes.Index(rest, []byte("]]>"))
			if end < 0 {
				return r.fail("a CDATA section without an end", "", "the file was cut short, or ]]> is missing")
			}
			if len(r.open) == 0 {
				return r.fail("text outside the root element", "a CDATA section", wellFormed)
			}
			r.text = rest[9:end]
			r.at += end + 3
			return Text, nil
		case bytes.HasPrefix(rest, []byte("<?")):
			end := bytes.Index(rest, []byte("?>"))
			if end < 0 {
				return r.fail("a processing instruction without an end", "", "the file was cut short, or ?> is missing")
			}
			r.at += end + 2
		case bytes.HasPrefix(rest, []byte("<!")):
			return r.fail("a document type declaration", "its entities could make a small file grow without bound, so that none is read",
				"delete the declaration <!DOCTYPE …>: files of this format need none")
		case bytes.HasPrefix(rest, []byte("</")):
			return r.end()
		default:
			return r.begin()
		}
	}
}

// end reads an end tag.
func (r *Reader) end() (Kind, error) {
	close := bytes.IndexByte(r.data[r.at:], '>')
	if close < 0 {
		return r.fail("an end tag without an end", "", "the file was cut short: fetch it again")
	}
	name := bytes.TrimRight(r.data[r.at+2:r.at+close], " \t\r\n")
	r.at += close + 1
	if len(r.open) == 0 {
		return r.fail("an end tag with nothing open", "</"+document.Shown(string(name), 40)+">", wellFormed)
	}
	last := r.open[len(r.open)-1]
	if !bytes.Equal(last, name) {
		return r.fail("tags that do not match", "</"+document.Shown(string(name), 40)+"> ends <"+document.Shown(string(last), 40)+">", wellFormed)
	}
	r.open = r.open[:len(r.open)-1]
	r.name, r.attrs = local(name), r.attrs[:0]
	return EndOf, nil
}

// begin reads a start tag with its attributes.
func (r *Reader) begin() (Kind, error) {
	r.at++
	full := r.readName()
	if len(full) == 0 {
		return r.fail("a < that begins no tag", "", "write &lt; for the sign itself, or send the file again: it may be cut or mixed up")
	}
	if len(full) > MaxName {
		return r.fail("a name of "+strconv.Itoa(len(full))+" bytes", "", "names of elements have "+strconv.Itoa(MaxName)+" at most")
	}
	if len(r.open) == 0 && r.rooted {
		return r.fail("a second root element", "<"+string(full)+">", wellFormed)
	}
	if len(r.open) >= MaxDepth {
		return r.fail("elements more than "+strconv.Itoa(MaxDepth)+" deep", "<"+string(full)+">", "files of this format are not so deep")
	}
	r.rooted = true
	r.attrs = r.attrs[:0]
	for {
		spaced := r.skipSpace()
		if r.at >= len(r.data) {
			return r.fail("the file ends in the middle", "the tag <"+string(full)+" has no end", "it was cut short: fetch it again")
		}
		switch c := r.data[r.at]; {
		case c == '>':
			r.at++
			r.open = append(r.open, full)
			r.name = local(full)
			return Begin, nil
		case c == '/' && r.at+1 < len(r.data) && r.data[r.at+1] == '>':
			r.at += 2
			r.open = append(r.open, full)
			r.name, r.empty = local(full), true
			return Begin, nil
		case !spaced:
			return r.fail("a tag that is not well formed", "<"+string(full)+" …", wellFormed)
		}
		if k, err := r.attribute(full); err != nil {
			return k, err
		}
	}
}

// attribute reads one attribute.
func (r *Reader) attribute(of []byte) (Kind, error) {
	name := r.readName()
	r.skipSpace()
	if len(name) == 0 || len(name) > MaxName || r.at >= len(r.data) || r.data[r.at] != '=' {
		return r.fail("an attribute that is not well formed", "in <"+string(of)+">", "attributes are written name=\"value\"")
	}
	r.at++
	r.skipSpace()
	if r.at >= len(r.data) || r.data[r.at] != '"' && r.data[r.at] != '\'' {
		return r.fail("an attribute without quotes", string(name)+" in <"+string(of)+">", "attributes are written name=\"value\"")
	}
	quote := r.data[r.at]
	end := bytes.IndexByte(r.data[r.at+1:], quote)
	if end < 0 {
		return r.fail("an attribute without an end", string(name)+" in <"+string(of)+">", "a quote is missing, or the file was cut short")
	}
	raw := r.data[r.at+1 : r.at+1+end]
	r.at += end + 2
	if bytes.IndexByte(raw, '<') >= 0 {
		return r.fail("a < inside an attribute", string(name)+" in <"+string(of)+">", "a quote is missing, or &lt; is meant")
	}
	value, err := r.resolve(raw)
	if err != nil {
		return EndFile, err
	}
	if len(r.attrs) >= MaxAttributes {
		return r.fail("more than "+strconv.Itoa(MaxAttributes)+" attributes", "in <"+string(of)+">", "files of this format have not so many")
	}
	if string(name) == "xmlns" || bytes.HasPrefix(name, []byte("xmlns:")) {
		return Begin, nil // names go without prefix
	}
	name = local(name)
	for i := range r.attrs {
		if bytes.Equal(r.attrs[i].Name, name) {
			return r.fail("an attribute given twice", string(name)+" in <"+string(of)+">", wellFormed)
		}
	}
	r.attrs = append(r.attrs, Attribute{name, value})
	return Begin, nil
}

// readName takes the characters of a name. Which letters XML allows in one is left aside.
func (r *Reader) readName() []byte {
	from := r.at
	for r.at < len(r.data) {
		switch c := r.data[r.at]; c {
		case ' ', '\t', '\r', '\n', '=', '>', '/', '<', '"', '\'', '&':
			return r.data[from:r.at]
		}
		r.at++
	}
	return r.data[from:r.at]
}

func (r *Reader) skipSpace() bool {
	from := r.at
	for r.at < len(r.data) {
		switch r.data[r.at] {
		case ' ', '\t', '\r', '\n':
			r.at++
			continue
		}
		break
	}
	return r.at > from
}

// local is a name without its prefix.
func local(name []byte) []byte {
	if i := bytes.IndexByte(name, ':'); i >= 0 {
		return name[i+1:]
	}
	return name
}

// resolve puts characters in place of references. Text without any is returned as it stands in the file.
func (r *Reader) resolve(raw []byte) ([]byte, error) {
	i := bytes.IndexByte(raw, '&')
	if i < 0 {
		return raw, nil
	}
	out := append(make([]byte, 0, len(raw)), raw[:i]...) // never longer than what it came of
	for raw = raw[i:]; len(raw) > 0; {
		if raw[0] != '&' {
			n := bytes.IndexByte(raw, '&')
			if n < 0 {
				n = len(raw)
			}
			out = append(out, raw[:n]...)
			raw = raw[n:]
			continue
		}
		end := bytes.IndexByte(raw[:min(len(raw), 12)], ';')
		if end < 0 {
			_, err := r.fail("an & that begins no reference", document.Shown(string(raw[:min(len(raw), 12)]), 12), "write &amp; for the sign itself")
			return nil, err
		}
		c, ok := Character(string(raw[1:end]))
		if !ok {
			_, err := r.fail("a reference that is not known", string(raw[:end+1]), "only &amp; &lt; &gt; &quot; &apos; and characters by number are read")
			return nil, err
		}
		out = utf8.AppendRune(out, c)
		raw = raw[end+1:]
	}
	return out, nil
}

// Character is what a reference stands for, by its name between & and ; (XML 1.0, 4.1 and 4.6): one of the five of XML, or a character by number.
func Character(name string) (rune, bool) {
	switch name {
	case "amp":
		return '&', true
	case "lt":
		return '<', true
	case "gt":
		return '>', true
	case "quot":
		return '"', true
	case "apos":
		return '\'', true
	}
	if len(name) < 2 || name[0] != '#' {
		return 0, false
	}
	base, digits := 10, name[1:]
	if digits[0] == 'x' {
		base, digits = 16, digits[1:]
	}
	v, err := strconv.ParseUint(digits, base, 32)
	if err != nil || v > utf8.MaxRune || !utf8.ValidRune(rune(v)) || v < ' ' && v != '\t' && v != '\n' && v != '\r' {
		return 0, false
	}
	return rune(v), true
}

// Number reads a figure as XML Schema writes a double or decimal, blanks around it allowed; not infinity and not NaN.
func Number(text []byte) (float64, bool) {
	text = bytes.TrimSpace(text)
	if len(text) == 0 || len(text) > 64 {
		return 0, false
	}
	for _, c := range text {
		if (c < '0' || c > '9') && c != '.' && c != '-' && c != '+' && c != 'e' && c != 'E' {
			return 0, false
		}
	}
	v, err := strconv.ParseFloat(string(text), 64)
	return v, err == nil
}

// Content is the text of the element that has begun, up to its end, its inner elements passed over.
func (r *Reader) Content() ([]byte, error) {
	depth := r.Depth()
	var all []byte
	pieces := 0
	for {
		k, err := r.Next()
		switch {
		case err != nil:
			return nil, err
		case k == EndOf && r.Depth() < depth:
			return all, nil
		case k == Text && r.Depth() == depth:
			switch pieces++; pieces {
			case 1:
				all = r.text
			case 2:
				all = append(append([]byte(nil), all...), r.text...)
			default:
				all = append(all, r.text...)
			}
		}
	}
}

// Each calls visit for every element right within the one that has begun, up to its end; visit takes the element up to its own end, by
// Each, Content or Skip.
func (r *Reader) Each(visit func() error) error {
	for {
		k, err := r.Next()
		switch {
		case err != nil:
			return err
		case k == EndOf, k == EndFile:
			return nil
		case k == Begin:
			if err := visit(); err != nil {
				return err
			}
		}
	}
}

// Skip passes over the element that has begun, up to its end.
func (r *Reader) Skip() error {
	depth := r.Depth()
	for {
		k, err := r.Next()
		if err != nil {
			return err
		}
		if k == EndOf && r.Depth() < depth {
			return nil
		}
	}
}

// Finish reads on to the end of the file, to see that it is whole.
func (r *Reader) Finish() error {
	for {
		k, err := r.Next()
		if err != nil || k == EndFile {
			return err
		}
	}
}

// Root reads up to the root element and tells whether it is the one wanted; what it is for is said in the error.
func (r *Reader) Root(name, format string) error {
	k, err := r.Next()
	if err != nil {
		return err
	}
	if k != Begin || !r.Is(name) {
		_, err := r.fail("not a "+format+" file", fmt.Sprintf("its root element is <%s>, not <%s>", document.Shown(string(r.name), 40), name), "")
		r.failed = err
		return err
	}
	return nil
}
