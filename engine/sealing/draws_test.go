package sealing

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"obvert/num"
	"obvert/physics/valve"
)

func draws(t testing.TB, in Input, o Options) Drawn {
	t.Helper()
	d, err := Draws(context.Background(), in, o)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// near fails where a drawn probability stands off by more than three standard errors.
func near(t *testing.T, what string, got Estimate, want float64) {
	t.Helper()
	if math.Abs(got.P-want) > 3*got.Error {
		t.Errorf("%s: drawn %.5f ± %.5f, want %.5f", what, got.P, got.Error, want)
	}
}

// four is one valve whose margin m (m) errs by datum, survey, level and roughness, each by so much (m).
func four(m float64, u [4]float64, shape Shape) Input {
	in := lineOf([]valve.Record{record(100, 90)}, []float64{100 + m})
	in.Uncertainty = Uncertainty{Datum: u[0], Independent: u[1], Roughness: u[3], Shapes: Shapes{Datum: shape, Independent: shape, Level: shape, Roughness: shape}}
	in.Cases[0].LevelSigma = []float64{u[2]}
	in.Cases[0].At[0].Group, in.Cases[0].At[0].Roughness = 0, 1
	return in
}

// The additive models of JCGM 101:2008: the half-widths of their 95 % intervals leave one part in 40 below. From memory.
// 9.2.2: four normal inputs of unit variance, 3.92. 9.2.3: four rectangular ones, 3.88, exactly 2√3(2 − (3/5)^(1/4)); the
// normal law would leave 0.0262 there, which 400,000 draws tell apart. 9.2.4: three rectangular inputs of unit variance
// and one ten times as wide, 17.0, where the normal law would leave 0.047.
func TestAdditiveModelsOfJCGM101(t *testing.T) {
	for _, c := range []struct {
		name   string
		margin float64
		u      [4]float64
		shape  Shape
		want   float64
	}{
		{"9.2.2", 3.919928, [4]float64{1, 1, 1, 1}, Normal, 0.025},
		{"9.2.3", 2 * math.Sqrt(3) * (2 - math.Pow(0.6, 0.25)), [4]float64{1, 1, 1, 1}, Rectangular, 0.025},
	} {
		d := draws(t, four(c.margin, c.u, c.shape), Options{N: 400_000, Seed: 101, NoIndices: true})
		near(t, c.name, d.Valves[0].Cells[0].Drips, c.want)
	}
	d := draws(t, four(17.0, [4]float64{10, 1, 1, 1}, Rectangular), Options{N: 400_000, Seed: 101, NoIndices: true})
	// 17.0 is printed to three digits: the density there, 1/(2√3·10), makes 0.05 m of it 0.0015.
	if p := d.Valves[0].Cells[0].Drips.P; math.Abs(p-0.025) > 0.0015+3*d.Valves[0].Cells[0].Drips.Error {
		t.Errorf("9.2.4: %.5f, want 0.025", p)
	}
}

// The tails of single errors in closed form: a triangular one below −t is (√6 − t)²/12 for t from 0 to √6; a rectangular
// one (√3 − t)/(2√3); and roughness that is multiplied by exp(s·z) takes r·(k − 1) off the head, so that a margin m is lost
// with probability 1 − Φ(ln(1 + m/r)/s), s² = ln(1 + u²).
func TestTailsOfSingleErrors(t *testing.T) {
	o := Options{N: 200_000, Seed: 7, NoIndices: true}
	r6, r3 := math.Sqrt(6), math.Sqrt(3)
	d := draws(t, four(1.2, [4]float64{1, 0, 0, 0}, Triangular), o)
	near(t, "triangular", d.Valves[0].Cells[0].Drips, (r6-1.2)*(r6-1.2)/12)
	d = draws(t, four(1.2, [4]float64{0, 0, 1, 0}, Rectangular), o)
	near(t, "rectangular", d.Valves[0].Cells[0].Drips, (r3-1.2)/(2*r3))
	in := four(1.2, [4]float64{0, 0, 0, 0.4}, Normal)
	in.Uncertainty.Shapes.Roughness = LogNormal
	in.Cases[0].At[0].Roughness = -2
	d = draws(t, in, o)
	near(t, "log-normal", d.Valves[0].Cells[0].Drips, 1-num.NormalCDF(math.Log1p(1.2/2)/math.Sqrt(math.Log1p(0.16))))
	// Bench and scatter: both have the shape they are given.
	in = lineOf([]valve.Record{{Sealing: metres(2, 0.3, 0), LettingGo: metres(1, 0, 0)}}, []float64{2.36})
	in.Uncertainty.Shapes.Bench = Triangular
	d = draws(t, in, o)
	near(t, "bench, triangular", d.Valves[0].Cells[0].Drips, (r6-1.2)*(r6-1.2)/12)
	in = lineOf([]valve.Record{{Sealing: metres(2, 0, 0.3), LettingGo: metres(1, 0, 0)}}, []float64{2.36})
	in.Uncertainty.Shapes.Scatter = Rectangular
	d = draws(t, in, o)
	near(t, "scatter, rectangular", d.Valves[0].Cells[0].Drips, (r3-1.2)/(2*r3))
}

// mixed is three cases of three valves with every kind of error, under heads that the test chooses.
func mixed(heads ...[]float64) Input {
	in := lineOf([]valve.Record{
		{Name: "a", Sealing: metres(2, 0.04, 0.01), LettingGo: metres(1.7, 0.03, 0.01)},
		{Name: "b", Sealing: metres(0.3, 0.02, 0.01), LettingGo: metres(0.2, 0.02, 0.01)},
		{Name: "c", Sealing: metres(3, 0.05, 0.02), LettingGo: metres(2.6, 0.05, 0.02)},
	}, heads...)
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
	return in
}

// Where the histories are sure, the integrals are exact for normal errors: the draws agree within three standard errors,
// valve by valve and for any of them.
func TestDrawsAgreeWithTheIntegrals(t *testing.T) {
	for _, heads := range [][][]float64{
		{{12, 15, 11}, {1.8, 0.25, 2.65}, {12, 12, 14}},
		{{0.5, -1, 0.4}, {2.05, 0.28, 3.1}, {9, 9, 9}},
		{{2.05, 0.35, 2.9}, {9, 9, 9}, {1.72, 0.3, 2.7}},
		{{2.4, 0.6, 3.5}, {9, 9, 9}, {9, 9, 9}},
	} {
		in := mixed(heads...)
		res, d := solve(t, in), draws(t, in, Options{N: 40_000, Seed: 2008})
		for i, v := range res.Valves {
			for k, c := range v.Cells {
				near(t, v.Name+" in "+in.Cases[k].Name, d.Valves[i].Cells[k].Drips, c.Probability)
			}
		}
		for k, p := range res.AnyDrips {
			near(t, "any in "+in.Cases[k].Name, d.Any[k].Drips, p)
		}
	}
}

// Where they are not, the draws agree with a walk of another hand (see trial), with a dice of its own.
func TestDrawsRememberAsValvesDo(t *testing.T) {
	in := mixed([]float64{2.3, 0.5, 3.3}, []float64{1.8, 0.25, 2.65}, []float64{2.1, 0.05, 2.9})
	d := draws(t, in, Options{N: 100_000, Seed: 3})
	const trials = 100_000
	one := make([][]float64, len(in.Valves))
	for i := range one {
		one[i] = make([]float64, len(in.Cases))
	}
	some := make([]float64, len(in.Cases))
	dice := rand.New(rand.NewPCG(19, 49))
	for range trials {
		trial(&in, dice, one, some)
	}
	same := func(what string, got Estimate, count float64) {
		if math.Abs(got.P-count/trials) > 3*math.Sqrt2*got.Error {
			t.Errorf("%s: drawn %.4f, walked %.4f, standard error of each %.4f", what, got.P, count/trials, got.Error)
		}
	}
	for k := range in.Cases {
		for i := range in.Valves {
			same(in.Valves[i].Name+" in "+in.Cases[k].Name, d.Valves[i].Cells[k].Drips, one[i][k])
		}
		same("any in "+in.Cases[k].Name, d.Any[k].Drips, some[k])
	}
	for i, v := range d.Valves { // ever: at least the largest of the cases, at most their sum
		largest, sum := 0.0, 0.0
		for _, c := range v.Cells {
			largest, sum = max(largest, c.Drips.P), sum+c.Drips.P
		}
		if v.Ever.P < largest || v.Ever.P > sum+1e-12 {
			t.Errorf("valve %d ever drips with %.4f, its cases with %.4f to %.4f", i, v.Ever.P, largest, sum)
		}
	}
}

// One seed, one result, to the last bit: one worker or many. Another seed, another result. Without indices, the same
// probabilities.
func TestDrawsAreTheSameByAnyNumberOfWorkers(t *testing.T) {
	in := twoHundred()
	in.Uncertainty.Shapes = Shapes{Datum: Triangular, Roughness: LogNormal, Level: Rectangular}
	want := draws(t, in, Options{N: 500, Seed: 42, Workers: 1})
	for _, n := range []int{2, 3, 7, 0} {
		if got := draws(t, in, Options{N: 500, Seed: 42, Workers: n}); !reflect.DeepEqual(got, want) {
			t.Errorf("%d workers: another result than one", n)
		}
	}
	if got := draws(t, in, Options{N: 500, Seed: 43}); reflect.DeepEqual(got.Ever, want.Ever) && reflect.DeepEqual(got.Any, want.Any) {
		t.Error("seeds 42 and 43 give one result")
	}
	bare := draws(t, in, Options{N: 500, Seed: 42, NoIndices: true})
	if !reflect.DeepEqual(bare.Valves, want.Valves) || bare.Ever.Drips != want.Ever.Drips || bare.Ever.HasIndices {
		t.Error("without indices the probabilities change, or there are indices")
	}
}

// With only errors of the valves' own, any drips as by the product; with only the datum's, as often as the worst valve does,
// draw by draw.
func TestDrawsOfOneFactor(t *testing.T) {
	in := many(8, 2.15, Uncertainty{Independent: 0.1}, 0)
	d := draws(t, in, Options{N: 40_000, Seed: 5})
	p := num.NormalCDF(-1.5)
	near(t, "independent", d.Any[0].Drips, 1-math.Pow(1-p, 8))
	one := func(what string, d Drawn, s Source) {
		for other, x := range d.Any[0].Indices {
			want := 0.0
			if Source(other) == s {
				want = 1
			}
			if !d.Any[0].HasIndices || math.Abs(x.First-want) > 1e-9 || x.Error > 1e-6 {
				t.Errorf("%s: index of the %v %.6f ± %.6f, want %g", what, Source(other), x.First, x.Error, want)
			}
		}
	}
	one("independent", d, SurveyError)
	in = many(8, 2.1, Uncertainty{Datum: 0.1}, 0)
	for i := range in.Cases[0].At {
		in.Cases[0].At[i].Level += 0.02 * float64(i)
	}
	d = draws(t, in, Options{N: 4000, Seed: 5})
	if d.Any[0].Drips != d.Valves[0].Cells[0].Drips {
		t.Errorf("datum alone: any %+v, the worst valve %+v", d.Any[0].Drips, d.Valves[0].Cells[0].Drips)
	}
	near(t, "datum alone", d.Any[0].Drips, num.NormalCDF(-1))
	one("datum", d, DatumError)
	in.Uncertainty = Uncertainty{Roughness: 0.1}
	for i := range in.Cases[0].At {
		in.Cases[0].At[i].Roughness = -1
	}
	one("roughness", draws(t, in, Options{N: 4000, Seed: 5}), RoughnessError)
}

// The first-order index of a normal error for "the margin, of mean zero, is negative" is 2/π·asin ρ, ρ its share of the
// variance: both of two normal variables of correlation ρ are negative with probability 1/4 + asin ρ/2π (W. F. Sheppard,
// Phil. Trans. R. Soc. A 192 (1899) 101; from memory).
func TestIndicesOfOneMargin(t *testing.T) {
	u := [4]float64{0.5, 0.3, 0.2, 0.4} // variances 0.25, 0.09, 0.04, 0.16 of 0.54
	d := draws(t, four(0, u, Normal), Options{N: 100_000, Seed: 11})
	cell := d.Valves[0].Cells[0]
	for s, sigma := range map[Source]float64{DatumError: u[0], SurveyError: u[1], LevelError: u[2], RoughnessError: u[3]} {
		share := sigma * sigma / 0.54
		if got := cell.Shares[s]; math.Abs(got-share) > 1e-12 {
			t.Errorf("share of the %v: %.6f, want %.6f", s, got, share)
		}
		x, want := d.Any[0].Indices[s], 2/math.Pi*math.Asin(share)
		if math.Abs(x.First-want) > 3*x.Error || x.Error > 0.01 {
			t.Errorf("index of the %v: %.4f ± %.4f, want %.4f", s, x.First, x.Error, want)
		}
	}
	if near(t, "even", d.Any[0].Drips, 0.5); cell.Shares[BenchError] != 0 || d.Any[0].Indices[ScatterError] != (Index{}) {
		t.Error("bench and scatter without error have a share")
	}
}

// The standard error stated for an index is what indices scatter by from seed to seed: within a third, by 60 of them.
func TestErrorOfAnIndex(t *testing.T) {
	in := four(0.4, [4]float64{0.5, 0.3, 0.2, 0.4}, Normal)
	var sum, squares, stated float64
	const n = 60
	for seed := range uint64(n) {
		x := draws(t, in, Options{N: 1000, Seed: seed}).Any[0].Indices[DatumError]
		sum, squares, stated = sum+x.First, squares+x.First*x.First, stated+x.Error/n
	}
	if scatter := math.Sqrt((squares - sum*sum/n) / (n - 1)); math.Abs(scatter/stated-1) > 0.33 {
		t.Errorf("indices scatter by %.4f, stated %.4f", scatter, stated)
	}
}

// Shares by the falling rule take the letting-go head's errors; a valve that stands in air has none.
func TestSharesFollowTheRule(t *testing.T) {
	r := valve.Record{Sealing: metres(2, 0.3, 0.4), LettingGo: metres(1, 0.6, 0)}
	in := lineOf([]valve.Record{r}, []float64{9}, []float64{1.2}, []float64{-1})
	in.Uncertainty.Independent = 0.8
	d := draws(t, in, Options{N: 100})
	if got := d.Valves[0].Cells[1].Shares; math.Abs(got[SurveyError]-0.64) > 1e-9 || math.Abs(got[BenchError]-0.36) > 1e-9 {
		t.Errorf("held: %v, want survey 0.64, bench 0.36", got)
	}
	if got, want := d.Valves[0].Cells[0].Shares[ScatterError], 0.16/0.89; math.Abs(got-want) > 1e-9 {
		t.Errorf("shut anew: scatter %.4f, want %.4f", got, want)
	}
	if got := d.Valves[0].Cells[2].Shares; got != [Sources]float64{} {
		t.Errorf("in air: %v", got)
	}
}

// A cell that was settled before drawing does what a walk through all cells does, whatever the errors.
func TestSettledCellsDoWhatDrawnOnesDo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		head := rapid.Float64Range(-3, 8)
		var heads [][]float64
		for range rapid.IntRange(1, 6).Draw(t, "cases") {
			heads = append(heads, rapid.SliceOfN(head, 3, 3).Draw(t, "heads"))
		}
		bound := rapid.SampledFrom([]valve.Bound{valve.Measured, valve.Measured, valve.MoreThan, valve.LessThan, valve.Unknown})
		var rack []valve.Record
		for range 3 {
			s := rapid.Float64Range(0, 4).Draw(t, "seals")
			r := valve.Record{Sealing: metres(s, 0.05, 0.04), LettingGo: metres(s*rapid.Float64Range(0, 1).Draw(t, "share"), 0.03, 0.02)}
			r.Sealing.Bound, r.LettingGo.Bound = bound.Draw(t, "sealing"), bound.Draw(t, "letting go")
			rack = append(rack, r)
		}
		in := lineOf(rack, heads...)
		in.Uncertainty = Uncertainty{Datum: 0.05, Independent: 0.02, Roughness: 0.1}
		in.Uncertainty.Shapes = Shapes{Datum: rapid.SampledFrom([]Shape{Normal, Rectangular, Triangular}).Draw(t, "shape")}
		for k := range in.Cases {
			in.Cases[k].LevelSigma = []float64{0.05}
			for i := range in.Cases[k].At {
				at := &in.Cases[k].At[i]
				at.Group = 0
				at.Wetness = rapid.SampledFrom([]Wetness{Wet, Wet, Wet, InAir, Dry}).Draw(t, "wetness")
				if !in.Cases[k].Standing {
					at.Roughness = -0.5
				}
			}
		}
		if err := in.Check(); err != nil {
			t.Fatal(err)
		}
		compareWalks(t, &in)
	})
}

