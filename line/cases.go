package line

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"obvert/quantity"
)

// caseKinds are the words for what a line is doing.
var caseKinds = map[string]CaseKind{"pumping": Pumping, "gravity": Gravity, "standing": Standing, "filling": Filling}

// String is the word for a kind of case.
func (k CaseKind) String() string {
	return [...]string{"pumping", "gravity", "standing", "filling"}[k]
}

// mostCases bounds the cases of a line.
const mostCases = 500

// readCases reads the operating cases, or makes the usual ones where none are written. What passes in time is set aside
// for readEvents.
func (r *reader) readCases(root form) {
	forms := root.list("case", "case", false)
	hours, c, i := 0.0, Case{}, -1
	for _, f := range forms {
		name, named := f.name("name", true)
		word, known := f.choice("kind", true, allKinds...)
		if kind, event := eventKinds[word]; event {
			r.setAside(f, name, named, kind)
			continue
		}
		if i++; i == mostCases {
			f.fault("", fmt.Sprintf("more than %d cases", mostCases), fmt.Sprintf("%d are written", len(forms)), "leave out those that differ in nothing that matters")
		}
		if i <= mostCases { // beyond, each is read for its faults only
			c = r.newCase(name, caseKinds[word])
		}
		if named {
			r.caseNames.add(f, "name", name, i)
		}
		f.onlyKeys(word+" case", known, slices.Clone(caseKeys))
		if h, ok := f.quantity("hours", quantity.Time, false, dayLimits); ok {
			c.Hours = h / 3600
			if hours += c.Hours; hours > 24 && hours-c.Hours <= 24 {
				f.warn("hours", "case.long-day", "the cases together last longer than a day", quantity.Number(hours, 1)+" h up to here", "let the hours of all cases add up to 24 h at most")
			}
		}
		r.readTanks(f, &c)
		r.readDemands(f, &c, known)
		r.readStations(f, &c, known)
		r.readClosed(f, &c)
		if i < mostCases {
			r.line.Cases = append(r.line.Cases, c)
		}
	}
	if i < 0 {
		r.defaultCases()
	}
}

// allKinds are the words for the kinds of case and of event.
var allKinds = []string{"filling", "pumping", "gravity", "standing", "draining", "burst", "first filling", "restart"}

// newCase is a case with tanks at their usual level, off-takes drawing what they usually draw while water is delivered,
// stations at rest and equipment as it usually stands.
func (r *reader) newCase(name string, kind CaseKind) Case {
	n := len(r.line.Nodes)
	c := Case{Name: name, Kind: kind, Stations: make([]StationSetting, n), Demand: make([]float64, n), Level: make([]float64, n)}
	delivers := kind == Pumping || kind == Gravity
	for i, node := range r.line.Nodes {
		switch node.Kind {
		case Tank:
			c.Level[i] = node.Tank.Level
		case Station:
			c.Level[i] = node.Station.SuctionLevel
			c.Stations[i] = StationSetting{Running: make([]bool, len(node.Station.Pumps)), Speed: make([]float64, len(node.Station.Pumps))}
			for p := range c.Stations[i].Speed {
				c.Stations[i].Speed[p] = 1
			}
		}
		if delivers {
			c.Demand[i] = node.Demand
		}
	}
	for _, run := range r.line.Runs {
		closed := make([]bool, len(run.Equipment))
		for i, e := range run.Equipment {
			closed[i] = e.Closed
		}
		c.Closed = append(c.Closed, closed)
	}
	return c
}

// readTanks reads the water levels of a case: of all tanks by a word, of single ones by their level.
func (r *reader) readTanks(f form, c *Case) {
	if word, ok := f.choice("tanks", false, "usual", "lowest", "highest"); ok {
		for i, node := range r.line.Nodes {
			if node.Kind == Tank {
				c.Level[i] = node.Tank.at(word)
			}
		}
	}
	for _, t := range f.list("tank", "case.tank", false) {
		i, ok := r.nodeOf(t, Tank)
		level, known := t.quantity("level", quantity.Length, true, levelLimits)
		if !ok || !known {
			continue
		}
		tank := r.line.Nodes[i].Tank
		if tank.Lowest < tank.Highest && (level < tank.Lowest || level > tank.Highest) {
			t.warn("level", "case.level-outside", "the level lies outside the tank's own range", quantity.Format(level, "m", 2)+", and the range is "+
				quantity.Format(tank.Lowest, "m", 2)+" to "+quantity.Format(tank.Highest, "m", 2), "mend the level or the range")
		}
		c.Level[i] = level
	}
}

// at is the level, in metres above datum, that a word stands for.
func (t *TankData) at(word string) float64 {
	switch word {
	case "lowest":
		return t.Lowest
	case "highest":
		return t.Highest
	}
	return t.Level
}

