package valve

import (
	"strings"

	"obvert/document"
	"obvert/quantity"
)

// Parse reads a record's text. It reports every fault in one pass, each with its
// line, key, what was understood and what to do; the record is whole only when
// [document.Faults.Err] is nil. file names the text in the faults and becomes the
// record's Source.
func Parse(file string, data []byte) (Record, document.Faults) {
	doc, faults := document.Parse(file, data)
	root := doc.Root()
	r := read(root)
	r.Source = file
	root.Finish()
	if faults.Err() == nil && doc.Faults().Err() == nil {
		for _, p := range Check(r) {
			report(root, p)
		}
	}
	return r, append(faults, doc.Faults()...).Sorted()
}

// report puts a problem at the place of its key, or of its table where the key is
// not written.
func report(root *document.Table, p Problem) {
	f := document.Fault{What: p.What, Understood: p.Understood, Hint: p.Hint}
	table, rest, nested := strings.Cut(p.Key, ".")
	if !nested || !root.Has(table) {
		root.Report(table, f)
		return
	}
	if sub, ok := root.Sub(table, false); ok {
		sub.Report(rest, f)
	}
}

func read(t *document.Table) Record {
	var r Record
	r.Name, _ = t.Text("name", true)
	r.Description, _ = t.Text("description", false)
	r.Typical, _ = t.Bool("typical", false)
	r.NominalDiameter, _ = t.Quantity("nominal", quantity.Length, false)
	r.Connection, _ = t.Text("connection", false)
	r.Rating, _ = t.Quantity("rating", quantity.GaugePressure, false)
	r.Price, r.Currency, _ = t.Money("price", quantity.Money, false)
	r.AdmitsAir, _ = t.Bool("admits_air", true)
	r.Origin, _ = t.Text("origin", true)
	r.Sealing = readThreshold(t, "sealing", true)
	r.LettingGo = readThreshold(t, "letting_go", false)
	r.Leak = readLeak(t)
	r.In, r.Out = readAir(t, "air_in"), readAir(t, "air_out")
	r.SmallOrifice = readOrifice(t)
	r.Stage = readStage(t)
	r.EarlyClosing, _ = t.Quantity("early_closing", quantity.PressureDifference, false)
	return r
}

// readThreshold reads [sealing] or [letting_go].
func readThreshold(t *document.Table, key string, required bool) Threshold {
	s, ok := t.Sub(key, required)
	if !ok {
		return Threshold{}
	}
	var th Threshold
	word, ok := s.Choice("known", true, bounds[:]...)
	if !ok {
		return Threshold{}
	}
	for b, w := range bounds {
		if w == word {
			th.Bound = Bound(b)
		}
	}
	measured := th.Bound == Measured
	th.Mean, _ = s.Quantity("mean", quantity.GaugePressure, th.HasValue())
	th.Uncertainty, _ = s.Quantity("uncertainty", quantity.PressureDifference, measured)
	th.Scatter, th.HasScatter = s.Quantity("scatter", quantity.PressureDifference, false)
	th.Repeats, _ = s.Int("repeats", false)
	th.Freedom, _ = s.Float("freedom", false)
	if th.Mean != 0 && !th.HasValue() {
		s.Report("mean", document.Fault{What: "a figure for a threshold that has none",
			Understood: "known = \"" + word + "\"", Hint: "leave the figure out, or say how it is known"})
	}
	return th
}

func readLeak(t *document.Table) []LeakPoint {
	s, ok := t.Sub("leak", false)
	if !ok {
		return nil
	}
	rows, _ := s.Rows("curve", true, quantity.GaugePressure, quantity.Flow)
	pts := make([]LeakPoint, 0, len(rows))
	for _, row := range rows {
		pts = append(pts, LeakPoint{Pressure: row[0], Flow: row[1]})
	}
	return pts
}

// readAir reads [air_in] or [air_out] in whichever form it is given; [Check] says
// where it is given in several.
func readAir(t *document.Table, key string) *Air {
	s, ok := t.Sub(key, false)
	if !ok {
		return nil
	}
	return airOf(s)
}

// airOf reads an air curve from its table.
func airOf(s *document.Table) *Air {
	a := &Air{}
	rows, _ := s.Rows("curve", false, quantity.PressureDifference, quantity.AirFlow)
	for _, row := range rows {
		a.Points = append(a.Points, AirPoint{Differential: row[0], MassFlow: row[1]})
	}
	a.TestPressure, _ = s.Quantity("outside_pressure", quantity.AbsolutePressure, false)
	a.TestTemperature, _ = s.Quantity("air_temperature", quantity.Temperature, false)
	a.Diameter, _ = s.Quantity("diameter", quantity.Length, s.Has("coefficient"))
	a.Coefficient, _ = s.Float("coefficient", s.Has("diameter"))
	a.C, _ = s.Quantity("conductance", quantity.SonicConductance, false)
	a.CriticalB, _ = s.Float("critical_ratio", s.Has("conductance"))
	if s.Has("conductance") {
		a.SubsonicM = 0.5 // ISO 6358-1: the index where none was measured
	}
	if s.Has("exponent") {
		a.SubsonicM, _ = s.Float("exponent", false)
	}
	return a
}

// readStage reads [anti_slam]: where it switches, and its outlet in the forms of
// an air curve.
func readStage(t *document.Table) *Stage {
	s, ok := t.Sub("anti_slam", false)
	if !ok {
		return nil
	}
	stage := &Stage{}
	stage.Differential, _ = s.Quantity("differential", quantity.PressureDifference, true)
	stage.Out = *airOf(s)
	return stage
}

func readOrifice(t *document.Table) *Orifice {
	s, ok := t.Sub("small_orifice", false)
	if !ok {
		return nil
	}
	o := &Orifice{}
	o.Diameter, _ = s.Quantity("diameter", quantity.Length, true)
	o.Coefficient, _ = s.Float("coefficient", true)
	return o
}
