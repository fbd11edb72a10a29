package deliver

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
	"time"
)

// TestPDFDemos writes the report of every demonstration line. OBVERT_PDF names a folder to keep them in.
func TestPDFDemos(t *testing.T) {
	for _, name := range demoNames {
		t.Run(name, func(t *testing.T) {
			r := solvedDemo(t, name)
			begun := time.Now()
			var a, b bytes.Buffer
			if err := PDF(&a, r, Options{Date: "2026-03-01"}); err != nil {
				t.Fatal(err)
			}
			t.Logf("%d bytes in %v", a.Len(), time.Since(begun))
			if err := PDF(&b, r, Options{Date: "2026-03-01"}); err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(a.Bytes(), b.Bytes()) {
				t.Error("the same study gave different bytes")
			}
			if dir := os.Getenv("OBVERT_PDF"); dir != "" {
				if err := os.WriteFile(filepath.Join(dir, name+".pdf"), a.Bytes(), 0o644); err != nil {
					t.Fatal(err)
				}
			}
		})
	}
}
