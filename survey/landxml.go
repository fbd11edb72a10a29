package survey

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"obvert/document"
	"obvert/formats/landxml"
	"obvert/line"
	"obvert/quantity"
	"obvert/survey/geodesy"
)

// curveTolerance is how far in m, measured vertically, the chords of a vertical curve may be from it where the user states no
// tolerance: what pipes are laid to (common practice, no source).
const curveTolerance = 0.005

// LandXML reads alignments with their profiles, and pipe networks. It is a [Reader]. Each designed profile and each surface's profile of
// an alignment becomes a track whose chainage is the internal station; an alignment without a profile whose points have levels, one by
// its plan; each chain of pipes between ends and branches of a network, one by its inverts.
func LandXML(file string, data []byte, o Options) (Reading, document.Faults) {
	g := &document.Gather{File: file}
	f, faults := landxml.Read(file, data)
	for _, x := range faults {
		g.Add(x)
	}
	if g.Fatal {
		return Reading{}, g.All()
	}
	x := &landReader{g: g, r: Reading{File: file, Format: "LandXML"}, o: o, f: f}
	if x.units() {
		for _, a := range f.Alignments {
			x.alignment(a)
		}
		for _, n := range f.Networks {
			x.network(n)
		}
		x.rest()
	}
	if len(x.r.Tracks) == 0 && !g.Fatal {
		g.Add(document.Fault{What: "no profile and no pipe network in it", Understood: plural(len(f.Alignments), "alignment", "alignments") + ", " +
			plural(f.Surfaces, "terrain model", "terrain models"), Hint: "send the alignment with its profile (ProfAlign), or the pipe network with its inverts"})
	}
	if g.Fatal {
		return Reading{}, g.All()
	}
	x.r.Took, x.r.Left = sentences(x.r.Took), sentences(x.r.Left)
	return x.r, g.All()
}

// landReader turns what a file holds into tracks.
type landReader struct {
	g    *document.Gather
	r    Reading
	o    Options
	f    landxml.File
	m    float64 // m per unit of length
	unit string
	diam float64 // m per unit of diameter
	dunt string
}

// left notes what was left out.
func (x *landReader) left(format string, args ...any) {
	x.r.Left = append(x.r.Left, fmt.Sprintf(format, args...))
}

// units settles what figures are worth. It is never guessed.
func (x *landReader) units() bool {
	u := x.f.Units
	x.m, x.unit = u.Linear, u.LinearName
	if x.m == 0 {
		for _, said := range []string{x.o.LevelUnit, x.o.PlanUnit} {
			if v, ok := unitLength(said); ok {
				x.m, x.unit = v, said
			}
		}
	}
	if x.m == 0 {
		x.g.Add(document.Fault{Key: "Units", What: "the file does not say its unit of length", Hint: "say --level-unit m (or ft, ftUS), or write <Units><Metric linearUnit=\"meter\" …/></Units> into it"})
		return false
	}
	x.diam, x.dunt = u.Diameter, u.DiameterName
	if x.diam == 0 {
		x.diam, x.dunt = x.m, x.unit
	}
	word := "lengths and levels are in " + x.unit
	if x.m != 1 {
		word += fmt.Sprintf(", %.10g m each", x.m)
	}
	x.r.Took = append(x.r.Took, word)
	if u.Imperial && u.Linear != 0 {
		// 2 ppm apart: 0.2 mm in 100 m of level, but 0.6 m in the 300 km of a plane coordinate.
		x.g.Remark("landxml.foot", u.Line, "lengths in "+u.LinearName, "the foot of 0.3048 m and the US survey foot of 1200/3937 m differ by 2 parts in a million: 2 mm in a chainage of 1 km",
			"")
	}
	return true
}

