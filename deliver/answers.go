package deliver

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"obvert/engine/draining"
	"obvert/engine/refilling"
	"obvert/line"
	"obvert/study"
)

// answers makes the chapters of a report from the answers of the engines.
type answers struct {
	*study.Result
	names    map[string]string // what valves go by in drawings
	numbered bool
	rack     *rackView
	views    []*view // of the routes, made when asked for
}

// newAnswers makes ready for the chapters of a result.
func newAnswers(r *study.Result, names map[string]string, numbered bool, rack *rackView) *answers {
	return &answers{Result: r, names: names, numbered: numbered, rack: rack, views: make([]*view, len(r.Line.Routes))}
}

// chapters are those that have something to show, not drawn yet.
func (a *answers) chapters() (proof, money []*chapter) {
	keep := func(all ...*chapter) (kept []*chapter) {
		for _, c := range all {
			if c != nil && !c.empty() {
				kept = append(kept, c)
			}
		}
		return kept
	}
	return keep(a.standing(), a.emptied(), a.filled(), a.air(), a.carried(), a.days()), keep(a.waysOut(), a.holding(), a.matters())
}

// view is a route as it is drawn.
func (a *answers) view(route int) *view {
	if a.views[route] == nil {
		a.views[route] = newView(a.Result, route, a.names, a.rack)
	}
	return a.views[route]
}

// at names a place of a run.
func (a *answers) at(run int, chainage float64) string {
	if run >= 0 && run < len(a.Line.Runs) && len(a.Line.Runs) > 1 {
		return chainageText(chainage) + ", " + a.Line.Runs[run].Name
	}
	return chainageText(chainage)
}

// no is what a valve goes by in drawings.
func (a *answers) no(name string) string {
	if n, ok := a.names[name]; ok {
		return n
	}
	return name
}

// typeOf names a record of the rack.
func (a *answers) typeOf(record int) string {
	if record < 0 || record >= len(a.Line.Rack) {
		return "no type chosen"
	}
	return a.Line.Rack[record].Name
}

// caseNamed is a case's name.
func (a *answers) caseNamed(c int) string {
	if c < 0 || c >= len(a.Line.Cases) {
		return "–"
	}
	return a.Line.Cases[c].Name
}

// routesOf are the routes that show some runs: each adds a run that none before it holds.
func (a *answers) routesOf(runs map[int]bool) []int {
	var out []int
	seen := map[int]bool{}
	for i, r := range a.Line.Routes {
		adds := false
		for _, leg := range r.Legs {
			adds = adds || runs[leg.Run] && !seen[leg.Run]
		}
		if !adds {
			continue
		}
		out = append(out, i)
		for _, leg := range r.Legs {
			seen[leg.Run] = true
		}
	}
	return out
}

// routeChainage is a place of a run on a route; ok is false where the route does not hold the run.
func (v *view) routeChainage(run int, chainage float64) (ch float64, ok bool) {
	for _, leg := range v.r.Line.Routes[v.route].Legs {
		if leg.Run == run {
			return leg.Offset + leg.Sign*chainage, true
		}
	}
	return 0, false
}

// leastLeak is what is not labelled any more, m³/s: a tenth of a litre a day.
const leastLeak = 1e-4 / 86400

// leakText writes a leak: in litres a second, a small one in litres a day.
func leakText(v float64) string {
	if v < 2e-6 {
		return perDayText(v) + " L/day"
	}
	return significant(v*1000, 2) + " L/s"
}

// smallFlow is a flow in words, nought where it is less than what counts as a leak.
func smallFlow(v float64) string {
	if math.Abs(v) < leastLeak {
		v = 0
	}
	return flowText(v)
}

// volumeText writes a volume of water.
func volumeText(v float64) string {
	if math.Abs(v) < 1e-6 {
		return "0 m³"
	}
	if math.Abs(v) < 0.1 {
		return significant(v*1000, 2) + " L"
	}
	return significant(v, 3) + " m³"
}

// mostFrames is how many moments a strip shows, mostStrips how many strips a chapter.
const (
	mostFrames = 8
	mostStrips = 3
)

// newsLeast is the least progress between two moments that are both drawn.
const newsLeast = 0.01

