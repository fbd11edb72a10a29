package refilling

import (
	"fmt"

	"obvert/physics/column"
	"obvert/quantity"
)

// rigidEnough is the index above which a rigid column comes within about 5 % of an elastic one (abstract of a rigid-column study,
// Water Science and Technology 83(4) (2021) 771; its index is a time scale of the filling over that of the wave).
const rigidEnough = 20.0

// notesOn says what limits the answer and what a reader must not miss.
func (m *model) notesOn(r *Result, c *column.Result, horizon float64) {
	say := func(id, where, format string, a ...any) {
		r.Notes = append(r.Notes, Note{id, where, fmt.Sprintf(format, a...)})
	}
	switch c.Status {
	case column.OutOfTime:
		say("refilling.horizon", "", "After %s the line was still filling: %s of water had come in.", quantity.Format(horizon, "h", 1), quantity.Format(c.Balance.WaterIn, "m³", 1))
	case column.AtRest:
		say("refilling.cannot-lift", "", "The water came to rest after %s and the line is not full: what drives it cannot lift it farther.", quantity.Format(c.Time, "min", 1))
	case column.AirBound:
		say("refilling.air-bound", "", "The water came to rest after %s with %s of air trapped: the line is air-bound.", quantity.Format(c.Time, "min", 1), quantity.Format(r.Trapped, "kg", 2))
	case column.AirLeft:
		say("refilling.air-left", "", "The line flows and %s of air stays trapped in it.", quantity.Format(r.Trapped, "kg", 2))
	case column.Slack:
		say("refilling.slack", "", "The line flows with lengths that stay part full below a crest: the valve there stands open.")
	case column.Cycling:
		e := c.Events[len(c.Events)-1]
		run, at := m.place(e.Pipe, e.Distance)
		say("refilling.cycle", m.where(run, at), "After %s water still came and went here in a cycle: started like this the line does not settle.", quantity.Format(c.Time, "min", 1))
	case column.Stuck, column.TooManyTurns:
		say("refilling.not-followed", "", "The motion could not be followed to its end (%s); the state after %s is given.", c.Status, quantity.Format(c.Time, "min", 1))
	}
	for i := range r.Valves {
		m.valveNotes(r, &r.Valves[i], say)
	}
	for _, e := range c.Events {
		run, at := m.place(e.Pipe, e.Distance)
		switch e.Kind {
		case column.Trapped:
			say("refilling.trapped", m.where(run, at), "The last way out of a pocket was shut with %s of air (%s at %s) still in it.", quantity.Format(e.Air, "kg", 3),
				quantity.Format(e.Volume, "m³", 3), quantity.Format(e.Pressure, "kPa(g)", 1))
		case column.MovesOn:
			say("refilling.moves-on", m.where(run, at), "Air (%s) was pushed past the low point: it is not vented at its crest but bubbles on. It is followed as a plug.", quantity.Format(e.Air, "kg", 3))
		case column.Parts:
			say("refilling.parts", m.where(run, at), "After %s the full pipe was under suction here and its valve let air in again.", quantity.Format(e.Time, "min", 1))
		}
	}
	m.rangeNotes(r, c, say)
	for i, p := range m.pumps {
		if p != nil && p.first {
			say("refilling.beyond-curve", m.net.Nodes[i].Name, "The pumps ran beyond the last point of their curves while the line was not full; throttle the start.")
		}
	}
}

func (m *model) valveNotes(r *Result, v *Valve, say func(string, string, string, ...any)) {
	switch {
	case v.Shut == ByAir:
		say("refilling.early", v.Name, "The air carried the float shut before water came, at up to %s.", quantity.Format(v.Largest, "kPa(g)", 1))
	case v.Shut == NoValve && v.LastAir:
		say("refilling.no-way-out", v.Name, "Nothing is chosen here, or it is isolated: no air leaves by it.")
	}
	if !v.LastAir {
		return
	}
	if lim := m.in.SlamLimit; lim > 0 && v.Slam > lim {
		say("refilling.slam", v.Name, "The last air leaves with the columns at %s and %s: a slam of %s, above the limit of %s.", quantity.Format(v.Before, "m/s", 2),
			quantity.Format(v.After, "m/s", 2), quantity.Format(v.Slam, "m", 1), quantity.Format(lim, "m", 1))
	}
	if v.HasRating && v.Share > 1 {
		run := m.in.Line.Runs[v.WorstRun]
		say("refilling.rating", v.Name, "With its slam the pressure comes to %.0f %% of the rating, worst at %s on %s.", 100*v.Share, quantity.FormatChainage(v.WorstAt), run.Name)
	}
}

// rangeNotes says where the model's range ends.
func (m *model) rangeNotes(r *Result, c *column.Result, say func(string, string, string, ...any)) {
	if r.RigidIndex > 0 && r.RigidIndex < rigidEnough {
		say("refilling.rigid", "", "A column changed its velocity within %.3g times the travel of a pressure wave along it and back: below about %.0f the rigid column is no longer enough, and the slams want the elastic one.",
			r.RigidIndex, rigidEnough)
	}
	for _, id := range c.Notes {
		switch id {
		case column.NoteWaveSpeed:
			say("refilling.wave-speed", "", "Where no wave speed is known, %s is taken.", quantity.Format(column.DefaultWaveSpeed, "m/s", 0))
		case column.NoteHot:
			say("refilling.air-temperature", "", "Air was compressed to temperatures beyond those that its outflow is reckoned for; its outflow there is that at the nearest.")
		case column.NoteFlutter:
			say("refilling.flutter", "", "The water parted at one valve again and again; it was no longer followed there.")
		case column.NoteFlat:
			f := &c.Flat
			run, at := m.place(f.Pipe, f.Distance)
			say("refilling.flat", m.where(run, at), "Water came here over a stretch of only %.2g in a thousand: its front is a wedge of some %s, longer than the stretch of %s. Times and last air here are rough.",
				1000*f.Slope, quantity.Format(f.Wedge, "m", 0), quantity.Format(f.Travel, "m", 0))
		case column.NoteBelow:
			say("refilling.below-vapour", "", "A head below the vapour pressure was met: the column would part there, which is not followed.")
		}
	}
}
