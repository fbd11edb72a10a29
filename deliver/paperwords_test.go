package deliver

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode"

	"golang.org/x/net/html"
)

// tool finds a program that reads PDF. Without it the test is skipped, but not where CI is set: there it fails.
func tool(t *testing.T, name string) string {
	t.Helper()
	p, err := exec.LookPath(name)
	if err == nil {
		return p
	}
	word := name + " is not installed: the PDF was not read by it"
	if os.Getenv("CI") == "true" {
		t.Fatal(word)
	}
	t.Skip(word)
	return ""
}

// printedText are the texts of an HTML page that are shown on paper, a stretch for each element that stands by itself.
func printedText(t *testing.T, page []byte) (out []string) {
	t.Helper()
	root, err := html.Parse(bytes.NewReader(page))
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	flush := func() {
		if s := strings.TrimSpace(b.String()); s != "" {
			out = append(out, s)
		}
		b.Reset()
	}
	// what the style sheet does not show on paper; the notes that explain a drawing to those who cannot see it are not paper
	hidden := []string{"skip", "slide", "toc", "twin", "sr", "scr", "narrow", "wide", "desk"}
	inline := []string{"b", "i", "a"}
	var walk func(n *html.Node, again bool)
	walk = func(n *html.Node, again bool) {
		var classes []string
		for _, a := range n.Attr {
			if a.Key == "class" {
				classes = strings.Fields(a.Val)
			}
		}
		has := func(c string) bool { return slices.Contains(classes, c) }
		switch {
		case n.Type == html.TextNode:
			b.WriteString(n.Data)
			return
		case n.Type == html.ElementNode:
			for _, h := range hidden {
				if has(h) {
					return
				}
			}
			switch n.Data {
			case "head", "style", "title", "desc", "summary", "script":
				return
			case "details":
				if !has("all") {
					return
				}
			}
			if again && has("full") || !again && has("as") {
				return
			}
		}
		again = again || has("again")
		alone := n.Type == html.ElementNode && (!slices.Contains(inline, n.Data) && n.Data != "span" || has("key") || has("k") || has("st") || has("no") || has("n") || has("sep") || has("sv"))
		if alone {
			flush()
		}
		for c := n.FirstChild; c != nil; c = c.NextSibling {
			walk(c, again)
		}
		if alone {
			flush()
		}
	}
	walk(root, false)
	flush()
	return out
}

// bare drops every space: lines end elsewhere on paper.
func bare(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) || r == 0xAD {
			return -1
		}
		return r
	}, s)
}

var pageFoot = regexp.MustCompile(`page \d+ of \d+`)

// pdfText is the text of a PDF in the order in which it was set, without spaces and without the feet of the pages.
func pdfText(t *testing.T, pdf []byte, foot string) string {
	t.Helper()
	out, err := exec.Command(tool(t, "pdftotext"), "-raw", "-enc", "UTF-8", fileOf(t, pdf), "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	s := string(out)
	if got, pages := len(pageFoot.FindAllString(s, -1)), strings.Count(s, "\f"); got != pages {
		t.Errorf("%d pages of %d bear their number", got, pages)
	}
	s = pageFoot.ReplaceAllString(s, "")
	s = bare(s)
	if foot != "" {
		s = strings.ReplaceAll(s, bare(foot), "")
	}
	return s
}

func fileOf(t *testing.T, pdf []byte) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "a.pdf")
	if err := os.WriteFile(name, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

// TestPDFWords holds the PDF of every demonstration line to the words that the HTML report shows on paper.
func TestPDFWords(t *testing.T) {
	for _, name := range demoNames {
		t.Run(name, func(t *testing.T) {
			r := solvedDemo(t, name)
			o := Options{Date: "2026-03-01"}
			var page bytes.Buffer
			p := newReport(r, o)
			if err := p.write(&page); err != nil {
				t.Fatal(err)
			}
			text := pdfText(t, demoPDF(t, name), p.footText())
			all := printedText(t, page.Bytes())
			if len(all) < 300 {
				t.Fatalf("only %d texts were found in the page", len(all))
			}
			missing := 0
			for _, s := range all {
				if !strings.Contains(text, bare(s)) {
					if missing++; missing <= 12 {
						t.Errorf("the PDF lacks %q", s)
					}
				}
			}
			t.Logf("%d texts compared, %d missing", len(all), missing)
		})
	}
}

// TestPDFTools has every demonstration's PDF read by independent programs.
func TestPDFTools(t *testing.T) {
	qpdf, info, fonts, draw := tool(t, "qpdf"), tool(t, "pdfinfo"), tool(t, "pdffonts"), tool(t, "pdftoppm")
	for _, name := range demoNames {
		t.Run(name, func(t *testing.T) {
			b := demoPDF(t, name)
			file := fileOf(t, b)
			if out, err := exec.Command(qpdf, "--check", file).CombinedOutput(); err != nil {
				t.Errorf("qpdf: %v\n%s", err, out)
			}
			out, err := exec.Command(info, file).CombinedOutput()
			if err != nil {
				t.Fatal(err)
			}
			n := pagesOf(b)
			for _, want := range []string{"Pages:           " + strconv.Itoa(n) + "\n", "Title:           " + solvedDemo(t, name).Line.Name, "CreationDate:    Sun Mar  1 00:00:00 2026"} {
				if !strings.Contains(string(out), want) {
					t.Errorf("pdfinfo lacks %q:\n%s", want, out)
				}
			}
			out, _ = exec.Command(fonts, file).Output()
			rows := strings.Split(strings.TrimSpace(string(out)), "\n")[2:]
			if len(rows) < 2 {
				t.Errorf("pdffonts: %s", out)
			}
			for _, row := range rows {
				if f := strings.Fields(row); len(f) < 5 || f[len(f)-5] != "yes" {
					t.Errorf("a font is not embedded: %s", row)
				}
			}
			dir := t.TempDir()
			if out, err := exec.Command(draw, "-r", "30", "-png", file, filepath.Join(dir, "p")).CombinedOutput(); err != nil || len(out) > 0 {
				t.Errorf("pdftoppm: %v\n%s", err, out)
			}
			if drawn, _ := filepath.Glob(filepath.Join(dir, "*.png")); len(drawn) != n {
				t.Errorf("%d pages were drawn of %d", len(drawn), n)
			}
		})
	}
}

// pagesOf counts the pages of a PDF.
func pagesOf(b []byte) int { return bytes.Count(b, []byte("/Type /Page\n")) }
