package deliver

import (
	"fmt"
	"math"
	"strings"

	"obvert/bench"
	"obvert/engine/costing"
	"obvert/engine/grade"
	"obvert/engine/sealing"
	"obvert/engine/siting"
	"obvert/line"
	"obvert/physics/valve"
	"obvert/study"
)

// The fixtures are invented lines, solved here by a rule of thumb that gives consistent drawings (grade lines fall with the
// flow, pools rest at the barrier on their way out). They are not results: the engines are not asked.

// spec is a line in short.
type spec struct {
	name    string
	points  [][3]float64 // chainage, obvert, ground (NaN: none)
	valves  []specValve
	rack    []valve.Record
	tank    [2]float64 // level full and low at the downstream end
	bore    float64
	cases   []specCase
	from    string
	to      string
	rating  float64 // m
	noBench bool
	noPrice bool
}

type specValve struct {
	name   string
	ch     float64
	height float64
	record int
}

type specCase struct {
	name  string
	kind  line.CaseKind
	slope float64 // m/m of friction
	flow  float64
	low   bool
}

const (
	rho = 999.5
	g0  = 9.81
)

func pa(h float64) float64 { return h * rho * g0 }

func record(name string, seal, let, u float64) valve.Record {
	return valve.Record{Name: name, Sealing: valve.Threshold{Bound: valve.Measured, Mean: pa(seal), Uncertainty: pa(u / 2), Scatter: pa(u / 3), HasScatter: true, Repeats: 3},
		LettingGo: valve.Threshold{Bound: valve.Measured, Mean: pa(let), Uncertainty: pa(u / 2), Repeats: 3}, Rating: 16e5, NominalDiameter: 0.08}
}

func fiveTypes() []valve.Record {
	return []valve.Record{record("A", 0.2, 0.13, 0.02), record("B", 0.55, 0.4, 0.05), record("C", 1.1, 0.85, 0.07), record("D", 2.9, 2.5, 0.11), record("E", 5.1, 4.4, 0.2)}
}

var usualCases = []specCase{
	{"filling, end", line.Filling, 0.0003, 0.018, false},
	{"pumping, two pumps", line.Pumping, 0.0052, 0.076, false},
	{"pumping, one pump", line.Pumping, 0.0023, 0.048, false},
	{"standing, tank full", line.Standing, 0, 0, false},
	{"standing, tank low", line.Standing, 0, 0, true},
}

func (s spec) level(c specCase) float64 {
	if c.low {
		return s.tank[1]
	}
	return s.tank[0]
}

// build solves a spec.
func (s spec) build() *study.Result {
	if s.bore == 0 {
		s.bore = 0.262
	}
	l := &line.Line{Name: s.name, Version: "3", Hash: strings.Repeat("3f9c1a770be4d512", 4),
		Site: line.Site{Density: rho, Gravity: g0, WaterTemperature: 283.15, AtmosphericPressure: 101325, VapourPressure: 1228},
		Rack: s.rack}
	n := len(s.points)
	run := line.Run{Name: s.name, From: 0, To: 1}
	for _, p := range s.points {
		q := line.Point{Chainage: p[0], Obvert: p[1], Distance: p[0]}
		if !math.IsNaN(p[2]) {
			q.Ground, q.HasGround = p[2], true
		}
		run.Points = append(run.Points, q)
	}
	run.Sections = []line.Section{{From: s.points[0][0], To: s.points[n-1][0], Bore: s.bore, Roughness: 1e-4}}
	if s.rating > 0 {
		run.Sections[0].Rating = pa(s.rating)
	}
	for _, v := range s.valves {
		run.Placed = append(run.Placed, line.Placed{Name: v.name, Chainage: v.ch, Height: v.height, Record: v.record, AdmitsAir: true})
	}
	from, to := s.from, s.to
	if from == "" {
		from = "Works"
	}
	if to == "" {
		to = "Hill tank"
	}
	l.Nodes = []line.Node{
		{Name: from, Kind: line.Station, Station: &line.StationData{Check: line.CheckShared, HasSump: true, SuctionLevel: s.points[0][1] + 2}, Runs: []int{0}},
		{Name: to, Kind: line.Tank, Tank: &line.TankData{Level: s.tank[0], Lowest: s.tank[1], Highest: s.tank[0]}, Runs: []int{0}},
	}
	l.Runs = []line.Run{run}
	l.Routes = []line.Route{{Name: "main", Legs: []line.Leg{{Run: 0, Sign: 1}}}}
	r := &study.Result{Line: l, Version: "0.1.0"}
	if !s.noPrice {
		l.Prices = line.Prices{Currency: "EUR", Energy: 0.17, HasEnergy: true, DaysPerYear: 360}
	}
	for c, k := range s.cases {
		l.Cases = append(l.Cases, line.Case{Name: k.name, Kind: k.kind, Level: []float64{0, s.level(k)}})
		if k.kind == line.Standing {
			r.StandingCases = append(r.StandingCases, c)
		}
		r.Grades = append(r.Grades, s.grade(c, k, &run))
	}
	s.seal(r, &run)
	s.tubes(r)
	s.cost(r)
	s.findings(r)
	if !s.noBench {
		r.Bench = []bench.Result{benchFixture(s.rack)}
	}
	r.Assumed = []line.Assumption{{ID: "section.roughness", Where: "run " + s.name + ", section 1", Text: "Roughness 0.1 mm, as for a worn lining."},
		{ID: "survey", Where: "survey", Text: "Standard uncertainty of levels 0.05 m, common to all."}}
	r.Sources = []string{"Friction: Darcy–Weisbach with Colebrook–White (Colebrook 1939).", "Bench: reduced by the GUM (JCGM 100:2008)."}
	return r
}

