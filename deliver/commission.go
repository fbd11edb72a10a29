package deliver

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"obvert/engine/draining"
	"obvert/engine/grade"
	"obvert/engine/refilling"
	"obvert/engine/sealing"
	"obvert/engine/sizing"
	"obvert/line"
	"obvert/physics/pipe"
	"obvert/study"
)

// CommissioningHTML writes the commissioning sheet of a line: how it is filled, started, watched and drained, with blanks for the readings.
func CommissioningHTML(w io.Writer, r *study.Result, o Options) error {
	if err := complete(r); err != nil {
		return err
	}
	return commissioning(r, o).html(w)
}

// CommissioningPDF writes the same as PDF.
func CommissioningPDF(w io.Writer, r *study.Result, o Options) error {
	if err := complete(r); err != nil {
		return err
	}
	return commissioning(r, o).pdf(w)
}

// sheetOf is a result as the commissioning sheet needs it.
type sheetOf struct {
	*study.Result
	names map[string]string
	fill  *study.Passed // the first filling that was reckoned; nil where none was
}

// commissioning is the sheet. Figures come from the result; where the study has no answer the sheet says so.
func commissioning(r *study.Result, o Options) *paper {
	names, _ := valveNumbers(r)
	s := &sheetOf{Result: r, names: names}
	for i := range r.Passed {
		p := &r.Passed[i]
		if p.Refilling != nil && r.Line.Events[p.Event].Kind == line.FirstFilling && s.fill == nil {
			s.fill = p
		}
	}
	p := newPaper(r, o, "commissioning sheet", "Filling, first look at every air valve, starting and draining")
	p.Landscape, p.A3 = true, o.A3
	s.before(p)
	s.filling(p)
	s.stretches(p)
	s.order(p)
	s.lookAt(p)
	s.dripping(p)
	s.restarts(p)
	s.drainings(p)
	p.head(1, "Signed", "")
	p.add(fieldsLeaf{Labels: []string{"Filled by", "Date", "Weather, air temperature, °C", "Water temperature, °C", "Readings taken by", "Handed over to"}, Columns: 3})
	p.assumptions(NewStamp(r, o))
	return p
}

// before is what must be so before water is let in.
func (s *sheetOf) before(p *paper) {
	p.head(1, "Before water is let in", "Tick each.")
	shut, feed := "Shut and lock the valves", "What lets water in is shut and locked until the last of this list is ticked."
	if s.pumped() {
		shut, feed = "Stop and lock the pumps and shut and lock the valves", "Pumps are locked against starting until the last of this list is ticked."
	}
	p.add(cautionLeaf{"Pits are confined spaces: test the air, ventilate, never enter alone. " + shut + " before anyone works at an opening."},
		tickLeaf{Text: "Pits are open, aired and dry; their drains run."},
		tickLeaf{Text: feed},
		tickLeaf{Text: "Air valves: the isolating valve below each is open" + s.isolatedText() + "."},
		tickLeaf{Text: "Air valves: outlets are free, screens clean, nobody stands over them."})
	for _, t := range append(s.equipmentText(), s.endText()...) {
		p.add(tickLeaf{Text: t})
	}
	p.add(tickLeaf{Text: "Gauges read zero at open air; the height of each above the valve's seat is written down."})
	p.add(cautionLeaf{"Drinking water: a flooded pit over an open valve is a way in for dirt. Flush and disinfect by the rules of the place before the line serves."})
}

// isolatedText names the valves whose isolating valve the study takes as shut.
func (s *sheetOf) isolatedText() string {
	var out []string
	for r := range s.Line.Runs {
		for i := range s.Line.Runs[r].Placed {
			if v := &s.Line.Runs[r].Placed[i]; v.Isolated {
				out = append(out, s.names[v.Name])
			}
		}
	}
	if len(out) == 0 {
		return ""
	}
	return ", but for " + strings.Join(out, ", ") + ", which the line's document gives as shut: open them, or accept that they pass no air"
}