// compareWalks draws a few times and walks every valve through all its cells beside.
func compareWalks(t *rapid.T, in *Input) {
	s := newSolver(in)
	for i := range in.Valves {
		s.judge(i)
	}
	p := s.plan()
	w := p.newWorker(Options{})
	for d := range uint64(20) {
		clear(w.tally.drips)
		w.draw(d)
		got := make([][]bool, len(in.Valves))
		errs := make([]map[int][2]float64, len(in.Valves)) // scatter by case
		var off [3][3]float64                              // seat, rising and falling
		for i := range got {
			got[i] = append([]bool(nil), p.sure[i]...)
			errs[i] = map[int][2]float64{}
		}
		for n := range p.valves {
			v := &p.valves[n]
			off[v.at] = [3]float64{w.a.seat[n], v.riseMean * w.a.mean[2*n], v.fallMean * w.a.mean[2*n+1]}
			for m := range v.cells {
				c := v.first + m
				got[v.at][v.cells[m].of] = w.tally.drips[c] > 0
				errs[v.at][int(v.cells[m].of)] = [2]float64{v.riseScatter * w.a.scatter[2*c], v.fallScatter * w.a.scatter[2*c+1]}
			}
		}
		for i := range in.Valves {
			for k, want := range s.naive(p, &w.a.picked, i, off[i], errs[i]) {
				if got[i][k] != want {
					t.Fatalf("draw %d, valve %d, case %d: drips %t, walked %t", d, i, k, got[i][k], want)
				}
			}
		}
	}
}

