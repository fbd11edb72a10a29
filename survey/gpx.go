package survey

import (
	"fmt"

	"obvert/document"
	"obvert/formats/gpx"
	"obvert/survey/geodesy"
)

// GPX reads tracks and routes with heights. It is a [Reader]. Each track and route becomes a track of points; the segments of one are joined
// in the file's order, with the gaps told. Nothing is smoothed. What a height of such a file is worth is said with every reading.
func GPX(file string, data []byte, o Options) (Reading, document.Faults) {
	g := &document.Gather{File: file}
	f, faults := gpx.Read(file, data)
	for _, x := range faults {
		g.Add(x)
	}
	if g.Fatal {
		return Reading{}, g.All()
	}
	r := Reading{File: file, Format: "GPX"}
	for i, t := range f.Tracks {
		name := t.Name
		kind := "track"
		if t.Route {
			kind = "route"
		}
		if name == "" {
			name = fmt.Sprintf("%s %d", kind, i+1)
		}
		gpxTrack(g, &r, name, kind, t, o)
	}
	left := func(n int, one, many, why string) {
		if n > 0 {
			r.Left = append(r.Left, plural(n, one, many)+why)
		}
	}
	left(f.Waypoints, "waypoint", "waypoints", ": lone points make no line")
	left(f.Empty, "track or route", "tracks or routes", " without points")
	if len(r.Tracks) == 0 && !g.Fatal {
		g.Add(document.Fault{What: "no track and no route of two points or more", Hint: "write the way of the pipe as a track with heights"})
	}
	tellHandheld(g, &r, f.Geoid)
	if g.Fatal {
		return Reading{}, g.All()
	}
	r.Took, r.Left = sentences(r.Took), sentences(r.Left)
	return r, g.All()
}

// gpxTrack adds one track.
func gpxTrack(g *document.Gather, r *Reading, name, kind string, t gpx.Track, o Options) {
	n := 0
	for _, s := range t.Segments {
		n += len(s)
	}
	points := make([]Point, 0, n)
	gaps, widest, widestAt := 0, 0.0, 0
	for _, s := range t.Segments {
		for k, p := range s {
			q := Point{Lat: p.Lat, Lon: p.Lon, Level: p.Ele, HasLevel: p.HasEle, Where: int(p.Line)}
			if k == 0 && len(points) > 0 {
				gaps++
				if d := apart(points[len(points)-1], q); d > widest {
					widest, widestAt = d, q.Where
				}
			}
			points = append(points, q)
		}
	}
	if t.Back > 0 {
		g.Warn("survey.time-back", t.BackLine, plural(t.Back, "point", "points")+" of "+name+" earlier than the point before", "the first in this line",
			"the points may be out of order, or two tracks may be in one; they were taken in the file's order")
	}
	points, same, _ := dropSame(points, false)
	points, stands := dropStands(points)
	if len(points) < 2 {
		r.Left = append(r.Left, name+": a "+kind+" of one place")
		return
	}
	track := Track{Name: name, Points: points, HasGeographic: true, LevelKind: o.LevelKind, Noise: HandheldNoise}
	said := chainEarth(&track, geodesy.WGS84, "latitude and longitude (WGS 84)")
	length := points[len(points)-1].Chainage
	if length > longestTrack {
		g.Add(document.Fault{Line: t.Line, What: name + " is " + metres(length, 0) + " long", Understood: "longer than from pole to equator",
			Hint: "are latitude and longitude right?"})
		return
	}
	r.Took = append(r.Took, fmt.Sprintf("%s %q: %s with heights from %s; %s", kind, name, plural(len(points), "point", "points"), heightsText(points), said))
	if same > 0 {
		r.Left = append(r.Left, name+": "+plural(same, "point", "points")+" at the very place of the point before")
	}
	tellStands(g, r, name, stands)
	if gaps > 0 {
		g.Warn("survey.segments", widestAt, name+" is in "+plural(gaps+1, "segment", "segments"), "the widest gap, "+metres(widest, 0)+", ends in this line",
			"the gaps were bridged straight: high points in them are not known")
	}
	tellHeights(g, name, points)
	tellSteps(g, name, track)
	tellReturn(g, name, track)
	tellTurns(g, name, track)
	with, _, _, _ := heights(points)
	share := float64(with) / float64(len(points))
	track.Score = 0.4 * share
	track.Why = "a " + kind + " by satellite: it shows the shape, its heights are worth metres"
	if share == 0 {
		track.Why = "a " + kind + " without heights"
	}
	if t.Route {
		track.Score /= 2 // planned on a map, its few points are turns of the way, not of the ground
		track.Why = "a route: its points are turns of the way"
	}
	r.Tracks = append(r.Tracks, track)
}

// heightsText is "412.3 m to 498.0 m".
func heightsText(points []Point) string {
	with, lowest, highest, _ := heights(points)
	if with == 0 {
		return "none"
	}
	return metres(lowest, 1) + " to " + metres(highest, 1)
}

// tellHandheld says what the heights of a GPX file are worth.
func tellHandheld(g *document.Gather, r *Reading, geoid bool) {
	any := false
	for _, t := range r.Tracks {
		with, _, _, _ := heights(t.Points)
		any = any || with > 0
	}
	if !any {
		return
	}
	understood := "a standard uncertainty of " + metres(HandheldNoise, 1) + ", and an unknown zero: heights above the ellipsoid and above the sea differ by up to 100 m, the file does not say which these are, " +
		"and without a model of the geoid one cannot be made of the other here"
	if geoid {
		understood += " (it gives heights of the geoid for some points; they were not added, since it does not say whether they already are)"
	}
	g.Warn("survey.gps-height", 0, "heights of a satellite receiver show the shape of the ground and can site nothing", understood,
		"an air valve seals at some 0.2 m of head: survey the high points by level or total station before any valve is judged. Nothing was smoothed")
}