// fillCase is the case that fills the line: that of the first filling, else the first filling case; −1 where there is none.
func (s *sheetOf) fillCase() int {
	if s.fill != nil {
		return s.Line.Events[s.fill.Event].Start
	}
	return slices.IndexFunc(s.Line.Cases, func(c line.Case) bool { return c.Kind == line.Filling })
}

// equipmentText says how scours and isolating valves stand while the line fills.
func (s *sheetOf) equipmentText() (out []string) {
	c := s.fillCase()
	var scours, open, shut []string
	for r := range s.Line.Runs {
		run := &s.Line.Runs[r]
		for i := range run.Equipment {
			e := &run.Equipment[i]
			name := e.Name + " at " + s.where(r, e.Chainage)
			switch {
			case e.Kind == line.Scour:
				scours = append(scours, name)
			case e.Kind == line.IsolatingValve && (c >= 0 && r < len(s.Line.Cases[c].Closed) && i < len(s.Line.Cases[c].Closed[r]) && s.Line.Cases[c].Closed[r][i] || c < 0 && e.Closed):
				shut = append(shut, name)
			case e.Kind == line.IsolatingValve:
				open = append(open, name)
			}
		}
	}
	say := func(what string, names []string) {
		if len(names) > 0 {
			out = append(out, what+": "+strings.Join(names, "; ")+".")
		}
	}
	say("Scours shut, but within reach to be opened", scours)
	say("Isolating valves that stay shut while the line fills", shut)
	say("Isolating valves that are opened in their turn, from the filling end on, a little first", open)
	return out
}

// pumped tells whether the line has pumps.
func (s *sheetOf) pumped() bool {
	return slices.ContainsFunc(s.Line.Nodes, func(n line.Node) bool { return n.Kind == line.Station })
}

// endText says how the ends of the line stand while it fills: air ahead of the water needs a way out there too, and what an off-take draws does not fill.
func (s *sheetOf) endText() (out []string) {
	c := s.fillCase()
	g := (*grade.Result)(nil)
	if c >= 0 {
		g = gradeOf(s.Result, c)
	}
	var ends, shut []string
	for n := range s.Line.Nodes {
		node := &s.Line.Nodes[n]
		switch {
		case node.Kind == line.Offtake && c >= 0 && n < len(s.Line.Cases[c].Demand) && s.Line.Cases[c].Demand[n] == 0:
			shut = append(shut, node.Name)
		case (node.Kind == line.Tank || node.Kind == line.Outfall) && g != nil && n < len(g.Nodes) && g.Nodes[n].Supply < -idle:
			ends = append(ends, node.Name)
		}
	}
	if len(ends) > 0 {
		out = append(out, "The way out at the far end is open and stays open while the line fills: "+strings.Join(ends, "; ")+".")
	} else {
		out = append(out, "Where the line ends dead, a hydrant or a scour at its end is open until water comes without air.")
	}
	if len(shut) > 0 {
		out = append(out, "Off-takes shut while the line fills: "+strings.Join(shut, "; ")+".")
	}
	return out
}

// where is a place: chainage, and the run where there are several.
func (s *sheetOf) where(run int, chainage float64) string {
	if len(s.Line.Runs) > 1 {
		return chainageText(chainage) + " on " + s.Line.Runs[run].Name
	}
	return chainageText(chainage)
}

// fillFlow is the flow that fills the line: of the event, else the largest that sizing filled with; 0 where neither is known.
func (s *sheetOf) fillFlow() float64 {
	if s.fill != nil {
		if f := s.Line.Events[s.fill.Event].Flow; f > 0 {
			return f
		}
		if m := s.fill.Refilling.Series; len(m) > 0 {
			most := 0.0
			for _, q := range m {
				most = max(most, q.Flow)
			}
			if most > 0 {
				return most
			}
		}
	}
	most := 0.0
	for i := range s.Sizing.Places {
		if d := fillDuty(&s.Sizing.Places[i]); d != nil {
			most = max(most, d.Water)
		}
	}
	return most
}

