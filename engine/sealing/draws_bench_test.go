package sealing

import (
	"context"
	"fmt"
	"testing"
)

// Two hundred valves in six cases, 1,000 draws, by one worker and by two; without the indices too.
func BenchmarkDraws200Valves(b *testing.B) {
	in := twoHundred()
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