// grade is the state of the line: a straight grade line from the tank upstream, lifted where a crest controls; at rest the
// barrier on the way out.
func (s spec) grade(c int, k specCase, run *line.Run) grade.Result {
	n := len(run.Points)
	g := grade.Result{Case: c, Status: "converged", EnergyResidual: 2e-9, MassResidual: 1e-12}
	rs := grade.RunState{Flow: k.flow, Head: make([]float64, n), PressureHead: make([]float64, n), Wetness: make([]grade.Wetness, n)}
	if k.kind == line.Standing {
		s.rest(&g, &rs, k, run)
	} else {
		h := s.level(k)
		end := n - 1
		for i := n - 1; i >= 0; i-- {
			if i < n-1 {
				h += k.slope * (run.Points[i+1].Chainage - run.Points[i].Chainage)
			}
			rs.Head[i] = h
			if ob := run.Points[i].Obvert; h < ob-1e-9 {
				// A crest controls: slack from here down to where the line below meets the obvert.
				j, at := i+1, run.Points[i].Chainage
				for ; j <= end; j++ {
					if rs.Head[j] >= run.Points[j].Obvert && rs.Wetness[j] == grade.Full {
						a, b := run.Points[j-1], run.Points[j]
						u := (rs.Head[j] - b.Obvert) / (a.Obvert - b.Obvert - k.slope*(b.Chainage-a.Chainage) + 1e-12)
						at = b.Chainage - min(max(u, 0), 1)*(b.Chainage-a.Chainage)
						break
					}
					rs.Wetness[j], rs.Head[j] = grade.Part, run.Points[j].Obvert
				}
				if m := len(g.Slack); m > 0 && g.Slack[m-1].From <= at+1e-6 { // one slack stretch, its crest farther up
					at = g.Slack[m-1].To
					g.Slack = g.Slack[:m-1]
				}
				g.Slack = append(g.Slack, grade.Slack{Run: 0, From: run.Points[i].Chainage, To: at, HeadLost: max(0, ob-h)})
				h = ob
				rs.Head[i] = ob
			}
		}
		for i := range rs.Head {
			rs.PressureHead[i] = max(rs.Head[i]-run.Points[i].Obvert, 0)
		}
	}
	g.Runs = []grade.RunState{rs}
	g.Nodes = []grade.NodeState{{Head: rs.Head[0], Pool: -1}, {Head: rs.Head[n-1], Pool: -1}}
	return g
}

