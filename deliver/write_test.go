package deliver

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"testing"
)

var writeReports = flag.String("reports", "", "write the fixtures' reports into this folder, to look at them")

// TestWriteReports renders every fixture; with -reports it keeps the files.
func TestWriteReports(t *testing.T) {
	for name, r := range fixtures() {
		var b bytes.Buffer
		if err := HTML(&b, r, Options{Date: "2026-05-12"}); err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if *writeReports != "" {
			if err := os.WriteFile(filepath.Join(*writeReports, name+".html"), b.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// BenchmarkHTML100km writes the report of the long fixture: 100 km, 5,000 points, 200 valves, 6 cases, in four forms.
func BenchmarkHTML100km(b *testing.B) {
	r := fixture("long")
	for b.Loop() {
		var out bytes.Buffer
		if err := HTML(&out, r, Options{}); err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(out.Len())/1e6, "MB")
	}
}
