package sealing

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"obvert/num"
	"obvert/physics/valve"
)

// The probability of a margin is the normal one: a margin of one standard deviation leaves 15.87 %, two leave 2.275 %
// (tables of the normal distribution).
func TestChanceOfAMargin(t *testing.T) {
	r := valve.Record{Sealing: metres(2, 0.03, 0.04), LettingGo: metres(1, 0, 0)}
	for _, c := range []struct{ z, want float64 }{{0, 0.5}, {1, 0.158655}, {2, 0.022750}, {-1, 0.841345}} {
		in := lineOf([]valve.Record{r}, []float64{2 + c.z*0.13})
		in.Uncertainty = Uncertainty{Datum: 0.12 * math.Sqrt(0.5), Independent: 0.12 * math.Sqrt(0.5)} // with 0.05: 0.13
		got := solve(t, in).Valves[0].Cells[0]
		if math.Abs(got.Sigma-0.13) > 1e-12 || math.Abs(got.Probability-c.want) > 1e-6 {
			t.Errorf("margin of %g σ: σ %g m, probability %g, want 0.13 m, %g", c.z, got.Sigma, got.Probability, c.want)
		}
	}
}

// A surface at the seat is as likely below as above: it drips in half of the cases.
func TestChanceThatWaterReachesTheSeat(t *testing.T) {
	in := lineOf([]valve.Record{record(2, 1)}, []float64{0})
	in.Uncertainty.Datum = 0.1
	c := solve(t, in).Valves[0].Cells[0]
	if c.State != Open || math.Abs(c.Probability-0.5) > 1e-12 {
		t.Errorf("surface at the seat: %+v", c)
	}
}

// many is n equal valves under equal head, two cases.
func many(n int, head float64, u Uncertainty, own float64) Input {
	heads := make([]float64, n)
	for i := range heads {
		heads[i] = head
	}
	r := valve.Record{Sealing: metres(2, own, 0), LettingGo: metres(1.6, own, 0)}
	in := lineOf([]valve.Record{r}, heads)
	in.Uncertainty = u
	return in
}

// Errors of the valves' own: the product rule. Errors in common: the worst valve alone, within what the least own error
// of 1/1000 of the common one makes of n equal valves: the mean largest of n normal errors, 1.9 for n = 20, times 1/1000,
// times the normal density at one standard deviation, 0.24: 0.0005 a pool.
func TestAnyDripsLimits(t *testing.T) {
	in := many(20, 2.1, Uncertainty{Independent: 0.1}, 0)
	res := solve(t, in)
	p := num.NormalCDF(-1)
	if want := 1 - math.Pow(1-p, 20); math.Abs(res.AnyDrips[0]-want) > 1e-12 {
		t.Errorf("independent: %.12g, want %.12g", res.AnyDrips[0], want)
	}
	in = many(20, 2.1, Uncertainty{Datum: 0.1}, 0)
	for i := range in.Cases[0].At { // no two alike; the lowest is the first
		in.Cases[0].At[i].Level += 0.01 * float64(i)
	}
	res = solve(t, in)
	if want := num.NormalCDF(-1); math.Abs(res.AnyDrips[0]-want) > 5e-4 {
		t.Errorf("common: %.6g, want that of the worst valve, %.6g", res.AnyDrips[0], want)
	}
	// The same by a level that all stand under, alone or together with the datum.
	for _, c := range []struct{ datum, level float64 }{{0, 0.1}, {0.06, 0.08}} {
		in.Uncertainty.Datum = c.datum
		in.Cases[0].LevelSigma = []float64{c.level}
		for i := range in.Cases[0].At {
			in.Cases[0].At[i].Group = 0
		}
		if got := solve(t, in).AnyDrips[0]; math.Abs(got-num.NormalCDF(-1)) > 1e-3 {
			t.Errorf("datum %g, level %g: %.6g", c.datum, c.level, got)
		}
	}
	// Two pools whose levels err each by itself: the product over the pools.
	in.Uncertainty.Datum = 0
	in.Cases[0].LevelSigma = []float64{0.1, 0.1}
	for i := range in.Cases[0].At {
		in.Cases[0].At[i] = At{Level: 2.1, Group: i % 2}
	}
	if want := 1 - math.Pow(1-p, 2); math.Abs(solve(t, in).AnyDrips[0]-want) > 1e-3 {
		t.Errorf("two pools: %.6g, want %.6g", solve(t, in).AnyDrips[0], want)
	}
	// Roughness that moves all heads alike is one common error more.
	in = many(20, 2.1, Uncertainty{Datum: 0.06, Roughness: 0.1}, 0)
	for i := range in.Cases[0].At {
		in.Cases[0].At[i].Roughness = -0.8
	}
	if got := solve(t, in).AnyDrips[0]; math.Abs(got-p) > 1e-3 {
		t.Errorf("roughness and datum: %.6g, want %.6g", got, p)
	}
}

// Between the limits: never below the worst valve, never above the sum.
func TestAnyDripsBetween(t *testing.T) {
	for _, u := range []Uncertainty{{Datum: 0.05, Independent: 0.05}, {Datum: 0.02, Independent: 0.1}, {Datum: 0.1, Independent: 0.003}} {
		res := solve(t, many(7, 2.15, u, 0.02))
		p := res.Valves[0].Cells[0].Probability
		if a := res.AnyDrips[0]; a < p || a > 7*p {
			t.Errorf("%+v: any %g, one %g", u, a, p)
		}
	}
}

