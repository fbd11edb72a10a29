package survey

import (
	"fmt"
	"math"
	"strings"
	"unicode"
	"unicode/utf8"

	"obvert/document"
	"obvert/quantity"
	"obvert/survey/geodesy"
)

// HandheldNoise is the standard uncertainty in m of a height from a handheld satellite receiver: half of the 13 m within which 95 % of heights lie
// on an average of the globe, by the GPS Standard Positioning Service Performance Standard, 5th ed., US Department of
// Defense 2020, table 3.8-3 (from memory). Errors of the receiver and of its surroundings come on top. It holds against the sea's level;
// from point to point of one track heights are better, a metre or two (common practice, no source).
const HandheldNoise = 6.5

// Standing still: a receiver that does not move wanders by some metres and lengthens the track by every one of them. Points that stay within
// standRadius of one place while the track is longer than standPath are taken for that. A pipe that winds so is none. Both are common
// practice, no source.
const (
	standRadius = 15.0 // m
	standPath   = 60.0 // m
	standPoints = 20
)

// longStep is the distance of two points from which on the reader says that the ground between them is not known, m.
const longStep = 1000.0

// longestTrack is the length in m beyond which no track is a pipeline: a quarter of a meridian, as for a profile.
const longestTrack = 1e7

// plural is "1 point" or "3,000 points".
func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return quantity.Grouped(float64(n)) + " " + many
}

// metres writes a length in m with so many decimals.
func metres(v float64, decimals int) string { return quantity.Format(v, "m", decimals) }

// positions carries the points to their heights. One without takes the height of the nearest known before it, else after it, else 0: it
// matters 0.16 mm in each km for a metre.
func positions(points []Point) []geodesy.Position {
	out := make([]geodesy.Position, len(points))
	h := 0.0
	for i := range points {
		if points[i].HasLevel {
			h = points[i].Level
			break
		}
	}
	for i, p := range points {
		if p.HasLevel {
			h = p.Level
		}
		out[i] = geodesy.Position{Lat: p.Lat, Lon: p.Lon, Height: h}
	}
	return out
}

// chainEarth gives the points their chainages along the ground and returns how a reading tells of it. from says what latitude and
// longitude were made of.
func chainEarth(t *Track, e geodesy.Ellipsoid, from string) string {
	pos := positions(t.Points)
	sphere, ellipsoid := 0.0, 0.0
	for i, s := range e.Chainages(pos) {
		t.Points[i].Chainage = s
		pos[i].Height = 0
		if i > 0 {
			sphere += geodesy.GreatCircle(pos[i-1], pos[i])
			ellipsoid += e.Level(pos[i-1], pos[i]) // at height 0: the geodesic, to 1e-9
		}
	}
	t.HasChainage = true
	t.Chainages = "level distance on the ground from point to point, from " + from
	all := t.Points[len(t.Points)-1].Chainage
	return "chainage is the " + t.Chainages + ": " + metres(all, 1) + "; on the ellipsoid at height 0 it would be " + metres(ellipsoid, 1) + ", on a sphere " + metres(sphere, 1)
}

// apart is the distance in m of two near points, on a sphere and flat: to tell near from far.
func apart(a, b Point) float64 {
	const degree = math.Pi / 180 * geodesy.MeanRadius
	dy := (b.Lat - a.Lat) * degree
	dx := math.Remainder(b.Lon-a.Lon, 360) * degree * math.Cos(a.Lat*math.Pi/180)
	return math.Hypot(dx, dy)
}

// dropSame leaves out points at the very place of the point before. With steps, one of another level stays: a vertical step.
func dropSame(points []Point, steps bool) (out []Point, dropped, first int) {
	out = points[:0:0]
	for i, p := range points {
		if i > 0 {
			last := &out[len(out)-1]
			if p.Lat == last.Lat && p.Lon == last.Lon && (!steps || !p.HasLevel || !last.HasLevel || p.Level == last.Level) {
				if dropped++; dropped == 1 {
					first = p.Where
				}
				if p.HasLevel && !last.HasLevel {
					last.Level, last.HasLevel = p.Level, true
				}
				continue
			}
		}
		out = append(out, p)
	}
	return out, dropped, first
}

