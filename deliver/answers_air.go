package deliver

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"obvert/engine/siting"
	"obvert/engine/sizing"
	"obvert/physics/pocket"
)

// air is the chapter of air in and out: what each valve must pass and what it passes.
func (a *answers) air() *chapter {
	if len(a.Sizing.Places) == 0 {
		return nil
	}
	c := &chapter{ID: "air", Head: "Air in and out", Note: sentence(a.Sizing.BasisText) + " Blue: what the valve passes; dashed: what the governing duty asks for; red: the largest differential allowed."}
	c.Key = []keyItem{markKey(markTight, "passed within the limit"), markKey(markFails, "not passed"), markKey(markUnknown, "the valve's curve is not known")}
	all := &airs{basis: a.airBasis()}
	for i := range a.Sizing.Places {
		if p := &a.Sizing.Places[i]; p.Placed >= 0 {
			all.valves = append(all.valves, a.airValve(p))
		}
	}
	some := &airs{basis: all.basis}
	var left int
	some.valves, left = worstFirst(all.valves, most, func(v *airValve) float64 { return -v.worst() })
	if len(some.valves) > 0 {
		note := ""
		if left > 0 {
			note = fmt.Sprintf("The worst %d of %d valves are drawn; %s in the table.", len(some.valves), len(all.valves), counted(left, "more is", "more are"))
		}
		c.add(tableOf{some, all.twin()}, "", note, "Every duty of every valve", left > 0)
	}
	if t := a.released(); t != nil {
		c.table(t)
	}
	c.Remarks = append(c.Remarks, a.airRemarks()...)
	if len(c.Parts) > 0 {
		c.Cautions = append(c.Cautions, "Compressed air stores energy: vent slowly, stand clear, never pressure-test with air. Vacuum can collapse a thin pipe.")
	}
	return c
}

// airRemarks are the notes of the sizing, each said once with all the places that it concerns.
func (a *answers) airRemarks() []string {
	var g grouping
	for _, n := range a.Sizing.Notes {
		where, _, _ := strings.Cut(n.Where, ", run ")
		g.add(sentence(n.Text), where)
	}
	out := make([]string, len(g.texts))
	for i, t := range g.texts {
		out[i] = strings.TrimPrefix(strings.Join(g.of[t], ", ")+": "+t, ": ")
	}
	return out
}

func markKey(m mark, text string) keyItem { return keyItem{icon(m), text} }

// airBasis says which air the flows are.
func (a *answers) airBasis() string {
	s := &a.Sizing
	return fmt.Sprintf("free air at %s kPa and %s °C", fixed(s.Atmosphere/1e3, 1), fixed(s.Temperature-273.15, 0))
}

// airValve is one placed valve as it is drawn.
func (a *answers) airValve(p *sizing.PlaceResult) airValve {
	v := airValve{no: a.no(p.Name), place: a.at(p.Run, p.Chainage), typ: a.typeOf(p.Record), verdict: p.Verdict.String()}
	v.mark = [...]mark{markUnknown, markTight, markFails, markUnknown}[min(int(p.Verdict), 3)]
	switch {
	case p.Smallest < 0:
		v.choice = "No type of the rack does it."
		if len(p.Unjudged) > 0 {
			v.choice += " " + upper(counted(len(p.Unjudged), "type lacks", "types lack")) + " a curve that is needed."
		}
	case p.NextUp < 0:
		v.choice = "Smallest that does it: " + a.typeOf(p.Smallest) + a.unfit(p, p.Smallest) + "; none larger in the rack."
	default:
		v.choice = "Smallest that does it: " + a.typeOf(p.Smallest) + a.unfit(p, p.Smallest) + "; next up: " + a.typeOf(p.NextUp) + a.unfit(p, p.NextUp) + "."
	}
	if smallByRule(p) {
		r := &p.Release
		v.verdict, v.mark = ruleVerdict, markDoubt
		v.choice = fmt.Sprintf("Large orifices suffice; by solubility no air comes out. The rule of %s %% asks %s what the small orifice passes.", trimmed(100*r.RuleShare), timesOver(r.Ratio))
		return a.withSides(v, p)
	}
	if p.Verdict == sizing.TooSmall {
		for _, t := range p.Trials {
			if t.Record == p.Record && t.Why != "" {
				v.choice = v.typ + ": only " + sentence(t.Why) + " " + v.choice
				if !t.Judged || !strings.Contains(t.Why, "%") {
					v.choice = strings.Replace(v.choice, ": only ", ": ", 1)
				}
			}
		}
	}
	return a.withSides(v, p)
}

// ruleVerdict is said where only the rule of practice finds the small orifice small.
const ruleVerdict = "small orifice small by the rule"

