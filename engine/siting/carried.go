package siting

import (
	"math"

	"obvert/line"
	"obvert/physics/pipe"
	"obvert/physics/pocket"
)

// usualPocket is the pocket number of the pocket whose cost is told where no volume is stated: the largest for which
// Escarameia gives a relation.
const usualPocket = 2.0

// piece is a stretch of a leg as it is reckoned with.
type piece struct {
	Stretch
	section int
}

// area is that of the full bore, m².
func (p *piece) area() float64 { return pipe.Area(p.Bore) }

// fallingLegs finds every falling leg of every run and judges it in every flowing case.
func (s *solver) fallingLegs() {
	for r := range s.in.Line.Runs {
		run := &s.in.Line.Runs[r]
		if len(run.Sections) == 0 {
			s.res.Notes = append(s.res.Notes, Note{ID: "siting.no-bore", Where: run.Name,
				Text: "the run has no sections, so no bore: whether its flow carries air down the falling legs was not looked at"})
			continue
		}
		f := faller{s: s, run: r, slack: s.slackOf(r)}
		f.gradients()
		for _, l := range f.split() {
			f.add(l)
		}
	}
}

// slackOf is the part-full lengths of a run, by flowing case, each by rising chainage.
func (s *solver) slackOf(r int) [][][2]float64 {
	list := make([][][2]float64, len(s.in.Flowing))
	for f := range s.in.Flowing {
		for _, l := range s.in.Flowing[f].Slack {
			if l.Run == r {
				list[f] = append(list[f], [2]float64{min(l.From, l.To), max(l.From, l.To)})
			}
		}
	}
	return list
}

// faller judges the falling legs of one run.
type faller struct {
	s        *solver
	run      int
	slack    [][][2]float64 // by flowing case
	gradient [][]float64    // of the full bore, by flowing case, by section
}

// gradients reckons the friction of every section in every case.
func (f *faller) gradients() {
	site, sections := &f.s.in.Line.Site, f.s.in.Line.Runs[f.run].Sections
	f.gradient = make([][]float64, len(f.s.in.Flowing))
	for c := range f.gradient {
		f.gradient[c] = make([]float64, len(sections))
	}
	for k := range sections {
		law := lawOf(&sections[k], site)
		for c := range f.gradient {
			f.gradient[c][k], _ = law.Gradient(math.Abs(f.s.in.Flowing[c].Flow[f.run]))
		}
	}
}

// lawOf is a section's friction.
func lawOf(t *line.Section, site *line.Site) pipe.Law {
	if t.HazenWilliams > 0 {
		return pipe.NewHazenWilliams(t.Bore, t.HazenWilliams)
	}
	return pipe.NewDarcyWeisbach(t.Bore, t.Roughness, site.Viscosity, site.Gravity)
}

// fallen is a falling leg in the making: straight stretches of the run's profile, by chainage.
type fallen struct {
	first, last int // indices into the run's straight stretches
	down        int8
}

// split finds the falling legs of the run: straight stretches end to end that fall one way by more than the tolerance, level
// ones between them included.
func (f *faller) split() []fallen {
	var list []fallen
	var open fallen
	shut := func() {
		if open.down != 0 && f.fallOf(open) > f.s.tolerance {
			list = append(list, open)
		}
		open.down = 0
	}
	for k, l := range f.s.legs[f.run] {
		down := int8(0)
		switch {
		case l.slope < 0:
			down = +1
		case l.slope > 0:
			down = -1
		default:
			continue
		}
		if down != open.down {
			shut()
			open = fallen{first: k, down: down}
		}
		open.last = k
	}
	shut()
	return list
}

// fallOf is the fall (m) of a leg from its top to its foot.
func (f *faller) fallOf(l fallen) float64 {
	p, legs := f.s.in.Line.Runs[f.run].Points, f.s.legs[f.run]
	return float64(l.down) * (p[legs[l.first].from].Obvert - p[legs[l.last].to].Obvert)
}

// pieces cuts a leg into stretches of one slope and one bore, from its top down.
func (f *faller) pieces(l fallen) []piece {
	run := &f.s.in.Line.Runs[f.run]
	list := make([]piece, 0, l.last-l.first+1)
	at := 0
	for k := l.first; k <= l.last; k++ {
		straight := &f.s.legs[f.run][k]
		from, to := run.Points[straight.from].Chainage, run.Points[straight.to].Chainage
		for at+1 < len(run.Sections) && run.Sections[at].To <= from {
			at++
		}
		for n := at; n < len(run.Sections); n++ {
			t := &run.Sections[n]
			a, b := max(from, t.From), min(to, t.To)
			share := 1.0
			if to > from {
				share = (b - a) / (to - from)
			}
			if share > 0 {
				list = append(list, piece{section: n, Stretch: Stretch{
					From: a, To: b, Length: share * straight.length, Slope: max(0, -straight.slope*float64(l.down)), Bore: t.Bore,
				}})
			}
			if t.To >= to {
				break
			}
		}
	}
	if l.down < 0 {
		for a, b := 0, len(list)-1; a < b; a, b = a+1, b-1 {
			list[a], list[b] = list[b], list[a]
		}
		for k := range list {
			list[k].From, list[k].To = list[k].To, list[k].From
		}
	}
	return list
}

// demand is what the relations ask of the flow down a whole leg.
type demand struct {
	all     float64 // m³/s, from which all relations have it carry on every stretch
	some    float64 // m³/s, below which no relation has it carry on one stretch at least
	unknown bool    // on one stretch no relation holds
	worst   int     // the stretch that sets all
}

