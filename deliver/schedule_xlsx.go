package deliver

import (
	"fmt"
	"io"
	"reflect"
	"strconv"
	"strings"

	"obvert/formats/xlsx"
	"obvert/study"
)

// scheduleColumn is a column of the schedule as a workbook: which key of the schedule, under which head, in which unit.
type scheduleColumn struct {
	key    string  // head in the CSV
	head   string  // with its unit
	width  float64 // in characters
	format string  // of figures; empty: a text
	times  float64 // what the figure in the CSV is multiplied by
	note   string  // what it is and where it comes from
}

// The formats of figures.
const (
	twoPlaces    = "0.00"
	threePlaces  = "0.000"
	onePlace     = "0.0"
	whole        = "#,##0"
	stakes       = `0"+"000`
	signedPlaces = `+0.00;−0.00;0.00`
)

// Fills of a state's cell, light enough for black text and apart for every eye: the word says it too.
var stateFill = map[string]string{"tight": "E6F3EE", "drips": "FDEADD", "open": "F0EAF8", "empty": "EDEEEF"}

// columnGroup is a head over columns.
type columnGroup struct {
	text    string
	columns []scheduleColumn
}

// scheduleGroups are the columns of the workbook in their order.
func scheduleGroups(r *study.Result) []columnGroup {
	air := func(key, way, text string) columnGroup {
		return columnGroup{text, []scheduleColumn{
			{key + "_duty", "duty that governs", 13, "", 0, "the duty of air " + way + " that asks for most; sizing of the study"},
			{key + "_differential_pa", "allowed across, kPa", 9, twoPlaces, 1e-3, "largest difference of pressure allowed between pipe and atmosphere: practice, collapse of the pipe, early closing, whichever is smallest"},
			{key + "_needed_kg_s", "needed, kg/s", 8, threePlaces, 1, "mass flow of air needed"},
			{key + "_needed_free_m3_s", "needed, m³/s free air", 9, threePlaces, 1, "the same as " + airReference(r)},
			{key + "_given_kg_s", "gives, kg/s", 8, threePlaces, 1, "mass flow that the placed valve passes, from its measured curve"},
			{key + "_given_at_pa", "at, kPa", 7, twoPlaces, 1e-3, "difference of pressure at which it gives that"},
			{key + "_verdict", "verdict", 11, "", 0, "whether it is enough"},
		}}
	}
	out := []columnGroup{
		{"Valve", []scheduleColumn{
			{"number", "No.", 6, "", 0, "number in the drawings"},
			{"valve", "name", 14, "", 0, "name in the line's document"},
		}},
		{"Position", []scheduleColumn{
			{"run", "run", 14, "", 0, "run on which it stands"},
			{"chainage_m", "chainage, m", 9, stakes, 1, "along the run, kilometres + metres"},
			{"reason", "reason", 18, "", 0, "why a valve stands there; siting of the study"},
		}},
		{"Level, m above datum", []scheduleColumn{
			{"obvert_m", "obvert, m", 8, twoPlaces, 1, "inside top of the pipe, from the survey"},
			{"seat_m", "seat, m", 8, twoPlaces, 1, "the valve's seat: obvert and height of its tapping"},
			{"ground_m", "ground, m", 8, twoPlaces, 1, "from the survey where it gives it"},
		}},
		{"Type", []scheduleColumn{
			{"type", "type", 13, "", 0, "record on the rack"},
			{"nominal_diameter_m", "size, DN mm", 7, "0", 1e3, "nominal size, from the record"},
			{"connection", "connection", 22, "", 0, "from the record"},
			{"rating_pa", "rating, bar gauge", 8, onePlace, 1e-5, "rated pressure, from the record"},
			{"largest_head_m", "largest head, m", 8, onePlace, 1, "largest head at the seat, over all cases"},
			{"largest_case", "in case", 17, "", 0, "the case of the largest head"},
			{"over_rating", "over rating", 8, "", 0, "whether the head exceeds the rating in any case"},
		}},
		air("air_in", "in", "Air in"), air("air_out", "out", "Air out"),
		{"Size", []scheduleColumn{
			{"small_orifice_m", "small orifice wanted, mm", 9, onePlace, 1e3, "diameter for air that comes out of the water, the larger of solubility and rule of practice"},
			{"size_verdict", "verdict of size", 13, "", 0, "air in, air out and small orifice together"},
		}},
		{"Sealing, m at the seat", []scheduleColumn{
			{"sealing_known", "sealing head is", 11, "", 0, "how it is known: measured, or only a bound"},
			{"sealing_head_m", "sealing head, m", 8, twoPlaces, 1, "rising, drip-tight from here; from the bench"},
			{"sealing_uncertainty_m", "± (k = 2), m", 8, threePlaces, 1, "expanded uncertainty of the valve's mean"},
			{"letting_go_known", "letting-go head is", 11, "", 0, "how it is known"},
			{"letting_go_head_m", "letting-go head, m", 8, twoPlaces, 1, "falling, tight down to here; from the bench"},
			{"letting_go_uncertainty_m", "± (k = 2), m", 8, threePlaces, 1, "expanded uncertainty of the valve's mean"},
		}},
	}
	for c := range r.Line.Cases {
		key, name := "case_"+strconv.Itoa(c+1), r.Line.Cases[c].Name
		out = append(out, columnGroup{name, []scheduleColumn{
			{key + "_head_m", "available, m", 9, twoPlaces, 1, "head at the seat in “" + name + "”"},
			{key + "_needed_m", "required, m", 8, twoPlaces, 1, "sealing head, or letting-go head where it was shut before; empty where air stands at the seat"},
			{key + "_state", "state", 9, "", 0, "tight, drips, open (air at the seat), empty (no water), not known"},
		}})
	}
	return append(out,
		columnGroup{"Smallest margin", []scheduleColumn{
			{"smallest_margin_m", "margin, m", 8, signedPlaces, 1, "available less required, the smallest of all cases with water at the seat"},
			{"smallest_case", "in case", 17, "", 0, "the case of the smallest margin"},
		}},
		columnGroup{"Worst", []scheduleColumn{
			{"worst_state", "state", 9, "", 0, "in the worst case"},
			{"worst_case", "in case", 17, "", 0, "the worst case"},
			{"likeliest_drip", "may drip, %", 7, onePlace, 100, "largest probability that it drips, with all uncertainties"},
			{"likeliest_case", "in case", 17, "", 0, "the case of the largest probability"},
		}},
		columnGroup{"Remarks", []scheduleColumn{{"remarks", "remarks", 30, "", 0, "from the line's document, and what stands out"}}})
}

