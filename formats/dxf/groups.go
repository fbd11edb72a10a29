package dxf

import (
	"bytes"
	"fmt"
	"math"
	"strconv"

	"obvert/document"
)

// Bounds of what is read, so that no file takes more memory than a drawing needs.
const (
	mostVertices = 5_000_000
	mostChains   = 2_000_000
	mostTexts    = 200_000
	mostText     = 250 // characters kept of one text; longer ones are no labels
	mostLayers   = 20_000
	mostFaults   = 20
	largest      = 1e12 // of a coordinate; beyond it a difference of a millimetre is lost
)

// scanner walks through pairs of group code and value.
type scanner struct {
	file   string
	data   []byte
	at     int
	line   int // of the line read last, from 1
	code   int
	value  []byte // of the group read last, without white space round it
	ended  bool   // the pairs have come out of step, or the file has ended
	again  bool   // the group is to be read once more
	faults document.Faults
	more   int // faults beyond those that are told
}

func (s *scanner) fault(line int, what, understood, hint string) {
	if len(s.faults) >= mostFaults {
		s.more++
		return
	}
	s.faults = append(s.faults, document.Fault{File: s.file, Line: line, What: what, Understood: understood, Hint: hint})
}

func (s *scanner) read() ([]byte, bool) {
	if s.at >= len(s.data) {
		return nil, false
	}
	rest := s.data[s.at:]
	n := bytes.IndexByte(rest, '\n')
	if n < 0 {
		n = len(rest)
		s.at = len(s.data)
	} else {
		s.at += n + 1
	}
	s.line++
	return rest[:n], true
}

// next reads a pair. It is false at the end and where the pairs are out of step.
func (s *scanner) next() bool {
	if s.ended {
		return false
	}
	if s.again {
		s.again = false
		return true
	}
	head, ok := s.read()
	if !ok {
		s.ended = true
		return false
	}
	head = bytes.TrimSpace(head)
	if len(head) == 0 && len(bytes.TrimSpace(s.data[s.at:])) == 0 { // blank lines at the end
		s.ended = true
		return false
	}
	code, ok := whole(head)
	if !ok {
		s.fault(s.line, fmt.Sprintf("%s is not a group code", quoted(head)), "a DXF file is pairs of lines, a code and its value; here they are out of step, and what follows was not read",
			"export the drawing again as ASCII DXF")
		s.ended = true
		return false
	}
	s.code = code
	value, ok := s.read()
	if !ok {
		s.fault(s.line, fmt.Sprintf("group code %d has no value", code), "the file ends there", "export the drawing again; the file is cut off")
		s.ended = true
		return false
	}
	s.value = bytes.TrimSpace(value)
	return true
}

// back lets the group be read once more.
func (s *scanner) back() { s.again = !s.ended }

// is tells whether the group is of a code and a value.
func (s *scanner) is(code int, value string) bool { return s.code == code && string(s.value) == value }

// number is the group's value as a real.
func (s *scanner) number() (float64, bool) {
	v, err := strconv.ParseFloat(string(s.value), 64)
	if err != nil || math.IsNaN(v) || math.Abs(v) > largest {
		s.fault(s.line, fmt.Sprintf("%s is not a number of a drawing", quoted(s.value)), fmt.Sprintf("value of group code %d", s.code), "mend the value, or export the drawing again")
		return 0, false
	}
	return v, true
}

// integer is the group's value as a whole number.
func (s *scanner) integer() (int, bool) {
	v, ok := whole(s.value)
	if !ok {
		s.fault(s.line, fmt.Sprintf("%s is not a whole number", quoted(s.value)), fmt.Sprintf("value of group code %d", s.code), "mend the value, or export the drawing again")
	}
	return v, ok
}

func whole(b []byte) (int, bool) {
	if len(b) == 0 || len(b) > 11 {
		return 0, false
	}
	sign, v := 1, 0
	if b[0] == '-' || b[0] == '+' {
		if b[0] == '-' {
			sign = -1
		}
		b = b[1:]
	}
	if len(b) == 0 {
		return 0, false
	}
	for _, c := range b {
		if c < '0' || c > '9' {
			return 0, false
		}
		v = v*10 + int(c-'0')
	}
	return sign * v, true
}

func quoted(b []byte) string {
	if len(b) > 40 {
		b = b[:40]
	}
	return strconv.QuoteToASCII(string(b))
}
