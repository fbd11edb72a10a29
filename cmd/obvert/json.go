package main

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"reflect"
	"strings"
	"unicode"

	"obvert/bench"
)

// writeJSON writes a value with the keys of its fields in small letters, words
// parted by underscores, and the unit of every figure behind its key:
// mean_pa, flow_m3_s. Figures are SI.
func writeJSON(w io.Writer, v any) error {
	out, err := keyed(reflect.ValueOf(v))
	if err != nil {
		return err
	}
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(out)
}

// pair is one member of an object; objects keep the order of their fields.
type pair struct {
	key   string
	value any
}

type object []pair

// MarshalJSON writes the members in their order.
func (o object) MarshalJSON() ([]byte, error) {
	var b strings.Builder
	b.WriteByte('{')
	for i, p := range o {
		if i > 0 {
			b.WriteByte(',')
		}
		key, err := json.Marshal(p.key)
		if err != nil {
			return nil, err
		}
		value, err := json.Marshal(p.value)
		if err != nil {
			return nil, err
		}
		b.Write(key)
		b.WriteByte(':')
		b.Write(value)
	}
	b.WriteByte('}')
	return []byte(b.String()), nil
}

// markWords are the words of the kinds of mark.
var markWords = map[bench.MarkKind]string{bench.Change: "change", bench.Look: "look"}

// keyed turns a value into objects, lists, texts and figures.
func keyed(v reflect.Value) (any, error) {
	if v.IsValid() && v.Kind() != reflect.Pointer && v.Kind() != reflect.Interface {
		if k, ok := v.Interface().(bench.MarkKind); ok {
			return markWords[k], nil
		}
		if s, ok := v.Interface().(fmt.Stringer); ok && v.CanInt() || ok && v.CanUint() {
			return s.String(), nil
		}
	}
	switch v.Kind() {
	case reflect.Invalid:
		return nil, nil
	case reflect.Pointer, reflect.Interface:
		return keyed(v.Elem())
	case reflect.Struct:
		return keyedStruct(v)
	case reflect.Slice, reflect.Array:
		out := make([]any, v.Len())
		for i := range out {
			x, err := keyed(v.Index(i))
			if err != nil {
				return nil, err
			}
			out[i] = x
		}
		return out, nil
	case reflect.Map:
		out := map[string]any{}
		for _, k := range v.MapKeys() {
			x, err := keyed(v.MapIndex(k))
			if err != nil {
				return nil, err
			}
			out[fmt.Sprint(k)] = x
		}
		return out, nil
	case reflect.Float64:
		if f := v.Float(); math.IsNaN(f) || math.IsInf(f, 0) {
			return nil, fmt.Errorf("a figure is not finite: %g", f)
		}
	}
	return v.Interface(), nil
}

func keyedStruct(v reflect.Value) (any, error) {
	out := object{}
	for i := range v.NumField() {
		f := v.Type().Field(i)
		if !f.IsExported() {
			continue
		}
		x, err := keyed(v.Field(i))
		if err != nil {
			return nil, fmt.Errorf("%s: %w", f.Name, err)
		}
		out = append(out, pair{key(f.Name) + unitKey(f.Tag.Get("unit")), x})
	}
	return out, nil
}

// key writes a field's name as a key: LettingGo becomes letting_go.
func key(name string) string {
	var b strings.Builder
	r := []rune(name)
	for i, c := range r {
		if unicode.IsUpper(c) && i > 0 && (unicode.IsLower(r[i-1]) || i+1 < len(r) && unicode.IsLower(r[i+1])) {
			b.WriteByte('_')
		}
		b.WriteRune(unicode.ToLower(c))
	}
	return b.String()
}

// unitLetters spells units in letters and figures, as the result's keys do.
var unitLetters = strings.NewReplacer("²", "2", "³", "3", "⁵", "5", "·", "_", "/", "_", "(", "", ")", "", ",", "_", "µ", "u", "°", "deg_", "%", "percent")

// unitKey writes a unit as the end of a key: m³/s becomes _m3_s, 1/K _per_k.
func unitKey(unit string) string {
	if unit == "" || unit == "1" {
		return ""
	}
	if below, ok := strings.CutPrefix(unit, "1/"); ok {
		return "_per" + unitKey(below)
	}
	return "_" + strings.ToLower(unitLetters.Replace(unit))
}
