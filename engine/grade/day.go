package grade

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"sort"

	"obvert/line"
	"obvert/quantity"
)

// Of a day's steps.
const (
	daySeconds   = 86400.0
	hourSeconds  = 3600.0
	usualStep    = 900.0 // s
	levelGoal    = 0.02  // m: as far as Euler's and Heun's level may differ in a piece
	shortest     = 1.0   // s: a piece that is not cut any more for accuracy
	levelNear    = 1e-6  // m: nearer a level counts as reached
	mostPieces   = 20000 // of a day
	wattHours    = 3.6e6 // J in a kWh
	instant      = 1e-6  // s
	bandTolerant = 1e-9  // h
	dayHours     = 24.0  // h
)

// SolveDay follows a line through 24 hours from midnight: off-takes by the hour, tanks that fill and run down, pumps that start and stop by their levels, energy by the
// tariff of the line's prices.
//
// Levels are followed by Heun's method: A ΔL = Δt (Q(t, L) + Q(t+Δt, L'))/2, L' = L + Δt Q(t, L)/A; all other volumes and energies are the mean of the same two states. So
// whatever the accuracy of the levels, water balances as well as each steady flow does. Pieces end at changes of off-take and price, at the levels that start and stop
// pumps and where a tank is full or empty; a piece in which Euler's level and Heun's differ by more than 20 mm is halved.
func SolveDay(ctx context.Context, in DayInput) (*DayResult, error) {
	if err := in.Check(); err != nil {
		return nil, err
	}
	return newDay(in).run(ctx)
}

// run follows the day to its end, or to the limit of pieces.
func (d *dayRun) run(ctx context.Context) (*DayResult, error) {
	d.follow()
	for i := 1; i < len(d.breaks) && d.res.Pieces < d.most; i++ {
		if err := d.span(ctx, d.breaks[i-1], d.breaks[i]); err != nil {
			return nil, err
		}
	}
	if err := d.finish(ctx); err != nil {
		return nil, err
	}
	return d.res, nil
}

// Check names everything in a day that cannot be followed.
func (in DayInput) Check() error {
	if in.Net == nil {
		return errors.New("grade: no net")
	}
	l := in.Net.Line
	if in.Day < 0 || in.Day >= len(l.Days) {
		return fmt.Errorf("grade: no day %d; the line has %d", in.Day, len(l.Days))
	}
	day := &l.Days[in.Day]
	var faults []error
	fault := func(format string, a ...any) {
		faults = append(faults, fmt.Errorf("grade: day %q: "+format, append([]any{day.Name}, a...)...))
	}
	if !(in.RoughnessFactor >= 0) {
		fault("a roughness factor of %g: it must not be negative", in.RoughnessFactor)
	}
	if day.Case < 0 || day.Case >= len(l.Cases) {
		fault("no case %d; the line has %d", day.Case, len(l.Cases))
	} else if k := &l.Cases[day.Case]; k.Kind == line.Standing || k.Kind == line.Filling {
		fault("it begins from case %q, which is %v: a day needs a pumping or gravity case", k.Name, k.Kind)
	} else {
		faults = append(faults, in.Net.checkCase(k)...)
	}
	if !(day.Step == 0 || day.Step >= 10 && day.Step <= daySeconds) {
		fault("a step of %g s: give 10 s to 24 h", day.Step)
	}
	for h, f := range day.Factors {
		if !(f >= 0 && f <= 1e3) {
			fault("the factor of hour %d is %g: give 0 to 1000", h, f)
		}
	}
	for i, r := range day.Rules {
		checkRule(l, r, func(format string, a ...any) { fault(fmt.Sprintf("rule %d: ", i+1)+format, a...) })
	}
	for _, text := range tariffFaults(l.Prices.Tariff) {
		fault("%s", text)
	}
	return errors.Join(faults...)
}

func checkRule(l *line.Line, r line.LevelRule, fault func(string, ...any)) {
	if r.Station < 0 || r.Station >= len(l.Nodes) || l.Nodes[r.Station].Station == nil {
		fault("node %d is no pump station", r.Station)
	} else {
		st := l.Nodes[r.Station]
		if len(r.Pumps) == 0 {
			fault("it names no pump of %q", st.Name)
		}
		for _, p := range r.Pumps {
			if p < 0 || p >= len(st.Station.Pumps) {
				fault("%q has no pump %d; it has %d", st.Name, p, len(st.Station.Pumps))
			}
		}
	}
	if r.Tank < 0 || r.Tank >= len(l.Nodes) || l.Nodes[r.Tank].Tank == nil {
		fault("node %d is no tank", r.Tank)
	}
	if !(r.StartBelow < r.StopAbove) {
		fault("pumps start below %.3f m and stop above %.3f m: the first must be the lower, or they start and stop at once", r.StartBelow, r.StopAbove)
	}
}

