package deliver

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"

	"obvert/engine/sizing"
	"obvert/physics/air"
	"obvert/physics/valve"
	"obvert/study"
)

// Of the test that a maker's certificate rests on; common practice, no source, but for the size of a drop.
const (
	testWatch   = 300.0  // s for which nothing may fall at each step
	testStep    = 0.02   // m of water by which the head rises near the sealing head
	testSlow    = 0.05   // m of water a minute, the fastest the head may rise between steps
	testRepeats = 3      // openings and shuttings, each from a valve that stood open
	testCold    = 278.15 // K
	testWarm    = 298.15 // K
)

// SpecificationHTML writes the specification page: what is needed of the valves of a line, in words that can be pasted into an enquiry.
func SpecificationHTML(w io.Writer, r *study.Result, o Options) error {
	if err := complete(r); err != nil {
		return err
	}
	return specification(r, o).html(w)
}

// SpecificationPDF writes the same as PDF.
func SpecificationPDF(w io.Writer, r *study.Result, o Options) error {
	if err := complete(r); err != nil {
		return err
	}
	return specification(r, o).pdf(w)
}

// SpecificationText writes the same as plain text.
func SpecificationText(w io.Writer, r *study.Result, o Options) error {
	if err := complete(r); err != nil {
		return err
	}
	_, err := io.WriteString(w, specification(r, o).plain(NewStamp(r, o)))
	return err
}

// newPaper is a paper with the stamp on it.
func newPaper(r *study.Result, o Options, title, sub string) *paper {
	s := NewStamp(r, o)
	return &paper{Title: s.Line + ": " + title, Subtitle: sub, Version: s.Program, Block: s.Items(), Law: true, Author: s.ReckonedBy(), Date: s.Date,
		Foot: s.Line + ", version " + orNotGiven(s.Version) + ", hash " + orNotGiven(s.ShortHash())}
}

// assumptions close a paper.
func (p *paper) assumptions(s Stamp) {
	l := listLeaf{}
	for _, a := range s.Assumptions() {
		l.Items = append(l.Items, listItem{Text: assumedText(a)})
	}
	p.head(1, "Assumed", "What the line's document did not give.")
	p.add(l)
}

func specification(r *study.Result, o Options) *paper {
	p := newPaper(r, o, "specification of air valves", "What is needed, by duty; no maker is meant")
	groups := groupNeeds(needs(r))
	p.head(1, "What is wanted", "One row for each duty; valves with like needs stand together, and the strictest of them is asked for.")
	if len(groups) == 0 {
		p.text("No valve stands on this line.", "There is nothing to specify. What siting asks for is in the report.")
	}
	t := &table{Caption: "Valves wanted", Quiet: true, Heads: heads("duty", ">number|of valves", "valves", ">nominal|DN", ">pressure|class, bar", ">sealing head|at most, m", ">air in|kg/s", ">air out|kg/s", "anti-slam|stage")}
	for i, g := range groups {
		a := groupFigures(g)
		t.row("", cellOf(fmt.Sprint("Duty ", i+1)), cellOf(fmt.Sprint(len(g))), wide(memberNames(g)), cellOf(a.nominal), cellOf(a.rating), cellOf(a.limit), cellOf(a.in), cellOf(a.out), cellOf(a.stage))
	}
	p.table(t)
	for i, g := range groups {
		p.duty(r, i+1, g)
	}
	if len(groups) > 0 {
		p.testing(r)
		p.documents()
	}
	p.assumptions(NewStamp(r, o))
	return p
}

// memberNames are the numbers of a group's valves.
func memberNames(g []need) string {
	var s []string
	for i := range g {
		s = append(s, g[i].row.Number)
	}
	return strings.Join(s, ", ")
}

// groupLine is a group in the table.
type groupLine struct{ nominal, rating, limit, in, out, stage string }

