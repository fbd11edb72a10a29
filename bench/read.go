package bench

import (
	_ "embed"
	"fmt"
	"io/fs"
	"math"
	"strings"

	"obvert/document"
	"obvert/quantity"
)

//go:embed schema/bench-run.schema.json
var schemaJSON []byte

// Schema returns the JSON Schema (2020-12) of a run's text, so that an editor can
// complete and check it.
func Schema() []byte { return append([]byte(nil), schemaJSON...) }

// Parse reads a run's text, and the series beside it through open, which is asked
// for a path inside the run's own folder, with forward slashes. It reports every
// fault of both in one pass; the run is whole only when [document.Faults.Err] is
// nil. file names the text in the faults and becomes the run's Source.
func Parse(file string, data []byte, open func(name string) ([]byte, error)) (Run, document.Faults) {
	doc, faults := document.Parse(file, data)
	rd := &reader{file: file, open: open, run: Run{Source: file, spots: map[string]place{}}}
	root := doc.Root()
	rd.read(root)
	root.Finish()
	faults = append(faults, doc.Faults()...)
	faults = append(faults, rd.faults...)
	if faults.Err() == nil {
		faults = append(faults, rd.run.Check()...)
	}
	return rd.run, faults.Sorted()
}

type reader struct {
	file   string
	open   func(string) ([]byte, error)
	run    Run
	faults document.Faults // of the series file
}

func (rd *reader) read(t *document.Table) {
	r := &rd.run
	r.Name, _ = t.Text("name", true)
	r.Date, _ = t.Date("date", true)
	r.Operator, _ = t.Text("operator", true)
	r.Bench, _ = t.Text("bench", false)
	r.Remark, _ = t.Text("remark", false)
	rd.water(t)
	rd.site(t)
	rd.conduct(t)
	rd.instruments(t)
	rd.series(t)
	rd.repeats(t)
	rd.valves(t)
}

// ranged reads a quantity and refuses what lies outside lo…hi.
func ranged(t *document.Table, key string, k quantity.Kind, required bool, lo, hi float64, hint string) (float64, bool) {
	v, ok := t.Quantity(key, k, required)
	if !ok {
		return 0, false
	}
	if v < lo || v > hi {
		raw, _, _, _ := t.Raw(key)
		t.Report(key, document.Fault{What: "outside its range", Understood: raw, Hint: hint})
		return 0, false
	}
	return v, true
}

// sub reads a table of the run and keeps where it stands.
func (rd *reader) sub(t *document.Table, key string, required bool) (*document.Table, bool) {
	s, ok := t.Sub(key, required)
	if ok {
		rd.run.spots[key] = place{rd.file, s.Line(), 0, key}
	}
	return s, ok
}

// spot is the place of a key.
func (rd *reader) spot(t *document.Table, key string) place {
	path := key
	if p := t.Path(); p != "" {
		path = p + "." + key
	}
	if _, line, col, ok := t.Raw(key); ok {
		return place{rd.file, line, col, path}
	}
	return place{rd.file, t.Line(), 0, path}
}

func (rd *reader) water(t *document.Table) {
	s, ok := rd.sub(t, "water", true)
	if !ok {
		return
	}
	r := &rd.run
	r.WaterTemperature, _ = ranged(s, "temperature", quantity.Temperature, true, 273.15, 333.15, "a bench's water has 0 to 60 °C")
	r.WaterTemperatureUncertainty, _ = ranged(s, "temperature_uncertainty", quantity.TemperatureDifference, true, 0, 10, "give a standard uncertainty of 0 to 10 K")
	r.DensityUncertainty, _ = ranged(s, "density_uncertainty", quantity.Ratio, false, 0, 0.05, "give a relative standard uncertainty of 0 to 5 %")
}

