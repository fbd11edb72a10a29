package pipe

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// V. T. Chow, Open-Channel Hydraulics (McGraw-Hill 1959), appendix A, circular
// sections, by depth over bore: area/d², wetted perimeter/d, hydraulic
// radius/d, top width/d. Figures from memory, and equal to the formulas.
func TestSegmentTable(t *testing.T) {
	for _, c := range [][5]float64{
		{0.10, 0.0409, 0.6435, 0.0635, 0.6000},
		{0.25, 0.1535, 1.0472, 0.1466, 0.8660},
		{0.50, 0.3927, 1.5708, 0.2500, 1.0000},
		{0.75, 0.6319, 2.0944, 0.3017, 0.8660},
		{0.90, 0.7445, 2.4981, 0.2980, 0.6000},
		{1.00, 0.7854, 3.1416, 0.2500, 0.0000},
	} {
		const d = 0.4
		near(t, "area", SegmentArea(c[0]*d, d)/(d*d), c[1], 6e-5)
		near(t, "perimeter", SegmentPerimeter(c[0]*d, d)/d, c[2], 6e-5)
		near(t, "hydraulic radius", HydraulicRadius(c[0]*d, d)/d, c[3], 6e-5)
		near(t, "width", SegmentWidth(c[0]*d, d)/d, c[4], 6e-5)
	}
}

func TestSegmentEnds(t *testing.T) {
	const d = 0.3
	for _, depth := range []float64{-5, -1e-9, 0} {
		if SegmentArea(depth, d) != 0 || SegmentWidth(depth, d) != 0 || SegmentPerimeter(depth, d) != 0 || HydraulicRadius(depth, d) != 0 {
			t.Errorf("depth %g is not empty", depth)
		}
	}
	for _, depth := range []float64{d, d + 1e-9, 7} {
		if SegmentArea(depth, d) != Area(d) || SegmentWidth(depth, d) != 0 || SegmentPerimeter(depth, d) != math.Pi*d {
			t.Errorf("depth %g is not full", depth)
		}
	}
}

func TestSegmentProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.Float64Range(0.02, 4).Draw(t, "bore")
		share := math.Pow(10, rapid.Float64Range(-9, -1e-3).Draw(t, "log depth/bore"))
		depth := share * d
		a := SegmentArea(depth, d)
		if back := SegmentDepth(a, d); math.Abs(back-depth) > 1e-13*d+1e-12*depth {
			t.Fatalf("depth %g, back %g", depth, back)
		}
		// water and air fill the bore
		if sum := a + SegmentArea(d-depth, d); math.Abs(sum/Area(d)-1) > 1e-14 {
			t.Fatalf("water and air make %g of the bore", sum/Area(d))
		}
		// the area grows with depth by the width
		h := 1e-4 * min(depth, d-depth)
		growth := (SegmentArea(depth+h, d) - SegmentArea(depth-h, d)) / (2 * h)
		if w := SegmentWidth(depth, d); math.Abs(growth/w-1) > 1e-6 {
			t.Fatalf("at %g of the bore the area grows by %g, width %g", share, growth, w)
		}
	})
}

// byQuadrature integrates the area along the pipe by Simpson's rule: slow and
// independent of the closed form.
func byQuadrature(length, bore, d1, d2 float64) float64 {
	const n = 20000 // even
	sum := SegmentArea(d1, bore) + SegmentArea(d2, bore)
	for i := 1; i < n; i++ {
		weight := 2.0
		if i%2 == 1 {
			weight = 4
		}
		sum += weight * SegmentArea(d1+(d2-d1)*float64(i)/n, bore)
	}
	return length * sum / (3 * n)
}

func TestWedgeVolumeAgainstQuadrature(t *testing.T) {
	const d = 0.5
	for _, c := range [][2]float64{
		{0, 0.5}, {0.5, 0}, {0.1, 0.3}, {-0.2, 0.3}, {0.2, 0.9}, {-1, 2}, {0.25, 0.2501},
		{0, 0.02}, {0.48, 0.5}, {-0.3, -0.1}, {0.6, 0.9}, {0.3, 0.3}, {0.3, 0.3 + 1e-9}, {0.2, 0.2 + 6e-6},
	} {
		got, want := WedgeVolume(10, d, c[0], c[1]), byQuadrature(10, d, c[0], c[1])
		near(t, "volume", got, want, 1e-9*(1+want))
	}
}

