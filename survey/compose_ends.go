package survey

import (
	"math"

	"obvert/document"
	"obvert/line"
	"obvert/physics/pipe"
	"obvert/quantity"
)

// Levels of water that are taken where nobody says them; common practice, no source.
const (
	usualHead  = 3.0    // m, of the water in a tank that feeds a line above the obvert where it begins
	usualCover = 2.0    // m, of the water in a tank at the end above the obvert there
	leastFall  = 0.5    // m, from the feeding water to the end, for water to run by itself
	shutOff    = 1.25   // head at no flow over head at duty of a usual centrifugal pump
	leastLift  = 1.0    // m, of a pump's duty
	mostLift   = 2000.0 // m, of a pump's duty: beyond what any multistage pump of a pipeline gives
	dutyDigits = 2      // significant digits of an assumed flow
)

// duty is a pump's duty as reckoned.
type duty struct {
	flow     float64 // m³/s
	lift     float64 // m, static
	friction float64 // m, from the station to where the lift ends
	head     float64 // m, both
	at       float64 // m, chainage of what sets the head
	summit   bool    // a summit sets it, not the end
}

// obvert is the level of the pipe's obvert at a point of the track.
func (p *composer) obvert(q Point) float64 {
	switch p.kind {
	case line.LevelInvert:
		return q.Level + p.boreAt(q.Chainage)
	case line.LevelAxis:
		return q.Level + p.boreAt(q.Chainage)/2
	case line.LevelGround:
		return q.Level - p.c.Cover
	}
	return q.Level
}

// takeEnds settles what feeds the line and where it ends, and the water levels there.
func (p *composer) takeEnds() {
	q := p.track.Points
	first, last := p.obvert(q[0]), p.obvert(q[len(q)-1])
	top := first
	for _, x := range q {
		top = max(top, p.obvert(x))
	}
	p.outfall = p.c.To == "outfall"
	p.end = last
	if !p.outfall {
		p.end = last + usualCover
		if p.c.HasToLevel {
			p.end = p.c.ToLevel
		}
	}
	tankLevel := first + usualHead
	if p.c.HasFromLevel {
		tankLevel = p.c.FromLevel
	}
	falls := top < tankLevel && p.end <= tankLevel-leastFall
	switch {
	case p.c.From == "station":
		p.station = true
	case p.c.From == "tank":
	case len(p.pumps) > 0:
		p.station = true
	case falls:
		p.assume("from", "A tank feeds the line at its beginning: no point of the pipe lies above its water, and the end lies lower.")
	default:
		p.station = true
		why := "the pipe rises to " + metre(math.Round(100*max(top, p.end))/100) + ", above water that could stand at its beginning"
		p.assume("from", "A pump station feeds the line at its beginning: "+why+".")
	}
	if p.c.To == "" {
		p.assume("to", "The line ends at a tank that it enters below the water.")
	}
	switch {
	case p.c.HasFromLevel:
		p.feed = p.c.FromLevel
	case p.station:
		p.feed = math.Round(100*first) / 100
		p.assume("feed", "The water in the station's sump stands at the pipe's obvert where it begins, "+quantity.Format(p.feed, "m", 2)+".")
	default:
		p.feed = math.Round(100*tankLevel) / 100
		p.assume("feed", "The water that feeds the line stands "+quantity.Format(usualHead, "m", 1)+" above the pipe's obvert where it begins, at "+
			quantity.Format(p.feed, "m", 2)+" (common practice, no source).")
	}
	if !p.outfall {
		p.end = math.Round(100*p.end) / 100
		if !p.c.HasToLevel {
			p.assume("end", "The water in the tank at the end stands "+quantity.Format(usualCover, "m", 1)+" above the pipe's obvert there, at "+
				quantity.Format(p.end, "m", 2)+" (common practice, no source).")
		}
	}
	if p.station {
		return
	}
	hint := "say --from station, or the water's level with --from-level"
	switch {
	case top >= p.feed:
		p.faults = append(p.faults, document.Fault{Key: "--from", What: "the pipe rises above the water that is to feed it",
			Understood: metre(top) + " at its highest, and the water stands at " + metre(p.feed), Hint: hint})
	case p.end >= p.feed:
		p.faults = append(p.faults, document.Fault{Key: "--from", What: "the line ends above the water that is to feed it",
			Understood: metre(p.end) + " at the end, " + metre(p.feed) + " at the beginning", Hint: hint})
	}
	if len(p.pumps) > 0 {
		p.left("%s: a tank feeds the line.", counted(len(p.pumps), "pump"))
		p.pumps = nil
	}
}