// framesOf chooses the moments of a strip by how far things have come, 0 … 1, at each of n: the first, and of those that bring
// news as many as a strip holds, evenly spread over the progress.
func framesOf(n int, progress func(i int) float64) []int {
	var news []int
	for i := range n {
		if i == 0 || math.Abs(progress(i)-progress(news[len(news)-1])) >= newsLeast {
			news = append(news, i)
		}
	}
	if len(news) <= mostFrames {
		return news
	}
	var out []int
	for k := range mostFrames {
		want := progress(news[0]) + (progress(news[len(news)-1])-progress(news[0]))*float64(k)/(mostFrames-1)
		best := -1
		for _, i := range news {
			taken := len(out) > 0 && i <= out[len(out)-1]
			if !taken && (best < 0 || math.Abs(progress(i)-want) < math.Abs(progress(best)-want)) {
				best = i
			}
		}
		if best >= 0 {
			out = append(out, best)
		}
	}
	return out
}

// drainStrip is a draining on one route; places are those of its openings, in their order.
func (a *answers) drainStrip(d *draining.Result, v *view, name string, places []line.Place) *strip {
	t := &strip{view: v, name: name, doing: "draining"}
	if len(d.Frames) == 0 {
		return t
	}
	full := func(s *draining.State) float64 {
		sum := 0.0
		for _, r := range s.Runs {
			for _, w := range r {
				sum += w.FullTo - w.FullFrom
			}
		}
		return sum
	}
	lost := lostOver(d)
	at := full(&d.Frames[0])
	drained := max(at-full(&d.Frames[len(d.Frames)-1]), 0)
	progress := func(i int) float64 { // the mean of the shares of water lost and of pipe drained
		p := share(lost(d.Frames[i].Time), lost(d.Frames[len(d.Frames)-1].Time))
		if drained >= 1 {
			p = (p + share(at-full(&d.Frames[i]), drained)) / 2
		}
		return p
	}
	for _, i := range framesOf(len(d.Frames), progress) {
		s := &d.Frames[i]
		f := frame{at: s.Time, under: lostText(lost(s.Time), at-full(s), " drained")}
		if s.Time == 0 {
			f.under = volumeText(s.Volume) + " in the pipes"
		}
		drainWater(&f, s, v)
		for k := range d.Valves {
			q := &d.Valves[k]
			ch, ok := v.routeChainage(q.Run, q.Chainage)
			if !ok || k >= len(s.Valves) {
				continue
			}
			leak := leakAt(q.Series, s.Time)
			switch s.Valves[k] {
			case draining.Drips:
				if leak < leastLeak {
					continue
				}
				f.notes = append(f.notes, frameNote{ch: ch, mark: markDrips, name: a.no(q.Name), text: leakText(leak), rank: leak})
			case draining.Sucks:
				f.notes = append(f.notes, frameNote{ch: ch, mark: markUnknown, name: a.no(q.Name), text: "under suction"})
			case draining.Open:
				if q.Start != draining.Open {
					f.notes = append(f.notes, frameNote{ch: ch, mark: markOpen, name: a.no(q.Name), text: "open", rank: -1})
				}
			}
		}
		for k, p := range places {
			if ch, ok := v.routeChainage(p.Run, p.Chainage); ok && k < len(d.Openings) {
				text := "opens"
				if q := outflowAt(d.Openings[k].Series, s.Time); q > 0 || s.Time > 0 {
					text = outText(q, largestOut(d.Openings[k].Series))
				}
				f.notes = append(f.notes, frameNote{ch: ch, mark: markFails, text: text, rank: math.Inf(1)})
			}
		}
		t.frames = append(t.frames, f)
	}
	t.series = drainSeries(d, lost)
	t.narrow()
	t.telling()
	return t
}

// outText is what leaves through an opening, with the decimals that its largest outflow asks for.
func outText(q, largest float64) string {
	switch {
	case q < 0.005*largest:
		return "run dry"
	case largest >= 0.9995:
		return fixed(q, 2) + " m³/s out"
	case largest >= 0.00995:
		return fixed(q*1000, 1) + " L/s out"
	}
	return smallFlow(q) + " out"
}

func largestOut(s []draining.Outflow) float64 {
	most := 0.0
	for i := range s {
		most = max(most, s[i].Flow)
	}
	return most
}

// share is a part of a whole, 0 of none.
func share(part, whole float64) float64 {
	if whole == 0 {
		return 0
	}
	return part / whole
}

