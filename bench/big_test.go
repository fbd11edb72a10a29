package bench

import (
	"bytes"
	"fmt"
	"math"
	"testing"
	"time"
)

// A long series does not hang: 100,000 rows with a coarse gauge, 10,000 stretches
// of readings alike.
func TestLongSeries(t *testing.T) {
	var b bytes.Buffer
	b.WriteString("time [s],tube [mm]\n")
	const n = 100_000
	for i := range n {
		h := 100 + 1e3*math.Min(float64(i), float64(n-i))/(n/2)
		fmt.Fprintf(&b, "%.4f,%.1f\n", float64(i)*100/n, h)
	}
	begun := time.Now()
	r, faults := Parse("run.toml", []byte(withCSV()), func(string) ([]byte, error) { return b.Bytes(), nil })
	if len(faults) == 0 || faults.Err() == nil { // its repeat ends at 100 s, the series just before
		t.Fatal("the repeat beyond the series is taken")
	}
	r.Repeats[0].To = 99.9
	if _, err := Reduce(r); err != nil {
		t.Fatal(err)
	}
	if took := time.Since(begun); took > 20*time.Second {
		t.Errorf("took %v", took)
	}
}