// A Monte Carlo run of the whole line stands against the integrals: datum, survey, levels, roughness, bench, memory over
// three cases. PCG seeded 20, 26; 200,000 trials, which leave 4 standard errors. Where every valve was surely shut, or
// surely not, before, both must agree. Where that hangs on the errors the reckoning may be above, never below, and not by
// more than 0.05.
func TestAgainstMonteCarlo(t *testing.T) {
	rack := []valve.Record{
		{Name: "a", Sealing: metres(2, 0.04, 0.01), LettingGo: metres(1.7, 0.03, 0.01)},
		{Name: "b", Sealing: metres(0.3, 0.02, 0.01), LettingGo: metres(0.2, 0.02, 0.01)},
		{Name: "c", Sealing: metres(3, 0.05, 0.02), LettingGo: metres(2.6, 0.05, 0.02)},
	}
	for _, c := range []struct {
		name  string
		heads [][]float64
		above float64
	}{
		{"sure histories", [][]float64{{12, 15, 11}, {1.8, 0.25, 2.65}, {12, 12, 14}}, 0},
		{"never shut before", [][]float64{{0.5, -1, 0.4}, {2.05, 0.28, 3.1}, {9, 9, 9}}, 0},
		{"one try", [][]float64{{2.05, 0.35, 2.9}, {9, 9, 9}, {1.72, 0.3, 2.7}}, 0},
		{"open histories", [][]float64{{2.3, 0.5, 3.3}, {1.8, 0.25, 2.65}, {2.1, 0.05, 2.9}}, 0.05},
	} {
		in := lineOf(rack, c.heads...)
		in.Uncertainty = Uncertainty{Datum: 0.05, Independent: 0.03, Roughness: 0.1}
		for i := range in.Valves {
			in.Cases[0].At[i].Roughness = -1 - 0.3*float64(i)
			in.Cases[0].At[i].Group = 0
			in.Cases[1].At[i].Group = i % 2
			in.Cases[2].At[i].Roughness = -0.5
		}
		in.Cases[2].Standing = false
		in.Cases[0].LevelSigma = []float64{0.02}
		in.Cases[1].LevelSigma = []float64{0.03, 0.04}
		res := solve(t, in)

		const trials = 200_000
		dice := rand.New(rand.NewPCG(20, 26))
		one := make([][]float64, len(in.Valves))
		for i := range one {
			one[i] = make([]float64, len(in.Cases))
		}
		some := make([]float64, len(in.Cases))
		for range trials {
			trial(&in, dice, one, some)
		}
		within := func(what string, got, count float64) {
			p := count / trials
			allowed := 4*math.Sqrt(p*(1-p)/trials) + 1e-5
			if got < p-allowed || got > p+allowed+c.above {
				t.Errorf("%s, %s: reckoned %.4f, tried %.4f, allowed %.4f", c.name, what, got, p, allowed)
			}
		}
		for k := range in.Cases {
			for i := range in.Valves {
				within(in.Valves[i].Name+" in case "+in.Cases[k].Name, res.Valves[i].Cells[k].Probability, one[i][k])
			}
			within("any in case "+in.Cases[k].Name, res.AnyDrips[k], some[k])
		}
	}
}

// trial draws all errors once, walks through the cases and counts what drips.
func trial(in *Input, dice *rand.Rand, one [][]float64, some []float64) {
	u := in.Uncertainty
	datum, rough := u.Datum*dice.NormFloat64(), u.Roughness*dice.NormFloat64()
	levels := make([][]float64, len(in.Cases))
	for k := range in.Cases {
		for _, v := range in.Cases[k].LevelSigma {
			levels[k] = append(levels[k], v*dice.NormFloat64())
		}
	}
	dripped := make([]bool, len(in.Cases))
	head := func(p float64) float64 { return p / (in.Density * in.Gravity) }
	for i, v := range in.Valves {
		r := in.Rack[v.Record]
		survey := u.Independent * dice.NormFloat64()
		s := head(r.Sealing.Mean + r.Sealing.Uncertainty*dice.NormFloat64())
		l := head(r.LettingGo.Mean + r.LettingGo.Uncertainty*dice.NormFloat64())
		shut := false
		for k := range in.Cases {
			at := in.Cases[k].At[i]
			h := at.Level + at.Roughness*rough + datum + survey
			if at.Group >= 0 {
				h += levels[k][at.Group]
			}
			shuts := h >= s+head(r.Sealing.Scatter)*dice.NormFloat64()
			holds := h >= l+head(r.LettingGo.Scatter)*dice.NormFloat64()
			shut = shuts || shut && holds
			if !shut && h > 0 {
				one[i][k]++
				dripped[k] = true
			}
		}
	}
	for k, d := range dripped {
		if d {
			some[k]++
		}
	}
}

// twoHundred is 200 valves in six cases with all errors: what a line of 100 km asks.
func twoHundred() Input {
	rack := []valve.Record{{Sealing: metres(2, 0.05, 0.05), LettingGo: metres(1.7, 0.05, 0.05)}}
	var cases [][]float64
	for k := range 6 {
		heads := make([]float64, 200)
		for i := range heads {
			heads[i] = 2.3 + 3*math.Abs(math.Sin(float64(i*7+k)))
		}
		cases = append(cases, heads)
	}
	in := lineOf(rack, cases...)
	in.Uncertainty = Uncertainty{Datum: 0.05, Independent: 0.02, Roughness: 0.1}
	for k := range in.Cases {
		in.Cases[k].LevelSigma = []float64{0.05, 0.05, 0.05}
		for i := range in.Valves {
			in.Cases[k].At[i].Group = i % 3
			if !in.Cases[k].Standing {
				in.Cases[k].At[i].Group = 0
				in.Cases[k].At[i].Roughness = -float64(i) / 200
			}
		}
	}
	return in
}

func BenchmarkSolve200Valves(b *testing.B) {
	in := twoHundred()
	for b.Loop() {
		if _, err := Solve(context.Background(), in); err != nil {
			b.Fatal(err)
		}
	}
}
