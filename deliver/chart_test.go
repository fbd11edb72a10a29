package deliver

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// The views below are invented: they show what the drawings must bear, not what any line does.

func stripFixture(name string) *strip {
	r := fixture(name)
	names, _ := valveNumbers(r)
	v := newView(r, 0, names, newRackView(r))
	t := &strip{view: v, name: "standing, tank low", doing: "draining"}
	length := v.to - v.from
	for i, at := range []float64{0, 240, 1800, 7800, 21600, 86400, 3 * 86400, 9 * 86400} {
		f := frame{at: at, under: fmt.Sprintf("%s m³ lost, %s drained", trimmed(float64(i)*3.7), lengthText(float64(i)*82))}
		share := 0.95 - 0.07*float64(i)
		f.wet = []stretch{{v.from, v.from + 0.4*length*share, true}, {v.from + 0.4*length*share, v.from + 0.45*length, false}, {v.from + 0.6*length, v.to, i < 6}}
		f.levels = []levelSpan{{v.from, v.from + 0.4*length*share, v.obvertAt(v.from + 0.4*length*share)}}
		for k := range v.valves {
			if k%2 == i%2 {
				f.notes = append(f.notes, frameNote{ch: v.valves[k].ch, mark: markDrips, name: v.valves[k].no, text: flowText(1e-4 / float64(k+1)), rank: 1e-4 / float64(k+1)})
			}
		}
		t.frames = append(t.frames, f)
	}
	var lost, leak, pocket []pt
	for s := 0.0; s <= 9*86400; s += 3600 {
		lost, leak = append(lost, pt{s, 26 * (1 - math.Exp(-s/2e5))}), append(leak, pt{s, 0.13 * math.Exp(-s/2e5)})
		pocket = append(pocket, pt{s, 30 * math.Exp(-s/1e5) * math.Sin(s/3e4)})
	}
	t.series = []series{{name: "water lost", unit: "m³", p: lost}, {name: "leak of all valves", unit: "L/s", p: leak}, {name: "pocket pressure", unit: "kPa", p: pocket, limit: 35, limitText: "allowed"}}
	return t
}

func airFixture(n int) *airs {
	a := &airs{basis: "free air at 101.3 kPa and 10 °C"}
	for i := range n {
		var given []pt
		for p := 0.0; p <= 60; p += 0.5 {
			given = append(given, pt{p, (0.04 + 0.01*float64(i%4)) * math.Sqrt(p)})
		}
		v := airValve{no: fmt.Sprintf("AV %d", i+1), place: chainageText(float64(i) * 431), typ: "Birch 80, combined", mark: markFails, verdict: "too small", choice: "Smallest that does it: Birch 50; next up: Birch 80.",
			in: airSide{across: "vacuum in the pipe", given: given, needed: []pt{{0, 0.4}, {60, 0.6}}, limit: 34.5, why: "wall collapse 69 kPa over a safety factor of 2, buried",
				needs: []airNeed{{"drain", 0.031, 34.5, true, false}, {"burst, full bore", 0.52, 34.5, false, false}, {"column separation", 0.12, 34.5, true, false}}},
			out: airSide{across: "pressure in the pipe", given: given, limit: 13.8, why: "practice: pressure of air while filling", needs: []airNeed{{"filling", 0.018, 13.8, true, false}}}}
		if i%5 == 4 {
			v.in.given, v.out = nil, airSide{}
			for k := range v.in.needs {
				v.in.needs[k].unknown = true
			}
		}
		a.valves = append(a.valves, v)
	}
	return a
}