// fillDuty is the filling duty of a place; nil where it has none.
func fillDuty(p *sizing.PlaceResult) *sizing.Duty {
	for i := range p.Duties {
		if p.Duties[i].Kind == sizing.Fill && p.Duties[i].Water > 0 {
			return &p.Duties[i]
		}
	}
	return nil
}

// filling says at which flow the line is filled and what limits it.
func (s *sheetOf) filling(p *paper) {
	p.head(1, "Filling rate", "Slowly: what limits it is the slam as the last air leaves, and the pressure of air in the line.")
	flow := s.fillFlow()
	if flow <= 0 {
		p.text("No filling flow.", "The study has no case that fills the line, so no filling rate follows from it. Add a [[case]] with kind = \"filling\" to the line's document.")
		return
	}
	var items []listItem
	items = append(items, listItem{"Filling flow that was reckoned:", flowText(flow) + "."})
	items = append(items, s.firstFillText()...)
	if n := s.slamNeed(); n != nil {
		items = append(items, s.slamText(n, flow))
	} else if len(s.Sizing.Places) > 0 {
		items = append(items, listItem{"Bound by slam:", "not known; the walls of the pipe are not given."})
	}
	items = append(items, listItem{"Rule of practice:", fmt.Sprintf("%s m/s in the pipe (%s).", trimmed(s.Line.Practice.FillingVelocity.Value), s.Line.Practice.FillingVelocity.Source)})
	p.add(listLeaf{Items: items})
	p.add(cautionLeaf{"Compressed air in the line stores energy. Stand clear of outlets; where a valve stops venting before water came, stop filling and let the pressure down before anyone looks."})
}

// firstFillText says what came of the first filling.
func (s *sheetOf) firstFillText() (items []listItem) {
	if s.fill == nil {
		return []listItem{{"First filling:", "not reckoned as an event; time and slam below follow from volume and flow alone. Add a [[case]] with kind = \"first filling\" to have it reckoned."}}
	}
	f := s.fill.Refilling
	name := "“" + s.Line.Events[s.fill.Event].Name + "”:"
	text := "ends " + f.Status
	if f.TimeToFull > 0 {
		text += " after " + durationText(f.TimeToFull)
	}
	if f.Slam > 0 {
		text += fmt.Sprintf("; largest slam %s m, at %s, %s m allowed", headText(f.Slam), s.numbered(f.SlamAt), headText(s.Line.Practice.Slam.Value))
	} else {
		text += "; no slam was found"
	}
	if f.Trapped > 0.001 {
		text += fmt.Sprintf("; %s kg of air stay in pockets without a way out", significant(f.Trapped, 2))
	}
	items = append(items, listItem{name, text + "."})
	return append(items, s.largestText(s.fill, "filling"))
}

// largestText says which start keeps every limit.
func (s *sheetOf) largestText(p *study.Passed, what string) listItem {
	st := p.Start
	lead := "Largest " + what + " that keeps the limits:"
	switch {
	case st == nil:
		return listItem{lead, "as reckoned it keeps slam, rating and early closing within their limits; a larger one was not sought."}
	case st.Flow <= 0:
		return listItem{lead, fmt.Sprintf("none was found: even the smallest flow tried breaks one (%s, at %s). What would cure it is among the findings of the report.", st.Binds, s.numbered(st.Where))}
	case st.Binds == refilling.NoLimit:
		return listItem{lead, flowText(st.Flow) + ", the largest that was tried; nothing binds up to it."}
	}
	text := fmt.Sprintf("%s; %s binds, at %s", flowText(st.Flow), st.Binds, s.numbered(st.Where))
	if st.Throttle > 0 {
		text += ". Keep it throttled for " + durationText(st.Throttle) + ", until the last valve has shut"
	}
	if st.Gaps {
		text += ". A larger flow kept the limits too; do not rely on it"
	}
	return listItem{lead, text + "."}
}

