package deliver

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"testing"

	"obvert/study"
)

var writeReports = flag.String("reports", "", "write the fixtures' reports into this folder, to look at them")

// TestWriteReports renders every fixture; with -reports it keeps the files.
func TestWriteReports(t *testing.T) {
	all := fixtures()
	all["answered"] = answered("ridge")
	if *writeReports != "" {
		all["answered-long"] = answered("long")
	}
	for name, r := range all {
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

// BenchmarkHTML100km writes the report of the long fixture with every chapter: 100 km, 5,000 points, 200 valves, 6 cases, in
// four forms.
func BenchmarkHTML100km(b *testing.B) {
	r := answered("long")
	for b.Loop() {
		var out bytes.Buffer
		if err := HTML(&out, r, Options{}); err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(out.Len())/1e6, "MB")
	}
}

// TestWriteCharts renders the charts' fixtures as a report's chapters; with -reports it keeps the file.
func TestWriteCharts(t *testing.T) {
	p := newReport(fixture("ridge"), Options{Date: "2026-05-12"})
	all := charts()
	for i, name := range []string{"strip ridge", "airs", "legs", "day", "ways", "tornado", "shares", "odds", "strip long", "seven tanks", "quick strip"} {
		c := &chapter{ID: "t" + letters(i), Head: name, Note: "Invented."}
		c.add(all[name], "", "", "", false)
		p.Proof = append(p.Proof, c)
	}
	drawChapters(forms, p.Proof)
	var b bytes.Buffer
	if err := p.write(&b); err != nil {
		t.Fatal(err)
	}
	if *writeReports != "" {
		if err := os.WriteFile(filepath.Join(*writeReports, "charts.html"), b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// BenchmarkPDF100km writes the same report as PDF.
func BenchmarkPDF100km(b *testing.B) { benchmarkPDF(b, answered("long")) }

// BenchmarkPDFTown writes the demonstration line with the most pages as PDF.
func BenchmarkPDFTown(b *testing.B) { benchmarkPDF(b, solvedDemo(b, "town")) }

func benchmarkPDF(b *testing.B, r *study.Result) {
	for b.Loop() {
		var out bytes.Buffer
		if err := PDF(&out, r, Options{}); err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(out.Len())/1e6, "MB")
		b.ReportMetric(float64(pagesOf(out.Bytes())), "pages")
	}
}