func waysFixture() *ways {
	return &ways{name: "valve AV 6", currency: "EUR", breakEven: "Birch 80 costs 900 EUR more to build than accepting the leak and saves 410 EUR a year: it has paid for itself after 2.4 years.",
		rows: []wayRow{
			{name: "Birch 80 in place of Ash 80", note: "tight in every case, margin 0.49 m", parts: [6]float64{900, -120, 0, 0, 0, 3}, best: true},
			{name: "Accept the leak", note: "drips 18 h a day", parts: [6]float64{0, 40, 4100, 2900, 1500, 6}},
			{name: "Sustaining valve before East tank, set to 2.9 m", note: "holds every valve shut while the line pumps", parts: [6]float64{6800, 9400, 0, 0, 0, 1200}},
			{name: "Higher terminal level, 1.9 m", note: "", notPriced: []string{"raising"}},
			{name: "Larger pumps", note: "1.9 m more", parts: [6]float64{0, 5200}, notPriced: []string{"pump duty"}},
			{name: "Regrading", why: "no depth up to 10 m does it"},
		}}
}

func tornadoFixture() *tornado {
	return &tornado{name: "valve AV 6", currency: "EUR", best: "Birch 80", second: "accept the leak", base: -7800, bars: []tornadoBar{
		{name: "Leak", unit: "m³/day", value: 0.19, low: 0.02, high: 0.4, atLow: 600, atHigh: -16200, turn: "below 0.04 m³/day: accept the leak", inRange: true, turnValue: 0.04},
		{name: "Callouts", unit: "a year", value: 4, low: 1, high: 8, atLow: -5200, atHigh: -11000, turn: ""},
		{name: "Price of energy", unit: "EUR/kWh", value: 0.17, low: 0.1, high: 0.3, atLow: -7900, atHigh: -7600, turn: "turns at 4.1 EUR/kWh, outside the range"},
		{name: "Discount rate", unit: "%", value: 4, low: 2, high: 8, atLow: -9200, atHigh: -5600},
	}}
}

func legsFixture(n int) *legs {
	l := &legs{relations: []legRelation{{"First, 1943", "sine"}, {"Second, 1951", ""}, {"Third, 1968", "tangent"}, {"Fourth, 1984", ""}, {"Fifth, 2005", "5–30°"}, {"flat rule", "rule of thumb"}}}
	for i := range n {
		for k, c := range []string{"both pumps", "one pump, evening", "filling"} {
			r := legRow{leg: chainageText(float64(i)*700+2150) + " to " + chainageText(float64(i)*700+2600), shape: "1:12, bore 0.262 m", in: c, velocity: 1.4 - 0.5*float64(k), mark: markDoubt, verdict: "carried by some"}
			for j := range l.relations {
				r.criticals = append(r.criticals, legCritical{0.8 + 0.15*float64(j)*float64(i%3), j != 2})
			}
			if k == 2 {
				r.mark, r.verdict, r.lost = markFails, "carried by none", "up to 3.2 m lost"
			}
			l.rows = append(l.rows, r)
		}
	}
	return l
}

func dayFixture(tanks int) *day {
	d := &day{name: "weekday", valve: "AV 6", needed: 2.12, need: "lets go at 2.12 m", unit: "EUR", sums: "1,240 kWh, 193 EUR, 412 kg of carbon; six starts"}
	for i := range tanks {
		t := dayTank{name: []string{"East tank", "Hill tank", "Service reservoir on the hill above the village"}[i%3], lo: 260.5 + 14*float64(i/3), hi: 262.4 + 14*float64(i/3)}
		for h := 0.0; h <= 24; h += 0.25 {
			t.level = append(t.level, pt{h, 261.4 + 14*float64(i/3) + 0.8*math.Sin(h/3.8+float64(i))})
		}
		d.tanks = append(d.tanks, t)
	}
	d.pumps = []dayPump{{"Valley works, P1", [][2]float64{{0, 5.5}, {14, 22.25}}}, {"Valley works, P2", [][2]float64{{1, 4}}}}
	d.bands = []dayBand{{0, 6, 0.11, "0.11"}, {6, 9, 0.24, "0.24"}, {9, 17, 0.17, "0.17"}, {17, 20, 0.24, "0.24"}, {20, 24, 0.11, "0.11"}}
	for h := 0.0; h <= 24; h += 0.25 {
		p := 0.0
		for _, q := range d.pumps {
			for _, o := range q.on {
				if h >= o[0] && h < o[1] {
					p += 62
				}
			}
		}
		d.power = append(d.power, pt{h, p}, pt{h + 0.25, p})
	}
	d.head = []pt{{5.75, 0.72}, {2, 3.1}}
	return d
}

