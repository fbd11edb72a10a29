package bench

import (
	"sort"

	"obvert/document"
)

// Run is a sealing run as it was recorded, in SI units, not yet corrected.
type Run struct {
	Name, Date, Operator, Bench string
	Remark                      string
	Source                      string // file the run was read from

	WaterTemperature            float64 `unit:"K"`
	WaterTemperatureUncertainty float64 `unit:"K"`    // standard
	DensityUncertainty          float64 `unit:"1"`    // relative, standard: salts and gas in the water
	Gravity                     float64 `unit:"m/s²"` // at the bench; 0: from Latitude and Altitude
	GravityUncertainty          float64 `unit:"m/s²"` // standard
	HasLatitude                 bool    // Latitude and Altitude are given
	Latitude                    float64 `unit:"rad"` // geodetic, south negative
	Altitude                    float64 `unit:"m"`   // above sea level; 0 also where not given

	Datum            string  // what the heights are measured from
	LevelUncertainty float64 `unit:"m"` // standard, of each height by itself

	Gauge *Gauge // nil where the run has none
	Tube  *Tube  // nil where the run has none

	NoDrop      float64 `unit:"s"` // tight means: no drop in this time
	Delay       float64 `unit:"s"` // by which a change is marked late, on the mean
	DelaySpread float64 `unit:"s"` // standard uncertainty of Delay, common to all repeats
	HasDelay    bool

	VolumeUncertainty float64 `unit:"m³"` // standard, of a leak collected
	TimeUncertainty   float64 `unit:"s"`  // standard, of the time it was collected in
	HasCollecting     bool

	Pooled  *Pooled // scatter from other runs, nil where none is stated
	Repeats []Span
	Samples []Sample
	Valves  []ValveRun

	spots map[string]place // where the document's tables stand, for faults
}

// Span is one rise and fall of the head.
type Span struct {
	From, Turn, To float64 `unit:"s"` // rising until Turn, then falling

	at place
}

// Pooled is a scatter from one shutting to the next that other runs gave.
type Pooled struct {
	Scatter float64 `unit:"Pa"` // standard deviation
	Freedom float64 `unit:"1"`  // degrees of freedom behind it
	Source  string
}

// Gauge is a pressure gauge or transmitter.
type Gauge struct {
	Name        string
	Level       float64 `unit:"m"`  // of its reference point above the bench datum
	Resolution  float64 `unit:"Pa"` // step of its indication
	Drift       float64 `unit:"Pa"` // largest change since the certificate, either way
	Certificate Certificate
}

// Tube is a standing tube, open to the air, whose water level is read on a scale.
type Tube struct {
	Name        string
	Zero        float64 `unit:"m"` // of the scale's zero above the bench datum
	Top         float64 `unit:"m"` // of the tube above the bench datum
	Resolution  float64 `unit:"m"` // step to which it is read
	Drift       float64 `unit:"m"` // largest change since the certificate, either way
	Certificate Certificate
}

// Certificate is what a calibration said. Its figures have the instrument's unit:
// Pa for a gauge, m for a tube.
type Certificate struct {
	Number, Date string
	Corrections  []Correction // by rising indication; one: the same everywhere
	Expanded     float64      // expanded uncertainty U
	K            float64      `unit:"1"` // coverage factor of Expanded
}

// Correction is what is added to an indication to make it right.
type Correction struct {
	At    float64 // indication
	Added float64 // correction: minus the instrument's error
}

// Sample is one row of the series, as indicated.
type Sample struct {
	Time     float64 `unit:"s"`
	Gauge    float64 `unit:"Pa"` // indication, gauge; meaningful with HasGauge
	Tube     float64 `unit:"m"`  // indication above the scale's zero; meaningful with HasTube
	HasGauge bool
	HasTube  bool

	at place
}

// ValveRun is one valve on the manifold.
type ValveRun struct {
	Name   string  // on the bench
	Record string  // the name its record gets in a rack
	Seat   float64 `unit:"m"` // above the bench datum
	Marks  []Seen
	Leaks  []Collected

	at place
}

// Seen is a mark as it was made.
type Seen struct {
	Time  float64 `unit:"s"`
	Kind  MarkKind
	Tight bool

	at place
}

// Collected is water collected at a hold.
type Collected struct {
	Time   float64 `unit:"s"` // when collecting began
	Volume float64 `unit:"m³"`
	Over   float64 `unit:"s"` // how long it lasted

	at place
}

// place is where a thing stands in the run's files; its zero value is nowhere, as
// in a run made by a program.
type place struct {
	file         string
	line, column int
	key          string
}

// fault makes a fault at the place.
func (p place) fault(what, understood, hint string) document.Fault {
	return document.Fault{File: p.file, Line: p.line, Column: p.column, Key: p.key, What: what, Understood: understood, Hint: hint}
}

// phase reports whether a time lies in the rising part of its repeat, and which
// repeat that is, from 1; 0 outside of all.
func (r *Run) phase(t float64) (repeat int, rising bool) {
	i := sort.Search(len(r.Repeats), func(i int) bool { return r.Repeats[i].To >= t })
	if i == len(r.Repeats) || t < r.Repeats[i].From {
		return 0, false
	}
	return i + 1, t <= r.Repeats[i].Turn
}