// drainWater adds to a frame what is wet on the route and at which levels.
func drainWater(f *frame, s *draining.State, v *view) {
	for run, spans := range s.Runs {
		for _, w := range spans {
			part := func(from, to float64, full bool) {
				if to-from < 0.01 {
					return
				}
				for _, r := range v.routeSpan(run, from, to) {
					f.wet = append(f.wet, stretch{r[0], r[1], full})
				}
			}
			if w.FullTo > w.FullFrom {
				part(w.From, w.FullFrom, false)
				part(w.FullFrom, w.FullTo, true)
				part(w.FullTo, w.To, false)
			} else {
				part(w.From, w.To, false)
			}
			for _, r := range v.routeSpan(run, w.From, w.To) {
				if n := len(f.levels); n > 0 && math.Abs(f.levels[n-1].level-w.Level) < 0.01 && math.Abs(f.levels[n-1].to-r[0]) < 0.5 {
					f.levels[n-1].to = r[1]
					continue
				}
				f.levels = append(f.levels, levelSpan{r[0], r[1], w.Level})
			}
		}
	}
	f.wet = joinAlike(f.wet)
}

// joinAlike joins part-full stretches with part-full ones and full with full, by chainage.
func joinAlike(all []stretch) []stretch {
	var part, full []stretch
	for _, w := range all {
		if w.full {
			full = append(full, w)
		} else {
			part = append(part, w)
		}
	}
	out := append(joinStretches(part), joinStretches(full)...)
	sort.SliceStable(out, func(i, j int) bool { return out[i].from < out[j].from })
	return out
}

// leakAt is a valve's leak at a time, by straight lines between its samples.
func leakAt(s []draining.Sample, t float64) float64 {
	i := sort.Search(len(s), func(i int) bool { return s[i].Time > t })
	switch {
	case i == 0:
		return 0
	case i == len(s):
		if t > s[i-1].Time {
			return 0
		}
		return s[i-1].Leak
	}
	p, q := s[i-1], s[i]
	return p.Leak + (q.Leak-p.Leak)*(t-p.Time)/(q.Time-p.Time)
}

// lostOver is the water lost through valves and openings up to a time: the samples' integral, stretched to the total that the
// engine found.
func lostOver(d *draining.Result) func(t float64) float64 {
	type sums struct {
		t, v  []float64
		total float64
	}
	var all []sums
	add := func(n int, at func(i int) (t, q float64), total float64) {
		s := sums{total: total}
		v := 0.0
		for i := range n {
			t, q := at(i)
			if i > 0 {
				t0, q0 := at(i - 1)
				v += (q + q0) / 2 * (t - t0)
			}
			s.t, s.v = append(s.t, t), append(s.v, v)
		}
		if v > 0 && total > 0 {
			all = append(all, s)
		}
	}
	for k := range d.Valves {
		s := d.Valves[k].Series
		add(len(s), func(i int) (float64, float64) { return s[i].Time, s[i].Leak }, d.Valves[k].Total)
	}
	for k := range d.Openings {
		s := d.Openings[k].Series
		add(len(s), func(i int) (float64, float64) { return s[i].Time, s[i].Flow }, d.Openings[k].Total)
	}
	return func(t float64) float64 {
		sum := 0.0
		for _, s := range all {
			i := sort.SearchFloat64s(s.t, t)
			v := s.v[min(i, len(s.v)-1)]
			if i > 0 && i < len(s.t) {
				v = s.v[i-1] + (s.v[i]-s.v[i-1])*(t-s.t[i-1])/(s.t[i]-s.t[i-1])
			} else if i == 0 {
				v = 0
			}
			sum += v / s.v[len(s.v)-1] * s.total
		}
		return sum
	}
}

// timesOf are the times at which a draining's sums are drawn: evenly, closer together at the start, and at every moment shown.
func timesOf(d *draining.Result) []float64 {
	end := d.StopTime
	for i := range d.Frames {
		end = max(end, d.Frames[i].Time)
	}
	var out []float64
	const n = 120
	for i := range n + 1 {
		u := float64(i) / n
		out = append(out, end*u, end*u*u*u*u)
	}
	for i := range d.Frames {
		out = append(out, d.Frames[i].Time)
	}
	sort.Float64s(out)
	return out
}