// nodeOf finds the node of a kind that a table of a case names.
func (r *reader) nodeOf(f form, kind NodeKind) (int, bool) {
	name, ok := f.text("name", true)
	if !ok {
		return 0, false
	}
	i, ok := r.nodes.find(f, "name", name)
	if ok && r.line.Nodes[i].Kind != kind {
		f.fault("name", fmt.Sprintf("%q is no %s", name, kind), "it is a "+r.line.Nodes[i].Kind.String(), "name a "+kind.String())
		return 0, false
	}
	return i, ok
}

// readDemands reads what off-takes draw: all by a share of what they usually draw, single ones by their flow.
func (r *reader) readDemands(f form, c *Case, known bool) {
	if share, ok := f.quantity("demand", quantity.Ratio, false, limits{0, 100, "%", 0}); ok {
		for i, node := range r.line.Nodes {
			c.Demand[i] = share * node.Demand
		}
		r.flows(f, "demand", c, known)
	}
	for _, t := range f.list("offtake", "case.offtake", false) {
		i, ok := r.nodeOf(t, Offtake)
		demand, has := t.quantity("demand", quantity.Flow, true, flowLimits)
		if ok && has && r.flows(t, "demand", c, known) {
			c.Demand[i] = demand
		}
	}
	if c.Kind == Standing {
		clear(c.Demand)
	}
}

// flows refuses a flow in a case that has none.
func (r *reader) flows(f form, key string, c *Case, known bool) bool {
	if known && c.Kind == Standing {
		f.fault(key, "a standing case has no flow", "", "leave it out, or mend the case's kind")
		return false
	}
	return true
}

// readStations reads which pumps run and how. In a pumping case the pumps of a station that is not named all run at full
// speed; in the others they rest.
func (r *reader) readStations(f form, c *Case, known bool) {
	if c.Kind == Pumping {
		for i := range c.Stations {
			fill(c.Stations[i].Running, true)
		}
	}
	told := map[int]bool{}
	for _, t := range f.list("station", "case.station", false) {
		i, ok := r.nodeOf(t, Station)
		if !ok {
			r.readSetting(t, nil, &StationSetting{})
			continue
		}
		if told[i] {
			t.fault("name", "the station stands twice in this case", "", "keep one of the two")
		}
		told[i] = true
		r.readSetting(t, r.line.Nodes[i].Station, &c.Stations[i])
		if known && (c.Kind == Standing || c.Kind == Gravity) && slices.Contains(c.Stations[i].Running, true) {
			t.fault("running", "no pump runs in a "+c.Kind.String()+" case", "", "leave the station out, or write kind = \"pumping\"")
		}
	}
	r.checkRunning(f, c, known)
	if c.Kind == Filling && len(told) == 0 {
		r.fillFrom(c)
	}
}

// checkRunning refuses a pumping case in which nothing pumps.
func (r *reader) checkRunning(f form, c *Case, known bool) {
	if !known || c.Kind != Pumping {
		return
	}
	stations := false
	for i, s := range c.Stations {
		if n := r.line.Nodes[i]; n.Kind == Station {
			if stations = true; len(n.Station.Pumps) == 0 {
				return // told where the station stands
			}
		}
		if slices.Contains(s.Running, true) {
			return
		}
	}
	if !stations {
		f.fault("kind", "there is no pump station on the line", "kind = \"pumping\"", "write kind = \"gravity\", or add a [[station]]")
		return
	}
	f.fault("kind", "no pump runs in this pumping case", "", "name the pumps that run, or write kind = \"gravity\" or \"standing\"")
}

// readSetting reads one station's table in a case. Without a station, which is then unknown, the keys are read only.
func (r *reader) readSetting(t form, s *StationData, set *StationSetting) {
	names, hasNames := t.texts("running")
	flow, hasFlow := t.quantity("flow", quantity.Flow, false, flowLimits)
	list, isList := r.readSpeeds(t)
	if s == nil || len(s.Pumps) == 0 {
		r.readHolding(t, set)
		return // told where the station stands
	}
	var running []int
	found := true
	if hasNames {
		for k, name := range names {
			if p, ok := r.pumpsOf[s].find(t, fmt.Sprintf("running[%d]", k+1), name); ok {
				running = append(running, p)
			} else {
				found = false
			}
		}
	} else if !t.t.Has("running") {
		for p := range s.Pumps {
			running = append(running, p)
		}
	}
	fill(set.Running, false)
	for _, p := range running {
		set.Running[p] = true
	}
	switch {
	case isList && len(list) == len(running):
		for k, p := range running {
			set.Speed[p] = list[k]
		}
	case isList && found:
		t.fault("speed", fmt.Sprintf("%d speeds for %d running pumps", len(list), len(running)), "", "give one speed for all, or one for each in the order of running")
	case len(list) == 1:
		for _, p := range running {
			set.Speed[p] = list[0]
		}
	}
	if hasFlow && flow == 0 {
		t.fault("flow", "a flow of nothing", "", "leave the station out of the case, or write running = []")
	}
	set.Flow = flow
	r.readHolding(t, set)
}

// speedLimits are those in which a curve can be trusted to follow the affinity laws, and a little more.
var speedLimits = limits{0.1, 1.5, "%", 0}

