package survey

import (
	"bytes"
	"fmt"
	"math"
	"testing"
)

// million is a survey of a million points 0.2 m apart: chainage, or coordinates on the plan, with the roughness of a trench of 4 mm.
func million(plan bool) []byte {
	var b bytes.Buffer
	b.WriteString("Point,Chainage [m],Invert level [m],Ground level [m]\n")
	if plan {
		b.Reset()
		b.WriteString("Point;Rechtswert [m];Hochwert [m];Sohlhöhe [m];Bemerkung\n")
	}
	x, y := 3_500_000.0, 5_400_000.0
	for i := range 1_000_000 {
		s := 0.2 * float64(i)
		z := 300 + 80*math.Sin(s/9000) + 3*math.Sin(s/400) + 0.004*math.Sin(s*17)
		if !plan {
			fmt.Fprintf(&b, "%d,%.1f,%.3f,%.2f\n", i, s, z, z+1.4)
			continue
		}
		x += 0.2 * math.Cos(s/5000)
		y += 0.2 * math.Sin(s/5000)
		b.Write(bytes.ReplaceAll(fmt.Appendf(nil, "%d;%.3f;%.3f;%.3f;\n", i, x, y, z), []byte{'.'}, []byte{','}))
	}
	return b.Bytes()
}

// BenchmarkImport reads, thins and composes a million points: wanted in less than 5 s on one core.
func BenchmarkImport(b *testing.B) {
	for _, plan := range []bool{false, true} {
		name := map[bool]string{false: "chainage", true: "plan"}[plan]
		data := million(plan)
		b.Run(name, func(b *testing.B) {
			b.SetBytes(int64(len(data)))
			b.ReportAllocs()
			for b.Loop() {
				r, faults := Read("big.csv", data, Options{})
				if err := faults.Err(); err != nil {
					b.Fatal(err)
				}
				f, faults := Compose([]Reading{r}, Choices{})
				if err := faults.Err(); err != nil {
					b.Fatal(err)
				}
				if f.Points != 1_000_000 || len(f.Track.Points) > 300_000 {
					b.Fatal(f.Points, len(f.Track.Points))
				}
				b.ReportMetric(float64(len(f.Track.Points)), "points-left")
			}
		})
	}
}
