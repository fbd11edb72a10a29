package deliver

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"obvert/line"
	"obvert/study"
	"obvert/survey"
)

func init() {
	goldens["plan-single-A3.svg.txt"] = func(t *testing.T) []byte {
		pages, err := LongSectionSVG(fixture("single"), Options{Date: "2026-05-12"}, PaperA3)
		if err != nil {
			t.Fatal(err)
		}
		return fontData.ReplaceAll(pages[0].SVG, []byte("base64,…"))
	}
	goldens["plan-single.dxf.txt"] = func(t *testing.T) []byte { return planDXF(t, fixture("single")) }
}

func planDXF(t testing.TB, r *study.Result) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := LongSectionDXF(&b, r, Options{Date: "2026-05-12"}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// TestPlanDXFIsAudited lets an independent reader open and audit drawings, and compares what it counts on each
// layer with what was meant.
func TestPlanDXFIsAudited(t *testing.T) {
	py := ""
	for _, name := range []string{"python3", "/usr/bin/python3"} {
		if py == "" && exec.Command(name, "-c", "import ezdxf").Run() == nil {
			py = name
		}
	}
	if py == "" {
		const word = "no python3 with ezdxf is installed: the drawings were not audited by an independent reader"
		if os.Getenv("CI") == "true" {
			t.Fatal(word)
		}
		t.Skip(word)
	}
	dir := t.TempDir()
	args := []string{"../formats/dxf/testdata/audit.py"}
	var want []*watch
	results := map[string]*study.Result{"named": fixture("named"), "branch": fixture("branch")}
	for _, name := range demos {
		results[name] = demoResult(t, name)
	}
	for name, r := range results {
		path := filepath.Join(dir, name+".dxf")
		if err := os.WriteFile(path, planDXF(t, r), 0o600); err != nil {
			t.Fatal(err)
		}
		args = append(args, path)
		sheets, err := planSheets(r, Options{Date: "2026-05-12"}, planRoll)
		if err != nil {
			t.Fatal(err)
		}
		w := newWatch()
		for _, s := range sheets {
			s.draw(w)
		}
		want = append(want, w)
	}
	out, err := exec.Command(py, args...).Output()
	if err != nil {
		var e *exec.ExitError
		if errors.As(err, &e) {
			t.Fatalf("%v: %s", err, e.Stderr)
		}
		t.Fatal(err)
	}
	for i, l := range strings.Split(strings.TrimSpace(string(out)), "\n") {
		var a struct {
			Errors, Fixes []string
			Layers        []string
			On            map[string]int
			Heights       []float64
		}
		if err := json.Unmarshal([]byte(l), &a); err != nil {
			t.Fatal(err)
		}
		name := filepath.Base(args[i+1])
		if len(a.Errors)+len(a.Fixes) > 0 {
			t.Errorf("%s: errors %v, fixes %v", name, a.Errors, a.Fixes)
		}
		for layer, n := range want[i].inks {
			if a.On[layer] != n || !slices.Contains(a.Layers, layer) {
				t.Errorf("%s: %d entities on layer %s, meant %d", name, a.On[layer], layer, n)
			}
		}
		if len(a.On) != len(want[i].inks) {
			t.Errorf("%s: %d layers are used, meant %d", name, len(a.On), len(want[i].inks))
		}
		for _, h := range a.Heights {
			if !isHeight(h) || h < planRoll.small {
				t.Errorf("%s: a text is %g mm high", name, h)
			}
		}
	}
}

// TestPlanHeights: no text is smaller than ISO 3098 and the paper allow.
func TestPlanHeights(t *testing.T) {
	for _, f := range allForms() {
		sheets, err := planSheets(fixture("branch"), Options{}, f)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range sheets {
			w := newWatch()
			s.draw(w)
			for h := range w.heights {
				if !isHeight(h) || h < f.small {
					t.Errorf("%s: a text is %g mm high", f.name, h)
				}
			}
		}
	}
}

// TestPlanRoundTrip draws every demo as DXF and takes it back as a survey: every point of every route must come back within a
// millimetre in chainage and level, with its ground. The drawing's coordinates are rounded to a millionth of a millimetre of
// paper, which at 1:10000 is a hundredth of a millimetre of line.
func TestPlanRoundTrip(t *testing.T) {
	const tolerance = 1e-3 // m
	for _, name := range demos {
		r := demoResult(t, name)
		reading, faults := survey.DXF(name+".dxf", planDXF(t, r), survey.Options{})
		if faults.Err() != nil {
			t.Fatalf("%s: %v", name, faults)
		}
		if best := reading.Tracks[0]; best.Name != "OBVERT" {
			t.Errorf("%s: the best track is %s: %s", name, best.Name, best.Why)
		}
		names, _ := valveNumbers(r)
		rack := newRackView(r)
		for i := range r.Line.Routes {
			v := newView(r, i, names, rack)
			worst, ground := math.Inf(1), math.Inf(1)
			for _, tr := range reading.Tracks {
				if tr.Name != "OBVERT" || tr.LevelKind == nil || *tr.LevelKind != line.LevelObvert || tr.Noise != 0 {
					continue
				}
				far, farGround := 0.0, 0.0
				for _, p := range v.pts {
					near, nearGround := math.Inf(1), 0.0
					for _, q := range tr.Points {
						if d := math.Max(math.Abs(q.Chainage-p.ch), math.Abs(q.Level-p.obvert)); d < near {
							near, nearGround = d, groundOff(v, q, p)
						}
					}
					far, farGround = math.Max(far, near), math.Max(farGround, nearGround)
				}
				if far < worst {
					worst, ground = far, farGround
				}
			}
			if worst > tolerance || ground > tolerance {
				t.Errorf("%s, route %s: a point comes back %.6f m off, its ground %.6f m", name, v.name, worst, ground)
			} else {
				t.Logf("%s, route %s: within %.2g m, ground %.2g m", name, v.name, worst, ground)
			}
		}
	}
}

// groundOff is how far a point's ground is from that of the route; where two runs meet, their profiles may give two grounds.
func groundOff(v *view, q survey.Point, p point) float64 {
	off := math.Inf(1)
	for _, o := range v.pts {
		switch {
		case math.Abs(o.ch-p.ch) > 1e-6:
		case o.hasGround && q.HasGround:
			off = math.Min(off, math.Abs(o.ground-q.Ground))
		case o.hasGround == q.HasGround:
			off = 0
		}
	}
	return off
}

// BenchmarkPlan draws demo/town as SVG on both papers, as PDF and as DXF.
func BenchmarkPlan(b *testing.B) {
	r := demoResult(b, "town")
	papers := func(b *testing.B, draw func(Paper) error) {
		for b.Loop() {
			for _, p := range []Paper{PaperA1, PaperA3} {
				if err := draw(p); err != nil {
					b.Fatal(err)
				}
			}
		}
	}
	b.Run("SVG", func(b *testing.B) {
		papers(b, func(p Paper) error {
			_, err := LongSectionSVG(r, Options{}, p)
			return err
		})
	})
	b.Run("PDF", func(b *testing.B) {
		papers(b, func(p Paper) error { return LongSectionPDF(io.Discard, r, Options{}, p) })
	})
	b.Run("DXF", func(b *testing.B) {
		for b.Loop() {
			planDXF(b, r)
		}
	})
}

// TestPlanSVG holds the sheets to well-formed XML, to the paper's size and to the same bytes twice.
func TestPlanSVG(t *testing.T) {
	for name, r := range fixtures() {
		for paper, size := range map[Paper]string{PaperA1: `width="841mm" height="594mm"`, PaperA3: `width="420mm" height="297mm"`} {
			a, err := LongSectionSVG(r, Options{}, paper)
			if err != nil {
				t.Fatal(err)
			}
			b, err := LongSectionSVG(r, Options{}, paper)
			if err != nil || len(a) != len(b) || len(a) == 0 {
				t.Fatalf("%s: %v, %d and %d pages", name, err, len(a), len(b))
			}
			for i := range a {
				if !bytes.Equal(a[i].SVG, b[i].SVG) {
					t.Errorf("%s %s differs from itself", name, a[i].Name)
				}
				if !bytes.Contains(a[i].SVG, []byte(size)) {
					t.Errorf("%s %s is not %s", name, a[i].Name, size)
				}
				for d := xml.NewDecoder(bytes.NewReader(a[i].SVG)); ; {
					if _, err := d.Token(); errors.Is(err, io.EOF) {
						break
					} else if err != nil {
						t.Fatalf("%s %s: %v", name, a[i].Name, err)
					}
				}
			}
		}
	}
}

// TestPlanKeepsWhatMatters: every valve, every end of the line and every change of pipe has its figures on some sheet.
func TestPlanKeepsWhatMatters(t *testing.T) {
	for _, name := range []string{"long", "cluster", "branch"} {
		r := fixture(name)
		for _, f := range allForms() {
			sheets, err := planSheets(r, Options{}, f)
			if err != nil {
				t.Fatal(err)
			}
			valves, dropped := map[int]bool{}, 0
			route := -1
			for _, s := range sheets {
				if s.route != route {
					valves, route = map[int]bool{}, s.route
				}
				dropped += s.dropped
				for _, c := range s.cols {
					if c.valve >= 0 {
						valves[c.valve] = true
					}
				}
				if s.last() && len(valves) != len(s.valves) {
					t.Errorf("%s %s: %d of %d valves", name, f.name, len(valves), len(s.valves))
				}
			}
			if dropped > 0 {
				t.Errorf("%s %s: %d things had no room", name, f.name, dropped)
			}
		}
	}
}

// TestStandardScale: the series of ISO 5455 is 1:1, 1:2, 1:5 and their tenfolds.
func TestStandardScale(t *testing.T) {
	for v, want := range map[float64]float64{0.2: 1, 1: 1, 1.1: 2, 3: 5, 5.01: 10, 199: 200, 201: 500, 9999: 10000} {
		if got := standardScale(v); got != want {
			t.Errorf("scale for %g: %g, want %g", v, got, want)
		}
	}
	for v, want := range map[float64]float64{10000: 5000, 5000: 2000, 2000: 1000, 2: 1} {
		if got := finer(v); got != want {
			t.Errorf("finer than %g: %g, want %g", v, got, want)
		}
	}
}

// TestPlanRefuses what cannot be drawn, and writes nothing.
func TestPlanRefuses(t *testing.T) {
	if _, err := LongSectionSVG(fixture("single"), Options{}, Paper(9)); err == nil {
		t.Error("paper 9 was drawn")
	}
	r := fixture("single")
	r.Line.Routes = nil
	var b bytes.Buffer
	if err := LongSectionDXF(&b, r, Options{}); err == nil || b.Len() > 0 {
		t.Errorf("a line without routes was drawn: %v", err)
	}
	r = fixture("single")
	r.Grades[0].Runs[0].Head[0] = math.NaN()
	if err := LongSectionDXF(&b, r, Options{}); err == nil || b.Len() > 0 {
		t.Errorf("a result that is not finite was drawn: %v", err)
	}
}