// demandOf judges all stretches of a leg.
func (f *faller) demandOf(list []piece) demand {
	d := demand{}
	g := f.s.in.Line.Site.Gravity
	worst := -1.0
	for k := range list {
		p := &list[k]
		p.Critical = pocket.Bounds(math.Asin(p.Slope), p.Bore, g)
		need := p.Critical.Largest * p.area()
		if p.Critical.Known {
			d.all = max(d.all, need)
			d.some = max(d.some, p.Critical.Least*p.area())
		} else {
			d.unknown = true
		}
		if need > worst {
			worst, d.worst = need, k
		}
	}
	return d
}

// carried is the verdict for a leg.
func (d *demand) carried(flow float64) pocket.Carried {
	switch {
	case flow < d.some:
		return pocket.ByNone
	case d.unknown:
		return pocket.NotKnown
	case flow >= d.all:
		return pocket.ByAll
	}
	return pocket.BySome
}

// add judges a leg and keeps it.
func (f *faller) add(l fallen) {
	list := f.pieces(l)
	d := f.demandOf(list)
	g := f.s.in.Line.Site.Gravity
	out := Leg{Run: f.run, From: list[0].From, To: list[len(list)-1].To, Down: l.down, Fall: f.fallOf(l), Stretches: len(list)}
	out.Worst = list[d.worst].Stretch
	out.Worst.Critical = pocket.At(math.Asin(out.Worst.Slope), out.Worst.Bore, g)
	out.Mean = mean(list)
	out.Mean.Critical = pocket.At(math.Asin(out.Mean.Slope), out.Mean.Bore, g)
	out.Length = out.Mean.Length
	f.valves(&out)
	out.Cases = make([]LegCase, len(f.s.in.Flowing))
	for c := range out.Cases {
		out.Cases[c] = f.inCase(c, &out, list, &d)
	}
	f.s.res.Legs = append(f.s.res.Legs, out)
}

// mean is a leg as one stretch.
func mean(list []piece) Stretch {
	m := Stretch{From: list[0].From, To: list[len(list)-1].To}
	fall := 0.0
	for k := range list {
		p := &list[k]
		m.Length += p.Length
		m.Bore += p.Length * p.Bore
		fall += p.Length * p.Slope
	}
	m.Bore /= m.Length
	m.Slope = min(1, fall/m.Length) // rounding alone passes 1
	return m
}

// valves finds the valve at a leg's top and the first below it.
func (f *faller) valves(l *Leg) {
	l.PocketTo = l.To
	near := f.s.practice.Displaced.Value
	placed := f.s.in.Line.Runs[f.run].Placed
	for n := range placed {
		v := &placed[n]
		if l.Down < 0 {
			v = &placed[len(placed)-1-n]
		}
		if v.Isolated {
			continue
		}
		below := float64(l.Down) * (v.Chainage - l.From) // m, from the top down
		switch {
		case math.Abs(below) <= near:
			l.TopValve = v.Name
		case below > near && below <= math.Abs(l.To-l.From):
			l.PocketTo, l.PocketValve = v.Chainage, v.Name
			return
		}
	}
}

// inCase judges a leg in a flowing case.
func (f *faller) inCase(c int, l *Leg, list []piece, d *demand) LegCase {
	flow := float64(l.Down) * f.s.in.Flowing[c].Flow[f.run]
	out := LegCase{
		Case: f.s.in.Flowing[c].Case, Down: flow > 0,
		Velocity: flow / list[d.worst].area(), MeanVelocity: flow / pipe.Area(l.Mean.Bore),
	}
	for k := range list {
		out.Slack += f.slackIn(c, &list[k])
	}
	if !out.Down {
		return out
	}
	out.Carried = d.carried(flow)
	out.Mean = l.Mean.Critical.Carried(out.MeanVelocity)
	if out.Carried == pocket.ByAll {
		return out
	}
	out.Longest = f.pocketOf(c, list, l.PocketTo, math.Inf(1))
	volume := f.s.in.PocketVolume
	if volume == 0 {
		volume = pocket.Volume(usualPocket, l.Worst.Bore)
	}
	out.Stated = f.pocketOf(c, list[d.worst:], l.To, volume)
	return out
}

// pocketOf is a pocket from the top of a list of stretches down to a chainage, or until its volume (m³) is used up. It skips
// stretches that the flow fills.
func (f *faller) pocketOf(c int, list []piece, to, volume float64) Pocket {
	var p Pocket
	for k := range list {
		t := &list[k]
		length := t.Length * part(t.From, t.To, to)
		if length == 0 {
			break
		}
		gradient := f.gradient[c][t.section]
		if gradient >= t.Slope {
			continue
		}
		share, _ := pocket.Filled(gradient, t.Slope)
		air := (1 - share) * t.area()
		full := p.Volume+air*length >= volume
		if full {
			length = (volume - p.Volume) / air
		}
		head := pocket.HeadLost(length, math.Asin(t.Slope))
		already := min(length, f.slackIn(c, t)) / length
		p.Stands = true
		p.Volume += air * length
		p.Length += length
		p.Head += head
		p.Extra += (head - gradient*length) * (1 - already)
		if full {
			break
		}
	}
	return p
}

// part is the share of a stretch from one chainage to another that lies before a third.
func part(from, to, end float64) float64 {
	if from == to { // a vertical step
		return 1
	}
	return min(1, max(0, (end-from)/(to-from)))
}

// slackIn is the length (m) of a stretch that runs part full in a case.
func (f *faller) slackIn(c int, p *piece) float64 {
	a, b := min(p.From, p.To), max(p.From, p.To)
	sum := 0.0
	for _, l := range f.slack[c] {
		switch {
		case a == b:
			if l[0] <= a && a <= l[1] {
				sum += p.Length
			}
		case min(b, l[1]) > max(a, l[0]):
			sum += p.Length * (min(b, l[1]) - max(a, l[0])) / (b - a)
		}
	}
	return min(sum, p.Length)
}