func (rd *reader) site(t *document.Table) {
	r := &rd.run
	if s, ok := rd.sub(t, "place", true); ok {
		r.Gravity, _ = ranged(s, "gravity", quantity.Acceleration, !s.Has("latitude"), 9.76, 9.84, "gravity on the ground is 9.76 to 9.84 m/s²")
		r.GravityUncertainty, _ = ranged(s, "gravity_uncertainty", quantity.Acceleration, false, 0, 0.05, "give a standard uncertainty of 0 to 0.05 m/s²")
		r.Latitude, r.HasLatitude = ranged(s, "latitude", quantity.Angle, false, -math.Pi/2, math.Pi/2, "a latitude is −90° to 90°, south negative")
		r.Altitude, _ = ranged(s, "altitude", quantity.Length, s.Has("latitude"), -430, 6000, "the bench stands at −430 to 6,000 m above the sea")
	}
	if s, ok := rd.sub(t, "levels", true); ok {
		r.Datum, _ = s.Text("datum", false)
		r.LevelUncertainty, _ = ranged(s, "uncertainty", quantity.Length, true, 0, 1, "give a standard uncertainty of 0 to 1 m, of each height by itself")
	}
}

// conduct reads how the run was carried out: what tight means, how late a mark is,
// how leaks were collected, what scatter other runs gave.
func (rd *reader) conduct(t *document.Table) {
	r := &rd.run
	if s, ok := rd.sub(t, "tight", true); ok {
		r.NoDrop, _ = ranged(s, "no_drop", quantity.Time, true, 1, 86400, "tight means no drop in 1 s to 1 d")
	}
	if s, ok := rd.sub(t, "observer", false); ok {
		r.Delay, r.HasDelay = ranged(s, "delay", quantity.Time, true, 0, 600, "a change is marked 0 to 600 s late, never early")
		r.DelaySpread, _ = ranged(s, "spread", quantity.Time, true, 0, 600, "give a standard uncertainty of 0 to 600 s")
	}
	if s, ok := rd.sub(t, "collecting", false); ok {
		r.VolumeUncertainty, r.HasCollecting = ranged(s, "volume_uncertainty", quantity.Volume, true, 0, 1, "give a standard uncertainty of 0 to 1 m³")
		r.TimeUncertainty, _ = ranged(s, "time_uncertainty", quantity.Time, true, 0, 600, "give a standard uncertainty of 0 to 600 s")
	}
	if s, ok := rd.sub(t, "scatter", false); ok {
		p := &Pooled{}
		p.Scatter, _ = ranged(s, "pooled", quantity.PressureDifference, true, 0, 1e6, "give a standard deviation of 0 to 10 bar")
		p.Freedom, _ = s.Float("freedom", true)
		p.Source, _ = s.Text("source", true)
		if s.Has("freedom") && !(p.Freedom >= 1) {
			s.Report("freedom", document.Fault{What: "a pooled scatter with no degrees of freedom", Understood: fmt.Sprint(p.Freedom), Hint: "give 1 or more: readings less valves, summed over the runs"})
		}
		r.Pooled = p
	}
}

func (rd *reader) instruments(t *document.Table) {
	r := &rd.run
	const far = 1000.0 // m, no bench is higher
	if s, ok := rd.sub(t, "gauge", false); ok {
		g := &Gauge{}
		g.Name, _ = s.Text("name", true)
		g.Level, _ = ranged(s, "level", quantity.Length, true, -far, far, "give the height above the bench's datum")
		g.Resolution, _ = ranged(s, "resolution", quantity.PressureDifference, true, 0, 1e7, "give the step of the indication")
		g.Drift, _ = ranged(s, "drift", quantity.PressureDifference, false, 0, 1e7, "give the largest change since the certificate, either way")
		g.Certificate = rd.certificate(s, quantity.PressureDifference, quantity.GaugePressure)
		r.Gauge = g
	}
	if s, ok := rd.sub(t, "tube", false); ok {
		u := &Tube{}
		u.Name, _ = s.Text("name", true)
		u.Zero, _ = ranged(s, "zero", quantity.Length, true, -far, far, "give the height of the scale's zero above the bench's datum")
		u.Top, _ = ranged(s, "top", quantity.Length, true, -far, far, "give the height of the tube's top above the bench's datum")
		u.Resolution, _ = ranged(s, "resolution", quantity.Length, true, 0, 10, "give the step to which the scale is read")
		u.Drift, _ = ranged(s, "drift", quantity.Length, false, 0, 10, "give the largest change since the certificate, either way")
		u.Certificate = rd.certificate(s, quantity.Length, quantity.Length)
		r.Tube = u
	}
	if !t.Has("gauge") && !t.Has("tube") {
		t.Report("", document.Fault{What: "a run without an instrument", Understood: "neither [gauge] nor [tube]", Hint: "describe the gauge, the tube, or both"})
	}
}