// airReference names the state at which volumes of air are counted.
func airReference(r *study.Result) string {
	s := &r.Sizing
	if s.Density <= 0 {
		return "free air"
	}
	return fmt.Sprintf("free air at %s kPa and %s °C, %s kg/m³", fixed(s.Atmosphere/1e3, 1), fixed(s.Temperature-273.15, 0), fixed(s.Density, 3))
}

// ScheduleXLSX writes the schedule as a workbook: the valves, the assumptions with the stamp, and a legend of the columns. Its figures are
// those of the CSV in the units of the heads; the legend names the CSV's head and the factor for each column.
func ScheduleXLSX(w io.Writer, r *study.Result, o Options) error {
	if err := complete(r); err != nil {
		return err
	}
	stamp := NewStamp(r, o)
	foot := strings.Join([]string{stamp.Line, "version " + orNotGiven(stamp.Version), "date " + orNotGiven(stamp.Date), stamp.ReckonedBy(), "hash " + orNotGiven(stamp.ShortHash())}, ", ")
	groups := scheduleGroups(r)
	valves, err := valveTable(r, groups, stamp)
	if err != nil {
		return err
	}
	d := xlsx.Document{Title: stamp.Line + ": schedule of air valves", Subject: "Schedule of air valves", Author: stamp.ReckonedBy(),
		Description: "Date " + orNotGiven(stamp.Date) + ", version " + orNotGiven(stamp.Version) + ", hash of the inputs " + orNotGiven(stamp.Hash) + ". " + law,
		Tables:      []xlsx.Table{valves, stampTable(stamp), legendTable(groups)}}
	for i := range d.Tables {
		d.Tables[i].Foot, d.Tables[i].A3 = foot, o.A3 && i == 0
	}
	data, err := d.Write()
	if err != nil {
		return fmt.Errorf("deliver: schedule: %w", err)
	}
	_, err = w.Write(data)
	return err
}

