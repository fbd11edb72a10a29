package quantity

import (
	"strings"
	"testing"
)

func TestDuration(t *testing.T) {
	for s, want := range map[float64]string{
		0: "0.0 s", 4.26: "4.3 s", 59.4: "59 s", 59.6: "1 min", 130: "2 min 10 s", 3599.7: "1 h", 11100: "3 h 5 min", 86390: "1 d",
		90000: "1 d 1 h", 5.5 * 86400: "5 d 12 h", 200 * 86400: "200 d", 3 * 365 * 86400: "3.0 years", -130: "−2 min 10 s",
	} {
		if got := strings.ReplaceAll(Duration(s), "\u00a0", " "); got != want {
			t.Errorf("%g s: got %q, want %q", s, got, want)
		}
	}
}
