package grade

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"obvert/line"
	"obvert/physics/pipe"
)

// furnish puts control valves of every kind on a drawn line, and at times pumps at its head: two of fixed speed, or with a drive that holds a flow or a head.
func furnish(t *rapid.T, p plan) (*build, int) {
	pumped := rapid.Bool().Draw(t, "pumped")
	if pumped {
		for i, r := range p.runs {
			if r.to == 0 {
				p.runs[i] = plan{nodes: p.nodes, runs: []planRun{r}}.turned().runs[0] // nothing ends at a station with a sump
			}
		}
	}
	b := p.build()
	for i := range b.l.Runs {
		run := &b.l.Runs[i]
		for range rapid.IntRange(0, 2).Draw(t, "controls") {
			e := line.Equipment{Name: fmt.Sprintf("e%d", len(run.Equipment)), Reverse: rapid.Bool().Draw(t, "reverse")}
			e.Kind = rapid.SampledFrom([]line.EquipmentKind{line.FlowControlValve, line.ReducingValve, line.SustainingValve}).Draw(t, "kind")
			e.Chainage = math.Round(run.Last() * rapid.Float64Range(0.05, 0.95).Draw(t, "at"))
			e.Setting = rapid.Float64Range(2, 60).Draw(t, "setting")
			e.Flow = rapid.SampledFrom([]float64{0.002, 0.02, 0.02, 0.08}).Draw(t, "flow")
			e.Loss = rapid.SampledFrom([]float64{0, 2}).Draw(t, "loss")
			k := 0
			for k < len(run.Equipment) && run.Equipment[k].Chainage <= e.Chainage {
				k++
			}
			run.Equipment = append(run.Equipment[:k:k], append([]line.Equipment{e}, run.Equipment[k:]...)...)
		}
	}
	if !pumped {
		return b, b.kase(line.Gravity)
	}
	b.l.Nodes[0] = line.Node{Name: "works", Kind: line.Station, Station: &line.StationData{HasSump: true, SuctionLevel: 25, MotorEfficiency: 0.9,
		Pumps: []line.Pump{
			{Name: "strong", Curve: [][2]float64{{0, 90}, {0.05, 80}, {0.15, 30}}, AssumedEfficiency: 0.7},
			{Name: "weak", Curve: [][2]float64{{0, 75}, {0.05, 60}, {0.1, 20}}, AssumedEfficiency: 0.7},
		}}}
	k := b.kase(line.Pumping)
	set := &b.l.Cases[k].Stations[0]
	switch rapid.IntRange(0, 2).Draw(t, "drive") {
	case 1:
		set.HoldFlow = rapid.SampledFrom([]float64{0.01, 0.02, 0.06}).Draw(t, "hold")
	case 2:
		n, _ := NewNet(&b.l)
		set.HasHoldHead, set.HoldHead = true, rapid.Float64Range(1, 50).Draw(t, "hold")
		if reached := n.reach(&b.l.Cases[k], 0); rapid.Bool().Draw(t, "far") {
			for i := range b.l.Nodes {
				if kind := b.l.Nodes[i].Kind; reached[i] && kind != line.Tank && kind != line.Outfall {
					set.HoldAt = i
				}
			}
		}
	}
	return b, k
}

// With valves of every kind and drives that hold: one answer, whatever the flows from which the iteration starts.
func TestControlledLinesFromAnyStart(t *testing.T) {
	solved, refused := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		b, k := furnish(t, drawPlan(t, true))
		one, err := b.try(k)
		net, _ := NewNet(&b.l)
		start := rapid.SliceOfN(rapid.Float64Range(-0.3, 0.3), 40, 40).Draw(t, "guess")
		other, err2 := Solve(t.Context(), Input{Net: net, Case: k, Guess: func(i int) float64 { return start[i%len(start)] }})
		if (err == nil) != (err2 == nil) {
			t.Fatalf("%v against %v", err, err2)
		}
		if err != nil {
			refused++
			t.Skip(err)
		}
		solved++
		if set := b.l.Cases[k].Stations[0]; set.HasHoldHead && !flows(b, one, set.HoldAt) {
			return // what a drive does for a place it cannot reach stays open
		}
		for i := range one.Runs {
			near2(t, fmt.Sprintf("flow of run %d", i), other.Runs[i].Flow, one.Runs[i].Flow, 1e-7)
			for j, h := range one.Runs[i].Head {
				near2(t, fmt.Sprintf("head of run %d, point %d", i, j), other.Runs[i].Head[j], h, 1e-3)
			}
		}
	})
	t.Logf("%d solved, %d refused", solved, refused)
}