// stand is a stretch of a track on which the receiver stood still.
type stand struct {
	points   int     // left out
	length   float64 // m of track they made
	from, to int     // where in the file
}

// dropStands leaves out the points of a receiver that stood still: of each such stretch the first point stays.
func dropStands(points []Point) (out []Point, stands []stand) {
	for i := 0; i < len(points); {
		path, j := 0.0, i+1
		for j < len(points) && apart(points[i], points[j]) <= standRadius {
			path += apart(points[j-1], points[j])
			j++
			if path > standPath && j-i > standPoints {
				break
			}
		}
		if !(path > standPath && j-i > standPoints) {
			// A stretch that ends is not looked at again from each of its points: a quarter of it is enough to find a stand.
			next := i + 1 + (j-i)/4
			out = append(out, points[i:min(next, len(points))]...)
			i = next
			continue
		}
		for j < len(points) && apart(points[i], points[j]) <= standRadius {
			path += apart(points[j-1], points[j])
			j++
		}
		out = append(out, points[i])
		stands = append(stands, stand{j - i - 1, path, points[i+1].Where, points[j-1].Where})
		i = j
	}
	return out, stands
}

// tellStands tells of stretches on which the receiver stood.
func tellStands(g *document.Gather, r *Reading, name string, stands []stand) {
	if len(stands) == 0 {
		return
	}
	count, length := 0, 0.0
	for _, s := range stands {
		count += s.points
		length += s.length
		g.Repeated("stand", s.from, document.WarningSeverity, func() document.Fault {
			return document.Fault{ID: "survey.standing", What: "the receiver stood still here while it went on writing points",
				Understood: fmt.Sprintf("%s to line %d wander within %s of one place and would add %s to the chainage",
					plural(s.points, "point", "points"), s.to, metres(standRadius, 0), metres(s.length, 0)),
				Hint: "they were left out, the first stays"}
		})
	}
	r.Left = append(r.Left, name+": "+plural(count, "point", "points")+" written while standing still, at "+plural(len(stands), "place", "places")+
		", which would have added "+metres(length, 0)+" of chainage that no pipe has")
}

// heights counts the points of a track with a level.
func heights(points []Point) (with int, lowest, highest float64, firstWithout int) {
	lowest, highest = math.Inf(1), math.Inf(-1)
	for _, p := range points {
		if !p.HasLevel {
			if firstWithout == 0 {
				firstWithout = p.Where
			}
			continue
		}
		with++
		lowest, highest = min(lowest, p.Level), max(highest, p.Level)
	}
	return with, lowest, highest, firstWithout
}

// tellHeights tells of missing heights, of heights that are all the same and of heights that are no levels in metres.
func tellHeights(g *document.Gather, name string, points []Point) {
	with, lowest, highest, without := heights(points)
	where := points[0].Where
	switch {
	case with == 0:
		g.Warn("survey.no-height", where, name+" has no heights", plural(len(points), "point", "points")+" of latitude and longitude alone",
			"it can give the way of a line, not its long section")
	case with < len(points):
		g.Warn("survey.missing-height", without, plural(len(points)-with, "point", "points")+" of "+name+" without a height",
			"of "+quantity.Grouped(float64(len(points)))+"; the first in this line", "levels between the points that have one are read off the straight line between these")
	}
	switch {
	case with > 1 && lowest == highest:
		g.Warn("survey.flat", where, name+": all heights are the same", metres(lowest, 2), "a program may have written it in place of heights that were not known")
	case with > 0 && (lowest < -430 || highest > 9000):
		g.Warn("survey.height-range", where, name+": heights from "+metres(lowest, 0)+" to "+metres(highest, 0), "no ground lies so",
			"feet taken for metres, or a fault of the receiver")
	}
}