// naive walks a valve through all cases by the words of the package comment.
func (s *solver) naive(p *plan, e *picked, i int, off [3]float64, scatter map[int][2]float64) []bool {
	drips := make([]bool, p.cases)
	shut := false
	for k := range drips {
		l := &s.lots[i][k]
		if !l.wet {
			shut = false
			continue
		}
		h := l.head + s.in.Cases[k].At[i].Roughness*e.rough + e.datum + e.level[1+k] + off[0]
		rise, fall := h-off[1]-scatter[k][0], h-off[2]-scatter[k][1]
		holds := shut && s.limits[s.in.Valves[i].Record].holds
		drips[k] = l.counts && h > 0 && rise < l.rise && !(holds && fall >= l.fall)
		shut = h > 0 && (rise >= l.riseKept || holds && fall >= l.fallKept)
	}
	return drips
}

// What is certain has no indices, and a standard error all the same.
func TestDrawsOfWhatIsCertain(t *testing.T) {
	in := many(3, 50, Uncertainty{Datum: 0.1}, 0.1)
	d := draws(t, in, Options{})
	if d.N != DefaultDraws || d.Any[0].HasIndices || d.Ever.Drips.P != 0 || !(d.Ever.Drips.Error > 0 && d.Ever.Drips.Error < 2e-3) {
		t.Errorf("tight: %+v", d.Ever)
	}
	in = many(3, 0.9, Uncertainty{Datum: 0.01}, 0.01)
	if d = draws(t, in, Options{N: 50}); d.Any[0].Drips.P != 1 || d.Valves[1].Ever.P != 1 || d.Ever.HasIndices {
		t.Errorf("dripping: %+v", d.Any)
	}
	in.Valves[0].Record = -1
	if d = draws(t, in, Options{N: 50}); len(d.Notes) != 1 || d.Notes[0].ID != "sealing.any-incomplete" {
		t.Errorf("notes: %+v", d.Notes)
	}
	if d = draws(t, Input{Density: rho, Gravity: g}, Options{N: 10}); len(d.Valves)+len(d.Any) != 0 {
		t.Errorf("nothing: %+v", d)
	}
}

func TestDrawsRefuse(t *testing.T) {
	in := many(3, 2, Uncertainty{Shapes: Shapes{Datum: LogNormal, Scatter: 9}}, 0.1)
	_, err := Draws(context.Background(), in, Options{N: -1, Workers: -2})
	for _, want := range []string{"-1 draws", "-2 workers", "of the datum", "of the scatter"} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("no word of %q in: %v", want, err)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Draws(ctx, twoHundred(), Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	in = many(3, 2, Uncertainty{Datum: 0.1, Shapes: Shapes{Datum: Triangular}}, 0.1)
	if res := solve(t, in); len(res.Notes) == 0 || res.Notes[len(res.Notes)-1].ID != "sealing.normal-taken" {
		t.Errorf("no word of the shapes: %+v", res.Notes)
	}
}
