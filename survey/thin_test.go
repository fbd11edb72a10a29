package survey

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// profile draws a profile: rising chainage with steps, levels of any shape, some of them repeated.
func profile(t *rapid.T) (s, z []float64) {
	n := rapid.IntRange(2, 120).Draw(t, "n")
	at, level := rapid.Float64Range(-1e4, 1e5).Draw(t, "from"), rapid.Float64Range(-100, 3000).Draw(t, "level")
	rough := math.Pow(10, rapid.Float64Range(-3, 2).Draw(t, "rough"))
	for range n {
		s, z = append(s, at), append(z, level)
		switch rapid.IntRange(0, 9).Draw(t, "next") {
		case 0: // a vertical step
			level += rapid.Float64Range(-3, 3).Draw(t, "dz") * rough
		case 1: // level
			at += rapid.Float64Range(0.001, 50).Draw(t, "ds")
		default:
			at += rapid.Float64Range(0.001, 50).Draw(t, "ds")
			level += rapid.Float64Range(-1, 1).Draw(t, "dz") * rough
		}
	}
	return s, z
}

// The guarantee, by another way than the code's: every point of the profile stands within the tolerance of the chain that is left, found
// by its chainage, verticals included.
func TestThinKeepsItsWord(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, z := profile(t)
		_, g := s, make([]float64, len(z))
		for i := range g {
			g[i] = z[i] + 1 + rapid.Float64Range(0, 0.5).Draw(t, "cover")
		}
		tol := math.Pow(10, rapid.Float64Range(-4, 1.5).Draw(t, "tolerance"))
		got, err := Thin(s, tol, nil, z, g)
		if err != nil {
			t.Fatal(err)
		}
		if !slices.IsSorted(got.Keep) || got.Keep[0] != 0 || got.Keep[len(got.Keep)-1] != len(s)-1 {
			t.Fatalf("kept %v", got.Keep)
		}
		worst := 0.0
		for _, column := range [][]float64{z, g} {
			for i := range s {
				near := math.Inf(1)
				for k := 1; k < len(got.Keep); k++ {
					a, b := got.Keep[k-1], got.Keep[k]
					if s[i] < s[a] || s[i] > s[b] {
						continue
					}
					lo, hi := column[a], column[b]
					if s[b] > s[a] {
						lo = column[a] + (column[b]-column[a])*((s[i]-s[a])/(s[b]-s[a]))
						hi = lo
					}
					lo, hi = min(lo, hi), max(lo, hi)
					near = min(near, max(lo-column[i], column[i]-hi, 0))
				}
				worst = max(worst, near)
			}
		}
		if worst > tol*(1+1e-9)+1e-11 || got.Largest > tol {
			t.Fatalf("a point stands %g off, %g told, tolerance %g", worst, got.Largest, tol)
		}
		if got.Largest < worst-1e-9 {
			t.Fatalf("a point stands %g off, only %g told", worst, got.Largest)
		}
		if top := slices.Index(z, slices.Max(z)); !slices.Contains(got.Keep, top) && z[top]-min(z[0], z[len(z)-1]) > tol {
			// The highest of all is a summit unless the profile never falls from it, nor rises to it, by the tolerance.
			if z[top]-slices.Min(z[:top+1]) > tol && z[top]-slices.Min(z[top:]) > tol {
				t.Fatalf("the highest point %d is gone", top)
			}
		}
	})
}

// Every high that stands more than the tolerance above a low on both sides before the profile is higher again is kept itself.
func TestThinKeepsSummits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, z := profile(t)
		tol := math.Pow(10, rapid.Float64Range(-3, 1).Draw(t, "tolerance"))
		got, err := Thin(s, tol, nil, z)
		if err != nil {
			t.Fatal(err)
		}
		low := slices.Clone(z)
		for i := range low {
			low[i] = -low[i]
		}
		for _, column := range [][]float64{z, low} {
			for i := range column {
				// The prominence to either side: how far it falls before it is as high again.
				side := func(step int) float64 {
					least := column[i]
					for k := i + step; k >= 0 && k < len(column); k += step {
						if column[k] > column[i] || step < 0 && column[k] == column[i] {
							break // of a level top the first point counts
						}
						least = min(least, column[k])
					}
					return column[i] - least
				}
				if side(-1) > tol && side(1) > tol && !slices.Contains(got.Keep, i) {
					t.Fatalf("turn %d at %g of %g is gone, tolerance %g", i, s[i], z[i], tol)
				}
			}
		}
	})
}

