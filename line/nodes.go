package line

import (
	"fmt"
	"sort"
	"strings"

	"obvert/physics/pump"
	"obvert/quantity"
)

// What holds where the document does not say. Each is recorded under Line.Assumed.
const (
	assumedLevelUncertainty = 0.05 // m, standard uncertainty of a water level; common practice, no source
	assumedMotorEfficiency  = 0.90 // of motor and drive; common practice, no source
	assumedPumpEfficiency   = 0.75 // common practice, no source
)

// nodeTables are the tables that make nodes.
var nodeTables = []struct {
	key  string
	kind NodeKind
}{
	{"tank", Tank}, {"station", Station}, {"offtake", Offtake}, {"junction", Junction}, {"outfall", Outfall}, {"dead_end", DeadEnd},
}

// String is the trade's word for a kind of node.
func (k NodeKind) String() string {
	if int(k) < len(nodeWords) {
		return nodeWords[k]
	}
	return "node"
}

var nodeWords = [...]string{Junction: "junction", Offtake: "off-take", Tank: "tank", Station: "pump station", Outfall: "outfall", DeadEnd: "dead end"}

// readNodes reads all nodes, in the order in which they stand in the document.
func (r *reader) readNodes(root form) {
	type entry struct {
		kind NodeKind
		f    form
	}
	var entries []entry
	for _, t := range nodeTables {
		for _, f := range root.list(t.key, t.key, false) {
			entries = append(entries, entry{t.kind, f})
		}
	}
	sort.SliceStable(entries, func(i, j int) bool { return entries[i].f.t.Line() < entries[j].f.t.Line() })
	for _, e := range entries {
		node := Node{Kind: e.kind}
		named := false
		node.Name, named = e.f.name("name", true)
		if named {
			r.nodes.add(e.f, "name", node.Name, len(r.line.Nodes))
		}
		switch e.kind {
		case Tank:
			node.Tank = r.readTank(e.f, node.Name)
		case Station:
			node.Station = r.readStation(e.f, node.Name)
		case Offtake:
			node.Demand, _ = e.f.quantity("demand", quantity.Flow, true, flowLimits)
		}
		r.line.Nodes = append(r.line.Nodes, node)
		r.nodeForms = append(r.nodeForms, e.f)
	}
}

func (r *reader) readTank(f form, name string) *TankData {
	t := &TankData{}
	hasRange := f.has("lowest") || f.has("highest")
	level, hasLevel := f.quantity("level", quantity.Length, !f.has("lowest") || !f.has("highest"), levelLimits)
	lowest, hasLowest := f.quantity("lowest", quantity.Length, false, levelLimits)
	highest, hasHighest := f.quantity("highest", quantity.Length, false, levelLimits)
	t.Area, _ = f.quantity("area", quantity.Area, false, areaLimits)
	if !f.t.Has("area") {
		r.assume("tank.area", "tank "+name, "No area is given: the level stays the same however much water comes or goes.")
	}
	if inlet, _ := f.choice("inlet", false, "below water", "over the top"); inlet == "over the top" {
		t.Inlet = OverTheTop
	}
	t.Uncertainty = r.levelUncertainty(f, "tank "+name)
	if f.t.Has("level") && !hasLevel || f.t.Has("lowest") && !hasLowest || f.t.Has("highest") && !hasHighest {
		r.vague[t] = true
	}

	if hasLowest && hasHighest && lowest > highest {
		f.fault("lowest", "the lowest level stands above the highest", quantity.Format(lowest, "m", 2)+" and "+quantity.Format(highest, "m", 2),
			"exchange the two")
		lowest, highest = highest, lowest
	}
	if !f.t.Has("level") && hasLowest && hasHighest {
		level, hasLevel = (lowest+highest)/2, true
		r.assume("tank.level", "tank "+name, "The water usually stands half way between lowest and highest, at "+quantity.Format(level, "m", 2)+".")
	}
	t.Level, t.Lowest, t.Highest = level, level, level
	if hasLowest {
		t.Lowest = lowest
	}
	if hasHighest {
		t.Highest = highest
	}
	if hasRange && hasLevel && (level < t.Lowest || level > t.Highest) {
		f.fault("level", "the usual level lies outside the tank's own range", fmt.Sprintf("%s, and the range is %s to %s",
			quantity.Format(level, "m", 2), quantity.Format(t.Lowest, "m", 2), quantity.Format(t.Highest, "m", 2)), "mend the level or the range")
	}
	return t
}

