package grade

import (
	"context"
	"math/rand/v2"
	"testing"

	"obvert/line"
)

// loops is a graph of a thousand runs with some three hundred loops: a grid of streets fed by two tanks.
func loops() *build {
	rng := rand.New(rand.NewPCG(3, 4))
	b := newBuild()
	const side = 26
	at := func(i, j int) int { return i*side + j }
	for i := range side * side {
		if i == 0 || i == side*side-1 {
			b.tank("t", 100)
			continue
		}
		n := b.node("n", line.Offtake)
		b.l.Nodes[n].Demand = 2e-4
	}
	for i := range side {
		for j := range side {
			for _, next := range [][2]int{{i, j + 1}, {i + 1, j}} {
				if next[0] == side || next[1] == side || next[0] > i && j%2 == 1 && rng.IntN(3) > 0 {
					continue
				}
				b.run("r", at(i, j), at(next[0], next[1]), 0.15+0.1*rng.Float64(), 1e-4, [2]float64{0, 20}, [2]float64{50, 25}, [2]float64{100, 20})
			}
		}
	}
	return b
}

func BenchmarkSteady1000Runs(b *testing.B) {
	g := loops()
	k := g.kase(line.Gravity)
	b.ReportMetric(float64(len(g.l.Runs)), "runs")
	b.Run("all", func(b *testing.B) {
		for b.Loop() {
			n, err := NewNet(&g.l)
			if err != nil {
				b.Fatal(err)
			}
			if _, err := Solve(context.Background(), Input{Net: n, Case: k}); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("prepared", func(b *testing.B) {
		n, _ := NewNet(&g.l)
		for b.Loop() {
			r, err := Solve(context.Background(), Input{Net: n, Case: k})
			if err != nil {
				b.Fatal(err)
			}
			b.ReportMetric(float64(r.Iterations), "steps")
		}
	})
}
