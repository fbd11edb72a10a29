package deliver

import (
	"bytes"
	"encoding/json"
	"fmt"
	"html"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

// browser finds a headless browser. Without one the test is skipped, but not where CI is set: there it fails.
func browser(t *testing.T) string {
	t.Helper()
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "chrome"} {
		if p, err := exec.LookPath(name); err == nil {
			return p
		}
	}
	const word = "no browser (chromium) is installed: the report was not opened in one"
	if os.Getenv("CI") == "true" {
		t.Fatal(word)
	}
	t.Skip(word)
	return ""
}

// probe is appended to a copy of the report. It writes what it finds into the page, where --dump-dom reads it: drawings that
// are shown, labels whose ink meets in the same drawing, labels and blocks that stand beyond the page. The ink of a line of
// text is taken from 0.70 em over its base line to 0.205 em under it (see textBox); the browser's own box holds the font's
// whole ascent and descent, 1.024 and 0.4 em.
const probe = `<script>
addEventListener("load", async () => {
  await document.fonts.ready;
  const out = {drawings: 0, labels: 0, fonts: document.fonts.check('13px "Source Sans 3"'), meet: [], cut: [], wide: 0};
  const wide = document.documentElement.clientWidth;
  out.wide = document.documentElement.scrollWidth - wide;
  const corners = (t) => {
    const b = t.getBBox(), m = t.getCTM(), fs = parseFloat(getComputedStyle(t).fontSize), svg = t.ownerSVGElement.getScreenCTM();
    const base = b.y + b.height * 1.024 / 1.424, y1 = base - .70 * fs, y2 = base + .205 * fs;
    const k = t.getScreenCTM();
    return [[b.x, y1], [b.x + b.width, y1], [b.x + b.width, y2], [b.x, y2]].map(([x, y]) => [k.a * x + k.c * y + k.e, k.b * x + k.d * y + k.f]);
  };
  const apart = (p, q) => {
    for (const r of [p, q]) for (let i = 0; i < 2; i++) {
      const n = [r[i + 1][1] - r[i][1], r[i][0] - r[i + 1][0]], s = (r) => r.map(([x, y]) => x * n[0] + y * n[1]);
      const a = s(p), b = s(q), l = Math.hypot(...n) || 1;
      if (Math.max(...a) - Math.min(...b) <= .4 * l || Math.max(...b) - Math.min(...a) <= .4 * l) return true;
    }
    return false;
  };
  for (const svg of document.querySelectorAll('svg[role="img"]')) {
    const f = svg.getBoundingClientRect();
    if (f.width === 0) continue;
    out.drawings++;
    const ts = [...svg.querySelectorAll("text")], cs = ts.map(corners);
    out.labels += ts.length;
    cs.forEach((c, i) => {
      for (const [x, y] of c) if (x < f.left - 1.5 || x > f.right + 1.5 || y < f.top - 1.5 || y > f.bottom + 1.5) { out.cut.push(svg.getAttribute("class") + ": " + ts[i].textContent); break; }
      for (let j = i + 1; j < cs.length; j++) if (!apart(c, cs[j])) out.meet.push(ts[i].textContent + " | " + ts[j].textContent);
    });
  }
  for (const e of document.querySelectorAll("h1,h2,h3,p,dd,td,th,li")) {
    const r = e.getBoundingClientRect();
    if (r.width > 1.5 && r.right > wide + 1 && !e.closest(".scroll,.twin,.sr,.draw")) out.cut.push(e.tagName + ": " + e.textContent.slice(0, 60));
  }
  const pre = document.createElement("pre");
  pre.id = "probe";
  pre.textContent = JSON.stringify(out);
  document.body.append(pre);
});
</script></body>`

type probed struct {
	Drawings, Labels int
	Fonts            bool
	Meet, Cut        []string
	Wide             float64
}

// open runs the browser once on a file.
func open(t *testing.T, chrome string, args ...string) (stdout, stderr string) {
	t.Helper()
	flags := []string{"--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--disable-background-networking", "--disable-component-update",
		"--no-first-run", "--enable-logging=stderr", "--v=0", "--user-data-dir=" + t.TempDir()}
	cmd := exec.Command(chrome, append(flags, args...)...)
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	done := make(chan error, 1)
	go func() { done <- cmd.Wait() }()
	select {
	case err := <-done:
		if err != nil {
			t.Fatalf("%s %v: %v\n%s", chrome, args, err, errs.String())
		}
	case <-time.After(2 * time.Minute):
		_ = cmd.Process.Kill()
		t.Fatalf("%s %v took more than two minutes", chrome, args)
	}
	return out.String(), errs.String()
}