// tellSteps tells of points far from one another.
func tellSteps(g *document.Gather, name string, t Track) {
	for i := 1; i < len(t.Points); i++ {
		d := t.Points[i].Chainage - t.Points[i-1].Chainage
		if d <= longStep {
			continue
		}
		g.Repeated("step", t.Points[i].Where, document.WarningSeverity, func() document.Fault {
			return document.Fault{ID: "survey.long-step", What: "two points of " + name + " " + metres(d, 0) + " apart",
				Understood: "chainage " + quantity.FormatChainage(t.Points[i-1].Chainage) + " to " + quantity.FormatChainage(t.Points[i].Chainage),
				Hint:       "high points between them are not known: survey there"}
		})
	}
}

// mapDistance is the distance in m of two points of a track on the map.
func mapDistance(t Track, a, b Point) float64 {
	if t.HasPlan {
		return math.Hypot(a.East-b.East, a.North-b.North)
	}
	return apart(a, b)
}

// Turning back: a track that goes on for turnLeg each way and comes back within turnNear of where it was. Both are in m, beyond what a
// receiver wanders; common practice, no source.
const (
	turnLeg  = 60.0
	turnNear = 20.0
)

// tellTurns tells of places at which a track turns back on itself, as a walk does that had gone wrong.
func tellTurns(g *document.Gather, name string, t Track) {
	q := t.Points
	before, after := 0, 0 // the stretches of the track turnLeg before and after a point
	ready := q[0].Chainage + turnLeg
	for i := 1; i+1 < len(q); i++ {
		s := q[i].Chainage
		if s < ready || s+turnLeg > q[len(q)-1].Chainage {
			continue
		}
		for q[before+1].Chainage < s-turnLeg {
			before++
		}
		for after = max(after, i); q[after+1].Chainage < s+turnLeg; after++ {
		}
		if mapDistance(t, along(q, before, s-turnLeg), along(q, after, s+turnLeg)) > turnNear {
			continue
		}
		ready = s + turnLeg
		g.Repeated("turn", q[i].Where, document.WarningSeverity, func() document.Fault {
			return document.Fault{ID: "survey.turns-back", What: name + " turns back on itself", Understood: "near chainage " + quantity.FormatChainage(s),
				Hint: "no pipe does: cut out what was walked twice, or its length and its high points count twice"}
		})
	}
}

// along is the place on the map at a chainage between point i and the next.
func along(q []Point, i int, s float64) Point {
	a, b := q[i], q[i+1]
	f := 0.0
	if d := b.Chainage - a.Chainage; d > 0 {
		f = min(max((s-a.Chainage)/d, 0), 1)
	}
	mix := func(x, y float64) float64 { return x + f*(y-x) }
	return Point{East: mix(a.East, b.East), North: mix(a.North, b.North), Lat: mix(a.Lat, b.Lat), Lon: a.Lon + f*math.Remainder(b.Lon-a.Lon, 360)}
}

// tellReturn tells of a track that comes back to where it began.
func tellReturn(g *document.Gather, name string, t Track) {
	if len(t.Points) < 4 {
		return
	}
	first, last := t.Points[0], t.Points[len(t.Points)-1]
	if d := mapDistance(t, first, last); last.Chainage > 500 && d < last.Chainage/20 {
		g.Warn("survey.returns", last.Where, name+" ends "+metres(d, 0)+" from where it began", "after "+metres(last.Chainage, 0),
			"if it was walked there and back, cut it at the far end: each high point stands in it twice")
	}
}

// sentences makes sentences of what was noted in clauses.
func sentences(all []string) []string {
	for i, s := range all {
		first, n := utf8.DecodeRuneInString(s)
		if word, _, _ := strings.Cut(s, " "); strings.ToLower(word) == word { // a name keeps its letters
			s = string(unicode.ToUpper(first)) + s[n:]
		}
		all[i] = strings.TrimSuffix(s, ".") + "."
	}
	return all
}

// unitLength is what a unit of length named by the user is worth in m.
func unitLength(unit string) (float64, bool) {
	if unit == "ftUS" {
		return 1200.0 / 3937, true // the US survey foot, by definition
	}
	v, err := quantity.Parse(quantity.Length, "1 "+unit)
	return v, unit != "" && err == nil && v > 0
}