// By hand: a hump of 0.3 m on a straight rise of 10 m, at tolerances above and below.
func TestThinByHand(t *testing.T) {
	s := []float64{0, 100, 200, 300, 400, 500}
	z := []float64{0, 2, 4.3, 4.1, 8, 10}
	for _, c := range []struct {
		tol     float64
		keep    string
		largest float64
		summits int
	}{
		{0, "012345", 0, 0},
		{0.1, "012345", 0, 0},
		{0.16, "02345", 0.15, 0}, // the line 0–200 m is at 2.15 where the point at 100 m has 2
		{2, "05", 1.9, 1},        // 6 − 4.1
	} {
		got, err := Thin(s, c.tol, nil, z)
		if err != nil {
			t.Fatal(err)
		}
		var keep strings.Builder
		for _, i := range got.Keep {
			keep.WriteByte(byte('0' + i))
		}
		if keep.String() != c.keep || math.Abs(got.Largest-c.largest) > 1e-12 || got.Summits != c.summits {
			t.Errorf("tolerance %g: %s, largest %g, %d summits, want %s, %g, %d", c.tol, keep.String(), got.Largest, got.Summits, c.keep, c.largest, c.summits)
		}
	}
	if got, _ := Thin(s, 2, nil, z); math.Abs(got.Flat-0.2) > 1e-12 {
		t.Errorf("the summit that is gone stood %g m above its low, want 0.2", got.Flat)
	}
	if got, _ := Thin(s, 2, []int{3}, z); !slices.Contains(got.Keep, 3) {
		t.Error("a point that must be kept is gone")
	}
}

func TestThinRefuses(t *testing.T) {
	nan := math.NaN()
	for word, err := range map[string]error{
		"tolerance":   second(Thin([]float64{0, 1}, -1, nil, []float64{0, 0})),
		"a tolerance": second(Thin([]float64{0, 1}, nan, nil, []float64{0, 0})),
		"falls":       second(Thin([]float64{1, 0}, 1, nil, []float64{0, 0})),
		"no level":    second(Thin([]float64{0, 1}, 1, nil, []float64{0, nan})),
		"no chainage": second(Thin([]float64{0, nan}, 1, nil, []float64{0, 0})),
		"1 levels":    second(Thin([]float64{0, 1}, 1, nil, []float64{0})),
		"without":     second(Thin([]float64{0, 1}, 1, nil)),
		"not there":   second(Thin([]float64{0, 1}, 1, []int{2}, []float64{0, 0})),
	} {
		if err == nil || !strings.Contains(err.Error(), word) {
			t.Errorf("%v says nothing of %q", err, word)
		}
	}
}

func second(_ Thinned, err error) error { return err }

// shapes are profiles of n points that would make a method by halves take the square of the time.
func shapes(n int) map[string][]float64 {
	all := map[string][]float64{}
	make1 := func(name string, f func(i int) float64) {
		z := make([]float64, n)
		for i := range z {
			z[i] = f(i)
		}
		all[name] = z
	}
	make1("straight", func(i int) float64 { return float64(i) * 0.01 })
	make1("saw", func(i int) float64 { return float64(i % 7) })
	make1("bow", func(i int) float64 { x := float64(i) / float64(n); return 1000 * x * x })
	make1("growing saw", func(i int) float64 { return float64(i%2) * float64(i) / float64(n) * 100 })
	make1("noise", func(i int) float64 { return float64(i*7919%1000)/1000*0.12 + float64(i)*0.001 })
	make1("root", func(i int) float64 { return math.Sqrt(float64(i)) })
	return all
}

// A million points of any shape stay well under a second each.
func TestThinIsQuick(t *testing.T) {
	n := 1_000_000
	s := make([]float64, n)
	for i := range s {
		s[i] = float64(i)
	}
	for name, z := range shapes(n) {
		begin := time.Now()
		got, err := Thin(s, 0.05, nil, z)
		if err != nil {
			t.Fatal(err)
		}
		spent := time.Since(begin)
		t.Logf("%s: %d of %d points left in %v", name, len(got.Keep), n, spent)
		if spent > 3*time.Second { // ten times what it takes where nothing else runs
			t.Errorf("%s took %v", name, spent)
		}
	}
}

func BenchmarkThin(b *testing.B) {
	n := 1_000_000
	s := make([]float64, n)
	for i := range s {
		s[i] = float64(i)
	}
	for name, z := range shapes(n) {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := Thin(s, 0.05, nil, z); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