// levelUncertainty reads how well a water level is known.
func (r *reader) levelUncertainty(f form, where string) float64 {
	u, ok := f.quantity("level_uncertainty", quantity.Length, false, sigmaLimits)
	if !ok {
		u = assumedLevelUncertainty
		r.assume("level.uncertainty", where, "The water level is known to "+quantity.Format(u, "mm", 0)+
			" (standard uncertainty; common practice, no source).")
	}
	return u
}

func (r *reader) readStation(f form, name string) *StationData {
	s := &StationData{}
	s.HasSump = f.has("sump_level")
	s.SuctionLevel, _ = f.quantity("sump_level", quantity.Length, false, levelLimits)
	switch check, _ := f.choice("check_valves", false, "each", "shared", "none"); check {
	case "each":
		s.Check = CheckEach
	case "shared":
		s.Check = CheckShared
	case "none":
		s.Check = CheckNone
	default:
		r.assume("station.check-valves", "station "+name, "Every pump has a check valve of its own.")
	}
	motor, ok := f.quantity("motor_efficiency", quantity.Ratio, false, ratioLimits)
	switch {
	case !ok:
		s.MotorEfficiency, s.AssumedMotor = assumedMotorEfficiency, true
		r.assume("station.motor-efficiency", "station "+name, "Motors and drives have an efficiency of "+
			quantity.Format(assumedMotorEfficiency, "%", 0)+" (common practice, no source).")
	case motor == 0:
		f.fault("motor_efficiency", "is nothing", "", "write an efficiency above 0 %, such as \"92 %\"")
	default:
		s.MotorEfficiency = motor
	}
	pumps := newNames("pump")
	for i, p := range f.list("pump", "station.pump", true) {
		r.readPumps(p, i, name, s, pumps)
	}
	r.pumpsOf[s] = pumps
	return s
}

// mostPumps bounds the pumps of one table that are alike, allPumps those of the whole line.
const (
	mostPumps = 100
	allPumps  = 5000
)

// readPumps reads one table of a station: one pump, or several that are alike.
func (r *reader) readPumps(f form, i int, station string, s *StationData, known *names) {
	p := Pump{}
	name, named := f.name("name", false)
	if !named {
		name = fmt.Sprintf("pump %d", len(s.Pumps)+1)
	}
	where := "station " + station + ", " + name
	r.readCurves(f, &p, where)
	p.SuctionAxis, p.HasSuctionAxis = f.quantity("axis_level", quantity.Length, false, levelLimits)

	count := 1
	if f.has("alike") {
		n, ok := f.t.Int("alike", false)
		switch {
		case ok && (n < 1 || n > mostPumps):
			f.fault("alike", "lies outside what can be meant", fmt.Sprintf("understood as %d pumps", n),
				fmt.Sprintf("give a number from 1 to %d", mostPumps))
		case ok:
			count = n
		}
	}
	if r.pumpCount += count; r.pumpCount > allPumps {
		if r.pumpCount-count <= allPumps {
			f.fault("", fmt.Sprintf("more than %d pumps on one line", allPumps), "", "are the pumps of one station written several times?")
		}
		return
	}
	for k := range count {
		one := p
		one.Name = name
		if count > 1 {
			one.Name = fmt.Sprintf("%s %d", name, k+1)
		}
		known.add(f, "name", one.Name, len(s.Pumps))
		s.Pumps = append(s.Pumps, one)
	}
}