// pointsOf makes points of a profile's stations and levels.
func (x *landReader) pointsOf(all []landxml.StationLevel) (points []Point, repeated, back, backLine int) {
	points = make([]Point, 0, len(all))
	for _, p := range all {
		q := Point{Chainage: p.Station * x.m, Level: p.Level * x.m, HasLevel: true, Where: int(p.Line)}
		if n := len(points); n > 0 {
			last := points[n-1]
			if q.Chainage == last.Chainage && q.Level == last.Level {
				repeated++
				continue
			}
			if q.Chainage < last.Chainage {
				if back++; back == 1 {
					backLine = q.Where
				}
			}
		}
		points = append(points, q)
	}
	return points, repeated, back, backLine
}

// alignment adds the tracks of an alignment.
func (x *landReader) alignment(a landxml.Alignment) {
	name := a.Name
	if name == "" {
		name = fmt.Sprintf("alignment in line %d", a.Line)
	}
	length := 0.0
	for _, e := range a.Elements {
		length += e.Length * x.m
	}
	if len(a.Elements) == 0 {
		length = a.Length * x.m
	}
	before := len(x.r.Tracks)
	for i, d := range a.Designs {
		x.design(name, a, d, i, length)
	}
	for i, s := range a.Surfaces {
		x.surface(name, s, i)
	}
	if len(a.Designs) == 0 && len(a.Surfaces) == 0 {
		x.plan(name, a)
	} else if length > 0 {
		for i := before; i < len(x.r.Tracks); i++ {
			x.againstPlan(name, a, x.r.Tracks[i], length)
		}
	}
	if len(a.Equations) > 0 && len(x.r.Tracks) > before {
		e := a.Equations[0]
		x.g.Warn("landxml.equation", a.Line, name+" has "+plural(len(a.Equations), "station equation", "station equations"),
			fmt.Sprintf("chainage is the continuous station of the file; on drawings %s reads %s from there on", quantity.FormatChainageDecimals(e.Internal*x.m, 1), quantity.FormatChainageDecimals(e.Ahead*x.m, 1)),
			"give places of valves by continuous chainage")
	}
	if a.CrossSections {
		x.left("%s: its cross-sections", name)
	}
	if len(x.r.Tracks) > before {
		x.tellGrid(name, a)
	}
}

// design adds the track of a designed profile.
func (x *landReader) design(name string, a landxml.Alignment, d landxml.ProfAlign, i int, length float64) {
	tolerance := curveTolerance
	if x.o.Tolerance > 0 {
		tolerance = min(x.o.Tolerance, tolerance)
	}
	set, doubts := d.SetOut(tolerance / x.m)
	for _, w := range doubts {
		severity := document.WarningSeverity
		if w.Fatal {
			severity = document.FaultSeverity
		}
		x.g.Repeated("vertical", w.Line, severity, func() document.Fault {
			return document.Fault{ID: "landxml.vertical", Key: "ProfAlign " + document.Shown(d.Name, 40), What: w.What, Hint: "see the design, and send it again"}
		})
	}
	points, repeated, _, _ := x.pointsOf(set)
	title := titled(name, d.Name, "design", i)
	if len(points) < 2 {
		x.left("%s: a profile of %s", title, plural(len(points), "point", "points"))
		return
	}
	curves := 0
	for _, v := range d.Verticals {
		if v.Kind != landxml.PVI {
			curves++
		}
	}
	t := Track{Name: title, Points: points, HasChainage: true, LevelKind: x.kind(d.Name),
		Chainages: "read from the stations of the alignment", Score: 0.9 - 0.01*float64(min(i, 9)), Why: "a designed profile"}
	text := fmt.Sprintf("designed profile %q: %s", title, plural(len(d.Verticals), "point of intersection", "points of intersection"))
	if curves > 0 {
		text += fmt.Sprintf(", %s set out by chords within %s", plural(curves, "vertical curve", "vertical curves"), quantity.Format(tolerance, "mm", 0))
	}
	x.r.Took = append(x.r.Took, text+", "+spanText(points))
	if repeated > 0 {
		x.left("%s: %s twice over", title, plural(repeated, "point", "points"))
	}
	x.add(t)
}

