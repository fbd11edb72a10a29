package line

import _ "embed" // for the schema

//go:embed schema/line.schema.json
var schemaJSON []byte

// Schema returns the JSON Schema (2020-12) of line.toml, so that an editor can complete and check it.
func Schema() []byte { return append([]byte(nil), schemaJSON...) }
