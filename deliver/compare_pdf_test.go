package deliver

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// TestComparedPDF writes the PDF twice, has its structure checked, and reads its words back.
func TestComparedPDF(t *testing.T) {
	for name, c := range comparedFixtures() {
		if name == "long" && testing.Short() {
			continue
		}
		var a, b bytes.Buffer
		for _, w := range []*bytes.Buffer{&a, &b} {
			if err := ComparePDF(w, c, Options{Date: "2026-05-12"}); err != nil {
				t.Fatal(err)
			}
		}
		if !bytes.Equal(a.Bytes(), b.Bytes()) {
			t.Errorf("%s: two runs differ", name)
		}
		path := filepath.Join(t.TempDir(), name+".pdf")
		if err := os.WriteFile(path, a.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		for _, tool := range []string{"qpdf", "pdftotext"} {
			if _, err := exec.LookPath(tool); err != nil {
				if os.Getenv("CI") == "true" {
					t.Fatal(err)
				}
				t.Skipf("%s is not installed: the PDF was not read back", tool)
			}
		}
		if out, err := exec.Command("qpdf", "--check", path).CombinedOutput(); err != nil {
			t.Errorf("%s: %v\n%s", name, err, out)
		}
		out, err := exec.Command("pdftotext", "-layout", path, "-").Output()
		if err != nil {
			t.Fatal(err)
		}
		text := strings.Join(strings.Fields(string(out)), " ")
		for _, want := range []string{"stretched out along the", "Whole-life cost", "Who is best at what", law, c.Types[0].Name} {
			if !strings.Contains(text, want) {
				t.Errorf("%s: the PDF lacks %q", name, want)
			}
		}
	}
}
