// Package geojson reads the lines and points of GeoJSON files.
//
// Source: RFC 7946, The GeoJSON Format (2016): positions are longitude, latitude and, if given, height in metres above the WGS 84
// ellipsoid. The member "crs" of the format's earlier form (2008) is read too, since plane coordinates are sent with it.
package geojson

import (
	"bytes"
	"math"
	"strconv"
	"strings"

	"obvert/document"
)

// Limits of what is read.
const (
	MaxBytes   = 512_000_000
	MaxPoints  = 5_000_000
	MaxLines   = 10_000
	mostNested = 20 // geometry collections and feature collections in one another
)

// Position is one position: X is the longitude and Y the latitude in degrees, unless the file is in a plane grid.
type Position struct {
	X, Y, Z float64
	Line    int32
	HasZ    bool
}

// Line is a chain of positions.
type Line struct {
	Name  string // by its feature's property name, title or id, or the feature's id; may be empty
	Parts [][]Position
	Line  int
	Keys  []string // other properties of its feature, as written, up to 20
}

// Lone is a point feature.
type Lone struct {
	Position
	Figures []float64 // of the properties asked for, in their order; NaN where not there
}

// File is what a file holds.
type File struct {
	Lines  []Line // in the file's order
	Points []Lone // in the file's order
	CRS    string // as written in "crs"; empty where it is not given
	EPSG   int    // of the "crs", 0 where none or not understood; 4326 for CRS84
	Areas  int    // polygons: no lines
	Empty  int    // features and geometries with nothing in them
	Odd    int    // members of types not known
}

// reader holds what is known of a file while it is read.
type reader struct {
	walker
	faults document.Gather
	file   File
	keys   []string
	count  int
}

// Read reads a file. keys are properties of point features to be read as figures, by name, capitals ignored. All faults come in one pass; where one is
// a fault proper, nothing of the file may be used.
func Read(name string, data []byte, keys []string) (File, document.Faults) {
	r := &reader{faults: document.Gather{File: name}, keys: keys}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	switch {
	case len(data) > MaxBytes:
		r.faults.Add(document.Fault{What: "a file of " + strconv.Itoa(len(data)/1_000_000) + " MB", Hint: "files up to 512 MB are read: cut it in parts"})
		return File{}, r.faults.All()
	case bytes.HasPrefix(data, []byte("\xff\xfe")) || bytes.HasPrefix(data, []byte("\xfe\xff")):
		r.faults.Add(document.Fault{What: "a file in UTF-16", Understood: "JSON that is exchanged is UTF-8 (RFC 8259)", Hint: "save it as UTF-8"})
		return File{}, r.faults.All()
	}
	if f, ok := valid(name, data); !ok {
		r.faults.Add(f)
		return File{}, r.faults.All()
	}
	r.data = data
	if err := r.thing(feature{}, 0); err != nil {
		r.faults.Add(err.fault)
	}
	if r.faults.Fatal {
		r.file = File{}
	}
	return r.file, r.faults.All()
}

// stop ends the reading.
type stop struct{ fault document.Fault }

func (s *stop) Error() string { return s.fault.String() }

// feature is what is known of the feature around a geometry.
type feature struct {
	name    string
	keys    []string
	figures []float64
}

// asStop makes the stop of what a walk returned.
func asStop(err error) *stop {
	if err == nil {
		return nil
	}
	return err.(*stop)
}

// memberNames are the members that are looked into once the type is known.
var memberNames = [...]string{"coordinates", "geometry", "geometries", "features", "properties", "crs"}

