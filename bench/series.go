package bench

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode/utf8"

	"obvert/document"
	"obvert/quantity"
)

// largestSeries is the limit of a series file in bytes.
const largestSeries = 64 << 20

// mostFaults is how many faults of one series are told one by one.
const mostFaults = 20

type column uint8

const (
	noColumn column = iota
	timeColumn
	gaugeColumn
	tubeColumn
)

// columnOf finds a column by its head, unit taken off.
func columnOf(head string) column {
	switch strings.ToLower(strings.TrimSpace(head)) {
	case "time":
		return timeColumn
	case "gauge":
		return gaugeColumn
	case "tube":
		return tubeColumn
	}
	return noColumn
}

// kind is what a column's figures measure.
func (c column) kind() quantity.Kind {
	return [...]quantity.Kind{timeColumn: quantity.Time, gaugeColumn: quantity.GaugePressure, tubeColumn: quantity.Length}[c]
}

func (c column) String() string {
	return [...]string{"no column", "time", "gauge", "tube"}[c]
}

// set puts a figure into its field.
func (s *Sample) set(c column, v float64) {
	switch c {
	case timeColumn:
		s.Time = v
	case gaugeColumn:
		s.Gauge, s.HasGauge = v, true
	case tubeColumn:
		s.Tube, s.HasTube = v, true
	}
}

// seriesReader reads a series from CSV.
type seriesReader struct {
	file    string
	faults  document.Faults
	dropped int  // faults beyond mostFaults
	comma   bool // a decimal comma was read
	cols    []column
	units   []string  // "" where the cells carry theirs
	factor  []float64 // SI units in one of units
}

// parseSeries reads a series: one head line with the columns time, gauge, tube,
// each with its unit in brackets ("gauge [kPa]") or in its cells; separated by
// comma, semicolon or tab; other columns are left alone with a remark. An empty
// cell is a reading that was not taken. Lines that begin with # are comments.
func parseSeries(file string, data []byte) ([]Sample, document.Faults) {
	rd := &seriesReader{file: file}
	if !rd.bytes(data) {
		return nil, rd.faults
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	cr := csv.NewReader(bytes.NewReader(data))
	cr.Comma = separator(data)
	cr.Comment = '#'
	cr.FieldsPerRecord = -1
	cr.TrimLeadingSpace = cr.Comma != '\t'
	var samples []Sample
	for {
		rec, err := cr.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			rd.broken(err)
			break
		}
		line, _ := cr.FieldPos(0)
		switch {
		case rd.cols == nil:
			if !rd.head(rec, line) {
				return nil, rd.faults
			}
		case !blank(rec):
			if s, ok := rd.row(rec, line, cr.Comma); ok {
				samples = append(samples, s)
			}
		}
	}
	return samples, rd.finish(len(samples))
}

// finish adds what can be said only at the end.
func (rd *seriesReader) finish(rows int) document.Faults {
	if rd.dropped > 0 {
		rd.faults = append(rd.faults, document.Fault{File: rd.file, What: fmt.Sprintf("%d more rows like these", rd.dropped), Understood: "the first ones are told", Hint: "mend these first"})
	}
	if rd.comma {
		rd.faults = append(rd.faults, document.Fault{File: rd.file, ID: "series.decimal-comma", Severity: document.RemarkSeverity,
			What: "decimal commas", Understood: "1,5 is one and a half", Hint: "nothing to do if that is right"})
	}
	if rows == 0 && rd.faults.Err() == nil {
		rd.faults = append(rd.faults, document.Fault{File: rd.file, What: "a series without a reading", Understood: "no row below the head", Hint: "give time and gauge or tube, a row for each reading"})
	}
	return rd.faults
}

func (rd *seriesReader) add(line, col int, key, what, understood, hint string) {
	if len(rd.faults) >= mostFaults {
		rd.dropped++
		return
	}
	rd.faults = append(rd.faults, document.Fault{File: rd.file, Line: line, Column: col, Key: key, What: what, Understood: understood, Hint: hint})
}

// bytes checks the file as a whole.
func (rd *seriesReader) bytes(data []byte) bool {
	switch {
	case len(data) > largestSeries:
		rd.add(0, 0, "", "the file is too large", fmt.Sprintf("%d MB", len(data)>>20), "a series has up to 64 MB; take fewer readings a second")
	case bytes.HasPrefix(data, []byte{0xff, 0xfe}) || bytes.HasPrefix(data, []byte{0xfe, 0xff}):
		rd.add(1, 1, "", "the file is UTF-16", "a UTF-16 byte-order mark", "save it as UTF-8")
	case !utf8.Valid(data):
		at := 0
		for at < len(data) {
			r, n := utf8.DecodeRune(data[at:])
			if r == utf8.RuneError && n == 1 {
				break
			}
			at += n
		}
		rd.add(1+bytes.Count(data[:at], []byte("\n")), 0, "", "the file is not UTF-8", fmt.Sprintf("byte 0x%02x", data[at]), "save it as UTF-8")
	case len(bytes.TrimSpace(data)) == 0:
		rd.add(0, 0, "", "the file is empty", "no head, no reading", "give a head line and the readings")
	default:
		return true
	}
	return false
}

func (rd *seriesReader) broken(err error) {
	var pe *csv.ParseError
	if errors.As(err, &pe) {
		rd.add(pe.Line, pe.Column, "", "the row cannot be read", pe.Err.Error(), "look at its quotation marks")
		return
	}
	rd.add(0, 0, "", "the file cannot be read", err.Error(), "look at the file")
}

