package grade

import (
	"context"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"obvert/line"
)

// drawn are lines drawn from stated seeds, so that they are the same in every test.
func drawn(seed int) plan {
	return rapid.Custom(func(t *rapid.T) plan { return drawPlan(t, true) }).Example(seed)
}

// On 300 lines without control valves the order in which air comes into runs decides nothing. With such valves it now and then does.
func TestAirInAnyOrder(t *testing.T) {
	rounds := 0
	for seed := range 300 {
		b := drawn(seed).build()
		k := b.kase(line.Gravity)
		one, err := b.try(k)
		if err != nil {
			continue
		}
		net, _ := NewNet(&b.l)
		rng := rand.New(rand.NewPCG(uint64(seed), 1))
		other, err := Solve(context.Background(), Input{Net: net, Case: k, order: func(runs int) []int { rounds++; return rng.Perm(runs) }})
		if err != nil {
			t.Fatal(err)
		}
		for i := range one.Runs {
			near(t, "flow", other.Runs[i].Flow, one.Runs[i].Flow, 1e-7)
		}
	}
	if rounds < 350 {
		t.Errorf("air spread in %d rounds only: the lines show nothing", rounds)
	}
}

// How the runs are numbered decides nothing, though air comes in at several at once.
func TestNumbersDecideNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPlan(t, true)
		turn := rapid.Permutation(indices(len(p.runs))).Draw(t, "turn")
		q := plan{nodes: p.nodes}
		for _, from := range turn {
			q.runs = append(q.runs, p.runs[from])
		}
		one, err := p.build().attempt(line.Gravity)
		other, err2 := q.build().attempt(line.Gravity)
		if (err == nil) != (err2 == nil) {
			t.Fatalf("%v against %v", err, err2)
		}
		if err != nil {
			t.Skip(err)
		}
		for to, from := range turn {
			near2(t, "flow", other.Runs[to].Flow, one.Runs[from].Flow, 1e-7)
		}
	})
}

func indices(n int) []int {
	s := make([]int, n)
	for i := range s {
		s[i] = i
	}
	return s
}