// drainSeries are water lost and leak, or outflow where there are openings, over the time.
func drainSeries(d *draining.Result, lost func(float64) float64) []series {
	at := timesOf(d)
	volume := make([]pt, len(at))
	flow := make([]pt, len(at))
	top := 0.0
	for i, t := range at {
		volume[i] = pt{t, lost(t)}
		q := 0.0
		for k := range d.Valves {
			q += leakAt(d.Valves[k].Series, t)
		}
		for k := range d.Openings {
			q += outflowAt(d.Openings[k].Series, t)
		}
		flow[i] = pt{t, q}
		top = max(top, q)
	}
	word := "leak of all valves"
	if len(d.Openings) > 0 {
		word = "outflow"
	}
	out := []series{{name: "water lost", unit: "m³", p: volume}}
	return append(out, flowSeries(word, flow, top))
}

// flowSeries is a flow in the unit that suits its largest value.
func flowSeries(name string, p []pt, top float64) series {
	per, unit := 1e-3, "L/s"
	switch {
	case top < 2e-5:
		per, unit = 1e-3/86400, "L/day"
	case top >= 1:
		per, unit = 1, "m³/s"
	}
	for i := range p {
		p[i].y /= per
	}
	return series{name: name, unit: unit, p: p}
}

func outflowAt(s []draining.Outflow, t float64) float64 {
	i := sort.Search(len(s), func(i int) bool { return s[i].Time > t })
	switch {
	case i == 0:
		return 0
	case i == len(s):
		if t > s[i-1].Time {
			return 0
		}
		return s[i-1].Flow
	}
	p, q := s[i-1], s[i]
	return p.Flow + (q.Flow-p.Flow)*(t-p.Time)/(q.Time-p.Time)
}

// refillStrip is a filling on one route.
func (a *answers) refillStrip(d *refilling.Result, v *view, name string) *strip {
	t := &strip{view: v, name: name, doing: "filling"}
	volume := func(i int) float64 {
		m, _ := momentAt(d.Series, d.Frames[i].Time)
		return m.Volume
	}
	some := fillingFrames(d)
	progress := func(k int) float64 {
		return share(volume(some[k])-volume(0), volume(some[len(some)-1])-volume(0))
	}
	before := math.Inf(-1)
	for _, k := range framesOf(len(some), progress) {
		s := &d.Frames[some[k]]
		f := frame{at: s.Time}
		if m, ok := momentAt(d.Series, s.Time); ok {
			f.under = smallFlow(m.Flow) + " in, " + volumeText(m.Volume) + " in the line"
		}
		for run, w := range s.Water {
			for _, x := range w {
				for _, r := range v.routeSpan(run, x.From, x.To) {
					f.wet = append(f.wet, stretch{r[0], r[1], true})
				}
			}
		}
		f.wet = joinAlike(f.wet)
		for _, p := range s.Pockets {
			ch, ok := v.routeChainage(p.Run, (p.From+p.To)/2)
			if ok && math.Abs(p.Pressure) >= 50 {
				f.notes = append(f.notes, frameNote{ch: ch, mark: markOpen, name: "air", text: pressureText(p.Pressure), rank: math.Abs(p.Pressure)})
			}
		}
		f.notes = append(f.notes, a.closings(d, v, before, s.Time)...)
		before = s.Time
		t.frames = append(t.frames, f)
	}
	if n := len(t.frames); n > 0 { // what shuts after the last moment drawn
		late := a.closings(d, v, before, math.Inf(1))
		for i := range late {
			late[i].text = strings.Replace(late[i].text, "shut ", "shuts ", 1)
		}
		t.frames[n-1].notes = append(t.frames[n-1].notes, late...)
	}
	t.series = a.refillSeries(d)
	t.narrow()
	t.telling()
	return t
}

// fillingFrames are the moments of a filling that may be drawn: all until the line is full, the first after it, and the last.
func fillingFrames(d *refilling.Result) (some []int) {
	after := 0
	for i := range d.Frames {
		if d.TimeToFull > 0 && d.Frames[i].Time > 1.02*d.TimeToFull {
			if after++; after > 1 && i < len(d.Frames)-1 {
				continue
			}
		}
		some = append(some, i)
	}
	return some
}

