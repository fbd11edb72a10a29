package geojson

import (
	"bytes"
	"encoding/json"
	"strconv"

	"obvert/document"
)

// walker goes over a text that is known to be JSON, with the lines of what it finds. Nothing is copied but strings with escapes.
type walker struct {
	data    []byte
	at      int
	counted int // line breaks are counted to here
	lines   int
}

// valid checks that the data is one JSON text (RFC 8259) and returns what is wrong with it.
func valid(name string, data []byte) (document.Fault, bool) {
	if json.Valid(data) {
		return document.Fault{}, true
	}
	f := document.Fault{File: name, What: "not JSON", Hint: "is the file whole? Write it again from the program that made it"}
	var raw json.RawMessage
	if e, ok := json.Unmarshal(data, &raw).(*json.SyntaxError); ok {
		at := min(max(int(e.Offset)-1, 0), len(data))
		f.Line = 1 + bytes.Count(data[:at], []byte{'\n'})
		f.Understood = e.Error()
		if bytes.Contains(data[at:min(len(data), at+40)], []byte("{")) && e.Offset > 1 && bytes.HasSuffix(bytes.TrimSpace(data[:at]), []byte("}")) {
			f.Hint = "several JSON texts in one file are not read: put the features in one FeatureCollection"
		}
	}
	return f, false
}

// line is the line of the place, from 1.
func (w *walker) line() int32 {
	if w.at > w.counted {
		w.lines += bytes.Count(w.data[w.counted:w.at], []byte{'\n'})
		w.counted = w.at
	}
	return int32(w.lines + 1)
}

// peek is the first byte of the next value.
func (w *walker) peek() byte {
	for w.at < len(w.data) {
		switch c := w.data[w.at]; c {
		case ' ', '\t', '\r', '\n':
			w.at++
		default:
			return c
		}
	}
	return 0
}

// object calls visit with every key of the object that comes next; visit takes the value. What is no object is skipped and told.
func (w *walker) object(visit func(key []byte) error) (is bool, err error) {
	if w.peek() != '{' {
		w.skip()
		return false, nil
	}
	w.at++
	for {
		switch w.peek() {
		case '}':
			w.at++
			return true, nil
		case ',':
			w.at++
			continue
		}
		key := w.text()
		w.peek()
		w.at++ // the colon
		w.peek()
		if err := visit(key); err != nil {
			return true, err
		}
	}
}

// array calls visit before every value of the array that comes next; visit takes the value.
func (w *walker) array(visit func() error) (is bool, err error) {
	if w.peek() != '[' {
		w.skip()
		return false, nil
	}
	w.at++
	for {
		switch w.peek() {
		case ']':
			w.at++
			return true, nil
		case ',':
			w.at++
			continue
		}
		if err := visit(); err != nil {
			return true, err
		}
	}
}

// raw takes the next string as written, without its quotes.
func (w *walker) raw() (text []byte, escaped bool) {
	w.peek()
	w.at++
	from := w.at
	for w.data[w.at] != '"' {
		if w.data[w.at] == '\\' {
			escaped = true
			w.at++
		}
		w.at++
	}
	w.at++
	return w.data[from : w.at-1], escaped
}

// text takes the next value as a string; of what is none it is nil.
func (w *walker) text() []byte {
	if w.peek() != '"' {
		w.skip()
		return nil
	}
	from := w.at
	text, escaped := w.raw()
	if !escaped {
		return text
	}
	var s string
	if json.Unmarshal(w.data[from:w.at], &s) != nil {
		return text
	}
	return []byte(s)
}

// number takes the next value as a number.
func (w *walker) number() (float64, bool) {
	c := w.peek()
	if c != '-' && (c < '0' || c > '9') {
		w.skip()
		return 0, false
	}
	from := w.at
	for w.at < len(w.data) {
		switch w.data[w.at] {
		case '0', '1', '2', '3', '4', '5', '6', '7', '8', '9', '-', '+', '.', 'e', 'E':
			w.at++
			continue
		}
		break
	}
	v, err := strconv.ParseFloat(string(w.data[from:w.at]), 64)
	return v, err == nil
}

// skip passes over the next value.
func (w *walker) skip() {
	switch w.peek() {
	case '"':
		w.raw()
	case '{', '[':
		deep := 0
		for {
			switch w.data[w.at] {
			case '{', '[':
				deep++
			case '}', ']':
				deep--
			case '"':
				w.raw()
				continue
			}
			w.at++
			if deep == 0 {
				return
			}
		}
	default:
		for w.at < len(w.data) {
			switch w.data[w.at] {
			case ',', '}', ']', ' ', '\t', '\r', '\n':
				return
			}
			w.at++
		}
	}
}