// surface adds the track of the ground.
func (x *landReader) surface(name string, s landxml.Surface, i int) {
	points, repeated, back, backLine := x.pointsOf(s.Points)
	title := titled(name, s.Name, "ground", i)
	if len(points) < 2 {
		x.left("%s: a profile of %s", title, plural(len(points), "point", "points"))
		return
	}
	if back > 0 {
		x.g.Warn("survey.out-of-order", backLine, plural(back, "point", "points")+" of "+title+" with a station before that of the point before", "the first in this line",
			"they were sorted by station")
		slices.SortStableFunc(points, func(a, b Point) int {
			switch {
			case a.Chainage < b.Chainage:
				return -1
			case a.Chainage > b.Chainage:
				return 1
			}
			return 0
		})
	}
	ground := line.LevelGround
	t := Track{Name: title, Points: points, HasChainage: true, LevelKind: &ground,
		Chainages: "read from the stations of the alignment", Score: 0.6 - 0.01*float64(min(i, 9)), Why: "the profile of a surface: the ground, not the pipe"}
	if k := x.kind(s.Name); k != nil && *k != line.LevelGround && s.State != "existing" {
		t.LevelKind, t.Score, t.Why = k, 0.8, "a profile named as one of the pipe"
	}
	x.r.Took = append(x.r.Took, fmt.Sprintf("profile of a surface %q: %s, %s", title, plural(len(points), "point", "points"), spanText(points)))
	if repeated > 0 {
		x.left("%s: %s twice over", title, plural(repeated, "point", "points"))
	}
	x.add(t)
}

// add keeps a track, unless it is longer than any.
func (x *landReader) add(t Track) {
	first, last := t.Points[0], t.Points[len(t.Points)-1]
	if !(math.Abs(first.Chainage) <= longestTrack) || !(math.Abs(last.Chainage) <= longestTrack) {
		x.g.Add(document.Fault{Line: last.Where, What: t.Name + " is longer than any pipeline", Understood: metres(last.Chainage-first.Chainage, 0), Hint: "is the unit of length right?"})
		return
	}
	x.r.Tracks = append(x.r.Tracks, t)
}

// titled is a name for a profile: the alignment's, and its own where it has one or is not the first.
func titled(alignment, own, kind string, i int) string {
	switch {
	case own != "" && own != alignment:
		return alignment + " / " + own
	case i > 0 || kind != "design":
		return fmt.Sprintf("%s / %s %d", alignment, kind, i+1)
	}
	return alignment
}

// spanText is "0+000 to 5+603, 214.5 m to 299.0 m".
func spanText(points []Point) string {
	return "chainage " + quantity.FormatChainage(points[0].Chainage) + " to " + quantity.FormatChainage(points[len(points)-1].Chainage) + ", levels " + heightsText(points)
}

// kind is what a profile's own name says its levels are of, else what the user says.
func (x *landReader) kind(name string) *line.LevelKind {
	words := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return r == ' ' || r == '_' || r == '-' || r == '.' || r == '/' })
	for _, w := range []struct {
		word string
		kind line.LevelKind
	}{
		{"obvert", line.LevelObvert}, {"soffit", line.LevelObvert}, {"crown", line.LevelObvert}, {"invert", line.LevelInvert},
		{"axis", line.LevelAxis}, {"centreline", line.LevelAxis}, {"centerline", line.LevelAxis}, {"ground", line.LevelGround}, {"terrain", line.LevelGround},
	} {
		if slices.Contains(words, w.word) {
			return &w.kind
		}
	}
	return x.o.LevelKind
}

// againstPlan tells where a profile goes beyond its alignment.
func (x *landReader) againstPlan(name string, a landxml.Alignment, t Track, length float64) {
	from, to := a.Start*x.m, a.Start*x.m+length
	first, last := t.Points[0], t.Points[len(t.Points)-1]
	if first.Chainage < from-0.5 || last.Chainage > to+0.5 {
		x.g.Warn("landxml.beyond", first.Where, t.Name+" goes beyond its alignment",
			fmt.Sprintf("%s to %s, the alignment from %s to %s", quantity.FormatChainageDecimals(first.Chainage, 1), quantity.FormatChainageDecimals(last.Chainage, 1),
				quantity.FormatChainageDecimals(from, 1), quantity.FormatChainageDecimals(to, 1)), "one of the two may be of another state of the design")
	}
}

