package deliver

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
)

var demoPDFs sync.Map // by name: []byte

// demoPDF is the report of a demonstration line as PDF, written once.
func demoPDF(t *testing.T, name string) []byte {
	t.Helper()
	if b, ok := demoPDFs.Load(name); ok {
		return b.([]byte)
	}
	var b bytes.Buffer
	if err := PDF(&b, solvedDemo(t, name), Options{Date: "2026-03-01"}); err != nil {
		t.Fatal(err)
	}
	demoPDFs.Store(name, b.Bytes())
	return b.Bytes()
}

// TestPDFDemos holds the report of every demonstration line to its number of pages and its outline, and to the same bytes
// when it is written again. OBVERT_PDF names a folder to keep them in.
func TestPDFDemos(t *testing.T) {
	for _, name := range demoNames {
		t.Run(name, func(t *testing.T) {
			a := demoPDF(t, name)
			if dir := os.Getenv("OBVERT_PDF"); dir != "" {
				if err := os.WriteFile(filepath.Join(dir, name+".pdf"), a, 0o644); err != nil {
					t.Fatal(err)
				}
			}
			var b bytes.Buffer
			r := solvedDemo(t, name)
			if err := PDF(&b, r, Options{Date: "2026-03-01"}); err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(a, b.Bytes()) {
				t.Error("the same study gave different bytes")
			}
			if n := pagesOf(a); n < 15 || n > 38 { // in a browser the longest, town, prints on 39
				t.Errorf("%d pages", n)
			}
			p := newReportIn(r, Options{}, []form{formPrint})
			f, err := p.pages(r, Options{})
			if err != nil {
				t.Fatal(err)
			}
			heads := []string{"Findings in brief", "Findings, worst first", "Schedule of air valves", "Assumed", "Sources", "Cautions"}
			for _, c := range append(p.Proof, p.Money...) {
				heads = append(heads, c.Head)
			}
			at, last := map[string]int{}, 0
			for _, l := range f.toc {
				at[l.text] = l.page
				if l.page < last {
					t.Errorf("%q stands on page %d, before what comes before it", l.text, l.page)
				}
				last = l.page
			}
			for _, h := range heads {
				if at[h] == 0 {
					t.Errorf("the outline lacks %q", h)
				}
			}
			if n := bytes.Count(a, []byte("/Parent ")) - pagesOf(a); n != f.d.Bookmarks() || n != len(f.toc) {
				t.Errorf("%d bookmarks were written of %d", n, len(f.toc))
			}
			if missing := f.d.Missing(); len(missing) > 0 {
				t.Errorf("no font holds %q", string(missing))
			}
		})
	}
}

// TestPDFRefuses holds that a figure which is not finite is told and nothing is written.
func TestPDFRefuses(t *testing.T) {
	r := fixture("ridge")
	r.Sealing.Valves[0].Seat = noGround
	var b bytes.Buffer
	if err := PDF(&b, r, Options{}); err == nil || !strings.Contains(err.Error(), "NaN") || b.Len() > 0 {
		t.Errorf("%d bytes, %v", b.Len(), err)
	}
}

// TestPDFFixtures writes every fixture: names of sixty letters, one valve, two hundred.
func TestPDFFixtures(t *testing.T) {
	for name, r := range fixtures() {
		for _, a3 := range []bool{false, true} {
			var b bytes.Buffer
			if err := PDF(&b, r, Options{A3: a3}); err != nil {
				t.Errorf("%s: %v", name, err)
			}
			if bytes.Contains(b.Bytes(), []byte("CreationDate")) && r.Line.Date == "" {
				t.Errorf("%s: an undated report bears a date", name)
			}
			if want := "/MediaBox [0 0 1190.55 841.89]"; bytes.Contains(b.Bytes(), []byte(want)) != a3 {
				t.Errorf("%s: A3 %v, pages of that size otherwise", name, a3)
			}
			if dir := os.Getenv("OBVERT_PDF"); dir != "" && !a3 {
				if err := os.WriteFile(filepath.Join(dir, "f-"+name+".pdf"), b.Bytes(), 0o644); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
}