// tariffFaults says where a tariff leaves a part of the day without a price, or gives it two.
func tariffFaults(bands []line.TariffBand) (faults []string) {
	if len(bands) == 0 {
		return nil
	}
	type part struct{ from, to float64 }
	var parts []part
	for i, b := range bands {
		if !(b.From >= 0 && b.From <= dayHours && b.To >= 0 && b.To <= dayHours) || b.From == b.To || !(b.Energy >= 0) {
			faults = append(faults, fmt.Sprintf("band %d of the tariff, from %g to %g h at %g: give times from 0 to 24 h, not alike, and a price from 0", i+1, b.From, b.To, b.Energy))
			continue
		}
		if b.From < b.To {
			parts = append(parts, part{b.From, b.To})
		} else {
			parts = append(parts, part{b.From, dayHours}, part{0, b.To})
		}
	}
	if len(faults) > 0 {
		return faults
	}
	sort.Slice(parts, func(i, j int) bool { return parts[i].from < parts[j].from })
	at := 0.0
	for _, p := range append(parts, part{dayHours, dayHours}) {
		switch {
		case p.from > at+bandTolerant:
			faults = append(faults, fmt.Sprintf("the tariff has no price from %s to %s", clock(at*hourSeconds), clock(p.from*hourSeconds)))
		case p.from < at-bandTolerant && p.to > p.from:
			faults = append(faults, fmt.Sprintf("the tariff has two prices from %s to %s", clock(p.from*hourSeconds), clock(min(at, p.to)*hourSeconds)))
		}
		at = max(at, p.to)
	}
	return faults
}

// clock writes seconds since midnight as hours and minutes.
func clock(t float64) string {
	m := int(math.Floor(t/60 + 1e-6))
	return fmt.Sprintf("%02d:%02d", m/60, m%60)
}

// tank is a tank in the making of a day.
type tank struct {
	node   int
	level  float64 // m
	area   float64 // m²; 0: its level is kept
	ranged bool    // lowest and highest are known
}

// dayRun is a day in the making.
type dayRun struct {
	in     DayInput
	l      *line.Line
	def    *line.Day
	kase   line.Case
	moment dayCase
	step   float64
	most   int       // pieces
	breaks []float64 // s: where a piece must end
	tanks  []tank
	on     []bool    // by rule: its pumps are to run
	bands  []DayBand // energies in J until the end
	ruled  [][]bool  // by station of the result, by pump: a rule governs it
	usual  [][]bool  // by station, by pump: as the case has it
	res    *DayResult
	noted  map[[2]string]bool
	at     float64 // s
	start  []tank
	last   *rates
	hung   []float64 // what the last flow hung on: levels, limits, draws, pumps
	sumps  float64   // m³, out of the sumps of stations
}

func newDay(in DayInput) *dayRun {
	l := in.Net.Line
	d := &dayRun{in: in, l: l, def: &l.Days[in.Day], res: &DayResult{Day: in.Day, Status: "converged"}, noted: map[[2]string]bool{}, most: mostPieces}
	d.kase = l.Cases[d.def.Case]
	d.kase.Demand, d.kase.Level = slices.Clone(d.kase.Demand), slices.Clone(d.kase.Level)
	d.kase.Stations = slices.Clone(d.kase.Stations)
	d.moment = dayCase{kase: &d.kase, empty: make([]bool, len(l.Nodes))}
	if d.step = d.def.Step; d.step == 0 {
		d.step = usualStep
	}
	for i := range l.Nodes {
		switch nd := &l.Nodes[i]; {
		case nd.Tank != nil:
			t := tank{node: i, level: d.kase.Level[i], area: nd.Tank.Area, ranged: nd.Tank.Highest > nd.Tank.Lowest}
			d.tanks = append(d.tanks, t)
			d.res.Tanks = append(d.res.Tanks, DayTank{Node: i, Start: t.level, Least: t.level, Greatest: t.level, Fixed: t.area <= 0})
		case nd.Station != nil:
			d.addStation(i)
		case nd.Kind == line.Offtake || nd.Kind == line.Outfall:
			d.res.Offtakes = append(d.res.Offtakes, DayOfftake{Node: i})
		}
	}
	d.start = slices.Clone(d.tanks)
	for r := range l.Runs {
		for v := range l.Runs[r].Placed {
			d.res.Valves = append(d.res.Valves, DayValve{Run: r, Placed: v, Least: math.Inf(1), Greatest: math.Inf(-1)})
		}
	}
	d.setBands()
	d.setBreaks()
	d.beginRules()
	return d
}