func (s spec) rest(g *grade.Result, rs *grade.RunState, k specCase, run *line.Run) {
	n := len(run.Points)
	barrier := s.level(k)
	level := make([]float64, n)
	for i := n - 1; i >= 0; i-- {
		level[i] = barrier
		barrier = max(barrier, run.Points[i].Obvert-s.bore)
	}
	rs.Pool = make([]int, n)
	for i := range rs.Pool {
		rs.Pool[i] = -1
	}
	var open *grade.Pool
	flush := func() {
		if open != nil {
			g.Pools = append(g.Pools, *open)
		}
		open = nil
	}
	for i := 1; i < n; i++ {
		a, b := run.Points[i-1], run.Points[i]
		lv := max(level[i-1], 0)
		if level[i] > lv {
			lv = level[i]
		}
		lv = min(level[i-1], max(level[i], level[i-1]))
		meet := func(depth float64) (from, to float64, ok bool) {
			ya, yb := a.Obvert-depth, b.Obvert-depth
			switch {
			case ya <= lv && yb <= lv:
				return a.Chainage, b.Chainage, true
			case ya > lv && yb > lv:
				return 0, 0, false
			}
			m := a.Chainage + (lv-ya)/(yb-ya)*(b.Chainage-a.Chainage)
			if ya <= lv {
				return a.Chainage, m, true
			}
			return m, b.Chainage, true
		}
		wf, wt, wet := meet(s.bore)
		ff, ft, full := meet(0)
		if !wet {
			flush()
			continue
		}
		if !full {
			ff, ft = wf, wf
		}
		if open != nil && math.Abs(open.Level-lv) > 1e-9 {
			flush()
		}
		if open == nil {
			reason, kind := "crest downstream", "crest"
			if math.Abs(lv-s.level(k)) < 1e-9 {
				reason, kind = "water level of the tank", "tank"
			}
			open = &grade.Pool{Level: lv, Reason: reason, Kind: kind, Fed: kind == "tank"}
		}
		open.Spans = append(open.Spans, grade.Span{Run: 0, From: wf, To: wt, FullFrom: ff, FullTo: ft})
		open.WetLength += wt - wf
		open.FullLength += ft - ff
		open.Volume += (ft - ff) * s.bore * s.bore * 0.785
	}
	flush()
	for i, p := range run.Points {
		rs.Wetness[i], rs.Head[i] = grade.Empty, p.Obvert
		if p.Obvert <= level[i] {
			rs.Wetness[i], rs.Head[i], rs.PressureHead[i] = grade.Full, level[i], level[i]-p.Obvert
		}
	}
}

func at(run *line.Run, f func(int) float64, ch float64) float64 {
	for i := 1; i < len(run.Points); i++ {
		a, b := run.Points[i-1].Chainage, run.Points[i].Chainage
		if ch <= b && b > a {
			return f(i-1) + (f(i)-f(i-1))*(ch-a)/(b-a)
		}
	}
	return f(len(run.Points) - 1)
}

func (s spec) seal(r *study.Result, run *line.Run) {
	for i, p := range run.Placed {
		ob := at(run, func(i int) float64 { return run.Points[i].Obvert }, p.Chainage)
		v := sealing.ValveResult{Name: p.Name, Chainage: p.Chainage, Placed: i, Record: p.Record, Obvert: ob, Seat: ob + p.Height}
		shut, worst := false, -1.0
		for c, k := range r.Line.Cases {
			var cell sealing.Cell
			head := at(run, func(i int) float64 { return r.Grades[c].Runs[0].Head[i] }, p.Chainage) - v.Seat
			cell.Head = max(head, 0)
			switch {
			case p.Record < 0:
				cell.State = sealing.Unrated
			case head <= 0:
				cell.State = sealing.Open
				if k.Kind == line.Standing && head < -p.Height+1e-9 {
					cell.State = sealing.Empty
				}
				shut = false
			default:
				t := r.Line.Rack[p.Record]
				seal, let := r.Line.Site.Head(t.Sealing.Mean), r.Line.Site.Head(t.LettingGo.Mean)
				v.Sealing, v.LettingGo = seal, let
				cell.Rule, cell.Needed = sealing.Rising, seal
				if shut {
					cell.Rule, cell.Needed = sealing.Falling, let
				}
				cell.Margin, cell.Sigma = head-cell.Needed, 0.06
				cell.Probability = 0.5 * math.Erfc(cell.Margin/cell.Sigma/math.Sqrt2)
				cell.State = sealing.Tight
				if cell.Margin < 0 {
					cell.State, cell.Leak, cell.HasLeak = sealing.Drips, 4e-7, true
				}
				shut = cell.State == sealing.Tight
			}
			if b := map[sealing.State]float64{sealing.Drips: 3, sealing.Unrated: 2, sealing.Open: 1, sealing.Empty: 1}[cell.State]; b > worst {
				worst, v.Worst = b, c
			}
			v.Cells = append(v.Cells, cell)
		}
		r.Sealing.Valves = append(r.Sealing.Valves, v)
		r.Siting.Candidates = append(r.Siting.Candidates, siting.Candidate{Chainage: p.Chainage, Obvert: ob, Valve: p.Name, Reasons: []siting.Reason{{ID: "high-point", Text: "summit"}}})
	}
	r.Sealing.AnyDrips = make([]float64, len(r.Line.Cases))
}