// numbered is a place by its number in the drawings, where it is a valve.
func (s *sheetOf) numbered(name string) string {
	if n, ok := s.names[name]; ok {
		return "valve " + n
	}
	return dashedOr(name, "a place that is not told")
}

// past is the flow in m³/s that runs past a place while the line fills as the sheet has it; reached is false where that filling sends no water, and the
// flow is the one that sizing took.
func (s *sheetOf) past(p *sizing.PlaceResult) (flow float64, reached bool) {
	if q := s.fillShare(p.Run); q > 0 {
		return q, true
	}
	if d := fillDuty(p); d != nil {
		return d.Water, false
	}
	return 0, false
}

// slamNeed is the place with the least room between its filling flow and the one at which slam takes all that is allowed, among those that the filling reaches
// where there are any; nil where none is known.
func (s *sheetOf) slamNeed() (least *sizing.PlaceResult) {
	room, any := math.Inf(1), false
	for i := range s.Sizing.Places {
		p := &s.Sizing.Places[i]
		flow, reached := s.past(p)
		if p.Placed < 0 || flow <= 0 || !p.Slam.Known || p.Slam.AllowedFlow <= 0 || any && !reached {
			continue
		}
		if q := p.Slam.AllowedFlow / flow; q < room || reached && !any {
			room, least, any = q, p, reached
		}
	}
	return least
}

// slamText says at which flow slam binds at a place, and what that is for the whole line whose flow (m³/s) parts as it does in the study.
func (s *sheetOf) slamText(p *sizing.PlaceResult, whole float64) listItem {
	flow, reached := s.past(p)
	text := fmt.Sprintf("tightest at valve %s: %s run past it, %s keep the slam of the last air within the %s m allowed", s.names[p.Name], flowText(flow), flowText(p.Slam.AllowedFlow), headText(s.Line.Practice.Slam.Value))
	all := whole * p.Slam.AllowedFlow / flow
	switch {
	case !reached || len(s.Line.Runs) == 1 && p.Slam.AllowedFlow >= flow:
	case p.Slam.AllowedFlow < flow:
		text += fmt.Sprintf(". Fill the whole line at no more than %s where the flow parts as reckoned, or let a valve stand there that throttles before it shuts", flowText(all))
	default:
		text += fmt.Sprintf("; for the whole line that is %s where the flow parts as reckoned", flowText(all))
	}
	return listItem{"Bound by slam, by wave speed and velocity alone:", text + "."}
}

// stretches are the lengths between valves with what they hold.
func (s *sheetOf) stretches(p *paper) {
	flow := s.fillFlow()
	var apart []string // runs that this filling does not reach
	t := &table{Caption: "Volume and time by stretch", Heads: heads("run", "from", "to", ">length|m", ">volume|m³", ">at|L/s", ">time to fill", ">velocity at|its end, m/s")}
	for r := range s.Line.Runs {
		run := &s.Line.Runs[r]
		if len(run.Points) == 0 {
			continue
		}
		ends := []stretchEnd{{run.Points[0].Chainage, s.nodeName(run.From)}}
		for i := range run.Placed {
			ends = append(ends, stretchEnd{run.Placed[i].Chainage, "valve " + s.names[run.Placed[i].Name]})
		}
		ends = append(ends, stretchEnd{run.Points[len(run.Points)-1].Chainage, s.nodeName(run.To)})
		q := s.runFlow(r, flow)
		if len(s.Line.Runs) > 1 && q > 0 && s.dry(r) {
			apart = append(apart, run.Name)
		}
		for i := 1; i < len(ends); i++ {
			a, b := ends[i-1], ends[i]
			if b.at <= a.at {
				continue
			}
			length, volume := s.volume(r, a.at, b.at)
			rate, time, fast := "–", "–", "–"
			if q > 0 {
				rate, time = significant(q*1e3, 3), durationText(volume/q)
				if bore := s.Line.BoreAt(r, b.at); bore > 0 {
					fast = fixed(pipe.Velocity(q, bore), 2)
				}
			}
			t.row("", wide(run.Name), cellOf(a.text+", "+chainageText(a.at)), cellOf(b.text+", "+chainageText(b.at)), cellOf(grouped(length)), cellOf(significant(volume, 3)), cellOf(rate), cellOf(time), cellOf(fast))
		}
	}
	if len(t.Rows) == 0 {
		return
	}
	note := ""
	if len(apart) > 0 {
		note = " Not reached by this filling, and at the flow that sizing took: " + strings.Join(apart, ", ") + "."
	}
	p.head(2, "Stretch by stretch", "Volume of the bore over the length of pipe, divided by the flow in that run; where runs fill at the same time each has its own flow. Steep legs behind a crest fill from below and take their time all the same."+note)
	p.table(t)
}

