package bench

import (
	"fmt"
	"math"

	"obvert/document"
	"obvert/quantity"
)

// Check returns everything in a run that cannot be reduced, each with its place
// where the run was read from text.
func (r *Run) Check() document.Faults {
	c := &checker{run: r, gauge: gaugeTrack(r.Samples), tube: tubeTrack(r.Samples)}
	c.setup()
	if !c.samples() {
		return c.faults
	}
	c.repeats()
	c.valves()
	c.seats()
	if c.faults.Err() == nil {
		c.stuck()
	}
	return c.faults
}

type checker struct {
	run         *Run
	gauge, tube track
	faults      document.Faults
}

func (c *checker) add(p place, what, understood, hint string) {
	if p.file == "" {
		p.file = c.run.Source
	}
	c.faults = append(c.faults, p.fault(what, understood, hint))
}

// warn adds what does not stop the reduction.
func (c *checker) warn(p place, id, what, understood, hint string) {
	c.add(p, what, understood, hint)
	f := &c.faults[len(c.faults)-1]
	f.Severity, f.ID = document.WarningSeverity, id
}

func seconds(t float64) string { return quantity.Format(t, "s", 1) }

func (c *checker) setup() {
	r := c.run
	if r.Gauge == nil && r.Tube == nil {
		c.add(place{}, "a run without an instrument", "neither gauge nor tube", "describe the gauge, the tube, or both")
	}
	if r.Gravity == 0 && !r.HasLatitude {
		c.add(r.spots["place"], "a bench with no gravity", "neither gravity nor latitude and altitude", `write gravity = "9.81 m/s²" as surveyed, or latitude and altitude`)
	}
	if r.Gauge != nil {
		c.certificate("gauge", r.Gauge.Certificate)
	}
	if r.Tube != nil {
		c.certificate("tube", r.Tube.Certificate)
		if r.Tube.Top <= r.Tube.Zero {
			c.add(r.spots["tube"], "a tube whose top is not above its zero", fmt.Sprintf("zero %s, top %s", metres(r.Tube.Zero), metres(r.Tube.Top)), "give both above the bench's datum")
		}
	}
}

func metres(h float64) string { return quantity.Format(h, "m", 3) }

func (c *checker) certificate(key string, cert Certificate) {
	if !(cert.K >= 1) || !(cert.Expanded >= 0) || len(cert.Corrections) == 0 {
		c.add(c.run.spots[key], "a certificate that says too little", fmt.Sprintf("U %g, k %g, %d corrections", cert.Expanded, cert.K, len(cert.Corrections)), "give correction, expanded uncertainty and k")
	}
	if cert.Date != "" && c.run.Date != "" && cert.Date > c.run.Date { // both year-month-day
		c.warn(c.run.spots[key], "certificate.later", "a certificate later than the run", "certificate "+cert.Date+", run "+c.run.Date,
			"look at both dates; the instrument may have been adjusted in between, and the corrections of then are wanted")
	}
}

// samples checks the series; the rest needs it sound.
func (c *checker) samples() bool {
	r, before := c.run, len(c.faults)
	if len(r.Samples) < 2 {
		what := "a series with fewer than two readings"
		if c.marks() > 0 {
			what = "marks without readings"
		}
		c.add(r.spots["series"], what, fmt.Sprintf("%d readings, %d marks", len(r.Samples), c.marks()), "give the series that the marks were made in")
		return false
	}
	for i, s := range r.Samples {
		if len(c.faults)-before >= mostFaults {
			break
		}
		switch {
		case !finite(s.Time, s.Gauge, s.Tube):
			c.add(s.at, "a reading that is no finite number", fmt.Sprintf("row %d", i+1), "mend or leave out the row")
		case i > 0 && s.Time < r.Samples[i-1].Time:
			c.add(s.at, "time runs backwards", seconds(r.Samples[i-1].Time)+" then "+seconds(s.Time), "sort the rows by time; where a clock was set back, split the run")
		case i > 0 && s.Time == r.Samples[i-1].Time:
			c.add(s.at, "two readings at one time", seconds(s.Time), "leave one of the two")
		case s.HasGauge && r.Gauge == nil:
			c.add(s.at, "a gauge reading without a gauge", quantity.Format(s.Gauge, "kPa", 3), "describe it under [gauge]")
			return false
		case s.HasTube && r.Tube == nil:
			c.add(s.at, "a tube reading without a tube", metres(s.Tube), "describe it under [tube]")
			return false
		}
	}
	for _, ch := range []struct {
		name  string
		given bool
		n     int
	}{{"gauge", r.Gauge != nil, len(c.gauge.t)}, {"tube", r.Tube != nil, len(c.tube.t)}} {
		if ch.given && ch.n < 2 {
			c.add(r.spots[ch.name], "an instrument that was not read", fmt.Sprintf("[%s], %d readings", ch.name, ch.n), "give its column in the series, or leave the instrument out")
		}
	}
	return len(c.faults) == before
}