func (s spec) tubes(r *study.Result) {
	if len(r.StandingCases) == 0 {
		return
	}
	for i, v := range r.Sealing.Valves {
		t := study.Tube{Valve: i}
		least := math.Inf(1)
		for _, c := range r.StandingCases {
			t.Heads = append(t.Heads, v.Cells[c].Head)
			least = min(least, v.Cells[c].Head)
		}
		for _, k := range r.Line.Rack {
			fit := "no"
			switch {
			case least >= r.Line.Site.Head(k.Sealing.Mean):
				fit = "tight"
			case least >= r.Line.Site.Head(k.LettingGo.Mean):
				fit = "only if shut before"
			}
			t.Fits = append(t.Fits, fit)
		}
		r.Tubes = append(r.Tubes, t)
	}
}

func (s spec) cost(r *study.Result) {
	for _, v := range r.Sealing.Valves {
		for c, cell := range v.Cells {
			if r.Line.Cases[c].Kind != line.Pumping || cell.State != sealing.Open || len(r.Costing) > 1 {
				continue
			}
			q := costing.Result{Valve: v.Name, Chainage: v.Chainage, Case: c, Currency: "EUR",
				Base: costing.Duty{Flow: 0.076, Head: 130, Power: 130000, Hours: 12, Energy: 561600, Speed: 1, Possible: true}, Assumed: []string{"Pumps run 12 h a day."}}
			for i, k := range r.Line.Rack {
				h := r.Line.Site.Head(k.Sealing.Mean)
				e := 2900 * h
				q.Options = append(q.Options, costing.Option{Record: i, Name: k.Name, Sealing: h, RaisedHead: h + 0.5,
					Fixed:    costing.Duty{Energy: 561600 + e, Possible: h < 5, Why: "the pumps reach 134 m at most"},
					Variable: costing.Duty{Energy: 561600 + 0.9*e, Possible: true}, CostFixed: 0.17 * e, CostVariable: 0.15 * e, RuleOfThumb: 0.3 * e})
			}
			r.Costing = append(r.Costing, q)
		}
	}
}