func groupFigures(g []need) groupLine {
	a := groupLine{nominal: "open", rating: trimmed(g[0].rating / 1e5), limit: "none stated", in: "–", out: "–", stage: "not asked for"}
	if g[0].nominal > 0 {
		a.nominal = fixed(g[0].nominal*1e3, 0)
	}
	if g[0].rating <= 0 {
		a.rating = "–"
	}
	if n := strictest(g, func(n *need) float64 { return n.limit }); n.wet {
		a.limit = limitText(n.limit)
	}
	if d := mostAir(g, false); d != nil {
		a.in = significant(d.Need.Mass, 3)
	}
	if d := mostAir(g, true); d != nil {
		a.out = significant(d.Need.Mass, 3)
	}
	if g[0].stage {
		a.stage = "wanted"
	}
	return a
}

// leastLimit is the smallest sealing head that can be stated, m: a centimetre, to which limits are rounded down.
const leastLimit = 0.01

// limitText is a limit in metres, rounded down to the centimetre so that it stays on the safe side.
func limitText(v float64) string {
	if v < leastLimit {
		return "cannot be met"
	}
	return roundedDown(v)
}

// roundedDown is a head in metres to two decimals, never more than it is.
func roundedDown(v float64) string {
	s := fixed(v, 2)
	if x := roundTo2(v); x > v {
		s = fixed(x-0.01, 2)
	}
	return s
}

func roundTo2(v float64) float64 { return float64(int64(v*100+0.5)) / 100 }

// mostAir is the duty of a group that asks for the most air one way.
func mostAir(g []need, out bool) *sizing.Duty {
	var most *sizing.Duty
	for i := range g {
		d := g[i].airIn
		if out {
			d = g[i].airOut
		}
		if d != nil && (most == nil || d.Need.Mass > most.Need.Mass) {
			most = d
		}
	}
	return most
}

// airNeeds are the duties of a group that together cover all of them one way: a flow at a differential covers each that is no larger at one no lower. The largest
// flow first.
func airNeeds(g []need, out bool) (all []*sizing.Duty) {
	for i := range g {
		d := g[i].airIn
		if out {
			d = g[i].airOut
		}
		if d == nil || slices.ContainsFunc(all, func(e *sizing.Duty) bool { return covers(e, d) }) {
			continue
		}
		all = append(slices.DeleteFunc(all, func(e *sizing.Duty) bool { return covers(d, e) }), d)
	}
	slices.SortStableFunc(all, func(a, b *sizing.Duty) int { return cmp.Compare(b.Need.Mass, a.Need.Mass) })
	return all
}

// covers tells whether a valve that does a also does b.
func covers(a, b *sizing.Duty) bool {
	return a.Need.Mass >= b.Need.Mass && a.Differential <= b.Differential
}

// duty writes the needs of one group as sentences with figures.
func (p *paper) duty(r *study.Result, no int, g []need) {
	p.head(1, fmt.Sprintf("Duty %d: %s", no, counted(len(g), "valve", "valves")), memberNames(g))
	var items []listItem
	say := func(lead, text string) { items = append(items, listItem{lead, text}) }
	if g[0].nominal > 0 {
		say("Nominal size.", fmt.Sprintf("DN %s. Connection: %s.", fixed(g[0].nominal*1e3, 0), dashedOr(g[0].row.Connection, "to be agreed")))
	} else {
		say("Nominal size.", "Not fixed by the study: no type is chosen at these places. The air capacities below decide. Connection: to be agreed.")
	}
	p.sealingLimit(r, g, say)
	airCapacity(r, g, say)
	if g[0].stage {
		n := strictest(g, func(n *need) float64 {
			if n.stageFlow <= 0 {
				return 1e9
			}
			return n.stageFlow
		})
		text := "Wanted. " + g[0].stageWhy
		if n.stageFlow > 0 {
			text += fmt.Sprintf(" The stage shall let water come at no more than %s (%s m/s in the smallest bore beside the valve).", flowText(n.stageFlow), fixed(n.stageFast, 2))
		}
		say("Anti-slam stage.", text+" State the differential at which it switches and the throttled curve.")
	} else {
		say("Anti-slam stage.", "Not asked for by the steady filling and the starts that were reckoned"+map[bool]string{true: "", false: "; none was reckoned"}[reckonedStarts(r)]+".")
	}
	n := strictest(g, func(n *need) float64 { return -n.largest })
	text := fmt.Sprintf("Largest head at the seat in the operating cases: %s m (%s bar).", headText(n.largest), significant(n.largest*r.Line.Site.Density*r.Line.Site.Gravity/1e5, 3))
	if g[0].rating > 0 {
		text += " Rated pressure at least " + trimmed(g[0].rating/1e5) + " bar gauge."
	}
	if v := g[0].row.Rating; v != nil {
		text += " The valve placed in the study is rated " + trimmed(*v/1e5) + " bar."
	}
	if pipe := strictest(g, func(n *need) float64 { return -n.pipe }).pipe; pipe > 0 {
		text += " The pipe there is rated " + trimmed(pipe/1e5) + " bar: where it is tested by pressure with the valves on it, they must stand that test or be shut off."
	}
	say("Rating.", text+" The head of pumps that run against a shut valve, tanks fuller than in the cases and pressure surges of fast events are not in these heads: where they are more, the class follows from them.")
	p.add(listLeaf{Items: items})
}

