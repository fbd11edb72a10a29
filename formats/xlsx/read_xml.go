package xlsx

import (
	"bytes"
	"io"
	"unicode/utf8"

	"obvert/document/xmlread"
)

// token is a piece of XML.
type token uint8

const (
	eof token = iota
	startTag
	endTag
	text
)

// scanner goes through the XML of a part once, holding one tag or one piece of text at a time. It reads what ECMA-376
// lets a part hold: elements, attributes, text, CDATA, comments and instructions in UTF-8. A document type is refused,
// and with it every entity that is not one of the five of XML itself.
type scanner struct {
	r     io.Reader
	close io.Closer
	buf   []byte
	at    int // of what is not yet taken, in buf
	end   int // of what has been read, in buf
	done  error

	name  []byte // of the tag, without prefix
	attrs []byte // of a start tag, as written
	body  []byte // of text, entities replaced
	plain bool   // body came from CDATA
	empty bool   // the start tag closes itself

	stack  []byte // names of open elements, one after another
	marks  []int  // where each begins
	opened bool   // any element was met
	spare  []byte
}

func newScanner(r io.Reader, c io.Closer) *scanner {
	return &scanner{r: r, close: c, buf: make([]byte, 64<<10)}
}

// fill reads more behind what is there; false at the end of the part.
func (s *scanner) fill() bool {
	if s.done != nil {
		return false
	}
	if s.at > 0 {
		copy(s.buf, s.buf[s.at:s.end])
		s.end -= s.at
		s.at = 0
	}
	if s.end == len(s.buf) {
		s.buf = append(s.buf, make([]byte, len(s.buf))...)
	}
	n, err := s.r.Read(s.buf[s.end:])
	s.end += n
	for n == 0 && err == nil {
		n, err = s.r.Read(s.buf[s.end:])
		s.end += n
	}
	if err != nil {
		s.done = err
	}
	return n > 0
}

// ended is the error of a part that ends where it must not.
func (s *scanner) ended() error {
	if s.done != io.EOF {
		return s.done
	}
	return errMarkup
}

// upTo finds a mark behind the first skip bytes of what is there, reading on as needed; it returns its place from s.at.
func (s *scanner) upTo(mark []byte, skip, most int) (int, error) {
	from := skip
	for {
		if i := bytes.Index(s.buf[s.at+min(from, s.end-s.at):s.end], mark); i >= 0 {
			return from + i, nil
		}
		have := s.end - s.at
		if have > most {
			return 0, errMarkup
		}
		from = max(skip, have-len(mark)+1)
		if !s.fill() {
			return 0, s.ended()
		}
	}
}

// need makes sure of n bytes.
func (s *scanner) need(n int) bool {
	for s.end-s.at < n {
		if !s.fill() {
			return false
		}
	}
	return true
}

// next takes the next tag or piece of text. Text between elements that is blank comes too.
func (s *scanner) next() (token, error) {
	if s.empty {
		s.empty = false
		return endTag, s.pop()
	}
	for {
		if !s.need(1) {
			if s.done != io.EOF {
				return eof, s.done
			}
			if len(s.marks) > 0 || !s.opened {
				return eof, errMarkup
			}
			return eof, nil
		}
		if s.buf[s.at] != '<' {
			return text, s.takeText()
		}
		if !s.need(2) {
			return eof, s.ended()
		}
		switch s.buf[s.at+1] {
		case '?':
			if err := s.instruction(); err != nil {
				return eof, err
			}
		case '!':
			cdata, err := s.declaration()
			if err != nil {
				return eof, err
			}
			if cdata {
				return text, nil
			}
		case '/':
			return endTag, s.takeEnd()
		default:
			return startTag, s.takeStart()
		}
	}
}

func (s *scanner) takeText() error {
	n := 0
	for {
		i := bytes.IndexByte(s.buf[s.at+n:s.end], '<')
		if i >= 0 {
			n += i
			break
		}
		n = s.end - s.at
		if n > maxText {
			return errMarkup
		}
		if !s.fill() {
			if s.done != io.EOF {
				return s.done
			}
			break
		}
	}
	raw := s.buf[s.at : s.at+n]
	s.at += n
	if len(s.marks) == 0 && len(bytes.Trim(raw, " \t\r\n\xef\xbb\xbf")) > 0 {
		if len(raw) > 1 && (raw[0] == 0xFE && raw[1] == 0xFF || raw[0] == 0xFF && raw[1] == 0xFE || raw[0] == 0) {
			return errEncoding
		}
		return errMarkup
	}
	s.plain = false
	var err error
	s.body, err = s.unescape(raw)
	return err
}

// unescape replaces entities; without any the text stays where it is.
func (s *scanner) unescape(raw []byte) ([]byte, error) {
	if bytes.IndexByte(raw, '&') < 0 {
		return raw, nil
	}
	out := s.spare[:0]
	for {
		i := bytes.IndexByte(raw, '&')
		if i < 0 {
			break
		}
		out = append(out, raw[:i]...)
		raw = raw[i+1:]
		end := bytes.IndexByte(raw[:min(len(raw), 12)], ';')
		if end <= 0 {
			return nil, errMarkup
		}
		r, ok := xmlread.Character(string(raw[:end]))
		if !ok {
			return nil, errEntity
		}
		out = utf8.AppendRune(out, r)
		raw = raw[end+1:]
	}
	out = append(out, raw...)
	s.spare = out
	return out, nil
}

