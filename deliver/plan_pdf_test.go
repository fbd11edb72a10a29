package deliver

import (
	"bytes"
	"os/exec"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// TestPlanPDF reads the sheets back: as many pages as sheets, each of the paper's size, and on each every word of its drawing.
func TestPlanPDF(t *testing.T) {
	for _, name := range []string{"town", "twin"} {
		r := demoResult(t, name)
		for paper, size := range map[Paper][2]float64{PaperA1: {841, 594}, PaperA3: {420, 297}} {
			var a, b bytes.Buffer
			for _, w := range []*bytes.Buffer{&a, &b} {
				if err := LongSectionPDF(w, r, Options{Date: "2026-05-12"}, paper); err != nil {
					t.Fatal(err)
				}
			}
			if !bytes.Equal(a.Bytes(), b.Bytes()) {
				t.Errorf("%s %s: two runs differ", name, paper)
			}
			pages, err := LongSectionSVG(r, Options{Date: "2026-05-12"}, paper)
			if err != nil {
				t.Fatal(err)
			}
			boxes := mediaBox.FindAllSubmatch(a.Bytes(), -1)
			if len(boxes) != len(pages) {
				t.Fatalf("%s %s: %d pages for %d sheets", name, paper, len(boxes), len(pages))
			}
			for _, m := range boxes {
				for i := range size {
					if v, err := strconv.ParseFloat(string(m[1+i]), 64); err != nil || v < size[i]*mm-0.01 || v > size[i]*mm+0.01 {
						t.Errorf("%s %s: a page is %s × %s pt", name, paper, m[1], m[2])
					}
				}
			}
			path := fileOf(t, a.Bytes())
			if out, err := exec.Command(tool(t, "qpdf"), "--check", path).CombinedOutput(); err != nil {
				t.Errorf("%s %s: %v\n%s", name, paper, err, out)
			}
			out, err := exec.Command(tool(t, "pdftotext"), "-raw", path, "-").Output()
			if err != nil {
				t.Fatal(err)
			}
			for i, text := range strings.Split(strings.TrimSuffix(string(out), "\f"), "\f") {
				have := map[string]bool{}
				for _, w := range strings.Fields(text) {
					have[w] = true
				}
				n := 0
				for _, m := range planText.FindAllSubmatch(pages[i].SVG, -1) {
					for _, w := range strings.Fields(string(m[1])) {
						if w = unescapeText(w); !have[w] && !strings.Contains(bare(text), w) {
							t.Errorf("%s %s: page %d lacks %q", name, paper, i+1, w)
						}
						n++
					}
				}
				if n < 100 {
					t.Errorf("%s %s: sheet %d holds %d words only", name, paper, i+1, n)
				}
			}
		}
	}
}

var (
	mediaBox = regexp.MustCompile(`/Parent 1 0 R\n/MediaBox \[0 0 ([0-9.]+) ([0-9.]+)\]`)
	planText = regexp.MustCompile(`<text [^>]*>([^<]*)</text>`)
)

// unescapeText takes back what escape did.
func unescapeText(s string) string {
	return strings.NewReplacer("&lt;", "<", "&gt;", ">", "&#34;", `"`, "&quot;", `"`, "&#39;", "'", "&amp;", "&").Replace(s)
}