func sharesFixture(n int) *shares {
	s := &shares{inputs: []string{"datum", "water level", "roughness", "survey of the seat", "bench", "scatter"}}
	for i := range n {
		s.rows = append(s.rows, shareRow{no: fmt.Sprintf("AV %d", i+1), place: chainageText(float64(i) * 911), in: "standing, tank low", chance: 0.4 / float64(i+1), se: 0.004, shares: []float64{0.3, 0.21, 0, 0.05 + 0.01*float64(i%4), 0.4 - 0.01*float64(i%4), 0.04}})
	}
	return s
}

func oddsFixture() *odds {
	return &odds{[]oddsRow{{"filling, end", 0.002, 0.0014}, {"pumping, two pumps", 0, 0.001}, {"standing, tank low", 0.973, 0.005}, {"any case", 1, 0}}}
}

// quickStrip is a strip in which almost everything passes at once.
func quickStrip() *strip {
	t := stripFixture("ridge")
	for i := range t.series {
		for k := range t.series[i].p {
			t.series[i].p[k].x = math.Pow(t.series[i].p[k].x/777600, 6) * 777600
		}
	}
	return t
}

// charts are the drawings of the chapters, as they come and at their extremes.
func charts() map[string]drawing {
	all := map[string]drawing{"airs": airFixture(7), "one valve": airFixture(1), "ways": waysFixture(), "tornado": tornadoFixture(), "legs": legsFixture(4), "day": dayFixture(2), "seven tanks": dayFixture(7),
		"shares": sharesFixture(12), "odds": oddsFixture(), "quick strip": quickStrip()}
	for _, n := range []string{"ridge", "flat", "close", "single", "named", "long"} {
		all["strip "+n] = stripFixture(n)
	}
	return all
}

// TestNoLabelMeetsAnotherInCharts holds the charts to the rule of the look, in every form.
func TestNoLabelMeetsAnotherInCharts(t *testing.T) {
	for name, d := range charts() {
		n := 0
		for _, c := range inForms(d, "x") {
			n += len(c.labels)
			for _, f := range faults(c) {
				t.Errorf("%s: %s", name, f)
			}
			if c.class == "print" && c.h > formPrint.page+0.5 {
				t.Errorf("%s: a drawing for paper is %.0f px high, the page %.0f", name, c.h, formPrint.page)
			}
			if c.title == "" || c.desc == "" {
				t.Errorf("%s: %s has no title or no description for those who cannot see it", name, c.id)
			}
			if s := c.svg(); strings.Contains(s, "NaN") || strings.Contains(s, "Inf") {
				t.Errorf("%s: a coordinate is no number", name)
			}
		}
		if n < 20 {
			t.Errorf("%s: only %d labels were drawn", name, n)
		}
		if w := d.twin(); len(w.Rows) == 0 {
			t.Errorf("%s: no table", name)
		} else {
			for _, row := range w.Rows {
				if len(row) != len(w.Heads) {
					t.Errorf("%s: a row of %d cells under %d heads", name, len(row), len(w.Heads))
				}
			}
		}
	}
}