func (d *dayRun) addStation(i int) {
	st, set := d.l.Nodes[i].Station, &d.kase.Stations[i]
	running := make([]bool, len(st.Pumps))
	copy(running, set.Running)
	set.Running = slices.Clone(running)
	s := DayStation{Node: i}
	ruled := make([]bool, len(st.Pumps))
	for p := range st.Pumps {
		s.Pumps = append(s.Pumps, DayPump{Name: st.Pumps[p].Name})
		for _, r := range d.def.Rules {
			ruled[p] = ruled[p] || r.Station == i && slices.Contains(r.Pumps, p)
		}
	}
	d.res.Stations = append(d.res.Stations, s)
	d.ruled, d.usual = append(d.ruled, ruled), append(d.usual, running)
}

// setBands takes the tariff over, or makes one band of the day.
func (d *dayRun) setBands() {
	p := &d.l.Prices
	for _, b := range p.Tariff {
		d.bands = append(d.bands, DayBand{From: b.From, To: b.To, Price: b.Energy})
	}
	d.res.HasCost = len(d.bands) > 0
	if len(d.bands) == 0 {
		d.bands = []DayBand{{To: dayHours, Price: p.Energy}}
		d.res.HasCost = p.HasEnergy
	}
}

// setBreaks gathers the times at which something changes: hours, steps, prices.
func (d *dayRun) setBreaks() {
	d.breaks = []float64{daySeconds}
	for h := range int(dayHours) {
		d.breaks = append(d.breaks, hourSeconds*float64(h))
	}
	for k := 0; float64(k)*d.step < daySeconds; k++ {
		d.breaks = append(d.breaks, float64(k)*d.step)
	}
	for _, b := range d.bands {
		d.breaks = append(d.breaks, hourSeconds*b.From, hourSeconds*b.To)
	}
	sort.Float64s(d.breaks)
	d.breaks = slices.CompactFunc(d.breaks, func(a, b float64) bool { return math.Abs(b-a) < instant })
}

// beginRules sets every rule by its tank's level, and between its two levels by whether one of its pumps runs in the case.
func (d *dayRun) beginRules() {
	d.on = make([]bool, len(d.def.Rules))
	for i, r := range d.def.Rules {
		for _, p := range r.Pumps {
			d.on[i] = d.on[i] || d.kase.Stations[r.Station].Running[p]
		}
		if d.l.Nodes[r.Tank].Tank.Area <= 0 {
			name := d.l.Nodes[r.Tank].Name
			d.note("grade.rule-idle", name, fmt.Sprintf("A rule starts and stops pumps of %s by the level of %s, whose area is not given: its level does not change. Give its area.", d.l.Nodes[r.Station].Name, name))
		}
	}
	d.obey(false)
}

// obey lets the rules act on the levels as they stand and sets the pumps; with count, what starts is counted.
func (d *dayRun) obey(count bool) {
	for i, r := range d.def.Rules {
		switch level := d.kase.Level[r.Tank]; {
		case level <= r.StartBelow+levelNear:
			d.on[i] = true
		case level >= r.StopAbove-levelNear:
			d.on[i] = false
		}
	}
	for k := range d.res.Stations {
		s := &d.res.Stations[k]
		running := d.kase.Stations[s.Node].Running
		for p := range running {
			run := d.usual[k][p]
			if d.ruled[k][p] {
				run = false
				for i, r := range d.def.Rules {
					run = run || d.on[i] && r.Station == s.Node && slices.Contains(r.Pumps, p)
				}
			}
			if run && !running[p] && count {
				s.Pumps[p].Starts++
			}
			running[p] = run
		}
		set := &d.kase.Stations[s.Node]
		if set.Flow = 0; anyRuns(set) {
			set.Flow = d.l.Cases[d.def.Case].Stations[s.Node].Flow
		}
	}
}

func (d *dayRun) note(id, where, text string) {
	if key := [2]string{id, where}; !d.noted[key] {
		d.noted[key] = true
		d.res.Notes = append(d.res.Notes, Note{ID: id, Where: where, Text: text})
	}
}

// follow writes what is fixed for the whole day into the notes.
func (d *dayRun) follow() {
	for _, t := range d.tanks {
		name := d.l.Nodes[t.node].Name
		switch {
		case t.area <= 0:
			d.note("grade.tank-fixed", name, fmt.Sprintf("The area of %s is not given: its level stays at %s all day, whatever flows.", name, quantity.Format(t.level, "m", 2)))
		case !t.ranged:
			d.note("grade.tank-no-range", name, fmt.Sprintf("No lowest and highest level of %s is given: it is followed as if it could neither overflow nor run empty.", name))
		}
	}
}
