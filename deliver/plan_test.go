package deliver

import (
	"context"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"obvert/study"

	"pgregory.net/rapid"
)

// demoResult studies one of the demos.
func demoResult(t testing.TB, name string) *study.Result {
	t.Helper()
	dir := "../demo/" + name
	rackFS := os.DirFS("../demo/rack")
	rack, faults := study.LoadRack(rackFS)
	if faults.Err() != nil {
		t.Fatal(faults)
	}
	if _, err := os.Stat(dir + "/rack"); err == nil {
		rack = nil
	}
	src, faults := study.Load(os.DirFS(dir), rack)
	if faults.Err() != nil {
		t.Fatal(faults)
	}
	r, err := study.Solve(context.Background(), src, study.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

var demos = []string{"ridge", "town", "gravity", "twin", "flat-irrigation"}

// watch is a pen that remembers the box of every text.
type watch struct {
	n       int
	labels  []label
	inks    map[string]int
	heights map[float64]bool
}

func newWatch() *watch { return &watch{inks: map[string]int{}, heights: map[float64]bool{}} }

func (w *watch) on(k ink)            { w.n++; w.inks[k.layer]++ }
func (w *watch) line(k ink, _, _ pt) { w.on(k) }
func (w *watch) polyline(k ink, p []pt) {
	if len(p) > 1 {
		w.on(k)
	}
}
func (w *watch) fill(k ink, _ []pt)                    {}
func (w *watch) solid(k ink, _ []pt)                   { w.on(k) }
func (w *watch) circle(k ink, _ pt, _ float64)         { w.on(k) }
func (w *watch) shape(k ink, _ shape, _ pt, _ float64) { w.on(k) }
func (w *watch) text(k ink, p pt, s string, h float64, bold bool, turn float64, a anchor) {
	if strings.TrimSpace(s) != "" {
		w.on(k)
		w.heights[h] = true
		w.labels = append(w.labels, label{s, planBox(p, s, h, bold, turn, a)})
	}
}

// planFaults lists texts that meet or leave the frame.
func planFaults(s *planSheet) []string {
	w := newWatch()
	s.draw(w)
	var out []string
	for i, a := range w.labels {
		if a.box.left() < marginBind-0.1 || a.box.right() > s.form.w-margin+0.1 || a.box.top() < margin-0.1 || a.box.bottom() > s.form.h-margin+0.1 {
			out = append(out, fmt.Sprintf("sheet %d %s: %q is cut: x %.1f…%.1f, y %.1f…%.1f", s.no, s.form.name, a.text, a.box.left(), a.box.right(), a.box.top(), a.box.bottom()))
		}
		for _, b := range w.labels[i+1:] {
			if math.Abs(a.box.x-b.box.x) < a.box.w+b.box.w+a.box.h+b.box.h && a.box.meets(b.box) {
				out = append(out, fmt.Sprintf("sheet %d %s: %q meets %q at %.0f, %.0f", s.no, s.form.name, a.text, b.text, b.box.x, b.box.y))
			}
		}
	}
	return out
}

func allForms() []planForm { return []planForm{planA1, planA3, planRoll} }

// TestPlanLabelsNeverMeet holds every sheet of every demo and fixture to the rule of the look.
func TestPlanLabelsNeverMeet(t *testing.T) {
	all := fixtures()
	for _, name := range demos {
		all["demo "+name] = demoResult(t, name)
	}
	for name, r := range all {
		for _, f := range allForms() {
			sheets, err := planSheets(r, Options{}, f)
			if err != nil {
				t.Fatal(err)
			}
			for _, s := range sheets {
				for _, x := range planFaults(s) {
					t.Errorf("%s: %s", name, x)
				}
			}
		}
	}
}

// TestPlanLabelsNeverMeetOnAnyLine draws random lines.
func TestPlanLabelsNeverMeetOnAnyLine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.SampledFrom(allForms()).Draw(t, "form")
		sheets, err := planSheets(randomSpec(t).build(), Options{}, f)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range sheets {
			for _, x := range planFaults(s) {
				t.Error(x)
			}
		}
	})
}
