// Package schematest holds documents against the product's JSON Schemas, with a general-purpose validator. Only tests import it.
package schematest

import (
	"bytes"

	"github.com/pelletier/go-toml/v2"
	"github.com/santhosh-tekuri/jsonschema/v6"
)

// Compile checks a schema against that of JSON Schema 2020-12 and makes it ready.
func Compile(schema []byte) (*jsonschema.Schema, error) {
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(schema))
	if err != nil {
		return nil, err
	}
	const name = "document.schema.json"
	c := jsonschema.NewCompiler()
	if err := c.AddResource(name, doc); err != nil {
		return nil, err
	}
	return c.Compile(name)
}

// TOML is what a schema says against a TOML document, nil where it accepts it.
func TOML(s *jsonschema.Schema, text []byte) error {
	var v map[string]any
	if err := toml.Unmarshal(text, &v); err != nil {
		return err
	}
	return s.Validate(plain(v))
}

// plain turns what TOML has and JSON has not into its nearest.
func plain(v any) any {
	switch v := v.(type) {
	case map[string]any:
		out := map[string]any{}
		for k, x := range v {
			out[k] = plain(x)
		}
		return out
	case []any:
		out := make([]any, len(v))
		for i, x := range v {
			out[i] = plain(x)
		}
		return out
	case toml.LocalDate:
		return v.String()
	case int64:
		return float64(v)
	}
	return v
}