// TestNoLabelMeetsAnotherInRandomCharts draws ways, tornados, legs and shares of any size.
func TestNoLabelMeetsAnotherInRandomCharts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		word := rapid.StringMatching(`[A-Za-z0-9äß ,-]{1,60}`)
		money := rapid.Float64Range(-1e4, 1e6)
		w := &ways{name: word.Draw(t, "name"), currency: "EUR", breakEven: word.Draw(t, "break-even")}
		d := &tornado{name: "x", currency: "EUR", base: -rapid.Float64Range(0.1, 1e5).Draw(t, "base")}
		l := &legs{relations: make([]legRelation, 9)}
		s := &shares{inputs: []string{"a", "b", "c"}}
		for range rapid.IntRange(1, 9).Draw(t, "rows") {
			r := wayRow{name: word.Draw(t, "way"), note: word.Draw(t, "note")}
			for k := range r.parts {
				r.parts[k] = money.Draw(t, "part")
			}
			if rapid.Bool().Draw(t, "why") {
				r.why = word.Draw(t, "because")
			}
			w.rows = append(w.rows, r)
			d.bars = append(d.bars, tornadoBar{name: word.Draw(t, "lever"), unit: "EUR/kWh", low: money.Draw(t, "low"), high: money.Draw(t, "high"), atLow: money.Draw(t, "at low"), atHigh: money.Draw(t, "at high"), turn: word.Draw(t, "turn"), inRange: rapid.Bool().Draw(t, "in range")})
			k := legRow{leg: word.Draw(t, "leg"), shape: word.Draw(t, "shape"), in: word.Draw(t, "case"), velocity: rapid.Float64Range(0, 9).Draw(t, "v"), mark: markDoubt, verdict: "carried by some", lost: word.Draw(t, "lost")}
			for range l.relations {
				k.criticals = append(k.criticals, legCritical{rapid.Float64Range(0, 5).Draw(t, "critical"), rapid.Bool().Draw(t, "counts")})
			}
			l.rows = append(l.rows, k)
			a := rapid.Float64Range(0, 1).Draw(t, "share")
			b := rapid.Float64Range(0, 1-a).Draw(t, "share")
			s.rows = append(s.rows, shareRow{no: "AV 1", place: word.Draw(t, "place"), in: word.Draw(t, "in"), chance: a, se: b / 10, shares: []float64{a, b, 1 - a - b}})
		}
		for _, q := range []drawing{w, d, l, s} {
			for _, c := range inForms(q, "x") {
				for _, f := range faults(c) {
					t.Errorf("%T: %s", q, f)
				}
			}
		}
	})
}

// TestTimeScale holds the place of a time to its ends and to rising, and the choice of the root to where half has passed.
func TestTimeScale(t *testing.T) {
	even, quick := stripFixture("ridge"), quickStrip()
	if even.timeScale(777600).root || !quick.timeScale(777600).root {
		t.Errorf("root: %v for an even strip, %v for a quick one", even.timeScale(777600).root, quick.timeScale(777600).root)
	}
	for _, k := range []timeScale{{end: 50}, {end: 50, root: true}} {
		last := -1.0
		for s := 0.0; s <= 50; s++ {
			if k.at(s) <= last {
				t.Fatalf("%+v: %g s stands at %g, after %g", k, s, k.at(s), last)
			}
			last = k.at(s)
		}
		if k.at(0) != 0 || k.at(50) != 1 {
			t.Errorf("%+v: ends at %g and %g", k, k.at(0), k.at(50))
		}
	}
	if h := halfPassed([]pt{{0, 0}, {10, 3}, {20, 5}, {30, 4}}); h != 10 { // 3 of 6 have passed there
		t.Errorf("half has passed at %g, want 10", h)
	}
}

// TestFinestWater holds the number of stretches drawn to the width of a frame, however many there are, and what is left to
// what was wet.
func TestFinestWater(t *testing.T) {
	s := stripFixture("ridge")
	d := &film{strip: s}
	d.from, d.to = s.stretch()
	d.measure(290)
	var wet []stretch
	const n = 20_000
	step := (s.to - s.from) / n
	for i := range n {
		from := s.from + float64(i)*step
		wet = append(wet, stretch{from, from + 0.9*step, i/5000%2 == 0})
	}
	got := d.seen(wet)
	if len(got) != 4 {
		t.Errorf("%d stretches, want the four that the eye tells apart", len(got))
	}
	length := 0.0
	for _, w := range got {
		length += w.to - w.from
	}
	if math.Abs(length-284) > 1 {
		t.Errorf("%.1f px are wet of 284", length)
	}
}
