package survey

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"obvert/document"
	"obvert/formats/geojson"
	"obvert/quantity"
	"obvert/survey/geodesy"
)

// levelKeys are the properties of a point feature that are taken for its level in metres where its coordinates have none, the first
// that is there.
var levelKeys = []string{"level", "elevation", "ele", "z", "height", "altitude", "alt"}

// GeoJSON reads lines and chains of points. It is a [Reader]. Each line becomes a track, the parts of one joined in the file's order with the gaps
// told; point features without any line become one track in the file's order. Coordinates are longitude and latitude (RFC 7946), or
// those of a plane grid that the file names: these are turned back into positions, so that chainage is a length on the ground also
// where the grid is Web Mercator. Plane coordinates of a grid that is not named are refused, unless the user gives their unit.
func GeoJSON(file string, data []byte, o Options) (Reading, document.Faults) {
	g := &document.Gather{File: file}
	f, faults := geojson.Read(file, data, levelKeys)
	for _, x := range faults {
		g.Add(x)
	}
	if g.Fatal {
		return Reading{}, g.All()
	}
	r := Reading{File: file, Format: "GeoJSON"}
	c := chains(f)
	j := &jsonReader{g: g, r: &r, o: o, crs: f.CRS, epsg: f.EPSG}
	if len(c) == 0 {
		g.Add(document.Fault{What: "no line and no chain of points in it", Understood: fmt.Sprintf("%s, %s", plural(len(f.Points), "point", "points"), plural(f.Areas, "area", "areas")),
			Hint: "write the way of the pipe as a LineString with heights"})
		return Reading{}, g.All()
	}
	if j.understand(c) {
		for _, l := range c {
			j.track(l)
		}
	}
	if len(r.Tracks) == 0 && !g.Fatal {
		g.Add(document.Fault{What: "no line of two places or more"})
	}
	if g.Fatal {
		return Reading{}, g.All()
	}
	left := func(n int, one, many, why string) {
		if n > 0 {
			r.Left = append(r.Left, plural(n, one, many)+why)
		}
	}
	if len(f.Lines) > 0 {
		left(len(f.Points), "point feature", "point features", ": there are lines in the file")
	}
	left(f.Areas, "area", "areas", ": no lines")
	left(f.Empty, "feature", "features", " without a geometry")
	left(f.Odd, "object", "objects", " of a type that is not known")
	j.tellZero()
	r.Took, r.Left = sentences(r.Took), sentences(r.Left)
	return r, g.All()
}

// chain is a line as far as the format tells.
type chain struct {
	name, kind string
	line       int
	parts      [][]geojson.Position
	keys       []string
}

// chains are the lines of a file, or its points as one.
func chains(f geojson.File) (all []chain) {
	for i, l := range f.Lines {
		name := l.Name
		if name == "" {
			name = fmt.Sprintf("line %d", i+1)
		}
		all = append(all, chain{name, "line", l.Line, l.Parts, l.Keys})
	}
	if len(all) > 0 || len(f.Points) < 2 {
		return all
	}
	points := make([]geojson.Position, len(f.Points))
	for i, p := range f.Points {
		points[i] = p.Position
		for _, v := range p.Figures {
			if !points[i].HasZ && !math.IsNaN(v) {
				points[i].Z, points[i].HasZ = v, true
			}
		}
	}
	return []chain{{"points", "chain of points", int(points[0].Line), [][]geojson.Position{points}, nil}}
}

// jsonReader turns lines into tracks.
type jsonReader struct {
	g    *document.Gather
	r    *Reading
	o    Options
	crs  string
	epsg int

	grid    *geodesy.Grid // coordinates are of this grid
	swapped bool          // latitude comes first
	plane   float64       // m per unit of plane coordinates of no known grid; 0: they are none
}

