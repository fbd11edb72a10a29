package grade

import (
	"context"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"obvert/line"
)

// flat is a day of one factor.
func flat(factor float64) (f [24]float64) {
	for h := range f {
		f[h] = factor
	}
	return f
}

// cistern is a works that pumps a throttled flow into a tank of 100 m² between 40 and 45 m, from which a farm draws.
func cistern(level, pumped, drawn float64) (b *build, works, tank, farm int) {
	b = newBuild()
	works = b.station("works", 0, line.CheckEach, [][2]float64{{0, 80}, {0.1, 50}})
	tank, farm = b.tank("tank", level), b.node("farm", line.Offtake)
	b.l.Nodes[tank].Tank = &line.TankData{Level: level, Lowest: 40, Highest: 45, Area: 100}
	b.l.Nodes[farm].Demand = drawn
	b.run("rising", works, tank, 0.3, 1e-4, [2]float64{0, 0}, [2]float64{1000, 38})
	b.run("falling", tank, farm, 0.3, 1e-4, [2]float64{0, 38}, [2]float64{1000, 10})
	k := b.kase(line.Pumping)
	b.l.Cases[k].Stations[works].Flow = pumped
	b.l.Days = []line.Day{{Name: "day", Case: k, Factors: flat(1)}}
	return b, works, tank, farm
}

func (b *build) day(t testing.TB) *DayResult {
	t.Helper()
	n, err := NewNet(&b.l)
	if err != nil {
		t.Fatal(err)
	}
	r, err := SolveDay(context.Background(), DayInput{Net: n})
	if err != nil {
		t.Fatal(err)
	}
	if !(r.Balance < 1e-9) {
		t.Errorf("water balance misses %g", r.Balance)
	}
	return r
}

func dayNote(r *DayResult, id string) bool {
	for _, n := range r.Notes {
		if n.ID == id {
			return true
		}
	}
	return false
}

// Constant flows in and out: the level is a saw whose teeth follow from area, flows and the two levels of the rule. No source: arithmetic.
func TestDaySaw(t *testing.T) {
	const up, down = 0.02, 0.01 // m³/s net while the pump runs, drawn
	b, works, tank, _ := cistern(42, up+down, down)
	b.l.Days[0].Rules = []line.LevelRule{{Station: works, Pumps: []int{0}, Tank: tank, StartBelow: 41.5, StopAbove: 43}}
	b.l.Prices = line.Prices{HasCarbon: true, Carbon: 0.4, Tariff: []line.TariffBand{{From: 22, To: 6, Energy: 0.1}, {From: 6, To: 22, Energy: 0.2}}}
	r := b.day(t)
	// From 42 m up to 43 m, 5,000 s; then 1.5 m down, 15,000 s, and up, 7,500 s, and so on.
	level, at, on, ran, starts, least, night := 42.0, 0.0, true, 0.0, 0, 42.0, 0.0
	for at < daySeconds {
		h := (43 - level) * 100 / up
		if !on {
			h = (level - 41.5) * 100 / down
		}
		h = min(h, daySeconds-at)
		if on {
			level += h * up / 100
			ran += h
			night += max(0, min(at+h, 6*hourSeconds)-at) + max(0, at+h-max(at, 22*hourSeconds))
		} else {
			level -= h * down / 100
		}
		at += h
		if on = !on; on && at < daySeconds {
			starts++
		}
		least = min(least, level)
	}
	tk, p := r.Tanks[0], r.Stations[0].Pumps[0]
	near(t, "level at the end", tk.End, level, 1e-5)
	near(t, "greatest level", tk.Greatest, 43, 1e-5)
	near(t, "least level", tk.Least, least, 1e-5)
	near(t, "hours", p.Hours, ran/hourSeconds, 1e-4)
	near(t, "volume pumped", r.Stations[0].Volume, ran*(up+down), 0.01)
	near(t, "volume delivered", r.Delivered, down*daySeconds, 1e-3)
	if p.Starts != starts {
		t.Errorf("%d starts, want %d", p.Starts, starts)
	}
	// Power changes little with the level; by the shares of the time it runs at night and by day.
	near(t, "energy at night", r.Bands[0].Energy/r.Energy, night/ran, 0.005)
	near(t, "cost", r.Cost, 0.1*r.Bands[0].Energy+0.2*r.Bands[1].Energy, 1e-9)
	near(t, "carbon", r.Carbon, 0.4*r.Energy, 1e-9)
	if len(r.Steps) != 96 || len(r.Notes) != 0 {
		t.Errorf("%d steps, notes %+v", len(r.Steps), r.Notes)
	}
}

