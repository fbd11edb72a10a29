package draining

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"obvert/line"
	"obvert/physics/pipe"
)

// flood fills a run with standing water up to a level: a pool for every stretch whose invert lies below it.
func (b *build) flood(run int, level float64) {
	r := &b.l.Runs[run]
	bore := r.Sections[0].Bore
	var cur *span
	flush := func() {
		if cur != nil && cur.to > cur.from {
			b.stand(level, *cur)
		}
		cur = nil
	}
	for k := 1; k < len(r.Points); k++ {
		p, q := r.Points[k-1], r.Points[k]
		t0, t1 := below(p.Obvert-bore, q.Obvert-bore, level)
		if t1 <= t0 {
			flush()
			continue
		}
		x := func(t float64) float64 { return p.Chainage + t*(q.Chainage-p.Chainage) }
		if t0 > 0 {
			flush()
		}
		if cur == nil {
			cur = &span{run, x(t0), x(t0)}
		}
		if cur.to = x(t1); t1 < 1 {
			flush()
		}
	}
	flush()
}

// hills is a random profile with an admitting valve on each summit and end, some of which leak.
type hills struct {
	points [][2]float64
	valves []struct{ x, height, k float64 }
	level  float64
}

func drawHills(t *rapid.T) hills {
	n := rapid.IntRange(2, 9).Draw(t, "points")
	var h hills
	top := 0.0
	for i := range n {
		z := math.Round(10*rapid.Float64Range(0, 20).Draw(t, "z"))/10 + 0.001*float64(i)
		h.points = append(h.points, [2]float64{float64(i) * 100, z})
		top = max(top, z)
	}
	for i, p := range h.points {
		before, behind := math.Inf(-1), math.Inf(-1)
		if i > 0 {
			before = h.points[i-1][1]
		}
		if i < n-1 {
			behind = h.points[i+1][1]
		}
		if p[1] > before && p[1] > behind || rapid.Float64Range(0, 1).Draw(t, "more") < 0.2 {
			k := 0.0
			if rapid.Float64Range(0, 1).Draw(t, "leaks") < 0.6 {
				k = rapid.Float64Range(1e-6, 1e-4).Draw(t, "k")
			}
			h.valves = append(h.valves, struct{ x, height, k float64 }{p[0], rapid.Float64Range(0, 0.6).Draw(t, "seat"), k})
		}
	}
	h.level = rapid.Float64Range(2, top+3).Draw(t, "level")
	return h
}

func (h hills) build() *build {
	b := newBuild()
	b.run("main", b.node("A", line.DeadEnd), b.node("B", line.DeadEnd), 0.3, h.points...)
	for _, v := range h.valves {
		b.leaks("AV", 0, v.x, v.height, linear(v.k))
	}
	b.flood(0, h.level)
	b.in.Horizon, b.in.StoppedLeak = 3e9, 1e-10
	return b
}

// rest is the level at which each point ends, found by looking at every way to every leaking seat: the least of the highest barriers, −Inf
// where dry at the start. The highest barrier on the way to a seat counts the seat itself.
func (h hills) rest() []float64 {
	out := make([]float64, len(h.points))
	for i, p := range h.points {
		inv := p[1] - 0.3
		if inv >= h.level {
			out[i] = math.Inf(-1)
			continue
		}
		level := h.level
		for _, v := range h.valves {
			if v.k == 0 {
				continue
			}
			j := int(math.Round(v.x / 100))
			way := h.points[j][1] + v.height
			for k := min(i, j); k <= max(i, j); k++ {
				if k != i {
					way = max(way, h.points[k][1]-0.3)
				}
			}
			level = min(level, way)
		}
		out[i] = level
	}
	return out
}

