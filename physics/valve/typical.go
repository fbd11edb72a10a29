package valve

import (
	"embed"
	"fmt"
	"path"
)

//go:embed typical/*.toml
var typicalFiles embed.FS

//go:embed schema/valve.schema.json
var schemaJSON []byte

// Schema returns the JSON Schema (2020-12) of a record's text, so that an editor
// can complete and check it.
func Schema() []byte { return append([]byte(nil), schemaJSON...) }

// Typical returns the generic classes that ship with the product, by file name.
// They stand for no particular valve and no maker's; their figures are common
// practice with no source, with uncertainties to match. They serve to begin with,
// until a valve was measured.
func Typical() []Record {
	entries, err := typicalFiles.ReadDir("typical")
	if err != nil {
		panic("valve: " + err.Error()) // embedded: cannot be missing
	}
	var all []Record
	for _, e := range entries {
		data, err := typicalFiles.ReadFile(path.Join("typical", e.Name()))
		if err != nil {
			panic("valve: " + err.Error())
		}
		r, faults := Parse("typical/"+e.Name(), data)
		if err := faults.Err(); err != nil {
			panic(fmt.Sprintf("valve: embedded record: %v", err))
		}
		all = append(all, r)
	}
	return all
}