// separator is the one of tab, semicolon and comma that the head line has.
func separator(data []byte) rune {
	for line := range bytes.Lines(data) {
		if line = bytes.TrimSpace(line); len(line) == 0 || line[0] == '#' {
			continue
		}
		for _, sep := range []byte{'\t', ';'} {
			if bytes.IndexByte(line, sep) >= 0 {
				return rune(sep)
			}
		}
		break
	}
	return ','
}

func blank(rec []string) bool {
	for _, cell := range rec {
		if strings.TrimSpace(cell) != "" {
			return false
		}
	}
	return true
}

// head reads the head line.
func (rd *seriesReader) head(rec []string, line int) bool {
	rd.cols, rd.units, rd.factor = make([]column, len(rec)), make([]string, len(rec)), make([]float64, len(rec))
	seen := map[column]bool{}
	for i, cell := range rec {
		name, unit := splitHead(cell)
		c := columnOf(name)
		if c == noColumn {
			rd.faults = append(rd.faults, document.Fault{File: rd.file, Line: line, ID: "series.column-unused", Severity: document.RemarkSeverity,
				What: "a column that is not used", Understood: strings.TrimSpace(cell), Hint: "the columns are time, gauge, tube, such as gauge [kPa]"})
			continue
		}
		if seen[c] {
			rd.add(line, 0, c.String(), "a column that stands twice", strings.TrimSpace(cell), "leave one of the two")
		}
		seen[c] = true
		rd.cols[i], rd.units[i] = c, unit
		if unit != "" {
			one, err := quantity.Parse(c.kind(), "1 "+unit)
			rd.factor[i] = one
			if err != nil {
				rd.add(line, 0, c.String(), "a unit that does not fit", unit, unitHint(err))
			}
		}
	}
	if !seen[timeColumn] || !seen[gaugeColumn] && !seen[tubeColumn] {
		rd.add(line, 0, "", "a series without time or without a reading", strings.Join(rec, " | "), "the head names time [s] and gauge [kPa] or tube [m]")
	}
	return rd.faults.Err() == nil
}

func unitHint(err error) string {
	var qe *quantity.Error
	if errors.As(err, &qe) && qe.Hint != "" {
		return qe.Hint
	}
	return err.Error()
}

// splitHead takes the unit off a head: "gauge [kPa]" or "gauge (kPa)". A
// reference within the unit, "kPa(g)", stays with it.
func splitHead(cell string) (name, unit string) {
	cell = strings.TrimSpace(cell)
	for _, b := range []string{"[]", "()"} {
		if i := strings.IndexByte(cell, b[0]); i > 0 && cell[len(cell)-1] == b[1] {
			return strings.TrimSpace(cell[:i]), strings.TrimSpace(cell[i+1 : len(cell)-1])
		}
	}
	return cell, ""
}

// row reads one row.
func (rd *seriesReader) row(rec []string, line int, sep rune) (Sample, bool) {
	s := Sample{at: place{file: rd.file, line: line}}
	ok, timed := true, false
	if len(rec) > len(rd.cols) {
		rd.add(line, 0, "", "more cells than columns", fmt.Sprintf("%d cells, %d columns", len(rec), len(rd.cols)), "look for a comma within a number, or a cell too many")
		return s, false
	}
	for i, cell := range rec {
		cell = strings.TrimSpace(cell)
		if rd.cols[i] == noColumn || cell == "" {
			continue
		}
		v, good := rd.figure(cell, i, line, sep)
		ok = ok && good
		s.set(rd.cols[i], v)
		timed = timed || rd.cols[i] == timeColumn
	}
	switch {
	case ok && !timed:
		rd.add(line, 0, "time", "a row without a time", strings.Join(rec, " | "), "give the time of each reading")
		ok = false
	case ok && !s.HasGauge && !s.HasTube:
		rd.add(line, 0, "", "a row without a reading", strings.Join(rec, " | "), "give the gauge or the tube, or leave the row out")
		ok = false
	}
	return s, ok
}

// figure reads one cell.
func (rd *seriesReader) figure(cell string, i, line int, sep rune) (float64, bool) {
	text := cell
	if sep != ',' && strings.Count(text, ",") == 1 && !strings.Contains(text, ".") {
		text = strings.Replace(text, ",", ".", 1)
		rd.comma = true
	}
	c := rd.cols[i]
	if v, ok := plainNumber(text); ok && rd.units[i] != "" {
		return v * rd.factor[i], true
	}
	if rd.units[i] != "" {
		text += " " + rd.units[i]
	}
	v, err := quantity.Parse(c.kind(), text)
	if err != nil {
		understood := cell
		var qe *quantity.Error
		if errors.As(err, &qe) && qe.Understood != "" {
			understood = cell + ": " + qe.Understood
		}
		rd.add(line, 0, c.String(), "not "+c.kind().String(), understood, unitHint(err))
		return 0, false
	}
	return v, true
}

// plainNumber reads what nearly every cell holds, a few digits with a point, at a
// tenth of the time that a figure with its unit takes; all else is left to package
// quantity and its messages.
func plainNumber(text string) (float64, bool) {
	if len(text) == 0 || len(text) > 15 {
		return 0, false
	}
	for i := range len(text) {
		if ch := text[i]; (ch < '0' || ch > '9') && ch != '.' && (ch != '-' || i > 0) {
			return 0, false
		}
	}
	v, err := strconv.ParseFloat(text, 64)
	return v, err == nil && text[len(text)-1] != '.' && text[0] != '.'
}
