package deliver

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"reflect"
	"strconv"
	"strings"

	"obvert/study"
)

// flatCell is one figure or text of a row of the schedule, under the head that it has in every table.
type flatCell struct {
	head  string
	value reflect.Value
}

// flat lays a row out in one line. A field's head is its key in the JSON; an object's fields follow after its key (air_in_needed_kg_s), and
// each operating case gives a group of columns with its number in the order of the line (case_1_name, case_1_head_m …), so that a head
// keeps its meaning for as long as the line's cases keep their order.
func flat(v reflect.Value, before string) []flatCell {
	var out []flatCell
	for i := range v.NumField() {
		f := v.Type().Field(i)
		key, x := before+jsonKey(f), v.Field(i)
		switch {
		case x.Kind() == reflect.Slice:
			key = strings.TrimSuffix(key, "s")
			for k := range x.Len() {
				out = append(out, flat(x.Index(k), key+"_"+strconv.Itoa(k+1)+"_")...)
			}
		case x.Kind() == reflect.Struct:
			out = append(out, flat(x, key+"_")...)
		default:
			out = append(out, flatCell{key, x})
		}
	}
	return out
}

// ScheduleCSV writes the schedule of air valves: UTF-8, comma separated, one head line, SI units in the heads, ten
// significant digits (RFC 4180). The heads are the schedule's keys in the JSON; those of objects in it follow after the object's key, and
// case_1_…, case_2_… are the operating cases in the order of the line. A text that a spreadsheet would take for a
// formula gets an apostrophe before it.
func ScheduleCSV(w io.Writer, r *study.Result) error {
	if err := complete(r); err != nil {
		return err
	}
	var b bytes.Buffer
	c := csv.NewWriter(&b)
	c.UseCRLF = true
	rows := Schedule(r)
	for i := -1; i < len(rows); i++ {
		row := ScheduleRow{Cases: make([]ScheduleCase, len(r.Line.Cases))} // for the heads
		if i >= 0 {
			row = rows[i]
		}
		var cells []string
		for _, f := range flat(reflect.ValueOf(row), "") {
			s, err := f.head, error(nil)
			if i >= 0 {
				s, err = cellText(f.value)
			}
			if err != nil {
				return fmt.Errorf("deliver: schedule: valve %q, %s: %w", row.Valve, f.head, err)
			}
			cells = append(cells, s)
		}
		if err := c.Write(cells); err != nil {
			return err
		}
	}
	c.Flush()
	if err := c.Error(); err != nil {
		return err
	}
	_, err := w.Write(b.Bytes())
	return err
}

func cellText(v reflect.Value) (string, error) {
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			return "", nil
		}
		return cellText(v.Elem())
	case reflect.Float64:
		return number(v.Float())
	case reflect.Bool:
		if v.Bool() {
			return "yes", nil
		}
		return "no", nil
	}
	return guarded(v.String()), nil
}

// guarded puts an apostrophe before a text that a spreadsheet would take for a formula.
func guarded(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r", rune(s[0])) {
		return "'" + s
	}
	return s
}