// readCurves reads a pump's curves and checks their shape.
func (r *reader) readCurves(f form, p *Pump, where string) {
	var ok bool
	if p.Curve, ok = f.curve("curve", quantity.Length, true, headLimits); ok && r.rising(f, "curve", p.Curve, 2) {
		r.checkHeads(f, p.Curve)
	}
	if p.NPSH, _ = f.curve("npsh", quantity.Length, false, headLimits); r.rising(f, "npsh", p.NPSH, 2) {
		_, err := pump.NewNPSH(p.NPSH)
		r.curveFaults(f, "npsh", err)
	}

	// An efficiency is one figure, or a curve over flow.
	if text, _, _, scalar := f.t.Raw("efficiency"); scalar && text != "" {
		p.AssumedEfficiency, ok = f.quantity("efficiency", quantity.Ratio, false, limits{0, 10, "%", 0})
		if ok && !r.efficient(f, "efficiency", p.AssumedEfficiency) {
			p.AssumedEfficiency = 0
		}
		return
	}
	p.Efficiency, ok = f.curve("efficiency", quantity.Ratio, false, limits{0, 10, "%", 0})
	fine := r.rising(f, "efficiency", p.Efficiency, 2)
	for i, point := range p.Efficiency {
		fine = fine && point[1] <= 1
		if point[1] > 1 {
			r.efficient(f, fmt.Sprintf("efficiency[%d][2]", i+1), point[1])
		}
	}
	if fine {
		_, err := pump.NewEfficiency(p.Efficiency)
		r.curveFaults(f, "efficiency", err)
	}
	if !ok {
		p.AssumedEfficiency = assumedPumpEfficiency
		if !f.t.Has("efficiency") {
			r.assume("pump.efficiency", where, "The pump has an efficiency of "+quantity.Format(assumedPumpEfficiency, "%", 0)+
				" at every flow (common practice, no source).")
		}
	}
}

// efficient reports an efficiency that no pump has.
func (r *reader) efficient(f form, key string, v float64) bool {
	switch {
	case v > 1:
		f.fault(key, "an efficiency above 100 %", "understood as "+quantity.Format(v, "%", 0), "write it as a part of the power put in, such as \"78 %\"")
	case v <= 0:
		f.fault(key, "an efficiency of nothing", "understood as "+quantity.Format(v, "%", 0), "write it above 0 %, such as \"78 %\"")
	default:
		return true
	}
	return false
}

// rising checks that a curve has points enough and that its flows rise.
func (r *reader) rising(f form, key string, points [][2]float64, least int) bool {
	if points == nil {
		return false
	}
	if len(points) < least {
		f.fault(key, fmt.Sprintf("a curve of %d, where %d points or more are asked for", len(points), least), "", "add points from no flow to the largest")
		return false
	}
	for i := 1; i < len(points); i++ {
		if points[i][0] <= points[i-1][0] {
			f.fault(fmt.Sprintf("%s[%d]", key, i+1), "the flow does not rise from point to point",
				quantity.Format(points[i][0], "L/s", 2)+" after "+quantity.Format(points[i-1][0], "L/s", 2), "give the points by rising flow, each flow once")
			return false
		}
	}
	return true
}

// checkHeads lets package pump look at the shape of a head curve: one that rises throughout is a fault, one with two
// duties at one head a warning.
func (r *reader) checkHeads(f form, points [][2]float64) {
	_, notes, err := pump.NewCurve(points)
	r.curveFaults(f, "curve", err)
	for _, n := range notes {
		f.warn("curve", n.ID, n.Text, "between "+quantity.Format(n.From, "L/s", 1)+" and "+quantity.Format(n.To, "L/s", 1),
			"the flow can jump from one duty to the other; keep it beyond "+quantity.Format(n.To, "L/s", 1))
	}
}

// curveFaults reports what package pump found wrong with a curve.
func (r *reader) curveFaults(f form, key string, err error) {
	if err == nil {
		return
	}
	faults := []error{err}
	if joined, ok := err.(interface{ Unwrap() []error }); ok {
		faults = joined.Unwrap()
	}
	for _, e := range faults {
		what, hint, _ := strings.Cut(e.Error(), ": ")
		f.fault(key, what, "", hint)
	}
}
