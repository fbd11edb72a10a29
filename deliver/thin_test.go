package deliver

import (
	"fmt"
	"testing"
)

func sawTooth(n int) []pt {
	p := make([]pt, n)
	for i := range p {
		p[i] = pt{float64(i), float64(i % 7)}
	}
	return p
}

// A saw-tooth keeps its ends and most of its points.
func TestThinSawTooth(t *testing.T) {
	p := sawTooth(50_000)
	if got := thin(p, 0.25); len(got) < len(p)/4 || got[0] != p[0] || got[len(got)-1] != p[len(p)-1] {
		t.Errorf("%d points are left", len(got))
	}
}

// Ten times the points should take about ten times as long, not a hundred.
func BenchmarkThinSawTooth(b *testing.B) {
	for _, n := range []int{5_000, 50_000} {
		p := sawTooth(n)
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			for b.Loop() {
				thin(p, 0.25)
			}
		})
	}
}
