package grade

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"obvert/line"
)

// standing finds the levels at rest in another way than the package: from the highest barrier of every way between any two points (Warshall's closure with
// max in place of the sum), again and again while air spreads. Levels by run and point; Inf where nothing can leave.
func standing(p plan, vapour float64, eager bool) (level [][]float64, air [][]bool) {
	type point struct{ run, k int }
	type vertex struct{ z, bore float64 }
	var all []vertex
	index := map[point]int{}
	type pass struct {
		a, b        int
		there, back bool
	}
	var passes []pass
	atmosphere := []bool{}
	for i, r := range p.runs {
		for k, pt := range r.points {
			if k > 0 && r.check > r.points[k-1][0] && r.check < pt[0] { // a place on either side of the check valve
				f := (r.check - r.points[k-1][0]) / (pt[0] - r.points[k-1][0])
				z := r.points[k-1][1] + f*(pt[1]-r.points[k-1][1])
				n := len(all)
				all, atmosphere = append(all, vertex{z, r.bore}, vertex{z, r.bore}), append(atmosphere, false, false)
				passes = append(passes, pass{n - 1, n, true, true}, pass{n, n + 1, !r.reverse, r.reverse})
			}
			index[point{i, k}] = len(all)
			if k > 0 {
				passes = append(passes, pass{len(all) - 1, len(all), true, true})
			}
			all, atmosphere = append(all, vertex{pt[1], r.bore}), append(atmosphere, r.valve[pt[0]])
		}
	}
	n := len(all)
	inf := math.Inf(1)
	open := make([][]bool, n) // water may pass from the first to the second
	for i := range open {
		open[i] = make([]bool, n)
	}
	ends := map[int][]int{}
	for _, w := range passes {
		open[w.a][w.b], open[w.b][w.a] = w.there, w.back
	}
	for i, r := range p.runs {
		ends[r.from] = append(ends[r.from], index[point{i, 0}])
		ends[r.to] = append(ends[r.to], index[point{i, len(r.points) - 1}])
	}
	outlet := make([]float64, n)
	for v := range outlet {
		outlet[v] = inf
	}
	for node, vs := range ends {
		nd := p.nodes[node]
		for _, v := range vs {
			switch nd.kind {
			case line.Tank:
				outlet[v] = nd.level
				atmosphere[v] = atmosphere[v] || nd.level < nd.obvert
			case line.Outfall:
				outlet[v] = nd.obvert - all[v].bore
				atmosphere[v] = true
			default:
				for _, w := range vs {
					open[v][w] = v != w
				}
			}
		}
	}
	obvert := func(v int) float64 { return all[v].z }
	for {
		way := make([][]float64, n) // least over all ways of the highest barrier, both ends counted
		barrier := func(v int) float64 {
			z := obvert(v) - all[v].bore
			if !atmosphere[v] {
				z += vapour
			}
			return z
		}
		for i := range way {
			way[i] = make([]float64, n)
			for j := range way[i] {
				way[i][j] = inf
				if i == j || open[i][j] {
					way[i][j] = max(barrier(i), barrier(j))
				}
			}
		}
		for k := range n {
			for i := range n {
				for j := range n {
					way[i][j] = min(way[i][j], max(way[i][k], way[k][j]))
				}
			}
		}
		at := make([]float64, n)
		for v := range at {
			at[v] = inf
			for o := range outlet {
				at[v] = min(at[v], max(way[v][o], outlet[o]))
			}
		}
		grew := false
		for spread := true; spread; {
			spread = false
			before := slices.Clone(atmosphere)
			for v := range at {
				for w := range at {
					if (open[v][w] || open[w][v]) && before[v] && !atmosphere[w] && at[v] < obvert(v)-headTolerance && at[w] < obvert(w)-headTolerance {
						atmosphere[w], grew, spread = true, true, eager
					}
				}
			}
		}
		if grew {
			continue
		}
		for i, r := range p.runs {
			level, air = append(level, nil), append(air, nil)
			for k := range r.points {
				v := index[point{i, k}]
				level[i], air[i] = append(level[i], at[v]), append(air[i], atmosphere[v])
			}
		}
		return level, air
	}
}

// The levels of random lines at rest are those of the least barrier over all ways out, found by looking at every way.
func TestStandingLevelsAgainstAllWays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPlan(t, true)
		b := p.build()
		r, err := b.attempt(line.Standing)
		if err != nil {
			t.Fatal(err)
		}
		// Where air comes to a sag and to the crest that would close it at once, the first to be reached decides; both ends are right.
		faults := differs(p, b, r, false)
		if len(faults) > 0 && len(differs(p, b, r, true)) > 0 {
			t.Error(strings.Join(faults, "\n"))
		}
	})
}

// differs tells where a solution at rest is not the one found by looking at every way.
func differs(p plan, b *build, r *Result, eager bool) (faults []string) {
	fault := func(format string, a ...any) { faults = append(faults, fmt.Sprintf(format, a...)) }
	close := func(what string, got, want, tol float64) {
		if !(math.Abs(got-want) <= tol) {
			fault("%s = %.9g, want %.9g", what, got, want)
		}
	}
	level, air := standing(p, b.l.Site.VapourHead(), eager)
	for i, pr := range p.runs {
		for k, pt := range pr.points {
			want, z := level[i][k], pt[1]
			if math.IsInf(want, 1) {
				continue // closed in: of its own rule
			}
			wet := r.Runs[i].Wetness[k]
			switch {
			case want >= z-headTolerance && wet != Full,
				want < z-2*headTolerance && wet == Full,
				air[i][k] && want < z-pr.bore-2*headTolerance && wet != Empty,
				!air[i][k] && want < z-2*headTolerance && wet != Suction && wet != Vapour:
				fault("run %d, point %d: %v at a level of %g, obvert %g, air %v", i, k, wet, want, z, air[i][k])
			}
			if wet != Empty {
				close("level", r.Runs[i].Head[k], want, 1e-9)
			}
			if wet == Empty || wet == Part {
				close("gauge head in air", r.Runs[i].PressureHead[k], 0, 0)
			} else {
				close("gauge head", r.Runs[i].PressureHead[k], want-z, 1e-9)
			}
		}
	}
	return faults
}