// certificate reads [gauge.certificate] or [tube.certificate]. A certificate
// states either the correction, which is added to the indication, or the error,
// which is taken off; which of the two is said by the key.
func (rd *reader) certificate(t *document.Table, diff, indication quantity.Kind) Certificate {
	var c Certificate
	s, ok := t.Sub("certificate", true)
	if !ok {
		return c
	}
	c.Number, _ = s.Text("number", false)
	c.Date, _ = s.Date("date", true)
	c.Expanded, _ = ranged(s, "expanded_uncertainty", diff, true, 0, 1e7, "give the certificate's expanded uncertainty U")
	c.K, _ = s.Float("k", true)
	if s.Has("k") && !(c.K >= 1 && c.K <= 10) {
		s.Report("k", document.Fault{What: "no coverage factor", Understood: fmt.Sprint(c.K), Hint: "a certificate states k, mostly 2"})
	}
	given := 0
	for _, form := range []struct {
		key  string
		sign float64
		list bool
	}{{"correction", 1, false}, {"error", -1, false}, {"corrections", 1, true}, {"errors", -1, true}} {
		if !s.Has(form.key) {
			continue
		}
		given++
		if !form.list {
			v, _ := s.Quantity(form.key, diff, true)
			c.Corrections = []Correction{{Added: form.sign * v}}
			continue
		}
		c.Corrections = nil
		rows, _ := s.Rows(form.key, true, indication, diff)
		for i, row := range rows {
			if i > 0 && row[0] <= rows[i-1][0] {
				s.Report(form.key, document.Fault{What: "indications that do not rise", Understood: fmt.Sprintf("row %d", i+1), Hint: "sort the rows by indication, each once"})
			}
			c.Corrections = append(c.Corrections, Correction{At: row[0], Added: form.sign * row[1]})
		}
	}
	if given != 1 {
		s.Report("", document.Fault{What: "a certificate whose correction is not clear", Understood: fmt.Sprintf("%d of the keys correction, error, corrections, errors", given),
			Hint: `write correction = "…" for what is added to the indication, or error = "…" for indication less true value; "0" with its unit if there is none`})
	}
	return c
}

func (rd *reader) series(t *document.Table) {
	s, ok := rd.sub(t, "series", true)
	if !ok {
		return
	}
	switch inFile, inRows := s.Has("file"), s.Has("rows"); {
	case inFile == inRows:
		s.Report("", document.Fault{What: "a series in no place or in two", Understood: map[bool]string{false: "neither file nor rows", true: "both file and rows"}[inFile], Hint: `give file = "run.csv", or columns and rows`})
	case inRows:
		rd.inline(s)
	default:
		name, ok := s.Text("file", true)
		if !ok {
			return
		}
		if !fs.ValidPath(name) || name == "." || strings.ContainsAny(name, `\:`) {
			s.Report("file", document.Fault{What: "a series outside the run's folder", Understood: name, Hint: "keep the file beside the run and write its name, with forward slashes and without .."})
			return
		}
		if rd.open == nil {
			s.Report("file", document.Fault{What: "a series that cannot be read", Understood: name, Hint: "write the rows into the run itself"})
			return
		}
		data, err := rd.open(name)
		if err != nil {
			s.Report("file", document.Fault{What: "the series cannot be read", Understood: err.Error(), Hint: "look whether the file stands beside the run, under this name"})
			return
		}
		rd.run.Samples, rd.faults = parseSeries(name, data)
	}
}