// plan adds the track of an alignment whose points have levels.
func (x *landReader) plan(name string, a landxml.Alignment) {
	var points []Point
	curved := false
	at := a.Start * x.m
	levels := true
	put := func(c landxml.Coord, chainage float64, where int) {
		q := Point{Chainage: chainage, East: c.East * x.m, North: c.North * x.m, Level: c.Level * x.m, HasLevel: c.HasLevel, Where: where}
		if n := len(points); n > 0 && points[n-1].East == q.East && points[n-1].North == q.North && points[n-1].Level == q.Level {
			return
		}
		points = append(points, q)
		levels = levels && q.HasLevel
	}
	for _, e := range a.Elements {
		if e.Kind == landxml.Irregular {
			s := at
			for i, p := range e.Points {
				if i > 0 {
					s += math.Hypot(p.East-e.Points[i-1].East, p.North-e.Points[i-1].North) * x.m
				}
				put(p, s, e.Line)
			}
		} else {
			if e.Start.Is {
				put(e.Start, at, e.Line)
			}
			if e.End.Is {
				put(e.End, at+e.Length*x.m, e.Line)
			}
			curved = curved || e.Kind != landxml.Line
		}
		at += e.Length * x.m
	}
	if len(points) < 2 || !levels {
		x.left("%s: an alignment without a profile and without levels of its own", name)
		return
	}
	t := Track{Name: name, Points: points, HasChainage: true, HasPlan: true, LevelKind: x.o.LevelKind, Chainages: "read from the alignment's geometry", Score: 0.7,
		Why: "an alignment whose points have levels"}
	took := fmt.Sprintf("alignment %q: %s with levels, %s", name, plural(len(points), "point", "points"), spanText(points))
	if curved {
		took += "; its curves count by their lengths"
	}
	x.r.Took = append(x.r.Took, took)
	x.add(t)
}

// tellGrid says what a length of the file's grid is worth on the ground.
func (x *landReader) tellGrid(name string, a landxml.Alignment) {
	grid, err := geodesy.GridOf(x.f.EPSG)
	if err != nil || len(a.Elements) == 0 || !a.Elements[0].Start.Is {
		return
	}
	c := a.Elements[0].Start
	if grid.Mercator {
		x.g.Warn("survey.web-mercator", a.Line, name+" is drawn in Web Mercator, whose metres are not those of the ground", "its stations were taken as they are",
			"they may be up to twice too long: see how they were measured")
		return
	}
	level := x.r.Tracks[len(x.r.Tracks)-1].Points[0].Level
	if f, ok := grid.Ground(c.East*x.m, c.North*x.m, level); ok {
		x.r.Took = append(x.r.Took, fmt.Sprintf("%s: stations are taken as they are; were they measured in %s, a metre of them would be %s m on the ground (scale factor and height), %s in each km",
			name, grid.Name, quantity.Number(f, 6), metres((f-1)*1000, 2)))
	}
}

// network adds the tracks of a pipe network: chains of pipes between ends and branches.
func (x *landReader) network(n landxml.Network) {
	w := &web{x: x, n: n, name: n.Name, node: map[string]int{}}
	if w.name == "" {
		w.name = fmt.Sprintf("network in line %d", n.Line)
	}
	w.run()
}

// rest tells of what else was in the file.
func (x *landReader) rest() {
	if x.f.Surfaces > 0 {
		x.left("%s: the profile along the pipe is wanted, not the model", plural(x.f.Surfaces, "terrain model", "terrain models"))
	}
	if len(x.f.Other) > 0 {
		sort.Strings(x.f.Other)
		x.left("elements that are no geometry of a pipe: %s", strings.Join(x.f.Other, ", "))
	}
}