// readSpeeds reads one speed for all running pumps, or a list with one for each.
func (r *reader) readSpeeds(t form) (speeds []float64, isList bool) {
	t.asked("speed")
	if !t.t.Has("speed") {
		return nil, false
	}
	if _, _, _, scalar := t.t.Raw("speed"); scalar {
		v, ok := t.quantity("speed", quantity.Ratio, false, speedLimits)
		if !ok {
			return nil, false
		}
		return []float64{v}, false
	}
	speeds, ok := t.t.Quantities("speed", quantity.Ratio, false)
	for i, v := range speeds {
		if !t.within(fmt.Sprintf("speed[%d]", i+1), v, speedLimits) {
			return nil, false
		}
	}
	return speeds, ok
}

// readClosed reads which isolating valves stand otherwise than usually.
func (r *reader) readClosed(f form, c *Case) {
	for _, way := range []struct {
		key    string
		closed bool
	}{{"closed", true}, {"open", false}} {
		names, _ := f.texts(way.key)
		for k, name := range names {
			key := fmt.Sprintf("%s[%d]", way.key, k+1)
			i, ok := r.things.find(f, key, name)
			if !ok {
				continue
			}
			p := r.thingPlaces[i]
			if p.equipment < 0 || r.line.Runs[p.run].Equipment[p.equipment].Kind != IsolatingValve {
				what := "an air valve"
				if p.equipment >= 0 {
					what = "a " + r.line.Runs[p.run].Equipment[p.equipment].Kind.String()
				}
				f.fault(key, fmt.Sprintf("%q is no isolating valve", name), "it is "+what, "name an isolating valve")
				continue
			}
			c.Closed[p.run][p.equipment] = way.closed
		}
	}
}

// defaultCases makes the cases of a document that has none: filling, pumping (or gravity flow), standing with the tanks
// at their usual level, and standing with the tanks low where one has a range.
func (r *reader) defaultCases() {
	stations, ranges := false, false
	for _, n := range r.line.Nodes {
		stations = stations || n.Kind == Station
		ranges = ranges || n.Kind == Tank && n.Tank.Lowest < n.Tank.Level
	}
	filling := r.newCase("Filling", Filling)
	r.fillFrom(&filling)
	r.line.Cases = append(r.line.Cases, filling)
	if stations {
		c := r.newCase("Pumping", Pumping)
		for i := range c.Stations {
			fill(c.Stations[i].Running, true)
		}
		r.line.Cases = append(r.line.Cases, c)
	} else {
		r.line.Cases = append(r.line.Cases, r.newCase("Gravity flow", Gravity))
	}
	r.line.Cases = append(r.line.Cases, r.newCase("Standing", Standing))
	if ranges {
		c := r.newCase("Standing, tanks low", Standing)
		for i, n := range r.line.Nodes {
			if n.Kind == Tank {
				c.Level[i] = n.Tank.Lowest
			}
		}
		r.line.Cases = append(r.line.Cases, c)
	}
	for i := range r.line.Cases {
		r.line.Cases[i].Default = true
		r.caseNames.put(r.line.Cases[i].Name, i)
	}
	r.assume("case.default", "cases", "No operating cases are given; the usual ones are taken: "+caseList(r.line.Cases)+".")
}

func caseList(cases []Case) string {
	all := make([]string, len(cases))
	for i, c := range cases {
		all[i] = strings.ToLower(c.Name)
	}
	return strings.Join(all, "; ")
}

// fillFrom lets the first station deliver the filling flow: the practice's filling velocity in the smallest bore of the
// runs that leave it. One pump of every other station runs as its curve has it. Without a station the line fills by gravity.
func (r *reader) fillFrom(c *Case) {
	first := true
	for i, node := range r.line.Nodes {
		if node.Kind != Station || len(node.Station.Pumps) == 0 {
			continue
		}
		fill(c.Stations[i].Running, false)
		c.Stations[i].Running[0] = true
		if !first {
			continue
		}
		first = false
		if bore := r.smallestBore(i); bore > 0 {
			v := r.line.Practice.FillingVelocity.Value
			c.Stations[i].Flow = v * math.Pi / 4 * bore * bore
			r.assume("case.filling-flow", "station "+node.Name, "The line is filled at "+quantity.Format(c.Stations[i].Flow, "L/s", 1)+", which is "+
				quantity.Format(v, "m/s", 2)+" in the smallest bore behind the station, "+quantity.Format(bore, "mm", 0)+".")
		}
	}
}

// smallestBore is the smallest bore, in metres, of the runs that leave a node; 0 where none is known.
func (r *reader) smallestBore(node int) float64 {
	least := 0.0
	for _, i := range r.line.Nodes[node].Runs {
		if r.line.Runs[i].From != node {
			continue
		}
		for _, s := range r.line.Runs[i].Sections {
			if s.Bore > 0 && (least == 0 || s.Bore < least) {
				least = s.Bore
			}
		}
	}
	return least
}

func fill(b []bool, v bool) {
	for i := range b {
		b[i] = v
	}
}