// inline reads a series that stands in the run itself.
func (rd *reader) inline(s *document.Table) {
	names, ok := s.Texts("columns", true)
	if !ok {
		return
	}
	cols, kinds := make([]column, len(names)), make([]quantity.Kind, len(names))
	seen := map[column]bool{}
	for i, n := range names {
		cols[i] = columnOf(n)
		if cols[i] == noColumn || seen[cols[i]] {
			s.Report("columns", document.Fault{What: "no column of a series, or one that stands twice", Understood: n, Hint: "the columns are time, gauge, tube, each once"})
			return
		}
		seen[cols[i]] = true
		kinds[i] = cols[i].kind()
	}
	if !seen[timeColumn] || len(cols) < 2 {
		s.Report("columns", document.Fault{What: "a series without time or without a reading", Understood: strings.Join(names, ", "), Hint: "the columns are time and gauge, or time and tube, or all three"})
		return
	}
	rows, _ := s.Rows("rows", true, kinds...)
	for i, row := range rows {
		p := rd.spot(s, "rows")
		p.key += fmt.Sprintf("[%d]", i+1)
		sm := Sample{at: p}
		for j, c := range cols {
			sm.set(c, row[j])
		}
		rd.run.Samples = append(rd.run.Samples, sm)
	}
}

func (rd *reader) repeats(t *document.Table) {
	for _, s := range t.List("repeat", true) {
		sp := Span{at: place{rd.file, s.Line(), 0, s.Path()}}
		sp.From, _ = s.Quantity("from", quantity.Time, true)
		sp.Turn, _ = s.Quantity("turn", quantity.Time, true)
		sp.To, _ = s.Quantity("to", quantity.Time, true)
		rd.run.Repeats = append(rd.run.Repeats, sp)
	}
}

func (rd *reader) valves(t *document.Table) {
	for _, s := range t.List("valve", true) {
		v := ValveRun{at: place{rd.file, s.Line(), 0, s.Path()}}
		v.Name, _ = s.Text("name", true)
		v.Record = v.Name
		if s.Has("record") {
			v.Record, _ = s.Text("record", true)
		}
		v.Seat, _ = ranged(s, "seat", quantity.Length, true, -1000, 1000, "give the seat's height above the bench's datum")
		for _, m := range s.List("mark", false) {
			v.Marks = append(v.Marks, rd.mark(m))
		}
		for _, l := range s.List("leak", false) {
			c := Collected{at: rd.spot(l, "at")}
			c.Time, _ = l.Quantity("at", quantity.Time, true)
			c.Volume, _ = ranged(l, "volume", quantity.Volume, true, 0, 100, "give what was collected, 0 or more")
			c.Over, _ = ranged(l, "over", quantity.Time, true, 1e-3, 86400, "give how long it was collected, up to a day")
			v.Leaks = append(v.Leaks, c)
		}
		rd.run.Valves = append(rd.run.Valves, v)
	}
}

// mark reads one mark. The key says its kind: seen, a change as it happened;
// found, a state at a look.
func (rd *reader) mark(t *document.Table) Seen {
	m := Seen{at: rd.spot(t, "at")}
	m.Time, _ = t.Quantity("at", quantity.Time, true)
	key := "seen"
	if t.Has("found") {
		key, m.Kind = "found", Look
	}
	if t.Has("seen") == t.Has("found") {
		t.Report("", document.Fault{What: "a mark whose kind is not clear", Understood: "seen and found, or neither",
			Hint: `write seen = "tight" for a change watched as it happened, or found = "tight" for a state met at a look`})
		return m
	}
	word, _ := t.Choice(key, true, "tight", "dripping")
	m.Tight = word == "tight"
	return m
}
