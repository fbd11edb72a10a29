package siting

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"obvert/line"
	"obvert/physics/pipe"
	"obvert/physics/pocket"
)

// bore gives a run sections, by the chainage (m) where each ends and its bore (m), with k = 0.1 mm; and the site water at
// 10 °C.
func bore(l *line.Line, run int, ends ...float64) {
	l.Site.Gravity, l.Site.Viscosity = 9.81, 1.31e-6
	from := l.Runs[run].First()
	for k := 0; k < len(ends); k += 2 {
		l.Runs[run].Sections = append(l.Runs[run].Sections, line.Section{From: from, To: ends[k], Bore: ends[k+1], Roughness: 1e-4})
		from = ends[k]
	}
}

// flowing is a case of one run with a level grade line far above it.
func flowing(l *line.Line, n int, q float64) Flowing {
	head := make([]float64, len(l.Runs[0].Points))
	for k := range head {
		head[k] = 500
	}
	return Flowing{Case: n, Name: fmt.Sprint(n), Flow: []float64{q}, Head: [][]float64{head}}
}

// hill rises from 0 to a summit at 1000 m and falls by two slopes to 2000 m, with a low point at 1900.
func hill() *line.Line {
	l := tankToTank(0, 10, 1000, 60, 1400, 40, 1900, 30, 2000, 33)
	bore(l, 0, 2000, 0.5)
	return l
}

// A hill has three falling legs: its far side, walked forwards, and against the chainage its near side and the last rise. On
// the far side the first 400 m fall by 20 m, sine 20/√(400² + 20²) = 0.04994, and ask for the largest flow; in the mean
// it is 30 m in 900.6 m of pipe.
func TestLegsOfAHill(t *testing.T) {
	l := hill()
	r := solve(t, Input{Line: l, Flowing: []Flowing{flowing(l, 0, 0.05), flowing(l, 1, 0.25), flowing(l, 2, 0.6), flowing(l, 3, -0.05), flowing(l, 4, 0)}})
	var got []string
	for _, x := range r.Legs {
		got = append(got, fmt.Sprintf("%.0f to %.0f by %d", x.From, x.To, x.Down))
	}
	if want := "1000 to 0 by -1; 1000 to 1900 by 1; 2000 to 1900 by -1"; strings.Join(got, "; ") != want {
		t.Fatalf("legs %q, want %q", strings.Join(got, "; "), want)
	}
	far := &r.Legs[1]
	length := math.Hypot(400, 20) + math.Hypot(500, 10)
	if far.Fall != 30 || math.Abs(far.Length-length) > 1e-9 || far.Stretches != 2 {
		t.Errorf("fall %g m, length %g m, %d stretches", far.Fall, far.Length, far.Stretches)
	}
	if w := &far.Worst; w.From != 1000 || w.To != 1400 || math.Abs(w.Slope-20/math.Hypot(400, 20)) > 1e-12 || w.Bore != 0.5 {
		t.Errorf("worst stretch %+v", *w)
	}
	if m := &far.Mean; math.Abs(m.Slope-30/length) > 1e-12 || math.Abs(m.Bore-0.5) > 1e-12 {
		t.Errorf("mean stretch %+v", *m)
	}
	for c, want := range []pocket.Carried{pocket.ByNone, pocket.BySome, pocket.ByAll} {
		x := far.Cases[c]
		v := []float64{0.05, 0.25, 0.6}[c] / pipe.Area(0.5)
		if !x.Down || x.Carried != want || math.Abs(x.Velocity-v) > 1e-12 {
			t.Errorf("case %d: %+v, want %v at %g m/s", c, x, want, v)
		}
		// The verdict is that of the relations one by one.
		if one := pocket.Judge(v, math.Asin(far.Worst.Slope), 0.5, 9.81); one.Carried != want {
			t.Errorf("case %d: one by one %v", c, one.Carried)
		}
		if stands := want != pocket.ByAll; x.Longest.Stands != stands || x.Stated.Stands != stands {
			t.Errorf("case %d: %+v", c, x)
		}
	}
	// Turned round, water climbs the far side and falls down the near one.
	if x := far.Cases[3]; x.Down || x.Velocity >= 0 || x.Longest.Stands {
		t.Errorf("far side, flow turned round: %+v", x)
	}
	if x := r.Legs[0].Cases[3]; !x.Down || x.Carried != pocket.ByNone {
		t.Errorf("near side, flow turned round: %+v", x)
	}
	if x := far.Cases[4]; x.Down || x.Velocity != 0 {
		t.Errorf("no flow: %+v", x)
	}
}

