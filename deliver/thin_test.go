package deliver

import (
	"testing"
	"time"
)

// A saw-tooth of many points, of which none may go, is thinned in good time.
func TestThinSawTooth(t *testing.T) {
	p := make([]pt, 50_000)
	for i := range p {
		p[i] = pt{float64(i), float64(i % 7)}
	}
	begin := time.Now()
	if got := thin(p, 0.25); len(got) < len(p)/4 || got[0] != p[0] || got[len(got)-1] != p[len(p)-1] {
		t.Errorf("%d points are left", len(got))
	}
	if took := time.Since(begin); took > 5*time.Second {
		t.Errorf("thinned in %v", took)
	}
}
