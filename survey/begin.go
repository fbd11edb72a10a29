package survey

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"obvert/document"
	"obvert/engine/siting"
	"obvert/line"
	"obvert/physics/valve"
)

// Beginning is what a folder to start from is made of. The zero value makes one around an invented profile.
type Beginning struct {
	Choices
	Reading Reading // of a profile; without a track the profile is invented, and said to be
	Bore    float64 `unit:"m"` // of the whole run, where Choices names no size; 0: not said
	// Type is the type of air valve that is placed at high points and at the beginning; empty: none is placed.
	Type string
}

// Begin makes a line's folder to start from: what [Compose] makes, with air valves where high points ask for them, the records of
// the rack beside it, and comments in line.toml that say what each section is for and where its figures are found. What
// nobody said is among the document's assumptions. The folder checks and studies at once.
func Begin(ctx context.Context, b Beginning) (Folder, document.Faults) {
	b.By = "new"
	example := len(b.Reading.Tracks) == 0
	if example {
		b.Reading = invented()
	}
	if b.Bore > 0 && b.Pipe == "" {
		b.Reading.Tracks = slices.Clone(b.Reading.Tracks)
		for i := range b.Reading.Tracks {
			t := &b.Reading.Tracks[i]
			t.Pipes = []Pipe{{From: t.Points[0].Chainage, To: t.Points[len(t.Points)-1].Chainage, Bore: b.Bore}}
		}
	}
	f, faults := Compose([]Reading{b.Reading}, b.Choices)
	if faults.Err() != nil {
		return Folder{}, faults
	}
	if b.Type != "" {
		r, err := siting.Solve(ctx, siting.Input{Line: f.Line})
		if err != nil {
			return Folder{}, append(faults, document.Fault{What: "air valves cannot be placed: " + err.Error()})
		}
		b.Reading.Valves = placed(&r, b.Type)
		if f, faults = Compose([]Reading{b.Reading}, b.Choices); faults.Err() != nil {
			return Folder{}, faults
		}
	}
	for i := range f.Files {
		if f.Files[i].Name == line.DocumentName {
			f.Files[i].Data = explained(f.Files[i].Data, example)
		}
	}
	taken := map[string]bool{}
	f.Files = slices.DeleteFunc(f.Files, func(x File) bool { return strings.HasPrefix(x.Name, "rack/") }) // of the types placed; all come here
	for _, r := range b.Rack {
		f.Files = append(f.Files, File{"rack/" + free(FileStem(r.Name), "valve", taken) + ".toml", valve.Format(r)})
	}
	return f, faults
}

// inventedLevels are those of a rising main over one hill: an example, and nobody's.
var inventedLevels = []Point{{Chainage: 0, Level: 100}, {Chainage: 300, Level: 103}, {Chainage: 700, Level: 98}, {Chainage: 1200, Level: 131},
	{Chainage: 1500, Level: 126}, {Chainage: 1900, Level: 114}, {Chainage: 2400, Level: 122}}

func invented() Reading {
	kind := line.LevelObvert
	t := Track{Name: "example", HasChainage: true, LevelKind: &kind, Score: 1, Why: "the only one", Points: slices.Clone(inventedLevels)}
	for i := range t.Points {
		t.Points[i].HasLevel, t.Points[i].Where = true, i+1
	}
	return Reading{File: "an invented example", Format: "CSV", Tracks: []Track{t}}
}

// placed are air valves at the high points that siting found, and at the line's beginning behind a pump.
func placed(r *siting.Result, kind string) []Valve {
	var out []Valve
	for _, c := range r.Candidates {
		wanted := slices.ContainsFunc(c.Reasons, func(x siting.Reason) bool {
			return strings.Contains(x.ID, "high-point") || x.ID == "pump-discharge"
		})
		if wanted && c.Run == 0 {
			out = append(out, Valve{Name: fmt.Sprintf("AV %d", len(out)+1), Chainage: c.Chainage, Type: kind, Origin: Origin{Row: len(out) + 1}})
		}
	}
	return out
}

