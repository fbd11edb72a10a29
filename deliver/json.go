package deliver

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"reflect"
	"strconv"

	"obvert/study"
)

// Format is the version of the JSON and CSV documents. It changes only when a key changes its meaning or goes.
const Format = 1

// document is what the JSON holds: the result, field by field, and the schedule as it is handed over.
type document struct {
	Format   int `unit:"1"`
	Result   *study.Result
	Schedule []ScheduleRow
}

// JSON writes the whole answer. Keys are the fields' names in lower case with underscores, followed by the unit, such as
// "head_m" and "flow_m3_s"; docs/methods/json.md lists them all. Numbers are SI with ten significant digits, so that the
// last bits of a machine's arithmetic do not show. Counted kinds are words. A number that is not finite is an error.
func JSON(w io.Writer, r *study.Result) error {
	if err := complete(r); err != nil {
		return err
	}
	return Encode(w, document{Format: Format, Result: r, Schedule: Schedule(r)})
}

// Encode writes any value of this program as JSON by the same rules as [JSON]: keys from the names of the exported fields
// and their units, numbers in SI with ten significant digits, counted kinds as words. Maps, functions and channels are
// an error, and so is a number that is not finite.
func Encode(w io.Writer, v any) error {
	e := &encoder{}
	if err := e.value(reflect.ValueOf(v), "", 0); err != nil {
		return fmt.Errorf("deliver: JSON: %w", err)
	}
	e.b.WriteByte('\n')
	_, err := w.Write(e.b.Bytes())
	return err
}

// complete refuses a result that cannot be drawn because its parts do not belong together.
func complete(r *study.Result) error {
	if r == nil || r.Line == nil {
		return fmt.Errorf("deliver: the result has no line: solve the line first")
	}
	l := r.Line
	for i, route := range l.Routes {
		for _, leg := range route.Legs {
			if leg.Run < 0 || leg.Run >= len(l.Runs) {
				return fmt.Errorf("deliver: route %d %q names run %d, the line has %d", i+1, route.Name, leg.Run, len(l.Runs))
			}
		}
	}
	for _, v := range r.Sealing.Valves {
		if v.Run < 0 || v.Run >= len(l.Runs) {
			return fmt.Errorf("deliver: valve %q stands on run %d, the line has %d", v.Name, v.Run, len(l.Runs))
		}
	}
	return nil
}

// encoder writes JSON by reflection: objects indented, lists of plain values on one line.
type encoder struct{ b bytes.Buffer }

func (e *encoder) newline(depth int) {
	e.b.WriteByte('\n')
	for range depth {
		e.b.WriteString("  ")
	}
}

func (e *encoder) value(v reflect.Value, path string, depth int) error {
	switch v.Kind() {
	case reflect.Invalid:
		e.b.WriteString("null")
	case reflect.Pointer, reflect.Interface:
		if v.IsNil() {
			e.b.WriteString("null")
			return nil
		}
		return e.value(v.Elem(), path, depth)
	case reflect.Struct:
		return e.object(v, path, depth)
	case reflect.Slice, reflect.Array:
		return e.list(v, path, depth)
	case reflect.String:
		e.b.WriteString(quoted(v.String()))
	case reflect.Bool:
		e.b.WriteString(strconv.FormatBool(v.Bool()))
	case reflect.Int, reflect.Int64, reflect.Int32, reflect.Int8:
		e.b.WriteString(strconv.FormatInt(v.Int(), 10))
	case reflect.Uint64:
		e.b.WriteString(strconv.FormatUint(v.Uint(), 10))
	case reflect.Uint8:
		w, err := wordOf(v)
		if err != nil {
			return fmt.Errorf("%s: %w", path, err)
		}
		e.b.WriteString(quoted(w))
	case reflect.Float64:
		s, err := number(v.Float())
		if err != nil {
			return fmt.Errorf("%s: %w", path, err)
		}
		e.b.WriteString(s)
	default:
		return fmt.Errorf("%s: a %s cannot be written", path, v.Type())
	}
	return nil
}

// number writes a finite number with ten significant digits, as short as they allow.
func number(f float64) (string, error) {
	if math.IsNaN(f) || math.IsInf(f, 0) {
		return "", fmt.Errorf("the number is %v: a result must be finite, report the input that led to it", f)
	}
	r, err := strconv.ParseFloat(strconv.FormatFloat(f, 'e', 9, 64), 64)
	if err != nil || r == 0 {
		return "0", nil
	}
	if a := math.Abs(r); a < 1e-6 || a >= 1e15 {
		return strconv.FormatFloat(r, 'e', -1, 64), nil
	}
	return strconv.FormatFloat(r, 'f', -1, 64), nil
}

func (e *encoder) object(v reflect.Value, path string, depth int) error {
	e.b.WriteByte('{')
	first := true
	if err := e.fields(v, path, depth, &first); err != nil {
		return err
	}
	if !first {
		e.newline(depth)
	}
	e.b.WriteByte('}')
	return nil
}

// fields writes the fields of a struct; those of the result stand at the document's top.
func (e *encoder) fields(v reflect.Value, path string, depth int, first *bool) error {
	t := v.Type()
	for i := range t.NumField() {
		f := t.Field(i)
		if !f.IsExported() {
			continue
		}
		if t == reflect.TypeFor[document]() && f.Name == "Result" {
			if err := e.fields(v.Field(i).Elem(), path, depth, first); err != nil {
				return err
			}
			continue
		}
		if !*first {
			e.b.WriteByte(',')
		}
		*first = false
		e.newline(depth + 1)
		k := jsonKey(f)
		e.b.WriteString(quoted(k) + ": ")
		if err := e.value(v.Field(i), path+"/"+k, depth+1); err != nil {
			return err
		}
	}
	return nil
}

// plain tells whether a list of such values is written on one line.
func plain(t reflect.Type) bool {
	switch t.Kind() {
	case reflect.Float64, reflect.Int, reflect.Bool, reflect.Uint8:
		return true
	case reflect.Array:
		return plain(t.Elem())
	}
	return false
}

func (e *encoder) list(v reflect.Value, path string, depth int) error {
	one := plain(v.Type().Elem())
	e.b.WriteByte('[')
	for i := range v.Len() {
		if i > 0 {
			e.b.WriteByte(',')
			if one {
				e.b.WriteByte(' ')
			}
		}
		if !one {
			e.newline(depth + 1)
		}
		if err := e.value(v.Index(i), path+"/"+strconv.Itoa(i), depth+1); err != nil {
			return err
		}
	}
	if !one && v.Len() > 0 {
		e.newline(depth)
	}
	e.b.WriteByte(']')
	return nil
}

// quoted writes a JSON string (RFC 8259, section 7); what is not UTF-8 becomes the replacement character.
func quoted(s string) string {
	var b bytes.Buffer
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r == '\n':
			b.WriteString(`\n`)
		case r < 0x20 || r == 0x2028 || r == 0x2029:
			fmt.Fprintf(&b, `\u%04x`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}