func (s spec) findings(r *study.Result) {
	for _, v := range r.Sealing.Valves {
		cell := v.Cells[v.Worst]
		f := study.Finding{Run: 0, Chainage: v.Chainage, Valve: v.Name, Cases: []int{v.Worst}, State: cell.State.String()}
		if v.Record >= 0 {
			f.Type = r.Line.Rack[v.Record].Name
		}
		f.Have = study.Figure{Text: headText(cell.Head) + " m", Value: cell.Head, Unit: "m"}
		f.HaveLabel = "at the seat"
		switch cell.State {
		case sealing.Drips:
			f.ID, f.Severity, f.Title = "sealing.drips", study.Fails, "Valve "+v.Name+" drips"
			f.Need = study.Figure{Text: headText(cell.Needed) + " m", Value: cell.Needed, Unit: "m"}
			f.NeedText, f.Source = "needs "+f.Need.Text+" to shut", "sealing head, bench run"
			f.Text = "It drips about 35 L a day into its pit. The tank feeds this pool, so the dripping does not end by itself."
			f.Cures = []string{"Type A in its place: smallest margin becomes +0.33 m.", "A sustaining valve before the tank."}
			f.Cautions = []string{"A flooded pit over a drinking-water main can be sucked back when the line falls under vacuum. Test the pit for gas before anyone enters."}
		case sealing.Open, sealing.Empty:
			f.ID, f.Severity, f.Title = "grade.slack", study.Notable, "Air stands at valve "+v.Name
			f.Text = "Air stands in the falling leg and leaves at the next start."
			f.Cautions = []string{"Vent slowly: compressed air stores energy. Never pressure-test with air."}
		case sealing.Unrated:
			f.ID, f.Severity, f.Title, f.State = "rack.none", study.Doubtful, "Nothing is known of valve "+v.Name, ""
			f.Text = "No type was chosen."
		default:
			f.ID, f.Severity, f.Title = "sealing.holds", study.Holds, "Valve "+v.Name+" holds"
			f.Text = "It holds in every case."
		}
		r.Findings = append(r.Findings, f)
	}
	for sev := study.Fails; sev <= study.Holds; sev++ { // worst first
		var a, b []study.Finding
		for _, f := range r.Findings {
			if f.Severity < sev || f.Severity == sev {
				a = append(a, f)
			} else {
				b = append(b, f)
			}
		}
		r.Findings = append(a, b...)
	}
	r.Answer = []study.Sentence{
		{State: "drips", Lead: "With the pumps stopped, some valves drip:", Rest: "the nearest to the tank has less water at its seat than its type needs."},
		{State: "open", Lead: "The summit never seals:", Rest: "it runs slack, so its valve stays open while the line pumps."},
		{State: "tight", Lead: "A type with a lower sealing head ends the drip;", Rest: "holding the summit shut too would take more head at the pumps."},
	}
}

func benchFixture(rack []valve.Record) bench.Result {
	b := bench.Result{Name: "Run 14", Date: "2026-05-02", WaterTemperature: 285.15, Density: rho, Gravity: g0, TubeTop: 6.4, TightMeans: "no drop in 60 s",
		Findings: []bench.Finding{{ID: "bench.gauge-tube", Where: "gauge and tube", Text: "differ by 0.02 m at the top, within their uncertainties."}}}
	rate := 0.5 / 60
	top := 6.0
	for t := 0.0; t <= 2*top/rate+120; t += 30 {
		h := min(t*rate, top)
		if t > top/rate+120 {
			h = max(0, top-(t-top/rate-120)*rate)
		}
		b.Readings = append(b.Readings, bench.Reading{Time: t, Pressure: pa(h + 0.4), Repeat: 1, Rising: t < top/rate})
	}
	for i, k := range rack {
		if i >= 5 {
			break
		}
		seal, let := k.Sealing.Mean/rho/g0, k.LettingGo.Mean/rho/g0
		b.Valves = append(b.Valves, bench.ValveResult{Name: k.Name, Record: k.Name, Seat: 0.4, Sealing: k.Sealing, LettingGo: k.LettingGo, Coverage: 2,
			Hysteresis: k.Sealing.Mean - k.LettingGo.Mean, HasHysteresis: true, Statement: fmt.Sprintf("shuts at %.2f m, lets go at %.2f m", seal, let),
			Marks: []bench.Mark{{Time: seal / rate, Tight: true, Rising: true, Repeat: 1, Pressure: k.Sealing.Mean, Head: seal, Used: true},
				{Time: top/rate + 120 + (top-let)/rate, Repeat: 1, Pressure: k.LettingGo.Mean, Head: let, Used: true}},
			SealingBudget: []bench.BudgetLine{{Quantity: "gauge, certificate", Value: 20000, Unit: "Pa", Uncertainty: 60, Distribution: "normal", Sensitivity: 1, Contribution: 60, Source: "certificate 2026-01"}}})
	}
	return b
}

var noGround = math.NaN()

// ridgeLine is a rising main over a ridge with its tank below the summit.
func ridgeLine() spec {
	return spec{name: "Saddle main", tank: [2]float64{183.5, 181.6}, rating: 163, cases: usualCases, rack: fiveTypes(),
		points: [][3]float64{{0, 98, 99.4}, {380, 103, 104.2}, {900, 138, 139.2}, {1250, 130, 132.6}, {2050, 170, 171.4}, {2300, 166, 168}, {3080, 206, 207.3}, {3500, 209, 210.2}, {3900, 204, 205.5}, {4350, 178, 180.6}, {4880, 182.4, 183.7}, {5200, 175.5, 178}, {5600, 180.6, 182}, {5800, 175, 177.1}, {6000, 181, 182}},
		valves: []specValve{{"1", 900, 0.55, 4}, {"2", 2050, 0.55, 3}, {"3", 3080, 0.55, 2}, {"4", 3500, 0.55, 1}, {"5", 3900, 0.55, 2}, {"6", 4880, 0.55, 1}, {"7", 5600, 0.55, 3}}}
}