func finite(x ...float64) bool {
	for _, v := range x {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}

func (c *checker) marks() int {
	n := 0
	for _, v := range c.run.Valves {
		n += len(v.Marks)
	}
	return n
}

func (c *checker) first() float64 { return c.run.Samples[0].Time }
func (c *checker) last() float64  { return c.run.Samples[len(c.run.Samples)-1].Time }

func (c *checker) repeats() {
	if len(c.run.Repeats) == 0 {
		c.add(place{}, "a run without a repeat", "no rise and fall", "give from, turn and to of each [[repeat]]")
	}
	for i, s := range c.run.Repeats {
		switch {
		case !(s.From < s.Turn && s.Turn < s.To):
			c.add(s.at, "a repeat out of order", fmt.Sprintf("from %s, turn %s, to %s", seconds(s.From), seconds(s.Turn), seconds(s.To)), "the head rises from from to turn and falls until to")
		case s.From < c.first() || s.To > c.last():
			c.add(s.at, "a repeat outside the series", fmt.Sprintf("%s to %s, the series has %s to %s", seconds(s.From), seconds(s.To), seconds(c.first()), seconds(c.last())), "give times within the series")
		case i > 0 && s.From < c.run.Repeats[i-1].To:
			c.add(s.at, "a repeat that begins before the last one ends", seconds(s.From), "give the repeats in order, one after the other")
		}
	}
}

func (c *checker) valves() {
	if len(c.run.Valves) == 0 {
		c.add(place{}, "a run without a valve", "no [[valve]]", "give name and seat of each valve on the manifold")
	}
	names, records := map[string]bool{}, map[string]bool{}
	for _, v := range c.run.Valves {
		if names[v.Name] {
			c.add(v.at, "two valves with one name", v.Name, "give each valve a name of its own")
		}
		if records[v.Record] {
			c.add(v.at, "two valves for one record", v.Record, "give each valve a record of its own")
		}
		names[v.Name], records[v.Record] = true, true
		states := make(map[float64]bool, len(v.Marks))
		for _, m := range v.Marks {
			c.mark(v, m, states)
		}
		for _, l := range v.Leaks {
			c.leak(v, l)
		}
	}
}

// seats checks that the water reached every seat.
func (c *checker) seats() {
	const unit = 9.7e3 // Pa per metre: no bench's water is lighter at 60 °C
	top := math.Inf(-1)
	for _, s := range c.run.Samples {
		if s.HasTube && c.run.Tube != nil {
			top = math.Max(top, c.run.Tube.Zero+s.Tube)
		}
		if s.HasGauge && c.run.Gauge != nil {
			top = math.Max(top, c.run.Gauge.Level+math.Max(0, s.Gauge)/unit)
		}
	}
	for _, v := range c.run.Valves {
		if v.Seat > top {
			c.add(v.at, "a seat that the water never reached", fmt.Sprintf("%s at %s, the highest reading stands for %s", v.Name, metres(v.Seat), metres(top)),
				"look at the seat's height and its unit; all heights count from one datum")
		}
	}
}

// mark checks one mark; states holds those before it, tight or not by time.
func (c *checker) mark(v ValveRun, m Seen, states map[float64]bool) {
	if !c.within(v.Name, "mark", m.Time, m.at) {
		return
	}
	if before, known := states[m.Time]; known && before != m.Tight {
		c.add(m.at, "tight and dripping at one time", fmt.Sprintf("%s at %s", v.Name, seconds(m.Time)), "leave the mark that is right")
	}
	states[m.Time] = m.Tight
	if m.Kind != Change {
		return
	}
	if !c.run.HasDelay {
		c.add(m.at, "a change without the observer's delay", fmt.Sprintf("%s at %s", v.Name, seconds(m.Time)), "give delay and spread under [observer]: a mark is late, and by how much it is tells")
		return
	}
	if !c.read(m.Time - c.run.Delay) {
		c.add(m.at, "a mark without readings", fmt.Sprintf("%s at %s; with %s of delay it belongs to %s", v.Name, seconds(m.Time), seconds(c.run.Delay), seconds(m.Time-c.run.Delay)), "begin the series before the first change")
	}
}

// within checks that a time lies in the series, in a repeat and among readings.
func (c *checker) within(valve, thing string, t float64, at place) bool {
	repeat, _ := c.run.phase(t)
	switch {
	case t < c.first() || t > c.last():
		c.add(at, fmt.Sprintf("a %s outside the series", thing), fmt.Sprintf("%s at %s, the series has %s to %s", valve, seconds(t), seconds(c.first()), seconds(c.last())), "look at the clock of the marks and that of the series")
	case repeat == 0:
		c.add(at, fmt.Sprintf("a %s outside every repeat", thing), fmt.Sprintf("%s at %s", valve, seconds(t)), "extend the repeat, or leave it out")
	case !c.read(t):
		a, b, _ := c.busier().pause(t)
		c.add(at, fmt.Sprintf("a %s without readings", thing), fmt.Sprintf("%s at %s, no reading between %s and %s", valve, seconds(t), seconds(a), seconds(b)), "give the readings around it, or leave it out")
	default:
		return true
	}
	return false
}

// busier is the track with more readings.
func (c *checker) busier() track {
	if len(c.gauge.t) >= len(c.tube.t) {
		return c.gauge
	}
	return c.tube
}

// read reports whether either instrument was read around a time.
func (c *checker) read(t float64) bool {
	_, byGauge := c.gauge.at(t)
	_, byTube := c.tube.at(t)
	return byGauge || byTube
}

func (c *checker) leak(v ValveRun, l Collected) {
	if !c.run.HasCollecting {
		c.add(l.at, "a leak without the uncertainty of collecting", v.Name+" at "+seconds(l.Time), "give volume_uncertainty and time_uncertainty under [collecting]")
		return
	}
	if !(l.Over > 0) || !(l.Volume >= 0) {
		c.add(l.at, "a leak without volume or time", fmt.Sprintf("%g m³ over %g s", l.Volume, l.Over), "give what was collected and how long it took")
		return
	}
	if !c.within(v.Name, "leak", l.Time, l.at) || !c.within(v.Name, "leak", l.Time+l.Over, l.at) {
		return
	}
	r0, up0 := c.run.phase(l.Time)
	if r1, up1 := c.run.phase(l.Time + l.Over); r0 != r1 || up0 != up1 {
		c.add(l.at, "a leak collected across the turn", fmt.Sprintf("%s at %s for %s", v.Name, seconds(l.Time), seconds(l.Over)), "collect while the head is held")
	}
}