var probeText = regexp.MustCompile(`(?s)<pre id="probe">(.*?)</pre>`)

// TestInTheBrowser opens the reports: no error in the console, drawings there, no two labels meet, nothing cut off, on a phone,
// a desk and a wide window; and on A4 paper the expected pages.
func TestInTheBrowser(t *testing.T) {
	chrome := browser(t)
	names := []string{"ridge"}
	if os.Getenv("CI") == "true" { // where time does not matter, all of them
		names = []string{"ridge", "named", "cluster", "flat", "close", "single", "branch", "long"}
	}
	for _, name := range names {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			var b bytes.Buffer
			r := fixture(name)
			if name == "ridge" { // with every chapter
				r = answered(name)
			}
			if err := HTML(&b, r, Options{Date: "2026-05-12"}); err != nil {
				t.Fatal(err)
			}
			dir := t.TempDir()
			page := filepath.Join(dir, name+".html")
			withProbe := strings.Replace(b.String(), "</body>", probe, 1)
			if err := os.WriteFile(page, []byte(withProbe), 0o644); err != nil {
				t.Fatal(err)
			}
			widths := []int{1366}
			if name == "ridge" || name == "named" {
				widths = []int{400, 1366, 3840}
			}
			for _, w := range widths {
				checkAt(t, chrome, page, w)
			}
			if name == "ridge" {
				checkPaper(t, chrome, dir, b.Bytes())
			}
		})
	}
}

func checkAt(t *testing.T, chrome, page string, w int) {
	t.Helper()
	dom, log := open(t, chrome, fmt.Sprintf("--window-size=%d,900", w), "--virtual-time-budget=8000", "--dump-dom", "file://"+page)
	if strings.Contains(log, "CONSOLE") {
		t.Errorf("%d px: the console says:\n%s", w, log)
	}
	m := probeText.FindStringSubmatch(dom)
	if m == nil {
		t.Fatalf("%d px: the probe did not run", w)
	}
	var p probed
	if err := json.Unmarshal([]byte(html.UnescapeString(m[1])), &p); err != nil {
		t.Fatal(err)
	}
	if p.Drawings < 2 || p.Labels < 40 {
		t.Errorf("%d px: %d drawings with %d labels", w, p.Drawings, p.Labels)
	}
	if !p.Fonts {
		t.Errorf("%d px: the font did not load", w)
	}
	for _, s := range p.Meet {
		t.Errorf("%d px: labels meet: %s", w, s)
	}
	for _, s := range p.Cut {
		t.Errorf("%d px: cut off: %s", w, s)
	}
	if p.Wide > 1 {
		t.Errorf("%d px: the page is %.0f px wider than its window", w, p.Wide)
	}
}

// checkPaper prints to PDF and looks at the pages: their number, and A4 upright and across.
func checkPaper(t *testing.T, chrome, dir string, report []byte) {
	t.Helper()
	page, pdf := filepath.Join(dir, "print.html"), filepath.Join(dir, "print.pdf")
	if err := os.WriteFile(page, report, 0o644); err != nil {
		t.Fatal(err)
	}
	open(t, chrome, "--print-to-pdf="+pdf, "--no-pdf-header-footer", "file://"+page)
	raw, err := os.ReadFile(pdf)
	if err != nil {
		t.Fatal(err)
	}
	upright, across := 0, 0
	for _, m := range regexp.MustCompile(`/MediaBox\s*\[\s*0\s+0\s+([0-9.]+)\s+([0-9.]+)`).FindAllSubmatch(raw, -1) {
		var w, h float64
		fmt.Sscan(string(m[1]), &w)
		fmt.Sscan(string(m[2]), &h)
		switch { // A4 is 595 by 842 pt
		case w > 590 && w < 600 && h > 837 && h < 847:
			upright++
		case h > 590 && h < 600 && w > 837 && w < 847:
			across++
		default:
			t.Errorf("a page of %g by %g pt is not A4", w, h)
		}
	}
	if upright < 3 || across < 4 || upright+across > 26 {
		t.Errorf("%d pages upright and %d across: want the answer, findings and end upright, drawings and tables across", upright, across)
	}
}