// The mirror line has the mirror answer.
func TestLegsOfTheMirrorLine(t *testing.T) {
	l := hill()
	l.Runs[0].Placed = []line.Placed{{Name: "A", Chainage: 1005, Record: -1}, {Name: "B", Chainage: 1700, Record: -1}}
	m := tankToTank(0, 33, 100, 30, 600, 40, 1000, 60, 2000, 10)
	bore(m, 0, 2000, 0.5)
	m.Runs[0].Placed = []line.Placed{{Name: "B", Chainage: 300, Record: -1}, {Name: "A", Chainage: 995, Record: -1}}
	a := solve(t, Input{Line: l, Flowing: []Flowing{flowing(l, 0, 0.1)}}).Legs
	b := solve(t, Input{Line: m, Flowing: []Flowing{flowing(m, 0, -0.1)}}).Legs
	if len(a) != len(b) {
		t.Fatalf("%d legs, mirrored %d", len(a), len(b))
	}
	for k := range a {
		x, y := &a[k], &b[len(b)-1-k]
		if x.From != 2000-y.From || x.To != 2000-y.To || x.Down != -y.Down || x.PocketTo != 2000-y.PocketTo || x.PocketValve != y.PocketValve ||
			x.TopValve != y.TopValve || math.Abs(x.Worst.Slope-y.Worst.Slope) > 1e-12 || x.Worst.From != 2000-y.Worst.From {
			t.Errorf("leg %d: %+v\nmirrored %+v", k, *x, *y)
		}
		p, q := x.Cases[0], y.Cases[0]
		if p.Down != q.Down || p.Carried != q.Carried || math.Abs(p.Longest.Extra-q.Longest.Extra) > 1e-9 || math.Abs(p.Stated.Length-q.Stated.Length) > 1e-9 {
			t.Errorf("leg %d: %+v\nmirrored %+v", k, p, q)
		}
	}
	if x := a[1]; x.TopValve != "A" || x.PocketValve != "B" || x.PocketTo != 1700 {
		t.Errorf("valves: %+v", x)
	}
}

// The longest pocket of a leg costs its whole fall, less the friction that full pipe would have had: by hand.
func TestLongestPocket(t *testing.T) {
	l := hill()
	in := Input{Line: l, Flowing: []Flowing{flowing(l, 0, 0.15)}}
	law := pipe.NewDarcyWeisbach(0.5, 1e-4, 1.31e-6, 9.81)
	gradient, _ := law.Gradient(0.15)
	length := math.Hypot(400, 20) + math.Hypot(500, 10)
	p := solve(t, in).Legs[1].Cases[0].Longest
	if !p.Stands || math.Abs(p.Length-length) > 1e-9 || math.Abs(p.Head-30) > 1e-9 || math.Abs(p.Extra-(30-gradient*length)) > 1e-9 {
		t.Errorf("%+v: want %g m long, 30 m, extra %g m", p, length, 30-gradient*length)
	}
	// Air and water share the bore: the volume lies between that of half a bore and of a whole one at this flow.
	if full := length * pipe.Area(0.5); p.Volume < full/2 || p.Volume > full {
		t.Errorf("volume %g m³ of %g", p.Volume, full)
	}
	// A valve at 1,400 m ends it there; one that is shut off does not.
	l.Runs[0].Placed = []line.Placed{{Name: "V", Chainage: 1400, Record: -1}}
	if p := solve(t, in).Legs[1].Cases[0].Longest; math.Abs(p.Head-20) > 1e-9 {
		t.Errorf("down to the valve: %+v, want 20 m", p)
	}
	l.Runs[0].Placed[0].Isolated = true
	if p := solve(t, in).Legs[1].Cases[0].Longest; math.Abs(p.Head-30) > 1e-9 {
		t.Errorf("valve shut off: %+v, want 30 m", p)
	}
	// Where the leg already runs part full to 1,400 m, the extra is that of the rest.
	in.Flowing[0].Slack = []Slack{{Run: 0, From: 1000, To: 1400}}
	x := solve(t, in).Legs[1].Cases[0]
	want := 10 - gradient*math.Hypot(500, 10)
	if math.Abs(x.Slack-math.Hypot(400, 20)) > 1e-9 || math.Abs(x.Longest.Extra-want) > 1e-9 || math.Abs(x.Longest.Head-30) > 1e-9 {
		t.Errorf("slack: %+v, want extra %g m", x, want)
	}
}

