package bench

import (
	"encoding/json"
	"os"
	"strings"
	"testing"
)

// TestMethodsPageNamesEveryKey holds docs/methods/bench.md against the schema.
func TestMethodsPageNamesEveryKey(t *testing.T) {
	page, err := os.ReadFile("../docs/methods/bench.md")
	if err != nil {
		t.Fatal(err)
	}
	var root map[string]any
	if err := json.Unmarshal(Schema(), &root); err != nil {
		t.Fatal(err)
	}
	seen := 0
	var walk func(o map[string]any, path string)
	walk = func(o map[string]any, path string) {
		if ref, ok := o["$ref"].(string); ok {
			o = root["$defs"].(map[string]any)[strings.TrimPrefix(ref, "#/$defs/")].(map[string]any)
		}
		if items, ok := o["items"].(map[string]any); ok {
			o = items
			if ref, ok := o["$ref"].(string); ok {
				o = root["$defs"].(map[string]any)[strings.TrimPrefix(ref, "#/$defs/")].(map[string]any)
			}
			if o["properties"] != nil {
				path += "[]"
			}
		}
		if path != "" {
			seen++
			if !strings.Contains(string(page), "| `"+path+"` |") {
				t.Errorf("docs/methods/bench.md does not name %s", path)
			}
			path += "."
		}
		properties, _ := o["properties"].(map[string]any)
		for k, v := range properties {
			walk(v.(map[string]any), path+k)
		}
	}
	walk(root, "")
	if seen < 50 {
		t.Errorf("only %d keys found in the schema", seen)
	}
}