// A full tank overflows by what it cannot hold, an empty one gives what comes and no more. No source: arithmetic.
func TestDayOverflowAndEmpty(t *testing.T) {
	b, _, _, _ := cistern(44, 0.03, 0.01)
	r := b.day(t)
	near(t, "overflow", r.Overflow, 0.02*daySeconds-100, 1e-3)
	if !dayNote(r, "grade.tank-overflow") || dayNote(r, "grade.tank-empty") {
		t.Errorf("notes = %+v", r.Notes)
	}
	b, _, _, _ = cistern(41, 0.01, 0.03)
	r = b.day(t)
	near(t, "unmet", r.Unmet, 0.02*daySeconds-100, 0.01)
	near(t, "delivered", r.Delivered, 0.01*daySeconds+100, 0.01)
	near(t, "time empty", r.Tanks[0].Empty, daySeconds-100/0.02, 1)
	if !dayNote(r, "grade.tank-empty") || !dayNote(r, "grade.unmet-demand") {
		t.Errorf("notes = %+v", r.Notes)
	}
}

// A tank that runs down through a rough pipe: Q = c √H, so √H falls straight with time (Torricelli). The friction factor is constant but for 0.1 %.
func TestDayTankRunsDown(t *testing.T) {
	run := func(step float64) *DayResult {
		b := newBuild()
		a, z := b.tank("a", 30), b.tank("z", 10)
		b.l.Nodes[a].Tank = &line.TankData{Level: 30, Lowest: 0, Highest: 40, Area: 1000}
		b.l.Site.Viscosity = 1e-9
		b.run("main", a, z, 0.2, 2e-3, [2]float64{0, 0}, [2]float64{1000, 0})
		b.l.Days = []line.Day{{Name: "day", Case: b.kase(line.Gravity), Step: step, Factors: flat(1)}}
		return b.day(t)
	}
	r, half := run(900), run(450)
	b := newBuild()
	b.l.Site.Viscosity = 1e-9
	b.run("main", b.tank("a", 30), b.tank("z", 10), 0.2, 2e-3, [2]float64{0, 0}, [2]float64{1000, 0})
	q := b.solve(t, b.kase(line.Gravity)).Runs[0].Flow
	root := math.Sqrt(20) - q/math.Sqrt(20)*daySeconds/(2*1000)
	near(t, "level at the end", r.Tanks[0].End, 10+root*root, 5e-3)
	near(t, "level with steps halved", half.Tanks[0].End, r.Tanks[0].End, 1e-4)
	near(t, "volume", r.Tanks[0].Inflow, 1000*(r.Tanks[0].End-30), 1e-6)
}

// A drive that holds a flow runs slower as the tank it fills is lower.
func TestDayWithADrive(t *testing.T) {
	b, works, _, _ := cistern(40.5, 0, 0.01)
	b.l.Cases[0].Stations[works].HoldFlow = 0.015
	r := b.day(t)
	if s := r.Steps; !(s[0].Speed[0] < s[90].Speed[0]) || s[0].Speed[0] < 0.5 {
		t.Errorf("speeds %g and %g", s[0].Speed[0], s[90].Speed[0])
	}
	near(t, "volume", r.Stations[0].Volume, 0.015*daySeconds, 0.05)
}

func TestDayFaults(t *testing.T) {
	b, works, tank, farm := cistern(42, 0.03, 0.01)
	b.l.Days[0].Step = -3
	b.l.Days[0].Factors[5] = -1
	b.l.Days[0].Rules = []line.LevelRule{{Station: farm, Pumps: []int{0}, Tank: works, StartBelow: 43, StopAbove: 41}, {Station: works, Pumps: []int{4}, Tank: tank, StartBelow: 1, StopAbove: 2}}
	b.l.Prices.Tariff = []line.TariffBand{{From: 22, To: 6, Energy: 1}, {From: 5, To: 21, Energy: 1}}
	n, err := NewNet(&b.l)
	if err != nil {
		t.Fatal(err)
	}
	_, err = SolveDay(t.Context(), DayInput{Net: n, RoughnessFactor: -1})
	if err == nil {
		t.Fatal("it was followed")
	}
	for _, w := range []string{"step", "hour 5", "no pump station", "no tank", "first must be the lower", "no pump 4", "no price from 21:00 to 22:00", "two prices from 05:00 to 06:00", "roughness"} {
		if !strings.Contains(err.Error(), w) {
			t.Errorf("%q is not in %v", w, err)
		}
	}
	if _, err = SolveDay(t.Context(), DayInput{Net: n, Day: 7}); err == nil {
		t.Error("day 7 was followed")
	}
	stopped, cancel := context.WithCancel(t.Context())
	cancel()
	b.l.Days[0] = line.Day{Name: "day", Factors: flat(1)}
	b.l.Prices.Tariff = nil
	if _, err = SolveDay(stopped, DayInput{Net: n}); err == nil {
		t.Error("a stopped day was followed")
	}
}