// At every grid point of every furnished line one of each pair is zero: the head above a bound and the loss below it; the flow left under a flow-control valve's setting and
// the head it takes; the head left above a sustaining valve's setting, or below a reducing valve's, and the head each takes. None is negative. Reckoned from the result with
// package pipe.
func TestEveryPairHoldsOnControlledLines(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b, k := furnish(t, drawPlan(t, true))
		r, err := b.try(k)
		if err != nil {
			t.Skip(err)
		}
		for i := range b.l.Runs {
			if q := r.Runs[i].Flow; math.Abs(q) > 1e-8 {
				holdsTrue(t, b, r, i, q)
			}
		}
		for _, s := range r.Stations {
			set := &b.l.Cases[k].Stations[s.Node]
			if !holds(set) {
				continue
			}
			want, got := set.HoldFlow, s.Flow
			if set.HasHoldHead {
				want, got = set.HoldHead, r.Nodes[set.HoldAt].PressureHead
			}
			if set.HasHoldHead && !flows(b, r, set.HoldAt) {
				continue // water at rest there may stand apart from the pumps
			}
			switch {
			case !s.AtLimit && math.Abs(got-want) > 1e-6*(1+want):
				t.Errorf("station holds %g, wanted %g, at a speed of %g", got, want, s.Speed)
			case s.AtLimit && s.Speed == fastestSpeed && got > want+1e-5, s.AtLimit && s.Speed == slowestSpeed && got < want-1e-5:
				t.Errorf("station at %g: %g, wanted %g", s.Speed, got, want)
			}
		}
	})
}

// flows reports whether water passes a node.
func flows(b *build, r *Result, node int) bool {
	for i, run := range b.l.Runs {
		if (run.From == node || run.To == node) && math.Abs(r.Runs[i].Flow) > 1e-8 {
			return true
		}
	}
	return false
}

func holdsTrue(t *rapid.T, b *build, r *Result, i int, q float64) {
	const tol = 1e-5
	g, h, run := r.fine[i].grid, r.fine[i].head, &b.l.Runs[i]
	vapour := b.l.Site.VapourHead()
	sec := &run.Sections[0]
	k, end, step := 0, g.last(), 1
	if q < 0 {
		k, end, step = end, 0, -1
	}
	size := math.Abs(q)
	for ; k != end; k += step {
		sg := &g.seg[min(k, k+step)]
		lost := h[k] - h[k+step]
		open := true // at no bound: it may lose no head
		if up := h[k] - g.obvert[k]; math.Abs(up) < tol || math.Abs(up-vapour) < tol {
			open = false
		}
		if sg.equip < 0 {
			loss, _ := pipe.HeadLoss(size, sec.Bore, sg.length, sec.Roughness, b.l.Site.Viscosity, b.l.Site.Gravity)
			lost -= loss
		} else {
			e := &run.Equipment[sg.equip]
			lost -= e.Loss * speedHead(q, sec.Bore)
			before, behind := h[k]-g.obvert[k]-e.Setting, h[k+step]-g.obvert[k]-e.Setting
			if e.Reverse == (q < 0) {
				switch e.Kind {
				case line.FlowControlValve:
					if size > e.Flow*(1+1e-4) {
						t.Errorf("run %d: %g m³/s through a valve set at %g", i, size, e.Flow)
					}
					open = open && size < e.Flow*(1-1e-6)
				case line.ReducingValve:
					if behind > tol {
						t.Errorf("run %d: %g m above the setting behind a reducing valve", i, behind)
					}
					open = open && behind < -tol
				case line.SustainingValve:
					if before < -tol {
						t.Errorf("run %d: %g m above the setting before a sustaining valve", i, before)
					}
					open = open && before > tol
				}
			}
		}
		if lost < -tol {
			t.Errorf("run %d, grid point %d: head rises by %g m along the flow", i, k, -lost)
		}
		if lost > tol && open {
			t.Errorf("run %d, grid point %d: %g m lost and nothing that takes it", i, k, lost)
		}
	}
}