// sections say above each table what it is for and where to look.
var sections = []struct{ head, text string }{
	{"[line]", "What the line is called, and what was assumed. Take a sentence out of assumed when its value is known and put right below."},
	{"[[station]]", "The pumps that feed the line. sump_level is the water they draw from: ask the operator for its range. The curve is head over flow " +
		"of one pump at full speed, from the maker's sheet, from no flow to beyond the duty; efficiency and npsh the same way. check_valves = \"each\", " +
		"\"shared\" or \"none\" decides whether a standing line drains back through the pumps."},
	{"[[tank]]", "Open water at an end of the line. level is where it usually stands, lowest and highest its range, area its plan: from the tank's drawing or the " +
		"operator. All levels of this document are above one datum."},
	{"[[outfall]]", "Where the line ends in the open, at its invert."},
	{"[[run]]", "One pipe from node to node. The profile beside this file gives chainage and level of the pipe; its head says of what: obvert, invert, " +
		"axis or ground. seat_height is how far an air valve's seat stands above the pipe's obvert: measure it in a pit, 0.4 m matters where a valve seals at 0.2 m."},
	{"[[run.section]]", "The pipe itself, from the section before up to the chainage to. size is a standard size such as \"EN 545 C40 DN 300\", from the " +
		"delivery notes; else give bore, wall, material and roughness. soil_modulus, cover and ovality decide the vacuum it may bear."},
	{"[[run.valve]]", "An air valve: at is its chainage, type the name of a record in the folder rack, height of its own seat where that differs. The records there that " +
		"say typical = true are generic classes, no particular valve: put your own in their place, best from a bench run (obvert bench)."},
}

// further are the sections that a document may have and this one has not, as comments that can be taken away.
const further = `
# What else a document may say. Take the # away and put your own figures in; docs/methods/line.md explains every key, and an
# editor completes them by the schema that obvert schema line prints.

# The site: altitude thins the air, temperature sets viscosity and vapour pressure.
#:[site]
#:altitude          = "240 m"
#:latitude          = "47.1°"
#:water_temperature = "12 °C"

# Operating cases. Without any the usual ones are taken. Ask the operator how the line is run, and for how many hours a day.
#:[[case]]
#:name  = "Standing"
#:kind  = "standing"
#:hours = "6 h"

# How well levels are known, as standard uncertainties: datum is common to all, levels is each one's own. Ask the surveyor.
#:[survey]
#:datum     = "40 mm"
#:levels    = "30 mm"
#:roughness = "30 %"

# Thresholds that differ from the usual ones; obvert explain practice lists them with their sources.
#:[practice]
#:spacing = "500 m"

# Prices, for what head for sealing costs and for the ways out of dripping.
#:[prices]
#:energy        = "0.20 EUR/kWh"
#:carbon        = "300 g/kWh"
#:water         = "1.10 EUR/m³"
#:callout       = "200 EUR"
#:exchange      = "250 EUR"
#:days_per_year = 365
#:years         = 25
#:discount_rate = "3 %"
`

// inventedText stands among the assumptions of a line whose profile is invented.
const inventedText = "The profile is an invented example: put the line's own in its place before any answer is believed."

// explained puts a comment above the first table of each kind, and the sections there are not at the end.
func explained(doc []byte, example bool) []byte {
	w := &documentWriter{}
	told := map[string]bool{}
	for row := range strings.Lines(string(doc)) {
		row = strings.TrimRight(row, "\n")
		for _, s := range sections {
			if row == s.head && !told[s.head] {
				told[s.head] = true
				w.comment(s.text)
			}
		}
		w.line(row)
		if example && strings.HasPrefix(row, "assumed = [") {
			w.line("  " + document.Quote(inventedText) + ",")
		}
	}
	w.b.WriteString(strings.ReplaceAll(further, "#:", "# "))
	return w.b.Bytes()
}