// understand finds out what the coordinates are.
func (j *jsonReader) understand(all []chain) bool {
	var x, y, line = 0.0, 0.0, 0
	for _, c := range all {
		for _, part := range c.parts {
			for _, p := range part {
				if math.Abs(p.X) > x {
					x, line = math.Abs(p.X), int(p.Line)
				}
				y = max(y, math.Abs(p.Y))
			}
		}
	}
	if j.epsg != 0 && !geodesy.Geographic(j.epsg) {
		grid, err := geodesy.GridOf(j.epsg)
		if err == nil {
			j.grid = &grid
			return true
		}
		if j.o.PlanUnit == "" {
			j.g.Add(document.Fault{Key: "crs", What: "a grid that is not known here", Understood: quantity.Quote(document.Shown(j.crs, 60)),
				Hint: "send the line in longitude and latitude, as RFC 7946 asks, or say --plan-unit m: its plane coordinates are then taken for lengths on the ground"})
			return false
		}
	}
	switch {
	case x <= 360 && y <= 90:
		return true
	case x <= 90 && y <= 360:
		j.swapped = true
		j.g.Warn("survey.swapped", line, "latitude and longitude are swapped", fmt.Sprintf("second figures go up to %s, which no latitude does; read with the latitude first", quantity.Number(y, 4)),
			"GeoJSON has the longitude first (RFC 7946): check that the line is where it should be")
		return true
	}
	if j.o.PlanUnit != "" {
		if v, ok := unitLength(j.o.PlanUnit); ok {
			j.plane = v
			j.g.Warn("survey.plane", line, "plane coordinates of a grid that is not named", "taken for lengths on the ground in "+j.o.PlanUnit,
				"in Web Mercator metres they would be too long: by half at 48° of latitude, twice at 60°; in a national grid by up to 0.1 %")
			return true
		}
	}
	j.g.Add(document.Fault{Line: line, What: "coordinates that are no degrees", Understood: "figures up to " + quantity.Number(x, 1) + " and " + quantity.Number(y, 1) + ", and no grid named",
		Hint: "send the line in longitude and latitude, as RFC 7946 asks, or name the grid: \"crs\": {\"type\": \"name\", \"properties\": {\"name\": \"urn:ogc:def:crs:EPSG::25832\"}}. In Web Mercator metres (EPSG:3857) lengths would be up to twice too long, so that none is guessed"})
	return false
}

// point makes a point of a position.
func (j *jsonReader) point(p geojson.Position) (Point, bool) {
	q := Point{Level: p.Z, HasLevel: p.HasZ, Where: int(p.Line)}
	switch {
	case j.grid != nil:
		q.East, q.North = p.X, p.Y
		lat, lon, ok := j.grid.Position(p.X, p.Y)
		q.Lat, q.Lon = lat, lon
		if !ok {
			j.g.Repeated("outside", q.Where, document.FaultSeverity, func() document.Fault {
				return document.Fault{What: "a point outside its grid", Understood: fmt.Sprintf("%s, %s in %s", quantity.Number(p.X, 1), quantity.Number(p.Y, 1), j.grid.Name),
					Hint: "is the grid named right, and the easting first?"}
			})
		}
		return q, ok
	case j.plane != 0:
		q.East, q.North = p.X*j.plane, p.Y*j.plane
	case j.swapped:
		q.Lat, q.Lon = p.X, p.Y
	default:
		q.Lat, q.Lon = p.Y, p.X
	}
	return q, true
}

// gap is the distance of two points.
func (j *jsonReader) gap(a, b Point) float64 {
	if j.plane != 0 {
		return math.Hypot(b.East-a.East, b.North-a.North)
	}
	return apart(a, b)
}

// track adds the track of a line.
func (j *jsonReader) track(c chain) {
	n := 0
	for _, part := range c.parts {
		n += len(part)
	}
	points := make([]Point, 0, n)
	gaps, widest, widestAt := 0, 0.0, 0
	for _, part := range c.parts {
		for k, p := range part {
			q, ok := j.point(p)
			if !ok {
				continue
			}
			if k == 0 && len(points) > 0 {
				if d := j.gap(points[len(points)-1], q); d > 0.01 { // parts that touch make no gap
					gaps++
					if d > widest {
						widest, widestAt = d, q.Where
					}
				}
			}
			points = append(points, q)
		}
	}
	if j.g.Fatal {
		return
	}
	points, same := j.dropSame(points)
	if len(points) < 2 {
		j.r.Left = append(j.r.Left, c.name+": a "+c.kind+" of one place")
		return
	}
	t := Track{Name: c.name, Points: points, LevelKind: j.o.LevelKind}
	said := j.chain(&t)
	if length := points[len(points)-1].Chainage; !(length <= longestTrack) || length == 0 {
		j.g.Add(document.Fault{Line: c.line, What: c.name + " is " + metres(length, 0) + " long", Understood: "no pipeline is", Hint: "are longitude and latitude right?"})
		return
	}
	took := fmt.Sprintf("%s %q: %s with heights from %s; %s", c.kind, c.name, plural(len(points), "point", "points"), heightsText(points), said)
	if t.HasGeographic {
		took += "; it begins at " + placeText(points[0])
	}
	j.r.Took = append(j.r.Took, took)
	if same > 0 {
		j.r.Left = append(j.r.Left, c.name+": "+plural(same, "point", "points")+" at the very place and level of the point before")
	}
	if len(c.keys) > 0 {
		j.r.Left = append(j.r.Left, c.name+": its properties "+strings.Join(c.keys, ", "))
	}
	if gaps > 0 {
		j.g.Warn("survey.segments", widestAt, c.name+" is in parts that do not touch", plural(gaps, "gap", "gaps")+", the widest, "+metres(widest, 1)+", ends in this line",
			"the gaps were bridged straight, in the file's order: check that the parts follow one another")
	}
	tellHeights(j.g, c.name, points)
	tellSteps(j.g, c.name, t)
	if j.plane == 0 {
		tellReturn(j.g, c.name, t)
		tellTurns(j.g, c.name, t)
	}
	with, _, _, _ := heights(points)
	share := float64(with) / float64(len(points))
	t.Score, t.Why = 0.6*share, "a "+c.kind+" with heights"
	if c.kind != "line" {
		t.Score = 0.5 * share
	}
	if share == 0 {
		t.Why = "a " + c.kind + " without heights"
	}
	j.r.Tracks = append(j.r.Tracks, t)
}