type stretchEnd struct {
	at   float64 // chainage, m
	text string
}

func (s *sheetOf) nodeName(n int) string {
	if n >= 0 && n < len(s.Line.Nodes) {
		return s.Line.Nodes[n].Name
	}
	return "end"
}

// idle is the flow up to which a run counts as not filled, m³/s: a millilitre a second.
const idle = 1e-6

// fillShare is the part of the filling flow in m³/s that a run takes: as the flow of the filling case parts, brought to the flow with which the sheet fills; 0
// where that case sends no water through it, or there is none.
func (s *sheetOf) fillShare(run int) float64 {
	c := s.fillCase()
	if c < 0 {
		return 0
	}
	g := gradeOf(s.Result, c)
	if g == nil || run >= len(g.Runs) {
		return 0
	}
	supply := 0.0
	for n := range s.Line.Nodes {
		if k := s.Line.Nodes[n].Kind; k == line.Station || k == line.Tank {
			supply += max(s.net(g.Runs, n), 0)
		}
	}
	flow := math.Abs(g.Runs[run].Flow)
	if flow <= idle || supply <= idle {
		return 0
	}
	return flow * s.fillFlow() / supply
}

// dry tells whether the filling case sends no water through a run.
func (s *sheetOf) dry(run int) bool {
	c := s.fillCase()
	if c < 0 {
		return false
	}
	g := gradeOf(s.Result, c)
	return g != nil && run < len(g.Runs) && math.Abs(g.Runs[run].Flow) <= idle
}

// runFlow is the filling flow of a run: its part of what fills the line, else that of sizing at its valves, else the whole flow where the line is one run.
func (s *sheetOf) runFlow(run int, whole float64) float64 {
	if q := s.fillShare(run); q > 0 {
		return q
	}
	most := 0.0
	for i := range s.Sizing.Places {
		if p := &s.Sizing.Places[i]; p.Run == run {
			if d := fillDuty(p); d != nil {
				most = max(most, d.Water)
			}
		}
	}
	if most == 0 && len(s.Line.Runs) == 1 {
		most = whole
	}
	return most
}

// volume is the length of pipe and the volume of its bore between two chainages of a run, over its sections.
func (s *sheetOf) volume(run int, from, to float64) (length, volume float64) {
	cuts := []float64{from, to}
	for _, sec := range s.Line.Runs[run].Sections {
		for _, x := range []float64{sec.From, sec.To} {
			if x > from && x < to && !slices.Contains(cuts, x) {
				cuts = append(cuts, x)
			}
		}
	}
	slices.Sort(cuts)
	for i := 1; i < len(cuts); i++ {
		a, _ := s.Line.DistanceAt(run, cuts[i-1])
		b, _ := s.Line.DistanceAt(run, cuts[i])
		length += b - a
		volume += (b - a) * pipe.Area(s.Line.BoreAt(run, (cuts[i-1]+cuts[i])/2))
	}
	return length, volume
}

