package deliver

import (
	"encoding/json"
	"fmt"
	"reflect"
	"strings"
)

// Schema returns the JSON Schema (2020-12) of what [JSON] writes: made of the same types and tags by the same rules, so that
// the two cannot part. Every key is required, none other is allowed.
func Schema() []byte {
	s := &schemaWriter{defs: map[reflect.Type]string{}, names: map[string]bool{}}
	root := s.object(reflect.TypeFor[document](), map[string]any{
		"$schema": "https://json-schema.org/draft/2020-12/schema", "$id": "https://obvert.example/schema/result.schema.json",
		"title": "The result of a study", "description": fmt.Sprintf("What obvert study --json prints, format %d. Figures are SI, with their unit at the end of the key.", Format),
	})
	root["$defs"] = s.made
	b, err := json.MarshalIndent(root, "", "  ")
	if err != nil {
		panic("deliver: schema: " + err.Error()) // maps, lists and texts alone
	}
	return append(b, '\n')
}

// schemaWriter gives every struct a definition of its own.
type schemaWriter struct {
	defs  map[reflect.Type]string
	names map[string]bool
	made  map[string]any
}

// of is the schema of a value's type.
func (s *schemaWriter) of(t reflect.Type) map[string]any {
	switch t.Kind() {
	case reflect.Pointer:
		return map[string]any{"anyOf": []any{s.of(t.Elem()), map[string]any{"type": "null"}}}
	case reflect.Struct:
		return map[string]any{"$ref": "#/$defs/" + s.define(t)}
	case reflect.Slice:
		return map[string]any{"type": "array", "items": s.of(t.Elem())}
	case reflect.Array:
		return map[string]any{"type": "array", "items": s.of(t.Elem()), "minItems": t.Len(), "maxItems": t.Len()}
	case reflect.String, reflect.Uint8: // a counted kind is a word
		return map[string]any{"type": "string"}
	case reflect.Bool:
		return map[string]any{"type": "boolean"}
	case reflect.Float64:
		return map[string]any{"type": "number"}
	case reflect.Int, reflect.Int64, reflect.Int32, reflect.Int8, reflect.Uint64:
		return map[string]any{"type": "integer"}
	}
	panic("deliver: no schema for " + t.String()) // JSON cannot write it either
}

// define makes a struct's definition once and gives its name: package.Type.
func (s *schemaWriter) define(t reflect.Type) string {
	if name, ok := s.defs[t]; ok {
		return name
	}
	name := t.String()
	for n := 2; s.names[name]; n++ {
		name = fmt.Sprintf("%s-%d", t, n)
	}
	name = strings.NewReplacer("[", "-", "]", "", "/", ".", "*", "").Replace(name)
	s.defs[t], s.names[name] = name, true
	made := s.object(t, map[string]any{})
	if s.made == nil {
		s.made = map[string]any{}
	}
	s.made[name] = made
	return name
}

// object adds a struct's keys to its schema; those of the result stand at the document's top.
func (s *schemaWriter) object(t reflect.Type, out map[string]any) map[string]any {
	keys := map[string]any{}
	var required []any
	var take func(reflect.Type)
	take = func(t reflect.Type) {
		for i := range t.NumField() {
			f := t.Field(i)
			if !f.IsExported() {
				continue
			}
			if t == reflect.TypeFor[document]() && f.Name == "Result" {
				take(f.Type.Elem())
				continue
			}
			k := jsonKey(f)
			x := s.of(f.Type)
			if u := f.Tag.Get("unit"); u != "" && u != "1" {
				x["description"] = "In " + u + "."
			}
			keys[k] = x
			required = append(required, k)
		}
	}
	take(t)
	out["type"], out["properties"], out["additionalProperties"] = "object", keys, false
	if len(required) > 0 {
		out["required"] = required
	}
	return out
}