// dashedOr is a text, or another where it is empty.
func dashedOr(s, otherwise string) string {
	if s == "" {
		return otherwise
	}
	return s
}

func reckonedStarts(r *study.Result) bool {
	for i := range r.Passed {
		if r.Passed[i].Refilling != nil {
			return true
		}
	}
	return false
}

// sealingLimit says up to which head the valves must shut.
func (p *paper) sealingLimit(r *study.Result, g []need, say func(lead, text string)) {
	n := strictest(g, func(n *need) float64 { return n.limit })
	switch {
	case !n.wet:
		say("Sealing head.", "No limit follows from the study: in no operating case does water stand at these seats. State the sealing head and the letting-go head all the same.")
	case n.limit < leastLimit:
		say("Sealing head.", fmt.Sprintf("The head at the seat that decides is %s m, at valve %s in “%s”, with an expanded uncertainty of %s m (k = 2): nothing is left for a valve to shut by. No valve can be asked to be surely tight here; raise the head or move the valve.",
			headText(n.head), n.row.Number, n.in, significant(coverage*n.u, 2)))
	default:
		text := fmt.Sprintf("Largest sealing head %s m of water at the seat, head rising; the certified value plus its expanded uncertainty (k = 2) shall not exceed it. The letting-go head, head falling, shall be no higher. It follows from the head at the seat that leaves least of all operating cases, %s m at valve %s in “%s”, less its expanded uncertainty of %s m (k = 2",
			roundedDown(n.limit), headText(n.head), n.row.Number, n.in, significant(coverage*n.u, 2))
		if !n.uKnown {
			text += ", the survey's part only"
		}
		say("Sealing head.", text+").")
	}
	var open []string
	for i := range g {
		if len(g[i].open) > 0 {
			open = append(open, fmt.Sprintf("valve %s in “%s”", g[i].row.Number, strings.Join(g[i].open, "”, “")))
		}
	}
	if len(open) > 0 {
		say("Open while the line flows.", "Air stands at the seat of "+strings.Join(open, "; ")+": there no valve shuts, whatever its sealing head.")
	}
}