// smallByRule tells that a valve falls short of nothing but the rule of practice for the small orifice: the large orifices pass
// what they must, and by solubility no air comes out there.
func smallByRule(p *sizing.PlaceResult) bool {
	r := &p.Release
	if p.Verdict != sizing.TooSmall || !r.Wanted || !r.Known || r.Enough || r.Mass > 0 {
		return false
	}
	for _, w := range [2]*sizing.Way{&p.In, &p.Out} {
		if w.Governs >= 0 && !(w.Given.Known && w.Given.Enough) {
			return false
		}
	}
	return true
}

// timesOver is how many times over a ratio falls short, in words: 0.41 → "2.4 times".
func timesOver(ratio float64) string {
	if ratio <= 0 {
		return "many times"
	}
	return significant(1/ratio, 2) + " times"
}

// unfit says beside a type that it would not stay tight at a place in the worst standing case, or only if it was shut before.
func (a *answers) unfit(p *sizing.PlaceResult, record int) string {
	for _, t := range a.Tubes {
		v := &a.Sealing.Valves[t.Valve]
		if v.Run != p.Run || v.Placed != p.Placed || record >= len(t.Fits) || slices.Min(t.Heads) <= 0 {
			continue // another place, or no water stands there
		}
		switch fitOf(t.Fits[record]) {
		case fitNo:
			return " (not tight here standing)"
		case fitOnlyIfShut:
			return " (tight here standing only if shut before)"
		}
	}
	return ""
}

// withSides adds air in and air out to a valve.
func (a *answers) withSides(v airValve, p *sizing.PlaceResult) airValve {
	v.in, v.out = a.airSide(p, &p.In, false), a.airSide(p, &p.Out, true)
	v.in.across, v.out.across = "vacuum in the pipe", "pressure in the pipe"
	return v
}

// airSide is one way of a place: of each kind of duty the one that asks for most.
func (a *answers) airSide(p *sizing.PlaceResult, w *sizing.Way, out bool) airSide {
	s := airSide{limit: w.Allowed.Differential / 1e3}
	for _, l := range w.Allowed.Limits {
		if l.Binds {
			s.why = sentence(l.Text)
		}
	}
	rho := a.Sizing.Density
	if rho <= 0 {
		return s
	}
	for _, q := range w.Curve {
		if w.HasGiven {
			s.given = append(s.given, pt{q.Differential / 1e3, q.Given / rho})
		}
		if w.Governs >= 0 {
			s.needed = append(s.needed, pt{q.Differential / 1e3, q.Needed / rho})
		}
	}
	at := map[sizing.DutyKind]int{}
	for i := range p.Duties {
		d := &p.Duties[i]
		if (d.Kind == sizing.Fill) != out || d.Need.Free <= 0 {
			continue
		}
		n := airNeed{duty: d.Kind.String(), flow: d.Need.Free, differential: d.Differential / 1e3, unknown: !w.HasGiven}
		if !d.Required {
			n.duty += " (only shown)"
		}
		if w.HasGiven {
			n.met = mostWithin(s.given, n.differential) >= n.flow*(1-1e-9)
		}
		if i == w.Governs && w.Given.Known {
			n.met = w.Given.Enough
		}
		k, ok := at[d.Kind]
		if !ok {
			at[d.Kind] = len(s.needs)
			s.needs = append(s.needs, n)
		} else if n.flow > s.needs[k].flow {
			s.needs[k] = n
		}
	}
	return s
}

// mostWithin is the most that a curve gives up to a differential.
func mostWithin(p []pt, x float64) float64 {
	if len(p) == 0 {
		return 0
	}
	most := curveAt(p, x).y
	for _, q := range p {
		if q.x <= x {
			most = max(most, q.y)
		}
	}
	return most
}

// released is the table of small orifices.
func (a *answers) released() *table {
	t := &table{Caption: "Released air and the small orifice", Heads: heads(">No.", ">chainage", ">released by solubility|% of the water", ">by the rule|%", ">at|bar", ">orifice by|solubility, mm", ">by the rule|mm", ">given over|needed", "verdict")}
	for i := range a.Sizing.Places {
		p := &a.Sizing.Places[i]
		r := &p.Release
		if !r.Wanted || p.Placed < 0 {
			continue
		}
		given, word, m := "–", "not known", markUnknown
		switch {
		case r.Working <= 0:
			word, m = "in air: open", markOpen
		case !r.Known:
		case r.Enough:
			given, word, m = fixed(r.Ratio, 2), "large enough", markTight
		case r.Mass == 0:
			given, word, m = fixed(r.Ratio, 2), "small by the rule", markDoubt
		default:
			given, word, m = fixed(r.Ratio, 2), "too small", markFails
		}
		t.row("", cellOf(a.no(p.Name)), cellOf(a.at(p.Run, p.Chainage)), cellOf(some(100*r.Share, 2)), cellOf(fixed(100*r.RuleShare, 1)), cellOf(some(r.Working/1e5, 2)), cellOf(some(r.Diameter*1e3, 1)), cellOf(some(r.RuleDiameter*1e3, 1)), cellOf(given),
			tableCell{Text: word, Icon: icon(m), Mark: m.class()})
	}
	if len(t.Rows) == 0 {
		return nil
	}
	return t
}