// instruction skips <?…?>, and refuses an encoding that is not UTF-8.
func (s *scanner) instruction() error {
	n, err := s.upTo([]byte("?>"), 2, maxTag)
	if err != nil {
		return err
	}
	body := bytes.ToLower(s.buf[s.at+2 : s.at+n])
	s.at += n + 2
	if bytes.HasPrefix(body, []byte("xml ")) {
		s.attrs = body[4:]
		if e := s.attr("encoding"); len(e) > 0 && string(e) != "utf-8" && string(e) != "us-ascii" {
			return errEncoding
		}
	}
	return nil
}

// declaration skips a comment, takes CDATA and refuses a document type.
func (s *scanner) declaration() (cdata bool, err error) {
	const open = "<![CDATA["
	switch {
	case s.need(4) && string(s.buf[s.at:s.at+4]) == "<!--":
		n, err := s.upTo([]byte("-->"), 4, maxText)
		if err != nil {
			return false, err
		}
		s.at += n + 3
		return false, nil
	case s.need(len(open)) && string(s.buf[s.at:s.at+len(open)]) == open && len(s.marks) > 0:
		n, err := s.upTo([]byte("]]>"), len(open), maxText)
		if err != nil {
			return false, err
		}
		s.body, s.plain = s.buf[s.at+len(open):s.at+n], true
		s.at += n + 3
		return true, nil
	case s.done != nil && s.done != io.EOF:
		return false, s.done
	}
	return false, errDoctype
}

func (s *scanner) takeStart() error {
	n, quote := 1, byte(0)
	for {
		for ; s.at+n < s.end; n++ {
			c := s.buf[s.at+n]
			switch {
			case quote != 0:
				if c == quote {
					quote = 0
				}
			case c == '"' || c == '\'':
				quote = c
			case c == '<':
				return errMarkup
			case c == '>':
				return s.opening(n)
			}
		}
		if n > maxTag {
			return errMarkup
		}
		if !s.fill() {
			return s.ended()
		}
	}
}

// opening takes the start tag that ends n bytes on.
func (s *scanner) opening(n int) error {
	tag := s.buf[s.at+1 : s.at+n]
	s.at += n + 1
	if len(tag) > 0 && tag[len(tag)-1] == '/' {
		s.empty = true
		tag = tag[:len(tag)-1]
	}
	i := 0
	for i < len(tag) && !isBlank(tag[i]) {
		i++
	}
	if i == 0 || i > 200 {
		return errMarkup
	}
	if len(s.marks) == 0 && s.opened {
		return errMarkup // two roots
	}
	if len(s.marks) >= maxDepth {
		return errDepth
	}
	s.opened = true
	s.marks = append(s.marks, len(s.stack))
	s.stack = append(s.stack, tag[:i]...)
	s.name, s.attrs = local(tag[:i]), tag[i:]
	return nil
}

func isBlank(c byte) bool { return c == ' ' || c == '\t' || c == '\n' || c == '\r' }

// local is a name without its prefix.
func local(name []byte) []byte {
	if i := bytes.LastIndexByte(name, ':'); i >= 0 {
		return name[i+1:]
	}
	return name
}

func (s *scanner) takeEnd() error {
	n, err := s.upTo([]byte(">"), 2, maxTag)
	if err != nil {
		return err
	}
	name := s.buf[s.at+2 : s.at+n]
	s.at += n + 1
	for len(name) > 0 && isBlank(name[len(name)-1]) {
		name = name[:len(name)-1]
	}
	if len(s.marks) == 0 || !bytes.Equal(name, s.stack[s.marks[len(s.marks)-1]:]) {
		return errMarkup
	}
	return s.pop()
}

// pop closes the innermost element.
func (s *scanner) pop() error {
	last := len(s.marks) - 1
	s.name = local(s.stack[s.marks[last]:])
	s.stack, s.marks = s.stack[:s.marks[last]], s.marks[:last]
	return nil
}

// depth is how many elements are open.
func (s *scanner) depth() int { return len(s.marks) }

// attr is the value of an attribute of the start tag, entities as written; nil where there is none. The name is given
// without prefix and found with any.
func (s *scanner) attr(name string) []byte {
	a := s.attrs
	for {
		i := 0
		for i < len(a) && isBlank(a[i]) {
			i++
		}
		from := i
		for i < len(a) && a[i] != '=' && !isBlank(a[i]) {
			i++
		}
		key := a[from:i]
		for i < len(a) && isBlank(a[i]) {
			i++
		}
		if i+1 >= len(a) || a[i] != '=' {
			return nil
		}
		for i++; i < len(a) && isBlank(a[i]); i++ {
		}
		if i >= len(a) || a[i] != '"' && a[i] != '\'' {
			return nil
		}
		n := bytes.IndexByte(a[i+1:], a[i])
		if n < 0 {
			return nil
		}
		if string(local(key)) == name {
			return a[i+1 : i+1+n]
		}
		a = a[i+n+2:]
	}
}

// attrText is an attribute's value with its entities replaced.
func (s *scanner) attrText(name string) (string, error) {
	b, err := s.unescape(s.attr(name))
	return string(b), err
}

// flag is a truth value of an attribute (ECMA-376 takes those of XML Schema).
func (s *scanner) flag(name string) bool {
	v := string(s.attr(name))
	return v == "1" || v == "true" || v == "on"
}

// number is a whole number from 0 in an attribute, −1 where there is none such.
func (s *scanner) number(name string) int {
	return whole(s.attr(name))
}

func whole(b []byte) int {
	if len(b) == 0 || len(b) > 9 {
		return -1
	}
	n := 0
	for _, c := range b {
		if c < '0' || c > '9' {
			return -1
		}
		n = n*10 + int(c-'0')
	}
	return n
}