// valveTable is the sheet of the valves.
func valveTable(r *study.Result, groups []columnGroup, stamp Stamp) (xlsx.Table, error) {
	t := xlsx.Table{Name: "Schedule", Freeze: 2, Filter: true, Title: []string{stamp.Line + ": schedule of air valves",
		"Heads in metres of the line's water at the seat. Volumes of air as " + airReference(r) + ". " + law}}
	for _, g := range groups {
		t.Groups = append(t.Groups, xlsx.Group{Text: g.text, Columns: len(g.columns)})
		for _, c := range g.columns {
			t.Columns = append(t.Columns, xlsx.Column{Head: c.head, Width: c.width, Format: c.format, Wrap: c.format == ""})
		}
	}
	for _, row := range Schedule(r) {
		values := map[string]reflect.Value{}
		for _, f := range flat(reflect.ValueOf(row), "") {
			values[f.head] = f.value
		}
		var cells []xlsx.Value
		for _, g := range groups {
			for _, c := range g.columns {
				x, err := c.value(values[c.key])
				if err != nil {
					return t, fmt.Errorf("deliver: schedule: valve %q, %s: %w", row.Valve, c.key, err)
				}
				cells = append(cells, x)
			}
		}
		t.Rows = append(t.Rows, cells)
	}
	return t, nil
}

// value is what stands in a cell of the column: a figure with the digits that the CSV has, or a text.
func (c *scheduleColumn) value(v reflect.Value) (xlsx.Value, error) {
	if !v.IsValid() {
		return xlsx.Value{}, fmt.Errorf("the schedule has no such key: report it")
	}
	if v.Kind() == reflect.Pointer {
		if v.IsNil() {
			return xlsx.Value{}, nil
		}
		v = v.Elem()
	}
	if v.Kind() == reflect.Float64 {
		s, err := number(v.Float() * c.times)
		if err != nil {
			return xlsx.Value{}, err
		}
		f, err := strconv.ParseFloat(s, 64)
		return xlsx.FigureValue(f), err
	}
	if v.Kind() == reflect.String {
		return xlsx.Value{Text: v.String(), Fill: stateFill[v.String()], Bold: v.String() == "drips"}, nil
	}
	s, err := cellText(v)
	return xlsx.TextValue(s), err
}

// stampTable is the sheet of the stamp and the assumptions.
func stampTable(s Stamp) xlsx.Table {
	t := xlsx.Table{Name: "Stamp and assumptions", Portrait: true, Title: []string{"Stamp and assumptions"},
		Columns: []xlsx.Column{{Head: "what", Width: 38, Wrap: true}, {Head: "text", Width: 90, Wrap: true}}}
	row := func(a, b string) { t.Rows = append(t.Rows, []xlsx.Value{xlsx.TextValue(a), xlsx.TextValue(b)}) }
	row("Line", s.Line)
	for _, i := range s.Items() {
		text := i.Text
		if i.Term == "Hash of the inputs" {
			text = "SHA-256 " + orNotGiven(s.Hash)
		}
		if i.Check {
			text = i.Text + ": " + strings.Repeat("_", 40)
		}
		row(i.Term, text)
	}
	row("Who decides", law)
	for _, a := range s.Assumptions() {
		row("Assumed", assumedText(a))
	}
	return t
}

// legendTable is the sheet that says what each column holds.
func legendTable(groups []columnGroup) xlsx.Table {
	t := xlsx.Table{Name: "Legend", Title: []string{"What the columns hold, and from where"},
		Columns: []xlsx.Column{{Head: "column", Width: 8}, {Head: "group", Width: 24, Wrap: true}, {Head: "head", Width: 24, Wrap: true}, {Head: "holds, and comes from", Width: 80, Wrap: true}, {Head: "head in the CSV", Width: 30}, {Head: "CSV figure times", Width: 10}}}
	n := 0
	for _, g := range groups {
		for _, c := range g.columns {
			n++
			times := xlsx.Value{}
			if c.times != 0 {
				times = xlsx.FigureValue(c.times)
			}
			t.Rows = append(t.Rows, []xlsx.Value{xlsx.TextValue(xlsx.ColumnName(n)), xlsx.TextValue(g.text), xlsx.TextValue(c.head), xlsx.TextValue(c.note), xlsx.TextValue(c.key), times})
		}
	}
	return t
}