// thing reads a GeoJSON object of any type. Its members may come in any order: the type is looked for first.
func (r *reader) thing(of feature, deep int) *stop {
	line := r.peekLine()
	if deep > mostNested {
		return &stop{document.Fault{Line: int(line), What: "collections more than 20 deep"}}
	}
	from := walker{r.data, r.at, r.counted, r.lines}
	kind, name := "", ""
	var members [len(memberNames)]walker
	var has [len(memberNames)]bool
	inline := false
	collection := func() error {
		_, err := r.array(func() error {
			if e := r.thing(of, deep+1); e != nil {
				return e
			}
			return nil
		})
		return err
	}
	is, err := r.object(func(key []byte) error {
		switch string(key) {
		case "type":
			kind = string(short(r.text()))
			return nil
		case "id":
			name = r.word()
			return nil
		}
		for i, m := range memberNames {
			if string(key) == m {
				members[i], has[i] = r.walker, true
			}
		}
		if kind == "FeatureCollection" && string(key) == "features" { // as most files are written: one pass less
			inline = true
			return collection()
		}
		r.skip()
		return nil
	})
	end := r.walker
	defer func() { r.walker = end }()
	if err != nil {
		return asStop(err)
	}
	if !is {
		if from.peek() != 'n' { // null: a feature without a place
			r.faults.Repeated("thing", int(line), document.FaultSeverity, func() document.Fault {
				return document.Fault{What: "not a GeoJSON object", Hint: "a GeoJSON file is an object with a type: FeatureCollection, Feature, LineString …"}
			})
		} else {
			r.file.Empty++
		}
		return nil
	}
	enter := func(member string) bool {
		for i, m := range memberNames {
			if m == member && has[i] {
				r.walker = members[i]
				return true
			}
		}
		return false
	}
	if enter("crs") {
		r.crs()
	}
	switch kind {
	case "FeatureCollection", "GeometryCollection":
		member := "features"
		if kind == "GeometryCollection" {
			member = "geometries"
		}
		if inline {
			return nil
		}
		if !enter(member) {
			r.file.Empty++
			return nil
		}
		return asStop(collection())
	case "Feature":
		of = feature{name: name}
		if enter("properties") {
			r.properties(&of)
		}
		if !enter("geometry") {
			r.file.Empty++
			return nil
		}
		return r.thing(of, deep+1)
	case "Polygon", "MultiPolygon":
		r.file.Areas++
		return nil
	case "LineString", "MultiLineString", "Point", "MultiPoint":
		if !enter("coordinates") {
			r.file.Empty++
			return nil
		}
		return r.geometry(kind, of, line)
	}
	r.file.Odd++
	r.faults.Repeated("type", int(line), document.WarningSeverity, func() document.Fault {
		understood := "type " + strconv.Quote(document.Shown(kind, 40))
		if kind == "" {
			understood = "no type"
		}
		return document.Fault{ID: "geojson.type", What: "an object of a type that is not known", Understood: understood, Hint: "it was left out"}
	})
	return nil
}

// peekLine is the line of the next value.
func (r *reader) peekLine() int32 {
	r.peek()
	return r.line()
}

// word is the next value as a short text, whether it is a string or a number.
func (r *reader) word() string {
	if r.peek() == '"' {
		return document.Shown(strings.TrimSpace(string(short(r.text()))), 80)
	}
	from := r.at
	r.skip()
	if c := r.data[from]; c == '-' || c >= '0' && c <= '9' {
		return string(short(r.data[from:r.at]))
	}
	return ""
}

func short(b []byte) []byte { return b[:min(len(b), 400)] }

// properties reads a feature's properties.
func (r *reader) properties(of *feature) {
	rank := 0 // of the name found: name before title before label
	_, _ = r.object(func(key []byte) error {
		lower := strings.ToLower(string(short(key)))
		for i, want := range r.keys {
			if lower != want {
				continue
			}
			if of.figures == nil {
				of.figures = make([]float64, len(r.keys))
				for k := range of.figures {
					of.figures[k] = math.NaN()
				}
			}
			if v, ok := r.figure(); ok {
				of.figures[i] = v
			}
			return nil
		}
		if n := map[string]int{"name": 3, "title": 2, "label": 1}[lower]; n > rank {
			if w := r.word(); w != "" {
				of.name, rank = w, n
			}
			return nil
		}
		if len(of.keys) < 20 {
			of.keys = append(of.keys, document.Shown(string(short(key)), 40))
		}
		r.skip()
		return nil
	})
}