// closings are the valves of a route that shut after one time and until another: when, and what the water did there.
func (a *answers) closings(d *refilling.Result, v *view, from, to float64) (out []frameNote) {
	for k := range d.Valves {
		q := &d.Valves[k]
		ch, ok := v.routeChainage(q.Run, q.Chainage)
		if !ok || q.Time <= from || q.Time > to || q.Shut == refilling.WetBefore || q.Time == 0 {
			continue
		}
		n := frameNote{ch: ch, mark: markTight, name: a.no(q.Name), text: "shut after " + durationText(q.Time), rank: 1e9 + q.Slam}
		if q.Shut == refilling.ByAir {
			n.mark, n.text = markFails, "shut by air after "+durationText(q.Time)
		}
		if q.LastAir {
			n.more = speeds(q)
			if q.Slam >= leastSlam {
				n.more += ", slam " + headText(q.Slam) + " m"
			}
		}
		out = append(out, n)
	}
	return out
}

// leastSlam is what is not told any more, m.
const leastSlam = 0.05

// speeds are the water's velocities before and beyond a valve as its last air leaves.
func speeds(q *refilling.Valve) string {
	return fixed(q.Before, 2) + ", then " + fixed(q.After, 2) + " m/s"
}

// pressureText writes a gauge pressure.
func pressureText(p float64) string {
	if math.Abs(p) >= 2e5 {
		return significant(p/1e5, 3) + " bar"
	}
	return significant(p/1e3, 2) + " kPa"
}

func momentAt(s []refilling.Moment, t float64) (refilling.Moment, bool) {
	if len(s) == 0 {
		return refilling.Moment{}, false
	}
	i := sort.Search(len(s), func(i int) bool { return s[i].Time >= t })
	return s[min(i, len(s)-1)], true
}

// refillSeries are the flow into the line, the water it holds, and the largest pocket pressure.
func (a *answers) refillSeries(d *refilling.Result) []series {
	var flow, volume, air []pt
	top := 0.0
	at := make([]float64, 0, len(d.Series))
	for _, m := range d.Series {
		flow, volume = append(flow, pt{m.Time, m.Flow}), append(volume, pt{m.Time, m.Volume})
		top = max(top, m.Flow)
		at = append(at, m.Time)
	}
	out := []series{flowSeries("flow into the line", flow, top), {name: "water in the line", unit: "m³", p: volume, floats: true}}
	for i := range d.Pockets {
		for _, q := range d.Pockets[i].Trace {
			at = append(at, q.Time)
		}
	}
	sort.Float64s(at)
	if n := len(at) / 2000; n > 1 { // more than any drawing shows
		var some []float64
		for i := 0; i < len(at); i += n {
			some = append(some, at[i])
		}
		at = some
	}
	air = largestPocket(d.Pockets, at)
	if len(air) < 2 {
		return out
	}
	s := series{name: "largest pocket pressure", unit: "kPa", p: air, limitText: "rating"}
	for i := range a.Line.Runs {
		for _, c := range a.Line.Runs[i].Sections {
			if c.Rating > 0 && (s.limit == 0 || c.Rating/1e3 < s.limit) {
				s.limit = c.Rating / 1e3
			}
		}
	}
	return append(out, s)
}

// largestPocket is the largest pressure of all pockets, kPa, at rising times; each pocket is walked through once.
func largestPocket(p []refilling.Pocket, at []float64) []pt {
	out := make([]pt, len(at))
	for i := range at {
		out[i].x = at[i]
	}
	some := false
	for k := range p {
		tr := p[k].Trace
		j := 0
		for i, t := range at {
			for j < len(tr) && tr[j].Time <= t {
				j++
			}
			if j == 0 || j == len(tr) && t > tr[j-1].Time {
				continue
			}
			v := tr[j-1].Pressure
			if j < len(tr) {
				v += (tr[j].Pressure - v) * (t - tr[j-1].Time) / (tr[j].Time - tr[j-1].Time)
			}
			some = true
			out[i].y = max(out[i].y, v/1e3)
		}
	}
	if !some {
		return nil
	}
	return out
}

// balanceText writes how well a balance closes: "7·10⁻¹⁶".
func balanceText(v float64) string {
	if v == 0 {
		return "0"
	}
	e := int(math.Floor(math.Log10(math.Abs(v))))
	if e >= -2 {
		return significant(v, 1)
	}
	raised := strings.NewReplacer("-", "⁻", "0", "⁰", "1", "¹", "2", "²", "3", "³", "4", "⁴", "5", "⁵", "6", "⁶", "7", "⁷", "8", "⁸", "9", "⁹")
	return fixed(v/math.Pow(10, float64(e)), 0) + "·10" + raised.Replace(fmt.Sprint(e))
}