// Pumps that start and stop without end come to the limit of pieces, with what was reached.
func TestDayOfTooManyStarts(t *testing.T) {
	b, works, tank, _ := cistern(42, 0.03, 0.01)
	b.l.Nodes[tank].Tank.Area = 0.05
	b.l.Days[0].Rules = []line.LevelRule{{Station: works, Pumps: []int{0}, Tank: tank, StartBelow: 41.9, StopAbove: 42.1}}
	n, _ := NewNet(&b.l)
	d := newDay(DayInput{Net: n})
	d.most = 200
	r, err := d.run(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if r.Status != "limit reached" || !dayNote(r, "grade.day-limit") || r.Balance > 1e-9 {
		t.Errorf("status %q, notes %+v, balance %g", r.Status, r.Notes, r.Balance)
	}
	last := r.Steps[len(r.Steps)-1]
	if last.To <= last.From || last.To >= daySeconds {
		t.Errorf("last step %+v", last)
	}
}

// twoStations is a works with two pumps that fills a middle tank, and a booster on its far side that fills the upper tank; farms draw from both.
func twoStations() *build {
	b := newBuild()
	curve := [][2]float64{{0, 70}, {0.03, 62}, {0.06, 40}}
	works := b.station("works", 10, line.CheckEach, curve, curve)
	middle, upper := b.tank("middle", 52), b.tank("upper", 91)
	b.l.Nodes[middle].Tank = &line.TankData{Level: 52, Lowest: 50, Highest: 54, Area: 400}
	b.l.Nodes[upper].Tank = &line.TankData{Level: 91, Lowest: 89, Highest: 93, Area: 300}
	booster := b.station("booster", 0, line.CheckEach, [][2]float64{{0, 60}, {0.02, 54}, {0.04, 38}})
	b.l.Nodes[booster].Station.HasSump = false
	low, high, j := b.node("low farm", line.Offtake), b.node("high farm", line.Offtake), b.node("j", line.Junction)
	b.l.Nodes[low].Demand, b.l.Nodes[high].Demand = 0.012, 0.010
	profile := func(from, to, length float64, n int) (pts [][2]float64) {
		for i := range n + 1 {
			x := float64(i) / float64(n)
			pts = append(pts, [2]float64{x * length, from + x*(to-from) + 2*math.Sin(float64(i))*math.Sin(math.Pi*x)})
		}
		return pts
	}
	b.run("rising", works, middle, 0.3, 1e-4, profile(5, 49, 3000, 60)...)
	b.run("link", middle, booster, 0.25, 1e-4, profile(48, 40, 200, 5)...)
	b.run("upper", booster, j, 0.25, 1e-4, profile(40, 70, 2000, 50)...)
	b.run("last", j, upper, 0.25, 1e-4, profile(70, 88, 1000, 30)...)
	b.run("low branch", middle, low, 0.2, 1e-4, profile(48, 20, 800, 20)...)
	b.run("high branch", j, high, 0.2, 1e-4, profile(70, 60, 500, 20)...)
	for r := range b.l.Runs {
		run := &b.l.Runs[r]
		for i := 10; i < len(run.Points); i += 20 {
			b.valve(r, "v", run.Points[i].Chainage, true)
		}
	}
	k := b.kase(line.Pumping)
	day := line.Day{Name: "day", Case: k, Rules: []line.LevelRule{
		{Station: works, Pumps: []int{0}, Tank: middle, StartBelow: 52.5, StopAbove: 53.6},
		{Station: works, Pumps: []int{1}, Tank: middle, StartBelow: 51.5, StopAbove: 53},
		{Station: booster, Pumps: []int{0}, Tank: upper, StartBelow: 90.5, StopAbove: 92.5},
	}}
	for h := range day.Factors {
		day.Factors[h] = 1 + 0.8*math.Sin(2*math.Pi*float64(h-7)/24)
	}
	b.l.Days = []line.Day{day}
	b.l.Prices = line.Prices{HasEnergy: true, Energy: 0.2, Tariff: []line.TariffBand{{From: 22, To: 6, Energy: 0.12}, {From: 6, To: 22, Energy: 0.24}}}
	return b
}

func TestDayOfTwoStations(t *testing.T) {
	b := twoStations()
	r := b.day(t)
	for i, o := range r.Offtakes {
		want := 0.0
		for _, f := range b.l.Days[0].Factors {
			want += f * b.l.Nodes[o.Node].Demand * hourSeconds
		}
		near(t, "delivered", o.Delivered, want, 1e-6*want)
		sum := 0.0
		for _, s := range r.Steps {
			sum += s.Delivered[i]
		}
		near(t, "sum over the steps", sum, o.Delivered, 1e-6)
	}
	for k, s := range r.Stations {
		volume, work := 0.0, 0.0
		for _, st := range r.Steps {
			volume += st.Flow[k] * (st.To - st.From)
			work += st.Power[k] * (st.To - st.From) / wattHours
		}
		near(t, "volume over the steps", volume, s.Volume, 1e-6)
		near(t, "energy over the steps", work, s.Energy, 1e-6)
		if s.Pumps[0].Starts == 0 || s.Energy <= 0 || s.Cost <= 0 || s.Peak <= 0 {
			t.Errorf("station %+v", s)
		}
	}
	for _, v := range r.Valves {
		if v.Least > v.Greatest || math.IsInf(v.Least, 0) {
			t.Errorf("valve %+v", v)
		}
	}
	// By hand at an instant: the power of a step without a start is that of the case at its levels, within what they move.
	if r.Solved > 600 {
		t.Errorf("%d flows solved for %d pieces", r.Solved, r.Pieces)
	}
	t.Logf("%d pieces, %d flows, %.1f kWh, cost %.2f, notes %v", r.Pieces, r.Solved, r.Energy, r.Cost, r.Notes)
}

// Whatever the tanks, rules and draws: water balances, levels keep within their limits, the sums agree.
func TestDayOfAnyKind(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := twoStations()
		for i := range b.l.Nodes {
			nd := &b.l.Nodes[i]
			if nd.Tank != nil {
				nd.Tank.Area = rapid.SampledFrom([]float64{0, 60, 400, 3000}).Draw(t, "area")
				nd.Tank.Inlet = rapid.SampledFrom([]line.Inlet{line.BelowWater, line.OverTheTop}).Draw(t, "inlet")
			}
			if nd.Kind == line.Offtake {
				nd.Demand = rapid.Float64Range(0.001, 0.06).Draw(t, "demand")
			}
		}
		d := &b.l.Days[0]
		d.Step = rapid.SampledFrom([]float64{1500, 3600, 7200}).Draw(t, "step")
		d.Rules = d.Rules[:rapid.IntRange(0, 3).Draw(t, "rules")]
		if rapid.Bool().Draw(t, "drive") {
			b.l.Cases[0].Stations[0].HoldFlow = 0.03
		}
		n, err := NewNet(&b.l)
		if err != nil {
			t.Fatal(err)
		}
		r, err := SolveDay(context.Background(), DayInput{Net: n})
		if err != nil {
			t.Fatal(err)
		}
		if !(r.Balance < 1e-9) {
			t.Errorf("water balance misses %g", r.Balance)
		}
		for _, k := range r.Tanks {
			if tk := b.l.Nodes[k.Node].Tank; k.Least < tk.Lowest-1e-5 || k.Greatest > tk.Highest+1e-5 {
				t.Errorf("tank %+v leaves its range %g to %g", k, tk.Lowest, tk.Highest)
			}
		}
		asked, cost := 0.0, 0.0
		for _, o := range r.Offtakes {
			for _, f := range d.Factors {
				asked += f * b.l.Nodes[o.Node].Demand * hourSeconds
			}
		}
		near2(t, "delivered and unmet", r.Delivered+r.Unmet, asked, 1e-4*asked)
		for _, s := range r.Steps {
			cost += s.Cost
		}
		near2(t, "cost", cost, r.Cost, 1e-9*(1+cost))
		if last := r.Steps[len(r.Steps)-1]; r.Status == "converged" && last.To != daySeconds {
			t.Errorf("the last step ends at %g", last.To)
		}
	})
}

func BenchmarkDay24h(b *testing.B) {
	l := twoStations()
	n, err := NewNet(&l.l)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		r, err := SolveDay(context.Background(), DayInput{Net: n})
		if err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(r.Solved), "flows")
	}
}
