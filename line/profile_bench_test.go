package line

import (
	"bytes"
	"fmt"
	"math"
	"testing"
)

// survey is a profile of n points 5 m apart in the plain dialect, or with semicolons, decimal commas and stakes.
func survey(n int, continental bool) []byte {
	var b bytes.Buffer
	if continental {
		b.WriteString("Stationierung;Sohlhöhe [müNN];Gelände [müNN]\n")
	} else {
		b.WriteString("Chainage [m],Invert level [m],Ground level [m]\n")
	}
	for i := range n {
		z := 100 + 20*math.Sin(float64(i)/200) + 0.3*math.Sin(float64(i)*1.7)
		if continental {
			s := fmt.Sprintf("%d+%03d,0;%.3f;%.2f\n", i*5/1000, i*5%1000, z, z+1.5)
			b.WriteString(string(bytes.ReplaceAll([]byte(s), []byte{'.'}, []byte{','})))
		} else {
			fmt.Fprintf(&b, "%.1f,%.3f,%.2f\n", float64(i)*5, z, z+1.5)
		}
	}
	return b.Bytes()
}

func bore300(float64) (float64, bool) { return 0.3, true }

func benchmarkRead(b *testing.B, n int, continental bool) {
	data := survey(n, continental)
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		r, faults := ReadProfile("p.csv", data, ProfileOptions{BoreAt: bore300})
		if err := faults.Err(); err != nil || len(r.Points) != n {
			b.Fatal(len(r.Points), err)
		}
	}
}

// BenchmarkReadProfile reads 5,000 points, wanted within a few milliseconds, and a million, wanted in under 1.5 s.
func BenchmarkReadProfile(b *testing.B) {
	b.Run("5000 plain", func(b *testing.B) { benchmarkRead(b, 5000, false) })
	b.Run("5000 continental", func(b *testing.B) { benchmarkRead(b, 5000, true) })
	b.Run("1000000 plain", func(b *testing.B) { benchmarkRead(b, 1_000_000, false) })
	b.Run("1000000 continental", func(b *testing.B) { benchmarkRead(b, 1_000_000, true) })
}
