package deliver

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"obvert/engine/grade"
	"obvert/engine/refilling"
	"obvert/line"
	"obvert/physics/valve"
)

// watched is a valve as it is met while the line fills.
type watched struct {
	index int // into Sealing.Valves
	fill  *refilling.Valve
}

// inOrder are the valves in the order in which water shuts them, those without a time after them along the runs.
func (s *sheetOf) inOrder() []watched {
	var out []watched
	for i := range s.Sealing.Valves {
		v := &s.Sealing.Valves[i]
		w := watched{index: i}
		if s.fill != nil {
			for k := range s.fill.Refilling.Valves {
				if f := &s.fill.Refilling.Valves[k]; f.Run == v.Run && f.Placed == v.Placed {
					w.fill = f
				}
			}
		}
		out = append(out, w)
	}
	slices.SortStableFunc(out, func(a, b watched) int {
		x, y := a.time(), b.time()
		if (x > 0) != (y > 0) {
			if x > 0 {
				return -1
			}
			return 1
		}
		return cmp.Compare(x, y)
	})
	return out
}

// time is when water shut a valve for the last time, s; 0 where it is not known or it did not.
func (w watched) time() float64 {
	if w.fill == nil {
		return 0
	}
	return w.fill.Time
}

// does says what a valve should do while the line fills.
func (s *sheetOf) does(w watched) string {
	if w.fill == nil {
		return "vents, then shuts when water comes"
	}
	switch w.fill.Shut {
	case refilling.StaysOpen:
		if s.dry(w.fill.Run) {
			return "no water comes here in this filling: fill its run by itself"
		}
		return "vents and stays open: air stands here while the line flows so"
	case refilling.ByAir:
		return "is carried shut by air before water comes: fill more slowly"
	case refilling.ByStage:
		return "vents, throttles, then shuts when water comes"
	case refilling.WetBefore:
		return "stands in water from the start: shut"
	case refilling.NoValve:
		return "passes nothing: shut off, or no type chosen"
	}
	text := "vents, then shuts when water comes"
	if w.fill.Slam > 0 {
		text += ", with a slam of " + headText(w.fill.Slam) + " m"
	}
	return text
}

// arrives is when water shuts it, as text.
func (w watched) arrives() string {
	switch {
	case w.fill == nil:
		return "not reckoned"
	case w.fill.Time > 0:
		return durationText(w.fill.Time)
	}
	return "–"
}

// lookAt is what to look at at each valve, and the blanks for what is read there.
func (s *sheetOf) lookAt(p *paper) {
	valves := s.inOrder()
	p.head(1, "At each valve", "In the order in which water shuts them. Heads in metres of water at the seat.")
	if len(valves) == 0 {
		p.text("No air valve stands on this line.", "Air can leave at its ends only; fill it the more slowly.")
		return
	}
	rack := newRackView(s.Result)
	many := len(s.Line.Runs) > 1
	stand := s.standingCase()
	t := &table{Caption: "What each valve should do", Heads: heads(">No.", ">at", ">shut|after", "should", ">seat|level, m", ">shuts at a|head of, m", ">that is water|to level, m", ">holds down|to, m", "standing|then")}
	blanks := &table{Caption: "Readings to be taken", Heads: heads(">No.", ">at", "water came|at (time)", "shut|at (time)", "pressure as|it shut", "standing:|pressure", "drips|a minute", "flowing:|pressure", "drips|a minute", "pit wet|or dry", "by whom")}
	for _, w := range valves {
		v := &s.Sealing.Valves[w.index]
		at := chainageText(v.Chainage)
		if many {
			at += " " + s.Line.Runs[v.Run].Name
		}
		seals, level, holds := "not known", "–", "–"
		if k := rack.of(v.Record); k != nil {
			seals = k.sealing.text()
			holds = k.lettingGo.text()
			if k.sealing.known() {
				level = map[valve.Bound]string{valve.MoreThan: "> ", valve.LessThan: "< "}[k.sealing.bound] + levelText(v.Seat+k.sealing.mean)
			}
		}
		state := stateIn(v, stand)
		m := wordMark(state)
		t.row("", cellOf(s.names[v.Name]), cellOf(at), cellOf(w.arrives()), tableCell{Text: s.does(w), Class: "w"}, cellOf(levelText(v.Seat)), cellOf(seals), cellOf(level), cellOf(holds), tableCell{Text: state, Icon: icon(m), Mark: m.class()})
		row := []tableCell{cellOf(s.names[v.Name]), cellOf(at)}
		for range len(blanks.Heads) - 2 {
			row = append(row, cellOf(strings.Repeat("\u00a0", 12)))
		}
		blanks.row("", row...)
	}
	p.table(t)
	note := "Shut after: from the start of filling" + map[bool]string{true: ", by “" + s.eventName() + "”.", false: "; no first filling was reckoned, so the times are not known."}[s.fill != nil]
	if stand >= 0 {
		note += fmt.Sprintf(" Standing then: in “%s”.", s.Line.Cases[stand].Name)
	}
	p.add(textLeaf{Text: note + " A valve that should stand tight and drips is written down with its pressure; see below.", Quiet: true})
	p.add(cautionLeaf{"Do not stand over a venting valve: it throws water as it shuts."})
	p.head(2, "Readings to be taken", "Pressure with its unit and where the gauge stands against the seat; drips counted over a minute, or a volume over a time.")
	p.table(blanks)
}

func (s *sheetOf) eventName() string {
	if s.fill == nil {
		return ""
	}
	return s.Line.Events[s.fill.Event].Name
}

// standingCase is the first case in which the line stands; −1 where none does.
func (s *sheetOf) standingCase() int {
	return slices.IndexFunc(s.Line.Cases, func(c line.Case) bool { return c.Kind == line.Standing })
}

// still is the flow below which nothing flows, m³/s.
const still = 1e-9

// leaves tells whether water leaves a node into one of its runs.
func (s *sheetOf) leaves(runs []grade.RunState, node int) bool { return s.net(runs, node) > still }

// net is the flow in m³/s that the runs take from a node, less what they bring.
func (s *sheetOf) net(runs []grade.RunState, node int) (net float64) {
	for _, r := range s.Line.Nodes[node].Runs {
		if r >= len(runs) {
			continue
		}
		if s.Line.Runs[r].From == node {
			net += runs[r].Flow
		}
		if s.Line.Runs[r].To == node {
			net -= runs[r].Flow
		}
	}
	return net
}