// Random hills: what is lost is what lacks; no level rises; nothing below the lowest leaking seat is lost; the end is the rest with the
// leaking seats as outlets.
func TestRandomHills(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := drawHills(t)
		b := h.build()
		b.in.Tolerance = 1e-4
		r, err := b.attempt()
		if err != nil {
			t.Fatal(err)
		}
		if r.WaterBalance > 1e-6 {
			t.Errorf("balance %g of %g m³", r.WaterBalance, r.Lost)
		}
		lowest, leaked := math.Inf(1), 0.0
		for i, v := range r.Valves {
			if h.valves[i].k > 0 {
				lowest = min(lowest, v.Seat)
			}
			leaked += v.Total
		}
		if math.Abs(leaked-r.Lost) > 1e-9*(1+r.Lost) {
			t.Errorf("valves lost %g, pools %g", leaked, r.Lost)
		}
		for i, p := range r.Pools {
			for j, l := range p.Levels {
				if j > 0 && l.Level > p.Levels[j-1].Level || l.Level < lowest && l.Level < h.level {
					t.Errorf("pool %d comes to %g after %g; lowest leaking seat %g", i, l.Level, p.Levels[max(j-1, 0)].Level, lowest)
				}
			}
		}
		for i, want := range h.rest() {
			got, inv := levelAt(r.End, h.points[i][0]), h.points[i][1]-0.3
			switch {
			case want <= inv+1e-3: // a crest: dry, or only just
				if got > inv+2e-3 {
					t.Errorf("point %d ends at %g, want dry at its invert %g", i, got, inv)
				}
			case math.Abs(got-want) > 1e-3:
				t.Errorf("point %d ends at %g, want %g", i, got, want)
			}
		}
		if v := brute(&b.l, 0, r.End); math.Abs(v-r.End.Volume) > 2e-4*(1+v) {
			t.Errorf("volume at the end %g, by summing slices %g", r.End.Volume, v)
		}
	})
}

// levelAt is the level at a chainage, −Inf where dry.
func levelAt(s State, x float64) float64 {
	h := math.Inf(-1)
	for _, sp := range s.Runs[0] {
		if sp.From <= x+1e-6 && x <= sp.To+1e-6 {
			h = max(h, sp.Level)
		}
	}
	return h
}

// brute sums the water of a run in slices.
func brute(l *line.Line, run int, s State) float64 {
	r := &l.Runs[run]
	sum := 0.0
	for k := 1; k < len(r.Points); k++ {
		p, q := r.Points[k-1], r.Points[k]
		length, bore := q.Distance-p.Distance, r.Sections[0].Bore
		cos := math.Sqrt(1 - math.Pow((q.Obvert-p.Obvert)/length, 2))
		const n = 4000
		for i := range n {
			f := (float64(i) + 0.5) / n
			x, inv := p.Chainage+f*(q.Chainage-p.Chainage), p.Obvert+f*(q.Obvert-p.Obvert)-bore
			for _, sp := range s.Runs[run] {
				if sp.From <= x && x <= sp.To {
					sum += pipe.SegmentArea((sp.Level-inv)/cos, bore) * length / n
					break
				}
			}
		}
	}
	return sum
}

// The mirrored line gives the mirrored answer.
func TestMirror(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := drawHills(t)
		m := h
		last := h.points[len(h.points)-1][0]
		m.points, m.valves = nil, nil
		for i := range h.points {
			p := h.points[len(h.points)-1-i]
			m.points = append(m.points, [2]float64{last - p[0], p[1]})
		}
		for _, v := range h.valves {
			v.x = last - v.x
			m.valves = append(m.valves, v)
		}
		b, c := h.build(), m.build()
		r, err1 := b.attempt()
		q, err2 := c.attempt()
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		if math.Abs(r.Lost-q.Lost) > 1e-9*(1+r.Lost) || math.Abs(r.StopTime-q.StopTime) > 1e-5*r.StopTime {
			t.Errorf("lost %g and %g m³, by %g and %g s", r.Lost, q.Lost, r.StopTime, q.StopTime)
		}
		for i := range r.Valves {
			if a, b := r.Valves[i].Total, q.Valves[i].Total; math.Abs(a-b) > 1e-6*(1e-3+a) {
				t.Errorf("valve %d lost %g and %g m³", i, a, b)
			}
		}
	})
}
