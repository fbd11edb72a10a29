package deliver

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"obvert/internal/schematest"
	"obvert/study"
)

// TestSchemaHoldsResults holds the JSON of demos against the schema, and breaks it once: a key taken away, one too many.
func TestSchemaHoldsResults(t *testing.T) {
	schema, err := schematest.Compile(Schema())
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(Schema(), Schema()) {
		t.Error("two schemas differ")
	}
	lines, err := filepath.Glob("../demo/*/line.toml")
	if err != nil || len(lines) < 4 {
		t.Fatalf("%d demos, %v", len(lines), err)
	}
	for _, path := range lines {
		dir := filepath.Dir(path)
		t.Run(filepath.Base(dir), func(t *testing.T) {
			t.Parallel()
			src, faults := study.Load(os.DirFS(dir), nil)
			if err := faults.Err(); err != nil {
				t.Fatal(err)
			}
			r, err := study.Solve(t.Context(), src, study.Options{})
			if err != nil {
				t.Fatal(err)
			}
			var b bytes.Buffer
			if err := JSON(&b, r); err != nil {
				t.Fatal(err)
			}
			check := func(text string) error {
				v, err := jsonschema.UnmarshalJSON(strings.NewReader(text))
				if err != nil {
					t.Fatal(err)
				}
				return schema.Validate(v)
			}
			if err := check(b.String()); err != nil {
				t.Error(err)
			}
			for _, broken := range []string{
				strings.Replace(b.String(), `"findings":`, `"fundings":`, 1), strings.Replace(b.String(), `"format": 1`, `"format": "1"`, 1),
			} {
				if check(broken) == nil {
					t.Error("the schema accepts a broken result")
				}
			}
		})
	}
}