// Where the series takes over from the closed form the two agree.
func TestSegmentSeriesJoin(t *testing.T) {
	const d = 1.0
	for _, phi := range []float64{0.1, 0.2} {
		depth := d / 2 * (1 - math.Cos(phi))
		for _, f := range []func(depth, bore float64) float64{SegmentArea, segmentIntegral} {
			below, above := f(depth*(1-1e-9), d), f(depth*(1+1e-9), d)
			close(t, "across the join", above, below, 1e-8)
		}
	}
}

func TestWedgeVolumeProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.Float64Range(0.05, 3).Draw(t, "bore")
		length := rapid.Float64Range(0.1, 1e4).Draw(t, "length")
		a := rapid.Float64Range(-1, 4).Draw(t, "depth 1")
		b := rapid.Float64Range(-1, 4).Draw(t, "depth 2")
		v := WedgeVolume(length, d, a, b)
		full := length * Area(d)
		if !(v >= 0 && v <= full*(1+1e-12)) {
			t.Fatalf("volume %g of %g", v, full)
		}
		if back := WedgeVolume(length, d, b, a); math.Abs(back-v) > 1e-12*full {
			t.Fatalf("turned round: %g, %g", v, back)
		}
		// water and air fill the pipe
		if air := WedgeVolume(length, d, d-a, d-b); math.Abs(v+air-full) > 1e-10*full {
			t.Fatalf("water %g and air %g in %g", v, air, full)
		}
		// cut in two it is the same
		s := rapid.Float64Range(0, 1).Draw(t, "cut")
		mid := a + s*(b-a)
		if sum := WedgeVolume(s*length, d, a, mid) + WedgeVolume((1-s)*length, d, mid, b); math.Abs(sum-v) > 1e-9*full {
			t.Fatalf("in two pieces %g, in one %g", sum, v)
		}
	})
}

// At 1:1000 the surface in a bore of 0.3 m takes 300 m from invert to obvert,
// and there the pipe is half full on average, by symmetry.
func TestNearlyFlatPipeIsPartFullOver300m(t *testing.T) {
	const d, slope = 0.3, 0.001
	length := d * math.Sqrt(1-slope*slope) / slope // along the pipe
	v := StandingVolume(5, length, d, 5, 5-slope*length)
	close(t, "half the pipe", v, length*Area(d)/2, 1e-12)
	close(t, "length", length, 300, 1e-6)
}

// A cylinder cut by a plane through the centre of its end and one point of its
// other rim: the hoof holds 2/3 R² h (Archimedes, The Method, prop. 11-15).
func TestArchimedesHoof(t *testing.T) {
	const d, h = 0.8, 3.0
	close(t, "hoof", WedgeVolume(h, d, d/2, 0), 2./3*(d/2)*(d/2)*h, 1e-14)
}

func TestStandingVolumeOfSteepPipes(t *testing.T) {
	const d = 0.2
	close(t, "vertical", StandingVolume(7, 10, d, 2, 12), 5*Area(d), 1e-14)
	close(t, "vertical, turned", StandingVolume(7, 10, d, 12, 2), 5*Area(d), 1e-14)
	close(t, "above it all", StandingVolume(99, 10, d, 12, 2), 10*Area(d), 1e-14)
	if v := StandingVolume(1, 10, d, 12, 2); v != 0 {
		t.Errorf("below it all: %g", v)
	}
	// at 45°, the level meeting the axis 3√2 m along: what the surface cuts off
	// above that point it adds below
	root := math.Sqrt2
	v := StandingVolume(3+d/2/root, 10, d, 0, 10/root)
	close(t, "at 45°", v, Area(d)*3*root, 1e-12)
	// nearly vertical joins vertical
	near1 := StandingVolume(7, 10, d, 2, 12-1e-11)
	close(t, "nearly vertical", near1, 5*Area(d), 1e-3)
	for name, f := range map[string]func(){
		"inverts too far apart": func() { StandingVolume(1, 1, d, 0, 2) },
		"negative length":       func() { StandingVolume(1, -1, d, 0, 0) },
		"more than full":        func() { SegmentDepth(1, d) },
		"negative area":         func() { SegmentDepth(-1, d) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", name)
				}
			}()
			f()
		}()
	}
}

func BenchmarkWedgeVolume(b *testing.B) {
	for b.Loop() {
		sink += WedgeVolume(10, 0.5, 0.1, 0.4)
	}
}