// order is what is done in which order.
func (s *sheetOf) order(p *paper) {
	p.head(1, "Order of opening", "")
	var steps []listItem
	step := func(text string) { steps = append(steps, listItem{Text: text}) }
	c := s.fillCase()
	start, then := "Let water in at the filling end", ""
	if c >= 0 {
		from, later := s.feeds(c)
		if from != "" {
			start = "Let water in from " + from
		}
		if later != "" {
			then = "Start " + later + " only when water stands at its suction: a pump must not run dry."
		}
	}
	if flow := s.fillFlow(); flow > 0 {
		start += ", throttled to " + flowText(flow) + " in all"
	}
	step(start + ". Where an isolating valve stands at that end, a small opening first.")
	if then != "" {
		step(then)
	}
	step("Follow the water along the line in the order of the table below. At each valve: air leaves steadily, then spray, then it shuts. Write down time and pressure.")
	step("Go on to the next valve only when the last one has shut or, where the table says so, stands open.")
	step("A valve that shuts while the air before the water still presses: stop filling, let the pressure down slowly, standing aside of the outlet, then fill more slowly.")
	step("When water leaves at the far end without air, keep the flow for as long as the line takes to be renewed once. Then stop the filling first, and shut slowly what is to be shut: never the far end against the flow.")
	step("Let the line stand, and take the readings of the standing line at every valve. Then raise the flow in steps to that of use, and take those of the flowing line.")
	p.add(listLeaf{Items: steps, Numbered: true})
	p.add(cautionLeaf{"A pressure test comes after this and goes by the rules of the place (EN 805 for mains of water): with water, never with air, once all air is out, and with every air valve that is not rated for it shut off."})
}

// feeds names where water comes from in a case, and the stations on the way that need water at their suction before they run.
func (s *sheetOf) feeds(c int) (from, later string) {
	var out, boosters []string
	g := gradeOf(s.Result, c)
	for n := range s.Line.Nodes {
		node := &s.Line.Nodes[n]
		if node.Kind == line.Station && n < len(s.Line.Cases[c].Stations) && slices.Contains(s.Line.Cases[c].Stations[n].Running, true) {
			var pumps []string
			for i, on := range s.Line.Cases[c].Stations[n].Running {
				if on && node.Station != nil && i < len(node.Station.Pumps) {
					pumps = append(pumps, node.Station.Pumps[i].Name)
				}
			}
			name := node.Name + " (" + strings.Join(pumps, ", ") + ")"
			if node.Station != nil && !node.Station.HasSump {
				boosters = append(boosters, name)
			} else {
				out = append(out, name)
			}
		}
		if node.Kind == line.Tank && g != nil && s.leaves(g.Runs, n) {
			out = append(out, node.Name)
		}
	}
	return strings.Join(out, " and "), strings.Join(boosters, " and ")
}

// dripping is what to do where a valve drips.
func (s *sheetOf) dripping(p *paper) {
	p.head(1, "When a valve drips", "")
	p.add(listLeaf{Numbered: true, Items: []listItem{
		{"", "Read the pressure at the valve and write it down with the drips a minute. Compare the head at the seat with the head that it shuts at, in the table above."},
		{"Head below it:", "the valve does what it was measured to do. More head, or another valve, cures it; cleaning does not. See the finding in the report."},
		{"Head above it:", "dirt or damage. Shut the isolating valve below it, let it dry, clean seat and float, open slowly, look again."},
		{"Still dripping with head above it:", "take it out and have it measured on the bench. While its isolating valve is shut no air passes there: note it, and do not drain or fill the line so."},
	}})
	p.add(cautionLeaf{"Shut and lock the isolating valve and let the pressure down before a valve is opened. Keep the pit drained: while a valve is open under vacuum it draws in what stands there."})
}