// airCapacity says how much air must pass, at which differential, at which reference.
func airCapacity(r *study.Result, g []need, say func(lead, text string)) {
	normal := air.Normal()
	for _, out := range []bool{false, true} {
		lead, way := "Air in.", "in the pipe below the atmosphere"
		if out {
			lead, way = "Air out.", "in the pipe above the atmosphere"
		}
		all := airNeeds(g, out)
		if len(all) == 0 {
			say(lead, "No capacity is required by the study.")
			continue
		}
		d := all[0]
		if all[len(all)-1].Differential <= 0 {
			say(lead, "No differential can be allowed at one of these places, so that no valve is large enough there: see the report.")
			continue
		}
		text := fmt.Sprintf("At least %s kg/s of air at a differential of %s kPa %s: %s m³/s as %s, or %s m³/h %s.", significant(d.Need.Mass, 3), fixed(d.Differential/1e3, 1), way,
			significant(d.Need.Free, 3), strings.TrimSuffix(airReference(r), ","), significant(normal.Volume(d.Need.Mass)*3600, 3), normal.String())
		text += " The duty that governs: " + d.Kind.String() + "."
		for _, e := range all[1:] {
			text += fmt.Sprintf(" And besides, since another place allows less: at least %s kg/s at %s kPa (%s).", significant(e.Need.Mass, 3), fixed(e.Differential/1e3, 1), e.Kind.String())
		}
		if out {
			text += fmt.Sprintf(" The float shall not be carried shut by air at any differential up to %s kPa.", fixed(d.Differential/1e3, 1))
		}
		say(lead, text)
	}
	most := 0.0
	for i := range g {
		most = max(most, g[i].orifice)
	}
	if most > 0 {
		say("Small orifice.", fmt.Sprintf("For air that comes out of the water under pressure: as an orifice of %s mm or more at a discharge coefficient that is to be stated.", fixed(most*1e3, 1)))
	}
}

// testing says how the certificate's figures are to be measured.
func (p *paper) testing(r *study.Result) {
	p.head(1, "Test conditions", "How the figures above are to be measured.")
	p.add(listLeaf{Numbered: true, Items: []listItem{
		{"Water.", fmt.Sprintf("Clean water of %s to %s °C; its temperature is recorded. The valve stands upright on its own connection, as installed.", fixed(testCold-273.15, 0), fixed(testWarm-273.15, 0))},
		{"Where the head is measured.", "Gauge, at the level of the seat; the heights of gauge and seat above one mark are stated. A head at the flange is not a head at the seat."},
		{"Rising.", fmt.Sprintf("From a valve that stands open and full of air the head is raised slowly, and near the sealing head in steps of %s m or less, at no more than %s m a minute between them. The sealing head is the lowest head from which on the valve is drip-tight.", trimmed(testStep), trimmed(testSlow))},
		{"Drip-tight.", fmt.Sprintf("No drop leaves the valve within %s minutes at a steady head. One drop of %s mm³ in that time would be %s mL/h.", trimmed(testWatch/60), trimmed(valve.Drop*1e9), significant(valve.Drop/testWatch*3600*1e6, 2))},
		{"Below it.", "The leak is collected over a stated time of a minute or more at three heads or more below the sealing head, and given as mL/min against head."},
		{"Falling.", "From there the head is lowered as slowly. The letting-go head is the lowest head at which the valve is still drip-tight."},
		{"Repeated.", fmt.Sprintf("At least %s times, the valve opened to air between; mean, scatter and number of repeats are stated, and the expanded uncertainty of the mean with its coverage factor (JCGM 100:2008).", words3(testRepeats))},
		{"Air.", "Flow against differential, in and out, at five differentials or more up to those asked for, with pressure and temperature of the air outside; mass flow, or volume with its reference named."},
		{"Tightness.", "Besides, the tightness of the shut valve at its test pressures, as EN 1074-4 asks for; where leakage classes are wanted they are those of ISO 5208. Those tests are made at pressure and say nothing of the sealing head. The standards' own text decides."},
	}})
	p.add(cautionLeaf{"Air is never used to test strength or tightness under pressure: compressed air stores energy. Vent slowly, stand clear of the outlet."})
}

// words3 is a small number as a word.
func words3(n int) string { return strings.TrimSuffix(counted(n, "", ""), " ") }

// documents lists what comes with the valve.
func (p *paper) documents() {
	p.head(1, "Documents to be supplied", "With each type, before delivery.")
	p.add(listLeaf{Items: []listItem{
		{"Certificate", "with sealing head and letting-go head at the seat, mean, scatter, repeats, expanded uncertainty with its coverage factor, date, water temperature, bench and who measured."},
		{"Leak curve", "below the sealing head."},
		{"Curves of air", "in and out, the differential at which the float is carried shut by air, and of an anti-slam stage its switching differential and throttled curve."},
		{"Rated pressure, connection, height of the seat above the connection,", "mass, drawing, materials."},
		{"For drinking water,", "the approval of the materials that the place of use requires."},
	}})
}
