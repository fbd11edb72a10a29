package deliver

import (
	"bytes"
	"math"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"obvert/formats/pdf"
)

// TestPaperPDF writes every kind of leaf on every paper, and reads their words back.
func TestPaperPDF(t *testing.T) {
	kinds := map[string]bool{}
	for _, l := range testPaper().Leaves {
		kinds[l.part()] = true
	}
	for _, l := range []leaf{headLeaf{}, textLeaf{}, listLeaf{}, tableLeaf{}, plainLeaf{}, drawLeaf{}, cautionLeaf{}, tickLeaf{}, fieldsLeaf{}, breakLeaf{}} {
		if !kinds[l.part()] {
			t.Errorf("the paper of the test lacks a leaf %s", l.part())
		}
	}
	for _, lying := range []bool{false, true} {
		for _, a3 := range []bool{false, true} {
			write := func() []byte {
				p := testPaper()
				p.Landscape, p.A3 = lying, a3
				var b bytes.Buffer
				if err := p.pdf(&b); err != nil {
					t.Fatal(err)
				}
				return b.Bytes()
			}
			out := write()
			if !bytes.Equal(out, write()) {
				t.Errorf("lying %v, A3 %v: the same paper gave different bytes", lying, a3)
			}
			size := map[[2]bool]string{{false, false}: "[0 0 595.28 841.89]", {true, false}: "[0 0 841.89 595.28]", {false, true}: "[0 0 841.89 1190.55]", {true, true}: "[0 0 1190.55 841.89]"}[[2]bool{lying, a3}]
			if n := bytes.Count(out, []byte("/Parent 1 0 R\n/MediaBox "+size)); n != pagesOf(out) || n < 2 {
				t.Errorf("lying %v, A3 %v: %d pages of %d are %s", lying, a3, n, pagesOf(out), size)
			}
			text := pdfText(t, out, "")
			for _, want := range []string{"Commissioning of <Ridge>", "What to do, in order", "2026-03-01", "name, date", "Filling & venting", "Slow first. Fill at 0.3 m/s until water stands in the last pit.",
				"As given by the line.", "Valve 2 drips when standing.", "Gauge 0 to 4 bar, class 0.6", "Bucket", "1.Open the scour", "2.Shut the scour", "Readings to take", "At each valve.", "Readings",
				"Valve 2 & its pit", "12.08", "Order", "rising < falling", "Not to scale.", "Caution. Never stand over a venting valve.", "To be ticked", "Scour shut", "Valve 1 tight", "head, m",
				"Filled by", "Rate", "Signed", "Ridge, version 3", law} {
				if !strings.Contains(text, bare(want)) {
					t.Errorf("lying %v, A3 %v: the PDF lacks %q", lying, a3, want)
				}
			}
		}
	}
}

// TestPaperFallback sets signs that Source Sans 3 lacks from the other font, and tells those that neither holds.
func TestPaperFallback(t *testing.T) {
	p := testPaper()
	p.text("", "a \u25d0 b \u21bb c") // half-filled circle, turning arrow
	var b bytes.Buffer
	if err := p.pdf(&b); err != nil {
		t.Fatal(err)
	}
	if text := pdfText(t, b.Bytes(), ""); !strings.Contains(text, "a\u25d0b\u21bbc") {
		t.Error("a sign of the fallback is not read back")
	}
	d, err := newPDF(pdf.Options{})
	if err != nil {
		t.Fatal(err)
	}
	d.Page(100, 100)
	d.Text(10, 10, "\u25d0 \u6c34", pdf.Type{Size: 9})
	if got := d.Missing(); !slices.Equal(got, []rune{'\u6c34'}) {
		t.Errorf("missing: %q", string(got))
	}
}

// TestAdvances: what measures the texts of drawings and what sets them on paper are one font: every advance is the same to half a thousandth of an em.
func TestAdvances(t *testing.T) {
	d, err := newPDF(pdf.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, bold := range []bool{false, true} {
		table := map[bool]map[int32]int16{false: regularAdvance, true: semiboldAdvance}[bold]
		if len(table) < 200 {
			t.Fatalf("%d advances", len(table))
		}
		for r := range table {
			switch r {
			case 0xA0, 0xAD, 0x2009, 0x202F, 0x200B, 0xFEFF: // set as a space or not at all
				continue
			}
			want := TextWidth(string(r), 1000, bold)
			if got := d.Width(string(r), pdf.Type{Size: 1000, Bold: bold}); math.Abs(got-want) > 0.5 {
				t.Errorf("%q (%U) bold %v: %g on paper, %g measured", r, r, bold, got, want)
			}
		}
	}
}

// TestA3Report: drawings and wide tables stand on A3 lying, text on A4, and every word of the A4 report's findings stands in it.
func TestA3Report(t *testing.T) {
	r := solvedDemo(t, "town")
	var b bytes.Buffer
	if err := PDF(&b, r, Options{A3: true}); err != nil {
		t.Fatal(err)
	}
	out := b.Bytes()
	big, small := bytes.Count(out, []byte("/Parent 1 0 R\n/MediaBox [0 0 1190.55 841.89]")), bytes.Count(out, []byte("/Parent 1 0 R\n/MediaBox [0 0 595.28 841.89]"))
	if big < 5 || small < 3 || big+small != pagesOf(out) {
		t.Errorf("%d pages of A3 and %d of A4, of %d", big, small, pagesOf(out))
	}
	if n := pagesOf(demoPDF(t, "town")); big+small > n {
		t.Errorf("%d pages, on A4 alone %d", big+small, n)
	}
	text := pdfText(t, out, "")
	for i := range r.Findings {
		if s := bare(r.Findings[i].Title); !strings.Contains(text, s) {
			t.Errorf("the report lacks %q", r.Findings[i].Title)
		}
	}
	if out, err := exec.Command(tool(t, "qpdf"), "--check", fileOf(t, out)).CombinedOutput(); err != nil {
		t.Errorf("%v\n%s", err, out)
	}
}

// TestLayoutFits: a chapter whose last drawing lacks a few points is set a little smaller, never below 85 hundredths; one that would have to be smaller stays as it is.
func TestLayoutFits(t *testing.T) {
	k := sheetA4
	for _, q := range []struct {
		over  float64 // what the drawings take, as a share of the page
		pages int
		size  float64
	}{{0.9, 1, 1}, {1.05, 1, 0.94}, {1.15, 1, 0.85}, {1.3, 2, 1}} {
		f := &flow{}
		f.use(k)
		var last float64
		for i := range 2 {
			h := q.over * k.height() / 2
			at := func(s float64) *block { return &block{h: h * s, paint: func(float64) { last = s }} }
			b := at(1)
			b.sized, b.head = at, i == 0
			f.add(b)
		}
		var err error
		if f.d, err = newPDF(pdf.Options{}); err != nil {
			t.Fatal(err)
		}
		f.layout()
		if f.d.Pages() != q.pages || last != q.size {
			t.Errorf("drawings of %g pages: on %d at %g, want %d at %g", q.over, f.d.Pages(), last, q.pages, q.size)
		}
	}
}
