package line

import (
	"fmt"
	"math"
	"slices"

	"obvert/quantity"
)

// assumedStep is the step of a day where none is given.
const assumedStep = 900.0 // s

// mostDays bounds the days of a line.
const mostDays = 50

// readDays reads days of 24 h.
func (r *reader) readDays(root form) {
	forms := root.list("day", "day", false)
	for i, f := range forms {
		if i == mostDays {
			f.fault("", fmt.Sprintf("more than %d days", mostDays), fmt.Sprintf("%d are written", len(forms)), "leave out those that differ in nothing that matters")
		}
		name, named := f.name("name", true)
		if named {
			r.dayNames.add(f, "name", name, i)
		}
		d := Day{Name: name, Step: assumedStep, Case: r.caseOf(f, "case", "case in which water flows", Pumping, Gravity)}
		r.readStep(f, &d)
		r.readFactors(f, &d)
		r.readRules(f, &d)
		if i < mostDays {
			r.line.Days = append(r.line.Days, d)
		}
	}
}

// readStep reads the time step: the hours of the factors must fall on steps.
func (r *reader) readStep(f form, d *Day) {
	step, ok := f.quantity("step", quantity.Time, false, limits{60, 3600, "min", 1})
	if !ok {
		return
	}
	n := math.Round(3600 / step)
	if math.Abs(n*step-3600) > 1e-6 {
		f.fault("step", "the step does not divide the hour", "understood as "+quantity.Format(step, "min", 2), "write 1, 2, 3, 4, 5, 6, 10, 12, 15, 20, 30 or 60 min")
		return
	}
	d.Step = 3600 / n
}

// readFactors reads the off-takes' shares by the hour.
func (r *reader) readFactors(f form, d *Day) {
	for h := range d.Factors {
		d.Factors[h] = 1
	}
	f.asked("factors")
	if !f.t.Has("factors") {
		r.assume("day.factors", "day "+d.Name, "Off-takes draw their usual demand at all hours.")
		return
	}
	factors, ok := f.t.Quantities("factors", quantity.Ratio, false)
	if !ok {
		return
	}
	if len(factors) != len(d.Factors) {
		f.fault("factors", "a day has 24 hours", fmt.Sprintf("%d factors are given", len(factors)), "give 24, the first for the hour from midnight to one")
		return
	}
	for h, v := range factors {
		if !f.within(fmt.Sprintf("factors[%d]", h+1), v, limits{0, 100, "%", 0}) {
			return
		}
		d.Factors[h] = v
	}
}

// readRules reads which pumps start and stop by which tank's level.
func (r *reader) readRules(f form, d *Day) {
	ruled := map[[2]int]bool{} // station and pump that have a rule
	for _, t := range f.list("rule", "day.rule", false) {
		rule := LevelRule{}
		fine := true
		if name, ok := t.text("station", true); ok {
			rule.Station, fine = r.kindOf(t, "station", name, Station)
		} else {
			fine = false
		}
		pumps, named := t.texts("pumps")
		tank := -1
		if name, ok := t.text("tank", true); ok {
			if i, found := r.kindOf(t, "tank", name, Tank); found {
				tank, rule.Tank = i, i
			}
		}
		start, hasStart := t.quantity("start_below", quantity.Length, true, levelLimits)
		stop, hasStop := t.quantity("stop_above", quantity.Length, true, levelLimits)
		rule.StartBelow, rule.StopAbove = start, stop
		if hasStart && hasStop && start >= stop {
			t.fault("start_below", "the pumps start above the level at which they stop", quantity.Format(start, "m", 2)+" and "+quantity.Format(stop, "m", 2),
				"let them start at the lower level and stop at the higher one")
		}
		if tank >= 0 {
			r.checkRuleTank(t, tank, rule, hasStart && hasStop)
		}
		if fine {
			r.readRulePumps(t, &rule, pumps, named, ruled)
		}
		d.Rules = append(d.Rules, rule)
	}
}

// kindOf finds the node of a kind that a key names.
func (r *reader) kindOf(f form, key, name string, kind NodeKind) (int, bool) {
	i, ok := r.nodes.find(f, key, name)
	if ok && r.line.Nodes[i].Kind != kind {
		f.fault(key, fmt.Sprintf("%q is no %s", name, kind), "it is a "+r.line.Nodes[i].Kind.String(), "name a "+kind.String())
		return 0, false
	}
	return i, ok
}

// checkRuleTank holds a rule's levels against its tank, whose level must be able to move.
func (r *reader) checkRuleTank(t form, node int, rule LevelRule, known bool) {
	n := r.line.Nodes[node]
	if n.Tank.Area == 0 && !r.nodeForms[node].t.Has("area") {
		t.fault("tank", fmt.Sprintf("the level of %q never changes", n.Name), "the tank has no area",
			"write area = \"…\" for the tank, or take another tank for the rule")
	}
	if !known || n.Tank.Lowest >= n.Tank.Highest {
		return
	}
	for _, l := range []struct {
		key   string
		level float64
	}{{"start_below", rule.StartBelow}, {"stop_above", rule.StopAbove}} {
		if l.level < n.Tank.Lowest || l.level > n.Tank.Highest {
			t.warn(l.key, "day.level-outside", "the level lies outside the tank's own range", quantity.Format(l.level, "m", 2)+", and the range is "+
				quantity.Format(n.Tank.Lowest, "m", 2)+" to "+quantity.Format(n.Tank.Highest, "m", 2), "mend the level or the range")
		}
	}
}

// readRulePumps finds the pumps of a rule: those named, else all of the station. Each has one rule in a day.
func (r *reader) readRulePumps(t form, rule *LevelRule, names []string, named bool, ruled map[[2]int]bool) {
	s := r.line.Nodes[rule.Station].Station
	if len(s.Pumps) == 0 {
		return // told where the station stands
	}
	if named && len(names) == 0 {
		t.fault("pumps", "the rule starts no pump", "", "name pumps of the station, or leave pumps out for all of them")
	}
	for k, name := range names {
		p, ok := r.pumpsOf[s].find(t, fmt.Sprintf("pumps[%d]", k+1), name)
		if ok && !slices.Contains(rule.Pumps, p) {
			rule.Pumps = append(rule.Pumps, p)
		}
	}
	if !t.t.Has("pumps") {
		for p := range s.Pumps {
			rule.Pumps = append(rule.Pumps, p)
		}
	}
	for _, p := range rule.Pumps {
		if at := [2]int{rule.Station, p}; ruled[at] {
			t.fault("pumps", fmt.Sprintf("pump %q has two rules in this day", s.Pumps[p].Name), "", "let one rule start and stop it")
			return
		}
		ruled[[2]int{rule.Station, p}] = true
	}
}
