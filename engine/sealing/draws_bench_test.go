package sealing

import (
	"context"
	"fmt"
	"testing"
)

// Two hundred valves in six cases, 1,000 draws, by one worker and by two; without the indices too.
func BenchmarkDraws200Valves(b *testing.B) {
	bench(b, twoHundred())
}

// The same with every cell in doubt: all heads within a decimetre of what shuts a valve.
func BenchmarkDrawsAllInDoubt(b *testing.B) {
	in := twoHundred()
	for k := range in.Cases {
		for i := range in.Valves {
			in.Cases[k].At[i].Level = 1.9 + 0.2*float64(i)/200
		}
	}
	bench(b, in)
}

func bench(b *testing.B, in Input) {
	for _, o := range []Options{{Workers: 1}, {Workers: 2}, {Workers: 1, NoIndices: true}} {
		b.Run(fmt.Sprintf("workers=%d/indices=%t", o.Workers, !o.NoIndices), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Draws(context.Background(), in, o); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
