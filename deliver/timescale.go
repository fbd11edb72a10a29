package deliver

import "math"

// timeScale is how a time runs along a drawing: evenly, or, where most passes in a small part of it, by its cube root.
type timeScale struct {
	end  float64 // s
	root bool
}

// early is the share of the whole time within which half of all change must have passed, in most of the series, for the time to
// be drawn by its root.
const early = 0.05

// timeScale chooses the scale for the strip's series.
func (t *strip) timeScale(end float64) timeScale {
	k := timeScale{end: max(end, 1e-9)}
	n := 0
	for i := range t.series {
		if halfPassed(t.series[i].p) < early*k.end {
			n++
		}
	}
	k.root = 2*n > len(t.series)
	return k
}

// halfPassed is the time by which half of what a line rises and falls in all has passed; it is infinite where it does neither.
func halfPassed(p []pt) float64 {
	sum := 0.0
	for i := 1; i < len(p); i++ {
		sum += math.Abs(p[i].y - p[i-1].y)
	}
	if sum == 0 {
		return math.Inf(1)
	}
	part := 0.0
	for i := 1; i < len(p); i++ {
		if part += math.Abs(p[i].y - p[i-1].y); part >= sum/2 {
			return p[i].x
		}
	}
	return math.Inf(1)
}

// at is the place of a time, from 0 to 1.
func (k timeScale) at(t float64) float64 {
	u := min(max(t/k.end, 0), 1)
	if k.root {
		return math.Cbrt(u)
	}
	return u
}

// roundTimes are times that read well, s.
var roundTimes = []float64{1, 10, 60, 300, 900, 1800, 3600, 3 * 3600, 6 * 3600, 12 * 3600, 86400, 3 * 86400, 10 * 86400, 30 * 86400, 100 * 86400, 365 * 86400}

// across draws the scale under a plot whose width is the whole time.
func (k timeScale) across(q *plot, f form) {
	if k.root {
		at := []float64{0}
		words := []string{"0"}
		last := 0.0
		for _, t := range roundTimes {
			if x := k.at(t); t <= k.end && (x-last)*(q.x1-q.x0) > 58 {
				at, words, last = append(at, x), append(words, durationText(t)), x
			}
		}
		q.acrossAt(at, func(v float64) string {
			for i := range at {
				if at[i] == v {
					return words[i]
				}
			}
			return ""
		}, "")
		s := "time drawn by its cube root"
		if f.bands {
			q.c.lines(0, q.y1+17, 13, faceNote.wrap(s, q.x0-24), faceNote, setting{})
		} else {
			q.c.text(q.x1, q.y1+33, s, faceNote, setting{at: end})
		}
		return
	}
	unit := unitOf(k.end)
	n := 8
	if !f.bands {
		n = 4
	}
	at, dec := unit.ticks(k.end/unit.seconds, n)
	for i := range at {
		at[i] *= unit.seconds / k.end
	}
	q.acrossAt(at, func(v float64) string { return groupedFixed(v*k.end/unit.seconds, dec) }, unit.name)
}

// timeUnit is a unit of time in which a span is drawn.
type timeUnit struct {
	seconds float64
	name    string
}

// ticks are times that read well in the unit, from nought to end, about n of them: minutes and seconds by sixtieths, hours by
// parts of a day.
func (u timeUnit) ticks(end float64, n int) (at []float64, decimals int) {
	for _, step := range u.steps() {
		if end/step <= float64(n) {
			for k := 0; float64(k)*step <= end*(1+1e-9); k++ {
				at = append(at, float64(k)*step)
			}
			if step != math.Trunc(step) {
				decimals = 1
			}
			return at, decimals
		}
	}
	return ticks(0, end, n)
}

func (u timeUnit) steps() []float64 {
	switch u.name {
	case "s", "min":
		return []float64{0.5, 1, 2, 5, 10, 15, 20, 30, 60}
	case "h":
		return []float64{0.5, 1, 2, 3, 6, 12}
	}
	return nil
}

// unitOf is the unit in which a span of so many seconds reads best.
func unitOf(s float64) timeUnit {
	switch {
	case s < 180:
		return timeUnit{1, "s"}
	case s < 2*3600:
		return timeUnit{60, "min"}
	case s < 3*86400:
		return timeUnit{3600, "h"}
	}
	return timeUnit{86400, "d"}
}