// flatLine is a nearly flat main with 2 m of static head.
func flatLine() spec {
	return spec{name: "Meadow main", tank: [2]float64{102, 101.2}, rating: 61, cases: []specCase{{"pumping", line.Pumping, 0.0021, 0.041, false}, {"standing", line.Standing, 0, 0, false}}, rack: fiveTypes()[:3],
		points: [][3]float64{{0, 99.6, 100.8}, {250, 99.9, 101}, {500, 99.7, 100.9}, {760, 99.95, 101.1}, {1000, 99.8, 101}},
		valves: []specValve{{"AV1", 250, 0.4, 0}, {"AV2", 760, 0.4, 2}}, noPrice: true, bore: 0.3}
}

// closeLine has twelve valves 100 m apart in a line of total length.
func closeLine(total float64) spec {
	s := spec{name: "Twelve in a row", tank: [2]float64{134, 131}, rating: 100, cases: usualCases, rack: fiveTypes()}
	for ch := 0.0; ch < total; ch += total / 60 {
		s.points = append(s.points, [3]float64{ch, 100 + 22*ch/total + 6*math.Sin(ch/total*11), 102 + 22*ch/total + 6*math.Sin(ch/total*11)})
	}
	s.points = append(s.points, [3]float64{total, 118, 120})
	for i := range 12 {
		s.valves = append(s.valves, specValve{fmt.Sprintf("V%d", i+1), 50 + 100*float64(i) + (total-1200)*0.4, 0.5, i % 5})
	}
	return s
}

// longLine is 100 km with 200 valves and 5,000 points.
func longLine() spec {
	s := spec{name: "Long transfer", tank: [2]float64{212, 209}, rating: 250, cases: append(append([]specCase{}, usualCases...), specCase{"gravity", line.Gravity, 0.0006, 0.5, false}), rack: fiveTypes(), bore: 0.8}
	for i := range s.cases {
		s.cases[i].slope /= 12
	}
	f := func(ch float64) float64 {
		return 150 + 50*math.Sin(ch/100e3*2.2) + 9*math.Sin(ch/1900) + 3*math.Sin(ch/430)
	}
	for i := range 5000 {
		ch := float64(i) * 100e3 / 4999
		s.points = append(s.points, [3]float64{ch, f(ch), f(ch) + 1.5 + 0.4*math.Sin(ch/300)})
	}
	for i := range 200 {
		ch := 250 + float64(i)*500
		if i%40 < 6 {
			ch = 250 + float64(i-i%40)*500 + float64(i%40)*60
		}
		s.valves = append(s.valves, specValve{fmt.Sprintf("AV-%03d", i+1), ch, 0.6, i % 5})
	}
	return s
}

// singleLine has one valve, no ground, no bench, no prices.
func singleLine() spec {
	return spec{name: "Spur", tank: [2]float64{62, 62}, cases: []specCase{{"standing", line.Standing, 0, 0, false}, {"gravity", line.Gravity, 0.001, 0.01, false}}, rack: fiveTypes()[:1], noBench: true, noPrice: true,
		points: [][3]float64{{0, 40, noGround}, {300, 58, noGround}, {700, 51, noGround}}, valves: []specValve{{"1", 300, 0.3, 0}}}
}

const sixty = "The northern transfer main from Lower Works to the Hill tank"