// designFlow is the flow that a pump is reckoned for.
func (p *composer) designFlow() float64 {
	if p.c.Flow > 0 {
		return p.c.Flow
	}
	bore := p.sections[0].bore
	for _, s := range p.sections {
		bore = min(bore, s.bore)
	}
	q := usualVelocity * pipe.Area(bore) * 1000 // L/s
	step := math.Pow10(int(math.Floor(math.Log10(q))) - dutyDigits + 1)
	q = math.Round(q/step) * step / 1000
	p.assume("flow", "The pump is reckoned for "+quantity.Format(q, "L/s", 1)+", "+quantity.Format(usualVelocity, "m/s", 1)+
		" in the smallest bore (common practice, no source).")
	return q
}

// reckonDuty finds the head that carries the design flow to the end and over every summit: the largest, over all
// points, of the level to be reached there less that of the sump, with the friction up to there (Darcy–Weisbach with
// Colebrook–White or Hazen–Williams, as the line's sections have it; local losses left out).
func (p *composer) reckonDuty(l *line.Line) bool {
	run := &l.Runs[0]
	d := duty{flow: p.designFlow(), head: math.Inf(-1)}
	friction, s := 0.0, 0
	law := lawOf(&run.Sections[0], l.Site)
	gradient, _ := law.Gradient(d.flow)
	reach := func(level, at float64, summit bool) {
		if h := level - p.feed + friction; h > d.head {
			d.head, d.lift, d.friction, d.at, d.summit = h, level-p.feed, friction, at, summit
		}
	}
	for i, q := range run.Points {
		for s+1 < len(run.Sections) && q.Chainage > run.Sections[s].To {
			s++
			law = lawOf(&run.Sections[s], l.Site)
			gradient, _ = law.Gradient(d.flow)
		}
		if i > 0 {
			friction += gradient * (q.Distance - run.Points[i-1].Distance)
		}
		reach(q.Obvert, q.Chainage, i+1 < len(run.Points))
	}
	if !p.outfall {
		reach(p.end, run.Last(), false)
	}
	if d.head < leastLift {
		p.faults = append(p.faults, document.Fault{Key: "--from", What: "a pump has nothing to lift here",
			Understood: metre(d.lift) + " of lift and " + metre(math.Round(100*d.friction)/100) + " of friction at " + quantity.Format(d.flow, "L/s", 1),
			Hint:       "say --from tank, the sump's level with --from-level, or give the pump's curve in a table"})
		return false
	}
	if d.head > mostLift {
		p.faults = append(p.faults, document.Fault{Key: "--pipe", What: "no pump lifts water so far", Understood: metre(math.Round(d.lift)) + " of lift and " +
			metre(math.Round(d.friction)) + " of friction at " + quantity.Format(d.flow, "L/s", 1), Hint: "say a wider pipe with --pipe or a smaller flow with --flow; see whether the unit of chainage or levels is another"})
		return false
	}
	p.duty = &d
	where := "to the end"
	if d.summit {
		where = "over the summit at " + chainageText(math.Round(d.at))
	}
	p.assume("curve", "The pump lifts "+quantity.Format(d.flow, "L/s", 1)+" by "+quantity.Format(d.head, "m", 1)+": "+quantity.Format(d.lift, "m", 1)+
		" of level and "+quantity.Format(d.friction, "m", 1)+" of friction "+where+"; its curve is a parabola with "+quantity.Format(shutOff, "1", 2)+
		" of that head at no flow (common practice, no source).")
	return true
}

func lawOf(s *line.Section, site line.Site) pipe.Law {
	if s.HazenWilliams > 0 {
		return pipe.NewHazenWilliams(s.Bore, s.HazenWilliams)
	}
	return pipe.NewDarcyWeisbach(s.Bore, s.Roughness, site.Viscosity, site.Gravity)
}

// curve is the head of a usual pump through its duty at 0, ½, 1 and 1½ of its flow: H = H₀ − (H₀ − H) (q/Q)².
func (d *duty) curve() [][2]float64 {
	out := make([][2]float64, 0, 4)
	for _, share := range []float64{0, 0.5, 1, 1.5} {
		out = append(out, [2]float64{share * d.flow, d.head * (shutOff - (shutOff-1)*share*share)})
	}
	return out
}
