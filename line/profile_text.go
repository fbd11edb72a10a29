package line

import (
	"bytes"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"obvert/document"
	"obvert/quantity"
)

// foreign are first bytes that tell a file of another kind.
var foreign = []struct{ magic, what, hint string }{
	{"PK\x03\x04", "a workbook or an archive (zip), not a text file", "save the sheet as CSV"},
	{"\xd0\xcf\x11\xe0", "a workbook of the old binary kind, not a text file", "save the sheet as CSV"},
	{"%PDF", "a PDF, not a text file", "ask for the table as CSV"},
	{"\x1f\x8b", "a compressed file (gzip), not a text file", "unpack it"},
	{"\xff\xfe\x00\x00", "UTF-32 text", "save it as UTF-8"},
	{"\x00\x00\xfe\xff", "UTF-32 text", "save it as UTF-8"},
}

// decode turns the bytes into UTF-8 text without a byte-order mark.
func (p *profileReader) decode(data []byte) bool {
	fail := func(what, understood, hint string) bool {
		p.faults.Add(document.Fault{What: what, Understood: understood, Hint: hint})
		return false
	}
	if len(data) > p.mostBytes {
		return fail("the file is too large", itoa(len(data))+" bytes, and the limit is "+itoa(p.mostBytes/1_000_000)+" MB ("+itoa(p.mostBytes)+" bytes)",
			"leave out points that no pipe bends at")
	}
	for _, f := range foreign {
		if bytes.HasPrefix(data, []byte(f.magic)) {
			return fail("the profile cannot be read", f.what, f.hint)
		}
	}
	text, encoding := decodeText(data)
	p.result.Dialect.Encoding = encoding
	if i := bytes.IndexByte(text, 0); i >= 0 {
		return fail("the profile cannot be read", "zero bytes as no text file has, the first in line "+itoa(1+bytes.Count(text[:i], []byte{'\n'})),
			"save it as UTF-8 text with columns")
	}
	text = oneLineEnd(bytes.TrimRight(text, "\x1a")) // a Ctrl-Z ended files of old
	if len(bytes.TrimSpace(text)) == 0 {
		return fail("the file is empty", "", "a profile needs a header line and two points or more")
	}
	p.text = text
	if encoding == windows1252 {
		p.remarkWindows(data)
	}
	return true
}

const windows1252 = "Windows-1252"

// DecodeText gives the beginning of a file as text, in whatever encoding it is, for a look at what it holds.
func DecodeText(head []byte) string {
	text, _ := decodeText(head)
	return string(text)
}

// decodeText finds the encoding: a byte-order mark first, then zero bytes as UTF-16 has
// them, then whether it is valid UTF-8, and Windows-1252 where it is not.
func decodeText(data []byte) (text []byte, encoding string) {
	switch {
	case bytes.HasPrefix(data, []byte("\xef\xbb\xbf")):
		if rest := data[3:]; utf8.Valid(rest) {
			return rest, "UTF-8 with a byte-order mark"
		}
		return fromWindows(data[3:]), windows1252
	case bytes.HasPrefix(data, []byte("\xff\xfe")):
		return fromUTF16(data[2:], unicode.LittleEndian), "UTF-16 LE"
	case bytes.HasPrefix(data, []byte("\xfe\xff")):
		return fromUTF16(data[2:], unicode.BigEndian), "UTF-16 BE"
	}
	switch even, odd := zeroBytes(data); {
	case odd > 0.4 && even < 0.05:
		return fromUTF16(data, unicode.LittleEndian), "UTF-16 LE without a byte-order mark"
	case even > 0.4 && odd < 0.05:
		return fromUTF16(data, unicode.BigEndian), "UTF-16 BE without a byte-order mark"
	case utf8.Valid(data):
		return data, "UTF-8"
	}
	return fromWindows(data), windows1252
}

// zeroBytes is the share of zeros among the bytes at even and at odd places of the file's beginning.
func zeroBytes(data []byte) (even, odd float64) {
	n := min(len(data), 4096) &^ 1
	if n == 0 {
		return 0, 0
	}
	for i := 0; i < n; i += 2 {
		if data[i] == 0 {
			even++
		}
		if data[i+1] == 0 {
			odd++
		}
	}
	return even / float64(n/2), odd / float64(n/2)
}

func fromUTF16(data []byte, order unicode.Endianness) []byte {
	text, err := unicode.UTF16(order, unicode.IgnoreBOM).NewDecoder().Bytes(data)
	if err != nil {
		return data // cannot happen: the decoder replaces what it cannot read
	}
	return text
}

func fromWindows(data []byte) []byte {
	text, err := charmap.Windows1252.NewDecoder().Bytes(data)
	if err != nil {
		return data // cannot happen: the decoder replaces what it cannot read
	}
	return text
}

// oneLineEnd turns line ends by CR alone into LF. CR LF stays as it is.
func oneLineEnd(text []byte) []byte {
	alone := func(i int) bool { return i+1 >= len(text) || text[i+1] != '\n' }
	first := -1
	for from := 0; ; {
		i := bytes.IndexByte(text[from:], '\r')
		if i < 0 {
			return text
		}
		if i += from; alone(i) {
			first = i
			break
		}
		from = i + 1
	}
	out := bytes.Clone(text)
	for i := first; i < len(out); i++ {
		if out[i] == '\r' && alone(i) {
			out[i] = '\n'
		}
	}
	return out
}

// remarkWindows says that the file is no UTF-8, and shows the first line that tells.
func (p *profileReader) remarkWindows(data []byte) {
	line := 1
	for len(data) > 0 {
		i := bytes.IndexAny(data, "\n\r")
		row := data
		if i >= 0 {
			row = data[:i]
		}
		if !utf8.Valid(row) {
			p.faults.Remark("profile.encoding", line, "the file is not UTF-8", "read as Windows-1252: "+quantity.Quote(string(fromWindows(row))),
				"save it as UTF-8 if letters look wrong")
			return
		}
		if i < 0 {
			return
		}
		if data[i] == '\r' && i+1 < len(data) && data[i+1] == '\n' {
			i++
		}
		data = data[i+1:]
		line++
	}
}
