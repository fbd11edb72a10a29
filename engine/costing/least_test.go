package costing

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// The search finds the foot of a curve that does not move at first and then rises, in few steps, and stands on the side that
// holds; or it says how far it came.
func TestLeast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		foot := rapid.Float64Range(0, 80).Draw(t, "nothing won until")
		short := rapid.Float64Range(0.01, 30).Draw(t, "short")
		slope := rapid.Float64Range(0.2, 1).Draw(t, "slope")
		bend := rapid.Float64Range(0, 0.01).Draw(t, "bend")
		wall := rapid.Float64Range(0, 150).Draw(t, "cannot be beyond")
		calls := 0
		f := func(x float64) (float64, bool, error) {
			calls++
			u := max(0, x-foot)
			return slope*u + bend*u*u - short, x <= wall, nil
		}
		// slope·u + bend·u² = short
		root := foot + 2*short/(slope+math.Sqrt(slope*slope+4*bend*short))
		got, err := least(f, 0, -short, 160)
		if err != nil {
			t.Fatal(err)
		}
		can := min(wall, 160)
		switch {
		case got.found && (got.x < root-1e-9 || got.x > root+step*1.01 || got.x > can):
			t.Fatalf("found %g, root %g, wall %g", got.x, root, wall)
		case !got.found && root < can-step*1.01:
			t.Fatalf("not found, root %g, wall %g: %+v", root, wall, got)
		case !got.found && got.short < 0:
			t.Fatalf("%+v", got)
		}
		if calls > 45 {
			t.Fatalf("%d calls", calls)
		}
	})
}

// On a plain slope of one it takes next to no search.
func TestLeastIsCheap(t *testing.T) {
	for _, foot := range []float64{0, 1.5, 10, 60} {
		calls := 0
		got, err := least(func(x float64) (float64, bool, error) { calls++; return max(0, x-foot) - 3, true, nil }, 0, -3, 160)
		if err != nil || !got.found || math.Abs(got.x-foot-3) > step || calls > 9 {
			t.Errorf("foot at %g: %+v in %d calls, %v", foot, got, calls, err)
		}
	}
	if _, err := least(func(float64) (float64, bool, error) { return 0, false, errors.New("x") }, 0, -1, 10); err == nil {
		t.Error("no error")
	}
}