// namedLine has names of 60 letters everywhere.
func namedLine() spec {
	s := ridgeLine()
	s.name, s.from, s.to = sixty, "Pumping station at the old mill beside the weir of Lower Town", "Service reservoir on the hill above the village of Upper Town"
	s.cases = append([]specCase{}, s.cases...)
	for i := range s.cases {
		s.cases[i].name += " with both duty pumps and the evening demand of the town"
	}
	for i := range s.valves {
		s.valves[i].name = fmt.Sprintf("Air valve number %d on the tapping beside the road to the quarry", i+1)
	}
	s.rack = append([]valve.Record{}, s.rack...)
	for i := range s.rack {
		s.rack[i].Name = fmt.Sprintf("Type %d, combined, long float, soft seat, bench of last autumn", i+1)
	}
	return s
}

// branchResult is two routes that share their first run.
func branchResult() *study.Result {
	r := ridgeLine().build()
	l := r.Line
	l.Name = "Town supply"
	b := line.Run{Name: "Quarry branch", From: 1, To: 2, Points: []line.Point{{Chainage: 0, Obvert: 181, Ground: 182, HasGround: true}, {Chainage: 700, Obvert: 172, Ground: 173.5, HasGround: true, Distance: 700}, {Chainage: 1400, Obvert: 176, Ground: 177.4, HasGround: true, Distance: 1400}},
		Sections: []line.Section{{From: 0, To: 1400, Bore: 0.15}}, Placed: []line.Placed{{Name: "8", Chainage: 1300, Height: 0.4, Record: -1}},
		Equipment: []line.Equipment{{Name: "Quarry gate", Kind: line.IsolatingValve, Chainage: 200}, {Name: "Low scour", Kind: line.Scour, Chainage: 700}, {Name: "Sustainer", Kind: line.SustainingValve, Chainage: 1000, Setting: 12}}}
	l.Nodes = append(l.Nodes, line.Node{Name: "Quarry", Kind: line.Outfall, Runs: []int{1}})
	l.Runs = append(l.Runs, b)
	l.Runs[0].Equipment = []line.Equipment{{Name: "Gate at works", Kind: line.IsolatingValve, Chainage: 40}, {Name: "Sag scour", Kind: line.Scour, Chainage: 1250}, {Name: "Non-return on the ridge", Kind: line.CheckValve, Chainage: 3000}}
	l.Routes = []line.Route{{Name: "Works to Hill tank", Legs: []line.Leg{{Run: 0, Sign: 1}}}, {Name: "Works to Quarry", Legs: []line.Leg{{Run: 0, Sign: 1}, {Run: 1, Offset: 6000, Sign: 1}}}}
	for c := range r.Grades {
		h := []float64{183.5, 182.5, 181.5}
		ph := []float64{2.5, 10.5, 5.5}
		r.Grades[c].Runs = append(r.Grades[c].Runs, grade.RunState{Flow: 0.004, Head: h, PressureHead: ph, Wetness: make([]grade.Wetness, 3)})
		if n := len(r.Grades[c].Pools); n > 0 {
			p := &r.Grades[c].Pools[n-1]
			p.Spans = append(p.Spans, grade.Span{Run: 1, From: 0, To: 1400, FullFrom: 0, FullTo: 1400})
		}
	}
	v := sealing.ValveResult{Name: "8", Run: 1, Chainage: 1300, Record: -1, Obvert: 175.4, Seat: 175.8}
	for range l.Cases {
		v.Cells = append(v.Cells, sealing.Cell{State: sealing.Unrated, Head: 5.9})
	}
	r.Sealing.Valves = append(r.Sealing.Valves, v)
	r.Tubes = append(r.Tubes, study.Tube{Valve: 7, Heads: []float64{6, 4}, Fits: []string{"tight", "tight", "tight", "tight", "no"}})
	return r
}

// makers make the fixtures by name.
var makers = map[string]func() *study.Result{
	"ridge": func() *study.Result { return ridgeLine().build() }, "flat": func() *study.Result { return flatLine().build() },
	"close": func() *study.Result { return closeLine(1200).build() }, "cluster": func() *study.Result { return closeLine(12000).build() },
	"long": func() *study.Result { return longLine().build() }, "single": func() *study.Result { return singleLine().build() },
	"named": func() *study.Result { return namedLine().build() }, "branch": branchResult,
}

// fixture is one of them, made anew.
func fixture(name string) *study.Result { return makers[name]() }

// fixtures are all of them by name.
func fixtures() map[string]*study.Result {
	all := map[string]*study.Result{}
	for name, make := range makers {
		all[name] = make()
	}
	return all
}
