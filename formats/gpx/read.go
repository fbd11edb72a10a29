// Package gpx reads the tracks and routes of GPX files, versions 1.0 and 1.1.
//
// Source: GPX 1.1 Schema Documentation, topografix.com/GPX/1/1 (2004), and GPX 1.0 (2002), from memory: <trk> holds <trkseg> of
// <trkpt lat lon>, <rte> holds <rtept>, both with <ele> in metres; latitude and longitude are WGS 84 in decimal degrees.
package gpx

import (
	"bytes"
	"math"
	"strings"

	"obvert/document"
	"obvert/document/xmlread"
)

// Limits of what is read.
const (
	MaxPoints = 5_000_000
	MaxTracks = 10_000
)

// Point is a point of a track.
type Point struct {
	Lat, Lon float64 // °, WGS 84
	Ele      float64 // m, where HasEle: above the sea or above the ellipsoid, which the file does not say
	Line     int32
	HasEle   bool
}

// Track is a track or a route.
type Track struct {
	Name     string // as the file has it; may be empty
	Route    bool   // planned, not walked
	Line     int
	Segments [][]Point // none empty; a route has one
	Back     int       // points whose time is before that of the point before them
	BackLine int       // line of the first of these
}

// File is what a file holds.
type File struct {
	Version   string // as written
	Creator   string
	Tracks    []Track // tracks and routes in the file's order, those without points left out
	Waypoints int     // lone points, which make no line
	Empty     int     // tracks and routes without points
	Geoid     bool    // some point gives the height of the geoid
}

// reader holds what is known of a file while it is read.
type reader struct {
	x      *xmlread.Reader
	faults document.Gather
	file   File
	points int
}

// Read reads a file. All faults come in one pass, as far as it is well formed; where one is a fault proper, nothing of the file may
// be used.
func Read(name string, data []byte) (File, document.Faults) {
	r := &reader{faults: document.Gather{File: name}}
	if err := r.read(data); err != nil {
		r.faults.Add(xmlread.Fault(name, err))
	}
	if r.faults.Fatal {
		r.file = File{}
	}
	return r.file, r.faults.All()
}

func (r *reader) read(data []byte) (err error) {
	if r.x, err = xmlread.New(data); err != nil {
		return err
	}
	if err := r.x.Root("gpx", "GPX"); err != nil {
		return err
	}
	if v, ok := r.x.Attribute("version"); ok {
		r.file.Version = document.Shown(string(v), 20)
	}
	if v, ok := r.x.Attribute("creator"); ok {
		r.file.Creator = document.Shown(string(v), 60)
	}
	switch r.file.Version {
	case "1.0", "1.1":
	default:
		r.faults.Remark("gpx.version", r.x.Line(), "a version that is not known", "version "+quoted(r.file.Version)+", read as 1.1", "")
	}
	err = r.x.Each(func() error {
		switch {
		case r.x.Is("wpt"):
			r.file.Waypoints++
			return r.x.Skip()
		case r.x.Is("trk"), r.x.Is("rte"):
			return r.track()
		}
		return r.x.Skip()
	})
	if err != nil {
		return err
	}
	return r.x.Finish()
}

func quoted(s string) string {
	if s == "" {
		return "not given"
	}
	return "\"" + s + "\""
}

// track reads <trk> or <rte>.
func (r *reader) track() error {
	t := Track{Line: r.x.Line(), Route: r.x.Is("rte")}
	var last []byte
	var segment []Point
	end := func() {
		if len(segment) > 0 {
			t.Segments = append(t.Segments, segment)
		}
		segment, last = nil, nil
	}
	point := func() (err error) {
		segment, last, err = r.point(segment, last, &t)
		return err
	}
	err := r.x.Each(func() error {
		switch {
		case r.x.Is("name"):
			text, err := r.x.Content()
			t.Name = document.Shown(strings.TrimSpace(string(text[:min(len(text), 400)])), 80)
			return err
		case r.x.Is("trkseg"):
			err := r.x.Each(func() error {
				if r.x.Is("trkpt") {
					return point()
				}
				return r.x.Skip()
			})
			end()
			return err
		case r.x.Is("rtept"), r.x.Is("trkpt"):
			return point()
		}
		return r.x.Skip()
	})
	if err != nil {
		return err
	}
	end()
	if len(t.Segments) == 0 {
		r.file.Empty++
		return nil
	}
	if len(r.file.Tracks) >= MaxTracks {
		return &xmlread.Error{Line: t.Line, What: "more than 10,000 tracks", Hint: "cut the file in parts"}
	}
	r.file.Tracks = append(r.file.Tracks, t)
	return nil
}

// point reads <trkpt> or <rtept>. last is the time of the point before.
func (r *reader) point(segment []Point, last []byte, t *Track) ([]Point, []byte, error) {
	line := r.x.Line()
	p := Point{Line: int32(line)}
	lat, okLat := r.angle("lat", line, 90)
	lon, okLon := r.angle("lon", line, 360)
	p.Lat, p.Lon = lat, lon
	if r.points++; r.points > MaxPoints {
		return nil, nil, &xmlread.Error{Line: line, What: "more than 5,000,000 points", Hint: "cut the file in parts, or thin it before"}
	}
	err := r.x.Each(func() error {
		switch {
		case r.x.Is("ele"):
			at := r.x.Line()
			text, err := r.x.Content()
			if err != nil || len(bytes.TrimSpace(text)) == 0 {
				return err
			}
			v, ok := xmlread.Number(text)
			if !ok || math.Abs(v) > 1e6 {
				r.faults.Repeated("ele", at, document.FaultSeverity, func() document.Fault {
					return document.Fault{Key: "ele", What: "not a height in metres", Understood: document.Shown(string(text[:min(len(text), 100)]), 40),
						Hint: "write figures with a decimal point, such as 512.4, or leave the element out"}
				})
				return nil
			}
			p.Ele, p.HasEle = v, true
			return nil
		case r.x.Is("time"):
			text, err := r.x.Content()
			// Times of one file are written alike, so that those in UTC compare as texts.
			if len(text) == len(last) && len(text) > 0 && text[len(text)-1] == 'Z' && bytes.Compare(text, last) < 0 {
				if t.Back == 0 {
					t.BackLine = line
				}
				t.Back++
			}
			last = text
			return err
		case r.x.Is("geoidheight"):
			r.file.Geoid = true
		}
		return r.x.Skip()
	})
	if okLat && okLon {
		segment = append(segment, p)
	}
	return segment, last, err
}

// angle reads latitude or longitude.
func (r *reader) angle(name string, line int, most float64) (float64, bool) {
	text, there := r.x.Attribute(name)
	v, ok := xmlread.Number(text)
	if ok && math.Abs(v) <= most {
		return v, true
	}
	r.faults.Repeated(name, line, document.FaultSeverity, func() document.Fault {
		f := document.Fault{Key: name, What: "not an angle in degrees", Understood: document.Shown(string(text[:min(len(text), 100)]), 40),
			Hint: "write decimal degrees with a point, such as 47.1234567"}
		if !there {
			f.What, f.Understood = "a point without "+name, ""
		} else if ok {
			f.What = "an angle beyond what there is"
			f.Hint = "are these plane coordinates in metres? GPX knows only degrees"
		}
		return f
	})
	return 0, false
}
