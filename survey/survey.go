// Package survey takes a pipeline's geometry in whatever form it comes and makes an ordinary line folder of it.
//
// A reader turns the bytes of one file into a [Reading]: tracks of points, tables of equipment, and plain sentences about
// what was taken and what was left. [Compose] chooses among them and writes the text of line.toml and its profiles.
// Nothing here touches a file, the network or the clock: readers get bytes, Compose returns bytes.
package survey

import (
	"obvert/document"
	"obvert/line"
	"obvert/quantity"
)

// Point is one point of a track as the file gives it, in metres.
type Point struct {
	Chainage float64 `unit:"m"` // along the track, where Track.HasChainage
	East     float64 `unit:"m"` // plane coordinates, where Track.HasPlan
	North    float64 `unit:"m"` //
	Lat      float64 `unit:"°"` // WGS 84, where Track.HasGeographic
	Lon      float64 `unit:"°"` //
	Level    float64 `unit:"m"` // of what Track.LevelKind says
	Ground   float64 `unit:"m"` // where HasGround
	// HasLevel is false where the file has a point and no height for it.
	HasLevel, HasGround bool
	Where               int // line, row or record in the file, from 1; 0 where the format has none
}

// Track is one chain of points: a candidate for the profile of a run.
type Track struct {
	Name          string // as the file has it: a sheet, an alignment, a layer, a track
	Points        []Point
	HasChainage   bool // the file gives chainage
	HasPlan       bool // plane coordinates in metres
	HasGeographic bool
	Chainages     string          // how chainage came about, a clause: "read from the column Station [km]", "great-circle distance"
	LevelKind     *line.LevelKind // nil: the file does not say
	// Noise is the standard uncertainty of a level that this kind of source is worth, 0 where not known. Where it is not small
	// against a sealing head the reading says so.
	Noise float64 `unit:"m"`
	Pipes []Pipe  // what the file says of the pipe, by chainage; may be empty
	Score float64 // how well the track suits a long section, 0–1; Compose takes the best unless told otherwise
	Why   string  // what the score rests on, a clause
}

// Pipe is what a file says of a stretch of pipe.
type Pipe struct {
	From, To float64 `unit:"m"` // chainage on the track
	Size     string  // standard size, or empty
	Material string
	Bore     float64 `unit:"m"` // 0 where not given
	Wall     float64 `unit:"m"` // 0 where not given
	// Of a table of pipes only; 0 where not given.
	Run           string  // the run it belongs to; may be empty
	Roughness     float64 `unit:"m"`  // sand-grain
	HazenWilliams float64 `unit:"1"`  // C
	Rating        float64 `unit:"Pa"` // largest allowed pressure, gauge
	Origin        Origin
}

// Reading is what a reader found in one file.
type Reading struct {
	File   string // its name
	Format string // "CSV", "XLSX", "LandXML", "GeoJSON", "GPX", "DXF"
	Tracks []Track
	Tables []Table // of equipment
	// What the tables of equipment say, in the order of their rows.
	Pumps    []Pump
	Pipes    []Pipe
	Valves   []Valve
	Fittings []Fitting
	Took     []string // plain sentences: what was taken and how it was understood
	Left     []string // what was there and was not taken, with the reason
	Ask      []string // what only the user can say before the file can be read: "level-unit", "plan-unit"; then there is no track
}

// Table is a table of equipment: pumps, pipes, valves.
type Table struct {
	Name string   // of the sheet or file
	Kind string   // "pumps", "pipes", "valves", "equipment"
	Head []string // the roles that were understood, by column
	Rows [][]string
	From []int // line or row of each row in the file
}

// Options are what the user may say about a file. The zero value says nothing.
type Options struct {
	LevelKind   *line.LevelKind // what the levels are of, where the file does not say
	LevelUnit   string          // unit of levels, where the file does not say
	PlanUnit    string          // unit of chainage and plane coordinates, where the file does not say
	Take        string          // name of the sheet, alignment, layer or track to take; empty: the best
	Tolerance   float64         `unit:"m"` // largest vertical distance a dropped point may have from the profile that is left; 0: nothing is thinned
	ScaleAcross float64         `unit:"1"` // of a drawn long section: metres of chainage per drawing unit; 0: found out or 1
	ScaleUp     float64         `unit:"1"` // metres of level per drawing unit; 0: found out or 1
	Datum       float64         `unit:"m"` // level of the drawing's zero line

	// Of tables: roles of columns by their head or number, as line.ProfileOptions.Columns has them, with easting, northing,
	// latitude and longitude beside; what "1+250" means; "point" or "comma"; the largest backstep that is sorted.
	Columns     map[string]string
	Stakes      quantity.Stakes
	Decimal     string
	MaxBackstep float64 `unit:"m"`
}

// Reader reads one file from its bytes. All faults come in one pass; where one is an error the reading is empty.
type Reader func(file string, data []byte, o Options) (Reading, document.Faults)