// dropSame leaves out points that say again what the point before says.
func (j *jsonReader) dropSame(points []Point) ([]Point, int) {
	if j.plane == 0 {
		out, n, _ := dropSame(points, true)
		return out, n
	}
	before := len(points)
	points = slices.CompactFunc(points, func(a, b Point) bool {
		return a.East == b.East && a.North == b.North && (a.Level == b.Level || !a.HasLevel || !b.HasLevel)
	})
	return points, before - len(points)
}

// chain gives the track its chainages and returns how the reading tells of it.
func (j *jsonReader) chain(t *Track) string {
	if j.plane != 0 {
		t.HasPlan, t.HasChainage = true, true
		t.Chainages = "distance from point to point in plane coordinates"
		for i := 1; i < len(t.Points); i++ {
			t.Points[i].Chainage = t.Points[i-1].Chainage + j.gap(t.Points[i-1], t.Points[i])
		}
		return "chainage is the " + t.Chainages + ": " + metres(t.Points[len(t.Points)-1].Chainage, 1)
	}
	if j.grid == nil {
		t.HasGeographic = true
		return chainEarth(t, geodesy.WGS84, "latitude and longitude (WGS 84)")
	}
	t.HasPlan = true
	said := chainEarth(t, j.grid.Ellipsoid(), "coordinates in "+j.grid.Name)
	inGrid := 0.0
	for i := 1; i < len(t.Points); i++ {
		inGrid += math.Hypot(t.Points[i].East-t.Points[i-1].East, t.Points[i].North-t.Points[i-1].North)
	}
	all := t.Points[len(t.Points)-1].Chainage
	said += fmt.Sprintf("; in the grid it would be %s", metres(inGrid, 1))
	if inGrid > 0 {
		said += fmt.Sprintf(", a metre of the grid being worth %s m on the ground", quantity.Number(all/inGrid, 6))
	}
	if j.grid.Mercator {
		j.g.Warn("survey.web-mercator", t.Points[0].Where, "coordinates in Web Mercator, whose metres are not those of the ground",
			metres(inGrid, 0)+" of the map are "+metres(all, 0)+" on the ground", "chainage was reckoned on the ground; a map of this kind often has its places to a few metres only")
	}
	return said
}

// placeText is "47.1000° N, 10.2000° E".
func placeText(p Point) string {
	ns, ew := "N", "E"
	if p.Lat < 0 {
		ns = "S"
	}
	if p.Lon < 0 {
		ew = "W"
	}
	return fmt.Sprintf("%s° %s, %s° %s", quantity.Number(math.Abs(p.Lat), 4), ns, quantity.Number(math.Abs(p.Lon), 4), ew)
}

// tellZero says of what heights in GeoJSON are.
func (j *jsonReader) tellZero() {
	for _, t := range j.r.Tracks {
		with, _, _, _ := heights(t.Points)
		if with == 0 || !t.HasGeographic {
			continue
		}
		j.g.Warn("survey.ellipsoid-height", 0, "heights of GeoJSON are above the WGS 84 ellipsoid by its definition (RFC 7946, 4), and above the sea in many files",
			"the two differ by up to 100 m, by nearly the same along one line; the file does not say which these are, and nothing was converted",
			"compare with a benchmark before tank and sump levels are written beside them; how good the heights are the file does not say either: a valve seals at some 0.2 m of head")
		return
	}
}