// A stated pocket takes its volume over the water that runs under it; a larger one goes on below the stretch, and is cut
// at the foot. Number 2 where none is stated.
func TestStatedPocket(t *testing.T) {
	l := hill()
	in := Input{Line: l, Flowing: []Flowing{flowing(l, 0, 0.15)}, PocketVolume: 3}
	law := pipe.NewDarcyWeisbach(0.5, 1e-4, 1.31e-6, 9.81)
	gradient, _ := law.Gradient(0.15)
	slope := 20 / math.Hypot(400, 20)
	share, _ := pocket.Filled(gradient, slope)
	p := solve(t, in).Legs[1].Cases[0].Stated
	length := 3 / (pipe.Area(0.5) * (1 - share))
	if !p.Stands || math.Abs(p.Length-length) > 1e-9 || math.Abs(p.Head-length*slope) > 1e-9 || math.Abs(p.Extra-length*(slope-gradient)) > 1e-9 || math.Abs(p.Volume-3) > 1e-12 {
		t.Errorf("%+v, want %g m", p, length)
	}
	in.PocketVolume = 1e6
	x := solve(t, in).Legs[1].Cases[0]
	if x.Stated != x.Longest {
		t.Errorf("more than the leg takes: %+v, want %+v", x.Stated, x.Longest)
	}
	in.PocketVolume = 0
	if p := solve(t, in).Legs[1].Cases[0].Stated; math.Abs(p.Volume-2*0.5*pipe.Area(0.5)) > 1e-12 {
		t.Errorf("none stated: %+v, want two bores of full pipe", p)
	}
	in.PocketVolume = 75 // less than the leg takes, more than its first stretch
	in.Flowing[0] = flowing(l, 0, 0.1)
	x = solve(t, in).Legs[1].Cases[0]
	if first := math.Hypot(400, 20); math.Abs(x.Stated.Volume-75) > 1e-9 || x.Stated.Length < first || x.Stated.Head <= 20 || x.Stated.Head >= 30 {
		t.Errorf("into the second stretch: %+v", x.Stated)
	}
}

// A leg that falls less than the friction of the full bore stays full: no pocket stands under which water runs freely, though
// no relation has it carried.
func TestAFlatLegIsFilledByItsFlow(t *testing.T) {
	l := tankToTank(0, 10, 100, 30, 5100, 29, 5200, 35)
	bore(l, 0, 5200, 0.5)
	x := solve(t, Input{Line: l, Flowing: []Flowing{flowing(l, 0, 0.1)}}).Legs[1]
	if x.Fall != 1 || x.Cases[0].Carried != pocket.ByNone || x.Cases[0].Longest != (Pocket{}) || x.Cases[0].Stated != (Pocket{}) {
		t.Errorf("%+v", x.Cases[0])
	}
}

// A wider bore asks for more flow at the same slope: the worst stretch is the widest. Sections split stretches; a level
// stretch in between belongs to the leg, one at its end does not; a step straight down is part of it.
func TestStretches(t *testing.T) {
	l := tankToTank(0, 60, 500, 50, 700, 50, 700, 47, 1000, 40, 1200, 40, 1300, 60)
	bore(l, 0, 200, 0.3, 400, 0.6, 1300, 0.4)
	for k := 3; k < len(l.Runs[0].Points); k++ { // a step has its length of pipe
		l.Runs[0].Points[k].Distance = l.Runs[0].Points[k-1].Distance + math.Hypot(l.Runs[0].Points[k].Chainage-l.Runs[0].Points[k-1].Chainage,
			l.Runs[0].Points[k].Obvert-l.Runs[0].Points[k-1].Obvert)
	}
	legs := solve(t, Input{Line: l, Flowing: []Flowing{flowing(l, 0, 0.1)}}).Legs
	x := &legs[0]
	if x.From != 0 || x.To != 1000 || x.Fall != 20 || x.Stretches != 6 {
		t.Errorf("leg %g to %g, fall %g, %d stretches, want 0 to 1000, 20, 6", x.From, x.To, x.Fall, x.Stretches)
	}
	if x.Worst.From != 200 || x.Worst.To != 400 || x.Worst.Bore != 0.6 {
		t.Errorf("worst %+v", x.Worst)
	}
	if last := legs[len(legs)-1]; last.From != 1300 || last.To != 1200 || last.Down != -1 {
		t.Errorf("last leg %+v", last)
	}
	// Pieces add up to the leg, in length and in fall.
	if math.Abs(x.Mean.Length*x.Mean.Slope-20) > 1e-9 {
		t.Errorf("mean: %g m at %g", x.Mean.Length, x.Mean.Slope)
	}
	// Straight down no relation but the flat rule and the vertical drift holds; the drift does.
	d := tankToTank(0, 60, 100, 60, 100, 20, 200, 30)
	bore(d, 0, 200, 0.4)
	for k := 2; k < 4; k++ {
		d.Runs[0].Points[k].Distance = d.Runs[0].Points[1].Distance + 40 + float64(k-2)*math.Hypot(100, 10)
	}
	if x := solve(t, Input{Line: d, Flowing: []Flowing{flowing(d, 0, 0.2)}}).Legs[0]; x.Worst.Slope != 1 || x.Cases[0].Carried != pocket.ByAll {
		t.Errorf("straight down: %+v", x)
	}
}

