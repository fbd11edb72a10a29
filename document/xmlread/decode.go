package xmlread

import (
	"bytes"
	"regexp"
	"strconv"
	"unicode/utf8"

	"golang.org/x/net/html/charset"
	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// declared finds the encoding in an XML declaration.
var declared = regexp.MustCompile(`^\s*<\?xml[^>]*?encoding\s*=\s*["']([A-Za-z0-9._:-]{1,40})["']`)

// decode makes UTF-8 of a file by its byte order mark, its first bytes or its declaration, in that order (XML 1.0, appendix F).
func decode(data []byte) ([]byte, error) {
	tooLarge := func(n int) error {
		return &Error{What: "a file of " + strconv.Itoa(n/1_000_000) + " MB", Hint: "files up to " + strconv.Itoa(MaxBytes/1_000_000) + " MB are read: cut it in parts"}
	}
	if len(data) > MaxBytes {
		return nil, tooLarge(len(data))
	}
	var from encoding.Encoding
	switch {
	case bytes.HasPrefix(data, []byte("\xef\xbb\xbf")):
		data = data[3:]
	case bytes.HasPrefix(data, []byte("\xff\xfe")), bytes.HasPrefix(data, []byte("\xfe\xff")):
		from = unicode.UTF16(unicode.BigEndian, unicode.ExpectBOM)
	case bytes.HasPrefix(data, []byte("<\x00")):
		from = unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM)
	case bytes.HasPrefix(data, []byte("\x00<")):
		from = unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM)
	default:
		if m := declared.FindSubmatch(data[:min(len(data), 400)]); m != nil {
			label := string(m[1])
			e, name := charset.Lookup(label)
			if e == nil || name == "replacement" {
				return nil, &Error{Line: 1, What: "an encoding that is not known", Understood: label, Hint: "save the file as UTF-8"}
			}
			if name != "utf-8" && name != "utf-16le" && name != "utf-16be" { // what begins with a plain < is not UTF-16
				from = e
			}
		}
	}
	if from != nil {
		text, _, err := transform.Bytes(from.NewDecoder(), data)
		if err != nil {
			return nil, &Error{Line: 1, What: "the file is not in the encoding it claims", Understood: err.Error(), Hint: "save it as UTF-8"}
		}
		if len(text) > MaxBytes {
			return nil, tooLarge(len(text))
		}
		return bytes.TrimPrefix(text, []byte("\xef\xbb\xbf")), nil
	}
	if !utf8.Valid(data) {
		line, at := 1, data
		for len(at) > 0 {
			c, n := utf8.DecodeRune(at)
			if c == utf8.RuneError && n == 1 {
				break
			}
			if c == '\n' {
				line++
			}
			at = at[n:]
		}
		return nil, &Error{Line: line, What: "a character that is not UTF-8", Understood: "the file claims UTF-8, or says nothing, which is the same",
			Hint: "save it as UTF-8, or write its encoding in the first line: <?xml version=\"1.0\" encoding=\"windows-1252\"?>"}
	}
	if bytes.IndexByte(data, 0) >= 0 {
		return nil, &Error{What: "not a text file", Understood: "it holds zero bytes", Hint: "is it packed, or another format?"}
	}
	return data, nil
}
