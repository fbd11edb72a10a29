package deliver

import (
	"fmt"
	"math"
	"testing"

	"obvert/line"
	"obvert/study"

	"pgregory.net/rapid"
)

// drawAll draws everything of a result in every form.
func drawAll(r *study.Result) []*canvas {
	names, _ := valveNumbers(r)
	rack := newRackView(r)
	var out []*canvas
	for i := range r.Line.Routes {
		v := newView(r, i, names, rack)
		out = append(out, drawRoute(v, fmt.Sprint(i+1), forms)...)
		if tiles := newCaseTiles(v); tiles.told() {
			out = append(out, inSome(forms, tiles, fmt.Sprintf("cs%d", i+1))...)
		}
		t, _ := drawTubeSheets(v, fmt.Sprint(i+1), forms)
		out = append(out, t...)
	}
	for i := range r.Bench {
		for _, f := range forms {
			c := &canvas{w: f.w, id: fmt.Sprintf("be%d%s", i, f.name), class: f.name}
			newBenchRun(&r.Bench[i], f, c, rack).draw()
			out = append(out, c)
		}
	}
	return out
}

// faults lists the labels of a drawing that meet one another or stand outside it.
func faults(c *canvas) []string {
	var out []string
	for i, a := range c.labels {
		if a.box.left() < -0.5 || a.box.right() > c.w+0.5 || a.box.top() < -0.5 || a.box.bottom() > c.h+0.5 {
			out = append(out, fmt.Sprintf("%s %s: %q is cut: x %.1f…%.1f of %.0f, y %.1f…%.1f of %.0f", c.class, c.id, a.text, a.box.left(), a.box.right(), c.w, a.box.top(), a.box.bottom(), c.h))
		}
		for _, b := range c.labels[i+1:] {
			if math.Abs(a.box.x-b.box.x) < (a.box.w+b.box.w+a.box.h+b.box.h) && a.box.meets(b.box) {
				out = append(out, fmt.Sprintf("%s %s: %q meets %q at %.0f, %.0f", c.class, c.id, a.text, b.text, b.box.x, b.box.y))
			}
		}
	}
	return out
}

// TestNoLabelMeetsAnother is the rule of the look: nothing collides, nothing is cut, on every fixture in every form.
func TestNoLabelMeetsAnother(t *testing.T) {
	for name, r := range fixtures() {
		n := 0
		for _, c := range drawAll(r) {
			n += len(c.labels)
			for _, f := range faults(c) {
				t.Errorf("%s: %s", name, f)
			}
		}
		if n < 40 {
			t.Errorf("%s: only %d labels were drawn", name, n)
		}
	}
}

// randomSpec is a line of any length, ruggedness and number of valves, with names of any length.
func randomSpec(t *rapid.T) spec {
	length := rapid.Float64Range(40, 60e3).Draw(t, "length")
	n := rapid.IntRange(2, 60).Draw(t, "points")
	relief := rapid.Float64Range(0.2, 300).Draw(t, "relief")
	s := spec{name: rapid.StringMatching(`[A-Za-zäßŁ -]{1,70}`).Draw(t, "name"), bore: rapid.Float64Range(0.05, 2).Draw(t, "bore"),
		rack: fiveTypes()[:rapid.IntRange(1, 5).Draw(t, "types")], noBench: true}
	ground := rapid.Bool().Draw(t, "ground")
	top := 0.0
	for i := range n {
		z := 50 + relief*rapid.Float64Range(0, 1).Draw(t, "level")
		top = max(top, z)
		g := noGround
		if ground {
			g = z + rapid.Float64Range(0.6, 4).Draw(t, "cover")
		}
		s.points = append(s.points, [3]float64{length * float64(i) / float64(n-1), z, g})
	}
	last := s.points[n-1][1]
	s.tank = [2]float64{last + rapid.Float64Range(1, 20).Draw(t, "full"), last + 0.5}
	word := rapid.StringMatching(`[A-Za-z0-9]{1,4}|[A-Za-z -]{5,60}`)
	for i := range rapid.IntRange(1, 4).Draw(t, "cases") {
		k := specCase{name: fmt.Sprintf("%s %d, %s", word.Draw(t, "case"), i, word.Draw(t, "how")), kind: line.CaseKind(rapid.IntRange(0, 3).Draw(t, "kind"))}
		if k.kind != line.Standing {
			k.slope, k.flow = rapid.Float64Range(1e-5, 0.02).Draw(t, "slope"), rapid.Float64Range(0.001, 2).Draw(t, "flow")
		}
		k.low = rapid.Bool().Draw(t, "low")
		s.cases = append(s.cases, k)
	}
	for i := range rapid.IntRange(0, 40).Draw(t, "valves") {
		s.valves = append(s.valves, specValve{fmt.Sprintf("%s%d", word.Draw(t, "valve"), i), length * rapid.Float64Range(0, 1).Draw(t, "at"), 0.4, rapid.IntRange(-1, len(s.rack)-1).Draw(t, "record")})
	}
	return s
}

// TestNoLabelMeetsAnotherOnAnyLine draws random lines.
func TestNoLabelMeetsAnotherOnAnyLine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		defer func(all []form) { forms = all }(forms)
		forms = []form{rapid.SampledFrom(forms).Draw(t, "form")}
		for _, c := range drawAll(randomSpec(t).build()) {
			for _, f := range faults(c) {
				t.Error(f)
			}
		}
	})
}

// TestSpread checks the one-dimensional push: order kept, gap kept, nothing moved that need not be, least movement in sum.
func TestSpread(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := rapid.SliceOfN(rapid.Float64Range(0, 1000), 1, 30).Draw(t, "at")
		for i := 1; i < len(at); i++ {
			at[i] = max(at[i], at[i-1])
		}
		gap := rapid.Float64Range(1, 30).Draw(t, "gap")
		got := Spread(at, gap, -1e4, 1e4)
		shift := 0.0
		for i := range got {
			if i > 0 && got[i]-got[i-1] < gap-1e-9 {
				t.Fatalf("gap %g between %g and %g, want %g", got[i]-got[i-1], got[i-1], got[i], gap)
			}
			shift += got[i] - at[i]
		}
		if math.Abs(shift) > 1e-6 { // the mean of every block is kept, so of all together
			t.Fatalf("the middle moved by %g", shift)
		}
		apart := true
		for i := 1; i < len(at); i++ {
			apart = apart && at[i]-at[i-1] >= gap
		}
		if apart {
			for i := range at {
				if math.Abs(got[i]-at[i]) > 1e-9 {
					t.Fatalf("%g moved to %g without need", at[i], got[i])
				}
			}
		}
	})
}