// A verdict for a leg is the worst of its stretches', whichever stretch is the worst: random profiles and bores.
func TestTheLegIsAsBadAsItsWorstStretch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		points, z, x := []float64{0, 100}, 100.0, 0.0
		for range rapid.IntRange(1, 12).Draw(t, "points") {
			x += rapid.Float64Range(20, 300).Draw(t, "step")
			z += rapid.Float64Range(-60, 30).Draw(t, "rise")
			points = append(points, x, z)
		}
		l := tankToTank(points...)
		cut := x * rapid.Float64Range(0.1, 0.9).Draw(t, "cut")
		bore(l, 0, cut, rapid.Float64Range(0.08, 1.2).Draw(t, "bore"), x, rapid.Float64Range(0.08, 1.2).Draw(t, "bore"))
		q := rapid.Float64Range(-1, 1).Draw(t, "flow")
		in := Input{Line: l, Flowing: []Flowing{flowing(l, 0, q)}}
		s := solver{in: &in, practice: &l.Practice, tolerance: in.tolerance()}
		s.legs = [][]leg{legs(l.Runs[0].Points, s.tolerance)}
		s.fallingLegs()
		f := faller{s: &s, run: 0}
		groups := f.split()
		if len(groups) != len(s.res.Legs) {
			t.Fatalf("%d legs of %d", len(s.res.Legs), len(groups))
		}
		for k, got := range s.res.Legs {
			down := float64(got.Down) * q
			if (down > 0) != got.Cases[0].Down {
				t.Fatalf("leg %d: flows down %t", k, got.Cases[0].Down)
			}
			if down <= 0 {
				continue
			}
			worst := pocket.ByAll
			length := 0.0
			for _, p := range f.pieces(groups[k]) {
				v := pocket.Judge(down/pipe.Area(p.Bore), math.Asin(p.Slope), p.Bore, 9.81)
				if v.Carried == pocket.ByNone || worst != pocket.ByNone && (v.Carried == pocket.NotKnown || worst != pocket.NotKnown && v.Carried < worst) {
					worst = v.Carried
				}
				length += p.Length
			}
			if got.Cases[0].Carried != worst {
				t.Fatalf("leg %d: %v, its stretches %v", k, got.Cases[0].Carried, worst)
			}
			p := got.Cases[0].Longest
			if p.Length > length+1e-6 || p.Head > got.Fall+1e-6 || p.Extra > p.Head+1e-9 || p.Extra < 0 || p.Stands != (p.Length > 0) {
				t.Fatalf("leg %d: %+v of a fall of %g m in %g m", k, p, got.Fall, length)
			}
		}
	})
}

// Survey errors of 2 cm make no legs of their own.
func TestLegsInASurveyWithErrors(t *testing.T) {
	var points []float64
	for k := range 400 {
		x := 5 * float64(k)
		points = append(points, x, 50-0.03*math.Abs(x-800)+0.02*math.Sin(float64(7*k*k)))
	}
	l := tankToTank(points...)
	l.Survey.Independent = 0.02
	bore(l, 0, 1995, 0.3)
	legs := solve(t, Input{Line: l}).Legs
	if len(legs) != 2 || math.Abs(legs[1].From-800) > 10 || math.Abs(legs[1].Worst.Slope-0.03) > 0.002 || len(legs[1].Cases) != 0 {
		t.Errorf("%d legs: %+v", len(legs), legs)
	}
}

func TestSectionsAreChecked(t *testing.T) {
	l := hill()
	l.Site.Gravity, l.Site.Viscosity = 0, math.NaN()
	l.Runs[0].Sections = []line.Section{{From: 0, To: 800, Bore: -1}, {From: 900, To: 1500, Bore: 0.3, Roughness: 0.4}}
	_, err := Solve(t.Context(), Input{Line: l, PocketVolume: -3})
	for _, want := range []string{"gravity", "viscosity", "bore -1", "without gap", "roughness 0.4", "sections go from 0 to 1500", "volume of the pocket"} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("no word of %q in:\n%v", want, err)
		}
	}
	bare := tankToTank(0, 50, 500, 60, 1000, 50)
	r := solve(t, Input{Line: bare})
	if len(r.Legs) != 0 || len(r.Notes) == 0 || r.Notes[len(r.Notes)-1].ID != "siting.no-bore" {
		t.Errorf("without sections: %+v", r.Notes)
	}
}

// 100 km, 5,000 points, 6 cases: the falling legs alone.
func BenchmarkFallingLegs(b *testing.B) {
	in := big(5000)
	s := solver{in: &in, practice: &in.Line.Practice, tolerance: in.tolerance()}
	s.legs = [][]leg{legs(in.Line.Runs[0].Points, s.tolerance)}
	b.ReportAllocs()
	for b.Loop() {
		s.res.Legs = s.res.Legs[:0]
		s.fallingLegs()
	}
	b.ReportMetric(float64(len(s.res.Legs)), "legs")
}