// figure is the next value as a number, also where it is written as a string.
func (r *reader) figure() (float64, bool) {
	if r.peek() != '"' {
		return r.number()
	}
	text := strings.TrimSpace(string(short(r.text())))
	v, err := strconv.ParseFloat(text, 64)
	return v, err == nil && !math.IsNaN(v) && !math.IsInf(v, 0) && !strings.ContainsAny(text, "xX_")
}

// crs reads the member of the earlier form: {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::25832"}}.
func (r *reader) crs() {
	_, _ = r.object(func(key []byte) error {
		if string(key) != "properties" {
			r.skip()
			return nil
		}
		_, err := r.object(func(key []byte) error {
			if string(key) == "name" || string(key) == "code" {
				r.file.CRS = r.word()
				return nil
			}
			r.skip()
			return nil
		})
		return err
	})
	name := strings.ToUpper(r.file.CRS)
	switch {
	case strings.HasSuffix(name, "CRS84"), strings.HasSuffix(name, "CRS84H"):
		r.file.EPSG = 4326
	default:
		if i := strings.LastIndexByte(name, ':'); i >= 0 || name != "" {
			if v, err := strconv.Atoi(name[i+1:]); err == nil && v > 0 && (i < 0 || strings.Contains(name, "EPSG")) {
				r.file.EPSG = v
			}
		}
	}
}

// geometry reads the coordinates of lines and points.
func (r *reader) geometry(kind string, of feature, line int32) *stop {
	chain := func() ([]Position, error) {
		var points []Position
		is, err := r.array(func() error {
			p, ok, err := r.position()
			if ok {
				points = append(points, p)
			}
			if err != nil {
				return err
			}
			return nil
		})
		if !is && err == nil {
			r.odd(line, "coordinates of a "+kind+" that are no array")
		}
		return points, err
	}
	lone := func(points []Position) {
		for _, p := range points {
			r.file.Points = append(r.file.Points, Lone{p, of.figures})
		}
	}
	var err error
	switch kind {
	case "Point":
		p, ok, e := r.position()
		if e != nil {
			return e
		}
		if ok {
			lone([]Position{p})
		}
	case "MultiPoint":
		var points []Position
		points, err = chain()
		lone(points)
	default:
		l := Line{Name: of.name, Keys: of.keys, Line: int(line)}
		if kind == "LineString" {
			var part []Position
			if part, err = chain(); len(part) > 0 {
				l.Parts = append(l.Parts, part)
			}
		} else {
			is := false
			is, err = r.array(func() error {
				part, err := chain()
				if len(part) > 0 {
					l.Parts = append(l.Parts, part)
				}
				return err
			})
			if !is {
				r.odd(line, "coordinates of a MultiLineString that are no array")
			}
		}
		if len(l.Parts) == 0 {
			r.file.Empty++
			break
		}
		if len(r.file.Lines) >= MaxLines {
			return &stop{document.Fault{Line: int(line), What: "more than 10,000 lines", Hint: "cut the file in parts"}}
		}
		r.file.Lines = append(r.file.Lines, l)
	}
	return asStop(err)
}

// odd tells of coordinates that are not what the type asks for.
func (r *reader) odd(line int32, what string) {
	r.faults.Repeated("coordinates", int(line), document.FaultSeverity, func() document.Fault {
		return document.Fault{Key: "coordinates", What: what, Hint: "positions are [longitude, latitude, height]"}
	})
}

// position reads one position.
func (r *reader) position() (p Position, ok bool, halt *stop) {
	p.Line = r.peekLine()
	if r.count++; r.count > MaxPoints {
		return p, false, &stop{document.Fault{Line: int(p.Line), What: "more than 5,000,000 points", Hint: "cut the file in parts, or thin it before"}}
	}
	var v [3]float64
	n, fine := 0, true
	is, _ := r.array(func() error {
		x, ok := r.number()
		if n < 3 {
			v[n], fine = x, fine && (ok || n == 2)
			if n == 2 && !ok {
				n-- // no height: null
			}
		}
		n++
		return nil
	})
	if !is || n < 2 || !fine {
		r.odd(p.Line, "not a position of two or three numbers")
		return p, false, nil
	}
	p.X, p.Y, p.Z, p.HasZ = v[0], v[1], v[2], n > 2
	return p, true, nil
}