// restarts are the starts that were reckoned with their limits.
func (s *sheetOf) restarts(p *paper) {
	p.head(1, "Starting again", "Largest start, and what limits it.")
	n := 0
	for i := range s.Passed {
		q := &s.Passed[i]
		if q.Refilling == nil || s.Line.Events[q.Event].Kind != line.Restart {
			continue
		}
		n++
		f := q.Refilling
		text := "ends " + f.Status
		if f.TimeToFull > 0 {
			text += " after " + durationText(f.TimeToFull)
		}
		if f.Slam > 0 {
			text += fmt.Sprintf("; slam %s m at %s, %s m allowed", headText(f.Slam), s.numbered(f.SlamAt), headText(s.Line.Practice.Slam.Value))
		}
		p.add(listLeaf{Lead: s.Line.Events[q.Event].Name, Items: []listItem{{"As the case starts it:", text + "."}, s.largestText(q, "start")}})
	}
	if n == 0 {
		p.text("No restart was reckoned.", "Which start keeps the limits is not known from this study. Start as slowly as the line is filled.")
	}
	if s.pumped() {
		p.add(cautionLeaf{"After a stop pumps may start by themselves: lock them before work at any valve."})
	} else {
		p.add(cautionLeaf{"Valves that are driven or work by a level may open by themselves: lock what lets water in before work at any valve."})
	}
}

// drainings is how the line is emptied.
func (s *sheetOf) drainings(p *paper) {
	p.head(1, "Draining", "")
	stop := "Shut and lock what lets water in; shut the valves to tanks that are to keep their water."
	if s.pumped() {
		stop = "Stop and lock the pumps; shut the valves to tanks that are to keep their water."
	}
	p.add(listLeaf{Numbered: true, Items: []listItem{
		{"", stop},
		{"", "See that the isolating valve below every air valve is open: the air that replaces the water comes through them."},
		{"", "Open the lowest scour a little, wait until the air valves above draw air, then open on. Next scours in the order of their level, lowest last to be shut."},
		{"", "Keep scours open until the line is to be filled. Water may still stand between scours and in sags."},
	}})
	t := &table{Caption: "Drainings that were reckoned", Heads: heads("draining", "scours", ">done after", "ends", ">water|m³", ">drained|m", ">largest vacuum|kPa", "where")}
	for i := range s.Passed {
		q := &s.Passed[i]
		e := &s.Line.Events[q.Event]
		if q.Draining == nil || e.Kind != line.Draining {
			continue
		}
		d := q.Draining
		var scours []string
		for _, a := range e.Scours {
			scours = append(scours, s.scourName(a))
		}
		vacuum, at := "–", ""
		if d.WorstVacuum.Vacuum > 0 {
			vacuum, at = significant(d.WorstVacuum.Vacuum/1e3, 2), s.where(d.WorstVacuum.Run, d.WorstVacuum.Chainage)
		}
		t.row("", wide(e.Name), wide(strings.Join(scours, ", ")), cellOf(durationText(d.StopTime)), wide(endText(d)), cellOf(significant(d.Lost, 3)), cellOf(grouped(d.DrainedLength)), cellOf(vacuum), cellOf(at))
	}
	if len(t.Rows) == 0 {
		p.text("No draining was reckoned.", "How long it takes and which vacuum it makes is not known from this study.")
	}
	p.table(t)
	p.add(cautionLeaf{"Vacuum can collapse a thin pipe and draw a seal out of its groove: never drain with an air valve shut off. What a scour lets go must have a way that harms nobody."})
}

func endText(d *draining.Result) string {
	if d.Reason != "" {
		return d.Status.String() + ": " + d.Reason
	}
	return d.Status.String()
}

// scourName is the scour at a place.
func (s *sheetOf) scourName(a line.Place) string {
	for _, e := range s.Line.Runs[a.Run].Equipment {
		if e.Kind == line.Scour && e.Chainage == a.Chainage {
			return e.Name + " at " + s.where(a.Run, a.Chainage)
		}
	}
	return s.where(a.Run, a.Chainage)
}

// stateIn is the state word of a valve in a case.
func stateIn(v *sealing.ValveResult, c int) string {
	if c >= 0 && c < len(v.Cells) {
		return v.Cells[c].State.String()
	}
	return "–"
}