// some writes a figure with n decimals, and a dash where there is none.
func some(v float64, n int) string {
	switch {
	case v == 0:
		return "–"
	case math.Abs(v) < 0.5*math.Pow10(-n):
		return "< " + fixed(math.Pow10(-n), n)
	}
	return fixed(v, n)
}

// mostLegRows is about how many rows of legs are drawn.
const mostLegRows = 24

// carried is the chapter of air that the water takes with it or leaves behind.
func (a *answers) carried() *chapter {
	relations := pocket.Relations()
	all := &legs{}
	for _, r := range relations {
		all.relations = append(all.relations, legRelation{r.Name, relationRange(&r)})
	}
	type leg struct {
		rows  []legRow
		worst float64
	}
	var found []leg
	for i := range a.Siting.Legs {
		l := &a.Siting.Legs[i]
		q := leg{worst: math.Inf(1)}
		for k := range l.Cases {
			if row, ok := a.legRow(l, &l.Cases[k]); ok {
				q.rows = append(q.rows, row)
				q.worst = min(q.worst, row.worst())
			}
		}
		if len(q.rows) > 0 {
			found = append(found, q)
			all.rows = append(all.rows, q.rows...)
		}
	}
	if len(found) == 0 {
		return nil
	}
	perLeg := max(len(all.rows)/len(found), 1)
	some, left := worstFirst(found, min(max(mostLegRows/perLeg, 3), most), func(l *leg) float64 { return l.worst })
	drawn := &legs{relations: all.relations}
	for _, l := range some {
		drawn.rows = append(drawn.rows, l.rows...)
	}
	c := &chapter{ID: "carried", Head: "Air carried or left behind", Names: all.key(),
		Note: "Falling legs: the blue line is the water's velocity, each dot the velocity at which one published relation says that a pocket is carried down. Full dot: it is; hollow: it is not; dashed: outside the relation's range. They disagree; no single one is right."}
	note := ""
	if left > 0 {
		note = fmt.Sprintf("The worst %d of %d falling legs are drawn; %s in the table.", len(some), len(found), counted(left, "more is", "more are"))
	}
	if len(drawn.rows) > pageRows() {
		note = strings.TrimSpace(note + " On paper the worst that one page holds are drawn.")
	}
	c.add(tableOf{drawn, all.twin()}, "", note, "Every leg in every case", note != "")
	c.Parts[0].Brief = all.brief()
	return c
}

// relationRange says in which range a relation holds, and how firmly it is known.
func relationRange(r *pocket.Relation) string {
	var s []string
	if r.FromAngle > 0 || r.ToAngle < 90 {
		s = append(s, trimmed(r.FromAngle)+"–"+trimmed(r.ToAngle)+"°")
	}
	if r.Slope != pocket.NoSlope {
		s = append(s, r.Slope.String())
	}
	if r.Weight == pocket.FromMemory {
		s = append(s, r.Weight.String())
	}
	return strings.Join(s, ", ")
}

// legRow is a leg in one case; ok is false where water does not flow down it.
func (a *answers) legRow(l *siting.Leg, k *siting.LegCase) (row legRow, ok bool) {
	if !k.Down {
		return row, false
	}
	w := &l.Worst
	row = legRow{leg: chainageText(l.From) + " to " + chainageText(l.To), in: a.caseNamed(k.Case), velocity: k.Velocity, verdict: k.Carried.String()}
	if len(a.Line.Runs) > 1 {
		row.leg += ", " + a.Line.Runs[l.Run].Name
	}
	steep := "level"
	if w.Slope > 0 {
		steep = "1:" + trimmed(1/w.Slope)
	}
	row.shape = steep + ", bore " + trimmed(w.Bore) + " m"
	for _, by := range w.Critical.By {
		row.criticals = append(row.criticals, legCritical{by.Velocity, by.InRange})
	}
	row.mark = [...]mark{markUnknown, markKnow, markDoubt, markTight}[min(int(k.Carried), 3)]
	switch {
	case k.Slack > 0:
		row.lost = lengthText(k.Slack) + " run part full already"
	case k.Longest.Stands && k.Longest.Extra > 0:
		row.lost = "a pocket costs up to " + headText(k.Longest.Extra) + " m"
	}
	return row, true
}
